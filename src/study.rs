//! A design that was read and checked, to be proven variant by variant. Nothing is kept of a variant that is done with,
//! so that a family may have thousands.
//!
//! ```
//! use std::num::NonZeroUsize;
//!
//! use dialwright::analyse::Request;
//! use dialwright::project::MemoryProject;
//! use dialwright::study::Opened;
//!
//! let text = r#"
//!     dial "Plates"
//!     param across: length = 50mm
//!     outline circle(diameter: across)
//!     layer base of birch { }
//!     family { each across in [40mm, 50mm, 60mm] }
//! "#;
//! let project = MemoryProject::default().with("plates.dial", text);
//! let opened = Opened::open(&project, "plates.dial", "", &Request::default()).expect("the file is there");
//! let study = opened.study(&project);
//! let cut = |variant: &Option<_>, proven: dialwright::study::Proven| {
//!     let plan = proven.dial.and_then(|dial| dial.plan).expect("a plate can be cut");
//!     (variant.as_ref().map(|it: &dialwright::check::Variant| it.name.clone()), plan.cut_length().as_mm().round())
//! };
//! let lengths = study.prove_all(&study.variants, NonZeroUsize::MIN, Option::as_ref, cut, || {}).expect("a thread");
//! assert_eq!(lengths[2].0.as_deref(), Some("across_60mm"));
//! assert!(lengths[0].1 < lengths[1].1 && lengths[1].1 < lengths[2].1);
//! ```

use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroUsize;

use crate::analyse::{Dial, Request};
use crate::audit::{Audit, MeasureValue};
use crate::centring::examined;
use crate::check::findings::dial as say;
use crate::check::kind::Kind;
use crate::check::{Checked, LoadError, Loaded, Measure, SettingText, Value, Variant, Wanted, load};
use crate::design::Design;
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity};
use crate::parallel::each;
use crate::project::Project;
use crate::revision::{Files, Recorder, Revision, of_sources};
use crate::source::{Sources, Span};
use crate::syntax::tree::{Expr, Item};
use crate::syntax::{LexemeKind, lexemes, parse_expression};

/// A design that was read, with what is asked of it.
#[derive(Debug)]
pub struct Opened {
    loaded: Loaded,
    request: Request,
    /// The texts of the files, without those of settings.
    texts_read: Files,
    /// Text that could not be read.
    unread: Unread,
    settings: Vec<SettingText>,
    problems: Problems,
}

impl Opened {
    /// Reads the design `name` and what it shares. `shown_in` is its folder as messages show it.
    ///
    /// # Errors
    /// Only where the design itself cannot be read; all else is a finding.
    pub fn open(project: &dyn Project, name: &str, shown_in: &str, request: &Request) -> Result<Self, LoadError> {
        let mut loaded = load(project, name, shown_in)?;
        let problems = std::mem::take(&mut loaded.problems);
        let mut opened = Self {
            texts_read: of_sources(&loaded.sources),
            unread: Unread::of(&problems, &loaded),
            loaded,
            request: request.clone(),
            settings: Vec::new(),
            problems,
        };
        for (name, text) in &request.settings {
            let value = opened.ask(&format!("--set {name}"), text);
            opened.settings.extend(value.map(|value| SettingText { name: name.clone(), value }));
        }
        Ok(opened)
    }

    /// Reads an expression of the language that came with the flag `from`, such as `--where`. What is wrong with it is
    /// among the problems of the study.
    pub fn ask(&mut self, from: &str, text: &str) -> Option<Expr> {
        let id = self.loaded.sources.add(format!("({from})"), text);
        let (value, found) = parse_expression(&self.loaded.sources, id);
        self.problems.extend(found);
        value
    }

    /// Every text that was read.
    pub fn sources(&self) -> &Sources {
        &self.loaded.sources
    }

    /// Whether this is no dial by itself but something that dials share, such as a shop.
    pub fn is_shared(&self) -> bool {
        let own = self.loaded.files.first().map(|loaded| loaded.file.items.as_slice()).unwrap_or_default();
        let of_dial = |item: &Item| matches!(item, Item::Dial(_) | Item::Layer(_) | Item::Stack(_));
        self.problems.iter().next().is_none() && !own.is_empty() && !own.iter().any(of_dial)
    }

    /// Whether the design has a family.
    pub fn has_family(&self) -> bool {
        let mut items = self.loaded.files.iter().flat_map(|loaded| &loaded.file.items);
        items.any(|item| matches!(item, Item::Family(_)))
    }

