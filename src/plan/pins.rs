//! What is done with pins once the layers of a dial are glued. Pure text.

use crate::design::{Design, Ends, Fastener, Half, Pivot, Rivet, Turn};
use crate::units::plain;

/// The steps of putting the pins into one dial, in order; none where it has no pins.
pub fn pin_steps(design: &Design) -> Vec<String> {
    let turns = design.turns().filter_map(|(below, turn)| match &turn.pivot {
        Pivot::Rivet(pin) if pin.kind == Fastener::Pin => screwed(design, below, pin),
        Pivot::Rivet(_) | Pivot::Magnets { .. } | Pivot::Wall => None,
    });
    let ends = design.turns().filter_map(|(below, turn)| glued(design, below, turn));
    ends.chain(turns).collect()
}

/// The pin that ends a turn is glued in before the halves are put together.
fn glued(design: &Design, below: usize, turn: &Turn) -> Option<String> {
    let ends = turn.ends.as_ref()?;
    let (stays, turns) = Ends::layers(design.across(below), turn.turning);
    let (far, near) = if turn.turning == Half::Upper { ("back", "front") } else { ("front", "back") };
    let (stays, turns) = (design.layers.get(stays)?, design.layers.get(turns)?);
    let glue = ends.pin.adhesive.as_ref().map_or_else(String::new, |glue| {
        format!(" with {}, {}h to cure", glue.name, plain(glue.cure.as_seconds() / 3600.0, 1))
    });
    Some(format!(
        "Glue one `{}` into the small hole in `{}`, {} from the middle{glue}: flush with the {far}, so that it stands {} out of the {near}. Wipe off what wells out there. It runs in the slot of `{}`, which it must never be glued to; how hard a push it bears is not known.",
        ends.pin.name,
        stays.name,
        ends.radius,
        (ends.pin.length - stays.stock.thickness.mean).to_decimals(2),
        turns.name
    ))
}

fn screwed(design: &Design, below: usize, pin: &Rivet) -> Option<String> {
    let joined = design.joined(below);
    let (lowest, uppermost) = (design.layers.get(*joined.first()?)?, design.layers.get(*joined.last()?)?);
    Some(format!(
        "Put `{}` through the middle, its head on the front of `{}` and its nut on the back of `{}`. Tighten the nut until nothing rattles, turn it back until the dial turns as it should, and lock it so with thread lock or a second nut: how hard it turns is what the hand sets here.",
        pin.name, uppermost.name, lowest.name
    ))
}
