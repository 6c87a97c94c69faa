//! Dials made within the spreads, and what share of them reads right.
//!
//! What a dial keeps for good (its kerf, its pockets, how magnets and layers were glued) is drawn. Of what is anew each time it is
//! set, the placing of its stops is integrated exactly for each dial drawn, over one turn after the other where several are
//! bounded apart (Genz, Numerical computation of multivariate normal probabilities, 1992), and pushes off the axis that are too
//! short to matter are counted without being drawn. Shifts are as likely in any direction, so each dial drawn is looked at
//! turned eight ways. So a few hundred dials tell what plain draws take a million for. They are spread evenly by multiples of
//! the roots of primes (Richtmyer, 1951), begun at eight random places: the spread of the eight answers tells the error.

use fastrand::Rng;
use kurbo::Vec2;

use super::bound::Bound;
use super::causes::Causes;
use super::look::{Case, Frame, Look, Looks, MovedAlike};
use super::made::{Laid, Made, Strayed, turned};
use super::rays::{TURNED, Windows};
use super::share::Share;
use crate::parallel::change_in_halves;
use crate::statistics::{Mean, normal};
use crate::work::spend_on;

/// Answers that are compared.
const REPLICATES: usize = 8;
/// Dials drawn for each of them at first, and at most.
const FIRST: u32 = 4;
const MOST: u32 = 1024;
/// No more are drawn once the whole dial's share is known to within this, by so many for each of them: eight answers of a few
/// agree by chance too often.
const SOME: u32 = 32;
const ENOUGH: f64 = 5e-4;
/// Turns of one reading that are told apart; more than any dial has.
const LOTS: usize = 32;
/// Settings looked at before it is left at what is known, and how many bounds of turns that are bounded apart count for one.
const LOOKS: usize = 7_000;
/// So many times as many are looked at while the whole dial's share is not known to within this.
const LONGER: usize = 8;
const ROUGH: f64 = 0.01;
const BOUNDS: usize = 24;

/// The chance of each way that a dial drawn is turned.
type Chances = [f64; TURNED];

/// Turned as far as one likes, and not at all.
const FREE: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
const SHUT: (f64, f64) = (f64::INFINITY, f64::NEG_INFINITY);

/// Readings that cross the same turns are looked at together: one setting of the dial shows them all.
pub(super) struct Setting<'a> {
    /// The turns, by order in the stack, and the stop of each.
    turns: &'a [usize],
    stops: &'a [usize],
    parts: Vec<Part<'a>>,
    /// The turns that are integrated over together.
    lots: Vec<&'a [usize]>,
}

