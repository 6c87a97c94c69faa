//! Layouts against published packings and an independent optimiser. In every layout the shared areas are added up apart, and distances
//! taken between the curves themselves.

use std::fs;
use std::path::Path;
use std::time::Duration;

use cpu_time::ThreadTime;

use dialwright::geometry::{Region, Rule, shapes};
use dialwright::plan::{Effort, Item, Layout, Placement, Sheet, Turns, nest};
use kurbo::{Affine, BezPath, Point};
use serde_json::Value;

use super::overlap::{Chords, shared_area};

fn sheet(width: f64, height: f64, margin: f64, gap: f64) -> Sheet {
    Sheet { width, height, margin, gap, keep_out: Region::empty() }
}

fn copies(outline: &Region, count: usize, turns: Turns) -> Vec<Item> {
    (0..count).map(|_| Item::whole(outline.clone(), turns)).collect()
}

/// Every item once, inside the margin, and no two nearer than the gap, to within what flattening leaves open.
fn assert_sound(items: &[Item], layout: &Layout, sheet: &Sheet) {
    let mut seen: Vec<usize> =
        layout.boards.iter().flatten().map(|it| it.item).chain(layout.too_large.clone()).collect();
    seen.sort_unstable();
    assert_eq!(seen, (0..items.len()).collect::<Vec<_>>());
    for board in &layout.boards {
        // Lowest first, those level from left to right, to a thousandth of a millimetre.
        let corner = |it: &Placement| {
            let bounds = items[it.item].outline.transformed(it.at).bounds().unwrap();
            ((bounds.y0 * 1e3).round() as i64, (bounds.x0 * 1e3).round() as i64)
        };
        assert!(board.is_sorted_by_key(corner));
        let solid = |item: &Item| item.outline.difference(&item.holes);
        let lying: Vec<Region> = board.iter().map(|it| solid(&items[it.item]).transformed(it.at)).collect();
        for (index, a) in lying.iter().enumerate() {
            let bounds = a.bounds().unwrap();
            let least = sheet.margin - 2e-3;
            assert!(bounds.x0 >= least && bounds.y0 >= least, "{bounds:?}");
            assert!(bounds.x1 <= sheet.width - least && bounds.y1 <= sheet.height - least, "{bounds:?}");
            for b in lying[index + 1..].iter().chain(sheet.keep_out.pieces().iter()) {
                if bounds.inflate(sheet.gap, sheet.gap).overlaps(b.bounds().unwrap()) {
                    let apart = a.distance(b).unwrap().distance;
                    let shared = shared_area(&Chords::of(a.path()), &Chords::of(b.path()));
                    assert!(shared < 1e-3, "items overlap by {shared} mm²");
                    assert!(apart >= sheet.gap - 3e-3, "items stand {apart} apart");
                }
            }
        }
    }
}

/// Lays copies and tells how many boards they need.
fn boards(items: &[Item], sheet: &Sheet, effort: u32) -> usize {
    let layout = nest(items, sheet, Effort(effort));
    assert_sound(items, &layout, sheet);
    assert!(layout.least_boards <= layout.boards.len());
    layout.boards.len()
}

/// Sharp circumradius 33 mm, fillets of 5 mm, 2 mm apart on 305 by 305 mm with a margin of 5 mm: 16 in a square grid, 20 in
/// rows, 23 in a double lattice. That many is also what spyrrow 0.9.0 found in 60 s (`tests/data/nesting.py pentagons`).
#[test]
fn twenty_three_pentagons_lie_on_one_board() {
    let pentagon = shapes::polygon(5, 33.0, 5.0).unwrap();
    assert!((pentagon.area() - 2577.0).abs() < 0.5);
    let sheet = sheet(305.0, 305.0, 5.0, 2.0);
    assert_eq!(boards(&copies(&pentagon, 23, Turns::Free), &sheet, 1), 1);
    assert_eq!(boards(&copies(&pentagon, 46, Turns::Free), &sheet, 1), 2);
    assert_eq!(boards(&copies(&pentagon, 23, Turns::Free), &sheet, 0), 2, "boxes in rows hold fewer");
}

/// The best radii known for equal circles in a unit square (2 to 5, 8, 9 and 16 from closed forms; others as published
/// by Specht, "The best known packings of equal circles in a square"; those of 10 and up from memory), reached to 98 %.
#[test]
fn circles_come_near_the_best_radii_known() {
    let known = [
        (2, 0.292893),
        (3, 0.254333),
        (4, 0.25),
        (5, 0.207107),
        (6, 0.187681),
        (7, 0.174458),
        (8, 0.170541),
        (9, 0.166667),
        (12, 0.139959),
        (14, 0.129332),
        (16, 0.125),
        (18, 0.115521),
        (20, 0.111382),
    ];
    for (count, radius) in known {
        let disc = shapes::circle(100.0 * 0.98 * radius).unwrap();
        let needed = boards(&copies(&disc, count, Turns::Free), &sheet(100.0, 100.0, 0.0, 0.0), 20);
        assert_eq!(needed, 1, "{count} circles");
    }
    // No packing of equal circles is denser than pi / sqrt(12): what holds 30 circles by area alone may hold 26.
    let disc = shapes::circle(9.0).unwrap();
    let layout = nest(&copies(&disc, 39, Turns::Free), &sheet(100.0, 100.0, 0.0, 0.0), Effort(1));
    assert!(39.0 * disc.area() / 1e4 > 0.9069 && layout.boards.len() > 1);
}

