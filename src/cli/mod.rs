//! The command line: one file a verb. Only here are files read and written and terminals printed to.

#![allow(clippy::print_stdout, clippy::print_stderr, reason = "this is where printing is done")]

/// As the standard library's macros of these names, for people: what comes from files, names and labels does nothing to the
/// terminal, and what cannot be printed is told once the verb is done. JSON is printed by [`report::json`].
macro_rules! println {
    () => { println!("") };
    ($($words:tt)*) => { $crate::cli::print::line($crate::cli::print::Stream::Output, &std::format!($($words)*)) };
}

macro_rules! eprintln {
    ($($words:tt)*) => { $crate::cli::print::line($crate::cli::print::Stream::Error, &std::format!($($words)*)) };
}

/// The same without a line's end, and as they are: for findings, which may be coloured and are harmless by themselves, and for
/// texts that a program reads.
macro_rules! print {
    ($($words:tt)*) => { $crate::cli::print::text($crate::cli::print::Stream::Output, std::format!($($words)*).as_bytes()) };
}

macro_rules! eprint {
    ($($words:tt)*) => { $crate::cli::print::text($crate::cli::print::Stream::Error, std::format!($($words)*).as_bytes()) };
}

mod adopt;
mod audit_art;
mod begin;
mod boards;
mod build;
mod build_arguments;
mod check;
mod coupon;
mod diary;
mod diff;
pub mod disk;
mod explain;
mod family;
mod git;
mod hold;
pub mod installed;
mod measure;
mod mend;
mod picture;
mod portrait;
mod print;
mod rehearse;
mod report;
mod seek;
#[cfg(feature = "editor")]
mod serve_editor;
mod shells;
mod shelter;
pub mod stage;
mod terminal;
mod tidy;
mod together;
mod turn;
#[cfg(feature = "view")]
mod view;

use std::path::PathBuf;
use std::process::ExitCode;

use crate::limits::LENGTH_MM;
use crate::units::{Length, Quantity, unit_named};
use clap::{Args, CommandFactory as _, Parser, Subcommand, ValueEnum};

