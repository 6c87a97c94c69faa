//! `build` of a family: every variant by itself, several at once, and what was made before taken over.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::cache::Cache;
use super::kept::{Kept, Numbered, files_of, name_in_family};
use super::{Chosen, chosen, findings_of, print_findings, progress, rows};
use crate::analysis::{CheckedSession, Session, merged};
use crate::check::Variant;
use crate::cli::build_arguments::BuildArguments;
use crate::cli::disk::DiskProject;
use crate::cli::made::all_files;
use crate::cli::stage::{Flush, Staging};
use crate::cli::{FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics;
use crate::family::table::{self, Comparison, why_not};
use crate::family::{Record, key, made, record};
use crate::limits::VARIANTS_SHOWN;
use crate::output::OutputFile;
use crate::output::page::Paper;
use crate::revision::Recorder;

/// Where what is known of a variant came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum From {
    /// It was in the folder as it should be.
    Folder,
    /// It was in the cache.
    Cache,
    /// It was worked out.
    Work,
}

/// Everything that the work on a variant needs.
struct Bench<'a> {
    session: &'a CheckedSession<'a>,
    /// Tells what artwork and typefaces hold now.
    now: Recorder<'a>,
    folder: &'a Path,
    former: BTreeMap<String, Record>,
    cache: Option<Cache>,
    how: &'a str,
    paper: Option<Paper>,
}

/// A variant that was asked for, with its place among all of them and its key.
#[derive(Clone)]
struct Job<'a> {
    at: usize,
    variant: &'a Variant,
    key: &'a str,
}

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
        return Ok(nothing_built(&found, &session, &[], format));
    }
    let keys: Vec<String> = variants.iter().map(|variant| key(&session, variant, how)).collect();
    let shared = problems.into_sorted();
    let mut kept = Kept::new(session.title(), &keys, arguments.shard.map(|shard| (shard.number, shard.of)), shared);
    let jobs: Vec<Job> =
        variants.iter().zip(&keys).enumerate().map(|(at, (variant, key))| Job { at, variant, key }).collect();
    let jobs: Vec<Job> = jobs.into_iter().filter(|job| arguments.shard.is_none_or(|shard| shard.has(job.at))).collect();
    let folder = out(arguments);
    let cache = arguments.cache.as_deref().map(|root| {
        Cache::open(root).map_err(|error| fail(format!("the cache `{}` cannot be used: {error}", root.display())))
    });
    let former = Kept::read(&folder);
    let records = former.iter().flat_map(|kept| &kept.records);
    let bench = Bench {
        session: &session,
        now: Recorder::new(project),
        folder: &folder,
        former: records.map(|numbered| (numbered.record.key.clone(), numbered.record.clone())).collect(),
        cache: cache.transpose()?,
        how,
        paper: arguments.printed_on(),
    };
    let done = bench.work(&jobs, arguments, &mut kept, former.as_ref()).map_err(|error| fail(error.to_string()))?;
    let found = findings_of(&kept);
    match &done {
        None => return Ok(nothing_built(&found, &session, &kept.records, format)),
        Some(done) if format == MessageFormat::Text => {
            print_findings(&found, session.sources());
            summary(&kept, done, &folder);
            println!("findings   {}", report::counted_of(&found));
        }
        Some(done) => report::json(&as_json(&kept, &found, &session, Some((done, &folder)))),
    }
    Ok(if found.iter().any(diagnostics::Diagnostic::stands) { FINDINGS } else { FINE })
}

/// What a build did.
#[derive(Clone, Copy, Debug, Default)]
struct Done {
    anew: usize,
    from_cache: usize,
    as_before: usize,
    /// Whether anything was written.
    written: bool,
    files: usize,
}

