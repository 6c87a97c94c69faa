//! `build` of a family: what is asked for, where it goes, and what is told of it.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::disk::{DiskFolder, DiskStore};
use super::{print_findings, progress, rows};
use crate::analysis::{CheckedSession, Session};
use crate::cli::build_arguments::BuildArguments;
use crate::cli::disk::DiskProject;
use crate::cli::{FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics::{self, Diagnostic, Severity};
use crate::family::build::{Built, Done, Order, build};
use crate::family::cache::Cache;
use crate::family::kept::Kept;
use crate::family::question::{Chosen, chosen};
use crate::family::table::{self, Comparison, why_not};
use crate::family::{Record, verdict};
use crate::limits::VARIANTS_SHOWN;

pub(in crate::cli) fn built(
    arguments: &BuildArguments,
    project: &DiskProject,
    mut read: Session,
    how: &str,
) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let only = arguments.family.only.as_ref().and_then(|only| read.ask("--only", only));
    let session = read.check(project);
    let Chosen { variants, mut problems } = chosen(&session, only.as_ref());
    problems.extend(session.problems.clone());
    if problems.has_errors() || variants.is_empty() {
        let found = problems.into_sorted();
        return Ok(nothing_built(&found, &session, None, format));
    }
    let folder = out(arguments);
    let store = arguments.cache.as_deref().map(|root| {
        DiskStore::open(root).map_err(|error| fail(format!("the cache `{}` cannot be used: {error}", root.display())))
    });
    let store = store.transpose()?;
    let order = Order {
        how,
        printed: arguments.printed(),
        shard: arguments.shard,
        threads: arguments.family.threads(),
        folder: &DiskFolder(&folder, arguments.edited.edited()),
        cache: store.as_ref().map(|store| Cache(store)),
    };
    let bar = progress::bar(variants.len(), format);
    let Built { kept, done } =
        build(&session, &variants, problems.into_sorted(), order, || bar.inc(1)).map_err(fail)?;
    bar.finish_and_clear();
    let found = kept.merged_findings();
    match &done {
        None => return Ok(nothing_built(&found, &session, Some(&kept), format)),
        Some(done) if format == MessageFormat::Text => {
            print_findings(&found, session.sources());
            summary(&kept, done, &folder);
            report::verdict(&kept.verdict(&found));
        }
        Some(done) => {
            let records: Vec<Record> = kept.built().cloned().collect();
            let built = built_as_json(&kept, done, &folder);
            report::json(&as_json((&kept.title, &records), &found, &session, built));
        }
    }
    Ok(if found.iter().any(Diagnostic::stands) { FINDINGS } else { FINE })
}

/// The folder for the variants: beside the design, the shard in its name.
fn out(arguments: &BuildArguments) -> PathBuf {
    let beside = || {
        let folder = arguments.design.file.with_extension("");
        match (arguments.shard, folder.file_name()) {
            (Some(shard), Some(name)) => {
                folder.with_file_name(format!("{}-{}-of-{}", name.to_string_lossy(), shard.number, shard.of))
            }
            _ => folder,
        }
    };
    arguments.out.clone().unwrap_or_else(beside)
}

fn nothing_built(found: &[Diagnostic], session: &CheckedSession<'_>, kept: Option<&Kept>, format: MessageFormat) -> u8 {
    match format {
        MessageFormat::Json => {
            let records: Vec<Record> = kept.into_iter().flat_map(Kept::built).cloned().collect();
            report::json(&as_json((&session.title(), &records), found, session, Value::Null));
        }
        MessageFormat::Text => {
            print_findings(found, session.sources());
            let errors = found.iter().any(|finding| finding.severity == Severity::Error);
            let why = if errors { "mend the errors first" } else { "no variant is as asked" };
            eprintln!("nothing was built: {why}");
        }
    }
    FINDINGS
}

fn summary(kept: &Kept, done: &Done, folder: &Path) {
    println!("{}", kept.title);
    let records: Vec<Record> = kept.built().cloned().collect();
    let sound = records.iter().filter(|record| record.is_sound()).count();
    if records.len() <= VARIANTS_SHOWN {
        println!("\n{}\n", rows(&table::columns_for_people(&records)));
    }
    if let Some((number, of)) = kept.shard {
        println!("shard      {number} of {of}: {} of {} variants", records.len(), kept.variants);
    }
    let ways = [(done.anew, "anew"), (done.from_cache, "from the cache"), (done.as_before, "as before")];
    let ways = ways.iter().filter(|(count, _)| *count > 0).map(|(count, how)| format!("{count} {how}"));
    println!("variants   {sound} of {} made; {}", records.len(), ways.collect::<Vec<_>>().join(", "));
    let failed: Vec<(&Record, String)> = records.iter().filter_map(|record| Some((record, why_not(record)?))).collect();
    for (record, why) in failed.iter().take(VARIANTS_SHOWN) {
        println!("not made   {}: {why}", record.variant);
    }
    if let Some(more) = failed.len().checked_sub(VARIANTS_SHOWN).filter(|more| *more > 0) {
        println!("not made   {more} more, see family.md");
    }
    let word = if done.written { "written   " } else { "unchanged " };
    println!("{word} {} ({} files), compared in family.md", folder.display(), done.files);
}

fn as_json(
    (title, records): (&str, &[Record]),
    found: &[Diagnostic],
    session: &CheckedSession<'_>,
    built: Value,
) -> Value {
    json!({
        "findings": diagnostics::as_json(found, session.sources()),
        "verdict": verdict(records.iter(), found).as_json(),
        "standing": found.iter().filter(|finding| finding.stands()).count(),
        "family": table::as_json(&Comparison { title, records }),
        "built": built,
    })
}

fn built_as_json(kept: &Kept, done: &Done, folder: &Path) -> Value {
    json!({
        "folder": folder.display().to_string(),
        "files": done.files,
        "anew": done.anew,
        "from_cache": done.from_cache,
        "as_before": done.as_before,
        "shard": kept.shard.map(|(number, of)| json!({ "number": number, "of": of })),
    })
}
