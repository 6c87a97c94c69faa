//! Words on a page: measured by shaping them in the built-in typeface, wrapped, and set as text that stays text.
//!
//! Every piece of text states the length that it was measured to have, so that a viewer with another typeface does not
//! let it run over its room either.

use std::sync::LazyLock;

use svg::node::element::{Group, Text};
use unicode_normalization::char::is_combining_mark;

use super::super::drawing::INK;
use crate::design::{Tone, hex};
use crate::lettering::Typeface;
use crate::units::plain;

/// The one type scale of all pages, in mm: each size is five quarters of the next smaller one. Body text is 8.5 points.
pub const SMALL: f64 = 2.4;
/// Body text.
pub const BODY: f64 = 3.0;
/// Headings of sections.
pub const HEAD: f64 = 3.75;
/// The title of a document.
pub const TITLE: f64 = 5.86;
/// From one line to the next, in sizes. Common practice, no source.
const LEADING: f64 = 1.35;
/// Where the baseline of a line stands below its top, in sizes: the ascent of DejaVu Sans and half of the leading.
const BASELINE: f64 = 1.05;
/// A line that is to fit is made no smaller than this; what is longer still is cut short.
const LEAST_SHRINK: f64 = 0.75;
/// Goes after what is cut short.
const CUT: &str = "…";

/// How a piece of text is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Voice {
    /// As usual.
    Plain,
    /// Bold.
    Strong,
    /// What the user wrote, letters of one width.
    Code,
}

static PLAIN: LazyLock<Typeface> = LazyLock::new(Typeface::embedded);
static STRONG: LazyLock<Typeface> = LazyLock::new(|| built_in("DejaVu Sans Bold"));
static CODE: LazyLock<Typeface> = LazyLock::new(|| built_in("DejaVu Sans Mono"));

fn built_in(name: &str) -> Typeface {
    Typeface::built_in(name).unwrap_or_else(Typeface::embedded)
}

impl Voice {
    fn typeface(self) -> &'static Typeface {
        match self {
            Self::Plain => &PLAIN,
            Self::Strong => &STRONG,
            Self::Code => &CODE,
        }
    }

    /// Letters of one width look larger than others of the same size.
    fn share(self) -> f64 {
        if self == Self::Code { 0.92 } else { 1.0 }
    }
}

/// A piece of text in one voice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextRun {
    /// What it says.
    pub text: String,
    /// How it is set.
    pub voice: Voice,
}

impl TextRun {
    /// Text as usual.
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), voice: Voice::Plain }
    }

    /// Bold text.
    pub fn strong(text: impl Into<String>) -> Self {
        Self { text: text.into(), voice: Voice::Strong }
    }
}

/// A message: what stands between backticks is the user's text.
pub fn marked(text: &str) -> Vec<TextRun> {
    let voice = |at: usize| if at % 2 == 1 { Voice::Code } else { Voice::Plain };
    let runs = text.split('`').enumerate().map(|(at, part)| TextRun { text: part.to_owned(), voice: voice(at) });
    runs.filter(|run| !run.text.is_empty()).collect()
}

/// What can be seen of a text: without characters that XML forbids, and without those that only steer the direction of
/// what follows them, so that nobody's name turns the words after it round.
pub fn shown(text: &str) -> String {
    let steers =
        |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let forbidden = |c: char| matches!(c, '\u{fffe}' | '\u{ffff}' | '\u{feff}');
    let blank = |c: char| if c.is_whitespace() { ' ' } else { c };
    text.chars().map(blank).filter(|c| !c.is_control() && !steers(*c) && !forbidden(*c)).collect()
}

