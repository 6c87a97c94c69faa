//! Pieces of a dial by themselves, as a page lays them over one another: the figure of a board, and the shadow of a part.

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder as _};
use kurbo::Affine;

use super::colour::{ToSrgb, linear};
use super::face::figured;
use super::grain::{Slow, card, wood};
use super::light::{RUN, UPPER_LEFT};
use super::raster::{Stroked, blurred, cover, path};
use super::stuff::Stuff;
use crate::design::{Stock, Tone};
use crate::geometry::Region;

/// How good the picture of a board is, out of 100: it has no lettering, whose edges would show more.
const QUALITY: u8 = 78;
/// Samples to the mm of a shadow.
const SHADOW_RES: f32 = 3.0;
/// How far a shadow is blurred, as a share of the thickness that casts it.
const SOFT: f32 = 0.22;

/// A square piece of a stock of this colour as JPEG, so wide in mm and in pixels; its grain runs up the picture. None of stock that
/// is even or clear.
pub(crate) fn board(stock: &Stock, colour: Tone, stained: bool, (side, pixels): (f64, u16)) -> Option<Vec<u8>> {
    let (stuff, colour, table) = (Stuff::of(stock), linear(colour), ToSrgb::new());
    let seed = super::scene::seed(0, &stock.name);
    let slow = match stuff {
        Stuff::Wood { figure, .. } => Some((figure, Slow::new(figure, 0.71 * side as f32, seed))),
        Stuff::Card => None,
        Stuff::Gloss | Stuff::Clear | Stuff::Metal => return None,
    };
    let pixel = side as f32 / f32::from(pixels);
    let place = |at: u16| (f32::from(at) + 0.5 - 0.5 * f32::from(pixels)) * pixel;
    let mut rgb = Vec::with_capacity(3 * usize::from(pixels) * usize::from(pixels));
    for y in 0..pixels {
        for x in 0..pixels {
            let (u, v) = (place(x), place(y));
            let (light, pore) = match &slow {
                Some((figure, slow)) => wood(figure, slow, (-v, u), seed, pixel),
                None => (card(u, v, seed, pixel), 0.0),
            };
            rgb.extend(figured(colour, stained, light, pore).map(|channel| table.of(channel)));
        }
    }
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, QUALITY);
    encoder.write_image(&rgb, pixels.into(), pixels.into(), ExtendedColorType::Rgb8).ok()?;
    Some(bytes)
}

/// What a part keeps from the light, as black of different alpha.
pub(crate) struct Shade {
    pub(crate) png: Vec<u8>,
    /// Left, top, width and height of the picture in mm, in the frame of the part, y downwards.
    pub(crate) frame: [f32; 4],
}

/// The shadow of a part so many mm thick, right beneath it.
pub(crate) fn shade(material: &Region, thick: f64) -> Option<Shade> {
    let outline = path(material.path(), Affine::FLIP_Y)?;
    let soft = SOFT * thick as f32;
    let body = cover(&[Stroked { path: outline, width: 0.0 }], SHADOW_RES, 3.0 * soft)?;
    let soft = blurred(&body, soft);
    let dark: Vec<u8> = soft.cells.iter().flat_map(|cell| [0, *cell]).collect();
    let mut png = Vec::new();
    PngEncoder::new(&mut png).write_image(&dark, soft.wide as u32, soft.high as u32, ExtendedColorType::La8).ok()?;
    let half = 0.5 / soft.res;
    let frame = [soft.left - half, soft.top - half, soft.wide as f32 / soft.res, soft.high as f32 / soft.res];
    Some(Shade { png, frame })
}

/// Where the shadow of something falls that stands this high, in mm to the right and down: half of the way that the key light
/// takes, which is the middle of a shadow whose caster lies on what it falls on.
pub(crate) fn falls(thick: f64) -> (f64, f64) {
    let way = 0.5 * f64::from(RUN) * thick;
    (-f64::from(UPPER_LEFT.0) * way, -f64::from(UPPER_LEFT.1) * way)
}
