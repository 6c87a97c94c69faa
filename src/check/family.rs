//! The variants of a family: which values each sets, and what it is called.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use unicode_normalization::UnicodeNormalization;

use super::evaluate::{Evaluator, World};
use super::names::Meaning;
use super::program::Program;
use super::tables::Column;
use super::value::Value;
use crate::check::findings::dial as say;
use crate::diagnostics::Problems;
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{Argument, Expr, ExprKind, FamilyItem, Name};
use crate::vocabulary::functions::FunctionName;
use crate::vocabulary::types::Type;

/// One member of a family.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// What its output is called.
    pub name: String,
    /// The params that it sets.
    pub settings: BTreeMap<String, Value>,
    /// The first cell of the row of a table that it was made from, by which people know the row.
    pub row: Option<String>,
    /// What asked for it.
    pub origin: Span,
}

/// One param's value.
#[derive(Clone)]
struct Setting {
    param: String,
    value: Value,
    /// What stands for it in names of outputs.
    word: String,
    /// What the cell of a table says that it came from.
    cell: Option<String>,
}

/// All variants: those of the `each` lines multiplied, combinations left out taken away, then those named.
pub fn variants<'t>(program: &Program<'t>, world: World<'t>) -> (Vec<Variant>, Problems) {
    let Some(family) = program.family else { return (Vec::new(), Problems::default()) };
    let mut eval = Evaluator::new(world);
    let mut grid: Vec<Vec<Setting>> = vec![Vec::new()];
    let (mut walks, mut whole) = (false, true);
    for item in &family.items {
        let FamilyItem::Each { names, values, .. } = item else { continue };
        walks = true;
        let Some(rows) = rows(&mut eval, names, values) else {
            // What is wrong with the values has been told, and what lacks them is not called empty.
            whole = false;
            grid.clear();
            continue;
        };
        // Before the product is made: three lines of a thousand would take all memory.
        if grid.len().saturating_mul(rows.len()) > limits::VARIANTS {
            eval.problems.push(say::too_many_variants(values.span));
            return (Vec::new(), eval.problems);
        }
        grid = grid.iter().flat_map(|so_far| rows.iter().map(move |row| [so_far.as_slice(), row].concat())).collect();
    }
    let mut problems = std::mem::take(&mut eval.problems);
    let mut found: Vec<Variant> = Vec::new();
    let mut taken = BTreeSet::new();
    // Without any `each` the grid is one row of nothing, which is no variant.
    for settings in grid.into_iter().filter(|_| walks) {
        let variant = variant_of_grid(settings, family.span);
        // The one way to thin a grid out: a `where` beside it would say the same twice.
        if !left_out(program, world, &variant, &mut problems) {
            add(&mut found, numbered(variant, &mut taken), &mut problems);
        }
    }
    for item in &family.items {
        let FamilyItem::Variant { name, bindings, span } = item else { continue };
        let settings =
            bindings.iter().filter_map(|(param, value)| Some((param.text.clone(), eval.value(value)?))).collect();
        add(&mut found, Variant { name: name.text.clone(), settings, row: None, origin: *span }, &mut problems);
    }
    problems.extend(eval.problems);
    if found.is_empty() && whole && !problems.has_errors() {
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

/// The variant under a free name: rows of a table may be alike, and each of them is made.
fn numbered(variant: Variant, taken: &mut BTreeSet<String>) -> Variant {
    if variant.row.is_none() {
        return variant;
    }
    let numbered = (2..).map(|number: u32| format!("{}-{number}", variant.name));
    let free = std::iter::once(variant.name.clone()).chain(numbered).find(|name| taken.insert(name.clone()));
    Variant { name: free.unwrap_or_default(), ..variant }
}

/// The rows of a table, each cell as its param takes it.
fn rows_of_table<'t>(
    eval: &mut Evaluator<'t>,
    names: &'t [Name],
    arguments: &'t [Argument],
) -> Option<Vec<Vec<Setting>>> {
    let columns = eval.columns(arguments)?;
    let kind = |name: &Name| match eval.names().get(&name.text, None)?.meaning {
        Meaning::Param(param) => Type::of_word(&param.kind.text),
        _ => None,
    };
    let columns: Vec<_> = names.iter().zip(&columns).map(|(name, column)| (name, kind(name), column)).collect();
    let cell = |at: usize, (name, kind, column): &(&Name, Option<Type>, &Arc<Column>)| {
        let text = column.cells.get(at)?.text.clone();
        let word = Some(in_file_name(&text)).filter(|word| !word.is_empty());
        Some(Setting {
            param: name.text.clone(),
            value: column.value(at, kind.as_ref().unwrap_or(&Type::Any))?,
            word: word.unwrap_or_else(|| name.text.clone()),
            cell: Some(text),
        })
    };
    let count = columns.first().map_or(0, |(.., column)| column.cells.len());
    Some((0..count).map(|at| columns.iter().filter_map(|column| cell(at, column)).collect()).collect())
}

/// The arguments of a call that takes columns of a table.
fn of_table(values: &Expr) -> Option<&[Argument]> {
    match &values.kind {
        ExprKind::Call { function, arguments } => {
            let takes = [FunctionName::Column, FunctionName::Rows];
            takes.iter().any(|known| known.word() == function.text).then_some(arguments)
        }
        _ => None,
    }
}

/// Letters and digits of any script, in small letters and normal form C, and one `-` for all between them.
fn in_file_name(text: &str) -> String {
    let small: String = text.to_lowercase().nfc().collect();
    let words: Vec<&str> =
        small.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.join("-")
}

/// The rows of one `each` line: for every row, each param's value; none where they cannot be had, which was told.
fn rows<'t>(eval: &mut Evaluator<'t>, names: &'t [Name], values: &'t Expr) -> Option<Vec<Vec<Setting>>> {
    if let Some(arguments) = of_table(values) {
        return rows_of_table(eval, names, arguments);
    }
    let cells: Vec<Option<&'t Expr>> = match &values.kind {
        ExprKind::List(items) => items.iter().map(Some).collect(),
        _ => Vec::new(),
    };
    let rows = eval.value(values)?.items()?.to_vec();
    let rows = rows
        .iter()
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
        .collect();
    Some(rows)
}

/// A value given by name lends that name to its output; others are written out.
fn setting(name: &Name, value: &Value, written: Option<&Expr>) -> Setting {
    let word = match written.map(|expr| &expr.kind) {
        Some(ExprKind::Name(word)) => word.clone(),
        _ => format!("{}_{}", name.text, value),
    };
    Setting { param: name.text.clone(), value: value.clone(), word, cell: None }
}

fn variant_of_grid(settings: Vec<Setting>, origin: Span) -> Variant {
    let words: Vec<&str> = settings.iter().map(|setting| setting.word.as_str()).collect();
    let name = file_name(&words.join("-"));
    let row = settings.iter().find_map(|setting| setting.cell.clone());
    let settings = settings.into_iter().map(|setting| (setting.param, setting.value)).collect();
    Variant { name, settings, row, origin }
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
