//! The shapes that a contour may be, each with the signed distance of a point from its edge. What a shape repeats is folded
//! into one wedge first, so that an edge of many lobes costs no more than one of few.

use std::f64::consts::PI;

use kurbo::{Point, Vec2};

/// What a contour was found to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Sizes: radius.
    Circle,
    /// Sizes: half the width, half the height.
    Ellipse,
    /// Sizes: half the width, half the height, radius of its corners.
    Rectangle,
    /// Sizes: half the width, half the height.
    Obround,
    /// So many sides. Sizes: from the middle to a sharp corner, radius of its corners.
    Polygon(u32),
    /// So many points. Sizes: from the middle to a point and to a notch, radius of both.
    Star(u32),
    /// So many lobes. Sizes: from the middle to a crest, depth of the hollows.
    Scallop(u32),
    /// A piece of a ring. Sizes: outer radius, inner radius, half of its sweep in radians.
    Sector,
    /// A disc with so many round notches in its rim. Sizes: its radius, that of a notch.
    Notched(u32),
}

/// A shape at its place. Lengths are in mm, y is up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape {
    /// What it is.
    pub kind: Kind,
    /// Its middle; of a sector the middle of its circles.
    pub at: Point,
    /// How far it is turned from standing with a corner, point, crest or its middle at the top, in radians counter-clockwise.
    pub turn: f64,
    /// Its sizes, as its kind says.
    pub size: [f64; 3],
}

impl Kind {
    /// How many sizes it has.
    pub fn sizes(self) -> usize {
        match self {
            Self::Circle => 1,
            Self::Ellipse | Self::Obround | Self::Polygon(_) | Self::Scallop(_) | Self::Notched(_) => 2,
            Self::Rectangle | Self::Star(_) | Self::Sector => 3,
        }
    }

    /// How many times it meets itself in a whole turn; none for a circle, which always does.
    pub fn fold(self) -> Option<u32> {
        match self {
            Self::Circle => None,
            Self::Ellipse | Self::Obround | Self::Rectangle => Some(2),
            Self::Polygon(count) | Self::Star(count) | Self::Scallop(count) | Self::Notched(count) => Some(count),
            Self::Sector => Some(1),
        }
    }

    /// As a noun for people.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Circle => "circle",
            Self::Ellipse => "ellipse",
            Self::Rectangle => "rectangle",
            Self::Obround => "obround",
            Self::Polygon(_) => "polygon",
            Self::Star(_) => "star",
            Self::Scallop(_) => "scallop",
            Self::Sector => "sector",
            Self::Notched(_) => "notched circle",
        }
    }
}

impl Shape {
    /// How far a point lies outside its edge, in mm; below zero inside.
    pub fn distance(&self, point: Point) -> f64 {
        let (sin, cos) = self.turn.sin_cos();
        let moved = point - self.at;
        let local = Vec2::new(moved.x * cos + moved.y * sin, moved.y * cos - moved.x * sin);
        let [a, b, c] = self.size;
        match self.kind {
            Kind::Circle => local.hypot() - a,
            Kind::Ellipse => from_ellipse(local, a, b),
            Kind::Rectangle => from_box(local, a, b, c),
            Kind::Obround => from_box(local, a, b, a.min(b)),
            Kind::Polygon(sides) => from_polygon(local, f64::from(sides), a, b),
            Kind::Star(points) => from_star(local, f64::from(points), self.size),
            Kind::Scallop(lobes) => from_scallop(local, f64::from(lobes), a, b),
            Kind::Sector => from_sector(local, a, b, c),
            Kind::Notched(count) => {
                let from_notch = (folded(local, f64::from(count)) - Vec2::new(0.0, a)).hypot();
                (local.hypot() - a).max(b - from_notch)
            }
        }
    }

