//! The straight edges of a flattened outline in a tree of boxes, so that the nearest is found without trying all.

use kurbo::{BezPath, Point, Rect};

use super::flat::rings;

/// Edges in one leaf of the tree.
const LEAF: usize = 8;

/// A straight piece of an outline, run along with the inside on the left.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) from: Point,
    pub(super) to: Point,
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

/// A box with all that lies in it.
pub(super) enum Edges {
    Leaf(Rect, Vec<Edge>),
    Fork(Rect, Box<(Self, Self)>),
}

impl Edges {
    /// The edges of a path flattened to within `tolerance` mm; none where the path is empty.
    pub(super) fn of(path: &BezPath, tolerance: f64) -> Option<Self> {
        Self::grown(&edges_of(path, tolerance))
    }

    /// The tree of these edges; none where there are none. Neighbours along an outline lie near one another, so
    /// halving the run is as good as sorting.
    pub(super) fn grown(edges: &[Edge]) -> Option<Self> {
        let (left, right) = edges.split_at(edges.len() / 2);
        if edges.len() > LEAF
            && let (Some(left), Some(right)) = (Self::grown(left), Self::grown(right))
        {
            return Some(Self::Fork(left.bounds().union(right.bounds()), Box::new((left, right))));
        }
        let boxes = edges.iter().map(|edge| Rect::from_points(edge.from, edge.to));
        boxes.reduce(|a, b| a.union(b)).map(|bounds| Self::Leaf(bounds, edges.to_vec()))
    }

    pub(super) fn bounds(&self) -> Rect {
        match self {
            Self::Leaf(bounds, _) | Self::Fork(bounds, _) => *bounds,
        }
    }

    /// The nearest point of the edges, where one is nearer than `best` says.
    pub(super) fn nearest_to(&self, point: Point, best: &mut Nearest) {
        match self {
            _ if gap(self.bounds(), point.into_box()) >= best.distance => {}
            Self::Leaf(_, edges) => {
                for edge in edges {
                    best.improve(edge.nearest_to(point), point);
                }
            }
            Self::Fork(_, halves) => {
                let far = |half: &Self| gap(half.bounds(), point.into_box());
                let (first, second) = nearer_first(&halves.0, &halves.1, far);
                first.nearest_to(point, best);
                second.nearest_to(point, best);
            }
        }
    }

    /// Whether an edge comes within `reach` mm of a point.
    pub(super) fn within(&self, reach: f64, point: Point) -> bool {
        gap(self.bounds(), point.into_box()) <= reach
            && match self {
                Self::Leaf(_, edges) => edges.iter().any(|edge| edge.nearest_to(point).distance(point) <= reach),
                Self::Fork(_, halves) => halves.0.within(reach, point) || halves.1.within(reach, point),
            }
    }

    /// How far the point is from the edges, in mm.
    pub(super) fn distance_to(&self, point: Point) -> f64 {
        let mut best = Nearest::FAR;
        self.nearest_to(point, &mut best);
        best.distance
    }

    /// The nearest pair of points of the two, where nearer than `best` says; within `slack` mm of the least.
    pub(super) fn nearest_between(&self, other: &Self, slack: f64, best: &mut Nearest) {
        if gap(self.bounds(), other.bounds()) >= best.distance - slack {
            return;
        }
        match (self, other) {
            (Self::Leaf(_, ours), Self::Leaf(_, theirs)) => {
                for (a, b) in ours.iter().flat_map(|a| theirs.iter().map(move |b| (a, b))) {
                    let (p, q) = a.nearest_between(b);
                    best.improve(p, q);
                }
            }
            (Self::Fork(_, halves), _) if other.is_leaf() || self.spread() >= other.spread() => {
                let far = |half: &Self| gap(half.bounds(), other.bounds());
                let (first, second) = nearer_first(&halves.0, &halves.1, far);
                first.nearest_between(other, slack, best);
                second.nearest_between(other, slack, best);
            }
            (_, Self::Fork(_, halves)) => {
                let far = |half: &Self| gap(half.bounds(), self.bounds());
                let (first, second) = nearer_first(&halves.0, &halves.1, far);
                self.nearest_between(first, slack, best);
                self.nearest_between(second, slack, best);
            }
            (Self::Fork(..), Self::Leaf(..)) => {}
        }
    }

    /// Calls back with every pair of edges whose boxes come within `reach` mm of one another.
    pub(super) fn pairs_within(&self, other: &Self, reach: f64, found: &mut dyn FnMut(&Edge, &Edge)) {
        if gap(self.bounds(), other.bounds()) > reach {
            return;
        }
        match (self, other) {
            (Self::Leaf(_, ours), Self::Leaf(_, theirs)) => {
                for (a, b) in ours.iter().flat_map(|a| theirs.iter().map(move |b| (a, b))) {
                    found(a, b);
                }
            }
            (Self::Fork(_, halves), _) => {
                halves.0.pairs_within(other, reach, found);
                halves.1.pairs_within(other, reach, found);
            }
            (_, Self::Fork(_, halves)) => {
                self.pairs_within(&halves.0, reach, found);
                self.pairs_within(&halves.1, reach, found);
            }
        }
    }

    fn is_leaf(&self) -> bool {
        matches!(self, Self::Leaf(..))
    }

    fn spread(&self) -> f64 {
        self.bounds().width() + self.bounds().height()
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

trait IntoBox {
    fn into_box(self) -> Rect;
}

impl IntoBox for Point {
    fn into_box(self) -> Rect {
        Rect::from_points(self, self)
    }
}

fn corner([x, y]: [f64; 2]) -> Point {
    Point::new(x, y)
}

/// How far apart two boxes are.
fn gap(a: Rect, b: Rect) -> f64 {
    let x = (b.x0 - a.x1).max(a.x0 - b.x1).max(0.0);
    let y = (b.y0 - a.y1).max(a.y0 - b.y1).max(0.0);
    x.hypot(y)
}

fn nearer_first<'a>(a: &'a Edges, b: &'a Edges, far: impl Fn(&Edges) -> f64) -> (&'a Edges, &'a Edges) {
    if far(b) < far(a) { (b, a) } else { (a, b) }
}
