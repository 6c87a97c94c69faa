//! Everything that can be said of a design before it is cut: what reads, what fits, what breaks. Pure.
//!
//! One module for each family of findings; [`audit`] runs them all, and [`Audit::measure`] answers what `expect` may ask.

pub mod bonds;
mod ends;
pub mod fit;
pub mod holding;
pub mod legibility;
pub mod measures;
pub mod printed;
pub mod runout;
mod seat_depth;
pub mod strength;
pub mod turning;
pub mod wheels;

pub use fit::{Fit, StopFit};
pub use holding::Holding;
pub use legibility::Legibility;
pub use measures::MeasureValue;
pub use runout::Runout;
pub use strength::Strength;
pub use turning::tolerance::{self, ReadingTolerance, StopTolerance};
pub use turning::yields::{DialYield, Share, Spread, WorstStop, Yields};
pub use turning::{Amiss, CheckedReading, CheckedStop, ReadingCheck, check_readings};
pub use wheels::{WheelPlay, Wheels};

use std::sync::OnceLock;

use crate::design::{Design, Spreads};
use crate::diagnostics::Problems;
use crate::parallel::side_by_side;
use crate::units::plain;
use turning::spares;
use turning::yields::yields;

/// How many of a hundred dials a share is, where it is not all of them.
pub(crate) fn of_a_hundred(share: f64) -> Option<String> {
    let hundred = (100.0 * share).ceil().clamp(1.0, 100.0);
    (hundred <= 99.0).then(|| format!("about {} of 100", plain(hundred, 0)))
}

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
    /// How its wheels lie; empty without any.
    pub wheels: Wheels,
    /// Everything found, accepted findings included, but for what [`Audit::unsure`] tells.
    pub problems: Problems,
    spreads: Spreads,
    yields: OnceLock<Yields>,
    tolerance: OnceLock<Vec<ReadingTolerance>>,
}

impl Audit {
    /// How many dials read right at each stop and at all of them, within the shop's spreads. `design` is the one audited.
    ///
    /// Worked out when it is first asked for, since what turning parts over leaves of the centring is only known from the plan.
    pub fn yields(&self, design: &Design) -> &Yields {
        let found = || yields(design, &self.reading_check, &self.spreads, Some(&self.holding));
        self.yields.get_or_init(found)
    }

    /// How many dials read right at every stop; none where nothing is read. `design` is the one audited.
    pub fn dial_yield(&self, design: &Design) -> Option<&DialYield> {
        self.yields(design).dial.as_ref()
    }

    /// How sure each stop is, and what it has left at worst, in the order of the reading check. `design` is the one audited.
    pub fn tolerance(&self, design: &Design) -> &[ReadingTolerance] {
        let yields = self.yields(design);
        let found = || tolerance::tolerance(design, &self.reading_check, &self.spreads, Some(&self.holding), yields);
        self.tolerance.get_or_init(found)
    }

    /// Whether too few dials read right, and too few of them are made. `design` is the one audited.
    pub fn unsure(&self, design: &Design) -> Problems {
        let mut problems = tolerance::unsure(design, &self.reading_check, self.yields(design));
        if let Some(whole) = self.dial_yield(design).filter(|_| self.reading_check.reads()) {
            problems.extend(spares::too_few(design, whole));
        }
        problems
    }

    /// The same with dials that are made within these spreads. Nothing else rests on them, so that what turning parts over
    /// leaves of the centring, which the plan tells, is given afterwards.
    pub fn within(self, spreads: Spreads) -> Self {
        Self { spreads, yields: OnceLock::new(), tolerance: OnceLock::new(), ..self }
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
    let (wheels, stuck) = wheels::wheels(design);
    let unsettled = holding::settled(design, &holding, &reading_check);
    let ended = ends::ends(design, &reading_check);
    for more in
        [unfit, untrue, weak, unheld, unsettled, ended, faint, stuck, bonds::bonds(design), printed::printed(design)]
    {
        problems.extend(more);
    }
    Audit {
        reading_check,
        fit,
        runout,
        strength,
        legibility,
        holding,
        wheels,
        problems,
        spreads: design.spreads,
        yields: OnceLock::new(),
        tolerance: OnceLock::new(),
    }
}
