//! Writing a folder of outputs all together or not at all.
//!
//! The files are written into a hidden folder beside the wanted one, flushed to the disc, and swapped in by renaming:
//! where the system can exchange two folders in one step, nothing can come between. Else the former folder is put
//! aside first, and put back when the second step fails, or by the next build when this one was killed between the
//! two. A small manifest in the folder lists what is ours, with digests: a folder that holds anything else, or a file of ours
//! that somebody changed, is refused, never lost.

pub(in crate::cli) mod attributes;
mod ours;
mod swap;

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

pub(super) use ours::EditedArguments;
use ours::Seen;
pub use ours::{Edited, MANIFEST};
pub(super) use swap::named;

use crate::output::OutputFile;
use crate::parallel::each;
use crate::revision::Digest;

/// What the names of our hidden files and folders begin with: of fresh outputs, and of former ones put aside.
pub(super) const FRESH: &str = ".dialwright-fresh-";
const ASIDE: &str = ".dialwright-former-";
/// Most files that are written at once: the disc takes several about as fast as one.
const WRITERS: NonZeroUsize = NonZeroUsize::MIN.saturating_add(7);
/// Files that are worth a writer of their own: to start one takes longer than to write a small file.
const WRITTEN_EACH: usize = 4;

/// Makes `folder` hold exactly these files. Folders on the way to it are made as needed.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] where `folder` is a file, or holds something that an earlier call did not write, that is
/// read-only, or that was changed since and `edited` keeps it; [`ErrorKind::InvalidInput`] for a file name that is not a plain
/// relative path or stands twice; else whatever the system says. After an error the former folder is as it was.
pub fn stage(folder: &Path, files: &[OutputFile], edited: Edited) -> io::Result<()> {
    let staging = Staging::begin(folder, edited)?;
    staging.put_all(files)?;
    staging.finish()
}

/// The same error, told in words of ours unless they are ours already.
fn in_our_words(folder: &Path, error: io::Error) -> io::Error {
    match error.kind() {
        ErrorKind::AlreadyExists | ErrorKind::InvalidInput => error,
        kind => io::Error::new(kind, unwritten(folder, &error)),
    }
}

/// What went wrong, in words of ours where the system's alone would leave one alone with it.
fn unwritten(folder: &Path, error: &io::Error) -> String {
    let mend = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            "make room on the disc, or choose a folder on another one with `--out`"
        }
        ErrorKind::NotADirectory => "a file stands where a folder is wanted: choose another one with `--out`",
        ErrorKind::ResourceBusy => "it is where a disc is mounted: choose a folder below it with `--out`",
        _ => "choose another folder with `--out`",
    };
    format!("nothing was written to `{}`: {error}; what was there is as before; {mend}", folder.display())
}

/// Whether a file must be on the disc before it is swapped in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flush {
    /// Each file by itself.
    Each,
    /// All together before they are swapped in, which is quicker for thousands of files.
    Together,
}

/// A folder that is being filled, file by file, from several threads if need be. Nothing is to be seen of it until it is
/// finished; dropped before that, it is gone.
#[derive(Debug)]
pub struct Staging {
    /// As it was asked for.
    asked: PathBuf,
    folder: PathBuf,
    parent: PathBuf,
    fresh: tempfile::TempDir,
    held: Option<File>,
    /// What the former folder holds.
    seen: Seen,
    /// What was written so far.
    written: Mutex<Written>,
}

/// The files of a folder that is being filled.
#[derive(Debug, Default)]
struct Written {
    files: BTreeMap<String, Digest>,
    /// Whether some are not on the disc yet.
    unflushed: bool,
}

impl Staging {
    /// Begins to fill a folder that is to take the place of `folder`.
    ///
    /// # Errors
    /// Those of [`stage`], apart from faulty names.
    pub fn begin(folder: &Path, edited: Edited) -> io::Result<Self> {
        Self::begun(folder, edited).map_err(|error| in_our_words(folder, error))
    }

