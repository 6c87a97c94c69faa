//! A dial that turns through all its stops: where each layer stands from moment to moment, and the pictures of that.

use std::num::NonZeroUsize;

use super::camera::ROOM;
use super::render::{Asked, Pixels};
use super::scene::{Held, Place};
use super::slab::Slab;
use super::{Stage, View};
use crate::design::pose::{Pose, wrapped};
use crate::design::{Design, Face};

/// How long a picture stays, in hundredths of a second: at a stop, and on the way to the next.
const STAY: u16 = 90;
const PASS: u16 = 5;

/// What turning picture is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Turning {
    /// From which side: front or back.
    pub face: Face,
    /// Length of the longer side in pixels.
    pub size: u32,
}

/// The way of a dial through its stops and back to the first.
pub(super) struct Way {
    /// How far each layer is turned clockwise as it is seen, in degrees, at each still; the last is the first again, with whole
    /// turns added.
    pub(super) stills: Vec<Vec<f64>>,
    pub(super) held: Held,
}

/// One picture and how long it stays, in hundredths of a second.
pub(super) struct Frame {
    pub(super) rgb: Vec<u8>,
    pub(super) stays: u16,
}

impl Way {
    /// Of every turn its stops, one turn after the other; wheels all at once.
    pub(super) fn of(design: &Design, face: Face) -> Self {
        let held = Held::of(design, face, 0.0);
        let counts: Vec<usize> = design.turns().map(|(_, turn)| turn.stops.len()).collect();
        let mut stops: Vec<Vec<usize>> = if design.has_wheels() {
            let most = counts.iter().copied().max().unwrap_or(1);
            (0..most).map(|stop| counts.iter().map(|count| stop % (*count).max(1)).collect()).collect()
        } else {
            let one = |(turn, count): (usize, &usize)| {
                let all = 0..counts.len();
                let at = move |stop: usize| all.clone().map(|it| if it == turn { stop } else { 0 }).collect();
                (0..*count).map(at).collect::<Vec<Vec<usize>>>()
            };
            counts.iter().enumerate().flat_map(one).collect()
        };
        stops.extend(stops.first().cloned());
        // What has end stops goes back the way it came.
        let ended = design.turns().any(|(_, turn)| turn.ends.is_some());
        let mut stills: Vec<Vec<f64>> = Vec::new();
        for stops in &stops {
            let pose = Pose::at(design, stops);
            let turned = (0..design.layers.len()).map(|layer| held.turned(&pose, layer));
            let next = match stills.last() {
                Some(last) if !ended => turned.zip(last).map(|(to, from)| from + wrapped(to - from)).collect(),
                _ => turned.collect(),
            };
            stills.push(next);
        }
        Self { stills, held }
    }

    /// Whether each layer ever moves.
    pub(super) fn moves(&self) -> Vec<bool> {
        let first = self.stills.first().cloned().unwrap_or_default();
        let moves = |(layer, from): (usize, &f64)| {
            self.stills.iter().any(|still| still.get(layer).is_some_and(|to| (to - from).abs() > 1e-9))
        };
        first.iter().enumerate().map(moves).collect()
    }

    /// Where the layers stand at a still.
    fn places(&self, design: &Design, turned: &[f64]) -> Vec<Place> {
        turned.iter().enumerate().map(|(layer, by)| self.held.place(design, *by, layer)).collect()
    }

    /// Where the layers stand at every picture, with how long it stays; so many pictures between two stops.
    pub(super) fn moments(&self, design: &Design, between: u8) -> Vec<(Vec<Place>, u16)> {
        let mut all = Vec::new();
        for (from, to) in self.stills.iter().zip(self.stills.iter().skip(1)) {
            for step in 0..=between {
                let t = f64::from(step) / f64::from(between + 1);
                // Eased to the second derivative at both ends.
                let eased = t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
                let turned: Vec<f64> = from.iter().zip(to).map(|(from, to)| from + (to - from) * eased).collect();
                all.push((self.places(design, &turned), if step == 0 { STAY } else { PASS }));
            }
        }
        all
    }
}

/// All pictures of a dial that turns, with their width and height.
pub(super) fn frames(
    design: &Design,
    wanted: &Turning,
    between: u8,
    threads: NonZeroUsize,
) -> (Vec<Frame>, usize, usize) {
    let way = Way::of(design, wanted.face);
    let moves = way.moves();
    let view = if wanted.face == Face::Back { View::Back } else { View::Front };
    let stage = Stage::of(design, view, wanted.size, threads);
    let moments = way.moments(design, between);
    let Some((first, _)) = moments.first() else { return (Vec::new(), 0, 0) };
    let camera = stage.camera(first, &moves, (wanted.size, ROOM));
    let picture = |places: &[Place], only: Option<&[bool]>| {
        stage.sight(places, camera).drawn(&Asked { threads, clear_ground: false, only })
    };
    let (whole, lowest) = picture(first, None);
    // What lies higher than all that moves looks the same at every moment; nothing below it throws a shadow on it. Nor does the
    // ground change where all that moves is round.
    let moving = || stage.slabs.iter().filter(|slab| moves.get(slab.layer) == Some(&true));
    let top = moving().map(|slab| slab.high).fold(0.0, f32::max);
    let steady = moving().all(Slab::is_round);
    let changes: Vec<bool> = lowest.iter().map(|low| *low <= top + 1e-3 && !(steady && *low == 0.0)).collect();
    let mut frames: Vec<Frame> = Vec::new();
    for (at, (places, stays)) in moments.iter().enumerate() {
        let rgb = if at == 0 { whole.rgb() } else { over(&whole, &picture(places, Some(&changes)).0, &changes) };
        frames.push(Frame { rgb, stays: *stays });
    }
    (frames, camera.wide, camera.high)
}

/// The first picture with what changes as it is in another.
fn over(first: &Pixels, now: &Pixels, changes: &[bool]) -> Vec<u8> {
    let pixels = first.rgba.chunks_exact(4).zip(now.rgba.chunks_exact(4)).zip(changes);
    pixels.flat_map(|((first, now), changes)| if *changes { now } else { first }.iter().take(3).copied()).collect()
}
