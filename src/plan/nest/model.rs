//! What is laid, on what, and what came of it.

use kurbo::{Affine, Rect};

use crate::geometry::Region;

/// Something to be laid: a part, or a part with its holder.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its finished outer edge as it would lie unturned, in mm.
    pub outline: Region,
    /// How it may be turned.
    pub turns: Turns,
    /// Holes inside the outline that other items may be cut out of.
    pub holes: Region,
    /// Whether it may itself be laid in a hole.
    pub may_be_guest: bool,
}

impl Item {
    /// An item with no holes to be used, which is laid in none.
    pub fn whole(outline: Region, turns: Turns) -> Self {
        Self { outline, turns, holes: Region::empty(), may_be_guest: false }
    }
}

/// How an item may be turned on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// By any angle.
    Free,
    /// By half a turn: its grain must run along the board's.
    Half,
}

/// The board to lay items on. All lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Least distance of a finished edge from the board's edge.
    pub margin: f64,
    /// Least distance between finished edges.
    pub gap: f64,
    /// Places to be kept free, on the board; parts keep the gap to them.
    pub keep_out: Region,
}

impl Sheet {
    /// Where items may lie.
    pub(super) fn inside(&self) -> Rect {
        Rect::new(0.0, 0.0, self.width, self.height).inset(-self.margin)
    }

    /// The area that items and half the gap round each share, in mm².
    pub(super) fn room_area(&self) -> f64 {
        let room = self.inside().inflate(self.gap / 2.0, self.gap / 2.0);
        room.width().max(0.0) * room.height().max(0.0)
    }
}

/// Where an item was laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Its index among the items given.
    pub item: usize,
    /// From the item as given to the board: a turn, then a move; never mirrors.
    pub at: Affine,
}

/// What became of the items.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layout {
    /// The boards needed, each with its placements, lowest first, those level from left to right.
    pub boards: Vec<Vec<Placement>>,
    /// Items that fit no board, by index.
    pub too_large: Vec<usize>,
    /// No layout whatever could do with fewer boards, by area alone.
    pub least_boards: usize,
}

/// How hard a layout is searched for: tries to save each board. With none, items lie in rows: enough for verbs that
/// only judge a design and show no layout (`check`, `turn`, `hold`), where a search would take longer than all the
/// rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Effort(pub u32);

impl Default for Effort {
    fn default() -> Self {
        Self(6)
    }
}
