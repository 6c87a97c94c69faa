//! Putting a filled folder in the place of the former one, in one step where the system can.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::ours::{self, Seen};
use super::{ASIDE, FRESH};

/// A hidden folder that no build holds is left alone for this long, in case its build has only just made it.
const YOUNG: Duration = Duration::from_secs(60);

/// Marks a hidden folder as in use for as long as the handle lives; none where the system or the disc cannot.
pub(super) fn held(folder: &Path) -> Option<File> {
    let handle = File::open(folder).ok()?;
    handle.try_lock().ok()?;
    Some(handle)
}

/// Takes away what killed builds have left behind, and puts former outputs back that one of them had put aside. A
/// leftover that cannot be cleared does no harm.
pub(super) fn clear_leftovers(parent: &Path) {
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
            cleared(&entry.path());
        }
    }
}

/// Takes a leftover away. Of a folder that was finished only what its manifest lists goes: anything else is somebody's.
fn cleared(leftover: &Path) {
    let inner = fs::read_dir(leftover).into_iter().flatten().flatten().map(|entry| entry.path());
    let finished: Vec<PathBuf> = inner.chain([leftover.to_path_buf()]).filter(|path| ours::is_finished(path)).collect();
    let _ = match (leftover.is_dir(), finished.is_empty()) {
        (false, _) => fs::remove_file(leftover),
        (true, true) => fs::remove_dir_all(leftover),
        (true, false) => {
            finished.iter().for_each(|folder| ours::remove(folder));
            fs::remove_dir(leftover)
        }
    };
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

/// Has the names in a folder on the disc, where the system lets a folder be opened for that.
#[cfg(unix)]
pub(in crate::cli) fn named(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
pub(in crate::cli) fn named(_folder: &Path) -> io::Result<()> {
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

/// Puts the fresh folder where the wanted one is. The former one, of which `seen` is all, goes; it is put back where something
/// came to it meanwhile or a step fails.
///
/// # Errors
/// [`io::ErrorKind::AlreadyExists`] where something came to the former folder meanwhile; else whatever the system says.
pub(super) fn swap(fresh: tempfile::TempDir, folder: &Path, parent: &Path, seen: &Seen) -> io::Result<()> {
    if exchanged(fresh.path(), folder) {
        let former = fresh.keep();
        // Whoever wrote into the folder until now wrote into this one.
        if let Err(error) = ours::still(&former, seen, folder) {
            let back = exchanged(&former, folder);
            if back {
                // It is the fresh one again.
                let _ = fs::remove_dir_all(&former);
                return Err(error);
            }
            return Err(kept_in(&error, &former));
        }
        ours::remove(&former);
        return named(parent);
    }
    if !folder.exists() {
        // Another build may have made the folder since.
        return match fs::rename(fresh.path(), folder) {
            Err(error) if !exchanged(fresh.path(), folder) => Err(error),
            Err(_) => {
                ours::remove(&fresh.keep());
                named(parent)
            }
            // It is no longer at its temporary path: nothing is left there to clean up.
            Ok(()) => {
                let _ = fresh.keep();
                named(parent)
            }
        };
    }
    let aside = tempfile::Builder::new().prefix(ASIDE).tempdir_in(parent)?;
    // The former outputs must not be cleared by another build between the two renamings.
    let _held = held(aside.path());
    // Under its own name, so that the next build knows where to put it back.
    let former = aside.path().join(folder.file_name().unwrap_or(OsStr::new("former")));
    fs::rename(folder, &former)?;
    let swapped = ours::still(&former, seen, folder).and_then(|()| fs::rename(fresh.path(), folder));
    if let Err(error) = swapped {
        let aside = aside.keep();
        return match fs::rename(&former, folder) {
            Ok(()) => {
                let _ = fs::remove_dir(aside);
                Err(error)
            }
            Err(_) => Err(kept_in(&error, &former)),
        };
    }
    let _ = fresh.keep();
    ours::remove(&former);
    let _ = fs::remove_dir(aside.keep());
    named(parent)
}

fn kept_in(error: &io::Error, former: &Path) -> io::Error {
    io::Error::new(error.kind(), format!("{error}; the former outputs are kept in `{}`", former.display()))
}

/// Has all that was written to the disc of this folder on it.
#[cfg(any(target_os = "linux", target_os = "android"))]
pub(super) fn flushed(folder: &Path) -> io::Result<()> {
    Ok(rustix::fs::syncfs(File::open(folder)?)?)
}

/// Nothing to do: where no call flushes a whole disc, every file is flushed as it is written.
#[cfg(not(any(target_os = "linux", target_os = "android")))]
pub(super) fn flushed(_folder: &Path) -> io::Result<()> {
    Ok(())
}
