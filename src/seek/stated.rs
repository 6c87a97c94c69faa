//! What the file itself seeks: the question that each `seek` asks, and whether the values that stand there still answer it.

use std::sync::Arc;

use super::conditions::conditions;
use super::free::{Free, Place, free};
use super::goal::Goal;
use super::judge::Judge;
use super::looks::{Look, Looks};
use super::{Question, findings as say, goal_of, steps, too_much};
use crate::analysis::{CheckedSession, Threads};
use crate::diagnostics::Problems;
use crate::family::question::End;
use crate::format;
use crate::syntax::tree::{Expr, FieldValue, Thing};
use crate::units::Quantity;
use crate::vocabulary::blocks::fields;

/// Where no step is stated, so many of them make a range.
const STEPS_OF_A_RANGE: u64 = 1000;
/// Steps that are gone on from what a search has found.
const MOST_STEPS: usize = 20;

impl<'q> Question<'q> {
    /// What a `seek` of the file asks.
    pub fn stated(seek: &'q Thing) -> Self {
        use fields::Seek as Of;
        let value = |of: Of| {
            let field = seek.fields.iter().find(|field| field.name.text == of.spec().word);
            field.and_then(|field| if let FieldValue::Expr(value) = &field.value { Some(value) } else { None })
        };
        let least = value(Of::Least).map(|least| (End::Least, least));
        let best = least.or_else(|| value(Of::Most).map(|most| (End::Most, most)));
        let keep = value(Of::Keep).into_iter().flat_map(Expr::items);
        let steps = value(Of::Step).into_iter().flat_map(Expr::items).collect();
        Self { steps, ..Self::new(best, value(Of::Free), keep) }
    }
}

/// What is to be said of the values that stand in the file: of each `seek`, what it keeps that does not hold, and a better value one
/// step beside them. Of a family nothing is said, for its variants set values of their own, and nothing where the text has errors.
pub fn remarks(session: &CheckedSession<'_>, threads: Threads) -> Problems {
    let mut found = Problems::default();
    let plain = session.variants.iter().all(Option::is_none);
    if plain && !session.problems.has_errors() {
        session.seeks().iter().for_each(|seek| found.extend(of_one(session, seek, threads)));
    }
    session.accepted_of_seeks(found)
}

fn of_one(session: &CheckedSession<'_>, seek: &Thing, threads: Threads) -> Problems {
    let question = Question::stated(seek);
    let mut found = Problems::default();
    let steps = steps(session, None, &question, &mut found);
    let (free, faults) = free(session, None, &question.free, &steps);
    found.extend(faults);
    found.extend(too_much(&free));
    if found.has_errors() {
        return found;
    }
    let judge = Judge::new(session, None, &free, &question);
    let here: Place = free.iter().map(|free| free.start).collect();
    let beside = if question.best.is_some() { beside(&free, &here) } else { Vec::new() };
    let places: Vec<Place> = std::iter::once(here).chain(beside.iter().map(|(_, place)| place.clone())).collect();
    let looks = session.walk(&places, threads, |place| judge.look(place), || {});
    let Some((here, looks)) = looks.split_first() else { return found };
    found.extend(broken(session, seek, &question, here));
    found.extend(better(
        session,
        seek,
        &question,
        here,
        looks.iter().zip(&beside).map(|(look, (at, place))| (look, *at, place)),
        &free,
    ));
    found
}

/// The places one step to either side, with the param that is moved. Those of a choice are the values before and after it in its list.
pub(super) fn beside(free: &[Free], here: &Place) -> Vec<(usize, Place)> {
    let mut places = Vec::new();
    for (at, (free, own)) in free.iter().zip(here).enumerate() {
        let range = i64::try_from(free.places() / STEPS_OF_A_RANGE).unwrap_or(1).max(1);
        let (less, more) = match free.step.filter(|_| free.is_smooth()) {
            // Whole steps, whatever stands there.
            Some(step) => ((own - 1).div_euclid(step) * step, (own.div_euclid(step) + 1) * step),
            None if free.is_smooth() => (own.saturating_sub(range), own.saturating_add(range)),
            None => (own - 1, own + 1),
        };
        for moved in [less, more].into_iter().filter(|moved| (free.ends.0..=free.ends.1).contains(moved)) {
            let with = here.iter().enumerate().map(|(other, own)| if other == at { moved } else { *own });
            places.push((at, with.collect()));
        }
    }
    places
}

