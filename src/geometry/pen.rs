//! Draws closed outlines of straight lines and circular arcs.

use std::f64::consts::FRAC_PI_4;

use kurbo::{BezPath, PathEl, Point, Vec2};

/// How far a drawn arc may stray from the true circle, in mm.
const ARC_MM: f64 = 1e-5;
/// How far one cubic strays from an eighth of the unit circle.
const EIGHTH_ERROR: f64 = 4.3e-6;
/// Points closer than this are the same, in mm.
const SAME_MM: f64 = 1e-9;

/// Draws one closed contour.
pub(super) struct Pen {
    path: BezPath,
    start: Point,
    at: Point,
}

impl Pen {
    /// Sets the pen down.
    pub(super) fn at(start: Point) -> Self {
        Self { path: BezPath::from_vec(vec![PathEl::MoveTo(start)]), start, at: start }
    }

    /// A straight line, unless the pen is there already.
    pub(super) fn line_to(&mut self, end: Point) {
        if self.at.distance(end) > SAME_MM {
            self.path.line_to(end);
            self.at = end;
        }
    }

    /// An arc from where the pen is, about `centre`, through `sweep` radians (positive is counter-clockwise).
    ///
    /// The area under each cubic is exactly the arc's: the handles solve
    /// `3 sin(t) k^2 - 12 (1 - cos(t)) k + 10 (t - sin(t)) = 0`, which follows from Green's theorem.
    pub(super) fn arc(&mut self, centre: Point, sweep: f64) {
        let mut spoke = self.at - centre;
        let step_largest = FRAC_PI_4 * (ARC_MM / (EIGHTH_ERROR * spoke.hypot())).powf(1.0 / 6.0).min(1.0);
        let steps = (sweep.abs() / step_largest - 1e-9).ceil().max(1.0);
        let step = sweep / steps;
        let handle = arc_handle(step);
        let (sin, cos) = step.sin_cos();
        for _ in 0..steps as usize {
            let next = Vec2::new(spoke.x * cos - spoke.y * sin, spoke.x * sin + spoke.y * cos);
            let (p1, p2) = (spoke + across(spoke) * handle, next - across(next) * handle);
            self.at = centre + next;
            self.path.curve_to(centre + p1, centre + p2, self.at);
            spoke = next;
        }
    }

    /// Ends the contour exactly where it began.
    pub(super) fn close(mut self) -> BezPath {
        if self.at.distance(self.start) > 1e-6 {
            self.path.line_to(self.start);
        } else if let Some(PathEl::LineTo(end) | PathEl::CurveTo(_, _, end)) = self.path.elements_mut().last_mut() {
            *end = self.start;
        }
        self.path.close_path();
        self.path
    }
}

/// A quarter turn counter-clockwise.
fn across(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// Length of the handles of a cubic for an arc of the unit circle.
fn arc_handle(step: f64) -> f64 {
    if step.abs() < 0.02 {
        return 4.0 / 3.0 * (step / 4.0).tan();
    }
    let (sin, cos) = step.sin_cos();
    let rise = 12.0 * (1.0 - cos);
    let under = (rise * rise - 120.0 * sin * (step - sin)).max(0.0);
    (rise - under.sqrt()) / (6.0 * sin)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{ParamCurve, Shape};
    use std::f64::consts::{PI, TAU};

    /// How far a path strays from a circle about the origin at most.
    fn stray(path: &BezPath, radius: f64) -> f64 {
        let places = path.segments().filter(|segment| matches!(segment, kurbo::PathSeg::Cubic(_)));
        let places = places.flat_map(|segment| (0..=40).map(move |at| segment.eval(f64::from(at) / 40.0)));
        places.map(|place| (place.to_vec2().hypot() - radius).abs()).fold(0.0, f64::max)
    }

    /// The slice of a disc, `r² sweep / 2`; the arc within 10 nm of the circle, and with a segment less it would not be: the
    /// error of a cubic goes with the sixth power of its sweep.
    #[test]
    fn arcs_cover_their_slice_with_no_more_segments_than_it_takes() {
        for radius in [0.3, 2.0, 30.0, 400.0, 20_000.0] {
            for sweep in [1e-3, 0.019, 0.021, 0.3, 1.0, PI / 2.0, PI, 4.0, TAU] {
                for sweep in [sweep, -sweep] {
                    let mut pen = Pen::at(Point::ORIGIN);
                    pen.line_to(Point::new(0.0, radius));
                    pen.arc(Point::ORIGIN, sweep);
                    let arcs = pen.path.segments().count() - 1;
                    let path = pen.close();
                    let slice = radius * radius * sweep / 2.0;
                    assert!((path.area() - slice).abs() < 1e-9 * slice.abs(), "{radius} {sweep}: {}", path.area());
                    let strays = stray(&path, radius);
                    assert!(strays < 1e-5, "{radius} {sweep}: {strays}");
                    #[allow(clippy::cast_precision_loss, reason = "few")]
                    let fewer = (arcs as f64 / (arcs as f64 - 1.0)).powi(6) * strays;
                    let eighths = (sweep.abs() / FRAC_PI_4 - 1e-9).ceil().max(1.0);
                    assert!(arcs as f64 <= eighths || fewer > 0.9e-5, "{radius} {sweep}: {arcs} arcs, {fewer}");
                }
            }
        }
    }

    #[test]
    fn a_contour_ends_where_it_began() {
        let mut pen = Pen::at(Point::new(1.0, 2.0));
        pen.line_to(Point::new(1.0, 2.0));
        pen.line_to(Point::new(4.0, 2.0));
        pen.line_to(Point::new(4.0, 2.0 + 1e-10));
        pen.line_to(Point::new(4.0, 6.0));
        let path = pen.close();
        assert_eq!(path.elements().len(), 5, "one move, two lines, the line back and the end: {path:?}");
        assert_eq!(path.area(), 6.0);
        // An end that is off by rounding alone is put where the contour began, and takes no line of its own.
        let mut pen = Pen::at(Point::new(0.0, 2.0));
        pen.arc(Point::ORIGIN, TAU);
        let path = pen.close();
        assert_eq!(path.segments().last().map(|segment| segment.end()), Some(Point::new(0.0, 2.0)));
        assert_eq!(path.segments().count(), 8);
    }
}
