//! Lattices of one outline: rows of items, every other one turned half round where that is denser, each row shifted
//! against the one below.
//!
//! A double lattice (Kuperberg, "Double lattice packings of convex bodies in the plane", Discrete and Computational
//! Geometry 5, 1990) has two items to a cell. Its rows run along one side of the board here, since it is the board
//! that counts and not the plane: what is searched for is the turn, the height at which the second item of a cell
//! stands, and the shift of the rows; all else follows from touching.

use kurbo::{Affine, Point, Rect, Vec2};

use super::item_types::{ItemType, ItemTypes};
use super::model::{Item, Placement, Sheet, Turns};
use super::nofit::{Nofit, moved, swept};
use super::rows;
use crate::geometry::evenly;
use crate::plan::rings::{Ring, bounds, hull, lies_on_itself, sum, turned_by};

/// Turns that are tried, in degrees, up to half a turn: every third one, and the eighths of a right angle.
const TURNS: [f64; 3] = [3.0, 11.25, 18.0];
/// Heights of a cell's second item, and shifts of a row, that are tried.
const HEIGHTS: u32 = 16;
const SHIFTS: u32 = 16;
/// Sides of the polygon that stands for the gap's round corners.
const SIDES: u32 = 32;

/// Boards full of one type each by the best lattice; what is left over lies in rows. None where no type fills a board.
pub(super) fn boards(items: &[Item], types: &ItemTypes, sheet: &Sheet) -> Option<Vec<Vec<Placement>>> {
    let mut boards = Vec::new();
    let mut rest: Vec<usize> = Vec::new();
    for item_type in &types.all {
        let spots = best(item_type, sheet);
        let single = types.all.len() == 1;
        for run in item_type.items.chunks(spots.len().max(1)) {
            if run.len() < spots.len() && !single || spots.is_empty() {
                rest.extend(run);
            } else {
                boards.push(run.iter().zip(&spots).map(|(item, at)| Placement { item: *item, at: *at }).collect());
            }
        }
    }
    if boards.is_empty() {
        return None;
    }
    rest.sort_unstable();
    let left: Vec<Item> = rest.iter().filter_map(|at| items.get(*at).cloned()).collect();
    let named = |it: &Placement| rest.get(it.item).map(|item| Placement { item: *item, at: it.at });
    boards.extend(rows::layout(&left, sheet).boards.iter().map(|board| board.iter().filter_map(named).collect()));
    Some(boards)
}

/// One lattice, its rows level.
#[derive(Clone, Copy, Debug)]
struct Lattice {
    /// From one item of a row to the next of the same turn.
    period: f64,
    /// Where a cell's second item stands, seen from its first; none for one item to a cell.
    second: Option<Vec2>,
    /// From a row to the next.
    step: Vec2,
}

/// The places of as many items as the best lattice lays on one board.
fn best(item_type: &ItemType, sheet: &Sheet) -> Vec<Affine> {
    let corners: Vec<Point> = item_type.rings.iter().flatten().copied().collect();
    let band = hull(&corners);
    let mut most: (usize, f64, Vec<Affine>) = (0, f64::INFINITY, Vec::new());
    // Rows that run up the board are level rows on a board laid on its side.
    for upright in [false, true] {
        let side = if upright { 90.0 } else { 0.0 };
        let inside = sheet.inside();
        let inside = if upright { Rect::new(inside.y0, -inside.x1, inside.y1, -inside.x0) } else { inside };
        for degrees in turns(item_type, &band) {
            let turned: Ring = band.iter().map(|at| turned_by(degrees + side) * *at).collect();
            let pattern = Pattern::new(turned, sheet.gap + 2.0 * item_type.slack, inside.inset(-item_type.slack));
            pattern.search(&mut |lattice, places, count| {
                let cell = lattice.period * lattice.step.y / if lattice.second.is_some() { 2.0 } else { 1.0 };
                if count > most.0 || count == most.0 && cell < most.1 - 1e-9 {
                    let back = if upright { turned_by(270.0) } else { Affine::IDENTITY };
                    let places = places();
                    let spots = places.iter().map(|(at, half)| {
                        let turn = degrees + side + if *half { 180.0 } else { 0.0 };
                        Affine::translate((back * *at).to_vec2()) * back * turned_by(turn % 360.0)
                    });
                    most = (count, cell, clear(spots.collect(), &band, item_type, sheet));
                }
            });
        }
    }
    most.2
}

