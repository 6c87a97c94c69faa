//! Types in every item: params, marks, fields, the stack, the family.

use super::TypeChecker;
use crate::check::findings::{frames, names as say_name, tables, types as say};
use crate::check::names::{Definition, Meaning};
use crate::design::RingWork;
use crate::diagnostics::suggest;
use crate::source::Span;
use crate::syntax::tree::{
    Argument, Bounds, Expr, ExprKind, Face, Family, FamilyItem, Field, FieldValue, FlipWay, Item, Layer, LayerItem,
    Let, Mark, Marked, Name, Param, Reads, Size, SlotShape, StackItem, Tail, TailKind, Thing, Wheel, WheelPlace, Work,
};
use crate::vocabulary::blocks::{BlockName, BlockSpec, FieldSpec, Holds, fields};
use crate::vocabulary::foreign::our_type;
use crate::vocabulary::functions::FunctionName;
use crate::vocabulary::types::{ThingKind, Type, TypeWord};

impl<'t> TypeChecker<'t> {
    pub(super) fn item(&mut self, item: &'t Item) {
        match item {
            Item::Dial(text) => drop(self.type_of(text)),
            Item::Shop(_) | Item::With(_) | Item::Typeface(_) | Item::Accept(_) => {}
            Item::Param(param) => self.param(param),
            Item::Let(binding) => self.let_item(binding, None),
            Item::Outline(outline) => {
                self.expect(&outline.value, &Type::Region);
            }
            Item::Layer(layer) => self.layer(layer),
            Item::Stack(stack) => stack.items.iter().for_each(|item| self.stack_item(item)),
            Item::Reads(reads) => self.reads(reads),
            Item::Slot(slot) => match &slot.shape {
                SlotShape::Box(size) => self.size(size),
                SlotShape::Region { region, depth } => {
                    self.expect(region, &Type::Region);
                    self.expect(depth, &Type::LENGTH);
                }
            },
            Item::Run(run) => {
                self.expect(&run.dials, &Type::NUMBER);
                self.fields_of(BlockName::Run, &run.fields, run.span);
            }
            Item::Expect(expect) => {
                self.measures = true;
                self.expect(&expect.condition, &Type::Truth);
                self.measures = false;
            }
            Item::Family(family) => self.family(family),
            Item::Thing(thing) => self.thing(thing),
        }
    }

    /// The type that a word stands for; reports one that is none.
    pub(super) fn type_of_word(&mut self, word: &Name) -> Type {
        Type::of_word(&word.text).unwrap_or_else(|| {
            let nearest = suggest::nearest(&word.text, TypeWord::ALL.iter().map(|known| known.word()));
            let nearest = our_type(&word.text).map(TypeWord::word).or(nearest);
            self.report(say_name::unknown_kind(word, nearest))
        })
    }