    /// Checks names and kinds, and finds the variants.
    pub fn study<'o>(&'o self, project: &'o dyn Project) -> Study<'o> {
        let recorder = Recorder::new(project);
        let mut problems = self.problems.clone();
        let (checked, found) = Checked::new(&self.loaded, &recorder);
        problems.extend(independent(found, &self.unread, &self.loaded.sources));
        let (settings, found) = checked.settings(&self.settings, &recorder);
        problems.extend(found);
        let (all, mut found) = checked.variants(&settings, &recorder);
        let variants = chosen(all, self.request.variant.as_deref(), &mut found);
        problems.extend(independent(found, &self.unread, &self.loaded.sources));
        let shared = self.texts_read.clone().into_iter().chain(recorder.files()).collect();
        Study { opened: self, project, checked, settings, shared, variants, problems }
    }
}

/// A design whose names and kinds were checked.
pub struct Study<'o> {
    opened: &'o Opened,
    project: &'o dyn Project,
    checked: Checked<'o>,
    settings: BTreeMap<String, Value>,
    shared: Files,
    /// The variants to look at: the one asked for, all of the family, or the plain file, which has no name.
    pub variants: Vec<Option<Variant>>,
    /// What is wrong with the file as a whole; no variant of one with errors can be built.
    pub problems: Problems,
}

/// What came of one variant.
#[derive(Clone, Debug)]
pub struct Proven {
    /// The dial; none where something is wrong with its design.
    pub dial: Option<Dial>,
    /// Everything that was found.
    pub problems: Problems,
    /// What it was read from: texts, artwork and typefaces.
    pub files: Files,
}

impl Study<'_> {
    /// What each param may be, as written; those without bounds left out.
    pub fn bounds(&self) -> Vec<(String, String)> {
        self.checked.bounds()
    }

    /// Every text that was read.
    pub fn sources(&self) -> &Sources {
        self.opened.sources()
    }

    /// Whether nobody waits for the answer any more.
    pub fn stopped(&self) -> bool {
        self.opened.request.stopped()
    }

    /// The values that params are set to: what is set from outside goes before what the variant sets.
    pub fn values(&self, variant: Option<&Variant>) -> BTreeMap<String, Value> {
        let mut values = variant.map(|variant| variant.settings.clone()).unwrap_or_default();
        values.extend(self.settings.clone());
        values
    }

    /// The revision of a variant by its texts alone: before anyone has looked which artwork it uses.
    pub fn revision_of_texts(&self, variant: Option<&Variant>) -> Revision {
        Revision::of(&self.shared, &self.values(variant))
    }

    /// Whether a file of this name was read for all variants alike.
    pub fn is_shared(&self, name: &str) -> bool {
        self.shared.contains_key(name)
    }

    /// What the dial is called; empty where the file does not say.
    pub fn title(&self) -> &str {
        self.checked.title()
    }

    /// The value of every param in a variant, as shown to people, in the order declared.
    pub fn params(&self, variant: Option<&Variant>) -> Vec<(String, String)> {
        self.checked.params(&self.values(variant), self.project)
    }

    /// Whether the file gives this name a meaning that can be seen from outside its layers.
    pub fn is_defined(&self, name: &str) -> bool {
        self.checked.is_defined(name)
    }

    /// What is wrong with a question that also knows these words, and measures where it may.
    pub(crate) fn faults_of_question(
        &self,
        question: &Expr,
        wanted: Wanted,
        words: Vec<(&str, Kind)>,
        measures: bool,
    ) -> Problems {
        self.checked.faults_of_question(question, wanted, words, measures)
    }

    /// The answer to a question about a variant, with values for these words and for measures; none where one of them is
    /// missing.
    pub(crate) fn answer(
        &self,
        question: &Expr,
        variant: Option<&Variant>,
        words: Vec<(&str, Value)>,
        measure: Measure<'_>,
    ) -> (Option<Value>, Problems) {
        self.checked.answer(question, &self.values(variant), self.project, words, measure)
    }

    /// Assembles, proves and plans one of the variants.
    pub fn prove(&self, variant: Option<&Variant>) -> Proven {
        let project = Recorder::new(self.project);
        let values = self.values(variant);
        let (dial, problems) = self.dial(variant, &values, &project);
        let problems = independent(problems, &self.opened.unread, &self.opened.loaded.sources);
        let files: Files = self.shared.clone().into_iter().chain(project.files()).collect();
        let dial = dial.map(|dial| Dial { revision: Revision::of(&files, &values), files: files.clone(), ..dial });
        Proven { dial, problems, files }
    }

    /// Proves all these variants, so many at once, and gives what is to be kept of each, in their order; `done` is called
    /// after each.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn prove_all<V: Sync, T: Send>(
        &self,
        variants: &[V],
        threads: NonZeroUsize,
        of: impl Fn(&V) -> Option<&Variant> + Sync,
        keep: impl Fn(&V, Proven) -> T + Sync,
        mut done: impl FnMut(),
    ) -> std::io::Result<Vec<T>> {
        let mut kept: Vec<Option<T>> = variants.iter().map(|_| None).collect();
        each(
            variants,
            threads,
            |variant| keep(variant, self.prove(of(variant))),
            |at, one| {
                done();
                if let Some(place) = kept.get_mut(at) {
                    *place = Some(one);
                }
            },
        )?;
        Ok(kept.into_iter().flatten().collect())
    }

    /// The dial, without its files and revision, which are only known when all is done.
    fn dial(
        &self,
        variant: Option<&Variant>,
        values: &BTreeMap<String, Value>,
        project: &Recorder<'_>,
    ) -> (Option<Dial>, Problems) {
        let request = &self.opened.request;
        let (design, mut problems) = self.checked.design(variant.map(|variant| variant.name.as_str()), values, project);
        let Some(mut design) = design else { return (None, problems) };
        let (audit, planned) = examined(&mut design, request.effort);
        problems.extend(audit.problems.clone());
        if request.draws {
            problems.extend(audit.unsure(&design).clone());
        }
        let measure = |name: &str, subject: Option<&str>| measured(&audit, &design, name, subject);
        let (expectations, found) = self.checked.expectations(values, project, &measure);
        problems.extend(found);
        let (plan, found) = planned;
        problems.extend(found);
        let problems = accepted(problems, &design, request.draws);
        let (files, revision) = (Files::new(), Revision::of(&Files::new(), values));
        (Some(Dial { design, audit, plan, expectations, files, revision }), problems)
    }
}

