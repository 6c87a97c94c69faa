//! Where the magnets of a dial are seen as they are glued in, and of each whether its dot is in sight.

use kurbo::Point;

use crate::audit::holding::Holding;
use crate::design::axis::magnets;
use crate::design::{Design, Face, Pole};
use crate::geometry::polar;
use crate::physics::Polarity;
use crate::plan::seen_on;

/// A magnet on a face: where, how wide and high in mm, and whether its dot is seen.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    pub(super) layer: usize,
    pub(super) face: Face,
    /// In the front frame of its layer.
    pub(super) at: Point,
    pub(super) radius: f64,
    /// Radius of the hole through it; zero of a magnet.
    pub(super) hole: f64,
    pub(super) high: f64,
    pub(super) dot: bool,
    /// Whether it matters which way up it lies.
    pub(super) poled: bool,
    /// Its place among the magnets on axes; none for those of clicks.
    pub(super) axis: Option<usize>,
}

/// Every magnet of a dial.
pub(super) fn seen(design: &Design, holding: &Holding) -> Vec<Seen> {
    // A dot marks the north pole of every magnet before it is glued in, so it is seen where that pole looks out of
    // the face.
    let dot = |north: Pole, face: Face| (north == Pole::Up) == (face == Face::Front);
    let on_axis = magnets(design).0.into_iter().enumerate().map(|(nth, it)| {
        let face = seen_on(&it);
        let radius = it.magnet.diameter.as_mm() / 2.0;
        let high = it.magnet.height.as_mm();
        let hole = it.magnet.hole().as_mm() / 2.0;
        let dot = it.poled && dot(it.north, face);
        Seen { layer: it.layer, face, at: it.at(design), radius, hole, high, dot, poled: it.poled, axis: Some(nth) }
    });
    let mut all: Vec<Seen> = on_axis.collect();
    for found in &holding.turns {
        let Some(rings) = found.magnets.as_ref().and_then(|held| held.clicks.as_ref()) else { continue };
        let turn = design.turns().find(|(below, _)| *below == found.below);
        let Some((turn, clicks)) = turn.and_then(|(_, turn)| Some((turn, turn.clicks.as_ref()?))) else { continue };
        let (low, high) = design.across(found.below);
        let both = [
            (low, Face::Front, &rings.bearings.0, &rings.pattern.lower),
            (high, Face::Back, &rings.bearings.1, &rings.pattern.upper),
        ];
        for (layer, face, bearings, poles) in both {
            all.extend(bearings.iter().zip(poles).map(|(bearing, pole)| Seen {
                layer,
                face,
                at: polar(clicks.radius.as_mm(), *bearing) + design.axis_on(turn, layer).to_vec2(),
                radius: clicks.magnet.diameter.as_mm() / 2.0,
                hole: 0.0,
                high: clicks.magnet.height.as_mm(),
                axis: None,
                poled: true,
                dot: dot(if *pole == Polarity::Up { Pole::Up } else { Pole::Down }, face),
            }));
        }
    }
    all
}
