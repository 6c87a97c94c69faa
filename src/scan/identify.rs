//! Which part it is, which face is on the glass, and how it lies: the part's picture round its middle against that of each face.

use std::f64::consts::{PI, TAU};

use kurbo::{Affine, BezPath, PathEl, Point, Shape as _, Vec2};
use resvg::tiny_skia::FillRule;

use super::blobs::{Blob, Cells, hull};
use super::canvas::Canvas;
use crate::rehearsal::{MeantKind as Kind, MeantLayer as Layer};

/// Rings and directions of a picture round the middle.
const RINGS: usize = 36;
const DIRECTIONS: usize = 360;
/// Where less than this of a face varies, as a mean square, nothing is on it.
const BLANK: f64 = 1e-3;

/// A face of a layer as it is seen straight on, drawn.
#[derive(Clone, Debug)]
pub(super) struct Drawn {
    /// Its layer.
    pub(super) layer: usize,
    /// Which face.
    pub(super) back: bool,
    /// The middle of its outline's area, in the front frame, mm.
    pub(super) middle: Point,
    /// The outline's area with openings filled, that of its convex hull, and its length; mm², mm² and mm.
    pub(super) area: f64,
    pub(super) hull: f64,
    pub(super) rim: f64,
    /// The area of its largest opening, which is lost where the web beside it breaks, mm².
    opening: f64,
    radius: f64,
    /// Of each ring and direction how dark it is, and how much of it is open.
    rings: Vec<[f64; 2]>,
}

/// How a part lies: from its front frame to the glass.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pose {
    pub(super) at: Vec2,
    pub(super) turn: f64,
    /// Seen from behind (or in a mirror).
    pub(super) mirrored: bool,
}

impl Pose {
    pub(super) fn affine(self) -> Affine {
        let seen = if self.mirrored { Affine::scale_non_uniform(-1.0, 1.0) } else { Affine::IDENTITY };
        Affine::translate(self.at) * Affine::rotate(self.turn) * seen
    }
}

/// What a part may be, the likeliest first.
#[derive(Clone, Debug)]
pub(super) struct Likeness {
    pub(super) drawn: usize,
    pub(super) pose: Pose,
    /// 1 where it looks exactly like it.
    pub(super) score: f64,
}

/// All faces of all layers.
pub(super) fn drawn(layers: &[Layer]) -> Vec<Drawn> {
    let faces = layers.iter().enumerate().flat_map(|(at, layer)| [(at, layer, false), (at, layer, true)]);
    faces.map(|(at, layer, back)| face(at, layer, back)).collect()
}

fn face(at: usize, layer: &Layer, back: bool) -> Drawn {
    let (area, middle, points) = area_of(&layer.outline);
    let radius = points.iter().map(|p| (*p - middle).hypot()).fold(0.0, f64::max);
    let rim = layer.outline.perimeter(1e-3);
    let corners = points.iter().map(|p| (p.x, p.y)).collect();
    let mut dark = Canvas::round(layer.outline.bounding_box());
    let mut open = dark.clone();
    for work in layer.works.iter().filter(|work| work.shows(back)) {
        match work.kind {
            Kind::Opening => open.fill(&work.path, FillRule::EvenOdd),
            Kind::Mark | Kind::Pocket => dark.fill(&work.path, FillRule::EvenOdd),
            Kind::Line => dark.stroke(&work.path, work.width.unwrap_or(0.16)),
        }
    }
    let mut solid = Canvas::round(layer.outline.bounding_box());
    solid.fill(&layer.outline, FillRule::EvenOdd);
    let rings = places(radius)
        .map(|(r, angle)| {
            let p = middle + Vec2::from_angle(angle) * r;
            let gone = (1.0 - solid.at(p)).max(open.at(p));
            [dark.at(p) * (1.0 - gone), gone]
        })
        .collect();
    let openings = layer.works.iter().filter(|work| work.kind == Kind::Opening);
    let opening = openings.map(|work| area_of(&work.path).0).fold(0.0, f64::max);
    Drawn { layer: at, back, middle, area, hull: hull(corners), rim, opening, radius, rings }
}

/// The area within a closed path, its middle, and points along it.
fn area_of(path: &BezPath) -> (f64, Point, Vec<Point>) {
    let mut points = Vec::new();
    kurbo::flatten(path, 0.005, |element| {
        if let PathEl::MoveTo(p) | PathEl::LineTo(p) = element {
            points.push(p);
        }
    });
    let next = points.iter().skip(1).chain(points.first());
    let (mut twice, mut sum) = (0.0, Vec2::ZERO);
    for (a, b) in points.iter().zip(next) {
        let cross = a.to_vec2().cross(b.to_vec2());
        twice += cross;
        sum += (a.to_vec2() + b.to_vec2()) * cross;
    }
    let middle = if twice == 0.0 { Point::ORIGIN } else { (sum / (3.0 * twice)).to_point() };
    ((twice / 2.0).abs(), middle, points)
}

fn places(radius: f64) -> impl Iterator<Item = (f64, f64)> {
    let ring = move |at: usize| radius * (at as f64 + 0.5) / RINGS as f64 * 0.98;
    (0..RINGS).flat_map(move |at| (0..DIRECTIONS).map(move |to| (ring(at), TAU * to as f64 / DIRECTIONS as f64)))
}

