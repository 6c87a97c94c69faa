//! Where files come from. The compiler asks for them by name through [`Project`]; only the edges know disks.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// Why a file cannot be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadProblem {
    /// There is none of that name.
    Missing,
    /// It is larger than the limit, in bytes.
    TooLarge {
        /// Its size.
        bytes: u64,
        /// What is allowed.
        limit: usize,
    },
    /// It lies outside the folder of the design.
    Outside,
    /// It is a folder, may not be read, or the disk failed; in the system's words.
    Other(String),
}

/// A source of files. Names are relative to the folder of the design, with `/` between parts. Variants of a family are
/// worked on side by side and ask for files at the same time.
pub trait Project: Sync {
    /// The bytes of a file, at most `limit` of them.
    ///
    /// # Errors
    /// Why it cannot be had.
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem>;

    /// The font file of a family that is installed on the machine, and the number of its face in the file; none
    /// where there is no machine to ask, or no such family on it.
    fn installed_typeface(&self, _family: &str) -> Option<(Vec<u8>, u32)> {
        None
    }

    /// The family of an installed typeface that can draw all these characters.
    fn installed_typeface_with(&self, _characters: &[char]) -> Option<String> {
        None
    }
}

/// What was once read.
type Kept<T> = Mutex<BTreeMap<String, T>>;

/// A project that asks another for each file and typeface once, however often they are wanted.
pub struct Remembered<'p> {
    of: &'p dyn Project,
    files: Kept<Result<Vec<u8>, ReadProblem>>,
    typefaces: Kept<Option<(Vec<u8>, u32)>>,
    with: Kept<Option<String>>,
}

impl<'p> Remembered<'p> {
    /// Remembers what is read from this project.
    pub fn new(of: &'p dyn Project) -> Self {
        Self { of, files: Mutex::default(), typefaces: Mutex::default(), with: Mutex::default() }
    }
}

fn once<T: Clone>(kept: &Kept<T>, name: &str, ask: impl FnOnce() -> T) -> T {
    let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
    kept.entry(name.to_owned()).or_insert_with(ask).clone()
}

impl Project for Remembered<'_> {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        once(&self.files, &format!("{limit} {name}"), || self.of.read(name, limit))
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        once(&self.typefaces, family, || self.of.installed_typeface(family))
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        let name: String = characters.iter().collect();
        once(&self.with, &name, || self.of.installed_typeface_with(characters))
    }
}

/// Files held in memory, for tests, documentation and editors.
#[derive(Clone, Debug, Default)]
pub struct MemoryProject {
    files: BTreeMap<String, Vec<u8>>,
}

impl MemoryProject {
    /// The same with one more file.
    #[must_use]
    pub fn with(mut self, name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        self.files.insert(name.into(), bytes.into());
        self
    }
}

impl Project for MemoryProject {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        let bytes = self.files.get(name).ok_or(ReadProblem::Missing)?;
        if bytes.len() > limit {
            return Err(ReadProblem::TooLarge { bytes: bytes.len() as u64, limit });
        }
        Ok(bytes.clone())
    }
}

/// A project with some texts in the place of its own, or beside them: what a file would come to before it is written.
pub struct Overlaid<'p> {
    beneath: &'p dyn Project,
    texts: BTreeMap<String, String>,
}

impl<'p> Overlaid<'p> {
    /// These texts, by name, over a project.
    pub fn new(beneath: &'p dyn Project, texts: impl IntoIterator<Item = (String, String)>) -> Self {
        Self { beneath, texts: texts.into_iter().collect() }
    }
}

impl Project for Overlaid<'_> {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        match self.texts.get(name) {
            Some(text) if text.len() > limit => Err(ReadProblem::TooLarge { bytes: text.len() as u64, limit }),
            Some(text) => Ok(text.as_bytes().to_vec()),
            None => self.beneath.read(name, limit),
        }
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        self.beneath.installed_typeface(family)
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        self.beneath.installed_typeface_with(characters)
    }
}

/// The name of a file that `from` mentions as `mentioned`: beside `from`, with `.` and `..` resolved.
/// None where it would climb out of the folder of the design or is absolute.
pub fn beside(from: &str, mentioned: &str) -> Option<String> {
    // A colon is a drive elsewhere, or the scheme of an address.
    let absolute = mentioned.starts_with(['/', '\\']) || mentioned.contains(':');
    let folder = from.rsplit_once('/').map_or("", |(folder, _)| folder);
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in mentioned.split(['/', '\\']) {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            name => parts.push(name),
        }
    }
    (!absolute).then(|| parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::beside;

    #[test]
    fn names_stay_inside_the_folder() {
        assert_eq!(beside("a.dial", "shop.dial").as_deref(), Some("shop.dial"));
        assert_eq!(beside("dials/a.dial", "../shop.dial").as_deref(), Some("shop.dial"));
        assert_eq!(beside("a.dial", "../shop.dial"), None);
        assert_eq!(beside("a.dial", "/etc/passwd"), None);
        assert_eq!(beside("a.dial", "C:\\art.svg"), None);
    }
}
