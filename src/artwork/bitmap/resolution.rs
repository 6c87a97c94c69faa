//! The physical size that a picture file states for its pixels.
//!
//! Sources: PNG, third edition (W3C 2025), chunk `pHYs`; JFIF 1.02 (ITU-T T.871), marker APP0; ITU-T T.81 for the
//! markers of JPEG; the BITMAPINFOHEADER of BMP, pixels to the metre.

use kurbo::Vec2;

/// The size of a pixel, in mm across and down.
pub(super) type Resolution = Vec2;

/// Millimetres in an inch.
const INCH: f64 = 25.4;
/// Pixels smaller or larger than this are a slip of the program that wrote them, in mm.
const SENSIBLE: std::ops::Range<f64> = 0.001..100.0;

/// So many pixels to this many mm, across and down; none where that is no sensible size.
fn per(length_mm: f64, across: u32, down: u32) -> Option<Resolution> {
    let size = Vec2::new(length_mm / f64::from(across), length_mm / f64::from(down));
    (SENSIBLE.contains(&size.x) && SENSIBLE.contains(&size.y)).then_some(size)
}

fn big(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}

fn big16(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

fn little(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}

/// Of a PNG: `pHYs` with the metre as its unit, before the pixels.
pub(super) fn of_png(bytes: &[u8]) -> Option<Resolution> {
    let mut at = 8;
    loop {
        let length = big(bytes, at)? as usize;
        let data = at + 8;
        match bytes.get(at + 4..data)? {
            b"pHYs" if bytes.get(data + 8) == Some(&1) => return per(1000.0, big(bytes, data)?, big(bytes, data + 4)?),
            b"IDAT" | b"IEND" => return None,
            _ => at = data.checked_add(length)?.checked_add(4)?,
        }
    }
}

/// Of a BMP: pixels to the metre, as signed numbers.
pub(super) fn of_bmp(bytes: &[u8]) -> Option<Resolution> {
    (little(bytes, 14)? >= 40).then_some(())?;
    per(1000.0, little(bytes, 38)?.cast_signed().unsigned_abs(), little(bytes, 42)?.cast_signed().unsigned_abs())
}

/// Of a TIFF: XResolution, YResolution and ResolutionUnit of its first directory (TIFF 6.0, Adobe 1992, section 8).
pub(super) fn of_tiff(bytes: &[u8]) -> Option<Resolution> {
    let little_first = match bytes.get(..4)? {
        b"II*\0" => true,
        b"MM\0*" => false,
        _ => return None,
    };
    let word = |at: usize| if little_first { little(bytes, at) } else { big(bytes, at) };
    let short = |at: usize| {
        let pair: [u8; 2] = bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if little_first { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    };
    let directory = word(4)? as usize;
    let entries = usize::from(short(directory)?);
    let entry = |tag: u16| (0..entries).map(|at| directory + 2 + 12 * at).find(|at| short(*at) == Some(tag));
    let ratio = |tag: u16| {
        let at = word(entry(tag)? + 8)? as usize;
        let (over, under) = (f64::from(word(at)?), f64::from(word(at.checked_add(4)?)?));
        (over > 0.0 && under > 0.0).then_some(over / under)
    };
    // Inches where it does not say.
    let length = match entry(296).and_then(|at| short(at + 8)) {
        None | Some(2) => INCH,
        Some(3) => 10.0,
        Some(_) => return None,
    };
    let size = Vec2::new(length / ratio(282)?, length / ratio(283)?);
    (SENSIBLE.contains(&size.x) && SENSIBLE.contains(&size.y)).then_some(size)
}

/// What the markers of a JPEG say.
pub(super) struct JpegHead {
    pub(super) resolution: Option<Resolution>,
    /// Whether an end of image follows the pixels.
    pub(super) is_whole: bool,
    /// The mean step by which luma is rounded, of its first table; 0 where there is none.
    pub(super) step: f64,
}

/// Walks the markers up to the pixels.
pub(super) fn of_jpeg(bytes: &[u8]) -> JpegHead {
    let mut head = JpegHead { resolution: None, is_whole: false, step: 0.0 };
    let mut at = 2;
    while let (Some(0xff), Some(marker), Some(length)) = (bytes.get(at), bytes.get(at + 1), big16(bytes, at + 2)) {
        match marker {
            // Markers may be preceded by any number of fill bytes (ITU-T T.81, B.1.1.2).
            0xff => {
                at += 1;
                continue;
            }
            0xe0 if bytes.get(at + 4..at + 9) == Some(b"JFIF\0") => head.resolution = density(bytes, at + 11),
            // Quantisation: the precision and number of a table, then its 64 steps (ITU-T T.81, B.2.4.1).
            0xdb if bytes.get(at + 4) == Some(&0) => {
                let steps = bytes.get(at + 5..at + 69).unwrap_or_default();
                head.step = steps.iter().map(|step| f64::from(*step)).sum::<f64>() / 64.0;
            }
            // Pixels escape the byte 0xff, so that an end of image among them is one.
            0xda => {
                let rest = bytes.get(at..).unwrap_or_default();
                head.is_whole = rest.windows(2).rev().any(|pair| pair == [0xff, 0xd9]);
                break;
            }
            _ => {}
        }
        at += 2 + usize::from(length);
    }
    head
}

fn density(bytes: &[u8], at: usize) -> Option<Resolution> {
    let (across, down) = (u32::from(big16(bytes, at + 1)?), u32::from(big16(bytes, at + 3)?));
    match bytes.get(at)? {
        1 => per(INCH, across, down),
        2 => per(10.0, across, down),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bmp_and_a_jfif_state_their_pixels() {
        // 11811 px/m is 299.9994 to the inch.
        let mut bmp = vec![0; 54];
        bmp[14] = 40;
        bmp[38..42].copy_from_slice(&11_811u32.to_le_bytes());
        bmp[42..46].copy_from_slice(&11_811u32.to_le_bytes());
        assert!((of_bmp(&bmp).unwrap().x - 25.4 / 300.0).abs() < 1e-6);
        let jfif =
            |unit: u8| [b"\xff\xd8\xff\xe0\0\x10JFIF\0\x01\x02".as_slice(), &[unit, 0, 100, 0, 50, 0, 0]].concat();
        assert_eq!(of_jpeg(&jfif(1)).resolution, Some(Vec2::new(0.254, 0.508)));
        assert_eq!(of_jpeg(&jfif(2)).resolution, Some(Vec2::new(0.1, 0.2)));
        assert_eq!(of_jpeg(&jfif(0)).resolution, None);
    }

    #[test]
    fn files_that_stop_anywhere_state_nothing() {
        let png = b"\x89PNG\r\n\x1a\n\0\0\0\x09pHYs\0\0\x0b\x13\0\0\x0b\x13\x01";
        assert_eq!(of_png(png), Some(Vec2::new(1000.0 / 2835.0, 1000.0 / 2835.0)));
        for end in 0..png.len() {
            assert_eq!(of_png(&png[..end]), None);
        }
        assert_eq!(of_png(b"\x89PNG\r\n\x1a\n\xff\xff\xff\xffabcd"), None);
    }
}
