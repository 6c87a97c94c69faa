//! Kinds of arithmetic, comparisons, placings and combinations.

use super::Infer;
use crate::check::findings::types as say;
use crate::check::kind::Kind;
use crate::source::Span;
use crate::syntax::tree::{Arithmetic, Comparison, Expr, Placing};

impl<'t> Infer<'t> {
    pub(super) fn arithmetic(&mut self, operator: Arithmetic, left: &'t Expr, right: &'t Expr, at: Span) -> Kind {
        let kinds = [(self.kind(left), left.span), (self.kind(right), right.span)];
        let mut sides = Vec::new();
        for (kind, span) in &kinds {
            match kind {
                Kind::Broken => return Kind::Broken,
                Kind::Quantity(_) | Kind::Zero => sides.push(kind.dimension().unwrap_or_default()),
                Kind::Point if matches!(operator, Arithmetic::Add | Arithmetic::Subtract) => {}
                other => return self.report(say::no_arithmetic(operator, other, *span)),
            }
        }
        let [(left_kind, left_span), (right_kind, right_span)] = kinds;
        let (&[left_dimension, right_dimension], zero) = match sides.as_slice() {
            [] => return Kind::Point,
            [left, right] => (&[*left, *right], [left_kind == Kind::Zero, right_kind == Kind::Zero]),
            _ => {
                return self.report(say::unit_mismatch(
                    operator,
                    (&left_kind, left_span),
                    (&right_kind, right_span),
                    at,
                ));
            }
        };
        match operator {
            Arithmetic::Multiply => Kind::Quantity(left_dimension.times(right_dimension)),
            Arithmetic::Divide => Kind::Quantity(left_dimension.over(right_dimension)),
            Arithmetic::Add | Arithmetic::Subtract => match zero {
                [true, true] => Kind::Zero,
                [true, false] => right_kind,
                [false, true] => left_kind,
                _ if left_dimension == right_dimension => left_kind,
                _ => self.report(say::unit_mismatch(operator, (&left_kind, left_span), (&right_kind, right_span), at)),
            },
        }
    }

    pub(super) fn negate(&mut self, inner: &'t Expr) -> Kind {
        match self.kind(inner) {
            kind @ (Kind::Quantity(_) | Kind::Zero | Kind::Point | Kind::Broken) => kind,
            other => self.report(say::no_arithmetic(Arithmetic::Subtract, &other, inner.span)),
        }
    }

    pub(super) fn compare(&mut self, first: &'t Expr, rest: &'t [(Comparison, Expr)]) -> Kind {
        let mut left = (self.kind(first), first.span);
        for (comparison, expr) in rest {
            let right = (self.kind(expr), expr.span);
            let ordered = !matches!(comparison, Comparison::Is | Comparison::IsNot);
            let is_quantity = |kind: &Kind| matches!(kind, Kind::Quantity(_) | Kind::Zero | Kind::Broken);
            match left.0.joined(&right.0) {
                None => {
                    self.report(say::not_comparable((&left.0, left.1), (&right.0, right.1)));
                }
                Some(both) if ordered && !is_quantity(&both) => {
                    self.report(say::no_order(&both, right.1));
                }
                Some(_) => {}
            }
            left = right;
        }
        Kind::Truth
    }

    pub(super) fn truth<const N: usize>(&mut self, parts: [&'t Expr; N]) -> Kind {
        for part in parts {
            self.expect(part, &Kind::Truth);
        }
        Kind::Truth
    }

    pub(super) fn choice(&mut self, condition: &'t Expr, then: &'t Expr, otherwise: &'t Expr) -> Kind {
        self.expect(condition, &Kind::Truth);
        let (one, other) = (self.kind(then), self.kind(otherwise));
        match one.joined(&other) {
            Some(both) => both,
            None => self.report(say::mixed_list(&one, then.span, &other, otherwise.span)),
        }
    }

    pub(super) fn range(&mut self, from: &'t Expr, to: &'t Expr, by: Option<&'t Expr>) -> Kind {
        let mut joined = Kind::Zero;
        for (expr, kind) in
            [Some(from), Some(to), by].into_iter().flatten().map(|expr| (expr, self.kind(expr))).collect::<Vec<_>>()
        {
            if kind != Kind::Broken && kind.dimension().is_none() {
                return self.report(say::wrong_kind(&kind, &Kind::NUMBER, expr.span));
            }
            joined = match joined.joined(&kind) {
                Some(both) => both,
                None => return self.report(say::mixed_list(&joined, from.span, &kind, expr.span)),
            };
        }
        Kind::list(if joined == Kind::Zero { Kind::NUMBER } else { joined })
    }

    pub(super) fn combined(&mut self, left: &'t Expr, right: &'t Expr) -> Kind {
        self.expect(left, &Kind::Region);
        self.expect(right, &Kind::Region);
        Kind::Region
    }

    pub(super) fn placed(&mut self, subject: &'t Expr, placing: Placing, argument: &'t Expr) -> Kind {
        let kind = self.kind(subject);
        let wanted = match placing {
            Placing::At => Kind::Point,
            Placing::Turned | Placing::Mirrored => Kind::ANGLE,
            Placing::Scaled | Placing::Repeated => Kind::NUMBER,
            Placing::Rounded | Placing::Inset | Placing::Outset => Kind::LENGTH,
        };
        self.expect(argument, &wanted);
        let filled_only = matches!(placing, Placing::Rounded | Placing::Inset | Placing::Outset);
        match &kind {
            Kind::Broken | Kind::Region => kind,
            Kind::Trace | Kind::Point if !filled_only => kind,
            Kind::List(item)
                if !filled_only && matches!(**item, Kind::Region | Kind::Trace | Kind::Point | Kind::Broken) =>
            {
                kind
            }
            _ => self.report(say::not_placeable(&kind, filled_only, subject.span)),
        }
    }
}
