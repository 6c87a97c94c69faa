//! The height of a ring's labels, where the maker leaves it to us.

use kurbo::{Line, ParamCurveNearest as _, Point, Vec2};

use super::Assembler;
use super::labels::label_scale;
use super::rings::{ReadAt, Written, bearing_of, turns_in};
use crate::check::findings::rings as say;
use crate::check::value::Value;
use crate::design::pose::wrapped;
use crate::design::{Joint, Laid, RingWork, Shape};
use crate::geometry::{FlattenedShape, turn};
use crate::lettering::{Arc, Facing, Setting, Typeface, placing};
use crate::syntax::tree::ReadsHow;
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;

/// How closely an opening's edge is followed when labels are fitted into it, in mm.
const WALL_MM: f64 = 1e-3;
/// The same for a label 1 mm tall; it grows with the label, and stays below the hundredth that heights are given to.
const POINT_MM: f64 = 5e-4;
/// How closely the height of a bent label is found, in mm.
const NEAR_MM: f64 = 2e-3;
/// No default height is larger than this.
const TALLEST_MM: f64 = 200.0;

impl<'t> Assembler<'_, 't> {
    /// The largest height at which every label clears the opening, to 0.01 mm.
    pub(super) fn height(
        &mut self,
        written: &Written<'t>,
        place: Option<&ReadAt>,
        unit: &[Shape],
        (radius, bearings, facings): (Length, &[Angle], &[Facing]),
        (typeface, joints): (&Typeface, &[Joint]),
    ) -> Option<Length> {
        let what = format!("height of ring `{}`", written.key);
        let opening = place.filter(|place| place.how == ReadsHow::Through);
        let Some(place) = opening else {
            let height = fields::Ring::Height.spec().default.length()?;
            self.assume(&what, height.to_string(), "usual where no opening limits it", written.name.span);
            return Some(height);
        };
        // Half a line is burnt on either side of where the beam runs.
        let half = if written.work == RingWork::Scored { written.line / 2.0 } else { Length::ZERO };
        let room = place.region.offset(-(place.clear_opening + half).as_mm());
        let stops: Vec<Angle> = match turns_in(joints, place.joints.clone()).as_slice() {
            [only] if only.stops.len() == bearings.len() && written.laid() != Laid::Round => {
                only.stops.iter().map(|stop| place.carried(*stop)).collect()
            }
            _ => bearings.iter().map(|bearing| *bearing - bearing_of(place.centre)).collect(),
        };
        let (walls, bounds) = (lines(room.path(), WALL_MM), FlattenedShape::of(&room));
        let mut tallest = TALLEST_MM;
        let set = unit.iter().zip(bearings).zip(facings);
        for ((((shape, bearing), facing), stop), (value, says)) in set.zip(stops).zip(&written.labels) {
            // As the label lies under the opening at its stop, so that one look at the opening serves all of them.
            let placed = turn(-stop) * placing(radius.as_mm(), *bearing, *facing);
            let centre = placed * Point::ORIGIN;
            let inside = room.contains(centre);
            if !place.region.contains(centre)
                && tallest_fits(value)
                && let Some(off) = off_middle(centre, place.centre)
            {
                let label = (written.key.as_str(), says.as_str());
                return self.eval.report(say::labels_beside_opening(label, off, written.name.span));
            }
            let mut reach = if inside { reach(&walls, centre, placed * shape.path()) } else { 0.0 };
            if reach > 0.0 && written.bends(value, *facing) {
                let arc = Arc { radius_mm: radius.as_mm(), bearing: Angle::ZERO, facing: *facing };
                let bent = |height: f64| {
                    let bent = written.bent(says, typeface, &Setting::of_height(height), &arc).ok()?;
                    Some(turn(*bearing - stop) * written.seen(bent).path())
                };
                reach = tallest_bent(&bounds, (reach, tallest), bent);
            }
            // A label with a size of its own either fits or leaves no height at all.
            let grows = tallest_fits(value);
            tallest = tallest.min(if grows || reach < 1.0 { reach } else { TALLEST_MM });
        }
        // Down and never up: at the height that is stated every label must clear the opening.
        let height = Length::mm((tallest * 100.0).floor() / 100.0);
        if height.as_mm() <= 0.0 {
            return self.eval.report(say::no_room_for_labels(&written.key, place.clear_opening, written.name.span));
        }
        let why = format!("the largest at which every label clears the opening by {}", place.clear_opening);
        self.assume(&what, height.to_string(), &why, written.name.span);
        Some(height)
    }
}

