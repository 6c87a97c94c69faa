//! Shapes and what can be asked of them. Pure: no text, no files, no findings.
//!
//! Millimetres, y up. Every curve stays a curve through every operation; only distances, swept radii and
//! hulls look at a flattened copy (`FlattenedShape`), and say how fine it is.

mod bay;
mod boolean;
mod boxes;
mod contour_text;
mod corners;
mod crossings;
mod distance;
mod flattened;
mod hausdorff;
mod hull;
mod measure;
mod offset;
pub(crate) mod path_data;
mod pen;
mod pieces;
mod region;
mod rings;
mod second_engine;
mod segment;
pub mod shapes;
mod simple;
mod skeleton;
mod symmetry;
mod trace;
mod web;

pub use bay::Bay;
pub(crate) use contour_text::contours;
pub use distance::Nearest;
pub(crate) use flattened::{Angles, FlattenedShape, Gap, TOUCH_MM, first_contact};
pub(crate) use hull::convex;
pub use hull::hull;
pub use region::{Region, Rule};
pub(crate) use skeleton::{Skeleton, Tip, is_wide, web_in};
pub use symmetry::Symmetry;
pub use trace::Trace;

use crate::units::Angle;
use kurbo::{Affine, Point, Vec2};

/// Curves are followed to within this distance, in mm.
pub const TOLERANCE_MM: f64 = 1e-4;
/// Pieces smaller than this are slivers left by coincident edges, in mm².
pub const SLIVER_MM2: f64 = 1e-3;

/// So many directions evenly round, from that of x on, counter-clockwise.
pub(crate) fn evenly(count: u32) -> impl Iterator<Item = Vec2> {
    (0..count).map(move |at| Vec2::from_angle(std::f64::consts::TAU * f64::from(at) / f64::from(count)))
}

/// The point at `radius` mm from the axis on a bearing (clockwise from the top).
pub fn polar(radius_mm: f64, bearing: Angle) -> Point {
    let (sin, cos) = bearing.as_radians().sin_cos();
    Point::new(radius_mm * sin, radius_mm * cos)
}

/// Turns about the axis, clockwise seen from the front.
pub fn turn(by: Angle) -> Affine {
    Affine::rotate(-by.as_radians())
}

/// Mirrors about the line through the axis at a bearing.
pub fn mirror(about: Angle) -> Affine {
    turn(about) * Affine::FLIP_X * turn(-about)
}

/// Why a shape cannot be made. Figures in mm or as counts; the caller knows where it was asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GeometryError {
    /// A size that must be above zero is not.
    NotPositive {
        /// Which size.
        what: &'static str,
        /// Its value in mm (or a count).
        value: f64,
    },
    /// A corner radius does not fit the shape.
    CornerTooLarge {
        /// Wanted, in mm.
        corner: f64,
        /// Largest that fits, in mm.
        largest: f64,
    },
    /// Too few sides, points or lobes.
    TooFew {
        /// Which count.
        what: &'static str,
        /// Given.
        value: f64,
        /// Needed.
        least: f64,
    },
    /// A size must be smaller than another.
    TooLarge {
        /// Which size.
        what: &'static str,
        /// Given, in mm.
        value: f64,
        /// It must stay below this, in mm.
        below: f64,
    },
    /// A closed path crosses itself here.
    CrossesItself {
        /// Where, in mm.
        at: Point,
    },
    /// Path data that cannot be read, at this byte.
    BadPathData {
        /// Offset of the fault.
        offset: usize,
    },
    /// A path that must be closed is open.
    NotClosed,
    /// Nothing is left.
    Empty,
    /// More path segments than [`crate::limits::SEGMENTS`].
    TooDetailed,
    /// A coordinate is not a finite number, or larger than [`crate::limits::SIZE_MM`].
    OutOfRange,
}
