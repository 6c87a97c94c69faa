//! Dials made within the spreads, and what share of them reads right.
//!
//! What a dial keeps for good (its kerf, its pockets, how magnets were glued into them) is drawn. What is anew each time it is
//! set (the placing of its stops) is integrated exactly for each dial drawn, over one turn after the other where several are
//! bounded apart (Genz, Numerical computation of multivariate normal probabilities, 1992). So a few hundred dials tell what
//! plain draws take a million for. They are spread evenly by multiples of the roots of primes (Richtmyer, 1951), begun at
//! eight random places: the spread of the eight answers tells the error.

use fastrand::Rng;
use kurbo::Vec2;

use super::bound::Bound;
use super::causes::Causes;
use super::look::{Frame, Look, Looks};
use super::share::Share;
use crate::statistics::{Mean, normal};

/// Answers that are compared.
const REPLICATES: usize = 8;
/// Dials drawn for each of them at first, and at most.
const FIRST: u32 = 16;
const MOST: u32 = 1024;
/// No more are drawn once the whole dial's share is known to within this, by so many for each of them: eight answers of a few
/// agree by chance too often.
const SOME: u32 = 128;
const ENOUGH: f64 = 5e-4;
/// Turns of one reading that are told apart; more than any dial has.
const LOTS: usize = 32;
/// Bounds looked at before it is left at what is known, and how many of them a setting counts for by itself.
const BOUNDS: usize = 800_000;
const SETTING: usize = 20;

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
    /// Each bound with the last lot that moves it, and as bits all lots that do.
    bounds: Vec<(&'a Bound, usize, u32)>,
    /// What shifts each motion: its sign, and the frames of its turns.
    shifts: Vec<(f64, Vec<Frame>)>,
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
            let bounds = looks.cases.get(look.case).and_then(Option::as_ref).filter(|bounds| !bounds.is_empty());
            let Some(bounds) = bounds else { continue };
            let moved = |bound: &Bound| looks.motions.get(bound.motion).map_or(0, |motion| motion.turns.len());
            together &= bounds.iter().all(|bound| moved(bound) == turns.len());
            found.push((place, looks, look, bounds));
        }
        let apart = turns.iter().map(std::slice::from_ref);
        let lots: Vec<&[usize]> = if together { vec![turns] } else { apart.collect() };
        let parts = found.into_iter().map(|(place, looks, look, bounds)| Part {
            place,
            bounds: bounds
                .iter()
                .map(|bound| {
                    let motion = looks.motions.get(bound.motion).map_or(&[] as &[usize], |motion| &motion.turns);
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
            shifts: looks
                .motions
                .iter()
                .map(|motion| {
                    let frames = look.frames.iter().filter(|frame| motion.turns.contains(&frame.turn));
                    (motion.sign, frames.copied().collect())
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
    let bounds: usize =
        settings.iter().flat_map(|setting| &setting.parts).map(|part| part.bounds.len() + SETTING).sum();
    let mut replicates: Vec<Replicate> =
        (0..REPLICATES).map(|seed| Replicate::new(seed, causes, (settings.len(), places.len()))).collect();
    let (mut done, mut goal) = (0, FIRST);
    loop {
        replicates.iter_mut().for_each(|replicate| replicate.draw(done..goal, settings, causes));
        let dial = share(&replicates, |sums| sums.dial);
        let spent = bounds.saturating_mul(REPLICATES).saturating_mul(usize::try_from(goal).unwrap_or(usize::MAX));
        if goal >= MOST || 2 * spent > BOUNDS || dial.plus_minus <= ENOUGH && goal >= SOME {
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
    /// The same for what is anew, setting by setting, turn by turn.
    anew: Vec<(f64, f64)>,
    sums: Sums,
}

/// What a dial keeps: its kerf; for each turn two pockets of two deviations each, where in them the pivot lies, and friction.
const KEPT: usize = 9;
/// What is anew for each turn of a setting: where the pivot lies in either pocket, how far it is pushed and which way, and from
/// which side it comes.
const ANEW: usize = 7;

/// How one turn of a dial strays.
#[derive(Clone, Copy, Default)]
struct Strayed {
    /// Its pockets, off the axis in the frames of their halves.
    lower: Vec2,
    upper: Vec2,
    /// How far its friction stands between the least and the greatest.
    friction: f64,
    /// What is off anew each time it is set, in the ring's frame.
    anew: Vec2,
    /// How far off the stop it is left, in radians, and the standard deviation about that.
    off: f64,
    placing: f64,
}

impl Replicate {
    fn new(seed: usize, causes: &Causes, (settings, parts): (usize, usize)) -> Self {
        let mut rng = Rng::with_seed(seed as u64);
        let turns = causes.turns.len();
        let steps: Vec<f64> = primes().take(1 + (KEPT + ANEW) * turns).map(|prime| f64::from(prime).sqrt()).collect();
        let (kept, anew) = steps.split_at_checked(1 + KEPT * turns).unwrap_or_default();
        let mut begun = |step: &f64| (rng.f64(), *step);
        let kept = kept.iter().map(&mut begun).collect();
        let anew = (0..settings).flat_map(|_| anew).map(begun).collect();
        Self { rng, kept, anew, sums: Sums { parts: vec![0.0; parts], ..Sums::default() } }
    }

    fn draw(&mut self, dials: std::ops::Range<u32>, settings: &[Setting], causes: &Causes) {
        let mut pockets = vec![Strayed::default(); causes.turns.len()];
        for dial in dials {
            let wider = self.dial(dial, causes, &mut pockets);
            let (mut whole, mut at) = (1.0, 0);
            for (place, setting) in settings.iter().enumerate() {
                self.set((place, dial), setting, causes, &mut pockets);
                for part in &setting.parts {
                    let right = self.chance(setting, std::slice::from_ref(part), &pockets, wider);
                    if let Some(sum) = self.sums.parts.get_mut(at) {
                        *sum += right;
                    }
                    at += 1;
                    if setting.parts.len() == 1 {
                        whole *= right;
                    }
                }
                if setting.parts.len() > 1 {
                    whole *= self.chance(setting, &setting.parts, &pockets, wider);
                }
            }
            self.sums.dial += whole;
            self.sums.dials += 1.0;
        }
    }

    /// Draws what a dial keeps; gives how far its edges are cut back.
    fn dial(&self, dial: u32, causes: &Causes, pockets: &mut [Strayed]) -> f64 {
        let mut axes = self.kept.iter().map(|axis| even_place(*axis, dial));
        let mut even = || axes.next().unwrap_or(0.5);
        let wider = causes.wider * normal::quantile(even());
        for (turn, pockets) in causes.turns.iter().zip(pockets) {
            let mut normal = || turn.pocket * normal::quantile(even());
            let (lower, upper) = (Vec2::new(normal(), normal()), Vec2::new(normal(), normal()));
            let (one, other) = (in_disc(even(), even()), in_disc(even(), even()));
            let glued = if turn.loose { 0.0 } else { turn.play };
            (pockets.lower, pockets.upper) = (lower + one * glued, upper + other * glued);
            pockets.friction = even();
        }
        wider
    }

    /// Draws what is anew in a setting of a dial, both given by their places.
    fn set(&self, (place, dial): (usize, u32), setting: &Setting, causes: &Causes, all: &mut [Strayed]) {
        for (at, stop) in setting.turns.iter().zip(setting.stops) {
            let Some((turn, strayed)) = causes.turns.get(*at).zip(all.get_mut(*at)) else { continue };
            let first = ANEW * (causes.turns.len() * place + at);
            let mut axes = self.anew.iter().skip(first).map(|axis| even_place(*axis, dial));
            let mut even = || axes.next().unwrap_or(0.5);
            // Pushed as hard as it may be, or less: evenly along the way, not over the disc.
            let pushed = in_disc(1.0, even()) * (turn.pushed(strayed.friction) * even());
            let (from, to) = turn.placed(*stop, strayed.friction).ends;
            // It comes to either end of the dead band, by where it was turned from.
            strayed.off = if even() < 0.5 { from } else { to };
            strayed.placing = turn.placed(*stop, strayed.friction).placing;
            let play = if turn.loose { turn.play } else { 0.0 };
            strayed.anew = pushed + (in_disc(even(), even()) + in_disc(even(), even())) * play;
        }
    }

    /// The chance that a dial, set so, reads right.
    fn chance(&mut self, setting: &Setting, parts: &[Part], all: &[Strayed], wider: f64) -> f64 {
        let mut turned = [0.0; LOTS];
        for (lot, turned) in setting.lots.iter().zip(&mut turned) {
            *turned = lot.iter().filter_map(|turn| all.get(*turn)).map(|turn| turn.off).sum();
        }
        let mut chance = 1.0;
        for (at, lot) in setting.lots.iter().enumerate().take(LOTS) {
            let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
            for part in parts {
                let mut shifts = [None; 8];
                for (bound, _, bits) in part.bounds.iter().filter(|(_, last, _)| *last == at) {
                    let shift = match shifts.get_mut(bound.motion) {
                        Some(known) => *known.get_or_insert_with(|| part.shift(bound.motion, all)),
                        None => part.shift(bound.motion, all),
                    };
                    let known = turned.iter().take(at + 1).enumerate().filter(|(lot, _)| bits & (1 << lot) != 0);
                    let known: f64 = known.map(|(_, by)| by).sum();
                    let (low, high) = bound.allowed(shift, wider);
                    from = from.max(low - known);
                    to = to.min(high - known);
                }
            }
            if from >= to {
                return 0.0;
            }
            let squares = lot.iter().filter_map(|turn| all.get(*turn)).map(|turn| turn.placing.powi(2));
            let placing = squares.sum::<f64>().sqrt();
            if placing <= 0.0 {
                if from > 0.0 || to < 0.0 {
                    return 0.0;
                }
                continue;
            }
            let (low, high) = (normal::below(from / placing), normal::below(to / placing));
            chance *= (high - low).max(0.0);
            if at + 1 < setting.lots.len()
                && let Some(by) = turned.get_mut(at)
            {
                *by += placing * normal::quantile(self.rng.f64().mul_add(high - low, low));
            }
        }
        chance
    }
}

impl Part<'_> {
    /// How far a motion shifts the ink, in the ring's frame.
    fn shift(&self, motion: usize, all: &[Strayed]) -> Vec2 {
        let Some((sign, frames)) = self.shifts.get(motion) else { return Vec2::ZERO };
        let of = |frame: &Frame| {
            let turn = all.get(frame.turn).copied().unwrap_or_default();
            turned(turn.lower, frame.lower) - turned(turn.upper, frame.upper) + turn.anew
        };
        frames.iter().map(of).fold(Vec2::ZERO, |sum, shift| sum + shift) * *sign
    }
}

/// Where an axis that begins somewhere and steps on stands at one of the dials, from 0 to 1: folded, so that the ends meet (the
/// baker's transformation).
fn even_place((begin, step): (f64, f64), dial: u32) -> f64 {
    let place = f64::from(dial).mul_add(step, begin).fract();
    1.0 - (2.0 * place - 1.0).abs()
}

/// Turned clockwise by the angle with this sine and cosine.
fn turned(at: Vec2, (sin, cos): (f64, f64)) -> Vec2 {
    Vec2::new(at.x * cos + at.y * sin, at.y * cos - at.x * sin)
}

/// A point of the disc of radius 1, spread evenly where both numbers are.
fn in_disc(away: f64, round: f64) -> Vec2 {
    Vec2::from_angle(std::f64::consts::TAU * round) * away.sqrt()
}

fn primes() -> impl Iterator<Item = u32> {
    (2..).filter(|number| (2..*number).take_while(|by| by * by <= *number).all(|by| number % by != 0))
}
