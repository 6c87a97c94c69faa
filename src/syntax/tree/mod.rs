//! The syntax tree of a file: what was written, with the span of every piece.
//!
//! Names are in Unicode normal form C. A piece that could not be parsed is left out of the tree or stands
//! as [`ExprKind::Broken`], so that later stages stay quiet about what only follows from it.

mod expr;
mod layer;

use crate::source::{SourceId, Span};

pub use expr::*;
pub use layer::*;

/// A whole file.
#[derive(Clone, Debug, PartialEq)]
pub struct File {
    /// Which file it is.
    pub source: SourceId,
    /// Its items in the order written.
    pub items: Vec<Item>,
}

/// One item of a file.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// `dial "NAME"`
    Dial(Expr),
    /// `shop "NAME"`
    Shop(Text),
    /// `with "FILE"`
    With(Text),
    /// `param NAME: KIND = VALUE from A to B "note"`
    Param(Param),
    /// `let NAME = VALUE`
    Let(Let),
    /// `outline REGION`: for every layer that says nothing else.
    Outline(Outline),
    /// `typeface "FILE"`, or a list of such texts.
    Typeface(Expr),
    /// `layer NAME of STOCK { … }`
    Layer(Layer),
    /// `stack { … }`
    Stack(Stack),
    /// `reads RING through OPENING, …`
    Reads(Reads),
    /// `slot …`
    Slot(Slot),
    /// `run COUNT { … }`
    Run(Run),
    /// `expect CONDITION "note"`
    Expect(Expect),
    /// `accept FINDING on NAME "reason"`
    Accept(Accept),
    /// `family { … }`
    Family(Family),
    /// Any other block, such as `stock birch { … }`.
    Thing(Thing),
}

/// A declared parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Param {
    /// Its name.
    pub name: Name,
    /// The kind of value it takes (`length`, `count`, `labels` …).
    pub kind: Name,
    /// Its value when nothing else is set.
    pub value: Expr,
    /// What it may be.
    pub bounds: Option<Bounds>,
    /// What it is, in words.
    pub note: Option<Text>,
    /// The whole item.
    pub span: Span,
}

/// What a parameter may be.
#[derive(Clone, Debug, PartialEq)]
pub enum Bounds {
    /// `from A to B`, both included.
    Between(Expr, Expr),
    /// `from [A, B, …]`
    OneOf(Vec<Expr>),
}

/// A binding, or a function where it has formals.
#[derive(Clone, Debug, PartialEq)]
pub struct Let {
    /// Its name.
    pub name: Name,
    /// `(name: kind, …)`, for a function.
    pub formals: Option<Vec<Formal>>,
    /// What it stands for.
    pub value: Expr,
    /// The whole item.
    pub span: Span,
}

/// One formal parameter of a function.
#[derive(Clone, Debug, PartialEq)]
pub struct Formal {
    /// Its name.
    pub name: Name,
    /// The kind of value it takes.
    pub kind: Name,
}

/// An outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// The region.
    pub value: Expr,
    /// The whole item.
    pub span: Span,
}

/// The stack, bottom first.
#[derive(Clone, Debug, PartialEq)]
pub struct Stack {
    /// Layers and joints in order.
    pub items: Vec<StackItem>,
    /// The whole item.
    pub span: Span,
}

/// One line of the stack.
#[derive(Clone, Debug, PartialEq)]
pub enum StackItem {
    /// A layer.
    Layer(StackLayer),
    /// `glue NAME`
    Glue {
        /// The adhesive, where one is named.
        adhesive: Option<Name>,
        /// The whole line.
        span: Span,
    },
    /// `turn on PIVOT { … }`
    Turn {
        /// `magnets(…)`, `rivet(…)` or `pin(…)`.
        pivot: Expr,
        /// Its fields.
        fields: Vec<Field>,
        /// The whole line.
        span: Span,
    },
}

/// `LAYER` or `NAME = LAYER`: a layer as it lies in the stack.
#[derive(Clone, Debug, PartialEq)]
pub struct StackLayer {
    /// What this copy is called; none where it has the layer's name.
    pub own: Option<Name>,
    /// The layer.
    pub layer: Name,
    /// What turns in its openings, or at points on it.
    pub wheels: Vec<Wheel>,
    /// The whole item.
    pub span: Span,
}

/// `[NAME =] LAYER in OPENING` or `[NAME =] LAYER at POINT on PIVOT`: what turns in a layer's opening, or on a layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Wheel {
    /// What it is called; none where it has the layer's name.
    pub own: Option<Name>,
    /// The layer that turns.
    pub layer: Name,
    /// Where it lies.
    pub place: WheelPlace,
    /// What holds it on its axis: `magnets(…)`, `rivet(…)` or `pin(…)`.
    pub pivot: Option<Expr>,
    /// Its fields, those of a turn.
    pub fields: Vec<Field>,
    /// The whole line.
    pub span: Span,
}

