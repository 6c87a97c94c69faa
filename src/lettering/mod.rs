//! Text to outlines: shaping, setting in lines, letters along an arc. Pure: font bytes in, regions out.
//!
//! The height of lettering is its cap height: a capital `H` comes out exactly that high, and so do lining
//! numerals, apart from the overshoot that round ones have by design. Accents stand above it and tails hang
//! below it. Everything is in millimetres, y up, and every curve of the font stays a curve.

mod arc;
mod bidi;
mod contours;
mod setting;
pub mod single_stroke;
mod stencil;
mod strokes;
mod typeface;

pub(crate) use contours::filled;

pub use arc::{Arc, Facing, place_label, placing};
pub use setting::{Align, Setting, Word};
pub use stencil::bridged;
pub use typeface::{Glyph, NotAFont, Typeface};

use crate::geometry::GeometryError;

/// Why a text cannot be set.
#[derive(Clone, Debug, PartialEq)]
pub enum LetteringError {
    /// The typeface has no glyph for these characters, each named once, in the order met.
    MissingCharacters {
        /// The characters.
        characters: Vec<char>,
        /// The typeface's name.
        typeface: String,
    },
    /// Nothing in the text leaves a mark: it is empty, or all spaces.
    Blank,
    /// A size that cannot be, or an outline that leaves the drawing.
    Geometry(GeometryError),
    /// The text is longer than the circle it should run along.
    LongerThanCircle {
        /// Length of the text, in mm.
        length_mm: f64,
        /// Circumference at the middle of the letters, in mm.
        circumference_mm: f64,
    },
    /// A line under a text that bends.
    BentUnderline,
    /// More outline than [`crate::limits::SEGMENTS`] allows in one region.
    TooMuch,
    /// The font's own tables are broken, so that the text cannot be shaped or a glyph not drawn.
    BrokenFont {
        /// The typeface's name.
        typeface: String,
    },
}

impl From<GeometryError> for LetteringError {
    fn from(error: GeometryError) -> Self {
        Self::Geometry(error)
    }
}
