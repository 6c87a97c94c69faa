//! Filled regions from outlines that are clean already.
//!
//! Type is drawn with contours that rarely meet. Proving that they do not costs microseconds, where resolving
//! them would cost milliseconds and cut every curve in pieces; so the boolean engine is asked only when the
//! proof fails.

use kurbo::{BezPath, ParamCurve, PathEl, PathSeg, Point, Rect, Shape, Vec2};

use crate::geometry::{GeometryError, Region, Rule, SLIVER_MM2};
use crate::limits::SIZE_MM;

/// How often a pair of curves is halved before they count as touching.
const HALVINGS: u32 = 24;

/// The inside of closed contours under a rule, curves kept.
///
/// # Errors
/// [`GeometryError::OutOfRange`] for a coordinate that is not finite or beyond the limit.
pub(crate) fn filled(path: &BezPath, rule: Rule) -> Result<Region, GeometryError> {
    let within = |point: Point| point.x.abs() <= SIZE_MM && point.y.abs() <= SIZE_MM;
    if !path.segments().all(|segment| points(&segment).into_iter().all(within)) {
        return Err(GeometryError::OutOfRange);
    }
    let contours = contours(path);
    if are_apart(&contours) { Ok(wound(contours, rule)) } else { Region::from_path(path, rule) }
}

/// Each contour of a path, closed.
fn contours(path: &BezPath) -> Vec<BezPath> {
    let mut contours: Vec<BezPath> = Vec::new();
    for element in path.elements() {
        match (element, contours.last_mut()) {
            (PathEl::ClosePath, _) => {}
            (PathEl::MoveTo(_), _) | (_, None) => contours.push(BezPath::from_vec(vec![*element])),
            (_, Some(contour)) => contour.push(*element),
        }
    }
    for contour in &mut contours {
        let ends_at_start = contour.segments().last().is_none_or(|last| Some(last.end()) == start(contour));
        if !ends_at_start && let Some(start) = start(contour) {
            contour.line_to(start);
        }
        contour.close_path();
    }
    // The box of the control points is never smaller than the ink, so nothing is dropped that could be seen.
    contours.retain(|contour| contour.control_box().area() >= SLIVER_MM2);
    contours
}

fn start(contour: &BezPath) -> Option<Point> {
    contour.segments().next().map(|first| first.start())
}

/// Contours that do not meet, wound so that ink lies on their left; those with ink on both sides are dropped.
fn wound(contours: Vec<BezPath>, rule: Rule) -> Region {
    let is_ink = |winding: f64| match rule {
        Rule::NonZero => winding.abs() > 0.5,
        Rule::EvenOdd => winding.rem_euclid(2.0) > 0.5,
    };
    let boxes: Vec<(Rect, f64)> = contours.iter().map(|c| (c.bounding_box(), c.area().signum())).collect();
    let mut path = BezPath::new();
    for (at, (contour, (_, sense))) in contours.iter().zip(&boxes).enumerate() {
        let Some(point) = start(contour).filter(|_| contour.area().abs() >= SLIVER_MM2) else { continue };
        let around =
            contours.iter().zip(&boxes).enumerate().filter(|(other, (outer, (room, _)))| {
                *other != at && room.contains(point) && outer.winding(point) != 0
            });
        let outside: f64 = around.map(|(_, (_, (_, sense)))| sense).sum();
        let (ink_outside, ink_inside) = (is_ink(outside), is_ink(outside + sense));
        match (ink_outside != ink_inside, ink_inside == (*sense > 0.0)) {
            (false, _) => {}
            (true, true) => path.extend(contour),
            (true, false) => path.extend(&contour.reverse_subpaths()),
        }
    }
    Region::trusted(path)
}

/// A stretch of a contour, with the box that surely holds it.
struct Stretch {
    segment: PathSeg,
    room: Rect,
    contour: usize,
    place: usize,
    of: usize,
}

impl Stretch {
    /// Whether `next` begins where this one ends.
    fn leads_to(&self, next: &Self) -> bool {
        self.contour == next.contour && (self.place + 1) % self.of == next.place
    }
}

