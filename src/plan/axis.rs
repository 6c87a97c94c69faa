//! The line about which a part is turned over into its own opening.

use crate::geometry::{Region, Symmetry};
use crate::units::Angle;

/// An outline may differ from its mirror image by this much, in mm, and still count as symmetric: what the
/// geometry rounds off, and far less than a kerf.
pub(super) const SYMMETRY_MM: f64 = 0.01;

/// The axis of symmetry of a tool path that is easiest to turn about: upright, level, else the smallest.
pub(super) fn flip_axis(tool: &Region) -> Option<Angle> {
    let easy = [Angle::ZERO, Angle::degrees(90.0)];
    let found = easy.into_iter().find(|axis| tool.is_symmetric_about(*axis, SYMMETRY_MM));
    found.or_else(|| match tool.symmetry_axes() {
        Symmetry::Every => Some(Angle::ZERO),
        Symmetry::Axes(axes) => axes.first().copied(),
    })
}
