//! What the shop has: stocks, magnets, rivets and adhesives.
//!
//! A measured value keeps its mean and spread; a nominal one says so.

use std::collections::BTreeMap;

use super::material::Material;
use super::pass_depths::PassDepths;
use super::rates::Speeds;
use crate::geometry::Region;
use crate::physics::friction::Surface;
use crate::source::Span;
use crate::statistics::Mean;
use crate::units::{Angle, Density, FluxDensity, Length, Mass, Pressure, Time};

/// A length that was measured several times, or only stated.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Mean of the readings.
    pub mean: Length,
    /// Standard deviation of the readings; none for a single one.
    pub spread: Option<Length>,
    /// How many readings; 0 for a nominal figure.
    pub readings: usize,
}

impl Measured {
    /// A figure nobody measured.
    pub fn nominal(mean: Length) -> Self {
        Self { mean, spread: None, readings: 0 }
    }

    /// From readings: mean and sample standard deviation (n - 1); none for an empty list.
    pub fn from_readings(readings: &[Length]) -> Option<Self> {
        let all: Vec<f64> = readings.iter().map(|reading| reading.as_mm()).collect();
        let Mean { mean, deviation, count } = Mean::of(&all)?;
        Some(Self { mean: Length::mm(mean), spread: deviation.map(Length::mm), readings: count })
    }
}

/// A colour seen on the stock, sRGB.
pub type Tone = [u8; 3];

/// A sheet material.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Its name.
    pub name: String,
    /// What it is made of, where that is said.
    pub material: Option<String>,
    /// How thick it is.
    pub thickness: Measured,
    /// Width and height of a board.
    pub board: (Length, Length),
    /// Width of a cut.
    pub kerf: Length,
    /// Pocket depth after 1, 2 … passes; empty where not measured.
    pub passes: PassDepths,
    /// Kept free at the board's edge.
    pub margin: Length,
    /// Kept free between parts.
    pub gap: Length,
    /// Kept free between a mark and the nearest edge.
    pub clear_edge: Length,
    /// Kept free between a label and the edge of its opening, where the compiler chooses the label's height.
    pub clear_opening: Length,
    /// Smallest mark or gap that burns cleanly.
    pub least_feature: Length,
    /// Least floor to be left under a pocket.
    pub least_floor: Length,
    /// Thickness of its face veneer, where it has one and it is known.
    pub face_veneer: Option<Length>,
    /// Whether one looks through it.
    pub clear: bool,
    /// Bare surface.
    pub colour: Tone,
    /// Engraved surface.
    pub engraved: Tone,
    /// Direction of the grain on the board, as a bearing, where it has one.
    pub grain: Option<Angle>,
    /// What one board weighs, where it was weighed.
    pub weighs: Option<Mass>,
    /// Tilts at which a piece of it begins to slide on another; empty where not measured.
    pub tilts: Vec<Angle>,
    /// The same on a piece of another stock, by its name.
    pub tilts_on: BTreeMap<String, Vec<Angle>>,
    /// Places on the board where nothing is laid, its lower left corner at the origin; clamps, for instance.
    pub keep_out: Region,
    /// Price of a board, in the shop's currency.
    pub cost: Option<f64>,
    /// How fast the machine works it.
    pub speeds: Speeds,
    /// Whether its figures are nominal, not measured.
    pub nominal: bool,
    /// What asked for it; none in the built-in shop.
    pub origin: Option<Span>,
}

/// Words that tell card or paper, and materials that are neither wood, card nor acrylic.
const CARD: [&str; 4] = ["card", "cardboard", "greyboard", "paper"];
const OTHER: [&str; 12] = [
    "acetal",
    "cork",
    "cotton",
    "ethylene",
    "eva",
    "felt",
    "leather",
    "linen",
    "polypropylene",
    "rubber",
    "slate",
    "stone",
];

impl Stock {
    /// What its faces are made of, by its material, else by its name; wood where neither says otherwise.
    pub fn surface(&self) -> Surface {
        let said = self.material.as_ref().unwrap_or(&self.name).to_lowercase();
        let says = |known: &[&str]| said.split(|part: char| !part.is_alphabetic()).any(|word| known.contains(&word));
        let unlisted = self.material.as_deref().is_some_and(|material| Material::named(material) == Material::Unlisted);
        if self.clear || says(&["acrylic"]) {
            Surface::Acrylic
        } else if says(&CARD) {
            Surface::Card
        } else if unlisted || says(&OTHER) {
            Surface::Other
        } else {
            Surface::Wood
        }
    }

