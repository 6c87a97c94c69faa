//! `grammar/dial.tmLanguage.json`, for editors that colour without a language server: made from the tables of the
//! language, so that it never lags behind them. `DIALWRIGHT_GRAMMAR=write cargo test textmate` writes it anew. That it
//! colours rightly is for `tests/editor/textmate.mjs` to show, which runs it.

use std::collections::BTreeSet;
use std::fs;

use dialwright::units::UNITS;
use dialwright::vocabulary::blocks::{BlockName, BlockSpec};
use dialwright::vocabulary::functions::FUNCTIONS;
use dialwright::vocabulary::items::ItemWord;
use dialwright::vocabulary::tails::TailKind;
use dialwright::vocabulary::types::TypeWord;
use dialwright::vocabulary::works::Work;
use serde_json::{Value, json};

use crate::dials::root;

/// A letter of a name, in the words of Oniguruma; the grammar says `XID_CONTINUE`.
const LETTER: &str = r"[\p{L}\p{N}\p{M}_]";
/// Where an item may begin: at the start of a line, or behind a brace or semicolon.
const START: &str = r"(?:^|(?<=[{;}]))\s*";
const NAME: &str = r"[\p{L}][\p{L}\p{N}\p{M}_]*";

/// Whether an item is no block and takes what it needs on its line; the others have patterns of their own.
fn is_line(item: ItemWord) -> bool {
    match item {
        ItemWord::Dial | ItemWord::Shop | ItemWord::With | ItemWord::Typeface => true,
        ItemWord::Outline | ItemWord::Slot | ItemWord::Expect | ItemWord::Let => true,
        ItemWord::Layer | ItemWord::Stack | ItemWord::Family | ItemWord::Run => false,
        ItemWord::Param | ItemWord::Reads | ItemWord::Accept => false,
    }
}

/// The language's own words, in the grammar's last section and in rules for several, and those that are reserved.
pub(crate) fn pest() -> (BTreeSet<String>, BTreeSet<String>) {
    let text = fs::read_to_string(root().join("grammar/dial.pest")).unwrap();
    let quoted = |text: &str| -> BTreeSet<String> { text.split('"').skip(1).step_by(2).map(str::to_owned).collect() };
    let own = text.split("--- the language's own words").nth(1).unwrap();
    let rule = |name: &str| text.split(&format!("\n{name}")).nth(1).unwrap().split("XID_CONTINUE").next().unwrap();
    let several = ["work  =", "placing_word ", "combining "].map(rule).concat();
    (&quoted(own) | &quoted(&several), quoted(rule("reserved =")))
}

fn one_of<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let mut words: Vec<&str> = words.into_iter().collect();
    // The longest of those that begin alike first: a choice is not tried again.
    words.sort_by_key(|word| (std::cmp::Reverse(word.len()), *word));
    format!("(?:{})", words.join("|"))
}

fn pattern(regex: &str, captures: &[&str]) -> Value {
    let named: serde_json::Map<String, Value> =
        captures.iter().enumerate().map(|(at, name)| ((at + 1).to_string(), json!({ "name": name }))).collect();
    json!({ "match": regex, "captures": named })
}

fn block(begin: &str, captures: &[&str], inside: &[&str]) -> Value {
    let mut begins = pattern("", captures)["captures"].clone();
    begins[(captures.len() + 1).to_string()] = json!({ "name": "punctuation.section.block.begin.dial" });
    let inside: Vec<Value> = inside.iter().map(|name| include(name)).collect();
    json!({
        "begin": format!(r"{begin}\s*(\{{)"),
        "beginCaptures": begins,
        "end": r"\}",
        "endCaptures": { "0": { "name": "punctuation.section.block.end.dial" } },
        "patterns": inside,
    })
}

fn include(name: &str) -> Value {
    json!({ "include": format!("#{name}") })
}

const KEYWORD: &str = "keyword.other.dial";
const FIELD: &str = "support.type.property-name.dial";
const CHOICE: &str = "constant.language.dial";
const NEW: &str = "entity.name.dial";

