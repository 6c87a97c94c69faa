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

/// The same with every string that holds values parted at their braces, and the values as pieces of their own.
pub fn lexemes_in_strings(text: &str) -> Vec<Lexeme> {
    let mut all = Vec::new();
    for piece in lexemes(text) {
        let values = if piece.kind == LexemeKind::Text { values_in(piece.of(text)) } else { Vec::new() };
        let mut start = piece.start;
        for value in values {
            let (from, to) = (piece.start + value.start, piece.start + value.end);
            all.push(Lexeme { kind: LexemeKind::Text, start, end: from, unit: from });
            all.extend(lexemes_at(text, from..to));
            start = to;
        }
        all.push(Lexeme { start, ..piece });
    }
    all
}

/// The pieces of a part of a text.
pub fn lexemes_at(text: &str, part: Range<usize>) -> Vec<Lexeme> {
    let from = part.start;
    let moved =
        |piece: Lexeme| Lexeme { start: piece.start + from, end: piece.end + from, unit: piece.unit + from, ..piece };
    lexemes(text.get(part).unwrap_or("")).into_iter().map(moved).collect()
}

/// Where the values of a string stand that is written like this, quotes included; braces left out.
fn values_in(string: &str) -> Vec<Range<usize>> {
    let Ok(pairs) = with_rule(Rule::string, string) else { return Vec::new() };
    let values = pairs.flatten().filter(|part| part.as_rule() == Rule::value_text);
    values.map(|value| value.as_span().start()..value.as_span().end()).collect()
}

/// Where the value begins that is being typed at the end of a string begun like this; none outside of braces.
pub fn value_begun(string: &str) -> Option<usize> {
    let (mut begun, mut escaped) = (None, false);
    for (at, sign) in string.char_indices() {
        match sign {
            _ if escaped => {}
            '{' => begun = Some(at + 1),
            '}' => begun = None,
            _ => {}
        }
        escaped = sign == '\\' && !escaped;
    }
    begun
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

    #[test]
    fn values_are_found_in_a_string_whole_or_begun() {
        let string = r#""No. {digits(n, 2)} of \{{lot}""#;
        let values: Vec<&str> = values_in(string).into_iter().map(|value| &string[value]).collect();
        assert_eq!(values, ["digits(n, 2)", "lot"]);
        assert_eq!(values_in("\"plain\""), []);
        assert_eq!(value_begun("\"No. {dig"), Some(6));
        assert_eq!(value_begun("\"No. {n} of "), None);
        assert_eq!(value_begun("\"No. \\{n"), None);
        assert_eq!(value_begun("\"No. \\\\{n"), Some(8));
    }
}