    /// Whether its sizes make a shape, and one that could not as well be a plainer one: `least` is the least relief in mm that
    /// is more than the drawing's own noise.
    pub fn is_sound(&self, least: f64) -> bool {
        let [a, b, c] = self.size;
        let finite = [a, b, c, self.turn, self.at.x, self.at.y].iter().all(|value| value.is_finite());
        finite
            && match self.kind {
                Kind::Circle => a > 0.0,
                Kind::Ellipse => a > 0.0 && b > 0.0 && (a - b).abs() >= 0.04,
                Kind::Obround => a > 0.0 && b > 0.0 && (a - b).abs() >= 0.04,
                Kind::Rectangle => a > 0.0 && b > 0.0 && c >= -0.05 && c <= a.min(b) * 1.001,
                Kind::Polygon(sides) => {
                    let half = PI / f64::from(sides);
                    // What its corners stand out by once they are rounded, beside what a side stands off their circle.
                    let relief = (a * half.cos() - b) * (1.0 / half.cos() - 1.0);
                    let least = 0.1_f64.min(0.05 * a);
                    a > 0.0
                        && b >= -0.05
                        && b < a * half.cos()
                        && a * (1.0 - half.cos()) >= least
                        && relief >= 0.5 * least
                }
                Kind::Star(points) => {
                    let chord = b - a * (PI / f64::from(points)).cos();
                    0.0 < b && a - b >= least && c >= -0.05 && chord.abs() >= least.max(0.02 * a) && has_room(self)
                }
                Kind::Scallop(_) => b >= least && b < a && lobe(a, b, self.kind).is_some(),
                Kind::Sector => 0.0 <= b && b < a && 0.0 < c && c < PI,
                Kind::Notched(count) => b >= least && b < a * (PI / f64::from(count)).sin(),
            }
    }
}

/// A point turned into the wedge about the top in which everything stands once, on the right half of it.
fn folded(local: Vec2, count: f64) -> Vec2 {
    let wedge = 2.0 * PI / count;
    let bearing = local.x.atan2(local.y);
    let bearing = ((bearing + wedge / 2.0).rem_euclid(wedge) - wedge / 2.0).abs();
    let out = local.hypot();
    Vec2::new(out * bearing.sin(), out * bearing.cos())
}

fn from_box(local: Vec2, half_width: f64, half_height: f64, corner: f64) -> f64 {
    let x = local.x.abs() - half_width + corner;
    let y = local.y.abs() - half_height + corner;
    x.max(y).min(0.0) + x.max(0.0).hypot(y.max(0.0)) - corner
}

/// To first order and one step beyond, which near the edge is exact to well below a micrometre.
fn from_ellipse(local: Vec2, half_width: f64, half_height: f64) -> f64 {
    let (x, y) = (local.x.abs(), local.y.abs());
    // The foot is sought by its angle, from that of the point itself.
    let mut angle = (y * half_width).atan2(x * half_height);
    for _ in 0..6 {
        let (sin, cos) = angle.sin_cos();
        let foot = Vec2::new(half_width * cos, half_height * sin);
        let along = Vec2::new(-half_width * sin, half_height * cos);
        let away = foot - Vec2::new(x, y);
        let slope = along.dot(along) - away.dot(foot);
        let step = if slope > 0.0 { away.dot(along) / slope } else { 0.0 };
        angle = (angle - step).clamp(0.0, PI / 2.0);
    }
    let foot = Vec2::new(half_width * angle.cos(), half_height * angle.sin());
    let outside = (x / half_width).hypot(y / half_height) >= 1.0;
    let away = (foot - Vec2::new(x, y)).hypot();
    if outside { away } else { -away }
}

fn from_polygon(local: Vec2, sides: f64, corner_at: f64, corner: f64) -> f64 {
    let half = PI / sides;
    let in_wedge = folded(local, sides);
    // Along the normal of the side, and along the side from its middle.
    let bearing = half - in_wedge.x.atan2(in_wedge.y);
    let (across, along) = (in_wedge.hypot() * bearing.cos(), in_wedge.hypot() * bearing.sin());
    let flat = corner_at * half.cos() - corner;
    let straight = flat * half.tan();
    let away = if along <= straight { across - flat } else { (across - flat).hypot(along - straight) };
    away - corner
}

