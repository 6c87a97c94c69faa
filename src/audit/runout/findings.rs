//! What is said about outlines that do not turn true.

use kurbo::Point;

use crate::design::Layer;
use crate::diagnostics::{Diagnostic, Finding};
use crate::units::{Length, plain};

/// An outline whose own centre is not the axis.
pub fn off_axis(layer: &Layer, order: Option<u32>, centre: Point) -> Diagnostic {
    let away = Length::mm(centre.to_vec2().hypot());
    let repeats = match order {
        Some(order) => format!("repeats {order} times round a point"),
        None => "is round about a point".to_owned(),
    };
    let place = format!("({}mm, {}mm)", plain(centre.x, 3), plain(centre.y, 3));
    Diagnostic::warning(
        Finding::OffAxis,
        format!("the outline of `{}` {repeats} at {place}, {away} off the turning axis", layer.name),
    )
    .label(layer.outline_origin, "this will wobble as it turns")
    .about(&layer.name)
    .spot(centre)
    .help(format!("move the outline by ({}mm, {}mm)", plain(-centre.x, 3), plain(-centre.y, 3)))
}

/// Two outlines of one shape that do not lie flush.
pub fn not_flush(lower: &Layer, upper: &Layer, stop: &str, over: Length, at: Point, order: u32) -> Diagnostic {
    let found = Diagnostic::warning(
        Finding::NotFlush,
        format!("at {stop} the outlines of `{}` and `{}` stand {over} beyond each other", lower.name, upper.name),
    )
    .label(upper.outline_origin, format!("repeats {order} times in a turn"));
    let found = if lower.outline_origin == upper.outline_origin {
        found
    } else {
        found.label(lower.outline_origin, "has the same shape")
    };
    found.about(&upper.name).spot(at).help(format!(
        "let the stops be whole steps of {}deg, or use round outlines",
        plain(360.0 / f64::from(order), 3)
    ))
}
