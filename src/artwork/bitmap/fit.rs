//! Cubic curves through a run of points (P. J. Schneider, "An Algorithm for Automatically Fitting Digitized Curves",
//! Graphics Gems, 1990): least squares for the handles' lengths, better parameters by Newton's method, and a cut
//! where one curve does not serve.

use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveDeriv, Point, Vec2};

/// Most points that one curve is fitted to.
const CHUNK: usize = 600;
/// Rounds of better parameters for one curve.
const ROUNDS: usize = 6;

/// Draws a run of points from where the path is, its first point, to its last.
///
/// Straight lines are drawn where all points lie within `straight` px of one; curves pass within `tolerance` px of all
/// points, and join smoothly. `reach` is how many px on either side give a direction. A closed run begins and
/// ends at one point, smoothly.
pub(super) fn draw(points: &[Point], closed: bool, tolerance: f64, reach: f64, path: &mut BezPath) {
    let [first, .., last] = points else { return };
    if !closed && is_straight(points, tolerance) {
        path.line_to(*last);
        return;
    }
    let run = PointRun { points, tolerance, reach };
    let (start, end) = if closed {
        let through = points.iter().rev().skip(1).take_while(|p| p.distance(*first) <= reach).last();
        let after = points.iter().skip(1).take_while(|p| p.distance(*first) <= reach).last();
        let heading = match (through, after) {
            (Some(before), Some(after)) => unit(*after - *before),
            _ => Vec2::ZERO,
        };
        (heading, -heading)
    } else {
        (run.leaving(0), run.arriving(points.len() - 1))
    };
    // A fit looks at all its points again and again, so a long run is cut first: its time grows with the length and
    // not with the square of it.
    let chunks = points.len().div_ceil(CHUNK);
    let mut waiting: Vec<(usize, usize, Vec2, Vec2)> = Vec::new();
    // The last first, for they are taken from the end of the list.
    for chunk in (0..chunks).rev() {
        let at = |part: usize| (points.len() - 1) * part / chunks;
        let (from, to) = (at(chunk), at(chunk + 1));
        let leave = if chunk == 0 { start } else { run.passing(from) };
        let arrive = if chunk + 1 == chunks { end } else { -run.passing(to) };
        waiting.push((from, to, leave, arrive));
    }
    while let Some((from, to, leave, arrive)) = waiting.pop() {
        match run.curve(from, to, leave, arrive) {
            Ok(curve) => path.curve_to(curve.p1, curve.p2, curve.p3),
            Err(cut) => {
                let heading = run.passing(cut);
                waiting.push((cut, to, heading, arrive));
                waiting.push((from, cut, leave, -heading));
            }
        }
    }
}

/// Whether all points lie near the straight line from the first to the last.
fn is_straight(points: &[Point], within: f64) -> bool {
    let [first, .., last] = points else { return true };
    let line = kurbo::Line::new(*first, *last);
    points.iter().all(|point| kurbo::ParamCurveNearest::nearest(&line, *point, 1e-6).distance_sq <= within * within)
}

fn unit(vector: Vec2) -> Vec2 {
    let length = vector.hypot();
    if length > 0.0 { vector / length } else { Vec2::ZERO }
}

struct PointRun<'a> {
    points: &'a [Point],
    tolerance: f64,
    reach: f64,
}

