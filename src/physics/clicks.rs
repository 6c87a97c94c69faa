//! Click stops: two rings of magnets that face each other across a turn.
//!
//! Energy and torque are sums over all pairs of one lower and one upper magnet; magnets of one ring do not move
//! against each other and add nothing that turns. The turning angle is the bearing on the lower layer that lies under
//! the upper layer's 0deg, as for stops. Wood, card and acrylic are as good as air to a magnet.

use super::magnet::Facing;
use super::numeric::{bisect, maximize};
use super::profile::Profile;
use super::{Energy, OutOfRange, in_range, size};
use crate::units::{Angle, Dimension, Force, Length, Torque};
use std::f64::consts::TAU;

/// Magnets in one ring that are accepted.
const SEATS: std::ops::RangeInclusive<f64> = 1.0..=128.0;
/// A rest that holds less than this share of what one pair can is below what the table can tell.
const FLAT: f64 = 1e-3;
/// Pairs that stand so nearly alike are counted together, radians.
const ALIKE: f64 = 1e-12;
/// How finely rests are found, radians.
pub(super) const WITHIN: f64 = 1e-9;

/// Which way a magnet's north pole looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Polarity {
    /// Towards the player.
    Up,
    /// Away.
    Down,
}

impl Polarity {
    fn sign(self) -> f64 {
        match self {
            Self::Up => 1.0,
            Self::Down => -1.0,
        }
    }
}

/// A ring of magnets in one layer.
#[derive(Clone, Debug, PartialEq)]
pub struct ClickRing {
    /// How far the magnets stand from the turning axis.
    pub radius: Length,
    /// Each magnet's bearing on its layer, and which way it looks.
    pub seats: Vec<(Angle, Polarity)>,
}

/// Two rings, ready to be turned.
#[derive(Clone, Debug)]
pub struct Clicks {
    profile: Profile,
    /// Radii of the lower ring and of the upper one, m.
    radii: (f64, f64),
    /// Bearing in radians and sign.
    lower: Vec<(f64, f64)>,
    upper: Vec<(f64, f64)>,
    /// How far an upper magnet stands on from a lower one, in radians, and how many more pairs that stand so are of like
    /// polarity than are of unlike.
    pairs: Vec<(f64, f64)>,
    /// Samples in a turn that no rest slips through.
    pub(super) samples: u32,
}

/// One point of the turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turned {
    /// How far it is turned.
    pub at: Angle,
    /// Energy of all pairs.
    pub energy: Energy,
    /// Torque on the upper ring, towards greater angles.
    pub torque: Torque,
    /// Pull of all pairs along the axis; negative where they push the layers apart.
    pub pull: Force,
}

/// An angle to which the rings return by themselves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Energy, torque (nothing) and pull there.
    pub point: Turned,
    /// Largest torque that must be overcome to leave it towards greater angles.
    pub leave_onward: Torque,
    /// Largest torque that must be overcome to leave it towards smaller angles.
    pub leave_back: Torque,
}

impl Rest {
    /// The torque that it holds against both ways.
    pub fn holds(&self) -> Torque {
        if self.leave_back < self.leave_onward { self.leave_back } else { self.leave_onward }
    }
}

/// What the rings do at the stops that are wanted, and elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Every wanted stop, and the rest that serves it.
    pub stops: Vec<(Angle, Option<Rest>)>,
    /// Rests where no stop is wanted.
    pub false_stops: Vec<Rest>,
    /// What the weakest wanted stop holds; nothing where one has no rest.
    pub weakest: Torque,
}

impl Verdict {
    /// Wanted stops that have no rest.
    pub fn missing(&self) -> impl Iterator<Item = Angle> {
        self.stops.iter().filter(|(_, rest)| rest.is_none()).map(|(wanted, _)| *wanted)
    }

    /// Every stop clicks and nothing else does.
    pub fn is_clean(&self) -> bool {
        self.false_stops.is_empty() && self.missing().next().is_none()
    }
}

