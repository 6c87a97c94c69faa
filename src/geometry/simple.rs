//! Paths that are plainly seen to cross nothing, so that no engine has to be asked.

use kurbo::{BezPath, ParamCurve, PathSeg, Point, Rect, Vec2};

use super::{Region, TOLERANCE_MM};

/// Segments on end that turn by less than this together, in radians, do not meet but at their ends: a curve needs half a turn to
/// come back to itself.
const RUN: f64 = 0.9 * std::f64::consts::PI;
/// A leg shorter than this has no direction, in mm.
const LEG_MM: f64 = 1e-9;

/// A segment of a contour.
struct Piece {
    contour: usize,
    bounds: Rect,
    /// How far the contour has turned before it and after it, in radians, all turns counted alike.
    turned: (f64, f64),
}

/// Whether no two segments of these closed contours meet but where one follows the other. Where it cannot be told at a glance, no.
pub(super) fn is_plainly_simple(path: &BezPath) -> bool {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut whole = Vec::new();
    for (contour, path) in Region::trusted(path.clone()).contours().iter().enumerate() {
        let segments: Vec<PathSeg> = path.segments().collect();
        let legs: Vec<Vec<Vec2>> = segments.iter().map(legs).collect();
        let mut turned = 0.0;
        for (at, (segment, own)) in segments.iter().zip(&legs).enumerate() {
            let before = turned;
            turned += own.iter().zip(own.iter().skip(1)).map(|(a, b)| between(*a, *b)).sum::<f64>();
            pieces.push(Piece { contour, bounds: control_box(segment), turned: (before, turned) });
            let next = legs.get(at + 1).or(legs.first());
            turned += own.last().zip(next.and_then(|next| next.first())).map_or(RUN, |(a, b)| between(*a, *b));
        }
        whole.push(turned);
    }
    pieces.sort_by(|a, b| a.bounds.x0.total_cmp(&b.bounds.x0));
    let one_run = |one: &Piece, other: &Piece| {
        let (first, last) = if one.turned.0 <= other.turned.0 { (one, other) } else { (other, one) };
        let on = last.turned.1 - first.turned.0;
        let round = whole.get(one.contour).copied().unwrap_or(f64::INFINITY) - (last.turned.0 - first.turned.1);
        one.contour == other.contour && on.min(round) < RUN
    };
    let plain = pieces.iter().all(|piece| piece.turned.1 - piece.turned.0 < RUN);
    plain
        && pieces.iter().enumerate().all(|(at, one)| {
            let beside = pieces.iter().skip(at + 1).take_while(|other| other.bounds.x0 <= one.bounds.x1 + TOLERANCE_MM);
            let level = |other: &&Piece| {
                other.bounds.y0 <= one.bounds.y1 + TOLERANCE_MM && one.bounds.y0 <= other.bounds.y1 + TOLERANCE_MM
            };
            beside.filter(level).all(|other| one_run(one, other))
        })
}

/// The legs of what holds a segment, those without a direction left out.
fn legs(segment: &PathSeg) -> Vec<Vec2> {
    let points = points(segment);
    points.iter().zip(points.iter().skip(1)).map(|(a, b)| *b - *a).filter(|leg| leg.hypot() > LEG_MM).collect()
}

fn points(segment: &PathSeg) -> Vec<Point> {
    match *segment {
        PathSeg::Line(it) => vec![it.p0, it.p1],
        PathSeg::Quad(it) => vec![it.p0, it.p1, it.p2],
        PathSeg::Cubic(it) => vec![it.p0, it.p1, it.p2, it.p3],
    }
}

fn control_box(segment: &PathSeg) -> Rect {
    let start = segment.start();
    points(segment).into_iter().fold(Rect::from_points(start, start), |all, point| all.union_pt(point))
}

fn between(a: Vec2, b: Vec2) -> f64 {
    a.cross(b).atan2(a.dot(b)).abs()
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;
    use kurbo::Affine;

    fn closed(points: &[(f64, f64)]) -> BezPath {
        let mut path = BezPath::new();
        for (at, point) in points.iter().enumerate() {
            if at == 0 { path.move_to(*point) } else { path.line_to(*point) }
        }
        path.close_path();
        path
    }

    #[test]
    fn plain_outlines_are_seen_to_be_simple() {
        let washer = shapes::circle(20.0).unwrap().difference(&shapes::circle(5.0).unwrap());
        let plain = [
            washer.path().clone(),
            shapes::rectangle(30.0, 20.0, 3.0).unwrap().path().clone(),
            shapes::polygon(7, 20.0, 0.0).unwrap().path().clone(),
            closed(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)]),
            BezPath::new(),
        ];
        for path in plain {
            assert!(is_plainly_simple(&path), "{}", path.to_svg());
        }
    }

    /// What crosses, touches or runs back along itself is not; nor what comes near another contour.
    #[test]
    fn what_may_meet_is_not() {
        let eight = closed(&[(0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0)]);
        let back = closed(&[(0.0, 0.0), (9.0, 0.0), (0.0, 0.0), (0.0, 4.0)]);
        let neck =
            closed(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (8.0, 3.0), (8.0, 6.0), (4.0, 6.0), (4.0, 3.0), (0.0, 3.0)]);
        let mut near = shapes::circle(5.0).unwrap().path().clone();
        near.extend((Affine::translate((10.00005, 0.0)) * near.clone()).iter());
        let mut same = near.clone();
        same.extend(near.iter());
        for path in [eight, back, neck, near, same] {
            assert!(!is_plainly_simple(&path), "{}", path.to_svg());
        }
        let mut loose = BezPath::new();
        loose.move_to((0.0, 0.0));
        loose.curve_to((20.0, 10.0), (-12.0, 10.0), (8.0, 0.0));
        loose.close_path();
        assert!(!is_plainly_simple(&loose), "a loop within one segment");
    }
}
