//! Signs, blanks and remarks that belong to other languages, or to a page that a text was copied from.

use super::Place;
use super::slips::{Slice, Token};
use crate::diagnostics::{Diagnostic, Edit};
use crate::source::Span;
use crate::syntax::findings::signs as say;
use crate::syntax::findings::{syntax as findings, units as units_say};
use crate::syntax::lower::{Lower, Parts};
use crate::syntax::parse::{Rule, with_rule};
use std::collections::BTreeMap;
use std::ops::Range;

/// The slice with every remark that another language would understand overwritten by blanks, so that all other
/// places stay true; each is reported. None where there is no such remark.
pub(super) fn without_remarks(lower: &mut Lower<'_>, place: Place, slice: &str) -> Option<String> {
    let begins = |sign: &str| slice.contains(sign);
    if !["#", "/*", "<!--"].into_iter().any(begins) {
        return None;
    }
    let mut remarks: Vec<Range<usize>> = Vec::new();
    let lead = slice.len() - slice.trim_start().len();
    if slice.get(lead..)?.starts_with('#') && place != Place::Expression {
        // At the start of an item `#` begins no colour, whatever follows it.
        let end = slice.get(lead..)?.find(['\n', '\r']).map_or(slice.len(), |at| lead + at);
        remarks.push(lead..end);
    }
    // By whole words and signs: `/*` in a text in quotes is no remark.
    let lexemes = with_rule(Rule::lexemes, slice).ok()?.flat_map(Parts::of);
    for lexeme in lexemes.filter(|lexeme| lexeme.as_rule() == Rule::odd_remark) {
        let range = lexeme.as_span().start()..lexeme.as_span().end();
        if remarks.last().is_none_or(|last| last.end <= range.start) {
            remarks.push(range);
        }
    }
    let mut cleaned = slice.to_owned();
    for range in &remarks {
        let written = slice.get(range.clone())?;
        let ends_line = slice.get(range.end..)?.trim_start_matches([' ', '\t']).is_empty()
            || slice.get(range.end..)?.trim_start_matches([' ', '\t']).starts_with(['\n', '\r']);
        let base = lower.base + range.start;
        let before = lower.text.get(..base)?.trim_end_matches([' ', '\t']);
        let alone = ends_line && (before.is_empty() || before.ends_with('\n'));
        lower.report(say::foreign_remark(lower.place(range.clone()), written, ends_line, alone));
        // By as many blanks as it had bytes.
        cleaned.replace_range(range.clone(), &" ".repeat(range.len()));
    }
    (!remarks.is_empty()).then_some(cleaned)
}

/// What an odd character is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Odd<'t> {
    /// A blank that is not the plain one.
    Blank,
    /// Something that leaves no trace on the screen.
    Unseen,
    /// A sign of a script whose signs are as wide as its letters.
    FullWidth,
    /// Any other; with its neighbours, where they are one sign together.
    Sign(&'t str),
}

fn classed(written: &str) -> Odd<'_> {
    let letter = written.chars().next().unwrap_or(' ');
    match letter {
        '\u{ff01}'..='\u{ff5e}' | '\u{3001}' | '\u{3002}' => Odd::FullWidth,
        _ if written.trim().is_empty() => Odd::Blank,
        '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' => {
            Odd::Unseen
        }
        _ if letter.is_control() => Odd::Unseen,
        _ => Odd::Sign(written),
    }
}

/// The plain sign for a full-width one.
fn plain_sign(written: &str) -> String {
    use unicode_normalization::UnicodeNormalization;
    match written {
        "\u{3001}" => ",".to_owned(),
        "\u{3002}" => ".".to_owned(),
        _ => written.nfkc().collect(),
    }
}

