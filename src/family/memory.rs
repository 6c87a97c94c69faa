//! Folders and stores in memory, for tests.

use std::collections::BTreeMap;
use std::sync::Mutex;

use super::store::{Folder, Staged, Store};
use super::{Record, made};
use crate::analysis::Verdict;
use crate::output::OutputFile;

type Files = BTreeMap<String, Vec<u8>>;

/// A folder in memory.
#[derive(Default)]
pub(super) struct MemoryFolder(Mutex<Files>);

impl MemoryFolder {
    pub(super) fn with(name: &str, bytes: &[u8]) -> Self {
        let folder = Self::default();
        folder.change(name, bytes);
        folder
    }

    pub(super) fn change(&self, name: &str, bytes: &[u8]) {
        self.0.lock().unwrap().insert(name.to_owned(), bytes.to_vec());
    }

    pub(super) fn names(&self) -> Vec<String> {
        self.0.lock().unwrap().keys().cloned().collect()
    }
}

impl Folder for MemoryFolder {
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        self.0.lock().unwrap().get(name).cloned()
    }

    fn stage(&self) -> Result<Box<dyn Staged + '_>, String> {
        Ok(Box::new(MemoryStaged { folder: self, fresh: Mutex::default() }))
    }
}

struct MemoryStaged<'a> {
    folder: &'a MemoryFolder,
    fresh: Mutex<Files>,
}

impl Staged for MemoryStaged<'_> {
    fn put(&self, name: &str, bytes: &[u8]) -> Result<(), String> {
        let before = self.fresh.lock().unwrap().insert(name.to_owned(), bytes.to_vec());
        before.map_or(Ok(()), |_| Err(format!("`{name}` stands twice")))
    }

    fn keep(&self, name: &str) -> Result<(), String> {
        let former = self.folder.read(name).ok_or_else(|| format!("there is no `{name}`"))?;
        self.put(name, &former)
    }

    fn finish(self: Box<Self>, last: &[OutputFile]) -> Result<(), String> {
        last.iter().try_for_each(|file| self.put(&file.name, &file.bytes))?;
        *self.folder.0.lock().unwrap() = self.fresh.into_inner().unwrap();
        Ok(())
    }
}

/// A store in memory.
#[derive(Default)]
pub(super) struct MemoryStore(Mutex<Files>);

impl Store for MemoryStore {
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        self.0.lock().unwrap().get(name).cloned()
    }

    fn size(&self, name: &str) -> Option<u64> {
        self.read(name).map(|bytes| bytes.len() as u64)
    }

    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), String> {
        self.0.lock().unwrap().insert(name.to_owned(), bytes.to_vec());
        Ok(())
    }
}

/// A record of a variant with these files, all else left empty.
pub(super) fn record_of(variant: &str, files: &[OutputFile]) -> Record {
    Record {
        variant: variant.to_owned(),
        key: "ab".repeat(32),
        read: BTreeMap::new(),
        params: Vec::new(),
        figures: BTreeMap::new(),
        measures: BTreeMap::new(),
        findings: Vec::new(),
        verdict: Verdict::default(),
        files: made(files),
    }
}
