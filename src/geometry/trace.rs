//! Open lines: scored, never filled.

use kurbo::{Affine, BezPath, Cap, Join, PathEl, Point, Rect, Shape, Stroke, StrokeOpts};

use super::segment::meeting;
use super::{FlattenedShape, GeometryError, Region, Rule};
use crate::limits::SIZE_MM;

/// How closely the edge of what is burnt along a line is followed, in mm.
const BURNT_MM: f64 = 1e-3;

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

    /// What of the lines lies in a region: straight pieces that follow curves to within half a micrometre.
    #[must_use]
    pub fn within(&self, region: &Region) -> Self {
        let hole = FlattenedShape::of(region);
        let (mut path, mut at) = (BezPath::new(), None);
        for line in FlattenedShape::of_trace(self).segments() {
            let crossed = hole.segments_in(line.bounding_box()).filter_map(|at| hole.segments().get(at));
            // A line's own ends as they are, so that it joins the next one.
            let mut cuts: Vec<Point> =
                crossed.filter_map(|edge| meeting(line, edge)).chain([line.p0, line.p1]).collect();
            let along = |place: &Point| place.distance_squared(line.p0);
            cuts.sort_by(|one, other| along(one).total_cmp(&along(other)));
            for (from, to) in cuts.iter().zip(cuts.iter().skip(1)).filter(|(from, to)| from != to) {
                if hole.contains(from.midpoint(*to)) {
                    if at != Some(*from) {
                        path.move_to(*from);
                    }
                    path.line_to(*to);
                    at = Some(*to);
                }
            }
        }
        Self { path }
    }

    /// What a round beam of this diameter in mm burns along the lines.
    ///
    /// # Errors
    /// [`GeometryError::OutOfRange`], [`GeometryError::NotPositive`].
    pub fn burnt(&self, width_mm: f64) -> Result<Region, GeometryError> {
        if width_mm <= 0.0 {
            return Err(GeometryError::NotPositive { what: "width", value: width_mm });
        }
        let style = Stroke::new(width_mm).with_caps(Cap::Round).with_join(Join::Round);
        Region::from_path(&kurbo::stroke(self.path.iter(), &style, &StrokeOpts::default(), BURNT_MM), Rule::NonZero)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::circle;

    /// A line of 10 mm burns an obround: 10 w + pi w^2 / 4. A circle of radius 5 burns a ring: 10 pi w.
    #[test]
    fn a_beam_burns_a_band_along_its_line() {
        let line = Trace::line(&[Point::new(0.0, 0.0), Point::new(6.0, 8.0)]).unwrap();
        let round = Trace::from_path(circle(5.0).unwrap().path().clone());
        for width in [0.1, 0.16, 2.0] {
            let band = line.burnt(width).unwrap();
            let wanted = 10.0 * width + std::f64::consts::PI * width * width / 4.0;
            assert!((band.area() - wanted).abs() < 2e-3, "{width}: {} {wanted}", band.area());
            assert!((round.burnt(width).unwrap().area() - 10.0 * std::f64::consts::PI * width).abs() < 0.03, "{width}");
            assert!(band.contains(Point::new(3.0, 4.0)) && !round.burnt(width).unwrap().contains(Point::ZERO));
        }
        // Where lines cross they burn once: two bars of 4 by 1 with round ends, less the square they share.
        let mut cross = kurbo::BezPath::new();
        for (from, to) in [((-2.0, 0.0), (2.0, 0.0)), ((0.0, -2.0), (0.0, 2.0))] {
            cross.move_to(from);
            cross.line_to(to);
        }
        let burnt = Trace::from_path(cross).burnt(1.0).unwrap();
        assert!((burnt.area() - (2.0 * (4.0 + std::f64::consts::PI / 4.0) - 1.0)).abs() < 5e-3, "{}", burnt.area());
        assert!(line.burnt(0.0).is_err());
    }

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
