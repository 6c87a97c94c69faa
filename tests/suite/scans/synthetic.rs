//! A synthetic scanner: parts with every error of manufacture and of the scanner known, by seed.
//!
//! It and the estimator that is tested on it come from one hand, so that they match better than a real scanner will. What it
//! models, in linear light of one plane: the kerf of each part and that of a cut that is wider one way, ragged edges, taper, off
//! places of openings, pockets and marks, char of uneven width with soot beside it, grain; scale, shear, bow and an uneven carriage, a
//! shadow on the lid on the far side of the lamp, uneven light, blur, noise, dust, and 8 bits by the curve of sRGB.

use std::collections::HashMap;

use dialwright::rehearsal::{MeantKind, MeantLayer, MeantWork};
use kurbo::{BezPath, PathEl, Point, Shape as _, Vec2};

/// Codes of bare stock and of a burnt mark.
pub const WOOD: u8 = 138;
pub const BURNT: u8 = 30;
/// How far from an edge it is still seen, mm.
const REACH: f64 = 1.4;
/// Cells that edges are looked up by, mm.
const CELL: f64 = 0.5;

/// Numbers by seed.
pub struct Chance(fastrand::Rng);

impl Chance {
    pub fn of(seed: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed))
    }

    pub fn normal(&mut self, deviation: f64) -> f64 {
        deviation * (-2.0 * (1.0 - self.0.f64()).ln()).sqrt() * (std::f64::consts::TAU * self.0.f64()).cos()
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.f64()
    }
}

/// What was done wrong to one part.
#[derive(Clone, Debug)]
pub struct Made {
    /// Of both faces the lesser kerf, mm: that of the face that is larger.
    pub kerf: f64,
    pub one_way: f64,
    pub char: f64,
    /// Of each work: shift in the front frame (mm), turn (rad, counter-clockwise), growth (mm).
    pub works: Vec<(Vec2, f64, f64)>,
    /// Whether each work is there at all.
    pub there: Vec<bool>,
    /// A bite out of the part: its middle and radius.
    pub bite: Option<(Point, f64)>,
    /// A burn on its face: its middle and radius.
    pub burn: Option<(Point, f64)>,
    /// How dark marks are burnt: 1 as the stock says, 0 not at all.
    pub tone: f64,
}

impl Made {
    pub fn of(layer: &MeantLayer, chance: &mut Chance) -> Self {
        let works: Vec<(Vec2, f64, f64)> = layer
            .works
            .iter()
            .map(|work| {
                let (shift, turn, growth) = match work.kind {
                    MeantKind::Opening => (0.03, 0.0, 0.0),
                    MeantKind::Pocket => (0.08, 0.0, 0.03),
                    MeantKind::Mark | MeantKind::Line => (0.03, 0.002, 0.03),
                };
                (
                    Vec2::new(chance.normal(shift), chance.normal(shift)),
                    chance.normal(turn),
                    growth + chance.normal(growth / 3.0),
                )
            })
            .collect();
        Self {
            kerf: layer.kerf + 0.02 + chance.normal(0.03),
            one_way: 0.008 * chance.between(0.5, 1.5),
            char: chance.between(0.1, 0.2),
            works,
            there: vec![true; layer.works.len()],
            bite: None,
            burn: None,
            tone: 1.0,
        }
    }
}

/// A part on the glass.
pub struct Lies<'a> {
    pub layer: &'a MeantLayer,
    pub back: bool,
    /// From the upper left corner, y up, mm; counter-clockwise, rad.
    pub at: Vec2,
    pub turn: f64,
    pub made: Made,
}

/// The scanner's errors.
#[derive(Clone, Debug)]
pub struct Scanner {
    pub dpi: f64,
    pub size: Vec2,
    pub scale: Vec2,
    pub shear: f64,
    pub bow: f64,
    pub carriage: f64,
    pub blur: f64,
    pub noise: f64,
    pub lid: f64,
    pub shadow: f64,
    pub dust: usize,
    pub mirrored: bool,
}

