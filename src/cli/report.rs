//! What every verb prints alike: findings, assumptions, and why a design could not be read.

use std::io::IsTerminal;

use super::disk::DiskProject;
use super::{COULD_NOT_RUN, DesignArguments, FINDINGS, FINE, MessageFormat, terminal};
use crate::analysis::{Analysis, Dial, Request, Session, Verdict, analyse_session};
use crate::check::LoadError;
use crate::design::Assumption;
use crate::diagnostics::{self, Diagnostic, Style};
use crate::plan::Effort;
use crate::project::ReadProblem;
use crate::source::Sources;
use crate::units;
use serde_json::{Value, json};

/// Reads and analyses the design with so much effort to save boards; prints why where it cannot be read.
pub(super) fn analysed_with(arguments: &DesignArguments, effort: Effort) -> Result<Analysis, u8> {
    let (project, session) = opened(arguments, effort)?;
    Ok(analyse_session(&session, &project))
}

/// The design, read but not looked into; prints why where it cannot be read.
pub(super) fn opened(arguments: &DesignArguments, effort: Effort) -> Result<(DiskProject, Session), u8> {
    let (project, name, shown_in) = DiskProject::of(&arguments.file);
    let project = project.with_installed_typefaces();
    let request = Request {
        settings: arguments.asked.set.clone(),
        variant: arguments.asked.variant.clone(),
        effort,
        ..Request::default()
    };
    let shown = arguments.file.display().to_string();
    match Session::open(&project, &name, &shown_in, &request) {
        Ok(session) => Ok((project, session)),
        Err(error) => Err(fail(&unreadable(&shown, &error), arguments.asked.message_format)),
    }
}

/// Why a file could not be read, in a sentence.
pub(super) fn unreadable(file: &str, error: &LoadError) -> String {
    match error {
        LoadError::Unreadable(ReadProblem::Missing) => format!("there is no file `{file}`"),
        LoadError::Unreadable(ReadProblem::TooLarge { bytes, limit }) => {
            format!("`{file}` has {bytes} bytes, and {limit} are allowed for a design")
        }
        LoadError::Unreadable(ReadProblem::Outside) => format!("`{file}` is a link that leads out of its folder"),
        LoadError::Unreadable(ReadProblem::Other(words)) => format!("`{file}` cannot be read: {words}"),
        LoadError::NotText(line) => {
            format!("`{file}` is not UTF-8 text: line {line} holds other bytes; save it as UTF-8")
        }
    }
}

/// Says why it could not be run.
pub(super) fn fail(sentence: &str, format: MessageFormat) -> u8 {
    match format {
        // A file's name in it begins no line of its own.
        MessageFormat::Text => eprintln!("dialwright: {}", diagnostics::harmless_line(sentence)),
        MessageFormat::Json => json(&json!({ "could_not_run": sentence })),
    }
    COULD_NOT_RUN
}

/// Prints what a program reads.
pub(super) fn json(value: &Value) {
    print!("{}\n", diagnostics::harmless_json(&format!("{value:#}")));
}

/// Prints the findings to standard error.
pub(super) fn findings(analysis: &Analysis) {
    some_findings(&analysis.findings, &analysis.sources);
}

/// Prints some findings to standard error.
pub(super) fn some_findings(findings: &[diagnostics::Diagnostic], sources: &Sources) {
    if !findings.is_empty() {
        eprint!("{}", diagnostics::as_text_within(findings, sources, style(), terminal::columns()));
    }
}

/// Colours only on a terminal, and never where `NO_COLOR` asks for none (no-color.org).
pub(super) fn style() -> Style {
    // Findings go to standard error, so that is the stream to ask, even where standard output goes into a file.
    if std::io::stderr().is_terminal() && !terminal::colourless() { Style::Coloured } else { Style::Plain }
}

/// Fine, or with findings.
pub(super) fn code(analysis: &Analysis) -> u8 {
    if analysis.standing() == 0 { FINE } else { FINDINGS }
}

/// Prints what it all comes to.
pub(super) fn verdict(verdict: &Verdict) {
    println!("verdict    {verdict}");
}

/// Findings and assumptions for programs.
pub(super) fn as_json(analysis: &Analysis) -> Value {
    let taken: Vec<Taken> = analysis.dials.iter().map(Taken::by).collect();
    findings_as_json(&analysis.findings, &analysis.sources, &taken, &analysis.verdict)
}

/// What was taken for all that the file leaves out of one dial.
pub(super) struct Taken {
    pub(super) title: String,
    pub(super) variant: Option<String>,
    pub(super) assumptions: Vec<Assumption>,
    /// How many of these dials read right; null where nothing is read.
    pub(super) reads_right: Value,
}

impl Taken {
    pub(super) fn by(dial: &Dial) -> Self {
        let Dial { design, .. } = dial;
        let assumptions = dial.assumptions().cloned().collect();
        let reads_right = dial.audit.dial_yield(design).map(|it| it.as_json(&dial.audit.reading_check));
        let reads_right = reads_right.unwrap_or(Value::Null);
        Self { title: design.title.clone(), variant: design.variant.clone(), assumptions, reads_right }
    }
}

/// The same, where no more is known of the dials.
pub(super) fn findings_as_json(
    findings: &[Diagnostic],
    sources: &Sources,
    dials: &[Taken],
    verdict: &Verdict,
) -> Value {
    let assumption = |it: &Assumption| json!({ "what": it.what, "taken": it.taken, "why": it.why });
    let dials = dials.iter().map(|dial| {
        let defaults: Vec<Value> = dial.assumptions.iter().map(assumption).collect();
        json!({ "title": dial.title, "variant": dial.variant, "defaults": defaults, "reads_right": dial.reads_right })
    });
    json!({
        "findings": diagnostics::as_json(findings, sources),
        "verdict": verdict.as_json(),
        "standing": findings.iter().filter(|finding| finding.stands()).count(),
        "dials": dials.collect::<Vec<Value>>(),
    })
}

/// To a millionth, so that programs see no noise.
pub(super) fn rounded(value: f64) -> f64 {
    units::rounded(value, 6)
}
