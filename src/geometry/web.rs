//! The narrowest place of the material, for its strength.

use kurbo::{BezPath, Line, Point, Vec2};

use super::Region;
use super::distance::Nearest;
use super::flattened::FlattenedShape;
use super::segment::{cut, nearest_on, nearest_pair};

/// How finely an outline is flattened where necks are looked for, in mm.
const ROUGH_MM: f64 = 1e-3;
/// How finely where they are measured, in mm.
const FINE_MM: f64 = 2e-5;
/// Roughness that is no neck, in mm.
const LEAST_MM: f64 = 1e-3;
/// Directions this near to square are square (cosine).
const LEVEL: f64 = 1e-9;
/// Edges this near to parallel are (sine).
const PARALLEL: f64 = 1e-6;

impl Region {
    /// The narrowest web: two points of the boundary with nothing but material between them, where moving either
    /// a little along the boundary brings them no closer. Between two contours (a hole and the rim, two holes) that
    /// is their least distance; along one contour it is a neck, or the width between parallel sides. A corner,
    /// however sharp, is no web. None where there is no such place.
    pub fn narrowest_web(&self) -> Option<Nearest> {
        let each = self.pieces().into_iter().filter_map(|piece| narrowest_in(&piece));
        each.min_by(|a, b| a.distance.total_cmp(&b.distance))
    }
}

/// Farther than anything.
const FAR: Nearest = Nearest { distance: f64::INFINITY, from: Point::ORIGIN, to: Point::ORIGIN };

fn narrowest_in(piece: &Region) -> Option<Nearest> {
    let contours = piece.contours();
    let mut best = FAR;
    let fine: Vec<FlattenedShape> = contours.iter().map(|contour| FlattenedShape::closed(contour, FINE_MM)).collect();
    for (i, contour) in fine.iter().enumerate() {
        for other in fine.iter().skip(i + 1) {
            let gap = contour.edge_gap(other, best.distance);
            best = if gap.mm < best.distance { gap.into() } else { best };
        }
    }
    for contour in &contours {
        if let Some(neck) = neck(contour, piece, best.distance) {
            best = settle(contour, neck);
        }
    }
    best.distance.is_finite().then_some(best)
}

/// One edge of a flattened contour with the directions of its neighbours.
struct Station {
    edge: Line,
    along: Vec2,
    length: f64,
    before: Vec2,
    after: Vec2,
}

impl Station {
    /// Whether moving on from `here`, a point of this edge, brings nothing closer to `there`.
    fn settled(&self, here: Point, there: Point) -> bool {
        let toward = (there - here).normalize();
        let forward = here != self.edge.p1 || self.after.dot(toward) <= LEVEL;
        let back = here != self.edge.p0 || -self.before.dot(toward) <= LEVEL;
        forward && back
    }
}

impl Station {
    /// Whether some of the other edge lies on the inner side of this one.
    fn sees(&self, other: &Self) -> bool {
        [other.edge.p0, other.edge.p1].iter().any(|end| self.along.cross(*end - self.edge.p0) > 0.0)
    }

    /// The nearest points of two edges; the middle of where they lie side by side if they are parallel.
    fn facing(&self, other: &Self) -> (Point, Point) {
        let length = self.length;
        if self.along.cross(other.along).abs() < PARALLEL * length * other.length {
            let place = |point: Point| ((point - self.edge.p0).dot(self.along) / (length * length)).clamp(0.0, 1.0);
            let middle = f64::midpoint(place(other.edge.p0), place(other.edge.p1));
            let here = self.edge.p0 + self.along * middle;
            if middle > 0.0 && middle < 1.0 {
                return (here, nearest_on(&other.edge, here));
            }
        }
        nearest_pair(&self.edge, &other.edge)
    }
}

/// The narrowest neck of one contour, where narrower than `limit` mm.
fn neck(contour: &BezPath, piece: &Region, limit: f64) -> Option<Nearest> {
    let mut best = Nearest { distance: limit, ..FAR };
    let stations = stations(contour);
    for (i, a) in stations.iter().enumerate() {
        for b in stations.iter().skip(i + 1) {
            let reach = best.distance + a.length + b.length;
            let near = a.edge.p0.distance_squared(b.edge.p0) <= reach * reach;
            // Edges that face one another run contrary ways, and each has some of the other on its inner side.
            if !near || a.along.dot(b.along) > 0.0 || !a.sees(b) || !b.sees(a) {
                continue;
            }
            let (p, q) = a.facing(b);
            let distance = p.distance(q);
            let narrower = distance > LEAST_MM && distance < best.distance;
            if narrower && a.settled(p, q) && b.settled(q, p) && clear(p, q, piece) {
                best = Nearest { distance, from: p, to: q };
            }
        }
    }
    (best.distance < limit).then_some(best)
}

