//! The build of a family: every variant by itself, several at once, and what was made before taken over.

use std::collections::BTreeMap;

use super::cache::Cache;
use super::kept::{Kept, Numbered, files_of, name_in_family};
use super::shard::Shard;
use super::store::{Folder, Staged};
use super::{Record, key, made, record};
use crate::analysis::{CheckedSession, Threads, merged};
use crate::check::Variant;
use crate::diagnostics::Diagnostic;
use crate::output::Printed;
use crate::output::{self, OutputFile};
use crate::revision::Recorder;

/// How a family is to be built.
#[derive(Clone, Copy)]
pub struct Order<'a> {
    /// In which way files are made, in any words that tell one way from another.
    pub how: &'a str,
    /// What is wanted of all that is for printing; none where it is left out.
    pub printed: Option<Printed>,
    /// The shard to build; none for the whole.
    pub shard: Option<Shard>,
    /// How many variants are worked on at once.
    pub threads: Threads,
    /// Where the family goes, and what a former build left there.
    pub folder: &'a dyn Folder,
    /// What several builds share.
    pub cache: Option<Cache<'a>>,
}

/// What came of a build.
#[derive(Clone, Debug)]
pub struct Built {
    /// What is known of the variants.
    pub kept: Kept,
    /// What was done; none where no variant could be made, so that a former build stays.
    pub done: Option<Done>,
}

/// What a build did, counted in variants.
#[derive(Clone, Copy, Debug, Default)]
pub struct Done {
    /// Worked out anew.
    pub anew: usize,
    /// Taken from the cache.
    pub from_cache: usize,
    /// In the folder as they should be.
    pub as_before: usize,
    /// Whether anything was written.
    pub written: bool,
    /// Files in the folder.
    pub files: usize,
}

/// Where what is known of a variant came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum From {
    Folder,
    Cache,
    Work,
}

/// A variant that was asked for, with its place among all of them and its key.
struct Job<'a> {
    at: usize,
    variant: &'a Variant,
    key: &'a str,
}

/// Everything that the work on a variant needs.
struct Bench<'a> {
    session: &'a CheckedSession<'a>,
    order: Order<'a>,
    /// Tells what artwork and typefaces hold now.
    now: Recorder<'a>,
    former: BTreeMap<&'a str, &'a Record>,
}

/// Builds these variants of a family, of which `findings` tells what is wrong as a whole. `done` is called after each.
///
/// # Errors
/// Why the folder or the cache cannot be written, in words; a former build stays.
pub fn build(
    session: &CheckedSession<'_>,
    variants: &[&Variant],
    findings: Vec<Diagnostic>,
    order: Order<'_>,
    done: impl FnMut(),
) -> Result<Built, String> {
    let keys: Vec<String> = variants.iter().map(|variant| key(session, variant, order.how)).collect();
    let jobs = variants.iter().zip(&keys).enumerate().map(|(at, (variant, key))| Job { at, variant, key });
    let jobs: Vec<Job> = jobs.filter(|job| order.shard.is_none_or(|shard| shard.has(job.at))).collect();
    let shard = order.shard.map(|shard| (shard.number, shard.of));
    let mut kept = Kept::new(&session.title(), &keys, shard, findings);
    let former = Kept::read(order.folder).ok();
    let records = former.iter().flat_map(Kept::built);
    let bench = Bench {
        session,
        order,
        now: Recorder::new(session.project()),
        former: records.map(|record| (record.key.as_str(), record)).collect(),
    };
    let done = bench.work(&jobs, &mut kept, former.as_ref(), done)?;
    Ok(Built { kept, done })
}

