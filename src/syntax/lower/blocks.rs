//! The stack, families, and blocks of fields.

use super::{Lower, Parts};
use crate::source::Span;
use crate::syntax::findings::syntax as findings;
use crate::syntax::parse::Rule;
use crate::syntax::recover::{Place, Recovered};
use crate::syntax::tree::{
    Expr, Family, FamilyItem, Field, FieldValue, Name, Stack, StackItem, StackLayer, Wheel, WheelPlace,
};
use pest::iterators::Pair;

impl Lower<'_> {
    pub(super) fn stack(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Stack> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::STACK)?;
        self.garbled(&mut parts, "stack");
        let items = self.entries(parts.get(Rule::stack_block)?, Place::Stack);
        Some(Stack { items: items.into_iter().filter_map(Recovered::into_stack_item).collect(), span })
    }

    /// Text between the word of a nameless block and its brace.
    fn garbled(&mut self, parts: &mut Parts<'_>, word: &str) {
        if let Some(pair) = parts.get(Rule::garbled) {
            let (start, text) = (pair.as_span().start(), pair.as_str().trim_end());
            let span = self.place(start..start + text.len());
            self.report(findings::nameless_block(span, text, word));
        }
    }

    pub(super) fn stack_item(&mut self, pair: Pair<'_, Rule>) -> Option<StackItem> {
        let span = self.span(&pair);
        let rule = pair.as_rule();
        let mut parts = Parts::of(pair);
        match rule {
            Rule::layer_ref => {
                let (own, layer) = self.named_layer(&mut parts)?;
                Some(StackItem::Layer(StackLayer { own, layer, wheels: Vec::new(), span }))
            }
            Rule::wheels_on => {
                let (own, layer) = self.named_layer(&mut Parts::of(parts.get(Rule::layer_ref)?))?;
                let wheels = self.entries(parts.get(Rule::wheels)?, Place::Wheels);
                let wheels = wheels.into_iter().filter_map(Recovered::into_wheel).collect();
                Some(StackItem::Layer(StackLayer { own, layer, wheels, span }))
            }
            Rule::glue => {
                parts.get(Rule::GLUE)?;
                Some(StackItem::Glue { adhesive: self.take_name(&mut parts), span })
            }
            _ => {
                parts.get(Rule::TURN)?;
                parts.get(Rule::ON)?;
                let pivot = self.expr(parts.next()?);
                let fields = parts.get(Rule::fields).map(|fields| self.fields(fields)).unwrap_or_default();
                Some(StackItem::Turn { pivot, fields, span })
            }
        }
    }

    /// `LAYER` or `NAME = LAYER`.
    fn named_layer(&mut self, parts: &mut Parts<'_>) -> Option<(Option<Name>, Name)> {
        let own = parts.get(Rule::own_name).and_then(|own| self.take_name(&mut Parts::of(own)));
        Some((own, self.take_name(parts)?))
    }

    pub(super) fn wheel(&mut self, pair: Pair<'_, Rule>) -> Option<Wheel> {
        // Without a pivot, the blanks before it are read all the same.
        let last = pair.clone().into_inner().last().map_or_else(|| self.span(&pair), |last| self.span(&last));
        let span = self.span(&pair.clone().into_inner().next()?).to(last);
        let mut parts = Parts::of(pair);
        let (own, layer) = self.named_layer(&mut Parts::of(parts.get(Rule::layer_ref)?))?;
        let mut place = Parts::of(parts.get(Rule::place)?);
        let place = match place.get(Rule::IN) {
            Some(_) => WheelPlace::In(self.take_name(&mut place)?),
            None => {
                place.get(Rule::AT)?;
                WheelPlace::At(self.expr(place.next()?))
            }
        };
        let pivot = parts.get(Rule::pivot).and_then(|pivot| {
            let mut pivot = Parts::of(pivot);
            pivot.get(Rule::ON)?;
            Some(self.expr(pivot.next()?))
        });
        let fields = parts.get(Rule::fields).map(|fields| self.fields(fields)).unwrap_or_default();
        Some(Wheel { own, layer, place, pivot, fields, span })
    }

    pub(super) fn family(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Family> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::FAMILY)?;
        self.garbled(&mut parts, "family");
        let items = self.entries(parts.get(Rule::family_block)?, Place::Family);
        Some(Family { items: items.into_iter().filter_map(Recovered::into_family_item).collect(), span })
    }

    pub(super) fn family_item(&mut self, pair: Pair<'_, Rule>) -> Option<FamilyItem> {
        let span = self.span(&pair);
        let rule = pair.as_rule();
        let mut parts = Parts::of(pair);
        parts.next()?;
        match rule {
            Rule::each => {
                let mut names = vec![self.take_name(&mut parts)?];
                while parts.has(Rule::comma) {
                    names.push(self.take_name(&mut parts)?);
                }
                parts.get(Rule::IN)?;
                Some(FamilyItem::Each { names, values: self.expr(parts.next()?), span })
            }
            Rule::leave_out => {
                parts.get(Rule::OUT)?;
                Some(FamilyItem::LeaveOut { condition: self.expr(parts.next()?), span })
            }
            _ => {
                let name = self.take_name(&mut parts)?;
                let bindings = self.entries(parts.get(Rule::bindings)?, Place::Bindings);
                let bindings = bindings.into_iter().filter_map(Recovered::into_binding).collect();
                Some(FamilyItem::Variant { name, bindings, span })
            }
        }
    }

    pub(super) fn binding(&mut self, pair: Pair<'_, Rule>) -> Option<(Name, Expr)> {
        let mut parts = Parts::of(pair);
        let name = self.take_name(&mut parts)?;
        parts.get(Rule::eq)?;
        Some((name, self.expr(parts.next()?)))
    }

    pub(super) fn fields(&mut self, pair: Pair<'_, Rule>) -> Vec<Field> {
        self.entries(pair, Place::Fields).into_iter().filter_map(Recovered::into_field).collect()
    }

    pub(super) fn field(&mut self, pair: Pair<'_, Rule>) -> Option<Field> {
        let span = self.span(&pair);
        let mut parts = Parts::of(pair);
        let name = self.take_name(&mut parts)?;
        let first = parts.get(Rule::expr).map(|value| self.expr(value));
        let value = match (first, parts.get(Rule::further)) {
            (Some(first), Some(further)) => FieldValue::Size(self.size_of(first, further)),
            (Some(value), None) => FieldValue::Expr(value),
            (None, _) => FieldValue::None,
        };
        Some(Field { name, value, note: self.take_note(&mut parts), span })
    }
}
