//! Shapes as straight segments, with one tree of boxes over them. Whatever is measured rather than drawn is asked of these:
//! gaps and depths of overlap, nearest points, what lies near a place or in a box, crossings with rays and circles.
//!
//! A flattened shape knows nothing of booleans or offsets; they are worked out on curves and may ask it whether they are right.

mod contact;
mod gap;
mod nearest;
mod rays;
#[cfg(test)]
mod tests;
mod tree;

pub(crate) use contact::{Angles, first_contact};
pub(crate) use gap::{Gap, TOUCH_MM};

use std::ops::Deref;
use std::sync::{Arc, OnceLock};

use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, Point, Rect};

use super::{Region, Trace, convex};
use tree::Tree;

/// How closely flattened copies follow their curves unless told otherwise, in mm. It is also the error of a gap. Twice this and
/// the tolerance of booleans stay below [`TOUCH_MM`], so that shapes which touch are never said to overlap.
const FINE_MM: f64 = 5e-4;
/// Length of the pieces of a scored line, in mm, and most of them in one straight stretch.
const PIECE_MM: f64 = 0.5;
const PIECES: f64 = 256.0;

/// A shape as straight segments, the inside on their left: closed contours that are filled, or lines. Copies share what they hold.
#[derive(Clone, Debug, Default)]
pub(crate) struct FlattenedShape(Arc<Segments>);

/// What a [`Region`] keeps of its flattened copy: half of what is proven of a shape begins with it.
pub(super) type Kept = OnceLock<FlattenedShape>;

/// What a flattened shape holds.
#[derive(Debug, Default)]
pub(crate) struct Segments {
    /// Contour by contour, each run along. Neighbours in this order lie near one another, so that boxes round a few on end are
    /// small and the tree needs no sorting.
    segments: Vec<Line>,
    tree: Tree,
    /// One vertex of each contour.
    starts: Vec<Point>,
    /// Whether there is an inside; a scored line has none.
    filled: bool,
    hull: OnceLock<Vec<Point>>,
    /// Which segment each contour begins with.
    firsts: OnceLock<Vec<usize>>,
    bands: OnceLock<contact::Bands>,
}

impl PartialEq for FlattenedShape {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.filled == other.filled && self.segments == other.segments
    }
}

impl Deref for FlattenedShape {
    type Target = Segments;

    fn deref(&self) -> &Segments {
        &self.0
    }
}

impl FlattenedShape {
    /// A region, to within [`FINE_MM`]. Worked out once for a region and its copies.
    pub(crate) fn of(region: &Region) -> Self {
        region.kept().get_or_init(|| Self::to_within(region, FINE_MM)).clone()
    }

    /// A region, to within `tolerance` mm.
    pub(crate) fn to_within(region: &Region, tolerance: f64) -> Self {
        Self::closed(region.path(), tolerance)
    }

    /// The boundary of a region alone, as a scored line, to within [`FINE_MM`].
    pub(crate) fn boundary_of(region: &Region) -> Self {
        Self::from_path(region.path(), FINE_MM, false)
    }

    /// A scored line, to within [`FINE_MM`].
    pub(crate) fn of_trace(trace: &Trace) -> Self {
        Self::from_path(trace.path(), FINE_MM, false)
    }

    /// The contours of a path, to within `tolerance` mm; those that are open are closed by a straight segment.
    pub(super) fn closed(path: &BezPath, tolerance: f64) -> Self {
        Self::from_path(path, tolerance, true)
    }

    /// Segments that need not join, with no inside.
    pub(crate) fn of_segments(segments: Vec<Line>) -> Self {
        Self::assembled(segments, Vec::new(), false)
    }

    fn from_path(path: &BezPath, tolerance: f64, filled: bool) -> Self {
        let mut pen = Pen { filled, ..Pen::default() };
        kurbo::flatten(path, tolerance, |element| match element {
            PathEl::MoveTo(point) => pen.begin(point),
            PathEl::LineTo(point) | PathEl::QuadTo(_, point) | PathEl::CurveTo(_, _, point) => pen.line_to(point),
            PathEl::ClosePath => pen.line_to(pen.first),
        });
        pen.end();
        Self::assembled(pen.segments, pen.starts, filled)
    }

