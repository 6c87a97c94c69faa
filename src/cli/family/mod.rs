//! Families on the command line: the verb that lists and compares variants, their build, and the joining of shards.

mod arguments;
pub(super) mod build;
mod disk;
pub(super) mod gather;
mod list;
mod progress;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::{report, terminal};
use crate::diagnostics::Diagnostic;
use crate::limits;
use crate::source::Sources;

pub(super) use arguments::{FamilyArguments, processors};
pub(super) use list::{ListArguments, run};

/// Prints findings, of very many the first ones.
fn print_findings(found: &[Diagnostic], sources: &Sources) {
    let shown = found.get(..limits::FAMILY_FINDINGS_SHOWN).unwrap_or(found);
    report::some_findings(shown, sources);
    if shown.len() < found.len() {
        eprintln!("and {} more findings, see family.json", found.len() - shown.len());
    }
}

/// Columns of cells, each under its heading; those of numbers flush right.
pub(super) fn rows(columns: &[(String, Vec<String>)]) -> String {
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
    terminal::table(&table).join("\n")
}
