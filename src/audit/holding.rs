//! What holds a turn: pull of its magnets, torque to turn it, and the hazard of a loose magnet.
//!
//! The forces are those of [`crate::physics`], with its uncertainty: they may be 15 % off, and friction of wood has a
//! wide range, so the torque given is the least to be expected.

use crate::design::stops::click_bearings;
use crate::design::{Clicks, Depth, Design, Layer, Magnet, Pivot, Seat, Turn};
use crate::diagnostics::Problems;
use crate::diagnostics::findings::holding as say;
use crate::physics::clicks::ClickRing;
use crate::physics::friction::{Coefficient, Contact};
use crate::physics::hazard::hazard;
use crate::physics::seat::{Seating, true_gap};
use crate::physics::{self, Disc, Facing, Polarity};
use crate::units::{Angle, Force, Length, Torque};

/// Says of every magnet of the dial whether it is a hazard when it comes loose.
pub fn hazards(design: &Design) -> Problems {
    let mut problems = Problems::default();
    let mut seen: Vec<&str> = Vec::new();
    for (_, turn) in design.turns() {
        let clicks = turn.clicks.as_ref().map(|clicks| &clicks.magnet);
        let axis = match &turn.pivot {
            Pivot::Magnets { magnet, .. } => Some(magnet),
            Pivot::Rivet(_) => None,
        };
        for magnet in axis.into_iter().chain(clicks) {
            if seen.contains(&magnet.name.as_str()) {
                continue;
            }
            seen.push(&magnet.name);
            if let Some(found) = disc(magnet).map(|disc| hazard(&disc)).filter(physics::hazard::Hazard::is_hazardous) {
                problems.push(say::magnet_hazard(magnet, &found, turn.origin));
            }
        }
    }
    problems
}

/// The force that lifts the half of this layer off, its click magnets included; none where no magnets hold it.
pub fn lift_off(design: &Design, layer: &str) -> Option<Force> {
    let (below, turn) = turn_of(design, layer)?;
    let axis = axis_pair(design, below, turn)?.pull();
    let clicks = turn.clicks.as_ref().and_then(|clicks| Some(click_pair(clicks)?.pull() * per_stop(turn)));
    Some(axis + clicks.unwrap_or_default())
}

/// The least torque that turns the half of this layer: friction under the magnets' pull at the least coefficient of
/// wood on wood, and the strongest push of its clicks; none where no magnets hold it.
pub fn turning_torque(design: &Design, layer: &str) -> Option<Torque> {
    let (below, turn) = turn_of(design, layer)?;
    let Pivot::Magnets { magnet, .. } = &turn.pivot else { return None };
    let upper = design.layers.get(below + 1)?;
    let rim = upper.outline.bounds().map(|bounds| Length::mm(bounds.width().min(bounds.height()) / 2.0))?;
    let contact = Contact::new((magnet.diameter + magnet.clearance) / 2.0, rim).ok()?;
    let friction = contact.holding(lift_off(design, layer)?, Coefficient::WOOD_ON_WOOD).expected().least;
    let push = match &turn.clicks {
        Some(clicks) => Torque::millinewton_metres(clicking(turn, clicks)?.peak().torque.as_millinewton_metres().abs()),
        None => Torque::ZERO,
    };
    Some(friction + push)
}

/// The turn right below the half that this layer is glued to; for the bottom half, the turn right above it.
fn turn_of<'d>(design: &'d Design, layer: &str) -> Option<(usize, &'d Turn)> {
    let (at, _) = design.layer(layer)?;
    let below = design.turns().filter(|(joint, _)| *joint < at).last();
    below.or_else(|| design.turns().find(|(joint, _)| *joint >= at))
}

fn disc(magnet: &Magnet) -> Option<Disc> {
    Disc::new(magnet.diameter, magnet.height, magnet.remanence).ok()
}

/// The two magnets on the axis of a turn, at the gap that is left between their poles.
fn axis_pair(design: &Design, below: usize, turn: &Turn) -> Option<Facing> {
    let Pivot::Magnets { magnet, lower, upper } = &turn.pivot else { return None };
    let between =
        boards(design.layers.get(lower.layer + 1..=below)?) + boards(design.layers.get(below + 1..upper.layer)?);
    let seated = true_gap(&seating(magnet, lower), &seating(magnet, upper), between);
    Facing::new(disc(magnet)?, disc(magnet)?, seated.gap).ok()
}

/// In a hole right through, a magnet is drawn to the end that looks at its partner.
fn seating(magnet: &Magnet, seat: &Seat) -> Seating {
    let pocket = match seat.depth {
        Depth::Down(depth) => depth,
        Depth::Through => magnet.height,
    };
    Seating { pocket, height: magnet.height, film: Length::ZERO, plating: Length::ZERO }
}

fn boards(layers: &[Layer]) -> Length {
    layers.iter().fold(Length::ZERO, |all, layer| all + layer.stock.thickness.mean)
}

fn click_pair(clicks: &Clicks) -> Option<Facing> {
    let seat =
        Seating { pocket: clicks.depth, height: clicks.magnet.height, film: Length::ZERO, plating: Length::ZERO };
    Facing::new(disc(&clicks.magnet)?, disc(&clicks.magnet)?, true_gap(&seat, &seat, Length::ZERO).gap).ok()
}

/// Pairs of click magnets that meet at a stop: all of them where the stops are even, else the single upper one.
fn per_stop(turn: &Turn) -> f64 {
    let (_, upper) = click_bearings(&turn.stops);
    #[allow(clippy::cast_precision_loss, reason = "the limit on stops is small")]
    let pairs = upper.len() as f64;
    pairs
}

fn clicking(turn: &Turn, clicks: &Clicks) -> Option<physics::Clicks> {
    let ring = |bearings: Vec<Angle>| ClickRing {
        radius: clicks.radius,
        seats: bearings.into_iter().map(|bearing| (bearing, Polarity::Up)).collect(),
    };
    let (lower, upper) = click_bearings(&turn.stops);
    physics::Clicks::new(&click_pair(clicks)?, &ring(lower), &ring(upper)).ok()
}
