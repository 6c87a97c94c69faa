//! Plain draws: every dial drawn is laid together layer by layer and looked at in earnest. Shares nothing with the bounds.

use fastrand::Rng;
use kurbo::{Affine, Point, Vec2};

use crate::audit::holding::{Holding, TurnHolding};
use crate::audit::turning::ink::Ink;
use crate::audit::turning::scene::Scene;
use crate::audit::turning::{CheckedStop, ReadingCheck};
use crate::design::pose::wrapped;
use crate::design::{Design, Joint, Pivot, Spreads, Turn};
use crate::geometry::{FlattenedShape, turn as turned};
use crate::units::{Angle, Length};

/// Shares of dials drawn plainly: the whole dial, and every stop of every reading.
pub(crate) struct Plain {
    pub(crate) dial: f64,
    pub(crate) readings: Vec<Vec<f64>>,
}

/// Draws so many.
pub(crate) fn plain(
    design: &Design,
    check: &ReadingCheck,
    spreads: &Spreads,
    holding: Option<&Holding>,
    dials: u32,
) -> Plain {
    let mut rng = Rng::with_seed(2026);
    let scenes: Vec<Scene> = design.readings.iter().filter_map(|reading| Scene::of(design, reading).ok()).collect();
    assert_eq!(scenes.len(), check.readings.len());
    let mut right: Vec<Vec<u32>> = check.readings.iter().map(|reading| vec![0; reading.stops.len()]).collect();
    let mut whole = 0;
    for _ in 0..dials {
        let dial = Drawn::new(design, spreads, holding, &mut rng);
        let mut all = true;
        let mut done: Vec<&[usize]> = Vec::new();
        for reading in &check.readings {
            if done.contains(&reading.turns.as_slice()) {
                continue;
            }
            done.push(&reading.turns);
            for (stop, checked) in reading.stops.iter().enumerate() {
                let placed = dial.placed(design, spreads, &reading.turns, &checked.stops, &mut rng);
                for (at, other) in check.readings.iter().enumerate().filter(|(_, other)| other.turns == reading.turns) {
                    let reads = placed.reads(&scenes[at], &other.stops[stop]);
                    right[at][stop] += u32::from(reads);
                    all &= reads;
                }
            }
        }
        whole += u32::from(all);
    }
    let share = |count: u32| f64::from(count) / f64::from(dials);
    Plain {
        dial: share(whole),
        readings: right.into_iter().map(|stops| stops.into_iter().map(share).collect()).collect(),
    }
}

/// A dial as it was made.
struct Drawn<'a> {
    /// What holds each turn, and how far its friction stands between the least and the greatest.
    held: Vec<(Option<&'a TurnHolding>, f64)>,
    /// Pockets off the axis, in the lower and the upper half of each turn.
    pockets: Vec<(Vec2, Vec2)>,
    /// How far each joint that is glued lies off, and by how much it is turned, in degrees; nothing for those that turn.
    laid: Vec<(Vec2, f64)>,
    wider: f64,
}

/// As far as the smaller layer reaches, rims lie off as much again by being turned.
fn laid(design: &Design, spreads: &Spreads, rng: &mut Rng) -> Vec<(Vec2, f64)> {
    let reach = |layer: usize| FlattenedShape::of(&design.layers[layer].outline).reach(Point::ZERO);
    let of = |(below, joint): (usize, &Joint)| match joint {
        Joint::Turn(_) => (Vec2::ZERO, 0.0),
        Joint::Glue(_) => {
            let mut off = || spreads.glued.as_mm() * normal(rng);
            let shift = Vec2::new(off(), off());
            (shift, (off() / reach(below).min(reach(below + 1))).to_degrees())
        }
    };
    design.joints.iter().enumerate().map(of).collect()
}

fn normal(rng: &mut Rng) -> f64 {
    (-2.0 * (1.0 - rng.f64()).ln()).sqrt() * (std::f64::consts::TAU * rng.f64()).cos()
}

fn in_disc(rng: &mut Rng, radius: f64) -> Vec2 {
    Vec2::from_angle(std::f64::consts::TAU * rng.f64()) * (radius * rng.f64().sqrt())
}

fn play(turn: &Turn) -> (f64, bool) {
    match &turn.pivot {
        Pivot::Magnets { .. } => (turn.pivot.clearance().as_mm() / 2.0, false),
        Pivot::Rivet(rivet) => (rivet.clearance.as_mm() / 2.0, true),
        Pivot::Wall => (0.0, true),
    }
}

impl<'a> Drawn<'a> {
    fn new(design: &Design, spreads: &Spreads, holding: Option<&'a Holding>, rng: &mut Rng) -> Self {
        let pocket = |turn: &Turn, rng: &mut Rng| {
            let (play, loose) = play(turn);
            let off = Vec2::new(normal(rng), normal(rng)) * spreads.centring().as_mm();
            if loose { off } else { off + in_disc(rng, play) }
        };
        let pockets = design.turns().map(|(_, turn)| (pocket(turn, rng), pocket(turn, rng))).collect();
        let held = design
            .turns()
            .map(|(below, _)| (holding.and_then(|all| all.turns.iter().find(|turn| turn.below == below)), rng.f64()));
        let held = held.collect();
        let laid = laid(design, spreads, rng);
        Self { held, pockets, laid, wider: spreads.kerf.as_mm() * normal(rng) / 2.0 }
    }

