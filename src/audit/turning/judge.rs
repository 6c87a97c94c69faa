//! Turns a checked reading into findings: one of each kind for a reading, at its worst stop.

use std::collections::BTreeSet;

use super::elsewhere;
use super::findings as say;
use super::findings::Failing;
use super::ink::Ink;
use super::mends::{self, Mending};
use super::scene::{self, Scene};
use super::{Amiss, CheckedReading, CheckedStop, is_contact};
use crate::audit::fit::in_words;
use crate::design::pose::{Pose, wrapped};
use crate::design::{Design, Reading, ReadsHow};
use crate::diagnostics::Problems;
use crate::geometry::FlattenedShape;
use crate::units::{Angle, Length};

/// Bearings nearer than this are one, in degrees.
const SAME_BEARING: f64 = 0.05;

/// How far below the shop's figure a margin may fall by rounding alone, in mm: heights are given to a hundredth, and shapes are
/// flattened.
const NEAR_ENOUGH: f64 = 0.01;

/// Everything that one reading needs for its findings.
struct Report<'a> {
    design: &'a Design,
    reading: &'a Reading,
    scene: &'a Scene,
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
    report.marked(problems);
    report.elsewhere(problems);
    report.near_opening(problems);
    report.pointer(problems);
    report.aside(problems);
}

