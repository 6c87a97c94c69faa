use super::*;
use crate::geometry::{Region, shapes};

fn sheet(width: f64, height: f64, gap: f64) -> Sheet {
    Sheet { width, height, margin: 0.0, gap, keep_out: Region::empty() }
}

fn item_type(outline: &Region, turns: Turns, sheet: &Sheet) -> ItemType {
    ItemTypes::of(&[Item::whole(outline.clone(), turns)], &[0], sheet).all.remove(0)
}

/// How many items the best lattice lays; the second engine finds them sound.
fn count(outline: &Region, turns: Turns, sheet: &Sheet) -> usize {
    let spots = best(&item_type(outline, turns, sheet), sheet);
    let items = vec![Item::whole(outline.clone(), turns); spots.len()];
    let board = spots.iter().enumerate().map(|(item, at)| Placement { item, at: *at }).collect();
    assert!(super::super::verify::are_sound(&[board], &items, sheet), "{spots:?}");
    spots.len()
}

/// Rings convex by construction: a few of the corners of a circle, stretched.
fn convex() -> impl proptest::strategy::Strategy<Value = Ring> {
    use proptest::prelude::*;
    (prop::collection::btree_set(0u32..24, 3..9), 0.4..1.0f64, 0.0..6.2f64).prop_filter_map(
        "a sliver",
        |(corners, flat, turned)| {
            let place = |at: u32| {
                let corner = Vec2::from_angle(std::f64::consts::TAU * f64::from(at) / 24.0) * 10.0;
                Affine::rotate(turned) * Point::new(corner.x, corner.y * flat)
            };
            let ring: Ring = corners.into_iter().map(place).collect();
            (crate::plan::rings::area(&ring) > 20.0).then_some(ring)
        },
    )
}

/// How far two convex rings stand apart: the widest gap seen along the normal of a side or from corner to corner; below
/// zero where they overlap, by how deep.
fn apart(a: &[Point], b: &[Point]) -> f64 {
    let sides = |ring: &[Point]| -> Vec<Vec2> {
        let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
        pairs.map(|(p, q)| Vec2::new(q.y - p.y, p.x - q.x).normalize()).collect()
    };
    let along = |way: Vec2| {
        let most = a.iter().map(|at| at.to_vec2().dot(way)).fold(f64::NEG_INFINITY, f64::max);
        b.iter().map(|at| at.to_vec2().dot(way)).fold(f64::INFINITY, f64::min) - most
    };
    let own = sides(a).into_iter().map(along);
    let theirs = sides(b).into_iter().map(|way| along(-way));
    let corners = a.iter().flat_map(|p| b.iter().map(move |q| (*q - *p).normalize())).map(along);
    own.chain(theirs).chain(corners).fold(f64::NEG_INFINITY, f64::max)
}