/// One reading in a setting.
struct Part<'a> {
    /// Where its answer belongs.
    place: (usize, usize),
    case: &'a Case,
    /// How its pockets and glued layers lie.
    look: &'a Look,
    /// Each bound with the last lot that moves it, and as bits all lots that do.
    bounds: Vec<(&'a Bound, usize, u32)>,
    /// What shifts each motion: its sign, the frames of its turns, and its glued joints.
    shifts: Vec<(f64, Vec<Frame>, &'a [usize])>,
}

/// What each setting and each reading of it came to, as sums over the dials of a replicate.
#[derive(Clone, Default)]
struct Sums {
    dials: f64,
    dial: f64,
    parts: Vec<f64>,
}

/// What was found.
pub(super) struct Drawn {
    /// The whole dial.
    pub dial: Share,
    /// Each reading and stop that may fail.
    pub parts: Vec<((usize, usize), Share)>,
}

impl<'a> Setting<'a> {
    /// The same stop of readings that cross these turns; none where nothing can fail there.
    pub(super) fn of(
        turns: &'a [usize],
        stops: &'a [usize],
        looks: impl Iterator<Item = ((usize, usize), &'a Looks, &'a Look)>,
    ) -> Option<Self> {
        let mut together = true;
        let mut found = Vec::new();
        for (place, looks, look) in looks {
            let case = looks.cases.get(look.case).and_then(Option::as_ref).filter(|case| !case.bounds.is_empty());
            let Some(case) = case else { continue };
            together &= case.alike.is_some();
            found.push((place, look, case));
        }
        let apart = turns.iter().map(std::slice::from_ref);
        let lots: Vec<&[usize]> = if together { vec![turns] } else { apart.collect() };
        let apart = |case: &'a Case| if together { &[] as &[Bound] } else { case.bounds.as_slice() };
        let parts = found.into_iter().map(|(place, look, case)| Part {
            place,
            case,
            look,
            bounds: apart(case)
                .iter()
                .map(|bound| {
                    let motion = case.motions.get(bound.motion).map_or(&[] as &[usize], |motion| &motion.turns);
                    let moves = |lot: &[usize]| lot.iter().any(|turn| motion.contains(turn));
                    let bits = lots
                        .iter()
                        .take(LOTS)
                        .enumerate()
                        .filter(|(_, lot)| moves(lot))
                        .fold(0_u32, |bits, (at, _)| bits | 1 << at);
                    let last = bits.checked_ilog2().and_then(|last| usize::try_from(last).ok()).unwrap_or(0);
                    (bound, last, bits)
                })
                .collect(),
            shifts: case
                .motions
                .iter()
                .map(|motion| {
                    let frames = look.frames.iter().filter(|frame| motion.turns.contains(&frame.turn));
                    (motion.sign, frames.copied().collect(), motion.glued.as_slice())
                })
                .collect(),
        });
        let parts: Vec<Part<'a>> = parts.collect();
        (!parts.is_empty()).then_some(Self { turns, stops, parts, lots })
    }
}

/// Draws dials until enough is known.
pub(super) fn drawn(settings: &[Setting], causes: &Causes) -> Drawn {
    let places: Vec<(usize, usize)> =
        settings.iter().flat_map(|setting| &setting.parts).map(|part| part.place).collect();
    if places.is_empty() {
        return Drawn { dial: Share { share: 1.0, plus_minus: 0.0 }, parts: Vec::new() };
    }
    let once: usize =
        settings.iter().flat_map(|setting| &setting.parts).map(|part| 1 + part.bounds.len() / BOUNDS).sum();
    let mut replicates: Vec<Replicate> =
        (0..REPLICATES).map(|seed| Replicate::new(seed, causes, (settings.len(), places.len()))).collect();
    let (mut done, mut goal) = (0, FIRST);
    loop {
        // Each dial lays every joint and looks at every setting.
        spend_on(once * REPLICATES * (goal - done) as usize, 200 + 100 * causes.glued.len() as u64);
        change_in_halves(&mut replicates, |replicate| replicate.draw(done..goal, settings, causes));
        let dial = share(&replicates, |sums| sums.dial);
        let spent = once.saturating_mul(REPLICATES).saturating_mul(usize::try_from(goal).unwrap_or(usize::MAX));
        let most = if dial.plus_minus > ROUGH { LONGER * LOOKS } else { LOOKS };
        if goal >= MOST || 2 * spent > most || dial.plus_minus <= ENOUGH && goal >= SOME {
            let of_part = |at: usize| share(&replicates, |sums| sums.parts.get(at).copied().unwrap_or(0.0));
            return Drawn {
                dial,
                parts: places.into_iter().enumerate().map(|(at, place)| (place, of_part(at))).collect(),
            };
        }
        (done, goal) = (goal, 2 * goal);
    }
}

/// The mean over all replicates with its 95 % interval.
fn share(replicates: &[Replicate], of: impl Fn(&Sums) -> f64) -> Share {
    let answers: Vec<f64> = replicates.iter().map(|one| of(&one.sums) / one.sums.dials.max(1.0)).collect();
    let mean = Mean::of(&answers);
    Share {
        share: mean.map_or(0.0, |mean| mean.mean.clamp(0.0, 1.0)),
        plus_minus: mean.and_then(|mean| mean.half_width()).unwrap_or(1.0),
    }
}

struct Replicate {
    rng: Rng,
    /// Where each axis of what a dial keeps begins, and by how much it steps from dial to dial.
    kept: Vec<(f64, f64)>,
    /// The same for what is anew, setting by setting.
    anew: Vec<(f64, f64)>,
    /// How many axes a setting has.
    axes: usize,
    sums: Sums,
}

/// What a dial keeps: its kerf; for each turn two pockets of two deviations each, where in them the pivot lies, and friction; for
/// each glued joint two deviations and an angle.
const KEPT: usize = 9;
const LAID: usize = 3;
/// What is anew in each setting: how far the turn that is pushed farthest is, and which that is. For each turn: how far it is
/// pushed and which way, from which side it comes, and where the pivot lies in either pocket.
const ANEW: usize = 7;

impl Replicate {
    fn new(seed: usize, causes: &Causes, (settings, parts): (usize, usize)) -> Self {
        let mut rng = Rng::with_seed(seed as u64);
        let turns = causes.turns.len();
        let kept = 1 + KEPT * turns + LAID * causes.glued.len();
        let steps: Vec<f64> = primes().take(kept + 2 + ANEW * turns).map(|prime| f64::from(prime).sqrt()).collect();
        let (kept, anew) = steps.split_at_checked(kept).unwrap_or_default();
        let mut begun = |step: &f64| (rng.f64(), *step);
        let kept = kept.iter().map(&mut begun).collect();
        let all = (0..settings).flat_map(|_| anew).map(begun).collect();
        Self { rng, kept, anew: all, axes: anew.len(), sums: Sums { parts: vec![0.0; parts], ..Sums::default() } }
    }

    fn draw(&mut self, dials: std::ops::Range<u32>, settings: &[Setting], causes: &Causes) {
        let mut made = Made::new(causes);
        for dial in dials {
            let wider = self.dial(dial, causes, &mut made);
            let (mut whole, mut first) = ([1.0; TURNED], 0);
            for (place, setting) in settings.iter().enumerate() {
                let sure = self.set((place, dial), (setting, wider), causes, &mut made);
                let at = first..first + setting.parts.len();
                first = at.end;
                let right = |chances: &Chances| chances.map(|chance| sure + (1.0 - sure) * chance);
                let all = if sure >= 1.0 {
                    self.sums.parts.get_mut(at).into_iter().flatten().for_each(|sum| *sum += 1.0);
                    continue;
                } else if setting.is_together() {
                    let windows = setting.parts.iter().map(|part| part.windows(&made, wider));
                    let mut all = [FREE; TURNED];
                    let mut chances = [1.0; TURNED];
                    for (windows, sum) in windows.zip(self.sums.parts.get_mut(at).into_iter().flatten()) {
                        chances = setting.chances(&windows, &made.turns);
                        *sum += mean(&right(&chances));
                        for (all, window) in all.iter_mut().zip(windows) {
                            *all = (all.0.max(window.0), all.1.min(window.1));
                        }
                    }
                    // One alone is all of them.
                    if setting.parts.len() > 1 { setting.chances(&all, &made.turns) } else { chances }
                } else {
                    for (part, at) in setting.parts.iter().zip(at) {
                        let chances = self.chances_apart(setting, std::slice::from_ref(part), &made, wider);
                        if let Some(sum) = self.sums.parts.get_mut(at) {
                            *sum += mean(&right(&chances));
                        }
                    }
                    self.chances_apart(setting, &setting.parts, &made, wider)
                };
                whole.iter_mut().zip(right(&all)).for_each(|(whole, right)| *whole *= right);
            }
            self.sums.dial += mean(&whole);
            self.sums.dials += 1.0;
        }
    }

    /// Draws what a dial keeps; gives how far its edges are cut back.
    fn dial(&self, dial: u32, causes: &Causes, made: &mut Made) -> f64 {
        let mut axes = self.kept.iter().map(|axis| even_place(*axis, dial));
        let mut even = || axes.next().unwrap_or(0.5);
        let wider = causes.wider * normal::quantile(even());
        for (turn, strayed) in causes.turns.iter().zip(&mut made.turns) {
            let mut normal = || turn.pocket * normal::quantile(even());
            let (lower, upper) = (Vec2::new(normal(), normal()), Vec2::new(normal(), normal()));
            let glued = if turn.loose { 0.0 } else { turn.play };
            let (one, other) = (in_disc(glued, even(), even()), in_disc(glued, even(), even()));
            (strayed.lower, strayed.upper) = (lower + one, upper + other);
            strayed.friction = even();
            strayed.pushed = turn.pushed(strayed.friction);
        }
        for (glue, laid) in causes.glued.iter().zip(&mut made.glued) {
            let (x, y, askew) = (even(), even(), even());
            let shift = Vec2::new(normal::quantile(x), normal::quantile(y)) * glue.shifted;
            *laid = Laid { shift, turned: glue.turned * normal::quantile(askew) };
        }
        wider
    }

    /// Draws what is anew in a setting of a dial, both given by their places, where it matters; gives the share of all ways to set
    /// it that leave it right for certain.
    fn set(
        &self,
        (place, dial): (usize, u32),
        (setting, wider): (&Setting, f64),
        causes: &Causes,
        made: &mut Made,
    ) -> f64 {
        let first = self.axes * place;
        let mut axes = self.anew.iter().skip(first).map(|axis| even_place(*axis, dial));
        let mut even = || axes.next().unwrap_or(0.5);
        let pushed: f64 = setting.turns.iter().map(|at| made.turn(*at).pushed).sum();
        let loose = setting.turns.iter().filter_map(|at| causes.turns.get(*at)).filter(|turn| turn.loose);
        let room = setting.room(made, wider) - wider.abs() - loose.map(|turn| 2.0 * turn.play).sum::<f64>();
        if room >= pushed {
            return 1.0;
        }
        // All turns pushed by less than this part of the most are too near to fail: so far is the one that is pushed farthest.
        let short = (room / pushed).max(0.0);
        let (farthest, which, sure) = match setting.turns {
            [_] => (short + (1.0 - short) * even(), 0, short),
            turns => {
                #[allow(clippy::cast_precision_loss, reason = "a handful of turns")]
                let turns = turns.len() as f64;
                let sure = short.powf(turns);
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "below the number of turns")]
                let which = (turns * even()) as usize;
                ((sure + (1.0 - sure) * even()).powf(1.0 / turns), which, sure)
            }
        };
        for (place, (at, stop)) in setting.turns.iter().zip(setting.stops).enumerate() {
            let Some((turn, strayed)) = causes.turns.get(*at).zip(made.turns.get_mut(*at)) else { continue };
            let nearer = even();
            let far = if place == which { farthest } else { farthest * nearer };
            // Pushed as hard as it may be, or less: evenly along the way, not over the disc.
            strayed.anew = Vec2::from_angle(std::f64::consts::TAU * even()) * (far * strayed.pushed);
            // It comes to either end of the dead band, by where it was turned from.
            let placed = turn.placed(*stop, strayed.friction);
            let (from, to) = placed.ends;
            (strayed.off, strayed.other) = if even() < 0.5 { (from, to) } else { (to, from) };
            strayed.placing = placed.placing;
            let mut disc = || (even(), even());
            let (one, other) = (disc(), disc());
            if turn.loose {
                strayed.anew += in_disc(turn.play, one.0, one.1) + in_disc(turn.play, other.0, other.1);
            }
        }
        sure
    }

    /// The chances that a dial, set so, reads right, where its turns are bounded apart.
    fn chances_apart(&mut self, setting: &Setting, parts: &[Part], made: &Made, wider: f64) -> Chances {
        let mut chances = [0.0; TURNED];
        for (turned, chance) in chances.iter_mut().enumerate() {
            let way = Vec2::from_angle(std::f64::consts::TAU * turned as f64 / TURNED as f64);
            *chance = self.chance_apart(setting, parts, made, (way.y, way.x), wider);
        }
        chances
    }

    fn chance_apart(&mut self, setting: &Setting, parts: &[Part], made: &Made, way: (f64, f64), wider: f64) -> f64 {
        let all = &made.turns;
        let mut off = [0.0; LOTS];
        for (lot, off) in setting.lots.iter().zip(&mut off) {
            *off = lot.iter().filter_map(|turn| all.get(*turn)).map(|turn| turn.off).sum();
        }
        let mut chance = 1.0;
        for (at, lot) in setting.lots.iter().enumerate().take(LOTS) {
            let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
            for part in parts {
                let shifts: Vec<(Vec2, f64)> = (0..part.shifts.len())
                    .map(|motion| part.shift(motion, made))
                    .map(|(shift, askew)| (turned(shift, way), askew))
                    .collect();
                for (bound, _, bits) in part.bounds.iter().filter(|(_, last, _)| *last == at) {
                    let known = off.iter().take(at + 1).enumerate().filter(|(lot, _)| bits & (1 << lot) != 0);
                    let (shift, askew) = shifts.get(bound.motion).copied().unwrap_or_default();
                    let known: f64 = askew + known.map(|(_, by)| by).sum::<f64>();
                    let (low, high) = bound.allowed(shift, wider);
                    if *bits == 0 {
                        // Glue alone moves it.
                        if !(low..=high).contains(&known) {
                            return 0.0;
                        }
                        continue;
                    }
                    from = from.max(low - known);
                    to = to.min(high - known);
                }
            }
            let placing = placing(lot, all);
            let right = between((from, to), placing);
            chance *= right;
            if right <= 0.0 {
                return 0.0;
            }
            if at + 1 < setting.lots.len()
                && let Some(by) = off.get_mut(at)
            {
                let low = normal::below(from / placing.max(f64::MIN_POSITIVE));
                *by += placing * normal::quantile(low + right * self.rng.f64());
            }
        }
        chance
    }
}

