//! Whether the finished stack drops into its slot, and turns in it.

use std::iter;

use kurbo::{Affine, Point, Rect, Vec2};

use super::flat::{Flat, Gap, TOUCH_MM};
use super::pose::{Pose, combination_count, combinations};
use crate::design::{Design, Joint, Layer, Slot};
use crate::diagnostics::Problems;
use crate::diagnostics::findings::fit as say;
use crate::geometry::shapes::circle;
use crate::limits::COMBINATIONS;
use crate::units::{Angle, Length};

/// No scale larger than this is looked for.
const LARGEST_SCALE: f64 = 100.0;
/// Precision of the largest scale that fits.
const SCALE_STEP: f64 = 1e-5;

/// How the dial lies in its slot.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Each combination of stops, the last turn running fastest.
    pub stops: Vec<StopFit>,
    /// Least room on the way from stop to stop; negative where the dial touches the slot as it turns.
    pub turning: Length,
    /// Slot depth less the stack's thickness; none where the slot has no depth.
    pub above: Option<Length>,
    /// The largest factor by which the outlines may grow and still fit at every stop.
    pub largest_scale: f64,
    /// How the axis is moved from the slot's origin to make the most of the room, in mm.
    pub moved: Vec2,
}

/// The dial in its slot at one combination of stops.
#[derive(Clone, Debug, PartialEq)]
pub struct StopFit {
    /// Which stop of each turn, counted from 0.
    pub stops: Vec<usize>,
    /// Least room to the slot's edge; negative where the dial stands over it, by how far.
    pub clearance: Length,
    /// Room between the bounding boxes: left, right, below, above.
    pub sides: [Length; 4],
    /// Where the room is least, in the slot's frame.
    pub at: Point,
}

impl Fit {
    /// The stop with the least room.
    pub fn worst(&self) -> Option<&StopFit> {
        self.stops.iter().min_by(|a, b| a.clearance.as_mm().total_cmp(&b.clearance.as_mm()))
    }
}

/// Diameter swept about the axis by a layer's outline.
pub fn swept(outline: &crate::geometry::Region) -> Length {
    Length::mm(2.0 * outline.swept_radius(Point::ZERO))
}

/// Thickness of the finished stack: boards and glue films. Magnets lie below the faces and add nothing.
pub fn thickness(design: &Design) -> Length {
    let boards = design.layers.iter().map(|layer| layer.stock.thickness.mean);
    let films = design.joints.iter().map(|joint| match joint {
        Joint::Glue(glue) => glue.adhesive.film,
        Joint::Turn(_) => Length::ZERO,
    });
    boards.chain(films).fold(Length::ZERO, |sum, part| sum + part)
}

/// Lays the dial into its slot, the lowest layer upright; none where there is no slot.
pub fn fit(design: &Design) -> (Option<Fit>, Problems) {
    let mut problems = Problems::default();
    let Some(slot) = &design.slot else { return (None, problems) };
    let hole = Flat::of(&slot.outline);
    let outlines = distinct(design).map(|(at, layer)| (at, Flat::of(&layer.outline)));
    let (resting, turning): (Vec<_>, Vec<_>) = outlines.partition(|(at, _)| turns_below(design, *at) == 0);
    let turns: Vec<usize> = (0..design.turns().count()).collect();
    let combos = if combination_count(design, &turns) > COMBINATIONS {
        vec![vec![0; turns.len()]]
    } else {
        combinations(design, &turns)
    };
    let at_rest =
        resting.into_iter().map(|(_, outline)| outline).reduce(|all, one| all.joined(&one)).unwrap_or_default();
    let poses: Vec<Flat> = combos.iter().map(|stops| placed(&turning, &Pose::at(design, stops))).collect();
    let all: Vec<&Flat> = iter::once(&at_rest).chain(&poses).collect();
    let moved = best_shift(&all, &hole);
    let resting = (room(&at_rest, &hole, moved), at_rest.bounds());
    let stops = combos.into_iter().zip(&poses).map(|(stops, dial)| stop_fit(stops, dial, resting, &hole, moved));
    let found = Fit {
        stops: stops.collect(),
        turning: Length::mm(while_turning(resting.0.mm, &turning, &hole, moved)),
        above: slot.depth.map(|depth| depth - thickness(design)),
        largest_scale: largest_scale(&all, &hole, moved),
        moved,
    };
    report(design, slot, &found, &mut problems);
    (Some(found), problems)
}

/// How many turns lie below a layer; where none does, it lies the same way in the slot at every stop.
fn turns_below(design: &Design, layer: usize) -> usize {
    design.turns().filter(|(below, _)| *below < layer).count()
}

/// The layers, but for those with the outline of another that turns as they do.
fn distinct(design: &Design) -> impl Iterator<Item = (usize, &Layer)> {
    design.layers.iter().enumerate().filter(|(at, layer)| {
        let same = |(before, other): (usize, &Layer)| {
            turns_below(design, before) == turns_below(design, *at) && other.outline == layer.outline
        };
        !design.layers.iter().enumerate().take(*at).any(same)
    })
}

/// The outlines of layers at a pose, as one set of contours.
fn placed(outlines: &[(usize, Flat)], pose: &Pose) -> Flat {
    let placed = outlines.iter().map(|(at, outline)| outline.moved(pose.map(*at, 0)));
    placed.reduce(|all, one| all.joined(&one)).unwrap_or_default()
}

fn room(dial: &Flat, hole: &Flat, moved: Vec2) -> Gap {
    dial.moved(Affine::translate(moved)).room_in(hole)
}

