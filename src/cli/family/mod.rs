//! Families on the command line: the verb that lists and compares variants, their build, and the joining of shards.

pub(super) mod build;
mod cache;
pub(super) mod gather;
mod kept;
mod list;
mod progress;

use std::num::NonZeroUsize;

use clap::Args;
use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::report;
use crate::analyse::merged;
use crate::check::{Value, Variant, Wanted};
use crate::diagnostics::{Diagnostic, Problems};
use crate::family::question::{self, Knows};
use crate::limits;
use crate::source::Sources;
use crate::study::Study;
use crate::syntax::tree::Expr;
use kept::Kept;

pub(super) use list::{ListArguments, run};

/// What every verb takes that works on a whole family.
#[derive(Clone, Debug, Args)]
pub(super) struct FamilyArguments {
    /// Only variants for which this holds, in words of the file, as in `--only "across is 46mm and seats < 5"`
    #[arg(long, value_name = "CONDITION", conflicts_with = "variant")]
    pub(super) only: Option<String>,
    /// Works on so many variants at once; as many as there are processors where left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=limits::JOBS))]
    jobs: Option<u16>,
}

/// One of the shards that a build is split into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Shard {
    /// Which one, from 1.
    number: u32,
    /// Of how many.
    of: u32,
}

impl Shard {
    /// From `I/N`.
    pub(super) fn parse(text: &str) -> Result<Self, String> {
        let example = "write it as I/N, for instance 2/8 for the second of eight";
        let (number, of) = text.split_once('/').ok_or(example)?;
        let count = |text: &str| text.trim().parse::<u32>().map_err(|_| example.to_owned());
        let shard = Self { number: count(number)?, of: count(of)? };
        if shard.of == 0 || shard.of > limits::SHARDS {
            return Err(format!("a build is split into 1 to {} shards", limits::SHARDS));
        }
        if shard.number == 0 || shard.number > shard.of {
            return Err(format!("shards are counted from 1 to {}", shard.of));
        }
        Ok(shard)
    }

    /// Whether the variant at this place is among its own: every shard takes its turn, so that none has only large ones.
    fn has(self, at: usize) -> bool {
        at % self.of as usize == (self.number - 1) as usize
    }
}

/// The variants to work on.
struct Chosen<'s> {
    variants: Vec<&'s Variant>,
    problems: Problems,
}

/// The variants for which a condition on their params holds; all where there is none.
fn chosen<'s>(study: &'s Study<'_>, only: Option<&Expr>) -> Chosen<'s> {
    let all = study.variants.iter().flatten();
    let Some(only) = only else { return Chosen { variants: all.collect(), problems: Problems::default() } };
    let mut problems = question::faults(study, only, Wanted::Truth, Knows::Params);
    let mut variants = Vec::new();
    for variant in all {
        if problems.has_errors() {
            break;
        }
        let (answer, found) = question::answer_of_params(study, only, Some(variant));
        problems.extend(found);
        variants.extend((answer == Some(Value::Truth(true))).then_some(variant));
    }
    Chosen { variants, problems }
}

fn threads(arguments: &FamilyArguments) -> NonZeroUsize {
    arguments.jobs.and_then(|jobs| NonZeroUsize::new(usize::from(jobs))).unwrap_or_else(processors)
}

/// As many threads as the machine has processors.
pub(super) fn processors() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
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
