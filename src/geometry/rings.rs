//! The corners of flattened contours, as the second engine and the searches for layouts take them.

use kurbo::{BezPath, PathEl};

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
