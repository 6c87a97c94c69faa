//! Lettering of single strokes, for a line that is scored rather than an area that is burnt.
//!
//! Set as filled lettering is: capitals as high as asked, centred about the origin, in lines or along an arc.

use kurbo::{Affine, BezPath, Rect, Shape};
use unicode_normalization::UnicodeNormalization;

use super::arc::{bent, placing, positive_radius};
use super::setting::{Letter, LetterLine, UNDERLINE, UNDERLINE_GAP, block, settled};
use super::strokes::{ACCENTS, CAP_HEIGHT, LETTERS};
use super::{Arc, LetteringError, Setting};
use crate::limits::SEGMENTS;

/// What messages call this lettering.
pub const NAME: &str = "single stroke";

/// Room between neighbouring letters, and the width of a space, in sixths of the cap height.
const BETWEEN: f64 = 1.7;
const SPACE: f64 = 2.6;

/// A text of one or more lines as open lines in mm, set about the origin as [`super::Typeface::set`] says.
///
/// # Errors
/// As [`super::Typeface::set`].
// A function of the language and no typeface: what it gives is a trace, where a typeface gives regions.
pub fn set(text: &str, setting: &Setting) -> Result<BezPath, LetteringError> {
    setting.checked(text)?;
    // Its line is a stroke like the letters, where that of a typeface is an area.
    let mut path = block(&lines(text, setting)?, &Setting { underlined: false, ..*setting });
    if path.is_empty() {
        return Err(LetteringError::Blank);
    }
    let letters = path.bounding_box();
    if setting.underlined {
        // Where the middle of the line under filled letters runs.
        let below = letters.y0 - (UNDERLINE_GAP + UNDERLINE / 2.0) * setting.height_mm;
        path.move_to((letters.x0, below));
        path.line_to((letters.x1, below));
    }
    Ok(settled(text, setting, letters).0 * path)
}

/// A text as open lines in mm, letter by letter along an arc as [`super::Typeface::along_arc`] says.
///
/// # Errors
/// As [`super::Typeface::along_arc`].
pub fn along_arc(text: &str, setting: &Setting, arc: &Arc) -> Result<BezPath, LetteringError> {
    setting.checked(text)?;
    positive_radius(arc.radius_mm)?;
    if !arc.facing.bends() {
        return Ok(placing(arc.radius_mm, arc.bearing, arc.facing) * set(text, setting)?);
    }
    if setting.underlined {
        return Err(LetteringError::BentUnderline);
    }
    let path = bent(setting, arc, |setting| lines(text, setting))?;
    if path.is_empty() { Err(LetteringError::Blank) } else { Ok(path) }
}

fn lines(text: &str, setting: &Setting) -> Result<Vec<LetterLine>, LetteringError> {
    let mut missing = Vec::new();
    let lines: Vec<LetterLine> = text.split('\n').map(|line| written(line, setting, &mut missing)).collect();
    let segments: usize = lines.iter().flat_map(|line| &line.letters).map(|letter| letter.path.elements().len()).sum();
    match (missing.is_empty(), segments > SEGMENTS) {
        (false, _) => Err(LetteringError::MissingCharacters { characters: missing, typeface: NAME.to_owned() }),
        (true, true) => Err(LetteringError::TooMuch),
        (true, false) => Ok(lines),
    }
}

