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
mod tests;
