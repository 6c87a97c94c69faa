//! Whether the finished stack drops into its slot, and turns in it.

mod findings;
mod turning;

use std::iter;

use kurbo::{Affine, Point, Rect, Vec2};

use self::findings as say;
use crate::design::pose::{Pose, combination_count, combinations};
use crate::design::{Design, Layer, Slot};
use crate::diagnostics::Problems;
use crate::geometry::shapes::circle;
use crate::geometry::{FlattenedShape, Gap, TOUCH_MM};
use crate::limits::COMBINATIONS;
use crate::statistics::normal;
use crate::units::{Angle, Length};

/// No scale larger than this is looked for.
const LARGEST_SCALE: f64 = 100.0;

/// How the dial lies in its slot.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Each combination of stops, the last turn running fastest.
    pub stops: Vec<StopFit>,
    /// Least room on the way from stop to stop, the dial laid where it has most; negative where it touches the slot as it
    /// turns.
    pub turning: Length,
    /// Whether that is exact: in a slot with four square corners. In any other the dial is taken to turn about an axis that
    /// stays in its place, so that it may have more room than is told.
    pub turning_exact: bool,
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

    /// Whether it goes into its slot at every stop, and is not too thick for it.
    pub fn goes_in(&self) -> bool {
        self.worst().is_none_or(|worst| worst.clearance.as_mm() >= -TOUCH_MM)
            && self.above.is_none_or(|above| above.as_mm() >= -1e-9)
    }
}

/// Diameter swept about the axis by a layer's outline.
pub fn swept(outline: &crate::geometry::Region) -> Length {
    Length::mm(2.0 * outline.swept_radius(Point::ZERO))
}

/// Lays the dial into its slot, the lowest layer upright; none where there is no slot.
pub fn fit(design: &Design) -> (Option<Fit>, Problems) {
    let mut problems = Problems::default();
    let Some(slot) = &design.slot else { return (None, problems) };
    let hole = FlattenedShape::of(&slot.outline);
    let outlines = distinct(design).map(|(at, layer)| (at, FlattenedShape::of(&layer.outline)));
    let (resting, turning): (Vec<_>, Vec<_>) = outlines.partition(|(at, _)| turns_below(design, *at) == 0);
    let resting = resting.into_iter().map(|(_, outline)| outline).chain(swept_wheels(design));
    // Whatever a wheel sweeps lies in its place at every stop.
    let turns = design.turns().enumerate().filter(|(_, (below, _))| !design.is_wheel(below + 1)).map(|(at, _)| at);
    let turns: Vec<usize> = turns.collect();
    // Too many to look at each: what all of them sweep on the way is looked at below in any case.
    let combos = if combination_count(design, &turns) > COMBINATIONS {
        vec![vec![0; turns.len()]]
    } else {
        combinations(design, &turns)
    };
    let at_rest = resting.reduce(|all, one| all.joined(&one)).unwrap_or_default();
    let posed = |stops: &Vec<usize>| placed(&turning, &Pose::of_turns(design, &turns, stops));
    let poses: Vec<FlattenedShape> = combos.iter().map(posed).collect();
    let all: Vec<&FlattenedShape> = iter::once(&at_rest).chain(&poses).collect();
    let moved = best_shift(&all, &hole);
    let resting = (room(&at_rest, &hole, moved), at_rest.bounds());
    let (turning, turning_exact) = turning::room(&at_rest, &turning::bodies(design, turning), &hole, moved);
    let stops = combos.into_iter().zip(&poses).map(|(stops, dial)| stop_fit(stops, dial, resting, &hole, moved));
    let found = Fit {
        stops: stops.collect(),
        turning: Length::mm(turning),
        turning_exact,
        above: slot.depth.map(|depth| depth - design.thickness()),
        largest_scale: largest_scale(&all, &hole, moved),
        moved,
    };
    report(design, slot, &found, &mut problems);
    (Some(found), problems)
}

/// How many turns lie below a layer; where none does, it lies the same way in the slot at every stop.
fn turns_below(design: &Design, layer: usize) -> usize {
    design.turns().filter(|(below, _)| *below < layer && !design.is_wheel(below + 1)).count()
}

/// The circles that wheels sweep, on the board.
fn swept_wheels(design: &Design) -> impl Iterator<Item = FlattenedShape> {
    let discs = design.wheels().filter_map(|(_, layer, _, wall)| {
        Some(circle(layer.outline.swept_radius(Point::ZERO)).ok()?.transformed(wall.place()))
    });
    discs.map(|disc| FlattenedShape::of(&disc))
}

