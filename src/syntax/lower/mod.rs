//! From the parser's pairs to the tree.
//!
//! Every function takes the pair of one rule of the grammar and gives the piece of tree it stands for, pushing
//! what is wrong with it. A function that gives an `Option` gives nothing only for a pair of another rule.

mod blocks;
mod broken;
mod expr;
mod items;
mod layer;
mod literal;

use super::parse::Rule;
use super::recover::{self, Place, Recovered};
use super::tree::{Item, Name, Text};
use crate::diagnostics::{Diagnostic, Problems};
use crate::source::{SourceId, Span};
use crate::syntax::findings::syntax as findings;
use pest::iterators::{Pair, Pairs};
use std::iter::Peekable;
use unicode_normalization::UnicodeNormalization;

/// Lowers the pairs of one file.
pub(super) struct Lower<'a> {
    /// The file.
    source: SourceId,
    /// Its whole text.
    pub text: &'a str,
    /// Where the text that was parsed begins in the file: 0, or the start of a slice that is read again.
    pub base: usize,
    /// How deep in an expression we are.
    depth: usize,
    /// Bad items that begin before this byte of the file have been spoken of with an earlier one.
    pub said_until: usize,
    /// Bad items of which nothing was kept.
    pub lost: Vec<Span>,
    /// What is wrong so far.
    pub problems: Problems,
}

/// The parts of a pair in order, comments left out.
pub(super) struct Parts<'i>(Peekable<Pairs<'i, Rule>>);

impl<'i> Parts<'i> {
    pub(in crate::syntax) fn of(pair: Pair<'i, Rule>) -> Self {
        Self(pair.into_inner().peekable())
    }

    fn skip_comments(&mut self) {
        while self.0.next_if(|pair| matches!(pair.as_rule(), Rule::remark | Rule::EOI)).is_some() {}
    }

    /// The next part, where it is of this rule.
    pub(super) fn get(&mut self, rule: Rule) -> Option<Pair<'i, Rule>> {
        self.skip_comments();
        self.0.next_if(|pair| pair.as_rule() == rule)
    }

    /// Whether the next part is of this rule; takes it if so.
    pub(super) fn has(&mut self, rule: Rule) -> bool {
        self.get(rule).is_some()
    }
}

impl<'i> Iterator for Parts<'i> {
    type Item = Pair<'i, Rule>;

    fn next(&mut self) -> Option<Self::Item> {
        self.skip_comments();
        self.0.next()
    }
}

impl<'a> Lower<'a> {
    pub(super) fn new(source: SourceId, text: &'a str) -> Self {
        Self { source, text, base: 0, depth: 0, said_until: 0, lost: Vec::new(), problems: Problems::default() }
    }

    /// The items of a file.
    pub(super) fn file(&mut self, pair: Pair<'_, Rule>) -> Vec<Item> {
        self.entries(pair, Place::Top).into_iter().filter_map(Recovered::into_item).collect()
    }

    pub(super) fn report(&mut self, diagnostic: Diagnostic) {
        self.problems.push(diagnostic);
    }

    /// The place of bytes of the text that is being lowered.
    pub(super) fn place(&self, range: std::ops::Range<usize>) -> Span {
        Span::new(self.source, self.base + range.start..self.base + range.end)
    }

    pub(super) fn span(&self, pair: &Pair<'_, Rule>) -> Span {
        let span = pair.as_span();
        self.place(span.start()..span.end())
    }

    fn name(&self, pair: &Pair<'_, Rule>) -> Name {
        let written = pair.as_str();
        // Normal form C is looked for only where it could differ.
        let text = if written.is_ascii() { written.to_owned() } else { written.nfc().collect() };
        Name { text, span: self.span(pair) }
    }

    /// A name that could not be read; what is wrong has been reported.
    fn no_name(&self, span: Span) -> Name {
        Name { text: String::new(), span: span.after() }
    }

    fn take_name(&mut self, parts: &mut Parts<'_>) -> Option<Name> {
        parts.get(Rule::name).or_else(|| parts.get(Rule::word)).map(|pair| self.name(&pair))
    }

