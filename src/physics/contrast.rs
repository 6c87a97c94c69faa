//! Contrast of a mark with what it stands on: W3C, "Web Content Accessibility Guidelines (WCAG) 2.2", definitions
//! of relative luminance and contrast ratio.

use std::fmt;

use crate::units::Length;

/// Least contrast for text (WCAG 2.2, success criterion 1.4.3).
pub const LEAST_FOR_TEXT: f64 = 4.5;
/// Least contrast for large text and for pictures that carry meaning (WCAG 2.2, 1.4.3 and 1.4.11).
pub const LEAST_FOR_LARGE: f64 = 3.0;

/// The least height of the capitals of large text, in a typeface whose capitals are this share of an em high: text is large
/// from 18 point up (WCAG 2.2, "large scale"; 72 points to the inch, CSS Values and Units).
pub fn large(capitals: f64) -> Length {
    Length::mm(18.0 * 25.4 / 72.0 * capitals)
}

/// A contrast ratio, 1 to 21; no unit.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Contrast(f64);

impl Contrast {
    /// Of two sRGB colours, whichever is lighter: `(L1 + 0.05)/(L2 + 0.05)`.
    pub fn between(one: [u8; 3], other: [u8; 3]) -> Self {
        let (a, b) = (relative_luminance(one), relative_luminance(other));
        Self((a.max(b) + 0.05) / (a.min(b) + 0.05))
    }

    /// The ratio itself.
    pub fn ratio(self) -> f64 {
        self.0
    }

    /// Whether it reaches a limit; the ratio is never rounded up to it.
    pub fn reaches(self, limit: f64) -> bool {
        self.0 >= limit
    }
}

/// Two decimals, cut off and not rounded, so that 4.499 never reads 4.5.
impl fmt::Display for Contrast {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2}", (self.0 * 100.0).floor() / 100.0)
    }
}

/// Relative luminance of an sRGB colour, 0 for black to 1 for white.
pub fn relative_luminance(colour: [u8; 3]) -> f64 {
    let [red, green, blue] = colour.map(linear);
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// The transfer function of sRGB (IEC 61966-2-1), which the WCAG quotes; for 8-bit values its bend at 0.04045 and
/// the older 0.03928 come to the same.
fn linear(channel: u8) -> f64 {
    let value = f64::from(channel) / 255.0;
    if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}
