//! How many dials of a hundred read right at every stop, when they are made within the shop's spreads.

mod share;

pub use share::Share;

use super::tolerance::Spread;

/// How many dials read right at every stop.
#[derive(Clone, Debug, PartialEq)]
pub struct DialYield {
    /// Dials that read right at every stop: pockets and kerfs are those of the dial, each stop is placed anew.
    pub share: Share,
    /// The stop that fails oftenest.
    pub worst: WorstStop,
    /// What takes most of the room there; none where nothing does.
    pub matters_most: Option<Spread>,
}

/// The stop of a dial that reads right least often.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstStop {
    /// Its reading, by place in the reading check.
    pub reading: usize,
    /// Which of the reading's stops, by place in it.
    pub stop: usize,
    /// Dials that read right there.
    pub share: Share,
}
