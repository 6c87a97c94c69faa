//! How far the upper half of a stack may be turned off a stop before the reading fails.

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::sync::Arc;

use super::ink::Ink;
use super::remembered::turned_by;
use super::scene::Scene;
use super::steps::{Probe, stepped};
use crate::design::Label;
use crate::design::pose::{Pose, wrapped};
use crate::geometry::{Angles, FlattenedShape, Gap, first_contact};
use crate::units::Angle;

/// How far is looked for a gap where its width does not matter, in mm.
const ANY: f64 = 1e-9;

/// What must not come into view: all ink but the label that is due and the marks that are in view at the stop itself.
pub(super) struct Unwanted<'a> {
    pub due: usize,
    pub shown: &'a [usize],
}

impl Unwanted<'_> {
    fn has(&self, at: usize, ink: &Ink) -> bool {
        ink.label != Some(self.due) && !self.shown.contains(&at)
    }
}

/// Slack anticlockwise and clockwise of a reading that holds, over all turns that it depends on.
pub(super) fn slacks(scene: &Scene, unwanted: &Unwanted, pose: &Pose) -> (Angle, Angle) {
    let due = unwanted.due;
    let mut least = if scene.pointer.is_some() { half_ways(scene, due, pose) } else { (180.0, 180.0) };
    let mut moved = Vec::new();
    for (_, below) in &scene.turns {
        let above = scene.layers_above(*below);
        if !moved.contains(&above) {
            least = of_turn(scene, unwanted, pose, *below, least);
            moved.push(above);
        }
    }
    (Angle::degrees(least.0), Angle::degrees(least.1))
}

/// Slack in degrees of the turn over the layer `below`, no more than `most`.
fn of_turn(scene: &Scene, unwanted: &Unwanted, pose: &Pose, below: usize, most: (f64, f64)) -> (f64, f64) {
    let most = (most.0.to_radians(), most.1.to_radians());
    let covered = scene.until_covered(unwanted.due, pose, below, most);
    let (back, on) = scene.until_intruded(unwanted, pose, below, covered);
    let least = (back.to_degrees(), on.to_degrees());
    if !scene.sees_unsteadily(unwanted, below) {
        return least;
    }
    let at_rest = scene.probe(unwanted, pose, below);
    let probe = |degrees: f64| scene.probe(unwanted, &pose.nudged(below, degrees), below);
    let clear = |degrees: f64| scene.is_clear(unwanted, &pose.nudged(below, degrees), below);
    let slack = |sign: f64, most: f64| stepped(sign, most, at_rest, probe, clear);
    (slack(-1.0, least.0), slack(1.0, least.1))
}

impl Scene {
    /// The angles by which everything above `below` may be turned on at a pose before a cover meets the label; no more than `most`.
    fn until_covered(&self, due: usize, pose: &Pose, below: usize, most: Angles) -> Angles {
        let Some(ink) = self.labels.get(due) else { return most };
        let upper = self.ring_at > below;
        let covers = self.covers.iter().filter(|cover| (cover.layer > below) != upper);
        covers.fold(most, |most, cover| {
            // Where several turns are crossed, many of their stops hold a label alike beneath a cover.
            let limit = if self.turns.len() > 1 { (PI, PI) } else { most };
            let question = (due, cover.layer, upper, turned_by(pose, self.ring_at, cover.layer));
            let found = self.contacts.or_found(question, || {
                turned(&ink.moved(pose.map(self.ring_at, cover.layer)), upper, &cover.flat, limit)
            });
            (most.0.min(found.0), most.1.min(found.1))
        })
    }

    /// The same before other ink comes into view, as far as the view keeps its shape.
    fn until_intruded(&self, unwanted: &Unwanted, pose: &Pose, below: usize, most: Angles) -> Angles {
        let mut views: BTreeMap<usize, Arc<FlattenedShape>> = BTreeMap::new();
        let others =
            self.unwanted(unwanted).filter(|ink| self.view_turns(ink.layer, below) == Some(ink.layer <= below));
        others.fold(most, |most, ink| {
            let view = views.entry(ink.layer).or_insert_with(|| self.flat_view(ink.layer, pose));
            let to_view = pose.map(ink.layer, self.view_frame());
            // What is farther by the circle round it than the view can be moved need not be looked at.
            let moved = 2.0 * self.view_reach * (0.5 * most.0.max(most.1)).sin();
            if ink.away(to_view, view) > moved {
                return most;
            }
            turned(&ink.flat.moved(to_view), ink.layer > below, view, most)
        })
    }

