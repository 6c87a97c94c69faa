//! Portraits: a finished dial as it looks in its material, lit from a window, from the front, from behind or from aside.
//!
//! Every figure of light and surface here was chosen by eye, as photographers choose theirs; what a file states, such as sizes and
//! colours, comes out as stated. The same design gives the same bytes on every machine and with any number of threads: only
//! + - * / and square roots are used, which IEEE 754 holds to the bit, and `libm` for the rest.

mod aside;
mod board;
mod camera;
mod colour;
mod distance;
mod face;
mod film;
mod gif;
mod grain;
mod light;
mod moving;
mod noise;
mod palette;
mod raster;
mod render;
mod scene;
mod slab;
mod stuff;
mod wall;

use std::num::NonZeroUsize;

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder as _};

pub(crate) use board::{Shade, board, falls, shade};
pub use film::Turning;
pub use gif::{MOST_BYTES, gif};
pub use moving::moving;
pub use render::Pixels;

use crate::density::with_density;
use crate::design::pose::Pose;
use crate::design::{Design, Face, Tone};
use crate::parallel;
use aside::off_axis;
use camera::{CLOSE, Camera, ROOM};
use light::{Away, LEFT, Sight, UPPER_LEFT};
use render::Asked;
use scene::{Held, Place};
use slab::{Part, Slab};

/// Least and greatest length of the longer side, in pixels.
pub const SIZES: std::ops::RangeInclusive<u32> = 16..=4000;
/// What a dial lies on.
pub const GROUND: Tone = [0xf3, 0xf0, 0xea];
/// How many pixels long a picture is of which only the size is wanted.
const MEASURED: u32 = 64;
/// How far a dial that is seen from aside is turned, in degrees.
const YAW: f64 = -14.0;
/// How good a JPEG is, out of 100.
const QUALITY: u8 = 90;

/// From where a dial is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Straight on, at true scale.
    Front,
    /// Straight from behind, at true scale.
    Back,
    /// From aside and a little turned, with perspective.
    Quarter,
}

/// What picture is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Portrait {
    /// From where.
    pub view: View,
    /// The stop of each turn, counted from 0; those past the end stand at their first.
    pub stops: Vec<usize>,
    /// Length of the longer side in pixels, within [`SIZES`].
    pub size: u32,
    /// Whether the ground is left out, with only its shadow kept.
    pub clear_ground: bool,
}

/// The picture, drawn with so many threads.
pub fn portrait(design: &Design, wanted: &Portrait, threads: NonZeroUsize) -> Pixels {
    let size = wanted.size.clamp(*SIZES.start(), *SIZES.end());
    let stage = Stage::of(design, wanted.view, size, threads);
    let held = Held::of(design, stage.face, if wanted.view == View::Quarter { YAW } else { 0.0 });
    let places = held.places(design, &Pose::at(design, &wanted.stops));
    let camera = stage.camera(&places, &[], (size, ROOM));
    stage.sight(&places, camera).drawn(&Asked { threads, clear_ground: wanted.clear_ground, only: None }).0
}

/// The dial from one side at each of these poses, straight on and at true scale, close to its edges and on a clear ground. The longer
/// side is so many pixels long, and all are of one size.
pub(crate) fn stills(design: &Design, face: Face, poses: &[&Pose], size: u32, threads: NonZeroUsize) -> Vec<Pixels> {
    let (stage, all, camera) = posed(design, face, poses, size.clamp(*SIZES.start(), *SIZES.end()), threads);
    let asked = Asked { threads, clear_ground: true, only: None };
    all.iter().map(|places| stage.sight(places, camera).drawn(&asked).0).collect()
}

/// Width and height of such pictures in mm of the dial, to within one pixel of them.
pub(crate) fn stills_size(design: &Design, face: Face, poses: &[&Pose]) -> (f64, f64) {
    let (.., wide, high) = posed(design, face, poses, MEASURED, NonZeroUsize::MIN).2.frame();
    (f64::from(wide), f64::from(high))
}

fn posed(
    design: &Design,
    face: Face,
    poses: &[&Pose],
    size: u32,
    threads: NonZeroUsize,
) -> (Stage, Vec<Vec<Place>>, Camera) {
    let view = if face == Face::Back { View::Back } else { View::Front };
    let stage = Stage::of(design, view, size, threads);
    let held = Held::of(design, face, 0.0);
    let all: Vec<Vec<Place>> = poses.iter().map(|pose| held.places(design, pose)).collect();
    let first = all.first().cloned().unwrap_or_default();
    let turns = |(at, place): (usize, &Place)| all.iter().any(|places| places.get(at) != Some(place));
    let turning: Vec<bool> = first.iter().enumerate().map(turns).collect();
    let camera = stage.camera(&first, &turning, (size, CLOSE));
    (stage, all, camera)
}

