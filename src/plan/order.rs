//! The order of the work within one stage of a setup: small cuts before large ones, neighbours before what is far off.
//!
//! The way from each part to the nearest one not yet done, then untwisted by turning stretches of it round as long as that
//! makes it shorter (2-opt: Croes, "A method for solving traveling-salesman problems", Operations Research 6, 1958).

use kurbo::{PathEl, Point, Shape as _};

use super::operation::{CutEdge, Operation, OperationKind};

/// Sizes that differ by less than this count as one.
const ALIKE: f64 = 1.05;
/// Rounds of untwisting, and the most places that it is done for.
const ROUNDS: usize = 30;
const UNTWISTED: usize = 400;

/// Operations of one stage, in the order given and in the order of least travel.
pub(super) struct Ordered {
    pub(super) operations: Vec<Operation>,
    /// Travel to each line of each operation, in mm.
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
        if group.iter().all(|it| matches!(it.kind, OperationKind::Cut { edge: CutEdge::Opening, .. })) {
            group.sort_by(|a, b| area(a).total_cmp(&area(b)));
        }
    }
    let start = *from;
    // Small cuts come first while the sheet is still stiff: a part that has been cut free may tilt and shift (common
    // practice, no source). So the search for a short way runs within each size only.
    let given: Vec<usize> = by_size(&groups).into_iter().flatten().collect();
    let mut shorter = Vec::new();
    let mut at = start;
    for class in by_size(&groups) {
        let way = short_way(&class, &groups, at);
        at = way.last().and_then(|last| groups.get(*last)).map_or(at, |group| ends(group).1);
        shorter.extend(way);
    }
    let (was, now) = (travel(&given, &groups, start), travel(&shorter, &groups, start));
    // The order of the layout is kept where the search for a shorter one finds none, so that the travel said to be
    // saved is never below nothing.
    let (order, travel) = if now < was - 1e-6 { (shorter, now) } else { (given, was) };
    *from = order.last().and_then(|last| groups.get(*last)).map_or(start, |group| ends(group).1);
    let operations = order.iter().flat_map(|at| groups.get_mut(*at).map(std::mem::take).unwrap_or_default()).collect();
    Ordered { operations, travel, given: was }
}

