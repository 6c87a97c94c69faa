//! The type checker: the type of every expression, and what does not fit.
//!
//! Nothing is evaluated here. An expression that is at fault is reported once and becomes [`Type::Error`],
//! which fits everywhere. The evaluator relies on this stage: it never reports a type that does not fit.

mod calls;
mod items;
mod operators;
mod seeks;

use std::collections::BTreeMap;

use super::names::{Definition, Meaning, Names};
use super::tables::Tables;
use crate::check::findings::{names as say_name, types as say};
use crate::diagnostics::{Diagnostic, Problems, suggest};
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind, File, ForEach, Let, Name, TextPiece};
use crate::vocabulary::types::Type;

/// Checks every expression and field of the files.
pub(super) fn typecheck<'t>(files: &[&'t File], names: &'t Names<'t>, tables: Tables<'t>) -> Problems {
    let mut checker = TypeChecker { tables: Some(tables), ..TypeChecker::new(names) };
    for item in files.iter().flat_map(|file| &file.items) {
        checker.item(item);
    }
    checker.problems
}

/// Checks one expression from outside the files against the type that is wanted.
pub(super) fn typecheck_value<'t>(expr: &'t Expr, wanted: &Type, names: &'t Names<'t>, tables: Tables<'t>) -> Problems {
    let mut checker = TypeChecker { tables: Some(tables), ..TypeChecker::new(names) };
    checker.expect(expr, wanted);
    checker.problems
}

/// The type of what a name stands for; of a function, of what it gives.
pub fn type_of(definition: Definition<'_>, names: &Names<'_>) -> Type {
    let mut checker = TypeChecker::new(names);
    match definition.meaning {
        Meaning::Param(param) => Type::of_word(&param.kind.text).unwrap_or(Type::Error),
        Meaning::Let(binding) => checker.binding((&binding.name.text, definition.within), binding, definition.span),
        other => other.thing().map_or(Type::Error, Type::Thing),
    }
}

/// What a question asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// Whether something is so.
    Truth,
    /// A quantity of any dimension, to compare variants by.
    Quantity,
}

/// Checks a question about a variant, which also knows these words, and measures where it may.
pub fn typecheck_question<'t>(
    question: &'t Expr,
    wanted: Wanted,
    names: &'t Names<'t>,
    words: Vec<(&'t str, Type)>,
    measures: bool,
) -> Problems {
    let mut checker = TypeChecker { locals: words, measures, ..TypeChecker::new(names) };
    match wanted {
        Wanted::Truth => drop(checker.expect(question, &Type::Truth)),
        Wanted::Quantity => checker.expect_quantity(question),
    }
    checker.problems
}

/// Where the type of a binding stands.
#[derive(Clone, Debug)]
enum Progress {
    Underway,
    Done(Type),
}

/// A name as seen from the layer that may own it.
type Key<'t> = (&'t str, Option<&'t str>);

