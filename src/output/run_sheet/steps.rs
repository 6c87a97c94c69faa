//! The operations of a setup as lines that a person can follow: like work on like parts is one line. Parts are called by their
//! numbers on the picture of the board.

use crate::design::{Palette, Tone};
use crate::plan::{Board, CutEdge, Operation, OperationKind, PlacedPart, Setup, Turned};
use crate::units::{Length, plain};

/// One line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Step {
    /// What is done, in a word or two.
    pub(super) verb: &'static str,
    /// The numbers of the parts that it is done to; empty where it concerns the board.
    pub(super) parts: String,
    /// What of them, and its measures.
    pub(super) what: String,
    /// The colour that it has in the file, and whether it is a filled area there; none where a person acts.
    pub(super) colour: Option<(Tone, bool)>,
}

/// What groups operations into one line.
#[derive(PartialEq)]
struct Key<'a> {
    verb: &'static str,
    layer: &'a str,
    name: Option<&'a str>,
    depth: Option<Length>,
}

/// The parts of a board in the order of their numbers, which count from 1: layer by layer, dial by dial.
pub(super) fn numbered(board: &Board) -> Vec<&PlacedPart> {
    let mut kinds: Vec<(usize, &str)> = Vec::new();
    for part in &board.parts {
        let kind = (part.design, part.layer.as_str());
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let of = |kind: &(usize, &str), part: &&PlacedPart| (part.design, part.layer.as_str()) == *kind;
    let each = kinds.iter().flat_map(|kind| {
        let mut parts: Vec<&PlacedPart> = board.parts.iter().filter(|part| of(kind, part)).collect();
        parts.sort_by_key(|part| part.dial);
        parts
    });
    each.collect()
}

/// `1–8, 10`: numbers in a row drawn together.
pub(super) fn ranges(numbers: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *number => *last = *number,
            _ => runs.push((*number, *number)),
        }
    }
    let said = runs.iter().map(|(first, last)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}–{last}"),
    });
    said.collect::<Vec<String>>().join(", ")
}

/// The numbers of the parts that this is true of.
fn numbers_of(board: &Board, is: impl Fn(&PlacedPart) -> bool) -> String {
    let parts = numbered(board);
    let which = parts.iter().enumerate().filter(|(_, part)| is(part)).map(|(at, _)| at + 1);
    ranges(&which.collect::<Vec<usize>>())
}

/// What is done in a setup, the turning over after it included.
pub(super) fn steps(board: &Board, setup: &Setup, next: Option<&Turned>, palette: &Palette) -> Vec<Step> {
    let mut groups: Vec<(Key, Vec<&Operation>)> = Vec::new();
    for operation in &setup.operations {
        let key = key(board, operation);
        // Two pauses are two stops of the machine, even where they say the same.
        match groups.iter_mut().find(|(known, _)| *known == key && operation.instruction().is_none()) {
            Some((_, group)) => group.push(operation),
            None => groups.push((key, vec![operation])),
        }
    }
    groups.iter().map(|(key, group)| step(board, key, group, next, palette)).collect()
}

fn key<'a>(board: &'a Board, operation: &'a Operation) -> Key<'a> {
    let part = board.parts.iter().find(|part| operation.part.as_ref() == Some(&part.name));
    let (verb, depth) = match &operation.kind {
        OperationKind::Engrave { depth, .. } => ("Engrave", *depth),
        OperationKind::Score { .. } => ("Score", None),
        OperationKind::Pocket { depth, .. } => ("Pocket", Some(depth.made())),
        OperationKind::Cut { edge: CutEdge::Outline, .. } => ("Cut out", None),
        OperationKind::Cut { edge: CutEdge::Opening, .. } => ("Cut openings", None),
        OperationKind::Cut { edge: CutEdge::Holder, .. } => ("Cut holders", None),
        OperationKind::Pause { .. } => ("By hand", None),
    };
    Key { verb, layer: part.map_or("", |part| &part.layer), name: operation.name.as_deref(), depth }
}

fn step(board: &Board, key: &Key, group: &[&Operation], next: Option<&Turned>, palette: &Palette) -> Step {
    if let Some(instruction) = group.first().and_then(|operation| operation.instruction()) {
        return by_hand(board, instruction, next);
    }
    let parts = numbers_of(board, |part| group.iter().any(|operation| operation.part.as_ref() == Some(&part.name)));
    let layer = format!("`{}`", key.layer);
    let on = match (key.verb, key.name) {
        ("Cut out", _) | (_, None) => layer,
        ("Cut holders", _) => format!("for {layer}"),
        (_, Some(name)) => format!("`{name}` on {layer}"),
    };
    let colour = group.first().and_then(|operation| colour(operation, palette));
    Step { verb: key.verb, parts, what: format!("{on}: {}", figures(group)), colour }
}

