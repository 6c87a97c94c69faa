//! What is said of prints that are cut into, burnt away or covered.

use kurbo::Point;

use crate::design::{Face, Layer, Mark, Work};
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::units::{Length, percent, plain};

/// A face, what asked for its print, and where on it something is amiss.
type Asked<'a> = (&'a Layer, Face, Span, Point);

/// In how many dials, rounded up.
fn in_dials(share: f64) -> String {
    let hundred = (100.0 * share).ceil();
    if hundred >= 100.0 {
        "in every dial".to_owned()
    } else {
        format!("in up to {} of a hundred dials", plain(hundred, 0))
    }
}

/// Up to the next hundredth of a millimetre.
fn at_least(length: Length) -> Length {
    Length::mm((length.as_mm() * 100.0 - 1e-6).ceil() / 100.0)
}

/// To a hundredth of a millimetre, as closely as it is looked for.
fn hundredths(length: Length) -> Length {
    Length::mm((length.as_mm() * 100.0).round() / 100.0)
}

/// Up to the next tenth of a millimetre.
fn tenths(length: Length) -> Length {
    Length::mm((length.as_mm() * 10.0 - 1e-6).ceil() / 10.0)
}

/// A print that ends at an edge, or so little beyond that the edge may come out blank.
pub(crate) fn without_bleed((layer, face, origin, at): Asked, by: Length, wanted: Length, share: f64) -> Diagnostic {
    let least = at_least(wanted);
    let runs =
        if by.as_mm() < 0.02 { "ends at an edge".to_owned() } else { format!("runs {} over an edge", tenths_down(by)) };
    let message = format!(
        "the print on the {} of `{}` {runs}, and {} it lies farther off what is cut, which leaves a blank edge",
        face.word(),
        layer.name,
        in_dials(share)
    );
    Diagnostic::warning(Finding::PrintWithoutBleed, message)
        .label(origin, "ends too near the edge")
        .about(&layer.name)
        .spot(at)
        .help(format!(
            "let it run {least} over every edge at least, as `outset {}` behind its shape does; what lies beyond an edge is cut away",
            tenths(Length::mm(wanted.as_mm() - by.as_mm()))
        ))
}

/// Down to a tenth of a millimetre, or a hundredth where it is less than one.
fn tenths_down(length: Length) -> Length {
    let steps = if length.as_mm() < 0.1 { 100.0 } else { 10.0 };
    Length::mm((length.as_mm() * steps).floor() / steps)
}

/// A print that ends just inside an edge, so that the blank between comes out uneven.
pub(crate) fn ends_near_edge((layer, face, origin, at): Asked, by: Length, wanted: Length, share: f64) -> Diagnostic {
    let (by, least) = (hundredths(by), at_least(wanted));
    let message = format!(
        "the print on the {} of `{}` ends {by} inside an edge, and {} it lies farther off what is cut and is cut into",
        face.word(),
        layer.name,
        in_dials(share)
    );
    Diagnostic::warning(Finding::PrintNearEdge, message)
        .label(origin, "ends so near the edge")
        .about(&layer.name)
        .spot(at)
        .help(format!("end it {least} inside the edge at least, or let it run {least} over it"))
}

/// Letters that may be cut off, or are.
pub(crate) fn letters_near_edge(
    (layer, face, origin, at): Asked,
    says: &str,
    by: Length,
    wanted: Length,
    share: f64,
) -> Diagnostic {
    let shown = hundredths(by);
    let printed = format!("`{says}`, printed on the {} of `{}`,", face.word(), layer.name);
    let (message, label, help) = if by <= Length::ZERO {
        let help = "move it farther in, or make it smaller".to_owned();
        (format!("{printed} runs over an edge and is cut off there"), "cut off", help)
    } else {
        let message =
            format!("{printed} stands {shown} from an edge, and {} it lies farther off what is cut", in_dials(share));
        let farther = tenths(Length::mm(wanted.as_mm() - by.as_mm()));
        (message, "may be cut off", format!("move it {farther} farther in, or make it smaller"))
    };
    Diagnostic::warning(Finding::PrintNearEdge, message).label(origin, label).about(&layer.name).spot(at).help(help)
}

/// Printed letters that are burnt away again.
pub(crate) fn burnt_away(
    (layer, face): (&Layer, Face),
    says: &str,
    origin: Span,
    mark: &Mark,
    share: f64,
) -> Diagnostic {
    lost(Finding::PrintBurntAway, (layer, face), says, origin, share, "burnt away by what is worked there afterwards")
        .label(mark.origin, "burns it away")
        .help("move one of them, or leave the letters out of what is burnt")
}

/// Printed letters that are printed or painted over.
pub(crate) fn covered((layer, face): (&Layer, Face), says: &str, origin: Span, mark: &Mark, share: f64) -> Diagnostic {
    let (by, help) = match mark.work {
        Work::Paint { .. } => (
            "painted over afterwards",
            "paint before nothing that is printed: leave it `bare`, or print the colour too",
        ),
        _ => ("printed over by what stands later in the text", "write it after what lies beneath it"),
    };
    lost(Finding::PrintCovered, (layer, face), says, origin, share, by).label(mark.origin, "lies over it").help(help)
}

fn lost(
    finding: Finding,
    (layer, face): (&Layer, Face),
    says: &str,
    origin: Span,
    share: f64,
    how: &str,
) -> Diagnostic {
    let message =
        format!("{} of `{says}`, printed on the {} of `{}`, is {how}", percent(share, 0), face.word(), layer.name);
    Diagnostic::error(finding, message).label(origin, "printed here").about(&layer.name)
}
