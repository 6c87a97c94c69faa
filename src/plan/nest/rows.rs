//! Boxes in rows: quick, and never wrong.

use kurbo::{Affine, Rect, Vec2};

use crate::geometry::Region;

use super::model::{Item, Layout, Placement, Sheet, Turns};
use crate::plan::rings::quarter;

/// Lays every item, in rows of boxes: the tallest first, each into the first row with room for it.
///
/// The same items in the same order always give the same layout.
pub(super) fn layout(items: &[Item], sheet: &Sheet) -> Layout {
    let mut laid = Layout::default();
    let mut boxes = Vec::new();
    for (index, item) in items.iter().enumerate() {
        match fitted(index, item, sheet) {
            Some(fitted) => boxes.push(fitted),
            None => laid.too_large.push(index),
        }
    }
    boxes.sort_by(|a, b| (b.size.y.total_cmp(&a.size.y)).then(b.size.x.total_cmp(&a.size.x)).then(a.item.cmp(&b.item)));
    // A row that has no room left for the narrowest box is never asked again, or rows would cost the square of the
    // items.
    let narrowest = boxes.iter().map(|it| it.size.x).fold(f64::INFINITY, f64::min);
    let obstacles = sheet.keep_out.pieces().iter().filter_map(Region::bounds).collect();
    let mut rows = Rows { sheet, obstacles, rows: Vec::new(), open: Vec::new(), tops: Vec::new() };
    for it in &boxes {
        if !rows.take(it, narrowest) {
            laid.too_large.push(it.item);
        }
    }
    laid.too_large.sort_unstable();
    laid.boards = vec![Vec::new(); rows.tops.len()];
    for row in rows.rows {
        if let Some(board) = laid.boards.get_mut(row.board) {
            board.extend(row.placements);
        }
    }
    laid
}

/// An item's box, turned so that it fits the sheet.
struct Fitted {
    item: usize,
    turned: Affine,
    bounds: Rect,
    size: Vec2,
}

/// Upright where that fits, else turned by a quarter where that is allowed and fits.
fn fitted(item: usize, given: &Item, sheet: &Sheet) -> Option<Fitted> {
    let room = Vec2::new(sheet.width - 2.0 * sheet.margin, sheet.height - 2.0 * sheet.margin);
    let quarter = (given.turns == Turns::Free).then(|| quarter(1));
    [Some(Affine::IDENTITY), quarter].into_iter().flatten().find_map(|turned| {
        let bounds = given.outline.transformed(turned).bounds()?;
        let size = Vec2::new(bounds.width(), bounds.height());
        (size.x <= room.x + ROUNDING && size.y <= room.y + ROUNDING).then_some(Fitted { item, turned, bounds, size })
    })
}

/// Sums of lengths are compared to within this, in mm: an item as wide as its room fits.
const ROUNDING: f64 = 1e-9;

struct Row {
    board: usize,
    bottom: f64,
    height: f64,
    /// Where the next item begins.
    next: f64,
    placements: Vec<Placement>,
}

struct Rows<'a> {
    sheet: &'a Sheet,
    /// Boxes to be kept out of.
    obstacles: Vec<Rect>,
    rows: Vec<Row>,
    /// Rows that still have room for the narrowest item.
    open: Vec<usize>,
    /// Where the next row begins, board by board.
    tops: Vec<f64>,
}

