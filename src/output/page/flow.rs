//! Text, lists, tables and drawings one below the other, on as many pages as they need.

use svg::node::element::{Group, Rectangle};

use super::super::drawing::{INK, moved};
use super::tags::{Tag, tagged};
use super::text::{BODY, HEAD, SMALL, SetText, Style, TextRun, Voice, baseline, line, line_height, placed, wrapped};
use super::{About, Pages, THICK, THIN, rule};
use crate::design::{Tone, hex};
use crate::units::plain;

/// Room for the mark before an item of a list, in mm.
const INDENT: f64 = 5.5;
/// Between two paragraphs or items, in mm.
const APART: f64 = 1.0;
/// Between a drawing at the side and the text beside it, in mm.
const GUTTER: f64 = 5.0;
/// A page that is filled to less than this share is a short one.
const SHORT: f64 = 0.25;
/// Lines of hair in tables.
const HAIR: Tone = [0x99, 0x99, 0x99];

/// What stands before an item of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A dot.
    Dot,
    /// A box to be ticked.
    Tick,
    /// A bar: the machine stops here, and a person acts.
    Bar,
}

/// Pages in the making.
#[derive(Clone)]
pub struct Flow {
    about: About,
    bodies: Vec<Group>,
    /// How much of the page is taken, in mm.
    down: f64,
    /// Kept free at the left and at the right.
    inset: f64,
    /// A drawing at the right: how far down it reaches, and its width with the gutter.
    beside: Option<(f64, f64)>,
    /// Size of text in tables, in mm.
    table: f64,
    /// What was drawn, in the order in which it is read.
    tags: Vec<Tag>,
    /// Pieces drawn so far.
    pieces: usize,
}

impl Flow {
    /// One empty page.
    pub fn new(about: About) -> Self {
        Self {
            about,
            bodies: vec![Group::new()],
            down: 0.0,
            inset: 0.0,
            beside: None,
            table: SMALL,
            tags: Vec::new(),
            pieces: 0,
        }
    }

    /// The same with text of this size in tables, in mm; small where nothing else is said.
    #[must_use]
    pub fn with_tables_of(self, size: f64) -> Self {
        Self { table: size, ..self }
    }

    /// Width that can be written on here, in mm.
    pub fn width(&self) -> f64 {
        let beside = self.beside.filter(|(bottom, _)| self.down < *bottom).map_or(0.0, |(_, wide)| wide);
        self.about.paper.room().0 - 2.0 * self.inset - beside
    }

    /// Height left on this page, in mm.
    pub fn left(&self) -> f64 {
        self.about.paper.room().1 - self.down
    }

    /// Which page is being set, from 1.
    pub fn page(&self) -> usize {
        self.bodies.len()
    }

    /// Whether the last of several pages holds so little that it should not be one of its own.
    pub fn ends_short(&self) -> bool {
        self.bodies.len() > 2 && self.down < SHORT * self.about.paper.room().1
    }

    /// Turns to a new page where less than this height is left, unless this one is empty.
    pub fn need(&mut self, height: f64) {
        // On an empty page nothing more is won: what is higher than a page would be turned over for ever.
        if self.left() < height && self.down > 0.0 {
            self.turn_over();
        }
    }

    /// A new page.
    pub fn turn_over(&mut self) {
        self.bodies.push(Group::new());
        (self.down, self.beside) = (0.0, None);
    }

    /// Leaves room, except at the top of a page.
    pub fn gap(&mut self, mm: f64) {
        if self.down > 0.0 {
            self.down += mm;
        }
    }

    /// Draws a piece of what was begun last, or an ornament where nothing was.
    fn draw(&mut self, drawn: Group) {
        let drawn = match self.tags.len().checked_sub(1) {
            Some(tag) => tagged(drawn, tag, self.pieces),
            None => drawn,
        };
        self.pieces += 1;
        if let Some(body) = self.bodies.last_mut() {
            *body = std::mem::take(body).add(drawn);
        }
    }

    /// A heading that begins here, one level below the last at the most.
    fn begin_heading(&mut self, level: u16, says: &str) {
        let last = self.tags.iter().rev().find_map(|tag| match tag {
            Tag::Heading { level, .. } => Some(*level),
            Tag::Words | Tag::Figure(_) => None,
        });
        let level = level.min(last.unwrap_or(0) + 1);
        let (page, down) = (self.bodies.len().saturating_sub(1), self.down);
        self.tags.push(Tag::Heading { level, says: says.to_owned(), page, down });
    }

