//! The outline of a band stretched round two regions.

use kurbo::{BezPath, ParamCurve, PathEl, PathSeg, Point, Vec2};

use super::Region;

/// How finely curves are sampled to find where the band lies on them, in mm.
const SAMPLE_MM: f64 = 2e-5;

/// Where the band may touch an outline: a place on one of its segments.
#[derive(Clone, Copy)]
struct Touch {
    point: Point,
    segment: usize,
    /// Place among the samples of the segment.
    step: usize,
    /// Samples of the segment, less one.
    of: usize,
}

impl Touch {
    fn on(segment: &PathSeg, index: usize, step: usize, of: usize) -> Self {
        let mut touch = Self { point: segment.end(), segment: index, step, of };
        touch.point = if step == of { segment.end() } else { segment.eval(touch.t()) };
        touch
    }

    fn t(&self) -> f64 {
        self.step as f64 / self.of as f64
    }
}

/// The least convex region that holds both, as if a band were wrapped round them. Curves that the band lies on stay
/// curves; it lies within 0.02 µm of where it belongs.
pub fn hull(a: &Region, b: &Region) -> Region {
    let segments: Vec<PathSeg> = a.path().segments().chain(b.path().segments()).collect();
    let mut touches = completed(convex(samples(&segments), |touch| touch.point), &segments);
    // A run along one segment must not be cut in two by where the hull happens to begin.
    let cut = touches.iter().zip(touches.iter().skip(1)).position(|(a, b)| !follows(a, b)).map_or(0, |at| at + 1);
    touches.rotate_left(cut);
    let mut path = BezPath::new();
    for run in touches.chunk_by(follows) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else { continue };
        let start = path.elements().is_empty();
        path.push(if start { PathEl::MoveTo(first.point) } else { PathEl::LineTo(first.point) });
        let whole = segments.get(first.segment).filter(|_| run.len() > 1);
        match whole.map(|segment| segment.subsegment(first.t()..last.t())) {
            // Each piece ends in the very point of the touch and not where cutting the curve has rounded to: so the
            // outline closes.
            Some(PathSeg::Line(_)) => path.line_to(last.point),
            Some(PathSeg::Quad(quad)) => path.quad_to(quad.p1, last.point),
            Some(PathSeg::Cubic(cubic)) => path.curve_to(cubic.p1, cubic.p2, last.point),
            None => {}
        }
    }
    if path.elements().is_empty() {
        return Region::empty();
    }
    path.close_path();
    Region::trusted(joined(&path))
}

/// Whether the band runs along one segment from one touch to the next.
fn follows(a: &Touch, b: &Touch) -> bool {
    a.segment == b.segment && b.step == a.step + 1
}

/// Where two segments meet, only one of the two touches is a corner of the hull: puts the other beside it.
fn completed(touches: Vec<Touch>, segments: &[PathSeg]) -> Vec<Touch> {
    let mut whole = Vec::with_capacity(touches.len());
    for (a, b) in touches.iter().zip(touches.iter().cycle().skip(1)) {
        whole.push(*a);
        let end = segments.get(a.segment).map(|segment| Touch::on(segment, a.segment, a.of, a.of));
        let start = segments.get(b.segment).map(|segment| Touch::on(segment, b.segment, 0, b.of));
        whole.extend(end.filter(|end| a.step + 1 == a.of && end.point == b.point && a.segment != b.segment));
        whole.extend(start.filter(|start| b.step == 1 && start.point == a.point && a.segment != b.segment));
    }
    whole
}

