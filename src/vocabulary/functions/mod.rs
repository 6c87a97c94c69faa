//! Functions: what each takes and gives. Measures are called like them and listed with them ([`super::measures`]).
//!
//! Of each function a row makes a variant of [`FunctionName`] and, in [`arguments`], an enum of its arguments: those in
//! `places` may stand without their word, in order, and must be given unless `or` says what else is taken; those in `words` stand
//! behind their word. `rest` and
//! `one_of` are left out where there is no such thing.

use std::sync::LazyLock;

use super::DefaultValue;
use super::choices::Choice;
use super::measures::{MeasureName, Measured, Subject};
use super::types::{ThingKind, Type};
pub use table::{FunctionName, arguments};

/// What a call gives.
#[derive(Clone, Debug, PartialEq)]
pub enum Gives {
    /// Always this type.
    Type(Type),
    /// Labels.
    Labels,
    /// The type of its first argument.
    SameAsFirst,
    /// This type; a list of it where the first argument is a list.
    EachOf(Type),
    /// A column of a table, or the rows of several: what they are is told by the table.
    OfTable,
    /// The square root of its argument's dimension.
    Root,
}

impl Gives {
    /// The type, where it is always the same.
    pub fn always(&self) -> Option<Type> {
        match self {
            Self::Type(of) => Some(of.clone()),
            Self::Labels => Some(Type::list(Type::Label)),
            Self::SameAsFirst | Self::EachOf(_) | Self::OfTable | Self::Root => None,
        }
    }
}

/// What may follow the arguments that have a place.
#[derive(Clone, Debug, PartialEq)]
pub enum Rest {
    /// Nothing.
    None,
    /// Any number of values of this type.
    Type(Type),
    /// Any number of values of the type of the first.
    SameAsFirst,
}

/// Functions by what they are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// They make a filled area.
    Shape,
    /// They make lines without width.
    Line,
    /// They make a point.
    Point,
    /// They make what a turn turns on.
    Pivot,
    /// They reckon with numbers.
    Arithmetic,
    /// They make texts and lists.
    Words,
    /// They measure the finished dial; only `expect` may call them.
    Measure,
}

/// What a parameter takes.
#[derive(Clone, Debug)]
pub enum Takes {
    /// A value of this type.
    Type(Type),
    /// A value of this type, or a list of them.
    OneOrList(Type),
    /// A quantity of any dimension.
    Quantity,
    /// One of these words, in quotes.
    Word(&'static [&'static Choice]),
}

impl Takes {
    /// The type of the value; none where several would do.
    pub fn wanted(&self) -> Option<Type> {
        match self {
            Self::Type(of) => Some(of.clone()),
            Self::OneOrList(_) | Self::Quantity => None,
            Self::Word(_) => Some(Type::Text),
        }
    }
}

/// What is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Callee {
    /// A function.
    Function(FunctionName),
    /// A measure.
    Measure(MeasureName),
}

/// One function.
#[derive(Debug)]
pub struct Function {
    /// Which one.
    pub callee: Callee,
    /// Its name, as written.
    pub word: &'static str,
    /// What it is for.
    pub group: Group,
    /// What it gives, in words.
    pub doc: &'static str,
    /// How it is written.
    pub usage: &'static str,
    /// What it gives.
    pub gives: Gives,
    /// What it takes, those that have a place first.
    pub parameters: &'static [&'static Parameter],
    /// What may follow those that have a place.
    pub rest: Rest,
    /// Of these exactly one must be given; empty where there is no such choice.
    pub one_of: &'static [&'static str],
}

impl FunctionName {
    /// Those of one group, in the order of the table.
    pub fn of_group(group: Group) -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(move |function| function.spec().group == group)
    }
}

impl Function {
    /// Whether only `expect` may call it.
    pub fn is_measure(&self) -> bool {
        matches!(self.callee, Callee::Measure(_))
    }

    /// The parameter of this word.
    pub fn parameter(&self, word: &str) -> Option<&'static Parameter> {
        self.parameters.iter().copied().find(|parameter| parameter.word == word)
    }
}

/// One parameter of a function.
#[derive(Debug)]
pub struct Parameter {
    /// The word before its `:`.
    pub word: &'static str,
    /// What it is for.
    pub doc: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// Whether it may stand without its word, in its place.
    pub positional: bool,
    /// What is taken where it is not given.
    pub default: DefaultValue,
}

impl Parameter {
    /// Whether it must be given.
    pub const fn is_required(&self) -> bool {
        self.default.is_required()
    }
}

/// The arguments of one function, by name.
pub trait ArgumentName: Copy + PartialEq {
    /// The function.
    const FUNCTION: FunctionName;

    /// The row of the argument.
    fn parameter(self) -> &'static Parameter;
}

/// What is given, else the default.
macro_rules! or {
    ($default:expr) => {
        $default
    };
    ($default:expr, $given:expr) => {
        $given
    };
}

