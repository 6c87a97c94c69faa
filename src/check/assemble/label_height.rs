//! The height of a ring's labels, where the maker leaves it to us.

use kurbo::{Line, Point, Vec2};

use super::Assembler;
use super::rings::{ReadAt, Written, bearing_of, label_scale, turns_in};
use crate::design::Joint;
use crate::diagnostics::findings::rings as say;
use crate::geometry::{Region, turn};
use crate::lettering::Facing;
use crate::syntax::tree::ReadsHow;
use crate::units::{Angle, Length};

/// Height of labels that no opening limits. Common practice, no source.
const USUAL_HEIGHT_MM: f64 = 5.0;
/// How closely an opening's edge is followed when labels are fitted into it, in mm.
const WALL_MM: f64 = 1e-3;
/// The same for a label 1 mm tall; it grows with the label, and stays below the hundredth that heights are given to.
const POINT_MM: f64 = 5e-4;
/// No default height is larger than this.
const TALLEST_MM: f64 = 200.0;

impl<'t> Assembler<'_, 't> {
    /// The largest height at which every label clears the opening, to 0.01 mm.
    pub(super) fn height(
        &mut self,
        written: &Written<'t>,
        place: Option<&ReadAt>,
        unit: &[Region],
        (radius, bearings, facing): (Length, &[Angle], Facing),
        joints: &[Joint],
    ) -> Option<Length> {
        let what = format!("height of ring `{}`", written.name.text);
        let opening = place.filter(|place| place.how == ReadsHow::Through);
        let Some(place) = opening else {
            let height = Length::mm(USUAL_HEIGHT_MM);
            self.default(&what, height.to_string(), "usual where no opening limits it", written.name.span);
            return Some(height);
        };
        let room = place.region.offset(-place.clear_opening.as_mm());
        let stops: Vec<Angle> = match turns_in(joints, place.joints.clone()).as_slice() {
            [only] if only.stops.len() == bearings.len() => {
                only.stops.iter().map(|stop| place.carried(*stop)).collect()
            }
            _ => bearings.iter().map(|bearing| *bearing - bearing_of(place.centre)).collect(),
        };
        let walls = lines(room.path(), WALL_MM);
        let mut tallest = TALLEST_MM;
        for (((region, bearing), stop), (value, _)) in unit.iter().zip(bearings).zip(stops).zip(&written.labels) {
            let placed = turn(-stop) * crate::lettering::placing(radius.as_mm(), *bearing, facing);
            let centre = placed * Point::ORIGIN;
            let inside = room.contains(centre);
            let reach = if inside { reach(&walls, centre, placed * region.path()) } else { 0.0 };
            // A label with a size of its own either fits or leaves no height at all.
            let grows = label_scale(value, TALLEST_MM) > 1.0;
            tallest = tallest.min(if grows || reach < 1.0 { reach } else { TALLEST_MM });
        }
        let height = Length::mm((tallest * 100.0).floor() / 100.0);
        if height.as_mm() <= 0.0 {
            return self.eval.report(say::no_room_for_labels(
                &written.name.text,
                place.clear_opening,
                written.name.span,
            ));
        }
        let set = if self.is_curved(written) { ", set straight," } else { "" };
        let why = format!("the largest at which every label{set} clears the opening by {}", place.clear_opening);
        self.default(&what, height.to_string(), &why, written.name.span);
        Some(height)
    }
}

/// A path as straight pieces, to within `tolerance` mm.
fn lines(path: &kurbo::BezPath, tolerance: f64) -> Vec<Line> {
    let mut flat = kurbo::BezPath::new();
    kurbo::flatten(path, tolerance, |element| flat.push(element));
    flat.segments()
        .filter_map(|segment| match segment {
            kurbo::PathSeg::Line(line) => Some(line),
            _ => None,
        })
        .collect()
}

/// How many times over a shape may grow about `centre` before it touches a wall.
fn reach(walls: &[Line], centre: Point, shape: kurbo::BezPath) -> f64 {
    let points: Vec<Vec2> = lines(&shape, POINT_MM).iter().map(|line| line.p0 - centre).collect();
    let walls: Vec<(Vec2, Vec2)> = walls.iter().map(|wall| (wall.p0 - centre, wall.p1 - centre)).collect();
    let first_wall = |way: &Vec2| {
        let crossings = walls.iter().filter_map(|&(from, to)| {
            // Walls on end ask the same of the corner between them, so no ray slips through it.
            let crossed = (from.cross(*way) < 0.0) != (to.cross(*way) < 0.0);
            let times = crossed.then(|| from.cross(to - from) / way.cross(to - from));
            times.filter(|times| *times > 0.0)
        });
        crossings.fold(f64::INFINITY, f64::min)
    };
    points.iter().map(first_wall).fold(f64::INFINITY, f64::min)
}
