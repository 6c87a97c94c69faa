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
/// A curve is cut where it has turned this far (radians) before it is moved.
const TURN: f64 = 0.6;

impl Region {
    /// Grown by `mm` all round, or shrunk where negative: all points no farther than that from the region, or
    /// farther than that inside it. Outer corners of a grown region are round. `mm` is held to
    /// the limit on sizes; nothing where it is not a number.
    ///
    /// Curves stay curves and lie within 0.25 µm of where they belong; where that cannot be had, the answer is a
    /// polygon as fine as that.
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
        fine.unwrap_or_else(|| flat::offset(self.path(), mm, CHECK_MM))
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
    let raw = kurbo::expand_path_signed(&path, Diagonal2::new(-by, -by), Join::Round, 4.0, 1e-5);
    if !raw.is_finite() {
        return None;
    }
    let mut kept = BezPath::new();
    for contour in boolean::wound(&raw)?.contours() {
        match lies(&contour, by.abs(), edges) {
            Lies::True => kept.extend(contour),
            Lies::Inside => {}
            Lies::Astray => return None,
        }
    }
    let found = Region::trusted(kept);
    // The distances say that nothing is wrong with what is there; the area says that nothing is missing.
    let rough = flat::offset(region.path(), by, 1e-3);
    let slack = 2e-3 * (1.0 + found.perimeter() + rough.perimeter());
    ((found.area() - rough.area()).abs() <= slack).then_some(found)
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

fn lies(contour: &BezPath, wanted: f64, edges: &Edges) -> Lies {
    let (mut right, mut wrong) = (0, 0);
    for segment in contour.segments() {
        for t in [0.0, 0.25, 0.5, 0.75] {
            let distance = edges.distance_to(segment.eval(t));
            if (distance - wanted).abs() <= STRAY_MM { right += 1 } else { wrong += 1 }
        }
    }
    match (right, wrong) {
        (_, 0) => Lies::True,
        (right, wrong) if wrong > right => Lies::Inside,
        _ => Lies::Astray,
    }
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
