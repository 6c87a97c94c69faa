//! Turns a checked reading into findings: one of each kind for a reading, at its worst stop.

use super::findings as say;
use super::findings::{Failing, Mending};
use super::scene::Scene;
use super::{CheckedReading, CheckedStop, is_contact};
use crate::audit::fit::in_words;
use crate::design::pose::{Pose, wrapped};
use crate::design::{Design, Reading, ReadsHow};
use crate::diagnostics::Problems;
use crate::geometry::FlattenedShape;
use crate::units::{Angle, Length};

/// Bearings nearer than this are one, in degrees.
const SAME_BEARING: f64 = 0.05;

/// Everything that one reading needs for its findings.
struct Report<'a> {
    design: &'a Design,
    reading: &'a Reading,
    scene: &'a Scene<'a>,
    checked: &'a CheckedReading,
}

/// Pushes what is wrong with a reading.
pub(super) fn report(
    design: &Design,
    reading: &Reading,
    scene: &Scene,
    checked: &CheckedReading,
    problems: &mut Problems,
) {
    let report = Report { design, reading, scene, checked };
    report.wrong(problems);
    report.hidden(problems);
    report.shared(problems);
    report.pointer(problems);
}

/// A [`Failing`] for the worst of some stops.
pub(super) fn failing<'a>(
    design: &'a Design,
    reading: &'a Reading,
    worst: &'a CheckedStop,
    count: usize,
    of: usize,
) -> Option<Failing<'a>> {
    let (_, ring) = design.ring(&reading.ring)?;
    let opening = reading.by.first().and_then(|name| design.mark(name)).map_or(reading.origin, |(_, mark)| mark.origin);
    let label = ring.labels.get(worst.due).map_or(ring.origin, |label| label.origin);
    let spot = worst.margin_at.0;
    Some(Failing {
        reading,
        stop: in_words(&worst.stops, &worst.bearings),
        count,
        of,
        due: &worst.due_says,
        label,
        opening,
        spot,
    })
}

impl<'a> Report<'a> {
    fn stops(&self, wanted: impl Fn(&CheckedStop) -> bool) -> Vec<&'a CheckedStop> {
        self.checked.stops.iter().filter(|stop| wanted(stop)).collect()
    }

    fn failing(&self, worst: &'a CheckedStop, count: usize) -> Option<Failing<'a>> {
        failing(self.design, self.reading, worst, count, self.checked.stops.len())
    }

    fn wrong(&self, problems: &mut Problems) {
        let stops = self.stops(|stop| stop.shown.is_some_and(|shown| shown != stop.due));
        let Some(worst) = stops.first() else { return };
        // Turning the ring moves all labels, so it mends only where every stop asks for the same.
        let offsets = self.checked.stops.iter().filter_map(|stop| self.offset(stop)).map(|(turn, _)| turn);
        let offsets: Vec<f64> = offsets.collect();
        let agree = offsets.iter().all(|turn| wrapped(turn - offsets.first().unwrap_or(turn)).abs() < SAME_BEARING);
        let mend = offsets.first().filter(|_| agree).map(|turn| Mending::Turn(Angle::degrees(*turn)));
        if let Some(failing) = self.failing(worst, stops.len()) {
            problems.push(say::wrong(&failing, worst.shown_says.as_deref().unwrap_or(""), mend.as_ref()));
        }
    }

    fn hidden(&self, problems: &mut Problems) {
        let nothing = |stop: &CheckedStop| stop.shown.is_none() && stop.due_area > 0.0;
        let part = |stop: &CheckedStop| stop.shown == Some(stop.due) && !is_contact(stop.margin.as_mm());
        let stops = self.stops(|stop| nothing(stop) || part(stop));
        let worst = stops.iter().min_by(|a, b| {
            let share = |stop: &CheckedStop| stop.visible_area / stop.due_area.max(f64::MIN_POSITIVE);
            share(a).total_cmp(&share(b))
        });
        let Some(failing) = worst.and_then(|worst| self.failing(worst, stops.len())) else { return };
        let Some(worst) = worst else { return };
        let depth = Length::mm(-worst.margin.as_mm().min(0.0));
        let visible = if nothing(worst) { 0.0 } else { worst.visible_area };
        problems.push(say::hidden(&failing, visible, worst.due_area, depth, &self.mending(worst, depth)));
    }

    fn shared(&self, problems: &mut Problems) {
        let gap = |stop: &CheckedStop| stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm);
        let stops = self.stops(|stop| stop.shown == Some(stop.due) && !is_contact(gap(stop)));
        let Some(worst) = stops.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))) else { return };
        let pose = Pose::of_turns(self.design, &self.checked.turns, &worst.stops);
        let (_, ink) = self.scene.foreign(worst.due, &pose);
        let origin = ink.and_then(|at| self.scene.inks.get(at)).map_or(self.reading.origin, |ink| ink.origin);
        let Some(failing) = self.failing(worst, stops.len()) else { return };
        let says = worst.foreign_says.as_deref().unwrap_or("");
        problems.push(say::shared(&failing, says, origin, Length::mm(-gap(worst)), worst.foreign_area));
    }

    fn pointer(&self, problems: &mut Problems) {
        if self.reading.how != ReadsHow::Beside {
            return;
        }
        let gap = |stop: &CheckedStop| {
            self.scene.pointer_gap(&Pose::of_turns(self.design, &self.checked.turns, &stop.stops)).mm
        };
        let stops = self.stops(|stop| !is_contact(gap(stop)));
        let Some(worst) = stops.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))) else { return };
        if let Some(failing) = self.failing(worst, stops.len()) {
            problems.push(say::pointer_covered(&failing, Length::mm(-gap(worst))));
        }
    }

    /// How far the due label must be turned (degrees clockwise) and moved out (mm) to stand where it is read.
    fn offset(&self, stop: &CheckedStop) -> Option<(f64, f64)> {
        let pose = Pose::of_turns(self.design, &self.checked.turns, &stop.stops);
        let label = self.scene.ring.labels.get(stop.due)?;
        let turn = wrapped(self.scene.looks_at(&pose)? - label.bearing.as_degrees());
        let middle = self.scene.labels.get(stop.due).and_then(FlattenedShape::bounds).map(|bounds| bounds.center());
        let opening = self.scene.openings.first().and_then(|opening| opening.region.centroid());
        let out = opening.zip(middle).map_or(0.0, |(to, from)| to.to_vec2().hypot() - from.to_vec2().hypot());
        Some((turn, out))
    }

    fn mending(&self, stop: &CheckedStop, depth: Length) -> Mending {
        let Some((turn, out)) = self.offset(stop) else { return Mending::Widen(depth) };
        let radius = self.scene.ring.radius.as_mm();
        let along = turn.to_radians() * radius;
        // Moving a label this far uncovers no more of it than that.
        if along.hypot(out) < 0.9 * depth.as_mm() {
            return Mending::Widen(depth);
        }
        if along.abs() > 0.3 * depth.as_mm().max(0.1) && along.abs() >= out.abs() {
            return Mending::Turn(Angle::degrees(turn));
        }
        if out.abs() > 0.3 * depth.as_mm().max(0.1) {
            return Mending::Radius(Length::mm((100.0 * (radius + out)).round() / 100.0));
        }
        Mending::Widen(depth)
    }
}
