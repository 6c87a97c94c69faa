//! Corners of an outline, put back where its sides meet.
//!
//! A pixel picture rounds every corner by about a pixel. A corner shows as a sharp turn; its tip is where the lines
//! or parabolas fitted to the sides beyond the rounding meet, and it is believed only where it lies no farther from
//! the outline than the rounding of such a corner explains. A tight curve is thus left a curve.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use kurbo::{Point, Vec2};

use super::run::Lap;

/// Least turn that can be a corner, in radians; a flatter one is followed by curves as well.
const LEAST_TURN: f64 = 0.4;
/// Two corners are at least this far apart along the outline, in px.
const APART: f64 = 2.5;
/// Sides are fitted up to this far from a corner, in px.
const REACH: f64 = 12.0;
/// A side farther than this from a straight line, on average, is fitted by a parabola; px.
const STRAIGHT: f64 = 0.025;

/// How the picture's grain changes what is looked at.
#[derive(Clone, Copy)]
pub(super) struct Grain {
    /// Half of the stretch in which a corner is rounded, in px.
    pub(super) rounding: f64,
    /// Length over which a direction is taken, in px.
    pub(super) chord: f64,
    /// How far a fitted curve may pass from the outline, in px.
    pub(super) tolerance: f64,
}

impl Grain {
    /// A clean picture.
    pub(super) const FINE: Self = Self { rounding: 1.2, chord: 3.5, tolerance: 0.05 };
    /// A clean picture whose edges are as rough as can be: it has no anti-aliasing.
    const ROUGH: Self = Self { rounding: 1.5, chord: 6.0, tolerance: 0.3 };
    /// A picture that was noisy and has been smoothed.
    pub(super) const COARSE: Self = Self { rounding: 3.0, chord: 8.0, tolerance: 0.2 };

    /// For an outline whose points stray by so many px: nothing where anti-aliasing is the share of each pixel that
    /// is covered. Four times that much is hardly ever passed by chance.
    pub(super) fn for_strays(self, px: f64) -> Self {
        let tolerance = (4.0 * px).clamp(Self::FINE.tolerance, Self::ROUGH.tolerance);
        if tolerance <= self.tolerance {
            return self;
        }
        let share = (tolerance - Self::FINE.tolerance) / (Self::ROUGH.tolerance - Self::FINE.tolerance);
        let between = |fine: f64, rough: f64| fine + share * (rough - fine);
        let rounding = between(Self::FINE.rounding, Self::ROUGH.rounding).max(self.rounding);
        let chord = between(Self::FINE.chord, Self::ROUGH.chord).max(self.chord);
        Self { rounding, chord, tolerance }
    }
}

/// A corner of an outline.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    /// Where it lies along the outline, in px from the start.
    pub(super) along: f64,
    /// Its tip.
    pub(super) tip: Point,
    /// Half of the stretch that it rounds, in px.
    pub(super) rounding: f64,
}

/// The corners of an outline, in order.
pub(super) fn corners(lap: &Lap<'_>, grain: Grain) -> Vec<Corner> {
    let places = sharp_places(lap, grain);
    let mut found: Vec<Corner> = Vec::new();
    for (at, (along, turn)) in places.iter().enumerate() {
        let neighbours = [at.checked_sub(1).unwrap_or(places.len() - 1), (at + 1) % places.len()];
        let room = neighbours.map(|other| match places.get(other) {
            Some((there, _)) if other != at => lap.between(*along, *there),
            _ => lap.length(),
        });
        found.extend(corner(lap, *along, *turn, room, grain));
    }
    found.sort_by(|a, b| a.along.total_cmp(&b.along));
    found.dedup_by(|b, a| b.along - a.along < APART / 2.0);
    found
}

