//! How far a shape may be turned about the axis before it meets another.
//!
//! A corner keeps its distance from the axis as it turns, so it meets a segment where the circle through it crosses the
//! segment. Shapes of straight segments touch first at a corner of one of them, so the least of those angles is the first
//! contact itself, and no contact is passed over, however short. Turning in steps would pass over some.

use kurbo::{Line, Point, Vec2};

use super::FlattenedShape;
use super::tree::{FAN, Leaf};
use crate::geometry::boxes::gap_squared;

/// How far past its ends a segment counts, as a part of its length, so that rounding leaves no hole where two of them join.
const JOIN: f64 = 1e-9;

/// How far is looked for a contact at first, in radians.
const NEAR: f64 = 0.25;

/// Two angles in radians, anticlockwise and clockwise.
pub(crate) type Angles = (f64, f64);

/// The angles by which `turning` may be turned about the axis before its boundary meets that of `fixed`; no more than `most`,
/// which is half a turn at the most. They must not meet as they lie.
pub(crate) fn first_contact(turning: &FlattenedShape, fixed: &FlattenedShape, most: Angles) -> Angles {
    let (turning_bands, fixed_bands) = (turning.bands(), fixed.bands());
    let turning: Vec<BandedLeaf<'_>> = turning_bands.leaves(turning).collect();
    let fixed: Vec<BandedLeaf<'_>> = fixed_bands.leaves(fixed).collect();
    // Contacts are mostly near, and few leaves are as near as that: farther ones are looked for only where there is none.
    let near = within(&turning, &fixed, (most.0.min(NEAR), most.1.min(NEAR)));
    let left = |found: f64, most: f64| if found < NEAR { found } else { most };
    let all = (left(near.0, most.0), left(near.1, most.1));
    if all == near { near } else { within(&turning, &fixed, all) }
}

/// The same of leaves, for angles up to a limit.
fn within(turning: &[BandedLeaf<'_>], fixed: &[BandedLeaf<'_>], limit: Angles) -> Angles {
    let mut found = Search { most: limit, chord: chord(limit) };
    for one in turning {
        for other in fixed {
            let outer = one.band.most.min(other.band.most);
            let meet = one.band.least <= other.band.most && other.band.least <= one.band.most;
            if meet && gap_squared(one.leaf.bounds, other.leaf.bounds) <= found.chord * outer {
                found.meet(one, other, false);
                found.meet(other, one, true);
            }
        }
    }
    found.most
}

/// What lies between two circles round the axis: the squares of their radii.
#[derive(Clone, Copy, Debug)]
struct Band {
    least: f64,
    most: f64,
}

impl Band {
    /// That of a segment.
    fn of(line: &Line) -> Self {
        let (from, along) = (line.p0.to_vec2(), line.p1 - line.p0);
        let (one, other) = (from.hypot2(), line.p1.to_vec2().hypot2());
        let foot = -from.dot(along) / along.hypot2();
        let least = if foot > 0.0 && foot < 1.0 { (from + along * foot).hypot2() } else { one.min(other) };
        Self { least, most: one.max(other) }
    }

    fn united(self, other: Self) -> Self {
        Self { least: self.least.min(other.least), most: self.most.max(other.most) }
    }
}

/// The bands of a shape's segments and leaves.
#[derive(Debug)]
pub(super) struct Bands {
    own: Vec<Band>,
    leaves: Vec<Band>,
}

/// A leaf with its bands.
struct BandedLeaf<'s> {
    leaf: Leaf<'s>,
    own: &'s [Band],
    band: Band,
}

impl FlattenedShape {
    /// Worked out once: a cover or a view is met by many labels.
    fn bands(&self) -> &Bands {
        self.bands.get_or_init(|| Bands::of(self))
    }
}

impl Bands {
    fn of(shape: &FlattenedShape) -> Self {
        let own: Vec<Band> = shape.segments().iter().map(Band::of).collect();
        let leaves = own.chunks(FAN).filter_map(|leaf| leaf.iter().copied().reduce(Band::united)).collect();
        Self { own, leaves }
    }

    fn leaves<'s>(&'s self, shape: &'s FlattenedShape) -> impl Iterator<Item = BandedLeaf<'s>> {
        let bands = self.own.chunks(FAN).zip(&self.leaves);
        shape.leaves().zip(bands).map(|(leaf, (own, band))| BandedLeaf { leaf, own, band: *band })
    }
}

/// Square of how far a place one from the axis is moved by the wider of two angles.
fn chord(angles: Angles) -> f64 {
    let half = 0.5 * angles.0.max(angles.1);
    4.0 * half.sin() * half.sin()
}

struct Search {
    most: Angles,
    /// See [`chord`].
    chord: f64,
}

