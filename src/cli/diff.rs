//! `diff`: what changed between two designs, by meaning.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::disk::DiskProject;
use super::git::GitProject;
use super::installed::Installed;
use super::picture::Picture;
use super::{AskedArguments, FINDINGS, FINE, MessageFormat, report};
use crate::analysis::{Analysis, Request, analyse};
use crate::diagnostics::harmless_line;
use crate::diff::{Change, Difference, diff};
use crate::limits;
use crate::output::overlay;
use crate::project::{Project, ReadProblem};

/// What git passes instead of a file that is not there.
const NO_FILE: &str = "/dev/null";

#[derive(Debug, Args)]
pub(super) struct DiffArguments {
    /// The old design and the new one; one design with --since; or what git passes to an external diff driver
    #[arg(required = true, num_args = 1..=9, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Compares the design with what it was at this revision of its git repository
    #[arg(long, value_name = "REV")]
    since: Option<String>,
    /// Draws old and new over each other into this file, an .svg or a .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    asked: AskedArguments,
}

/// One of the two designs.
struct Side {
    project: Box<dyn Project>,
    name: String,
    /// As messages show it.
    shown: String,
}

/// What is to be compared.
enum Asked {
    Two(Side, Side),
    /// A file that git says is new or gone.
    Alone {
        shown: String,
        is_new: bool,
    },
}

pub(super) fn run(arguments: &DiffArguments) -> u8 {
    // git passes seven arguments to a driver, and two more for a file that was renamed.
    let driven = arguments.since.is_none() && arguments.files.len() >= 7;
    match compared(arguments, driven) {
        // git takes any other code for a driver that died.
        Ok(_) if driven => FINE,
        Ok(code) => code,
        Err(sentence) => report::fail(&sentence, arguments.asked.message_format),
    }
}

fn compared(arguments: &DiffArguments, driven: bool) -> Result<u8, String> {
    let picture = arguments.picture.as_deref().map(Picture::named).transpose()?;
    let (old, new) = match asked(arguments, driven)? {
        Asked::Two(old, new) => (old, new),
        Asked::Alone { shown, is_new } => {
            alone(&shown, is_new, arguments.asked.message_format);
            return Ok(FINDINGS);
        }
    };
    let request = Request {
        settings: arguments.asked.set.clone(),
        variant: arguments.asked.variant.clone(),
        ..Request::default()
    };
    // One for both sides, so that the machine's fonts are looked through once.
    let installed = Installed::default();
    let (before, after) = (read(&old, &request, &installed)?, read(&new, &request, &installed)?);
    let difference = diff(&before, &after);
    let written = match picture {
        Some(picture) => Some(picture.write(overlay::sheet(&before, &after, &difference.renamed))?),
        None => None,
    };
    match arguments.asked.message_format {
        MessageFormat::Json => report::json(&as_json(&old, &new, &difference)),
        MessageFormat::Text => {
            say(&old, &new, (&before, &after), &difference);
            written.iter().for_each(|path| println!("written    {}", path.display()));
        }
    }
    Ok(if difference.changes.is_empty() { FINE } else { FINDINGS })
}

fn asked(arguments: &DiffArguments, driven: bool) -> Result<Asked, String> {
    match (arguments.files.as_slice(), &arguments.since) {
        ([file], Some(revision)) => {
            let new = on_disk(file);
            let folder = file.parent().unwrap_or(Path::new(""));
            let project = Box::new(GitProject::at(folder, revision)?);
            let old = Side { project, name: new.name.clone(), shown: format!("{revision}:{}", new.shown) };
            Ok(Asked::Two(old, new))
        }
        (_, Some(_)) => Err("`--since` compares one design with itself: give one file".to_owned()),
        ([old, new], None) => Ok(Asked::Two(on_disk(old), on_disk(new))),
        ([path, old, old_blob, _, new, new_blob, ..], None) if driven => {
            from_git(path, (old.as_path(), old_blob.as_path()), (new.as_path(), new_blob.as_path()))
        }
        _ => Err("give two designs, or one and `--since REVISION`".to_owned()),
    }
}

fn on_disk(file: &Path) -> Side {
    let (project, name, _) = DiskProject::of(file);
    Side { project: Box::new(project), name, shown: file.display().to_string() }
}

