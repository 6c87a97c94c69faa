//! How a file states the value of a param, and what its text becomes when another value takes its place.

use super::params::{Range, Ranged};
use crate::diagnostics::Edit;
use crate::source::Sources;
use crate::units::{Dimension, Quantity, UNITS, Unit, unit_named};

/// The unit that the file writes the value in, where it is a plain number; else one that people use. None for pure numbers and
/// for what no unit of the language measures.
pub fn unit_of(param: &Ranged, sources: &Sources) -> Option<Unit> {
    let of =
        |text: &str| unit_named(text.trim().trim_start_matches(|c: char| c.is_ascii_digit() || c == '.' || c == '-'));
    let quantity = param.value.quantity()?;
    of(sources.text(param.written))
        .or_else(|| of(&quantity.to_string()))
        .filter(|unit| unit.dimension == quantity.dimension)
        .or_else(|| {
            let number = quantity.dimension == Dimension::NUMBER;
            UNITS.into_iter().find(|unit| unit.dimension == quantity.dimension && !number)
        })
}

/// The edit that writes this value in place of the one that the file states, nothing else changed; none where the param may not
/// be that, or the file is none of the maker's. Only ever a plain number with its unit or one of the choices as written.
pub fn rewritten(param: &Ranged, sources: &Sources, value: &str) -> Option<Edit> {
    let file = sources.file(param.written.source);
    let allowed = match &param.range {
        Range::OneOf(choices) => choices.iter().any(|(text, _)| text == value),
        Range::Between(least, most) => number(value, param).is_some_and(|wanted| {
            // Who asks may count in the file's unit, and the ends come back rounded.
            let slack = 1e-9 * most.value.abs();
            (least.value - slack..=most.value + slack).contains(&wanted)
        }),
    };
    let ours = file.name.starts_with('(');
    (allowed && !ours && file.text.get(param.written.range()).is_some())
        .then(|| Edit { span: param.written, text: value.to_owned() })
}

/// A plain number with its unit, in base units, where it measures what the param does.
fn number(text: &str, param: &Ranged) -> Option<f64> {
    let at = text.find(|c: char| !c.is_ascii_digit() && c != '.' && c != '-').unwrap_or(text.len());
    let (number, unit) = text.split_at(at);
    let plain = number.bytes().any(|byte| byte.is_ascii_digit()) && !number.starts_with('.') && !number.ends_with('.');
    let value: f64 = number.parse().ok().filter(|_| plain)?;
    let quantity = if unit.is_empty() { Quantity::number(value) } else { Quantity::of(value, unit_named(unit)?) };
    let counts = param.kind != "count" || quantity.whole().is_some();
    (counts && quantity.dimension == param.value.quantity()?.dimension).then_some(quantity.value)
}
