//! Places as editors count them: lines from 0, and columns in UTF-16 units or bytes (Language Server Protocol 3.17,
//! "Position").

use std::ops::Range;
use std::sync::Arc;

use lsp_types::{Position, TextDocumentContentChangeEvent};

/// What a column counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// Bytes of UTF-8.
    Utf8,
    /// Units of UTF-16: what every editor knows.
    Utf16,
}

/// A text and where its lines begin.
#[derive(Clone, Debug)]
pub struct Lines {
    text: Arc<str>,
    starts: Vec<usize>,
    encoding: Encoding,
}

impl Lines {
    /// The lines of a text; they end on `\n`, `\r\n` or `\r`.
    pub fn new(text: Arc<str>, encoding: Encoding) -> Self {
        let bytes = text.as_bytes();
        let ends_line = |at: &usize| match bytes.get(*at) {
            Some(b'\n') => true,
            Some(b'\r') => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        };
        let starts = std::iter::once(0).chain((0..bytes.len()).filter(ends_line).map(|at| at + 1)).collect();
        Self { text, starts, encoding }
    }

    /// The whole text.
    pub fn text(&self) -> &Arc<str> {
        &self.text
    }

    /// The number of the line that holds a byte, from 0.
    pub fn line_of(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset).saturating_sub(1)
    }

    /// The bytes of a line, its end left out; those of the text's end for a line that is not there.
    pub fn line(&self, line: usize) -> Range<usize> {
        let end = self.text.len();
        let Some(start) = self.starts.get(line).copied() else { return end..end };
        let next = self.starts.get(line + 1).copied().unwrap_or(end);
        let content = self.text.get(start..next).unwrap_or("").trim_end_matches(['\n', '\r']);
        start..start + content.len()
    }

    /// The byte at a position. A line or column past the end is that end; one inside a character is its start.
    pub fn offset(&self, position: Position) -> usize {
        let line = self.line(usize::try_from(position.line).unwrap_or(usize::MAX));
        let wanted = usize::try_from(position.character).unwrap_or(usize::MAX);
        let mut column = 0;
        for (at, character) in self.text.get(line.clone()).unwrap_or("").char_indices() {
            column += self.width(character);
            if column > wanted {
                return line.start + at;
            }
        }
        line.end
    }

    /// The position of a byte; one inside a character counts as its start.
    pub fn position(&self, offset: usize) -> Position {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.line_of(offset);
        let start = self.starts.get(line).copied().unwrap_or(0);
        let before = self.text.get(start..offset).unwrap_or("");
        let column: usize = before.chars().map(|character| self.width(character)).sum();
        Position::new(count(line), count(column))
    }

    /// The range of some bytes.
    pub fn range(&self, bytes: Range<usize>) -> lsp_types::Range {
        lsp_types::Range::new(self.position(bytes.start), self.position(bytes.end))
    }

    /// How many columns some bytes of one line take.
    pub fn columns(&self, bytes: Range<usize>) -> u32 {
        count(self.text.get(bytes).unwrap_or("").chars().map(|character| self.width(character)).sum())
    }

    fn width(&self, character: char) -> usize {
        match self.encoding {
            Encoding::Utf8 => character.len_utf8(),
            Encoding::Utf16 => character.len_utf16(),
        }
    }
}

/// As the protocol counts; texts are far below 4 GiB.
pub fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// The text after an editor's changes, made one after the other.
pub fn changed(text: &Arc<str>, changes: Vec<TextDocumentContentChangeEvent>, encoding: Encoding) -> Arc<str> {
    changes.into_iter().fold(Arc::clone(text), |text, change| {
        // Without a range the whole text is sent. Each change is made in the text that those before it left.
        let Some(range) = change.range else { return Arc::from(change.text) };
        let lines = Lines::new(Arc::clone(&text), encoding);
        let (start, end) = (lines.offset(range.start), lines.offset(range.end));
        let (before, after) = (text.get(..start).unwrap_or(""), text.get(end.max(start)..).unwrap_or(""));
        Arc::from([before, change.text.as_str(), after].concat())
    })
}

/// The bytes in which two texts differ: of the old one, then of the new one. Both empty where they are the same.
pub fn difference(old: &str, new: &str) -> (Range<usize>, Range<usize>) {
    let most = old.len().min(new.len());
    let mut start = old.bytes().zip(new.bytes()).take_while(|(one, other)| one == other).count();
    while !(old.is_char_boundary(start) && new.is_char_boundary(start)) {
        start -= 1;
    }
    let same = old.bytes().rev().zip(new.bytes().rev()).take_while(|(one, other)| one == other).count();
    // What is alike at both ends must not count twice: of `aa` and `aaa` the ends overlap.
    let mut tail = same.min(most - start);
    while !(old.is_char_boundary(old.len() - tail) && new.is_char_boundary(new.len() - tail)) {
        tail -= 1;
    }
    (start..old.len() - tail, start..new.len() - tail)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str, encoding: Encoding) -> Lines {
        Lines::new(Arc::from(text), encoding)
    }

    /// The protocol's own example: in `a𐐀b` the `b` has offset 3 in UTF-16 (specification 3.17, "Position").
    #[test]
    fn columns_count_units() {
        let text = "a𐐀b\r\nč\rend";
        let (wide, bytes) = (lines(text, Encoding::Utf16), lines(text, Encoding::Utf8));
        assert_eq!(wide.position(5), Position::new(0, 3));
        assert_eq!(bytes.position(5), Position::new(0, 5));
        assert_eq!(wide.offset(Position::new(0, 3)), 5);
        assert_eq!(wide.offset(Position::new(0, 2)), 1, "inside the pair");
        assert_eq!(wide.position(10), Position::new(1, 1));
        assert_eq!(wide.position(11), Position::new(2, 0));
        assert_eq!(wide.offset(Position::new(0, 99)), 6, "not past the line");
        assert_eq!(wide.offset(Position::new(99, 0)), text.len());
    }

    #[test]
    fn differences_keep_to_whole_characters() {
        assert_eq!(difference("one two", "one three two"), (5..5, 5..11));
        assert_eq!(difference("č", "š"), (0..2, 0..2));
        assert_eq!(difference("aaa", "aa"), (2..3, 2..2));
        assert_eq!(difference("same", "same"), (4..4, 4..4));
    }
}