    fn begun(asked: &Path, edited: Edited) -> io::Result<Self> {
        let folder = target(asked)?;
        let parent = folder.parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf);
        fs::create_dir_all(&parent)?;
        // Before the folder is looked at, for a build that was killed may have left its outputs put aside.
        swap::clear_leftovers(&parent);
        let seen = ours::look(&folder, edited)?;
        let fresh = fresh_folder(&parent)?;
        // Held for as long as this build lives, by which another one tells it from a leftover. A lock ends with its
        // process, however that ends.
        let held = swap::held(fresh.path());
        Ok(Self { asked: asked.to_path_buf(), folder, parent, fresh, held, seen, written: Mutex::default() })
    }

    /// Writes a file.
    ///
    /// # Errors
    /// [`ErrorKind::InvalidInput`] for a faulty name; else whatever the system says.
    pub fn put(&self, name: &str, bytes: &[u8], flush: Flush) -> io::Result<()> {
        let written = self.place(name, Digest::of(bytes), flush).and_then(|place| write(&place, bytes, flush));
        written.map_err(|error| in_our_words(&self.asked, error))
    }

    /// Writes files, several at once, each of them flushed.
    ///
    /// # Errors
    /// Those of [`Staging::put`], for the first of the files that has one.
    pub fn put_all(&self, files: &[OutputFile]) -> io::Result<()> {
        let writers = NonZeroUsize::MIN.saturating_add(files.len() / WRITTEN_EACH).min(WRITERS);
        let mut failed: BTreeMap<usize, io::Error> = BTreeMap::new();
        let put = |file: &OutputFile| self.put(&file.name, &file.bytes, Flush::Each);
        each(files, writers, put, |at, written| failed.extend(written.err().map(|error| (at, error))));
        failed.pop_first().map_or(Ok(()), |(_, error)| Err(error))
    }

    /// Takes a file over from the former folder as it is.
    ///
    /// # Errors
    /// [`ErrorKind::NotFound`] where it has no such file; else those of [`Staging::put`].
    pub fn keep(&self, name: &str) -> io::Result<()> {
        let kept = || {
            let found = self.seen.get(name).ok_or(ErrorKind::NotFound)?;
            let (former, place) = (self.folder.join(name), self.place(name, found.digest, Flush::Together)?);
            // Not every file system knows links.
            fs::hard_link(&former, &place).or_else(|_| fs::copy(&former, &place).map(drop))
        };
        kept().map_err(|error| in_our_words(&self.asked, error))
    }

    /// Where a file of this name goes, its folder made.
    fn place(&self, name: &str, digest: Digest, flush: Flush) -> io::Result<PathBuf> {
        let mut written = self.written.lock().unwrap_or_else(PoisonError::into_inner);
        if !ours::is_plain(name) || written.files.insert(name.to_owned(), digest).is_some() {
            return Err(io::Error::new(ErrorKind::InvalidInput, format!("`{name}` cannot be written")));
        }
        written.unflushed |= flush == Flush::Together;
        drop(written);
        let path = self.fresh.path().join(name);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        Ok(path)
    }

    /// Swaps the filled folder in.
    ///
    /// # Errors
    /// Whatever the system says; the former folder is then as it was.
    pub fn finish(self) -> io::Result<()> {
        let asked = self.asked.clone();
        self.finished().map_err(|error| in_our_words(&asked, error))
    }

    fn finished(self) -> io::Result<()> {
        let Self { folder, parent, fresh, held: _held, seen, written, .. } = self;
        let Written { files, unflushed } = written.into_inner().unwrap_or_else(PoisonError::into_inner);
        // Last, so that a folder with a manifest has everything that stands in it.
        write(&fresh.path().join(MANIFEST), ours::manifest(&files).as_bytes(), Flush::Each)?;
        alike(&folder, fresh.path(), files.keys())?;
        if unflushed {
            swap::flushed(fresh.path())?;
        }
        let folders: BTreeSet<&Path> = files.keys().filter_map(|name| Path::new(name).parent()).collect();
        folders.iter().try_for_each(|inner| swap::named(&fresh.path().join(inner)))?;
        swap::named(fresh.path())?;
        swap::swap(fresh, &folder, &parent, &seen)
    }
}

/// Gives the fresh folder and what stands in it the owners and permissions that the former ones have.
fn alike(former: &Path, fresh: &Path, names: impl Iterator<Item = impl AsRef<Path>>) -> io::Result<()> {
    let mut both = BTreeSet::from([PathBuf::new()]);
    for name in names {
        both.extend(name.as_ref().ancestors().map(Path::to_path_buf));
    }
    both.iter().filter(|name| former.join(name).exists()).try_for_each(|name| {
        let fresh = fresh.join(name);
        let from = if name.as_os_str().is_empty() { former.to_path_buf() } else { former.join(name) };
        attributes::carry_over(&from, &fresh)
    })
}

/// The folder itself, links followed, so that a link to a folder stays one.
fn target(folder: &Path) -> io::Result<PathBuf> {
    match folder.canonicalize() {
        Err(error) if error.kind() == ErrorKind::NotFound && folder.is_symlink() => Err(io::Error::new(
            ErrorKind::AlreadyExists,
            format!("`{}` is a link that leads nowhere", folder.display()),
        )),
        Err(error) if error.kind() == ErrorKind::NotFound => std::path::absolute(folder),
        other => other,
    }
}

fn write(path: &Path, bytes: &[u8], flush: Flush) -> io::Result<()> {
    // Refuses a name that is there already, such as two that differ only in case on some discs.
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    // Only where all can be flushed together is it left for later.
    let later = flush == Flush::Together && cfg!(any(target_os = "linux", target_os = "android"));
    if later { Ok(()) } else { file.sync_all() }
}

/// A hidden folder that may be read like any folder made here, where a temporary one would be for its owner alone.
#[cfg(unix)]
fn fresh_folder(parent: &Path) -> io::Result<tempfile::TempDir> {
    use std::os::unix::fs::PermissionsExt as _;
    tempfile::Builder::new().prefix(FRESH).permissions(fs::Permissions::from_mode(0o777)).tempdir_in(parent)
}

#[cfg(not(unix))]
fn fresh_folder(parent: &Path) -> io::Result<tempfile::TempDir> {
    tempfile::Builder::new().prefix(FRESH).tempdir_in(parent)
}
