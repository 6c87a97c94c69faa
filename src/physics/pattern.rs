//! Which way each click magnet must look so that the wanted stops click and nothing else does.

use super::clicks::{ClickRing, Clicks, Polarity, Rest, Verdict};
use super::{Facing, OutOfRange};
use crate::units::{Angle, Force, Length};

/// Up to this many magnets in each of two equal rings, every pattern that both rings can share is tried.
const TRY_ALL: usize = 6;
/// A pattern must hold this many times as much as a simpler one to be taken instead.
const WORTH_IT: f64 = 1.01;

/// Magnets of one ring before their polarity is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsolved {
    /// How far the magnets stand from the turning axis.
    pub radius: Length,
    /// Each magnet's bearing on its layer.
    pub bearings: Vec<Angle>,
}

/// The polarities chosen, and what they do.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// For the lower ring, in order of its bearings.
    pub lower: Vec<Polarity>,
    /// For the upper ring, in order of its bearings.
    pub upper: Vec<Polarity>,
    /// The rings with these polarities.
    pub clicks: Clicks,
    /// How they serve the wanted stops. A pattern is always chosen: look here whether it does.
    pub verdict: Verdict,
    /// The least pull in a turn; negative where the rings push the layers apart between stops.
    pub least_pull: Force,
}

/// Chooses the polarities, only rests that are `felt` counting: first the fewest stops missing, then the fewest false ones, then the firmest weakest stop; the
/// simpler pattern where two do alike. Tried are: all alike; runs of one polarity in turn; and, in two equal rings of
/// at most 6, every pattern common to both.
///
/// # Errors
/// As [`Clicks::new`].
pub fn choose(
    pair: &Facing,
    lower: &Unsolved,
    upper: &Unsolved,
    wanted: &[Angle],
    within: Angle,
    felt: impl Fn(&Clicks, &Rest) -> bool,
) -> Result<Pattern, OutOfRange> {
    let all_up = |ring: &Unsolved| ClickRing {
        radius: ring.radius,
        seats: ring.bearings.iter().map(|bearing| (*bearing, Polarity::Up)).collect(),
    };
    let solve = |lower: Vec<Polarity>, upper: Vec<Polarity>, clicks: Clicks| {
        let verdict = clicks.judge(wanted, within, |rest| felt(&clicks, rest));
        Pattern { lower, upper, verdict, least_pull: clicks.least_pull(), clicks }
    };
    let alike = Clicks::new(pair, &all_up(lower), &all_up(upper))?;
    let (below, above) = (lower.bearings.len(), upper.bearings.len());
    let first = solve(vec![Polarity::Up; below], vec![Polarity::Up; above], alike.clone());
    Ok(candidates(below, above).into_iter().fold(first, |best, (below, above)| {
        let turned = alike.with_polarities(&below, &above);
        let next = solve(below, above, turned);
        if better(&next.verdict, &best.verdict) { next } else { best }
    }))
}

fn better(one: &Verdict, other: &Verdict) -> bool {
    let faults = |verdict: &Verdict| (verdict.missing().count(), verdict.false_stops.len());
    let firmer = one.weakest > other.weakest * WORTH_IT;
    faults(one) < faults(other) || (faults(one) == faults(other) && firmer)
}

/// Patterns for a lower and an upper ring of these sizes, simple ones first, all alike left out.
fn candidates(below: usize, above: usize) -> Vec<(Vec<Polarity>, Vec<Polarity>)> {
    let runs = (1..=below / 2).filter(|run| below.is_multiple_of(2 * run));
    let runs = runs.map(|run| (in_runs(below, run), in_runs(above, run)));
    // Turning all magnets over changes nothing, so the last seat stays up: half of the patterns are all of them.
    let every = (1_u32..1 << below.saturating_sub(1).min(TRY_ALL)).filter(|_| below == above && below <= TRY_ALL);
    let every = every.map(|bits| {
        let pattern: Vec<Polarity> = (0..below).map(|seat| look(bits >> seat & 1 == 1)).collect();
        (pattern.clone(), pattern)
    });
    runs.chain(every).collect()
}

/// So many up, so many down, and so on.
fn in_runs(count: usize, run: usize) -> Vec<Polarity> {
    (0..count).map(|seat| look((seat / run) % 2 == 1)).collect()
}

fn look(down: bool) -> Polarity {
    if down { Polarity::Down } else { Polarity::Up }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Torque;

    fn words(pattern: &[Polarity]) -> String {
        pattern.iter().map(|look| if *look == Polarity::Up { 'u' } else { 'd' }).collect()
    }

    #[test]
    fn poles_come_in_runs() {
        let runs = |count: usize, run: usize| words(&in_runs(count, run));
        assert_eq!(
            (runs(6, 1), runs(6, 2), runs(8, 4), runs(1, 1)),
            ("ududud".into(), "uudduu".into(), "uuuudddd".into(), "u".into())
        );
    }

    /// A pattern with fewer faults is taken whatever it holds; of those with as many, one that holds a hundredth more.
    #[test]
    fn a_pattern_must_be_firmer_by_a_hundredth() {
        let holds = |weakest: f64| Verdict {
            stops: Vec::new(),
            false_stops: Vec::new(),
            weakest: Torque::millinewton_metres(weakest),
        };
        for weakest in [0.02, 1.0, 70.0] {
            let other = holds(weakest);
            assert!(better(&holds(1.011 * weakest), &other) && !better(&holds(1.009 * weakest), &other), "{weakest}");
            // Of two that differ by less, neither is better.
            assert!(!better(&other, &other) && !better(&other, &holds(1.009 * weakest)), "{weakest}");
        }
        let missing = Verdict { stops: vec![(Angle::ZERO, None)], ..holds(5.0) };
        assert!(better(&holds(1.0), &missing) && !better(&missing, &holds(1.0)));
    }

    /// By hand: runs that come round evenly, then in two like rings of six at most every pattern with its last magnet up but the one
    /// all alike.
    #[test]
    fn patterns_are_tried_simple_ones_first() {
        let tried = |below: usize, above: usize| -> Vec<(String, String)> {
            candidates(below, above).iter().map(|(lower, upper)| (words(lower), words(upper))).collect()
        };
        let pairs =
            |all: &[(&str, &str)]| all.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect::<Vec<_>>();
        assert_eq!(tried(4, 1), pairs(&[("udud", "u"), ("uudd", "u")]));
        assert_eq!(tried(6, 3), pairs(&[("ududud", "udu"), ("uuuddd", "uuu")]));
        assert_eq!(tried(8, 8), pairs(&[("udududud", "udududud"), ("uudduudd", "uudduudd"), ("uuuudddd", "uuuudddd")]));
        assert_eq!(tried(5, 1), pairs(&[]));
        let three = ["duu", "udu", "ddu"];
        assert_eq!(tried(3, 3), pairs(&three.map(|it| (it, it))));
        let all = tried(6, 6);
        assert_eq!(all.len(), 2 + 31);
        assert!(
            all.iter().all(|(lower, upper)| lower == upper)
                && all.iter().skip(2).all(|(lower, _)| lower.ends_with('u'))
        );
        assert_eq!(all.iter().skip(2).collect::<std::collections::BTreeSet<_>>().len(), 31);
    }
}
