//! Where what holds a dial crosses a limit.

use super::findings as say;
use super::{Glued, Held, Holding, TurnHolding, proud};
use crate::audit::seat_depth;
use crate::design::axis::Contradiction;
use crate::design::{Depth, Design, Pivot, Seat, Turn};
use crate::diagnostics::Problems;
use crate::physics::friction::COMFORTABLE_THUMB;
use crate::physics::{Disc, Facing, hazard::hazard};
use crate::statistics::normal;
use crate::units::{Force, Length};

/// A gap that leaves less than this share of the pull in contact costs too much (common practice, no source).
const LEAST_SHARE: f64 = 0.4;
/// How many times over glue must hold the hardest pull of a like magnet (common practice, no source).
const GLUE_TIMES: f64 = 2.0;

/// What is to be said of magnets wherever they sit.
pub(super) fn of_magnets(design: &Design, contradictions: &[Contradiction]) -> Problems {
    let mut problems = hazards(design);
    problems.extend(contradictions.iter().map(|at_odds| say::magnets_at_odds(design, at_odds)));
    problems
}

/// Everything that is wrong with turns, or worth knowing of them.
pub(super) fn of_turns(design: &Design, holding: &Holding) -> Problems {
    let mut problems = Problems::default();
    for (found, (_, turn)) in holding.turns.iter().zip(design.turns()) {
        let upper = design.layers.get(found.below + 1).map_or("", |layer| layer.name.as_str());
        match (&turn.pivot, &found.magnets) {
            (Pivot::Rivet(rivet), _) => {
                let wanted = design.spreads.kerf * normal::FREE;
                if rivet.clearance < wanted {
                    problems.push(say::rivet_binds(
                        turn,
                        rivet,
                        (wanted, normal::lacking(rivet.clearance.as_mm(), design.spreads.kerf.as_mm())),
                        upper,
                    ));
                }
            }
            (Pivot::Magnets { .. }, Some(held)) => {
                check_pull(design, (found.below, turn), held, upper, &mut problems);
                check_steadiness(turn, found, upper, &mut problems);
                check_feel(turn, found, upper, &mut problems);
                check_clicks(turn, held, upper, &mut problems);
                let weak = |glued: &&Glued| glued.times().is_some_and(|times| times < GLUE_TIMES);
                problems.extend(held.glue.iter().filter(weak).map(|glued| say::glue_too_weak(turn, glued, GLUE_TIMES)));
            }
            (Pivot::Magnets { .. }, None) | (Pivot::Wall, _) => {}
        }
    }
    proud::check(design, &mut problems);
    problems
}

/// Says of every magnet of the dial whether it is a hazard when it comes loose.
fn hazards(design: &Design) -> Problems {
    let mut problems = Problems::default();
    let mut seen: Vec<&str> = Vec::new();
    for (_, turn) in design.turns() {
        for magnet in turn.magnets() {
            if seen.contains(&magnet.name.as_str()) {
                continue;
            }
            seen.push(&magnet.name);
            // The whole magnet, plating and all, errs on the safe side.
            let disc = Disc::new(magnet.diameter, magnet.height, magnet.remanence).ok();
            if let Some(found) =
                disc.map(|disc| hazard(&disc)).filter(|found| found.is_hazardous(design.spreads.remanence))
            {
                problems.push(say::magnet_hazard(magnet, &found, turn.origin));
            }
        }
    }
    problems
}

/// Whether a gap leaves too little of what a pair has face to face.
pub(in crate::audit) fn costs_pull(pair: &Facing, flush: Force) -> bool {
    pair.pull() < flush * LEAST_SHARE
}

fn check_pull(design: &Design, (below, turn): (usize, &Turn), held: &Held, upper: &str, problems: &mut Problems) {
    let Pivot::Magnets { lower, upper: above, .. } = &turn.pivot else { return };
    let pull = held.pair.pull();
    if costs_pull(&held.pair, held.flush) {
        let set_back = lower.layer + 1 < above.layer;
        let mend = if set_back {
            say::NearerBy::Layers
        } else {
            let instead = seat_depth::instead(design, Some(below), || None);
            instead.map_or(say::NearerBy::Magnet, say::NearerBy::Pocket)
        };
        let gap = held.pair.gap();
        problems.push(say::gap_costs_pull(turn, (gap, pull, held.flush), mend, upper));
    } else {
        problems.extend(deeper_than_asked(design, (below, turn), held, [lower, above]));
    }
}

