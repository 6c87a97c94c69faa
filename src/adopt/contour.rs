//! Lines of a drawing joined to closed contours, and points on their edges to fit shapes to.

use kurbo::{BezPath, ParamCurve as _, ParamCurveArclen as _, PathEl, PathSeg, Point, Rect, Shape as _};

use crate::work::spend_on;

/// Ends this near to each other are joined, in mm.
pub(super) const GAP: f64 = 0.1;

/// Contours this near to each other everywhere are one, drawn twice, in mm.
const SAME: f64 = 0.05;

/// Steps of work that each piece or element takes that is looked at.
pub(super) const STEPS: u64 = 50;

/// Vertices from which on the noise of an edge can be told.
const VERTICES: usize = 60;

/// A closed contour.
#[derive(Clone, Debug)]
pub(super) struct Contour {
    /// Counter-clockwise, in mm, y up.
    pub(super) path: BezPath,
    /// Points on its edge.
    pub(super) points: Vec<Point>,
    /// The standard deviation of its vertices about a smooth edge, in mm, where there are enough of them.
    pub(super) noise: Option<f64>,
    /// How many points it was drawn by: those between them say no more.
    pub(super) vertices: usize,
    pub(super) area: f64,
    pub(super) bounds: Rect,
}

/// What lines make, and what became of the rest.
#[derive(Clone, Debug, Default)]
pub(super) struct Joined {
    pub(super) closed: Vec<BezPath>,
    /// What has ends, each further apart than [`GAP`].
    pub(super) open: Vec<BezPath>,
    /// How many were drawn twice.
    pub(super) doubled: usize,
    /// The widest gap that was closed, in mm.
    pub(super) widest: f64,
}

/// The pieces of a path that begin with a move, each by itself.
pub(super) fn pieces(path: &BezPath) -> Vec<BezPath> {
    let elements = path.elements();
    let runs = elements.chunk_by(|_, next| !matches!(next, PathEl::MoveTo(_)));
    runs.filter(|run| run.len() > 1).map(|run| run.iter().copied().collect()).collect()
}

fn ends(piece: &BezPath) -> Option<(Point, Point)> {
    let first = piece.elements().first()?.end_point()?;
    let last = piece.elements().iter().rev().find_map(PathEl::end_point)?;
    Some((first, last))
}

fn is_closed(piece: &BezPath) -> bool {
    matches!(piece.elements().last(), Some(PathEl::ClosePath))
}

fn closed(mut piece: BezPath) -> BezPath {
    if !is_closed(&piece) {
        piece.close_path();
    }
    piece
}

/// Joins what is open end to end, after what was drawn twice is dropped: else both of a pair would join each other.
pub(super) fn joined(drawn: Vec<BezPath>) -> Joined {
    let mut joined = Joined::default();
    let mut open: Vec<BezPath> = Vec::new();
    for piece in drawn {
        let Some((first, last)) = ends(&piece) else { continue };
        let long = piece.perimeter(0.01);
        spend_on(open.len() + piece.elements().len(), STEPS);
        if is_closed(&piece) || (first.distance(last) <= GAP && long > 4.0 * GAP) {
            joined.widest = joined.widest.max(if is_closed(&piece) { 0.0 } else { first.distance(last) });
            joined.closed.push(closed(piece));
        } else if open.iter().any(|other| is_same_line(other, &piece)) {
            joined.doubled += 1;
        } else if long > GAP / 10.0 {
            open.push(piece);
        }
    }
    while let Some(mut chain) = open.pop() {
        while let Some((first, last)) = ends(&chain) {
            spend_on(open.len() + chain.elements().len(), STEPS);
            if first.distance(last) <= GAP && chain.elements().len() > 2 {
                joined.widest = joined.widest.max(first.distance(last));
                joined.closed.push(closed(chain));
                break;
            }
            let Some((at, gap, is_ahead)) = nearest(&open, last).filter(|(_, gap, _)| *gap <= GAP) else {
                joined.open.push(chain);
                break;
            };
            joined.widest = joined.widest.max(gap);
            let next = open.swap_remove(at);
            let next = if is_ahead { next } else { next.reverse_subpaths() };
            chain.extend(next.elements().iter().skip(1).copied());
        }
    }
    let (kept, doubled) = unlike(joined.closed);
    (joined.closed, joined.doubled) = (kept, joined.doubled + doubled);
    joined
}

/// The open piece that begins or ends nearest to a point, how near, and whether it begins there.
fn nearest(open: &[BezPath], to: Point) -> Option<(usize, f64, bool)> {
    let near = open.iter().enumerate().filter_map(|(at, piece)| {
        let (first, last) = ends(piece)?;
        let (ahead, back) = (first.distance(to), last.distance(to));
        Some((at, ahead.min(back), ahead <= back))
    });
    near.min_by(|a, b| a.1.total_cmp(&b.1))
}

fn is_same_line(one: &BezPath, other: &BezPath) -> bool {
    let (Some((a, b)), Some((c, d))) = (ends(one), ends(other)) else { return false };
    let alike = (a.distance(c) <= GAP && b.distance(d) <= GAP) || (a.distance(d) <= GAP && b.distance(c) <= GAP);
    let (this, that) = (one.bounding_box(), other.bounding_box());
    // Two halves of a square have the same ends and the same box.
    let is_one_way = mean(one).distance(mean(other)) <= GAP;
    alike && is_one_way && is_near(this, that, GAP) && (one.perimeter(0.01) - other.perimeter(0.01)).abs() <= 2.0 * GAP
}

