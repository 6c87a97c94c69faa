//! Magnets, friction, the swallowing hazard, contrast and lettering. Pure: figures in, figures out.
//!
//! Inside, everything is SI in `f64`; the public border speaks [`crate::units`]. Every formula has its source
//! beside it. Polarity and turning follow the design: bearings run clockwise, `Up` looks at the player.

pub mod clicks;
pub mod contrast;
pub mod dead_band;
pub mod field;
pub mod friction;
pub mod hazard;
pub mod legibility;
pub mod magnet;
mod numeric;
pub mod pair;
pub mod pattern;
mod profile;
pub mod seat;
pub mod spread;
pub mod washer;

pub use clicks::{Clicks, Polarity};
pub use contrast::Contrast;
pub use magnet::{Disc, Facing};
pub use spread::{Spreads, Uncertainty};
pub use washer::Washer;

use crate::units::{Dimension, Length, Quantity};
use std::ops::RangeInclusive;

/// The magnetic constant, N/A² (CODATA 2022).
pub(crate) const MU_0: f64 = 1.256_637_061_27e-6;
/// Standard gravity, m/s², exact (3rd CGPM, 1901).
pub(crate) const STANDARD_GRAVITY: f64 = 9.806_65;

/// Sizes of magnets that are accepted, mm; wide of anything made, and far from where `f64` would fail.
const SIZE_MM: RangeInclusive<f64> = 1e-3..=1e3;
/// Distances that are accepted, mm.
const DISTANCE_MM: RangeInclusive<f64> = 0.0..=1e4;
/// Remanences that are accepted, tesla.
const REMANENCE_T: RangeInclusive<f64> = 1e-6..=10.0;

/// A figure with which nothing can be worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// Which figure.
    pub what: &'static str,
    /// Its value.
    pub value: Quantity,
    /// It must not be below this.
    pub least: Quantity,
    /// Nor above this.
    pub most: Quantity,
}

/// `value` (in base units), where it lies in `range`; not-a-number never does.
fn in_range(
    what: &'static str,
    value: f64,
    range: &RangeInclusive<f64>,
    dimension: Dimension,
) -> Result<f64, OutOfRange> {
    let quantity = |value| Quantity { value, dimension };
    let error =
        OutOfRange { what, value: quantity(value), least: quantity(*range.start()), most: quantity(*range.end()) };
    if range.contains(&value) { Ok(value) } else { Err(error) }
}

/// A distance in metres, where it can be worked with.
fn distance(what: &'static str, length: Length) -> Result<f64, OutOfRange> {
    in_range(what, length.as_mm(), &DISTANCE_MM, Dimension::LENGTH).map(metres)
}

/// A size in metres, where it can be worked with.
fn size(what: &'static str, length: Length) -> Result<f64, OutOfRange> {
    in_range(what, length.as_mm(), &SIZE_MM, Dimension::LENGTH).map(metres)
}

const fn metres(mm: f64) -> f64 {
    mm * 1e-3
}

/// An energy.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
pub struct Energy(f64);

impl Energy {
    /// From joules.
    pub const fn joules(value: f64) -> Self {
        Self(value)
    }
    /// In joules.
    pub const fn as_joules(self) -> f64 {
        self.0
    }
    /// In millijoules (millinewton metres per radian turned).
    pub const fn as_millijoules(self) -> f64 {
        self.0 * 1e3
    }
}

/// A force for each length moved.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
pub struct Stiffness(f64);

impl Stiffness {
    /// From newtons for each metre.
    pub const fn newtons_per_metre(value: f64) -> Self {
        Self(value)
    }
    /// In newtons for each millimetre.
    pub const fn as_newtons_per_mm(self) -> f64 {
        self.0 * 1e-3
    }
}
