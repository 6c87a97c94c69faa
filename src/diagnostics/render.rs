//! Diagnostics as terminal text and as JSON.

mod excerpt;
mod harmless;
mod json;
mod lines;
mod sarif;
mod wrapped;

use super::listed;
use super::{Diagnostic, Severity};
use crate::source::{SourceId, Sources, Span};
use excerpt::{Excerpt, Shown};
use miette::{GraphicalReportHandler, GraphicalTheme};
use std::collections::BTreeMap;

pub use harmless::{harmless, harmless_json, harmless_line, printable};
pub use json::as_json;
pub use lines::{SourceLine, SourceLines, source_lines};
pub use sarif::as_sarif;
pub(crate) use wrapped::wrapped;

/// Columns that terminal text keeps within, excerpts apart.
const WIDTH: usize = 100;

/// How terminal text looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// With colours.
    Coloured,
    /// Without.
    Plain,
}

impl Severity {
    /// What it is called in messages and in JSON.
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Advice => "advice",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// The diagnostics as people read them: each with its name, its message, the places in the text, and what to
/// write instead; at the end, where to read more.
///
/// ```
/// use dialwright::analysis::{Request, analyse};
/// use dialwright::diagnostics::{Finding, Style, as_text};
/// use dialwright::project::MemoryProject;
///
/// let text = "dial \"Plate\"\noutline circle(diametre: 50mm)\nlayer base of birch { }";
/// let project = MemoryProject::default().with("plate.dial", text);
/// let analysis = analyse(&project, "plate.dial", "dials/", &Request::default()).expect("the file is there");
/// assert!(analysis.findings.iter().any(|found| found.finding == Finding::UnknownArgument));
/// let shown = as_text(&analysis.findings, &analysis.sources, Style::Plain);
/// assert!(shown.contains("did you mean `diameter`?"), "{shown}");
/// ```
pub fn as_text(diagnostics: &[Diagnostic], sources: &Sources, style: Style) -> String {
    as_text_within(diagnostics, sources, style, WIDTH)
}

/// The same within so many columns, excerpts apart.
pub fn as_text_within(diagnostics: &[Diagnostic], sources: &Sources, style: Style, columns: usize) -> String {
    let theme = match style {
        Style::Coloured => GraphicalTheme::unicode(),
        Style::Plain => GraphicalTheme::unicode_nocolor(),
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(columns)
        .with_links(false)
        .with_break_words(false)
        .with_show_related_as_nested(true)
        // Width, links and colours are stated and not left to the library, which would ask the machine.
        .without_syntax_highlighting();
    let excerpts: BTreeMap<SourceId, Excerpt> =
        sources.iter().map(|(id, file)| (id, Excerpt::harmless(file))).collect();
    let mut text = String::new();
    for diagnostic in diagnostics {
        if diagnostic.finding.is_notice() {
            // One line, which only a narrow terminal makes several of: programs that look for it find it whole.
            let line = in_one_line(diagnostic);
            text += &if columns < WIDTH { wrapped(&line, columns, 2) } else { line };
            text += "\n\n";
            continue;
        }
        let mut one = String::new();
        // Writing into a string cannot fail; a report that could not be drawn still shows its sentence.
        if handler.render_report(&mut one, &shown(diagnostic, &excerpts)).is_err() {
            one = format!("{}\n", in_one_line(diagnostic));
        }
        text.extend(one.lines().flat_map(|line| [line.trim_end(), "\n"]));
        text.push('\n');
    }
    text + &more(diagnostics)
}

/// A diagnostic without its places and its help.
fn in_one_line(diagnostic: &Diagnostic) -> String {
    let accepted = diagnostic.accepted.as_ref().map_or_else(String::new, |reason| format!("; accepted: {reason}"));
    let said = harmless::harmless_words(&format!("{}{}{accepted}", diagnostic.message, in_variants(diagnostic)));
    format!("{}: {}: {said}", diagnostic.severity.word(), diagnostic.finding.name())
}

/// The last line: how to read the explanation.
fn more(diagnostics: &[Diagnostic]) -> String {
    let mut names: Vec<&str> = diagnostics.iter().map(|diagnostic| diagnostic.finding.name()).collect();
    names.sort_unstable();
    names.dedup();
    match names.as_slice() {
        [] => String::new(),
        [name] => format!("more: dialwright explain {name}\n"),
        [name, ..] => format!("more: dialwright explain {name} (or any other name above)\n"),
    }
}

/// A diagnostic as the drawing library takes it: the places in the main file, then those in each other file.
fn shown(diagnostic: &Diagnostic, excerpts: &BTreeMap<SourceId, Excerpt>) -> Shown {
    let main = diagnostic.span().map(|span| span.source);
    let labels_in = |source: SourceId| {
        let labels = diagnostic.labels.iter().filter(move |label| label.span.source == source);
        labels.map(|label| (label.span, label.text.clone())).collect::<Vec<(Span, String)>>()
    };
    let mut others: Vec<SourceId> = diagnostic.labels.iter().map(|label| label.span.source).collect();
    others.retain(|source| Some(*source) != main);
    others.sort_unstable();
    others.dedup();
    let related = others.into_iter().filter_map(|source| {
        let excerpt = excerpts.get(&source)?;
        Some(
            Shown::new(None, Severity::Advice, &format!("in {}", excerpt.name())).at(Some(excerpt), &labels_in(source)),
        )
    });
    let related: Vec<Shown> = related.collect();
    let name = format!("{}: {}", diagnostic.severity.word(), diagnostic.finding.name());
    let labels = main.map(labels_in).unwrap_or_default();
    let help = match (&diagnostic.accepted, &diagnostic.help) {
        (Some(reason), _) => Some(format!("accepted: {reason}")),
        (None, help) => help.clone(),
    };
    Shown::new(Some(name), diagnostic.severity, &format!("{}{}", diagnostic.message, in_variants(diagnostic)))
        .at(main.and_then(|source| excerpts.get(&source)), &labels)
        .with(help, related)
}

/// In which variants it was found, where not in all of them.
fn in_variants(diagnostic: &Diagnostic) -> String {
    match diagnostic.variants.as_slice() {
        [] => String::new(),
        [one] => format!(", in variant `{one}`"),
        [first, second, rest @ ..] if rest.len() > 1 => {
            format!(", in variants `{first}`, `{second}` and {} more", rest.len())
        }
        few => format!(", in variants {}", listed(few.iter().map(String::as_str), "and")),
    }
}

#[cfg(test)]
mod tests;
