//! Words in another order than ours, and values without their brackets or quotes.

use super::Place;
use super::slips::{Slice, Token};
use super::words::{is_called, is_operator, item_words};
use crate::diagnostics::Diagnostic;
use crate::diagnostics::suggest::nearest;
use crate::syntax::findings::order as say;
use crate::syntax::lower::Lower;
use crate::syntax::parse::{Rule, with_rule};
use crate::vocabulary::foreign::{is_flow, our_word};
use crate::vocabulary::items::{InnerWord, ItemWord};
use crate::vocabulary::tails::TailKind;
use crate::vocabulary::works::Work;

impl Slice<'_> {
    /// The surest of these slips.
    pub(super) fn misplaced(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        // The order is that of certainty: each asks for more than those behind it before it speaks.
        self.without_quotes(lower, tokens)
            .or_else(|| self.tag(lower, tokens))
            .or_else(|| self.quotes_within(lower, tokens))
            .or_else(|| self.other_brackets(lower, tokens))
            .or_else(|| self.tail_first(lower, tokens))
            .or_else(|| self.swapped(lower, tokens))
            .or_else(|| self.colon_for_brace(lower))
            .or_else(|| self.word_later(lower, tokens))
    }

    /// `dial Heath Fire`
    fn without_quotes(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let (word, next) = (self.written(tokens.first()?), tokens.get(1)?);
        let titled = matches!(
            ItemWord::of_word(word),
            Some(ItemWord::Dial | ItemWord::Shop | ItemWord::With | ItemWord::Typeface)
        );
        let range = next.range.start..self.text.trim_end().len();
        let bare = self.text.get(range.clone())?;
        let quoted = format!("\"{bare}\"");
        // A quote or a backslash in it would need more than quotes round it.
        let fits = titled && next.rule == Rule::word && !bare.contains(['"', '\\', '\n', '\r', '{']);
        (fits && self.reads_with_all(std::slice::from_ref(&range), std::slice::from_ref(&quoted)))
            .then(|| say::without_quotes(lower.place(range), word, &quoted))
    }

    /// `<circle r="30"/>` on a line of its own, which would otherwise go on with the line before it.
    fn tag(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let opens = |pair: &&[Token]| {
            let [sign, name] = pair else { return false };
            let before = self.text.get(..sign.range.start).unwrap_or("").trim_end_matches([' ', '\t']);
            let first = before.is_empty() || before.ends_with(['\n', '\r']);
            first && self.written(sign) == "<" && name.rule == Rule::word && name.range.start == sign.range.end
        };
        let sign = tokens.windows(2).find(opens)?.first()?;
        Some(say::tag(lower.place(sign.range.clone())))
    }

    /// `"The "Salt" Inn"`
    fn quotes_within(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let is_text = |token: &&Token| token.rule == Rule::string;
        let touches = |pair: &&[Token]| {
            let [one, other] = pair else { return false };
            one.rule == Rule::string && other.rule == Rule::word && one.range.end == other.range.start
        };
        let inner = tokens.windows(2).find(touches)?.get(1)?;
        let (first, last) = (tokens.iter().find(is_text)?, tokens.iter().rfind(is_text)?);
        let range = first.range.start..last.range.end;
        let words = self.text.get(range.start + 1..range.end.checked_sub(1)?)?;
        let text = format!("\"{}\"", words.replace('"', "\\\""));
        let mend = self.reads_with_all(std::slice::from_ref(&range), std::slice::from_ref(&text));
        let mend = mend.then(|| (lower.place(range), text));
        Some(say::quote_within(lower.place(inner.range.start - 1..inner.range.start), mend))
    }

    /// `circle[diameter: 60mm]`
    fn other_brackets(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        tokens.windows(2).find_map(|pair| {
            let [word, open] = pair else { return None };
            let glued = is_called(self.written(word)) && word.range.end == open.range.start;
            let closer = match self.written(open) {
                "[" => "]",
                "{" => "}",
                "<" => ">",
                _ => return None,
            };
            let after = tokens.iter().filter(|token| token.range.start >= open.range.end);
            let close = after.filter(|_| glued).find(|token| self.written(token) == closer)?;
            let (open_range, close_range) = (open.range.clone(), close.range.clone());
            let reads = self.reads_with_all(&[open_range, close_range], &["(".to_owned(), ")".to_owned()]);
            let places = (lower.place(open.range.clone()), lower.place(close.range.clone()));
            Some(say::other_brackets(self.written(word), self.written(open), places, reads))
        })
    }

    /// `circle diameter: 60mm`
    pub(super) fn without_brackets(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let (at, word) = tokens.iter().enumerate().find(|(at, token)| {
            let next = tokens.get(at + 1).map(|next| self.written(next));
            let goes_on = |next: &str| !is_operator(next) && !next.starts_with(['(', ')', ',', '=', ':']);
            token.rule == Rule::word && is_called(self.written(token)) && next.is_some_and(goes_on)
        })?;
        let next = tokens.get(at + 1)?;
        let opens = word.range.end..next.range.start;
        let later = tokens.iter().skip(at + 2);
        let stops = later.filter(|token| token.rule == Rule::word && is_operator(self.written(token)));
        let ends = stops.map(|token| self.text.get(..token.range.start).map_or(0, |text| text.trim_end().len()));
        let ends = ends.chain([self.text.trim_end().len()]);
        let mend = ends
            .into_iter()
            .find(|end| self.reads_with_all(&[opens.clone(), *end..*end], &["(".to_owned(), ")".to_owned()]));
        let mend = mend.map(|end| (lower.place(opens.clone()), lower.place(end..end)));
        Some(say::without_brackets(self.written(word), lower.place(next.range.clone()), mend))
    }

    /// `polygon(sides 8, across_flats 58mm)`: several words in brackets without their colons.
    pub(super) fn without_colons(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let mut depth = 0usize;
        let gaps = tokens.windows(2).filter_map(|pair| {
            let [word, value] = pair else { return None };
            match self.written(word) {
                "(" => depth += 1,
                ")" => depth = depth.saturating_sub(1),
                _ => {}
            }
            let is_value =
                matches!(value.rule, Rule::plain | Rule::measure | Rule::fraction | Rule::mixed | Rule::string);
            let is_word = word.rule == Rule::word && !is_operator(self.written(word));
            (depth > 0 && is_word && is_value).then_some(word)
        });
        let words: Vec<&Token> = gaps.collect();
        let gaps: Vec<_> = words.iter().map(|word| word.range.end..word.range.end).collect();
        if !self.reads_with_all(&gaps, &vec![":".to_owned(); gaps.len()]) {
            return None;
        }
        let places: Vec<_> = gaps.into_iter().map(|gap| lower.place(gap)).collect();
        Some(say::without_colons(&places, self.written(words.first()?)))
    }

    /// `engrave tone 60% text("BARN", height: 4mm)`
    fn tail_first(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let pair = tokens.windows(2).take(2).find(|pair| {
            let [work, tail] = pair else { return false };
            Work::of_word(self.written(work)).is_some() && TailKind::of_word(self.written(tail)).is_some()
        })?;
        let [work, tail] = pair else { return None };
        Some(say::tail_first(lower.place(tail.range.clone()), self.written(work), self.written(tail)))
    }

    /// `ring engrave crew { … }` and `reads through peep crew`
    fn swapped(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let written: Vec<&str> = tokens.iter().take(5).map(|token| self.written(token)).collect();
        match written.as_slice() {
            [ring, work, ..] if *ring == InnerWord::Ring.word() && Work::of_word(work).is_some() => {
                let [first, second] = [tokens.first()?.range.clone(), tokens.get(1)?.range.clone()];
                let whole = first.start..second.end;
                let ours = format!("{work} ring");
                let reads = self.reads_with_all(std::slice::from_ref(&whole), std::slice::from_ref(&ours));
                Some(say::swapped(lower.place(whole), &ours, reads))
            }
            [reads, how, opening, ring]
                if *reads == ItemWord::Reads.word()
                    && matches!(InnerWord::of_word(how), Some(InnerWord::Through | InnerWord::Beside)) =>
            {
                let whole = tokens.get(1)?.range.start..tokens.get(3)?.range.end;
                let ours = format!("{ring} {how} {opening}");
                let reads = self.reads_with_all(std::slice::from_ref(&whole), std::slice::from_ref(&ours));
                Some(say::swapped(lower.place(whole), &ours, reads))
            }
            _ => None,
        }
    }

    /// `layer base of birch:` and then lines further in.
    fn colon_for_brace(&self, lower: &Lower<'_>) -> Option<Diagnostic> {
        let line = self.text.lines().next()?.trim_end();
        let head = line.strip_suffix(':')?;
        with_rule(self.entry, &format!("{head} {{ }}")).ok()?;
        Some(say::colon_for_brace(lower.place(head.len()..line.len()), head.trim()))
    }

    /// `birch layer base { … }`: the word that begins the item stands later in it.
    fn word_later(&self, lower: &Lower<'_>, tokens: &[Token]) -> Option<Diagnostic> {
        let words = item_words(self.place);
        let first = self.written(tokens.first().filter(|token| token.rule == Rule::word)?);
        let known =
            words.contains(&first) || our_word(first).is_some() || nearest(first, words.iter().copied()).is_some();
        if known || is_flow(first) || matches!(self.place, Place::Fields | Place::Bindings | Place::Expression) {
            return None;
        }
        let mut depth = 0usize;
        let later = tokens.iter().skip(1).find(|token| {
            match self.written(token) {
                "(" | "[" | "{" => depth += 1,
                ")" | "]" | "}" => depth = depth.saturating_sub(1),
                _ => {}
            }
            depth == 0 && token.rule == Rule::word && words.contains(&self.written(token))
        })?;
        Some(say::word_later(lower.place(later.range.clone()), self.written(later)))
    }
}