/// Axis on the slot's origin, or the boxes' middles over each other: whichever leaves more room.
fn best_shift(poses: &[&Flat], hole: &Flat) -> Vec2 {
    let all = poses.iter().filter_map(|dial| dial.bounds()).reduce(|all, one| all.union(one));
    let centred = hole.bounds().zip(all).map_or(Vec2::ZERO, |(hole, dial)| hole.center() - dial.center());
    if centred.hypot() < TOUCH_MM {
        return Vec2::ZERO;
    }
    let least = |by: Vec2| poses.iter().map(|dial| room(dial, hole, by).mm).fold(f64::INFINITY, f64::min);
    if least(centred) > least(Vec2::ZERO) + TOUCH_MM { centred } else { Vec2::ZERO }
}

/// `resting` is the room and the box of the layers that lie the same way at every stop.
fn stop_fit(stops: Vec<usize>, dial: &Flat, resting: (Gap, Option<Rect>), hole: &Flat, moved: Vec2) -> StopFit {
    let gap = resting.0.least(room(dial, hole, moved));
    let dial = [resting.1, dial.bounds()].into_iter().flatten().reduce(|all, one| all.union(one));
    let sides = hole.bounds().zip(dial).map_or([Length::ZERO; 4], |(hole, dial)| {
        let dial = dial + moved;
        [dial.x0 - hole.x0, hole.x1 - dial.x1, dial.y0 - hole.y0, hole.y1 - dial.y1].map(Length::mm)
    });
    StopFit { stops, clearance: Length::mm(gap.mm), sides, at: gap.at.0 }
}

/// Room while everything above the lowest turn sweeps full circles, `resting` being the room of what does not turn.
fn while_turning(resting: f64, turning: &[(usize, Flat)], hole: &Flat, moved: Vec2) -> f64 {
    let rooms = turning.iter().map(|(_, outline)| match circle(outline.reach(Point::ZERO)) {
        Ok(disc) => room(&Flat::of(&disc), hole, moved).mm,
        Err(_) => room(outline, hole, moved).mm,
    });
    rooms.fold(resting, f64::min)
}

/// The largest scale about the axis at which every pose lies in the hole. A pose that still fits at the least scale
/// found so far needs no search of its own, so that poses which look alike cost one look each.
fn largest_scale(poses: &[&Flat], hole: &Flat, moved: Vec2) -> f64 {
    let axis = Point::ZERO + moved;
    // What is nearer to the axis than all of the edge needs no closer look.
    let clear = if hole.contains(axis) { hole.distance_to(axis).map_or(0.0, |(mm, _)| mm - TOUCH_MM) } else { 0.0 };
    let fits = |dial: &Flat, scale: f64| {
        let inside =
            |point: Point| scale * point.to_vec2().hypot() < clear || hole.contains(axis + scale * point.to_vec2());
        dial.vertices().all(inside)
    };
    poses.iter().fold(
        LARGEST_SCALE,
        |least, dial| {
            if fits(dial, least) { least } else { bisected(least, |scale| fits(dial, scale)) }
        },
    )
}

/// The largest scale below `most` that fits, to within [`SCALE_STEP`].
fn bisected(most: f64, fits: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, most.min(1.0));
    while high < most && fits(high) {
        (low, high) = (high, (high * 2.0).min(most));
    }
    while high - low > SCALE_STEP {
        let middle = f64::midpoint(low, high);
        if fits(middle) { low = middle } else { high = middle }
    }
    low
}

fn report(design: &Design, slot: &Slot, fit: &Fit, problems: &mut Problems) {
    let Some(worst) = fit.worst() else { return };
    if worst.clearance.as_mm() < -TOUCH_MM {
        let bearings = design.turns().zip(&worst.stops).filter_map(|((_, turn), stop)| turn.stops.get(*stop).copied());
        let stop = in_words(&worst.stops, &bearings.collect::<Vec<_>>());
        problems.push(say::too_big(design, slot, &stop, worst, fit.largest_scale));
    } else if fit.turning.as_mm() < -TOUCH_MM {
        problems.push(say::turns_outside(design, slot, fit.turning));
    }
    if let Some(above) = fit.above.filter(|above| above.as_mm() < -1e-9) {
        problems.push(say::too_thick(slot, thickness(design), above));
    }
}

/// A combination of stops in words, counted from 1: "stop 3 (72deg)".
pub(crate) fn in_words(stops: &[usize], bearings: &[Angle]) -> String {
    let one = |(at, by): (&usize, &Angle)| format!("{} ({}deg)", at + 1, crate::units::plain(by.as_degrees(), 3));
    let each: Vec<String> = stops.iter().zip(bearings).map(one).collect();
    match each.as_slice() {
        [] => "rest".to_owned(),
        [only] => format!("stop {only}"),
        several => format!("stops {}", several.join(" and ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_scale_is_bracketed_and_halved() {
        for wanted in [0.0, 0.013, 0.5, 0.99, 1.0, 1.7, 9.4, 63.0] {
            let found = bisected(LARGEST_SCALE, |scale| scale <= wanted);
            assert!(found <= wanted && found > wanted - SCALE_STEP, "{found} {wanted}");
        }
        assert!(bisected(LARGEST_SCALE, |_| true) > LARGEST_SCALE - SCALE_STEP);
        let found = bisected(0.4, |scale| scale <= 0.3);
        assert!(found <= 0.3 && found > 0.3 - SCALE_STEP);
    }

    #[test]
    fn stops_are_told_from_one_on() {
        let degrees = |of: &[f64]| of.iter().copied().map(Angle::degrees).collect::<Vec<_>>();
        assert_eq!(in_words(&[2], &degrees(&[72.0])), "stop 3 (72deg)");
        assert_eq!(in_words(&[0, 3], &degrees(&[0.0, 22.5])), "stops 1 (0deg) and 4 (22.5deg)");
        assert_eq!(in_words(&[], &[]), "rest");
    }
}
