//! File bytes to pixels, with what the file declares held against the limits before anything is decoded.

use std::io::Cursor;

use image::codecs::{bmp::BmpDecoder, jpeg::JpegDecoder, png::PngDecoder, tiff::TiffDecoder, webp::WebPDecoder};
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, Limits};

use super::resolution::{self, Resolution};
use crate::artwork::ArtError;
use crate::limits::{PICTURE_BYTES, PICTURE_PIXELS, SCAN_BYTES, SCAN_PIXELS};

/// A decoded picture, see-through parts laid over white.
pub(super) struct Picture {
    pub(super) width: usize,
    pub(super) height: usize,
    /// Red, green, blue of each pixel, row by row from the top.
    pub(super) pixels: Vec<[u8; 3]>,
    /// Of a pixel, where the file states it.
    pub(super) resolution: Option<Resolution>,
    /// What kind of file it is.
    pub(super) kind: &'static str,
    /// Whether it moves, and only its first picture was taken.
    pub(super) moves: bool,
}

/// Whether the bytes begin like a picture of pixels, by the published signatures of the formats.
pub fn is_picture(bytes: &[u8]) -> bool {
    image::guess_format(bytes).is_ok()
}

/// How much of a picture is taken, by what its file declares.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bounds {
    pixels: usize,
    bytes: usize,
    /// Whether TIFF is read as well.
    tiff: bool,
}

/// Of a picture that becomes artwork.
pub(super) const OF_ARTWORK: Bounds = Bounds { pixels: PICTURE_PIXELS, bytes: PICTURE_BYTES, tiff: false };
/// Of a whole bed of a scanner.
pub(super) const OF_SCANS: Bounds = Bounds { pixels: SCAN_PIXELS, bytes: SCAN_BYTES, tiff: true };

/// The picture in a PNG, JPEG, BMP or WebP file.
///
/// # Errors
/// [`ArtError::Unreadable`], [`ArtError::TooManyPixels`].
pub(super) fn decoded(bytes: &[u8]) -> Result<Picture, ArtError> {
    decoded_within(bytes, OF_ARTWORK)
}

/// The same within other bounds.
///
/// # Errors
/// As there.
pub(super) fn decoded_within(bytes: &[u8], bounds: Bounds) -> Result<Picture, ArtError> {
    let format = image::guess_format(bytes).map_err(|_| unreadable("it is no kind of picture that is known"))?;
    let reader = Cursor::new(bytes);
    match format {
        ImageFormat::Png => {
            let decoder = PngDecoder::with_limits(reader, limits(bounds)).map_err(|error| art_error(&error))?;
            let moves = decoder.is_apng().unwrap_or(false);
            taken(decoder, ("PNG", bounds), resolution::of_png(bytes), moves)
        }
        ImageFormat::Jpeg => {
            let head = resolution::of_jpeg(bytes);
            // The decoder fills what is missing with grey, so the end is looked for here.
            if !head.is_whole {
                return Err(cut_short());
            }
            let decoder = JpegDecoder::new(reader).map_err(|error| art_error(&error))?;
            taken(decoder, ("JPEG", bounds), head.resolution, false)
        }
        ImageFormat::Bmp => {
            let decoder = BmpDecoder::new(reader).map_err(|error| art_error(&error))?;
            taken(decoder, ("BMP", bounds), resolution::of_bmp(bytes), false)
        }
        ImageFormat::WebP => {
            let decoder = WebPDecoder::new(reader).map_err(|error| art_error(&error))?;
            let moves = decoder.has_animation();
            taken(decoder, ("WebP", bounds), None, moves)
        }
        ImageFormat::Tiff if bounds.tiff => {
            let decoder = TiffDecoder::new(reader).map_err(|error| art_error(&error))?;
            taken(decoder, ("TIFF", bounds), resolution::of_tiff(bytes), false)
        }
        other => {
            let kind = other.extensions_str().first().copied().unwrap_or("this").to_uppercase();
            let read = if bounds.tiff { "PNG, JPEG, TIFF, BMP and WebP" } else { "PNG, JPEG, BMP and WebP" };
            Err(unreadable(&format!("it is a {kind} picture, and only {read} are read")))
        }
    }
}

fn limits(bounds: Bounds) -> Limits {
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(bounds.bytes as u64);
    limits
}

fn taken(
    mut decoder: impl ImageDecoder,
    (kind, bounds): (&'static str, Bounds),
    resolution: Option<Resolution>,
    moves: bool,
) -> Result<Picture, ArtError> {
    let (width, height) = decoder.dimensions();
    if width == 0 || height == 0 {
        return Err(unreadable("it has no pixels"));
    }
    // As declared and before anything is decoded: a file of a few bytes may declare a picture of gigabytes.
    if u64::from(width) * u64::from(height) > bounds.pixels as u64 || decoder.total_bytes() > bounds.bytes as u64 {
        return Err(ArtError::TooManyPixels { width, height });
    }
    decoder.set_limits(limits(bounds)).map_err(|error| art_error(&error))?;
    let image = DynamicImage::from_decoder(decoder).map_err(|error| art_error(&error))?;
    let pixels = over_white(image);
    Ok(Picture { width: width as usize, height: height as usize, pixels, resolution, kind, moves })
}

/// Eight bits a channel, see-through parts laid over white.
fn over_white(image: DynamicImage) -> Vec<[u8; 3]> {
    // In whole numbers, rounded by the 127: floating point would give the same more slowly.
    let laid = |value: u8, alpha: u8| {
        let (value, alpha) = (u32::from(value), u32::from(alpha));
        u8::try_from((value * alpha + 255 * (255 - alpha) + 127) / 255).unwrap_or(255)
    };
    match image {
        DynamicImage::ImageLuma8(grey) => grey.into_raw().into_iter().map(|grey| [grey; 3]).collect(),
        DynamicImage::ImageRgb8(colours) => colours.pixels().map(|pixel| pixel.0).collect(),
        other if other.color().has_alpha() => {
            let pixels = other.into_rgba8();
            pixels
                .pixels()
                .map(|pixel| {
                    let [r, g, b, a] = pixel.0;
                    [laid(r, a), laid(g, a), laid(b, a)]
                })
                .collect()
        }
        other => other.into_rgb8().pixels().map(|pixel| pixel.0).collect(),
    }
}

fn unreadable(why: &str) -> ArtError {
    ArtError::Unreadable { why: why.to_owned() }
}

fn cut_short() -> ArtError {
    unreadable("it ends before its picture does, as a file does that was cut short")
}

/// A decoder's fault in our words.
fn art_error(error: &ImageError) -> ArtError {
    match error {
        ImageError::IoError(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => cut_short(),
        ImageError::Limits(_) => unreadable("to decode it would take more memory than is allowed"),
        other => unreadable(&format!("its data are damaged ({other})")),
    }
}
