//! What a contour is: every shape that it may be is fitted to it, and the plainest that lies near enough is taken.

use std::f64::consts::{PI, TAU};

use kurbo::{Point, Vec2};

use super::contour::Contour;
use super::fit::{Fit, fitted};
use super::shape::{Kind, Shape};
use crate::work::spend_on;

/// The least distance in mm that 95 of 100 points may lie off a shape, where the drawing has no noise.
const NEAR: f64 = 0.1;

/// Of a drawing with noise, as many standard deviations.
const DEVIATIONS: f64 = 2.5;

/// The greatest distance may be so many times as much.
const WORST: f64 = 4.0;

/// What lies about a circle within this in mm, as the root of the mean square, is one.
const AS_ROUND: f64 = 0.02;

/// A kind is taken without a word where it is better than the next by this much (Schwarz 1978, from memory).
const CLEAR: f64 = 10.0;

/// Points that all shapes are tried on first, and for how many steps; how many are then fitted to most points, and for how many.
const SOME: usize = 72;
const MOST: usize = 200;
const FEW: usize = 12;
const KEPT: usize = 6;
const STEPS: usize = 40;

/// A contour that is a shape.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) fit: Fit,
    /// The kind that it may be as well.
    pub(super) or: Option<Kind>,
}

/// The shape of a contour in a drawing of this noise; none where it is none of them. `about` are points that it may be a piece
/// of a ring about.
pub(super) fn recognised(contour: &Contour, noise: f64, about: &[Point]) -> Option<Found> {
    let near = NEAR.max(DEVIATIONS * noise);
    let half = contour.bounds.width().max(contour.bounds.height()) / 2.0;
    // Small things are not what they seem just because all of them is near.
    let near = near.min((half * 0.1).max(DEVIATIONS * noise)).max(0.01);
    // Circles drawn as cubics are off by so much.
    let floor = 0.008_f64.max(3e-4 * half);
    let scale = (3.0 * noise).max(0.05);
    let least = 0.2_f64.max(6.0 * noise).min(half * 0.2);
    let count = contour.points.len() as f64;
    let most = some(contour, MOST);
    let round = fitted(circle(contour), &contour.points, scale, STEPS);
    // Whatever has more numbers fits noise better; and no shape that is told from a circle lies as near to one.
    if round.rms <= floor.max(AS_ROUND.min(0.02 * half)).max(1.3 * noise) && round.worst <= WORST * near {
        return Some(Found { fit: known(round, contour), or: None });
    }
    let mut scored: Vec<(f64, Fit)> = Vec::new();
    for guess in promising(contour, about, scale) {
        let fit = fitted(fitted(guess, &most, scale, STEPS).shape, &contour.points, scale, 0);
        let is_larger = fit.shape.size.iter().any(|size| *size > 3.0 * half) && guess.kind != Kind::Sector;
        if is_larger || !fit.shape.is_sound(least) || fit.most > near || fit.worst > WORST * near {
            continue;
        }
        let score = count * (fit.rms * fit.rms + floor * floor).ln() + numbers(guess.kind) * count.ln();
        scored.push((score, fit));
    }
    scored.sort_by(|a, b| a.0.total_cmp(&b.0).then(rank(a.1.shape.kind).cmp(&rank(b.1.shape.kind))));
    let (best, first) = scored.first().copied()?;
    let rivals = || scored.iter().filter(|(score, _)| score - best < CLEAR).map(|(_, fit)| *fit);
    // A square is a polygon too.
    let square = rivals().find(|fit| fit.shape.kind == Kind::Rectangle && first.shape.kind == Kind::Polygon(4));
    let fit = known(square.unwrap_or(first), contour);
    let or = rivals().map(|other| other.shape.kind).find(|other| !is_kin(*other, fit.shape.kind));
    Some(Found { fit, or })
}

