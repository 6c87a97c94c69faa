//! Expressions as documents.

use super::doc::{self, Doc, Gap};
use super::items::Builder;
use crate::source::Span;
use crate::syntax::tree::{Argument, Arithmetic, Comparison, Expr, ExprKind, ForEach, Logic, Placing, Size, TextPiece};

impl Builder<'_> {
    /// An expression.
    pub(super) fn expr(&mut self, expr: &Expr) -> Doc {
        match &expr.kind {
            // From the text and not from the value: 2.50 stays 2.50, as the author wrote it.
            ExprKind::Number(number) => Doc::text(self.number(expr.span, number.unit.is_some())),
            ExprKind::Colour(_) => Doc::text(self.source(expr.span).to_ascii_lowercase()),
            ExprKind::Name(name) => Doc::text(name),
            ExprKind::Text(_) | ExprKind::Truth(_) | ExprKind::Broken => Doc::text(self.source(expr.span)),
            ExprKind::Filled(pieces) => Doc::text(self.filled(pieces, expr.span)),
            ExprKind::Call { function, arguments } => self.call(&function.text, arguments, expr.span),
            ExprKind::Group(inner) => {
                let inner = self.values(std::iter::once(inner.as_ref()));
                self.bracketed("(", inner, ")", "", expr.span)
            }
            ExprKind::Point(x, y) => {
                let values = self.values([x.as_ref(), y.as_ref()].into_iter());
                self.bracketed("(", values, ")", "", expr.span)
            }
            ExprKind::List(values) => self.list(values, expr.span),
            ExprKind::ForEach(walk) => self.walk(walk, expr.span),
            ExprKind::Negate(operand) => Doc::group(vec![Doc::text("-"), self.expr(operand)]),
            ExprKind::Not(operand) => Doc::group(vec![Doc::text("not "), self.expr(operand)]),
            ExprKind::If { .. } => self.choice(expr),
            ExprKind::Range { from, to, by } => {
                let steps = std::iter::once(("to ", to.as_ref())).chain(by.as_deref().map(|by| ("by ", by)));
                self.chain(from, steps.map(|(word, operand)| (word.to_owned(), operand)).collect())
            }
            ExprKind::Compare { first, rest } => {
                let steps = rest.iter().map(|(sign, operand)| (format!("{} ", self::sign(*sign)), operand));
                self.chain(first, steps.collect())
            }
            _ => {
                let (first, rest) = spine(expr);
                self.chain(first, rest)
            }
        }
    }

    /// A text with its values laid out on one line: a text never breaks.
    fn filled(&mut self, pieces: &[TextPiece], span: Span) -> String {
        let (mut text, mut from) = (String::new(), span.range().start);
        for value in pieces.iter().filter_map(TextPiece::value) {
            // Blanks round a value are no letters of the text.
            let before = self.text_between(from, value.span.range().start).trim_end_matches([' ', '\t']);
            text.push_str(before);
            text.push_str(&doc::flat(&self.expr(value)));
            let after = self.text_between(value.span.range().end, span.range().end);
            from = value.span.range().end + after.find('}').unwrap_or(0);
        }
        text.push_str(self.text_between(from, span.range().end));
        text
    }

    /// Operands of one strength with what stands between them; all on one line, or each further one on its own.
    fn chain(&mut self, first: &Expr, rest: Vec<(String, &Expr)>) -> Doc {
        let first = self.expr(first);
        let mut further = Vec::new();
        for (operator, operand) in rest {
            further.push(self.gap(operand.span.start, " ", true));
            further.push(Doc::text(operator));
            further.push(self.expr(operand));
        }
        Doc::group(vec![first, Doc::Indent(further)])
    }

    /// `A by B by C`
    pub(super) fn size(&mut self, size: &Size) -> Doc {
        match size.sides.split_first() {
            Some((first, rest)) => self.chain(first, rest.iter().map(|side| ("by ".to_owned(), side)).collect()),
            None => Doc::text(""),
        }
    }

    /// `if A then B else if C then D else E`
    fn choice(&mut self, expr: &Expr) -> Doc {
        let (mut parts, mut rest) = (Vec::new(), expr);
        while let ExprKind::If { condition, then, otherwise } = &rest.kind {
            parts.push(Doc::text("if "));
            parts.push(self.gap(condition.span.start, "", false));
            parts.push(self.expr(condition));
            parts.push(self.gap(then.span.start, " ", true));
            parts.push(Doc::text("then "));
            parts.push(self.expr(then));
            parts.push(self.gap(otherwise.span.start, " ", true));
            parts.push(Doc::text("else "));
            rest = otherwise;
        }
        parts.push(self.expr(rest));
        Doc::group(vec![Doc::Indent(parts)])
    }

    /// Values one by one, each after the gap before it.
    fn values<'e>(&mut self, values: impl Iterator<Item = &'e Expr>) -> Vec<(Doc, Doc)> {
        let mut docs = Vec::new();
        for value in values {
            docs.push((self.gap(value.span.start, if docs.is_empty() { "" } else { " " }, true), self.expr(value)));
        }
        docs
    }

    /// Brackets round values with commas between; `last` ends the last one where each has a line of its own.
    pub(super) fn bracketed(
        &mut self,
        open: &str,
        values: Vec<(Doc, Doc)>,
        close: &str,
        last: &'static str,
        span: Span,
    ) -> Doc {
        let count = values.len();
        let mut inside = Vec::new();
        for (at, (gap, value)) in values.into_iter().enumerate() {
            inside.push(gap);
            inside.push(value);
            inside.push(if at + 1 < count { Doc::text(",") } else { Doc::IfBroken(last) });
        }
        let [remarks, end] = self.close(span.end.saturating_sub(1), "");
        inside.push(remarks);
        Doc::group(vec![Doc::text(open), Doc::Indent(inside), end, Doc::text(close)])
    }

    fn call(&mut self, function: &str, arguments: &[Argument], span: Span) -> Doc {
        let mut values = Vec::new();
        for argument in arguments {
            let start = argument.name.as_ref().map_or(argument.value.span.start, |name| name.span.start);
            let gap = self.gap(start, if values.is_empty() { "" } else { " " }, true);
            let value = match &argument.name {
                Some(name) => {
                    let word = Doc::text(format!("{}:", name.text));
                    let between = self.gap(argument.value.span.start, " ", false);
                    Doc::group(vec![word, Doc::Indent(vec![between, self.expr(&argument.value)])])
                }
                None => self.expr(&argument.value),
            };
            values.push((gap, value));
        }
        let open = format!("{function}(");
        self.bracketed(&open, values, ")", if arguments.is_empty() { "" } else { "," }, span)
    }

    /// Plain values fill their lines; anything longer than a word has a line of its own.
    fn list(&mut self, values: &[Expr], span: Span) -> Doc {
        let plain = |value: &Expr| match &value.kind {
            ExprKind::Negate(operand) => is_plain(operand),
            _ => is_plain(value),
        };
        let all_plain = values.iter().all(plain);
        let docs = self.values(values.iter());
        // A list of numbers or words reads like a table and fills its lines; one of shapes or sums reads line by
        // line.
        if !all_plain || values.is_empty() {
            return self.bracketed("[", docs, "]", if values.is_empty() { "" } else { "," }, span);
        }
        let (mut filled, count) = (Vec::new(), docs.len());
        let mut first = Doc::text("");
        for (at, (gap, value)) in docs.into_iter().enumerate() {
            match at {
                0 => first = gap,
                _ => filled.push(gap),
            }
            let comma = if at + 1 < count { "," } else { "" };
            filled.push(Doc::group(vec![value, Doc::text(comma)]));
        }
        let [remarks, end] = self.close(span.end.saturating_sub(1), "");
        let inside = Doc::Indent(vec![first, Doc::Fill(filled), remarks]);
        Doc::group(vec![Doc::text("["), inside, end, Doc::text("]")])
    }

    /// `[for x in LIST where COND: VALUE]`
    fn walk(&mut self, walk: &ForEach, span: Span) -> Doc {
        let mut inside = vec![self.gap(walk.variable.span.start, "", true)];
        inside.push(Doc::text(format!("for {} in ", walk.variable.text)));
        inside.push(self.gap(walk.list.span.start, "", false));
        inside.push(self.expr(&walk.list));
        if let Some(condition) = &walk.condition {
            inside.push(self.gap(condition.span.start, " ", true));
            inside.push(Doc::text("where "));
            inside.push(self.expr(condition));
        }
        inside.push(Doc::text(":"));
        inside.push(self.gap(walk.value.span.start, " ", true));
        inside.push(self.expr(&walk.value));
        let [remarks, end] = self.close(span.end.saturating_sub(1), "");
        inside.push(remarks);
        Doc::group(vec![Doc::text("["), Doc::Indent(inside), end, Doc::text("]")])
    }

    /// What stands before a closing bracket or brace at a byte: comments, still indented, then the gap.
    pub(super) fn close(&mut self, at: u32, flat: &'static str) -> [Doc; 2] {
        let remarks = self.gap(at, "", false);
        [remarks, Doc::Gap(Gap { flat, breaks: true, ..Gap::default() })]
    }

    /// A number with its unit glued to it.
    fn number(&self, span: Span, has_unit: bool) -> String {
        let written = self.source(span);
        match written.rsplit_once(' ') {
            Some((number, unit)) if has_unit && !unit.starts_with(|sign: char| sign.is_ascii_digit()) => {
                format!("{number}{unit}")
            }
            _ => written.to_owned(),
        }
    }
}

