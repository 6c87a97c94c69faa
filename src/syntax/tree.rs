//! The syntax tree of a file: what was written, with the span of every piece.
//!
//! Names are in Unicode normal form C. A piece that could not be parsed is left out of the tree or stands
//! as [`ExprKind::Broken`], so that later stages stay quiet about what only follows from it.

use crate::source::{SourceId, Span};
use crate::units::Unit;

/// A word that names something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    /// In normal form C.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

/// A string, with its escapes resolved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    /// What it says.
    pub value: String,
    /// Where it stands, quotes included.
    pub span: Span,
}

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
    Dial(Text),
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
    /// `typeface "FILE"`
    Typeface(Text),
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

/// A layer of the stack.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Its name.
    pub name: Name,
    /// The stock it is cut from.
    pub stock: Name,
    /// What is in its block.
    pub items: Vec<LayerItem>,
    /// The whole item.
    pub span: Span,
}

/// One item of a layer's block.
#[derive(Clone, Debug, PartialEq)]
pub enum LayerItem {
    /// A binding for this layer alone.
    Let(Let),
    /// This layer's outline.
    Outline(Outline),
    /// `flip about BEARING` or `flip board`
    Flip(Flip),
    /// Something cut, burnt or painted.
    Mark(Mark),
    /// Any other field, such as `grain 90deg`.
    Field(Field),
}

/// How the layer is turned over.
#[derive(Clone, Debug, PartialEq)]
pub struct Flip {
    /// The axis, or the whole board.
    pub way: FlipWay,
    /// The whole item.
    pub span: Span,
}

/// `flip about BEARING` or `flip board`.
#[derive(Clone, Debug, PartialEq)]
pub enum FlipWay {
    /// About the axis through the centre at this bearing.
    About(Expr),
    /// The board as a whole.
    Board,
    /// Each part into a mirrored opening beside its own.
    Holder,
}

/// Something cut, burnt or painted on a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The face, where one is named.
    pub face: Option<(Face, Span)>,
    /// What is done.
    pub work: Work,
    /// The word that says so.
    pub work_span: Span,
    /// What it is done to.
    pub what: Marked,
    /// `depth`, `tone`, `ink`, `colour`, `after`.
    pub tails: Vec<Tail>,
    /// The whole item.
    pub span: Span,
}

/// One of the two faces of a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// The face that looks at the player.
    Front,
    /// The other one.
    Back,
}

/// Kinds of work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Work {
    /// Burn a filled region.
    Engrave,
    /// Trace a line.
    Score,
    /// Sink a region to a depth.
    Pocket,
    /// Cut through; not to be looked through.
    Hole,
    /// Cut through; to be looked through.
    Window,
    /// Paint a region.
    Paint,
    /// Leave a region of the paint open.
    Bare,
}

impl Work {
    /// The word that stands for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Engrave => "engrave",
            Self::Score => "score",
            Self::Pocket => "pocket",
            Self::Hole => "hole",
            Self::Window => "window",
            Self::Paint => "paint",
            Self::Bare => "bare",
        }
    }
}

/// What a mark is made of.
#[derive(Clone, Debug, PartialEq)]
pub enum Marked {
    /// A ring of labels.
    Ring {
        /// The ring's name.
        name: Name,
        /// Its fields.
        fields: Vec<Field>,
    },
    /// A region, trace, or list of them, with a name where one is given (`window peep = …`).
    Shape {
        /// The mark's name.
        name: Option<Name>,
        /// The shape.
        value: Expr,
    },
}

/// A tail of a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Tail {
    /// Which one.
    pub kind: TailKind,
    /// Its value; none for `depth through`.
    pub value: Option<Expr>,
    /// The whole tail.
    pub span: Span,
}

/// Kinds of tail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TailKind {
    /// How deep.
    Depth,
    /// How dark, as a ratio.
    Tone,
    /// What it is filled with afterwards.
    Ink,
    /// The colour of paint.
    Colour,
    /// Which work on the other face it comes after, a name.
    After,
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
    Layer(Name),
    /// `glue NAME`
    Glue {
        /// The adhesive, where one is named.
        adhesive: Option<Name>,
        /// The whole line.
        span: Span,
    },
    /// `turn on PIVOT { … }`
    Turn {
        /// `magnets(…)` or `rivet(…)`.
        pivot: Expr,
        /// Its fields.
        fields: Vec<Field>,
        /// The whole line.
        span: Span,
    },
}

/// What must be read through (or beside) what.
#[derive(Clone, Debug, PartialEq)]
pub struct Reads {
    /// The ring.
    pub ring: Name,
    /// How it is read.
    pub how: ReadsHow,
    /// The openings or the pointer.
    pub by: Vec<Name>,
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

/// An expression.
#[derive(Clone, Debug, PartialEq)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Where it stands.
    pub span: Span,
}

