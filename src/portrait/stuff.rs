//! What a part is made of, as far as the eye can tell.

use super::grain::{COARSE, FINE, Figure};
use crate::design::Stock;
use crate::physics::friction::Surface;

/// How a stock takes the light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Stuff {
    /// Wood, with how it is figured, and whether its edge shows plies.
    Wood { figure: &'static Figure, plies: bool },
    /// Card, and all else that is dull and even: fibre boards, felt, leather.
    Card,
    /// Sheets that shine and hide what is behind them.
    Gloss,
    /// Sheets that one looks through.
    Clear,
    /// Heads, pins and magnets.
    Metal,
}

/// Woods with large open pores (Wheeler, Baas and Gasson, "IAWA List of Microscopic Features for Hardwood Identification", 1989:
/// ring-porous and semi-ring-porous woods; from memory).
const COARSE_WOODS: [&str; 3] = ["ash", "oak", "walnut"];
/// Boards of wood fibres, which have no grain, and bark.
const FIBRE: [&str; 5] = ["cork", "fibreboard", "hardboard", "hdf", "mdf"];

impl Stuff {
    /// Of a stock: clear where it says so, else by its material, else by its name.
    pub(super) fn of(stock: &Stock) -> Self {
        let said = stock.material.as_ref().unwrap_or(&stock.name).to_lowercase();
        let says = |known: &[&str]| said.split(|part: char| !part.is_alphabetic()).any(|word| known.contains(&word));
        match stock.surface() {
            _ if stock.clear => Self::Clear,
            Surface::Acrylic => Self::Gloss,
            Surface::Metal => Self::Metal,
            Surface::Card | Surface::Other => Self::Card,
            Surface::Wood if says(&FIBRE) => Self::Card,
            Surface::Wood => {
                let figure = if says(&COARSE_WOODS) { &COARSE } else { &FINE };
                // A board that says which wood it is and nothing of plies is solid; a mere name is a plywood's, as most are.
                Self::Wood { figure, plies: stock.material.is_none() || said.contains("ply") }
            }
        }
    }

    pub(super) fn is_wood(self) -> bool {
        matches!(self, Self::Wood { .. })
    }

    /// How much a face shines where one looks straight at it, and how sharply.
    pub(super) fn gloss(self) -> (f32, u8) {
        match self {
            Self::Metal => (0.5, 24),
            Self::Gloss => (0.05, 14),
            Self::Card => (0.008, 5),
            Self::Wood { .. } | Self::Clear => (0.016, 5),
        }
    }

    /// How far the rounding or the soot of a rim reaches, in mm.
    pub(super) fn rim(self) -> f32 {
        if self == Self::Metal { 0.75 } else { 0.16 }
    }
}