proptest::proptest! {
    #![proptest_config(crate::drawn(4))]

    /// No two neighbours of a lattice stand nearer than the gap, and some stand no farther off than its polygon's corners.
    #[test]
    fn neighbours_keep_the_gap_and_some_touch(
        outline in convex(), gap in proptest::sample::select(vec![0.0, 0.7, 3.0]),
    ) {
        let pattern = Pattern::new(outline.clone(), gap, Rect::new(0.0, 0.0, 70.0, 60.0));
        let turned: Ring = outline.iter().map(|at| Point::new(-at.x, -at.y)).collect();
        let reach = gap / (std::f64::consts::PI / f64::from(SIDES)).cos();
        let (mut lattices, mut wrong) = (0, Vec::new());
        pattern.search(&mut |lattice, _, _| {
            lattices += 1;
            // A few of the many, each with other heights and shifts.
            if lattices % 7 != 0 {
                return;
            }
            let mut least = f64::INFINITY;
            for (row, column) in (-3i32..=3).flat_map(|row| (-6i32..=6).map(move |column| (row, column))) {
                let by = lattice.step * f64::from(row) + Vec2::new(lattice.period * f64::from(column), 0.0);
                let there = |ring: &Ring, by: Vec2| -> Ring { ring.iter().map(|at| *at + by).collect() };
                if (row, column) != (0, 0) {
                    least = least.min(apart(&outline, &there(&outline, by)));
                }
                if let Some(second) = lattice.second {
                    least = least.min(apart(&outline, &there(&turned, by + second)));
                }
            }
            if least < gap - 1e-6 || least > reach + 1e-6 {
                wrong.push(format!("{lattice:?} leaves {least} for {gap}"));
            }
        });
        proptest::prop_assert!(wrong.is_empty() && lattices >= 7, "{lattices}: {wrong:?}");
    }

    /// The places listed are those of the whole lattice at which an item lies inside, found by trying all.
    #[test]
    fn every_place_inside_is_counted(outline in convex(), gap in 0.0..2.0f64, width in 25.0..60.0f64) {
        let pattern = Pattern::new(outline.clone(), gap, Rect::new(5.0, -2.0, 5.0 + width, 45.0));
        let (mut lattices, mut wrong) = (0, Vec::new());
        let inside = Rect::new(5.0, -2.0, 5.0 + width, 45.0).inflate(1e-6, 1e-6);
        let lies = |ring: Ring| ring.iter().all(|at| inside.contains(*at));
        pattern.search(&mut |lattice, places, count| {
            lattices += 1;
            let places = places();
            if lattices % 23 != 0 || places.is_empty() {
                return;
            }
            let (first, half) = places[0];
            let start = if half { first - lattice.second.unwrap() } else { first };
            let mut all = 0;
            for (row, column) in (-40i32..=40).flat_map(|row| (-40i32..=40).map(move |column| (row, column))) {
                let by = lattice.step * f64::from(row) + Vec2::new(lattice.period * f64::from(column), 0.0);
                let at = start + by;
                all += usize::from(lies(outline.iter().map(|corner| *corner + at.to_vec2()).collect()));
                if let Some(second) = lattice.second {
                    all += usize::from(lies(outline.iter().map(|corner| (at + second) - corner.to_vec2()).collect()));
                }
            }
            let inside = |(at, half): &(Point, bool)| {
                let sign = if *half { -1.0 } else { 1.0 };
                lies(outline.iter().map(|corner| *at + sign * corner.to_vec2()).collect())
            };
            if all != count || places.len() != count || !places.iter().all(inside) {
                wrong.push(format!("{lattice:?}: {all} places, {count} counted, {} listed", places.len()));
            }
        });
        proptest::prop_assert!(wrong.is_empty() && lattices > 23, "{lattices}: {wrong:?}");
    }
}

/// Triangles and parallelograms fill the plane, a regular pentagon no more than (5 - sqrt 5)/3 of it by a double lattice,
/// which is the most (Kuperberg, as above), a disc pi/sqrt 12.
#[test]
fn double_lattices_are_as_dense_as_is_known() {
    let densest = |outline: &Ring| {
        let mut cell = f64::INFINITY;
        let pattern = Pattern::new(outline.clone(), 0.0, Rect::new(0.0, 0.0, 90.0, 90.0));
        pattern.search(&mut |lattice, _, _| {
            let items = if lattice.second.is_some() { 2.0 } else { 1.0 };
            cell = cell.min(lattice.period * lattice.step.y / items);
        });
        crate::plan::rings::area(outline) / cell
    };
    let regular = |sides: u32| -> Ring {
        let corner = |at: u32| Vec2::from_angle(std::f64::consts::TAU * f64::from(at) / f64::from(sides)) * 10.0;
        (0..sides).map(|at| turned_by(90.0) * corner(at).to_point()).collect()
    };
    let lame: Ring = [(0.0, 0.0), (9.0, 0.0), (3.0, 7.0)].map(Point::from).to_vec();
    assert!((densest(&lame) - 1.0).abs() < 1e-6, "{}", densest(&lame));
    let slanted: Ring = [(0.0, 0.0), (8.0, 0.0), (11.0, 6.0), (3.0, 6.0)].map(Point::from).to_vec();
    assert!((densest(&slanted) - 1.0).abs() < 1e-6, "{}", densest(&slanted));
    assert!((densest(&regular(6)) - 1.0).abs() < 1e-6, "{}", densest(&regular(6)));
    let most = (5.0 - 5.0_f64.sqrt()) / 3.0;
    let found = densest(&regular(5));
    assert!(found > 0.97 * most && found < most + 1e-9, "{found} {most}");
    let round = densest(&regular(96));
    let most = std::f64::consts::PI / 12.0_f64.sqrt();
    assert!(round > 0.985 * most && round < most + 1e-3, "{round} {most}");
}

