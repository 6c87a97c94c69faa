//! Filled regions bounded by curves.

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape};

use super::GeometryError;
use super::flattened::Kept;
use crate::limits::SIZE_MM;
use crate::work::spend_on;

/// Which side of overlapping contours is inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// Inside where an odd number of contours wind round.
    EvenOdd,
    /// Inside where the windings do not cancel.
    NonZero,
}

/// A filled area: any number of pieces, each with any number of holes.
///
/// Always finite, every contour closed, no two contours crossing; outer contours run counter-clockwise
/// (positive area, y up), holes clockwise.
#[derive(Clone, Default)]
pub struct Region {
    path: BezPath,
    /// Its flattened copy, once it was asked for.
    flattened: Kept,
}

impl PartialEq for Region {
    fn eq(&self, other: &Self) -> bool {
        self.path == other.path
    }
}

impl std::fmt::Debug for Region {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Region").field("path", &self.path).finish()
    }
}

impl Region {
    /// Nothing.
    pub fn empty() -> Self {
        Self::default()
    }

    /// That a path lies within the limit on size.
    ///
    /// # Errors
    /// Those of [`Region::from_path`].
    pub(crate) fn in_range(path: &BezPath) -> Result<(), GeometryError> {
        let limit = Rect::new(-SIZE_MM, -SIZE_MM, SIZE_MM, SIZE_MM);
        let holds = path.is_empty() || (path.is_finite() && limit.contains_rect(path.bounding_box()));
        if holds { Ok(()) } else { Err(GeometryError::OutOfRange) }
    }

    /// Takes a path whose contours are already closed, apart and rightly wound.
    pub(crate) fn trusted(path: BezPath) -> Self {
        Self { path, flattened: Kept::default() }
    }

    /// What [`FlattenedShape::of`](super::FlattenedShape::of) keeps.
    pub(super) fn kept(&self) -> &Kept {
        &self.flattened
    }

    /// The boundary.
    pub fn path(&self) -> &BezPath {
        &self.path
    }

    /// Whether nothing is inside.
    pub fn is_empty(&self) -> bool {
        self.path.is_empty()
    }

    /// Each contour by itself, outer ones and holes.
    pub fn contours(&self) -> Vec<BezPath> {
        let mut contours: Vec<BezPath> = Vec::new();
        for element in self.path.elements() {
            match (element, contours.last_mut()) {
                (PathEl::MoveTo(_), _) | (_, None) => contours.push(BezPath::from_vec(vec![*element])),
                (_, Some(contour)) => contour.push(*element),
            }
        }
        contours
    }

    /// Moved, turned, scaled or mirrored. The map must be invertible.
    #[must_use]
    pub fn transformed(&self, map: Affine) -> Self {
        spend_on(self.path.elements().len(), 20);
        let moved = map * &self.path;
        Self::trusted(if map.determinant() < 0.0 { moved.reverse_subpaths() } else { moved })
    }

    /// The least box that holds it; none where empty.
    pub fn bounds(&self) -> Option<Rect> {
        (!self.is_empty()).then(|| self.path.bounding_box())
    }

    /// Whether the point is inside.
    pub fn contains(&self, point: Point) -> bool {
        spend_on(self.path.elements().len(), 40);
        self.path.winding(point) != 0
    }
}
