//! Which way up a reading stands for the holder, and readings that stand on their heads or lie on their sides.
//!
//! A dial is held as it is drawn: with 0deg of the layer that is looked through at the top, or, beside a pointer, with that of
//! the lowest layer. From behind it is seen with 0deg at the top as well.

use super::findings as say;
use super::judge::failing;
use super::mends::{self, Mending};
use super::scene::Scene;
use super::{CheckedReading, CheckedStop, asked};
use crate::design::pose::{Pose, wrapped};
use crate::design::{Design, Face, Reading, ReadsHow};
use crate::diagnostics::{Problems, Severity};
use crate::lettering::Facing;
use crate::units::Angle;

/// Turned by less than this, in degrees, words are read as if they were upright; beyond it the longer they are the more slowly
/// (Koriat and Norman, "Reading rotated words", Journal of Experimental Psychology: Human Perception and Performance 11, 1985,
/// 490-508, abstract).
const READABLE: f64 = 60.0;
/// Beyond this words are read letter by letter, and it grows no worse (the same), in degrees: upside down, not on the side.
pub(super) const ON_ITS_HEAD: f64 = 120.0;

const FACINGS: [Facing; 4] = [Facing::Outward, Facing::Inward, Facing::Clockwise, Facing::Anticlockwise];

/// How far the tops of a label's letters are turned clockwise from the holder's up, more than -180 and up to 180 degrees; none
/// for what is no lettering.
pub(super) fn stands(scene: &Scene, label: usize, pose: &Pose) -> Option<Angle> {
    let up = scene.ring.labels.get(label)?.up?;
    let turned = wrapped(up.as_degrees() + pose.between(held(scene), scene.ring_at));
    // From behind, what runs clockwise on the front runs the other way.
    let seen = if scene.ring.face == Face::Back { wrapped(-turned) } else { turned };
    // Sums of thirds of a turn leave a trace of rounding.
    Some(Angle::degrees((seen * 1e9).round() / 1e9))
}

/// The layer that the holder keeps upright.
fn held(scene: &Scene) -> usize {
    let openings = scene.openings.iter().map(|opening| opening.layer);
    // Beside a pointer there is no opening, and the lowest layer is the one in the hand.
    openings.reduce(|one, other| if scene.over(other, one) { other } else { one }).unwrap_or(0)
}

fn leans(stop: &CheckedStop) -> bool {
    stop.stands.is_some_and(|stands| stands.as_degrees().abs() > READABLE)
}

/// Pushes what is said of readings that do not stand upright.
pub(super) fn report(design: &Design, readings: &[CheckedReading], problems: &mut Problems) {
    let face_of = |ring: &str| design.ring(ring).map(|(_, ring)| ring.face);
    for checked in readings.iter().filter(|checked| checked.how == ReadsHow::Through) {
        let leaning: Vec<&CheckedStop> = checked.stops.iter().filter(|stop| leans(stop)).collect();
        let turned = |stop: &CheckedStop| stop.stands.map_or(0.0, |stands| stands.as_degrees().abs());
        let worst = leaning.iter().copied().reduce(|a, b| if turned(b) > turned(a) { b } else { a });
        let (Some(worst), Some(asked)) = (worst, asked(design, checked)) else { continue };
        let Ok(scene) = Scene::of(design, asked) else { continue };
        let beside = readings.iter().filter(|other| face_of(&other.ring) == face_of(&checked.ring));
        let stands_upright = |other: &CheckedReading| {
            let told = other.stops.iter().any(|stop| stop.stands.is_some());
            other.how == ReadsHow::Through && told && !other.stops.iter().any(leans)
        };
        let upright = beside.into_iter().find(|other| stands_upright(other)).map(|other| other.ring.as_str());
        let lettering = lettered(design, &scene);
        // Words that lean alike show that the dial is to be held so.
        let alike = |up: &f64| leaning.iter().all(|stop| turned_from(stop, *up) <= READABLE);
        if !lettering.is_empty() && lettering.iter().any(alike) {
            continue;
        }
        let severity = if upright.is_some() || !lettering.is_empty() { Severity::Warning } else { Severity::Advice };
        let Some(failing) = failing(design, asked, worst, leaning.len(), checked.stops.len()) else { continue };
        let (mend, fits) = mend(design, asked, &scene, checked);
        let tilted = scene.ring.labels.iter().any(|label| label.tilt != Angle::ZERO);
        problems.push(say::not_upright(&failing, worst, severity, upright, (&mend, fits, tilted)));
    }
}

fn turned_from(stop: &CheckedStop, up: f64) -> f64 {
    stop.stands.map_or(0.0, |stands| wrapped(stands.as_degrees() - up).abs())
}

/// Where the tops of other lettering point that moves with the layer held, in degrees clockwise for the holder.
fn lettered(design: &Design, scene: &Scene) -> Vec<f64> {
    let half = |layer: usize| design.turns().filter(|(below, _)| *below < layer).count();
    let held = held(scene);
    let beside = design.layers.iter().enumerate().filter(|(at, _)| half(*at) == half(held));
    let marks = beside.flat_map(|(_, layer)| &layer.marks).filter(|mark| mark.face == scene.ring.face);
    let seen = |up: Angle| if scene.ring.face == Face::Back { -up.as_degrees() } else { up.as_degrees() };
    marks.filter_map(|mark| mark.lettering.as_ref()).map(|words| wrapped(seen(words.up))).collect()
}

/// The facing with which labels without a tilt stand most nearly upright where they are read, and whether every stop still reads right.
fn mend(design: &Design, reading: &Reading, scene: &Scene, checked: &CheckedReading) -> (Mending, bool) {
    let turned = |facing: Facing| {
        let each = checked.stops.iter().filter_map(|stop| {
            let label = scene.ring.labels.get(stop.due)?;
            let by = facing.tops(label.bearing) - label.up?;
            let by = if scene.ring.face == Face::Back { -by.as_degrees() } else { by.as_degrees() };
            Some(wrapped(stop.stands?.as_degrees() + by).abs())
        });
        each.fold(0.0, f64::max)
    };
    let best = FACINGS.into_iter().reduce(|a, b| if turned(b) < turned(a) { b } else { a });
    let mend = Mending::Facing(best.unwrap_or(Facing::Outward));
    let fits = mends::tried(design, reading, [mend.clone()]).is_some();
    (mend, fits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_leans_from_sixty_degrees_on() {
        let at = |degrees: f64| CheckedStop { stands: Some(Angle::degrees(degrees)), ..CheckedStop::default() };
        for (degrees, wanted) in
            [(0.0, false), (59.0, false), (-60.0, false), (61.0, true), (-90.0, true), (180.0, true)]
        {
            assert_eq!(leans(&at(degrees)), wanted, "{degrees}");
        }
        assert!(!leans(&CheckedStop::default()), "a picture has no way up that could be told");
        assert_eq!((turned_from(&at(170.0), 180.0), turned_from(&at(-170.0), 180.0)), (10.0, 10.0));
    }
}