/// The groups by size of the outline that they cut, smallest first; all others at once.
fn by_size(groups: &[Vec<Operation>]) -> Vec<Vec<usize>> {
    let outline = |group: &Vec<Operation>| {
        let cuts = group.iter().filter(|it| matches!(it.kind, OperationKind::Cut { edge: CutEdge::Outline, .. }));
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

/// Where each line of an operation begins and ends. A closed one ends where it begins; a filled region is taken at its middle.
fn strokes(operation: &Operation) -> Vec<(Point, Point)> {
    let Some(path) = operation.path().filter(|path| !path.elements().is_empty()) else { return Vec::new() };
    if matches!(operation.kind, OperationKind::Engrave { .. } | OperationKind::Pocket { .. }) {
        let middle = path.bounding_box().center();
        return vec![(middle, middle)];
    }
    let mut strokes: Vec<(Point, Point)> = Vec::new();
    for element in path.elements() {
        match (*element, strokes.last_mut()) {
            (PathEl::MoveTo(first), _) => strokes.push((first, first)),
            (PathEl::ClosePath, Some(stroke)) => stroke.1 = stroke.0,
            (_, Some(stroke)) => stroke.1 = element.end_point().unwrap_or(stroke.1),
            (_, None) => {}
        }
    }
    strokes
}

/// Where a group begins and ends.
fn ends(group: &[Operation]) -> (Point, Point) {
    let places: Vec<(Point, Point)> = group.iter().flat_map(strokes).collect();
    let first = places.first().map_or(Point::ORIGIN, |it| it.0);
    (first, places.last().map_or(first, |it| it.1))
}

/// All moves without work: to each line of each operation, from where the line before it ended.
fn travel(order: &[usize], groups: &[Vec<Operation>], start: Point) -> f64 {
    let mut at = start;
    let mut length = 0.0;
    for (first, last) in order.iter().filter_map(|it| groups.get(*it)).flatten().flat_map(strokes) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Shape;
    use crate::geometry::{Trace, shapes};
    use crate::units::Length;
    use kurbo::{Affine, BezPath, ParamCurve as _};

    /// A part's scored line from point to point.
    fn scored(part: &str, from: (f64, f64), to: (f64, f64)) -> Operation {
        let line = Trace::line(&[Point::from(from), Point::from(to)]).unwrap();
        let kind = OperationKind::Score { shape: Shape::Trace(line) };
        Operation { kind, part: Some(part.to_owned()), face: None, name: None, origin: None }
    }

    /// A square cut, its first corner at `x`, `y`.
    fn cut(part: &str, edge: CutEdge, side: f64, (x, y): (f64, f64)) -> Operation {
        let square = shapes::path(&format!("M{x},{y} h{side} v{side} h-{side} z")).unwrap();
        let first = square.path().segments().next().unwrap().start();
        let square = square.transformed(Affine::translate(Point::new(x, y) - first));
        let kind = OperationKind::Cut { shape: Shape::Region(square), edge, kerf_offset: Length::ZERO };
        Operation { kind, part: Some(part.to_owned()), face: None, name: None, origin: None }
    }

    fn named(operations: &[Operation]) -> Vec<&str> {
        operations.iter().map(|it| it.part.as_deref().unwrap()).collect()
    }

    /// Along a line from its end nothing is shorter than to take them as they come; the way back is free.
    #[test]
    fn what_stands_in_a_row_is_done_in_that_row() {
        let places = [30.0, 10.0, 50.0, 20.0, 40.0];
        let given: Vec<Operation> = places.iter().map(|x| scored(&format!("{x}"), (*x, 0.0), (*x, 5.0))).collect();
        let mut at = Point::ORIGIN;
        let found = ordered(given, &mut at);
        assert_eq!(named(&found.operations), ["10", "20", "30", "40", "50"]);
        // From the end of one line to the start of the next: a step of 10 aside and 5 down, four times.
        assert!((found.travel - (10.0 + 4.0 * 125.0_f64.sqrt())).abs() < 1e-9, "{}", found.travel);
        let hop = |by: f64| f64::hypot(by, 5.0);
        assert!((found.given - (30.0 + hop(20.0) + hop(40.0) + hop(30.0) + hop(20.0))).abs() < 1e-9, "{}", found.given);
        assert_eq!(at, Point::new(50.0, 5.0));
    }

    /// Hops within a part and within an operation count, by hand: 3 and 4 from the machine's zero, back along a line of 10 of
    /// which a gap of 2 is not burnt, from its end 6 down to a square, and on to a square 7 beside.
    #[test]
    fn every_move_without_work_counts() {
        let broken = BezPath::from_svg("M3,4 L7,4 M9,4 L13,4").unwrap();
        let kind = OperationKind::Score { shape: Shape::Trace(Trace::from_path(broken)) };
        let dashed = Operation { kind, part: Some("a".to_owned()), face: None, name: None, origin: None };
        let holes = [cut("a", CutEdge::Opening, 3.0, (13.0, -2.0)), cut("a", CutEdge::Opening, 3.0, (20.0, -2.0))];
        let given = [vec![dashed], holes.to_vec()].concat();
        let mut at = Point::ORIGIN;
        let found = ordered(given, &mut at);
        assert!((found.travel - (5.0 + 2.0 + 6.0 + 7.0)).abs() < 1e-9, "{}", found.travel);
        assert_eq!((found.given, at), (found.travel, Point::new(20.0, -2.0)));
    }

    /// What is shortest already stays as it was given; nothing stays nothing.
    #[test]
    fn an_order_that_cannot_be_bettered_is_kept() {
        let given: Vec<Operation> =
            [10.0, 20.0].iter().map(|x| scored(&format!("{x}"), (*x, 0.0), (*x, 0.1))).collect();
        let mut at = Point::new(15.0, 0.0);
        let found = ordered(given, &mut at);
        assert_eq!((named(&found.operations), found.travel), (vec!["10", "20"], found.given));
        let mut at = Point::new(3.0, 4.0);
        let none = ordered(Vec::new(), &mut at);
        assert!(none.operations.is_empty() && none.travel == 0.0 && none.given == 0.0 && at == Point::new(3.0, 4.0));
    }

    /// Small outlines before large ones however far they lie, sizes alike to a twentieth as one; small openings of one part first.
    #[test]
    fn small_cuts_come_before_large_ones() {
        let outline = |part: &str, side: f64, x: f64| cut(part, CutEdge::Outline, side, (x, 0.0));
        // Areas of 100, 104 and 110 mm²: the first two are alike, the third is more than a twentieth larger than the second.
        let sides = [("large", 110.0_f64, 400.0), ("far", 100.0, 300.0), ("near", 104.0, 100.0)];
        let given = sides.iter().map(|(part, area, x)| outline(part, area.sqrt(), *x)).collect();
        assert_eq!(named(&ordered(given, &mut Point::default()).operations), ["near", "far", "large"]);
        let openings =
            [9.0, 2.0, 5.0].iter().map(|side| cut("one", CutEdge::Opening, *side, (side * 10.0, 0.0))).collect();
        let found = ordered(openings, &mut Point::default());
        let areas: Vec<f64> = found.operations.iter().map(|it| area(it).round()).collect();
        assert_eq!(areas, [4.0, 25.0, 81.0]);
        // A holder is cut with its outline, in the order given.
        let both = vec![cut("one", CutEdge::Holder, 9.0, (50.0, 0.0)), cut("one", CutEdge::Outline, 3.0, (0.0, 0.0))];
        let found = ordered(both, &mut Point::default());
        assert_eq!(found.operations.iter().map(|it| area(it).round()).collect::<Vec<_>>(), [81.0, 9.0]);
        let alike = |areas: &[f64]| -> Vec<Vec<usize>> {
            by_size(&areas.iter().map(|area| vec![outline("", area.sqrt(), 0.0)]).collect::<Vec<_>>())
        };
        assert_eq!(alike(&[100.0, 50.0, 104.9, 110.0]), [vec![1], vec![0, 2, 3]], "each alike to the one before");
        assert_eq!(alike(&[105.1, 100.0]), [[1], [0]]);
    }

    #[test]
    fn a_group_ends_where_its_work_does() {
        assert_eq!(ends(&[scored("a", (1.0, 2.0), (3.0, 4.0)), scored("a", (5.0, 6.0), (7.0, 8.0))]), {
            (Point::new(1.0, 2.0), Point::new(7.0, 8.0))
        });
        let square = cut("a", CutEdge::Outline, 4.0, (10.0, 20.0));
        assert_eq!(ends(&[square]), (Point::new(10.0, 20.0), Point::new(10.0, 20.0)));
        let disc = shapes::circle(3.0).unwrap().transformed(Affine::translate((9.0, 8.0)));
        let kind = OperationKind::Engrave { shape: Shape::Region(disc), tone: 1.0, depth: None };
        let engraved = Operation { kind, part: None, face: None, name: None, origin: None };
        let (from, to) = ends(&[engraved]);
        assert!(from.distance(Point::new(9.0, 8.0)) < 1e-4 && from == to);
        let kind = OperationKind::Pause { instruction: String::new() };
        let pause = Operation { kind, part: None, face: None, name: None, origin: None };
        assert_eq!(ends(&[pause]), (Point::ORIGIN, Point::ORIGIN));
    }

    /// Stretches are turned round until no two legs cross: the way round a square is as long as three of its sides. For few
    /// places no order is shorter but by a tenth (all of them tried).
    #[test]
    fn a_twisted_way_is_untwisted() {
        let place = |at: usize, x: f64, y: f64| (at, Point::new(x, y), Point::new(x, y));
        let length = |way: &[(usize, Point, Point)], start: Point| {
            let mut at = start;
            way.iter().map(|it| (at.distance(it.1), at = it.2).0).sum::<f64>()
        };
        let mut way = vec![place(0, 0.0, 0.0), place(1, 10.0, 10.0), place(2, 10.0, 0.0), place(3, 0.0, 10.0)];
        untwist(&mut way, Point::ORIGIN);
        assert!((length(&way, Point::ORIGIN) - 30.0).abs() < 1e-9, "{way:?}");
        let mut rng = fastrand::Rng::with_seed(3);
        for _ in 0..60 {
            let start = Point::new(rng.f64() * 100.0, rng.f64() * 100.0);
            let places: Vec<_> = (0..6).map(|at| place(at, rng.f64() * 100.0, rng.f64() * 100.0)).collect();
            let mut way = places.clone();
            untwist(&mut way, start);
            let mut least = f64::INFINITY;
            let mut order: Vec<usize> = (0..6).collect();
            permuted(&mut order, 0, &mut |order| {
                let way: Vec<_> = order.iter().map(|at| places[*at]).collect();
                least = least.min(length(&way, start));
            });
            let mut numbers: Vec<usize> = way.iter().map(|it| it.0).collect();
            numbers.sort_unstable();
            assert_eq!(numbers, [0, 1, 2, 3, 4, 5]);
            assert!(length(&way, start) <= length(&places, start) + 1e-9 && length(&way, start) < 1.35 * least);
            // No stretch turned round makes it shorter.
            for (from, to) in (0..6).flat_map(|from| (from + 1..6).map(move |to| (from, to))) {
                let mut turned = way.clone();
                turned[from..=to].reverse();
                assert!(length(&turned, start) > length(&way, start) - 1e-5);
            }
        }
    }

    fn permuted(order: &mut [usize], from: usize, each: &mut impl FnMut(&[usize])) {
        if from == order.len() {
            each(order);
            return;
        }
        for at in from..order.len() {
            order.swap(from, at);
            permuted(order, from + 1, each);
            order.swap(from, at);
        }
    }
}
