//! All tests that use the library from outside, in one binary: one module a theme.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    reason = "a test that fails may say so, and its counts are small"
)]

mod adopt;
mod adopted;
mod artwork;
mod begin;
mod bitmaps;
mod bounds;
mod changes;
mod command_line;
mod coupon;
mod dependencies;
mod designs;
mod dials;
mod drawings;
mod editor;
mod ends;
mod families;
mod findings;
mod fit;
mod fuzz;
mod geometry;
mod geometry_measures;
mod geometry_random;
mod glue_bench;
mod holding;
mod legibility;
mod let_in;
mod lettering;
mod live_page;
mod mends;
mod metamorphic;
mod nest;
mod nothing_lost;
mod order;
mod output;
mod overlap;
mod pages;
mod physics;
mod plan;
mod planted;
mod portrait;
mod prints;
mod proof;
mod quote;
mod random_dials;
mod reference;
mod rehearsal;
mod renderings;
mod revision;
mod rings;
mod rooms;
mod run_sheet;
mod same_bytes;
mod scans;
mod schemas;
mod seek;
mod sheets;
mod shells;
mod stage;
mod strength;
mod syntax;
mod tables;
mod textmate;
mod tidy;
mod together;
mod turning;
mod ui;
mod verdict;
mod view;
mod viewer;
mod vocabulary;
mod ways;
mod webs;
mod wording;

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
