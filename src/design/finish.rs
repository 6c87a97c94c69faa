//! Finishing, and the colours that come of it.

use super::{Ink, Layer, Tone};
use crate::source::Span;

/// What is done to a layer's faces beside cutting.
#[derive(Clone, Debug, PartialEq)]
pub struct Finish {
    /// Its name.
    pub name: String,
    /// The colour of the stained face; none where it is not stained.
    pub stain: Option<Tone>,
    /// Whether it is stained after cutting, engravings and all; else before, so that engravings go through the stain.
    pub after: bool,
    /// The colour that engravings are filled with; none where they are not.
    pub fill: Option<Tone>,
    /// Price of finishing one layer of one dial with it, in the shop's currency.
    pub cost: Option<f64>,
    /// What asked for it.
    pub origin: Span,
}

/// How far the finishing of a layer has come, for pictures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finished {
    /// As it comes from the machine, neither stained nor filled.
    Bare,
    /// Stained, where it is; engravings are not filled.
    Stained,
    /// All that its finish says.
    Filled,
}

impl Layer {
    /// The colour of a finished face where nothing is engraved.
    pub fn surface(&self) -> Tone {
        self.surface_as(Finished::Filled)
    }

    /// The colour of a face where nothing is engraved.
    pub fn surface_as(&self, as_far: Finished) -> Tone {
        let stain = self.finish.as_ref().and_then(|finish| finish.stain);
        stain.filter(|_| as_far != Finished::Bare).unwrap_or(self.stock.colour)
    }

    /// The colour of a finished engraving of a tone from 0 to 1: between the face and a mark of full tone, channel by
    /// channel. A stain over an engraving lets through what the wood and the stain both let through, the product of
    /// their channels (nominal; common practice, no source).
    pub fn marked(&self, tone: f64) -> Tone {
        self.marked_as(tone, Finished::Filled)
    }

    /// The same when the finishing has come so far.
    pub fn marked_as(&self, tone: f64, as_far: Finished) -> Tone {
        let finish = self.finish.as_ref().filter(|_| as_far != Finished::Bare);
        let (stain, fill, after) =
            finish.map_or((None, None, false), |finish| (finish.stain, finish.fill, finish.after));
        let full = match (fill.filter(|_| as_far == Finished::Filled), stain.filter(|_| after)) {
            (Some(fill), _) => fill,
            (None, Some(stain)) => each(self.stock.engraved, stain, |wood, stain| wood * stain / 255.0),
            (None, None) => self.stock.engraved,
        };
        each(self.surface_as(as_far), full, |from, to| from + (to - from) * tone.clamp(0.0, 1.0))
    }

    /// The colour of an engraving of a tone from 0 to 1, filled with this ink: the ink's own, where that is told.
    pub fn inked(&self, tone: f64, ink: Option<&Ink>) -> Tone {
        self.inked_as(tone, ink, Finished::Filled)
    }

    /// The same when the finishing has come so far.
    pub fn inked_as(&self, tone: f64, ink: Option<&Ink>, as_far: Finished) -> Tone {
        let ink = ink.filter(|_| as_far == Finished::Filled);
        ink.and_then(|ink| ink.colour).unwrap_or_else(|| self.marked_as(tone, as_far))
    }
}

fn each([r, g, b]: Tone, [other_r, other_g, other_b]: Tone, of: impl Fn(f64, f64) -> f64) -> Tone {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a channel")]
    let channel = |one: u8, other: u8| of(f64::from(one), f64::from(other)).round().clamp(0.0, 255.0) as u8;
    [channel(r, other_r), channel(g, other_g), channel(b, other_b)]
}

/// A colour as the language writes it.
pub fn hex([red, green, blue]: Tone) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}
