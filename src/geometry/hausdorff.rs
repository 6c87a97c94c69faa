//! How far one outline strays from another at most.

use kurbo::{BezPath, Line, Point, Rect};

use super::boolean::is_sliver;
use super::distance::Nearest;
use super::flattened::FlattenedShape;
use super::{Region, Trace};

/// How finely outlines are flattened here, in mm.
const FLAT_MM: f64 = 2e-4;
/// The farthest point is found to within this, in mm.
const EXACT_MM: f64 = 2e-4;
/// Outlines that lie no farther apart are the same, in mm: a hundredth of the narrowest cut. So nothing is called a change that
/// nobody could see, however differently the same outline was drawn.
const SAME_MM: f64 = 1e-3;
/// Most halvings of one segment; none is longer than 2^14 of them.
const HALVINGS: u32 = 28;

impl Region {
    /// How far the boundaries lie apart at most (the Hausdorff distance): the point of either (`from` on ours, `to`
    /// on the other's) that is farthest from the other boundary, with the nearest point to it. None where either is
    /// empty. Right to 0.6 µm.
    pub fn farthest_apart(&self, other: &Self) -> Option<Nearest> {
        apart(self.path(), other.path())
    }

    /// Whether both are the same to within 1 µm, however they are drawn.
    pub fn is_as(&self, other: &Self) -> bool {
        self == other
            || (self.is_empty() && other.is_empty())
            || near(self.bounds(), other.bounds(), || self.farthest_apart(other))
    }

    /// The same without strips thinner than 1 µm, which coincident edges leave behind.
    #[must_use]
    pub fn without_slivers(&self) -> Self {
        let kept = self.contours().into_iter().filter(|contour| !is_sliver(contour, SAME_MM));
        Self::trusted(kept.flatten().collect())
    }
}

impl Trace {
    /// The same for lines.
    pub fn farthest_apart(&self, other: &Self) -> Option<Nearest> {
        apart(self.path(), other.path())
    }

    /// Whether both are the same to within 1 µm.
    pub fn is_as(&self, other: &Self) -> bool {
        self == other || near(self.bounds(), other.bounds(), || self.farthest_apart(other))
    }
}

/// Whether boxes, which cost little to compare, and then edges agree.
fn near(one: Option<Rect>, other: Option<Rect>, apart: impl Fn() -> Option<Nearest>) -> bool {
    let (Some(one), Some(other)) = (one, other) else { return false };
    let sides = [one.x0 - other.x0, one.y0 - other.y0, one.x1 - other.x1, one.y1 - other.y1];
    sides.iter().all(|by| by.abs() <= SAME_MM) && apart().is_some_and(|apart| apart.distance <= SAME_MM)
}

fn apart(ours: &BezPath, theirs: &BezPath) -> Option<Nearest> {
    let [ours, theirs] = [ours, theirs].map(|path| FlattenedShape::closed(path, FLAT_MM));
    let there = farthest(&ours, &theirs)?;
    let back = farthest(&theirs, &ours)?;
    Some(if back.distance > there.distance { back.reversed() } else { there })
}

/// An end of a segment: how far off the other boundary it is, and which of that one's segments is the nearest.
#[derive(Clone, Copy)]
struct End<'s> {
    distance: f64,
    on: &'s Line,
}

