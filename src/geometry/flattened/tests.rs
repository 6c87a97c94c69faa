use super::*;
use crate::geometry::segment::tests::{apart, apart_pair, cross, segments};
use crate::geometry::segment::{meeting, passes};
use crate::geometry::shapes::circle;

fn disc(radius: f64, x: f64) -> FlattenedShape {
    FlattenedShape::of(&circle(radius).unwrap()).moved(Affine::translate((x, 0.0)))
}

#[test]
fn gaps_between_discs_follow_the_closed_form() {
    assert!((disc(5.0, 0.0).gap(&disc(3.0, 10.0)).mm - 2.0).abs() < 2.0 * FINE_MM);
    // 1 mm of overlap: the deepest vertex of the small disc stands 1 mm inside the large one.
    assert!((disc(3.0, 7.0).gap(&disc(5.0, 0.0)).mm + 1.0).abs() < 0.01);
    assert!((disc(2.0, 1.0).room_in(&disc(5.0, 0.0)).mm - 2.0).abs() < 2.0 * FINE_MM);
    assert!((disc(2.0, 4.0).room_in(&disc(5.0, 0.0)).mm + 1.0).abs() < 0.01);
    assert!(disc(1.0, 0.0).gap(&disc(5.0, 0.0)).overlaps());
}

#[test]
fn shapes_with_common_edges_overlap() {
    assert!((disc(3.0, 0.0).gap(&disc(3.0, 0.0)).mm + 3.0).abs() < 0.25);
    let bar = |x: f64| {
        let rect = Rect::from_center_size((x, 0.0), (4.0, 2.0));
        let path = kurbo::Shape::to_path(&rect, 1e-4);
        FlattenedShape::of(&Region::from_path(&path, crate::geometry::Rule::NonZero).unwrap())
    };
    assert!(bar(0.0).gap(&bar(2.0)).overlaps());
    assert!(!bar(0.0).gap(&bar(4.0)).overlaps());
}

/// Rings of short straight edges, so many of them that leaves and nodes are passed over.
fn lobed(lobes: u32, radius: f64, at: (f64, f64)) -> FlattenedShape {
    let corners = 40 * lobes;
    let mut path = BezPath::new();
    for corner in 0..corners {
        let turned = std::f64::consts::TAU * f64::from(corner) / f64::from(corners);
        let reach = radius * (1.0 + 0.3 * (turned * f64::from(lobes)).cos());
        let corner = Point::new(at.0 + reach * turned.cos(), at.1 + reach * turned.sin());
        if path.elements().is_empty() { path.move_to(corner) } else { path.line_to(corner) }
    }
    path.close_path();
    FlattenedShape::of(&Region::trusted(path))
}

/// The plain way, edge by edge.
fn off_all(flat: &FlattenedShape, point: Point) -> f64 {
    flat.segments.iter().map(|line| apart(line, point)).fold(f64::INFINITY, f64::min)
}

/// Whether a ray to the right leaves a shape that has one ring.
fn is_in(flat: &FlattenedShape, point: Point) -> bool {
    let crossed = flat.segments.iter().filter(|line| (line.p0.y > point.y) != (line.p1.y > point.y));
    let right = crossed
        .filter(|line| line.p0.x + (point.y - line.p0.y) / (line.p1.y - line.p0.y) * (line.p1.x - line.p0.x) > point.x);
    right.count() % 2 == 1
}

/// Least distance of two rings by their corners alone, which is the distance unless edges cross.
fn off_each_other(a: &FlattenedShape, b: &FlattenedShape) -> f64 {
    let one_way = |from: &FlattenedShape, to: &FlattenedShape| {
        from.vertices().map(|at| off_all(to, at)).fold(f64::INFINITY, f64::min)
    };
    one_way(a, b).min(one_way(b, a))
}

