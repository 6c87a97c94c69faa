//! Flux density round one disc magnet.

use super::magnet::Disc;
use super::numeric::over_half_turn;
use super::{OutOfRange, distance};
use crate::units::{FluxDensity, Length};
use std::f64::consts::PI;

/// Flux density at a point beside a magnet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Along the axis, positive away from the pole looked at.
    pub axial: FluxDensity,
    /// Away from the axis.
    pub radial: FluxDensity,
}

impl Disc {
    /// Flux density at `above` the pole face (outside the magnet) and `off_axis` from the axis.
    ///
    /// # Errors
    /// A distance that is negative or above 10 m.
    pub fn field(&self, above: Length, off_axis: Length) -> Result<Field, OutOfRange> {
        let (z, rho) = (distance("height above the pole", above)?, distance("distance from the axis", off_axis)?);
        let radial = self.radial_field(z, rho);
        Ok(Field { axial: FluxDensity::tesla(self.axial_field(z, rho)), radial: FluxDensity::tesla(radial) })
    }

    /// Flux density away from the axis in tesla at `z`, `rho` metres.
    pub(super) fn radial_field(&self, z: f64, rho: f64) -> f64 {
        self.radial_of_disc(z, rho) - self.radial_of_disc(z + self.height, rho)
    }

    /// Axial flux density in tesla at `z`, `rho` metres. On the axis it is
    /// `Br/2 [(L+z)/sqrt(R²+(L+z)²) - z/sqrt(R²+z²)]`, the textbook formula for a disc.
    pub(super) fn axial_field(&self, z: f64, rho: f64) -> f64 {
        self.axial_of_disc(z, rho) - self.axial_of_disc(z + self.height, rho)
    }

    /// `(J a/2) int_0^inf J1(ka) J0(k rho) exp(-kz) dk`, which Neumann's addition theorem (Watson 11.2) turns into
    /// `(J a/2 pi) int_0^pi (a - rho cos t)/(s (s + z)) dt`, `s² = z² + (a-rho)² + 4 a rho sin²(t/2)`.
    fn axial_of_disc(&self, z: f64, rho: f64) -> f64 {
        let a = self.radius;
        let clear = z * z + (a - rho).powi(2);
        let integral = over_half_turn(|node| {
            let s = (clear + 4.0 * a * rho * node.half_sine_squared).sqrt();
            let over = s * (s + z);
            // On the very rim of the face the field along the axis has its mean value of both sides.
            if over > 0.0 { (a - rho * node.cosine) / over } else { 0.0 }
        });
        self.remanence * a / (2.0 * PI) * integral
    }

    /// `(J a/2) int_0^inf J1(ka) J1(k rho) exp(-kz) dk = (J a/2)(a rho/pi) int_0^pi sin²t / s³ dt`
    fn radial_of_disc(&self, z: f64, rho: f64) -> f64 {
        let a = self.radius;
        let clear = z * z + (a - rho).powi(2);
        let integral = over_half_turn(|node| {
            let squared = clear + 4.0 * a * rho * node.half_sine_squared;
            let cubed = squared * squared.sqrt();
            if cubed > 0.0 { node.sine_squared / cubed } else { 0.0 }
        });
        self.remanence * a * a * rho / (2.0 * PI) * integral
    }
}
