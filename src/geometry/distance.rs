//! Distances between outlines, clearances and coverage.

use kurbo::{ParamCurve, Point};

use super::Region;
use super::boolean::is_sliver;
use super::flattened::{FlattenedShape, Gap};
use super::rings::rings;

/// How finely outlines are flattened where distances are taken, in mm. Distances are right to twice that.
const FLAT_MM: f64 = 2e-5;
/// What sticks out less than this does not stick out, in mm.
const THIN_MM: f64 = 1e-3;

/// Two points and how far apart they are, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// How far apart, in mm.
    pub distance: f64,
    /// A point of the first outline.
    pub from: Point,
    /// A point of the second.
    pub to: Point,
}

impl Nearest {
    /// The same pair seen from the other side.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self { distance: self.distance, from: self.to, to: self.from }
    }
}

impl From<Gap> for Nearest {
    fn from(gap: Gap) -> Self {
        Self { distance: gap.mm, from: gap.at.0, to: gap.at.1 }
    }
}

impl Region {
    /// The nearest points of two boundaries, ours first; 0 apart where they cross or touch. None where either is
    /// empty. Right to 0.04 µm.
    pub fn distance(&self, other: &Self) -> Option<Nearest> {
        let [ours, theirs] = [self, other].map(|region| FlattenedShape::to_within(region, FLAT_MM));
        (!ours.is_empty() && !theirs.is_empty()).then(|| ours.edge_gap(&theirs, f64::INFINITY).into())
    }

    /// The nearest point of the boundary to a point (`to`), however it lies. None where empty. Right to 0.02 µm.
    pub fn distance_to_point(&self, point: Point) -> Option<Nearest> {
        let (distance, from) = FlattenedShape::to_within(self, FLAT_MM).distance_to(point)?;
        Some(Nearest { distance, from, to: point })
    }

    /// How much room is left round `inner` inside this region: the least distance from our boundary (`from`) to
    /// its boundary (`to`). Negative where it sticks out, by how far its farthest point does. None where either is
    /// empty.
    pub fn clearance_inside(&self, inner: &Self) -> Option<Nearest> {
        if self.covers(inner) {
            return self.distance(inner);
        }
        let outline = FlattenedShape::to_within(self, FLAT_MM);
        let mut worst: Option<Nearest> = None;
        for point in along(inner).into_iter().filter(|point| !self.contains(*point)) {
            let (distance, from) = outline.distance_to(point)?;
            if worst.is_none_or(|worst| distance > -worst.distance) {
                worst = Some(Nearest { distance: -distance, from, to: point });
            }
        }
        worst.or_else(|| self.distance(inner))
    }

    /// Whether all of `inner` lies in this region, touching allowed; what sticks out by less than 1 µm is
    /// overlooked. Nothing is covered by everything.
    pub fn covers(&self, inner: &Self) -> bool {
        let (Some(ours), Some(theirs)) = (self.bounds(), inner.bounds()) else { return inner.is_empty() };
        if !ours.inflate(THIN_MM, THIN_MM).contains_rect(theirs) {
            return false;
        }
        // The usual case, told without a boolean.
        let [body, part] = [self, inner].map(FlattenedShape::of);
        part.lies_well_in(&body) || inner.difference(self).contours().iter().all(|contour| is_sliver(contour, THIN_MM))
    }

    /// The corners of each contour as a polygon within `tolerance` mm of it; the last corner joins the first. Outer
    /// contours run counter-clockwise, holes clockwise.
    pub fn flattened(&self, tolerance: f64) -> Vec<Vec<[f64; 2]>> {
        rings(self.path(), tolerance)
    }

    /// The area that both cover, in mm².
    pub fn overlap_area(&self, other: &Self) -> f64 {
        self.intersection(other).area()
    }
}

/// Points along an outline, close enough that nothing that matters falls between them.
pub(super) fn along(region: &Region) -> Vec<Point> {
    let mut points = Vec::new();
    for segment in region.path().segments() {
        let reach = kurbo::Shape::perimeter(&segment, 1e-2);
        let steps = (reach / 0.2).ceil().clamp(1.0, 4096.0);
        points.extend((0..steps as usize).map(|i| segment.eval(i as f64 / steps)));
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pair_seen_from_the_other_side_is_the_same_pair() {
        let pair = Nearest { distance: 5.0, from: Point::ORIGIN, to: Point::new(3.0, 4.0) };
        assert_eq!(pair.reversed(), Nearest { distance: 5.0, from: Point::new(3.0, 4.0), to: Point::ORIGIN });
    }
}
