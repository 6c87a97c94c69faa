//! A bound that a dial must keep for a reading to be right: where one corner meets one edge.

use kurbo::{Affine, Line, Point, Vec2};

use crate::geometry::{FlattenedShape, TOUCH_MM, convex};

/// Bounds farther off than this many standard deviations are left out: they fail in four of a hundred million dials.
const FAR: f64 = 5.5;
/// A bound that another one makes superfluous to within this is left out, in mm.
const SPARE_MM: f64 = 1e-3;

/// How far two layers stray from each other, as standard deviations: turned, in radians; shifted along each axis and the
/// edges of openings, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Straying {
    pub turned: f64,
    pub shifted: f64,
    pub wider: f64,
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
        let hull = convex(self.ink.vertices().collect(), |point| *point);
        let Some(centre) = self.ink.bounds().map(|bounds| bounds.center()) else { return Vec::new() };
        let size = self.ink.reach(centre);
        let reach =
            FAR * (self.straying.shifted + self.straying.wider + self.ink.reach(Point::ZERO) * self.straying.turned);
        let back = self.map.inverse();
        // What takes part of the body, in the frame of the ink.
        let edges: Vec<Line> = self.body.near(back * centre, size + reach).map(|edge| self.map * *edge).collect();
        let mut bounds = Vec::new();
        for corner in &hull {
            let inside = self.overlap && self.body.contains(back * *corner);
            let of = |edge: &Line| self.of_corner(*corner, edge, inside);
            if inside {
                bounds.extend(nearest(edges.iter(), *corner).and_then(of));
            } else {
                bounds.extend(edges.iter().filter_map(of));
            }
        }
        for corner in convex_corners(&edges) {
            let inside = self.overlap && self.ink.contains(corner);
            let of = |edge: &Line| self.of_edge(corner, edge, inside);
            if inside {
                bounds.extend(nearest(self.ink.near(corner, reach), corner).and_then(of));
            } else {
                bounds.extend(self.ink.near(corner, reach).filter_map(of));
            }
        }
        bounds.into_iter().map(|(_, bound, at)| (bound, at)).collect()
    }

    /// A corner of the ink that must not cross an edge of the body.
    fn of_corner(&self, corner: Point, edge: &Line, inside: bool) -> Option<(f64, Bound, Point)> {
        let normal = outward(edge)?;
        let at = corner.to_vec2();
        let bound = Bound {
            normal: -normal,
            along: -self.sign * normal.dot(turning(at)),
            bend: normal.dot(at) / 2.0,
            room: normal.dot(corner - edge.p0),
            wider: self.wider,
            motion: 0,
        };
        let meets = |turned: f64, shift: Vec2| on(edge, turned_by(corner, self.sign * turned) + shift);
        self.kept(bound, inside, meets)
    }

    /// A corner of the body that must not cross an edge of the ink.
    fn of_edge(&self, corner: Point, edge: &Line, inside: bool) -> Option<(f64, Bound, Point)> {
        let normal = outward(edge)?;
        let at = corner.to_vec2();
        let bound = Bound {
            normal,
            along: self.sign * normal.dot(turning(at)),
            bend: normal.dot(at) / 2.0,
            room: normal.dot(corner - edge.p0),
            wider: self.wider,
            motion: 0,
        };
        let meets = |turned: f64, shift: Vec2| on(edge, turned_by(corner - shift, -self.sign * turned));
        self.kept(bound, inside, meets)
    }

    /// The bound with how many deviations it is off and where it fails, unless it never does or does so off its edge.
    fn kept(
        &self,
        bound: Bound,
        inside: bool,
        meets: impl Fn(f64, Vec2) -> Option<(f64, Point)>,
    ) -> Option<(f64, Bound, Point)> {
        // What lies on the inner side of an edge without being inside has nothing to do with it.
        if !inside && bound.room < -TOUCH_MM {
            return None;
        }
        let (off, turned, shift) = bound.likeliest(&self.straying);
        if inside {
            return Some((off, bound, meets(0.0, Vec2::ZERO)?.1));
        }
        let (past, at) = (off < FAR).then(|| meets(turned, shift)).flatten()?;
        (past <= 0.01 + 0.3 * self.straying.shifted).then_some((off, bound, at))
    }
}

impl Bound {
    /// Where it fails likeliest: by how many deviations, and how far turned and shifted the dial then is.
    fn likeliest(&self, straying: &Straying) -> (f64, f64, Vec2) {
        let mut found = (f64::INFINITY, 0.0, Vec2::ZERO);
        for _ in 0..3 {
            let turned = found.1;
            let along = self.along + 2.0 * self.bend * turned;
            let room = self.room + self.bend * turned * turned;
            let by =
                (along * straying.turned).powi(2) + straying.shifted.powi(2) + (self.wider * straying.wider).powi(2);
            if by <= 0.0 {
                return (if room < 0.0 { 0.0 } else { f64::INFINITY }, 0.0, Vec2::ZERO);
            }
            let ways = room / by;
            found = (
                room / by.sqrt(),
                ways * along * straying.turned.powi(2),
                self.normal * (ways * straying.shifted.powi(2)),
            );
        }
        found
    }

    /// How far may be turned either way, in radians, where the dial is shifted so and its edges are cut back so.
    pub(super) fn allowed(&self, shift: Vec2, wider: f64) -> (f64, f64) {
        let room = self.wider.mul_add(wider, self.room) - self.normal.dot(shift);
        let (along, bend) = (self.along, self.bend);
        let root = along.mul_add(along, 4.0 * bend * room);
        if root <= 0.0 {
            return if room >= 0.0 { (f64::NEG_INFINITY, f64::INFINITY) } else { (f64::INFINITY, f64::NEG_INFINITY) };
        }
        // The root of room = along·x + bend·x² on the side that the bound is on, and the one on the other side.
        let near = 2.0 * room / (along + root.sqrt().copysign(along));
        let far = if bend > 0.0 { -along / bend - near } else { f64::INFINITY.copysign(-along) };
        if along.is_sign_negative() { (near, far) } else { (far, near) }
    }
}

/// The edge nearest to a corner.
fn nearest<'e>(edges: impl Iterator<Item = &'e Line>, corner: Point) -> Option<&'e Line> {
    let away = |edge: &Line| on(edge, corner).map_or(f64::INFINITY, |(past, foot)| past.hypot(foot.distance(corner)));
    edges.min_by(|a, b| away(a).total_cmp(&away(b)))
}

/// Leaves out what others make superfluous. Those that fail oftenest come first.
pub(super) fn thinned(mut bounds: Vec<Bound>, straying: impl Fn(usize) -> Straying) -> Vec<Bound> {
    let off = |bound: &Bound| bound.likeliest(&straying(bound.motion)).0;
    bounds.sort_by(|a, b| off(a).total_cmp(&off(b)));
    let mut kept: Vec<Bound> = Vec::new();
    for bound in bounds {
        let Straying { turned, shifted, .. } = straying(bound.motion);
        let implied = kept.iter().any(|other| {
            let differs =
                FAR * ((bound.normal - other.normal).hypot() * shifted + (bound.along - other.along).abs() * turned);
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
