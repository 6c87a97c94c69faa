//! Findings: what is wrong or worth knowing, where, and how to mend it.
//!
//! A stage that meets a fault builds a [`Diagnostic`] with one of the functions in the `findings` beside it (all
//! prose lives there, none in the checkers) and pushes it onto its [`Problems`]. Here is only what they share: the
//! catalogue of findings with a page each, how they are worded and shown, and what is suggested instead. No stage is
//! known here.

mod names;
mod render;
pub mod suggest;
mod wording;

pub use names::Finding;
#[cfg(feature = "cli")]
pub(crate) use render::wrapped;
pub use render::{
    SourceLine, SourceLines, Style, as_json, as_sarif, as_text, as_text_within, harmless, harmless_json, harmless_line,
    printable, source_lines,
};
pub(crate) use wording::{counted, listed};

use serde::{Deserialize, Serialize};

use crate::source::Span;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Severity {
    /// Worth knowing; no dial is the worse for it. May be accepted with a reason.
    Advice,
    /// Dials of the run will disappoint whoever holds them, or are likely not what is wanted. May be accepted with a reason.
    Warning,
    /// The dial cannot be made or cannot be read. Nothing can be built until this is mended.
    Error,
}

/// A place that matters, and what is to be seen there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What is there, in a few words; may be empty.
    pub text: String,
}

/// One replacement of text.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Edit {
    /// What is replaced; empty to insert.
    pub span: Span,
    /// What stands there afterwards.
    pub text: String,
}

/// A finding, ready to be shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Diagnostic {
    /// Which finding it is.
    pub finding: Finding,
    /// How much it weighs.
    pub severity: Severity,
    /// One sentence with the figures in it.
    pub message: String,
    /// Every place that matters, the main one first. May lie in several files.
    pub labels: Vec<Label>,
    /// What to write instead.
    pub help: Option<String>,
    /// Edits that certainly mend it; `check --mend` applies them.
    pub mend: Vec<Edit>,
    /// What the finding is about (a layer, ring, opening …), for `accept FINDING on NAME`.
    pub subject: Option<String>,
    /// The reason given by the `accept` that covers it.
    pub accepted: Option<String>,
    /// The variants that have it, where not all of them do.
    pub variants: Vec<String>,
    /// Place on the part in millimetres, in the front frame of the layer that is the subject.
    #[serde(with = "spot")]
    pub spot: Option<kurbo::Point>,
}

/// A place on a part as two numbers.
mod spot {
    use kurbo::Point;
    use serde::{Deserialize as _, Deserializer, Serialize as _, Serializer};

    pub(super) fn serialize<S: Serializer>(spot: &Option<Point>, to: S) -> Result<S::Ok, S::Error> {
        spot.map(|at| (at.x, at.y)).serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Point>, D::Error> {
        Ok(Option::<(f64, f64)>::deserialize(from)?.map(Point::from))
    }
}

impl Diagnostic {
    // Stages build findings by functions and not by a struct for each: a function's parameters are the same list of
    // fields, with less text round it.
    fn new(severity: Severity, finding: Finding, message: impl Into<String>) -> Self {
        Self {
            finding,
            severity,
            message: message.into(),
            labels: Vec::new(),
            help: None,
            mend: Vec::new(),
            subject: None,
            accepted: None,
            variants: Vec::new(),
            spot: None,
        }
    }

    /// An error.
    pub fn error(finding: Finding, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, finding, message)
    }

    /// A warning.
    pub fn warning(finding: Finding, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, finding, message)
    }

    /// Advice.
    pub fn advice(finding: Finding, message: impl Into<String>) -> Self {
        Self::new(Severity::Advice, finding, message)
    }

    /// Adds a place; the first one added is the main one.
    #[must_use]
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into() });
        self
    }

    /// Says what to write instead.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help = Some(text.into());
        self
    }

    /// Adds an edit that certainly mends it.
    #[must_use]
    pub fn mend(mut self, span: Span, text: impl Into<String>) -> Self {
        self.mend.push(Edit { span, text: text.into() });
        self
    }

    /// Says what the finding is about.
    #[must_use]
    pub fn about(mut self, subject: impl Into<String>) -> Self {
        self.subject = Some(subject.into());
        self
    }

    /// Marks the place on the part.
    #[must_use]
    pub fn spot(mut self, at: kurbo::Point) -> Self {
        self.spot = Some(at);
        self
    }

    /// The main place.
    pub fn span(&self) -> Option<Span> {
        self.labels.first().map(|label| label.span)
    }

    /// Whether it still asks for something: no advice, and not accepted.
    pub fn stands(&self) -> bool {
        self.severity > Severity::Advice && self.accepted.is_none()
    }
}

/// The findings that a stage gathers beside its value.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problems(Vec<Diagnostic>);

impl Problems {
    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.0.push(diagnostic);
    }

    /// Adds all of another stage's.
    pub fn extend(&mut self, others: impl IntoIterator<Item = Diagnostic>) {
        self.0.extend(others);
    }

    /// Whether an error is among them.
    pub fn has_errors(&self) -> bool {
        self.0.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
    }

    /// All of them in order of place, duplicates dropped.
    pub fn into_sorted(mut self) -> Vec<Diagnostic> {
        // The sort is stable, so that of one place and name the order found stays: the same input gives the same
        // bytes.
        self.0.sort_by_key(|diagnostic| (diagnostic.span(), diagnostic.finding));
        self.0.dedup();
        self.0
    }

    /// Those gathered so far.
    pub fn iter(&self) -> impl Iterator<Item = &Diagnostic> {
        self.0.iter()
    }
}

impl IntoIterator for Problems {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}
