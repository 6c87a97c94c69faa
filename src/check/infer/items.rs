//! Kinds in every item: params, marks, fields, the stack, the family.

use super::Infer;
use crate::check::blocks::{BlockSpec, FieldSpec, Holds, SHOP_WORDS, block_named};
use crate::check::findings::{names as say_name, types as say};
use crate::check::kind::{KIND_WORDS, Kind, ThingKind};
use crate::check::names::Meaning;
use crate::diagnostics::suggest;
use crate::source::Span;
use crate::syntax::tree::{
    Bounds, Expr, ExprKind, Face, Family, FamilyItem, Field, FieldValue, FlipWay, Item, Layer, LayerItem, Let, Mark,
    Marked, Name, Param, Reads, Size, SlotShape, StackItem, Tail, TailKind, Thing, Work,
};

/// Work that the machine does on a face.
const BURNT: [Work; 3] = [Work::Engrave, Work::Score, Work::Pocket];

impl<'t> Infer<'t> {
    pub(super) fn item(&mut self, item: &'t Item) {
        match item {
            Item::Dial(_) | Item::Shop(_) | Item::With(_) | Item::Typeface(_) | Item::Accept(_) => {}
            Item::Param(param) => self.param(param),
            Item::Let(binding) => self.let_item(binding, None),
            Item::Outline(outline) => {
                self.expect(&outline.value, &Kind::Region);
            }
            Item::Layer(layer) => self.layer(layer),
            Item::Stack(stack) => stack.items.iter().for_each(|item| self.stack_item(item)),
            Item::Reads(reads) => self.reads(reads),
            Item::Slot(slot) => match &slot.shape {
                SlotShape::Box(size) => self.size(size),
                SlotShape::Region { region, depth } => {
                    self.expect(region, &Kind::Region);
                    self.expect(depth, &Kind::LENGTH);
                }
            },
            Item::Run(run) => {
                self.expect(&run.dials, &Kind::NUMBER);
                self.fields_of("run", &run.fields, run.span);
            }
            Item::Expect(expect) => {
                self.measures = true;
                self.expect(&expect.condition, &Kind::Truth);
                self.measures = false;
            }
            Item::Family(family) => self.family(family),
            Item::Thing(thing) => self.thing(thing),
        }
    }

    /// The kind that a word stands for; reports one that is none.
    pub(super) fn kind_word(&mut self, word: &Name) -> Kind {
        Kind::of_word(&word.text).unwrap_or_else(|| {
            let nearest = suggest::nearest(&word.text, KIND_WORDS.iter().map(|(known, _)| *known));
            let nearest = suggest::our_kind(&word.text).or(nearest);
            self.report(say_name::unknown_kind(word, nearest))
        })
    }

    fn param(&mut self, param: &'t Param) {
        let kind = self.kind_word(&param.kind);
        self.expect(&param.value, &kind);
        match &param.bounds {
            Some(Bounds::Between(least, most)) => {
                self.expect(least, &kind);
                self.expect(most, &kind);
            }
            Some(Bounds::OneOf(choices)) => choices.iter().for_each(|choice| {
                self.expect(choice, &kind);
            }),
            None => {}
        }
    }

    fn let_item(&mut self, binding: &'t Let, layer: Option<&'t str>) {
        for formal in binding.formals.iter().flatten() {
            let clash = self.names.get(&formal.name.text, layer).map(|other| other.span);
            if let Some(first) = clash {
                self.report(say_name::defined_twice(&formal.name.text, formal.name.span, first));
            }
        }
        self.binding((&binding.name.text, layer), binding, binding.name.span);
    }

    fn layer(&mut self, layer: &'t Layer) {
        self.layer = Some(&layer.name.text);
        self.thing_name(&layer.stock, ThingKind::Stock);
        let mut fields = Vec::new();
        for item in &layer.items {
            match item {
                LayerItem::Let(binding) => self.let_item(binding, Some(&layer.name.text)),
                LayerItem::Outline(outline) => {
                    self.expect(&outline.value, &Kind::Region);
                }
                LayerItem::Flip(flip) => {
                    if let FlipWay::About(bearing) = &flip.way {
                        self.expect(bearing, &Kind::ANGLE);
                    }
                }
                LayerItem::Mark(mark) => self.mark(mark, layer),
                LayerItem::Field(field) => fields.push(field),
            }
        }
        if let Some(block) = block_named("layer") {
            self.fields(block, &fields, layer.name.span);
        }
        self.layer = None;
    }

