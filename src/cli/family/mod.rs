//! Families on the command line: the verb that lists and compares variants, their build, and the joining of shards.

mod arguments;
pub(super) mod build;
mod cache;
pub(super) mod gather;
mod kept;
mod list;
mod progress;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::report;
use crate::analysis::{CheckedSession, merged};
use crate::check::{Value, Variant, Wanted};
use crate::diagnostics::{Diagnostic, Problems};
use crate::family::question::{self, Knows};
use crate::limits;
use crate::source::Sources;
use crate::syntax::tree::Expr;
use kept::Kept;

pub(super) use arguments::{FamilyArguments, Shard, processors};
pub(super) use list::{ListArguments, run};

/// The variants to work on.
struct Chosen<'s> {
    variants: Vec<&'s Variant>,
    problems: Problems,
}

/// The variants for which a condition on their params holds; all where there is none.
fn chosen<'s>(session: &'s CheckedSession<'_>, only: Option<&Expr>) -> Chosen<'s> {
    let all = session.variants.iter().flatten();
    let Some(only) = only else { return Chosen { variants: all.collect(), problems: Problems::default() } };
    let mut problems = question::faults(session, only, Wanted::Truth, Knows::Params);
    let mut variants = Vec::new();
    for variant in all {
        if problems.has_errors() {
            break;
        }
        let (answer, found) = question::answer_of_params(session, only, Some(variant));
        problems.extend(found);
        variants.extend((answer == Some(Value::Truth(true))).then_some(variant));
    }
    Chosen { variants, problems }
}

/// All findings, each once, with the variants that have it.
fn findings_of(kept: &Kept) -> Vec<Diagnostic> {
    let mut shared = Problems::default();
    shared.extend(kept.findings.clone());
    let of_variants = kept.records.iter().map(|numbered| {
        let mut found = Problems::default();
        found.extend(numbered.record.findings.clone());
        (Some(numbered.record.variant.clone()), found)
    });
    merged(shared, of_variants.collect())
}

/// Prints findings, of very many the first ones.
fn print_findings(found: &[Diagnostic], sources: &Sources) {
    let shown = found.get(..limits::FAMILY_FINDINGS_SHOWN).unwrap_or(found);
    report::told(shown, sources);
    if shown.len() < found.len() {
        eprintln!("and {} more findings, see family.json", found.len() - shown.len());
    }
}

/// Columns of cells, each under its heading; those of numbers flush right.
fn rows(columns: &[(String, Vec<String>)]) -> String {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(columns.iter().map(|(heading, _)| heading.as_str()));
    for at in 0..columns.first().map_or(0, |(_, cells)| cells.len()) {
        table.add_row(columns.iter().map(|(_, cells)| cells.get(at).map_or("", String::as_str)));
    }
    for (column, (_, cells)) in table.column_iter_mut().zip(columns) {
        let number = cells.iter().all(|cell| cell.is_empty() || cell.starts_with(|first: char| first.is_ascii_digit()));
        column.set_cell_alignment(if number { CellAlignment::Right } else { CellAlignment::Left });
    }
    let lines: Vec<String> = table.lines().map(|line| line.trim_end().to_owned()).collect();
    lines.join("\n")
}
