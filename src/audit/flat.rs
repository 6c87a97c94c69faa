//! Flattened copies of regions, arranged so that gaps between them are found fast.
//!
//! Segments are kept in bunches with a box each, and bunches in groups with a box each; what cannot be nearer than
//! the best found so far is never looked at. Flattening follows curves to within [`FINE_MM`], which is also the error of a gap.

use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, Point, Rect};

use crate::geometry::boxes::{self, gap_squared};
use crate::geometry::{Edge, Region, Trace};

/// How closely flattened copies follow their curves, in mm.
pub(crate) const FINE_MM: f64 = 5e-4;
/// Overlaps up to this depth are contact, not overlap, in mm: twice the flattening and the booleans' tolerance.
pub(crate) const TOUCH_MM: f64 = 2e-3;
/// Level lines on which an overlap is looked for where no vertex shows it.
const LINES: u32 = 16;
/// Segments in a bunch, and bunches in a group.
const BUNCH: usize = 8;

/// A gap between two shapes and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gap {
    /// In mm; negative where the shapes overlap, by how deep; infinite where one of them is empty.
    pub mm: f64,
    /// The nearest points, one on each shape. Where they overlap, the deepest point and its nearest way out.
    pub at: (Point, Point),
}

impl Gap {
    /// No gap to speak of: one of the shapes is empty.
    pub(crate) const NONE: Self = Self { mm: f64::INFINITY, at: (Point::ZERO, Point::ZERO) };

    /// The smaller of two.
    pub(crate) fn least(self, other: Self) -> Self {
        if other.mm < self.mm { other } else { self }
    }

    /// Whether the shapes overlap by more than contact.
    pub(crate) fn overlaps(self) -> bool {
        self.mm < -TOUCH_MM
    }
}

/// Length of the pieces of a scored line, in mm, and most of them in one straight stretch.
const PIECE_MM: f64 = 0.5;
const PIECES: f64 = 256.0;

/// A shape as straight segments.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flat {
    segments: Vec<Line>,
    /// The box of each segment, of each bunch of them, and of each group of bunches.
    own: Vec<Rect>,
    boxes: Vec<Rect>,
    groups: Vec<Rect>,
    /// One vertex of each contour.
    starts: Vec<Point>,
    /// Whether there is an inside; a scored line has none.
    filled: bool,
    bounds: Option<Rect>,
}

/// A few segments on end, with the box of each and the box round all.
#[derive(Clone, Copy)]
struct Bunch<'a> {
    /// Whether they are of closed contours, as those of filled shapes are.
    closed: bool,
    lines: &'a [Line],
    own: &'a [Rect],
    bounds: Rect,
}

fn bunches<'a>(lines: &'a [Line], own: &'a [Rect], boxes: &'a [Rect], closed: bool) -> impl Iterator<Item = Bunch<'a>> {
    let parts = lines.chunks(BUNCH).zip(own.chunks(BUNCH)).zip(boxes);
    parts.map(move |((lines, own), bounds)| Bunch { closed, lines, own, bounds: *bounds })
}

impl Flat {
    /// A region, to within [`FINE_MM`].
    pub(crate) fn of(region: &Region) -> Self {
        Self::from_path(region.path(), FINE_MM, true)
    }

    /// A region, to within `tolerance` mm.
    pub(crate) fn rough(region: &Region, tolerance: f64) -> Self {
        Self::from_path(region.path(), tolerance, true)
    }

    /// The boundary of a region alone, as a scored line.
    pub(crate) fn edge_of(region: &Region) -> Self {
        Self::from_path(region.path(), FINE_MM, false)
    }

    /// A scored line.
    pub(crate) fn of_trace(trace: &Trace) -> Self {
        Self::from_path(trace.path(), FINE_MM, false)
    }

