//! Words and blocks of lines.

use kurbo::{Affine, BezPath, Rect, Shape, Vec2};

use super::contours::filled;
use super::{LetteringError, Typeface, bidi};
use crate::geometry::{GeometryError, Region, Rule};
use crate::limits::{SEGMENTS, SIZE_MM};
use crate::memory::{MANY, recalled};
use crate::vocabulary::usual;

/// Which part of every line stands at the middle of the block's frame (x = 0).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Align {
    /// The edge where one begins to read it: the left one, or the right one of a line that runs from right to left.
    Start,
    /// Its middle.
    #[default]
    Middle,
    /// The other edge.
    End,
}

impl Align {
    /// Where on a line it is, in mm from the line's own origin.
    pub(super) fn of(self, line: &LetterLine, ink: Rect) -> f64 {
        match (self, line.begins_right) {
            (Self::Middle, _) => ink.center().x,
            (Self::Start, false) | (Self::End, true) => ink.x0,
            (Self::Start, true) | (Self::End, false) => ink.x1,
        }
    }
}

/// How text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Cap height, in mm.
    pub height_mm: f64,
    /// How lines stand to one another and to the point where the text is placed.
    pub align: Align,
    /// Distance between baselines, in heights.
    pub line_spacing: f64,
    /// Room added between neighbouring letters, in mm; may be negative.
    pub tracking_mm: f64,
    /// Widest the ink may be, in mm: a wider text is made smaller as a whole until it fits.
    pub fit_mm: Option<f64>,
    /// Whether a line stands under each line of the text.
    pub underlined: bool,
}

/// How wide the line under a text is, in heights: about as wide as the stems of the built-in typeface.
pub(super) const UNDERLINE: f64 = 0.12;
/// What is left free between it and the letters, tails included, in heights.
pub(super) const UNDERLINE_GAP: f64 = 0.16;

impl Setting {
    /// This high and otherwise as usual: lines centred, 1.6 heights apart, letters as the font spaces them.
    pub fn of_height(height_mm: f64) -> Self {
        Self {
            height_mm,
            align: Align::Middle,
            line_spacing: usual::LINE_SPACING,
            tracking_mm: 0.0,
            fit_mm: None,
            underlined: false,
        }
    }

    /// Refuses sizes that cannot be and texts that are too long to try.
    pub(super) fn checked(&self, text: &str) -> Result<(), LetteringError> {
        if text.len() > SEGMENTS {
            return Err(LetteringError::TooMuch);
        }
        let positive = |what, value: f64| {
            if value > 0.0 { Ok(()) } else { Err(GeometryError::NotPositive { what, value }) }
        };
        positive("height", self.height_mm)?;
        positive("line spacing", self.line_spacing)?;
        self.fit_mm.map_or(Ok(()), |fit| positive("width to fit", fit))?;
        let sizes = [self.height_mm, self.line_spacing, self.tracking_mm];
        let all_within = sizes.iter().all(|size| size.is_finite() && size.abs() <= SIZE_MM);
        if all_within { Ok(()) } else { Err(GeometryError::OutOfRange.into()) }
    }
}

/// Text made to outlines.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// The filled letters, in mm, set about the origin as [`Typeface::set`] says.
    pub ink: Region,
    /// The cap height it came out with, in mm: what was asked for, or less where it had to fit a width.
    pub height_mm: f64,
}

/// A letter with the marks that belong to it, drawn at the pen's place on its line.
pub(super) struct Letter {
    /// Its outline in mm; the line's baseline is y = 0.
    pub(super) path: BezPath,
    /// Where its advance begins and ends on the line, in mm.
    pub(super) from: f64,
    pub(super) to: f64,
}

/// One line of letters.
pub(super) struct LetterLine {
    pub(super) letters: Vec<Letter>,
    /// The least box round its ink; none for a line of spaces.
    pub(super) ink: Option<Rect>,
    /// Whether it runs from right to left as a whole.
    pub(super) begins_right: bool,
}

/// A text that is to be set.
#[derive(PartialEq)]
struct Asked(Typeface, String, Setting);

impl Typeface {
    /// Sets a text at this cap height, otherwise as usual. See [`Self::set`].
    ///
    /// # Errors
    /// As [`Self::set`].
    pub fn word(&self, text: &str, height_mm: f64) -> Result<Word, LetteringError> {
        self.set(text, &Setting::of_height(height_mm))
    }

    /// Sets a text of one or more lines (`\n` between them) about the origin.
    ///
    /// Upright, the block is centred from the top of the first line's capitals to the last line's baseline, so
    /// that words set at the same height share a baseline and numerals stand in the middle. A single line of
    /// nothing but signs (`♠`, `→`) is centred on its ink. Sideways, every line's ink stands as `align` says.
    ///
    /// # Errors
    /// [`LetteringError::MissingCharacters`] over all lines, [`LetteringError::Blank`], sizes that cannot be
    /// ([`LetteringError::Geometry`]), [`LetteringError::TooMuch`], [`LetteringError::BrokenFont`].
    pub fn set(&self, text: &str, setting: &Setting) -> Result<Word, LetteringError> {
        recalled(MANY, || Asked(self.clone(), text.to_owned(), *setting), || self.set_anew(text, setting))
    }

