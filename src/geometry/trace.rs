//! Open lines: scored, never filled.

use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, Point, Rect, Shape};

use super::{FlattenedShape, GeometryError, Region};
use crate::limits::SIZE_MM;

/// How closely straight pieces follow their curves, in mm: a scored line is a hundred times as wide.
const FINE_MM: f64 = 5e-4;

/// One or more lines.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    path: BezPath,
}

impl Trace {
    /// The lines of a path, as they are.
    pub fn from_path(path: BezPath) -> Self {
        Self { path }
    }

    /// Straight lines from point to point, in mm.
    ///
    /// # Errors
    /// [`GeometryError::TooFew`] under two different points, [`GeometryError::OutOfRange`].
    pub fn line(points: &[Point]) -> Result<Self, GeometryError> {
        if points.iter().any(|point| !point.is_finite() || point.x.abs().max(point.y.abs()) > SIZE_MM) {
            return Err(GeometryError::OutOfRange);
        }
        let mut path = BezPath::new();
        let mut at = None;
        for point in points.iter().filter(|point| at.replace(**point) != Some(**point)) {
            path.push(if path.elements().is_empty() { PathEl::MoveTo(*point) } else { PathEl::LineTo(*point) });
        }
        let distinct = path.elements().len();
        if distinct < 2 {
            #[allow(clippy::cast_precision_loss, reason = "0 or 1")]
            return Err(GeometryError::TooFew { what: "points", value: distinct as f64, least: 2.0 });
        }
        Ok(Self { path })
    }

    /// The lines.
    pub fn path(&self) -> &BezPath {
        &self.path
    }

    /// Moved, turned, scaled or mirrored.
    #[must_use]
    pub fn transformed(&self, map: Affine) -> Self {
        Self { path: map * &self.path }
    }

    /// What of the lines lies in a region: straight pieces that follow curves to within [`FINE_MM`].
    #[must_use]
    pub fn within(&self, region: &Region) -> Self {
        let hole = FlattenedShape::of(region);
        let (mut path, mut at) = (BezPath::new(), None);
        for line in flat(&self.path) {
            let crossed = hole.segments_in(line.bounding_box()).filter_map(|at| hole.segments().get(at));
            let mut cuts: Vec<f64> = crossed.filter_map(|edge| crossing(line, *edge)).chain([0.0, 1.0]).collect();
            cuts.sort_by(f64::total_cmp);
            for (from, to) in cuts.iter().zip(cuts.iter().skip(1)).filter(|(from, to)| to > from) {
                if hole.contains(line.eval(f64::midpoint(*from, *to))) {
                    let (start, end) = (line.eval(*from), line.eval(*to));
                    if at != Some(start) {
                        path.move_to(start);
                    }
                    path.line_to(end);
                    at = Some(end);
                }
            }
        }
        Self { path }
    }

    /// How long the lines are together, in mm.
    pub fn length(&self) -> f64 {
        self.path.segments().map(|segment| kurbo::ParamCurveArclen::arclen(&segment, 1e-6)).sum()
    }

    /// The least box that holds them; none where empty.
    pub fn bounds(&self) -> Option<Rect> {
        (!self.path.is_empty()).then(|| self.path.bounding_box())
    }
}

/// A path as straight lines, each contour closed where it says so.
fn flat(path: &BezPath) -> Vec<Line> {
    let (mut lines, mut first, mut at) = (Vec::new(), Point::ZERO, Point::ZERO);
    kurbo::flatten(path, FINE_MM, |element| {
        let to = match element {
            PathEl::MoveTo(to) => {
                (first, at) = (to, to);
                return;
            }
            PathEl::LineTo(to) | PathEl::QuadTo(_, to) | PathEl::CurveTo(_, _, to) => to,
            PathEl::ClosePath => first,
        };
        lines.push(Line::new(at, to));
        at = to;
    });
    lines
}

/// Where along a line, from 0 to 1, another one crosses it.
fn crossing(line: Line, other: Line) -> Option<f64> {
    let (along, across) = (line.p1 - line.p0, other.p1 - other.p0);
    let turn = along.cross(across);
    let between = other.p0 - line.p0;
    let (here, there) = (between.cross(across) / turn, between.cross(along) / turn);
    let is_on = |part: f64| (0.0..=1.0).contains(&part);
    (is_on(here) && is_on(there)).then_some(here)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::circle;

    /// A line through a disc of 10 keeps its chord, a circle about a point of its rim the arc inside: two thirds of pi of its radius.
    #[test]
    fn lines_are_cut_off_at_the_edge_of_a_region() {
        let disc = circle(10.0).unwrap();
        let line = Trace::line(&[Point::new(-20.0, 6.0), Point::new(20.0, 6.0)]).unwrap();
        let chord = line.within(&disc);
        assert!((chord.length() - 16.0).abs() < 1e-3, "{}", chord.length());
        let ring = Trace::from_path(circle(10.0).unwrap().path().clone());
        let moved = ring.transformed(Affine::translate((10.0, 0.0))).within(&disc);
        assert!((moved.length() - 20.0 * std::f64::consts::PI / 3.0).abs() < 0.01, "{}", moved.length());
        assert_eq!(line.transformed(Affine::translate((0.0, 9.0))).within(&disc).path().elements().len(), 0);
        // What lies inside is left as long as it is, and in one piece.
        let inside = ring.transformed(Affine::scale(0.5)).within(&disc);
        assert!((inside.length() - 10.0 * std::f64::consts::PI).abs() < 0.01);
        assert_eq!(inside.path().elements().iter().filter(|it| matches!(it, PathEl::MoveTo(_))).count(), 1);
    }
}
