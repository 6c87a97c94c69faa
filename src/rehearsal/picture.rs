//! One picture of what was made: both faces of every kind of part, and the dial at every stop.

use kurbo::{Affine, BezPath, Point, Vec2};
use resvg::tiny_skia::{Color, Pixmap, PremultipliedColorU8};

use super::dial::Stack;
use super::list::{Design, Face, Layer, MarkWork};
use super::part::{Made, index};
use super::raster::{HALF, filled};
use crate::density::with_density;
use crate::lettering::Typeface;

/// Pixels a millimetre of the picture, where it does not become too large.
const PICTURE: f64 = 6.0;
/// No picture is wider, in pixels.
const WIDEST: f64 = 4000.0;
/// Room round each drawing, and the height of a caption's capitals, in mm.
const ROOM: f64 = 4.0;
const CAPTION: f64 = 2.2;
/// How much darker a pocket looks than the face round it.
const SUNK: f64 = 0.72;

type Colour = [u8; 3];

/// One drawing of the picture: a caption, and the colour at a place in mm about its middle.
pub(super) struct Tile<'a> {
    caption: String,
    radius: f64,
    colour: Box<dyn Fn(Point) -> Option<Colour> + 'a>,
}

/// Both faces of a part, its back as it is seen from behind.
pub(super) fn faces<'a>(made: &'a Made, layer: &'a Layer) -> Vec<Tile<'a>> {
    let radius = extent(made);
    [Face::Front, Face::Back]
        .map(|face| Tile {
            caption: format!("{}, {}", made.name, face.name()),
            radius,
            colour: Box::new(move |at: Point| {
                let at = if face == Face::Back { Point::new(-at.x, at.y) } else { at };
                let solid = made.material.at(at, made.scale) >= HALF;
                solid.then(|| face_colour(made, layer, face, at))
            }),
        })
        .into()
}

/// The dial seen from a side, every turn of a reading at one of its stops.
pub(super) fn at_stop<'a>(
    stack: &'a Stack<'a>,
    design: &'a Design,
    (turns, at): (&[usize], &[usize]),
    side: Face,
    caption: String,
) -> Tile<'a> {
    let turned = stack.turned(turns, at);
    Tile {
        caption,
        radius: stack.parts.iter().map(|made| extent(made)).fold(0.0, f64::max),
        colour: Box::new(move |at: Point| {
            let at = if side == Face::Back { Point::new(-at.x, at.y) } else { at };
            let seen = |layer: usize| {
                let (made, meant) = (stack.parts.get(layer)?, design.layers.get(layer)?);
                // The lowest layer stands still; a layer turned on clockwise is looked up where the place was before.
                let at = stack.placed(layer, &turned).inverse() * at;
                let opaque = stack.opaque.get(layer).is_some_and(|opaque| opaque.at(at, made.scale) >= HALF);
                (opaque || marked(made, side, at)).then(|| face_colour(made, meant, side, at))
            };
            match side {
                Face::Front => (0..stack.parts.len()).rev().find_map(seen),
                Face::Back => (0..stack.parts.len()).find_map(seen),
            }
        }),
    }
}

fn marked(made: &Made, side: Face, at: Point) -> bool {
    made.ink.get(index(side)).is_some_and(|ink| ink.at(at, made.scale) >= HALF)
}

fn extent(made: &Made) -> f64 {
    made.reach().unwrap_or(1.0)
}

fn face_colour(made: &Made, layer: &Layer, face: Face, at: Point) -> Colour {
    let bare = tone(&layer.colour).unwrap_or([0xd0, 0xc0, 0xa0]);
    let engraved = layer.marks.iter().find_map(|mark| match &mark.work {
        MarkWork::Engrave { colour, .. } => tone(colour),
        _ => None,
    });
    if made.ink.get(index(face)).is_some_and(|ink| ink.at(at, made.scale) >= HALF) {
        return engraved.unwrap_or([0x40, 0x2c, 0x1c]);
    }
    let sunk = made.pockets.iter().any(|sunk| sunk.face == face && sunk.patch.at(at, made.scale) >= HALF);
    let shade = if sunk { SUNK } else { 1.0 };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a byte")]
    bare.map(|part| (f64::from(part) * shade) as u8)
}

/// A colour as the list writes it.
pub(super) fn tone(hex: &str) -> Option<Colour> {
    let part = |at: usize| u8::from_str_radix(hex.get(at..at + 2)?, 16).ok();
    Some([part(1)?, part(3)?, part(5)?])
}

