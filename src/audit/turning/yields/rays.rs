//! The bounds of a reading, sorted by the direction that the dial is shifted in.
//!
//! Of the hundred bounds that corners and edges make, few are ever the nearest where the dial is shifted one way. So for each
//! of some directions those that are the nearest somewhere along it are found once, and every dial drawn looks at these alone.

use kurbo::Vec2;

use super::bound::{Bound, Straying};

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
        let spares: Vec<f64> = bounds.iter().map(|(bound, _)| bound.spare(straying)).collect();
        let rays = (0..RAYS).map(|ray| {
            let way = Vec2::from_angle(std::f64::consts::TAU * ray as f64 / RAYS as f64);
            let met = bounds
                .iter()
                .zip(&spares)
                .filter_map(|((bound, sign), spare)| OnRay::met(bound, bound.normal.dot(way) * sign, *spare, straying));
            nearest(met.collect(), straying)
        });
        Self { least: spares.iter().copied().fold(f64::INFINITY, f64::min), rays: rays.collect() }
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

impl OnRay {
    /// None where no shift that may come about meets it, wherever the stop is set.
    fn met(bound: &Bound, taken: f64, spare: f64, straying: &Straying) -> Option<Self> {
        let spare = spare - straying.widest();
        let from = if spare <= 0.0 { 0.0 } else { spare / taken.max(0.0) };
        let on = bound.along >= 0.0;
        let bound = Bound { along: bound.along.abs().max(1e-9), ..*bound };
        (from <= straying.farthest()).then_some(Self { bound, on, taken, from })
    }

    /// How far may be turned where nothing is shifted, in radians, and how much less for each mm, both along its tangent.
    fn left(&self) -> f64 {
        self.bound.room / self.bound.along
    }

    fn falls(&self) -> f64 {
        self.taken / self.bound.along
    }

    /// Whether turning by what is likely bends its way as much as it goes.
    fn is_steep(&self, straying: &Straying) -> bool {
        self.bound.along <= 2.0 * self.bound.bend.abs() * straying.most()
    }

    fn allowed(&self, far: f64, wider: f64) -> (f64, f64) {
        let (back, near) = self.bound.within(self.bound.wider * wider + self.bound.room - self.taken * far);
        if self.on { (back, near) } else { (-near, -back) }
    }
}

/// Those that are the nearest at some length up to `farthest`, the first to be met first.
fn nearest(met: Vec<OnRay>, straying: &Straying) -> Vec<OnRay> {
    // Those that hardly any turn takes to their edge may bound either way.
    let (mut found, met): (Vec<OnRay>, Vec<OnRay>) = met.into_iter().partition(|on_ray| on_ray.is_steep(straying));
    // Apart for either way, and for those that a wider cut moves apart.
    for (on, cut_back) in [(true, true), (true, false), (false, true), (false, false)] {
        let alike = met.iter().filter(|on_ray| on_ray.on == on && (on_ray.bound.wider >= 0.0) == cut_back);
        found.extend(lowest(alike.copied().collect(), straying.farthest()));
    }
    found.sort_by(|a, b| a.from.total_cmp(&b.from));
    found
}

/// The lower envelope of what each leaves to turn, taken for straight: those that lie on it at some length up to `farthest`.
fn lowest(mut alike: Vec<OnRay>, farthest: f64) -> impl Iterator<Item = OnRay> {
    alike.sort_by(|a, b| a.falls().total_cmp(&b.falls()));
    // Each with the length from which on it is the lowest.
    let mut lowest: Vec<(f64, OnRay)> = Vec::new();
    for on_ray in alike {
        let mut from = 0.0;
        while let Some((since, last)) = lowest.last() {
            from = (on_ray.left() - last.left()) / (on_ray.falls() - last.falls());
            if on_ray.left() > last.left() && from > *since {
                break;
            }
            (from, _) = (0.0, lowest.pop());
        }
        lowest.push((from, on_ray));
    }
    lowest.into_iter().filter(move |(from, _)| *from <= farthest).map(|(_, on_ray)| on_ray)
}
