//! One line of sight a pixel down to what it meets, more where two things meet; the picture in bands.

use std::num::NonZeroUsize;

use super::camera::{Ray, Vec3};
use super::colour::{Rgb, ToSrgb, mixed};
use super::face::Spot;
use super::light::Sight;
use super::wall::bent;
use crate::parallel;

/// Rows of a band. It does not depend on how many work on them, so neither does a byte of the picture.
const BAND: usize = 48;
/// Lines of sight across a pixel where two things meet.
const FINER: u8 = 3;
/// How light the shadow on a clear ground is coloured.
const SHADOW: Rgb = [0.010, 0.008, 0.006];

/// A picture: red, green, blue and alpha of each pixel, row by row from the top, as sRGB.
#[derive(Clone, Debug, PartialEq)]
pub struct Pixels {
    /// Width of a pixel in mm of the dial; of one that is seen from aside, where its axis is at half its height.
    pub pixel_mm: f32,
    /// Pixels in a row.
    pub wide: usize,
    /// Rows.
    pub high: usize,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
}

/// What one line of sight meets.
#[derive(Clone, Copy, Default)]
struct Sample {
    /// Light times alpha, and alpha.
    light: [f32; 4],
    /// What was met, to find where two things meet.
    id: u32,
    /// How high the lowest of it is that is seen, in mm.
    lowest: f32,
}

/// Where a line of sight meets a slab.
#[derive(Clone, Copy)]
struct Met {
    slab: usize,
    at: Vec3,
    /// To the edge where it is the upper face; none at a wall.
    edge: Option<f32>,
}

/// What is drawn, beside the sight itself.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub(super) threads: NonZeroUsize,
    /// Whether the ground is left out and its shadow kept as alpha.
    pub(super) clear_ground: bool,
    /// The pixels that are drawn; none for all.
    pub(super) only: Option<&'a [bool]>,
}

/// A band that is done: its pixels, and how low each of them sees.
struct Band {
    rgba: Vec<u8>,
    lowest: Vec<f32>,
}

