//! `build`: everything that the shop needs, all of it or nothing.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::family::{self, FamilyArguments, Shard};
use super::{DesignArguments, FINDINGS, MessageFormat, report, stage, together};
use crate::analyse::{Dial, of_opened};
use crate::diagnostics::{Diagnostic, counted};
use crate::limits;
use crate::output::page::Paper;
use crate::output::{self, OutputFile, Printing, viewer};
use crate::parallel::side_by_side;
use crate::plan::{Effort, Plan, StockUse};
use crate::quote::quote;
use crate::source::Sources;
use crate::units::{Length, plain};

#[derive(Debug, Args)]
pub(super) struct BuildArguments {
    #[command(flatten)]
    pub(super) design: DesignArguments,
    /// More designs, to be laid on the same boards; with `--together` alone
    #[arg(value_name = "FILE", requires = "together")]
    pub(super) more: Vec<PathBuf>,
    /// Lays all designs and variants on shared boards of the same stock, and writes one folder
    #[arg(long, conflicts_with_all = ["only", "cache"])]
    pub(super) together: bool,
    /// Where the files go; a folder named after the design beside it where left out
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Tries to save each board, from 0, boxes in rows, up; more may need fewer boards and take longer
    #[arg(long, value_name = "TRIES", default_value_t = Effort::default().0, value_parser = clap::value_parser!(u32).range(..=limits::EFFORT))]
    pub(super) effort: u32,
    /// Leaves out what is for printing, the proof and the run sheet as PDF, which takes longer than all the rest
    #[arg(long)]
    pub(super) no_print: bool,
    /// The paper of what is for printing
    #[arg(long, value_enum, default_value_t = Paper::default(), value_name = "SIZE", conflicts_with = "no_print")]
    pub(super) paper: Paper,
    #[command(flatten)]
    pub(super) family: FamilyArguments,
    /// Keeps what is worked out of a family in this folder, and takes it from there; several builds may share it
    #[arg(long, value_name = "DIR", conflicts_with = "variant")]
    pub(super) cache: Option<PathBuf>,
    /// Builds only this part of a family, as in `--shard 2/8`; `gather` joins them
    #[arg(long, value_name = "I/N", value_parser = Shard::parse, conflicts_with_all = ["variant", "together"])]
    pub(super) shard: Option<Shard>,
}

impl BuildArguments {
    /// A flag that asks for something of a family.
    fn family_flag(&self) -> Option<&'static str> {
        let given = [
            (self.family.only.is_some(), "--only"),
            (self.cache.is_some(), "--cache"),
            (self.shard.is_some(), "--shard"),
        ];
        given.iter().find(|(given, _)| *given).map(|(_, flag)| *flag)
    }

    /// In which way files are made, where there are several; tells what was built in one way from another.
    fn how(&self) -> String {
        format!("effort {}, printed on {:?}", self.effort, self.printed_on())
    }

    /// The paper of what is for printing; none where it is left out.
    pub(super) fn printed_on(&self) -> Option<Paper> {
        Some(self.paper).filter(|_| !self.no_print)
    }
}

pub(super) fn run(arguments: &BuildArguments) -> u8 {
    let done = if arguments.together { together::built(arguments) } else { built(arguments) };
    done.unwrap_or_else(|code| code)
}

fn built(arguments: &BuildArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let (project, opened) = report::opened(&arguments.design, false, Effort(arguments.effort))?;
    if opened.has_family() && arguments.design.asked.variant.is_none() {
        return family::build::built(arguments, &project, opened, &arguments.how());
    }
    if let Some(flag) = arguments.family_flag() {
        let file = arguments.design.file.display();
        return Err(report::fail(&format!("`{flag}` is for families, and `{file}` has none"), format));
    }
    let analysis = of_opened(&opened, &project);
    if format == MessageFormat::Text {
        report::findings(&analysis);
    }
    let plans: Vec<(&Dial, &Plan)> =
        analysis.dials.iter().filter_map(|dial| Some((dial, dial.plan.as_ref()?))).collect();
    if analysis.has_errors() || plans.is_empty() {
        match format {
            MessageFormat::Text => eprintln!("nothing was built: mend the errors first"),
            MessageFormat::Json => report::json(&with_built(report::as_json(&analysis), Vec::new())),
        }
        return Ok(FINDINGS);
    }
    let folder = arguments.out.clone().unwrap_or_else(|| arguments.design.file.with_extension(""));
    let of = |(dial, plan): &(&Dial, &Plan)| {
        all_files(dial, plan, &analysis.findings, &analysis.sources, arguments.printed_on())
    };
    let files: Result<Vec<Vec<OutputFile>>, String> = plans.iter().map(of).collect();
    let files = files.map_err(|error| report::fail(&error, format))?.concat();
    stage::stage(&folder, &files).map_err(|error| report::fail(&error.to_string(), format))?;
    match format {
        MessageFormat::Json => {
            let built = plans.iter().map(|(dial, plan)| numbers(dial, plan)).collect();
            report::json(&with_built(report::as_json(&analysis), built));
        }
        MessageFormat::Text => {
            plans.iter().for_each(|(dial, plan)| summary(dial, plan));
            println!("findings   {}", report::counted(&analysis));
            println!("written    {} ({} files)", folder.display(), files.len());
        }
    }
    Ok(report::code(&analysis))
}

