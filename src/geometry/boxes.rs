//! Boxes made and compared without the care for values that are not numbers that `f64::min` and `f64::max` take: in the
//! innermost loops it costs more than all the rest.

use kurbo::{Point, Rect};

/// The box between two points.
pub(crate) fn between(a: Point, b: Point) -> Rect {
    Rect { x0: lesser(a.x, b.x), y0: lesser(a.y, b.y), x1: greater(a.x, b.x), y1: greater(a.y, b.y) }
}

/// The box round two.
pub(crate) fn united(a: Rect, b: Rect) -> Rect {
    Rect { x0: lesser(a.x0, b.x0), y0: lesser(a.y0, b.y0), x1: greater(a.x1, b.x1), y1: greater(a.y1, b.y1) }
}

/// The square of the distance between two boxes.
pub(crate) fn gap_squared(a: Rect, b: Rect) -> f64 {
    let x = greater(greater(b.x0 - a.x1, a.x0 - b.x1), 0.0);
    let y = greater(greater(b.y0 - a.y1, a.y0 - b.y1), 0.0);
    x * x + y * y
}

fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(crate::drawn(300))]

        /// The same as kurbo's boxes, which take that care.
        #[test]
        fn boxes_are_those_of_kurbo(corners in prop::array::uniform8(-9i8..=9)) {
            let [a, b, c, d] = [0, 2, 4, 6].map(|at| Point::new(f64::from(corners[at]), f64::from(corners[at + 1])));
            let (one, other) = (between(a, b), between(c, d));
            prop_assert_eq!(one, Rect::from_points(a, b));
            prop_assert_eq!(united(one, other), one.union(other));
            let apart = |from: f64, to: f64, least: f64, most: f64| (least - to).max(from - most).max(0.0);
            let (x, y) = (apart(one.x0, one.x1, other.x0, other.x1), apart(one.y0, one.y1, other.y0, other.y1));
            prop_assert_eq!(gap_squared(one, other), x.powi(2) + y.powi(2));
            prop_assert_eq!(gap_squared(one, other) == 0.0, one.overlaps(other));
        }
    }

    #[test]
    fn boxes_are_as_far_apart_as_their_nearest_corners() {
        let (one, other) = (Rect::new(0.0, 0.0, 2.0, 1.0), Rect::new(5.0, 5.0, 6.0, 9.0));
        assert_eq!((gap_squared(one, other), gap_squared(other, one)), (25.0, 25.0));
        assert_eq!(gap_squared(one, Rect::new(1.0, 3.0, 8.0, 4.0)), 4.0);
        assert_eq!(gap_squared(one, Rect::new(-4.0, 0.5, -1.0, 4.0)), 1.0);
        assert_eq!(gap_squared(one, Rect::new(1.0, 0.5, 4.0, 4.0)), 0.0);
    }
}