fn is_plain(value: &Expr) -> bool {
    matches!(
        value.kind,
        ExprKind::Number(_)
            | ExprKind::Text(_)
            | ExprKind::Filled(_)
            | ExprKind::Colour(_)
            | ExprKind::Name(_)
            | ExprKind::Truth(_)
    )
}

/// The operands of a chain of one strength, unfolded from the left.
fn spine(expr: &Expr) -> (&Expr, Vec<(String, &Expr)>) {
    let (mut first, mut rest, strength) = (expr, Vec::new(), strength(expr));
    // Operators of one strength lean to the left in the tree; as one chain their operands stand below one another,
    // none further in than the next.
    while let Some((left, operator, right)) = operation(first).filter(|_| self::strength(first) == strength) {
        rest.push((operator, right));
        first = left;
    }
    rest.reverse();
    (first, rest)
}

/// How strongly an operator binds; operators of one strength make one chain.
fn strength(expr: &Expr) -> Option<u8> {
    Some(match &expr.kind {
        ExprKind::Arithmetic { operator: Arithmetic::Multiply | Arithmetic::Divide, .. } => 5,
        ExprKind::Arithmetic { .. } => 4,
        ExprKind::Placed { .. } => 3,
        ExprKind::Combined { .. } => 2,
        ExprKind::Logic { operator: Logic::And, .. } => 1,
        ExprKind::Logic { operator: Logic::Or, .. } => 0,
        _ => return None,
    })
}