    fn param(&mut self, param: &'t Param) {
        let kind = self.type_of_word(&param.kind);
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
                    self.expect(&outline.value, &Type::Region);
                }
                LayerItem::Flip(flip) => {
                    if let FlipWay::About(bearing) = &flip.way {
                        self.expect(bearing, &Type::ANGLE);
                    }
                }
                LayerItem::Mark(mark) => self.mark(mark, layer),
                LayerItem::Field(field) => fields.push(field),
            }
        }
        self.fields(BlockName::Layer.spec(), &fields, layer.name.span);
        self.layer = None;
    }

    fn mark(&mut self, mark: &'t Mark, layer: &'t Layer) {
        match &mark.what {
            Marked::Ring { name, fields } => {
                self.fields_of(BlockName::Ring, fields, name.span);
                self.of_use_in_ring(mark, fields);
            }
            Marked::Shape { value, .. } => {
                let standing = layer.left_standing(mark.on()).filter(|_| mark.may_leave_standing());
                self.locals.extend(standing.map(|ring| (ring, Type::Region)));
                let found = self.type_of(value);
                self.locals.clear();
                let item = match &found {
                    Type::List(item) => item,
                    other => other,
                };
                let may_be_open = mark.work == Work::Score;
                let fits = item.is_open() || *item == Type::Region || (may_be_open && *item == Type::Trace);
                if !fits {
                    self.report(say::not_markable(&found, mark.work, value.span));
                }
            }
        }
        mark.tails.iter().for_each(|tail| self.tail(mark, tail, layer));
    }

    /// Fields that a ring has no use for, worked as it is.
    fn of_use_in_ring(&mut self, mark: &'t Mark, fields: &'t [Field]) {
        use fields::Ring as R;
        let lines = fields.iter().any(|field| field.name.text == R::SingleStroke.spec().word);
        let no_use: &[R] = match RingWork::of(mark.work) {
            Some(RingWork::Engraved) => &[R::SingleStroke],
            Some(RingWork::Scored) if lines => &[R::Tone, R::Ink, R::Colour, R::Stroke, R::Typeface],
            Some(RingWork::Scored) => &[R::Tone, R::Ink, R::Colour, R::Stroke],
            Some(RingWork::Raised) => &[R::SingleStroke, R::Tone, R::Ink, R::Colour, R::Ticks, R::Tick, R::TicksAt],
            Some(RingWork::Printed) => &[R::SingleStroke, R::Tone, R::Ink],
            None => &[],
        };
        for field in fields {
            if let Some(known) = no_use.iter().find(|known| known.spec().word == field.name.text) {
                self.report(say::field_out_of_place(*known, mark.work, lines, field.span, mark.work_span));
            }
        }
    }

    fn tail(&mut self, mark: &'t Mark, tail: &'t Tail, layer: &'t Layer) {
        let inked = mark.tails.iter().any(|tail| tail.kind == TailKind::Ink);
        let of_ink = tail.kind == TailKind::Colour && mark.work == Work::Engrave;
        if !tail.kind.works().contains(&mark.work) || (of_ink && !inked) {
            self.report(say::tail_out_of_place(tail.kind, mark.work, tail.span, mark.work_span));
        }
        match (&tail.value, &tail.kind.spec().takes) {
            (Some(value), Some(wanted)) => drop(self.expect(value, wanted)),
            (Some(name), None) => self.waits(mark, name, layer),
            (None, _) => {}
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
        let fits = |it: &&'t Mark| Work::BURNT.contains(&it.work) && face(it) != face(mark);
        let known: Vec<&str> = marks().filter(fits).filter_map(named).collect();
        if !name.is_empty() && !known.contains(&name.as_str()) {
            let other = marks().find(|it| named(it) == Some(name)).map(|it| it.span);
            self.report(say::nothing_to_wait_for(name, value.span, &layer.name.text, &known, other));
        }
    }

    fn stack_item(&mut self, item: &'t StackItem) {
        match item {
            StackItem::Layer(copy) => {
                self.layer_itself(&copy.layer);
                copy.wheels.iter().for_each(|wheel| self.wheel(wheel));
            }
            StackItem::Glue { adhesive, .. } => {
                if let Some(name) = adhesive {
                    self.thing_name(name, ThingKind::Adhesive);
                }
            }
            StackItem::Turn { pivot, fields, .. } => {
                self.expect(pivot, &Type::Pivot);
                self.fields_of(BlockName::Turn, fields, pivot.span);
            }
        }
    }

    fn reads(&mut self, reads: &'t Reads) {
        self.thing_name(&reads.ring.name, ThingKind::Ring);
        reads.by.iter().for_each(|piece| self.thing_name(&piece.name, ThingKind::Mark));
        let pieces = std::iter::once(&reads.ring).chain(&reads.by);
        pieces.filter_map(|piece| piece.of.as_ref()).for_each(|of| self.thing_name(of, ThingKind::Layer));
        if let Some(distance) = &reads.distance {
            self.expect(distance, &Type::LENGTH);
        }
    }

    fn wheel(&mut self, wheel: &'t Wheel) {
        self.layer_itself(&wheel.layer);
        match &wheel.place {
            WheelPlace::In(opening) => self.thing_name(opening, ThingKind::Mark),
            WheelPlace::At(point) => self.point_of(wheel, point),
        }
        if let Some(pivot) = &wheel.pivot {
            self.expect(pivot, &Type::Pivot);
        }
        self.fields_of(BlockName::Turn, &wheel.fields, wheel.layer.span);
    }

    /// Where a hand lies: a point, which an opening is not.
    fn point_of(&mut self, wheel: &'t Wheel, point: &'t Expr) {
        let named = if let ExprKind::Name(name) = &point.kind { self.names.get(name, None) } else { None };
        match named {
            Some(Definition { meaning: Meaning::Mark(mark), .. }) => {
                let opens = matches!(mark.work, Work::Hole | Work::Window | Work::Pocket);
                self.report(frames::at_no_point(wheel, point, opens));
            }
            _ => {
                self.expect(point, &Type::Point);
            }
        }
    }

    /// A name that must be that of a layer, and not of a copy of one.
    fn layer_itself(&mut self, name: &'t Name) {
        match self.names.get(&name.text, None) {
            Some(Definition { meaning: Meaning::Copy(copy), span, .. }) => {
                self.report(say_name::copy_of_a_copy(name, &copy.layer.text, span));
            }
            _ => self.thing_name(name, ThingKind::Layer),
        }
    }

    /// A name that must be that of a thing of one kind.
    fn thing_name(&mut self, name: &'t Name, wanted: ThingKind) {
        if name.text.is_empty() {
            // It is missing, which is reported where that was seen.
            return;
        }
        let found = self.names.get(&name.text, self.layer);
        let is_one = found.is_some_and(|definition| match definition.meaning {
            Meaning::Param(param) => Type::of_word(&param.kind.text) == Some(Type::Thing(wanted)),
            other => other.thing() == Some(wanted),
        });
        if is_one {
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
                    let kind = self.type_of_param(name);
                    self.expect(value, &kind);
                }),
                FamilyItem::LeaveOut { condition, .. } => {
                    self.expect(condition, &Type::Truth);
                }
            }
        }
    }

    fn each(&mut self, names: &'t [Name], values: &'t Expr) {
        let kinds: Vec<Type> = names.iter().map(|name| self.type_of_param(name)).collect();
        match (kinds.as_slice(), &values.kind) {
            ([_], ExprKind::Call { function, arguments }) if function.text == FunctionName::Rows.word() => {
                self.columns(arguments);
                self.report(say::column_wanted(names, function, arguments.len() == 2));
            }
            (kinds @ [_], ExprKind::Call { function, arguments }) if function.text == FunctionName::Column.word() => {
                self.rows_of_table(kinds, arguments, values);
            }
            ([kind], _) => {
                self.expect(values, &Type::list(kind.clone()));
            }
            (kinds, ExprKind::Call { function, arguments }) if function.text == FunctionName::Rows.word() => {
                self.rows_of_table(kinds, arguments, values);
            }
            (kinds, ExprKind::List(rows)) => rows.iter().for_each(|row| self.row(kinds, row)),
            _ => {
                self.report(say::rows_wanted(names.len(), values.span));
            }
        }
    }

    /// `each a, b in rows(FILE, …)`: a column for each name, its cells of that param's kind.
    fn rows_of_table(&mut self, kinds: &[Type], arguments: &'t [Argument], values: &'t Expr) {
        if self.type_of(values).is_open() {
            return;
        }
        let Some(columns) = self.columns(arguments) else { return };
        if columns.len() != kinds.len() {
            self.report(say::columns_wanted(kinds.len(), columns.len(), values.span));
            return;
        }
        for ((column, kind), argument) in columns.iter().zip(kinds).zip(arguments.iter().skip(1)) {
            if let Some(cell) = column.misfit(kind) {
                self.report(tables::cell_misfit(&column.name, cell, kind, argument.value.span));
            }
        }
    }

    /// One row of `each a, b in [[…], […]]`: as many values as names, each of its param's kind.
    fn row(&mut self, kinds: &[Type], row: &'t Expr) {
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

    fn type_of_param(&mut self, name: &'t Name) -> Type {
        match self.names.get(&name.text, None).map(|definition| definition.meaning) {
            Some(Meaning::Param(param)) => Type::of_word(&param.kind.text).unwrap_or(Type::Error),
            found => {
                let nearest =
                    self.names.nearest(&name.text, |definition| matches!(definition.meaning, Meaning::Param(_)));
                self.report(say_name::not_a_param(name, nearest, found.is_some()))
            }
        }
    }

    fn thing(&mut self, thing: &'t Thing) {
        match BlockName::of_shop().find(|block| block.word() == thing.kind.text) {
            Some(block) => {
                self.fields_of(block, &thing.fields, thing.name.span);
                if block == BlockName::Seek {
                    self.one_end(&thing.fields);
                }
            }
            None => {
                let nearest = suggest::nearest(&thing.kind.text, BlockName::of_shop().map(BlockName::word));
                self.report(say_name::unknown_block(&thing.kind, nearest));
            }
        }
    }

    fn fields_of(&mut self, block: BlockName, fields: &'t [Field], head: Span) {
        self.fields(block.spec(), &fields.iter().collect::<Vec<_>>(), head);
    }

    fn fields(&mut self, block: &'static BlockSpec, fields: &[&'t Field], head: Span) {
        for (at, field) in fields.iter().enumerate() {
            let earlier = fields.iter().take(at).find(|other| other.name.text == field.name.text);
            if let Some(earlier) = earlier {
                self.report(say_name::field_twice(&field.name, earlier.name.span));
            }
            match block.field(&field.name.text) {
                Some(spec) => self.field(spec, field),
                None => {
                    let nearest = suggest::nearest(&field.name.text, block.fields.iter().map(|spec| spec.word));
                    self.report(say_name::unknown_field(block, &field.name, nearest));
                }
            }
        }
        let is_given = |spec: &FieldSpec| fields.iter().any(|field| field.name.text == spec.word);
        for spec in block.fields.iter().filter(|spec| spec.is_required() && !is_given(spec)) {
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
            (Holds::Type(kind), _) => {
                self.expect(value, kind);
            }
            (Holds::List(item), _) => {
                self.expect(value, &Type::list(item.clone()));
            }
            (Holds::Word(_) | Holds::EachWord(_) | Holds::WordOr(..), ExprKind::Name(word))
                if holds.words().any(|known| known == word) => {}
            // A list that the maker has a name for.
            (Holds::EachWord(_), ExprKind::Name(word)) if self.names.get(word, self.layer).is_some() => {
                self.expect(value, &Type::list(Type::Text));
            }
            (Holds::EachWord(_), ExprKind::List(items)) => {
                items.iter().for_each(|item| self.word_of(spec, holds, item));
            }
            (Holds::EachWord(_), ExprKind::ForEach(_) | ExprKind::If { .. }) => {
                self.expect(value, &Type::list(Type::Text));
            }
            (Holds::Word(_) | Holds::EachWord(_), ExprKind::Name(_)) => self.word_of(spec, holds, value),
            (Holds::WordOr(_, kind), _) => {
                self.expect(value, kind);
            }
            (Holds::Readings, _) => drop(self.one_or_list(value, &Type::LENGTH)),
            (Holds::PassDepths, ExprKind::List(passes))
                if !passes.is_empty() && passes.iter().all(|pass| matches!(pass.kind, ExprKind::List(_))) =>
            {
                passes.iter().for_each(|pass| {
                    self.expect(pass, &Type::list(Type::LENGTH));
                });
            }
            (Holds::PassDepths, _) => {
                self.expect(value, &Type::list(Type::LENGTH));
            }
            (Holds::Each(kind) | Holds::OneOrList(kind), _) => drop(self.one_or_list(value, kind)),
            (Holds::Stops, _) => match self.type_of(value) {
                Type::List(item) if item.fits(&Type::ANGLE) => {}
                other if other.fits(&Type::NUMBER) => {}
                other => {
                    self.report(say::not_stops(&other, value.span));
                }
            },
            (Holds::Span, ExprKind::Range { from, to, by: None }) => {
                self.expect(from, &Type::LENGTH);
                self.expect(to, &Type::LENGTH);
            }
            (Holds::Flag, _) => {
                self.expect(value, &Type::Truth);
            }
            (Holds::Params | Holds::Sought | Holds::Kept | Holds::Steps, _) => self.of_seek(holds, value),
            (Holds::Span | Holds::Word(_) | Holds::EachWord(_) | Holds::Size, _) => {
                self.report(say_name::field_form(spec, value.span));
            }
        }
    }

    /// One of our words, bare.
    fn word_of(&mut self, spec: &'static FieldSpec, holds: &'static Holds, value: &'t Expr) {
        match &value.kind {
            ExprKind::Name(word) if holds.words().any(|known| known == word) => {}
            ExprKind::Name(word) => {
                let nearest = suggest::nearest(word, holds.words());
                let known: Vec<&str> = holds.words().collect();
                self.report(say_name::unknown_word(spec, word, &known, value.span, nearest));
            }
            _ => {
                self.report(say_name::field_form(spec, value.span));
            }
        }
    }

    pub(super) fn one_or_list(&mut self, value: &'t Expr, wanted: &Type) -> Type {
        match &value.kind {
            ExprKind::List(_) | ExprKind::ForEach(_) => self.expect(value, &Type::list(wanted.clone())),
            _ => {
                let found = self.type_of(value);
                match &found {
                    Type::List(item) if item.fits(wanted) => found,
                    _ if found.fits(wanted) => found,
                    _ => {
                        let at_fault = self.cell_at_fault(value, &Type::list(wanted.clone()));
                        let diagnostic = at_fault.unwrap_or_else(|| self.misfit(value, &found, wanted));
                        self.report(diagnostic)
                    }
                }
            }
        }
    }

    fn size(&mut self, size: &'t Size) {
        size.sides.iter().for_each(|side| {
            self.expect(side, &Type::LENGTH);
        });
    }
}