impl Search {
    /// Looks where the corners of some segments meet others. Either the corners turn or, `back`, what they meet does.
    fn meet(&mut self, corners: &BandedLeaf<'_>, others: &BandedLeaf<'_>, back: bool) {
        for corner in corners.leaf.segments {
            // On a closed contour a segment's end is where another begins.
            let last = (!corners.leaf.closed).then_some(corner.p1);
            for place in std::iter::once(corner.p0).chain(last) {
                let squared = place.to_vec2().hypot2();
                for (segment, band) in others.leaf.segments.iter().zip(others.own) {
                    if band.least <= squared && squared <= band.most {
                        circle_crossings(segment, squared).for_each(|at| self.take(place, at, squared, back));
                    }
                }
            }
        }
    }

    /// Takes the angle from one place to another as far from the axis, or the other way, where it is less than what was found.
    fn take(&mut self, from: Point, to: Point, squared: f64, back: bool) {
        if from.distance_squared(to) > self.chord * squared {
            return;
        }
        let (from, to) = (from.to_vec2(), to.to_vec2());
        let anticlockwise = if back { to.cross(from) } else { from.cross(to) }.atan2(from.dot(to));
        if anticlockwise >= 0.0 {
            self.most.0 = self.most.0.min(anticlockwise);
        }
        if anticlockwise <= 0.0 {
            self.most.1 = self.most.1.min(-anticlockwise);
        }
        self.chord = chord(self.most);
    }
}