impl Bench<'_> {
    /// Works on all variants and swaps their folder in; none where no variant could be made.
    fn work(
        &self,
        jobs: &[Job<'_>],
        kept: &mut Kept,
        former: Option<&Kept>,
        one_done: impl FnMut(),
    ) -> Result<Option<Done>, String> {
        let mut done = Done::default();
        let known = self.session.walk(jobs, self.order.threads, |job| self.as_before(job), || {});
        if known.iter().all(Option::is_some) {
            kept.records = numbered(jobs, known.iter().flatten().cloned());
            done.as_before = jobs.len();
            let tables = kept.files()?;
            done.files = files_in(kept) + tables.len();
            if former == Some(kept) && self.holds(&tables) {
                return Ok(Some(done));
            }
        }
        let staged = self.order.folder.stage()?;
        let todo: Vec<(&Job, Option<Record>)> = jobs.iter().zip(known).collect();
        let one = |(job, known): &(&Job, Option<Record>)| self.one(job, known.as_ref(), staged.as_ref());
        let mut records = Vec::new();
        for result in self.session.walk(&todo, self.order.threads, one, one_done) {
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
        if kept.shard.is_none() && !kept.built().any(Record::is_sound) {
            return Ok(None);
        }
        let tables = kept.files()?;
        staged.finish(&tables)?;
        Ok(Some(Done { written: true, files: files_in(kept) + tables.len(), ..done }))
    }

    /// What is known of a variant from the folder, where nothing that it rests on has changed and its files are whole.
    fn as_before(&self, job: &Job<'_>) -> Option<Record> {
        let record = self.former.get(job.key).filter(|record| self.is_current(record))?;
        // The folder is the cache of the next build. Digests are compared, so its files need not be flushed one by one.
        files_of(record, |made| self.order.folder.read(&name_in_family(record, made)))?;
        Some((*record).clone())
    }

    /// Whether the artwork and typefaces that a variant was read from still hold the same.
    fn is_current(&self, record: &Record) -> bool {
        let same =
            |(name, digest): (&String, &Option<String>)| self.now.now(name).map(|digest| digest.to_string()) == *digest;
        record.read.iter().all(same)
    }

    /// Brings one variant into the folder that is being filled.
    fn one(&self, job: &Job<'_>, known: Option<&Record>, staged: &dyn Staged) -> Result<(Record, From), String> {
        if let Some(record) = known {
            record.files.iter().try_for_each(|made| staged.keep(&name_in_family(record, made)))?;
            return Ok((record.clone(), From::Folder));
        }
        let found = self.order.cache.and_then(|cache| cache.find(job.key));
        let (record, files, from) = match found.filter(|(record, _)| self.is_current(record)) {
            Some((record, files)) => (record, files, From::Cache),
            None => {
                let (record, files) = self.made(job)?;
                if let Some(cache) = &self.order.cache {
                    cache.keep(&record, &files)?;
                }
                (record, files, From::Work)
            }
        };
        for file in &files {
            staged.put(&format!("{}/{}", record.variant, file.name), &file.bytes)?;
        }
        Ok((record, from))
    }

    /// Works a variant out.
    fn made(&self, job: &Job<'_>) -> Result<(Record, Vec<OutputFile>), String> {
        let result = self.session.analyse_variant(Some(job.variant));
        let mut record = record(self.session, job.variant, &result, self.order.how, false);
        let dial = result.dial.as_ref().filter(|_| record.is_sound());
        let files = dial.map(|dial| {
            let found = vec![(dial.design.variant.clone(), result.problems.clone())];
            let found = merged(self.session.problems.clone(), found);
            let mut files = output::all_files(dial, &found, self.session.sources(), self.order.printed)?;
            if self.order.printed.is_some() {
                files.push(super::page::front(&dial.design)?);
            }
            Ok::<_, String>(files)
        });
        let files = files.transpose()?.unwrap_or_default();
        record.files = made(&files);
        Ok((record, files))
    }

    /// Whether the folder holds these files as they are.
    fn holds(&self, files: &[OutputFile]) -> bool {
        files.iter().all(|file| self.order.folder.read(&file.name).is_some_and(|bytes| bytes == file.bytes))
    }
}

fn numbered(jobs: &[Job<'_>], records: impl Iterator<Item = Record>) -> Vec<Numbered> {
    jobs.iter().zip(records).map(|(job, record)| Numbered { at: job.at, record }).collect()
}

/// Files of all variants.
fn files_in(kept: &Kept) -> usize {
    kept.built().map(|record| record.files.len()).sum()
}

#[cfg(test)]
mod tests {
    use super::super::memory::{MemoryFolder, MemoryStore};
    use super::*;
    use crate::analysis::{Request, Session};
    use crate::project::MemoryProject;

    const PLATES: &str = "dial \"Plates\"\nparam across: length = 50mm\noutline circle(diameter: across)\n\
        layer base of birch { }\nfamily { each across in [40mm, 50mm] }";

    /// What a build into this folder did: anew, from the cache, as before, and whether anything was written.
    fn done(text: &str, folder: &MemoryFolder, cache: Option<Cache>) -> (usize, usize, usize, bool) {
        let project = MemoryProject::default().with("plates.dial", text);
        let session = Session::open(&project, "plates.dial", "", &Request::default()).unwrap();
        let checked = session.check(&project);
        let variants: Vec<&Variant> = checked.variants.iter().flatten().collect();
        let threads = Threads::InTurn;
        let order = Order { how: "as ever", printed: None, shard: None, threads, folder, cache };
        let built = build(&checked, &variants, Vec::new(), order, || {}).unwrap();
        assert_eq!(built.kept.records.len(), variants.len());
        let done = built.done.unwrap();
        assert_eq!(done.files, folder.names().len(), "{:?}", folder.names());
        (done.anew, done.from_cache, done.as_before, done.written)
    }

    #[test]
    fn only_what_has_changed_is_worked_out_again() {
        let (folder, store) = (MemoryFolder::default(), MemoryStore::default());
        let cache = Some(Cache(&store));
        assert_eq!(done(PLATES, &folder, cache), (2, 0, 0, true));
        assert_eq!(done(PLATES, &folder, cache), (0, 0, 2, false));
        folder.change("across_40mm/quote.json", b"{}");
        assert_eq!(done(PLATES, &folder, None), (1, 0, 1, true));
        assert_eq!(done(PLATES, &MemoryFolder::default(), cache), (0, 2, 0, true));
        assert_eq!(done(&PLATES.replace("Plates", "Discs"), &folder, cache), (2, 0, 0, true));
    }
}