    /// How far off a stop a turn is left, in degrees.
    fn off(&self, at: usize, turn: &Turn, stop: usize, spreads: &Spreads, rng: &mut Rng) -> f64 {
        let (held, friction) = self.held[at];
        let rests =
            held.and_then(|held| held.magnets.as_ref()?.clicks.as_ref()).and_then(|rings| rings.rests.get(stop));
        match (&turn.clicks, rests.map(|rest| rest.band(friction))) {
            (None, _) | (_, Some(None)) => spreads.placing.as_degrees() * normal(rng),
            (_, None) => spreads.clicked.as_degrees() * normal(rng),
            (_, Some(Some(band))) => {
                let end = if rng.bool() { band.stays.0 } else { band.stays.1 };
                end.as_degrees() + spreads.clicked.as_degrees() * normal(rng)
            }
        }
    }

    /// How far off its axis it is left, in mm.
    fn pushed(&self, at: usize, rng: &mut Rng) -> Vec2 {
        let (held, friction) = self.held[at];
        let Some(held) = held else { return Vec2::ZERO };
        let (least, most) = held.off_axis.range();
        let farthest = least.as_mm() + (most.as_mm() - least.as_mm()) * friction;
        Vec2::from_angle(std::f64::consts::TAU * rng.f64()) * (farthest * rng.f64())
    }

    /// Laid together at a choice of stops, each set anew.
    fn placed(&self, design: &Design, spreads: &Spreads, turns: &[usize], stops: &[usize], rng: &mut Rng) -> Placed {
        let (mut layers, mut at) = (vec![Affine::IDENTITY], 0);
        let (mut shift, mut off) = (0.0, 0.0);
        for (joint, (slid, askew)) in design.joints.iter().zip(&self.laid) {
            let below = *layers.last().unwrap();
            layers.push(match joint {
                Joint::Glue(_) => {
                    shift += slid.hypot();
                    off += askew.to_radians().abs();
                    below * Affine::translate(*slid) * turned(Angle::degrees(*askew))
                }
                Joint::Turn(turn) => {
                    let chosen = turns.iter().position(|known| *known == at).map_or(0, |place| stops[place]);
                    let by = self.off(at, turn, chosen, spreads, rng);
                    let (lower, upper) = self.pockets[at];
                    let (play, loose) = play(turn);
                    let loose = if loose { in_disc(rng, play) + in_disc(rng, play) } else { Vec2::ZERO };
                    let loose = loose + self.pushed(at, rng);
                    if turns.contains(&at) {
                        shift += lower.hypot() + upper.hypot() + loose.hypot();
                        off += by.to_radians().abs();
                    }
                    at += 1;
                    let bearing = turn.stops[chosen].as_degrees() + by;
                    below
                        * Affine::translate(lower + loose)
                        * turned(Angle::degrees(bearing))
                        * Affine::translate(-upper)
                }
            });
        }
        Placed { layers, wider: self.wider, shift, off }
    }
}

/// A dial that was set.
struct Placed {
    layers: Vec<Affine>,
    wider: f64,
    shift: f64,
    off: f64,
}

impl Placed {
    fn onto(&self, from: usize, to: usize) -> Affine {
        self.layers[to].inverse() * self.layers[from]
    }

    fn reads(&self, scene: &Scene, stop: &CheckedStop) -> bool {
        if stop.shown != Some(stop.due) {
            return false;
        }
        self.points_right(scene, stop.due) && (self.surely(scene, stop) || self.shows(scene, stop.due))
    }

    /// Nothing was moved far enough to close a gap.
    fn surely(&self, scene: &Scene, stop: &CheckedStop) -> bool {
        let reach = |flat: &FlattenedShape| flat.reach(Point::ZERO);
        let foreign = stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm);
        stop.margin.as_mm() > self.shift + self.off * reach(&scene.labels[stop.due]) - self.wider
            && foreign > self.shift + self.off * (scene.view_reach + 1.0) + self.wider
    }

    fn shows(&self, scene: &Scene, due: usize) -> bool {
        let label = &scene.labels[due];
        let covered = scene.all_covers().any(|cover| {
            let ink = label.moved(self.onto(scene.ring_at, cover.layer));
            if self.wider < 0.0 {
                ink.closer_than(&cover.flat, -self.wider)
            } else {
                ink.deeper_than(&cover.flat, self.wider)
            }
        });
        let intrudes = |ink: &Ink| {
            scene.openings.iter().all(|opening| {
                let flat = FlattenedShape::of(&opening.region);
                let moved = ink.flat.moved(self.onto(ink.layer, opening.layer));
                if self.wider >= 0.0 {
                    moved.closer_than(&flat, self.wider)
                } else {
                    moved.deeper_than(&flat, -self.wider)
                }
            })
        };
        !covered
            && !scene
                .inks
                .iter()
                .filter(|ink| ink.is_other_label(due) && !scene.over(scene.ring_at, ink.layer))
                .any(intrudes)
    }

    fn points_right(&self, scene: &Scene, due: usize) -> bool {
        let Some(pointer) = &scene.pointer else { return true };
        let reach = pointer.flat.reach(Point::ZERO);
        let tip =
            self.onto(pointer.layer, scene.ring_at) * crate::geometry::polar(reach, Angle::degrees(pointer.bearing));
        let at = tip.x.atan2(tip.y).to_degrees();
        let away = scene.ring.labels.iter().map(|label| wrapped(label.bearing.as_degrees() - at).abs());
        away.enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).is_some_and(|(nearest, _)| nearest == due)
    }
}
