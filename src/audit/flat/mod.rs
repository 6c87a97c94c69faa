//! Flattened copies of regions, arranged so that gaps between them are found fast.
//!
//! Segments are kept in bunches with a box each, and bunches in groups with a box each; what cannot be nearer than
//! the best found so far is never looked at. Flattening follows curves to within [`FINE_MM`], which is also the error of a gap.

mod bunch;
mod gap;
#[cfg(test)]
mod tests;

pub(crate) use gap::{Gap, TOUCH_MM};

use bunch::{BUNCH, nearest_in};

use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, Point, Rect};

use crate::geometry::boxes::{self, gap_squared};
use crate::geometry::{Edge, Region, Trace};

/// How closely flattened copies follow their curves, in mm.
pub(crate) const FINE_MM: f64 = 5e-4;
/// Length of the pieces of a scored line, in mm, and most of them in one straight stretch.
const PIECE_MM: f64 = 0.5;
const PIECES: f64 = 256.0;

/// A shape as straight segments.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flat {
    segments: Vec<Line>,
    /// The box of each segment, of each bunch of them, and of each group of bunches.
    own: Vec<Rect>,
    boxes: Vec<Rect>,
    groups: Vec<Rect>,
    /// One vertex of each contour.
    starts: Vec<Point>,
    /// Whether there is an inside; a scored line has none.
    filled: bool,
    bounds: Option<Rect>,
}

impl Flat {
    /// A region, to within [`FINE_MM`].
    pub(crate) fn of(region: &Region) -> Self {
        Self::from_path(region.path(), FINE_MM, true)
    }

    /// A region, to within `tolerance` mm.
    pub(crate) fn rough(region: &Region, tolerance: f64) -> Self {
        Self::from_path(region.path(), tolerance, true)
    }

    /// The boundary of a region alone, as a scored line.
    pub(crate) fn edge_of(region: &Region) -> Self {
        Self::from_path(region.path(), FINE_MM, false)
    }

    /// A scored line.
    pub(crate) fn of_trace(trace: &Trace) -> Self {
        Self::from_path(trace.path(), FINE_MM, false)
    }

    fn from_path(path: &BezPath, tolerance: f64, filled: bool) -> Self {
        let (mut segments, mut starts) = (Vec::new(), Vec::new());
        let (mut first, mut last) = (Point::ZERO, Point::ZERO);
        kurbo::flatten(path, tolerance, |element| {
            let next = match element {
                PathEl::MoveTo(point) => {
                    starts.push(point);
                    (first, last) = (point, point);
                    return;
                }
                PathEl::LineTo(point) | PathEl::QuadTo(_, point) | PathEl::CurveTo(_, _, point) => point,
                PathEl::ClosePath => first,
            };
            if next != last {
                let line = Line::new(last, next);
                let pieces = if filled { 1 } else { pieces_of(&line) };
                // The ends stay as they are to the last bit, since contours are told by where they join on.
                let inner = (1..pieces).map(|piece| line.eval(f64::from(piece) / f64::from(pieces)));
                let mut from = last;
                for to in inner.chain([next]) {
                    segments.push(Line::new(from, to));
                    from = to;
                }
            }
            last = next;
        });
        Self::assembled(segments, starts, filled)
    }

    fn assembled(segments: Vec<Line>, starts: Vec<Point>, filled: bool) -> Self {
        let own: Vec<Rect> = segments.iter().map(|line| boxes::between(line.p0, line.p1)).collect();
        let united = |boxes: &[Rect]| boxes.iter().copied().reduce(boxes::united);
        let boxes: Vec<Rect> = own.chunks(BUNCH).filter_map(united).collect();
        let groups: Vec<Rect> = boxes.chunks(BUNCH).filter_map(united).collect();
        let bounds = united(&groups);
        Self { segments, own, boxes, groups, starts, filled, bounds }
    }

    /// Whether there is an inside.
    pub(crate) fn is_filled(&self) -> bool {
        self.filled
    }

    /// Whether nothing is there.
    pub(crate) fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// The least box that holds it.
    pub(crate) fn bounds(&self) -> Option<Rect> {
        self.bounds
    }

    /// Every vertex.
    pub(crate) fn vertices(&self) -> impl Iterator<Item = Point> {
        // On a closed contour a segment's end is where another begins.
        let open: &[Line] = if self.filled { &[] } else { &self.segments };
        self.segments.iter().map(|segment| segment.p0).chain(open.iter().map(|segment| segment.p1))
    }

    /// Every segment, contour by contour.
    pub(crate) fn segments(&self) -> &[Line] {
        &self.segments
    }

    /// Moved by a rigid map or scaled.
    pub(crate) fn moved(&self, map: Affine) -> Self {
        let segments = self.segments.iter().map(|line| map * *line).collect();
        Self::assembled(segments, self.starts.iter().map(|point| map * *point).collect(), self.filled)
    }

    /// Both shapes as one set of contours. Right for gaps where they do not overlap.
    pub(crate) fn joined(mut self, other: &Self) -> Self {
        self.segments.extend_from_slice(&other.segments);
        self.starts.extend_from_slice(&other.starts);
        Self::assembled(self.segments, self.starts, self.filled && other.filled)
    }

    /// Distance of the farthest point from `centre`, in mm; 0 where empty.
    pub(crate) fn reach(&self, centre: Point) -> f64 {
        self.vertices().map(|point| point.distance(centre)).fold(0.0, f64::max)
    }

    /// Least and greatest distance of its points from the turning axis, in mm; none where empty.
    pub(crate) fn annulus(&self) -> Option<(f64, f64)> {
        let nearest = if self.contains(Point::ZERO) { 0.0 } else { self.distance_to(Point::ZERO)?.0 };
        Some((nearest, self.reach(Point::ZERO)))
    }

    /// Whether the point is inside.
    pub(crate) fn contains(&self, point: Point) -> bool {
        if !self.filled || !self.bounds.is_some_and(|bounds| bounds.contains(point)) {
            return false;
        }
        let to_the_right = |bounds: Rect| bounds.y0 <= point.y && point.y <= bounds.y1 && point.x <= bounds.x1;
        let mut winding = 0;
        for (_, bunches) in self.groups().filter(|(group, _)| to_the_right(*group)) {
            let bunches = bunches.filter(|bunch| to_the_right(bunch.bounds));
            winding += bunches.flat_map(|bunch| bunch.lines).map(|line| Edge::from(line).passes(point)).sum::<i32>();
        }
        winding != 0
    }

    /// Distance from a point to the boundary and the nearest point there; none where empty.
    pub(crate) fn distance_to(&self, point: Point) -> Option<(f64, Point)> {
        let spot = boxes::between(point, point);
        let mut best = (f64::INFINITY, Point::ZERO);
        nearest_in(self.guess(spot)?.lines, point, &mut best);
        for (group, bunches) in self.groups() {
            if gap_squared(spot, group) >= best.0 {
                continue;
            }
            for bunch in bunches {
                if gap_squared(spot, bunch.bounds) < best.0 {
                    nearest_in(bunch.lines, point, &mut best);
                }
            }
        }
        Some((best.0.sqrt(), best.1))
    }
}

/// In how many pieces a scored line is taken, so that its vertices show how deep it stands in what it crosses.
fn pieces_of(line: &Line) -> u32 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a handful")]
    let pieces = ((line.p1 - line.p0).hypot() / PIECE_MM).ceil().clamp(1.0, PIECES) as u32;
    pieces
}
