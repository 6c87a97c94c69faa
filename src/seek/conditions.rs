//! Conditions as limits: both sides of every comparison, so that it is known by how far each is kept or broken.

use std::sync::Arc;

use super::looks::Slack;
use crate::check::Value;
use crate::format;
use crate::source::Sources;
use crate::syntax::tree::{Comparison, Expr, ExprKind, Logic};
use crate::units::Dimension;

/// How far a length may miss what is asked of it and still count as it, in mm: measures are good to about half of that.
const GRACE: f64 = 1e-3;

/// What a condition is made of.
enum Part<'q> {
    /// All of these.
    All(Vec<Part<'q>>),
    /// One of these.
    Any(Vec<Part<'q>>),
    /// A comparison of two values, or something else that is so or not; in words, and what it asks.
    Told(&'q Expr, Comparing<'q>, bool),
}

/// One comparison, where it is one.
type Comparing<'q> = Option<(Comparison, &'q Expr, &'q Expr)>;

/// One limit of a condition.
pub(super) struct Condition<'q> {
    part: Part<'q>,
    /// How far a length may miss it.
    grace: f64,
    /// In words.
    pub(super) limit: Arc<str>,
}

/// What conditions are held against.
pub(super) struct Asks<'a> {
    /// The value of an expression; none where it cannot be told.
    pub(super) value: &'a dyn Fn(&Expr) -> Option<Value>,
    /// What a measure is the least of, one by one; none for what is no such measure. The least alone would hide which of them is
    /// in the way, and slopes of it would jump.
    pub(super) parts: &'a dyn Fn(&Expr) -> Option<Vec<f64>>,
}

/// What came of one.
pub(super) struct Kept {
    /// Whether it is kept; none where it cannot be told.
    pub(super) holds: Option<bool>,
    /// By how far, for each side of it; without end where nothing bounds that side.
    pub(super) slacks: Vec<Slack>,
}

/// The limits that a condition is made of: one for each part of what must hold together. What the file itself expects is held
/// to the letter, since `check` does so too.
pub(super) fn conditions<'q>(condition: &'q Expr, sources: &Sources, of_file: bool) -> Vec<Condition<'q>> {
    let words = |expr: &Expr| format::one_line(expr, &sources.file(expr.span.source).text);
    let parts = match taken_apart(condition, false) {
        Part::All(parts) => parts,
        one => vec![one],
    };
    let one = |part: Part<'q>| {
        let told = match &part {
            Part::Told(expr, Some((comparison, left, right)), false) if comparisons(expr) > 1 => {
                format!("{} {} {}", words(left), format::sign(*comparison), words(right))
            }
            Part::Told(expr, _, negated) => format!("{}{}", if *negated { "not " } else { "" }, words(expr)),
            _ => words(condition),
        };
        Condition { part, grace: if of_file { 0.0 } else { GRACE }, limit: format!("`{told}`").into() }
    };
    parts.into_iter().map(one).collect()
}

fn comparisons(expr: &Expr) -> usize {
    match &expr.kind {
        ExprKind::Compare { rest, .. } => rest.len(),
        _ => 0,
    }
}

/// `not` is carried down to the comparisons, so that each is a slack of its own.
fn taken_apart(expr: &Expr, negated: bool) -> Part<'_> {
    match &expr.kind {
        ExprKind::Group(inner) => taken_apart(inner, negated),
        ExprKind::Not(inner) => taken_apart(inner, !negated),
        ExprKind::Logic { operator, left, right } => {
            let both = vec![taken_apart(left, negated), taken_apart(right, negated)];
            if (*operator == Logic::And) != negated { Part::All(flat(both)) } else { Part::Any(both) }
        }
        ExprKind::Compare { first, rest } => {
            let lefts = std::iter::once(&**first).chain(rest.iter().map(|(_, right)| right));
            let pairs = lefts
                .zip(rest)
                .map(|(left, (comparison, right))| Part::Told(expr, Some((*comparison, left, right)), negated));
            let pairs: Vec<Part<'_>> = pairs.collect();
            if negated { Part::Any(pairs) } else { Part::All(pairs) }
        }
        _ => Part::Told(expr, None, negated),
    }
}