/// What the thing on the glass looks like, of all faces about as large; a scale other than 1 is tried where the stated resolution
/// may be wrong. `free` also lets its area be any.
pub(super) fn looks_like(cells: &Cells, lid: f64, blob: &Blob, faces: &[Drawn], free: bool) -> Vec<Likeness> {
    let span = (blob.wood - blob.dark).max(1.0);
    let away = ((blob.wood - lid) / span).clamp(-3.0, 3.0);
    let mut found: Vec<Likeness> = Vec::new();
    for (at, face) in faces.iter().enumerate() {
        // A shadow on the lid or char that looks like the lid makes an area wrong by a narrow band along the rim.
        let other = 0.04 * face.area + 0.3 * face.rim;
        if !free && (blob.area > face.area + other || blob.area < face.area - other - face.opening) {
            continue;
        }
        let scale = if free { (blob.area / face.area).sqrt() } else { 1.0 };
        let seen: Vec<f64> = places(face.radius * scale)
            .map(|(r, angle)| {
                let p = blob.middle + Vec2::from_angle(angle) * r;
                (0..5)
                    .map(|k| {
                        let step = [(0.0, 0.0), (0.2, 0.2), (-0.2, 0.2), (0.2, -0.2), (-0.2, -0.2)]
                            .get(k)
                            .copied()
                            .unwrap_or_default();
                        (blob.wood - cells.at(p + Vec2::new(step.0, step.1))) / span
                    })
                    .sum::<f64>()
                    / 5.0
            })
            .collect();
        let meant: Vec<f64> = face.rings.iter().map(|[dark, open]| dark + open * away).collect();
        for mirrored in [false, true] {
            let (score, turn) = best_turn(&seen, &meant, mirrored);
            let mut pose = Pose { at: Vec2::ZERO, turn, mirrored };
            pose.at = blob.middle - pose.affine() * face.middle;
            found.push(Likeness { drawn: at, pose, score });
        }
    }
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    found
}

/// The turn at which both agree best, counter-clockwise on the glass, by their normalised correlation.
fn best_turn(seen: &[f64], meant: &[f64], mirrored: bool) -> (f64, f64) {
    let weights: Vec<f64> = (0..RINGS).map(|ring| ring as f64 + 0.5).collect();
    let weighted = |values: &[f64]| {
        let rows = values.chunks(DIRECTIONS).zip(&weights);
        let (sum, weight) = rows.fold((0.0, 0.0), |(sum, weight), (row, w)| {
            (sum + w * row.iter().sum::<f64>(), weight + w * row.len() as f64)
        });
        let mean = sum / weight;
        values.iter().map(|value| (value - mean) as f32).collect::<Vec<f32>>()
    };
    let (seen, meant) = (weighted(seen), weighted(meant));
    let power = |values: &[f32]| -> f64 {
        values
            .chunks(DIRECTIONS)
            .zip(&weights)
            .map(|(row, w)| w * row.iter().map(|v| f64::from(v * v)).sum::<f64>())
            .sum()
    };
    let of_all: f64 = weights.iter().sum::<f64>() * DIRECTIONS as f64;
    if power(&meant) < BLANK * of_all {
        // Nothing to compare: it is as likely as what is seen is even.
        return ((1.0 - 4.0 * (power(&seen) / of_all).sqrt()).max(0.0), 0.0);
    }
    let all = (power(&seen) * power(&meant)).sqrt().max(1e-12);
    let mut sums = vec![0.0_f64; DIRECTIONS];
    for ((seen, meant), weight) in seen.chunks(DIRECTIONS).zip(meant.chunks(DIRECTIONS)).zip(&weights) {
        // Twice in a row, so that every turn is one stretch.
        let seen: Vec<f32> = seen.iter().chain(seen).copied().collect();
        let half = DIRECTIONS / 2;
        // What stands at `a` is seen at 180° - a from behind.
        let meant: Vec<f32> = if mirrored {
            (0..DIRECTIONS).map(|at| meant.get((half + DIRECTIONS - at) % DIRECTIONS).copied().unwrap_or(0.0)).collect()
        } else {
            meant.to_vec()
        };
        for (sum, stretch) in sums.iter_mut().zip(seen.windows(DIRECTIONS)) {
            *sum += weight * f64::from(stretch.iter().zip(&meant).map(|(a, b)| a * b).sum::<f32>());
        }
    }
    let best = (0..DIRECTIONS)
        .max_by(|a, b| sums.get(*a).unwrap_or(&0.0).total_cmp(sums.get(*b).unwrap_or(&0.0)))
        .unwrap_or(0);
    let value = |at: usize| sums.get(at % DIRECTIONS).copied().unwrap_or(0.0);
    let (before, here, after) = (value(best + DIRECTIONS - 1), value(best), value(best + 1));
    let bend = before - 2.0 * here + after;
    let between = if bend < 0.0 { ((before - after) / (2.0 * bend)).clamp(-0.5, 0.5) } else { 0.0 };
    let turn = (best as f64 + between) * TAU / DIRECTIONS as f64;
    (here / all, if turn > PI { turn - TAU } else { turn })
}
