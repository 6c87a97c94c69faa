//! What stands proud of its room: as pockets come out on the average, and in the dials whose pockets come out shallower.

mod findings;

use findings as say;

use crate::audit::seat_depth;
use crate::design::standing::{Proud, What, room_of_pair, standing};
use crate::design::{Depth, Design, PocketDepth, Turn};
use crate::diagnostics::Problems;
use crate::statistics::normal;
use crate::units::Length;

/// The share of dials whose magnets may stand out because their pockets come out shallower than they do on the average (common
/// practice, no source).
const FEW: f64 = 0.01;

/// A pair of magnets that stands out in some dials.
pub(super) struct Unsure {
    /// Room that both have together, on the average.
    room: Length,
    /// The share of dials in which they have none, depths being normal about their mean: the readings of the passes tell it to a
    /// digit at the most.
    share: f64,
    /// The depths of their pockets with their intervals, each once.
    depths: Vec<String>,
}

/// What stands proud where the faces of a turn, or of a glued joint, should meet, and magnets that stand out of the dial.
pub(super) fn check(design: &Design, problems: &mut Problems) {
    let standing = standing(design);
    for (below, proud) in standing.joints.iter().enumerate().filter_map(|(below, proud)| Some((below, proud.as_ref()?)))
    {
        let Some(upper) = design.layers.get(below + 1) else { continue };
        let turn = design.turns().find(|(at, _)| *at == below).map(|(_, turn)| turn);
        problems.push(match (proud.what, turn) {
            (What::Pair(turn), _) => {
                let instead = seat_depth::instead(design, Some(below), || None);
                say::magnets_proud(turn, proud.by, upper, instead)
            }
            (What::Clicks(turn), _) => say::clicks_proud(turn, proud.by, upper),
            (What::Through(magnet, layer), _) => say::magnet_between(magnet, layer, proud.by, upper, turn.is_some()),
            (What::Head(rivet, _), Some(turn)) => say::head_between(turn, rivet, proud.by, upper),
            // A rivet goes through all that is glued together, so that its heads lie on no glued face.
            (What::Head(..), None) => continue,
        });
    }
    for (below, turn) in design.turns().filter(|(below, _)| standing.apart(*below) <= Length::ZERO) {
        let (Some(found), Some(upper)) = (unsure(design, turn), design.layers.get(below + 1)) else { continue };
        let instead = seat_depth::surely(design, below, |trial| {
            trial.turns().any(|(at, turn)| at == below && unsure(trial, turn).is_none())
        });
        problems.push(say::magnets_may_be_proud(turn, &found, upper, instead));
    }
    for (proud, side) in [(standing.bottom, "bottom"), (standing.top, "top")] {
        if let Some(Proud { by, what: What::Through(magnet, layer) }) = proud {
            problems.push(say::magnet_sticks_out(magnet, layer, by, side));
        }
    }
}

/// How many dials have magnets that stand out by what measured passes stray alone; none where that is few, or where nobody measured
/// how passes stray.
fn unsure(design: &Design, turn: &Turn) -> Option<Unsure> {
    let seats = turn.pivot.seats()?;
    let measured = |depth: Depth| match depth {
        Depth::Down(depth) => depth.passes().filter(|passes| passes.within.is_some()).map(|_| depth),
        Depth::Through => None,
    };
    let sunk: Vec<PocketDepth> = seats.into_iter().filter_map(|(_, seat)| measured(seat.depth)).collect();
    if sunk.is_empty() {
        return None;
    }
    let strays = sunk.iter().map(|depth| depth.deviation(Length::ZERO).as_mm()).fold(0.0, f64::hypot);
    let room = room_of_pair(design, turn)?;
    let share = normal::below(-room.as_mm() / strays.max(f64::MIN_POSITIVE));
    let mut depths: Vec<String> =
        sunk.iter().filter_map(PocketDepth::passes).map(|passes| passes.to_string()).collect();
    depths.dedup();
    (share > FEW).then_some(Unsure { room, share, depths })
}
