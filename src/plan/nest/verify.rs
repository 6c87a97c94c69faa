//! The last word on a layout: a second engine, which none of the searches use, must find the items apart.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use kurbo::{Affine, Point, Rect};

use super::model::{Item, Placement, Sheet};
use crate::geometry::Region;

/// How finely outlines are flattened, in mm.
const FLAT_MM: f64 = 5e-4;
/// Gaps may fall short by this much, in mm: what flattening and offsets leave open.
const SHORT_MM: f64 = 2e-3;
/// A shared area smaller than this is none, in mm².
const NONE_MM2: f64 = 1e-6;

type Flat = Vec<Vec<[f64; 2]>>;

/// Whether every board is sound.
pub(super) fn are_sound(boards: &[Vec<Placement>], items: &[Item], sheet: &Sheet) -> bool {
    let mut verifier = Verifier::new(items, sheet);
    boards.iter().all(|board| verifier.is_sound(board))
}

/// Looks at boards of one run; what an item is to it is worked out once for all boards.
pub(super) struct Verifier<'a> {
    items: &'a [Item],
    sheet: &'a Sheet,
    /// Half of the gap that is kept, in mm.
    half: f64,
    kept_out: Flat,
    /// Items met so far, their solid grown by half the gap, as given.
    grown: Vec<(&'a Item, Flat)>,
}

/// An item on a board: its box grown by half the gap, and its shape once it was asked for.
struct Lying<'a> {
    item: &'a Item,
    at: Affine,
    bounds: Rect,
    shape: Option<Flat>,
}

impl<'a> Verifier<'a> {
    pub(super) fn new(items: &'a [Item], sheet: &'a Sheet) -> Self {
        let half = (sheet.gap - SHORT_MM).max(0.0) / 2.0;
        let kept_out = if sheet.keep_out.is_empty() { Flat::new() } else { flat(&sheet.keep_out.offset(half)) };
        Self { items, sheet, half, kept_out, grown: Vec::new() }
    }

    /// Whether every item of the board lies inside the margin, and no two, grown by half the gap each, share any area; nor
    /// an item and a place to be kept out of.
    ///
    /// Shapes are asked only where boxes meet: what has its box apart from all others is clear of them. So rows, which keep
    /// boxes apart, cost no more than their boxes, and every `check` can afford to have them verified.
    pub(super) fn is_sound(&mut self, board: &[Placement]) -> bool {
        let inside = self.sheet.inside().inflate(SHORT_MM, SHORT_MM);
        let mut lying: Vec<Lying<'a>> = Vec::with_capacity(board.len());
        board.iter().all(|placement| {
            let Some(item) = self.items.get(placement.item) else { return false };
            let bounds = item.outline.transformed(placement.at).bounds().unwrap_or_default();
            if !inside.contains_rect(bounds) {
                return false;
            }
            let mut own = Lying { item, at: placement.at, bounds: bounds.inflate(self.half, self.half), shape: None };
            let near = |other: &&mut Lying<'a>| other.bounds.overlaps(own.bounds);
            let mut near: Vec<&mut Lying<'a>> = lying.iter_mut().filter(near).collect();
            let clear = near.iter_mut().all(|other| self.are_apart(other, &mut own)) && self.is_in_the_open(&mut own);
            lying.push(own);
            clear
        })
    }

    fn are_apart(&mut self, one: &mut Lying<'a>, other: &mut Lying<'a>) -> bool {
        self.see(one);
        self.see(other);
        one.shape.as_ref().zip(other.shape.as_ref()).is_some_and(|(one, other)| shared(one, other) <= NONE_MM2)
    }

    fn is_in_the_open(&mut self, it: &mut Lying<'a>) -> bool {
        if self.kept_out.is_empty() {
            return true;
        }
        self.see(it);
        it.shape.as_ref().is_some_and(|shape| shared(&self.kept_out, shape) <= NONE_MM2)
    }

    /// Works out the shape of a lying item where that was not done.
    fn see(&mut self, it: &mut Lying<'a>) {
        if it.shape.is_some() {
            return;
        }
        if !self.grown.iter().any(|(known, _)| *known == it.item) {
            let solid = if it.item.holes.is_empty() { None } else { Some(it.item.outline.difference(&it.item.holes)) };
            let grown = flat(&solid.as_ref().unwrap_or(&it.item.outline).offset(self.half));
            self.grown.push((it.item, grown));
        }
        let known = self.grown.iter().find(|(known, _)| *known == it.item);
        it.shape = known.map(|(_, shape)| moved(shape, it.at));
    }
}

fn flat(region: &Region) -> Flat {
    region.flattened(FLAT_MM)
}

fn moved(shape: &Flat, by: Affine) -> Flat {
    let place = |[x, y]: &[f64; 2]| {
        let at = by * Point::new(*x, *y);
        [at.x, at.y]
    };
    shape.iter().map(|ring| ring.iter().map(place).collect()).collect()
}