/// What a person does between two runs of the machine. What turns parts over is told by the numbers of the parts as well.
fn by_hand(board: &Board, instruction: &str, next: Option<&Turned>) -> Step {
    let (verb, parts) = match next {
        Some(Turned::PartsOver(over)) if instruction.starts_with("Lift out") => {
            ("Turn over", numbers_of(board, |part| over.iter().any(|it| it.part == part.name)))
        }
        Some(Turned::BoardOver) if instruction.starts_with("Turn the whole board") => {
            ("Turn over", "the board".to_owned())
        }
        _ => ("By hand", String::new()),
    };
    Step { verb, parts, what: instruction.to_owned(), colour: None }
}

/// The colour of an operation in the file.
fn colour(operation: &Operation, palette: &Palette) -> Option<(Tone, bool)> {
    Some(match &operation.kind {
        OperationKind::Engrave { .. } => (palette.engrave, true),
        OperationKind::Score { .. } => (palette.score, false),
        OperationKind::Pocket { .. } => (palette.pocket, true),
        OperationKind::Cut { edge: CutEdge::Opening, .. } => (palette.cut_opening, false),
        OperationKind::Cut { .. } => (palette.cut_outline, false),
        OperationKind::Pause { .. } => return None,
    })
}

fn figures(group: &[&Operation]) -> String {
    let total = |of: fn(&Operation) -> f64| group.iter().map(|operation| of(operation)).sum::<f64>();
    let cut = total(|operation| operation.cut_length().as_mm());
    let scored = total(|operation| operation.score_length().as_mm());
    let area = total(Operation::engraved_area);
    let tenth = |length: Length| format!("{} mm", plain(length.as_mm(), 1));
    match group.first().map(|operation| &operation.kind) {
        Some(OperationKind::Pocket { depth, floor, .. }) => {
            let passes = depth.passes().map_or("passes not measured".to_owned(), |passes| passes.to_string());
            // How sure that depth is stands in the operation list.
            let passes = passes.split(',').next().unwrap_or_default();
            format!("{} deep, {passes}, {} left beneath", tenth(depth.made()), tenth(*floor))
        }
        Some(OperationKind::Engrave { tone, depth, .. }) => {
            let tone = if *tone < 1.0 { format!("tone {} %", plain(tone * 100.0, 0)) } else { "full tone".to_owned() };
            let depth = depth.map_or_else(String::new, |depth| format!(", {} deep", tenth(depth)));
            format!("{tone}{depth}, {} mm²", plain(area, 0))
        }
        Some(OperationKind::Score { .. }) => format!("{} mm", plain(scored, 0)),
        Some(OperationKind::Cut { kerf_offset, .. }) => {
            format!("{} mm, {} mm into the waste", plain(cut, 0), plain(kerf_offset.as_mm(), 2))
        }
        _ => String::new(),
    }
}

/// What people call a colour: that of the nearest of these.
pub(super) fn colour_name(colour: Tone) -> &'static str {
    const NAMES: [(&str, Tone); 16] = [
        ("black", [0x00, 0x00, 0x00]),
        ("grey", [0x80, 0x80, 0x80]),
        ("light grey", [0xc8, 0xc8, 0xc8]),
        ("white", [0xff, 0xff, 0xff]),
        ("red", [0xe0, 0x10, 0x10]),
        ("vermilion", [0xd5, 0x5e, 0x00]),
        ("orange", [0xe6, 0x9f, 0x00]),
        ("yellow", [0xf0, 0xe4, 0x42]),
        ("green", [0x00, 0x9e, 0x73]),
        ("light green", [0x40, 0xe0, 0x40]),
        ("turquoise", [0x00, 0xd0, 0xd0]),
        ("sky blue", [0x56, 0xb4, 0xe9]),
        ("blue", [0x00, 0x40, 0xc0]),
        ("violet", [0x80, 0x20, 0xc0]),
        ("pink", [0xcc, 0x79, 0xa7]),
        ("brown", [0x80, 0x50, 0x20]),
    ];
    let far =
        |other: &Tone| -> i32 { colour.iter().zip(other).map(|(a, b)| (i32::from(*a) - i32::from(*b)).pow(2)).sum() };
    NAMES.iter().min_by_key(|(_, other)| far(other)).map_or("black", |(name, _)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_a_row_are_drawn_together() {
        assert_eq!(ranges(&[]), "");
        assert_eq!(ranges(&[3]), "3");
        assert_eq!(ranges(&[1, 2, 4, 5, 6]), "1, 2, 4–6");
    }

    /// The usual colours are those of Okabe and Ito, who named them (Color Universal Design, 2008).
    #[test]
    fn the_usual_colours_have_their_names() {
        let palette = Palette::default();
        let named = [palette.engrave, palette.score, palette.pocket, palette.cut_opening, palette.cut_outline];
        assert_eq!(named.map(colour_name), ["sky blue", "green", "blue", "orange", "pink"]);
        assert_eq!([[0xff, 0, 0], [0, 0, 0xff]].map(colour_name), ["red", "blue"]);
    }
}
