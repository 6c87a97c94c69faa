//! `build --together`: several designs and variants on shared boards, all of it or nothing.

use std::path::PathBuf;

use serde_json::{Value, json};

use super::boards::{boards, stock, yields};
use super::build_arguments::BuildArguments;
use super::{COULD_NOT_RUN, DesignArguments, FINDINGS, FINE, MessageFormat, report, stage};
use crate::analysis::Analysis;
use crate::design::{Centred, Design};
use crate::diagnostics::counted;
use crate::output;
use crate::output::operations::Made;
use crate::plan::{Effort, OutlineCache, Plan, plan_together};
use crate::units::plain;

pub(super) fn built(arguments: &BuildArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let analyses = analysed(arguments)?;
    let dials = || analyses.iter().flat_map(|analysis| analysis.dials.iter().map(|dial| (dial, &analysis.sources)));
    let designs: Vec<Made> = dials().map(|(dial, sources)| (&dial.design, &dial.audit, sources)).collect();
    let only: Vec<&Design> = designs.iter().map(|(design, ..)| *design).collect();
    let centred: Vec<Centred> =
        dials().map(|(dial, _)| Centred { design: &dial.design, centring: &dial.centring }).collect();
    // What each design's own plan finds was reported with it.
    let plan = plan_together(&centred, Effort(arguments.effort), &OutlineCache::default())
        .0
        .filter(|plan| plan.part_count() > 0);
    let Some(plan) = plan.filter(|_| !analyses.iter().any(Analysis::has_errors)) else {
        match format {
            MessageFormat::Text => eprintln!("nothing was built: mend the errors first"),
            MessageFormat::Json => report::json(&as_json(&analyses, None, &only)),
        }
        return Ok(FINDINGS);
    };
    let folder = arguments.out.clone().unwrap_or_else(|| beside(&arguments.design.file));
    let titles: Vec<String> = only.iter().map(|design| design.full_title()).collect();
    let sheets = output::sheets_together(&titles.join(" + "), &plan);
    let mut files = output::files_together(&designs, &plan);
    files.extend(sheets.map_err(|error| report::fail(&error, format))?);
    stage::stage(&folder, &files, arguments.edited.edited())
        .map_err(|error| report::fail(&error.to_string(), format))?;
    match format {
        MessageFormat::Json => report::json(&as_json(&analyses, Some(&plan), &only)),
        MessageFormat::Text => {
            for design in &only {
                let variant = design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
                println!("{}{variant}, {}", design.title, counted(design.run.made() as usize, "dial"));
            }
            println!("parts      {} of {} designs", plan.part_count(), only.len());
            println!("boards     {}", boards(&plan));
            println!("yield      {}", yields(&plan));
            println!("cut        {} m", plain(plan.cut_length().as_mm() / 1000.0, 2));
            for analysis in &analyses {
                let title = analysis.dials.first().map_or("", |dial| dial.design.title.as_str());
                println!("verdict    {title}, {}", analysis.verdict);
            }
            println!("written    {} ({} files)", folder.display(), files.len());
        }
    }
    let code = |analysis: &Analysis| report::code(analysis);
    Ok(analyses.iter().map(code).max().unwrap_or(FINE))
}

/// Every design, its findings printed.
fn analysed(arguments: &BuildArguments) -> Result<Vec<Analysis>, u8> {
    let files = [&arguments.design.file].into_iter().chain(&arguments.more);
    let mut analyses = Vec::new();
    for file in files {
        let one = DesignArguments { file: file.clone(), ..arguments.design.clone() };
        // The plan of each by itself is thrown away, so no effort is spent on it.
        let analysis = report::analysed_with(&one, Effort(0)).map_err(|_| COULD_NOT_RUN)?;
        if one.asked.message_format == MessageFormat::Text {
            report::findings(&analysis);
        }
        analyses.push(analysis);
    }
    Ok(analyses)
}

/// The folder for a run whose first design is this file.
fn beside(file: &std::path::Path) -> PathBuf {
    let stem = file.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    file.with_file_name(format!("{stem}-together"))
}

fn as_json(analyses: &[Analysis], plan: Option<&Plan>, designs: &[&Design]) -> Value {
    let built = plan.map(|plan| {
        json!({
            "designs": designs.iter().map(|it| json!({ "title": it.title, "variant": it.variant })).collect::<Vec<_>>(),
            "parts": plan.part_count(),
            "boards": plan.boards.len(),
            "stocks": plan.stocks.iter().map(stock).collect::<Vec<Value>>(),
            "cut_length_mm": plain(plan.cut_length().as_mm(), 1),
        })
    });
    json!({ "designs": analyses.iter().map(report::as_json).collect::<Vec<_>>(), "built": built })
}
