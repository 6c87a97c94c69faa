//! Taking a board away and pushing what then overlaps apart.
//!
//! A guided local search: every piece lies inside the margin of some board, and where two overlap, one is moved to where
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
use super::form::{Kinds, Ring, quarter};
use super::nofit::{Nofit, Table};
use super::{Effort, Placement, Sheet};

/// No search where more than this part of the boards would have to be filled, half the gap round each piece included.
/// Patterns fill more, where it can be done at all.
const HOPE: f64 = 0.93;
/// Rounds of one try, and rounds without a better layout after which it ends.
const ROUNDS: usize = 400;
const PATIENCE: usize = 80;
/// Places looked at for each piece that is moved: all over the boards, and near where it lies.
const FAR_SAMPLES: usize = 120;
const NEAR_SAMPLES: usize = 30;
/// How many of them are followed downhill.
const FOLLOWED: usize = 3;
/// Pieces are pushed farther apart than need be by this part of their size, so that the search ends.
const BEYOND: f64 = 1e-4;

/// The boards' width on the way to the true one, in parts of it.
const WIDTHS: [f64; 4] = [1.08, 1.04, 1.02, 1.0];
/// After so many failures at one width all begins anew; else a try goes on from the best layout, two of its pieces swapped.
const FAILURES: u32 = 6;

/// Where a piece lies.
#[derive(Clone, Copy, PartialEq)]
struct Spot {
    board: usize,
    form: usize,
    at: Point,
}

/// Layouts on fewer and fewer boards, the most of `counts` first.
pub(super) fn boards(kinds: &Kinds, sheet: &Sheet, counts: Range<usize>, effort: Effort) -> Vec<Vec<Vec<Placement>>> {
    let filled: f64 = kinds.kinds.iter().map(|kind| grown_area(kind.area, sheet.gap) * kind.pieces.len() as f64).sum();
    let table = Table::new(kinds);
    let keep_out = kept_out(kinds, sheet, &table);
    let mut found = Vec::new();
    for boards in counts.rev() {
        if filled > HOPE * sheet.room_area() * boards as f64 || !may_lie_freely(kinds, sheet, boards) {
            break;
        }
        let mut search = Search::new(kinds, &table, &keep_out, sheet.gap, boards);
        if !search.narrow(sheet.width, effort) {
            break;
        }
        found.push(search.placements());
    }
    found
}

/// For each form, where it must not lie for the sake of the places kept out of.
fn kept_out(kinds: &Kinds, sheet: &Sheet, table: &Table<'_>) -> Vec<Nofit> {
    if sheet.keep_out.is_empty() {
        return Vec::new();
    }
    let rings: Vec<Ring> = sheet
        .keep_out
        .flattened(1e-2)
        .into_iter()
        .map(|ring| ring.into_iter().map(|[x, y]| Point::new(x, y)).collect())
        .collect();
    (0..kinds.forms.len()).filter_map(|form| table.fixed(form, &rings)).collect()
}

struct Search<'a> {
    kinds: &'a Kinds,
    table: &'a Table<'a>,
    keep_out: &'a [Nofit],
    gap: f64,
    boards: usize,
    /// How much wider the boards are taken, in mm.
    wider: f64,
    rng: Rng,
    /// The kind of each piece, the largest first.
    pieces: Vec<usize>,
    /// Which piece each is among those given.
    names: Vec<usize>,
    /// The forms of each kind.
    forms: Vec<Vec<usize>>,
    spots: Vec<Spot>,
    /// What a millimetre of overlap of two pieces counts at least: the side, in mm, of a square between them in area, so that
    /// depth times this follows the area shared. Of a piece with itself stands for the places kept out of.
    sides: Vec<f64>,
    /// What it counts now.
    weights: Vec<f64>,
    /// The least overlap since the search began anew, in mm², and where the pieces lay then.
    best: (f64, Vec<Spot>),
}

