//! Whether the pin that ends a turn finds its hole, runs free from the first stop to the last, and is stopped beyond them.

use kurbo::{Point, Vec2};

use super::dial::Stack;
use super::list::{Ends, Half, Joint};
use super::part::Made;
use super::raster::HALF;
use super::remark::{Kind, Remarks, mm};

/// Points round a pin that are asked for.
const ROUND: u32 = 48;

impl Stack<'_> {
    /// Looks at every pin that ends a turn.
    pub(super) fn ends(&self, place: &str, remarks: &mut Remarks) {
        for (below, joint) in self.design.joints.iter().enumerate() {
            let Joint::Turn { stops, ends: Some(ends), .. } = joint else { continue };
            let lower = self.design.wheel(below + 1).map_or(below, |(carrier, _)| carrier);
            let (stays, turns) = if ends.stands == Half::Lower { (lower, below + 1) } else { (below + 1, lower) };
            let axis = |at: usize| self.design.axis(below + 1) - self.design.axis(at);
            let (Some(stays_in), Some(slot_in)) = (self.parts.get(stays), self.parts.get(turns)) else { continue };
            if meets(stays_in, ends, (ends.bearing, axis(stays))) {
                let says = format!("the pin, {} thick, finds no hole in `{}`", mm(ends.shank), stays_in.name);
                remarks.push(Kind::Magnet, place, says);
            }
            let on = |stop: f64| if ends.stands == Half::Lower { ends.bearing - stop } else { ends.bearing + stop };
            let stuck = stops.iter().filter(|stop| meets(slot_in, ends, (on(**stop), axis(turns)))).count();
            if stuck > 0 {
                let says = format!("the slot in `{}` ends short of {stuck} of {} stops", slot_in.name, stops.len());
                remarks.push(Kind::Magnet, place, says);
            }
            let (least, most) = stops.iter().fold((f64::MAX, f64::MIN), |(a, b), stop| (a.min(*stop), b.max(*stop)));
            // Half-way through the gap between the last stop and the first.
            if !meets(slot_in, ends, (on(f64::midpoint(least, most) + 180.0), axis(turns))) {
                let says = format!("nothing in `{}` stops the pin between its last stop and its first", slot_in.name);
                remarks.push(Kind::Magnet, place, says);
            }
            let thick = |at: usize| self.design.layers.get(at).map_or(0.0, |layer| layer.thickness);
            let room = thick(stays) + thick(turns);
            if ends.length > room {
                let says = format!("the pin, {} long, stands out of two layers of {}", mm(ends.length), mm(room));
                remarks.push(Kind::Magnet, place, says);
            }
        }
    }
}

/// Whether a pin at this bearing meets the material of a part. A pixel is left all round, so that the raster's own error refuses
/// nothing.
fn meets(made: &Made, ends: &Ends, (bearing, axis): (f64, Vec2)) -> bool {
    let polar = |radius: f64, bearing: f64| {
        let (sine, cosine) = bearing.to_radians().sin_cos();
        Point::new(radius * sine, radius * cosine)
    };
    let middle = polar(ends.radius, bearing).to_vec2() + axis;
    let reach = ends.shank / 2.0 - 1.0 / made.scale;
    let rim = (0..ROUND).map(|step| polar(reach, 360.0 * f64::from(step) / f64::from(ROUND)));
    rim.chain([Point::ZERO]).any(|point| made.material.at(point + middle, made.scale) >= HALF)
}
