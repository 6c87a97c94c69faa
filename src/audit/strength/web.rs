//! Narrow places, pieces that fall out, and openings that miss the part.

use super::feature::{Side, is_wider, thinnest};
use super::findings as say;
use super::{Cutout, Parts, Web};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, TOUCH_MM};
use crate::units::Length;

/// Least web: half the board, and what the stock burns cleanly (common practice, no source).
pub(super) fn least(parts: &Parts) -> Length {
    let half = parts.layer.stock.thickness.mean / 2.0;
    if half > parts.layer.stock.least_feature { half } else { parts.layer.stock.least_feature }
}

/// The narrowest web of a layer; reported where it is too thin.
pub(super) fn narrowest(parts: &Parts, problems: &mut Problems) -> Option<Web> {
    let mut webs: Vec<Web> = Vec::new();
    for (at, opening) in parts.openings.iter().enumerate() {
        webs.extend(to_edge(parts, opening));
        webs.extend(parts.openings.iter().skip(at + 1).filter_map(|other| between(opening, other)));
        webs.extend(parts.pockets.iter().filter_map(|pocket| between(opening, pocket)));
    }
    webs.extend(parts.pockets.iter().filter_map(|pocket| to_edge(parts, pocket)));
    webs.extend(neck(parts));
    let narrowest = webs.into_iter().min_by(|a, b| a.width.as_mm().total_cmp(&b.width.as_mm()))?;
    let least = least(parts);
    if narrowest.width.as_mm() < least.as_mm() - TOUCH_MM {
        problems.push(say::web_too_thin(parts.layer, &narrowest, least));
    }
    Some(narrowest)
}

/// From a cutout inside the outline to the outline; none for one that crosses it.
fn to_edge(parts: &Parts, cutout: &Cutout) -> Option<Web> {
    let room = cutout.flat.room_in(&parts.outline);
    (room.mm > 0.0 && room.mm.is_finite()).then(|| Web {
        width: Length::mm(room.mm),
        at: room.at,
        between: (cutout.called(), "the edge".to_owned()),
        origins: (cutout.mark.origin, parts.layer.outline_origin),
    })
}

fn between(one: &Cutout, other: &Cutout) -> Option<Web> {
    let gap = one.flat.gap(&other.flat);
    (gap.mm > 0.0 && gap.mm.is_finite()).then(|| Web {
        width: Length::mm(gap.mm),
        at: gap.at,
        between: (one.called(), other.called()),
        origins: (one.mark.origin, other.mark.origin),
    })
}

/// A neck of the material itself, as a bite in the edge or a waist leaves it, where it is thinner than allowed.
fn neck(parts: &Parts) -> Option<Web> {
    let (material, least) = (parts.layer.material(), least(parts).as_mm());
    if is_wider(material, Side::Within, least) {
        return None;
    }
    let (width, at) = thinnest(&FlattenedShape::of(material), Side::Within, least)?;
    let origin = parts.layer.outline_origin;
    let edges = ("one edge".to_owned(), "another".to_owned());
    Some(Web { width: Length::mm(width), at, between: edges, origins: (origin, origin) })
}

/// Whether openings take all of a layer, which is reported; all else that could be said of it follows from that.
pub(super) fn nothing_left(parts: &Parts, problems: &mut Problems) -> bool {
    // Where an opening follows the outline, a skin is left that is thinner than anything can be told.
    let skin = TOUCH_MM * parts.layer.outline.perimeter();
    let nothing = !parts.openings.is_empty() && parts.layer.material().area() < skin;
    let widest = parts.openings.iter().max_by(|a, b| a.region.area().total_cmp(&b.region.area()));
    if let Some(widest) = widest.filter(|_| nothing) {
        problems.push(say::nothing_left(parts.layer, widest));
    }
    nothing
}

/// Counts the pieces that fall out, reports them, and openings that miss the part.
pub(super) fn loose(parts: &Parts, problems: &mut Problems) -> usize {
    // A rivet's hole beside the part is told as a seat that is broken.
    let others = parts.openings.iter().filter(|opening| !parts.is_seat(opening.mark));
    for opening in others.filter(|opening| !opening.flat.closer_than(&parts.outline, 0.0)) {
        problems.push(say::opening_outside(parts.layer, &opening.called(), opening.mark.origin));
    }
    let mut pieces = parts.layer.material().pieces();
    pieces.sort_by(|a, b| b.area().total_cmp(&a.area()));
    for piece in pieces.iter().skip(1) {
        let flat = FlattenedShape::of(piece);
        let at = piece.centroid().unwrap_or_default();
        let cut = parts.openings.iter().find(|opening| opening.flat.edge_gap(&flat, f64::INFINITY).mm < TOUCH_MM);
        let cut = cut.map(|cut| (cut.called(), cut.mark.origin));
        problems.push(match parts.seats.iter().find(|seat| seat.lies_in(piece, &flat)) {
            Some(seat) => say::loose_seat(parts.layer, seat, cut, piece.area(), at),
            None => say::loose_piece(parts.layer, cut, piece.area(), at),
        });
    }
    pieces.len().saturating_sub(1)
}
