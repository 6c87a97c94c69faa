//! The usual cautions. They point to the published rules and never replace them.

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