    fn assembled(segments: Vec<Line>, starts: Vec<Point>, filled: bool) -> Self {
        Self(Arc::new(Segments {
            tree: Tree::over(&segments),
            segments,
            starts,
            filled,
            hull: OnceLock::new(),
            firsts: OnceLock::new(),
            bands: OnceLock::new(),
        }))
    }

    /// Whether nothing is there.
    pub(crate) fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// The least box that holds it.
    pub(crate) fn bounds(&self) -> Option<Rect> {
        self.tree.root()
    }

    /// Every vertex.
    pub(crate) fn vertices(&self) -> impl Iterator<Item = Point> {
        // On a closed contour a segment's end is where another begins.
        let open: &[Line] = if self.filled { &[] } else { &self.segments };
        self.segments.iter().map(|segment| segment.p0).chain(open.iter().map(|segment| segment.p1))
    }

    /// The corners of its convex hull, counter-clockwise. Worked out once.
    pub(crate) fn hull(&self) -> &[Point] {
        self.hull.get_or_init(|| convex(self.vertices().collect(), |point| *point))
    }

    /// Every segment, contour by contour.
    pub(crate) fn segments(&self) -> &[Line] {
        &self.segments
    }

    /// The segments of each contour.
    pub(crate) fn contours(&self) -> impl Iterator<Item = &[Line]> {
        self.segments.chunk_by(|segment, next| segment.p1 == next.p0)
    }

    /// The segments whose boxes meet this one, in order, contour by contour.
    pub(crate) fn contours_in(&self, spot: Rect) -> Vec<Vec<&Line>> {
        let firsts = self.firsts.get_or_init(|| {
            let ends = self.contours().scan(0, |end, contour| {
                *end += contour.len();
                Some(*end)
            });
            std::iter::once(0).chain(ends).collect()
        });
        let contour = |at: usize| firsts.partition_point(|first| *first <= at);
        let mut found: Vec<(usize, Vec<&Line>)> = Vec::new();
        for at in self.segments_in(spot) {
            let Some(segment) = self.segments.get(at) else { continue };
            match found.last_mut() {
                Some((last, segments)) if *last == contour(at) => segments.push(segment),
                _ => found.push((contour(at), vec![segment])),
            }
        }
        found.into_iter().map(|(_, segments)| segments).collect()
    }

    /// Moved by a rigid map or scaled.
    pub(crate) fn moved(&self, map: Affine) -> Self {
        let segments = self.segments.iter().map(|segment| map * *segment).collect();
        Self::assembled(segments, self.starts.iter().map(|point| map * *point).collect(), self.filled)
    }

    /// Both shapes as one set of contours. Right for gaps where they do not overlap.
    pub(crate) fn joined(&self, other: &Self) -> Self {
        let (segments, starts) = ([&*self.segments, &other.segments].concat(), [&*self.starts, &other.starts].concat());
        Self::assembled(segments, starts, self.filled && other.filled)
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
}

/// Draws the segments of a shape.
#[derive(Default)]
struct Pen {
    segments: Vec<Line>,
    starts: Vec<Point>,
    filled: bool,
    first: Point,
    last: Point,
}

impl Pen {
    fn begin(&mut self, at: Point) {
        self.end();
        self.starts.push(at);
        (self.first, self.last) = (at, at);
    }

    fn end(&mut self) {
        if self.filled {
            self.line_to(self.first);
        }
    }

    fn line_to(&mut self, next: Point) {
        if next != self.last {
            let line = Line::new(self.last, next);
            let pieces = if self.filled { 1 } else { pieces_of(&line) };
            for piece in 1..pieces {
                let to = line.eval(f64::from(piece) / f64::from(pieces));
                self.segments.push(Line::new(self.last, to));
                self.last = to;
            }
            // The ends stay as they are to the last bit, since contours are told by where they join on.
            self.segments.push(Line::new(self.last, next));
            self.last = next;
        }
    }
}

/// In how many pieces a scored line is taken. It has no inside, so how deep it stands in what it crosses is seen at its vertices
/// alone, and a straight line would have but two.
fn pieces_of(line: &Line) -> u32 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a handful")]
    let pieces = ((line.p1 - line.p0).hypot() / PIECE_MM).ceil().clamp(1.0, PIECES) as u32;
    pieces
}
