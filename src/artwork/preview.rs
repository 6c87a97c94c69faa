//! A small picture of artwork as it came, and of what is stray in it.

use kurbo::{Rect, Size};
use resvg::tiny_skia::{Pixmap, Transform};

use super::svg::{MM_PER_PX, read, without_filters};
use super::{ArtError, bitmap};

/// Artwork as it came, made smaller; see-through parts lie on white.
#[derive(Clone, Debug, PartialEq)]
pub struct Preview {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Red, green, blue of each cell, row by row from the top.
    pub cells: Vec<[u8; 3]>,
    /// Whether a cell holds stray pixels.
    pub stray: Vec<bool>,
    /// The page or picture, in mm, y up.
    pub page: Rect,
}

/// A preview of at most `most` cells to a side.
///
/// # Errors
/// As [`super::art`] for a file that cannot be read.
pub fn preview(bytes: &[u8], most: usize) -> Result<Preview, ArtError> {
    if bitmap::is_picture(bytes) { bitmap::preview(bytes, most) } else { of_drawing(bytes, most) }
}

fn of_drawing(bytes: &[u8], most: usize) -> Result<Preview, ArtError> {
    let tree = without_filters(read(bytes)?)?;
    let size = Size::new(f64::from(tree.size().width()), f64::from(tree.size().height()));
    let (width, height) = cells(size, most);
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "a few hundred cells")]
    let scale = Transform::from_scale((width as f64 / size.width) as f32, (height as f64 / size.height) as f32);
    let side = |cells: usize| u32::try_from(cells).unwrap_or(1);
    let mut pixels = Pixmap::new(side(width), side(height)).ok_or(ArtError::TooMuch)?;
    pixels.fill(resvg::tiny_skia::Color::WHITE);
    resvg::render(&tree, scale, &mut pixels.as_mut());
    let cells: Vec<[u8; 3]> = pixels.pixels().iter().map(|pixel| [pixel.red(), pixel.green(), pixel.blue()]).collect();
    let page = Rect::from_origin_size((0.0, 0.0), size * MM_PER_PX);
    Ok(Preview { width, height, stray: vec![false; cells.len()], cells, page })
}

/// Columns and rows for a page of this shape.
pub(super) fn cells(size: Size, most: usize) -> (usize, usize) {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "from 1 to a few hundred"
    )]
    let side = |length: f64| ((length / size.width.max(size.height) * most as f64).round() as usize).clamp(1, most);
    (side(size.width), side(size.height))
}
