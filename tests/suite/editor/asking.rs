//! Completion, definitions, references, renaming, mends.

use lsp_types::request::{CodeActionRequest, Completion, GotoDefinition, References, Rename};
use lsp_types::{
    CodeAction, CodeActionContext, CodeActionKind, CodeActionOrCommand, CodeActionParams, CompletionItem,
    CompletionParams, CompletionResponse, CompletionTextEdit, DiagnosticSeverity, DocumentChanges,
    GotoDefinitionParams, GotoDefinitionResponse, Location, OneOf, Position, Range, ReferenceContext, ReferenceParams,
    RenameParams, TextDocumentIdentifier, TextDocumentPositionParams, TextEdit, WorkspaceEdit,
};
use serde_json::json;

use super::applied;
use super::driver::{Editor, spot};

const CREW: &str = include_str!("../../../examples/saltmarsh/crew.dial");
const WEATHER: &str = include_str!("../../../examples/saltmarsh/weather.dial");
const SHOP: &str = include_str!("../../../examples/saltmarsh/shop.dial");
const FILES: [(&str, &str); 3] = [("crew.dial", CREW), ("weather.dial", WEATHER), ("shop.dial", SHOP)];

/// What is offered at `|` in a text of `crew.dial`.
fn offered(editor: &mut Editor, marked: &str) -> Vec<CompletionItem> {
    let at = spot(marked, "|", 0);
    editor.change("crew.dial", None, &marked.replacen('|', "", 1));
    let document = TextDocumentIdentifier::new(editor.uri("crew.dial"));
    let parameters = CompletionParams {
        text_document_position: TextDocumentPositionParams::new(document, at),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
        context: None,
    };
    match editor.request::<Completion>(parameters) {
        Some(CompletionResponse::Array(items)) => items,
        other => panic!("{other:?}"),
    }
}

fn labels(items: &[CompletionItem]) -> Vec<&str> {
    items.iter().map(|item| item.label.as_str()).collect()
}

/// A sound dial with something half typed at its end or in its cover.
fn with_line(line: &str) -> String {
    format!("{CREW}{line}\n")
}

fn in_cover(line: &str) -> String {
    CREW.replace("  score circle", &format!("{line}\n  score circle"))
}

