//! Wheels that are alike and look alike through their openings: what was found of one holds for the others.

use std::sync::Arc;

use kurbo::{Line, Point};

use super::aslant::Depths;
use super::scene::{Cover, Scene};
use super::{CheckedReading, CheckedStop, ReadingCheck};
use crate::design::Design;
use crate::geometry::{FlattenedShape, TOUCH_MM};
use crate::limits::SIZE_MM;
use crate::units::Length;

/// What lies so near is in the same place, in mm: far less than anything is told by, and far more than rounding.
const SAME_MM: f64 = 1e-6;
/// How far beyond labels, openings and the ink between them edges still matter, in mm. Each label reads right, so the edge that is
/// nearest to it is that of its opening.
const BEYOND_MM: f64 = 2.0;

/// Whether two wheels show the same at every stop, with as much room.
pub(super) fn seen_alike(one: &ReadingCheck, other: &ReadingCheck) -> bool {
    let near = |one: Length, other: Length| (one.as_mm() - other.as_mm()).abs() < TOUCH_MM;
    let stop = |(one, other): (&CheckedStop, &CheckedStop)| {
        let gaps = [one, other].map(|stop| stop.foreign_gap.unwrap_or(Length::mm(SIZE_MM)));
        (one.due, one.shown, one.reads) == (other.due, other.shown, other.reads)
            && near(one.margin, other.margin)
            && near(gaps[0], gaps[1])
    };
    let stops = |check: &ReadingCheck| check.readings.iter().map(|reading| reading.stops.len()).collect::<Vec<_>>();
    fn all(check: &ReadingCheck) -> impl Iterator<Item = &CheckedStop> {
        check.readings.iter().flat_map(|reading| &reading.stops)
    }
    stops(one) == stops(other) && all(one).zip(all(other)).all(stop)
}

/// What checking the only reading of a dial would find, by what was found of another dial's, where nothing that is looked at tells
/// the two apart; none where it must be checked by itself.
pub(super) fn as_found(dial: &Design, (known, found): (&Design, &ReadingCheck)) -> Option<ReadingCheck> {
    let ([own], [other], [checked]) = (dial.readings.as_slice(), known.readings.as_slice(), found.readings.as_slice())
    else {
        return None;
    };
    let stops = |dial: &Design| dial.turns().map(|(_, turn)| turn.stops.clone()).collect::<Vec<_>>();
    let is_sound = |stop: &CheckedStop| stop.reads && stop.mark.is_none();
    if own.how != other.how
        || own.distance != other.distance
        || stops(dial) != stops(known)
        || !checked.stops.iter().all(is_sound)
    {
        return None;
    }
    let (scene, known_scene) = (Scene::of(dial, own).ok()?, found.scene(known, checked)?);
    let alike = scene.looks_like(&known_scene)
        && Depths::of(dial, own, &scene).are_like(&Depths::of(known, other, &known_scene));
    let reading = CheckedReading { ring: own.ring.clone(), by: own.by.clone(), origin: own.origin, ..checked.clone() };
    alike.then(|| {
        let mut check = ReadingCheck::default();
        check.looked.keep(&reading, Arc::new(scene));
        check.readings.push(reading);
        check
    })
}

impl Scene {
    /// Whether another scene shows the same at every stop, be it of another ring and seen through other openings.
    fn looks_like(&self, other: &Self) -> bool {
        let reach = |scene: &Self| {
            let labels = scene.labels.iter().map(|label| label.reach(Point::ZERO)).fold(0.0, f64::max);
            let band = super::scene::band_of(scene.openings.iter().map(|opening| &opening.flat));
            labels.max(scene.view_reach) + band.map_or(0.0, |(inner, outer)| (outer - inner) / 2.0) + BEYOND_MM
        };
        let near = reach(self).max(reach(other));
        let cover =
            |(one, other): (&Cover, &Cover)| one.layer == other.layer && same_within(near, &one.flat, &other.flat);
        let covers = |one: &[Cover], other: &[Cover]| one.len() == other.len() && one.iter().zip(other).all(cover);
        let steady = |scene: &Self| scene.all_covers().map(|cover| cover.layer).collect::<Vec<_>>();
        self.ring_at == other.ring_at
            && self.ring.laid == other.ring.laid
            && self.turns == other.turns
            && self.labels_like(other)
            && self.openings.len() == other.openings.len()
            && self
                .openings
                .iter()
                .zip(&other.openings)
                .all(|(one, other)| one.layer == other.layer && same(&one.flat, &other.flat))
            && self.pointer_like(other)
            && covers(&self.covers, &other.covers)
            && covers(&self.pointer_covers, &other.pointer_covers)
            && covers(&self.beneath, &other.beneath)
            && steady(self) == steady(other)
            && self.all_covers().zip(other.all_covers()).all(cover)
            && is_near(self.aside().unwrap_or(SIZE_MM), other.aside().unwrap_or(SIZE_MM))
            && self.inks.len() == other.inks.len()
            && self.inks.iter().zip(&other.inks).all(|(one, other)| one.looks_like(other))
    }

    fn labels_like(&self, other: &Self) -> bool {
        let labels = || self.ring.labels.iter().zip(&other.ring.labels);
        self.labels.len() == other.labels.len()
            && labels().all(|(one, other)| {
                (&one.says, one.up.is_some(), one.underlined) == (&other.says, other.up.is_some(), other.underlined)
                    && is_near(one.bearing.as_degrees(), other.bearing.as_degrees())
                    && is_near(one.up.unwrap_or_default().as_degrees(), other.up.unwrap_or_default().as_degrees())
            })
            && self.labels.iter().zip(&other.labels).all(|(one, other)| same(one, other))
    }

    fn pointer_like(&self, other: &Self) -> bool {
        match (&self.pointer, &other.pointer) {
            (None, None) => true,
            (Some(one), Some(other)) => {
                one.layer == other.layer && is_near(one.bearing, other.bearing) && same(&one.flat, &other.flat)
            }
            _ => false,
        }
    }
}

fn is_near(one: f64, other: f64) -> bool {
    (one - other).abs() < SAME_MM
}

/// Whether two shapes are the same, edge by edge.
pub(super) fn same(one: &FlattenedShape, other: &FlattenedShape) -> bool {
    let (one, other) = (one.segments(), other.segments());
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same_line(one, other))
}

/// The same of what lies within reach of the axis, wherever their outlines begin.
fn same_within(reach: f64, one: &FlattenedShape, other: &FlattenedShape) -> bool {
    let near = |shape: &FlattenedShape| shape.near(Point::ZERO, reach).copied().collect::<Vec<Line>>();
    let (one, other) = (near(one), near(other));
    // Mostly the next one is the like of the next.
    let mut from = 0;
    one.len() == other.len()
        && one.iter().all(|line| {
            let place =
                (from..other.len()).chain(0..from).find(|at| other.get(*at).is_some_and(|it| same_line(line, it)));
            from = place.map_or(from, |at| at + 1);
            place.is_some()
        })
}

fn same_line(one: &Line, other: &Line) -> bool {
    one.p0.distance_squared(other.p0) < SAME_MM * SAME_MM && one.p1.distance_squared(other.p1) < SAME_MM * SAME_MM
}