/// The fit with its errors as they follow from the points that were drawn, and never less than a quarter of what the edge strays.
fn known(fit: Fit, contour: &Contour) -> Fit {
    let more = (contour.points.len() as f64 / contour.vertices.max(1) as f64).max(1.0).sqrt();
    let least = fit.rms / 4.0;
    let out = contour.bounds.width().max(contour.bounds.height()).max(1.0) / 2.0;
    let [x, y, turn, a, b, c] = fit.errors.map(|error| error * more);
    let errors = [x.max(least), y.max(least), turn.max(least / out), a.max(least), b.max(least), c.max(least)];
    Fit { errors, ..fit }
}

/// Whether two kinds are one, or one is the other with a number stated.
fn is_kin(one: Kind, other: Kind) -> bool {
    let boxed = |kind| matches!(kind, Kind::Rectangle | Kind::Obround | Kind::Polygon(4));
    std::mem::discriminant(&one) == std::mem::discriminant(&other) || (boxed(one) && boxed(other))
}

/// So many of its points at the most.
fn some(contour: &Contour, count: usize) -> Vec<Point> {
    let every = contour.points.len().div_ceil(count).max(1);
    contour.points.iter().step_by(every).copied().collect()
}

/// The shapes that come nearest to some of the points in a few steps.
fn promising(contour: &Contour, about: &[Point], scale: f64) -> Vec<Shape> {
    let some = some(contour, SOME);
    let guesses = guesses(contour, about).into_iter();
    let mut tried: Vec<Fit> = guesses.map(|guess| fitted(guess, &some, scale, FEW)).collect();
    tried.retain(|fit| fit.rms.is_finite());
    tried.sort_by(|a, b| a.rms.total_cmp(&b.rms));
    let nearest = tried.first().map_or(0.0, |fit| fit.rms);
    // Of each kind the nearest, and of all the few that are nearest; a plainer one may be a little further off.
    let mut kept: Vec<Fit> = Vec::new();
    for fit in tried {
        if fit.rms <= 8.0 * nearest.max(scale) && kept.iter().all(|other| other.shape.kind != fit.shape.kind) {
            kept.push(fit);
        }
    }
    kept.truncate(KEPT);
    kept.into_iter().map(|fit| fit.shape).collect()
}

/// How many numbers tell a shape of this kind.
fn numbers(kind: Kind) -> f64 {
    let (place, turn) = (if kind == Kind::Sector { 0.0 } else { 2.0 }, if kind == Kind::Circle { 0.0 } else { 1.0 });
    place + turn + kind.sizes() as f64
}

/// Which of two kinds is named where both are as good.
fn rank(kind: Kind) -> u8 {
    match kind {
        Kind::Circle => 0,
        Kind::Rectangle => 1,
        Kind::Obround => 2,
        Kind::Ellipse => 3,
        Kind::Sector => 4,
        _ => 5,
    }
}

/// Shapes to begin from.
fn guesses(contour: &Contour, about: &[Point]) -> Vec<Shape> {
    let at = contour.middle();
    let shape = |kind, turn, size| Shape { kind, at, turn, size };
    let mut all = vec![circle(contour)];
    for (turn, half_width, half_height) in boxes(contour, at) {
        let shorter = half_width.min(half_height);
        all.push(shape(Kind::Ellipse, turn, [half_width, half_height, 0.0]));
        all.push(shape(Kind::Obround, turn, [half_width, half_height, 0.0]));
        all.extend(
            [0.02, 0.3, 0.8].map(|share| shape(Kind::Rectangle, turn, [half_width, half_height, share * shorter])),
        );
    }
    let away = contour.points.iter().map(|point| point.distance(at));
    let (nearest, farthest) = away.fold((f64::MAX, 0.0_f64), |(least, most), it| (least.min(it), most.max(it)));
    for (count, corner_at) in harmonics(contour, at) {
        let turn = corner_at - PI / 2.0;
        let opposite = turn + PI / f64::from(count);
        let half = PI / f64::from(count);
        let corners = (contour.area / (f64::from(count) * half.sin() * half.cos())).sqrt();
        all.extend([0.0, 0.1, 0.4].map(|share| shape(Kind::Polygon(count), turn, [corners, share * corners, 0.0])));
        let deep = farthest - nearest;
        all.push(shape(Kind::Star(count), turn, [farthest, nearest, 0.0]));
        all.push(shape(Kind::Star(count), turn, [farthest + 0.2 * deep, nearest, 0.05 * farthest]));
        all.push(shape(Kind::Scallop(count), turn, [farthest, deep, 0.0]));
        all.push(shape(Kind::Notched(count), opposite, [farthest, deep, 0.0]));
    }
    all.extend(about.iter().filter_map(|about| sector(contour, *about)));
    all
}

