//! A text as single words and signs, faults and all. It never fails, so that an editor can colour, fold and complete
//! what is half typed.

use std::ops::Range;

use super::parse::{Rule, with_rule};
use super::trivia::comment_range;

/// What a piece of text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LexemeKind {
    /// A string with both its quotes.
    Text,
    /// A string that is never closed, to the end of its line.
    UnclosedText,
    /// A number, its unit included.
    Number,
    /// `#rrggbb`
    Colour,
    /// A word of ours or the maker's.
    Word,
    /// An operator, bracket or other sign.
    Sign,
    /// From `//` to the end of the line.
    Comment,
    /// Whatever has no place in the language.
    Odd,
}

/// A piece of text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lexeme {
    /// What it is.
    pub kind: LexemeKind,
    /// Its first byte.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
    /// Where the unit of a number begins, known or not; its end where it has none.
    pub unit: usize,
}

impl Lexeme {
    /// Its bytes.
    pub fn range(self) -> Range<usize> {
        self.start..self.end
    }

    /// Its text within the text it was read from.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or("")
    }
}

/// All pieces of a text, in order of place; blanks and line ends left out.
pub fn lexemes(text: &str) -> Vec<Lexeme> {
    let Ok(mut pairs) = with_rule(Rule::lexemes, text) else { return Vec::new() };
    let Some(all) = pairs.next() else { return Vec::new() };
    let pieces = all.into_inner().filter(|pair| pair.as_rule() != Rule::EOI).map(|pair| {
        let span = pair.as_span();
        let start = if pair.as_rule() == Rule::remark { comment_range(&pair).start } else { span.start() };
        let kind = match pair.as_rule() {
            Rule::string | Rule::curly => LexemeKind::Text,
            Rule::unclosed_text => LexemeKind::UnclosedText,
            Rule::mixed | Rule::fraction | Rule::measure | Rule::plain => LexemeKind::Number,
            Rule::colour => LexemeKind::Colour,
            Rule::word => LexemeKind::Word,
            Rule::sign => LexemeKind::Sign,
            Rule::remark => LexemeKind::Comment,
            _ => LexemeKind::Odd,
        };
        let unit = pair.into_inner().flatten().find(|part| matches!(part.as_rule(), Rule::unit | Rule::odd_unit));
        let unit = unit.map_or(span.end(), |unit| unit.as_span().start());
        Lexeme { kind, start, end: span.end(), unit }
    });
    pieces.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_and_half_typed_pieces_are_told_apart() {
        let text = "let a = 1 1/8in + \"x\" // why\n#c0ffee 3 m( \"half";
        let shown: Vec<(LexemeKind, &str)> = lexemes(text).iter().map(|piece| (piece.kind, piece.of(text))).collect();
        use LexemeKind::{Colour, Comment, Number, Sign, Text, UnclosedText, Word};
        let wanted = [
            (Word, "let"),
            (Word, "a"),
            (Sign, "="),
            (Number, "1 1/8in"),
            (Sign, "+"),
            (Text, "\"x\""),
            (Comment, "// why"),
            (Colour, "#c0ffee"),
            (Number, "3 m"),
            (Sign, "("),
            (UnclosedText, "\"half"),
        ];
        assert_eq!(shown, wanted);
    }
}
