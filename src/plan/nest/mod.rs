//! Laying items on as few boards as possible.
//!
//! Cheap patterns come first, dearer searches only where they could save a board ([`bound`]): boxes in rows ([`rows`]), lattices of
//! one outline ([`lattice`]), small items in the holes of large ones ([`holes`]), and a search that takes one board away and
//! pushes what overlaps apart ([`overlap_search`]).
//! No layout leaves before a second engine has found its items apart ([`verify`]).
//!
//! How two outlines may lie to one another is known from their no-fit polygon ([`nofit`]), so that the searches ask
//! for one signed distance where a collision engine would compare outlines, and in double precision. Everything is
//! counted in steps and never in seconds: the same items give the same layout on any machine.

mod bound;
mod holes;
mod item_types;
mod lattice;
mod nofit;
mod overlap_search;
mod rows;
mod verify;

use kurbo::{Affine, Rect};

use crate::geometry::Region;
use crate::limits::SEARCHED_PARTS;
use item_types::ItemTypes;
pub(super) use item_types::hull;

/// Something to be laid: a part, or a part with its holder.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its finished outer edge as it would lie unturned, in mm.
    pub outline: Region,
    /// How it may be turned.
    pub turns: Turns,
    /// Holes inside the outline that other items may be cut out of.
    pub holes: Region,
    /// Whether it may itself be laid in a hole.
    pub may_be_guest: bool,
}

impl Item {
    /// An item with no holes to be used, which is laid in none.
    pub fn whole(outline: Region, turns: Turns) -> Self {
        Self { outline, turns, holes: Region::empty(), may_be_guest: false }
    }
}

/// How an item may be turned on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// By any angle.
    Free,
    /// By half a turn: its grain must run along the board's.
    Half,
}

/// The board to lay items on. All lengths in mm.
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
    /// Where items may lie.
    fn inside(&self) -> Rect {
        Rect::new(0.0, 0.0, self.width, self.height).inset(-self.margin)
    }

    /// The area that items and half the gap round each share, in mm².
    fn room_area(&self) -> f64 {
        let room = self.inside().inflate(self.gap / 2.0, self.gap / 2.0);
        room.width().max(0.0) * room.height().max(0.0)
    }
}

/// Where an item was laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Its index among the items given.
    pub item: usize,
    /// From the item as given to the board: a turn, then a move; never mirrors.
    pub at: Affine,
}

/// What became of the items.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layout {
    /// The boards needed, each with its placements, lowest first, those level from left to right.
    pub boards: Vec<Vec<Placement>>,
    /// Items that fit no board, by index.
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

/// Lays every item. The same items in the same order with the same effort always give the same layout.
pub fn nest(items: &[Item], sheet: &Sheet, effort: Effort) -> Layout {
    let mut laid = rows::layout(items, sheet);
    let mut fits = vec![true; items.len()];
    for at in &laid.too_large {
        fits.get_mut(*at).into_iter().for_each(|fits| *fits = false);
    }
    let fitting: Vec<usize> = fits.iter().enumerate().filter(|(_, fits)| **fits).map(|(at, _)| at).collect();
    laid.least_boards = bound::by_area(fitting.iter().filter_map(|at| items.get(*at)), sheet);
    let fewer = |laid: &Layout, fewest: usize| laid.boards.len() > fewest && effort > Effort(0);
    if fewer(&laid, laid.least_boards) {
        let types = ItemTypes::of(items, &fitting, sheet);
        let fewest = laid.least_boards.max(bound::by_centres(items, &types, sheet)).max(1);
        if fewer(&laid, fewest)
            && let Some(boards) = lattice::boards(items, &types, sheet)
        {
            take(&mut laid, boards, items, sheet);
        }
        if fewer(&laid, fewest) {
            take(&mut laid, with_holes(items, &fitting, sheet, effort), items, sheet);
        }
        if fewer(&laid, fewest) && fitting.len() <= SEARCHED_PARTS {
            let tried = overlap_search::boards(&types, sheet, fewest..laid.boards.len(), effort);
            tried.into_iter().for_each(|boards| take(&mut laid, boards, items, sheet));
        }
    }
    laid.boards.iter_mut().for_each(|board| in_order(board, items));
    laid
}

/// The boards that are needed where small items are cut out of the holes of large ones; empty where none are.
fn with_holes(items: &[Item], fitting: &[usize], sheet: &Sheet, effort: Effort) -> Vec<Vec<Placement>> {
    let guests = holes::guests(items, fitting, sheet);
    if guests.is_empty() {
        return Vec::new();
    }
    let rest: Vec<usize> =
        fitting.iter().filter(|at| guests.iter().all(|guest| guest.item() != **at)).copied().collect();
    let left = rest.iter().filter_map(|at| items.get(*at));
    let left: Vec<Item> = left.map(|item| Item::whole(item.outline.clone(), item.turns)).collect();
    let named = |it: Placement| rest.get(it.item).map(|item| Placement { item: *item, at: it.at });
    let boards = nest(&left, sheet, effort).boards.into_iter();
    holes::seated(boards.map(|board| board.into_iter().filter_map(named).collect()).collect(), &guests)
}

/// Takes the boards where they are fewer and the second engine finds them sound.
fn take(laid: &mut Layout, boards: Vec<Vec<Placement>>, items: &[Item], sheet: &Sheet) {
    if !boards.is_empty() && boards.len() < laid.boards.len() && verify::is_sound(&boards, items, sheet) {
        laid.boards = boards;
    }
}

/// Lowest first, those level from left to right.
fn in_order(board: &mut [Placement], items: &[Item]) {
    let corner = |it: &Placement| {
        let bounds = items.get(it.item).and_then(|item| item.outline.transformed(it.at).bounds());
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
        let items = std::iter::repeat_n(half, 2).chain(std::iter::repeat_n(crumb, parts - 2));
        let items: Vec<Item> = items.map(|outline| Item::whole(outline, Turns::Free)).collect();
        let sheet = Sheet { width: 62.0, height: 62.0, margin: 0.0, gap: 0.5, keep_out: Region::empty() };
        nest(&items, &sheet, Effort::default()).boards.len()
    }

    #[test]
    fn a_layout_is_searched_for_so_many_parts() {
        assert_eq!((boards(SEARCHED_PARTS), boards(SEARCHED_PARTS + 1)), (1, 2));
    }
}
