//! `gather`: joins the folders of a build in shards into the one that a single build would have written.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::disk::DiskFolder;
use crate::cli::disk::is_one_file;
use crate::cli::stage::EditedArguments;
use crate::cli::{FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics::{Diagnostic, counted};
use crate::family::gather::{ShardFolder, gather};
use crate::family::kept::Kept;
use crate::family::table::why_not;

#[derive(Debug, Args)]
pub(in crate::cli) struct GatherArguments {
    /// The folders of all shards, in any order
    #[arg(required = true, value_name = "DIR")]
    shards: Vec<PathBuf>,
    /// Where the whole family goes
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    #[command(flatten)]
    edited: EditedArguments,
    /// How the outcome is printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

pub(in crate::cli) fn run(arguments: &GatherArguments) -> u8 {
    gathered(arguments).unwrap_or_else(|sentence| report::fail(&sentence, arguments.message_format))
}

fn gathered(arguments: &GatherArguments) -> Result<u8, String> {
    let edited = arguments.edited.edited();
    let is_out = |folder: &&PathBuf| is_one_file(folder, &arguments.out);
    if let Some(shard) = arguments.shards.iter().find(is_out) {
        return Err(format!("`{}` is one of the shards: choose another folder with `--out`", shard.display()));
    }
    let folders: Vec<DiskFolder> = arguments.shards.iter().map(|folder| DiskFolder(folder, edited)).collect();
    let mut shards = Vec::new();
    for folder in &folders {
        let kept = Kept::read(folder).map_err(|unread| format!("`{}` {}", folder.0.display(), unread.in_words()))?;
        shards.push(ShardFolder { name: folder.0, folder, kept });
    }
    let (whole, count) = gather(shards, &DiskFolder(&arguments.out, edited))?;
    Ok(print_gathered(arguments, &whole, count))
}

fn print_gathered(arguments: &GatherArguments, whole: &Kept, count: u32) -> u8 {
    let found = whole.merged_findings();
    let sound = whole.built().filter(|record| record.is_sound()).count();
    let files: usize = whole.built().map(|record| record.files.len()).sum();
    match arguments.message_format {
        MessageFormat::Json => {
            let failed =
                whole.built().filter_map(|record| Some(json!({ "variant": record.variant, "why": why_not(record)? })));
            let said = json!({
                "title": whole.title,
                "shards": count,
                "variants": whole.records.len(),
                "made": sound,
                "not_made": failed.collect::<Vec<_>>(),
                "verdict": whole.verdict(&found).as_json(),
                "standing": found.iter().filter(|finding| finding.stands()).count(),
                "folder": arguments.out.display().to_string(),
            });
            report::json(&said);
        }
        MessageFormat::Text => {
            println!("{}", whole.title);
            println!("joined     {}", counted(count as usize, "shard"));
            println!("variants   {sound} of {} made", whole.records.len());
            for (record, why) in whole.built().filter_map(|record| Some((record, why_not(record)?))) {
                println!("not made   {}: {why}", record.variant);
            }
            report::verdict(&whole.verdict(&found));
            println!("written    {} ({} files), compared in family.md", arguments.out.display(), files + 5);
        }
    }
    if found.iter().any(Diagnostic::stands) { FINDINGS } else { FINE }
}
