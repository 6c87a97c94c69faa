//! How far shapes are apart, or how deep they stand in each other.

use kurbo::{Line, Point, Rect};

use super::FlattenedShape;
use super::tree::{FAN, LEAF, Leaf};
use crate::geometry::boxes::gap_squared;
use crate::geometry::segment::{meeting, nearest_on};
use crate::work::{spend, spend_on};

/// Overlaps up to this depth are contact, not overlap, in mm: twice the flattening, which either shape may be off by, and the
/// booleans' tolerance.
pub(crate) const TOUCH_MM: f64 = 2e-3;
/// Level lines on which an overlap is looked for where no vertex shows it.
const LINES: u32 = 16;

/// A gap between two shapes and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gap {
    /// In mm; negative where the shapes overlap, by how deep; infinite where one of them is empty.
    pub mm: f64,
    /// The nearest points, one on each shape. Where they overlap, the deepest point and its nearest way out.
    pub at: (Point, Point),
}

impl Gap {
    /// No gap to speak of: one of the shapes is empty.
    pub(crate) const NONE: Self = Self { mm: f64::INFINITY, at: (Point::ZERO, Point::ZERO) };

    /// The smaller of two.
    pub(crate) fn least(self, other: Self) -> Self {
        if other.mm < self.mm { other } else { self }
    }

    /// Whether the shapes overlap by more than contact.
    pub(crate) fn overlaps(self) -> bool {
        self.mm < -TOUCH_MM
    }
}

impl FlattenedShape {
    /// Distance between the boundaries; 0 where they cross. Looks no farther than `within` mm.
    pub(crate) fn edge_gap(&self, other: &Self, within: f64) -> Gap {
        let limit = if within.is_finite() { within * within } else { f64::INFINITY };
        let mut best = (limit, Gap { mm: within, ..Gap::NONE });
        let (Some(bounds), Some(other_bounds)) = (self.bounds(), other.bounds()) else { return best.1 };
        if let Some((a, b)) = self.nearest_leaves(other).filter(|_| within.is_infinite()) {
            nearest_between(a, b, &mut best);
        }
        let near = other.leaves_nearer(bounds, best.0);
        for mine in self.leaves() {
            if gap_squared(mine.bounds, other_bounds) >= best.0 {
                continue;
            }
            spend_on(near.len(), 2);
            for theirs in &near {
                if gap_squared(mine.bounds, theirs.bounds) < best.0 {
                    spend(LEAF);
                    nearest_between(mine, *theirs, &mut best);
                }
            }
        }
        best.1
    }

    /// Gap between two shapes, negative where they overlap: then the depth to which this one stands in the other.
    pub(crate) fn gap(&self, other: &Self) -> Gap {
        if self.is_empty() || other.is_empty() {
            return Gap::NONE;
        }
        let edges = self.edge_gap(other, f64::INFINITY);
        if edges.mm > 0.0 && !self.meets_inside(other) {
            return edges;
        }
        self.depth_in(other)
    }

    /// Distance between two shapes in mm, `within` at most, or 0 where they touch or overlap, however deep.
    pub(crate) fn clear(&self, other: &Self, within: f64) -> f64 {
        if self.is_empty() || other.is_empty() {
            return within;
        }
        let edges = self.edge_gap(other, within).mm;
        if edges > 0.0 && self.meets_inside(other) { 0.0 } else { edges }
    }

    /// Whether a contour of one lies inside the other, given that no boundaries cross.
    fn meets_inside(&self, other: &Self) -> bool {
        self.starts.iter().any(|start| other.contains(*start)) || other.starts.iter().any(|start| self.contains(*start))
    }

    /// Whether the two come nearer than `mm` (0 or more) or overlap.
    pub(crate) fn closer_than(&self, other: &Self, mm: f64) -> bool {
        if self.is_empty() || other.is_empty() {
            return false;
        }
        let within = mm.max(1e-9);
        self.edge_gap(other, within).mm < within || self.meets_inside(other)
    }

    /// Whether the two overlap by more than `mm` (0 or more), as the vertices of either show it.
    #[cfg(test)]
    pub(crate) fn deeper_than(&self, other: &Self, mm: f64) -> bool {
        let deep = |points: &Self, body: &Self| {
            let inside = points.vertices().filter(|point| body.contains(*point));
            inside.filter_map(|point| body.distance_to(point)).any(|(depth, _)| depth > mm)
        };
        self.closer_than(other, 0.0) && (deep(self, other) || deep(other, self))
    }