impl Clicks {
    /// Two rings of like magnets; `pair` tells a lower and an upper magnet and the gap between them. Like polarities
    /// attract.
    ///
    /// # Errors
    /// A ring without magnets or with more than 128, or a radius outside 0.001 mm to 1 m.
    pub fn new(pair: &Facing, lower: &ClickRing, upper: &ClickRing) -> Result<Self, OutOfRange> {
        let seats = |ring: &ClickRing| {
            #[allow(clippy::cast_precision_loss, reason = "a count of magnets")]
            let count = ring.seats.len() as f64;
            in_range("magnets in a ring of clicks", count, &SEATS, Dimension::NUMBER)?;
            Ok(ring.seats.iter().map(|(bearing, polarity)| (bearing.as_radians(), polarity.sign())).collect())
        };
        let r1 = size("radius of a ring of clicks", lower.radius)?;
        let r2 = size("radius of a ring of clicks", upper.radius)?;
        let least = pair.lower.radius.min(pair.upper.radius);
        // Torque changes over lengths of a magnet's radius: four samples on each let no rest slip through.
        let wanted = 8.0 * std::f64::consts::PI * r1.max(r2) / least;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
        let samples = wanted.clamp(720.0, 7200.0).ceil() as u32;
        let (lower, upper): (Vec<_>, Vec<_>) = (seats(lower)?, seats(upper)?);
        Ok(Self {
            profile: Profile::new(pair, r1 + r2),
            radii: (r1, r2),
            pairs: pairs(&lower, &upper),
            lower,
            upper,
            samples,
        })
    }

    /// The same seats with other polarities, taken in order; a seat without one keeps its own.
    #[must_use]
    pub fn with_polarities(&self, lower: &[Polarity], upper: &[Polarity]) -> Self {
        let mut changed = self.clone();
        for (seats, polarities) in [(&mut changed.lower, lower), (&mut changed.upper, upper)] {
            for (seat, polarity) in seats.iter_mut().zip(polarities) {
                seat.1 = polarity.sign();
            }
        }
        changed.pairs = pairs(&changed.lower, &changed.upper);
        changed
    }

    /// Energy, torque and pull at one angle.
    pub fn at(&self, angle: Angle) -> Turned {
        let (energy, torque, pull) = self.sums(angle.as_radians());
        Turned {
            at: angle,
            energy: Energy::joules(energy),
            torque: Torque::millinewton_metres(1e3 * torque),
            pull: Force::newtons(pull),
        }
    }

    /// A whole turn in even steps, from 0deg; the last point stands one step before the first again.
    pub fn curve(&self, steps: u16) -> Vec<Turned> {
        (0..steps).map(|step| self.at(Angle::degrees(360.0 * f64::from(step) / f64::from(steps)))).collect()
    }

    /// The largest torque in a turn, either way, and where.
    pub fn peak(&self) -> Turned {
        let step = TAU / f64::from(self.samples);
        let strength = |angle: f64| self.torque(angle).abs();
        let samples = (0..self.samples).map(|index| (f64::from(index), strength(f64::from(index) * step)));
        let best = samples.fold((0.0, -1.0), |best, next| if next.1 > best.1 { next } else { best });
        self.at(Angle::radians(maximize(strength, (best.0 - 1.0) * step, (best.0 + 1.0) * step).0))
    }

    /// The least pull in a turn, over even samples; negative where the rings push the layers apart.
    pub fn least_pull(&self) -> Force {
        let step = TAU / f64::from(self.samples);
        let pulls = (0..self.samples).map(|index| self.sums(f64::from(index) * step).2);
        Force::newtons(pulls.fold(f64::INFINITY, f64::min))
    }

    /// All angles, from 0deg on, to which the rings return by themselves: the torque falls through nothing there.
    /// Ripples below a thousandth of what one pair can hold are left out.
    pub fn rests(&self) -> Vec<Rest> {
        let step = TAU / f64::from(self.samples);
        let torques: Vec<f64> = (0..self.samples).map(|index| self.torque(f64::from(index) * step)).collect();
        let next = torques.iter().cycle().skip(1);
        let falls = torques.iter().zip(next).zip(0_u32..).filter(|((here, next), _)| **here > 0.0 && **next <= 0.0);
        let flat = Torque::millinewton_metres(1e3 * FLAT * self.one_pair());
        let mut rests: Vec<Rest> =
            falls.map(|(_, index)| self.rest(&torques, index, step)).filter(|rest| rest.holds() > flat).collect();
        rests.sort_by(|one, other| one.point.at.as_degrees().total_cmp(&other.point.at.as_degrees()));
        rests
    }

