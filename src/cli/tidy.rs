//! `tidy`: the one layout of files, checked to say the same before anything is written.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::disk::{DiskProject, replace};
use super::{FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics::{self, Diagnostic};
use crate::format::{Untidied, tidied};
use crate::limits;
use crate::source::Sources;

#[derive(Debug, Args)]
pub(super) struct TidyArguments {
    /// Files, or folders of .dial files; `-` reads standard input and prints the text
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Writes nothing; lists the files that are not tidy, and exits with 1 if there are any
    #[arg(long)]
    check: bool,
    /// How findings are printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

/// What became of a file.
enum Outcome {
    /// It was tidy.
    Tidy,
    /// It was not; this is its new text.
    New(String),
    /// It has faults of syntax.
    Faulty(Vec<Diagnostic>, Sources),
    /// Its new layout would not say the same, from this line on.
    Altered(usize),
}

pub(super) fn run(arguments: &TidyArguments) -> u8 {
    done(arguments).unwrap_or_else(|sentence| report::fail(&sentence, arguments.message_format))
}

fn done(arguments: &TidyArguments) -> Result<u8, String> {
    if let [file] = arguments.files.as_slice()
        && file.as_os_str() == "-"
    {
        return standard_input(arguments);
    }
    let mut files = Vec::new();
    for path in &arguments.files {
        if path.as_os_str() == "-" {
            return Err("standard input is tidied alone: give `-` and no other file".to_owned());
        }
        files_below(path, 0, &mut files)?;
    }
    let (mut texts, mut outcomes) = (Vec::new(), Vec::new());
    for file in &files {
        let name = file.display().to_string();
        let text = text_of(file)?;
        // All files are laid out before the first is written, so that one that cannot be read leaves the others as
        // they are.
        let outcome = outcome(&name, &text);
        texts.push(text);
        outcomes.push((name, outcome));
    }
    for ((file, old), (name, outcome)) in files.iter().zip(&texts).zip(&outcomes) {
        if let (Outcome::New(text), false) = (outcome, arguments.check) {
            replace(file, old, text).map_err(|error| format!("`{name}` cannot be written: {error}"))?;
        }
    }
    match arguments.message_format {
        MessageFormat::Json => report::json(&as_json(&outcomes)),
        MessageFormat::Text => say(&outcomes, arguments.check),
    }
    Ok(code(outcomes.iter().map(|(_, outcome)| outcome), arguments.check))
}

fn standard_input(arguments: &TidyArguments) -> Result<u8, String> {
    let mut bytes = Vec::new();
    let mut input = std::io::stdin().lock().take(limits::FILE_BYTES as u64 + 1);
    input.read_to_end(&mut bytes).map_err(|error| format!("standard input cannot be read: {error}"))?;
    let text = checked_text("standard input", bytes)?;
    let outcome = outcome("(standard input)", &text);
    let shown = match &outcome {
        Outcome::New(new) => new,
        _ => &text,
    };
    if arguments.message_format == MessageFormat::Json {
        let mut said = as_json(&[("(standard input)".to_owned(), &outcome)]);
        if let Some(fields) = said.as_object_mut().filter(|_| !arguments.check) {
            fields.insert("text".to_owned(), Value::from(shown.as_str()));
        }
        report::json(&said);
        return Ok(code([&outcome].into_iter(), arguments.check));
    }
    if !arguments.check {
        print!("{shown}");
    }
    trouble("standard input", &outcome);
    if arguments.check && matches!(outcome, Outcome::New(_)) {
        println!("not tidy   standard input");
    }
    Ok(code([&outcome].into_iter(), arguments.check))
}

fn outcome(name: &str, text: &str) -> Outcome {
    match tidied(name, text) {
        Ok(new) if new == text => Outcome::Tidy,
        Ok(new) => Outcome::New(new),
        Err(Untidied::Faulty(problems, sources)) => Outcome::Faulty(problems.into_sorted(), sources),
        Err(Untidied::Altered { line }) => Outcome::Altered(line),
    }
}

/// A file, or all files of the language in a folder, in order of name; hidden folders and links to folders apart.
pub(super) fn files_below(path: &Path, depth: usize, files: &mut Vec<PathBuf>) -> Result<(), String> {
    let unreadable = |error: std::io::Error| format!("`{}` cannot be read: {error}", path.display());
    // A file that was named is taken whatever its ending; only what is found in folders must end in .dial.
    if !path.is_dir() {
        files.push(path.to_path_buf());
        return Ok(());
    }
    if depth > limits::FOLDER_DEPTH {
        return Err(format!("`{}` lies more than {} folders deep", path.display(), limits::FOLDER_DEPTH));
    }
    let mut entries = Vec::new();
    for entry in fs::read_dir(path).map_err(unreadable)? {
        let entry = entry.map_err(unreadable)?;
        // The type of the entry itself, which follows no link: a link to a folder above would never end.
        let (path, kind) = (entry.path(), entry.file_type().map_err(unreadable)?);
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        let dial = path.extension().is_some_and(|ending| ending == "dial") && !kind.is_dir();
        if !hidden && (kind.is_dir() || dial) {
            entries.push(path);
        }
    }
    entries.sort();
    entries.iter().try_for_each(|entry| files_below(entry, depth + 1, files))
}

fn text_of(file: &Path) -> Result<String, String> {
    let (project, name, _) = DiskProject::of(file);
    let shown = file.display().to_string();
    let bytes = crate::project::Project::read(&project, &name, limits::FILE_BYTES)
        .map_err(|problem| report::unreadable(&shown, &crate::check::LoadError::Unreadable(problem)))?;
    checked_text(&shown, bytes)
}

fn checked_text(shown: &str, bytes: Vec<u8>) -> Result<String, String> {
    if bytes.len() > limits::FILE_BYTES {
        return Err(format!("{shown} has more than {} bytes, which is all that is allowed", limits::FILE_BYTES));
    }
    String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let line = error.as_bytes().iter().take(valid).filter(|byte| **byte == b'\n').count() + 1;
        report::unreadable(shown, &crate::check::LoadError::NotText(line))
    })
}

