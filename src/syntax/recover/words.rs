//! The words that may stand at a place, from the tables of the language.

use std::sync::LazyLock;

use super::Place;
use crate::vocabulary::blocks::BlockName;
use crate::vocabulary::functions::{Group, function_named};
use crate::vocabulary::items::{FamilyWord, ItemWord, LayerWord, StackWord};
use crate::vocabulary::placings::{Between, Combining, Placing};
use crate::vocabulary::tails::TailKind;
use crate::vocabulary::works::Work;

/// Whether a word is a function that is written with a word and brackets, and that people write without.
pub(super) fn is_called(word: &str) -> bool {
    function_named(word).is_some_and(|known| match known.group {
        Group::Shape | Group::Line | Group::Point | Group::Pivot => true,
        Group::Arithmetic | Group::Words | Group::Measure => false,
    })
}

/// The words that may stand between or after values.
pub(super) fn operator_words() -> impl Iterator<Item = &'static str> {
    let placings = Placing::ALL.iter().map(|placing| placing.written());
    let combinings = Combining::ALL.iter().map(|combining| combining.word());
    let between = Between::OPERATORS.iter().map(|between| between.word());
    placings.chain(combinings).chain(between).chain(TailKind::with_value().map(TailKind::word))
}

/// Whether a word may stand between or after values.
pub(super) fn is_operator(word: &str) -> bool {
    operator_words().any(|known| known == word)
}

/// Words that begin an item of a place.
pub(super) fn item_words(place: Place) -> &'static [&'static str] {
    match place {
        Place::Top => &TOP,
        Place::Layer => &LAYER,
        Place::Stack => &STACK,
        Place::Family => &FAMILY,
        Place::Fields => &FIELDS,
        Place::Wheels | Place::Bindings | Place::Expression => &[],
    }
}

type Words = LazyLock<Vec<&'static str>>;

static TOP: Words = LazyLock::new(|| {
    let items = ItemWord::ALL.iter().map(|item| item.word());
    items.chain(BlockName::of_shop().map(BlockName::word)).collect()
});
static LAYER: Words = LazyLock::new(|| {
    let items = LayerWord::ALL.iter().map(|item| item.word());
    let works = Work::ALL.iter().map(|work| work.word());
    items.chain(works).chain(BlockName::Layer.spec().fields.iter().map(|field| field.word)).collect()
});
static STACK: Words = LazyLock::new(|| StackWord::ALL.iter().map(|item| item.word()).collect());
static FAMILY: Words = LazyLock::new(|| FamilyWord::ALL.iter().map(|item| item.word()).collect());
static FIELDS: Words = LazyLock::new(|| {
    let fields = BlockName::ALL.iter().flat_map(|block| block.spec().fields);
    let mut words: Vec<&'static str> = fields.map(|field| field.word).collect();
    words.sort_unstable();
    words.dedup();
    words
});
