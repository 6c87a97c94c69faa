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
mod tests;
