//! What the program says about each file of `tests/ui`, as reviewed snapshots beside the files.
//!
//! To add one, write `tests/ui/NAME.dial` and run the tests with `INSTA_UPDATE=always`; then read the new
//! `NAME.snap` aloud before keeping it.

use crate::{files, stem};
use dialwright::diagnostics::{Finding, Style, as_text};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::LazyLock;

/// Files that show how several findings stand together.
const NAMED_AFTER_NONE: [&str; 1] = ["many-faults"];

/// Everything that is said about a file.
struct Answer {
    /// The file's name without its ending.
    stem: String,
    text: String,
    /// The names of what was found.
    found: Vec<&'static str>,
}

/// The one place where these tests touch the program: every file is analysed once, for all of them.
static ANSWERS: LazyLock<Vec<Answer>> = LazyLock::new(|| {
    let files = files("ui", "dial");
    let (one, other) = files.split_at(files.len() / 2);
    let all = |files: &[std::path::PathBuf]| files.iter().map(|path| answer(path)).collect::<Vec<Answer>>();
    std::thread::scope(|scope| {
        let other = scope.spawn(|| all(other));
        let mut answers = all(one);
        answers.extend(other.join().unwrap());
        answers
    })
});

fn answer(path: &Path) -> Answer {
    let analysis = crate::dials::analysed(path);
    Answer {
        stem: stem(path),
        text: as_text(&analysis.findings, &analysis.sources, Style::Plain),
        found: analysis.findings.iter().map(|found| found.finding.name()).collect(),
    }
}

#[test]
fn every_answer_is_as_reviewed() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../ui");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let check = |answer: &Answer| settings.bind(|| insta::assert_snapshot!(answer.stem.as_str(), answer.text));
    let differs = |answer: &&Answer| catch_unwind(AssertUnwindSafe(|| check(answer))).is_err();
    let differ: Vec<&str> = ANSWERS.iter().filter(differs).map(|answer| answer.stem.as_str()).collect();
    assert!(differ.is_empty(), "answers that differ from their snapshots: {}", differ.join(", "));
}

/// The finding that a file is named after: NAME, or NAME followed by a dash and more.
fn named_after(stem: &str) -> Option<&'static str> {
    let names = Finding::ALL.iter().map(|finding| finding.name());
    names
        .filter(|name| stem.strip_prefix(name).is_some_and(|more| more.is_empty() || more.starts_with('-')))
        .max_by_key(|name| name.len())
}

#[test]
fn every_file_shows_the_finding_that_it_is_named_after() {
    let mut astray = Vec::new();
    for answer in ANSWERS.iter().filter(|answer| !NAMED_AFTER_NONE.contains(&answer.stem.as_str())) {
        if !named_after(&answer.stem).is_some_and(|name| answer.found.contains(&name)) {
            astray.push(answer.stem.as_str());
        }
    }
    assert!(astray.is_empty(), "files that do not show the finding they are named after: {}", astray.join(", "));
}
