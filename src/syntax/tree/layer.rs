//! A layer as written: what is worked on it, and how it is turned over.

use super::{Expr, Field, Let, Name, Outline};
use crate::source::Span;
pub use crate::vocabulary::tails::TailKind;
pub use crate::vocabulary::works::Work;

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

impl Layer {
    /// Names of the rings that are left standing on a face. In other work on it, each stands for its labels.
    pub fn left_standing(&self, face: Face) -> impl Iterator<Item = &str> {
        self.items.iter().filter_map(move |item| match item {
            LayerItem::Mark(mark @ Mark { work: Work::Bare, what: Marked::Ring { name, .. }, .. }) => {
                (mark.on() == face).then_some(name.text.as_str())
            }
            _ => None,
        })
    }
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

impl Mark {
    /// The face that it is on.
    pub fn on(&self) -> Face {
        self.face.map_or(Face::Front, |(face, _)| face)
    }

    /// Whether rings that are left standing stand for their labels in it: in work that leaves some of a face as it is.
    pub fn may_leave_standing(&self) -> bool {
        Work::BURNT.contains(&self.work) || matches!(self.work, Work::Paint | Work::Print)
    }
}

/// One of the two faces of a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// The face that looks at the player.
    Front,
    /// The other one.
    Back,
}

impl Face {
    /// What it is called in every output.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
        }
    }

    /// The face that looks the other way.
    pub const fn other(self) -> Self {
        match self {
            Self::Front => Self::Back,
            Self::Back => Self::Front,
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
