//! Findings about wheels in a frame as they are written.

use crate::diagnostics::{Diagnostic, Finding, listed, suggest};
use crate::source::Span;
use crate::syntax::tree::{Name, Wheel};

/// A wheel in something that is no opening of its frame.
pub fn no_such_bay(wheel: &Wheel, frame: &str, openings: &[&str]) -> Diagnostic {
    let opening = &wheel.opening;
    let help = match suggest::nearest(&opening.text, openings.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if openings.is_empty() => {
            format!("cut one into `{frame}`, as in `hole {} = circle(diameter: 41mm)`", opening.text)
        }
        None => format!("`{frame}` has {}", listed(openings.iter().copied(), "and")),
    };
    Diagnostic::error(Finding::BayNotRound, format!("`{}` is not an opening of `{frame}`", opening.text))
        .label(opening.span, "nothing to turn in")
        .help(help)
        .about(&wheel.name().text)
}

/// A wheel in an opening whose wall does not follow one circle.
pub fn bay_not_round(wheel: &Wheel) -> Diagnostic {
    let opening = &wheel.opening.text;
    Diagnostic::error(
        Finding::BayNotRound,
        format!("the wall of `{opening}` does not follow one circle, so `{}` has no axis there", wheel.name().text),
    )
    .label(wheel.opening.span, "the wheel turns in this")
    .help(format!("make it one round opening, as in `hole {opening} = circle(diameter: 41mm)`; where it runs out over the edge, the rest must follow one circle"))
    .about(&wheel.name().text)
}

/// A turn of the stack beside wheels.
pub fn turn_beside_wheels(wheel: &Wheel, turn: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotWithWheels, "a stack with wheels in a frame cannot turn as a whole as well")
        .label(turn, "turns too")
        .label(wheel.span, "a wheel in a frame")
        .help("glue these layers, or make two dials of it: wheels in a frame in one, what turns on magnets or a rivet in the other")
}

/// A field that is worked out only for turns of the stack.
pub fn field_of_wheel(wheel: &Wheel, field: &Name) -> Diagnostic {
    let (name, word) = (&wheel.name().text, &field.text);
    Diagnostic::error(
        Finding::NotWithWheels,
        format!("`{word}` is not worked out for a wheel in an opening, which nothing but friction holds"),
    )
    .label(field.span, format!("not for `{name}`"))
    .help("take it out: a wheel in an opening takes `stops` alone")
    .about(name)
}

/// An opening or a pointer that is on a wheel itself.
pub fn read_by_wheel(ring: &Name, by: &Name) -> Diagnostic {
    Diagnostic::error(
        Finding::NotWithWheels,
        format!("`{}` is on a wheel, and what is read through or beside a wheel is not worked out", by.text),
    )
    .label(by.span, format!("turns by itself over `{}`", ring.text))
    .help("put the ring on the wheel, and the opening into the layer above the frame")
}

/// What a wheel's ring is read by, below its frame.
pub fn read_from_below(ring: &Name, by: &Name) -> Diagnostic {
    Diagnostic::error(
        Finding::NotWithWheels,
        format!("`{}` lies below the frame, where the wheel with `{}` hides it", by.text, ring.text),
    )
    .label(by.span, "below the wheel")
    .help("a wheel is read from the front alone: put this on the frame or on a layer above it")
}

/// A ring on the back of a wheel.
pub fn read_from_behind(ring: &Name, by: &Name) -> Diagnostic {
    Diagnostic::error(
        Finding::NotWithWheels,
        format!("`{}` is on the back of a wheel, and a wheel is read from the front alone", ring.text),
    )
    .label(ring.span, "looks to the floor")
    .label(by.span, "read by this")
    .help("engrave the ring on the front, and read it through a layer above the frame")
}
