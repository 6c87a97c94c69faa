//! The real tones of a picture, and the tone at which dark and light part.

use super::decode::Picture;

/// Neighbours that differ by no more than this lie in a flat patch, in a clean picture.
const FLAT: u8 = 12;
/// Colours no farther than this from a tone belong to it, in a clean picture.
const NEAR: u8 = 24;
/// A tone is real from this share of the pixels on.
pub(super) const REAL: f64 = 0.001;
/// Most tones that are told apart.
pub(super) const MOST: usize = 200;

/// A tone of a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct ToneShare {
    /// Red, green, blue.
    pub colour: [u8; 3],
    /// The share of the pixels that have it, 0 to 1.
    pub share: f64,
}

/// Rec. 709 luma of gamma-coded colours, 0 (black) to 255: linear in how much of a pixel is covered, as
/// anti-aliasing mixes them.
pub(super) fn luma([r, g, b]: [u8; 3]) -> u8 {
    let sum = 2126 * u32::from(r) + 7152 * u32::from(g) + 722 * u32::from(b);
    u8::try_from((sum + 5000) / 10_000).unwrap_or(255)
}

/// The largest difference of two colours in any channel.
pub(super) fn apart(a: [u8; 3], b: [u8; 3]) -> u8 {
    let ([r, g, b], [s, h, c]) = (a, b);
    r.abs_diff(s).max(g.abs_diff(h)).max(b.abs_diff(c))
}

/// The real tones of a picture, most frequent first.
///
/// Only flat patches found a tone, so that anti-aliased edges found none however many there are; every pixel near a
/// tone counts towards its share. A bin is a 32nd of each channel. `noise` is in levels.
pub(super) fn tones(picture: &Picture, noise: f64) -> Vec<ToneShare> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
    let (flat, near) = (FLAT.max((4.0 * noise) as u8), NEAR.max((3.0 * noise) as u8));
    let bins = Bins::of(picture, flat);
    let mut founders: Vec<(usize, &Bin)> = bins.0.iter().enumerate().filter(|(_, bin)| bin.flat > 0).collect();
    // The commonest first, so that a tone takes in its own shades and not the other way round; the number of the bin
    // makes the order the same every time.
    founders.sort_by_key(|(at, bin)| (std::cmp::Reverse(bin.flat), *at));
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
    let least = (picture.pixels.len() as f64 * REAL).ceil().max(1.0) as u32;
    let mut found: Vec<([u8; 3], u32)> = Vec::new();
    for (_, bin) in founders {
        let colour = bin.mean();
        let is_full = found.len() >= MOST;
        match found.iter_mut().find(|(tone, _)| apart(*tone, colour) <= near) {
            Some((_, count)) => *count += bin.flat,
            None if !is_full => found.push((colour, bin.flat)),
            None => break,
        }
    }
    // Told at the end, for small bins near a tone add up.
    found.retain(|(_, count)| *count >= least);
    let colours: Vec<[u8; 3]> = found.into_iter().map(|(colour, _)| colour).collect();
    shared(&bins, &colours, near, picture.pixels.len())
}

/// Tones with their shares of all pixels, most frequent first.
fn shared(bins: &Bins, colours: &[[u8; 3]], near: u8, pixels: usize) -> Vec<ToneShare> {
    let mut counts = vec![0u32; colours.len()];
    for (at, bin) in bins.0.iter().enumerate().filter(|(_, bin)| bin.all > 0) {
        let nearest = nearest(colours, middle(at), near);
        if let Some(count) = nearest.and_then(|tone| counts.get_mut(tone)) {
            *count += bin.all;
        }
    }
    #[allow(clippy::cast_precision_loss, reason = "a count of pixels")]
    let share = |count: u32| f64::from(count) / pixels as f64;
    let mut tones: Vec<ToneShare> =
        colours.iter().zip(counts).map(|(colour, count)| ToneShare { colour: *colour, share: share(count) }).collect();
    tones.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.colour.cmp(&b.colour)));
    tones
}

/// Which tone is nearest to a colour, where one is near.
pub(super) fn nearest(tones: &[[u8; 3]], colour: [u8; 3], near: u8) -> Option<usize> {
    let far = tones.iter().map(|tone| apart(*tone, colour));
    far.enumerate().filter(|(_, far)| *far <= near).min_by_key(|(at, far)| (*far, *at)).map(|(at, _)| at)
}

/// Colours this near a tone belong to it in a picture with this much noise.
pub(super) fn near(noise: f64) -> u8 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
    NEAR.max((3.0 * noise) as u8)
}

#[derive(Clone, Copy, Default)]
struct Bin {
    all: u32,
    flat: u32,
    sums: [u64; 3],
}