proptest::proptest! {
    #![proptest_config(crate::drawn(60))]

    #[test]
    fn places_lie_as_trying_every_edge_says(
        lobes in 1u32..12, x in -15.0..15.0f64, y in -15.0..15.0f64, whole in 0u32..4,
    ) {
        let flat = lobed(lobes, 8.0, (0.0, 0.0));
        // Every fourth place is level with a corner.
        let y = if whole == 0 { flat.segments[(100.0 + 6.0 * x) as usize % flat.segments.len()].p0.y } else { y };
        let place = Point::new(x, y);
        let (mm, at) = flat.distance_to(place).unwrap();
        let all = off_all(&flat, place);
        proptest::prop_assert!((mm - all).abs() < 1e-9 && (at.distance(place) - all).abs() < 1e-9);
        proptest::prop_assert!(off_all(&flat, at) < 1e-9);
        proptest::prop_assert!(all < 1e-9 || flat.contains(place) == is_in(&flat, place));
    }

    #[test]
    fn rings_lie_as_trying_every_pair_says(
        (lobes, other) in (1u32..9, 1u32..9), away in 0.0..26.0f64, turned in 0.0..6.2f64, small in 2.0..9.0f64,
    ) {
        let (a, b) = (lobed(lobes, 8.0, (0.0, 0.0)), lobed(other, small, (away * turned.cos(), away * turned.sin())));
        let crossing = a.segments.iter().any(|one| b.segments.iter().any(|two| meeting(one, two).is_some()));
        let apart = if crossing { 0.0 } else { off_each_other(&a, &b) };
        let inside = is_in(&a, b.starts[0]) || is_in(&b, a.starts[0]);
        let edges = a.edge_gap(&b, f64::INFINITY);
        proptest::prop_assert!((edges.mm - apart).abs() < 1e-9);
        proptest::prop_assert!(off_all(&a, edges.at.0) < 1e-9 && off_all(&b, edges.at.1) < 1e-9);
        proptest::prop_assert!((edges.at.0.distance(edges.at.1) - apart).abs() < 1e-9);
        for within in [0.4 * apart, 1.01 * apart + 1e-6, 3.0 * apart + 1.0] {
            proptest::prop_assert!((a.edge_gap(&b, within).mm - apart.min(within)).abs() < 1e-9);
            let clear = if inside && !crossing && apart < within { 0.0 } else { apart.min(within) };
            let clear = if inside { 0.0 } else { clear };
            proptest::prop_assert!((a.clear(&b, within) - clear).abs() < 1e-9);
            let near = crossing || inside || apart < within;
            proptest::prop_assert_eq!(a.closer_than(&b, within), near);
            let lies_in = !crossing && apart >= within && is_in(&b, a.starts[0]);
            proptest::prop_assert_eq!(a.lies_clear_in(&b, within), lies_in);
        }
        let depth = |points: &FlattenedShape, body: &FlattenedShape| {
            points.vertices().filter(|at| is_in(body, *at)).map(|at| off_all(body, at)).fold(0.0, f64::max)
        };
        let gap = a.gap(&b);
        if crossing || inside {
            let stands = if depth(&a, &b) > 0.0 { depth(&a, &b) } else { depth(&b, &a) };
            proptest::prop_assert!(gap.mm < 0.0 && -gap.mm > stands - 1e-9, "{} {stands}", gap.mm);
            let deepest = depth(&a, &b).max(depth(&b, &a));
            proptest::prop_assert!(!a.deeper_than(&b, deepest + 1e-6));
            proptest::prop_assert!(deepest < 1e-3 || a.deeper_than(&b, deepest - 1e-6));
        } else {
            proptest::prop_assert!((gap.mm - apart).abs() < 1e-9 && !a.deeper_than(&b, 0.0));
        }
        let out = a.vertices().filter(|at| !is_in(&b, *at)).map(|at| off_all(&b, at)).fold(0.0, f64::max);
        let room = a.room_in(&b);
        let wanted = if out > 0.0 { -out } else { apart };
        proptest::prop_assert!((room.mm - wanted).abs() < 1e-9, "{} {wanted}", room.mm);
        proptest::prop_assert!((room.at.0.distance(room.at.1) - wanted.abs()).abs() < 1e-9);
    }
}

#[test]
fn level_lines_cross_what_lies_inside() {
    // A frame of 8 by 6 mm with a window of 4 by 2 mm in it, a corner of the frame on one of the lines.
    let outer = crate::geometry::shapes::rectangle(8.0, 6.0, 0.0).unwrap();
    let frame = outer.difference(&crate::geometry::shapes::rectangle(4.0, 2.0, 0.0).unwrap());
    let flat = FlattenedShape::of(&frame);
    let near = |found: Vec<(f64, f64)>, wanted: &[(f64, f64)]| {
        assert_eq!(found.len(), wanted.len(), "{found:?}");
        let same = |(a, b): (&(f64, f64), &(f64, f64))| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9;
        assert!(found.iter().zip(wanted).all(same), "{found:?}");
    };
    near(flat.spans(0.5), &[(-4.0, -2.0), (2.0, 4.0)]);
    near(flat.spans(2.5), &[(-4.0, 4.0)]);
    near(flat.spans(3.5), &[]);
    assert!(FlattenedShape::boundary_of(&frame).spans(0.5).is_empty(), "a line has no inside");
    let bar = disc(3.0, 0.0);
    let half = (9.0_f64 - 1.0).sqrt();
    let [(from, to)] = bar.spans(1.0)[..] else { panic!("one stretch") };
    assert!((from + half).abs() < 1e-3 && (to - half).abs() < 1e-3);
}

