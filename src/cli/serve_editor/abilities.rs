//! What the editor wishes, and what it is offered.

use std::path::PathBuf;

use lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionProviderCapability, ColorProviderCapability, CompletionOptions,
    FoldingRangeProviderCapability, HoverProviderCapability, InitializeParams, InitializeResult, OneOf,
    PositionEncodingKind, RenameOptions, SaveOptions, SemanticTokensFullOptions, SemanticTokensOptions,
    SemanticTokensServerCapabilities, ServerCapabilities, ServerInfo, TextDocumentSyncCapability, TextDocumentSyncKind,
    TextDocumentSyncOptions, TextDocumentSyncSaveOptions, WorkDoneProgressOptions,
};
use serde_json::Value;

use super::files::path_of;
use crate::editor::{Encoding, Pictures, Snippets, legend};

/// What the editor said of itself.
#[derive(Clone, Debug)]
pub(super) struct Wishes {
    /// What columns count: bytes where the editor offers that, else UTF-16 units, which every editor knows.
    pub(super) encoding: Encoding,
    /// Shown where the editor names the parser it renders Markdown with, or where its settings say so.
    pub(super) pictures: Pictures,
    /// Whether it fills in open places of what it completes.
    pub(super) snippets: Snippets,
    /// Whether edits name the version of the text that they are for.
    pub(super) versioned_edits: bool,
    /// The folder that the editor works in.
    pub(super) folder: Option<PathBuf>,
}

pub(super) fn wishes(parameters: &InitializeParams) -> Wishes {
    let general = parameters.capabilities.general.as_ref();
    let offered = general.and_then(|general| general.position_encodings.as_deref()).unwrap_or_default();
    // Bytes are what the sources count by, so nothing has to be converted.
    let encoding = if offered.contains(&PositionEncodingKind::UTF8) { Encoding::Utf8 } else { Encoding::Utf16 };
    let renders = general.is_some_and(|general| general.markdown.is_some());
    let set = parameters.initialization_options.as_ref().and_then(|options| options.get("pictures"));
    let pictures = if set.and_then(Value::as_bool).unwrap_or(renders) { Pictures::Shown } else { Pictures::Hidden };
    let folders = parameters.workspace_folders.as_deref().unwrap_or_default();
    #[allow(deprecated, reason = "all that older editors send")]
    let root = folders.first().map(|folder| folder.uri.clone()).or_else(|| parameters.root_uri.clone());
    let completion = parameters.capabilities.text_document.as_ref().and_then(|text| text.completion.as_ref());
    let item = completion.and_then(|completion| completion.completion_item.as_ref());
    let filled = item.and_then(|item| item.snippet_support).unwrap_or(false);
    let snippets = if filled { Snippets::Filled } else { Snippets::Plain };
    let edits = parameters.capabilities.workspace.as_ref().and_then(|workspace| workspace.workspace_edit.as_ref());
    let versioned_edits = edits.and_then(|edits| edits.document_changes).unwrap_or(false);
    Wishes { encoding, pictures, snippets, versioned_edits, folder: root.and_then(|uri| path_of(&uri)) }
}

/// The answer to `initialize`.
pub(super) fn abilities(wishes: &Wishes) -> Value {
    let result = InitializeResult {
        capabilities: offered(wishes),
        server_info: Some(ServerInfo {
            name: "dialwright".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    };
    serde_json::to_value(result).unwrap_or_default()
}

fn offered(wishes: &Wishes) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(match wishes.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
        }),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions { include_text: Some(false) })),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            // After these something else may stand than before; letters need no mention, since editors ask at every
            // word.
            trigger_characters: Some(["(", ",", " ", ":"].map(str::to_owned).to_vec()),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        })),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, CodeActionKind::SOURCE_FIX_ALL]),
            ..CodeActionOptions::default()
        })),
        semantic_tokens_provider: Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
            SemanticTokensOptions {
                legend: legend(),
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Bool(true)),
                ..SemanticTokensOptions::default()
            },
        )),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        color_provider: Some(ColorProviderCapability::Simple(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        ..ServerCapabilities::default()
    }
}
