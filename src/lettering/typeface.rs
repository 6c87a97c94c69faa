//! A font file made ready: shaping a line, drawing its glyphs.

use std::borrow::Cow;
use std::fmt;
use std::sync::{Arc, LazyLock};

use harfrust::{Direction, Feature, ShapeOptions, ShaperData, UnicodeBuffer};
use kurbo::{BezPath, Shape};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, GlyphId, MetadataProvider as _, Tag};

use unicode_normalization::char::is_combining_mark;

use super::{LetteringError, bidi};

/// Cap height of a font that has no `H`, as a share of its em. Common practice, no source.
const USUAL_CAP_SHARE: f64 = 0.7;

/// The bytes given are no font that can be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAFont {
    /// The name it was given.
    pub name: String,
}

/// A font, at its default weight and width, with the name that messages give it, and others that stand in for what it lacks.
/// Cheap to clone.
#[derive(Clone)]
pub struct Typeface {
    file: Arc<File>,
    shaper: Arc<ShaperData>,
    name: String,
    units_per_em: f64,
    cap_height: f64,
    /// What draws the characters that it lacks, in this order.
    others: Arc<[Typeface]>,
}

impl PartialEq for Typeface {
    fn eq(&self, other: &Self) -> bool {
        let same_bytes = || std::ptr::eq::<[u8]>(&*self.file.bytes, &*other.file.bytes);
        (Arc::ptr_eq(&self.file, &other.file) || same_bytes() && self.file.face == other.file.face)
            && self.name == other.name
            && self.others == other.others
    }
}

impl fmt::Debug for Typeface {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Typeface").field("name", &self.name).finish_non_exhaustive()
    }
}

/// A font file and which of its faces is meant. One was read from it once, so it can be read again.
struct File {
    bytes: Cow<'static, [u8]>,
    face: u32,
}

impl File {
    fn font(&self) -> Option<FontRef<'_>> {
        FontRef::from_index(&self.bytes, self.face).ok()
    }
}

/// A shaped glyph, in font units, y up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glyph {
    /// Which typeface it is of: 0 for this one, from 1 on for those that stand in.
    pub face: usize,
    /// Its number in that font.
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

/// The typefaces that come with the program, DejaVu 2.37, the usual one first. As a constant, and wherever else a file is
/// named, the compiler would put another copy of its bytes into the program.
static BUILT_IN: [BuiltIn; 7] = [
    ("DejaVu Sans", dejavu::sans::regular),
    ("DejaVu Sans Bold", dejavu::sans::bold),
    ("DejaVu Sans Condensed", dejavu::sans_condensed::regular),
    ("DejaVu Sans Condensed Bold", dejavu::sans_condensed::bold),
    ("DejaVu Serif", dejavu::serif::regular),
    ("DejaVu Serif Bold", dejavu::serif::bold),
    ("DejaVu Sans Mono", dejavu::sans_mono::regular),
];