/// A scored line of 3.2 mm is taken in pieces of half a millimetre at most, 256 of them at the most.
#[test]
fn scored_lines_are_taken_in_pieces() {
    let scored = |length: f64| {
        let mut path = BezPath::new();
        path.move_to((1.0, 0.0));
        path.line_to((1.0 + length, 0.0));
        FlattenedShape::of_trace(&Trace::from_path(path))
    };
    let line = scored(3.2);
    assert_eq!(line.segments().len(), 7);
    assert!(line.segments().windows(2).all(|two| two[0].p1 == two[1].p0));
    assert_eq!((line.segments()[0].p0.x, line.segments()[6].p1.x), (1.0, 4.2));
    assert!(line.segments().iter().all(|piece| ((piece.p1 - piece.p0).hypot() - 3.2 / 7.0).abs() < 1e-9));
    assert_eq!((scored(1e3).segments().len(), scored(0.2).segments().len()), (256, 1));
    assert!(!line.contains(Point::new(2.0, 0.0)));
    let both = line.joined(&disc(1.0, 9.0));
    assert!(!both.contains(Point::new(9.0, 0.0)), "a line and a disc have no inside together");
    assert!(disc(1.0, 0.0).joined(&disc(1.0, 9.0)).contains(Point::new(9.0, 0.0)));
}

#[test]
fn a_band_round_the_axis_begins_at_nothing_where_the_axis_is_covered() {
    let near = |found: Option<(f64, f64)>, wanted: (f64, f64)| {
        let found = found.unwrap();
        assert!((found.0 - wanted.0).abs() < 1e-3 && (found.1 - wanted.1).abs() < 1e-3, "{found:?}");
    };
    near(disc(2.0, 5.0).annulus(), (3.0, 7.0));
    near(disc(2.0, 1.0).annulus(), (0.0, 3.0));
    assert_eq!((FlattenedShape::default().annulus(), FlattenedShape::default().reach(Point::ZERO)), (None, 0.0));
    assert!((disc(2.0, 5.0).reach(Point::new(5.0, 3.0)) - 5.0).abs() < 1e-3);
}

#[test]
fn an_empty_shape_is_far_from_everything() {
    assert_eq!(FlattenedShape::default().gap(&disc(1.0, 0.0)).mm, f64::INFINITY);
    assert!(!FlattenedShape::default().contains(Point::ZERO));
    assert_eq!(disc(1.0, 0.0).clear(&FlattenedShape::default(), 7.0), 7.0);
    assert!(!disc(1.0, 0.0).closer_than(&FlattenedShape::default(), 1e9));
    assert_eq!(FlattenedShape::default().room_in(&disc(1.0, 0.0)).mm, f64::INFINITY);
}

