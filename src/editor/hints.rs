//! What is not written and holds all the same: what bindings come to, and what was taken for what is left out.

use std::collections::BTreeMap;

use lsp_types::{InlayHint, InlayHintKind, InlayHintLabel, InlayHintTooltip, Position, Range};

use super::insight::Insight;
use super::view::View;
use crate::check::names::{Definition, Meaning};
use crate::check::{Checked, type_of};
use crate::project::Project;
use crate::source::SourceId;
use crate::syntax::tree::{Expr, ExprKind};
use crate::vocabulary::types::Type;

/// Longest value that is shown beside a binding, in letters.
const MOST_LETTERS: usize = 60;

/// The hints of a file that stand in a range.
pub fn hints(
    view: &View,
    insight: Option<&Insight>,
    project: &dyn Project,
    file: SourceId,
    range: Range,
) -> Vec<InlayHint> {
    let mut hints = values(view, project, file, range);
    hints.extend(insight.into_iter().flat_map(|insight| assumptions(view, insight, file)));
    hints.retain(|hint| range.start <= hint.position && hint.position <= range.end);
    hints.sort_by_key(|hint| hint.position);
    hints
}

fn hint(position: Position, label: String, tooltip: Option<String>) -> InlayHint {
    InlayHint {
        position,
        label: InlayHintLabel::String(label),
        kind: Some(InlayHintKind::TYPE),
        text_edits: None,
        tooltip: tooltip.map(InlayHintTooltip::String),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    }
}

/// What the bindings and params in the range come to, where that is worked out and not just written.
fn values(view: &View, project: &dyn Project, file: SourceId, range: Range) -> Vec<InlayHint> {
    let (checked, _) = Checked::new(view.loaded(), project);
    let none = BTreeMap::new();
    let mut evaluator = checked.evaluator(&none, project);
    let mut hints = Vec::new();
    for (_, definition) in checked.names().iter().filter(|(_, definition)| definition.span.source == file) {
        let Some(value) = worked_out(definition) else { continue };
        let end = view.range(value.span).end;
        // Shapes are shown by hover: to work all of them out on every key would take too long.
        let shown = matches!(type_of(definition, checked.names()), Type::Quantity(_) | Type::Zero | Type::Point);
        if !shown || end < range.start || range.end < end {
            continue;
        }
        evaluator.enter(definition.within);
        let label = evaluator.value(value).map(|value| format!("= {value}"));
        hints.extend(label.filter(|label| label.chars().count() <= MOST_LETTERS).map(|label| hint(end, label, None)));
    }
    hints
}

/// The value of a binding or param that is more than a literal.
fn worked_out(definition: Definition<'_>) -> Option<&Expr> {
    let value = match definition.meaning {
        Meaning::Let(binding) if binding.formals.is_none() => &binding.value,
        Meaning::Param(param) => &param.value,
        _ => return None,
    };
    let literal = |expr: &Expr| matches!(expr.kind, ExprKind::Number(_) | ExprKind::Broken);
    let written = match &value.kind {
        ExprKind::Negate(inner) => literal(inner),
        ExprKind::Point(x, y) => literal(x) && literal(y),
        _ => literal(value),
    };
    (!written).then_some(value)
}

/// What was taken for what is left out in a file, at the ends of the lines that left them open.
fn assumptions(view: &View, insight: &Insight, file: SourceId) -> Vec<InlayHint> {
    let Some(sheet) = view.sheet(file) else { return Vec::new() };
    let mut by_line: BTreeMap<usize, Vec<(String, String)>> = BTreeMap::new();
    for taken in &insight.assumptions {
        if insight.sheets.get(&taken.origin.source).is_none_or(|known| known.name != sheet.name) {
            continue;
        }
        let what = taken.what.split(" of ring ").next().unwrap_or(&taken.what);
        let line = sheet.lines.line_of(taken.origin.range().start);
        let short =
            (format!("{what} {}", taken.taken), format!("{} taken as {}: {}", taken.what, taken.taken, taken.why));
        let known = by_line.entry(line).or_default();
        if !known.contains(&short) {
            known.push(short);
        }
    }
    let at_end = |(line, all): (usize, Vec<(String, String)>)| {
        let (labels, reasons): (Vec<String>, Vec<String>) = all.into_iter().unzip();
        hint(sheet.lines.position(sheet.lines.line(line).end), labels.join("; "), Some(reasons.join("\n")))
    };
    by_line.into_iter().map(at_end).collect()
}