/// Where the outline turns most sharply, with how sharply: in order along it, none too near another.
fn sharp_places(lap: &Lap<'_>, grain: Grain) -> Vec<(f64, f64)> {
    let Grain { rounding, chord, .. } = grain;
    if lap.length() < 3.0 * (rounding + chord) {
        return Vec::new();
    }
    let turn = |along: f64| {
        let at = |by: f64| lap.at(along + by);
        let (back, on) = (at(-rounding) - at(-rounding - chord), at(rounding + chord) - at(rounding));
        back.cross(on).atan2(back.dot(on)).abs()
    };
    let turns: Vec<(f64, f64)> = lap.alongs().map(|along| (along, turn(along))).collect();
    let mut sharp: Vec<(f64, f64)> = (0..turns.len())
        .filter(|at| is_peak(lap, &turns, *at) && stands_out(lap, &turns, *at, grain))
        .filter_map(|at| turns.get(at).copied())
        .collect();
    // The sharpest first, so that of two that are near each other the sharper one stays.
    sharp.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut kept: BTreeMap<u64, (f64, f64)> = BTreeMap::new();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a length along the outline")]
    let key = |along: f64| (along * 1e6) as u64;
    for (along, turn) in sharp {
        let near = |other: Option<(&u64, &(f64, f64))>| {
            other.is_some_and(|(_, (there, _))| lap.between(along, *there) < APART)
        };
        // The first and the last are asked too, since the outline is closed and its ends are neighbours.
        let is_near = near(kept.range(..=key(along)).next_back())
            || near(kept.range(key(along)..).next())
            || near(kept.first_key_value())
            || near(kept.last_key_value());
        if !is_near {
            kept.insert(key(along), (along, turn));
        }
    }
    kept.into_values().collect()
}

/// Whether no place within [`APART`] turns more sharply.
fn is_peak(lap: &Lap<'_>, turns: &[(f64, f64)], at: usize) -> bool {
    let Some((along, turn)) = turns.get(at) else { return false };
    let (before, after) = turns.split_at(at);
    let lower = |other: &&(f64, f64)| other.1 <= *turn;
    let around = |other: &&(f64, f64)| lap.between(other.0, *along) < APART;
    *turn > LEAST_TURN
        && after.iter().chain(before).take_while(around).all(|other| lower(&other))
        && before.iter().rev().chain(after.iter().rev()).take_while(around).all(|other| lower(&other))
}

/// Whether the outline turns far less on some side just beyond: on a tight curve it goes on turning.
fn stands_out(lap: &Lap<'_>, turns: &[(f64, f64)], at: usize, grain: Grain) -> bool {
    let Some((along, turn)) = turns.get(at) else { return false };
    let (before, after) = turns.split_at(at);
    let around = |other: &&(f64, f64)| lap.between(other.0, *along) < grain.rounding + grain.chord + 1.5;
    let lower = |other: &(f64, f64)| other.1 < 0.5 * turn;
    after.iter().chain(before).take_while(around).any(lower)
        || before.iter().rev().chain(after.iter().rev()).take_while(around).any(lower)
}

fn corner(lap: &Lap<'_>, along: f64, turn: f64, room: [f64; 2], grain: Grain) -> Option<Corner> {
    let coarseness = grain.rounding / Grain::FINE.rounding;
    let half = ((PI - turn) / 2.0).max(0.1);
    // The sides of a sharp tip run less than a pixel apart for some way.
    let rounding = grain.rounding.max(0.75 / half.tan());
    let mut along = along;
    let mut tip = lap.at(along);
    let mut fitted = turn;
    // Twice: the sides are fitted from a place that is only known to a pixel, and then from the tip that they gave.
    for _ in 0..2 {
        let [back, on] = [-1.0, 1.0].map(|sense| {
            let [before, after] = room;
            let reach = (if sense < 0.0 { before - grain.rounding } else { after - grain.rounding })
                .min(REACH.max(2.5 * grain.chord));
            Side::fitted(
                &lap.stretch(along, sense * rounding, sense * reach.max(rounding + 1.0)),
                STRAIGHT * coarseness,
            )
        });
        let (back, on) = (back?, on?);
        tip = lap.at(along);
        // Where sides are bent their tangents depend on where the tip is; three steps settle that to far below a
        // pixel.
        for _ in 0..3 {
            tip = crossing(back.tangent(tip), on.tangent(tip))?;
        }
        along = lap.nearest(tip, along, 2.0 * rounding + 1.0);
        let (came, goes) = (back.tangent(tip).1, on.tangent(tip).1);
        // Where parabolas meet flatter than the chords do, the outline curves rather than turns.
        fitted = came.cross(goes).abs().atan2(came.dot(goes));
        if fitted < (0.7 * turn).max(0.8 * LEAST_TURN) {
            return None;
        }
    }
    let half = ((PI - turn.max(fitted)) / 2.0).max(0.1);
    let shortfall = 2.2 * ((0.5 / half.tan()).sqrt() - 0.5).max(0.0) + 0.3;
    let is_explained = tip.distance(lap.at(along)) <= shortfall * coarseness;
    is_explained.then_some(Corner { along, tip, rounding })
}

