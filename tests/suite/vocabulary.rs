//! The tables of the language against its grammar: no word without a row, no row without a word, and everything that a row
//! shows can be read.

use std::collections::BTreeSet;

use dialwright::source::Sources;
use dialwright::syntax::parse;
use dialwright::vocabulary::blocks::{BlockName, BlockSpec, Holds};
use dialwright::vocabulary::choices::{AlignWord, FacingWord, PoleWord, RunsWord, StainedWord, ThroughWord};
use dialwright::vocabulary::figures::FigureName;
use dialwright::vocabulary::functions::{FUNCTIONS, Takes};
use dialwright::vocabulary::types::{Type, TypeWord};
use dialwright::vocabulary::{DefaultValue, Place, keywords};

use crate::textmate::pest;

#[test]
fn words_of_the_grammar_and_rows_are_the_same() {
    let (own, reserved) = pest();
    let grammar = &own | &reserved;
    let of_shop: BTreeSet<String> = BlockName::of_shop().map(|block| block.word().to_owned()).collect();
    let rows: BTreeSet<String> = keywords().map(|word| word.word.to_owned()).collect();
    let missing: Vec<&String> = grammar.difference(&rows).collect();
    assert!(missing.is_empty(), "words of grammar/dial.pest without a row in src/vocabulary: {missing:?}");
    let stale: Vec<String> = (&rows - &grammar).difference(&of_shop).cloned().collect();
    assert!(stale.is_empty(), "rows in src/vocabulary for words that grammar/dial.pest does not know: {stale:?}");
}

/// What is wrong with a text that is read by itself.
fn faults(text: &str) -> Vec<String> {
    let mut sources = Sources::default();
    let id = sources.add("usage.dial", text);
    parse(&sources, id).problems.iter().map(|found| format!("{:?}: {}", found.finding, found.message)).collect()
}

fn in_layer(text: &str) -> String {
    format!("layer some of birch {{\n{text}\n}}\n")
}

fn in_stack(text: &str) -> String {
    format!("stack {{\n{text}\n}}\n")
}

fn in_family(text: &str) -> String {
    format!("family {{\n{text}\n}}\n")
}

fn as_value(text: &str) -> String {
    format!("let some = {text}\n")
}

fn as_field(text: &str) -> String {
    format!("stock some {{\n{text}\n}}\n")
}

/// Looks that a text can be read, and that it shows the word that it is there for.
fn assert_read(word: &str, usage: &str, text: &str) {
    assert_eq!(faults(text), Vec::<String>::new(), "{word}: {text}");
    let words: Vec<&str> = usage.split(|letter: char| !letter.is_alphanumeric() && letter != '_').collect();
    assert!(words.contains(&word), "{word} does not stand in {usage:?}");
}

#[test]
fn every_word_is_shown_as_it_can_be_written() {
    for word in keywords() {
        let usage = word.usage;
        let text = match word.place {
            Place::Item => format!("{usage}\n"),
            Place::Layer | Place::Tail => in_layer(usage),
            Place::Stack => in_stack(usage),
            Place::Family => in_family(usage),
            Place::After | Place::Value => as_value(usage),
            Place::Inside => {
                let tries = [format!("{usage}\n"), in_layer(usage), in_family(usage)];
                tries.into_iter().find(|text| faults(text).is_empty()).unwrap_or_else(|| usage.to_owned())
            }
        };
        assert_read(word.word, usage, &text);
    }
}

fn blocks() -> impl Iterator<Item = &'static BlockSpec> {
    BlockName::ALL.iter().map(|block| block.spec())
}

#[test]
fn every_block_and_field_is_shown_as_it_can_be_written() {
    for block in blocks() {
        let text = match block.name {
            BlockName::Ring => in_layer(block.usage),
            BlockName::Turn => in_stack(block.usage),
            _ => format!("{}\n", block.usage),
        };
        assert_read(block.word, block.usage, &text);
        for field in block.fields {
            assert_read(field.word, field.usage, &as_field(field.usage));
        }
    }
}

#[test]
fn every_function_and_type_is_shown_as_it_can_be_written() {
    for function in FUNCTIONS.iter() {
        assert_read(function.word, function.usage, &as_value(function.usage));
    }
    for word in TypeWord::ALL {
        assert_read(word.word(), word.spec().usage, &format!("{}\n", word.spec().usage));
    }
    for figure in FigureName::ALL {
        assert_read(figure.word(), figure.spec().usage, &as_value(figure.spec().usage));
    }
}

/// A default that is a value, as it would be written.
fn written(default: DefaultValue) -> Option<String> {
    match default {
        DefaultValue::Required | DefaultValue::OneOfGroup | DefaultValue::Described(_) => None,
        DefaultValue::DescribedOr(_, length) => Some(length.to_string()),
        fixed => Some(fixed.to_string()),
    }
}

