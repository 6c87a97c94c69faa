//! What stands on a run sheet, whatever it is shown on.

use super::super::page::Mark;
use super::super::page::text::{TextRun, Voice};
use super::bench::Bench;

/// A line to be followed, ticked or heeded.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Item {
    /// What stands before it.
    pub(super) mark: Mark,
    /// What it says.
    pub(super) says: Vec<TextRun>,
}

impl Item {
    /// A line to be ticked when it is done.
    pub(super) fn tick(says: Vec<TextRun>) -> Self {
        Self { mark: Mark::Tick, says }
    }

    /// A line to be read.
    pub(super) fn dot(says: Vec<TextRun>) -> Self {
        Self { mark: Mark::Dot, says }
    }
}

/// A part of a run sheet; a page is its parts, one after the other.
#[derive(Clone, Debug)]
pub(super) enum Part {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Words(Vec<TextRun>),
    /// Lines, in order where `steps`.
    Lines { items: Vec<Item>, steps: bool },
    /// What is to be heeded before anything else, under its own heading.
    Cautions { heading: String, items: Vec<Item> },
    /// One setup of a board, both counted from 0: the board as it lies, then what is done.
    Setup { board: usize, setup: usize, registers: Vec<TextRun>, items: Vec<Item> },
    /// Faces on the glue bench.
    Bench(Vec<Bench>),
    /// Rows under a head; of each column, how much of the width it takes.
    Table { shares: Vec<f64>, head: Vec<&'static str>, rows: Vec<Vec<Vec<TextRun>>> },
}

/// A cell of plain text.
pub(super) fn cell(text: impl Into<String>) -> Vec<TextRun> {
    vec![TextRun { text: text.into(), voice: Voice::Plain }]
}
