//! Findings about wheels in a frame as they are written.

use kurbo::Point;

use crate::check::value::Value;
use crate::design::Layer;
use crate::diagnostics::{Diagnostic, Finding, listed, suggest};
use crate::source::Span;
use crate::syntax::tree::{Expr, Name, Wheel};
use crate::units::Length;

/// A wheel in something that is no opening of its frame.
pub fn no_such_bay((wheel, opening): (&Wheel, &Name), frame: &str, openings: &[&str]) -> Diagnostic {
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
pub fn bay_not_round(wheel: &Wheel, opening: &Name) -> Diagnostic {
    let (span, opening) = (opening.span, &opening.text);
    Diagnostic::error(
        Finding::BayNotRound,
        format!("the wall of `{opening}` does not follow one circle, so `{}` has no axis there", wheel.name().text),
    )
    .label(span, "the wheel turns in this")
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
    .help("take it out: a wheel in an opening takes `stops` alone; a hand, which lies `at` a point, takes all fields of a turn")
    .about(name)
}

/// A pivot for a wheel that its wall holds.
pub fn pivot_of_wheel(wheel: &Wheel, pivot: &Expr) -> Diagnostic {
    let name = &wheel.name().text;
    Diagnostic::error(
        Finding::NotWithWheels,
        "a wheel in an opening is held by its wall, and a pivot is not worked out for it",
    )
    .label(pivot.span, format!("not for `{name}`"))
    .help("take `on …` out; what turns on a pivot lies `at` a point of a layer")
    .about(name)
}

/// Which half of a hand is turned.
pub fn turning_of_hand(wheel: &Wheel, field: &Name) -> Diagnostic {
    let name = &wheel.name().text;
    Diagnostic::error(Finding::NotWithWheels, format!("`{name}` is what is turned, on a layer that stands still"))
        .label(field.span, "nothing to choose")
        .help("take `turning` out")
        .about(name)
}

/// A hand that nothing holds.
pub fn hand_without_pivot(wheel: &Wheel, point: Span, pivot: Option<&str>) -> Diagnostic {
    let name = &wheel.name().text;
    let found = Diagnostic::error(Finding::HandForm, format!("nothing holds `{name}` at its point"))
        .label(point.after(), "on what?")
        .about(name);
    match pivot {
        Some(pivot) => found.help(format!("say what it turns on, as in `on {pivot}`")),
        None => found.help("say what it turns on, as in `on rivet(eyelet)` or `on magnets(disc)`, of your shop"),
    }
}

/// An opening, or another mark, where a point is wanted.
pub fn at_no_point(wheel: &Wheel, point: &Expr, opens: bool) -> Diagnostic {
    let name = &wheel.name().text;
    let found = Diagnostic::error(Finding::HandForm, format!("what `{name}` lies at is no point"))
        .label(point.span, if opens { "an opening" } else { "a mark" })
        .about(name);
    if opens {
        found.help("a wheel lies `in` an opening, and a hand `at` a point on a pivot: write `in`, or a point")
    } else {
        found.help("write a point, or the name of one")
    }
}

/// A layer over a hand.
pub fn no_room_to_turn(wheel: &Wheel, over: &Layer, sweep: Option<kurbo::Rect>) -> Diagnostic {
    let name = &wheel.name().text;
    let wide = sweep.map_or(0.0, |sweep| sweep.width());
    let found = Diagnostic::error(
        Finding::NoRoomToTurn,
        format!("`{}` is glued on where `{name}` turns, and leaves it no room", over.name),
    );
    found
        .label(wheel.span, format!("sweeps a circle {} wide", Length::mm(wide).to_decimals(2)))
        .label(over.origin, "lies in its way")
        .help(format!(
            "cut a hole into `{}` about the point that `{name}` turns about, wider than that, or lay `{name}` on a layer above it",
            over.name
        ))
        .about(name)
}

/// A ring that does not stand round the axis that it is read about.
pub fn ring_off_axis(
    (ring, centre, stated): (&Name, Point, Option<Span>),
    axis: Point,
    (own, turn): (bool, Span),
) -> Diagnostic {
    let [is, wanted] = [centre, axis].map(|point| Value::Point(point).to_string());
    let message = format!("`{}` stands round {is}, and what it is read with turns about {wanted}", ring.text);
    let found = Diagnostic::error(Finding::RingOffAxis, message)
        .label(stated.unwrap_or(ring.span), "stands round another point")
        .label(turn, if own { "turns about its own point" } else { "turns about the axis of the dial" })
        .help(format!("let its labels stand round that axis: `centre {wanted}` among its fields"))
        .about(&ring.text);
    match stated {
        Some(stated) => found.mend(stated, wanted),
        None => found,
    }
}

/// A ring on one wheel, read by something on another.
pub fn both_turn(ring: &Name, by: &Name) -> Diagnostic {
    let message =
        format!("`{}` and `{}` each turn by themselves, so that no stop tells what is read", ring.text, by.text);
    Diagnostic::error(Finding::NotWithWheels, message)
        .label(ring.span, "on one")
        .label(by.span, "on another")
        .help("put one of the two onto the layer that stands still")
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
