use std::f64::consts::TAU;

use super::*;
use proptest::prelude::*;

/// The plain way: what is left of a large square, cut limit by limit, corner by corner.
fn clipped(limits: &[Limit]) -> Option<f64> {
    let mut left: Vec<Vec2> = [(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)].map(Vec2::from).to_vec();
    for limit in limits {
        let mut cut = Vec::new();
        for (a, b) in left.iter().zip(left.iter().cycle().skip(1)) {
            let (over_a, over_b) = (a.dot(limit.way) - limit.room, b.dot(limit.way) - limit.room);
            if over_a <= 0.0 {
                cut.push(*a);
            }
            if (over_a < 0.0) != (over_b < 0.0) && over_a != over_b {
                cut.push(*a + (*b - *a) * (over_a / (over_a - over_b)));
            }
        }
        left = cut;
    }
    left.iter().map(|corner| corner.hypot()).reduce(f64::max)
}

proptest! {
    #![proptest_config(crate::drawn(3_000))]

    #[test]
    fn limits_in_order_leave_what_cutting_leaves(
        limits in prop::collection::vec((0u32..720, -0.4..3.0f64), 0..30),
        shift in (-1.0..1.0f64, -1.0..1.0f64),
    ) {
        let limit = |(way, room): (u32, f64)| {
            let way = Vec2::from_angle(f64::from(way).to_radians() / 2.0);
            Limit { way, room: room + way.dot(Vec2::from(shift)) }
        };
        let limits: Vec<Limit> = limits.into_iter().map(limit).collect();
        let walls = limits.iter().map(|limit| Wall::new(Vec2::ZERO, limit.way, limit.room)).collect();
        let (quick, plain) = (farthest(&all_round(walls, 50.0), 0.0, 0.0), clipped(&limits));
        match (quick, plain) {
            (Some(quick), Some(plain)) => prop_assert!((quick - plain).abs() < 1e-6, "{quick} {plain}"),
            (None, None) => {}
            // Nothing but a point or a hair is left.
            (quick, plain) => {
                let wider: Vec<Limit> = limits.iter().map(|it| Limit { room: it.room + 1e-7, ..*it }).collect();
                let narrower: Vec<Limit> = limits.iter().map(|it| Limit { room: it.room - 1e-7, ..*it }).collect();
                prop_assert!(clipped(&wider).is_some() && clipped(&narrower).is_none(), "{quick:?} {plain:?}");
            }
        }
    }
}
fn nearest(edge: &Line, at: Point) -> f64 {
    let along = edge.p1 - edge.p0;
    let t = ((at - edge.p0).dot(along) / along.hypot2()).clamp(0.0, 1.0);
    (edge.p0 + along * t).distance(at)
}

fn deg(radians: f64) -> f64 {
    radians.to_degrees()
}

/// A square of side 2 h turns in its opening until a corner meets a side: h (sin t + cos t - 1) = k, so that
/// sin(t + 45deg) = (1 + k/h)/sqrt 2. Its axis goes off its place by the kerf, any way: the beam went round the corners, so
/// that the opening is round there. The bounds lie above what is reckoned by what flattening and steps leave open.
#[test]
fn a_square_has_the_play_of_its_corners() {
    for (half, kerf) in [(20.0, 0.16), (20.0, 0.4), (35.0, 0.2), (10.0, 0.1)] {
        let square = crate::geometry::shapes::rectangle(2.0 * half, 2.0 * half, 0.0).unwrap();
        let found = play(&square, Length::mm(kerf));
        let turn = found.turn.unwrap().as_degrees();
        let wanted = deg(((1.0 + kerf / half) / 2.0_f64.sqrt()).asin()) - 45.0;
        let open = deg((2.0 * FLAT_MM + STEP * kerf) * 2.0 / half);
        assert!(turn >= wanted && turn <= wanted + open, "{half} {kerf}: {turn} {wanted}");
        let shift = found.shift.as_mm();
        assert!(shift >= kerf && shift <= 1.06 * (kerf + 2.0 * FLAT_MM), "{half} {kerf}: {shift}");
    }
}

/// A bar l long and b wide, turned about its middle: a corner meets a long side where l sin t + b cos t = b + 2 k; nothing
/// lies farther off its place than the two bounds together say.
#[test]
fn a_long_part_turns_less() {
    let kerf = 0.2;
    for (long, wide) in [(80.0, 20.0), (60.0, 30.0), (50.0, 12.0)] {
        let bar = crate::geometry::shapes::rectangle(long, wide, 0.0).unwrap();
        let found = play(&bar, Length::mm(kerf));
        let turn = found.turn.unwrap().as_degrees();
        let across = f64::hypot(long, wide);
        let wanted = deg(((wide + 2.0 * kerf) / across).asin() - (wide / across).asin());
        let open = deg((2.0 * FLAT_MM + STEP * kerf) * 4.0 / long);
        assert!(turn >= wanted && turn <= wanted + open, "{long} {wide}: {turn} {wanted}");
        assert!(found.shift.as_mm() < 1.15 * (kerf + 2.0 * FLAT_MM), "{found:?}");
    }
}

