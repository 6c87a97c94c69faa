//! The one way from a file to everything that is known of its dials. Every verb, editor and page goes it.
//!
//! [`analyse`] does all of it at once. Who wants less takes the steps by himself: a [`Session`] is a design that was read,
//! [`Session::check`] checks it and finds its variants, and [`CheckedSession::walk`] goes through them, several at once.
//!
//! ```
//! use std::num::NonZeroUsize;
//!
//! use dialwright::analysis::{Request, Session, Threads};
//! use dialwright::project::MemoryProject;
//!
//! let text = r#"
//!     dial "Plates"
//!     param across: length = 50mm
//!     outline circle(diameter: across)
//!     layer base of birch { }
//!     family { each across in [40mm, 50mm, 60mm] }
//! "#;
//! let project = MemoryProject::default().with("plates.dial", text);
//! let session = Session::open(&project, "plates.dial", "", &Request::default()).expect("the file is there");
//! let checked = session.check(&project);
//! let cut = |variant: &Option<dialwright::check::Variant>| {
//!     let result = checked.analyse_variant(variant.as_ref());
//!     let plan = result.dial.and_then(|dial| dial.plan).expect("a plate can be cut");
//!     (variant.as_ref().map(|it| it.name.clone()), plan.cut_length().as_mm().round())
//! };
//! let lengths = checked.walk(&checked.variants, Threads::AtOnce(NonZeroUsize::MIN), cut, || {});
//! assert_eq!(lengths[2].0.as_deref(), Some("across_60mm"));
//! assert!(lengths[0].1 < lengths[1].1 && lengths[1].1 < lengths[2].1);
//! ```

mod accepted;
mod centring;
mod checked;
mod heaviest;
mod merge;
mod quick_check;
mod session;
mod unread;
mod variants;
mod verdict;
#[cfg(test)]
mod yield_tests;

pub use crate::audit::Share;
pub use checked::{CheckedSession, VariantResult};
pub(crate) use merge::merged;
pub use quick_check::{QuickCheck, quick_check};
pub use session::Session;
pub use variants::Threads;
pub use verdict::{Counts, Holding, InSlot, Reading, Verdict};

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use crate::audit::Audit;
use crate::check::{Expectation, LoadError, Variant};
use crate::design::{Assumption, Centring, Design};
use crate::diagnostics::{Diagnostic, Problems, Severity};
use crate::plan::{Effort, Plan};
use crate::project::Project;
use crate::quote::{Quote, quote};
use crate::revision::{Files, Revision};
use crate::source::Sources;

/// What is asked for.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Params set from outside: name and value as text.
    pub settings: Vec<(String, String)>,
    /// One variant of the family; all of them where none is named.
    pub variant: Option<String>,
    /// How hard a layout on fewer boards is searched for.
    pub effort: Effort,
    /// Once it is set, no further variant is looked at: nobody waits for the answer any more.
    pub stop: Option<Arc<AtomicBool>>,
}

impl Request {
    pub(crate) fn stopped(&self) -> bool {
        self.stop.as_ref().is_some_and(|stop| stop.load(Ordering::Relaxed))
    }
}

/// One dial, audited and planned.
#[derive(Clone, Debug)]
pub struct Dial {
    /// The design.
    pub design: Design,
    /// What turning its parts over leaves of their centring.
    pub centring: Centring,
    /// What was measured on it.
    pub audit: Audit,
    /// How it is made; none where it cannot be.
    pub plan: Option<Plan>,
    /// How every expectation of the file turned out.
    pub expectations: Vec<Expectation>,
    /// What it was read from: texts, artwork and typefaces.
    pub files: Files,
    /// The state of all that it was read from, of what was set, and of the tool.
    pub revision: Revision,
    quote: OnceLock<Quote>,
}

impl Dial {
    /// What the run takes and costs; none where there is no plan. Reckoned when it is first asked for.
    pub fn quote(&self) -> Option<&Quote> {
        let plan = self.plan.as_ref()?;
        Some(self.quote.get_or_init(|| quote(&self.design, plan)))
    }

    /// What was taken for all that the file leaves out.
    pub fn assumptions(&self) -> impl Iterator<Item = &Assumption> {
        self.design.assumptions.iter().chain(&self.centring.assumption)
    }

    /// How it is made, and what that takes; none where it cannot be made.
    pub fn made(&self) -> Option<(&Plan, &Quote)> {
        self.plan.as_ref().zip(self.quote())
    }
}

/// Everything that is known of a file.
#[derive(Clone, Debug)]
pub struct Analysis {
    /// Every text that was read.
    pub sources: Sources,
    /// All findings, in order of place; those of several variants once.
    pub findings: Vec<Diagnostic>,
    /// The dials, one for a file without a family.
    pub dials: Vec<Dial>,
    /// What they come to.
    pub verdict: Verdict,
    /// Names of the variants that have errors, so that nothing of them can be built.
    pub failed: Vec<String>,
    /// What each param may be, as written; those without bounds left out.
    pub bounds: Vec<(String, String)>,
}

impl Analysis {
    /// Whether an error is among the findings.
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|finding| finding.severity == Severity::Error)
    }

    /// The findings of one of the dials, in order of place.
    pub fn of_dial<'a>(&'a self, dial: &'a Dial) -> impl Iterator<Item = &'a Diagnostic> {
        let variant = dial.design.variant.as_ref();
        let concerns = move |found: &&Diagnostic| {
            found.variants.is_empty() || variant.is_some_and(|variant| found.variants.contains(variant))
        };
        self.findings.iter().filter(concerns)
    }

    /// How many findings still ask for something.
    pub fn standing(&self) -> usize {
        self.findings.iter().filter(|finding| finding.stands()).count()
    }
}

/// Reads, checks, audits and plans the design `name`. `shown_in` is its folder as messages show it.
///
/// # Errors
/// Only where the design itself cannot be read; all else is a finding.
pub fn analyse(project: &dyn Project, name: &str, shown_in: &str, request: &Request) -> Result<Analysis, LoadError> {
    Ok(analyse_session(&Session::open(project, name, shown_in, request)?, project))
}

/// Checks, audits and plans a design that was read from this project.
pub fn analyse_session(session: &Session, project: &dyn Project) -> Analysis {
    let checked = session.check(project);
    let mut analysis = Analysis {
        sources: session.sources().clone(),
        findings: Vec::new(),
        dials: Vec::new(),
        verdict: Verdict::default(),
        failed: Vec::new(),
        bounds: checked.bounds(),
    };
    let one = |variant: &Option<Variant>| {
        (variant.as_ref().map(|variant| variant.name.clone()), checked.analyse_variant(variant.as_ref()))
    };
    let mut gathered: Vec<(Option<String>, Problems)> = Vec::new();
    let mut verdicts = Vec::new();
    for (name, result) in checked.walk(&checked.variants, Threads::InTurn, one, || {}) {
        if result.problems.has_errors() {
            analysis.failed.extend(name.clone());
        }
        verdicts.push(Verdict::of(&result));
        analysis.dials.extend(result.dial);
        gathered.push((name, result.problems));
    }
    if checked.problems.has_errors() {
        analysis.dials.clear();
        verdicts.clear();
    }
    analysis.findings = merged(checked.problems, gathered);
    analysis.verdict = Verdict::of_all(&verdicts, &analysis.findings);
    analysis
}
