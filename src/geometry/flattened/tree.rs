//! The tree of boxes over the segments of a flattened shape: a box for each segment, leaves of a few segments on end, nodes of a
//! few leaves, and so on up to one root. What lies in a box that a question passes over is never looked at.
//!
//! It has no pointers: all boxes of a level stand side by side, and which belong together follows from their places, so that a shape that is moved, as those are that are laid over
//! one another thousands of times, gets a new tree for one pass over its boxes. Leaves are met in the order of the segments,
//! so that of places that are equally good the same one is always told.

use kurbo::{Line, Point, Rect};

use super::FlattenedShape;
use crate::geometry::boxes::{self, gap_squared};
use crate::work::{spend, spend_on};

/// Segments in a leaf, and boxes in a node.
pub(super) const FAN: usize = 8;
/// The binary logarithm of that.
const FAN_BITS: u32 = FAN.trailing_zeros();
/// Steps for a segment that comes under a tree, for a box of nodes that is looked at with those in it, and for a leaf.
const SEGMENT: u64 = 20;
const BOX: u64 = 20;
pub(super) const LEAF: u64 = 60;

/// The boxes over some segments.
#[derive(Clone, Debug, Default)]
pub(super) struct Tree {
    /// One for each segment.
    pub(super) own: Vec<Rect>,
    leaves: Vec<Rect>,
    /// Those over the leaves, then those over these, the last level the root alone.
    nodes: Vec<Vec<Rect>>,
}

impl Tree {
    pub(super) fn over(segments: &[Line]) -> Self {
        spend_on(segments.len(), SEGMENT);
        let own: Vec<Rect> = segments.iter().map(|segment| boxes::between(segment.p0, segment.p1)).collect();
        let leaves = united(&own);
        let mut nodes: Vec<Vec<Rect>> = Vec::new();
        let mut below = &leaves;
        while !below.is_empty() && (nodes.is_empty() || below.len() > 1) {
            let over = united(below);
            nodes.push(over);
            below = nodes.last().unwrap_or(&leaves);
        }
        Self { own, leaves, nodes }
    }

    /// The box round all.
    pub(super) fn root(&self) -> Option<Rect> {
        self.nodes.last()?.first().copied()
    }

    /// Begins to walk along the leaves.
    pub(super) fn walk(&self) -> Walk<'_> {
        Walk { tree: self, node: 0, at: 0, siblings: [].iter() }
    }
}

/// The boxes round a few at a time.
fn united(below: &[Rect]) -> Vec<Rect> {
    let unite = |some: &[Rect]| {
        let (first, rest) = some.split_first().unwrap_or((&Rect::ZERO, &[]));
        rest.iter().fold(*first, |all, one| boxes::united(all, *one))
    };
    below.chunks(FAN).map(unite).collect()
}

/// A walk along the leaves in order, past all that nobody wants.
pub(super) struct Walk<'t> {
    tree: &'t Tree,
    /// The next of the nodes right above the leaves.
    node: usize,
    /// The next leaf of the node before it, and those that are left of that node.
    at: usize,
    siblings: std::slice::Iter<'t, Rect>,
}

impl Walk<'_> {
    /// The next leaf whose box is wanted, and those of all nodes that it lies in. What is wanted may narrow on the way: a node
    /// is asked when its first leaf is reached.
    pub(super) fn next(&mut self, wanted: impl Fn(Rect) -> bool) -> Option<usize> {
        loop {
            for bounds in self.siblings.by_ref() {
                self.at += 1;
                if wanted(*bounds) {
                    spend(LEAF);
                    return Some(self.at - 1);
                }
            }
            self.at = FAN * self.enter(&wanted)?;
            let end = self.tree.leaves.len().min(self.at + FAN);
            self.siblings = self.tree.leaves.get(self.at..end).unwrap_or_default().iter();
        }
    }

    /// The next node right above the leaves that is wanted, with all that it lies in.
    fn enter(&mut self, wanted: impl Fn(Rect) -> bool) -> Option<usize> {
        let count = self.tree.nodes.first()?.len();
        'nodes: while self.node < count {
            // Boxes over this node that do not begin with it were asked before.
            let begin = if self.node == 0 { u32::MAX } else { self.node.trailing_zeros() };
            let top = (begin / FAN_BITS) as usize + 1;
            for (level, boxes) in self.tree.nodes.iter().take(top).enumerate().rev() {
                let bits = FAN_BITS as usize * level;
                let place = self.node >> bits;
                spend(BOX);
                if !boxes.get(place).is_some_and(|bounds| wanted(*bounds)) {
                    self.node = (place + 1) << bits;
                    continue 'nodes;
                }
            }
            self.node += 1;
            return Some(self.node - 1);
        }
        None
    }
}

