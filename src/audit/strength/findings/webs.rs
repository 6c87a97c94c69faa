//! What is said of thin places, tips, and pieces that fall out.

use kurbo::Point;

use super::super::seats::Seat;
use super::super::{Cutout, Web};
use super::{like_it, point};
use crate::design::Layer;
use crate::diagnostics::{Diagnostic, Finding, Severity};
use crate::geometry::Tip;
use crate::source::Span;
use crate::units::{Length, plain};

/// Too little is left between two edges; how wide the same place is drawn and cut, where the two differ.
pub(crate) fn web_too_thin(layer: &Layer, web: &Web, least: Length, differs: Option<(Length, Length)>) -> Diagnostic {
    let (one, other) = &web.between;
    let as_cut = differs.map_or_else(String::new, |(drawn, cut)| {
        let kerf = layer.stock.kerf;
        format!(
            "; it is {drawn} as drawn and {cut} as cut, since the kerf of {kerf} does not reach into the tip of a notch"
        )
    });
    let (from, to) = (point(web.at.0), point(web.at.1));
    let (name, is) = (&layer.name, web.width);
    let message = format!("in `{name}` only {is} is left between {one} and {other}, from {from} to {to}{as_cut}");
    let found = Diagnostic::warning(Finding::WebTooThin, message).label(web.origins.0, one.as_str());
    let found = if web.origins.0 == web.origins.1 { found } else { found.label(web.origins.1, other.as_str()) };
    found
        .about(&layer.name)
        .spot(web.at.0.midpoint(web.at.1))
        .help(format!("leave {least} at least: move or shrink one of them by {}", least - web.width))
}

/// A web that is too thin as drawn alone.
pub(crate) fn web_thin_as_drawn(layer: &Layer, web: &Web, cut: Length, least: Length) -> Diagnostic {
    let drawn = web_too_thin(layer, web, least, Some((web.width, cut)));
    Diagnostic { severity: Severity::Advice, ..drawn }
        .help(format!("as cut it suffices, so nothing need be done; leave {least} as drawn to be free of the kerf"))
}

/// Tips that are thin for long: the longest of so many, and what cuts it, where that is not the outline.
pub(crate) fn thin_tip(layer: &Layer, opening: Option<Span>, tip: &Tip, count: usize, least: Length) -> Diagnostic {
    let more = like_it(count);
    let message = format!(
        "the tip of `{}` at {} is less than {least} wide for its last {}{more}",
        layer.name,
        point(tip.at),
        Length::mm(tip.length)
    );
    Diagnostic::advice(Finding::ThinTip, message)
        .label(opening.unwrap_or(layer.outline_origin), "tapers off here")
        .about(&layer.name)
        .spot(tip.at)
        .help(format!("it chars and breaks easily: blunt it with `rounded` by {}, or widen it", least / 2.0))
}

/// A piece that would fall out, and the least web, which a bridge is too.
pub(crate) fn loose_piece(
    layer: &Layer,
    cut: Option<(String, Span)>,
    (area, at): (f64, Point),
    least_web: Length,
) -> Diagnostic {
    let area = plain(area, 2);
    match cut {
        Some((called, origin)) => Diagnostic::warning(
            Finding::LoosePiece,
            format!("{called} of `{}` frees a piece of {area}mm² at {}, which falls out", layer.name, point(at)),
        )
        .label(origin, "this cuts it off")
        .help(format!(
            "leave a bridge: `stencil(…, bridge: {})` puts one across every hole, or take a thin rectangle away with `less`",
            least_web
        )),
        None => Diagnostic::warning(
            Finding::LoosePiece,
            format!("the outline of `{}` has a second piece of {area}mm² at {}", layer.name, point(at)),
        )
        .label(layer.outline_origin, "this is cut in pieces")
        .help("join the pieces with `plus`, or draw one of them alone"),
    }
    .about(&layer.name)
    .spot(at)
}

/// A piece that would fall out, and with it what turns or holds the layer.
pub(crate) fn loose_seat(layer: &Layer, seat: &Seat, cut: Option<(String, Span)>, area: f64, at: Point) -> Diagnostic {
    let (called, origin) = cut.unwrap_or_else(|| ("the outline".to_owned(), layer.outline_origin));
    let message = format!(
        "{called} of `{}` cuts the piece of {}mm² at {} that holds {} free of the rest, which falls off",
        layer.name,
        plain(area, 2),
        point(at),
        seat.holds
    );
    Diagnostic::error(Finding::LoosePiece, message)
        .label(origin, "this cuts it off")
        .label(seat.mark.origin, format!("holds {}", seat.holds))
        .about(&layer.name)
        .spot(at)
        .help("leave bridges across the opening: take a thin rectangle away from it with `less`")
}

/// A layer of which the openings leave nothing.
pub(crate) fn nothing_left(layer: &Layer, widest: &Cutout) -> Diagnostic {
    Diagnostic::error(
        Finding::NothingLeft,
        format!("nothing is left of `{}`: {} covers its whole outline", layer.name, widest.called()),
    )
    .label(widest.mark.origin, "takes all of it away")
    .label(layer.outline_origin, "the outline")
    .about(&layer.name)
    .help("make the opening smaller, or leave the layer out of the stack")
}

/// An opening that misses the part.
pub(crate) fn opening_outside(layer: &Layer, called: &str, origin: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::OpeningOutsideOutline,
        format!("{called} lies wholly outside the outline of `{}`", layer.name),
    )
    .label(origin, "cuts nothing")
    .label(layer.outline_origin, "the outline")
    .about(&layer.name)
    .help("move it in, towards the turning axis at (0, 0)")
}
