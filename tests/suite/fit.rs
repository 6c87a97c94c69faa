//! How a dial lies in its slot and turns in it, and how true outlines turn, against figures worked out by hand.

use super::designs::*;
use dialwright::audit::fit::{fit, swept};
use dialwright::audit::runout::{Symmetry, runout};
use dialwright::design::*;
use dialwright::geometry::Region;
use dialwright::units::Length;
use kurbo::Vec2;

fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 2e-3, "{found} is not {wanted}");
}

/// Two layers of these outlines that turn against each other at these stops.
fn stack(lower: Region, upper: Region, stops: &[f64]) -> Design {
    design(vec![layer("base", lower), layer("cover", upper)], vec![turns(0, stops)], Vec::new())
}

fn in_slot(mut design: Design, outline: Region, depth: Option<f64>) -> Design {
    design.slot = Some(Slot { outline, depth: depth.map(mm), origin: span(60) });
    design
}

/// A disc of 30 mm in a slot of 70 by 80 whose middle is 2 mm to the right: moved there it has 5 mm on either side.
#[test]
fn a_dial_is_moved_to_the_middle_of_its_slot_where_that_gives_room() {
    let dial = || stack(circle(30.0), circle(29.0), &even(4));
    let (found, problems) = fit(&in_slot(dial(), rectangle(70.0, 80.0).shifted(2.0, 0.0), Some(9.0)));
    let found = found.unwrap();
    assert!(problems.iter().count() == 0 && found.stops.len() == 4);
    near(found.moved.x, 2.0);
    near(found.moved.y, 0.0);
    for stop in &found.stops {
        near(stop.clearance.as_mm(), 5.0);
        for (side, wanted) in stop.sides.iter().zip([5.0, 5.0, 10.0, 10.0]) {
            near(side.as_mm(), wanted);
        }
        near((stop.at.x - 2.0).abs(), 30.0);
    }
    near(found.turning.as_mm(), 5.0);
    near(found.above.unwrap().as_mm(), 9.0 - 2.0 * 2.95);
    near(found.largest_scale, 35.0 / 30.0);
    // A tab on the right makes the slot's box wider, but not the room: the dial stays on the slot's origin.
    let tabbed = rectangle(70.0, 70.0).union(&rectangle(20.0, 4.0).shifted(40.0, 0.0));
    let (found, _) = fit(&in_slot(dial(), tabbed, None));
    let found = found.unwrap();
    assert!(found.moved == Vec2::ZERO && found.above.is_none());
    near(found.worst().unwrap().clearance.as_mm(), 5.0);
    // So does a short one, which would leave 3.5 mm of the 5 where the boxes' middles lie over each other.
    let tabbed = rectangle(70.0, 70.0).union(&rectangle(20.0, 4.0).shifted(28.0, 0.0));
    let found = fit(&in_slot(dial(), tabbed, None)).0.unwrap();
    assert!(found.moved == Vec2::ZERO);
    near(found.worst().unwrap().clearance.as_mm(), 5.0);
}

/// A square of 40 mm turned by an eighth in a square slot of 50: its corners reach 20 sqrt 2, 3.28 mm too far; they graze the
/// slot on the way from quarter to quarter too, where the stops themselves are clear.
#[test]
fn a_dial_that_stands_over_its_slot_is_measured() {
    let (reach, half) = (20.0 * 2.0_f64.sqrt(), 25.0);
    let slot = || rectangle(2.0 * half, 2.0 * half);
    let square = || rectangle(40.0, 40.0);
    let (found, problems) = fit(&in_slot(stack(circle(10.0), square(), &[0.0, 45.0]), slot(), Some(5.0)));
    let found = found.unwrap();
    near(found.stops[0].clearance.as_mm(), 5.0);
    near(found.stops[1].clearance.as_mm(), half - reach);
    assert_eq!(found.worst().unwrap().stops, [1]);
    near(found.turning.as_mm(), half - reach);
    near(found.largest_scale, half / reach);
    let mut names: Vec<&str> = problems.iter().map(|one| one.finding.name()).collect();
    names.sort_unstable();
    assert_eq!(names.len(), 2, "too big, and 0.9 mm too thick: {names:?}");
    let (found, problems) = fit(&in_slot(stack(circle(10.0), square(), &[0.0, 90.0]), slot(), Some(5.9)));
    let found = found.unwrap();
    near(found.worst().unwrap().clearance.as_mm(), 5.0);
    near(found.turning.as_mm(), half - reach);
    assert_eq!(problems.iter().count(), 1, "it touches on the way alone");
    // What is below the lowest turn does not turn.
    let (found, problems) = fit(&in_slot(stack(square(), circle(10.0), &[0.0, 45.0]), slot(), None));
    near(found.unwrap().turning.as_mm(), 5.0);
    assert!(problems.iter().count() == 0);
    // Of two alike the one that turns is looked at too, and of two that turn together either tells of both.
    let found = fit(&in_slot(stack(square(), square(), &[0.0, 45.0]), slot(), None)).0.unwrap();
    near(found.stops[0].clearance.as_mm(), 5.0);
    near(found.stops[1].clearance.as_mm(), half - reach);
    assert!(fit(&stack(circle(10.0), square(), &[0.0])).0.is_none());
}

