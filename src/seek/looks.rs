//! Designs that were looked at, each once.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::free::{Free, Place};
use super::goal::Goal;
use crate::limits;
use crate::units::{Dimension, Quantity};

/// How far something is from its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Slack {
    /// In base units; below zero where the limit is broken.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// The limit, in words. Several slacks may belong to one.
    pub limit: Arc<str>,
}

/// What came of the design at one place.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Look {
    /// Whether there is a design at all.
    pub made: bool,
    /// What was asked for the least or most of, none where it cannot be told or was not asked.
    pub measured: Option<Quantity>,
    /// What is traded for it.
    pub traded: Option<Quantity>,
    /// Every slack that could be told, by a name that is its own at every place.
    pub slacks: BTreeMap<String, Slack>,
    /// The limits that are broken.
    pub broken: BTreeSet<Arc<str>>,
}

/// What works designs out, many at a time.
pub type Evaluate<'e> = &'e (dyn Fn(&[Place]) -> Vec<Look> + 'e);

/// All designs that were looked at.
pub struct Looks<'e> {
    /// The params whose values are sought.
    pub free: &'e [Free],
    evaluate: Evaluate<'e>,
    known: BTreeMap<Place, Arc<Look>>,
}

impl<'e> Looks<'e> {
    /// None so far.
    pub fn new(free: &'e [Free], evaluate: Evaluate<'e>) -> Self {
        Self { free, evaluate, known: BTreeMap::new() }
    }

    /// The looks at these places. Beyond the limit on designs nothing more is made, so that every search comes to its end.
    pub fn at(&mut self, places: &[Place]) -> Vec<Arc<Look>> {
        let unknown: BTreeSet<&Place> = places.iter().filter(|place| !self.known.contains_key(*place)).collect();
        let room = limits::DESIGNS_SOUGHT.saturating_sub(self.known.len());
        let unknown: Vec<Place> = unknown.into_iter().take(room).cloned().collect();
        if !unknown.is_empty() {
            let looks = (self.evaluate)(&unknown);
            self.known.extend(unknown.into_iter().zip(looks.into_iter().map(Arc::new)));
        }
        places.iter().map(|place| self.known.get(place).cloned().unwrap_or_default()).collect()
    }

    /// The look at one place.
    pub fn one(&mut self, place: &Place) -> Arc<Look> {
        self.at(std::slice::from_ref(place)).pop().unwrap_or_default()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.known.len()
    }

    /// Whether no further one may be made.
    pub fn is_full(&self) -> bool {
        self.known.len() >= limits::DESIGNS_SOUGHT
    }

    /// All of them, in order of place.
    pub fn all(&self) -> impl Iterator<Item = (&Place, &Arc<Look>)> {
        self.known.iter()
    }

    /// The place of the params as they stand.
    pub fn start(&self) -> Place {
        self.free.iter().map(|free| free.start).collect()
    }

    /// The best that keeps all limits of a goal; of equals the nearest to the values as they stand.
    pub fn best(&self, goal: &Goal) -> Option<(Place, Arc<Look>)> {
        self.best_of(goal, |_| true)
    }

    /// The same among some places.
    pub fn best_of(&self, goal: &Goal, among: impl Fn(&Place) -> bool) -> Option<(Place, Arc<Look>)> {
        let kept = self.known.iter().filter(|(place, look)| goal.is_kept(look) && among(place));
        let key = |(place, look): &(&Place, &Arc<Look>)| (goal.least(look).unwrap_or(0.0), self.away(place));
        let best = kept.min_by(|a, b| {
            let (one, other) = (key(a), key(b));
            one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1))
        });
        best.map(|(place, look)| (place.clone(), Arc::clone(look)))
    }

    /// How far a place is from the values as they stand, in ranges.
    fn away(&self, place: &Place) -> f64 {
        self.free.iter().zip(place).map(|(free, at)| (free.share(*at) - free.share(free.start)).abs()).sum()
    }
}
