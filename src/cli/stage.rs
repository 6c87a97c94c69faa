//! Writing a folder of outputs all together or not at all.
//!
//! The files are written into a hidden folder beside the wanted one, flushed to the disc, and swapped in by
//! renaming. Until the swap the former folder is untouched; when the swap fails it is put back. A small
//! manifest in the folder lists what is ours: a folder that holds anything else is refused, never lost.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Component, Path, PathBuf};

use crate::output::OutputFile;

/// The file that lists, one a line, the files of the folder that are ours.
pub const MANIFEST: &str = ".dialwright";

/// Makes `folder` hold exactly these files. Folders on the way to it are made as needed.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] where `folder` holds something that an earlier call did not write, or is a
/// file; [`ErrorKind::InvalidInput`] for a file name that is not a plain relative path or stands twice; else
/// whatever the system says. After an error the former folder is as it was.
pub fn stage(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    check_names(files)?;
    let folder = target(folder)?;
    let parent = folder.parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf);
    check_ours(&folder)?;
    fs::create_dir_all(&parent)?;
    let fresh = tempfile::Builder::new().prefix(".dialwright-").tempdir_in(&parent)?;
    fill(fresh.path(), files)?;
    swap(fresh, &folder, &parent)
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

/// Puts the fresh folder where the wanted one is; the former one is put back where that fails.
fn swap(fresh: tempfile::TempDir, folder: &Path, parent: &Path) -> io::Result<()> {
    if !folder.exists() {
        fs::rename(fresh.path(), folder)?;
        // It is no longer at its temporary path: nothing is left there to clean up.
        let _ = fresh.keep();
        return Ok(());
    }
    let aside = tempfile::Builder::new().prefix(".dialwright-").tempdir_in(parent)?;
    let former = aside.path().join("former");
    fs::rename(folder, &former)?;
    if let Err(error) = fs::rename(fresh.path(), folder) {
        if fs::rename(&former, folder).is_err() {
            let kept = aside.keep().join("former");
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
