//! Taking a board away and pushing what then overlaps apart.
//!
//! A guided local search: every item lies inside the margin of some board, and where two overlap, one is moved to where
//! it is pushed into its neighbours least, each neighbour counting by a weight that grows as long as the pair overlaps
//! (guided local search for nesting: Egeblad, Nielsen and Odgaard, "Fast neighborhood search for two- and
//! three-dimensional nesting problems", European Journal of Operational Research 183, 2007). The boards are taken wider at
//! first and narrowed as layouts are found, which carries the order of a loose layout over into the tight one (as strips
//! are shortened there, and in Imamichi, Yagiura and Nagamochi, "An iterated local search algorithm based on nonlinear
//! programming for the irregular strip packing problem", Discrete Optimization 6, 2009). Drawn from a seeded generator.

use std::ops::Range;

use fastrand::Rng;
use kurbo::{Affine, Point, Rect, Vec2};

use super::bound::{grown_area, may_lie_freely};
use super::item_types::ItemTypes;
use super::model::{Effort, Placement, Sheet};
use super::nofit::{Nofit, Table};
use crate::plan::rings::{Ring, quarter};

/// No search where more than this part of the boards would have to be filled, half the gap round each item included.
/// Patterns fill more, where it can be done at all.
const HOPE: f64 = 0.93;
/// Rounds of one try, and rounds without a better layout after which it ends.
const ROUNDS: usize = 400;
const PATIENCE: usize = 80;
/// Places looked at for each item that is moved: all over the boards, and near where it lies.
const FAR_SAMPLES: usize = 120;
const NEAR_SAMPLES: usize = 30;
/// How many of them are followed downhill.
const FOLLOWED: usize = 3;
/// Items are pushed farther apart than need be by this part of their size, so that the search ends.
const BEYOND: f64 = 1e-4;

// Wider boards first: on the published set `trousers` that took the work for 95 % of another optimiser's density from
// more than 15 million costs to less than 2 million, whatever the seed (measured in November 2026).
/// The boards' width on the way to the true one, in parts of it.
const WIDTHS: [f64; 4] = [1.08, 1.04, 1.02, 1.0];
/// After so many failures at one width all begins anew; else a try goes on from the best layout, two of its items swapped.
const FAILURES: u32 = 6;

/// Where an item lies.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Spot {
    board: usize,
    orientation: usize,
    at: Point,
}

/// Layouts on fewer and fewer boards, the most of `counts` first.
pub(super) fn boards(
    types: &ItemTypes,
    sheet: &Sheet,
    counts: Range<usize>,
    effort: Effort,
) -> Vec<Vec<Vec<Placement>>> {
    let filled: f64 =
        types.all.iter().map(|item_type| grown_area(item_type.area, sheet.gap) * item_type.items.len() as f64).sum();
    let table = Table::new(types);
    let keep_out = kept_out(types, sheet, &table);
    let mut found = Vec::new();
    for boards in counts.rev() {
        if filled > HOPE * sheet.room_area() * boards as f64 || !may_lie_freely(types, sheet, boards) {
            break;
        }
        let mut search = Search::new(types, &table, &keep_out, sheet.gap, boards);
        if !search.narrow(sheet.width, effort) {
            break;
        }
        found.push(search.placements());
    }
    found
}

/// For each orientation, where it must not lie for the sake of the places kept out of.
fn kept_out(types: &ItemTypes, sheet: &Sheet, table: &Table<'_>) -> Vec<Nofit> {
    if sheet.keep_out.is_empty() {
        return Vec::new();
    }
    let rings: Vec<Ring> = sheet
        .keep_out
        .flattened(1e-2)
        .into_iter()
        .map(|ring| ring.into_iter().map(|[x, y]| Point::new(x, y)).collect())
        .collect();
    (0..types.orientations.len()).filter_map(|orientation| table.fixed(orientation, &rings)).collect()
}