/// A loose dial is shifted by its slot as it turns, so that it needs no more than the widest that it gets. All by hand.
#[test]
fn a_dial_that_turns_needs_no_more_than_its_widest() {
    let turning = |lower: Region, upper: Region, slot: Region| {
        let (found, problems) = fit(&in_slot(stack(lower, upper, &[0.0]), slot, None));
        let found = found.unwrap();
        assert!(found.worst().unwrap().clearance > Length::ZERO);
        assert_eq!(problems.iter().count(), usize::from(found.turning.as_mm() < 0.0), "{found:?}");
        (found.turning.as_mm(), found.turning_exact)
    };
    let near_to = |(room, exact): (f64, bool), wanted: f64, whether: bool| {
        near(room, wanted);
        assert_eq!(exact, whether);
    };
    // A disc of 40 mm stands 9.29 mm off the axis: it sweeps 58.58 mm, but with a lower half of 40 mm is never wider than 49.29.
    let off = || circle(20.0).shifted(9.29, 0.0);
    near_to(turning(circle(20.0), off(), rectangle(60.0, 60.0)), (60.0 - 49.29) / 2.0, true);
    near_to(turning(circle(20.0), off(), rectangle(60.0, 48.0).shifted(2.0, 0.0)), (48.0 - 49.29) / 2.0, true);
    // In a round slot the axis stays in the middle, though at its stop the dial is moved aside.
    near_to(turning(circle(20.0), off(), circle(30.0)), 30.0 - 29.29, false);
    // A triangle with corners 30 mm off the axis sweeps 60 mm, and is as wide as its side is long: 30 sqrt 3.
    let side = 30.0 * 3.0_f64.sqrt();
    near_to(turning(circle(10.0), regular(3, 30.0), rectangle(55.0, 55.0)), (55.0 - side) / 2.0, true);
    near_to(turning(circle(10.0), regular(3, 30.0), rectangle(70.0, 51.9)), (51.9 - side) / 2.0, true);
}

/// By hand: what is said of a dial too big is in all, and over which edge.
#[test]
fn what_is_said_of_a_slot_is_in_all_and_of_an_edge() {
    let said = |dial: Region, slot: Region| {
        let (_, problems) = fit(&in_slot(stack(circle(10.0), dial, &[0.0]), slot, None));
        problems.iter().map(|one| one.message.clone()).collect::<Vec<_>>().join("; ")
    };
    let square = || rectangle(60.0, 60.0);
    assert_eq!(
        said(square(), rectangle(59.0, 70.0)),
        "at stop 1 (0deg) the dial is 1mm too wide for its slot, and stands 0.5mm over its left edge"
    );
    assert_eq!(
        said(square(), rectangle(70.0, 56.0)),
        "at stop 1 (0deg) the dial is 4mm too high for its slot, and stands 2mm over its upper edge"
    );
    // Corners 30 sqrt 2 mm from the middle of a hole of 41.
    assert_eq!(
        said(square(), circle(41.0)),
        "at stop 1 (0deg) the dial stands in its slot 1.426mm over its upper right edge"
    );
    // 60 sqrt 2 mm from corner to corner in 80.
    assert_eq!(
        said(square(), rectangle(80.0, 80.0)),
        "the dial fits its slot at every stop, but gets 4.853mm too wide for it as it turns, 2.426mm on either side"
    );
    assert_eq!(
        said(square(), circle(42.0).union(&rectangle(61.0, 61.0))),
        "the dial fits its slot at every stop, but stands 0.426mm over its edge as it turns about its axis"
    );
}

