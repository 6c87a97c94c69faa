//! Replays what the fuzzers keep: every input that reaches code of its own, and every one that ever broke something.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use dialwright::units::UNITS;
use dialwright::vocabulary::blocks::BlockName;
use dialwright::vocabulary::functions::FUNCTIONS;
use dialwright::vocabulary::types::TypeWord;

use crate::dials::root;
use crate::textmate::pest;

#[path = "../fuzz/targets.rs"]
mod targets;

fn replayed(target: &str, run: fn(&[u8])) {
    let folder = root().join("tests/fuzz/corpus").join(target);
    let mut inputs: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    inputs.sort();
    assert!(!inputs.is_empty(), "{target} has no corpus");
    for input in inputs {
        run(&fs::read(&input).unwrap());
    }
}

macro_rules! replay {
    ($($target:ident)*) => {$(
        #[test]
        fn $target() {
            replayed(stringify!($target), targets::$target);
        }
    )*};
}

replay!(parse tidy check whole operations drawing picture readings);

/// Every word that the language uses itself: its own, those of functions, arguments and fields.
pub(crate) fn words() -> BTreeSet<String> {
    let (own, reserved) = pest();
    let mut words: BTreeSet<String> = own.into_iter().chain(reserved).collect();
    words.extend(FUNCTIONS.iter().flat_map(|function| {
        function.parameters.iter().map(|parameter| parameter.word).chain([function.word]).map(str::to_owned)
    }));
    words.extend(BlockName::ALL.iter().flat_map(|block| block.spec().fields).map(|field| field.word.to_owned()));
    words.extend(TypeWord::ALL.iter().map(|word| word.word().to_owned()));
    words
}

/// What the fuzzers of texts make them from: every word of the tables, in the form of libFuzzer.
fn dictionary() -> String {
    let (own, reserved) = pest();
    let mut words: BTreeSet<String> = own.into_iter().chain(reserved).collect();
    words.extend(UNITS.iter().map(|unit| format!("1{}", unit.name)));
    words.extend(TypeWord::ALL.iter().map(|word| format!(": {} = ", word.word())));
    for function in FUNCTIONS.iter() {
        words.insert(format!("{}(", function.word));
        words.extend(function.parameters.iter().map(|parameter| format!("{}: ", parameter.word)));
    }
    for field in BlockName::ALL.iter().flat_map(|block| block.spec().fields) {
        words.insert(field.usage.to_owned());
        words.extend(field.holds.words().map(str::to_owned));
    }
    words.extend(
        ["{ ", " }", "[", "]", "(", ")", "//", "<=", ">=", "\\u{41}", "\"", "1/8in", "1 1/8in"].map(str::to_owned),
    );
    words.iter().map(|word| format!("\"{}\"\n", word.replace('\\', "\\\\").replace('"', "\\\""))).collect()
}

#[test]
fn the_dictionary_holds_the_words_of_the_language() {
    let path = root().join("tests/fuzz/dial.dict");
    if std::env::var_os("DIALWRIGHT_GRAMMAR").is_some_and(|value| value == "write") {
        fs::write(&path, dictionary()).unwrap();
    }
    let known = fs::read_to_string(&path).unwrap();
    assert!(known == dictionary(), "tests/fuzz/dial.dict is old: DIALWRIGHT_GRAMMAR=write cargo test the_dictionary");
}