/// The fields of a block, and the words that some may hold.
fn fields(spec: &BlockSpec) -> Value {
    let mut patterns: Vec<Value> = Vec::new();
    for field in spec.fields {
        if field.holds.words().next().is_some() {
            let regex = format!(r"{START}({})\s+({})(?!{LETTER})", field.word, one_of(field.holds.words()));
            patterns.push(pattern(&regex, &[FIELD, CHOICE]));
        }
    }
    let names = one_of(spec.fields.iter().map(|field| field.word));
    patterns.push(pattern(&format!(r"{START}({names})(?!{LETTER})"), &[FIELD]));
    json!({ "patterns": patterns })
}

/// An item of a frame, with the word before a pivot: `hp = hand at left on rivet(eyelet) { … }`.
fn turning_on(mut line: Value) -> Value {
    if let Some(patterns) = line["patterns"].as_array_mut() {
        patterns.insert(1, pattern(&format!(r"(?<!{LETTER})(on)(?!{LETTER})"), &[KEYWORD]));
    }
    line
}

/// An item whose block follows an expression: `turn on magnets(disc) { … }`.
fn block_after(begin: &str, captures: &[&str], fields: &str) -> Value {
    json!({
        "begin": begin,
        "beginCaptures": pattern("", captures)["captures"],
        "end": r"(?=[;}]|//)|$|(?<=\})",
        "patterns": [block("", &[], &["comment", fields, "expression"]), include("expression")],
    })
}

fn marks() -> Value {
    let works = one_of(Work::ALL.iter().map(|work| work.word()));
    let ring = format!(r"{START}(?:(front|back)\s+)?({works})\s+(ring)\s+({NAME})");
    json!({ "patterns": [
        block(&ring, &[KEYWORD, KEYWORD, KEYWORD, NEW], &["comment", "fields-ring", "expression"]),
        pattern(&ring, &[KEYWORD, KEYWORD, KEYWORD, NEW]),
        pattern(&format!(r"{START}(?:(front|back)\s+)?({works})\s+({NAME})\s*(?==)"), &[KEYWORD, KEYWORD, NEW]),
        pattern(&format!(r"{START}(?:(front|back)\s+)?({works})(?!{LETTER})"), &[KEYWORD, KEYWORD]),
    ] })
}

fn items() -> Value {
    let things: Vec<Value> = BlockName::of_shop()
        .map(BlockName::word)
        .map(|word| {
            let inside = format!("fields-{word}");
            block(&format!(r"{START}({word})\s+({NAME})"), &[KEYWORD, NEW], &["comment", &inside, "expression"])
        })
        .collect();
    let kinds = one_of(TypeWord::ALL.iter().map(|word| word.word()));
    let mut all = vec![
        block(
            &format!(r"{START}(layer)\s+({NAME})\s+(of)\s+{NAME}"),
            &[KEYWORD, NEW, KEYWORD],
            &["comment", "fields-layer", "layer", "marks", "tails", "expression"],
        ),
        block(&format!(r"{START}(stack)"), &[KEYWORD], &["comment", "stack", "expression"]),
        block(&format!(r"{START}(family)"), &[KEYWORD], &["comment", "family", "expression"]),
        block_after(&format!(r"{START}(run)(?!{LETTER})"), &[KEYWORD], "fields-run"),
        pattern(
            &format!(r"{START}(param)\s+({NAME})\s*:\s*({kinds})(?!{LETTER})"),
            &[KEYWORD, NEW, "support.type.dial"],
        ),
        pattern(
            &format!(r"{START}(reads)\s+{NAME}(?:\s+(of)\s+{NAME})?\s+(through|beside)(?!{LETTER})"),
            &[KEYWORD, KEYWORD, KEYWORD],
        ),
        // Which copy's opening: `eye of low`.
        pattern(&format!(r"(?<={LETTER}\s)(of)(?=\s+{NAME})"), &[KEYWORD]),
        pattern(&format!(r"{START}(accept)\s+([\p{{L}}-]+)(?:\s+(on)(?!{LETTER}))?"), &[KEYWORD, CHOICE, KEYWORD]),
        pattern(&format!(r"{START}(let)\s+({NAME})"), &[KEYWORD, NEW]),
        pattern(
            &format!(
                r"{START}({})(?!{LETTER})",
                one_of(ItemWord::ALL.iter().filter(|item| is_line(**item)).map(|item| item.word()))
            ),
            &[KEYWORD],
        ),
    ];
    all.extend(things);
    json!({ "patterns": all })
}

