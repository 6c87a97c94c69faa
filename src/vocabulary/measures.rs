//! What `expect` can measure on the finished dial. Measures are called like functions.

use crate::units::Dimension;

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
pub enum Measured {
    /// A number with this dimension.
    Quantity(Dimension),
    /// A list of labels.
    Labels,
}

/// A measure of the language.
#[derive(Debug)]
pub struct Measure {
    /// As written before the brackets.
    pub word: &'static str,
    /// What goes into the brackets.
    pub subject: Subject,
    /// What comes out.
    pub gives: Measured,
    /// What it measures.
    pub doc: &'static str,
    /// How it is written.
    pub usage: &'static str,
}

const LENGTH: Measured = Measured::Quantity(Dimension::LENGTH);
const ANGLE: Measured = Measured::Quantity(Dimension::ANGLE);
const NUMBER: Measured = Measured::Quantity(Dimension::NUMBER);
const FORCE: Measured = Measured::Quantity(Dimension::FORCE);
const TORQUE: Measured = Measured::Quantity(Dimension::TORQUE);
const MASS: Measured = Measured::Quantity(Dimension::MASS);
const STIFFNESS: Measured = Measured::Quantity(Dimension::STIFFNESS);

table! {
    /// All measures, in order of word.
    enum MeasureName of Measure with pages "measures" {
        AngularSlack = "angular_slack" {
            subject: Subject::Ring, gives: ANGLE, usage: "angular_slack(crew)",
            doc: "how far a stop may be missed either way",
        }
        CentringSlack = "centring_slack" {
            subject: Subject::Ring, gives: LENGTH, usage: "centring_slack(crew)",
            doc: "how far the halves may be shifted in any direction",
        }
        CentringStiffness = "centring_stiffness" {
            subject: Subject::Layer, gives: STIFFNESS, usage: "centring_stiffness(cover)",
            doc: "how hard the magnets draw its half back on the axis, for each length off it",
        }
        Clearance = "clearance" {
            subject: Subject::Dial, gives: LENGTH, usage: "clearance()",
            doc: "least room in the slot at any stop; below zero where it is too small",
        }
        ClickTorque = "click_torque" {
            subject: Subject::Layer, gives: TORQUE, usage: "click_torque(cover)",
            doc: "what its clicks hold at the weakest stop",
        }
        Contrast = "contrast" {
            subject: Subject::Ring, gives: NUMBER, usage: "contrast(crew)",
            doc: "least contrast of a label with its ground, 1 to 21 by the W3C's formula, after finishing",
        }
        EngravingDepth = "engraving_depth" {
            subject: Subject::Layer, gives: LENGTH, usage: "engraving_depth(cover)",
            doc: "depth of the deepest engraving; 0.3mm, nominal, where none is stated",
        }
        FalseClicks = "false_clicks" {
            subject: Subject::Layer, gives: NUMBER, usage: "false_clicks(cover)",
            doc: "places where its clicks rest and no stop is",
        }
        FloorLeft = "floor_left" {
            subject: Subject::Layer, gives: LENGTH, usage: "floor_left(cover)",
            doc: "thinnest floor left under a pocket",
        }
        FluxIndex = "flux_index" {
            subject: Subject::Layer, gives: NUMBER, usage: "flux_index(cover)",
            doc: "of the strongest magnet of its turn, in kG² mm²; 50 and above is hazardous",
        }
        FrictionTorque = "friction_torque" {
            subject: Subject::Layer, gives: TORQUE, usage: "friction_torque(cover)",
            doc: "least torque of friction that holds its half",
        }
        GlueHolds = "glue_holds" {
            subject: Subject::Layer, gives: NUMBER, usage: "glue_holds(cover)",
            doc: "how many times over glue holds the magnets of its turn",
        }
        GravityTorque = "gravity_torque" {
            subject: Subject::Layer, gives: TORQUE, usage: "gravity_torque(cover)",
            doc: "most that gravity turns either half of its turn with",
        }
        KnockToPart = "knock_to_part" {
            subject: Subject::Layer, gives: NUMBER, usage: "knock_to_part(cover)",
            doc: "knock along the axis that parts its half, in multiples of gravity",
        }
        KnockToTurn = "knock_to_turn" {
            subject: Subject::Layer, gives: NUMBER, usage: "knock_to_turn(cover)",
            doc: "knock along the face that turns its half, in multiples of gravity",
        }
        LabelHeight = "label_height" {
            subject: Subject::Ring, gives: LENGTH, usage: "label_height(crew)",
            doc: "height of the smallest label",
        }
        LargestScale = "largest_scale" {
            subject: Subject::Dial, gives: NUMBER, usage: "largest_scale()",
            doc: "factor by which the outlines may grow and still fit the slot",
        }
        LiftOff = "lift_off" {
            subject: Subject::Layer, gives: FORCE, usage: "lift_off(cover)",
            doc: "force that lifts its half off, +-15 %",
        }
        MagnetGap = "magnet_gap" {
            subject: Subject::Layer, gives: LENGTH, usage: "magnet_gap(cover)",
            doc: "between what is magnetised of the magnets on the axis",
        }
        Margin = "margin" {
            subject: Subject::Ring, gives: LENGTH, usage: "margin(crew)",
            doc: "least distance of a due label from an edge over it; below zero where clipped",
        }
        Mass = "mass" {
            subject: Subject::Layer, gives: MASS, usage: "mass(cover)",
            doc: "of all on its side of its turn, magnets included",
        }
        Overhang = "overhang" {
            subject: Subject::Dial, gives: LENGTH, usage: "overhang()",
            doc: "how far outlines of one shape stand beyond each other at the worst stop",
        }
        Play = "play" {
            subject: Subject::Layer, gives: LENGTH, usage: "play(cover)",
            doc: "how far its half may be shifted, either way, by the play of the pivot",
        }
        PullOut = "pull_out" {
            subject: Subject::Layer, gives: FORCE, usage: "pull_out(cover)",
            doc: "force that tears the weakest glued magnet of its turn from its pocket",
        }
        ReadingAngle = "reading_angle" {
            subject: Subject::Ring, gives: ANGLE, usage: "reading_angle(crew)",
            doc: "angle that the smallest label fills from the stated distance; 1deg is 60 minutes of arc",
        }
        ReadsFrom = "reads_from" {
            subject: Subject::Ring, gives: LENGTH, usage: "reads_from(crew)",
            doc: "farthest distance at which the smallest label fills 16 minutes of arc",
        }
        Shows = "shows" {
            subject: Subject::Opening, gives: Measured::Labels, usage: "shows(peep)",
            doc: "the labels that show, stop by stop",
        }
        StackPull = "stack_pull" {
            subject: Subject::Dial, gives: FORCE, usage: "stack_pull()",
            doc: "between two dials stored one on the other, +-15 %",
        }
        Stays = "stays" {
            subject: Subject::Layer, gives: NUMBER, usage: "stays(cover)",
            doc: "how many times over its half stays where it is put, however the dial lies",
        }
        Sure = "sure" {
            subject: Subject::Ring, gives: NUMBER, usage: "sure(crew)",
            doc: "share of dials that read right at the worst stop, within the shop's spreads",
        }
        Swept = "swept" {
            subject: Subject::Layer, gives: LENGTH, usage: "swept(cover)",
            doc: "diameter swept about the axis",
        }
        Thickness = "thickness" {
            subject: Subject::Dial, gives: LENGTH, usage: "thickness()",
            doc: "of the finished stack, boards and glue",
        }
        ThumbForce = "thumb_force" {
            subject: Subject::Layer, gives: FORCE, usage: "thumb_force(cover)",
            doc: "least force at the rim that turns its half",
        }
        ThumbRoom = "thumb_room" {
            subject: Subject::Layer, gives: LENGTH, usage: "thumb_room(grain)",
            doc: "widest free piece of a wheel's rim, straight across",
        }
        TurningClearance = "turning_clearance" {
            subject: Subject::Dial, gives: LENGTH, usage: "turning_clearance()",
            doc: "least room in the slot while it turns",
        }
        TurningTorque = "turning_torque" {
            subject: Subject::Layer, gives: TORQUE, usage: "turning_torque(cover)",
            doc: "least torque that turns its half: friction and clicks",
        }
        Web = "web" {
            subject: Subject::Layer, gives: LENGTH, usage: "web(cover)",
            doc: "narrowest place between two edges",
        }
    }
}
