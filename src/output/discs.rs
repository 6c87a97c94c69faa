//! Where every magnet of a dial lies, and which pole it shows.

use kurbo::Point;

use crate::audit::Audit;
use crate::design::axis::magnets;
use crate::design::{Design, Face, Magnet, Pole};
use crate::geometry::polar;
use crate::physics::Polarity;
use crate::units::Length;

/// A magnet of a dial, each of a ring by itself.
pub(super) struct Disc<'d> {
    pub(super) magnet: &'d Magnet,
    /// Where it stands, in the frame of the dial.
    pub(super) place: Point,
    /// How far from the axis of its turn; none on it.
    pub(super) around: Option<Length>,
    /// Where its north pole looks, where that matters.
    pub(super) north: Option<Pole>,
    /// The layer that it belongs to, and the face it is glued into.
    pub(super) seat: (usize, Face),
}

/// Every magnet of a dial, those that lie behind first.
pub(super) fn discs<'d>(design: &'d Design, audit: &Audit) -> Vec<Disc<'d>> {
    let (axis, _) = magnets(design);
    let mut all: Vec<Disc> = axis
        .iter()
        .map(|it| Disc {
            magnet: it.magnet,
            place: it.axis,
            around: None,
            north: it.poled.then_some(it.north),
            seat: (it.layer, it.face),
        })
        .collect();
    for found in &audit.holding.turns {
        let Some(rings) = found.magnets.as_ref().and_then(|held| held.clicks.as_ref()) else { continue };
        let turn = design.turns().find(|(below, _)| *below == found.below);
        let Some(clicks) = turn.and_then(|(_, turn)| turn.clicks.as_ref()) else { continue };
        let (low, high) = design.across(found.below);
        let axis = design.axis(high).to_vec2();
        let both = [
            ((low, Face::Front), &rings.bearings.0, &rings.pattern.lower),
            ((high, Face::Back), &rings.bearings.1, &rings.pattern.upper),
        ];
        for (seat, bearings, poles) in both {
            all.extend(bearings.iter().zip(poles).map(|(bearing, pole)| Disc {
                magnet: &clicks.magnet,
                place: polar(clicks.radius.as_mm(), *bearing) + axis,
                around: Some(clicks.radius),
                north: Some(if *pole == Polarity::Up { Pole::Up } else { Pole::Down }),
                seat,
            }));
        }
    }
    // What lies behind is drawn first.
    all.sort_by(|a, b| b.place.y.total_cmp(&a.place.y));
    all
}
