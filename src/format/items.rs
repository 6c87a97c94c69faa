//! Items and blocks as documents.

use super::doc::{Doc, Gap, Remark};
use crate::source::Span;
use crate::syntax::tree::{
    Accept, Bounds, Expr, Face, Family, FamilyItem, Field, FieldValue, File, FlipWay, Formal, Item, Layer, LayerItem,
    Let, Mark, Marked, Name, Param, Piece, Reads, ReadsHow, Slot, SlotShape, StackItem, Tail, Text, Wheel, WheelPlace,
};
use crate::syntax::{Comment, blank_line_before};

/// Turns a tree into a document. Pieces are built in the order written, so that each comment comes up in its place.
pub(super) struct Builder<'a> {
    text: &'a str,
    /// The comments that still have to be put somewhere.
    comments: &'a [Comment],
}

impl<'a> Builder<'a> {
    pub(super) fn new(text: &'a str, comments: &'a [Comment]) -> Self {
        Self { text, comments }
    }

    /// The whole file.
    pub(super) fn file(&mut self, file: &File) -> Vec<Doc> {
        let mut docs = Vec::new();
        for item in &file.items {
            docs.push(self.gap(self.first_byte(item), "", true));
            docs.push(self.item(item));
        }
        docs.push(self.gap(u32::MAX, "", true));
        docs
    }

    /// Where an item begins: at its word, which the tree does not keep for items that are only a word and a text.
    fn first_byte(&self, item: &Item) -> u32 {
        let start = item.start();
        match item {
            Item::Dial(_) | Item::Shop(_) | Item::With(_) | Item::Typeface(_) => {
                let before = self.text.get(..start as usize).unwrap_or("").trim_end_matches([' ', '\t']);
                u32::try_from(before.trim_end_matches(char::is_alphabetic).len()).unwrap_or(start)
            }
            _ => start,
        }
    }

