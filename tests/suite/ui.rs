//! What the program says about each file of `tests/ui`, as reviewed snapshots beside the files.
//!
//! To add one, write `tests/ui/NAME.dial` and run the tests with `INSTA_UPDATE=always`; then read the new
//! `NAME.snap` aloud before keeping it.

use crate::{files, stem};
use dialwright::diagnostics::{Finding, Style, as_text};
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
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

/// The one place where these tests touch the program.
fn answer(path: &Path) -> Answer {
    let analysis = crate::dials::analysed(path);
    Answer {
        stem: stem(path),
        text: as_text(&analysis.findings, &analysis.sources, Style::Plain),
        found: analysis.findings.iter().map(|found| found.finding.name()).collect(),
    }
}

/// That answers agree with their snapshots, and show the finding that their files are named after.
fn look_at(subject: &str) {
    let about = |path: &PathBuf| subject_of(&stem(path)) == subject;
    let answers: Vec<Answer> = files("ui", "dial").iter().filter(|path| about(path)).map(|path| answer(path)).collect();
    assert!(!answers.is_empty(), "no file is about {subject}");
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../ui");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let check = |answer: &Answer| settings.bind(|| insta::assert_snapshot!(answer.stem.as_str(), answer.text));
    let differs = |answer: &&Answer| catch_unwind(AssertUnwindSafe(|| check(answer))).is_err();
    let differ: Vec<&str> = answers.iter().filter(differs).map(|answer| answer.stem.as_str()).collect();
    assert!(differ.is_empty(), "answers that differ from their snapshots: {}", differ.join(", "));
    let shows = |answer: &Answer| named_after(&answer.stem).is_some_and(|name| answer.found.contains(&name));
    let named = answers.iter().filter(|answer| !NAMED_AFTER_NONE.contains(&answer.stem.as_str()));
    let astray: Vec<&str> = named.filter(|answer| !shows(answer)).map(|answer| answer.stem.as_str()).collect();
    assert!(astray.is_empty(), "files that do not show the finding they are named after: {}", astray.join(", "));
}

/// A test for each module that words findings; a file is looked at with the first one that words what it is named after.
macro_rules! subjects {
    ($($subject:ident),*) => {
        const SUBJECTS: &[&str] = &[$(stringify!($subject)),*];

        $(mod $subject {
            #[test]
            fn answers() {
                super::look_at(stringify!($subject));
            }
        })*
    };
}

subjects!(
    webs, depths, seats, marks, raised, turning, runout, holding, proud, ends, bonds, printed, plan, legibility, fit,
    artwork, lettering, rings, pins, magnets, dial, values, names, tables, types, units, signs, order, syntax, wheels,
    frames, seeks
);

/// The module that words what a file is named after; those that show several findings are about the language.
fn subject_of(stem: &str) -> &'static str {
    let Some(finding) = named_after(stem).and_then(Finding::named) else { return "syntax" };
    worded_in(finding).unwrap_or_else(|| panic!("no subject words `{stem}`"))
}

/// The first subject whose module words a finding; none where no file of `tests/ui` can show it.
pub(crate) fn worded_in(finding: Finding) -> Option<&'static str> {
    let worded = format!("Finding::{finding:?}");
    let words = |(_, text): &&(&str, String)| {
        text.match_indices(&worded).any(|(at, _)| !text[at + worded.len()..].starts_with(char::is_alphanumeric))
    };
    MODULES.iter().find(words).map(|(subject, _)| *subject)
}

/// Each subject with the text of its module, read once for all files.
static MODULES: LazyLock<Vec<(&str, String)>> = LazyLock::new(|| {
    let found = wording_modules();
    let text = |subject: &str| found.get(subject).unwrap_or_else(|| panic!("no module words {subject}")).clone();
    SUBJECTS.iter().map(|subject| (*subject, text(subject))).collect()
});

/// The text of every module that words findings, by subject: a file of a folder `findings`, or a file `findings.rs`, which
/// is named after the folder that it lies in.
fn wording_modules() -> BTreeMap<String, String> {
    let mut modules = BTreeMap::new();
    let mut folders = vec![crate::dials::root().join("src")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let (name, within) = (stem(&path), stem(&folder));
            let subject = match (name.as_str(), within.as_str()) {
                ("findings", _) => within,
                ("mod", _) => continue,
                (_, "findings") => name,
                _ => continue,
            };
            let text = std::fs::read_to_string(&path).unwrap();
            if text.contains("-> Diagnostic") {
                assert!(modules.insert(subject.clone(), text).is_none(), "two modules word findings of {subject}");
            }
        }
    }
    modules
}

/// No file of `tests/ui` can show what is said about a table of readings, which is no design, or about a question to `seek`.
#[test]
fn every_module_that_words_findings_is_a_subject() {
    let mut subjects: Vec<&str> = SUBJECTS.iter().copied().chain(["coupon", "seek"]).collect();
    subjects.sort_unstable();
    assert_eq!(wording_modules().into_keys().collect::<Vec<_>>(), subjects);
}

/// The finding that a file is named after: NAME, or NAME followed by a dash and more.
fn named_after(stem: &str) -> Option<&'static str> {
    let names = Finding::ALL.iter().map(|finding| finding.name());
    names
        .filter(|name| stem.strip_prefix(name).is_some_and(|more| more.is_empty() || more.starts_with('-')))
        .max_by_key(|name| name.len())
}
