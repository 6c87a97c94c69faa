//! Closed runs of corners: what the searches for a layout and the play of a part see of an outline.

use kurbo::{Affine, Point, Rect, Vec2};

use crate::geometry::turn;
use crate::units::Angle;

/// A closed run of corners, counter-clockwise.
pub(super) type Ring = Vec<Point>;

/// Whether a ring turned by so many degrees comes to lie on itself, moved as may be, to within `near` mm.
pub(super) fn lies_on_itself(ring: &[Point], degrees: f64, near: f64) -> bool {
    let turned: Ring = ring.iter().map(|corner| turned_by(degrees) * *corner).collect();
    let shift = middle(ring) - middle(&turned);
    turned.iter().all(|corner| to_edges(*corner + shift, ring) <= near)
}

fn middle(ring: &[Point]) -> Point {
    bounds(ring).center()
}

/// The least box round some points.
pub(super) fn bounds(points: &[Point]) -> Rect {
    let each = points.iter().map(|point| Rect::from_points(*point, *point));
    each.reduce(|a, b| a.union(b)).unwrap_or_default()
}

fn to_edges(point: Point, ring: &[Point]) -> f64 {
    let edge = |(a, b): (&Point, &Point)| {
        let along = *b - *a;
        let t = ((point - *a).dot(along) / along.hypot2().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        (point - (*a + along * t)).hypot()
    };
    ring.iter().zip(ring.iter().cycle().skip(1)).map(edge).fold(f64::INFINITY, f64::min)
}

/// The turn by so many quarters, clockwise, exact.
pub(super) fn quarter(quarters: u8) -> Affine {
    match quarters % 4 {
        0 => Affine::IDENTITY,
        1 => Affine::new([0.0, -1.0, 1.0, 0.0, 0.0, 0.0]),
        2 => Affine::new([-1.0, 0.0, 0.0, -1.0, 0.0, 0.0]),
        _ => Affine::new([0.0, 1.0, -1.0, 0.0, 0.0, 0.0]),
    }
}

/// The turn by an angle in degrees, clockwise; exact for quarters.
pub(super) fn turned_by(degrees: f64) -> Affine {
    let quarters = degrees / 90.0;
    let exact = [0, 1, 2, 3].into_iter().find(|known| f64::from(*known) == quarters);
    exact.map_or_else(|| turn(Angle::degrees(degrees)), quarter)
}

/// Twice the signed area, halved: positive where counter-clockwise.
pub(super) fn area(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum::<f64>() / 2.0
}

/// The corners of the convex hull, counter-clockwise (Andrew's monotone chain, 1979).
pub(super) fn hull(points: &[Point]) -> Ring {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = &Point>| {
        let mut kept: Ring = Vec::new();
        for point in points {
            while let [.., a, b] = kept.as_slice()
                && (*b - *a).cross(*point - *b) <= 0.0
            {
                kept.pop();
            }
            kept.push(*point);
        }
        kept.pop();
        kept
    };
    let mut ring = half(&mut sorted.iter());
    ring.extend(half(&mut sorted.iter().rev()));
    ring
}

/// All points that some point of one convex ring and some point of another add up to: their edges in order of bearing.
pub(super) fn sum(a: &[Point], b: &[Point]) -> Ring {
    let edges = |ring: &[Point]| -> Vec<Vec2> {
        ring.iter().zip(ring.iter().cycle().skip(1)).map(|(from, to)| *to - *from).collect()
    };
    let mut all = edges(a);
    all.extend(edges(b));
    // Adding zero makes no difference but to a zero below zero, whose bearing would be -pi instead of pi.
    all.sort_by(|a, b| (a.y + 0.0).atan2(a.x).total_cmp(&(b.y + 0.0).atan2(b.x)));
    // Edges run counter-clockwise from bearing -pi, which the topmost corner begins, the leftmost of those level.
    let first = |ring: &[Point]| {
        ring.iter()
            .copied()
            .reduce(|p, q| if q.y > p.y || (q.y == p.y && q.x < p.x) { q } else { p })
            .unwrap_or_default()
    };
    let mut at = first(a) + first(b).to_vec2();
    let mut ring = Vec::with_capacity(all.len());
    for edge in all {
        ring.push(at);
        at += edge;
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Ring {
        corners.iter().map(|at| Point::from(*at)).collect()
    }

    #[test]
    fn convex_rings_add_up() {
        let square = ring(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
        let corner = ring(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]);
        let both = sum(&square, &corner);
        // Mixed areas: A(P + Q) = A(P) + A(Q) + 2 V(P, Q); here 4 + 1/2 + 2 + 2, reckoned by hand.
        assert!((area(&both) - 8.5).abs() < 1e-12, "{both:?}");
        assert_eq!(bounds(&both), Rect::new(0.0, 0.0, 3.0, 3.0));
        assert!((area(&hull(&both)) - 8.5).abs() < 1e-12);
    }

    /// What two convex rings add up to, the plain way: the hull of all sums of their corners.
    fn all_sums(a: &[Point], b: &[Point]) -> Ring {
        let sums: Vec<Point> = a.iter().flat_map(|p| b.iter().map(move |q| *p + q.to_vec2())).collect();
        hull(&sums)
    }

    fn reach(ring: &[Point], way: Vec2) -> f64 {
        ring.iter().map(|at| at.to_vec2().dot(way)).fold(f64::NEG_INFINITY, f64::max)
    }

    proptest::proptest! {
        #![proptest_config(crate::drawn(200))]

        #[test]
        fn sums_reach_as_far_as_all_sums_of_corners(
            a in proptest::collection::vec((-8i8..8, -8i8..8), 3..12), b in proptest::collection::vec((-8i8..8, -8i8..8), 3..12),
        ) {
            let points = |corners: &[(i8, i8)]| -> Vec<Point> {
                corners.iter().map(|(x, y)| Point::new(f64::from(*x), f64::from(*y))).collect()
            };
            let (a, b) = (points(&a), points(&b));
            let (p, q) = (hull(&a), hull(&b));
            for way in (0..48).map(|step| Vec2::from_angle(f64::from(step) * std::f64::consts::TAU / 48.0)) {
                proptest::prop_assert!((reach(&p, way) - reach(&a, way)).abs() < 1e-9, "a hull reaches as far as its points");
            }
            let bends = |ring: &[Point]| {
                let next = |by: usize| ring.iter().cycle().skip(by);
                let corners = ring.iter().zip(next(1)).zip(next(2));
                corners.map(|((a, b), c)| (*b - *a).cross(*c - *b)).collect::<Vec<f64>>()
            };
            proptest::prop_assert!(p.len() < 3 || bends(&p).iter().all(|bend| *bend > 0.0), "and bends to the left everywhere");
            if area(&p) > 0.5 && area(&q) > 0.5 {
                let (both, all) = (sum(&p, &q), all_sums(&p, &q));
                proptest::prop_assert!((area(&both) - area(&all)).abs() < 1e-9);
                proptest::prop_assert!(bends(&both).iter().all(|bend| *bend >= -1e-9));
                for way in (0..48).map(|step| Vec2::from_angle(f64::from(step) * std::f64::consts::TAU / 48.0)) {
                    proptest::prop_assert!((reach(&both, way) - reach(&all, way)).abs() < 1e-9);
                }
                let wanted = all.iter().fold(Rect::from_points(all[0], all[0]), |all, at| all.union_pt(*at));
                proptest::prop_assert_eq!(bounds(&both), wanted);
            }
        }
    }

    #[test]
    fn a_ring_lies_on_itself_by_the_turns_of_its_order() {
        let regular = |sides: u32, by: f64| -> Ring {
            let corner =
                |at: u32| Vec2::from_angle(std::f64::consts::TAU * (f64::from(at) + by) / f64::from(sides)) * 10.0;
            (0..sides).map(|at| (corner(at) + Vec2::new(4.0, -3.0)).to_point()).collect()
        };
        // The middle of the box is that of the ring where opposite sides are alike.
        for (sides, by) in [(4, 0.5), (4, 0.0), (6, 0.0), (8, 0.0)] {
            let ring = regular(sides, by);
            let order = 360.0 / f64::from(sides);
            assert!(lies_on_itself(&ring, order, 1e-6) && lies_on_itself(&ring, 2.0 * order, 1e-6), "{sides}");
            assert!(!lies_on_itself(&ring, order / 2.0, 1e-2) && !lies_on_itself(&ring, order / 3.0, 1e-2), "{sides}");
        }
        let bar = ring(&[(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (0.0, 2.0)]);
        assert!(lies_on_itself(&bar, 180.0, 1e-9) && !lies_on_itself(&bar, 90.0, 0.1));
        // 2 mm is how far its corners stand off when it is crosswise.
        assert!(lies_on_itself(&bar, 90.0, 2.001) && !lies_on_itself(&bar, 90.0, 1.999));
        assert!((to_edges(Point::new(8.0, 1.0), &bar) - 2.0).abs() < 1e-12);
        assert!((to_edges(Point::new(9.0, 6.0), &bar) - 5.0).abs() < 1e-12);
        assert!((to_edges(Point::new(3.0, 0.75), &bar) - 0.75).abs() < 1e-12);
    }

    #[test]
    fn turns_are_clockwise_and_exact_by_quarters() {
        let at = Point::new(3.0, 1.0);
        let wanted = [(3.0, 1.0), (1.0, -3.0), (-3.0, -1.0), (-1.0, 3.0)].map(Point::from);
        for (quarters, wanted) in (0u8..8).zip(wanted.into_iter().cycle()) {
            assert_eq!(quarter(quarters) * at, wanted);
        }
        for (degrees, wanted) in [0.0, 90.0, 180.0, 270.0].into_iter().zip(wanted) {
            assert_eq!(turned_by(degrees) * at, wanted);
            assert!((turned_by(degrees + 1e-9) * at).distance(wanted) < 1e-9);
        }
        assert!((turned_by(45.0) * Point::new(0.0, 2.0)).distance(Point::new(2f64.sqrt(), 2f64.sqrt())) < 1e-12);
    }
}