/// Pockets of the axis that whole passes make deeper than asked.
fn deeper_than_asked(
    design: &Design,
    (below, turn): (usize, &Turn),
    held: &Held,
    seats: [&Seat; 2],
) -> Option<crate::diagnostics::Diagnostic> {
    let sunk = seats.iter().filter_map(|seat| match seat.depth {
        Depth::Down(depth) => Some(depth),
        Depth::Through => None,
    });
    let deeper = sunk.map(|depth| depth.made() - depth.asked()).fold(Length::ZERO, |all, by| all + by);
    let most = seats.iter().filter_map(|seat| match seat.depth {
        Depth::Down(depth) => Some((depth, depth.deeper_than_asked()?)),
        Depth::Through => None,
    });
    let (depth, by) = most.reduce(|one, other| if one.1 < other.1 { other } else { one })?;
    let gap = held.pair.gap() - deeper;
    let wished = held.pair.at_gap(if gap < Length::ZERO { Length::ZERO } else { gap }).ok()?.pull();
    // Only a depth that brings the magnets nearer is worth proposing.
    let instead = seat_depth::nearer(design, below);
    Some(say::seat_deeper_than_asked(turn, &depth, by, (held.pair.pull(), wished), instead))
}

/// What slips by itself bears no shock along its face either, and where the magnets pull with less than it weighs none
/// at all; that is not said as well.
fn check_steadiness(turn: &Turn, found: &TurnHolding, upper: &str, problems: &mut Problems) {
    let slips = slips(found);
    if let Some(times) = slips {
        problems.push(say::slips_by_itself(turn, times, found, upper));
    }
    if let Some(gravities) = found.shock_to_turn().filter(|gravities| *gravities < found.shock && slips.is_none()) {
        problems.push(say::knock_turns_it(turn, gravities, found.shock, upper));
    }
    let lifted = slips.is_some_and(|times| times <= 0.0);
    if let Some(gravities) = found.shock_to_part().filter(|gravities| *gravities < found.shock && !lifted) {
        problems.push(say::knock_parts_it(turn, gravities, found.shock, upper));
    }
}

/// How many times over it stays where it is put, where that is not even once.
fn slips(found: &TurnHolding) -> Option<f64> {
    found.stays().filter(|times| *times < 1.0)
}

fn check_feel(turn: &Turn, found: &TurnHolding, upper: &str, problems: &mut Problems) {
    let Some((least, most)) = found.thumb() else { return };
    if least > COMFORTABLE_THUMB.1 {
        problems.push(say::turns_hard(turn, least, COMFORTABLE_THUMB.1, upper));
    } else if most < COMFORTABLE_THUMB.0 && slips(found).is_none() {
        problems.push(say::turns_at_a_touch(turn, most, COMFORTABLE_THUMB.0, upper));
    }
}

fn check_clicks(turn: &Turn, held: &Held, upper: &str, problems: &mut Problems) {
    let (Some(rings), Some(clicks)) = (&held.clicks, &turn.clicks) else { return };
    let verdict = &rings.pattern.verdict;
    let missing: Vec<_> = verdict.missing().collect();
    if !missing.is_empty() {
        problems.push(say::no_click(clicks, &missing, verdict.stops.len(), rings, upper));
    }
    if !verdict.false_stops.is_empty() {
        problems.push(say::false_click(clicks, &verdict.false_stops, upper));
    }
    let least = held.axis + rings.pattern.least_pull;
    if least <= Force::ZERO {
        problems.push(say::halves_pushed_apart(clicks, least, upper));
    }
}

/// Dials that hold each other harder than themselves come apart when they are taken from their stack.
pub(super) fn stored(design: &Design, holding: &Holding) -> Option<crate::diagnostics::Diagnostic> {
    let stored = holding.stored?;
    let weakest = holding.turns.iter().zip(design.turns()).filter_map(|(found, (_, turn))| {
        let pull = found.magnets.as_ref()?.lift_off.pull;
        Some((pull, turn, found.below))
    });
    let (pull, turn, below) = weakest.min_by(|a, b| a.0.as_newtons().total_cmp(&b.0.as_newtons()))?;
    let upper = design.layers.get(below + 1)?;
    (stored >= pull).then(|| say::stack_pulls_apart(turn, stored, pull, &upper.name))
}
