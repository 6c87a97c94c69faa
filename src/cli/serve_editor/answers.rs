//! One line for each thing an editor may ask.

use std::panic::{AssertUnwindSafe, catch_unwind};

use lsp_server::ErrorCode;
use lsp_types::request::{self as asks, Request};
use lsp_types::{CompletionResponse, DocumentSymbolResponse, GotoDefinitionResponse, TextDocumentPositionParams, Uri};
use serde::Serialize;
use serde_json::Value;

use super::edits;
use super::server::{Design, Server};
use crate::editor::{self, Target, View};
use crate::format::Untidied;
use crate::source::SourceId;

/// An answer, or why there is none.
type Outcome<T> = Result<T, (ErrorCode, String)>;

/// The answer to a request.
pub(super) fn answer(server: &mut Server, method: &str, parameters: Value) -> Outcome<Value> {
    let asked = AssertUnwindSafe(|| {
        // Changes that came before a question are read before it is answered, or places would be those of an older
        // text.
        server.catch_up();
        dispatched(server, method, parameters)
    });
    // A panic in one answer must not end the session with all that the editor has open.
    catch_unwind(asked)
        .unwrap_or_else(|_| Err((ErrorCode::InternalError, format!("`{method}` failed; please report what was open"))))
}

fn dispatched(server: &Server, method: &str, it: Value) -> Outcome<Value> {
    match method {
        asks::HoverRequest::METHOD => asked::<asks::HoverRequest>(it, |it| hover(server, &it)),
        asks::Completion::METHOD => asked::<asks::Completion>(it, |it| completion(server, &it)),
        asks::GotoDefinition::METHOD => asked::<asks::GotoDefinition>(it, |it| definition(server, &it)),
        asks::References::METHOD => asked::<asks::References>(it, |it| references(server, &it)),
        asks::PrepareRenameRequest::METHOD => asked::<asks::PrepareRenameRequest>(it, |it| renamable(server, &it)),
        asks::Rename::METHOD => asked::<asks::Rename>(it, |it| renamed(server, &it)),
        asks::CodeActionRequest::METHOD => asked::<asks::CodeActionRequest>(it, |it| actions(server, &it)),
        asks::DocumentSymbolRequest::METHOD => asked::<asks::DocumentSymbolRequest>(it, |it| outline(server, &it)),
        asks::SemanticTokensFullRequest::METHOD => asked::<asks::SemanticTokensFullRequest>(it, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            Ok(Some(editor::tokens(view, file, None).into()))
        }),
        asks::SemanticTokensRangeRequest::METHOD => asked::<asks::SemanticTokensRangeRequest>(it, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            Ok(Some(editor::tokens(view, file, Some(it.range)).into()))
        }),
        asks::FoldingRangeRequest::METHOD => asked::<asks::FoldingRangeRequest>(it, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            Ok(view.sheet(file).map(|sheet| editor::folding(&sheet.lines)))
        }),
        asks::InlayHintRequest::METHOD => asked::<asks::InlayHintRequest>(it, |it| {
            let (design, view, file) = place(server, &it.text_document.uri)?;
            Ok(Some(editor::hints(view, design.insight(), design.files(), file, it.range)))
        }),
        asks::DocumentColor::METHOD => asked::<asks::DocumentColor>(it, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            Ok(view.sheet(file).map(|sheet| editor::colours(&sheet.lines)).unwrap_or_default())
        }),
        asks::ColorPresentationRequest::METHOD => {
            asked::<asks::ColorPresentationRequest>(it, |it| Ok(vec![editor::presentation(it.color, it.range)]))
        }
        asks::Formatting::METHOD => asked::<asks::Formatting>(it, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            formatted(view, file)
        }),
        _ => Err((ErrorCode::MethodNotFound, format!("`{method}` is not known here"))),
    }
}

