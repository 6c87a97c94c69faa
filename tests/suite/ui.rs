//! What the program says about each file of `tests/ui`, as reviewed snapshots beside the files.
//!
//! To add one, write `tests/ui/NAME.dial` and run the tests with `INSTA_UPDATE=always`; then read the new
//! `NAME.snap` aloud before keeping it.

use crate::{files, stem};
use dialwright::diagnostics::{Finding, Style, as_text};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// Files that show how several findings stand together.
const NAMED_AFTER_NONE: [&str; 1] = ["many-faults"];

/// Everything that is said about a file. The one place where these tests touch the program.
fn answer(path: &Path) -> String {
    let analysis = crate::dials::analysed(path);
    as_text(&analysis.findings, &analysis.sources, Style::Plain)
}

#[test]
fn every_answer_is_as_reviewed() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../ui");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let check = |path: &Path| settings.bind(|| insta::assert_snapshot!(stem(path), answer(path)));
    let files = files("ui", "dial");
    let differ = files.iter().filter(|path| catch_unwind(AssertUnwindSafe(|| check(path))).is_err());
    let differ: Vec<String> = differ.map(|path| stem(path)).collect();
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
    for path in files("ui", "dial").iter().filter(|path| !NAMED_AFTER_NONE.contains(&stem(path).as_str())) {
        let shows = |name: &str| crate::dials::analysed(path).findings.iter().any(|found| found.finding.name() == name);
        if !named_after(&stem(path)).is_some_and(shows) {
            astray.push(stem(path));
        }
    }
    assert!(astray.is_empty(), "files that do not show the finding they are named after: {}", astray.join(", "));
}
