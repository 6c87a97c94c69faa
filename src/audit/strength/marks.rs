//! Marks that leave the part, come too near its edges, or are cut away.

use super::findings as say;
use super::{Burn, Parts};
use crate::design::Face;
use crate::diagnostics::Problems;
use crate::geometry::{Gap, TOUCH_MM};
use crate::units::Length;

/// Checks everything engraved, scored or sunk, one finding of a kind for each mark and each ring.
pub(super) fn check(parts: &Parts, problems: &mut Problems) {
    // A seat over the edge is broken, which says more.
    let others = parts.pockets.iter().filter(|pocket| !parts.is_seat(pocket.mark));
    for pocket in others.filter(|pocket| !pocket.flat.lies_clear_in(&parts.outline, 0.0)) {
        let room = pocket.flat.room_in(&parts.outline);
        if room.overlaps() {
            let called = pocket.called();
            problems.push(say::mark_outside(parts.layer, &called, pocket.mark.origin, Length::mm(-room.mm), room.at.0));
        }
    }
    // The labels of a ring are one group: ten labels too near the edge are one mistake and one finding.
    let mut groups: Vec<Vec<&Burn>> = Vec::new();
    for burn in parts.burns.iter().filter(|burn| !burn.flat.is_empty()) {
        match groups
            .iter_mut()
            .find(|group| burn.ring.is_some() && group.first().is_some_and(|one| one.ring == burn.ring))
        {
            Some(group) => group.push(burn),
            None => groups.push(vec![burn]),
        }
    }
    let witness = parts.layer.witness.map(|(_, origin)| origin);
    for group in &groups {
        // A tick across the rim is meant to be there.
        if group.first().is_none_or(|burn| Some(burn.origin) != witness) {
            outside(parts, group, problems);
            // What is printed is never scorched, and how near it may stand follows from how it is lined up.
            if group.first().is_none_or(|burn| !burn.is_printed()) {
                near_edge(parts, group, problems);
            }
        }
        cut_away(parts, group, problems);
    }
}

/// The worst of a group by a measure, where that is below `limit`; only those are measured that `may_be` lets through.
fn worst<'b, 'a>(
    group: &[&'b Burn<'a>],
    limit: f64,
    may_be: impl Fn(&Burn) -> bool,
    measure: impl Fn(&Burn) -> Gap,
) -> Option<(&'b Burn<'a>, Gap)> {
    let looked_at = group.iter().filter(|burn| may_be(burn));
    let measured = looked_at.map(|burn| (*burn, measure(burn))).filter(|(_, gap)| gap.mm < limit);
    measured.min_by(|a, b| a.1.mm.total_cmp(&b.1.mm))
}

fn outside(parts: &Parts, group: &[&Burn], problems: &mut Problems) {
    let sticks_out = |burn: &Burn| !burn.flat.lies_clear_in(&parts.outline, 0.0);
    if let Some((burn, room)) = worst(group, -TOUCH_MM, sticks_out, |burn| burn.flat.room_in(&parts.outline)) {
        problems.push(say::mark_outside(parts.layer, &burn.called, burn.origin, Length::mm(-room.mm), room.at.0));
    }
}

/// Least room to the outline or an opening that the mark stands clear of.
fn near_edge(parts: &Parts, group: &[&Burn], problems: &mut Problems) {
    let least = parts.layer.stock.clear_edge;
    let is_near = |burn: &Burn| {
        let to_openings = parts.openings.iter().any(|opening| burn.flat.closer_than(&opening.flat, least.as_mm()));
        to_openings || !burn.flat.lies_clear_in(&parts.outline, least.as_mm())
    };
    let room = |burn: &Burn| {
        let openings = parts.openings.iter().map(|opening| burn.flat.gap(&opening.flat));
        let rooms = openings.chain([burn.flat.room_in(&parts.outline)]);
        // What overlaps is cut away or sticks out, which is another finding.
        rooms.filter(|gap| !gap.overlaps()).reduce(Gap::least).unwrap_or(Gap::NONE)
    };
    if let Some((burn, room)) = worst(group, least.as_mm() - TOUCH_MM, is_near, room) {
        let room_mm = Length::mm(room.mm.max(0.0));
        problems.push(say::mark_near_edge(parts.layer, &burn.called, burn.origin, room_mm, least, room.at.0));
    }
}

fn cut_away(parts: &Parts, group: &[&Burn], problems: &mut Problems) {
    let into = |face: Face| {
        let pockets = parts.pockets.iter().filter(move |pocket| pocket.mark.face == face);
        parts.openings.iter().chain(pockets)
    };
    let cuts = |burn: &Burn| {
        let gaps = into(burn.face).map(|cut| (cut, burn.flat.gap(&cut.flat)));
        gaps.min_by(|a, b| a.1.mm.total_cmp(&b.1.mm))
    };
    let meets = |burn: &Burn| into(burn.face).any(|cut| burn.flat.closer_than(&cut.flat, 0.0));
    let measure = |burn: &Burn| cuts(burn).map_or(Gap::NONE, |(_, gap)| gap);
    let Some((burn, gap)) = worst(group, -TOUCH_MM, meets, measure) else { return };
    let Some((cut, _)) = cuts(burn) else { return };
    let lost = burn.region.map(|region| {
        let area = region.area().max(f64::MIN_POSITIVE);
        region.intersection(cut.region).area() / area
    });
    problems.push(say::mark_cut_away(parts.layer, burn, &cut.called(), cut.mark.origin, lost, gap.at.0));
}
