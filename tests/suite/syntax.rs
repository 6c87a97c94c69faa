//! The parser: whole files, and arbitrary text.

mod trees;

use crate::files;
use cpu_time::ThreadTime;
use dialwright::diagnostics::{Diagnostic, Style, as_json, as_text};
use dialwright::source::{SourceId, Sources};
use dialwright::syntax::{Parsed, parse, parse_expression};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::fs;
use std::time::Duration;

/// Parses a text as the only file.
fn parsed(text: &str) -> (Sources, SourceId, Parsed) {
    let mut sources = Sources::default();
    let id = sources.add("test.dial", text);
    let parsed = parse(&sources, id);
    (sources, id, parsed)
}

/// The text with every certain mend applied, from the last to the first; of two that touch, one.
fn mended(text: &str, problems: &[Diagnostic]) -> String {
    let mut edits: Vec<_> = problems.iter().flat_map(|problem| &problem.mend).collect();
    edits.sort_by_key(|edit| std::cmp::Reverse((edit.span.start, edit.span.end)));
    edits.dedup_by_key(|edit| edit.span);
    edits.iter().fold(text.to_owned(), |mut text, edit| {
        text.replace_range(edit.span.range(), &edit.text);
        text
    })
}

#[test]
fn every_whole_dial_parses_without_problems() {
    let files = files("dials", "dial");
    assert!(files.len() >= 14, "the dials are missing");
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        let comments = text.matches("//").count();
        let windows = format!("\u{feff}{}", text.replace('\n', "\r\n"));
        for text in [text, windows] {
            let (sources, _, parsed) = parsed(&text);
            let problems = parsed.problems.into_sorted();
            assert!(problems.is_empty(), "{}: {}", file.display(), as_text(&problems, &sources, Style::Plain));
            assert!(!parsed.file.items.is_empty());
            assert_eq!(parsed.comments.len(), comments, "{}: every comment is kept", file.display());
        }
    }
}

#[test]
fn comments_know_whether_they_have_their_line_to_themselves() {
    let (sources, _, parsed) = parsed("// one\ndial \"a // b\" // two\n  // three\nlet a = [1, // four\n 2]\n");
    let found: Vec<(&str, bool)> = parsed.comments.iter().map(|c| (sources.text(c.span), c.own_line)).collect();
    assert_eq!(found, [("// one", true), ("// two", false), ("// three", true), ("// four", false)]);
}

/// Mends are offered as certain: applied to the files that show the findings, they leave fewer problems, and none
/// of those that they mend.
#[test]
fn certain_mends_mend() {
    let mut mends = 0;
    for file in files("ui", "dial") {
        let text = fs::read_to_string(&file).unwrap();
        let problems = parsed(&text).2.problems.into_sorted();
        let with_mend = problems.iter().filter(|problem| !problem.mend.is_empty()).count();
        let after = parsed(&mended(&text, &problems)).2.problems.into_sorted();
        assert!(after.len() + with_mend <= problems.len(), "{}: {after:#?}", file.display());
        mends += with_mend;
    }
    assert!(mends > 20, "only {mends} certain mends were tried");
}

#[test]
fn a_lone_expression_is_read_whole_or_not_at_all() {
    for (text, whole) in [("58mm", true), (" [1, 2]\n", true), ("3mm 4mm", false), ("", false), ("let a = 3mm", false)]
    {
        let mut sources = Sources::default();
        let id = sources.add("--set", text);
        let (value, problems) = parse_expression(&sources, id);
        assert_eq!((value.is_some(), !problems.has_errors()), (whole, whole), "{text:?}: {problems:?}");
    }
}

/// Whatever is said about a text lies in it, between letters, and can be drawn.
fn everything_said_fits(text: &str) {
    let start = ThreadTime::now();
    let (sources, id, parsed) = parsed(text);
    assert!(start.elapsed() < Duration::from_secs(2), "{:?} for {text:?}", start.elapsed());
    let comments = parsed.comments.iter().map(|comment| comment.span);
    let problems = parsed.problems.into_sorted();
    let places = problems.iter().flat_map(|problem| problem.labels.iter().map(|label| label.span));
    let edits = problems.iter().flat_map(|problem| problem.mend.iter().map(|edit| edit.span));
    for span in places.chain(edits).chain(comments) {
        let range = span.range();
        assert!(range.start <= range.end && text.get(range).is_some(), "{span:?} in {text:?}: {problems:#?}");
    }
    assert!(problems.iter().all(|problem| !problem.labels.is_empty() && !problem.message.ends_with('.')));
    assert!(!as_text(&problems, &sources, Style::Plain).contains("Failed to read"));
    assert!(as_json(&problems, &sources).as_array().unwrap().len() == problems.len());
    parse_expression(&sources, id);
}

