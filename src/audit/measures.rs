//! The measures that `expect` may name.

use super::{Audit, CheckedStop, fit, strength};
use crate::design::Design;
use crate::units::{Angle, Length, Quantity};
use crate::vocabulary::measures::MeasureName;

/// What a measure came to.
#[derive(Clone, Debug, PartialEq)]
pub enum MeasureValue {
    /// A number with its dimension.
    Quantity(Quantity),
    /// Labels, stop by stop.
    Labels(Vec<String>),
}

impl From<Length> for MeasureValue {
    fn from(length: Length) -> Self {
        Self::Quantity(length.quantity())
    }
}

impl From<Angle> for MeasureValue {
    fn from(angle: Angle) -> Self {
        Self::Quantity(angle.quantity())
    }
}

impl From<f64> for MeasureValue {
    fn from(number: f64) -> Self {
        Self::Quantity(Quantity::number(number))
    }
}

/// The lesser of two values of one measure; of labels the first.
fn least(one: MeasureValue, other: MeasureValue) -> MeasureValue {
    match (&one, &other) {
        (MeasureValue::Quantity(first), MeasureValue::Quantity(second)) if second.value < first.value => other,
        _ => one,
    }
}

impl Audit {
    /// The value of a measure; none where the subject is unknown or there is nothing to measure (no slot, no pocket, no
    /// reading). `subject` is empty for the whole dial; where there are several copies of it, the least of theirs counts.
    pub fn measure(&self, design: &Design, name: MeasureName, subject: &str) -> Option<MeasureValue> {
        match design.copies_named(subject).as_slice() {
            [] => self.measure_one(design, name, subject),
            copies => {
                let each = copies.iter().map(|copy| self.measure_one(design, name, copy));
                each.collect::<Option<Vec<_>>>()?.into_iter().reduce(least)
            }
        }
    }

    fn measure_one(&self, design: &Design, name: MeasureName, subject: &str) -> Option<MeasureValue> {
        let ring = || self.legibility.rings.iter().find(|ring| ring.ring == subject);
        let layer = || self.strength.layers.iter().find(|layer| layer.layer == subject);
        match name {
            MeasureName::AngularSlack => {
                self.least(subject, |stop| stop.angular_slack().as_degrees()).map(|v| Angle::degrees(v).into())
            }
            MeasureName::CentringSlack => {
                self.least(subject, |stop| stop.centring_slack.as_mm()).map(|v| Length::mm(v).into())
            }
            MeasureName::Clearance => self.fit.as_ref()?.worst().map(|stop| stop.clearance.into()),
            MeasureName::Contrast => ring()?.contrast.map(|contrast| contrast.ratio().into()),
            MeasureName::EngravingDepth => {
                self.legibility.engraved.iter().find(|it| it.layer == subject).map(|it| it.depth.into())
            }
            MeasureName::FloorLeft => layer()?.floor.as_ref().map(|floor| floor.left.into()),
            MeasureName::LabelHeight => Some(ring()?.height.into()),
            MeasureName::LargestScale => self.fit.as_ref().map(|fit| fit.largest_scale.into()),
            MeasureName::Margin => self.least(subject, |stop| stop.margin.as_mm()).map(|v| Length::mm(v).into()),
            MeasureName::Overhang => Some(self.runout.overhang().into()),
            MeasureName::ReadingAngle => ring()?.angle.map(|angle| Angle::degrees(angle.0 / 60.0).into()),
            MeasureName::ReadsFrom => ring()?.farthest.map(MeasureValue::from),
            MeasureName::Shows => self.reading_check.shows(subject).map(MeasureValue::Labels),
            MeasureName::Sure => self.sure(design, subject).map(MeasureValue::from),
            MeasureName::Swept => design.layer(subject).map(|(_, layer)| fit::swept(&layer.outline).into()),
            MeasureName::Thickness => Some(design.thickness().into()),
            MeasureName::ThumbRoom => self.wheels.of(subject).map(|wheel| wheel.thumb_room.into()),
            MeasureName::TurningClearance => self.fit.as_ref().map(|fit| fit.turning.into()),
            MeasureName::Web => strength::narrowest_web(design, layer()?).map(MeasureValue::from),
            MeasureName::StackPull
            | MeasureName::CentringStiffness
            | MeasureName::ClickTorque
            | MeasureName::FalseClicks
            | MeasureName::FluxIndex
            | MeasureName::FrictionTorque
            | MeasureName::GlueHolds
            | MeasureName::GravityTorque
            | MeasureName::KnockToPart
            | MeasureName::KnockToTurn
            | MeasureName::LiftOff
            | MeasureName::MagnetGap
            | MeasureName::Mass
            | MeasureName::Play
            | MeasureName::PullOut
            | MeasureName::Stays
            | MeasureName::ThumbForce
            | MeasureName::TurningTorque => self.holding.measure(design, name, subject).map(MeasureValue::Quantity),
        }
    }

    /// The least over all stops of a ring's readings.
    fn least(&self, ring: &str, value: impl Fn(&CheckedStop) -> f64) -> Option<f64> {
        self.reading_check.of_ring(ring).map(value).reduce(f64::min)
    }

    fn sure(&self, design: &Design, ring: &str) -> Option<f64> {
        let readings = self.reading_check.readings.iter().zip(&self.yields(design).readings);
        let stops = readings.filter(|(reading, _)| reading.ring == ring).flat_map(|(_, shares)| shares);
        stops.map(|share| share.share).reduce(f64::min)
    }
}
