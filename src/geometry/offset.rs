//! Outlines moved outward or inward, and corners rounded by it.

use kurbo::{BezPath, CubicBez, Diagonal2, Join, ParamCurve, PathSeg, Point, Shape};

use super::flattened::FlattenedShape;
use super::simple::is_plainly_simple;
use super::{Region, boolean, second_engine};
use crate::limits::SIZE_MM;
use crate::memory::{MANY, recalled};

/// Offsets smaller than this change nothing, in mm.
const LEAST_MM: f64 = 1e-6;
/// How far an offset may stray from where it belongs, in mm.
const STRAY_MM: f64 = 2.5e-4;
/// How finely the outline is flattened where an offset is checked, in mm.
const CHECK_MM: f64 = 2e-5;
/// A raw point that belongs to an offset lies this near to what was found, in mm.
const LOST_MM: f64 = 5e-3;
/// How finely the outline is flattened where curves will not do, in mm.
const FALLBACK_MM: f64 = 5e-4;
/// How far aside of an outline it is told which side is inside, in mm.
const SIDE_MM: f64 = 1e-3;
/// Segments of a raw offset shorter than this are left out, in mm.
const SHORT_MM: f64 = 1e-5;
/// Ends this near close a contour, in mm.
const CLOSE_MM: f64 = 1e-3;
/// A curve is cut where it has turned this far (radians) before it is moved.
const TURN: f64 = 0.6;

impl Region {
    /// Grown by `mm` all round, or shrunk where negative: all points no farther than that from the region, or
    /// farther than that inside it. Outer corners of a grown region are round. `mm` is held to
    /// the limit on sizes; nothing where it is not a number.
    ///
    /// Curves stay curves and lie within 0.25 µm of where they belong; where that cannot be had, the answer is a
    /// polygon within 1 µm.
    #[must_use]
    pub fn offset(&self, mm: f64) -> Self {
        if mm.abs() < LEAST_MM || self.is_empty() {
            return self.clone();
        }
        if mm.is_nan() {
            return Self::empty();
        }
        let mm = mm.clamp(-SIZE_MM, SIZE_MM);
        let afar = boolean::from_afar(&[self.path()], |smaller| {
            self.transformed(smaller).offset(mm * smaller.determinant().sqrt())
        });
        if let Some(region) = afar {
            return region;
        }
        recalled(MANY, || Moved(self.clone(), mm), || grown(self, mm))
    }

    /// Every corner rounded to radius `mm`, convex and reflex alike: necks thinner than twice that vanish and
    /// gaps narrower than that fill. Nothing changes where `mm` is not above zero.
    #[must_use]
    pub fn rounded(&self, mm: f64) -> Self {
        if mm > LEAST_MM { self.offset(-mm).offset(2.0 * mm).offset(-mm) } else { self.clone() }
    }
}

/// A region that is grown by so many mm.
#[derive(PartialEq)]
struct Moved(Region, f64);

fn grown(region: &Region, mm: f64) -> Region {
    let outline = FlattenedShape::to_within(region, CHECK_MM);
    if outline.is_empty() {
        return Region::empty();
    }
    let fine = [TURN, TURN / 4.0].into_iter().find_map(|turn| moved(region, mm, turn, &outline));
    fine.unwrap_or_else(|| second_engine::offset(region.path(), mm, FALLBACK_MM))
}

/// The offset by curves, where it can be had.
fn moved(region: &Region, by: f64, turn: f64, outline: &FlattenedShape) -> Option<Region> {
    let path = split(region, turn);
    let raw = tidied(&kurbo::expand_path_signed(&path, Diagonal2::new(-by, -by), Join::Round, 4.0, 1e-5));
    if !raw.is_finite() {
        return None;
    }
    // Most outlines keep clear of themselves, so that there is nothing to be resolved and nothing can go missing.
    let lies_true = |contour: &BezPath| matches!(lies(contour, by, outline), Lies::True);
    if is_plainly_simple(&raw) && Region::trusted(raw.clone()).contours().iter().all(lies_true) {
        return Some(Region::trusted(raw));
    }
    let mut kept = BezPath::new();
    for contour in boolean::wound(&raw)?.contours() {
        match lies(&contour, by, outline) {
            Lies::True => kept.extend(contour),
            Lies::Inside => {}
            Lies::Astray => return None,
        }
    }
    let found = Region::trusted(kept);
    nothing_missing(&raw, &found, by.abs(), outline).then_some(found)
}

