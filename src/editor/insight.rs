//! What is known of the finished dial, kept true to a text that goes on being typed.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::text::{Encoding, Lines, difference};
use super::view::{Places, Sheet, sheets};
use crate::analysis::{Analysis, Dial};
use crate::design::Assumption;
use crate::diagnostics::Diagnostic;
use crate::source::{SourceId, Span};

/// The findings and assumptions of an analysis, each at its place in the text as it now is.
#[derive(Clone, Debug)]
pub struct Insight {
    /// What was found beyond what a [`super::View`] finds by itself.
    pub findings: Vec<Diagnostic>,
    /// What was taken for all that the file leaves out, that of several variants once.
    pub assumptions: Vec<Assumption>,
    /// The files.
    pub(super) sheets: BTreeMap<SourceId, Sheet>,
    encoding: Encoding,
}

impl Insight {
    /// What an analysis tells beyond `known`, the findings of a view of the same texts.
    pub fn of(analysis: &Analysis, known: &[Diagnostic], places: Places<'_>, encoding: Encoding) -> Self {
        let mut assumptions: Vec<Assumption> = Vec::new();
        for assumption in analysis.dials.iter().flat_map(Dial::assumptions) {
            if !assumptions.contains(assumption) {
                assumptions.push(assumption.clone());
            }
        }
        let sheets = sheets(&analysis.sources, places, encoding);
        let findings = analysis.findings.iter().filter(|finding| !known.contains(finding)).cloned().collect();
        Self { findings, assumptions, sheets, encoding }
    }

    /// The same for a new text of one file: what stands behind the change moves with it, what the change touches is
    /// forgotten until the design is analysed anew.
    pub fn follow(&mut self, name: &str, text: &Arc<str>) {
        let Some((id, sheet)) = self.sheets.iter_mut().find(|(_, sheet)| sheet.name == name) else { return };
        let (id, (old, new)) = (*id, difference(sheet.lines.text(), text));
        sheet.lines = Lines::new(Arc::clone(text), self.encoding);
        if old.is_empty() && new.is_empty() {
            return;
        }
        let moved = |span: Span| {
            let range = span.range();
            if span.source != id || range.end < old.start {
                Some(span)
            // What begins right behind an insertion moves with it; an empty place there is touched by it.
            } else if range.start > old.end || (range.start == old.end && !range.is_empty()) {
                let shift = |at: usize| at - old.end + new.end;
                Some(Span::new(id, shift(range.start)..shift(range.end)))
            } else {
                None
            }
        };
        self.findings.retain_mut(|finding| {
            // A mend was worked out for the old text: moved along, it might change what is no longer meant.
            finding.mend.clear();
            let places: Option<Vec<Span>> = finding.labels.iter().map(|label| moved(label.span)).collect();
            let Some(places) = places else { return false };
            finding.labels.iter_mut().zip(places).for_each(|(label, span)| label.span = span);
            true
        });
        self.assumptions.retain_mut(|taken| moved(taken.origin).map(|span| taken.origin = span).is_some());
    }
}