struct Search<'a> {
    types: &'a ItemTypes,
    table: &'a Table<'a>,
    keep_out: &'a [Nofit],
    gap: f64,
    boards: usize,
    /// How much wider the boards are taken, in mm.
    wider: f64,
    rng: Rng,
    /// The type of each item, the largest first.
    items: Vec<usize>,
    /// Which item each is among those given.
    names: Vec<usize>,
    /// The orientations of each type.
    orientations: Vec<Vec<usize>>,
    spots: Vec<Spot>,
    /// What a millimetre of overlap of two items counts at least: the side, in mm, of a square between them in area, so that
    /// depth times this follows the area shared. Of an item with itself stands for the places kept out of.
    sides: Vec<f64>,
    /// What it counts now.
    weights: Vec<f64>,
    /// The least overlap since the search began anew, in mm², and where the items lay then.
    best: (f64, Vec<Spot>),
}

impl<'a> Search<'a> {
    fn new(types: &'a ItemTypes, table: &'a Table<'a>, keep_out: &'a [Nofit], gap: f64, boards: usize) -> Self {
        let mut order: Vec<(usize, usize)> = types
            .all
            .iter()
            .enumerate()
            .flat_map(|(at, item_type)| item_type.items.iter().map(move |it| (at, *it)))
            .collect();
        let area = |item_type: usize| types.all.get(item_type).map_or(0.0, |item_type| item_type.area);
        order.sort_by(|a, b| area(b.0).total_cmp(&area(a.0)).then(a.1.cmp(&b.1)));
        let orientations = (0..types.all.len())
            .map(|item_type| {
                (0..types.orientations.len())
                    .filter(|at| types.orientations.get(*at).is_some_and(|it| it.item_type == item_type))
                    .collect()
            })
            .collect();
        let side = |item_type: usize| area(item_type).max(0.0).sqrt();
        let sides = order.iter().flat_map(|(a, _)| order.iter().map(move |(b, _)| (side(*a) * side(*b)).sqrt()));
        Self {
            types,
            table,
            keep_out,
            gap,
            boards,
            wider: 0.0,
            rng: Rng::with_seed(0),
            items: order.iter().map(|(item_type, _)| *item_type).collect(),
            names: order.iter().map(|(_, item)| *item).collect(),
            orientations,
            spots: Vec::new(),
            sides: sides.collect(),
            weights: Vec::new(),
            best: (f64::INFINITY, Vec::new()),
        }
    }

    /// Whether a layout was found on boards of this width, after fewer failing tries than the effort.
    fn narrow(&mut self, width: f64, effort: Effort) -> bool {
        let wider = |step: usize| WIDTHS.get(step).map(|times| (times - 1.0) * width);
        let (mut step, mut failures) = (0, 0);
        self.begin(wider(0).unwrap_or(0.0));
        for _ in 0..effort.0 {
            while self.run() {
                step += 1;
                failures = 0;
                let Some(wider) = wider(step) else { return true };
                self.go_on(wider);
            }
            failures += 1;
            if failures < FAILURES {
                self.disrupt();
            } else {
                (step, failures) = (0, 0);
                self.begin(wider(0).unwrap_or(0.0));
            }
        }
        false
    }

    /// Holds every item on narrower boards, all overlaps counting alike again.
    fn go_on(&mut self, wider: f64) {
        self.wider = wider;
        self.weights.clone_from(&self.sides);
        self.best = (f64::INFINITY, Vec::new());
        let held: Vec<Spot> = self.spots.iter().filter_map(|spot| self.held(*spot)).collect();
        self.spots = held;
    }

    /// Lays the items one after another, the largest first, each where it overlaps those before least.
    fn begin(&mut self, wider: f64) {
        self.wider = wider;
        self.weights.clone_from(&self.sides);
        self.spots.clear();
        self.best = (f64::INFINITY, Vec::new());
        for item in 0..self.items.len() {
            if let Some(spot) = self.best_spot(item, None) {
                self.spots.push(spot);
            }
        }
    }