/// How wide a text comes out, in mm. A character that the typeface lacks counts as wide as it is high.
pub fn width(text: &str, size: f64, voice: Voice) -> f64 {
    let face = voice.typeface();
    let scale = size * voice.share() / face.units_per_em();
    let whole = |text: &str| face.shape(text, true).ok().map(|all| all.iter().map(|glyph| glyph.advance).sum::<f64>());
    let one = |c: char| {
        whole(c.encode_utf8(&mut [0; 4])).unwrap_or(if is_combining_mark(c) { 0.0 } else { face.units_per_em() })
    };
    // Shaping fails as a whole where a single character is lacking. Measured one by one the others lose their
    // kerning, and the text keeps about its width.
    scale * whole(text).unwrap_or_else(|| text.chars().map(one).sum())
}

/// A piece of a line that was set: its text, its voice, where it begins on the line and how wide it is, in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct SetText {
    text: String,
    voice: Voice,
    x: f64,
    wide: f64,
}

/// A piece of text without blanks, and whether a blank goes before it.
struct Atom {
    text: String,
    voice: Voice,
    wide: f64,
    apart: bool,
}

/// Lines of text no wider than `room`; always at least one.
pub fn wrapped(runs: &[TextRun], size: f64, room: f64) -> Vec<Vec<SetText>> {
    let blank = width(" ", size, Voice::Plain);
    let mut lines: Vec<Vec<Atom>> = vec![Vec::new()];
    let mut used = 0.0;
    for word in words(runs, size) {
        let wide: f64 = word.iter().map(|atom| atom.wide).sum();
        // A word too long even for an empty line must not leave that line empty, hence the question whether anything
        // is on it.
        let before = if used > 0.0 { blank } else { 0.0 };
        if used > 0.0 && used + before + wide > room {
            lines.push(Vec::new());
            used = 0.0;
        }
        let parts = if wide > room { broken(word, size, room) } else { vec![word] };
        for (at, part) in parts.into_iter().enumerate() {
            if at > 0 {
                lines.push(Vec::new());
                used = 0.0;
            }
            used += if used > 0.0 { blank } else { 0.0 } + part.iter().map(|atom| atom.wide).sum::<f64>();
            if let Some(line) = lines.last_mut() {
                line.extend(part);
            }
        }
    }
    lines.into_iter().map(|line| pieces(line, size, blank)).collect()
}

/// The words of a text; one word may change its voice.
fn words(runs: &[TextRun], size: f64) -> Vec<Vec<Atom>> {
    let mut words: Vec<Vec<Atom>> = Vec::new();
    let mut apart = true;
    for run in runs {
        let text = shown(&run.text);
        for (at, part) in text.split(' ').enumerate() {
            apart = apart || at > 0;
            if part.is_empty() {
                continue;
            }
            let atom = Atom { text: part.to_owned(), voice: run.voice, wide: width(part, size, run.voice), apart };
            match words.last_mut().filter(|_| !apart) {
                Some(word) => word.push(atom),
                None => words.push(vec![atom]),
            }
            apart = false;
        }
    }
    words
}

/// A word too long for a line, in parts that are not.
fn broken(word: Vec<Atom>, size: f64, room: f64) -> Vec<Vec<Atom>> {
    let mut parts: Vec<Vec<Atom>> = vec![Vec::new()];
    let mut used = 0.0;
    for atom in word {
        let mut rest = String::new();
        let mut apart = atom.apart;
        for letter in atom.text.chars() {
            let longer = format!("{rest}{letter}");
            // A part holds one letter at least, or a narrow room would never end; and an accent stays with its
            // letter.
            if used + width(&longer, size, atom.voice) > room && !rest.is_empty() && !is_combining_mark(letter) {
                let wide = width(&rest, size, atom.voice);
                let text = std::mem::replace(&mut rest, letter.to_string());
                if let Some(part) = parts.last_mut() {
                    part.push(Atom { text, voice: atom.voice, wide, apart });
                }
                parts.push(Vec::new());
                (used, apart) = (0.0, true);
            } else {
                rest = longer;
            }
        }
        let wide = width(&rest, size, atom.voice);
        used += wide;
        if let Some(part) = parts.last_mut() {
            part.push(Atom { text: rest, voice: atom.voice, wide, apart });
        }
    }
    parts
}

