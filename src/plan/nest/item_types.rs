//! Outlines as the searches see them: flattened once, items of one outline together, at every turn that is tried.

use kurbo::{Affine, PathSeg, Point, Rect, Vec2};

use super::{Item, Sheet, Turns};
use crate::geometry::{Region, turn};
use crate::units::Angle;

/// How closely a flattened outline follows its curves, as a part of its size.
const FINE: f64 = 2e-3;
/// The same for discs, which are asked for their radius where that is dear.
const FINE_DISC: f64 = 1e-4;
/// Outlines that lie between two circles about the same middle nearer than this part of their size are the outer one's disc.
const ROUND: f64 = 1e-4;
/// Outlines with more corners than this are seen as their convex hull.
const CORNERS: usize = 120;

/// A closed run of corners, counter-clockwise.
pub(super) type Ring = Vec<Point>;

/// Items that share one outline and may be turned alike.
pub(super) struct ItemType {
    /// The items, by index.
    pub(super) items: Vec<usize>,
    /// The outline, unturned, flattened.
    pub(super) rings: Vec<Ring>,
    /// Whether it is one convex ring.
    pub(super) is_convex: bool,
    /// How far the flattened outline may lie inside the true one, in mm.
    pub(super) slack: f64,
    /// The middle of the outline's box.
    pub(super) middle: Point,
    /// The radius of a disc about the middle that lies in the outline, in mm; nothing where the middle is outside.
    pub(super) inner: f64,
    /// The radius of the disc that the outline is, in mm; none for any other.
    pub(super) disc: Option<f64>,
    /// Its area in mm².
    pub(super) area: f64,
    /// The larger side of its box, in mm.
    pub(super) size: f64,
    /// How it may be turned.
    pub(super) turns: Turns,
}

/// A type at one turn.
pub(super) struct Orientation {
    /// Which type.
    pub(super) item_type: usize,
    /// How many quarters of a turn, clockwise.
    pub(super) quarters: u8,
    /// Where its origin may lie on a board.
    pub(super) room: Rect,
}

/// All outlines of a run.
pub(super) struct ItemTypes {
    pub(super) all: Vec<ItemType>,
    pub(super) orientations: Vec<Orientation>,
}

impl ItemTypes {
    /// The types of these items, and their orientations that fit the sheet.
    pub(super) fn of(items: &[Item], chosen: &[usize], sheet: &Sheet) -> Self {
        let mut found: Vec<(Vec<&Item>, ItemType)> = Vec::new();
        for (at, item) in chosen.iter().filter_map(|at| items.get(*at).map(|item| (*at, item))) {
            let is_known = |known: &[&Item]| known.iter().any(|known| is_alike(known, item));
            if let Some((_, item_type)) = found.iter_mut().find(|(known, _)| is_known(known)) {
                item_type.items.push(at);
                continue;
            }
            let own = item_type(at, item);
            match found.iter_mut().find(|(_, item_type)| item_type.is_same_disc(&own)) {
                Some((known, item_type)) => {
                    known.push(item);
                    item_type.items.push(at);
                    item_type.turns = if own.turns == Turns::Half { Turns::Half } else { item_type.turns };
                }
                None => found.push((vec![item], own)),
            }
        }
        let mut orientations = Vec::new();
        for (at, (known, item_type)) in found.iter().enumerate() {
            orientations.extend(known.first().into_iter().flat_map(|item| orientations_of(at, item, item_type, sheet)));
        }
        Self { all: found.into_iter().map(|(_, item_type)| item_type).collect(), orientations }
    }

    /// The type of a orientation.
    pub(super) fn type_of(&self, orientation: usize) -> Option<&ItemType> {
        self.all.get(self.orientations.get(orientation)?.item_type)
    }
}

/// Whether what holds of one holds of the other, holes aside.
fn is_alike(a: &Item, b: &Item) -> bool {
    a.turns == b.turns && a.outline == b.outline
}

impl ItemType {
    /// Whether both are the same disc, however it was drawn.
    fn is_same_disc(&self, other: &Self) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() < 1e-9;
        let radii = self.disc.zip(other.disc);
        radii.is_some_and(|(a, b)| same(a, b)) && same(self.middle.distance(other.middle), 0.0)
    }
}

