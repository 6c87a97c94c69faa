//! How far the upper half of a stack may be turned off a stop before the reading fails.

use super::scene::Scene;
use super::steps::stepped;
use crate::audit::pose::{Pose, wrapped};
use crate::design::Label;
use crate::units::Angle;

/// Slack anticlockwise and clockwise of a reading that holds, over all turns that it depends on.
pub(super) fn slacks(scene: &Scene, due: usize, pose: &Pose) -> (Angle, Angle) {
    let mut least = if scene.pointer.is_some() { half_ways(scene, due, pose) } else { (180.0, 180.0) };
    let mut moved = Vec::new();
    for (_, below) in &scene.turns {
        let above = scene.layers_above(*below);
        if !moved.contains(&above) {
            least = of_turn(scene, due, pose, *below, least);
            moved.push(above);
        }
    }
    (Angle::degrees(least.0), Angle::degrees(least.1))
}

/// Slack in degrees of the turn over the layer `below`, no more than `most`.
fn of_turn(scene: &Scene, due: usize, pose: &Pose, below: usize, most: (f64, f64)) -> (f64, f64) {
    let most = (most.0.to_radians(), most.1.to_radians());
    let covered = scene.until_covered(due, pose, below, most);
    let (back, on) = scene.until_intruded(due, pose, below, covered);
    let least = (back.to_degrees(), on.to_degrees());
    if !scene.sees_unsteadily(due, below) {
        return least;
    }
    let at_rest = scene.probe(due, pose, below);
    let probe = |degrees: f64| scene.probe(due, &pose.nudged(below, degrees), below);
    let clear = |degrees: f64| scene.is_clear(due, &pose.nudged(below, degrees), below);
    let slack = |sign: f64, most: f64| stepped(sign, most, at_rest, probe, clear);
    (slack(-1.0, least.0), slack(1.0, least.1))
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