/// Reads what is asked, and writes the answer.
fn asked<R: Request>(parameters: Value, answer: impl FnOnce(R::Params) -> Outcome<R::Result>) -> Outcome<Value>
where
    R::Result: Serialize,
{
    let parameters =
        serde_json::from_value(parameters).map_err(|error| (ErrorCode::InvalidParams, error.to_string()))?;
    let result = answer(parameters)?;
    serde_json::to_value(result).map_err(|error| (ErrorCode::InternalError, error.to_string()))
}

fn place<'s>(server: &'s Server, uri: &Uri) -> Outcome<(&'s Design, &'s View, SourceId)> {
    server.place(uri).ok_or_else(|| (ErrorCode::InvalidParams, format!("`{}` is not open", uri.as_str())))
}

fn hover(server: &Server, it: &lsp_types::HoverParams) -> Outcome<Option<lsp_types::Hover>> {
    let at = &it.text_document_position_params;
    let (design, view, file) = place(server, &at.text_document.uri)?;
    Ok(editor::hover(view, design.insight(), design.files(), file, at.position, server.wishes.pictures))
}

fn completion(server: &Server, it: &lsp_types::CompletionParams) -> Outcome<Option<CompletionResponse>> {
    let at = &it.text_document_position;
    let (_, view, file) = place(server, &at.text_document.uri)?;
    let items = editor::completion(view, file, at.position, server.wishes.snippets);
    Ok(Some(CompletionResponse::Array(items)))
}

fn definition(server: &Server, it: &lsp_types::GotoDefinitionParams) -> Outcome<Option<GotoDefinitionResponse>> {
    let at = &it.text_document_position_params;
    let (_, view, file) = place(server, &at.text_document.uri)?;
    Ok(editor::definition(view, file, at.position).map(GotoDefinitionResponse::Scalar))
}

fn target(server: &Server, at: &TextDocumentPositionParams) -> Outcome<Option<Target>> {
    let (_, view, file) = place(server, &at.text_document.uri)?;
    Ok(editor::target(view, file, at.position))
}

fn references(server: &Server, it: &lsp_types::ReferenceParams) -> Outcome<Option<Vec<lsp_types::Location>>> {
    let target = target(server, &it.text_document_position)?;
    Ok(target.map(|target| edits::references(server, &target, it.context.include_declaration)))
}

fn renamable(server: &Server, at: &TextDocumentPositionParams) -> Outcome<Option<lsp_types::PrepareRenameResponse>> {
    let (_, view, file) = place(server, &at.text_document.uri)?;
    Ok(editor::prepare_rename(view, file, at.position))
}

fn renamed(server: &Server, it: &lsp_types::RenameParams) -> Outcome<Option<lsp_types::WorkspaceEdit>> {
    let refused = |words: String| (ErrorCode::RequestFailed, words);
    let target = target(server, &it.text_document_position)?;
    let target = target.ok_or_else(|| refused("no name of yours is here".to_owned()))?;
    edits::rename(server, &target, &it.new_name).map(Some).map_err(refused)
}

fn actions(server: &Server, it: &lsp_types::CodeActionParams) -> Outcome<Option<lsp_types::CodeActionResponse>> {
    let (design, view, file) = place(server, &it.text_document.uri)?;
    Ok(Some(edits::actions(server, view, design.insight(), file, it)))
}

fn outline(server: &Server, it: &lsp_types::DocumentSymbolParams) -> Outcome<Option<DocumentSymbolResponse>> {
    let (_, view, file) = place(server, &it.text_document.uri)?;
    Ok(Some(DocumentSymbolResponse::Nested(editor::outline(view, file))))
}

fn formatted(view: &View, file: SourceId) -> Outcome<Option<Vec<lsp_types::TextEdit>>> {
    let Some(sheet) = view.sheet(file) else { return Ok(None) };
    match editor::formatting(&sheet.name, &sheet.lines) {
        Ok(edits) => Ok(Some(edits)),
        Err(Untidied::Faulty(..)) => {
            Err((ErrorCode::RequestFailed, "it is left as it is: mend its syntax first".to_owned()))
        }
        Err(Untidied::Altered { line }) => {
            let words = format!("it is left as it is: its new layout would not say the same as line {line}");
            Err((ErrorCode::RequestFailed, words))
        }
    }
}
