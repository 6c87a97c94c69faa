//! Colouring, folds, hints and colours.

use lsp_types::request::{
    ColorPresentationRequest, DocumentColor, FoldingRangeRequest, InlayHintRequest, SemanticTokensFullRequest,
    SemanticTokensRangeRequest,
};
use lsp_types::{
    Color, ColorPresentationParams, DocumentColorParams, FoldingRangeKind, FoldingRangeParams, InlayHintLabel,
    InlayHintParams, Position, Range, SemanticTokens, SemanticTokensParams, SemanticTokensRangeParams,
    SemanticTokensRangeResult, SemanticTokensResult, SemanticTokensServerCapabilities, TextDocumentIdentifier,
};
use serde_json::json;

use super::driver::{Editor, spot};

const CREW: &str = include_str!("../../../examples/saltmarsh/crew.dial");
const SHOP: &str = include_str!("../../../examples/saltmarsh/shop.dial");

fn crew() -> Editor {
    let mut editor = Editor::with(&[("crew.dial", CREW), ("shop.dial", SHOP)]);
    editor.open("crew.dial");
    editor
}

fn document(editor: &Editor, name: &str) -> TextDocumentIdentifier {
    TextDocumentIdentifier::new(editor.uri(name))
}

/// Each token as its text and what the legend calls it; places unpacked as the specification has it (3.17, "Semantic
/// Tokens", integer encoding).
fn unpacked(editor: &Editor, text: &str, tokens: &SemanticTokens) -> Vec<(String, String)> {
    let Some(SemanticTokensServerCapabilities::SemanticTokensOptions(options)) =
        &editor.told.capabilities.semantic_tokens_provider
    else {
        panic!("a legend")
    };
    let lines: Vec<Vec<u16>> = text.split('\n').map(|line| line.encode_utf16().collect()).collect();
    let (mut line, mut column) = (0, 0);
    let token = |token: &lsp_types::SemanticToken| {
        column = if token.delta_line == 0 { column + token.delta_start } else { token.delta_start } as usize as u32;
        line += token.delta_line as usize;
        let written = &lines[line][column as usize..(column + token.length) as usize];
        let class = options.legend.token_types[token.token_type as usize].as_str().to_owned();
        (String::from_utf16(written).unwrap(), class)
    };
    tokens.data.iter().map(token).collect()
}

