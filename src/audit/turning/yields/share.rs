//! A share of dials with what it may be off by.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::units::plain;

/// A share of the dials that are made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// From 0 to 1.
    pub share: f64,
    /// How far the truth may be off it, either way (95 % confidence).
    pub plus_minus: f64,
}

impl Share {
    /// Both in percent, to a tenth, for columns: `99.2 ± 0.2`. What is not sure to be all is never called 100 %.
    pub fn in_percent(&self) -> String {
        let tenths = (1000.0 * self.share).round();
        let tenths = if tenths >= 1000.0 && self.share < 1.0 { 999.0 } else { tenths };
        // Upwards, so that what is told is never surer than what is known.
        let plus_minus = (1000.0 * self.plus_minus - 1e-9).ceil().max(1.0);
        format!("{} ± {}", plain(tenths / 10.0, 1), plain(plus_minus / 10.0, 1))
    }
}

/// `99.2 % ± 0.2`.
impl fmt::Display for Share {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = self.in_percent();
        to.write_str(&words.replacen(' ', " % ", 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_never_told_surer_than_it_is() {
        for (share, plus_minus, wanted) in [
            (0.9921, 0.0021, "99.2 % ± 0.3"),
            (0.9921, 0.001, "99.2 % ± 0.1"),
            (0.99996, 0.0002, "99.9 % ± 0.1"),
            (1.0, 0.0002, "100 % ± 0.1"),
            (0.4, 0.25, "40 % ± 25"),
        ] {
            assert_eq!(Share { share, plus_minus }.to_string(), wanted);
        }
    }
}
