//! What wheels and hands sweep: whether two of them meet, and whether a hand gets in the way of what is read elsewhere.

use kurbo::{Affine, Point};

use super::findings as say;
use crate::design::heights::floors;
use crate::design::{Design, Face, Layer, Reading, Shape, Turn};
use crate::diagnostics::{Diagnostic, Problems};
use crate::geometry::{Region, shapes};
use crate::units::Length;

/// What overlaps by less is not seen, in mm².
const SEEN_MM2: f64 = 1e-2;

/// The circle that a wheel or hand sweeps, and from where to where it is high.
#[derive(Clone, Copy)]
pub(super) struct Sweep<'d> {
    at: usize,
    pub(super) layer: &'d Layer,
    pub(super) turn: &'d Turn,
    centre: Point,
    /// With the play of its pivot or wall, in mm.
    radius: f64,
    heights: (Length, Length),
    is_hand: bool,
}

/// Wheels that meet, and hands over what is read.
pub(super) fn problems(design: &Design) -> Problems {
    let mut problems = Problems::default();
    if !design.has_wheels() {
        return problems;
    }
    let floors = floors(design);
    let all: Vec<Sweep> = design.wheels().map(|(at, ..)| at).filter_map(|at| Sweep::of(design, &floors, at)).collect();
    let pairs = all.iter().enumerate().flat_map(|(at, sweep)| all.iter().take(at).map(move |other| (other, sweep)));
    problems.extend(pairs.filter_map(|(one, other)| meets(one, other)));
    // Hands that meet stand in each other's readings as well.
    if problems.iter().next().is_none() {
        let hands = all.iter().filter(|sweep| sweep.is_hand);
        problems.extend(hands.filter_map(|hand| over_readings(design, &floors, hand)));
    }
    problems
}

impl<'d> Sweep<'d> {
    fn of(design: &'d Design, floors: &[Length], at: usize) -> Option<Self> {
        let (layer, (turn, axle)) = (design.layers.get(at)?, design.wheel(at)?);
        let swept = layer.outline.swept_radius(Point::ORIGIN);
        let play = turn.pivot.clearance().as_mm() / 2.0;
        let radius = axle.wall.as_ref().map_or(swept + play, |wall| wall.bay.radius.max(swept));
        let floor = floors.get(at).copied()?;
        let heights = (floor, floor + layer.stock.thickness.mean);
        Some(Self { at, layer, turn, centre: axle.centre, radius, heights, is_hand: axle.wall.is_none() })
    }

    fn disc(&self) -> Option<Region> {
        Some(shapes::circle(self.radius).ok()?.transformed(Affine::translate(self.centre.to_vec2())))
    }
}

/// Two at one level whose circles meet, the play of both taken up.
fn meets(one: &Sweep, other: &Sweep) -> Option<Diagnostic> {
    if one.heights.0 >= other.heights.1 || other.heights.0 >= one.heights.1 {
        return None;
    }
    let (apart, together) = (one.centre.distance(other.centre), one.radius + other.radius);
    (apart < together).then(|| say::meet(one, other, Length::mm(apart), Length::mm(together)))
}

/// A hand that at some of its stops hides what is read without it: a label, or what that is read by.
fn over_readings(design: &Design, floors: &[Length], hand: &Sweep) -> Option<Diagnostic> {
    let disc = hand.disc()?;
    let under = |at: usize| {
        let top = floors.get(at).zip(design.layers.get(at)).map(|(floor, layer)| *floor + layer.stock.thickness.mean);
        !design.is_wheel(at) && top.is_some_and(|top| top <= hand.heights.0)
    };
    let covers = |region: &Region| {
        let near = region.bounds().zip(disc.bounds()).is_some_and(|(one, other)| one.overlaps(other));
        near && region.intersection(&disc).area() > SEEN_MM2
    };
    let covered = |reading: &Reading| {
        let (ring_at, ring) = design.ring(&reading.ring)?;
        let by: Vec<_> = reading.by.iter().filter_map(|name| design.mark(name)).collect();
        if ring_at == hand.at || by.iter().any(|(at, _)| *at == hand.at) || ring.face == Face::Back {
            return None;
        }
        let mut labels = ring.labels.iter().filter(|_| under(ring_at));
        let label = labels.find(|label| covers(&label.ink)).map(|label| format!("the label `{}`", label.says));
        let reader = || {
            let mut marks = by.iter().filter(|(at, _)| under(*at));
            let over = marks.find(|(_, mark)| matches!(&mark.shape, Shape::Region(region) if covers(region)));
            over.and_then(|(_, mark)| Some(format!("`{}`", mark.name.as_ref()?)))
        };
        Some((reading.clone(), label.or_else(reader)?))
    };
    let (reading, what) = design.readings.iter().find_map(covered)?;
    Some(say::over_reading(hand, &reading, &what, Length::mm(2.0 * hand.radius)))
}
