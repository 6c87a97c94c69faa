//! What a build leaves behind in its folder for the next one, and for joining shards.

use serde::{Deserialize, Serialize};

use super::store::Folder;
use super::table::{self, Comparison};
use super::{Made, Record};
use crate::analysis::{Verdict, merged};
use crate::diagnostics::{Diagnostic, Problems};
use crate::limits::SHARDS;
use crate::output::OutputFile;
use crate::revision::Digest;

/// The file in the folder of a family that says what every variant was made from.
pub const RECORDS: &str = ".dialwright-family";
/// Version of its form; of another one nothing is taken over.
const VERSION: u32 = 2;

/// One variant and its place among all of the family that were asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Numbered {
    /// Its place, from 0.
    pub at: usize,
    /// What is known of it.
    pub record: Record,
}

/// What is known of a build.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    version: u32,
    /// What the dial is called.
    pub title: String,
    /// The digest of all that the variants rest on, whole family or shard; tells builds of one state from others.
    pub state: String,
    /// Variants in all, those of other shards included.
    pub variants: usize,
    /// Which shard of how many this is, from 1; none for the whole.
    pub shard: Option<(u32, u32)>,
    /// What was found in the file as a whole.
    pub findings: Vec<Diagnostic>,
    /// The variants that were built, in order.
    pub records: Vec<Numbered>,
}

impl Kept {
    /// Of a build of variants that rest on these keys in all.
    pub fn new(title: &str, keys: &[String], shard: Option<(u32, u32)>, findings: Vec<Diagnostic>) -> Self {
        let state = Digest::of(keys.join("\n").as_bytes()).to_string();
        Self {
            version: VERSION,
            title: title.to_owned(),
            state,
            variants: keys.len(),
            shard,
            findings,
            records: Vec::new(),
        }
    }

    /// What the folder keeps; none where it keeps nothing that can be read.
    pub fn read(folder: &dyn Folder) -> Option<Self> {
        let text = folder.read(RECORDS)?;
        let sound = |kept: &Self| kept.version == VERSION && kept.shard.is_none_or(|(_, of)| of <= SHARDS);
        serde_json::from_slice(&text).ok().filter(sound)
    }

    /// The tables that compare the variants, and what is kept for next time.
    ///
    /// # Errors
    /// Why it cannot be written down, in words.
    pub fn files(&self) -> Result<Vec<OutputFile>, String> {
        let records: Vec<Record> = self.built().cloned().collect();
        let mut files = table::files(&Comparison { title: &self.title, records: &records });
        let bytes = serde_json::to_vec(self).map_err(|error| error.to_string())?;
        files.push(OutputFile { name: RECORDS.to_owned(), bytes });
        Ok(files)
    }

    /// What is known of the variants that were built, in order.
    pub fn built(&self) -> impl Iterator<Item = &Record> {
        self.records.iter().map(|numbered| &numbered.record)
    }

    /// What the variants come to; `findings` are all that were found.
    pub fn verdict(&self, findings: &[Diagnostic]) -> Verdict {
        super::verdict(self.built(), findings)
    }

    /// All findings, each once, with the variants that have it.
    pub fn merged_findings(&self) -> Vec<Diagnostic> {
        let mut shared = Problems::default();
        shared.extend(self.findings.clone());
        let of_variants = self.built().map(|record| {
            let mut found = Problems::default();
            found.extend(record.findings.clone());
            (Some(record.variant.clone()), found)
        });
        merged(shared, of_variants.collect())
    }
}

/// The files of a record, each as `read` gives it; none where one is missing or does not have its digest.
pub(super) fn files_of(record: &Record, read: impl Fn(&Made) -> Option<Vec<u8>>) -> Option<Vec<OutputFile>> {
    let whole = |made: &Made| {
        let bytes = read(made)?;
        let sound = Digest::of(&bytes).to_string() == made.digest;
        sound.then(|| OutputFile { name: made.name.clone(), bytes })
    };
    record.files.iter().map(whole).collect()
}

/// The name of a variant's file in the folder of the family.
pub(super) fn name_in_family(record: &Record, made: &Made) -> String {
    format!("{}/{}", record.variant, made.name)
}

#[cfg(test)]
mod tests {
    use super::super::memory::MemoryFolder;
    use super::*;

    #[test]
    fn so_many_shards_may_be_told_of() {
        let of = |shards: u32| {
            let kept = Kept::new("Buoys", &[], Some((1, shards)), Vec::new());
            Kept::read(&MemoryFolder::with(RECORDS, &serde_json::to_vec(&kept).unwrap())).is_some()
        };
        assert_eq!([of(SHARDS), of(SHARDS + 1)], [true, false]);
    }
}
