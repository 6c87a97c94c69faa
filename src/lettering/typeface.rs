//! A font file made ready: shaping a line, drawing its glyphs.

use std::fmt;
use std::sync::{Arc, LazyLock};

use harfrust::{Buffer, Feature, ShapeOptions, ShaperFont, Tag};
use kurbo::{BezPath, Shape};
use skrifa::font::glyph::outline::PathSink;
use skrifa::{DrawMemory, Font, GlyphId, ScalerFont};

use super::LetteringError;

/// Cap height of a font that has no `H`, as a share of its em. Common practice, no source.
const USUAL_CAP_SHARE: f64 = 0.7;

/// The bytes given are no font that can be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAFont {
    /// The name it was given.
    pub name: String,
}

/// A font, at its default weight and width, with the name that messages give it. Cheap to clone.
#[derive(Clone)]
pub struct Typeface {
    scaler: Arc<ScalerFont>,
    name: String,
    cap_height: f64,
}

impl fmt::Debug for Typeface {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Typeface").field("name", &self.name).finish_non_exhaustive()
    }
}

/// A shaped glyph, in font units, y up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glyph {
    /// Its number in the font.
    pub id: u32,
    /// Byte offset in the text of the first character it stands for; glyphs that share it belong together.
    pub cluster: usize,
    /// How far the pen moves on.
    pub advance: f64,
    /// How far it is drawn from the pen, right and up.
    pub offset: (f64, f64),
}

/// A typeface that comes with the program: its name and its file.
type BuiltIn = (&'static str, fn() -> &'static [u8]);

/// The typefaces that come with the program, DejaVu 2.37, the usual one first.
const BUILT_IN: [BuiltIn; 7] = [
    ("DejaVu Sans", dejavu::sans::regular),
    ("DejaVu Sans Bold", dejavu::sans::bold),
    ("DejaVu Sans Condensed", dejavu::sans_condensed::regular),
    ("DejaVu Sans Condensed Bold", dejavu::sans_condensed::bold),
    ("DejaVu Serif", dejavu::serif::regular),
    ("DejaVu Serif Bold", dejavu::serif::bold),
    ("DejaVu Sans Mono", dejavu::sans_mono::regular),
];

static EMBEDDED: LazyLock<Typeface> = LazyLock::new(|| {
    #[allow(clippy::expect_used, reason = "the bytes are compiled in, and a test reads them")]
    Typeface::from_source(dejavu::sans::regular(), "DejaVu Sans", 0).expect("the embedded typeface can be read")
});

impl Typeface {
    /// The typeface that comes with the program: DejaVu Sans 2.37, under the fonts' own licence.
    pub fn embedded() -> Self {
        EMBEDDED.clone()
    }