/// The mean of the points that a path is drawn by.
fn mean(path: &BezPath) -> Point {
    let points = || path.elements().iter().filter_map(PathEl::end_point);
    let sum = points().fold(kurbo::Vec2::ZERO, |sum, point| sum + point.to_vec2());
    (sum / points().count().max(1) as f64).to_point()
}

fn is_near(one: Rect, other: Rect, within: f64) -> bool {
    let sides = [one.x0 - other.x0, one.y0 - other.y0, one.x1 - other.x1, one.y1 - other.y1];
    sides.iter().all(|side| side.abs() <= within)
}

/// Closed contours without those that were drawn before.
fn unlike(all: Vec<BezPath>) -> (Vec<BezPath>, usize) {
    let mut kept: Vec<(BezPath, Rect, f64)> = Vec::new();
    let whole = all.len();
    for path in all {
        let (bounds, area) = (path.bounding_box(), path.area().abs());
        spend_on(kept.len() + path.elements().len(), STEPS);
        let is_drawn = kept.iter().any(|(_, other, its)| {
            is_near(bounds, *other, SAME) && (area - its).abs() <= SAME * (bounds.width() + bounds.height())
        });
        if !is_drawn {
            kept.push((path, bounds, area));
        }
    }
    let doubled = whole - kept.len();
    (kept.into_iter().map(|(path, _, _)| path).collect(), doubled)
}

impl Contour {
    /// A closed path, and points on it; none where it encloses nothing.
    pub(super) fn of(path: BezPath) -> Option<Self> {
        spend_on(path.elements().len(), 20 * STEPS);
        let area = path.area();
        let path = if area < 0.0 { path.reverse_subpaths() } else { path };
        if !path.is_finite() || area.abs() < 1e-3 {
            return None;
        }
        let segments: Vec<PathSeg> = path.segments().filter(|one| one.arclen(1e-3) > 1e-6).collect();
        let is_polyline = segments.iter().all(|one| matches!(one, PathSeg::Line(_)));
        let points = if is_polyline { of_polyline(&segments) } else { of_curves(&segments) };
        let noise = if is_polyline { noise(&segments) } else { None };
        let bounds = path.bounding_box();
        let vertices = if is_polyline { segments.len() } else { points.len() };
        Some(Self { path, points, noise, vertices, area: area.abs(), bounds })
    }

    /// The middle of its area.
    pub(super) fn middle(&self) -> Point {
        let mut sum = kurbo::Vec2::ZERO;
        let mut twice = 0.0;
        let from = self.bounds.center();
        for (a, b) in self.around() {
            let (a, b) = (a - from, b - from);
            let cross = a.cross(b);
            twice += cross;
            sum += (a + b) * (cross / 3.0);
        }
        if twice.abs() < 1e-12 { from } else { from + sum / twice }
    }

    /// Each of its points with the next, all the way round.
    pub(super) fn around(&self) -> impl Iterator<Item = (Point, Point)> {
        let next = self.points.iter().skip(1).chain(self.points.first());
        self.points.iter().copied().zip(next.copied())
    }

    /// Whether a point lies within.
    pub(super) fn holds(&self, point: Point) -> bool {
        spend_on(self.path.elements().len(), STEPS);
        self.bounds.contains(point) && self.path.winding(point) != 0
    }
}

/// Vertices lie on the edge that was meant, the chords between them do not, unless they are few or long.
fn of_polyline(segments: &[PathSeg]) -> Vec<Point> {
    let mut long: Vec<f64> = segments.iter().map(|one| one.arclen(1e-3)).collect();
    long.sort_by(f64::total_cmp);
    let usual = long.get(long.len() / 2).copied().unwrap_or(0.0);
    let is_coarse = segments.len() < VERTICES;
    let mut points = Vec::new();
    for one in segments {
        let longer = one.arclen(1e-3) / usual.max(1e-9);
        let parts = if is_coarse {
            8.0
        } else if longer > 5.0 {
            longer.min(30.0).floor()
        } else {
            1.0
        };
        points.extend((0..parts as usize).map(|part| one.eval(part as f64 / parts)));
    }
    points
}

fn of_curves(segments: &[PathSeg]) -> Vec<Point> {
    const POINTS: f64 = 300.0;
    let whole: f64 = segments.iter().map(|one| one.arclen(1e-3)).sum();
    let mut points = Vec::new();
    for one in segments {
        let parts = (POINTS * one.arclen(1e-3) / whole).round().clamp(4.0, 80.0);
        points.extend((0..parts as usize).map(|part| one.eval(part as f64 / parts)));
    }
    points
}

/// The third differences of vertices on a smooth edge are those of their noise, 20 times its square (1, 3, 3, 1 squared); its
/// median is told from them as if they were normal, so that corners count for nothing.
fn noise(segments: &[PathSeg]) -> Option<f64> {
    if segments.len() < VERTICES {
        return None;
    }
    let points: Vec<Point> = segments.iter().map(|one| one.eval(0.0)).collect();
    let mut away: Vec<f64> = points
        .windows(4)
        .filter_map(|four| match four {
            [a, b, c, d] => {
                let third = (d.to_vec2() - a.to_vec2()) + (b.to_vec2() - c.to_vec2()) * 3.0;
                Some([third.x.abs(), third.y.abs()])
            }
            _ => None,
        })
        .flatten()
        .collect();
    away.sort_by(f64::total_cmp);
    away.get(away.len() / 2).map(|median| median / (0.6745 * 20.0_f64.sqrt()))
}
