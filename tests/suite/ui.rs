//! What the program says about each file of `tests/ui`, as reviewed snapshots beside the files.
//!
//! To add one, write `tests/ui/NAME.dial` and run the tests with `INSTA_UPDATE=always`; then read the new
//! `NAME.snap` aloud before keeping it.

use crate::{files, stem};
use dialwright::diagnostics::{Style, as_text};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

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
