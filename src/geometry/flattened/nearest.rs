//! What lies near a point, and whether it lies inside.

use kurbo::{Line, Point, Rect};

use super::FlattenedShape;
use super::tree::spot;
use crate::geometry::boxes::gap_squared;
use crate::geometry::segment::{crossing, nearest_on, passes};

impl FlattenedShape {
    /// Whether the point is inside: whether the contours go round it, on the whole, by the nonzero rule.
    pub(crate) fn contains(&self, point: Point) -> bool {
        if !self.filled || !self.bounds().is_some_and(|bounds| bounds.contains(point)) {
            return false;
        }
        let to_the_right = |bounds: Rect| bounds.y0 <= point.y && point.y <= bounds.y1 && point.x <= bounds.x1;
        let (mut winding, mut walk) = (0, self.tree.walk());
        while let Some(at) = walk.next(to_the_right) {
            winding += self.segments_of(at).iter().map(|segment| passes(segment, point)).sum::<i32>();
        }
        winding != 0
    }

    /// Distance in mm from a point to the boundary and the nearest point there; none where empty.
    pub(crate) fn distance_to(&self, point: Point) -> Option<(f64, Point)> {
        let (distance, nearest, _) = self.nearest_segment(point)?;
        Some((distance, nearest))
    }

    /// The same, with the segment that the nearest point lies on.
    pub(crate) fn nearest_segment(&self, point: Point) -> Option<(f64, Point, &Line)> {
        let from = spot(point);
        let mut best = (f64::INFINITY, Point::ZERO, self.segments.first()?);
        nearest_in(self.guess(from)?.segments, point, &mut best);
        let mut walk = self.tree.walk();
        while let Some(at) = walk.next(|bounds| gap_squared(from, bounds) < best.0) {
            nearest_in(self.segments_of(at), point, &mut best);
        }
        Some((best.0.sqrt(), best.1, best.2))
    }

    /// Whether the boundary comes within `reach` mm of a point. Sooner told than how near it comes.
    pub(crate) fn within(&self, reach: f64, point: Point) -> bool {
        if reach < 0.0 {
            return false;
        }
        let (from, squared) = (spot(point), reach * reach);
        let is_near = |segment: &Line| nearest_on(segment, point).distance_squared(point) <= squared;
        let mut walk = self.tree.walk();
        while let Some(at) = walk.next(|bounds| gap_squared(from, bounds) <= squared) {
            if self.segments_of(at).iter().any(is_near) {
                return true;
            }
        }
        false
    }

    /// The segments whose boxes come within `reach` mm of a point, in order.
    pub(crate) fn near(&self, point: Point, reach: f64) -> impl Iterator<Item = &Line> {
        let (from, squared) = (spot(point), reach * reach);
        let leaves = self.leaves_where(move |bounds| gap_squared(from, bounds) <= squared);
        leaves.flat_map(move |leaf| leaf.near(from, squared))
    }

    /// The first place, in the order of the segments, where two of them properly cross.
    pub(in crate::geometry) fn crosses_itself(&self) -> Option<Point> {
        let among = |segment: &Line, own: Rect| {
            let mut others = self.leaves_where(|bounds| bounds.overlaps(own)).flat_map(|leaf| leaf.near(own, 0.0));
            others.find_map(|other| crossing(segment, other))
        };
        self.segments.iter().zip(&self.tree.own).find_map(|(segment, own)| among(segment, *own))
    }
}

fn nearest_in<'s>(segments: &'s [Line], point: Point, best: &mut (f64, Point, &'s Line)) {
    for segment in segments {
        let near = nearest_on(segment, point);
        let squared = near.distance_squared(point);
        if squared < best.0 {
            *best = (squared, near, segment);
        }
    }
}
