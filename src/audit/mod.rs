//! Everything that can be said of a design before it is cut: what reads, what fits, what breaks. Pure.
//!
//! One module for each family of findings; [`audit`] runs them all, and [`MEASURES`] lists what `expect` may ask.

pub mod fit;
mod flat;
pub mod holding;
mod measures;
mod pose;
pub mod strength;
pub mod true_turning;
pub mod turning;

pub use fit::{Fit, StopFit};
pub use measures::{Kind, MEASURES, MeasureInfo, MeasureValue, Subject};
pub use strength::Strength;
pub use true_turning::TrueTurning;
pub use turning::tolerance::{self, ReadingTolerance, Spread, Spreads, StopTolerance};
pub use turning::{Proof, ReadingProof, StopProof, prove};

use crate::design::Design;
use crate::diagnostics::Problems;

/// What was found out about a design.
#[derive(Clone, Debug)]
pub struct Audit {
    /// What reads at each stop.
    pub proof: Proof,
    /// How sure each stop is within the shop's spreads, in the order of the proof.
    pub tolerance: Vec<ReadingTolerance>,
    /// How it lies in its slot; none without a slot.
    pub fit: Option<Fit>,
    /// How true it turns.
    pub true_turning: TrueTurning,
    /// How strong its parts are.
    pub strength: Strength,
    /// Everything found, accepted findings included.
    pub problems: Problems,
}

/// Audits a design with the default [`Spreads`].
pub fn audit(design: &Design) -> Audit {
    audit_with(design, &Spreads::default())
}

/// Audits a design made within these spreads.
pub fn audit_with(design: &Design, spreads: &Spreads) -> Audit {
    let (proof, mut problems) = prove(design);
    let (tolerance, unsure) = turning::tolerance::tolerance(design, &proof, spreads);
    let (fit, unfit) = fit::fit(design);
    let (true_turning, untrue) = true_turning::true_turning(design);
    let (strength, weak) = strength::strength(design);
    for more in [unsure, unfit, untrue, weak, holding::hazards(design)] {
        problems.extend(more);
    }
    Audit { proof, tolerance, fit, true_turning, strength, problems }
}
