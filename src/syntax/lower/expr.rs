//! Expressions: operators, calls, lists.

use super::{Lower, Parts};
use crate::limits;
use crate::source::Span;
use crate::syntax::findings::syntax as findings;
use crate::syntax::parse::Rule;
use crate::syntax::tree::{Argument, Arithmetic, Combining, Comparison, Expr, ExprKind, ForEach, Logic, Name, Placing};
use pest::iterators::Pair;
use std::iter::Peekable;
use std::vec::IntoIter;

/// A word or sign between two operands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Operator {
    Arithmetic(Arithmetic),
    Placing(Placing),
    Combining(Combining),
    To,
    By,
    Comparison(Comparison),
    Logic(Logic),
}

/// An operator, where it stands, and the operand behind it.
struct Step {
    operator: Operator,
    span: Span,
    operand: Expr,
}

/// What follows a first operand.
type Steps = Peekable<IntoIter<Step>>;

impl Lower<'_> {
    /// Any rule of the expression part of the grammar.
    pub(super) fn expr(&mut self, pair: Pair<'_, Rule>) -> Expr {
        let pair = innermost(pair);
        let span = self.span(&pair);
        // A chain of n operators becomes a tree n deep, however flat it is written: it counts as that before it is
        // built.
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
            Rule::unary => self.negation(pair),
            rule if is_chain(rule) => return self.chain(pair, span),
            Rule::call => self.call(pair),
            Rule::bracketed => self.bracketed(pair),
            Rule::list => self.list(pair),
            _ => return self.literal(pair, span),
        };
        Expr { kind: kind.unwrap_or(ExprKind::Broken), span }
    }

    fn negation(&mut self, pair: Pair<'_, Rule>) -> Option<ExprKind> {
        Parts::of(pair).nth(1).map(|operand| ExprKind::Negate(Box::new(self.expr(operand))))
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

    /// A first operand and what follows it, the tightest first: see `or_expr` in the grammar.
    fn chain(&mut self, pair: Pair<'_, Rule>, span: Span) -> Expr {
        let mut parts = Parts::of(pair);
        let not = parts.get(Rule::NOT).map(|not| self.span(&not));
        let first = parts.next().map_or(Expr { kind: ExprKind::Broken, span }, |first| self.expr(first));
        let mut rest = self.steps(parts).into_iter().peekable();
        // One flat list of steps comes from the grammar, where a level for each strength would be read several times
        // over. Here they are taken in turn, the tightest first, until all levels have had theirs.
        let placed = from_left(first, &mut rest);
        let combined = self.combined(placed, &mut rest);
        let compared = self.compared(ranged(combined, &mut rest), &mut rest);
        let compared = match not {
            Some(not) => Expr { span: not.to(compared.span), kind: ExprKind::Not(Box::new(compared)) },
            None => compared,
        };
        from_left(compared, &mut rest)
    }

    /// Each operator with the operand behind it.
    fn steps(&mut self, mut parts: Parts<'_>) -> Vec<Step> {
        let mut steps = Vec::new();
        while let (Some(operator), Some(operand)) = (parts.next(), parts.next()) {
            let span = self.span(&operator);
            steps.extend(operator_of(operator).map(|operator| Step { operator, span, operand: self.expr(operand) }));
        }
        steps
    }

    /// `plus`, `less` and `within`; the last mixed with the others is unclear without brackets.
    fn combined(&mut self, first: Expr, rest: &mut Steps) -> Expr {
        let steps = taken(rest, |operator| match operator {
            Operator::Combining(combining) => Some(combining),
            _ => None,
        });
        let span = steps.last().map_or(first.span, |(_, last)| first.span.to(last.operand.span));
        let within = steps.iter().find(|(combining, _)| *combining == Combining::Within);
        let other = steps.iter().find(|(combining, _)| *combining != Combining::Within);
        if let (Some((_, within)), Some((combining, other))) = (within, other) {
            self.report(findings::unclear_order(within.span, other.span, combining.word()));
            return Expr { kind: ExprKind::Broken, span };
        }
        steps.into_iter().fold(first, |left, (combining, Step { operand: right, .. })| {
            let span = left.span.to(right.span);
            Expr { kind: ExprKind::Combined { combining, left: Box::new(left), right: Box::new(right) }, span }
        })
    }

    /// Comparisons may chain one way: all upwards, all downwards, or all `is`.
    fn compared(&mut self, first: Expr, rest: &mut Steps) -> Expr {
        let steps = taken(rest, |operator| match operator {
            Operator::Comparison(comparison) => Some(comparison),
            _ => None,
        });
        let (Some((main, main_step)), Some((_, last))) = (steps.first(), steps.last()) else { return first };
        let (way, span) = (way_of(*main), first.span.to(last.operand.span));
        // `a < b > c` holds for what nobody means, and `is not` says nothing of its ends; such chains are asked
        // about.
        let other = steps.iter().skip(1).find(|(comparison, _)| way == 3 || way_of(*comparison) != way);
        if let Some((_, other)) = other {
            let sign = self.text.get(other.span.range()).unwrap_or("").to_owned();
            self.report(findings::unclear_comparison(other.span, &sign, main_step.span));
            return Expr { kind: ExprKind::Broken, span };
        }
        let rest = steps.into_iter().map(|(comparison, step)| (comparison, step.operand)).collect();
        Expr { kind: ExprKind::Compare { first: Box::new(first), rest }, span }
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
        // `diameter: 4,5` without a blank: nobody writes arguments like that, and many write numbers so.
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
            | Rule::range
            | Rule::combined
            | Rule::placed
            | Rule::sum
            | Rule::product
            | Rule::unary
    )
}

