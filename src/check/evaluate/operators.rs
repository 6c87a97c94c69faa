//! Values of arithmetic, comparisons, ranges, placings and combinations.

use std::sync::Arc;

use kurbo::{Affine, Point};

use super::{Evaluator, ITEM, STEP, within_bounds};
use crate::check::findings::values as say;
use crate::check::value::{Figure, Line, Value};
use crate::design::Lettering;
use crate::geometry::{Region, mirror, polar, turn};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{Arithmetic, Combining, Comparison, Expr, Logic, Placing};
use crate::units::{Angle, Quantity};
use crate::work::spend_on;

/// Two values are the same where they differ by less than this share of the larger.
const SAME: f64 = 1e-9;

impl<'t> Evaluator<'t> {
    pub(super) fn arithmetic(
        &mut self,
        operator: Arithmetic,
        left: &'t Expr,
        right: &'t Expr,
        at: Span,
    ) -> Option<Value> {
        let (left, right) = (self.value(left), self.value(right));
        match (left?, right?) {
            (Value::Quantity(left), Value::Quantity(right)) => {
                self.reckon(operator, left, right, at).map(Value::Quantity)
            }
            (Value::Point(left), Value::Point(right)) => Some(Value::Point(match operator {
                Arithmetic::Subtract => (left - right).to_point(),
                _ => left + right.to_vec2(),
            })),
            _ => None,
        }
    }

    fn reckon(&mut self, operator: Arithmetic, left: Quantity, right: Quantity, at: Span) -> Option<Quantity> {
        // A bare zero takes the dimension of what stands beside it.
        let dimension = if left.value == 0.0 { right.dimension } else { left.dimension };
        Some(match operator {
            Arithmetic::Add => Quantity { value: left.value + right.value, dimension },
            Arithmetic::Subtract => Quantity { value: left.value - right.value, dimension },
            Arithmetic::Multiply => {
                Quantity { value: left.value * right.value, dimension: left.dimension.times(right.dimension) }
            }
            Arithmetic::Divide if right.value == 0.0 => return self.report(say::division_by_zero(at)),
            Arithmetic::Divide => {
                Quantity { value: left.value / right.value, dimension: left.dimension.over(right.dimension) }
            }
        })
    }

    pub(super) fn compare(&mut self, first: &'t Expr, rest: &'t [(Comparison, Expr)]) -> Option<bool> {
        let mut left = self.value(first)?;
        let mut holds = true;
        for (comparison, expr) in rest {
            let right = self.value(expr)?;
            holds &= compared(*comparison, &left, &right)?;
            left = right;
        }
        Some(holds)
    }

    pub(super) fn logic(&mut self, operator: Logic, left: &'t Expr, right: &'t Expr) -> Option<bool> {
        match (operator, self.truth(left)?) {
            // The right side is not looked at: `n > 0 and 1 / n < 2` must not divide by zero.
            (Logic::And, false) => Some(false),
            (Logic::Or, true) => Some(true),
            _ => self.truth(right),
        }
    }

