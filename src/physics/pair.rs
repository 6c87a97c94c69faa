//! Two disc magnets with parallel axes that stand beside each other: energy, pull and sideways force.
//!
//! The poles of a uniformly magnetised disc are discs of uniform magnetic charge, so the energy is a sum of Coulomb's over
//! pairs of poles, `U = -(J1 J2/4 pi mu0) sum of ± int int dA1 dA2 / r` (Jackson, "Classical Electrodynamics", 5.9). Two points that stand
//! `s` apart across the axis occur as often as one disc and the other shifted by `s` have area in common, which leaves an
//! integral over the length of `s` alone; the forces are its derivatives, taken inside.

use super::magnet::Facing;
use super::numeric::{elliptic, over_piece};
use super::{Energy, OutOfRange, distance};
use crate::memory::{MANY, recalled};
use crate::units::{Force, Length};
use std::f64::consts::PI;

/// A gap below this share of the smaller radius is taken as this: in contact the inner integral has a pole.
const LEAST_GAP: f64 = 1e-5;
/// The offset that stands for none where a quotient by it is wanted, as a share of the smaller radius.
const LEAST_OFFSET: f64 = 1e-3;

/// What two magnets do to each other whose axes stand some way apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beside {
    /// Energy, zero when the magnets are far apart; negative where they are drawn together.
    pub energy: Energy,
    /// Pull along the axes; negative where they push each other off.
    pub pull: Force,
    /// Sideways force that draws the axes together; negative where it drives them apart.
    pub draw_back: Force,
}

/// The same in SI, with the energy's change with the square of the offset, J/m².
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Terms {
    pub energy: f64,
    pub pull: f64,
    pub by_square: f64,
}

/// A pair and how far one of it is shifted, in m.
#[derive(PartialEq)]
struct Shifted(Facing, f64);

impl Facing {
    /// Energy and forces with the axes `offset` apart. The tests show 0.01 %; in contact 0.05 %.
    ///
    /// # Errors
    /// An offset that is negative or above 10 m.
    pub fn beside(&self, offset: Length) -> Result<Beside, OutOfRange> {
        let offset = distance("offset of the magnets", offset)?;
        if self.is_on_steel() {
            // What shifting does to a washer is not known: it is taken to cost nothing.
            return Ok(Beside { energy: Energy::joules(0.0), pull: self.pull(), draw_back: Force::ZERO });
        }
        let terms = self.terms(offset);
        Ok(Beside {
            energy: Energy::joules(terms.energy),
            pull: Force::newtons(terms.pull),
            draw_back: Force::newtons(2.0 * offset * terms.by_square),
        })
    }

    pub(super) fn terms(&self, offset: f64) -> Terms {
        // The change with the square of the offset is a quotient of two numbers that both vanish on the axis. A
        // thousandth of a radius off it, they still divide well, and the energy has hardly bent.
        let least = LEAST_OFFSET * self.lower.radius.min(self.upper.radius);
        if offset >= least {
            return self.all_poles(offset);
        }
        Terms { by_square: self.all_poles(least).by_square, ..self.all_poles(offset) }
    }

    /// The terms summed over the four pairs of poles; the offset is above zero where `by_square` is to count.
    fn all_poles(&self, offset: f64) -> Terms {
        recalled(MANY, || Shifted(*self, offset), || self.poles(offset))
    }

    fn poles(&self, offset: f64) -> Terms {
        let (one, other) = (self.gap + self.lower.height, self.gap + self.upper.height);
        let crosswise = self.pole_pair(one, offset);
        let poles = [
            (1.0, self.pole_pair(self.gap, offset)),
            (-1.0, crosswise),
            // Of two like magnets, both poles of one stand alike to the far pole of the other.
            (-1.0, if one.to_bits() == other.to_bits() { crosswise } else { self.pole_pair(other, offset) }),
            (1.0, self.pole_pair(self.gap + self.lower.height + self.upper.height, offset)),
        ];
        let scale = -self.charge_product();
        poles.iter().fold(Terms::default(), |sum, (sign, term)| Terms {
            energy: sum.energy + sign * scale * term.energy,
            pull: sum.pull + sign * scale * term.pull,
            by_square: sum.by_square + sign * scale * term.by_square,
        })
    }

    /// What two discs of charge, one of each magnet and `z` apart, do to each other: with `s` the distance of two points of
    /// them across the axis and `A(s)` how much of one disc lies on the other shifted by that,
    /// `int s A(s) int dt/sqrt(s² + d² - 2 s d cos t + z²) ds` and its changes with `z` and with `d²`; the inner integral
    /// is `4 K(m)/sqrt((s+d)² + z²)`, `1 - m = ((s-d)² + z²)/((s+d)² + z²)` (DLMF 19.2).
    fn pole_pair(&self, z: f64, offset: f64) -> Terms {
        let (r1, r2) = (self.lower.radius, self.upper.radius);
        let z = z.max(LEAST_GAP * r1.min(r2));
        let mut ends = [0.0, (r1 - r2).abs(), offset.min(r1 + r2), r1 + r2];
        ends.sort_by(f64::total_cmp);
        let pieces = ends.iter().zip(ends.iter().skip(1)).filter(|(from, to)| to > from);
        let mut sum = Terms::default();
        for (from, to) in pieces {
            // The inner integral peaks where s is d, as wide as z: `s = d + z sinh u` makes it smooth.
            let u = |s: f64| ((s - offset) / z).asinh();
            over_piece(u(*from), u(*to), |u, weight| {
                let (up, width) = (z * u.sinh(), z * u.cosh());
                let s = (offset + up).max(0.0);
                let far = (s + offset).hypot(z);
                let (k, e) = elliptic(width / far);
                let (first, second) = (4.0 * k / far, 4.0 * e / (width * width * far));
                let share = weight * width * s * common(r1, r2, s);
                sum.energy += share * first;
                sum.pull -= share * z * second;
                sum.by_square -= share * ((offset * offset - s * s - z * z) * second + first);
            });
        }
        let scale = 1.0 / (4.0 * PI * PI * r1 * r2);
        let by_square = sum.by_square * scale / (4.0 * (offset * offset).max(f64::MIN_POSITIVE));
        Terms { energy: sum.energy * scale, pull: sum.pull * scale, by_square }
    }
}

/// Area that two discs have in common whose middles stand `s` apart.
fn common(r1: f64, r2: f64, s: f64) -> f64 {
    let narrow = r1.min(r2);
    if s <= (r1 - r2).abs() {
        return PI * narrow * narrow;
    }
    let part = |one: f64, other: f64| {
        one * one * ((s * s + one * one - other * other) / (2.0 * s * one)).clamp(-1.0, 1.0).acos()
    };
    let kite = (r1 + r2 - s) * (s + r1 - r2) * (s - r1 + r2) * (s + r1 + r2);
    part(r1, r2) + part(r2, r1) - 0.5 * kite.max(0.0).sqrt()
}