/// What stands left of an operator, the operator with a blank behind it, and what stands right of it.
fn operation(expr: &Expr) -> Option<(&Expr, String, &Expr)> {
    let (left, word, right) = match &expr.kind {
        ExprKind::Arithmetic { operator, left, right, .. } => (left, arithmetic(*operator), right),
        ExprKind::Placed { subject, placing: how, argument } => (subject, placing(*how), argument),
        ExprKind::Combined { combining: how, left, right } => (left, how.word(), right),
        ExprKind::Logic { operator, left, right } => (left, if *operator == Logic::And { "and" } else { "or" }, right),
        _ => return None,
    };
    Some((left, format!("{word} "), right))
}

fn arithmetic(operator: Arithmetic) -> &'static str {
    match operator {
        Arithmetic::Add => "+",
        Arithmetic::Subtract => "-",
        Arithmetic::Multiply => "*",
        Arithmetic::Divide => "/",
    }
}

fn placing(placing: Placing) -> &'static str {
    placing.written()
}

/// A comparison as it is written.
pub fn sign(comparison: Comparison) -> &'static str {
    match comparison {
        Comparison::Less => "<",
        Comparison::AtMost => "<=",
        Comparison::Greater => ">",
        Comparison::AtLeast => ">=",
        Comparison::Is => "is",
        Comparison::IsNot => "is not",
    }
}
