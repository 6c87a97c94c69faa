//! The variants of a family: which values each sets, and what it is called.

use std::collections::BTreeMap;

use super::evaluate::{Evaluator, World};
use super::program::Program;
use super::value::Value;
use crate::check::findings::dial as say;
use crate::diagnostics::Problems;
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind, FamilyItem, Name};

/// One member of a family.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// What its output is called.
    pub name: String,
    /// The params that it sets.
    pub settings: BTreeMap<String, Value>,
    /// What asked for it.
    pub origin: Span,
}

/// One param's value, and the word that stands for it in names of outputs.
type Setting = (String, Value, String);

/// All variants: those of the `each` lines multiplied, combinations left out taken away, then those named.
pub fn variants<'t>(program: &Program<'t>, world: World<'t>) -> (Vec<Variant>, Problems) {
    let Some(family) = program.family else { return (Vec::new(), Problems::default()) };
    let mut eval = Evaluator::new(world);
    let mut grid: Vec<Vec<Setting>> = vec![Vec::new()];
    let mut walks = false;
    for item in &family.items {
        let FamilyItem::Each { names, values, .. } = item else { continue };
        walks = true;
        let rows = rows(&mut eval, names, values);
        // Before the product is made: three lines of a thousand would take all memory.
        if grid.len().saturating_mul(rows.len()) > limits::VARIANTS {
            eval.problems.push(say::too_many_variants(values.span));
            return (Vec::new(), eval.problems);
        }
        grid = grid.iter().flat_map(|so_far| rows.iter().map(move |row| [so_far.as_slice(), row].concat())).collect();
    }
    let mut problems = std::mem::take(&mut eval.problems);
    let mut found: Vec<Variant> = Vec::new();
    // Without any `each` the grid is one row of nothing, which is no variant.
    for settings in grid.into_iter().filter(|_| walks) {
        let variant = variant_of_grid(settings, family.span);
        // The one way to thin a grid out: a `where` beside it would say the same twice.
        if !left_out(program, world, &variant, &mut problems) {
            add(&mut found, variant, &mut problems);
        }
    }
    for item in &family.items {
        let FamilyItem::Variant { name, bindings, span } = item else { continue };
        let settings =
            bindings.iter().filter_map(|(param, value)| Some((param.text.clone(), eval.value(value)?))).collect();
        add(&mut found, Variant { name: name.text.clone(), settings, origin: *span }, &mut problems);
    }
    problems.extend(eval.problems);
    if found.is_empty() && !problems.has_errors() {
        problems.push(say::empty_family(family.span));
    }
    (found, problems)
}

fn add(found: &mut Vec<Variant>, variant: Variant, problems: &mut Problems) {
    match found.iter().find(|other| other.name == variant.name) {
        Some(first) => problems.push(say::variant_twice(&variant.name, variant.origin, first.origin)),
        None => found.push(variant),
    }
}

/// The rows of one `each` line: for every row, each param's value.
fn rows<'t>(eval: &mut Evaluator<'t>, names: &'t [Name], values: &'t Expr) -> Vec<Vec<Setting>> {
    let cells: Vec<Option<&'t Expr>> = match &values.kind {
        ExprKind::List(items) => items.iter().map(Some).collect(),
        _ => Vec::new(),
    };
    let Some(rows) = eval.value(values) else { return Vec::new() };
    let rows = rows.items().unwrap_or_default().to_vec();
    rows.iter()
        .enumerate()
        .map(|(at, row)| {
            let cell = cells.get(at).copied().flatten();
            match (names, row) {
                ([name], value) => vec![setting(name, value, cell)],
                (names, Value::List(values)) => {
                    let written = |at: usize| match cell.map(|cell| &cell.kind) {
                        Some(ExprKind::List(items)) => items.get(at),
                        _ => None,
                    };
                    names
                        .iter()
                        .zip(values.iter())
                        .enumerate()
                        .map(|(at, (name, value))| setting(name, value, written(at)))
                        .collect()
                }
                _ => Vec::new(),
            }
        })
        .collect()
}

/// A value given by name lends that name to its output; others are written out.
fn setting(name: &Name, value: &Value, written: Option<&Expr>) -> Setting {
    let word = match written.map(|expr| &expr.kind) {
        Some(ExprKind::Name(word)) => word.clone(),
        _ => format!("{}_{}", name.text, value),
    };
    (name.text.clone(), value.clone(), word)
}

fn variant_of_grid(settings: Vec<Setting>, origin: Span) -> Variant {
    let words: Vec<&str> = settings.iter().map(|(_, _, word)| word.as_str()).collect();
    let name = file_name(&words.join("-"));
    Variant { name, settings: settings.into_iter().map(|(param, value, _)| (param, value)).collect(), origin }
}

/// Letters, digits, `.`, `_` and `-` alone, so that it can name a folder anywhere.
fn file_name(words: &str) -> String {
    words.chars().map(|letter| if letter.is_alphanumeric() || "._-".contains(letter) { letter } else { '_' }).collect()
}

fn left_out<'t>(program: &Program<'t>, world: World<'t>, variant: &Variant, problems: &mut Problems) -> bool {
    let Some(family) = program.family else { return false };
    let settings = variant.settings.clone();
    let world = World { settings: &settings, ..world };
    family.items.iter().any(|item| match item {
        FamilyItem::LeaveOut { condition, .. } => with_settings(world, condition, problems),
        _ => false,
    })
}

fn with_settings(world: World<'_>, condition: &Expr, problems: &mut Problems) -> bool {
    let mut eval = Evaluator::new(world);
    let holds = eval.truth(condition).unwrap_or(false);
    problems.extend(eval.problems);
    holds
}