    /// Compares the rests with the stops that are wanted. Only rests that are `felt` count: like magnets leave shallow dips
    /// where they stand side by side. A wanted stop is served by the nearest rest `within` this angle; rests that serve
    /// none are false.
    pub fn judge(&self, wanted: &[Angle], within: Angle, felt: impl Fn(&Rest) -> bool) -> Verdict {
        let mut rests = self.rests();
        // A dip that friction hides is not felt by the hand, so it neither serves a stop nor counts as a false one.
        rests.retain(felt);
        let far = |one: Angle, other: Angle| {
            let turn = (one.as_degrees() - other.as_degrees()).rem_euclid(360.0);
            turn.min(360.0 - turn)
        };
        let nearest = |stop: Angle| {
            let close = rests.iter().filter(|rest| far(rest.point.at, stop) <= within.as_degrees());
            close.min_by(|one, other| far(one.point.at, stop).total_cmp(&far(other.point.at, stop))).copied()
        };
        let stops: Vec<(Angle, Option<Rest>)> = wanted.iter().map(|stop| (*stop, nearest(*stop))).collect();
        let serves = |rest: &Rest| stops.iter().any(|(_, serving)| serving.as_ref() == Some(rest));
        let false_stops = rests.iter().filter(|rest| !serves(rest)).copied().collect();
        let held = stops.iter().map(|(_, rest)| rest.map_or(Torque::ZERO, |rest| rest.holds()));
        let weakest = held.reduce(|one, other| if other < one { other } else { one }).unwrap_or_default();
        Verdict { stops, false_stops, weakest }
    }

    fn rest(&self, torques: &[f64], index: u32, step: f64) -> Rest {
        let start = f64::from(index) * step;
        let at = bisect(|angle| self.torque(angle), start, start + step, WITHIN);
        let len = torques.len();
        let first = usize::try_from(index).unwrap_or_default();
        let onward = torques.iter().cycle().skip(first + 1).take(len).zip(1_u32..);
        let back = torques.iter().rev().cycle().skip(len - 1 - first).take(len).zip(0_u32..);
        let leave_onward = onward.take_while(|(torque, _)| **torque <= 0.0).map(|(torque, steps)| (-torque, steps));
        let leave_back = back.take_while(|(torque, _)| **torque > 0.0).map(|(torque, steps)| (*torque, steps));
        let top = |samples: &mut dyn Iterator<Item = (f64, u32)>, way: f64| {
            let best = samples.fold((0.0, 0), |best, next| if next.0 > best.0 { next } else { best });
            let middle = start + way * f64::from(best.1) * step;
            let refined = maximize(|angle| -way * self.torque(angle), middle - step, middle + step).1;
            Torque::millinewton_metres(1e3 * refined.max(best.0))
        };
        Rest {
            leave_onward: top(&mut { leave_onward }, 1.0),
            leave_back: top(&mut { leave_back }, -1.0),
            point: self.at(Angle::radians(at.rem_euclid(TAU))),
        }
    }

    /// What the rings do with the upper one shifted off the axis by so much, at one angle: their pull, and the force that
    /// draws it back. The mean of two ways to shift it that stand square to each other.
    pub fn shifted(&self, angle: Angle, offset: Length) -> (Force, Force) {
        let (r1, r2) = self.radii;
        let off = super::metres(offset.as_mm());
        let seats = self.upper.iter().flat_map(|upper| self.lower.iter().map(move |lower| (upper, lower)));
        let sums = seats.fold((0.0, 0.0), |(pull, back), (upper, lower)| {
            let ((up, along), (low, beside)) = ((angle.as_radians() + upper.0).sin_cos(), lower.0.sin_cos());
            [r2 * up - r1 * low, r2 * along - r1 * beside].iter().fold((pull, back), |(pull, back), way| {
                let apart = (r2 * up - r1 * low).powi(2) + (r2 * along - r1 * beside).powi(2);
                let terms = self.profile.at(apart + off * (off + 2.0 * way));
                let sign = 0.5 * upper.1 * lower.1;
                (pull + sign * terms.pull, back + sign * 2.0 * terms.by_square * (way + off))
            })
        });
        (Force::newtons(sums.0), Force::newtons(sums.1))
    }

    fn torque(&self, angle: f64) -> f64 {
        self.sums(angle).1
    }