impl Scanner {
    pub fn of(dpi: f64, size: Vec2, chance: &mut Chance) -> Self {
        Self {
            dpi,
            size,
            scale: Vec2::new(1.0 + chance.normal(0.003), 1.0 + chance.normal(0.003)),
            shear: chance.normal(0.0009),
            bow: 0.0,
            carriage: 0.0,
            blur: 0.035,
            noise: 0.006,
            lid: 235.0,
            shadow: 0.45,
            dust: 12,
            mirrored: false,
        }
    }

    /// Where a place of the glass is in the picture, mm.
    fn shown(&self, place: Vec2, phase: f64) -> Vec2 {
        let y = place.y + self.carriage * (-place.y / 6.0 + phase).sin();
        let from = place.x - self.size.x / 2.0;
        Vec2::new(self.scale.x * (place.x + self.shear * place.y + self.bow * from * from), self.scale.y * y)
    }
}

/// Light of a code, IEC 61966-2-1.
fn light(code: f64) -> f64 {
    let c = code / 255.0;
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}

fn code(light: f64) -> f64 {
    let c = light.clamp(0.0, 1.0);
    255.0 * if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * c.powf(1.0 / 2.4) - 0.055 }
}

/// Noise between places of a lattice, from -1 to 1 and even there.
fn wave(seed: u64, x: f64, y: f64) -> f64 {
    let at = |i: i64, j: i64| {
        let mut h =
            seed ^ (i as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ (j as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
        h = (h ^ (h >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        h = (h ^ (h >> 29)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (h >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    };
    let (i, j) = (x.floor(), y.floor());
    let smooth = |t: f64| t * t * (3.0 - 2.0 * t);
    let (u, v) = (smooth(x - i), smooth(y - j));
    let (i, j) = (i as i64, j as i64);
    let row = |j: i64| at(i, j) * (1.0 - u) + at(i + 1, j) * u;
    row(j) * (1.0 - v) + row(j + 1) * v
}

/// Distances to the edge of a filled path, or to a line.
struct Edge {
    segments: Vec<(Point, Point, [Vec2; 3], f64)>,
    cells: HashMap<(i64, i64), Vec<usize>>,
    path: BezPath,
    inside: std::cell::RefCell<HashMap<(i64, i64), bool>>,
    is_line: bool,
}

impl Edge {
    fn of(path: &BezPath, is_line: bool) -> Self {
        let mut contours: Vec<Vec<Point>> = Vec::new();
        kurbo::flatten(path, 0.001, |element| match element {
            PathEl::MoveTo(p) => contours.push(vec![p]),
            PathEl::LineTo(p) => contours.last_mut().unwrap().push(p),
            _ => {}
        });
        let mut edge =
            Self { segments: vec![], cells: HashMap::new(), path: path.clone(), inside: Default::default(), is_line };
        let mut along = 0.0;
        for mut points in contours {
            points.dedup_by(|a, b| (*a - *b).hypot() < 1e-7);
            if !is_line && points.len() > 1 && (points[0] - points[points.len() - 1]).hypot() > 1e-7 {
                points.push(points[0]);
            }
            let directions: Vec<Vec2> = points.windows(2).map(|p| (p[1] - p[0]) / (p[1] - p[0]).hypot()).collect();
            if directions.is_empty() {
                continue;
            }
            let normals: Vec<Vec2> = directions.iter().map(|d| Vec2::new(d.y, -d.x)).collect();
            let probe = points[0].midpoint(points[1]) + normals[0] * 0.01;
            let sign = if path.winding(probe).rem_euclid(2) == 0 { 1.0 } else { -1.0 };
            let n = normals.len();
            for (at, pair) in points.windows(2).enumerate() {
                let (before, own, after) = (normals[(at + n - 1) % n], normals[at], normals[(at + 1) % n]);
                edge.segments.push((
                    pair[0],
                    pair[1],
                    [(before + own) * sign, own * sign, (own + after) * sign],
                    along,
                ));
                along += (pair[1] - pair[0]).hypot();
            }
        }
        for (at, (a, b, ..)) in edge.segments.iter().enumerate() {
            let cell = |p: f64| (p / CELL).floor() as i64;
            for x in cell(a.x.min(b.x) - REACH)..=cell(a.x.max(b.x) + REACH) {
                for y in cell(a.y.min(b.y) - REACH)..=cell(a.y.max(b.y) + REACH) {
                    edge.cells.entry((x, y)).or_default().push(at);
                }
            }
        }
        edge
    }

    /// Distance outwards (of a line: from it), the direction of the edge there, and how far along it that is.
    fn at(&self, p: Point) -> (f64, Vec2, f64) {
        let cell = ((p.x / CELL).floor() as i64, (p.y / CELL).floor() as i64);
        let far = || {
            let known = self.inside.borrow().get(&cell).copied();
            let inside = known.unwrap_or_else(|| {
                let inside = !self.is_line && self.path.winding(p).rem_euclid(2) == 1;
                self.inside.borrow_mut().insert(cell, inside);
                inside
            });
            (if inside { -REACH } else { REACH }, Vec2::ZERO, 0.0)
        };
        let Some(near) = self.cells.get(&cell) else { return far() };
        let mut best = (f64::MAX, 0, 0.0, Vec2::ZERO);
        for at in near {
            let (a, b, ..) = self.segments[*at];
            let t = ((p - a).dot(b - a) / (b - a).hypot2()).clamp(0.0, 1.0);
            let away = p - a.lerp(b, t);
            if away.hypot2() < best.0 {
                best = (away.hypot2(), *at, t, away);
            }
        }
        let (a, b, normals, along) = self.segments[best.1];
        let normal = if best.2 <= 0.0 {
            normals[0]
        } else if best.2 >= 1.0 {
            normals[2]
        } else {
            normals[1]
        };
        let distance = best.0.sqrt();
        let sign = if self.is_line || best.3.dot(normal) >= 0.0 { 1.0 } else { -1.0 };
        // The sign of what lies farther off could be that of another contour; there it counts for nothing.
        (sign * distance.min(REACH), normal / normal.hypot().max(1e-12), along + best.2 * (b - a).hypot())
    }
}

fn step(distance: f64, soft: f64) -> f64 {
    1.0 / (1.0 + (1.702 * distance / soft).clamp(-40.0, 40.0).exp())
}

struct Painted<'a> {
    lies: &'a Lies<'a>,
    rim: Edge,
    works: Vec<(usize, &'a MeantWork, Edge)>,
    seed: u64,
}

impl Painted<'_> {
    /// The light at a place of the part's front frame, a pixel of this size, and whether any of the part is there.
    fn light(&self, p: Point, lid: f64, shadow: f64, pixel: f64) -> (f64, bool) {
        let made = &self.lies.made;
        let grain = 1.0
            + 0.05 * (0.6 * wave(self.seed, p.x / 3.0, p.y * 4.0) + 0.7 * wave(self.seed ^ 1, p.x / 9.0, p.y / 0.8));
        let (wood, char, dark, floor) =
            (light(f64::from(WOOD)) * grain, light(20.0), light(f64::from(BURNT)), light(34.0));
        let mut seen = wood;
        let mut cuts = vec![(false, self.rim.at(p), self.lies.layer.kerf)];
        for (at, work, edge) in &self.works {
            let (shift, turn, growth) = made.works[*at];
            if !made.there[*at] {
                continue;
            }
            let q = (p - shift).to_vec2();
            let q = Vec2::new(q.x * turn.cos() + q.y * turn.sin(), q.y * turn.cos() - q.x * turn.sin()).to_point();
            let found = edge.at(q);
            match work.kind {
                MeantKind::Opening => cuts.push((true, found, self.lies.layer.kerf)),
                MeantKind::Pocket => {
                    let d = found.0 - growth;
                    let halo = 0.2 * (-d.max(0.0) / 0.2).exp();
                    seen = seen * (1.0 - halo) + dark * halo;
                    let inside = step(d, 0.03);
                    let wall = 0.4 * (-(-d).max(0.0) / 0.3).exp();
                    seen = seen * (1.0 - inside) + floor * (1.0 - wall) * (0.9 + 0.2 * (grain - 0.95)) * inside;
                }
                MeantKind::Mark | MeantKind::Line => {
                    let d = found.0 - growth - work.width.unwrap_or(0.0) / 2.0;
                    let burnt = made.tone * step(d, 0.045);
                    seen = seen * (1.0 - burnt) + dark * (0.6 + 0.4 * grain) * burnt;
                }
            }
        }
        let (mut bare, mut beyond) = (0.0_f64, lid);
        for (at, (is_opening, (distance, normal, along), used)) in cuts.into_iter().enumerate() {
            let outwards = if is_opening { -1.0 } else { 1.0 };
            let ragged = 0.023 * wave(self.seed ^ (7 + at as u64), along / 0.4, 0.5);
            let way = made.one_way * (2.0 * normal.y.atan2(normal.x)).cos();
            let d = outwards * distance - (used - made.kerf) / 2.0 - ragged - way;
            let width = made.char * (1.0 + 0.5 * wave(self.seed ^ (77 + at as u64), along / 2.5, 0.5));
            let burnt = step(-(d + width), 0.025);
            let soot = 0.1 * ((d + width).min(0.0) / 0.8).exp();
            seen = seen * (1.0 - soot) + dark * soot;
            seen = seen * (1.0 - burnt) + char * burnt;
            let outside = (0.5 + d / pixel).clamp(0.0, 1.0);
            if outside > bare {
                // The lamp stands towards smaller y of the glass, so the lid is darker on the other side.
                let view = self.lies.seen(normal * outwards);
                let reach = 1.0 + d.max(0.0) / 0.35;
                beyond = lid * (1.0 - shadow * (0.6 + 0.4 * view.y) / (reach * reach));
            }
            bare = bare.max(outside);
        }
        if let Some((middle, radius)) = made.burn {
            seen += (char - seen) * step((p - middle).hypot() - radius, 0.3);
        }
        if let Some((middle, radius)) = made.bite {
            let outside = (0.5 + (radius - (p - middle).hypot()) / pixel).clamp(0.0, 1.0);
            bare = bare.max(outside);
        }
        (seen * (1.0 - bare) + beyond * bare, bare < 1.0)
    }
}

impl Lies<'_> {
    fn seen(&self, v: Vec2) -> Vec2 {
        let v = Vec2::new(if self.back { -v.x } else { v.x }, v.y);
        Vec2::new(v.x * self.turn.cos() - v.y * self.turn.sin(), v.x * self.turn.sin() + v.y * self.turn.cos())
    }

    fn own(&self, glass: Vec2) -> Point {
        let v = glass - self.at;
        let v = Vec2::new(v.x * self.turn.cos() + v.y * self.turn.sin(), v.y * self.turn.cos() - v.x * self.turn.sin());
        Point::new(if self.back { -v.x } else { v.x }, v.y)
    }
}

/// The scan: its width and height in pixels, and its codes.
pub fn scan(scanner: &Scanner, parts: &[Lies<'_>], chance: &mut Chance) -> (usize, usize, Vec<u8>) {
    let times = (600.0 / scanner.dpi).round().max(1.0) as usize;
    let fine = 25.4 / (scanner.dpi * times as f64);
    let (width, height) =
        ((scanner.size.x / fine) as usize / times * times, (scanner.size.y / fine) as usize / times * times);
    let lid = light(scanner.lid);
    let mut plane = vec![lid as f32; width * height];
    let phase = chance.between(0.0, 6.0);
    for lies in parts {
        let works = lies.layer.works.iter().enumerate().filter(|(_, work)| work.shows(lies.back));
        let works = works.map(|(at, work)| (at, work, Edge::of(&work.path, work.kind == MeantKind::Line))).collect();
        let painted = Painted { lies, rim: Edge::of(&lies.layer.outline, false), works, seed: chance.0.u64(..) };
        let ends = painted.rim.segments.iter().map(|(p, ..)| p.to_vec2().hypot());
        let reach = ends.fold(0.0, f64::max) + 2.5;
        let pixel = |mm: f64, count: usize| ((mm / fine).max(0.0) as usize).min(count);
        let (x0, x1) = (pixel(lies.at.x - reach, width), pixel(lies.at.x + reach, width));
        let (y0, y1) = (pixel(-lies.at.y - reach, height), pixel(-lies.at.y + reach, height));
        for y in y0..y1 {
            for x in x0..x1 {
                let shown = Vec2::new((x as f64 + 0.5) * fine, -(y as f64 + 0.5) * fine);
                let mut glass = shown;
                for _ in 0..4 {
                    glass += shown - scanner.shown(glass, phase);
                }
                if (glass - lies.at).hypot() < reach {
                    let (light, is_there) = painted.light(lies.own(glass), lid, scanner.shadow, fine);
                    let cell = &mut plane[y * width + x];
                    // What lies there already is no lid for this part's shadow.
                    if is_there || *cell == lid as f32 {
                        *cell = light as f32;
                    }
                }
            }
        }
    }
    for _ in 0..scanner.dust {
        let (x, y) = (chance.between(0.0, width as f64) as usize, chance.between(0.0, height as f64) as usize);
        for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1), (2, 1)] {
            if x + dx < width && y + dy < height {
                plane[(y + dy) * width + x + dx] *= 0.5;
            }
        }
    }
    let sigma = (scanner.blur / fine).hypot(0.45 * times as f64);
    blurred(&mut plane, width, height, sigma);
    let (wide, high) = (width / times, height / times);
    let mut codes = vec![0; wide * high];
    for y in 0..high {
        for x in 0..wide {
            let cells = (0..times * times).map(|at| plane[(y * times + at / times) * width + x * times + at % times]);
            let mean = f64::from(cells.sum::<f32>()) / (times * times) as f64;
            let (u, v) = (x as f64 / wide as f64 - 0.5, y as f64 / high as f64 - 0.4);
            let even = mean * (1.0 - 0.12 * u * u - 0.02 * v);
            let noisy = even + chance.normal(scanner.noise * even.max(0.02).sqrt());
            let column = if scanner.mirrored { wide - 1 - x } else { x };
            codes[y * wide + column] = code(noisy).round() as u8;
        }
    }
    (wide, high, codes)
}

fn blurred(plane: &mut [f32], width: usize, height: usize, sigma: f64) {
    let reach = (3.5 * sigma).ceil() as i64;
    let kernel: Vec<f32> = (-reach..=reach).map(|at| (-0.5 * (at as f64 / sigma).powi(2)).exp() as f32).collect();
    let sum: f32 = kernel.iter().sum();
    for (stride, count, lines, line) in [(1, width, height, width), (width, height, width, 1)] {
        let former = plane.to_vec();
        for at in 0..lines {
            for k in 0..count {
                let near = kernel.iter().enumerate().map(|(j, weight)| {
                    let from = (k as i64 + j as i64 - reach).clamp(0, count as i64 - 1) as usize;
                    weight * former[at * line + from * stride]
                });
                plane[at * line + k * stride] = near.sum::<f32>() / sum;
            }
        }
    }
}

/// As PNG, with the resolution that it states in a chunk `pHYs`.
pub fn png((width, height, codes): &(usize, usize, Vec<u8>), dpi: Option<f64>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let encoder = image::codecs::png::PngEncoder::new(&mut bytes);
    image::ImageEncoder::write_image(encoder, codes, *width as u32, *height as u32, image::ExtendedColorType::L8)
        .unwrap();
    if let Some(dpi) = dpi {
        let dots = (dpi / 0.0254).round() as u32;
        let mut chunk = b"pHYs".to_vec();
        chunk.extend(dots.to_be_bytes());
        chunk.extend(dots.to_be_bytes());
        chunk.push(1);
        let sum = crc(&chunk);
        let mut whole = 9_u32.to_be_bytes().to_vec();
        whole.extend(chunk);
        whole.extend(sum.to_be_bytes());
        // After the header, which is 8 + 25 bytes long.
        bytes.splice(33..33, whole);
    }
    bytes
}

/// The checksum of a chunk (PNG, third edition, annex D).
pub fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| if sum & 1 == 1 { (sum >> 1) ^ 0xedb8_8320 } else { sum >> 1 })
    })
}