/// Neighbours of one voice as one piece, each at its place.
fn pieces(line: Vec<Atom>, size: f64, blank: f64) -> Vec<SetText> {
    let mut pieces: Vec<SetText> = Vec::new();
    for (at, atom) in line.into_iter().enumerate() {
        let apart = atom.apart && at > 0;
        let end = pieces.last().map_or(0.0, |piece| piece.x + piece.wide);
        match pieces.last_mut().filter(|piece| piece.voice == atom.voice) {
            Some(piece) => {
                piece.text.push_str(if apart { " " } else { "" });
                piece.text.push_str(&atom.text);
                // Measured as a whole, for neighbours kern.
                piece.wide = width(&piece.text, size, piece.voice);
            }
            None => {
                let x = end + if apart { blank } else { 0.0 };
                pieces.push(SetText { text: atom.text, voice: atom.voice, x, wide: atom.wide });
            }
        }
    }
    pieces
}

/// Where a line of text begins, or ends, or has its middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// How a line of text is set.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// Size in mm.
    pub size: f64,
    /// Its voice.
    pub voice: Voice,
    /// Its colour.
    pub ink: Tone,
    /// What of it stands at the place given.
    pub anchor: Anchor,
}

impl Style {
    /// Plain text of this size that begins where it is placed.
    pub fn of(size: f64) -> Self {
        Self { size, voice: Voice::Plain, ink: INK, anchor: Anchor::Start }
    }

    /// The same, bold.
    #[must_use]
    pub fn strong(self) -> Self {
        Self { voice: Voice::Strong, ..self }
    }

    /// The same in another colour.
    #[must_use]
    pub fn ink(self, ink: Tone) -> Self {
        Self { ink, ..self }
    }

    /// The same with its middle where it is placed.
    #[must_use]
    pub fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }

    /// The same with its end where it is placed.
    #[must_use]
    pub fn end(self) -> Self {
        Self { anchor: Anchor::End, ..self }
    }
}

/// How high a line of this size is, in mm.
pub fn line_height(size: f64) -> f64 {
    size * LEADING
}

/// One line of text, its baseline at y, no wider than `room`: made smaller where it must be, and cut short where that
/// would make it too small.
pub fn line(text: &str, style: Style, (x, y): (f64, f64), room: f64) -> Text {
    let (text, size) = fitted(&shown(text), style, room);
    let wide = width(&text, size, style.voice);
    let left = match style.anchor {
        Anchor::Start => x,
        Anchor::Middle => x - wide / 2.0,
        Anchor::End => x - wide,
    };
    element(&text, style.voice, size, style.ink, (left, y, wide))
}

fn fitted(text: &str, style: Style, room: f64) -> (String, f64) {
    let wide = width(text, style.size, style.voice);
    if wide <= room {
        return (text.to_owned(), style.size);
    }
    // First smaller, then shorter: words that are a little small can still be read whole.
    let share = (room / wide).max(LEAST_SHRINK);
    let size = style.size * share;
    if wide * share <= room {
        return (text.to_owned(), size);
    }
    let letters: Vec<char> = text.chars().collect();
    let short = |count: usize| letters.iter().take(count).collect::<String>().trim_end().to_owned() + CUT;
    // Width grows with every letter, so halving finds the longest beginning that fits in some ten steps.
    let (mut fits, mut not) = (0, letters.len());
    while not - fits > 1 {
        let half = usize::midpoint(fits, not);
        if width(&short(half), size, style.voice) <= room { fits = half } else { not = half }
    }
    (short(fits), size)
}

/// A line that was wrapped, its baseline at y.
pub fn placed(line: &[SetText], size: f64, ink: Tone, (x, y): (f64, f64)) -> Group {
    let each = line.iter().map(|piece| element(&piece.text, piece.voice, size, ink, (x + piece.x, y, piece.wide)));
    each.fold(Group::new(), Group::add)
}