/// The area that two shapes share, in mm².
fn shared(a: &Flat, b: &Flat) -> f64 {
    let shapes = a.overlay_as::<i64>(b, OverlayRule::Intersect, FillRule::NonZero);
    let area = |ring: &Vec<[f64; 2]>| {
        let next = ring.iter().cycle().skip(1);
        ring.iter().zip(next).map(|([x, y], [u, v])| x * v - u * y).sum::<f64>() / 2.0
    };
    shapes.iter().flatten().map(area).sum::<f64>().abs()
}

#[cfg(test)]
mod tests {
    use super::super::model::Turns;
    use super::*;
    use crate::geometry::shapes;

    fn square(side: f64) -> Region {
        shapes::rectangle(side, side, 0.0).unwrap()
    }

    fn sheet(gap: f64) -> Sheet {
        Sheet { width: 50.0, height: 40.0, margin: 5.0, gap, keep_out: Region::empty() }
    }

    fn at(item: usize, x: f64, y: f64) -> Placement {
        Placement { item, at: Affine::translate((x, y)) }
    }

    #[test]
    fn shapes_share_the_area_where_both_are() {
        let area = |a: &Region, b: &Region| shared(&flat(a), &flat(b));
        let one = square(4.0);
        let other = one.transformed(Affine::translate((3.0, 2.0)));
        assert!((area(&one, &other) - 2.0).abs() < 1e-6);
        let frame = square(10.0).difference(&square(6.0));
        assert!((area(&frame, &square(8.0)) - 28.0).abs() < 1e-6 && area(&frame, &square(5.9)) < NONE_MM2);
        assert_eq!(
            moved(&flat(&one), Affine::translate((1.0, 2.0))),
            flat(&one.transformed(Affine::translate((1.0, 2.0))))
        );
    }

    /// Two squares of 10 mm on a board: sound from the gap on, to within what flattening and offsets leave open.
    #[test]
    fn a_layout_is_sound_where_gap_and_margin_are_kept() {
        let items = vec![Item::whole(square(10.0), Turns::Free), Item::whole(square(10.0), Turns::Free)];
        let sound = |gap: f64, board: Vec<Placement>| are_sound(&[board], &items, &sheet(gap));
        for (x, y, wanted) in
            [(12.01, 0.0, true), (11.99, 0.0, false), (0.0, 12.01, true), (0.0, 11.99, false), (11.9, 11.9, true)]
        {
            assert_eq!(sound(2.0, vec![at(0, 12.0, 12.0), at(1, 12.0 + x, 12.0 + y)]), wanted, "{x} {y}");
            assert_eq!(sound(2.0, vec![at(1, 12.0 + x, 12.0 + y), at(0, 12.0, 12.0)]), wanted, "{x} {y}");
        }
        // Round corners of the gap: 1.41 mm to either side is 2 mm apart.
        assert!(
            sound(2.0, vec![at(0, 12.0, 12.0), at(1, 23.42, 23.42)])
                && !sound(2.0, vec![at(0, 12.0, 12.0), at(1, 23.40, 23.40)])
        );
        assert!(
            sound(0.0, vec![at(0, 12.0, 12.0), at(1, 22.0, 12.0)])
                && !sound(0.0, vec![at(0, 12.0, 12.0), at(1, 21.9, 12.0)])
        );
        for (x, y, wanted) in [
            (10.0, 20.0, true),
            (9.99, 20.0, false),
            (40.01, 20.0, false),
            (20.0, 9.99, false),
            (20.0, 30.01, false),
            (40.0, 30.0, true),
        ] {
            assert_eq!(sound(2.0, vec![at(0, x, y)]), wanted, "{x} {y}");
        }
        assert!(!sound(2.0, vec![at(2, 20.0, 20.0)]), "no such item");
        // On boards of their own they do not meet.
        assert!(are_sound(&[vec![at(0, 12.0, 12.0)], vec![at(1, 12.0, 12.0)]], &items, &sheet(2.0)));
        assert!(!are_sound(&[vec![at(0, 12.0, 12.0)], vec![at(1, 2.0, 12.0)]], &items, &sheet(2.0)));
    }

    #[test]
    fn holes_may_hold_items_and_clamps_none() {
        let hole = square(20.0);
        let host = Item { holes: hole.clone(), ..Item::whole(square(28.0), Turns::Free) };
        let solid = Item::whole(square(28.0), Turns::Free);
        let guest = |side: f64| Item::whole(square(side), Turns::Free);
        let sound = |host: &Item, side: f64| {
            are_sound(&[vec![at(0, 20.0, 20.0), at(1, 20.0, 20.0)]], &[host.clone(), guest(side)], &sheet(2.0))
        };
        assert!(sound(&host, 15.9) && !sound(&host, 16.1) && !sound(&solid, 15.9));
        let mut clamped = sheet(2.0);
        clamped.keep_out = square(4.0).transformed(Affine::translate((30.0, 20.0)));
        let beside = |x: f64| are_sound(&[vec![at(0, x, 20.0)]], &[guest(10.0)], &clamped);
        assert!(beside(20.99) && !beside(21.01) && beside(39.01) && !beside(38.99));
    }
}
