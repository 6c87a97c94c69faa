//! How far from where clicks draw it a half may rest, since friction holds it where they draw less than that.
//!
//! Coulomb's friction: a half that is let go moves only where the clicks push harder than friction holds, and comes to rest
//! where they no longer do; if it swings on, it comes to rest within the same bounds. Both change with the angle: the rings
//! press the faces together at a stop, and less or not at all between.

use super::clicks::{Clicks, WITHIN};
use super::numeric::bisect;
use crate::units::{Angle, Force, Torque};
use std::f64::consts::TAU;

/// Where a half rests that the clicks draw to one angle, as angles from there: below zero towards smaller bearings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeadBand {
    /// From where to where it stays where it is put; come from either side, it rests at that end.
    pub stays: (Angle, Angle),
    /// From where to where it comes there by itself when it is let go. Beyond, it stays where it is put or goes elsewhere.
    pub comes: (Angle, Angle),
}

impl DeadBand {
    /// The farther end of what it stays in.
    pub fn widest(&self) -> Angle {
        let (back, on) = self.stays;
        if on.as_degrees() > -back.as_degrees() { on } else { -back }
    }
}

impl Clicks {
    /// The dead band round an angle to which the rings return, under a `friction` that depends on their pull; none where
    /// the clicks nowhere overcome it on one side, so that a half may rest anywhere between there and the next rest.
    pub fn dead_band(&self, rest: Angle, friction: impl Fn(Force) -> Torque) -> Option<DeadBand> {
        let side = |way: f64| self.side(rest.as_radians(), way, &friction);
        let ((back, from), (on, to)) = (side(-1.0)?, side(1.0)?);
        let angles = |low: f64, high: f64| (Angle::radians(-low), Angle::radians(high));
        Some(DeadBand { stays: angles(back, on), comes: angles(from, to) })
    }

    /// How far off the rest on one side it stays, and from how far off it comes, in radians.
    fn side(&self, rest: f64, way: f64, friction: &dyn Fn(Force) -> Torque) -> Option<(f64, f64)> {
        let step = TAU / f64::from(self.samples);
        // The torque that draws it back, and by how much friction outdoes it, N m.
        let at = |off: f64| {
            let (_, torque, pull) = self.sums(rest + way * off);
            let back = -way * torque;
            (back, 1e-3 * friction(Force::newtons(pull)).as_millinewton_metres() - back)
        };
        let place = |index: u32| f64::from(index) * step;
        // Up to the middle of the next rise the clicks draw it back.
        let first = (1..self.samples).map(|index| (index, at(place(index))));
        let (first, _) = first.take_while(|(_, (back, _))| *back > 0.0).find(|(_, (_, outdone))| *outdone < 0.0)?;
        let last = (first + 1..self.samples).find(|index| at(place(*index)).1 >= 0.0).unwrap_or(self.samples);
        let stays = bisect(|off| at(off).1, place(first - 1), place(first), WITHIN);
        let comes = bisect(|off| -at(off).1, place(last - 1), place(last), WITHIN);
        Some((stays, comes))
    }
}
