//! A design whose names and kinds were checked, to be worked out variant by variant. Nothing is kept of a variant that is done
//! with, so that a family may have thousands.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::accepted::{is_of_seeks, marked, unused};
use super::centring::{Examined, examined};
use super::unread::independent;
use super::{Dial, Session, heaviest};
use crate::audit::{Audit, MeasureValue};
use crate::check::findings::values::given_up;
use crate::check::{Checked, Measure, Ranged, Value, Variant, Wanted};
use crate::design::{Accepted, Design};
use crate::diagnostics::Problems;
use crate::limits::WORK;
use crate::plan::Effort;
use crate::project::Project;
use crate::revision::{Files, Recorder, Revision};
use crate::source::Sources;
use crate::syntax::tree::{Expr, Thing};
use crate::vocabulary::measures::MeasureName;
use crate::vocabulary::types::Type;
use crate::work::{Meter, TooMuch};

/// A design whose names and kinds were checked.
pub struct CheckedSession<'s> {
    pub(super) session: &'s Session,
    pub(super) project: &'s dyn Project,
    pub(super) checked: Checked<'s>,
    pub(super) settings: BTreeMap<String, Value>,
    pub(super) shared: Files,
    /// The variants to look at: the one asked for, all of the family, or the plain file, which has no name.
    pub variants: Vec<Option<Variant>>,
    /// What is wrong with the file as a whole; no variant of one with errors can be built.
    pub problems: Problems,
}

/// What came of one variant.
#[derive(Clone, Debug)]
pub struct VariantResult {
    /// The dial; none where something is wrong with its design.
    pub dial: Option<Dial>,
    /// Everything that was found.
    pub problems: Problems,
    /// What it was read from: texts, artwork and typefaces.
    pub files: Files,
}

impl CheckedSession<'_> {
    /// What each param may be, as written; those without bounds left out.
    pub fn bounds(&self) -> Vec<(String, String)> {
        self.checked.bounds()
    }

    /// Every text that was read.
    pub fn sources(&self) -> &Sources {
        self.session.sources()
    }

    /// Where its files come from.
    pub fn project(&self) -> &dyn Project {
        self.project
    }

    /// Whether nobody waits for the answer any more.
    pub fn stopped(&self) -> bool {
        self.session.request.stopped()
    }

    /// The values that params are set to: what is set from outside goes before what the variant sets.
    pub fn values(&self, variant: Option<&Variant>) -> BTreeMap<String, Value> {
        let mut values = variant.map(|variant| variant.settings.clone()).unwrap_or_default();
        // What the command line sets goes before what a variant sets.
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

    /// What the dial is called, values in it as written; empty where the file does not say.
    pub fn title(&self) -> String {
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
        words: Vec<(&str, Type)>,
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

    /// The answer to a question about a dial that was worked out with these values, with values for these words.
    pub(crate) fn answer_of(
        &self,
        question: &Expr,
        values: &BTreeMap<String, Value>,
        words: Vec<(&str, Value)>,
        dial: Option<&Dial>,
    ) -> Option<Value> {
        let measure = |name: MeasureName, subject: Option<&str>| {
            dial.and_then(|dial| measured(&dial.audit, &dial.design, name, subject))
        };
        self.checked.answer(question, values, self.project, words, &measure).0
    }

    /// The params with bounds as they stand with these values.
    pub fn ranged(&self, values: &BTreeMap<String, Value>) -> Vec<Ranged> {
        self.checked.ranged(values, self.project)
    }

    /// The conditions that the file expects of the finished dial.
    pub fn expects(&self) -> impl Iterator<Item = &Expr> {
        self.checked.expects()
    }

    /// What is sought by the file, in the order written.
    pub fn seeks(&self) -> &[&Thing] {
        self.checked.seeks()
    }

    /// These findings of what is sought, accepted where the file says so, with what the file accepts of them in vain.
    pub(crate) fn accepted_of_seeks(&self, found: Problems) -> Problems {
        let of_seeks: Vec<_> = self.checked.accepted().into_iter().filter(is_of_seeks).collect();
        let mut all = marked(found, &of_seeks);
        all.extend(unused(&of_seeks, &Problems::default(), &all));
        all
    }

    /// Assembles, audits and plans one of the variants.
    pub fn analyse_variant(&self, variant: Option<&Variant>) -> VariantResult {
        self.analyse_values(variant, &self.values(variant), self.session.request.effort)
    }

    /// The same with these values for params, whatever the variant sets, and so much effort to save boards.
    pub fn analyse_values(
        &self,
        variant: Option<&Variant>,
        values: &BTreeMap<String, Value>,
        effort: Effort,
    ) -> VariantResult {
        // A recorder for each variant, so that one which uses no artwork does not change with it.
        let project = Recorder::new(self.project);
        let (dial, problems) = self.dial(variant, values, &project, effort);
        let problems = independent(problems, &self.session.unread, &self.session.loaded.sources);
        let problems = marked(problems, &self.checked.accepted());
        let files: Files = self.shared.clone().into_iter().chain(project.files()).collect();
        let dial = dial.map(|dial| Dial { revision: Revision::of(&files, values), files: files.clone(), ..dial });
        VariantResult { dial, problems, files }
    }

    /// The dial, without its files and revision, which are only known when all is done.
    fn dial(
        &self,
        variant: Option<&Variant>,
        values: &BTreeMap<String, Value>,
        project: &Recorder<'_>,
        effort: Effort,
    ) -> (Option<Dial>, Problems) {
        let meter = Meter::new(WORK);
        let (design, mut problems) = self.checked.design(variant, values, project, &meter);
        let Some(design) = design else { return (None, problems) };
        let looked = meter.run(|| {
            let Examined { audit, centring, plan, problems } = examined(&design, effort);
            let unsure = audit.unsure(&design);
            (audit, centring, plan, problems, unsure)
        });
        let Ok((audit, centring, plan, of_plan, unsure)) = looked else {
            problems.extend(heaviest::told(&design));
            return (None, problems);
        };
        problems.extend(audit.problems.clone());
        problems.extend(unsure);
        let measure = |name: MeasureName, subject: Option<&str>| measured(&audit, &design, name, subject);
        let expected = meter.run(|| self.checked.expectations(values, project, &measure));
        let expectations = match expected {
            Ok((expectations, found)) => {
                problems.extend(found);
                expectations
            }
            Err(TooMuch) => {
                problems.push(given_up(None));
                Vec::new()
            }
        };
        problems.extend(of_plan);
        // What is sought is looked at elsewhere, and with it what is accepted of that.
        let told_here = |it: &&Accepted| self.seeks().is_empty() || !is_of_seeks(it);
        let told_here: Vec<Accepted> = design.accepted.iter().filter(told_here).cloned().collect();
        problems.extend(unused(&told_here, &self.problems, &problems));
        let (files, revision) = (Files::new(), Revision::of(&Files::new(), values));
        let quote = OnceLock::new();
        (Some(Dial { design, centring, audit, plan, expectations, files, revision, quote }), problems)
    }
}

/// A measure of the finished dial, as a value of the language.
fn measured(audit: &Audit, design: &Design, name: MeasureName, subject: Option<&str>) -> Option<Value> {
    Some(match audit.measure(design, name, subject.unwrap_or_default())? {
        MeasureValue::Quantity(quantity) => Value::Quantity(quantity),
        MeasureValue::Labels(labels) => {
            Value::List(labels.iter().map(|label| Value::Text(label.as_str().into())).collect())
        }
    })
}
