//! Findings about pins.

use crate::design::Ends;
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::syntax::tree::Name;
use crate::units::Angle;

/// A pin of which it is not said how it holds.
pub fn pin_says_neither(name: &Name) -> Diagnostic {
    let message = format!("it is not said how `{}` holds: it has neither a head nor a length", name.text);
    Diagnostic::error(Finding::PinForm, message)
        .label(name.span, "how does it hold?")
        .help("for a screw write `head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm`, for a dowel that is glued in `length 5mm`")
}

/// A pin that clamps, with something left out.
pub fn pin_half_said(name: &Name, has: &str, lacks: &[&str]) -> Diagnostic {
    let lacks: Vec<String> = lacks.iter().map(|word| format!("`{word}`")).collect();
    let lacks = lacks.join(" and ");
    Diagnostic::error(Finding::PinForm, format!("`{}` has a `{has}` and lacks {lacks}", name.text))
        .label(name.span, "clamps by half")
        .help("what clamps has all three: `head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm`")
}

/// A pin that is to clamp and to be glued in.
pub fn pin_says_both(name: &Name, clamps: &str, glued: &str, span: Span) -> Diagnostic {
    let message =
        format!("`{}` has a `{clamps}`, which clamps, and `{glued}`, which is for a pin that is glued in", name.text);
    Diagnostic::error(Finding::PinForm, message)
        .label(span, "for a pin without a head")
        .help(format!("take out `{glued}`; for a dowel take out `head`, `nut` and `grips` instead"))
}

/// A turn on a pin without a head.
pub fn pin_clamps_nothing(name: &str, span: Span) -> Diagnostic {
    let message = format!("`{name}` has no head, so nothing keeps the halves of this turn together");
    Diagnostic::error(Finding::PinClampsNothing, message)
        .label(span, "glued in, and clamps nothing")
        .about(name)
        .help("turn on a screw, `pin m4 { shank 3.9mm; head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm }`, or on `magnets(…)`")
}

/// A radius for the pin that a turn turns on.
pub fn pin_off_axis(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::PinForm, "a turn turns about its axis, so the pin that it turns on has no radius")
        .label(span, "stands on the axis")
        .help("take it out; a pin beside the axis ends a turn: `ends pin(dowel, radius: 8mm)` among the turn's fields")
}

/// Ends that are no pin.
pub fn ends_want_a_pin(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EndsForm, "a turn is ended by a pin, which runs in a slot")
        .label(span, "no pin")
        .help("write `ends pin(dowel, radius: 8mm)`")
}

/// Ends by a pin with a head.
pub fn ends_on_a_screw(name: &str, span: Span) -> Diagnostic {
    let message = format!("`{name}` has a head, which would keep the halves apart");
    Diagnostic::error(Finding::EndsForm, message)
        .label(span, "clamps what is to slide")
        .about(name)
        .help("take a pin without one, `pin dowel { shank 3mm; length 5mm }`, and write `ends pin(dowel, radius: 8mm)`")
}

/// Ends whose pin stands nowhere.
pub fn ends_without_radius(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EndsForm, "it is not said how far from the axis this pin stands")
        .label(span, "at which radius?")
        .help(format!("write `ends pin({name}, radius: 8mm)`"))
}

/// Ends whose pin stands on the axis.
pub fn ends_on_the_axis(ends: &Ends, span: Span) -> Diagnostic {
    let half = (ends.pin.shank + ends.pin.clearance) / 2.0;
    let message = format!("at a radius of {} the slot of `{}` goes through the axis", ends.radius, ends.pin.name);
    Diagnostic::error(Finding::EndsForm, message)
        .label(span, "too near to the axis")
        .help(format!("write a radius well above {}", half.to_decimals(2)))
}

/// Ends of a turn with one stop.
pub fn ends_of_one_stop(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EndsForm, "a turn with one stop has nothing to end")
        .label(span, "a pin that keeps it from turning at all")
        .help("say more stops, as in `stops 0deg to 270deg by 45deg`, or take out `ends`")
}

/// A slot whose ends meet.
pub fn end_slot_goes_round(ends: &Ends, way: Angle, span: Span) -> Diagnostic {
    let message = format!(
        "the slot of `{}` at a radius of {} would go right round: {} from the first to the last stop leave nothing between its ends",
        ends.pin.name,
        ends.radius,
        way.to_decimals(1)
    );
    Diagnostic::error(Finding::EndSlotRound, message)
        .label(span, "what lies within it falls out")
        .about(&ends.pin.name)
        .help("take a larger `radius`, a thinner pin, or fewer stops")
}