/// A few segments on end, with the box of each and the box round all.
#[derive(Clone, Copy)]
pub(super) struct Leaf<'s> {
    /// Whether they are of closed contours, as those of filled shapes are.
    pub(super) closed: bool,
    pub(super) segments: &'s [Line],
    pub(super) own: &'s [Rect],
    pub(super) bounds: Rect,
}

impl<'s> Leaf<'s> {
    /// The segments whose boxes come within a distance, given as its square, of a box.
    pub(super) fn near(self, spot: Rect, squared: f64) -> impl Iterator<Item = &'s Line> {
        let near = self.segments.iter().zip(self.own).filter(move |(_, own)| gap_squared(spot, **own) <= squared);
        near.map(|(segment, _)| segment)
    }
}

impl FlattenedShape {
    /// All leaves, in order.
    pub(super) fn leaves(&self) -> impl Iterator<Item = Leaf<'_>> {
        let parts = self.segments.chunks(FAN).zip(self.tree.own.chunks(FAN)).zip(&self.tree.leaves);
        parts.map(|((segments, own), bounds)| Leaf { closed: self.filled, segments, own, bounds: *bounds })
    }

    /// A leaf by its place.
    fn leaf(&self, at: usize) -> Option<Leaf<'_>> {
        let range = self.range(at);
        let (segments, own) = (self.segments.get(range.clone())?, self.tree.own.get(range)?);
        Some(Leaf { closed: self.filled, segments, own, bounds: *self.tree.leaves.get(at)? })
    }

    /// The segments of a leaf.
    pub(super) fn segments_of(&self, at: usize) -> &[Line] {
        self.segments.get(self.range(at)).unwrap_or_default()
    }

    /// Which segments a leaf has.
    fn range(&self, at: usize) -> std::ops::Range<usize> {
        at * FAN..self.segments.len().min(at * FAN + FAN)
    }

    /// The leaves in boxes that are wanted, in order.
    pub(super) fn leaves_where(&self, wanted: impl Fn(Rect) -> bool) -> impl Iterator<Item = Leaf<'_>> {
        let mut walk = self.tree.walk();
        std::iter::from_fn(move || walk.next(&wanted).and_then(|at| self.leaf(at)))
    }

    /// The leaves whose boxes are nearer to a box than this squared distance, in order.
    pub(super) fn leaves_nearer(&self, spot: Rect, squared: f64) -> Vec<Leaf<'_>> {
        let mut near = Vec::with_capacity(self.tree.leaves.len());
        near.extend(self.leaves_where(|bounds| gap_squared(spot, bounds) < squared));
        near
    }

    /// The indices of the segments whose boxes meet this one, in order.
    pub(crate) fn segments_in(&self, spot: Rect) -> impl Iterator<Item = usize> {
        let mut walk = self.tree.walk();
        let leaves = std::iter::from_fn(move || walk.next(|bounds| bounds.overlaps(spot)));
        leaves.flat_map(move |at| {
            let own = self.tree.own.get(self.range(at)).unwrap_or_default();
            (at * FAN..).zip(own).filter(move |(_, own)| own.overlaps(spot)).map(|(at, _)| at)
        })
    }

    /// The leaf whose box is nearest to a box: a good first guess.
    pub(super) fn guess(&self, spot: Rect) -> Option<Leaf<'_>> {
        let (mut least, mut nearest, mut walk) = (f64::INFINITY, None, self.tree.walk());
        while let Some(at) = walk.next(|bounds| gap_squared(spot, bounds) < least) {
            least = self.tree.leaves.get(at).map_or(least, |bounds| gap_squared(spot, *bounds));
            nearest = Some(at);
        }
        self.leaf(nearest?)
    }

    /// A leaf near the other shape, and the other's leaf that is nearest to it: a good first guess.
    pub(super) fn nearest_leaves<'a>(&'a self, other: &'a Self) -> Option<(Leaf<'a>, Leaf<'a>)> {
        let (mine, theirs) = (self.tree.nodes.first()?, other.tree.nodes.first()?);
        let pairs = mine.iter().flat_map(|mine| theirs.iter().map(move |theirs| (*mine, *theirs)));
        let far = |pair: &(Rect, Rect)| gap_squared(pair.0, pair.1);
        let (_, spot) = pairs.min_by(|a, b| far(a).total_cmp(&far(b)))?;
        // Each in turn the nearest to the other: soon a pair that no better one is near.
        let mine = self.guess(spot)?;
        let theirs = other.guess(mine.bounds)?;
        let mine = self.guess(theirs.bounds)?;
        Some((mine, other.guess(mine.bounds)?))
    }
}

/// The box that holds nothing but a point.
pub(super) fn spot(point: Point) -> Rect {
    boxes::between(point, point)
}
