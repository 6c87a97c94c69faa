//! What is left under pockets.

use super::findings as say;
use super::seats;
use super::{Cutout, Floor, Parts};
use crate::design::Face;
use crate::diagnostics::Problems;
use crate::source::Span;
use crate::units::Length;

/// What takes most off the floor of a pocket from the other face.
struct Opposite {
    depth: Length,
    origin: Span,
    is_pocket: bool,
}

/// Pockets deeper than any pass of their stock was measured to go.
pub(super) fn unmeasured(parts: &Parts, problems: &mut Problems) {
    let Some(deepest) = parts.layer.stock.passes.deepest() else { return };
    let too_deep = |pocket: &&Cutout| parts.layer.stock.passes.reaching(pocket.depth).is_none();
    for pocket in parts.pockets.iter().filter(too_deep).filter(|it| it.depth < parts.layer.stock.thickness.mean) {
        problems.push(say::deeper_than_measured(parts.layer, pocket, &deepest));
    }
}

/// The thinnest floor of a layer; every floor that is too thin is reported.
pub(super) fn thinnest(parts: &Parts, problems: &mut Problems) -> Option<Floor> {
    let floors = parts.pockets.iter().enumerate().map(|(at, pocket)| floor_of(parts, at, pocket, problems));
    // Gathered first, since every floor has to be looked at for its own finding.
    floors.collect::<Vec<_>>().into_iter().min_by(|a, b| a.left.as_mm().total_cmp(&b.left.as_mm()))
}

fn floor_of(parts: &Parts, at: usize, pocket: &Cutout, problems: &mut Problems) -> Floor {
    let thickness = parts.layer.stock.thickness.mean;
    let spot = pocket.region.centroid().unwrap_or_default();
    let floor = |left| Floor { left, at: spot, origin: pocket.mark.origin };
    if pocket.depth >= thickness {
        problems.push(say::pocket_too_deep(parts.layer, pocket, thickness, spot));
        return floor(thickness - pocket.depth);
    }
    let overlapping = |other: &&Cutout| pocket.flat.gap(&other.flat).overlaps();
    let same_face = parts.pockets.iter().enumerate().filter(|(_, other)| other.mark.face == pocket.mark.face);
    let mut depth = pocket.depth;
    // Pockets on one face that overlap are burnt twice where they do, so their depths add up.
    for (place, other) in same_face.filter(|(place, other)| *place != at && overlapping(other)) {
        depth = depth + other.depth;
        if place > at && !seats::breaks(parts, pocket, other) {
            problems.push(say::pockets_overlap(
                parts.layer,
                pocket,
                other,
                thickness - pocket.depth - other.depth,
                spot,
            ));
        }
    }
    let opposite = opposite(parts, pocket);
    let left = thickness - depth - opposite.as_ref().map_or(Length::ZERO, |other| other.depth);
    let meets = opposite.as_ref().is_some_and(|other| other.is_pocket) && left.as_mm() <= 0.0;
    match opposite {
        // Reported once, with the front one.
        Some(other) if meets && pocket.mark.face == Face::Front => {
            problems.push(say::pockets_meet(parts.layer, pocket, other.origin, -left, spot));
        }
        other if !meets && left < parts.layer.stock.least_floor => {
            let over = other.map(|other| (other.depth, other.origin));
            problems.push(say::floor_too_thin(parts.layer, pocket, left, over, spot));
        }
        _ => {}
    }
    floor(left)
}

/// The deepest work over a pocket on the other face.
fn opposite(parts: &Parts, pocket: &Cutout) -> Option<Opposite> {
    let other_face = pocket.mark.face;
    let pockets = parts.pockets.iter().filter(|other| other.mark.face != other_face);
    let pockets = pockets.filter(|other| pocket.flat.gap(&other.flat).overlaps()).map(|other| Opposite {
        depth: other.depth,
        origin: other.mark.origin,
        is_pocket: true,
    });
    let burns = parts.burns.iter().filter(|burn| burn.face != other_face && burn.region.is_some());
    let burns = burns.filter(|burn| pocket.flat.gap(&burn.flat).overlaps()).map(|burn| Opposite {
        depth: burn.depth,
        origin: burn.origin,
        is_pocket: false,
    });
    // The deepest alone: work on the other face that overlaps itself has its own finding.
    pockets.chain(burns).max_by(|a, b| a.depth.as_mm().total_cmp(&b.depth.as_mm()))
}