impl Setting<'_> {
    /// Whether all its turns are bounded together.
    fn is_together(&self) -> bool {
        self.lots.len() <= 1
    }

    /// How far a push must shift it at the least to make it fail, in mm.
    fn room(&self, made: &Made, wider: f64) -> f64 {
        if !self.is_together() {
            return 0.0;
        }
        self.parts.iter().map(|part| part.room(made, wider)).fold(f64::INFINITY, f64::min)
    }

    /// The chances that turns bounded together are placed within these windows: come to from these sides, or from the others.
    fn chances(&self, windows: &Windows, all: &[Strayed]) -> Chances {
        let placing = placing(self.turns, all);
        let sum = |of: fn(&Strayed) -> f64| self.turns.iter().filter_map(|at| all.get(*at)).map(of).sum::<f64>();
        let (off, other) = (sum(|turn| turn.off), sum(|turn| turn.other));
        let within = |off: f64| windows.map(|(from, to)| between((from - off, to - off), placing));
        let mut chances = within(off);
        #[allow(clippy::float_cmp, reason = "without clicks they are the same")]
        if off != other {
            chances.iter_mut().zip(within(other)).for_each(|(one, other)| *one = (*one + other) / 2.0);
        }
        chances
    }
}

/// Standard deviation of the placing of some turns together.
fn placing(turns: &[usize], all: &[Strayed]) -> f64 {
    turns.iter().filter_map(|turn| all.get(*turn)).map(|turn| turn.placing.powi(2)).sum::<f64>().sqrt()
}

