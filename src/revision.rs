//! Which state of a design something was made from: one hash over everything that went into it.
//!
//! The hash is the SHA-256 (FIPS 180-4) of a short text, so that anyone can work it out again with common tools:
//!
//! ```text
//! dialwright 0.1.0
//! file "" 9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08
//! file "shop.dial" e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855
//! set "across" Quantity(Quantity { value: 46.0, … })
//! ```
//!
//! The version of the tool, then each file with the SHA-256 of its bytes in order of name (the design itself has none, so
//! that renaming it changes nothing), then what was set from outside or by the variant.

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};
use std::sync::{Mutex, PoisonError};

use sha2::{Digest as _, Sha256};

use crate::check::Value;
use crate::limits;
use crate::project::{Project, ReadProblem};
use crate::source::Sources;

/// How many characters of a revision people are shown: of ten thousand designs hardly any two share them.
const SHORT: usize = 8;

/// A SHA-256 of some bytes (FIPS 180-4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// The digest of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

/// As 64 hexadecimal digits.
impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// What stands before the name of a typeface of the machine among the files read.
const OF_MACHINE: &str = "(typeface of this machine) ";

/// What a design was read from: names of files, each with the digest of its bytes; none where it cannot be had.
pub type Files = BTreeMap<String, Option<Digest>>;

/// The state of one design, one variant of a family.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Revision(Digest);

impl Revision {
    /// The revision of what these files and settings give. Settings count by their exact values, not as they are shown.
    pub fn of(files: &Files, settings: &BTreeMap<String, Value>) -> Self {
        let mut text = format!("dialwright {}\n", env!("CARGO_PKG_VERSION"));
        for (name, digest) in files {
            let digest = digest.map_or_else(|| "missing".to_owned(), |digest| digest.to_string());
            // Writing to a text cannot fail.
            let _ = writeln!(text, "file {name:?} {digest}");
        }
        for (name, value) in settings {
            let _ = writeln!(text, "set {name:?} {value:?}");
        }
        Self(Digest::of(text.as_bytes()))
    }

    /// The form for people: the first eight digits.
    pub fn short(&self) -> String {
        self.0.to_string().chars().take(SHORT).collect()
    }
}

/// As 64 hexadecimal digits.
impl fmt::Display for Revision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The digests of texts that were read, the design itself, the first of them, under an empty name.
pub fn of_sources(sources: &Sources) -> Files {
    let named = |(at, text): (usize, (_, &crate::source::SourceFile))| {
        let name = if at == 0 { String::new() } else { text.1.name.clone() };
        (name, Some(Digest::of(text.1.text.as_bytes())))
    };
    sources.iter().enumerate().map(named).collect()
}

/// A project that remembers what was read from it: artwork, typefaces and texts.
pub struct Recorder<'p> {
    project: &'p dyn Project,
    files: Mutex<Files>,
}

impl<'p> Recorder<'p> {
    /// Nothing was read yet.
    pub fn new(project: &'p dyn Project) -> Self {
        Self { project, files: Mutex::default() }
    }

    /// Everything that was read so far.
    pub fn files(&self) -> Files {
        self.files.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// What the file or typeface of this name, as [`Recorder::files`] has it, holds now; it is read once.
    pub fn now(&self, name: &str) -> Option<Digest> {
        if let Some(known) = self.files.lock().unwrap_or_else(PoisonError::into_inner).get(name) {
            return *known;
        }
        match name.strip_prefix(OF_MACHINE) {
            Some(family) => drop(self.installed_typeface(family)),
            None => drop(self.read(name, limits::ART_BYTES)),
        }
        self.files.lock().unwrap_or_else(PoisonError::into_inner).get(name).copied().flatten()
    }

    /// A file that is read several times in a run is taken not to change meanwhile.
    fn note(&self, name: &str, bytes: Option<&[u8]>) {
        let mut files = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        if !files.contains_key(name) {
            files.insert(name.to_owned(), bytes.map(Digest::of));
        }
    }
}

impl Project for Recorder<'_> {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        let read = self.project.read(name, limit);
        self.note(name, read.as_deref().ok());
        read
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        let found = self.project.installed_typeface(family);
        let bytes = found.as_ref().map(|(bytes, face)| [bytes.as_slice(), &face.to_be_bytes()].concat());
        self.note(&format!("{OF_MACHINE}{family}"), bytes.as_deref());
        found
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        self.project.installed_typeface_with(characters)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::MemoryProject;

    /// The examples of one block, of two blocks, and of no bits for SHA-256: NIST, "Cryptographic Standards and Guidelines,
    /// Examples with Intermediate Values, SHA-256", and the byte-oriented test vectors of FIPS 180-4.
    #[test]
    fn digests_are_those_of_the_standard() {
        let known = [
            ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
            ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ];
        for (text, digest) in known {
            assert_eq!(Digest::of(text.as_bytes()).to_string(), digest);
        }
    }

    #[test]
    fn a_revision_is_the_digest_of_a_text_that_anyone_can_write() {
        let files = Files::from([(String::new(), Some(Digest::of(b"abc"))), ("a \"b\".svg".to_owned(), None)]);
        let settings = BTreeMap::from([("open".to_owned(), Value::Truth(true))]);
        let text = format!(
            "dialwright {}\nfile \"\" {}\nfile \"a \\\"b\\\".svg\" missing\nset \"open\" Truth(true)\n",
            env!("CARGO_PKG_VERSION"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        let revision = Revision::of(&files, &settings);
        assert_eq!(revision.to_string(), Digest::of(text.as_bytes()).to_string());
        assert_eq!(revision.short(), revision.to_string()[..8]);
    }

    #[test]
    fn what_is_read_is_remembered_once_and_what_is_missing_too() {
        let project = MemoryProject::default().with("art/star.svg", "abc");
        let recorder = Recorder::new(&project);
        for _ in 0..2 {
            assert!(recorder.read("art/star.svg", 10).is_ok());
        }
        assert!(recorder.read("gone.svg", 10).is_err());
        let expected = [("art/star.svg".to_owned(), Some(Digest::of(b"abc"))), ("gone.svg".to_owned(), None)];
        assert_eq!(recorder.files(), Files::from(expected));
    }
}
