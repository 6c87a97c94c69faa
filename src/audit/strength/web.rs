//! Narrow places, tips, pieces that fall out, and openings that miss the part.
//!
//! A web is told as drawn and as cut. The beam is as wide as the kerf, so it does not reach into the tip of a sharp notch, and more
//! is left there than was drawn.

use kurbo::Point;

use super::findings as say;
use super::{Cutout, LayerStrength, Parts, Web, is_less};
use crate::design::Layer;
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Nearest, Region, Skeleton, TOUCH_MM, Tip, is_wide, web_in};
use crate::memory::{MANY, recalled};
use crate::units::Length;

/// How finely contours are flattened where they are measured against one another, in mm.
const FINE_MM: f64 = 5e-4;
/// A tip is told where it is thinner than the least web for longer than this many of it: one of less than 19 degrees. Blunter
/// ones have all corners of an outline, and burn as corners do (common practice, no source).
const SLENDER: f64 = 3.0;
/// A web that comes out wider than it was drawn by no more than this is as drawn, in mm.
const AS_DRAWN_MM: f64 = 0.05;

pub(super) fn least(parts: &Parts) -> Length {
    super::least_web(parts.layer)
}

/// The narrowest web of a layer as drawn; reported where it is too thin, as thin tips are. Necks and strips between
/// parts of one contour are looked for only where they are narrower than they should be; [`exact`] tells all.
pub(super) fn narrowest(parts: &Parts, problems: &mut Problems) -> Option<Web> {
    let (material, least) = (parts.layer.material(), least(parts));
    let skeleton = (!is_wide(material, least.as_mm())).then(|| Skeleton::of(material));
    let through = of_region(parts, material, skeleton.as_ref(), least);
    // One that is wider than that matters only where it is too thin.
    let within = through.as_ref().map_or(f64::INFINITY, |web| web.width.as_mm().max(least.as_mm()));
    let sunk = sunk(parts, within);
    let drawn = through.into_iter().chain(sunk.clone()).reduce(narrower);
    let thin = drawn.as_ref().filter(|web| is_less(web.width, least));
    if let Some(thin) = thin {
        judge(parts, thin, sunk, problems);
    }
    if let Some(skeleton) = skeleton {
        tips(parts, &skeleton.tips(least.as_mm()), thin, problems);
    }
    drawn
}

/// The narrowest web of a layer, exactly: what [`narrowest`] found, or a wider neck.
pub(super) fn exact(layer: &Layer, found: &LayerStrength) -> Option<Length> {
    let drawn = layer.material().narrowest_web().map(|web| Length::mm(web.distance));
    let found = found.web.as_ref().map(|web| web.width);
    drawn.into_iter().chain(found).reduce(|a, b| if b < a { b } else { a })
}

fn narrower(one: Web, other: Web) -> Web {
    if other.width < one.width { other } else { one }
}

/// The narrowest web that a pocket leaves, of those narrower than `within` mm.
fn sunk(parts: &Parts, within: f64) -> Option<Web> {
    let between =
        parts.openings.iter().flat_map(|one| parts.pockets.iter().filter_map(move |other| between(one, other, within)));
    between.chain(parts.pockets.iter().filter_map(|pocket| to_edge(parts, pocket, within))).reduce(narrower)
}

/// A cutout, the outline, and how far is looked from one to the other, in mm.
#[derive(PartialEq)]
struct ToEdge(FlattenedShape, FlattenedShape, f64);

/// From a cutout inside the outline to the outline; none for one that crosses it.
fn to_edge(parts: &Parts, cutout: &Cutout, within: f64) -> Option<Web> {
    let asked = || ToEdge(cutout.flat.clone(), parts.outline.clone(), within);
    let room = recalled(MANY, asked, || cutout.flat.edge_gap(&parts.outline, within));
    (room.mm > 0.0 && room.mm < within && cutout.flat.lies_clear_in(&parts.outline, 0.0)).then(|| Web {
        width: Length::mm(room.mm),
        at: room.at,
        between: (cutout.called(), "the edge".to_owned()),
        origins: (cutout.mark.origin, parts.layer.outline_origin),
    })
}

fn between(one: &Cutout, other: &Cutout, within: f64) -> Option<Web> {
    let gap = one.flat.edge_gap(&other.flat, within);
    (gap.mm > 0.0 && gap.mm < within && !one.flat.closer_than(&other.flat, 0.0)).then(|| Web {
        width: Length::mm(gap.mm),
        at: gap.at,
        between: (one.called(), other.called()),
        origins: (one.mark.origin, other.mark.origin),
    })
}

