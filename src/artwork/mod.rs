//! Drawings and pictures to filled regions. Pure: file bytes in, regions out; nothing a picture refers to is ever fetched.
//!
//! Engraving knows two tones. A paint counts as dark, and is engraved, where its relative luminance (W3C WCAG
//! 2.2) on a white ground is below one half; a lighter paint cuts what it covers out of the dark below it, so
//! that a picture which looks black on white comes out as it looks.

mod bitmap;
mod css;
mod dashes;
mod elements;
mod expansion;
mod outline;
mod paint;
mod plain;
mod preview;
mod survey;
mod svg;

pub use bitmap::{
    Blot, Inked, SPECK_PX2, STRAYS_TOLD, Scan, Scanned, ToneShare, UNSTATED_MM, art_from_bitmap,
    between_class_variances, goes_round, inked, is_picture, otsu, scanned,
};
pub use elements::{DrawnLine, DrawnPath, Elements, StatedSize, elements};
pub use preview::{Preview, preview};
pub use svg::{art_from_svg, closed_options, coloured_from_svg};

use std::borrow::Cow;
use std::fmt;

use kurbo::{Affine, Point, Rect};

use crate::diagnostics::counted;
use crate::geometry::{GeometryError, Region};
use crate::limits::{SIZE_MM, WORK};
use crate::work::{Meter, meter};

/// A picture in two tones.
#[derive(Clone, Debug, PartialEq)]
pub struct Art {
    /// What is dark, in mm, y up.
    pub ink: Region,
    /// The box that it is sized and placed by, where that is not the ink's own: a tone picked from a picture keeps
    /// its place among the others.
    pub frame: Option<Rect>,
    /// Every colour that was painted with, as red, green, blue, in order and once each.
    pub colours: Vec<[u8; 3]>,
    /// What could not be taken as drawn, once each.
    pub dropped: Vec<Dropped>,
    /// What was drawn beyond the edge of the page and is cut off there, in mm².
    pub off_page_mm2: f64,
    /// The middle of its page.
    pub middle: Point,
    /// The tones of a picture of pixels; none for a drawing.
    pub scan: Option<Scan>,
}

/// What is wanted of a picture.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wanted {
    /// One element of a drawing, by its id.
    pub part: Option<String>,
    /// What has this colour in a picture of pixels, and nothing else.
    pub tone: Option<[u8; 3]>,
    /// The darkness from which on a pixel is mark, from 0 (white) to 1 (black).
    pub threshold: Option<f64>,
}

/// The picture in a file, whatever kind its first bytes say it is.
///
/// # Errors
/// All of [`ArtError`].
pub fn art(bytes: &[u8], wanted: &Wanted) -> Result<Art, ArtError> {
    // Counted with the dial that it is for, or else by itself.
    match meter() {
        Some(_) => read(bytes, wanted),
        None => Meter::new(WORK).run(|| read(bytes, wanted)).unwrap_or(Err(ArtError::TooMuch)),
    }
}

/// A drawing in its colours: each area with what it is painted in, in the order drawn, neighbours of one colour as one. All have
/// one frame, so that they keep their places when they are sized.
///
/// # Errors
/// All of [`ArtError`]; a picture of pixels has no areas, and is [`ArtError::OtherKind`].
pub fn coloured(bytes: &[u8], wanted: &Wanted) -> Result<Vec<([u8; 3], Art)>, ArtError> {
    if bitmap::is_picture(bytes) {
        return Err(ArtError::OtherKind { what: "print" });
    }
    if let Some(what) = wanted.tone.map(|_| "tone").or(wanted.threshold.map(|_| "threshold")) {
        return Err(ArtError::OtherKind { what });
    }
    let part = wanted.part.as_deref();
    match meter() {
        Some(_) => coloured_from_svg(bytes, part),
        None => Meter::new(WORK).run(|| coloured_from_svg(bytes, part)).unwrap_or(Err(ArtError::TooMuch)),
    }
}

