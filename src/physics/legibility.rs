//! How tall a label must be to be read from a distance.
//!
//! `H = 2 pi D MA / 21600` (NUREG-0700, guideline 1.3.1-4, which prints 2 pi as 6.283): the arc that so many minutes
//! cut off at distance D.

use crate::units::Length;
use std::f64::consts::TAU;

/// An angle at the eye, in minutes of arc.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct ArcMinutes(pub f64);

/// Least angle for a label (ISO 9241-3 as quoted; NUREG-0700 1.3.1-4).
pub const LEAST: ArcMinutes = ArcMinutes(16.0);
/// From here on a label reads with ease (same sources: 20 to 22 are preferred).
pub const PREFERRED: ArcMinutes = ArcMinutes(20.0);
/// The upper end of what is preferred (same sources); the maximum is 24.
pub const PREFERRED_MOST: ArcMinutes = ArcMinutes(22.0);

/// Minutes of arc in a full turn.
const MINUTES_PER_TURN: f64 = 21_600.0;

/// Height of a label that fills `angle` at `distance`.
pub fn height(angle: ArcMinutes, distance: Length) -> Length {
    distance * (TAU * angle.0 / MINUTES_PER_TURN)
}

/// The angle that a label of this height fills at `distance`; none where the distance is not above zero.
pub fn angle(height: Length, distance: Length) -> Option<ArcMinutes> {
    (distance > Length::ZERO).then(|| ArcMinutes(height.as_mm() / distance.as_mm() * MINUTES_PER_TURN / TAU))
}

/// How far off a label of this height still fills `angle`; none where the angle is not above zero.
pub fn farthest(height: Length, angle: ArcMinutes) -> Option<Length> {
    (angle.0 > 0.0).then(|| height * (MINUTES_PER_TURN / (TAU * angle.0)))
}

/// Height by the rule for signs, a two-hundredth of the distance (FAA, Human Factors Design Standard, as quoted).
pub fn sign_rule(distance: Length) -> Length {
    distance / 200.0
}
