//! How much room a dial has in its slot while it turns.
//!
//! A dial that lies loose in its slot is shifted by the slot's walls as it turns. In a slot with four square corners all that
//! counts is how wide it ever gets, so there the room is exact. In any other the dial is taken to turn about an axis that stays
//! where it has most room of a few places, which errs on the safe side.

use kurbo::{Point, Rect, Vec2};

use super::{TOUCH_MM, turns_below};
use crate::design::Design;
use crate::geometry::shapes::circle;
use crate::geometry::{FlattenedShape, convex};

/// What turns as one above the lowest turn.
pub(super) struct Body {
    /// How far it reaches from the axis, in mm.
    reach: f64,
    /// The longest line in it, which it lays across the slot at some bearing, in mm.
    longest: f64,
}

/// The layers above the lowest turn, those together that turn together.
pub(super) fn bodies(design: &Design, turning: Vec<(usize, FlattenedShape)>) -> Vec<Body> {
    let mut groups: Vec<(usize, Vec<Point>)> = Vec::new();
    for (layer, outline) in turning {
        let turns = turns_below(design, layer);
        match groups.iter_mut().find(|(known, _)| *known == turns) {
            Some((_, points)) => points.extend(outline.vertices()),
            None => groups.push((turns, outline.vertices().collect())),
        }
    }
    groups.into_iter().map(|(_, points)| Body::of(points)).collect()
}

impl Body {
    fn of(points: Vec<Point>) -> Self {
        let corners = convex(points, |point| *point);
        let reach = corners.iter().map(|corner| corner.to_vec2().hypot()).fold(0.0, f64::max);
        let lines =
            (1..).zip(&corners).flat_map(|(next, one)| corners.iter().skip(next).map(|two| one.distance_squared(*two)));
        Self { reach, longest: lines.fold(0.0, f64::max).sqrt() }
    }
}

/// The least room on each side while everything above the lowest turn goes all the way round, and whether it is exact.
pub(super) fn room(at_rest: &FlattenedShape, bodies: &[Body], hole: &FlattenedShape, moved: Vec2) -> (f64, bool) {
    match hole.bounds().filter(|bounds| is_box(hole, *bounds)) {
        Some(slot) => (in_box(at_rest.bounds(), bodies, slot), true),
        None => (about_an_axis(at_rest, bodies, hole, moved), false),
    }
}

/// Whether every corner of a slot stands in a corner of its box, and all four are there.
fn is_box(hole: &FlattenedShape, bounds: Rect) -> bool {
    let corners = [(bounds.x0, bounds.y0), (bounds.x1, bounds.y0), (bounds.x1, bounds.y1), (bounds.x0, bounds.y1)]
        .map(Point::from);
    let near = |point: Point| corners.iter().position(|corner| corner.distance(point) < TOUCH_MM);
    let found: Vec<Option<usize>> = hole.vertices().map(near).collect();
    found.iter().all(Option::is_some) && (0..4).all(|at| found.contains(&Some(at)))
}

/// Half of what a box leaves beside the widest that the dial ever gets across and along it.
///
/// To one side stands a part and to the other a part, the same or another. What rests has the sides of its box. One body that
/// reaches out to both sides lays its longest line across; two parts that turn apart come to stand out both as far as they
/// reach.
fn in_box(at_rest: Option<Rect>, bodies: &[Body], slot: Rect) -> f64 {
    let widest = |low: f64, high: f64| {
        let mut widest = high - low;
        for (at, body) in bodies.iter().enumerate() {
            let others = bodies.iter().skip(at + 1).map(|other| body.reach + other.reach);
            let beside = at_rest.map(|_| body.reach + high.max(-low));
            widest = others.chain(beside).chain([body.longest]).fold(widest, f64::max);
        }
        widest
    };
    let rest = at_rest.unwrap_or_default();
    let (across, along) = (widest(rest.x0, rest.x1), widest(rest.y0, rest.y1));
    f64::min(slot.width() - across, slot.height() - along) / 2.0
}

/// Room while each body sweeps the disc about an axis that stays in its place: where the dial lies at its stops, on the slot's
/// origin, or in the middle of the slot's box, whichever leaves most.
fn about_an_axis(at_rest: &FlattenedShape, bodies: &[Body], hole: &FlattenedShape, moved: Vec2) -> f64 {
    let reach = bodies.iter().map(|body| body.reach).fold(0.0, f64::max);
    let disc = circle(reach).map(|disc| FlattenedShape::of(&disc)).unwrap_or_default();
    let at = |by: Vec2| f64::min(super::room(at_rest, hole, by).mm, super::room(&disc, hole, by).mm);
    let middle = hole.bounds().map_or(Vec2::ZERO, |bounds| bounds.center().to_vec2());
    // Mostly all of them are one place.
    let mut places = vec![moved];
    for place in [Vec2::ZERO, middle] {
        if places.iter().all(|known| (*known - place).hypot() > 1e-9) {
            places.push(place);
        }
    }
    places.into_iter().map(at).fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::path;

    fn flat(data: &str) -> FlattenedShape {
        FlattenedShape::of(&path(data).unwrap())
    }

    #[test]
    fn a_box_has_four_square_corners() {
        let boxed = |data: &str| {
            let hole = flat(data);
            is_box(&hole, hole.bounds().unwrap())
        };
        assert!(boxed("M-8,-8 L8,-8 L8,8 L-8,8 Z"));
        assert!(!boxed("M-8,-8 L8,-8 L8,8 Z"), "a corner lacks");
        assert!(!boxed("M-8,-8 L8,-8 L8,8 L0,7 L-8,8 Z"), "a dent");
        assert!(!boxed("M0,-8 L8,0 L0,8 L-8,0 Z"), "on its corner");
    }

    /// Each pair of parts by hand, in a slot of 100 by 90.
    #[test]
    fn the_widest_of_all_pairs_counts() {
        let slot = Rect::new(-50.0, -45.0, 50.0, 45.0);
        let body = |points: &[(f64, f64)]| Body::of(points.iter().copied().map(Point::from).collect());
        // A bar from 10 to 30 on one side of the axis: 20 long, however it lies.
        let bar = || body(&[(10.0, -1.0), (30.0, -1.0), (30.0, 1.0), (10.0, 1.0)]);
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
        let (reach, long) = (30.0_f64.hypot(1.0), 20.0_f64.hypot(2.0));
        near(in_box(None, &[bar()], slot), (90.0 - long) / 2.0);
        near(in_box(None, &[bar(), bar()], slot), (90.0 - 2.0 * reach) / 2.0);
        // Beside what rests it reaches out to the other side: 5 and 30.
        near(in_box(Some(Rect::new(-5.0, -3.0, 4.0, 3.0)), &[bar()], slot), (90.0 - 3.0 - reach) / 2.0);
        near(in_box(Some(Rect::new(-40.0, -3.0, 20.0, 3.0)), &[bar()], slot), (100.0 - 40.0 - reach) / 2.0);
        near(in_box(Some(Rect::new(-48.0, -3.0, 48.0, 3.0)), &[bar()], slot), (100.0 - 96.0) / 2.0);
    }
}
