//! A share of dials with what it may be off by.

use serde::{Deserialize, Serialize};

use crate::units::{fixed, plain};

/// A share of dials, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// The share.
    pub of_dials: f64,
    /// What it may be off by either way, as a share too (95 % confidence).
    pub plus_minus: f64,
}

impl Share {
    /// In percent, "99.2% ± 0.2", with as many places as the uncertainty has. The uncertainty is rounded up.
    pub fn words(&self) -> String {
        let off = 100.0 * self.plus_minus;
        let places = if off > 0.9 { 0 } else { usize::from(off > 0.0) + usize::from(off <= 0.09) };
        let step = [1.0, 10.0, 100.0].get(places).copied().unwrap_or(1.0);
        // A share of exactly a tenth is no tenth once it was multiplied.
        let off = (off * step - 1e-9).ceil() / step;
        format!("{}% ± {}", fixed(100.0 * self.of_dials, places), plain(off, places))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_told_to_the_places_that_are_known_of_it() {
        for (of_dials, plus_minus, wanted) in [
            (0.9921, 0.002, "99.2% ± 0.2"),
            (0.9921, 0.0011, "99.2% ± 0.2"),
            (0.99984, 0.0002, "99.98% ± 0.02"),
            (1.0, 0.0001, "100.00% ± 0.01"),
            (0.4, 0.0094, "40% ± 1"),
            (0.395, 0.0089, "39.5% ± 0.9"),
            (0.395, 0.034, "40% ± 4"),
        ] {
            assert_eq!(Share { of_dials, plus_minus }.words(), wanted);
        }
    }
}
