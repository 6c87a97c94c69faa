//! Areas, moments, radii and pieces of regions: what is exact on the curves themselves.

use kurbo::{ParamCurve, ParamCurveMoments, ParamCurveNearest, PathSeg, Point, Shape};

use super::Region;

/// Lengths and radii are found to within this, in mm.
const EXACT_MM: f64 = 1e-7;

impl Region {
    /// Area in mm², exact on the curves.
    pub fn area(&self) -> f64 {
        self.path().area()
    }

    /// Length of the whole boundary, holes included, in mm.
    pub fn perimeter(&self) -> f64 {
        self.path().perimeter(1e-6)
    }

    /// How many lines and curves the boundary is made of.
    pub fn segment_count(&self) -> usize {
        self.path().segments().count()
    }

    /// The centre of the area; none where empty.
    pub fn centroid(&self) -> Option<Point> {
        let area = self.area();
        let moments = self.path().moments();
        (area > 0.0).then(|| Point::new(moments.moment_x / area, moments.moment_y / area))
    }

    /// The integral of the squared distance from the origin over the area, in mm⁴. Times thickness and density
    /// it is the moment of inertia about the turning axis.
    pub fn polar_second_moment(&self) -> f64 {
        let moments = self.path().moments();
        moments.moment_xx + moments.moment_yy
    }

    /// The largest distance of the boundary from a point, in mm: what it sweeps when it turns about that point.
    /// 0 where empty.
    pub fn swept_radius(&self, about: Point) -> f64 {
        self.path().segments().fold(0.0, |best, segment| farthest(segment, about, best))
    }

    /// The least distance of the boundary from a point, in mm; none where empty.
    pub fn least_radius(&self, about: Point) -> Option<f64> {
        let each = self.path().segments().map(|segment| segment.nearest(about, EXACT_MM).distance_sq.sqrt());
        each.reduce(f64::min)
    }
}

/// More than rounding adds to a distance, as a share of it.
const ROUNDING: f64 = 1e-12;

/// The larger of `best` and the largest distance of a segment from a point. A curve is halved only where more is promised
/// than has been found, and than rounding alone may promise: from a point out of all reach nothing is.
fn farthest(segment: PathSeg, from: Point, best: f64) -> f64 {
    let best = best.max(segment.start().distance(from)).max(segment.end().distance(from));
    let promised = if matches!(segment, PathSeg::Line(_)) { best } else { promised(segment, from) };
    if !promised.is_finite() || promised <= best + EXACT_MM.max(ROUNDING * best) {
        return best;
    }
    let (left, right) = segment.subdivide();
    farthest(right, from, farthest(left, from, best))
}

/// No point of a curve lies farther from a point than this: the square of its distance is a polynomial, which stays below the
/// largest of its coefficients in Bernstein's form. Round a circle's middle they are all but equal, so that no arc need be
/// halved often, as it would for the sake of its handles.
fn promised(segment: PathSeg, from: Point) -> f64 {
    let cubic = segment.to_cubic();
    let [a, b, c, d] = [cubic.p0, cubic.p1, cubic.p2, cubic.p3].map(|point| point - from);
    let squares = [
        a.dot(b),
        (2.0 * a.dot(c) + 3.0 * b.hypot2()) / 5.0,
        (a.dot(d) + 9.0 * b.dot(c)) / 10.0,
        (2.0 * b.dot(d) + 3.0 * c.hypot2()) / 5.0,
        c.dot(d),
    ];
    squares.into_iter().fold(a.hypot2().max(d.hypot2()), f64::max).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{CubicBez, QuadBez};

    proptest::proptest! {
        #![proptest_config(crate::drawn(300))]

        /// The farthest place of a curve, found by trying many; no place of it lies beyond what is promised.
        #[test]
        fn a_curve_reaches_as_far_as_its_places(
            points in proptest::array::uniform8(-9.0..9.0f64), quad: bool, best in 0.0..12.0f64,
        ) {
            let [a, b, c, d] = [0, 2, 4, 6].map(|at| Point::new(points[at], points[at + 1]));
            let curve = if quad { PathSeg::Quad(QuadBez::new(a, b, c)) } else { PathSeg::Cubic(CubicBez::new(a, b, c, d)) };
            // Now a place anywhere, now one that the ends are near to.
            for from in [Point::new(points[1], points[6]), a.midpoint(curve.end()), Point::ORIGIN] {
                let places = (0..=1_500).map(|step| curve.eval(f64::from(step) / 1_500.0).distance(from));
                let wanted = places.fold(0.0, f64::max);
                let found = farthest(curve, from, 0.0);
                proptest::prop_assert!(found > wanted - 2e-7 && found < wanted + 1e-4, "{found} {wanted}");
                proptest::prop_assert!(promised(curve, from) > wanted - 1e-9);
                proptest::prop_assert!((farthest(curve, from, best) - best.max(found)).abs() < 2e-7);
            }
        }
    }

    /// An arc about its own middle is promised no more than its radius, or hardly, so that none is halved.
    #[test]
    fn arcs_about_the_middle_promise_their_radius() {
        let disc = super::super::shapes::circle(30.0).unwrap();
        for arc in disc.path().segments() {
            let promised = promised(arc, Point::ORIGIN);
            assert!((30.0 - 1e-5..30.0 + 6e-5).contains(&promised), "{promised}");
        }
        assert_eq!(disc.segment_count(), disc.path().elements().len() - 2);
        assert_eq!(
            (Region::empty().swept_radius(Point::ORIGIN), Region::empty().least_radius(Point::ORIGIN)),
            (0.0, None)
        );
        assert_eq!(Region::empty().centroid(), None);
    }

    /// A triangle's centre is the mean of its corners; its moment about the origin by the formula for polygons.
    #[test]
    fn moments_are_those_of_a_polygon() {
        let corners = [(1.0, 2.0), (7.0, 3.0), (2.0, 9.0)].map(Point::from);
        let triangle = super::super::shapes::path("M1,2 L7,3 L2,9 Z").unwrap();
        let centre = triangle.centroid().unwrap();
        assert!(centre.distance(Point::new(10.0 / 3.0, 14.0 / 3.0)) < 1e-6);
        let next = corners.iter().cycle().skip(1);
        let each = corners.iter().zip(next).map(|(a, b)| {
            let (a, b) = (a.to_vec2(), b.to_vec2());
            a.cross(b) * (a.dot(a) + a.dot(b) + b.dot(b)) / 12.0
        });
        let wanted: f64 = each.sum();
        assert!((triangle.polar_second_moment() - wanted).abs() < 1e-6 * wanted);
        assert!((triangle.perimeter() - (37.0_f64.sqrt() + 61.0_f64.sqrt() + 50.0_f64.sqrt())).abs() < 1e-6);
    }
}
