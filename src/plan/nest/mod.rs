//! Laying items on as few boards as possible.
//!
//! Cheap patterns come first, dearer searches only where they could save a board ([`bound`]): boxes in rows ([`rows`]), lattices of
//! one outline ([`lattice`]), small items in the holes of large ones ([`holes`]), and a search that takes one board away and
//! pushes what overlaps apart ([`overlap_search`]).
//! No layout leaves before a second engine has found its items apart ([`verify`]), rows as little as any other.
//!
//! How two outlines may lie to one another is known from their no-fit polygon ([`nofit`]), so that the searches ask
//! for one signed distance where a collision engine would compare outlines, and in double precision. Everything is
//! counted in steps and never in seconds: the same items give the same layout on any machine.

mod bound;
mod holes;
mod item_types;
mod lattice;
mod model;
mod nofit;
mod overlap_search;
mod rows;
mod verify;

use crate::limits::SEARCHED_PARTS;
use item_types::ItemTypes;
pub use model::{Effort, Item, Layout, Placement, Sheet, Turns};
use verify::Verifier;

/// Lays every item. The same items in the same order with the same effort always give the same layout.
pub fn nest(items: &[Item], sheet: &Sheet, effort: Effort) -> Layout {
    let mut layout = only_sound(rows::layout(items, sheet), items, sheet);
    let mut fits = vec![true; items.len()];
    for at in &layout.too_large {
        fits.get_mut(*at).into_iter().for_each(|fits| *fits = false);
    }
    let fitting: Vec<usize> = fits.iter().enumerate().filter(|(_, fits)| **fits).map(|(at, _)| at).collect();
    layout.least_boards = bound::by_area(fitting.iter().filter_map(|at| items.get(*at)), sheet);
    let fewer = |layout: &Layout, fewest: usize| layout.boards.len() > fewest && effort > Effort(0);
    // From cheap to dear, and each only where a board could still be saved: patterns often reach the bound at once, and
    // a search over hundreds of items takes seconds where they take milliseconds.
    if fewer(&layout, layout.least_boards) {
        let types = ItemTypes::of(items, &fitting, sheet);
        let fewest = layout.least_boards.max(bound::by_centres(items, &types, sheet)).max(1);
        if fewer(&layout, fewest)
            && let Some(boards) = lattice::boards(items, &types, sheet)
        {
            take(&mut layout, boards, items, sheet);
        }
        if fewer(&layout, fewest) {
            take(&mut layout, with_holes(items, &fitting, sheet, effort), items, sheet);
        }
        if fewer(&layout, fewest) && fitting.len() <= SEARCHED_PARTS {
            let tried = overlap_search::boards(&types, sheet, fewest..layout.boards.len(), effort);
            tried.into_iter().for_each(|boards| take(&mut layout, boards, items, sheet));
        }
    }
    layout.boards.iter_mut().for_each(|board| in_order(board, items));
    layout
}

/// The same layout without what the second engine does not find sound: the items of such a board lie one to a board instead.
///
/// No items can make this happen, short of a fault of ours, so it has no finding of its own. What even by itself is not found
/// sound counts as fitting no board, which is an error and writes nothing: better no board than one that is cut wrong.
fn only_sound(mut layout: Layout, items: &[Item], sheet: &Sheet) -> Layout {
    let mut verifier = Verifier::new(items, sheet);
    let (sound, unsound): (Vec<_>, Vec<_>) = layout.boards.into_iter().partition(|board| verifier.is_sound(board));
    layout.boards = sound;
    for item in unsound.into_iter().flatten().map(|placement| placement.item) {
        let alone = items.get(item).map(|it| rows::layout(std::slice::from_ref(it), sheet).boards).unwrap_or_default();
        let alone: Vec<Placement> =
            alone.into_iter().flatten().map(|placement| Placement { item, ..placement }).collect();
        if alone.len() == 1 && verifier.is_sound(&alone) {
            layout.boards.push(alone);
        } else {
            layout.too_large.push(item);
        }
    }
    layout.too_large.sort_unstable();
    layout
}

