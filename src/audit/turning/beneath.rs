//! Words and pictures beneath a layer that turns over them, and that no stop bares.

use super::scene::cover_of;
use crate::audit::bonds::{Hides, never_seen};
use crate::design::pose::{Pose, combination_count, combinations};
use crate::design::{Design, Face, Layer, Mark, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::FlattenedShape;
use crate::limits::COMBINATIONS;

/// Pushes what is said of work that one layer hides at every stop. Of rings it is told that nothing reads them, and of what is
/// glued over, that it is.
pub(super) fn report(design: &Design, problems: &mut Problems) {
    for (at, layer) in design.layers.iter().enumerate().filter(|(_, layer)| !layer.stock.clear) {
        // Ticks belong to their ring.
        let of_ring = |mark: &Mark| layer.rings.iter().any(|ring| ring.origin == mark.origin);
        for mark in layer.marks.iter().filter(|mark| !of_ring(mark)) {
            let cover = burnt(mark).and_then(|flat| hides(design, (at, mark.face), &flat));
            problems.extend(cover.map(|cover| never_seen(layer, mark, cover, Hides::AtEveryStop)));
        }
    }
}

/// What is burnt; none where nothing is that one looks at.
fn burnt(mark: &Mark) -> Option<FlattenedShape> {
    match (&mark.work, &mark.shape) {
        (Work::Engrave { .. } | Work::Score, Shape::Region(region)) => Some(FlattenedShape::of(region)),
        (Work::Engrave { .. } | Work::Score, Shape::Trace(trace)) => Some(FlattenedShape::of_trace(trace)),
        _ => None,
    }
}

/// The first layer over this face that turns against it and lies over all of this at every stop. What two layers hide only
/// together, or in turn, is not looked for.
fn hides<'d>(design: &'d Design, (at, face): (usize, Face), flat: &FlattenedShape) -> Option<&'d Layer> {
    let over = |place: usize| if face == Face::Front { place > at } else { place < at };
    let mut covers = design.layers.iter().enumerate().filter(|(place, _)| over(*place));
    let hides = |(place, _): &(usize, &Layer)| {
        let between = at.min(*place)..at.max(*place);
        let turns = design.turns().enumerate().filter(|(_, (below, _))| between.contains(below));
        let turns: Vec<usize> = turns.map(|(turn, _)| turn).collect();
        let cover = FlattenedShape::of(&cover_of(design, *place));
        let covered =
            |stops: &Vec<usize>| flat.moved(Pose::of_turns(design, &turns, stops).map(at, *place)).lies_well_in(&cover);
        !turns.is_empty()
            && (1..=COMBINATIONS).contains(&combination_count(design, &turns))
            && combinations(design, &turns).iter().all(covered)
    };
    covers.find(hides).map(|(_, layer)| layer)
}