    fn mark(&mut self, mark: &'t Mark, layer: &'t Layer) {
        match &mark.what {
            Marked::Ring { name, fields } => self.fields_of("ring", fields, name.span),
            Marked::Shape { value, .. } => {
                let found = self.kind(value);
                let item = match &found {
                    Kind::List(item) => item,
                    other => other,
                };
                let may_be_open = mark.work == Work::Score;
                let fits = matches!(item, Kind::Region | Kind::Broken) || (may_be_open && *item == Kind::Trace);
                if !fits {
                    self.report(say::not_markable(&found, mark.work, value.span));
                }
            }
        }
        mark.tails.iter().for_each(|tail| self.tail(mark, tail, layer));
    }

    fn tail(&mut self, mark: &'t Mark, tail: &'t Tail, layer: &'t Layer) {
        let (wanted, works): (Kind, &[Work]) = match tail.kind {
            TailKind::Depth => (Kind::LENGTH, &[Work::Pocket, Work::Engrave]),
            TailKind::Tone => (Kind::NUMBER, &[Work::Engrave]),
            TailKind::Ink => (Kind::Text, &[Work::Engrave]),
            TailKind::Colour => (Kind::Colour, &[Work::Paint, Work::Engrave]),
            TailKind::After => (Kind::Broken, &BURNT),
        };
        let inked = mark.tails.iter().any(|tail| tail.kind == TailKind::Ink);
        let of_ink = tail.kind == TailKind::Colour && mark.work == Work::Engrave;
        if !works.contains(&mark.work) || (of_ink && !inked) {
            self.report(say::tail_out_of_place(tail.kind, mark.work, tail.span, mark.work_span));
        }
        match &tail.value {
            Some(value) if tail.kind == TailKind::After => self.waits(mark, value, layer),
            Some(value) => {
                self.expect(value, &wanted);
            }
            None => {}
        }
    }

