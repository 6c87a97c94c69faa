//! Excerpts of source files for the drawing library, found through an index of line starts: its own way reads a
//! file from the beginning for every label.

use super::super::Severity;
use super::harmless::{harmless_in_place, harmless_line, harmless_words};
use crate::source::{SourceFile, Span};
use miette::{LabeledSpan, MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// Longest line that is drawn whole, in bytes: of a longer one, what lies round its labels. The drawing library sets what it draws by
/// columns, of which it can count no more than 65,535.
const LONGEST_LINE: usize = 1_000;
/// So many bytes stay on either side of what is marked on a longer one.
const AROUND: usize = 200;
/// What stands for the rest of it.
const CUT: char = '…';
/// A label that covers more lines than this is drawn on its first line alone.
const MOST_LINES: usize = 8;

/// A source file with its line starts.
#[derive(Clone, Debug)]
pub(super) struct Excerpt {
    name: Arc<str>,
    text: Arc<str>,
    /// The byte where each line begins.
    lines: Arc<[usize]>,
    /// Lines of which the beginning was cut off, and by how many characters columns on them are larger than they seem.
    shifted: Arc<[(usize, usize)]>,
}

impl Excerpt {
    pub(super) fn of(file: &SourceFile) -> Self {
        let ends = file.text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        let lines: Vec<usize> = std::iter::once(0).chain(ends).collect();
        Self {
            name: Arc::from(file.name.as_str()),
            text: file.text.clone(),
            lines: Arc::from(lines),
            shifted: Arc::default(),
        }
    }

    /// The same, as a terminal may show it.
    pub(super) fn harmless(file: &SourceFile) -> Self {
        let (name, text) = (Arc::from(harmless_line(&file.name)), Arc::from(harmless_in_place(&file.text)));
        Self { name, text, ..Self::of(file) }
    }

    /// The same under the name that the user knows it by.
    pub(super) fn shown(file: &SourceFile, name: String) -> Self {
        Self { name: Arc::from(name), ..Self::of(file) }
    }

    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// The number of the line that holds a byte, from 0.
    pub(super) fn line_of(&self, at: usize) -> usize {
        self.lines.partition_point(|start| *start <= at).saturating_sub(1)
    }

    /// The byte where a line begins; the end of the text for a line after the last.
    fn start_of(&self, line: usize) -> usize {
        self.lines.get(line).copied().unwrap_or(self.text.len())
    }

    /// Line and column of a byte, both from 1, columns in characters.
    pub(super) fn line_column(&self, at: usize) -> (usize, usize) {
        let (at, line) = (self.within(at), self.line_of(at));
        let before = self.text.get(self.start_of(line)..at).unwrap_or("");
        let cut = self.shifted.iter().find(|(of, _)| *of == line).map_or(0, |(_, by)| *by);
        (line + 1, before.chars().count() + 1 + cut)
    }

    /// The nearest byte at or before this one that lies in the text and between two letters.
    pub(super) fn within(&self, at: usize) -> usize {
        self.text.floor_char_boundary(at)
    }

    /// What of a span is drawn where others lie within it: the longer piece beside them, since the drawing library
    /// puts labels that overlap under the wrong letters.
    fn beside(&self, span: Span, all: &[Span]) -> Span {
        let within = |other: &&Span| **other != span && other.start >= span.start && other.end <= span.end;
        let inner: Vec<&Span> = all.iter().filter(within).collect();
        let (Some(first), Some(last)) =
            (inner.iter().map(|other| other.start).min(), inner.iter().map(|other| other.end).max())
        else {
            return span;
        };
        let trimmed = |piece: Span| {
            let text = self.text.get(piece.range()).unwrap_or("");
            let start = piece.range().start + (text.len() - text.trim_start().len());
            Span::new(span.source, start..start + text.trim().len())
        };
        let [before, after] = [Span { end: first, ..span }, Span { start: last, ..span }].map(trimmed);
        let piece = if before.range().len() > after.range().len() { before } else { after };
        if piece.range().is_empty() { span } else { piece }
    }

    /// The excerpt with its long lines cut to what lies round these pieces of text, and those pieces in it.
    fn narrowed(&self, pieces: &[Range<usize>]) -> (Self, Vec<Range<usize>>) {
        let near = |piece: &Range<usize>| self.line_of(piece.start).saturating_sub(1)..=self.line_of(piece.end) + 1;
        let shown: BTreeSet<usize> = pieces.iter().flat_map(near).collect();
        let length = |line: usize| self.start_of(line + 1) - self.start_of(line);
        if !shown.iter().any(|line| length(*line) > LONGEST_LINE) {
            return (self.clone(), pieces.to_vec());
        }
        let (mut text, mut lines, mut shifted, mut places) = (String::new(), Vec::new(), Vec::new(), BTreeMap::new());
        for line in 0..self.lines.len() {
            lines.push(text.len());
            let (start, end) = (self.start_of(line), self.start_of(line + 1));
            let whole = self.text.get(start..end).unwrap_or("");
            // Lines that are not shown only count.
            if shown.contains(&line) {
                let kept = self.kept(start..start + whole.trim_end_matches('\n').len(), pieces);
                let before = self.text.get(start..kept.start).unwrap_or("").chars().count();
                if before > 0 {
                    text.push(CUT);
                    shifted.push((line, before - 1));
                }
                places.insert(line, (text.len(), kept.clone()));
                text += self.text.get(kept.clone()).unwrap_or("");
                if kept.end < start + whole.trim_end_matches('\n').len() {
                    text.push(CUT);
                }
            }
            if whole.ends_with('\n') {
                text.push('\n');
            }
        }
        let moved = |at: usize| {
            let (to, kept) = places.get(&self.line_of(at)).cloned().unwrap_or_default();
            to + at.clamp(kept.start, kept.end) - kept.start
        };
        let pieces = pieces.iter().map(|piece| moved(piece.start)..moved(piece.end)).collect();
        let (lines, shifted) = (Arc::from(lines), Arc::from(shifted));
        (Self { name: self.name.clone(), text: Arc::from(text), lines, shifted }, pieces)
    }

    /// What is drawn of a line without its end: all of it, or what lies round the pieces on it.
    fn kept(&self, line: Range<usize>, pieces: &[Range<usize>]) -> Range<usize> {
        if line.len() <= LONGEST_LINE {
            return line;
        }
        let on_it =
            pieces.iter().flat_map(|piece| [piece.start, piece.end]).filter(|at| (line.start..=line.end).contains(at));
        let (first, last) = (on_it.clone().min().unwrap_or(line.start), on_it.max().unwrap_or(line.start));
        let start = first.saturating_sub(AROUND).max(line.start);
        let end = (last + AROUND).min(start + LONGEST_LINE).min(line.end);
        self.within(start)..self.within(end)
    }

    /// A span as it can be drawn: within the text, between letters, and not over many lines.
    fn drawn(&self, span: Span) -> Range<usize> {
        let (start, mut end) = (self.within(span.start as usize), self.within(span.end as usize));
        // A whole layer under a bracket would push the message off the screen.
        if self.line_of(end) > self.line_of(start) + MOST_LINES {
            end = self.start_of(self.line_of(start) + 1).saturating_sub(1);
        }
        let length = end.saturating_sub(start);
        // The drawing library finds no line for a place after the last line end.
        let past_the_end = length == 0 && start == self.text.len() && start > 0;
        let start = if past_the_end && self.text.ends_with('\n') { self.within(start - 1) } else { start };
        start..start + length
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        let line = self.line_of(start);
        let last = self.line_of(if span.is_empty() { end } else { end - 1 });
        let first_line = line.saturating_sub(before);
        // Without context the caller asks for the place itself, to name its line and column.
        let from = if before == 0 { start } else { self.start_of(first_line) };
        let to = if after == 0 { end } else { self.start_of(last + after + 1) };
        let data = self.text.as_bytes().get(from..to).ok_or(MietteError::OutOfBounds)?;
        let column = if before == 0 { self.line_column(start).1 - 1 } else { 0 };
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.to_string(),
            data,
            (from, to - from).into(),
            first_line,
            column,
            last - first_line + after,
        )))
    }
}

