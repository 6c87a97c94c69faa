//! What a search wants, and how near a look comes to it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::looks::{Look, Looks};
use crate::units::Dimension;

/// What is wanted the least of.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Aim {
    /// What was asked for, times this: -1 where the most is wanted.
    Measured(f64),
    /// How far this limit is broken.
    Broken(Arc<str>),
    /// Nothing: any place that keeps the limits will do.
    Any,
}

/// Which limits must be kept.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kept {
    /// All but these.
    AllBut(BTreeSet<Arc<str>>),
    /// These.
    Only(BTreeSet<Arc<str>>),
}

/// What a search wants.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    pub(super) aim: Aim,
    pub(super) kept: Kept,
    /// What is traded must be at least this, both times the sign.
    pub(super) traded: Option<(f64, f64)>,
}

/// The name of the slack of what is traded.
const TRADED: &str = "~traded";
/// Each length keeps this much more than its limit, in mm, so that the noise of a measure does not break it.
const BUFFER: f64 = 0.000_5;
/// What breaking a limit costs against the objective, both by their scales.
pub(super) const PRICE: f64 = 20.0;
/// What a limit without a measure costs, by the same scale.
const BARRED: f64 = 1000.0;

impl Goal {
    /// All limits kept, for this aim.
    pub(super) fn of(aim: Aim) -> Self {
        Self { aim, kept: Kept::AllBut(BTreeSet::new()), traded: None }
    }

    /// Whether a limit must be kept.
    fn wants(&self, limit: &str) -> bool {
        match &self.kept {
            Kept::AllBut(left) => !left.contains(limit),
            Kept::Only(kept) => kept.contains(limit),
        }
    }

    /// What is to be least; none where it cannot be told.
    pub(super) fn least(&self, look: &Look) -> Option<f64> {
        match &self.aim {
            Aim::Measured(sign) => look.measured.map(|measured| sign * measured.value),
            Aim::Broken(limit) => {
                let own = look.slacks.values().filter(|slack| slack.limit == *limit).map(|slack| -slack.value);
                own.reduce(f64::max)
            }
            Aim::Any => Some(0.0),
        }
    }

    /// The slacks that count, by name.
    pub(super) fn slacks<'l>(&self, look: &'l Look) -> BTreeMap<&'l str, (f64, Dimension)> {
        let own = look.slacks.iter().filter(|(_, slack)| self.wants(&slack.limit));
        let mut slacks: BTreeMap<&str, (f64, Dimension)> =
            own.map(|(name, slack)| (name.as_str(), (slack.value, slack.dimension))).collect();
        if let (Some((sign, least)), Some(value)) = (self.traded, look.traded) {
            slacks.insert(TRADED, (sign * (value.value - least), value.dimension));
        }
        slacks
    }

    /// Broken limits that count and have no slack below zero to tell by how far.
    pub(super) fn barred(&self, look: &Look) -> usize {
        let told = |limit: &Arc<str>| look.slacks.values().any(|slack| slack.limit == *limit && slack.value < 0.0);
        look.broken.iter().filter(|limit| self.wants(limit) && !told(limit)).count()
    }

    /// The limits that count and are broken.
    pub(super) fn broken(&self, look: &Look) -> Vec<Arc<str>> {
        look.broken.iter().filter(|limit| self.wants(limit)).cloned().collect()
    }

    /// Whether a look keeps all that must be kept.
    pub(super) fn is_kept(&self, look: &Look) -> bool {
        let traded =
            self.traded.is_none_or(|(sign, least)| look.traded.is_some_and(|it| sign * (it.value - least) >= -1e-9));
        look.made && traded && self.least(look).is_some() && !look.broken.iter().any(|limit| self.wants(limit))
    }
}

/// What slacks and objective are measured by, so that they can be weighed against each other.
pub(super) struct Scales {
    objective: f64,
    slacks: BTreeMap<String, f64>,
}

impl Scales {
    /// As they spread over all looks so far.
    pub(super) fn of(goal: &Goal, looks: &Looks<'_>) -> Self {
        let mut slacks: BTreeMap<String, f64> = BTreeMap::new();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for (_, look) in looks.all() {
            for (name, (value, _)) in goal.slacks(look) {
                let most = slacks.entry(name.to_owned()).or_insert(1e-6);
                *most = most.max(value.abs());
            }
            if let Some(value) = goal.least(look) {
                (low, high) = (low.min(value), high.max(value));
            }
        }
        let spread = if high > low { high - low } else { 1.0 };
        Self { objective: spread, slacks }
    }

    pub(super) fn objective(&self, goal: &Goal, look: &Look) -> f64 {
        goal.least(look).unwrap_or(0.0) / self.objective
    }

    /// Each slack less what it keeps in reserve, by its scale.
    pub(super) fn rooms<'l>(&self, goal: &Goal, look: &'l Look) -> BTreeMap<&'l str, f64> {
        let room = |(name, (value, dimension)): (&'l str, (f64, Dimension))| {
            let scale = self.slacks.get(name).copied().unwrap_or(1.0);
            let buffer = if dimension == Dimension::LENGTH { BUFFER } else { 1e-6 * scale };
            (name, (value - buffer) / scale)
        };
        goal.slacks(look).into_iter().map(room).collect()
    }

    /// The scale of a slack.
    pub(super) fn of_slack(&self, name: &str) -> f64 {
        self.slacks.get(name).copied().unwrap_or(1.0)
    }

    pub(super) fn of_objective(&self) -> f64 {
        self.objective
    }

    /// The objective and all that is broken as one number: the less, the better.
    pub(super) fn merit(&self, goal: &Goal, look: &Look) -> f64 {
        if !look.made {
            return f64::INFINITY;
        }
        let broken: f64 = self.rooms(goal, look).values().map(|room| (-room).max(0.0)).sum();
        #[allow(clippy::cast_precision_loss, reason = "a handful of limits")]
        let barred = (goal.barred(look) + usize::from(goal.least(look).is_none())) as f64;
        self.objective(goal, look) + PRICE * broken + BARRED * barred
    }
}
