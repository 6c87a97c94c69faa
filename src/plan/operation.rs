//! One operation: what must happen to the material, never with what power or speed.

use kurbo::{BezPath, ParamCurveArclen};

use crate::design::{Face, PocketDepth, Shape};
use crate::source::Span;
use crate::units::Length;

/// One thing to be done.
#[derive(Clone, Debug)]
pub struct Operation {
    /// What is done.
    pub kind: OperationKind,
    /// The part it is done to; none for one that concerns the whole board.
    pub part: Option<String>,
    /// The face of the part that it is done on.
    pub face: Option<Face>,
    /// The maker's name for it (`peep`, the ring `crew`), where it has one.
    pub name: Option<String>,
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
    /// Trace a line; the boundary, where the shape is a region.
    Score {
        /// Where.
        shape: Shape,
    },
    /// Sink a region.
    Pocket {
        /// Where.
        shape: Shape,
        /// How deep it is asked to be and how deep its passes make it.
        depth: PocketDepth,
        /// What is left beneath; below zero where the pocket is deeper than the stock.
        floor: Length,
    },
    /// Cut right through along closed lines.
    Cut {
        /// The tool's path, kerf already compensated.
        shape: Shape,
        /// What the cut makes, and so on which side the waste lies.
        edge: CutEdge,
        /// How far the path was moved off the finished edge, towards the waste.
        kerf_offset: Length,
    },
    /// A person acts.
    Pause {
        /// What the person does.
        instruction: String,
    },
}

/// What a cut makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutEdge {
    /// The part's outline: waste outside.
    Outline,
    /// An opening in the part: waste inside.
    Opening,
    /// A mirrored opening in the board, to hold the turned part: waste inside.
    Holder,
}

impl Operation {
    /// What the person does, where this is a pause.
    pub fn instruction(&self) -> Option<&str> {
        match &self.kind {
            OperationKind::Pause { instruction } => Some(instruction),
            _ => None,
        }
    }

    /// The shape on the board; none for a pause.
    pub fn shape(&self) -> Option<&Shape> {
        match &self.kind {
            OperationKind::Engrave { shape, .. }
            | OperationKind::Score { shape }
            | OperationKind::Pocket { shape, .. }
            | OperationKind::Cut { shape, .. } => Some(shape),
            OperationKind::Pause { .. } => None,
        }
    }

    /// The lines of the shape on the board; none for a pause.
    pub fn path(&self) -> Option<&BezPath> {
        self.shape().map(|shape| match shape {
            Shape::Region(region) => region.path(),
            Shape::Trace(trace) => trace.path(),
        })
    }

    /// How far it cuts; zero for any other kind.
    pub fn cut_length(&self) -> Length {
        if matches!(self.kind, OperationKind::Cut { .. }) { self.length() } else { Length::ZERO }
    }

    /// How far it scores; zero for any other kind.
    pub fn score_length(&self) -> Length {
        if matches!(self.kind, OperationKind::Score { .. }) { self.length() } else { Length::ZERO }
    }

    /// What it engraves, in mm²; zero for any other kind.
    pub fn engraved_area(&self) -> f64 {
        if matches!(self.kind, OperationKind::Engrave { .. }) { self.area() } else { 0.0 }
    }

    /// What it sinks, in mm²; zero for any other kind.
    pub fn pocket_area(&self) -> f64 {
        if matches!(self.kind, OperationKind::Pocket { .. }) { self.area() } else { 0.0 }
    }

    fn length(&self) -> Length {
        let arclen = |path: &BezPath| path.segments().map(|segment| segment.arclen(1e-4)).sum::<f64>();
        Length::mm(self.path().map_or(0.0, arclen))
    }

    fn area(&self) -> f64 {
        match self.shape() {
            Some(Shape::Region(region)) => region.area(),
            _ => 0.0,
        }
    }
}
