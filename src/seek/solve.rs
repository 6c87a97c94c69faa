//! The best for a goal: counts and choices gone through, one smooth param by its stretches, several by descents.

use std::sync::Arc;

use super::descent::descend;
use super::free::{Free, Place};
use super::goal::{Goal, Scales};
use super::line::{Stretch, stretches};
use super::looks::{Look, Looks};

/// Places spread over the ranges, for each smooth param.
const SPREAD: usize = 4;
/// Descents from the best of them.
const STARTS: usize = 3;
/// From more combinations than this one descent each is made.
const FEW: usize = 4;

/// The places of the smooth params in the list of all.
pub(super) fn smooth(free: &[Free]) -> Vec<usize> {
    free.iter().enumerate().filter(|(_, free)| free.is_smooth()).map(|(at, _)| at).collect()
}

/// Every combination of counts and choices, smooth params as they stand; that of the file first.
pub(super) fn combinations(free: &[Free], start: &Place) -> Vec<Place> {
    let mut all = vec![start.clone()];
    for (at, one) in free.iter().enumerate().filter(|(_, free)| !free.is_smooth()) {
        let own = start.get(at).copied().unwrap_or_default();
        let places: Vec<i64> =
            std::iter::once(own).chain((one.ends.0..=one.ends.1).filter(|place| *place != own)).collect();
        let with = |place: &Place, value: i64| {
            let mut place = place.clone();
            place.get_mut(at).into_iter().for_each(|own| *own = value);
            place
        };
        all = all.iter().flat_map(|place| places.iter().map(move |value| with(place, *value))).collect();
    }
    all
}

/// The best that was found, and with one smooth param all stretches of it.
pub(super) fn solve(looks: &mut Looks<'_>, goal: &Goal) -> (Option<(Place, Arc<Look>)>, Vec<Stretch>) {
    let smooth = smooth(looks.free);
    let all = combinations(looks.free, &looks.start());
    let mut found = Vec::new();
    match smooth.as_slice() {
        [] => drop(looks.at(&all)),
        [only] => all.iter().for_each(|base| found.extend(stretches(looks, goal, *only, base))),
        several => {
            let spread = if all.len() > FEW { SPREAD / 2 } else { SPREAD };
            let places: Vec<Place> =
                all.iter().flat_map(|base| spread_over(looks.free, several, base, spread * several.len())).collect();
            looks.at(&places);
            let starts = if all.len() > FEW { 1 } else { STARTS };
            let starts: Vec<Place> = all.iter().flat_map(|base| best_starts(looks, goal, base, starts)).collect();
            descend(looks, goal, several, starts);
        }
    }
    (looks.best(goal), found)
}

/// Goes on from what is known already: for a goal that differs little from one that was solved.
pub(super) fn solve_on(looks: &mut Looks<'_>, goal: &Goal) -> Option<(Place, Arc<Look>)> {
    let smooth = smooth(looks.free);
    match smooth.as_slice() {
        [] => {}
        [only] => {
            for base in combinations(looks.free, &looks.start()) {
                stretches(looks, goal, *only, &base);
            }
        }
        several => {
            let starts: Vec<Place> = ranked(looks, goal, |_| true).into_iter().take(2).collect();
            descend(looks, goal, several, starts);
        }
    }
    looks.best(goal)
}

/// The best of the looks with these counts and choices.
fn best_starts(looks: &Looks<'_>, goal: &Goal, base: &Place, count: usize) -> Vec<Place> {
    let own = |place: &Place| {
        looks.free.iter().zip(place.iter().zip(base)).all(|(free, (one, other))| free.is_smooth() || one == other)
    };
    ranked(looks, goal, own).into_iter().take(count).collect()
}

fn ranked(looks: &Looks<'_>, goal: &Goal, own: impl Fn(&Place) -> bool) -> Vec<Place> {
    let scales = Scales::of(goal, looks);
    let merit = |look: &Look| scales.merit(goal, look);
    let mut all: Vec<(f64, &Place)> =
        looks.all().filter(|(place, _)| own(place)).map(|(place, look)| (merit(look), place)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(b.1)));
    all.into_iter().map(|(_, place)| place.clone()).collect()
}

/// The place as it stands and so many by Halton's sequence (Halton, Numerische Mathematik 2, 1960).
fn spread_over(free: &[Free], smooth: &[usize], base: &Place, count: usize) -> Vec<Place> {
    let one = |index: usize| {
        let mut place = base.clone();
        for (at, prime) in smooth.iter().zip(PRIMES.iter().cycle()) {
            if let (Some(free), Some(own)) = (free.get(*at), place.get_mut(*at)) {
                *own = free.at_share(radical_inverse(index, *prime));
            }
        }
        place
    };
    std::iter::once(base.clone()).chain((1..=count).map(one)).collect()
}

const PRIMES: [usize; 8] = [2, 3, 5, 7, 11, 13, 17, 19];

#[allow(clippy::cast_precision_loss, reason = "small numbers")]
fn radical_inverse(mut index: usize, base: usize) -> f64 {
    let (mut inverse, mut digit) = (0.0, 1.0);
    while index > 0 {
        digit /= base as f64;
        inverse += (index % base) as f64 * digit;
        index /= base;
    }
    inverse
}
