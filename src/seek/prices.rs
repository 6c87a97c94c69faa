//! What holds the best back: the limits that it lies against, and what each of them costs.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::descent::{moved, slopes};
use super::free::{Free, Kind, Place};
use super::goal::{Goal, Scales};
use super::looks::{Look, Looks};
use super::simplex::Programme;
use super::solve::smooth;
use crate::units::{Dimension, Quantity};

/// A limit that holds the best back.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The limit, in words.
    pub limit: Arc<str>,
    /// How much of what is asked for one base unit more of it costs, in base units, and what it measures; none for what has no
    /// measure.
    pub price: Option<(f64, Dimension)>,
}

/// How far off the looks lie by which prices are worked out, in ranges.
const BESIDE: f64 = 2e-3;
/// How far the programme may go, in ranges.
const REACH: f64 = 0.01;
/// By how much a limit is moved, in its scale.
const MOVED: f64 = 1e-4;
/// What breaking a limit costs here: more than any price.
const DEAR: f64 = 1e6;

/// One row of the programme: its limit, its scale, its room and how it grows.
struct Row {
    limit: Arc<str>,
    scale: f64,
    dimension: Dimension,
    room: f64,
    slopes: Vec<f64>,
}

/// The limits that hold the best back, in order of name; the dearest first.
pub(super) fn prices(looks: &mut Looks<'_>, goal: &Goal, best: &(Place, Arc<Look>)) -> Vec<Price> {
    let mut found = Vec::new();
    let smooth = smooth(looks.free);
    if !smooth.is_empty() {
        found.extend(of_smooth(looks, goal, best, &smooth));
    }
    found.extend(of_counts(looks, goal, best));
    let cost = |price: &Price| price.price.map_or(0.0, |(price, _)| price.abs());
    found.sort_by(|a, b| cost(b).total_cmp(&cost(a)).then_with(|| a.limit.cmp(&b.limit)));
    found.dedup_by(|a, b| a.limit == b.limit);
    found
}

fn of_smooth(looks: &mut Looks<'_>, goal: &Goal, (at, here): &(Place, Arc<Look>), smooth: &[usize]) -> Vec<Price> {
    let free = looks.free;
    let along =
        |one: usize, by: f64| (0..smooth.len()).map(|own| if own == one { by } else { 0.0 }).collect::<Vec<f64>>();
    let both = (0..smooth.len()).flat_map(|one| [along(one, BESIDE), along(one, -BESIDE)]);
    let places: Vec<Place> = both.map(|along| moved(free, smooth, at, &along)).filter(|place| place != at).collect();
    let seen = looks.at(&places);
    let share = |place: &Place| -> Vec<f64> {
        smooth.iter().filter_map(|own| Some(free.get(*own)?.share(*place.get(*own)?))).collect()
    };
    let own = share(at);
    let off = |place: &Place| share(place).iter().zip(&own).map(|(to, from)| to - from).collect::<Vec<f64>>();
    let beside: Vec<(Vec<f64>, Arc<Look>)> = places.iter().map(off).zip(seen).collect();
    let scales = Scales::of(goal, looks);
    let grown = slopes(goal, &scales, here, &beside);
    let reach = |slopes: &[f64]| REACH * slopes.iter().map(|slope| slope.abs()).sum::<f64>();
    let rows = goal.slacks(here).into_iter().filter_map(|(name, (value, dimension))| {
        let (scale, slopes) = (scales.of_slack(name), grown.slacks.get(name)?.clone());
        let limit = here.slacks.get(name).map_or_else(|| Arc::from("what is traded"), |slack| Arc::clone(&slack.limit));
        Some(Row { limit, scale, dimension, room: (value / scale).max(0.0), slopes })
    });
    let rows: Vec<Row> = rows.filter(|row| row.room < reach(&row.slopes)).collect();
    let ends: Vec<(f64, f64)> = own.iter().map(|own| ((-own).max(-REACH), (1.0 - own).min(REACH))).collect();
    let local = Local { slopes: &grown.objective, rows: &rows, ends: &ends };
    let (along, gain) = local.least(|_| 0.0, &ends);
    let mut found = local.of_limits(gain, scales.of_objective());
    found.extend(local.of_ends(gain, scales.of_objective(), smooth.iter().filter_map(|at| free.get(*at))));
    // Where the programme would go on, something without a measure is in the way.
    let (target, far) = (moved(free, smooth, at, &along), gain < -3e-4);
    if far && target != *at {
        let broken = goal.broken(&looks.one(&target));
        let new: Vec<Arc<str>> = broken.into_iter().filter(|limit| found.iter().all(|it| it.limit != *limit)).collect();
        found.extend(new.into_iter().map(|limit| Price { limit, price: None }));
    }
    found
}

