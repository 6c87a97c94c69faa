//! Evaluation: the value of every expression, within bounds.
//!
//! `None` stands for a value that could not be had and has been reported, here or by the type checker. Kinds
//! that do not fit are the type checker's business and are passed over in silence here.

mod calls;
mod fields;
mod lettered;
mod operators;
mod shapes;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use calls::with_zeros;
pub use fields::Fields;
pub use lettered::facing_of;
pub use operators::compared;

use super::names::{Definition, Meaning, Names};
use super::tables::{Column, Tables};
use super::value::Value;
use crate::artwork::Art;
use crate::check::findings::values as say;
use crate::diagnostics::{Diagnostic, Problems};
use crate::geometry::GeometryError;
use crate::lettering::Typeface;
use crate::limits;
use crate::project::Project;
use crate::source::{Sources, Span};
use crate::syntax::tree::{Argument, Expr, ExprKind, Face, ForEach, Let, TextPiece};
use crate::units::{Angle, Dimension, Length, Quantity};
use crate::vocabulary::measures::MeasureName;
use crate::work::{spend, spend_on};

/// What a value costs, whatever it is; one that is kept in a list; a byte that is kept. With the last two all that may be kept
/// stays well below the memory that a dial may take.
const STEP: u64 = 100;
const ITEM: u64 = 3_000;
const KEPT: u64 = 10;

/// A name as seen from the layer that may own it, on one face, in colours or not: lettering on a back is turned round.
type Key<'t> = (&'t str, Option<&'t str>, Face, bool);

/// Gives the value of a measure of the finished dial; none where it cannot be told.
pub type Measure<'t> = &'t dyn Fn(MeasureName, Option<&str>) -> Option<Value>;

/// What evaluation needs to know from outside.
#[derive(Clone, Copy)]
pub struct World<'t> {
    /// All names.
    pub names: &'t Names<'t>,
    /// Values set for params, by a variant or from the command line.
    pub settings: &'t BTreeMap<String, Value>,
    /// Where artwork comes from.
    pub project: &'t dyn Project,
    /// What letters look like.
    pub typeface: &'t Typeface,
    /// The texts, for the names of files.
    pub sources: &'t Sources,
}

/// Evaluates expressions of one variant.
pub struct Evaluator<'t> {
    world: World<'t>,
    known: BTreeMap<Key<'t>, Option<Value>>,
    artwork: BTreeMap<(String, String), Option<Arc<Art>>>,
    typefaces: BTreeMap<Arc<str>, Option<Typeface>>,
    tables: Tables<'t>,
    locals: Vec<(&'t str, Value)>,
    /// Functions of the maker being worked out: one that needs itself was reported and has no value.
    underway: Vec<Span>,
    layer: Option<&'t str>,
    face: Face,
    /// Whether drawings are taken in their own colours, area by area.
    in_colours: bool,
    measure: Option<Measure<'t>>,
    steps: usize,
    /// What is being worked out.
    at: Option<Span>,
    /// What was found on the way.
    pub problems: Problems,
}

impl<'t> Evaluator<'t> {
    /// Whether this stands in the design itself, and not in a shared file.
    pub fn is_own(&self, span: Span) -> bool {
        self.world.sources.iter().next().is_some_and(|(design, _)| design == span.source)
    }

    /// The first place of the design's own file.
    pub fn own_start(&self) -> Option<Span> {
        self.world.sources.iter().next().map(|(design, _)| Span::new(design, 0..0))
    }

    /// A fresh one.
    pub fn new(world: World<'t>) -> Self {
        Self {
            world,
            known: BTreeMap::new(),
            artwork: BTreeMap::new(),
            typefaces: BTreeMap::new(),
            tables: Tables::new(world.sources, world.project),
            locals: Vec::new(),
            underway: Vec::new(),
            layer: None,
            face: Face::Front,
            in_colours: false,
            measure: None,
            steps: 0,
            at: None,
            problems: Problems::default(),
        }
    }

    /// The same, able to measure the finished dial.
    #[must_use]
    pub fn measuring(mut self, measure: Measure<'t>) -> Self {
        self.measure = Some(measure);
        self
    }

