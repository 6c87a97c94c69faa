//! Files as a git repository keeps them, read through the `git` command.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::project::{Project, ReadProblem};

/// So many commits are searched for the one that a version of a file belongs to.
const COMMITS: &str = "500";

/// The folder of a design at one commit of its repository. Names are relative to that folder, as on disk.
#[derive(Clone, Debug)]
pub(super) struct GitProject {
    /// The folder, in the working tree.
    folder: PathBuf,
    /// The commit, as a hash, or empty for the index.
    commit: String,
}

impl GitProject {
    /// The folder at a revision, such as `HEAD~1`, a tag or a branch.
    ///
    /// # Errors
    /// In words, where there is no git, no repository, or no such revision.
    pub(super) fn at(folder: &Path, revision: &str) -> Result<Self, String> {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let commit = format!("{revision}^{{commit}}");
        let found = git(folder, ["rev-parse", "--verify", "--quiet", "--end-of-options", &commit])?;
        if !found.status.success() {
            let inside = git(folder, ["rev-parse", "--is-inside-work-tree"])?;
            return Err(if inside.status.success() {
                format!("git knows no revision `{revision}` here")
            } else {
                format!("`{}` is not in a git repository", folder.display())
            });
        }
        Ok(Self { folder: folder.to_path_buf(), commit: text(&found) })
    }

    /// The folder at the newest commit that holds the file with this content, so that the files beside it are of the
    /// same time; the index where no commit is found.
    pub(super) fn holding(folder: &Path, name: &str, blob: &str) -> Result<Self, String> {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let project = |commit: String| Self { folder: folder.to_path_buf(), commit };
        // git tells its driver the content of a version and no revision. Mostly the old side is that of HEAD, which
        // is asked first for it costs one call.
        let here = format!("HEAD:./{name}");
        let head = git(folder, ["rev-parse", "--verify", "--quiet", "--end-of-options", &here])?;
        if !blob.is_empty() && text(&head).starts_with(blob) {
            return Ok(project("HEAD".to_owned()));
        }
        let format = ["log", "-n", COMMITS, "--format=commit %H", "--raw", "--no-abbrev", "--no-renames", "--", name];
        let log = text(&git(folder, format)?);
        let mut commit = "";
        for line in log.lines() {
            if let Some(hash) = line.strip_prefix("commit ") {
                commit = hash;
            }
            // `:mode mode old new status`: a commit that replaced the content comes right after the newest that had it.
            if line.starts_with(':') && line.split(' ').nth(2).is_some_and(|old| old.starts_with(blob)) {
                return Ok(project(format!("{commit}^")));
            }
        }
        // No commit holds it: staged, then, so that the files beside it are those of the index.
        Ok(project(String::new()))
    }

    fn object(&self, name: &str) -> String {
        format!("{}:./{name}", self.commit)
    }
}

impl Project for GitProject {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        let object = self.object(name);
        // Asked for by itself, so that a blob of gigabytes is refused before any of it is read.
        let size = git(&self.folder, ["cat-file", "-s", &object]).map_err(ReadProblem::Other)?;
        let bytes: u64 = match text(&size).parse() {
            Ok(bytes) if size.status.success() => bytes,
            _ => return Err(ReadProblem::Missing),
        };
        if bytes > limit as u64 {
            return Err(ReadProblem::TooLarge { bytes, limit });
        }
        let file = git(&self.folder, ["cat-file", "blob", &object]).map_err(ReadProblem::Other)?;
        if !file.status.success() {
            return Err(ReadProblem::Other("it is no file in that revision".to_owned()));
        }
        Ok(file.stdout)
    }
}

fn git<A: AsRef<OsStr>>(folder: &Path, arguments: impl IntoIterator<Item = A>) -> Result<Output, String> {
    let mut command = Command::new("git");
    // Without a shell in between, and in one language of messages.
    command.arg("-C").arg(folder).args(arguments).env("LC_ALL", "C");
    command.output().map_err(|error| format!("git cannot be run: {error}"))
}

fn text(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).trim_end().to_owned()
}
