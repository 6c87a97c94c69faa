//! Expectations: conditions on the finished dial, with the measured values in the answer.

use super::evaluate::{Evaluator, Measure, World};
use super::program::Program;
use crate::check::findings::dial as say;
use crate::diagnostics::Problems;
use crate::format;
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind};
use crate::vocabulary::functions::{Function, function_named};

/// An expectation, and how it turned out.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// The condition as written, in one line.
    pub condition: String,
    /// Whether it holds; none where it cannot be told.
    pub holds: Option<bool>,
    /// What it measures, as written, each with the value it came to.
    pub measured: Vec<(String, String)>,
}

/// Tests every expectation; one that does not hold is a finding with what was measured.
pub(super) fn expectations<'t>(
    program: &'t Program<'t>,
    world: World<'t>,
    measure: Measure<'t>,
) -> (Vec<Expectation>, Problems) {
    let mut eval = Evaluator::new(world).measuring(measure);
    let mut all = Vec::new();
    for expect in &program.expects {
        let holds = eval.truth(&expect.condition);
        let mut calls = Vec::new();
        measures(&expect.condition, &mut calls);
        let mut parts: Vec<(Span, String)> = Vec::new();
        // Where the condition cannot be told, its measures would only report the same faults again.
        if holds.is_some() {
            // Measures are asked once more by themselves, so that the answer can show what each of them came to.
            for call in calls {
                parts.extend(eval.value(call).map(|value| (call.span, value.to_string())));
            }
        }
        let written = |span: Span| world.sources.text(span).split_whitespace().collect::<Vec<_>>().join(" ");
        let measured = parts.iter().map(|(span, value)| (written(*span), value.clone())).collect();
        let text = world.sources.file(expect.condition.span.source).text;
        all.push(Expectation { condition: format::one_line(&expect.condition, &text), holds, measured });
        if holds != Some(false) {
            continue;
        }
        let shown: Vec<String> =
            parts.iter().map(|(span, value)| format!("`{}` is {value}", world.sources.text(*span))).collect();
        let note = expect.note.as_ref().map(|note| note.value.as_str());
        let values = if shown.is_empty() {
            "nothing in it is measured, and it is not true".to_owned()
        } else {
            shown.join(", ")
        };
        eval.problems.push(say::not_as_expected(&values, note, expect.condition.span, &parts));
    }
    (all, eval.problems)
}

/// Every call of a measure in an expression.
pub(super) fn measures<'t>(expr: &'t Expr, found: &mut Vec<&'t Expr>) {
    match &expr.kind {
        ExprKind::Call { function, .. } if function_named(&function.text).is_some_and(Function::is_measure) => {
            found.push(expr);
        }
        _ => expr.parts().into_iter().for_each(|part| measures(part, found)),
    }
}
