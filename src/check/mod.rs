//! From trees to designs: names, kinds, values, variants.
//!
//! [`load()`] reads a design and what it shares; [`Checked::new`] checks names and kinds once; then every
//! variant is evaluated by itself with [`Checked::design`].

pub mod assemble;
pub mod evaluate;
mod expect;
pub mod family;
pub(crate) mod findings;
pub mod load;
pub mod names;
mod params;
pub mod program;
mod stated;
mod tables;
mod typecheck;
mod typefaces;
pub mod value;

use std::collections::BTreeMap;

pub use evaluate::{Measure, compared as holds};
pub use expect::Expectation;
pub use family::Variant;
pub use load::{LoadError, Loaded, load};
pub use params::{Range, Ranged, SettingText};
pub use stated::{rewritten, unit_of};
pub use typecheck::{Wanted, type_of};
pub use value::Value;

use crate::design::{Accepted, Design};
use crate::diagnostics::Problems;
use crate::format;
use crate::lettering::Typeface;
use crate::limits::WORK;
use crate::project::Project;
use crate::source::Sources;
use crate::syntax::tree::{Bounds, Expr, ExprKind, File, Thing};
use crate::vocabulary::types::Type;
use crate::work::{Meter, TooMuch, counted};
use assemble::{Frame, assemble};
pub use assemble::{Shop, doubted};
use evaluate::{Evaluator, World};
use names::Names;
use program::Program;
use tables::Tables;

/// A design whose names and kinds have been checked.
pub struct Checked<'t> {
    sources: &'t Sources,
    nominal_shop: bool,
    program: Program<'t>,
    names: Names<'t>,
    typeface: Typeface,
}

impl<'t> Checked<'t> {
    /// Checks names and kinds, and opens the typeface.
    pub fn new(loaded: &'t Loaded, project: &dyn Project) -> (Self, Problems) {
        let files: Vec<&File> = loaded.files.iter().map(|loaded| &loaded.file).collect();
        // The built-in shop is loaded last, after all that the maker shares.
        let built_in = files.last().map(|file| file.source).filter(|_| loaded.nominal_shop);
        // Nothing of this can grow but the search for what a name may have been meant to be, which is left out in the end.
        let (names, program, mut problems) = counted(Some(Meter::new(WORK / 4)), || {
            let (names, mut problems) = Names::gather_beside(&files, built_in);
            let (program, twice) = Program::sort(&files);
            problems.extend(twice);
            problems.extend(typecheck::typecheck(&files, &names, Tables::new(&loaded.sources, project)));
            (names, program, problems)
        });
        let typeface = typeface(&program, &loaded.sources, project, &mut problems);
        (Self { sources: &loaded.sources, nominal_shop: loaded.nominal_shop, program, names, typeface }, problems)
    }

