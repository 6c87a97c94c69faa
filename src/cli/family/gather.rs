//! `gather`: joins the folders of a build in shards into the one that a single build would have written.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::findings_of;
use super::kept::{Kept, Numbered, RECORDS, bytes_of, files_of, name_in_family};
use crate::cli::stage::{Flush, Staging};
use crate::cli::{FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics::{Diagnostic, counted};
use crate::family::table::why_not;

#[derive(Debug, Args)]
pub(in crate::cli) struct GatherArguments {
    /// The folders of all shards, in any order
    #[arg(required = true, value_name = "DIR")]
    shards: Vec<PathBuf>,
    /// Where the whole family goes
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// How the outcome is printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

pub(in crate::cli) fn run(arguments: &GatherArguments) -> u8 {
    gathered(arguments).unwrap_or_else(|sentence| report::fail(&sentence, arguments.message_format))
}

fn gathered(arguments: &GatherArguments) -> Result<u8, String> {
    let mut shards: Vec<(&Path, Kept)> = Vec::new();
    for folder in &arguments.shards {
        let kept = Kept::read(folder)
            .ok_or_else(|| format!("`{}` holds no build of a family: `{RECORDS}` is missing", folder.display()))?;
        shards.push((folder, kept));
    }
    let count = all_of_one(&shards)?;
    let broken = |error: std::io::Error| error.to_string();
    let staging = Staging::begin(&arguments.out).map_err(broken)?;
    for (folder, kept) in &shards {
        for Numbered { record, .. } in &kept.records {
            let files = files_of(record, |made| bytes_of(&folder.join(name_in_family(record, made))));
            let files = files.ok_or_else(|| {
                let variant = folder.join(&record.variant);
                format!(
                    "files of `{}` are missing or not as they were written: build that shard again",
                    variant.display()
                )
            })?;
            for file in files {
                let name = format!("{}/{}", record.variant, file.name);
                staging.put(&name, &file.bytes, Flush::System).map_err(broken)?;
            }
        }
    }
    let whole = joined(shards.into_iter().map(|(_, kept)| kept));
    let tables = whole.files().map_err(broken)?;
    staging.put_all(&tables).map_err(broken)?;
    staging.finish().map_err(broken)?;
    Ok(told(arguments, &whole, count))
}

/// How many shards there are, where these are all of them, each once, of one build.
fn all_of_one(shards: &[(&Path, Kept)]) -> Result<u32, String> {
    let Some((first_folder, first)) = shards.first() else { return Err("no folders were given".to_owned()) };
    let Some((_, of)) = first.shard else {
        return Err(format!("`{}` is no shard but a whole family already", first_folder.display()));
    };
    let mut found: Vec<Option<&Path>> = vec![None; of as usize];
    for (folder, kept) in shards {
        let (here, there) = (folder.display(), first_folder.display());
        let number = match kept.shard {
            Some((number, parts)) if parts == of => number,
            Some((_, parts)) => return Err(format!("`{here}` is one of {parts} shards, and `{there}` one of {of}")),
            None => return Err(format!("`{here}` is no shard but a whole family already")),
        };
        if kept.state != first.state {
            return Err(format!(
                "`{here}` and `{there}` were built from different states of the design, or with other settings"
            ));
        }
        match found.get_mut(number.saturating_sub(1) as usize) {
            Some(place @ None) => *place = Some(folder),
            Some(Some(other)) if other == folder => return Err(format!("`{here}` was given twice")),
            Some(Some(other)) => {
                return Err(format!("`{here}` and `{}` are both shard {number} of {of}", other.display()));
            }
            None => return Err(format!("`{here}` is shard {number} of {of}, which is none")),
        }
    }
    let missing: Vec<String> = found
        .iter()
        .zip(1..)
        .filter(|(place, _)| place.is_none())
        .map(|(_, number): (_, u32)| number.to_string())
        .collect();
    match missing.as_slice() {
        [] => Ok(of),
        [one] => Err(format!("shard {one} of {of} is missing")),
        several => Err(format!("shards {} of {of} are missing", several.join(", "))),
    }
}

/// The whole, as a single build would have left it.
fn joined(shards: impl Iterator<Item = Kept>) -> Kept {
    let mut shards = shards;
    let mut whole = shards.next().unwrap_or_else(|| Kept::new("", &[], None, Vec::new()));
    whole.shard = None;
    whole.records.extend(shards.flat_map(|kept| kept.records));
    whole.records.sort_by_key(|numbered| numbered.at);
    whole
}

fn told(arguments: &GatherArguments, whole: &Kept, count: u32) -> u8 {
    let found = findings_of(whole);
    let records = whole.records.iter().map(|numbered| &numbered.record);
    let sound = records.clone().filter(|record| record.is_sound()).count();
    let files: usize = records.clone().map(|record| record.files.len()).sum();
    match arguments.message_format {
        MessageFormat::Json => {
            let failed =
                records.filter_map(|record| Some(json!({ "variant": record.variant, "why": why_not(record)? })));
            let said = json!({
                "title": whole.title,
                "shards": count,
                "variants": whole.records.len(),
                "made": sound,
                "not_made": failed.collect::<Vec<_>>(),
                "standing": found.iter().filter(|finding| finding.stands()).count(),
                "folder": arguments.out.display().to_string(),
            });
            report::json(&said);
        }
        MessageFormat::Text => {
            println!("{}", whole.title);
            println!("joined     {}", counted(count as usize, "shard"));
            println!("variants   {sound} of {} made", whole.records.len());
            for (record, why) in records.filter_map(|record| Some((record, why_not(record)?))) {
                println!("not made   {}: {why}", record.variant);
            }
            println!("findings   {}", report::counted_of(&found));
            println!("written    {} ({} files), compared in family.md", arguments.out.display(), files + 4);
        }
    }
    if found.iter().any(Diagnostic::stands) { FINDINGS } else { FINE }
}
