//! Pages of paper in true millimetres: one type scale, margins, a foot that says what they are of and at which revision.
//!
//! Every page is an SVG; all printed forms, PDF and PNG, are made from those same SVGs.

mod flow;
mod pdf;
mod print;
mod tags;
pub mod text;

use svg::Document;
use svg::node::element::{Group, Line, Rectangle};

use super::drawing::{GREY, INK, moved, titled};
use crate::design::{Tone, hex};
use crate::units::plain;
use text::{SMALL, Style, line};

pub use flow::{Flow, Mark};
pub use print::{pdf, png, sheet_pdf};
pub use tags::Tag;

/// Width of a thin line, in mm.
pub const THIN: f64 = 0.18;
/// Width of a thick line, in mm: twice a thin one, as ISO 128-2 has it for one drawing.
pub const THICK: f64 = 0.36;
/// Kept free at every edge of a page, in mm.
const MARGIN: f64 = 12.0;
/// Height of the foot of a page, in mm.
const FOOT: f64 = 8.0;
/// Between two pages of a sheet, in mm.
const BETWEEN: f64 = 6.0;

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216)
    #[default]
    A4,
    /// 8.5 in by 11 in (ANSI/ASME Y14.1, size A)
    Letter,
}

impl Paper {
    /// Width and height, in mm.
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// What people call it.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }

    /// Width and height of what is printed on, between the margins and above the foot, in mm.
    pub fn room(self) -> (f64, f64) {
        let (wide, high) = self.size();
        (wide - 2.0 * MARGIN, high - 2.0 * MARGIN - FOOT)
    }
}

/// What the pages are of.
#[derive(Clone, Debug)]
pub struct About {
    /// The design's title, with its variant.
    pub title: String,
    /// What the pages are: "Proof", "Run sheet".
    pub kind: &'static str,
    /// The revision in its short form.
    pub revision: String,
    /// Their paper.
    pub paper: Paper,
}

/// Pages that were set.
#[derive(Clone, Debug)]
pub struct Pages {
    /// What they are of.
    pub about: About,
    bodies: Vec<Group>,
    /// What is drawn, in the order in which it is read.
    tags: Vec<Tag>,
}

impl Pages {
    /// How many pages there are.
    pub fn count(&self) -> usize {
        self.bodies.len()
    }

    /// Each page as an SVG 1.1 document in millimetres.
    pub fn each(&self) -> Vec<String> {
        let (wide, high) = self.about.paper.size();
        let page = |at: usize| document(&self.about, (wide, high)).add(self.page(at));
        (0..self.count()).map(|at| written(&page(at))).collect()
    }

    /// All pages in one SVG 1.1 document, one below the other.
    pub fn sheet(&self) -> String {
        let (wide, high) = self.about.paper.size();
        #[allow(clippy::cast_precision_loss, reason = "a handful of pages")]
        let down = |at: usize| at as f64 * (high + BETWEEN);
        let size = (wide, down(self.count()) - BETWEEN);
        let pages = (0..self.count()).map(|at| moved(self.page(at), 0.0, down(at)));
        written(&pages.fold(document(&self.about, size), Document::add))
    }

    fn page(&self, at: usize) -> Group {
        let (wide, high) = self.about.paper.size();
        let paper = Rectangle::new().set("width", plain(wide, 3)).set("height", plain(high, 3)).set("fill", "#ffffff");
        let body = self.bodies.get(at).cloned().unwrap_or_default();
        let foot = foot(&self.about, at + 1, self.count());
        Group::new().add(paper).add(moved(body, MARGIN, MARGIN)).add(moved(foot, MARGIN, high - MARGIN - FOOT))
    }
}

fn document(about: &About, (wide, high): (f64, f64)) -> Document {
    let (wide, high) = (plain(wide, 3), plain(high, 3));
    Document::new()
        .set("version", "1.1")
        // SVG 1.1 knows references by `xlink:href` alone, and not every program that opens a proof reads SVG 2.
        .set("xmlns:xlink", "http://www.w3.org/1999/xlink")
        .set("width", format!("{wide}mm"))
        .set("height", format!("{high}mm"))
        .set("viewBox", format!("0 0 {wide} {high}"))
        .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
        .add(titled(&format!("{}: {}", about.kind, text::shown(&about.title))))
}

fn written(document: &Document) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// What the page is of, at which revision, and which of how many.
fn foot(about: &About, page: usize, of: usize) -> Group {
    let (wide, _) = about.paper.room();
    let y = FOOT - 1.0;
    let right = format!("revision {} · {} · page {page} of {of}", about.revision, about.paper.name());
    let taken = text::width(&right, SMALL, text::Voice::Plain);
    let left = format!("{}: {}", about.kind, about.title);
    Group::new()
        .add(rule((0.0, FOOT - 5.0), (wide, FOOT - 5.0), THIN, INK))
        .add(line(&left, Style::of(SMALL).ink(GREY), (0.0, y), wide - taken - 4.0))
        .add(line(&right, Style::of(SMALL).ink(GREY).end(), (wide, y), wide / 2.0))
}

/// A straight line, in mm.
pub fn rule((x1, y1): (f64, f64), (x2, y2): (f64, f64), width: f64, ink: Tone) -> Line {
    Line::new()
        .set("x1", plain(x1, 3))
        .set("y1", plain(y1, 3))
        .set("x2", plain(x2, 3))
        .set("y2", plain(y2, 3))
        .set("stroke", hex(ink))
        .set("stroke-width", plain(width, 3))
}