/// Everything that is written of a dial, with what was found of it; what is for printing where a paper is given.
pub(super) fn all_files(
    dial: &Dial,
    plan: &Plan,
    findings: &[Diagnostic],
    sources: &Sources,
    paper: Option<Paper>,
) -> Result<Vec<OutputFile>, String> {
    let shown = viewer::Shown {
        design: &dial.design,
        reading_check: &dial.audit.reading_check,
        findings: findings.iter().collect(),
        revision: dial.revision,
        sources,
    };
    let (mut files, page) =
        side_by_side(|| output::files(&dial.design, &dial.audit, plan, sources), || viewer::file(&shown));
    files.push(page);
    if let Some(paper) = paper {
        files.extend(output::prints(&Printing {
            design: &dial.design,
            audit: &dial.audit,
            plan,
            expectations: &dial.expectations,
            findings: findings.iter().collect(),
            sources,
            revision: &dial.revision,
            paper,
        })?);
    }
    Ok(files)
}

fn with_built(mut report: Value, built: Vec<Value>) -> Value {
    if let Some(fields) = report.as_object_mut() {
        fields.insert("built".to_owned(), Value::Array(built));
    }
    report
}

fn numbers(dial: &Dial, plan: &Plan) -> Value {
    json!({
        "title": dial.design.title,
        "variant": dial.design.variant,
        "parts": plan.part_count(),
        "boards": plan.boards.len(),
        "setups": plan.boards.iter().map(|board| board.setups.len()).sum::<usize>(),
        "cut_length_mm": plain(plan.cut_length().as_mm(), 1),
        "travel_mm": plain(plan.travel().as_mm(), 1),
        "travel_saved_mm": plain(plan.travel_saved().as_mm(), 1),
        "stocks": plan.stocks.iter().map(stock).collect::<Vec<Value>>(),
        "quote": output::quote::as_json(&quote(&dial.design, plan)),
    })
}

pub(super) fn stock(used: &StockUse) -> Value {
    json!({
        "stock": used.stock,
        "figures": used.figures,
        "boards": used.boards,
        "least_boards": used.least_boards,
        "share_percent": plain(used.share * 100.0, 1),
    })
}

/// "54 % of birch becomes parts; by area alone no fewer boards than 1".
pub(super) fn yields(plan: &Plan) -> String {
    let words = plan.stocks.iter().map(|used| {
        let share = plain(used.share * 100.0, 0);
        format!(
            "{share} % of the {} becomes parts; by area alone {} would be the least",
            used.called(),
            used.least_boards
        )
    });
    words.collect::<Vec<String>>().join("; ")
}

fn summary(dial: &Dial, plan: &Plan) {
    let design = &dial.design;
    let variant = design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
    println!("{}{variant}", design.title);
    let dials = counted(design.run.made() as usize, "dial");
    println!("parts      {} ({dials} of {})", plan.part_count(), counted(design.layers.len(), "layer"));
    println!("boards     {}", boards(plan));
    println!("yield      {}", yields(plan));
    let metres = |length: Length| plain(length.as_mm() / 1000.0, 2);
    let (travel, saved) = (metres(plan.travel()), metres(plan.travel_saved()));
    println!("cut        {} m; travel {travel} m, {saved} m saved by the order", metres(plan.cut_length()));
    println!("quote      {}", output::quote::line(&quote(design, plan)));
}

/// "2 of birch, 1 of card, in 5 setups".
pub(super) fn boards(plan: &Plan) -> String {
    let used = plan.stocks.iter().filter(|used| used.boards > 0);
    let words: Vec<String> = used.map(|used| format!("{} of {}", used.boards, used.called())).collect();
    let setups: usize = plan.boards.iter().map(|board| board.setups.len()).sum();
    format!("{}, {} in all", words.join(", "), counted(setups, "setup"))
}
