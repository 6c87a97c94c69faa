//! The tree of boxes over the segments of a flattened shape: a box for each segment, leaves of a few segments on end, nodes of a
//! few leaves, and so on up to one root. What lies in a box that a question passes over is never looked at.
//!
//! It has no pointers: all boxes of a level stand side by side, so that a shape that is moved, as those are that are laid over
//! one another thousands of times, gets a new tree for one pass over its boxes. Leaves are met in the order of the segments,
//! so that of places that are equally good the same one is always told.

use kurbo::{Line, Point, Rect};

use super::FlattenedShape;
use crate::geometry::boxes::{self, gap_squared};

/// Segments in a leaf, and boxes in a node.
pub(super) const FAN: usize = 8;
/// The binary logarithm of that.
const FAN_BITS: u32 = FAN.trailing_zeros();

/// The boxes over some segments.
#[derive(Clone, Debug, Default)]
pub(super) struct Tree {
    /// Those of the segments, then of the leaves, then of the nodes over them, level by level, the root last.
    boxes: Vec<Rect>,
    /// Where each level begins.
    starts: Vec<usize>,
}

impl Tree {
    pub(super) fn over(segments: &[Line]) -> Self {
        let mut tree = Self { boxes: Vec::with_capacity(segments.len() * FAN / (FAN - 1) + FAN), starts: vec![0] };
        tree.boxes.extend(segments.iter().map(|segment| boxes::between(segment.p0, segment.p1)));
        let mut below = 0..tree.boxes.len();
        while below.len() > 1 || tree.starts.len() == 1 {
            tree.starts.push(below.end);
            for from in below.clone().step_by(FAN) {
                let some = tree.boxes.get(from..below.end.min(from + FAN)).unwrap_or_default();
                let united = some.iter().copied().reduce(boxes::united);
                tree.boxes.extend(united);
            }
            below = below.end..tree.boxes.len();
        }
        tree
    }

    /// All boxes of a level, that of the segments being 0 and that of the leaves 1.
    fn level(&self, level: usize) -> &[Rect] {
        let begins = |level: usize| self.starts.get(level).copied().unwrap_or(self.boxes.len());
        self.boxes.get(begins(level)..begins(level + 1)).unwrap_or_default()
    }

    pub(super) fn own(&self) -> &[Rect] {
        self.level(0)
    }

    pub(super) fn leaves(&self) -> &[Rect] {
        self.level(1)
    }

    /// The boxes right above the leaves.
    fn nodes(&self) -> &[Rect] {
        if self.starts.len() > 2 { self.level(2) } else { self.leaves() }
    }

    /// The box round all.
    pub(super) fn root(&self) -> Option<Rect> {
        self.boxes.last().copied()
    }

    /// Begins to walk along the leaves.
    pub(super) fn walk(&self) -> Walk<'_> {
        Walk { tree: self, at: 0 }
    }
}

/// A walk along the leaves in order, past all that nobody wants.
pub(super) struct Walk<'t> {
    tree: &'t Tree,
    /// The next leaf.
    at: usize,
}

impl Walk<'_> {
    /// The next leaf whose box is wanted, and those of all nodes that it lies in. What is wanted may narrow on the way: a node
    /// is asked when its first leaf is reached.
    pub(super) fn next(&mut self, wanted: impl Fn(Rect) -> bool) -> Option<usize> {
        let leaves = self.tree.leaves().len();
        'leaves: while self.at < leaves {
            // Boxes over this leaf that do not begin with it were asked before.
            let begin = if self.at == 0 { u32::MAX } else { self.at.trailing_zeros() };
            let top = self.tree.starts.len().min((begin / FAN_BITS + 2) as usize);
            for level in (1..top).rev() {
                let bits = FAN_BITS as usize * (level - 1);
                let place = self.at >> bits;
                let bounds = self.tree.starts.get(level).and_then(|from| self.tree.boxes.get(from + place));
                if !bounds.is_some_and(|bounds| wanted(*bounds)) {
                    self.at = (place + 1) << bits;
                    continue 'leaves;
                }
            }
            self.at += 1;
            return Some(self.at - 1);
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
        let parts = self.segments.chunks(FAN).zip(self.tree.own().chunks(FAN)).zip(self.tree.leaves());
        parts.map(|((segments, own), bounds)| Leaf { closed: self.filled, segments, own, bounds: *bounds })
    }

    /// A leaf by its place.
    pub(super) fn leaf(&self, at: usize) -> Option<Leaf<'_>> {
        let (segments, own) = (self.segments.chunks(FAN).nth(at)?, self.tree.own().chunks(FAN).nth(at)?);
        Some(Leaf { closed: self.filled, segments, own, bounds: *self.tree.leaves().get(at)? })
    }

    /// The leaves in boxes that are wanted, in order.
    pub(super) fn leaves_where(&self, wanted: impl Fn(Rect) -> bool) -> impl Iterator<Item = Leaf<'_>> {
        let mut walk = self.tree.walk();
        std::iter::from_fn(move || walk.next(&wanted).and_then(|at| self.leaf(at)))
    }

    /// The leaves whose boxes are nearer to a box than this squared distance, in order.
    pub(super) fn leaves_nearer(&self, spot: Rect, squared: f64) -> Vec<Leaf<'_>> {
        let mut near = Vec::with_capacity(self.tree.leaves().len());
        near.extend(self.leaves_where(|bounds| gap_squared(spot, bounds) < squared));
        near
    }

    /// The indices of the segments whose boxes meet this one, in order.
    pub(crate) fn segments_in(&self, spot: Rect) -> impl Iterator<Item = usize> {
        let mut walk = self.tree.walk();
        let leaves = std::iter::from_fn(move || walk.next(|bounds| bounds.overlaps(spot)));
        leaves.flat_map(move |at| {
            let own = self.tree.own().chunks(FAN).nth(at).unwrap_or_default();
            (at * FAN..).zip(own).filter(move |(_, own)| own.overlaps(spot)).map(|(at, _)| at)
        })
    }

    /// The leaf whose box is nearest to a box: a good first guess.
    pub(super) fn guess(&self, spot: Rect) -> Option<Leaf<'_>> {
        let (mut least, mut nearest, mut walk) = (f64::INFINITY, None, self.tree.walk());
        while let Some(at) = walk.next(|bounds| gap_squared(spot, bounds) < least) {
            least = self.tree.leaves().get(at).map_or(least, |bounds| gap_squared(spot, *bounds));
            nearest = Some(at);
        }
        self.leaf(nearest?)
    }

    /// A leaf near the other shape, and the other's leaf that is nearest to it: a good first guess.
    pub(super) fn nearest_leaves<'a>(&'a self, other: &'a Self) -> Option<(Leaf<'a>, Leaf<'a>)> {
        let (mine, theirs) = (self.tree.nodes(), other.tree.nodes());
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
