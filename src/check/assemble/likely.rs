//! Figures of the shop that hardly anything has: mostly a slip of the point, or of the unit.

use crate::check::evaluate::Evaluator;
use crate::check::findings::dial as say;
use crate::source::Span;

/// A figure of the shop that is held to a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Figure {
    Remanence,
    Sink,
    Plating,
    Thickness,
    Kerf,
    Density,
    Strength,
    Film,
    Spread,
    Placing,
    Line,
    CutSpeed,
    EngraveSpeed,
    LineSpacing,
    Feature,
    Clearance,
    Tilt,
}

/// What is likely of a figure, and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Likely {
    /// The figure in words, for a sentence.
    pub(crate) what: &'static str,
    /// The least and the most of it, in `unit`.
    pub(crate) range: (f64, f64),
    pub(crate) unit: &'static str,
    /// What the range follows from.
    pub(crate) source: &'static str,
}

impl Figure {
    /// The one table of ranges. A measure of zero or less is refused before it comes here, where it must be more.
    const fn likely(self) -> Likely {
        let (what, range, unit, source) = match self {
            Self::Remanence => (
                "the remanence",
                (0.2, 1.6),
                "T",
                "ferrite has 0.2T and more, sintered neodymium up to 1.5T (IEC 60404-8-1, from memory)",
            ),
            Self::Sink => ("the sink", (0.0, 1.0), "mm", "a tenth is usual (common practice, no source)"),
            Self::Plating => {
                ("the plating", (0.0, 1.0), "mm", "nickel is some 0.015mm thick (common practice, no source)")
            }
            Self::Thickness => {
                ("the thickness", (0.05, 20.0), "mm", "lasers cut from paper to some 20mm (common practice, no source)")
            }
            Self::Kerf => ("the kerf", (0.01, 1.0), "mm", "0.1mm to 0.3mm is usual (common practice, no source)"),
            Self::Density => (
                "the density by `weighs`",
                (100.0, 3000.0),
                "kg/m3",
                "balsa has 100 and slate up to 2900 (common practice, no source)",
            ),
            Self::Strength => {
                ("the strength", (0.0, 60.0), "MPa", "epoxies reach some 40MPa (common practice, no source)")
            }
            Self::Film => {
                ("the gap", (0.0, 0.5), "mm", "a film of glue has 0.02mm to 0.2mm (common practice, no source)")
            }
            Self::Spread => {
                ("the spread", (0.0, 0.5), "mm", "what strays by more is set anew (common practice, no source)")
            }
            Self::Placing => (
                "the spread of a placing",
                (0.0, 10.0),
                "deg",
                "a hand sets a stop to a few degrees (common practice, no source)",
            ),
            Self::CutSpeed => (
                "the speed of a cut or scored line",
                (0.1, 1000.0),
                "mm/s",
                "small lasers cut at a few mm/s and score at some hundred (common practice, no source)",
            ),
            Self::EngraveSpeed => (
                "the speed of engraving",
                (1.0, 5000.0),
                "mm/s",
                "heads run at some hundred mm/s along a line (common practice, no source)",
            ),
            Self::LineSpacing => (
                "the spacing of engraved lines",
                (0.01, 1.0),
                "mm",
                "lines lie a beam's width apart, about 0.1mm (common practice, no source)",
            ),
            Self::Feature => {
                ("the finest feature", (0.01, 2.0), "mm", "a beam is 0.1mm to 0.3mm wide (common practice, no source)")
            }
            Self::Clearance => ("the clearance", (0.0, 0.5), "mm", "a tenth is usual (common practice, no source)"),
            Self::Tilt => (
                "a tilt",
                (1.0, 50.0),
                "deg",
                "coefficients of friction lie between 0.02 and 1.2 (common practice, no source)",
            ),
            Self::Line => (
                "the width of lines",
                (0.001, 0.3),
                "mm",
                "a wider stroke is filled as an area by many programs (common practice, no source)",
            ),
        };
        Likely { what, range, unit, source }
    }
}

impl Figure {
    /// Whether a value, in the unit of the table, is within what is likely, as it was written: a limit that was converted from another
    /// unit is within it.
    pub(super) fn is_likely(self, value: f64) -> bool {
        let (least, most) = self.likely().range;
        (least * (1.0 - 1e-9)..=most * (1.0 + 1e-9)).contains(&value)
    }
}

/// Warns of a figure of `of`, in the unit of the table, that lies outside what is likely.
pub(super) fn doubt(eval: &mut Evaluator<'_>, figure: Figure, of: &str, value: f64, span: Option<Span>) {
    if let Some(span) = span.filter(|_| !figure.is_likely(value)) {
        eval.problems.push(say::unlikely_figure(&figure.likely(), of, value, span));
    }
}
