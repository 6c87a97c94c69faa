//! What the fields of a block of the shop say, each read as what it is to be.

use super::likely::{Figure, doubt};
use crate::check::evaluate::{Evaluator, Fields};
use crate::check::findings::{dial as say, values};
use crate::check::value::Value;
use crate::design::{Measured, Tone};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{FieldValue, Thing};
use crate::units::{Angle, Length, Quantity, Speed, Time};
use crate::vocabulary::blocks::{FieldName, fields};

/// Readings of one thing that differ by more than this many times are mostly a slip (common practice, no source).
const READINGS_APART: f64 = 1.3;
/// The same of a kerf, which is as wide as what it is read with is fine.
const KERFS_APART: f64 = 3.0;

/// Reads fields of one block; each reader gives none where the field is not there or at fault.
pub(super) struct Reader<'e, 't, F> {
    pub(super) eval: &'e mut Evaluator<'t>,
    pub(super) fields: Fields<'t, F>,
}

impl<'e, 't, F: FieldName> Reader<'e, 't, F> {
    pub(super) fn of(eval: &'e mut Evaluator<'t>, thing: &'t Thing) -> Self {
        Self { eval, fields: Fields::of(&thing.fields) }
    }

    /// A length of zero or more, or the default.
    pub(super) fn distance(&mut self, name: F) -> Option<Length> {
        match self.fields.expr(name) {
            Some(expr) => self.eval.distance(expr, &quoted(name)),
            None => name.row().default.length(),
        }
    }

    /// Angles of tilt tests, from above zero to 85deg.
    pub(super) fn tilts(&mut self, name: F) -> Option<Vec<Angle>> {
        let Some(expr) = self.fields.expr(name) else { return Some(Vec::new()) };
        let value = self.eval.value(expr)?;
        let angles: Option<Vec<Angle>> =
            value.items()?.iter().map(|item| Angle::from_quantity(item.quantity()?)).collect();
        let angles = angles?;
        // At 90deg the tangent is endless; what holds beyond 85deg is held by something else than friction.
        let bad = angles.iter().find(|angle| !(0.0..=85.0).contains(&angle.as_degrees()) || **angle == Angle::ZERO);
        match bad {
            Some(bad) => self.eval.report(say::bad_tilt(*bad, expr.span)),
            None => Some(angles),
        }
    }

    /// One reading or several.
    pub(super) fn measured(&mut self, name: F) -> Option<Measured> {
        let expr = self.fields.expr(name)?;
        let readings: Vec<Length> = match self.eval.value(expr)? {
            // One that is no length was reported by the type checker.
            Value::List(items) => {
                let lengths = items.iter().map(|item| Length::from_quantity(item.quantity()?));
                lengths.collect::<Option<Vec<Length>>>()?
            }
            value => vec![Length::from_quantity(value.quantity()?)?],
        };
        let word = name.row().word;
        if let Some(bad) = readings.iter().find(|reading| reading.as_mm() <= 0.0) {
            return self.eval.report(say::bad_reading(word, Some(*bad), expr.span));
        }
        if let Some(long) = readings.iter().find(|reading| reading.as_mm() > limits::LENGTH_MM) {
            return self.eval.report(values::too_long(*long, expr.span));
        }
        let least = readings.iter().copied().reduce(|one, other| if other < one { other } else { one });
        let most = readings.iter().copied().reduce(|one, other| if other > one { other } else { one });
        let apart = if word == fields::Stock::Kerf.word() { KERFS_APART } else { READINGS_APART };
        if let Some((least, most)) = least.zip(most).filter(|(least, most)| *most > *least * apart) {
            self.eval.problems.push(say::readings_differ(word, (least, most), expr.span));
        }
        match Measured::from_readings(&readings) {
            Some(measured) => Some(measured),
            None => self.eval.report(say::bad_reading(word, None, expr.span)),
        }
    }

    /// A colour, or the default.
    pub(super) fn colour(&mut self, name: F) -> Option<Tone> {
        match self.fields.expr(name) {
            Some(_) => self.own_colour(name),
            None => name.row().default.colour(),
        }
    }

    /// A colour, where the field is there.
    pub(super) fn own_colour(&mut self, name: F) -> Option<Tone> {
        match self.eval.value(self.fields.expr(name)?)? {
            Value::Colour(colour) => Some(colour),
            _ => None,
        }
    }

    /// A number of zero or more, where the field is there.
    pub(super) fn number(&mut self, name: F) -> Option<f64> {
        let expr = self.fields.expr(name)?;
        let quantity = self.eval.quantity(expr)?;
        if quantity.value < 0.0 {
            return self.eval.report(values::negative(&quoted(name), quantity, expr.span));
        }
        Some(quantity.value)
    }

    /// A quantity above zero, where given; none where it is at fault.
    pub(super) fn positive(&mut self, name: F) -> Option<Option<Quantity>> {
        let Some(expr) = self.fields.expr(name) else { return Some(None) };
        let quantity = self.eval.quantity(expr)?;
        if quantity.value <= 0.0 {
            return self.eval.report(values::not_positive(&quoted(name), quantity, expr.span));
        }
        Some(Some(quantity))
    }

    pub(super) fn speed(&mut self, name: F) -> Option<Speed> {
        self.positive(name).flatten().and_then(Speed::from_quantity)
    }

    pub(super) fn time(&mut self, name: F) -> Option<Time> {
        self.positive(name).flatten().and_then(Time::from_quantity)
    }

    /// Where a field is written.
    pub(super) fn place(&self, name: F) -> Option<Span> {
        self.fields.expr(name).map(|expr| expr.span)
    }

    /// Warns of a length that is hardly ever so.
    pub(super) fn doubt_length(&mut self, figure: Figure, of: &str, name: F, length: Option<Length>) {
        let place = self.place(name);
        if let Some(length) = length {
            doubt(self.eval, figure, of, length.as_mm(), place);
        }
    }

    pub(super) fn text(&mut self, name: F) -> Option<String> {
        match self.eval.value(self.fields.expr(name)?)? {
            Value::Text(text) => Some(text.to_string()),
            _ => None,
        }
    }

    pub(super) fn flag(&mut self, name: F) -> bool {
        match self.fields.get(name).map(|field| &field.value) {
            Some(FieldValue::Expr(expr)) => self.eval.truth(expr).unwrap_or(false),
            Some(FieldValue::None) => true,
            Some(FieldValue::Size(_)) | None => false,
        }
    }

    pub(super) fn angle(&mut self, name: F) -> Option<Angle> {
        let expr = self.fields.expr(name)?;
        self.eval.angle(expr)
    }

    /// An angle of zero or more, or the default.
    pub(super) fn turned(&mut self, name: F) -> Option<Angle> {
        let Some(expr) = self.fields.expr(name) else { return name.row().default.angle() };
        let angle = self.eval.angle(expr)?;
        if angle.as_degrees() < 0.0 {
            return self.eval.report(values::negative(&quoted(name), angle.quantity(), expr.span));
        }
        Some(angle)
    }
}

fn quoted(name: impl FieldName) -> String {
    format!("`{}`", name.row().word)
}
