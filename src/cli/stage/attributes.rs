//! What a file has besides its bytes: owner, group, permissions, and attributes such as access lists. Who writes a file anew
//! changes none of them.

use std::fs;
use std::io;
use std::path::Path;

/// Whether a file may be written anew by renaming another one onto it.
///
/// # Errors
/// Why not, in words: it is read-only, or has another name that would keep the old text.
pub(in crate::cli) fn replaceable(file: &fs::Metadata) -> io::Result<()> {
    if file.permissions().readonly() {
        return Err(io::Error::other("it is read-only: allow writing to it first"));
    }
    match names(file) {
        0 | 1 => Ok(()),
        names => Err(io::Error::other(format!(
            "it has {names} names (hard links), and only this one would change: make it a file of its own first"
        ))),
    }
}

/// Under how many names a file is kept.
#[cfg(unix)]
fn names(file: &fs::Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::nlink(file)
}

#[cfg(not(unix))]
fn names(_file: &fs::Metadata) -> u64 {
    1
}

/// Gives `to` what `from` has besides its bytes.
///
/// # Errors
/// Where the owner or the permissions cannot be given on, in words.
#[cfg(unix)]
pub(in crate::cli) fn carry_over(from: &Path, to: &Path) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt as _, chown};
    let (old, new) = (fs::metadata(from)?, fs::metadata(to)?);
    let other = |old: u32, new: u32| (old != new).then_some(old);
    let (user, group) = (other(old.uid(), new.uid()), other(old.gid(), new.gid()));
    if user.is_some() || group.is_some() {
        chown(to, user, group).map_err(|error| {
            let why = format!("it belongs to another user or group, to whom a new one cannot be given ({error})");
            io::Error::new(error.kind(), why)
        })?;
    }
    // After the owner, for a change of owner takes some permissions away.
    fs::set_permissions(to, old.permissions())?;
    // Access lists and labels. A disc without them has none to give on, and some are the system's own to set.
    for name in xattr::list(from).into_iter().flatten() {
        if let Ok(Some(value)) = xattr::get(from, &name) {
            let _ = xattr::set(to, &name, &value);
        }
    }
    Ok(())
}

/// Gives `to` what `from` has besides its bytes.
///
/// # Errors
/// Where the permissions cannot be given on.
#[cfg(not(unix))]
pub(in crate::cli) fn carry_over(from: &Path, to: &Path) -> io::Result<()> {
    fs::set_permissions(to, fs::metadata(from)?.permissions())
}
