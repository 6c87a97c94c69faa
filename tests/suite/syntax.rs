//! The parser: whole files, trees of the important forms, and arbitrary text.

use dialwright::diagnostics::{Style, as_text};
use dialwright::source::Sources;
use dialwright::syntax::parse;
use std::fs;
use std::path::{Path, PathBuf};

/// The files under a folder of `tests` with an ending, in order of name.
fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|found| found == ending));
    files.sort();
    files
}

#[test]
fn every_whole_dial_parses_without_problems() {
    let files = files("dials", "dial");
    assert!(files.len() >= 14, "the dials are missing");
    let mut sources = Sources::default();
    for file in files {
        let id = sources.add(file.file_name().unwrap().to_string_lossy(), fs::read_to_string(&file).unwrap());
        let parsed = parse(&sources, id);
        let problems = parsed.problems.into_sorted();
        assert!(problems.is_empty(), "{}: {}", file.display(), as_text(&problems, &sources, Style::Plain));
        assert!(!parsed.file.items.is_empty());
    }
}
