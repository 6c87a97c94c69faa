//! How far what is made strays from what is drawn.

use crate::units::{Angle, Length};
use crate::vocabulary::usual;

/// The share of dials whose print may show where it was cut.
const PRINT_MISSES: f64 = 0.01;

/// The shop's spreads.
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
    /// Standard deviation of how far a glued layer lies off the one beneath it, in x and in y.
    pub glued: Length,
    /// Standard deviation of how far a print lies off what is cut, in x and in y.
    pub printing: Length,
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
            kerf: usual::KERF_SPREAD,
            concentricity: None,
            placing: usual::PLACING_SPREAD,
            clicked: usual::CLICKED_SPREAD,
            glued: usual::GLUED_SPREAD,
            printing: usual::PRINTING_SPREAD,
            remanence: usual::REMANENCE_SPREAD,
            depth: usual::DEPTH_SPREAD,
            film: usual::FILM_SPREAD,
        }
    }
}

impl Spreads {
    /// How far a print must run over an edge so that in all but one of a hundred dials none of the edge is left blank.
    ///
    /// How far off a print lies that strays alike along both axes is a Rayleigh deviate: it is beyond `r` with the probability
    /// exp(-r²/2σ²), and a round edge shows it whichever way that is.
    pub fn print_reach(&self) -> Length {
        Length::mm(self.printing.as_mm() * (2.0 * (1.0 / PRINT_MISSES).ln()).sqrt())
    }

    /// The share of dials whose print lies farther off than this: see [`Spreads::print_reach`].
    pub fn print_misses(&self, by: Length) -> f64 {
        if self.printing == Length::ZERO {
            return 0.0;
        }
        (-(by.as_mm() / self.printing.as_mm()).powi(2) / 2.0).exp()
    }

    /// The centring of pockets that counts: what is usual where none is stated.
    pub fn centring(&self) -> Length {
        self.concentricity.unwrap_or(usual::CENTRING_SPREAD)
    }
}
