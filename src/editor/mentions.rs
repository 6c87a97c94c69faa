//! Every word of the texts that stands for something, and what it stands for.

use crate::check::names::{Definition, Meaning, Names};
use crate::source::Span;
use crate::syntax::tree::{
    Accept, Argument, Bounds, Expr, ExprKind, Family, FamilyItem, Field, FieldValue, File, FlipWay, Formal, Item,
    Layer, LayerItem, Let, Mark, Marked, Name, Param, Piece, SlotShape, Stack, StackItem, TextPiece, Thing, Wheel,
    WheelPlace,
};
use crate::vocabulary::blocks::{BlockName, BlockSpec, FieldSpec, Holds};
use crate::vocabulary::functions::{Function, Parameter, function_named};
use crate::vocabulary::types::ThingKind;

/// A word that stands for something.
#[derive(Clone, Debug)]
pub(super) struct Mention<'t> {
    /// Where it stands.
    pub(super) span: Span,
    /// The layer it stands in.
    pub(super) layer: Option<&'t str>,
    /// What it stands for.
    pub(super) what: What<'t>,
}

/// What a word stands for.
#[derive(Clone, Debug)]
pub(super) enum What<'t> {
    /// A name of the dial.
    Named {
        /// The name.
        name: &'t str,
        /// What it is.
        definition: Definition<'t>,
        /// Whether it is defined here.
        defines: bool,
    },
    /// A name that is known in one place alone: of a function's argument, of `for`, or of a variant.
    Local {
        /// The name.
        name: &'t str,
        /// Where it is defined.
        at: Span,
        /// What it is.
        kind: Local<'t>,
        /// Whether it is defined here.
        defines: bool,
    },
    /// A name that nobody has defined.
    Unknown,
    /// A function of ours, and the whole call.
    Function(&'static Function, &'t Expr),
    /// A word before `:` in a call of ours.
    Argument(&'static Function, Option<&'static Parameter>),
    /// A field; none where its block has no such field.
    Field(&'static BlockSpec, Option<&'static FieldSpec>),
    /// One of the words that a field may hold.
    Choice(&'static FieldSpec),
    /// The name of a kind of value.
    KindWord,
    /// The name of a finding.
    Finding,
    /// The word that begins a block of the shop.
    Block(ThingKind),
}

/// Names that are known in one place alone.
#[derive(Clone, Copy, Debug)]
pub(super) enum Local<'t> {
    /// What a function of the maker takes.
    Formal(&'t Formal),
    /// What `for` walks with.
    Variable,
    /// A member of the family.
    Variant,
}

impl What<'_> {
    /// Where what it stands for is defined, and whether that is here; none for words of ours.
    pub(super) fn defined(&self) -> Option<(Span, bool)> {
        match self {
            What::Named { definition, defines, .. } => Some((definition.span, *defines)),
            What::Local { at, defines, .. } => Some((*at, *defines)),
            _ => None,
        }
    }
}

/// All of them in these files, in the order of the walk.
pub(super) fn mentions<'t>(files: &[&'t File], names: &Names<'t>) -> Vec<Mention<'t>> {
    let mut walk = Walk { names, layer: None, locals: Vec::new(), found: Vec::new() };
    files.iter().flat_map(|file| &file.items).for_each(|item| walk.item(item));
    walk.found
}

/// The mention at a byte of a file: the one that begins last where two touch.
pub(super) fn at<'m, 't>(
    mentions: &'m [Mention<'t>],
    file: crate::source::SourceId,
    offset: usize,
) -> Option<&'m Mention<'t>> {
    let holds = |mention: &&Mention<'t>| {
        let range = mention.span.range();
        mention.span.source == file && range.start <= offset && offset <= range.end && !range.is_empty()
    };
    mentions.iter().filter(holds).max_by_key(|mention| mention.span.start)
}

struct Walk<'n, 't> {
    names: &'n Names<'t>,
    layer: Option<&'t str>,
    locals: Vec<(&'t str, Span, Local<'t>)>,
    found: Vec<Mention<'t>>,
}

