//! What can be said of a file at every key that is pressed. An editor shows it at once, and leaves what is known of the finished
//! dial as it was until there is time to work it out.

use super::unread::{Unread, independent};
use crate::check::{Checked, LoadError, Loaded, load};
use crate::diagnostics::Diagnostic;
use crate::project::Project;

/// What is known of a file before anything is worked out: its trees, and what is wrong with syntax, names and kinds.
#[derive(Clone, Debug)]
pub struct QuickCheck {
    /// The design and all that it shares, parsed.
    pub loaded: Loaded,
    /// What was found, in order of place.
    pub findings: Vec<Diagnostic>,
    /// Whether all of the texts could be read.
    pub whole: bool,
}

/// Reads and checks the design `name` and works nothing out: fast enough for every key that is pressed.
///
/// # Errors
/// Only where the design itself cannot be read; all else is a finding.
pub fn quick_check(project: &dyn Project, name: &str, shown_in: &str) -> Result<QuickCheck, LoadError> {
    let mut loaded = load(project, name, shown_in)?;
    let mut problems = std::mem::take(&mut loaded.problems);
    let unread = Unread::of(&problems, &loaded);
    let (_, found) = Checked::new(&loaded, project);
    problems.extend(independent(found, &unread, &loaded.sources));
    Ok(QuickCheck { loaded, findings: problems.into_sorted(), whole: unread.is_empty() })
}