fn read(bytes: &[u8], wanted: &Wanted) -> Result<Art, ArtError> {
    if bitmap::is_picture(bytes) {
        return art_from_bitmap(bytes, wanted);
    }
    if let Some(what) = wanted.tone.map(|_| "tone").or(wanted.threshold.map(|_| "threshold")) {
        return Err(ArtError::OtherKind { what });
    }
    art_from_svg(bytes, wanted.part.as_deref())
}

impl Art {
    /// The box that it is sized and placed by.
    pub fn bounds(&self) -> Option<Rect> {
        self.frame.or_else(|| self.ink.bounds())
    }

    /// The same picture this high, centred on the middle of its box.
    ///
    /// # Errors
    /// [`ArtError::Geometry`] for a height that is not above zero, or beyond the limit.
    pub fn scaled_to_height(&self, height_mm: f64) -> Result<Self, ArtError> {
        if height_mm.is_nan() || height_mm <= 0.0 {
            return Err(GeometryError::NotPositive { what: "height", value: height_mm }.into());
        }
        let scale = self.bounds().map_or(1.0, |bounds| height_mm / bounds.height());
        let width = self.bounds().map_or(0.0, |bounds| bounds.width() * scale);
        if !scale.is_finite() || height_mm > SIZE_MM || width > SIZE_MM {
            return Err(GeometryError::OutOfRange.into());
        }
        Ok(self.centred().mapped(Affine::scale(scale)))
    }

    /// How high it is where it is this wide, in mm.
    pub fn height_at_width(&self, width_mm: f64) -> f64 {
        self.bounds().map_or(0.0, |bounds| width_mm / bounds.width() * bounds.height())
    }

    /// The same picture, kept where it stands on its page, the middle of the page at the origin; this high, or at its
    /// own size where no height is given.
    ///
    /// # Errors
    /// As [`Art::scaled_to_height`].
    pub fn in_place(&self, height_mm: Option<f64>) -> Result<Self, ArtError> {
        let scale = match (height_mm, self.bounds()) {
            (Some(height), Some(bounds)) => {
                // Only for what it refuses: the size must be possible here as well.
                self.scaled_to_height(height)?;
                height / bounds.height()
            }
            _ => 1.0,
        };
        let map = Affine::scale(scale) * Affine::translate(-self.middle.to_vec2());
        Ok(self.mapped(map))
    }

    /// The same picture, at its own size, centred on the middle of its box.
    #[must_use]
    pub fn centred(&self) -> Self {
        let middle = self.bounds().map_or(Point::ZERO, |bounds| bounds.center());
        self.mapped(Affine::translate(-middle.to_vec2()))
    }

    fn mapped(&self, map: Affine) -> Self {
        let frame = self.frame.map(|frame| map.transform_rect_bbox(frame));
        Self { ink: self.ink.transformed(map), frame, middle: map * self.middle, ..self.clone() }
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
    /// More pixels than [`crate::limits::PICTURE_PIXELS`], or more bytes of them than
    /// [`crate::limits::PICTURE_BYTES`], as the file declares them.
    TooManyPixels {
        /// Across.
        width: u32,
        /// Down.
        height: u32,
    },
    /// It is one tone all over.
    OneTone {
        /// Which.
        tone: [u8; 3],
    },
    /// The picture has no such tone.
    NoSuchTone {
        /// The tone asked for.
        tone: [u8; 3],
        /// The tones there are, most frequent first.
        tones: Vec<[u8; 3]>,
    },
    /// A drawing was asked for what only pictures of pixels have, or the other way round.
    OtherKind {
        /// What was asked.
        what: &'static str,
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
    /// The line of the file that the element begins in, from 1; 0 where it has an id, or its line is not known.
    pub line: u32,
}

impl Dropped {
    /// Where it is: the element's id in backticks, or its line.
    fn place(&self) -> Option<String> {
        match (self.on.as_str(), self.line) {
            ("", 0) => None,
            ("", line) => Some(format!("in line {line}")),
            (id, _) => Some(format!("on `{id}`")),
        }
    }

    /// A sentence's worth of them: each kind once, with the first places where it is.
    pub fn told(dropped: &[Self]) -> Vec<String> {
        let mut kinds: Vec<(&Untaken, Vec<String>)> = Vec::new();
        for one in dropped {
            match kinds.last_mut().filter(|(what, _)| **what == one.what) {
                Some((_, places)) => places.extend(one.place()),
                None => kinds.push((&one.what, one.place().into_iter().collect())),
            }
        }
        let told = kinds.into_iter().map(|(what, places)| {
            let more = places.len().saturating_sub(PLACES);
            let mut some: Vec<String> = places.into_iter().take(PLACES).collect();
            if more > 0 {
                some.push(format!("and {}", counted(more, "more place")));
            }
            let what = what.described();
            if some.is_empty() { what.into_owned() } else { format!("{what} {}", some.join(", ")) }
        });
        told.collect()
    }
}

/// Places of one kind that are told before the rest are counted.
const PLACES: usize = 3;

/// As a noun with its article, and where it is.
impl fmt::Display for Dropped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what.described())?;
        self.place().map_or(Ok(()), |place| write!(f, " {place}"))
    }
}