fn item_type(at: usize, item: &Item) -> ItemType {
    let outline = &item.outline;
    let bounds = outline.bounds().unwrap_or_default();
    let (size, middle) = (bounds.width().max(bounds.height()), bounds.center());
    let inner = outline.least_radius(middle).filter(|_| outline.contains(middle)).unwrap_or(0.0);
    let outer = outline.swept_radius(middle);
    let disc = (outer - inner <= ROUND * size).then_some(outer);
    let straight = outline.path().segments().all(|segment| matches!(segment, PathSeg::Line(_)));
    let fine = if disc.is_some() { FINE_DISC } else { FINE };
    let slack = if straight { 0.0 } else { fine * size };
    let rings = flattened(outline, slack.max(1e-6));
    let corners: Vec<Point> = rings.iter().flatten().copied().collect();
    let band = hull(&corners);
    let is_convex = area(&band) - outline.area() < 1e-6 * area(&band) + slack * size || corners.len() > CORNERS;
    let rings = if is_convex { vec![band] } else { rings };
    let area = outline.area();
    ItemType { items: vec![at], rings, is_convex, slack, middle, inner, disc, area, size, turns: item.turns }
}

/// The outer rings of a region.
fn flattened(region: &Region, tolerance: f64) -> Vec<Ring> {
    let rings = region.flattened(tolerance).into_iter();
    rings
        .map(|ring| ring.into_iter().map(|[x, y]| Point::new(x, y)).collect::<Ring>())
        .filter(|it| area(it) > 0.0)
        .collect()
}

/// Turns that bring the outline onto itself are left out, and those that fit no board.
fn orientations_of(at: usize, item: &Item, item_type: &ItemType, sheet: &Sheet) -> Vec<Orientation> {
    let quarters: &[u8] = if item_type.turns == Turns::Free { &[0, 1, 2, 3] } else { &[0, 2] };
    let mut seen: Vec<u8> = Vec::new();
    let mut orientations = Vec::new();
    for &step in quarters {
        if seen.iter().any(|known| is_same(&item_type.rings, step - known, 3.0 * item_type.slack + 1e-6)) {
            continue;
        }
        seen.push(step);
        let bounds = item.outline.transformed(quarter(step)).bounds().unwrap_or_default();
        let inside = sheet.inside();
        let room =
            Rect::new(inside.x0 - bounds.x0, inside.y0 - bounds.y0, inside.x1 - bounds.x1, inside.y1 - bounds.y1);
        let (wide, high) = (room.x1 - room.x0, room.y1 - room.y0);
        if wide >= -1e-9 && high >= -1e-9 {
            let room = Rect::new(room.x0, room.y0, room.x1.max(room.x0), room.y1.max(room.y0));
            orientations.push(Orientation { item_type: at, quarters: step, room });
        }
    }
    orientations
}

/// Whether the rings, turned by quarters, come to lie on themselves to within `near` mm.
fn is_same(rings: &[Ring], quarters: u8, near: f64) -> bool {
    if quarters == 0 {
        return true;
    }
    let [ring] = rings else { return false };
    lies_on_itself(ring, 90.0 * f64::from(quarters), near)
}

/// Whether a ring turned by so many degrees comes to lie on itself, moved as may be, to within `near` mm.
pub(super) fn lies_on_itself(ring: &[Point], degrees: f64, near: f64) -> bool {
    let turned: Ring = ring.iter().map(|corner| turned_by(degrees) * *corner).collect();
    let shift = middle(ring) - middle(&turned);
    turned.iter().all(|corner| to_edges(*corner + shift, ring) <= near)
}

fn middle(ring: &[Point]) -> Point {
    bounds(ring).center()
}

/// The least box round some points.
pub(super) fn bounds(points: &[Point]) -> Rect {
    let each = points.iter().map(|point| Rect::from_points(*point, *point));
    each.reduce(|a, b| a.union(b)).unwrap_or_default()
}

