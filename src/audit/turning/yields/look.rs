//! What a reading asks of each place that it may be looked at in.

use std::collections::BTreeMap;
use std::sync::Arc;

use kurbo::{Affine, Point, Vec2};

use super::bound::{Bound, Pair, Straying, thinned};
use super::causes::Causes;
use super::rays::Rays;
use crate::audit::turning::ink::Ink;
use crate::audit::turning::scene::Scene;
use crate::audit::turning::slack::half_ways;
use crate::audit::turning::{CheckedReading, CheckedStop};
use crate::design::Design;
use crate::design::pose::Pose;
use crate::geometry::{FlattenedShape, TOUCH_MM, evenly};
use crate::parallel::in_halves;
use crate::units::Length;

/// Sides of the polygon that stands for a circle.
const SIDES: u32 = 16;

/// The joints between two layers.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Motion {
    /// Those that turn, by order in the stack among their kind, and those that are glued.
    pub turns: Vec<usize>,
    pub glued: Vec<usize>,
    /// 1 where the turns carry the first layer on, -1 where they carry the other.
    pub sign: f64,
}

/// How the pockets of one turn lie at a pose: what takes those of its lower and of its upper half to the frame of the ring, as
/// sine and cosine.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub turn: usize,
    pub lower: (f64, f64),
    pub upper: (f64, f64),
}

/// One reading at one combination of stops.
pub(super) struct Look {
    /// Which of the reading's different looks it is.
    pub case: usize,
    pub frames: Vec<Frame>,
    /// What takes the shift of each glued joint of the dial to the frame of the ring, as sine and cosine.
    pub glued: Vec<(f64, f64)>,
}

/// Bounds that are moved alike, by direction.
pub(super) struct MovedAlike {
    /// Whether all turns of the reading move them, or none.
    pub turns: bool,
    /// The glued joints that do.
    pub glued: Vec<usize>,
    pub rays: Rays,
}

/// What is asked where a reading looks the same.
pub(super) struct Case {
    pub bounds: Vec<Bound>,
    /// What moves them.
    pub motions: Vec<Motion>,
    /// The same by direction, where each is moved by all turns of the reading or by none.
    pub alike: Option<Vec<MovedAlike>>,
}

impl Case {
    /// Whether other labels stand near enough to come into view.
    pub(super) fn is_crowded(&self) -> bool {
        self.bounds.iter().any(|bound| bound.wider < 0.0)
    }
}

/// Everything that one reading asks.
pub(super) struct Looks {
    /// Each different look; none where it reads wrong as drawn.
    pub cases: Vec<Option<Case>>,
    /// One for each stop that was checked.
    pub all: Vec<Look>,
}

impl Looks {
    /// What a stop asks; none where it reads wrong as drawn.
    pub(super) fn case(&self, stop: usize) -> Option<&Case> {
        self.cases.get(self.all.get(stop)?.case)?.as_ref()
    }
}

/// Gathers it for a reading.
pub(super) fn looks(design: &Design, scene: &Scene, reading: &CheckedReading, causes: &Causes) -> Looks {
    let far = scene
        .layers_in_play()
        .into_iter()
        .chain([scene.ring_at])
        .fold((usize::MAX, 0), |far, layer| (far.0.min(layer), far.1.max(layer)));
    let glued = causes.glued_between(far.0, far.1);
    let widest = causes.straying(&reading.turns, &glued);
    let everything = Motion { turns: reading.turns.clone(), glued, sign: 1.0 };
    // Combinations that were found to look the same are worked out once.
    let mut known: BTreeMap<(usize, [u64; 3]), usize> = BTreeMap::new();
    let mut differing: Vec<(&CheckedStop, Pose)> = Vec::new();
    let all = reading.stops.iter().map(|stop| {
        let pose = Pose::of_turns(design, &reading.turns, &stop.stops);
        let frame = |turn: &usize| {
            let below = causes.turns.get(*turn)?.below;
            let of = |layer: usize| pose.between(scene.ring_at, layer).to_radians().sin_cos();
            Some(Frame { turn: *turn, lower: of(below), upper: of(below + 1) })
        };
        let frames = reading.turns.iter().filter_map(frame).collect();
        let glued = causes.glued.iter().map(|glue| pose.between(scene.ring_at, glue.below).to_radians().sin_cos());
        let glued = glued.collect();
        let case = *known.entry(stop.look()).or_insert_with(|| {
            differing.push((stop, pose));
            differing.len() - 1
        });
        Look { case, frames, glued }
    });
    let all = all.collect();
    let cases = in_halves(&differing, |(stop, pose)| {
        let gathering =
            Gathering { scene, causes, motions: Vec::new(), straying: Vec::new(), everything: &everything, widest };
        (stop.shown == Some(stop.due)).then(|| gathering.case(stop, pose))
    });
    Looks { cases, all }
}