/// The layers, but for those with the outline of another that turns as they do.
fn distinct(design: &Design) -> impl Iterator<Item = (usize, &Layer)> {
    design.layers.iter().enumerate().filter(|(at, _)| !design.is_wheel(*at)).filter(|(at, layer)| {
        let same = |(before, other): (usize, &Layer)| {
            turns_below(design, before) == turns_below(design, *at) && other.outline == layer.outline
        };
        !design.layers.iter().enumerate().take(*at).any(same)
    })
}

/// The outlines of layers at a pose, as one set of contours.
fn placed(outlines: &[(usize, FlattenedShape)], pose: &Pose) -> FlattenedShape {
    let placed = outlines.iter().map(|(at, outline)| outline.moved(pose.map(*at, 0)));
    placed.reduce(|all, one| all.joined(&one)).unwrap_or_default()
}

fn room(dial: &FlattenedShape, hole: &FlattenedShape, moved: Vec2) -> Gap {
    dial.moved(Affine::translate(moved)).room_in(hole)
}

/// Axis on the slot's origin, or the boxes' middles over each other: whichever leaves more room.
fn best_shift(poses: &[&FlattenedShape], hole: &FlattenedShape) -> Vec2 {
    let all = poses.iter().filter_map(|dial| dial.bounds()).reduce(|all, one| all.union(one));
    let centred = hole.bounds().zip(all).map_or(Vec2::ZERO, |(hole, dial)| hole.center() - dial.center());
    if centred.hypot() < TOUCH_MM {
        return Vec2::ZERO;
    }
    let least = |by: Vec2| poses.iter().map(|dial| room(dial, hole, by).mm).fold(f64::INFINITY, f64::min);
    // The origin wins where both are alike: a slot is mostly drawn about the axis on purpose.
    if least(centred) > least(Vec2::ZERO) + TOUCH_MM { centred } else { Vec2::ZERO }
}

/// `resting` is the room and the box of the layers that lie the same way at every stop.
fn stop_fit(
    stops: Vec<usize>,
    dial: &FlattenedShape,
    resting: (Gap, Option<Rect>),
    hole: &FlattenedShape,
    moved: Vec2,
) -> StopFit {
    let gap = resting.0.least(room(dial, hole, moved));
    let dial = [resting.1, dial.bounds()].into_iter().flatten().reduce(|all, one| all.union(one));
    let sides = hole.bounds().zip(dial).map_or([Length::ZERO; 4], |(hole, dial)| {
        let dial = dial + moved;
        [dial.x0 - hole.x0, hole.x1 - dial.x1, dial.y0 - hole.y0, hole.y1 - dial.y1].map(Length::mm)
    });
    StopFit { stops, clearance: Length::mm(gap.mm), sides, at: gap.at.0 }
}

/// The largest scale about the axis at which every pose lies in the hole: that at which a corner of a dial comes to an edge
/// of the hole, or an edge of a dial to a corner of the hole that points inward.
fn largest_scale(poses: &[&FlattenedShape], hole: &FlattenedShape, moved: Vec2) -> f64 {
    let hole = hole.moved(Affine::translate(-moved));
    let Some((clear, _)) = hole.distance_to(Point::ZERO).filter(|_| hole.contains(Point::ZERO)) else { return 0.0 };
    let inward = hole.inward_corners();
    poses.iter().fold(LARGEST_SCALE, |most, dial| {
        let most = dial.vertices().map(Point::to_vec2).fold(most, |most, corner| {
            // What is nearer to the axis than all of the edge needs no closer look.
            let fits = most * corner.hypot() < clear - TOUCH_MM || hole.contains((most * corner).to_point());
            if fits { most } else { hole.ray_crossings(corner).fold(most, f64::min) }
        });
        inward.iter().fold(most, |most, corner| {
            let fits = !dial.contains((*corner / most).to_point());
            if fits { most } else { dial.ray_crossings(*corner).map(|at| 1.0 / at).fold(most, f64::min) }
        })
    })
}

