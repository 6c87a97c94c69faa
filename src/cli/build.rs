//! `build`: everything that the shop needs, all of it or nothing.

use serde_json::{Value, json};

use super::boards::{boards, stock, yields};
use super::build_arguments::BuildArguments;
use super::terminal::Waiting;
use super::{FINDINGS, MessageFormat, family, report, stage, together};
use crate::analysis::{Dial, analyse_session};
use crate::diagnostics::counted;
use crate::output::{self, OutputFile};
use crate::plan::{Effort, Plan};
use crate::quote::Quote;
use crate::units::{Length, plain};

/// A dial that can be made, how, and what that takes.
type Made<'a> = (&'a Dial, (&'a Plan, &'a Quote));

pub(super) fn run(arguments: &BuildArguments) -> u8 {
    let done = if arguments.together { together::built(arguments) } else { built(arguments) };
    done.unwrap_or_else(|code| code)
}

fn built(arguments: &BuildArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let waiting = Waiting::on("reading the design");
    let (project, session) = report::opened(&arguments.design, Effort(arguments.effort))?;
    if session.has_family() && arguments.design.asked.variant.is_none() {
        drop(waiting);
        return family::build::built(arguments, &project, session, &arguments.how());
    }
    if let Some(flag) = arguments.family_flag() {
        let file = arguments.design.file.display();
        return Err(report::fail(&format!("`{flag}` is for families, and `{file}` has none"), format));
    }
    let analysis = analyse_session(&session, &project);
    if format == MessageFormat::Text {
        report::findings(&analysis);
    }
    let made: Vec<Made> = analysis.dials.iter().filter_map(|dial| Some((dial, dial.made()?))).collect();
    if analysis.has_errors() || made.is_empty() {
        match format {
            MessageFormat::Text => eprintln!("nothing was built: mend the errors first"),
            MessageFormat::Json => report::json(&with_built(report::as_json(&analysis), Vec::new())),
        }
        return Ok(FINDINGS);
    }
    let folder = arguments.out.clone().unwrap_or_else(|| arguments.design.file.with_extension(""));
    let of = |(dial, _): &Made| output::all_files(dial, &analysis.findings, &analysis.sources, arguments.printed());
    let _waiting = Waiting::on("drawing boards and pages");
    let files: Result<Vec<Vec<OutputFile>>, String> = made.iter().map(of).collect();
    let files = files.map_err(|error| report::fail(&error, format))?.concat();
    stage::stage(&folder, &files, arguments.edited.edited())
        .map_err(|error| report::fail(&error.to_string(), format))?;
    match format {
        MessageFormat::Json => {
            let built = made.iter().map(numbers).collect();
            report::json(&with_built(report::as_json(&analysis), built));
        }
        MessageFormat::Text => {
            made.iter().for_each(summary);
            report::verdict(&analysis.verdict);
            println!("written    {} ({} files)", folder.display(), files.len());
        }
    }
    Ok(report::code(&analysis))
}

fn with_built(mut report: Value, built: Vec<Value>) -> Value {
    if let Some(fields) = report.as_object_mut() {
        fields.insert("built".to_owned(), Value::Array(built));
    }
    report
}

fn numbers((dial, (plan, quote)): &Made) -> Value {
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
        "quote": output::quote::as_json(quote),
    })
}

fn summary((dial, (plan, quote)): &Made) {
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
    println!("quote      {}", output::quote::line(quote));
}