/// The variants to look at: the one asked for, all of the family, or the plain file.
fn chosen(variants: Vec<Variant>, wanted: Option<&str>, problems: &mut Problems) -> Vec<Option<Variant>> {
    match wanted {
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

/// Text that could not be read.
#[derive(Clone, Debug)]
pub(crate) struct Unread {
    /// Where it is at fault.
    places: Vec<Span>,
    /// The words of items of which nothing could be made out, such as the names that they would have defined.
    words: BTreeSet<String>,
}

impl Unread {
    pub(crate) fn of(problems: &Problems, loaded: &Loaded) -> Self {
        let errors = problems.iter().filter(|found| found.severity == Severity::Error);
        let texts = loaded.lost.iter().map(|lost| loaded.sources.text(*lost));
        let words = texts.flat_map(|text| {
            let words = lexemes(text).into_iter().filter(|piece| piece.kind == LexemeKind::Word);
            words.map(|word| word.of(text).to_owned()).collect::<Vec<String>>()
        });
        Self { places: errors.filter_map(Diagnostic::span).collect(), words: words.collect() }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.places.is_empty()
    }
}

/// The problems without those that only follow from text that could not be read: those at the same place, and those
/// of something missing, which may stand in that text.
pub(crate) fn independent(found: Problems, unread: &Unread, sources: &Sources) -> Problems {
    let overlap = |a: &Span, b: Span| a.source == b.source && a.start < b.end && b.start < a.end;
    let follows = |found: &Diagnostic| {
        let absent = !unread.is_empty() && found.finding.is_of_absence();
        let defined_there =
            |span: Span| found.finding == Finding::UnknownName && unread.words.contains(sources.text(span));
        let touches = |span: Span| unread.places.iter().any(|unread| overlap(unread, span));
        absent || found.span().is_some_and(|span| touches(span) || defined_there(span))
    };
    let mut independent = Problems::default();
    independent.extend(found.into_iter().filter(|found| !follows(found)));
    independent
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
        let found_by_draws = Finding::named(&accepted.finding).is_some_and(Finding::is_found_by_draws);
        if !used && (drawn || !found_by_draws) {
            marked.push(say::accepts_nothing(&accepted.finding, accepted.on.as_deref(), accepted.origin));
        }
    }
    marked
}
