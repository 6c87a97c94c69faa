//! How far what is made strays from what is drawn.

use crate::units::{Angle, Length};

/// The shop's spreads. The defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spreads {
    /// Standard deviation of the width of a cut.
    pub kerf: Length,
    /// Standard deviation of a pocket's centre off the axis, in x and in y; none where the shop does not say.
    pub concentricity: Option<Length>,
    /// Standard deviation of a stop set by hand.
    pub placing: Angle,
    /// Standard deviation of a stop held by clicks.
    pub clicked: Angle,
    /// Standard deviation of the magnets' remanence, as a share of it; those of one dial come from one batch.
    pub remanence: f64,
    /// Standard deviation of a pocket's depth.
    pub depth: Length,
    /// Standard deviation of the glue film beneath a magnet.
    pub film: Length,
}

impl Default for Spreads {
    fn default() -> Self {
        Self {
            kerf: Length::mm(0.03),
            concentricity: None,
            placing: Angle::degrees(1.0),
            clicked: Angle::degrees(0.25),
            remanence: 0.01,
            depth: Length::mm(0.05),
            film: Length::mm(0.02),
        }
    }
}

impl Spreads {
    /// The centring of pockets that counts: 0.1 mm where none is stated (common practice, no source).
    pub fn centring(&self) -> Length {
        self.concentricity.unwrap_or(Length::mm(0.1))
    }
}
