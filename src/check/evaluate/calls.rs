//! Values of calls that are not shapes: a maker's functions, arithmetic, points, pivots, measures.

use std::marker::PhantomData;

use super::Evaluator;
use crate::check::findings::{magnets, values as say};
use crate::check::names::Meaning;
use crate::check::value::{PivotValue, Value};
use crate::geometry::{Trace, polar};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{Argument, Expr, Let, Name};
use crate::units::{Angle, Length, Quantity};
use crate::vocabulary::functions::{ArgumentName, Callee, FunctionName, Parameter, arguments, function_named};
use crate::vocabulary::measures::MeasureName;

/// The arguments of a call of one function, by name.
pub(super) struct Arguments<'t, A> {
    given: Vec<(&'static str, &'t Expr)>,
    of: PhantomData<A>,
}

impl<'t, A: ArgumentName> Arguments<'t, A> {
    pub(super) fn sorted(arguments: &'t [Argument]) -> Self {
        let function = A::FUNCTION.spec();
        let mut places = function.parameters.iter().copied().filter(|parameter| parameter.positional);
        let parameter = |argument: &Argument| match &argument.name {
            Some(name) => function.parameter(&name.text),
            None => places.next(),
        };
        let words: Vec<Option<&'static Parameter>> = arguments.iter().map(parameter).collect();
        let given = words.into_iter().zip(arguments);
        let given = given.filter_map(|(parameter, argument)| Some((parameter?.word, &argument.value)));
        Self { given: given.collect(), of: PhantomData }
    }

    /// The argument of this name.
    pub(super) fn get(&self, name: A) -> Option<&'t Expr> {
        self.of_word(name.parameter().word)
    }

    /// The argument of this word.
    pub(super) fn of_word(&self, word: &str) -> Option<&'t Expr> {
        self.given.iter().find(|(known, _)| *known == word).map(|(_, value)| *value)
    }
}

impl<'t> Evaluator<'t> {
    pub(super) fn call(&mut self, name: &'t Name, arguments: &'t [Argument], span: Span) -> Option<Value> {
        if let Some(definition) = self.world.names.get(&name.text, self.layer)
            && let Meaning::Let(binding @ Let { formals: Some(_), .. }) = definition.meaning
        {
            return self.call_of_maker(binding, definition.within, arguments);
        }
        match function_named(&name.text)?.callee {
            Callee::Function(function) => self.call_of_ours(function, arguments, span),
            Callee::Measure(measure) => self.measured(measure, arguments, span),
        }
    }

    fn call_of_ours(&mut self, function: FunctionName, given: &'t [Argument], span: Span) -> Option<Value> {
        match function {
            FunctionName::Circle => self.filled(given, span, Self::circle),
            FunctionName::Ellipse => self.filled(given, span, Self::ellipse),
            FunctionName::Polygon => self.filled(given, span, Self::polygon),
            FunctionName::Rectangle => self.filled(given, span, Self::rectangle),
            FunctionName::Obround => self.filled(given, span, Self::obround),
            FunctionName::Sector => self.filled(given, span, Self::sector),
            FunctionName::Star => self.filled(given, span, Self::star),
            FunctionName::Scallop => self.filled(given, span, Self::scallop),
            FunctionName::Path => self.filled(given, span, Self::path),
            FunctionName::Wrapped => self.filled(given, span, Self::wrapped),
            FunctionName::Text => self.lettered(&Arguments::sorted(given), span),
            FunctionName::Stencil => self.stencil(&Arguments::sorted(given), span),
            FunctionName::Art => self.art(&Arguments::sorted(given), span),
            FunctionName::Line => self.line(given, span),
            FunctionName::Trace => self.trace(&Arguments::sorted(given), span),
            FunctionName::SingleStroke => self.single_stroke(&Arguments::sorted(given), span),
            FunctionName::Polar => self.polar(&Arguments::sorted(given)),
            FunctionName::Magnets => self.magnets(&Arguments::sorted(given), span),
            FunctionName::Rivet => self.rivet(&Arguments::sorted(given)),
            FunctionName::Pin => self.pin(&Arguments::sorted(given)),
            FunctionName::Min => self.extreme(given, f64::min),
            FunctionName::Max => self.extreme(given, f64::max),
            FunctionName::Abs => self.changed(given, f64::abs),
            FunctionName::Floor => self.changed(given, f64::floor),
            FunctionName::Round => self.changed(given, f64::round),
            FunctionName::Digits => self.digits(&Arguments::sorted(given)),
            FunctionName::Column => Some(Value::List(self.columns(given)?.first()?.values.clone())),
            FunctionName::Rows => self.rows(given),
            FunctionName::Sqrt => self.root(given, span),
            FunctionName::Sin => self.of_angle(given, f64::sin),
            FunctionName::Cos => self.of_angle(given, f64::cos),
            FunctionName::Tan => self.tangent(given, span),
        }
    }

