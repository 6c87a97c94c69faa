//! How deep a pocket is asked to be, and how deep it is made.

use super::pass_depths::{PassDepths, Passes};
use crate::units::Length;

/// The depth of a pocket. A laser sinks one by whole passes, so what is made is seldom what was asked for, and all that is
/// proven, drawn and printed goes by [`PocketDepth::made`].
// The depth asked for is told only to whom asks for it by that name, so that none computes with it by mistake.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PocketDepth {
    asked: Length,
    passes: Option<Passes>,
}

/// A pocket is made as asked where it is no deeper than this beyond it: a tenth of a millimetre costs a magnet of 8 mm by
/// 1.5 mm some tenth of its pull (common practice, no source).
const AS_ASKED: Length = Length::mm(0.1);

impl PocketDepth {
    /// What the fewest measured passes that reach it make of a depth; the depth itself where none was measured that deep.
    pub fn by(measured: &PassDepths, asked: Length) -> Self {
        Self { asked, passes: measured.reaching(asked) }
    }

    /// How deep it will be: the mean of such pockets. What was asked for where no passes are known that reach it.
    pub fn made(&self) -> Length {
        self.passes.map_or(self.asked, |passes| passes.reach)
    }

    /// How deep the maker, or the rule for magnets, would have it.
    pub fn asked(&self) -> Length {
        self.asked
    }

    /// The passes that make it, with the interval of their depth; none where none was measured that deep.
    pub fn passes(&self) -> Option<Passes> {
        self.passes
    }

    /// Standard deviation of its depth: half of the measured 95 % interval, so that twice it is that interval again; what
    /// is usual in the shop where the passes tell none.
    pub fn deviation(&self, usual: Length) -> Length {
        self.passes.and_then(|passes| passes.within).map_or(usual, |within| within / 2.0)
    }

    /// How much deeper than asked it gets, where that is more than can be left unsaid.
    pub fn deeper_than_asked(&self) -> Option<Length> {
        let by = self.made() - self.asked;
        (by > AS_ASKED).then_some(by)
    }
}

/// A depth that no passes are known of.
impl From<Length> for PocketDepth {
    fn from(asked: Length) -> Self {
        Self { asked, passes: None }
    }
}

/// `1.6mm`, or `2mm (5 passes; 1.65mm is asked)` where the passes make another depth of it.
impl std::fmt::Display for PocketDepth {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let made = self.made();
        match self.passes {
            Some(passes) if made.to_string() != self.asked.to_string() => {
                write!(f, "{made} ({}; {} is asked)", passes.counted(), self.asked)
            }
            _ => write!(f, "{made}"),
        }
    }
}
