//! The bounds of a reading, sorted by the direction that the dial is shifted in.
//!
//! Of the hundred bounds that corners and edges make, few are ever the nearest where the dial is shifted one way. So for each
//! of some directions those that are the nearest somewhere along it are found once, and every dial drawn looks at these alone.

use kurbo::Vec2;

use super::bound::{Bound, Straying};
use crate::work::spend_on;

/// Directions. A shift is taken for one in the nearest of them; shifts are as likely in any direction, so nothing leans one way.
const RAYS: usize = 32;
/// Each dial drawn is looked at turned by this many even parts of a circle, all of them as likely.
pub(super) const TURNED: usize = 8;

/// How far may be turned, in radians from the stop, by each way that a dial was turned.
pub(super) type Windows = [(f64, f64); TURNED];

/// The bounds of one look by direction, for turns that always stray together.
pub(super) struct Rays {
    /// No shift that is shorter, in mm, makes it fail, the width of the cut apart.
    pub(super) least: f64,
    rays: Vec<Vec<OnRay>>,
}

/// A bound where the dial is shifted one way.
#[derive(Clone, Copy)]
struct OnRay {
    /// Without its sign.
    bound: Bound,
    /// Whether it ends the turning on, not back.
    on: bool,
    /// How much room a shift takes, as a part of its length.
    taken: f64,
    /// It is never reached by shifts that are shorter, in mm.
    from: f64,
}

impl Rays {
    /// Sorts bounds, each with the sign of its motion.
    pub(super) fn of(bounds: &[(Bound, f64)], straying: &Straying) -> Self {
        spend_on(bounds.len() * RAYS, 15);
        let least = bounds.iter().map(|(bound, _)| bound.spare(straying)).fold(f64::INFINITY, f64::min);
        let likely: Vec<Likely> = bounds.iter().map(|(bound, sign)| Likely::of(bound, *sign, straying)).collect();
        // Those that hardly any turn takes to their edge may bound either way.
        let (steep, straight): (Vec<Likely>, Vec<Likely>) =
            likely.into_iter().partition(|likely| likely.is_steep(straying));
        let farthest = straying.farthest();
        // Apart for either way, and for those that a wider cut moves apart.
        let alike = [(true, true), (true, false), (false, true), (false, false)].map(|(on, cut_back)| {
            let alike = straight.iter().filter(|one| one.on == on && (one.bound.wider >= 0.0) == cut_back);
            by_left(alike.collect(), farthest)
        });
        let rays = (0..RAYS).map(|ray| {
            let way = Vec2::from_angle(std::f64::consts::TAU * ray as f64 / RAYS as f64);
            let mut found: Vec<OnRay> = steep.iter().filter_map(|one| one.met(one.falls(way), farthest)).collect();
            alike.iter().for_each(|alike| lowest(alike, way, farthest, &mut found));
            found.sort_by(|a, b| a.from.total_cmp(&b.from));
            found
        });
        Self { least, rays: rays.collect() }
    }

    /// How far may be turned where the dial is shifted so and its edges are cut back so, both in mm, and where it is turned.
    pub(super) fn allowed(&self, shift: Vec2, wider: f64) -> Windows {
        let far = shift.hypot();
        let mut windows = [(f64::NEG_INFINITY, f64::INFINITY); TURNED];
        for (ray, window) in self.from(shift).zip(&mut windows) {
            for on_ray in ray.iter().take_while(|on_ray| on_ray.from <= far) {
                let (from, to) = on_ray.allowed(far, wider);
                *window = (window.0.max(from), window.1.min(to));
            }
        }
        windows
    }

    /// The ray of a shift, and those that it has where the dial is turned.
    fn from(&self, shift: Vec2) -> impl Iterator<Item = &Vec<OnRay>> {
        let part = (shift.atan2() / std::f64::consts::TAU).rem_euclid(1.0) * RAYS as f64;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to RAYS")]
        let first = part.round() as usize;
        (0..TURNED).filter_map(move |turned| self.rays.get((first + turned * (RAYS / TURNED)) % RAYS))
    }
}

