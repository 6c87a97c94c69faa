//! Every mend offered for a file of `tests/ui`, made alone: it takes away the finding that offers it, brings no other
//! error, and leaves a text that `tidy` lays out where it mended the last fault of syntax. What is said with a value but
//! not made by us is made by hand in `stated`.

mod stated;
mod table;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use dialwright::analysis::{Request, analyse, quick_check};
use dialwright::cli::disk::DiskProject;
use dialwright::diagnostics::{Diagnostic, Finding, Severity};
use dialwright::format::tidied;
use dialwright::project::{Overlaid, Project};
use dialwright::source::Sources;
use dialwright::syntax::parse;

use crate::{files, stem};

/// What is said of a text.
pub(crate) struct Seen {
    pub(crate) findings: Vec<Diagnostic>,
    sources: Sources,
}

/// Every file of `tests/ui` with what is said of it, worked out once for all these tests.
pub(crate) static SEEN: LazyLock<Vec<(PathBuf, Seen)>> = LazyLock::new(|| {
    in_halves(&files("ui", "dial"), |path| {
        let (disk, name, _) = DiskProject::of(path);
        (path.clone(), Seen::whole(&disk, &name))
    })
});

/// What becomes of each of some things, worked out half by half at the same time.
fn in_halves<T: Sync, U: Send>(things: &[T], of: impl Fn(&T) -> U + Sync) -> Vec<U> {
    let (one, other) = things.split_at(things.len() / 2);
    let all = |things: &[T]| things.iter().map(&of).collect::<Vec<_>>();
    std::thread::scope(|scope| {
        let other = scope.spawn(|| all(other));
        all(one).into_iter().chain(other.join().unwrap()).collect()
    })
}

impl Seen {
    /// By the whole analysis.
    fn whole(project: &dyn Project, name: &str) -> Self {
        let analysis = analyse(project, name, "", &Request::default()).unwrap();
        Self { findings: analysis.findings, sources: analysis.sources }
    }

    /// By parsing and by checking names and kinds alone.
    fn quickly(project: &dyn Project, name: &str) -> Self {
        let checked = quick_check(project, name, "").unwrap();
        Self { findings: checked.findings, sources: checked.loaded.sources }
    }

    fn errors(&self) -> impl Iterator<Item = &Diagnostic> {
        self.findings.iter().filter(|found| found.severity == Severity::Error)
    }

    /// How often this is said, whatever the place.
    fn count(&self, one: &Diagnostic) -> usize {
        let same = |other: &&Diagnostic| other.finding == one.finding && other.message == one.message;
        self.findings.iter().filter(same).count()
    }

    fn count_of(&self, finding: Finding) -> usize {
        self.findings.iter().filter(|found| found.finding == finding).count()
    }

    /// The design's text with the edits of a finding made; none where it offers none, or edits a shared file.
    fn mended(&self, found: &Diagnostic, name: &str) -> Option<String> {
        let own = found.mend.iter().all(|edit| self.sources.file(edit.span.source).name == name);
        let source = found.mend.first().filter(|_| own)?.span.source;
        let mut text = self.sources.file(source).text.to_string();
        let mut edits: Vec<_> = found.mend.iter().collect();
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.span));
        for edit in edits {
            text.replace_range(edit.span.range(), &edit.text);
        }
        Some(text)
    }

    /// Whether a finding's edits change this line of its text.
    fn edits_line(&self, found: &Diagnostic, line: usize) -> bool {
        found.mend.iter().any(|edit| {
            let text = self.sources.file(edit.span.source).text;
            let line_of = |at: usize| text[..at].matches('\n').count() + 1;
            (line_of(edit.span.range().start)..=line_of(edit.span.range().end)).contains(&line)
        })
    }
}