#[test]
fn every_default_that_is_a_value_can_be_written() {
    let mut seen = 0;
    for block in blocks() {
        for field in block.fields {
            let Some(value) = written(field.default) else { continue };
            let text = format!("{} {value}", field.word);
            assert_read(field.word, &text, &as_field(&text));
            seen += 1;
        }
    }
    for function in FUNCTIONS.iter() {
        for parameter in function.parameters {
            let Some(value) = written(parameter.default) else { continue };
            let quoted = matches!(parameter.takes, Takes::Word(_));
            let value = if quoted { format!("\"{value}\"") } else { value };
            assert_read(parameter.word, parameter.word, &as_value(&format!("some({}: {value})", parameter.word)));
            seen += 1;
        }
    }
    assert!(seen > 30, "{seen} defaults");
}

/// The type of a default that is a value; none for words, sizes and what is told.
fn type_of(default: DefaultValue) -> Option<Type> {
    match default {
        DefaultValue::Length(_) | DefaultValue::DescribedOr(..) => Some(Type::LENGTH),
        DefaultValue::Angle(_) => Some(Type::ANGLE),
        DefaultValue::Number(_) | DefaultValue::Ratio(_) => Some(Type::NUMBER),
        DefaultValue::Colour(_) => Some(Type::Colour),
        DefaultValue::Truth(_) => Some(Type::Truth),
        DefaultValue::Required | DefaultValue::OneOfGroup => None,
        DefaultValue::Size(..) | DefaultValue::Word(_) | DefaultValue::Described(_) => None,
    }
}

/// The assembler reads a default in the type of its field; another one would silently be none.
#[test]
fn every_default_is_of_the_type_that_is_held() {
    for block in blocks() {
        for field in block.fields {
            let held = match &field.holds {
                Holds::Type(held) | Holds::Each(held) | Holds::WordOr(_, held) => Some(held.clone()),
                Holds::Readings => Some(Type::LENGTH),
                Holds::Flag => Some(Type::Truth),
                _ => None,
            };
            match field.default {
                DefaultValue::Word(word) => assert!(field.holds.words().any(|known| known == word), "{}", field.word),
                DefaultValue::Size(..) => assert!(matches!(field.holds, Holds::Size), "{}", field.word),
                default => assert!(type_of(default).is_none_or(|it| Some(it) == held), "{}", field.word),
            }
        }
    }
    for function in FUNCTIONS.iter() {
        for parameter in function.parameters {
            match (parameter.default, &parameter.takes) {
                (DefaultValue::Word(word), Takes::Word(choices)) => {
                    assert!(choices.iter().any(|choice| choice.word == word), "{}", parameter.word);
                }
                (default, takes) => {
                    assert!(type_of(default).is_none_or(|it| Some(it) == takes.wanted()), "{}", parameter.word);
                }
            }
        }
    }
}

/// What a row says follows a colon: it begins small and ends without a full stop.
fn assert_said(word: &str, doc: &str) {
    assert!(!doc.is_empty(), "{word} has no words");
    assert!(!doc.starts_with(char::is_uppercase), "{word}: {doc:?} begins with a capital");
    assert!(!doc.ends_with('.'), "{word}: {doc:?} ends with a full stop");
}

#[test]
fn every_row_says_what_it_is() {
    keywords().for_each(|word| assert_said(word.word, word.doc));
    for block in blocks() {
        assert_said(block.word, block.doc);
        block.fields.iter().for_each(|field| assert_said(field.word, field.doc));
    }
    for function in FUNCTIONS.iter() {
        assert_said(function.word, function.doc);
        function.parameters.iter().for_each(|parameter| assert_said(parameter.word, parameter.doc));
    }
    TypeWord::ROWS.iter().for_each(|row| assert_said(row.word, row.doc));
    FigureName::ROWS.iter().for_each(|row| assert_said(row.word, row.doc));
    let choices =
        [FacingWord::ROWS, AlignWord::ROWS, PoleWord::ROWS, RunsWord::ROWS, StainedWord::ROWS, ThroughWord::ROWS]
            .concat();
    choices.iter().for_each(|row| assert_said(row.word, row.doc));
}

#[test]
fn no_word_has_two_rows_in_one_role() {
    let twice = |what: &str, words: Vec<&str>| {
        let mut seen = BTreeSet::new();
        words.into_iter().for_each(|word| assert!(seen.insert(word), "{word} has two rows among {what}"));
    };
    for place in [Place::Item, Place::Layer, Place::Stack, Place::Family, Place::After, Place::Tail, Place::Inside] {
        twice(&format!("{place:?}"), keywords().filter(|word| word.place == place).map(|word| word.word).collect());
    }
    twice("the functions", FUNCTIONS.iter().map(|function| function.word).collect());
    for block in blocks() {
        twice(block.word, block.fields.iter().map(|field| field.word).collect());
    }
    for function in FUNCTIONS.iter() {
        twice(function.word, function.parameters.iter().map(|parameter| parameter.word).collect());
    }
}