fn operator_of(pair: Pair<'_, Rule>) -> Option<Operator> {
    let written = pair.as_str();
    Some(match pair.as_rule() {
        Rule::times_or_over | Rule::add_or_subtract => Operator::Arithmetic(match written {
            "+" => Arithmetic::Add,
            "-" => Arithmetic::Subtract,
            "*" => Arithmetic::Multiply,
            _ => Arithmetic::Divide,
        }),
        Rule::placing => Operator::Placing(Placing::of_word(written.split([' ', '\t']).next()?)?),
        Rule::combining => Operator::Combining(Combining::of_word(written)?),
        Rule::TO => Operator::To,
        Rule::BY => Operator::By,
        Rule::comparison => Operator::Comparison(comparison(written)),
        Rule::AND => Operator::Logic(Logic::And),
        Rule::OR => Operator::Logic(Logic::Or),
        _ => return None,
    })
}

/// The steps that are next and of one kind.
fn taken<T>(rest: &mut Steps, kind: impl Fn(Operator) -> Option<T>) -> Vec<(T, Step)> {
    let next = || rest.next_if(|step| kind(step.operator).is_some());
    std::iter::from_fn(next).filter_map(|step| Some((kind(step.operator)?, step))).collect()
}

/// Arithmetic, placing and logic: each acts on all that stands to its left.
fn from_left(mut left: Expr, rest: &mut Steps) -> Expr {
    while let Some(step) = rest.next_if(|step| joined_from_left(step.operator)) {
        let span = left.span.to(step.operand.span);
        let (first, second) = (Box::new(left), Box::new(step.operand));
        let kind = match step.operator {
            Operator::Logic(operator) => ExprKind::Logic { operator, left: first, right: second },
            Operator::Placing(placing) => ExprKind::Placed { subject: first, placing, argument: second },
            Operator::Arithmetic(operator) => {
                ExprKind::Arithmetic { operator, left: first, right: second, operator_span: step.span }
            }
            _ => ExprKind::Broken,
        };
        left = Expr { kind, span };
    }
    left
}

fn joined_from_left(operator: Operator) -> bool {
    matches!(operator, Operator::Logic(_) | Operator::Placing(_) | Operator::Arithmetic(_))
}

fn ranged(from: Expr, rest: &mut Steps) -> Expr {
    let Some(to) = rest.next_if(|step| step.operator == Operator::To) else { return from };
    let by = rest.next_if(|step| step.operator == Operator::By).map(|step| step.operand);
    let span = from.span.to(by.as_ref().unwrap_or(&to.operand).span);
    let kind = ExprKind::Range { from: Box::new(from), to: Box::new(to.operand), by: by.map(Box::new) };
    Expr { kind, span }
}

fn comparison(written: &str) -> Comparison {
    match written {
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
