//! Straight segments: what of one is nearest, and where two cross.

use kurbo::{Line, Point};

/// The point of a segment nearest to another.
pub(super) fn nearest_on(segment: &Line, point: Point) -> Point {
    let along = segment.p1 - segment.p0;
    let length = along.hypot2();
    let t = if length > 0.0 { ((point - segment.p0).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
    segment.p0 + along * t
}

/// Whether a segment passes to the right of a point: 1 upwards, -1 downwards, 0 not at all.
pub(super) fn passes(segment: &Line, point: Point) -> i32 {
    let is_left = || (segment.p1 - segment.p0).cross(point - segment.p0) > 0.0;
    match (segment.p0.y <= point.y, segment.p1.y <= point.y) {
        (true, false) => i32::from(is_left()),
        (false, true) => -i32::from(!is_left()),
        _ => 0,
    }
}

/// Where two segments meet, their ends counted; none where they only run beside each other.
pub(super) fn meeting(a: &Line, b: &Line) -> Option<Point> {
    let (along, across) = (a.p1 - a.p0, b.p1 - b.p0);
    let scale = along.cross(across);
    if scale == 0.0 {
        return None;
    }
    let t = (b.p0 - a.p0).cross(across) / scale;
    let u = (b.p0 - a.p0).cross(along) / scale;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a.p0 + along * t)
}

/// Where two segments properly cross: at a point inside both, so that those which only join are not said to.
pub(super) fn crossing(a: &Line, b: &Line) -> Option<Point> {
    let (ours, theirs) = (a.p1 - a.p0, b.p1 - b.p0);
    let across = |a: f64, b: f64| (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0);
    let before = theirs.cross(a.p0 - b.p0);
    let after = theirs.cross(a.p1 - b.p0);
    let parted = across(ours.cross(b.p0 - a.p0), ours.cross(b.p1 - a.p0));
    (parted && across(before, after)).then(|| a.p0 + ours * (before / (before - after)))
}

/// The part of a segment within a box of `reach` about a place, roughly.
pub(super) fn cut(segment: &Line, place: Point, reach: f64) -> Line {
    let along = segment.p1 - segment.p0;
    let length = along.hypot();
    if length <= 0.0 {
        return *segment;
    }
    let middle = (place - segment.p0).dot(along) / length;
    let at = |distance: f64| segment.p0 + along * (distance.clamp(0.0, length) / length);
    Line::new(at(middle - reach), at(middle + reach))
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use kurbo::Vec2;
    use proptest::prelude::*;

    /// Segments between points of a coarse grid, so that many touch, cross, run level or have no length at all.
    pub(in crate::geometry) fn segments(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Line>> {
        let point = || (-9i8..=9, -9i8..=9).prop_map(|(x, y)| Point::new(f64::from(x), f64::from(y) / 2.0));
        let segment = (point(), -2i8..=2, -2i8..=2)
            .prop_map(|(from, x, y)| Line::new(from, from + Vec2::new(f64::from(x), f64::from(y))));
        prop::collection::vec(segment, count)
    }

    /// By hand, on a level segment 10 long, and on one that is slanted as 3 to 4.
    #[test]
    fn a_cut_keeps_what_lies_within_reach_of_the_foot() {
        let level = Line::new((0.0, 0.0), (10.0, 0.0));
        let kept = |segment: &Line, place: (f64, f64), reach: f64| {
            let kept = cut(segment, place.into(), reach);
            [kept.p0.x, kept.p0.y, kept.p1.x, kept.p1.y].map(|value| (value * 1e9).round() / 1e9)
        };
        assert_eq!(kept(&level, (4.0, 3.0), 2.0), [2.0, 0.0, 6.0, 0.0]);
        assert_eq!(kept(&level, (0.5, -1.0), 2.0), [0.0, 0.0, 2.5, 0.0]);
        assert_eq!(kept(&level, (9.0, 7.0), 3.0), [6.0, 0.0, 10.0, 0.0]);
        assert_eq!(kept(&level, (14.0, 0.0), 1.0), [10.0, 0.0, 10.0, 0.0]);
        let slanted = Line::new((1.0, 1.0), (7.0, 9.0));
        assert_eq!(kept(&slanted, (4.0 + 4.0, 5.0 - 3.0), 2.5), [2.5, 3.0, 5.5, 7.0]);
        let none = Line::new((2.0, 2.0), (2.0, 2.0));
        assert_eq!(kept(&none, (0.0, 0.0), 1.0), [2.0; 4]);
    }

    /// The plain way: the foot of the perpendicular where it falls on the segment, else the nearer end.
    pub(in crate::geometry) fn apart(segment: &Line, point: Point) -> f64 {
        let along = segment.p1 - segment.p0;
        let (before, past) = ((point - segment.p0).dot(along), (point - segment.p1).dot(along));
        if before > 0.0 && past < 0.0 {
            (point - segment.p0).cross(along).abs() / along.hypot()
        } else {
            point.distance(segment.p0).min(point.distance(segment.p1))
        }
    }

    /// Whether each segment has an end of the other on either side of it.
    pub(in crate::geometry) fn cross(a: &Line, b: &Line) -> bool {
        let side = |segment: &Line, point: Point| (segment.p1 - segment.p0).cross(point - segment.p0);
        side(a, b.p0) * side(a, b.p1) < 0.0 && side(b, a.p0) * side(b, a.p1) < 0.0
    }

    pub(in crate::geometry) fn apart_pair(a: &Line, b: &Line) -> f64 {
        let ends = [apart(a, b.p0), apart(a, b.p1), apart(b, a.p0), apart(b, a.p1)];
        if cross(a, b) { 0.0 } else { ends.into_iter().fold(f64::INFINITY, f64::min) }
    }

    proptest! {
        #![proptest_config(crate::drawn(300))]

        #[test]
        fn two_segments_lie_as_trying_all_places_says(pair in segments(2..3)) {
            let [a, b] = [pair[0], pair[1]];
            prop_assert_eq!(crossing(&a, &b).is_some(), cross(&a, &b));
            if let Some(at) = crossing(&a, &b) {
                prop_assert!(apart(&a, at) < 1e-9 && apart(&b, at) < 1e-9);
                prop_assert!(meeting(&a, &b).unwrap().distance(at) < 1e-9);
            }
        }

        /// A part of a segment about a place: on the segment, within reach of the foot of the perpendicular, and no shorter.
        #[test]
        fn a_cut_segment_is_what_lies_near(
            pair in segments(1..2), (x, y) in (-9.0..9.0f64, -6.0..6.0f64), reach in 0.1..3.0f64,
        ) {
            let segment = pair[0];
            let part = cut(&segment, Point::new(x, y), reach);
            let along = segment.p1 - segment.p0;
            if along.hypot() == 0.0 {
                prop_assert_eq!(part, segment);
                return Ok(());
            }
            let way = along.normalize();
            let place = |point: Point| (point - segment.p0).dot(way);
            let middle = place(Point::new(x, y));
            prop_assert!(apart(&segment, part.p0) < 1e-9 && apart(&segment, part.p1) < 1e-9);
            prop_assert!((place(part.p0) - (middle - reach).clamp(0.0, along.hypot())).abs() < 1e-9);
            prop_assert!((place(part.p1) - (middle + reach).clamp(0.0, along.hypot())).abs() < 1e-9);
        }
    }

    #[test]
    fn two_segments_meet_where_both_run() {
        let line = |x: f64, y: f64, u: f64, v: f64| Line::new((x, y), (u, v));
        let level = line(0.0, 1.0, 4.0, 1.0);
        assert_eq!(meeting(&level, &line(1.0, 0.0, 3.0, 2.0)), Some(Point::new(2.0, 1.0)));
        assert_eq!(meeting(&level, &line(4.0, 0.0, 4.0, 1.0)), Some(Point::new(4.0, 1.0)), "ends count");
        assert_eq!(meeting(&level, &line(1.0, 0.0, 2.0, 0.9)), None);
        assert_eq!(meeting(&level, &line(5.0, 0.0, 5.0, 2.0)), None);
        assert_eq!(meeting(&level, &line(-1.0, 0.0, -1.0, 2.0)), None);
        assert_eq!(meeting(&level, &line(0.0, 2.0, 4.0, 2.0)), None, "parallel");
        assert_eq!(meeting(&level, &line(1.0, 1.0, 9.0, 1.0)), None, "one along the other");
    }
}
