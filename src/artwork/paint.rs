//! Painting in two tones, or in all colours, in the order drawn.

use std::collections::BTreeSet;

use kurbo::BezPath;
use usvg::{Color, Paint};

use super::outline::region;
use super::plain::line_of;
use super::{ArtError, Dropped, Untaken};
use crate::geometry::{Region, Rule};

/// Paints of this relative luminance and above are the ground, not the mark.
const LIGHT_FROM: f64 = 0.5;

/// What is painted in one colour.
type Area = ([u8; 3], Region);

/// The picture so far. Runs of shapes in one tone are kept together and settled at once.
#[derive(Default)]
pub(super) struct Canvas {
    ink: Region,
    waiting: BezPath,
    waiting_is_dark: bool,
    /// What is waiting was painted in, where every colour is kept apart, and what was before that.
    in_colours: Option<([u8; 3], Vec<Area>)>,
    /// Every colour met.
    pub(super) colours: BTreeSet<[u8; 3]>,
    /// Everything that could not be taken as drawn.
    pub(super) dropped: BTreeSet<Dropped>,
}

impl Canvas {
    /// One that keeps every colour apart.
    pub(super) fn in_colours() -> Self {
        Self { in_colours: Some(([0; 3], Vec::new())), ..Self::default() }
    }

    /// Lays a shape painted in a colour over the picture.
    pub(super) fn add(&mut self, shape: &Region, colour: [u8; 3]) -> Result<(), ArtError> {
        if let Some((waiting, _)) = &self.in_colours {
            if *waiting != colour {
                self.settle_colour()?;
            }
            if let Some((waiting, _)) = &mut self.in_colours {
                *waiting = colour;
            }
            self.waiting.extend(shape.path());
            return Ok(());
        }
        let is_dark = luminance(colour) < LIGHT_FROM;
        // Shapes of one tone cover one another without trace, so a run of them is united in one go: a drawing of a
        // thousand strokes needs one boolean and not a thousand.
        if is_dark != self.waiting_is_dark {
            self.settle()?;
            self.waiting_is_dark = is_dark;
        }
        self.waiting.extend(shape.path());
        Ok(())
    }

    /// Keeps what is waiting as an area of its colour.
    fn settle_colour(&mut self) -> Result<(), ArtError> {
        let waiting = std::mem::take(&mut self.waiting);
        if let Some((colour, areas)) = self.in_colours.as_mut().filter(|_| !waiting.is_empty()) {
            areas.push((*colour, region(&waiting, Rule::NonZero)?));
        }
        Ok(())
    }

    /// What was painted in each colour, in the order drawn; none where it is in two tones.
    pub(super) fn areas(&mut self) -> Result<Vec<Area>, ArtError> {
        self.settle_colour()?;
        Ok(self.in_colours.take().map(|(_, areas)| areas).unwrap_or_default())
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

    /// The colour of a paint on white; none where it leaves no trace or cannot be taken.
    pub(super) fn tone(&mut self, paint: &Paint, opacity: f64, on: &str) -> Option<[u8; 3]> {
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
        Some(on_white(colour, opacity))
    }
}

/// A colour laid on white.
fn on_white(colour: Color, opacity: f64) -> [u8; 3] {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
    let part = |channel: u8| (255.0 - opacity.min(1.0) * (255.0 - f64::from(channel))).round() as u8;
    [part(colour.red), part(colour.green), part(colour.blue)]
}

/// Relative luminance (W3C WCAG 2.2).
fn luminance(colour: [u8; 3]) -> f64 {
    let part = |channel: u8| {
        let value = f64::from(channel) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    let [red, green, blue] = colour.map(part);
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}
