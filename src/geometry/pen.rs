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
