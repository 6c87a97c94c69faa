//! Outlines as the searches see them: flattened once, items of one outline together, at every turn that is tried.

use kurbo::{PathSeg, Point, Rect};

use super::model::{Item, Sheet, Turns};
use crate::geometry::Region;
use crate::plan::rings::{Ring, area, hull, lies_on_itself, quarter};

/// How closely a flattened outline follows its curves, as a part of its size.
const FINE: f64 = 2e-3;
/// The same for discs, which are asked for their radius where that is dear.
const FINE_DISC: f64 = 1e-4;
/// Outlines that lie between two circles about the same middle nearer than this part of their size are the outer one's disc.
const ROUND: f64 = 1e-4;
// No-fit polygons grow with the product of both outlines' corners, and a dial may have hundreds of notches: as its
// hull it loses no more than a little room.
/// Outlines with more corners than this are seen as their convex hull.
const CORNERS: usize = 120;

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
            // How two discs lie is their distance, whatever is cut out of them and however they were drawn: one type
            // for all of them saves no-fit polygons and lets the bound for discs hold.
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

    /// The type of an orientation.
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
    // A hull that is larger by no more than the slack is as good as the outline, and convex rings add up edge by edge.
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

#[cfg(test)]
mod tests {
    use kurbo::Affine;

    use super::*;
    use crate::geometry::turn;
    use crate::units::Angle;

    fn sheet(width: f64, height: f64) -> Sheet {
        Sheet { width, height, margin: 2.0, gap: 1.0, keep_out: Region::empty() }
    }

    fn types(items: &[Item], sheet: &Sheet) -> ItemTypes {
        ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), sheet)
    }

    /// Turns that bring an outline onto itself are no orientations of their own: one of a square, two of a bar, four of an
    /// L; half as many where only half turns are allowed.
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
    fn items_of_one_outline_are_one_type() {
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
    fn a_type_knows_its_figures() {
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
    fn one_ring_is_compared_with_itself_and_two_are_not() {
        let bar: Ring = [(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (0.0, 2.0)].map(Point::from).to_vec();
        let one = [bar.clone()];
        assert!(is_same(&one, 2, 1e-9) && !is_same(&one, 1, 0.1) && is_same(&one, 0, 0.0));
        assert!(!is_same(&[bar.clone(), bar], 2, 1.0), "two rings are not looked at");
    }
}
