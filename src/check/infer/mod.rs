//! The type checker: the kind of every expression, and what does not fit.
//!
//! Nothing is evaluated here. An expression that is at fault is reported once and becomes [`Kind::Broken`],
//! which fits everywhere. The evaluator relies on this stage: it never reports a kind that does not fit.

mod calls;
mod items;
mod operators;

use std::collections::BTreeMap;

use super::kind::Kind;
use super::names::{Definition, Meaning, Names};
use crate::check::findings::{names as say_name, types as say};
use crate::diagnostics::{Diagnostic, Problems, suggest};
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind, File, ForEach, Let, Name};

/// Checks every expression and field of the files.
pub fn infer<'t>(files: &[&'t File], names: &'t Names<'t>) -> Problems {
    let mut infer = Infer::new(names);
    for item in files.iter().flat_map(|file| &file.items) {
        infer.item(item);
    }
    infer.problems
}

/// Checks one expression from outside the files against the kind that is wanted.
pub fn infer_value(expr: &Expr, wanted: &Kind, names: &Names<'_>) -> Problems {
    let mut infer = Infer::new(names);
    infer.expect(expr, wanted);
    infer.problems
}

/// The kind of what a name stands for; of a function, of what it gives.
pub fn kind_of(definition: Definition<'_>, names: &Names<'_>) -> Kind {
    let mut infer = Infer::new(names);
    match definition.meaning {
        Meaning::Param(param) => Kind::of_word(&param.kind.text).unwrap_or(Kind::Broken),
        Meaning::Let(binding) => infer.binding((&binding.name.text, definition.within), binding, definition.span),
        other => other.thing().map_or(Kind::Broken, Kind::Thing),
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
pub fn infer_question<'t>(
    question: &'t Expr,
    wanted: Wanted,
    names: &'t Names<'t>,
    words: Vec<(&'t str, Kind)>,
    measures: bool,
) -> Problems {
    let mut infer = Infer { locals: words, measures, ..Infer::new(names) };
    match wanted {
        Wanted::Truth => drop(infer.expect(question, &Kind::Truth)),
        Wanted::Quantity => match infer.kind(question) {
            Kind::Quantity(_) | Kind::Zero | Kind::Broken => {}
            other => drop(infer.report(say::wrong_kind(&other, &Kind::NUMBER, question.span))),
        },
    }
    infer.problems
}

/// Where the kind of a binding stands.
#[derive(Clone, Debug)]
enum Progress {
    Underway,
    Done(Kind),
}

/// A name as seen from the layer that may own it.
type Key<'t> = (&'t str, Option<&'t str>);

struct Infer<'t> {
    names: &'t Names<'t>,
    known: BTreeMap<Key<'t>, Progress>,
    /// Bindings being looked into, outermost first, to tell a circle.
    trail: Vec<(Key<'t>, Span)>,
    /// Variables of functions and `for`, innermost last.
    locals: Vec<(&'t str, Kind)>,
    /// The layer that the expression stands in.
    layer: Option<&'t str>,
    /// Whether measures may be called: only in `expect`.
    measures: bool,
    problems: Problems,
}

impl<'t> Infer<'t> {
    fn new(names: &'t Names<'t>) -> Self {
        Self {
            names,
            known: BTreeMap::new(),
            trail: Vec::new(),
            locals: Vec::new(),
            layer: None,
            measures: false,
            problems: Problems::default(),
        }
    }

    fn report(&mut self, diagnostic: Diagnostic) -> Kind {
        self.problems.push(diagnostic);
        Kind::Broken
    }

    /// The kind of an expression.
    fn kind(&mut self, expr: &'t Expr) -> Kind {
        match &expr.kind {
            ExprKind::Number(number) => match number.unit {
                Some(unit) => Kind::Quantity(unit.dimension),
                None if number.value == 0.0 => Kind::Zero,
                None => Kind::NUMBER,
            },
            ExprKind::Text(_) => Kind::Text,
            ExprKind::Colour(_) => Kind::Colour,
            ExprKind::Truth(_) => Kind::Truth,
            ExprKind::Name(name) => self.name(name, expr.span),
            ExprKind::Call { function, arguments } => self.call(function, arguments, expr.span),
            ExprKind::Group(inner) => self.kind(inner),
            ExprKind::Point(x, y) => {
                self.expect(x, &Kind::LENGTH);
                self.expect(y, &Kind::LENGTH);
                Kind::Point
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
            ExprKind::Broken => Kind::Broken,
        }
    }

    /// The kind of an expression that must fit `wanted`; reports where it does not.
    fn expect(&mut self, expr: &'t Expr, wanted: &Kind) -> Kind {
        let found = self.kind(expr);
        if found.fits(wanted) {
            return found;
        }
        let diagnostic = self.misfit(expr, &found, wanted);
        self.report(diagnostic)
    }

    fn misfit(&self, expr: &Expr, found: &Kind, wanted: &Kind) -> Diagnostic {
        if let (Kind::Quantity(dimension), Some(number)) = (wanted, bare_number(expr)) {
            return say::missing_unit(number, *dimension, expr.span);
        }
        if let (Kind::Quantity(wanted), Some((numerator, denominator, unit))) = (wanted, spaced_fraction(expr))
            && unit.dimension == *wanted
        {
            return say::division_not_fraction(numerator, denominator, unit, expr.span);
        }
        say::wrong_kind(found, wanted, expr.span)
    }

    fn name(&mut self, name: &'t str, span: Span) -> Kind {
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
            Meaning::Param(param) => Kind::of_word(&param.kind.text).unwrap_or(Kind::Broken),
            Meaning::Let(binding) if binding.formals.is_some() => {
                self.report(say_name::function_not_called(name, span, definition.span))
            }
            Meaning::Let(binding) => self.binding(key, binding, span),
            Meaning::Layer(_) | Meaning::Ring(_) | Meaning::Mark(_) | Meaning::Thing(..) => {
                definition.meaning.thing().map_or(Kind::Broken, Kind::Thing)
            }
        }
    }

    /// The kind of what a binding (or a function's body) stands for, found once.
    fn binding(&mut self, key: Key<'t>, binding: &'t Let, asked_at: Span) -> Kind {
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
            let kind = self.kind_word(&formal.kind);
            self.locals.push((&formal.name.text, kind));
        }
        let kind = self.kind(&binding.value);
        (self.locals, self.layer, self.measures) = outer;
        self.trail.pop();
        self.known.insert(key, Progress::Done(kind.clone()));
        kind
    }

    fn for_each(&mut self, walk: &'t ForEach) -> Kind {
        let over = self.kind(&walk.list);
        let item = match over {
            Kind::List(item) => *item,
            Kind::Broken => Kind::Broken,
            other => self.report(say::wrong_kind(&other, &Kind::list(Kind::Broken), walk.list.span)),
        };
        self.locals.push((&walk.variable.text, item));
        if let Some(condition) = &walk.condition {
            self.expect(condition, &Kind::Truth);
        }
        let value = self.kind(&walk.value);
        self.locals.pop();
        Kind::list(value)
    }

    fn list(&mut self, items: &'t [Expr]) -> Kind {
        let mut joined: Option<(Kind, Span)> = None;
        for item in items {
            let kind = self.kind(item);
            joined = Some(match joined {
                None => (kind, item.span),
                Some((so_far, first)) => match so_far.joined(&kind) {
                    Some(both) => (both, first),
                    None => (self.report(say::mixed_list(&so_far, first, &kind, item.span)), first),
                },
            });
        }
        Kind::list(joined.map_or(Kind::Broken, |(kind, _)| kind))
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
