//! Trees with their places left out, to compare what two texts say.

use super::tree::{
    Accept, Argument, Arithmetic, Bounds, Combining, Comparison, Expect, Expr, ExprKind, Face, Family, FamilyItem,
    Field, FieldValue, Flip, FlipWay, ForEach, Formal, Item, Layer, LayerItem, Let, Logic, Mark, Marked, Name, Number,
    Outline, Param, Piece, Placing, Reads, ReadsHow, Run, Size, Slot, SlotShape, Stack, StackItem, StackLayer, Tail,
    TailKind, Text, TextPiece, Thing, Wheel, WheelPlace, Work,
};
use crate::source::Span;

impl Item {
    /// The same item as if it stood at the start of its file, and all its pieces there too. Two items that are equal
    /// without their places say the same.
    #[must_use]
    pub fn without_places(&self) -> Self {
        let mut item = self.clone();
        item.forget();
        item
    }

    /// Its first byte; that of the text for `dial`, `shop`, `with` and `typeface`.
    pub fn start(&self) -> u32 {
        match self {
            Item::Dial(text) | Item::Typeface(text) => text.span.start,
            Item::Shop(text) | Item::With(text) => text.span.start,
            Item::Param(item) => item.span.start,
            Item::Let(item) => item.span.start,
            Item::Outline(item) => item.span.start,
            Item::Layer(item) => item.span.start,
            Item::Stack(item) => item.span.start,
            Item::Reads(item) => item.span.start,
            Item::Slot(item) => item.span.start,
            Item::Run(item) => item.span.start,
            Item::Expect(item) => item.span.start,
            Item::Accept(item) => item.span.start,
            Item::Family(item) => item.span.start,
            Item::Thing(item) => item.span.start,
        }
    }
}

/// A piece of tree that can forget where it stands.
trait Forget {
    fn forget(&mut self);
}

impl Forget for Span {
    fn forget(&mut self) {
        (self.start, self.end) = (0, 0);
    }
}

impl<T: Forget> Forget for Vec<T> {
    fn forget(&mut self) {
        self.iter_mut().for_each(T::forget);
    }
}

impl<T: Forget> Forget for Option<T> {
    fn forget(&mut self) {
        self.iter_mut().for_each(T::forget);
    }
}

impl<T: Forget> Forget for Box<T> {
    fn forget(&mut self) {
        self.as_mut().forget();
    }
}

impl<A: Forget, B: Forget> Forget for (A, B) {
    fn forget(&mut self) {
        self.0.forget();
        self.1.forget();
    }
}

impl Forget for WheelPlace {
    fn forget(&mut self) {
        match self {
            Self::In(opening) => opening.forget(),
            Self::At(point) => point.forget(),
        }
    }
}

macro_rules! nowhere {
    ($($kind:ty),+) => { $(impl Forget for $kind { fn forget(&mut self) {} })+ };
}
nowhere!(Arithmetic, Combining, Comparison, Face, Logic, Number, Placing, ReadsHow, String, TailKind, Work);
nowhere!(bool, [u8; 3]);

/// A field that is left out of a list here would make equal trees differ, never unequal ones equal.
macro_rules! structs {
    ($($kind:ident { $($field:ident)+ })+) => {
        $(impl Forget for $kind { fn forget(&mut self) { $(self.$field.forget();)+ } })+
    };
}
structs! {
    Accept { finding on reason span }
    Argument { name value }
    StackLayer { own layer wheels span }
    Wheel { own layer place pivot fields span }
    Expect { condition note span }
    Expr { kind span }
    Family { items span }
    Field { name value note span }
    Flip { way span }
    ForEach { variable list condition value }
    Formal { name kind }
    Layer { name stock items span }
    Let { name formals value span }
    Mark { face work work_span what tails span }
    Name { span }
    Outline { value span }
    Param { name kind value bounds note span }
    Piece { name of }
    Reads { ring how by distance span }
    Run { dials fields span }
    Size { sides span }
    Slot { shape span }
    Stack { items span }
    Tail { kind value span }
    Text { span }
    Thing { kind name fields span }
}

macro_rules! enums {
    ($($kind:ident { $($variant:pat => $($field:ident)*;)+ })+) => {
        $(impl Forget for $kind {
            fn forget(&mut self) { match self { $($variant => { $($field.forget();)* })+ } }
        })+
    };
}
enums! {
    Item {
        Item::Dial(text) | Item::Typeface(text) => text;
        Item::Shop(text) | Item::With(text) => text;
        Item::Param(item) => item;
        Item::Let(item) => item;
        Item::Outline(item) => item;
        Item::Layer(item) => item;
        Item::Stack(item) => item;
        Item::Reads(item) => item;
        Item::Slot(item) => item;
        Item::Run(item) => item;
        Item::Expect(item) => item;
        Item::Accept(item) => item;
        Item::Family(item) => item;
        Item::Thing(item) => item;
    }
    Bounds {
        Bounds::Between(from, to) => from to;
        Bounds::OneOf(choices) => choices;
    }
    LayerItem {
        LayerItem::Let(item) => item;
        LayerItem::Outline(item) => item;
        LayerItem::Flip(item) => item;
        LayerItem::Mark(item) => item;
        LayerItem::Field(item) => item;
    }
    FlipWay {
        FlipWay::About(bearing) => bearing;
        FlipWay::Board | FlipWay::Holder => ;
    }
    Marked {
        Marked::Ring { name, fields } => name fields;
        Marked::Shape { name, value } => name value;
    }
    StackItem {
        StackItem::Layer(copy) => copy;
        StackItem::Glue { adhesive, span } => adhesive span;
        StackItem::Turn { pivot, fields, span } => pivot fields span;
    }
    SlotShape {
        SlotShape::Box(size) => size;
        SlotShape::Region { region, depth } => region depth;
    }
    FamilyItem {
        FamilyItem::Each { names, values, span } => names values span;
        FamilyItem::Variant { name, bindings, span } => name bindings span;
        FamilyItem::LeaveOut { condition, span } => condition span;
    }
    TextPiece {
        TextPiece::Letters(letters) => letters;
        TextPiece::Value(value) => value;
    }
    FieldValue {
        FieldValue::None => ;
        FieldValue::Expr(value) => value;
        FieldValue::Size(size) => size;
    }
    ExprKind {
        ExprKind::Number(number) => number;
        ExprKind::Text(text) | ExprKind::Name(text) => text;
        ExprKind::Filled(pieces) => pieces;
        ExprKind::Colour(colour) => colour;
        ExprKind::Truth(truth) => truth;
        ExprKind::Call { function, arguments } => function arguments;
        ExprKind::Group(value) | ExprKind::Negate(value) | ExprKind::Not(value) => value;
        ExprKind::Point(x, y) => x y;
        ExprKind::List(values) => values;
        ExprKind::ForEach(walk) => walk;
        ExprKind::Arithmetic { operator, left, right, operator_span } => operator left right operator_span;
        ExprKind::Placed { subject, placing, argument } => subject placing argument;
        ExprKind::Combined { combining, left, right } => combining left right;
        ExprKind::Range { from, to, by } => from to by;
        ExprKind::Compare { first, rest } => first rest;
        ExprKind::Logic { operator, left, right } => operator left right;
        ExprKind::If { condition, then, otherwise } => condition then otherwise;
        ExprKind::Broken => ;
    }
}
