//! Mends that are certain, as quick fixes.

use std::collections::BTreeMap;
use std::ops::Range;

use lsp_types::{TextEdit, Uri};

use super::insight::Insight;
use super::rename::FileEdits;
use super::view::{Sheet, View};
use crate::diagnostics::{Diagnostic, Edit};
use crate::source::SourceId;

/// A mend.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// What it does.
    pub title: String,
    /// The finding that it mends; none where it mends all that can be.
    pub finding: Option<&'static str>,
    /// The range of that finding.
    pub range: lsp_types::Range,
    /// Its edits.
    pub edits: Vec<FileEdits>,
}

/// The mends of the findings that touch some bytes of a file.
pub fn fixes(view: &View, insight: Option<&Insight>, file: SourceId, range: lsp_types::Range) -> Vec<Fix> {
    let bytes = view.offset(file, range.start)..view.offset(file, range.end);
    let name = view.sheet(file).map_or("", |sheet| sheet.name.as_str());
    let mendable = mendable(view, insight);
    let fix = |(finding, sheets): &(&Diagnostic, &BTreeMap<SourceId, Sheet>)| {
        let here = |span: crate::source::Span| sheets.get(&span.source).is_some_and(|sheet| sheet.name == name);
        let touched = finding.labels.iter().map(|label| label.span).chain(finding.mend.iter().map(|edit| edit.span));
        let span = touched.into_iter().find(|span| here(*span) && touch(&span.range(), &bytes))?;
        let edits = edits(&finding.mend, sheets)?;
        let range = sheets.get(&span.source)?.lines.range(finding.span().unwrap_or(span).range());
        Some(Fix { title: title(finding, sheets), finding: Some(finding.finding.name()), range, edits })
    };
    mendable.iter().filter_map(fix).collect()
}

/// All mends of a file that do not touch one another, at once; none where nothing can be mended.
pub fn fix_all(view: &View, insight: Option<&Insight>, file: SourceId) -> Option<Fix> {
    let sheet = view.sheet(file)?;
    let uri = sheet.uri.clone()?;
    let mut taken: Vec<(Range<usize>, TextEdit)> = Vec::new();
    for (finding, sheets) in mendable(view, insight) {
        let own = |edit: &Edit| sheets.get(&edit.span.source).filter(|known| known.name == sheet.name);
        // Two mends that touch may have been meant for each other's text; the second waits for the next time.
        let clear = |edit: &Edit| !taken.iter().any(|(bytes, _)| touch(bytes, &edit.span.range()));
        if finding.mend.iter().all(|edit| own(edit).is_some() && clear(edit)) {
            let new: Vec<_> = finding.mend.iter().map(|edit| (edit.span.range(), text_edit(edit, sheet))).collect();
            taken.extend(new);
        }
    }
    let edits: Vec<TextEdit> = taken.into_iter().map(|(_, edit)| edit).collect();
    let title = "Mend all that is certain".to_owned();
    (!edits.is_empty()).then(|| Fix {
        title,
        finding: None,
        range: lsp_types::Range::default(),
        edits: vec![(uri, edits)],
    })
}

type Mendable<'a> = Vec<(&'a Diagnostic, &'a BTreeMap<SourceId, Sheet>)>;

fn mendable<'a>(view: &'a View, insight: Option<&'a Insight>) -> Mendable<'a> {
    let of_view = view.findings().iter().map(|finding| (finding, view.sheets()));
    let of_insight =
        insight.into_iter().flat_map(|insight| insight.findings.iter().map(move |finding| (finding, &insight.sheets)));
    of_view.chain(of_insight).filter(|(finding, _)| !finding.mend.is_empty()).collect()
}

fn touch(one: &Range<usize>, other: &Range<usize>) -> bool {
    one.start <= other.end && other.start <= one.end
}

fn text_edit(edit: &Edit, sheet: &Sheet) -> TextEdit {
    TextEdit::new(sheet.lines.range(edit.span.range()), edit.text.clone())
}

/// The edits by file; none where one is in a file that no editor can open.
fn edits(mend: &[Edit], sheets: &BTreeMap<SourceId, Sheet>) -> Option<Vec<FileEdits>> {
    let mut by_file: BTreeMap<SourceId, (Uri, Vec<TextEdit>)> = BTreeMap::new();
    for edit in mend {
        let sheet = sheets.get(&edit.span.source)?;
        let uri = sheet.uri.clone()?;
        by_file.entry(edit.span.source).or_insert((uri, Vec::new())).1.push(text_edit(edit, sheet));
    }
    Some(by_file.into_values().collect())
}

/// What a mend does, in a few words.
fn title(finding: &Diagnostic, sheets: &BTreeMap<SourceId, Sheet>) -> String {
    let short = |text: &str| {
        let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        match line.char_indices().nth(40) {
            Some((end, _)) => format!("`{}…`", line.get(..end).unwrap_or("")),
            None => format!("`{line}`"),
        }
    };
    let [edit] = finding.mend.as_slice() else { return format!("Mend {}", finding.finding.name()) };
    let old = sheets.get(&edit.span.source).and_then(|sheet| sheet.lines.text().get(edit.span.range())).unwrap_or("");
    match (old.trim().is_empty(), edit.text.trim().is_empty()) {
        (true, _) => format!("Insert {}", short(&edit.text)),
        (false, true) => format!("Remove {}", short(old)),
        (false, false) => format!("Write {} for {}", short(&edit.text), short(old)),
    }
}
