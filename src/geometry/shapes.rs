//! The shapes of the language, each about the origin.

use kurbo::{Circle, Shape};

use super::{GeometryError, Region, Rule, TOLERANCE_MM};

/// A disc of this radius in mm.
///
/// # Errors
/// [`GeometryError::NotPositive`] for a radius of zero or less.
pub fn circle(radius: f64) -> Result<Region, GeometryError> {
    if radius <= 0.0 {
        return Err(GeometryError::NotPositive { what: "radius", value: radius });
    }
    Region::from_path(&Circle::new((0.0, 0.0), radius).to_path(TOLERANCE_MM), Rule::NonZero)
}
