//! A folder of what was worked out before, found by what it was worked out from. Any number of processes may use it at
//! once, on several machines where they share a disk, and anyone may empty it at any time.
//!
//! ```text
//! records/KEY     what is known of a variant, its name the digest of what the variant rests on
//! files/DIGEST    a file that was made, its name the digest of its bytes
//! new/            what is being written
//! CACHEDIR.TAG    tells backups to pass over the folder (the Cache Directory Tagging Specification)
//! ```
//!
//! Everything is written under `new` and then renamed, so that nobody sees a part of it; two who write the same write the
//! same bytes. What is read is compared with its digest, so that a damaged file counts as none.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::kept::{bytes_of, files_of};
use crate::family::Record;
use crate::output::OutputFile;
use crate::revision::Digest;

/// What the specification wants in the file: bford.info/cachedir.
const TAG: &str = "Signature: 8a477f597d28d172789f06886806bc55\n# What dialwright has worked out; may be emptied.\n";

/// The folder.
#[derive(Clone, Debug)]
pub(super) struct Cache {
    root: PathBuf,
}

impl Cache {
    /// The cache in this folder, which is made where there is none.
    pub(super) fn open(root: &Path) -> io::Result<Self> {
        let cache = Self { root: root.to_path_buf() };
        for folder in ["records", "files", "new"] {
            fs::create_dir_all(root.join(folder))?;
        }
        if !root.join("CACHEDIR.TAG").exists() {
            cache.write(&root.join("CACHEDIR.TAG"), TAG.as_bytes())?;
        }
        Ok(cache)
    }

    /// What is known of the variant with this key, and its files in the order of the record; none where any of it is
    /// missing or damaged.
    pub(super) fn find(&self, key: &str) -> Option<(Record, Vec<OutputFile>)> {
        let text = bytes_of(&self.place("records", key))?;
        let record: Record = serde_json::from_slice(&text).ok().filter(|record: &Record| record.key == key)?;
        let files = files_of(&record, |made| bytes_of(&self.place("files", &made.digest)))?;
        Some((record, files))
    }

    /// Keeps a variant with its files.
    pub(super) fn keep(&self, record: &Record, files: &[OutputFile]) -> io::Result<()> {
        for file in files {
            let place = self.place("files", &Digest::of(&file.bytes).to_string());
            // One that is there already may be damaged, but of its size that would be rare, and writing all again is not.
            if fs::metadata(&place).map_or(true, |found| found.len() != file.bytes.len() as u64) {
                self.write(&place, &file.bytes)?;
            }
        }
        let text = serde_json::to_vec(record)?;
        self.write(&self.place("records", &record.key), &text)
    }

    /// Where the file of this digest is: in a folder named by its first digits, so that no folder grows large.
    fn place(&self, kind: &str, digest: &str) -> PathBuf {
        let (first, rest) = digest.split_at_checked(2).unwrap_or((digest, ""));
        self.root.join(kind).join(first).join(rest)
    }

    fn write(&self, place: &Path, bytes: &[u8]) -> io::Result<()> {
        if let Some(parent) = place.parent() {
            fs::create_dir_all(parent)?;
        }
        let mut new = tempfile::NamedTempFile::new_in(self.root.join("new"))?;
        new.write_all(bytes)?;
        shared(new.as_file())?;
        new.persist(place).map_err(|error| error.error)?;
        Ok(())
    }
}

/// A temporary file is its owner's alone; what is kept may be read by all who share the folder.
#[cfg(unix)]
fn shared(file: &fs::File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn shared(_file: &fs::File) -> io::Result<()> {
    Ok(())
}
