//! `build`: everything that the shop needs, all of it or nothing.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::{DesignArguments, FINDINGS, MessageFormat, report, stage, together};
use crate::analyse::{Analysis, Dial};
use crate::diagnostics::findings::counted;
use crate::limits;
use crate::output::page::Paper;
use crate::output::{self, OutputFile, Printing, viewer};
use crate::plan::{Effort, Plan, StockUse};
use crate::quote::quote;
use crate::units::{Length, plain};

#[derive(Debug, Args)]
pub(super) struct BuildArguments {
    #[command(flatten)]
    pub(super) design: DesignArguments,
    /// More designs, to be laid on the same boards; with `--together` alone
    #[arg(value_name = "FILE", requires = "together")]
    pub(super) more: Vec<PathBuf>,
    /// Lays all designs and variants on shared boards of the same stock, and writes one folder
    #[arg(long)]
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
}

pub(super) fn run(arguments: &BuildArguments) -> u8 {
    let done = if arguments.together { together::built(arguments) } else { built(arguments) };
    done.unwrap_or_else(|code| code)
}

fn built(arguments: &BuildArguments) -> Result<u8, u8> {
    let format = arguments.design.message_format;
    let analysis = report::analysed_with(&arguments.design, false, Effort(arguments.effort))?;
    if format == MessageFormat::Text {
        report::findings(&analysis);
    }
    let plans: Vec<(&Dial, &Plan)> =
        analysis.dials.iter().filter_map(|dial| Some((dial, dial.plan.as_ref()?))).collect();
    if analysis.has_errors() || plans.is_empty() {
        match format {
            MessageFormat::Text => eprintln!("nothing was built: mend the errors first"),
            MessageFormat::Json => println!("{:#}", with_built(report::as_json(&analysis), Vec::new())),
        }
        return Ok(FINDINGS);
    }
    let folder = arguments.out.clone().unwrap_or_else(|| arguments.design.file.with_extension(""));
    let paper = Some(arguments.paper).filter(|_| !arguments.no_print);
    let files = files_of(&analysis, &plans, paper).map_err(|error| report::fail(&error, format))?;
    stage::stage(&folder, &files).map_err(|error| report::fail(&error.to_string(), format))?;
    match format {
        MessageFormat::Json => {
            let built = plans.iter().map(|(dial, plan)| numbers(dial, plan)).collect();
            println!("{:#}", with_built(report::as_json(&analysis), built));
        }
        MessageFormat::Text => {
            match plans.as_slice() {
                [(dial, plan)] => summary(dial, plan),
                several => several.iter().for_each(|(dial, plan)| one_line(dial, plan)),
            }
            println!("findings   {}", report::counted(&analysis));
            println!("written    {} ({} files)", folder.display(), files.len());
        }
    }
    Ok(report::code(&analysis))
}

/// The files of every dial; those of a family's variants each in a folder of their own.
fn files_of(analysis: &Analysis, plans: &[(&Dial, &Plan)], paper: Option<Paper>) -> Result<Vec<OutputFile>, String> {
    let several = plans.len() > 1;
    let mut all = Vec::new();
    for (dial, plan) in plans {
        let mut files = output::files(&dial.design, &dial.audit, plan, &analysis.sources);
        files.push(viewer::file(&viewer::Shown::of(analysis, dial)));
        if let Some(paper) = paper {
            files.extend(output::prints(&printing(analysis, dial, plan, paper))?);
        }
        let folder = dial.design.variant.as_ref().filter(|_| several);
        all.extend(files.into_iter().map(|file| match folder {
            Some(folder) => OutputFile { name: format!("{folder}/{}", file.name), ..file },
            None => file,
        }));
    }
    Ok(all)
}

fn printing<'a>(analysis: &'a Analysis, dial: &'a Dial, plan: &'a Plan, paper: Paper) -> Printing<'a> {
    Printing {
        design: &dial.design,
        audit: &dial.audit,
        plan,
        expectations: &dial.expectations,
        findings: analysis.of_dial(dial).collect(),
        sources: &analysis.sources,
        revision: &dial.revision,
        paper,
    }
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
        "boards": used.boards,
        "least_boards": used.least_boards,
        "share_percent": plain(used.share * 100.0, 1),
    })
}

/// "54 % of birch becomes parts; by area alone no fewer boards than 1".
pub(super) fn yields(plan: &Plan) -> String {
    let words = plan.stocks.iter().map(|used| {
        let share = plain(used.share * 100.0, 0);
        format!("{share} % of the {} becomes parts; by area alone {} would be the least", used.stock, used.least_boards)
    });
    words.collect::<Vec<String>>().join("; ")
}

fn summary(dial: &Dial, plan: &Plan) {
    let design = &dial.design;
    let variant = design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
    println!("{}{variant}", design.title);
    let dials = design.run.dials + design.run.spares;
    println!("parts      {} ({dials} dials of {} layers)", plan.part_count(), design.layers.len());
    println!("boards     {}", boards(plan));
    println!("yield      {}", yields(plan));
    let metres = |length: Length| plain(length.as_mm() / 1000.0, 2);
    let (travel, saved) = (metres(plan.travel()), metres(plan.travel_saved()));
    println!("cut        {} m; travel {travel} m, {saved} m saved by the order", metres(plan.cut_length()));
    println!("quote      {}", output::quote::line(&quote(design, plan)));
}

/// "2 of birch, 1 of card, in 5 setups".
pub(super) fn boards(plan: &Plan) -> String {
    let mut stocks: Vec<(&str, usize)> = Vec::new();
    for board in &plan.boards {
        match stocks.iter_mut().find(|(stock, _)| *stock == board.stock) {
            Some((_, count)) => *count += 1,
            None => stocks.push((&board.stock, 1)),
        }
    }
    let words: Vec<String> = stocks.iter().map(|(stock, count)| format!("{count} of {stock}")).collect();
    let setups: usize = plan.boards.iter().map(|board| board.setups.len()).sum();
    format!("{}, {} in all", words.join(", "), counted(setups, "setup"))
}

fn one_line(dial: &Dial, plan: &Plan) {
    println!(
        "{}: {} parts on {} boards, cut {} m",
        dial.design.variant.as_deref().unwrap_or(&dial.design.title),
        plan.part_count(),
        plan.boards.len(),
        plain(plan.cut_length().as_mm() / 1000.0, 2)
    );
}
