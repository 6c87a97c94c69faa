//! Findings about names, functions, fields and blocks.

use crate::diagnostics::{Diagnostic, Finding, counted, listed, suggest};
use crate::source::Span;
use crate::syntax::tree::Name;
use crate::vocabulary::blocks::{BlockName, BlockSpec, FieldSpec, Holds};
use crate::vocabulary::functions::{Function, FunctionName, Group};
use crate::vocabulary::items::ItemWord;
use crate::vocabulary::types::{ThingKind, TypeWord, article};

/// Adds "did you mean" with a mend, or other help where nothing is near.
fn with_nearest(
    diagnostic: Diagnostic,
    span: Span,
    nearest: Option<&str>,
    otherwise: impl FnOnce() -> String,
) -> Diagnostic {
    match nearest {
        Some(name) => diagnostic.help(format!("did you mean `{name}`?")).mend(span, name),
        None => diagnostic.help(otherwise()),
    }
}

/// Adds "did you mean" for a word that was typed by the user, which may hold letters that only look like those of
/// the nearest name.
fn with_nearest_word(
    diagnostic: Diagnostic,
    word: &Name,
    nearest: Option<&str>,
    otherwise: impl FnOnce() -> String,
) -> Diagnostic {
    match nearest.zip(suggest::look_alike(&word.text)) {
        Some((name, letter)) => {
            diagnostic.help(format!("did you mean `{name}`? {}", another_alphabet(letter))).mend(word.span, name)
        }
        None => with_nearest(diagnostic, word.span, nearest, otherwise),
    }
}

/// Says that a letter only looks like the one that was meant.
pub(super) fn another_alphabet(letter: char) -> String {
    if ('\u{ff01}'..='\u{ff5e}').contains(&letter) {
        return format!("Its letters are full-width ones, such as `{letter}` (U+{:04X})", u32::from(letter));
    }
    format!("The `{letter}` in it is a letter of another alphabet that looks the same (U+{:04X})", u32::from(letter))
}

/// A name that nothing has.
pub fn unknown_name(word: &Name, nearest: Option<&str>, elsewhere: Option<Span>) -> Diagnostic {
    let name = &word.text;
    let diagnostic = Diagnostic::error(Finding::UnknownName, format!("nothing here is called `{name}`"))
        .label(word.span, "not defined");
    if let Some(definition) = elsewhere {
        return diagnostic
            .label(definition, "this one belongs to its layer alone")
            .help(format!("move `let {name} = …` out of the layer, so that the whole dial knows it"));
    }
    with_nearest_word(diagnostic, word, nearest, || {
        format!("define it with `let {name} = …`, or put quotes round it if it is meant as text: `\"{name}\"`")
    })
}

/// A name defined a second time.
pub fn defined_twice(name: &str, again: Span, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::DefinedTwice, format!("`{name}` is defined twice"))
        .label(again, "defined again here")
        .label(first, "first defined here")
        .help("give one of them another name; layers, rings, openings, params and `let` lines share one set of names")
}

/// A name of the maker's that the built-in shop has already.
pub fn name_of_built_in(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::DefinedTwice, format!("the built-in shop has a `{name}` already"))
        .label(span, "this name is taken")
        .help(
            "give it another name; or write `shop \"My workshop\"` into this file, and no stock, magnet or adhesive but \
             your own is used",
        )
}

/// A maker's function with the name of one of ours.
pub fn name_of_ours(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::DefinedTwice, format!("`{name}` is already a function of the language"))
        .label(span, "this name is taken")
        .help(format!("give your function another name, such as `my_{name}`"))
}

