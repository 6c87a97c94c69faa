//! What was worked out before, found by what it was worked out from. Any number of builds may use it at once, and anyone may
//! empty it at any time.
//!
//! ```text
//! records/KEY     what is known of a variant, behind its digest; its name the digest of what the variant rests on
//! files/DIGEST    a file that was made, its name the digest of its bytes
//! ```
//!
//! The first two digits name a folder, so that no folder grows large. Two who write the same write the same bytes. What is read is compared with its digest, so that a damaged file counts as none.

use super::Record;
use super::kept::{files_of, sealed, unsealed};
use super::store::Store;
use crate::output::OutputFile;
use crate::revision::Digest;

/// A cache in this store.
#[derive(Clone, Copy)]
pub struct Cache<'a>(pub &'a dyn Store);

impl Cache<'_> {
    /// What is known of the variant with this key, and its files in the order of the record; none where any of it is
    /// missing or damaged.
    pub fn find(&self, key: &str) -> Option<(Record, Vec<OutputFile>)> {
        let text = self.0.read(&place("records", key))?;
        let record: Record =
            serde_json::from_slice(unsealed(&text)?).ok().filter(|record: &Record| record.key == key)?;
        let files = files_of(&record, |made| self.0.read(&place("files", &made.digest)))?;
        Some((record, files))
    }

    /// Keeps a variant with its files.
    ///
    /// # Errors
    /// Why it cannot be kept, in words.
    pub fn keep(&self, record: &Record, files: &[OutputFile]) -> Result<(), String> {
        for file in files {
            let place = place("files", &Digest::of(&file.bytes).to_string());
            // One that is there already may be damaged, but of its size that would be rare, and writing all again is not.
            if self.0.size(&place) != Some(file.bytes.len() as u64) {
                self.0.write(&place, &file.bytes)?;
            }
        }
        let text = serde_json::to_vec(record).map_err(|error| error.to_string())?;
        self.0.write(&place("records", &record.key), &sealed(&text))
    }
}

/// Where the file of this digest is.
fn place(kind: &str, digest: &str) -> String {
    let (first, rest) = digest.split_at_checked(2).unwrap_or((digest, ""));
    format!("{kind}/{first}/{rest}")
}

#[cfg(test)]
mod tests {
    use super::super::memory::{MemoryStore, record_of};
    use super::*;

    /// A file with a byte changed is another file, and a record that stands under another's key is none of its own.
    #[test]
    fn what_is_damaged_counts_as_none() {
        let files = [OutputFile { name: "board-1-setup-1.svg".to_owned(), bytes: b"<svg/>".to_vec() }];
        let (record, store) = (record_of("across_40mm", &files), MemoryStore::default());
        let cache = Cache(&store);
        assert!(cache.find(&record.key).is_none());
        cache.keep(&record, &files).unwrap();
        assert_eq!(cache.find(&record.key), Some((record.clone(), files.to_vec())));
        let digest = &record.files[0].digest;
        store.write(&place("files", digest), b"<SVG/>").unwrap();
        assert!(cache.find(&record.key).is_none());
        // Of the same size, it is taken for whole when the variant is kept again; of another, it is written anew.
        store.write(&place("files", digest), b"<svg").unwrap();
        cache.keep(&record, &files).unwrap();
        assert!(cache.find(&record.key).is_some());
        let other = "0".repeat(64);
        store.write(&place("records", &other), &sealed(&serde_json::to_vec(&record).unwrap())).unwrap();
        assert!(cache.find(&other).is_none());
    }
}
