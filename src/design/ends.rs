//! What ends a turn: a pin in the half that stays, in an arc-shaped slot of the half that turns.

use kurbo::Point;

use super::{Dowel, Half};
use crate::geometry::shapes::{circle, sector};
use crate::geometry::{GeometryError, Region, polar};
use crate::source::Span;
use crate::units::{Angle, Length};

/// The pin and the slot of one turn.
#[derive(Clone, Debug)]
pub struct Ends {
    /// The pin.
    pub pin: Dowel,
    /// How far it stands from the axis.
    pub radius: Length,
    /// Where it stands on the half that stays.
    pub bearing: Angle,
    /// How far the pin may go beyond the first and the last stop, along its way.
    pub play: Length,
    /// What asked for them.
    pub origin: Span,
}

impl Ends {
    /// Of the two layers whose faces meet at a turn, the lower one first: that which the pin stands in, and that with the slot.
    pub fn layers((lower, upper): (usize, usize), turning: Half) -> (usize, usize) {
        match turning {
            Half::Upper => (lower, upper),
            Half::Lower => (upper, lower),
        }
    }

    /// Where the pin stands on the half that turns, from one end of its way at these stops to the other, clockwise; without play.
    pub fn way(&self, stops: &[Angle], turning: Half) -> (Angle, Angle) {
        // A stop is the bearing on the lower layer that lies under the upper layer's 0deg.
        let seen = |stop: &Angle| match turning {
            Half::Upper => self.bearing - *stop,
            Half::Lower => self.bearing + *stop,
        };
        let all = || stops.iter().map(seen);
        let least = all().reduce(|one, other| if other < one { other } else { one });
        let most = all().reduce(|one, other| if other > one { other } else { one });
        (least.unwrap_or(self.bearing), most.unwrap_or(self.bearing))
    }

    /// How far a length along the way of the pin turns it.
    pub fn turned(&self, along: Length) -> Angle {
        Angle::degrees((along.as_mm() / self.radius.as_mm()).to_degrees())
    }

    /// Half the width of the slot.
    fn half_width(&self) -> f64 {
        (self.pin.shank + self.pin.clearance).as_mm() / 2.0
    }

    /// How far the half goes on beyond its first and last stop as drawn, along the way of the pin.
    pub fn beyond(&self) -> Length {
        self.play + self.pin.clearance / 2.0
    }

    /// What is left between the two ends of the slot as drawn, along the shorter way; below zero where they meet.
    pub fn web(&self, stops: &[Angle], turning: Half) -> Length {
        let (from, to) = self.way(stops, turning);
        let gap = 360.0 - (to - from).as_degrees() - 2.0 * self.turned(self.play).as_degrees();
        let chord = 2.0 * self.radius.as_mm() * (gap.clamp(0.0, 180.0).to_radians() / 2.0).sin();
        Length::mm(chord - 2.0 * self.half_width())
    }

    /// The hole that the pin is glued into.
    ///
    /// # Errors
    /// As [`circle`].
    pub fn hole(&self) -> Result<Region, GeometryError> {
        Ok(circle(self.half_width())?.transformed(kurbo::Affine::translate(self.at(self.bearing).to_vec2())))
    }

    /// The slot, in the frame of the layer that it is cut through.
    ///
    /// # Errors
    /// As [`sector`].
    pub fn slot(&self, stops: &[Angle], turning: Half) -> Result<Region, GeometryError> {
        let (from, to) = self.way(stops, turning);
        let play = self.turned(self.play);
        let (from, to, half) = (from - play, to + play, self.half_width());
        let band = sector(self.radius.as_mm() + half, self.radius.as_mm() - half, from, to)?;
        let cap = circle(half)?;
        let ends = [from, to].map(|end| cap.transformed(kurbo::Affine::translate(self.at(end).to_vec2())));
        Ok(ends.iter().fold(band, |slot, end| slot.union(end)))
    }

    fn at(&self, bearing: Angle) -> Point {
        polar(self.radius.as_mm(), bearing)
    }
}
