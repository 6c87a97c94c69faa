//! What stands on a run sheet, whatever it is shown on.

use svg::node::element::Group;

use super::super::page::Mark;
use super::super::page::text::{TextRun, Voice};
use super::setup::SetupSheet;

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

/// Something drawn, its left upper corner at the origin; its size in mm of paper.
#[derive(Clone, Debug)]
pub(super) struct Picture {
    /// What is seen.
    pub(super) drawn: Group,
    /// Width and height.
    pub(super) size: (f64, f64),
    /// The same in words, for those who cannot see it.
    pub(super) says: String,
}

/// A step at the bench: its picture, and what is done.
#[derive(Clone, Debug)]
pub(super) struct BenchStep {
    /// Which one, from 1, all steps of a dial counted on.
    pub(super) number: usize,
    /// What it looks like.
    pub(super) picture: Picture,
    /// What is done.
    pub(super) says: Vec<TextRun>,
}

/// A part of a run sheet; a page is its parts, one after the other.
#[derive(Clone, Debug)]
pub(super) enum Part {
    /// A heading, and one within what another stands over.
    Heading(String),
    Minor(String),
    /// A heading at the top of a page of its own.
    Chapter(String),
    /// A paragraph.
    Words(Vec<TextRun>),
    /// Lines, in order where `steps`.
    Lines {
        items: Vec<Item>,
        steps: bool,
    },
    /// What is to be heeded before anything else, under its own heading.
    Cautions {
        heading: String,
        items: Vec<Item>,
    },
    /// One setup of one board, or of several that are alike, on a page of its own.
    Setup(Box<SetupSheet>),
    /// Steps at the bench, in order.
    Bench(Vec<BenchStep>),
    /// Rows under a head; of each column, how much of the width it takes.
    Table {
        shares: Vec<f64>,
        head: Vec<&'static str>,
        rows: Vec<Vec<Vec<TextRun>>>,
    },
}

/// A cell of plain text.
pub(super) fn cell(text: impl Into<String>) -> Vec<TextRun> {
    vec![TextRun { text: text.into(), voice: Voice::Plain }]
}
