//! From the best to values that a ruler has: lattice points about it in the order in which the slopes there promise most, each
//! looked at anew.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::descent::{Slopes, moved, slopes};
use super::free::Place;
use super::goal::{Goal, PRICE, Scales};
use super::looks::{Look, Looks};
use super::simplex::{Programme, dot};
use super::solve::smooth;

/// How far off the looks lie by which the slopes are worked out, in ranges.
const BESIDE: f64 = 2e-3;
/// Designs looked at together: fixed, so that the answer does not depend on the number of processors.
const TOGETHER: usize = 4;
/// Rounds of them.
const ROUNDS: usize = 20;
/// Steps either way, the more the fewer params there are.
const AROUND: [i64; 4] = [12, 5, 3, 2];

/// What was looked at, and by how much slopes missed it.
struct Missed {
    shares: Vec<f64>,
    rooms: BTreeMap<String, f64>,
    objective: f64,
}

/// All that the choice of lattice points rests on.
struct Lattice<'l> {
    smooth: Vec<usize>,
    goal: &'l Goal,
    scales: Scales,
    here: Arc<Look>,
    slopes: Slopes,
    origin: Vec<f64>,
    missed: Vec<Missed>,
}

/// The best rounded design near this one; none where none keeps all limits.
pub(super) fn rounded(looks: &mut Looks<'_>, goal: &Goal, best: &(Place, Arc<Look>)) -> Option<(Place, Arc<Look>)> {
    let smooth = smooth(looks.free);
    let mut lattice = Lattice::about(looks, goal, best, smooth);
    let mut candidates = lattice.candidates(looks, &best.0);
    let mut found: Option<(f64, Place, Arc<Look>)> = None;
    for _ in 0..ROUNDS {
        let mut ranked: Vec<(f64, Place)> =
            candidates.into_iter().map(|place| (lattice.promised(looks, &place), place)).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        // Nothing that promises less than what was found is looked at.
        let least = found.as_ref().map_or(f64::INFINITY, |(merit, ..)| *merit);
        ranked.retain(|(promised, _)| *promised < least - 1e-9);
        let rest = ranked.split_off(ranked.len().min(TOGETHER));
        if ranked.is_empty() || looks.is_full() {
            break;
        }
        let places: Vec<Place> = ranked.into_iter().map(|(_, place)| place).collect();
        for (place, look) in places.iter().zip(looks.at(&places)) {
            lattice.learn(looks, place, &look);
            let merit = lattice.scales.objective(goal, &look);
            if goal.is_kept(&look) && found.as_ref().is_none_or(|(least, ..)| merit < *least) {
                found = Some((merit, place.clone(), look));
            }
        }
        candidates = rest.into_iter().map(|(_, place)| place).collect();
    }
    found.map(|(_, place, look)| (place, look))
}

impl<'l> Lattice<'l> {
    fn about(looks: &mut Looks<'_>, goal: &'l Goal, best: &(Place, Arc<Look>), smooth: Vec<usize>) -> Self {
        let free = looks.free;
        let along =
            |one: usize, by: f64| (0..smooth.len()).map(|own| if own == one { by } else { 0.0 }).collect::<Vec<f64>>();
        let both = (0..smooth.len()).flat_map(|one| [along(one, BESIDE), along(one, -BESIDE)]);
        let places: Vec<Place> =
            both.map(|along| moved(free, &smooth, &best.0, &along)).filter(|it| *it != best.0).collect();
        let seen = looks.at(&places);
        let shares = |place: &Place| shares(looks, &smooth, place);
        let origin = shares(&best.0);
        let off = |place: &Place| shares(place).iter().zip(&origin).map(|(to, from)| to - from).collect::<Vec<f64>>();
        let beside: Vec<(Vec<f64>, Arc<Look>)> = places.iter().map(off).zip(seen).collect();
        let scales = Scales::of(goal, looks);
        let slopes = slopes(goal, &scales, &best.1, &beside);
        Self { smooth, goal, scales, here: Arc::clone(&best.1), slopes, origin, missed: Vec::new() }
    }