    /// Goes back to the best layout and swaps two of its larger items that differ.
    fn disrupt(&mut self) {
        self.weights.clone_from(&self.sides);
        self.spots.clone_from(&self.best.1);
        let count = self.items.len();
        let large = count.div_ceil(2).max(2).min(count);
        for _ in 0..10 {
            let (a, b) = (self.rng.usize(0..large), self.rng.usize(0..large));
            // Two of one type change places for nothing.
            if self.items.get(a) == self.items.get(b) {
                continue;
            }
            let middle = |at: usize| {
                let spot = self.spots.get(at)?;
                Some((*spot, self.types.orientations.get(spot.orientation)?.room.center()))
            };
            let Some(((one, own), (two, other))) = middle(a).zip(middle(b)) else { return };
            let moved = |spot: Spot, own: Point, to: Spot, there: Point| {
                self.held(Spot { orientation: spot.orientation, board: to.board, at: own + (to.at - there) })
            };
            let (first, second) = (moved(one, own, two, other), moved(two, other, one, own));
            for (at, spot) in [(a, first), (b, second)] {
                if let (Some(place), Some(spot)) = (self.spots.get_mut(at), spot) {
                    *place = spot;
                }
            }
            return;
        }
    }

    /// Whether all overlaps could be undone.
    fn run(&mut self) -> bool {
        if self.spots.len() < self.items.len() {
            return false;
        }
        let (mut least, mut since) = (f64::INFINITY, 0);
        for _ in 0..ROUNDS {
            let mut overlapping: Vec<usize> =
                (0..self.items.len()).filter(|item| self.overlaps(*item).next().is_some()).collect();
            if overlapping.is_empty() {
                return true;
            }
            self.rng.shuffle(&mut overlapping);
            for item in overlapping {
                self.improve(item);
            }
            let total = self.reweigh();
            if total < self.best.0 {
                self.best = (total, self.spots.clone());
            }
            // Only a fiftieth less counts as progress, or ever smaller gains would use up all rounds.
            since = if total < 0.98 * least { 0 } else { since + 1 };
            least = least.min(total);
            if since > PATIENCE {
                return false;
            }
        }
        false
    }

    /// Moves an item to a better place, where it overlaps and there is one.
    fn improve(&mut self, item: usize) {
        let Some(now) = self.spots.get(item).copied() else { return };
        if self.overlaps(item).next().is_none() {
            return;
        }
        let cost = self.cost(item, now, f64::INFINITY);
        if let Some(best) = self.best_spot(item, Some(now))
            && self.cost(item, best, cost) < cost
            && let Some(spot) = self.spots.get_mut(item)
        {
            *spot = best;
        }
    }

    /// What pairs overlap now counts for more, what does not for less; gives all overlaps together, in mm².
    fn reweigh(&mut self) -> f64 {
        let count = self.items.len();
        let pairs: Vec<(usize, usize, f64)> = (0..count)
            .flat_map(|at| self.overlaps(at).map(move |(other, by)| (at, other, by)).collect::<Vec<_>>())
            .collect();
        let most = pairs.iter().map(|pair| pair.2).fold(0.0, f64::max);
        for (weight, side) in self.weights.iter_mut().zip(&self.sides) {
            // Weights fade, or a pair that overlapped long ago would count for ever and hold its items apart for
            // nothing.
            *weight = (*weight * 0.95).max(*side);
        }
        for (a, b, by) in &pairs {
            if let Some(weight) = self.weights.get_mut(a * count + b) {
                *weight *= (1.2 + 0.8 * by / most) / 0.95;
            }
        }
        pairs.iter().map(|(a, b, by)| by * self.sides.get(a * count + b).copied().unwrap_or(1.0)).sum()
    }

    /// What an item overlaps, and by how much beyond what is overlooked.
    fn overlaps(&self, item: usize) -> impl Iterator<Item = (usize, f64)> {
        let spot = self.spots.get(item).copied();
        let shorts = spot.into_iter().flat_map(move |spot| self.shorts(item, spot));
        shorts.filter(|(_, short, beyond)| short > beyond).map(|(other, short, _)| (other, short))
    }