#[test]
fn completion_offers_what_fits_the_place() {
    let mut editor = Editor::with(&FILES);
    editor.open("crew.dial");
    // Each text with what must be offered first, or among all, and what must not be.
    let in_stack = CREW.replace("  turn on magnets(disc)", "  |");
    let in_frame = |line: &str| CREW.replace("  turn on magnets(disc)", &format!("  crew_plate {{ {line} }}"));
    let in_turn = CREW.replace("magnets(disc)", "magnets(disc) { stops 6; | }");
    let in_shop = "shop \"S\"\nmagnet m { diameter 8mm; | }\n".to_owned();
    let cases: Vec<(String, &[&str], &[&str])> = vec![
        (with_line("|"), &["dial", "param", "layer", "stack", "stock", "expect"], &["engrave", "birch", "thickness"]),
        (with_line("lay|"), &["layer"], &["glue"]),
        (with_line("layer third of |"), &["birch", "grey_card"], &["disc", "crew", "across"]),
        (with_line("layer third |"), &["of"], &["birch"]),
        (with_line("reads |"), &["crew"], &["peep", "birch"]),
        (with_line("reads crew |"), &["through", "beside"], &["crew"]),
        (with_line("reads crew through |"), &["peep"], &["crew", "base"]),
        (with_line("reads crew of |"), &["cover"], &["crew", "peep"]),
        (with_line("reads crew of cover |"), &["through", "beside"], &["from"]),
        (in_frame("|"), &["cover"], &["glue", "peep"]),
        (in_frame("hand = |"), &["cover"], &["peep"]),
        (in_frame("hand = cover |"), &["in", "at"], &["from"]),
        (in_frame("cover in |"), &["peep"], &["cover"]),
        (in_frame("cover at polar(3mm, 0deg) |"), &["on"], &["in"]),
        (in_frame("cover at polar(3mm, 0deg) on |"), &["magnets", "rivet", "pin"], &["circle"]),
        (in_frame("cover in peep { |"), &["stops", "clicks"], &["labels"]),
        (with_line("param size: |"), &["length", "count", "labels"], &["across"]),
        (with_line("expect |"), &["swept", "margin", "across", "not"], &["birch", "engrave"]),
        (with_line("expect swept(|"), &["base", "cover"], &["crew", "birch"]),
        (with_line("accept |"), &["mark-near-edge", "magnet-hazard"], &["across"]),
        (with_line("accept magnet-hazard on |"), &["base", "crew", "disc"], &["across"]),
        (with_line("let a = circle(|"), &["diameter:", "radius:"], &["circle"]),
        (with_line("let a = circle(diameter: |"), &["across", "out", "min"], &["birch", "circle"]),
        (with_line("let a = circle(diameter: 3mm, |"), &[], &["diameter:", "radius:"]),
        (with_line("let a = polygon(sides: 6, |"), &["across_corners:", "across_flats:", "corner:"], &["sides:"]),
        (with_line("let a = circle(diameter: 3mm) |"), &["at", "turned", "less"], &["circle"]),
        (with_line("let a = circle(diameter: 3mm) at |"), &["polar"], &["circle", "birch"]),
        (with_line("let a = text(\"|\", height: 3mm)"), &[], &["across"]),
        (with_line("let a = text(\"as {|}\", height: 3mm)"), &["across", "digits"], &["dial"]),
        (with_line("let a = text(\"as {acr|"), &["across"], &["dial"]),
        (with_line("let a = text(\"as {across} |\", height: 3mm)"), &[], &["across"]),
        (with_line("let a = [for seat in 1 to 3: \"{digits(|)}\"]"), &["seat", "most"], &["dial"]),
        (with_line("// see |"), &[], &["across"]),
        (with_line("let |"), &[], &["across"]),
        (with_line("family { | }"), &["each", "variant", "leave"], &["glue"]),
        (with_line("family { each | }"), &["across", "most"], &["out"]),
        (with_line("family { each across |"), &["in"], &["out"]),
        (with_line("family { variant small { | } }"), &["across", "most"], &["out"]),
        (with_line("run 3 { |"), &["margin", "gap", "spares", "wanted"], &["thickness"]),
        (in_cover("  |"), &["engrave", "window", "outline", "grain", "finish"], &["glue", "layer"]),
        (in_cover("  back |"), &["engrave", "pocket"], &["grain"]),
        (in_cover("  engrave circle(diameter: 3mm) |"), &["tone", "depth", "at"], &["grain"]),
        (in_cover("  engrave ring days { |"), &["labels", "radius", "facing"], &["engrave"]),
        (in_cover("  engrave ring days { facing |"), &["outward", "upright"], &["across"]),
        (in_cover("  flip |"), &["about", "board"], &["across"]),
        (in_stack, &["turn", "glue"], &["layer", "across"]),
        (in_turn, &["pocket", "turning", "clicks"], &["stops", "margin"]),
        (in_shop, &["height", "remanence", "adhesive"], &["diameter", "thickness"]),
    ];
    for (text, wanted, unwanted) in cases {
        let items = offered(&mut editor, &text);
        let labels = labels(&items);
        let line = text.lines().find(|line| line.contains('|')).unwrap();
        for label in wanted {
            assert!(labels.contains(label), "{line:?} lacks {label:?}: {labels:?}");
        }
        for label in unwanted {
            assert!(!labels.contains(label), "{line:?} has {label:?}");
        }
    }
}

#[test]
fn a_number_is_given_units_of_the_kind_that_is_wanted() {
    let mut editor = Editor::with(&FILES);
    editor.open("crew.dial");
    let lengths = ["mm", "cm", "m", "in", "thou"];
    assert_eq!(labels(&offered(&mut editor, &in_cover("  engrave ring days { radius 12|"))), lengths);
    assert_eq!(labels(&offered(&mut editor, &with_line("let a = circle(diameter: 12m|"))), lengths);
    let angles = offered(&mut editor, &with_line("let a = circle(diameter: 12mm) turned 90|"));
    assert_eq!(labels(&angles), ["deg", "rad", "turn"]);
    let Some(CompletionTextEdit::Edit(edit)) = &angles[0].text_edit else { panic!("an edit") };
    assert_eq!(edit.new_text, "90deg");
    assert_eq!(labels(&offered(&mut editor, &with_line("let a = 12|"))).len(), 23, "all units where nothing is known");
}

