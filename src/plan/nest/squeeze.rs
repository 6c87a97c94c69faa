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
#[derive(Clone, Copy, Debug, PartialEq)]
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

#[cfg(test)]
mod tests {
    use super::super::{Piece, Turns};
    use super::*;
    use crate::geometry::{Region, shapes};

    /// A square of 4 mm, a bar of 7 by 2 and a disc 6 mm wide, the disc largest; all about the origin.
    fn pieces() -> Vec<Piece> {
        let square = shapes::rectangle(4.0, 4.0, 0.0).unwrap();
        let bar = shapes::rectangle(7.0, 2.0, 0.0).unwrap();
        let disc = shapes::circle(3.0).unwrap();
        [square, bar, disc].map(|outline| Piece::whole(outline, Turns::Free)).to_vec()
    }

    fn sheet(width: f64, height: f64) -> Sheet {
        Sheet { width, height, margin: 0.0, gap: 0.5, keep_out: Region::empty() }
    }

    fn kinds(pieces: &[Piece], sheet: &Sheet) -> Kinds {
        Kinds::of(pieces, &(0..pieces.len()).collect::<Vec<_>>(), sheet)
    }

    /// Runs a check on a search over these pieces, on so many boards.
    fn searching(pieces: &[Piece], sheet: &Sheet, boards: usize, check: impl FnOnce(&mut Search)) {
        let kinds = kinds(pieces, sheet);
        let table = Table::new(&kinds);
        let keep_out = kept_out(&kinds, sheet, &table);
        let mut search = Search::new(&kinds, &table, &keep_out, sheet.gap, boards);
        search.weights.clone_from(&search.sides);
        check(&mut search);
    }

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() < within, "{found} is not {wanted}");
    }

    /// The first form of the piece at this place in the search.
    fn spot(search: &Search, piece: usize, x: f64, y: f64) -> Spot {
        Spot { board: 0, form: search.forms[search.pieces[piece]][0], at: Point::new(x, y) }
    }

    #[test]
    fn the_largest_come_first_and_weigh_by_their_sides() {
        let mut four = pieces();
        four.push(four[0].clone());
        searching(&four, &sheet(40.0, 30.0), 1, |search| {
            assert_eq!(search.names, [2, 0, 3, 1], "the disc of 28.3 mm², the squares of 16 and the bar of 14");
            assert_eq!(search.pieces, [2, 0, 0, 1]);
            assert_eq!(search.forms.iter().map(Vec::len).collect::<Vec<_>>(), [1, 2, 1]);
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
        let two = vec![pieces()[0].clone(), pieces()[0].clone()];
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
    fn places_kept_out_of_push_as_pieces_do() {
        let mut clamped = sheet(40.0, 30.0);
        clamped.keep_out = shapes::rectangle(4.0, 4.0, 0.0).unwrap().transformed(Affine::translate((20.0, 20.0)));
        let one = vec![pieces()[0].clone()];
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
        let three = vec![pieces()[0].clone(); 3];
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
        searching(&pieces(), &sheet(40.0, 30.0), 1, |search| {
            let held =
                |search: &Search, piece: usize, x: f64, y: f64| search.held(spot(search, piece, x, y)).unwrap().at;
            // The bar is the last: 3.5 and 1 mm from its middle to its sides.
            assert_eq!(held(search, 2, -5.0, 50.0), Point::new(3.5, 29.0));
            assert_eq!(held(search, 2, 99.0, -1.0), Point::new(36.5, 1.0));
            assert_eq!(held(search, 2, 20.0, 15.0), Point::new(20.0, 15.0));
            search.wider = 3.0;
            assert_eq!(held(search, 2, 99.0, -1.0), Point::new(39.5, 1.0));
            assert_eq!(search.room(search.forms[1][0]), Some(Rect::new(3.5, 1.0, 39.5, 29.0)));
            search.spots = (0..3).map(|piece| spot(search, piece, 99.0, 15.0)).collect();
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
        let two = vec![pieces()[0].clone(), pieces()[0].clone()];
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
    fn a_piece_that_overlaps_is_moved_to_where_it_overlaps_less() {
        let three = vec![pieces()[0].clone(); 3];
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
            let room = search.room(best.form).unwrap();
            assert!(room.inflate(1e-9, 1e-9).contains(best.at));
        });
    }

    /// Two pieces that differ change places, middle for middle, and are held inside the board; like ones stay.
    #[test]
    fn pieces_that_differ_are_swapped() {
        let (bar, square) = (pieces()[1].clone(), pieces()[0].clone());
        let long = Piece::whole(shapes::rectangle(9.0, 2.0, 0.0).unwrap(), Turns::Free);
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
            assert_eq!((search.spots[0].form, search.spots[1].form), (spots[0].form, spots[1].form));
        });
        searching(&[square.clone(), square], &sheet(40.0, 30.0), 1, |search| {
            let spots = vec![spot(search, 0, 10.0, 10.0), spot(search, 1, 30.0, 25.0)];
            search.best = (5.0, spots.clone());
            search.disrupt();
            assert_eq!(search.spots, spots);
        });
    }

    #[test]
    fn pieces_are_laid_one_after_another_and_told_board_by_board() {
        let mut six = pieces();
        six.extend(pieces());
        searching(&six, &sheet(30.0, 20.0), 3, |search| {
            search.best = (1.0, Vec::new());
            search.begin(2.0);
            assert_eq!((search.spots.len(), search.wider, search.best.0), (6, 2.0, f64::INFINITY));
            assert!((0..6).all(|piece| search.overlaps(piece).next().is_none()), "there is room for all");
            assert!(search.run());
            search.spots.truncate(5);
            assert!(!search.run(), "one is missing");
            search.begin(0.0);
            for (at, board) in [2, 0, 0, 2, 0, 2].into_iter().enumerate() {
                search.spots[at].board = board;
            }
            let boards = search.placements();
            assert_eq!(boards.iter().map(Vec::len).collect::<Vec<_>>(), [3, 3], "an empty board is none");
            let names = |board: &[Placement]| board.iter().map(|it| it.piece).collect::<Vec<_>>();
            assert_eq!((names(&boards[0]), names(&boards[1])), (vec![5, 0, 1], vec![2, 3, 4]));
            for (board, at) in [(0, 0), (0, 2), (1, 1)] {
                let placement = boards[board][at];
                let place = search.names.iter().position(|name| *name == placement.piece).unwrap();
                assert_eq!(placement.at * Point::ORIGIN, search.spots[place].at);
                let bounds = six[placement.piece].outline.transformed(placement.at).bounds().unwrap();
                assert!(
                    Rect::new(0.0, 0.0, 30.0, 20.0).inflate(1e-6, 1e-6).contains_rect(bounds),
                    "turned as its form is"
                );
            }
        });
    }

    #[test]
    fn forms_are_drawn_from_those_of_the_kind() {
        searching(&pieces(), &sheet(40.0, 30.0), 1, |search| {
            let (lying, upright) = (search.forms[1][0], search.forms[1][1]);
            let mut drawn = |mostly: Option<usize>| {
                let upright = (0..1000).filter(|_| search.any_form(1, mostly) == Some(upright)).count();
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
            let pieces = vec![Piece::whole(square.clone(), Turns::Half); count];
            let sheet = sheet(side, side);
            boards(&kinds(&pieces, &sheet), &sheet, counts, Effort(2))
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
