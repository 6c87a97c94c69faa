//! What is shown while a design is typed.

use lsp_types::request::{DocumentSymbolRequest, Formatting, HoverRequest};
use lsp_types::{
    Diagnostic, DiagnosticSeverity, DocumentFormattingParams, DocumentSymbol, DocumentSymbolParams,
    DocumentSymbolResponse, FormattingOptions, HoverContents, HoverParams, NumberOrString, TextDocumentIdentifier,
};
use serde_json::json;

use super::driver::{Editor, spot};

const CREW: &str = include_str!("../../../examples/saltmarsh/crew.dial");
const SHOP: &str = include_str!("../../../examples/saltmarsh/shop.dial");

/// The names of findings that ask for something; advice is left out.
fn names(findings: &[Diagnostic]) -> Vec<String> {
    let asking = findings.iter().filter(|finding| finding.severity <= Some(DiagnosticSeverity::WARNING));
    let name = |finding: &Diagnostic| match &finding.code {
        Some(NumberOrString::String(name)) => name.clone(),
        other => panic!("{other:?}"),
    };
    asking.map(name).collect()
}

fn line_of(findings: &[Diagnostic], name: &str) -> u32 {
    let named = findings.iter().find(|finding| finding.code == Some(NumberOrString::String(name.to_owned())));
    named.unwrap().range.start.line
}

fn sound(findings: &[Diagnostic]) -> bool {
    names(findings).is_empty()
}

fn crew() -> Editor {
    let mut editor = Editor::with(&[("crew.dial", CREW), ("shop.dial", SHOP)]);
    editor.open("crew.dial");
    editor
}

fn hover(editor: &mut Editor, name: &str, needle: &str, past: usize) -> Option<String> {
    let parameters = HoverParams {
        text_document_position_params: editor.spot(name, needle, past),
        work_done_progress_params: Default::default(),
    };
    editor.request::<HoverRequest>(parameters).map(|hover| match hover.contents {
        HoverContents::Markup(text) => text.value,
        other => panic!("{other:?}"),
    })
}

/// A height on its way to being typed, a million kilometres: once it used up the stack, and took the session with it.
#[test]
fn a_length_out_of_all_bounds_is_shown_and_the_session_lives_on() {
    let sound_text = include_str!("../../../examples/first.dial");
    let mut editor = Editor::with(&[("first.dial", sound_text)]);
    editor.open("first.dial");
    let far = sound_text.replace("labels 0 to 9", "labels 0 to 9; height 1000000000000mm");
    assert_ne!(far, sound_text);
    editor.change("first.dial", None, &far);
    editor.findings("first.dial", |findings| names(findings) == ["out-of-bounds"]);
    editor.change("first.dial", None, sound_text);
    editor.findings("first.dial", sound);
    assert_eq!(editor.leave().code(), Some(0));
}

#[test]
fn a_slip_is_shown_at_once_and_gone_once_it_is_mended() {
    let mut editor = crew();
    editor.findings("crew.dial", sound);
    let at = spot(CREW, "0.33 * across", 7);
    editor.change(
        "crew.dial",
        Some(lsp_types::Range::new(at, lsp_types::Position::new(at.line, at.character + 6))),
        "acros",
    );
    let found = editor.findings("crew.dial", |found| !sound(found));
    assert_eq!(names(&found), ["unknown-name"]);
    assert_eq!(found[0].range.start, at);
    assert_eq!(found[0].severity, Some(DiagnosticSeverity::ERROR));
    assert!(found[0].message.contains("acros") && found[0].message.contains("help: "), "{}", found[0].message);
    // What the finding is about is told where it is marked.
    let uri = editor.uri("crew.dial");
    let hover = editor.ask("textDocument/hover", json!({ "textDocument": { "uri": uri }, "position": at })).unwrap();
    assert!(hover["contents"]["value"].as_str().unwrap().contains("# unknown-name"), "{hover}");
    editor.change("crew.dial", None, CREW);
    editor.findings("crew.dial", sound);
}