fn circle(contour: &Contour) -> Shape {
    Shape { kind: Kind::Circle, at: contour.middle(), turn: 0.0, size: [(contour.area / PI).sqrt(), 0.0, 0.0] }
}

/// The ways that a box lies closest round the contour: how it is turned, half its width, half its height.
fn boxes(contour: &Contour, at: Point) -> Vec<(f64, f64, f64)> {
    let extents = |turn: f64| {
        let (sin, cos) = turn.sin_cos();
        let moved = contour.points.iter().map(|point| *point - at);
        let most = moved.fold((0.0_f64, 0.0_f64), |(x, y), it| {
            (x.max((it.x * cos + it.y * sin).abs()), y.max((it.y * cos - it.x * sin).abs()))
        });
        (turn, most.0, most.1)
    };
    let all = || (0..90).map(|step| extents(f64::from(step).to_radians()));
    let least = all().min_by(|a, b| (a.1 * a.2).total_cmp(&(b.1 * b.2)));
    let longest = all().max_by(|a, b| (a.1 / a.2).ln().abs().total_cmp(&(b.1 / b.2).ln().abs()));
    [least, longest].into_iter().flatten().collect()
}

/// The counts that the distance from the middle swings by most as one goes round, each with where it is greatest, in radians
/// counter-clockwise from the right.
fn harmonics(contour: &Contour, at: Point) -> Vec<(u32, f64)> {
    spend_on(contour.points.len(), 60 * 10);
    let mut waves: Vec<(f64, u32, f64)> = (3..=60_u32)
        .map(|count| {
            let mut sum = Vec2::ZERO;
            for (a, b) in contour.around() {
                let (a, b) = (a - at, b - at);
                // In steps so short that the quickest wave is seen as one.
                let sweep = a.cross(b).atan2(a.dot(b));
                let parts = (sweep.abs() / 0.02).ceil().clamp(1.0, 200.0);
                for part in 0..parts as usize {
                    let middle = a.lerp(b, (part as f64 + 0.5) / parts);
                    let angle = f64::from(count) * middle.atan2();
                    sum += Vec2::new(angle.cos(), angle.sin()) * (middle.hypot() * sweep / parts);
                }
            }
            (sum.hypot(), count, sum.atan2() / f64::from(count))
        })
        .collect();
    waves.sort_by(|a, b| b.0.total_cmp(&a.0));
    waves.into_iter().take(3).map(|(_, count, crest)| (count, crest)).collect()
}

/// As a piece of a ring about this point.
fn sector(contour: &Contour, about: Point) -> Option<Shape> {
    let middle = (contour.middle() - about).atan2();
    let (mut inner, mut outer, mut half) = (f64::MAX, 0.0_f64, 0.0_f64);
    for point in &contour.points {
        let moved = *point - about;
        let (out, aside) = (moved.hypot(), (moved.atan2() - middle + PI).rem_euclid(TAU) - PI);
        (inner, outer) = (inner.min(out), outer.max(out));
        half = half.max(if out > 1e-6 { aside.abs() } else { 0.0 });
    }
    let size = [outer, inner, half];
    (half > 0.0 && half < 0.99 * PI).then_some(Shape { kind: Kind::Sector, at: about, turn: middle - PI / 2.0, size })
}
