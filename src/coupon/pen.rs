//! Drawing a card, piece by piece.

use kurbo::{Affine, BezPath, Rect, RoundedRect, Shape as _};

use super::{Card, Drawn, Job};
use crate::design::Stock;
use crate::geometry::shapes;
use crate::lettering::{Align, Setting, Typeface};

/// Room between a card's edge and what is on it, in mm.
pub(super) const RIM: f64 = 5.0;
/// Cap height of a card's name, in mm.
const NAME: f64 = 3.0;
/// Room that a card's name takes at its top, in mm.
pub(super) const HEAD: f64 = NAME + 4.0;
/// Cap height of the numbers, in mm.
pub(super) const NUMBER: f64 = 2.2;
/// Corner radius of a card, in mm.
const CORNER: f64 = 3.0;
/// As dark as the stock goes.
pub(super) const DARK: Job = Job::Engrave { tone: 1.0 };

/// Collects what is drawn on one card.
pub(super) struct Pen {
    typeface: Typeface,
    drawn: Vec<Drawn>,
}

impl Pen {
    pub(super) fn new() -> Self {
        Self { typeface: Typeface::embedded(), drawn: Vec::new() }
    }

    /// The card of this size, its name and its stock's written at the top, its edge cut last.
    pub(super) fn card(mut self, name: &str, stock: &Stock, size: (f64, f64)) -> Card {
        let title = format!("{name}, {}", stock.name);
        self.text(&title, NAME, Align::Start, (RIM, size.1 - RIM - NAME / 2.0), size.0 - 2.0 * RIM);
        let edge = RoundedRect::new(0.0, 0.0, size.0, size.1, CORNER).to_path(1e-3);
        self.path(Job::CutOut, &format!("edge of card {name}"), edge);
        Card { name: name.to_owned(), size, drawn: self.drawn }
    }

    pub(super) fn path(&mut self, job: Job, caption: &str, path: BezPath) {
        self.drawn.push(Drawn { job, caption: caption.to_owned(), path });
    }

    /// A rectangle from its lower left corner.
    pub(super) fn rectangle(&mut self, job: Job, caption: &str, (x, y): (f64, f64), (width, height): (f64, f64)) {
        self.path(job, caption, Rect::new(x, y, x + width, y + height).to_path(1e-3));
    }

    /// A disc about its centre; nothing where there can be none.
    pub(super) fn disc(&mut self, job: Job, caption: &str, centre: (f64, f64), diameter: f64) {
        if let Ok(disc) = shapes::circle(diameter / 2.0) {
            self.path(job, caption, disc.transformed(Affine::translate(centre)).path().clone());
        }
    }

    /// A number or a few words about their middle, no wider than `room`.
    pub(super) fn number(&mut self, words: &str, at: (f64, f64), room: f64) {
        self.text(words, NUMBER, Align::Middle, at, room);
    }

    /// Words that begin at a point, no wider than `room`.
    pub(super) fn words(&mut self, words: &str, at: (f64, f64), room: f64) {
        self.text(words, NUMBER, Align::Start, at, room);
    }

    /// Letters that the built-in typeface lacks leave the words out; the drawing's captions still hold them.
    fn text(&mut self, words: &str, height: f64, align: Align, at: (f64, f64), room: f64) {
        let setting = Setting { align, fit_mm: Some(room), ..Setting::of_height(height) };
        if let Ok(word) = self.typeface.set(words, &setting) {
            self.path(DARK, words, word.ink.transformed(Affine::translate(at)).path().clone());
        }
    }
}