fn expression(reserved: &BTreeSet<String>) -> Value {
    let ours = one_of(FUNCTIONS.iter().map(|function| function.word));
    let kinds = one_of(TypeWord::ALL.iter().map(|word| word.word()));
    json!({ "patterns": [
        include("comment"), include("string"), include("number"),
        pattern(r"(#[0-9A-Fa-f]{6})(?![\p{L}\p{N}\p{M}_])", &["constant.other.colour.dial"]),
        // A list made from another: its colon ends no argument word.
        pattern(&format!(r"(?<!{LETTER})(where)(?!{LETTER}|\s*:)"), &[KEYWORD]),
        pattern(&format!(r"(?<!{LETTER})({NAME})\s*:\s*({kinds})(?=\s*[,)])"), &["variable.parameter.dial", "support.type.dial"]),
        pattern(&format!(r"(?<!{LETTER})({NAME})\s*(?=:)"), &["variable.parameter.dial"]),
        pattern(&format!(r"(?<!{LETTER})(mirrored)\s+(about)(?!{LETTER})"), &[KEYWORD, KEYWORD]),
        pattern(&format!(r"(?<!{LETTER})({})(?!{LETTER})", one_of(reserved.iter().map(String::as_str))), &[KEYWORD]),
        pattern(&format!(r"(?<!{LETTER})({ours})(?=\()"), &["support.function.dial"]),
        pattern(&format!(r"(?<!{LETTER})({NAME})(?=\()"), &["entity.name.function.dial"]),
        // Other names are taken whole, so that no word is seen inside them.
        { "match": NAME },
        pattern(r"(<=|>=|[-+*/<>=])", &["keyword.operator.dial"]),
    ] })
}