    /// Whether what a layer is seen through lies above `below`; none where some of it does and some does not, so that the
    /// view changes its shape with that turn.
    fn view_turns(&self, layer: usize, below: usize) -> Option<bool> {
        let openings = self.openings.iter().map(|opening| opening.layer);
        let over = openings.chain(self.unnamed_covers().map(|cover| cover.layer)).filter(|at| self.over(*at, layer));
        let mut above = over.map(|at| at > below);
        let first = above.next()?;
        above.all(|other| other == first).then_some(first)
    }

    fn unwanted<'s>(&'s self, unwanted: &'s Unwanted) -> impl Iterator<Item = &'s Ink> {
        self.inks.iter().enumerate().filter(|(at, ink)| unwanted.has(*at, ink)).map(|(_, ink)| ink)
    }

    /// Whether some other ink is seen through what changes its shape with a turn.
    fn sees_unsteadily(&self, unwanted: &Unwanted, below: usize) -> bool {
        self.unwanted(unwanted).any(|ink| self.view_turns(ink.layer, below).is_none())
    }

    /// The gap from the view to the nearest other ink, where the view changes its shape with a turn (0 where one
    /// shows), and how far may certainly be turned on.
    fn probe(&self, unwanted: &Unwanted, pose: &Pose, below: usize) -> Probe {
        let gap = self.clear_of_ink(unwanted, pose, below, f64::INFINITY);
        Probe { gap, safe_step: (gap / self.view_reach.max(1e-6)).to_degrees() }
    }

    /// Whether there is any such gap.
    fn is_clear(&self, unwanted: &Unwanted, pose: &Pose, below: usize) -> bool {
        self.clear_of_ink(unwanted, pose, below, ANY) > 0.0
    }

    fn clear_of_ink(&self, unwanted: &Unwanted, pose: &Pose, below: usize, within: f64) -> f64 {
        let unsteady = |at: usize, ink: &Ink| unwanted.has(at, ink) && self.view_turns(ink.layer, below).is_none();
        let clear = |ink: &FlattenedShape, view: &FlattenedShape| Gap { mm: ink.clear(view, within), ..Gap::NONE };
        self.nearest_ink(pose, unsteady, clear, within).0.mm
    }

    /// The layers looked at that lie above `below`.
    fn layers_above(&self, below: usize) -> Vec<usize> {
        let all = self.layers_in_play().into_iter().chain([self.ring_at]);
        let mut above: Vec<usize> = all.filter(|layer| *layer > below).collect();
        above.sort_unstable();
        above.dedup();
        above
    }
}

/// The angles by which the upper half of a stack may be turned before two shapes meet, the first of them in that half or, not
/// `upper`, the second.
fn turned(one: &FlattenedShape, upper: bool, other: &FlattenedShape, most: Angles) -> Angles {
    if upper { first_contact(one, other, most) } else { first_contact(other, one, most) }
}

/// How far the pointer may turn, anticlockwise and clockwise, before another label is nearer to it.
pub(super) fn half_ways(scene: &Scene, due: usize, pose: &Pose) -> (f64, f64) {
    let looks_at = scene.looks_at(pose).unwrap_or(0.0);
    let of = |label: &Label| wrapped(label.bearing.as_degrees() - looks_at);
    let own = scene.ring.labels.get(due).map_or(0.0, of);
    let others = scene.ring.labels.iter().enumerate().filter(|(at, _)| *at != due).map(|(_, label)| of(label));
    let (back, on) = others.fold((180.0_f64, 180.0_f64), |(back, on), other| {
        let clockwise = (other - own).rem_euclid(360.0);
        (back.min((360.0 - clockwise) / 2.0 - own), on.min(own + clockwise / 2.0))
    });
    let pointer_turns = scene.pointer.as_ref().is_some_and(|pointer| pointer.layer > scene.ring_at);
    if pointer_turns { (back, on) } else { (on, back) }
}
