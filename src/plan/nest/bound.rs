//! How few boards any layout needs, so that nothing is searched for that cannot be.

use std::f64::consts::PI;

use super::item_types::{ItemType, ItemTypes};
use super::model::{Item, Sheet};

// A search that cannot succeed costs as much as one that does, so none is begun below the fewest boards that any layout
// needs, by area or by Oler's inequality, nor where discs would have to lie denser than in the best packings known.
/// Of discs that lie in no lattice, this many fewer lie on a board than [`most_centres`] allows, in the best packings known
/// (2 to 39 equal discs in a square, those of `tests/suite/nest.rs`: 0.99 fewer or less; reckoned from them).
const OUT_OF_LATTICE: f64 = 0.9;
/// Shares of a disc by which sums may be off.
const ROUNDING: f64 = 1e-9;

/// Items grown by half the gap lie apart inside the board's room grown by the same, so their area bounds the boards; what
/// may lie in holes may lie on no more than their area.
pub(super) fn by_area<'a>(items: impl Iterator<Item = &'a Item>, sheet: &Sheet) -> usize {
    let items: Vec<&Item> = items.collect();
    let all: f64 = items.iter().map(|item| grown_area(item.outline.area(), sheet.gap)).sum();
    let guests = items.iter().filter(|item| item.may_be_guest);
    let guests: f64 = guests.map(|item| grown_area(item.outline.area(), sheet.gap)).sum();
    let holes: f64 = items.iter().map(|item| item.holes.area()).sum();
    let needed = all - guests.min(holes);
    whole((needed / sheet.room_area().max(f64::MIN_POSITIVE) - ROUNDING).ceil())
}

/// The least area, in mm², that an item takes with half the gap round it (the inequality of Brunn and Minkowski; equal for a
/// disc).
pub(super) fn grown_area(area: f64, gap: f64) -> f64 {
    (area.max(0.0).sqrt() + gap / 2.0 * PI.sqrt()).powi(2)
}

/// The boards needed by what is known of how densely discs lie: each item holds one about its middle. What may lie in the
/// holes of others is left out.
pub(super) fn by_centres(items: &[Item], types: &ItemTypes, sheet: &Sheet) -> usize {
    let hole = items.iter().map(|item| item.holes.area()).fold(0.0, f64::max);
    let may_hide = |at: &usize| items.get(*at).is_some_and(|item| item.may_be_guest);
    let lies_apart = |item_type: &&ItemType| item_type.area > hole || !item_type.items.iter().any(may_hide);
    let apart: Vec<&ItemType> = types.all.iter().filter(lies_apart).collect();
    // Small items would make the discs of all others small: those of every size and above are bounded by themselves.
    let needed = apart.iter().filter(|item_type| item_type.inner > 0.0).map(|least| {
        let count: usize = apart.iter().filter(|it| it.inner >= least.inner).map(|it| it.items.len()).sum();
        count.div_ceil(whole(most_centres(least.inner, sheet) + ROUNDING).max(1))
    });
    needed.max().unwrap_or(0)
}

/// Whether so many boards may do where one type of disc is laid in no lattice.
pub(super) fn may_lie_freely(types: &ItemTypes, sheet: &Sheet, boards: usize) -> bool {
    let [ItemType { disc: Some(radius), items, .. }] = types.all.as_slice() else { return true };
    items.len() <= boards.saturating_mul(whole(most_centres(*radius, sheet) - OUT_OF_LATTICE))
}

/// How many discs of this radius, in mm, lie on a board at most: the inequality of Oler, for points of a convex region that
/// stand `apart` from one another ("An inequality in the geometry of numbers", Acta Mathematica 105, 1961; also Folkman and
/// Graham, "A packing inequality for compact convex subsets of the plane", Canadian Mathematical Bulletin 12, 1969).
fn most_centres(radius: f64, sheet: &Sheet) -> f64 {
    let room = sheet.inside().inset(-radius);
    let (wide, high) = (room.width(), room.height());
    if wide < -ROUNDING || high < -ROUNDING {
        return 0.0;
    }
    let apart = 2.0 * radius + sheet.gap;
    let (wide, high) = (wide.max(0.0) / apart, high.max(0.0) / apart);
    2.0 / 3.0_f64.sqrt() * wide * high + wide + high + 1.0
}

/// A whole number; 0 for anything below.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not below zero, and few")]
fn whole(count: f64) -> usize {
    count.max(0.0) as usize
}

#[cfg(test)]
mod tests {
    use super::super::model::Turns;
    use super::*;
    use crate::geometry::{Region, shapes};

    fn sheet(side: f64) -> Sheet {
        Sheet { width: side, height: side, margin: 0.0, gap: 0.0, keep_out: Region::empty() }
    }

