//! Polygons with rounded corners, drawn exactly.

use kurbo::{BezPath, Point, Vec2};

use super::GeometryError;
use super::pen::Pen;

/// One corner: where the fillet begins and ends, its centre, and the turn in radians.
struct Fillet {
    from: Point,
    centre: Point,
    turn: f64,
    /// Length of each edge that the fillet takes, for a radius of 1 mm.
    reach: f64,
}

/// The closed polygon through `corners` (counter-clockwise), every corner rounded to `radius`, convex and reflex alike.
///
/// # Errors
/// [`GeometryError::CornerTooLarge`] where two neighbouring fillets would overlap.
pub(super) fn rounded_polygon(corners: &[Point], radius: f64) -> Result<BezPath, GeometryError> {
    let around = |by: usize| corners.iter().cycle().skip(by).take(corners.len());
    let before = corners.len().saturating_sub(1);
    let fillets: Vec<Fillet> =
        around(before).zip(around(0)).zip(around(1)).map(|((a, b), c)| fillet(*a, *b, *c, radius)).collect();
    let largest = (around(0).zip(around(1)))
        .zip(fillets.iter().zip(fillets.iter().cycle().skip(1)))
        .map(|((a, b), (f, g))| a.distance(*b) / (f.reach + g.reach))
        .fold(f64::INFINITY, f64::min);
    if radius > largest * (1.0 + 1e-12) {
        return Err(GeometryError::CornerTooLarge { corner: radius, largest });
    }
    let Some(first) = fillets.first() else { return Err(GeometryError::Empty) };
    let mut pen = Pen::at(first.from);
    for fillet in &fillets {
        pen.line_to(fillet.from);
        if radius > 0.0 && fillet.turn != 0.0 {
            pen.arc(fillet.centre, fillet.turn);
        }
    }
    Ok(pen.close())
}

fn fillet(before: Point, corner: Point, after: Point, radius: f64) -> Fillet {
    let (into, out) = ((corner - before).normalize(), (after - corner).normalize());
    let turn = into.cross(out).atan2(into.dot(out));
    let reach = (turn / 2.0).abs().tan();
    let from = corner - into * (radius * reach);
    let side = Vec2::new(-into.y, into.x) * turn.signum();
    Fillet { from, centre: from + side * radius, turn, reach }
}