    /// A drawing of this height, its upper left corner at the left margin; its text is read as it was drawn.
    pub fn put(&mut self, drawn: Group, height: f64) {
        self.need(height);
        self.tags.push(Tag::Words);
        self.place(drawn, height);
    }

    /// The same as a heading of this level.
    pub fn put_heading(&mut self, drawn: Group, height: f64, (level, says): (u16, &str)) {
        self.need(height);
        self.begin_heading(level, says);
        self.place(drawn, height);
    }

    /// The same as a picture that shows what is said.
    pub fn put_figure(&mut self, drawn: Group, height: f64, says: &str) {
        self.need(height);
        self.tags.push(Tag::Figure(says.to_owned()));
        self.place(drawn, height);
    }

    fn place(&mut self, drawn: Group, height: f64) {
        let placed = moved(drawn, self.inset, self.down);
        self.draw(placed);
        self.down += height;
    }

    /// A picture of this size at the right margin that shows what is said; what follows is set beside it.
    pub fn put_beside(&mut self, drawn: Group, (wide, high): (f64, f64), says: &str) {
        self.need(high);
        self.tags.push(Tag::Figure(says.to_owned()));
        self.draw(moved(drawn, self.about.paper.room().0 - wide, self.down));
        self.beside = Some((self.down + high + APART, wide + GUTTER));
    }

    /// Goes on below a drawing at the side.
    pub fn below(&mut self) {
        if let Some((bottom, _)) = self.beside.take() {
            self.down = self.down.max(bottom);
        }
    }

    /// The heading of a section, on the same page as what follows it, `follows` mm high.
    pub fn heading(&mut self, text: &str, follows: f64) {
        self.below();
        self.gap(2.6);
        let height = line_height(HEAD) + 1.5;
        self.need(height + follows);
        let wide = self.width();
        let words = line(text, Style::of(HEAD).strong(), (0.0, baseline(HEAD)), wide);
        let below = height - 1.0;
        let drawn = Group::new().add(words).add(rule((0.0, below), (wide, below), THICK, INK));
        self.put_heading(drawn, height, (2, text));
        self.down += APART;
    }

    /// A heading within a section.
    pub fn minor_heading(&mut self, text: &str, follows: f64) {
        self.below();
        self.gap(1.5);
        self.need(line_height(BODY) + follows);
        let words = line(text, Style::of(BODY).strong(), (0.0, baseline(BODY)), self.width());
        self.put_heading(Group::new().add(words), line_height(BODY) + 0.5, (3, text));
    }

    /// A paragraph of body text.
    pub fn paragraph(&mut self, runs: &[TextRun]) {
        self.lines(runs, BODY, INK, 0.0);
    }

    /// A paragraph in this size and colour.
    pub fn small(&mut self, runs: &[TextRun], ink: Tone) {
        self.lines(runs, SMALL, ink, 0.0);
    }

    /// An item of a list.
    pub fn item(&mut self, mark: Mark, runs: &[TextRun], size: f64) {
        // The mark is drawn before the words, and must stand on the page that their first line goes to.
        self.need(line_height(size));
        let top = self.down;
        // Capitals of DejaVu are some 0.73 of the size high, so their middle is 0.36 of it above the baseline.
        let middle = top + baseline(size) - 0.36 * size;
        let drawn = match mark {
            Mark::Dot => filled((1.4, middle - 0.45), (0.9, 0.9)),
            Mark::Tick => filled((0.2, middle - 1.3), (2.6, 2.6))
                .set("fill", "none")
                .set("stroke", hex(INK))
                .set("stroke-width", THIN),
            Mark::Bar => filled((0.0, top + 0.3), (1.2, line_height(size) - 0.2)),
        };
        let at = self.inset;
        self.tags.push(Tag::Words);
        self.draw(moved(Group::new().add(drawn), at, 0.0));
        self.pieces_of(runs, size, INK, INDENT);
    }

    fn lines(&mut self, runs: &[TextRun], size: f64, ink: Tone, indent: f64) {
        self.tags.push(Tag::Words);
        self.pieces_of(runs, size, ink, indent);
    }

