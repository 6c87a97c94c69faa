//! Flattened copies of outlines, for what is measured rather than drawn, and the second engine that works on them.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
use kurbo::{BezPath, PathEl, Point, Shape};

use super::{Region, SLIVER_MM2};

/// How fine a flattened copy is where its corners become the shape itself, in mm.
const FALLBACK_MM: f64 = 5e-5;

/// A closed ring of corners; the last joins the first.
pub(super) type Ring = Vec<[f64; 2]>;

/// The rings of a path, flattened to within `tolerance` mm. Corners lie on the curves to within a tenth of that.
pub(super) fn rings(path: &BezPath, tolerance: f64) -> Vec<Ring> {
    let mut rings: Vec<Ring> = Vec::new();
    kurbo::flatten(path, tolerance, |element| match (element, rings.last_mut()) {
        (PathEl::MoveTo(point), _) => rings.push(vec![[point.x, point.y]]),
        (PathEl::LineTo(point), Some(ring)) if ring.last() != Some(&[point.x, point.y]) => {
            ring.push([point.x, point.y]);
        }
        _ => {}
    });
    for ring in &mut rings {
        if ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
    }
    rings
}

/// The region with these rings as its outline, slivers left out.
fn region(shapes: Vec<Vec<Ring>>) -> Region {
    let mut path = BezPath::new();
    for ring in shapes.into_iter().flatten() {
        let corners = ring.iter().map(|[x, y]| Point::new(*x, *y));
        let mut contour: BezPath = corners.clone().take(1).map(PathEl::MoveTo).collect();
        contour.extend(corners.skip(1).map(PathEl::LineTo));
        contour.close_path();
        if contour.area().abs() >= SLIVER_MM2 {
            path.extend(contour);
        }
    }
    Region::trusted(path)
}

/// A boolean by the second engine: straight lines only, but it never fails.
pub(super) fn overlay(a: &BezPath, b: &BezPath, rule: OverlayRule, fill: FillRule) -> Region {
    region(rings(a, FALLBACK_MM).overlay_as::<i64>(&rings(b, FALLBACK_MM), rule, fill))
}

/// An offset by the second engine, with round joins.
pub(super) fn offset(path: &BezPath, by: f64, tolerance: f64) -> Region {
    // The join's figure is the angle of one step: chords that stray by the tolerance.
    let step = (8.0 * tolerance / by.abs()).sqrt().min(0.5);
    let style = OutlineStyle::new(by).line_join(LineJoin::Round(step));
    region(rings(path, tolerance).outline_as::<i64>(&style))
}
