//! The straight edges of a flattened outline in a tree of boxes, so that the nearest is found without trying all.

use kurbo::{BezPath, Line, Point, Rect};

use super::boxes;
use super::flat::rings;

/// Edges in one leaf of the tree.
const LEAF: usize = 8;

/// A straight piece of an outline, run along with the inside on the left.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) from: Point,
    pub(crate) to: Point,
}

/// Two points and how far apart they are, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// How far apart, in mm.
    pub distance: f64,
    /// A point of the first outline.
    pub from: Point,
    /// A point of the second.
    pub to: Point,
}

/// Edges in a tree of boxes.
pub(crate) struct Edges {
    edges: Vec<Edge>,
    /// Every box, each before those that lie in it: see [`Branch::halves`].
    boxes: Vec<Boxed>,
    bounds: Rect,
}

/// A box of the tree, and how many boxes its left half takes: none where it is not halved.
#[derive(Clone, Copy)]
struct Boxed {
    bounds: Rect,
    left: usize,
}

impl Edges {
    /// The edges of a path flattened to within `tolerance` mm; none where the path is empty.
    pub(crate) fn of(path: &BezPath, tolerance: f64) -> Option<Self> {
        Self::grown(&edges_of(path, tolerance))
    }

    /// The tree of these edges; none where there are none. Neighbours along an outline lie near one another, so
    /// halving the run is as good as sorting.
    pub(super) fn grown(edges: &[Edge]) -> Option<Self> {
        let mut boxes = Vec::with_capacity(4 * edges.len() / LEAF + 1);
        let bounds = grow(edges, &mut boxes)?;
        Some(Self { edges: edges.to_vec(), boxes, bounds })
    }

    /// All of them, contour by contour.
    pub(crate) fn all(&self) -> &[Edge] {
        &self.edges
    }

    fn root(&self) -> Branch<'_> {
        Branch { bounds: self.bounds, boxes: &self.boxes, edges: &self.edges }
    }

    /// The nearest point of the edges, where one is nearer than `best` says.
    pub(super) fn nearest_to(&self, point: Point, best: &mut Nearest) {
        self.root().nearest_to(point, best);
    }

    /// Whether an edge comes within `reach` mm of a point.
    pub(crate) fn within(&self, reach: f64, point: Point) -> bool {
        reach >= 0.0 && self.root().within(reach * reach, point)
    }

    /// Calls back with every edge whose box comes within `reach` mm of a point, and some that lie beside those.
    pub(crate) fn near(&self, point: Point, reach: f64, found: &mut dyn FnMut(&Edge)) {
        self.root().near(boxes::between(point, point), reach * reach, found);
    }

    /// Whether the contours go round a point, on the whole: by the nonzero rule.
    pub(crate) fn surround(&self, point: Point) -> bool {
        self.root().winding(point) != 0
    }

    /// How far the point is from the edges, in mm.
    pub(crate) fn distance_to(&self, point: Point) -> f64 {
        let mut best = Nearest::FAR;
        self.nearest_to(point, &mut best);
        best.distance
    }

    /// The nearest pair of points of the two, where nearer than `best` says; within `slack` mm of the least.
    pub(super) fn nearest_between(&self, other: &Self, slack: f64, best: &mut Nearest) {
        self.root().nearest_between(other.root(), slack, best);
    }

    /// Calls back with every pair of edges whose boxes come within `reach` mm of one another.
    pub(super) fn pairs_within(&self, other: &Self, reach: f64, found: &mut dyn FnMut(&Edge, &Edge)) {
        self.root().pairs_within(other.root(), reach * reach, found);
    }
}

/// The box round these edges, after it and those that lie in it were put among the others.
fn grow(edges: &[Edge], boxes: &mut Vec<Boxed>) -> Option<Rect> {
    let at = boxes.len();
    if edges.len() <= LEAF {
        let bounds = edges.iter().map(|edge| boxes::between(edge.from, edge.to)).reduce(boxes::united)?;
        boxes.push(Boxed { bounds, left: 0 });
        return Some(bounds);
    }
    boxes.push(Boxed { bounds: Rect::ZERO, left: 0 });
    let (left, right) = edges.split_at(edges.len() / 2);
    let left_bounds = grow(left, boxes)?;
    let own = Boxed { left: boxes.len() - at - 1, bounds: boxes::united(left_bounds, grow(right, boxes)?) };
    if let Some(place) = boxes.get_mut(at) {
        *place = own;
    }
    Some(own.bounds)
}

