//! What a build leaves behind in its folder for the next one, and for joining shards.

use serde::{Deserialize, Serialize};

use super::shard::Shard;
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
const VERSION: u32 = 3;

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

    /// What the folder keeps.
    ///
    /// # Errors
    /// Why it keeps nothing that can be used.
    pub fn read(folder: &dyn Folder) -> Result<Self, Unread> {
        let bytes = folder.read(RECORDS).ok_or(Unread::Missing)?;
        let kept: Self = unsealed(&bytes).and_then(|text| serde_json::from_slice(text).ok()).ok_or(Unread::Altered)?;
        match kept {
            kept if kept.version != VERSION => Err(Unread::OtherVersion),
            kept if kept.is_whole() => Ok(kept),
            _ => Err(Unread::Altered),
        }
    }

    /// Whether it has exactly the records of the variants that it is of.
    fn is_whole(&self) -> bool {
        let shard = self.shard.map(|(number, of)| Shard { number, of });
        let sound =
            shard.is_none_or(|shard| (1..=SHARDS).contains(&shard.of) && (1..=shard.of).contains(&shard.number));
        let mut wanted = (0..self.variants).filter(|at| shard.is_none_or(|shard| shard.has(*at)));
        // None is asked for beyond the first that is missing, however many there are said to be.
        sound && self.records.iter().all(|record| wanted.next() == Some(record.at)) && wanted.next().is_none()
    }

    /// The tables that compare the variants, and what is kept for next time.
    ///
    /// # Errors
    /// Why it cannot be written down, in words.
    pub fn files(&self) -> Result<Vec<OutputFile>, String> {
        let records: Vec<Record> = self.built().cloned().collect();
        let mut files = table::files(&Comparison { title: &self.title, records: &records });
        let bytes = serde_json::to_vec(self).map_err(|error| error.to_string())?;
        files.push(OutputFile { name: RECORDS.to_owned(), bytes: sealed(&bytes) });
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

/// Why nothing is known of a build in a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unread {
    /// It has no records.
    Missing,
    /// Its records were cut, altered or left out.
    Altered,
    /// They were written by another version of the program.
    OtherVersion,
}

impl Unread {
    /// "holds no build of a family: …".
    pub fn in_words(self) -> String {
        match self {
            Self::Missing => format!("holds no build of a family: `{RECORDS}` is missing"),
            Self::Altered => format!("has records that are not as they were written (`{RECORDS}`): build it again"),
            Self::OtherVersion => format!("was built by another version of this program (`{RECORDS}`): build it again"),
        }
    }
}

/// Bytes behind a line with their digest, by which one tells later that they are whole.
pub(super) fn sealed(bytes: &[u8]) -> Vec<u8> {
    [format!("{}\n", Digest::of(bytes)).as_bytes(), bytes].concat()
}

/// The bytes behind their digest; none where they do not have it.
pub(super) fn unsealed(bytes: &[u8]) -> Option<&[u8]> {
    let end = bytes.iter().position(|byte| *byte == b'\n')?;
    let (digest, rest) = (bytes.get(..end)?, bytes.get(end + 1..)?);
    (Digest::of(rest).to_string().as_bytes() == digest).then_some(rest)
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
    use super::super::memory::{MemoryFolder, record_of};
    use super::*;

    #[test]
    fn so_many_shards_may_be_told_of() {
        let of = |shards: u32| {
            let kept = Kept::new("Buoys", &[], Some((1, shards)), Vec::new());
            Kept::read(&MemoryFolder::with(RECORDS, &sealed(&serde_json::to_vec(&kept).unwrap()))).is_ok()
        };
        assert_eq!([of(SHARDS), of(SHARDS + 1)], [true, false]);
    }

    /// Cut anywhere, or with any one byte changed, records count as none; so do those that were sealed again after one was
    /// taken out.
    #[test]
    fn what_was_cut_or_altered_is_not_taken() {
        let records = (0..3).map(|at| Numbered { at, record: record_of("across_40mm", &[]) }).collect();
        let keys = ["a", "b", "c"].map(str::to_owned);
        let kept = Kept { records, ..Kept::new("Buoys", &keys, None, Vec::new()) };
        let bytes = sealed(&serde_json::to_vec(&kept).unwrap());
        let read = |bytes: &[u8]| Kept::read(&MemoryFolder::with(RECORDS, bytes));
        assert_eq!(read(&bytes), Ok(kept.clone()));
        for at in 0..bytes.len() {
            assert_eq!(read(&bytes[..at]), Err(Unread::Altered), "cut at {at}");
            let mut altered = bytes.clone();
            altered[at] ^= 1;
            assert_eq!(read(&altered), Err(Unread::Altered), "altered at {at}");
        }
        for at in 0..3 {
            let mut less = kept.clone();
            less.records.remove(at);
            assert_eq!(read(&sealed(&serde_json::to_vec(&less).unwrap())), Err(Unread::Altered));
        }
    }
}