struct Gathering<'a> {
    scene: &'a Scene,
    causes: &'a Causes,
    motions: Vec<Motion>,
    /// How far each of them strays.
    straying: Vec<Straying>,
    /// All joints that the reading hangs on, and how far they stray together.
    everything: &'a Motion,
    widest: Straying,
}

impl Gathering<'_> {
    /// The motion of a layer against another, by place.
    fn motion(&mut self, from: usize, to: usize) -> usize {
        let between = from.min(to)..from.max(to);
        let turns = self.scene.turns.iter().filter(|(_, below)| between.contains(below)).map(|(at, _)| *at);
        let glued = self.causes.glued_between(from, to);
        self.known(Motion { turns: turns.collect(), glued, sign: if from < to { -1.0 } else { 1.0 } })
    }

    fn known(&mut self, motion: Motion) -> usize {
        self.motions.iter().position(|known| *known == motion).unwrap_or_else(|| {
            self.straying.push(self.causes.straying(&motion.turns, &motion.glued));
            self.motions.push(motion);
            self.motions.len() - 1
        })
    }

    fn straying(&self, motion: usize) -> Straying {
        self.straying.get(motion).copied().unwrap_or_default()
    }

    fn case(mut self, stop: &CheckedStop, pose: &Pose) -> Case {
        let mut bounds = Vec::new();
        self.covered(stop, pose, &mut bounds);
        self.intruded(stop, pose, &mut bounds);
        self.aside(&mut bounds);
        self.pointed(stop, pose, &mut bounds);
        let alike = self.moved_alike(&bounds);
        let bounds = if alike.is_some() { bounds } else { thinned(bounds, |motion| self.straying(motion)) };
        Case { bounds, motions: self.motions, alike }
    }

    /// Bounds by direction, sorted by what moves them; none where some turns move one of them and some do not.
    fn moved_alike(&self, bounds: &[Bound]) -> Option<Vec<MovedAlike>> {
        type Signed = Vec<(Bound, f64)>;
        let mut sorted: Vec<(&Motion, Straying, Signed)> = Vec::new();
        for bound in bounds {
            let motion = self.motions.get(bound.motion)?;
            if !motion.turns.is_empty() && motion.turns != self.everything.turns {
                return None;
            }
            let same = |other: &Motion| other.turns == motion.turns && other.glued == motion.glued;
            match sorted.iter_mut().find(|(other, ..)| same(other)) {
                Some((.., all)) => all.push((*bound, motion.sign)),
                None => sorted.push((motion, self.straying(bound.motion), vec![(*bound, motion.sign)])),
            }
        }
        let alike = sorted.into_iter().map(|(motion, straying, bounds)| MovedAlike {
            turns: !motion.turns.is_empty(),
            glued: motion.glued.clone(),
            rays: Rays::of(&bounds, &straying),
        });
        Some(alike.collect())
    }

    /// No cover may meet the label.
    fn covered(&mut self, stop: &CheckedStop, pose: &Pose, bounds: &mut Vec<Bound>) {
        let (scene, ring_at) = (self.scene, self.scene.ring_at);
        let Some(ink) = scene.labels.get(stop.due) else { return };
        let overlap = stop.margin.as_mm() < -TOUCH_MM;
        let radius = ink.reach(Point::ZERO);
        for cover in scene.all_covers() {
            let motion = self.motion(ring_at, cover.layer);
            if stop.margin.as_mm() > self.straying(motion).reach(radius) {
                continue;
            }
            let pair = self.pair(
                (ink, ink.hull().to_vec()),
                &cover.flat,
                pose.map(cover.layer, ring_at),
                overlap,
                1.0,
                motion,
            );
            bounds.extend(pair.bounds().into_iter().map(|(bound, _)| Bound { motion, ..bound }));
        }
    }

    /// No other label may come into view.
    fn intruded(&mut self, stop: &CheckedStop, pose: &Pose, bounds: &mut Vec<Bound>) {
        let (scene, ring_at) = (self.scene, self.scene.ring_at);
        let reach = self.widest.reach(scene.view_reach);
        let Some(gap) = stop.foreign_gap.map(Length::as_mm).filter(|gap| *gap <= reach) else { return };
        let mut views: BTreeMap<usize, Arc<FlattenedShape>> = BTreeMap::new();
        let back = pose.map(scene.view_frame(), ring_at);
        // What lies beneath the ring is hidden by its layer.
        let seen = |ink: &&Ink| ink.is_other_label(stop.due) && !scene.over(ring_at, ink.layer);
        for ink in scene.inks.iter().filter(seen) {
            let view = views.entry(ink.layer).or_insert_with(|| scene.flat_view(ink.layer, pose));
            if ink.away(pose.map(ink.layer, scene.view_frame()), view) > reach {
                continue;
            }
            let motion = self.motion(ink.layer, scene.view_frame());
            let to_ring = pose.map(ink.layer, ring_at);
            let moved = ink.flat.moved(to_ring);
            let hull = ink.flat.hull().iter().map(|corner| to_ring * *corner).collect();
            let pair = self.pair((&moved, hull), view, back, gap < -TOUCH_MM, -1.0, motion);
            // Whichever layer's edge it is that it comes past.
            let turns = self.motions.get(motion).map_or(&[] as &[usize], |motion| &motion.turns);
            let straying = self.causes.straying(turns, &self.everything.glued);
            for (bound, at) in (Pair { straying, ..pair }).bounds() {
                let owner = owner(scene, pose, ink.layer, at).unwrap_or(scene.view_frame());
                bounds.push(Bound { motion: self.motion(ink.layer, owner), ..bound });
            }
        }
    }

    fn pair<'p>(
        &self,
        (ink, hull): (&'p FlattenedShape, Vec<Point>),
        body: &'p FlattenedShape,
        map: Affine,
        overlap: bool,
        wider: f64,
        motion: usize,
    ) -> Pair<'p> {
        let sign = self.motions.get(motion).map_or(1.0, |motion| motion.sign);
        Pair { ink, hull, body, map, wider, overlap, sign, straying: self.straying(motion) }
    }

    /// A cover in another band comes over the label where it is shifted that far, whichever way.
    fn aside(&mut self, bounds: &mut Vec<Bound>) {
        let Some(room) = self.scene.aside() else { return };
        let motion = self.known(self.everything.clone());
        bounds.extend(evenly(SIDES).map(|normal| Bound { normal, along: 0.0, bend: 0.0, room, wider: 1.0, motion }));
    }

    /// A pointer must stay nearer to the due label than to any other, by bearing.
    fn pointed(&mut self, stop: &CheckedStop, pose: &Pose, bounds: &mut Vec<Bound>) {
        let Some(pointer) = &self.scene.pointer else { return };
        let (back, on) = half_ways(self.scene, stop.due, pose);
        let above = pointer.layer > self.scene.ring_at;
        let (back, on) = if above { (back, on) } else { (on, back) };
        let motion = self.motion(pointer.layer, self.scene.ring_at);
        let sign = self.motions.get(motion).map_or(1.0, |motion| motion.sign);
        let reach = pointer.flat.reach(Point::ZERO);
        let bearing = self.scene.looks_at(pose).unwrap_or(0.0).to_radians();
        // Clockwise along the circle that the tip runs on.
        let clockwise = Vec2::new(bearing.cos(), -bearing.sin());
        let bound = |way: f64, most: f64| {
            let room = reach * most.to_radians();
            Bound { normal: clockwise * way, along: way * sign * reach, bend: 0.0, room, wider: 0.0, motion }
        };
        bounds.extend([bound(1.0, on), bound(-1.0, back)]);
    }
}

/// The layer whose edge bounds the view of another at a place, given in the ring's frame.
fn owner(scene: &Scene, pose: &Pose, seen: usize, at: Point) -> Option<usize> {
    let bounds = |layer: usize, flat: &FlattenedShape| flat.within(2.0 * TOUCH_MM, pose.map(scene.ring_at, layer) * at);
    let over = scene.covers.iter().filter(|cover| scene.over(cover.layer, seen));
    over.filter(|cover| bounds(cover.layer, &cover.flat)).map(|cover| cover.layer).next()
}