/// Kinds of expression.
#[derive(Clone, Debug, PartialEq)]
pub enum ExprKind {
    /// A number, with its unit where one is written.
    Number(Number),
    /// A string.
    Text(String),
    /// `#rrggbb`
    Colour([u8; 3]),
    /// `true` or `false`
    Truth(bool),
    /// A name.
    Name(String),
    /// `name(…)`
    Call {
        /// What is called.
        function: Name,
        /// With what.
        arguments: Vec<Argument>,
    },
    /// `(a)`
    Group(Box<Expr>),
    /// `(x, y)`
    Point(Box<Expr>, Box<Expr>),
    /// `[a, b]`
    List(Vec<Expr>),
    /// `[for x in LIST where COND: VALUE]`
    ForEach(Box<ForEach>),
    /// `-a`
    Negate(Box<Expr>),
    /// `a + b` and its kin.
    Arithmetic {
        /// Which.
        operator: Arithmetic,
        /// Left of it.
        left: Box<Expr>,
        /// Right of it.
        right: Box<Expr>,
        /// The operator itself.
        operator_span: Span,
    },
    /// `s at p` and its kin: postfix, acting on what stands to the left.
    Placed {
        /// What is placed.
        subject: Box<Expr>,
        /// How.
        placing: Placing,
        /// By what.
        argument: Box<Expr>,
    },
    /// `a less b` and its kin.
    Combined {
        /// How.
        combining: Combining,
        /// The first region.
        left: Box<Expr>,
        /// The second.
        right: Box<Expr>,
    },
    /// `a to b by c`
    Range {
        /// First value.
        from: Box<Expr>,
        /// Last value, included.
        to: Box<Expr>,
        /// Step; 1 where left out.
        by: Option<Box<Expr>>,
    },
    /// `a < b < c`: holds where every neighbouring pair holds.
    Compare {
        /// The first value.
        first: Box<Expr>,
        /// Each comparison and the value to its right.
        rest: Vec<(Comparison, Expr)>,
    },
    /// `not a`
    Not(Box<Expr>),
    /// `a and b`, `a or b`
    Logic {
        /// Which.
        operator: Logic,
        /// Left of it.
        left: Box<Expr>,
        /// Right of it.
        right: Box<Expr>,
    },
    /// `if a then b else c`
    If {
        /// The condition.
        condition: Box<Expr>,
        /// Where it holds.
        then: Box<Expr>,
        /// Where it does not.
        otherwise: Box<Expr>,
    },
    /// Could not be parsed; already reported.
    Broken,
}

impl Expr {
    /// The expressions that it is made of, from left to right; those inside of them left out.
    pub fn parts(&self) -> Vec<&Expr> {
        match &self.kind {
            ExprKind::Call { arguments, .. } => arguments.iter().map(|argument| &argument.value).collect(),
            ExprKind::Group(inner) | ExprKind::Negate(inner) | ExprKind::Not(inner) => vec![inner],
            ExprKind::Point(left, right)
            | ExprKind::Arithmetic { left, right, .. }
            | ExprKind::Logic { left, right, .. }
            | ExprKind::Placed { subject: left, argument: right, .. }
            | ExprKind::Combined { left, right, .. } => vec![left, right],
            ExprKind::List(items) => items.iter().collect(),
            ExprKind::ForEach(walk) => [&walk.list].into_iter().chain(&walk.condition).chain([&walk.value]).collect(),
            ExprKind::Range { from, to, by } => [from, to].into_iter().chain(by).map(|part| &**part).collect(),
            ExprKind::Compare { first, rest } => [&**first].into_iter().chain(rest.iter().map(|(_, it)| it)).collect(),
            ExprKind::If { condition, then, otherwise } => vec![condition, then, otherwise],
            ExprKind::Number(_)
            | ExprKind::Text(_)
            | ExprKind::Colour(_)
            | ExprKind::Truth(_)
            | ExprKind::Name(_)
            | ExprKind::Broken => Vec::new(),
        }
    }
}

/// A number as written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    /// The value in the written unit (`1 1/8in` is 1.125).
    pub value: f64,
    /// The unit, where one is written.
    pub unit: Option<Unit>,
}

/// One argument of a call.
#[derive(Clone, Debug, PartialEq)]
pub struct Argument {
    /// `word:` before it, where written.
    pub name: Option<Name>,
    /// The value.
    pub value: Expr,
}

/// `for variable in list where condition: value`
#[derive(Clone, Debug, PartialEq)]
pub struct ForEach {
    /// The variable.
    pub variable: Name,
    /// What it walks over.
    pub list: Expr,
    /// Which values count.
    pub condition: Option<Expr>,
    /// What is made of each.
    pub value: Expr,
}

/// Arithmetic operators.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arithmetic {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
}

/// Placing words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placing {
    /// Moves by a point.
    At,
    /// Turns about the turning axis, clockwise seen from the front.
    Turned,
    /// Scales about the turning axis.
    Scaled,
    /// Mirrors about the line through the axis at a bearing.
    Mirrored,
    /// Copies round the axis, evenly.
    Repeated,
    /// Rounds corners.
    Rounded,
    /// Shrinks by a distance.
    Inset,
    /// Grows by a distance.
    Outset,
}

/// Combining words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Combining {
    /// Union.
    Plus,
    /// Difference.
    Less,
    /// Intersection.
    Within,
}

/// Comparisons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Comparison {
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    Greater,
    /// `>=`
    AtLeast,
    /// `is`
    Is,
    /// `is not`
    IsNot,
}

/// Logic words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Logic {
    /// `and`
    And,
    /// `or`
    Or,
}