/// Whether an error that shows only after a mend was there before it, hidden: what cannot be read keeps what stands
/// elsewhere from being looked at. A mend answers for the lines that it changes.
fn was_hidden(before: &Seen, found: &Diagnostic, after: &Seen, error: &Diagnostic) -> bool {
    // Files that show one slip are often no whole dials; when it is mended, that is what is left to say.
    let fragment = [Finding::NoTitle, Finding::NoLayers, Finding::NoStack, Finding::NoOutline, Finding::UnknownName];
    let line = error.span().map(|span| after.sources.line_column(span).line);
    let elsewhere = line.is_none_or(|line| !before.edits_line(found, line));
    elsewhere && (before.errors().count() > 1 || fragment.contains(&error.finding))
}

fn faults_of_syntax(name: &str, text: &str) -> usize {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    parse(&sources, id).problems.into_sorted().len()
}

/// What is wrong with the mends of a file, and how many there are.
fn verdicts(path: &Path, whole: &Seen) -> (Vec<String>, usize) {
    let (disk, name, _) = DiskProject::of(path);
    let quick = Seen::quickly(&disk, &name);
    let faults = faults_of_syntax(&name, &std::fs::read_to_string(path).unwrap());
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for found in &whole.findings {
        let Some(text) = whole.mended(found, &name) else { continue };
        tried += 1;
        let mut fault = |what: String| {
            wrong.push(format!("{}: {}: {}: {what}", stem(path), found.finding.name(), found.message));
        };
        if faults == 1 && faults_of_syntax(&name, &text) == 0 && tidied(&name, &text).is_err() {
            fault("tidy does not take the mended text".to_owned());
        }
        let project = Overlaid::new(&disk, [(name.clone(), text)]);
        // Where errors are left that a quick check sees, there is no design to work out.
        let after = Seen::quickly(&project, &name);
        let (before, after) = if quick.count(found) > 0 && after.errors().next().is_some() {
            (&quick, after)
        } else {
            (whole, Seen::whole(&project, &name))
        };
        if after.count(found) >= before.count(found) {
            fault("it is still found".to_owned());
        }
        for error in after.errors().filter(|error| after.count(error) > before.count(error)) {
            if !was_hidden(before, found, &after, error) {
                fault(format!("brings {}: {}", error.finding.name(), error.message));
            }
        }
    }
    (wrong, tried)
}

/// Every finding but errors, of every file without errors, is accepted by a line that names it; none is said to be left over.
#[test]
fn whatever_is_shown_but_errors_can_be_accepted() {
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for (path, before) in &*SEEN {
        let (disk, name, _) = DiskProject::of(path);
        let shown: BTreeSet<Finding> = before.findings.iter().map(|found| found.finding).collect();
        let shown: Vec<Finding> = shown.into_iter().filter(|finding| *finding != Finding::AcceptsNothing).collect();
        if before.errors().next().is_some() || shown.is_empty() {
            continue;
        }
        tried += shown.len();
        let lines = shown.iter().map(|finding| format!("accept {} \"seen\"\n", finding.name()));
        let text = std::fs::read_to_string(path).unwrap() + "\n" + &lines.collect::<String>();
        let after = Seen::whole(&Overlaid::new(&disk, [(name.clone(), text)]), &name);
        // What the file accepts in vain by itself is no matter here.
        let vain = before.count_of(Finding::AcceptsNothing) == after.count_of(Finding::AcceptsNothing);
        let open = after.findings.iter().filter(|found| found.accepted.is_none());
        let open = open.filter(|found| !vain || found.finding != Finding::AcceptsNothing);
        wrong.extend(open.map(|found| format!("{}: {}: {}", stem(path), found.finding.name(), found.message)));
    }
    assert!(wrong.is_empty(), "of {tried}, these are not accepted:\n{}", wrong.join("\n"));
    assert!(tried >= 60, "only {tried} were tried");
}

#[test]
fn every_mend_takes_its_finding_away_and_brings_no_other() {
    let found = in_halves(&SEEN, |(path, whole)| verdicts(path, whole));
    let tried: usize = found.iter().map(|(_, tried)| tried).sum();
    let wrong: Vec<String> = found.into_iter().flat_map(|(wrong, _)| wrong).collect();
    assert!(wrong.is_empty(), "of {tried} mends, these do not mend:\n{}", wrong.join("\n"));
    assert!(tried >= 150, "only {tried} mends were tried");
}
