//! No-fit polygons: where one outline must not lie, seen from another.
//!
//! Outline B, moved by a vector, meets outline A exactly where the vector lies in the sum of A and B turned about the
//! origin. That sum is found once for every pair of types and relative turn; from then on a collision is a point in a polygon,
//! and how far two items stand apart, or are pushed into one another, is the point's distance from its edge.
//!
//! These polygons are our own, where a collision engine could be had: a run has few different outlines and many
//! items, so each pair is worked out once, in double precision, with the gap exact and not taken off the board. The
//! engine at hand, jagua-rs, computes in single precision and knows no holes.

use std::cell::OnceCell;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use kurbo::{Affine, Point, Rect, Vec2};

use super::item_types::{ItemType, ItemTypes, Orientation};
use crate::plan::rings::{Ring, area, bounds, quarter, sum};

/// The sine of a bend the wrong way that is still straight.
const STRAIGHT: f64 = 1e-9;
/// Lines that are looked at before asking whether more must be.
const LINES_AT_ONCE: usize = 16;

/// Where one orientation must not lie, seen from the origin of another.
pub(super) enum Nofit {
    /// Inside a disc.
    Disc {
        /// Its middle.
        middle: Point,
        /// Its radius, in mm.
        radius: f64,
    },
    /// Inside some rings.
    Rings {
        /// Every side.
        edges: Vec<Edge>,
        /// The box of them all.
        bounds: Rect,
        /// For one convex ring, the lines along its sides.
        lines: Vec<Side>,
    },
}

#[derive(Clone, Copy)]
pub(super) struct Edge {
    from: Point,
    along: Vec2,
    /// One over the square of its length.
    inverse: f64,
}

/// A line with the ring on its left.
#[derive(Clone, Copy)]
pub(super) struct Side {
    /// Square to it, away from the ring, of length 1.
    out: Vec2,
    /// How far out it stands from the origin, in mm.
    by: f64,
}

impl Nofit {
    pub(super) fn of(rings: &[Ring]) -> Self {
        let edges = rings.iter().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
        let edges = edges.filter(|(from, to)| from != to).map(|(from, to)| {
            let along = *to - *from;
            Edge { from: *from, along, inverse: 1.0 / along.hypot2() }
        });
        let corners: Vec<Point> = rings.iter().flatten().copied().collect();
        let edges: Vec<Edge> = edges.collect();
        let lines = if rings.len() == 1 { sides(&edges) } else { Vec::new() };
        Self::Rings { edges, bounds: bounds(&corners), lines }
    }

    /// By how much the point falls short of standing `gap` mm outside; none where it does not.
    pub(super) fn short_of(&self, at: Point, gap: f64) -> Option<f64> {
        let short = match self {
            Self::Disc { middle, radius } => gap + radius - at.distance(*middle),
            Self::Rings { edges, bounds: it, lines } => {
                // Most pairs on a board are far apart: the box answers for them before any edge is looked at.
                if at.x <= it.x0 - gap || at.x >= it.x1 + gap || at.y <= it.y0 - gap || at.y >= it.y1 + gap {
                    return None;
                }
                // Lines answer quicker than edges: they need no clamping, and only a point near a corner is nearer to
                // no line than to the ring, for which the edges are asked after all.
                match beyond(lines, at, gap) {
                    // Inside a convex ring the nearest line is that of the nearest side.
                    Some(by) if by <= 0.0 => gap - by,
                    Some(by) if by >= gap => return None,
                    _ => gap - signed_distance(edges, at),
                }
            }
        };
        (short > 0.0).then_some(short)
    }
}

/// The lines along the sides of a ring, where it is convex; else none.
fn sides(edges: &[Edge]) -> Vec<Side> {
    let next = edges.iter().cycle().skip(1);
    let turns_left =
        |(edge, next): (&Edge, &Edge)| edge.along.cross(next.along) * (edge.inverse * next.inverse).sqrt() >= -STRAIGHT;
    if !edges.iter().zip(next).all(turns_left) {
        return Vec::new();
    }
    let side = |edge: &Edge| {
        let out = Vec2::new(edge.along.y, -edge.along.x) * edge.inverse.sqrt();
        Side { out, by: out.dot(edge.from.to_vec2()) }
    };
    edges.iter().map(side).collect()
}

