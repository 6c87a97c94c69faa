//! `seek`: values of params found instead of tried.

mod json;
mod progress;
mod tell;

use std::num::NonZeroUsize;

use clap::Args;

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
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    if arguments.trade.is_some() && arguments.least.is_none() && arguments.most.is_none() {
        return Err(fail("a trade is of what is wanted the least or most of: add --least or --most".to_owned()));
    }
    if arguments.write && arguments.least.is_none() && arguments.most.is_none() {
        return Err(fail("there are only values to write where --least or --most says what is sought".to_owned()));
    }
    let (project, mut read) = report::opened(&arguments.design, Effort(0))?;
    let asked = Asked::read(arguments, &mut read);
    let project = Remembered::new(&project);
    let session = read.check(&project);
    let variant = variant(&session).map_err(fail)?;
    let question = match asked.question() {
        Ok(question) => question,
        Err(fault) => return Ok(refused(vec![*fault], &session, format)),
    };
    let jobs = arguments.jobs.and_then(|jobs| NonZeroUsize::new(usize::from(jobs)));
    let threads = Threads::AtOnce(jobs.unwrap_or_else(family::processors));
    let progress = Progress::new(format);
    let (answer, problems) = seek(&session, variant, &question, threads, &|count| progress.told(count));
    progress.done();
    let Some(answer) = answer else {
        // Warnings of the dial are no answer to what was asked.
        let errors = problems.into_sorted().into_iter().filter(|found| found.severity == Severity::Error);
        return Ok(refused(errors.collect(), &session, format));
    };
    let written = if arguments.write { written(arguments, &session, variant, &answer).map_err(fail)? } else { None };
    match format {
        MessageFormat::Json => {
            report::json(&json::answer(&answer, question.best, session.sources(), written.as_deref()))
        }
        MessageFormat::Text => {
            tell::answer(&answer, &question, &session);
            report::some_findings(&answer.standing, session.sources());
            written.iter().for_each(|what| println!("{:<10} {what}", "written"));
        }
    }
    Ok(code(&answer))
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
fn refused(found: Vec<Diagnostic>, session: &CheckedSession<'_>, format: MessageFormat) -> u8 {
    let mut problems = Problems::default();
    problems.extend(found);
    let found = problems.into_sorted();
    match format {
        MessageFormat::Json => report::json(&json::refused(&found, session.sources())),
        MessageFormat::Text => report::some_findings(&found, session.sources()),
    }
    FINDINGS
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
