//! Writing a folder of outputs all together or not at all.
//!
//! The files are written into a hidden folder beside the wanted one, flushed to the disc, and swapped in by renaming:
//! where the system can exchange two folders in one step, nothing can come between. Else the former folder is put
//! aside first, and put back when the second step fails, or by the next build when this one was killed between the
//! two. A small manifest in the folder lists what is ours: a folder that holds anything else is refused, never lost.

use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Component, Path, PathBuf};
use std::time::Duration;

use crate::output::OutputFile;

/// The file that lists, one a line, the files of the folder that are ours.
pub const MANIFEST: &str = ".dialwright";
/// What the names of our hidden folders begin with: of fresh outputs, and of former ones put aside.
const FRESH: &str = ".dialwright-fresh-";
const ASIDE: &str = ".dialwright-former-";
/// A hidden folder that no build holds is left alone for this long, in case its build has only just made it.
const YOUNG: Duration = Duration::from_secs(60);

/// Makes `folder` hold exactly these files. Folders on the way to it are made as needed.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] where `folder` holds something that an earlier call did not write, or is a
/// file; [`ErrorKind::InvalidInput`] for a file name that is not a plain relative path or stands twice; else
/// whatever the system says. After an error the former folder is as it was.
pub fn stage(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    check_names(files)?;
    staged(folder, files).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => error,
        kind => io::Error::new(kind, unwritten(folder, &error)),
    })
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

fn staged(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    let folder = target(folder)?;
    let parent = folder.parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf);
    fs::create_dir_all(&parent)?;
    clear_leftovers(&parent);
    check_ours(&folder)?;
    let fresh = tempfile::Builder::new().prefix(FRESH).tempdir_in(&parent)?;
    let _held = held(fresh.path());
    fill(fresh.path(), files)?;
    swap(fresh, &folder, &parent)
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
            let _ = fs::remove_dir_all(entry.path());
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

fn check_names(files: &[OutputFile]) -> io::Result<()> {
    let mut seen = BTreeSet::new();
    for file in files {
        let path = Path::new(&file.name);
        let plain = path.components().all(|part| matches!(part, Component::Normal(_)));
        let sound = plain && !file.name.is_empty() && !file.name.contains(['\n', '\\']) && file.name != MANIFEST;
        if !sound || !seen.insert(path) {
            return Err(io::Error::new(ErrorKind::InvalidInput, format!("`{}` cannot be written", file.name)));
        }
    }
    Ok(())
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
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next)? {
            let entry = entry?;
            let path = entry.path();
            if entry.file_type()?.is_dir() && ours.iter().any(|file| file.starts_with(&path)) {
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

fn fill(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    for file in files {
        let path = folder.join(&file.name);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        write(&path, &file.bytes)?;
    }
    let mut names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    names.sort_unstable();
    let manifest: String = names.iter().map(|name| format!("{name}\n")).collect();
    write(&folder.join(MANIFEST), manifest.as_bytes())?;
    share(folder)
}

fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// A temporary folder is made for its owner alone; what is delivered may be read like any folder made here.
#[cfg(unix)]
fn share(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let probe = tempfile::Builder::new().permissions(fs::Permissions::from_mode(0o777)).tempdir_in(folder)?;
    let usual = fs::metadata(probe.path())?.permissions();
    probe.close()?;
    fs::set_permissions(folder, usual)?;
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn share(_folder: &Path) -> io::Result<()> {
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
    let _held = held(aside.path());
    let name = folder.file_name().unwrap_or(OsStr::new("former"));
    let former = aside.path().join(name);
    fs::rename(folder, &former)?;
    if let Err(error) = fs::rename(fresh.path(), folder) {
        if fs::rename(&former, folder).is_err() {
            let kept = aside.keep().join(name);
            let told = format!("{error}; the former outputs are kept in `{}`", kept.display());
            return Err(io::Error::new(error.kind(), told));
        }
        return Err(error);
    }
    let _ = fresh.keep();
    // The fresh outputs are in place: a leftover of the former ones is no failure.
    let _ = aside.close();
    Ok(())
}