impl<'a> Search<'a> {
    fn new(kinds: &'a Kinds, table: &'a Table<'a>, keep_out: &'a [Nofit], gap: f64, boards: usize) -> Self {
        let mut order: Vec<(usize, usize)> =
            kinds.kinds.iter().enumerate().flat_map(|(at, kind)| kind.pieces.iter().map(move |it| (at, *it))).collect();
        let area = |kind: usize| kinds.kinds.get(kind).map_or(0.0, |kind| kind.area);
        order.sort_by(|a, b| area(b.0).total_cmp(&area(a.0)).then(a.1.cmp(&b.1)));
        let forms = (0..kinds.kinds.len())
            .map(|kind| {
                (0..kinds.forms.len()).filter(|at| kinds.forms.get(*at).is_some_and(|it| it.kind == kind)).collect()
            })
            .collect();
        let side = |kind: usize| area(kind).max(0.0).sqrt();
        let sides = order.iter().flat_map(|(a, _)| order.iter().map(move |(b, _)| (side(*a) * side(*b)).sqrt()));
        Self {
            kinds,
            table,
            keep_out,
            gap,
            boards,
            wider: 0.0,
            rng: Rng::with_seed(0),
            pieces: order.iter().map(|(kind, _)| *kind).collect(),
            names: order.iter().map(|(_, piece)| *piece).collect(),
            forms,
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

    /// Holds every piece on narrower boards, all overlaps counting alike again.
    fn go_on(&mut self, wider: f64) {
        self.wider = wider;
        self.weights.clone_from(&self.sides);
        self.best = (f64::INFINITY, Vec::new());
        let held: Vec<Spot> = self.spots.iter().filter_map(|spot| self.held(*spot)).collect();
        self.spots = held;
    }

    /// Lays the pieces one after another, the largest first, each where it overlaps those before least.
    fn begin(&mut self, wider: f64) {
        self.wider = wider;
        self.weights.clone_from(&self.sides);
        self.spots.clear();
        self.best = (f64::INFINITY, Vec::new());
        for piece in 0..self.pieces.len() {
            if let Some(spot) = self.best_spot(piece, None) {
                self.spots.push(spot);
            }
        }
    }

    /// Goes back to the best layout and swaps two of its larger pieces that differ.
    fn disrupt(&mut self) {
        self.weights.clone_from(&self.sides);
        self.spots.clone_from(&self.best.1);
        let count = self.pieces.len();
        let large = count.div_ceil(2).max(2).min(count);
        for _ in 0..10 {
            let (a, b) = (self.rng.usize(0..large), self.rng.usize(0..large));
            if self.pieces.get(a) == self.pieces.get(b) {
                continue;
            }
            let middle = |at: usize| {
                let spot = self.spots.get(at)?;
                Some((*spot, self.kinds.forms.get(spot.form)?.room.center()))
            };
            let Some(((one, own), (two, other))) = middle(a).zip(middle(b)) else { return };
            let moved = |spot: Spot, own: Point, to: Spot, there: Point| {
                self.held(Spot { form: spot.form, board: to.board, at: own + (to.at - there) })
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
        if self.spots.len() < self.pieces.len() {
            return false;
        }
        let (mut least, mut since) = (f64::INFINITY, 0);
        for _ in 0..ROUNDS {
            let mut overlapping: Vec<usize> =
                (0..self.pieces.len()).filter(|piece| self.overlaps(*piece).next().is_some()).collect();
            if overlapping.is_empty() {
                return true;
            }
            self.rng.shuffle(&mut overlapping);
            for piece in overlapping {
                self.improve(piece);
            }
            let total = self.reweigh();
            if total < self.best.0 {
                self.best = (total, self.spots.clone());
            }
            since = if total < 0.98 * least { 0 } else { since + 1 };
            least = least.min(total);
            if since > PATIENCE {
                return false;
            }
        }
        false
    }

    /// Moves a piece to a better place, where it overlaps and there is one.
    fn improve(&mut self, piece: usize) {
        let Some(now) = self.spots.get(piece).copied() else { return };
        if self.overlaps(piece).next().is_none() {
            return;
        }
        let cost = self.cost(piece, now, f64::INFINITY);
        if let Some(best) = self.best_spot(piece, Some(now))
            && self.cost(piece, best, cost) < cost
            && let Some(spot) = self.spots.get_mut(piece)
        {
            *spot = best;
        }
    }

    /// What pairs overlap now counts for more, what does not for less; gives all overlaps together, in mm².
    fn reweigh(&mut self) -> f64 {
        let count = self.pieces.len();
        let pairs: Vec<(usize, usize, f64)> = (0..count)
            .flat_map(|at| self.overlaps(at).map(move |(other, by)| (at, other, by)).collect::<Vec<_>>())
            .collect();
        let most = pairs.iter().map(|pair| pair.2).fold(0.0, f64::max);
        for (weight, side) in self.weights.iter_mut().zip(&self.sides) {
            *weight = (*weight * 0.95).max(*side);
        }
        for (a, b, by) in &pairs {
            if let Some(weight) = self.weights.get_mut(a * count + b) {
                *weight *= (1.2 + 0.8 * by / most) / 0.95;
            }
        }
        pairs.iter().map(|(a, b, by)| by * self.sides.get(a * count + b).copied().unwrap_or(1.0)).sum()
    }

    /// What a piece overlaps, and by how much beyond what is overlooked.
    fn overlaps(&self, piece: usize) -> impl Iterator<Item = (usize, f64)> {
        let spot = self.spots.get(piece).copied();
        let shorts = spot.into_iter().flat_map(move |spot| self.shorts(piece, spot));
        shorts.filter(|(_, short, beyond)| short > beyond).map(|(other, short, _)| (other, short))
    }

    /// For each neighbour of a piece at a spot: who, by how much it falls short of where it is pushed to, and how much of
    /// that is beyond need.
    fn shorts(&self, piece: usize, spot: Spot) -> impl Iterator<Item = (usize, f64, f64)> {
        let kind = self.kinds.kind_of(spot.form);
        let (slack, beyond) = kind.map_or((0.0, 0.0), |kind| (kind.slack, BEYOND * kind.size));
        let kept = self.keep_out.get(spot.form).and_then(|kept| kept.short_of(spot.at, self.gap + slack + beyond));
        let others = self.spots.iter().enumerate().filter(move |(at, other)| *at != piece && other.board == spot.board);
        let others = others.filter_map(move |(at, other)| {
            let gap = self.gap + slack + self.kinds.kind_of(other.form)?.slack + beyond;
            let offset = spot.at - other.at.to_vec2();
            let short = self.table.get(other.form, spot.form)?.short_of(offset, gap)?;
            Some((at, short, beyond))
        });
        kept.map(|short| (piece, short, beyond)).into_iter().chain(others)
    }

    /// What it costs a piece to lie there; gives up where it is more than `limit`.
    fn cost(&self, piece: usize, spot: Spot, limit: f64) -> f64 {
        let count = self.pieces.len();
        let mut cost = 0.0;
        for (other, short, _) in self.shorts(piece, spot) {
            cost += short * self.weights.get(piece * count + other).copied().unwrap_or(1.0);
            if cost >= limit {
                return f64::INFINITY;
            }
        }
        cost
    }

    /// The best place found for a piece, all over the boards and near where it lies now.
    fn best_spot(&mut self, piece: usize, now: Option<Spot>) -> Option<Spot> {
        let kind = *self.pieces.get(piece)?;
        let size = self.kinds.kinds.get(kind)?.size;
        let mut best: Vec<(f64, Spot, f64)> = Vec::new();
        let mut keep = |search: &Self, spot: Spot, step: f64| {
            let limit =
                if best.len() < FOLLOWED { f64::INFINITY } else { best.last().map_or(f64::INFINITY, |it| it.0) };
            let cost = search.cost(piece, spot, limit);
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
                let form = self.any_form(kind, Some(now.form))?;
                keep(self, self.held(Spot { form, at: now.at + by, ..now })?, 0.02 * size);
            }
        }
        for _ in 0..FAR_SAMPLES {
            let form = self.any_form(kind, None)?;
            let room = self.room(form)?;
            let at = room.origin() + Vec2::new(self.rng.f64() * room.width(), self.rng.f64() * room.height());
            let board = self.rng.usize(0..self.boards);
            keep(self, Spot { board, form, at }, 0.1 * size);
        }
        let mut winner: Option<(f64, Spot)> = None;
        for (cost, spot, step) in best {
            let found = self.downhill(piece, spot, cost, step, size)?;
            if winner.is_none_or(|(least, _)| found.0 < least) {
                winner = Some(found);
            }
        }
        winner.map(|(_, spot)| spot)
    }

    /// A form of a kind; mostly the one given.
    fn any_form(&mut self, kind: usize, mostly: Option<usize>) -> Option<usize> {
        let forms = self.forms.get(kind)?;
        match mostly {
            Some(form) if self.rng.f64() < 0.75 => Some(form),
            _ if forms.is_empty() => None,
            _ => forms.get(self.rng.usize(0..forms.len())).copied(),
        }
    }

    /// Where the origin of a form may lie on the boards as wide as they are taken now.
    fn room(&self, form: usize) -> Option<Rect> {
        let room = self.kinds.forms.get(form)?.room;
        Some(Rect { x1: room.x1 + self.wider, ..room })
    }

    /// The spot, held inside the room of its form.
    fn held(&self, spot: Spot) -> Option<Spot> {
        let room = self.room(spot.form)?;
        let at = Point::new(spot.at.x.clamp(room.x0, room.x1), spot.at.y.clamp(room.y0, room.y1));
        Some(Spot { at, ..spot })
    }

    /// Steps that lower the cost, ever shorter.
    fn downhill(&mut self, piece: usize, from: Spot, cost: f64, step: f64, size: f64) -> Option<(f64, Spot)> {
        let (mut spot, mut cost, mut step) = (from, cost, step);
        while step > 0.3 * BEYOND * size && cost > 0.0 {
            let way = Vec2::from_angle(self.rng.f64() * std::f64::consts::PI) * step;
            let mut moved = false;
            for by in [way, -way] {
                let next = self.held(Spot { at: spot.at + by, ..spot })?;
                let there = self.cost(piece, next, cost);
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
        for (spot, piece) in self.spots.iter().zip(&self.names) {
            let quarters = self.kinds.forms.get(spot.form).map_or(0, |form| form.quarters);
            let at = Affine::translate(spot.at.to_vec2()) * quarter(quarters);
            if let Some(board) = boards.get_mut(spot.board) {
                board.push(Placement { piece: *piece, at });
            }
        }
        boards.retain(|board| !board.is_empty());
        boards
    }
}
