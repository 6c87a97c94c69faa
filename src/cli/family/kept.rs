//! What a build leaves behind in its folder for the next one, and for joining shards.

use std::fs;
use std::io::{self, Read as _};
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::diagnostics::Diagnostic;
use crate::family::table::{self, Comparison};
use crate::family::{Made, Record};
use crate::limits::{RECORD_BYTES, SHARDS};
use crate::output::OutputFile;
use crate::revision::Digest;

/// The file in the folder of a family that says what every variant was made from.
pub(super) const RECORDS: &str = ".dialwright-family";
/// Version of its form; of another one nothing is taken over.
const VERSION: u32 = 1;

/// One variant and its place among all of the family that were asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Numbered {
    pub(super) at: usize,
    pub(super) record: Record,
}

/// What is known of a build.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Kept {
    version: u32,
    /// What the dial is called.
    pub(super) title: String,
    /// The digest of all that the variants rest on, whole family or shard; tells builds of one state from others.
    pub(super) state: String,
    /// Variants in all, those of other shards included.
    pub(super) variants: usize,
    /// Which shard of how many this is, from 1; none for the whole.
    pub(super) shard: Option<(u32, u32)>,
    /// What was found in the file as a whole.
    pub(super) findings: Vec<Diagnostic>,
    /// The variants that were built, in order.
    pub(super) records: Vec<Numbered>,
}

impl Kept {
    /// Of a build of variants that rest on these keys in all.
    pub(super) fn new(title: &str, keys: &[String], shard: Option<(u32, u32)>, findings: Vec<Diagnostic>) -> Self {
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
    pub(super) fn read(folder: &Path) -> Option<Self> {
        let text = bytes_of(&folder.join(RECORDS))?;
        let sound = |kept: &Self| kept.version == VERSION && kept.shard.is_none_or(|(_, of)| of <= SHARDS);
        serde_json::from_slice(&text).ok().filter(sound)
    }

    /// The tables that compare the variants, and what is kept for next time.
    pub(super) fn files(&self) -> io::Result<Vec<OutputFile>> {
        let records: Vec<Record> = self.records.iter().map(|numbered| numbered.record.clone()).collect();
        let mut files = table::files(&Comparison { title: &self.title, records: &records });
        files.push(OutputFile { name: RECORDS.to_owned(), bytes: serde_json::to_vec(self)? });
        Ok(files)
    }
}

/// A file of ours that is read again; none where there is none, or one larger than any that is written.
pub(super) fn bytes_of(path: &Path) -> Option<Vec<u8>> {
    bytes_within(path, RECORD_BYTES)
}

fn bytes_within(path: &Path, most: usize) -> Option<Vec<u8>> {
    let about = fs::metadata(path).ok()?;
    if !about.is_file() || about.len() > most as u64 {
        return None;
    }
    let mut bytes = Vec::new();
    fs::File::open(path).ok()?.take(most as u64).read_to_end(&mut bytes).ok()?;
    Some(bytes)
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
    use super::*;

    /// With a smaller bound than the program's, so that no test writes a gigabyte.
    #[test]
    fn so_much_is_read_of_a_record() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("record");
        let of = |bytes: usize| {
            fs::write(&path, vec![b' '; bytes]).unwrap();
            bytes_within(&path, 1000).map(|read| read.len())
        };
        assert_eq!([of(1000), of(1001)], [Some(1000), None]);
        assert_eq!(bytes_of(folder.path()), None, "a folder is no file");
        fs::File::create(&path).unwrap().set_len(RECORD_BYTES as u64 + 1).unwrap();
        assert_eq!(bytes_of(&path), None);
    }

    #[test]
    fn so_many_shards_may_be_told_of() {
        let of = |shards: u32| {
            let folder = tempfile::tempdir().unwrap();
            let kept = Kept::new("Buoys", &[], Some((1, shards)), Vec::new());
            fs::write(folder.path().join(RECORDS), serde_json::to_vec(&kept).unwrap()).unwrap();
            Kept::read(folder.path()).is_some()
        };
        assert_eq!([of(SHARDS), of(SHARDS + 1)], [true, false]);
    }
}
