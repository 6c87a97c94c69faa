//! What joins the layers of a stack: glue, or a turn with what holds it.

use super::{Adhesive, Axle, Depth, Ends, Face, Magnet, PocketDepth, Rivet};
use crate::source::Span;
use crate::units::{Angle, Length};

/// What joins two neighbouring layers.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant, reason = "a stack has a handful of joints")]
pub enum Joint {
    /// Glued for good.
    Glue(Glue),
    /// Free to turn.
    Turn(Turn),
}

/// A glued joint.
#[derive(Clone, Debug)]
pub struct Glue {
    /// With what.
    pub adhesive: Adhesive,
    /// What asked for it.
    pub origin: Span,
}

/// A joint that turns.
#[derive(Clone, Debug)]
pub struct Turn {
    /// What holds it.
    pub pivot: Pivot,
    /// The axis of its own that the layer right above it turns about; none where all above it turns about the board's.
    pub axle: Option<Axle>,
    /// Bearing on the lower layer that lies under the upper layer's 0deg, stop by stop.
    pub stops: Vec<Angle>,
    /// Which half the player turns; pictures and instructions only.
    pub turning: Half,
    /// Rings of small magnets that make it click.
    pub clicks: Option<Clicks>,
    /// What keeps it from turning past its first and last stop.
    pub ends: Option<Ends>,
    /// The shock that it must bear, in multiples of standard gravity.
    // The language's word for it is `knock`, and so it is in measures (`knock_to_turn`) and names of findings: files and
    // scripts written for 0.1 read unchanged.
    pub shock: f64,
    /// Where the north poles on the axis look, where the maker chose.
    pub north: Option<Pole>,
    /// What asked for it.
    pub origin: Span,
}

/// Where a magnet's north pole looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pole {
    /// Towards the player.
    Up,
    /// Away from the player.
    Down,
}

/// One half of a turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Half {
    /// Everything below the turn.
    Lower,
    /// Everything above it.
    Upper,
}

/// What holds a turn together.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant, reason = "a stack has a handful of turns")]
pub enum Pivot {
    /// A pair of magnets in pockets; each seat names the layer (place in the stack) and depth.
    Magnets {
        /// The magnet.
        magnet: Magnet,
        /// Where the lower one sits.
        lower: Seat,
        /// Where the upper one sits.
        upper: Seat,
    },
    /// A rivet, or a pin that clamps, through everything it joins.
    Rivet(Rivet),
    /// The wall of the opening that it lies in: of [`Turn::axle`].
    Wall,
}

/// Where a magnet sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seat {
    /// Place of the layer in the stack.
    pub layer: usize,
    /// The face the pocket opens to.
    pub face: Face,
    /// Depth of the pocket.
    pub depth: Depth,
}

/// Click stops.
#[derive(Clone, Debug)]
pub struct Clicks {
    /// The magnet.
    pub magnet: Magnet,
    /// How far from the axis.
    pub radius: Length,
    /// Depth of their pockets in the layer below the turn, and in the one above.
    pub depths: [PocketDepth; 2],
    /// What asked for them.
    pub origin: Span,
}
