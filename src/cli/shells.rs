//! What shells and readers of manuals want: completions and man pages, made from the command line itself.

use std::io::Write as _;
use std::path::PathBuf;

use clap::{Args, Command};
use clap_complete::Shell;

use super::{FINE, MessageFormat, report, stage};
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
    /// The folder that the pages go into, in one named `man1` as `man` wants it
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

/// Prints a script that teaches a shell to complete commands.
pub(super) fn completions(arguments: &CompletionsArguments, mut command: Command) -> u8 {
    let mut script = Vec::new();
    let name = command.get_name().to_owned();
    clap_complete::generate(arguments.shell, &mut command, name, &mut script);
    // A pipe that was closed early has had all it wanted.
    let _ = std::io::stdout().write_all(&script);
    FINE
}

/// Writes a man page for the command and for each of its verbs.
pub(super) fn manual(arguments: &ManualArguments, command: Command) -> u8 {
    let written = pages(command).and_then(|pages| {
        stage::stage(&arguments.out, &pages)?;
        Ok(pages.len())
    });
    match written {
        Ok(pages) => {
            println!("written    {} ({pages} pages)", arguments.out.display());
            FINE
        }
        Err(error) => report::fail(&error.to_string(), MessageFormat::Text),
    }
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