    fn polar(&mut self, arguments: &Arguments<'t, arguments::Polar>) -> Option<Value> {
        let radius = self.length(arguments.get(arguments::Polar::Radius)?);
        let bearing = self.angle(arguments.get(arguments::Polar::Bearing)?);
        Some(Value::Point(polar(radius?.as_mm(), bearing?)))
    }

    fn magnets(&mut self, arguments: &Arguments<'t, arguments::Magnets>, span: Span) -> Option<Value> {
        use arguments::Magnets as Of;
        let [both, lower, upper] = [Of::Magnet, Of::Lower, Of::Upper].map(|name| arguments.get(name));
        if let (Some(both), Some(_), Some(_)) = (both, lower, upper) {
            return self.report(magnets::of_three(both.span));
        }
        let (Some(lower), Some(upper_one)) = (lower.or(both), upper.or(both)) else {
            return self.report(magnets::of_one_half(lower.is_some(), span));
        };
        let Value::Thing(magnet) = self.value(lower)? else { return None };
        let above = match self.value(upper_one)? {
            Value::Thing(above) => (above != magnet).then_some(above),
            _ => return None,
        };
        let radius = match arguments.get(Of::Radius) {
            Some(radius) => Some(self.size(radius, "the radius")?.as_mm()),
            None => None,
        };
        Some(Value::Pivot(PivotValue::Magnets { magnet, above, radius }))
    }

    fn rivet(&mut self, arguments: &Arguments<'t, arguments::Rivet>) -> Option<Value> {
        match self.value(arguments.get(arguments::Rivet::Rivet)?)? {
            Value::Thing(rivet) => Some(Value::Pivot(PivotValue::Rivet(rivet))),
            _ => None,
        }
    }

    fn pin(&mut self, arguments: &Arguments<'t, arguments::Pin>) -> Option<Value> {
        use arguments::Pin as Of;
        let Value::Thing(pin) = self.value(arguments.get(Of::Pin)?)? else { return None };
        let radius = match arguments.get(Of::Radius) {
            Some(radius) => Some(self.size(radius, "the radius")?.as_mm()),
            None => None,
        };
        let bearing = match arguments.get(Of::Bearing) {
            Some(bearing) => self.angle(bearing)?,
            None => Of::Bearing.row().default.angle()?,
        };
        let play = match arguments.get(Of::Play) {
            Some(play) => self.distance(play, "the play")?,
            None => Of::Play.row().default.length()?,
        };
        Some(Value::Pivot(PivotValue::Pin { pin, radius, bearing, play }))
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
        // The type checker has reported it; without this it would call itself until the stack runs out.
        if self.underway.contains(&binding.span) {
            return None;
        }
        self.underway.push(binding.span);
        let value = self.apart(within, &locals, |own| own.value(&binding.value));
        self.underway.pop();
        value
    }

    /// The first of several quantities, and all of them.
    fn quantities(&mut self, given: &'t [Argument]) -> Option<(Quantity, Vec<Quantity>)> {
        let values: Option<Vec<Quantity>> = given.iter().map(|argument| self.quantity(&argument.value)).collect();
        let values = values?;
        Some((*values.first()?, values))
    }

    fn extreme(&mut self, given: &'t [Argument], pick: fn(f64, f64) -> f64) -> Option<Value> {
        let (first, values) = self.quantities(given)?;
        // A bare zero takes the dimension of what stands beside it.
        let dimension = values.iter().find(|value| value.value != 0.0).map_or(first.dimension, |value| value.dimension);
        let value = values.iter().map(|value| value.value).reduce(pick)?;
        Some(Value::Quantity(Quantity { value, dimension }))
    }