impl<'t> Walk<'_, 't> {
    fn push(&mut self, span: Span, what: What<'t>) {
        self.found.push(Mention { span, layer: self.layer, what });
    }

    /// A name where it is defined.
    fn defines(&mut self, name: &'t Name, within: Option<&'t str>, meaning: Meaning<'t>) {
        // A second definition of the same name is a finding; here it stands for itself.
        let definition = Definition { span: name.span, meaning, within };
        self.push(name.span, What::Named { name: &name.text, definition, defines: true });
    }

    /// A name where it is used.
    fn uses(&mut self, name: &'t str, span: Span) {
        let local = self.locals.iter().rev().find(|(local, ..)| *local == name).copied();
        let what = match (local, self.names.get(name, self.layer)) {
            (Some((name, at, kind)), _) => What::Local { name, at, kind, defines: false },
            (None, Some(definition)) => What::Named { name, definition, defines: false },
            (None, None) => What::Unknown,
        };
        self.push(span, what);
    }

    fn name(&mut self, name: &'t Name) {
        self.uses(&name.text, name.span);
    }

    fn local(&mut self, name: &'t Name, kind: Local<'t>) {
        self.push(name.span, What::Local { name: &name.text, at: name.span, kind, defines: true });
        self.locals.push((&name.text, name.span, kind));
    }

    fn item(&mut self, item: &'t Item) {
        match item {
            Item::Dial(text) => self.expr(text),
            Item::Shop(_) | Item::With(_) | Item::Typeface(_) => {}
            Item::Param(param) => self.param(param),
            Item::Let(binding) => self.binding(binding, None),
            Item::Outline(outline) => self.expr(&outline.value),
            Item::Layer(layer) => self.layer(layer),
            Item::Stack(stack) => self.stack(stack),
            Item::Reads(reads) => {
                let pieces = std::iter::once(&reads.ring).chain(&reads.by);
                pieces.flat_map(Piece::names).for_each(|name| self.name(name));
                reads.distance.iter().for_each(|distance| self.expr(distance));
            }
            Item::Slot(slot) => match &slot.shape {
                SlotShape::Box(size) => size.sides.iter().for_each(|side| self.expr(side)),
                SlotShape::Region { region, depth } => [region, depth].into_iter().for_each(|part| self.expr(part)),
            },
            Item::Run(run) => {
                self.expr(&run.dials);
                self.fields(Some(BlockName::Run), &run.fields);
            }
            Item::Expect(expect) => self.expr(&expect.condition),
            Item::Accept(accept) => self.accept(accept),
            Item::Family(family) => self.family(family),
            Item::Thing(thing) => self.thing(thing),
        }
    }

    fn param(&mut self, param: &'t Param) {
        self.defines(&param.name, None, Meaning::Param(param));
        self.push(param.kind.span, What::KindWord);
        self.expr(&param.value);
        match &param.bounds {
            Some(Bounds::Between(least, most)) => [least, most].into_iter().for_each(|bound| self.expr(bound)),
            Some(Bounds::OneOf(choices)) => choices.iter().for_each(|choice| self.expr(choice)),
            None => {}
        }
    }

    fn binding(&mut self, binding: &'t Let, within: Option<&'t str>) {
        self.defines(&binding.name, within, Meaning::Let(binding));
        let outer = std::mem::take(&mut self.locals);
        for formal in binding.formals.iter().flatten() {
            self.local(&formal.name, Local::Formal(formal));
            self.push(formal.kind.span, What::KindWord);
        }
        self.expr(&binding.value);
        self.locals = outer;
    }

    fn layer(&mut self, layer: &'t Layer) {
        self.defines(&layer.name, None, Meaning::Layer(layer));
        self.name(&layer.stock);
        self.layer = Some(&layer.name.text);
        for item in &layer.items {
            match item {
                LayerItem::Let(binding) => self.binding(binding, Some(&layer.name.text)),
                LayerItem::Outline(outline) => self.expr(&outline.value),
                LayerItem::Flip(flip) => {
                    if let FlipWay::About(bearing) = &flip.way {
                        self.expr(bearing);
                    }
                }
                LayerItem::Mark(mark) => self.mark(mark),
                LayerItem::Field(field) => self.field(BlockName::Layer, field),
            }
        }
        self.layer = None;
    }

    fn mark(&mut self, mark: &'t Mark) {
        match &mark.what {
            Marked::Ring { name, fields } => {
                self.defines(name, None, Meaning::Ring(mark));
                self.fields(Some(BlockName::Ring), fields);
            }
            Marked::Shape { name, value } => {
                if let Some(name) = name {
                    self.defines(name, None, Meaning::Mark(mark));
                }
                self.expr(value);
            }
        }
        mark.tails.iter().filter_map(|tail| tail.value.as_ref()).for_each(|value| self.expr(value));
    }

    fn stack(&mut self, stack: &'t Stack) {
        for item in &stack.items {
            match item {
                StackItem::Layer(copy) => {
                    if let Some(own) = &copy.own {
                        self.defines(own, None, Meaning::Copy(copy));
                    }
                    self.name(&copy.layer);
                    copy.wheels.iter().for_each(|wheel| self.wheel(wheel));
                }
                StackItem::Glue { adhesive, .. } => adhesive.iter().for_each(|name| self.name(name)),
                StackItem::Turn { pivot, fields, .. } => {
                    self.expr(pivot);
                    self.fields(Some(BlockName::Turn), fields);
                }
            }
        }
    }

    fn wheel(&mut self, wheel: &'t Wheel) {
        if let Some(own) = &wheel.own {
            self.defines(own, None, Meaning::Wheel(wheel));
        }
        self.name(&wheel.layer);
        match &wheel.place {
            WheelPlace::In(opening) => self.name(opening),
            WheelPlace::At(point) => self.expr(point),
        }
        wheel.pivot.iter().for_each(|pivot| self.expr(pivot));
        self.fields(Some(BlockName::Turn), &wheel.fields);
    }

    fn accept(&mut self, accept: &'t Accept) {
        self.push(accept.finding.span, What::Finding);
        accept.on.iter().for_each(|name| self.name(name));
    }

    fn family(&mut self, family: &'t Family) {
        for item in &family.items {
            match item {
                FamilyItem::Each { names, values, .. } => {
                    names.iter().for_each(|name| self.name(name));
                    self.expr(values);
                }
                FamilyItem::Variant { name, bindings, .. } => {
                    self.local(name, Local::Variant);
                    self.locals.pop();
                    for (name, value) in bindings {
                        self.name(name);
                        self.expr(value);
                    }
                }
                FamilyItem::LeaveOut { condition, .. } => self.expr(condition),
            }
        }
    }

    fn thing(&mut self, thing: &'t Thing) {
        let block = BlockName::of_word(&thing.kind.text);
        if let Some(kind) = block.and_then(BlockName::defines) {
            self.push(thing.kind.span, What::Block(kind));
            self.defines(&thing.name, None, Meaning::Thing(kind, thing));
        }
        self.fields(block, &thing.fields);
    }

    fn fields(&mut self, block: Option<BlockName>, fields: &'t [Field]) {
        match block {
            Some(block) => fields.iter().for_each(|field| self.field(block, field)),
            None => fields.iter().for_each(|field| self.field_value(None, &field.value)),
        }
    }

    fn field(&mut self, block: BlockName, field: &'t Field) {
        let spec = block.spec().field(&field.name.text);
        self.push(field.name.span, What::Field(block.spec(), spec));
        self.field_value(spec, &field.value);
    }

    fn field_value(&mut self, spec: Option<&'static FieldSpec>, value: &'t FieldValue) {
        match value {
            FieldValue::None => {}
            FieldValue::Size(size) => size.sides.iter().for_each(|side| self.expr(side)),
            FieldValue::Expr(value) => match (spec, &value.kind) {
                (Some(spec), ExprKind::Name(word)) if is_choice(spec, word) => {
                    self.push(value.span, What::Choice(spec))
                }
                (Some(spec), ExprKind::List(items)) if matches!(spec.holds, Holds::EachWord(_)) => {
                    for item in items {
                        match &item.kind {
                            ExprKind::Name(word) if is_choice(spec, word) => self.push(item.span, What::Choice(spec)),
                            _ => self.expr(item),
                        }
                    }
                }
                _ => self.expr(value),
            },
        }
    }

    fn call(&mut self, expr: &'t Expr, function: &'t Name, arguments: &'t [Argument]) {
        let makers = self
            .names
            .get(&function.text, self.layer)
            .filter(|found| matches!(found.meaning, Meaning::Let(binding) if binding.formals.is_some()));
        let ours = function_named(&function.text).filter(|_| makers.is_none());
        match ours {
            Some(ours) => self.push(function.span, What::Function(ours, expr)),
            None => self.name(function),
        }
        for argument in arguments {
            if let Some(word) = &argument.name {
                self.argument_word(word, ours, makers);
            }
            self.expr(&argument.value);
        }
    }

    fn argument_word(&mut self, word: &'t Name, ours: Option<&'static Function>, makers: Option<Definition<'t>>) {
        if let Some(function) = ours {
            self.push(word.span, What::Argument(function, function.parameter(&word.text)));
        } else if let Some(Definition { meaning: Meaning::Let(binding), .. }) = makers
            && let Some(formal) = binding.formals.iter().flatten().find(|formal| formal.name.text == word.text)
        {
            let (name, at, kind) = (formal.name.text.as_str(), formal.name.span, Local::Formal(formal));
            self.push(word.span, What::Local { name, at, kind, defines: false });
        }
    }

    fn expr(&mut self, expr: &'t Expr) {
        match &expr.kind {
            ExprKind::Number(_) | ExprKind::Text(_) | ExprKind::Colour(_) | ExprKind::Truth(_) | ExprKind::Broken => {}
            ExprKind::Filled(pieces) => pieces.iter().filter_map(TextPiece::value).for_each(|value| self.expr(value)),
            ExprKind::Name(name) => self.uses(name, expr.span),
            ExprKind::Call { function, arguments } => self.call(expr, function, arguments),
            ExprKind::Group(inner) | ExprKind::Negate(inner) | ExprKind::Not(inner) => self.expr(inner),
            ExprKind::Point(one, other) => self.both(one, other),
            ExprKind::List(items) => items.iter().for_each(|item| self.expr(item)),
            ExprKind::ForEach(walk) => {
                self.expr(&walk.list);
                self.local(&walk.variable, Local::Variable);
                walk.condition.iter().for_each(|condition| self.expr(condition));
                self.expr(&walk.value);
                self.locals.pop();
            }
            ExprKind::Arithmetic { left, right, .. }
            | ExprKind::Combined { left, right, .. }
            | ExprKind::Logic { left, right, .. } => self.both(left, right),
            ExprKind::Placed { subject, argument, .. } => self.both(subject, argument),
            ExprKind::Range { from, to, by } => {
                self.both(from, to);
                by.iter().for_each(|by| self.expr(by));
            }
            ExprKind::Compare { first, rest } => {
                self.expr(first);
                rest.iter().for_each(|(_, value)| self.expr(value));
            }
            ExprKind::If { condition, then, otherwise } => {
                self.expr(condition);
                self.both(then, otherwise);
            }
        }
    }

    fn both(&mut self, one: &'t Expr, other: &'t Expr) {
        self.expr(one);
        self.expr(other);
    }
}

/// Whether a word is one that the field may hold, and so no name.
fn is_choice(spec: &FieldSpec, word: &str) -> bool {
    match &spec.holds {
        Holds::Word(_) => true,
        Holds::WordOr(..) | Holds::EachWord(_) => spec.holds.words().any(|known| known == word),
        _ => false,
    }
}
