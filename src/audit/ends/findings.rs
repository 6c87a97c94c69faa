//! Findings about what ends a turn.

use crate::design::{Ends, Layer};
use crate::diagnostics::{Diagnostic, Finding};
use crate::units::{Angle, Length, percent};

/// In hundredths, rounded up so that it suffices.
fn up(length: Length) -> Length {
    Length::mm((length.as_mm() * 100.0 - 1e-6).ceil() / 100.0)
}

/// In tenths, rounded inwards so that both ends of a range serve.
fn between((least, most): (Length, Length)) -> String {
    let tenths = |length: Length, round: fn(f64) -> f64| Length::mm(round(length.as_mm() * 10.0) / 10.0);
    let (least, most) = (tenths(least, f64::ceil), tenths(most, f64::floor));
    if least < most { format!("from {least} to {most} long") } else { format!("{least} long") }
}

/// A slot that may end before the last stop.
pub(super) fn end_slot_short(ends: &Ends, wanted: Length, short: f64) -> Diagnostic {
    let message = format!(
        "the slot of `{}` has {} of play at either end, and what is made strays by more: up to {} of such dials do not reach a stop there",
        ends.pin.name,
        ends.play,
        percent(short, 1)
    );
    Diagnostic::warning(Finding::EndSlotShort, message)
        .label(ends.origin, "may end before its stop")
        .about(&ends.pin.name)
        .help(format!("write `play: {}` or more behind its radius", up(wanted)))
}

/// A slot that lets the half go farther than a reading bears.
pub(super) fn end_slot_long(ends: &Ends, (beyond, bears): (Angle, Angle), ring: &str) -> Diagnostic {
    let message = format!(
        "turned until its pin stops it, the dial stands {} beyond its stop, and `{ring}` bears {} there",
        beyond.to_decimals(1),
        bears.to_decimals(1)
    );
    Diagnostic::advice(Finding::EndSlotLong, message)
        .label(ends.origin, "ends past the stop")
        .about(&ends.pin.name)
        .help("set the pin farther out, where the same play turns it less; until then the end is no stop to turn to by feel")
}

/// A pin that stands out of its slot.
pub(super) fn end_pin_proud(ends: &Ends, by: Length, layer: &Layer, fits: (Length, Length)) -> Diagnostic {
    let message = format!(
        "`{}`, {} long, stands {} out of its slot through `{}`",
        ends.pin.name,
        ends.pin.length,
        by.to_decimals(2),
        layer.name
    );
    Diagnostic::error(Finding::EndPinProud, message)
        .label(ends.origin, "too long for these two layers")
        .about(&ends.pin.name)
        .help(format!("take a pin {}", between(fits)))
}

/// A pin that does not reach into its slot.
pub(super) fn end_pin_short(ends: &Ends, catches: Length, layer: &Layer, fits: (Length, Length)) -> Diagnostic {
    let (name, length) = (&ends.pin.name, ends.pin.length);
    let found = if catches > Length::ZERO {
        let by = catches.to_decimals(2);
        Diagnostic::warning(
            Finding::EndPinShort,
            format!("`{name}`, {length} long, reaches {by} into its slot, so that a push may lift the dial over it"),
        )
    } else {
        Diagnostic::error(
            Finding::EndPinShort,
            format!("`{name}`, {length} long, ends within `{}` and never meets its slot", layer.name),
        )
    };
    let found = found.label(ends.origin, "too short for these two layers").about(name);
    found.help(format!("take a pin {}", between(fits)))
}
