//! Colours as written, `#rrggbb`, and as chosen.

use lsp_types::{Color, ColorInformation, ColorPresentation, Range, TextEdit};

use super::text::Lines;
use crate::syntax::{LexemeKind, lexemes};

/// Every colour of a text.
pub fn colours(lines: &Lines) -> Vec<ColorInformation> {
    let text = lines.text();
    let colour = |piece: crate::syntax::Lexeme| {
        let digits = piece.of(text).strip_prefix('#')?;
        let part = |at: usize| digits.get(at..at + 2).and_then(|pair| u8::from_str_radix(pair, 16).ok());
        let [red, green, blue] = [part(0)?, part(2)?, part(4)?].map(|byte| f32::from(byte) / 255.0);
        Some(ColorInformation { range: lines.range(piece.range()), color: Color { red, green, blue, alpha: 1.0 } })
    };
    lexemes(text).into_iter().filter(|piece| piece.kind == LexemeKind::Colour).filter_map(colour).collect()
}

/// How a chosen colour is written in the place of a range. The language knows no transparency.
pub fn presentation(colour: Color, range: Range) -> ColorPresentation {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
    let byte = |part: f32| (part.clamp(0.0, 1.0) * 255.0).round() as u8;
    let label = format!("#{:02x}{:02x}{:02x}", byte(colour.red), byte(colour.green), byte(colour.blue));
    ColorPresentation { text_edit: Some(TextEdit::new(range, label.clone())), label, additional_text_edits: None }
}
