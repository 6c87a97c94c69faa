//! The language, word by word: one table a file, and in it one row for each word in each of its roles.
//!
//! Checker, evaluator, recovery, editor and colouring all read these tables and hold no lists of their own. From each table
//! a macro makes an enum, so that a `match` over its words is exhaustive: a row that nobody serves does not compile, and
//! neither does a field or argument that is read by a misspelt name.
//!
//! | table | enum | row | what it lists |
//! | --- | --- | --- | --- |
//! | [`items`] | [`items::ItemWord`], [`items::LayerWord`], [`items::StackWord`], [`items::FamilyWord`], [`items::InnerWord`] | [`Word`] | what begins an item of a place, and the words inside items |
//! | [`works`] | [`works::Work`] | [`Word`] | what is done to a face |
//! | [`tails`] | [`tails::TailKind`] | [`Word`] | what may follow a mark |
//! | [`placings`] | [`placings::Placing`], [`placings::Combining`], [`placings::Between`], [`placings::Leading`] | [`Word`] | words after, between and before values |
//! | [`blocks`] | [`blocks::BlockName`], and in [`blocks::fields`] one enum a block | [`blocks::BlockSpec`], [`blocks::FieldSpec`] | blocks and their fields |
//! | [`choices`] | one enum a list | [`choices::Choice`] | the words that a field or argument may hold |
//! | [`functions`] | [`functions::FunctionName`], and in [`functions::arguments`] one enum a function | [`functions::Function`], [`functions::Parameter`] | functions and their arguments |
//! | [`measures`] | [`measures::MeasureName`] | [`measures::Measure`] | what `expect` can measure |
//! | [`figures`] | [`figures::FigureName`] | [`figures::FigureSpec`] | what `family` compares variants by |
//! | [`types`] | [`types::TypeWord`] | [`types::TypeSpec`] | types of value, and the words for them |
//! | [`usual`] | none | constants | defaults that other rooms take as well |
//! | [`foreign`] | none | pairs | words of other languages, and ours for them |
//!
//! Every row has a `word`, a `doc` (what it is or does: one sentence that can follow a colon, without capital and full
//! stop) and a `usage` (how it is written: a line, field or expression that can be read). Fields and arguments have a
//! [`DefaultValue`] as well: where it is a fixed value, the code that takes it reads it from the row.
//!
//! The room knows units and nothing else of the crate.

/// An enum of words with a row for each: `enum NAME of ROW { Variant = "word" { field: value, … } … }`. A row lists
/// all fields of its type but `word`.
macro_rules! table {
    (
        $(#[$about:meta])*
        enum $name:ident of $row:ident with pages $folder:literal {
            $($variant:ident = $word:literal { $($field:ident: $value:expr),+ $(,)? })+
        }
    ) => {
        table! {
            $(#[$about])*
            enum $name of $row { $($variant = $word { $($field: $value,)+ })+ }
        }

        impl $name {
            /// Its page in the reference, in Markdown.
            pub const fn page(self) -> &'static str {
                match self {
                    $(Self::$variant => include_str!(concat!("pages/", $folder, "/", $word, ".md")),)+
                }
            }
        }
    };
    (
        $(#[$about:meta])*
        enum $name:ident of $row:ident {
            $($variant:ident = $word:literal { $($field:ident: $value:expr),+ $(,)? })+
        }
    ) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $(#[doc = concat!("`", $word, "`")] $variant,)+
        }

        impl $name {
            /// All of them, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// Their rows.
            pub const ROWS: &'static [&'static $row] = &[$(Self::$variant.spec(),)+];

            /// The word, as it is written.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }

            /// The one that a word stands for.
            pub fn of_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|known| known.word() == word)
            }

            /// Its row.
            pub const fn spec(self) -> &'static $row {
                match self {
                    $(Self::$variant => {
                        static ROW: $row = $row { word: $word, $($field: $value,)+ };
                        &ROW
                    })+
                }
            }
        }
    };
}

pub mod blocks;
pub mod choices;
pub mod figures;
pub mod foreign;
pub mod functions;
pub mod items;
pub mod measures;
pub mod placings;
pub mod tails;
pub mod types;
pub mod usual;
pub mod works;

use std::fmt;

use crate::units::{Angle, Length, Quantity, plain};
use blocks::BlockName;
use items::{FamilyWord, InnerWord, ItemWord, LayerWord, StackWord};
use placings::{Between, Combining, Leading, Placing};
use tails::TailKind;
use types::Type;
use works::Work;

/// A word that the grammar itself knows.
#[derive(Debug)]
pub struct Word {
    /// The word.
    pub word: &'static str,
    /// What it is or does.
    pub doc: &'static str,
    /// How it is written: a line, or for words inside a value an expression.
    pub usage: &'static str,
    /// The same for an editor to fill in: `$1` and `${1:…}` stand for what is still open (Language Server Protocol).
    pub snippet: &'static str,
    /// The type of value that follows it, where that is always the same.
    pub takes: Option<Type>,
}

