//! The operations of a setup as lines that a person can follow: like work on like parts is one line.

use crate::plan::{Board, CutEdge, Operation, OperationKind, PlacedPart, Setup, part_names};
use crate::units::{Length, plain};

/// One line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Step {
    /// What the machine does, or the person.
    pub(super) what: String,
    /// The parts it is done to, neighbours drawn together; empty where it concerns the board.
    pub(super) parts: String,
    /// Depths, passes, lengths.
    pub(super) figures: String,
    /// Whether a person acts.
    pub(super) by_hand: bool,
}

/// What groups operations into one line.
#[derive(PartialEq)]
struct Key<'a> {
    kind: &'static str,
    layer: &'a str,
    name: Option<&'a str>,
    depth: Option<Length>,
}

pub(super) fn steps(board: &Board, setup: &Setup) -> Vec<Step> {
    let mut groups: Vec<(Key, Vec<&Operation>)> = Vec::new();
    for operation in &setup.operations {
        let key = key(board, operation);
        // Two pauses are two stops of the machine, even where they say the same.
        match groups.iter_mut().find(|(known, _)| *known == key && key.kind != "Pause") {
            Some((_, group)) => group.push(operation),
            None => groups.push((key, vec![operation])),
        }
    }
    groups.iter().map(|(key, group)| step(board, key, group)).collect()
}

fn key<'a>(board: &'a Board, operation: &'a Operation) -> Key<'a> {
    let part = board.parts.iter().find(|part| operation.part.as_ref() == Some(&part.name));
    let (kind, depth) = match &operation.kind {
        OperationKind::Engrave { depth, .. } => ("Engrave", *depth),
        OperationKind::Score { .. } => ("Score", None),
        OperationKind::Pocket { depth, .. } => ("Pocket", Some(depth.made())),
        OperationKind::Cut { edge: CutEdge::Outline, .. } => ("Cut out", None),
        OperationKind::Cut { edge: CutEdge::Opening, .. } => ("Cut openings", None),
        OperationKind::Cut { edge: CutEdge::Holder, .. } => ("Cut holders for", None),
        OperationKind::Pause { .. } => ("Pause", None),
    };
    Key { kind, layer: part.map_or("", |part| &part.layer), name: operation.name.as_deref(), depth }
}

fn step(board: &Board, key: &Key, group: &[&Operation]) -> Step {
    if let Some(instruction) = group.first().and_then(|operation| operation.instruction()) {
        return Step { what: instruction.to_owned(), parts: String::new(), figures: String::new(), by_hand: true };
    }
    let name = key.name.map_or_else(String::new, |name| format!(" `{name}`"));
    let done = |part: &&PlacedPart| group.iter().any(|operation| operation.part.as_ref() == Some(&part.name));
    let parts = part_names(board.parts.iter().filter(done));
    let on = match (key.kind, name.is_empty()) {
        ("Cut out" | "Cut holders for", _) | (_, true) => format!("{} `{}`", key.kind, key.layer),
        _ => format!("{}{name} on `{}`", key.kind, key.layer),
    };
    Step { what: on, parts, figures: figures(group), by_hand: false }
}

fn figures(group: &[&Operation]) -> String {
    let total = |of: fn(&Operation) -> f64| group.iter().map(|operation| of(operation)).sum::<f64>();
    let cut = total(|operation| operation.cut_length().as_mm());
    let scored = total(|operation| operation.score_length().as_mm());
    let area = total(Operation::engraved_area);
    match group.first().map(|operation| &operation.kind) {
        Some(OperationKind::Pocket { depth, floor, .. }) => {
            let passes = depth.passes().map_or("passes not measured".to_owned(), |passes| passes.to_string());
            format!("{} deep, {floor} left beneath, {passes}", depth.made())
        }
        Some(OperationKind::Engrave { tone, depth, .. }) => {
            let depth = depth.map_or_else(String::new, |depth| format!(", {depth} deep"));
            format!("{}mm² at tone {} %{depth}", plain(area, 0), plain(tone * 100.0, 0))
        }
        Some(OperationKind::Score { .. }) => format!("{} mm", plain(scored, 0)),
        Some(OperationKind::Cut { kerf_offset, .. }) => {
            format!("{} mm, path moved {kerf_offset} into the waste", plain(cut, 0))
        }
        _ => String::new(),
    }
}
