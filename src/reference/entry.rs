//! One entry of the reference.

use super::example::{self, Example};
use crate::diagnostics::Finding;
use crate::units::Unit;
use crate::vocabulary::blocks::{BlockSpec, FieldSpec};
use crate::vocabulary::choices::Choice;
use crate::vocabulary::functions::{Function, Parameter};

/// What a word is where it stands.
#[derive(Clone, Copy, Debug)]
pub enum Role {
    /// Begins an item of a file.
    Item,
    /// Begins an item of a layer.
    Layer,
    /// Begins a line of the stack.
    Stack,
    /// Begins a line of a family.
    Family,
    /// Stands inside an item.
    Inside,
    /// Is done to a face.
    Work,
    /// Follows what a mark is made of.
    Tail,
    /// Places what stands before it.
    Placing,
    /// Combines two regions.
    Combining,
    /// Stands between two values.
    Between,
    /// Begins a value.
    Leading,
    /// Begins a block with fields.
    Block(&'static BlockSpec),
    /// A field of a block.
    Field(&'static BlockSpec, &'static FieldSpec),
    /// A word that a field may hold.
    FieldChoice(&'static BlockSpec, &'static FieldSpec, &'static Choice),
    /// A function.
    Function(&'static Function),
    /// An argument of a function.
    Argument(&'static Function, &'static Parameter),
    /// A word that an argument may hold, in quotes.
    ArgumentChoice(&'static Function, &'static Parameter, &'static Choice),
    /// What `expect` measures.
    Measure(&'static Function),
    /// What `family` compares variants by.
    Figure,
    /// A type of value.
    Type,
    /// A unit of numbers.
    Unit(Unit),
}

impl Role {
    /// What the word is, to follow "is": "a field of `stock`".
    pub fn described(&self) -> String {
        match self {
            Self::Item => "an item of a file".to_owned(),
            Self::Layer => "an item of a layer".to_owned(),
            Self::Stack => "a line of the stack".to_owned(),
            Self::Family => "a line of a family".to_owned(),
            Self::Inside => "a word inside an item".to_owned(),
            Self::Work => "a work, done to a face of a layer".to_owned(),
            Self::Tail => "a word after what is worked on".to_owned(),
            Self::Placing => "a placing word".to_owned(),
            Self::Combining => "a combining word".to_owned(),
            Self::Between => "a word between values".to_owned(),
            Self::Leading => "a word that begins a value".to_owned(),
            Self::Block(_) => "a block".to_owned(),
            Self::Field(block, _) => format!("a field of `{}`", block.word),
            Self::FieldChoice(block, field, _) => format!("a word for `{}` of `{}`", field.word, block.word),
            Self::Function(_) => "a function".to_owned(),
            Self::Argument(function, _) => format!("an argument of `{}`", function.word),
            Self::ArgumentChoice(function, parameter, _) => {
                format!("a word for `{}` of `{}`", parameter.word, function.word)
            }
            Self::Measure(_) => "a measure, for `expect`".to_owned(),
            Self::Figure => "a figure, for `family`".to_owned(),
            Self::Type => "a type".to_owned(),
            Self::Unit(_) => "a unit".to_owned(),
        }
    }

    /// A word for the role, as addresses on a page use it.
    pub const fn key(&self) -> &'static str {
        match self {
            Self::Item => "item",
            Self::Layer => "layer",
            Self::Stack => "stack",
            Self::Family => "family",
            Self::Inside => "inside",
            Self::Work => "work",
            Self::Tail => "tail",
            Self::Placing => "placing",
            Self::Combining => "combining",
            Self::Between => "between",
            Self::Leading => "leading",
            Self::Block(_) => "block",
            Self::Field(..) => "field",
            Self::FieldChoice(..) | Self::ArgumentChoice(..) => "choice",
            Self::Function(_) => "function",
            Self::Argument(..) => "argument",
            Self::Measure(_) => "measure",
            Self::Figure => "figure",
            Self::Type => "type",
            Self::Unit(_) => "unit",
        }
    }

    /// What anything of this kind may be told, whatever its word.
    fn findings(&self) -> &'static [Finding] {
        match self {
            Self::Block(_) => &[
                Finding::MissingField,
                Finding::UnknownField,
                Finding::FieldTwice,
                Finding::FieldForm,
                Finding::WrongKind,
                Finding::MissingUnit,
            ],
            Self::Field(..) => &[Finding::FieldTwice, Finding::FieldForm, Finding::WrongKind],
            Self::FieldChoice(..) | Self::ArgumentChoice(..) => &[Finding::UnknownWord],
            Self::Function(function) if function.parameters.is_empty() => &[],
            Self::Function(_) | Self::Argument(..) => &[
                Finding::MissingArgument,
                Finding::UnknownArgument,
                Finding::ArgumentTwice,
                Finding::StrayArgument,
                Finding::WrongKind,
                Finding::MissingUnit,
            ],
            Self::Measure(_) => &[Finding::NotAsExpected, Finding::CannotMeasure, Finding::MeasureOutsideExpect],
            Self::Type => &[Finding::WrongKind, Finding::UnknownKind],
            Self::Unit(_) => &[Finding::UnknownUnit, Finding::UnitMismatch],
            Self::Work => &[Finding::WrongKind],
            Self::Tail => &[Finding::TailOutOfPlace],
            Self::Placing | Self::Combining => &[Finding::WrongKind, Finding::OutOfBounds],
            Self::Item
            | Self::Layer
            | Self::Stack
            | Self::Family
            | Self::Inside
            | Self::Between
            | Self::Leading
            | Self::Figure => &[],
        }
    }
}

/// One line of the table of an entry: a field or an argument.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The field or argument.
    pub word: &'static str,
    /// What it holds, in words.
    pub holds: String,
    /// The unit that its values are shown in; nothing without one.
    pub unit: String,
    /// What is taken where it is not written, in words.
    pub default: String,
    /// What it is.
    pub doc: &'static str,
}

/// What one word means in one of its roles.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The word.
    pub word: &'static str,
    /// What it is.
    pub role: Role,
    /// What it is or does, to follow a colon.
    pub doc: &'static str,
    /// How it is written.
    pub usage: String,
    /// Its page in Markdown, with a title; none for what the page of something else tells.
    pub page: Option<&'static str>,
    /// Its fields or arguments.
    pub rows: Vec<Row>,
}

impl Entry {
    /// The page without its title; nothing without a page.
    pub fn body(&self) -> &'static str {
        self.page.and_then(|page| page.split_once("\n\n")).map_or("", |(_, body)| body.trim_end())
    }

    /// What the page says before its first example.
    pub fn prose(&self) -> &'static str {
        self.body().split_once("```").map_or(self.body(), |(before, _)| before).trim_end()
    }

    /// An example that compiles; none for figures, which are asked for on the command line.
    pub fn example(&self) -> Option<Example> {
        match self.role {
            Role::Field(block, field) => example::of_field(block, field.usage),
            Role::FieldChoice(block, field, choice) => {
                example::of_field(block, &format!("{} {}", field.word, choice.word))
            }
            Role::Argument(function, _) => super::function(function.word)?.example(),
            Role::ArgumentChoice(function, parameter, choice) => example::of_argument(function, parameter, choice),
            Role::Unit(unit) => Some(example::of_unit(unit)),
            _ => Example::in_page(self.page?),
        }
    }

    /// The findings that the page names, and those that anything of its kind may have.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all: Vec<Finding> = self.prose().split('`').skip(1).step_by(2).filter_map(Finding::named).collect();
        all.extend_from_slice(self.role.findings());
        let mut seen = Vec::new();
        all.retain(|finding| {
            let is_new = !seen.contains(finding);
            seen.push(*finding);
            is_new
        });
        all
    }
}
