//! A bound that a dial must keep for a reading to be right: where one corner meets one edge.

use kurbo::{Affine, Line, Point, Rect, Vec2};

use super::corners::{Corner, Corners, Edge};
use super::sparser;
use crate::geometry::{FlattenedShape, TOUCH_MM};
use crate::work::{spend, spend_on};

/// What is farther than this many standard deviations is left out: it comes about in seven of two million dials.
const FAR: f64 = 4.5;
/// How far past the end of an edge a corner may meet it and still count, as a part of the standard deviation of the shift.
/// Less where other labels come into view, of which round ends leave many near.
const NEAR_END: f64 = 0.3;
const NEAR_END_IN_VIEW: f64 = 0.03;
/// A bound that another one makes superfluous to within this is left out, in mm.
const SPARE_MM: f64 = 1e-3;

/// How far two layers stray from each other. Angles in radians, lengths in mm.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Straying {
    /// Standard deviations of all causes together: turned, shifted along each axis, and of the edges of openings.
    pub turned: f64,
    pub shifted: f64,
    pub wider: f64,
    /// Standard deviation of the placing and of what glue turns, and how far the stop is drawn off beside it.
    pub placing: f64,
    pub drawn: f64,
    /// Standard deviation of pockets and glued layers along each axis, and how far they are shifted at the most beside it.
    pub pockets: f64,
    pub pushed: f64,
}

impl Straying {
    /// How far it is turned at the most.
    pub(super) fn most(&self) -> f64 {
        self.drawn + FAR * self.placing
    }

    /// How far it is shifted at the most.
    pub(super) fn farthest(&self) -> f64 {
        self.pushed + FAR * self.pockets
    }

    /// How far an edge is cut back at the most.
    pub(super) fn widest(&self) -> f64 {
        FAR * self.wider
    }

    /// How far a point at this radius comes off its place at the most.
    pub(super) fn reach(&self, radius: f64) -> f64 {
        self.pushed + radius * self.drawn + FAR * self.pockets.hypot(self.wider).hypot(radius * self.placing)
    }
}

/// Holds where normal·shift + along·turned + bend·turned² is at most room + wider·(what every edge is cut back by). The shift
/// in mm is that of the ink against what it must keep clear of; turned, in radians, is the sum of the errors of the turns
/// between them. Exact for a corner and a straight edge but for the third power of the turn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bound {
    pub normal: Vec2,
    pub along: f64,
    pub bend: f64,
    pub room: f64,
    pub wider: f64,
    /// Which motion, by place in the list of the reading's.
    pub motion: usize,
}

/// Ink and what it must keep clear of, both in one frame, with what moves the ink.
pub(super) struct Pair<'a> {
    pub ink: &'a FlattenedShape,
    /// The corners of its convex hull, counter-clockwise.
    pub hull: Vec<Point>,
    pub body: &'a FlattenedShape,
    /// Takes the body to the frame of the ink.
    pub map: Affine,
    /// 1 where a wider cut lessens the body, -1 where it lets it grow.
    pub wider: f64,
    /// Whether they overlap as drawn.
    pub overlap: bool,
    /// 1 where the ink turns on with the turns between them, -1 where the body does.
    pub sign: f64,
    pub straying: Straying,
}