fn grammar() -> Value {
    let (_, reserved) = pest();
    let units = one_of(UNITS.iter().map(|unit| unit.name).filter(|name| *name != "%"));
    let unit = format!(r"({units}(?!{LETTER})|%)");
    let number = "constant.numeric.dial";
    let measure = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)";
    let mut measure = pattern(&format!("(?<!{LETTER}){measure} ?{unit}"), &[number, "keyword.other.unit.dial"]);
    // A blank before the unit belongs to the number.
    measure["name"] = json!(number);
    let mut repository = json!({
        "comment": { "match": "//.*$", "name": "comment.line.double-slash.dial" },
        "string": {
            "begin": "\"", "end": "\"|$", "name": "string.quoted.double.dial",
            "patterns": [
                { "match": r#"\\(?:["\\n{]|u\{[0-9A-Fa-f]{1,6}\})"#, "name": "constant.character.escape.dial" },
                { "match": r"\\.", "name": "invalid.illegal.escape.dial" },
                {
                    "begin": r#"\{(?=[^"\\{}]+\})"#, "end": r#"\}|(?=")|$"#, "name": "meta.embedded.line.dial",
                    "beginCaptures": { "0": { "name": "punctuation.section.embedded.begin.dial" } },
                    "endCaptures": { "0": { "name": "punctuation.section.embedded.end.dial" } },
                    "patterns": [include("expression")],
                },
            ],
        },
        "number": { "patterns": [
            measure,
            pattern(&format!(r"(?<!{LETTER})(\d+(?:\.\d+)?)"), &[number]),
        ] },
        "items": items(),
        "marks": marks(),
        "layer": { "patterns": [
            pattern(&format!(r"{START}(flip)\s+(about|board|holder)(?!{LETTER})"), &[KEYWORD, KEYWORD]),
            pattern(&format!(r"{START}(let)\s+({NAME})"), &[KEYWORD, NEW]),
            pattern(&format!(r"{START}(outline)(?!{LETTER})"), &[KEYWORD]),
        ] },
        "stack": { "patterns": [
            block_after(&format!(r"{START}(turn)\s+(on)(?!{LETTER})"), &[KEYWORD, KEYWORD], "fields-turn"),
            pattern(&format!(r"{START}(glue)(?!{LETTER})"), &[KEYWORD]),
            block(&format!(r"{START}(?:{NAME}\s*=\s*)?{NAME}"), &[], &["comment", "frame", "expression"]),
        ] },
        "frame": { "patterns": [
            turning_on(block_after(
                &format!(r"{START}(?:{NAME}\s*(=)\s*)?{NAME}\s+(?:(in)\s+{NAME}|(?=at(?!{LETTER})))"),
                &["keyword.operator.dial", KEYWORD],
                "fields-turn",
            )),
        ] },
        "family": { "patterns": [
            block(&format!(r"{START}(variant)\s+({NAME})"), &[KEYWORD, NEW], &["comment", "expression"]),
            pattern(&format!(r"{START}(each)(?!{LETTER})"), &[KEYWORD]),
            pattern(&format!(r"{START}(leave)\s+(out)(?!{LETTER})"), &[KEYWORD, KEYWORD]),
        ] },
        "tails": { "patterns": [
            pattern(&format!(r"(?<={LETTER}|[)\]\s])(depth)\s+(through)(?!{LETTER})"), &[KEYWORD, KEYWORD]),
            pattern(&format!(r##"(?<!{LETTER})({})(?=\s+["#(\p{{L}}\p{{N}}])(?!\s+(?:{})\b)"##, one_of(TailKind::ALL.iter().map(|tail| tail.word())),
                reserved.iter().cloned().collect::<Vec<_>>().join("|")), &[KEYWORD]),
        ] },
        "expression": expression(&reserved),
    });
    for spec in BlockName::ALL.iter().map(|block| block.spec()) {
        repository[format!("fields-{}", spec.word)] = fields(spec);
    }
    json!({
        "name": "Dial",
        "scopeName": "source.dial",
        "fileTypes": ["dial"],
        "patterns": [include("comment"), include("items"), include("tails"), include("expression")],
        "repository": repository,
    })
}

#[test]
fn the_grammar_for_colouring_is_that_of_the_language() {
    let path = root().join("grammar/dial.tmLanguage.json");
    let made = format!("{:#}\n", grammar());
    if std::env::var_os("DIALWRIGHT_GRAMMAR").is_some_and(|value| value == "write") {
        fs::write(&path, &made).unwrap();
    }
    let known = fs::read_to_string(&path).unwrap();
    assert!(known == made, "grammar/dial.tmLanguage.json is old: DIALWRIGHT_GRAMMAR=write cargo test textmate");
}

#[test]
fn every_word_of_the_language_has_a_pattern() {
    let (own, reserved) = pest();
    let made = grammar().to_string();
    let known: BTreeSet<&str> = made.split(|letter: char| !letter.is_alphanumeric() && letter != '_').collect();
    let missing: Vec<&String> = own.iter().chain(&reserved).filter(|word| !known.contains(word.as_str())).collect();
    assert!(missing.is_empty(), "words of grammar/dial.pest without a pattern: {missing:?}");
    let units = fs::read_to_string(root().join("grammar/dial.pest")).unwrap();
    let units = units.split("\nunit     = ").nth(1).unwrap().split("\n\n").next().unwrap().to_owned();
    for unit in UNITS {
        assert!(units.contains(&format!("\"{}\"", unit.name)), "{} is no unit of grammar/dial.pest", unit.name);
    }
}