    /// Density: of the board that was weighed, since a kitchen scale is at hand where a table of woods is not, else
    /// 1190 kg/m3 for clear stock (acrylic) and 700 kg/m3 for all other (about that of birch: common practice, no
    /// source).
    pub fn density(&self) -> Density {
        let volume = self.board.0.as_mm() * self.board.1.as_mm() * self.thickness.mean.as_mm();
        match self.weighs {
            Some(mass) if volume > 0.0 => Density::kilograms_per_cubic_metre(mass.as_kilograms() / (volume * 1e-9)),
            _ => Density::kilograms_per_cubic_metre(if self.clear { 1190.0 } else { 700.0 }),
        }
    }
}

/// What makes a disc one of steel, which holds by a magnet and has no pole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steel {
    /// Diameter of the hole through its middle.
    pub hole: Length,
    /// The polarisation beyond which it takes up no more.
    pub saturation: FluxDensity,
}

/// A disc that lies in a pocket: a magnet, magnetised along its axis, or a steel washer that one holds by.
#[derive(Clone, Debug, PartialEq)]
pub struct Magnet {
    /// Its name.
    pub name: String,
    /// Diameter.
    pub diameter: Length,
    /// Standard deviation of that, by its readings; zero where it was read once.
    pub diameter_strays: Length,
    /// Height.
    pub height: Length,
    /// Remanence; zero of steel.
    pub remanence: FluxDensity,
    /// What is said of it where it is a washer; none of a magnet.
    pub steel: Option<Steel>,
    /// How much wider than the magnet its pocket is.
    pub clearance: Length,
    /// How far below the face the magnet sits.
    pub sink: Length,
    /// Thickness of its plating, which carries no magnetism; the measured sizes hold it.
    pub plating: Length,
    /// What it is glued with; none where the shop has no adhesive.
    pub adhesive: Option<Adhesive>,
    /// Price of one, in the shop's currency.
    pub cost: Option<f64>,
    /// Whether its figures are nominal, not measured.
    pub nominal: bool,
    /// What asked for it; none in the built-in shop.
    pub origin: Option<Span>,
}

impl Magnet {
    /// What it is, by the word of its block.
    pub const fn word(&self) -> &'static str {
        if self.steel.is_some() { "washer" } else { "magnet" }
    }

    /// Diameter of the hole through its middle; zero of a magnet.
    pub fn hole(&self) -> Length {
        self.steel.map_or(Length::ZERO, |steel| steel.hole)
    }

    /// Thickness of the glue beneath it; zero where it is glued with nothing.
    pub fn film(&self) -> Length {
        self.adhesive.as_ref().map_or(Length::ZERO, |glue| glue.film)
    }
}

/// How two halves are clamped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fastener {
    /// By a rivet or eyelet.
    Rivet,
    /// By a pin with a head and a nut, such as a screw.
    Pin,
}

impl Fastener {
    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rivet => "rivet",
            Self::Pin => "pin",
        }
    }
}

/// What clamps at one end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Head {
    /// How wide it is.
    pub diameter: Length,
    /// How far it stands out of the face that it lies on.
    pub height: Length,
}

/// What goes through both halves of a turn and clamps them.
#[derive(Clone, Debug, PartialEq)]
pub struct Rivet {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: Fastener,
    /// Diameter of the shank.
    pub shank: Length,
    /// What lies on the back of the lowest layer that it joins, and on the front of the uppermost: the heads of a rivet,
    /// or the nut and the head of a pin.
    pub heads: [Head; 2],
    /// Least and greatest thickness it grips.
    pub grips: (Length, Length),
    /// How much wider than the shank its hole is.
    pub clearance: Length,
    /// Price of one, in the shop's currency.
    pub cost: Option<f64>,
    /// What asked for it; none in the built-in shop.
    pub origin: Option<Span>,
}

/// A pin without a head, which is glued in.
#[derive(Clone, Debug, PartialEq)]
pub struct Dowel {
    /// Its name.
    pub name: String,
    /// Its diameter.
    pub shank: Length,
    /// Its length.
    pub length: Length,
    /// What it is glued with; none where the shop has no adhesive.
    pub adhesive: Option<Adhesive>,
    /// How much wider than it its hole is.
    pub clearance: Length,
    /// Price of one, in the shop's currency.
    pub cost: Option<f64>,
    /// What asked for it; none in the built-in shop.
    pub origin: Option<Span>,
}

/// A pin of the shop.
#[derive(Clone, Debug, PartialEq)]
pub enum Pin {
    /// One that clamps.
    Clamps(Rivet),
    /// One that is glued in.
    Glued(Dowel),
}

/// An adhesive.
#[derive(Clone, Debug, PartialEq)]
pub struct Adhesive {
    /// Its name.
    pub name: String,
    /// How long it cures.
    pub cure: Time,
    /// How thick the film is.
    pub film: Length,
    /// The pull that it withstands for each area glued, where the shop states it.
    pub strength: Option<Pressure>,
    /// Price of a millilitre, in the shop's currency.
    pub cost: Option<f64>,
    /// What asked for it; none in the built-in shop.
    pub origin: Option<Span>,
}
