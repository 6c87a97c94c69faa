//! What is said of labels that are left standing.

use kurbo::Point;

use super::super::raised::Odd;
use super::{like_it, point};
use crate::design::{Label, Layer, Mark, Ring};
use crate::diagnostics::{Diagnostic, Finding};
use crate::geometry::FlattenedShape;
use crate::units::{Length, percent, plain};

/// Labels that are left standing, of which something is burnt all the same.
pub(crate) fn raised_burnt_away(layer: &Layer, odd: &Odd, by: Option<&Mark>) -> Diagnostic {
    let (ring, says) = (&odd.ring.name, &odd.label.says);
    let message = format!(
        "{} of the label `{says}` of ring `{ring}` is burnt away on `{}`, where it is to be left standing{}",
        percent(odd.share, 1),
        layer.name,
        like_it(odd.count)
    );
    let found = raised(Finding::RaisedBurntAway, message, odd).label(odd.ring.origin, "to be left standing");
    let found = match by {
        Some(mark) => found.label(mark.origin, "burns over it"),
        None => found,
    };
    found.help(format!("take the labels out of what is burnt over them: `less {ring}` at its end"))
}

/// Labels that are left standing together with what is around them.
pub(crate) fn raised_not_freed(layer: &Layer, odd: &Odd, nothing: bool) -> Diagnostic {
    let (ring, says) = (&odd.ring.name, &odd.label.says);
    let message = if nothing {
        format!("nothing is burnt around the labels of ring `{ring}` on `{}`, so they do not show", layer.name)
    } else {
        format!(
            "{} of what lies right around the label `{says}` of ring `{ring}` stands as high as it does on `{}`{}",
            percent(odd.share, 1),
            layer.name,
            like_it(odd.count)
        )
    };
    let found = raised(Finding::RaisedNotFreed, message, odd).label(odd.ring.origin, "is left standing");
    let labels = || odd.ring.labels.iter().map(|label| FlattenedShape::of(&label.ink));
    let band = labels().filter_map(|flat| flat.annulus()).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let rim = layer.outline.least_radius(Point::ZERO).unwrap_or(0.0) - layer.stock.clear_edge.as_mm();
    let room = band.map(|(inner, outer)| ((inner - 1.0).max(0.0).floor(), (outer + 1.0).ceil()));
    found.help(match room.filter(|(_, outer)| *outer <= rim) {
        Some((inner, outer)) => format!(
            "burn the ground around them: `engrave circle(diameter: {}mm) less circle(diameter: {}mm) less {ring} depth 0.5mm`",
            2.0 * outer,
            2.0 * inner
        ),
        None => format!("burn the ground around them, `engrave … less {ring}`, 1mm wider all round than they are, and make them smaller where the rim leaves no room for it"),
    })
}

fn raised(finding: Finding, message: String, odd: &Odd) -> Diagnostic {
    let found = if odd.reads { Diagnostic::warning(finding, message) } else { Diagnostic::error(finding, message) };
    let found = found.about(&odd.ring.name);
    match odd.label.ink.bounds() {
        Some(bounds) => found.spot(bounds.center()),
        None => found,
    }
}

/// A stroke that is left standing and thinner than it is high, or than anything that the stock burns.
pub(crate) fn raised_too_thin(
    layer: &Layer,
    (ring, label): (&Ring, &Label),
    (is, at): (Length, Point),
    (least, high): (Length, Length),
) -> Diagnostic {
    let (name, says) = (&ring.name, &label.says);
    let why = if high >= least {
        format!("and it stands {high} high")
    } else {
        format!("and `{}` burns no finer than {least}", layer.stock.name)
    };
    let message = format!("a stroke of the label `{says}` of ring `{name}` is {is} thick at {}, {why}", point(at));
    // A twentieth more than in proportion: where a letter is thinnest moves a little with its size.
    let times = plain((10.5 * least.as_mm() / is.as_mm().max(1e-6)).ceil() / 10.0, 1);
    let burn = if high >= least && is > layer.stock.least_feature {
        format!(", or burn no deeper than {is} around them")
    } else {
        String::new()
    };
    Diagnostic::warning(Finding::RaisedTooThin, message)
        .label(ring.origin, "breaks off or chars away")
        .about(name)
        .spot(at)
        .help(format!("make the labels {times} times as high, or bolder (`typeface \"DejaVu Sans Bold\"`){burn}"))
}
