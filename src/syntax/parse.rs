//! The entries of the parser.

use super::depth::too_deep;
use super::lower::Lower;
use super::trivia::{self, Comment};
use super::{recover, tree};
use crate::diagnostics::Problems;
use crate::limits;
use crate::source::{SourceId, Sources, Span};
use crate::syntax::findings::syntax as findings;
use pest::Parser;
use pest::iterators::Pairs;

#[derive(pest_derive::Parser)]
#[grammar = "grammar/dial.pest"]
struct DialParser;

/// A file as it was read: its tree, its comments, and what is wrong with it.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// The tree, with whatever could be made out.
    pub file: tree::File,
    /// Every comment, in order of place.
    pub comments: Vec<Comment>,
    /// Every fault of its syntax.
    pub problems: Problems,
    /// Text of which nothing could be made out: what it would have defined is not known.
    pub lost: Vec<Span>,
}

/// Reads `text` with one entry of the grammar.
pub(super) fn with_rule(rule: Rule, text: &str) -> Result<Pairs<'_, Rule>, Box<pest::error::Error<Rule>>> {
    DialParser::parse(rule, text).map_err(Box::new)
}

/// Parses a whole file. Every independent fault of it is among the problems.
pub fn parse(sources: &Sources, id: SourceId) -> Parsed {
    let text = sources.file(id).text;
    // The parser calls itself for every bracket, and a stack that runs out cannot be caught: how deep they nest is
    // counted first.
    let empty = tree::File { source: id, items: Vec::new() };
    let mut problems = Problems::default();
    if let Some(at) = too_deep(&text, limits::NESTING) {
        problems.push(findings::too_deep(Span::new(id, at..at + 1)));
        return Parsed { file: empty, comments: Vec::new(), problems, lost: Vec::new() };
    }
    let pairs = match with_rule(Rule::file, &text) {
        Ok(pairs) => pairs,
        // The tolerant entry reads anything; this is for a fault of the grammar, which must not end in a panic.
        Err(error) => {
            let end = recover::place(&error).min(text.len());
            problems.push(findings::unexpected_text(Span::new(id, end..end), "", "an item"));
            return Parsed { file: empty, comments: Vec::new(), problems, lost: Vec::new() };
        }
    };
    let comments = trivia::comments(pairs.clone(), &text, id);
    let mut lower = Lower::new(id, &text);
    let items = pairs.into_iter().next().map(|file| lower.file(file)).unwrap_or_default();
    // A file in which nothing could be read has been told what is wrong with it.
    if items.is_empty() && lower.problems.iter().next().is_none() {
        lower.problems.push(findings::empty_file(Span::new(id, 0..0)));
    }
    Parsed { file: tree::File { source: id, items }, comments, problems: lower.problems, lost: lower.lost }
}

/// Parses a text that is one expression, such as the value in `--set name=value`.
pub fn parse_expression(sources: &Sources, id: SourceId) -> (Option<tree::Expr>, Problems) {
    let text = sources.file(id).text;
    let mut lower = Lower::new(id, &text);
    if let Some(at) = too_deep(&text, limits::NESTING) {
        lower.problems.push(findings::too_deep(Span::new(id, at..at + 1)));
        return (None, lower.problems);
    }
    let value = recover::bad_slice(&mut lower, recover::Place::Expression, &text, 0);
    let value = value.into_iter().find_map(recover::Recovered::into_expr);
    (value, lower.problems)
}

/// What a text is as a single word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Word {
    /// It may be a name of the maker's.
    Name,
    /// It is a word of the language that nothing else may be called.
    Reserved,
    /// It is no word.
    None,
}

/// Whether a text may be a name.
pub fn word(text: &str) -> Word {
    let whole = |rule| {
        let found = with_rule(rule, text).ok().and_then(|mut pairs| pairs.next());
        found.is_some_and(|pair| pair.as_str().len() == text.len())
    };
    match (whole(Rule::name), whole(Rule::word)) {
        (true, _) => Word::Name,
        (false, true) => Word::Reserved,
        (false, false) => Word::None,
    }
}

/// A text of the language that says this. What would break its line is written as its number.
pub fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' | '\\' | '{' => quoted.extend(['\\', letter]),
            letter if letter.is_control() => quoted.push_str(&format!("\\u{{{:x}}}", u32::from(letter))),
            letter => quoted.push(letter),
        }
    }
    quoted.push('"');
    quoted
}
