//! A picture made small.

use kurbo::{Rect, Size};

use super::labels::Labels;
use super::{decode, noise, pixel_mm, tones};
use crate::artwork::preview::{Preview, cells};
use crate::artwork::{ArtError, bitmap::decode::Picture};

/// A preview of at most `most` cells to a side: each the mean of its pixels, stray where any of them is.
pub(in crate::artwork) fn preview(bytes: &[u8], most: usize) -> Result<Preview, ArtError> {
    let picture = decode::decoded(bytes)?;
    let noise = noise::spread(&picture);
    let tones = tones::tones(&picture, noise);
    let labels = Labels::new(&picture, &tones, noise);
    let pixel = pixel_mm(&picture);
    #[allow(clippy::cast_precision_loss, reason = "a picture's rows and columns")]
    let size = Size::new(picture.width as f64 * pixel.x, picture.height as f64 * pixel.y);
    let (width, height) = cells(size, most.min(picture.width.max(picture.height)));
    let mut stray = vec![false; width * height];
    if tones.len() > 1 {
        for at in labels.strays() {
            let (x, y) = (at % picture.width * width / picture.width, at / picture.width * height / picture.height);
            if let Some(cell) = stray.get_mut(y * width + x) {
                *cell = true;
            }
        }
    }
    let cells = means(&picture, width, height);
    Ok(Preview { width, height, cells, stray, page: Rect::from_origin_size((0.0, 0.0), size) })
}

/// The mean colour of the pixels of each cell.
fn means(picture: &Picture, width: usize, height: usize) -> Vec<[u8; 3]> {
    let mut sums = vec![([0u64; 3], 0u64); width * height];
    for (y, row) in picture.pixels.chunks(picture.width).enumerate() {
        for (x, pixel) in row.iter().enumerate() {
            let cell = y * height / picture.height * width + x * width / picture.width;
            if let Some((sum, count)) = sums.get_mut(cell) {
                sum.iter_mut().zip(pixel).for_each(|(sum, value)| *sum += u64::from(*value));
                *count += 1;
            }
        }
    }
    let mean = |sum: u64, count: u64| u8::try_from((sum + count / 2) / count.max(1)).unwrap_or(255);
    sums.into_iter().map(|(sum, count)| sum.map(|sum| mean(sum, count))).collect()
}
