//! Types of arithmetic, comparisons, placings and combinations.

use super::TypeChecker;
use crate::check::findings::types as say;
use crate::source::Span;
use crate::syntax::tree::{Arithmetic, Comparison, Expr, Placing};
use crate::vocabulary::types::Type;

impl<'t> TypeChecker<'t> {
    pub(super) fn arithmetic(&mut self, operator: Arithmetic, left: &'t Expr, right: &'t Expr, at: Span) -> Type {
        let kinds = [(self.type_of(left), left.span), (self.type_of(right), right.span)];
        let mut sides = Vec::new();
        for (kind, span) in &kinds {
            match kind {
                Type::Any | Type::Error => return kind.clone(),
                Type::Quantity(_) | Type::Zero => sides.push(kind.dimension().unwrap_or_default()),
                Type::Point if matches!(operator, Arithmetic::Add | Arithmetic::Subtract) => {}
                other => return self.report(say::no_arithmetic(operator, other, *span)),
            }
        }
        let [(left_kind, left_span), (right_kind, right_span)] = kinds;
        let (&[left_dimension, right_dimension], zero) = match sides.as_slice() {
            [] => return Type::Point,
            [left, right] => (&[*left, *right], [left_kind == Type::Zero, right_kind == Type::Zero]),
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
            Arithmetic::Multiply => Type::Quantity(left_dimension.times(right_dimension)),
            Arithmetic::Divide => Type::Quantity(left_dimension.over(right_dimension)),
            Arithmetic::Add | Arithmetic::Subtract => match zero {
                [true, true] => Type::Zero,
                [true, false] => right_kind,
                [false, true] => left_kind,
                _ if left_dimension == right_dimension => left_kind,
                _ => self.report(say::unit_mismatch(operator, (&left_kind, left_span), (&right_kind, right_span), at)),
            },
        }
    }

    pub(super) fn negate(&mut self, inner: &'t Expr) -> Type {
        match self.type_of(inner) {
            kind @ (Type::Quantity(_) | Type::Zero | Type::Point | Type::Any | Type::Error) => kind,
            other => self.report(say::no_arithmetic(Arithmetic::Subtract, &other, inner.span)),
        }
    }

    pub(super) fn compare(&mut self, first: &'t Expr, rest: &'t [(Comparison, Expr)]) -> Type {
        let mut left = (self.type_of(first), first.span);
        for (comparison, expr) in rest {
            let right = (self.type_of(expr), expr.span);
            let ordered = !matches!(comparison, Comparison::Is | Comparison::IsNot);
            let is_quantity = |kind: &Type| matches!(kind, Type::Quantity(_) | Type::Zero | Type::Any | Type::Error);
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
        Type::Truth
    }

    pub(super) fn truth<const N: usize>(&mut self, parts: [&'t Expr; N]) -> Type {
        for part in parts {
            self.expect(part, &Type::Truth);
        }
        Type::Truth
    }

    pub(super) fn choice(&mut self, condition: &'t Expr, then: &'t Expr, otherwise: &'t Expr) -> Type {
        self.expect(condition, &Type::Truth);
        let (one, other) = (self.type_of(then), self.type_of(otherwise));
        match one.joined(&other) {
            Some(both) => both,
            None => self.report(say::mixed_list(&one, then.span, &other, otherwise.span)),
        }
    }

    pub(super) fn range(&mut self, from: &'t Expr, to: &'t Expr, by: Option<&'t Expr>) -> Type {
        let mut joined = Type::Zero;
        for (expr, kind) in
            [Some(from), Some(to), by].into_iter().flatten().map(|expr| (expr, self.type_of(expr))).collect::<Vec<_>>()
        {
            if !kind.is_open() && kind.dimension().is_none() {
                return self.report(say::wrong_kind(&kind, &Type::NUMBER, expr.span));
            }
            joined = match joined.joined(&kind) {
                Some(both) => both,
                None => return self.report(say::mixed_list(&joined, from.span, &kind, expr.span)),
            };
        }
        Type::list(if joined == Type::Zero { Type::NUMBER } else { joined })
    }

    pub(super) fn combined(&mut self, left: &'t Expr, right: &'t Expr) -> Type {
        self.expect(left, &Type::Region);
        self.expect(right, &Type::Region);
        Type::Region
    }

    pub(super) fn placed(&mut self, subject: &'t Expr, placing: Placing, argument: &'t Expr) -> Type {
        let kind = self.type_of(subject);
        if let Some(wanted) = &placing.spec().takes {
            self.expect(argument, wanted);
        }
        let filled_only = placing.is_for_regions();
        match &kind {
            Type::Any | Type::Error | Type::Region => kind,
            Type::Trace | Type::Point if !filled_only => kind,
            Type::List(item)
                if !filled_only && (item.is_open() || matches!(**item, Type::Region | Type::Trace | Type::Point)) =>
            {
                kind
            }
            _ => self.report(say::not_placeable(&kind, filled_only, subject.span)),
        }
    }
}
