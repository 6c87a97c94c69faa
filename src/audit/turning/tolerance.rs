//! How often a reading is right at each stop when dials are made within the shop's spreads, and what is left at the worst.

use super::findings as say;
use super::judge::failing;
use super::yields::{Causes, Loss, Share, Spread, Yields, losses, matters_most, room};
use super::{CheckedStop, ReadingCheck, asked};
use crate::audit::holding::Holding;
use crate::design::{Design, Room, Spreads};
use crate::diagnostics::{Problems, Severity};
use crate::units::Length;

/// A dial that reads right at every stop in less than this share of the run is worth a warning, and so is a stop (common
/// practice, no source).
pub const SURE: f64 = 0.99;
/// A stop that reads right in less than this share of the run cannot be read: hardly a dial of ten does (common practice, no
/// source).
pub const READABLE: f64 = 0.1;
/// How many standard deviations the worst case takes, for spreads that have no bound of their own.
const WORST: f64 = 3.0;

/// How sure one reading is.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingTolerance {
    /// The ring read.
    pub ring: String,
    /// The openings or pointer.
    pub by: Vec<String>,
    /// One for each of the stops checked.
    pub stops: Vec<StopTolerance>,
}

/// How sure one stop is.
#[derive(Clone, Debug, PartialEq)]
pub struct StopTolerance {
    /// Dials that read right there.
    pub share: Share,
    /// Least of margin and foreign gap when every spread is at its worst at once (three standard deviations, or the
    /// whole of the play); negative where the reading would fail.
    pub worst_margin: Length,
    /// What each spread takes off at its worst, by itself.
    pub losses: Vec<Loss>,
}

impl StopTolerance {
    /// The spread that takes most.
    pub fn matters_most(&self) -> Option<Spread> {
        matters_most(&self.losses)
    }
}

/// What is left at every stop that was checked, beside its yield.
pub fn tolerance(
    design: &Design,
    check: &ReadingCheck,
    spreads: &Spreads,
    holding: Option<&Holding>,
    yields: &Yields,
) -> Vec<ReadingTolerance> {
    if design.has_wheels() {
        return super::wheels::left(design, check, spreads, (holding, yields));
    }
    let causes = Causes::of(design, spreads, holding);
    let of = |(reading, shares): (&super::CheckedReading, &Vec<Share>)| {
        let scene = check.scene(design, reading)?;
        let stops = reading.stops.iter().zip(shares).map(|(stop, share)| {
            let losses = losses(design, &scene, (reading, stop), &causes);
            let lost: f64 = losses.iter().map(|(_, loss)| loss.as_mm()).sum();
            StopTolerance { share: *share, worst_margin: Length::mm(room(stop) - lost), losses }
        });
        Some(ReadingTolerance { ring: reading.ring.clone(), by: reading.by.clone(), stops: stops.collect() })
    };
    check.readings.iter().zip(&yields.readings).filter_map(of).collect()
}

/// What is said of a dial that reads right too seldom: once, at the stop that fails oftenest of those that read as drawn.
pub fn unsure(design: &Design, check: &ReadingCheck, yields: &Yields) -> Problems {
    let mut problems = Problems::default();
    let Some(dial) = &yields.dial else { return problems };
    let all = check.readings.iter().zip(&yields.readings).flat_map(|(reading, shares)| {
        reading.stops.iter().zip(shares).filter(|(stop, _)| stop.reads).map(move |(stop, share)| (reading, stop, share))
    });
    let worst = all.clone().min_by(|a, b| a.2.share.total_cmp(&b.2.share));
    let Some((reading, stop, share)) = worst else { return problems };
    // Where some stop misreads as drawn, that has been said, and the dial as a whole says no more.
    let whole = check.reads().then_some(dial.share);
    if whole.map_or(share.share, |whole| whole.share.min(share.share)) >= SURE {
        return problems;
    }
    let alike = all.filter(|(other, _, share)| std::ptr::eq(*other, reading) && share.share < SURE).count().max(1);
    let found = asked(design, reading).and_then(|asked| failing(design, asked, stop, alike, reading.stops.len()));
    if let Some(failing) = found {
        let severity = if share.share < READABLE { Severity::Error } else { Severity::Warning };
        problems.push(say::unsure(&failing, severity, *share, whole, dial.matters_most));
    }
    problems
}

/// The reading with the least room for error in centring that pockets overrun at their worst, where their centres have
/// this standard deviation; none where every reading leaves enough.
pub fn overrun(check: &ReadingCheck, strays: Length) -> Option<Room> {
    let rooms = check.readings.iter().flat_map(|reading| {
        let taken = worst_off_axis(strays, reading.turns.len());
        let left = reading.stops.iter().filter(|stop| stop.reads).filter_map(CheckedStop::near_centring_slack);
        left.map(move |left| Room { left, taken })
    });
    let short = |room: &Room| room.left.as_mm() - room.taken.as_mm();
    rooms.filter(|room| short(room) < 0.0).min_by(|a, b| short(a).total_cmp(&short(b)))
}

/// How far the halves of so many turns stray from each other at the worst: two pockets for each.
fn worst_off_axis(strays: Length, turns: usize) -> Length {
    #[allow(clippy::cast_precision_loss, reason = "a handful of turns")]
    let pockets = 2.0 * turns as f64;
    Length::mm(WORST * strays.as_mm() * pockets.sqrt())
}

#[cfg(test)]
mod tests {
    use super::super::CheckedReading;
    use super::*;

    /// Two pockets for each turn, three deviations each, by the root of the sum of the squares.
    #[test]
    fn halves_stray_by_the_root_of_their_pockets() {
        for (turns, wanted) in [(0, 0.0), (1, 3.0 * 2.0_f64.sqrt()), (2, 6.0), (8, 12.0)] {
            assert!((worst_off_axis(Length::mm(0.5), turns).as_mm() - 0.5 * wanted).abs() < 1e-12);
        }
    }

    fn stop(margin: f64, foreign: Option<f64>) -> CheckedStop {
        CheckedStop {
            shown: Some(0),
            visible_area: 1.0,
            due_area: 1.0,
            margin: Length::mm(margin),
            foreign_gap: foreign.map(Length::mm),
            reads: true,
            ..CheckedStop::default()
        }
    }

    #[test]
    fn the_tightest_reading_is_told_where_pockets_overrun_it() {
        let reading = |slacks: &[f64], turns: usize| CheckedReading {
            ring: "crew".into(),
            how: crate::design::ReadsHow::Through,
            by: Vec::new(),
            turns: (0..turns).collect(),
            stops: slacks.iter().map(|mm| CheckedStop { centring_slack: Length::mm(*mm), ..stop(1.0, None) }).collect(),
            origin: crate::source::Span::new(crate::source::Sources::default().add("a.dial", ""), 0..1),
        };
        let check = |readings: Vec<CheckedReading>| ReadingCheck { readings, ..ReadingCheck::default() };
        // 3 x 0.1 x sqrt 2 is 0.424 mm, with two turns 0.6 mm.
        let strays = Length::mm(0.1);
        assert!(overrun(&check(vec![reading(&[0.43, 0.9], 1)]), strays).is_none());
        let found = overrun(&check(vec![reading(&[0.9, 0.41], 1), reading(&[0.4, 0.5], 2)]), strays).unwrap();
        assert!((found.left.as_mm() - 0.4).abs() < 1e-12 && (found.taken.as_mm() - 0.6).abs() < 1e-12);
        let mut misread = reading(&[0.1], 1);
        misread.stops[0].reads = false;
        assert!(overrun(&check(vec![misread]), strays).is_none(), "what reads wrong anyhow is no matter here");
    }
}