/// What is wider or higher than its board has no lattice there, and what just fits has.
#[test]
fn no_lattice_is_tried_where_nothing_fits() {
    let square: Ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from).to_vec();
    let tried = |width: f64, height: f64| {
        let mut tried = 0;
        let board = Rect::new(0.0, 0.0, width, height);
        Pattern::new(square.clone(), 0.0, board).search(&mut |_, _, _| tried += 1);
        tried
    };
    assert_eq!((tried(9.0, 30.0), tried(30.0, 9.0), tried(9.0, 9.0)), (0, 0, 0));
    assert!(tried(10.0, 30.0) > 0 && tried(30.0, 10.0) > 0);
}

/// Boards that are filled to the last place, reckoned by hand.
#[test]
fn boards_hold_what_is_reckoned_by_hand() {
    // Six and a half diameters by four rows of sqrt(3)/2: 6 in each row, the rows half a diameter apart.
    let disc = shapes::circle(5.0).unwrap();
    let high = 10.0 + 30.0 * 3.0_f64.sqrt() / 2.0 + 0.1;
    assert_eq!(count(&disc, Turns::Free, &sheet(65.1, high, 0.0)), 24);
    assert_eq!(count(&disc, Turns::Free, &sheet(high, 65.1, 0.0)), 24, "the same board laid on its side");
    // Triangles with sides of 10 along a strip as high as they are: n along the bottom, n - 1 upside down between.
    let side = 10.0;
    let triangle = shapes::polygon(3, side / 3.0_f64.sqrt(), 0.0).unwrap();
    let high = side * 3.0_f64.sqrt() / 2.0 + 1e-6;
    assert_eq!(count(&triangle, Turns::Free, &sheet(40.0 + 1e-6, high, 0.0)), 7);
    assert_eq!(count(&triangle, Turns::Half, &sheet(40.0 + 1e-6, high, 0.0)), 7, "half turns are enough");
    // Bars 4 by 20 with a gap of 1: five by three on 24 by 62, whichever way the board lies.
    let bar = shapes::rectangle(4.0, 20.0, 0.0).unwrap();
    assert_eq!(count(&bar, Turns::Half, &sheet(24.1, 62.1, 1.0)), 15);
    assert_eq!(count(&bar, Turns::Free, &sheet(62.1, 24.1, 1.0)), 15);
    assert_eq!(count(&bar, Turns::Half, &sheet(24.1, 61.9, 1.0)), 10);
    // To the last: nothing is left over on either side.
    let square = shapes::rectangle(10.0, 10.0, 0.0).unwrap();
    assert_eq!(count(&square, Turns::Half, &sheet(30.0, 20.0, 0.0)), 6);
    assert_eq!(count(&square, Turns::Half, &sheet(29.999, 20.0, 0.0)), 4);
    // A clamp in the middle takes the places that it covers.
    let mut clamped = sheet(24.1, 62.1, 1.0);
    clamped.keep_out = shapes::rectangle(3.0, 3.0, 0.0).unwrap().transformed(Affine::translate((12.05, 31.05)));
    assert_eq!(count(&bar, Turns::Half, &clamped), 14);
}