/// Saw teeth hold on one side and let go on the other; a saw that is mirrored turns the other way as far.
#[test]
fn a_mirrored_part_has_the_same_play() {
    let corner = |turned: f64, far: f64| Vec2::from_angle(TAU * turned / 16.0) * far;
    let teeth = (0..16).flat_map(|tooth| [corner(f64::from(tooth), 20.0), corner(f64::from(tooth) + 0.1, 18.0)]);
    let path: String = teeth.map(|at| format!("L{},{} ", at.x, at.y)).collect();
    let saw = crate::geometry::shapes::path(&format!("M{}Z", path.trim_start_matches('L'))).unwrap();
    let kerf = Length::mm(0.2);
    let (one, other) = (play(&saw, kerf), play(&saw.transformed(kurbo::Affine::FLIP_X), kerf));
    let (turn, mirrored) = (one.turn.unwrap().as_radians(), other.turn.unwrap().as_radians());
    assert!((turn - mirrored).abs() < 1e-9, "{turn} {mirrored}");
    assert!((one.shift.as_mm() - other.shift.as_mm()).abs() < 1e-6);
    // The steep flanks, hardly off the radius, hold it after about a kerf, 18 mm from the axis and farther.
    assert!(turn > 0.2 / 20.0 && turn < 3.0 * 0.2 / 18.0, "{turn}");
}

#[test]
fn what_is_round_turns_freely() {
    let kerf = 0.2;
    let disc = crate::geometry::shapes::circle(30.0).unwrap();
    let found = play(&disc, Length::mm(kerf));
    assert!(found.turn.is_none() && (found.shift.as_mm() - kerf).abs() < 2e-3, "{found:?}");
    // A disc off its axis goes round its own middle: the axis goes with it.
    let moved = disc.transformed(kurbo::Affine::translate((3.0, 0.0)));
    let found = play(&moved, Length::mm(kerf));
    assert!(found.turn.is_none() && found.shift.as_mm() > 6.0 && found.shift.as_mm() < 6.3, "{found:?}");
    // Flat sides 0.05 mm deep do not hold what has 0.2 mm round it; deep ones do.
    let flatted = |deep: f64| {
        let bar = crate::geometry::shapes::rectangle(2.0 * (30.0 - deep), 80.0, 0.0).unwrap();
        play(&disc.intersection(&bar), Length::mm(kerf))
    };
    assert!(flatted(0.015).turn.is_none() && flatted(3.0).turn.is_some());
    assert!(play(&Region::empty(), Length::mm(kerf)).turn.is_none());
}

/// Of a slot no wider than two kerfs the cut leaves nothing that could hold the part, and its flats, less deep than
/// the kerf, hold nothing either. In a wide slot a bar stays: the slot's mouth, 29.9 mm from the axis, may go a
/// kerf to reach it, and one more as the whole part slides.
#[test]
fn a_slot_that_the_cut_takes_whole_does_not_hold() {
    use crate::geometry::shapes::{circle, rectangle};
    let slotted = |wide: f64| {
        let flatted = circle(30.0).unwrap().intersection(&rectangle(80.0, 59.8, 0.0).unwrap());
        let slot = rectangle(wide, 16.0, 0.0).unwrap().transformed(kurbo::Affine::translate((0.0, 30.0)));
        play(&flatted.difference(&slot), Length::mm(0.2)).turn.map(|turn| turn.as_radians())
    };
    assert_eq!((slotted(0.3), slotted(0.39)), (None, None));
    let turn = slotted(2.0).unwrap();
    assert!((0.4 / 30.0..=0.42 / 29.9).contains(&turn), "{turn}");
}