/// Signs of other languages: how they are written, what may stand instead, the surest first, and what to write where
/// that needs more words.
const FOREIGN: [(&str, &[&str], &str); 32] = [
    ("==", &["is", "=", ":"], "write `is` to compare, and `=` to give a name its value"),
    (":=", &["=", ":"], ""),
    ("!=", &["is not"], ""),
    ("<>", &["is not"], ""),
    ("≠", &["is not"], ""),
    ("≤", &["<="], ""),
    ("=<", &["<="], ""),
    ("≥", &[">="], ""),
    ("=>", &[">=", ":", "="], ""),
    ("->", &[":", "="], ""),
    ("&&", &["and"], "write `and` between conditions; regions are joined with `plus`"),
    ("&", &["and"], "write `and` between conditions; regions are joined with `plus`"),
    ("||", &["or"], ""),
    ("|", &["or"], ""),
    ("!", &["not"], "write `not` before a condition"),
    ("×", &["by", "*"], "write `by` between the sides of a size, and `*` to multiply"),
    ("·", &["*"], "write `*` to multiply"),
    ("÷", &["/"], "write `/` to divide"),
    ("−", &["-"], ""),
    ("–", &["-"], "write `-`; a range is written `0 to 9`"),
    ("—", &["-"], ""),
    ("**", &[], "a square is written `a * a`"),
    ("^", &[], "a square is written `a * a`"),
    ("²", &[], "a square is written `a * a`"),
    ("..", &["to"], "a range is written `0 to 9`"),
    ("...", &["to"], "a range is written `0 to 9`"),
    ("°", &["deg"], "write `deg`"),
    ("½", &["1/2"], "write fractions with a slash: `1/2in`, `1 1/2in`"),
    ("¼", &["1/4"], "write fractions with a slash: `1/4in`, `1 1/4in`"),
    ("¾", &["3/4"], "write fractions with a slash: `3/4in`, `1 3/4in`"),
    ("?", &[], "a choice is written `if n > 6 then 3mm else 4mm`"),
    ("…", &[], "in an example it stands for what you fill in yourself: write that here, or take it away"),
];