    fn from_path(path: &BezPath, tolerance: f64, filled: bool) -> Self {
        let (mut segments, mut starts) = (Vec::new(), Vec::new());
        let (mut first, mut last) = (Point::ZERO, Point::ZERO);
        kurbo::flatten(path, tolerance, |element| {
            let next = match element {
                PathEl::MoveTo(point) => {
                    starts.push(point);
                    (first, last) = (point, point);
                    return;
                }
                PathEl::LineTo(point) | PathEl::QuadTo(_, point) | PathEl::CurveTo(_, _, point) => point,
                PathEl::ClosePath => first,
            };
            if next != last {
                let line = Line::new(last, next);
                let pieces = if filled { 1 } else { pieces_of(&line) };
                // The ends stay as they are to the last bit, since contours are told by where they join on.
                let inner = (1..pieces).map(|piece| line.eval(f64::from(piece) / f64::from(pieces)));
                let mut from = last;
                for to in inner.chain([next]) {
                    segments.push(Line::new(from, to));
                    from = to;
                }
            }
            last = next;
        });
        Self::assembled(segments, starts, filled)
    }

    fn assembled(segments: Vec<Line>, starts: Vec<Point>, filled: bool) -> Self {
        let own: Vec<Rect> = segments.iter().map(|line| boxes::between(line.p0, line.p1)).collect();
        let united = |boxes: &[Rect]| boxes.iter().copied().reduce(boxes::united);
        let boxes: Vec<Rect> = own.chunks(BUNCH).filter_map(united).collect();
        let groups: Vec<Rect> = boxes.chunks(BUNCH).filter_map(united).collect();
        let bounds = united(&groups);
        Self { segments, own, boxes, groups, starts, filled, bounds }
    }

