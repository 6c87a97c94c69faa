//! Open lines: scored, never filled.

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape};

use super::GeometryError;
use crate::limits::SIZE_MM;

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

    /// How long the lines are together, in mm.
    pub fn length(&self) -> f64 {
        self.path.segments().map(|segment| kurbo::ParamCurveArclen::arclen(&segment, 1e-6)).sum()
    }

    /// The least box that holds them; none where empty.
    pub fn bounds(&self) -> Option<Rect> {
        (!self.path.is_empty()).then(|| self.path.bounding_box())
    }
}
