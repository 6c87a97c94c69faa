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
    /// A pair of magnets in pockets, or a magnet and a washer; each seat names the layer (place in the stack) and depth.
    Magnets {
        /// What lies in the lower half, and in the upper one too where nothing else does.
        magnet: Magnet,
        /// What lies in the upper half, where that is another kind.
        above: Option<Box<Magnet>>,
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

impl Turn {
    /// Every kind of disc in it, on the axis and for clicks.
    pub fn discs(&self) -> impl Iterator<Item = &Magnet> {
        self.pivot.discs().chain(self.clicks.as_ref().map(|clicks| &clicks.magnet))
    }

    /// The same without washers, which nobody magnetised.
    pub fn magnets(&self) -> impl Iterator<Item = &Magnet> {
        self.discs().filter(|disc| disc.steel.is_none())
    }
}

impl Pivot {
    /// What lies in the lower and in the upper half, and where; none where nothing but a clamp or a wall holds it.
    pub fn seats(&self) -> Option<[(&Magnet, &Seat); 2]> {
        match self {
            Self::Magnets { magnet, above, lower, upper } => {
                Some([(magnet, lower), (above.as_deref().unwrap_or(magnet), upper)])
            }
            Self::Rivet(_) | Self::Wall => None,
        }
    }

    /// Every kind of magnet and washer in it, each once.
    pub fn discs(&self) -> impl Iterator<Item = &Magnet> {
        let (one, other) = match self {
            Self::Magnets { magnet, above, .. } => (Some(magnet), above.as_deref()),
            Self::Rivet(_) | Self::Wall => (None, None),
        };
        one.into_iter().chain(other)
    }

    /// Whether one of its halves holds steel, so that no pole matters.
    pub fn is_on_steel(&self) -> bool {
        self.discs().any(|disc| disc.steel.is_some())
    }

    /// How much wider than what they hold its pockets, its hole or its opening are, so far that the halves may be shifted against
    /// each other by it either way; nothing of a wall, whose wheel has a play of its own.
    pub fn clearance(&self) -> Length {
        match self {
            Self::Magnets { .. } => self.seats().map_or(Length::ZERO, |[lower, upper]| {
                let mean = (lower.0.clearance + upper.0.clearance) / 2.0;
                let room = |(magnet, seat): (&Magnet, &Seat)| seat.sunk(magnet).map_or(0.0, Length::as_mm);
                // What stands out of a face reaches into the pocket of the other half, which may be wider than it needs.
                let wider = match (room(lower) < 0.0, room(upper) < 0.0) {
                    (true, false) => upper.0.diameter - lower.0.diameter,
                    (false, true) => lower.0.diameter - upper.0.diameter,
                    _ => Length::ZERO,
                };
                if wider > Length::ZERO { mean + wider / 2.0 } else { mean }
            }),
            Self::Rivet(rivet) => rivet.clearance,
            Self::Wall => Length::ZERO,
        }
    }
}

impl Seat {
    /// How far what lies in it stays below its face, below zero where it stands out; none of a hole right through.
    pub fn sunk(&self, magnet: &Magnet) -> Option<Length> {
        match self.depth {
            Depth::Down(depth) => Some(depth.made() - magnet.height - magnet.film()),
            Depth::Through => None,
        }
    }
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
