//! The figures that variants are compared by. Their words are the columns of `family.csv` and of `family.json`, and what
//! `--where`, `--least` and `--most` may ask for.

use std::collections::BTreeMap;

use kurbo::Rect;

use super::Figure;
use crate::analyse::Dial;
use crate::audit::fit::thickness;
use crate::check::kind::Kind;
use crate::diagnostics::{Diagnostic, Finding, Severity};
use crate::quote::quote;
use crate::units::Dimension;

/// One figure that variants are compared by.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// The word for it.
    pub word: &'static str,
    /// What kind of value it has.
    pub kind: Kind,
    /// What it tells, in one line.
    pub says: &'static str,
}

const fn column(word: &'static str, kind: Kind, says: &'static str) -> Column {
    Column { word, kind, says }
}

const TIME: Kind = Kind::Quantity(Dimension::TIME);
const FORCE: Kind = Kind::Quantity(Dimension::FORCE);

/// All of them, in the order of the table.
pub static COLUMNS: [Column; 18] = [
    column("made", Kind::Truth, "whether it can be made"),
    column("width", Kind::LENGTH, "of all layers as they lie at the first stop, from left to right"),
    column("height", Kind::LENGTH, "the same, from top to bottom"),
    column("thickness", Kind::LENGTH, "of the finished stack, boards and glue"),
    column("fits", Kind::Truth, "whether it drops into its slot and turns there"),
    column("reads", Kind::Truth, "whether every stop shows what is due"),
    column("holds", Kind::Truth, "whether every turn stays where it is put, and whole"),
    column("least_margin", Kind::LENGTH, "least distance of a due label from an edge over it"),
    column("least_lift_off", FORCE, "least force that lifts a half off, +-15 %"),
    column("parts", Kind::NUMBER, "parts on all boards"),
    column("boards", Kind::NUMBER, "boards that the run takes"),
    column("cut_length", Kind::LENGTH, "how far the machine cuts"),
    column("machine_time", TIME, "of the whole run"),
    column("bench_time", TIME, "of the whole run, at the bench"),
    column("cost", Kind::NUMBER, "price of the whole run, in the shop's currency"),
    column("cost_of_one", Kind::NUMBER, "price of one dial of the run"),
    column("errors", Kind::NUMBER, "errors found"),
    column("warnings", Kind::NUMBER, "warnings found, those accepted left out"),
];

/// The figures of a dial, by their words; those that it has not are left out. Where there is no dial, only its findings
/// are counted.
pub(super) fn figures(dial: Option<&Dial>, findings: &[Diagnostic]) -> BTreeMap<String, Figure> {
    let count = |wanted: &dyn Fn(&Diagnostic) -> bool| counted(findings.iter().filter(|it| wanted(it)).count());
    let errors = |found: &Diagnostic| found.severity == Severity::Error;
    let warnings = |found: &Diagnostic| found.severity == Severity::Warning && found.stands();
    let mut all = vec![
        ("made", Some(Figure::Truth(dial.is_some() && !findings.iter().any(errors)))),
        ("errors", Some(count(&errors))),
        ("warnings", Some(count(&warnings))),
    ];
    if let Some(dial) = dial {
        all.extend(of_dial(dial, findings));
        all.extend(of_plan(dial));
    }
    all.into_iter().filter_map(|(word, figure)| Some((word.to_owned(), figure?))).collect()
}

type Named = (&'static str, Option<Figure>);

fn of_dial(dial: &Dial, findings: &[Diagnostic]) -> Vec<Named> {
    let (design, audit) = (&dial.design, &dial.audit);
    let without = |those: fn(Finding) -> bool| Figure::Truth(!findings.iter().any(|found| those(found.finding)));
    let size = design.layers.iter().filter_map(|layer| layer.outline.bounds()).reduce(|a: Rect, b| a.union(b));
    let margins =
        audit.reading_check.readings.iter().flat_map(|reading| &reading.stops).map(|stop| stop.margin.as_mm());
    let pulls = audit.holding.turns.iter().filter_map(|turn| turn.magnets.as_ref());
    let pulls = pulls.map(|held| held.lift_off.pull.quantity().value);
    vec![
        ("width", size.map(|size| Figure::number(size.width()))),
        ("height", size.map(|size| Figure::number(size.height()))),
        ("thickness", Some(Figure::number(thickness(design).as_mm()))),
        ("fits", audit.fit.as_ref().map(|_| without(Finding::says_unfit))),
        ("reads", (!audit.reading_check.readings.is_empty()).then(|| Figure::Truth(audit.reading_check.reads()))),
        ("holds", design.turns().next().map(|_| without(Finding::says_loose))),
        ("least_margin", margins.reduce(f64::min).filter(|margin| margin.is_finite()).map(Figure::number)),
        ("least_lift_off", pulls.reduce(f64::min).map(Figure::number)),
    ]
}

fn of_plan(dial: &Dial) -> Vec<Named> {
    let Some(plan) = &dial.plan else { return Vec::new() };
    let quote = quote(&dial.design, plan);
    vec![
        ("parts", Some(counted(plan.part_count()))),
        ("boards", Some(counted(plan.boards.len()))),
        ("cut_length", Some(Figure::number(plan.cut_length().as_mm()))),
        ("machine_time", quote.machine.map(|time| Figure::number(time.as_seconds()))),
        ("bench_time", quote.bench.map(|time| Figure::number(time.as_seconds()))),
        ("cost", quote.price.map(in_hundredths)),
        ("cost_of_one", quote.per_dial().map(in_hundredths)),
    ]
}

/// A price as the quote states it.
fn in_hundredths(price: f64) -> Figure {
    Figure::Number((price * 100.0).round() / 100.0)
}

#[allow(clippy::cast_precision_loss, reason = "counts of parts and findings")]
fn counted(count: usize) -> Figure {
    Figure::Number(count as f64)
}
