//! What keeps a dial from turning by itself, and what the fingers must bring up.
//!
//! Magnets on the axis give no torque about it: holding is friction alone, plus any click stops.

use super::{OutOfRange, STANDARD_GRAVITY, distance, in_range};
use crate::units::{Angle, Dimension, Force, Length, Mass, Torque};

/// Where a coefficient of friction comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// A tilt test in the shop.
    Measured,
    /// Printed ranges for these two.
    Published(Surface, Surface),
    /// Round values of the trade for these two (common practice, no source).
    Nominal(Surface, Surface),
}

/// What a face is made of, as far as friction goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Surface {
    /// Wood, and boards of wood fibre.
    Wood,
    /// Acrylic, and whatever else is clear.
    Acrylic,
    /// Card and paper.
    Card,
    /// Plating of magnets, heads of rivets.
    Metal,
    /// Something else.
    Other,
}

impl Surface {
    /// What it is called in a sentence.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wood => "wood",
            Self::Acrylic => "acrylic",
            Self::Card => "card",
            Self::Metal => "metal",
            Self::Other => "a material of another kind",
        }
    }
}

/// A range for the static coefficient of friction; no unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    /// Least.
    pub least: f64,
    /// Greatest.
    pub most: f64,
    /// Where it comes from.
    pub basis: Basis,
}

impl Coefficient {
    /// Wood on wood, static: from 0.12 (0.12 to 0.24 for Scots pine: Aira et al., Materiales de Construcción) up to
    /// 0.65, which stands for air-dry wood on unpolished steel in "The frictional behaviour of wood" (Wood Science and
    /// Technology), where wood on wood is said to be similar; both read as abstracts only.
    pub const WOOD_ON_WOOD: Self =
        Self { least: 0.12, most: 0.65, basis: Basis::Published(Surface::Wood, Surface::Wood) };

    /// What is taken for two faces of which nothing was measured. Friction belongs to a pair: what wood does on wood says
    /// nothing of acrylic or card. Wood on wood is printed, all others are nominal and wide (common practice, no source;
    /// 0.8 for acrylic on acrylic and 1.1 for nickel on nickel stand in tables, from memory).
    pub fn between(one: Surface, other: Surface) -> Self {
        let (low, high) = if one < other { (one, other) } else { (other, one) };
        let (least, most) = match (low, high) {
            (Surface::Wood, Surface::Wood) => return Self::WOOD_ON_WOOD,
            (Surface::Acrylic, Surface::Acrylic) => (0.15, 0.8),
            (Surface::Card, Surface::Card) => (0.2, 0.7),
            (Surface::Metal, Surface::Metal) => (0.15, 1.1),
            (Surface::Wood, Surface::Card) => (0.15, 0.7),
            _ => (0.1, 0.8),
        };
        Self { least, most, basis: Basis::Nominal(one, other) }
    }

    /// From tilt tests: one layer lies on the other, and the board is tilted until it slides; `mu = tan(angle)`, by
    /// the balance of forces on a slope. Least and greatest of all readings; none for an empty list.
    ///
    /// # Errors
    /// An angle outside 0 to 85deg.
    pub fn from_tilts(angles: &[Angle]) -> Result<Option<Self>, OutOfRange> {
        let mut range: Option<Self> = None;
        for angle in angles {
            let degrees = in_range("angle of the tilt test", angle.as_degrees(), &(0.0..=85.0), Dimension::ANGLE)?;
            let mu = degrees.to_radians().tan();
            let (least, most) = range.map_or((mu, mu), |so_far| (so_far.least.min(mu), so_far.most.max(mu)));
            range = Some(Self { least, most, basis: Basis::Measured });
        }
        Ok(range)
    }
}

/// The ring on which two faces touch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    inner: f64,
    outer: f64,
}

/// A torque between two bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TorqueRange {
    /// At the least coefficient.
    pub least: Torque,
    /// At the greatest.
    pub most: Torque,
}

/// Torque at which two faces pressed together begin to slip, by several readings of where the pressure sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holding {
    /// Pressure even all over: `2/3 mu F (Ro³-Ri³)/(Ro²-Ri²)`.
    pub uniform_pressure: TorqueRange,
    /// Worn in, pressure falling with the radius: `1/2 mu F (Ro+Ri)`.
    pub uniform_wear: TorqueRange,
    /// All pressure at the edge of the pocket, `mu F Ri`: the faces are hollow, or bow away from the magnets.
    pub at_pocket: TorqueRange,
    /// All pressure at the rim, `mu F Ro`: the faces are cupped.
    pub at_rim: TorqueRange,
}

impl Holding {
    /// The whole bracket: least coefficient at the pocket, greatest at the rim.
    pub fn bracket(&self) -> TorqueRange {
        TorqueRange { least: self.at_pocket.least, most: self.at_rim.most }
    }

    /// The range to expect from flat faces: the lower textbook model at the least coefficient (uniform wear), the upper
    /// one (uniform pressure) at the greatest.
    pub fn expected(&self) -> TorqueRange {
        TorqueRange { least: self.uniform_wear.least, most: self.uniform_pressure.most }
    }
}

