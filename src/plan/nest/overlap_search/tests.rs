use super::super::model::{Item, Turns};
use super::*;
use crate::geometry::{Region, shapes};

/// A square of 4 mm, a bar of 7 by 2 and a disc 6 mm wide, the disc largest; all about the origin.
fn items() -> Vec<Item> {
    let square = shapes::rectangle(4.0, 4.0, 0.0).unwrap();
    let bar = shapes::rectangle(7.0, 2.0, 0.0).unwrap();
    let disc = shapes::circle(3.0).unwrap();
    [square, bar, disc].map(|outline| Item::whole(outline, Turns::Free)).to_vec()
}

fn sheet(width: f64, height: f64) -> Sheet {
    Sheet { width, height, margin: 0.0, gap: 0.5, keep_out: Region::empty() }
}

fn types(items: &[Item], sheet: &Sheet) -> ItemTypes {
    ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), sheet)
}

/// Runs a check on a search over these items, on so many boards.
fn searching(items: &[Item], sheet: &Sheet, boards: usize, check: impl FnOnce(&mut Search)) {
    let types = types(items, sheet);
    let table = Table::new(&types);
    let keep_out = kept_out(&types, sheet, &table);
    let mut search = Search::new(&types, &table, &keep_out, sheet.gap, boards);
    search.weights.clone_from(&search.sides);
    check(&mut search);
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() < within, "{found} is not {wanted}");
}

/// The first orientation of the item at this place in the search.
fn spot(search: &Search, item: usize, x: f64, y: f64) -> Spot {
    Spot { board: 0, orientation: search.orientations[search.items[item]][0], at: Point::new(x, y) }
}

#[test]
fn the_largest_come_first_and_weigh_by_their_sides() {
    let mut four = items();
    four.push(four[0].clone());
    searching(&four, &sheet(40.0, 30.0), 1, |search| {
        assert_eq!(search.names, [2, 0, 3, 1], "the disc of 28.3 mm², the squares of 16 and the bar of 14");
        assert_eq!(search.items, [2, 0, 0, 1]);
        assert_eq!(search.orientations.iter().map(Vec::len).collect::<Vec<_>>(), [1, 2, 1]);
        let side = |a: usize, b: usize| search.sides[4 * a + b];
        near(side(1, 2), 4.0, 1e-9);
        near(side(1, 3), (16.0_f64 * 14.0).powf(0.25), 1e-9);
        near(side(0, 0), (9.0 * std::f64::consts::PI).sqrt(), 1e-5);
        near(side(0, 1), (9.0 * std::f64::consts::PI * 16.0).powf(0.25), 1e-5);
        near(side(1, 0), side(0, 1), 1e-12);
    });
}

/// Two squares of 4 mm, 3 mm apart from middle to middle, lie 1 mm in each other and fall short of the gap by 1.5 mm.
#[test]
fn overlaps_are_as_deep_as_drawn_and_cost_what_they_weigh() {
    let two = vec![items()[0].clone(), items()[0].clone()];
    searching(&two, &sheet(40.0, 30.0), 2, |search| {
        search.spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 11.0)];
        let beyond = BEYOND * 4.0;
        let shorts: Vec<(usize, f64, f64)> = search.shorts(0, search.spots[0]).collect();
        assert_eq!((shorts.len(), shorts[0].0), (1, 1));
        near(shorts[0].1, 1.5 + beyond, 1e-9);
        near(shorts[0].2, beyond, 1e-12);
        assert_eq!(search.overlaps(1).map(|it| it.0).collect::<Vec<_>>(), [0]);
        near(search.cost(0, search.spots[0], f64::INFINITY), 4.0 * (1.5 + beyond), 1e-9);
        search.weights = vec![0.0, 7.0, 9.0, 0.0];
        near(search.cost(0, search.spots[0], f64::INFINITY), 7.0 * (1.5 + beyond), 1e-9);
        near(search.cost(1, search.spots[1], f64::INFINITY), 9.0 * (1.5 + beyond), 1e-9);
        assert_eq!(search.cost(1, search.spots[1], 9.0), f64::INFINITY, "given up");
        assert_eq!(search.cost(0, Spot { board: 1, ..search.spots[0] }, f64::INFINITY), 0.0, "another board");
        // Just far enough is no overlap, though a little more is wanted.
        search.spots[1] = spot(search, 1, 14.5, 11.0);
        assert_eq!(search.shorts(0, search.spots[0]).count(), 1);
        assert_eq!(search.overlaps(0).count(), 0);
        search.spots[1] = spot(search, 1, 14.499, 11.0);
        assert_eq!(search.overlaps(0).count(), 1);
        search.spots[1] = spot(search, 1, 14.501, 11.0);
        assert_eq!(search.shorts(0, search.spots[0]).count(), 0);
    });
}