/// One of the sets in `tests/data/nesting.json`, scaled to a strip 100 mm high, with the width that the other optimiser
/// needs.
fn set(name: &str) -> (Vec<Item>, f64) {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/nesting.json");
    let data: Value = serde_json::from_str(&fs::read_to_string(data).unwrap()).unwrap();
    let set = data["sets"].as_array().unwrap().iter().find(|set| set["name"] == name).unwrap();
    let scale = 100.0 / set["height"].as_f64().unwrap();
    let mut items = Vec::new();
    for item in set["items"].as_array().unwrap() {
        let corner = |at: &Value| Point::new(at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
        let mut path = BezPath::new();
        for at in item["corners"].as_array().unwrap().iter().map(corner) {
            if path.elements().is_empty() { path.move_to(at) } else { path.line_to(at) }
        }
        path.close_path();
        let outline = Region::from_path(&(Affine::scale(scale) * path), Rule::NonZero).unwrap();
        let count = usize::try_from(item["count"].as_u64().unwrap()).unwrap();
        items.extend(copies(&outline, count, Turns::Half));
    }
    (items, set["width"].as_f64().unwrap() * scale)
}

/// Sets of the literature on a board whose width leaves 95 % of the density that an independent optimiser reached
/// (spyrrow 0.9.0, 60 s; see `tests/data/nesting.py`).
#[test]
fn mixed_sets_come_within_5_percent_of_an_independent_optimiser() {
    for name in ["albano", "shirts", "trousers"] {
        let (items, width) = set(name);
        let sheet = sheet(width / 0.95, 100.0, 0.0, 0.0);
        let began = ThreadTime::now();
        let layout = nest(&items, &sheet, Effort(20));
        let took = began.elapsed();
        assert_sound(&items, &layout, &sheet);
        assert_eq!(layout.boards.len(), 1, "{name}");
        assert!(took < Duration::from_secs(10), "{name} took {took:?} of this thread's time");
    }
}

#[test]
fn places_to_be_kept_free_are_kept_free() {
    let clamp = shapes::rectangle(40.0, 30.0, 0.0).unwrap();
    let mut sheet = sheet(200.0, 150.0, 5.0, 2.0);
    sheet.keep_out = clamp.transformed(Affine::translate((100.0, 75.0)));
    let disc = shapes::circle(15.0).unwrap();
    let hexagon = shapes::polygon(6, 17.0, 2.0).unwrap();
    for effort in [0, 1] {
        for outline in [&disc, &hexagon] {
            for count in [10, 18] {
                boards(&copies(outline, count, Turns::Free), &sheet, effort);
            }
        }
        let mut mixed = copies(&disc, 9, Turns::Free);
        mixed.extend(copies(&hexagon, 9, Turns::Half));
        boards(&mixed, &sheet, effort);
    }
}

#[test]
fn grain_allows_half_turns_only() {
    let wedge = shapes::path("M0,0 L60,0 L60,12 L0,40 Z").unwrap();
    let items = copies(&wedge, 20, Turns::Half);
    let layout = nest(&items, &sheet(160.0, 150.0, 4.0, 1.0), Effort(2));
    assert_sound(&items, &layout, &sheet(160.0, 150.0, 4.0, 1.0));
    for placement in layout.boards.iter().flatten() {
        let [a, b, ..] = placement.at.as_coeffs();
        assert!(b.abs() < 1e-12 && (a.abs() - 1.0).abs() < 1e-12, "{a} {b}");
    }
}

#[test]
fn outlines_that_are_not_convex_lie_in_one_another() {
    // Two Ls of arms 10 mm wide make a block of 30 by 40 mm; in boxes of their own they take 30 by 60.
    let corner = shapes::path("M0,0 L30,0 L30,10 L10,10 L10,30 L0,30 Z").unwrap();
    let items = copies(&corner, 2, Turns::Free);
    let sheet = sheet(32.0, 43.0, 0.5, 1.0);
    assert_eq!(nest(&items, &sheet, Effort(0)).boards.len(), 2);
    assert_eq!(boards(&items, &sheet, 10), 1);
}

/// Rings with a hole 60 mm wide fill a board three by three; a disc 52 mm wide goes into each, one of 58 mm does not.
#[test]
fn holes_hold_small_items_where_that_saves_a_board() {
    let hole = shapes::circle(30.0).unwrap();
    let ring = Item { holes: hole.clone(), ..Item::whole(shapes::circle(47.0).unwrap(), Turns::Free) };
    let sheet = sheet(300.0, 300.0, 5.0, 2.0);
    for (across, guest, wanted) in [(52.0, true, 1), (52.0, false, 2), (58.0, true, 2)] {
        let disc = Item { may_be_guest: guest, ..Item::whole(shapes::circle(across / 2.0).unwrap(), Turns::Free) };
        let mut items = vec![ring.clone(); 9];
        items.extend(vec![disc; 9]);
        assert_eq!(boards(&items, &sheet, 2), wanted, "discs {across} mm wide");
    }
    // Several in one hole, turned as they fit; and none whose grain would not run along the board's.
    let bar = Item { may_be_guest: true, ..Item::whole(shapes::rectangle(36.0, 10.0, 1.0).unwrap(), Turns::Free) };
    let mut items = vec![ring.clone(); 9];
    items.extend(vec![bar.clone(); 27]);
    assert_eq!(boards(&items, &sheet, 1), 1);
    items[9..].iter_mut().for_each(|bar| bar.turns = Turns::Half);
    assert_eq!(boards(&items, &sheet, 0), 2);
    let layout = nest(&items, &sheet, Effort(1));
    assert!(layout.boards.len() > 1, "the ring may lie at any angle");
}
