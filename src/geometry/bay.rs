//! Round openings that something turns in: the circle that their wall follows, and where the wall is missing.

use kurbo::Point;

use super::Region;
use super::flattened::FlattenedShape;

/// How far a wall may stray from one circle, in mm: less than any kerf (common practice, no source).
const ROUND_MM: f64 = 0.02;
/// So many places of the circle are asked for their wall before its ends are looked for.
const PLACES: u32 = 720;
/// An end of the wall is halved so often, to far below what any laser cuts.
const HALVINGS: u32 = 20;

/// The wall of a round opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bay {
    /// The middle of its circle.
    pub centre: Point,
    /// The circle's radius, in mm.
    pub radius: f64,
    /// How far round there is a wall, in radians.
    pub wall: f64,
    /// The widest place without one, straight across, in mm; 0 where the wall is whole.
    pub gap: f64,
}

impl Bay {
    /// Whether a round thing of this radius, in mm, stays in: the wall reaches more than half way round it, and no gap lets it out.
    pub fn keeps(&self, radius: f64) -> bool {
        self.wall > std::f64::consts::PI && self.gap < 2.0 * radius
    }
}

impl Region {
    /// The wall that this opening has in a layer, which is what is there but for the opening; none where it does not follow one
    /// circle.
    pub fn bay(&self, body: &Region) -> Option<Bay> {
        let centre = self.bounds()?.center();
        let (radius, least) = (self.swept_radius(centre), self.least_radius(centre)?);
        if radius - least > ROUND_MM || self.contours().len() != 1 {
            return None;
        }
        let radius = f64::midpoint(radius, least);
        // Most lie well within what is there.
        if FlattenedShape::of(self).lies_clear_in(&FlattenedShape::of(body), 2.0 * ROUND_MM) {
            return Some(Bay { centre, radius, wall: std::f64::consts::TAU, gap: 0.0 });
        }
        let at = |angle: f64| Point::new(centre.x + radius * angle.cos(), centre.y + radius * angle.sin());
        let walled = |angle: f64| body.contains(at(angle));
        let step = std::f64::consts::TAU / f64::from(PLACES);
        let places: Vec<bool> = (0..PLACES).map(|place| walled(f64::from(place) * step)).collect();
        let next = places.iter().skip(1).chain(places.first());
        let ends = (0..PLACES).zip(places.iter().zip(next)).filter(|(_, (here, next))| here != next);
        let ends: Vec<(f64, bool)> = ends
            .map(|(place, (here, _))| {
                let (mut from, mut to) = (f64::from(place) * step, f64::from(place + 1) * step);
                for _ in 0..HALVINGS {
                    let middle = f64::midpoint(from, to);
                    if walled(middle) == *here { from = middle } else { to = middle }
                }
                (f64::midpoint(from, to), *here)
            })
            .collect();
        if ends.is_empty() {
            let wall = if places.first() == Some(&true) { std::f64::consts::TAU } else { 0.0 };
            return Some(Bay { centre, radius, wall, gap: if wall > 0.0 { 0.0 } else { 2.0 * radius } });
        }
        // A gap goes from where a wall ends to where the next one begins.
        let begins = ends.iter().skip(1).chain(ends.first()).map(|(angle, _)| *angle);
        let open = ends.iter().zip(begins).filter(|((_, wall_ends), _)| *wall_ends);
        let open: Vec<f64> = open.map(|((from, _), to)| (to - from).rem_euclid(std::f64::consts::TAU)).collect();
        let across = |angle: &f64| 2.0 * radius * (angle.min(std::f64::consts::PI) / 2.0).sin();
        let gap = open.iter().map(across).fold(0.0, f64::max);
        Some(Bay { centre, radius, wall: std::f64::consts::TAU - open.iter().sum::<f64>(), gap })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::{circle, obround, rectangle};
    use kurbo::Affine;

    fn disc(radius: f64, x: f64, y: f64) -> Region {
        circle(radius).unwrap().transformed(Affine::translate((x, y)))
    }

    #[test]
    fn a_wall_all_round_has_no_gap() {
        let bay = disc(20.5, 6.0, 0.0).bay(&rectangle(80.0, 60.0, 3.0).unwrap()).unwrap();
        assert!(bay.centre.distance(Point::new(6.0, 0.0)) < 1e-3 && (bay.radius - 20.5).abs() < 1e-3);
        assert_eq!((bay.wall, bay.gap), (std::f64::consts::TAU, 0.0));
        assert!(bay.keeps(20.0));
    }

    /// The chord by Pythagoras: an edge 14 mm from the middle of a circle of 20.5 mm.
    #[test]
    fn a_bay_that_runs_over_an_edge_is_open_there() {
        let bay = disc(20.5, 6.0, 0.0).bay(&rectangle(40.0, 80.0, 0.0).unwrap()).unwrap();
        let (chord, half) = (2.0 * (20.5_f64.powi(2) - 14.0_f64.powi(2)).sqrt(), (14.0_f64 / 20.5).acos());
        assert!(
            (bay.gap - chord).abs() < 1e-3 && (bay.wall - (std::f64::consts::TAU - 2.0 * half)).abs() < 1e-4,
            "{bay:?}"
        );
        assert!(bay.keeps(20.25) && !bay.keeps(14.0));
        // The edge beyond the middle: less than half a turn of wall keeps nothing.
        let shallow = disc(20.5, 22.0, 0.0).bay(&rectangle(40.0, 80.0, 0.0).unwrap()).unwrap();
        assert!(shallow.wall < std::f64::consts::PI && !shallow.keeps(20.25), "{shallow:?}");
        // Both sides open: two gaps, and the wider counts.
        let both = disc(20.5, 2.0, 0.0).bay(&rectangle(40.0, 80.0, 0.0).unwrap()).unwrap();
        let wider = 2.0 * (20.5_f64.powi(2) - 18.0_f64.powi(2)).sqrt();
        assert!((both.gap - wider).abs() < 1e-3, "{both:?}");
    }

    #[test]
    fn what_is_not_round_is_no_bay() {
        let outline = rectangle(90.0, 90.0, 0.0).unwrap();
        assert_eq!(obround(24.0, 20.0).unwrap().bay(&outline), None);
        assert_eq!(disc(5.0, -10.0, 0.0).union(&disc(5.0, 10.0, 0.0)).bay(&outline), None);
        assert_eq!(Region::empty().bay(&outline), None);
        let outside = disc(5.0, 90.0, 0.0).bay(&outline).unwrap();
        assert!(outside.wall == 0.0 && (outside.gap - 10.0).abs() < 1e-4, "{outside:?}");
    }
}
