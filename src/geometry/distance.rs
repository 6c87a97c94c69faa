//! Distances between outlines, clearances and coverage.

use kurbo::{ParamCurve, Point};

use super::Region;
use super::boolean::is_sliver;
use super::edges::{Edges, Nearest};
use super::flat::rings;

/// How finely outlines are flattened where distances are taken, in mm. Distances are right to twice that.
const FLAT_MM: f64 = 2e-5;
/// Distances that differ by less than this are not told apart, in mm.
const SLACK_MM: f64 = 1e-6;
/// What sticks out less than this does not stick out, in mm.
const THIN_MM: f64 = 1e-3;

impl Region {
    /// The nearest points of two boundaries, ours first; 0 apart where they cross or touch. None where either is
    /// empty. Right to 0.04 µm.
    pub fn distance(&self, other: &Self) -> Option<Nearest> {
        let (ours, theirs) = (Edges::of(self.path(), FLAT_MM)?, Edges::of(other.path(), FLAT_MM)?);
        let mut best = Nearest::FAR;
        ours.nearest_between(&theirs, SLACK_MM, &mut best);
        Some(best)
    }

    /// The nearest point of the boundary to a point (`to`), however it lies. None where empty. Right to 0.02 µm.
    pub fn distance_to_point(&self, point: Point) -> Option<Nearest> {
        let edges = Edges::of(self.path(), FLAT_MM)?;
        let mut best = Nearest::FAR;
        edges.nearest_to(point, &mut best);
        Some(best)
    }

    /// How much room is left round `inner` inside this region: the least distance from our boundary (`from`) to
    /// its boundary (`to`). Negative where it sticks out, by how far its farthest point does. None where either is
    /// empty.
    pub fn clearance_inside(&self, inner: &Self) -> Option<Nearest> {
        if self.covers(inner) {
            return self.distance(inner);
        }
        let edges = Edges::of(self.path(), FLAT_MM)?;
        let mut worst: Option<Nearest> = None;
        for point in along(inner) {
            let mut nearest = Nearest::FAR;
            if !self.contains(point) {
                edges.nearest_to(point, &mut nearest);
                let deeper = worst.is_none_or(|worst| nearest.distance > -worst.distance);
                worst = if deeper { Some(Nearest { distance: -nearest.distance, ..nearest }) } else { worst };
            }
        }
        worst.or_else(|| self.distance(inner))
    }

    /// Whether all of `inner` lies in this region, touching allowed; what sticks out by less than 1 µm is
    /// overlooked. Nothing is covered by everything.
    pub fn covers(&self, inner: &Self) -> bool {
        let (Some(ours), Some(theirs)) = (self.bounds(), inner.bounds()) else { return inner.is_empty() };
        ours.inflate(THIN_MM, THIN_MM).contains_rect(theirs)
            && inner.difference(self).contours().iter().all(|contour| is_sliver(contour, THIN_MM))
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