impl Pair<'_> {
    /// All bounds that may fail, without their motion.
    pub(super) fn bounds(&self) -> Vec<(Bound, Point)> {
        let Some(centre) = self.ink.bounds().map(|bounds| bounds.center()) else { return Vec::new() };
        let reach = self.straying.reach(self.ink.reach(Point::ZERO));
        let back = self.map.inverse();
        let outlines = self.near_outlines(centre, self.ink.reach(centre) + reach);
        if outlines.is_empty() {
            return Vec::new();
        }
        let edges: Vec<Line> = outlines.concat();
        let mut bounds = Vec::new();
        let is_inside = |corner: &Point| self.overlap && self.body.contains(back * *corner);
        let hull = sparser::hull(&self.hull);
        let (inside, outside): (Vec<Point>, Vec<Point>) = hull.into_iter().partition(is_inside);
        for corner in inside {
            bounds.extend(nearest(edges.iter(), corner).and_then(|edge| self.overlapping(corner, edge, true)));
        }
        let mut outside = Corners::new(&outside);
        let sparser = outlines.iter().map(|outline| {
            let runs = outline.chunk_by(|edge, next| edge.p1 == next.p0);
            runs.flat_map(sparser::edges).collect::<Vec<Line>>()
        });
        for outline in sparser {
            let faces = |edge: &Line| outward(edge).is_none_or(|normal| normal.dot(centre - edge.p0) >= 0.0);
            let round = if outline.iter().all(faces) { outline.as_slice() } else { &[] };
            outline.iter().for_each(|edge| self.of_edge(edge, &mut outside, (true, round, reach), &mut bounds));
        }
        for corner in convex_corners(&edges) {
            if self.overlap && self.ink.contains(corner) {
                let edge = nearest(self.ink.near(corner, reach), corner);
                bounds.extend(edge.and_then(|edge| self.overlapping(corner, edge, false)));
            } else {
                self.ink.near(corner, reach).for_each(|edge| {
                    self.of_edge(edge, &mut Corners::new(&[corner]), (false, &[], reach), &mut bounds)
                });
            }
        }
        bounds
    }

    /// The edges of the body that take part, outline by outline, in the frame of the ink.
    fn near_outlines(&self, centre: Point, reach: f64) -> Vec<Vec<Line>> {
        // Asked in the body's frame, where its boxes are.
        let there = self.map.inverse() * centre;
        let near = |edge: &&Line| on(edge, there).is_some_and(|(past, foot)| past.hypot(foot.distance(there)) <= reach);
        let spot = Rect::from_center_size(there, (2.0 * reach, 2.0 * reach));
        let outlines = self.body.contours_in(spot).into_iter();
        let outlines = outlines.map(|outline| outline.into_iter().filter(near).map(|edge| self.map * *edge).collect());
        outlines.filter(|outline: &Vec<Line>| !outline.is_empty()).collect()
    }

    /// Corners that must not cross an edge: those of the ink an edge of the body, or those of the body an edge of the ink. Where
    /// an outline goes round the ink and lies on one side of the edge, as that of a convex opening, it counts past its ends too.
    fn of_edge(
        &self,
        edge: &Line,
        corners: &mut Corners,
        (of_ink, round, reach): (bool, &[Line], f64),
        bounds: &mut Vec<(Bound, Point)>,
    ) {
        let Some(normal) = outward(edge) else { return };
        spend(200);
        let asked = Edge { line: *edge, normal, reach };
        let Some(nearest) = corners.nearest(&asked) else { return };
        let near_end = if self.wider < 0.0 { NEAR_END_IN_VIEW } else { NEAR_END };
        let mut past_ends = None;
        let wraps = || !round.is_empty() && round.iter().all(|other| normal.dot(other.p1 - edge.p0) >= -TOUCH_MM);
        let mut counted = |corner: Point| {
            let bound = self.bound(corner, edge, normal, of_ink);
            if bound.is_far(&self.straying) {
                return None;
            }
            let (turned, shift) = bound.likeliest(&self.straying);
            let (past, at) = self.meets(corner, edge, of_ink, turned, shift)?;
            let counts = past <= 0.01 + near_end * self.straying.shifted || *past_ends.get_or_insert_with(wraps);
            counts.then_some((bound, at))
        };
        // The others of one that is hardly ever reached are nearer only where turning brings them nearer.
        let is_far = self.bound(nearest.at, edge, normal, of_ink).is_far(&self.straying);
        let first = if is_far { None } else { counted(nearest.at) };
        bounds.extend(first);
        // Another corner holds wherever the nearest does, unless it may be turned to stand nearer.
        let lean = self.straying.most() * (1.0 + self.straying.most());
        let nearer = |corner: &Corner| {
            let farther = corner.room - nearest.room;
            first.is_none() && !is_far || farther.powi(2) < (corner.at - nearest.at).hypot2() * lean.powi(2)
        };
        bounds.extend(corners.others(nearest, &asked, nearer).filter_map(|corner| counted(corner.at)));
    }

    /// A corner that lies inside as drawn, with the edge nearest to it.
    fn overlapping(&self, corner: Point, edge: &Line, of_ink: bool) -> Option<(Bound, Point)> {
        let bound = self.bound(corner, edge, outward(edge)?, of_ink);
        Some((bound, self.meets(corner, edge, of_ink, 0.0, Vec2::ZERO)?.1))
    }

    fn bound(&self, corner: Point, edge: &Line, normal: Vec2, of_ink: bool) -> Bound {
        let (at, way) = (corner.to_vec2(), if of_ink { -1.0 } else { 1.0 });
        Bound {
            normal: normal * way,
            along: way * self.sign * normal.dot(turning(at)),
            bend: normal.dot(at) / 2.0,
            room: normal.dot(corner - edge.p0),
            wider: self.wider,
            motion: 0,
        }
    }

    /// How far past the ends of an edge a corner meets it, and where, with the dial turned and shifted so.
    fn meets(&self, corner: Point, edge: &Line, of_ink: bool, turned: f64, shift: Vec2) -> Option<(f64, Point)> {
        let turned = self.sign * turned;
        on(edge, if of_ink { turned_by(corner, turned) + shift } else { turned_by(corner - shift, -turned) })
    }
}