/// A dial made ready to be looked at from one place.
struct Stage {
    /// In order of their upper faces.
    slabs: Vec<Slab>,
    /// The side that is seen.
    face: Face,
    away: Away,
    /// How far off the axis it is looked at, in degrees.
    off_axis: f32,
    /// How far the dial reaches from its axis, in mm.
    reach: f32,
}

impl Stage {
    /// Fine enough for a picture so many pixels long.
    fn of(design: &Design, view: View, size: u32, threads: NonZeroUsize) -> Self {
        let reaches =
            design.layers.iter().enumerate().map(|(at, layer)| {
                design.axis(at).to_vec2().hypot() + layer.outline.swept_radius(kurbo::Point::ORIGIN)
            });
        let reach = reaches.fold(1.0, f64::max) as f32;
        let face = if view == View::Back { Face::Back } else { Face::Front };
        let (away, off_axis) = match view {
            View::Front | View::Back => (UPPER_LEFT, 0.0),
            View::Quarter => (LEFT, off_axis(design)),
        };
        let parts = scene::parts(design);
        let heights = scene::height(&parts);
        let mut ready: Vec<Option<Slab>> = parts.iter().map(|_| None).collect();
        // A little finer than the pixels.
        let work = |part: &Part| Slab::new(part, heights, face, 1.1 * size as f32 / (2.0 * reach));
        parallel::each(&parts, threads, work, |at, slab| {
            if let Some(place) = ready.get_mut(at) {
                *place = slab;
            }
        });
        let mut slabs: Vec<Slab> = ready.into_iter().flatten().collect();
        slabs.sort_by(|one, other| one.high.total_cmp(&other.high));
        Self { slabs, face, away, off_axis, reach }
    }

    /// One that sees all of it; of layers that turn, all of their way.
    fn camera(&self, places: &[Place], turning: &[bool], size: (u32, f32)) -> Camera {
        let slabs: Vec<&Slab> = self.slabs.iter().collect();
        Camera::on(&slabs, places, turning, self.off_axis, size, self.away)
    }

    fn sight<'a>(&'a self, places: &'a [Place], camera: Camera) -> Sight<'a> {
        let slabs = self.slabs.iter().collect();
        Sight { slabs, places, camera, away: self.away, ground: colour::linear(GROUND), reach: self.reach }
    }
}

impl Pixels {
    /// The same on a ground of this colour, without alpha.
    #[must_use]
    pub fn on(&self, ground: Tone) -> Self {
        let over = |pixel: &[u8]| {
            let alpha = f32::from(pixel.last().copied().unwrap_or(u8::MAX)) / 255.0;
            let mixed =
                |(own, ground): (&u8, u8)| (f32::from(*own) * alpha + f32::from(ground) * (1.0 - alpha) + 0.5) as u8;
            pixel.iter().zip(ground).map(mixed).chain([u8::MAX]).collect::<Vec<u8>>()
        };
        Self { rgba: self.rgba.chunks_exact(4).flat_map(over).collect(), ..*self }
    }

    /// As PNG, as large as the dial, with alpha where a pixel has any.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub fn png(&self) -> Result<Vec<u8>, String> {
        let mut bytes = Vec::new();
        let encoder = PngEncoder::new_with_quality(&mut bytes, CompressionType::Fast, FilterType::Adaptive);
        let (wide, high) = (self.wide as u32, self.high as u32);
        let written = match self.rgba.chunks_exact(4).all(|pixel| pixel.last() == Some(&u8::MAX)) {
            true => encoder.write_image(&self.rgb(), wide, high, ExtendedColorType::Rgb8),
            false => encoder.write_image(&self.rgba, wide, high, ExtendedColorType::Rgba8),
        };
        written.map_err(|error| error.to_string())?;
        Ok(with_density(bytes, 1.0 / f64::from(self.pixel_mm)))
    }

    /// As JPEG, which has no alpha.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub fn jpeg(&self) -> Result<Vec<u8>, String> {
        let mut bytes = Vec::new();
        let encoder = JpegEncoder::new_with_quality(&mut bytes, QUALITY);
        let written = encoder.write_image(&self.rgb(), self.wide as u32, self.high as u32, ExtendedColorType::Rgb8);
        written.map_err(|error| error.to_string())?;
        Ok(bytes)
    }

    /// Red, green and blue alone.
    pub fn rgb(&self) -> Vec<u8> {
        self.rgba.chunks_exact(4).flat_map(|pixel| pixel.iter().take(3).copied()).collect()
    }
}
