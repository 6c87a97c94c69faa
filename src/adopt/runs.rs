//! A polyline of many points as the few lines and arcs that it was drawn from.

use std::f64::consts::PI;
use std::fmt::Write as _;

use kurbo::{PathEl, Point, Vec2};

use super::contour::{Contour, STEPS};
use crate::units::plain;
use crate::work::spend_on;

/// Points lie this near to a line or an arc, in mm, where the drawing has no noise.
const NEAR: f64 = 0.02;

/// Of a drawing with noise, as many standard deviations.
const DEVIATIONS: f64 = 3.5;

/// What has fewer vertices is as plain as it can be; what has more is no outline that somebody drew.
const VERTICES: std::ops::RangeInclusive<usize> = 16..=4000;

/// Past so many vertices that do not fit, none will.
const MISSES: usize = 4;

/// An arc that sweeps further, in radians, is written in pieces: the middle of one near half a circle hangs on the last digit
/// of its radius.
const SWEEP: f64 = 2.0;

/// What a run of vertices lies along.
#[derive(Clone, Copy, Debug)]
enum Along {
    Line { through: Point, way: Vec2 },
    Arc { centre: Point, radius: f64 },
}

/// Vertices from one to another, both counted in, and what they lie along.
#[derive(Clone, Copy, Debug)]
struct Run {
    from: usize,
    to: usize,
    along: Along,
}

/// Path data about the axis, where runs are much fewer than vertices.
pub(super) fn runs(contour: &Contour, noise: f64, axis: Point) -> Option<String> {
    let elements = contour.path.elements();
    if elements.iter().any(|one| matches!(one, PathEl::QuadTo(..) | PathEl::CurveTo(..))) {
        return None;
    }
    let mut points: Vec<Point> = elements.iter().filter_map(PathEl::end_point).collect();
    points.dedup();
    if points.first() == points.last() {
        points.pop();
    }
    let count = points.len();
    if !VERTICES.contains(&count) {
        return None;
    }
    let start = sharpest(&points);
    points.rotate_left(start);
    points.extend(points.first().copied());
    let mut all = longest(&points, NEAR.max(DEVIATIONS * noise));
    if all.len() * 3 > count {
        return None;
    }
    for _ in 0..2 {
        settle(&mut all, &points);
    }
    Some(data(&all, &points, axis))
}

/// The vertex where the direction changes most: a run begins there.
fn sharpest(points: &[Point]) -> usize {
    let count = points.len();
    let bend = |at: usize| {
        let point = |by: usize| points.get((at + by) % count).copied().unwrap_or_default();
        let (before, after) = (point(0) - point(count - 2), point(2) - point(0));
        before.cross(after).atan2(before.dot(after)).abs()
    };
    (0..count).max_by(|a, b| bend(*a).total_cmp(&bend(*b))).unwrap_or(0)
}

/// From the first vertex on always the longest run that lies near a line or an arc.
fn longest(points: &[Point], near: f64) -> Vec<Run> {
    let mut all = Vec::new();
    let mut from = 0;
    while from + 1 < points.len() {
        let mut best = Run { from, to: from + 1, along: line(points.get(from..=from + 1).unwrap_or_default()) };
        let mut missed = 0;
        for to in from + 2..points.len() {
            let run = points.get(from..=to).unwrap_or_default();
            spend_on(run.len(), STEPS);
            let kinds = [Some(line(run)), arc(run)].into_iter().flatten();
            match kinds.into_iter().find(|along| along.follows(run, near)) {
                Some(along) => (best, missed) = (Run { from, to, along }, 0),
                None => missed += 1,
            }
            if missed >= MISSES {
                break;
            }
        }
        from = best.to;
        all.push(best);
    }
    all
}

