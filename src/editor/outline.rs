//! The items of a file as a tree: layers with what is on them, the stack, the family.

use lsp_types::{DocumentSymbol, SymbolKind};

use super::view::View;
use crate::format;
use crate::source::{SourceId, Span};
use crate::syntax::tree::{
    Family, FamilyItem, Item, Layer, LayerItem, Let, Mark, Marked, Name, Stack, StackItem, Text,
};

/// The outline of a file.
pub fn outline(view: &View, file: SourceId) -> Vec<DocumentSymbol> {
    let items = view.tree(file).map(|tree| tree.items.as_slice()).unwrap_or_default();
    let outline = Outline { view };
    items.iter().filter_map(|item| outline.item(item)).collect()
}

struct Outline<'v> {
    view: &'v View,
}

impl Outline<'_> {
    fn symbol(&self, name: &str, detail: &str, kind: SymbolKind, whole: Span, head: Span) -> DocumentSymbol {
        // The protocol wants a head inside its whole and a name that is not blank, or an editor refuses the entire
        // answer.
        let (whole, head) = (whole.to(head), if head.range().is_empty() { whole } else { head });
        let name = if name.trim().is_empty() { "(no name yet)" } else { name };
        #[allow(deprecated, reason = "a field of the protocol that must be filled and is never used")]
        DocumentSymbol {
            name: name.to_owned(),
            detail: (!detail.is_empty()).then(|| detail.to_owned()),
            kind,
            tags: None,
            deprecated: None,
            range: self.view.range(whole),
            selection_range: self.view.range(head),
            children: None,
        }
    }

    fn named(&self, name: &Name, detail: &str, kind: SymbolKind, whole: Span) -> DocumentSymbol {
        self.symbol(&name.text, detail, kind, whole, name.span)
    }

    fn text(&self, word: &str, text: &Text, kind: SymbolKind) -> DocumentSymbol {
        self.symbol(&text.value, word, kind, text.span, text.span)
    }

    fn item(&self, item: &Item) -> Option<DocumentSymbol> {
        Some(match item {
            Item::Dial(text) => {
                let name = format::written(text, self.view.text(text.span.source));
                self.symbol(&name, "dial", SymbolKind::MODULE, text.span, text.span)
            }
            Item::Shop(text) => self.text("shop", text, SymbolKind::MODULE),
            Item::With(text) => self.text("with", text, SymbolKind::FILE),
            Item::Typeface(names) => {
                let name = format::written(names, self.view.text(names.span.source));
                self.symbol(&name, "typeface", SymbolKind::FILE, names.span, names.span)
            }
            Item::Param(param) => self.named(&param.name, &param.kind.text, SymbolKind::CONSTANT, param.span),
            Item::Let(binding) => self.binding(binding),
            Item::Outline(outline) => self.symbol("outline", "", SymbolKind::OBJECT, outline.span, outline.span),
            Item::Layer(layer) => self.layer(layer),
            Item::Stack(stack) => self.stack(stack),
            Item::Reads(reads) => {
                self.symbol("reads", &reads.ring.name.text, SymbolKind::EVENT, reads.span, reads.span)
            }
            Item::Slot(slot) => self.symbol("slot", "", SymbolKind::OBJECT, slot.span, slot.span),
            Item::Run(run) => self.symbol("run", "", SymbolKind::OBJECT, run.span, run.dials.span),
            Item::Expect(expect) => {
                let note = expect.note.as_ref().map_or("", |note| note.value.as_str());
                self.symbol("expect", note, SymbolKind::BOOLEAN, expect.span, expect.condition.span)
            }
            Item::Accept(accept) => {
                self.symbol("accept", &accept.finding.text, SymbolKind::BOOLEAN, accept.span, accept.finding.span)
            }
            Item::Family(family) => self.family(family),
            Item::Thing(thing) => self.named(&thing.name, &thing.kind.text, SymbolKind::STRUCT, thing.span),
        })
    }

    fn binding(&self, binding: &Let) -> DocumentSymbol {
        let kind = if binding.formals.is_some() { SymbolKind::FUNCTION } else { SymbolKind::VARIABLE };
        self.named(&binding.name, "let", kind, binding.span)
    }

    fn layer(&self, layer: &Layer) -> DocumentSymbol {
        let children = layer.items.iter().filter_map(|item| match item {
            LayerItem::Let(binding) => Some(self.binding(binding)),
            LayerItem::Outline(outline) => {
                Some(self.symbol("outline", "", SymbolKind::OBJECT, outline.span, outline.span))
            }
            LayerItem::Mark(mark) => Some(self.mark(mark)),
            LayerItem::Flip(_) | LayerItem::Field(_) => None,
        });
        let detail = format!("layer of {}", layer.stock.text);
        DocumentSymbol {
            children: Some(children.collect()),
            ..self.named(&layer.name, &detail, SymbolKind::CLASS, layer.span)
        }
    }

    fn mark(&self, mark: &Mark) -> DocumentSymbol {
        let work = mark.work.word();
        match &mark.what {
            Marked::Ring { name, .. } => self.named(name, &format!("{work} ring"), SymbolKind::ARRAY, mark.span),
            Marked::Shape { name: Some(name), .. } => self.named(name, work, SymbolKind::FIELD, mark.span),
            Marked::Shape { name: None, value } => {
                let written: String = self.view.text(value.span.source).get(value.span.range()).unwrap_or("").into();
                let short: String = written.split_whitespace().collect::<Vec<_>>().join(" ");
                let short = match short.char_indices().nth(40) {
                    Some((end, _)) => format!("{}…", short.get(..end).unwrap_or("")),
                    None => short,
                };
                self.symbol(work, &short, SymbolKind::FIELD, mark.span, mark.work_span)
            }
        }
    }

    fn stack(&self, stack: &Stack) -> DocumentSymbol {
        let children = stack.items.iter().map(|item| match item {
            StackItem::Layer(copy) => {
                let of = copy.own.as_ref().map_or("", |_| copy.layer.text.as_str());
                self.named(copy.name(), of, SymbolKind::CLASS, copy.name().span)
            }
            StackItem::Glue { adhesive, span } => {
                let adhesive = adhesive.as_ref().map_or("", |name| name.text.as_str());
                self.symbol("glue", adhesive, SymbolKind::OPERATOR, *span, *span)
            }
            StackItem::Turn { span, pivot, .. } => self.symbol("turn", "", SymbolKind::OPERATOR, *span, pivot.span),
        });
        let children = Some(children.collect());
        DocumentSymbol { children, ..self.symbol("stack", "", SymbolKind::NAMESPACE, stack.span, stack.span) }
    }

    fn family(&self, family: &Family) -> DocumentSymbol {
        let children = family.items.iter().map(|item| match item {
            FamilyItem::Each { names, span, .. } => {
                let names: Vec<&str> = names.iter().map(|name| name.text.as_str()).collect();
                self.symbol("each", &names.join(", "), SymbolKind::ENUM_MEMBER, *span, *span)
            }
            FamilyItem::Variant { name, span, .. } => self.named(name, "variant", SymbolKind::ENUM_MEMBER, *span),
            FamilyItem::LeaveOut { span, .. } => self.symbol("leave out", "", SymbolKind::ENUM_MEMBER, *span, *span),
        });
        let children = Some(children.collect());
        DocumentSymbol { children, ..self.symbol("family", "", SymbolKind::ENUM, family.span, family.span) }
    }
}
