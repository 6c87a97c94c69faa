//! Where the opening goes, and how large it is.

use std::f64::consts::PI;

use super::Answers;
use crate::units::Length;

/// Wood left between the opening and the rim, and round what holds the dial, in mm.
const RIM: f64 = 3.0;
/// An opening is no wider than this share of the dial, in radii: more looks empty.
const WIDEST: f64 = 0.45;
/// A spoke is no longer than this share of what the rim leaves of the radius.
const LONGEST: f64 = 0.6;
/// How much of its step a long opening takes.
const TAKEN: f64 = 0.8;

/// The opening that a ring is read through; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Opening {
    /// A circle: its diameter and how far out its middle lies.
    Round { across: f64, out: f64 },
    /// A sector, for words that lie across: its radii and half of its angle in degrees.
    Long { inner: f64, outer: f64, half: f64 },
    /// An obround for words that run like spokes: its width, its length and how far out its middle lies.
    Spoke { across: f64, long: f64, out: f64 },
}

/// All openings for these answers, round something of this width on the axis, the most legible first.
pub(super) fn openings(answers: &Answers, held: Length) -> Vec<Opening> {
    let made = if answers.readings.is_long() {
        [long(answers, held), spoke(answers, held)]
    } else {
        [round(answers, held), None]
    };
    made.into_iter().flatten().collect()
}

/// Radius of the dial, what its rim leaves of it, and how much of that lies outside of what holds it.
fn room(answers: &Answers, held: Length) -> (f64, f64, f64) {
    let radius = answers.across.as_mm() / 2.0;
    let room = radius - RIM;
    (radius, room, room - held.as_mm() / 2.0 - RIM)
}

/// A round opening of diameter d lies as far out as the rim lets it, r = R - rim - d/2. It keeps off what is on the axis
/// (r - d/2 >= hub), and the labels of two neighbouring stops, 2 r sin(pi/n) apart, are at least d apart. Both are
/// solved for d; sizes go down to half millimetres.
fn round(answers: &Answers, held: Length) -> Option<Opening> {
    let (radius, room, widest) = room(answers, held);
    let step = (PI / answers.readings.count() as f64).sin();
    let across = whole(widest.min(2.0 * room * step / (1.0 + step)).min(WIDEST * radius));
    (across >= 1.0).then(|| Opening::Round { across, out: whole(room - across / 2.0) })
}

/// A sector from the rim inwards that takes most of a step.
fn long(answers: &Answers, held: Length) -> Option<Opening> {
    let (radius, room, widest) = room(answers, held);
    let inner = whole(room - widest.min(WIDEST * radius));
    let half = (180.0 / answers.readings.count() as f64 * TAKEN).min(60.0).floor();
    (inner < room - 1.0 && half >= 1.0).then_some(Opening::Long { inner, outer: whole(room), half })
}

/// From the rim inwards, not so far that it has no width left: as wide as the labels of two stops are apart at its inner end.
fn spoke(answers: &Answers, held: Length) -> Option<Opening> {
    let (_, room, widest) = room(answers, held);
    let long = whole(widest.min(LONGEST * room));
    let across = whole((2.0 * (room - long) * (PI / answers.readings.count() as f64).sin()).min(long / 2.0));
    (across >= 1.0).then(|| Opening::Spoke { across, long, out: whole(room - long / 2.0) })
}

/// Down to a half, so that the file has plain figures.
fn whole(mm: f64) -> f64 {
    (mm * 2.0).floor() / 2.0
}

#[cfg(test)]
mod tests {
    use super::{Opening, openings};
    use crate::begin::{Answers, Holder, Readings};
    use crate::units::Length;

    fn round(count: i64, across: f64) -> Opening {
        let answers = Answers {
            shows: "Points".to_owned(),
            readings: Readings::Numbers(1, count),
            across: Length::mm(across),
            stock: "birch".to_owned(),
            holder: Holder::Magnets,
        };
        openings(&answers, Length::mm(8.0))[0]
    }

    #[test]
    fn a_round_opening_keeps_off_rim_axis_and_the_next_label() {
        for count in 2..=40 {
            for size in 30..120 {
                let Opening::Round { across, out } = round(count, f64::from(size)) else { panic!("it is round") };
                assert!(out + across / 2.0 <= f64::from(size) / 2.0 - 3.0 + 1e-9);
                assert!(out - across / 2.0 >= 4.0 + 3.0 - 0.5 - 1e-9);
                let apart = 2.0 * out * (std::f64::consts::PI / count as f64).sin();
                // Half a millimetre that the radius was rounded down by moves the labels together by less than pi/n.
                assert!(apart >= across - std::f64::consts::PI / count as f64, "{count} on {size}");
            }
        }
    }
}