/// Exit code: all is well.
const FINE: u8 = 0;
/// Exit code: there are findings.
// In `build` as in `check`: advice and accepted findings do not count, and a build that only has warnings still
// writes its files.
const FINDINGS: u8 = 1;
/// Exit code: it could not be run.
const COULD_NOT_RUN: u8 = 2;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "dialwright",
    version,
    about = "Writes down, proves and prepares laser-cut rotating game dials",
    after_help = "Exit codes: 0 all is well, 1 there are findings, 2 it could not be run.\n\nExample: dialwright build examples/saltmarsh/crew.dial"
)]
pub struct CommandLine {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Shows everything that is wrong or doubtful; writes nothing
    #[command(after_help = "Example: dialwright check examples/saltmarsh/crew.dial --set across=46mm")]
    Check(check::CheckArguments),
    /// Writes everything the shop needs, for one dial or a whole family
    #[command(after_help = "Example: dialwright build examples/saltmarsh/crew.dial --out cut/crew")]
    Build(build_arguments::BuildArguments),
    /// Asks five things and writes a first dial that checks, with comments
    #[command(
        after_help = "Examples:\n  dialwright begin points.dial\n  dialwright begin weather.dial --shows Weather --readings \"Fair, Rain, Snow\" --across 70mm"
    )]
    Begin(begin::BeginArguments),
    /// Reads a drawing and writes the dial that it shows, to be gone on with by hand
    #[command(
        after_help = "Examples:\n  dialwright adopt client.svg points.dial\n  dialwright adopt client.svg points.dial --work \"#d02020 cut\" --laid-over points-over.svg"
    )]
    Adopt(adopt::AdoptArguments),
    /// Lists the variants of a family, compares them, and finds the best
    #[command(
        after_help = "Examples:\n  dialwright family examples/saltmarsh/lantern.dial --figures\n  dialwright family examples/saltmarsh/lantern.dial --where \"reads and least_margin > 1mm\" --least cost"
    )]
    Family(family::ListArguments),
    /// Joins the shards of a build into one folder
    #[command(after_help = "Example: dialwright gather lantern-1-of-2 lantern-2-of-2 --out lantern")]
    Gather(family::gather::GatherArguments),
    /// Shows what reads at each stop, with what margin, and how sure that is
    #[command(after_help = "Example: dialwright turn examples/saltmarsh/crew.dial --picture crew-stops.svg")]
    Turn(turn::TurnArguments),
    /// Draws the finished dial in its material, at one stop or turning through all
    #[command(
        after_help = "Examples:\n  dialwright portrait examples/saltmarsh/crew.dial --stop 4 --out crew.png\n  dialwright portrait examples/saltmarsh/sluice.dial --view back --out sluice-back.jpg\n  dialwright portrait examples/saltmarsh/crew.dial --out crew.gif"
    )]
    Portrait(portrait::PortraitArguments),
    /// Makes test sheets to cut and measure, and turns the readings into a block of the shop file
    #[command(
        after_help = "Examples:\n  dialwright coupon examples/saltmarsh/shop.dial --stock birch --out cut/measure\n  dialwright coupon --read cut/measure/readings.csv"
    )]
    Coupon(coupon::CouponArguments),
    /// Shows what changed in meaning between two designs
    #[command(
        after_help = "Examples:\n  dialwright diff old/crew.dial crew.dial --picture changes.svg\n  dialwright diff --since HEAD~1 examples/saltmarsh/crew.dial"
    )]
    Diff(diff::DiffArguments),
    /// Formats files in the one layout; comments and meaning stay as they are
    #[command(after_help = "Example: dialwright tidy examples --check")]
    Tidy(tidy::TidyArguments),
    /// Shows what holds every turn, how it feels, and how its magnets are glued in
    #[command(after_help = "Example: dialwright hold examples/saltmarsh/crew.dial --plot crew-pull.svg")]
    Hold(hold::HoldArguments),
    /// Reads a build back from its files alone: what they will make, and what of it is not as it was meant
    #[command(after_help = "Example: dialwright rehearse cut/crew")]
    Rehearse(rehearse::RehearseArguments),
    /// Reads scans of finished parts, and says what was made against what was meant
    #[command(
        after_help = "Examples:\n  dialwright measure cut/crew scan-1.png scan-2.png --picture made.png\n  dialwright measure cut/crew scan-1.png --known 3=59.93mm --write shop.dial"
    )]
    Measure(measure::MeasureArguments),
    /// Lays what was measured of several runs side by side: whether the kerf drifts or a batch differs
    #[command(after_help = "Example: dialwright diary may/measured.json june/measured.json july/measured.json")]
    Diary(diary::DiaryArguments),
    /// Finds the values of params for the least or most of anything that can be measured, or how far each may go
    #[command(
        after_help = "Examples:\n  dialwright seek examples/saltmarsh/crew.dial --free across --least across --by 0.1mm\n  dialwright seek examples/saltmarsh/crew.dial --free across"
    )]
    Seek(seek::SeekArguments),
    /// Shows what a picture or drawing would burn, before it goes into a design
    #[command(after_help = "Example: dialwright audit-art tests/dials/goods.svg --picture goods-audit.svg")]
    AuditArt(audit_art::AuditArtArguments),
    #[cfg(feature = "editor")]
    /// Runs the language server for editors
    #[command(after_help = "Editors start it by themselves; grammar/EDITORS.md has the lines that tell them to.")]
    ServeEditor(serve_editor::ServeEditorArguments),
    /// Prints a script that teaches a shell to complete commands
    #[command(
        after_help = "Example: dialwright completions bash > ~/.local/share/bash-completion/completions/dialwright"
    )]
    Completions(shells::CompletionsArguments),
    /// Writes the manual: a man page for each verb, and the illustrated reference of the language
    #[command(
        after_help = "Examples:\n  dialwright manual --out ~/.local/share/dialwright && man -M ~/.local/share/dialwright dialwright\n  dialwright manual --page reference.html"
    )]
    Manual(shells::ManualArguments),
    #[cfg(feature = "view")]
    /// Shows the dial in the browser, and again each time the file is saved
    #[command(after_help = "Example: dialwright view examples/saltmarsh/crew.dial")]
    View(view::ViewArguments),
    /// Explains a finding, a word of the language or a topic by its name
    #[command(
        after_help = "Examples:\n  dialwright explain unit-mismatch\n  dialwright explain sector\n  dialwright explain limits"
    )]
    Explain(explain::ExplainArguments),
}

/// What every verb that reads one design takes.
#[derive(Clone, Debug, Args)]
struct DesignArguments {
    /// The design, a .dial file
    file: PathBuf,
    #[command(flatten)]
    asked: AskedArguments,
}

/// What every verb takes that looks into designs.
#[derive(Clone, Debug, Args)]
struct AskedArguments {
    /// Sets a param, as in `--set across=46mm`; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = name_and_value)]
    set: Vec<(String, String)>,
    /// Looks only at this variant of the family
    #[arg(long, value_name = "NAME")]
    variant: Option<String>,
    /// How messages are printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

/// How messages are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum MessageFormat {
    /// For people, on standard error
    Text,
    /// For programs, one JSON object on standard output
    Json,
}