/// One line from x = 0, its baseline at y = 0. What cannot be drawn is added to `missing`, once each.
fn written(text: &str, setting: &Setting, missing: &mut Vec<char>) -> LetterLine {
    let scale = setting.height_mm / CAP_HEIGHT;
    let mut letters: Vec<Letter> = Vec::new();
    let mut pen = 0.0;
    for character in text.nfd() {
        let accent = drawn(ACCENTS, character);
        match (accent, letters.last_mut().filter(|letter| !letter.path.is_empty())) {
            (Some(accent), Some(letter)) => {
                let room = letter.path.bounding_box();
                letter.path.extend(Affine::translate((room.center().x, room.y1)) * Affine::scale(scale) * accent);
            }
            _ => {
                let path = drawn(LETTERS, character).unwrap_or_default();
                if path.is_empty() && !character.is_whitespace() && !missing.contains(&character) {
                    missing.push(character);
                }
                let room =
                    if path.is_empty() { Rect::new(0.0, 0.0, SPACE - BETWEEN, 0.0) } else { path.bounding_box() };
                let map = Affine::translate((pen - room.x0 * scale, 0.0)) * Affine::scale(scale);
                let to = pen + room.width() * scale;
                letters.push(Letter { path: map * path, from: pen, to });
                pen = to + BETWEEN * scale + setting.tracking_mm;
            }
        }
    }
    let boxes = letters.iter().filter(|letter| !letter.path.is_empty()).map(|letter| letter.path.bounding_box());
    let ink = boxes.reduce(|all, one| all.union(one));
    LetterLine { letters, ink, begins_right: false }
}

fn drawn(table: &[(char, &str)], character: char) -> Option<BezPath> {
    let (_, data) = table.iter().find(|(known, _)| *known == character)?;
    BezPath::from_svg(data).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_can_be_drawn_and_stands_between_its_lines() {
        for (character, data) in LETTERS.iter().chain(ACCENTS) {
            let room = BezPath::from_svg(data).unwrap().bounding_box();
            assert!(room.y0 >= -2.05 && room.y1 <= 6.65 && room.width() <= 6.05, "{character} {room:?}");
        }
        let capitals =
            LETTERS.iter().filter(|(character, _)| character.is_ascii_uppercase() || character.is_ascii_digit());
        for (character, data) in capitals {
            let room = BezPath::from_svg(data).unwrap().bounding_box();
            assert!((room.y1 - CAP_HEIGHT).abs() < 0.05, "{character} {room:?}");
        }
    }

    /// ISO 3098, type B (from memory), in tenths of the capitals' height: small letters 7, tails 3, a line 1 wide, 2 between
    /// letters and 6 between words, both measured from the edges of lines. Ours keep them to half a tenth.
    #[test]
    fn proportions_are_near_those_of_iso_3098() {
        let near = |tenths: f64, wanted: f64, what: char| assert!((tenths - wanted).abs() < 0.5, "{what} {tenths}");
        let room = |wanted: char| drawn(LETTERS, wanted).unwrap().bounding_box();
        let tenth = CAP_HEIGHT / 10.0;
        for small in "acemnorsuvwxz".chars() {
            near(room(small).y1 / tenth, 7.0, small);
        }
        for tailed in "gjpqy".chars() {
            near(-room(tailed).y0 / tenth, 3.0, tailed);
        }
        near(BETWEEN / tenth - 1.0, 2.0, '-');
        near((SPACE + BETWEEN) / tenth - 1.0, 6.0, ' ');
    }

    /// The line under a label stands below its lowest point and is as wide as it is, whatever the height; none along a circle.
    #[test]
    fn a_line_stands_under_single_strokes() {
        for (text, height) in [("6", 1.0), ("69", 4.0), ("g", 3.0)] {
            let plain = Setting::of_height(height);
            let [bare, lined] = [false, true].map(|underlined| set(text, &Setting { underlined, ..plain }).unwrap());
            let (bare, lined) = (bare.bounding_box(), lined.bounding_box());
            assert!((lined.y1 - bare.y1).abs() < 1e-9 && (lined.width() - bare.width()).abs() < 1e-9, "{text}");
            assert!((bare.y0 - lined.y0 - 0.22 * height).abs() < 1e-9, "{text}: {bare:?} {lined:?}");
            let arc =
                Arc { radius_mm: 20.0, bearing: crate::units::Angle::ZERO, facing: super::super::Facing::Outward };
            let bent = along_arc(text, &Setting { underlined: true, ..plain }, &arc);
            assert!(matches!(bent, Err(LetteringError::BentUnderline)));
        }
    }

    #[test]
    fn no_character_is_drawn_twice() {
        let mut seen: Vec<char> = LETTERS.iter().map(|(character, _)| *character).collect();
        let all = seen.len();
        seen.sort_unstable();
        seen.dedup();
        assert_eq!(seen.len(), all);
    }
}