/// What is taken where a field or argument is not written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DefaultValue {
    /// It must be written.
    Required,
    /// Exactly one of its group must be written.
    OneOfGroup,
    /// This length.
    Length(Length),
    /// These two lengths, `A by B`.
    Size(Length, Length),
    /// This angle.
    Angle(Angle),
    /// This number.
    Number(f64),
    /// This number, as a share of something.
    Ratio(f64),
    /// This colour, sRGB.
    Colour([u8; 3]),
    /// This word.
    Word(&'static str),
    /// True or false.
    Truth(bool),
    /// What is worked out from the rest of the dial, or what its absence means, in words.
    Described(&'static str),
    /// What is worked out where it can be, in words, and this length where it cannot.
    DescribedOr(&'static str, Length),
}

impl DefaultValue {
    /// Whether it must be written, alone or as one of a group.
    pub const fn is_required(self) -> bool {
        matches!(self, Self::Required)
    }

    /// The length, where there is one.
    pub const fn length(self) -> Option<Length> {
        match self {
            Self::Length(length) | Self::DescribedOr(_, length) => Some(length),
            _ => None,
        }
    }

    /// Both lengths of a size.
    pub const fn size(self) -> Option<(Length, Length)> {
        match self {
            Self::Size(one, other) => Some((one, other)),
            _ => None,
        }
    }

    /// The angle, where it is one.
    pub const fn angle(self) -> Option<Angle> {
        match self {
            Self::Angle(angle) => Some(angle),
            _ => None,
        }
    }

    /// The number, where it is one.
    pub const fn number(self) -> Option<f64> {
        match self {
            Self::Number(number) | Self::Ratio(number) => Some(number),
            _ => None,
        }
    }

    /// The colour, where it is one.
    pub const fn colour(self) -> Option<[u8; 3]> {
        match self {
            Self::Colour(colour) => Some(colour),
            _ => None,
        }
    }

    /// Whether it is true, where it is true or false.
    pub const fn truth(self) -> Option<bool> {
        match self {
            Self::Truth(truth) => Some(truth),
            _ => None,
        }
    }
}

/// As people would write or say it; nothing where it must be written.
impl fmt::Display for DefaultValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Required | Self::OneOfGroup => Ok(()),
            Self::Length(length) => length.fmt(f),
            Self::Size(one, other) => write!(f, "{one} by {other}"),
            Self::Angle(angle) => angle.fmt(f),
            Self::Number(number) => Quantity::number(*number).fmt(f),
            Self::Ratio(ratio) => write!(f, "{}%", plain(100.0 * ratio, 3)),
            Self::Colour([r, g, b]) => write!(f, "#{r:02x}{g:02x}{b:02x}"),
            Self::Word(word) => word.fmt(f),
            Self::Truth(truth) => truth.fmt(f),
            Self::Described(words) => words.fmt(f),
            Self::DescribedOr(words, length) => write!(f, "{words}, else {length}"),
        }
    }
}

/// Where a word may stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// At the start of an item of a file.
    Item,
    /// At the start of an item of a layer.
    Layer,
    /// At the start of a line of the stack.
    Stack,
    /// At the start of a line of a family.
    Family,
    /// After a value: places it, combines it, or works with it.
    After,
    /// After what a mark is made of.
    Tail,
    /// Where a value begins.
    Value,
    /// Inside an item.
    Inside,
}

/// A word of the grammar, or one that begins a block of the shop, in one of its roles.
#[derive(Clone, Copy, Debug)]
pub struct Keyword {
    /// The word.
    pub word: &'static str,
    /// Where it stands.
    pub place: Place,
    /// What it is or does.
    pub doc: &'static str,
    /// How it is written.
    pub usage: &'static str,
    /// The same for an editor to fill in.
    pub snippet: &'static str,
    /// The type of value that follows it, where that is always the same.
    pub takes: Option<&'static Type>,
}

/// All of them, in the order in which they are offered.
pub fn keywords() -> impl Iterator<Item = Keyword> {
    let of = |place: Place, rows: &'static [&'static Word]| {
        rows.iter().map(move |row| Keyword {
            word: row.word,
            place,
            doc: row.doc,
            usage: row.usage,
            snippet: row.snippet,
            takes: row.takes.as_ref(),
        })
    };
    let blocks = BlockName::of_shop().map(BlockName::spec).map(|block| Keyword {
        word: block.word,
        place: Place::Item,
        doc: block.doc,
        usage: block.usage,
        snippet: block.snippet,
        takes: None,
    });
    of(Place::Item, ItemWord::ROWS)
        .chain(blocks)
        .chain(of(Place::Layer, LayerWord::ROWS))
        .chain(of(Place::Layer, Work::ROWS))
        .chain(of(Place::Stack, StackWord::ROWS))
        .chain(of(Place::Family, FamilyWord::ROWS))
        .chain(of(Place::After, Placing::ROWS))
        .chain(of(Place::After, Combining::ROWS))
        .chain(of(Place::After, Between::ROWS))
        .chain(of(Place::Tail, TailKind::ROWS))
        .chain(of(Place::Value, Leading::ROWS))
        .chain(of(Place::Inside, InnerWord::ROWS))
}

/// The words that stand in a place.
pub fn words_of(place: Place) -> impl Iterator<Item = &'static str> {
    keywords().filter(move |word| word.place == place).map(|word| word.word)
}