/// The two versions that git passes to its driver (gitattributes(5), "Defining an external diff driver"): the path in
/// the repository, then file, content hash and mode of each.
fn from_git(path: &Path, old: (&Path, &Path), new: (&Path, &Path)) -> Result<Asked, String> {
    let shown = path.display().to_string();
    if old.0 == Path::new(NO_FILE) || new.0 == Path::new(NO_FILE) {
        return Ok(Asked::Alone { shown, is_new: old.0 == Path::new(NO_FILE) });
    }
    let side = |(file, blob): (&Path, &Path), what: &str| -> Result<Side, String> {
        let (disk, name, _) = DiskProject::of(path);
        let shown = format!("{shown} ({what})");
        // git passes the file of the working tree itself where that is the newer side: then all beside it is on disk.
        if file == path {
            return Ok(Side { project: Box::new(disk), name, shown });
        }
        let folder = path.parent().unwrap_or(Path::new(""));
        let beside = GitProject::holding(folder, &name, &blob.to_string_lossy())?;
        let text = fs::read(file).map_err(|error| format!("`{}` cannot be read: {error}", file.display()))?;
        Ok(Side { project: Box::new(Passed { name: name.clone(), text, beside }), name, shown })
    };
    Ok(Asked::Two(side(old, "old")?, side(new, "new")?))
}

/// A project that knows the typefaces of the machine.
struct WithTypefaces<'a> {
    files: &'a dyn Project,
    installed: &'a Installed,
}

impl Project for WithTypefaces<'_> {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        self.files.read(name, limit)
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        self.installed.named(family)
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        self.installed.with(characters)
    }
}

/// A file that git passed, and what lies beside it in the repository.
struct Passed {
    name: String,
    text: Vec<u8>,
    beside: GitProject,
}

impl Project for Passed {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        if name != self.name {
            return self.beside.read(name, limit);
        }
        if self.text.len() > limit {
            return Err(ReadProblem::TooLarge { bytes: self.text.len() as u64, limit });
        }
        Ok(self.text.clone())
    }
}

fn read(side: &Side, request: &Request, installed: &Installed) -> Result<Analysis, String> {
    let project = WithTypefaces { files: side.project.as_ref(), installed };
    let folder = side.shown.rsplit_once('/').map_or(String::new(), |(folder, _)| format!("{folder}/"));
    analyse(&project, &side.name, &folder, request).map_err(|error| report::unreadable(&side.shown, &error))
}

fn alone(shown: &str, is_new: bool, format: MessageFormat) {
    let how = if is_new { "added" } else { "removed" };
    match format {
        MessageFormat::Text => println!("{how} {shown}"),
        MessageFormat::Json => report::json(&json!({ "file": shown, "how": how })),
    }
}

fn say(old: &Side, new: &Side, (before, after): (&Analysis, &Analysis), difference: &Difference) {
    println!("old        {}", harmless_line(&old.shown));
    println!("new        {}", harmless_line(&new.shown));
    for (side, analysis) in [(old, before), (new, after)] {
        if analysis.dials.is_empty() {
            println!("{} is no dial that can be made; items of the text are compared", side.shown);
        }
    }
    for change in difference.changes.iter().take(limits::CHANGES_SHOWN) {
        println!("{}", change.says());
    }
    if difference.changes.len() > limits::CHANGES_SHOWN {
        println!("and {} changes more", difference.changes.len() - limits::CHANGES_SHOWN);
    }
    match (difference.changes.len(), difference.same_text) {
        (0, true) => println!("no difference: the texts are the same"),
        (0, false) => println!("no difference: the texts differ, and mean the same"),
        (1, _) => println!("1 change"),
        (count, _) => println!("{count} changes"),
    }
}

fn as_json(old: &Side, new: &Side, difference: &Difference) -> Value {
    let change = |change: &Change| {
        let details = change
            .details
            .iter()
            .map(|detail| json!({ "what": detail.what, "old": detail.old, "new": detail.new, "says": detail.says() }));
        json!({
            "topic": change.topic.word(),
            "how": change.how.word(),
            "subject": change.subject,
            "details": details.collect::<Vec<_>>(),
            "variants": change.variants,
            "says": change.says(),
        })
    };
    json!({
        "old": old.shown,
        "new": new.shown,
        "same_meaning": difference.changes.is_empty(),
        "same_text": difference.same_text,
        "changes": difference.changes.iter().map(change).collect::<Vec<_>>(),
    })
}
