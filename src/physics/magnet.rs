//! Two disc magnets on one axis: how hard they pull, and how the pull falls with the gap.
//!
//! Each magnet is taken as uniformly magnetised along its axis, which makes its two poles discs of uniform
//! magnetic charge, and neither weakens the other (true within a few per cent for sintered rare-earth magnets).
//! How far measured forces lie from this model by those who set them beside it: "very good agreement" (Vokoun, Beleggia,
//! Heller and Šittner, "Magnetostatic interactions and forces between cylindrical permanent magnets", J. Magn. Magn.
//! Mater. 321, 2009), "under 10 %" (Vokoun, Tomassetti, Beleggia and Stachiv, 2011), "about 15 %" (Vokoun and Beleggia,
//! 2014); all read as quotations only. The largest of them is [`MODEL_SHARE`].

use super::numeric::over_half_turn;
use super::washer::Washer;
use super::{MU_0, OutOfRange, REMANENCE_T, Stiffness, distance, in_range, metres, size};
use crate::units::{Dimension, FluxDensity, Force, Length};
use std::f64::consts::PI;

/// The bound stated for the model itself, as a share of the force (Vokoun and Beleggia, 2014, as quoted: "about 15 %").
pub const MODEL_SHARE: f64 = 0.15;

/// Below this gap the slope of the force is taken as at this gap, metres: between equal discs in contact it has
/// no finite value.
const LEAST_SLOPE_GAP: f64 = 1e-6;
/// Half the step by which the slope on steel is told, metres.
const SLOPE_STEP: f64 = 1e-5;

/// A disc magnet, magnetised along its axis. SI inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    pub(super) radius: f64,
    pub(super) height: f64,
    pub(super) remanence: f64,
}

impl Disc {
    /// A magnet of this diameter, height and remanence.
    ///
    /// # Errors
    /// A size outside 0.001 mm to 1 m, or a remanence outside 1 µT to 10 T.
    pub fn new(diameter: Length, height: Length, remanence: FluxDensity) -> Result<Self, OutOfRange> {
        let tesla = in_range("remanence of the magnet", remanence.as_tesla(), &REMANENCE_T, Dimension::FLUX_DENSITY)?;
        let radius = 0.5 * size("diameter of the magnet", diameter)?;
        Ok(Self { radius, height: size("height of the magnet", height)?, remanence: tesla })
    }

    /// Its diameter.
    pub fn diameter(&self) -> Length {
        Length::mm(2e3 * self.radius)
    }

    /// Its height.
    pub fn height(&self) -> Length {
        Length::mm(1e3 * self.height)
    }

    /// Its remanence.
    pub fn remanence(&self) -> FluxDensity {
        FluxDensity::tesla(self.remanence)
    }
}

/// Two disc magnets with parallel axes and unlike poles facing each other across a gap, or one and a washer of steel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facing {
    pub(super) lower: Disc,
    pub(super) upper: Disc,
    pub(super) gap: f64,
    /// The washer that stands in the place of the upper magnet, which then is as the lower one.
    pub(super) steel: Option<Washer>,
}

impl Facing {
    /// Two magnets whose facing poles stand `gap` apart: pole to pole, so that plating, glue film and any floor
    /// left under a pocket count (see [`super::seat::true_gap`]).
    ///
    /// # Errors
    /// A gap that is negative or above 10 m.
    pub fn new(lower: Disc, upper: Disc, gap: Length) -> Result<Self, OutOfRange> {
        Ok(Self { lower, upper, gap: distance("gap between the magnets", gap)?, steel: None })
    }

    /// The gap from pole to pole.
    pub fn gap(&self) -> Length {
        Length::mm(1e3 * self.gap)
    }

    /// Diameter of the narrower of the two.
    pub fn narrower(&self) -> Length {
        let steel = self.steel.map_or(f64::INFINITY, |washer| washer.diameter().as_mm());
        Length::mm((2e3 * self.lower.radius.min(self.upper.radius)).min(steel))
    }

    /// The same magnets at another gap.
    ///
    /// # Errors
    /// As [`Facing::new`].
    pub fn at_gap(&self, gap: Length) -> Result<Self, OutOfRange> {
        Ok(Self { steel: self.steel, ..Self::new(self.lower, self.upper, gap)? })
    }

