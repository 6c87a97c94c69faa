//! Diagnostics as a SARIF log: "Static Analysis Results Interchange Format (SARIF) Version 2.1.0", OASIS Standard, 27 March
//! 2020. Hosts of repositories and editors read it.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use super::super::{Diagnostic, Edit, Finding, Label, Severity};
use super::excerpt::Excerpt;
use crate::source::{SourceId, Sources};

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

type Excerpts<'a> = BTreeMap<SourceId, Excerpt>;

/// One log with the findings of several designs, each with the texts it lies in. Columns are counted in characters;
/// files are named relative to where the command was run. What was accepted is marked as suppressed, with its reason.
pub fn as_sarif(designs: &[(&[Diagnostic], &Sources)]) -> Value {
    let mut names: Vec<Finding> = designs.iter().flat_map(|(found, _)| found.iter().map(|it| it.finding)).collect();
    names.sort_unstable();
    names.dedup();
    let results = designs.iter().flat_map(|(found, sources)| {
        let excerpts: Excerpts =
            sources.iter().map(|(id, file)| (id, Excerpt::shown(file, sources.shown_name(id)))).collect();
        let names = &names;
        found.iter().map(move |finding| result(finding, names, &excerpts))
    });
    json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "dialwright",
                "version": env!("CARGO_PKG_VERSION"),
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": names.iter().map(|name| rule(*name)).collect::<Vec<_>>(),
            }},
            // The default is UTF-16 units, and our columns are characters.
            "columnKind": "unicodeCodePoints",
            "results": results.collect::<Vec<_>>(),
        }],
    })
}

/// What a finding is about: the first paragraph of its page, and all of it.
fn rule(finding: Finding) -> Value {
    let page = finding.page();
    let paragraphs = page.split("\n\n").map(str::trim).filter(|text| !text.is_empty() && !text.starts_with('#'));
    let first = paragraphs.map(|text| text.split_whitespace().collect::<Vec<_>>().join(" ")).next().unwrap_or_default();
    json!({
        "id": finding.name(),
        "shortDescription": { "text": first.split_inclusive(". ").next().unwrap_or(&first).trim() },
        "fullDescription": { "text": first },
        "help": { "text": page, "markdown": page },
    })
}

fn result(found: &Diagnostic, names: &[Finding], excerpts: &Excerpts<'_>) -> Value {
    let level = match found.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "note",
    };
    let help = found.help.as_ref().map(|help| format!("; {help}")).unwrap_or_default();
    // What came from the command line or is built in has no file to show.
    let is_file = |label: &&Label| excerpts.get(&label.span.source).is_some_and(|it| !it.name().starts_with('('));
    let mut places = found.labels.iter().filter(is_file).map(|label| location(label, excerpts));
    let mut all = Map::new();
    all.insert("ruleId".to_owned(), json!(found.finding.name()));
    all.insert("ruleIndex".to_owned(), json!(names.binary_search(&found.finding).ok()));
    all.insert("level".to_owned(), json!(level));
    all.insert("message".to_owned(), json!({ "text": format!("{}{help}", found.message) }));
    all.insert("locations".to_owned(), places.next().into_iter().collect());
    all.insert("relatedLocations".to_owned(), places.collect());
    if let Some(reason) = &found.accepted {
        all.insert("suppressions".to_owned(), json!([{ "kind": "inSource", "justification": reason }]));
    }
    if !found.mend.is_empty() {
        all.insert("fixes".to_owned(), json!([fix(&found.mend, excerpts)]));
    }
    Value::Object(all)
}

fn location(label: &Label, excerpts: &Excerpts<'_>) -> Value {
    let (name, region) = place(label.span.source, label.span.range(), excerpts);
    let mut all = Map::new();
    all.insert("physicalLocation".to_owned(), json!({ "artifactLocation": { "uri": uri(name) }, "region": region }));
    if !label.text.is_empty() {
        all.insert("message".to_owned(), json!({ "text": label.text }));
    }
    Value::Object(all)
}

/// The name of a file and a stretch of it, lines and columns from 1, its end not included.
fn place<'e>(source: SourceId, range: std::ops::Range<usize>, excerpts: &'e Excerpts<'_>) -> (&'e str, Value) {
    let Some(excerpt) = excerpts.get(&source) else { return ("", json!({ "startLine": 1 })) };
    let (start, end) =
        (excerpt.line_column(excerpt.within(range.start)), excerpt.line_column(excerpt.within(range.end)));
    let region = json!({ "startLine": start.0, "startColumn": start.1, "endLine": end.0, "endColumn": end.1 });
    (excerpt.name(), region)
}

/// All edits of a mend, those of one file together.
fn fix(mend: &[Edit], excerpts: &Excerpts<'_>) -> Value {
    let mut files: BTreeMap<SourceId, (&str, Vec<Value>)> = BTreeMap::new();
    for edit in mend {
        let (name, region) = place(edit.span.source, edit.span.range(), excerpts);
        let replacement = json!({ "deletedRegion": region, "insertedContent": { "text": edit.text } });
        files.entry(edit.span.source).or_insert((name, Vec::new())).1.push(replacement);
    }
    let changes = files
        .into_values()
        .map(|(name, edits)| json!({ "artifactLocation": { "uri": uri(name) }, "replacements": edits }));
    json!({ "description": { "text": "apply the mend" }, "artifactChanges": changes.collect::<Vec<_>>() })
}

/// A relative reference of RFC 3986: what is not unreserved there is written as its bytes, the slash apart.
fn uri(name: &str) -> String {
    let mut text = String::new();
    for byte in name.replace('\\', "/").bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            text.push(char::from(byte));
        } else {
            text += &format!("%{byte:02X}");
        }
    }
    text
}
