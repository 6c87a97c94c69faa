//! Another name for something, everywhere it is used, and only where no other name changes its meaning.

use std::collections::BTreeMap;

use lsp_types::{Position, PrepareRenameResponse, TextEdit, Uri};

use super::definition::{Target, target, uses};
use super::mentions::mentions;
use super::view::View;
use crate::check::names::Names;
use crate::diagnostics::Severity;
use crate::project::{Overlaid, Project};
use crate::source::{SourceId, Span};
use crate::syntax::{Word, word};
use crate::vocabulary::items::StackWord;

/// Edits of one file.
pub type FileEdits = (Uri, Vec<TextEdit>);

/// What would be renamed; none where there is nothing of the maker's to rename.
pub fn prepare_rename(view: &View, file: SourceId, position: Position) -> Option<PrepareRenameResponse> {
    let target = target(view, file, position)?;
    let range = view.range(target.asked);
    Some(PrepareRenameResponse::RangeWithPlaceholder { range, placeholder: target.name })
}

/// The edits that give the target another name in all designs that know it, by file.
///
/// # Errors
/// Why it cannot have that name, in a sentence.
pub fn rename(designs: &[(&View, &dyn Project)], target: &Target, new: &str) -> Result<Vec<FileEdits>, String> {
    allowed(target, new)?;
    let mut edits: BTreeMap<String, FileEdits> = BTreeMap::new();
    for (view, project) in designs {
        // A use inside text that could not be read would be missed.
        if !view.is_whole() {
            let name = view.sheets().values().next().map_or("", |sheet| sheet.name.as_str());
            return Err(format!("mend the syntax of `{name}` first, so that no use of `{}` is missed", target.name));
        }
        let spans: Vec<Span> = uses(view, target).into_iter().map(|(span, _)| span).collect();
        // Tried before it is offered: that covers clashes, names that would be captured, and whatever the language
        // adds later, by one question.
        unchanged(view, *project, &spans, new)?;
        for span in spans {
            let Some(sheet) = view.sheet(span.source) else { continue };
            let Some(uri) = sheet.uri.clone() else { continue };
            let edit = TextEdit::new(sheet.lines.range(span.range()), new.to_owned());
            let (_, known) = edits.entry(uri.as_str().to_owned()).or_insert_with(|| (uri, Vec::new()));
            if !known.contains(&edit) {
                known.push(edit);
            }
        }
    }
    Ok(edits.into_values().collect())
}

fn allowed(target: &Target, new: &str) -> Result<(), String> {
    match word(new) {
        Word::Name if target.is_layer && new == StackWord::Glue.word() => {
            Err("a layer may not be named `glue`, which joins layers in the stack".to_owned())
        }
        Word::Name => Ok(()),
        Word::Reserved => Err(format!("`{new}` is a word of the language and cannot be a name")),
        Word::None => Err(format!("`{new}` is no name: write a letter, then letters, digits and `_`")),
    }
}

/// Nothing but the one name may change: read anew with it, every name must stand for the same thing as before, and
/// nothing new may be wrong.
fn unchanged(view: &View, project: &dyn Project, spans: &[Span], new: &str) -> Result<(), String> {
    let mut texts: BTreeMap<String, String> = BTreeMap::new();
    // From the end, so that the places before it stay true.
    for span in spans.iter().rev() {
        let Some(sheet) = view.sheet(span.source) else { continue };
        let text = texts.entry(sheet.name.clone()).or_insert_with(|| sheet.lines.text().to_string());
        if text.get(span.range()).is_some() {
            text.replace_range(span.range(), new);
        }
    }
    let renamed = Overlaid::new(project, texts);
    let Some(design) = view.sheets().values().next() else { return Ok(()) };
    let Ok(after) = View::read(&renamed, &design.name, &|_| None, super::Encoding::Utf8) else { return Ok(()) };
    let errors = |view: &View| view.findings().iter().filter(|found| found.severity == Severity::Error).count();
    if errors(&after) > errors(view) {
        let known: Vec<_> = view.findings().iter().map(|found| found.finding).collect();
        let first = after.findings().iter().find(|found| !known.contains(&found.finding)).or(after.findings().last());
        let why = first.map_or_else(String::new, |found| format!(": {}", found.message));
        return Err(format!("`{new}` will not do{why}"));
    }
    if meanings(view) == meanings(&after) {
        Ok(())
    } else {
        Err(format!("`{new}` is taken where this name is used, and would stand for something else there"))
    }
}

/// For every mention in order, the place in that order of what defines it.
fn meanings(view: &View) -> Vec<Option<usize>> {
    let (names, _) = Names::gather(&view.files());
    let all = mentions(&view.files(), &names);
    let definitions: BTreeMap<Span, usize> = all
        .iter()
        .enumerate()
        .filter_map(|(at, mention)| mention.what.defined().filter(|(_, defines)| *defines).map(|(span, _)| (span, at)))
        .collect();
    let meaning = |span: Span| definitions.get(&span).copied();
    all.iter().map(|mention| mention.what.defined().and_then(|(span, _)| meaning(span))).collect()
}
