//! The files of a design with the editor's open texts in the place of those on disk.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;

use lsp_types::Uri;
use url::Url;

use crate::cli::disk::DiskProject;
use crate::limits::SHARING_DESIGNS;
use crate::project::{Project, ReadProblem};

/// A text that is open in the editor.
#[derive(Clone, Debug)]
pub(super) struct Document {
    /// As the editor calls it.
    pub(super) uri: Uri,
    /// Counts its changes.
    pub(super) version: i32,
    /// What it says.
    pub(super) text: Arc<str>,
}

/// All open texts that have a place on disk, by that place.
pub(super) type Open = BTreeMap<PathBuf, (Uri, Arc<str>)>;

/// Where a file lies on disk; none for what was never saved.
pub(super) fn path_of(uri: &Uri) -> Option<PathBuf> {
    Url::parse(uri.as_str()).ok().filter(|url| url.scheme() == "file")?.to_file_path().ok()
}

/// How an editor finds a file on disk.
pub(super) fn uri_of(path: &Path) -> Option<Uri> {
    Uri::from_str(Url::from_file_path(path).ok()?.as_str()).ok()
}

/// The files of one design.
#[derive(Clone, Debug)]
pub(super) struct Files {
    /// The folder; none for a text that was never saved, which has only itself.
    disk: Option<DiskProject>,
    /// The design's own name.
    pub(super) name: String,
    own: Option<(Uri, Arc<str>)>,
    open: Open,
}

impl Files {
    /// Those of a design on disk.
    pub(super) fn on_disk(path: &Path) -> Self {
        let (disk, name, _) = DiskProject::of(path);
        Self { disk: Some(disk.with_installed_typefaces()), name, own: None, open: Open::new() }
    }

    /// Those of a text that was never saved.
    pub(super) fn unsaved(uri: &Uri) -> Self {
        let name = uri.as_str().rsplit(['/', ':']).next().unwrap_or_default().to_owned();
        let empty: Arc<str> = Arc::from("");
        Self { disk: None, name, own: Some((uri.clone(), empty)), open: Open::new() }
    }

    /// The same with these texts open.
    #[must_use]
    pub(super) fn with(&self, documents: &BTreeMap<String, Document>, open: &Open) -> Self {
        let mut files = Self { open: open.clone(), ..self.clone() };
        if let Some((uri, text)) = &mut files.own
            && let Some(document) = documents.get(uri.as_str())
        {
            *text = Arc::clone(&document.text);
        }
        files
    }

    /// Where an editor finds the file of a name.
    pub(super) fn uri(&self, name: &str) -> Option<Uri> {
        if let Some((uri, _)) = self.own.as_ref().filter(|_| name == self.name) {
            return Some(uri.clone());
        }
        let path = self.disk.as_ref()?.path(name);
        self.open.get(&path).map(|(uri, _)| uri.clone()).or_else(|| uri_of(&path))
    }
}

impl Project for Files {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        let Some(disk) = &self.disk else {
            let own = self.own.as_ref().filter(|_| name == self.name);
            return own.map(|(_, text)| text.as_bytes().to_vec()).ok_or(ReadProblem::Missing);
        };
        match self.open.get(&disk.path(name)) {
            Some((_, text)) if text.len() <= limit => Ok(text.as_bytes().to_vec()),
            Some((_, text)) => Err(ReadProblem::TooLarge { bytes: text.len() as u64, limit }),
            None => disk.read(name, limit),
        }
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        self.disk.as_ref()?.installed_typeface(family)
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        self.disk.as_ref()?.installed_typeface_with(characters)
    }
}

/// The files that may share this one: those of the language in its folder and, since names never climb, in the folders
/// above it, as far up as `top`. In order of place, the nearest folder first.
pub(super) fn that_may_share(path: &Path, top: Option<&Path>) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in path.ancestors().skip(1) {
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
        let mut here: Vec<PathBuf> =
            entries.filter(|entry| entry.extension().is_some_and(|ending| ending == "dial") && entry != path).collect();
        here.sort();
        found.append(&mut here);
        // Outside of the editor's folder nothing is looked for: one folder above may be the whole disc.
        let inside = top.is_some_and(|top| folder != top && folder.starts_with(top));
        if !inside || found.len() >= SHARING_DESIGNS {
            break;
        }
    }
    found.truncate(SHARING_DESIGNS);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn so_many_designs_are_looked_through() {
        let folder = tempfile::tempdir().unwrap();
        let of = |designs: usize| {
            (0..designs).for_each(|at| std::fs::write(folder.path().join(format!("{at:03}.dial")), "").unwrap());
            that_may_share(&folder.path().join("shop.dial"), None).len()
        };
        assert_eq!([of(SHARING_DESIGNS), of(SHARING_DESIGNS + 1)], [SHARING_DESIGNS; 2]);
    }
}
