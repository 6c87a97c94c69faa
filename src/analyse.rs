//! The one way from a file to everything that is known of its dials. Every verb, editor and page calls it.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::audit::Audit;
use crate::check::{Checked, Expectation, LoadError, Loaded, load};
use crate::design::Design;
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity};
use crate::plan::{Effort, Plan};
use crate::project::Project;
use crate::revision::{Files, Revision};
use crate::source::{Sources, Span};
use crate::study::{Opened, Unread, independent};

/// What is asked for.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Params set from outside: name and value as text.
    pub settings: Vec<(String, String)>,
    /// One variant of the family; all of them where none is named.
    pub variant: Option<String>,
    /// Whether dials are drawn within the shop's spreads, to find readings that are right too seldom.
    pub draws: bool,
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

/// One dial, proven and planned.
#[derive(Clone, Debug)]
pub struct Dial {
    /// The design.
    pub design: Design,
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

/// What is known of a file before anything is worked out: its trees, and what is wrong with syntax, names and kinds.
#[derive(Clone, Debug)]
pub struct Glance {
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
pub fn glance(project: &dyn Project, name: &str, shown_in: &str) -> Result<Glance, LoadError> {
    let mut loaded = load(project, name, shown_in)?;
    let mut problems = std::mem::take(&mut loaded.problems);
    let unread = Unread::of(&problems, &loaded);
    let (_, found) = Checked::new(&loaded, project);
    problems.extend(independent(found, &unread, &loaded.sources));
    Ok(Glance { loaded, findings: problems.into_sorted(), whole: unread.is_empty() })
}

/// Reads, checks, proves and plans the design `name`.
///
/// # Errors
/// Only where the design itself cannot be read; all else is a finding.
pub fn analyse(project: &dyn Project, name: &str, shown_in: &str, request: &Request) -> Result<Analysis, LoadError> {
    Ok(of_opened(&Opened::open(project, name, shown_in, request)?, project))
}

/// Checks, proves and plans a design that was read from this project.
pub fn of_opened(opened: &Opened, project: &dyn Project) -> Analysis {
    let study = opened.study(project);
    let mut analysis = Analysis {
        sources: opened.sources().clone(),
        findings: Vec::new(),
        dials: Vec::new(),
        failed: Vec::new(),
        bounds: study.bounds(),
    };
    let mut gathered: Vec<(Option<String>, Problems)> = Vec::new();
    for variant in &study.variants {
        if study.stopped() {
            break;
        }
        let proven = study.prove(variant.as_ref());
        let name = variant.as_ref().map(|variant| variant.name.clone());
        if proven.problems.has_errors() {
            analysis.failed.extend(name.clone());
        }
        analysis.dials.extend(proven.dial);
        gathered.push((name, proven.problems));
    }
    if study.problems.has_errors() {
        analysis.dials.clear();
    }
    analysis.findings = merged(study.problems, gathered);
    analysis
}

/// All findings in order of place. One that several variants share is shown once; one that only some have
/// names them.
pub(crate) fn merged(problems: Problems, gathered: Vec<(Option<String>, Problems)>) -> Vec<Diagnostic> {
    let total = gathered.len();
    let mut seen: Vec<(Diagnostic, Vec<String>)> = Vec::new();
    // Where those of the same name and place stand among the seen: of a large family each needs few looks.
    let mut placed: BTreeMap<(Finding, Option<Span>), Vec<usize>> = BTreeMap::new();
    for (name, found) in gathered {
        for finding in found {
            let variant = name.clone().unwrap_or_default();
            let alike = placed.entry((finding.finding, finding.span())).or_default();
            let known = alike.iter().copied().find(|at| seen.get(*at).is_some_and(|(known, _)| *known == finding));
            match known.and_then(|at| seen.get_mut(at)) {
                Some((_, variants)) if variants.contains(&variant) => {}
                Some((_, variants)) => variants.push(variant),
                None => {
                    alike.push(seen.len());
                    seen.push((finding, vec![variant]));
                }
            }
        }
    }
    let mut all = problems;
    for (mut finding, variants) in seen {
        if variants.len() < total {
            finding.variants = variants;
        }
        all.push(finding);
    }
    all.into_sorted()
}