/// How far round and how far out a label stands from the middle of its opening; none where it stands there.
fn off_middle(label: Point, middle: Point) -> Option<(Angle, Length)> {
    let round = wrapped((bearing_of(label) - bearing_of(middle)).as_degrees());
    let out = label.to_vec2().hypot() - middle.to_vec2().hypot();
    (round.abs() > 0.05 || out.abs() > 0.05).then(|| (Angle::degrees(round), Length::mm(out)))
}

/// Whether a label takes the height that the ring has.
fn tallest_fits(value: &Value) -> bool {
    label_scale(value, TALLEST_MM) > 1.0
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

/// How tall a label may be whose letters run along its ring, `most` at the most, where it could be `straight` if it were set so. A
/// word that bends keeps its ends nearer to the ring or farther from it, so heights are tried.
fn tallest_bent(
    room: &FlattenedShape,
    (straight, most): (f64, f64),
    bent: impl Fn(f64) -> Option<kurbo::BezPath>,
) -> f64 {
    let fits = |height: f64| {
        // None where it is longer than its whole circle.
        bent(height).is_some_and(|path| {
            let mut within = true;
            kurbo::flatten(&path, WALL_MM, |element| {
                within = within && element.end_point().is_none_or(|at| room.contains(at));
            });
            within
        })
    };
    let (mut low, mut high) = (0.0, (2.0 * straight).min(most));
    while high < most && fits(high) {
        (low, high) = (high, (2.0 * high).min(most));
    }
    if fits(high) {
        return high;
    }
    while high - low > NEAR_MM {
        let middle = low.midpoint(high);
        (low, high) = if fits(middle) { (middle, high) } else { (low, middle) };
    }
    low
}

/// How many times over a shape may grow about `centre` before it touches a wall.
fn reach(walls: &[Line], centre: Point, shape: kurbo::BezPath) -> f64 {
    let mut points: Vec<Vec2> = Vec::new();
    kurbo::flatten(&shape, POINT_MM, |element| points.extend(element.end_point().map(|at| at - centre)));
    // The farthest points mostly touch first, and the nearest walls are mostly touched first: the rest is soon ruled out.
    points.sort_by(|a, b| b.hypot2().total_cmp(&a.hypot2()));
    let apart = |wall: &Line| wall.nearest(centre, WALL_MM).distance_sq.sqrt();
    let mut walls: Vec<(f64, Line)> = walls.iter().map(|wall| (apart(wall), *wall)).collect();
    walls.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut least = f64::INFINITY;
    for way in points {
        let length = way.hypot();
        for (apart, wall) in &walls {
            if *apart >= least * length {
                break;
            }
            let (from, to) = (wall.p0 - centre, wall.p1 - centre);
            // Walls on end ask the same of the corner between them, so no ray slips through it.
            if (from.cross(way) < 0.0) != (to.cross(way) < 0.0) {
                let times = from.cross(to - from) / way.cross(to - from);
                least = if times > 0.0 { least.min(times) } else { least };
            }
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::{circle, obround, star};
    use kurbo::Affine;

    proptest::proptest! {
        #![proptest_config(crate::drawn(60))]

        /// The least of all walls and all points, each asked by itself.
        #[test]
        fn no_wall_is_passed_over(
            points in 3u32..12, deep in 0.2..0.9f64, long in 1.0..4.0f64,
            turned in 0.0..6.3f64, (x, y) in (-4.0..4.0f64, -4.0..4.0f64),
        ) {
            let centre = Point::new(x, y);
            let shape = star(points, 1.0, deep, 0.0).unwrap().transformed(Affine::rotate(turned).then_translate(centre.to_vec2()));
            for opening in [circle(12.0).unwrap(), obround(24.0 * long, 24.0).unwrap(), star(5, 20.0, 11.0, 0.0).unwrap()] {
                let walls = lines(opening.path(), WALL_MM);
                let found = reach(&walls, centre, shape.path().clone());
                let times = |way: Vec2, wall: &Line| {
                    let at = wall.crossing_point(Line::new(centre, centre + way))?;
                    let meets = wall.nearest(at, 1e-9).distance_sq < 1e-9 && (at - centre).dot(way) > 0.0;
                    meets.then(|| (at - centre).hypot() / way.hypot())
                };
                let ways: Vec<Vec2> = lines(shape.path(), POINT_MM).into_iter().map(|line| line.p0 - centre).collect();
                let met = ways.iter().flat_map(|way| walls.iter().filter_map(|wall| times(*way, wall)));
                let least = met.fold(f64::INFINITY, f64::min);
                proptest::prop_assert!((found - least).abs() < 1e-6 * least, "{} {}", found, least);
            }
        }
    }
}