/// A binding that needs itself.
pub fn circular(steps: &[(&str, Span)], asked_at: Span) -> Diagnostic {
    let path: Vec<String> = steps.iter().map(|(name, _)| format!("`{name}`")).collect();
    let first = steps.first().map_or("", |(name, _)| name);
    let (message, help) = match path.as_slice() {
        [one] => (
            format!("{one} is defined by itself"),
            format!("write a value for it that does not use {one}; to count up, make a list such as `0 to 9`"),
        ),
        _ => (
            format!(
                "{} need one another: none of them can be worked out",
                listed(steps.iter().map(|(name, _)| *name), "and")
            ),
            "give one of them a value that does not need the others".to_owned(),
        ),
    };
    steps
        .iter()
        .fold(
            Diagnostic::error(Finding::CircularDefinition, message).label(asked_at, format!("needs `{first}` again")),
            |all, (name, span)| all.label(*span, format!("`{name}` is being worked out")),
        )
        .help(help)
}

/// A function used like a value.
pub fn function_not_called(name: &str, span: Span, definition: Span) -> Diagnostic {
    Diagnostic::error(Finding::FunctionNotCalled, format!("`{name}` is a function and needs its arguments"))
        .label(span, "used without `(…)`")
        .label(definition, "defined here")
        .help(format!("write `{name}(…)`"))
}

/// A call of a function that does not exist.
pub fn unknown_function(name: &Name, nearest: Option<&str>, ours: Option<&Function>) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::UnknownFunction, format!("there is no function `{}`", name.text))
        .label(name.span, "not a function");
    if let Some(ours) = ours {
        return diagnostic.help(format!("write `{}` for that, as in `{}`", ours.word, ours.usage));
    }
    with_nearest_word(diagnostic, name, nearest, || {
        let of = |group: Group| listed(FunctionName::of_group(group).map(FunctionName::word), "and");
        format!("the shapes are {}; lines are {}", of(Group::Shape), of(Group::Line))
    })
}

/// An argument that the function does not take.
pub fn unknown_argument(function: &Function, name: &Name, nearest: Option<&str>) -> Diagnostic {
    let diagnostic =
        Diagnostic::error(Finding::UnknownArgument, format!("`{}` takes no `{}`", function.word, name.text))
            .label(name.span, "not one of its arguments");
    with_nearest_word(diagnostic, name, nearest, || format!("write it like `{}`", function.usage))
}

/// An argument given twice.
pub fn argument_twice(name: &str, again: Span, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::ArgumentTwice, format!("`{name}` is given twice"))
        .label(again, "given again here")
        .label(first, "first given here")
        .help("keep one of them")
}

/// An argument without its word where the function wants one.
pub fn stray_argument(function: &Function, span: Span) -> Diagnostic {
    let words: Vec<&str> = function.parameters.iter().filter(|one| !one.positional).map(|one| one.word).collect();
    let help = if words.is_empty() {
        format!("write it like `{}`", function.usage)
    } else {
        format!("put its word before it ({}), as in `{}`", listed(words.iter().copied(), "or"), function.usage)
    };
    let label = if words.is_empty() { "one too many" } else { "no word before it" };
    Diagnostic::error(Finding::StrayArgument, format!("`{}` cannot tell what this argument is for", function.word))
        .label(span, label)
        .help(help)
}

/// Arguments that must be given and are not.
pub fn missing_argument(function: &Function, missing: &[&str], span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::MissingArgument,
        format!("`{}` needs {}", function.word, listed(missing.iter().copied(), "and")),
    )
    .label(span, format!("{} missing here", if missing.len() == 1 { "one is" } else { "some are" }))
    .help(format!("write it like `{}`", function.usage))
}

/// None, or several, of arguments of which exactly one is wanted.
pub fn choose_one(function: &Function, group: &[&str], chosen: &[(&str, Span)], span: Span) -> Diagnostic {
    let choices = listed(group.iter().copied(), "or");
    let diagnostic = match chosen {
        [] => {
            return Diagnostic::error(Finding::ChooseOne, format!("`{}` needs one of {choices}", function.word))
                .label(span, "none is given")
                .help(format!("give one, as in `{}`", function.usage));
        }
        _ => {
            let given = listed(chosen.iter().map(|(name, _)| *name), "and");
            let message = format!("`{}` takes exactly one of {choices}, not {given} at once", function.word);
            chosen.iter().rev().fold(Diagnostic::error(Finding::ChooseOne, message), |all, (name, at)| {
                all.label(*at, format!("`{name}` is given here"))
            })
        }
    };
    diagnostic.help(format!("keep one, as in `{}`", function.usage))
}

