//! Findings as an editor shows them: each in the file it is about, the further places beside it.

use std::collections::BTreeMap;

use lsp_types::{DiagnosticRelatedInformation, DiagnosticSeverity, Location, NumberOrString, Range, Uri};

use super::insight::Insight;
use super::view::{Sheet, View};
use crate::diagnostics::{Diagnostic, Severity};
use crate::source::{SourceId, Span};

/// How we are called beside a finding.
const SOURCE: &str = "dialwright";

/// What is to be shown in one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Notice {
    /// The file.
    pub uri: Uri,
    /// Its findings, in order of place.
    pub diagnostics: Vec<lsp_types::Diagnostic>,
}

/// The findings of a design, by file: those of the text as it stands, and those of the finished dial that still hold.
/// Every file of the design has an entry, so that what was shown before goes away.
pub fn notices(view: &View, insight: Option<&Insight>) -> Vec<Notice> {
    let mut all: BTreeMap<SourceId, Vec<lsp_types::Diagnostic>> =
        view.sheets().keys().map(|file| (*file, Vec::new())).collect();
    let mut place = |finding: &Diagnostic, sheets: &BTreeMap<SourceId, Sheet>| {
        let Some((file, shown)) = shown(finding, sheets, view) else { return };
        let known = all.entry(file).or_default();
        if !known.contains(&shown) {
            known.push(shown);
        }
    };
    view.findings().iter().for_each(|finding| place(finding, view.sheets()));
    if let Some(insight) = insight {
        insight.findings.iter().for_each(|finding| place(finding, &insight.sheets));
    }
    // Whoever has only the dial open would not see why it fails.
    passed_on(view, &mut all);
    let notice = |(file, mut diagnostics): (SourceId, Vec<lsp_types::Diagnostic>)| {
        diagnostics.sort_by_key(|shown| (shown.range.start, shown.range.end));
        Some(Notice { uri: view.sheet(file)?.uri.clone()?, diagnostics })
    };
    all.into_iter().filter_map(notice).collect()
}

/// An error in a shared file is told where the file is shared as well.
fn passed_on(view: &View, all: &mut BTreeMap<SourceId, Vec<lsp_types::Diagnostic>>) {
    for loaded in &view.loaded().files {
        let Some(asked_at) = loaded.asked_at else { continue };
        let found = all.get(&loaded.file.source).cloned().unwrap_or_default();
        let errors: Vec<&lsp_types::Diagnostic> =
            found.iter().filter(|shown| shown.severity == Some(DiagnosticSeverity::ERROR)).collect();
        let (Some(first), Some(sheet)) = (errors.first(), view.sheet(loaded.file.source)) else { continue };
        let more = match errors.len() {
            1 => String::new(),
            count => format!(" (and {} more)", count - 1),
        };
        let place = sheet.uri.clone().map(|uri| DiagnosticRelatedInformation {
            location: Location::new(uri, first.range),
            message: "here".to_owned(),
        });
        let shown = lsp_types::Diagnostic {
            range: view.range(asked_at),
            severity: Some(DiagnosticSeverity::ERROR),
            source: Some(SOURCE.to_owned()),
            code: first.code.clone(),
            message: format!("in `{}`: {}{more}", sheet.name, first.message),
            related_information: place.map(|place| vec![place]),
            ..lsp_types::Diagnostic::default()
        };
        all.entry(asked_at.source).or_default().push(shown);
    }
}

/// A finding and the file it is shown in: that of its main place, else the design.
fn shown(
    finding: &Diagnostic,
    sheets: &BTreeMap<SourceId, Sheet>,
    view: &View,
) -> Option<(SourceId, lsp_types::Diagnostic)> {
    let reachable = |span: &Span| sheets.get(&span.source).is_some_and(|sheet| sheet.uri.is_some());
    // Not simply the first place: a finding about the built-in shop is shown at whatever of the maker's it concerns.
    let main = finding.labels.iter().position(|label| reachable(&label.span));
    let (name, range) = match main.and_then(|at| finding.labels.get(at)) {
        Some(label) => {
            let sheet = sheets.get(&label.span.source)?;
            (sheet.name.as_str(), sheet.lines.range(label.span.range()))
        }
        None => (sheets.values().next()?.name.as_str(), Range::default()),
    };
    let file = view.file_named(name)?;
    let further = finding.labels.iter().enumerate().filter(|(at, label)| Some(*at) != main && reachable(&label.span));
    let related: Vec<DiagnosticRelatedInformation> = further
        .filter_map(|(_, label)| {
            let sheet = sheets.get(&label.span.source)?;
            let location = Location::new(sheet.uri.clone()?, sheet.lines.range(label.span.range()));
            let message = if label.text.is_empty() { "also here".to_owned() } else { label.text.clone() };
            Some(DiagnosticRelatedInformation { location, message })
        })
        .collect();
    let severity = match (&finding.accepted, finding.severity) {
        (Some(_), _) => DiagnosticSeverity::HINT,
        (None, Severity::Error) => DiagnosticSeverity::ERROR,
        (None, Severity::Warning) => DiagnosticSeverity::WARNING,
        (None, Severity::Advice) => DiagnosticSeverity::INFORMATION,
    };
    let shown = lsp_types::Diagnostic {
        range,
        severity: Some(severity),
        code: Some(NumberOrString::String(finding.finding.name().to_owned())),
        source: Some(SOURCE.to_owned()),
        message: sentence(finding, main),
        related_information: (!related.is_empty()).then_some(related),
        ..lsp_types::Diagnostic::default()
    };
    Some((file, shown))
}

/// The message, what is to be seen at its main place, and what to write instead.
fn sentence(finding: &Diagnostic, main: Option<usize>) -> String {
    let mut lines = vec![finding.message.clone()];
    let label = main.and_then(|at| finding.labels.get(at)).map(|label| label.text.as_str()).unwrap_or_default();
    // An editor shows no words at the place itself, so they go below the message unless it says them already.
    if !label.is_empty() && !finding.message.contains(label) {
        lines.push(format!("here: {label}"));
    }
    if !finding.variants.is_empty() {
        lines.push(format!("in variants: {}", finding.variants.join(", ")));
    }
    match (&finding.accepted, &finding.help) {
        (Some(reason), _) => lines.push(format!("accepted: {reason}")),
        (None, Some(help)) => lines.push(format!("help: {help}")),
        (None, None) => {}
    }
    lines.join("\n")
}