/// The chance that a normal error lies between two bounds.
fn between((from, to): (f64, f64), deviation: f64) -> f64 {
    if deviation <= 0.0 {
        return if from <= 0.0 && 0.0 <= to { 1.0 } else { 0.0 };
    }
    (normal::below(to / deviation) - normal::below(from / deviation)).max(0.0)
}

fn mean(chances: &Chances) -> f64 {
    chances.iter().sum::<f64>() / TURNED as f64
}

impl Part<'_> {
    fn alike(&self) -> impl Iterator<Item = &MovedAlike> {
        self.case.alike.iter().flatten()
    }

    /// How far a push must shift it at the least to make it fail, in mm.
    fn room(&self, made: &Made, wider: f64) -> f64 {
        let kept = made.kept(&self.look.frames);
        let of = |alike: &MovedAlike| {
            let (laid, _) = made.laid(self.look, &alike.glued);
            match alike.turns {
                true => alike.rays.least - (kept + laid).hypot(),
                // No push comes between layers that are glued to each other.
                false if alike.rays.least > laid.hypot() + wider.abs() => f64::INFINITY,
                false => f64::NEG_INFINITY,
            }
        };
        self.alike().map(of).fold(f64::INFINITY, f64::min)
    }

    /// How far its turns may be turned together, with the dial shifted as it is.
    fn windows(&self, made: &Made, wider: f64) -> Windows {
        let frames = &self.look.frames;
        let pivots = made.kept(frames) + made.anew(frames);
        let mut windows = [FREE; TURNED];
        for alike in self.alike() {
            let (laid, askew) = made.laid(self.look, &alike.glued);
            let found = alike.rays.allowed(if alike.turns { pivots + laid } else { laid }, wider);
            for (window, (from, to)) in windows.iter_mut().zip(found) {
                let (from, to) = match (from - askew, to - askew) {
                    bounds if alike.turns => bounds,
                    (from, to) if from <= 0.0 && 0.0 <= to => FREE,
                    _ => SHUT,
                };
                *window = (window.0.max(from), window.1.min(to));
            }
        }
        windows
    }

    /// How far a motion shifts the ink, in the ring's frame, and by how much glue turns it.
    fn shift(&self, motion: usize, made: &Made) -> (Vec2, f64) {
        let Some((sign, frames, glued)) = self.shifts.get(motion) else { return Default::default() };
        let (laid, askew) = made.laid(self.look, glued);
        ((made.kept(frames) + made.anew(frames) + laid) * *sign, askew)
    }
}

/// Where an axis that begins somewhere and steps on stands at one of the dials, from 0 to 1: folded, so that the ends meet (the
/// baker's transformation).
fn even_place((begin, step): (f64, f64), dial: u32) -> f64 {
    let place = (f64::from(dial) * step + begin).fract();
    1.0 - (2.0 * place - 1.0).abs()
}

/// A point of the disc of this radius, spread evenly where both numbers are.
fn in_disc(radius: f64, away: f64, round: f64) -> Vec2 {
    if radius <= 0.0 {
        return Vec2::ZERO;
    }
    Vec2::from_angle(std::f64::consts::TAU * round) * (radius * away.sqrt())
}

fn primes() -> impl Iterator<Item = u32> {
    (2..).filter(|number| (2..*number).take_while(|by| by * by <= *number).all(|by| number % by != 0))
}