fn name_and_value(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok((name.trim().to_owned(), value.trim().to_owned()))
        }
        _ => Err("write it as NAME=VALUE, for instance across=46mm".to_owned()),
    }
}

/// A length above zero, as `12mm` or `2.5in`.
fn length(text: &str) -> Result<Length, String> {
    let digits = text.trim_end_matches(char::is_alphabetic);
    let unit = unit_named(text.get(digits.len()..).unwrap_or_default());
    let value = digits.trim().parse::<f64>().ok();
    let read = value.zip(unit).and_then(|(value, unit)| Length::from_quantity(Quantity::of(value, unit)));
    match read.map(Length::as_mm) {
        Some(most) if most > LENGTH_MM => Err(format!("nothing here is longer than {}", Length::mm(LENGTH_MM))),
        Some(some) if some > 0.0 => Ok(Length::mm(some)),
        None if value.is_some_and(|value| value > 0.0) && digits.len() == text.len() => {
            Err(format!("write its unit as well, for instance {}mm", digits.trim()))
        }
        _ => Err("write a length above zero, for instance 12mm".to_owned()),
    }
}

/// Runs the command line of this process.
pub fn run() -> ExitCode {
    shelter::quiet();
    let done = shelter::sheltered(&inputs(), || shelter::on_a_large_stack(told));
    let code = done.unwrap_or_else(|sentence| report::fail(&sentence, MessageFormat::Text));
    ExitCode::from(if print::ended() { code } else { COULD_NOT_RUN })
}

/// The files that the command line names, as a message calls them.
fn inputs() -> String {
    let named = std::env::args_os().skip(1).map(PathBuf::from).filter(|path| path.is_file());
    let named: Vec<String> = named.map(|path| format!("`{}`", path.display())).collect();
    if named.is_empty() { "what was asked for".to_owned() } else { named.join(", ") }
}

/// Reads the command line and does what it says.
fn told() -> u8 {
    let line = match CommandLine::try_parse() {
        Ok(line) => line,
        // Of use, help or version: each with its own code.
        Err(said) => {
            let printed = said.print().and_then(|()| std::io::Write::flush(&mut std::io::stdout()));
            let stream = if said.use_stderr() { print::Stream::Error } else { print::Stream::Output };
            print::looked_at(stream, printed);
            return u8::try_from(said.exit_code()).unwrap_or(COULD_NOT_RUN);
        }
    };
    match line.verb {
        Verb::Check(arguments) => while_waiting("checking", || check::run(&arguments)),
        Verb::Build(arguments) => build::run(&arguments),
        Verb::Begin(arguments) => begin::run(&arguments),
        Verb::Adopt(arguments) => while_waiting("reading the drawing", || adopt::run(&arguments)),
        Verb::Family(arguments) => family::run(&arguments),
        Verb::Gather(arguments) => family::gather::run(&arguments),
        Verb::Turn(arguments) => while_waiting("turning the dial", || turn::run(&arguments)),
        Verb::Portrait(arguments) => while_waiting("drawing the portrait", || portrait::run(&arguments)),
        Verb::Coupon(arguments) => while_waiting("working on the coupon", || coupon::run(&arguments)),
        Verb::Diff(arguments) => while_waiting("comparing", || diff::run(&arguments)),
        Verb::Tidy(arguments) => tidy::run(&arguments),
        Verb::Hold(arguments) => while_waiting("reckoning the pull", || hold::run(&arguments)),
        Verb::Rehearse(arguments) => while_waiting("rehearsing the build", || rehearse::run(&arguments)),
        Verb::Measure(arguments) => while_waiting("measuring the scan", || measure::run(&arguments)),
        Verb::Diary(arguments) => while_waiting("reading the runs", || diary::run(&arguments)),
        Verb::Seek(arguments) => seek::run(&arguments),
        Verb::AuditArt(arguments) => while_waiting("reading the artwork", || audit_art::run(&arguments)),
        #[cfg(feature = "editor")]
        Verb::ServeEditor(arguments) => serve_editor::run(&arguments),
        Verb::Completions(arguments) => shells::completions(&arguments, CommandLine::command()),
        Verb::Manual(arguments) => shells::manual(&arguments, CommandLine::command()),
        #[cfg(feature = "view")]
        Verb::View(arguments) => view::run(&arguments),
        Verb::Explain(arguments) => explain::run(&arguments),
    }
}

/// Does what takes a while, and says so where it does.
fn while_waiting(on: &'static str, work: impl FnOnce() -> u8) -> u8 {
    let _waiting = terminal::Waiting::on(on);
    work()
}