/// Moves the ends of runs to where what lies along the one passes to what lies along the next, and fits both anew: the longest run
/// takes a few vertices of its neighbour.
fn settle(all: &mut [Run], points: &[Point]) {
    let square = |along: &Along, at: usize| points.get(at).map_or(0.0, |point| along.distance(*point).powi(2));
    for at in 1..all.len() {
        let (before, after) = all.split_at_mut(at);
        let (Some(one), Some(next)) = (before.last_mut(), after.first_mut()) else { continue };
        let (low, high) = ((one.from + one.to) / 2 + 1, next.to.saturating_sub(1));
        spend_on(high.saturating_sub(low), STEPS);
        // What all vertices come to where the ones up to this belong to the one run, and the others to the next.
        let (mut sum, mut best) = (0.0, (f64::MAX, one.to));
        for end in low..=high {
            sum += square(&one.along, end) - square(&next.along, end);
            if sum < best.0 {
                best = (sum, end);
            }
        }
        (one.to, next.from) = (best.1, best.1);
    }
    for run in all {
        let own = points.get(run.from..=run.to).unwrap_or_default();
        match run.along {
            Along::Line { .. } => run.along = line(own),
            Along::Arc { .. } => run.along = arc(own).unwrap_or(run.along),
        }
    }
}

impl Along {
    fn distance(&self, point: Point) -> f64 {
        match self {
            Self::Line { through, way } => way.cross(point - *through),
            Self::Arc { centre, radius } => point.distance(*centre) - radius,
        }
    }

    /// Whether vertices lie near, and the lines between them as well: one that is long was meant as a line.
    fn follows(&self, run: &[Point], near: f64) -> bool {
        let middles = run.iter().zip(run.iter().skip(1)).map(|(a, b)| a.midpoint(*b));
        run.iter().copied().chain(middles).all(|point| self.distance(point).abs() <= near)
    }

    /// The nearest point of it.
    fn foot(&self, point: Point) -> Point {
        match self {
            Self::Line { through, way } => *through + *way * way.dot(point - *through),
            Self::Arc { centre, radius } => {
                let out = point - *centre;
                *centre + out * (radius / out.hypot().max(1e-9))
            }
        }
    }
}

/// The middle of points, and the sums of their squares about it.
fn moments(points: &[Point]) -> (Point, [f64; 3]) {
    let count = points.len().max(1) as f64;
    let mean = (points.iter().fold(Vec2::ZERO, |sum, point| sum + point.to_vec2()) / count).to_point();
    let sums = points.iter().fold([0.0; 3], |[xx, xy, yy], point| {
        let moved = *point - mean;
        [xx + moved.x * moved.x, xy + moved.x * moved.y, yy + moved.y * moved.y]
    });
    (mean, sums.map(|sum| sum / count))
}

/// The line that lies nearest to points, by the square of their distances from it.
fn line(points: &[Point]) -> Along {
    let (through, [xx, xy, yy]) = moments(points);
    let angle = (2.0 * xy).atan2(xx - yy) / 2.0;
    Along::Line { through, way: Vec2::from_angle(angle) }
}

/// The circle that lies nearest to points (Taubin 1991, by the steps of Chernov and Lesort 2005, both from memory): of short arcs it
/// is not drawn in by noise, as by plainer ways.
fn arc(points: &[Point]) -> Option<Along> {
    if points.len() < 4 {
        return None;
    }
    let (mean, [xx, xy, yy]) = moments(points);
    let count = points.len() as f64;
    let [xz, yz, zz] = points.iter().fold([0.0; 3], |[xz, yz, zz], point| {
        let moved = *point - mean;
        let z = moved.hypot2();
        [xz + moved.x * z / count, yz + moved.y * z / count, zz + z * z / count]
    });
    let z = xx + yy;
    let (across, spread) = (xx * yy - xy * xy, zz - z * z);
    let a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - spread * across;
    let a1 = spread * z + 4.0 * across * z - xz * xz - yz * yz;
    let (a2, a3) = (-3.0 * z * z - zz, 4.0 * z);
    let mut root = 0.0;
    for _ in 0..20 {
        let (value, slope) = (a0 + root * (a1 + root * (a2 + root * a3)), a1 + root * (2.0 * a2 + 3.0 * a3 * root));
        let step = if slope.abs() > 0.0 { value / slope } else { 0.0 };
        root -= step;
        if step.abs() <= 1e-12 * root.abs().max(1e-12) {
            break;
        }
    }
    let whole = 2.0 * (root * root - root * z + across);
    let centre = Vec2::new(xz * (yy - root) - yz * xy, yz * (xx - root) - xz * xy) / whole;
    let radius = (centre.hypot2() + z).sqrt();
    (radius.is_finite() && radius < 2000.0).then_some(Along::Arc { centre: mean + centre, radius })
}

