//! Open lines: scored, never filled.

use kurbo::{Affine, BezPath, Rect, Shape};

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
