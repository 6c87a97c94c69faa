//! Findings that a design accepts with a reason.

use crate::check::findings::dial as say;
use crate::design::Accepted;
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity};

/// Marks what is accepted: whatever is found but errors, which must be mended.
pub(super) fn marked(problems: Problems, all: &[Accepted]) -> Problems {
    let mut marked = Problems::default();
    marked.extend(problems.into_iter().map(|found| {
        let by = all.iter().find(|accepted| found.severity < Severity::Error && covers(accepted, &found));
        Diagnostic { accepted: by.map(|accepted| accepted.reason.clone()), ..found }
    }));
    marked
}

/// Acceptances that cover nothing of what was found, of the file as a whole or of one dial.
pub(super) fn unused(all: &[Accepted], shared: &Problems, own: &Problems) -> Problems {
    let mut unused = Problems::default();
    for accepted in all {
        let found = || shared.iter().chain(own.iter()).filter(|found| covers(accepted, found));
        if found().all(|found| found.severity == Severity::Error) {
            let error = found().next().is_some();
            unused.push(say::accepts_nothing(&accepted.finding, accepted.on.as_deref(), error, accepted.origin));
        }
    }
    unused
}

/// Whether it accepts what is found only where what is sought is looked at.
pub(super) fn is_of_seeks(accepted: &Accepted) -> bool {
    [Finding::NotKept, Finding::NotTheBest].iter().any(|finding| finding.name() == accepted.finding)
}

fn covers(accepted: &Accepted, found: &Diagnostic) -> bool {
    accepted.finding == found.finding.name() && accepted.on.as_ref().is_none_or(|on| found.subject.as_ref() == Some(on))
}
