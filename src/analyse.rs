//! The one way from a file to everything that is known of its dials. Every verb, editor and page calls it.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::audit::{Audit, MeasureValue, audit};
use crate::check::{Checked, Expectation, LoadError, Loaded, SettingText, Value, Variant, load};
use crate::design::{self, Design};
use crate::diagnostics::findings::dial as say;
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity};
use crate::parallel::side_by_side;
use crate::plan::{Effort, Plan, least_centred, plan_with};
use crate::project::Project;
use crate::revision::{Files, Recorder, Revision, of_sources};
use crate::source::{Sources, Span};
use crate::syntax::parse_expression;
use crate::units::{Length, plain};

/// Findings of something that is not there.
const OF_ABSENCE: [Finding; 8] = [
    Finding::EmptyFamily,
    Finding::LayersNotJoined,
    Finding::MissingField,
    Finding::NoLayers,
    Finding::NoOutline,
    Finding::NoStack,
    Finding::NoTitle,
    Finding::RingWithoutRadius,
];

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
    fn stopped(&self) -> bool {
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
    let unread = unread(&problems);
    let (_, found) = Checked::new(&loaded, project);
    problems.extend(independent(found, &unread));
    Ok(Glance { loaded, findings: problems.into_sorted(), whole: unread.is_empty() })
}

/// Where text could not be read.
fn unread(problems: &Problems) -> Vec<Span> {
    problems.iter().filter(|found| found.severity == Severity::Error).filter_map(Diagnostic::span).collect()
}

/// Reads, checks, proves and plans the design `name`.
///
/// # Errors
/// Only where the design itself cannot be read; all else is a finding.
pub fn analyse(project: &dyn Project, name: &str, shown_in: &str, request: &Request) -> Result<Analysis, LoadError> {
    let mut loaded = load(project, name, shown_in)?;
    let texts_read = of_sources(&loaded.sources);
    let recorder = Recorder::new(project);
    let mut problems = std::mem::take(&mut loaded.problems);
    let unread = unread(&problems);
    let texts = setting_texts(&mut loaded.sources, request, &mut problems);
    let (checked, found) = Checked::new(&loaded, &recorder);
    problems.extend(independent(found, &unread));
    let mut analysis = Analysis {
        sources: Sources::default(),
        findings: Vec::new(),
        dials: Vec::new(),
        failed: Vec::new(),
        bounds: checked.bounds(),
    };
    let (settings, found) = checked.settings(&texts, &recorder);
    problems.extend(found);
    let mut gathered: Vec<(Option<String>, Problems)> = Vec::new();
    let mut found = Problems::default();
    let variants = chosen(&checked, &settings, request, &recorder, &mut found);
    problems.extend(independent(found, &unread));
    let shared: Files = texts_read.into_iter().chain(recorder.files()).collect();
    for variant in variants {
        if request.stopped() {
            break;
        }
        let (dial, found) = one_dial(&checked, &settings, variant.as_ref(), request, (project, &shared));
        let found = independent(found, &unread);
        let name = variant.map(|variant| variant.name);
        if found.has_errors() {
            analysis.failed.extend(name.clone());
        }
        analysis.dials.extend(dial);
        gathered.push((name, found));
    }
    let parsed_ill = problems.has_errors();
    analysis.findings = merged(problems, gathered);
    if parsed_ill {
        analysis.dials.clear();
    }
    analysis.sources = loaded.sources.clone();
    Ok(analysis)
}

/// The problems without those that only follow from text that could not be read: those at the same place, and those
/// of something missing, which may stand in that text.
fn independent(found: Problems, unread: &[Span]) -> Problems {
    let overlap = |a: &Span, b: Span| a.source == b.source && a.start < b.end && b.start < a.end;
    let follows = |found: &Diagnostic| {
        let absent = !unread.is_empty() && OF_ABSENCE.contains(&found.finding);
        absent || found.span().is_some_and(|span| unread.iter().any(|unread| overlap(unread, span)))
    };
    let mut independent = Problems::default();
    independent.extend(found.into_iter().filter(|found| !follows(found)));
    independent
}

fn setting_texts(sources: &mut Sources, request: &Request, problems: &mut Problems) -> Vec<SettingText> {
    let mut texts = Vec::new();
    for (name, text) in &request.settings {
        let id = sources.add(format!("(--set {name})"), text.as_str());
        let (value, found) = parse_expression(sources, id);
        problems.extend(found);
        texts.extend(value.map(|value| SettingText { name: name.clone(), value }));
    }
    texts
}