/// The narrowest web of a layer's material, drawn or cut.
fn of_region(parts: &Parts, material: &Region, skeleton: Option<&Skeleton>, least: Length) -> Option<Web> {
    let between = material.narrowest_between_contours(FINE_MM);
    let limit = between.map_or(least.as_mm(), |web| web.distance.min(least.as_mm()));
    let neck = skeleton.and_then(|skeleton| skeleton.narrowest_neck(limit));
    neck.or(between).map(|web| named(parts, web))
}

/// A web with what lies on either side of it.
fn named(parts: &Parts, web: Nearest) -> Web {
    let (one, other) = (wall(parts, web.from), wall(parts, web.to));
    // Openings in their order, the edge after them.
    let ((one, from), (other, to)) = match (one, other) {
        (Some(a), Some(b)) if a <= b => ((Some(a), web.from), (Some(b), web.to)),
        (Some(a), None) => ((Some(a), web.from), (None, web.to)),
        (a, b) => ((b, web.to), (a, web.from)),
    };
    let called = |at: Option<usize>| at.and_then(|at| parts.openings.get(at)).map(Cutout::called);
    let origin = |at: Option<usize>| {
        at.and_then(|at| parts.openings.get(at)).map_or(parts.layer.outline_origin, |it| it.mark.origin)
    };
    let between = match (called(one), called(other)) {
        (Some(opening), Some(_)) if one == other => (format!("one side of {opening}"), "the other".to_owned()),
        (Some(opening), Some(another)) => (opening, another),
        (Some(opening), None) => (opening, "the edge".to_owned()),
        _ => ("one edge".to_owned(), "another".to_owned()),
    };
    Web { width: Length::mm(web.distance), at: (from, to), between, origins: (origin(one), origin(other)) }
}

/// The opening whose wall a place of the material's edge is nearest to; none where that is the outline.
fn wall(parts: &Parts, place: Point) -> Option<usize> {
    let away = |flat: &FlattenedShape| flat.distance_to(place).map_or(f64::INFINITY, |(mm, _)| mm);
    let openings = parts.openings.iter().enumerate().map(|(at, opening)| (at, away(&opening.flat)));
    let nearest = openings.min_by(|a, b| a.1.total_cmp(&b.1))?;
    (nearest.1 <= away(&parts.outline)).then_some(nearest.0)
}

/// Reports the narrowest web: that which is cut, if that is too thin; else that which is drawn too thin, and how it comes out.
fn judge(parts: &Parts, drawn: &Web, sunk: Option<Web>, problems: &mut Problems) {
    let (least, reach) = (least(parts), parts.layer.stock.kerf.as_mm() / 2.0);
    let cut = parts.layer.material().offset(reach).offset(-reach);
    let made = web_in(&cut, drawn.at).map(|made| Length::mm(made.distance));
    let made = made.filter(|made| made.as_mm() > drawn.width.as_mm() + AS_DRAWN_MM);
    let Some(made) = made else {
        problems.push(say::web_too_thin(parts.layer, drawn, least, None));
        return;
    };
    let narrowest = of_region(parts, &cut, Some(&Skeleton::of(&cut)), least).into_iter().chain(sunk).reduce(narrower);
    let narrowest = narrowest.filter(|web| is_less(web.width, least));
    if narrowest.is_none() {
        problems.push(say::web_thin_as_drawn(parts.layer, drawn, made, least));
        return;
    }
    let is_elsewhere = narrowest.as_ref().is_some_and(|web| web.width.as_mm() < made.as_mm() - AS_DRAWN_MM);
    let differs = (!is_elsewhere).then_some((drawn.width, made));
    let told = narrowest.filter(|_| is_elsewhere);
    problems.push(say::web_too_thin(parts.layer, told.as_ref().unwrap_or(drawn), least, differs));
}

/// Reports those tips that are thin for long, in one finding.
fn tips(parts: &Parts, tips: &[Tip], thin: Option<&Web>, problems: &mut Problems) {
    let least = least(parts);
    // Of a strip that ends freely it was said that it is a thin web.
    let is_said = |tip: &Tip| thin.is_some_and(|web| web.at.0.midpoint(web.at.1).distance(tip.at) <= tip.length);
    let long = tips.iter().filter(|tip| tip.length > SLENDER * least.as_mm() && !is_said(tip));
    let count = long.clone().count();
    let Some(longest) = long.max_by(|a, b| a.length.total_cmp(&b.length)) else { return };
    let origin = wall(parts, longest.at).and_then(|at| parts.openings.get(at)).map(|opening| opening.mark.origin);
    problems.push(say::thin_tip(parts.layer, origin, longest, count, least));
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
            None => say::loose_piece(parts.layer, cut, (piece.area(), at), least(parts)),
        });
    }
    pieces.len().saturating_sub(1)
}
