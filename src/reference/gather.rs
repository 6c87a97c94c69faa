//! Entries from the tables.

use std::sync::LazyLock;

use super::entry::{Entry, Role, Row};
use super::topics::Topic;
use crate::diagnostics::{Finding, suggest};
use crate::units::{Dimension, UNITS};
use crate::vocabulary::blocks::{BlockName, BlockSpec, FieldSpec, Holds};
use crate::vocabulary::choices::Choice;
use crate::vocabulary::figures::FigureName;
use crate::vocabulary::functions::{Callee, FUNCTIONS, Function, Parameter, Takes};
use crate::vocabulary::items::{FamilyWord, InnerWord, ItemWord, LayerWord, StackWord};
use crate::vocabulary::placings::{Between, Combining, Leading, Placing};
use crate::vocabulary::tails::TailKind;
use crate::vocabulary::types::{Type, TypeWord};
use crate::vocabulary::works::Work;
use crate::vocabulary::{DefaultValue, Place, Word};

/// Every entry: words of the grammar first, then blocks with their fields, functions with their arguments, measures,
/// figures, types and units.
pub static ENTRIES: LazyLock<Vec<Entry>> = LazyLock::new(|| {
    let mut all = words();
    all.extend(BlockName::ALL.iter().flat_map(|name| of_block(*name)));
    all.extend(FUNCTIONS.iter().copied().flat_map(of_function));
    all.extend(FigureName::ALL.iter().map(|name| {
        let spec = name.spec();
        plain(spec.word, Role::Figure, spec.doc, spec.usage, name.page())
    }));
    all.extend(TypeWord::ALL.iter().map(|word| {
        let spec = word.spec();
        plain(spec.word, Role::Type, spec.doc, spec.usage, word.page())
    }));
    all.extend(UNITS.iter().map(|unit| {
        let doc = unit_doc(unit.dimension);
        Entry { page: None, ..plain(unit.name, Role::Unit(*unit), doc, &format!("3{}", unit.name), "") }
    }));
    all
});

/// The entries of a word, in all of its roles.
pub fn of_word(word: &str) -> Vec<&'static Entry> {
    ENTRIES.iter().filter(|entry| entry.word == word).collect()
}

/// The entry of a word in the role for which this holds.
pub fn with_role(word: &str, role: impl Fn(&Role) -> bool) -> Option<&'static Entry> {
    ENTRIES.iter().find(|entry| entry.word == word && role(&entry.role))
}

/// The entry of a function or measure.
pub fn function(word: &str) -> Option<&'static Entry> {
    with_role(word, |role| matches!(role, Role::Function(_) | Role::Measure(_)))
}

/// The entry of a word of the grammar, or of one that begins a block, in its first role.
pub fn keyword(word: &str) -> Option<&'static Entry> {
    with_role(word, |role| place_of(role).is_some())
}

/// The same, in the role in which it stands at this place.
pub fn keyword_at(word: &str, place: Place) -> Option<&'static Entry> {
    with_role(word, |role| place_of(role) == Some(place))
}

fn place_of(role: &Role) -> Option<Place> {
    match role {
        Role::Item | Role::Block(_) => Some(Place::Item),
        Role::Layer | Role::Work => Some(Place::Layer),
        Role::Stack => Some(Place::Stack),
        Role::Family => Some(Place::Family),
        Role::Placing | Role::Combining | Role::Between => Some(Place::After),
        Role::Tail => Some(Place::Tail),
        Role::Leading => Some(Place::Value),
        Role::Inside => Some(Place::Inside),
        _ => None,
    }
}

/// What `explain` answers: the page of a finding or topic, else all entries of a word.
///
/// # Errors
/// The nearest name among all of them, where nothing has this one.
pub fn explained(name: &str) -> Result<String, Option<&'static str>> {
    let entries = of_word(name);
    let finding = Finding::named(name).map(|finding| finding.page().to_owned());
    let topic = Topic::ALL.iter().find(|topic| topic.name() == name).map(|topic| topic.page().to_owned());
    let pages: Vec<String> = finding.into_iter().chain(topic).chain(super::text::of_entries(&entries)).collect();
    if pages.is_empty() {
        let findings = Finding::ALL.iter().map(|finding| finding.name());
        let topics = Topic::ALL.iter().map(|topic| topic.name());
        let words = ENTRIES.iter().map(|entry| entry.word);
        return Err(suggest::nearest(name, findings.chain(topics).chain(words)));
    }
    Ok(pages.join("\n"))
}

