//! What may be changed so that a reading holds. Each change is made on a copy of the dial and looked at before it is proposed.

use std::collections::BTreeSet;

use kurbo::Affine;

use super::scene::Scene;
use super::{case_key, due_label, shown_label};
use crate::design::pose::{Pose, combinations};
use crate::design::{Design, Face, Label, Laid, Mark, Reading, Ring, Shape, Work};
use crate::geometry::{Region, TOUCH_MM, polar, turn};
use crate::lettering::Facing;
use crate::limits::COMBINATIONS;
use crate::units::{Angle, Length};
use crate::vocabulary::choices::RunsWord;

/// Heights are proposed in hundredths of a millimetre and found by halving so often, to within some of them.
const HALVINGS: u32 = 8;
/// No height is proposed that makes a label smaller than this part of what it is.
const SMALLEST: f64 = 0.4;

/// How a dial should be changed so that its labels read where they are due.
#[derive(Clone, Debug, PartialEq)]
pub enum Mending {
    /// The ring turned clockwise by this.
    Turn(Angle),
    /// The ring moved to this radius.
    Radius(Length),
    /// The openings made larger by this on either side.
    Widen(Length),
    /// The openings made smaller by this on either side.
    Narrow(Length),
    /// The labels made this high.
    Lower(Length),
    /// An opening cut in the layer of this name too, and named in the reading.
    Open(String),
    /// The labels turned about their middles to face so.
    Facing(Facing),
    /// The labels laid round the other way, from the first.
    Runs(Way),
}

/// Which way round labels follow each other, seen from the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// As a clock's hands go.
    Clockwise,
    /// Against them.
    Anticlockwise,
}

impl Way {
    /// The language's word for it.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Clockwise => RunsWord::Clockwise.word(),
            Self::Anticlockwise => RunsWord::Anticlockwise.word(),
        }
    }
}

/// The first of these that makes every stop of the reading read right.
pub(super) fn tried(design: &Design, reading: &Reading, mends: impl IntoIterator<Item = Mending>) -> Option<Mending> {
    mends.into_iter().find(|mend| helps(design, reading, mend))
}

/// The largest height at which every stop reads right; none where no height does that is worth having.
pub(super) fn lowered(design: &Design, reading: &Reading) -> Option<Mending> {
    let (_, ring) = design.ring(&reading.ring)?;
    lowered_until(ring, |mend| helps(design, reading, mend))
}

/// The largest height of a ring's labels that is `enough`.
pub(super) fn lowered_until(ring: &Ring, enough: impl Fn(&Mending) -> bool) -> Option<Mending> {
    // One height for all is what can be proposed in a line.
    let height = ring.height.as_mm();
    if ring.labels.iter().any(|label| (label.height.as_mm() - height).abs() > 1e-6) {
        return None;
    }
    let at = |part: f64| Mending::Lower(Length::mm((100.0 * part * height).floor() / 100.0));
    if !enough(&at(SMALLEST)) {
        return None;
    }
    let (mut good, mut bad) = (SMALLEST, 1.0);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(good, bad);
        if enough(&at(middle)) { good = middle } else { bad = middle }
    }
    Some(at(good))
}

fn helps(design: &Design, reading: &Reading, mend: &Mending) -> bool {
    leaves(design, reading, mend, 0.0)
}

/// Whether a change makes every stop read right and leaves this much of margin at each, in mm.
pub(super) fn leaves(design: &Design, reading: &Reading, mend: &Mending, clear: f64) -> bool {
    let (mut design, mut reading) = (design.clone(), reading.clone());
    apply(&mut design, &mut reading, mend);
    reads(&design, &reading, clear)
}

/// Whether every stop of a reading reads right, with so much of margin.
fn reads(design: &Design, reading: &Reading, clear: f64) -> bool {
    let Ok(scene) = Scene::of(design, reading) else { return false };
    let turns: Vec<usize> = scene.turns.iter().map(|(at, _)| *at).collect();
    let stops = combinations(design, &turns);
    // Combinations that look the same are looked at once.
    let mut known = BTreeSet::new();
    stops.len() <= COMBINATIONS
        && stops.iter().all(|stops| {
            let pose = Pose::of_turns(design, &turns, stops);
            let due = due_label(&scene, design, stops, &pose);
            if !known.insert(case_key(&scene, due, &pose)) {
                return true;
            }
            let whole = scene.edge(due, &pose).mm >= clear - TOUCH_MM && !scene.pointer_gap(&pose).overlaps();
            let sound = whole && scene.is_in_view(due, &pose) && !scene.foreign_label(due, &pose).overlaps();
            sound && shown_label(&scene, due, true, &pose) == Some(due)
        })
}

