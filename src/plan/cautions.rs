//! The usual cautions. They point to the published rules and never replace them.

use super::magnets::has_magnets;
use crate::design::Design;

/// A caution, and who says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caution {
    /// What to heed.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

const EHS: &str = "MIT EHS, Laser Cutter Safety; UW-Madison EHS";

/// What every plan says first.
pub const CAUTIONS: [Caution; 4] = [
    Caution { text: "Never leave a running laser; keep a fire extinguisher within reach of it.", source: EHS },
    Caution { text: "Exhaust the fumes outdoors while the machine runs and for a while after.", source: EHS },
    Caution {
        text: "Know the material before it is cut. Never cut PVC or anything that may hold it: it gives off hydrogen \
               chloride.",
        source: EHS,
    },
    Caution {
        text: "Local rules, the shop's own rules and the machine's manual come before anything printed here.",
        source: "common practice, no source",
    },
];

/// What every output says of a dial with magnets.
pub const MAGNETS: Caution = Caution {
    text: "Small strong magnets are dangerous when swallowed: two of them find each other through the walls of the gut. \
           Keep loose ones away from children, count them when the work is done, and see a doctor at once where one may \
           have been swallowed. The rules for your product are the local ones: ask your national product safety \
           authority or a testing laboratory before the dial leaves your hands.",
    source: "16 CFR 1262; ASTM F963; EN 71-1",
};

/// The cautions of one dial: what every plan says, and what its magnets need said.
pub fn cautions(design: &Design) -> Vec<Caution> {
    CAUTIONS.into_iter().chain(has_magnets(design).then_some(MAGNETS)).collect()
}