/// What kept a file from being tidied, on standard error.
fn trouble(name: &str, outcome: &Outcome) {
    match outcome {
        Outcome::Faulty(findings, sources) => {
            eprint!("{}", diagnostics::as_text(findings, sources, report::style()));
            eprintln!("{name} is left as it is: mend its syntax first");
        }
        Outcome::Altered(line) => eprintln!("{}", altered(name, *line)),
        Outcome::Tidy | Outcome::New(_) => {}
    }
}

fn altered(name: &str, line: usize) -> String {
    format!("{name} is left as it is: its new layout would not say the same as line {line}; please report this")
}

fn say(outcomes: &[(String, Outcome)], check: bool) {
    let mut changed = 0;
    for (name, outcome) in outcomes {
        let name = &diagnostics::harmless_line(name);
        trouble(name, outcome);
        if matches!(outcome, Outcome::New(_)) {
            changed += 1;
            println!("{} {name}", if check { "not tidy  " } else { "tidied    " });
        }
    }
    let left = outcomes.iter().filter(|(_, one)| matches!(one, Outcome::Faulty(..) | Outcome::Altered(_))).count();
    let tidy = outcomes.len() - changed - left;
    let left = if left > 0 { format!(", {left} left as they are") } else { String::new() };
    let changed = if check { format!("{changed} are not") } else { format!("{changed} tidied now") };
    println!("files      {}: {tidy} tidy, {changed}{left}", outcomes.len());
}

fn as_json(outcomes: &[(String, impl std::borrow::Borrow<Outcome>)]) -> Value {
    let file = |(name, outcome): &(String, _)| {
        let (state, findings) = match std::borrow::Borrow::<Outcome>::borrow(outcome) {
            Outcome::Tidy => ("tidy", json!([])),
            Outcome::New(_) => ("not-tidy", json!([])),
            Outcome::Faulty(findings, sources) => ("faulty", diagnostics::as_json(findings, sources)),
            Outcome::Altered(line) => ("left", json!([altered(name, *line)])),
        };
        json!({ "file": name, "was": state, "findings": findings })
    };
    json!({ "files": outcomes.iter().map(file).collect::<Vec<_>>() })
}

fn code<'a>(mut outcomes: impl Iterator<Item = &'a Outcome>, check: bool) -> u8 {
    let asks = |outcome: &Outcome| match outcome {
        Outcome::Tidy => false,
        Outcome::New(_) => check,
        Outcome::Faulty(..) | Outcome::Altered(_) => true,
    };
    if outcomes.any(asks) { FINDINGS } else { FINE }
}