    /// For each neighbour of an item at a spot: who, by how much it falls short of where it is pushed to, and how much of
    /// that is beyond need.
    fn shorts(&self, item: usize, spot: Spot) -> impl Iterator<Item = (usize, f64, f64)> {
        let item_type = self.types.type_of(spot.orientation);
        let (slack, beyond) = item_type.map_or((0.0, 0.0), |item_type| (item_type.slack, BEYOND * item_type.size));
        let kept =
            self.keep_out.get(spot.orientation).and_then(|kept| kept.short_of(spot.at, self.gap + slack + beyond));
        let others = self.spots.iter().enumerate().filter(move |(at, other)| *at != item && other.board == spot.board);
        let others = others.filter_map(move |(at, other)| {
            let gap = self.gap + slack + self.types.type_of(other.orientation)?.slack + beyond;
            let offset = spot.at - other.at.to_vec2();
            let short = self.table.get(other.orientation, spot.orientation)?.short_of(offset, gap)?;
            Some((at, short, beyond))
        });
        kept.map(|short| (item, short, beyond)).into_iter().chain(others)
    }

    /// What it costs an item to lie there; gives up where it is more than `limit`.
    fn cost(&self, item: usize, spot: Spot, limit: f64) -> f64 {
        let count = self.items.len();
        let mut cost = 0.0;
        for (other, short, _) in self.shorts(item, spot) {
            cost += short * self.weights.get(item * count + other).copied().unwrap_or(1.0);
            if cost >= limit {
                return f64::INFINITY;
            }
        }
        cost
    }

    /// The best place found for an item, all over the boards and near where it lies now.
    fn best_spot(&mut self, item: usize, now: Option<Spot>) -> Option<Spot> {
        let item_type = *self.items.get(item)?;
        let size = self.types.all.get(item_type)?.size;
        let mut best: Vec<(f64, Spot, f64)> = Vec::new();
        let mut keep = |search: &Self, spot: Spot, step: f64| {
            let limit =
                if best.len() < FOLLOWED { f64::INFINITY } else { best.last().map_or(f64::INFINITY, |it| it.0) };
            let cost = search.cost(item, spot, limit);
            if cost < limit {
                let at = best.partition_point(|it| it.0 <= cost);
                best.insert(at, (cost, spot, step));
                best.truncate(FOLLOWED);
            }
        };
        if let Some(now) = now {
            keep(self, now, 0.02 * size);
            for _ in 0..NEAR_SAMPLES {
                let by = Vec2::new(self.rng.f64() - 0.5, self.rng.f64() - 0.5) * (0.2 * size);
                let orientation = self.any_orientation(item_type, Some(now.orientation))?;
                keep(self, self.held(Spot { orientation, at: now.at + by, ..now })?, 0.02 * size);
            }
        }
        for _ in 0..FAR_SAMPLES {
            let orientation = self.any_orientation(item_type, None)?;
            let room = self.room(orientation)?;
            let at = room.origin() + Vec2::new(self.rng.f64() * room.width(), self.rng.f64() * room.height());
            let board = self.rng.usize(0..self.boards);
            keep(self, Spot { board, orientation, at }, 0.1 * size);
        }
        let mut winner: Option<(f64, Spot)> = None;
        for (cost, spot, step) in best {
            let found = self.downhill(item, spot, cost, step, size)?;
            if winner.is_none_or(|(least, _)| found.0 < least) {
                winner = Some(found);
            }
        }
        winner.map(|(_, spot)| spot)
    }

    /// An orientation of a type; mostly the one given.
    fn any_orientation(&mut self, item_type: usize, mostly: Option<usize>) -> Option<usize> {
        let orientations = self.orientations.get(item_type)?;
        match mostly {
            Some(orientation) if self.rng.f64() < 0.75 => Some(orientation),
            _ if orientations.is_empty() => None,
            _ => orientations.get(self.rng.usize(0..orientations.len())).copied(),
        }
    }

    /// Where the origin of an orientation may lie on the boards as wide as they are taken now.
    fn room(&self, orientation: usize) -> Option<Rect> {
        let room = self.types.orientations.get(orientation)?.room;
        Some(Rect { x1: room.x1 + self.wider, ..room })
    }

    /// The spot, held inside the room of its orientation.
    fn held(&self, spot: Spot) -> Option<Spot> {
        let room = self.room(spot.orientation)?;
        let at = Point::new(spot.at.x.clamp(room.x0, room.x1), spot.at.y.clamp(room.y0, room.y1));
        Some(Spot { at, ..spot })
    }

