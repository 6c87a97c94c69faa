//! Files of a design on disk.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Read, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use super::installed::Installed;
use super::stage::FRESH;
use super::stage::attributes::{carry_over, replaceable};
use super::stage::named;
use crate::project::{Project, ReadProblem};

/// The files that were read so far, links followed.
static READ: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Keeps in mind that this file is read, so that no report or picture is written over it.
pub(super) fn note_read(path: &Path) {
    READ.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_path_buf());
}

/// Whether this file was read, under whichever of its names.
pub(super) fn was_read(path: &Path) -> bool {
    let read = READ.lock().unwrap_or_else(PoisonError::into_inner);
    read.iter().any(|read| is_one_file(read, path))
}

/// Whether both names are of one file or folder. Neither is opened, for a pipe would wait for somebody at its other end.
#[cfg(unix)]
pub(super) fn is_one_file(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let place = |path: &Path| fs::metadata(path).ok().map(|about| (about.dev(), about.ino()));
    place(one).is_some_and(|one| place(other) == Some(one))
}

#[cfg(not(unix))]
pub(super) fn is_one_file(one: &Path, other: &Path) -> bool {
    fs::canonicalize(one).is_ok_and(|one| fs::canonicalize(other).is_ok_and(|other| one == other))
}

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
        let beneath = path.strip_prefix(&folder).map_err(|_| ReadProblem::Outside)?;
        note_read(&path);
        let kind = |metadata: &fs::Metadata| match () {
            () if metadata.is_dir() => Err(ReadProblem::Other("it is a folder".to_owned())),
            // Opening a pipe that nobody writes to would wait for ever.
            () if !metadata.is_file() => Err(ReadProblem::Other("it is no plain file".to_owned())),
            () => Ok(()),
        };
        kind(&fs::metadata(&path).map_err(|error| problem(&error))?)?;
        // Opened before the size is judged, so that a file that may not be read is told as that and not as too large. What was
        // opened is judged, since another file may have taken the name meanwhile.
        let file = opened(&folder, beneath).map_err(|error| problem(&error))?;
        let metadata = file.metadata().map_err(|error| problem(&error))?;
        kind(&metadata)?;
        if metadata.len() > limit as u64 {
            return Err(ReadProblem::TooLarge { bytes: metadata.len(), limit });
        }
        // It may grow while it is read.
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

/// All of a file that somebody named, opened beneath its own folder; `what` says what such a file is.
///
/// # Errors
/// Why it cannot be read, in words.
pub(super) fn whole(path: &Path, limit: usize, what: &str) -> Result<Vec<u8>, String> {
    let (project, name, _) = DiskProject::of(path);
    let shown = path.display();
    project.read(&name, limit).map_err(|problem| match problem {
        ReadProblem::Missing => format!("there is no file `{shown}`"),
        ReadProblem::TooLarge { bytes, limit } => {
            format!("`{shown}` has {bytes} bytes, and {limit} are allowed for {what}")
        }
        ReadProblem::Outside => format!("`{shown}` is a link that leads out of its folder"),
        ReadProblem::Other(words) => format!("`{shown}` cannot be read: {words}"),
    })
}

/// Opens a file beneath a folder, part by part and through no link: all links were followed when its place was looked up, and one
/// that stands there now was put there since, to lead elsewhere.
#[cfg(unix)]
fn opened(folder: &Path, beneath: &Path) -> io::Result<fs::File> {
    use rustix::fs::{Mode, OFlags, open, openat};
    let on_the_way = OFlags::DIRECTORY | OFlags::CLOEXEC;
    let mut at = open(folder, on_the_way, Mode::empty())?;
    let mut parts = beneath.components().peekable();
    while let Some(part) = parts.next() {
        // Nobody is waited for at a pipe that has taken the name.
        let last = OFlags::RDONLY | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let flags = if parts.peek().is_some() { on_the_way } else { last };
        at = openat(&at, part.as_os_str(), flags | OFlags::NOFOLLOW, Mode::empty())?;
    }
    Ok(at.into())
}

#[cfg(not(unix))]
fn opened(folder: &Path, beneath: &Path) -> io::Result<fs::File> {
    fs::File::open(folder.join(beneath))
}

fn problem(error: &io::Error) -> ReadProblem {
    match error.kind() {
        io::ErrorKind::NotFound => ReadProblem::Missing,
        io::ErrorKind::PermissionDenied => ReadProblem::Other("you may not read it".to_owned()),
        _ => ReadProblem::Other(error.to_string()),
    }
}