/// Where a wheel lies.
#[derive(Clone, Debug, PartialEq)]
pub enum WheelPlace {
    /// In an opening.
    In(Name),
    /// At a point.
    At(Expr),
}

impl WheelPlace {
    /// The word that stands before it.
    pub fn word(&self) -> &'static str {
        match self {
            Self::In(_) => "in",
            Self::At(_) => "at",
        }
    }
}

impl Wheel {
    /// What it is called.
    pub fn name(&self) -> &Name {
        self.own.as_ref().unwrap_or(&self.layer)
    }
}

impl StackLayer {
    /// What it is called in the stack.
    pub fn name(&self) -> &Name {
        self.own.as_ref().unwrap_or(&self.layer)
    }
}

/// A ring or an opening, and of which copy of its layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The ring or opening.
    pub name: Name,
    /// `of NAME`
    pub of: Option<Name>,
}

impl Piece {
    /// Both its names.
    pub fn names(&self) -> impl Iterator<Item = &Name> {
        std::iter::once(&self.name).chain(&self.of)
    }
}

/// What must be read through (or beside) what.
#[derive(Clone, Debug, PartialEq)]
pub struct Reads {
    /// The ring.
    pub ring: Piece,
    /// How it is read.
    pub how: ReadsHow,
    /// The openings or the pointer.
    pub by: Vec<Piece>,
    /// `from DISTANCE`
    pub distance: Option<Expr>,
    /// The whole item.
    pub span: Span,
}

/// Through an opening, or beside a pointer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadsHow {
    /// Through openings.
    Through,
    /// Beside a pointer.
    Beside,
}

/// `A by B` or `A by B by C`.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// Two or three lengths.
    pub sides: Vec<Expr>,
    /// The whole size.
    pub span: Span,
}

/// The slot that the finished dial must drop into.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    /// Its shape and depth.
    pub shape: SlotShape,
    /// The whole item.
    pub span: Span,
}

/// Shape of a slot.
#[derive(Clone, Debug, PartialEq)]
pub enum SlotShape {
    /// Width by height, by depth where given.
    Box(Size),
    /// `REGION depth LENGTH`
    Region {
        /// Its outline.
        region: Expr,
        /// Its depth.
        depth: Expr,
    },
}

/// How many dials are to be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// How many.
    pub dials: Expr,
    /// `margin`, `gap`, `spares` …
    pub fields: Vec<Field>,
    /// The whole item.
    pub span: Span,
}

/// A condition that the finished design must meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Expect {
    /// The condition.
    pub condition: Expr,
    /// Why, in words.
    pub note: Option<Text>,
    /// The whole item.
    pub span: Span,
}

/// A finding that the maker has seen and accepts.
#[derive(Clone, Debug, PartialEq)]
pub struct Accept {
    /// The finding's name.
    pub finding: Name,
    /// What it must be about.
    pub on: Option<Name>,
    /// Why.
    pub reason: Text,
    /// The whole item.
    pub span: Span,
}

/// A family of variants.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// What is in its block.
    pub items: Vec<FamilyItem>,
    /// The whole item.
    pub span: Span,
}

/// One line of a family.
#[derive(Clone, Debug, PartialEq)]
pub enum FamilyItem {
    /// `each NAME, … in LIST`
    Each {
        /// The params that walk.
        names: Vec<Name>,
        /// The values they take.
        values: Expr,
        /// The whole line.
        span: Span,
    },
    /// `variant NAME { param = value … }`
    Variant {
        /// Its name.
        name: Name,
        /// What it sets.
        bindings: Vec<(Name, Expr)>,
        /// The whole line.
        span: Span,
    },
    /// `leave out CONDITION`
    LeaveOut {
        /// Which combinations.
        condition: Expr,
        /// The whole line.
        span: Span,
    },
}

/// A block of fields: `stock birch { … }`.
#[derive(Clone, Debug, PartialEq)]
pub struct Thing {
    /// What kind of thing it is (`stock`, `magnet`, `rivet`, `adhesive` …).
    pub kind: Name,
    /// Its name.
    pub name: Name,
    /// Its fields.
    pub fields: Vec<Field>,
    /// The whole item.
    pub span: Span,
}

/// A field: a word of ours, then its value.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// The word.
    pub name: Name,
    /// Its value.
    pub value: FieldValue,
    /// A note beside it.
    pub note: Option<Text>,
    /// The whole field.
    pub span: Span,
}

/// Value of a field.
#[derive(Clone, Debug, PartialEq)]
pub enum FieldValue {
    /// The word stands alone.
    None,
    /// A value. A bare word (`pocket through`, `facing outward`) is [`ExprKind::Name`].
    Expr(Expr),
    /// A size.
    Size(Size),
}