/// The variants to look at: the one asked for, all of the family, or the plain file.
fn chosen(
    checked: &Checked<'_>,
    settings: &BTreeMap<String, Value>,
    request: &Request,
    project: &dyn Project,
    problems: &mut Problems,
) -> Vec<Option<Variant>> {
    let (variants, found) = checked.variants(settings, project);
    problems.extend(found);
    match &request.variant {
        None if variants.is_empty() => vec![None],
        None => variants.into_iter().map(Some).collect(),
        Some(name) => match variants.iter().find(|variant| variant.name == *name) {
            Some(variant) => vec![Some(variant.clone())],
            None => {
                let known: Vec<&str> = variants.iter().map(|variant| variant.name.as_str()).collect();
                problems.push(say::unknown_variant(name, &known));
                Vec::new()
            }
        },
    }
}

fn one_dial(
    checked: &Checked<'_>,
    settings: &BTreeMap<String, Value>,
    variant: Option<&Variant>,
    request: &Request,
    (project, shared): (&dyn Project, &Files),
) -> (Option<Dial>, Problems) {
    let project = &Recorder::new(project);
    // What is set from outside goes before what the variant sets.
    let mut values = variant.map(|variant| variant.settings.clone()).unwrap_or_default();
    values.extend(settings.clone());
    let (design, mut problems) = checked.design(variant.map(|variant| variant.name.as_str()), &values, project);
    let Some(mut design) = design else { return (None, problems) };
    centring(&mut design);
    let (audit, planned) = side_by_side(|| audit(&design), || plan_with(&design, request.effort));
    problems.extend(audit.problems.clone());
    if request.draws {
        problems.extend(audit.unsure(&design).clone());
    }
    let (expectations, found) =
        checked.expectations(&values, project, &|name, subject| measured(&audit, &design, name, subject));
    problems.extend(found);
    let (plan, found) = planned;
    problems.extend(found);
    let problems = accepted(problems, &design, request.draws);
    let files: Files = shared.clone().into_iter().chain(project.files()).collect();
    let revision = Revision::of(&files, &values);
    (Some(Dial { design, audit, plan, expectations, files, revision }), problems)
}

/// Where the shop states no centring of the pockets, the play of a part that is turned over gives it: a place drawn evenly
/// from a disc strays by half its radius along each axis, as its standard deviation.
fn centring(design: &mut Design) {
    if design.spreads.concentricity.is_some() {
        return;
    }
    let found = least_centred(design).map(|(layer, play)| (layer.name.clone(), layer.origin, play.shift));
    if let Some((name, origin, shift)) = found {
        let strays = Length::mm(shift.as_mm() / 2.0);
        design.spreads.from_turning = Some(strays);
        let why = format!("`{name}` may lie up to {}mm off its place once it is turned over", plain(shift.as_mm(), 3));
        let taken = format!("{}mm", plain(strays.as_mm(), 3));
        design.defaults.push(design::Default { what: "concentricity of the pockets".to_owned(), taken, why, origin });
    }
}

/// A measure of the finished dial, as a value of the language.
fn measured(audit: &Audit, design: &Design, name: &str, subject: Option<&str>) -> Option<Value> {
    Some(match audit.measure(design, name, subject.unwrap_or_default())? {
        MeasureValue::Quantity(quantity) => Value::Quantity(quantity),
        MeasureValue::Labels(labels) => {
            Value::List(labels.iter().map(|label| Value::Text(label.as_str().into())).collect())
        }
    })
}

/// Marks the findings that the design accepts, and reports acceptances that cover nothing. What only the draws
/// can find may be accepted where none were made.
fn accepted(problems: Problems, design: &Design, drawn: bool) -> Problems {
    let mut used = vec![false; design.accepted.len()];
    let mut marked = Problems::default();
    for mut finding in problems {
        let covers = |accepted: &crate::design::Accepted| {
            accepted.finding == finding.finding.name()
                && accepted.on.as_ref().is_none_or(|on| finding.subject.as_ref() == Some(on))
        };
        if let (Severity::Warning, Some(at)) = (finding.severity, design.accepted.iter().position(covers)) {
            finding.accepted = design.accepted.get(at).map(|accepted| accepted.reason.clone());
            if let Some(used) = used.get_mut(at) {
                *used = true;
            }
        }
        marked.push(finding);
    }
    for (accepted, used) in design.accepted.iter().zip(used) {
        let found_by_draws = accepted.finding == Finding::ReadingUnsure.name();
        if !used && (drawn || !found_by_draws) {
            marked.push(say::accepts_nothing(&accepted.finding, accepted.on.as_deref(), accepted.origin));
        }
    }
    marked
}

/// All findings in order of place. One that several variants share is shown once; one that only some have
/// names them.
fn merged(problems: Problems, gathered: Vec<(Option<String>, Problems)>) -> Vec<Diagnostic> {
    let total = gathered.len();
    let mut seen: Vec<(Diagnostic, Vec<String>)> = Vec::new();
    for (name, found) in gathered {
        for finding in found {
            let variant = name.clone().unwrap_or_default();
            match seen.iter_mut().find(|(known, _)| *known == finding) {
                Some((_, variants)) if variants.contains(&variant) => {}
                Some((_, variants)) => variants.push(variant),
                None => seen.push((finding, vec![variant])),
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