/// Where a segment crosses the circle round the axis with this squared radius.
fn circle_crossings(segment: &Line, squared: f64) -> impl Iterator<Item = Point> {
    let (from, along) = (segment.p0.to_vec2(), segment.p1 - segment.p0);
    let (length, ahead) = (along.hypot2(), from.dot(along));
    // Rounding may take the circle a little off a segment that it touches.
    let half = (ahead * ahead - length * (from.hypot2() - squared)).max(0.0).sqrt();
    let places = [(-ahead - half) / length, (-ahead + half) / length];
    let on = places.into_iter().filter(|place| (-JOIN..=1.0 + JOIN).contains(place));
    on.map(move |place| (from + Vec2::new(along.x * place, along.y * place)).to_point())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Region, shapes, turn};
    use crate::units::Angle;
    use kurbo::Affine;
    use std::f64::consts::{FRAC_PI_2, PI};

    const HALF_TURN: Angles = (PI, PI);

    fn bar(x: f64, y: f64, width: f64, height: f64) -> FlattenedShape {
        let shape = shapes::rectangle(width, height, 0.0).unwrap();
        FlattenedShape::of(&shape.transformed(Affine::translate((x, y))))
    }

    fn near(found: Angles, wanted: Angles) {
        assert!((found.0 - wanted.0).abs() < 1e-9 && (found.1 - wanted.1).abs() < 1e-9, "{found:?} {wanted:?}");
    }

    /// A bar that stands out along the x axis, from 10 to 12 and 1 high, between two walls: its far corners meet the wall over it
    /// where their height over the axis, 12.01 sin of their bearing, is that of the wall.
    #[test]
    fn a_bar_meets_walls_on_either_side() {
        let (upper, lower) = (bar(11.0, 4.0, 6.0, 2.0), bar(11.0, -6.0, 6.0, 3.0));
        let far = f64::hypot(12.0, 0.5);
        let own = (0.5 / far).asin();
        let anticlockwise = (3.0 / far).asin() - own;
        let clockwise = (4.5 / far).asin() - own;
        let walls = upper.joined(&lower);
        near(first_contact(&bar(11.0, 0.0, 2.0, 1.0), &walls, HALF_TURN), (anticlockwise, clockwise));
        // The walls turn the other way about it.
        near(first_contact(&walls, &bar(11.0, 0.0, 2.0, 1.0), HALF_TURN), (clockwise, anticlockwise));
        let most = (0.1, 0.2);
        assert_eq!(first_contact(&bar(11.0, 0.0, 2.0, 1.0), &walls, most), most, "no more than asked");
        near(first_contact(&bar(11.0, 0.0, 2.0, 1.0), &walls, (PI, 0.2)), (anticlockwise, 0.2));
    }

    /// The tip of a wall, a corner of what stands still, is met by the middle of a long edge.
    #[test]
    fn corners_of_either_shape_are_looked_at() {
        // A rail from (5, -1) to (15, -1); a spike down to (8, 2), whose tip is as far from the axis as (sqrt 67, -1).
        let rail = bar(10.0, -1.5, 10.0, 1.0);
        let spike = FlattenedShape::of(&shapes::path("M7,6 L8,2 L9,6 Z").unwrap());
        let anticlockwise = 2.0_f64.atan2(8.0) + 1.0_f64.atan2(67.0_f64.sqrt());
        assert!((first_contact(&rail, &spike, (PI, 0.0)).0 - anticlockwise).abs() < 1e-9);
        assert!((first_contact(&spike, &rail, (0.0, PI)).1 - anticlockwise).abs() < 1e-9);
    }

    #[test]
    fn what_lies_in_another_band_is_never_met() {
        let ring = shapes::circle(20.0).unwrap().difference(&shapes::circle(15.0).unwrap());
        assert_eq!(first_contact(&bar(8.0, 0.0, 6.0, 3.0), &FlattenedShape::of(&ring), HALF_TURN), HALF_TURN);
        assert_eq!(first_contact(&FlattenedShape::default(), &FlattenedShape::of(&ring), HALF_TURN), HALF_TURN);
        assert_eq!(first_contact(&FlattenedShape::of(&ring), &FlattenedShape::default(), HALF_TURN), HALF_TURN);
    }

    /// Where a circle meets an edge right at an end of it, it crosses: else a corner could slip through where two edges join.
    #[test]
    fn an_edge_is_crossed_at_its_ends() {
        let (one, other) = (Point::new(3.0, 4.0), Point::new(3.0, 10.0));
        for edge in [Line::new(one, other), Line::new(other, one)] {
            for (squared, wanted) in [(25.0, vec![one]), (109.0, vec![other]), (24.9, vec![]), (109.1, vec![])] {
                assert_eq!(circle_crossings(&edge, squared).collect::<Vec<_>>(), wanted);
            }
        }
    }

    /// An open line has an end that no edge begins at: from (1, 0) it reaches (9, 0), and meets a wall that begins at x 8.9.
    #[test]
    fn an_open_line_has_two_ends() {
        let mut path = kurbo::BezPath::new();
        path.move_to((1.0, 0.0));
        path.line_to((9.0, 0.0));
        let line = FlattenedShape::of_trace(&crate::geometry::Trace::from_path(path));
        let wall = bar(8.95, 3.0, 0.1, 5.5);
        let anticlockwise = (0.25_f64 / 9.0).asin();
        assert!((first_contact(&line, &wall, HALF_TURN).0 - anticlockwise).abs() < 1e-9);
        assert!((first_contact(&wall, &line, HALF_TURN).1 - anticlockwise).abs() < 1e-9);
    }

    /// A star that goes round the axis turns by the angle to its neighbour's flank, the same both ways.
    #[test]
    fn a_shape_round_the_axis_turns_in_one_like_it() {
        let square = |side: f64| FlattenedShape::of(&shapes::rectangle(side, side, 0.0).unwrap());
        // The corners of a square of 10 meet the sides of one of 12 where 6 is the foot: acos(6 / (5 sqrt 2)) off the diagonal.
        let wanted = FRAC_PI_2 / 2.0 - (6.0 / (5.0 * 2.0_f64.sqrt())).acos();
        near(first_contact(&square(10.0), &square(12.0), HALF_TURN), (wanted, wanted));
        assert_eq!(first_contact(&square(8.0), &square(12.0), HALF_TURN), HALF_TURN);
    }

    fn blob(lobes: u32, radius: f64, at: (f64, f64)) -> Region {
        let corner = |corner: u32| {
            let turned = std::f64::consts::TAU * f64::from(corner) / f64::from(12 * lobes);
            let reach = radius * (1.0 + 0.4 * (turned * f64::from(lobes)).cos());
            format!("{},{}", at.0 + reach * turned.cos(), at.1 + reach * turned.sin())
        };
        shapes::path(&format!("M{} Z", (0..12 * lobes).map(corner).collect::<Vec<_>>().join(" L"))).unwrap()
    }

    proptest::proptest! {
        #![proptest_config(crate::drawn(60))]

        /// Turned by steps up to the contact the two keep apart, and a little past it they cross.
        #[test]
        fn nothing_is_met_before_the_contact_and_something_at_it(
            (lobes, other) in (1u32..6, 1u32..6), away in 4.0..14.0f64, bearing in 0.3..3.0f64, size in 1.0..3.0f64,
        ) {
            let one = FlattenedShape::of(&blob(lobes, 2.0, (9.0, 1.0)));
            let two = FlattenedShape::of(&blob(other, size, (away * bearing.cos(), away * bearing.sin())));
            proptest::prop_assume!(one.clear(&two, 1.0) > 0.0);
            let found = first_contact(&one, &two, HALF_TURN);
            let turned = |clockwise: f64| one.moved(turn(Angle::radians(clockwise)));
            for (sign, most) in [(-1.0, found.0), (1.0, found.1)] {
                for step in 0..40 {
                    let part = f64::from(step) / 40.0;
                    proptest::prop_assert!(turned(sign * most * part).clear(&two, 1e-3) > 0.0, "{found:?} {part}");
                }
                if most < PI {
                    proptest::prop_assert!(turned(sign * (most - 1e-9)).edge_gap(&two, 1.0).mm < 1e-6);
                    proptest::prop_assert!(turned(sign * (most + 1e-6)).clear(&two, 1.0) == 0.0, "{found:?} {sign}");
                }
            }
        }
    }
}