/// What cannot be taken from a picture, or not as drawn.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
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
    /// A bitmap inside the file; left out.
    Bitmap,
    /// Live text that asks for another typeface; set in one of those that come with the program.
    Text,
    /// A character of live text that no typeface that comes with the program has; left out.
    Character(char),
    /// Anything outside the file; never fetched, left out.
    ExternalReference,
    /// Content of another language; left out.
    ForeignContent,
    /// What follows the first picture of one that moves; left out.
    LaterPictures,
    /// A rule of a style sheet that is not understood, as written before its block; left out.
    Rule(String),
    /// A property of a style that is not understood, or its value; as if it were not written.
    Style(String),
    /// An attribute that is not understood, or its value.
    Attribute(String),
    /// Movement; what moves is taken as it stands.
    Animation,
    /// A program in the file; never run.
    Script,
    /// What is shown to the readers of some languages alone; taken for those of English.
    Language,
    /// Text along a path; its letters may stand a little elsewhere.
    TextOnPath,
    /// Text that goes on in other letters; these may stand a little elsewhere.
    MixedText,
    /// Letters that are set apart and joined at once; taken as joined.
    SpacedLigature,
    /// A marker at the seam of a closed line, or on one of fixed width; it may stand or be sized otherwise.
    OddMarker,
    /// Dots of a dashed line with square ends; laid along the line, where some browsers keep them upright.
    SquareDots,
    /// What lies wholly off the page; left out.
    OffPage,
}

impl Untaken {
    /// Whether it is how a style is written, rather than what is drawn.
    pub fn is_style(&self) -> bool {
        matches!(self, Self::Rule(_) | Self::Style(_))
    }

    /// As a noun with its article.
    pub fn described(&self) -> Cow<'static, str> {
        let plain = match self {
            Self::Character(missing) => {
                return format!("the character `{missing}`, which no built-in typeface has,").into();
            }
            Self::Rule(text) => return format!("the style rule `{}`", short(text)).into(),
            Self::Style(text) => return format!("the style `{}`", short(text)).into(),
            Self::Attribute(text) => return format!("the attribute `{}`", short(text)).into(),
            Self::Animation => "movement",
            Self::Script => "a script",
            Self::Language => "a choice by language",
            Self::TextOnPath => "text along a path",
            Self::MixedText => "a line of text that goes on in another type",
            Self::SpacedLigature => "joined letters (`ff`, `fi`, `fl`) that are set apart",
            Self::OddMarker => "a marker on a closed line or one of fixed width",
            Self::SquareDots => "square dots along a line",
            Self::OffPage => "all that lies off the page",
            Self::Gradient => "a gradient",
            Self::Pattern => "a pattern",
            Self::Mask => "a mask",
            Self::Filter => "a filter",
            Self::Transparency => "a part-transparent paint",
            Self::Bitmap => "a bitmap",
            Self::Text => "live text in a typeface that is not here",
            Self::ExternalReference => "a reference to another file",
            Self::ForeignContent => "foreign content",
            Self::LaterPictures => "every picture after the first",
        };
        plain.into()
    }
}

/// The beginning of a text that may be long.
fn short(text: &str) -> String {
    const MOST: usize = 60;
    match text.char_indices().nth(MOST) {
        None => text.to_owned(),
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
    }
}
