//! Places along an edge where it is looked for, each with some neighbours whose profiles are averaged.

use kurbo::{BezPath, ParamCurve as _, ParamCurveArclen as _, ParamCurveDeriv as _, PathSeg, Point, Shape as _, Vec2};

use crate::rehearsal::{MeantKind as Kind, MeantWork as Work};

/// Between neighbours, mm.
const SPACING: f64 = 0.1;

/// A stretch of an edge.
#[derive(Clone, Debug)]
pub(super) struct Station {
    /// Its middle in the layer's front frame, mm, and the direction that is crossed there, of length 1.
    pub(super) at: Point,
    pub(super) normal: Vec2,
    /// Places along it, and the directions there.
    pub(super) along: Vec<(Point, Vec2)>,
}

/// Of the rim: outwards from the part.
pub(super) fn of_outline(path: &BezPath) -> Vec<Station> {
    stations(path, 1.5, 0.6, false)
}

/// Of a piece of work: of an opening from the part into it, of all else from what is burnt to what is bare, of a line to its right.
pub(super) fn of_work(work: &Work) -> Vec<Station> {
    match work.kind {
        Kind::Opening => stations(&work.path, 1.0, 0.6, true),
        Kind::Pocket => stations(&work.path, 1.0, 0.6, false),
        Kind::Mark | Kind::Line => stations(&work.path, 0.5, 0.5, false),
    }
}

/// Stretches of about this length that bend by no more than this, in radians.
fn stations(path: &BezPath, length: f64, bend: f64, inwards: bool) -> Vec<Station> {
    let mut found = Vec::new();
    for contour in contours(path) {
        let points = sampled(&contour);
        let Some((first, normal)) = points.first().copied() else { continue };
        // What is filled by even and odd; the first place decides for its contour.
        let outwards = path.winding(first + normal * 0.01).rem_euclid(2) == 0;
        let sign = if outwards == inwards { -1.0 } else { 1.0 };
        let wanted = (length / SPACING).round() as usize;
        let mut run: Vec<(Point, Vec2)> = Vec::new();
        for (p, n) in points.into_iter().map(|(p, n)| (p, n * sign)) {
            let bent = run.first().is_some_and(|(_, first)| first.cross(n).atan2(first.dot(n)).abs() > bend);
            let parted = run.last().is_some_and(|(last, _)| (*last - p).hypot() > 2.5 * SPACING);
            if bent || parted || run.len() >= wanted {
                found.extend(station(std::mem::take(&mut run), wanted));
            }
            run.push((p, n));
        }
        found.extend(station(run, wanted));
    }
    found
}

fn station(run: Vec<(Point, Vec2)>, wanted: usize) -> Option<Station> {
    if run.len() * 2 < wanted {
        return None;
    }
    let count = run.len() as f64;
    let (at, normal) = run.iter().fold((Vec2::ZERO, Vec2::ZERO), |sum, it| (sum.0 + it.0.to_vec2(), sum.1 + it.1));
    Some(Station { at: (at / count).to_point(), normal: normal / normal.hypot().max(1e-12), along: run })
}

fn contours(path: &BezPath) -> Vec<Vec<PathSeg>> {
    let mut all: Vec<Vec<PathSeg>> = Vec::new();
    let mut end = None;
    for segment in path.segments() {
        if end != Some(segment.start()) || all.is_empty() {
            all.push(Vec::new());
        }
        end = Some(segment.end());
        all.iter_mut().last().into_iter().for_each(|contour| contour.push(segment));
    }
    all
}

/// Places about evenly apart, with the direction to the right of the way there.
fn sampled(contour: &[PathSeg]) -> Vec<(Point, Vec2)> {
    let mut points = Vec::new();
    for segment in contour {
        let count = (segment.arclen(1e-3) / SPACING).round().max(1.0) as usize;
        for at in 0..count {
            let t = (at as f64 + 0.5) / count as f64;
            let slope = match segment {
                PathSeg::Line(line) => line.p1 - line.p0,
                PathSeg::Quad(curve) => curve.deriv().eval(t).to_vec2(),
                PathSeg::Cubic(curve) => curve.deriv().eval(t).to_vec2(),
            };
            if slope.hypot() > 1e-9 {
                let along = slope / slope.hypot();
                points.push((segment.eval(t), Vec2::new(along.y, -along.x)));
            }
        }
    }
    points
}
