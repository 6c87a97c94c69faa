//! Laying pieces on as few boards as possible.
//!
//! Cheap patterns come first, dearer searches only where they could save a board ([`bound`]): boxes in rows ([`rows`]), lattices of
//! one outline ([`lattice`]), small pieces in the holes of large ones ([`holes`]), and a search that takes one board away and
//! pushes what overlaps apart ([`squeeze`]).
//! No layout leaves before a second engine has found its pieces apart ([`verify`]).
//!
//! How two outlines may lie to one another is known from their no-fit polygon ([`nofit`]), so that the searches ask
//! for one signed distance where a collision engine would compare outlines, and in double precision. Everything is
//! counted in steps and never in seconds: the same pieces give the same layout on any machine.

mod bound;
mod form;
mod holes;
mod lattice;
mod nofit;
mod rows;
mod squeeze;
mod verify;

use kurbo::{Affine, Rect};

use crate::geometry::Region;
use crate::limits::SEARCHED_PARTS;
use form::Kinds;
pub(super) use form::hull;

/// Something to be laid: a part, or a part with its holder.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its finished outer edge as it would lie unturned, in mm.
    pub outline: Region,
    /// How it may be turned.
    pub turns: Turns,
    /// Holes inside the outline that other pieces may be cut out of.
    pub holes: Region,
    /// Whether it may itself be laid in a hole.
    pub may_be_guest: bool,
}

impl Piece {
    /// A piece with no holes to be used, which is laid in none.
    pub fn whole(outline: Region, turns: Turns) -> Self {
        Self { outline, turns, holes: Region::empty(), may_be_guest: false }
    }
}

/// How a piece may be turned on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// By any angle.
    Free,
    /// By half a turn: its grain must run along the board's.
    Half,
}

/// The board to lay pieces on. All lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Least distance of a finished edge from the board's edge.
    pub margin: f64,
    /// Least distance between finished edges.
    pub gap: f64,
    /// Places to be kept free, on the board; parts keep the gap to them.
    pub keep_out: Region,
}

impl Sheet {
    /// Where pieces may lie.
    fn inside(&self) -> Rect {
        Rect::new(0.0, 0.0, self.width, self.height).inset(-self.margin)
    }

    /// The area that pieces and half the gap round each share, in mm².
    fn room_area(&self) -> f64 {
        let room = self.inside().inflate(self.gap / 2.0, self.gap / 2.0);
        room.width().max(0.0) * room.height().max(0.0)
    }
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
    /// The boards needed, each with its placements, lowest first, those level from left to right.
    pub boards: Vec<Vec<Placement>>,
    /// Pieces that fit no board, by index.
    pub too_large: Vec<usize>,
    /// No layout whatever could do with fewer boards, by area alone.
    pub least_boards: usize,
}

/// How hard a layout is searched for: tries to save each board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Effort(pub u32);

impl Default for Effort {
    fn default() -> Self {
        Self(6)
    }
}

/// Lays every piece. The same pieces in the same order with the same effort always give the same layout.
pub fn lay(pieces: &[Piece], sheet: &Sheet, effort: Effort) -> Laid {
    let mut laid = rows::lay(pieces, sheet);
    let mut fits = vec![true; pieces.len()];
    for at in &laid.too_large {
        fits.get_mut(*at).into_iter().for_each(|fits| *fits = false);
    }
    let fitting: Vec<usize> = fits.iter().enumerate().filter(|(_, fits)| **fits).map(|(at, _)| at).collect();
    laid.least_boards = bound::by_area(fitting.iter().filter_map(|at| pieces.get(*at)), sheet);
    let fewer = |laid: &Laid, fewest: usize| laid.boards.len() > fewest && effort > Effort(0);
    if fewer(&laid, laid.least_boards) {
        let kinds = Kinds::of(pieces, &fitting, sheet);
        let fewest = laid.least_boards.max(bound::by_centres(pieces, &kinds, sheet)).max(1);
        if fewer(&laid, fewest)
            && let Some(boards) = lattice::boards(pieces, &kinds, sheet)
        {
            take(&mut laid, boards, pieces, sheet);
        }
        if fewer(&laid, fewest) {
            take(&mut laid, with_holes(pieces, &fitting, sheet, effort), pieces, sheet);
        }
        if fewer(&laid, fewest) && fitting.len() <= SEARCHED_PARTS {
            let tried = squeeze::boards(&kinds, sheet, fewest..laid.boards.len(), effort);
            tried.into_iter().for_each(|boards| take(&mut laid, boards, pieces, sheet));
        }
    }
    laid.boards.iter_mut().for_each(|board| in_order(board, pieces));
    laid
}

/// The boards that are needed where small pieces are cut out of the holes of large ones; empty where none are.
fn with_holes(pieces: &[Piece], fitting: &[usize], sheet: &Sheet, effort: Effort) -> Vec<Vec<Placement>> {
    let guests = holes::guests(pieces, fitting, sheet);
    if guests.is_empty() {
        return Vec::new();
    }
    let rest: Vec<usize> =
        fitting.iter().filter(|at| guests.iter().all(|guest| guest.piece() != **at)).copied().collect();
    let left = rest.iter().filter_map(|at| pieces.get(*at));
    let left: Vec<Piece> = left.map(|piece| Piece::whole(piece.outline.clone(), piece.turns)).collect();
    let named = |it: Placement| rest.get(it.piece).map(|piece| Placement { piece: *piece, at: it.at });
    let boards = lay(&left, sheet, effort).boards.into_iter();
    holes::seated(boards.map(|board| board.into_iter().filter_map(named).collect()).collect(), &guests)
}

/// Takes the boards where they are fewer and the second engine finds them sound.
fn take(laid: &mut Laid, boards: Vec<Vec<Placement>>, pieces: &[Piece], sheet: &Sheet) {
    if !boards.is_empty() && boards.len() < laid.boards.len() && verify::is_sound(&boards, pieces, sheet) {
        laid.boards = boards;
    }
}

/// Lowest first, those level from left to right.
fn in_order(board: &mut [Placement], pieces: &[Piece]) {
    let corner = |it: &Placement| {
        let bounds = pieces.get(it.piece).and_then(|piece| piece.outline.transformed(it.at).bounds());
        let corner = bounds.unwrap_or_default().origin();
        [(corner.y * 1e3).round(), (corner.x * 1e3).round()]
    };
    board.sort_by_cached_key(|it| corner(it).map(|value| value as i64));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Rule, shapes};

    /// Two half squares that share a board only where the search turns one against the other, and crumbs beside them.
    fn boards(parts: usize) -> usize {
        let half = kurbo::BezPath::from_svg("M0 0 L50 0 L0 50 Z").unwrap();
        let half = Region::from_path(&half, Rule::NonZero).unwrap();
        let crumb = shapes::rectangle(0.5, 0.5, 0.0).unwrap();
        let pieces = std::iter::repeat_n(half, 2).chain(std::iter::repeat_n(crumb, parts - 2));
        let pieces: Vec<Piece> = pieces.map(|outline| Piece::whole(outline, Turns::Free)).collect();
        let sheet = Sheet { width: 62.0, height: 62.0, margin: 0.0, gap: 0.5, keep_out: Region::empty() };
        lay(&pieces, &sheet, Effort::default()).boards.len()
    }

    #[test]
    fn a_layout_is_searched_for_so_many_parts() {
        assert_eq!((boards(SEARCHED_PARTS), boards(SEARCHED_PARTS + 1)), (1, 2));
    }
}
