//! What a picture of pixels is made of.

use kurbo::Vec2;

use super::decode::Picture;
use super::labels::Labels;
use super::tones::{ToneShare, luma};

/// Strays are gathered in squares of so many to the longer side.
const SQUARES: usize = 24;
/// Most places of strays that are told.
const MOST_PLACES: usize = 12;

/// Strays are worth a word from this share on.
pub const STRAYS_TOLD: f64 = 0.002;
/// So many levels from a threshold, a tenth of all, another light or another scanner decides.
const DOUBTFUL: f64 = 25.5;

/// A box of pixels: `left..right`, `top..bottom`, from the upper left corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PixelBox {
    /// First column.
    pub left: usize,
    /// First row.
    pub top: usize,
    /// One past the last column.
    pub right: usize,
    /// One past the last row.
    pub bottom: usize,
    /// How many strays are in it.
    pub strays: usize,
}

/// The tones of a picture and what was done with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Scan {
    /// What kind of file it is: `PNG`, `JPEG`, `BMP` or `WebP`.
    pub kind: &'static str,
    /// Pixels across and down.
    pub pixels: (usize, usize),
    /// The size of a pixel across and down, in mm.
    pub pixel_mm: Vec2,
    /// Whether the file states that size.
    pub size_stated: bool,
    /// Whether the file holds more pictures than the first, which alone was taken.
    pub moves: bool,
    /// The real tones, most frequent first.
    pub tones: Vec<ToneShare>,
    /// Those of them that are burnt.
    pub burnt: Vec<[u8; 3]>,
    /// The share of pixels on anti-aliased edges, 0 to 1: mixed from two tones beside them.
    pub edges: f64,
    /// The share of stray pixels, 0 to 1: neither a tone nor a mix of tones beside them.
    pub strays: f64,
    /// The share of strays, 0 to 1, that chance decides over: where a threshold was asked for, those within a tenth of it.
    pub doubtful: f64,
    /// A threshold by which chance decides over hardly any, from 0 to 1; none where there is none, or one was asked for.
    pub calm: Option<f64>,
    /// Where the strays lie, most first.
    pub places: Vec<PixelBox>,
    /// The spread of the noise, in levels of 255.
    pub noise: f64,
    /// Whether noise was smoothed before tracing.
    pub softened: bool,
    /// The level between bare (0) and mark (1) on which the outlines run.
    pub level: f64,
    /// Spots of mark left out because they are too small.
    pub specks: usize,
    /// Bare spots filled because they are too small.
    pub pinholes: usize,
}

impl Scan {
    /// Whether a tone is burnt, where neither a tone nor a threshold was asked for.
    pub fn is_mark(&self, colour: [u8; 3]) -> bool {
        self.burnt.contains(&colour)
    }

    /// The tones that are neither the darkest nor the lightest.
    pub fn midtones(&self) -> impl Iterator<Item = &ToneShare> {
        let lumas = || self.tones.iter().map(|tone| luma(tone.colour));
        let (least, most) = (lumas().min().unwrap_or(0), lumas().max().unwrap_or(255));
        self.tones.iter().filter(move |tone| (least + 1..most).contains(&luma(tone.colour)))
    }
}

/// The audit, before anything is traced.
pub(super) fn scan(
    picture: &Picture,
    tones: Vec<ToneShare>,
    labels: &Labels<'_>,
    noise: f64,
    pixel_mm: Vec2,
    threshold: Option<f64>,
) -> Scan {
    // With a single tone there are no two to mix, and all that is not of it would count as stray.
    let strays: Vec<usize> = if tones.len() > 1 { labels.strays().collect() } else { Vec::new() };
    #[allow(clippy::cast_precision_loss, reason = "counts of pixels")]
    let share = |count: usize| count as f64 / picture.pixels.len().max(1) as f64;
    let by_darkness = by_darkness(picture, &strays);
    let calm = || calm(&tones, |threshold| share(near(&by_darkness, threshold)));
    Scan {
        doubtful: share(threshold.map_or(strays.len(), |threshold| near(&by_darkness, threshold))),
        calm: if threshold.is_none() { calm() } else { None },
        kind: picture.kind,
        pixels: (picture.width, picture.height),
        pixel_mm,
        size_stated: picture.resolution.is_some(),
        moves: picture.moves,
        tones,
        burnt: Vec::new(),
        edges: share(labels.untoned() - strays.len().min(labels.untoned())),
        strays: share(strays.len()),
        places: places(picture, &strays),
        noise,
        softened: false,
        level: 0.5,
        specks: 0,
        pinholes: 0,
    }
}