/// Whether the outline found passes through every point of the raw offset that lies where the offset should.
fn nothing_missing(raw: &BezPath, found: &Region, wanted: f64, outline: &FlattenedShape) -> bool {
    let found = FlattenedShape::to_within(found, CHECK_MM);
    if found.is_empty() {
        return places(raw).all(|place| outline.within(wanted - LOST_MM, place));
    }
    let belongs = |place: &Point| !outline.within(wanted - CHECK_MM, *place);
    places(raw).filter(belongs).all(|place| found.within(LOST_MM, place))
}

/// Places along every segment of a path.
fn places(path: &BezPath) -> impl Iterator<Item = Point> {
    path.segments().flat_map(|segment| [0.0, 0.3, 0.6].map(|t| segment.eval(t)))
}

/// How a contour of a raw offset lies to the outline that it was made from.
enum Lies {
    /// At the right distance throughout.
    True,
    /// Nearer throughout: the trace of a part that has turned inside out.
    Inside,
    /// Neither.
    Astray,
}

fn lies(contour: &BezPath, by: f64, outline: &FlattenedShape) -> Lies {
    let (least, most) = (by.abs() - STRAY_MM, by.abs() + STRAY_MM);
    let astray = |place: &Point| outline.within(least, *place) || !outline.within(most, *place);
    let (all, wrong) = (places(contour).count(), places(contour).filter(astray).count());
    if wrong == 0 && faces_out(contour, by, outline) {
        Lies::True
    } else if 2 * wrong > all {
        Lies::Inside
    } else {
        Lies::Astray
    }
}

/// Whether the outline lies on the left of a contour: what is left of it is nearer to a grown region, and
/// farther from the outline of a shrunk one.
fn faces_out(contour: &BezPath, by: f64, outline: &FlattenedShape) -> bool {
    let chord = |segment: &PathSeg| segment.start().distance(segment.end());
    let Some(longest) = contour.segments().max_by(|a, b| chord(a).total_cmp(&chord(b))) else { return false };
    let (before, middle, after) = (longest.eval(0.499), longest.eval(0.5), longest.eval(0.501));
    let aside = (after - before).turn_90().normalize() * SIDE_MM.min(by.abs() / 4.0);
    let distance = |place: Point| outline.distance_to(place).map_or(f64::INFINITY, |(mm, _)| mm);
    let (left, right) = (distance(middle + aside), distance(middle - aside));
    if by > 0.0 { left < right } else { left > right }
}

/// The path without segments too short to matter, which is what corners rounded by the offset itself shrink to.
fn tidied(path: &BezPath) -> BezPath {
    let mut tidy = BezPath::new();
    for contour in Region::trusted(path.clone()).contours() {
        let mut kept: Vec<PathSeg> = contour.segments().filter(|segment| longest(segment) > SHORT_MM).collect();
        let Some(start) = kept.first().map(PathSeg::start) else { continue };
        let end = match kept.last_mut() {
            Some(PathSeg::Line(kurbo::Line { p1: end, .. }) | PathSeg::Cubic(CubicBez { p3: end, .. })) => end,
            _ => continue,
        };
        if end.distance(start) < CLOSE_MM {
            *end = start;
        }
        tidy.move_to(start);
        tidy.extend(kept.iter().map(PathSeg::as_path_el));
        tidy.close_path();
    }
    tidy
}

