//! Which files of a folder are ours, and whether they are still as they were written.
//!
//! The manifest of a folder has a line for each file: the SHA-256 of its bytes (FIPS 180-4), two spaces, its name. So
//! `sha256sum --check .dialwright` tells without this program what was changed. Lines of an earlier form have the name alone.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, ErrorKind};
use std::num::NonZeroUsize;
use std::path::{Component, Path, PathBuf};
use std::time::SystemTime;

use crate::cli::disk::was_read;
use crate::parallel::each;
use crate::revision::Digest;

/// The file that lists the files of a folder that are ours.
pub const MANIFEST: &str = ".dialwright";
/// Hexadecimal digits of a digest.
const DIGITS: usize = 64;
/// Most threads that read files at once.
const READERS: NonZeroUsize = NonZeroUsize::MIN.saturating_add(3);
/// Files that are worth a thread of their own.
const READ_EACH: usize = 64;

/// What to do with a file of ours that was changed since it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edited {
    /// Leave all as it is, and say so.
    Refuse,
    /// Lose what was changed.
    Replace,
}

/// The flag by which a verb that writes a folder is told to lose changes.
#[derive(Clone, Copy, Debug, clap::Args)]
pub(in crate::cli) struct EditedArguments {
    /// Writes over files of the folder that were changed since they were written here; the changes are lost
    #[arg(long)]
    replace_edited: bool,
}

impl EditedArguments {
    pub(in crate::cli) fn edited(self) -> Edited {
        if self.replace_edited { Edited::Replace } else { Edited::Refuse }
    }
}

/// A file as it was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Found {
    pub(super) digest: Digest,
    bytes: u64,
    changed: Option<SystemTime>,
}

/// The files of ours that a folder holds, by name.
pub(super) type Seen = BTreeMap<String, Found>;

/// What stands in the manifest: names, each with the digest of what was written.
type Listed = BTreeMap<String, Option<String>>;

/// The manifest of these files.
pub(super) fn manifest(files: &BTreeMap<String, Digest>) -> String {
    files.iter().map(|(name, digest)| format!("{digest}  {name}\n")).collect()
}

fn listed(folder: &Path) -> io::Result<Listed> {
    let text = match fs::read_to_string(folder.join(MANIFEST)) {
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        other => other?,
    };
    let line = |line: &str| match line.split_at_checked(DIGITS) {
        Some((digest, name)) if digest.bytes().all(|byte| byte.is_ascii_hexdigit()) && name.starts_with("  ") => {
            (name.trim_start_matches(' ').to_owned(), Some(digest.to_owned()))
        }
        _ => (line.to_owned(), None),
    };
    // A manifest that somebody wrote must lead nowhere else.
    Ok(text.lines().map(line).filter(|(name, _)| is_plain(name)).collect())
}

/// Whether a name is that of a file in a folder or in one below it. A backslash is a separator elsewhere, and a line break would
/// forge a line of the manifest.
pub(super) fn is_plain(name: &str) -> bool {
    let inside = Path::new(name).components().all(|part| matches!(part, Component::Normal(_)));
    inside && !name.is_empty() && !name.contains(['\n', '\\']) && name != MANIFEST
}

/// What the folder holds, where all of it is ours and may be replaced; nothing where there is no folder.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] where it is a file, or holds anything that is not ours, that was changed, or that is
/// read-only; else whatever the system says.
pub(super) fn look(folder: &Path, edited: Edited) -> io::Result<Seen> {
    match fs::metadata(folder) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Seen::new()),
        Err(error) => return Err(error),
        Ok(found) if !found.is_dir() => return Err(refused(folder, "is a file, not a folder")),
        Ok(found) if found.permissions().readonly() => return Err(refused(folder, "is read-only")),
        Ok(_) => {}
    }
    let listed = listed(folder)?;
    let names = names(folder, &listed)?;
    let mut seen: Vec<(String, io::Result<Found>)> = Vec::new();
    let readers = NonZeroUsize::MIN.saturating_add(names.len() / READ_EACH).min(READERS);
    each(&names, readers, |name| (name.clone(), found(folder, name)), |_, found| seen.push(found));
    let seen: Seen = seen.into_iter().map(|(name, found)| Ok((name, found?))).collect::<io::Result<_>>()?;
    let kept = |(name, found): &(&String, &Found)| {
        let written = listed.get(*name).and_then(Option::as_ref);
        written.is_some_and(|digest| *digest != found.digest.to_string())
    };
    let changed: Vec<&String> = seen.iter().filter(kept).map(|(name, _)| name).collect();
    match changed.as_slice() {
        [first, others @ ..] if edited == Edited::Refuse => {
            let others = if others.is_empty() { String::new() } else { format!(" and {} more", others.len()) };
            let why = format!(
                "holds `{first}`{others}, changed since it was written here: move it away, or lose the changes with `--replace-edited`"
            );
            Err(refused(folder, &why))
        }
        _ => Ok(seen),
    }
}

