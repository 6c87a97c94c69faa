//! Whether a run makes dials enough for those that misread.

use super::findings as say;
use super::yields::{DialYield, Share};
use crate::design::{Design, Run};
use crate::diagnostics::Problems;
use crate::limits::RUN_DIALS;
use crate::statistics::failures_before;

/// A run that makes enough dials that read right in less than this share of the times that it is made is worth a warning
/// (common practice, no source).
const ENOUGH: f64 = 0.95;

/// How many runs of a hundred come to enough dials that read right, and with how many spares enough of them would.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Enough {
    /// Runs that do, with what they may be off by.
    pub share: Share,
    /// The spares that would do, whatever the dials may be off by; none where no run is as large as that.
    pub spares: Option<u32>,
}

impl Enough {
    /// Of a run of dials that read right this often. Each dial is taken to read right or not whatever the others of its run do.
    pub fn of(run: &Run, reads: Share) -> Self {
        let chance = |reads: f64| {
            let spares = usize::try_from(run.spares).unwrap_or(usize::MAX);
            failures_before(run.dials, reads).nth(spares).unwrap_or(1.0)
        };
        let [least, share, most] = [-1.0, 0.0, 1.0].map(|sign| chance(reads.share + sign * reads.plus_minus));
        let most_spares = RUN_DIALS.saturating_sub(usize::try_from(run.dials).unwrap_or(usize::MAX));
        let surely = failures_before(run.dials, reads.share - reads.plus_minus);
        let spares = surely.take(most_spares + 1).position(|chance| chance >= ENOUGH);
        Self {
            share: Share { share, plus_minus: f64::max(most - share, share - least) },
            spares: spares.and_then(|spares| u32::try_from(spares).ok()),
        }
    }
}

/// A run that is too likely to end with fewer dials than are wanted. What misreads as drawn is no matter of spares.
pub fn too_few(design: &Design, whole: &DialYield) -> Problems {
    let mut problems = Problems::default();
    let Some(origin) = design.run.origin else { return problems };
    let enough = Enough::of(&design.run, whole.share);
    if enough.share.share < ENOUGH {
        problems.push(say::spares_too_few(&design.run, origin, whole.share, &enough));
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(dials: u32, spares: u32) -> Run {
        Run { dials, spares, margin: None, gap: None, wanted: None, origin: None }
    }

    /// 0.9 ^ 8 is 43.05 %, 0.92 ^ 8 is 51.32 %, 0.88 ^ 8 is 35.96 %.
    #[test]
    fn runs_are_as_unsure_as_their_dials() {
        let found = Enough::of(&run(8, 0), Share { share: 0.9, plus_minus: 0.02 }).share;
        assert!((found.share - 0.430_467_21).abs() < 1e-9);
        assert!((found.plus_minus - (0.92_f64.powi(8) - 0.9_f64.powi(8))).abs() < 1e-9);
    }

    #[test]
    fn no_run_is_large_enough_for_what_never_reads() {
        assert_eq!(Enough::of(&run(8, 1), Share { share: 0.001, plus_minus: 0.002 }).spares, None);
    }
}
