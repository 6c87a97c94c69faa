//! A depth for the pockets of a turn's magnets that does what is wanted, found by trying: whole passes make few depths, and
//! one that brings the magnets nearer may leave them proud, or break through a floor.

use super::holding::{self, costs_pull};
use super::strength;
use crate::design::standing::standing;
use crate::design::{Depth, Design, Joint, Magnet, Pivot, PocketDepth, Seat, Turn, Work};
use crate::units::Length;

/// What to write for another depth of a pocket: for the seats of magnets (of the turn above layer `seats`) one that was
/// tried, for all else the one that `plain` gives; none where there is none.
pub(super) fn instead(design: &Design, seats: Option<usize>, plain: impl FnOnce() -> Option<Length>) -> Option<String> {
    let Some(below) = seats else { return plain().map(|depth| format!("make it {} deep", writable(depth))) };
    surely(design, below, |_| true)
}

/// What to write for the first depth of the pockets of the turn above layer `below` that whole passes make, where the magnets lie
/// below their faces, near enough, and on floors that are thick enough, and that also does what is asked; none where there is none.
pub(super) fn surely(design: &Design, below: usize, also: impl Fn(&Design) -> bool) -> Option<String> {
    let depth = candidates(design, below)?.into_iter().find(|asked| {
        let trial = reseated(design, below, *asked);
        works(&trial, below) && also(&trial)
    })?;
    words(design, below, depth)
}

/// The same where the magnets of a turn come nearer to each other by it.
pub(super) fn nearer(design: &Design, below: usize) -> Option<String> {
    let gap = |design: &Design| Some(holding::facing(design, below)?.0.gap());
    let now = gap(design)?;
    let comes_nearer = |trial: &Design| gap(trial).is_some_and(|gap| gap.as_mm() < now.as_mm() - 1e-6);
    let depth = candidates(design, below)?.into_iter().find(|asked| {
        let trial = reseated(design, below, *asked);
        comes_nearer(&trial) && works(&trial, below)
    })?;
    words(design, below, depth)
}

fn words(design: &Design, below: usize, depth: Length) -> Option<String> {
    let turn = turn(design, below)?;
    let (magnet, seats) = seats_of(turn)?;
    let drawn = seats.iter().filter(|seat| seat.depth != Depth::Through).any(|seat| {
        let mark = design
            .layers
            .get(seat.layer)
            .and_then(|layer| strength::seat_mark(layer, (seat, design.axis_on(turn, seat.layer)), magnet));
        mark.is_some_and(|(mark, _)| mark.origin != turn.origin)
    });
    Some(if drawn {
        format!("make the pockets of its magnets {depth} deep")
    } else {
        format!("write `pocket {depth}`")
    })
}

/// Depths to try: the usual one first, then all that whole passes make, from the shallowest.
fn candidates(design: &Design, below: usize) -> Option<Vec<Length>> {
    let (magnet, seats) = seats_of(turn(design, below)?)?;
    let usual = magnet.height + magnet.sink;
    let mut others: Vec<Length> = seats
        .iter()
        .filter_map(|seat| design.layers.get(seat.layer))
        .flat_map(|layer| {
            let passes = &layer.stock.passes;
            (1..=passes.readings().len()).filter_map(|count| passes.after(count)).map(|passes| writable(passes.reach))
        })
        .collect();
    others.sort_by(|one, other| one.as_mm().total_cmp(&other.as_mm()));
    others.insert(0, usual);
    Some(others)
}

/// What the makers' pockets are asked for in hundredths of a millimetre, never more than is meant.
fn writable(depth: Length) -> Length {
    Length::mm((depth.as_mm() * 100.0 + 1e-6).floor() / 100.0)
}

fn turn(design: &Design, below: usize) -> Option<&Turn> {
    match design.joints.get(below)? {
        Joint::Turn(turn) => Some(turn),
        Joint::Glue(_) => None,
    }
}

fn seats_of(turn: &Turn) -> Option<(&Magnet, [Seat; 2])> {
    match &turn.pivot {
        Pivot::Magnets { magnet, above: None, lower, upper } => Some((magnet, [*lower, *upper])),
        // Pockets of two kinds have depths of their own, of which no single one is to be found.
        Pivot::Magnets { .. } | Pivot::Rivet(_) | Pivot::Wall => None,
    }
}

/// The design with other pockets for the magnets of a turn.
fn reseated(design: &Design, below: usize, asked: Length) -> Design {
    let mut trial = design.clone();
    let Some(turn) = turn(design, below) else { return trial };
    let Some((magnet, seats)) = seats_of(turn) else { return trial };
    let sunk = seats.map(|seat| match seat.depth {
        Depth::Through => seat,
        Depth::Down(_) => {
            let passes = design.layers.get(seat.layer).map(|layer| &layer.stock.passes);
            let depth = passes.map_or(asked.into(), |passes| PocketDepth::by(passes, asked));
            Seat { depth: Depth::Down(depth), ..seat }
        }
    });
    for (old, new) in seats.iter().zip(&sunk) {
        let marked = design.layers.get(old.layer).and_then(|layer| {
            let (mark, _) = strength::seat_mark(layer, (old, design.axis_on(turn, old.layer)), magnet)?;
            layer.marks.iter().position(|other| std::ptr::eq(other, mark))
        });
        let layer = trial.layers.get_mut(old.layer);
        if let Some(mark) = layer.zip(marked).and_then(|(layer, at)| layer.marks.get_mut(at)) {
            mark.work = Work::Pocket { depth: new.depth };
        }
    }
    if let Some(Joint::Turn(Turn { pivot: Pivot::Magnets { lower, upper, .. }, .. })) = trial.joints.get_mut(below) {
        [*lower, *upper] = sunk;
    }
    trial
}

/// Whether the magnets of a turn lie where they should: on floors thick enough and by measured passes, below their faces, and
/// near enough to each other.
fn works(design: &Design, below: usize) -> bool {
    let Some((_, seats)) = turn(design, below).and_then(seats_of) else { return false };
    let made = seats.iter().all(|seat| {
        let Some(layer) = design.layers.get(seat.layer) else { return false };
        match seat.depth {
            Depth::Through => true,
            Depth::Down(depth) => {
                let known = layer.stock.passes.is_empty() || depth.passes().is_some();
                known
                    && strength::least_left(design, seat.layer)
                        .is_some_and(|left| !strength::is_less(left, layer.stock.least_floor))
            }
        }
    });
    made && standing(design).apart(below) <= Length::ZERO
        && holding::facing(design, below).is_some_and(|(pair, flush)| !costs_pull(&pair, flush))
}
