//! Why one bad item could not be read: the slips that people make, from the surest to the vaguest.

use super::expected::{self, Piece};
use super::words::item_words;
use super::{Place, first_word};
use crate::diagnostics::suggest::nearest;
use crate::diagnostics::{Diagnostic, Finding};
use crate::syntax::findings::{signs as signs_say, syntax as findings, units as units_say};
use crate::syntax::lower::{Lower, Parts};
use crate::syntax::parse::{Rule, with_rule};
use crate::vocabulary::foreign::{our_unit, our_word};
use crate::vocabulary::items::InnerWord;
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
pub(super) struct Token {
    /// What it is.
    pub rule: Rule,
    /// Its bytes.
    pub range: Range<usize>,
}

impl Slice<'_> {
    /// Says what is wrong, in one finding or in one for each fault that surely is one by itself.
    pub(super) fn report(&self, lower: &mut Lower<'_>) {
        let tokens = self.tokens();
        // Said already, on the line before.
        if self.closes_text(lower, &tokens) {
            return;
        }
        let unreadable = self.lexical(lower, &tokens);
        if unreadable.is_some_and(|first| first <= self.at) || self.brackets(lower, &tokens) {
            return;
        }
        if self.units_apart(lower, &tokens) {
            return;
        }
        // From the surest to the vaguest. Those that try a mend and see whether the item can be read with it come
        // before those that only look; the last always has something to say.
        let finding = self
            .bare_list(lower, &tokens)
            .or_else(|| self.decimal_comma(lower, &tokens))
            .or_else(|| self.foreign_pair(lower, &tokens))
            .or_else(|| self.misplaced(lower, &tokens))
            .or_else(|| self.misspelt_first(lower))
            .or_else(|| self.reserved(lower, &tokens))
            .or_else(|| self.equals(lower, &tokens))
            .or_else(|| self.brace_apart(lower))
            .or_else(|| self.without_brackets(lower, &tokens))
            .or_else(|| self.misspelt(lower, &tokens))
            .or_else(|| self.misspelt_ring(lower, &tokens))
            .or_else(|| self.missing_piece(lower, &tokens))
            .or_else(|| self.without_colons(lower, &tokens))
            .unwrap_or_else(|| self.unexpected(lower, &tokens));
        lower.report(finding);
    }

    fn tokens(&self) -> Vec<Token> {
        let pairs = with_rule(Rule::lexemes, self.text).into_iter().flatten().flat_map(Parts::of);
        pairs.map(|pair| Token { rule: pair.as_rule(), range: pair.as_span().start()..pair.as_span().end() }).collect()
    }

    /// The text of a token.
    pub(super) fn written(&self, token: &Token) -> &str {
        self.text.get(token.range.clone()).unwrap_or("")
    }

    /// The token at or after the place where the parser gave up.
    fn found<'t>(&self, tokens: &'t [Token]) -> Option<&'t Token> {
        tokens.iter().find(|token| token.range.end > self.at)
    }

    /// The slice with a stretch replaced: whether it can be read then.
    fn reads_with(&self, range: Range<usize>, replacement: &str) -> bool {
        self.reads_with_all(&[range], &[replacement.to_owned()])
    }

    /// The slice with several stretches replaced, in order of place.
    pub(super) fn reads_with_all(&self, ranges: &[Range<usize>], replacements: &[String]) -> bool {
        let mut text = self.text.to_owned();
        for (range, replacement) in ranges.iter().zip(replacements).rev() {
            if text.get(range.clone()).is_none() {
                return false;
            }
            text.replace_range(range.clone(), replacement);
        }
        with_rule(self.entry, &text).is_ok()
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
            if let Some(found) = self.semicolon(lower, token) {
                lower.report(found);
                return true;
            }
            let (span, end) = (lower.place(token.range.clone()), lower.place(end..end));
            lower.report(match self.written(token) {
                "{" => findings::missing_brace(span, end),
                sign => findings::unclosed_bracket(span, sign, end),
            });
            return true;
        }
        false
    }

    /// `;` in brackets that close on the same line: `[1, 2; 3]`. What follows on that line has been spoken of then.
    fn semicolon(&self, lower: &mut Lower<'_>, open: &Token) -> Option<Diagnostic> {
        let start = lower.base + self.text.trim_end().len();
        let rest = lower.text.get(start..)?;
        let rest = rest.get(..rest.find(['\n', '\r', '{', '}']).unwrap_or(rest.len()))?;
        let close = match self.written(open) {
            "(" => ')',
            "[" => ']',
            _ => return None,
        };
        let end = rest.find(close).filter(|_| rest.trim_start().starts_with(';'))? + 1;
        let end = rest.get(end..)?.find(';').map_or(rest.len(), |more| end + more);
        let rest = rest.get(..end)?;
        let whole = format!("{}{}", self.text.trim_end(), rest.replace(';', ","));
        with_rule(self.entry, &whole).ok()?;
        let signs: Vec<_> = rest
            .match_indices(';')
            .map(|(at, _)| lower.place(self.text.trim_end().len() + at..self.text.trim_end().len() + at + 1))
            .collect();
        lower.said_until = start + end;
        Some(signs_say::semicolon_in_brackets(&signs, lower.place(open.range.clone()), self.written(open)))
    }

    /// `1,5mm`, where the comma cannot part two values.
    fn decimal_comma(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let comma = tokens.iter().position(|token| token.range.start == self.at && self.written(token) == ",")?;
        let (before, comma, after) = (tokens.get(comma.checked_sub(1)?)?, tokens.get(comma)?, tokens.get(comma + 1)?);
        let digits = |token: &Token| self.written(token).starts_with(|letter: char| letter.is_ascii_digit());
        // With a blank behind it a comma parts two values.
        let glued = before.range.end == comma.range.start && comma.range.end == after.range.start;
        let plain = before.rule == Rule::plain && digits(after);
        (glued && plain).then(|| {
            let whole = before.range.start..after.range.end;
            let written = self.text.get(whole.clone()).unwrap_or("");
            findings::decimal_comma(lower.place(whole), written, lower.place(comma.range.clone()))
        })
    }

    /// `labels 1, 2, 3`: a list without its brackets.
    fn bare_list(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let comma = self.found(tokens).filter(|token| self.written(token) == ",")?;
        let commas = tokens.iter().filter(|token| self.written(token) == ",").count();
        let next = self.text.get(comma.range.end..)?;
        // `1,5mm` is a number with a decimal comma, and told as that.
        if commas == 1 && next.starts_with(|letter: char| letter.is_ascii_digit()) {
            return None;
        }
        let (first, end) = (tokens.get(1)?.range.start, self.text.trim_end().len());
        let (open, close) = (first..first, end..end);
        let reads = self.place == Place::Fields
            && self.reads_with_all(&[open.clone(), close.clone()], &["[".to_owned(), "]".to_owned()]);
        reads.then(|| {
            let whole = self.text.get(first..end).unwrap_or("");
            signs_say::bare_list(lower.place(comma.range.clone()), whole, lower.place(open), lower.place(close))
        })
    }

    /// Units that are written out, and so stand apart from their numbers: `58 millimetres`. Tells whether there are any.
    fn units_apart(&self, lower: &mut Lower<'_>, tokens: &[Token]) -> bool {
        let pairs = tokens.windows(2).filter_map(|pair| {
            let [number, unit] = pair else { return None };
            let ours =
                our_unit(self.written(unit)).filter(|_| number.rule == Rule::plain && unit.rule == Rule::word)?;
            Some((number, unit, ours))
        });
        let pairs: Vec<_> = pairs.collect();
        let gaps: Vec<_> = pairs.iter().map(|(number, unit, _)| number.range.end..unit.range.end).collect();
        let units: Vec<String> = pairs.iter().map(|(.., ours)| (*ours).to_owned()).collect();
        if pairs.is_empty() || !self.reads_with_all(&gaps, &units) {
            return false;
        }
        for ((number, unit, ours), gap) in pairs.iter().zip(&gaps) {
            let written = self.text.get(number.range.start..unit.range.end).unwrap_or("");
            let places = (lower.place(unit.range.clone()), lower.place(gap.clone()));
            lower.report(units_say::unit_apart(places, written, self.written(unit), ours));
        }
        true
    }

    /// The end of a text that was left open on the line before, which has been reported there.
    fn closes_text(&self, lower: &Lower<'_>, tokens: &[Token]) -> bool {
        let Some(quote) = tokens.iter().find(|token| token.rule == Rule::unclosed_text) else { return false };
        let after = self.text.get(quote.range.start + 1..).unwrap_or("");
        let ends = after.is_empty() || after.starts_with([',', ')', ']', '}', '\n', '\r']);
        let before = lower.text.get(..lower.base).unwrap_or("").trim_end_matches([' ', '\t']);
        let line = before.strip_suffix('\n').map(|text| text.trim_end_matches('\r'));
        let open = line.is_some_and(|line| {
            let spans = lower.problems.iter().filter(|found| found.finding == Finding::UnclosedText);
            spans.filter_map(Diagnostic::span).any(|span| span.end as usize == line.len())
        });
        ends && open && !tokens.iter().any(|token| token.rule == Rule::string)
    }

    /// A first word that begins no item here.
    fn misspelt_first(&self, lower: &Lower<'_>) -> Option<Diagnostic> {
        let words = item_words(self.place);
        let (start, word) = first_word(self.text);
        if word.is_empty() || words.is_empty() || words.contains(&word) {
            return None;
        }
        let range = start..start + word.len();
        let theirs = our_word(word).filter(|ours| words.contains(ours));
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
        if sign == ":" && self.reads_with(range.clone(), "") {
            return Some(signs_say::field_with_colon(span));
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
        // The same slip is mostly made more than once in an item, and then the first mend alone would not let it be
        // read.
        let again = |other: &&Token| other.range.start >= self.at && self.written(other) == word;
        let ranges: Vec<_> = tokens.iter().filter(again).map(|token| token.range.clone()).collect();
        let finding = |ours: &str, certain| {
            let alone = self.reads_with(range.clone(), ours);
            let reads = alone || self.reads_with_all(&ranges, &vec![ours.to_owned(); ranges.len()]);
            reads.then(|| findings::misspelt_word(lower.place(range.clone()), word, ours, certain && alone))
        };
        our_word(word).and_then(|ours| finding(ours, false)).or_else(|| near().and_then(|ours| finding(ours, true)))
    }

    /// `rng` for `ring`, which passes for the name of a shape: what comes after it is what does not fit.
    fn misspelt_ring(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let before = tokens.iter().rfind(|token| token.range.end <= self.at && token.rule == Rule::word)?;
        let word = self.written(before);
        let ours =
            nearest(word, [InnerWord::Ring.word()]).filter(|ours| self.reads_with(before.range.clone(), ours))?;
        Some(findings::misspelt_word(lower.place(before.range.clone()), word, ours, true))
    }

    /// One word or sign that is left out, where putting it in mends the item.
    fn missing_piece(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let gap = self.text.get(..self.at)?.trim_end().len();
        let fixed = expected::pieces(self.error).into_iter().filter_map(|piece| match piece {
            // These may follow almost anything: that the item can be read with them proves nothing.
            Piece::Fixed("to" | "by" | "from" | "depth" | "{" | "(" | "[") => None,
            Piece::Fixed(text) => Some(text),
            _ => None,
        });
        let glued = |text: &str| matches!(text, "," | ":" | ")" | "]" | "(");
        let inserted = |text: &str| if glued(text) { text.to_owned() } else { format!(" {text}") };
        let mends = fixed.filter(|text| self.reads_with(gap..gap, &format!("{} ", inserted(text))));
        // `circle(diameter 60mm)`: a comma would do as well, but then the word would be a value.
        let is_word = tokens.iter().rfind(|token| token.range.end <= gap).is_some_and(|token| token.rule == Rule::word);
        let mends: Vec<&str> = mends.collect();
        let text = match mends.as_slice() {
            [only] => *only,
            several if is_word && several.contains(&":") => ":",
            _ => return None,
        };
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

fn opener(sign: &str) -> Option<&'static str> {
    match sign {
        ")" => Some("("),
        "]" => Some("["),
        "}" => Some("{"),
        _ => None,
    }
}
