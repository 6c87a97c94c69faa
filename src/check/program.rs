//! The items of a design and its shared files, sorted by what they are, each where it may stand only once.

use std::collections::BTreeMap;

use super::evaluate::Fields;
use crate::check::findings::dial as say;
use crate::design::Accepted;
use crate::diagnostics::{Finding, Problems};
use crate::source::Span;
use crate::syntax::tree::{
    Accept, Expect, Expr, Family, Field, File, Item, Layer, LayerItem, Marked, Outline, Param, Piece, Reads, Run, Slot,
    Stack, StackItem, Text, Thing,
};
use crate::vocabulary::blocks::{BlockName, fields};
use crate::vocabulary::items::ItemWord;

/// The items of a design, sorted.
#[derive(Clone, Debug, Default)]
pub struct Program<'t> {
    /// `dial "…"`
    pub title: Option<&'t Expr>,
    /// `shop "…"`
    pub shop: Option<&'t Text>,
    /// `typeface "…"`, or a list of such texts.
    pub typeface: Option<&'t Expr>,
    /// `outline …`
    pub outline: Option<&'t Outline>,
    /// `stack { … }`
    pub stack: Option<&'t Stack>,
    /// `slot …`
    pub slot: Option<&'t Slot>,
    /// `run …`
    pub run: Option<&'t Run>,
    /// `family { … }`
    pub family: Option<&'t Family>,
    /// Params in the order declared.
    pub params: Vec<&'t Param>,
    /// Layers in the order written.
    pub layers: Vec<&'t Layer>,
    /// Readings.
    pub reads: Vec<&'t Reads>,
    /// Expectations.
    pub expects: Vec<&'t Expect>,
    /// Values that are sought.
    pub seeks: Vec<&'t Thing>,
    /// Accepted findings.
    pub accepts: Vec<&'t Accept>,
}

impl<'t> Program<'t> {
    /// The findings that are accepted, but for names that are none.
    pub fn accepted(&self) -> Vec<Accepted> {
        let known = self.accepts.iter().filter(|accept| Finding::named(&accept.finding.text).is_some());
        let accepted = known.map(|accept| Accepted {
            finding: accept.finding.text.clone(),
            on: accept.on.as_ref().map(|name| name.text.clone()),
            reason: accept.reason.value.clone(),
            origin: accept.span,
        });
        accepted.collect()
    }

    /// Sorts the items of all files. The design itself comes first, so that what it says goes before what it
    /// shares (a typeface, an outline); two of a kind in one file are a finding.
    pub fn sort(files: &[&'t File]) -> (Self, Problems) {
        let mut program = Self::default();
        let mut problems = Problems::default();
        for file in files {
            let mut seen: BTreeMap<&'static str, Span> = BTreeMap::new();
            for item in &file.items {
                if let Some((word, span)) = once(item) {
                    if let Some(first) = seen.get(word) {
                        problems.push(say::item_twice(word, span, *first));
                        continue;
                    }
                    seen.insert(word, span);
                }
                program.place(item);
            }
        }
        (program, problems)
    }

    /// Whether a reading or a turn asks for the layer, so that it is an error where it is not in the stack.
    pub fn asks_for(&self, layer: &Layer) -> bool {
        let names = |all: &'t [Field]| {
            let by_name = [fields::Turn::Turning, fields::Turn::Lower, fields::Turn::Upper];
            by_name.into_iter().any(|name| Fields::of(all).word(name) == Some(layer.name.text.as_str()))
        };
        let items = self.stack.iter().flat_map(|stack| &stack.items);
        let by_turn = items.into_iter().any(|item| matches!(item, StackItem::Turn { fields, .. } if names(fields)));
        let is_on_it = |piece: &Piece| is_on(layer, &piece.name.text);
        by_turn || self.reads.iter().any(|reads| reads.by.iter().chain([&reads.ring]).any(is_on_it))
    }

    /// The layer that a ring or a named mark is on.
    pub fn layer_of(&self, name: &str) -> Option<&'t Layer> {
        self.layers.iter().copied().find(|layer| is_on(layer, name))
    }

    fn place(&mut self, item: &'t Item) {
        match item {
            Item::Dial(text) => self.title = self.title.or(Some(text)),
            Item::Shop(text) => self.shop = self.shop.or(Some(text)),
            Item::Typeface(text) => self.typeface = self.typeface.or(Some(text)),
            Item::Outline(outline) => self.outline = self.outline.or(Some(outline)),
            Item::Stack(stack) => self.stack = self.stack.or(Some(stack)),
            Item::Slot(slot) => self.slot = self.slot.or(Some(slot)),
            Item::Run(run) => self.run = self.run.or(Some(run)),
            Item::Family(family) => self.family = self.family.or(Some(family)),
            Item::Param(param) => self.params.push(param),
            Item::Layer(layer) => self.layers.push(layer),
            Item::Reads(reads) => self.reads.push(reads),
            Item::Expect(expect) => self.expects.push(expect),
            Item::Accept(accept) => self.accepts.push(accept),
            Item::Thing(thing) if thing.kind.text == BlockName::Seek.word() => self.seeks.push(thing),
            Item::With(_) | Item::Let(_) | Item::Thing(_) => {}
        }
    }
}

/// Whether a layer has a ring or a mark of this name.
fn is_on(layer: &Layer, name: &str) -> bool {
    let marks = layer.items.iter().filter_map(|item| match item {
        LayerItem::Mark(mark) => Some(&mark.what),
        _ => None,
    });
    let mut names = marks.filter_map(|what| match what {
        Marked::Ring { name, .. } => Some(name),
        Marked::Shape { name, .. } => name.as_ref(),
    });
    names.any(|own| own.text == name)
}

/// The word and place of an item that may stand only once in a file.
fn once(item: &Item) -> Option<(&'static str, Span)> {
    match item {
        Item::Dial(text) => Some((ItemWord::Dial.word(), text.span)),
        Item::Shop(text) => Some((ItemWord::Shop.word(), text.span)),
        Item::Typeface(text) => Some((ItemWord::Typeface.word(), text.span)),
        Item::Outline(outline) => Some((ItemWord::Outline.word(), outline.span)),
        Item::Stack(stack) => Some((ItemWord::Stack.word(), stack.span)),
        Item::Slot(slot) => Some((ItemWord::Slot.word(), slot.span)),
        Item::Run(run) => Some((ItemWord::Run.word(), run.span)),
        Item::Family(family) => Some((ItemWord::Family.word(), family.span)),
        _ => None,
    }
}