/// A box of the tree with all that lies in it.
#[derive(Clone, Copy)]
struct Branch<'e> {
    bounds: Rect,
    /// Itself first, then all of its left half, then all of its right half.
    boxes: &'e [Boxed],
    edges: &'e [Edge],
}

impl<'e> Branch<'e> {
    fn of(boxes: &'e [Boxed], edges: &'e [Edge]) -> Option<Self> {
        boxes.first().map(|own| Self { bounds: own.bounds, boxes, edges })
    }

    /// Its two halves; none where it is a leaf.
    fn halves(self) -> Option<(Self, Self)> {
        let (own, below) = self.boxes.split_first()?;
        let (left, right) = below.split_at_checked(own.left)?;
        let (first, second) = self.edges.split_at(self.edges.len() / 2);
        Some((Self::of(left, first)?, Self::of(right, second)?))
    }

    /// Its two halves, first the one that is nearer to a box.
    fn nearer_half_first(self, to: Rect) -> Option<(Self, Self)> {
        let far = |half: &Self| boxes::gap_squared(half.bounds, to);
        self.halves().map(|(a, b)| if far(&b) < far(&a) { (b, a) } else { (a, b) })
    }

    fn nearest_to(self, point: Point, best: &mut Nearest) {
        let spot = boxes::between(point, point);
        if boxes::gap_squared(self.bounds, spot) >= best.distance * best.distance {
            return;
        }
        match self.nearer_half_first(spot) {
            Some((first, second)) => {
                first.nearest_to(point, best);
                second.nearest_to(point, best);
            }
            None => self.edges.iter().for_each(|edge| best.improve(edge.nearest_to(point), point)),
        }
    }

    fn within(self, reach_squared: f64, point: Point) -> bool {
        let near = |edge: &Edge| edge.nearest_to(point).distance_squared(point) <= reach_squared;
        boxes::gap_squared(self.bounds, boxes::between(point, point)) <= reach_squared
            && match self.halves() {
                Some((left, right)) => left.within(reach_squared, point) || right.within(reach_squared, point),
                None => self.edges.iter().any(near),
            }
    }

    fn near(self, spot: Rect, reach_squared: f64, found: &mut dyn FnMut(&Edge)) {
        if boxes::gap_squared(self.bounds, spot) > reach_squared {
            return;
        }
        match self.halves() {
            Some((left, right)) => {
                left.near(spot, reach_squared, found);
                right.near(spot, reach_squared, found);
            }
            None => self.edges.iter().for_each(found),
        }
    }

    /// How often the edges go round a point counter-clockwise: those that pass to the right of it upwards, less those that
    /// do downwards.
    fn winding(self, point: Point) -> i32 {
        let Rect { y0, x1, y1, .. } = self.bounds;
        if point.y < y0 || point.y >= y1 || point.x > x1 {
            return 0;
        }
        match self.halves() {
            Some((left, right)) => left.winding(point) + right.winding(point),
            None => self.edges.iter().map(|edge| edge.passes(point)).sum(),
        }
    }

    fn nearest_between(self, other: Self, slack: f64, best: &mut Nearest) {
        let least = best.distance - slack;
        if least <= 0.0 || boxes::gap_squared(self.bounds, other.bounds) >= least * least {
            return;
        }
        let halved = if other.is_leaf() || self.spread() >= other.spread() {
            self.nearer_half_first(other.bounds)
        } else {
            None
        };
        if let Some((first, second)) = halved {
            first.nearest_between(other, slack, best);
            second.nearest_between(other, slack, best);
        } else if let Some((first, second)) = other.nearer_half_first(self.bounds) {
            self.nearest_between(first, slack, best);
            self.nearest_between(second, slack, best);
        } else {
            for (a, b) in self.edges.iter().flat_map(|a| other.edges.iter().map(move |b| (a, b))) {
                let (p, q) = a.nearest_between(b);
                best.improve(p, q);
            }
        }
    }