    /// Steps that lower the cost, ever shorter.
    fn downhill(&mut self, item: usize, from: Spot, cost: f64, step: f64, size: f64) -> Option<(f64, Spot)> {
        let (mut spot, mut cost, mut step) = (from, cost, step);
        while step > 0.3 * BEYOND * size && cost > 0.0 {
            // Half a turn of directions is enough, since each is tried both ways.
            let way = Vec2::from_angle(self.rng.f64() * std::f64::consts::PI) * step;
            let mut moved = false;
            for by in [way, -way] {
                let next = self.held(Spot { at: spot.at + by, ..spot })?;
                let there = self.cost(item, next, cost);
                if there < cost {
                    (spot, cost, moved) = (next, there, true);
                    break;
                }
            }
            step *= if moved { 1.2 } else { 0.6 };
        }
        Some((cost, spot))
    }

    fn placements(&self) -> Vec<Vec<Placement>> {
        let mut boards = vec![Vec::new(); self.boards];
        for (spot, item) in self.spots.iter().zip(&self.names) {
            let quarters = self.types.orientations.get(spot.orientation).map_or(0, |orientation| orientation.quarters);
            let at = Affine::translate(spot.at.to_vec2()) * quarter(quarters);
            if let Some(board) = boards.get_mut(spot.board) {
                board.push(Placement { item: *item, at });
            }
        }
        boards.retain(|board| !board.is_empty());
        boards
    }
}

#[cfg(test)]
mod tests {
    use super::super::model::{Item, Turns};
    use super::*;
    use crate::geometry::{Region, shapes};

    /// A square of 4 mm, a bar of 7 by 2 and a disc 6 mm wide, the disc largest; all about the origin.
    fn items() -> Vec<Item> {
        let square = shapes::rectangle(4.0, 4.0, 0.0).unwrap();
        let bar = shapes::rectangle(7.0, 2.0, 0.0).unwrap();
        let disc = shapes::circle(3.0).unwrap();
        [square, bar, disc].map(|outline| Item::whole(outline, Turns::Free)).to_vec()
    }

    fn sheet(width: f64, height: f64) -> Sheet {
        Sheet { width, height, margin: 0.0, gap: 0.5, keep_out: Region::empty() }
    }

