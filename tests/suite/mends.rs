//! Every mend offered for a file of `tests/ui` takes away the finding that offers it.

use std::path::Path;

use dialwright::analyse::{Analysis, Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::diagnostics::{Diagnostic, Finding};
use dialwright::project::{Project, ReadProblem};

use crate::{files, stem};

/// The files on disk, but for one text in place of the design's own.
struct Mended<'a> {
    disk: DiskProject,
    name: &'a str,
    text: String,
}

impl Project for Mended<'_> {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        if name == self.name { Ok(self.text.clone().into_bytes()) } else { self.disk.read(name, limit) }
    }
}

/// The design's text with the edits of a finding made; none where it offers none, or edits a shared file.
fn mended(analysis: &Analysis, found: &Diagnostic, name: &str) -> Option<String> {
    let own = found.mend.iter().all(|edit| analysis.sources.file(edit.span.source).name == name);
    let source = found.mend.first().filter(|_| own)?.span.source;
    let mut text = analysis.sources.file(source).text.to_string();
    let mut edits: Vec<_> = found.mend.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span));
    for edit in edits {
        text.replace_range(edit.span.range(), &edit.text);
    }
    Some(text)
}

fn count(analysis: &Analysis, finding: Finding) -> usize {
    analysis.findings.iter().filter(|found| found.finding == finding).count()
}

/// The mends of a file that leave as many findings of their name as before.
fn idle(path: &Path) -> Vec<String> {
    let (disk, name, _) = DiskProject::of(path);
    let before = crate::dials::analysed(path);
    let mut idle = Vec::new();
    for found in &before.findings {
        let Some(text) = mended(&before, found, &name) else { continue };
        let project = Mended { disk: disk.clone(), name: &name, text };
        let after = analyse(&project, &name, "", &Request::default()).unwrap();
        if count(&after, found.finding) >= count(&before, found.finding) {
            idle.push(format!("{}: {}: {}", stem(path), found.finding.name(), found.message));
        }
    }
    idle
}

#[test]
fn every_mend_takes_its_finding_away() {
    let idle: Vec<String> = files("ui", "dial").iter().flat_map(|path| idle(path)).collect();
    assert!(idle.is_empty(), "mends that do not mend:\n{}", idle.join("\n"));
}
