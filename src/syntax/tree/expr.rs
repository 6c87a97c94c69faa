//! Values as written: numbers, calls, operators, and the words and texts that all of the tree shares.

use crate::source::Span;
use crate::units::Unit;
pub use crate::vocabulary::placings::{Combining, Placing};

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
    /// A string with values in it: `"Lantern of {who}"`
    Filled(Vec<TextPiece>),
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
    /// The items of a list that is written out; else this alone.
    pub fn items(&self) -> impl Iterator<Item = &Expr> {
        let items = if let ExprKind::List(items) = &self.kind { items.as_slice() } else { std::slice::from_ref(self) };
        items.iter()
    }

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
            ExprKind::Filled(pieces) => pieces.iter().filter_map(TextPiece::value).collect(),
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

/// A piece of a string.
#[derive(Clone, Debug, PartialEq)]
pub enum TextPiece {
    /// Letters, escapes resolved.
    Letters(String),
    /// A value in braces; its text stands in its place.
    Value(Expr),
}

impl TextPiece {
    /// The value, where it is one.
    pub fn value(&self) -> Option<&Expr> {
        match self {
            TextPiece::Value(value) => Some(value),
            TextPiece::Letters(_) => None,
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
