//! All integration tests, in one binary so that they link once.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test that panics has failed")]

mod findings;
mod syntax;
mod ui;

use std::fs;
use std::path::{Path, PathBuf};

/// The files with an ending in a folder of `tests`, in order of name.
fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|found| found == ending));
    files.sort();
    files
}

/// The name of a file without its folder and ending.
fn stem(file: &Path) -> String {
    file.file_stem().unwrap().to_string_lossy().into_owned()
}