/// The wrong number of arguments for a maker's function.
pub fn arguments_of_maker(name: &str, takes: &[&str], given: usize, span: Span, definition: Span) -> Diagnostic {
    let message =
        format!("`{name}` takes {}, and {given} {} given", wanted(takes), if given == 1 { "is" } else { "are" });
    Diagnostic::error(Finding::WrongArguments, message)
        .label(span, "called here")
        .label(definition, "defined here")
        .help(written(name, takes))
}

/// A word in the call of a maker's function that is none of its own, or one that is given a second time.
pub fn word_of_maker(name: &str, takes: &[&str], word: &Name, definition: Span) -> Diagnostic {
    let message = if takes.contains(&word.text.as_str()) {
        format!("`{name}` takes {}, and `{}` is given twice", wanted(takes), word.text)
    } else {
        format!("`{name}` takes {}, not `{}`", wanted(takes), word.text)
    };
    Diagnostic::error(Finding::WrongArguments, message)
        .label(word.span, "this word")
        .label(definition, "defined here")
        .help(written(name, takes))
}

/// What a maker's function takes, in words.
fn wanted(takes: &[&str]) -> String {
    match takes {
        [] => "no arguments".to_owned(),
        some => format!("{}, {}", counted(some.len(), "argument"), listed(some.iter().copied(), "and")),
    }
}

/// How a maker's function is called.
fn written(name: &str, takes: &[&str]) -> String {
    let places: Vec<String> = takes.iter().map(|word| format!("{word}: …")).collect();
    format!("write `{name}({})`", places.join(", "))
}

/// A word that is no kind of value.
pub fn unknown_kind(word: &Name, nearest: Option<&str>) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::UnknownKind, format!("`{}` is no kind of value", word.text))
        .label(word.span, "not a kind");
    with_nearest_word(diagnostic, word, nearest, || {
        format!("the kinds are {}", listed(TypeWord::ALL.iter().map(|known| known.word()), "and"))
    })
}

/// A name that is not that of a thing of the wanted kind.
pub fn no_such_thing(
    wanted: ThingKind,
    name: &Name,
    nearest: Option<&str>,
    known: &[&str],
    other: Option<Span>,
) -> Diagnostic {
    // Only `reads` and measures ask for the name of a mark, and they mean one that is looked through or at.
    let word = if wanted == ThingKind::Mark { "opening or pointer" } else { wanted.word() };
    let message = match other {
        Some(_) => format!("`{}` is not {} {word}", name.text, article(word)),
        None => format!("there is no {word} called `{}`", name.text),
    };
    let diagnostic = Diagnostic::error(Finding::UnknownName, message)
        .label(name.span, format!("{} {word} is wanted here", article(word)));
    let diagnostic = match other {
        Some(span) => diagnostic.label(span, format!("`{}` is this", name.text)),
        None => diagnostic,
    };
    with_nearest_word(diagnostic, name, nearest, || match known {
        [] => format!("none is defined; add one with `{}`", written_anew(wanted, &name.text)),
        some => format!("those defined are {}", listed(some.iter().copied(), "and")),
    })
}

/// How a thing of this kind is defined.
fn written_anew(kind: ThingKind, name: &str) -> String {
    match kind {
        ThingKind::Layer => format!("layer {name} of birch {{ … }}"),
        ThingKind::Ring => format!("engrave ring {name} {{ labels 0 to 9 }}"),
        ThingKind::Mark => format!("window {name} = circle(diameter: 12mm) at polar(20mm, 0deg)"),
        other => format!("{} {name} {{ … }}", other.word()),
    }
}

/// A family that varies something that is no param.
pub fn not_a_param(name: &Name, nearest: Option<&str>, is_other: bool) -> Diagnostic {
    let message = if is_other {
        format!("`{}` is not a param, so it cannot vary", name.text)
    } else {
        format!("there is no param called `{}`", name.text)
    };
    let diagnostic = Diagnostic::error(Finding::UnknownName, message).label(name.span, "a param is wanted here");
    with_nearest_word(diagnostic, name, nearest, || format!("declare it with `param {}: length = 58mm`", name.text))
}