#[test]
fn places_kept_out_of_push_as_items_do() {
    let mut clamped = sheet(40.0, 30.0);
    clamped.keep_out = shapes::rectangle(4.0, 4.0, 0.0).unwrap().transformed(Affine::translate((20.0, 20.0)));
    let one = vec![items()[0].clone()];
    searching(&one, &clamped, 1, |search| {
        search.spots = vec![spot(search, 0, 17.0, 20.5)];
        let shorts: Vec<(usize, f64, f64)> = search.shorts(0, search.spots[0]).collect();
        assert_eq!((shorts.len(), shorts[0].0), (1, 0), "it overlaps itself, so to speak");
        near(shorts[0].1, 1.5 + BEYOND * 4.0, 1e-6);
        search.spots = vec![spot(search, 0, 15.0, 20.5)];
        assert_eq!(search.shorts(0, search.spots[0]).count(), 0);
    });
}

/// What overlaps most grows by twice its weight, what overlaps less by less; all else goes back to its side.
#[test]
fn pairs_that_overlap_weigh_more() {
    let three = vec![items()[0].clone(); 3];
    searching(&three, &sheet(60.0, 30.0), 1, |search| {
        search.spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 10.0), spot(search, 2, 17.0, 10.0)];
        search.weights = vec![10.0; 9];
        let total = search.reweigh();
        let beyond = BEYOND * 4.0;
        let (deep, shallow) = (1.5 + beyond, 0.5 + beyond);
        near(total, 2.0 * 4.0 * (deep + shallow), 1e-9);
        let weight = |a: usize, b: usize| search.weights[3 * a + b];
        near(weight(0, 1), 10.0 * 2.0, 1e-9);
        near(weight(1, 0), 10.0 * 2.0, 1e-9);
        near(weight(1, 2), 10.0 * (1.2 + 0.8 * shallow / deep), 1e-9);
        near(weight(0, 2), 9.5, 1e-9);
        search.weights = vec![4.1; 9];
        search.reweigh();
        near(search.weights[2], 4.0, 1e-9);
    });
}

#[test]
fn spots_are_held_inside_the_board_as_wide_as_it_is_taken() {
    searching(&items(), &sheet(40.0, 30.0), 1, |search| {
        let held = |search: &Search, item: usize, x: f64, y: f64| search.held(spot(search, item, x, y)).unwrap().at;
        // The bar is the last: 3.5 and 1 mm from its middle to its sides.
        assert_eq!(held(search, 2, -5.0, 50.0), Point::new(3.5, 29.0));
        assert_eq!(held(search, 2, 99.0, -1.0), Point::new(36.5, 1.0));
        assert_eq!(held(search, 2, 20.0, 15.0), Point::new(20.0, 15.0));
        search.wider = 3.0;
        assert_eq!(held(search, 2, 99.0, -1.0), Point::new(39.5, 1.0));
        assert_eq!(search.room(search.orientations[1][0]), Some(Rect::new(3.5, 1.0, 39.5, 29.0)));
        search.spots = (0..3).map(|item| spot(search, item, 99.0, 15.0)).collect();
        search.weights = vec![99.0; 9];
        search.best = (1.0, search.spots.clone());
        search.go_on(0.0);
        assert_eq!(search.spots[2].at, Point::new(36.5, 15.0));
        assert!(search.weights == search.sides && search.best == (f64::INFINITY, Vec::new()) && search.wider == 0.0);
    });
}

#[test]
fn steps_downhill_never_cost_more_and_part_what_has_room() {
    let two = vec![items()[0].clone(), items()[0].clone()];
    searching(&two, &sheet(40.0, 30.0), 1, |search| {
        search.spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 11.0)];
        for _ in 0..20 {
            let from = search.spots[1];
            let before = search.cost(1, from, f64::INFINITY);
            let (after, there) = search.downhill(1, from, before, 0.4, 4.0).unwrap();
            near(search.cost(1, there, f64::INFINITY), after, 1e-9);
            assert!(after < 0.02 * before, "{before} {after}");
            // It goes no farther than it must, or hardly: 2 mm of overlap and gap, downhill in a few steps.
            assert!(there.at.distance(from.at) < 6.0, "{:?}", there.at);
            assert_eq!(search.downhill(1, there, 0.0, 0.4, 4.0).unwrap().1, there, "nothing to be done");
        }
    });
}

#[test]
fn a_item_that_overlaps_is_moved_to_where_it_overlaps_less() {
    let three = vec![items()[0].clone(); 3];
    searching(&three, &sheet(30.0, 30.0), 1, |search| {
        let spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 11.0), spot(search, 2, 25.0, 25.0)];
        search.spots = spots.clone();
        search.improve(2);
        assert_eq!(search.spots, spots, "it overlaps nothing");
        search.improve(1);
        assert_eq!((search.spots[0], search.spots[2]), (spots[0], spots[2]));
        assert_eq!(search.overlaps(1).count(), 0, "there is room enough");
        // The best place found is the cheapest of them: no place at all costs less than nothing.
        let best = search.best_spot(1, Some(spots[1])).unwrap();
        assert_eq!(search.cost(1, best, f64::INFINITY), 0.0);
        let room = search.room(best.orientation).unwrap();
        assert!(room.inflate(1e-9, 1e-9).contains(best.at));
    });
}