    fn set_anew(&self, text: &str, setting: &Setting) -> Result<Word, LetteringError> {
        setting.checked(text)?;
        // Letters that were spaced out are not joined: a ligature among them would look like a slip.
        let lines = self.lines(text, setting, setting.tracking_mm == 0.0)?;
        let ink = filled(&block(&lines, setting), Rule::NonZero)?;
        let bounds = ink.bounds().ok_or(LetteringError::Blank)?;
        let (map, shrink) = settled(text, setting, bounds);
        let ink = ink.transformed(map);
        // Lines without ink move the others far: the middle of the block counts them.
        Region::in_range(ink.path())?;
        Ok(Word { ink, height_mm: setting.height_mm * shrink })
    }

    /// Every line of a text from x = 0; `joined` allows ligatures.
    pub(super) fn lines(&self, text: &str, setting: &Setting, joined: bool) -> Result<Vec<LetterLine>, LetteringError> {
        let (mut lines, mut missing) = (Vec::new(), Vec::new());
        for line in text.split('\n') {
            match self.line(line, setting, joined) {
                Ok(line) => lines.push(line),
                Err(LetteringError::MissingCharacters { characters, .. }) => {
                    for character in characters {
                        if !missing.contains(&character) {
                            missing.push(character);
                        }
                    }
                }
                Err(other) => return Err(other),
            }
        }
        let segments: usize =
            lines.iter().flat_map(|line| &line.letters).map(|letter| letter.path.elements().len()).sum();
        match (missing.is_empty(), segments > SEGMENTS) {
            (false, _) => {
                Err(LetteringError::MissingCharacters { characters: missing, typeface: self.name().to_owned() })
            }
            (true, true) => Err(LetteringError::TooMuch),
            (true, false) => Ok(lines),
        }
    }

    /// Shapes and draws one line from x = 0, its baseline at y = 0.
    fn line(&self, text: &str, setting: &Setting, joined: bool) -> Result<LetterLine, LetteringError> {
        let scale = setting.height_mm / self.cap_height();
        let mut letters: Vec<Letter> = Vec::new();
        let (mut pen, mut cluster) = (0.0, None);
        for glyph in self.shape(text, joined)? {
            // A letter and its accents share a cluster and are not tracked apart.
            let follows = cluster.is_some_and(|before| before != glyph.cluster);
            pen += if follows { setting.tracking_mm } else { 0.0 };
            let (right, up) = glyph.offset;
            let outline =
                Affine::new([scale, 0.0, 0.0, scale, pen + right * scale, up * scale]) * self.drawn(&glyph)?;
            let to = pen + glyph.advance * scale;
            match letters.last_mut().filter(|_| cluster == Some(glyph.cluster)) {
                Some(letter) => {
                    letter.path.extend(outline);
                    letter.to = to;
                }
                None => letters.push(Letter { path: outline, from: pen, to }),
            }
            (pen, cluster) = (to, Some(glyph.cluster));
        }
        let boxes = letters.iter().filter(|letter| !letter.path.is_empty()).map(|letter| letter.path.bounding_box());
        let ink = boxes.reduce(|all, one| all.union(one));
        Ok(LetterLine { letters, ink, begins_right: bidi::begins_right(text) })
    }
}

/// Lines one below the other, the first line's baseline at y = 0.
pub(super) fn block(lines: &[LetterLine], setting: &Setting) -> BezPath {
    let mut path = BezPath::new();
    let mut baseline = 0.0;
    for line in lines {
        if let Some(ink) = line.ink {
            let by = Vec2::new(-setting.align.of(line, ink), baseline);
            place(line, by, &mut path);
            if setting.underlined {
                path.extend((Affine::translate(by) * underline(ink, setting.height_mm).to_path(0.1)).iter());
            }
        }
        baseline -= setting.line_spacing * setting.height_mm;
    }
    path
}

/// The line under a line of letters.
fn underline(ink: Rect, height: f64) -> Rect {
    let top = ink.y0.min(0.0) - UNDERLINE_GAP * height;
    Rect::new(ink.x0, top - UNDERLINE * height, ink.x1, top)
}

/// What brings a block of lines about the origin, and the factor in it by which it is made smaller to fit.
pub(super) fn settled(text: &str, setting: &Setting, bounds: Rect) -> (Affine, f64) {
    let further_lines = text.matches('\n').count();
    // A sign has no baseline that anyone sees, so its ink is what is centred.
    let is_sign = further_lines == 0 && !text.chars().any(char::is_alphanumeric);
    #[allow(clippy::cast_precision_loss, reason = "a text has few lines")]
    let last_baseline = -(further_lines as f64) * setting.line_spacing * setting.height_mm;
    let middle = if is_sign { bounds.center().y } else { (setting.height_mm + last_baseline) / 2.0 };
    let shrink = setting.fit_mm.map_or(1.0, |fit| (fit / bounds.width()).min(1.0));
    (Affine::scale(shrink) * Affine::translate((0.0, -middle)), shrink)
}

/// Adds a line's letters, moved.
fn place(line: &LetterLine, by: Vec2, path: &mut BezPath) {
    let map = Affine::translate(by);
    for letter in &line.letters {
        path.extend((map * &letter.path).iter());
    }
}
