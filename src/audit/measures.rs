//! The measures that `expect` may name.

use super::{Audit, CheckedStop, fit};
use crate::design::Design;
use crate::units::{Angle, Dimension, Length, Quantity};

/// What a measure is taken of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A layer, by name.
    Layer,
    /// An opening or pointer, by name.
    Opening,
    /// A ring, by name.
    Ring,
    /// The whole dial: nothing in the brackets.
    Dial,
}

/// What a measure gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number with this dimension.
    Quantity(Dimension),
    /// A list of labels.
    Labels,
}

/// A measure of the language.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MeasureInfo {
    /// As written before the brackets.
    pub name: &'static str,
    /// What goes into the brackets.
    pub subject: Subject,
    /// What comes out.
    pub kind: Kind,
    /// What it measures, in one line.
    pub says: &'static str,
    /// How it is written, for help.
    pub usage: &'static str,
}

const fn measure(
    usage: &'static str,
    name: &'static str,
    subject: Subject,
    kind: Kind,
    says: &'static str,
) -> MeasureInfo {
    MeasureInfo { name, subject, kind, says, usage }
}

const LENGTH: Kind = Kind::Quantity(Dimension::LENGTH);
const NUMBER: Kind = Kind::Quantity(Dimension::NUMBER);
const FORCE: Kind = Kind::Quantity(Dimension::FORCE);
const TORQUE: Kind = Kind::Quantity(Dimension::TORQUE);

/// All of them, in order of name.
pub const MEASURES: &[MeasureInfo] = &[
    measure(
        "angular_slack(crew)",
        "angular_slack",
        Subject::Ring,
        Kind::Quantity(Dimension::ANGLE),
        "how far a stop may be missed either way",
    ),
    measure(
        "centring_slack(crew)",
        "centring_slack",
        Subject::Ring,
        LENGTH,
        "how far the halves may be shifted in any direction",
    ),
    measure(
        "centring_stiffness(cover)",
        "centring_stiffness",
        Subject::Layer,
        Kind::Quantity(Dimension::STIFFNESS),
        "how hard the magnets draw its half back on the axis, for each length off it",
    ),
    measure(
        "clearance()",
        "clearance",
        Subject::Dial,
        LENGTH,
        "least room in the slot at any stop; below zero where it is too small",
    ),
    measure("click_torque(cover)", "click_torque", Subject::Layer, TORQUE, "what its clicks hold at the weakest stop"),
    measure(
        "contrast(crew)",
        "contrast",
        Subject::Ring,
        NUMBER,
        "least contrast of a label with its ground, 1 to 21 by the W3C's formula, after finishing",
    ),
    measure(
        "engraving_depth(cover)",
        "engraving_depth",
        Subject::Layer,
        LENGTH,
        "depth of the deepest engraving; 0.3mm, nominal, where none is stated",
    ),
    measure(
        "false_clicks(cover)",
        "false_clicks",
        Subject::Layer,
        NUMBER,
        "places where its clicks rest and no stop is",
    ),
    measure("floor_left(cover)", "floor_left", Subject::Layer, LENGTH, "thinnest floor left under a pocket"),
    measure("label_height(crew)", "label_height", Subject::Ring, LENGTH, "height of the smallest label"),
    measure(
        "flux_index(cover)",
        "flux_index",
        Subject::Layer,
        NUMBER,
        "of the strongest magnet of its turn, in kG2 mm2; 50 and above is hazardous",
    ),
    measure(
        "friction_torque(cover)",
        "friction_torque",
        Subject::Layer,
        TORQUE,
        "least torque of friction that holds its half",
    ),
    measure(
        "glue_holds(cover)",
        "glue_holds",
        Subject::Layer,
        NUMBER,
        "how many times over glue holds the magnets of its turn",
    ),
    measure(
        "gravity_torque(cover)",
        "gravity_torque",
        Subject::Layer,
        TORQUE,
        "most that gravity turns either half of its turn with",
    ),
    measure(
        "knock_to_part(cover)",
        "knock_to_part",
        Subject::Layer,
        NUMBER,
        "knock along the axis that parts its half, in multiples of gravity",
    ),
    measure(
        "knock_to_turn(cover)",
        "knock_to_turn",
        Subject::Layer,
        NUMBER,
        "knock along the face that turns its half, in multiples of gravity",
    ),
    measure(
        "largest_scale()",
        "largest_scale",
        Subject::Dial,
        NUMBER,
        "factor by which the outlines may grow and still fit the slot",
    ),
    measure(
        "lift_off(cover)",
        "lift_off",
        Subject::Layer,
        Kind::Quantity(Dimension::FORCE),
        "force that lifts its half off, +-15 %",
    ),
    measure(
        "magnet_gap(cover)",
        "magnet_gap",
        Subject::Layer,
        LENGTH,
        "between what is magnetised of the magnets on the axis",
    ),
    measure(
        "margin(crew)",
        "margin",
        Subject::Ring,
        LENGTH,
        "least distance of a due label from an edge over it; below zero where clipped",
    ),
    measure(
        "mass(cover)",
        "mass",
        Subject::Layer,
        Kind::Quantity(Dimension::MASS),
        "of all on its side of its turn, magnets included",
    ),
    measure(
        "overhang()",
        "overhang",
        Subject::Dial,
        LENGTH,
        "how far outlines of one shape stand beyond each other at the worst stop",
    ),
    measure(
        "play(cover)",
        "play",
        Subject::Layer,
        LENGTH,
        "how far its half may be shifted, either way, by the play of the pivot",
    ),
    measure(
        "pull_out(cover)",
        "pull_out",
        Subject::Layer,
        FORCE,
        "force that tears the weakest glued magnet of its turn from its pocket",
    ),
    measure(
        "reading_angle(crew)",
        "reading_angle",
        Subject::Ring,
        Kind::Quantity(Dimension::ANGLE),
        "angle that the smallest label fills from the stated distance; 1deg is 60 minutes of arc",
    ),
    measure(
        "reads_from(crew)",
        "reads_from",
        Subject::Ring,
        LENGTH,
        "farthest distance at which the smallest label fills 16 minutes of arc",
    ),
    measure("shows(peep)", "shows", Subject::Opening, Kind::Labels, "the labels that show, stop by stop"),
    measure("stack_pull()", "stack_pull", Subject::Dial, FORCE, "between two dials stored one on the other, +-15 %"),
    measure(
        "stays(cover)",
        "stays",
        Subject::Layer,
        NUMBER,
        "how many times over its half stays where it is put, however the dial lies",
    ),
    measure(
        "sure(crew)",
        "sure",
        Subject::Ring,
        NUMBER,
        "share of dials that read right at the worst stop, within the shop's spreads",
    ),
    measure("swept(cover)", "swept", Subject::Layer, LENGTH, "diameter swept about the axis"),
    measure("thickness()", "thickness", Subject::Dial, LENGTH, "of the finished stack, boards and glue"),
    measure("thumb_force(cover)", "thumb_force", Subject::Layer, FORCE, "least force at the rim that turns its half"),
    measure("turning_clearance()", "turning_clearance", Subject::Dial, LENGTH, "least room in the slot while it turns"),
    measure(
        "turning_torque(cover)",
        "turning_torque",
        Subject::Layer,
        Kind::Quantity(Dimension::TORQUE),
        "least torque that turns its half: friction and clicks",
    ),
    measure("web(cover)", "web", Subject::Layer, LENGTH, "narrowest place between two edges"),
];

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

