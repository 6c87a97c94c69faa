//! How far from the axis a dial may be looked at, so that no opening hides what is read in it.

use kurbo::Point;

use crate::design::heights::depth_below;
use crate::design::{Design, Reading, ReadsHow};
use crate::geometry::Region;

/// As far as a dial is looked at from aside, and the least that still looks so, in degrees.
const MOST: f64 = 27.0;
const LEAST: f64 = 8.0;
/// What share of the clear edge may be hidden.
const HIDDEN: f64 = 0.6;

/// How far off the axis a dial is looked at from aside, in degrees: less than usual where a deep opening would hide what is read.
pub(super) fn off_axis(design: &Design) -> f32 {
    let readings = design.readings.iter().filter(|reading| reading.how == ReadsHow::Through);
    let most = readings.filter_map(|reading| fits(design, reading)).fold(MOST, f64::min);
    most.max(LEAST) as f32
}

/// As far off the axis as the tallest label of a reading is seen whole, in degrees.
fn fits(design: &Design, reading: &Reading) -> Option<f64> {
    let (at, ring) = design.ring(&reading.ring)?;
    let label = ring.labels.iter().map(|label| across(&label.ink)).fold(0.0, f64::max);
    let openings = reading.by.iter().filter_map(|name| {
        let (over, _) = design.mark(name)?;
        let (_, opening) = design.layers.get(over)?.openings().find(|(mark, _)| mark.name.as_ref() == Some(name))?;
        let deep = depth_below(design, (at, ring.face), over).as_mm();
        let clear = (across(opening) - label) / 2.0;
        Some(libm::atan2(HIDDEN * clear.max(0.0), deep.max(1e-6)).to_degrees())
    });
    openings.reduce(f64::min)
}

/// How far a shape reaches towards its axis and away from it, as a ring is read.
fn across(shape: &Region) -> f64 {
    let near = shape.least_radius(Point::ORIGIN).unwrap_or(0.0);
    (shape.swept_radius(Point::ORIGIN) - near).max(0.0)
}