/// Goes on to the best place one step beside it as long as that is better, so that none of those that [`remarks`] looks at is.
pub(super) fn settled(looks: &mut Looks<'_>, goal: &Goal, mut best: (Place, Arc<Look>)) -> (Place, Arc<Look>) {
    for _ in 0..MOST_STEPS {
        let places: Vec<Place> = beside(looks.free, &best.0).into_iter().map(|(_, place)| place).collect();
        let seen = looks.at(&places);
        let better = places.into_iter().zip(seen).filter_map(|(place, look)| {
            let value = gain(goal, &best.1, &look)?;
            Some((value, place, look))
        });
        let Some((_, place, look)) = better.max_by(|a, b| a.0.total_cmp(&b.0)) else { break };
        best = (place, look);
    }
    best
}

/// By how much a place that keeps all limits is better, where that is more than what measures are good to.
fn gain(goal: &Goal, here: &Look, there: &Look) -> Option<f64> {
    let (own, other) = (goal.least(here)?, goal.least(there)?);
    let hair = 1e-6 * own.abs().max(1.0);
    (goal.is_kept(there) && other < own - hair).then_some(own - other)
}

/// What is to be kept and does not hold.
fn broken(session: &CheckedSession<'_>, seek: &Thing, question: &Question<'_>, here: &Look) -> Problems {
    let mut found = Problems::default();
    for asked in question.conditions.iter().filter(|_| here.made) {
        for condition in conditions(asked, session.sources(), false) {
            let own = || here.slacks.values().filter(|slack| slack.limit == condition.limit && slack.value < 0.0);
            let worst = own().min_by(|a, b| a.value.total_cmp(&b.value));
            let by = worst.map(|slack| Quantity { value: -slack.value, dimension: slack.dimension });
            if here.broken.contains(&condition.limit) {
                found.push(say::not_kept(&seek.name, &condition.limit, by, asked.span, file(session)));
            }
        }
    }
    found
}

/// The best of the places beside it, where it is better by more than what measures are good to.
fn better<'l>(
    session: &CheckedSession<'_>,
    seek: &Thing,
    question: &Question<'_>,
    here: &Look,
    beside: impl Iterator<Item = (&'l Look, usize, &'l Place)>,
    free: &[Free],
) -> Problems {
    let mut found = Problems::default();
    let Some((end, asked)) = question.best else { return found };
    let goal = goal_of(end);
    let Some(now) = here.measured.filter(|_| goal.is_kept(here)) else { return found };
    let told = beside.filter_map(|(look, at, place)| Some((gain(&goal, here, look)?, look.measured?, at, place)));
    let Some((_, there, at, place)) = told.max_by(|a, b| a.0.total_cmp(&b.0)) else { return found };
    if let Some((free, place)) = free.get(at).zip(place.get(at)) {
        let words = format::one_line(asked, &session.sources().file(asked.span.source).text);
        let wanted = format!("the {} `{words}`", if end == End::Least { "least" } else { "most" });
        let text = free.text(*place);
        let there = (free.param.name.as_str(), text.as_str(), there);
        found.push(say::not_the_best(&seek.name, (&wanted, asked.span), there, now, file(session)));
    }
    found
}

/// The design's file by its name.
fn file<'s>(session: &'s CheckedSession<'_>) -> &'s str {
    session.sources().iter().next().map_or("FILE", |(_, file)| &file.name)
}