#[test]
fn what_only_the_finished_dial_tells_comes_after_a_pause_and_moves_with_the_text() {
    let mut editor = crew();
    let tight = CREW.replace("slot 62mm by 62mm by 8mm", "slot 58mm by 62mm by 8mm");
    editor.change("crew.dial", None, &tight);
    let found = editor.findings("crew.dial", |found| !sound(found));
    assert_eq!(names(&found), ["too-big-for-slot"]);
    let line = line_of(&found, "too-big-for-slot");
    editor.change("crew.dial", None, &format!("// one line more\n{tight}"));
    let found = editor.findings("crew.dial", |found| !sound(found));
    assert_eq!(line_of(&found, "too-big-for-slot"), line + 1);
    editor.change("crew.dial", None, CREW);
    editor.findings("crew.dial", sound);
}

#[test]
fn further_places_stand_beside_a_finding() {
    let mut editor = crew();
    editor.change("crew.dial", None, &CREW.replace("let out =", "let across ="));
    let found = editor.findings("crew.dial", |found| names(found).contains(&"defined-twice".to_owned()));
    let twice = found.iter().find(|finding| names(&[(*finding).clone()]) == ["defined-twice"]).unwrap();
    let related = twice.related_information.as_ref().unwrap();
    assert_eq!(related[0].location.uri, editor.uri("crew.dial"));
    assert_eq!(related[0].location.range.start, spot(CREW, "across: length", 0));
}

#[test]
fn an_error_in_a_shared_file_is_shown_there_and_where_it_is_shared() {
    let mut editor = crew();
    editor.findings("crew.dial", sound);
    editor.open("shop.dial");
    // The open text goes before the one on disk.
    editor.change("shop.dial", None, &SHOP.replace("remanence 1.32T", "remanence 1.32mm"));
    let found = editor.findings("shop.dial", |found| !sound(found));
    assert_eq!(names(&found), ["wrong-kind"]);
    assert_eq!(found[0].range.start, spot(SHOP, "1.32T", 0));
    let uri = editor.uri("crew.dial");
    let outline = json!({ "textDocument": { "uri": uri } });
    editor.ask("textDocument/documentSymbol", outline).unwrap();
    let user = editor.shown_now("crew.dial");
    assert_eq!(user[0].range.start, spot(CREW, "\"shop.dial\"", 0));
    assert!(user[0].message.starts_with("in `shop.dial`: "), "{}", user[0].message);
    assert_eq!(user[0].related_information.as_ref().unwrap()[0].location.uri, editor.uri("shop.dial"));
}

#[test]
fn a_shop_alone_is_read_with_a_dial_of_its_folder() {
    let mut editor = Editor::with(&[("dials/crew.dial", CREW), ("dials/shop.dial", SHOP)]);
    editor.open("dials/shop.dial");
    editor.findings("dials/shop.dial", sound);
    editor.change("dials/shop.dial", None, &SHOP.replace("magnet disc", "magnet bar"));
    // Only the dial that shares it makes this an error; it is not open and is told of all the same.
    let found = editor.findings("dials/crew.dial", |found| !sound(found));
    assert!(names(&found).contains(&"unknown-name".to_owned()), "{found:#?}");
}

#[test]
fn hover_tells_kind_value_and_what_is_measured() {
    let mut editor = crew();
    let out = hover(&mut editor, "crew.dial", "radius out", 7).unwrap();
    assert!(out.contains("let out = 0.33 * across") && out.contains("a length") && out.contains("19.8mm"), "{out}");
    let across = hover(&mut editor, "crew.dial", "0.33 * across", 8).unwrap();
    assert!(across.contains("diameter of both layers") && across.contains("from `44mm` to `80mm`"), "{across}");
    let swept = hover(&mut editor, "crew.dial", "swept(cover)", 2).unwrap();
    assert!(swept.contains("gives a length") && swept.contains("`layer`"), "{swept}");
    let disc = hover(&mut editor, "crew.dial", "magnets(disc)", 9).unwrap();
    assert!(disc.contains("remanence 1.32T") && disc.contains("from `shop.dial`"), "{disc}");
    // 44mm is as it stands; an inch is 25.4 mm exactly (international yard and pound agreement, 1959).
    editor.change("crew.dial", None, &format!("{CREW}\nlet inch = 1 1/2in\n"));
    let uri = editor.uri("crew.dial");
    let end = CREW.lines().count() as u32 + 1;
    let at = json!({ "textDocument": { "uri": uri }, "position": { "line": end, "character": 14 } });
    let inch = editor.ask("textDocument/hover", at).unwrap();
    assert!(inch["contents"]["value"].as_str().unwrap().contains("38.1mm"), "{inch}");
}

