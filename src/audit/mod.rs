//! Everything that can be said of a design before it is cut: what reads, what fits, what breaks. Pure.
//!
//! One module for each family of findings; [`audit`] runs them all, and [`Audit::measure`] answers what `expect` may ask.

pub mod bonds;
pub mod fit;
pub mod holding;
pub mod legibility;
pub mod measures;
pub mod runout;
mod seat_depth;
pub mod strength;
pub mod turning;

pub use fit::{Fit, StopFit};
pub use holding::Holding;
pub use legibility::Legibility;
pub use measures::MeasureValue;
pub use runout::Runout;
pub use strength::Strength;
pub use turning::tolerance::{self, ReadingTolerance, Spread, Spreads, StopTolerance};
pub use turning::yields::{DialYield, Share, WorstStop};
pub use turning::{CheckedReading, CheckedStop, ReadingCheck, check_readings};

use std::sync::OnceLock;

use crate::design::Design;
use crate::diagnostics::Problems;
use crate::parallel::side_by_side;

/// What was found out about a design.
#[derive(Clone, Debug)]
pub struct Audit {
    /// What reads at each stop.
    pub reading_check: ReadingCheck,
    /// How it lies in its slot; none without a slot.
    pub fit: Option<Fit>,
    /// How true it turns.
    pub runout: Runout,
    /// How strong its parts are.
    pub strength: Strength,
    /// How well its labels can be read.
    pub legibility: Legibility,
    /// What holds it together.
    pub holding: Holding,
    /// Everything found, accepted findings included; what the draws find is in [`Audit::unsure`].
    pub problems: Problems,
    spreads: Spreads,
    draws: OnceLock<(Vec<ReadingTolerance>, Problems)>,
}

impl Audit {
    /// How sure each stop is within the shop's spreads, in the order of the reading check. `design` is the one audited.
    ///
    /// The draws can take longer than all the rest together, so they are made when first asked for: always by `turn`,
    /// elsewhere only where `expect` asks `sure(...)`.
    pub fn tolerance(&self, design: &Design) -> &[ReadingTolerance] {
        &self.drawn(design).0
    }

    /// How many dials read right at every stop; none where nothing is read, or where it is not worked out. `design` is the one
    /// audited.
    pub fn dial_yield(&self, _design: &Design) -> Option<&DialYield> {
        None
    }

    /// The readings that are not sure enough. `design` is the one audited.
    pub fn unsure(&self, design: &Design) -> &Problems {
        &self.drawn(design).1
    }

    /// The same with dials that are drawn within these spreads. Nothing else rests on them, so that what turning parts over
    /// leaves of the centring, which the plan tells, is given afterwards.
    pub fn within(self, spreads: Spreads) -> Self {
        Self { spreads, draws: OnceLock::new(), ..self }
    }

    fn drawn(&self, design: &Design) -> &(Vec<ReadingTolerance>, Problems) {
        self.draws.get_or_init(|| tolerance::tolerance(design, &self.reading_check, &self.spreads))
    }
}

/// Audits a design made within its own [`Spreads`].
pub fn audit(design: &Design) -> Audit {
    let rest = || {
        let (fit, turning) = (fit::fit(design), runout::runout(design));
        (fit, turning, strength::strength(design), holding::holding(design))
    };
    let ((reading_check, mut problems), rest) = side_by_side(|| check_readings(design), rest);
    let ((fit, unfit), (runout, untrue), (strength, weak), (holding, unheld)) = rest;
    let (legibility, faint) = legibility::legibility(design);
    let unsettled = holding::settled(design, &holding, &reading_check);
    for more in [unfit, untrue, weak, unheld, unsettled, faint, bonds::bonds(design)] {
        problems.extend(more);
    }
    Audit {
        reading_check,
        fit,
        runout,
        strength,
        legibility,
        holding,
        problems,
        spreads: design.spreads,
        draws: OnceLock::new(),
    }
}