/// The outline with its curves cut at inflections and wherever they have turned by `turn`.
fn split(region: &Region, turn: f64) -> BezPath {
    let mut path = BezPath::new();
    for contour in region.contours() {
        let mut at: Option<Point> = None;
        for segment in contour.segments().filter(|segment| longest(segment) > 1e-7) {
            if at.is_none() {
                path.move_to(segment.start());
            }
            at = Some(segment.end());
            match segment {
                PathSeg::Line(line) => path.line_to(line.p1),
                PathSeg::Quad(quad) => split_cubic(quad.raise(), turn, &mut path),
                PathSeg::Cubic(cubic) => split_cubic(cubic, turn, &mut path),
            }
        }
        if at.is_some() {
            path.close_path();
        }
    }
    path
}

fn longest(segment: &PathSeg) -> f64 {
    let bounds = segment.bounding_box();
    bounds.width().max(bounds.height())
}

fn split_cubic(cubic: CubicBez, turn: f64, path: &mut BezPath) {
    let mut cuts: Vec<f64> = cubic.inflections().into_iter().filter(|t| *t > 1e-3 && *t < 1.0 - 1e-3).collect();
    cuts.push(1.0);
    let mut from = 0.0;
    for to in cuts {
        let piece = cubic.subsegment(from..to);
        let steps = (turned(piece) / turn).ceil().clamp(1.0, 64.0);
        let width = (to - from) / steps;
        for i in 1..=steps as usize {
            let end = if i as f64 == steps { to } else { from + width * i as f64 };
            let start = from + width * (i as f64 - 1.0);
            let part = cubic.subsegment(start..end);
            path.curve_to(part.p1, part.p2, part.p3);
        }
        from = to;
    }
}