    #[test]
    fn discs_are_bounded_as_by_hand() {
        // Centres in a square of two diameters: 2/sqrt(3) x 4 + 4 + 1 = 9.62; a square grid holds 9.
        assert!((most_centres(1.0, &sheet(6.0)) - 9.618_802).abs() < 1e-6);
        assert_eq!(most_centres(3.1, &sheet(6.0)), 0.0);
        let disc = Item::whole(shapes::circle(1.0).unwrap(), Turns::Free);
        let small = Item::whole(shapes::circle(0.1).unwrap(), Turns::Free);
        let boards = |items: &[Item]| {
            let all: Vec<usize> = (0..items.len()).collect();
            by_centres(items, &ItemTypes::of(items, &all, &sheet(6.0)), &sheet(6.0))
        };
        assert_eq!((boards(&vec![disc.clone(); 9]), boards(&vec![disc.clone(); 10])), (1, 2));
        let mut mixed = vec![disc.clone(); 10];
        mixed.push(small);
        assert_eq!(boards(&mixed), 2, "one small item hides nothing");
        let hollow = Item { holes: disc.outline.clone(), ..disc.clone() };
        let guest = Item { may_be_guest: true, ..disc };
        let mut nested = vec![hollow; 5];
        nested.extend(vec![guest; 5]);
        assert_eq!(boards(&nested), 0, "all may lie in holes");
    }
    /// A disc grows to the disc of the larger radius, and nothing takes no less: a square of the same area takes more.
    #[test]
    fn grown_areas_are_those_of_discs() {
        assert!((grown_area(PI * 9.0, 2.0) - PI * 16.0).abs() < 1e-9);
        assert!((grown_area(PI * 9.0, 0.0) - PI * 9.0).abs() < 1e-9);
        assert!((grown_area(-1.0, 2.0) - PI).abs() < 1e-9);
        // Steiner: 16 + 4 x 4 x 1 + pi for a square of 4 mm.
        assert!(grown_area(16.0, 2.0) < 32.0 + PI);
    }

    /// By hand: a board of 100 by 50 with a margin of 5 and a gap of 2 has room for 92 by 42 mm².
    #[test]
    fn boards_are_bounded_by_area() {
        let board = Sheet { width: 100.0, height: 50.0, margin: 5.0, gap: 2.0, keep_out: Region::empty() };
        assert_eq!(board.room_area(), 92.0 * 42.0);
        let disc = |radius: f64| Item::whole(shapes::circle(radius).unwrap(), Turns::Free);
        // 19 discs of 7 mm take 3820 of 3864 mm², 20 take 4021.
        assert_eq!(by_area([&disc(7.0)].into_iter().cycle().take(19), &board), 1);
        assert_eq!(by_area([&disc(7.0)].into_iter().cycle().take(20), &board), 2);
        assert_eq!(by_area([&disc(7.0)].into_iter().cycle().take(39), &board), 3);
        assert_eq!(by_area(std::iter::empty(), &board), 0);
        // What may lie in holes counts for no less than what the holes do not hold.
        let guest = Item { may_be_guest: true, ..disc(7.0) };
        let host = |hole: f64| Item { holes: shapes::circle(hole).unwrap(), ..disc(20.0) };
        let with = |hole: f64, guests: usize| by_area([&host(hole)].into_iter().chain(vec![&guest; guests]), &board);
        // The host takes 1385 mm² of 3864, each guest 201; a hole of 10 mm takes 314 off.
        assert_eq!((with(10.0, 13), with(10.0, 14)), (1, 2));
        assert_eq!((with(0.5, 12), with(0.5, 13)), (1, 2));
        assert_eq!(with(19.0, 1), 1);
    }

    #[test]
    fn discs_in_no_lattice_need_room() {
        let lying = |count: usize, boards: usize| {
            let items = vec![Item::whole(shapes::circle(1.0).unwrap(), Turns::Free); count];
            may_lie_freely(&ItemTypes::of(&items, &(0..count).collect::<Vec<_>>(), &sheet(6.0)), &sheet(6.0), boards)
        };
        // 9.62 - 0.9 is 8 a board.
        assert!(lying(8, 1) && !lying(9, 1) && lying(16, 2) && !lying(17, 2));
        let square = vec![Item::whole(shapes::rectangle(2.0, 2.0, 0.0).unwrap(), Turns::Free); 99];
        assert!(may_lie_freely(&ItemTypes::of(&square, &(0..99).collect::<Vec<_>>(), &sheet(6.0)), &sheet(6.0), 1));
        // One disc as wide as the board lies in it, with a hair more in none; two in a row need the gap as well.
        assert_eq!(most_centres(3.0, &sheet(6.0)), 1.0);
        assert_eq!(most_centres(3.000_001, &sheet(6.0)), 0.0);
        let long = Sheet { width: 13.0, height: 6.0, margin: 0.0, gap: 1.0, keep_out: Region::empty() };
        assert!((most_centres(3.0, &long) - 2.0).abs() < 1e-12);
        let tall = Sheet { width: 6.0, height: 13.0, ..long };
        assert!((most_centres(3.0, &tall) - 2.0).abs() < 1e-12);
    }
}