/// Places along every segment, so close that the chords between them stray by no more than the sample distance.
fn samples(segments: &[PathSeg]) -> Vec<Touch> {
    let mut touches = Vec::new();
    for (index, segment) in segments.iter().enumerate() {
        let steps = match segment {
            PathSeg::Line(_) => 1.0,
            PathSeg::Quad(quad) => steps(quad.p0.to_vec2() - 2.0 * quad.p1.to_vec2() + quad.p2.to_vec2(), 2.0),
            PathSeg::Cubic(cubic) => {
                let [p0, p1, p2, p3] = [cubic.p0, cubic.p1, cubic.p2, cubic.p3].map(Point::to_vec2);
                let (first, second) = (p0 - 2.0 * p1 + p2, p1 - 2.0 * p2 + p3);
                steps(if first.hypot() > second.hypot() { first } else { second }, 6.0)
            }
        };
        let steps = steps as usize;
        touches.extend((0..=steps).map(|step| Touch::on(segment, index, step, steps)));
    }
    touches
}

/// A chord over a part `h` of a curve strays by at most `h^2 / 8` of its second derivative.
fn steps(bend: Vec2, factor: f64) -> f64 {
    (factor * bend.hypot() / (8.0 * SAMPLE_MM)).sqrt().ceil().clamp(1.0, 1e5)
}

/// The corners of the convex hull, counter-clockwise (Andrew's monotone chain, 1979).
pub(crate) fn convex<T: Copy>(mut touches: Vec<T>, place: impl Fn(&T) -> Point) -> Vec<T> {
    let order = |a: &T, b: &T| place(a).x.total_cmp(&place(b).x).then(place(a).y.total_cmp(&place(b).y));
    touches.sort_by(order);
    let mut corners = chain(touches.iter(), &place);
    corners.pop();
    let mut upper = chain(touches.iter().rev(), &place);
    upper.pop();
    corners.extend(upper);
    corners
}

fn chain<'a, T: Copy + 'a>(touches: impl Iterator<Item = &'a T>, place: &impl Fn(&T) -> Point) -> Vec<T> {
    let mut kept: Vec<T> = Vec::new();
    for touch in touches {
        while let [.., a, b] = kept.as_slice()
            // Points on a straight side go as well, and so do points met twice.
            && (place(b) - place(a)).cross(place(touch) - place(b)) <= 0.0
        {
            kept.pop();
        }
        kept.push(*touch);
    }
    kept
}