/// How far a cubic turns, in radians: what its handles turn, which is no less.
fn turned(cubic: CubicBez) -> f64 {
    let legs = [cubic.p1 - cubic.p0, cubic.p2 - cubic.p1, cubic.p3 - cubic.p2];
    let legs: Vec<_> = legs.into_iter().filter(|leg| leg.hypot() > 1e-9).collect();
    legs.iter().zip(legs.iter().skip(1)).map(|(a, b)| a.cross(*b).atan2(a.dot(*b)).abs()).sum()
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;
    use kurbo::Affine;

    fn cubic(points: [(f64, f64); 4]) -> CubicBez {
        let [a, b, c, d] = points.map(Point::from);
        CubicBez::new(a, b, c, d)
    }

    #[test]
    fn a_cubic_turns_as_its_handles_do() {
        let near = |points: [(f64, f64); 4], wanted: f64| assert!((turned(cubic(points)) - wanted).abs() < 1e-12);
        near([(0.0, 0.0), (1.0, 0.0), (2.0, 1.0), (2.0, 2.0)], std::f64::consts::FRAC_PI_2);
        near([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (3.0, 0.0)], 0.0);
        near([(0.0, 0.0), (1.0, 1.0), (2.0, 0.0), (3.0, 1.0)], std::f64::consts::PI);
        // Handles of no length turn nowhere.
        near([(0.0, 0.0), (0.0, 0.0), (2.0, 1.0), (2.0, 2.0)], std::f64::consts::FRAC_PI_2 - 0.5_f64.atan());
    }

    /// The pieces follow one another on the curve, none turns by more than asked, and none is cut but for that.
    #[test]
    fn curves_are_cut_where_they_bend_away_or_too_far() {
        for points in [
            [(0.0, 0.0), (3.0, 0.0), (5.0, 2.0), (5.0, 5.0)],
            [(0.0, 0.0), (4.0, 4.0), (1.0, -4.0), (6.0, 1.0)],
            [(0.0, 0.0), (6.0, 5.0), (-3.0, 5.0), (3.0, 0.0)],
            [(0.0, 0.0), (1.0, 0.1), (2.0, 0.1), (3.0, 0.0)],
        ] {
            let whole = cubic(points);
            for turn in [0.6, 0.15] {
                let mut path = BezPath::new();
                path.move_to(whole.p0);
                split_cubic(whole, turn, &mut path);
                let pieces: Vec<CubicBez> = path
                    .segments()
                    .map(|segment| match segment {
                        PathSeg::Cubic(piece) => piece,
                        _ => panic!("a cubic is wanted"),
                    })
                    .collect();
                assert!(pieces.last().unwrap().p3.distance(whole.p3) < 1e-12 && pieces[0].p0 == whole.p0);
                let bends: Vec<f64> = whole.inflections().to_vec();
                let whole_turn: f64 = pieces.iter().map(|piece| turned(*piece)).sum();
                for piece in &pieces {
                    // A piece of even width in t may turn some more than its share where the curve bends sharply.
                    assert!(piece.inflections().iter().all(|t| *t < 2e-2 || *t > 1.0 - 2e-2), "{points:?} {piece:?}");
                    for t in [0.0, 0.25, 0.5, 1.0] {
                        let at = piece.eval(t);
                        let off = kurbo::ParamCurveNearest::nearest(&whole, at, 1e-9).distance_sq.sqrt();
                        assert!(off < 1e-6, "{points:?}: {off}");
                    }
                }
                #[allow(clippy::cast_precision_loss, reason = "few")]
                let count = pieces.len() as f64;
                assert!(
                    count >= whole_turn / turn && count <= 2.0 * whole_turn / turn + 1.0 + bends.len() as f64,
                    "{points:?} {turn}: {count} {whole_turn}"
                );
                let length: f64 = pieces.iter().map(|piece| kurbo::ParamCurveArclen::arclen(piece, 1e-9)).sum();
                assert!((length - kurbo::ParamCurveArclen::arclen(&whole, 1e-9)).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn outlines_are_split_and_stay_what_they_are() {
        let bowl = shapes::path("M-10,10 Q0,-10 10,10 Z").unwrap();
        let all = shapes::circle(5.0).unwrap().union(&bowl.transformed(Affine::translate((40.0, 0.0))));
        let path = split(&all, TURN);
        assert!((path.area() - all.area()).abs() < 1e-9);
        assert!(path.segments().all(|segment| !matches!(segment, PathSeg::Quad(_))));
        assert_eq!(path.elements().iter().filter(|it| matches!(it, kurbo::PathEl::MoveTo(_))).count(), 2);
        assert_eq!(path.elements().iter().filter(|it| matches!(it, kurbo::PathEl::ClosePath)).count(), 2);
        let line = PathSeg::Line(kurbo::Line::new((1.0, 2.0), (4.0, 3.0)));
        let up = PathSeg::Line(kurbo::Line::new((1.0, 2.0), (2.0, 8.0)));
        assert_eq!((longest(&line), longest(&up)), (3.0, 6.0));
    }

    /// What is shorter than a hundredth of a micrometre goes, ends that nearly meet are made to, and open ends stay apart.
    #[test]
    fn raw_offsets_are_tidied() {
        let tidy = |points: &[(f64, f64)]| {
            let mut path = BezPath::new();
            for (at, point) in points.iter().enumerate() {
                if at == 0 { path.move_to(*point) } else { path.line_to(*point) }
            }
            path.close_path();
            tidied(&path)
        };
        let found = tidy(&[(0.0, 0.0), (4.0, 0.0), (4.0, 5e-6), (4.0, 3.0), (5e-6, 3.0), (0.0, 3.0)]);
        assert_eq!(found.segments().count(), 4, "{found:?}");
        assert!((found.area().abs() - 12.0).abs() < 1e-4);
        let found = tidy(&[(0.0, 0.0), (4.0, 0.0), (4.0, 2e-5), (4.0, 3.0), (0.0, 3.0)]);
        assert_eq!(found.segments().count(), 5);
        assert!(tidied(&BezPath::new()).is_empty());
        let found = tidy(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0), (0.0, 8e-6)]);
        assert_eq!(found.segments().last().unwrap().end(), Point::ORIGIN);
    }

    /// A contour drawn where an offset belongs is true, the same one nearer is what has turned inside out, and one that is now
    /// here, now there is astray. Its left is nearer to what has grown, and farther from what has shrunk.
    #[test]
    fn contours_lie_true_inside_or_astray() {
        let outline = FlattenedShape::to_within(&shapes::circle(10.0).unwrap(), CHECK_MM);
        let ring = |radius: f64, x: f64| {
            shapes::circle(radius).unwrap().transformed(Affine::translate((x, 0.0))).path().clone()
        };
        let name = |lies: Lies| match lies {
            Lies::True => "true",
            Lies::Inside => "inside",
            Lies::Astray => "astray",
        };
        let found = |contour: &BezPath, by: f64| name(lies(contour, by, &outline));
        assert_eq!(found(&ring(12.0, 0.0), 2.0), "true");
        assert_eq!(found(&ring(12.0, 0.0).reverse_subpaths(), 2.0), "astray", "the wrong way round");
        assert_eq!(found(&ring(8.0, 0.0), -2.0), "true");
        assert_eq!(found(&ring(8.0, 0.0).reverse_subpaths(), -2.0), "astray");
        assert_eq!(found(&ring(11.0, 0.0), 2.0), "inside");
        assert_eq!(found(&ring(13.0, 0.0), 2.0), "inside", "farther is as wrong");
        assert_eq!(found(&ring(12.0002, 0.0), 2.0), "true");
        assert_eq!(found(&ring(12.0003, 0.0), 2.0), "inside");
        // A bulge on a quarter of the way.
        let bulged = shapes::circle(12.0)
            .unwrap()
            .union(&shapes::circle(1.0).unwrap().transformed(Affine::translate((12.0, 0.0))));
        assert_eq!(found(bulged.path(), 2.0), "astray");
    }

    #[test]
    fn what_is_missing_from_an_offset_is_noticed() {
        let plate = shapes::rectangle(20.0, 20.0, 0.0).unwrap();
        let outline = FlattenedShape::to_within(&plate, CHECK_MM);
        let grown = plate.offset(2.0);
        let with = |region: &Region| {
            let mut raw = grown.path().clone();
            raw.extend(region.path().iter());
            raw
        };
        let aside = |x: f64| shapes::circle(1.0).unwrap().transformed(Affine::translate((x, 0.0)));
        assert!(nothing_missing(grown.path(), &grown, 2.0, &outline));
        assert!(nothing_missing(&with(&aside(9.5)), &grown, 2.0, &outline), "too near the outline to belong");
        assert!(!nothing_missing(&with(&aside(15.0)), &grown, 2.0, &outline));
        let none = Region::empty();
        assert!(
            nothing_missing(aside(9.5).path(), &none, 2.0, &outline)
                && !nothing_missing(aside(15.0).path(), &none, 2.0, &outline)
        );
        assert!(!nothing_missing(grown.path(), &none, 2.0, &outline), "all of the offset, just where it belongs");
        assert!(!nothing_missing(plate.offset(1.996).path(), &none, 2.0, &outline), "4 um too near is near enough");
        assert!(nothing_missing(plate.offset(1.994).path(), &none, 2.0, &outline), "6 um too near is not");
        let places: Vec<Point> = places(&BezPath::from_svg("M0 0 L10 0 L10 20").unwrap()).collect();
        let wanted = [(0.0, 0.0), (3.0, 0.0), (6.0, 0.0), (10.0, 0.0), (10.0, 6.0), (10.0, 12.0)].map(Point::from);
        assert!(places.iter().zip(wanted).all(|(a, b)| (*a - b).hypot() < 1e-9) && places.len() == 6);
    }

    #[test]
    fn too_little_changes_nothing_and_too_much_leaves_nothing() {
        let plate = shapes::rectangle(20.0, 20.0, 0.0).unwrap();
        assert_eq!(
            (plate.offset(9e-7), plate.offset(-9e-7), plate.rounded(9e-7)),
            (plate.clone(), plate.clone(), plate.clone())
        );
        assert!((plate.offset(2e-6).area() - 400.0 - 80.0 * 2e-6).abs() < 1e-6);
        assert!(
            plate.offset(-10.1).is_empty()
                && plate.offset(f64::NAN).is_empty()
                && Region::empty().offset(3.0).is_empty()
        );
        assert!((plate.offset(-9.9).area() - 0.04).abs() < 1e-6);
        assert!((plate.rounded(4.0).area() - 400.0 + (4.0 - std::f64::consts::PI) * 16.0).abs() < 1e-3);
        assert!(plate.rounded(-3.0) == plate);
    }
}