/// The boards that are needed where small items are cut out of the holes of large ones; empty where none are.
///
/// Asked only where that may save a board. A guest is cut before its hole is and keeps the gap to its edge; what is
/// lifted out and turned is no guest, since its place would fall out with the hole's waste.
fn with_holes(items: &[Item], fitting: &[usize], sheet: &Sheet, effort: Effort) -> Vec<Vec<Placement>> {
    let guests = holes::guests(items, fitting, sheet);
    if guests.is_empty() {
        return Vec::new();
    }
    let rest: Vec<usize> =
        fitting.iter().filter(|at| guests.iter().all(|guest| guest.item() != **at)).copied().collect();
    let left = rest.iter().filter_map(|at| items.get(*at));
    // The hosts are laid whole, their holes forgotten, or laying them would begin with holes again.
    let left: Vec<Item> = left.map(|item| Item::whole(item.outline.clone(), item.turns)).collect();
    let named = |it: Placement| rest.get(it.item).map(|item| Placement { item: *item, at: it.at });
    let boards = nest(&left, sheet, effort).boards.into_iter();
    holes::seated(boards.map(|board| board.into_iter().filter_map(named).collect()).collect(), &guests)
}

/// Takes the boards where they are fewer and the second engine finds them sound.
fn take(layout: &mut Layout, boards: Vec<Vec<Placement>>, items: &[Item], sheet: &Sheet) {
    if !boards.is_empty() && boards.len() < layout.boards.len() && verify::are_sound(&boards, items, sheet) {
        layout.boards = boards;
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
    use kurbo::Affine;

    use super::*;
    use crate::geometry::{Region, Rule, shapes};

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

    /// A layout planted as rows might get it wrong: what overlaps, stands over the margin or is no item is never kept.
    #[test]
    fn a_false_layout_of_rows_is_not_kept() {
        let square = |side: f64| Item::whole(shapes::rectangle(side, side, 0.0).unwrap(), Turns::Free);
        let items = [square(20.0), square(20.0), square(20.0), square(70.0)];
        let sheet = Sheet { width: 60.0, height: 60.0, margin: 2.0, gap: 1.0, keep_out: Region::empty() };
        let at = |item: usize, x: f64| Placement { item, at: Affine::translate((x, 15.0)) };
        let kept = |boards: Vec<Vec<Placement>>| only_sound(Layout { boards, ..Layout::default() }, &items, &sheet);
        let sound = vec![at(0, 15.0), at(1, 36.1)];
        assert_eq!(kept(vec![sound.clone()]).boards, std::slice::from_ref(&sound));
        // Half a millimetre apart on the first board, sound on the second: the first two get boards of their own.
        let found = kept(vec![vec![at(0, 15.0), at(1, 35.5)], vec![at(2, 15.0)]]);
        let lying: Vec<Vec<usize>> =
            found.boards.iter().map(|board| board.iter().map(|it| it.item).collect()).collect();
        assert_eq!((lying, found.too_large), (vec![vec![2], vec![0], vec![1]], vec![]));
        assert!(verify::are_sound(&found.boards, &items, &sheet));
        let over_the_margin = kept(vec![vec![at(0, 11.0)]]);
        assert!(over_the_margin.boards.len() == 1 && verify::are_sound(&over_the_margin.boards, &items, &sheet));
        assert_ne!(over_the_margin.boards[0], [at(0, 11.0)]);
        // What has no sound place at all, and what is no item, is on no board.
        let found = kept(vec![vec![at(3, 30.0)], vec![at(4, 30.0)]]);
        assert!(found.boards.is_empty() && found.too_large == [3, 4], "{found:?}");
    }

    #[test]
    fn a_layout_is_searched_for_so_many_parts() {
        assert_eq!((boards(SEARCHED_PARTS), boards(SEARCHED_PARTS + 1)), (1, 2));
    }
}