fn element(text: &str, voice: Voice, size: f64, ink: Tone, (x, y, wide): (f64, f64, f64)) -> Text {
    // Live text and not outlines, so that it can be searched, copied and read aloud. `textLength` keeps it in its
    // room where a viewer lacks DejaVu.
    let set = Text::new(text)
        .set("x", plain(x, 3))
        .set("y", plain(y, 3))
        .set("font-size", plain(size * voice.share(), 3))
        .set("fill", hex(ink));
    let set = match voice {
        Voice::Plain => set,
        Voice::Strong => set.set("font-weight", "bold"),
        Voice::Code => set.set("font-family", "'DejaVu Sans Mono', monospace"),
    };
    if text.trim().is_empty() {
        set
    } else {
        set.set("textLength", plain(wide, 3)).set("lengthAdjust", "spacingAndGlyphs")
    }
}

/// Where the baseline of a line stands below its top, in mm.
pub fn baseline(size: f64) -> f64 {
    size * BASELINE
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advances of DejaVu Sans 2.37, read from its `hmtx` table with fontTools: `H` 1540, `i` 569, of 2048 to the em; its
    /// monospaced sister gives every letter 1233.
    #[test]
    fn widths_are_those_of_the_font() {
        assert!((width("HH", 2.048, Voice::Plain) - 3.080).abs() < 1e-9);
        assert!((width("i", 2.048, Voice::Plain) - 0.569).abs() < 1e-9);
        assert!((width("iH", 2.048 / 0.92, Voice::Code) - 2.466).abs() < 1e-9);
    }

    fn texts(lines: &[Vec<SetText>]) -> Vec<String> {
        lines.iter().map(|line| line.iter().map(|piece| piece.text.as_str()).collect::<Vec<_>>().join("|")).collect()
    }

    #[test]
    fn no_line_is_wider_than_its_room_whatever_stands_in_it() {
        let long = "m".repeat(500);
        let many = "word ".repeat(100);
        let mixed = "שלום, dünne Wörter: 漢字漢字漢字漢字漢字漢字漢字漢字漢字 и слово";
        for text in [long.as_str(), many.as_str(), mixed, "", " ", "\u{202e}turned\u{202c}"] {
            for line in wrapped(&[TextRun::plain(text)], BODY, 30.0) {
                assert!(line.last().is_none_or(|piece| piece.x + piece.wide <= 30.0 + 1e-6), "{line:?}");
            }
        }
        let kept: String = texts(&wrapped(&[TextRun::plain(long.clone())], BODY, 30.0)).concat();
        assert_eq!(kept, long, "nothing is lost");
    }

    #[test]
    fn words_keep_together_where_their_voice_changes() {
        let lines = wrapped(&marked("the ring `points`, and then more"), BODY, 200.0);
        assert_eq!(texts(&lines), ["the ring|points|, and then more"]);
        let gap = lines[0][2].x - (lines[0][1].x + lines[0][1].wide);
        assert!(gap.abs() < 1e-9, "a comma follows its word at once");
    }

    #[test]
    fn a_line_that_is_too_long_is_made_smaller_and_then_cut_short() {
        let fits = fitted("twelve letters", Style::of(3.0), 200.0);
        assert_eq!(fits, ("twelve letters".to_owned(), 3.0));
        let (text, size) = fitted("twelve letters", Style::of(3.0), 20.0);
        assert_eq!(text, "twelve letters");
        assert!(size < 3.0 && width(&text, size, Voice::Plain) <= 20.0 + 1e-9);
        let (text, size) = fitted(&"x".repeat(500), Style::of(3.0), 20.0);
        assert!(text.ends_with(CUT) && width(&text, size, Voice::Plain) <= 20.0);
        assert!((size - 3.0 * LEAST_SHRINK).abs() < 1e-9);
    }

    #[test]
    fn only_what_can_be_seen_is_kept() {
        assert_eq!(shown("a\u{202e}b\u{0}c\td\ne"), "abc d e");
        assert_eq!(shown("<b>&\"'"), "<b>&\"'");
    }
}