    fn changed(&mut self, given: &'t [Argument], change: fn(f64) -> f64) -> Option<Value> {
        let (first, _) = self.quantities(given)?;
        Some(Value::Quantity(Quantity { value: change(first.value), ..first }))
    }

    fn root(&mut self, given: &'t [Argument], span: Span) -> Option<Value> {
        let (first, _) = self.quantities(given)?;
        if first.value < 0.0 {
            return self.report(say::root_of_negative(first, span));
        }
        Some(Value::Quantity(Quantity { value: first.value.sqrt(), dimension: first.dimension.root()? }))
    }

    /// The rows of a table, each a list of its cells.
    fn rows(&mut self, given: &'t [Argument]) -> Option<Value> {
        let columns = self.columns(given)?;
        let count = columns.first()?.values.len();
        let row = |at: usize| {
            let cells = columns.iter().filter_map(|column| column.values.get(at).cloned());
            Value::List(cells.collect::<Vec<Value>>().into())
        };
        Some(Value::List((0..count).map(row).collect::<Vec<Value>>().into()))
    }

    /// Whole numbers as texts, each at least so many digits wide.
    fn digits(&mut self, arguments: &Arguments<'t, arguments::Digits>) -> Option<Value> {
        use arguments::Digits::{Number, Width};
        let (numbers, width) = (arguments.get(Number)?, arguments.get(Width)?);
        let wide = self.count(width, "`width`", 1, limits::DIGITS)? as usize;
        let given = self.value(numbers)?;
        let mut text = |value: &Value| {
            let quantity = value.quantity()?;
            match quantity.whole() {
                Some(whole) => Some(Value::Text(with_zeros(&whole.to_string(), wide).into())),
                None => self.report(say::not_whole("each number", quantity, numbers.span)),
            }
        };
        match &given {
            Value::List(items) => Some(Value::List(items.iter().map(text).collect::<Option<Vec<Value>>>()?.into())),
            single => text(single),
        }
    }

    fn of_angle(&mut self, given: &'t [Argument], of: fn(f64) -> f64) -> Option<Value> {
        let (first, _) = self.quantities(given)?;
        Some(Value::Quantity(Quantity::number(of(Angle::degrees(first.value).as_radians()))))
    }

    fn tangent(&mut self, given: &'t [Argument], span: Span) -> Option<Value> {
        let (first, _) = self.quantities(given)?;
        if (first.value.rem_euclid(180.0) - 90.0).abs() < 1e-9 {
            return self.report(say::no_tangent(first, span));
        }
        self.of_angle(given, f64::tan)
    }

    fn line(&mut self, given: &'t [Argument], span: Span) -> Option<Value> {
        let mut points = Vec::new();
        for argument in given {
            match self.value(&argument.value)? {
                Value::Point(point) => points.push(point),
                _ => return None,
            }
        }
        let line = self.shaped(Trace::line(&points), span)?;
        Some(Value::Trace(line.into()))
    }

    fn measured(&mut self, measure: MeasureName, given: &'t [Argument], span: Span) -> Option<Value> {
        let subject = match given.first() {
            Some(argument) => match self.value(&argument.value)? {
                Value::Thing(name) => Some(name),
                _ => return None,
            },
            None => None,
        };
        let value = self.measure.and_then(|known| known(measure, subject.as_deref()));
        value.or_else(|| self.report(say::cannot_measure(measure.word(), subject.as_deref(), span)))
    }
}

/// A number with zeros before it, until its whole part has this many digits.
pub fn with_zeros(number: &str, width: usize) -> String {
    let (sign, digits) = match number.strip_prefix('-') {
        Some(digits) => ("-", digits),
        None => ("", number),
    };
    let whole = digits.split('.').next().unwrap_or(digits);
    format!("{sign}{}{digits}", "0".repeat(width.saturating_sub(whole.len())))
}

/// The size that one of two arguments gives: a radius, or half a diameter.
pub(super) fn half(length: Length) -> f64 {
    length.as_mm() / 2.0
}
