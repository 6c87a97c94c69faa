//! Applies mends to files.

use std::collections::BTreeMap;
use std::path::Path;

use super::disk::{DiskProject, replace};
use crate::diagnostics::{Diagnostic, Edit};
use crate::source::{SourceId, Sources};

/// Applies every mend to the files of the design, and says how many findings that took care of.
///
/// Mends that overlap an earlier one wait for the next run. Files are replaced whole, so that one that
/// cannot be written keeps its text.
pub(super) fn apply(findings: &[Diagnostic], sources: &Sources, file: &Path) -> Result<usize, String> {
    let (project, ..) = DiskProject::of(file);
    let mut per_file: BTreeMap<SourceId, Vec<Edit>> = BTreeMap::new();
    let mut mended = 0;
    for finding in findings.iter().filter(|finding| !finding.mend.is_empty()) {
        let clashes = finding.mend.iter().any(|edit| {
            per_file.get(&edit.span.source).is_some_and(|edits| edits.iter().any(|other| overlap(other, edit)))
        });
        // Texts of ours, such as the built-in shop, have names in brackets and are no files.
        let ours = finding.mend.iter().any(|edit| sources.file(edit.span.source).name.starts_with('('));
        if clashes || ours {
            continue;
        }
        for edit in &finding.mend {
            per_file.entry(edit.span.source).or_default().push(edit.clone());
        }
        mended += 1;
    }
    write(per_file, sources, &project, "mended")?;
    Ok(mended)
}

/// Makes these edits, none of which overlap, in the files of the design.
pub(super) fn make(edits: Vec<Edit>, sources: &Sources, file: &Path) -> Result<(), String> {
    let (project, ..) = DiskProject::of(file);
    let mut per_file: BTreeMap<SourceId, Vec<Edit>> = BTreeMap::new();
    for edit in edits {
        per_file.entry(edit.span.source).or_default().push(edit);
    }
    write(per_file, sources, &project, "written")
}

fn write(
    per_file: BTreeMap<SourceId, Vec<Edit>>,
    sources: &Sources,
    project: &DiskProject,
    done: &str,
) -> Result<(), String> {
    for (id, edits) in per_file {
        let source = sources.file(id);
        let text = edited(&source.text, edits);
        replace(&project.path(&source.name), &source.text, &text)
            .map_err(|error| format!("`{}` cannot be {done}: {error}", source.name))?;
    }
    Ok(())
}

fn overlap(one: &Edit, other: &Edit) -> bool {
    let (one, other) = (one.span.range(), other.span.range());
    // Two insertions at one place have no length to overlap by, and which came first would be chance.
    one == other || (one.start < other.end && other.start < one.end)
}

/// The text with all edits made, the last first so that the places of the others stay true.
fn edited(text: &str, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span));
    let mut text = text.to_owned();
    for edit in edits {
        if text.get(edit.span.range()).is_some() {
            text.replace_range(edit.span.range(), &edit.text);
        }
    }
    text
}