/// The tip, the notch, where the rounding of each ends along the edge between them, and the length of that edge.
fn edge_of_star(points: f64, [out, inner, _]: [f64; 3]) -> (Vec2, Vec2, f64, f64, f64) {
    let half = PI / points;
    let (tip, notch) = (Vec2::new(0.0, out), Vec2::new(inner * half.sin(), inner * half.cos()));
    let edge = notch - tip;
    let length = edge.hypot();
    let tip_angle = (-edge.y / length).clamp(-1.0, 1.0).acos();
    let notch_angle = (-edge.dot(notch) / (length * inner)).clamp(-1.0, 1.0).acos();
    (tip, notch, tip_angle, notch_angle, length)
}

fn has_room(star: &Shape) -> bool {
    let Kind::Star(points) = star.kind else { return true };
    let (_, _, tip, notch, length) = edge_of_star(f64::from(points), star.size);
    let corner = star.size[2].max(0.0);
    corner / tip.tan().max(1e-9) + (corner / notch.tan()).max(0.0) <= length
}

fn from_star(local: Vec2, points: f64, size: [f64; 3]) -> f64 {
    let corner = size[2];
    let (tip, notch, tip_angle, notch_angle, length) = edge_of_star(points, size);
    let point = folded(local, points);
    let along = (notch - tip) / length;
    let normal = Vec2::new(-along.y, along.x);
    let normal = if normal.dot(tip) < 0.0 { -normal } else { normal };
    let reach = (point - tip).dot(along);
    if reach < corner / tip_angle.tan() {
        return (point - (tip - Vec2::new(0.0, corner / tip_angle.sin()))).hypot() - corner;
    }
    if reach > length - corner / notch_angle.tan() {
        return corner - (point - (notch + notch / notch.hypot() * (corner / notch_angle.sin()))).hypot();
    }
    (point - tip).dot(normal)
}

/// The common radius of lobes and hollows: the centres of a lobe and of the hollow beside it lie two of it apart.
fn lobe(crest: f64, depth: f64, kind: Kind) -> Option<f64> {
    let Kind::Scallop(lobes) = kind else { return None };
    let (cos, floor) = ((PI / f64::from(lobes)).cos(), crest - depth);
    let apart = crest * crest + floor * floor - 2.0 * cos * crest * floor;
    let slope = depth * (1.0 + cos);
    let radius = ((2.0 * (1.0 - cos) * apart + slope * slope).sqrt() - slope) / (2.0 * (1.0 - cos));
    (radius.is_finite() && radius > 0.0 && radius < crest).then_some(radius)
}

fn from_scallop(local: Vec2, lobes: f64, crest: f64, depth: f64) -> f64 {
    let kind = Kind::Scallop(lobes as u32);
    let Some(radius) = lobe(crest, depth, kind) else { return local.hypot() - crest };
    let half = PI / lobes;
    let point = folded(local, lobes);
    let outer = Vec2::new(0.0, crest - radius);
    let hollow = Vec2::new(half.sin(), half.cos()) * (crest - depth + radius);
    let between = hollow - outer;
    let is_lobe = between.cross(point - outer) * between.cross(Vec2::new(0.0, crest) - outer) >= 0.0;
    if is_lobe { (point - outer).hypot() - radius } else { radius - (point - hollow).hypot() }
}

fn from_sector(local: Vec2, outer: f64, inner: f64, half: f64) -> f64 {
    let (out, bearing) = (local.hypot(), local.x.atan2(local.y).abs());
    if bearing <= half {
        let side = if half - bearing < PI / 2.0 { -out * (half - bearing).sin() } else { -out };
        return (out - outer).max(inner - out).max(side);
    }
    let beyond = (bearing - half).min(PI / 2.0);
    let (along, aside) = (out * beyond.cos(), out * beyond.sin());
    (along - along.clamp(inner, outer)).hypot(aside)
}
