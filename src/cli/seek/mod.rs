//! `seek`: values of params found instead of tried.

mod json;
mod progress;
mod tell;

use std::num::NonZeroUsize;

use clap::Args;
use serde_json::{Value, json};

use super::{DesignArguments, FINDINGS, FINE, MessageFormat, family, mend, report};
use crate::analysis::{CheckedSession, Session, Threads};
use crate::check::Variant;
use crate::diagnostics::{Diagnostic, Problems, Severity, listed};
use crate::family::question::End;
use crate::limits;
use crate::plan::Effort;
use crate::project::Remembered;
use crate::seek::{Answer, Outcome, Question, seek, trade};
use crate::syntax::tree::Expr;
use progress::Progress;

#[derive(Debug, Args)]
pub(super) struct SeekArguments {
    #[command(flatten)]
    design: DesignArguments,
    /// One `seek` of the file by its name; without flags that ask something, all that the file has
    #[arg(conflicts_with_all = ["free", "least", "most", "conditions", "by", "trade"])]
    name: Option<String>,
    /// Params that may change, as in `--free across,out`; each needs bounds in the file
    #[arg(long, value_name = "NAMES")]
    free: Vec<String>,
    /// Finds the least of this, as in `--least across` or `--least cost`
    #[arg(long, value_name = "EXPRESSION", conflicts_with = "most", allow_hyphen_values = true)]
    least: Option<String>,
    /// Finds the most of this, as in `--most "lift_off(cover)"`; without either, tells how far each param may go
    #[arg(long, value_name = "EXPRESSION", allow_hyphen_values = true)]
    most: Option<String>,
    /// What must hold beside all that the file expects, as in `--where "margin(crew) >= 1mm"`; may be given several times
    #[arg(long = "where", value_name = "CONDITION")]
    conditions: Vec<String>,
    /// Rounds what is found to steps, as in `--by 0.1mm` or `--by 1/16in`, and proves it anew; may be given for several units
    #[arg(long, value_name = "STEP")]
    by: Vec<String>,
    /// Shows what it costs to ask for more, as in `--trade "margin(crew) >= 0.5mm to 2mm by 0.5mm"`
    #[arg(long, value_name = "COMPARISON")]
    trade: Option<String>,
    /// Writes the values that were found into the file, nothing else changed
    #[arg(long)]
    write: bool,
    /// How many designs to work on at once; by default one for each processor
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=limits::JOBS))]
    jobs: Option<u16>,
}

impl SeekArguments {
    /// Whether the command line asks something, and not the file.
    fn asks(&self) -> bool {
        let several = [&self.free, &self.conditions, &self.by];
        several.into_iter().any(|all| !all.is_empty())
            || self.least.is_some()
            || self.most.is_some()
            || self.trade.is_some()
    }
}

/// The expressions of the command line, read.
struct Asked {
    best: Option<(End, Expr)>,
    free: Vec<Expr>,
    conditions: Vec<Expr>,
    steps: Vec<Expr>,
    trade: Option<Expr>,
}

impl Asked {
    fn read(arguments: &SeekArguments, read: &mut Session) -> Self {
        let least = arguments.least.as_ref().and_then(|text| Some((End::Least, read.ask("--least", text)?)));
        let most = arguments.most.as_ref().and_then(|text| Some((End::Most, read.ask("--most", text)?)));
        let names = arguments.free.iter().flat_map(|names| names.split(',')).map(str::trim);
        let mut all = |flag: &str, texts: Vec<&str>| -> Vec<Expr> {
            texts.into_iter().filter(|text| !text.is_empty()).filter_map(|text| read.ask(flag, text)).collect()
        };
        Self {
            best: least.or(most),
            free: all("--free", names.collect()),
            conditions: all("--where", arguments.conditions.iter().map(String::as_str).collect()),
            steps: all("--by", arguments.by.iter().map(String::as_str).collect()),
            trade: all("--trade", arguments.trade.iter().map(String::as_str).collect()).pop(),
        }
    }

    /// The question, or what is wrong with its trade.
    fn question(&self) -> Result<Question<'_>, Box<Diagnostic>> {
        let best = self.best.as_ref().map(|(end, best)| (*end, best));
        let steps = self.steps.iter().collect();
        let trade = self.trade.as_ref().map(trade).transpose()?;
        Ok(Question { steps, trade, ..Question::new(best, &self.free, &self.conditions) })
    }
}

pub(super) fn run(arguments: &SeekArguments) -> u8 {
    told(arguments).unwrap_or_else(|code| code)
}

fn told(arguments: &SeekArguments) -> Result<u8, u8> {
    let fail = |sentence: String| report::fail(&sentence, arguments.design.asked.message_format);
    if arguments.trade.is_some() && arguments.least.is_none() && arguments.most.is_none() {
        return Err(fail("a trade is of what is wanted the least or most of: add --least or --most".to_owned()));
    }
    let (project, mut read) = report::opened(&arguments.design, Effort(0))?;
    if !arguments.asks() {
        let project = Remembered::new(&project);
        let session = read.check(&project);
        let names: Vec<String> = session.seeks().iter().map(|seek| seek.name.text.clone()).collect();
        if !names.is_empty() || arguments.name.is_some() {
            return stated(arguments, &names);
        }
    }
    if arguments.write && arguments.least.is_none() && arguments.most.is_none() {
        return Err(fail("there are only values to write where --least or --most says what is sought".to_owned()));
    }
    let asked = Asked::read(arguments, &mut read);
    let project = Remembered::new(&project);
    let session = read.check(&project);
    let said = match asked.question() {
        Ok(question) => answered(arguments, &session, &question)?,
        Err(fault) => refused(vec![*fault], &session, arguments.design.asked.message_format),
    };
    said.json.iter().for_each(report::json);
    Ok(said.code)
}

