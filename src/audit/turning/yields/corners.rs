//! The corners of a convex shape, walked round from the one that is the nearest to an edge.

use kurbo::{Line, Point, Vec2};

use crate::geometry::TOUCH_MM;

/// Corners of a convex shape in their order, all of them or some.
pub(super) struct Corners<'c> {
    all: &'c [Point],
    /// The one found last, by place: where edges follow one another, the next is near it.
    last: usize,
}

/// A corner by its place, with its distance from an edge, in mm, on the edge's outer side.
#[derive(Clone, Copy)]
pub(super) struct Corner {
    pub at: Point,
    pub room: f64,
    place: usize,
}

/// An edge with the direction out of the shape that it bounds, and how far it is looked from it, in mm.
#[derive(Clone, Copy)]
pub(super) struct Edge {
    pub line: Line,
    pub normal: Vec2,
    pub reach: f64,
}

impl<'c> Corners<'c> {
    pub(super) fn new(all: &'c [Point]) -> Self {
        Self { all, last: 0 }
    }

    fn corner(&self, place: usize, edge: &Edge) -> Option<Corner> {
        let at = *self.all.get(place % self.all.len().max(1))?;
        Some(Corner { at, room: edge.normal.dot(at - edge.line.p0), place })
    }

    /// All others from a corner on, one way round or the other.
    fn walk(&self, from: usize, on: bool, edge: &Edge) -> impl Iterator<Item = Corner> {
        let count = self.all.len();
        let place = move |steps: usize| (from + if on { steps } else { count - steps }) % count;
        (1..count).filter_map(move |steps| self.corner(place(steps), edge))
    }

    /// The corner nearest to an edge. What lies on its inner side without being inside has nothing to do with it.
    pub(super) fn nearest(&mut self, edge: &Edge) -> Option<Corner> {
        let mut lowest = self.corner(self.last, edge)?;
        for on in [true, false] {
            let falling = self.walk(lowest.place, on, edge).take_while({
                let mut before = lowest.room;
                move |corner| std::mem::replace(&mut before, corner.room) > corner.room
            });
            lowest = falling.last().unwrap_or(lowest);
        }
        self.last = lowest.place;
        if lowest.room < -TOUCH_MM {
            let outside = |on| self.walk(lowest.place, on, edge).find(|corner| corner.room >= -TOUCH_MM);
            let (one, other) = (outside(true)?, outside(false)?);
            lowest = if other.room < one.room { other } else { one };
        }
        (lowest.room <= edge.reach).then_some(lowest)
    }

    /// The others within reach of an edge, from the nearest on either way round, each way only as long as they count: seen from
    /// one corner of a convex shape, the others stand ever steeper to the edge.
    pub(super) fn others(
        &self,
        nearest: Corner,
        edge: &Edge,
        counts: impl Fn(&Corner) -> bool,
    ) -> impl Iterator<Item = Corner> {
        let near = |corner: &Corner| (-TOUCH_MM..=edge.reach).contains(&corner.room);
        let on: Vec<Corner> = self.walk(nearest.place, true, edge).take_while(&counts).collect();
        let left = self.all.len().saturating_sub(1 + on.len());
        let back = self.walk(nearest.place, false, edge).take(left).take_while(counts);
        on.into_iter().chain(back.collect::<Vec<_>>()).filter(near)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::convex;

    /// Walking finds what looking at every corner finds, for polygons and edges drawn at random.
    #[test]
    fn walking_round_finds_what_looking_at_all_finds() {
        let mut rng = fastrand::Rng::with_seed(7);
        let mut found = 0;
        for _ in 0..400 {
            let points = (0..rng.usize(1..30)).map(|_| Point::new(rng.f64() * 4.0, rng.f64() * 2.0)).collect();
            let hull = convex(points, |point| *point);
            let mut corners = Corners::new(&hull);
            for _ in 0..20 {
                let (normal, through) =
                    (Vec2::from_angle(rng.f64() * 7.0), Point::new(rng.f64() * 4.0, rng.f64() * 3.0));
                let along = Vec2::new(-normal.y, normal.x);
                let edge = Edge { line: Line::new(through, through + along), normal, reach: rng.f64() * 2.0 };
                let room = |point: &Point| normal.dot(*point - through);
                let mut near: Vec<Point> =
                    hull.iter().copied().filter(|point| (-TOUCH_MM..=edge.reach).contains(&room(point))).collect();
                near.sort_by(|a, b| room(a).total_cmp(&room(b)));
                let nearest = corners.nearest(&edge);
                assert_eq!(nearest.map(|corner| corner.at), near.first().copied());
                let Some(nearest) = nearest else { continue };
                let lean = rng.f64();
                let counts = |at: Point, room: f64| room - nearest.room < lean * (at - nearest.at).hypot();
                let walked = corners.others(nearest, &edge, |corner| counts(corner.at, corner.room));
                let mut walked: Vec<Point> = walked.map(|corner| corner.at).collect();
                walked.sort_by(|a, b| room(a).total_cmp(&room(b)));
                near.retain(|point| *point != nearest.at && counts(*point, room(point)));
                assert_eq!(walked, near);
                found += walked.len();
            }
        }
        assert!(found > 1000, "{found}");
    }
}
