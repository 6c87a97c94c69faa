//! What the figures that variants are compared by come to. Their words are the columns of `family.csv` and of
//! `family.json`, and what `--where`, `--least` and `--most` may ask for.

use std::collections::BTreeMap;

use kurbo::Rect;

use super::Figure;
use crate::analysis::{Dial, Verdict};
use crate::quote::Quote;
use crate::units::{Length, Time};
use crate::vocabulary::figures::FigureName;

/// The figures of a dial, by their words; those that it has not are left out. Where there is no dial, only its findings
/// are counted.
pub(super) fn figures(dial: Option<&Dial>, verdict: &Verdict) -> BTreeMap<String, Figure> {
    let known = Known { verdict, quote: dial.and_then(Dial::quote) };
    let word = |name: &FigureName| name.word().to_owned();
    FigureName::ALL.iter().filter_map(|name| Some((word(name), known.figure(*name, dial)?))).collect()
}

/// What figures are read from, beside the dial.
struct Known<'a> {
    verdict: &'a Verdict,
    quote: Option<&'a Quote>,
}

impl Known<'_> {
    fn figure(&self, name: FigureName, dial: Option<&Dial>) -> Option<Figure> {
        let plan = || dial?.plan.as_ref();
        let sure = || self.verdict.reading?.share;
        let length = |length: Length| Figure::number(length.as_mm());
        let time = |time: Time| Figure::number(time.as_seconds());
        match name {
            FigureName::Made => Some(Figure::Truth(dial.is_some() && self.verdict.failed == 0)),
            FigureName::Width => size(dial?).map(|size| Figure::number(size.width())),
            FigureName::Height => size(dial?).map(|size| Figure::number(size.height())),
            FigureName::Thickness => Some(length(dial?.design.thickness())),
            FigureName::Fits => self.verdict.fits().map(Figure::Truth),
            FigureName::Reads => self.verdict.reads().map(Figure::Truth),
            FigureName::Holds => self.verdict.holds().map(Figure::Truth),
            FigureName::Yield => sure().map(|share| Figure::number(share.share)),
            FigureName::YieldPlusMinus => sure().map(|share| Figure::number(share.plus_minus)),
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
            FigureName::Errors => Some(counted(self.verdict.counts.errors)),
            FigureName::Warnings => Some(counted(self.verdict.counts.warnings)),
        }
    }
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
