//! What is left under pockets.

use super::findings as say;
use super::{Cutout, Floor, Parts, is_less, seats};
use crate::audit::seat_depth;
use crate::design::{Design, Face, Layer, PocketDepth};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region};
use crate::source::Span;
use crate::statistics::normal;
use crate::units::Length;

/// A floor of this share of the least that is wanted gives way under a magnet (common practice, no source).
const GIVES: f64 = 0.5;

/// What takes most off the floor of a pocket from the other face.
struct Opposite {
    depth: Length,
    origin: Span,
    is_pocket: bool,
}

/// What is left under one pocket, and what else is cut there.
struct Beneath<'p, 'a> {
    left: Length,
    /// The same where no other pocket of its face overlaps it.
    alone: Length,
    /// Other pockets of its face that overlap it, each with its place among them all.
    beside: Vec<(usize, &'p Cutout<'a>)>,
    opposite: Option<Opposite>,
}

/// Pockets deeper than any pass of their stock was measured to go, and those that whole passes make deeper than asked.
pub(super) fn passes(parts: &Parts, design: &Design, problems: &mut Problems) {
    let stock = &parts.layer.stock;
    let Some(deepest) = stock.passes.deepest() else { return };
    let mut told: Vec<(Span, PocketDepth)> = Vec::new();
    for (at, pocket) in parts.pockets.iter().enumerate() {
        let (depth, origin) = (pocket.depth, pocket.mark.origin);
        let too_thin = || is_less(beneath(parts, at, pocket).left, stock.least_floor);
        if told.contains(&(origin, depth)) || depth.made() >= stock.thickness.mean {
            continue;
        }
        told.push((origin, depth));
        let seat = parts.turn_of(pocket.mark);
        match depth.passes() {
            None => {
                let instead = seat_depth::instead(design, seat, || Some(deepest.reach));
                problems.push(say::deeper_than_measured(parts.layer, pocket, &deepest, instead));
            }
            // Of magnets on the axis it is said together with what it costs them.
            Some(passes) if seat.is_none() => {
                let deeper = depth.deeper_than_asked().filter(|_| !too_thin());
                let less = || passes.count.checked_sub(1).and_then(|fewer| stock.passes.after(fewer));
                problems.extend(deeper.map(|by| say::deeper_than_asked(parts.layer, pocket, by, less())));
            }
            Some(_) => {}
        }
    }
}

/// The thinnest floor of a layer; every floor that is too thin is reported.
pub(super) fn thinnest(parts: &Parts, design: &Design, problems: &mut Problems) -> Option<Floor> {
    let floors = parts.pockets.iter().enumerate().map(|(at, pocket)| floor_of(parts, design, (at, pocket), problems));
    // Gathered first, since every floor has to be looked at for its own finding.
    floors.collect::<Vec<_>>().into_iter().min_by(|a, b| a.left.as_mm().total_cmp(&b.left.as_mm()))
}

/// The least that any pocket of a layer leaves beneath it.
pub(super) fn least_left(parts: &Parts) -> Option<Length> {
    let left = parts.pockets.iter().enumerate().map(|(at, pocket)| beneath(parts, at, pocket).left);
    left.reduce(|one, other| if other < one { other } else { one })
}

fn beneath<'p, 'a>(parts: &'p Parts<'a>, at: usize, pocket: &Cutout<'a>) -> Beneath<'p, 'a> {
    let others = parts.pockets.iter().enumerate().filter(|(place, _)| *place != at);
    let same_face = others.filter(|(_, other)| other.mark.face == pocket.mark.face);
    let beside: Vec<(usize, &Cutout)> =
        same_face.filter(|(_, other)| meet(parts, pocket, (other.region, &other.flat))).collect();
    let opposite = opposite(parts, pocket);
    let behind = opposite.as_ref().map_or(Length::ZERO, |other| other.depth);
    let alone = parts.layer.stock.thickness.mean - pocket.depth.made() - behind;
    Beneath { left: alone - deepest_together(&beside), alone, beside, opposite }
}

/// Pockets on one face that overlap are burnt twice where they do, so their depths add up: the most that any of them come to
/// which all overlap each other.
fn deepest_together(beside: &[(usize, &Cutout)]) -> Length {
    let from = |first: usize| {
        let mut together: Vec<&Cutout> = Vec::new();
        for (_, other) in beside.iter().skip(first) {
            if together.iter().all(|known| known.flat.gap(&other.flat).overlaps()) {
                together.push(other);
            }
        }
        together.iter().fold(Length::ZERO, |deep, other| deep + other.depth.made())
    };
    (0..beside.len()).map(from).reduce(|one, other| if other > one { other } else { one }).unwrap_or_default()
}

