//! The order of the work within one stage of a setup: small cuts before large ones, neighbours before what is far off.
//!
//! The way from each part to the nearest one not yet done, then untwisted by turning stretches of it round as long as that
//! makes it shorter (2-opt: Croes, "A method for solving traveling-salesman problems", Operations Research 6, 1958).

use kurbo::{ParamCurve as _, Point, Shape as _};

use super::{Edge, Operation, OperationKind};

/// Sizes that differ by less than this count as one.
const ALIKE: f64 = 1.05;
/// Rounds of untwisting, and the most places that it is done for.
const ROUNDS: usize = 30;
const UNTWISTED: usize = 400;

/// Operations of one stage, in the order given and in the order of least travel.
pub(super) struct Ordered {
    pub(super) operations: Vec<Operation>,
    /// Travel between operations, in mm.
    pub(super) travel: f64,
    /// What it would have been in the order given.
    pub(super) given: f64,
}

/// Puts one stage in order, the operations of a part staying together; begins where the stage before ended.
pub(super) fn ordered(operations: Vec<Operation>, from: &mut Point) -> Ordered {
    let mut groups: Vec<Vec<Operation>> = Vec::new();
    for operation in operations {
        match groups.last_mut() {
            Some(group) if group.first().is_some_and(|first| first.part == operation.part) => group.push(operation),
            _ => groups.push(vec![operation]),
        }
    }
    for group in &mut groups {
        if group.iter().all(|it| matches!(it.kind, OperationKind::Cut { edge: Edge::Opening, .. })) {
            group.sort_by(|a, b| area(a).total_cmp(&area(b)));
        }
    }
    let start = *from;
    let given: Vec<usize> = by_size(&groups).into_iter().flatten().collect();
    let mut shorter = Vec::new();
    let mut at = start;
    for class in by_size(&groups) {
        let way = short_way(&class, &groups, at);
        at = way.last().and_then(|last| groups.get(*last)).map_or(at, |group| ends(group).1);
        shorter.extend(way);
    }
    let (was, now) = (travel(&given, &groups, start), travel(&shorter, &groups, start));
    let (order, travel) = if now < was - 1e-6 { (shorter, now) } else { (given, was) };
    *from = order.last().and_then(|last| groups.get(*last)).map_or(start, |group| ends(group).1);
    let operations = order.iter().flat_map(|at| groups.get_mut(*at).map(std::mem::take).unwrap_or_default()).collect();
    Ordered { operations, travel, given: was }
}

/// The groups by size of the outline that they cut, smallest first; all others at once.
fn by_size(groups: &[Vec<Operation>]) -> Vec<Vec<usize>> {
    let outline = |group: &Vec<Operation>| {
        let cuts = group.iter().filter(|it| matches!(it.kind, OperationKind::Cut { edge: Edge::Outline, .. }));
        cuts.map(area).fold(0.0, f64::max)
    };
    let mut sizes: Vec<(f64, usize)> = groups.iter().map(outline).zip(0..).collect();
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let classes = sizes.chunk_by(|a, b| b.0 <= a.0 * ALIKE);
    let index = |class: &[(f64, usize)]| {
        let mut class: Vec<usize> = class.iter().map(|it| it.1).collect();
        class.sort_unstable();
        class
    };
    classes.map(index).collect()
}

fn area(operation: &Operation) -> f64 {
    operation.path().map_or(0.0, |path| path.area().abs())
}

/// Where a group begins and ends. A closed path ends where it begins; a filled region is taken at its middle.
fn ends(group: &[Operation]) -> (Point, Point) {
    let place = |operation: &Operation| -> Option<(Point, Point)> {
        let path = operation.path().filter(|path| !path.elements().is_empty())?;
        if matches!(operation.kind, OperationKind::Engrave { .. } | OperationKind::Pocket { .. }) {
            let middle = path.bounding_box().center();
            return Some((middle, middle));
        }
        let first = path.segments().next()?.start();
        Some((first, path.segments().last()?.end()))
    };
    let places: Vec<(Point, Point)> = group.iter().filter_map(place).collect();
    let first = places.first().map_or(Point::ORIGIN, |it| it.0);
    (first, places.last().map_or(first, |it| it.1))
}

fn travel(order: &[usize], groups: &[Vec<Operation>], start: Point) -> f64 {
    let mut at = start;
    let mut length = 0.0;
    for group in order.iter().filter_map(|it| groups.get(*it)) {
        let (first, last) = ends(group);
        length += at.distance(first);
        at = last;
    }
    length
}

fn short_way(class: &[usize], groups: &[Vec<Operation>], start: Point) -> Vec<usize> {
    let mut left: Vec<(usize, Point, Point)> = class
        .iter()
        .filter_map(|it| groups.get(*it).map(|group| (*it, ends(group))))
        .map(|(it, ends)| (it, ends.0, ends.1))
        .collect();
    let mut way: Vec<(usize, Point, Point)> = Vec::with_capacity(left.len());
    let mut at = start;
    while !left.is_empty() {
        let nearest = (0..left.len()).min_by(|a, b| {
            let far = |index: &usize| left.get(*index).map_or(f64::INFINITY, |it| at.distance_squared(it.1));
            far(a).total_cmp(&far(b))
        });
        let next = left.remove(nearest.unwrap_or(0));
        at = next.2;
        way.push(next);
    }
    if way.len() <= UNTWISTED {
        untwist(&mut way, start);
    }
    way.into_iter().map(|it| it.0).collect()
}

/// Turns stretches of the way round as long as that makes it shorter. The way's end is free.
fn untwist(way: &mut [(usize, Point, Point)], start: Point) {
    for _ in 0..ROUNDS {
        let mut better = false;
        for from in 0..way.len() {
            for to in from + 1..way.len() {
                let before = if from == 0 { start } else { way.get(from - 1).map_or(start, |it| it.2) };
                let (Some(first), Some(last)) = (way.get(from), way.get(to)) else { continue };
                let after = way.get(to + 1).map(|it| it.1);
                let now = before.distance(first.1) + after.map_or(0.0, |after| last.2.distance(after));
                let then = before.distance(last.1) + after.map_or(0.0, |after| first.2.distance(after));
                if then < now - 1e-6 {
                    way.get_mut(from..=to).into_iter().for_each(<[_]>::reverse);
                    better = true;
                }
            }
        }
        if !better {
            return;
        }
    }
}
