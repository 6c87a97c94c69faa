//! What is said of a dial and its slot.

use std::collections::BTreeSet;

use kurbo::{Point, Vec2};

use super::{Fit, Tight};
use crate::audit::{StopFit, of_a_hundred};
use crate::design::{Design, Slot};
use crate::diagnostics::{Diagnostic, Finding, listed};
use crate::geometry::TOUCH_MM;
use crate::source::Span;
use crate::statistics::normal;
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
    let [left, right, below, above] = worst.sides;
    let too = [(left + right, "wide"), (below + above, "high")];
    let too = too.into_iter().filter(|(room, _)| -room.as_mm() > TOUCH_MM);
    let too: Vec<String> = too.map(|(room, way)| format!("{} too {way}", -room)).collect();
    let over = format!("{} over its {}", -worst.clearance, edge(slot, worst.at));
    let message = if too.is_empty() {
        format!("at {stop} the dial stands in its slot {over}")
    } else {
        format!("at {stop} the dial is {} for its slot, and stands {over}", too.join(" and "))
    };
    let found = Diagnostic::warning(Finding::TooBigForSlot, message).label(slot.origin, "must drop into this");
    let found = outlines(design, found);
    let help = if scale > 0.0 {
        format!(
            "make the outlines {} times as large, which fits at every stop, with what the kerf strays by",
            plain(scale - 5e-5, 4)
        )
    } else {
        "draw the slot round the turning axis; no scale of the outlines fits into it as it is".to_owned()
    };
    found.about("slot").spot(worst.at).help(help)
}

/// It goes in as drawn, but the kerf strays by more than there is room.
pub(super) fn too_tight(design: &Design, slot: &Slot, tight: Tight) -> Diagnostic {
    let Tight { room, wanted, lacking } = tight;
    let message = format!(
        "the dial has {} to spare in its slot, and the kerf strays by {}: {} do not go in",
        room.to_decimals(2),
        design.spreads.kerf,
        dials(lacking)
    );
    let found = Diagnostic::warning(Finding::TooBigForSlot, message).label(slot.origin, "must drop into this");
    outlines(design, found)
        .about("slot")
        .help(format!("make the outlines {} narrower, or the slot as much wider", up(wanted - room)))
}

/// So many dials.
fn dials(share: f64) -> String {
    of_a_hundred(share).map_or_else(|| "all dials".to_owned(), |some| format!("{some} dials"))
}

/// A length, rounded up to the hundredth so that it suffices.
fn up(length: Length) -> String {
    Length::mm((length.as_mm() * 100.0).ceil() / 100.0).to_decimals(2)
}

/// Which edge of the slot a place outside it stands over, by the shortest way back in: `left edge`, `upper right edge`.
fn edge(slot: &Slot, at: Point) -> String {
    /// The tangent of 22.5deg: eight ways in all.
    const NEXT_TO_NOTHING: f64 = 0.414_213_6;
    let off = slot.outline.distance_to_point(at).map_or(Vec2::ZERO, |near| near.to - near.from);
    let least = NEXT_TO_NOTHING * off.x.abs().max(off.y.abs());
    let word = |by: f64, low: &'static str, high: &'static str| match () {
        () if by.abs() <= least => "",
        () if by < 0.0 => low,
        () => high,
    };
    [word(off.y, "lower ", "upper "), word(off.x, "left ", "right "), "edge"].concat()
}

/// The dial fits at the stops, but not between them.
pub fn turns_outside(design: &Design, slot: &Slot, fit: &Fit) -> Diagnostic {
    let over = -fit.turning;
    let (stands, widen) = if fit.turning_exact {
        // Where it is laid in the middle; to whichever side it is pushed, the two together stay the same.
        let both = over * 2.0;
        (format!("gets {both} too wide for it as it turns, {over} on either side"), format!("widen the slot by {both}"))
    } else {
        let stands = format!("stands {over} over its edge as it turns about its axis");
        (stands, format!("widen the slot by {over} all round"))
    };
    let message = format!("the dial fits its slot at every stop, but {stands}");
    let found = Diagnostic::advice(Finding::TurnsOutsideSlot, message).label(slot.origin, "too narrow to turn in");
    let found = outlines(design, found);
    found.about("slot").help(format!("lift the dial out to set it, round its corners, or {widen}"))
}

/// The stack is as high as the slot is deep on the average, and higher in some dials.
pub(super) fn too_thick_in_some(slot: &Slot, tight: Tight) -> Diagnostic {
    let Tight { room, wanted, lacking } = tight;
    let message = format!(
        "the stack lies {} below the edge of its slot, and by the readings of its boards and glue it strays by {}: {} stand out",
        room.to_decimals(2),
        (wanted / normal::FREE).to_decimals(2),
        dials(lacking)
    );
    Diagnostic::warning(Finding::TooThickForSlot, message)
        .label(slot.origin, "its depth is given here")
        .about("slot")
        .help(format!("make the slot {} deeper, or use thinner stock", up(wanted - room)))
}

/// The stack is higher than the slot is deep.
pub fn too_thick(slot: &Slot, (thickness, deep): (Length, Length), above: Length) -> Diagnostic {
    let message = format!("the stack is {thickness} thick and stands {} out of its slot", -above);
    Diagnostic::warning(Finding::TooThickForSlot, message)
        .label(slot.origin, "its depth is given here")
        .about("slot")
        .help(format!("give the slot a depth of {} at least, or use thinner stock", up(deep)))
}