    /// A string, or the slip of one in typographic quotes.
    fn take_text(&mut self, parts: &mut Parts<'_>) -> Option<Text> {
        parts.get(Rule::string).or_else(|| parts.get(Rule::curly)).map(|pair| self.text_literal(pair))
    }

    fn take_note(&mut self, parts: &mut Parts<'_>) -> Option<Text> {
        let note = parts.get(Rule::note)?;
        self.take_text(&mut Parts::of(note))
    }

    /// What stands in a block, or in the whole file: items, bad items that are read again, and the brace at the
    /// end, or the lack of it.
    fn entries(&mut self, pair: Pair<'_, Rule>, place: Place) -> Vec<Recovered> {
        let (mut found, mut open, mut run_on): (Vec<Recovered>, Option<Span>, Option<Span>) = (Vec::new(), None, None);
        for part in Parts::of(pair) {
            let span = self.span(&part);
            match part.as_rule() {
                Rule::open_brace => open = Some(span),
                Rule::close_brace => {}
                Rule::unclosed => self.missing_brace(open, span),
                Rule::stray_close => self.report(findings::extra_brace(span)),
                // Only noted: whether a line end is missing shows with what comes next, and a bad item says so by
                // itself.
                Rule::run_on => run_on = Some(span),
                Rule::bad_item => {
                    let base = self.base + part.as_span().start();
                    run_on = None;
                    found.extend(self.again(place, part.as_str(), base));
                }
                // What stands in brackets that hold a `;` has been spoken of with the item that they begin in.
                _ if (span.start as usize) < self.said_until => {}
                _ => {
                    self.two_items(run_on.take(), span);
                    found.extend(self.entry(place, part));
                }
            }
        }
        found
    }

    /// Reads a slice of the file again by itself.
    fn again(&mut self, place: Place, slice: &str, base: usize) -> Vec<Recovered> {
        let outer = std::mem::replace(&mut self.base, base);
        let found = recover::bad_slice(self, place, slice, base);
        self.base = outer;
        found
    }

    fn missing_brace(&mut self, open: Option<Span>, end: Span) {
        let before = self.text.get(..end.start as usize).unwrap_or("").trim_end().len();
        // At the end of the file the brace belongs behind the last thing written, not below the empty lines.
        let end = if end.start as usize == self.text.len() { self.at_absolute(before) } else { end };
        self.report(findings::missing_brace(open.unwrap_or(end), end));
    }

    /// The empty place at a byte of the whole file.
    fn at_absolute(&self, at: usize) -> Span {
        Span::new(self.source, at..at)
    }

    /// Two items without a line end or `;` between them; unless the first was a block without its `}`, which has
    /// its own message.
    fn two_items(&mut self, run_on: Option<Span>, second: Span) {
        let Some(run_on) = run_on else { return };
        let before = self.text.get(..run_on.start as usize).unwrap_or("").trim_end_matches([' ', '\t']);
        if before.ends_with('}') {
            let word = recover::first_word(self.text.get(second.range()).unwrap_or("")).1.len();
            let word = Span::new(self.source, second.start as usize..second.start as usize + word);
            self.report(findings::two_items(self.at_absolute(before.len()), word));
        }
    }

    /// One item of a place.
    pub(super) fn entry(&mut self, place: Place, pair: Pair<'_, Rule>) -> Option<Recovered> {
        match place {
            Place::Top => self.item(pair).map(Recovered::Item),
            Place::Layer => self.layer_item(pair).map(Recovered::Layer),
            Place::Stack => self.stack_item(pair).map(Recovered::Stack),
            Place::Wheels => self.wheel(pair).map(Recovered::Wheel),
            Place::Family => self.family_item(pair).map(Recovered::Family),
            Place::Fields => self.field(pair).map(Recovered::Field),
            Place::Bindings => self.binding(pair).map(|(name, value)| Recovered::Binding(name, value)),
            Place::Expression => Some(Recovered::Expr(self.expr(pair))),
        }
    }
}
