//! Families on a disk: the folder of a build, and a cache that any number of processes may use at once, on several machines
//! where they share a disk.

use std::fs;
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use crate::cli::stage::{Edited, Flush, Staging};
use crate::family::store::{Folder, Staged, Store};
use crate::limits::RECORD_BYTES;
use crate::output::OutputFile;

/// What the specification wants in the file: bford.info/cachedir.
const TAG: &str = "Signature: 8a477f597d28d172789f06886806bc55\n# What dialwright has worked out; may be emptied.\n";

/// The folder of a family, and what to do there with files that were changed since.
pub(super) struct DiskFolder<'a>(pub(super) &'a Path, pub(super) Edited);

impl Folder for DiskFolder<'_> {
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        bytes_within(&self.0.join(name), RECORD_BYTES)
    }

    fn stage(&self) -> Result<Box<dyn Staged + '_>, String> {
        Ok(Box::new(Staging::begin(self.0, self.1).map_err(in_words)?))
    }
}

impl Staged for Staging {
    fn put(&self, name: &str, bytes: &[u8]) -> Result<(), String> {
        Self::put(self, name, bytes, Flush::Together).map_err(in_words)
    }

    fn keep(&self, name: &str) -> Result<(), String> {
        Self::keep(self, name).map_err(in_words)
    }

    fn finish(self: Box<Self>, last: &[OutputFile]) -> Result<(), String> {
        self.put_all(last).map_err(in_words)?;
        Self::finish(*self).map_err(in_words)
    }
}

/// A cache in a folder. Everything is written under `new` and then renamed, so that nobody sees a part of it; `CACHEDIR.TAG`
/// tells backups to pass over the folder (the Cache Directory Tagging Specification).
pub(super) struct DiskStore {
    root: PathBuf,
}

impl DiskStore {
    /// The store in this folder, which is made where there is none.
    pub(super) fn open(root: &Path) -> io::Result<Self> {
        let store = Self { root: root.to_path_buf() };
        for folder in ["records", "files", "new"] {
            fs::create_dir_all(root.join(folder))?;
        }
        if !root.join("CACHEDIR.TAG").exists() {
            store.put(&root.join("CACHEDIR.TAG"), TAG.as_bytes())?;
        }
        Ok(store)
    }

    fn put(&self, place: &Path, bytes: &[u8]) -> io::Result<()> {
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

impl Store for DiskStore {
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        bytes_within(&self.root.join(name), RECORD_BYTES)
    }

    fn size(&self, name: &str) -> Option<u64> {
        fs::metadata(self.root.join(name)).ok().map(|found| found.len())
    }

    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), String> {
        self.put(&self.root.join(name), bytes).map_err(in_words)
    }
}

fn in_words(error: io::Error) -> String {
    error.to_string()
}

/// A file of ours that is read again; none where there is none, or one larger than any that is written.
fn bytes_within(path: &Path, most: usize) -> Option<Vec<u8>> {
    let about = fs::metadata(path).ok()?;
    if !about.is_file() || about.len() > most as u64 {
        return None;
    }
    let mut bytes = Vec::new();
    fs::File::open(path).ok()?.take(most as u64).read_to_end(&mut bytes).ok()?;
    Some(bytes)
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
        assert_eq!(DiskFolder(folder.path().parent().unwrap(), Edited::Refuse).read("."), None, "a folder is no file");
        fs::File::create(&path).unwrap().set_len(RECORD_BYTES as u64 + 1).unwrap();
        assert_eq!(DiskFolder(folder.path(), Edited::Refuse).read("record"), None);
    }
}