impl Bin {
    /// Of its flat pixels.
    fn mean(&self) -> [u8; 3] {
        let flat = u64::from(self.flat.max(1));
        self.sums.map(|sum| u8::try_from((sum + flat / 2) / flat).unwrap_or(255))
    }
}

/// 32 steps of each channel.
struct Bins(Vec<Bin>);

fn bin([r, g, b]: [u8; 3]) -> usize {
    (usize::from(r >> 3) << 10) | (usize::from(g >> 3) << 5) | usize::from(b >> 3)
}

/// The colour in the middle of a bin.
fn middle(bin: usize) -> [u8; 3] {
    [bin >> 10, bin >> 5, bin].map(|step| u8::try_from(((step & 31) << 3) | 4).unwrap_or(255))
}

impl Bins {
    fn of(picture: &Picture, flat: u8) -> Self {
        let mut bins = vec![Bin::default(); 1 << 15];
        let rows: Vec<&[[u8; 3]]> = picture.pixels.chunks(picture.width).collect();
        for (y, row) in rows.iter().enumerate() {
            let above = rows.get(y.wrapping_sub(1)).unwrap_or(row);
            let below = rows.get(y + 1).unwrap_or(row);
            let columns = row.iter().zip(above.iter().zip(*below)).enumerate();
            for (x, (pixel, (above, below))) in columns {
                let Some(bin) = bins.get_mut(bin(*pixel)) else { continue };
                bin.all += 1;
                let beside = [row.get(x.wrapping_sub(1)), row.get(x + 1)];
                // Equal pixels are the common case, and cheaper to find.
                let is_near = |other: &[u8; 3]| pixel == other || apart(*pixel, *other) <= flat;
                if is_near(above) && is_near(below) && beside.into_iter().flatten().all(is_near) {
                    bin.flat += 1;
                    bin.sums.iter_mut().zip(pixel).for_each(|(sum, value)| *sum += u64::from(*value));
                }
            }
        }
        Self(bins)
    }
}

/// The level up to which a histogram's lower class goes, so that the two classes differ most (N. Otsu, "A Threshold
/// Selection Method from Gray-Level Histograms", IEEE Trans. SMC 9, 1979): the largest between-class variance, the
/// middle of the levels that share it. None where all counts are in one level.
pub fn otsu(histogram: &[u64]) -> Option<usize> {
    let variances = between_class_variances(histogram);
    let most = variances.iter().copied().fold(0.0, f64::max);
    let best = |variance: &f64| *variance > 0.0 && *variance >= most * (1.0 - 1e-12);
    // Levels that no pixel has all give the same variance; the middle of them is farthest from both classes.
    let (first, last) = (variances.iter().position(best)?, variances.iter().rposition(best)?);
    Some(usize::midpoint(first, last))
}

/// The between-class variance of every split after a level but the last one.
pub fn between_class_variances(histogram: &[u64]) -> Vec<f64> {
    #[allow(clippy::cast_precision_loss, reason = "counts of pixels")]
    let counts: Vec<f64> = histogram.iter().map(|count| *count as f64).collect();
    let levels = || counts.iter().zip(0u32..).map(|(count, level)| (*count, f64::from(level)));
    let all: f64 = counts.iter().sum();
    let moment: f64 = levels().map(|(count, level)| count * level).sum();
    let (mut below, mut moment_below) = (0.0, 0.0);
    let variance = |(count, level): (f64, f64)| {
        below += count;
        moment_below += count * level;
        let (share, rest) = (below / all, 1.0 - below / all);
        let apart = moment_below / below - (moment - moment_below) / (all - below);
        if below > 0.0 && below < all { share * rest * apart * apart } else { 0.0 }
    };
    levels().take(counts.len().saturating_sub(1)).map(variance).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From the paper's definition, and as all variance less that within the classes: both in `tests/data/worked.py`.
    #[test]
    fn a_histogram_splits_where_its_classes_differ_most() {
        let histogram = [8, 7, 2, 6, 9, 4];
        let wanted = [1.592_813, 2.563_514, 2.628_715, 2.141_710, 0.870_467];
        let found = between_class_variances(&histogram);
        assert_eq!(found.len(), wanted.len());
        assert!(found.iter().zip(wanted).all(|(found, wanted)| (found - wanted).abs() < 5e-7), "{found:?}");
        assert_eq!(otsu(&histogram), Some(2));
        assert_eq!(otsu(&[0, 5, 0]), None);
        assert_eq!(otsu(&[]), None);
        assert_eq!(otsu(&[3, 0, 0, 0, 3]), Some(1));
    }
}