/// Puts a new text in the place of the one that was read, whole or not at all; what the file has besides its bytes stays, and a
/// link to it stays one. Whether it still holds the old text is looked at last of all, so that what an editor saves meanwhile is
/// lost only within the moment that renaming takes.
///
/// # Errors
/// Where the file holds another text by now, is read-only or has several names; else whatever the system says. The file is then
/// as it was.
pub(super) fn replace(path: &Path, old: &str, new: &str) -> io::Result<()> {
    // Renaming onto a link would replace the link and leave the text that it leads to as it was.
    let path = &fs::canonicalize(path)?;
    replaceable(&fs::metadata(path)?)?;
    let fresh = beside(path, new.as_bytes(), Some(path))?;
    // No system compares and renames in one step. Asked right before the renaming, what an editor saves is lost only
    // within the microseconds between the two.
    if fs::read(path)? != old.as_bytes() {
        return Err(io::Error::other("it was changed meanwhile; try again"));
    }
    put_in_place(fresh, path)
}

/// Writes a file of its own, whole or not at all; a link to a file stays one, and into a pipe or device it is written straight.
///
/// # Errors
/// Where the file was read before, is read-only or has several names, or nobody reads from the pipe; else whatever the system says. What was there
/// is then as before.
pub(super) fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if was_read(path) {
        return Err(io::Error::other("it is read for this, and would be lost: choose another name"));
    }
    let former = fs::metadata(path).ok();
    // A pipe or a device cannot be replaced by renaming a file onto it.
    if former.as_ref().is_some_and(|former| !former.is_file()) {
        return straight(path, bytes);
    }
    let place = if former.is_some() { fs::canonicalize(path)? } else { path.to_path_buf() };
    former.as_ref().map_or(Ok(()), replaceable)?;
    let fresh = beside(&place, bytes, former.as_ref().map(|_| place.as_path()))?;
    put_in_place(fresh, &place)
}

/// Writes a new file, whole or not at all.
///
/// # Errors
/// Where something of that name is there, which stays as it is; else whatever the system says.
pub(super) fn put_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let fresh = beside(path, bytes, None)?;
    fresh.persist_noclobber(path).map_err(|error| match error.error.kind() {
        io::ErrorKind::AlreadyExists => io::Error::other("something of that name is there already, and stays as it is"),
        _ => error.error,
    })?;
    named(folder_of(path))
}

/// Writes into something that is no file. Nobody is waited for who may never come to read it.
#[cfg(unix)]
fn straight(path: &Path, bytes: &[u8]) -> io::Result<()> {
    use rustix::fs::OFlags;
    use std::os::unix::fs::OpenOptionsExt as _;
    let waiting_for_none = i32::try_from(OFlags::NONBLOCK.bits()).unwrap_or_default();
    let opened = fs::OpenOptions::new().write(true).custom_flags(waiting_for_none).open(path);
    let mut opened = opened.map_err(|error| match rustix::io::Errno::from_io_error(&error) {
        Some(rustix::io::Errno::NXIO) => io::Error::other("nobody reads from this pipe"),
        _ => error,
    })?;
    // Whoever reads may be slower than we write.
    let flags = rustix::fs::fcntl_getfl(&opened)?;
    rustix::fs::fcntl_setfl(&opened, flags - OFlags::NONBLOCK)?;
    opened.write_all(bytes)
}

#[cfg(not(unix))]
fn straight(path: &Path, bytes: &[u8]) -> io::Result<()> {
    fs::write(path, bytes)
}

/// A file beside another, filled and on the disc, that is gone unless it is put in the other's place. It has what the former one
/// has besides its bytes, or what any new file has.
fn beside(path: &Path, bytes: &[u8], former: Option<&Path>) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(FRESH);
    #[cfg(unix)]
    // As for any file that a program makes, less the user's own umask; a temporary file would be its owner's alone.
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut fresh = builder.tempfile_in(folder_of(path))?;
    fresh.write_all(bytes)?;
    former.map_or(Ok(()), |former| carry_over(former, fresh.path()))?;
    // On the disc before it is renamed, or a power cut may leave an empty file under the good name.
    fresh.as_file().sync_all()?;
    Ok(fresh)
}

/// Gives the file its name, and has the name on the disc.
fn put_in_place(fresh: tempfile::NamedTempFile, path: &Path) -> io::Result<()> {
    fresh.persist(path).map_err(|error| error.error)?;
    named(folder_of(path))
}

pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