/// A [`Failing`] for the worst of some stops.
pub(super) fn failing<'a>(
    design: &'a Design,
    reading: &'a Reading,
    worst: &'a CheckedStop,
    count: usize,
    of: usize,
) -> Option<Failing<'a>> {
    let (ring_at, ring) = design.ring(&reading.ring)?;
    let opening = reading.by.first().and_then(|name| design.mark(name));
    let ring_above = opening.is_some_and(|(at, _)| at < ring_at);
    let opening = opening.map_or(reading.origin, |(_, mark)| mark.origin);
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
        ring_above,
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
        let turn = offsets.first().filter(|_| agree).map(|turn| Mending::Turn(Angle::degrees(*turn)));
        let mend = mends::tried(self.design, self.reading, turn);
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
        let mend = self.mending(worst, depth);
        problems.push(say::hidden(&failing, visible, worst.due_area, depth, mend.as_ref()));
    }

    fn shared(&self, problems: &mut Problems) {
        let gap = |stop: &CheckedStop| stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm);
        let stops = self.stops(|stop| stop.shown == Some(stop.due) && !is_contact(gap(stop)));
        let Some(worst) = stops.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))) else { return };
        let pose = self.pose(worst);
        let (_, ink) = self.scene.nearest_label(worst.due, &pose);
        let origin = ink.and_then(|at| self.scene.inks.get(at)).map_or(self.reading.origin, |ink| ink.origin);
        let Some(failing) = self.failing(worst, stops.len()) else { return };
        let says = worst.foreign_says.as_deref().unwrap_or("");
        let depth = Length::mm(-gap(worst));
        let narrower = Mending::Narrow(rounded_up(depth));
        let mend = mends::tried(self.design, self.reading, [narrower]);
        let mend = mend.or_else(|| mends::lowered(self.design, self.reading));
        if let others @ 1.. = self.others_whole(&stops) {
            problems.push(say::all_show(&failing, others, mend.as_ref()));
            return;
        }
        problems.push(say::shared(&failing, says, origin, depth, worst.foreign_area, mend.as_ref()));
    }

    /// How many other labels of the ring show whole at each stop, at the least; none where only some stops show others at all.
    fn others_whole(&self, shared: &[&CheckedStop]) -> usize {
        if shared.len() != self.checked.stops.len() {
            return 0;
        }
        let mut known = BTreeSet::new();
        let mut least = usize::MAX;
        for stop in shared.iter().filter(|stop| known.insert(stop.look())) {
            let pose = self.pose(stop);
            let whole = |ink: &&Ink| {
                let moved = ink.flat.moved(pose.map(ink.layer, self.scene.view_frame()));
                moved.lies_clear_in(&self.scene.flat_view(ink.layer, &pose), 0.0)
            };
            let others = self.scene.inks.iter().filter(|ink| ink.label.is_some_and(|label| label != stop.due));
            least = least.min(others.filter(whole).count());
            if least == 0 {
                break;
            }
        }
        least
    }

    /// Ink that is no label, in view beside the due one.
    fn marked(&self, problems: &mut Problems) {
        let stops = self.stops(|stop| stop.shown == Some(stop.due) && stop.mark.is_some());
        let depth = |stop: &CheckedStop| stop.mark.as_ref().map_or(0.0, |mark| mark.depth.as_mm());
        let Some(worst) = stops.iter().max_by(|a, b| depth(a).total_cmp(&depth(b))) else { return };
        let bands = scene::band_of(self.scene.openings.iter().map(|opening| &opening.flat));
        let (Some(failing), Some(mark), Some(band)) = (self.failing(worst, stops.len()), &worst.mark, bands) else {
            return;
        };
        problems.push(say::marked(&failing, mark, band));
    }

    fn elsewhere(&self, problems: &mut Problems) {
        let stops = self.stops(|stop| stop.elsewhere.is_some());
        let part = |stop: &CheckedStop| stop.elsewhere.as_ref().map_or(0.0, |seen| seen.part);
        let Some(worst) = stops.iter().max_by(|a, b| part(a).total_cmp(&part(b)).then(b.stops.cmp(&a.stops))) else {
            return;
        };
        let band = scene::band_of(self.scene.labels.iter());
        let (Some(failing), Some(seen), Some(band)) = (self.failing(worst, stops.len()), &worst.elsewhere, band) else {
            return;
        };
        let cause = elsewhere::cause(self.design, self.scene, seen.at, &self.pose(worst));
        problems.push(say::elsewhere(&failing, seen, cause.as_ref(), band));
    }

    /// Labels that show whole, but nearer to an edge than the shop asks.
    fn near_opening(&self, problems: &mut Problems) {
        let stocks = self.scene.openings.iter().filter_map(|opening| self.design.layers.get(opening.layer));
        let Some(clear) = stocks.map(|layer| layer.stock.clear_opening).reduce(|a, b| if b > a { b } else { a }) else {
            return;
        };
        let short = |mm: f64| mm < clear.as_mm() - NEAR_ENOUGH;
        let stops = self.stops(|stop| stop.reads && short(stop.margin.as_mm()));
        let worst = stops.iter().min_by(|a, b| a.margin.as_mm().total_cmp(&b.margin.as_mm()));
        let Some(failing) = worst.and_then(|worst| self.failing(worst, stops.len())) else { return };
        let Some(worst) = worst else { return };
        let enough = |mend: &Mending| mends::leaves(self.design, self.reading, mend, clear.as_mm());
        let lower = mends::lowered_until(&self.scene.ring, enough);
        let wider = Mending::Widen(rounded_up(clear - worst.margin));
        let mend = lower.or_else(|| Some(wider).filter(enough));
        problems.push(say::near_opening(&failing, worst.margin, clear, mend.as_ref()));
    }

    /// What cannot be read from aside: rather what reads as something else than what is hidden, which one sees.
    fn aside(&self, problems: &mut Problems) {
        let is_hidden = |stop: &CheckedStop| stop.amiss_aside == Some(Amiss::Hidden);
        let misread = self.stops(|stop| stop.amiss_aside.is_some() && !is_hidden(stop));
        let stops = if misread.is_empty() { self.stops(is_hidden) } else { misread };
        let Some((worst, amiss)) = stops.first().and_then(|stop| Some((stop, stop.amiss_aside?))) else { return };
        let Some(failing) = self.failing(worst, stops.len()) else { return };
        let shown = match amiss {
            Amiss::Shows(ink) => self.scene.inks.get(ink).map(|ink| ink.name.as_str()),
            Amiss::Points | Amiss::Hidden => None,
        };
        problems.push(say::aslant(&failing, amiss, shown.unwrap_or_default(), worst.aside));
    }

    fn pose(&self, stop: &CheckedStop) -> Pose {
        Pose::of_turns(self.design, &self.checked.turns, &stop.stops)
    }

    fn pointer(&self, problems: &mut Problems) {
        if self.reading.how != ReadsHow::Beside {
            return;
        }
        let gap = |stop: &CheckedStop| self.scene.pointer_gap(&self.pose(stop)).mm;
        let stops = self.stops(|stop| !is_contact(gap(stop)));
        let Some(worst) = stops.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))) else { return };
        if let Some(failing) = self.failing(worst, stops.len()) {
            problems.push(say::pointer_covered(&failing, Length::mm(-gap(worst))));
        }
    }

    /// How far the due label must be turned (degrees clockwise) and moved out (mm) to stand where it is read.
    fn offset(&self, stop: &CheckedStop) -> Option<(f64, f64)> {
        let pose = self.pose(stop);
        let label = self.scene.ring.labels.get(stop.due)?;
        let turn = wrapped(self.scene.looks_at(&pose)? - label.bearing.as_degrees());
        let middle = self.scene.labels.get(stop.due).and_then(FlattenedShape::bounds).map(|bounds| bounds.center());
        let opening = self.scene.openings.first().and_then(|opening| opening.region.centroid());
        let out = opening.zip(middle).map_or(0.0, |(to, from)| to.to_vec2().hypot() - from.to_vec2().hypot());
        Some((turn, out))
    }

    /// What uncovers the label at this stop and at all others.
    fn mending(&self, stop: &CheckedStop, depth: Length) -> Option<Mending> {
        if self.reading.how == ReadsHow::Beside {
            return self.beyond_hand();
        }
        let pose = self.pose(stop);
        let unnamed = self.scene.unnamed_covers().filter(|cover| self.scene.over(cover.layer, self.scene.ring_at));
        let lid = unnamed.filter(|cover| self.scene.gap_to(stop.due, cover, &pose).overlaps());
        let lid = lid.filter_map(|cover| self.design.layers.get(cover.layer)).map(|layer| layer.name.clone());
        let place = self.offset(stop).map(|(turn, out)| {
            let radius = self.scene.ring.radius.as_mm();
            let radius = Mending::Radius(Length::mm((100.0 * (radius + out)).round() / 100.0));
            let turn = Mending::Turn(Angle::degrees(turn));
            (turn, radius, (self.along(stop), out.abs()))
        });
        let widen = Mending::Widen(rounded_up(depth));
        let order = match place {
            // Moving a label this far uncovers no more of it than that.
            Some((turn, radius, (along, out))) if along.hypot(out) >= 0.9 * depth.as_mm() => {
                if along >= out {
                    vec![turn, radius, widen]
                } else {
                    vec![radius, turn, widen]
                }
            }
            Some((turn, radius, _)) => vec![widen, turn, radius],
            None => vec![widen],
        };
        let mends = lid.map(Mending::Open).chain(order);
        mends::tried(self.design, self.reading, mends).or_else(|| mends::lowered(self.design, self.reading))
    }

    /// How far along its circle the due label stands from where it is read, in mm.
    fn along(&self, stop: &CheckedStop) -> f64 {
        let turn = self.offset(stop).map_or(0.0, |(turn, _)| turn);
        turn.to_radians().abs() * self.scene.ring.radius.as_mm()
    }

    /// A ring moved out from under the hand that covers it.
    fn beyond_hand(&self) -> Option<Mending> {
        let deepest = self.checked.stops.iter().map(|stop| -stop.margin.as_mm()).fold(0.0, f64::max);
        let out = self.scene.ring.radius + rounded_up(Length::mm(deepest));
        mends::tried(self.design, self.reading, [Mending::Radius(out)])
            .or_else(|| mends::lowered(self.design, self.reading))
    }
}

/// Up to the next hundredth of a millimetre, so that what is proposed is enough.
fn rounded_up(length: Length) -> Length {
    Length::mm((length.as_mm() * 100.0).ceil() / 100.0)
}