impl PointRun<'_> {
    fn point(&self, at: usize) -> Point {
        self.points.get(at).copied().unwrap_or_default()
    }

    /// The farthest point within reach of one, ahead.
    fn ahead(&self, at: usize) -> Point {
        let from = self.point(at);
        let rest = self.points.get(at + 1..).unwrap_or_default();
        let near = rest.iter().take_while(|point| point.distance(from) <= self.reach).last();
        *near.or(rest.first()).unwrap_or(&from)
    }

    /// The same, behind.
    fn behind(&self, at: usize) -> Point {
        let from = self.point(at);
        let before = self.points.get(..at).unwrap_or_default();
        let near = before.iter().rev().take_while(|point| point.distance(from) <= self.reach).last();
        *near.or(before.last()).unwrap_or(&from)
    }

    fn leaving(&self, at: usize) -> Vec2 {
        unit(self.ahead(at) - self.point(at))
    }

    fn arriving(&self, at: usize) -> Vec2 {
        unit(self.behind(at) - self.point(at))
    }

    fn passing(&self, at: usize) -> Vec2 {
        unit(self.ahead(at) - self.behind(at))
    }

    /// One curve from one point to another, or where to cut.
    fn curve(&self, from: usize, to: usize, leave: Vec2, arrive: Vec2) -> Result<CubicBez, usize> {
        let points = self.points.get(from..=to).unwrap_or_default();
        let (start, end) = (self.point(from), self.point(to));
        let third = start.distance(end) / 3.0;
        if points.len() <= 2 {
            return Ok(CubicBez::new(start, start + leave * third, end + arrive * third, end));
        }
        let mut places = chords(points);
        let mut worst = 0;
        for round in 0..ROUNDS {
            let curve = handles(points, &places, leave, arrive);
            let (far, at) = farthest(points, &places, curve);
            if far <= self.tolerance {
                return Ok(curve);
            }
            worst = at;
            // So far off, no better parameters help; it is cut at once.
            if round == 0 && far > 30.0 * self.tolerance {
                break;
            }
            places.iter_mut().zip(points).for_each(|(t, point)| *t = nearer(curve, *point, *t));
        }
        // Never near an end, or a single stray point would cost a cut for each point before it.
        let quarter = (points.len() / 4).max(1);
        Err(from + worst.clamp(quarter, (points.len() - 1).saturating_sub(quarter).max(1)))
    }
}

/// Share of the whole length at each point.
fn chords(points: &[Point]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut places = vec![0.0];
    for pair in points.windows(2) {
        if let [a, b] = pair {
            sum += a.distance(*b);
        }
        places.push(sum);
    }
    places.iter_mut().for_each(|place| *place /= sum.max(1e-12));
    places
}

/// The curve whose handles along the given headings come nearest to the points, by least squares.
fn handles(points: &[Point], places: &[f64], leave: Vec2, arrive: Vec2) -> CubicBez {
    let (start, end) = (points.first().copied().unwrap_or_default(), points.last().copied().unwrap_or_default());
    let (mut c00, mut c01, mut c11, mut x0, mut x1) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (t, point) in places.iter().zip(points) {
        let s = 1.0 - t;
        let (b0, b1, b2, b3) = (s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t);
        let (a0, a1) = (leave * b1, arrive * b2);
        let rest = point.to_vec2() - start.to_vec2() * (b0 + b1) - end.to_vec2() * (b2 + b3);
        c00 += a0.dot(a0);
        c01 += a0.dot(a1);
        c11 += a1.dot(a1);
        x0 += a0.dot(rest);
        x1 += a1.dot(rest);
    }
    let det = c00 * c11 - c01 * c01;
    let apart = start.distance(end);
    let (mut first, mut second) = ((x0 * c11 - x1 * c01) / det, (c00 * x1 - c01 * x0) / det);
    // Where the points do not determine the handles, or would throw them backwards or far away: a third of the chord.
    let sound = |length: f64| length.is_finite() && length > 1e-3 * apart && length < 2.0 * apart;
    if !(sound(first) && sound(second)) {
        (first, second) = (apart / 3.0, apart / 3.0);
    }
    CubicBez::new(start, start + leave * first, end + arrive * second, end)
}

/// The largest distance of a point from its place on the curve, and which point it is.
fn farthest(points: &[Point], places: &[f64], curve: CubicBez) -> (f64, usize) {
    let far = places.iter().zip(points).map(|(t, point)| curve.eval(*t).distance_squared(*point));
    let worst = far.enumerate().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0, 0.0));
    (worst.1.sqrt(), worst.0)
}

/// One step of Newton's method towards the nearest place on the curve.
fn nearer(curve: CubicBez, point: Point, t: f64) -> f64 {
    let first = curve.deriv();
    let second = first.deriv();
    let (off, slope, bend) = (curve.eval(t) - point, first.eval(t).to_vec2(), second.eval(t).to_vec2());
    let below = slope.dot(slope) + off.dot(bend);
    if below.abs() < 1e-12 { t } else { (t - off.dot(slope) / below).clamp(0.0, 1.0) }
}
