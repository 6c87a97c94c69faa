//! How large a picture of pixels is on paper: told within its PNG, which else says nothing of it.

/// Bytes of a PNG up to the end of its first chunk, the header: the signature, then length, name, 13 bytes and check (PNG, third
/// edition, 5.2 and 11.2.1).
const HEADER: usize = 8 + 4 + 4 + 13 + 4;

/// The same PNG with so many pixels to a millimetre of paper: its `pHYs` chunk (PNG, third edition, 11.3.4.3), which counts whole
/// pixels to a metre. Whatever is no PNG, or a density below one pixel to a metre, is left alone.
pub(crate) fn with_density(mut png: Vec<u8>, per_mm: f64) -> Vec<u8> {
    let per_metre = (per_mm * 1000.0).round();
    let told = (1.0..f64::from(i32::MAX)).contains(&per_metre);
    if !told || png.len() < HEADER || !png.starts_with(b"\x89PNG\r\n\x1a\n") {
        return png;
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to what 31 bits hold")]
    let count = (per_metre as u32).to_be_bytes();
    // The last byte says that the unit is a metre.
    let named = [b"pHYs".as_slice(), &count, &count, &[1]].concat();
    let check = crc32fast::hash(&named).to_be_bytes();
    let chunk = [9_u32.to_be_bytes().as_slice(), &named, &check].concat();
    png.splice(HEADER..HEADER, chunk);
    png
}

#[cfg(test)]
mod tests {
    use super::*;
    use resvg::tiny_skia::Pixmap;

    /// Read back by another library, `png`.
    #[test]
    fn a_picture_says_how_large_it_is() {
        let bytes = with_density(Pixmap::new(3, 2).unwrap().encode_png().unwrap(), 200.0 / 25.4);
        let reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let told = reader.info().pixel_dims.unwrap();
        assert_eq!((told.xppu, told.yppu, told.unit), (7874, 7874, png::Unit::Meter));
    }

    #[test]
    fn what_is_no_picture_is_left_alone() {
        assert_eq!(with_density(b"GIF89a".to_vec(), 8.0), b"GIF89a");
        let picture = Pixmap::new(1, 1).unwrap().encode_png().unwrap();
        assert_eq!(with_density(picture.clone(), 0.0), picture);
        assert_eq!(with_density(picture.clone(), f64::NAN), picture);
    }
}
