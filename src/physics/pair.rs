//! Two disc magnets with parallel axes that stand beside each other: energy, pull and sideways force.
//!
//! Two uniformly magnetised cylinders act on each other as the sheets of current round their rims do, so Neumann's
//! formula for two loops (Jackson, "Classical Electrodynamics", 5.17), summed over both heights, gives the energy:
//! `U = -(J1 J2 pi r1 r2/mu0) sum of ± mean over both rims of cos t h(R, z)`, `h = z ln(z + s) - s`,
//! `s² = R² + z²`, R the distance of two rim points seen along the axis. `dh/dz = ln(z + s)` and
//! `dh/d(R²) = -1/(2 (z + s))` give the forces without any difference of energies. Averaging over whole turns makes
//! the midpoint rule converge faster than any power of the number of points (Trefethen and Weideman, "The
//! exponentially convergent trapezoidal rule", SIAM Review 56, 2014).

use super::magnet::Facing;
use super::{Energy, OutOfRange, distance};
use crate::units::{Force, Length};
use std::f64::consts::PI;

/// Fewest and most points on half a turn of either average.
const POINTS: (f64, f64) = (24.0, 160.0);
/// Points on half a turn when the rims are one radius apart.
const POINTS_AT_ONE_RADIUS: f64 = 10.0;
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

impl Facing {
    /// Energy and forces with the axes `offset` apart. The tests show 0.01 % where the gap is a tenth of the radius
    /// or more; some 0.2 % in contact, where the rims cross.
    ///
    /// # Errors
    /// An offset that is negative or above 10 m.
    pub fn beside(&self, offset: Length) -> Result<Beside, OutOfRange> {
        let offset = distance("offset of the magnets", offset)?;
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

    /// The averages summed over the four pairs of poles; the offset is above zero where `by_square` is to count.
    fn all_poles(&self, offset: f64) -> Terms {
        let (one, other) = (self.gap + self.lower.height, self.gap + self.upper.height);
        // Each pole pair is a double sum over hundreds of points or thousands, and the magnets of a ring are alike:
        // three sums serve.
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

    /// The averages for one pole of each magnet, `z` apart.
    fn pole_pair(&self, z: f64, offset: f64) -> Terms {
        let (r1, r2) = (self.lower.radius, self.upper.radius);
        let half_turn = self.half_turn(z, offset);
        let mut sum = Terms::default();
        for &(cosine, half_sine_squared) in &half_turn {
            let across = ((r1 - r2).powi(2) + 4.0 * r1 * r2 * half_sine_squared).sqrt();
            let (clear, twice) = ((across - offset).powi(2) + z * z, 4.0 * across * offset);
            for &(cosine_two, half_sine_squared_two) in &half_turn {
                let s = (clear + twice * half_sine_squared_two).sqrt();
                let log = (z + s).ln();
                sum.energy += cosine * (z * log - s);
                sum.pull += cosine * log;
                sum.by_square -= cosine * (offset - across * cosine_two) / (z + s);
            }
        }
        #[allow(clippy::cast_precision_loss, reason = "at most 160")]
        let points = (half_turn.len() * half_turn.len()) as f64;
        let by_square = sum.by_square / (2.0 * offset.max(f64::MIN_POSITIVE) * points);
        Terms { energy: sum.energy / points, pull: sum.pull / points, by_square }
    }

    /// `cos t` and `sin²(t/2)` at evenly spaced midpoints of half a turn, more of them the nearer the rims come.
    fn half_turn(&self, z: f64, offset: f64) -> Vec<(f64, f64)> {
        let (r1, r2) = (self.lower.radius, self.upper.radius);
        let beside = (offset - r1 - r2).max((r1 - r2).abs() - offset).max(0.0);
        let wanted = POINTS_AT_ONE_RADIUS * r1.max(r2) / beside.hypot(z);
        let points = wanted.clamp(POINTS.0, POINTS.1).ceil();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped above")]
        let count = points as u32;
        (0..count)
            .map(|index| {
                let half_sine_squared = (0.5 * PI * (f64::from(index) + 0.5) / points).sin().powi(2);
                (1.0 - 2.0 * half_sine_squared, half_sine_squared)
            })
            .collect()
    }
}
