//! Painting in two tones, in the order drawn.

use std::collections::BTreeSet;

use kurbo::BezPath;
use usvg::{Color, Paint};

use super::outline::region;
use super::plain::line_of;
use super::{ArtError, Dropped, Untaken};
use crate::geometry::{Region, Rule};

/// Paints of this relative luminance and above are the ground, not the mark.
const LIGHT_FROM: f64 = 0.5;

/// The picture so far. Runs of shapes in one tone are kept together and settled at once.
#[derive(Default)]
pub(super) struct Canvas {
    ink: Region,
    waiting: BezPath,
    waiting_is_dark: bool,
    /// Every colour met.
    pub(super) colours: BTreeSet<[u8; 3]>,
    /// Everything that could not be taken as drawn.
    pub(super) dropped: BTreeSet<Dropped>,
}

impl Canvas {
    /// Lays a shape of one tone over the picture.
    pub(super) fn add(&mut self, shape: &Region, is_dark: bool) -> Result<(), ArtError> {
        // Shapes of one tone cover one another without trace, so a run of them is united in one go: a drawing of a
        // thousand strokes needs one boolean and not a thousand.
        if is_dark != self.waiting_is_dark {
            self.settle()?;
            self.waiting_is_dark = is_dark;
        }
        self.waiting.extend(shape.path());
        Ok(())
    }

    fn settle(&mut self) -> Result<(), ArtError> {
        let waiting = std::mem::take(&mut self.waiting);
        self.ink = match (self.waiting_is_dark, self.ink.is_empty()) {
            _ if waiting.is_empty() => return Ok(()),
            // Light paint on a bare page changes nothing.
            (false, true) => return Ok(()),
            (false, false) => self.ink.difference(&region(&waiting, Rule::NonZero)?),
            (true, _) => {
                let all: BezPath = self.ink.path().iter().chain(waiting).collect();
                region(&all, Rule::NonZero)?
            }
        };
        Ok(())
    }

    /// What is dark in the end.
    pub(super) fn ink(&mut self) -> Result<Region, ArtError> {
        self.settle()?;
        Ok(std::mem::take(&mut self.ink))
    }

    /// Notes that something was not taken as drawn.
    pub(super) fn drop(&mut self, what: Untaken, on: &str) {
        let line = line_of(on);
        let on = if line.is_some() { String::new() } else { on.to_owned() };
        self.dropped.insert(Dropped { what, on, line: line.unwrap_or(0) });
    }

    /// Whether a paint is dark; none where it leaves no trace or cannot be taken.
    pub(super) fn is_dark(&mut self, paint: &Paint, opacity: f64, on: &str) -> Option<bool> {
        let colour = match paint {
            Paint::Color(colour) => *colour,
            Paint::LinearGradient(_) | Paint::RadialGradient(_) => {
                self.drop(Untaken::Gradient, on);
                return None;
            }
            Paint::Pattern(_) => {
                self.drop(Untaken::Pattern, on);
                return None;
            }
        };
        if opacity <= 0.0 {
            return None;
        }
        if opacity < 1.0 {
            self.drop(Untaken::Transparency, on);
        }
        self.colours.insert([colour.red, colour.green, colour.blue]);
        Some(luminance_on_white(colour, opacity) < LIGHT_FROM)
    }
}

/// Relative luminance (W3C WCAG 2.2) of a colour laid on white.
fn luminance_on_white(colour: Color, opacity: f64) -> f64 {
    let part = |channel: u8| {
        let value = 1.0 - opacity * (1.0 - f64::from(channel) / 255.0);
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * part(colour.red) + 0.7152 * part(colour.green) + 0.0722 * part(colour.blue)
}