fn report(design: &Design, slot: &Slot, fit: &Fit, problems: &mut Problems) {
    let Some(worst) = fit.worst() else { return };
    if worst.clearance.as_mm() < -TOUCH_MM {
        let bearings = design.turns().zip(&worst.stops).filter_map(|((_, turn), stop)| turn.stops.get(*stop).copied());
        let stop = in_words(&worst.stops, &bearings.collect::<Vec<_>>());
        // The nearer an outline is to the axis, the less a scale takes off it.
        let nearest = design.layers.iter().filter_map(|layer| layer.outline.least_radius(Point::ZERO));
        let off = design.spreads.kerf.as_mm() * normal::FREE / 2.0 / nearest.fold(f64::INFINITY, f64::min).max(1.0);
        problems.push(say::too_big(design, slot, &stop, worst, fit.largest_scale - off));
    } else {
        // The beam takes as much off either side.
        let (room, strays) = (worst.clearance.as_mm().max(0.0) * 2.0, design.spreads.kerf.as_mm());
        if room < normal::FREE * strays - TOUCH_MM {
            problems.push(say::too_tight(design, slot, Tight::of(room, strays)));
        }
        if fit.turning.as_mm() < -TOUCH_MM {
            problems.push(say::turns_outside(design, slot, fit));
        }
    }
    match fit.above {
        Some(above) if above.as_mm() < -1e-9 => {
            let deep = design.thickness() + design.thickness_strays() * normal::FREE;
            problems.push(say::too_thick(slot, (design.thickness(), deep), above));
        }
        Some(above) => {
            let (room, strays) = (above.as_mm().max(0.0), design.thickness_strays().as_mm());
            if room < normal::FREE * strays - TOUCH_MM {
                problems.push(say::too_thick_in_some(slot, Tight::of(room, strays)));
            }
        }
        None => {}
    }
}

/// Room that not all dials of a run have.
struct Tight {
    /// What there is of it on the average.
    room: Length,
    /// What is wanted.
    wanted: Length,
    /// The share of dials that lack it.
    lacking: f64,
}

impl Tight {
    /// Of a room that strays by this standard deviation, both in mm.
    fn of(room: f64, strays: f64) -> Self {
        let wanted = Length::mm(normal::FREE * strays);
        Self { room: Length::mm(room), wanted, lacking: normal::lacking(room, strays) }
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

    fn flat(path: &str) -> FlattenedShape {
        FlattenedShape::of(&crate::geometry::shapes::path(path).unwrap())
    }

    /// A square of 10 grows by 1.6 in one of 16, by 1.3 where the axis is 1.5 nearer to a side, and not at all outside.
    #[test]
    fn a_square_grows_until_its_corner_comes_to_an_edge() {
        let (dial, slot) = (flat("M-5,-5 L5,-5 L5,5 L-5,5 Z"), flat("M-8,-8 L8,-8 L8,8 L-8,8 Z"));
        let scale = |dial: &FlattenedShape, moved: (f64, f64)| largest_scale(&[dial], &slot, moved.into());
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
        near(scale(&dial, (0.0, 0.0)), 1.6);
        near(scale(&dial, (1.5, 0.0)), 1.3);
        near(scale(&dial, (9.0, 0.0)), 0.0);
        near(scale(&dial.moved(Affine::scale(1e-3)), (0.0, 0.0)), LARGEST_SCALE);
        // Turned by 45 degrees its corners point to the middles of the sides; both together fit as the worse of them.
        let turned = dial.moved(Affine::rotate(std::f64::consts::FRAC_PI_4));
        near(scale(&turned, (0.0, 0.0)), 8.0 / 50.0_f64.sqrt());
        near(largest_scale(&[&dial, &turned], &slot, Vec2::ZERO), 8.0 / 50.0_f64.sqrt());
        near(largest_scale(&[], &slot, Vec2::ZERO), LARGEST_SCALE);
    }

    /// A tooth of the slot stands between the corners of the dial: its tip, 6 from the axis, stops the side at 5.
    #[test]
    fn a_side_grows_until_it_comes_to_a_tooth() {
        let dial = flat("M-5,-5 L5,-5 L5,5 L-5,5 Z");
        let toothed = flat("M-8,-8 L8,-8 L8,8 L1,8 L0,6 L-1,8 L-8,8 Z");
        assert_eq!(toothed.inward_corners(), [Vec2::new(0.0, 6.0)]);
        assert!((largest_scale(&[&dial], &toothed, Vec2::ZERO) - 1.2).abs() < 1e-9);
        assert!(
            dial.inward_corners().is_empty() && FlattenedShape::of(&circle(9.0).unwrap()).inward_corners().is_empty()
        );
    }

    #[test]
    fn stops_are_told_from_one_on() {
        let degrees = |of: &[f64]| of.iter().copied().map(Angle::degrees).collect::<Vec<_>>();
        assert_eq!(in_words(&[2], &degrees(&[72.0])), "stop 3 (72deg)");
        assert_eq!(in_words(&[0, 3], &degrees(&[0.0, 22.5])), "stops 1 (0deg) and 4 (22.5deg)");
        assert_eq!(in_words(&[], &[]), "rest");
    }
}
