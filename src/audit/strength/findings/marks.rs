//! What is said of marks that do not burn well, or where they are drawn.

use kurbo::Point;

use super::super::{Burn, Cutout};
use super::point;
use crate::design::Layer;
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::units::{Length, percent, plain};

/// A mark beyond the outline.
pub(crate) fn mark_outside(layer: &Layer, called: &str, origin: Span, by: Length, at: Point) -> Diagnostic {
    Diagnostic::warning(
        Finding::MarkOutsideOutline,
        format!("{called} reaches {by} beyond the outline of `{}` at {}", layer.name, point(at)),
    )
    .label(origin, "is cut off")
    .label(layer.outline_origin, "the outline")
    .about(&layer.name)
    .spot(at)
    .help(format!("make it smaller, or move it {} towards the axis", by + layer.stock.clear_edge))
}

/// A mark too near to a cut edge.
pub(crate) fn mark_near_edge(
    layer: &Layer,
    called: &str,
    origin: Span,
    room: Length,
    least: Length,
    at: Point,
) -> Diagnostic {
    Diagnostic::warning(
        Finding::MarkNearEdge,
        format!("{called} comes within {room} of an edge of `{}` at {}, and {least} is wanted", layer.name, point(at)),
    )
    .label(origin, "too near to the edge")
    .about(&layer.name)
    .spot(at)
    .help(format!("move it {} away, or accept it with a reason", least - room))
}

/// A mark that is cut away.
pub(crate) fn mark_cut_away(
    layer: &Layer,
    burn: &Burn,
    cut: &str,
    cut_origin: Span,
    lost: Option<f64>,
    at: Point,
) -> Diagnostic {
    let called = &burn.called;
    let message = match lost {
        Some(share) => format!("{cut} of `{}` takes away {} of {called}", layer.name, percent(share, 1)),
        None => format!("{cut} of `{}` cuts through {called}", layer.name),
    };
    Diagnostic::warning(Finding::MarkCutAway, message)
        .label(burn.origin, "stands where the surface is taken away")
        .label(cut_origin, "takes it away")
        .about(&layer.name)
        .spot(at)
        .help("move one of them aside, or put the mark on the other face")
}

/// A stroke or gap finer than the stock burns.
pub(crate) fn feature_too_small(
    layer: &Layer,
    burn: &Burn,
    stroke: bool,
    is: Length,
    least: Length,
    at: Point,
) -> Diagnostic {
    let what = if stroke { "a stroke" } else { "a gap" };
    let times = least.as_mm() / is.as_mm().max(1e-6);
    let larger = format!("make it {} times as large", plain(times, 2));
    Diagnostic::warning(
        Finding::FeatureTooSmall,
        format!(
            "{} of `{}` has {what} of {is}, and `{}` burns no finer than {least}",
            burn.called, layer.name, layer.stock.name
        ),
    )
    .label(burn.origin, format!("{what} of {is} at {}", point(at)))
    .about(&layer.name)
    .spot(at)
    .help(match (times <= LARGER, stroke) {
        (true, true) => format!("{larger}, or bolder"),
        (true, false) => format!("{larger}, or move what is too close apart (`tracking` in a text)"),
        (false, true) => "make it bolder there, or leave that stroke out".to_owned(),
        (false, false) => "widen that gap, or close it".to_owned(),
    })
}

/// A pocket finer than the stock burns.
pub(crate) fn pocket_too_fine(layer: &Layer, pocket: &Cutout, is: Length, least: Length, at: Point) -> Diagnostic {
    let (called, name, stock) = (pocket.called(), &layer.name, &layer.stock.name);
    let message =
        format!("{called} of `{name}` is {is} wide at {}, and `{stock}` burns no finer than {least}", point(at));
    Diagnostic::warning(Finding::FeatureTooSmall, message)
        .label(pocket.mark.origin, "comes out wider, or not at all")
        .about(&layer.name)
        .spot(at)
        .help(format!("make it {least} wide or more, or `score` it as a line"))
}

/// Art that would have to grow by more than this is better mended where it is too fine.
const LARGER: f64 = 3.0;

/// Labels that overlap: the deepest pair of two rings, or of a ring and a mark, and how many pairs there are.
pub(crate) fn labels_overlap(
    layer: &Layer,
    (burn, other): (&Burn, &Burn),
    by: Length,
    at: Point,
    pairs: usize,
) -> Diagnostic {
    let more = match pairs {
        1 => String::new(),
        2 => "; one more pair does".to_owned(),
        pairs => format!("; {} more pairs do", pairs - 1),
    };
    let message = format!("{} and {} overlap by {by} on `{}`{more}", burn.called, other.called, layer.name);
    let found = Diagnostic::warning(Finding::LabelsOverlap, message);
    let found = if burn.origin == other.origin {
        found.label(burn.origin, "overlap each other")
    } else {
        found.label(burn.origin, "overlaps the other").label(other.origin, "the other")
    };
    found.about(&layer.name).spot(at).help("lower the labels, enlarge the ring's `radius`, or use fewer of them")
}