impl Contact {
    /// Faces that touch from the edge of the pocket, `inner` from the axis, to their rim, `outer`.
    ///
    /// # Errors
    /// A radius that is negative or above 10 m, or a rim that is not outside the pocket.
    pub fn new(inner: Length, outer: Length) -> Result<Self, OutOfRange> {
        // Faces do not touch over the pocket, where the magnets sit.
        let inside = distance("radius of the pocket", inner)?;
        let outside = distance("radius of the rim", outer)?;
        if outside <= inside {
            let (value, least) = (outer.quantity(), inner.quantity());
            return Err(OutOfRange { what: "radius of the rim", value, least, most: Length::mm(1e4).quantity() });
        }
        Ok(Self { inner: inside, outer: outside })
    }

    /// Holding torque under a force that presses the faces together (nothing where it is negative). The two models for
    /// a disc clutch stand in any textbook of machine design (Shigley; from memory).
    pub fn holding(&self, force: Force, mu: Coefficient) -> Holding {
        let (inner, outer) = (self.inner, self.outer);
        let annulus = (inner * inner + inner * outer + outer * outer) / (inner + outer);
        let newtons = force.as_newtons().max(0.0);
        let at = |lever: f64| {
            let torque = |mu: f64| Torque::millinewton_metres(1e3 * mu * newtons * lever);
            TorqueRange { least: torque(mu.least), most: torque(mu.most) }
        };
        Holding {
            uniform_pressure: at(2.0 / 3.0 * annulus),
            uniform_wear: at(0.5 * (inner + outer)),
            at_pocket: at(inner),
            at_rim: at(outer),
        }
    }
}

/// Weight of a mass at standard gravity (9.80665 m/s², 3rd CGPM, 1901).
pub fn weight(mass: Mass) -> Force {
    Force::newtons(mass.as_kilograms() * STANDARD_GRAVITY)
}

/// Torque by which gravity turns a half that hangs upright, its centre of mass `offset` from the axis at `bearing` from
/// straight up: `m g d sin(bearing)`, positive clockwise. Worst at 90deg.
pub fn gravity_torque(mass: Mass, offset: Length, bearing: Angle) -> Torque {
    lever(weight(mass), offset) * bearing.as_radians().sin()
}

/// How many times over friction holds a half against its own weight in the worst attitude that the dial can be held in;
/// none for a balanced half, which nothing turns, and nothing where the weight parts the halves.
///
/// With the axis `t` from upright the half that hangs below is pressed on with `F - W cos t` and turned by `W d sin t`. The
/// holding torque is `c` for each newton pressed, and `clicks` more, so the ratio is `(c (F - W cos t) + K)/(W d sin t)`; its
/// least value over `t` is `c sqrt(P² - W²)/(W d)`, `P = F + K/c`, where `cos t = W/P`.
pub fn holds_over(holding: Torque, pull: Force, clicks: Torque, mass: Mass, offset: Length) -> Option<f64> {
    let (heavy, pull) = (weight(mass).as_newtons(), pull.as_newtons());
    let turning = heavy * offset.as_mm();
    if turning <= 0.0 {
        return None;
    }
    let torque = holding.as_millinewton_metres();
    // Where the weight parts the halves nothing is pressed any more, and friction with it is gone.
    if torque <= 0.0 || pull <= heavy {
        return Some(0.0);
    }
    let each = torque / pull;
    let pressed = pull + clicks.as_millinewton_metres().max(0.0) / each;
    Some(each * (pressed * pressed - heavy * heavy).sqrt() / turning)
}

/// What a thumb finds comfortable at the rim of a wheel with stops: from 1.7 to 5.6 N, 6 to 20 ounces (MIL-STD-1472E, figure
/// 6, discrete thumbwheel controls; the scan that was read is blurred at the upper figure, which is from memory).
pub const COMFORTABLE_THUMB: (Force, Force) = (Force::newtons(1.7), Force::newtons(5.6));

/// Force of a thumb that pushes along the rim against this torque; none where the radius is not above zero.
pub fn thumb_force(torque: Torque, rim: Length) -> Option<Force> {
    (rim > Length::ZERO).then(|| Force::newtons(torque.as_millinewton_metres() / rim.as_mm()))
}

/// The shock that parts the layers, in multiples of standard gravity: `F / (m g)` for a layer of this mass that is jerked
/// along the axis. None for a mass that is not above zero.
pub fn shock_to_part(pull: Force, mass: Mass) -> Option<f64> {
    (mass > Mass::ZERO).then(|| pull.as_newtons().max(0.0) / weight(mass).as_newtons())
}

/// The shock along the face that turns a half with its centre of mass `offset` from the axis, in multiples of standard
/// gravity: `T / (m g d)`. None where it is balanced, since such a shock does not turn it.
pub fn shock_to_turn(holding: Torque, mass: Mass, offset: Length) -> Option<f64> {
    let torque = lever(weight(mass), offset).as_millinewton_metres();
    (torque > 0.0).then(|| holding.as_millinewton_metres().max(0.0) / torque)
}

fn lever(force: Force, arm: Length) -> Torque {
    Torque::millinewton_metres(force.as_newtons() * arm.as_mm())
}