    /// Largest torque of one pair, newton metres, over even samples of a turn.
    fn one_pair(&self) -> f64 {
        let step = TAU / f64::from(self.samples);
        let torques = (0..self.samples).map(|index| self.pair(f64::from(index) * step).1.abs());
        torques.fold(0.0, f64::max)
    }

    /// Energy (J), torque (N m) and pull (N) of all pairs.
    pub(super) fn sums(&self, angle: f64) -> (f64, f64, f64) {
        self.pairs.iter().fold((0.0, 0.0, 0.0), |sum, (on, count)| {
            let (energy, torque, pull) = self.pair(angle + on);
            (sum.0 + count * energy, sum.1 + count * torque, sum.2 + count * pull)
        })
    }

    /// The same for one pair of like polarity at this angle from each other: their axes stand
    /// `q = r1² + r2² - 2 r1 r2 cos` apart, squared, and the torque is `-dU/dq dq/dangle`.
    fn pair(&self, angle: f64) -> (f64, f64, f64) {
        let (sine, cosine) = angle.sin_cos();
        let (r1, r2) = self.radii;
        let product = 2.0 * r1 * r2;
        let terms = self.profile.at(r1 * r1 + r2 * r2 - product * cosine);
        (terms.energy, -terms.by_square * product * sine, terms.pull)
    }
}

/// All pairs of an upper and a lower magnet, those that stand alike together: rings that are even have few ways to stand. What
/// cancels out is left out.
fn pairs(lower: &[(f64, f64)], upper: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let all = upper.iter().flat_map(|upper| lower.iter().map(move |lower| (upper, lower)));
    let mut all: Vec<(f64, f64)> = all
        .map(|(upper, lower)| {
            let on = (upper.0 - lower.0).rem_euclid(TAU);
            (if TAU - on < ALIKE { 0.0 } else { on }, upper.1 * lower.1)
        })
        .collect();
    all.sort_by(|one, other| one.0.total_cmp(&other.0));
    let alike = all.chunk_by(|one, other| other.0 - one.0 < ALIKE);
    let summed = alike.map(|run| (run.first().map_or(0.0, |it| it.0), run.iter().map(|it| it.1).sum()));
    summed.filter(|(_, count)| *count != 0.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bearings evenly round from `start`, in radians, with these signs in turn.
    fn evenly(count: u32, start: f64, signs: [f64; 2]) -> Vec<(f64, f64)> {
        let on = |seat: u32| (start + TAU * f64::from(seat) / f64::from(count)).rem_euclid(TAU);
        (0..count).zip(signs.into_iter().cycle()).map(|(seat, sign)| (on(seat), sign)).collect()
    }

    /// By counting: of two even rings of n, each way in which two magnets can stand comes n times. In rings of
    /// alternate poles all of those are alike or all unlike; against a ring all alike, as many are the one as the
    /// other.
    #[test]
    fn pairs_that_stand_alike_are_counted_together() {
        const ALL_UP: [f64; 2] = [1.0, 1.0];
        const UP_AND_DOWN: [f64; 2] = [1.0, -1.0];
        for (count, start) in [(1, 0.0), (2, 0.3), (6, 0.0), (8, 0.1), (12, 5.9), (128, 1.7)] {
            let ring = |signs: [f64; 2]| evenly(count, start, signs);
            let found = pairs(&ring(ALL_UP), &ring(ALL_UP));
            let alternate = if count > 1 { pairs(&ring(UP_AND_DOWN), &ring(UP_AND_DOWN)) } else { found.clone() };
            assert_eq!((found.len(), alternate.len()), (count as usize, count as usize));
            for (way, (found, alternate)) in (0..count).zip(found.iter().zip(&alternate)) {
                let on = TAU * f64::from(way) / f64::from(count);
                let sign = if way % 2 == 0 { 1.0 } else { -1.0 };
                assert!((found.0 - on).abs() < 1e-9 && (alternate.0 - on).abs() < 1e-9, "{count} {way}: {found:?}");
                assert_eq!((found.1, alternate.1), (f64::from(count), sign * f64::from(count)), "{count} {way}");
            }
            assert!(count == 1 || pairs(&ring(UP_AND_DOWN), &ring(ALL_UP)).is_empty(), "{count}");
        }
        let apart = [(0.2, 1.0), (0.2 + 1e-9, 1.0), (3.0, -1.0)];
        assert_eq!(pairs(&apart, &[(0.0, 1.0)]).len(), 3, "a hair apart is not alike");
    }
}