    fn pairs_within(self, other: Self, reach_squared: f64, found: &mut dyn FnMut(&Edge, &Edge)) {
        if boxes::gap_squared(self.bounds, other.bounds) > reach_squared {
            return;
        }
        if let Some((left, right)) = self.halves() {
            left.pairs_within(other, reach_squared, found);
            right.pairs_within(other, reach_squared, found);
        } else if let Some((left, right)) = other.halves() {
            self.pairs_within(left, reach_squared, found);
            self.pairs_within(right, reach_squared, found);
        } else {
            self.edges.iter().flat_map(|a| other.edges.iter().map(move |b| (a, b))).for_each(|(a, b)| found(a, b));
        }
    }

    fn is_leaf(self) -> bool {
        self.boxes.len() <= 1
    }

    fn spread(self) -> f64 {
        self.bounds.width() + self.bounds.height()
    }
}

/// The edges of a path flattened to within `tolerance` mm, contour by contour.
pub(super) fn edges_of(path: &BezPath, tolerance: f64) -> Vec<Edge> {
    let mut edges = Vec::new();
    for ring in rings(path, tolerance) {
        let next = ring.iter().cycle().skip(1);
        edges.extend(ring.iter().zip(next).map(|(a, b)| Edge { from: corner(*a), to: corner(*b) }));
    }
    edges
}

impl From<&Line> for Edge {
    fn from(line: &Line) -> Self {
        Self { from: line.p0, to: line.p1 }
    }
}

impl Edge {
    /// The part of the edge within a box of `reach` about a place, roughly.
    pub(super) fn cut(&self, place: Point, reach: f64) -> Self {
        let along = self.to - self.from;
        let length = along.hypot();
        if length <= 0.0 {
            return *self;
        }
        let middle = (place - self.from).dot(along) / length;
        let at = |distance: f64| self.from + along * (distance.clamp(0.0, length) / length);
        Self { from: at(middle - reach), to: at(middle + reach) }
    }

    /// The point of the edge nearest to another.
    pub(super) fn nearest_to(&self, point: Point) -> Point {
        let along = self.to - self.from;
        let length2 = along.hypot2();
        let t = if length2 > 0.0 { ((point - self.from).dot(along) / length2).clamp(0.0, 1.0) } else { 0.0 };
        if t == 1.0 { self.to } else { self.from + along * t }
    }

    /// Whether it passes to the right of a point: 1 upwards, -1 downwards, 0 not at all.
    pub(crate) fn passes(&self, point: Point) -> i32 {
        let is_left = || (self.to - self.from).cross(point - self.from) > 0.0;
        match (self.from.y <= point.y, self.to.y <= point.y) {
            (true, false) => i32::from(is_left()),
            (false, true) => -i32::from(!is_left()),
            _ => 0,
        }
    }

    /// The nearest points of two edges, ours first; the same point twice where they cross.
    pub(super) fn nearest_between(&self, other: &Self) -> (Point, Point) {
        if let Some(point) = self.crossing(other) {
            return (point, point);
        }
        let ends = [
            (self.from, other.nearest_to(self.from)),
            (self.to, other.nearest_to(self.to)),
            (self.nearest_to(other.from), other.from),
            (self.nearest_to(other.to), other.to),
        ];
        let [first, rest @ ..] = ends;
        rest.into_iter().fold(first, |a, b| if b.0.distance_squared(b.1) < a.0.distance_squared(a.1) { b } else { a })
    }

    /// Where two edges properly cross: at a point inside both.
    pub(super) fn crossing(&self, other: &Self) -> Option<Point> {
        let (ours, theirs) = (self.to - self.from, other.to - other.from);
        let across = |a: f64, b: f64| (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0);
        let before = theirs.cross(self.from - other.from);
        let after = theirs.cross(self.to - other.from);
        let parted = across(ours.cross(other.from - self.from), ours.cross(other.to - self.from));
        (parted && across(before, after)).then(|| self.from + ours * (before / (before - after)))
    }
}

impl Nearest {
    /// Farther than anything.
    pub(super) const FAR: Self = Self { distance: f64::INFINITY, from: Point::ORIGIN, to: Point::ORIGIN };

    fn improve(&mut self, from: Point, to: Point) {
        let distance = from.distance(to);
        if distance < self.distance {
            *self = Self { distance, from, to };
        }
    }

    /// The same pair seen from the other side.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self { distance: self.distance, from: self.to, to: self.from }
    }
}