/// The drawings in rows, as a PNG.
///
/// # Errors
/// Why it cannot be written, in words.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "pixels: at most some thousands")]
pub(super) fn png(tiles: &[Tile]) -> Result<Vec<u8>, String> {
    let cell = tiles.iter().map(|tile| 2.0 * tile.radius).fold(1.0, f64::max) + ROOM;
    #[allow(clippy::cast_precision_loss, reason = "a handful of drawings")]
    let columns = (tiles.len() as f64 * 1.4).sqrt().ceil().max(1.0);
    let rows = (tiles.len() as f64 / columns).ceil().max(1.0);
    let high = cell + 2.0 * CAPTION;
    let (width, height) = (columns * cell + ROOM, rows * high + ROOM);
    let scale = PICTURE.min(WIDEST / width.max(height));
    let mut pixmap =
        Pixmap::new((width * scale).ceil() as u32, (height * scale).ceil() as u32).ok_or("it is too large")?;
    pixmap.fill(Color::WHITE);
    let typeface = Typeface::embedded();
    for (at, tile) in tiles.iter().enumerate() {
        let (column, row) = ((at % columns as usize) as f64, (at / columns as usize) as f64);
        let middle = Point::new(ROOM / 2.0 + (column + 0.5) * cell, ROOM / 2.0 + row * high + cell / 2.0);
        drawn(&mut pixmap, tile, middle, scale);
        let below = Point::new(middle.x, middle.y + cell / 2.0 + CAPTION * 0.6);
        words(&mut pixmap, &typeface, &tile.caption, below, cell, scale);
    }
    Ok(with_density(pixmap.encode_png().map_err(|error| error.to_string())?, scale))
}

/// One drawing, each pixel the mean of four places.
fn drawn(pixmap: &mut Pixmap, tile: &Tile, middle: Point, scale: f64) {
    each_pixel(pixmap, middle, tile.radius + 0.5, scale, |at| {
        let near = [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)];
        let seen =
            near.map(|(dx, dy)| (tile.colour)(Point::new(at.x + dx / scale, at.y + dy / scale)).unwrap_or([255; 3]));
        let mean = |part: usize| {
            seen.iter().filter_map(|colour| colour.get(part)).map(|part| u32::from(*part)).sum::<u32>() / 4
        };
        Some([mean(0), mean(1), mean(2)].map(|part| u8::try_from(part).unwrap_or(255)))
    });
}

/// A line of words about a middle, no wider than `room`, in mm of the picture.
fn words(pixmap: &mut Pixmap, typeface: &Typeface, text: &str, middle: Point, room: f64, scale: f64) {
    let Ok(glyphs) = typeface.shape(text, true) else { return };
    let mut line = BezPath::new();
    let mut pen = 0.0;
    for glyph in &glyphs {
        if let Ok(outline) = typeface.drawn(glyph) {
            line.extend(Affine::translate(Vec2::new(pen + glyph.offset.0, glyph.offset.1)) * outline);
        }
        pen += glyph.advance;
    }
    let bounds = kurbo::Shape::bounding_box(&line);
    let size = (CAPTION / typeface.cap_height()).min(room * 0.95 / bounds.width().max(1e-9));
    let to_middle = Affine::scale(size) * Affine::translate(-bounds.center().to_vec2());
    let Some(ink) = filled(&line, to_middle, scale * 4.0) else { return };
    each_pixel(pixmap, middle, room / 2.0, scale, |at| {
        let value = ink.at(at, scale * 4.0);
        (value > 0).then(|| [255 - value; 3])
    });
}

/// Asks for the colour of every pixel near a place; places are told about it, y up.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixels of a picture"
)]
fn each_pixel(pixmap: &mut Pixmap, middle: Point, reach: f64, scale: f64, colour: impl Fn(Point) -> Option<Colour>) {
    let (width, height) = (pixmap.width(), pixmap.height());
    let from = |value: f64| ((value - reach) * scale).floor().max(0.0) as u32;
    let to = |value: f64, end: u32| (((value + reach) * scale).ceil().max(0.0) as u32).min(end);
    for y in from(middle.y)..to(middle.y, height) {
        for x in from(middle.x)..to(middle.x, width) {
            let at = Point::new((f64::from(x) + 0.5) / scale - middle.x, middle.y - (f64::from(y) + 0.5) / scale);
            let Some([red, green, blue]) = colour(at) else { continue };
            let place = (y * width + x) as usize;
            if let (Some(pixel), Some(colour)) =
                (pixmap.pixels_mut().get_mut(place), PremultipliedColorU8::from_rgba(red, green, blue, 255))
            {
                *pixel = colour;
            }
        }
    }
}