/// All dials and all files that show findings, as one stock of text to cut from.
fn stock() -> Vec<String> {
    let all = files("dials", "dial").into_iter().chain(files("ui", "dial"));
    all.map(|file| fs::read_to_string(file).unwrap()).collect()
}

/// The part of a text between two shares of its length, cut between letters.
fn cut(text: &str, from: f64, to: f64) -> std::ops::Range<usize> {
    let at = |share: f64| text.floor_char_boundary((text.len() as f64 * share) as usize);
    at(from.min(to))..at(from.max(to))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_answered(text in "\\PC{0,200}") {
        everything_said_fits(&text);
    }

    #[test]
    fn any_heap_of_our_signs_and_words_is_answered(
        words in proptest::collection::vec(prop_oneof![
            Just("layer"), Just("stack"), Just("{"), Just("}"), Just("("), Just(")"), Just("["), Just("]"), Just(","),
            Just("="), Just(":"), Just("\n"), Just("\r\n"), Just(";"), Just("\""), Just("“"), Just("'"), Just("\\"), Just("#"),
            Just("1"), Just(".5"), Just("1/8"), Just("in"), Just("mm"), Just("at"), Just("within"), Just("plus"), Just("<"),
            Just("is"), Just("not"), Just("if"), Just("then"), Just("else"), Just("for"), Just("to"), Just("by"), Just("let"),
            Just("a"), Just("of"), Just("ring"), Just("engrave"), Just("turn on"), Just("reads"), Just("//"), Just(" "), Just("é"),
        ], 0..60),
    ) {
        everything_said_fits(&words.concat());
        everything_said_fits(&words.join(" "));
    }

    #[test]
    fn any_mangled_dial_is_answered(file in 0usize..1000, other in 0usize..1000, from in 0.0..1.0, length in 0.0..0.1, to in 0.0..1.0) {
        let stock = stock();
        let (text, other) = (&stock[file % stock.len()], &stock[other % stock.len()]);
        let range = cut(text, from, from + length);
        let slice = &other[cut(other, to, to + length)];
        let (before, after) = (&text[..range.start], &text[range.end..]);
        everything_said_fits(&format!("{before}{after}"));
        everything_said_fits(&format!("{before}{slice}{after}"));
        everything_said_fits(&format!("{before}{}{}{after}", &text[range.clone()], &text[range]));
    }
}

/// The quickest of three parses of a text.
fn seconds(text: &str) -> f64 {
    let once = || {
        let start = ThreadTime::now();
        assert!(!parsed(text).2.comments.is_empty() || !text.contains("//"));
        start.elapsed().as_secs_f64()
    };
    (0..3).map(|_| once()).fold(f64::INFINITY, f64::min)
}

/// Eight times the text may take sixteen times as long, which is far from the sixty-four of a quadratic parser. A
/// busy machine can spoil one measurement, so five are allowed; what grows too fast fails them all.
#[test]
fn time_grows_with_the_text_and_no_faster() {
    let dial = fs::read_to_string(files("dials", "dial").remove(0)).unwrap();
    let kinds = [
        ("whole dials", dial.as_str(), ""),
        ("bad items", "let = 3mm\n", ""),
        ("bad fields", "labels 0 to; = 3;\n", "stock birch {\n"),
        ("open brackets", "outline circle(\n", ""),
        ("open brackets with commas", "outline f(a,\n", ""),
        ("open braces", "layer a of b {\n", ""),
        ("bad open braces", "x = {\n", ""),
        ("closing braces", "}\n", ""),
        ("open texts", "dial \"a\n", ""),
        ("quotes", "\"", "let a = "),
        ("remarks", "// a\n\n", "let a = 3mm\n"),
        ("operators", "+ 1 ", "let a = 1 "),
        ("minus signs", "- ", "let a = "),
        ("items on one line", "let a = 3mm ", ""),
        ("blanks", "   \t", "let a =\n"),
        ("line ends", "\n", "let a = 3mm"),
        ("lists", "[1], ", "let a = ["),
        ("commas", "1,5mm ", "height "),
    ];
    for (kind, piece, start) in kinds {
        let of = |bytes: usize| format!("{start}{}", piece.repeat(bytes / piece.len()));
        let grows_slowly = || {
            let (short, long) = (seconds(&of(5_000)), seconds(&of(40_000)));
            long < 16.0 * short + 0.02
        };
        assert!((0..5).any(|_| grows_slowly()), "{kind}: eight times as much text takes too long");
    }
}