#[test]
fn every_word_is_coloured_by_what_it_means() {
    let mut editor = crew();
    // The word `depth` is a name here, and `𐐀` takes two columns of UTF-16.
    let text = format!(
        "{CREW}let depth = 3mm // 𐐀\nlet wide(n: length) = n + depth * 2\naccept mark-near-edge on base \"𐐀\"\n\
         let sign = \"No. {{round(across / 1cm)}} of\"\n"
    );
    editor.change("crew.dial", None, &text);
    let parameters = SemanticTokensParams {
        text_document: document(&editor, "crew.dial"),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let Some(SemanticTokensResult::Tokens(tokens)) = editor.request::<SemanticTokensFullRequest>(parameters) else {
        panic!("tokens")
    };
    let found = unpacked(&editor, &text, &tokens);
    let class = |word: &str, nth: usize| -> String {
        let mut classes = found.iter().filter(|(text, _)| text == word);
        classes.nth(nth).unwrap_or_else(|| panic!("no {word}: {found:?}")).1.clone()
    };
    for (word, nth, wanted) in [
        ("dial", 0, "keyword"),
        ("\"shop.dial\"", 0, "string"),
        ("across", 0, "parameter"),
        ("length", 0, "type"),
        ("60mm", 0, "number"),
        ("out", 0, "variable"),
        ("0.33", 0, "number"),
        ("*", 0, "operator"),
        ("circle", 0, "function"),
        ("diameter", 0, "property"),
        ("base", 0, "class"),
        ("birch", 0, "struct"),
        ("engrave", 0, "keyword"),
        ("crew", 0, "enum"),
        ("labels", 0, "property"),
        ("peep", 0, "enum"),
        ("magnets", 0, "function"),
        ("disc", 0, "struct"),
        ("margin", 0, "property"),
        ("swept", 0, "function"),
        ("depth", 0, "variable"),
        ("depth", 1, "variable"),
        ("// 𐐀", 0, "comment"),
        ("wide", 0, "function"),
        ("n", 0, "parameter"),
        ("n", 1, "parameter"),
        ("mark-near-edge", 0, "enumMember"),
        ("\"𐐀\"", 0, "string"),
        ("\"No. {", 0, "string"),
        ("round", 0, "function"),
        ("across", 5, "parameter"),
        ("1cm", 0, "number"),
        ("} of\"", 0, "string"),
    ] {
        assert_eq!(class(word, nth), wanted, "{word} {nth}");
    }
    let parameters = SemanticTokensRangeParams {
        text_document: document(&editor, "crew.dial"),
        range: Range::new(Position::new(2, 0), Position::new(3, 0)),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let Some(SemanticTokensRangeResult::Tokens(tokens)) = editor.request::<SemanticTokensRangeRequest>(parameters)
    else {
        panic!("tokens")
    };
    let words: Vec<String> = unpacked(&editor, &text, &tokens).into_iter().map(|(word, _)| word).collect();
    assert_eq!(words, ["with", "\"shop.dial\""]);
}

#[test]
fn blocks_and_runs_of_comments_fold() {
    let mut editor = crew();
    let text = "// one\n// two\n\n// alone\ndial \"A\"\nlayer base of birch {\n  engrave ring r {\n    labels [\n      1,\n    ]\n  }\n}\n";
    editor.change("crew.dial", None, text);
    let parameters = FoldingRangeParams {
        text_document: document(&editor, "crew.dial"),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let folds = editor.request::<FoldingRangeRequest>(parameters).unwrap();
    let lines: Vec<(u32, u32)> = folds.iter().map(|fold| (fold.start_line, fold.end_line)).collect();
    assert_eq!(lines, [(0, 1), (5, 10), (6, 9), (7, 8)]);
    assert_eq!(folds[0].kind, Some(FoldingRangeKind::Comment));
}

#[test]
fn hints_show_what_bindings_come_to_and_what_was_taken() {
    let mut editor = crew();
    let parameters = InlayHintParams {
        text_document: document(&editor, "crew.dial"),
        range: Range::new(Position::new(0, 0), Position::new(99, 0)),
        work_done_progress_params: Default::default(),
    };
    let mut labels: Vec<(Position, String)> = Vec::new();
    // The defaults come once the whole dial was looked at.
    for _ in 0..600 {
        let hints = editor.request::<InlayHintRequest>(parameters.clone()).unwrap();
        let label = |label: InlayHintLabel| match label {
            InlayHintLabel::String(text) => text,
            InlayHintLabel::LabelParts(parts) => panic!("{parts:?}"),
        };
        labels = hints.into_iter().map(|hint| (hint.position, label(hint.label))).collect();
        if labels.len() > 1 {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let at = |needle: &str, past| spot(CREW, needle, past);
    // 0.33 of 60 mm.
    assert_eq!(labels[0], (at("0.33 * across", 13), "= 19.8mm".to_owned()));
    assert!(labels.iter().any(|(_, label)| label.contains("stops 10")), "{labels:?}");
    assert!(labels.contains(&(at("radius out }", 12), "height 8.07mm".to_owned())), "{labels:?}");
}

#[test]
fn colours_are_found_and_written() {
    let mut editor = crew();
    editor.open("shop.dial");
    let parameters = DocumentColorParams {
        text_document: document(&editor, "shop.dial"),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let colours = editor.request::<DocumentColor>(parameters);
    assert_eq!(colours.len(), 4);
    assert_eq!(colours[0].range.start, spot(SHOP, "#d9b98a", 0));
    assert!((colours[0].color.red - f32::from(0xd9_u8) / 255.0).abs() < 1e-6);
    let parameters = ColorPresentationParams {
        text_document: document(&editor, "shop.dial"),
        color: Color { red: 1.0, green: 0.5, blue: 0.0, alpha: 0.3 },
        range: colours[0].range,
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let written = editor.request::<ColorPresentationRequest>(parameters);
    assert_eq!(written[0].label, "#ff8000");
    assert_eq!(written[0].text_edit.as_ref().unwrap().range, colours[0].range);
}

/// Each with the member of an answer's first entry that the protocol asks for (specification 3.17).
#[test]
fn all_that_is_offered_is_answered() {
    let mut editor = crew();
    let uri = editor.uri("crew.dial");
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    for (method, at) in [
        ("textDocument/foldingRange", "/0/startLine"),
        ("textDocument/documentColor", ""),
        ("textDocument/inlayHint", "/0/label"),
        ("textDocument/semanticTokens/full", "/data/4"),
        ("textDocument/documentSymbol", "/0/selectionRange"),
    ] {
        let parameters = json!({ "textDocument": { "uri": uri }, "range": range });
        let answer = editor.ask(method, parameters).unwrap_or_else(|error| panic!("{method}: {error:?}"));
        assert!(answer.pointer(at).is_some_and(|found| !found.is_null()), "{method}: {answer}");
        // This design names no colour; the shop's are looked at above.
        assert!(method != "textDocument/documentColor" || answer == json!([]), "{answer}");
    }
}
