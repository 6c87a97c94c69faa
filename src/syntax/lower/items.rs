//! Items of a file.

use super::{Lower, Parts};
use crate::source::Span;
use crate::syntax::findings::syntax as findings;
use crate::syntax::parse::Rule;
use crate::syntax::recover::{self, Place};
use crate::syntax::tree::{
    Accept, Bounds, Expect, Expr, ExprKind, Formal, Item, Layer, Let, Outline, Param, Piece, Reads, ReadsHow, Run,
    Size, Slot, SlotShape, Text, Thing,
};
use pest::iterators::Pair;

impl Lower<'_> {
    pub(super) fn item(&mut self, pair: Pair<'_, Rule>) -> Option<Item> {
        let span = self.span(&pair);
        match pair.as_rule() {
            Rule::dial_item => {
                let text = Parts::of(pair).find(|part| matches!(part.as_rule(), Rule::string | Rule::curly))?;
                Some(Item::Dial(self.expr(text)))
            }
            Rule::shop_item => self.only_text(pair).map(Item::Shop),
            Rule::with_item => self.name_of_file(pair).map(Item::With),
            Rule::typeface => self.typefaces(pair).map(Item::Typeface),
            Rule::param => self.param(pair, span).map(Item::Param),
            Rule::let_item => self.let_item(pair).map(Item::Let),
            Rule::outline => self.outline(pair).map(Item::Outline),
            Rule::layer | Rule::layer_without_stock | Rule::layer_garbled | Rule::layer_misspelt => {
                self.layer(pair, span).map(Item::Layer)
            }
            Rule::stack => self.stack(pair, span).map(Item::Stack),
            Rule::family => self.family(pair, span).map(Item::Family),
            Rule::reads => self.reads(pair, span).map(Item::Reads),
            Rule::slot => self.slot(pair, span).map(Item::Slot),
            Rule::run | Rule::run_block => self.run(pair, span).map(Item::Run),
            Rule::expect => self.expect(pair, span).map(Item::Expect),
            Rule::accept => self.accept(pair, span).map(Item::Accept),
            Rule::thing => self.thing(pair, span).map(Item::Thing),
            _ => None,
        }
    }

    /// The text after the item's word.
    fn only_text(&mut self, pair: Pair<'_, Rule>) -> Option<Text> {
        let mut parts = Parts::of(pair);
        parts.next()?;
        self.take_text(&mut parts)
    }

    /// The same, where a name without its values would be looked for in vain.
    fn name_of_file(&mut self, pair: Pair<'_, Rule>) -> Option<Text> {
        let has_values = pair.clone().into_inner().flatten().any(|part| part.as_rule() == Rule::value_in);
        self.only_text(pair).filter(|_| !has_values)
    }

    /// One name of a typeface, or a list of them.
    fn typefaces(&mut self, pair: Pair<'_, Rule>) -> Option<Expr> {
        let list = pair.clone().into_inner().find(|part| part.as_rule() == Rule::text_list);
        let text = |text: Text| Expr { span: text.span, kind: ExprKind::Text(text.value) };
        let Some(list) = list else { return self.name_of_file(pair).map(text) };
        let has_values = list.clone().into_inner().flatten().any(|part| part.as_rule() == Rule::value_in);
        let span = self.span(&list);
        let texts = Parts::of(list).filter(|part| matches!(part.as_rule(), Rule::string | Rule::curly));
        let texts: Vec<Expr> = texts.map(|part| text(self.text_literal(part))).collect();
        (!has_values).then_some(Expr { kind: ExprKind::List(texts), span })
    }

    fn param(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Param> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::PARAM)?;
        let name = self.take_name(&mut parts)?;
        parts.get(Rule::colon)?;
        let kind = self.take_name(&mut parts)?;
        parts.get(Rule::eq)?;
        let value = self.expr(parts.next()?);
        let bounds = parts.get(Rule::bounds).and_then(|bounds| self.bounds(bounds));
        let note = self.take_note(&mut parts);
        Some(Param { name, kind, value, bounds, note, span })
    }

    fn bounds(&mut self, pair: Pair<'_, Rule>) -> Option<Bounds> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::FROM)?;
        if let Some(choices) = parts.get(Rule::choices) {
            let choices = Parts::of(choices).filter(|part| part.as_rule() == Rule::expr);
            return Some(Bounds::OneOf(choices.map(|choice| self.expr(choice)).collect()));
        }
        let from = self.expr(parts.next()?);
        parts.get(Rule::TO)?;
        Some(Bounds::Between(from, self.expr(parts.next()?)))
    }

    pub(super) fn let_item(&mut self, pair: Pair<'_, Rule>) -> Option<Let> {
        let span = self.span(&pair);
        let mut parts = Parts::of(pair);
        parts.get(Rule::LET)?;
        let name = self.take_name(&mut parts)?;
        let formals = parts.get(Rule::formals).map(|formals| self.formals(formals));
        parts.get(Rule::eq)?;
        Some(Let { name, formals, value: self.expr(parts.next()?), span })
    }

    fn formals(&mut self, pair: Pair<'_, Rule>) -> Vec<Formal> {
        let formal = |pair| {
            let mut parts = Parts::of(pair);
            let name = self.take_name(&mut parts)?;
            parts.get(Rule::colon)?;
            Some(Formal { name, kind: self.take_name(&mut parts)? })
        };
        Parts::of(pair).filter(|part| part.as_rule() == Rule::formal).filter_map(formal).collect()
    }

    pub(super) fn outline(&mut self, pair: Pair<'_, Rule>) -> Option<Outline> {
        let span = self.span(&pair);
        let mut parts = Parts::of(pair);
        parts.get(Rule::OUTLINE)?;
        Some(Outline { value: self.expr(parts.next()?), span })
    }

    /// A layer; also one whose first line is faulty, so that its block is read all the same.
    fn layer(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Layer> {
        let rule = pair.as_rule();
        let mut parts = Parts::of(pair);
        let first = parts.next()?;
        let first_span = self.span(&first);
        let (name, stock) = match rule {
            Rule::layer_garbled => self.garbled_header(&first, parts.get(Rule::garbled)?),
            Rule::layer_without_stock => {
                let name = self.take_name(&mut parts)?;
                self.report(findings::layer_without_stock(&name));
                let stock = self.no_name(name.span);
                (name, stock)
            }
            _ => {
                let name = self.take_name(&mut parts)?;
                parts.get(Rule::OF)?;
                (name, self.take_name(&mut parts)?)
            }
        };
        // The block is read whatever is wrong with the line before it: else each thing in it would count as missing.
        if rule == Rule::layer_misspelt {
            self.report(findings::misspelt_word(first_span, first.as_str(), "layer", true));
        }
        if name.text == "glue" {
            self.report(findings::layer_named_glue(name.span));
        }
        let block = parts.get(Rule::layer_block)?;
        let items = self.entries(block, Place::Layer).into_iter().filter_map(recover::Recovered::into_layer_item);
        Some(Layer { name, stock, items: items.collect(), span })
    }

    /// The faulty words between `layer` and `{`: says what is wrong and keeps the name, where there is one.
    fn garbled_header(&mut self, layer: &Pair<'_, Rule>, garbled: Pair<'_, Rule>) -> (super::Name, super::Name) {
        let (start, span) = (layer.as_span().start(), self.span(&garbled));
        let base = self.base + start;
        let header = self.text.get(base..span.end as usize).unwrap_or("").trim_end();
        // The header is read again by itself, so all places count from where it begins.
        let outer = std::mem::replace(&mut self.base, base);
        recover::say_what_is_wrong(self, Rule::only_header, header);
        self.base = outer;
        let (lead, word) = recover::first_word(garbled.as_str());
        let name = match word {
            "" => self.no_name(self.span(layer)),
            _ => {
                let start = garbled.as_span().start() + lead;
                super::Name { text: word.to_owned(), span: self.place(start..start + word.len()) }
            }
        };
        (name, self.no_name(span))
    }

    fn reads(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Reads> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::READS)?;
        let ring = self.piece(&mut parts)?;
        let how = if parts.has(Rule::THROUGH) { ReadsHow::Through } else { ReadsHow::Beside };
        parts.has(Rule::BESIDE);
        let mut by = vec![self.piece(&mut parts)?];
        while parts.has(Rule::comma) {
            by.push(self.piece(&mut parts)?);
        }
        let distance = parts.get(Rule::FROM).and_then(|_| parts.next()).map(|sum| self.expr(sum));
        Some(Reads { ring, how, by, distance, span })
    }

    fn piece(&mut self, parts: &mut Parts<'_>) -> Option<Piece> {
        let mut parts = Parts::of(parts.get(Rule::piece)?);
        let name = self.take_name(&mut parts)?;
        let of = parts.get(Rule::OF).and_then(|_| self.take_name(&mut parts));
        Some(Piece { name, of })
    }

    fn slot(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Slot> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::SLOT)?;
        if let Some(size) = parts.get(Rule::size) {
            return Some(Slot { shape: SlotShape::Box(self.size(size)), span });
        }
        let region = self.expr(parts.next()?);
        parts.get(Rule::DEPTH)?;
        let depth = self.expr(parts.next()?);
        Some(Slot { shape: SlotShape::Region { region, depth }, span })
    }

    pub(super) fn size(&mut self, pair: Pair<'_, Rule>) -> Size {
        let span = self.span(&pair);
        let sides = Parts::of(pair).filter(|part| part.as_rule() == Rule::sum).map(|side| self.expr(side)).collect();
        Size { sides, span }
    }

    /// A size whose first side is already known.
    pub(super) fn size_of(&mut self, first: Expr, further: Pair<'_, Rule>) -> Size {
        let rest = self.size(further);
        let span = first.span.to(rest.span);
        Size { sides: [vec![first], rest.sides].concat(), span }
    }

    fn run(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Run> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::RUN)?;
        let dials = self.expr(parts.next()?);
        let fields = parts.get(Rule::fields).map(|fields| self.fields(fields)).unwrap_or_default();
        Some(Run { dials, fields, span })
    }

    fn expect(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Expect> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::EXPECT)?;
        let condition = self.expr(parts.next()?);
        Some(Expect { condition, note: self.take_note(&mut parts), span })
    }

    fn accept(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Accept> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::ACCEPT)?;
        let finding = self.name(&parts.get(Rule::finding)?);
        let on = parts.get(Rule::ON).and_then(|_| self.take_name(&mut parts));
        Some(Accept { finding, on, reason: self.take_note(&mut parts)?, span })
    }

    fn thing(&mut self, pair: Pair<'_, Rule>, span: Span) -> Option<Thing> {
        let mut parts = Parts::of(pair);
        let kind = self.take_name(&mut parts)?;
        let name = self.take_name(&mut parts)?;
        let fields = self.fields(parts.get(Rule::fields)?);
        Some(Thing { kind, name, fields, span })
    }
}
