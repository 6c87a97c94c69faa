//! The lines of a source file that a place lies on, for pages that draw them themselves.

use super::excerpt::Excerpt;
use crate::source::{Sources, Span};

/// Most lines of one excerpt.
const LINES: usize = 8;
/// Most letters of a line before and after what is marked.
const AROUND: usize = 160;
/// Most letters marked on a line.
const MARKED: usize = 400;

/// A place in a source file with the lines it lies on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceLines {
    /// The file by its name in the folder of the design, with line and column from 1: `shared/shop.dial:7:3`. Where that folder lies is
    /// nothing for whoever is given the page.
    pub place: String,
    /// The lines, at most eight; the marked part of each may be empty.
    pub lines: Vec<SourceLine>,
}

/// One line of an excerpt, cut where it is very long.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceLine {
    /// Its number, from 1.
    pub number: usize,
    /// What stands before the marked part.
    pub before: String,
    /// The marked part.
    pub marked: String,
    /// What stands behind it.
    pub after: String,
}

/// The lines that a span lies on.
pub fn source_lines(span: Span, sources: &Sources) -> SourceLines {
    let file = sources.file(span.source);
    let excerpt = Excerpt::of(&file);
    let (start, end) =
        (excerpt.within(span.start as usize), excerpt.within(span.end as usize).max(span.start as usize));
    let (line, column) = excerpt.line_column(start);
    let mut lines = Vec::new();
    let mut from = file.text.get(..start).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
    for (number, text) in (line..).zip(file.text.get(from..).unwrap_or_default().split('\n')).take(LINES) {
        // The first line always, even where the place is empty.
        if number > line && from >= end {
            break;
        }
        let cut = |at: usize| at.saturating_sub(from).min(text.len());
        let part = |range: std::ops::Range<usize>| text.get(range).unwrap_or_default();
        let (first, last) = (cut(start), cut(end.min(from + text.len())).max(cut(start)));
        lines.push(SourceLine {
            number,
            before: last_of(part(0..first), AROUND),
            marked: first_of(part(first..last), MARKED),
            after: first_of(part(last..text.len()).trim_end(), AROUND),
        });
        from += text.len() + 1;
    }
    SourceLines { place: format!("{}:{line}:{column}", file.name), lines }
}

fn first_of(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((at, _)) => format!("{}…", text.get(..at).unwrap_or_default()),
        None => text.to_owned(),
    }
}

fn last_of(text: &str, most: usize) -> String {
    match text.char_indices().rev().nth(most) {
        Some((at, left)) => format!("…{}", text.get(at + left.len_utf8()..).unwrap_or_default()),
        None => text.to_owned(),
    }
}