    /// Lines of what was begun last.
    fn pieces_of(&mut self, runs: &[TextRun], size: f64, ink: Tone, indent: f64) {
        let high = line_height(size);
        for piece in wrapped(runs, size, self.width() - indent) {
            self.need(high);
            let drawn = placed(&piece, size, ink, (self.inset + indent, self.down + baseline(size)));
            self.draw(drawn);
            self.down += high;
        }
        self.down += APART;
    }

    /// A frame round what `inner` sets, where that fits on one page; else without a frame.
    pub fn framed(&mut self, height: f64, inner: impl FnOnce(&mut Self)) {
        self.need(height);
        let (page, top, inset) = (self.bodies.len(), self.down, self.inset);
        self.inset += 3.0;
        self.down += 2.5;
        inner(self);
        self.inset = inset;
        self.down += 1.5;
        // Over two pages a frame would be open at its ends, so it is left out.
        if page == self.bodies.len() {
            let wide = self.width();
            let frame = filled((inset, top), (wide, self.down - top)).set("fill", "none");
            self.draw(Group::new().add(frame.set("stroke", hex(INK)).set("stroke-width", 2.0 * THICK)));
        }
        self.down += APART;
    }

    /// A table of columns that take these shares of the width: its head stands again on every page that it goes on to. A cell wraps within its column.
    pub fn table(&mut self, columns: &[f64], head: &[&str], rows: &[Vec<Vec<TextRun>>]) {
        let shares: f64 = columns.iter().sum();
        let wide = self.width();
        let widths: Vec<f64> = columns.iter().map(|share| share / shares * wide).collect();
        let head: Vec<Vec<TextRun>> =
            head.iter().map(|text| vec![TextRun { text: (*text).to_owned(), voice: Voice::Strong }]).collect();
        self.row(&widths, &head, THICK);
        for row in rows {
            // Turned over here, since `put` would do so without setting the head again.
            if row_height(&self.cells(&widths, row), self.table) > self.left() && self.down > 0.0 {
                self.turn_over();
                self.row(&widths, &head, THICK);
            }
            self.row(&widths, row, THIN);
        }
        self.down += APART;
    }

    fn cells(&self, widths: &[f64], row: &[Vec<TextRun>]) -> Vec<Vec<Vec<SetText>>> {
        row.iter().zip(widths).map(|(cell, wide)| wrapped(cell, self.table, wide - 2.0)).collect()
    }

    /// A row longer than a page goes on to the next one.
    fn row(&mut self, widths: &[f64], row: &[Vec<TextRun>], below: f64) {
        let cells = self.cells(widths, row);
        let most = cells.iter().map(Vec::len).max().unwrap_or(0);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some dozen lines")]
        let of_page = ((self.about.paper.room().1 / line_height(self.table)) as usize).saturating_sub(2).max(1);
        for from in (0..most).step_by(of_page) {
            let part = |cell: &Vec<Vec<SetText>>| cell.iter().skip(from).take(of_page).cloned().collect::<Vec<_>>();
            let cells: Vec<Vec<Vec<SetText>>> = cells.iter().map(part).collect();
            let last = from + of_page >= most;
            self.lines_of_row(widths, &cells, last.then_some(below));
        }
    }

    fn lines_of_row(&mut self, widths: &[f64], cells: &[Vec<Vec<SetText>>], below: Option<f64>) {
        let size = self.table;
        let height = row_height(cells, size);
        let mut right = 0.0;
        let mut drawn = Group::new();
        for (cell, wide) in cells.iter().zip(widths) {
            let mut down = baseline(size) + 0.4;
            for piece in cell {
                drawn = drawn.add(placed(piece, size, INK, (right, down)));
                down += line_height(size);
            }
            right += wide;
        }
        let ink = if below.is_some_and(|below| below > THIN) { INK } else { HAIR };
        let drawn =
            below.into_iter().fold(drawn, |drawn, below| drawn.add(rule((0.0, height), (right, height), below, ink)));
        self.put(drawn, height);
    }

    /// The pages.
    pub fn finished(self) -> Pages {
        Pages { about: self.about, bodies: self.bodies, tags: self.tags }
    }
}

fn row_height(cells: &[Vec<Vec<SetText>>], size: f64) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
    let lines = cells.iter().map(Vec::len).max().unwrap_or(0) as f64;
    lines * line_height(size) + 1.0
}

fn filled((x, y): (f64, f64), (wide, high): (f64, f64)) -> Rectangle {
    Rectangle::new()
        .set("x", plain(x, 3))
        .set("y", plain(y, 3))
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("fill", hex(INK))
}
