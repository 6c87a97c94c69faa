//! The sizes and the place of a shape that lie nearest to points of an edge: damped least squares (Levenberg 1944, Marquardt
//! 1963; both from memory) on signed distances, of which those that stand out count less (soft L1).

use kurbo::Point;

use super::shape::{Kind, Shape};
use crate::work::spend_on;

/// Steps of work that one step of a fit takes for each point: some fifteen distances of a few nanoseconds.
const WORK: u64 = 100;

/// How many numbers a shape has: its place, how it is turned, and three sizes.
pub(super) const NUMBERS: usize = 6;

type Row = [f64; NUMBERS];

/// A shape as near to the points as it comes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fit {
    pub(super) shape: Shape,
    /// The standard error of each of its numbers: x, y, turn, sizes.
    pub(super) errors: Row,
    /// Root of the mean square of the distances, in mm.
    pub(super) rms: f64,
    /// That 95 of 100 distances are within, in mm.
    pub(super) most: f64,
    /// The greatest distance, in mm.
    pub(super) worst: f64,
}

/// The shape from where it is guessed to be, in so many steps at the most. `scale` is the distance in mm from which on points
/// count less.
pub(super) fn fitted(guess: Shape, points: &[Point], scale: f64, steps: usize) -> Fit {
    let free = free(guess.kind);
    let mut shape = guess;
    let mut damping = 1e-3;
    let mut cost = robust(&shape, points, scale);
    for _ in 0..steps {
        spend_on(points.len(), WORK);
        let (normal, gradient) = equations(&shape, points, scale, &free);
        let mut gained = 0.0;
        while damping < 1e9 {
            let Some(step) = solved(damped(&normal, damping), gradient) else { break };
            let tried = stepped(&shape, &step, -1.0);
            let then = robust(&tried, points, scale);
            if then < cost {
                (gained, shape, cost) = (cost - then, tried, then);
                damping = (damping * 0.2).max(1e-12);
                break;
            }
            damping *= 6.0;
        }
        if gained <= cost * 1e-7 {
            break;
        }
    }
    measured(shape, points, scale, &free)
}

/// Which of the numbers are sought. A circle is not turned, and a piece of a ring stays about the point that it was tried about.
fn free(kind: Kind) -> [bool; NUMBERS] {
    let (sizes, moves) = (kind.sizes(), kind != Kind::Sector);
    [moves, moves, kind != Kind::Circle, true, sizes > 1, sizes > 2]
}

fn stepped(shape: &Shape, step: &Row, by: f64) -> Shape {
    let [x, y, turn, a, b, c] = step.map(|value| value * by);
    let [d, e, f] = shape.size;
    // No corner is rounder than sharp.
    let size = match shape.kind {
        Kind::Polygon(_) => [d + a, (e + b).max(0.0), f],
        Kind::Rectangle | Kind::Star(_) => [d + a, e + b, (f + c).max(0.0)],
        _ => [d + a, e + b, f + c],
    };
    Shape { at: shape.at + (x, y), turn: shape.turn + turn, size, ..*shape }
}

fn robust(shape: &Shape, points: &[Point], scale: f64) -> f64 {
    let cost = |point: &Point| {
        let away = shape.distance(*point) / scale;
        2.0 * ((1.0 + away * away).sqrt() - 1.0)
    };
    points.iter().map(cost).sum()
}

