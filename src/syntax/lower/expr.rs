//! Expressions: operators, calls, lists.

use super::{Lower, Parts};
use crate::diagnostics::findings::syntax as findings;
use crate::limits;
use crate::source::Span;
use crate::syntax::parse::Rule;
use crate::syntax::tree::{Argument, Arithmetic, Combining, Comparison, Expr, ExprKind, ForEach, Logic, Name, Placing};
use pest::iterators::Pair;

/// An operator between two operands, with its place.
type Operator = (Rule, Span);

impl Lower<'_> {
    /// Any rule of the expression part of the grammar.
    pub(super) fn expr(&mut self, pair: Pair<'_, Rule>) -> Expr {
        let pair = innermost(pair);
        let span = self.span(&pair);
        let size = if is_chain(pair.as_rule()) { Parts::of(pair.clone()).count() / 2 } else { 1 };
        if self.depth + size > limits::EXPRESSION_DEPTH {
            self.report(findings::too_long(span));
            return Expr { kind: ExprKind::Broken, span };
        }
        self.depth += size;
        let expr = self.expr_of(pair, span);
        self.depth -= size;
        expr
    }

    fn expr_of(&mut self, pair: Pair<'_, Rule>, span: Span) -> Expr {
        let kind = match pair.as_rule() {
            Rule::if_expr => return self.if_expr(pair, span),
            Rule::or_expr | Rule::and_expr | Rule::sum | Rule::product | Rule::placed => return self.chain(pair, span),
            Rule::combined => return self.combined(pair, span),
            Rule::compare => self.compare(pair),
            Rule::not_expr => self.operand_of(pair).map(|value| ExprKind::Not(Box::new(value))),
            Rule::unary => self.operand_of(pair).map(|value| ExprKind::Negate(Box::new(value))),
            Rule::range => self.range(pair),
            Rule::call => self.call(pair),
            Rule::bracketed => self.bracketed(pair),
            Rule::list => self.list(pair),
            _ => return self.literal(pair, span),
        };
        Expr { kind: kind.unwrap_or(ExprKind::Broken), span }
    }

    /// The only operand of `not` or `-`.
    fn operand_of(&mut self, pair: Pair<'_, Rule>) -> Option<Expr> {
        Parts::of(pair).nth(1).map(|operand| self.expr(operand))
    }

    /// `else if` chains fold from the right.
    fn if_expr(&mut self, pair: Pair<'_, Rule>, span: Span) -> Expr {
        let values = Parts::of(pair).filter(|part| part.as_rule() == Rule::or_expr);
        let mut values: Vec<Expr> = values.map(|value| self.expr(value)).collect();
        let mut otherwise = values.pop().unwrap_or(Expr { kind: ExprKind::Broken, span });
        while let (Some(then), Some(condition)) = (values.pop(), values.pop()) {
            let span = condition.span.to(otherwise.span);
            let (condition, then) = (Box::new(condition), Box::new(then));
            otherwise = Expr { kind: ExprKind::If { condition, then, otherwise: Box::new(otherwise) }, span };
        }
        Expr { span, ..otherwise }
    }

    /// The first operand of a chain, then each operator with its operand.
    fn operands(&mut self, pair: Pair<'_, Rule>, span: Span) -> (Expr, Vec<(Operator, Expr)>) {
        let mut parts = Parts::of(pair);
        let first = parts.next().map_or(Expr { kind: ExprKind::Broken, span }, |first| self.expr(first));
        let mut rest = Vec::new();
        while let (Some(operator), Some(operand)) = (parts.next(), parts.next()) {
            let operator_span = self.span(&operator);
            let rule = operator_rule(operator);
            rest.push(((rule, operator_span), self.expr(operand)));
        }
        (first, rest)
    }

    /// Operators of one strength, from left to right.
    fn chain(&mut self, pair: Pair<'_, Rule>, span: Span) -> Expr {
        let (first, rest) = self.operands(pair, span);
        rest.into_iter().fold(first, |left, (operator, right)| {
            let span = left.span.to(right.span);
            Expr { kind: joined(left, operator, right), span }
        })
    }

    /// `plus`, `less` and `within`; the last mixed with the others is unclear without brackets.
    fn combined(&mut self, pair: Pair<'_, Rule>, span: Span) -> Expr {
        let (first, rest) = self.operands(pair, span);
        let within = rest.iter().find(|((rule, _), _)| *rule == Rule::WITHIN);
        let other = rest.iter().find(|((rule, _), _)| *rule != Rule::WITHIN);
        if let (Some(((_, within), _)), Some(((rule, other), _))) = (within, other) {
            let word = if *rule == Rule::PLUS { "plus" } else { "less" };
            self.report(findings::unclear_order(*within, *other, word));
            return Expr { kind: ExprKind::Broken, span };
        }
        rest.into_iter().fold(first, |left, ((rule, _), right)| {
            let span = left.span.to(right.span);
            let combining = match rule {
                Rule::PLUS => Combining::Plus,
                Rule::LESS => Combining::Less,
                _ => Combining::Within,
            };
            Expr { kind: ExprKind::Combined { combining, left: Box::new(left), right: Box::new(right) }, span }
        })
    }

    /// Comparisons may chain one way: all upwards, all downwards, or all `is`.
    fn compare(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        let mut parts = Parts::of(pair);
        let first = self.expr(parts.next()?);
        let (mut rest, mut spans) = (Vec::new(), Vec::new());
        while let (Some(operator), Some(operand)) = (parts.next(), parts.next()) {
            spans.push((self.span(&operator), operator.as_str().to_owned()));
            rest.push((comparison(operator), self.expr(operand)));
        }
        let way = rest.first().map(|(comparison, _)| way_of(*comparison))?;
        let other = rest.iter().skip(1).position(|(comparison, _)| way == 3 || way_of(*comparison) != way);
        if let (Some(at), Some((main, _))) = (other, spans.first()) {
            let (span, sign) = spans.get(at + 1)?;
            self.report(findings::unclear_comparison(*span, sign, *main));
            return None;
        }
        Some(ExprKind::Compare { first: Box::new(first), rest })
    }

    fn range(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        let mut parts = Parts::of(pair);
        let from = Box::new(self.expr(parts.next()?));
        parts.get(Rule::TO)?;
        let to = Box::new(self.expr(parts.next()?));
        let by = parts.get(Rule::BY).and_then(|_| parts.next()).map(|by| Box::new(self.expr(by)));
        Some(ExprKind::Range { from, to, by })
    }

    fn call(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        let mut parts = Parts::of(pair);
        let function = self.take_name(&mut parts)?;
        let mut arguments: Vec<Argument> = Vec::new();
        for part in parts.filter(|part| part.as_rule() == Rule::argument) {
            let mut parts = Parts::of(part);
            let name = parts.get(Rule::argument_word).and_then(|word| self.take_name(&mut Parts::of(word)));
            let value = self.expr(parts.next()?);
            match arguments.last() {
                Some(Argument { name: Some(word), value: before }) if name.is_none() => {
                    let (word, before) = (word.clone(), before.span);
                    self.nameless_argument(&word, before, value.span);
                }
                _ => {}
            }
            arguments.push(Argument { name, value });
        }
        Some(ExprKind::Call { function, arguments })
    }

    /// A value without a word after one with a word: a decimal comma, or out of order.
    fn nameless_argument(&mut self, word: &Name, before: Span, value: Span) {
        let comma = before.after().to(value);
        let text = |span: Span| self.text.get(span.range()).unwrap_or("");
        let glued = value.start == before.end + 1 && text(value).starts_with(|c: char| c.is_ascii_digit());
        if glued && text(before).bytes().all(|byte| byte.is_ascii_digit()) {
            let comma = Span { end: comma.start + 1, ..comma };
            let written = text(before.to(value)).to_owned();
            self.report(findings::decimal_comma(before.to(value), &written, comma));
        } else {
            let written = text(value).to_owned();
            self.report(findings::argument_order(value, &written, word));
        }
    }

    fn bracketed(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        let mut values = Parts::of(pair).filter(|part| part.as_rule() == Rule::expr);
        let first = Box::new(self.expr(values.next()?));
        Some(match values.next() {
            Some(second) => ExprKind::Point(first, Box::new(self.expr(second))),
            None => ExprKind::Group(first),
        })
    }

    fn list(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::open_square)?;
        match parts.get(Rule::walk) {
            Some(walk) => self.walk(walk),
            None => {
                let values = parts.filter(|part| part.as_rule() == Rule::expr);
                Some(ExprKind::List(values.map(|value| self.expr(value)).collect()))
            }
        }
    }

    fn walk(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::FOR)?;
        let variable = self.take_name(&mut parts)?;
        parts.get(Rule::IN)?;
        let list = self.expr(parts.next()?);
        let condition = parts.get(Rule::WHERE).and_then(|_| parts.next()).map(|condition| self.expr(condition));
        parts.get(Rule::colon)?;
        let value = self.expr(parts.next()?);
        Some(ExprKind::ForEach(Box::new(ForEach { variable, list, condition, value })))
    }
}