    /// All bunches, in order.
    fn bunches(&self) -> impl Iterator<Item = Bunch<'_>> {
        bunches(&self.segments, &self.own, &self.boxes, self.filled)
    }

    /// The groups: the box of each, and its bunches.
    fn groups(&self) -> impl Iterator<Item = (Rect, impl Iterator<Item = Bunch<'_>>)> {
        let parts =
            self.segments.chunks(BUNCH * BUNCH).zip(self.own.chunks(BUNCH * BUNCH)).zip(self.boxes.chunks(BUNCH));
        self.groups
            .iter()
            .zip(parts)
            .map(|(group, ((lines, own), boxes))| (*group, bunches(lines, own, boxes, self.filled)))
    }

    /// The bunch whose box is nearest to a box: a good first guess.
    fn guess(&self, spot: Rect) -> Option<Bunch<'_>> {
        let (mut least, mut nearest) = (f64::INFINITY, None);
        for (group, bunches) in self.groups() {
            if gap_squared(spot, group) >= least {
                continue;
            }
            for bunch in bunches {
                let apart = gap_squared(spot, bunch.bounds);
                if apart < least {
                    (least, nearest) = (apart, Some(bunch));
                }
            }
        }
        nearest
    }

    /// Whether there is an inside.
    pub(crate) fn is_filled(&self) -> bool {
        self.filled
    }

    /// Whether nothing is there.
    pub(crate) fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// The least box that holds it.
    pub(crate) fn bounds(&self) -> Option<Rect> {
        self.bounds
    }

    /// Every vertex.
    pub(crate) fn vertices(&self) -> impl Iterator<Item = Point> {
        // On a closed contour a segment's end is where another begins.
        let open: &[Line] = if self.filled { &[] } else { &self.segments };
        self.segments.iter().map(|segment| segment.p0).chain(open.iter().map(|segment| segment.p1))
    }

    /// Every segment, contour by contour.
    pub(crate) fn segments(&self) -> &[Line] {
        &self.segments
    }

    /// Moved by a rigid map or scaled.
    pub(crate) fn moved(&self, map: Affine) -> Self {
        let segments = self.segments.iter().map(|line| map * *line).collect();
        Self::assembled(segments, self.starts.iter().map(|point| map * *point).collect(), self.filled)
    }

    /// Both shapes as one set of contours. Right for gaps where they do not overlap.
    pub(crate) fn joined(mut self, other: &Self) -> Self {
        self.segments.extend_from_slice(&other.segments);
        self.starts.extend_from_slice(&other.starts);
        Self::assembled(self.segments, self.starts, self.filled && other.filled)
    }

    /// Distance of the farthest point from `centre`, in mm; 0 where empty.
    pub(crate) fn reach(&self, centre: Point) -> f64 {
        self.vertices().map(|point| point.distance(centre)).fold(0.0, f64::max)
    }

    /// Least and greatest distance of its points from the turning axis, in mm; none where empty.
    pub(crate) fn annulus(&self) -> Option<(f64, f64)> {
        let nearest = if self.contains(Point::ZERO) { 0.0 } else { self.distance_to(Point::ZERO)?.0 };
        Some((nearest, self.reach(Point::ZERO)))
    }

    /// Whether the point is inside.
    pub(crate) fn contains(&self, point: Point) -> bool {
        if !self.filled || !self.bounds.is_some_and(|bounds| bounds.contains(point)) {
            return false;
        }
        let to_the_right = |bounds: Rect| bounds.y0 <= point.y && point.y <= bounds.y1 && point.x <= bounds.x1;
        let mut winding = 0;
        for (_, bunches) in self.groups().filter(|(group, _)| to_the_right(*group)) {
            let bunches = bunches.filter(|bunch| to_the_right(bunch.bounds));
            winding += bunches.flat_map(|bunch| bunch.lines).map(|line| Edge::from(line).passes(point)).sum::<i32>();
        }
        winding != 0
    }

    /// Distance from a point to the boundary and the nearest point there; none where empty.
    pub(crate) fn distance_to(&self, point: Point) -> Option<(f64, Point)> {
        let spot = boxes::between(point, point);
        let mut best = (f64::INFINITY, Point::ZERO);
        nearest_in(self.guess(spot)?.lines, point, &mut best);
        for (group, bunches) in self.groups() {
            if gap_squared(spot, group) >= best.0 {
                continue;
            }
            for bunch in bunches {
                if gap_squared(spot, bunch.bounds) < best.0 {
                    nearest_in(bunch.lines, point, &mut best);
                }
            }
        }
        Some((best.0.sqrt(), best.1))
    }

    /// Distance between the boundaries; 0 where they cross. Looks no farther than `within` mm.
    pub(crate) fn edge_gap(&self, other: &Self, within: f64) -> Gap {
        let limit = if within.is_finite() { within * within } else { f64::INFINITY };
        let mut best = (limit, Gap { mm: within, ..Gap::NONE });
        let (Some(bounds), Some(other_bounds)) = (self.bounds, other.bounds) else { return best.1 };
        if let Some((a, b)) = self.nearest_bunches(other).filter(|_| within.is_infinite()) {
            nearest_between(a, b, &mut best);
        }
        let near = other.bunches_near(bounds, best.0);
        for mine in self.bunches() {
            if gap_squared(mine.bounds, other_bounds) >= best.0 {
                continue;
            }
            for theirs in &near {
                if gap_squared(mine.bounds, theirs.bounds) < best.0 {
                    nearest_between(mine, *theirs, &mut best);
                }
            }
        }
        best.1
    }

    /// The bunches whose boxes are nearer to a box than this squared distance, in order.
    fn bunches_near(&self, spot: Rect, squared: f64) -> Vec<Bunch<'_>> {
        let groups = self.groups().filter(|(group, _)| gap_squared(spot, *group) < squared);
        let mut near = Vec::with_capacity(self.boxes.len());
        near.extend(groups.flat_map(|(_, bunches)| bunches).filter(|bunch| gap_squared(spot, bunch.bounds) < squared));
        near
    }

    /// A bunch near the other shape, and the other's bunch that is nearest to it: a good first guess.
    fn nearest_bunches<'a>(&'a self, other: &'a Self) -> Option<(Bunch<'a>, Bunch<'a>)> {
        let pairs = self.groups.iter().flat_map(|mine| other.groups.iter().map(move |theirs| (*mine, *theirs)));
        let far = |pair: &(Rect, Rect)| gap_squared(pair.0, pair.1);
        let (_, spot) = pairs.min_by(|a, b| far(a).total_cmp(&far(b)))?;
        // Each in turn the nearest to the other: soon a pair that no better one is near.
        let mine = self.guess(spot)?;
        let theirs = other.guess(mine.bounds)?;
        let mine = self.guess(theirs.bounds)?;
        Some((mine, other.guess(mine.bounds)?))
    }

    /// Gap between two shapes, negative where they overlap: then the depth to which this one stands in the other.
    pub(crate) fn gap(&self, other: &Self) -> Gap {
        if self.is_empty() || other.is_empty() {
            return Gap::NONE;
        }
        let edges = self.edge_gap(other, f64::INFINITY);
        if edges.mm > 0.0 && !self.meets_inside(other) {
            return edges;
        }
        self.depth_in(other)
    }

    /// Distance between two shapes in mm, `within` at most, or 0 where they touch or overlap, however deep.
    pub(crate) fn clear(&self, other: &Self, within: f64) -> f64 {
        if self.is_empty() || other.is_empty() {
            return within;
        }
        let edges = self.edge_gap(other, within).mm;
        if edges > 0.0 && self.meets_inside(other) { 0.0 } else { edges }
    }

    /// Whether a contour of one lies inside the other, given that no boundaries cross.
    fn meets_inside(&self, other: &Self) -> bool {
        self.starts.iter().any(|start| other.contains(*start)) || other.starts.iter().any(|start| self.contains(*start))
    }

    /// Whether the two come nearer than `mm` (0 or more) or overlap.
    pub(crate) fn closer_than(&self, other: &Self, mm: f64) -> bool {
        if self.is_empty() || other.is_empty() {
            return false;
        }
        let within = mm.max(1e-9);
        self.edge_gap(other, within).mm < within || self.meets_inside(other)
    }

    /// Whether the two overlap by more than `mm` (0 or more), as the vertices of either show it.
    pub(crate) fn deeper_than(&self, other: &Self, mm: f64) -> bool {
        let deep = |points: &Self, body: &Self| {
            let inside = points.vertices().filter(|point| body.contains(*point));
            inside.filter_map(|point| body.distance_to(point)).any(|(depth, _)| depth > mm)
        };
        self.closer_than(other, 0.0) && (deep(self, other) || deep(other, self))
    }

    /// How deep overlapping shapes stand in each other, as a negative gap.
    fn depth_in(&self, other: &Self) -> Gap {
        let deepest = |points: &Self, body: &Self| {
            let inside = points.vertices().filter(|point| body.contains(*point));
            inside
                .filter_map(|point| body.distance_to(point).map(|(mm, way_out)| Gap { mm: -mm, at: (point, way_out) }))
                .reduce(Gap::least)
        };
        let crossing = || Gap { mm: 0.0, at: self.edge_gap(other, f64::INFINITY).at };
        let depth = deepest(self, other).or_else(|| deepest(other, self)).unwrap_or_else(crossing);
        // Where edges run along each other the vertices show nothing: look between them.
        let depth = if depth.overlaps() { depth } else { self.shared(other).map_or(depth, |gap| depth.least(gap)) };
        // Boundaries that cross do overlap, however little of it is seen.
        Gap { mm: depth.mm.min(-1e-9), ..depth }
    }

    /// The deepest of the middles of the stretches that lie in both shapes, along a few level lines.
    fn shared(&self, other: &Self) -> Option<Gap> {
        let both = self.bounds?.intersect(other.bounds?);
        let lines = (0..LINES).map(|line| both.y0 + both.height() * (f64::from(line) + 0.5) / f64::from(LINES));
        let middles = lines.flat_map(|y| {
            let theirs = other.spans(y);
            self.spans(y).into_iter().flat_map(move |(from, to)| {
                let common = theirs.iter().map(move |(a, b)| (a.max(from), b.min(to))).filter(|(a, b)| a < b);
                common.map(|(a, b)| Point::new(f64::midpoint(a, b), y)).collect::<Vec<_>>()
            })
        });
        let depths = middles.filter_map(|at| other.distance_to(at).map(|(mm, out)| Gap { mm: -mm, at: (at, out) }));
        depths.reduce(Gap::least)
    }

    /// The stretches of a level line that lie inside, from left to right.
    fn spans(&self, y: f64) -> Vec<(f64, f64)> {
        if !self.filled {
            return Vec::new();
        }
        let crossed = self.segments.iter().filter(|line| (line.p0.y <= y) != (line.p1.y <= y));
        let mut crossings: Vec<(f64, i32)> = crossed
            .map(|line| {
                let along = (y - line.p0.y) / (line.p1.y - line.p0.y);
                (line.p0.x + along * (line.p1.x - line.p0.x), if line.p1.y > line.p0.y { 1 } else { -1 })
            })
            .collect();
        crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut spans, mut winding, mut from) = (Vec::new(), 0, 0.0);
        for (x, step) in crossings {
            if winding == 0 {
                from = x;
            }
            winding += step;
            if winding == 0 {
                spans.push((from, x));
            }
        }
        spans
    }

    /// Whether it lies in `hole`, no edge nearer to an edge than `mm` (0 or more).
    pub(crate) fn lies_clear_in(&self, hole: &Self, mm: f64) -> bool {
        let within = mm.max(1e-9);
        self.edge_gap(hole, within).mm >= within && self.starts.iter().all(|start| hole.contains(*start))
    }

    /// Room round this shape inside `hole`: least gap between the edges, or how far it sticks out, negative.
    pub(crate) fn room_in(&self, hole: &Self) -> Gap {
        if self.is_empty() {
            return Gap::NONE;
        }
        // Where no edges cross, each contour lies inside or outside as a whole.
        let edges = self.edge_gap(hole, f64::INFINITY);
        if edges.mm > 0.0 && self.starts.iter().all(|start| hole.contains(*start)) {
            return edges;
        }
        let outside = self.vertices().filter(|point| !hole.contains(*point));
        let sticking = outside
            .filter_map(|point| hole.distance_to(point).map(|(mm, way_in)| Gap { mm: -mm, at: (point, way_in) }))
            .reduce(Gap::least);
        match sticking {
            Some(gap) => gap,
            None => edges,
        }
    }
}

