//! Rings of one turn that run against each other: as its stops go up, one counts on and the other counts back. A ring on the upper
//! half does so, seen against one on the lower, wherever its labels follow each other the same way round.

use super::findings as say;
use super::mends::{self, Mending, Way};
use super::{CheckedReading, CheckedStop};
use crate::design::pose::wrapped;
use crate::design::{Design, Reading, Ring};
use crate::diagnostics::Problems;

/// Fewer labels than these have no direction.
const LEAST_LABELS: usize = 3;

/// A reading that runs one way as the stops of its turn go up.
struct Running<'a> {
    asked: &'a Reading,
    checked: &'a CheckedReading,
    ring: &'a Ring,
    goes_up: bool,
}

/// Pushes what is said of the first two such rings of each turn where no expectation states what they show.
pub(super) fn report(design: &Design, readings: &[CheckedReading], problems: &mut Problems) {
    let running: Vec<Running> = readings.iter().filter_map(|checked| running(design, checked)).collect();
    let downward = running.iter().filter(|one| !one.goes_up);
    for down in downward {
        let turns = &down.checked.turns;
        let Some(up) = running.iter().find(|other| other.goes_up && other.checked.turns == *turns) else { continue };
        if up.asked.stated || down.asked.stated {
            continue;
        }
        let way = if runs_clockwise(down.ring) { Way::Anticlockwise } else { Way::Clockwise };
        let mend = mends::tried(design, down.asked, [Mending::Runs(way)]);
        problems.push(say::rings_run_apart(
            down.asked,
            [up.ring, down.ring],
            [&up.checked.stops, &down.checked.stops],
            mend.as_ref(),
        ));
        return;
    }
}

fn running<'a>(design: &'a Design, checked: &'a CheckedReading) -> Option<Running<'a>> {
    let asked = design.readings.iter().find(|asked| asked.origin == checked.origin && asked.by == checked.by)?;
    let (_, ring) = design.ring(&checked.ring)?;
    let of = ring.labels.len();
    let sum = steps(&checked.stops, of);
    let runs = checked.turns.len() == 1 && of >= LEAST_LABELS && sum != 0;
    runs.then_some(Running { asked, checked, ring, goes_up: sum > 0 })
}

/// By how many labels a reading goes on over all its stops, back counted off; half of the ring is neither.
fn steps(stops: &[CheckedStop], of: usize) -> i64 {
    let count = i64::try_from(of).unwrap_or(1).max(1);
    let due = |stop: &CheckedStop| i64::try_from(stop.due).unwrap_or(0);
    let each = stops.iter().zip(stops.iter().skip(1)).map(|(one, next)| {
        let on = (due(next) - due(one)).rem_euclid(count);
        match (2 * on).cmp(&count) {
            std::cmp::Ordering::Less => on,
            std::cmp::Ordering::Equal => 0,
            std::cmp::Ordering::Greater => on - count,
        }
    });
    each.sum()
}

/// Whether a ring's labels follow each other clockwise, seen from the front.
fn runs_clockwise(ring: &Ring) -> bool {
    let labels = ring.labels.iter().zip(ring.labels.iter().skip(1));
    labels.map(|(one, next)| wrapped((next.bearing - one.bearing).as_degrees())).sum::<f64>() > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_counted_the_short_way_round() {
        let stops = |due: &[usize]| {
            due.iter().map(|due| CheckedStop { due: *due, ..CheckedStop::default() }).collect::<Vec<_>>()
        };
        for (due, of, wanted) in [
            (vec![0, 1, 2, 3], 4, 3),
            (vec![0, 3, 2, 1], 4, -3),
            (vec![0, 0, 1, 1, 2, 2], 3, 2),
            (vec![0, 2, 0, 2], 4, 0),
            (vec![], 5, 0),
        ] {
            assert_eq!(steps(&stops(&due), of), wanted, "{due:?}");
        }
    }
}
