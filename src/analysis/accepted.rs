//! Findings that a design accepts with a reason.

use crate::check::findings::dial as say;
use crate::design::{Accepted, Design};
use crate::diagnostics::{Problems, Severity};

/// Marks the findings that the design accepts, and reports acceptances that cover nothing.
pub(super) fn accepted(problems: Problems, design: &Design) -> Problems {
    let mut used = vec![false; design.accepted.len()];
    let mut marked = Problems::default();
    for mut finding in problems {
        let covers = |accepted: &Accepted| {
            accepted.finding == finding.finding.name()
                && accepted.on.as_ref().is_none_or(|on| finding.subject.as_ref() == Some(on))
        };
        // Only warnings: an error cannot be accepted, and advice asks for nothing.
        if let (Severity::Warning, Some(at)) = (finding.severity, design.accepted.iter().position(covers)) {
            finding.accepted = design.accepted.get(at).map(|accepted| accepted.reason.clone());
            if let Some(used) = used.get_mut(at) {
                *used = true;
            }
        }
        marked.push(finding);
    }
    for (accepted, used) in design.accepted.iter().zip(used) {
        if !used {
            marked.push(say::accepts_nothing(&accepted.finding, accepted.on.as_deref(), accepted.origin));
        }
    }
    marked
}
