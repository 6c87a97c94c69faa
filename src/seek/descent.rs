//! The least over several params: sequential linear programmes within a trust region, by the merit of objective and broken limits.
//!
//! Slopes are measured once and then kept up by Broyden's rule of rank one (Broyden, Mathematics of Computation 19, 1965). All
//! descents go forward together, so that what each wants to look at next is worked out at the same time, and so that the answer
//! does not depend on how many threads there are.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::free::{Free, Place};
use super::goal::{Goal, PRICE, Scales};
use super::looks::{Look, Looks};
use super::simplex::{Programme, dot};

/// How far the first step may go, in ranges.
const FIRST: f64 = 0.15;
/// A region smaller than this is no longer searched.
const LAST: f64 = 5e-5;
/// Steps of one descent.
const ROUNDS: usize = 60;
/// What a step must promise, in scales of the objective.
const WORTH: f64 = 2e-6;

/// How everything grows along each smooth param, in scales and ranges.
#[derive(Clone, Debug, Default)]
pub(super) struct Slopes {
    pub(super) objective: Vec<f64>,
    pub(super) slacks: BTreeMap<String, Vec<f64>>,
}

enum Next {
    Slopes,
    Step,
    Nothing,
}

struct Descent {
    at: Place,
    look: Arc<Look>,
    slopes: Slopes,
    /// Whether the slopes were measured here and nowhere else.
    fresh: bool,
    radius: f64,
    refused: usize,
    next: Next,
    /// The places that were asked for, and what the step to the last of them promises.
    asked: Vec<Place>,
    promised: f64,
}

/// What all descents share.
struct Terms<'t> {
    goal: &'t Goal,
    free: &'t [Free],
    smooth: &'t [usize],
    scales: Scales,
}

/// Goes down from each of these places, all at once.
pub(super) fn descend(looks: &mut Looks<'_>, goal: &Goal, smooth: &[usize], starts: Vec<Place>) {
    let begun = looks.at(&starts);
    let terms = Terms { goal, free: looks.free, smooth, scales: Scales::of(goal, looks) };
    let begin = |(at, look): (Place, Arc<Look>)| Descent {
        at,
        look,
        slopes: Slopes::default(),
        fresh: false,
        radius: FIRST,
        refused: 0,
        next: Next::Slopes,
        asked: Vec::new(),
        promised: 0.0,
    };
    let mut all: Vec<Descent> = starts.into_iter().zip(begun).map(begin).collect();
    for _ in 0..ROUNDS {
        all.iter_mut().for_each(|descent| descent.ask(&terms));
        let asked: Vec<Place> = all.iter().flat_map(|descent| descent.asked.clone()).collect();
        if asked.is_empty() || looks.is_full() {
            break;
        }
        let mut seen = looks.at(&asked).into_iter();
        for descent in &mut all {
            let own: Vec<Arc<Look>> = seen.by_ref().take(descent.asked.len()).collect();
            descent.take(&terms, &own);
        }
    }
}

impl Terms<'_> {
    /// Where a place lies, in ranges of the smooth params.
    fn shares(&self, place: &Place) -> Vec<f64> {
        let share = |at: &usize| Some(self.free.get(*at)?.share(*place.get(*at)?));
        self.smooth.iter().filter_map(share).collect()
    }

    /// The place so far along each smooth param.
    fn moved(&self, place: &Place, along: &[f64]) -> Place {
        moved(self.free, self.smooth, place, along)
    }

    /// The places beside one, by which slopes are measured.
    fn beside(&self, place: &Place, by: f64) -> Vec<Place> {
        let shares = self.shares(place);
        let one = |(at, share): (usize, &f64)| {
            let mut along = vec![0.0; shares.len()];
            // Away from the nearer end, so that it stays inside.
            along.get_mut(at).into_iter().for_each(|it| *it = if share + by > 1.0 { -by } else { by });
            self.moved(place, &along)
        };
        shares.iter().enumerate().map(one).collect()
    }

    fn steps(&self, from: &Place, to: &Place) -> Vec<f64> {
        self.shares(to).iter().zip(self.shares(from)).map(|(to, from)| to - from).collect()
    }
}

/// The place so far along each smooth param, in ranges.
pub(super) fn moved(free: &[Free], smooth: &[usize], place: &Place, along: &[f64]) -> Place {
    let mut moved = place.clone();
    for (at, by) in smooth.iter().zip(along) {
        if let (Some(free), Some(place)) = (free.get(*at), moved.get_mut(*at)) {
            *place = free.at_share(free.share(*place) + by);
        }
    }
    moved
}

impl Descent {
    /// Says what to look at next.
    fn ask(&mut self, terms: &Terms<'_>) {
        self.asked = match self.next {
            Next::Slopes => terms.beside(&self.at, (0.2 * self.radius).clamp(5e-4, 0.02)),
            Next::Step => self.step(terms),
            Next::Nothing => Vec::new(),
        };
        // A step that leads nowhere asks for slopes measured here, or for nothing more.
        if self.asked.is_empty() && matches!(self.next, Next::Step) {
            self.next = if self.fresh { Next::Nothing } else { Next::Slopes };
            if matches!(self.next, Next::Slopes) {
                self.ask(terms);
            }
        }
    }

