//! How noisy a picture is, and its smoothing where it is.

use super::cover::Cover;
use super::decode::Picture;
use super::tones::luma;

/// Noise from this spread on is smoothed, in levels of 255.
pub(super) const NOISY: f64 = 3.0;
/// A pixel that differs from all around it, or from their median, by more than this is a stray one.
const STRAY: u8 = 96;
/// Stray pixels are mended from this share of all on; fewer are specks like any.
const PEPPERED: f64 = 2e-4;
/// Rows looked at for an estimate.
const ROWS: usize = 400;

/// The spread of a picture's noise in levels: the median of what a mask that cancels flat and sloping patches leaves
/// (J. Immerkaer, "Fast Noise Variance Estimation", Computer Vision and Image Understanding 64, 1996; the median
/// instead of the mean, so that edges do not count).
pub(super) fn spread(picture: &Picture) -> f64 {
    let rows: Vec<&[[u8; 3]]> = picture.pixels.chunks(picture.width).collect();
    // Noise is alike all over a picture: some hundred thousand pixels tell its spread as well as all.
    let step = rows.len().div_ceil(ROWS).max(1);
    let mut counts = vec![0u64; 8 * 255 + 1];
    for three in rows.windows(3).step_by(step) {
        let lines: Vec<Vec<i32>> =
            three.iter().map(|row| row.iter().map(|pixel| i32::from(luma(*pixel))).collect()).collect();
        let [above, row, below] = lines.as_slice() else { continue };
        let columns = above.windows(3).zip(row.windows(3)).zip(below.windows(3));
        for ((a, b), c) in columns {
            let bend = |three: &[i32]| if let [x, y, z] = three { x - 2 * y + z } else { 0 };
            let left = (bend(a) - 2 * bend(b) + bend(c)).unsigned_abs() as usize;
            if let Some(count) = counts.get_mut(left) {
                *count += 1;
            }
        }
    }
    let half = counts.iter().sum::<u64>() / 2;
    let mut sum = 0;
    let median = counts.iter().position(|count| {
        sum += count;
        sum > half
    });
    // The mask's weights have the root sum of squares 6; the median of |x| of a normal spread is 0.6745 of it.
    #[allow(clippy::cast_precision_loss, reason = "at most 2040")]
    median.map_or(0.0, |median| median as f64 / (0.6745 * 6.0))
}

/// Mends a cover in place, where it is noisy: scattered pixels by the median of the nine, where there are many, then all
/// by two passes of a binomial filter (spread 1 px). Whether it was smoothed.
pub(super) fn mend(cover: &mut Cover, noise: f64) -> bool {
    let stride = cover.stride();
    let noisy = unpepper(cover.cells_mut(), stride) || noise > NOISY;
    if noisy {
        soften(cover.cells_mut(), stride);
        soften(cover.cells_mut(), stride);
    }
    noisy
}

/// Three rows at a time: for each, what becomes of its inner cells.
fn by_rows(cells: &mut [u8], stride: usize, mut work: impl FnMut([&[u8]; 3], &mut [u8])) {
    // Rows are changed in place, so of the row above the old values are kept.
    let mut above: Vec<u8> = cells.get(..stride).unwrap_or_default().to_vec();
    let rows = cells.len() / stride.max(1);
    for y in 1..rows.saturating_sub(1) {
        let Some(here) = cells.get(y * stride..(y + 1) * stride).map(<[u8]>::to_vec) else { return };
        let Some((now, below)) = cells.split_at_mut_checked((y + 1) * stride) else { return };
        let (Some(row), Some(below)) = (now.get_mut(y * stride..), below.get(..stride)) else { return };
        work([&above, &here, below], row);
        above = here;
    }
}

fn nine([above, here, below]: [&[u8]; 3], x: usize) -> Option<[u8; 9]> {
    let three = |row: &[u8]| row.get(x - 1..x + 2).and_then(|three| <[u8; 3]>::try_from(three).ok());
    let ([a, b, c], [d, e, f], [g, h, i]) = (three(above)?, three(here)?, three(below)?);
    Some([a, b, c, d, e, f, g, h, i])
}

/// Whether there was anything to mend.
fn unpepper(cells: &mut [u8], stride: usize) -> bool {
    let mut strays = 0usize;
    by_rows(cells, stride, |rows, row| {
        for x in 1..row.len().saturating_sub(1) {
            let [_, here, _] = rows;
            let near = |other: Option<&u8>| other.zip(here.get(x)).is_some_and(|(a, b)| a.abs_diff(*b) <= STRAY);
            // Asked first because it settles nearly all pixels with two comparisons.
            if near(here.get(x - 1)) || near(here.get(x + 1)) {
                continue;
            }
            let Some([a, b, c, d, e, f, g, h, i]) = nine(rows, x) else { continue };
            // An edge passes between its neighbours in tone; a stray stands out from all of them.
            let around = [a, b, c, d, f, g, h, i];
            let darker = around.iter().all(|other| e.saturating_sub(*other) > STRAY);
            strays += usize::from(darker || around.iter().all(|other| other.saturating_sub(e) > STRAY));
        }
    });
    #[allow(clippy::cast_precision_loss, reason = "counts of pixels")]
    if (strays as f64) < PEPPERED * cells.len() as f64 {
        return false;
    }
    by_rows(cells, stride, |rows, row| {
        for x in 1..row.len().saturating_sub(1) {
            let Some(mut all) = nine(rows, x) else { continue };
            all.sort_unstable();
            let [_, _, _, _, median, ..] = all;
            if let Some(cell) = row.get_mut(x).filter(|cell| cell.abs_diff(median) > STRAY) {
                *cell = median;
            }
        }
    });
    true
}

/// Weights 1 2 1 both ways.
fn soften(cells: &mut [u8], stride: usize) {
    by_rows(cells, stride, |[above, here, below], row| {
        let down = |x: usize| {
            let at = |row: &[u8]| u32::from(row.get(x).copied().unwrap_or(0));
            at(above) + 2 * at(here) + at(below)
        };
        for x in 1..row.len().saturating_sub(1) {
            let sum = down(x - 1) + 2 * down(x) + down(x + 1);
            if let Some(cell) = row.get_mut(x) {
                *cell = u8::try_from((sum + 8) / 16).unwrap_or(255);
            }
        }
    });
}
