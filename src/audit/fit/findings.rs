//! What is said of a dial and its slot.

use std::collections::BTreeSet;

use crate::audit::StopFit;
use crate::design::{Design, Slot};
use crate::diagnostics::{Diagnostic, Finding, listed};
use crate::source::Span;
use crate::units::{Length, plain};

/// Labels every outline, one that several layers share once.
fn outlines(design: &Design, found: Diagnostic) -> Diagnostic {
    let origins: BTreeSet<Span> = design.layers.iter().map(|layer| layer.outline_origin).collect();
    origins.into_iter().fold(found, |found, origin| {
        let layers = design.layers.iter().filter(|layer| layer.outline_origin == origin);
        found.label(origin, format!("outline of {}", listed(layers.map(|layer| layer.name.as_str()), "and")))
    })
}

/// At some stop the dial stands over the slot's edge.
pub fn too_big(design: &Design, slot: &Slot, stop: &str, worst: &StopFit, scale: f64) -> Diagnostic {
    let over = -worst.clearance;
    let message = format!("at {stop} the dial is {over} too big for its slot");
    let found = Diagnostic::warning(Finding::TooBigForSlot, message).label(slot.origin, "must drop into this");
    let found = outlines(design, found);
    let help = if scale > 0.0 {
        format!("make the outlines {} times as large, the largest that fits at every stop", plain(scale - 5e-5, 4))
    } else {
        "draw the slot round the turning axis; no scale of the outlines fits into it as it is".to_owned()
    };
    found.about("slot").spot(worst.at).help(help)
}

/// The dial fits at the stops, but not between them.
pub fn turns_outside(design: &Design, slot: &Slot, room: Length) -> Diagnostic {
    let message = format!("the dial fits its slot at every stop, but stands {} over its edge while it turns", -room);
    let found = Diagnostic::advice(Finding::TurnsOutsideSlot, message).label(slot.origin, "too narrow to turn in");
    let found = outlines(design, found);
    found.about("slot").help("lift the dial out to set it, round its corners, or widen the slot to the swept diameter")
}

/// The stack is higher than the slot is deep.
pub fn too_thick(slot: &Slot, thickness: Length, above: Length) -> Diagnostic {
    let message = format!("the stack is {thickness} thick and stands {} out of its slot", -above);
    Diagnostic::warning(Finding::TooThickForSlot, message)
        .label(slot.origin, "its depth is given here")
        .about("slot")
        .help(format!("give the slot a depth of {thickness} at least, or use thinner stock"))
}