impl Rows<'_> {
    /// Lays a box; false where not even an empty board has a place for it.
    fn take(&mut self, it: &Fitted, narrowest: f64) -> bool {
        let place =
            |row: &Row| self.place(row.next, row.bottom, it.size).filter(|_| it.size.y <= row.height + ROUNDING);
        let found = self.open.iter().find_map(|&at| self.rows.get(at).and_then(place).map(|x| (at, x)));
        let Some((at, x)) = found.or_else(|| self.begin(it.size)) else { return false };
        if let Some(row) = self.rows.get_mut(at) {
            let corner = Vec2::new(x, row.bottom) - it.bounds.origin().to_vec2();
            row.placements.push(Placement { item: it.item, at: Affine::translate(corner) * it.turned });
            row.next = x + it.size.x + self.sheet.gap;
            if row.next + narrowest > self.right() {
                self.open.retain(|&open| open != at);
            }
        }
        true
    }

    fn right(&self) -> f64 {
        self.sheet.width - self.sheet.margin + ROUNDING
    }

    /// The first x from `from` on at which a box stands clear of all obstacles and inside the margin.
    fn place(&self, from: f64, bottom: f64, size: Vec2) -> Option<f64> {
        let mut x = from;
        // Every step passes one obstacle for good.
        for _ in 0..=self.obstacles.len() {
            let it = Rect::new(x, bottom, x + size.x, bottom + size.y);
            let it = it.inflate(self.sheet.gap - ROUNDING, self.sheet.gap - ROUNDING);
            match self.obstacles.iter().find(|obstacle| obstacle.overlaps(it)) {
                Some(obstacle) => x = obstacle.x1 + self.sheet.gap,
                None => return (x + size.x <= self.right()).then_some(x),
            }
        }
        None
    }

    /// A new row for a box, on the first board with room above its rows, and where the box stands in it.
    fn begin(&mut self, size: Vec2) -> Option<(usize, f64)> {
        let open = self.tops.len();
        let bottoms = self.tops.iter().copied().chain([self.sheet.margin]).enumerate();
        let (board, bottom, x) = bottoms.into_iter().find_map(|(board, top)| {
            let (bottom, x) = self.row_at(top, size)?;
            Some((board, bottom, x))
        })?;
        if board == open {
            self.tops.push(self.sheet.margin);
        }
        if let Some(next) = self.tops.get_mut(board) {
            *next = bottom + size.y + self.sheet.gap;
        }
        let next = self.sheet.margin;
        self.rows.push(Row { board, bottom, height: size.y, next, placements: Vec::new() });
        self.open.push(self.rows.len() - 1);
        Some((self.rows.len() - 1, x))
    }

    /// The lowest bottom from `from` on for a row that has a place for the box, and the place.
    fn row_at(&self, from: f64, size: Vec2) -> Option<(f64, f64)> {
        let top = self.sheet.height - self.sheet.margin + ROUNDING;
        let mut bottoms: Vec<f64> =
            self.obstacles.iter().map(|it| it.y1 + self.sheet.gap).filter(|y| *y > from).collect();
        bottoms.push(from);
        bottoms.sort_by(f64::total_cmp);
        let fitting = bottoms.into_iter().filter(|bottom| bottom + size.y <= top);
        fitting.into_iter().find_map(|bottom| Some((bottom, self.place(self.sheet.margin, bottom, size)?)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn sheet(width: f64, height: f64) -> Sheet {
        Sheet { width, height, margin: 5.0, gap: 2.0, keep_out: Region::empty() }
    }

    fn items(sizes: &[(f64, f64)]) -> Vec<Item> {
        let item = |(width, height): &(f64, f64)| shapes::rectangle(*width, *height, 0.0).unwrap();
        sizes.iter().map(|size| Item::whole(item(size), Turns::Half)).collect()
    }

    /// The boards, each item with the lower left corner of its box.
    fn corners(items: &[Item], sheet: &Sheet) -> Vec<Vec<(usize, f64, f64)>> {
        let corner = |it: &Placement| {
            let bounds = items[it.item].outline.transformed(it.at).bounds().unwrap();
            (it.item, (bounds.x0 * 1e6).round() / 1e6, (bounds.y0 * 1e6).round() / 1e6)
        };
        layout(items, sheet).boards.iter().map(|board| board.iter().map(corner).collect()).collect()
    }

    /// By hand: rows of 30, 20 and 10 mm, 2 mm apart, the small item in the first row that has room for it, what does not
    /// fit above the third on a board of its own.
    #[test]
    fn rows_are_filled_as_by_hand() {
        let sizes = [(50.0, 10.0), (40.0, 20.0), (30.0, 30.0), (40.0, 30.0), (20.0, 10.0), (60.0, 6.0)];
        let found = corners(&items(&sizes), &sheet(100.0, 80.0));
        let first = vec![(3, 5.0, 5.0), (2, 47.0, 5.0), (1, 5.0, 37.0), (4, 47.0, 37.0), (0, 5.0, 59.0)];
        assert_eq!(found, [first, vec![(5, 5.0, 5.0)]]);
        // Three in a row as wide as the board, to the last.
        let found = corners(&items(&[(28.0, 10.0), (29.0, 10.0), (29.0, 10.0)]), &sheet(100.0, 80.0));
        assert_eq!(found, [[(1, 5.0, 5.0), (2, 36.0, 5.0), (0, 67.0, 5.0)]]);
        let found = corners(&items(&[(28.1, 10.0), (29.0, 10.0), (29.0, 10.0)]), &sheet(100.0, 80.0));
        assert_eq!(found, [[(1, 5.0, 5.0), (2, 36.0, 5.0), (0, 5.0, 17.0)]]);
        // Two rows as high as the board, to the last.
        assert_eq!(corners(&items(&[(90.0, 34.0), (90.0, 34.0)]), &sheet(100.0, 80.0)).len(), 1);
        assert_eq!(corners(&items(&[(90.0, 34.0), (90.0, 34.1)]), &sheet(100.0, 80.0)).len(), 2);
        // What has no place on the second board goes back to the first.
        let sizes = [(90.0, 60.0), (90.0, 40.0), (90.0, 20.0), (90.0, 8.0)];
        let found = corners(&items(&sizes), &sheet(100.0, 80.0));
        assert_eq!(found, [vec![(0, 5.0, 5.0), (3, 5.0, 67.0)], vec![(1, 5.0, 5.0), (2, 5.0, 47.0)]]);
    }

    #[test]
    fn rows_go_round_what_is_kept_out_of() {
        let mut clamped = sheet(100.0, 80.0);
        clamped.keep_out = shapes::rectangle(10.0, 20.0, 0.0).unwrap().transformed(Affine::translate((55.0, 10.0)));
        // 40 mm stand on the left of it, 33 mm on its right; 44 mm on neither side, so above it.
        assert_eq!(corners(&items(&[(40.0, 10.0), (33.0, 9.0)]), &clamped), [[(0, 5.0, 5.0), (1, 62.0, 5.0)]]);
        assert_eq!(corners(&items(&[(44.0, 10.0), (44.0, 10.0)]), &clamped), [[(0, 5.0, 22.0), (1, 51.0, 22.0)]]);
        assert_eq!(corners(&items(&[(43.0, 10.0), (33.0, 9.0)]), &clamped), [[(0, 5.0, 5.0), (1, 62.0, 5.0)]]);
        assert_eq!(corners(&items(&[(43.0, 10.0), (33.1, 9.0)]), &clamped), [[(0, 5.0, 5.0), (1, 5.0, 17.0)]]);
        // A bar across the board leaves no place for what is as high as the board.
        clamped.keep_out = shapes::rectangle(100.0, 4.0, 0.0).unwrap().transformed(Affine::translate((50.0, 40.0)));
        assert_eq!(layout(&items(&[(50.0, 60.0), (50.0, 20.0)]), &clamped).too_large, [0]);
        // What is low enough stands below it.
        assert_eq!(corners(&items(&[(50.0, 20.0)]), &clamped), [[(0, 5.0, 5.0)]]);
    }

    #[test]
    fn a_item_is_turned_where_it_fits_no_other_way() {
        let long = |turns: Turns| Item::whole(shapes::rectangle(70.0, 20.0, 0.0).unwrap(), turns);
        let upright = sheet(50.0, 90.0);
        let found = layout(&[long(Turns::Free)], &upright);
        let bounds = long(Turns::Free).outline.transformed(found.boards[0][0].at).bounds().unwrap();
        assert!(
            (bounds.width() - 20.0).abs() < 1e-9 && (bounds.x0 - 5.0).abs() < 1e-9 && (bounds.y0 - 5.0).abs() < 1e-9
        );
        assert_eq!(layout(&[long(Turns::Half)], &upright).too_large, [0]);
        // Level where both fit.
        let found = layout(&[long(Turns::Free)], &sheet(90.0, 90.0));
        assert_eq!(long(Turns::Free).outline.transformed(found.boards[0][0].at).bounds().unwrap().x1, 75.0);
        let fits =
            |width: f64, height: f64| layout(&items(&[(width, height)]), &sheet(100.0, 80.0)).too_large.is_empty();
        assert!(fits(90.0, 70.0) && !fits(90.001, 70.0) && !fits(90.0, 70.001));
    }
}