/// Every turn worth trying below half a round: those that bring the outline, or its half round, onto itself again are
/// left out.
fn turns(item_type: &ItemType, band: &[Point]) -> Vec<f64> {
    if item_type.turns == Turns::Half {
        return vec![0.0];
    }
    let near = 2.0 * item_type.slack + 1e-6;
    if lies_on_itself(band, 1.0, near) && lies_on_itself(band, 7.3, near) {
        return vec![0.0];
    }
    let order = (2..=24_u32).rev().find(|order| lies_on_itself(band, 360.0 / f64::from(*order), near)).unwrap_or(1);
    let period = 360.0 / f64::from(order);
    // A lattice with two items to a cell holds each turn and its half turn, so half a period is enough where the
    // outline is not its own half turn.
    let period = if order % 2 == 0 { period } else { period / 2.0 };
    let mut all: Vec<f64> = TURNS
        .iter()
        .flat_map(|step| (0..60).map(move |count| step * f64::from(count)).take_while(|turn| *turn < period - 1e-9))
        .collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// The places that stay clear of what is kept out of.
fn clear(spots: Vec<Affine>, band: &[Point], item_type: &ItemType, sheet: &Sheet) -> Vec<Affine> {
    if sheet.keep_out.is_empty() {
        return spots;
    }
    let rings = sheet.keep_out.flattened(1e-2);
    let rings: Vec<Ring> =
        rings.into_iter().map(|ring| ring.into_iter().map(|[x, y]| Point::new(x, y)).collect()).collect();
    let is_clear = |spot: &Affine| {
        let there: Ring = band.iter().map(|at| *spot * *at).collect();
        let shape = moved(&[there], Affine::scale(-1.0));
        Nofit::of(&swept(&rings, &shape)).short_of(Point::ORIGIN, sheet.gap + item_type.slack).is_none()
    };
    spots.into_iter().filter(is_clear).collect()
}

/// A convex outline at one turn, and how it may stand beside itself. Offsets that are not allowed form convex rings.
struct Pattern {
    /// Between two items turned alike: heights at each x.
    alike: Sides,
    /// Of an item turned half round, seen from one that is not: heights at each x.
    half: Sides,
    /// The same: how far right at each height.
    half_across: Sides,
    /// How far from one item to the next of the same turn, where nothing stands between.
    alone: f64,
    /// How far aside an item stands at most to one that it meets.
    reach: f64,
    /// The heights that `half` covers.
    heights: (f64, f64),
    /// Where the origins of either may lie.
    room: Rect,
    half_room: Rect,
}

impl Pattern {
    fn new(outline: Ring, gap: f64, inside: Rect) -> Self {
        let turned: Ring = outline.iter().map(|at| Point::new(-at.x, -at.y)).collect();
        let reach = gap / (std::f64::consts::PI / f64::from(SIDES)).cos();
        let disc: Ring = evenly(SIDES).map(|way| (way * reach).to_point()).collect();
        let grown = if gap > 0.0 { sum(&outline, &disc) } else { outline.clone() };
        let room = |ring: &[Point]| {
            let own = bounds(ring);
            Rect::new(inside.x0 - own.x0, inside.y0 - own.y0, inside.x1 - own.x1, inside.y1 - own.y1)
        };
        let (room, half_room) = (room(&outline), room(&turned));
        let (alike, half) = (sum(&grown, &turned), sum(&grown, &outline));
        let level = |ring: &[Point]| Sides::of(&ring.iter().map(|at| (at.x, at.y)).collect::<Vec<_>>());
        // Swapped coordinates run the other way round.
        let across = |ring: &[Point]| Sides::of(&ring.iter().rev().map(|at| (at.y, at.x)).collect::<Vec<_>>());
        let (alone, own) = (across(&alike).most(0.0).unwrap_or(0.0), bounds(&half));
        Self {
            alike: level(&alike),
            half: level(&half),
            half_across: across(&half),
            alone,
            reach: bounds(&alike).x1.max(own.x1).max(-own.x0),
            heights: (own.y0, own.y1),
            room,
            half_room,
        }
    }

    /// Calls back with every lattice that is tried, how to list its places, and how many they are.
    #[allow(clippy::type_complexity, reason = "one caller")]
    fn search(&self, found: &mut dyn FnMut(&Lattice, &dyn Fn() -> Vec<(Point, bool)>, usize)) {
        if self.room.x1 < self.room.x0 || self.room.y1 < self.room.y0 {
            return;
        }
        let (low, high) = self.heights;
        let heights = (1..HEIGHTS).map(|i| low + (high - low) * f64::from(i) / f64::from(HEIGHTS));
        let seconds = heights.map(|height| self.half_across.most(height).map(|x| Vec2::new(x, height)));
        for second in std::iter::once(None).chain(seconds.filter(Option::is_some)) {
            // The next item of a row touches the second from the other side.
            let width = second.and_then(|it| Some(it.x - self.half_across.least(it.y)?));
            let period = width.map_or(self.alone, |width| self.alone.max(width));
            for shift in 0..SHIFTS {
                let shift = period * f64::from(shift) / f64::from(SHIFTS);
                let lattice = Lattice { period, second, step: Vec2::new(shift, self.rise(period, second, shift)) };
                for start in self.starts(&lattice) {
                    let count = self.count(&lattice, start, &mut |_, _| {});
                    let places = || {
                        let mut places = Vec::new();
                        self.count(&lattice, start, &mut |at, half| places.push((at, half)));
                        places
                    };
                    found(&lattice, &places, count);
                }
            }
        }
    }

    /// How far above a row the next one must stand, shifted so, and every later one as often as far.
    fn rise(&self, period: f64, second: Option<Vec2>, shift: f64) -> f64 {
        let over = |x: f64| {
            let alike = self.alike.most(x).unwrap_or(0.0);
            let Some(second) = second else { return alike };
            let onto_second = self.half.most(x + second.x).map_or(0.0, |y| y - second.y);
            let from_second = self.half.least(second.x - x).map_or(0.0, |y| second.y - y);
            alike.max(onto_second).max(from_second)
        };
        let (low, high) = self.heights;
        let tallest = second.map_or((high - low) / 2.0, |second| (high - second.y).max(second.y - low));
        // Items that stand farther aside do not meet.
        let reach = self.reach + second.map_or(0.0, |second| second.x.abs());
        // A row must clear not the next one alone: where rows are low and shifted far, an item meets those two and
        // three rows below. So every row that is near enough to meet is asked, and the rise that it needs is shared
        // out among the rows.
        let (mut rise, mut rows) = (1e-3, 1.0);
        while tallest / rows > rise {
            let mut x = ((-reach - rows * shift) / period).ceil() * period + rows * shift;
            while x <= reach {
                rise = over(x).max(rise * rows) / rows;
                x += period;
            }
            rows += 1.0;
        }
        rise
    }

    /// First places worth trying: some row's first or second item against the left edge, and either at the bottom.
    fn starts(&self, lattice: &Lattice) -> Vec<Point> {
        let second = lattice.second.unwrap_or_default();
        let mut across = Vec::new();
        // Which row begins at the left edge decides how many items the rows above lose at the right one; three rows
        // show it.
        for row in 0..3 {
            let shift = lattice.step.x * f64::from(row);
            across.extend([self.room.x0 - shift, self.half_room.x0 - second.x - shift]);
        }
        let up = [self.room.y0, self.half_room.y0 - second.y];
        let all = across.iter().flat_map(|x| up.iter().map(|y| Point::new(*x, *y)));
        if lattice.second.is_some() { all.collect() } else { all.step_by(4).collect() }
    }

    /// How many items lie inside, each shown as it is counted.
    fn count(&self, lattice: &Lattice, start: Point, each: &mut dyn FnMut(Point, bool)) -> usize {
        let mut count = 0;
        for half in [false, true] {
            let offset = if half { lattice.second } else { Some(Vec2::ZERO) };
            let (Some(offset), room) = (offset, if half { self.half_room } else { self.room }) else { continue };
            let first = ((room.y0 - 1e-9 - start.y - offset.y) / lattice.step.y).ceil();
            let last = ((room.y1 + 1e-9 - start.y - offset.y) / lattice.step.y).floor();
            let mut row = first;
            while row <= last {
                let x = start.x + offset.x + row * lattice.step.x;
                let from = ((room.x0 - 1e-9 - x) / lattice.period).ceil();
                let to = ((room.x1 + 1e-9 - x) / lattice.period).floor();
                let mut column = from;
                while column <= to {
                    let y = start.y + offset.y + row * lattice.step.y;
                    each(Point::new(x + column * lattice.period, y), half);
                    count += 1;
                    column += 1.0;
                }
                row += 1.0;
            }
        }
        count
    }
}

/// The two sides of a convex ring that is looked through in one direction, each a run of rising places and values.
struct Sides {
    least: Vec<(f64, f64)>,
    most: Vec<(f64, f64)>,
}

impl Sides {
    /// The lower and the upper side of a ring that runs counter-clockwise, by place along the first coordinate.
    fn of(ring: &[(f64, f64)]) -> Self {
        let order = |a: &&(f64, f64), b: &&(f64, f64)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1));
        let count = ring.len();
        let first = (0..count)
            .min_by(|a, b| ring.get(*a).zip(ring.get(*b)).map_or(std::cmp::Ordering::Equal, |(a, b)| order(&a, &b)));
        let from_first: Vec<(f64, f64)> =
            ring.iter().cycle().skip(first.unwrap_or(0)).take(count + 1).copied().collect();
        let turn = (0..from_first.len()).max_by(|a, b| {
            from_first.get(*a).zip(from_first.get(*b)).map_or(std::cmp::Ordering::Equal, |(a, b)| order(&a, &b))
        });
        let turn = turn.unwrap_or(0);
        let least = from_first.iter().take(turn + 1).copied().collect();
        let mut most: Vec<(f64, f64)> = from_first.iter().skip(turn).copied().collect();
        most.reverse();
        Self { least, most }
    }

    /// The least value at a place; none outside.
    fn least(&self, place: f64) -> Option<f64> {
        value(&self.least, place)
    }

    /// The largest value at a place; none outside.
    fn most(&self, place: f64) -> Option<f64> {
        value(&self.most, place)
    }
}