fn flat(parts: Vec<Part<'_>>) -> Vec<Part<'_>> {
    let inner = |part| match part {
        Part::All(parts) => parts,
        one => vec![one],
    };
    parts.into_iter().flat_map(inner).collect()
}

impl Condition<'_> {
    /// What comes of it, by the values of what it compares.
    pub(super) fn kept(&self, asks: &Asks<'_>) -> Kept {
        let found = kept(&self.part, self.grace, asks);
        let slack = |(value, dimension): (f64, Dimension)| Slack { value, dimension, limit: Arc::clone(&self.limit) };
        Kept { holds: found.0, slacks: found.1.into_iter().map(slack).collect() }
    }
}

fn kept(part: &Part<'_>, grace: f64, asks: &Asks<'_>) -> (Option<bool>, Vec<(f64, Dimension)>) {
    match part {
        Part::All(parts) => {
            let all: Vec<_> = parts.iter().map(|part| kept(part, grace, asks)).collect();
            let holds = all.iter().try_fold(true, |so_far, (holds, _)| Some(so_far && (*holds)?));
            (holds, all.into_iter().flat_map(|(_, slacks)| slacks).collect())
        }
        Part::Any(parts) => {
            let all: Vec<_> = parts.iter().map(|part| kept(part, grace, asks)).collect();
            let holds = all.iter().try_fold(false, |so_far, (holds, _)| Some(so_far || (*holds)?));
            // The one that is nearest to being kept counts.
            let least = |slacks: Vec<(f64, Dimension)>| slacks.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
            let most = all.into_iter().filter_map(|(_, slacks)| least(slacks)).max_by(|a, b| a.0.total_cmp(&b.0));
            (holds, most.into_iter().collect())
        }
        Part::Told(_, Some((comparison, left, right)), negated) => {
            let (one, other) = ((asks.value)(left), (asks.value)(right));
            let (Some(one), Some(other)) = (one, other) else { return (None, Vec::new()) };
            let (holds, slacks) = compared((*comparison, *negated), grace, &one, &other);
            // Of what must be at least something each part must be so.
            let each = match (at_least(*comparison, *negated), one.quantity(), other.quantity()) {
                (Some(true), _, Some(limit)) => (asks.parts)(left).map(|parts| (parts, limit)),
                (Some(false), Some(limit), _) => (asks.parts)(right).map(|parts| (parts, limit)),
                _ => None,
            };
            let each = each.map(|(parts, limit)| {
                parts.into_iter().map(|part| (part - limit.value, limit.dimension)).collect::<Vec<_>>()
            });
            (holds, each.filter(|each| !each.is_empty()).unwrap_or(slacks))
        }
        Part::Told(expr, None, negated) => match (asks.value)(expr) {
            Some(Value::Truth(truth)) => (Some(truth != *negated), Vec::new()),
            _ => (None, Vec::new()),
        },
    }
}

/// Whether the left side must be the greater one, or the right; none where neither.
fn at_least(comparison: Comparison, negated: bool) -> Option<bool> {
    match comparison {
        Comparison::Greater | Comparison::AtLeast => Some(!negated),
        Comparison::Less | Comparison::AtMost => Some(negated),
        Comparison::Is | Comparison::IsNot => None,
    }
}

fn compared(
    (comparison, negated): (Comparison, bool),
    grace: f64,
    left: &Value,
    right: &Value,
) -> (Option<bool>, Vec<(f64, Dimension)>) {
    let truth = crate::check::holds(comparison, left, right).map(|truth| truth != negated);
    let (Some(one), Some(other)) = (left.quantity(), right.quantity()) else { return (truth, Vec::new()) };
    let dimension = if one.value == 0.0 { other.dimension } else { one.dimension };
    let above = one.value - other.value;
    let slacks = match (comparison, negated) {
        (Comparison::Less | Comparison::AtMost, false) | (Comparison::Greater | Comparison::AtLeast, true) => {
            vec![(-above, dimension)]
        }
        (Comparison::Greater | Comparison::AtLeast, false) | (Comparison::Less | Comparison::AtMost, true) => {
            vec![(above, dimension)]
        }
        (Comparison::Is, false) | (Comparison::IsNot, true) => vec![(above, dimension), (-above, dimension)],
        _ => Vec::new(),
    };
    let is_strict = matches!(comparison, Comparison::Less | Comparison::Greater) != negated;
    let graced = dimension == Dimension::LENGTH && !is_strict && !slacks.is_empty();
    let near = graced && slacks.iter().all(|(slack, _)| *slack >= -grace);
    (truth.map(|truth| truth || near), slacks)
}
