//! One line for each thing an editor may ask.

use std::panic::{AssertUnwindSafe, catch_unwind};

use lsp_server::ErrorCode;
use lsp_types::request::{self as asks, Request};
use lsp_types::{CompletionResponse, DocumentSymbolResponse, GotoDefinitionResponse, Uri};
use serde::Serialize;
use serde_json::Value;

use super::edits;
use super::server::{Design, Server};
use crate::editor::{self, View};
use crate::format::Untidied;
use crate::source::SourceId;

/// An answer, or why there is none.
type Outcome<T> = Result<T, (ErrorCode, String)>;

/// The answer to a request.
pub(super) fn answer(server: &mut Server, method: &str, parameters: Value) -> Outcome<Value> {
    let asked = AssertUnwindSafe(|| {
        server.catch_up();
        dispatched(server, method, parameters)
    });
    catch_unwind(asked)
        .unwrap_or_else(|_| Err((ErrorCode::InternalError, format!("`{method}` failed; please report what was open"))))
}

fn dispatched(server: &mut Server, method: &str, parameters: Value) -> Outcome<Value> {
    match method {
        asks::HoverRequest::METHOD => asked::<asks::HoverRequest>(parameters, |it| {
            let at = it.text_document_position_params;
            let (design, view, file) = place(server, &at.text_document.uri)?;
            Ok(editor::hover(view, design.files(), file, at.position, server.wishes.pictures))
        }),
        asks::Completion::METHOD => asked::<asks::Completion>(parameters, |it| {
            let at = it.text_document_position;
            let (_, view, file) = place(server, &at.text_document.uri)?;
            let items = editor::completion(view, file, at.position, server.wishes.snippets);
            Ok(Some(CompletionResponse::Array(items)))
        }),
        asks::GotoDefinition::METHOD => asked::<asks::GotoDefinition>(parameters, |it| {
            let at = it.text_document_position_params;
            let (_, view, file) = place(server, &at.text_document.uri)?;
            Ok(editor::definition(view, file, at.position).map(GotoDefinitionResponse::Scalar))
        }),
        asks::References::METHOD => asked::<asks::References>(parameters, |it| {
            let at = it.text_document_position;
            let (_, view, file) = place(server, &at.text_document.uri)?;
            let target = editor::target(view, file, at.position);
            Ok(target.map(|target| edits::references(server, &target, it.context.include_declaration)))
        }),
        asks::PrepareRenameRequest::METHOD => asked::<asks::PrepareRenameRequest>(parameters, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            Ok(editor::prepare_rename(view, file, it.position))
        }),
        asks::Rename::METHOD => asked::<asks::Rename>(parameters, |it| {
            let at = it.text_document_position;
            let (_, view, file) = place(server, &at.text_document.uri)?;
            let target = editor::target(view, file, at.position);
            let target = target.ok_or_else(|| (ErrorCode::RequestFailed, "no name of yours is here".to_owned()))?;
            edits::rename(server, &target, &it.new_name).map(Some).map_err(|words| (ErrorCode::RequestFailed, words))
        }),
        asks::CodeActionRequest::METHOD => asked::<asks::CodeActionRequest>(parameters, |it| {
            let (design, view, file) = place(server, &it.text_document.uri)?;
            Ok(Some(edits::actions(server, view, design.insight(), file, &it)))
        }),
        asks::DocumentSymbolRequest::METHOD => asked::<asks::DocumentSymbolRequest>(parameters, |it| {
            let (_, view, file) = place(server, &it.text_document.uri)?;
            Ok(Some(DocumentSymbolResponse::Nested(editor::outline(view, file))))
        }),
        asks::Formatting::METHOD => asked::<asks::Formatting>(parameters, |it| {
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