fn corner([x, y]: [f64; 2]) -> Point {
    Point::new(x, y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Edges between points of a coarse grid, so that many touch, cross, run level or have no length at all.
    fn edges(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Edge>> {
        let point = || (-9i8..=9, -9i8..=9).prop_map(|(x, y)| Point::new(f64::from(x), f64::from(y) / 2.0));
        let edge = (point(), -2i8..=2, -2i8..=2)
            .prop_map(|(from, x, y)| Edge { from, to: Point::new(from.x + f64::from(x), from.y + f64::from(y)) });
        prop::collection::vec(edge, count)
    }

    /// The plain way: the foot of the perpendicular where it falls on the edge, else the nearer end.
    fn apart(edge: &Edge, point: Point) -> f64 {
        let along = edge.to - edge.from;
        let (before, past) = ((point - edge.from).dot(along), (point - edge.to).dot(along));
        if before > 0.0 && past < 0.0 {
            (point - edge.from).cross(along).abs() / along.hypot()
        } else {
            point.distance(edge.from).min(point.distance(edge.to))
        }
    }

    /// Whether each edge has an end of the other on either side of it.
    fn cross(a: &Edge, b: &Edge) -> bool {
        let side = |edge: &Edge, point: Point| (edge.to - edge.from).cross(point - edge.from);
        side(a, b.from) * side(a, b.to) < 0.0 && side(b, a.from) * side(b, a.to) < 0.0
    }

    fn apart_pair(a: &Edge, b: &Edge) -> f64 {
        let ends = [apart(a, b.from), apart(a, b.to), apart(b, a.from), apart(b, a.to)];
        if cross(a, b) { 0.0 } else { ends.into_iter().fold(f64::INFINITY, f64::min) }
    }

    proptest! {
        #![proptest_config(crate::drawn(300))]

        #[test]
        fn the_tree_finds_what_trying_all_finds(
            (ours, theirs) in (edges(1..60), edges(1..60)),
            (x, y) in (-12.0..12.0f64, -8.0..8.0f64),
            shift in prop::sample::select(vec![0.0, 7.0, 25.0]),
        ) {
            let theirs: Vec<Edge> = theirs.iter().map(|edge| {
                let by = kurbo::Vec2::new(shift, 0.25 * shift);
                Edge { from: edge.from + by, to: edge.to + by }
            }).collect();
            let (tree, other) = (Edges::grown(&ours).unwrap(), Edges::grown(&theirs).unwrap());
            let point = Point::new(x, y);
            let all = ours.iter().map(|edge| apart(edge, point)).fold(f64::INFINITY, f64::min);
            let mut found = Nearest::FAR;
            tree.nearest_to(point, &mut found);
            prop_assert!((found.distance - all).abs() < 1e-9 && found.to == point);
            prop_assert!((found.from.distance(point) - all).abs() < 1e-9);
            prop_assert!(ours.iter().any(|edge| apart(edge, found.from) < 1e-9));
            prop_assert_eq!(tree.distance_to(point), found.distance);
            prop_assert!(tree.within(all + 1e-9, point) && (all < 1e-6 || !tree.within(all - 1e-9, point)));
            let pairs = || ours.iter().flat_map(|a| theirs.iter().map(move |b| (a, b)));
            let all = pairs().map(|(a, b)| apart_pair(a, b)).fold(f64::INFINITY, f64::min);
            for (one, two, mine, yours) in [(&tree, &other, &ours, &theirs), (&other, &tree, &theirs, &ours)] {
                let mut found = Nearest::FAR;
                one.nearest_between(two, 0.0, &mut found);
                prop_assert!((found.distance - all).abs() < 1e-9 && (found.from.distance(found.to) - all).abs() < 1e-9);
                prop_assert!(mine.iter().any(|edge| apart(edge, found.from) < 1e-9));
                prop_assert!(yours.iter().any(|edge| apart(edge, found.to) < 1e-9));
            }
            let mut known = Nearest { distance: all / 2.0, ..Nearest::FAR };
            tree.nearest_between(&other, 0.0, &mut known);
            prop_assert_eq!(known.distance, all / 2.0, "nothing is nearer than what is known");
        }

        /// Every edge within reach of a place is called back, and the winding is that of all edges seen from the place: the
        /// angles that they span there sum up to a full turn for each time round.
        #[test]
        fn edges_lie_about_a_place_as_trying_all_says(
            ring in prop::collection::vec((-9i8..=9, -9i8..=9), 3..60),
            (x, y) in (-12.0..12.0f64, -8.0..8.0f64), reach in 0.0..3.0f64,
        ) {
            let corners: Vec<Point> = ring.iter().map(|(x, y)| Point::new(f64::from(*x), f64::from(*y))).collect();
            let next = corners.iter().cycle().skip(1);
            let all: Vec<Edge> = corners.iter().zip(next).map(|(from, to)| Edge { from: *from, to: *to }).collect();
            let (tree, place) = (Edges::grown(&all).unwrap(), Point::new(x, y));
            let mut called = Vec::new();
            tree.near(place, reach, &mut |edge| called.push((edge.from, edge.to)));
            for edge in &all {
                let is_near = apart(edge, place) <= reach;
                prop_assert!(!is_near || called.contains(&(edge.from, edge.to)), "{edge:?}");
            }
            let seen = |edge: &Edge| {
                let (from, to) = (edge.from - place, edge.to - place);
                from.cross(to).atan2(from.dot(to))
            };
            let turns = all.iter().map(seen).sum::<f64>() / std::f64::consts::TAU;
            prop_assert_eq!(tree.surround(place), turns.abs() > 0.5, "{}", turns);
            prop_assert_eq!(f64::from(all.iter().map(|edge| edge.passes(place)).sum::<i32>()), turns.round());
        }

        #[test]
        fn every_pair_within_reach_is_called_back(
            (ours, theirs) in (edges(1..40), edges(1..40)),
            reach in 0.0..3.0f64,
        ) {
            let (tree, other) = (Edges::grown(&ours).unwrap(), Edges::grown(&theirs).unwrap());
            let key = |edge: &Edge| [edge.from.x, edge.from.y, edge.to.x, edge.to.y].map(f64::to_bits);
            let mut called = std::collections::BTreeSet::new();
            tree.pairs_within(&other, reach, &mut |a, b| {
                called.insert((key(a), key(b)));
            });
            for (a, b) in ours.iter().flat_map(|a| theirs.iter().map(move |b| (a, b))) {
                prop_assert!(apart_pair(a, b) > reach || called.contains(&(key(a), key(b))), "{a:?} {b:?}");
            }
        }

        #[test]
        fn two_edges_lie_as_trying_all_places_says(pair in edges(2..3)) {
            let [a, b] = [pair[0], pair[1]];
            prop_assert_eq!(a.crossing(&b).is_some(), cross(&a, &b));
            if let Some(at) = a.crossing(&b) {
                prop_assert!(apart(&a, at) < 1e-9 && apart(&b, at) < 1e-9);
            }
            let (p, q) = a.nearest_between(&b);
            prop_assert!((p.distance(q) - apart_pair(&a, &b)).abs() < 1e-9);
            prop_assert!(apart(&a, p) < 1e-9 && apart(&b, q) < 1e-9);
        }

        /// A part of an edge about a place: on the edge, within reach of the foot of the perpendicular, and no shorter.
        #[test]
        fn a_cut_edge_is_what_lies_near(pair in edges(1..2), (x, y) in (-9.0..9.0f64, -6.0..6.0f64), reach in 0.1..3.0f64) {
            let edge = pair[0];
            let cut = edge.cut(Point::new(x, y), reach);
            let along = edge.to - edge.from;
            if along.hypot() == 0.0 {
                prop_assert_eq!((cut.from, cut.to), (edge.from, edge.to));
                return Ok(());
            }
            let way = along.normalize();
            let place = |point: Point| (point - edge.from).dot(way);
            let middle = place(Point::new(x, y));
            prop_assert!(apart(&edge, cut.from) < 1e-9 && apart(&edge, cut.to) < 1e-9);
            prop_assert!((place(cut.from) - (middle - reach).clamp(0.0, along.hypot())).abs() < 1e-9);
            prop_assert!((place(cut.to) - (middle + reach).clamp(0.0, along.hypot())).abs() < 1e-9);
        }
    }

    #[test]
    fn a_pair_seen_from_the_other_side_is_the_same_pair() {
        let pair = Nearest { distance: 5.0, from: Point::ORIGIN, to: Point::new(3.0, 4.0) };
        assert_eq!(pair.reversed(), Nearest { distance: 5.0, from: Point::new(3.0, 4.0), to: Point::ORIGIN });
    }
}
