//! Values found instead of tried: those of free params for the least or most of anything that can be measured, under what is
//! asked and all findings; how far each may go; what holds the best back; or why nothing works.
//!
//! [`seek`] looks at designs as `check` does, each once ([`Looks`]), and keeps of each how far it is from every limit ([`Look`]).
//! All else works on those numbers alone: `line` one param, `descent` several, `rounding` values that a ruler has, `prices` what
//! holds, `conflict` why nothing works. `stated` is what the file itself seeks.
//!
//! ```
//! use dialwright::analysis::{Request, Session, Threads};
//! use dialwright::family::question::End;
//! use dialwright::project::MemoryProject;
//! use dialwright::seek::{Outcome, Question, seek};
//!
//! let text = r#"
//!     dial "Plate"
//!     param across: length = 50mm from 20mm to 90mm
//!     outline circle(diameter: across)
//!     layer base of birch { hole eye = circle(diameter: 12mm) }
//! "#;
//! let project = MemoryProject::default().with("plate.dial", text);
//! let mut session = Session::open(&project, "plate.dial", "", &Request::default()).expect("the file is there");
//! let (least, web) = (session.ask("--least", "across"), session.ask("--where", "web(base) >= 8mm"));
//! let free = session.ask("--free", "across");
//! let session = session.check(&project);
//! let question = Question::new(least.as_ref().map(|it| (End::Least, it)), free.iter(), web.iter());
//! let (answer, problems) = seek(&session, None, &question, Threads::InTurn, &|_| {});
//! assert!(!problems.has_errors());
//! let Some(Outcome::Best(best)) = answer.map(|it| it.outcome) else { panic!("there is a least") };
//! // Twice 8mm round 12mm.
//! assert!((best.measured.value - 28.0).abs() < 0.01);
//! ```

mod conditions;
mod conflict;
mod descent;
mod findings;
mod free;
mod goal;
mod judge;
mod limits;
mod line;
mod looks;
mod prices;
mod rounding;
mod simplex;
mod solve;
mod stated;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use conflict::{Conflict, Near};
pub use free::{Free, Kind, Place};
pub use goal::Goal;
pub use line::Stretch;
pub use looks::{Evaluate, Look, Looks, Slack};
pub use prices::Price;
pub use stated::remarks;

use crate::analysis::{CheckedSession, Threads};
use crate::check::{Value, Variant, Wanted};
use crate::diagnostics::{Diagnostic, Problems};
use crate::family::question::{self, End, Knows};
use crate::limits as bounds;
use crate::source::Span;
use crate::syntax::tree::{Comparison, Expr, ExprKind, Name};
use crate::units::Quantity;
use findings as say;
use goal::Aim;
use judge::Judge;

/// What is sought.
#[derive(Clone, Debug)]
pub struct Question<'q> {
    /// What is wanted the least or most of; none to learn how far each param may go.
    pub best: Option<(End, &'q Expr)>,
    /// The params that may change.
    pub free: Vec<Name>,
    /// What values are rounded to.
    pub steps: Vec<&'q Expr>,
    /// What must hold beside all that the file expects.
    pub conditions: Vec<&'q Expr>,
    /// What is traded for the best.
    pub trade: Option<Trade<'q>>,
}

/// What is traded for the best: `margin(crew) >= 0.5mm to 2mm by 0.5mm`.
#[derive(Clone, Copy, Debug)]
pub struct Trade<'q> {
    /// What is compared.
    pub measured: &'q Expr,
    /// Whether it must be at least each value, and not at most.
    pub at_least: bool,
    /// The values.
    pub values: &'q Expr,
}

impl<'q> Question<'q> {
    /// For the best of this, with these params free (names, or lists of them) and under these conditions.
    pub fn new(
        best: Option<(End, &'q Expr)>,
        free: impl IntoIterator<Item = &'q Expr>,
        conditions: impl IntoIterator<Item = &'q Expr>,
    ) -> Self {
        let free = free.into_iter().flat_map(names).collect();
        Self { best, free, steps: Vec::new(), conditions: conditions.into_iter().collect(), trade: None }
    }
}

/// The names in an expression that is a name or a list of them.
fn names(expr: &Expr) -> Vec<Name> {
    match &expr.kind {
        ExprKind::Name(name) => vec![Name { text: name.clone(), span: expr.span }],
        _ => expr.parts().into_iter().flat_map(names).collect(),
    }
}

/// What a comparison with a range of values trades, or what is wrong with it.
///
/// # Errors
/// Where it is no such comparison.
pub fn trade(expr: &Expr) -> Result<Trade<'_>, Box<Diagnostic>> {
    let ExprKind::Compare { first, rest } = &expr.kind else { return Err(Box::new(say::no_trade(expr.span))) };
    match rest.as_slice() {
        [(sign @ (Comparison::AtLeast | Comparison::AtMost), values @ Expr { kind: ExprKind::Range { .. }, .. })] => {
            Ok(Trade { measured: first, at_least: *sign == Comparison::AtLeast, values })
        }
        _ => Err(Box::new(say::no_trade(expr.span))),
    }
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Best {
    /// The place of each free param.
    pub place: Place,
    /// What was asked for there.
    pub measured: Quantity,
    /// The same before it was rounded to steps; none where nothing is rounded.
    pub unrounded: Option<Quantity>,
    /// Whether it could be rounded; what is not rounded keeps its place.
    pub is_rounded: bool,
    /// The same for the file as it stands; none where that keeps not all limits.
    pub before: Option<Quantity>,
    /// What holds it back.
    pub held_by: Vec<Price>,
}

/// How far a param may go, all others as they stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// Its index among the free params.
    pub of: usize,
    /// The stretches of it that keep all limits.
    pub stretches: Vec<Stretch>,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The best that was found.
    Best(Best),
    /// How far each free param may go.
    Reaches(Vec<Reach>),
    /// Nothing keeps all limits.
    Impossible(Conflict),
}