struct TypeChecker<'t> {
    names: &'t Names<'t>,
    known: BTreeMap<Key<'t>, Progress>,
    /// Bindings being looked into, outermost first, to tell a circle.
    trail: Vec<(Key<'t>, Span)>,
    /// Variables of functions and `for`, innermost last.
    locals: Vec<(&'t str, Type)>,
    /// The layer that the expression stands in.
    layer: Option<&'t str>,
    /// Whether measures may be called: only in `expect`.
    measures: bool,
    /// The tables that columns are taken of; none where nobody is there to read them.
    tables: Option<Tables<'t>>,
    problems: Problems,
}

impl<'t> TypeChecker<'t> {
    fn new(names: &'t Names<'t>) -> Self {
        Self {
            names,
            known: BTreeMap::new(),
            trail: Vec::new(),
            locals: Vec::new(),
            layer: None,
            measures: false,
            tables: None,
            problems: Problems::default(),
        }
    }

    fn report(&mut self, diagnostic: Diagnostic) -> Type {
        self.problems.push(diagnostic);
        Type::Error
    }

    /// The type of an expression.
    fn type_of(&mut self, expr: &'t Expr) -> Type {
        match &expr.kind {
            ExprKind::Number(number) => match number.unit {
                Some(unit) => Type::Quantity(unit.dimension),
                None if number.value == 0.0 => Type::Zero,
                None => Type::NUMBER,
            },
            ExprKind::Text(_) => Type::Text,
            ExprKind::Filled(pieces) => self.filled(pieces),
            ExprKind::Colour(_) => Type::Colour,
            ExprKind::Truth(_) => Type::Truth,
            ExprKind::Name(name) => self.name(name, expr.span),
            ExprKind::Call { function, arguments } => self.call(function, arguments, expr.span),
            ExprKind::Group(inner) => self.type_of(inner),
            ExprKind::Point(x, y) => {
                self.expect(x, &Type::LENGTH);
                self.expect(y, &Type::LENGTH);
                Type::Point
            }
            ExprKind::List(items) => self.list(items),
            ExprKind::ForEach(walk) => self.for_each(walk),
            ExprKind::Range { from, to, by } => self.range(from, to, by.as_deref()),
            ExprKind::Negate(inner) => self.negate(inner),
            ExprKind::Arithmetic { operator, left, right, operator_span } => {
                self.arithmetic(*operator, left, right, *operator_span)
            }
            ExprKind::Placed { subject, placing, argument } => self.placed(subject, *placing, argument),
            ExprKind::Combined { left, right, .. } => self.combined(left, right),
            ExprKind::Compare { first, rest } => self.compare(first, rest),
            ExprKind::Not(inner) => self.truth([inner]),
            ExprKind::Logic { left, right, .. } => self.truth([left, right]),
            ExprKind::If { condition, then, otherwise } => self.choice(condition, then, otherwise),
            ExprKind::Broken => Type::Error,
        }
    }

    /// The type of an expression that must fit `wanted`; reports where it does not.
    fn expect(&mut self, expr: &'t Expr, wanted: &Type) -> Type {
        let found = self.type_of(expr);
        if found.fits(wanted) {
            return found;
        }
        let at_fault = self.cell_at_fault(expr, wanted);
        let diagnostic = at_fault.unwrap_or_else(|| self.misfit(expr, &found, wanted));
        self.report(diagnostic)
    }

    /// An expression that must be a quantity of whatever kind.
    fn expect_quantity(&mut self, expr: &'t Expr) {
        match self.type_of(expr) {
            Type::Quantity(_) | Type::Zero | Type::Any | Type::Error => {}
            other => drop(self.report(say::wrong_kind(&other, &Type::NUMBER, expr.span))),
        }
    }

    fn misfit(&self, expr: &Expr, found: &Type, wanted: &Type) -> Diagnostic {
        if let (Type::Quantity(dimension), Some(number)) = (wanted, bare_number(expr)) {
            return say::missing_unit(number, *dimension, expr.span);
        }
        if let (Type::Quantity(wanted), Some((numerator, denominator, unit))) = (wanted, spaced_fraction(expr))
            && unit.dimension == *wanted
        {
            return say::division_not_fraction(numerator, denominator, unit, expr.span);
        }
        say::wrong_kind(found, wanted, expr.span)
    }

    fn name(&mut self, name: &'t str, span: Span) -> Type {
        if let Some((_, kind)) = self.locals.iter().rev().find(|(local, _)| *local == name) {
            return kind.clone();
        }
        let Some(definition) = self.names.get(name, self.layer) else {
            let seen = |definition: &Definition<'_>| definition.within.is_none() || definition.within == self.layer;
            let names = self.names.iter().filter(|(_, definition)| seen(definition)).map(|(name, _)| name);
            let nearest = suggest::nearest(name, self.locals.iter().map(|(local, _)| *local).chain(names));
            let elsewhere = self.names.elsewhere(name).map(|definition| definition.span);
            let word = Name { text: name.to_owned(), span };
            return self.report(say_name::unknown_name(&word, nearest, elsewhere));
        };
        let key = (name, definition.within);
        match definition.meaning {
            Meaning::Param(param) => Type::of_word(&param.kind.text).unwrap_or(Type::Error),
            Meaning::Let(binding) if binding.formals.is_some() => {
                self.report(say_name::function_not_called(name, span, definition.span))
            }
            Meaning::Let(binding) => self.binding(key, binding, span),
            Meaning::Layer(_)
            | Meaning::Copy(_)
            | Meaning::Wheel(_)
            | Meaning::Ring(_)
            | Meaning::Mark(_)
            | Meaning::Thing(..) => definition.meaning.thing().map_or(Type::Error, Type::Thing),
        }
    }

    /// The type of what a binding (or a function's body) stands for, found once.
    fn binding(&mut self, key: Key<'t>, binding: &'t Let, asked_at: Span) -> Type {
        match self.known.get(&key) {
            Some(Progress::Done(kind)) => return kind.clone(),
            Some(Progress::Underway) => {
                let start = self.trail.iter().position(|(other, _)| *other == key).unwrap_or(0);
                let steps: Vec<(&str, Span)> =
                    self.trail.iter().skip(start).map(|((name, _), span)| (*name, *span)).collect();
                return self.report(say_name::circular(&steps, asked_at));
            }
            None => {}
        }
        self.known.insert(key, Progress::Underway);
        self.trail.push((key, binding.name.span));
        let outer = (std::mem::take(&mut self.locals), self.layer, std::mem::replace(&mut self.measures, false));
        self.layer = key.1;
        for formal in binding.formals.iter().flatten() {
            let kind = self.type_of_word(&formal.kind);
            self.locals.push((&formal.name.text, kind));
        }
        let kind = self.type_of(&binding.value);
        (self.locals, self.layer, self.measures) = outer;
        self.trail.pop();
        self.known.insert(key, Progress::Done(kind.clone()));
        kind
    }

    /// A text with values in it, each something that can be told in letters.
    fn filled(&mut self, pieces: &'t [TextPiece]) -> Type {
        for value in pieces.iter().filter_map(TextPiece::value) {
            let found = self.type_of(value);
            if !matches!(found, Type::Quantity(_) | Type::Zero | Type::Text | Type::Any | Type::Error) {
                self.report(say::not_told_in_letters(&found, value.span));
            }
        }
        Type::Text
    }

    fn for_each(&mut self, walk: &'t ForEach) -> Type {
        let over = self.type_of(&walk.list);
        let item = match over {
            Type::List(item) => *item,
            open @ (Type::Any | Type::Error) => open,
            other => self.report(say::wrong_kind(&other, &Type::list(Type::Any), walk.list.span)),
        };
        self.locals.push((&walk.variable.text, item));
        if let Some(condition) = &walk.condition {
            self.expect(condition, &Type::Truth);
        }
        let value = self.type_of(&walk.value);
        self.locals.pop();
        Type::list(value)
    }

    fn list(&mut self, items: &'t [Expr]) -> Type {
        let mut joined: Option<(Type, Span)> = None;
        for item in items {
            let kind = self.type_of(item);
            joined = Some(match joined {
                None => (kind, item.span),
                Some((so_far, first)) => match so_far.joined(&kind) {
                    Some(both) => (both, first),
                    None => (self.report(say::mixed_list(&so_far, first, &kind, item.span)), first),
                },
            });
        }
        Type::list(joined.map_or(Type::Any, |(kind, _)| kind))
    }
}

/// The value of a number written without a unit.
fn bare_number(expr: &Expr) -> Option<f64> {
    match &expr.kind {
        ExprKind::Number(number) if number.unit.is_none() => Some(number.value),
        ExprKind::Group(inner) => bare_number(inner),
        ExprKind::Negate(inner) => bare_number(inner).map(|value| -value),
        _ => None,
    }
}

/// Numerator, denominator and unit of `1 / 8in`: a division where a fraction was meant.
fn spaced_fraction(expr: &Expr) -> Option<(f64, f64, crate::units::Unit)> {
    let ExprKind::Arithmetic { operator: crate::syntax::tree::Arithmetic::Divide, left, right, .. } = &expr.kind else {
        return None;
    };
    match (&left.kind, &right.kind) {
        (ExprKind::Number(top), ExprKind::Number(bottom)) if top.unit.is_none() => {
            Some((top.value, bottom.value, bottom.unit?))
        }
        _ => None,
    }
}
