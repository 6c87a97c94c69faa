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
    let mut touches = completed(convex(samples(&segments)), &segments);
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
fn convex(mut touches: Vec<Touch>) -> Vec<Touch> {
    let order = |a: &Touch, b: &Touch| a.point.x.total_cmp(&b.point.x).then(a.point.y.total_cmp(&b.point.y));
    touches.sort_by(order);
    let mut corners = chain(touches.iter());
    corners.pop();
    let mut upper = chain(touches.iter().rev());
    upper.pop();
    corners.extend(upper);
    corners
}

fn chain<'a>(touches: impl Iterator<Item = &'a Touch>) -> Vec<Touch> {
    let mut kept: Vec<Touch> = Vec::new();
    for touch in touches {
        while let [.., a, b] = kept.as_slice()
            && (b.point - a.point).cross(touch.point - b.point) <= 0.0
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
