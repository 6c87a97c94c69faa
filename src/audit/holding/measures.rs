//! The measures of `expect` that ask what holds a turn.

use super::{Glued, Holding, TurnHolding};
use crate::design::{Design, Magnet, Pivot};
use crate::physics::Disc;
use crate::physics::hazard::hazard;
use crate::units::{Dimension, Force, Quantity};

impl Holding {
    /// The value of a measure of a layer's turn, or of stored dials; none where there is nothing to measure.
    pub(in crate::audit) fn measure(&self, design: &Design, name: &str, layer: &str) -> Option<Quantity> {
        if name == "stack_pull" {
            return self.stored.map(Force::quantity);
        }
        let turn = self.of_layer(design, layer)?;
        let held = || turn.magnets.as_ref();
        let number = |value: Option<f64>| value.map(Quantity::number);
        let rings = || held()?.clicks.as_ref();
        match name {
            "centring_stiffness" => {
                let value = held()?.pair.centring().as_newtons_per_mm() * 1e3;
                Some(Quantity { value, dimension: Dimension::STIFFNESS })
            }
            "click_torque" => rings().map(|rings| rings.pattern.verdict.weakest.quantity()),
            #[allow(clippy::cast_precision_loss, reason = "a handful of rests")]
            "false_clicks" => number(rings().map(|rings| rings.pattern.verdict.false_stops.len() as f64)),
            "flux_index" => number(flux_index(design, turn)),
            "friction_torque" => held().map(|held| held.friction.expected().least.quantity()),
            "glue_holds" => number(held()?.glue.iter().filter_map(Glued::times).reduce(f64::min)),
            "gravity_torque" => Some(turn.gravity().quantity()),
            "knock_to_part" => number(turn.shock_to_part()),
            "knock_to_turn" => number(turn.shock_to_turn()),
            "lift_off" => held().map(|held| held.lift_off.pull.quantity()),
            "magnet_gap" => held().map(|held| held.pair.gap().quantity()),
            "mass" => turn.half_of(design, layer).map(|half| half.mass.quantity()),
            "play" => Some(turn.play.quantity()),
            "pull_out" => {
                let all = held()?.glue.iter().filter_map(|glued| glued.pull_out.map(Force::as_newtons));
                all.reduce(f64::min).map(|least| Force::newtons(least).quantity())
            }
            "stays" => number(turn.stays()),
            "thumb_force" => turn.thumb().map(|(least, _)| least.quantity()),
            "turning_torque" => held().map(|held| held.turning().0.quantity()),
            _ => None,
        }
    }
}

impl TurnHolding {
    /// The half that a layer belongs to.
    fn half_of(&self, design: &Design, layer: &str) -> Option<&super::Body> {
        let (at, _) = design.layer(layer)?;
        self.halves.get(usize::from(at > self.below))
    }
}

/// The largest flux index among the magnets of a turn.
fn flux_index(design: &Design, found: &TurnHolding) -> Option<f64> {
    let (_, turn) = design.turns().find(|(below, _)| *below == found.below)?;
    let axis = match &turn.pivot {
        Pivot::Magnets { magnet, .. } => Some(magnet),
        Pivot::Rivet(_) => None,
    };
    let magnets = axis.into_iter().chain(turn.clicks.as_ref().map(|clicks| &clicks.magnet));
    let index = |magnet: &Magnet| {
        let disc = Disc::new(magnet.diameter, magnet.height, magnet.remanence).ok()?;
        Some(hazard(&disc).index)
    };
    magnets.filter_map(index).reduce(f64::max)
}
