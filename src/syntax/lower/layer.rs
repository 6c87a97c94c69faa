//! Items of a layer's block.

use super::{Lower, Parts};
use crate::source::Span;
use crate::syntax::parse::Rule;
use crate::syntax::tree::{Expr, ExprKind, Face, Flip, FlipWay, LayerItem, Mark, Marked, Tail, TailKind, Work};
use pest::iterators::Pair;

impl Lower<'_> {
    pub(super) fn layer_item(&mut self, pair: Pair<'_, Rule>) -> Option<LayerItem> {
        match pair.as_rule() {
            Rule::let_item => self.let_item(pair).map(LayerItem::Let),
            Rule::outline => self.outline(pair).map(LayerItem::Outline),
            Rule::flip => self.flip(pair).map(LayerItem::Flip),
            Rule::mark | Rule::ring_block => self.mark(pair).map(LayerItem::Mark),
            _ => self.field(pair).map(LayerItem::Field),
        }
    }

    fn flip(&mut self, pair: Pair<'_, Rule>) -> Option<Flip> {
        let span = self.span(&pair);
        let mut parts = Parts::of(pair);
        parts.get(Rule::FLIP)?;
        let way = if parts.has(Rule::ABOUT) {
            FlipWay::About(self.expr(parts.next()?))
        } else if parts.has(Rule::HOLDER) {
            FlipWay::Holder
        } else {
            FlipWay::Board
        };
        Some(Flip { way, span })
    }

    fn mark(&mut self, pair: Pair<'_, Rule>) -> Option<Mark> {
        let span = self.span(&pair);
        let mut parts = Parts::of(pair);
        let face = parts.get(Rule::face).and_then(|face| self.face(face));
        let work = parts.get(Rule::work)?;
        let work_span = self.span(&work);
        let work = Work::of_word(work.as_str())?;
        let what = self.marked(&mut parts)?;
        let tails = parts.filter_map(|part| self.tail(part)).collect();
        Some(Mark { face, work, work_span, what, tails, span })
    }

    pub(super) fn face(&mut self, pair: Pair<'_, Rule>) -> Option<(Face, Span)> {
        let span = self.span(&pair);
        let face = if Parts::of(pair).has(Rule::FRONT) { Face::Front } else { Face::Back };
        Some((face, span))
    }

    fn marked(&mut self, parts: &mut Parts<'_>) -> Option<Marked> {
        if parts.has(Rule::RING) {
            let name = self.take_name(parts)?;
            let fields = parts.get(Rule::fields).map(|fields| self.fields(fields)).unwrap_or_default();
            return Some(Marked::Ring { name, fields });
        }
        if let Some(ring) = parts.get(Rule::ring_alone) {
            let mut ring = Parts::of(ring);
            ring.get(Rule::RING)?;
            return Some(Marked::Ring { name: self.take_name(&mut ring)?, fields: Vec::new() });
        }
        let name = parts.get(Rule::mark_name).and_then(|name| self.take_name(&mut Parts::of(name)));
        Some(Marked::Shape { name, value: self.expr(parts.next()?) })
    }

    fn tail(&mut self, pair: Pair<'_, Rule>) -> Option<Tail> {
        let span = self.span(&pair);
        let mut parts = Parts::of(pair);
        let kind = match parts.next()?.as_rule() {
            Rule::DEPTH => TailKind::Depth,
            Rule::TONE => TailKind::Tone,
            Rule::INK => TailKind::Ink,
            Rule::COLOUR => TailKind::Colour,
            Rule::AFTER => TailKind::After,
            _ => return None,
        };
        let value = match kind {
            TailKind::After => {
                let name = self.take_name(&mut parts)?;
                Some(Expr { span: name.span, kind: ExprKind::Name(name.text) })
            }
            _ if parts.has(Rule::THROUGH) => None,
            _ => Some(self.expr(parts.next()?)),
        };
        Some(Tail { kind, value, span })
    }
}
