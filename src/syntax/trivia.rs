//! Comments and blank lines, kept beside the tree and merged by position when a file is laid out anew.

use super::parse::Rule;
use crate::source::{SourceId, Span};
use pest::iterators::{Pair, Pairs};
use std::ops::Range;

/// A comment, from its `//` to the end of its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comment {
    /// Where it stands, its `//` included and the line end not.
    pub span: Span,
    /// Whether nothing but blanks stands before it on its line.
    pub own_line: bool,
}

/// All comments among the parsed pairs, in order of place.
pub(super) fn comments(pairs: Pairs<'_, Rule>, text: &str, source: SourceId) -> Vec<Comment> {
    let comment = |range: Range<usize>| {
        let before = text.get(..range.start).unwrap_or("").trim_end_matches([' ', '\t', '\u{feff}']);
        let own_line = before.is_empty() || before.ends_with(['\n', '\r']);
        Comment { span: Span::new(source, range), own_line }
    };
    let remarks = pairs.flatten().filter(|pair| pair.as_rule() == Rule::remark);
    remarks.map(|remark| comment(comment_range(&remark))).collect()
}

/// The bytes of the comment that says a remark: its `//` too.
pub(super) fn comment_range(remark: &Pair<'_, Rule>) -> Range<usize> {
    let span = remark.as_span();
    span.start().saturating_sub("//".len())..span.end()
}

/// Whether an empty line stands before the line of the byte at `offset`.
pub fn blank_line_before(text: &str, offset: usize) -> bool {
    let before = text.get(..offset).unwrap_or("").trim_end_matches([' ', '\t']);
    let previous_line = before.strip_suffix('\n').map(|rest| rest.strip_suffix('\r').unwrap_or(rest));
    previous_line.is_some_and(|rest| rest.trim_end_matches([' ', '\t']).ends_with('\n'))
}
