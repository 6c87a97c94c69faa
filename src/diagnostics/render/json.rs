//! Diagnostics as JSON.

use super::super::{Diagnostic, Edit, Label};
use super::excerpt::Excerpt;
use crate::source::{SourceId, Sources, Span};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// The diagnostics as a JSON array, one object each:
///
/// | key | value |
/// | --- | --- |
/// | `finding` | its name, such as `"unclosed-text"` |
/// | `severity` | `"error"`, `"warning"` or `"advice"` |
/// | `message` | one sentence |
/// | `labels` | the places that matter, the main one first: `file`, `line`, `column`, `end_line`, `end_column` (from 1, columns in characters, the end not included), `start`, `end` (bytes), `text` |
/// | `help` | what to write instead, or `null` |
/// | `mend` | edits that certainly mend it: `file`, `start`, `end` (bytes), `text` |
/// | `subject` | what it is about, or `null` |
/// | `accepted` | the reason given for accepting it, or `null` |
/// | `variants` | the variants that have it, where not all of them do |
pub fn as_json(diagnostics: &[Diagnostic], sources: &Sources) -> Value {
    let excerpts: BTreeMap<SourceId, Excerpt> = sources.iter().map(|(id, file)| (id, Excerpt::of(file))).collect();
    diagnostics.iter().map(|diagnostic| object(diagnostic, &excerpts)).collect()
}

fn object(diagnostic: &Diagnostic, excerpts: &BTreeMap<SourceId, Excerpt>) -> Value {
    json!({
        "finding": diagnostic.finding.name(),
        "severity": diagnostic.severity.word(),
        "message": diagnostic.message,
        "labels": diagnostic.labels.iter().map(|label| place(label, excerpts)).collect::<Vec<Value>>(),
        "help": diagnostic.help,
        "mend": diagnostic.mend.iter().map(|edit| replacement(edit, excerpts)).collect::<Vec<Value>>(),
        "subject": diagnostic.subject,
        "accepted": diagnostic.accepted,
        "variants": diagnostic.variants,
    })
}

/// The file and bytes of a span, cut to the text.
fn bytes(span: Span, excerpts: &BTreeMap<SourceId, Excerpt>) -> (Map<String, Value>, usize, usize) {
    let excerpt = excerpts.get(&span.source);
    let within = |at: u32| excerpt.map_or(0, |excerpt| excerpt.within(at as usize));
    let (start, end) = (within(span.start), within(span.end));
    let mut object = Map::new();
    object.insert("file".to_owned(), json!(excerpt.map_or("", Excerpt::name)));
    object.insert("start".to_owned(), json!(start));
    object.insert("end".to_owned(), json!(end));
    (object, start, end)
}

fn place(label: &Label, excerpts: &BTreeMap<SourceId, Excerpt>) -> Value {
    let (mut object, start, end) = bytes(label.span, excerpts);
    let line_column = |at| excerpts.get(&label.span.source).map_or((1, 1), |excerpt| excerpt.line_column(at));
    let ((line, column), (end_line, end_column)) = (line_column(start), line_column(end));
    let places = [("line", line), ("column", column), ("end_line", end_line), ("end_column", end_column)];
    object.extend(places.map(|(key, value)| (key.to_owned(), json!(value))));
    object.insert("text".to_owned(), json!(label.text));
    Value::Object(object)
}

fn replacement(edit: &Edit, excerpts: &BTreeMap<SourceId, Excerpt>) -> Value {
    let (mut object, ..) = bytes(edit.span, excerpts);
    object.insert("text".to_owned(), json!(edit.text));
    Value::Object(object)
}
