//! Blocks and the fields that each may hold.
//!
//! Of each block a row makes a variant of [`BlockName`] and, in [`fields`], an enum of its fields. A default that is a fixed
//! value is taken from its row by the code that assembles the block; those of the shop are common practice, no source.

use super::DefaultValue;
use super::choices::Choice;
use super::types::{ThingKind, Type};
pub use table::{BlockName, fields};

/// What a field holds.
#[derive(Clone, Debug)]
pub enum Holds {
    /// A value of this type.
    Type(Type),
    /// A list of values of this type.
    List(Type),
    /// A length, or a list of readings of it.
    Readings,
    /// A list of lengths, or of lists of readings of them.
    PassDepths,
    /// A value of this type for all labels, or a list with one for each.
    Each(Type),
    /// A value of this type, or a list of them.
    OneOrList(Type),
    /// One of these words.
    Word(&'static [&'static Choice]),
    /// One of these words for all labels, or a list with one for each; a computed list takes them as texts.
    EachWord(&'static [&'static Choice]),
    /// One of these words, or a value of this type.
    WordOr(&'static [&'static Choice], Type),
    /// `A by B`, two lengths.
    Size,
    /// `A to B`, two lengths.
    Span,
    /// A count, or a list of bearings.
    Stops,
    /// True or false; a bare word means true.
    Flag,
    /// A param with bounds, or a list of them.
    Params,
    /// A quantity of any kind, in which measures and figures may stand.
    Sought,
    /// A condition or a list of them, in which measures and figures may stand.
    Kept,
    /// A quantity of any kind, or a list of them.
    Steps,
}

impl Holds {
    /// The words that it may hold.
    pub fn words(&self) -> impl Iterator<Item = &'static str> + Clone {
        let choices: &'static [&'static Choice] = match self {
            Self::Word(choices) | Self::EachWord(choices) | Self::WordOr(choices, _) => choices,
            _ => &[],
        };
        choices.iter().map(|choice| choice.word)
    }
}

/// One field.
#[derive(Debug)]
pub struct FieldSpec {
    /// The word.
    pub word: &'static str,
    /// What it holds.
    pub holds: Holds,
    /// What is taken where it is not written.
    pub default: DefaultValue,
    /// What it says.
    pub doc: &'static str,
    /// How it is written.
    pub usage: &'static str,
}

impl FieldSpec {
    /// Whether it must be given.
    pub const fn is_required(&self) -> bool {
        self.default.is_required()
    }
}

/// One kind of block.
#[derive(Debug)]
pub struct BlockSpec {
    /// Which one.
    pub name: BlockName,
    /// The word before it.
    pub word: &'static str,
    /// What it says.
    pub doc: &'static str,
    /// How it is written.
    pub usage: &'static str,
    /// The same for an editor to fill in (see [`super::Word`]).
    pub snippet: &'static str,
    /// Its fields.
    pub fields: &'static [&'static FieldSpec],
}

impl BlockSpec {
    /// The field of this word.
    pub fn field(&self, word: &str) -> Option<&'static FieldSpec> {
        self.fields.iter().copied().find(|field| field.word == word)
    }
}

/// The fields of one block, by name.
pub trait FieldName: Copy {
    /// The block.
    const BLOCK: BlockName;

    /// The row of the field.
    fn row(self) -> &'static FieldSpec;
}

macro_rules! blocks {
    ($(
        $name:ident = $word:literal {
            usage: $usage:literal,
            snippet: $snippet:literal,
            doc: $doc:literal,
            fields: { $($field:ident = $field_word:literal { $($key:ident: $value:expr),+ $(,)? })+ },
        }
    )+) => {
        /// Every block with fields.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum BlockName {
            $(#[doc = concat!("`", $word, "`: ", $doc)] $name,)+
        }

        impl BlockName {
            /// All of them, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// The word before it.
            pub const fn word(self) -> &'static str {
                self.spec().word
            }

            /// The one that a word begins.
            pub fn of_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|known| known.word() == word)
            }

            /// Its row.
            pub const fn spec(self) -> &'static BlockSpec {
                match self {
                    $(Self::$name => {
                        static ROW: BlockSpec = BlockSpec {
                            name: BlockName::$name,
                            word: $word,
                            doc: $doc,
                            usage: $usage,
                            snippet: $snippet,
                            fields: fields::$name::ROWS,
                        };
                        &ROW
                    })+
                }
            }

            /// Its page in the reference, in Markdown.
            pub const fn page(self) -> &'static str {
                match self {
                    $(Self::$name => include_str!(concat!("../pages/blocks/", $word, ".md")),)+
                }
            }
        }

        /// What each block may hold: one enum a block.
        pub mod fields {
            use super::*;

            $(
                table! {
                    #[doc = concat!("The fields of `", $word, "`.")]
                    enum $name of FieldSpec {
                        $($field = $field_word { $($key: $value,)+ })+
                    }
                }

                impl FieldName for $name {
                    const BLOCK: BlockName = BlockName::$name;

                    fn row(self) -> &'static FieldSpec {
                        self.spec()
                    }
                }
            )+
        }
    };
}

mod table;

impl BlockName {
    /// What the block defines under its name; none for blocks that define nothing, or more than a name.
    pub const fn defines(self) -> Option<ThingKind> {
        match self {
            Self::Stock => Some(ThingKind::Stock),
            Self::Magnet => Some(ThingKind::Magnet),
            Self::Washer => Some(ThingKind::Washer),
            Self::Rivet => Some(ThingKind::Rivet),
            Self::Pin => Some(ThingKind::Pin),
            Self::Adhesive => Some(ThingKind::Adhesive),
            Self::Finish => Some(ThingKind::Finish),
            Self::Friction => Some(ThingKind::Friction),
            Self::Spreads => Some(ThingKind::Spreads),
            Self::Printer => Some(ThingKind::Printer),
            Self::Drawing => Some(ThingKind::Drawing),
            Self::Rates => Some(ThingKind::Rates),
            Self::Client => Some(ThingKind::Client),
            Self::Maker => Some(ThingKind::Maker),
            Self::Seek => Some(ThingKind::Seek),
            Self::Ring | Self::Turn | Self::Run | Self::Layer => None,
        }
    }

    /// The blocks of the shop: a word, a name, and fields.
    pub fn of_shop() -> impl Iterator<Item = Self> + Clone {
        Self::ALL.iter().copied().filter(|block| block.defines().is_some())
    }
}

/// The block of this word.
pub fn block_named(word: &str) -> Option<&'static BlockSpec> {
    BlockName::of_word(word).map(BlockName::spec)
}