    /// The names of the typefaces that come with the program, the usual one first.
    pub fn built_in_names() -> impl Iterator<Item = &'static str> {
        BUILT_IN.iter().map(|(name, _)| *name)
    }

    /// The font files that come with the program.
    pub fn built_in_files() -> impl Iterator<Item = &'static [u8]> {
        BUILT_IN.iter().map(|(_, bytes)| bytes())
    }

    /// The typeface of this name that comes with the program.
    pub fn built_in(name: &str) -> Option<Self> {
        let (name, bytes) = BUILT_IN.iter().find(|(known, _)| *known == name)?;
        Self::from_source(bytes(), name, 0).ok()
    }

    /// Whether it can draw every one of these characters.
    pub fn has(&self, characters: &[char]) -> bool {
        let charmap = self.font().charmap();
        characters.iter().all(|character| charmap.map_unicode(*character).is_some())
    }

    /// A font file's contents: TrueType or OpenType, and of a collection the first face.
    ///
    /// # Errors
    /// [`NotAFont`] where no face can be read, or the face has no characters or no outlines.
    pub fn from_bytes(bytes: Vec<u8>, name: &str) -> Result<Self, NotAFont> {
        Self::from_source(bytes, name, 0)
    }

    /// The same, and of a collection the face of this number.
    ///
    /// # Errors
    /// As [`Typeface::from_bytes`].
    pub fn from_collection(bytes: Vec<u8>, face: u32, name: &str) -> Result<Self, NotAFont> {
        Self::from_source(bytes, name, face)
    }

    fn from_source(source: impl Into<skrifa::font::Source>, name: &str, face: u32) -> Result<Self, NotAFont> {
        let refused = || NotAFont { name: name.to_owned() };
        let font = Font::new(source, face).ok_or_else(refused)?;
        let usable = font.units_per_em() > 0 && font.num_glyphs() > 0 && font.charmap().has_unicode();
        let scaler = ScalerFont::unhinted(font, None);
        if !usable || scaler.outline_source().is_none() {
            return Err(refused());
        }
        let mut face = Self { scaler: Arc::new(scaler), name: name.to_owned(), cap_height: 0.0 };
        face.cap_height = face.measured_cap_height();
        Ok(face)
    }

    /// What messages call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Font units in one em.
    pub fn units_per_em(&self) -> f64 {
        f64::from(self.font().units_per_em())
    }

    /// Height of the capital `H` in font units; where there is none, what the font states, or 0.7 em.
    pub fn cap_height(&self) -> f64 {
        self.cap_height
    }

    fn measured_cap_height(&self) -> f64 {
        let drawn = self.font().charmap().map_unicode('H').and_then(|id| self.outline(id.to_u32()).ok());
        let drawn = drawn.filter(|path| !path.is_empty()).map(|path| path.bounding_box().y1);
        let stated = || self.font().metrics().cap_height.map(|height| height.to_f64());
        let fits = |height: &f64| *height > 0.05 * self.units_per_em();
        drawn.filter(fits).or_else(|| stated().filter(fits)).unwrap_or(USUAL_CAP_SHARE * self.units_per_em())
    }

    fn font(&self) -> &Font {
        self.scaler.font()
    }

    /// Shapes one line: kerned, in its own reading direction, glyphs from left to right.
    ///
    /// `joined` allows ligatures (`liga`, `clig`); letters that stand apart must not have them.
    ///
    /// # Errors
    /// [`LetteringError::MissingCharacters`], [`LetteringError::BrokenFont`].
    pub fn shape(&self, line: &str, joined: bool) -> Result<Vec<Glyph>, LetteringError> {
        let mut buffer = Buffer::new();
        buffer.push_str(line);
        buffer.guess_segment_properties();
        let apart = [b"liga", b"clig"].map(|tag| Feature::new(Tag::new(tag), 0, ..));
        let features: &[Feature] = if joined { &[] } else { &apart };
        let options = ShapeOptions::new().features(features);
        harfrust::shape(&ShaperFont::new(self.font()), &mut buffer, options).map_err(|_| self.broken())?;

        let glyphs = buffer.glyph_infos().iter().zip(buffer.glyph_positions()).map(|(info, position)| Glyph {
            id: info.glyph_id,
            cluster: info.cluster as usize,
            advance: f64::from(position.x_advance),
            offset: (f64::from(position.x_offset), f64::from(position.y_offset)),
        });
        let glyphs: Vec<Glyph> = glyphs.collect();
        if glyphs.iter().any(|glyph| glyph.id == 0) {
            return Err(self.missing(line, &glyphs));
        }
        Ok(glyphs)
    }

    /// Names the characters that came out as the font's box for missing ones.
    fn missing(&self, line: &str, glyphs: &[Glyph]) -> LetteringError {
        let charmap = self.font().charmap();
        let mut characters: Vec<char> = Vec::new();
        for glyph in glyphs.iter().filter(|glyph| glyph.id == 0) {
            let end = glyphs.iter().map(|other| other.cluster).filter(|start| *start > glyph.cluster).min();
            let text = line.get(glyph.cluster..end.unwrap_or(line.len())).unwrap_or_default();
            let unmapped = text.chars().find(|character| charmap.map_unicode(*character).is_none());
            let named = unmapped.or_else(|| text.chars().next());
            characters.extend(named.filter(|character| !characters.contains(character)));
        }
        LetteringError::MissingCharacters { characters, typeface: self.name.clone() }
    }

    /// A glyph's contours in font units, as drawn in the font, every one closed.
    ///
    /// # Errors
    /// [`LetteringError::BrokenFont`].
    pub fn outline(&self, glyph: u32) -> Result<BezPath, LetteringError> {
        let mut pen = Pen(BezPath::new());
        if let Some(outline) = self.scaler.outline(GlyphId::new(glyph)) {
            outline.draw(DrawMemory::Scratch, &mut pen).map_err(|_| self.broken())?;
        }
        Ok(pen.0)
    }

    fn broken(&self) -> LetteringError {
        LetteringError::BrokenFont { typeface: self.name.clone() }
    }
}

/// Collects an outline.
struct Pen(BezPath);

impl PathSink for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }

    fn quad_to(&mut self, cx0: f32, cy0: f32, x: f32, y: f32) {
        self.0.quad_to((f64::from(cx0), f64::from(cy0)), (f64::from(x), f64::from(y)));
    }

    fn curve_to(&mut self, cx0: f32, cy0: f32, cx1: f32, cy1: f32, x: f32, y: f32) {
        let (first, second) = ((f64::from(cx0), f64::from(cy0)), (f64::from(cx1), f64::from(cy1)));
        self.0.curve_to(first, second, (f64::from(x), f64::from(y)));
    }

    fn close(&mut self) {
        self.0.close_path();
    }
}