/// Whether many shifts of each place that has a wall, those that leave it in the opening, stop short of the wall.
/// The opening is all that lies in the part or no farther off it than the kerf.
fn no_wall_stands_in_the_opening(outline: &Region, kerf: f64, off: f64) -> Result<Vec<Wall>, String> {
    let flattened = FlattenedShape::to_within(outline, FLAT_MM);
    let (all, far) = (flattened.segments().to_vec(), flattened.reach(Point::ORIGIN));
    let walls = Opening { outline: flattened, kerf, far }.walls(off);
    let open = |place: Point| outline.contains(place) || all.iter().any(|edge| nearest(edge, place) <= kerf);
    for wall in &walls {
        let at = wall.way * wall.out - wall.way.turn_90() * wall.aside;
        for (turned, part) in (0..72).flat_map(|turned| (1..=8).map(move |part| (turned, part))) {
            let shift = Vec2::from_angle(f64::from(turned * 5).to_radians()) * (off * f64::from(part) / 8.0);
            if shift.dot(wall.way) > wall.room && open((at + shift).to_point()) {
                return Err(format!("{at} goes {shift}, not only {} along {}", wall.room, wall.way));
            }
        }
    }
    Ok(walls)
}

/// The tip of a spike stands off a corner, up and aside, by a hair less than the corner's reach and a kerf. So the
/// corner may go towards it all the way, into what was cut for the tip; no other edge is near.
#[test]
fn a_place_goes_where_the_farthest_edge_opens_for_it() {
    for (kerf, off) in [(0.2, 0.5), (0.1, 0.9), (0.4, 1.5)] {
        let tip = (kerf + off - 1e-4) / 2.0_f64.sqrt();
        let spiked = format!("M-10,-10 L9,-10 L9,5 L{tip},{tip} L8,3 L8,0 L0,0 L-3,-4 Z");
        let outline = crate::geometry::shapes::path(&spiked).unwrap();
        let walls = no_wall_stands_in_the_opening(&outline, kerf, off).unwrap();
        let up = walls.iter().find(|wall| wall.from_axis < 1e-9 && (wall.way - Vec2::new(0.0, 1.0)).hypot() < 1e-9);
        // A kerf above the tip the opening ends; hardly more of the spike is within reach.
        let room = up.unwrap().room;
        assert!(room >= kerf + tip && room <= kerf + tip + 5e-3, "{room} {kerf} {tip}");
    }
}

/// Two tines, and a slot between them that the cut takes whole: either goes on into the other.
#[test]
fn a_place_goes_across_a_slot_that_the_cut_takes() {
    let fork = crate::geometry::shapes::path("M-5,-1.5 L8,-1.5 L8,0 L0,0 L0,0.3 L8,0.3 L8,1.5 L-5,1.5 Z").unwrap();
    for off in [0.4, 0.6, 1.4] {
        assert!(no_wall_stands_in_the_opening(&fork, 0.2, off).is_ok(), "{off}");
    }
}

#[test]
fn a_place_lies_off_by_shift_and_chord() {
    let play = |turn: Option<f64>| Play { shift: Length::mm(0.3), turn: turn.map(Angle::degrees) };
    let off = |turn: Option<f64>| play(turn).off(Length::mm(10.0)).as_mm();
    assert!((off(Some(0.0)) - 0.3).abs() < 1e-12);
    // The chord of 60 degrees is the radius, of half a turn twice that, and of more no more.
    assert!((off(Some(60.0)) - 10.3).abs() < 1e-9 && (off(Some(180.0)) - 20.3).abs() < 1e-9);
    assert!((off(Some(270.0)) - 20.3).abs() < 1e-9 && (off(None) - 20.3).abs() < 1e-9);
}

/// Reaches of a hull by hand: a square of 10 mm reaches 5 at the least and 5 sqrt 2 at the most, and moved off by 2 it
/// reaches 3 on the near side; an outline beside the axis does not reach round it.
#[test]
fn a_hull_reaches_as_by_hand() {
    let square =
        |x: f64, y: f64| [(5.0, -5.0), (5.0, 5.0), (-5.0, 5.0), (-5.0, -5.0)].map(|(u, v)| Point::new(u + x, v + y));
    let near = |found: (f64, f64), wanted: (f64, f64)| {
        assert!(
            (found.0 - wanted.0).abs() < 1e-3 && found.0 <= wanted.0 && (found.1 - wanted.1).abs() < 1e-9,
            "{found:?}"
        );
    };
    near(reach(&square(0.0, 0.0)), (5.0, 50.0_f64.sqrt()));
    near(reach(&square(2.0, 0.0)), (3.0, 74.0_f64.sqrt()));
    near(reach(&square(0.0, -4.0)), (1.0, 106.0_f64.sqrt()));
    near(reach(&square(9.0, 0.0)), (0.0, 221.0_f64.sqrt()));
    let two = [square(-6.0, 0.0), square(6.0, 0.0)].concat();
    near(reach(&two), (5.0, 146.0_f64.sqrt()));
}

