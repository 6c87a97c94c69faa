//! From where a dial is looked at, and what of the world each pixel sees.
//!
//! World: mm, x to the right, y down the page, z up to the reader; the axis of the dial at the origin, the ground at z = 0.

use super::scene::Place;
use super::slab::Slab;

/// A point or a direction.
pub(super) type Vec3 = [f32; 3];

/// A line of sight.
#[derive(Clone, Copy)]
pub(super) struct Ray {
    pub(super) from: Vec3,
    /// Of length 1, always downwards.
    pub(super) along: Vec3,
}

/// How a dial is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Camera {
    /// Cosine and sine of the angle off the axis.
    tilt: (f32, f32),
    /// From the axis at half height to the eye in mm; none without perspective.
    eye: Option<f32>,
    /// Half the height of the dial, where the eye looks at.
    middle: f32,
    /// Left upper corner of the picture on the plane that the eye looks at, in mm.
    corner: (f32, f32),
    /// Width of a pixel in mm, on that plane.
    pub(super) pixel: f32,
    pub(super) wide: usize,
    pub(super) high: usize,
}

/// Room round a dial, as a share of its larger side: usually, and on a page that has room of its own.
pub(super) const ROOM: f32 = 0.075;
pub(super) const CLOSE: f32 = 0.03;
/// How much of the shadow's way is given room besides.
const SHADOW: f32 = 0.7;

impl Camera {
    /// One that sees all of what stands there, the longer side of the picture so many pixels long. `off_axis` in degrees; without
    /// it the picture is at true scale. What may turn is given room for all of its way.
    pub(super) fn on(
        slabs: &[&Slab],
        places: &[Place],
        turning: &[bool],
        off_axis: f32,
        (longer, room): (u32, f32),
        away: (f32, f32),
    ) -> Self {
        let angle = f64::from(off_axis).to_radians();
        let tilt = (libm::cos(angle) as f32, libm::sin(angle) as f32);
        let top = slabs.iter().map(|slab| slab.high).fold(0.0, f32::max);
        let points = outlines(slabs, places, turning);
        let reach = points.iter().map(|[x, y, _]| (x * x + y * y).sqrt()).fold(1.0, f32::max);
        let mut camera = Self {
            tilt,
            eye: (off_axis != 0.0).then_some(12.0 * reach),
            middle: 0.5 * top,
            corner: (0.0, 0.0),
            pixel: 1.0,
            wide: 1,
            high: 1,
        };
        let seen = points.iter().map(|point| camera.seen(*point));
        let (least, most) = seen.fold(((f32::MAX, f32::MAX), (f32::MIN, f32::MIN)), |(least, most), (u, v)| {
            ((f32::min(least.0, u), f32::min(least.1, v)), (f32::max(most.0, u), f32::max(most.1, v)))
        });
        let room = room * (most.0 - least.0).max(most.1 - least.1);
        let shadow = (-away.0 * SHADOW * top, -away.1 * SHADOW * top);
        let (left, above) = (least.0 - room + shadow.0.min(0.0), least.1 - room + shadow.1.min(0.0));
        let (across, down) = (most.0 + room + shadow.0.max(0.0) - left, most.1 + room + shadow.1.max(0.0) - above);
        let pixel = across.max(down) / longer as f32;
        let count = |length: f32| ((length / pixel + 0.5) as usize).clamp(1, longer as usize);
        (camera.corner, camera.pixel, camera.wide, camera.high) = ((left, above), pixel, count(across), count(down));
        camera
    }

    /// Left, top, width and height of the picture in mm.
    pub(super) fn frame(&self) -> (f32, f32, f32, f32) {
        let (left, top) = self.corner;
        (left, top, self.wide as f32 * self.pixel, self.high as f32 * self.pixel)
    }

    /// Where a point of the world is seen on the plane that the eye looks at.
    fn seen(&self, [x, y, z]: Vec3) -> (f32, f32) {
        let (cos, sin) = self.tilt;
        let z = z - self.middle;
        let (u, v, depth) = (x, y * cos - z * sin, y * sin + z * cos);
        let near = self.eye.map_or(1.0, |eye| eye / (eye - depth));
        (u * near, v * near)
    }

    /// What is seen at a place of the picture, in pixels from its left upper corner.
    pub(super) fn ray(&self, across: f32, down: f32) -> Ray {
        let (u, v) = (self.corner.0 + across * self.pixel, self.corner.1 + down * self.pixel);
        let (cos, sin) = self.tilt;
        let forward = [0.0, -sin, -cos];
        let plane = [u, cos * v, self.middle - sin * v];
        let back =
            |from: Vec3, by: f32| [from[0] - forward[0] * by, from[1] - forward[1] * by, from[2] - forward[2] * by];
        match self.eye {
            None => Ray { from: back(plane, 1000.0), along: forward },
            Some(far) => {
                let eye = back([0.0, 0.0, self.middle], far);
                Ray { from: eye, along: unit([plane[0] - eye[0], plane[1] - eye[1], plane[2] - eye[2]]) }
            }
        }
    }
}

/// Points on the outlines of all that stands there, at both heights; round the way of what turns.
fn outlines(slabs: &[&Slab], places: &[Place], turning: &[bool]) -> Vec<Vec3> {
    let mut all = Vec::new();
    for slab in slabs {
        let (Some(place), turns) = (places.get(slab.layer), turning.get(slab.layer)) else { continue };
        let inside = slab.edge.border();
        let reach = inside.iter().map(|(x, y)| (x * x + y * y).sqrt()).fold(0.0, f32::max);
        let way = (0..64).map(|at| {
            let angle = f64::from(at) * std::f64::consts::TAU / 64.0;
            (reach * libm::cos(angle) as f32, reach * libm::sin(angle) as f32)
        });
        let points: Vec<(f32, f32)> = if turns == Some(&true) { way.collect() } else { inside };
        for (x, y) in points {
            let (wx, wy) = place.out_of(x, y);
            all.extend([[place.x + wx, place.y + wy, slab.low], [place.x + wx, place.y + wy, slab.high]]);
        }
    }
    all
}

impl Place {
    /// From the page to what stands here.
    #[inline(always)]
    pub(super) fn own(&self, x: f32, y: f32) -> (f32, f32) {
        let (x, y) = (x - self.x, y - self.y);
        (x * self.cos + y * self.sin, y * self.cos - x * self.sin)
    }

    /// A direction of what stands here, as it is on the page.
    #[inline(always)]
    pub(super) fn out_of(&self, x: f32, y: f32) -> (f32, f32) {
        (x * self.cos - y * self.sin, y * self.cos + x * self.sin)
    }
}

#[inline(always)]
pub(super) fn unit(v: Vec3) -> Vec3 {
    let size = dot(v, v).sqrt().max(1e-9);
    [v[0] / size, v[1] / size, v[2] / size]
}

#[inline(always)]
pub(super) fn dot(a: Vec3, b: Vec3) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