    /// The same, knowing these words as well.
    #[must_use]
    pub fn knowing(mut self, words: Vec<(&'t str, Value)>) -> Self {
        self.locals = words;
        self
    }

    /// From here on, these names stand for these values, and no others do that were told so.
    pub fn also_know(&mut self, locals: Vec<(&'t str, Value)>) {
        self.locals = locals;
    }

    /// All names.
    pub fn names(&self) -> &'t Names<'t> {
        self.world.names
    }

    /// Letters, in the typeface of the dial.
    pub fn typeface(&self) -> &'t Typeface {
        self.world.typeface
    }

    /// From here on, expressions stand in this layer.
    pub fn enter(&mut self, layer: Option<&'t str>) {
        self.layer = layer;
    }

    /// From here on, lettering and artwork are for this face.
    pub fn face(&mut self, face: Face) {
        self.face = face;
    }

    /// From here on, drawings are taken in their own colours, area by area, or not.
    pub fn in_colours(&mut self, in_colours: bool) {
        self.in_colours = in_colours;
    }

    /// A part of the texts, as written.
    pub fn text(&self, span: Span) -> &str {
        self.world.sources.text(span)
    }

    /// An expression as it was written: behind a name, unless its value was set from outside. It must have a value, or names
    /// that need each other would be followed for ever.
    pub fn as_written(&self, expr: &'t Expr) -> &'t Expr {
        let (mut expr, mut layer) = (expr, self.layer);
        loop {
            let name = match &expr.kind {
                ExprKind::Group(inner) => {
                    expr = inner;
                    continue;
                }
                ExprKind::Name(name) => name.as_str(),
                _ => return expr,
            };
            let Some(Definition { meaning, within, .. }) = self.world.names.get(name, layer) else { return expr };
            (expr, layer) = match meaning {
                Meaning::Param(param) if !self.world.settings.contains_key(name) => (&param.value, None),
                Meaning::Let(binding) if binding.formals.is_none() => (&binding.value, within),
                _ => return expr,
            };
        }
    }

    /// From here on, until something is evaluated, this item is being worked out.
    pub fn begin(&mut self, item: Span) {
        self.at = Some(item);
    }

    /// What was being worked out when the work was given up.
    pub fn left_at(&self) -> Option<Span> {
        self.at
    }

    /// The columns that a call takes of a table. What is wrong with them was reported by the type checker.
    pub(super) fn columns(&mut self, arguments: &[Argument]) -> Option<Vec<Arc<Column>>> {
        self.tables.columns(arguments).0
    }

    /// The value that a name of the whole dial stands for.
    pub fn named(&mut self, name: &'t str) -> Option<Value> {
        self.enter(None);
        self.name(name)
    }

    /// Reports, and gives nothing.
    pub fn report<T>(&mut self, diagnostic: Diagnostic) -> Option<T> {
        self.problems.push(diagnostic);
        None
    }

    /// The shape, or its fault reported at `span`.
    pub fn shaped<T>(&mut self, shape: Result<T, GeometryError>, span: Span) -> Option<T> {
        match shape {
            Ok(shape) => Some(shape),
            Err(error) => self.report(say::bad_shape(error, span)),
        }
    }

    /// The value of an expression.
    pub fn value(&mut self, expr: &'t Expr) -> Option<Value> {
        self.steps += 1;
        if self.steps > limits::EVALUATIONS {
            // Told once. A count of steps and not a clock, so that the same text is refused on every machine.
            if self.steps == limits::EVALUATIONS + 1 {
                self.problems.push(say::too_much_work(expr.span));
            }
            return None;
        }
        spend(STEP);
        let outer = self.at.replace(expr.span);
        let value = self.value_of_kind(expr);
        self.at = outer;
        let value = value?;
        match &value {
            Value::Quantity(quantity) if !quantity.value.is_finite() => self.report(say::not_a_number(expr.span)),
            // What is made is looked at once, and not again wherever its name stands.
            _ if matches!(expr.kind, ExprKind::Call { .. }) && !within_bounds(&value) => {
                self.report(say::out_of_bounds(expr.span))
            }
            _ => Some(value),
        }
    }

    fn value_of_kind(&mut self, expr: &'t Expr) -> Option<Value> {
        match &expr.kind {
            ExprKind::Number(number) => Some(Value::Quantity(match number.unit {
                Some(unit) => Quantity::of(number.value, unit),
                None => Quantity::number(number.value),
            })),
            ExprKind::Text(text) => Some(Value::Text(text.as_str().into())),
            ExprKind::Filled(pieces) => self.with_values(pieces, expr.span).map(|text| Value::Text(text.into())),
            ExprKind::Colour(colour) => Some(Value::Colour(*colour)),
            ExprKind::Truth(truth) => Some(Value::Truth(*truth)),
            ExprKind::Name(name) => self.name(name),
            ExprKind::Call { function, arguments } => self.call(function, arguments, expr.span),
            ExprKind::Group(inner) => self.value(inner),
            ExprKind::Point(x, y) => {
                let (x, y) = (self.length(x), self.length(y));
                Some(Value::Point(kurbo::Point::new(x?.as_mm(), y?.as_mm())))
            }
            ExprKind::List(items) => {
                let values: Vec<Option<Value>> = items.iter().map(|item| self.value(item)).collect();
                // All are worked out before the list gives up, so that each faulty one is reported.
                let values: Option<Vec<Value>> = values.into_iter().collect();
                self.listed(values?, expr.span)
            }
            ExprKind::ForEach(walk) => self.for_each(walk, expr.span),
            ExprKind::Range { from, to, by } => self.range(from, to, by.as_deref(), expr.span),
            ExprKind::Negate(inner) => match self.value(inner)? {
                Value::Quantity(quantity) => Some(Value::Quantity(Quantity { value: -quantity.value, ..quantity })),
                Value::Point(point) => Some(Value::Point(kurbo::Point::new(-point.x, -point.y))),
                _ => None,
            },
            ExprKind::Arithmetic { operator, left, right, operator_span } => {
                self.arithmetic(*operator, left, right, *operator_span)
            }
            ExprKind::Placed { subject, placing, argument } => self.placed(subject, *placing, argument, expr.span),
            ExprKind::Combined { combining, left, right } => self.combined(*combining, left, right, expr.span),
            ExprKind::Compare { first, rest } => self.compare(first, rest).map(Value::Truth),
            ExprKind::Not(inner) => Some(Value::Truth(!self.truth(inner)?)),
            ExprKind::Logic { operator, left, right } => self.logic(*operator, left, right).map(Value::Truth),
            ExprKind::If { condition, then, otherwise } => {
                if self.truth(condition)? {
                    self.value(then)
                } else {
                    self.value(otherwise)
                }
            }
            ExprKind::Broken => None,
        }
    }

    /// A text with its values put in: counts and texts as labels are, quantities as people write them.
    fn with_values(&mut self, pieces: &'t [TextPiece], span: Span) -> Option<String> {
        let mut text = String::new();
        for piece in pieces {
            match piece {
                TextPiece::Letters(letters) => text.push_str(letters),
                TextPiece::Value(value) => text.push_str(&in_letters(&self.value(value)?)?),
            }
            if text.len() > limits::TEXT_BYTES {
                return self.report(say::text_too_long(span));
            }
        }
        spend_on(text.len(), KEPT);
        Some(text)
    }

    fn listed(&mut self, items: Vec<Value>, span: Span) -> Option<Value> {
        spend_on(items.len(), ITEM);
        if items.len() > limits::LIST_LENGTH {
            return self.report(say::list_too_long(items.len(), span));
        }
        Some(Value::List(items.into()))
    }

    fn name(&mut self, name: &'t str) -> Option<Value> {
        if let Some((_, value)) = self.locals.iter().rev().find(|(local, _)| *local == name) {
            return Some(value.clone());
        }
        let Definition { meaning, within, .. } = self.world.names.get(name, self.layer)?;
        let key = (name, within, self.face, self.in_colours);
        if let Some(known) = self.known.get(&key) {
            return known.clone();
        }
        // A binding that needs itself finds this in place and stays without a value; it was reported.
        self.known.insert(key, None);
        let value = match meaning {
            Meaning::Param(param) => match self.world.settings.get(name) {
                Some(value) => Some(value.clone()),
                None => self.apart(None, &[], |own| own.value(&param.value)),
            },
            Meaning::Let(Let { formals: Some(_), .. }) => None,
            Meaning::Let(binding) => self.apart(within, &[], |own| own.value(&binding.value)),
            Meaning::Layer(_)
            | Meaning::Copy(_)
            | Meaning::Wheel(_)
            | Meaning::Ring(_)
            | Meaning::Mark(_)
            | Meaning::Thing(..) => Some(Value::Thing(name.into())),
        };
        self.known.insert(key, value.clone());
        value
    }

    /// Evaluates something that sees only its own locals and the names of `layer`.
    fn apart<T>(
        &mut self,
        layer: Option<&'t str>,
        locals: &[(&'t str, Value)],
        work: impl FnOnce(&mut Self) -> T,
    ) -> T {
        let outer = (std::mem::replace(&mut self.locals, locals.to_vec()), std::mem::replace(&mut self.layer, layer));
        let result = work(self);
        (self.locals, self.layer) = outer;
        result
    }

    fn for_each(&mut self, walk: &'t ForEach, span: Span) -> Option<Value> {
        let list = self.value(&walk.list)?;
        let mut made = Vec::new();
        for item in list.items()? {
            self.locals.push((&walk.variable.text, item.clone()));
            let wanted = walk.condition.as_ref().map_or(Some(true), |condition| self.truth(condition));
            let value = match wanted {
                Some(true) => self.value(&walk.value).map(Some),
                Some(false) => Some(None),
                None => None,
            };
            self.locals.pop();
            made.extend(value?);
        }
        self.listed(made, span)
    }

    /// A quantity.
    pub fn quantity(&mut self, expr: &'t Expr) -> Option<Quantity> {
        self.value(expr)?.quantity()
    }

    /// A length, whatever its size; a bare zero is one. Only for what makes no geometry.
    pub fn far(&mut self, expr: &'t Expr) -> Option<Length> {
        let quantity = self.quantity(expr)?;
        if quantity.value == 0.0 { Some(Length::ZERO) } else { Length::from_quantity(quantity) }
    }

    /// A length no longer than what lies within bounds; a bare zero is one.
    pub fn length(&mut self, expr: &'t Expr) -> Option<Length> {
        let length = self.far(expr)?;
        // Refused before anything is made of it: the engines of geometry have no end to look forward to beyond all bounds.
        if length.as_mm().abs() > limits::LENGTH_MM {
            self.report(say::too_long(length, expr.span))
        } else {
            Some(length)
        }
    }

    /// An angle; a bare zero is one.
    pub fn angle(&mut self, expr: &'t Expr) -> Option<Angle> {
        let quantity = self.quantity(expr)?;
        if quantity.value == 0.0 { Some(Angle::ZERO) } else { Angle::from_quantity(quantity) }
    }

    /// A truth.
    pub fn truth(&mut self, expr: &'t Expr) -> Option<bool> {
        match self.value(expr)? {
            Value::Truth(truth) => Some(truth),
            _ => None,
        }
    }

    /// A whole number from `least` to `most`.
    pub fn count(&mut self, expr: &'t Expr, what: &str, least: u32, most: u32) -> Option<u32> {
        let quantity = self.quantity(expr)?;
        match quantity.whole().map(u32::try_from) {
            Some(Ok(count)) if (least..=most).contains(&count) => Some(count),
            None if quantity.dimension != Dimension::NUMBER || quantity.value.fract() != 0.0 => {
                self.report(say::not_whole(what, quantity, expr.span))
            }
            _ => self.report(say::count_out_of_bounds(what, quantity, least, most, expr.span)),
        }
    }

    /// A length above zero.
    pub fn size(&mut self, expr: &'t Expr, what: &str) -> Option<Length> {
        let value = self.value(expr)?;
        self.size_of(&value, what, expr.span)
    }

    /// The same of a value that was worked out before.
    pub fn size_of(&mut self, value: &Value, what: &str, span: Span) -> Option<Length> {
        let quantity = value.quantity()?;
        let length = if quantity.value == 0.0 { Length::ZERO } else { Length::from_quantity(quantity)? };
        if length.as_mm().abs() > limits::LENGTH_MM {
            self.report(say::too_long(length, span))
        } else if length.as_mm() > 0.0 {
            Some(length)
        } else {
            self.report(say::not_positive(what, length.quantity(), span))
        }
    }

    /// A length of zero or more.
    pub fn distance(&mut self, expr: &'t Expr, what: &str) -> Option<Length> {
        let length = self.length(expr)?;
        if length.as_mm() >= 0.0 {
            Some(length)
        } else {
            self.report(say::negative(what, length.quantity(), expr.span))
        }
    }
}

/// Whether all that a value draws lies within the limit on size.
pub(super) fn within_bounds(value: &Value) -> bool {
    let limit = kurbo::Rect::new(-limits::SIZE_MM, -limits::SIZE_MM, limits::SIZE_MM, limits::SIZE_MM);
    let within = |rect: Option<kurbo::Rect>| rect.is_none_or(|rect| rect.is_finite() && limit.contains_rect(rect));
    match value {
        Value::Region(figure) => within(figure.region.bounds()),
        Value::Trace(line) => within(line.trace.bounds()),
        Value::Point(point) => within(Some(kurbo::Rect::from_points(*point, *point))),
        _ => true,
    }
}

/// A value as it stands within a text: counts and texts as labels are, quantities as people write them.
fn in_letters(value: &Value) -> Option<String> {
    match value {
        Value::Quantity(quantity) if quantity.dimension != Dimension::NUMBER => Some(quantity.to_string()),
        Value::Quantity(_) | Value::Text(_) => label_text(value),
        _ => None,
    }
}

/// What a value says where it stands as a label: numbers as written, text as it is, art by its name.
pub fn label_text(value: &Value) -> Option<String> {
    match value {
        Value::Quantity(quantity) => Some(crate::units::plain(quantity.value, 6)),
        Value::Text(text) => Some(text.to_string()),
        Value::Region(figure) => figure.says.as_ref().map(ToString::to_string),
        _ => None,
    }
}