proptest! {
    #![proptest_config(crate::drawn(300))]

    /// The plain way: many places of the edge, those near enough.
    #[test]
    fn an_edge_reaches_as_far_as_its_places(
        (x, y, u, v) in (-3.0..3.0f64, -3.0..3.0f64, -4.0..4.0f64, -4.0..4.0f64),
        at in (-1.0..1.0f64, -1.0..1.0f64), within in 0.3..3.0f64, way in 0.0..TAU,
    ) {
        let edge = Line::new((x, y), (x + u, y + v));
        let (at, way) = (Point::from(at), Vec2::from_angle(way));
        let places = (0..=4_000).map(|step| edge.p0.lerp(edge.p1, f64::from(step) / 4_000.0) - at);
        let most = places.filter(|place| place.hypot() <= within).map(|place| place.dot(way)).reduce(f64::max);
        let found = highest(&edge, at, within, way);
        match (found, most) {
            (Some(found), Some(most)) => {
                // By the square root where the edge hardly comes within reach.
                let open = 2e-3 * edge.p0.distance(edge.p1) + 1e-9;
                prop_assert!(found >= most - 1e-9 && found <= most + open, "{found} {most}");
            }
            (None, Some(_)) => prop_assert!(false, "{most:?}"),
            // What comes within reach between two of the places looked at.
            (Some(_), None) => {
                let nearest = nearest(&edge, at);
                prop_assert!(nearest <= within, "{nearest} {within}");
            }
            (None, None) => {}
        }
    }

    /// Stars of all sorts, their notches as narrow as they come.
    #[test]
    fn walls_stand_outside_of_the_opening(
        corners in prop::collection::vec((0.1..1.0f64, 1.0..8.0f64), 4..14),
        kerf in 0.05..0.6f64, off in 0.1..4.0f64,
    ) {
        let all: f64 = corners.iter().map(|(angle, _)| angle).sum();
        let mut turned = 0.0;
        let ring = corners.iter().map(|(angle, far)| {
            turned += TAU * angle / all;
            Point::ORIGIN + Vec2::from_angle(turned) * *far
        });
        let path: String = ring.map(|at| format!("L{},{} ", at.x, at.y)).collect();
        let outline = crate::geometry::shapes::path(&format!("M{}Z", path.trim_start_matches('L')));
        // A star round less than half of its middle may cross itself.
        prop_assume!(outline.is_ok());
        let kept = no_wall_stands_in_the_opening(&outline.unwrap(), kerf, off);
        prop_assert!(kept.is_ok(), "{:?}", kept.err());
    }

    /// Strides over many steps give what looking at every step gives: the same end, and the same shift.
    #[test]
    fn strides_stop_where_steps_do(
        places in prop::collection::vec((0.0..TAU, 2.0..30.0f64, -1.2..1.2f64, 0.1..0.6f64), 3..40),
        step in 1e-4..2e-3f64, most in 5u32..300,
    ) {
        let wall = |(bearing, far, aslant, room): &(f64, f64, f64, f64)| {
            Wall::new(Vec2::from_angle(*bearing) * *far, Vec2::from_angle(bearing + aslant), *room)
        };
        let walls = all_round(places.iter().map(wall).collect(), 40.0);
        let shifts: Vec<f64> =
            (0..=most).map_while(|turned| farthest(&walls, step * f64::from(turned), step / 2.0)).collect();
        let reach = shifts.iter().copied().fold(0.0, f64::max);
        let end = u32::try_from(shifts.len()).unwrap();
        prop_assert_eq!(stopped(&walls, step, most), (end <= most).then_some((end, reach)));
    }

    /// A turned place has gone as far along its way as `room` less what is left.
    #[test]
    fn a_turn_takes_of_the_room_what_the_place_moves(
        (x, y) in (-30.0..30.0f64, -30.0..30.0f64), way in 0.0..TAU, turned in -0.5..0.5f64, room in 0.0..1.0f64,
        about in 0.0..0.02f64, besides in -1.0..1.0f64,
    ) {
        let (at, way) = (Vec2::new(x, y), Vec2::from_angle(way));
        let wall = Wall::new(at, way, room);
        let moved = Vec2::from_angle(at.atan2() + turned) * at.hypot() - at;
        let left = room - moved.dot(way);
        prop_assert!((wall.left(&Swing::new(turned, 0.0)) - left).abs() < 1e-9);
        // Of many turns no less than any of them leaves, and no more than the place could go besides.
        let middle = turned + about * besides;
        let most = wall.left(&Swing::new(middle, about));
        prop_assert!(most >= left - 1e-9 && most <= left + 2.0 * about * at.hypot() + 1e-9, "{most} {left}");
    }
}