proptest::proptest! {
    #![proptest_config(crate::drawn(300))]

    /// Segments that hang together in no way, so that boxes lie across one another.
    #[test]
    fn the_tree_finds_what_trying_all_finds(
        (ours, theirs) in (segments(1..200), segments(1..200)),
        (x, y) in (-12.0..12.0f64, -8.0..8.0f64),
        shift in proptest::sample::select(vec![0.0, 7.0, 25.0]),
    ) {
        let laid = Affine::translate((shift, 0.25 * shift));
        let (one, other) = (FlattenedShape::of_segments(ours), FlattenedShape::of_segments(theirs).moved(laid));
        let place = Point::new(x, y);
        let (mm, at) = one.distance_to(place).unwrap();
        let all = off_all(&one, place);
        proptest::prop_assert!((mm - all).abs() < 1e-9 && (at.distance(place) - all).abs() < 1e-9);
        proptest::prop_assert!(off_all(&one, at) < 1e-9);
        proptest::prop_assert!(one.within(all + 1e-9, place) && (all < 1e-6 || !one.within(all - 1e-9, place)));
        let pairs = || one.segments.iter().flat_map(|a| other.segments.iter().map(move |b| (a, b)));
        let all = pairs().map(|(a, b)| apart_pair(a, b)).fold(f64::INFINITY, f64::min);
        for (one, other) in [(&one, &other), (&other, &one)] {
            let gap = one.edge_gap(other, f64::INFINITY);
            proptest::prop_assert!((gap.mm - all).abs() < 1e-9 && (gap.at.0.distance(gap.at.1) - all).abs() < 1e-9);
            proptest::prop_assert!(off_all(one, gap.at.0) < 1e-9 && off_all(other, gap.at.1) < 1e-9);
            let nearer = one.edge_gap(other, all / 2.0);
            proptest::prop_assert_eq!(nearer.mm, all / 2.0, "nothing is nearer than what is known");
        }
    }

    /// What lies near a place or in a box is found, in order, and nothing else.
    #[test]
    fn segments_are_found_where_their_boxes_lie(
        ours in segments(1..700), (x, y) in (-12.0..12.0f64, -8.0..8.0f64),
        (wide, high) in (0.0..6.0f64, 0.0..6.0f64), reach in 0.0..3.0f64,
    ) {
        let shape = FlattenedShape::of_segments(ours);
        let swept = Rect::new(x, y, x + wide, y + high);
        let meets = |line: &Line| Rect::from_points(line.p0, line.p1).overlaps(swept);
        let wanted: Vec<usize> = (0..shape.segments.len()).filter(|at| meets(&shape.segments[*at])).collect();
        proptest::prop_assert_eq!(shape.segments_in(swept).collect::<Vec<_>>(), wanted);
        let place = Point::new(x, y);
        let near: Vec<Line> = shape.near(place, reach).copied().collect();
        let boxed = |line: &&Line| {
            let bounds = Rect::from_points(line.p0, line.p1);
            let corner = Point::new(x.clamp(bounds.x0, bounds.x1), y.clamp(bounds.y0, bounds.y1));
            corner.distance_squared(place) <= reach * reach
        };
        proptest::prop_assert_eq!(near, shape.segments.iter().filter(boxed).copied().collect::<Vec<_>>());
        let crossed = shape.segments.iter().any(|a| shape.segments.iter().any(|b| cross(a, b)));
        let found = shape.crosses_itself();
        proptest::prop_assert_eq!(found.is_some(), crossed);
        if let Some(at) = found {
            proptest::prop_assert!(shape.segments.iter().filter(|line| apart(line, at) < 1e-9).count() >= 2);
        }
    }

    /// The winding is that of all segments seen from a place: the angles that they span there sum up to a full turn for each
    /// time round.
    #[test]
    fn contours_go_round_a_place_as_the_angles_say(
        ring in proptest::collection::vec((-9i8..=9, -9i8..=9), 3..200),
        (x, y) in (-12.0..12.0f64, -8.0..8.0f64),
    ) {
        let mut path = BezPath::new();
        for (at, (x, y)) in ring.iter().enumerate() {
            let corner = Point::new(f64::from(*x), f64::from(*y));
            if at == 0 { path.move_to(corner) } else { path.line_to(corner) }
        }
        let (shape, place) = (FlattenedShape::closed(&path, 1e-3), Point::new(x, y));
        let seen = |line: &Line| {
            let (from, to) = (line.p0 - place, line.p1 - place);
            from.cross(to).atan2(from.dot(to))
        };
        let turns = shape.segments.iter().map(seen).sum::<f64>() / std::f64::consts::TAU;
        proptest::prop_assert_eq!(shape.contains(place), turns.abs() > 0.5, "{}", turns);
        let passed = shape.segments.iter().map(|line| passes(line, place)).sum::<i32>();
        proptest::prop_assert_eq!(f64::from(passed), turns.round());
    }
}

/// Contours of a path are closed whether it says so or not, and a contour that begins where another ends does not join it.
#[test]
fn open_contours_are_closed() {
    let ends = |path: &str| {
        let shape = FlattenedShape::closed(&BezPath::from_svg(path).unwrap(), 1e-3);
        let ends: Vec<[f64; 4]> = shape.segments.iter().map(|it| [it.p0.x, it.p0.y, it.p1.x, it.p1.y]).collect();
        (ends, shape.starts.len())
    };
    let wanted = (vec![[0.0, 0.0, 4.0, 0.0], [4.0, 0.0, 4.0, 3.0], [4.0, 3.0, 0.0, 0.0]], 1);
    for path in ["M0 0 L4 0 L4 3", "M0 0 L4 0 L4 3 Z", "M0 0 L4 0 L4 0 L4 3 L0 0", "M0 0 L4 0 L4 3 L0 0 Z"] {
        assert_eq!(ends(path), wanted, "{path}");
    }
    assert_eq!(ends("M0 0 L4 0 L4 3 M9 9 L9 8").0[3..], [[9.0, 9.0, 9.0, 8.0], [9.0, 8.0, 9.0, 9.0]]);
}
