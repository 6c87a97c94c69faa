//! Readings of wheels in a frame: each wheel is looked at as a dial of its own, about its own axis, with nothing of the others. So
//! three wheels of ten stops are thirty stops to look at and not a thousand.

use super::looked::Looked;
use super::seen_alike::{as_found, seen_alike};
use super::tolerance::{ReadingTolerance, tolerance};
use super::twins;
use super::yields::{Causes, DialYield, Share, WorstStop, Yields, yields};
use super::{CheckedReading, ReadingCheck, check_all};
use crate::audit::holding::{Holding, TurnHolding};
use crate::design::{Design, Spreads};
use crate::diagnostics::Problems;

/// A wheel's own dial, its place in the stack, and which of the turns is the wheel's.
pub(super) struct Alone {
    at: usize,
    turn: usize,
    dial: Design,
    /// What was looked at of its readings.
    looked: Looked,
    /// The wheel that it is like and looks like at every stop, by place among those that are read.
    like: Option<usize>,
}

impl Alone {
    /// The dials of all wheels that are read.
    pub(super) fn each(design: &Design) -> impl Iterator<Item = Self> {
        let dial = |(turn, below): (usize, usize)| {
            let dial = design.about(below + 1)?;
            Some(Self { at: below + 1, turn, dial, looked: Looked::default(), like: None })
        };
        let turns = design.turns().map(|(below, _)| below).enumerate();
        turns.filter_map(dial).filter(|alone| !alone.dial.readings.is_empty())
    }

    /// What holds it, as a turn of its own dial.
    fn held(&self, holding: Option<&Holding>) -> Holding {
        let own = holding.and_then(|all| all.turns.iter().find(|turn| turn.below + 1 == self.at));
        let below = self.dial.turns().next().map_or(0, |(below, _)| below);
        Holding { turns: own.map(|own| TurnHolding { below, ..own.clone() }).into_iter().collect(), stored: None }
    }

    /// What was checked of this wheel, as a check of its own dial, and the places of its readings among all.
    fn part(&self, check: &ReadingCheck) -> (ReadingCheck, Vec<usize>) {
        let own = check.readings.iter().enumerate().filter(|(_, reading)| reading.turns == [self.turn]);
        let (places, readings): (Vec<usize>, Vec<CheckedReading>) =
            own.map(|(at, reading)| (at, CheckedReading { turns: vec![0], ..reading.clone() })).unzip();
        (ReadingCheck { readings, looked: self.looked.clone() }, places)
    }
}

/// Turns every wheel through its own stops.
pub(super) fn check(design: &Design) -> (ReadingCheck, Problems) {
    let mut problems = Problems::default();
    let mut known: Vec<ReadingCheck> = Vec::new();
    let mut readings = Vec::new();
    let mut wheels = Vec::new();
    for alone in Alone::each(design) {
        let (at, turn) = (alone.at, alone.turn);
        let like = design.alike(at).and_then(|first| wheels.iter().position(|known: &Alone| known.at == first));
        let first = like.and_then(|like| wheels.get(like).zip(known.get(like)));
        let as_first = first.and_then(|(first, found)| as_found(&alone.dial, (&first.dial, found)));
        let (found, said, like) = match as_first {
            Some(found) => (found, Problems::default(), like),
            None => {
                let (found, said) = check_all(&alone.dial);
                // Of several wheels that are alike and are seen alike, it is told once.
                let is_told = first.is_some_and(|(_, first)| seen_alike(first, &found));
                (found, if is_told { Problems::default() } else { said }, None)
            }
        };
        problems.extend(said);
        wheels.push(Alone { looked: found.looked.clone(), like, ..alone });
        let of_all = found.readings.iter().map(|reading| CheckedReading { turns: vec![turn], ..reading.clone() });
        readings.extend(of_all);
        known.push(found);
    }
    twins::report_unread(design, &mut problems);
    // In the order written, as everywhere.
    let place = |reading: &CheckedReading| {
        design.readings.iter().position(|asked| asked.origin == reading.origin && asked.by == reading.by)
    };
    readings.sort_by_key(place);
    (ReadingCheck { readings, looked: Looked::of_wheels(wheels) }, problems)
}

/// How sure the readings of all wheels are.
pub(super) fn of_all(design: &Design, check: &ReadingCheck, spreads: &Spreads, holding: Option<&Holding>) -> Yields {
    let mut readings: Vec<Vec<Share>> = vec![Vec::new(); check.readings.len()];
    let mut dials: Vec<DialYield> = Vec::new();
    let mut known: Vec<(Causes, Yields)> = Vec::new();
    for alone in check.wheels(design).iter() {
        let (part, places) = alone.part(check);
        let held = alone.held(holding);
        let causes = Causes::of(&alone.dial, spreads, Some(&held));
        let first = alone.like.and_then(|like| known.get(like)).filter(|(first, _)| first.are_like(&causes));
        let found = match first {
            Some((_, found)) => found.clone(),
            None => yields(&alone.dial, &part, spreads, Some(&held)),
        };
        known.push((causes, found.clone()));
        for (place, shares) in places.iter().zip(found.readings) {
            if let Some(all) = readings.get_mut(*place) {
                *all = shares;
            }
        }
        dials.extend(found.dial.map(|dial| {
            let reading = places.get(dial.worst.reading).copied().unwrap_or_default();
            DialYield { worst: WorstStop { reading, ..dial.worst }, ..dial }
        }));
    }
    let share = together(dials.iter().map(|dial| dial.share));
    let worst = dials.into_iter().min_by(|a, b| a.worst.share.share.total_cmp(&b.worst.share.share));
    Yields { dial: worst.map(|worst| DialYield { share, ..worst }), readings }
}

/// Dials of which every wheel reads right. As if each wheel failed by itself, which is the least: one kerf is that of all of them,
/// so that they fail together oftener than that, and at the most as many are right as of the worst wheel.
fn together(shares: impl Iterator<Item = Share> + Clone) -> Share {
    let least: f64 = shares.clone().map(|share| share.share).product();
    let most = shares.clone().map(|share| share.share).fold(1.0, f64::min);
    let off: f64 = shares.map(|share| share.plus_minus.powi(2)).sum::<f64>().sqrt();
    Share { share: least, plus_minus: off + most - least }
}

/// What is left at every stop of every wheel.
pub(super) fn left(
    design: &Design,
    check: &ReadingCheck,
    spreads: &Spreads,
    (holding, yields): (Option<&Holding>, &Yields),
) -> Vec<ReadingTolerance> {
    let mut all: Vec<(usize, ReadingTolerance)> = Vec::new();
    for alone in check.wheels(design).iter() {
        let (part, places) = alone.part(check);
        let shares = places.iter().filter_map(|place| yields.readings.get(*place).cloned());
        let own = Yields { dial: None, readings: shares.collect() };
        all.extend(places.iter().copied().zip(tolerance(
            &alone.dial,
            &part,
            spreads,
            Some(&alone.held(holding)),
            &own,
        )));
    }
    all.sort_by_key(|(place, _)| *place);
    all.into_iter().map(|(_, reading)| reading).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wheels_read_together_no_oftener_than_the_worst_and_no_less_than_each_by_itself() {
        let share = |share: f64| Share { share, plus_minus: 0.003 };
        let all = together([share(0.9), share(0.8)].into_iter());
        assert!((all.share - 0.72).abs() < 1e-12 && (all.plus_minus - 0.08 - 0.003 * 2.0_f64.sqrt()).abs() < 1e-12);
        assert_eq!(together(std::iter::empty()), Share { share: 1.0, plus_minus: 0.0 });
    }
}