/// Where two lines cross.
fn crossing((p, u): (Point, Vec2), (q, v): (Point, Vec2)) -> Option<Point> {
    let det = u.cross(v);
    (det.abs() > 1e-6).then(|| p + u * ((q - p).cross(v) / det))
}

/// A line or parabola through a stretch of outline: `rise(x)` square to `heading` from `origin`.
struct Side {
    origin: Point,
    heading: Vec2,
    rise: [f64; 3],
}

impl Side {
    fn fitted(points: &[Point], straight: f64) -> Option<Self> {
        let (first, last) = (points.first()?, points.last()?);
        let heading = *last - *first;
        if heading.hypot() < 0.8 {
            return None;
        }
        let heading = heading.normalize();
        let origin = *first;
        let local: Vec<(f64, f64)> =
            points.iter().map(|p| ((*p - origin).dot(heading), heading.cross(*p - origin))).collect();
        let line = polynomial::<2>(&local)?;
        let [level, slope] = line;
        let line = [level, slope, 0.0];
        let residual = |[a, b, c]: [f64; 3]| {
            let sum: f64 = local.iter().map(|(x, y)| (y - a - x * (b + x * c)).powi(2)).sum();
            #[allow(clippy::cast_precision_loss, reason = "a few points")]
            (sum / local.len() as f64).sqrt()
        };
        let bent = || (local.len() >= 6).then(|| polynomial::<3>(&local)).flatten();
        // A parabola only where a line does not serve: on a straight side it would follow the grain and throw the tip
        // off.
        let rise = if residual(line) > straight { bent().unwrap_or(line) } else { line };
        Some(Self { origin, heading, rise })
    }

    /// The tangent beside a point.
    fn tangent(&self, beside: Point) -> (Point, Vec2) {
        let x = (beside - self.origin).dot(self.heading);
        let [a, b, c] = self.rise;
        let left = self.heading.turn_90();
        (self.origin + self.heading * x + left * (a + x * (b + x * c)), self.heading + left * (b + 2.0 * c * x))
    }
}

/// The polynomial of N coefficients nearest to the points, by least squares.
fn polynomial<const N: usize>(points: &[(f64, f64)]) -> Option<[f64; N]> {
    let mut rows = [[0.0; N]; N];
    let mut sums = [0.0; N];
    for (x, y) in points {
        let powers: [f64; N] = std::array::from_fn(|n| x.powi(i32::try_from(n).unwrap_or(0)));
        for ((row, sum), power) in rows.iter_mut().zip(&mut sums).zip(&powers) {
            row.iter_mut().zip(&powers).for_each(|(cell, other)| *cell += power * other);
            *sum += power * y;
        }
    }
    solved(rows, sums)
}

/// Gaussian elimination; none where the rows do not determine an answer.
#[allow(clippy::indexing_slicing, reason = "indices run over the fixed size")]
fn solved<const N: usize>(mut rows: [[f64; N]; N], mut sums: [f64; N]) -> Option<[f64; N]> {
    for pivot in 0..N {
        // The largest pivot, or rounding would grow where points lie close together.
        let best = (pivot..N).max_by(|a, b| rows[*a][pivot].abs().total_cmp(&rows[*b][pivot].abs()))?;
        rows.swap(pivot, best);
        sums.swap(pivot, best);
        if rows[pivot][pivot].abs() < 1e-9 {
            return None;
        }
        for row in (0..N).filter(|row| *row != pivot) {
            let factor = rows[row][pivot] / rows[pivot][pivot];
            let from = rows[pivot];
            rows[row].iter_mut().zip(from).for_each(|(cell, above)| *cell -= factor * above);
            sums[row] -= factor * sums[pivot];
        }
    }
    Some(std::array::from_fn(|n| sums[n] / rows[n][n]))
}