    /// Work waits for work that the machine does on the other face of the same layer.
    fn waits(&mut self, mark: &'t Mark, value: &'t Expr, layer: &'t Layer) {
        let ExprKind::Name(name) = &value.kind else { return };
        let face = |mark: &Mark| mark.face.map_or(Face::Front, |it| it.0);
        let marks =
            || layer.items.iter().filter_map(|item| if let LayerItem::Mark(it) = item { Some(it) } else { None });
        let named = |it: &'t Mark| match &it.what {
            Marked::Ring { name, .. } => Some(name.text.as_str()),
            Marked::Shape { name, .. } => name.as_ref().map(|name| name.text.as_str()),
        };
        let fits = |it: &&'t Mark| BURNT.contains(&it.work) && face(it) != face(mark);
        let known: Vec<&str> = marks().filter(fits).filter_map(named).collect();
        if !name.is_empty() && !known.contains(&name.as_str()) {
            let other = marks().find(|it| named(it) == Some(name)).map(|it| it.span);
            self.report(say::nothing_to_wait_for(name, value.span, &layer.name.text, &known, other));
        }
    }

    fn stack_item(&mut self, item: &'t StackItem) {
        match item {
            StackItem::Layer(name) => self.thing_name(name, ThingKind::Layer),
            StackItem::Glue { adhesive, .. } => {
                if let Some(name) = adhesive {
                    self.thing_name(name, ThingKind::Adhesive);
                }
            }
            StackItem::Turn { pivot, fields, .. } => {
                self.expect(pivot, &Kind::Pivot);
                self.fields_of("turn", fields, pivot.span);
            }
        }
    }

    fn reads(&mut self, reads: &'t Reads) {
        self.thing_name(&reads.ring, ThingKind::Ring);
        reads.by.iter().for_each(|name| self.thing_name(name, ThingKind::Mark));
        if let Some(distance) = &reads.distance {
            self.expect(distance, &Kind::LENGTH);
        }
    }

    /// A name that must be that of a thing of one kind.
    fn thing_name(&mut self, name: &'t Name, wanted: ThingKind) {
        if name.text.is_empty() {
            // It is missing, which is reported where that was seen.
            return;
        }
        let found = self.names.get(&name.text, self.layer);
        if let Some(thing) = found.and_then(|definition| definition.meaning.thing())
            && thing == wanted
        {
            return;
        }
        let nearest = self.names.nearest(&name.text, |definition| definition.meaning.thing() == Some(wanted));
        let known: Vec<&str> = self
            .names
            .iter()
            .filter(|(_, definition)| definition.meaning.thing() == Some(wanted))
            .map(|(name, _)| name)
            .collect();
        self.report(say_name::no_such_thing(wanted, name, nearest, &known, found.map(|definition| definition.span)));
    }

    fn family(&mut self, family: &'t Family) {
        for item in &family.items {
            match item {
                FamilyItem::Each { names, values, .. } => self.each(names, values),
                FamilyItem::Variant { bindings, .. } => bindings.iter().for_each(|(name, value)| {
                    let kind = self.param_kind(name);
                    self.expect(value, &kind);
                }),
                FamilyItem::LeaveOut { condition, .. } => {
                    self.expect(condition, &Kind::Truth);
                }
            }
        }
    }

    fn each(&mut self, names: &'t [Name], values: &'t Expr) {
        let kinds: Vec<Kind> = names.iter().map(|name| self.param_kind(name)).collect();
        match (kinds.as_slice(), &values.kind) {
            ([kind], _) => {
                self.expect(values, &Kind::list(kind.clone()));
            }
            (kinds, ExprKind::List(rows)) => rows.iter().for_each(|row| self.row(kinds, row)),
            _ => {
                self.report(say::rows_wanted(names.len(), values.span));
            }
        }
    }

    /// One row of `each a, b in [[…], […]]`: as many values as names, each of its param's kind.
    fn row(&mut self, kinds: &[Kind], row: &'t Expr) {
        match &row.kind {
            ExprKind::List(cells) if cells.len() == kinds.len() => cells.iter().zip(kinds).for_each(|(cell, kind)| {
                self.expect(cell, kind);
            }),
            ExprKind::Broken => {}
            _ => {
                self.report(say::rows_wanted(kinds.len(), row.span));
            }
        }
    }

    fn param_kind(&mut self, name: &'t Name) -> Kind {
        match self.names.get(&name.text, None).map(|definition| definition.meaning) {
            Some(Meaning::Param(param)) => Kind::of_word(&param.kind.text).unwrap_or(Kind::Broken),
            found => {
                let nearest =
                    self.names.nearest(&name.text, |definition| matches!(definition.meaning, Meaning::Param(_)));
                self.report(say_name::not_a_param(name, nearest, found.is_some()))
            }
        }
    }

    fn thing(&mut self, thing: &'t Thing) {
        if SHOP_WORDS.contains(&thing.kind.text.as_str()) {
            self.fields_of(&thing.kind.text, &thing.fields, thing.name.span);
        } else {
            let nearest = suggest::nearest(&thing.kind.text, SHOP_WORDS);
            self.report(say_name::unknown_block(&thing.kind, nearest));
        }
    }

    fn fields_of(&mut self, word: &str, fields: &'t [Field], head: Span) {
        if let Some(block) = block_named(word) {
            self.fields(block, &fields.iter().collect::<Vec<_>>(), head);
        }
    }

    fn fields(&mut self, block: &'static BlockSpec, fields: &[&'t Field], head: Span) {
        for (at, field) in fields.iter().enumerate() {
            let earlier = fields.iter().take(at).find(|other| other.name.text == field.name.text);
            if let Some(earlier) = earlier {
                self.report(say_name::field_twice(&field.name, earlier.name.span));
            }
            match block.fields.iter().find(|spec| spec.name == field.name.text) {
                Some(spec) => self.field(spec, field),
                None => {
                    let nearest = suggest::nearest(&field.name.text, block.fields.iter().map(|spec| spec.name));
                    self.report(say_name::unknown_field(block, &field.name, nearest));
                }
            }
        }
        let is_given = |spec: &&FieldSpec| fields.iter().any(|field| field.name.text == spec.name);
        for spec in block.fields.iter().filter(|spec| spec.required && !is_given(spec)) {
            self.report(say_name::missing_field(block.word, spec, head));
        }
    }

    fn field(&mut self, spec: &'static FieldSpec, field: &'t Field) {
        match (&spec.holds, &field.value) {
            (Holds::Flag, FieldValue::None) => {}
            (_, FieldValue::None) => {
                self.report(say_name::field_without_value(spec, field.span));
            }
            (Holds::Size, FieldValue::Size(size)) if size.sides.len() == 2 => self.size(size),
            (Holds::Size, _) | (_, FieldValue::Size(_)) => {
                self.report(say_name::field_form(spec, field.span));
            }
            (holds, FieldValue::Expr(value)) => self.field_value(spec, holds, value),
        }
    }

    fn field_value(&mut self, spec: &'static FieldSpec, holds: &'static Holds, value: &'t Expr) {
        match (holds, &value.kind) {
            (Holds::Kind(kind), _) => {
                self.expect(value, kind);
            }
            (Holds::Word(words), ExprKind::Name(word)) if words.contains(&word.as_str()) => {}
            (Holds::Word(words), ExprKind::Name(word)) => {
                self.report(say_name::unknown_word(
                    spec,
                    word,
                    words,
                    value.span,
                    suggest::nearest(word, words.iter().copied()),
                ));
            }
            (Holds::WordOr(words, _), ExprKind::Name(word)) if words.contains(&word.as_str()) => {}
            (Holds::WordOr(_, kind), _) => {
                self.expect(value, kind);
            }
            (Holds::Readings, _) => self.one_or_list(value, &Kind::LENGTH),
            (Holds::Ladder, ExprKind::List(rungs))
                if !rungs.is_empty() && rungs.iter().all(|rung| matches!(rung.kind, ExprKind::List(_))) =>
            {
                rungs.iter().for_each(|rung| {
                    self.expect(rung, &Kind::list(Kind::LENGTH));
                });
            }
            (Holds::Ladder, _) => {
                self.expect(value, &Kind::list(Kind::LENGTH));
            }
            (Holds::Each(kind), _) => self.one_or_list(value, kind),
            (Holds::Stops, _) => match self.kind(value) {
                Kind::List(item) if item.fits(&Kind::ANGLE) => {}
                other if other.fits(&Kind::NUMBER) => {}
                other => {
                    self.report(say::not_stops(&other, value.span));
                }
            },
            (Holds::Span, ExprKind::Range { from, to, by: None }) => {
                self.expect(from, &Kind::LENGTH);
                self.expect(to, &Kind::LENGTH);
            }
            (Holds::Flag, _) => {
                self.expect(value, &Kind::Truth);
            }
            (Holds::Span | Holds::Word(_) | Holds::Size, _) => {
                self.report(say_name::field_form(spec, value.span));
            }
        }
    }

    fn one_or_list(&mut self, value: &'t Expr, wanted: &Kind) {
        match &value.kind {
            ExprKind::List(_) | ExprKind::ForEach(_) => self.expect(value, &Kind::list(wanted.clone())),
            _ => {
                let found = self.kind(value);
                match &found {
                    Kind::List(item) if item.fits(wanted) => found,
                    _ if found.fits(wanted) => found,
                    _ => {
                        let diagnostic = self.misfit(value, &found, wanted);
                        self.report(diagnostic)
                    }
                }
            }
        };
    }

    fn size(&mut self, size: &'t Size) {
        size.sides.iter().for_each(|side| {
            self.expect(side, &Kind::LENGTH);
        });
    }
}
