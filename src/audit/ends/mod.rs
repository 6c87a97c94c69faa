//! Whether the pin and slot that end a turn do: both stops are reached, the pin catches and stands in nobody's way, and what it is
//! pushed against is near the stop. How hard a push it bears is not known.

mod findings;

use self::findings as say;
use super::turning::{CheckedReading, CheckedStop, ReadingCheck};
use crate::design::standing::standing;
use crate::design::{Design, Ends, Turn};
use crate::diagnostics::Problems;
use crate::statistics::normal;
use crate::units::{Angle, Length};

/// How deep a pin must reach into its slot at the least, or through half of the layer where that is thinner (common practice, no
/// source).
const LEAST_CATCH: Length = Length::mm(1.0);
/// How many standard deviations the play must cover, so that some 98 of 100 reach either end.
const REACHED: f64 = 2.0;

/// Everything that is wrong with the ends of turns.
pub(super) fn ends(design: &Design, check: &ReadingCheck) -> Problems {
    let mut problems = Problems::default();
    for (at, (below, turn)) in design.turns().enumerate() {
        let Some(ends) = &turn.ends else { continue };
        length(design, (below, turn), ends, &mut problems);
        let (wanted, short) = play(design, turn, ends);
        if ends.play < wanted {
            problems.push(say::end_slot_short(ends, wanted, short));
        }
        problems.extend(long(ends, at, check));
    }
    problems
}

/// The play that a slot wants so that both end stops are reached, and the share of dials in which one is not.
fn play(design: &Design, turn: &Turn, ends: &Ends) -> (Length, f64) {
    let spreads = &design.spreads;
    // Either end moves by half of what the width of a cut strays, and each half by what its seat strays off the axis.
    let apart = (spreads.kerf.as_mm() / 2.0).powi(2) + 2.0 * spreads.centring().as_mm().powi(2);
    let deviation = Length::mm(apart.sqrt());
    // A wheel in an opening takes no ends, and is told so.
    let pivot = turn.pivot.clearance();
    // The pin's own clearance in its hole takes as much as that in its slot gives.
    let sure = pivot / 2.0;
    let left = (ends.play - sure).as_mm() / deviation.as_mm().max(f64::MIN_POSITIVE);
    // Two ends, of which a shift that shortens the one lengthens the other.
    (sure + deviation * REACHED, (2.0 * normal::below(-left)).min(1.0))
}

fn length(design: &Design, (below, turn): (usize, &Turn), ends: &Ends, problems: &mut Problems) {
    let (stays, turns) = Ends::layers(design.across(below), turn.turning);
    let (Some(stays), Some(turns)) = (design.layers.get(stays), design.layers.get(turns)) else { return };
    let thick = |layer: &crate::design::Layer| layer.stock.thickness.mean;
    let apart = standing(design).apart(below);
    // Its end is flush with the far face of the layer that it is glued into.
    let catches = ends.pin.length - thick(stays) - apart;
    let least = if thick(turns) / 2.0 < LEAST_CATCH { thick(turns) / 2.0 } else { LEAST_CATCH };
    let fits = (thick(stays) + apart + least, thick(stays) + apart + thick(turns));
    if catches > thick(turns) {
        problems.push(say::end_pin_proud(ends, catches - thick(turns), turns, fits));
    } else if catches < least {
        problems.push(say::end_pin_short(ends, catches, stays, fits));
    }
}

/// Where the half stands when it is turned until it stops, against what the readings at either end bear.
fn long(ends: &Ends, at: usize, check: &ReadingCheck) -> Option<crate::diagnostics::Diagnostic> {
    let beyond = ends.turned(ends.beyond());
    let short = check.readings.iter().filter_map(|reading| {
        let bears = bears(reading, at)?;
        (bears > Angle::ZERO && bears < beyond).then_some((reading, bears))
    });
    let (reading, bears) = short.reduce(|one, other| if other.1 < one.1 { other } else { one })?;
    Some(say::end_slot_long(ends, (beyond, bears), &reading.ring))
}

/// The least turn off its first or last stop that a reading across this turn bears.
fn bears(reading: &CheckedReading, turn: usize) -> Option<Angle> {
    let place = reading.turns.iter().position(|it| *it == turn)?;
    let stop_of = |stop: &CheckedStop| stop.stops.get(place).copied();
    let last = reading.stops.iter().filter_map(stop_of).max()?;
    let ends = reading.stops.iter().filter(|stop| stop.reads && stop_of(stop).is_some_and(|it| it == 0 || it == last));
    ends.map(CheckedStop::angular_slack).reduce(|one, other| if other < one { other } else { one })
}