fn stations(contour: &BezPath) -> Vec<Station> {
    let outline = FlattenedShape::closed(contour, ROUGH_MM);
    let edges = outline.segments();
    let direction = |edge: &Line| (edge.p1 - edge.p0).normalize();
    let before = edges.iter().cycle().skip(edges.len().saturating_sub(1)).map(direction);
    let after = edges.iter().cycle().skip(1).map(direction);
    let station = |(edge, (before, after)): (&Line, (Vec2, Vec2))| {
        let along = edge.p1 - edge.p0;
        Station { edge: *edge, along, length: along.hypot(), before, after }
    };
    edges.iter().zip(before.zip(after)).map(station).collect()
}

/// Whether only material lies between two points of the boundary.
fn clear(p: Point, q: Point, piece: &Region) -> bool {
    (1..8).all(|i| piece.contains(p.lerp(q, f64::from(i) / 8.0)))
}

/// The same place on a finer copy.
fn settle(contour: &BezPath, rough: Nearest) -> Nearest {
    let outline = FlattenedShape::closed(contour, FINE_MM);
    let about = |place: Point| {
        let near = |edge: &&Line| nearest_on(edge, place).distance(place) < rough.distance / 4.0;
        let parts = outline.segments().iter().filter(near).map(|edge| cut(edge, place, rough.distance / 4.0));
        FlattenedShape::of_segments(parts.collect())
    };
    let (here, there) = (about(rough.from), about(rough.to));
    if here.is_empty() || there.is_empty() { rough } else { here.edge_gap(&there, f64::INFINITY).into() }
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;
    use kurbo::Affine;

    /// By hand: sides that lie along one another face across the middle of the stretch that both have, however the two
    /// are turned; those that lie one beyond the other do at their ends.
    #[test]
    fn parallel_sides_face_across_the_middle_of_what_they_share() {
        for turned in [0.0, 0.7, 2.5] {
            let place = |x: f64, y: f64| Affine::rotate(turned) * Point::new(x, y);
            let station = |from: (f64, f64), to: (f64, f64)| {
                let edge = Line::new(place(from.0, from.1), place(to.0, to.1));
                let along = edge.p1 - edge.p0;
                Station { edge, along, length: along.hypot(), before: along, after: along }
            };
            let side = station((0.0, 0.0), (10.0, 0.0));
            // From, to, and where in between the two meet on either side.
            for (from, to, here, there) in [
                (14.0, 4.0, 7.0, 7.0),
                (6.0, -2.0, 3.0, 3.0),
                (8.0, 3.0, 5.5, 5.5),
                (40.0, -70.0, 5.0, 5.0),
                (20.0, 12.0, 10.0, 12.0),
                (-1.0, -9.0, 0.0, -1.0),
            ] {
                let (p, q) = side.facing(&station((from, 3.0), (to, 3.0)));
                let (near, far) = (p.distance(place(here, 0.0)), q.distance(place(there, 3.0)));
                assert!(near < 1e-9 && far < 1e-9, "{turned} {from} {to}: {p} {q}");
            }
        }
    }

    /// A slanting strip 3 mm wide, whose long sides share the stretch from 4 mm to 10 mm: at the ends of that its edge
    /// runs on to what is nearer, so that it is found by its middle, at 7 mm, give or take the quarter of its width in
    /// which a finer copy is looked through.
    #[test]
    fn a_slanting_strip_is_as_narrow_as_its_sides_are_apart() {
        let strip = shapes::path("M0,0 L10,0 L14,3 L4,3 Z").unwrap();
        let web = strip.narrowest_web().unwrap();
        assert!((web.distance - 3.0).abs() < 1e-9, "{web:?}");
        assert!([web.from, web.to].iter().all(|place| (place.x - 7.0).abs() <= 0.75 + 1e-9), "{web:?}");
    }
}