/// The names of the files in the folder, all of them listed.
fn names(folder: &Path, listed: &Listed) -> io::Result<Vec<String>> {
    let ours: BTreeMap<PathBuf, &String> = listed.keys().map(|name| (folder.join(name), name)).collect();
    // Folders are entered only on the way to something of ours: any other folder is somebody else's.
    let on_the_way: BTreeSet<&Path> = ours.keys().flat_map(|file| file.ancestors().skip(1)).collect();
    let (mut found, mut folders) = (Vec::new(), vec![folder.to_path_buf()]);
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next)? {
            let entry = entry?;
            let (path, kind) = (entry.path(), entry.file_type()?);
            if kind.is_dir() && on_the_way.contains(path.as_path()) {
                folders.push(path);
                continue;
            }
            let shown = || path.strip_prefix(folder).unwrap_or(&path).display().to_string();
            match ours.get(&path) {
                Some(_) if !kind.is_file() => {
                    return Err(refused(folder, &format!("holds `{}`, which is no plain file any more", shown())));
                }
                Some(name) if entry.metadata()?.permissions().readonly() => {
                    return Err(refused(folder, &format!("holds `{name}`, which is read-only")));
                }
                Some(name) if was_read(&path) => {
                    return Err(refused(
                        folder,
                        &format!("holds `{name}`, from which this is made: choose another folder"),
                    ));
                }
                Some(name) => found.push((*name).clone()),
                None if path == folder.join(MANIFEST) => {}
                None => return Err(refused(folder, &format!("holds `{}`, which was not written here", shown()))),
            }
        }
    }
    found.sort_unstable();
    Ok(found)
}

fn found(folder: &Path, name: &str) -> io::Result<Found> {
    let path = folder.join(name);
    let about = fs::metadata(&path)?;
    Ok(Found { digest: Digest::of(&fs::read(&path)?), bytes: about.len(), changed: about.modified().ok() })
}

/// Looks once more, after the folder was put aside: whether nothing came to it or changed in it since it was [`look`]ed at. That
/// another build has filled it anew meanwhile is no loss.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] where something did, of which `shown` is the folder in words; else whatever the system says.
pub(super) fn still(folder: &Path, seen: &Seen, shown: &Path) -> io::Result<()> {
    let about = |name: &str| fs::metadata(folder.join(name)).map(|about| (about.len(), about.modified().ok()));
    let same = |name: &String| {
        let found = seen.get(name).map(|found| (found.bytes, found.changed));
        found.is_some() && about(name).ok() == found
    };
    let listed: Listed = seen.keys().map(|name| (name.clone(), None)).collect();
    if names(folder, &listed).is_ok_and(|names| names.iter().all(same)) {
        return Ok(());
    }
    let looked = look(folder, Edited::Refuse).map(drop);
    looked.map_err(|error| io::Error::new(error.kind(), in_place(&error, folder, shown)))
}

/// The same words, about the folder that the maker knows instead of the hidden one that stands for it.
fn in_place(error: &io::Error, folder: &Path, shown: &Path) -> String {
    error.to_string().replace(&folder.display().to_string(), &shown.display().to_string())
}

/// Takes a folder away of which all that its manifest lists is ours; what is not stays, and so does its folder. Without a manifest
/// nothing goes.
pub(super) fn remove(folder: &Path) {
    let mut folders = BTreeSet::from([folder.to_path_buf()]);
    for name in listed(folder).unwrap_or_default().into_keys().chain([MANIFEST.to_owned()]) {
        let path = folder.join(&name);
        folders.extend(path.ancestors().skip(1).take_while(|above| above.starts_with(folder)).map(Path::to_path_buf));
        // A leftover is no failure.
        let _ = fs::remove_file(path);
    }
    // The deepest first; one that is not empty stays.
    for folder in folders.iter().rev() {
        let _ = fs::remove_dir(folder);
    }
}

/// Whether a folder was finished: it has its manifest.
pub(super) fn is_finished(folder: &Path) -> bool {
    folder.join(MANIFEST).exists()
}

fn refused(folder: &Path, why: &str) -> io::Error {
    io::Error::new(ErrorKind::AlreadyExists, format!("`{}` {why}", folder.display()))
}