/// The point of one boundary that is farthest from another; none where either is empty. Along a segment the distance changes
/// no faster than the point moves, so a segment is halved only where it could still hold a farther point than the best one; and
/// never where both its ends are nearest to one segment, since the distance to that is greatest at an end.
fn farthest(boundary: &FlattenedShape, other: &FlattenedShape) -> Option<Nearest> {
    let nearest = |from: Point| {
        other.nearest_segment(from).map(|(distance, to, on)| (Nearest { distance, from, to }, End { distance, on }))
    };
    let (mut best, _) = nearest(boundary.segments().first()?.p0)?;
    for segment in boundary.segments() {
        let (found, _) = nearest(segment.p0)?;
        if found.distance > best.distance {
            best = found;
        }
    }
    for segment in boundary.segments() {
        let mut todo = vec![(*segment, nearest(segment.p0)?.1, nearest(segment.p1)?.1, 0)];
        while let Some((part, start, end, depth)) = todo.pop() {
            let reach = (start.distance + end.distance + part.p0.distance(part.p1)) / 2.0;
            if reach <= best.distance + EXACT_MM || std::ptr::eq(start.on, end.on) || depth > HALVINGS {
                continue;
            }
            let middle = part.p0.midpoint(part.p1);
            let (found, between) = nearest(middle)?;
            if found.distance > best.distance {
                best = found;
            }
            todo.push((Line::new(part.p0, middle), start, between, depth + 1));
            todo.push((Line::new(middle, part.p1), between, end, depth + 1));
        }
    }
    Some(best)
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use kurbo::{Affine, Point};

    /// Two circles of radii r and R whose centres are d apart: |R - r| + d, from the definition.
    #[test]
    fn circles_lie_apart_by_their_radii_and_shift() {
        for (one, other, shift) in [(2.0, 2.0, 0.0), (2.0, 2.15, 0.0), (2.0, 2.0, 0.3), (2.0, 2.4, 0.3)] {
            let disc = shapes::circle(one).unwrap();
            let moved = shapes::circle(other).unwrap().transformed(Affine::translate((shift, 0.0)));
            let found = disc.farthest_apart(&moved).unwrap();
            assert!((found.distance - ((other - one).abs() + shift)).abs() < 1e-3, "{found:?}");
            assert_eq!(found.distance, moved.farthest_apart(&disc).unwrap().distance);
        }
    }

    /// The farthest point may lie within an edge: the middle of a long side over a notch that is as wide.
    #[test]
    fn a_notch_is_as_far_as_it_is_deep() {
        let plate = shapes::rectangle(40.0, 20.0, 0.0).unwrap();
        let notch = shapes::rectangle(2.0, 2.0, 0.0).unwrap().transformed(Affine::translate((0.0, 9.0)));
        let found = plate.farthest_apart(&plate.difference(&notch)).unwrap();
        assert!((found.distance - 2.0).abs() < 1e-3, "{found:?}");
        assert!(found.from.distance(Point::new(found.from.x, 10.0)) < 1e-3, "on the whole plate's side: {found:?}");
        assert!(plate.farthest_apart(&super::Region::empty()).is_none());
    }
    /// Points of either outline taken closely, and the distance of each to the other by the tree: no point lies farther off
    /// than what is found, and the pair that is found is one.
    #[test]
    fn no_point_lies_farther_off_than_is_found() {
        let mut shapes = vec![
            shapes::star(5, 9.0, 4.0, 0.0).unwrap(),
            shapes::rectangle(14.0, 9.0, 2.0).unwrap(),
            shapes::ellipse(15.0, 8.0).unwrap(),
            shapes::polygon(3, 8.0, 0.0).unwrap(),
        ];
        shapes.push(shapes[0].union(&shapes[2].transformed(Affine::translate((11.0, 3.0)))));
        for (at, one) in shapes.iter().enumerate() {
            for other in &shapes[at + 1..] {
                let farthest = |from: &super::Region, to: &super::Region| {
                    let outline = super::FlattenedShape::to_within(to, 1e-4);
                    let places = from.path().segments().flat_map(|segment| {
                        (0..=60).map(move |step| kurbo::ParamCurve::eval(&segment, f64::from(step) / 60.0))
                    });
                    places.map(|place| outline.distance_to(place).unwrap().0).fold(0.0, f64::max)
                };
                let found = one.farthest_apart(other).unwrap();
                let wanted = farthest(one, other).max(farthest(other, one));
                assert!(found.distance > wanted - 1e-3 && found.distance < wanted + 0.02, "{found:?} {wanted}");
                assert!((found.from.distance(found.to) - found.distance).abs() < 1e-9);
                let near = |region: &super::Region, place: Point| region.distance_to_point(place).unwrap().distance;
                assert!(near(one, found.from) < 1e-3 && near(other, found.to) < 1e-3, "{found:?}");
                let least = near(other, found.from).max(near(one, found.to));
                assert!((least - found.distance).abs() < 1e-3, "one of the two is nearest to the other: {found:?}");
            }
        }
    }

    #[test]
    fn outlines_are_the_same_to_a_micrometre() {
        let plate = shapes::rectangle(2.0, 1.5, 0.25).unwrap();
        let moved = |by: f64| plate.transformed(Affine::translate((by, 0.0)));
        let wider = |by: f64| shapes::rectangle(2.0 + 2.0 * by, 1.5, 0.25).unwrap();
        assert!(plate.is_as(&plate) && plate.is_as(&moved(8e-4)) && !plate.is_as(&moved(1.3e-3)));
        assert!(plate.is_as(&wider(8e-4)) && !plate.is_as(&wider(1.3e-3)));
        // The same box, other corners.
        assert!(!plate.is_as(&shapes::rectangle(2.0, 1.5, 0.3).unwrap()));
        let nothing = super::Region::empty();
        assert!(nothing.is_as(&super::Region::empty()) && !nothing.is_as(&plate) && !plate.is_as(&nothing));
        let line = |y: f64| super::Trace::line(&[Point::ORIGIN, Point::new(9.0, 0.0), Point::new(9.0, y)]).unwrap();
        assert!(line(5.0).is_as(&line(5.0)) && line(5.0).is_as(&line(5.0008)) && !line(5.0).is_as(&line(5.002)));
        assert!((line(5.0).farthest_apart(&line(7.0)).unwrap().distance - 2.0).abs() < 1e-3);
        // A strip half a micrometre wide is left behind by edges that nearly coincide; one of 10 micrometres is drawn.
        let strip = |wide: f64| {
            let mut path = plate.path().clone();
            path.extend([(20.0, 0.0), (20.0 + wide, 0.0), (20.0 + wide, 9.0), (20.0, 9.0)].iter().enumerate().map(
                |(at, to)| {
                    let to = Point::from(*to);
                    if at == 0 { kurbo::PathEl::MoveTo(to) } else { kurbo::PathEl::LineTo(to) }
                },
            ));
            path.close_path();
            super::Region::trusted(path)
        };
        assert_eq!(strip(5e-4).without_slivers(), plate);
        assert_eq!(strip(1e-2).without_slivers(), strip(1e-2));
    }
}
