//! Whether a loose magnet is a swallowing hazard by the published index.
//!
//! Flux index = (largest surface flux density in kG)² times the pole's area in mm²; at 50 kG² mm² and above a loose
//! magnet that fits the small-parts cylinder is hazardous: 16 CFR 1262.2 to 1262.4, which points to ASTM F963
//! section 8.25; EN 71-1 sections 4.23 and 8.35 say the same (read as quotations only). This states where a magnet
//! stands against that figure; local rules and a test by a laboratory decide.

use super::magnet::Disc;
use super::numeric::maximize;
use crate::memory::{MANY, recalled};
use crate::units::{FluxDensity, Length};
use std::f64::consts::PI;

/// The index at and above which a loose magnet is hazardous, kG² mm² (16 CFR 1262.2).
pub const LIMIT_KG2_MM2: f64 = 50.0;
/// How far from the pole face the probe's sensing area stands, mm (SOR/2011-17, Schedule 10).
const PROBE_MM: f64 = 0.38;
/// Width of the small-parts cylinder, 1.25 inches in mm: in 16 CFR 1501.4 the inches govern (31.7 mm in SOR/2011-17,
/// Schedule 1, which is metric; the larger of the two errs on the safe side).
const CYLINDER_WIDTH_MM: f64 = 1.25 * 25.4;
/// Depth of the small-parts cylinder at its deep side, 2.25 inches in mm (as before; 57.1 mm in SOR/2011-17). Its floor
/// rises to an inch.
const CYLINDER_DEPTH_MM: f64 = 2.25 * 25.4;

/// Where one loose magnet stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hazard {
    /// Largest flux density along the probe, over the whole pole face.
    pub surface: FluxDensity,
    /// Where that is, from the axis; thin discs peak near the rim.
    pub peak_off_axis: Length,
    /// Area of the pole, mm².
    pub pole_area_mm2: f64,
    /// Flux index, kG² mm².
    pub index: f64,
    /// Whether it fits the small-parts cylinder.
    pub small_part: bool,
}

impl Hazard {
    /// Whether it counts as hazardous when loose, where the remanence has this standard deviation as a share of it.
    pub fn is_hazardous(&self, remanence: f64) -> bool {
        self.small_part && self.index + self.expanded(remanence) >= LIMIT_KG2_MM2
    }

    /// Expanded uncertainty of the index, coverage factor 2: the field goes with the remanence and the index with its square,
    /// so it is off by twice the share that the remanence is (GUM, JCGM 100:2008, 5.1.2).
    pub fn expanded(&self, remanence: f64) -> f64 {
        2.0 * 2.0 * remanence * self.index
    }
}

/// Scans the pole face of a magnet with an axial probe and works out its flux index.
pub fn hazard(magnet: &Disc) -> Hazard {
    recalled(MANY, || Scanned(*magnet), || scan(magnet))
}

/// A magnet that is scanned.
#[derive(PartialEq)]
struct Scanned(Disc);

fn scan(magnet: &Disc) -> Hazard {
    const STEPS: u16 = 64;
    let probe = PROBE_MM * 1e-3;
    let tesla = |rho: f64| magnet.axial_field(probe, rho);
    let at = |step: f64| magnet.radius * step.clamp(0.0, f64::from(STEPS)) / f64::from(STEPS);
    let values = (0..=STEPS).map(|step| (f64::from(step), tesla(at(f64::from(step)))));
    let best = values.fold((0.0, 0.0), |best, next| if next.1 > best.1 { next } else { best });
    let (rho, peak) = maximize(tesla, at(best.0 - 1.0), at(best.0 + 1.0));
    // At the rim of the scan the search may come out a hair below the sample that began it; the larger one errs on
    // the safe side.
    let (rho, peak) = if peak > best.1 { (rho, peak) } else { (at(best.0), best.1) };
    let pole_area_mm2 = PI * (1e3 * magnet.radius).powi(2);
    Hazard {
        surface: FluxDensity::tesla(peak),
        peak_off_axis: Length::mm(1e3 * rho),
        pole_area_mm2,
        index: (10.0 * peak).powi(2) * pole_area_mm2,
        small_part: fits_small_parts_cylinder(magnet),
    }
}

/// Whether the magnet may go wholly into the small-parts cylinder, 31.75 mm wide, its floor sloping from 25.4 to
/// 57.15 mm deep. A disc shows its full diameter across the cylinder however it is held, so one wider than the
/// cylinder stays out; so does one whose corner-to-corner length passes the longest line in the cylinder. All others
/// are taken to fit, which errs on the safe side for long rods.
pub fn fits_small_parts_cylinder(magnet: &Disc) -> bool {
    let (width, height) = (magnet.diameter().as_mm(), magnet.height().as_mm());
    let longest = CYLINDER_WIDTH_MM.hypot(CYLINDER_DEPTH_MM);
    width <= CYLINDER_WIDTH_MM && width.hypot(height) <= longest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The highest of the field that ten thousand places of the probe show, flat magnets with a peak near the rim and long
    /// ones without.
    #[test]
    fn the_peak_is_the_highest_of_all_places() {
        for (diameter, height) in [(20.0, 1.0), (8.0, 1.5), (8.0, 3.0), (5.0, 20.0), (2.0, 1.0)] {
            let (diameter, height) = (Length::mm(diameter), Length::mm(height));
            let magnet = Disc::new(diameter, height, FluxDensity::tesla(1.32)).unwrap();
            let field = |step: u32| magnet.axial_field(PROBE_MM * 1e-3, magnet.radius * f64::from(step) / 1e4);
            let highest = (0..=10_000).map(field).fold(0.0, f64::max);
            let surface = hazard(&magnet).surface.as_tesla();
            // Between two of the places it is higher by next to nothing.
            assert!(highest <= surface && surface < highest * (1.0 + 1e-6), "{diameter}: {surface} {highest}");
        }
    }
}
