//! What turning parts over leaves of their centring. It follows from audit and plan, so it is no part of a [`Design`], which
//! nobody changes once it is made, but a value that is passed along with it.

use super::{Assumption, Design, FlipChoice, Layer, Spreads};
use crate::units::Length;

/// How far the pockets of parts that are turned over stray, and which boards are turned whole for it. The empty one, of
/// [`Default`], is that of a design whose parts have not been looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Centring {
    /// Standard deviation of a pocket's centre off the axis, in x and in y, as the play of parts that are turned over gives
    /// it; none where the shop states one, or no part is turned over.
    pub strays: Option<Length>,
    /// The same in words, for whoever reads what was taken for granted.
    pub assumption: Option<Assumption>,
    /// The room that readings lack where parts are turned over in their own openings; none where they have enough.
    pub lacks: Option<Room>,
}

/// Why parts are not laid back into their own openings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// The least room for error in centring that any reading leaves.
    pub left: Length,
    /// What the pockets' centring would take of it in the openings, at its worst.
    pub taken: Length,
}

impl Centring {
    /// The room for whose sake the whole board of this layer is turned over; none where it is not. The maker's own word on
    /// how a layer is turned goes before.
    pub fn turns_board_of(&self, layer: &Layer) -> Option<Room> {
        self.lacks.filter(|_| layer.flip == FlipChoice::Chosen && layer.is_two_faced())
    }

    /// The spreads of a shop with the centring that counts: the shop's own, else what turning parts over leaves.
    pub fn within(&self, shop: &Spreads) -> Spreads {
        Spreads { concentricity: shop.concentricity.or(self.strays), ..*shop }
    }
}

/// A design with what is known of its centring.
#[derive(Clone, Copy, Debug)]
pub struct Centred<'a> {
    /// The design.
    pub design: &'a Design,
    /// What turning its parts over leaves of their centring.
    pub centring: &'a Centring,
}

static UNKNOWN: Centring = Centring { strays: None, assumption: None, lacks: None };

impl<'a> From<&'a Design> for Centred<'a> {
    /// With nothing known of its centring.
    fn from(design: &'a Design) -> Self {
        Self { design, centring: &UNKNOWN }
    }
}
