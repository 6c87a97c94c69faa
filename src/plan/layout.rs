//! Laying pieces on boards.
//!
//! [`lay`] is the whole of it: a cleverer nesting may stand behind it without anything else noticing.

use kurbo::{Affine, Rect, Vec2};

use crate::geometry::{Region, turn};
use crate::units::Angle;

/// Something to be laid: a part, or a part with its holder.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its finished outer edge as it would lie unturned, in mm.
    pub outline: Region,
    /// How it may be turned.
    pub turns: Turns,
}

/// How a piece may be turned on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// By any quarter turn.
    Quarter,
    /// By half a turn: its grain must run along the board's.
    Half,
}

/// The board to lay pieces on. All lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Least distance of a finished edge from the board's edge.
    pub margin: f64,
    /// Least distance between finished edges.
    pub gap: f64,
}

/// Where a piece was laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Its index among the pieces given.
    pub piece: usize,
    /// From the piece as given to the board: a turn, then a move; never mirrors.
    pub at: Affine,
}

/// What became of the pieces.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laid {
    /// The boards needed, each with its placements, nearest row first, each row from left to right.
    pub boards: Vec<Vec<Placement>>,
    /// Pieces that fit no board, by index.
    pub too_large: Vec<usize>,
}

/// Lays every piece, in rows of boxes: the tallest first, each into the first row with room for it.
///
/// The same pieces in the same order always give the same layout.
pub fn lay(pieces: &[Piece], sheet: &Sheet) -> Laid {
    let mut laid = Laid::default();
    let mut boxes = Vec::new();
    for (index, piece) in pieces.iter().enumerate() {
        match fitted(index, piece, sheet) {
            Some(fitted) => boxes.push(fitted),
            None => laid.too_large.push(index),
        }
    }
    boxes.sort_by(|a, b| {
        (b.size.y.total_cmp(&a.size.y)).then(b.size.x.total_cmp(&a.size.x)).then(a.piece.cmp(&b.piece))
    });
    let narrowest = boxes.iter().map(|it| it.size.x).fold(f64::INFINITY, f64::min);
    let mut rows = Rows { sheet, rows: Vec::new(), open: Vec::new(), tops: Vec::new() };
    for it in &boxes {
        rows.take(it, narrowest);
    }
    laid.boards = vec![Vec::new(); rows.tops.len()];
    for row in rows.rows {
        if let Some(board) = laid.boards.get_mut(row.board) {
            board.extend(row.placements);
        }
    }
    laid
}

/// A piece's box, turned so that it fits the sheet.
struct Fitted {
    piece: usize,
    turned: Affine,
    bounds: Rect,
    size: Vec2,
}

/// Upright where that fits, else turned by a quarter where that is allowed and fits.
fn fitted(piece: usize, given: &Piece, sheet: &Sheet) -> Option<Fitted> {
    let room = Vec2::new(sheet.width - 2.0 * sheet.margin, sheet.height - 2.0 * sheet.margin);
    let quarter = (given.turns == Turns::Quarter).then(|| turn(Angle::degrees(90.0)));
    [Some(Affine::IDENTITY), quarter].into_iter().flatten().find_map(|turned| {
        let bounds = given.outline.transformed(turned).bounds()?;
        let size = Vec2::new(bounds.width(), bounds.height());
        (size.x <= room.x + ROUNDING && size.y <= room.y + ROUNDING).then_some(Fitted { piece, turned, bounds, size })
    })
}

/// Sums of lengths are compared to within this, in mm: a piece as wide as its room fits.
const ROUNDING: f64 = 1e-9;

struct Row {
    board: usize,
    bottom: f64,
    height: f64,
    /// Where the next piece begins.
    next: f64,
    placements: Vec<Placement>,
}

struct Rows<'a> {
    sheet: &'a Sheet,
    rows: Vec<Row>,
    /// Rows that still have room for the narrowest piece.
    open: Vec<usize>,
    /// Where the next row begins, board by board.
    tops: Vec<f64>,
}

impl Rows<'_> {
    fn take(&mut self, it: &Fitted, narrowest: f64) {
        let right = self.sheet.width - self.sheet.margin + ROUNDING;
        let fits = |row: &Row| row.next + it.size.x <= right && it.size.y <= row.height + ROUNDING;
        let found = self.open.iter().copied().find(|&at| self.rows.get(at).is_some_and(fits));
        let at = found.unwrap_or_else(|| self.begin(it.size.y));
        if let Some(row) = self.rows.get_mut(at) {
            let corner = Vec2::new(row.next, row.bottom) - it.bounds.origin().to_vec2();
            row.placements.push(Placement { piece: it.piece, at: Affine::translate(corner) * it.turned });
            row.next += it.size.x + self.sheet.gap;
            if row.next + narrowest > right {
                self.open.retain(|&open| open != at);
            }
        }
    }

    /// A new row of this height, on the first board with room above its rows.
    fn begin(&mut self, height: f64) -> usize {
        let sheet = self.sheet;
        let top = sheet.height - sheet.margin + ROUNDING;
        let found = self.tops.iter().position(|&bottom| bottom + height <= top);
        let board = found.unwrap_or_else(|| {
            self.tops.push(sheet.margin);
            self.tops.len() - 1
        });
        let bottom = self.tops.get(board).copied().unwrap_or(sheet.margin);
        if let Some(next) = self.tops.get_mut(board) {
            *next = bottom + height + sheet.gap;
        }
        self.rows.push(Row { board, bottom, height, next: sheet.margin, placements: Vec::new() });
        self.open.push(self.rows.len() - 1);
        self.rows.len() - 1
    }
}