/// The pair itself, or the only one inside it where it adds nothing: a level of the grammar without an operator.
fn innermost(mut pair: Pair<'_, Rule>) -> Pair<'_, Rule> {
    loop {
        if !is_chain(pair.as_rule()) {
            return pair;
        }
        let mut parts = Parts::of(pair.clone());
        match (parts.next(), parts.next()) {
            (Some(only), None) => pair = only,
            _ => return pair,
        }
    }
}

/// Rules that stand for their only part where there is just one.
fn is_chain(rule: Rule) -> bool {
    matches!(
        rule,
        Rule::expr
            | Rule::if_expr
            | Rule::or_expr
            | Rule::and_expr
            | Rule::not_expr
            | Rule::compare
            | Rule::range
            | Rule::combined
            | Rule::placed
            | Rule::sum
            | Rule::product
            | Rule::unary
    )
}

/// The word or sign of an operator: the word inside its rule where there is one.
fn operator_rule(operator: Pair<'_, Rule>) -> Rule {
    let rule = operator.as_rule();
    Parts::of(operator).next().map_or(rule, |word| word.as_rule())
}

fn joined(left: Expr, (rule, operator_span): Operator, right: Expr) -> ExprKind {
    let (left, right) = (Box::new(left), Box::new(right));
    let operator = match rule {
        Rule::OR => return ExprKind::Logic { operator: Logic::Or, left, right },
        Rule::AND => return ExprKind::Logic { operator: Logic::And, left, right },
        Rule::plus_sign => Arithmetic::Add,
        Rule::minus_sign => Arithmetic::Subtract,
        Rule::times_sign => Arithmetic::Multiply,
        Rule::over_sign => Arithmetic::Divide,
        _ => return ExprKind::Placed { subject: left, placing: placing(rule), argument: right },
    };
    ExprKind::Arithmetic { operator, left, right, operator_span }
}

fn placing(rule: Rule) -> Placing {
    match rule {
        Rule::TURNED => Placing::Turned,
        Rule::SCALED => Placing::Scaled,
        Rule::MIRRORED => Placing::Mirrored,
        Rule::REPEATED => Placing::Repeated,
        Rule::ROUNDED => Placing::Rounded,
        Rule::INSET => Placing::Inset,
        Rule::OUTSET => Placing::Outset,
        _ => Placing::At,
    }
}

fn comparison(operator: Pair<'_, Rule>) -> Comparison {
    match operator.as_str() {
        "<" => Comparison::Less,
        "<=" => Comparison::AtMost,
        ">" => Comparison::Greater,
        ">=" => Comparison::AtLeast,
        "is" => Comparison::Is,
        _ => Comparison::IsNot,
    }
}

/// Which way a comparison points: up, down, level, or none that could chain.
fn way_of(comparison: Comparison) -> u8 {
    match comparison {
        Comparison::Less | Comparison::AtMost => 0,
        Comparison::Greater | Comparison::AtLeast => 1,
        Comparison::Is => 2,
        Comparison::IsNot => 3,
    }
}
