//! A polyline of many points as the few lines and arcs that it was drawn from.

use std::fmt::Write as _;

use kurbo::{PathEl, Point};

use super::contour::{Contour, STEPS};
use crate::units::plain;
use crate::work::spend_on;

/// Points lie this near to a line or an arc, in mm, where the drawing has no noise.
const NEAR: f64 = 0.02;

/// Of a drawing with noise, as many standard deviations.
const DEVIATIONS: f64 = 3.5;

/// What has fewer vertices is as plain as it can be; what has more is no outline that somebody drew.
const VERTICES: std::ops::RangeInclusive<usize> = 16..=4000;

/// How a run goes from one vertex to another.
#[derive(Clone, Copy)]
enum Run {
    Line,
    Arc {
        centre: Point,
        radius: f64,
        /// Whether it is more than half a circle.
        large: bool,
        /// Whether it runs counter-clockwise.
        ccw: bool,
    },
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
    let near = NEAR.max(DEVIATIONS * noise);
    let at = |point: &Point| format!("{},{}", plain(point.x - axis.x, 3), plain(point.y - axis.y, 3));
    let mut data = format!("M{}", at(points.first()?));
    let (mut from, mut made) = (0, 0);
    while from < count {
        let (to, run) = longest(&points, from, near)?;
        let end = at(points.get(to)?);
        let _ = match run {
            Run::Line => write!(data, " L{end}"),
            Run::Arc { radius, large, ccw, .. } => {
                let radius = plain(radius, 4);
                write!(data, " A{radius},{radius} 0 {} {} {end}", u8::from(large), u8::from(ccw))
            }
        };
        (from, made) = (to, made + 1);
    }
    (made * 3 <= count).then_some(data + " Z")
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

/// The longest run from a vertex, and where it ends.
fn longest(points: &[Point], from: usize, near: f64) -> Option<(usize, Run)> {
    let mut best = (from + 1, Run::Line);
    // Past a few that do not fit, none will.
    const MISSES: usize = 4;
    let mut missed = (0, 0);
    for to in from + 2..points.len() {
        let (run, inside) = (points.get(from..=to)?, points.get(from + 1..to)?);
        let (first, last) = (*run.first()?, *run.last()?);
        spend_on(run.len(), STEPS);
        if missed.0 < MISSES && is_line(first, last, inside, near) {
            (best, missed.0) = ((to, Run::Line), 0);
            continue;
        }
        missed.0 += 1;
        match arc(first, last, inside, near).filter(|arc| follows(arc, run, near)) {
            Some(arc) => (best, missed.1) = ((to, arc), 0),
            None => missed.1 += 1,
        }
        if missed.0 >= MISSES && missed.1 >= MISSES {
            break;
        }
    }
    Some(best)
}

fn is_line(first: Point, last: Point, inside: &[Point], near: f64) -> bool {
    let along = last - first;
    let long = along.hypot();
    long > 1e-6 && inside.iter().all(|point| (along.cross(*point - first) / long).abs() <= near)
}

/// Whether the lines between points lie as near to an arc as the points: one that is long was meant as a line.
fn follows(arc: &Run, run: &[Point], near: f64) -> bool {
    let Run::Arc { centre, radius, .. } = arc else { return true };
    let middles = run.iter().zip(run.iter().skip(1)).map(|(a, b)| a.midpoint(*b));
    middles.into_iter().all(|point| (point.distance(*centre) - radius).abs() <= near)
}

/// The circle through both ends that lies nearest to what is between: its middle stands on the line across them.
fn arc(first: Point, last: Point, inside: &[Point], near: f64) -> Option<Run> {
    let (middle, along) = (first.midpoint(last), last - first);
    let half = along.hypot() / 2.0;
    if half < 1e-3 || inside.len() < 2 {
        return None;
    }
    let across = kurbo::Vec2::new(-along.y, along.x) / (2.0 * half);
    let (mut over, mut under, mut side) = (0.0, 0.0, 0.0);
    for point in inside {
        let moved = *point - middle;
        let rise = 2.0 * moved.dot(across);
        over += rise * (moved.hypot2() - half * half);
        under += rise * rise;
        side += rise;
    }
    if under <= 1e-12 {
        return None;
    }
    let mut out = over / under;
    for _ in 0..3 {
        let (centre, radius) = (middle + across * out, half.hypot(out));
        let (mut sum, mut slopes) = (0.0, 0.0);
        for point in inside {
            let moved = *point - centre;
            let slope = -moved.dot(across) / moved.hypot().max(1e-9) - out / radius;
            sum += slope * (moved.hypot() - radius);
            slopes += slope * slope;
        }
        out -= if slopes > 1e-12 { sum / slopes } else { 0.0 };
    }
    let (centre, radius) = (middle + across * out, half.hypot(out));
    let fits = radius < 2000.0 && inside.iter().all(|point| (point.distance(centre) - radius).abs() <= near);
    fits.then_some(Run::Arc { centre, radius, large: out * side > 0.0, ccw: side < 0.0 })
}