/// How far a point stands beyond the line that it is farthest beyond, in mm; below zero where it is inside all. Once it is
/// beyond one by `gap`, no further line is looked at. None where there are no lines.
fn beyond(lines: &[Side], at: Point, gap: f64) -> Option<f64> {
    let mut most = f64::NEG_INFINITY;
    for run in lines.chunks(LINES_AT_ONCE) {
        most = run.iter().fold(most, |most, side| most.max(side.out.dot(at.to_vec2()) - side.by));
        if most >= gap {
            break;
        }
    }
    (!lines.is_empty()).then_some(most)
}

/// How far outside a point stands, in mm; below zero where it is inside.
fn signed_distance(edges: &[Edge], at: Point) -> f64 {
    let (mut nearest, mut inside) = (f64::INFINITY, false);
    for edge in edges {
        let to = at - edge.from;
        let t = (to.dot(edge.along) * edge.inverse).clamp(0.0, 1.0);
        nearest = nearest.min((to - edge.along * t).hypot2());
        let (above, next) = (to.y < 0.0, to.y < edge.along.y);
        let crosses = above != next && (to.cross(edge.along) > 0.0) == next;
        inside ^= crosses;
    }
    let distance = nearest.sqrt();
    if inside { -distance } else { distance }
}

/// All no-fit polygons of a run, each made when first asked for.
pub(super) struct Table<'a> {
    types: &'a ItemTypes,
    /// For each pair of orientations.
    pairs: Vec<OnceCell<Nofit>>,
    /// For each pair of types and relative turn, in quarters.
    unturned: Vec<OnceCell<Vec<Ring>>>,
}

impl<'a> Table<'a> {
    pub(super) fn new(types: &'a ItemTypes) -> Self {
        let cells = |count: usize| (0..count).map(|_| OnceCell::new()).collect();
        let unturned = (0..4 * types.all.len().pow(2)).map(|_| OnceCell::new()).collect();
        Self { types, pairs: cells(types.orientations.len().pow(2)), unturned }
    }

    /// Where the second orientation's origin must not lie, seen from the first's.
    pub(super) fn get(&self, first: usize, second: usize) -> Option<&Nofit> {
        let orientations = &self.types.orientations;
        let (a, b) = (orientations.get(first)?, orientations.get(second)?);
        let relative = (4 + b.quarters - a.quarters) % 4;
        let cell = self.pairs.get(first * orientations.len() + second)?;
        let count = self.types.all.len();
        let unturned = self.unturned.get((a.item_type * count + b.item_type) * 4 + usize::from(relative))?;
        let (first, second) = (self.types.all.get(a.item_type)?, self.types.all.get(b.item_type)?);
        Some(cell.get_or_init(|| {
            if let Some(disc) = disc((a, first), (b, second)) {
                return disc;
            }
            let rings = unturned.get_or_init(|| no_fit(first, second, relative));
            Nofit::of(&moved(rings, quarter(a.quarters)))
        }))
    }

    /// Where an orientation's origin must not lie, so that it stays clear of fixed rings on the board.
    pub(super) fn fixed(&self, orientation: usize, rings: &[Ring]) -> Option<Nofit> {
        let at = self.types.orientations.get(orientation)?;
        let item_type = self.types.all.get(at.item_type)?;
        Some(Nofit::of(&swept(rings, &moved(&item_type.rings, quarter(at.quarters + 2)))))
    }
}

/// Where the second of two discs must not lie.
fn disc((a, first): (&Orientation, &ItemType), (b, second): (&Orientation, &ItemType)) -> Option<Nofit> {
    let middle = quarter(a.quarters) * first.middle - (quarter(b.quarters) * second.middle).to_vec2();
    Some(Nofit::Disc { middle, radius: first.disc? + second.disc? })
}

pub(super) fn moved(rings: &[Ring], by: Affine) -> Vec<Ring> {
    rings.iter().map(|ring| ring.iter().map(|corner| by * *corner).collect()).collect()
}

