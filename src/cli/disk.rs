//! Files of a design on disk.

use std::fs;
use std::io::{self, Read, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::installed::Installed;
use crate::project::{Project, ReadProblem};

/// The folder of a design. Nothing outside of it is read, by `..`, by an absolute name or through a link.
#[derive(Clone, Debug)]
pub struct DiskProject {
    folder: PathBuf,
    installed: Option<Arc<Installed>>,
}

impl DiskProject {
    /// The folder that holds the file, the file's name in it, and the folder as messages show it.
    pub fn of(file: &Path) -> (Self, String, String) {
        let folder = file.parent().map(Path::to_path_buf).unwrap_or_default();
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let shown = match folder.to_string_lossy() {
            empty if empty.is_empty() => String::new(),
            folder => format!("{}/", folder.trim_end_matches('/')),
        };
        let folder = if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder };
        (Self { folder, installed: None }, name, shown)
    }

    /// The same, able to use the typefaces that are installed on the machine.
    #[must_use]
    pub fn with_installed_typefaces(self) -> Self {
        Self { installed: Some(Arc::default()), ..self }
    }

    /// Where a name of the design lies on disk.
    pub fn path(&self, name: &str) -> PathBuf {
        name.split('/').fold(self.folder.clone(), |path, part| path.join(part))
    }
}

impl Project for DiskProject {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        let path = fs::canonicalize(self.path(name)).map_err(|error| problem(&error))?;
        let folder = fs::canonicalize(&self.folder).map_err(|error| problem(&error))?;
        if !path.starts_with(folder) {
            return Err(ReadProblem::Outside);
        }
        let file = fs::File::open(path).map_err(|error| problem(&error))?;
        let metadata = file.metadata().map_err(|error| problem(&error))?;
        if metadata.is_dir() {
            return Err(ReadProblem::Other("it is a folder".to_owned()));
        }
        if metadata.len() > limit as u64 {
            return Err(ReadProblem::TooLarge { bytes: metadata.len(), limit });
        }
        // A device or pipe may hold more than its metadata tells.
        let mut bytes = Vec::new();
        file.take(limit as u64 + 1).read_to_end(&mut bytes).map_err(|error| problem(&error))?;
        if bytes.len() > limit {
            return Err(ReadProblem::TooLarge { bytes: bytes.len() as u64, limit });
        }
        Ok(bytes)
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        self.installed.as_ref()?.named(family)
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        self.installed.as_ref()?.with(characters)
    }
}

fn problem(error: &io::Error) -> ReadProblem {
    match error.kind() {
        io::ErrorKind::NotFound => ReadProblem::Missing,
        io::ErrorKind::PermissionDenied => ReadProblem::Other("you may not read it".to_owned()),
        _ => ReadProblem::Other(error.to_string()),
    }
}

/// Puts a new text in a file's place, whole or not at all; its permissions stay, and a link to it stays one.
pub(super) fn replace(path: &Path, text: &str) -> io::Result<()> {
    let path = &fs::canonicalize(path)?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut new = tempfile::NamedTempFile::new_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.as_file().set_permissions(fs::metadata(path)?.permissions())?;
    new.as_file().sync_all()?;
    new.persist(path).map_err(|error| error.error)?;
    Ok(())
}
