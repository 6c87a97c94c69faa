//! Params: values set from outside, and their bounds.

use std::collections::BTreeMap;

use super::evaluate::{Evaluator, World};
use super::program::Program;
use super::tables::Tables;
use super::typecheck::typecheck_value;
use super::value::Value;
use crate::check::findings::values as say;
use crate::diagnostics::{Problems, suggest};
use crate::source::Span;
use crate::syntax::tree::{Bounds, Expr, Param};
use crate::units::Quantity;
use crate::vocabulary::types::{Type, TypeWord};

/// `name=value` from outside, its value parsed.
#[derive(Clone, Debug)]
pub struct SettingText {
    /// The param.
    pub name: String,
    /// The value, as an expression of the language.
    pub value: Expr,
}

/// A param that may be one of several values, as it stands.
#[derive(Clone, Debug)]
pub struct Ranged {
    /// Its name.
    pub name: String,
    /// The kind of value it takes.
    pub kind: String,
    /// What it is, in words.
    pub note: Option<String>,
    /// Its value: what is set for it, else what the file says.
    pub value: Value,
    /// What it may be.
    pub range: Range,
    /// Where the file states its value.
    pub written: Span,
}

/// What a param may be.
#[derive(Clone, Debug)]
pub enum Range {
    /// Anything from one to the other.
    Between(Quantity, Quantity),
    /// One of these, each as written and its value.
    OneOf(Vec<(String, Value)>),
}

/// The params with bounds, in the order declared; those that cannot be worked out left out.
pub(super) fn ranged<'t>(
    program: &'t Program<'t>,
    eval: &mut Evaluator<'t>,
    text: &dyn Fn(&Expr) -> String,
) -> Vec<Ranged> {
    let mut one = |param: &'t Param| {
        let range = match param.bounds.as_ref()? {
            Bounds::Between(least, most) => {
                Range::Between(eval.value(least)?.quantity()?, eval.value(most)?.quantity()?)
            }
            Bounds::OneOf(choices) => {
                let choices = choices.iter().map(|choice| Some((text(choice), eval.value(choice)?)));
                Range::OneOf(choices.collect::<Option<Vec<(String, Value)>>>()?)
            }
        };
        Some(Ranged {
            name: param.name.text.clone(),
            kind: param.kind.text.clone(),
            note: param.note.as_ref().map(|note| note.value.clone()),
            value: eval.named(&param.name.text)?,
            range,
            written: param.value.span,
        })
    };
    program.params.iter().filter_map(|param| one(param)).collect()
}

/// Evaluates settings; a name that is no param and a value of the wrong kind are reported.
pub(super) fn settings(
    program: &Program<'_>,
    world: World<'_>,
    texts: &[SettingText],
) -> (BTreeMap<String, Value>, Problems) {
    let mut problems = Problems::default();
    let mut values = BTreeMap::new();
    for text in texts {
        let Some(param) = program.params.iter().find(|param| param.name.text == text.name) else {
            let known: Vec<&str> = program.params.iter().map(|param| param.name.text.as_str()).collect();
            problems.push(say::unknown_setting(
                &text.name,
                suggest::nearest(&text.name, known.iter().copied()),
                &known,
            ));
            continue;
        };
        let wanted = Type::of_word(&param.kind.text).unwrap_or(Type::Error);
        let misfits = typecheck_value(&text.value, &wanted, world.names, Tables::new(world.sources, world.project));
        // A kind that does not fit is reported once, and not again by the evaluator.
        if misfits.has_errors() {
            problems.extend(misfits);
            continue;
        }
        values.extend(evaluated(world, &text.value, &mut problems).map(|value| (text.name.clone(), value)));
    }
    (values, problems)
}

fn evaluated<'w>(world: World<'w>, expr: &'w Expr, problems: &mut Problems) -> Option<Value> {
    let mut eval = Evaluator::new(world);
    let value = eval.value(expr);
    problems.extend(eval.problems);
    value
}

/// Reports every param whose value lies outside its bounds.
pub(super) fn within_bounds<'t>(
    program: &'t Program<'t>,
    eval: &mut Evaluator<'t>,
    settings: &BTreeMap<String, Value>,
) {
    for param in &program.params {
        if let (Some(bounds), Some(value)) = (&param.bounds, eval.named(&param.name.text))
            && let Some(allowed) = outside(eval, bounds, &value)
        {
            // A value from outside has no place in the file, so the name is shown.
            let at = if settings.contains_key(&param.name.text) { param.name.span } else { param.value.span };
            eval.problems.push(say::param_out_of_range(
                &param.name.text,
                &value.to_string(),
                &allowed,
                at,
                bounds_span(param),
            ));
        }
        if TypeWord::of_word(&param.kind.text) == Some(TypeWord::Count) {
            whole(eval, param);
        }
    }
}

fn whole<'t>(eval: &mut Evaluator<'t>, param: &'t Param) {
    let Some(quantity) = eval.named(&param.name.text).and_then(|value| value.quantity()) else { return };
    if quantity.whole().is_none() {
        eval.problems.push(say::not_whole(&format!("`{}`", param.name.text), quantity, param.value.span));
    }
}

/// What is allowed, where the value is not.
fn outside<'t>(eval: &mut Evaluator<'t>, bounds: &'t Bounds, value: &Value) -> Option<String> {
    match bounds {
        Bounds::Between(least, most) => {
            let (least, most) = (eval.value(least)?, eval.value(most)?);
            // So that 3/8in set as 9.525mm is not refused by its last bit.
            let slack = 1e-9 * most.quantity()?.value.abs();
            let (low, high) = (least.quantity()?.value - slack, most.quantity()?.value + slack);
            let inside = (low..=high).contains(&value.quantity()?.value);
            (!inside).then(|| format!("from {least} to {most}"))
        }
        Bounds::OneOf(choices) => {
            let choices: Vec<Value> = choices.iter().filter_map(|choice| eval.value(choice)).collect();
            let shown: Vec<String> = choices.iter().map(ToString::to_string).collect();
            (!choices.contains(value)).then(|| format!("one of {}", shown.join(", ")))
        }
    }
}

fn bounds_span(param: &Param) -> crate::source::Span {
    match &param.bounds {
        Some(Bounds::Between(least, most)) => least.span.to(most.span),
        Some(Bounds::OneOf(choices)) => {
            choices.first().zip(choices.last()).map_or(param.span, |(first, last)| first.span.to(last.span))
        }
        None => param.span,
    }
}
