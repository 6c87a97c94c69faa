//! Where straight lines cross a shape, and its corners that point inward.

use kurbo::Vec2;

use super::FlattenedShape;
use crate::work::spend_on;

impl FlattenedShape {
    /// The stretches of a level line that lie inside, from left to right.
    pub(super) fn spans(&self, y: f64) -> Vec<(f64, f64)> {
        if !self.filled {
            return Vec::new();
        }
        spend_on(self.segments.len(), 3);
        let crossed = self.segments.iter().filter(|line| (line.p0.y <= y) != (line.p1.y <= y));
        let mut crossings: Vec<(f64, i32)> = crossed
            .map(|line| {
                let along = (y - line.p0.y) / (line.p1.y - line.p0.y);
                (line.p0.x + along * (line.p1.x - line.p0.x), if line.p1.y > line.p0.y { 1 } else { -1 })
            })
            .collect();
        crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut spans, mut winding, mut from) = (Vec::new(), 0, 0.0);
        for (x, step) in crossings {
            if winding == 0 {
                from = x;
            }
            winding += step;
            if winding == 0 {
                spans.push((from, x));
            }
        }
        spans
    }

    /// Where the ray from the axis through `way` crosses the boundary, in lengths of `way`.
    pub(crate) fn ray_crossings(&self, way: Vec2) -> impl Iterator<Item = f64> {
        spend_on(self.segments.len(), 5);
        self.segments.iter().filter_map(move |line| {
            let (from, along) = (line.p0.to_vec2(), line.p1 - line.p0);
            let scale = way.cross(along);
            let (at, place) = (from.cross(along) / scale, from.cross(way) / scale);
            (at > 0.0 && (0.0..=1.0).contains(&place)).then_some(at)
        })
    }

    /// The corners at which the boundary turns away from the inside.
    pub(crate) fn inward_corners(&self) -> Vec<Vec2> {
        let corners = self.contours().flat_map(|contour| contour.iter().zip(contour.iter().cycle().skip(1)));
        let inward = corners.filter(|(line, next)| (line.p1 - line.p0).cross(next.p1 - next.p0) < 0.0);
        inward.map(|(line, _)| line.p1.to_vec2()).collect()
    }
}