#[test]
fn open_places_are_filled_in_only_where_the_editor_can() {
    let abilities = json!({ "textDocument": { "completion": { "completionItem": { "snippetSupport": true } } } });
    let mut filling = Editor::with_abilities(&FILES, abilities);
    filling.open("crew.dial");
    let mut plain = Editor::with(&FILES);
    plain.open("crew.dial");
    let written = |editor: &mut Editor| {
        let items = offered(editor, &with_line("let a = cir|"));
        let circle = items.into_iter().find(|item| item.label == "circle").unwrap();
        match circle.text_edit {
            Some(CompletionTextEdit::Edit(edit)) => edit,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(written(&mut filling).new_text, "circle($0)");
    let edit = written(&mut plain);
    assert_eq!(edit.new_text, "circle");
    assert_eq!(edit.range.end.character - edit.range.start.character, 3, "in the place of what is typed");
}

fn definition(editor: &mut Editor, name: &str, needle: &str, past: usize) -> Option<Location> {
    let parameters = GotoDefinitionParams {
        text_document_position_params: editor.spot(name, needle, past),
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    editor.request::<GotoDefinition>(parameters).map(|answer| match answer {
        GotoDefinitionResponse::Scalar(location) => location,
        other => panic!("{other:?}"),
    })
}

#[test]
fn definitions_are_found_across_files() {
    let mut editor = Editor::with(&FILES);
    editor.open("crew.dial");
    let out = definition(&mut editor, "crew.dial", "radius out", 8).unwrap();
    assert_eq!((out.uri, out.range.start), (editor.uri("crew.dial"), spot(CREW, "out =", 0)));
    let disc = definition(&mut editor, "crew.dial", "(disc)", 2).unwrap();
    assert_eq!((disc.uri, disc.range.start), (editor.uri("shop.dial"), spot(SHOP, "disc {", 0)));
    let shop = definition(&mut editor, "crew.dial", "\"shop.dial\"", 4).unwrap();
    assert_eq!((shop.uri, shop.range), (editor.uri("shop.dial"), Range::default()));
    assert_eq!(definition(&mut editor, "crew.dial", "circle", 2), None, "a word of ours");
}

#[test]
fn references_reach_every_dial_that_shares_a_file() {
    let mut editor = Editor::with(&FILES);
    editor.open("shop.dial");
    let parameters = |defined| ReferenceParams {
        text_document_position: editor.spot("shop.dial", "grey_card", 3),
        context: ReferenceContext { include_declaration: defined },
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let (all, uses) = (parameters(true), parameters(false));
    let all = editor.request::<References>(all).unwrap();
    let weather = editor.uri("weather.dial");
    assert_eq!(all.len(), 3, "{all:?}");
    assert_eq!(all.iter().filter(|location| location.uri == weather).count(), 2);
    assert_eq!(editor.request::<References>(uses).unwrap().len(), 2);
}

fn rename(editor: &mut Editor, name: &str, needle: &str, new: &str) -> Result<WorkspaceEdit, String> {
    let parameters = RenameParams {
        text_document_position: editor.spot(name, needle, 0),
        new_name: new.to_owned(),
        work_done_progress_params: Default::default(),
    };
    let answer = editor.ask(<Rename as lsp_types::request::Request>::METHOD, serde_json::to_value(parameters).unwrap());
    answer.map(|edit| serde_json::from_value(edit).unwrap()).map_err(|(_, words)| words)
}

#[test]
fn renaming_changes_every_use_and_nothing_else() {
    let abilities = json!({ "workspace": { "workspaceEdit": { "documentChanges": true } } });
    let mut editor = Editor::with_abilities(&FILES, abilities);
    editor.open("crew.dial");
    let edit = rename(&mut editor, "crew.dial", "disc)", "button").unwrap();
    let Some(DocumentChanges::Edits(files)) = edit.document_changes else { panic!("versioned edits") };
    let edits = |name: &str| -> Vec<TextEdit> {
        let uri = editor.uri(name);
        let of_file = files.iter().filter(|file| file.text_document.uri == uri).flat_map(|file| &file.edits);
        of_file
            .map(|edit| match edit {
                OneOf::Left(edit) => edit.clone(),
                OneOf::Right(edit) => edit.text_edit.clone(),
            })
            .collect()
    };
    assert_eq!(applied(CREW, &edits("crew.dial")), CREW.replace("magnets(disc)", "magnets(button)"));
    assert_eq!(applied(SHOP, &edits("shop.dial")), SHOP.replace("magnet disc", "magnet button"));
    assert_eq!(files.len(), 2, "weather.dial has a rivet");
    let versions: Vec<Option<i32>> = files.iter().map(|file| file.text_document.version).collect();
    assert!(versions.contains(&Some(1)) && versions.contains(&None), "{versions:?}");
}

#[test]
fn a_name_that_will_not_do_is_refused() {
    let mut editor = Editor::with(&FILES);
    editor.open("crew.dial");
    let mut why = |needle: &str, new: &str| rename(&mut editor, "crew.dial", needle, new).unwrap_err();
    assert!(why("out =", "less").contains("a word of the language"));
    assert!(why("out =", "3rd").contains("no name"));
    assert!(why("out =", "").contains("no name"));
    assert!(why("out =", "across").contains("will not do"));
    assert!(why("base of", "glue").contains("joins layers"));
    assert!(why("circle(", "round").contains("no name of yours"));
    // A name that would be caught by what a function takes.
    let caught = format!("{CREW}let wide(n: length) = n + out\nlet used = wide(3mm)\n");
    editor.change("crew.dial", None, &caught);
    let why = rename(&mut editor, "crew.dial", "out =", "n").unwrap_err();
    assert!(why.contains("will not do") || why.contains("is taken"), "{why}");
    editor.change("crew.dial", None, &format!("{CREW}layer {{"));
    assert!(rename(&mut editor, "crew.dial", "out =", "far").unwrap_err().contains("mend the syntax"));
    editor.change("crew.dial", None, CREW);
    assert!(rename(&mut editor, "crew.dial", "out =", "far_out").is_ok());
}

fn actions(editor: &mut Editor, range: Range, only: Option<CodeActionKind>) -> Vec<CodeAction> {
    let diagnostics = editor.shown_now("crew.dial");
    let parameters = CodeActionParams {
        text_document: TextDocumentIdentifier::new(editor.uri("crew.dial")),
        range,
        context: CodeActionContext { diagnostics, only: only.map(|kind| vec![kind]), trigger_kind: None },
        work_done_progress_params: Default::default(),
        partial_result_params: Default::default(),
    };
    let answer = editor.request::<CodeActionRequest>(parameters).unwrap();
    answer
        .into_iter()
        .map(|action| match action {
            CodeActionOrCommand::CodeAction(action) => action,
            CodeActionOrCommand::Command(command) => panic!("{command:?}"),
        })
        .collect()
}

#[allow(clippy::mutable_key_type, reason = "the type of the protocol")]
fn edits_of(action: &CodeAction) -> Vec<TextEdit> {
    let changes = action.edit.as_ref().unwrap().changes.as_ref().unwrap();
    changes.values().flatten().cloned().collect()
}

#[test]
fn mends_are_offered_and_make_the_text_sound() {
    let mut editor = Editor::with(&FILES);
    editor.open("crew.dial");
    let faulty = CREW.replace("0.33 * across", "0.33 * acros").replace("run 8", "run = 8");
    editor.change("crew.dial", None, &faulty);
    let error = |found: &lsp_types::Diagnostic| found.severity == Some(DiagnosticSeverity::ERROR);
    editor.findings("crew.dial", |found| found.iter().filter(|one| error(one)).count() == 2);
    let at = spot(&faulty, "* acros", 4);
    let here = actions(&mut editor, Range::new(at, at), Some(CodeActionKind::QUICKFIX));
    assert_eq!(here.len(), 1, "{here:#?}");
    assert_eq!(here[0].title, "Write `across` for `acros`");
    assert_eq!(here[0].diagnostics.as_ref().map(Vec::len), Some(1));
    assert_eq!(applied(&faulty, &edits_of(&here[0])), CREW.replace("run 8", "run = 8"));
    let whole = Range::new(Position::new(0, 0), Position::new(99, 0));
    let all = actions(&mut editor, whole, Some(CodeActionKind::SOURCE));
    assert_eq!(all.len(), 1, "{all:#?}");
    // The sign alone is taken out, and not the blanks about it.
    assert_eq!(applied(&faulty, &edits_of(&all[0])), CREW.replace("run 8", "run  8"));
    assert_eq!(actions(&mut editor, whole, None).len(), 3);
    editor.change("crew.dial", None, CREW);
    assert!(actions(&mut editor, whole, None).is_empty());
}
