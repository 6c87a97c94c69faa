//! Why one bad item could not be read: the slips that people make, from the surest to the vaguest.

use super::expected::{self, Piece};
use super::{Place, first_word};
use crate::diagnostics::Diagnostic;
use crate::diagnostics::findings::syntax as findings;
use crate::diagnostics::suggest::nearest;
use crate::syntax::lower::{Lower, Parts};
use crate::syntax::parse::{Rule, with_rule};
use pest::error::Error;
use std::ops::Range;

/// A bad item and where the strict entry gave up on it.
pub(super) struct Slice<'a> {
    /// The entry that should read it.
    pub entry: Rule,
    /// Where it stands.
    pub place: Place,
    /// Its text.
    pub text: &'a str,
    /// The byte where the parser gave up.
    pub at: usize,
    /// Why it did.
    pub error: &'a Error<Rule>,
}

/// A word or sign of a slice.
#[derive(Clone, Debug)]
struct Token {
    rule: Rule,
    range: Range<usize>,
}

/// Words that begin an item of a place.
pub(super) fn item_words(place: Place) -> &'static [&'static str] {
    match place {
        Place::Top => &[
            "dial", "shop", "with", "param", "let", "outline", "typeface", "layer", "stack", "reads", "slot", "run",
            "expect", "accept", "family", "stock", "magnet", "rivet", "adhesive",
        ],
        Place::Layer => &[
            "let", "outline", "flip", "front", "back", "engrave", "score", "pocket", "hole", "window", "paint", "bare",
            "grain",
        ],
        Place::Stack => &["turn", "glue"],
        Place::Family => &["each", "variant", "leave"],
        Place::Fields => &[
            "labels",
            "radius",
            "height",
            "facing",
            "bearings",
            "first",
            "stroke",
            "pocket",
            "stops",
            "clicks",
            "turning",
            "lower",
            "upper",
            "margin",
            "gap",
            "spares",
            "wanted",
            "thickness",
            "board",
            "kerf",
            "passes",
            "colour",
            "engraved",
            "cost",
            "clear",
            "diameter",
            "remanence",
            "shank",
            "head",
            "grips",
            "cure",
            "grain",
        ],
        Place::Bindings | Place::Expression => &[],
    }
}

/// Words that people know from elsewhere, and ours for the same thing.
const OURS: [(&str, &str); 23] = [
    ("include", "with"),
    ("import", "with"),
    ("use", "with"),
    ("const", "let"),
    ("var", "let"),
    ("assert", "expect"),
    ("cut", "hole"),
    ("etch", "engrave"),
    ("spin", "turn"),
    ("color", "colour"),
    ("union", "plus"),
    ("without", "less"),
    ("difference", "less"),
    ("intersect", "within"),
    ("intersection", "within"),
    ("rotate", "turned"),
    ("rotated", "turned"),
    ("moved", "at"),
    ("translate", "at"),
    ("mirrored", "mirrored about"),
    ("offset", "outset"),
    ("scale", "scaled"),
    ("thru", "through"),
];