macro_rules! functions {
    ($(
        $name:ident = $word:literal in $group:ident {
            usage: $usage:literal,
            doc: $doc:literal,
            gives: $gives:expr,
            $(rest: $rest:expr,)?
            $(one_of: [$($choice:ident),+],)?
            $(places: { $($place:ident = $place_word:literal {
                takes: $place_takes:expr, $(or: $place_default:expr,)? doc: $place_doc:expr $(,)?
            })+ },)?
            $(words: { $($named:ident = $named_word:literal { $($field:ident: $value:expr),+ $(,)? })+ },)?
        }
    )+) => {
        /// The functions of the language, measures apart.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum FunctionName {
            $(#[doc = concat!("`", $usage, "`: ", $doc)] $name,)+
        }

        impl FunctionName {
            /// All of them, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// Its name, as written.
            pub const fn word(self) -> &'static str {
                self.spec().word
            }

            /// The one of this name.
            pub fn of_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|known| known.word() == word)
            }

            /// Its row.
            pub const fn spec(self) -> &'static Function {
                match self {
                    $(Self::$name => {
                        static ROW: Function = Function {
                            callee: Callee::Function(FunctionName::$name),
                            word: $word,
                            group: Group::$group,
                            doc: $doc,
                            usage: $usage,
                            gives: $gives,
                            parameters: arguments::$name::ROWS,
                            rest: or!(Rest::None $(, $rest)?),
                            one_of: &[$($(arguments::$name::$choice.word()),+)?],
                        };
                        &ROW
                    })+
                }
            }

            /// Its page in the reference, in Markdown.
            pub const fn page(self) -> &'static str {
                match self {
                    $(Self::$name => include_str!(concat!("../pages/functions/", $word, ".md")),)+
                }
            }
        }

        /// What each function takes: one enum a function.
        pub mod arguments {
            use super::*;

            $(
                #[doc = concat!("The arguments of `", $word, "`.")]
                #[derive(Clone, Copy, Debug, PartialEq, Eq)]
                pub enum $name {
                    $($(#[doc = concat!("`", $place_word, "`")] $place,)+)?
                    $($(#[doc = concat!("`", $named_word, "`")] $named,)+)?
                }

                impl $name {
                    /// Their rows.
                    pub const ROWS: &'static [&'static Parameter] =
                        &[$($(Self::$place.row(),)+)? $($(Self::$named.row(),)+)?];

                    /// The word, as it is written.
                    pub const fn word(self) -> &'static str {
                        self.row().word
                    }

                    /// Its row.
                    pub const fn row(self) -> &'static Parameter {
                        match self {
                            $($(Self::$place => {
                                static ROW: Parameter = Parameter {
                                    word: $place_word,
                                    positional: true,
                                    default: or!(DefaultValue::Required $(, $place_default)?),
                                    takes: $place_takes,
                                    doc: $place_doc,
                                };
                                &ROW
                            })+)?
                            $($(Self::$named => {
                                static ROW: Parameter =
                                    Parameter { word: $named_word, positional: false, $($field: $value,)+ };
                                &ROW
                            })+)?
                        }
                    }
                }

                impl ArgumentName for $name {
                    const FUNCTION: FunctionName = FunctionName::$name;

                    fn parameter(self) -> &'static Parameter {
                        self.row()
                    }
                }
            )+
        }
    };
}

mod table;

/// A measure as a function: its subject is what it takes.
fn measure(name: &MeasureName) -> Function {
    let spec = name.spec();
    Function {
        callee: Callee::Measure(*name),
        word: spec.word,
        group: Group::Measure,
        doc: spec.doc,
        usage: spec.usage,
        gives: match spec.gives {
            Measured::Quantity(dimension) => Gives::Type(Type::Quantity(dimension)),
            Measured::Labels => Gives::Labels,
        },
        parameters: match spec.subject {
            Subject::Layer => &LAYER,
            Subject::Opening => &OPENING,
            Subject::Ring => &RING,
            Subject::Dial => &[],
        },
        rest: Rest::None,
        one_of: &[],
    }
}

const fn subject(word: &'static str, of: ThingKind, doc: &'static str) -> Parameter {
    Parameter { word, doc, takes: Takes::Type(Type::Thing(of)), positional: true, default: DefaultValue::Required }
}

static LAYER: [&Parameter; 1] = {
    static ROW: Parameter =
        subject("layer", ThingKind::Layer, "the layer, or one on the half of the turn that is meant");
    [&ROW]
};
static OPENING: [&Parameter; 1] = {
    static ROW: Parameter = subject("opening", ThingKind::Mark, "the opening or pointer");
    [&ROW]
};
static RING: [&Parameter; 1] = {
    static ROW: Parameter = subject("ring", ThingKind::Ring, "the ring");
    [&ROW]
};

static MEASURES: LazyLock<Vec<Function>> = LazyLock::new(|| MeasureName::ALL.iter().map(measure).collect());

/// Every function and measure, in order of word.
pub static FUNCTIONS: LazyLock<Vec<&'static Function>> = LazyLock::new(|| {
    let own = FunctionName::ALL.iter().map(|name| name.spec());
    let mut all: Vec<&'static Function> = own.chain(MEASURES.iter()).collect();
    all.sort_by_key(|function| function.word);
    all
});

/// The function or measure of this name.
pub fn function_named(word: &str) -> Option<&'static Function> {
    FUNCTIONS.iter().copied().find(|function| function.word == word)
}