    /// The pull along the common axis; positive, since unlike poles face each other. Exact for the model (1e-9
    /// relative and better), some 10 µs. On steel see [`super::washer`].
    pub fn pull(&self) -> Force {
        if let Some(washer) = &self.steel {
            return Force::newtons(self.steel_pull(washer, self.gap));
        }
        Force::newtons(self.charge_product() * self.second_difference(self.gap, |z| self.disc_pull(z)))
    }

    /// Change of the pull with the gap. Negative where a wider gap weakens the pull, as it does between magnets of like
    /// width; a small magnet close to a much wider flat one is pulled harder a little further off. Below 1 µm it is given as
    /// at 1 µm.
    pub fn slope(&self) -> Stiffness {
        if let Some(washer) = &self.steel {
            let (near, far) = ((self.gap - SLOPE_STEP).max(0.0), self.gap + SLOPE_STEP);
            let fall = self.steel_pull(washer, far) - self.steel_pull(washer, near);
            return Stiffness::newtons_per_metre(fall / (far - near));
        }
        let gap = self.gap.max(LEAST_SLOPE_GAP);
        Stiffness::newtons_per_metre(-self.charge_product() * self.second_difference(gap, |z| self.disc_pull_fall(z)))
    }

    /// How hard the pair is drawn back on its axis for each length it is pushed sideways: `k = -1/2 dF/dg`. The
    /// energy of two magnets obeys Laplace's equation (no charge of one stands inside the other), so its two equal
    /// sideways curvatures make up for the one along the axis. Negative where the pair is driven off its axis, as a small
    /// magnet is towards the rim of a much wider one. What draws a washer back is not known and taken as nothing.
    pub fn centring(&self) -> Stiffness {
        if self.steel.is_some() {
            return Stiffness::default();
        }
        Stiffness(-0.5 * self.slope().0)
    }

    /// The pull against the gap, at `steps` + 1 gaps evenly from `from` to `to`, both included.
    ///
    /// # Errors
    /// As [`Facing::new`], for either end.
    pub fn curve(&self, from: Length, to: Length, steps: u16) -> Result<Vec<(Length, Force)>, OutOfRange> {
        self.at_gap(to)?;
        let start = self.at_gap(from)?;
        let share = |step: u16| f64::from(step) / f64::from(steps.max(1));
        let gaps = (0..=steps).map(|step| from + (to - from) * share(step));
        Ok(gaps.map(|gap| (gap, Self { gap: metres(gap.as_mm()), ..start }.pull())).collect())
    }

    /// `J1 J2 pi r1 r2 / mu0`, newtons.
    pub(super) fn charge_product(&self) -> f64 {
        self.lower.remanence * self.upper.remanence * PI * self.lower.radius * self.upper.radius / MU_0
    }

    /// Facing poles, less each facing pole with the other's far pole, plus the two far poles.
    pub(super) fn second_difference(&self, gap: f64, f: impl Fn(f64) -> f64) -> f64 {
        let (lower, upper) = (self.lower.height, self.upper.height);
        f(gap) - f(gap + lower) - f(gap + upper) + f(gap + lower + upper)
    }

    /// `I(z) = int_0^inf J1(k r1) J1(k r2) exp(-k z) dk / k`, the pull between two charged discs `z` apart, from
    /// Neumann's addition theorem for Bessel functions (Watson, "A Treatise on the Theory of Bessel Functions",
    /// 11.2) and integration by parts:
    /// `I(z) = (r1 r2/pi) int_0^pi sin²t / (w (z + w)) dt`, `w² = z² + (r1-r2)² + 4 r1 r2 sin²(t/2)`.
    /// Nothing in it cancels.
    fn disc_pull(&self, z: f64) -> f64 {
        let (product, clear) = self.rims(z);
        let integral = over_half_turn(|node| {
            let w = (clear + 4.0 * product * node.half_sine_squared).sqrt();
            node.sine_squared / (w * (z + w))
        });
        product / PI * integral
    }

    /// `-dI/dz = (r1 r2/pi) int_0^pi sin²t / w³ dt`
    fn disc_pull_fall(&self, z: f64) -> f64 {
        let (product, clear) = self.rims(z);
        let integral = over_half_turn(|node| {
            let squared = clear + 4.0 * product * node.half_sine_squared;
            node.sine_squared / (squared * squared.sqrt())
        });
        product / PI * integral
    }

    /// Product of the radii, and the least distance of the rims squared.
    fn rims(&self, z: f64) -> (f64, f64) {
        let (r1, r2) = (self.lower.radius, self.upper.radius);
        (r1 * r2, z * z + (r1 - r2).powi(2))
    }
}