fn plain(word: &'static str, role: Role, doc: &'static str, usage: &str, page: &'static str) -> Entry {
    Entry { word, role, doc, usage: usage.to_owned(), page: Some(page), rows: Vec::new() }
}

fn words() -> Vec<Entry> {
    let one = |role: Role, spec: &'static Word, page: &'static str| plain(spec.word, role, spec.doc, spec.usage, page);
    let mut all = Vec::new();
    all.extend(ItemWord::ALL.iter().map(|word| one(Role::Item, word.spec(), word.page())));
    all.extend(LayerWord::ALL.iter().map(|word| one(Role::Layer, word.spec(), word.page())));
    all.extend(Work::ALL.iter().map(|word| one(Role::Work, word.spec(), word.page())));
    all.extend(TailKind::ALL.iter().map(|word| one(Role::Tail, word.spec(), word.page())));
    all.extend(StackWord::ALL.iter().map(|word| one(Role::Stack, word.spec(), word.page())));
    all.extend(FamilyWord::ALL.iter().map(|word| one(Role::Family, word.spec(), word.page())));
    all.extend(Placing::ALL.iter().map(|word| one(Role::Placing, word.spec(), word.page())));
    all.extend(Combining::ALL.iter().map(|word| one(Role::Combining, word.spec(), word.page())));
    all.extend(Between::ALL.iter().map(|word| one(Role::Between, word.spec(), word.page())));
    all.extend(Leading::ALL.iter().map(|word| one(Role::Leading, word.spec(), word.page())));
    all.extend(InnerWord::ALL.iter().map(|word| one(Role::Inside, word.spec(), word.page())));
    all
}

fn of_block(name: BlockName) -> Vec<Entry> {
    let block = name.spec();
    let rows: Vec<Row> = block.fields.iter().map(|field| field_row(field)).collect();
    let mut all = vec![Entry { rows, ..plain(block.word, Role::Block(block), block.doc, block.usage, name.page()) }];
    for field in block.fields.iter().copied() {
        all.push(Entry {
            page: None,
            rows: vec![field_row(field)],
            ..plain(field.word, Role::Field(block, field), field.doc, field.usage, "")
        });
        all.extend(choices_of(&field.holds).iter().copied().map(|choice| of_choice(block, field, choice)));
    }
    all
}

fn of_choice(block: &'static BlockSpec, field: &'static FieldSpec, choice: &'static Choice) -> Entry {
    let usage = format!("{} {}", field.word, choice.word);
    let role = Role::FieldChoice(block, field, choice);
    Entry { page: None, ..plain(choice.word, role, choice.doc, &usage, "") }
}

fn choices_of(holds: &Holds) -> &'static [&'static Choice] {
    match holds {
        Holds::Word(choices) | Holds::EachWord(choices) | Holds::WordOr(choices, _) => choices,
        _ => &[],
    }
}

fn of_function(function: &'static Function) -> Vec<Entry> {
    let (role, page) = match function.callee {
        Callee::Function(name) => (Role::Function(function), name.page()),
        Callee::Measure(name) => (Role::Measure(function), name.page()),
    };
    let rows: Vec<Row> = function.parameters.iter().map(|parameter| argument_row(function, parameter)).collect();
    let mut all = vec![Entry { rows, ..plain(function.word, role, function.doc, function.usage, page) }];
    if function.is_measure() {
        return all;
    }
    for parameter in function.parameters.iter().copied() {
        let row = argument_row(function, parameter);
        let role = Role::Argument(function, parameter);
        all.push(Entry {
            page: None,
            rows: vec![row],
            ..plain(parameter.word, role, parameter.doc, function.usage, "")
        });
        all.extend(quoted(parameter).iter().copied().map(|choice| {
            let role = Role::ArgumentChoice(function, parameter, choice);
            let usage = format!("{}: \"{}\"", parameter.word, choice.word);
            Entry { page: None, ..plain(choice.word, role, choice.doc, &usage, "") }
        }));
    }
    all
}