#[test]
fn boards_and_glue_make_the_thickness() {
    let layers = vec![layer("a", circle(9.0)), layer("b", circle(9.0)), layer("c", circle(9.0))];
    let stack = design(layers, vec![glued(), turns(1, &even(3))], Vec::new());
    near(stack.thickness().as_mm(), 3.0 * 2.95 + 0.05);
    near(swept(&rectangle(30.0, 40.0)).as_mm(), 50.0);
    near(swept(&circle(5.0).shifted(3.0, 4.0)).as_mm(), 20.0);
}

/// A square of half side h turned by an eighth stands h (sqrt 2 - 1) beyond one that is not; discs and unlike outlines claim
/// nothing.
#[test]
fn like_outlines_overhang_by_the_closed_form() {
    let (found, problems) = runout(&stack(rectangle(40.0, 40.0), rectangle(40.0, 40.0), &[0.0, 30.0, 45.0, 90.0]));
    assert_eq!(found.layers.iter().map(|it| it.symmetry).collect::<Vec<_>>(), [Symmetry::Times(4); 2]);
    let [pair] = &found.overhangs[..] else { panic!("one pair: {:?}", found.overhangs) };
    assert_eq!((pair.lower, pair.upper, pair.stops.as_slice()), (0, 1, &[2][..]));
    // Wherever the worst comes, and the first of those that are as bad.
    let (other, _) = runout(&stack(rectangle(40.0, 40.0), rectangle(40.0, 40.0), &[0.0, 45.0, 30.0, 135.0]));
    assert_eq!(other.overhangs[0].stops, [1]);
    near(pair.overhang.as_mm(), 20.0 * (2.0_f64.sqrt() - 1.0));
    near(found.overhang().as_mm(), 20.0 * (2.0_f64.sqrt() - 1.0));
    assert_eq!(problems.iter().count(), 1);
    let (found, problems) = runout(&stack(rectangle(40.0, 40.0), rectangle(40.0, 40.0), &even(4)));
    near(found.overhang().as_mm(), 0.0);
    assert!(problems.iter().count() == 0);
    // A quarter of a degree off: 20 sqrt 2 sin of it, to the first order along the side, is under a tenth of a millimetre.
    let (found, problems) = runout(&stack(rectangle(40.0, 40.0), rectangle(40.0, 40.0), &[0.0, 0.25]));
    near(found.overhang().as_mm(), 20.0 * (0.25_f64.to_radians().sin() + 0.25_f64.to_radians().cos() - 1.0));
    assert!(problems.iter().count() == 0);
    for (one, other) in
        [(circle(20.0), circle(20.0)), (rectangle(40.0, 40.0), regular(5, 20.0)), (regular(6, 20.0), regular(6, 21.0))]
    {
        assert!(runout(&stack(one, other, &[0.0, 45.0])).0.overhangs.is_empty());
    }
}

#[test]
fn outlines_repeat_about_their_own_middle() {
    let seen = |outline: Region| {
        let (found, problems) = runout(&design(vec![layer("plate", outline)], Vec::new(), Vec::new()));
        (found.layers[0].symmetry, problems.iter().count())
    };
    for sides in [3, 4, 5, 7, 12, 24] {
        let outline = regular(sides, 30.0);
        let order = Symmetry::Times(u32::try_from(sides).unwrap());
        assert_eq!(seen(outline.clone()), (order, 0));
        assert_eq!(seen(outline.turned(11.0)), (order, 0));
        // Off the axis by more than a twentieth of a millimetre it turns out of true.
        assert_eq!((seen(outline.shifted(0.04, 0.0)), seen(outline.shifted(0.06, 0.0))), ((order, 0), (order, 1)));
    }
    assert_eq!(
        (seen(circle(20.0)), seen(circle(20.0).shifted(0.0, 3.0))),
        ((Symmetry::Round, 0), (Symmetry::Round, 1))
    );
    assert_eq!(seen(ellipse(40.0, 30.0)), (Symmetry::Times(2), 0));
    assert_eq!(seen(ellipse(40.0, 39.95)), (Symmetry::Round, 0), "to within a twentieth of a millimetre");
    // A lame triangle repeats nowhere, so that nothing is said of its middle.
    assert_eq!(seen(polygon(&[(0.0, 0.0), (30.0, 0.0), (9.0, 17.0)])), (Symmetry::None, 0));
}