/// How many of these pixels have each darkness.
fn by_darkness(picture: &Picture, strays: &[usize]) -> [usize; 256] {
    let mut counts = [0; 256];
    let darkness = strays.iter().filter_map(|at| picture.pixels.get(*at)).map(|pixel| 255 - luma(*pixel));
    darkness.for_each(|level| {
        if let Some(count) = counts.get_mut(usize::from(level)) {
            *count += 1;
        }
    });
    counts
}

/// How many of them lie within a tenth of a threshold.
fn near(by_darkness: &[usize; 256], threshold: f64) -> usize {
    let level = (255.0 * threshold).round();
    let is_near = |at: usize| (f64::from(u32::try_from(at).unwrap_or(u32::MAX)) - level).abs() <= DOUBTFUL;
    by_darkness.iter().enumerate().filter(|(at, _)| is_near(*at)).map(|(_, count)| count).sum()
}

/// The threshold in whole twentieths that parts dark tones from light ones and has the fewest strays near it, if these are too few
/// to be told; of several the one nearest to the middle.
fn calm(tones: &[ToneShare], doubtful: impl Fn(f64) -> f64) -> Option<f64> {
    let darkness = || tones.iter().map(|tone| 255 - luma(tone.colour));
    let (least, most) = (f64::from(darkness().min()?) + DOUBTFUL, f64::from(darkness().max()?) - DOUBTFUL);
    let parts = |threshold: &f64| (least..=most).contains(&(255.0 * threshold));
    let thresholds = (1..20).map(|twentieth| f64::from(twentieth) / 20.0).filter(parts);
    let tried = thresholds.map(|threshold| (doubtful(threshold), (threshold - 0.5).abs(), threshold));
    let best = tried.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
    (best.0 < STRAYS_TOLD).then_some(best.2)
}

/// Neighbouring squares that hold strays, as boxes of the strays in them.
fn places(picture: &Picture, strays: &[usize]) -> Vec<PixelBox> {
    let side = picture.width.max(picture.height).div_ceil(SQUARES).max(1);
    let across = picture.width.div_ceil(side);
    let mut squares: std::collections::BTreeMap<usize, PixelBox> = std::collections::BTreeMap::new();
    for at in strays {
        let (x, y) = (at % picture.width, at / picture.width);
        let one = PixelBox { left: x, top: y, right: x + 1, bottom: y + 1, strays: 1 };
        squares.entry(y / side * across + x / side).and_modify(|all| *all = joined(*all, one)).or_insert(one);
    }
    let mut places = Vec::new();
    // Squares that touch, corners included, are one place: a smudge lies across several.
    while let Some((first, mut all)) = squares.pop_first() {
        let mut waiting = vec![first];
        while let Some(square) = waiting.pop() {
            let (x, y) = (square % across, square / across);
            for y in y.saturating_sub(1)..=y + 1 {
                for x in x.saturating_sub(1)..=(x + 1).min(across - 1) {
                    if let Some(more) = squares.remove(&(y * across + x)) {
                        all = joined(all, more);
                        waiting.push(y * across + x);
                    }
                }
            }
        }
        places.push(all);
    }
    places.sort_by_key(|place| (std::cmp::Reverse(place.strays), place.top, place.left));
    places.truncate(MOST_PLACES);
    places
}

fn joined(a: PixelBox, b: PixelBox) -> PixelBox {
    PixelBox {
        left: a.left.min(b.left),
        top: a.top.min(b.top),
        right: a.right.max(b.right),
        bottom: a.bottom.max(b.bottom),
        strays: a.strays + b.strays,
    }
}
