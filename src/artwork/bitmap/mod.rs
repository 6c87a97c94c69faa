//! Pictures of pixels: an audit of their tones, and their marks as smooth outlines.
//!
//! The outlines follow the half-covered line of anti-aliased edges, to a few hundredths of a pixel; corners are put
//! back where their sides meet.

mod audit;
mod corners;
mod cover;
mod decode;
mod fit;
mod ink;
mod labels;
mod noise;
mod outline;
mod resolution;
mod run;
mod small;
mod tones;

pub use audit::{STRAYS_TOLD, Scan};
pub use ink::{Blot, Inked, goes_round, inked};
pub use tones::{ToneShare, between_class_variances, otsu};

pub use decode::is_picture;
pub(super) use small::preview;

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use self::corners::Grain;
use self::cover::{Cover, HALF, Outlines};
use self::decode::Picture;
use self::labels::Labels;
use super::{Art, ArtError, Dropped, Untaken, Wanted};
use crate::geometry::Rule;
use crate::lettering::filled;
use crate::limits::{ART_BYTES, SEGMENTS};

/// Size of a pixel where the file states none, in mm: 96 to the inch, as in SVG (W3C CSS Values and Units).
pub const UNSTATED_MM: f64 = 25.4 / 96.0;
/// Spots smaller than this are dirt, in px².
pub const SPECK_PX2: f64 = 16.0;
/// A picture with more of its pixels off its tones than this is taken by its darkness alone.
const MOSTLY_TONES: f64 = 0.3;

/// A scan as pixels.
#[derive(Clone, Debug)]
pub struct Scanned {
    /// Pixels across and down.
    pub size: (usize, usize),
    /// Red, green, blue of each, row by row from the top.
    pub pixels: Vec<[u8; 3]>,
    /// A pixel's size across and down as the file states it, mm.
    pub pixel: Option<Vec2>,
    /// Of a file that leaves some of it out: the mean step by which the brightness of its waves is rounded.
    pub lossy_step: Option<f64>,
}

/// A PNG, JPEG, TIFF, BMP or WebP file as pixels, of a whole bed of a scanner.
///
/// # Errors
/// [`ArtError::Unreadable`], [`ArtError::TooManyPixels`].
pub fn scanned(bytes: &[u8]) -> Result<Scanned, ArtError> {
    let picture = decode::decoded_within(bytes, decode::OF_SCANS)?;
    let lossy_step = (picture.kind == "JPEG").then(|| resolution::of_jpeg(bytes).step);
    let size = (picture.width, picture.height);
    Ok(Scanned { size, pixels: picture.pixels, pixel: picture.resolution, lossy_step })
}

/// A PNG, JPEG, BMP or WebP file as a region, at the size that the file states, or 96 pixels to the inch; the lower
/// left corner of the picture is the origin.
///
/// Without a threshold the picture's tones are parted in dark and light by Otsu's method, and the outlines run halfway
/// between tones. With one, they run where the darkness is just that. With a tone, only what has it is taken.
///
/// # Errors
/// All of [`ArtError`].
pub fn art_from_bitmap(bytes: &[u8], wanted: &Wanted) -> Result<Art, ArtError> {
    if bytes.len() > ART_BYTES {
        return Err(ArtError::TooLarge { bytes: bytes.len() });
    }
    if wanted.part.is_some() {
        return Err(ArtError::OtherKind { what: "part" });
    }
    let picture = decode::decoded(bytes)?;
    let noise = noise::spread(&picture);
    let tones = tones::tones(&picture, noise);
    let labels = Labels::new(&picture, &tones, noise);
    if tones.len() == 1 && labels.untoned() == 0 {
        return Err(ArtError::OneTone { tone: tones.first().map_or([0; 3], |tone| tone.colour) });
    }
    let Marks { cover, level, burnt } = marks(&picture, &tones, &labels, wanted)?;
    let pixel = pixel_mm(&picture);
    #[allow(clippy::cast_precision_loss, reason = "a picture's rows")]
    let map = Affine::new([pixel.x, 0.0, 0.0, -pixel.y, 0.0, picture.height as f64 * pixel.y]);
    let (traced, softened) = traced(cover, level, noise, map)?;
    let frame = match wanted.tone {
        Some(_) => frame(&labels, &tones, map),
        None => None,
    };
    let scan = audit::scan(&picture, tones, &labels, noise, pixel, wanted.threshold);
    let scan = Scan { specks: traced.specks, pinholes: traced.pinholes, softened, level: level / 255.0, burnt, ..scan };
    let later = || Dropped { what: Untaken::LaterPictures, on: String::new(), line: 0 };
    let dropped: Vec<Dropped> = picture.moves.then(later).into_iter().collect();
    let ink = filled(&traced.path, Rule::NonZero)?;
    if ink.is_empty() {
        return Err(ArtError::Nothing { dropped });
    }
    let colours = scan.tones.iter().map(|tone| tone.colour).collect();
    #[allow(clippy::cast_precision_loss, reason = "a picture's rows and columns")]
    let middle = map * Point::new(picture.width as f64 / 2.0, picture.height as f64 / 2.0);
    Ok(Art { ink, frame, colours, dropped, off_page_mm2: 0.0, middle, scan: Some(scan) })
}