/// Where two runs meet: the point that lies on both nearest to the vertex they share, or between both where they only touch.
fn meeting(one: &Along, next: &Along, vertex: Point) -> Point {
    let mut at = vertex;
    // By turns onto the one and the other; what crosses at an angle is met in a few steps.
    for _ in 0..30 {
        at = next.foot(one.foot(at));
    }
    let between = one.foot(at).midpoint(at);
    let far = 0.5_f64.max(2.0 * one.distance(vertex).abs().max(next.distance(vertex).abs()));
    if between.distance(vertex) <= far { between } else { one.foot(vertex).midpoint(next.foot(vertex)) }
}

/// Path data about the axis.
fn data(all: &[Run], points: &[Point], axis: Point) -> String {
    let count = all.len();
    let joint = |at: usize| {
        let one = all.get((at + count - 1) % count)?;
        let next = all.get(at % count)?;
        Some(meeting(&one.along, &next.along, *points.get(next.from)?))
    };
    let joints: Vec<Point> = (0..count).filter_map(joint).collect();
    let at = |point: Point| format!("{},{}", plain(point.x - axis.x, 3), plain(point.y - axis.y, 3));
    let mut data = format!("M{}", at(joints.first().copied().unwrap_or_default()));
    for ((number, run), start) in all.iter().enumerate().zip(&joints) {
        let end = joints.get((number + 1) % count).copied().unwrap_or(*start);
        match run.along {
            Along::Line { .. } => {
                let _ = write!(data, " L{}", at(end));
            }
            Along::Arc { centre, .. } => {
                let own = points.get(run.from..=run.to).unwrap_or_default();
                for point in sweep(centre, own, *start, end) {
                    let (radius, ccw) = (plain(point.1.abs(), 4), u8::from(point.1 > 0.0));
                    let _ = write!(data, " A{radius},{radius} 0 0 {ccw} {}", at(point.0));
                }
            }
        }
    }
    data + " Z"
}

/// The ends of an arc's pieces, each with its radius, below zero where it runs clockwise. Its own distance from the centre goes
/// evenly from that of its start to that of its end.
fn sweep(centre: Point, own: &[Point], start: Point, end: Point) -> Vec<(Point, f64)> {
    let turn = |a: Point, b: Point| (a - centre).cross(b - centre).atan2((a - centre).dot(b - centre));
    let drawn: f64 = own.iter().zip(own.iter().skip(1)).map(|(a, b)| turn(*a, *b)).sum();
    // By as many whole turns as the vertices make.
    let between = turn(start, end);
    let whole = between + 2.0 * PI * ((drawn - between) / (2.0 * PI)).round();
    let pieces = (whole.abs() / SWEEP).ceil().max(1.0) as usize;
    let (from, to) = (start.distance(centre), end.distance(centre));
    let ends = (1..=pieces).map(|piece| {
        let share = piece as f64 / pieces as f64;
        let radius = from + (to - from) * share;
        let out = (start - centre) / from.max(1e-9);
        let (sin, cos) = (whole * share).sin_cos();
        let at = centre + Vec2::new(out.x * cos - out.y * sin, out.x * sin + out.y * cos) * radius;
        (if piece == pieces { end } else { at }, radius * whole.signum())
    });
    ends.collect()
}