impl Slice<'_> {
    /// Faults of single words and signs, each certain by itself. Gives the place of the first that keeps the item
    /// from being read at all.
    pub(super) fn lexical(&self, lower: &mut Lower<'_>, tokens: &[Token]) -> Option<usize> {
        let pairs = with_rule(Rule::lexemes, self.text).into_iter().flatten().flat_map(Parts::of);
        for pair in pairs {
            let span = lower.span(&pair);
            lower.literal(pair, span);
        }
        let mut first = None;
        for token in tokens.iter().filter(|token| token.rule == Rule::unclosed_text) {
            lower.report(findings::unclosed_text(lower.place(token.range.clone()), self.written(token)));
            first = first.or(Some(token.range.start));
        }
        let mut odd: BTreeMap<Odd<'_>, Vec<Range<usize>>> = BTreeMap::new();
        let runs = self.odd_runs(tokens);
        for range in &runs {
            let written = self.text.get(range.clone()).unwrap_or("");
            odd.entry(classed(written)).or_default().push(range.clone());
        }
        first = first.into_iter().chain(runs.first().map(|range| range.start)).min();
        // One finding a kind and not a place: a text pasted from a page may hold the same blank a hundred times.
        for (class, ranges) in odd {
            let finding = self.odd(lower, class, &ranges, &runs);
            lower.report(finding);
        }
        let sides = |token: &&Token| units_say::sides(self.written(token)).is_some() && token.rule == Rule::measure;
        first.into_iter().chain(tokens.iter().find(sides).map(|token| token.range.start)).min()
    }

    /// The places of odd characters; two in a row that are one sign together count as one.
    fn odd_runs(&self, tokens: &[Token]) -> Vec<Range<usize>> {
        let mut runs: Vec<Range<usize>> = Vec::new();
        let is_odd = |token: &Token| matches!(token.rule, Rule::odd_character | Rule::odd_range);
        for (at, token) in tokens.iter().enumerate().filter(|(_, token)| is_odd(token)) {
            if runs.last().is_some_and(|last| token.range.start < last.end) {
                continue;
            }
            let both = tokens.get(at + 1).map(|next| token.range.start..next.range.end);
            let both = both.filter(|_| token.rule == Rule::odd_character);
            let pair = both.filter(|range| self.text.get(range.clone()).is_some_and(|text| foreign(text).is_some()));
            runs.push(pair.unwrap_or_else(|| token.range.clone()));
        }
        runs
    }

    /// What is said of odd characters of one kind, all of them at once.
    fn odd(&self, lower: &Lower<'_>, class: Odd<'_>, ranges: &[Range<usize>], all: &[Range<usize>]) -> Diagnostic {
        let spans: Vec<_> = ranges.iter().map(|range| lower.place(range.clone())).collect();
        let written = ranges.first().and_then(|range| self.text.get(range.clone())).unwrap_or("");
        let edits = |text: &dyn Fn(&str) -> String| -> Vec<Edit> {
            let texts = ranges.iter().map(|range| text(self.text.get(range.clone()).unwrap_or("")));
            spans.iter().zip(texts).map(|(span, text)| Edit { span: *span, text }).collect()
        };
        match class {
            Odd::Blank => say::special_blank(&spans, edits(&|_| " ".to_owned())),
            Odd::Unseen => say::unseen(&spans, written, edits(&|_| String::new())),
            Odd::FullWidth => say::full_width(&spans, written, &plain_sign(written), edits(&plain_sign)),
            Odd::Sign(sign) => self.foreign_sign(&spans, ranges, sign, all),
        }
    }

    /// A sign of another language, at every place where the item has it; the mend is certain where the item can be
    /// read with it and with all other odd characters mended too.
    fn foreign_sign(&self, spans: &[Span], ranges: &[Range<usize>], sign: &str, all: &[Range<usize>]) -> Diagnostic {
        let (instead, about) = foreign(sign).unwrap_or((&[], ""));
        let reads = |ours: &&&str| {
            let texts = all
                .iter()
                .map(|range| if ranges.contains(range) { self.fitted(range, ours) } else { self.usual(range) });
            self.reads_with_all(all, &texts.collect::<Vec<String>>())
        };
        // Tried and not guessed: what is offered as certain is the first of ours with which the item can be read.
        let fits = instead.iter().find(reads).copied();
        let edit = |ours: &str| -> Vec<Edit> {
            let texts = ranges.iter().map(|range| self.fitted(range, ours));
            spans.iter().zip(texts).map(|(span, text)| Edit { span: *span, text }).collect()
        };
        let ours = fits.or(instead.first().copied());
        say::foreign_sign(spans, sign, ours, about, fits.map(edit).unwrap_or_default())
    }

    /// What is most likely meant by an odd character.
    fn usual(&self, range: &Range<usize>) -> String {
        let written = self.text.get(range.clone()).unwrap_or("");
        match classed(written) {
            Odd::Blank => " ".to_owned(),
            Odd::Unseen => String::new(),
            Odd::FullWidth => plain_sign(written),
            Odd::Sign(sign) => match foreign(sign).and_then(|(instead, _)| instead.first()) {
                Some(ours) => self.fitted(range, ours),
                None => written.to_owned(),
            },
        }
    }

    /// A replacement with blanks where a word would touch its neighbours.
    fn fitted(&self, range: &Range<usize>, text: &str) -> String {
        let wordy = text.starts_with(char::is_alphanumeric);
        let touches = |letter: Option<char>| letter.is_some_and(|letter| !letter.is_whitespace());
        let before = self.text.get(..range.start).and_then(|text| text.chars().next_back());
        let after = self.text.get(range.end..).and_then(|text| text.chars().next());
        let fraction = text.contains('/') && text.len() > 1;
        let before = if wordy && touches(before) && (!fraction || before.is_some_and(|it| it.is_ascii_digit())) {
            " "
        } else {
            ""
        };
        let after = if wordy && !fraction && touches(after) { " " } else { "" };
        format!("{before}{text}{after}")
    }

    /// Two signs of ours that are one sign of another language, where the parser gave up at one of them.
    pub(super) fn foreign_pair(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let at = tokens.iter().position(|token| token.range.end > self.at)?;
        let pairs = [at.checked_sub(1).map(|before| (before, at)), Some((at, at + 1))];
        pairs.into_iter().flatten().find_map(|(one, other)| {
            let (one, other) = (tokens.get(one)?, tokens.get(other)?);
            let range = one.range.start..other.range.end;
            let sign = self.text.get(range.clone()).filter(|_| one.range.end == other.range.start)?;
            foreign(sign)?;
            let ranges = [range.clone()];
            Some(self.foreign_sign(&[lower.place(range)], &ranges, sign, &ranges))
        })
    }
}

fn foreign(sign: &str) -> Option<(&'static [&'static str], &'static str)> {
    FOREIGN.iter().find(|(theirs, ..)| *theirs == sign).map(|(_, ours, about)| (*ours, *about))
}
