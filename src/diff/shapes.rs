//! How two shapes differ.

use kurbo::{Affine, Point};

use super::Detail;
use crate::design::Shape;
use crate::geometry::{Nearest, Region, Trace, turn};
use crate::units::{Angle, mm, plain};

/// Edges that lie no farther apart are the same, in mm: a hundredth of the narrowest cut.
const SAME_MM: f64 = 1e-3;
/// Areas that differ by no more are shown alike, in mm².
const SAME_MM2: f64 = 0.01;

/// A place in words.
pub(super) fn place(point: Point) -> String {
    format!("({}mm, {}mm)", plain(point.x, 2), plain(point.y, 2))
}

/// Where a shape is: the centre of its box, which is what placing centres.
pub(super) fn centre(shape: &Shape) -> Point {
    match shape {
        Shape::Region(region) => middle(region),
        Shape::Trace(trace) => trace.bounds().map(|bounds| bounds.center()).unwrap_or_default(),
    }
}

fn middle(region: &Region) -> Point {
    region.bounds().map(|bounds| bounds.center()).unwrap_or_default()
}

pub(super) fn same_shape(old: &Shape, new: &Shape) -> bool {
    match (old, new) {
        (Shape::Region(old), Shape::Region(new)) => old.is_as(new),
        (Shape::Trace(old), Shape::Trace(new)) => old.is_as(new),
        _ => false,
    }
}

/// What differs between two shapes; nothing where they are the same.
pub(super) fn shape(old: &Shape, new: &Shape) -> Vec<Detail> {
    match (old, new) {
        (Shape::Region(old), Shape::Region(new)) => region(old, new),
        (Shape::Trace(old_trace), Shape::Trace(new_trace)) if !same_shape(old, new) => trace(old_trace, new_trace),
        (Shape::Trace(_), Shape::Trace(_)) => Vec::new(),
        (Shape::Region(_), Shape::Trace(_)) => vec![Detail::new("shape", "an area", "a line")],
        (Shape::Trace(_), Shape::Region(_)) => vec![Detail::new("shape", "a line", "an area")],
    }
}

/// What differs between two regions: that it was moved or turned as a whole, else area, size and edges.
pub(super) fn region(old: &Region, new: &Region) -> Vec<Detail> {
    if old.is_as(new) {
        return Vec::new();
    }
    if let Some(moved) = moved(old, new) {
        return vec![moved];
    }
    let mut details = Vec::new();
    let (area, new_area) = (old.area(), new.area());
    if (area - new_area).abs() >= SAME_MM2 {
        details.push(Detail::new("area", format!("{}mm²", plain(area, 2)), format!("{}mm²", plain(new_area, 2))));
    }
    details.extend(different("size", size(old.bounds()), size(new.bounds())));
    details.extend(old.farthest_apart(new).map(edges));
    details
}

fn trace(old: &Trace, new: &Trace) -> Vec<Detail> {
    let mut details = Vec::new();
    details.extend(different("length", mm(old.length()), mm(new.length())));
    details.extend(different("size", size(old.bounds()), size(new.bounds())));
    details.extend(old.farthest_apart(new).map(edges));
    details
}

/// A detail where two texts differ.
pub(super) fn different(what: &'static str, old: impl Into<String>, new: impl Into<String>) -> Option<Detail> {
    let detail = Detail::new(what, old, new);
    (detail.old != detail.new).then_some(detail)
}

/// Width by height of a box.
pub(super) fn size(bounds: Option<kurbo::Rect>) -> String {
    bounds.map_or_else(String::new, |bounds| format!("{} by {}", mm(bounds.width()), mm(bounds.height())))
}

fn edges(apart: Nearest) -> Detail {
    let (from, to) = (place(apart.from), place(apart.to));
    let words = format!("edges moved by up to {}, from {from} to {to}", mm(apart.distance));
    Detail::new("edges", from, to).described_as(words)
}

/// A region that was moved, or turned about the axis, and is the same otherwise. What keeps its distance from the axis
/// was turned, unless it went straight along x or y.
fn moved(old: &Region, new: &Region) -> Option<Detail> {
    let (from, to) = (old.centroid()?, new.centroid()?);
    let by = to - from;
    if (old.area() - new.area()).abs() >= SAME_MM2 || by.hypot() <= SAME_MM {
        return None;
    }
    let (old_place, new_place) = (place(middle(old)), place(middle(new)));
    let bearing = |point: Point| point.x.atan2(point.y).to_degrees();
    // From -180 to below 180, so that a turn goes the shorter way round.
    let turned = (bearing(to) - bearing(from) + 540.0).rem_euclid(360.0) - 180.0;
    let same_radius = (from.to_vec2().hypot() - to.to_vec2().hypot()).abs() <= SAME_MM;
    // Along x or y one thinks of a move, even where it happens to keep its distance from the axis.
    let straight = by.x.abs() <= SAME_MM || by.y.abs() <= SAME_MM;
    let rests = |map: Affine| old.transformed(map).is_as(new);
    if same_radius && !straight && rests(turn(Angle::degrees(turned))) {
        let words = format!("turned about the axis by {}deg, from {old_place} to {new_place}", plain(turned, 2));
        return Some(Detail::new("place", old_place, new_place).described_as(words));
    }
    rests(Affine::translate(by)).then(|| {
        let words = format!("moved by {}, from {old_place} to {new_place}", mm(by.hypot()));
        Detail::new("place", old_place, new_place).described_as(words)
    })
}