/// Makes a change.
pub(super) fn apply(design: &mut Design, reading: &mut Reading, mend: &Mending) {
    match mend {
        Mending::Turn(by) => of_labels(design, reading, |ring| {
            for label in &mut ring.labels {
                label.ink = label.ink.transformed(turn(*by));
                label.bearing = label.bearing + *by;
                label.up = label.up.map(|up| up + *by);
            }
        }),
        Mending::Runs(_) => of_labels(design, reading, |ring| {
            let first = ring.labels.first().map_or(Angle::ZERO, |label| label.bearing);
            for label in &mut ring.labels {
                let by = (first - label.bearing) * 2.0;
                label.ink = label.ink.transformed(turn(by));
                label.bearing = label.bearing + by;
                label.up = label.up.map(|up| up + by);
            }
            ring.laid = Laid::Round;
        }),
        Mending::Radius(to) => of_labels(design, reading, |ring| {
            let out = to.as_mm() - ring.radius.as_mm();
            for label in &mut ring.labels {
                label.ink = label.ink.transformed(Affine::translate(polar(out, label.bearing).to_vec2()));
            }
            ring.radius = *to;
        }),
        Mending::Lower(to) => of_labels(design, reading, |ring| {
            let part = to.as_mm() / ring.height.as_mm();
            about_middles(ring, |_| Affine::scale(part));
            ring.height = *to;
        }),
        Mending::Facing(facing) => of_labels(design, reading, |ring| {
            about_middles(ring, |label| label.up.map_or(Affine::IDENTITY, |up| turn(facing.tops(label.bearing) - up)));
            for label in &mut ring.labels {
                label.up = label.up.map(|_| facing.tops(label.bearing));
            }
        }),
        Mending::Widen(by) => of_openings(design, reading, |region| region.offset(by.as_mm())),
        Mending::Narrow(by) => of_openings(design, reading, |region| region.offset(-by.as_mm())),
        Mending::Open(layer) => open(design, reading, layer),
    }
}

/// Changes every label about its middle, the place of its bearing and the ring's radius.
fn about_middles(ring: &mut Ring, change: impl Fn(&Label) -> Affine) {
    for label in &mut ring.labels {
        let middle = polar(ring.radius.as_mm(), label.bearing).to_vec2();
        label.ink = label.ink.transformed(Affine::translate(middle) * change(label) * Affine::translate(-middle));
    }
}

fn of_labels(design: &mut Design, reading: &Reading, change: impl Fn(&mut Ring)) {
    let rings = design.layers.iter_mut().flat_map(|layer| &mut layer.rings);
    rings.filter(|ring| ring.name == reading.ring).for_each(change);
}

fn of_openings(design: &mut Design, reading: &Reading, change: impl Fn(&Region) -> Region) {
    let marks = design.layers.iter_mut().flat_map(|layer| &mut layer.marks);
    let named = |mark: &&mut Mark| mark.name.as_ref().is_some_and(|name| reading.by.contains(name));
    for mark in marks.filter(named) {
        if let Shape::Region(region) = &mut mark.shape {
            *region = change(region);
        }
    }
}

/// Cuts the reading's first opening through one more layer, which stands still against the one that it is in.
fn open(design: &mut Design, reading: &mut Reading, layer: &str) {
    let first = reading.by.first().and_then(|name| design.mark(name)).map(|(_, mark)| mark.clone());
    let (Some(first), Some(layer)) = (first, design.layers.iter_mut().find(|one| one.name == layer)) else { return };
    let name = format!("{}, again", first.name.clone().unwrap_or_default());
    layer.marks.push(Mark { name: Some(name.clone()), work: Work::Window, face: Face::Front, ..first });
    reading.by.push(name);
}