/// Across and down, as the file states it or as is usual.
fn pixel_mm(picture: &Picture) -> Vec2 {
    picture.resolution.unwrap_or(Vec2::new(UNSTATED_MM, UNSTATED_MM))
}

/// What is wanted of a picture.
struct Marks {
    cover: Cover,
    /// The level at which its outlines run.
    level: f64,
    /// The tones that belong to it.
    burnt: Vec<[u8; 3]>,
}

/// The cover of what is wanted.
fn marks(picture: &Picture, tones: &[ToneShare], labels: &Labels<'_>, wanted: &Wanted) -> Result<Marks, ArtError> {
    let burnt = |dark: &[bool]| {
        tones.iter().zip(dark).filter(|(_, dark)| **dark).map(|(tone, _)| tone.colour).collect::<Vec<[u8; 3]>>()
    };
    let darker = |than: f64| -> Vec<bool> {
        tones.iter().map(|tone| f64::from(255 - tones::luma(tone.colour)) > than).collect()
    };
    if let Some(colour) = wanted.tone {
        let known = || tones.iter().map(|tone| tone.colour).collect();
        let tone = labels.named(colour).ok_or_else(|| ArtError::NoSuchTone { tone: colour, tones: known() })?;
        let picked: Vec<bool> = (0..tones.len()).map(|at| at == tone).collect();
        return Ok(Marks { cover: labels.cover(&picked), level: HALF, burnt: burnt(&picked) });
    }
    let darkness = || picture.pixels.iter().map(|pixel| 255 - tones::luma(*pixel));
    let by_darkness = || Cover::new(picture.width, picture.height, darkness());
    if let Some(threshold) = wanted.threshold {
        // A pixel is mark above the level, and the threshold itself is to count as mark.
        let level = (255.0 * threshold - 1e-6).max(0.0);
        return Ok(Marks { cover: by_darkness(), level, burnt: burnt(&darker(level)) });
    }
    let mut histogram = vec![0u64; 256];
    darkness().for_each(|level| {
        if let Some(count) = histogram.get_mut(usize::from(level)) {
            *count += 1;
        }
    });
    let split = otsu(&histogram).unwrap_or(127);
    let dark = darker(f64::from(u32::try_from(split).unwrap_or(127)));
    #[allow(clippy::cast_precision_loss, reason = "counts of pixels")]
    // A photograph has few flat patches: its tones are chance, and it is better parted by darkness.
    let mostly = labels.untoned() as f64 <= MOSTLY_TONES * picture.pixels.len() as f64;
    let (cover, level) = match (tones, dark.as_slice()) {
        // With two tones every pixel lies somewhere on the way between them, which is exact even where lines are too
        // thin for a pixel of their own tone to be near.
        ([a, b], [true, false]) if mostly => (Labels::cover_of_two(picture, a.colour, b.colour), HALF),
        ([a, b], [false, true]) if mostly => (Labels::cover_of_two(picture, b.colour, a.colour), HALF),
        _ if mostly && dark.contains(&true) && dark.contains(&false) => (labels.cover(&dark), HALF),
        _ => (by_darkness(), halfway(&histogram, split)),
    };
    Ok(Marks { cover, level, burnt: burnt(&dark) })
}

/// Halfway between the most frequent levels on either side of a split; lines too thin for flat patches have their
/// edges there.
#[allow(clippy::cast_precision_loss, reason = "256 levels")]
fn halfway(histogram: &[u64], split: usize) -> f64 {
    let (light, dark) = histogram.split_at((split + 1).min(histogram.len()));
    let most = |part: &[u64]| {
        part.iter().enumerate().max_by_key(|(at, count)| (**count, std::cmp::Reverse(*at))).map_or(0, |(at, _)| at)
    };
    let (light, dark) = (most(light), most(dark) + split + 1);
    (light + dark) as f64 / 2.0
}

/// What was traced.
struct Traced {
    path: BezPath,
    specks: usize,
    pinholes: usize,
}

/// The outlines of a cover in mm, and whether noise was smoothed.
fn traced(mut cover: Cover, level: f64, noise: f64, map: Affine) -> Result<(Traced, bool), ArtError> {
    // Only where noise was measured, for smoothing rounds corners.
    let softened = noise::mend(&mut cover, noise);
    let grain = if softened { Grain::COARSE } else { Grain::FINE };
    let Outlines { rings, specks, pinholes } = cover.outlines(level, SPECK_PX2).ok_or(ArtError::TooMuch)?;
    let mut path = BezPath::new();
    for ring in rings {
        path.extend(map * outline::drawn(&ring, grain));
        if path.elements().len() > SEGMENTS {
            return Err(ArtError::TooMuch);
        }
    }
    Ok((Traced { path, specks, pinholes }, softened))
}

/// The box of all that is not ground, in mm: what a single tone is sized and placed by, so that tones picked one by
/// one stay where they are among each other.
fn frame(labels: &Labels<'_>, tones: &[ToneShare], map: Affine) -> Option<Rect> {
    let ground = labels.ground()?;
    let others: Vec<bool> = (0..tones.len()).map(|at| at != ground).collect();
    let outlines = labels.cover(&others).outlines(HALF, SPECK_PX2)?;
    let points = outlines.rings.iter().flatten().map(|point| map * *point);
    points.map(|point| Rect::from_points(point, point)).reduce(|a, b| a.union(b))
}