/// The no-fit polygon of two types, the second turned by so many quarters.
fn no_fit(first: &ItemType, second: &ItemType, relative: u8) -> Vec<Ring> {
    // The second, turned, then turned about the origin: half a turn more.
    let turned = moved(&second.rings, quarter(relative + 2));
    match (first.rings.as_slice(), turned.as_slice()) {
        ([a], [b]) if first.is_convex && second.is_convex => vec![sum(a, b)],
        _ => swept(&first.rings, &turned),
    }
}

/// The sum of two sets of rings: each at a corner of the other, and every edge of one swept along every edge of the
/// other. A sum that meets no edges holds one of the two whole.
pub(super) fn swept(a: &[Ring], b: &[Ring]) -> Vec<Ring> {
    let flat = |ring: &Ring, by: Point| ring.iter().map(|at| [at.x + by.x, at.y + by.y]).collect::<Vec<[f64; 2]>>();
    let whole = |these: &[Ring], others: &[Ring]| -> Vec<Vec<[f64; 2]>> {
        let corners = others.iter().filter_map(|ring| ring.first().copied());
        corners.flat_map(|at| these.iter().map(move |ring| flat(ring, at)).collect::<Vec<_>>()).collect()
    };
    let edges = |rings: &[Ring]| -> Vec<(Point, Vec2)> {
        let pairs = rings.iter().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
        pairs.map(|(from, to)| (*from, *to - *from)).collect()
    };
    let mut all = whole(a, b);
    all.extend(whole(b, a));
    let theirs = edges(b);
    for (from, along) in edges(a) {
        for &(other, by) in &theirs {
            let start = from + other.to_vec2();
            let (one, two) = if along.cross(by) >= 0.0 { (along, by) } else { (by, along) };
            let corners = [start, start + one, start + one + two, start + two];
            all.push(corners.iter().map(|at| [at.x, at.y]).collect());
        }
    }
    let none: Vec<Vec<[f64; 2]>> = Vec::new();
    let shapes = all.overlay_as::<i64>(&none, OverlayRule::Subject, FillRule::NonZero);
    let rings = shapes.into_iter().flatten().map(|ring| ring.into_iter().map(|[x, y]| Point::new(x, y)).collect());
    rings.filter(|ring: &Ring| area(ring).abs() > 1e-9).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(width: f64, height: f64) -> Ring {
        [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)].map(Point::from).to_vec()
    }

    #[test]
    fn distances_are_signed() {
        let square = Nofit::of(&[rectangle(4.0, 4.0)]);
        let short = |x: f64, y: f64, gap: f64| square.short_of(Point::new(x, y), gap);
        assert_eq!(short(1.0, 2.0, 0.5), Some(1.5), "1 inside, and half a millimetre to be kept");
        assert_eq!(short(-0.25, 2.0, 0.5), Some(0.25));
        assert_eq!(short(-0.3, -0.4, 0.5), None, "a corner's gap is round");
        assert_eq!(short(5.0, 5.0, 0.5), None);
    }

    #[test]
    fn outlines_that_are_not_convex_are_swept() {
        // An L of two arms 1 wide and 3 long; a square of 1 turned about the origin covers -1 to 0.
        let corner: Ring =
            [(0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (1.0, 1.0), (1.0, 3.0), (0.0, 3.0)].map(Point::from).to_vec();
        let turned = moved(&[rectangle(1.0, 1.0)], quarter(2));
        let sum = swept(&[corner], &turned);
        // By hand: the L grown to the left and below by 1: arms 2 wide and 4 long, 2 x 4 + 2 x 2 = 12 mm².
        assert!((sum.iter().map(|ring| area(ring)).sum::<f64>() - 12.0).abs() < 1e-6, "{sum:?}");
        let sum = Nofit::of(&sum);
        assert!(sum.short_of(Point::new(1.01, 1.01), 0.0).is_none(), "the square lies in the L's elbow");
        assert!(sum.short_of(Point::new(0.9, 1.5), 0.0).is_some());
    }
    /// How far a point lies off a ring's edges, the plain way; below zero inside.
    fn signed(ring: &Ring, at: Point) -> f64 {
        let sides = || ring.iter().zip(ring.iter().cycle().skip(1)).filter(|(a, b)| a != b);
        let off = sides().map(|(a, b)| {
            let along = *b - *a;
            if (at - *a).dot(along) > 0.0 && (at - *b).dot(along) < 0.0 {
                (at - *a).cross(along).abs() / along.hypot()
            } else {
                at.distance(*a).min(at.distance(*b))
            }
        });
        let crossed = sides().filter(|(a, b)| (a.y > at.y) != (b.y > at.y));
        let right = crossed.filter(|(a, b)| a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x) > at.x);
        let off = off.fold(f64::INFINITY, f64::min);
        if right.count() % 2 == 1 { -off } else { off }
    }

    /// Columns of these heights, each 1 wide, side by side.
    fn columns(heights: &[u8]) -> Ring {
        let tops =
            heights.iter().zip(0u8..).collect::<Vec<_>>().into_iter().rev().flat_map(|(height, at)| {
                [(f64::from(at) + 1.0, f64::from(*height)), (f64::from(at), f64::from(*height))]
            });
        let floor = [(0.0, 0.0), (f64::from(u8::try_from(heights.len()).unwrap()), 0.0)];
        floor.into_iter().chain(tops).map(Point::from).collect()
    }

    /// The unit squares of such columns.
    fn cells(heights: &[u8]) -> Vec<(u8, u8)> {
        let column = |(height, at): (&u8, u8)| (0..*height).map(move |up| (at, up)).collect::<Vec<_>>();
        heights.iter().zip(0u8..).flat_map(column).collect()
    }

    proptest::proptest! {
        #![proptest_config(crate::drawn(200))]

        #[test]
        fn a_point_falls_short_by_its_distance(
            heights in proptest::collection::vec(1u8..6, 1..7), convex: bool,
            (x, y) in (-3.0..9.0f64, -3.0..9.0f64), gap in 0.0..2.0f64,
        ) {
            let ring = columns(&heights);
            let ring = if convex { crate::plan::rings::hull(&ring) } else { ring };
            let short = gap - signed(&ring, Point::new(x, y));
            let found = Nofit::of(std::slice::from_ref(&ring)).short_of(Point::new(x, y), gap);
            match found {
                Some(found) => proptest::prop_assert!((found - short).abs() < 1e-9 && found > 0.0, "{found} {short}"),
                None => proptest::prop_assert!(short < 1e-9, "{short}"),
            }
            // A hole is outside.
            let hole: Ring = [(0.2, 0.2), (0.2, 0.8), (0.8, 0.8), (0.8, 0.2)].map(Point::from).to_vec();
            let holed = Nofit::of(&[ring, hole]);
            proptest::prop_assert_eq!(holed.short_of(Point::new(0.5, 0.45), 0.2), None);
            let short = holed.short_of(Point::new(0.5, 0.45), 0.5);
            proptest::prop_assert!((short.unwrap() - 0.25).abs() < 1e-9);
        }

        /// Unit squares add up to squares of 2: those of the sum are counted one by one.
        #[test]
        fn swept_outlines_cover_the_sum_of_their_cells(
            a in proptest::collection::vec(1u8..5, 1..5), b in proptest::collection::vec(1u8..5, 1..5),
        ) {
            let mut covered = std::collections::BTreeSet::new();
            for (x, y) in cells(&a) {
                for (u, v) in cells(&b) {
                    covered.extend([(0, 0), (0, 1), (1, 0), (1, 1)].map(|(right, up)| (x + u + right, y + v + up)));
                }
            }
            let swept = swept(&[columns(&a)], &[columns(&b)]);
            let whole: f64 = swept.iter().map(|ring| area(ring)).sum();
            proptest::prop_assert!((whole - covered.len() as f64).abs() < 1e-6, "{whole} {}", covered.len());
            let nofit = Nofit::of(&swept);
            for (x, y) in (0u8..10).flat_map(|x| (0u8..10).map(move |y| (x, y))) {
                let middle = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
                proptest::prop_assert_eq!(nofit.short_of(middle, 0.0).is_some(), covered.contains(&(x, y)));
            }
        }
    }

    fn items() -> Vec<super::super::model::Item> {
        use super::super::model::{Item, Turns};
        use crate::geometry::shapes;
        let corner = shapes::path("M1,2 L7,2 L7,4 L3,4 L3,9 L1,9 Z").unwrap();
        let bar = shapes::rectangle(6.0, 2.0, 0.0).unwrap().transformed(Affine::translate((4.0, 1.0)));
        let disc = |radius: f64, x: f64| shapes::circle(radius).unwrap().transformed(Affine::translate((x, 2.0)));
        [corner, bar, disc(2.0, 3.0), disc(1.0, 0.0)].map(|outline| Item::whole(outline, Turns::Free)).to_vec()
    }

    /// Two items meet exactly where one's place, seen from the other's, lies in their no-fit polygon: asked of the booleans.
    #[test]
    fn what_does_not_fit_overlaps() {
        let keep_out = crate::geometry::Region::empty();
        let sheet = super::super::model::Sheet { width: 60.0, height: 60.0, margin: 1.0, gap: 1.0, keep_out };
        let items = items();
        let types = ItemTypes::of(&items, &[0, 1, 2, 3], &sheet);
        let table = Table::new(&types);
        let lying = |orientation: usize| {
            let it = &types.orientations[orientation];
            items[types.all[it.item_type].items[0]].outline.transformed(quarter(it.quarters))
        };
        let mut rng = fastrand::Rng::with_seed(7);
        for (first, second) in
            (0..types.orientations.len()).flat_map(|a| (0..types.orientations.len()).map(move |b| (a, b)))
        {
            let (still, moved) = (lying(first), lying(second));
            let middle = still.bounds().unwrap().center() - moved.bounds().unwrap().center();
            for _ in 0..2 {
                let by = middle + Vec2::new(rng.f64() - 0.5, rng.f64() - 0.5) * 16.0;
                let there = moved.transformed(Affine::translate(by));
                let short = table.get(first, second).unwrap().short_of(by.to_point(), 0.0);
                let shared = still.overlap_area(&there);
                // Flattened discs lie within some hundredths of a millimetre.
                assert!(short.is_some_and(|short| short > 0.0) || shared < 0.05, "{first} {second} {by:?}: {shared}");
                assert!(short.is_none_or(|short| short < 0.05) || shared > 0.0, "{first} {second} {by:?}: {short:?}");
                if shared == 0.0 && short.is_none() {
                    let apart = still.distance(&there).unwrap().distance;
                    let short = table.get(first, second).unwrap().short_of(by.to_point(), apart + 1.0).unwrap();
                    // From corner to corner of what is convex the distance of the sum is the distance itself.
                    assert!((short - 1.0).abs() < 0.05, "{first} {second} {by:?}: {short} {apart}");
                }
            }
            let fixed = table.fixed(second, &[rectangle(3.0, 3.0)]).unwrap();
            let clamp = crate::geometry::shapes::rectangle(3.0, 3.0, 0.0).unwrap();
            let clamp = clamp.transformed(Affine::translate((1.5, 1.5)));
            for _ in 0..1 {
                let by = Vec2::new(rng.f64() - 0.5, rng.f64() - 0.5) * 24.0;
                let there = moved.transformed(Affine::translate(by));
                let (short, shared) = (fixed.short_of(by.to_point(), 0.0), clamp.overlap_area(&there));
                assert!(short.is_some() || shared < 0.05, "{second} {by:?}: {shared}");
                assert!(short.is_none_or(|short| short < 0.05) || shared > 0.0, "{second} {by:?}: {short:?}");
            }
        }
    }

    #[test]
    fn lines_are_drawn_along_convex_rings_alone() {
        let lines = |rings: &[Ring]| match Nofit::of(rings) {
            Nofit::Rings { lines, .. } => lines.len(),
            Nofit::Disc { .. } => 0,
        };
        assert_eq!(lines(&[rectangle(4.0, 3.0)]), 4);
        assert_eq!(lines(&[columns(&[1, 2])]), 0);
        assert_eq!(lines(&[rectangle(4.0, 3.0), rectangle(1.0, 1.0)]), 0);
        let level: Ring = [(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (4.0, 3.0)].map(Point::from).to_vec();
        assert_eq!(lines(&[level]), 4, "a corner that is straight does no harm");
    }
}