/// Proof that no contour meets itself or another. A false answer proves nothing.
fn are_apart(contours: &[BezPath]) -> bool {
    let mut stretches: Vec<Stretch> = Vec::new();
    for (contour, path) in contours.iter().enumerate() {
        let Some(segments) = stretched(path) else { return false };
        let of = segments.len();
        let each = segments.into_iter().enumerate();
        stretches.extend(each.map(|(place, segment)| Stretch { segment, room: room(&segment), contour, place, of }));
    }
    // Swept from left to right, so that a stretch is only compared with those whose boxes overlap it sideways.
    stretches.sort_by(|a, b| a.room.x0.total_cmp(&b.room.x0));
    stretches.iter().enumerate().all(|(at, one)| {
        let rest = stretches.get(at + 1..).unwrap_or_default();
        rest.iter().take_while(|other| other.room.x0 <= one.room.x1).all(|other| {
            if one.leads_to(other) {
                part_at_joint(one.segment, other.segment, HALVINGS)
            } else if other.leads_to(one) {
                part_at_joint(other.segment, one.segment, HALVINGS)
            } else {
                one.room.y0 > other.room.y1
                    || other.room.y0 > one.room.y1
                    || are_separate(one.segment, other.segment, HALVINGS)
            }
        })
    })
}

/// A contour as three or more stretches, none of which can meet itself; none where it cannot be so cut.
fn stretched(contour: &BezPath) -> Option<Vec<PathSeg>> {
    let mut out = Vec::new();
    for segment in contour.segments().filter(|segment| segment.start() != segment.end() || !is_line(segment)) {
        push_forward(segment, 6, &mut out)?;
    }
    while !out.is_empty() && out.len() < 3 {
        out = out.iter().flat_map(|segment| [segment.subsegment(0.0..0.5), segment.subsegment(0.5..1.0)]).collect();
    }
    Some(out)
}

/// Cuts a segment until every piece runs forward along its own chord, and so cannot cross itself.
fn push_forward(segment: PathSeg, depth: u32, out: &mut Vec<PathSeg>) -> Option<()> {
    let chord = segment.end() - segment.start();
    let points = points(&segment);
    let runs_forward = points.windows(2).all(|pair| matches!(pair, [a, b] if (*b - *a).dot(chord) >= 0.0));
    if runs_forward && chord != Vec2::ZERO {
        out.push(segment);
        return Some(());
    }
    let deeper = depth.checked_sub(1)?;
    push_forward(segment.subsegment(0.0..0.5), deeper, out)?;
    push_forward(segment.subsegment(0.5..1.0), deeper, out)
}

/// Whether two segments share no point.
fn are_separate(a: PathSeg, b: PathSeg, depth: u32) -> bool {
    let (room_a, room_b) = (room(&a), room(&b));
    if room_a.x1 < room_b.x0 || room_b.x1 < room_a.x0 || room_a.y1 < room_b.y0 || room_b.y1 < room_a.y0 {
        return true;
    }
    if let (PathSeg::Line(a), PathSeg::Line(b)) = (a, b) {
        return lies_beside(a.p0, a.p1, [b.p0, b.p1]) || lies_beside(b.p0, b.p1, [a.p0, a.p1]);
    }
    let Some(deeper) = depth.checked_sub(1) else { return false };
    // The larger one is halved, so that the boxes shrink as fast as they can; halving a line gains nothing.
    let a_is_larger = !is_line(&a) && (is_line(&b) || size(room_a) >= size(room_b));
    let (cut, whole) = if a_is_larger { (a, b) } else { (b, a) };
    are_separate(cut.subsegment(0.0..0.5), whole, deeper) && are_separate(cut.subsegment(0.5..1.0), whole, deeper)
}

/// Whether both points lie strictly on the same side of the line from `p` to `q`.
fn lies_beside(p: Point, q: Point, [one, other]: [Point; 2]) -> bool {
    let side = |point: Point| (q - p).cross(point - p);
    side(one) * side(other) > 0.0
}

/// Whether `b`, which begins where `a` ends, meets it nowhere else.
fn part_at_joint(a: PathSeg, b: PathSeg, depth: u32) -> bool {
    let joint = a.end();
    let (back, on) = (points(&a), points(&b));
    let lengths = |all: Vec<Point>| -> Vec<Vec2> {
        all.into_iter().map(|point| point - joint).filter(|arm| *arm != Vec2::ZERO).collect()
    };
    let (back, on) = (lengths(back), lengths(on));
    let (Some(arm_back), Some(arm_on)) = (back.last(), on.first()) else { return false };
    // A line through the joint square to this parts the two, where each lies wholly on its own side of it.
    let divide = arm_back.normalize() - arm_on.normalize();
    if back.iter().all(|arm| arm.dot(divide) > 0.0) && on.iter().all(|arm| arm.dot(divide) < 0.0) {
        return true;
    }
    let Some(deeper) = depth.checked_sub(1) else { return false };
    if is_line(&a) && is_line(&b) {
        return false;
    }
    let (a_far, a_near) = (a.subsegment(0.0..0.5), a.subsegment(0.5..1.0));
    let (b_near, b_far) = (b.subsegment(0.0..0.5), b.subsegment(0.5..1.0));
    part_at_joint(a_near, b_near, deeper)
        && are_separate(a_far, b_near, deeper)
        && are_separate(a_near, b_far, deeper)
        && are_separate(a_far, b_far, deeper)
}