fn floor_of(parts: &Parts, design: &Design, (at, pocket): (usize, &Cutout), problems: &mut Problems) -> Floor {
    let stock = &parts.layer.stock;
    let (thickness, depth) = (stock.thickness.mean, pocket.depth.made());
    let spot = pocket.region.centroid().unwrap_or_default();
    let floor = |left| Floor { left, at: spot, origin: pocket.mark.origin };
    let seat = parts.turn_of(pocket.mark);
    if depth >= thickness {
        let instead = seat_depth::instead(design, seat, || stock.passes.within(thickness - stock.least_floor));
        problems.push(say::pocket_too_deep(parts.layer, pocket, instead, spot));
        return floor(thickness - depth);
    }
    let Beneath { left, alone, beside, opposite } = beneath(parts, at, pocket);
    for (_, other) in beside.iter().filter(|(place, other)| *place > at && !seats::breaks(parts, pocket, other)) {
        let both = thickness - depth - other.depth.made();
        problems.push(say::pockets_overlap(parts.layer, pocket, other, both, spot));
    }
    let meets = opposite.as_ref().is_some_and(|other| other.is_pocket) && alone.as_mm() <= 0.0;
    match opposite {
        // Reported once, with the front one.
        Some(other) if meets && pocket.mark.face == Face::Front => {
            problems.push(say::pockets_meet(parts.layer, pocket, other.origin, -alone, spot));
        }
        other if !meets && is_less(alone, stock.least_floor) => {
            let over = other.map(|other| (other.depth, other.origin));
            let instead =
                seat_depth::instead(design, seat, || stock.passes.within(depth - (stock.least_floor - alone)));
            problems.push(say::floor_too_thin(parts.layer, pocket, (alone, instead), over, spot));
        }
        _ if !meets => {
            let room = alone.as_mm() - GIVES * stock.least_floor.as_mm();
            let strays = strays(design, parts.layer, pocket);
            if room < normal::FREE * strays.as_mm() {
                let lacking = normal::lacking(room, strays.as_mm());
                problems.push(say::floor_thin_in_some(parts.layer, pocket, (alone, strays), (GIVES, lacking), spot));
            }
        }
        _ => {}
    }
    floor(left)
}

/// Standard deviation of a floor: that of the board's thickness, and of how deep its passes go.
fn strays(design: &Design, layer: &Layer, pocket: &Cutout) -> Length {
    let board = layer.stock.thickness.spread.unwrap_or_default().as_mm();
    let within = pocket.depth.passes().and_then(|passes| passes.within).map(|within| within / 2.0);
    Length::mm(board.hypot(within.unwrap_or(design.spreads.depth).as_mm()))
}

/// The deepest work over a pocket on the other face.
fn opposite(parts: &Parts, pocket: &Cutout) -> Option<Opposite> {
    let other_face = pocket.mark.face;
    let pockets = parts.pockets.iter().filter(|other| other.mark.face != other_face);
    let pockets = pockets.filter(|other| meet(parts, pocket, (other.region, &other.flat))).map(|other| Opposite {
        depth: other.depth.made(),
        origin: other.mark.origin,
        is_pocket: true,
    });
    let burns = parts.burns.iter().filter(|burn| burn.face != other_face);
    let burns = burns.filter(|burn| burn.region.is_some_and(|region| meet(parts, pocket, (region, &burn.flat))));
    let burns = burns.map(|burn| Opposite { depth: burn.depth, origin: burn.origin, is_pocket: false });
    // The deepest alone: work on the other face that overlaps itself has its own finding.
    pockets.chain(burns).max_by(|a, b| a.depth.as_mm().total_cmp(&b.depth.as_mm()))
}

/// Whether a pocket overlaps other work on the part. What both take beyond its rim, or of an opening, is sunk nowhere.
fn meet(parts: &Parts, pocket: &Cutout, (region, flat): (&Region, &FlattenedShape)) -> bool {
    let whole = || {
        let opened = parts.openings.iter().any(|opening| pocket.flat.gap(&opening.flat).overlaps());
        pocket.flat.lies_clear_in(&parts.outline, 0.0) && !opened
    };
    let left = || pocket.region.intersection(region).intersection(parts.layer.material());
    // Most lie apart, which is sooner told than by how much.
    pocket.flat.closer_than(flat, 0.0) && pocket.flat.gap(flat).overlaps() && (whole() || !left().is_empty())
}