/// The programme about the best.
struct Local<'l> {
    slopes: &'l [f64],
    rows: &'l [Row],
    ends: &'l [(f64, f64)],
}

impl Local<'_> {
    fn least(&self, moved: impl Fn(&Row) -> f64, ends: &[(f64, f64)]) -> (Vec<f64>, f64) {
        let rows: Vec<(f64, Vec<f64>)> =
            self.rows.iter().map(|row| (row.room - moved(row), row.slopes.clone())).collect();
        let step = Programme { slopes: self.slopes, rows: &rows, ends, price: DEAR }.step();
        (step.along, step.comes_to)
    }

    /// All rows of a limit are moved together, by the same amount in its own unit.
    fn of_limits(&self, gain: f64, objective: f64) -> Vec<Price> {
        let mut limits: BTreeMap<&Arc<str>, (f64, Dimension)> = BTreeMap::new();
        for row in self.rows {
            let least = limits.entry(&row.limit).or_insert((row.scale, row.dimension));
            least.0 = least.0.min(row.scale);
        }
        let price = |(limit, (scale, dimension)): (&Arc<str>, (f64, Dimension))| {
            let by = MOVED * scale;
            let (_, dearer) = self.least(|row| if row.limit == *limit { by / row.scale } else { 0.0 }, self.ends);
            let costs = (dearer - gain) * objective / by;
            (dearer - gain > 1e-3 * MOVED).then(|| Price { limit: Arc::clone(limit), price: Some((costs, dimension)) })
        };
        limits.into_iter().filter_map(price).collect()
    }

    /// What it costs that params may go no further.
    fn of_ends<'f>(&self, gain: f64, objective: f64, free: impl Iterator<Item = &'f Free>) -> Vec<Price> {
        let mut found = Vec::new();
        for (at, free) in free.enumerate() {
            for low in [true, false] {
                let mut ends = self.ends.to_vec();
                let Some(end) = ends.get_mut(at) else { continue };
                let own = if low { &mut end.0 } else { &mut end.1 };
                if own.abs() >= REACH {
                    continue;
                }
                *own += if low { MOVED } else { -MOVED };
                let (_, dearer) = self.least(|_| 0.0, &ends);
                let range = (free.base(free.ends.1) - free.base(free.ends.0)).abs();
                if dearer - gain > 1e-3 * MOVED {
                    let (side, place) = if low { ("least", free.ends.0) } else { ("most", free.ends.1) };
                    let limit = format!("`{}` {} at {side}", free.param.name, free.text(place));
                    let dimension = match free.value(place).quantity() {
                        Some(Quantity { dimension, .. }) => dimension,
                        None => Dimension::NUMBER,
                    };
                    let price = (dearer - gain) * objective / (MOVED * range);
                    found.push(Price { limit: limit.into(), price: Some((price, dimension)) });
                }
            }
        }
        found
    }
}

/// What one more or one less of each count would break, where it would be better.
fn of_counts(looks: &mut Looks<'_>, goal: &Goal, (at, here): &(Place, Arc<Look>)) -> Vec<Price> {
    let mut found = Vec::new();
    let counted = |free: &Free| matches!(free.kind, Kind::Counted);
    for (index, free) in looks.free.iter().enumerate().filter(|(_, free)| counted(free)) {
        for by in [-1, 1] {
            let mut place = at.clone();
            let Some(own) = place.get_mut(index) else { continue };
            *own += by;
            if *own < free.ends.0 || *own > free.ends.1 {
                continue;
            }
            let look = looks.one(&place);
            let better = goal.least(&look).zip(goal.least(here)).is_none_or(|(there, here)| there < here);
            if better {
                found.extend(goal.broken(&look).into_iter().map(|limit| Price { limit, price: None }));
            }
        }
    }
    found
}