impl Bound {
    /// Whether it is hardly ever reached.
    fn is_far(&self, straying: &Straying) -> bool {
        let Straying { placing, pockets, wider, .. } = *straying;
        let by = (self.along * placing).powi(2) + pockets.powi(2) + (self.wider * wider).powi(2);
        let left = self.room - self.bend.max(0.0) * straying.most().powi(2);
        left - straying.pushed - self.along.abs() * straying.drawn > FAR * by.sqrt()
    }

    /// What a shift may take of its room, in mm, wherever the stop is set.
    pub(super) fn spare(&self, straying: &Straying) -> f64 {
        let turned = straying.most();
        self.room - self.along.abs() * turned - self.bend.max(0.0) * turned.powi(2)
    }

    /// Where it fails likeliest: how far turned and shifted the dial then is.
    fn likeliest(&self, straying: &Straying) -> (f64, Vec2) {
        let mut found = (0.0, Vec2::ZERO);
        for _ in 0..3 {
            let turned = found.0;
            let along = self.along + 2.0 * self.bend * turned;
            let room = self.room + self.bend * turned * turned;
            let by =
                (along * straying.turned).powi(2) + straying.shifted.powi(2) + (self.wider * straying.wider).powi(2);
            if by <= 0.0 {
                return (0.0, Vec2::ZERO);
            }
            let ways = room / by;
            found = (ways * along * straying.turned.powi(2), self.normal * (ways * straying.shifted.powi(2)));
        }
        found
    }

    /// By how many deviations it is off, all causes taken for normal.
    fn off(&self, straying: &Straying) -> f64 {
        let by =
            (self.along * straying.turned).powi(2) + straying.shifted.powi(2) + (self.wider * straying.wider).powi(2);
        self.room / by.sqrt().max(f64::MIN_POSITIVE)
    }

    /// How far may be turned either way, in radians, where the dial is shifted so and its edges are cut back so.
    pub(super) fn allowed(&self, shift: Vec2, wider: f64) -> (f64, f64) {
        let on = Self { along: self.along.abs().max(1e-9), ..*self };
        let (back, near) = on.within(self.room + self.wider * wider - self.normal.dot(shift));
        if self.along >= 0.0 { (back, near) } else { (-near, -back) }
    }