    fn world<'w>(&'w self, settings: &'w BTreeMap<String, Value>, project: &'w dyn Project) -> World<'w> {
        World { names: &self.names, settings, project, typeface: &self.typeface, sources: self.sources }
    }

    /// What every name stands for.
    pub fn names(&self) -> &Names<'t> {
        &self.names
    }

    /// Works out single values, with these set for params.
    pub fn evaluator<'w>(&'w self, settings: &'w BTreeMap<String, Value>, project: &'w dyn Project) -> Evaluator<'w> {
        Evaluator::new(self.world(settings, project))
    }

    /// The variants of the family; none for a file without one.
    pub fn variants(&self, settings: &BTreeMap<String, Value>, project: &dyn Project) -> (Vec<Variant>, Problems) {
        family::variants(&self.program, self.world(settings, project))
    }

    /// The findings that the file accepts.
    pub fn accepted(&self) -> Vec<Accepted> {
        self.program.accepted()
    }

    /// What the dial is called, values in it as written: they differ from variant to variant. Empty where the file does not
    /// say.
    pub fn title(&self) -> String {
        let text = |title: &Expr| format::written(title, &self.sources.file(title.span.source).text);
        self.program.title.map_or_else(String::new, text)
    }

    /// Whether a name means something outside of the layers.
    pub fn is_defined(&self, name: &str) -> bool {
        self.names.get(name, None).is_some()
    }

    /// The value of every param with these set, as shown to people, in the order declared.
    pub fn params(&self, settings: &BTreeMap<String, Value>, project: &dyn Project) -> Vec<(String, String)> {
        let mut eval = Evaluator::new(self.world(settings, project));
        let params = self.program.params.iter();
        params.filter_map(|param| Some((param.name.text.clone(), eval.named(&param.name.text)?.to_string()))).collect()
    }

    /// What is wrong with a question about a variant that also knows these words, and measures where it may.
    pub fn faults_of_question(
        &self,
        question: &Expr,
        wanted: Wanted,
        words: Vec<(&str, Type)>,
        measures: bool,
    ) -> Problems {
        typecheck::typecheck_question(question, wanted, &self.names, words, measures)
    }

    /// The answer to a question about a variant, with values for these words and for measures; none where one of them
    /// is missing.
    pub fn answer(
        &self,
        question: &Expr,
        settings: &BTreeMap<String, Value>,
        project: &dyn Project,
        words: Vec<(&str, Value)>,
        measure: Measure<'_>,
    ) -> (Option<Value>, Problems) {
        let mut eval = Evaluator::new(self.world(settings, project)).measuring(measure).knowing(words);
        let value = eval.value(question);
        (value, eval.problems)
    }

    /// Values for params, from their texts.
    pub fn settings(&self, texts: &[SettingText], project: &dyn Project) -> (BTreeMap<String, Value>, Problems) {
        params::settings(&self.program, self.world(&BTreeMap::new(), project), texts)
    }

    /// The design with these values set, and everything wrong with it. The meter counts what that takes.
    pub fn design(
        &self,
        variant: Option<&Variant>,
        settings: &BTreeMap<String, Value>,
        project: &dyn Project,
        meter: &Meter,
    ) -> (Option<Design>, Problems) {
        let mut eval = Evaluator::new(self.world(settings, project));
        let frame = Frame { program: &self.program, variant, nominal_shop: self.nominal_shop };
        let design = meter.run(|| {
            params::within_bounds(&self.program, &mut eval, settings);
            assemble(&mut eval, frame)
        });
        let design = design.unwrap_or_else(|TooMuch| {
            let at = eval.left_at();
            eval.report(findings::values::given_up(at))
        });
        // A design exists only where no error was found, so no later stage has to expect a half-made one.
        let design = design.filter(|_| !eval.problems.has_errors());
        (design, eval.problems)
    }

    /// What the shop has, and everything wrong with it. Params are as declared.
    pub fn shop(&self, project: &dyn Project) -> (Shop, Problems) {
        let settings = BTreeMap::new();
        let mut eval = Evaluator::new(self.world(&settings, project));
        let shop = Shop::gather(&mut eval, self.nominal_shop);
        (shop, eval.problems)
    }

    /// How every expectation turned out, and what the finished dial does not live up to.
    pub fn expectations(
        &self,
        settings: &BTreeMap<String, Value>,
        project: &dyn Project,
        measure: Measure<'_>,
    ) -> (Vec<Expectation>, Problems) {
        expect::expectations(&self.program, self.world(settings, project), measure)
    }

    /// The conditions that the file expects of the finished dial.
    pub fn expects(&self) -> impl Iterator<Item = &'t Expr> {
        self.program.expects.iter().map(|expect| &expect.condition)
    }

    /// What is sought by the file, in the order written.
    pub fn seeks(&self) -> &[&'t Thing] {
        &self.program.seeks
    }

    /// The params with bounds as they stand with these values set.
    pub fn ranged(&self, settings: &BTreeMap<String, Value>, project: &dyn Project) -> Vec<Ranged> {
        let text = |value: &Expr| format::one_line(value, &self.sources.file(value.span.source).text);
        params::ranged(&self.program, &mut self.evaluator(settings, project), &text)
    }

    /// What each param may be, as written, in one line; those that may be anything of their kind left out.
    pub fn bounds(&self) -> Vec<(String, String)> {
        let bounds = self.program.params.iter().filter_map(|param| {
            let text = self.sources.file(param.span.source).text;
            let line = |value: &Expr| format::one_line(value, &text);
            let words = match param.bounds.as_ref()? {
                Bounds::Between(least, most) => format!("{} to {}", line(least), line(most)),
                Bounds::OneOf(choices) => choices.iter().map(line).collect::<Vec<_>>().join(", "),
            };
            Some((param.name.text.clone(), words))
        });
        bounds.collect()
    }
}

/// The typeface of the dial: what is named, each for what those before it lack; else the embedded one.
fn typeface(program: &Program<'_>, sources: &Sources, project: &dyn Project, problems: &mut Problems) -> Typeface {
    let Some(names) = program.typeface else { return Typeface::embedded() };
    let texts = match &names.kind {
        ExprKind::List(texts) => texts.as_slice(),
        _ => std::slice::from_ref(names),
    };
    let from = &sources.file(names.span.source).name;
    let named = texts.iter().filter_map(|text| match &text.kind {
        ExprKind::Text(name) => Some((name.as_str(), text.span)),
        _ => None,
    });
    let opened = named.filter_map(|(name, span)| {
        let (typeface, found) = typefaces::open(name, span, from, project);
        problems.extend(found);
        typeface
    });
    Typeface::first_of(opened.collect()).unwrap_or_else(Typeface::embedded)
}
