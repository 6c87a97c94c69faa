//! Writing a folder of outputs all together or not at all.
//!
//! The files are written into a hidden folder beside the wanted one, flushed to the disc, and swapped in by renaming:
//! where the system can exchange two folders in one step, nothing can come between. Else the former folder is put
//! aside first, and put back when the second step fails, or by the next build when this one was killed between the
//! two. A small manifest in the folder lists what is ours: a folder that holds anything else is refused, never lost.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::num::NonZeroUsize;
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use crate::output::OutputFile;
use crate::parallel::each;

/// The file that lists, one a line, the files of the folder that are ours.
pub const MANIFEST: &str = ".dialwright";
/// What the names of our hidden files and folders begin with: of fresh outputs, and of former ones put aside.
pub(super) const FRESH: &str = ".dialwright-fresh-";
const ASIDE: &str = ".dialwright-former-";
/// Most files that are written at once: the disc takes several about as fast as one.
const WRITERS: NonZeroUsize = NonZeroUsize::MIN.saturating_add(7);
/// Files that are worth a writer of their own: to start one takes longer than to write a small file.
const WRITTEN_EACH: usize = 4;
/// A hidden folder that no build holds is left alone for this long, in case its build has only just made it.
const YOUNG: Duration = Duration::from_secs(60);

/// Makes `folder` hold exactly these files. Folders on the way to it are made as needed.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] where `folder` holds something that an earlier call did not write, or is a
/// file; [`ErrorKind::InvalidInput`] for a file name that is not a plain relative path or stands twice; else
/// whatever the system says. After an error the former folder is as it was.
pub fn stage(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    let staging = Staging::begin(folder)?;
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
        _ => "choose another folder with `--out`",
    };
    format!("nothing was written to `{}`: {error}; what was there is as before; {mend}", folder.display())
}

/// Whether a file must be on the disc before it is swapped in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flush {
    /// Each file by itself.
    Each,
    /// Left to the system: for thousands of files whose digests are checked before they are used again.
    System,
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
    names: Mutex<BTreeSet<String>>,
}

impl Staging {
    /// Begins to fill a folder that is to take the place of `folder`.
    ///
    /// # Errors
    /// Those of [`stage`], apart from faulty names.
    pub fn begin(folder: &Path) -> io::Result<Self> {
        Self::begun(folder).map_err(|error| in_our_words(folder, error))
    }

    fn begun(asked: &Path) -> io::Result<Self> {
        let folder = target(asked)?;
        let parent = folder.parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf);
        fs::create_dir_all(&parent)?;
        // Before the folder is looked at, for a build that was killed may have left its outputs put aside.
        clear_leftovers(&parent);
        check_ours(&folder)?;
        let fresh = fresh_folder(&parent)?;
        // Held for as long as this build lives, by which another one tells it from a leftover. A lock ends with its
        // process, however that ends.
        let held = held(fresh.path());
        Ok(Self { asked: asked.to_path_buf(), folder, parent, fresh, held, names: Mutex::default() })
    }

    /// Writes a file.
    ///
    /// # Errors
    /// [`ErrorKind::InvalidInput`] for a faulty name; else whatever the system says.
    pub fn put(&self, name: &str, bytes: &[u8], flush: Flush) -> io::Result<()> {
        let written = self.place(name).and_then(|place| write(&place, bytes, flush));
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
    /// Those of [`Staging::put`].
    pub fn keep(&self, name: &str) -> io::Result<()> {
        let former = self.folder.join(name);
        // Not every file system knows links.
        let linked = |place: PathBuf| fs::hard_link(&former, &place).or_else(|_| fs::copy(&former, &place).map(drop));
        self.place(name).and_then(linked).map_err(|error| in_our_words(&self.asked, error))
    }

    /// Where a file of this name goes, its folder made.
    fn place(&self, name: &str) -> io::Result<PathBuf> {
        let plain = Path::new(name).components().all(|part| matches!(part, Component::Normal(_)));
        // A line break would forge a line of the manifest, and a backslash is a separator elsewhere.
        let sound = plain && !name.is_empty() && !name.contains(['\n', '\\']) && name != MANIFEST;
        let mut names = self.names.lock().unwrap_or_else(PoisonError::into_inner);
        if !sound || !names.insert(name.to_owned()) {
            return Err(io::Error::new(ErrorKind::InvalidInput, format!("`{name}` cannot be written")));
        }
        drop(names);
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
        let names = self.names.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let manifest: String = names.iter().map(|name| format!("{name}\n")).collect();
        // Last, so that a folder with a manifest has everything that stands in it.
        write(&self.fresh.path().join(MANIFEST), manifest.as_bytes(), Flush::Each)?;
        let Self { folder, parent, fresh, held: _held, .. } = self;
        named(fresh.path())?;
        swap(fresh, &folder, &parent)
    }
}

/// Marks a hidden folder as in use for as long as the handle lives; none where the system or the disc cannot.
fn held(folder: &Path) -> Option<File> {
    let handle = File::open(folder).ok()?;
    handle.try_lock().ok()?;
    Some(handle)
}

