//! How far the pull may be from the figure worked out, and why.
//!
//! First-order propagation after the GUM (JCGM 100:2008): 5.1.2 for what varies by itself, 5.2.2 for what varies
//! together, 4.3.7 for limits without readings. The model's own bound is stated beside it, never mixed in.

use super::magnet::{Facing, MODEL_SHARE};
use super::{DISTANCE_MM, OutOfRange, in_range, metres};
use crate::units::{Dimension, Force, Length};

/// Standard deviations of what the pull depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spreads {
    /// Of the remanence, as a share of it. Both magnets come from one batch and vary together.
    pub remanence: f64,
    /// Of the depth of one pocket; the two vary by themselves.
    pub pocket: Length,
    /// Of the thickness of one glue film; the two vary by themselves.
    pub film: Length,
}

/// Standard deviation of a figure of which only the limits are known, each value between them being as likely as
/// any other: half the width over the root of 3 (GUM 4.3.7). For a magnet grade, give the share that its remanence
/// may differ from the middle.
pub fn from_half_width(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// What makes the pull uncertain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The magnets' grade.
    Remanence,
    /// Depth of the pockets.
    Pocket,
    /// The glue films.
    Film,
}

/// How much one cause adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Which one.
    pub cause: Cause,
    /// Standard deviation of the pull by this cause alone.
    pub deviation: Force,
    /// Its share of the variance, 0 to 1; all shares make 1, or 0 where nothing varies.
    pub share: f64,
}

/// A pull and how far off it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// The pull worked out.
    pub pull: Force,
    /// Combined standard deviation by all causes.
    pub deviation: Force,
    /// Each cause, in a fixed order.
    pub parts: [Part; 3],
    /// The bound stated for the model itself ([`MODEL_SHARE`] of the pull).
    pub model: Force,
    /// How much harder still it may be: of steel, a model from below is worked out, and another from above.
    pub above: Force,
}

impl Uncertainty {
    /// A pull whose causes, each by itself, have these standard deviations in newtons.
    pub fn of(pull: Force, by_cause: [(Cause, f64); 3]) -> Self {
        let variance: f64 = by_cause.iter().map(|(_, deviation)| deviation * deviation).sum();
        let parts = by_cause.map(|(cause, deviation)| {
            let share = if variance > 0.0 { deviation * deviation / variance } else { 0.0 };
            Part { cause, deviation: Force::newtons(deviation), share }
        });
        let model = Force::newtons(pull.as_newtons().abs() * MODEL_SHARE);
        Self { pull, deviation: Force::newtons(variance.sqrt()), parts, model, above: Force::ZERO }
    }

    /// Expanded uncertainty, coverage factor 2: some 95 % (GUM 6.3.3).
    pub fn expanded(&self) -> Force {
        self.deviation * 2.0
    }

    /// From the least to the greatest pull to reckon with: expanded uncertainty and model bound, one after the other;
    /// never below nothing.
    pub fn range(&self) -> (Force, Force) {
        let reach = self.expanded() + self.model;
        let least = self.pull - reach;
        (if least < Force::ZERO { Force::ZERO } else { least }, self.pull + reach + self.above)
    }
}

impl Facing {
    /// The pull with its uncertainty: `u² = (2 F u_J/J)² + 2 (dF/dg u_pocket)² + 2 (dF/dg u_film)²`.
    ///
    /// # Errors
    /// A deviation that is negative, not a number, above the remanence or above 10 m.
    pub fn uncertainty(&self, spreads: &Spreads) -> Result<Uncertainty, OutOfRange> {
        let remanence = in_range("deviation of the remanence", spreads.remanence, &(0.0..=1.0), Dimension::NUMBER)?;
        let length = |what, value: Length| in_range(what, value.as_mm(), &DISTANCE_MM, Dimension::LENGTH).map(metres);
        let pocket = length("deviation of the pocket's depth", spreads.pocket)?;
        let film = length("deviation of the glue film", spreads.film)?;
        let (pull, slope) = (self.pull(), self.slope().0.abs());
        // Two pockets and two films, each off by itself: independent errors add in squares. The remanence is one
        // batch's, so that both magnets are off the same way and the pull by twice as much.
        let both = 2.0_f64.sqrt() * slope;
        let by_cause = [
            (Cause::Remanence, 2.0 * pull.as_newtons() * remanence),
            (Cause::Pocket, both * pocket),
            (Cause::Film, both * film),
        ];
        Ok(Uncertainty::of(pull, by_cause))
    }
}