/// A diagnostic as the drawing library takes it.
#[derive(Debug)]
pub(super) struct Shown {
    name: Option<String>,
    severity: Severity,
    message: String,
    excerpt: Option<Excerpt>,
    labels: Vec<LabeledSpan>,
    help: Option<String>,
    related: Vec<Shown>,
}

impl Shown {
    pub(super) fn new(name: Option<String>, severity: Severity, message: &str) -> Self {
        let message = harmless_words(message);
        Self { name, severity, message, excerpt: None, labels: Vec::new(), help: None, related: Vec::new() }
    }

    /// Sets the file and the places in it, the main one first.
    pub(super) fn at(mut self, excerpt: Option<&Excerpt>, labels: &[(Span, String)]) -> Self {
        let Some(excerpt) = excerpt else { return self };
        let text = |text: &str| (!text.is_empty()).then(|| harmless_words(text));
        let spans: Vec<Span> = labels.iter().map(|(span, _)| *span).collect();
        let drawn: Vec<Range<usize>> = spans.iter().map(|span| excerpt.drawn(excerpt.beside(*span, &spans))).collect();
        let (excerpt, drawn) = excerpt.narrowed(&drawn);
        let drawn = drawn.into_iter().zip(labels).enumerate().map(|(index, (piece, (_, label)))| {
            let span = SourceSpan::from((piece.start, piece.len()));
            match index {
                0 => LabeledSpan::new_primary_with_span(text(label), span),
                _ => LabeledSpan::new_with_span(text(label), span),
            }
        });
        self.labels = drawn.collect();
        self.excerpt = Some(excerpt);
        self
    }

    pub(super) fn with(mut self, help: Option<String>, related: Vec<Shown>) -> Self {
        (self.help, self.related) = (help.map(|help| harmless_words(&help)), related);
        self
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl miette::Diagnostic for Shown {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.name.as_ref().map(|name| Box::new(name) as Box<dyn fmt::Display>)
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Advice => miette::Severity::Advice,
            Severity::Warning => miette::Severity::Warning,
            Severity::Error => miette::Severity::Error,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.excerpt.as_ref().map(|excerpt| excerpt as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        (!self.labels.is_empty())
            .then(|| Box::new(self.labels.iter().cloned()) as Box<dyn Iterator<Item = LabeledSpan>>)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn miette::Diagnostic> + 'a>> {
        (!self.related.is_empty()).then(|| {
            Box::new(self.related.iter().map(|related| related as &dyn miette::Diagnostic))
                as Box<dyn Iterator<Item = &'a dyn miette::Diagnostic>>
        })
    }
}
