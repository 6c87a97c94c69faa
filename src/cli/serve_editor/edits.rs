//! Answers that reach over several designs, or change texts.

use std::collections::{BTreeMap, HashMap};

use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, CodeActionResponse, DocumentChanges, Location,
    NumberOrString, OneOf, OptionalVersionedTextDocumentIdentifier, TextDocumentEdit, WorkspaceEdit,
};

use super::server::Server;
use crate::editor::{self, FileEdits, Fix, Insight, Target, View};
use crate::project::Project;
use crate::source::SourceId;

/// Everywhere that a name is used, in every dial that its file belongs to.
pub(super) fn references(server: &Server, target: &Target, defined: bool) -> Vec<Location> {
    // A shared file belongs to several dials, each of which names the same places once more.
    let mut all: BTreeMap<(String, u32, u32), Location> = BTreeMap::new();
    for (_, view) in server.designs_of(&target.uri) {
        for location in editor::references(&view, target, defined) {
            let start = location.range.start;
            all.insert((location.uri.as_str().to_owned(), start.line, start.character), location);
        }
    }
    all.into_values().collect()
}

/// Another name in every dial that its file belongs to.
pub(super) fn rename(server: &Server, target: &Target, new: &str) -> Result<WorkspaceEdit, String> {
    let designs = server.designs_of(&target.uri);
    let designs: Vec<(&View, &dyn Project)> =
        designs.iter().map(|(files, view)| (view, files as &dyn Project)).collect();
    Ok(workspace_edit(server, editor::rename(&designs, target, new)?))
}

/// Mends for what is at a range, and all mends of the file.
pub(super) fn actions(
    server: &Server,
    view: &View,
    insight: Option<&Insight>,
    file: SourceId,
    asked: &CodeActionParams,
) -> CodeActionResponse {
    let wanted = |kind: &CodeActionKind| {
        let only = asked.context.only.as_deref();
        only.is_none_or(|only| only.iter().any(|one| covers(one.as_str(), kind.as_str())))
    };
    let mut actions = Vec::new();
    if wanted(&CodeActionKind::QUICKFIX) {
        let fixes = editor::fixes(view, insight, file, asked.range);
        actions.extend(fixes.into_iter().map(|fix| action(server, fix, CodeActionKind::QUICKFIX, asked)));
    }
    if wanted(&CodeActionKind::SOURCE_FIX_ALL)
        && let Some(fix) = editor::fix_all(view, insight, file)
    {
        actions.push(action(server, fix, CodeActionKind::SOURCE_FIX_ALL, asked));
    }
    actions
}

/// Kinds of action are trees, written with points: `source` covers `source.fixAll`.
fn covers(asked: &str, kind: &str) -> bool {
    asked.is_empty() || kind.strip_prefix(asked).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

fn action(server: &Server, fix: Fix, kind: CodeActionKind, asked: &CodeActionParams) -> CodeActionOrCommand {
    let named = |code: &Option<NumberOrString>| match (code, fix.finding) {
        (Some(NumberOrString::String(code)), Some(name)) => code == name,
        _ => false,
    };
    let mended = asked.context.diagnostics.iter().filter(|shown| named(&shown.code) && shown.range == fix.range);
    let mended: Vec<_> = mended.cloned().collect();
    CodeActionOrCommand::CodeAction(CodeAction {
        title: fix.title,
        is_preferred: Some(fix.finding.is_some()),
        diagnostics: (!mended.is_empty()).then_some(mended),
        kind: Some(kind),
        edit: Some(workspace_edit(server, fix.edits)),
        ..CodeAction::default()
    })
}

/// Edits in the form that the editor knows.
fn workspace_edit(server: &Server, files: Vec<FileEdits>) -> WorkspaceEdit {
    if server.wishes.versioned_edits {
        let edit = |(uri, edits): FileEdits| TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier {
                version: server.document(&uri).map(|document| document.version),
                uri,
            },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        };
        let changes = DocumentChanges::Edits(files.into_iter().map(edit).collect());
        return WorkspaceEdit { document_changes: Some(changes), ..WorkspaceEdit::default() };
    }
    #[allow(clippy::mutable_key_type, reason = "the protocol's own type; its order is nobody's concern")]
    let changes: HashMap<_, _> = files.into_iter().collect();
    WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() }
}