/// The path without lines that lead nowhere: where one segment ends, the next begins.
fn joined(path: &BezPath) -> BezPath {
    let mut at = Point::ORIGIN;
    let somewhere = |element: &&PathEl| {
        let before = at;
        at = element.end_point().unwrap_or(at);
        !matches!(element, PathEl::LineTo(end) if end.distance(before) < 1e-9)
    };
    path.elements().iter().filter(somewhere).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{CubicBez, Line, QuadBez};

    /// How far the chords between samples stray from a curve at most, in millimetres.
    fn stray(curve: &PathSeg) -> f64 {
        let touches = samples(std::slice::from_ref(curve));
        let chords = touches.iter().zip(touches.iter().skip(1));
        let off = chords.map(|(a, b)| {
            let (along, length) = (b.point - a.point, a.point.distance(b.point));
            let between = (1..8).map(|at| curve.eval(a.t() + (b.t() - a.t()) * f64::from(at) / 8.0));
            between.map(|place| (place - a.point).cross(along).abs() / length).fold(0.0, f64::max)
        });
        off.fold(0.0, f64::max)
    }

    /// A chord over a part h of a parabola strays by h^2/8 of its second derivative, so that one sample less would be too few; a
    /// cubic that is the same parabola is sampled alike, either way round.
    #[test]
    fn curves_are_sampled_as_closely_as_need_be() {
        for (a, b, c) in [
            ((0.0, 0.0), (5.0, 9.0), (10.0, 0.0)),
            ((3.0, -2.0), (3.0, 7.0), (-8.0, 1.0)),
            ((0.0, 0.0), (0.1, 0.2), (0.2, 0.0)),
        ] {
            let quad = QuadBez::new(a, b, c);
            let segment = PathSeg::Quad(quad);
            let touches = samples(&[segment]);
            let steps = touches.len() - 1;
            let bend = 2.0 * (quad.p0.to_vec2() - 2.0 * quad.p1.to_vec2() + quad.p2.to_vec2()).hypot();
            #[allow(clippy::cast_precision_loss, reason = "few")]
            let strays = |steps: usize| bend / 8.0 / (steps * steps) as f64;
            assert!(strays(steps) <= SAMPLE_MM && strays(steps - 1) > SAMPLE_MM, "{steps}: {}", strays(steps));
            assert!(stray(&segment) <= SAMPLE_MM * 1.001);
            let raised = samples(&[PathSeg::Cubic(quad.raise())]).len() - 1;
            assert!(raised.abs_diff(steps) <= 1, "{raised} {steps}");
            assert!(touches[0].point == quad.p0 && touches[steps].point == quad.p2);
            assert!(
                touches.iter().zip(0..).all(|(touch, at)| touch.step == at && touch.of == steps && touch.segment == 0)
            );
            assert!((touches[steps / 2].t() - (steps / 2) as f64 / steps as f64).abs() < 1e-12);
        }
        for cubic in [
            CubicBez::new((0.0, 0.0), (9.0, 8.0), (9.5, 8.0), (10.0, 8.0)),
            CubicBez::new((0.0, 0.0), (8.0, 9.0), (-5.0, 9.0), (3.0, 0.0)),
        ] {
            let (there, back) =
                (PathSeg::Cubic(cubic), PathSeg::Cubic(CubicBez::new(cubic.p3, cubic.p2, cubic.p1, cubic.p0)));
            assert!(stray(&there) <= SAMPLE_MM && stray(&back) <= SAMPLE_MM);
            assert_eq!(samples(&[there]).len(), samples(&[back]).len());
            // The second derivative falls straight from end to end: no more samples than its larger end asks for.
            let ends = [
                cubic.p0.to_vec2() - 2.0 * cubic.p1.to_vec2() + cubic.p2.to_vec2(),
                cubic.p1.to_vec2() - 2.0 * cubic.p2.to_vec2() + cubic.p3.to_vec2(),
            ];
            let bend = 6.0 * ends[0].hypot().max(ends[1].hypot());
            let wanted = (bend / 8.0 / SAMPLE_MM).sqrt().ceil();
            assert_eq!(samples(&[there]).len() as f64, wanted + 1.0);
        }
        let lines =
            [PathSeg::Line(Line::new((0.0, 0.0), (5.0, 0.0))), PathSeg::Line(Line::new((5.0, 0.0), (5.0, 7.0)))];
        let touches = samples(&lines);
        assert_eq!(
            touches.iter().map(|it| (it.segment, it.step, it.of)).collect::<Vec<_>>(),
            [(0, 0, 1), (0, 1, 1), (1, 0, 1), (1, 1, 1)]
        );
        assert!(
            follows(&touches[0], &touches[1])
                && !follows(&touches[1], &touches[2])
                && !follows(&touches[1], &touches[0])
        );
    }

    /// The plain way: a corner of the hull has all points on one side of some line through it.
    #[test]
    fn chains_keep_the_corners_of_the_hull() {
        let mut rng = fastrand::Rng::with_seed(5);
        for count in [1_usize, 2, 3, 4, 9, 30] {
            let touches: Vec<Touch> = (0..count)
                .map(|at| Touch {
                    point: Point::new(rng.f64().mul_add(9.0, 0.0).round(), (rng.f64() * 9.0).round()),
                    segment: at,
                    step: 0,
                    of: 1,
                })
                .collect();
            let corners = convex(touches.clone(), |touch| touch.point);
            let next = corners.iter().cycle().skip(1);
            for (a, b) in corners.iter().zip(next) {
                assert!(touches.iter().all(|it| (b.point - a.point).cross(it.point - a.point) >= 0.0), "{count}");
            }
            let twice = corners.iter().zip(corners.iter().cycle().skip(1)).zip(corners.iter().cycle().skip(2));
            assert!(
                corners.len() < 3
                    || twice.into_iter().all(|((a, b), c)| (b.point - a.point).cross(c.point - b.point) > 0.0)
            );
        }
    }
}
