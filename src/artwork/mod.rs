//! Pictures to filled regions. Pure: file bytes in, regions out; nothing a picture refers to is ever fetched.
//!
//! Engraving knows two tones. A paint counts as dark, and is engraved, where its relative luminance (W3C WCAG
//! 2.2) on a white ground is below one half; a lighter paint cuts what it covers out of the dark below it, so
//! that a picture which looks black on white comes out as it looks.

mod outline;
mod paint;
mod survey;
mod svg;

pub use svg::art_from_svg;

use std::fmt;

use kurbo::{Affine, Point};

use crate::geometry::{GeometryError, Region};
use crate::limits::SIZE_MM;

/// A picture in two tones.
#[derive(Clone, Debug, PartialEq)]
pub struct Art {
    /// What is dark, in mm, y up.
    pub ink: Region,
    /// Every colour that was painted with, as red, green, blue, in order and once each.
    pub colours: Vec<[u8; 3]>,
    /// What could not be taken as drawn, once each.
    pub dropped: Vec<Dropped>,
    /// The middle of its page.
    pub middle: Point,
}

impl Art {
    /// The same picture this high, centred on the middle of its ink's box.
    ///
    /// # Errors
    /// [`ArtError::Geometry`] for a height that is not above zero, or beyond the limit.
    pub fn scaled_to_height(&self, height_mm: f64) -> Result<Self, ArtError> {
        if height_mm.is_nan() || height_mm <= 0.0 {
            return Err(GeometryError::NotPositive { what: "height", value: height_mm }.into());
        }
        let scale = self.ink.bounds().map_or(1.0, |bounds| height_mm / bounds.height());
        let centred = self.centred();
        let width = centred.ink.bounds().map_or(0.0, |bounds| bounds.width() * scale);
        if !scale.is_finite() || height_mm > SIZE_MM || width > SIZE_MM {
            return Err(GeometryError::OutOfRange.into());
        }
        Ok(Self { ink: centred.ink.transformed(Affine::scale(scale)), ..centred })
    }

    /// The same picture, kept where it stands on its page, the middle of the page at the origin; this high, or at its
    /// own size where no height is given.
    ///
    /// # Errors
    /// As [`Art::scaled_to_height`].
    pub fn in_place(&self, height_mm: Option<f64>) -> Result<Self, ArtError> {
        let scale = match (height_mm, self.ink.bounds()) {
            (Some(height), Some(bounds)) => {
                self.scaled_to_height(height)?;
                height / bounds.height()
            }
            _ => 1.0,
        };
        let map = Affine::scale(scale) * Affine::translate(-self.middle.to_vec2());
        Ok(Self { ink: self.ink.transformed(map), middle: Point::ZERO, ..self.clone() })
    }

    /// The same picture, at its own size, centred on the middle of its ink's box.
    #[must_use]
    pub fn centred(&self) -> Self {
        let middle = self.ink.bounds().map_or(Point::ZERO, |bounds| bounds.center());
        Self { ink: self.ink.transformed(Affine::translate(-middle.to_vec2())), ..self.clone() }
    }
}

/// Why there is no picture.
#[derive(Clone, Debug, PartialEq)]
pub enum ArtError {
    /// Larger than [`crate::limits::ART_BYTES`].
    TooLarge {
        /// Its size in bytes.
        bytes: usize,
    },
    /// The file cannot be read as what it should be.
    Unreadable {
        /// What is wrong, with line and column where known.
        why: String,
    },
    /// No drawn element has this id.
    NoSuchPart {
        /// The id asked for.
        part: String,
        /// The ids there are, in the order drawn.
        parts: Vec<String>,
    },
    /// Nothing in it is dark.
    Nothing {
        /// What could not be taken.
        dropped: Vec<Dropped>,
    },
    /// More outline than [`crate::limits::SEGMENTS`] allows in one region.
    TooMuch,
    /// A size that cannot be, or an outline that leaves the drawing.
    Geometry(GeometryError),
}

impl From<GeometryError> for ArtError {
    fn from(error: GeometryError) -> Self {
        Self::Geometry(error)
    }
}

/// Something in a picture that was not taken as drawn.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dropped {
    /// What it is.
    pub what: Untaken,
    /// The id of the element it is on; empty where it has none.
    pub on: String,
}

/// As a noun with its article, and the element's id in backticks where it has one.
impl fmt::Display for Dropped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.what.described())?;
        if self.on.is_empty() { Ok(()) } else { write!(f, " on `{}`", self.on) }
    }
}

/// What cannot be taken from a picture, or not as drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Untaken {
    /// A gradient; what it paints is left out.
    Gradient,
    /// A pattern; what it paints is left out.
    Pattern,
    /// A mask; what it masks is left out.
    Mask,
    /// A filter; what it changes is taken unchanged.
    Filter,
    /// A part-transparent paint; taken as the solid colour that it gives on white.
    Transparency,
    /// A blend mode; what it blends is taken as painted over.
    BlendMode,
    /// A bitmap inside the file; left out.
    Bitmap,
    /// Live text that asks for another typeface; set in one of those that come with the program.
    Text,
    /// Anything outside the file; never fetched, left out.
    ExternalReference,
    /// Content of another language; left out.
    ForeignContent,
}

impl Untaken {
    /// As a noun with its article.
    pub fn described(self) -> &'static str {
        match self {
            Self::Gradient => "a gradient",
            Self::Pattern => "a pattern",
            Self::Mask => "a mask",
            Self::Filter => "a filter",
            Self::Transparency => "a part-transparent paint",
            Self::BlendMode => "a blend mode",
            Self::Bitmap => "a bitmap",
            Self::Text => "live text in a typeface that is not here",
            Self::ExternalReference => "a reference to another file",
            Self::ForeignContent => "foreign content",
        }
    }
}