/// The value of a run of places and values at a place between.
fn value(run: &[(f64, f64)], place: f64) -> Option<f64> {
    let after = run.partition_point(|it| it.0 < place);
    let ((a, p), (b, q)) = (*run.get(after.saturating_sub(1))?, *run.get(after)?);
    if after == 0 {
        return (b == place).then_some(q);
    }
    Some(if a == b { q } else { p + (q - p) * (place - a) / (b - a) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Region, shapes};

    fn sheet(width: f64, height: f64, gap: f64) -> Sheet {
        Sheet { width, height, margin: 0.0, gap, keep_out: Region::empty() }
    }

    fn item_type(outline: &Region, turns: Turns, sheet: &Sheet) -> ItemType {
        ItemTypes::of(&[Item::whole(outline.clone(), turns)], &[0], sheet).all.remove(0)
    }

    /// How many items the best lattice lays; the second engine finds them sound.
    fn count(outline: &Region, turns: Turns, sheet: &Sheet) -> usize {
        let spots = best(&item_type(outline, turns, sheet), sheet);
        let items = vec![Item::whole(outline.clone(), turns); spots.len()];
        let board = spots.iter().enumerate().map(|(item, at)| Placement { item, at: *at }).collect();
        assert!(super::super::verify::are_sound(&[board], &items, sheet), "{spots:?}");
        spots.len()
    }

    /// Rings convex by construction: a few of the corners of a circle, stretched.
    fn convex() -> impl proptest::strategy::Strategy<Value = Ring> {
        use proptest::prelude::*;
        (prop::collection::btree_set(0u32..24, 3..9), 0.4..1.0f64, 0.0..6.2f64).prop_filter_map(
            "a sliver",
            |(corners, flat, turned)| {
                let place = |at: u32| {
                    let corner = Vec2::from_angle(std::f64::consts::TAU * f64::from(at) / 24.0) * 10.0;
                    Affine::rotate(turned) * Point::new(corner.x, corner.y * flat)
                };
                let ring: Ring = corners.into_iter().map(place).collect();
                (crate::plan::rings::area(&ring) > 20.0).then_some(ring)
            },
        )
    }

    /// How far two convex rings stand apart: the widest gap seen along the normal of a side or from corner to corner; below
    /// zero where they overlap, by how deep.
    fn apart(a: &[Point], b: &[Point]) -> f64 {
        let sides = |ring: &[Point]| -> Vec<Vec2> {
            let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
            pairs.map(|(p, q)| Vec2::new(q.y - p.y, p.x - q.x).normalize()).collect()
        };
        let along = |way: Vec2| {
            let most = a.iter().map(|at| at.to_vec2().dot(way)).fold(f64::NEG_INFINITY, f64::max);
            b.iter().map(|at| at.to_vec2().dot(way)).fold(f64::INFINITY, f64::min) - most
        };
        let own = sides(a).into_iter().map(along);
        let theirs = sides(b).into_iter().map(|way| along(-way));
        let corners = a.iter().flat_map(|p| b.iter().map(move |q| (*q - *p).normalize())).map(along);
        own.chain(theirs).chain(corners).fold(f64::NEG_INFINITY, f64::max)
    }

    proptest::proptest! {
        #![proptest_config(crate::drawn(4))]

        /// No two neighbours of a lattice stand nearer than the gap, and some stand no farther off than its polygon's corners.
        #[test]
        fn neighbours_keep_the_gap_and_some_touch(
            outline in convex(), gap in proptest::sample::select(vec![0.0, 0.7, 3.0]),
        ) {
            let pattern = Pattern::new(outline.clone(), gap, Rect::new(0.0, 0.0, 70.0, 60.0));
            let turned: Ring = outline.iter().map(|at| Point::new(-at.x, -at.y)).collect();
            let reach = gap / (std::f64::consts::PI / f64::from(SIDES)).cos();
            let (mut lattices, mut wrong) = (0, Vec::new());
            pattern.search(&mut |lattice, _, _| {
                lattices += 1;
                // A few of the many, each with other heights and shifts.
                if lattices % 7 != 0 {
                    return;
                }
                let mut least = f64::INFINITY;
                for (row, column) in (-3i32..=3).flat_map(|row| (-6i32..=6).map(move |column| (row, column))) {
                    let by = lattice.step * f64::from(row) + Vec2::new(lattice.period * f64::from(column), 0.0);
                    let there = |ring: &Ring, by: Vec2| -> Ring { ring.iter().map(|at| *at + by).collect() };
                    if (row, column) != (0, 0) {
                        least = least.min(apart(&outline, &there(&outline, by)));
                    }
                    if let Some(second) = lattice.second {
                        least = least.min(apart(&outline, &there(&turned, by + second)));
                    }
                }
                if least < gap - 1e-6 || least > reach + 1e-6 {
                    wrong.push(format!("{lattice:?} leaves {least} for {gap}"));
                }
            });
            proptest::prop_assert!(wrong.is_empty() && lattices >= 7, "{lattices}: {wrong:?}");
        }

        /// The places listed are those of the whole lattice at which an item lies inside, found by trying all.
        #[test]
        fn every_place_inside_is_counted(outline in convex(), gap in 0.0..2.0f64, width in 25.0..60.0f64) {
            let pattern = Pattern::new(outline.clone(), gap, Rect::new(5.0, -2.0, 5.0 + width, 45.0));
            let (mut lattices, mut wrong) = (0, Vec::new());
            let inside = Rect::new(5.0, -2.0, 5.0 + width, 45.0).inflate(1e-6, 1e-6);
            let lies = |ring: Ring| ring.iter().all(|at| inside.contains(*at));
            pattern.search(&mut |lattice, places, count| {
                lattices += 1;
                let places = places();
                if lattices % 23 != 0 || places.is_empty() {
                    return;
                }
                let (first, half) = places[0];
                let start = if half { first - lattice.second.unwrap() } else { first };
                let mut all = 0;
                for (row, column) in (-40i32..=40).flat_map(|row| (-40i32..=40).map(move |column| (row, column))) {
                    let by = lattice.step * f64::from(row) + Vec2::new(lattice.period * f64::from(column), 0.0);
                    let at = start + by;
                    all += usize::from(lies(outline.iter().map(|corner| *corner + at.to_vec2()).collect()));
                    if let Some(second) = lattice.second {
                        all += usize::from(lies(outline.iter().map(|corner| (at + second) - corner.to_vec2()).collect()));
                    }
                }
                let inside = |(at, half): &(Point, bool)| {
                    let sign = if *half { -1.0 } else { 1.0 };
                    lies(outline.iter().map(|corner| *at + sign * corner.to_vec2()).collect())
                };
                if all != count || places.len() != count || !places.iter().all(inside) {
                    wrong.push(format!("{lattice:?}: {all} places, {count} counted, {} listed", places.len()));
                }
            });
            proptest::prop_assert!(wrong.is_empty() && lattices > 23, "{lattices}: {wrong:?}");
        }
    }

    /// Triangles and parallelograms fill the plane, a regular pentagon no more than (5 - sqrt 5)/3 of it by a double lattice,
    /// which is the most (Kuperberg, as above), a disc pi/sqrt 12.
    #[test]
    fn double_lattices_are_as_dense_as_is_known() {
        let densest = |outline: &Ring| {
            let mut cell = f64::INFINITY;
            let pattern = Pattern::new(outline.clone(), 0.0, Rect::new(0.0, 0.0, 90.0, 90.0));
            pattern.search(&mut |lattice, _, _| {
                let items = if lattice.second.is_some() { 2.0 } else { 1.0 };
                cell = cell.min(lattice.period * lattice.step.y / items);
            });
            crate::plan::rings::area(outline) / cell
        };
        let regular = |sides: u32| -> Ring {
            let corner = |at: u32| Vec2::from_angle(std::f64::consts::TAU * f64::from(at) / f64::from(sides)) * 10.0;
            (0..sides).map(|at| turned_by(90.0) * corner(at).to_point()).collect()
        };
        let lame: Ring = [(0.0, 0.0), (9.0, 0.0), (3.0, 7.0)].map(Point::from).to_vec();
        assert!((densest(&lame) - 1.0).abs() < 1e-6, "{}", densest(&lame));
        let slanted: Ring = [(0.0, 0.0), (8.0, 0.0), (11.0, 6.0), (3.0, 6.0)].map(Point::from).to_vec();
        assert!((densest(&slanted) - 1.0).abs() < 1e-6, "{}", densest(&slanted));
        assert!((densest(&regular(6)) - 1.0).abs() < 1e-6, "{}", densest(&regular(6)));
        let most = (5.0 - 5.0_f64.sqrt()) / 3.0;
        let found = densest(&regular(5));
        assert!(found > 0.97 * most && found < most + 1e-9, "{found} {most}");
        let round = densest(&regular(96));
        let most = std::f64::consts::PI / 12.0_f64.sqrt();
        assert!(round > 0.985 * most && round < most + 1e-3, "{round} {most}");
    }

    /// What is wider or higher than its board has no lattice there, and what just fits has.
    #[test]
    fn no_lattice_is_tried_where_nothing_fits() {
        let square: Ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from).to_vec();
        let tried = |width: f64, height: f64| {
            let mut tried = 0;
            let board = Rect::new(0.0, 0.0, width, height);
            Pattern::new(square.clone(), 0.0, board).search(&mut |_, _, _| tried += 1);
            tried
        };
        assert_eq!((tried(9.0, 30.0), tried(30.0, 9.0), tried(9.0, 9.0)), (0, 0, 0));
        assert!(tried(10.0, 30.0) > 0 && tried(30.0, 10.0) > 0);
    }

    /// Boards that are filled to the last place, reckoned by hand.
    #[test]
    fn boards_hold_what_is_reckoned_by_hand() {
        // Six and a half diameters by four rows of sqrt(3)/2: 6 in each row, the rows half a diameter apart.
        let disc = shapes::circle(5.0).unwrap();
        let high = 10.0 + 30.0 * 3.0_f64.sqrt() / 2.0 + 0.1;
        assert_eq!(count(&disc, Turns::Free, &sheet(65.1, high, 0.0)), 24);
        assert_eq!(count(&disc, Turns::Free, &sheet(high, 65.1, 0.0)), 24, "the same board laid on its side");
        // Triangles with sides of 10 along a strip as high as they are: n along the bottom, n - 1 upside down between.
        let side = 10.0;
        let triangle = shapes::polygon(3, side / 3.0_f64.sqrt(), 0.0).unwrap();
        let high = side * 3.0_f64.sqrt() / 2.0 + 1e-6;
        assert_eq!(count(&triangle, Turns::Free, &sheet(40.0 + 1e-6, high, 0.0)), 7);
        assert_eq!(count(&triangle, Turns::Half, &sheet(40.0 + 1e-6, high, 0.0)), 7, "half turns are enough");
        // Bars 4 by 20 with a gap of 1: five by three on 24 by 62, whichever way the board lies.
        let bar = shapes::rectangle(4.0, 20.0, 0.0).unwrap();
        assert_eq!(count(&bar, Turns::Half, &sheet(24.1, 62.1, 1.0)), 15);
        assert_eq!(count(&bar, Turns::Free, &sheet(62.1, 24.1, 1.0)), 15);
        assert_eq!(count(&bar, Turns::Half, &sheet(24.1, 61.9, 1.0)), 10);
        // To the last: nothing is left over on either side.
        let square = shapes::rectangle(10.0, 10.0, 0.0).unwrap();
        assert_eq!(count(&square, Turns::Half, &sheet(30.0, 20.0, 0.0)), 6);
        assert_eq!(count(&square, Turns::Half, &sheet(29.999, 20.0, 0.0)), 4);
        // A clamp in the middle takes the places that it covers.
        let mut clamped = sheet(24.1, 62.1, 1.0);
        clamped.keep_out = shapes::rectangle(3.0, 3.0, 0.0).unwrap().transformed(Affine::translate((12.05, 31.05)));
        assert_eq!(count(&bar, Turns::Half, &clamped), 14);
    }

    /// Six squares fill a board; of two types only full boards are lattices, what is left of both lies in rows.
    #[test]
    fn full_boards_are_lattices_and_the_rest_lies_in_rows() {
        let tight = sheet(30.0, 20.0, 0.0);
        let square = Item::whole(shapes::rectangle(10.0, 10.0, 0.0).unwrap(), Turns::Half);
        let bar = Item::whole(shapes::rectangle(30.0, 5.0, 0.0).unwrap(), Turns::Half);
        let laid = |items: &[Item]| {
            let types = ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), &tight);
            let boards = boards(items, &types, &tight)?;
            assert!(super::super::verify::are_sound(&boards, items, &tight));
            let mut all: Vec<usize> = boards.iter().flatten().map(|it| it.item).collect();
            all.sort_unstable();
            assert_eq!(all, (0..items.len()).collect::<Vec<_>>(), "each item once");
            Some(boards.iter().map(Vec::len).collect::<Vec<_>>())
        };
        assert_eq!(laid(&vec![square.clone(); 6]), Some(vec![6]));
        assert_eq!(laid(&vec![square.clone(); 8]), Some(vec![6, 2]));
        let mut mixed = vec![square.clone(); 8];
        mixed.extend(vec![bar.clone(); 6]);
        assert_eq!(laid(&mixed), Some(vec![6, 4, 4]), "four bars, and two squares with two bars");
        assert_eq!(laid(&[square, bar]), None, "neither fills a board");
    }

    #[test]
    fn only_turns_that_look_unlike_are_tried() {
        let tried = |outline: &Region, turns_: Turns| {
            let own = item_type(outline, turns_, &sheet(90.0, 90.0, 1.0));
            let corners: Vec<Point> = own.rings.iter().flatten().copied().collect();
            turns(&own, &hull(&corners))
        };
        let below = |found: &[f64], period: f64| {
            assert!(found.first() == Some(&0.0) && found.windows(2).all(|two| two[0] < two[1]), "{found:?}");
            assert!(found.iter().all(|turn| *turn < period), "{found:?}");
            // Every third degree is there, and no more than the eighths and tenths beside.
            let thirds = found.iter().filter(|turn| **turn % 3.0 == 0.0).count();
            assert_eq!(thirds, (period / 3.0).ceil() as usize, "{found:?}");
        };
        assert_eq!(tried(&shapes::circle(6.0).unwrap(), Turns::Free), [0.0]);
        assert_eq!(tried(&shapes::polygon(5, 6.0, 0.0).unwrap(), Turns::Half), [0.0]);
        below(&tried(&shapes::rectangle(9.0, 9.0, 0.0).unwrap(), Turns::Free), 90.0);
        below(&tried(&shapes::rectangle(9.0, 4.0, 0.0).unwrap(), Turns::Free), 180.0);
        below(&tried(&shapes::polygon(6, 6.0, 0.0).unwrap(), Turns::Free), 60.0);
        let lame = shapes::path("M0,0 L9,0 L3,7 Z").unwrap();
        below(&tried(&lame, Turns::Free), 180.0);
    }

    /// The sides of a slanted ring, by hand: from (0,0) along the bottom to (8,0) and up to (11,6); back over (3,6).
    #[test]
    fn a_ring_is_looked_through_from_below() {
        let ring = [(3.0, 6.0), (0.0, 0.0), (8.0, 0.0), (11.0, 6.0)];
        let sides = Sides::of(&ring);
        let near =
            |found: Option<f64>, wanted: f64| assert!((found.unwrap() - wanted).abs() < 1e-12, "{found:?} {wanted}");
        for (place, least, most) in
            [(0.0, 0.0, 0.0), (1.5, 0.0, 3.0), (3.0, 0.0, 6.0), (8.0, 0.0, 6.0), (9.5, 3.0, 6.0)]
        {
            near(sides.least(place), least);
            near(sides.most(place), most);
        }
        near(sides.least(11.0), 6.0);
        for outside in [-0.001, 11.001] {
            assert_eq!((sides.least(outside), sides.most(outside)), (None, None));
        }
        let upright = Sides::of(&[(0.0, 1.0), (4.0, 1.0), (4.0, 3.0), (0.0, 3.0)]);
        for place in [1.0, 4.0] {
            near(upright.least(place), 1.0);
            near(upright.most(place), 3.0);
        }
    }
}