fn is_line(segment: &PathSeg) -> bool {
    matches!(segment, PathSeg::Line(_))
}

fn size(room: Rect) -> f64 {
    room.width() + room.height()
}

/// The box of the control points: it surely holds the segment.
fn room(segment: &PathSeg) -> Rect {
    points(segment).into_iter().fold(Rect::from_points(segment.start(), segment.end()), |room, p| room.union_pt(p))
}

fn points(segment: &PathSeg) -> Vec<Point> {
    match segment {
        PathSeg::Line(line) => vec![line.p0, line.p1],
        PathSeg::Quad(quad) => vec![quad.p0, quad.p1, quad.p2],
        PathSeg::Cubic(cubic) => vec![cubic.p0, cubic.p1, cubic.p2, cubic.p3],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Affine, Circle};

    fn circle(radius: f64, x: f64) -> BezPath {
        Affine::translate((x, 0.0)) * Circle::new((0.0, 0.0), radius).to_path(1e-4)
    }

    fn together(paths: &[BezPath]) -> BezPath {
        paths.iter().flat_map(|path| path.iter()).collect()
    }

    #[test]
    fn contours_that_meet_are_never_proven_apart() {
        let apart = |paths: &[BezPath]| are_apart(&contours(&together(paths)));
        assert!(apart(&[circle(5.0, 0.0), circle(4.99, 0.0), circle(1.0, 6.01)]));
        assert!(!apart(&[circle(5.0, 0.0), circle(5.0, 1.0)]));
        assert!(!apart(&[circle(5.0, 0.0), circle(1.0, 6.0)]));
        assert!(!apart(&[circle(5.0, 0.0), circle(5.0, 0.0)]));
        for crossing in
            ["M0 0 L10 10 L10 0 L0 10 Z", "M0 0 C30 10 -20 10 10 0 L5 -5 Z", "M0 0 H10 V10 H5 V0 H2 V10 H0 Z"]
        {
            assert!(!apart(&[BezPath::from_svg(crossing).unwrap()]), "{crossing}");
        }
    }

    #[test]
    fn the_short_way_and_the_long_way_fill_alike() {
        let inner = circle(4.0, 0.0).reverse_subpaths();
        for path in [
            together(&[circle(5.0, 0.0), circle(4.0, 0.0)]),
            together(&[circle(5.0, 0.0), inner.clone()]),
            together(&[circle(5.0, 0.0), inner.clone(), circle(3.0, 0.0), circle(1.0, 9.0)]),
            together(&[circle(5.0, 0.0), inner]).reverse_subpaths(),
        ] {
            assert!(are_apart(&contours(&path)));
            for rule in [Rule::NonZero, Rule::EvenOdd] {
                let (short, long) = (filled(&path, rule).unwrap(), Region::from_path(&path, rule).unwrap());
                assert!((short.area() - long.area()).abs() < 1e-3, "{} and {}", short.area(), long.area());
                assert!(short.contours().iter().all(|contour| short.area() > 0.0 && contour.area() != 0.0));
                assert_eq!(short.contours().len(), long.contours().len());
            }
        }
    }

    #[test]
    fn open_and_empty_contours_are_closed_or_dropped() {
        let open = BezPath::from_svg("M0 0 L10 0 L10 10 M3 3 L4 4 M5 5 Z").unwrap();
        let region = filled(&open, Rule::NonZero).unwrap();
        assert_eq!(region.area(), 50.0);
        assert_eq!(region.contours().len(), 1);
    }

    #[test]
    fn coordinates_out_of_range_are_refused() {
        for path in [circle(1.0, f64::NAN), circle(1.0, 2e4), circle(1.0, f64::INFINITY)] {
            assert_eq!(filled(&path, Rule::NonZero), Err(GeometryError::OutOfRange));
        }
    }
}