    /// Lattice points about the best: params without a step are left to the programme.
    fn candidates(&self, looks: &Looks<'_>, best: &Place) -> Vec<Place> {
        let stepped =
            self.smooth.iter().filter(|at| looks.free.get(**at).is_some_and(|free| free.step.is_some())).count();
        let around = AROUND.get(stepped.saturating_sub(1)).copied().unwrap_or(1);
        let mut all = vec![best.clone()];
        for at in &self.smooth {
            let Some((free, own)) = looks.free.get(*at).zip(best.get(*at)) else { continue };
            let Some(step) = free.step else { continue };
            let below = own.div_euclid(step);
            let places = (below - around + 1..=below + around).map(|times| times * step);
            let places: Vec<i64> = places.filter(|place| (free.ends.0..=free.ends.1).contains(place)).collect();
            let with = |place: &Place, value: i64| {
                let mut place = place.clone();
                place.get_mut(*at).into_iter().for_each(|own| *own = value);
                place
            };
            all = all.iter().flat_map(|place| places.iter().map(move |value| with(place, *value))).collect();
        }
        if stepped == self.smooth.len() {
            return all;
        }
        all.into_iter().map(|place| self.rest(looks, place)).collect()
    }

    /// The params without a step where the slopes promise most beside those that are rounded.
    fn rest(&self, looks: &Looks<'_>, place: Place) -> Place {
        let shares = shares(looks, &self.smooth, &place);
        let ends: Vec<(f64, f64)> = self
            .smooth
            .iter()
            .zip(shares.iter().zip(&self.origin))
            .map(|(at, (share, origin))| match looks.free.get(*at).and_then(|free| free.step) {
                Some(_) => (share - origin, share - origin),
                None => ((-origin).max(-0.1), (1.0 - origin).min(0.1)),
            })
            .collect();
        let rows = self.rows(&place, looks);
        let step = Programme { slopes: &self.slopes.objective, rows: &rows, ends: &ends, price: PRICE }.step();
        let from: Vec<f64> = step
            .along
            .iter()
            .zip(shares.iter().zip(&self.origin))
            .map(|(by, (share, origin))| origin + by - share)
            .collect();
        moved(looks.free, &self.smooth, &place, &from)
    }

    /// Rooms at the best, mended by what was missed nearest to a place, with their slopes.
    fn rows(&self, place: &Place, looks: &Looks<'_>) -> Vec<(f64, Vec<f64>)> {
        let missed = self.nearest(&shares(looks, &self.smooth, place));
        let rooms = self.scales.rooms(self.goal, &self.here);
        let row = |(name, room): (&str, f64)| {
            let missed = missed.and_then(|missed| missed.rooms.get(name)).copied().unwrap_or(0.0);
            Some((room + missed, self.slopes.slacks.get(name)?.clone()))
        };
        rooms.into_iter().filter_map(row).collect()
    }

    fn nearest(&self, at: &[f64]) -> Option<&Missed> {
        let away = |missed: &&Missed| missed.shares.iter().zip(at).map(|(a, b)| (a - b).abs()).sum::<f64>();
        self.missed.iter().min_by(|a, b| away(a).total_cmp(&away(b)))
    }

    fn along(&self, looks: &Looks<'_>, place: &Place) -> Vec<f64> {
        shares(looks, &self.smooth, place).iter().zip(&self.origin).map(|(to, from)| to - from).collect()
    }

    fn promised(&self, looks: &Looks<'_>, place: &Place) -> f64 {
        let along = self.along(looks, place);
        let rows = self.rows(place, looks);
        let missed = self.nearest(&shares(looks, &self.smooth, place)).map_or(0.0, |missed| missed.objective);
        let here = self.scales.objective(self.goal, &self.here);
        // The noise of a measure breaks nothing.
        let broken = rows.iter().map(|(room, slopes)| (-(room + dot(slopes, &along)) - 1e-4).max(0.0)).sum::<f64>();
        here + missed + dot(&self.slopes.objective, &along) + PRICE * broken
    }

    fn learn(&mut self, looks: &Looks<'_>, place: &Place, look: &Look) {
        if !look.made {
            return;
        }
        let along = self.along(looks, place);
        let seen = self.scales.rooms(self.goal, look);
        let rooms = self.scales.rooms(self.goal, &self.here).into_iter().filter_map(|(name, room)| {
            let grown = dot(self.slopes.slacks.get(name)?, &along);
            Some((name.to_owned(), seen.get(name)? - room - grown))
        });
        let here = self.scales.objective(self.goal, &self.here) + dot(&self.slopes.objective, &along);
        let objective = self.scales.objective(self.goal, look) - here;
        let missed = Missed { shares: shares(looks, &self.smooth, place), rooms: rooms.collect(), objective };
        self.missed.push(missed);
    }
}

fn shares(looks: &Looks<'_>, smooth: &[usize], place: &Place) -> Vec<f64> {
    smooth.iter().filter_map(|at| Some(looks.free.get(*at)?.share(*place.get(*at)?))).collect()
}
