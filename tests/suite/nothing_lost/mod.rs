//! What is there stays whole, whatever happens to what writes over it: in a folder that is read-only, on a full disc, without its
//! input, killed at any moment, and beside another of its kind. `verbs` asks that of every verb that writes, `builds` of
//! folders that a build writes anew, `prints` of every verb that prints,
//! `attributes` of what a file has besides its bytes.

#[cfg(unix)]
mod attributes;
mod builds;
#[cfg(unix)]
mod prints;
mod verbs;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use tempfile::TempDir;

/// What stands in a folder, by names below it.
type Files = BTreeMap<String, Vec<u8>>;

/// A folder for the tests of one verb.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn with(texts: &[(&str, &str)]) -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        texts.iter().for_each(|(name, text)| fs::write(bench.path(name), text).unwrap());
        bench
    }

    /// Puts a scan of one part there, and in `made` what its dial comes to.
    fn with_a_scan(self) -> Self {
        fs::copy(crate::dials::root().join("tests/data/scans-small.png"), self.path("small.png")).unwrap();
        fs::write(self.path("scans.dial"), include_str!("../../data/scans.dial")).unwrap();
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(["build", "scans.dial", "--no-print", "--effort", "0", "--out", "made"]);
        assert!(command.current_dir(self.folder.path()).output().unwrap().status.code() < Some(2));
        self
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

/// Every file of a folder and of those in it.
fn files(folder: &Path) -> Files {
    let mut found = Files::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(inner) = folders.pop() {
        let entries = fs::read_dir(&inner).unwrap_or_else(|error| panic!("{}: {error}", inner.display()));
        for path in entries.map(|entry| entry.unwrap().path()) {
            if fs::symlink_metadata(&path).unwrap().is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
                found.insert(name, fs::read(path).unwrap());
            }
        }
    }
    found
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}
