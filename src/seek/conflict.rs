//! Why nothing works: the limits that cannot be kept together, and how near one comes.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::free::Place;
use super::goal::{Aim, Goal, Kept};
use super::looks::{Look, Looks};
use super::solve::solve_on;
use crate::units::Quantity;

/// Why no design keeps all limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// The limits that cannot be kept together, as far as was looked: without any one of them the others can.
    pub together: Vec<Arc<str>>,
    /// The nearest that keeps all but one of them, for each that can be measured.
    pub nearest: Vec<Near>,
}

/// A design that keeps all limits but one.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// The limit that it breaks.
    pub limit: Arc<str>,
    /// By how much; none where it has no measure.
    pub by: Option<Quantity>,
    /// Where it is.
    pub place: Place,
}

/// A filter by leaving out (Chinneck and Dravnieks, ORSA Journal on Computing 3, 1991): what can be left out and the rest still
/// cannot be kept is left out for good. All designs that were looked at count for every such question.
pub(super) fn conflict(looks: &mut Looks<'_>) -> Conflict {
    let made = looks.all().filter(|(_, look)| look.made);
    let mut together: BTreeSet<Arc<str>> = made.flat_map(|(_, look)| look.broken.iter().cloned()).collect();
    if together.is_empty() {
        // Nothing can even be made: what keeps it from that is all there is to tell.
        let broken = looks.all().flat_map(|(_, look)| look.broken.iter().cloned()).collect::<BTreeSet<_>>();
        return Conflict { together: broken.into_iter().collect(), nearest: Vec::new() };
    }
    for limit in together.clone() {
        let rest: BTreeSet<Arc<str>> = together.iter().filter(|other| **other != limit).cloned().collect();
        if !rest.is_empty() && !can_be_kept(looks, &rest) {
            together = rest;
        }
    }
    let nearest = together.iter().filter_map(|limit| near(looks, limit)).collect();
    Conflict { together: together.into_iter().collect(), nearest }
}

fn can_be_kept(looks: &mut Looks<'_>, limits: &BTreeSet<Arc<str>>) -> bool {
    let goal = Goal { aim: Aim::Any, kept: Kept::Only(limits.clone()), traded: None };
    looks.best(&goal).is_some() || solve_on(looks, &goal).is_some()
}

/// The design that breaks a limit least among those that keep all others.
fn near(looks: &mut Looks<'_>, limit: &Arc<str>) -> Option<Near> {
    let kept = Kept::AllBut([Arc::clone(limit)].into());
    let measured = Goal { aim: Aim::Broken(Arc::clone(limit)), kept: kept.clone(), traded: None };
    let of = |look: &Look| {
        let own = look.slacks.values().filter(|slack| slack.limit == *limit);
        own.min_by(|a, b| a.value.total_cmp(&b.value)).map(|slack| (-slack.value, slack.dimension))
    };
    if let Some((place, look)) = solve_on(looks, &measured) {
        let by = of(&look).map(|(value, dimension)| Quantity { value, dimension });
        return Some(Near { limit: Arc::clone(limit), by: by.filter(|by| by.value > 0.0), place });
    }
    let (place, _) = looks.best(&Goal { aim: Aim::Any, kept, traded: None })?;
    Some(Near { limit: Arc::clone(limit), by: None, place })
}
