//! An outline measured along its length.

use kurbo::Point;

/// A closed outline with the length from its start at each point.
pub(super) struct Lap<'a> {
    points: &'a [Point],
    along: Vec<f64>,
    length: f64,
}

impl<'a> Lap<'a> {
    pub(super) fn new(points: &'a [Point]) -> Self {
        let mut length = 0.0;
        let mut along = Vec::with_capacity(points.len());
        for (at, point) in points.iter().enumerate() {
            along.push(length);
            length += point.distance(*points.get(at + 1).or(points.first()).unwrap_or(point));
        }
        Self { points, along, length }
    }

    pub(super) fn length(&self) -> f64 {
        self.length
    }

    /// The length from the start at each point.
    pub(super) fn alongs(&self) -> impl Iterator<Item = f64> {
        self.along.iter().copied()
    }

    /// How far apart two places are, the shorter way.
    pub(super) fn between(&self, one: f64, other: f64) -> f64 {
        let apart = (one - other).abs().rem_euclid(self.length);
        apart.min(self.length - apart)
    }

    fn point(&self, at: usize) -> Point {
        self.points.get(at % self.points.len().max(1)).copied().unwrap_or_default()
    }

    /// The first point at or after a place, which lies on the lap.
    fn after(&self, along: f64) -> usize {
        self.along.partition_point(|there| *there < along)
    }

    /// The place this far from the start; any length, the lap goes round.
    pub(super) fn at(&self, along: f64) -> Point {
        let along = along.rem_euclid(self.length);
        let next = self.after(along);
        let Some(before) = next.checked_sub(1) else { return self.point(0) };
        let from = self.along.get(before).copied().unwrap_or(0.0);
        let to = self.along.get(next).copied().unwrap_or(self.length);
        let share = if to > from { (along - from) / (to - from) } else { 0.0 };
        self.point(before).lerp(self.point(next), share)
    }

    /// The points strictly between two places, in the order of the lap; `to` may lie beyond its end.
    pub(super) fn span(&self, from: f64, to: f64) -> Vec<Point> {
        let start = from.rem_euclid(self.length);
        let mut left = to - from;
        let mut at = self.after(start);
        let mut here = start;
        let mut found = Vec::new();
        let count = self.points.len();
        for _ in 0..count {
            let there = self.along.get(at % count).copied().unwrap_or(0.0);
            let step = (there - here).rem_euclid(self.length);
            left -= step;
            if left < 0.0 {
                break;
            }
            found.push(self.point(at));
            here = there;
            at = (at + 1) % count;
        }
        found
    }

    /// The points from `near` to `far` px away from a place, ahead of it or, where both are negative, behind it.
    pub(super) fn stretch(&self, along: f64, near: f64, far: f64) -> Vec<Point> {
        if near < 0.0 { self.span(along + far, along + near) } else { self.span(along + near, along + far) }
    }

    /// The place within `reach` px of `along` that is nearest to a point, to a tenth of a pixel.
    pub(super) fn nearest(&self, point: Point, along: f64, reach: f64) -> f64 {
        let mut best = (f64::INFINITY, along);
        let mut by = -reach;
        // Step by step and not by halving: a wavy outline may come near the tip more than once.
        while by <= reach {
            let far = self.at(along + by).distance_squared(point);
            if far < best.0 {
                best = (far, along + by);
            }
            by += 0.1;
        }
        best.1.rem_euclid(self.length)
    }
}
