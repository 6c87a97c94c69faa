//! Segments in bunches with a box each, and bunches in groups with a box each, so that most are never looked at.

use kurbo::{Line, Point, Rect};

use super::{Flat, Gap};
use crate::geometry::boxes::gap_squared;

/// Segments in a bunch, and bunches in a group.
pub(super) const BUNCH: usize = 8;

/// A few segments on end, with the box of each and the box round all.
#[derive(Clone, Copy)]
pub(super) struct Bunch<'a> {
    /// Whether they are of closed contours, as those of filled shapes are.
    pub(super) closed: bool,
    pub(super) lines: &'a [Line],
    own: &'a [Rect],
    pub(super) bounds: Rect,
}

fn bunches<'a>(lines: &'a [Line], own: &'a [Rect], boxes: &'a [Rect], closed: bool) -> impl Iterator<Item = Bunch<'a>> {
    let parts = lines.chunks(BUNCH).zip(own.chunks(BUNCH)).zip(boxes);
    parts.map(move |((lines, own), bounds)| Bunch { closed, lines, own, bounds: *bounds })
}

impl Flat {
    /// All bunches, in order.
    pub(super) fn bunches(&self) -> impl Iterator<Item = Bunch<'_>> {
        bunches(&self.segments, &self.own, &self.boxes, self.filled)
    }

    /// The groups: the box of each, and its bunches.
    pub(super) fn groups(&self) -> impl Iterator<Item = (Rect, impl Iterator<Item = Bunch<'_>>)> {
        let parts =
            self.segments.chunks(BUNCH * BUNCH).zip(self.own.chunks(BUNCH * BUNCH)).zip(self.boxes.chunks(BUNCH));
        self.groups
            .iter()
            .zip(parts)
            .map(|(group, ((lines, own), boxes))| (*group, bunches(lines, own, boxes, self.filled)))
    }

    /// The bunch whose box is nearest to a box: a good first guess.
    pub(super) fn guess(&self, spot: Rect) -> Option<Bunch<'_>> {
        let (mut least, mut nearest) = (f64::INFINITY, None);
        for (group, bunches) in self.groups() {
            if gap_squared(spot, group) >= least {
                continue;
            }
            for bunch in bunches {
                let apart = gap_squared(spot, bunch.bounds);
                if apart < least {
                    (least, nearest) = (apart, Some(bunch));
                }
            }
        }
        nearest
    }

    /// The bunches whose boxes are nearer to a box than this squared distance, in order.
    pub(super) fn bunches_near(&self, spot: Rect, squared: f64) -> Vec<Bunch<'_>> {
        let groups = self.groups().filter(|(group, _)| gap_squared(spot, *group) < squared);
        let mut near = Vec::with_capacity(self.boxes.len());
        near.extend(groups.flat_map(|(_, bunches)| bunches).filter(|bunch| gap_squared(spot, bunch.bounds) < squared));
        near
    }

    /// A bunch near the other shape, and the other's bunch that is nearest to it: a good first guess.
    pub(super) fn nearest_bunches<'a>(&'a self, other: &'a Self) -> Option<(Bunch<'a>, Bunch<'a>)> {
        let pairs = self.groups.iter().flat_map(|mine| other.groups.iter().map(move |theirs| (*mine, *theirs)));
        let far = |pair: &(Rect, Rect)| gap_squared(pair.0, pair.1);
        let (_, spot) = pairs.min_by(|a, b| far(a).total_cmp(&far(b)))?;
        // Each in turn the nearest to the other: soon a pair that no better one is near.
        let mine = self.guess(spot)?;
        let theirs = other.guess(mine.bounds)?;
        let mine = self.guess(theirs.bounds)?;
        Some((mine, other.guess(mine.bounds)?))
    }
}

/// Nearest point of a segment.
fn nearest_on(segment: &Line, point: Point) -> Point {
    let along = segment.p1 - segment.p0;
    let length = along.hypot2();
    let t = if length > 0.0 { ((point - segment.p0).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
    segment.p0 + along * t
}

pub(super) fn nearest_in(bunch: &[Line], point: Point, best: &mut (f64, Point)) {
    for segment in bunch {
        let near = nearest_on(segment, point);
        let squared = near.distance_squared(point);
        if squared < best.0 {
            *best = (squared, near);
        }
    }
}

pub(super) fn nearest_between(mine: Bunch<'_>, theirs: Bunch<'_>, best: &mut (f64, Gap)) {
    // Bunches that are near one another mostly are so at an end: few of their segments need comparing.
    let mut near = [(Line::new(Point::ZERO, Point::ZERO), Rect::ZERO); BUNCH];
    let those = theirs.lines.iter().zip(theirs.own).filter(|(_, own)| gap_squared(mine.bounds, **own) < best.0);
    let count = near.iter_mut().zip(those).map(|(place, (line, own))| *place = (*line, *own)).count();
    for (a, bounds) in mine.lines.iter().zip(mine.own) {
        if gap_squared(*bounds, theirs.bounds) >= best.0 {
            continue;
        }
        for (b, their_bounds) in near.iter().take(count) {
            let apart = gap_squared(*bounds, *their_bounds);
            if apart >= best.0 {
                continue;
            }
            if let Some(point) = (apart == 0.0).then(|| crossing(a, b)).flatten() {
                *best = (0.0, Gap { mm: 0.0, at: (point, point) });
                return;
            }
            let mut improve = |at: (Point, Point)| {
                let squared = at.0.distance_squared(at.1);
                if squared < best.0 {
                    *best = (squared, Gap { mm: squared.sqrt(), at });
                }
            };
            improve((a.p0, nearest_on(b, a.p0)));
            improve((nearest_on(a, b.p0), b.p0));
            // On a closed contour a segment's end is where another begins.
            if !mine.closed {
                improve((a.p1, nearest_on(b, a.p1)));
            }
            if !theirs.closed {
                improve((nearest_on(a, b.p1), b.p1));
            }
        }
    }
}

/// Where two segments cross; none where they only run beside each other.
pub(super) fn crossing(a: &Line, b: &Line) -> Option<Point> {
    let (along, across) = (a.p1 - a.p0, b.p1 - b.p0);
    let scale = along.cross(across);
    if scale == 0.0 {
        return None;
    }
    let t = (b.p0 - a.p0).cross(across) / scale;
    let u = (b.p0 - a.p0).cross(along) / scale;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a.p0 + along * t)
}