/// Six squares fill a board; of two types only full boards are lattices, what is left of both lies in rows.
#[test]
fn full_boards_are_lattices_and_the_rest_lies_in_rows() {
    let tight = sheet(30.0, 20.0, 0.0);
    let square = Item::whole(shapes::rectangle(10.0, 10.0, 0.0).unwrap(), Turns::Half);
    let bar = Item::whole(shapes::rectangle(30.0, 5.0, 0.0).unwrap(), Turns::Half);
    let laid = |items: &[Item]| {
        let types = ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), &tight);
        let boards = boards(items, &types, &tight)?;
        assert!(super::super::verify::are_sound(&boards, items, &tight));
        let mut all: Vec<usize> = boards.iter().flatten().map(|it| it.item).collect();
        all.sort_unstable();
        assert_eq!(all, (0..items.len()).collect::<Vec<_>>(), "each item once");
        Some(boards.iter().map(Vec::len).collect::<Vec<_>>())
    };
    assert_eq!(laid(&vec![square.clone(); 6]), Some(vec![6]));
    assert_eq!(laid(&vec![square.clone(); 8]), Some(vec![6, 2]));
    let mut mixed = vec![square.clone(); 8];
    mixed.extend(vec![bar.clone(); 6]);
    assert_eq!(laid(&mixed), Some(vec![6, 4, 4]), "four bars, and two squares with two bars");
    assert_eq!(laid(&[square, bar]), None, "neither fills a board");
}

#[test]
fn only_turns_that_look_unlike_are_tried() {
    let tried = |outline: &Region, turns_: Turns| {
        let own = item_type(outline, turns_, &sheet(90.0, 90.0, 1.0));
        let corners: Vec<Point> = own.rings.iter().flatten().copied().collect();
        turns(&own, &hull(&corners))
    };
    let below = |found: &[f64], period: f64| {
        assert!(found.first() == Some(&0.0) && found.windows(2).all(|two| two[0] < two[1]), "{found:?}");
        assert!(found.iter().all(|turn| *turn < period), "{found:?}");
        // Every third degree is there, and no more than the eighths and tenths beside.
        let thirds = found.iter().filter(|turn| **turn % 3.0 == 0.0).count();
        assert_eq!(thirds, (period / 3.0).ceil() as usize, "{found:?}");
    };
    assert_eq!(tried(&shapes::circle(6.0).unwrap(), Turns::Free), [0.0]);
    assert_eq!(tried(&shapes::polygon(5, 6.0, 0.0).unwrap(), Turns::Half), [0.0]);
    below(&tried(&shapes::rectangle(9.0, 9.0, 0.0).unwrap(), Turns::Free), 90.0);
    below(&tried(&shapes::rectangle(9.0, 4.0, 0.0).unwrap(), Turns::Free), 180.0);
    below(&tried(&shapes::polygon(6, 6.0, 0.0).unwrap(), Turns::Free), 60.0);
    let lame = shapes::path("M0,0 L9,0 L3,7 Z").unwrap();
    below(&tried(&lame, Turns::Free), 180.0);
}

/// The sides of a slanted ring, by hand: from (0,0) along the bottom to (8,0) and up to (11,6); back over (3,6).
#[test]
fn a_ring_is_looked_through_from_below() {
    let ring = [(3.0, 6.0), (0.0, 0.0), (8.0, 0.0), (11.0, 6.0)];
    let sides = Sides::of(&ring);
    let near = |found: Option<f64>, wanted: f64| assert!((found.unwrap() - wanted).abs() < 1e-12, "{found:?} {wanted}");
    for (place, least, most) in [(0.0, 0.0, 0.0), (1.5, 0.0, 3.0), (3.0, 0.0, 6.0), (8.0, 0.0, 6.0), (9.5, 3.0, 6.0)] {
        near(sides.least(place), least);
        near(sides.most(place), most);
    }
    near(sides.least(11.0), 6.0);
    for outside in [-0.001, 11.001] {
        assert_eq!((sides.least(outside), sides.most(outside)), (None, None));
    }
    let upright = Sides::of(&[(0.0, 1.0), (4.0, 1.0), (4.0, 3.0), (0.0, 3.0)]);
    for place in [1.0, 4.0] {
        near(upright.least(place), 1.0);
        near(upright.most(place), 3.0);
    }
}
