//! What the heads of rivets and pins lie over: marks that nobody sees there, and openings that give them no hold.

use super::findings as say;
use super::{Burn, Parts};
use crate::design::standing::Seated;
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region};
use crate::source::Span;

/// Checks what lies under each head on this layer.
pub(super) fn check<'d>(parts: &Parts, heads: impl Iterator<Item = Seated<'d>>, problems: &mut Problems) {
    for head in heads {
        let Some(disc) = head.disc() else { continue };
        let flat = FlattenedShape::of(&disc);
        openings(parts, &head, &flat, problems);
        burns(parts, &head, (&disc, &flat), problems);
    }
}

/// Of openings that break into the hole that the shank goes through, that is said.
fn openings(parts: &Parts, head: &Seated, flat: &FlattenedShape, problems: &mut Problems) {
    let hole = parts.openings.iter().find(|opening| opening.region.contains(head.about));
    let breaks_in = |other: &FlattenedShape| hole.is_some_and(|hole| hole.flat.closer_than(other, 0.0));
    let mut told: Vec<Span> = Vec::new();
    for opening in parts.openings.iter().filter(|opening| !opening.region.contains(head.about)) {
        let gap = flat.gap(&opening.flat);
        if gap.overlaps() && !told.contains(&opening.mark.origin) && !breaks_in(&opening.flat) {
            told.push(opening.mark.origin);
            problems.push(say::head_over_opening(parts.layer, head, opening, gap));
        }
    }
}

/// Of each mark and each ring what is hidden most.
fn burns(parts: &Parts, head: &Seated, (disc, flat): (&Region, &FlattenedShape), problems: &mut Problems) {
    let is_cut = |burn: &Burn| {
        let pockets = parts.pockets.iter().filter(|pocket| pocket.mark.face == head.face);
        parts.openings.iter().chain(pockets).any(|cut| burn.flat.closer_than(&cut.flat, 0.0))
    };
    let under = parts.burns.iter().filter(|burn| burn.face == head.face).map(|burn| (burn, flat.gap(&burn.flat)));
    let mut under: Vec<_> = under.filter(|(burn, gap)| gap.overlaps() && !is_cut(burn)).collect();
    under.sort_by(|one, other| one.1.mm.total_cmp(&other.1.mm));
    let mut told: Vec<Span> = Vec::new();
    for (burn, gap) in under {
        if !told.contains(&burn.origin) {
            told.push(burn.origin);
            let hidden =
                burn.region.map(|region| region.intersection(disc).area() / region.area().max(f64::MIN_POSITIVE));
            problems.push(say::head_over_mark(parts.layer, head, burn, hidden, gap));
        }
    }
}