/// A block whose word is none of ours.
pub fn unknown_block(word: &Name, nearest: Option<&str>) -> Diagnostic {
    let diagnostic =
        Diagnostic::error(Finding::UnknownBlock, format!("`{}` begins no block of the language", word.text))
            .label(word.span, "not a kind of block");
    with_nearest_word(diagnostic, word, nearest, || {
        let items = [ItemWord::Layer, ItemWord::Stack, ItemWord::Family].map(ItemWord::word);
        let words = items.into_iter().chain(BlockName::of_shop().map(BlockName::word));
        format!("blocks begin with {}", listed(words, "or"))
    })
}

/// A field given twice.
pub fn field_twice(name: &Name, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::FieldTwice, format!("`{}` is given twice", name.text))
        .label(name.span, "given again here")
        .label(first, "first given here")
        .help("keep one of them")
}

/// A field that the block does not have.
pub fn unknown_field(block: &BlockSpec, name: &Name, nearest: Option<&str>) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Finding::UnknownField,
        format!("{} `{}` has no field `{}`", article(block.word), block.word, name.text),
    )
    .label(name.span, "not one of its fields");
    with_nearest_word(diagnostic, name, nearest, || {
        let fields = listed(block.fields.iter().map(|spec| spec.word), "and");
        if block.word == "layer" {
            format!("besides its outline, its `flip` and work such as `engrave`, a layer may have {fields}")
        } else {
            format!("its fields are {fields}")
        }
    })
}

/// A field that must be given and is not.
pub fn missing_field(word: &str, spec: &FieldSpec, head: Span) -> Diagnostic {
    Diagnostic::error(Finding::MissingField, format!("this `{word}` does not say its `{}`", spec.word))
        .label(head, format!("`{}` is missing", spec.word))
        .help(format!("add it, as in `{}`, with your own value", spec.usage))
}

/// A field that stands alone and should not.
pub fn field_without_value(spec: &FieldSpec, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::FieldForm, format!("`{}` needs a value", spec.word))
        .label(span, "nothing follows")
        .help(format!("write it like `{}`", spec.usage))
}

/// A field in the wrong form.
pub fn field_form(spec: &FieldSpec, span: Span) -> Diagnostic {
    let wants = match spec.holds {
        Holds::Size => "two lengths with `by` between them",
        Holds::Span => "two lengths with `to` between them",
        Holds::Word(_) => "one of its words",
        Holds::EachWord(_) => "one of its words, or a list with one for each label",
        _ => "one value",
    };
    let help = match spec.holds {
        Holds::Word(_) | Holds::EachWord(_) => {
            format!("write it like `{}`; its words are {}", spec.usage, listed(spec.holds.words(), "and"))
        }
        _ => format!("write it like `{}`", spec.usage),
    };
    Diagnostic::error(Finding::FieldForm, format!("`{}` takes {wants}", spec.word))
        .label(span, "not in that form")
        .help(help)
}

/// A word that the field does not know.
pub fn unknown_word(spec: &FieldSpec, word: &str, words: &[&str], span: Span, nearest: Option<&str>) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::UnknownWord, format!("`{}` cannot be `{word}`", spec.word))
        .label(span, "not one of its words");
    with_nearest(diagnostic, span, nearest, || format!("it may be {}", listed(words.iter().copied(), "or")))
}

/// A copy in the stack that names another copy and not a layer.
pub fn copy_of_a_copy(name: &Name, layer: &str, defined: Span) -> Diagnostic {
    let text = &name.text;
    Diagnostic::error(Finding::UnknownName, format!("`{text}` is a copy of the layer `{layer}`, not a layer"))
        .label(name.span, "lies here again")
        .label(defined, "this copy")
        .help(format!("name the layer, with a name for this copy too: `NAME = {layer}`"))
}
