//! Literals: numbers, strings, colours, and the slips in them that are understood.

use super::{Lower, Parts};
use crate::limits;
use crate::source::Span;
use crate::syntax::depth::too_deep;
use crate::syntax::findings::{syntax as findings, units as units_say};
use crate::syntax::parse::Rule;
use crate::syntax::recover::{Place, Recovered};
use crate::syntax::tree::{Expr, ExprKind, Number, Text, TextPiece};
use crate::units::unit_named;
use pest::iterators::Pair;

impl Lower<'_> {
    /// A literal or a name.
    pub(in crate::syntax) fn literal(&mut self, pair: Pair<'_, Rule>, span: Span) -> Expr {
        let kind = match pair.as_rule() {
            Rule::TRUE => Some(ExprKind::Truth(true)),
            Rule::FALSE => Some(ExprKind::Truth(false)),
            Rule::name => Some(ExprKind::Name(self.name(&pair).text)),
            Rule::string => Some(self.filled(pair)),
            Rule::curly => Some(ExprKind::Text(self.text_literal(pair).value)),
            Rule::colour => colour(pair.as_str()).map(ExprKind::Colour),
            Rule::odd_colour => {
                self.report(findings::bad_colour(span, pair.as_str()));
                None
            }
            Rule::plain | Rule::measure | Rule::fraction | Rule::mixed => self.number(pair).map(ExprKind::Number),
            _ => None,
        };
        Expr { kind: kind.unwrap_or(ExprKind::Broken), span }
    }

    /// A number; none where its unit or fraction makes no sense, which is reported.
    fn number(&mut self, pair: Pair<'_, Rule>) -> Option<Number> {
        let (rule, span, written) = (pair.as_rule(), self.span(&pair), pair.as_str());
        let mut parts = Parts::of(pair);
        let value = match rule {
            Rule::mixed => {
                let whole = digits(parts.get(Rule::digits)?.as_str());
                let number = self.fraction(Parts::of(parts.get(Rule::fraction)?), span, Some(whole))?;
                return Some(number);
            }
            Rule::fraction => return self.fraction(parts, span, None),
            _ => self.decimal(&mut parts, span)?,
        };
        let Some(unit) = parts.next() else { return Some(Number { value, unit: None }) };
        self.with_unit(value, unit, written)
    }

    fn decimal(&mut self, parts: &mut Parts<'_>, span: Span) -> Option<f64> {
        let digits = parts.next()?;
        if digits.as_rule() == Rule::leading_dot {
            let written = self.text.get(span.range()).unwrap_or("").to_owned();
            self.report(findings::leading_dot(span, &written));
            // Reported, and read all the same: what was meant is certain, so nothing else need fail.
            return format!("0{}", digits.as_str()).parse().ok();
        }
        digits.as_str().parse().ok()
    }

    fn fraction(&mut self, mut parts: Parts<'_>, span: Span, whole: Option<f64>) -> Option<Number> {
        let over = digits(parts.get(Rule::digits)?.as_str());
        let under = digits(parts.get(Rule::digits)?.as_str());
        let written = self.text.get(span.range()).unwrap_or("").to_owned();
        let unit = parts.next()?;
        let unit_text = unit.as_str();
        let number = self.with_unit(whole.unwrap_or(0.0) + over / under, unit, &written)?;
        // `12/5mm` may be twelve fifths or a division whose unit is missing, and nobody can tell which.
        if over >= under {
            self.report(findings::odd_fraction(span, &written, (whole.unwrap_or(0.0), over, under), unit_text));
            return None;
        }
        Some(number)
    }

    fn with_unit(&mut self, value: f64, unit: Pair<'_, Rule>, written: &str) -> Option<Number> {
        match unit_named(unit.as_str()) {
            Some(unit) => Some(Number { value, unit: Some(unit) }),
            None => {
                self.report(units_say::unknown_unit(self.span(&unit), unit.as_str(), written));
                None
            }
        }
    }

    /// A string with the values in it, if there are any.
    fn filled(&mut self, pair: Pair<'_, Rule>) -> ExprKind {
        let (mut pieces, mut letters) = (Vec::new(), String::new());
        for part in Parts::of(pair) {
            if part.as_rule() == Rule::value_in {
                if !letters.is_empty() {
                    pieces.push(TextPiece::Letters(std::mem::take(&mut letters)));
                }
                pieces.push(TextPiece::Value(self.value_in(part)));
            } else {
                letters.push_str(&self.letters(&part));
            }
        }
        if pieces.is_empty() {
            return ExprKind::Text(letters);
        }
        if !letters.is_empty() {
            pieces.push(TextPiece::Letters(letters));
        }
        ExprKind::Filled(pieces)
    }

    /// A value in braces within a string.
    fn value_in(&mut self, pair: Pair<'_, Rule>) -> Expr {
        let span = self.span(&pair);
        let broken = Expr { kind: ExprKind::Broken, span };
        let Some(inside) = Parts::of(pair).get(Rule::value_text) else { return broken };
        let place = self.span(&inside);
        // What stands in a string was not counted with the brackets of the file.
        if too_deep(inside.as_str(), limits::NESTING).is_some() {
            self.report(findings::too_deep(place));
            return broken;
        }
        let value = self.again(Place::Expression, inside.as_str(), place.start as usize);
        let value = value.into_iter().find_map(Recovered::into_expr).unwrap_or(broken);
        if let ExprKind::Number(Number { unit: None, .. }) = value.kind {
            self.zeros_lost(value.span);
        }
        value
    }

    /// A number in a string that loses its leading zeros.
    fn zeros_lost(&mut self, number: Span) {
        let written = self.text.get(number.range()).unwrap_or("");
        let is_whole = written.len() > 1 && written.bytes().all(|byte| byte.is_ascii_digit());
        if is_whole && written.starts_with('0') {
            let shown = written.trim_start_matches('0');
            self.report(findings::zeros_in_text(number, written, if shown.is_empty() { "0" } else { shown }));
        }
    }

    /// What a piece of a string that is no value says; one that says nothing is reported.
    fn letters(&mut self, part: &Pair<'_, Rule>) -> String {
        let (span, written) = (self.span(part), part.as_str());
        match part.as_rule() {
            Rule::letters => return written.to_owned(),
            Rule::odd_brace => {
                let rest = self.text.get(span.end as usize..).unwrap_or("").lines().next().unwrap_or("");
                self.report(findings::brace_in_text(span, rest));
            }
            Rule::value_in => self.report(findings::value_too_soon(span, written)),
            _ => match escaped(written) {
                Some(letter) => return letter.to_string(),
                None => self.report(findings::bad_escape(span, written)),
            },
        }
        String::new()
    }

    /// A string that holds no values, its escapes resolved; also one in typographic quotes, which is reported.
    pub(in crate::syntax) fn text_literal(&mut self, pair: Pair<'_, Rule>) -> Text {
        let span = self.span(&pair);
        if pair.as_rule() == Rule::curly {
            let (open, written) = (pair.as_str().chars().next().unwrap_or('“'), pair.as_str());
            let value = Parts::of(pair).find(|part| part.as_rule() == Rule::curly_letters);
            let value = value.map_or("", |part| part.as_str()).to_owned();
            self.report(findings::typographic_quote(span, open, &value, written));
            return Text { value, span };
        }
        let value = Parts::of(pair).map(|part| self.letters(&part)).collect();
        Text { value, span }
    }
}

/// Digits as a number; more than fit a float become infinite, which later stages refuse by its size.
fn digits(text: &str) -> f64 {
    text.parse().unwrap_or(f64::INFINITY)
}

fn escaped(text: &str) -> Option<char> {
    match text {
        "\\n" => Some('\n'),
        "\\\"" => Some('"'),
        "\\\\" => Some('\\'),
        "\\{" => Some('{'),
        _ => {
            let hex = text.strip_prefix("\\u{")?.strip_suffix('}')?;
            char::from_u32(u32::from_str_radix(hex, 16).ok()?)
        }
    }
}

fn colour(text: &str) -> Option<[u8; 3]> {
    let part = |range| text.get(range).and_then(|hex| u8::from_str_radix(hex, 16).ok());
    Some([part(1..3)?, part(3..5)?, part(5..7)?])
}
