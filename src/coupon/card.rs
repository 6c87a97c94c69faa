//! A card: a small plate on which one kind of thing is cut or burnt in steps, with its number beside each.

use kurbo::BezPath;

/// One card, in its own frame: mm, its lower left corner at the origin, y up.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// What it is called on the card and in every file: `kerf A`, `depth`, `magnet disc`.
    pub name: String,
    /// Width and height.
    pub size: (f64, f64),
    /// What is done to it, in order.
    pub drawn: Vec<Drawn>,
}

/// One thing drawn on a card.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// What the machine does.
    pub job: Job,
    /// What it is, in words.
    pub caption: String,
    /// Where.
    pub path: BezPath,
}

/// What the machine does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Job {
    /// Burns a filled area, 1 being as dark as the stock goes.
    Engrave {
        /// How dark, above 0.
        tone: f64,
    },
    /// Traces a line, not through.
    Score,
    /// Sinks an area.
    Pocket {
        /// How often it is burnt.
        passes: usize,
    },
    /// Cuts through along the line itself, no kerf taken off: what is measured lies inside.
    CutInside,
    /// Cuts the card out, last.
    CutOut,
}
