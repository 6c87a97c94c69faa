//! Values of calls that are not shapes: a maker's functions, arithmetic, points, pivots, measures.

use super::Evaluator;
use crate::check::findings::values as say;
use crate::check::functions::{Function, function_named};
use crate::check::names::Meaning;
use crate::check::value::{PivotValue, Value};
use crate::geometry::{Trace, polar};
use crate::source::Span;
use crate::syntax::tree::{Argument, Expr, Let, Name};
use crate::units::{Angle, Length, Quantity};

/// The arguments of a call, by parameter; those beyond the positional ones are `rest`.
pub(super) struct Arguments<'t> {
    named: Vec<(&'static str, &'t Expr)>,
    pub(super) rest: Vec<&'t Expr>,
}

impl<'t> Arguments<'t> {
    fn sorted(function: &'static Function, arguments: &'t [Argument]) -> Self {
        let mut places = function.parameters.iter().filter(|parameter| parameter.positional);
        let mut sorted = Self { named: Vec::new(), rest: Vec::new() };
        for argument in arguments {
            let parameter = match &argument.name {
                Some(name) => function.parameters.iter().find(|parameter| parameter.name == name.text),
                None => places.next(),
            };
            match parameter {
                Some(parameter) => sorted.named.push((parameter.name, &argument.value)),
                None => sorted.rest.push(&argument.value),
            }
        }
        sorted
    }

    /// The argument for a parameter.
    pub(super) fn get(&self, name: &str) -> Option<&'t Expr> {
        self.named.iter().find(|(known, _)| *known == name).map(|(_, value)| *value)
    }

    fn all(&self) -> impl Iterator<Item = &'t Expr> {
        self.named.iter().map(|(_, value)| *value).chain(self.rest.iter().copied())
    }
}

impl<'t> Evaluator<'t> {
    pub(super) fn call(&mut self, name: &'t Name, arguments: &'t [Argument], span: Span) -> Option<Value> {
        if let Some(definition) = self.world.names.get(&name.text, self.layer)
            && let Meaning::Let(binding @ Let { formals: Some(_), .. }) = definition.meaning
        {
            return self.call_of_maker(binding, definition.within, arguments);
        }
        let function = function_named(&name.text)?;
        let sorted = Arguments::sorted(function, arguments);
        match function.name {
            "min" | "max" | "abs" | "floor" | "round" | "sqrt" | "sin" | "cos" | "tan" => {
                self.reckoned(function.name, &sorted, span)
            }
            "polar" => {
                let (radius, bearing) = (self.length(sorted.get("radius")?), self.angle(sorted.get("bearing")?));
                Some(Value::Point(polar(radius?.as_mm(), bearing?)))
            }
            "line" => self.line(&sorted, span),
            "magnets" => {
                let Value::Thing(magnet) = self.value(sorted.get("magnet")?)? else { return None };
                let radius = match sorted.get("radius") {
                    Some(radius) => Some(self.size(radius, "the radius")?.as_mm()),
                    None => None,
                };
                Some(Value::Pivot(PivotValue::Magnets { magnet, radius }))
            }
            "rivet" => match self.value(sorted.get("rivet")?)? {
                Value::Thing(rivet) => Some(Value::Pivot(PivotValue::Rivet(rivet))),
                _ => None,
            },
            measure if function.measure => self.measured(measure, &sorted, span),
            shape => self.shape(shape, &sorted, span),
        }
    }

    fn call_of_maker(&mut self, binding: &'t Let, within: Option<&'t str>, arguments: &'t [Argument]) -> Option<Value> {
        let formals = binding.formals.as_deref()?;
        let mut locals = Vec::new();
        for (at, formal) in formals.iter().enumerate() {
            let named = arguments
                .iter()
                .find(|argument| argument.name.as_ref().is_some_and(|name| name.text == formal.name.text));
            let argument = named.or_else(|| arguments.get(at).filter(|argument| argument.name.is_none()))?;
            locals.push((formal.name.text.as_str(), self.value(&argument.value)?));
        }
        if self.underway.contains(&binding.span) {
            return None;
        }
        self.underway.push(binding.span);
        let value = self.apart(within, &locals, |own| own.value(&binding.value));
        self.underway.pop();
        value
    }

    fn reckoned(&mut self, name: &str, arguments: &Arguments<'t>, span: Span) -> Option<Value> {
        let values: Option<Vec<Quantity>> = arguments.all().map(|argument| self.quantity(argument)).collect();
        let values = values?;
        let first = *values.first()?;
        let with = |value: f64| Some(Value::Quantity(Quantity { value, dimension: first.dimension }));
        let angle = Angle::degrees(first.value);
        let number = |value: f64| Some(Value::Quantity(Quantity::number(value)));
        let extreme = |pick: fn(f64, f64) -> f64| {
            let dimension =
                values.iter().find(|value| value.value != 0.0).map_or(first.dimension, |value| value.dimension);
            let value = values.iter().map(|value| value.value).reduce(pick)?;
            Some(Value::Quantity(Quantity { value, dimension }))
        };
        match name {
            "min" => extreme(f64::min),
            "max" => extreme(f64::max),
            "abs" => with(first.value.abs()),
            "floor" => with(first.value.floor()),
            "round" => with(first.value.round()),
            "sqrt" if first.value < 0.0 => self.report(say::root_of_negative(first, span)),
            "sqrt" => Some(Value::Quantity(Quantity { value: first.value.sqrt(), dimension: first.dimension.root()? })),
            "sin" => number(angle.as_radians().sin()),
            "cos" => number(angle.as_radians().cos()),
            _ if (first.value.rem_euclid(180.0) - 90.0).abs() < 1e-9 => self.report(say::no_tangent(first, span)),
            _ => number(angle.as_radians().tan()),
        }
    }

    fn line(&mut self, arguments: &Arguments<'t>, span: Span) -> Option<Value> {
        let mut points = Vec::new();
        for argument in arguments.all() {
            match self.value(argument)? {
                Value::Point(point) => points.push(point),
                _ => return None,
            }
        }
        let line = self.shaped(Trace::line(&points), span)?;
        Some(Value::Trace(line.into()))
    }

    fn measured(&mut self, measure: &str, arguments: &Arguments<'t>, span: Span) -> Option<Value> {
        let subject = match arguments.all().next() {
            Some(argument) => match self.value(argument)? {
                Value::Thing(name) => Some(name),
                _ => return None,
            },
            None => None,
        };
        let value = self.measure.and_then(|known| known(measure, subject.as_deref()));
        value.or_else(|| self.report(say::cannot_measure(measure, subject.as_deref(), span)))
    }
}

/// The size that one of two arguments gives: a radius, or half a diameter.
pub(super) fn half(length: Length) -> f64 {
    length.as_mm() / 2.0
}