/// Takes away what killed builds have left behind, and puts former outputs back that one of them had put aside. A
/// leftover that cannot be cleared does no harm.
fn clear_leftovers(parent: &Path) {
    let Ok(entries) = fs::read_dir(parent) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let is = |prefix: &str| name.to_string_lossy().starts_with(prefix);
        if !is(FRESH) && !is(ASIDE) {
            continue;
        }
        let Some(_held) = held(&entry.path()) else { continue };
        if is(ASIDE) {
            restore(&entry.path(), parent);
        }
        let age = entry.metadata().and_then(|about| about.modified()).ok().and_then(|at| at.elapsed().ok());
        if age.is_some_and(|age| age > YOUNG) {
            let _ =
                if entry.path().is_dir() { fs::remove_dir_all(entry.path()) } else { fs::remove_file(entry.path()) };
        }
    }
}

/// Puts former outputs back under their own name, where nothing has that name now.
fn restore(aside: &Path, parent: &Path) {
    let Ok(entries) = fs::read_dir(aside) else { return };
    for entry in entries.flatten() {
        let home = parent.join(entry.file_name());
        if !home.exists() {
            let _ = fs::rename(entry.path(), home);
        }
    }
}

/// The folder itself, links followed, so that a link to a folder stays one.
fn target(folder: &Path) -> io::Result<PathBuf> {
    match folder.canonicalize() {
        Err(error) if error.kind() == ErrorKind::NotFound => std::path::absolute(folder),
        other => other,
    }
}

/// Refuses a folder that holds anything not listed in its manifest.
fn check_ours(folder: &Path) -> io::Result<()> {
    match fs::metadata(folder) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(error),
        Ok(found) if !found.is_dir() => return Err(refused(folder, "is a file, not a folder")),
        Ok(_) => {}
    }
    let manifest = match fs::read_to_string(folder.join(MANIFEST)) {
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        other => other?,
    };
    let ours: BTreeSet<PathBuf> = manifest.lines().chain([MANIFEST]).map(|line| folder.join(line)).collect();
    // Folders are entered only on the way to something of ours: any other folder is somebody else's.
    let on_the_way: BTreeSet<&Path> = ours.iter().flat_map(|file| file.ancestors().skip(1)).collect();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next)? {
            let entry = entry?;
            let path = entry.path();
            if entry.file_type()?.is_dir() && on_the_way.contains(path.as_path()) {
                folders.push(path);
            } else if !ours.contains(&path) {
                let name = path.strip_prefix(folder).unwrap_or(&path).display().to_string();
                return Err(refused(folder, &format!("holds `{name}`, which was not written here")));
            }
        }
    }
    Ok(())
}

fn refused(folder: &Path, why: &str) -> io::Error {
    io::Error::new(ErrorKind::AlreadyExists, format!("`{}` {why}", folder.display()))
}

fn write(path: &Path, bytes: &[u8], flush: Flush) -> io::Result<()> {
    // Refuses a name that is there already, such as two that differ only in case on some discs.
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    if flush == Flush::Each { file.sync_all() } else { Ok(()) }
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

/// Has the names in a folder on the disc, where the system lets a folder be opened for that.
#[cfg(unix)]
fn named(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn named(_folder: &Path) -> io::Result<()> {
    Ok(())
}

/// Puts the fresh folder where the wanted one is, and the former one where the fresh one was, in one step; false where
/// there is no former one, or the system or the disc cannot.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn exchanged(fresh: &Path, folder: &Path) -> bool {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, fresh, CWD, folder, RenameFlags::EXCHANGE).is_ok()
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn exchanged(_fresh: &Path, _folder: &Path) -> bool {
    false
}

/// Puts the fresh folder where the wanted one is; the former one is put back where that fails.
fn swap(fresh: tempfile::TempDir, folder: &Path, parent: &Path) -> io::Result<()> {
    if exchanged(fresh.path(), folder) {
        // The temporary folder holds the former outputs now: a leftover of them is no failure.
        let _ = fresh.close();
        return Ok(());
    }
    if !folder.exists() {
        // Another build may have made the folder since.
        let moved = fs::rename(fresh.path(), folder);
        return match moved {
            Err(error) if !exchanged(fresh.path(), folder) => Err(error),
            Err(_) => fresh.close(),
            // It is no longer at its temporary path: nothing is left there to clean up.
            Ok(()) => {
                let _ = fresh.keep();
                Ok(())
            }
        };
    }
    let aside = tempfile::Builder::new().prefix(ASIDE).tempdir_in(parent)?;
    // The former outputs must not be cleared by another build between the two renamings.
    let _held = held(aside.path());
    // Under its own name, so that the next build knows where to put it back.
    let name = folder.file_name().unwrap_or(OsStr::new("former"));
    let former = aside.path().join(name);
    fs::rename(folder, &former)?;
    if let Err(error) = fs::rename(fresh.path(), folder) {
        if fs::rename(&former, folder).is_err() {
            let kept = aside.keep().join(name);
            let sentence = format!("{error}; the former outputs are kept in `{}`", kept.display());
            return Err(io::Error::new(error.kind(), sentence));
        }
        return Err(error);
    }
    let _ = fresh.keep();
    // The fresh outputs are in place: a leftover of the former ones is no failure.
    let _ = aside.close();
    Ok(())
}
