//! What was measured, as blocks of a shop file.

use super::Workshop;
use super::measure::{Bracket, Figure, MagnetMeasurement, Measurement};
use crate::format::tidied;
use crate::units::{Length, plain};

/// The blocks of the stock and its magnets, in the one layout, each figure with its 95 % interval as a comment. Fields that
/// are not measured are carried over from the blocks of the same names in `shop`, where one is given.
pub fn block(measured: &Measurement, shop: Option<&Workshop>) -> String {
    let mut text = format!(
        "// Measured on cards of `dialwright coupon`, {} readings; the intervals hold 95 % (Student's t).\n",
        measured.readings
    );
    text.push_str(&written("stock", &measured.stock, stock(measured), shop));
    for (name, magnet) in &measured.magnets {
        text.push('\n');
        text.push_str(&written("magnet", name, magnet_fields(magnet), shop));
    }
    tidied("measured.dial", &text).unwrap_or(text)
}

/// A field: its word, its value, what is said beside it.
pub(crate) type Field = (&'static str, String, String);

/// A block with these fields, and with the others of the same block of a shop.
pub(crate) fn written(kind: &str, name: &str, lines: Vec<Field>, shop: Option<&Workshop>) -> String {
    let mut text = format!("{kind} {name} {{\n");
    for (word, value, note) in &lines {
        let note = if note.is_empty() { String::new() } else { format!("  // {note}") };
        text.push_str(&format!("  {word} {value}{note}\n"));
    }
    let known = |word: &str| lines.iter().any(|(own, ..)| *own == word);
    let former = shop.and_then(|shop| {
        let block = shop.blocks.iter().find(|block| block.kind.text == kind && block.name.text == name)?;
        Some((shop, block))
    });
    if let Some((shop, block)) = former {
        for field in block.fields.iter().filter(|field| !known(&field.name.text)) {
            text.push_str(&format!("  {}\n", shop.sources.text(field.span)));
        }
    }
    text.push_str("}\n");
    text
}

fn stock(measured: &Measurement) -> Vec<Field> {
    let mut lines: Vec<Field> = Vec::new();
    lines.extend(
        measured.material.as_ref().map(|material| ("material", format!("\"{}\"", escaped(material)), String::new())),
    );
    // Readings are written, not what follows from them: `passes [[…], […]]` and `kerf [(… - …) / 11, …]` are worked
    // out when the shop is read, so that nothing is rounded on the way there and back, and a maker sees what was
    // measured.
    lines.push(("thickness", listed(&measured.thickness.written), interval(&measured.thickness)));
    lines.push(("board", format!("{} by {}", measured.board.0, measured.board.1), String::new()));
    lines.extend(measured.kerf.as_ref().map(|kerf| ("kerf", listed(&kerf.written), interval(kerf))));
    let (depths, readings) = &measured.passes;
    if !depths.is_empty() {
        let by_pass: Vec<String> = readings.iter().map(|of_pass| listed(of_pass)).collect();
        lines.push(("passes", listed(&by_pass), depth_line(measured)));
    }
    let fine = measured.least_feature.as_ref();
    lines.extend(fine.map(|fine| ("least_feature", fine.most.to_string(), between(fine))));
    let (bare, burnt) = &measured.colours;
    let colours = [("colour", bare), ("engraved", burnt)];
    lines.extend(colours.into_iter().filter_map(|(word, colour)| Some((word, colour.clone()?, String::new()))));
    lines
}

fn magnet_fields(magnet: &MagnetMeasurement) -> Vec<Field> {
    let mut lines: Vec<Field> = Vec::new();
    let figures = [("diameter", &magnet.diameter), ("height", &magnet.height)];
    lines.extend(figures.into_iter().filter_map(|(word, figure)| {
        let figure = figure.as_ref()?;
        Some((word, listed(&figure.written), interval(figure)))
    }));
    let stated = magnet.remanence.as_ref();
    lines.extend(stated.map(|remanence| ("remanence", remanence.clone(), "as stated, not measured".to_owned())));
    let clearance = magnet.clearance.as_ref();
    lines.extend(clearance.map(|found| ("clearance", found.most.to_string(), between(found))));
    lines
}

fn listed(written: &[String]) -> String {
    format!("[{}]", written.join(", "))
}

/// As it stands between quotes: a cell may hold several lines, and a text of the language is one.
fn escaped(text: &str) -> String {
    let sign = |letter: char| match letter {
        '\\' | '"' => format!("\\{letter}"),
        '\n' => "\\n".to_owned(),
        _ if letter.is_control() => format!("\\u{{{:x}}}", u32::from(letter)),
        _ => letter.to_string(),
    };
    text.chars().map(sign).collect()
}

/// `2.953mm ± 0.016mm`, to the µm.
pub(super) fn interval(figure: &Figure) -> String {
    let mean = Length::mm(figure.mean.mean);
    match figure.mean.half_width() {
        Some(half) => format!("{mean} ± {}", Length::mm(half)),
        None => format!("{mean}, read once: no interval"),
    }
}

/// `above 0.3mm, 0.35mm at most`.
pub(super) fn between(found: &Bracket) -> String {
    format!("above {}, {} at most: between two steps of the card", found.above, found.most)
}

/// `each pass 0.414mm ± 0.022mm deeper, the first from 0.02mm ± 0.061mm`.
pub(super) fn depth_line(measured: &Measurement) -> String {
    match measured.passes.0.line() {
        Some(line) => format!(
            "each pass {}mm ± {}mm, from {}mm ± {}mm on",
            plain(line.slope, 4),
            plain(line.slope_half_width(), 4),
            plain(line.intercept, 4),
            plain(line.intercept_half_width(), 4)
        ),
        None => "each by its own mean: no interval".to_owned(),
    }
}
