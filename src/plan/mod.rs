//! From a design to boards, setups and ordered operations. Pure.
//!
//! Coordinates are millimetres on the board, origin at its lower left corner, x right, y up, as it lies on
//! the machine in that setup.

use kurbo::Affine;

use crate::design::{Design, Face, Shape, Tone};
use crate::diagnostics::Problems;
use crate::source::Span;
use crate::units::Length;

/// Everything to be done in the shop for one run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The boards, those of one stock together, in order of the stocks' first use in the stack.
    pub boards: Vec<Board>,
}

/// One board.
#[derive(Clone, Debug)]
pub struct Board {
    /// Name of its stock.
    pub stock: String,
    /// Its bare tone.
    pub colour: Tone,
    /// Width and height.
    pub size: (Length, Length),
    /// Thickness.
    pub thickness: Length,
    /// What is cut from it.
    pub parts: Vec<PlacedPart>,
    /// The work, in order.
    pub setups: Vec<Setup>,
}

/// A part and where it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPart {
    /// Names it in every output: `cover-3` is the cover of the third dial.
    pub name: String,
    /// The layer it is.
    pub layer: String,
    /// Which dial it belongs to, from 1.
    pub dial: u32,
    /// The layer's front frame to the board as first laid.
    pub at: Affine,
}

/// Work done without a person touching the board.
#[derive(Clone, Debug)]
pub struct Setup {
    /// How the board and parts were turned from the setup before.
    pub turned: Turned,
    /// What is done, in order.
    pub operations: Vec<Operation>,
}

/// How things were turned before a setup.
#[derive(Clone, Debug, PartialEq)]
pub enum Turned {
    /// First setup: nothing was.
    AsLaid,
    /// Each of these parts was lifted out, turned over, and laid back into its own opening.
    PartsOver(Vec<String>),
    /// The whole board was turned over about its vertical middle line.
    BoardOver,
}

/// One thing to be done.
#[derive(Clone, Debug)]
pub struct Operation {
    /// What is done.
    pub kind: OperationKind,
    /// The part it is done to; none for one that concerns the whole board.
    pub part: Option<String>,
    /// The face of the part that it is done on.
    pub face: Option<Face>,
    /// What asked for it; none for what the plan itself adds.
    pub origin: Option<Span>,
}

/// Kinds of operation, with their shapes on the board.
#[derive(Clone, Debug)]
pub enum OperationKind {
    /// Burn a filled region.
    Engrave {
        /// Where.
        shape: Shape,
        /// How dark, 1 being as dark as the stock goes.
        tone: f64,
        /// How deep, where stated.
        depth: Option<Length>,
    },
    /// Trace a line.
    Score {
        /// Where.
        shape: Shape,
    },
    /// Sink a region.
    Pocket {
        /// Where.
        shape: Shape,
        /// How deep.
        depth: Length,
        /// What is left beneath.
        floor: Length,
    },
    /// Cut right through along a closed line.
    Cut {
        /// The tool's path, kerf already compensated.
        shape: Shape,
        /// Whether it frees the part or an opening in it.
        edge: Edge,
        /// How far the path was moved off the finished edge, towards the waste.
        kerf_offset: Length,
    },
    /// A person acts.
    Pause {
        /// What the person does.
        instruction: String,
    },
}

/// Which edge a cut makes, and so on which side the waste lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// The part's outline: waste outside.
    Outline,
    /// An opening: waste inside.
    Opening,
}

/// Plans the run of a design.
pub fn plan(design: &Design) -> (Option<Plan>, Problems) {
    let _ = design;
    (None, Problems::default())
}