    fn step(&mut self, terms: &Terms<'_>) -> Vec<Place> {
        let rooms = terms.scales.rooms(terms.goal, &self.look);
        let none = vec![0.0; terms.smooth.len()];
        let reach = |slopes: &[f64]| self.radius * slopes.iter().map(|slope| slope.abs()).sum::<f64>();
        let rows = rooms.iter().map(|(name, room)| (*room, self.slopes.slacks.get(*name).unwrap_or(&none).clone()));
        // What cannot be reached within the region is no part of the programme.
        let rows: Vec<(f64, Vec<f64>)> = rows.filter(|(room, slopes)| *room < reach(slopes)).collect();
        let shares = terms.shares(&self.at);
        let ends: Vec<(f64, f64)> =
            shares.iter().map(|share| ((-share).max(-self.radius), (1.0 - share).min(self.radius))).collect();
        let programme = Programme { slopes: &self.slopes.objective, rows: &rows, ends: &ends, price: PRICE };
        let step = programme.step();
        self.promised = programme.comes_to(&none) - step.comes_to;
        let to = terms.moved(&self.at, &step.along);
        if self.promised < WORTH || to == self.at { Vec::new() } else { vec![to] }
    }

    /// Goes on by what was seen.
    fn take(&mut self, terms: &Terms<'_>, seen: &[Arc<Look>]) {
        match self.next {
            Next::Slopes => {
                let beside =
                    self.asked.iter().zip(seen).map(|(at, look)| (terms.steps(&self.at, at), Arc::clone(look)));
                self.slopes = slopes(terms.goal, &terms.scales, &self.look, &beside.collect::<Vec<_>>());
                (self.fresh, self.refused, self.next) = (true, 0, Next::Step);
            }
            Next::Step => {
                if let (Some(to), Some(look)) = (self.asked.first().cloned(), seen.first()) {
                    self.stepped(terms, to, look);
                }
            }
            Next::Nothing => {}
        }
    }

    fn stepped(&mut self, terms: &Terms<'_>, to: Place, look: &Arc<Look>) {
        let along = terms.steps(&self.at, &to);
        let merit = |look: &Look| terms.scales.merit(terms.goal, look);
        let (before, after) = (merit(&self.look), merit(look));
        let gained = if before.is_infinite() && after.is_finite() { f64::INFINITY } else { before - after };
        if look.made && self.look.made {
            self.learn(terms, &along, look);
        }
        let far = along.iter().fold(0.0, |most: f64, by| most.max(by.abs()));
        if gained > 0.1 * self.promised {
            if gained > 0.75 * self.promised && far > 0.9 * self.radius {
                self.radius = (2.0 * self.radius).min(0.5);
            } else if gained < 0.25 * self.promised {
                self.radius *= 0.5;
            }
            (self.at, self.look, self.fresh, self.refused) = (to, Arc::clone(look), false, 0);
        } else {
            self.radius = 0.35 * self.radius.min(far.max(LAST));
            self.refused += 1;
        }
        self.next = if self.radius < LAST {
            Next::Nothing
        } else if self.refused >= 2 && !self.fresh {
            Next::Slopes
        } else {
            Next::Step
        };
    }

    /// Broyden's rule: the slopes along the step become what was seen, across it they stay.
    fn learn(&mut self, terms: &Terms<'_>, along: &[f64], look: &Look) {
        let square = dot(along, along);
        let mend = |slopes: &mut Vec<f64>, grown: f64| {
            let missed = (grown - dot(slopes, along)) / square;
            slopes.iter_mut().zip(along).for_each(|(slope, by)| *slope += missed * by);
        };
        let objective = |look: &Look| terms.scales.objective(terms.goal, look);
        mend(&mut self.slopes.objective, objective(look) - objective(&self.look));
        let (before, after) = (terms.scales.rooms(terms.goal, &self.look), terms.scales.rooms(terms.goal, look));
        for (name, room) in after {
            if let Some(former) = before.get(name) {
                let slopes = self.slopes.slacks.entry(name.to_owned()).or_insert_with(|| vec![0.0; along.len()]);
                mend(slopes, room - former);
            }
        }
    }
}

/// Slopes from looks beside one, each so far off along the params. Where a param has been looked at on both sides, the mean of both.
pub(super) fn slopes(goal: &Goal, scales: &Scales, here: &Look, beside: &[(Vec<f64>, Arc<Look>)]) -> Slopes {
    let unknowns = beside.first().map_or(0, |(along, _)| along.len());
    let mut found = Slopes { objective: vec![0.0; unknowns], slacks: BTreeMap::new() };
    let rooms = scales.rooms(goal, here);
    let sides = |at: usize| {
        let own = move |along: &Vec<f64>| along.get(at).copied().filter(|by| *by != 0.0);
        beside.iter().filter_map(move |(along, look)| Some((own(along)?, look))).filter(|(_, look)| look.made)
    };
    for at in 0..unknowns {
        let mean = |values: Vec<f64>| {
            #[allow(clippy::cast_precision_loss, reason = "one or two sides")]
            let count = values.len().max(1) as f64;
            values.iter().sum::<f64>() / count
        };
        let grown = |look: &Look| scales.objective(goal, look) - scales.objective(goal, here);
        let objective = mean(sides(at).map(|(by, look)| grown(look) / by).collect());
        found.objective.get_mut(at).into_iter().for_each(|slope| *slope = objective);
        for (name, room) in &rooms {
            let grown = |look: &Arc<Look>| Some(scales.rooms(goal, look).get(name)? - room);
            let slope = mean(sides(at).filter_map(|(by, look)| Some(grown(look)? / by)).collect());
            let slopes = found.slacks.entry((*name).to_owned()).or_insert_with(|| vec![0.0; unknowns]);
            slopes.get_mut(at).into_iter().for_each(|own| *own = slope);
        }
    }
    found
}