impl Slice<'_> {
    /// Says what is wrong, in one finding or in one for each fault that surely is one by itself.
    pub(super) fn report(&self, lower: &mut Lower<'_>) {
        let tokens = self.tokens();
        let unreadable = self.lexical(lower, &tokens);
        if unreadable.is_some_and(|first| first <= self.at) || self.brackets(lower, &tokens) {
            return;
        }
        let finding = self
            .decimal_comma(lower, &tokens)
            .or_else(|| self.misspelt_first(lower))
            .or_else(|| self.reserved(lower, &tokens))
            .or_else(|| self.equals(lower, &tokens))
            .or_else(|| self.brace_apart(lower))
            .or_else(|| self.misspelt(lower, &tokens))
            .or_else(|| self.missing_piece(lower, &tokens))
            .unwrap_or_else(|| self.unexpected(lower, &tokens));
        lower.report(finding);
    }

    fn tokens(&self) -> Vec<Token> {
        let pairs = with_rule(Rule::lexemes, self.text).into_iter().flatten().flat_map(Parts::of);
        pairs.map(|pair| Token { rule: pair.as_rule(), range: pair.as_span().start()..pair.as_span().end() }).collect()
    }

    fn written(&self, token: &Token) -> &str {
        self.text.get(token.range.clone()).unwrap_or("")
    }

    /// The token at or after the place where the parser gave up.
    fn found<'t>(&self, tokens: &'t [Token]) -> Option<&'t Token> {
        tokens.iter().find(|token| token.range.end > self.at)
    }

    /// The slice with a stretch replaced: whether it can be read then.
    fn reads_with(&self, range: Range<usize>, replacement: &str) -> bool {
        let (Some(before), Some(after)) = (self.text.get(..range.start), self.text.get(range.end..)) else {
            return false;
        };
        with_rule(self.entry, &format!("{before}{replacement}{after}")).is_ok()
    }

    /// Faults of single words, each certain by itself. Gives the place of the first that keeps the item from
    /// being read at all.
    fn lexical(&self, lower: &mut Lower<'_>, tokens: &[Token]) -> Option<usize> {
        let pairs = with_rule(Rule::lexemes, self.text).into_iter().flatten().flat_map(Parts::of);
        for pair in pairs {
            let span = lower.span(&pair);
            lower.literal(pair, span);
        }
        let mut first = None;
        let mut last_end = 0;
        for token in tokens {
            let range = token.range.clone();
            match token.rule {
                Rule::unclosed_text => lower.report(findings::unclosed_text(lower.place(range), self.written(token))),
                Rule::odd_character if first.is_none() || range.start > last_end => {
                    lower.report(findings::unknown_character(lower.place(range), self.written(token)));
                }
                Rule::odd_character => {}
                _ => continue,
            }
            last_end = token.range.end;
            first = first.or(Some(token.range.start));
        }
        first
    }

    /// Brackets and braces that have no partner. Tells whether there are any.
    fn brackets(&self, lower: &mut Lower<'_>, tokens: &[Token]) -> bool {
        let mut open: Vec<&Token> = Vec::new();
        for token in tokens.iter().filter(|token| token.rule == Rule::sign) {
            let sign = self.written(token);
            let Some(wanted) = opener(sign) else {
                if matches!(sign, "(" | "[" | "{") {
                    open.push(token);
                }
                continue;
            };
            let partner = open.pop();
            if partner.is_none_or(|partner| self.written(partner) != wanted) {
                let partner = partner.map(|partner| (lower.place(partner.range.clone()), self.written(partner)));
                lower.report(findings::bracket_mismatch(lower.place(token.range.clone()), sign, partner));
                return true;
            }
        }
        let end = self.text.len();
        if let Some(token) = open.pop() {
            let (span, end) = (lower.place(token.range.clone()), lower.place(end..end));
            lower.report(match self.written(token) {
                "{" => findings::missing_brace(span, end),
                sign => findings::unclosed_bracket(span, sign, end),
            });
            return true;
        }
        false
    }

    /// `1,5mm`, where the comma cannot part two values.
    fn decimal_comma(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let comma = tokens.iter().position(|token| token.range.start == self.at && self.written(token) == ",")?;
        let (before, comma, after) = (tokens.get(comma.checked_sub(1)?)?, tokens.get(comma)?, tokens.get(comma + 1)?);
        let digits = |token: &Token| self.written(token).starts_with(|letter: char| letter.is_ascii_digit());
        let glued = before.range.end == comma.range.start && comma.range.end == after.range.start;
        let plain = before.rule == Rule::plain && digits(after);
        (glued && plain).then(|| {
            let whole = before.range.start..after.range.end;
            let written = self.text.get(whole.clone()).unwrap_or("");
            findings::decimal_comma(lower.place(whole), written, lower.place(comma.range.clone()))
        })
    }

    /// A first word that begins no item here.
    fn misspelt_first(&self, lower: &Lower<'_>) -> Option<Diagnostic> {
        let words = item_words(self.place);
        let (start, word) = first_word(self.text);
        if word.is_empty() || words.is_empty() || words.contains(&word) {
            return None;
        }
        let range = start..start + word.len();
        let theirs = ours_for(word).filter(|ours| words.contains(ours));
        let ours = theirs.or_else(|| nearest(word, words.iter().copied()));
        let span = lower.place(range.clone());
        match ours {
            Some(ours) if self.reads_with(range, ours) => {
                Some(findings::misspelt_word(span, word, ours, theirs.is_none()))
            }
            _ if self.at == start || matches!(self.place, Place::Top | Place::Family) => {
                Some(findings::unknown_item(span, word, ours, words))
            }
            _ => None,
        }
    }

    /// One of the language's own words where a name should stand.
    fn reserved(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let token = self.found(tokens).filter(|token| token.rule == Rule::word && token.range.start >= self.at)?;
        let word = self.written(token);
        let reserved = with_rule(Rule::reserved, word).is_ok();
        (reserved && expected::wants_name(self.error))
            .then(|| findings::reserved_word(lower.place(token.range.clone()), word))
    }

    /// `=` where none should be, or none where one should be.
    fn equals(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let found = self.found(tokens)?;
        let (range, sign) = (found.range.clone(), self.written(found));
        let span = lower.place(range.clone());
        if sign == "=" && self.reads_with(range.clone(), "") {
            return Some(findings::field_with_equals(span));
        }
        if sign == "=" && self.reads_with(range.clone(), ":") {
            return Some(findings::argument_with_equals(span));
        }
        if sign == ":" && self.reads_with(range.clone(), "=") {
            return Some(findings::colon_for_equals(span));
        }
        let gap = self.text.get(..self.at)?.trim_end().len();
        self.reads_with(gap..gap, " =").then(|| findings::missing_equals(lower.place(gap..gap), span))
    }

    /// The opening brace of a block on the next line.
    fn brace_apart(&self, lower: &Lower<'_>) -> Option<Diagnostic> {
        let before = self.text.get(..self.at)?.trim_end().len();
        let gap = self.text.get(before..)?;
        let blank = gap.len() - gap.trim_start().len();
        let brace = before + blank..before + blank + 1;
        let apart = gap.get(..blank)?.contains(['\n', '\r']) && self.text.get(brace.clone())? == "{";
        (apart && self.reads_with(before..brace.start, " "))
            .then(|| findings::brace_apart(lower.place(brace.clone()), lower.place(before..brace.start)))
    }

    /// A word that should have been another one.
    fn misspelt(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let token = self.found(tokens).filter(|token| token.rule == Rule::word && token.range.start >= self.at)?;
        let word = self.written(token);
        let wanted = expected::fixed(self.error);
        let near = || nearest(word, wanted.iter().copied().filter(|text| text.starts_with(char::is_alphabetic)));
        let range = token.range.clone();
        let finding = |ours: &str, certain| {
            let reads = self.reads_with(range.clone(), ours);
            reads.then(|| findings::misspelt_word(lower.place(range.clone()), word, ours, certain))
        };
        ours_for(word).and_then(|ours| finding(ours, false)).or_else(|| near().and_then(|ours| finding(ours, true)))
    }

    /// One word or sign that is left out, where putting it in mends the item.
    fn missing_piece(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let gap = self.text.get(..self.at)?.trim_end().len();
        let fixed = expected::pieces(self.error).into_iter().filter_map(|piece| match piece {
            Piece::Fixed("to" | "by" | "from" | "depth" | "{" | "(" | "[") => None,
            Piece::Fixed(text) => Some(text),
            _ => None,
        });
        let glued = |text: &str| matches!(text, "," | ":" | ")" | "]" | "(");
        let inserted = |text: &str| if glued(text) { text.to_owned() } else { format!(" {text}") };
        let mut mends = fixed.filter(|text| self.reads_with(gap..gap, &format!("{} ", inserted(text))));
        let text = mends.next().filter(|_| mends.next().is_none())?;
        let next = self.text.get(gap..)?.starts_with([' ', '\t', '\n', '\r']) || gap == self.text.len();
        let inserted = if next || glued(text) { inserted(text) } else { format!("{} ", inserted(text)) };
        let before = tokens.iter().rfind(|token| token.range.end <= gap).map_or("", |token| self.written(token));
        Some(findings::missing_piece(lower.place(gap..gap), text, before, &inserted))
    }

    /// Whatever else: what was found and what was expected.
    fn unexpected(&self, lower: &Lower<'_>, tokens: &[Token]) -> Diagnostic {
        let expected = expected::sentence(self.error);
        let end = self.text.trim_end().len();
        match self.found(tokens) {
            Some(token) => findings::unexpected_text(lower.place(token.range.clone()), self.written(token), &expected),
            None => {
                let start = tokens.last().map_or(0, |token| token.range.start);
                findings::missing_value(lower.place(start..end), self.text.trim_end(), &expected)
            }
        }
    }
}

/// Our word for one from elsewhere.
fn ours_for(word: &str) -> Option<&'static str> {
    OURS.iter().find(|(theirs, _)| *theirs == word.to_lowercase()).map(|(_, ours)| *ours)
}

fn opener(sign: &str) -> Option<&'static str> {
    match sign {
        ")" => Some("("),
        "]" => Some("["),
        "}" => Some("{"),
        _ => None,
    }
}