/// One line of a trade: what is asked of the one, and the best of the other that was found, with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Traded {
    /// What is asked.
    pub asked: Quantity,
    /// What was found; none where nothing keeps it.
    pub best: Option<(Place, Quantity)>,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The free params, in order of name: places list theirs in this order.
    pub free: Vec<Free>,
    /// What came of it.
    pub outcome: Outcome,
    /// With one smooth param: every stretch of it that keeps all limits, for each combination of counts and choices.
    pub stretches: Vec<Stretch>,
    /// What is traded for what.
    pub trade: Vec<Traded>,
    /// What the file as it stands breaks.
    pub broken_now: Vec<Arc<str>>,
    /// How many designs were looked at, each once.
    pub looked_at: usize,
    /// Whether there were more to look at than are looked at.
    pub is_full: bool,
    /// What was asked for where boards are laid out as `build` does it; designs are looked at with boards in rows, as by `check`.
    pub as_built: Option<Quantity>,
    /// What still stands of the design that was found, worked out once more: nothing, unless the search went wrong.
    pub standing: Vec<Diagnostic>,
}

impl Answer {
    /// The values of the free params at a place, each as the file would write it, in the order declared by name.
    pub fn texts(&self, place: &Place) -> Vec<(&str, String)> {
        let text = |(free, at): (&'_ Free, &i64)| free.text(*at);
        let named = self.free.iter().map(|free| free.param.name.as_str());
        named.zip(self.free.iter().zip(place).map(text)).collect()
    }

    /// The values at a place.
    pub fn values(&self, place: &Place) -> BTreeMap<String, Value> {
        self.free.iter().zip(place).map(|(free, at)| (free.param.name.clone(), free.value(*at))).collect()
    }
}

/// Seeks, and everything that is wrong with the question or the text. `told` is given the number of designs looked at.
pub fn seek(
    session: &CheckedSession<'_>,
    variant: Option<&Variant>,
    question: &Question<'_>,
    threads: Threads,
    told: &dyn Fn(usize),
) -> (Option<Answer>, Problems) {
    let mut problems = faults(session, question);
    let steps = steps(session, variant, question, &mut problems);
    let (free, found) = free::free(session, variant, &question.free, &steps);
    problems.extend(found);
    problems.extend(too_much(&free));
    problems.extend(session.problems.clone());
    if problems.has_errors() {
        return (None, problems);
    }
    let values = traded_values(session, variant, question);
    let judge = Judge::new(session, variant, &free, question);
    let looked = std::cell::Cell::new(0);
    let evaluate = |places: &[Place]| {
        session.walk(
            places,
            threads,
            |place| judge.look(place),
            || {
                looked.set(looked.get() + 1);
                told(looked.get());
            },
        )
    };
    let mut looks = Looks::new(&free, &evaluate);
    let (outcome, stretches) = outcome(&mut looks, question);
    let trade = match (&question.best, &question.trade) {
        (Some((end, _)), Some(trade)) => traded(&mut looks, *end, trade.at_least, &values),
        _ => Vec::new(),
    };
    let start = looks.start();
    let broken_now = looks.one(&start).broken.iter().cloned().collect();
    let (as_built, standing) = match &outcome {
        Outcome::Best(best) => judge.proof(&best.place),
        _ => (None, Vec::new()),
    };
    let (looked_at, is_full) = (looks.count(), looks.is_full());
    let answer =
        Answer { outcome, stretches, trade, broken_now, looked_at, is_full, as_built, standing, free: free.clone() };
    (Some(answer), problems)
}

/// What is wrong with the expressions of a question.
fn faults(session: &CheckedSession<'_>, question: &Question<'_>) -> Problems {
    let mut problems = Problems::default();
    let truths = question.conditions.iter().map(|asked| (*asked, Wanted::Truth, Knows::Figures));
    let best = question.best.iter().map(|(_, asked)| (*asked, Wanted::Quantity, Knows::Figures));
    let traded = question.trade.iter().map(|trade| (trade.measured, Wanted::Quantity, Knows::Figures));
    let steps = question.steps.iter().map(|step| (*step, Wanted::Quantity, Knows::Params));
    for (asked, wanted, knows) in truths.chain(best).chain(traded).chain(steps) {
        problems.extend(question::faults(session, asked, wanted, knows));
    }
    problems
}

fn steps(
    session: &CheckedSession<'_>,
    variant: Option<&Variant>,
    question: &Question<'_>,
    problems: &mut Problems,
) -> Vec<(Quantity, Span)> {
    let mut steps = Vec::new();
    if problems.has_errors() {
        return steps;
    }
    for step in &question.steps {
        let (value, found) = question::answer_of_params(session, step, variant);
        problems.extend(found);
        match value.and_then(|value| value.quantity()) {
            Some(value) if value.value > 0.0 => steps.push((value, step.span)),
            Some(value) => problems.push(say::no_step(value, step.span)),
            None => {}
        }
    }
    steps
}

fn too_much(free: &[Free]) -> Problems {
    let mut problems = Problems::default();
    let smooth = solve::smooth(free).len();
    if smooth > bounds::FREE_PARAMS {
        problems.push(say::too_wide(smooth));
    }
    let apart = free.iter().filter(|free| !free.is_smooth()).map(Free::places);
    let combinations = apart.fold(1_u64, u64::saturating_mul);
    let most = if smooth > 0 { bounds::COMBINATIONS_SOUGHT } else { bounds::DESIGNS_SOUGHT };
    if combinations > most as u64 {
        problems.push(say::too_many(combinations, most));
    }
    problems
}

/// The values that are asked of what is traded.
fn traded_values(session: &CheckedSession<'_>, variant: Option<&Variant>, question: &Question<'_>) -> Vec<Quantity> {
    let values = question.trade.and_then(|trade| question::answer_of_params(session, trade.values, variant).0);
    let values: Vec<Quantity> =
        values.iter().filter_map(|value| value.items()).flatten().filter_map(Value::quantity).collect();
    values.into_iter().take(bounds::TRADED).collect()
}

fn goal_of(end: End) -> Goal {
    Goal::of(Aim::Measured(if end == End::Least { 1.0 } else { -1.0 }))
}

fn outcome(looks: &mut Looks<'_>, question: &Question<'_>) -> (Outcome, Vec<Stretch>) {
    let start = looks.start();
    let Some((end, _)) = question.best else { return (Outcome::Reaches(reaches(looks, &start)), Vec::new()) };
    let goal = goal_of(end);
    let before = looks.one(&start);
    let (found, stretches) = solve::solve(looks, &goal);
    let Some(found) = found else { return (Outcome::Impossible(conflict::conflict(looks)), stretches) };
    let held_by = prices::prices(looks, &goal, &found);
    // The looks beside it may have come upon a better one.
    let found = looks.best(&goal).unwrap_or(found);
    let steps = looks.free.iter().any(|free| free.step.is_some());
    let rounded = if steps { rounding::rounded(looks, &goal, &found) } else { None };
    let is_rounded = rounded.is_some();
    let shown = match rounded {
        None if steps => found.clone(),
        best => stated::settled(looks, &goal, best.unwrap_or_else(|| found.clone())),
    };
    let measured = |look: &Look| look.measured.unwrap_or(Quantity::number(0.0));
    let best = Best {
        measured: measured(&shown.1),
        place: shown.0,
        unrounded: is_rounded.then(|| measured(&found.1)),
        is_rounded: is_rounded || !steps,
        before: before.measured.filter(|_| goal.is_kept(&before)),
        held_by,
    };
    (Outcome::Best(best), stretches)
}

/// How far each param may go, all others as they stand.
fn reaches(looks: &mut Looks<'_>, start: &Place) -> Vec<Reach> {
    let goal = Goal::of(Aim::Any);
    (0..looks.free.len()).map(|of| Reach { of, stretches: line::stretches(looks, &goal, of, start) }).collect()
}

/// The best for each value that is asked of what is traded.
fn traded(looks: &mut Looks<'_>, end: End, at_least: bool, values: &[Quantity]) -> Vec<Traded> {
    let steps = looks.free.iter().any(|free| free.step.is_some());
    let one = |asked: &Quantity| {
        let sign = if at_least { 1.0 } else { -1.0 };
        let goal = Goal { traded: Some((sign, asked.value)), ..goal_of(end) };
        let found = solve::solve_on(looks, &goal);
        let rounded = found.as_ref().filter(|_| steps).and_then(|found| rounding::rounded(looks, &goal, found));
        let best = rounded.or(found).and_then(|(place, look)| Some((place, look.measured?)));
        Traded { asked: *asked, best }
    };
    values.iter().map(one).collect()
}