impl Sight<'_> {
    /// The picture, and how low each pixel sees, in mm. Pixels that are not asked for are left black.
    pub(super) fn drawn(&self, asked: &Asked) -> (Pixels, Vec<f32>) {
        let (wide, high) = (self.camera.wide, self.camera.high);
        let (mut rgba, mut lowest) = (vec![0; wide * high * 4], vec![f32::MAX; wide * high]);
        let bands: Vec<usize> = (0..high.div_ceil(BAND)).collect();
        let table = ToSrgb::new();
        let work = |band: &usize| self.band(band * BAND, asked, &table);
        parallel::each(&bands, asked.threads, work, |at, band| {
            let from = at * BAND * wide;
            rgba.iter_mut().skip(from * 4).zip(band.rgba).for_each(|(into, byte)| *into = byte);
            lowest.iter_mut().skip(from).zip(band.lowest).for_each(|(into, low)| *into = low);
        });
        (Pixels { pixel_mm: self.camera.pixel, wide, high, rgba }, lowest)
    }

    /// The band that begins at a row: one line of sight a pixel, then finer where what is met differs from one of the four beside.
    fn band(&self, from: usize, asked: &Asked, table: &ToSrgb) -> Band {
        let (wide, high) = (self.camera.wide, self.camera.high);
        let (first, last) = (from.saturating_sub(1), (from + BAND + 1).min(high));
        let wanted = |x: usize, y: usize| asked.only.is_none_or(|only| only.get(y * wide + x) == Some(&true));
        let coarse = |x: usize, y: usize| match wanted(x, y) {
            true => self.sample((x as f32 + 0.5, y as f32 + 0.5), asked.clear_ground),
            // As good as another thing, so that what borders on it is drawn finer.
            false => Sample { id: u32::MAX, ..Sample::default() },
        };
        let mut rows = Vec::with_capacity((last - first) * wide);
        (first..last).for_each(|y| rows.extend((0..wide).map(|x| coarse(x, y))));
        let id = |x: usize, y: usize| rows.get((y - first) * wide + x).map_or(0, |sample| sample.id);
        let mut band = Band { rgba: Vec::new(), lowest: Vec::new() };
        for y in from..(from + BAND).min(high) {
            for x in 0..wide {
                let own = rows.get((y - first) * wide + x).copied().unwrap_or_default();
                let beside = [
                    (x.saturating_sub(1), y),
                    ((x + 1).min(wide - 1), y),
                    (x, y.saturating_sub(1)),
                    (x, (y + 1).min(high - 1)),
                ];
                let differs = wanted(x, y) && beside.iter().any(|(x, y)| id(*x, *y) != own.id);
                let sample = if differs { self.finer((x as f32, y as f32), asked.clear_ground) } else { own };
                band.rgba.extend(bytes(sample.light, table));
                band.lowest.push(sample.lowest);
            }
        }
        band
    }

    /// The mean of several lines of sight within a pixel.
    fn finer(&self, (x, y): (f32, f32), clear_ground: bool) -> Sample {
        let mut sum = Sample { lowest: f32::MAX, ..Sample::default() };
        let offset = |step: u8| (f32::from(step) + 0.5) / f32::from(FINER);
        for step in 0..FINER * FINER {
            let at = (x + offset(step % FINER), y + offset(step / FINER));
            let one = self.sample(at, clear_ground);
            let share = 1.0 / f32::from(FINER * FINER);
            for (into, from) in sum.light.iter_mut().zip(one.light) {
                *into += from.clamp(0.0, 1.0) * share;
            }
            sum.lowest = sum.lowest.min(one.lowest);
        }
        sum
    }

    fn sample(&self, (x, y): (f32, f32), clear_ground: bool) -> Sample {
        self.followed(&self.camera.ray(x, y), self.slabs.len(), clear_ground)
    }

    /// What a line of sight meets among the slabs below this one.
    fn followed(&self, ray: &Ray, below: usize, clear_ground: bool) -> Sample {
        let Some((met, slab)) = self.first(ray, below).and_then(|met| Some((met, *self.slabs.get(met.slab)?))) else {
            return self.grounded(ray, clear_ground);
        };
        let [x, y, z] = met.at;
        let own = met.slab as u32 * 2 + 1;
        let Some(edge) = met.edge else {
            let rgb = self.wall(slab, met.at, ray.along);
            if !slab.is_clear() {
                return Sample::of(rgb, own + 1, z);
            }
            let under = self.followed(ray, met.slab, clear_ground);
            return under.veiled(|behind| mixed(behind, rgb, 0.58), 0.58, own + 1);
        };
        let place = self.place(slab);
        let spot = Spot { place, at: (x, y), own: place.own(x, y), along: ray.along, pixel: self.camera.pixel };
        if !slab.is_clear() {
            return Sample::of(self.face(slab, &spot, edge), own, z);
        }
        let below = bent(slab, spot.at, ray);
        let on = ray.through([below.0, below.1, slab.low]);
        let under = self.followed(&on, met.slab, clear_ground);
        under.veiled(|behind| self.clear(slab, &spot, edge, below, behind), 0.35, own)
    }

    fn grounded(&self, ray: &Ray, clear_ground: bool) -> Sample {
        let [x, y, _] = ray.at_height(0.0);
        let (light, rgb) = self.ground_at(x, y);
        if !clear_ground {
            return Sample::of(rgb, 0, 0.0);
        }
        let alpha = (1.0 - light).clamp(0.0, 1.0);
        let [r, g, b] = SHADOW.map(|channel| channel * alpha);
        Sample { light: [r, g, b, alpha], id: 0, lowest: 0.0 }
    }

    /// The first that is met of the slabs below this one. Several may lie at one level, as a wheel in its frame.
    fn first(&self, ray: &Ray, below: usize) -> Option<Met> {
        let mut best: Option<Met> = None;
        for (at, slab) in self.slabs.iter().enumerate().take(below).rev() {
            if best.is_some_and(|best| best.at[2] >= slab.high) {
                break;
            }
            if let Some(met) = self.met(ray, at)
                && best.is_none_or(|best| met.at[2] > best.at[2])
            {
                best = Some(met);
            }
        }
        best
    }

    /// Where a line of sight meets a slab: its upper face, or else a wall, looked for in steps no longer than the way to one.
    fn met(&self, ray: &Ray, at: usize) -> Option<Met> {
        let slab = *self.slabs.get(at)?;
        let place = self.place(slab);
        let [x, y, z] = ray.at_height(slab.high);
        let (u, v) = place.own(x, y);
        let edge = slab.edge.at(u, v);
        if edge > 0.0 {
            return Some(Met { slab: at, at: [x, y, z], edge: Some(edge) });
        }
        let [dx, dy, dz] = ray.along;
        let flat = (dx * dx + dy * dy).sqrt();
        let run = (slab.high - slab.low) / -dz * flat;
        if flat <= 1e-4 || -edge > run {
            return None;
        }
        let (ux, uy) = (dx / flat, dy / flat);
        let (mut way, mut gap) = (0.0, -edge);
        loop {
            way += f32::max(gap, 0.012);
            if way >= run {
                return None;
            }
            let (wx, wy) = (x + ux * way, y + uy * way);
            let (u, v) = place.own(wx, wy);
            gap = -slab.edge.at(u, v);
            if gap < 0.004 {
                return Some(Met { slab: at, at: [wx, wy, slab.high + dz / flat * way], edge: None });
            }
        }
    }
}

impl Sample {
    fn of([r, g, b]: Rgb, id: u32, lowest: f32) -> Self {
        Self { light: [r, g, b, 1.0], id, lowest }
    }

    /// What is seen through something; what of it is opaque is at least `veil`.
    fn veiled(self, through: impl Fn(Rgb) -> Rgb, veil: f32, id: u32) -> Self {
        let [r, g, b, under] = self.light;
        let seen = if under > 0.0 { [r, g, b].map(|channel| channel / under) } else { [1.0; 3] };
        let alpha = under + (1.0 - under) * veil;
        let [r, g, b] = through(seen).map(|channel| channel * alpha);
        Self { light: [r, g, b, alpha], id: self.id.wrapping_mul(64).wrapping_add(id), lowest: self.lowest }
    }
}

impl Ray {
    fn at_height(&self, z: f32) -> Vec3 {
        let way = (z - self.from[2]) / self.along[2];
        [self.from[0] + self.along[0] * way, self.from[1] + self.along[1] * way, z]
    }

    /// The same direction through a point.
    fn through(&self, point: Vec3) -> Self {
        Self { from: point, along: self.along }
    }
}

fn bytes([r, g, b, alpha]: [f32; 4], table: &ToSrgb) -> [u8; 4] {
    let alpha = alpha.clamp(0.0, 1.0);
    let full = alpha.max(1e-4);
    [table.of(r / full), table.of(g / full), table.of(b / full), (alpha * 255.0 + 0.5) as u8]
}