    pub(super) fn range(&mut self, from: &'t Expr, to: &'t Expr, by: Option<&'t Expr>, span: Span) -> Option<Value> {
        let (first, last) = (self.quantity(from)?, self.quantity(to)?);
        let step = match by {
            Some(by) => self.quantity(by)?.value.abs(),
            None => 1.0,
        };
        let distance = last.value - first.value;
        if step == 0.0 {
            return self.report(say::no_step(span));
        }
        // A hair is added so that 0 to 0.3 by 0.1 reaches its end in spite of binary fractions.
        let steps = (distance.abs() / step + SAME).floor();
        #[allow(clippy::cast_precision_loss, reason = "the limit is small")]
        if steps >= limits::LIST_LENGTH as f64 {
            return self.report(say::list_too_long((steps as usize).saturating_add(1), span));
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "below the limit, not negative")]
        let count = steps as u32;
        // A range that begins at a bare 0 measures what its other end does.
        let dimension = if first.value == 0.0 { last.dimension } else { first.dimension };
        let item = |at: u32| {
            Value::Quantity(Quantity { value: f64::from(at).mul_add(step.copysign(distance), first.value), dimension })
        };
        Some(Value::List((0..=count).map(item).collect()))
    }

    pub(super) fn combined(
        &mut self,
        combining: Combining,
        left: &'t Expr,
        right: &'t Expr,
        span: Span,
    ) -> Option<Value> {
        let first = match self.value(left) {
            Some(areas @ Value::List(_)) if self.in_colours => return self.clipped(combining, &areas, right, span),
            Some(Value::Region(figure)) => Some((*figure.region).clone()),
            _ => None,
        };
        let second = self.region(right);
        let (first, second) = (first?, second?);
        let made = match combining {
            Combining::Plus => first.union(&second),
            Combining::Less => first.difference(&second),
            Combining::Within => first.intersection(&second),
        };
        if made.is_empty() && !first.is_empty() {
            return self.report(say::nothing_left(combining, left.span, right.span));
        }
        self.region_value(made, span)
    }

    /// A drawing in its own colours, each area by itself; what comes to it lies over it.
    fn clipped(&mut self, combining: Combining, areas: &Value, right: &'t Expr, span: Span) -> Option<Value> {
        if combining == Combining::Plus {
            let more = self.value(right)?;
            let more = more.items().map_or_else(|| vec![more.clone()], <[Value]>::to_vec);
            return self.listed(areas.items()?.iter().cloned().chain(more).collect(), span);
        }
        let with = self.region(right)?;
        let mut made = Vec::new();
        for area in areas.items()? {
            let Value::Region(figure) = area else { return None };
            let region = match combining {
                Combining::Less => figure.region.difference(&with),
                _ => figure.region.intersection(&with),
            };
            if !region.is_empty() {
                made.push(Value::Region(Figure { region: region.into(), ..figure.clone() }));
            }
        }
        self.listed(made, span)
    }

    /// A region, from an expression of that kind.
    pub fn region(&mut self, expr: &'t Expr) -> Option<Region> {
        match self.value(expr)? {
            Value::Region(figure) => Some((*figure.region).clone()),
            _ => None,
        }
    }

    pub(super) fn region_value(&mut self, region: Region, span: Span) -> Option<Value> {
        let segments = region.path().elements().len();
        if segments > limits::SEGMENTS {
            return self.report(say::too_many_segments(segments, span));
        }
        let made = Value::Region(Figure::plain(region));
        if within_bounds(&made) { Some(made) } else { self.report(say::out_of_bounds(span)) }
    }

    pub(super) fn placed(
        &mut self,
        subject: &'t Expr,
        placing: Placing,
        argument: &'t Expr,
        span: Span,
    ) -> Option<Value> {
        let value = self.value(subject)?;
        match placing {
            Placing::At => match self.value(argument)? {
                Value::Point(point) => self.mapped(value, Affine::translate(point.to_vec2()), argument.span),
                _ => None,
            },
            Placing::Turned => {
                let by = self.angle(argument)?;
                self.mapped(value, turn(by), argument.span)
            }
            Placing::Mirrored => {
                let about = self.angle(argument)?;
                self.mapped(value, mirror(about), argument.span)
            }
            Placing::Scaled => {
                let by = self.quantity(argument)?;
                if by.value <= 0.0 {
                    return self.report(say::not_positive("the scale", by, argument.span));
                }
                self.mapped(value, Affine::scale(by.value), argument.span)
            }
            Placing::Repeated => {
                let most = u32::try_from(limits::LIST_LENGTH).unwrap_or(u32::MAX);
                let count = self.count(argument, "the number of copies", 1, most)?;
                self.repeated(&value, count, span)
            }
            Placing::Rounded | Placing::Inset | Placing::Outset => {
                self.offset(&value, placing, argument, (subject.span, span))
            }
        }
    }

    /// Moved, turned, scaled or mirrored; every item of a list.
    pub(super) fn mapped(&mut self, value: Value, map: Affine, span: Span) -> Option<Value> {
        let moved = match value {
            Value::Region(figure) => Value::Region(Figure {
                region: figure.region.transformed(map).into(),
                lettering: figure.lettering.map(|words| carried(words, map)),
                ..figure
            }),
            Value::Trace(line) => Value::Trace(Line {
                trace: line.trace.transformed(map).into(),
                lettering: line.lettering.map(|words| carried(words, map)),
            }),
            Value::Point(point) => Value::Point(map * point),
            Value::List(items) => {
                spend_on(items.len(), ITEM);
                let moved: Option<Vec<Value>> = items.iter().map(|item| self.mapped(item.clone(), map, span)).collect();
                Value::List(moved?.into())
            }
            _ => return None,
        };
        if within_bounds(&moved) { Some(moved) } else { self.report(say::out_of_bounds(span)) }
    }

    /// Copies evenly round the axis: a region becomes their union, a trace all of them, a list of each.
    fn repeated(&mut self, value: &Value, count: u32, span: Span) -> Option<Value> {
        let turns = (0..count).map(|at| turn(Angle::degrees(360.0 * f64::from(at) / f64::from(count))));
        match value {
            Value::Region(figure) => {
                let made = turns.fold(Region::empty(), |all, by| all.union(&figure.region.transformed(by)));
                match self.region_value(made, span)? {
                    Value::Region(made) => Some(Value::Region(Figure { colour: figure.colour, ..made })),
                    other => Some(other),
                }
            }
            Value::Trace(line) => {
                let mut path = kurbo::BezPath::new();
                turns.for_each(|by| path.extend(line.trace.transformed(by).path().iter()));
                Some(Value::Trace(crate::geometry::Trace::from_path(path).into()))
            }
            Value::Point(point) => Some(Value::List(turns.map(|by| Value::Point(by * *point)).collect())),
            Value::List(items) => {
                let made: Option<Vec<Value>> = items.iter().map(|item| self.repeated(item, count, span)).collect();
                self.listed(made?, span)
            }
            _ => None,
        }
    }

    fn offset(
        &mut self,
        value: &Value,
        placing: Placing,
        argument: &'t Expr,
        (subject, span): (Span, Span),
    ) -> Option<Value> {
        let by = self.distance(argument, "the distance")?.as_mm();
        let Value::Region(figure) = value else { return None };
        let made = match placing {
            Placing::Rounded => figure.region.rounded(by),
            Placing::Inset => figure.region.offset(-by),
            _ => figure.region.offset(by),
        };
        if made.is_empty() && !figure.region.is_empty() {
            return self.report(say::vanished(placing, by, subject, argument.span));
        }
        self.region_value(made, span)
    }
}