    /// The turns by which along·x + bend·x² is at most this, for an `along` above 0: back, as far as that matters, and on.
    pub(super) fn within(&self, room: f64) -> (f64, f64) {
        let (along, bend) = (self.along, self.bend);
        let root = along * along + 4.0 * bend * room;
        if root < 0.0 && bend <= 0.0 {
            return (f64::NEG_INFINITY, f64::INFINITY);
        }
        // Without a root nothing is left: the first then lies beyond the second.
        let near = 2.0 * room / (along + root.max(0.0).sqrt());
        (if bend > 0.0 { -along / bend - near } else { f64::NEG_INFINITY }, near)
    }
}

/// The edge nearest to a corner.
fn nearest<'e>(edges: impl Iterator<Item = &'e Line>, corner: Point) -> Option<&'e Line> {
    let away = |edge: &Line| on(edge, corner).map_or(f64::INFINITY, |(past, foot)| past.hypot(foot.distance(corner)));
    edges.min_by(|a, b| away(a).total_cmp(&away(b)))
}

/// Leaves out what others make superfluous. Those that fail oftenest come first.
pub(super) fn thinned(bounds: Vec<Bound>, straying: impl Fn(usize) -> Straying) -> Vec<Bound> {
    let mut bounds: Vec<(f64, Bound)> =
        bounds.into_iter().map(|bound| (bound.off(&straying(bound.motion)), bound)).collect();
    bounds.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<Bound> = Vec::new();
    for (_, bound) in bounds {
        spend_on(kept.len(), 5);
        let straying = straying(bound.motion);
        let implied = kept.iter().any(|other| {
            let differs = (bound.normal - other.normal).hypot() * straying.farthest()
                + (bound.along - other.along).abs() * straying.most();
            #[allow(clippy::float_cmp, reason = "it is 1 or -1")]
            let like = bound.motion == other.motion && bound.wider == other.wider;
            like && bound.room - other.room + SPARE_MM >= differs
        });
        if !implied {
            kept.push(bound);
        }
    }
    kept
}

/// What turns a point clockwise by a radian, to the first order.
fn turning(at: Vec2) -> Vec2 {
    Vec2::new(at.y, -at.x)
}

fn turned_by(at: Point, clockwise: f64) -> Point {
    Affine::rotate(-clockwise) * at
}

/// The direction out of a shape through one of its edges: the inside lies on the left.
fn outward(edge: &Line) -> Option<Vec2> {
    let along = edge.p1 - edge.p0;
    let length = along.hypot();
    (length > 0.0).then(|| Vec2::new(along.y, -along.x) / length)
}

/// How far past the ends of an edge the foot of a point lies, 0 within them, and the foot.
fn on(edge: &Line, point: Point) -> Option<(f64, Point)> {
    let along = edge.p1 - edge.p0;
    let length = along.hypot();
    if length <= 0.0 {
        return None;
    }
    let from = (point - edge.p0).dot(along) / length;
    Some(((from - length).max(-from).max(0.0), edge.p0 + along * (from / length)))
}

/// The corners of some edges, in the order of their contours, that stand out.
fn convex_corners(edges: &[Line]) -> impl Iterator<Item = Point> {
    let after = |place: usize, edge: &Line| {
        let joins = |other: &&Line| other.p0 == edge.p1;
        edges.get(place + 1).filter(joins).or_else(|| edges.iter().find(joins))
    };
    let stands_out = move |place: usize, edge: &Line| {
        // At the rim of what was looked at it is not known, so it counts.
        after(place, edge).is_none_or(|next| (edge.p1 - edge.p0).cross(next.p1 - next.p0) > 0.0)
    };
    edges.iter().enumerate().filter(move |(place, edge)| stands_out(*place, edge)).map(|(_, edge)| edge.p1)
}