fn to_edges(point: Point, ring: &[Point]) -> f64 {
    let edge = |(a, b): (&Point, &Point)| {
        let along = *b - *a;
        let t = ((point - *a).dot(along) / along.hypot2().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        (point - (*a + along * t)).hypot()
    };
    ring.iter().zip(ring.iter().cycle().skip(1)).map(edge).fold(f64::INFINITY, f64::min)
}

/// The turn by so many quarters, clockwise, exact.
pub(super) fn quarter(quarters: u8) -> Affine {
    match quarters % 4 {
        0 => Affine::IDENTITY,
        1 => Affine::new([0.0, -1.0, 1.0, 0.0, 0.0, 0.0]),
        2 => Affine::new([-1.0, 0.0, 0.0, -1.0, 0.0, 0.0]),
        _ => Affine::new([0.0, 1.0, -1.0, 0.0, 0.0, 0.0]),
    }
}

/// The turn by an angle in degrees, clockwise; exact for quarters.
pub(super) fn turned_by(degrees: f64) -> Affine {
    let quarters = degrees / 90.0;
    let exact = [0, 1, 2, 3].into_iter().find(|known| f64::from(*known) == quarters);
    exact.map_or_else(|| turn(Angle::degrees(degrees)), quarter)
}

/// Twice the signed area, halved: positive where counter-clockwise.
pub(super) fn area(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum::<f64>() / 2.0
}

/// The corners of the convex hull, counter-clockwise (Andrew's monotone chain, 1979).
pub(in crate::plan) fn hull(points: &[Point]) -> Ring {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = &Point>| {
        let mut kept: Ring = Vec::new();
        for point in points {
            while let [.., a, b] = kept.as_slice()
                && (*b - *a).cross(*point - *b) <= 0.0
            {
                kept.pop();
            }
            kept.push(*point);
        }
        kept.pop();
        kept
    };
    let mut ring = half(&mut sorted.iter());
    ring.extend(half(&mut sorted.iter().rev()));
    ring
}

/// All points that some point of one convex ring and some point of another add up to: their edges in order of bearing.
pub(super) fn sum(a: &[Point], b: &[Point]) -> Ring {
    let edges = |ring: &[Point]| -> Vec<Vec2> {
        ring.iter().zip(ring.iter().cycle().skip(1)).map(|(from, to)| *to - *from).collect()
    };
    let mut all = edges(a);
    all.extend(edges(b));
    // Adding zero makes no difference but to a zero below zero, whose bearing would be -pi instead of pi.
    all.sort_by(|a, b| (a.y + 0.0).atan2(a.x).total_cmp(&(b.y + 0.0).atan2(b.x)));
    // Edges run counter-clockwise from bearing -pi, which the topmost corner begins, the leftmost of those level.
    let first = |ring: &[Point]| {
        ring.iter()
            .copied()
            .reduce(|p, q| if q.y > p.y || (q.y == p.y && q.x < p.x) { q } else { p })
            .unwrap_or_default()
    };
    let mut at = first(a) + first(b).to_vec2();
    let mut ring = Vec::with_capacity(all.len());
    for edge in all {
        ring.push(at);
        at += edge;
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Ring {
        corners.iter().map(|at| Point::from(*at)).collect()
    }

    #[test]
    fn convex_rings_add_up() {
        let square = ring(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
        let corner = ring(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]);
        let both = sum(&square, &corner);
        // Mixed areas: A(P + Q) = A(P) + A(Q) + 2 V(P, Q); here 4 + 1/2 + 2 + 2, reckoned by hand.
        assert!((area(&both) - 8.5).abs() < 1e-12, "{both:?}");
        assert_eq!(bounds(&both), Rect::new(0.0, 0.0, 3.0, 3.0));
        assert!((area(&hull(&both)) - 8.5).abs() < 1e-12);
    }
    /// What two convex rings add up to, the plain way: the hull of all sums of their corners.
    fn all_sums(a: &[Point], b: &[Point]) -> Ring {
        let sums: Vec<Point> = a.iter().flat_map(|p| b.iter().map(move |q| *p + q.to_vec2())).collect();
        hull(&sums)
    }

    fn reach(ring: &[Point], way: Vec2) -> f64 {
        ring.iter().map(|at| at.to_vec2().dot(way)).fold(f64::NEG_INFINITY, f64::max)
    }

    proptest::proptest! {
        #![proptest_config(crate::drawn(200))]

        #[test]
        fn sums_reach_as_far_as_all_sums_of_corners(
            a in proptest::collection::vec((-8i8..8, -8i8..8), 3..12), b in proptest::collection::vec((-8i8..8, -8i8..8), 3..12),
        ) {
            let points = |corners: &[(i8, i8)]| -> Vec<Point> {
                corners.iter().map(|(x, y)| Point::new(f64::from(*x), f64::from(*y))).collect()
            };
            let (a, b) = (points(&a), points(&b));
            let (p, q) = (hull(&a), hull(&b));
            for way in (0..48).map(|step| Vec2::from_angle(f64::from(step) * std::f64::consts::TAU / 48.0)) {
                proptest::prop_assert!((reach(&p, way) - reach(&a, way)).abs() < 1e-9, "a hull reaches as far as its points");
            }
            let bends = |ring: &[Point]| {
                let next = |by: usize| ring.iter().cycle().skip(by);
                let corners = ring.iter().zip(next(1)).zip(next(2));
                corners.map(|((a, b), c)| (*b - *a).cross(*c - *b)).collect::<Vec<f64>>()
            };
            proptest::prop_assert!(p.len() < 3 || bends(&p).iter().all(|bend| *bend > 0.0), "and bends to the left everywhere");
            if area(&p) > 0.5 && area(&q) > 0.5 {
                let (both, all) = (sum(&p, &q), all_sums(&p, &q));
                proptest::prop_assert!((area(&both) - area(&all)).abs() < 1e-9);
                proptest::prop_assert!(bends(&both).iter().all(|bend| *bend >= -1e-9));
                for way in (0..48).map(|step| Vec2::from_angle(f64::from(step) * std::f64::consts::TAU / 48.0)) {
                    proptest::prop_assert!((reach(&both, way) - reach(&all, way)).abs() < 1e-9);
                }
                let wanted = all.iter().fold(Rect::from_points(all[0], all[0]), |all, at| all.union_pt(*at));
                proptest::prop_assert_eq!(bounds(&both), wanted);
            }
        }
    }

    fn sheet(width: f64, height: f64) -> Sheet {
        Sheet { width, height, margin: 2.0, gap: 1.0, keep_out: Region::empty() }
    }

    fn types(items: &[Item], sheet: &Sheet) -> ItemTypes {
        ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), sheet)
    }

    /// Turns that bring an outline onto itself are no orientations of their own: one of a square, two of a bar, four of an L; half as
    /// many where only half turns are allowed.
    #[test]
    fn an_outline_has_as_many_orientations_as_it_has_looks() {
        use crate::geometry::shapes;
        let corner = shapes::path("M0,0 L9,0 L9,2 L2,2 L2,5 L0,5 Z").unwrap();
        let square = shapes::rectangle(6.0, 6.0, 0.0).unwrap();
        let bar = shapes::rectangle(20.0, 6.0, 1.0).unwrap();
        let orientations = |outline: &Region, turns: Turns, sheet: &Sheet| -> Vec<u8> {
            let types = types(&[Item::whole(outline.clone(), turns)], sheet);
            types.orientations.iter().map(|orientation| orientation.quarters).collect()
        };
        let wide = sheet(60.0, 50.0);
        assert_eq!(orientations(&square, Turns::Free, &wide), [0]);
        assert_eq!(orientations(&bar, Turns::Free, &wide), [0, 1]);
        assert_eq!(orientations(&bar, Turns::Half, &wide), [0]);
        assert_eq!(orientations(&corner, Turns::Free, &wide), [0, 1, 2, 3]);
        assert_eq!(orientations(&corner, Turns::Half, &wide), [0, 2]);
        assert_eq!(orientations(&shapes::polygon(5, 8.0, 1.0).unwrap(), Turns::Free, &wide), [0, 1, 2, 3]);
        // As wide as the room fits; a micrometre more does not.
        assert_eq!(orientations(&bar, Turns::Free, &sheet(24.0, 10.0)), [0]);
        assert_eq!(orientations(&bar, Turns::Free, &sheet(10.0, 24.0)), [1]);
        assert_eq!(orientations(&bar, Turns::Free, &sheet(23.999, 10.0)), [0; 0]);
        assert_eq!(orientations(&bar, Turns::Free, &sheet(24.0, 9.999)), [0; 0]);
        let moved = corner.transformed(Affine::translate((3.0, -4.0)));
        let found = types(&[Item::whole(moved, Turns::Free)], &wide);
        let rooms: Vec<Rect> = found.orientations.iter().map(|orientation| orientation.room).collect();
        // The box is 3 to 12 by -4 to 1; turned clockwise by a quarter x becomes y and y becomes -x, and so on.
        assert_eq!(rooms[0], Rect::new(-1.0, 6.0, 46.0, 47.0));
        assert_eq!(rooms[1], Rect::new(6.0, 14.0, 57.0, 51.0));
        assert_eq!(rooms[2], Rect::new(14.0, 3.0, 61.0, 44.0));
        assert_eq!(rooms[3], Rect::new(3.0, -1.0, 54.0, 36.0));
        assert!((0..4).all(|orientation| found.type_of(orientation).is_some_and(|item_type| item_type.items == [0])));
        assert!(found.type_of(4).is_none());
    }

    #[test]
    fn items_of_one_outline_are_one_kind() {
        use crate::geometry::shapes;
        let disc = shapes::circle(5.0).unwrap();
        let turned = disc.transformed(turn(Angle::degrees(10.0)));
        let aside = disc.transformed(Affine::translate((1.0, 0.0)));
        let larger = shapes::circle(5.001).unwrap();
        let square = shapes::rectangle(9.0, 9.0, 0.0).unwrap();
        let free = |outline: &Region| Item::whole(outline.clone(), Turns::Free);
        let half = |outline: &Region| Item::whole(outline.clone(), Turns::Half);
        let items =
            [free(&disc), free(&square), free(&turned), free(&aside), free(&larger), half(&square), free(&square)];
        let found = types(&items, &sheet(60.0, 50.0));
        let shared: Vec<&[usize]> = found.all.iter().map(|item_type| item_type.items.as_slice()).collect();
        assert_eq!(shared, [&[0, 2][..], &[1, 6], &[3], &[4], &[5]]);
        // One disc that must keep its grain holds all that are like it.
        let found = types(&[free(&disc), half(&turned)], &sheet(60.0, 50.0));
        assert!(found.all.len() == 1 && found.all[0].turns == Turns::Half);
        let found = types(&[half(&disc), free(&turned)], &sheet(60.0, 50.0));
        assert!(found.all.len() == 1 && found.all[0].turns == Turns::Half);
    }

    #[test]
    fn a_kind_knows_its_figures() {
        use crate::geometry::shapes;
        let own = |outline: Region| item_type(3, &Item::whole(outline, Turns::Free));
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-5, "{found} {wanted}");
        let disc = own(shapes::circle(5.0).unwrap().transformed(Affine::translate((2.0, 1.0))));
        near(disc.disc.unwrap(), 5.0);
        near(disc.inner, 5.0);
        near(disc.size, 10.0);
        assert!(disc.is_convex && disc.rings.len() == 1 && disc.middle.distance(Point::new(2.0, 1.0)) < 1e-6);
        // Flattened to within the slack that is stated.
        assert!(disc.rings[0].iter().all(|at| (at.distance(disc.middle) - 5.0).abs() < 1e-4));
        let inner = area(&disc.rings[0]);
        assert!(
            disc.area > inner && disc.area - inner < disc.slack * 10.0 * std::f64::consts::PI && disc.slack < 0.002
        );
        let rounded = own(shapes::rectangle(12.0, 8.0, 2.0).unwrap());
        near(rounded.inner, 4.0);
        near(rounded.size, 12.0);
        near(rounded.area, 96.0 - (4.0 - std::f64::consts::PI) * 4.0);
        assert!(rounded.disc.is_none() && rounded.is_convex && (rounded.slack - 0.024).abs() < 1e-12);
        let corner = own(shapes::path("M0,0 L9,0 L9,2 L2,2 L2,5 L0,5 Z").unwrap());
        assert_eq!((corner.is_convex, corner.slack, corner.rings[0].len()), (false, 0.0, 6));
        near(corner.area, 24.0);
        assert_eq!(corner.inner, 0.0, "the middle of the box lies outside");
        let star = own(shapes::star(80, 20.0, 18.0, 0.0).unwrap());
        assert!(star.is_convex, "so many corners are seen as their hull");
        near(area(&star.rings[0]), 40.0 * 400.0 * (std::f64::consts::TAU / 80.0).sin());
        let tooth = own(shapes::star(50, 20.0, 18.0, 0.0).unwrap());
        assert!(!tooth.is_convex && tooth.rings[0].len() == 100);
        let holed = shapes::rectangle(9.0, 9.0, 0.0).unwrap().difference(&shapes::rectangle(3.0, 3.0, 0.0).unwrap());
        assert_eq!(own(holed).rings.len(), 1, "holes are no rings of an item type");
        let hole = shapes::rectangle(9.0, 2.0, 0.0).unwrap();
        let hole =
            shapes::path("M0,0 L9,0 L9,2 L2,2 L2,5 L0,5 Z").unwrap().difference(&hole.transformed(Affine::scale(0.1)));
        assert!(own(hole).rings.iter().all(|ring| area(ring) > 0.0));
    }

    #[test]
    fn a_ring_lies_on_itself_by_the_turns_of_its_order() {
        let regular = |sides: u32, by: f64| -> Ring {
            let corner =
                |at: u32| Vec2::from_angle(std::f64::consts::TAU * (f64::from(at) + by) / f64::from(sides)) * 10.0;
            (0..sides).map(|at| (corner(at) + Vec2::new(4.0, -3.0)).to_point()).collect()
        };
        // The middle of the box is that of the ring where opposite sides are alike.
        for (sides, by) in [(4, 0.5), (4, 0.0), (6, 0.0), (8, 0.0)] {
            let ring = regular(sides, by);
            let order = 360.0 / f64::from(sides);
            assert!(lies_on_itself(&ring, order, 1e-6) && lies_on_itself(&ring, 2.0 * order, 1e-6), "{sides}");
            assert!(!lies_on_itself(&ring, order / 2.0, 1e-2) && !lies_on_itself(&ring, order / 3.0, 1e-2), "{sides}");
        }
        let bar = ring(&[(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (0.0, 2.0)]);
        assert!(lies_on_itself(&bar, 180.0, 1e-9) && !lies_on_itself(&bar, 90.0, 0.1));
        // 2 mm is how far its corners stand off when it is crosswise.
        assert!(lies_on_itself(&bar, 90.0, 2.001) && !lies_on_itself(&bar, 90.0, 1.999));
        assert!((to_edges(Point::new(8.0, 1.0), &bar) - 2.0).abs() < 1e-12);
        assert!((to_edges(Point::new(9.0, 6.0), &bar) - 5.0).abs() < 1e-12);
        assert!((to_edges(Point::new(3.0, 0.75), &bar) - 0.75).abs() < 1e-12);
        let one = [bar.clone()];
        assert!(is_same(&one, 2, 1e-9) && !is_same(&one, 1, 0.1) && is_same(&one, 0, 0.0));
        assert!(!is_same(&[bar.clone(), bar], 2, 1.0), "two rings are not looked at");
    }

    #[test]
    fn turns_are_clockwise_and_exact_by_quarters() {
        let at = Point::new(3.0, 1.0);
        let wanted = [(3.0, 1.0), (1.0, -3.0), (-3.0, -1.0), (-1.0, 3.0)].map(Point::from);
        for (quarters, wanted) in (0u8..8).zip(wanted.into_iter().cycle()) {
            assert_eq!(quarter(quarters) * at, wanted);
        }
        for (degrees, wanted) in [0.0, 90.0, 180.0, 270.0].into_iter().zip(wanted) {
            assert_eq!(turned_by(degrees) * at, wanted);
            assert!((turned_by(degrees + 1e-9) * at).distance(wanted) < 1e-9);
        }
        assert!((turned_by(45.0) * Point::new(0.0, 2.0)).distance(Point::new(2f64.sqrt(), 2f64.sqrt())) < 1e-12);
    }
}