/// Two items that differ change places, middle for middle, and are held inside the board; like ones stay.
#[test]
fn items_that_differ_are_swapped() {
    let (bar, square) = (items()[1].clone(), items()[0].clone());
    let long = Item::whole(shapes::rectangle(9.0, 2.0, 0.0).unwrap(), Turns::Free);
    searching(&[long, bar], &sheet(40.0, 30.0), 2, |search| {
        let mut spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 36.0, 25.0)];
        spots[1].board = 1;
        search.best = (5.0, spots.clone());
        search.weights = vec![50.0; 4];
        search.disrupt();
        assert!(search.weights == search.sides);
        // Rooms are about the middle of the board, so the long bar's place at the edge is half a millimetre in.
        assert_eq!((search.spots[0].at, search.spots[0].board), (Point::new(35.5, 25.0), 1));
        assert_eq!((search.spots[1].at, search.spots[1].board), (Point::new(10.0, 10.0), 0));
        assert_eq!(
            (search.spots[0].orientation, search.spots[1].orientation),
            (spots[0].orientation, spots[1].orientation)
        );
    });
    searching(&[square.clone(), square], &sheet(40.0, 30.0), 1, |search| {
        let spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 30.0, 25.0)];
        search.best = (5.0, spots.clone());
        search.disrupt();
        assert_eq!(search.spots, spots);
    });
}

#[test]
fn items_are_laid_one_after_another_and_told_board_by_board() {
    let mut six = items();
    six.extend(items());
    searching(&six, &sheet(30.0, 20.0), 3, |search| {
        search.best = (1.0, Vec::new());
        search.begin(2.0);
        assert_eq!((search.spots.len(), search.wider, search.best.0), (6, 2.0, f64::INFINITY));
        assert!((0..6).all(|item| search.overlaps(item).next().is_none()), "there is room for all");
        assert!(search.run());
        search.spots.truncate(5);
        assert!(!search.run(), "one is missing");
        search.begin(0.0);
        for (at, board) in [2, 0, 0, 2, 0, 2].into_iter().enumerate() {
            search.spots[at].board = board;
        }
        let boards = search.placements();
        assert_eq!(boards.iter().map(Vec::len).collect::<Vec<_>>(), [3, 3], "an empty board is none");
        let names = |board: &[Placement]| board.iter().map(|it| it.item).collect::<Vec<_>>();
        assert_eq!((names(&boards[0]), names(&boards[1])), (vec![5, 0, 1], vec![2, 3, 4]));
        for (board, at) in [(0, 0), (0, 2), (1, 1)] {
            let placement = boards[board][at];
            let place = search.names.iter().position(|name| *name == placement.item).unwrap();
            assert_eq!(placement.at * Point::ORIGIN, search.spots[place].at);
            let bounds = six[placement.item].outline.transformed(placement.at).bounds().unwrap();
            assert!(
                Rect::new(0.0, 0.0, 30.0, 20.0).inflate(1e-6, 1e-6).contains_rect(bounds),
                "turned as its orientation is"
            );
        }
    });
}

#[test]
fn forms_are_drawn_from_those_of_the_kind() {
    searching(&items(), &sheet(40.0, 30.0), 1, |search| {
        let (lying, upright) = (search.orientations[1][0], search.orientations[1][1]);
        let mut drawn = |mostly: Option<usize>| {
            let upright = (0..1000).filter(|_| search.any_orientation(1, mostly) == Some(upright)).count();
            upright as f64 / 1000.0
        };
        // Three of four stay as they are, and half of the others too.
        near(drawn(Some(upright)), 0.875, 0.05);
        near(drawn(Some(lying)), 0.125, 0.05);
        near(drawn(None), 0.5, 0.06);
    });
}

/// Nothing is searched for that fills more than is to be hoped, and fewer boards are found where they are possible.
#[test]
fn boards_are_saved_where_there_is_room() {
    let square = shapes::rectangle(9.5, 9.5, 0.0).unwrap();
    let found = |count: usize, side: f64, counts: Range<usize>| {
        let items = vec![Item::whole(square.clone(), Turns::Half); count];
        let sheet = sheet(side, side);
        boards(&types(&items, &sheet), &sheet, counts, Effort(2))
    };
    let laid = found(4, 22.0, 1..4);
    assert_eq!(laid.len(), 3);
    assert!(
        laid.iter().zip([3, 2, 1]).all(|(boards, most)| boards.len() <= most && boards.iter().flatten().count() == 4)
    );
    for board in laid.iter().flatten() {
        let lying: Vec<Region> = board.iter().map(|it| square.transformed(it.at)).collect();
        for (at, one) in lying.iter().enumerate() {
            assert!(lying[at + 1..].iter().all(|other| one.distance(other).unwrap().distance > 0.499));
        }
    }
    assert!(found(5, 22.0, 1..2).is_empty(), "five would fill more than there is");
    assert!(found(4, 20.0, 1..2).is_empty(), "four would have to fill 98 of 100");
    assert!(found(4, 22.0, 1..1).is_empty());
}
