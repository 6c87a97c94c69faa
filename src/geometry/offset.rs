//! Outlines moved outward or inward, and corners rounded by it.

use kurbo::{BezPath, CubicBez, Diagonal2, Join, ParamCurve, PathSeg, Point, Shape};

use super::edges::Edges;
use super::{Region, boolean, flat};
use crate::limits::SIZE_MM;

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
        let Some(edges) = Edges::of(self.path(), CHECK_MM) else { return Self::empty() };
        let fine = [TURN, TURN / 4.0].into_iter().find_map(|turn| moved(self, mm, turn, &edges));
        fine.unwrap_or_else(|| flat::offset(self.path(), mm, FALLBACK_MM))
    }

    /// Every corner rounded to radius `mm`, convex and reflex alike: necks thinner than twice that vanish and
    /// gaps narrower than that fill. Nothing changes where `mm` is not above zero.
    #[must_use]
    pub fn rounded(&self, mm: f64) -> Self {
        if mm > LEAST_MM { self.offset(-mm).offset(2.0 * mm).offset(-mm) } else { self.clone() }
    }
}

/// The offset by curves, where it can be had.
fn moved(region: &Region, by: f64, turn: f64, edges: &Edges) -> Option<Region> {
    let path = split(region, turn);
    let raw = tidied(&kurbo::expand_path_signed(&path, Diagonal2::new(-by, -by), Join::Round, 4.0, 1e-5));
    if !raw.is_finite() {
        return None;
    }
    let mut kept = BezPath::new();
    for contour in boolean::wound(&raw)?.contours() {
        match lies(&contour, by, edges) {
            Lies::True => kept.extend(contour),
            Lies::Inside => {}
            Lies::Astray => return None,
        }
    }
    let found = Region::trusted(kept);
    nothing_missing(&raw, &found, by.abs(), edges).then_some(found)
}

/// Whether the outline found passes through every point of the raw offset that lies where the offset should.
fn nothing_missing(raw: &BezPath, found: &Region, wanted: f64, edges: &Edges) -> bool {
    let Some(outline) = Edges::of(found.path(), CHECK_MM) else {
        return places(raw).all(|place| edges.within(wanted - LOST_MM, place));
    };
    let belongs = |place: &Point| !edges.within(wanted - CHECK_MM, *place);
    places(raw).filter(belongs).all(|place| outline.within(LOST_MM, place))
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

fn lies(contour: &BezPath, by: f64, edges: &Edges) -> Lies {
    let (least, most) = (by.abs() - STRAY_MM, by.abs() + STRAY_MM);
    let astray = |place: &Point| edges.within(least, *place) || !edges.within(most, *place);
    let (all, wrong) = (places(contour).count(), places(contour).filter(astray).count());
    if wrong == 0 && faces_out(contour, by, edges) {
        Lies::True
    } else if 2 * wrong > all {
        Lies::Inside
    } else {
        Lies::Astray
    }
}

/// Whether the outline lies on the left of a contour: what is left of it is nearer to a grown region, and
/// farther from the outline of a shrunk one.
fn faces_out(contour: &BezPath, by: f64, edges: &Edges) -> bool {
    let chord = |segment: &PathSeg| segment.start().distance(segment.end());
    let Some(longest) = contour.segments().max_by(|a, b| chord(a).total_cmp(&chord(b))) else { return false };
    let (before, middle, after) = (longest.eval(0.499), longest.eval(0.5), longest.eval(0.501));
    let aside = (after - before).turn_90().normalize() * SIDE_MM.min(by.abs() / 4.0);
    let (left, right) = (edges.distance_to(middle + aside), edges.distance_to(middle - aside));
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
