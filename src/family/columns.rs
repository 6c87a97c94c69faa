//! What the figures that variants are compared by come to. Their words are the columns of `family.csv` and of
//! `family.json`, and what `--where`, `--least` and `--most` may ask for.

use std::collections::BTreeMap;

use kurbo::Rect;

use super::Figure;
use crate::analysis::Dial;
use crate::diagnostics::{Diagnostic, Finding, Severity};
use crate::quote::Quote;
use crate::units::{Length, Time};
use crate::vocabulary::figures::FigureName;

/// The figures of a dial, by their words; those that it has not are left out. Where there is no dial, only its findings
/// are counted.
pub(super) fn figures(dial: Option<&Dial>, findings: &[Diagnostic]) -> BTreeMap<String, Figure> {
    let known = Known { findings, quote: dial.and_then(|dial| dial.quote.as_ref()) };
    let word = |name: &FigureName| name.word().to_owned();
    FigureName::ALL.iter().filter_map(|name| Some((word(name), known.figure(*name, dial)?))).collect()
}

/// What figures are read from, beside the dial.
struct Known<'a> {
    findings: &'a [Diagnostic],
    quote: Option<&'a Quote>,
}

impl Known<'_> {
    fn figure(&self, name: FigureName, dial: Option<&Dial>) -> Option<Figure> {
        let plan = || dial?.plan.as_ref();
        let length = |length: Length| Figure::number(length.as_mm());
        let time = |time: Time| Figure::number(time.as_seconds());
        match name {
            FigureName::Made => Some(Figure::Truth(dial.is_some() && self.count(is_error) == 0)),
            FigureName::Width => size(dial?).map(|size| Figure::number(size.width())),
            FigureName::Height => size(dial?).map(|size| Figure::number(size.height())),
            FigureName::Thickness => Some(length(dial?.design.thickness())),
            // From the findings and not from the figures, so that a table never says otherwise than `check`.
            FigureName::Fits => dial?.audit.fit.as_ref().map(|_| self.none(Finding::says_unfit)),
            FigureName::Reads => {
                let checked = &dial?.audit.reading_check;
                (!checked.readings.is_empty()).then(|| Figure::Truth(checked.reads()))
            }
            FigureName::Holds => dial?.design.turns().next().map(|_| self.none(Finding::says_loose)),
            FigureName::LeastMargin => {
                let stops = dial?.audit.reading_check.readings.iter().flat_map(|reading| &reading.stops);
                let least = stops.map(|stop| stop.margin.as_mm()).reduce(f64::min);
                least.filter(|margin| margin.is_finite()).map(Figure::number)
            }
            FigureName::LeastLiftOff => {
                let held = dial?.audit.holding.turns.iter().filter_map(|turn| turn.magnets.as_ref());
                held.map(|held| held.lift_off.pull.quantity().value).reduce(f64::min).map(Figure::number)
            }
            FigureName::Parts => plan().map(|plan| counted(plan.part_count())),
            FigureName::Boards => plan().map(|plan| counted(plan.boards.len())),
            FigureName::CutLength => plan().map(|plan| length(plan.cut_length())),
            FigureName::MachineTime => self.quote?.machine.map(time),
            FigureName::BenchTime => self.quote?.bench.map(time),
            FigureName::Cost => self.quote?.price.map(in_hundredths),
            FigureName::CostOfOne => self.quote?.per_dial().map(in_hundredths),
            FigureName::Errors => Some(counted(self.count(is_error))),
            FigureName::Warnings => Some(counted(self.count(is_warning))),
        }
    }

    fn count(&self, wanted: fn(&Diagnostic) -> bool) -> usize {
        self.findings.iter().filter(|found| wanted(found)).count()
    }

    fn none(&self, says: fn(Finding) -> bool) -> Figure {
        Figure::Truth(!self.findings.iter().any(|found| says(found.finding)))
    }
}

fn is_error(found: &Diagnostic) -> bool {
    found.severity == Severity::Error
}

fn is_warning(found: &Diagnostic) -> bool {
    found.severity == Severity::Warning && found.stands()
}

/// All layers as they lie at the first stop.
fn size(dial: &Dial) -> Option<Rect> {
    dial.design.layers.iter().filter_map(|layer| layer.outline.bounds()).reduce(|a, b| a.union(b))
}

/// A price as the quote states it.
fn in_hundredths(price: f64) -> Figure {
    Figure::Number((price * 100.0).round() / 100.0)
}

#[allow(clippy::cast_precision_loss, reason = "counts of parts and findings")]
fn counted(count: usize) -> Figure {
    Figure::Number(count as f64)
}
