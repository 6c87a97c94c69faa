//! The measures of `expect` that ask what holds a turn.

use super::{Glued, Holding, TurnHolding};
use crate::design::{Design, Magnet};
use crate::physics::Disc;
use crate::physics::hazard::hazard;
use crate::units::{Dimension, Force, Quantity};
use crate::vocabulary::measures::MeasureName;

impl Holding {
    /// The value of a measure of a layer's turn, or of stored dials; none where there is nothing to measure.
    pub(in crate::audit) fn measure(&self, design: &Design, name: MeasureName, layer: &str) -> Option<Quantity> {
        if name == MeasureName::StackPull {
            return self.stored.map(Force::quantity);
        }
        let turn = self.of_layer(design, layer)?;
        let held = || turn.magnets.as_ref();
        let number = |value: Option<f64>| value.map(Quantity::number);
        let rings = || held()?.clicks.as_ref();
        match name {
            MeasureName::CentringStiffness => {
                // What draws a washer back is not known.
                let pair = held().map(|held| held.pair).filter(|pair| !pair.is_on_steel())?;
                let value = pair.centring().as_newtons_per_mm() * 1e3;
                Some(Quantity { value, dimension: Dimension::STIFFNESS })
            }
            MeasureName::ClickTorque => rings().map(|rings| rings.pattern.verdict.weakest.quantity()),
            #[allow(clippy::cast_precision_loss, reason = "a handful of rests")]
            MeasureName::FalseClicks => number(rings().map(|rings| rings.pattern.verdict.false_stops.len() as f64)),
            MeasureName::FluxIndex => number(flux_index(design, turn)),
            MeasureName::FrictionTorque => held().map(|held| held.friction.expected().least.quantity()),
            MeasureName::GlueHolds => number(held()?.glue.iter().filter_map(Glued::times).reduce(f64::min)),
            MeasureName::GravityTorque => Some(turn.gravity().quantity()),
            MeasureName::KnockToPart => number(turn.shock_to_part()),
            MeasureName::KnockToTurn => number(turn.shock_to_turn()),
            MeasureName::LiftOff => held().map(|held| held.lift_off.pull.quantity()),
            MeasureName::MagnetGap => held().map(|held| held.pair.gap().quantity()),
            MeasureName::Mass => turn.half_of(design, layer).map(|half| half.mass.quantity()),
            MeasureName::Play => Some(turn.play.quantity()),
            MeasureName::PullOut => {
                let all = held()?.glue.iter().filter_map(|glued| glued.pull_out.map(Force::as_newtons));
                all.reduce(f64::min).map(|least| Force::newtons(least).quantity())
            }
            MeasureName::Stays => number(turn.stays()),
            MeasureName::ThumbForce => turn.thumb().map(|(least, _)| least.quantity()),
            // The least to be expected: friction at the least published coefficient of wood on wood, and the clicks'
            // strongest push.
            MeasureName::TurningTorque => held().map(|held| held.turning().0.quantity()),
            // Of the stack as a whole, or of what does not hold a turn.
            MeasureName::StackPull
            | MeasureName::AngularSlack
            | MeasureName::CentringSlack
            | MeasureName::Clearance
            | MeasureName::Contrast
            | MeasureName::EngravingDepth
            | MeasureName::FloorLeft
            | MeasureName::LabelHeight
            | MeasureName::LargestScale
            | MeasureName::Margin
            | MeasureName::Overhang
            | MeasureName::ReadingAngle
            | MeasureName::ReadsFrom
            | MeasureName::Shows
            | MeasureName::Sure
            | MeasureName::Swept
            | MeasureName::Thickness
            | MeasureName::ThumbRoom
            | MeasureName::TurningClearance
            | MeasureName::Web => None,
        }
    }
}

impl TurnHolding {
    /// The half that a layer belongs to.
    fn half_of(&self, design: &Design, layer: &str) -> Option<&super::Body> {
        let (at, _) = design.layer(layer)?;
        // Of a wheel's turn the other half is all that stands still.
        let upper = if design.is_wheel(self.below + 1) { at == self.below + 1 } else { at > self.below };
        self.halves.get(usize::from(upper))
    }
}

/// The largest flux index among the magnets of a turn.
fn flux_index(design: &Design, found: &TurnHolding) -> Option<f64> {
    let (_, turn) = design.turns().find(|(below, _)| *below == found.below)?;
    let index = |magnet: &Magnet| {
        let disc = Disc::new(magnet.diameter, magnet.height, magnet.remanence).ok()?;
        Some(hazard(&disc).index)
    };
    turn.magnets().filter_map(index).reduce(f64::max)
}