impl Audit {
    /// The value of a measure; none where the name is no measure, the subject is unknown, or there is nothing to
    /// measure (no slot, no pocket, no reading). `subject` is empty for the whole dial.
    pub fn measure(&self, design: &Design, name: &str, subject: &str) -> Option<MeasureValue> {
        let ring = || self.legibility.rings.iter().find(|ring| ring.ring == subject);
        let layer = || self.strength.layers.iter().find(|layer| layer.layer == subject);
        match name {
            "angular_slack" => {
                self.least(subject, |stop| stop.angular_slack().as_degrees()).map(|v| Angle::degrees(v).into())
            }
            "centring_slack" => self.least(subject, |stop| stop.centring_slack.as_mm()).map(|v| Length::mm(v).into()),
            "clearance" => self.fit.as_ref()?.worst().map(|stop| stop.clearance.into()),
            "contrast" => ring()?.contrast.map(|contrast| contrast.ratio().into()),
            "engraving_depth" => {
                self.legibility.engraved.iter().find(|it| it.layer == subject).map(|it| it.depth.into())
            }
            "floor_left" => layer()?.floor.as_ref().map(|floor| floor.left.into()),
            "label_height" => Some(ring()?.height.into()),
            "largest_scale" => self.fit.as_ref().map(|fit| fit.largest_scale.into()),
            "margin" => self.least(subject, |stop| stop.margin.as_mm()).map(|v| Length::mm(v).into()),
            "overhang" => Some(self.runout.overhang().into()),
            "reading_angle" => ring()?.angle.map(|angle| Angle::degrees(angle.0 / 60.0).into()),
            "reads_from" => ring()?.farthest.map(MeasureValue::from),
            "shows" => self.reading_check.shows(subject).map(MeasureValue::Labels),
            "sure" => self.sure(design, subject).map(MeasureValue::from),
            "swept" => design.layer(subject).map(|(_, layer)| fit::swept(&layer.outline).into()),
            "thickness" => Some(fit::thickness(design).into()),
            "turning_clearance" => self.fit.as_ref().map(|fit| fit.turning.into()),
            "web" => layer()?.web.as_ref().map(|web| web.width.into()),
            _ => self.holding.measure(design, name, subject).map(MeasureValue::Quantity),
        }
    }

    /// The least over all stops of a ring's readings.
    fn least(&self, ring: &str, value: impl Fn(&CheckedStop) -> f64) -> Option<f64> {
        self.reading_check.of_ring(ring).map(value).reduce(f64::min)
    }

    fn sure(&self, design: &Design, ring: &str) -> Option<f64> {
        let stops =
            self.tolerance(design).iter().filter(|reading| reading.ring == ring).flat_map(|reading| &reading.stops);
        stops.map(|stop| stop.share).reduce(f64::min)
    }
}