/// Whether a comparison holds, none where the values cannot be compared; quantities are the same within a billionth.
pub fn compared(comparison: Comparison, left: &Value, right: &Value) -> Option<bool> {
    let ordered = |left: Quantity, right: Quantity| {
        let same = (left.value - right.value).abs() <= SAME * left.value.abs().max(right.value.abs());
        match comparison {
            Comparison::Less => left.value < right.value && !same,
            Comparison::AtMost => left.value < right.value || same,
            Comparison::Greater => left.value > right.value && !same,
            Comparison::AtLeast => left.value > right.value || same,
            Comparison::Is => same,
            Comparison::IsNot => !same,
        }
    };
    match (left, right, comparison) {
        (Value::Quantity(left), Value::Quantity(right), _) => Some(ordered(*left, *right)),
        (left, right, Comparison::Is) => Some(same(left, right)),
        (left, right, Comparison::IsNot) => Some(!same(left, right)),
        _ => None,
    }
}

/// Whether two values are the same; a label is the same as the text or number that it shows.
fn same(left: &Value, right: &Value) -> bool {
    match (left, right) {
        // What is one and the same list was not made twice, however often its items were.
        (Value::List(left), Value::List(right)) if Arc::ptr_eq(left, right) => true,
        (Value::List(left), Value::List(right)) => {
            spend_on(left.len(), STEP);
            left.len() == right.len() && left.iter().zip(right.iter()).all(|(left, right)| same(left, right))
        }
        (Value::Quantity(_), Value::Quantity(_)) => compared(Comparison::Is, left, right) == Some(true),
        _ => match (super::label_text(left), super::label_text(right)) {
            (Some(left), Some(right)) => left == right,
            _ => left == right,
        },
    }
}

/// The words that a map takes words to.
fn carried(words: Lettering, map: Affine) -> Lettering {
    let way = map * polar(1.0, words.up) - map * Point::ZERO;
    let up = Angle::degrees(way.x.atan2(way.y).to_degrees());
    Lettering { up, mirrored: words.mirrored != (map.determinant() < 0.0), ..words }
}
