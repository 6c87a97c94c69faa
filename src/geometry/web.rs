//! The narrowest place of the material, for its strength.

use super::Region;
use super::distance::Nearest;
use super::flattened::FlattenedShape;
use super::skeleton::Skeleton;

/// How finely outlines are flattened, in mm.
const FINE_MM: f64 = 2e-5;

impl Region {
    /// The narrowest web: two places of its walls with a disc between them that holds no wall, and wider discs on both sides.
    /// Between two contours (a hole and the rim, two holes) that is their least distance. Along one contour it is a neck, with
    /// at least a twentieth more on either side of it, or the width of a strip, whose walls run beside each other for as far
    /// as they are apart. A corner or a horn, however sharp, is no web. None where there is no such place. Right to 0.1 µm.
    pub fn narrowest_web(&self) -> Option<Nearest> {
        let between = self.narrowest_between_contours(FINE_MM);
        let limit = between.map_or(f64::INFINITY, |web| web.distance);
        Skeleton::of(self).narrowest_neck(limit).or(between)
    }

    /// The least distance of any two contours of one piece, each flattened to within `tolerance` mm; none where no piece has
    /// a hole.
    pub(crate) fn narrowest_between_contours(&self, tolerance: f64) -> Option<Nearest> {
        let mut best: Option<Nearest> = None;
        for piece in self.pieces() {
            let contours = piece.contours();
            let flat: Vec<_> = contours.iter().map(|contour| FlattenedShape::closed(contour, tolerance)).collect();
            for (at, contour) in flat.iter().enumerate() {
                for other in flat.iter().skip(at + 1) {
                    let within = best.map_or(f64::INFINITY, |best| best.distance);
                    let gap = contour.edge_gap(other, within);
                    best = if gap.mm < within { Some(gap.into()) } else { best };
                }
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;

    /// A slanting strip 3 mm wide, whose long sides share the stretch from 4 mm to 10 mm: at the ends of that its edge
    /// runs on to what is nearer, so that it is found by its middle, at 7 mm, give or take the quarter of its width in
    /// which a finer copy is looked through.
    #[test]
    fn a_slanting_strip_is_as_narrow_as_its_sides_are_apart() {
        let strip = shapes::path("M0,0 L10,0 L14,3 L4,3 Z").unwrap();
        let web = strip.narrowest_web().unwrap();
        assert!((web.distance - 3.0).abs() < 1e-9, "{web:?}");
        assert!([web.from, web.to].iter().all(|place| (place.x - 7.0).abs() <= 0.75 + 1e-9), "{web:?}");
    }

    fn disc(radius: f64, x: f64, y: f64) -> Region {
        shapes::circle(radius).unwrap().transformed(kurbo::Affine::translate((x, y)))
    }

    /// Closed forms. Two discs of radius r, d apart, are joined by a neck of 2 sqrt(r2 - (d / 2)2).
    #[test]
    fn two_discs_are_joined_by_their_common_chord() {
        for (radius, apart) in [(10.0, 19.99), (10.0, 19.0), (10.0, 15.0), (3.0, 5.999), (30.0, 59.9)] {
            let web = disc(radius, 0.0, 0.0).union(&disc(radius, apart, 0.0)).narrowest_web().unwrap();
            let wanted = 2.0 * f64::sqrt(radius * radius - apart * apart / 4.0);
            assert!((web.distance - wanted).abs() < 1e-3, "{radius} {apart}: {web:?} {wanted}");
        }
        // Nearly one disc: no more than a twentieth wider on either side.
        assert_eq!(disc(10.0, 0.0, 0.0).union(&disc(10.0, 5.0, 0.0)).narrowest_web(), None);
    }

    /// What only tapers has no web: crescents, stars, horns, discs, ellipses.
    #[test]
    fn what_tapers_is_no_web() {
        let crescent = |inner: f64, off: f64| disc(30.0, 0.0, 0.0).difference(&disc(inner, off, 0.0));
        for (inner, off) in [(30.0, 3.0), (30.0, 8.0), (25.0, 8.0), (28.0, 3.0), (29.0, 20.0), (10.0, 25.0)] {
            assert_eq!(crescent(inner, off).narrowest_web(), None, "{inner} {off}");
        }
        assert_eq!(disc(30.0, 0.0, 0.0).narrowest_web(), None);
        assert_eq!(shapes::star(5, 30.0, 15.0, 0.0).unwrap().narrowest_web(), None);
        assert_eq!(shapes::polygon(3, 30.0, 0.0).unwrap().narrowest_web(), None);
        let ellipse = shapes::circle(10.0).unwrap().transformed(kurbo::Affine::scale_non_uniform(3.0, 1.0));
        assert_eq!(ellipse.narrowest_web(), None);
    }
}
