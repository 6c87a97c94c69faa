//! What all drawings have in common: their inks, words drawn as outlines, what stands moved, and titles.

use kurbo::Affine;
use svg::node::element::{Group, Path, Title};

use crate::design::{Tone, hex};
use crate::diagnostics::printable;
use crate::geometry::contours;
use crate::lettering::{Align, Setting, Typeface};
use crate::units::plain;

/// Ink of captions.
pub(crate) const INK: Tone = [0x22, 0x22, 0x22];
/// Ink of small print.
pub(crate) const GREY: Tone = [0x60, 0x60, 0x60];
/// Ink of whatever is wrong: vermilion of the set of Okabe and Ito, made darker for thin letters.
pub(crate) const WRONG: Tone = [0xb3, 0x40, 0x00];

/// The title of what is drawn, which viewers show where one points at it.
pub(crate) fn titled(text: &str) -> Title {
    Title::new(printable(text))
}

/// A drawing at a place, in mm.
pub(super) fn moved(drawn: Group, right: f64, down: f64) -> Group {
    Group::new().set("transform", format!("translate({} {})", plain(right, 3), plain(down, 3))).add(drawn)
}

/// Words of a sheet, drawn as outlines.
pub(crate) struct Lettering(pub(super) Typeface);

impl Lettering {
    /// In the built-in typeface.
    pub(crate) fn embedded() -> Self {
        Self(Typeface::embedded())
    }

    /// A line of text as outlines, its left end at x, the middle of its capitals at y, made smaller where wider than
    /// the room. A character that the typeface lacks becomes a question mark; the others stay.
    pub(crate) fn line(&self, text: &str, height: f64, ink: Tone, (x, y, room): (f64, f64, f64)) -> Option<Path> {
        let setting = Setting { align: Align::Start, fit_mm: Some(room), ..Setting::of_height(height) };
        let has = |c: char| c.is_whitespace() || self.0.set(c.encode_utf8(&mut [0; 4]), &setting).is_ok();
        let plainer = || -> String { text.chars().map(|c| if has(c) { c } else { '?' }).collect() };
        let word = self.0.set(text, &setting).or_else(|_| self.0.set(&plainer(), &setting)).ok()?;
        let data = contours(word.ink.path(), Affine::translate((x, y)) * Affine::FLIP_Y).join(" ");
        Some(Path::new().set("d", data).set("fill", hex(ink)))
    }
}