    /// How deep overlapping shapes stand in each other, as a negative gap.
    fn depth_in(&self, other: &Self) -> Gap {
        let deepest = |points: &Self, body: &Self| {
            let inside = points.vertices().filter(|point| body.contains(*point));
            inside
                .filter_map(|point| body.distance_to(point).map(|(mm, way_out)| Gap { mm: -mm, at: (point, way_out) }))
                .reduce(Gap::least)
        };
        let crossing = || Gap { mm: 0.0, at: self.edge_gap(other, f64::INFINITY).at };
        let depth = deepest(self, other).or_else(|| deepest(other, self)).unwrap_or_else(crossing);
        // Where edges run along each other the vertices show nothing: look between them.
        let depth = if depth.overlaps() { depth } else { self.shared(other).map_or(depth, |gap| depth.least(gap)) };
        // Boundaries that cross do overlap, however little of it is seen.
        Gap { mm: depth.mm.min(-1e-9), ..depth }
    }

    /// The deepest of the middles of the stretches that lie in both shapes, along a few level lines.
    fn shared(&self, other: &Self) -> Option<Gap> {
        let both = self.bounds()?.intersect(other.bounds()?);
        let lines = (0..LINES).map(|line| both.y0 + both.height() * (f64::from(line) + 0.5) / f64::from(LINES));
        let middles = lines.flat_map(|y| {
            let theirs = other.spans(y);
            self.spans(y).into_iter().flat_map(move |(from, to)| {
                let common = theirs.iter().map(move |(a, b)| (a.max(from), b.min(to))).filter(|(a, b)| a < b);
                common.map(|(a, b)| Point::new(f64::midpoint(a, b), y)).collect::<Vec<_>>()
            })
        });
        let depths = middles.filter_map(|at| other.distance_to(at).map(|(mm, out)| Gap { mm: -mm, at: (at, out) }));
        depths.reduce(Gap::least)
    }

    /// Whether it lies in `hole`, no edge nearer to an edge than `mm` (0 or more).
    pub(crate) fn lies_clear_in(&self, hole: &Self, mm: f64) -> bool {
        let within = mm.max(1e-9);
        self.edge_gap(hole, within).mm >= within && self.starts.iter().all(|start| hole.contains(*start))
    }

    /// Whether all of it lies in `body`, by more than shapes that touch.
    pub(crate) fn lies_well_in(&self, body: &Self) -> bool {
        self.lies_clear_within(body, TOUCH_MM)
    }

    /// Whether all of it lies in `body`, which has no hole there, no edge nearer to an edge than `mm` (0 or more).
    pub(crate) fn lies_clear_within(&self, body: &Self, mm: f64) -> bool {
        self.lies_clear_in(body, mm) && !body.starts.iter().any(|start| self.contains(*start))
    }

    /// Room round this shape inside `hole`: least gap between the edges, or how far it sticks out, negative.
    pub(crate) fn room_in(&self, hole: &Self) -> Gap {
        if self.is_empty() {
            return Gap::NONE;
        }
        // Where no edges cross, each contour lies inside or outside as a whole.
        let edges = self.edge_gap(hole, f64::INFINITY);
        if edges.mm > 0.0 && self.starts.iter().all(|start| hole.contains(*start)) {
            return edges;
        }
        let outside = self.vertices().filter(|point| !hole.contains(*point));
        let sticking = outside
            .filter_map(|point| hole.distance_to(point).map(|(mm, way_in)| Gap { mm: -mm, at: (point, way_in) }))
            .reduce(Gap::least);
        match sticking {
            Some(gap) => gap,
            None => edges,
        }
    }
}

fn nearest_between(mine: Leaf<'_>, theirs: Leaf<'_>, best: &mut (f64, Gap)) {
    // Leaves that are near one another mostly are so at an end: few of their segments need comparing.
    let mut near = [(Line::new(Point::ZERO, Point::ZERO), Rect::ZERO); FAN];
    let those = theirs.segments.iter().zip(theirs.own).filter(|(_, own)| gap_squared(mine.bounds, **own) < best.0);
    let count = near.iter_mut().zip(those).map(|(place, (line, own))| *place = (*line, *own)).count();
    for (a, bounds) in mine.segments.iter().zip(mine.own) {
        if gap_squared(*bounds, theirs.bounds) >= best.0 {
            continue;
        }
        for (b, their_bounds) in near.iter().take(count) {
            let apart = gap_squared(*bounds, *their_bounds);
            if apart >= best.0 {
                continue;
            }
            if let Some(point) = (apart == 0.0).then(|| meeting(a, b)).flatten() {
                *best = (0.0, Gap { mm: 0.0, at: (point, point) });
                return;
            }
            let mut improve = |at: (Point, Point)| {
                let squared = at.0.distance_squared(at.1);
                if squared < best.0 {
                    *best = (squared, Gap { mm: squared.sqrt(), at });
                }
            };
            improve((a.p0, nearest_on(b, a.p0)));
            improve((nearest_on(a, b.p0), b.p0));
            // On a closed contour a segment's end is where another begins.
            if !mine.closed {
                improve((a.p1, nearest_on(b, a.p1)));
            }
            if !theirs.closed {
                improve((nearest_on(a, b.p1), b.p1));
            }
        }
    }
}