/// In how many pieces a scored line is taken, so that its vertices show how deep it stands in what it crosses.
fn pieces_of(line: &Line) -> u32 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a handful")]
    let pieces = ((line.p1 - line.p0).hypot() / PIECE_MM).ceil().clamp(1.0, PIECES) as u32;
    pieces
}

/// Nearest point of a segment.
pub(crate) fn nearest_on(segment: &Line, point: Point) -> Point {
    let along = segment.p1 - segment.p0;
    let length = along.hypot2();
    let t = if length > 0.0 { ((point - segment.p0).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
    segment.p0 + along * t
}

fn nearest_in(bunch: &[Line], point: Point, best: &mut (f64, Point)) {
    for segment in bunch {
        let near = nearest_on(segment, point);
        let squared = near.distance_squared(point);
        if squared < best.0 {
            *best = (squared, near);
        }
    }
}

fn nearest_between(mine: Bunch<'_>, theirs: Bunch<'_>, best: &mut (f64, Gap)) {
    // Bunches that are near one another mostly are so at an end: few of their segments need comparing.
    let mut near = [(Line::new(Point::ZERO, Point::ZERO), Rect::ZERO); BUNCH];
    let those = theirs.lines.iter().zip(theirs.own).filter(|(_, own)| gap_squared(mine.bounds, **own) < best.0);
    let count = near.iter_mut().zip(those).map(|(place, (line, own))| *place = (*line, *own)).count();
    for (a, bounds) in mine.lines.iter().zip(mine.own) {
        if gap_squared(*bounds, theirs.bounds) >= best.0 {
            continue;
        }
        for (b, their_bounds) in near.iter().take(count) {
            let apart = gap_squared(*bounds, *their_bounds);
            if apart >= best.0 {
                continue;
            }
            if let Some(point) = (apart == 0.0).then(|| crossing(a, b)).flatten() {
                *best = (0.0, Gap { mm: 0.0, at: (point, point) });
                return;
            }
            let mut improve = |at: (Point, Point)| {
                let squared = at.0.distance_squared(at.1);
                if squared < best.0 {
                    *best = (squared, Gap { mm: squared.sqrt(), at });
                }
            };
            improve((a.p0, nearest_on(b, a.p0)));
            improve((nearest_on(a, b.p0), b.p0));
            // On a closed contour a segment's end is where another begins.
            if !mine.closed {
                improve((a.p1, nearest_on(b, a.p1)));
            }
            if !theirs.closed {
                improve((nearest_on(a, b.p1), b.p1));
            }
        }
    }
}

/// Where two segments cross; none where they only run beside each other.
fn crossing(a: &Line, b: &Line) -> Option<Point> {
    let (along, across) = (a.p1 - a.p0, b.p1 - b.p0);
    let scale = along.cross(across);
    if scale == 0.0 {
        return None;
    }
    let t = (b.p0 - a.p0).cross(across) / scale;
    let u = (b.p0 - a.p0).cross(along) / scale;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a.p0 + along * t)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::circle;

    fn disc(radius: f64, x: f64) -> Flat {
        Flat::of(&circle(radius).unwrap()).moved(Affine::translate((x, 0.0)))
    }

    #[test]
    fn gaps_between_discs_follow_the_closed_form() {
        assert!((disc(5.0, 0.0).gap(&disc(3.0, 10.0)).mm - 2.0).abs() < 2.0 * FINE_MM);
        // 1 mm of overlap: the deepest vertex of the small disc stands 1 mm inside the large one.
        assert!((disc(3.0, 7.0).gap(&disc(5.0, 0.0)).mm + 1.0).abs() < 0.01);
        assert!((disc(2.0, 1.0).room_in(&disc(5.0, 0.0)).mm - 2.0).abs() < 2.0 * FINE_MM);
        assert!((disc(2.0, 4.0).room_in(&disc(5.0, 0.0)).mm + 1.0).abs() < 0.01);
        assert!(disc(1.0, 0.0).gap(&disc(5.0, 0.0)).overlaps());
    }

    #[test]
    fn shapes_with_common_edges_overlap() {
        assert!((disc(3.0, 0.0).gap(&disc(3.0, 0.0)).mm + 3.0).abs() < 0.25);
        let bar = |x: f64| {
            let rect = Rect::from_center_size((x, 0.0), (4.0, 2.0));
            let path = kurbo::Shape::to_path(&rect, 1e-4);
            Flat::of(&Region::from_path(&path, crate::geometry::Rule::NonZero).unwrap())
        };
        assert!(bar(0.0).gap(&bar(2.0)).overlaps());
        assert!(!bar(0.0).gap(&bar(4.0)).overlaps());
    }

    /// Rings of short straight edges, so many of them that bunches and groups are passed over.
    fn lobed(lobes: u32, radius: f64, at: (f64, f64)) -> Flat {
        let corners = 40 * lobes;
        let mut path = BezPath::new();
        for corner in 0..corners {
            let turned = std::f64::consts::TAU * f64::from(corner) / f64::from(corners);
            let reach = radius * (1.0 + 0.3 * (turned * f64::from(lobes)).cos());
            let corner = Point::new(at.0 + reach * turned.cos(), at.1 + reach * turned.sin());
            if path.elements().is_empty() { path.move_to(corner) } else { path.line_to(corner) }
        }
        path.close_path();
        Flat::of(&Region::trusted(path))
    }

    /// The plain way, edge by edge: the foot of the perpendicular where it falls on the edge, else the nearer end.
    fn off(line: &Line, point: Point) -> f64 {
        let along = line.p1 - line.p0;
        if (point - line.p0).dot(along) > 0.0 && (point - line.p1).dot(along) < 0.0 {
            (point - line.p0).cross(along).abs() / along.hypot()
        } else {
            point.distance(line.p0).min(point.distance(line.p1))
        }
    }

    fn off_all(flat: &Flat, point: Point) -> f64 {
        flat.segments.iter().map(|line| off(line, point)).fold(f64::INFINITY, f64::min)
    }

    /// Whether a ray to the right leaves a shape that has one ring.
    fn is_in(flat: &Flat, point: Point) -> bool {
        let crossed = flat.segments.iter().filter(|line| (line.p0.y > point.y) != (line.p1.y > point.y));
        let right = crossed.filter(|line| {
            line.p0.x + (point.y - line.p0.y) / (line.p1.y - line.p0.y) * (line.p1.x - line.p0.x) > point.x
        });
        right.count() % 2 == 1
    }

    /// Least distance of two rings by their corners alone, which is the distance unless edges cross.
    fn off_each_other(a: &Flat, b: &Flat) -> f64 {
        let one_way = |from: &Flat, to: &Flat| from.vertices().map(|at| off_all(to, at)).fold(f64::INFINITY, f64::min);
        one_way(a, b).min(one_way(b, a))
    }

    proptest::proptest! {
        #![proptest_config(crate::drawn(60))]

        #[test]
        fn places_lie_as_trying_every_edge_says(
            lobes in 1u32..12, x in -15.0..15.0f64, y in -15.0..15.0f64, whole in 0u32..4,
        ) {
            let flat = lobed(lobes, 8.0, (0.0, 0.0));
            // Every fourth place is level with a corner.
            let y = if whole == 0 { flat.segments[(100.0 + 6.0 * x) as usize % flat.segments.len()].p0.y } else { y };
            let place = Point::new(x, y);
            let (mm, at) = flat.distance_to(place).unwrap();
            let all = off_all(&flat, place);
            proptest::prop_assert!((mm - all).abs() < 1e-9 && (at.distance(place) - all).abs() < 1e-9);
            proptest::prop_assert!(off_all(&flat, at) < 1e-9);
            proptest::prop_assert!(all < 1e-9 || flat.contains(place) == is_in(&flat, place));
        }

        #[test]
        fn rings_lie_as_trying_every_pair_says(
            (lobes, other) in (1u32..9, 1u32..9), away in 0.0..26.0f64, turned in 0.0..6.2f64, small in 2.0..9.0f64,
        ) {
            let (a, b) = (lobed(lobes, 8.0, (0.0, 0.0)), lobed(other, small, (away * turned.cos(), away * turned.sin())));
            let crossing = a.segments.iter().any(|one| b.segments.iter().any(|two| crossing(one, two).is_some()));
            let apart = if crossing { 0.0 } else { off_each_other(&a, &b) };
            let inside = is_in(&a, b.starts[0]) || is_in(&b, a.starts[0]);
            let edges = a.edge_gap(&b, f64::INFINITY);
            proptest::prop_assert!((edges.mm - apart).abs() < 1e-9);
            proptest::prop_assert!(off_all(&a, edges.at.0) < 1e-9 && off_all(&b, edges.at.1) < 1e-9);
            proptest::prop_assert!((edges.at.0.distance(edges.at.1) - apart).abs() < 1e-9);
            for within in [0.4 * apart, 1.01 * apart + 1e-6, 3.0 * apart + 1.0] {
                proptest::prop_assert!((a.edge_gap(&b, within).mm - apart.min(within)).abs() < 1e-9);
                let clear = if inside && !crossing && apart < within { 0.0 } else { apart.min(within) };
                let clear = if inside { 0.0 } else { clear };
                proptest::prop_assert!((a.clear(&b, within) - clear).abs() < 1e-9);
                let near = crossing || inside || apart < within;
                proptest::prop_assert_eq!(a.closer_than(&b, within), near);
                let lies_in = !crossing && apart >= within && is_in(&b, a.starts[0]);
                proptest::prop_assert_eq!(a.lies_clear_in(&b, within), lies_in);
            }
            let depth = |points: &Flat, body: &Flat| {
                points.vertices().filter(|at| is_in(body, *at)).map(|at| off_all(body, at)).fold(0.0, f64::max)
            };
            let gap = a.gap(&b);
            if crossing || inside {
                let stands = if depth(&a, &b) > 0.0 { depth(&a, &b) } else { depth(&b, &a) };
                proptest::prop_assert!(gap.mm < 0.0 && -gap.mm > stands - 1e-9, "{} {stands}", gap.mm);
                let deepest = depth(&a, &b).max(depth(&b, &a));
                proptest::prop_assert!(!a.deeper_than(&b, deepest + 1e-6));
                proptest::prop_assert!(deepest < 1e-3 || a.deeper_than(&b, deepest - 1e-6));
            } else {
                proptest::prop_assert!((gap.mm - apart).abs() < 1e-9 && !a.deeper_than(&b, 0.0));
            }
            let out = a.vertices().filter(|at| !is_in(&b, *at)).map(|at| off_all(&b, at)).fold(0.0, f64::max);
            let room = a.room_in(&b);
            let wanted = if out > 0.0 { -out } else { apart };
            proptest::prop_assert!((room.mm - wanted).abs() < 1e-9, "{} {wanted}", room.mm);
            proptest::prop_assert!((room.at.0.distance(room.at.1) - wanted.abs()).abs() < 1e-9);
        }
    }

    #[test]
    fn level_lines_cross_what_lies_inside() {
        // A frame of 8 by 6 mm with a window of 4 by 2 mm in it, a corner of the frame on one of the lines.
        let outer = crate::geometry::shapes::rectangle(8.0, 6.0, 0.0).unwrap();
        let frame = outer.difference(&crate::geometry::shapes::rectangle(4.0, 2.0, 0.0).unwrap());
        let flat = Flat::of(&frame);
        let near = |found: Vec<(f64, f64)>, wanted: &[(f64, f64)]| {
            assert_eq!(found.len(), wanted.len(), "{found:?}");
            let same = |(a, b): (&(f64, f64), &(f64, f64))| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9;
            assert!(found.iter().zip(wanted).all(same), "{found:?}");
        };
        near(flat.spans(0.5), &[(-4.0, -2.0), (2.0, 4.0)]);
        near(flat.spans(2.5), &[(-4.0, 4.0)]);
        near(flat.spans(3.5), &[]);
        assert!(Flat::edge_of(&frame).spans(0.5).is_empty(), "a line has no inside");
        let bar = disc(3.0, 0.0);
        let half = (9.0_f64 - 1.0).sqrt();
        let [(from, to)] = bar.spans(1.0)[..] else { panic!("one stretch") };
        assert!((from + half).abs() < 1e-3 && (to - half).abs() < 1e-3);
    }

    #[test]
    fn two_segments_cross_where_both_run() {
        let line = |x: f64, y: f64, u: f64, v: f64| Line::new((x, y), (u, v));
        let level = line(0.0, 1.0, 4.0, 1.0);
        assert_eq!(crossing(&level, &line(1.0, 0.0, 3.0, 2.0)), Some(Point::new(2.0, 1.0)));
        assert_eq!(crossing(&level, &line(4.0, 0.0, 4.0, 1.0)), Some(Point::new(4.0, 1.0)), "ends count");
        assert_eq!(crossing(&level, &line(1.0, 0.0, 2.0, 0.9)), None);
        assert_eq!(crossing(&level, &line(5.0, 0.0, 5.0, 2.0)), None);
        assert_eq!(crossing(&level, &line(-1.0, 0.0, -1.0, 2.0)), None);
        assert_eq!(crossing(&level, &line(0.0, 2.0, 4.0, 2.0)), None, "parallel");
        assert_eq!(crossing(&level, &line(1.0, 1.0, 9.0, 1.0)), None, "one along the other");
    }

    /// A scored line of 3.2 mm is taken in pieces of half a millimetre at most, 256 of them at the most.
    #[test]
    fn scored_lines_are_taken_in_pieces() {
        let scored = |length: f64| {
            let mut path = BezPath::new();
            path.move_to((1.0, 0.0));
            path.line_to((1.0 + length, 0.0));
            Flat::of_trace(&Trace::from_path(path))
        };
        let line = scored(3.2);
        assert_eq!(line.segments().len(), 7);
        assert!(line.segments().windows(2).all(|two| two[0].p1 == two[1].p0));
        assert_eq!((line.segments()[0].p0.x, line.segments()[6].p1.x), (1.0, 4.2));
        assert!(line.segments().iter().all(|piece| ((piece.p1 - piece.p0).hypot() - 3.2 / 7.0).abs() < 1e-9));
        assert_eq!((scored(1e3).segments().len(), scored(0.2).segments().len()), (256, 1));
        assert!(!line.contains(Point::new(2.0, 0.0)));
        let both = line.joined(&disc(1.0, 9.0));
        assert!(!both.contains(Point::new(9.0, 0.0)), "a line and a disc have no inside together");
        assert!(disc(1.0, 0.0).joined(&disc(1.0, 9.0)).contains(Point::new(9.0, 0.0)));
    }

    #[test]
    fn a_band_round_the_axis_begins_at_nothing_where_the_axis_is_covered() {
        let near = |found: Option<(f64, f64)>, wanted: (f64, f64)| {
            let found = found.unwrap();
            assert!((found.0 - wanted.0).abs() < 1e-3 && (found.1 - wanted.1).abs() < 1e-3, "{found:?}");
        };
        near(disc(2.0, 5.0).annulus(), (3.0, 7.0));
        near(disc(2.0, 1.0).annulus(), (0.0, 3.0));
        assert_eq!((Flat::default().annulus(), Flat::default().reach(Point::ZERO)), (None, 0.0));
        assert!((disc(2.0, 5.0).reach(Point::new(5.0, 3.0)) - 5.0).abs() < 1e-3);
    }

    #[test]
    fn an_empty_shape_is_far_from_everything() {
        assert_eq!(Flat::default().gap(&disc(1.0, 0.0)).mm, f64::INFINITY);
        assert!(!Flat::default().contains(Point::ZERO));
        assert_eq!(disc(1.0, 0.0).clear(&Flat::default(), 7.0), 7.0);
        assert!(!disc(1.0, 0.0).closer_than(&Flat::default(), 1e9));
        assert_eq!(Flat::default().room_in(&disc(1.0, 0.0)).mm, f64::INFINITY);
    }
}
