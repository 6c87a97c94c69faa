//! Source files and places in them.
//!
//! A [`Span`] is how every later stage remembers what asked for a thing: trees, shapes, findings and
//! operations carry one, and only this module turns it back into lines and columns.

use std::ops::Range;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// Names one file among the [`Sources`] of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct SourceId(u32);

/// A stretch of text in one source file, in bytes: `start..end`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Span {
    /// The file it lies in.
    pub source: SourceId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The span of `range` in `source`. Offsets past 4 GiB are clamped; [`crate::limits`] keeps files far below.
    pub fn new(source: SourceId, range: Range<usize>) -> Self {
        let clamp = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Self { source, start: clamp(range.start), end: clamp(range.end) }
    }

    /// The byte range, for slicing.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The smallest span that holds both; `self` where the files differ.
    pub fn to(self, other: Span) -> Span {
        if self.source != other.source {
            return self;
        }
        Span { source: self.source, start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// An empty span right after this one.
    pub fn after(self) -> Span {
        Span { start: self.end, ..self }
    }
}

/// One file that was read: its name as messages show it, and its text.
#[derive(Clone, Debug)]
pub struct SourceFile {
    /// Its name relative to the folder of the design, with `/` between parts.
    pub name: String,
    /// The whole text.
    pub text: Arc<str>,
}

/// All source files of a run, in the order they were read.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
    shown_in: String,
}

/// A place as people count: both from 1, columns in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineColumn {
    /// Line number, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl Sources {
    /// None yet; messages show their names behind this folder (empty, or ending on a slash).
    pub fn shown_in(folder: &str) -> Self {
        Self { files: Vec::new(), shown_in: folder.to_owned() }
    }

    /// The name of a file as messages show it, so that the user can type or click it.
    pub fn shown_name(&self, id: SourceId) -> String {
        let name = self.files.get(id.0 as usize).map_or("", |file| file.name.as_str());
        if name.starts_with('(') { name.to_owned() } else { format!("{}{name}", self.shown_in) }
    }

    /// Adds a file and returns its id.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<Arc<str>>) -> SourceId {
        self.files.push(SourceFile { name: name.into(), text: text.into() });
        SourceId(u32::try_from(self.files.len() - 1).unwrap_or(u32::MAX))
    }

    /// The file with this id. Ids come from [`Sources::add`] alone; a foreign one gives an empty file.
    pub fn file(&self, id: SourceId) -> SourceFile {
        self.files
            .get(id.0 as usize)
            .cloned()
            .unwrap_or_else(|| SourceFile { name: String::new(), text: Arc::from("") })
    }

    /// Every file with its id, in the order they were read.
    pub fn iter(&self) -> impl Iterator<Item = (SourceId, &SourceFile)> {
        (0u32..).map(SourceId).zip(&self.files)
    }

    /// The text that a span covers; empty where the span does not fit the file.
    pub fn text(&self, span: Span) -> &str {
        self.files.get(span.source.0 as usize).and_then(|file| file.text.get(span.range())).unwrap_or("")
    }

    /// Line and column of the span's start.
    pub fn line_column(&self, span: Span) -> LineColumn {
        let text = self.files.get(span.source.0 as usize).map_or("", |file| &file.text);
        let before = text.get(..span.start as usize).unwrap_or(text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        LineColumn {
            line: before.bytes().filter(|&byte| byte == b'\n').count() + 1,
            column: before.get(line_start..).unwrap_or("").chars().count() + 1,
        }
    }
}
