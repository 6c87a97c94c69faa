//! The dial in its material, as a picture within a page.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use svg::node::element::{Group, Image};

use super::super::drawing::titled;
use crate::portrait::Pixels;
use crate::units::plain;

/// Pixels to a millimetre of paper: some 180 to an inch, as fine as an office printer shows.
pub(super) const DOTS: f64 = 7.0;

/// So large a length of paper in pixels.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most as long as a page")]
pub(super) fn pixels(paper_mm: f64) -> u32 {
    (paper_mm * DOTS).round() as u32
}

/// A picture as large as this on the paper, on white; its left upper corner at the origin. None where it cannot be written.
pub(super) fn photo(pixels: &Pixels, (wide, high): (f64, f64), says: &str) -> Option<Group> {
    let drawn = pixels.on([0xff; 3]).jpeg().ok()?;
    let picture = Image::new()
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("preserveAspectRatio", "none")
        .set("xlink:href", format!("data:image/jpeg;base64,{}", STANDARD.encode(drawn)));
    Some(Group::new().add(titled(says)).add(picture))
}
