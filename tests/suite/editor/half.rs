//! Texts as they are while they are typed: every beginning of every example, and every example with one word missing.
//! Of each, findings, colouring and completion are asked; everything is asked wherever a word of a short example ends, and
//! wherever a line of the others does. Nothing may panic, and no range may lie outside the text.

use std::str::FromStr;
use std::sync::Arc;

use dialwright::editor::text::{Encoding, Lines};
use dialwright::editor::{
    Pictures, Snippets, View, classes, colours, completion, definition, fix_all, fixes, folding, formatting, hints,
    hover, notices, outline, prepare_rename, references, rename, target, tokens,
};
use dialwright::project::{MemoryProject, Project};
use dialwright::syntax::lexemes;
use lsp_types::{Position, Range, Uri};

use crate::dials::root;

/// All examples, by name.
fn examples() -> Vec<(String, String)> {
    let mut paths = vec![root().join("examples/first.dial")];
    for entry in std::fs::read_dir(root().join("examples/saltmarsh")).unwrap() {
        paths.push(entry.unwrap().path());
    }
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "dial"));
    paths.sort();
    let named = |path: std::path::PathBuf| {
        (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(path).unwrap())
    };
    paths.into_iter().map(named).collect()
}

/// As much of a shop as the examples name, and short.
const SHOP: &str = "shop \"S\"
stock birch { thickness 3mm; board 305mm by 305mm }
stock grey_card { thickness 1.5mm; board 305mm by 305mm }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.32T }
rivet eyelet { shank 4mm; head 7mm; grips 2.8mm to 4mm }
adhesive pva { cure 24h }
";

/// A text being typed, and the byte where.
struct Typed {
    name: String,
    text: String,
    at: usize,
    /// Whether everything is asked there.
    all: bool,
}

/// Asks about a text at a byte of it.
fn ask(typed: &Typed) {
    let Typed { name, text, at, all } = typed;
    let project = MemoryProject::default().with("shop.dial", SHOP).with(name, text.as_str());
    let places = |name: &str| Uri::from_str(&format!("file:///{name}")).ok();
    let view = View::read(&project, name, &places, Encoding::Utf16).unwrap();
    let file = view.file_named(name).unwrap();
    let lines = Lines::new(Arc::from(text.as_str()), Encoding::Utf16);
    let (position, end) = (lines.position(*at), lines.position(text.len()));
    let inside = |range: &Range| assert!(range.start <= range.end && range.end <= end, "{range:?} in {text:?}");
    for notice in notices(&view, None).iter().filter(|notice| notice.uri.as_str().ends_with(name.as_str())) {
        notice.diagnostics.iter().for_each(|shown| inside(&shown.range));
    }
    completion(&view, file, position, Snippets::Filled);
    let mut last = 0;
    for token in classes(&view, file) {
        assert!(last <= token.start && token.start < token.end && token.end <= text.len(), "{token:?} in {text:?}");
        last = token.end;
    }
    if *all {
        ask_more(typed, &view, &project, &lines);
    }
}

fn ask_more(typed: &Typed, view: &View, project: &MemoryProject, lines: &Lines) {
    let file = view.file_named(&typed.name).unwrap();
    let (position, end) = (lines.position(typed.at), lines.position(typed.text.len()));
    let inside = |range: &Range| assert!(range.start <= range.end && range.end <= end, "{range:?} in {:?}", typed.text);
    if let Some(range) = hover(view, None, project, file, position, Pictures::Shown).and_then(|hover| hover.range) {
        inside(&range);
    }
    folding(lines).iter().for_each(|fold| assert!(fold.end_line <= end.line));
    outline(view, file).iter().for_each(|symbol| inside(&symbol.range));
    colours(lines).iter().for_each(|colour| inside(&colour.range));
    definition(view, file, position);
    prepare_rename(view, file, position);
    if let Some(target) = target(view, file, position) {
        references(view, &target, true);
        let designs: [(&View, &dyn Project); 1] = [(view, project)];
        let _ = rename(&designs, &target, "another_name");
    }
    let _ = formatting(&typed.name, lines);
    fixes(view, None, file, Range::new(Position::new(0, 0), end)).iter().for_each(|fix| inside(&fix.range));
    fix_all(view, None, file);
    let rest = Range::new(position, end);
    tokens(view, file, Some(rest));
    hints(view, None, project, file, rest).iter().for_each(|hint| assert!(hint.position <= end));
}

fn short(text: &str) -> bool {
    text.lines().count() < 30
}

/// Asks about each text, on both cores.
fn ask_all(texts: Vec<Typed>) {
    let share = texts.len().div_ceil(2).max(1);
    std::thread::scope(|scope| {
        for part in texts.chunks(share) {
            scope.spawn(|| part.iter().for_each(ask));
        }
    });
}

#[test]
fn every_beginning_of_every_example_is_answered() {
    let mut texts = Vec::new();
    for (name, text) in examples() {
        let ends: Vec<usize> = lexemes(&text).iter().map(|piece| piece.end).collect();
        for at in text.char_indices().map(|(at, _)| at).chain([text.len()]) {
            let all = ends.binary_search(&at).is_ok() && (short(&text) || text[at..].starts_with('\n'));
            texts.push(Typed { name: name.clone(), text: text[..at].to_owned(), at, all });
        }
    }
    assert!(texts.len() > 5000, "{}", texts.len());
    ask_all(texts);
}

#[test]
fn every_example_with_a_word_missing_is_answered() {
    let mut texts = Vec::new();
    for (name, text) in examples() {
        for piece in lexemes(&text) {
            let without = format!("{}{}", &text[..piece.start], &text[piece.end..]);
            texts.push(Typed { name: name.clone(), text: without, at: piece.start, all: short(&text) });
        }
    }
    assert!(texts.len() > 800, "{}", texts.len());
    ask_all(texts);
}

#[test]
fn odd_texts_are_answered_at_every_place() {
    let mut texts = Vec::new();
    for text in [
        "",
        "\u{feff}",
        "dial",
        "\r\rdial \"x",
        "let 𐐀 = 3",
        "layer {{{{",
        "}}}}",
        "č\u{301} = \"\\u{110000}\"",
        "[[[[[[",
    ] {
        let places = text.char_indices().map(|(at, _)| at).chain([text.len()]);
        texts.extend(places.map(|at| Typed { name: "odd.dial".to_owned(), text: text.to_owned(), at, all: true }));
    }
    ask_all(texts);
}