/// What the file itself seeks, one after the other: each is read anew, since what was written before it changes what is found.
fn stated(arguments: &SeekArguments, names: &[String]) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    if let Some(name) = arguments.name.as_ref().filter(|name| !names.contains(name)) {
        let known = if names.is_empty() {
            "; it has none".to_owned()
        } else {
            format!("; what it seeks is {}", listed(names.iter().map(String::as_str), "and"))
        };
        return Err(report::fail(&format!("the file seeks nothing called `{name}`{known}"), format));
    }
    let mut all = Vec::new();
    let mut code = FINE;
    for name in names.iter().filter(|name| arguments.name.as_ref().is_none_or(|only| only == *name)) {
        let (project, read) = report::opened(&arguments.design, Effort(0))?;
        let project = Remembered::new(&project);
        let session = read.check(&project);
        let Some(seek) = session.seeks().iter().find(|seek| seek.name.text == *name) else { continue };
        if format == MessageFormat::Text {
            println!("{}{:<10} {name}", if all.is_empty() { "" } else { "\n" }, "seek");
        }
        let said = answered(arguments, &session, &Question::stated(seek))?;
        code = code.max(said.code);
        all.push(json!({ "name": name, "answer": said.json }));
    }
    if format == MessageFormat::Json {
        report::json(&json::stated(all));
    }
    Ok(code)
}

/// What was said to a question: as text at once, else as JSON.
struct Said {
    code: u8,
    json: Option<Value>,
}

fn answered(arguments: &SeekArguments, session: &CheckedSession<'_>, question: &Question<'_>) -> Result<Said, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let variant = variant(session).map_err(fail)?;
    let jobs = arguments.jobs.and_then(|jobs| NonZeroUsize::new(usize::from(jobs)));
    let threads = Threads::AtOnce(jobs.unwrap_or_else(family::processors));
    let progress = Progress::new(format);
    let (answer, problems) = seek(session, variant, question, threads, &|count| progress.told(count));
    progress.done();
    let Some(answer) = answer else {
        // Warnings of the dial are no answer to what was asked.
        let errors = problems.into_sorted().into_iter().filter(|found| found.severity == Severity::Error);
        return Ok(refused(errors.collect(), session, format));
    };
    let written = if arguments.write { written(arguments, session, variant, &answer).map_err(fail)? } else { None };
    let json = match format {
        MessageFormat::Json => Some(json::answer(&answer, question.best, session.sources(), written.as_deref())),
        MessageFormat::Text => {
            tell::answer(&answer, question, session);
            report::some_findings(&answer.standing, session.sources());
            written.iter().for_each(|what| println!("{:<10} {what}", "written"));
            None
        }
    };
    Ok(Said { code: code(&answer), json })
}

fn code(answer: &Answer) -> u8 {
    let fine = match &answer.outcome {
        Outcome::Best(best) => best.is_rounded && answer.standing.is_empty(),
        Outcome::Reaches(_) => answer.broken_now.is_empty(),
        Outcome::Impossible(_) => false,
    };
    if fine { FINE } else { FINDINGS }
}

/// The one variant that is looked at, or why there is none.
fn variant<'s>(session: &'s CheckedSession<'_>) -> Result<Option<&'s Variant>, String> {
    match session.variants.as_slice() {
        // What is wrong with the family is among the findings.
        [] => Ok(None),
        [only] => Ok(only.as_ref()),
        several => {
            let names = several.iter().flatten().map(|variant| variant.name.as_str());
            let names: Vec<&str> = names.take(limits::VARIANTS_SHOWN).collect();
            Err(format!(
                "values are sought for one variant at a time: add --variant with {}",
                listed(names.into_iter(), "or")
            ))
        }
    }
}

/// Findings that keep anything from being sought.
fn refused(found: Vec<Diagnostic>, session: &CheckedSession<'_>, format: MessageFormat) -> Said {
    let mut problems = Problems::default();
    problems.extend(found);
    let found = problems.into_sorted();
    let json = match format {
        MessageFormat::Json => Some(json::refused(&found, session.sources())),
        MessageFormat::Text => {
            report::some_findings(&found, session.sources());
            None
        }
    };
    Said { code: FINDINGS, json }
}

/// Writes the values that were found, and says what was written; none where nothing was found that is proven.
fn written(
    arguments: &SeekArguments,
    session: &CheckedSession<'_>,
    variant: Option<&Variant>,
    answer: &Answer,
) -> Result<Option<String>, String> {
    let Outcome::Best(best) = &answer.outcome else { return Ok(None) };
    if !answer.standing.is_empty() {
        return Ok(None);
    }
    let mut edits = Vec::new();
    let mut told = Vec::new();
    for (free, place) in answer.free.iter().zip(&best.place) {
        let (name, text) = (&free.param.name, free.text(*place));
        if *place == free.start {
            continue;
        }
        if variant.is_some_and(|variant| variant.settings.contains_key(name)) {
            return Err(format!("`{name}` is set by the variant, so that writing its own value would change nothing"));
        }
        let edit = free.edit(session.sources(), *place);
        edits.push(edit.ok_or_else(|| format!("`{name}` cannot be written as `{text}` where the file states it"))?);
        told.push(format!("{name} {text}"));
    }
    mend::make(edits, session.sources(), &arguments.design.file)?;
    let told = if told.is_empty() { "nothing, it stands there already".to_owned() } else { told.join(", ") };
    Ok(Some(told))
}
