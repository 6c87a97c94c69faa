//! A disc magnet and a steel washer on its axis.
//!
//! The washer is taken as a sheet just below the face that looks at the magnet, which carries flux outwards and in: charge on even rings, free to move within the washer until the flux through it saturates the steel. Of all
//! such charges the true one has the least energy (Thomson's principle; Jackson, "Classical Electrodynamics", 1.11). A steel of no
//! end that nothing saturates gives the pull between the magnet and its mirror image at twice the gap (Jackson, 2.1 and 5.9), which is
//! more than any washer is pulled with.
//!
//! What is given is meant as a bound from below: the sheet's pull less `LESS`. `tests/data/washers.py` works pulls out by moments, of
//! washers in all their height and of steel that saturates slowly: those lie between the bound and the mirror image, for a washer half
//! as wide again as its magnet at most 40 % above the bound, and far above it where the washer is narrower than the magnet, since it is
//! then pulled at its rim and its back alone.

use super::magnet::{Disc, Facing};
use super::numeric::elliptic;
use super::{MU_0, OutOfRange, REMANENCE_T, distance, in_range, size};
use crate::units::{Dimension, FluxDensity, Force, Length};
use std::f64::consts::{PI, TAU};

/// Rings that the charge stands on.
const RINGS: u32 = 32;
/// How far below the face of the washer the sheet lies, m: the steel takes no flux up at a point, and is not quite flat.
const BELOW: f64 = 1e-4;
/// What the pull at the sheet is lessened by, as a share: with it no pull by moments lies below.
const LESS: f64 = 0.15;
/// Rounds of the search for the least energy; more change nothing in the sixth digit.
const ROUNDS: u32 = 400;
/// The distance that stands for a ring's distance from itself, as a share of its width: `exp(-3/2)`, the mean distance of two points
/// of a line in the sense of logarithms (Maxwell, "A Treatise on Electricity and Magnetism", 692).
const OWN: f64 = 0.223_130_160;

/// A flat ring of steel. SI inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Washer {
    outer: f64,
    inner: f64,
    height: f64,
    saturation: f64,
}

impl Washer {
    /// A washer of this diameter, hole, height and saturation polarisation.
    ///
    /// # Errors
    /// A size outside 0.001 mm to 1 m, a hole as wide as the washer, or a saturation outside 1 µT to 10 T.
    pub fn new(diameter: Length, hole: Length, height: Length, saturation: FluxDensity) -> Result<Self, OutOfRange> {
        let outer = 0.5 * size("diameter of the washer", diameter)?;
        let within = 0.0..=0.999 * diameter.as_mm();
        let inner = in_range("hole of the washer", hole.as_mm(), &within, Dimension::LENGTH)? * 0.5e-3;
        let saturation = in_range("saturation", saturation.as_tesla(), &REMANENCE_T, Dimension::FLUX_DENSITY)?;
        Ok(Self { outer, inner, height: size("height of the washer", height)?, saturation })
    }

    /// How far across it is.
    pub(super) fn diameter(&self) -> Length {
        Length::mm(2e3 * self.outer)
    }
}

impl Facing {
    /// A magnet whose pole stands `gap` above or below a washer's face, on one axis.
    ///
    /// # Errors
    /// A gap that is negative or above 10 m.
    pub fn on_steel(magnet: Disc, washer: Washer, gap: Length) -> Result<Self, OutOfRange> {
        Ok(Self { lower: magnet, upper: magnet, gap: distance("gap to the washer", gap)?, steel: Some(washer) })
    }

    /// Whether one of the two is steel.
    pub fn is_on_steel(&self) -> bool {
        self.steel.is_some()
    }

    /// The most that it may pull: between two magnets as [`Facing::pull`], on steel as the mirror image does.
    pub fn most(&self) -> Force {
        match self.steel {
            Some(_) => Self { gap: 2.0 * self.gap, steel: None, ..*self }.pull(),
            None => self.pull(),
        }
    }

    /// The least that it pulls at a washer in newtons, with the gap in metres; some 0.5 ms.
    pub(super) fn steel_pull(&self, washer: &Washer, gap: f64) -> f64 {
        (1.0 - LESS) * self.sheet_pull(washer, gap + BELOW).max(0.0)
    }

    fn sheet_pull(&self, washer: &Washer, gap: f64) -> f64 {
        let width = (washer.outer - washer.inner) / f64::from(RINGS);
        let at = |ring: f64| washer.inner + ring * width;
        let middles: Vec<f64> = (0..RINGS).map(|ring| at(f64::from(ring) + 0.5)).collect();
        let rims: Vec<f64> = (1..RINGS).map(|ring| at(f64::from(ring))).collect();
        // What drives flux outwards through each rim between two rings, and the most that the steel carries there.
        let drives = rims.iter().map(|rim| width * self.lower.radial_field(gap, *rim) / MU_0);
        let limits = rims.iter().map(|rim| TAU * rim * washer.saturation * washer.height);
        let flux = least_energy(&stiffness(&middles, OWN * width), &drives.zip(limits).collect::<Vec<_>>());
        // What flows out of one ring into the next leaves its charge on both.
        let along: Vec<f64> = middles.iter().map(|middle| self.lower.axial_field(gap, *middle) / MU_0).collect();
        let steps = along.windows(2).map(|pair| pair.iter().rev().copied().reduce(|next, here| here - next));
        flux.iter().zip(steps).map(|(flux, step)| flux * step.unwrap_or_default()).sum()
    }
}

/// How much energy flux through one rim costs with flux through another: from the potentials of charged rings,
/// `2 K(m)/(pi sqrt((a+b)² + z²))` at a distance `z` across, which stands for a ring's own width.
fn stiffness(middles: &[f64], own: f64) -> Vec<Vec<f64>> {
    let potential = |one: f64, other: f64| {
        let across = if one.to_bits() == other.to_bits() { own } else { 0.0 };
        let far = (one + other).hypot(across);
        elliptic((one - other).hypot(across) / far).0 / (2.0 * PI * PI * far * MU_0)
    };
    let rows: Vec<Vec<f64>> =
        middles.iter().map(|one| middles.iter().map(|other| potential(*one, *other)).collect()).collect();
    let differences = |row: &[f64]| -> Vec<f64> {
        row.windows(2).map(|pair| pair.iter().copied().reduce(|here, next| next - here).unwrap_or_default()).collect()
    };
    let across: Vec<Vec<f64>> = rows.iter().map(|row| differences(row)).collect();
    let next = across.iter().skip(1);
    across
        .iter()
        .zip(next)
        .map(|(here, next)| here.iter().zip(next).map(|(here, next)| next - here).collect())
        .collect()
}

/// The flux through each rim where the energy is least, each within its limit, by rounds of the method of Gauss and Seidel with
/// projection (Cryer, "The solution of a quadratic programming problem using systematic overrelaxation", 1971).
fn least_energy(stiffness: &[Vec<f64>], rims: &[(f64, f64)]) -> Vec<f64> {
    let mut flux = vec![0.0; rims.len()];
    for _ in 0..ROUNDS {
        for (at, (row, (drive, limit))) in stiffness.iter().zip(rims).enumerate() {
            let against: f64 = row.iter().zip(&flux).map(|(stiff, flux)| stiff * flux).sum();
            if let (Some(flux), Some(own)) = (flux.get_mut(at), row.get(at)) {
                *flux = (*flux + (drive - against) / own).clamp(-limit, *limit);
            }
        }
    }
    flux
}