/// A bound with what is the same for every direction.
#[derive(Clone, Copy)]
struct Likely {
    /// Without its sign.
    bound: Bound,
    /// Whether it ends the turning on, not back.
    on: bool,
    /// How far may be turned where nothing is shifted, in radians along its tangent, and how much less for each mm of shift.
    left: f64,
    tilt: Vec2,
    /// What a shift may take of its room, in mm, wherever the stop is set and however wide the cut is.
    spare: f64,
}

/// What every direction asks of a bound first, side by side with that of the others.
struct Falling<'b> {
    left: f64,
    tilt: Vec2,
    bound: &'b Likely,
}

impl Likely {
    fn of(bound: &Bound, sign: f64, straying: &Straying) -> Self {
        let spare = bound.spare(straying) - straying.widest();
        let on = bound.along >= 0.0;
        let bound = Bound { along: bound.along.abs().max(1e-9), ..*bound };
        Self { bound, on, left: bound.room / bound.along, tilt: bound.normal * (sign / bound.along), spare }
    }

    /// Whether turning by what is likely bends its way as much as it goes.
    fn is_steep(&self, straying: &Straying) -> bool {
        self.bound.along <= 2.0 * self.bound.bend.abs() * straying.most()
    }

    /// How much less may be turned for each mm of a shift this way, in radians.
    fn falls(&self, way: Vec2) -> f64 {
        self.tilt.dot(way)
    }

    /// None where no shift that may come about meets it, wherever the stop is set.
    fn met(&self, falls: f64, farthest: f64) -> Option<OnRay> {
        let taken = falls * self.bound.along;
        let from = if self.spare <= 0.0 { 0.0 } else { self.spare / taken.max(0.0) };
        (from <= farthest).then_some(OnRay { bound: self.bound, on: self.on, taken, from })
    }
}

impl OnRay {
    fn allowed(&self, far: f64, wider: f64) -> (f64, f64) {
        let (back, near) = self.bound.within(self.bound.wider * wider + self.bound.room - self.taken * far);
        if self.on { (back, near) } else { (-near, -back) }
    }
}

/// Those of some bounds that may leave the least wherever the dial is shifted, by what they leave where it is not.
fn by_left(mut alike: Vec<&Likely>, farthest: f64) -> Vec<Falling<'_>> {
    // Whichever way it is shifted, one of them leaves no more than this.
    let most = alike.iter().map(|one| one.left + farthest / one.bound.along).fold(f64::INFINITY, f64::min);
    alike.retain(|one| one.left - farthest / one.bound.along <= most);
    let mut falling: Vec<Falling> =
        alike.into_iter().map(|bound| Falling { left: bound.left, tilt: bound.tilt, bound }).collect();
    falling.sort_by(|a, b| a.left.total_cmp(&b.left));
    falling
}

/// Finds those of some bounds, which come by what they leave to turn, that leave the least at some length of a shift up to
/// `farthest`, taken for straight: their lower envelope.
fn lowest(by_left: &[Falling], way: Vec2, farthest: f64, found: &mut Vec<OnRay>) {
    // Each with the length from which on it is the lowest, and how it falls.
    let mut lowest: Vec<(f64, f64, OnRay, f64)> = Vec::new();
    let mut steepest = f64::NEG_INFINITY;
    for Falling { left, tilt, bound } in by_left {
        // What leaves more where nothing is shifted is the lowest nowhere, unless it falls faster than all before it.
        let falls = tilt.dot(way);
        if falls <= steepest {
            continue;
        }
        let Some(on_ray) = bound.met(falls, farthest) else { continue };
        steepest = falls;
        let mut from = 0.0;
        while let Some((since, last_falls, _, last)) = lowest.last() {
            from = (left - last) / (falls - last_falls);
            if left > last && from > *since {
                break;
            }
            (from, _) = (0.0, lowest.pop());
        }
        lowest.push((from, falls, on_ray, *left));
    }
    found.extend(lowest.into_iter().filter(|(from, ..)| *from <= farthest).map(|(_, _, on_ray, _)| on_ray));
}