static EMBEDDED: LazyLock<Typeface> = LazyLock::new(|| {
    let [(name, file), ..] = &BUILT_IN;
    #[allow(clippy::expect_used, reason = "the bytes are compiled in, and a test reads them")]
    Typeface::from_source(Cow::Borrowed(file()), name, 0).expect("the embedded typeface can be read")
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
        Self::from_source(Cow::Borrowed(bytes()), name, 0).ok()
    }

    /// The first of these typefaces, with each of the others for the characters that all before it lack; none of none. Sizes go by
    /// the capitals of the first, and all are set at one em.
    pub fn first_of(typefaces: Vec<Self>) -> Option<Self> {
        let mut all = typefaces.into_iter();
        let first = all.next()?;
        let others: Vec<Self> = all.collect();
        let name = std::iter::once(&first).chain(&others).map(Self::name).collect::<Vec<_>>().join(", ");
        Some(Self { name, others: others.into(), ..first })
    }

    /// Itself and those that stand in for it.
    fn faces(&self) -> impl Iterator<Item = &Self> {
        std::iter::once(self).chain(self.others.iter())
    }

    /// Whether it can draw every one of these characters, those that stand in not asked.
    fn draws(&self, characters: &[char]) -> bool {
        let charmap = self.file.font().map(|font| font.charmap());
        charmap.is_some_and(|charmap| characters.iter().all(|character| charmap.map(*character).is_some()))
    }

    /// Whether it can draw every one of these characters, or what stands in for it.
    pub fn has(&self, characters: &[char]) -> bool {
        characters.iter().all(|character| self.faces().any(|face| face.draws(&[*character])))
    }

    /// The parts of a run that are set in one typeface each, from left to right as one sees them: each character in the first that
    /// has it, and a mark on a letter in that of its letter where that has it.
    fn parts(&self, line: &str, run: &bidi::Run) -> Vec<(usize, bidi::Run)> {
        let part = |face, range| (face, bidi::Run { range, direction: run.direction });
        if self.others.is_empty() {
            return vec![part(0, run.range.clone())];
        }
        let mut parts: Vec<(usize, std::ops::Range<usize>)> = Vec::new();
        for (at, character) in line.get(run.range.clone()).unwrap_or_default().char_indices() {
            let (from, to) = (run.range.start + at, run.range.start + at + character.len_utf8());
            let before = parts.last().map(|(face, _)| *face);
            let draws = |at: usize| self.faces().nth(at).is_some_and(|face| face.draws(&[character]));
            let stays = before.filter(|before| is_combining_mark(character) && draws(*before));
            let first = || (0..=self.others.len()).find(|at| draws(*at));
            let face = stays.or_else(first).or(before).unwrap_or(0);
            match parts.last_mut().filter(|(last, _)| *last == face) {
                Some((_, range)) => range.end = to,
                None => parts.push((face, from..to)),
            }
        }
        if run.direction == Some(Direction::RightToLeft) {
            parts.reverse();
        }
        parts.into_iter().map(|(face, range)| part(face, range)).collect()
    }

    /// A font file's contents: TrueType or OpenType, and of a collection the first face.
    ///
    /// # Errors
    /// [`NotAFont`] where no face can be read, or the face has no characters or no outlines.
    pub fn from_bytes(bytes: Vec<u8>, name: &str) -> Result<Self, NotAFont> {
        Self::from_source(Cow::Owned(bytes), name, 0)
    }

    /// The same, and of a collection the face of this number.
    ///
    /// # Errors
    /// As [`Typeface::from_bytes`].
    pub fn from_collection(bytes: Vec<u8>, face: u32, name: &str) -> Result<Self, NotAFont> {
        Self::from_source(Cow::Owned(bytes), name, face)
    }

    fn from_source(bytes: Cow<'static, [u8]>, name: &str, face: u32) -> Result<Self, NotAFont> {
        let refused = || NotAFont { name: name.to_owned() };
        let file = Arc::new(File { bytes, face });
        let font = file.font().ok_or_else(refused)?;
        let metrics = font.metrics(Size::unscaled(), LocationRef::default());
        let drawn = metrics.glyph_count > 0 && font.outline_glyphs().format().is_some();
        if !drawn || metrics.units_per_em == 0 || !font.charmap().has_map() || font.charmap().is_symbol() {
            return Err(refused());
        }
        let units_per_em = f64::from(metrics.units_per_em);
        let shaper = Arc::new(ShaperData::new(&font));
        let stated = metrics.cap_height.map(f64::from);
        let mut face = Self {
            file: Arc::clone(&file),
            shaper,
            name: name.to_owned(),
            units_per_em,
            cap_height: 0.0,
            others: Arc::default(),
        };
        face.cap_height = face.measured_cap_height(&font, stated);
        Ok(face)
    }

    /// What messages call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Font units in one em.
    pub fn units_per_em(&self) -> f64 {
        self.units_per_em
    }

    /// Height of the capital `H` in font units; where there is none, what the font states, or 0.7 em.
    pub fn cap_height(&self) -> f64 {
        self.cap_height
    }

    fn measured_cap_height(&self, font: &FontRef<'_>, stated: Option<f64>) -> f64 {
        // The `H` as it is drawn, since what fonts state of their height is often wrong.
        let drawn = font.charmap().map('H').and_then(|id| self.outline(id.to_u32()).ok());
        let drawn = drawn.filter(|path| !path.is_empty()).map(|path| path.bounding_box().y1);
        // A placeholder of no height must not make letters of metres.
        let fits = |height: &f64| *height > 0.05 * self.units_per_em;
        drawn.filter(fits).or_else(|| stated.filter(fits)).unwrap_or(USUAL_CAP_SHARE * self.units_per_em)
    }

    fn font(&self) -> Result<FontRef<'_>, LetteringError> {
        self.file.font().ok_or_else(|| self.broken())
    }

    /// Shapes one line: kerned, glyphs from left to right as one sees them. Where letters run from right to left, their order is
    /// that of the Unicode Bidirectional Algorithm (UAX #9), and the line runs the way of its first strong letter.
    ///
    /// `joined` allows ligatures (`liga`, `clig`); letters that stand apart must not have them.
    ///
    /// # Errors
    /// [`LetteringError::MissingCharacters`], [`LetteringError::BrokenFont`].
    pub fn shape(&self, line: &str, joined: bool) -> Result<Vec<Glyph>, LetteringError> {
        self.shape_without(line, if joined { &[] } else { &[b"liga", b"clig"] })
    }

    /// Whether letters of a text are joined by strokes, as those of Arabic are: whether their shapes hang on their neighbours.
    pub fn joins(&self, text: &str) -> bool {
        let ids = |line: &str, without: &[&[u8; 4]]| -> Vec<(usize, u32)> {
            self.shape_without(line, without)
                .map(|glyphs| glyphs.iter().map(|glyph| (glyph.face, glyph.id)).collect())
                .unwrap_or_default()
        };
        let by_neighbours: &[&[u8; 4]] = &[b"init", b"medi", b"fina", b"med2", b"fin2", b"fin3"];
        text.split('\n').any(|line| ids(line, &[]) != ids(line, by_neighbours))
    }

    /// Shapes a line with these features of the font switched off.
    fn shape_without(&self, line: &str, features: &[&[u8; 4]]) -> Result<Vec<Glyph>, LetteringError> {
        let features: Vec<Feature> = features.iter().map(|tag| Feature::new(Tag::new(tag), 0, ..)).collect();
        let mut glyphs: Vec<Glyph> = Vec::new();
        for run in bidi::runs(line) {
            for (at, part) in self.parts(line, &run) {
                let Some(face) = self.faces().nth(at) else { continue };
                let font = face.font()?;
                let shaper = face.shaper.shaper(&font).build();
                let shaped = shaper.shape(filled_buffer(line, &part), ShapeOptions::new().features(&features));
                let scale = self.units_per_em / face.units_per_em;
                glyphs.extend(shaped.glyph_infos().iter().zip(shaped.glyph_positions()).map(|(info, position)| {
                    Glyph {
                        face: at,
                        id: info.glyph_id,
                        cluster: part.range.start + info.cluster as usize,
                        advance: scale * f64::from(position.x_advance),
                        offset: (scale * f64::from(position.x_offset), scale * f64::from(position.y_offset)),
                    }
                }));
            }
        }
        // Refused and not drawn: a box burnt into wood cannot be taken back.
        if glyphs.iter().any(|glyph| glyph.id == 0) {
            return Err(self.missing(line, &glyphs));
        }
        Ok(glyphs)
    }

    /// Names the characters that came out as the font's box for missing ones.
    fn missing(&self, line: &str, glyphs: &[Glyph]) -> LetteringError {
        let mut characters: Vec<char> = Vec::new();
        for glyph in glyphs.iter().filter(|glyph| glyph.id == 0) {
            // Clusters are not in order where text runs from right to left, hence the smallest that is greater.
            let end = glyphs.iter().map(|other| other.cluster).filter(|start| *start > glyph.cluster).min();
            let text = line.get(glyph.cluster..end.unwrap_or(line.len())).unwrap_or_default();
            let unmapped = text.chars().find(|character| !self.has(&[*character]));
            let named = unmapped.or_else(|| text.chars().next());
            characters.extend(named.filter(|character| !characters.contains(character)));
        }
        LetteringError::MissingCharacters { characters, typeface: self.name.clone() }
    }

    /// The contours of a glyph of this very font in font units, as drawn there, every one closed.
    ///
    /// # Errors
    /// [`LetteringError::BrokenFont`].
    pub fn outline(&self, glyph: u32) -> Result<BezPath, LetteringError> {
        let mut pen = Pen(BezPath::new());
        if let Some(outline) = self.font()?.outline_glyphs().get(GlyphId::new(glyph)) {
            let as_drawn = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
            outline.draw(as_drawn, &mut pen).map_err(|_| self.broken())?;
        }
        Ok(pen.0)
    }

    /// A shaped glyph's contours in units of this font, whichever typeface it is of.
    ///
    /// # Errors
    /// [`LetteringError::BrokenFont`].
    pub fn drawn(&self, glyph: &Glyph) -> Result<BezPath, LetteringError> {
        let Some(face) = self.faces().nth(glyph.face) else { return Ok(BezPath::new()) };
        let outline = face.outline(glyph.id)?;
        let scale = self.units_per_em / face.units_per_em;
        Ok(if glyph.face == 0 { outline } else { kurbo::Affine::scale(scale) * outline })
    }

    fn broken(&self) -> LetteringError {
        LetteringError::BrokenFont { typeface: self.name.clone() }
    }
}

/// A run as it goes to the shaper, which must know its neighbours: they decide how letters are joined.
fn filled_buffer(line: &str, run: &bidi::Run) -> UnicodeBuffer {
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(line.get(run.range.clone()).unwrap_or_default());
    if let Some(direction) = run.direction {
        buffer.set_pre_context(line.get(..run.range.start).unwrap_or_default());
        buffer.set_post_context(line.get(run.range.end..).unwrap_or_default());
        buffer.set_direction(direction);
    }
    buffer.guess_segment_properties();
    buffer
}

/// Collects an outline.
struct Pen(BezPath);

impl OutlinePen for Pen {
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