    /// What a span covers.
    pub(super) fn source(&self, span: Span) -> &'a str {
        self.text.get(span.range()).unwrap_or("")
    }

    /// What stands from one byte to another.
    pub(super) fn text_between(&self, from: usize, to: usize) -> &'a str {
        self.text.get(from..to).unwrap_or("")
    }

    /// The gap before the byte at `before`, with the comments that stand there.
    pub(super) fn gap(&mut self, before: u32, flat: &'static str, breaks: bool) -> Doc {
        let count = self.comments.partition_point(|comment| comment.span.start < before);
        let (here, later) = self.comments.split_at_checked(count).unwrap_or((self.comments, &[]));
        self.comments = later;
        let remark = |comment: &Comment| Remark {
            text: self.source(comment.span).trim_end().to_owned(),
            own_line: comment.own_line,
            blank: comment.own_line && blank_line_before(self.text, comment.span.start as usize),
        };
        // Comments are handed out in order, each to the first gap that comes after it in the text: so none is lost,
        // and none is written twice.
        let comments = here.iter().map(remark).collect();
        let blank = breaks && blank_line_before(self.text, before as usize);
        Doc::Gap(Gap { flat, breaks, blank, comments })
    }

    /// One item of a file.
    pub(super) fn item(&mut self, item: &Item) -> Doc {
        match item {
            Item::Dial(text) => self.after("dial ", text),
            Item::Shop(text) => self.worded("shop", text),
            Item::With(text) => self.worded("with", text),
            Item::Typeface(names) => self.after("typeface ", names),
            Item::Param(param) => self.param(param),
            Item::Let(item) => self.let_item(item),
            Item::Outline(outline) => self.after("outline ", &outline.value),
            Item::Layer(layer) => self.layer(layer),
            Item::Stack(stack) => {
                let items = stack.items.iter().map(|item| (stack_item_start(item), item));
                self.block("stack ".to_owned(), items, stack.span, Self::stack_item)
            }
            Item::Reads(reads) => self.reads(reads),
            Item::Slot(slot) => self.slot(slot),
            Item::Run(run) => {
                let head = self.after("run ", &run.dials);
                self.with_fields(head, &run.fields, run.span)
            }
            Item::Expect(expect) => {
                let condition = self.after("expect ", &expect.condition);
                self.noted(vec![condition], expect.note.as_ref())
            }
            Item::Accept(accept) => self.accept(accept),
            Item::Family(family) => self.family(family),
            Item::Thing(thing) => {
                let fields = thing.fields.iter().map(|field| (field.span.start, field));
                self.block(format!("{} {} ", thing.kind.text, thing.name.text), fields, thing.span, Self::field)
            }
        }
    }

    fn worded(&self, word: &str, text: &Text) -> Doc {
        Doc::text(format!("{word} {}", self.source(text.span)))
    }

    /// A word and its value.
    fn after(&mut self, words: &str, value: &Expr) -> Doc {
        Doc::group(vec![Doc::text(words), self.expr(value)])
    }

    /// A name, `=`, and its value.
    fn bound(&mut self, words: String, value: &Expr) -> Doc {
        let gap = self.gap(value.span.start, " ", false);
        Doc::group(vec![Doc::text(words), Doc::Indent(vec![gap]), self.expr(value)])
    }

    fn noted(&self, mut parts: Vec<Doc>, note: Option<&Text>) -> Doc {
        parts.extend(note.map(|note| Doc::Note(self.source(note.span).to_owned())));
        Doc::group(parts)
    }

    fn param(&mut self, param: &Param) -> Doc {
        let words = format!("param {}: {} =", param.name.text, param.kind.text);
        let mut parts = vec![self.bound(words, &param.value)];
        match &param.bounds {
            Some(Bounds::Between(from, to)) => {
                parts.push(self.after(" from ", from));
                parts.push(Doc::text(" to"));
                let gap = self.gap(to.span.start, " ", false);
                parts.push(Doc::Indent(vec![gap, self.expr(to)]));
            }
            Some(Bounds::OneOf(choices)) => {
                let choices: Vec<(Doc, Doc)> = choices
                    .iter()
                    .enumerate()
                    .map(|(at, choice)| {
                        (self.gap(choice.span.start, if at == 0 { "" } else { " " }, true), self.expr(choice))
                    })
                    .collect();
                parts.push(Doc::text(" from "));
                // Where its bracket closes is not in the tree; comments before it come after it instead.
                parts.push(self.bracketed("[", choices, "]", ",", Span { end: 0, ..param.span }));
            }
            None => {}
        }
        self.noted(parts, param.note.as_ref())
    }

    fn let_item(&mut self, item: &Let) -> Doc {
        let formal = |formal: &Formal| format!("{}: {}", formal.name.text, formal.kind.text);
        let formals = item.formals.as_ref().map(|formals| {
            let formals: Vec<String> = formals.iter().map(formal).collect();
            format!("({})", formals.join(", "))
        });
        self.bound(format!("let {}{} =", item.name.text, formals.unwrap_or_default()), &item.value)
    }

    fn layer(&mut self, layer: &Layer) -> Doc {
        let items = layer.items.iter().map(|item| (layer_item_start(item), item));
        let head = format!("layer {} of {} ", layer.name.text, layer.stock.text);
        self.block(head, items, layer.span, Self::layer_item)
    }

    fn layer_item(&mut self, item: &LayerItem) -> Doc {
        match item {
            LayerItem::Let(item) => self.let_item(item),
            LayerItem::Outline(outline) => self.after("outline ", &outline.value),
            LayerItem::Flip(flip) => match &flip.way {
                FlipWay::About(bearing) => self.after("flip about ", bearing),
                FlipWay::Board => Doc::text("flip board"),
                FlipWay::Holder => Doc::text("flip holder"),
            },
            LayerItem::Mark(mark) => self.mark(mark),
            LayerItem::Field(field) => self.field(field),
        }
    }

    fn mark(&mut self, mark: &Mark) -> Doc {
        let face = match mark.face {
            Some((Face::Front, _)) => "front ",
            Some((Face::Back, _)) => "back ",
            None => "",
        };
        let head = format!("{face}{} ", mark.work.word());
        match &mark.what {
            Marked::Ring { name, fields } => {
                let head = Doc::text(format!("{head}ring {}", name.text));
                self.with_fields(head, fields, mark.span)
            }
            Marked::Shape { name, value } => {
                let mut parts = vec![match name {
                    Some(name) => self.bound(format!("{head}{} =", name.text), value),
                    None => self.after(&head, value),
                }];
                parts.extend(mark.tails.iter().map(|tail| self.tail(tail)));
                Doc::group(parts)
            }
        }
    }

    fn tail(&mut self, tail: &Tail) -> Doc {
        let word = format!(" {} ", tail.kind.word());
        match &tail.value {
            Some(value) => self.after(&word, value),
            None => Doc::text(format!("{word}through")),
        }
    }

    fn stack_item(&mut self, item: &StackItem) -> Doc {
        match item {
            StackItem::Layer(copy) => {
                let head = self.layer_lies(copy.own.as_ref(), &copy.layer);
                if copy.wheels.is_empty() {
                    return head;
                }
                let wheels = copy.wheels.iter().map(|wheel| (wheel.span.start, wheel));
                let block = self.block(" ".to_owned(), wheels, copy.span, Self::wheel);
                Doc::Group { forced: false, parts: vec![head, block] }
            }
            StackItem::Glue { adhesive: Some(name), .. } => Doc::text(format!("glue {}", name.text)),
            StackItem::Glue { adhesive: None, .. } => Doc::text("glue"),
            StackItem::Turn { pivot, fields, span } => {
                let head = self.after("turn on ", pivot);
                self.with_fields(head, fields, *span)
            }
        }
    }

    /// `LAYER` or `NAME = LAYER`.
    fn layer_lies(&mut self, own: Option<&Name>, layer: &Name) -> Doc {
        let Some(own) = own else { return Doc::text(&layer.text) };
        let gap = self.gap(layer.span.start, " ", true);
        Doc::group(vec![Doc::text(format!("{} =", own.text)), Doc::Indent(vec![gap, Doc::text(&layer.text)])])
    }

    fn wheel(&mut self, wheel: &Wheel) -> Doc {
        let lies = self.layer_lies(wheel.own.as_ref(), &wheel.layer);
        let place = match &wheel.place {
            WheelPlace::In(opening) => Doc::text(format!(" in {}", opening.text)),
            WheelPlace::At(point) => self.after(" at ", point),
        };
        let pivot = wheel.pivot.as_ref().map(|pivot| self.after(" on ", pivot));
        let head = Doc::group([lies, place].into_iter().chain(pivot).collect());
        self.with_fields(head, &wheel.fields, wheel.span)
    }

    fn reads(&mut self, reads: &Reads) -> Doc {
        let how = if reads.how == ReadsHow::Through { "through" } else { "beside" };
        let piece = |piece: &Piece| piece.names().map(|name| name.text.as_str()).collect::<Vec<_>>().join(" of ");
        let mut parts = vec![Doc::text(format!("reads {} {how}", piece(&reads.ring)))];
        for (at, one) in reads.by.iter().enumerate() {
            parts.push(Doc::text(if at == 0 { " " } else { "," }));
            let gap = self.gap(one.name.span.start, if at == 0 { "" } else { " " }, at > 0);
            parts.push(Doc::Indent(vec![gap, Doc::text(piece(one))]));
        }
        parts.extend(reads.distance.iter().map(|distance| self.after(" from ", distance)));
        Doc::group(parts)
    }

    fn slot(&mut self, slot: &Slot) -> Doc {
        match &slot.shape {
            SlotShape::Box(size) => Doc::group(vec![Doc::text("slot "), self.size(size)]),
            SlotShape::Region { region, depth } => {
                Doc::group(vec![self.after("slot ", region), self.after(" depth ", depth)])
            }
        }
    }

    fn accept(&self, accept: &Accept) -> Doc {
        let on = accept.on.as_ref().map(|name| format!(" on {}", name.text)).unwrap_or_default();
        self.noted(vec![Doc::text(format!("accept {}{on}", accept.finding.text))], Some(&accept.reason))
    }

    fn family(&mut self, family: &Family) -> Doc {
        let items = family.items.iter().map(|item| (family_item_start(item), item));
        self.block("family ".to_owned(), items, family.span, Self::family_item)
    }

    fn family_item(&mut self, item: &FamilyItem) -> Doc {
        match item {
            FamilyItem::Each { names, values, .. } => {
                let mut parts = vec![Doc::text("each")];
                for (at, name) in names.iter().enumerate() {
                    parts.push(Doc::text(if at == 0 { "" } else { "," }));
                    parts.push(self.gap(name.span.start, " ", at > 0));
                    parts.push(Doc::text(&name.text));
                }
                let names = Doc::group(vec![Doc::Indent(parts)]);
                Doc::group(vec![names, self.after(" in ", values)])
            }
            FamilyItem::Variant { name, bindings, span } => {
                let bindings = bindings.iter().map(|binding| (binding.0.span.start, binding));
                self.block(format!("variant {} ", name.text), bindings, *span, Self::binding)
            }
            FamilyItem::LeaveOut { condition, .. } => self.after("leave out ", condition),
        }
    }

    fn binding(&mut self, (name, value): &(Name, Expr)) -> Doc {
        self.bound(format!("{} =", name.text), value)
    }

    /// A field of a block.
    pub(super) fn field(&mut self, field: &Field) -> Doc {
        let word = &field.name.text;
        let value = match &field.value {
            FieldValue::None => Doc::text(word),
            FieldValue::Expr(value) => self.after(&format!("{word} "), value),
            FieldValue::Size(size) => Doc::group(vec![Doc::text(format!("{word} ")), self.size(size)]),
        };
        self.noted(vec![value], field.note.as_ref())
    }

    /// A head, and its fields where there are any.
    fn with_fields(&mut self, head: Doc, fields: &[Field], span: Span) -> Doc {
        if fields.is_empty() {
            return head;
        }
        let fields = fields.iter().map(|field| (field.span.start, field));
        let block = self.block(" ".to_owned(), fields, span, Self::field);
        // Not by `group`, which would break the head along with its fields.
        Doc::Group { forced: false, parts: vec![head, block] }
    }

    /// A block after its head: on one line where it was written so and fits, else one item a line.
    fn block<'i, T: 'i>(
        &mut self,
        head: String,
        items: impl Iterator<Item = (u32, &'i T)>,
        span: Span,
        one: impl Fn(&mut Self, &'i T) -> Doc,
    ) -> Doc {
        // The one thing in which the author's choice is kept: a block written on one line stays on one, where it
        // fits. All else follows from the width.
        let mut items = items.peekable();
        let over_lines = self.is_over_lines(span, items.peek().map_or(span.end, |(start, _)| *start));
        let mut inside = Vec::new();
        for (start, item) in items {
            if !inside.is_empty() {
                inside.push(Doc::IfFlat(";"));
            }
            let gap = self.gap(start, " ", true);
            inside.push(if inside.is_empty() { without_first_blank(gap) } else { gap });
            inside.push(one(self, item));
        }
        let empty = inside.is_empty();
        let [remarks, end] = self.close(span.end.saturating_sub(1), if empty { "" } else { " " });
        let bare = empty && matches!(&remarks, Doc::Gap(gap) if gap.comments.is_empty());
        inside.push(if empty { without_first_blank(remarks) } else { remarks });
        let head = Doc::text(format!("{head}{{"));
        Doc::group_forced(over_lines && !bare, vec![head, Doc::Indent(inside), end, Doc::text("}")])
    }

    /// Whether a block was written over several lines, from its brace on: in how many its head was written is no matter of it.
    /// `first` is where its first item begins.
    fn is_over_lines(&self, span: Span, first: u32) -> bool {
        let [start, first, end] = [span.start, first, span.end].map(|at| at as usize);
        // A remark that holds a brace ends its line, so it is seen whichever brace is found.
        let brace = self.text_between(start, first).rfind('{').unwrap_or(0);
        self.text_between(start + brace, end).contains(['\n', '\r'])
    }
}

/// Nothing stands between a block's brace and what comes first in it.
fn without_first_blank(gap: Doc) -> Doc {
    let Doc::Gap(mut gap) = gap else { return gap };
    match gap.comments.first_mut() {
        Some(first) if first.own_line => first.blank = false,
        Some(_) => {}
        None => gap.blank = false,
    }
    Doc::Gap(gap)
}

fn stack_item_start(item: &StackItem) -> u32 {
    match item {
        StackItem::Layer(copy) => copy.name().span.start,
        StackItem::Glue { span, .. } | StackItem::Turn { span, .. } => span.start,
    }
}

fn layer_item_start(item: &LayerItem) -> u32 {
    match item {
        LayerItem::Let(item) => item.span.start,
        LayerItem::Outline(outline) => outline.span.start,
        LayerItem::Flip(flip) => flip.span.start,
        LayerItem::Mark(mark) => mark.span.start,
        LayerItem::Field(field) => field.span.start,
    }
}

fn family_item_start(item: &FamilyItem) -> u32 {
    match item {
        FamilyItem::Each { span, .. } | FamilyItem::Variant { span, .. } | FamilyItem::LeaveOut { span, .. } => {
            span.start
        }
    }
}