impl Bench<'_> {
    /// Works on all variants and swaps their folder in; none where no variant could be made, so that a former build stays.
    fn work(
        &self,
        jobs: &[Job<'_>],
        arguments: &BuildArguments,
        kept: &mut Kept,
        former: Option<&Kept>,
    ) -> io::Result<Option<Done>> {
        let mut done = Done::default();
        let threads = arguments.family.threads();
        let known = self.session.walk(jobs, threads, |job| self.as_before(job), || {});
        if known.iter().all(Option::is_some) {
            kept.records = numbered(jobs, known.iter().flatten().cloned());
            done.as_before = jobs.len();
            done.files = kept.records.iter().map(|it| it.record.files.len()).sum::<usize>() + kept.files()?.len();
            if former == Some(kept) && self.holds(&kept.files()?) {
                return Ok(Some(done));
            }
        }
        let staging = Staging::begin(self.folder)?;
        let bar = progress::bar(jobs.len(), arguments.design.asked.message_format);
        let todo: Vec<(&Job, Option<Record>)> = jobs.iter().zip(known).collect();
        let one = |(job, known): &(&Job, Option<Record>)| self.one(job, known.as_ref(), &staging);
        let results = self.session.walk(&todo, threads, one, || bar.inc(1));
        bar.finish_and_clear();
        let mut records = Vec::new();
        for result in results {
            let (record, from) = result?;
            match from {
                From::Folder => done.as_before += usize::from(done.as_before < jobs.len()),
                From::Cache => done.from_cache += 1,
                From::Work => done.anew += 1,
            }
            records.push(record);
        }
        kept.records = numbered(jobs, records.into_iter());
        // A shard is written whatever it holds, so that all shards can be joined.
        if kept.shard.is_none() && !kept.records.iter().any(|numbered| numbered.record.is_sound()) {
            return Ok(None);
        }
        let tables = kept.files()?;
        staging.put_all(&tables)?;
        staging.finish()?;
        done.files = kept.records.iter().map(|it| it.record.files.len()).sum::<usize>() + tables.len();
        Ok(Some(Done { written: true, ..done }))
    }

    /// What is known of a variant from the folder, where nothing that it rests on has changed and its files are whole.
    fn as_before(&self, job: &Job<'_>) -> Option<Record> {
        let record = self.former.get(job.key).filter(|record| self.is_current(record))?;
        // The folder is the cache of the next build. Digests are compared, so its files need not be flushed one by one.
        files_of(record, |made| fs::read(self.folder.join(name_in_family(record, made))).ok())?;
        Some(record.clone())
    }

    /// Whether the artwork and typefaces that a variant was read from still hold the same.
    fn is_current(&self, record: &Record) -> bool {
        let same =
            |(name, digest): (&String, &Option<String>)| self.now.now(name).map(|digest| digest.to_string()) == *digest;
        record.read.iter().all(same)
    }

    /// Brings one variant into the folder that is being filled.
    fn one(&self, job: &Job<'_>, known: Option<&Record>, staging: &Staging) -> io::Result<(Record, From)> {
        if let Some(record) = known {
            record.files.iter().try_for_each(|made| staging.keep(&name_in_family(record, made)))?;
            return Ok((record.clone(), From::Folder));
        }
        let found = self.cache.as_ref().and_then(|cache| cache.find(job.key));
        let (record, files, from) = match found.filter(|(record, _)| self.is_current(record)) {
            Some((record, files)) => (record, files, From::Cache),
            None => {
                let (record, files) = self.made(job)?;
                if let Some(cache) = &self.cache {
                    cache.keep(&record, &files)?;
                }
                (record, files, From::Work)
            }
        };
        for file in &files {
            staging.put(&format!("{}/{}", record.variant, file.name), &file.bytes, Flush::System)?;
        }
        Ok((record, from))
    }

    /// Works a variant out.
    fn made(&self, job: &Job<'_>) -> io::Result<(Record, Vec<OutputFile>)> {
        let result = self.session.analyse_variant(Some(job.variant));
        let mut record = record(self.session, job.variant, &result, self.how, false);
        let dial = result.dial.as_ref().filter(|_| record.is_sound());
        let made_of = dial.and_then(|dial| Some((dial, dial.made()?)));
        let files = made_of.map(|(dial, made)| {
            let found = vec![(dial.design.variant.clone(), result.problems.clone())];
            let found = merged(self.session.problems.clone(), found);
            all_files(dial, made, &found, self.session.sources(), self.paper).map_err(io::Error::other)
        });
        let files = files.transpose()?.unwrap_or_default();
        record.files = made(&files);
        Ok((record, files))
    }

    /// Whether the folder holds these files as they are.
    fn holds(&self, files: &[OutputFile]) -> bool {
        files.iter().all(|file| fs::read(self.folder.join(&file.name)).is_ok_and(|bytes| bytes == file.bytes))
    }
}

fn numbered(jobs: &[Job<'_>], records: impl Iterator<Item = Record>) -> Vec<Numbered> {
    jobs.iter().zip(records).map(|(job, record)| Numbered { at: job.at, record }).collect()
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

fn nothing_built(
    found: &[diagnostics::Diagnostic],
    session: &CheckedSession<'_>,
    records: &[Numbered],
    format: MessageFormat,
) -> u8 {
    match format {
        MessageFormat::Json => {
            let mut kept = Kept::new(session.title(), &[], None, Vec::new());
            kept.records = records.to_vec();
            report::json(&as_json(&kept, found, session, None));
        }
        MessageFormat::Text => {
            print_findings(found, session.sources());
            let errors = found.iter().any(|finding| finding.severity == diagnostics::Severity::Error);
            let why = if errors { "mend the errors first" } else { "no variant is as asked" };
            eprintln!("nothing was built: {why}");
        }
    }
    FINDINGS
}

fn summary(kept: &Kept, done: &Done, folder: &Path) {
    println!("{}", kept.title);
    let records: Vec<Record> = kept.records.iter().map(|numbered| numbered.record.clone()).collect();
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
    kept: &Kept,
    found: &[diagnostics::Diagnostic],
    session: &CheckedSession<'_>,
    done: Option<(&Done, &PathBuf)>,
) -> Value {
    let records: Vec<Record> = kept.records.iter().map(|numbered| numbered.record.clone()).collect();
    let built = done.map(|(done, folder)| {
        json!({
            "folder": folder.display().to_string(),
            "files": done.files,
            "anew": done.anew,
            "from_cache": done.from_cache,
            "as_before": done.as_before,
            "shard": kept.shard.map(|(number, of)| json!({ "number": number, "of": of })),
        })
    });
    json!({
        "findings": diagnostics::as_json(found, session.sources()),
        "standing": found.iter().filter(|finding| finding.stands()).count(),
        "family": table::as_json(&Comparison { title: &kept.title, records: &records }),
        "built": built,
    })
}