#[test]
fn a_region_is_pictured_where_markdown_is_rendered() {
    let files = [("crew.dial", CREW), ("shop.dial", SHOP)];
    let abilities = json!({ "general": { "markdown": { "parser": "marked", "version": "1.1.0" } } });
    let mut rendering = Editor::with_abilities(&files, abilities);
    rendering.open("crew.dial");
    let peep = hover(&mut rendering, "crew.dial", "through peep", 9).unwrap();
    assert!(peep.contains("12mm wide, 12mm high, 113.1mm²"), "{peep}");
    let address = peep.split("data:image/svg+xml;base64,").nth(1).unwrap().trim_end_matches(')');
    let svg = base64::Engine::decode(&base64::engine::general_purpose::STANDARD, address).unwrap();
    let tree = resvg::usvg::Tree::from_data(&svg, &resvg::usvg::Options::default()).unwrap();
    // The opening is 12 mm of the 25.8 mm from the axis to its upper edge, the margin apart: the picture is upright.
    assert!(tree.size().height() > 1.8 * tree.size().width(), "{:?}", tree.size());
    let mut plain = crew();
    let peep = hover(&mut plain, "crew.dial", "through peep", 9).unwrap();
    assert!(!peep.contains("data:"), "{peep}");
}

#[test]
fn formatting_is_that_of_tidy_in_one_edit() {
    let mut editor = crew();
    let untidy = CREW.replace("  engrave ring crew { labels", "engrave   ring crew {labels");
    editor.change("crew.dial", None, &untidy);
    let parameters = DocumentFormattingParams {
        text_document: TextDocumentIdentifier::new(editor.uri("crew.dial")),
        options: FormattingOptions::default(),
        work_done_progress_params: Default::default(),
    };
    let edits = editor.request::<Formatting>(parameters.clone()).unwrap();
    assert_eq!(edits.len(), 1);
    assert_eq!(edits[0].range.start.line, spot(CREW, "engrave ring crew", 0).line);
    assert_eq!(super::applied(&untidy, &edits), CREW);
    editor.change("crew.dial", None, CREW);
    assert_eq!(editor.request::<Formatting>(parameters).unwrap(), []);
    editor.change("crew.dial", None, "dial \"x\nlayer {");
    let refused = editor.ask(
        "textDocument/formatting",
        json!({
            "textDocument": { "uri": editor.uri("crew.dial") }, "options": { "tabSize": 2, "insertSpaces": true }
        }),
    );
    // -32803 is RequestFailed (specification 3.17, error codes).
    assert_eq!(refused.unwrap_err().0, -32803);
}

#[test]
fn the_outline_is_the_tree_of_items() {
    let mut editor = crew();
    let parameters = DocumentSymbolParams {
        text_document: TextDocumentIdentifier::new(editor.uri("crew.dial")),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let Some(DocumentSymbolResponse::Nested(symbols)) = editor.request::<DocumentSymbolRequest>(parameters) else {
        panic!("a nested outline");
    };
    let names: Vec<&str> = symbols.iter().map(|symbol| symbol.name.as_str()).collect();
    let wanted = [
        "Saltmarsh Ferry: crew aboard",
        "shop.dial",
        "across",
        "most",
        "out",
        "outline",
        "base",
        "cover",
        "stack",
        "reads",
        "slot",
        "run",
        "expect",
    ];
    assert_eq!(names, wanted);
    let children = |symbol: &DocumentSymbol| -> Vec<String> {
        symbol.children.iter().flatten().map(|child| child.name.clone()).collect()
    };
    assert_eq!(children(&symbols[6]), ["crew", "engrave"]);
    assert_eq!(children(&symbols[8]), ["base", "turn", "cover"]);
    // Specification 3.17: the selection range must lie in the range.
    for symbol in symbols.iter().flat_map(|symbol| std::iter::once(symbol).chain(symbol.children.iter().flatten())) {
        assert!(symbol.range.start <= symbol.selection_range.start && symbol.selection_range.end <= symbol.range.end);
    }
}