/// The table's line of a field.
pub(super) fn field_row(field: &'static FieldSpec) -> Row {
    let words = || field.holds.words().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
    let (holds, dimension) = match &field.holds {
        Holds::Type(of) => (of.described(), of.dimension()),
        Holds::List(of) => (Type::list(of.clone()).described(), of.dimension()),
        Holds::Readings => ("a length, or a list of readings".to_owned(), Some(Dimension::LENGTH)),
        Holds::PassDepths => ("a list of lengths, or of readings".to_owned(), Some(Dimension::LENGTH)),
        Holds::OneOrList(of) => (format!("{}, or a list of them", of.described()), of.dimension()),
        Holds::Each(of) => (format!("{}, or one for each label", of.described()), of.dimension()),
        Holds::Word(_) => (words(), None),
        Holds::EachWord(_) => (format!("{}, or one for each label", words()), None),
        Holds::WordOr(_, of) => (format!("{}, or {}", of.described(), words()), of.dimension()),
        Holds::Size => ("two lengths, `A by B`".to_owned(), Some(Dimension::LENGTH)),
        Holds::Span => ("two lengths, `A to B`".to_owned(), Some(Dimension::LENGTH)),
        Holds::Stops => ("a number, or a list of bearings".to_owned(), None),
        Holds::Flag => ("true or false".to_owned(), None),
        Holds::Params => ("a param with bounds, or a list of them".to_owned(), None),
        Holds::Sought => ("a number, with any unit, in which measures and figures may stand".to_owned(), None),
        Holds::Kept => ("a condition as in `expect`, or a list of them".to_owned(), None),
        Holds::Steps => ("a number, with any unit, or a list of them".to_owned(), None),
    };
    Row {
        word: field.word,
        holds,
        unit: unit_of(dimension),
        default: default_words(field.default, &[]),
        doc: field.doc,
    }
}

/// The table's line of an argument.
pub(super) fn argument_row(function: &'static Function, parameter: &'static Parameter) -> Row {
    let (holds, dimension) = match &parameter.takes {
        Takes::Type(of) => (of.described(), of.dimension()),
        Takes::OneOrList(of) => {
            (format!("{}, or {}", of.described(), Type::list(of.clone()).described()), of.dimension())
        }
        Takes::Quantity => ("a number, with any unit".to_owned(), None),
        Takes::Word(choices) => {
            let words: Vec<String> = choices.iter().map(|choice| format!("`\"{}\"`", choice.word)).collect();
            (words.join(", "), None)
        }
    };
    let others: Vec<&str> = function.one_of.iter().copied().filter(|other| *other != parameter.word).collect();
    let default = default_words(parameter.default, &others);
    Row { word: parameter.word, holds, unit: unit_of(dimension), default, doc: parameter.doc }
}

/// The words that an argument may hold, in quotes.
fn quoted(parameter: &Parameter) -> &'static [&'static Choice] {
    match parameter.takes {
        Takes::Word(choices) => choices,
        Takes::Type(_) | Takes::OneOrList(_) | Takes::Quantity => &[],
    }
}

fn default_words(default: DefaultValue, others: &[&str]) -> String {
    match default {
        DefaultValue::Required => "must be given".to_owned(),
        DefaultValue::OneOfGroup => format!("this, or `{}`", others.join("` or `")),
        DefaultValue::Described(words) => words.to_owned(),
        DefaultValue::DescribedOr(..) => default.to_string(),
        fixed => format!("`{fixed}`"),
    }
}

/// The unit that values of a dimension are shown in.
fn unit_of(dimension: Option<Dimension>) -> String {
    dimension.map_or_else(String::new, Dimension::unit)
}

fn unit_doc(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::LENGTH => "a unit of length",
        Dimension::ANGLE => "a unit of angle",
        Dimension::FORCE => "a unit of force",
        Dimension::TORQUE => "a unit of torque",
        Dimension::PRESSURE => "a unit of pressure, for the strength of glue",
        Dimension::FLUX_DENSITY => "a unit of flux density, for magnets",
        Dimension::MASS => "a unit of mass",
        Dimension::TIME => "a unit of time",
        _ => "a share of one: `60%` is 0.6",
    }
}