/// The normal equations of one step, every point with its weight.
fn equations(shape: &Shape, points: &[Point], scale: f64, free: &[bool; NUMBERS]) -> ([Row; NUMBERS], Row) {
    const STEP: f64 = 1e-6;
    // The shapes one small step either way along each number, made once for all points.
    let mut sides: Vec<(usize, Shape, Shape)> = Vec::with_capacity(NUMBERS);
    for (at, _) in free.iter().enumerate().filter(|(_, free)| **free) {
        let mut step = [0.0; NUMBERS];
        if let Some(one) = step.get_mut(at) {
            *one = STEP;
        }
        sides.push((at, stepped(shape, &step, 1.0), stepped(shape, &step, -1.0)));
    }
    let mut normal = [[0.0; NUMBERS]; NUMBERS];
    let mut gradient = [0.0; NUMBERS];
    for point in points {
        let away = shape.distance(*point);
        let weight = 1.0 / (1.0 + (away / scale).powi(2)).sqrt();
        let mut slopes = [0.0; NUMBERS];
        for (at, ahead, behind) in &sides {
            if let Some(slope) = slopes.get_mut(*at) {
                *slope = (ahead.distance(*point) - behind.distance(*point)) / (2.0 * STEP);
            }
        }
        for ((row, sum), slope) in normal.iter_mut().zip(&mut gradient).zip(slopes) {
            *sum += weight * slope * away;
            for (cell, other) in row.iter_mut().zip(slopes) {
                *cell += weight * slope * other;
            }
        }
    }
    (normal, gradient)
}

fn damped(normal: &[Row; NUMBERS], damping: f64) -> [Row; NUMBERS] {
    let mut damped = *normal;
    for (at, row) in damped.iter_mut().enumerate() {
        if let Some(cell) = row.get_mut(at) {
            // What no point depends on stays where it is.
            *cell = if *cell > 0.0 { *cell * (1.0 + damping) } else { 1.0 };
        }
    }
    damped
}

/// The solution of so many equations, by elimination with the largest pivot; none where they have no single one.
fn solved(mut rows: [Row; NUMBERS], mut right: Row) -> Option<Row> {
    for at in 0..NUMBERS {
        let size = |row: usize| rows.get(row).and_then(|row| row.get(at)).map_or(0.0, |cell| cell.abs());
        let largest = (at..NUMBERS).max_by(|a, b| size(*a).total_cmp(&size(*b)))?;
        rows.swap(at, largest);
        right.swap(at, largest);
        let (pivot_row, by) = (*rows.get(at)?, *right.get(at)?);
        let pivot = *pivot_row.get(at)?;
        if pivot.abs() < 1e-300 {
            return None;
        }
        for (below, (row, value)) in rows.iter_mut().zip(&mut right).enumerate() {
            if below != at {
                let share = row.get(at)? / pivot;
                row.iter_mut().zip(pivot_row).for_each(|(cell, other)| *cell -= share * other);
                *value -= share * by;
            }
        }
    }
    let mut solution = [0.0; NUMBERS];
    for (at, (value, (row, right))) in solution.iter_mut().zip(rows.iter().zip(right)).enumerate() {
        *value = right / row.get(at)?;
    }
    solution.iter().all(|value| value.is_finite()).then_some(solution)
}

fn measured(shape: Shape, points: &[Point], scale: f64, free: &[bool; NUMBERS]) -> Fit {
    let mut away: Vec<f64> = points.iter().map(|point| shape.distance(*point).abs()).collect();
    away.sort_by(f64::total_cmp);
    let count = away.len().max(1) as f64;
    let squares: f64 = away.iter().map(|value| value * value).sum();
    let spread = squares / (count - free.iter().filter(|free| **free).count() as f64).max(1.0);
    let (normal, _) = equations(&shape, points, scale, free);
    let mut errors = [0.0; NUMBERS];
    for (at, error) in errors.iter_mut().enumerate() {
        let mut unit = [0.0; NUMBERS];
        if let Some(one) = unit.get_mut(at) {
            *one = 1.0;
        }
        let inverse = solved(damped(&normal, 0.0), unit);
        let own = inverse.and_then(|column| column.get(at).copied()).unwrap_or(0.0);
        *error = if free.get(at) == Some(&true) { (own.max(0.0) * spread).sqrt() } else { 0.0 };
    }
    let at = |share: f64| away.get(((count - 1.0) * share) as usize).copied().unwrap_or(0.0);
    Fit { shape, errors, rms: (squares / count).sqrt(), most: at(0.95), worst: at(1.0) }
}
