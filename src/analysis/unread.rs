//! Text that could not be read, and findings that only follow from it.

use std::collections::BTreeSet;

use crate::check::Loaded;
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity};
use crate::source::{Sources, Span};
use crate::syntax::{LexemeKind, lexemes_in_strings};

/// Text that could not be read.
#[derive(Clone, Debug)]
pub(super) struct Unread {
    /// Where it is at fault.
    places: Vec<Span>,
    /// The words of items of which nothing could be made out, such as the names that they would have defined.
    words: BTreeSet<String>,
}

impl Unread {
    pub(super) fn of(problems: &Problems, loaded: &Loaded) -> Self {
        let errors = problems.iter().filter(|found| found.severity == Severity::Error);
        let texts = loaded.lost.iter().map(|lost| loaded.sources.text(*lost));
        let words = texts.flat_map(|text| {
            let words = lexemes_in_strings(text).into_iter().filter(|piece| piece.kind == LexemeKind::Word);
            words.map(|word| word.of(text).to_owned()).collect::<Vec<String>>()
        });
        Self { places: errors.filter_map(Diagnostic::span).collect(), words: words.collect() }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.places.is_empty()
    }
}

/// The problems without those that only follow from text that could not be read: those at the same place, and those
/// of something missing, which may stand in that text.
pub(super) fn independent(found: Problems, unread: &Unread, sources: &Sources) -> Problems {
    let overlap = |a: &Span, b: Span| a.source == b.source && a.start < b.end && b.start < a.end;
    let follows = |found: &Diagnostic| {
        // What could not be read may have held it.
        let absent = !unread.is_empty() && found.finding.is_of_absence();
        let defined_there =
            |span: Span| found.finding == Finding::UnknownName && unread.words.contains(sources.text(span));
        let touches = |span: Span| unread.places.iter().any(|unread| overlap(unread, span));
        absent || found.span().is_some_and(|span| touches(span) || defined_there(span))
    };
    let mut independent = Problems::default();
    independent.extend(found.into_iter().filter(|found| !follows(found)));
    independent
}