    fn types(items: &[Item], sheet: &Sheet) -> ItemTypes {
        ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), sheet)
    }

    /// Runs a check on a search over these items, on so many boards.
    fn searching(items: &[Item], sheet: &Sheet, boards: usize, check: impl FnOnce(&mut Search)) {
        let types = types(items, sheet);
        let table = Table::new(&types);
        let keep_out = kept_out(&types, sheet, &table);
        let mut search = Search::new(&types, &table, &keep_out, sheet.gap, boards);
        search.weights.clone_from(&search.sides);
        check(&mut search);
    }

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() < within, "{found} is not {wanted}");
    }

    /// The first orientation of the item at this place in the search.
    fn spot(search: &Search, item: usize, x: f64, y: f64) -> Spot {
        Spot { board: 0, orientation: search.orientations[search.items[item]][0], at: Point::new(x, y) }
    }

    #[test]
    fn the_largest_come_first_and_weigh_by_their_sides() {
        let mut four = items();
        four.push(four[0].clone());
        searching(&four, &sheet(40.0, 30.0), 1, |search| {
            assert_eq!(search.names, [2, 0, 3, 1], "the disc of 28.3 mm², the squares of 16 and the bar of 14");
            assert_eq!(search.items, [2, 0, 0, 1]);
            assert_eq!(search.orientations.iter().map(Vec::len).collect::<Vec<_>>(), [1, 2, 1]);
            let side = |a: usize, b: usize| search.sides[4 * a + b];
            near(side(1, 2), 4.0, 1e-9);
            near(side(1, 3), (16.0_f64 * 14.0).powf(0.25), 1e-9);
            near(side(0, 0), (9.0 * std::f64::consts::PI).sqrt(), 1e-5);
            near(side(0, 1), (9.0 * std::f64::consts::PI * 16.0).powf(0.25), 1e-5);
            near(side(1, 0), side(0, 1), 1e-12);
        });
    }

    /// Two squares of 4 mm, 3 mm apart from middle to middle, lie 1 mm in each other and fall short of the gap by 1.5 mm.
    #[test]
    fn overlaps_are_as_deep_as_drawn_and_cost_what_they_weigh() {
        let two = vec![items()[0].clone(), items()[0].clone()];
        searching(&two, &sheet(40.0, 30.0), 2, |search| {
            search.spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 11.0)];
            let beyond = BEYOND * 4.0;
            let shorts: Vec<(usize, f64, f64)> = search.shorts(0, search.spots[0]).collect();
            assert_eq!((shorts.len(), shorts[0].0), (1, 1));
            near(shorts[0].1, 1.5 + beyond, 1e-9);
            near(shorts[0].2, beyond, 1e-12);
            assert_eq!(search.overlaps(1).map(|it| it.0).collect::<Vec<_>>(), [0]);
            near(search.cost(0, search.spots[0], f64::INFINITY), 4.0 * (1.5 + beyond), 1e-9);
            search.weights = vec![0.0, 7.0, 9.0, 0.0];
            near(search.cost(0, search.spots[0], f64::INFINITY), 7.0 * (1.5 + beyond), 1e-9);
            near(search.cost(1, search.spots[1], f64::INFINITY), 9.0 * (1.5 + beyond), 1e-9);
            assert_eq!(search.cost(1, search.spots[1], 9.0), f64::INFINITY, "given up");
            assert_eq!(search.cost(0, Spot { board: 1, ..search.spots[0] }, f64::INFINITY), 0.0, "another board");
            // Just far enough is no overlap, though a little more is wanted.
            search.spots[1] = spot(search, 1, 14.5, 11.0);
            assert_eq!(search.shorts(0, search.spots[0]).count(), 1);
            assert_eq!(search.overlaps(0).count(), 0);
            search.spots[1] = spot(search, 1, 14.499, 11.0);
            assert_eq!(search.overlaps(0).count(), 1);
            search.spots[1] = spot(search, 1, 14.501, 11.0);
            assert_eq!(search.shorts(0, search.spots[0]).count(), 0);
        });
    }

    #[test]
    fn places_kept_out_of_push_as_items_do() {
        let mut clamped = sheet(40.0, 30.0);
        clamped.keep_out = shapes::rectangle(4.0, 4.0, 0.0).unwrap().transformed(Affine::translate((20.0, 20.0)));
        let one = vec![items()[0].clone()];
        searching(&one, &clamped, 1, |search| {
            search.spots = vec![spot(search, 0, 17.0, 20.5)];
            let shorts: Vec<(usize, f64, f64)> = search.shorts(0, search.spots[0]).collect();
            assert_eq!((shorts.len(), shorts[0].0), (1, 0), "it overlaps itself, so to speak");
            near(shorts[0].1, 1.5 + BEYOND * 4.0, 1e-6);
            search.spots = vec![spot(search, 0, 15.0, 20.5)];
            assert_eq!(search.shorts(0, search.spots[0]).count(), 0);
        });
    }

    /// What overlaps most grows by twice its weight, what overlaps less by less; all else goes back to its side.
    #[test]
    fn pairs_that_overlap_weigh_more() {
        let three = vec![items()[0].clone(); 3];
        searching(&three, &sheet(60.0, 30.0), 1, |search| {
            search.spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 10.0), spot(search, 2, 17.0, 10.0)];
            search.weights = vec![10.0; 9];
            let total = search.reweigh();
            let beyond = BEYOND * 4.0;
            let (deep, shallow) = (1.5 + beyond, 0.5 + beyond);
            near(total, 2.0 * 4.0 * (deep + shallow), 1e-9);
            let weight = |a: usize, b: usize| search.weights[3 * a + b];
            near(weight(0, 1), 10.0 * 2.0, 1e-9);
            near(weight(1, 0), 10.0 * 2.0, 1e-9);
            near(weight(1, 2), 10.0 * (1.2 + 0.8 * shallow / deep), 1e-9);
            near(weight(0, 2), 9.5, 1e-9);
            search.weights = vec![4.1; 9];
            search.reweigh();
            near(search.weights[2], 4.0, 1e-9);
        });
    }

    #[test]
    fn spots_are_held_inside_the_board_as_wide_as_it_is_taken() {
        searching(&items(), &sheet(40.0, 30.0), 1, |search| {
            let held = |search: &Search, item: usize, x: f64, y: f64| search.held(spot(search, item, x, y)).unwrap().at;
            // The bar is the last: 3.5 and 1 mm from its middle to its sides.
            assert_eq!(held(search, 2, -5.0, 50.0), Point::new(3.5, 29.0));
            assert_eq!(held(search, 2, 99.0, -1.0), Point::new(36.5, 1.0));
            assert_eq!(held(search, 2, 20.0, 15.0), Point::new(20.0, 15.0));
            search.wider = 3.0;
            assert_eq!(held(search, 2, 99.0, -1.0), Point::new(39.5, 1.0));
            assert_eq!(search.room(search.orientations[1][0]), Some(Rect::new(3.5, 1.0, 39.5, 29.0)));
            search.spots = (0..3).map(|item| spot(search, item, 99.0, 15.0)).collect();
            search.weights = vec![99.0; 9];
            search.best = (1.0, search.spots.clone());
            search.go_on(0.0);
            assert_eq!(search.spots[2].at, Point::new(36.5, 15.0));
            assert!(
                search.weights == search.sides && search.best == (f64::INFINITY, Vec::new()) && search.wider == 0.0
            );
        });
    }

    #[test]
    fn steps_downhill_never_cost_more_and_part_what_has_room() {
        let two = vec![items()[0].clone(), items()[0].clone()];
        searching(&two, &sheet(40.0, 30.0), 1, |search| {
            search.spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 11.0)];
            for _ in 0..20 {
                let from = search.spots[1];
                let before = search.cost(1, from, f64::INFINITY);
                let (after, there) = search.downhill(1, from, before, 0.4, 4.0).unwrap();
                near(search.cost(1, there, f64::INFINITY), after, 1e-9);
                assert!(after < 0.02 * before, "{before} {after}");
                // It goes no farther than it must, or hardly: 2 mm of overlap and gap, downhill in a few steps.
                assert!(there.at.distance(from.at) < 6.0, "{:?}", there.at);
                assert_eq!(search.downhill(1, there, 0.0, 0.4, 4.0).unwrap().1, there, "nothing to be done");
            }
        });
    }

    #[test]
    fn a_item_that_overlaps_is_moved_to_where_it_overlaps_less() {
        let three = vec![items()[0].clone(); 3];
        searching(&three, &sheet(30.0, 30.0), 1, |search| {
            let spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 13.0, 11.0), spot(search, 2, 25.0, 25.0)];
            search.spots = spots.clone();
            search.improve(2);
            assert_eq!(search.spots, spots, "it overlaps nothing");
            search.improve(1);
            assert_eq!((search.spots[0], search.spots[2]), (spots[0], spots[2]));
            assert_eq!(search.overlaps(1).count(), 0, "there is room enough");
            // The best place found is the cheapest of them: no place at all costs less than nothing.
            let best = search.best_spot(1, Some(spots[1])).unwrap();
            assert_eq!(search.cost(1, best, f64::INFINITY), 0.0);
            let room = search.room(best.orientation).unwrap();
            assert!(room.inflate(1e-9, 1e-9).contains(best.at));
        });
    }

    /// Two items that differ change places, middle for middle, and are held inside the board; like ones stay.
    #[test]
    fn items_that_differ_are_swapped() {
        let (bar, square) = (items()[1].clone(), items()[0].clone());
        let long = Item::whole(shapes::rectangle(9.0, 2.0, 0.0).unwrap(), Turns::Free);
        searching(&[long, bar], &sheet(40.0, 30.0), 2, |search| {
            let mut spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 36.0, 25.0)];
            spots[1].board = 1;
            search.best = (5.0, spots.clone());
            search.weights = vec![50.0; 4];
            search.disrupt();
            assert!(search.weights == search.sides);
            // Rooms are about the middle of the board, so the long bar's place at the edge is half a millimetre in.
            assert_eq!((search.spots[0].at, search.spots[0].board), (Point::new(35.5, 25.0), 1));
            assert_eq!((search.spots[1].at, search.spots[1].board), (Point::new(10.0, 10.0), 0));
            assert_eq!(
                (search.spots[0].orientation, search.spots[1].orientation),
                (spots[0].orientation, spots[1].orientation)
            );
        });
        searching(&[square.clone(), square], &sheet(40.0, 30.0), 1, |search| {
            let spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 30.0, 25.0)];
            search.best = (5.0, spots.clone());
            search.disrupt();
            assert_eq!(search.spots, spots);
        });
    }

    #[test]
    fn items_are_laid_one_after_another_and_told_board_by_board() {
        let mut six = items();
        six.extend(items());
        searching(&six, &sheet(30.0, 20.0), 3, |search| {
            search.best = (1.0, Vec::new());
            search.begin(2.0);
            assert_eq!((search.spots.len(), search.wider, search.best.0), (6, 2.0, f64::INFINITY));
            assert!((0..6).all(|item| search.overlaps(item).next().is_none()), "there is room for all");
            assert!(search.run());
            search.spots.truncate(5);
            assert!(!search.run(), "one is missing");
            search.begin(0.0);
            for (at, board) in [2, 0, 0, 2, 0, 2].into_iter().enumerate() {
                search.spots[at].board = board;
            }
            let boards = search.placements();
            assert_eq!(boards.iter().map(Vec::len).collect::<Vec<_>>(), [3, 3], "an empty board is none");
            let names = |board: &[Placement]| board.iter().map(|it| it.item).collect::<Vec<_>>();
            assert_eq!((names(&boards[0]), names(&boards[1])), (vec![5, 0, 1], vec![2, 3, 4]));
            for (board, at) in [(0, 0), (0, 2), (1, 1)] {
                let placement = boards[board][at];
                let place = search.names.iter().position(|name| *name == placement.item).unwrap();
                assert_eq!(placement.at * Point::ORIGIN, search.spots[place].at);
                let bounds = six[placement.item].outline.transformed(placement.at).bounds().unwrap();
                assert!(
                    Rect::new(0.0, 0.0, 30.0, 20.0).inflate(1e-6, 1e-6).contains_rect(bounds),
                    "turned as its orientation is"
                );
            }
        });
    }

    #[test]
    fn forms_are_drawn_from_those_of_the_kind() {
        searching(&items(), &sheet(40.0, 30.0), 1, |search| {
            let (lying, upright) = (search.orientations[1][0], search.orientations[1][1]);
            let mut drawn = |mostly: Option<usize>| {
                let upright = (0..1000).filter(|_| search.any_orientation(1, mostly) == Some(upright)).count();
                upright as f64 / 1000.0
            };
            // Three of four stay as they are, and half of the others too.
            near(drawn(Some(upright)), 0.875, 0.05);
            near(drawn(Some(lying)), 0.125, 0.05);
            near(drawn(None), 0.5, 0.06);
        });
    }

    /// Nothing is searched for that fills more than is to be hoped, and fewer boards are found where they are possible.
    #[test]
    fn boards_are_saved_where_there_is_room() {
        let square = shapes::rectangle(9.5, 9.5, 0.0).unwrap();
        let found = |count: usize, side: f64, counts: Range<usize>| {
            let items = vec![Item::whole(square.clone(), Turns::Half); count];
            let sheet = sheet(side, side);
            boards(&types(&items, &sheet), &sheet, counts, Effort(2))
        };
        let laid = found(4, 22.0, 1..4);
        assert_eq!(laid.len(), 3);
        assert!(
            laid.iter()
                .zip([3, 2, 1])
                .all(|(boards, most)| boards.len() <= most && boards.iter().flatten().count() == 4)
        );
        for board in laid.iter().flatten() {
            let lying: Vec<Region> = board.iter().map(|it| square.transformed(it.at)).collect();
            for (at, one) in lying.iter().enumerate() {
                assert!(lying[at + 1..].iter().all(|other| one.distance(other).unwrap().distance > 0.499));
            }
        }
        assert!(found(5, 22.0, 1..2).is_empty(), "five would fill more than there is");
        assert!(found(4, 20.0, 1..2).is_empty(), "four would have to fill 98 of 100");
        assert!(found(4, 22.0, 1..1).is_empty());
    }
}
