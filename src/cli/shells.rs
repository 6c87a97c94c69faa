//! What shells and readers of manuals want: completions and man pages, made from the command line itself.

use std::path::{Path, PathBuf};

use clap::{Args, Command};
use clap_complete::Shell;

use super::disk::put;
use super::stage::{Edited, EditedArguments};
use super::{FINE, MessageFormat, print, report, stage};
use crate::manual;
use crate::output::OutputFile;

/// The section of manuals for commands that anyone may run.
const SECTION: &str = "1";

#[derive(Debug, Args)]
pub(super) struct CompletionsArguments {
    /// The shell
    shell: Shell,
}

#[derive(Debug, Args)]
pub(super) struct ManualArguments {
    /// The folder that all pages go into: those for `man` in one named `man1`, as it wants it, beside `reference.html`
    #[arg(long, value_name = "DIR", required_unless_present = "page")]
    out: Option<PathBuf>,
    /// The illustrated reference of the language alone, as an HTML file of this name
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    #[command(flatten)]
    edited: EditedArguments,
}

/// Prints a script that teaches a shell to complete commands.
pub(super) fn completions(arguments: &CompletionsArguments, mut command: Command) -> u8 {
    let mut script = Vec::new();
    let name = command.get_name().to_owned();
    clap_complete::generate(arguments.shell, &mut command, name, &mut script);
    print::text(print::Stream::Output, &script);
    FINE
}

/// Writes a man page for the command and for each of its verbs, and the reference of the language.
pub(super) fn manual(arguments: &ManualArguments, command: Command) -> u8 {
    let written =
        arguments.out.as_deref().map_or(Ok(()), |folder| all_pages(folder, command, arguments.edited.edited()));
    let written = written.and_then(|()| arguments.page.as_deref().map_or(Ok(()), reference));
    match written {
        Ok(()) => FINE,
        Err(error) => report::fail(&error.to_string(), MessageFormat::Text),
    }
}

fn all_pages(folder: &Path, command: Command, edited: Edited) -> std::io::Result<()> {
    let mut pages = pages(command)?;
    let count = pages.len();
    pages.push(OutputFile { name: "reference.html".to_owned(), bytes: manual::page().into_bytes() });
    stage::stage(folder, &pages, edited)?;
    println!("written    {} ({count} pages, and reference.html)", folder.display());
    Ok(())
}

fn reference(file: &Path) -> std::io::Result<()> {
    put(file, manual::page().as_bytes())?;
    println!("written    {}", file.display());
    Ok(())
}

fn pages(mut command: Command) -> std::io::Result<Vec<OutputFile>> {
    command.build();
    let verbs: Vec<Command> = command.get_subcommands().filter(|verb| verb.get_name() != "help").cloned().collect();
    let mut pages = Vec::new();
    for page in [command.disable_help_subcommand(true)].into_iter().chain(verbs) {
        let name = page.get_display_name().unwrap_or(page.get_name()).to_owned();
        let mut bytes = Vec::new();
        clap_mangen::Man::new(page.display_name(&name)).title(&name).section(SECTION).render(&mut bytes)?;
        pages.push(OutputFile { name: format!("man{SECTION}/{name}.{SECTION}"), bytes });
    }
    Ok(pages)
}
