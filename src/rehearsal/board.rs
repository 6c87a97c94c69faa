//! What a board's operations are by themselves: in an order that can be worked, on the board, each part freed once.

use kurbo::Affine;

use super::laid;
use super::list::{Board, Design, Edge, Into, Lie, Operation, Part, Turned, TurnedPart, Wait, Waste, Work};
use super::raster::{filled, scale_for};
use super::remark::{Kind, Remarks, mm};

/// How far two places or bearings of a list may lie apart and be the same: it is written to three decimals.
const SAME_MM: f64 = 0.005;
const SAME_DEGREES: f64 = 0.01;

/// Everything that can be told of a board without burning it.
pub(super) fn look_over(board: &Board, number: usize, designs: &[Design], remarks: &mut Remarks) {
    for (at, setup) in board.setups.iter().enumerate() {
        let place = format!("board {number}, setup {}", at + 1);
        for operation in &setup.operations {
            look_at(board, at, operation, &place, remarks);
        }
        order(&setup.operations, &place, remarks);
        laid::look_over(board, &setup.operations, &place, remarks);
        turned(board, at, &place, remarks);
    }
    for part in &board.parts {
        freed(board, part, remarks);
        waits(board, part, remarks);
        if let Some(design) = designs.get(part.design) {
            meant(board, part, design, remarks);
        }
    }
}

/// The operations done to a part, with their setup.
pub(super) fn operations_of<'b>(board: &'b Board, part: &'b Part) -> impl Iterator<Item = (usize, &'b Operation)> {
    let setups = board.setups.iter().enumerate();
    let all = setups.flat_map(|(at, setup)| setup.operations.iter().map(move |operation| (at, operation)));
    all.filter(|(_, operation)| operation.part.as_deref() == Some(part.name.as_str()))
}

/// What one operation is called in a sentence.
pub(super) fn called(operation: &Operation) -> String {
    let work = match &operation.work {
        Work::Engrave { .. } => "engraving",
        Work::Score { .. } => "scored line",
        Work::Pocket { .. } => "pocket",
        Work::Cut { edge: Edge::Outline, .. } => "outline",
        Work::Cut { edge: Edge::Opening, .. } => "opening",
        Work::Cut { edge: Edge::Holder, .. } => "holder",
        Work::Pause {} => "pause",
    };
    match (&operation.name, &operation.part) {
        (Some(name), Some(part)) => format!("the {work} `{name}` of `{part}`"),
        (None, Some(part)) => format!("the {work} of `{part}`"),
        (Some(name), None) => format!("the {work} `{name}`"),
        (None, None) => format!("the {work}"),
    }
}

fn look_at(board: &Board, setup: usize, operation: &Operation, place: &str, remarks: &mut Remarks) {
    if matches!(operation.work, Work::Pause {}) {
        return;
    }
    let what = called(operation);
    if !operation.path.whole {
        remarks.push(Kind::Path, place, format!("{what} holds what is no path"));
    }
    if !operation.path.closed && !matches!(operation.work, Work::Score { .. }) {
        remarks.push(Kind::Path, place, format!("{what} stands open: nothing falls out, and nothing can be filled"));
    }
    let beam = if matches!(operation.work, Work::Cut { .. }) { board.kerf / 2.0 } else { 0.0 };
    if let Some(reach) = operation.path.bounds().map(|bounds| bounds.inflate(beam, beam)) {
        let over = [-reach.x0, -reach.y0, reach.x1 - board.width, reach.y1 - board.height];
        let over = over.into_iter().fold(0.0, f64::max);
        if over > SAME_MM {
            remarks.push(Kind::OffBoard, place, format!("{what} runs {} over the edge of the board", mm(over)));
        }
    }
    if let Work::Cut { edge, waste, kerf_offset } = &operation.work {
        let wanted = if *edge == Edge::Outline { Waste::Outside } else { Waste::Inside };
        if *waste != wanted {
            remarks.push(Kind::Edge, place, format!("{what} has its waste on the side of the part"));
        }
        if (kerf_offset - board.kerf / 2.0).abs() > SAME_MM {
            let half = mm(board.kerf / 2.0);
            remarks.push(
                Kind::Edge,
                place,
                format!("{what} stands {} off its edge, and half the kerf is {half}", mm(*kerf_offset)),
            );
        }
    }
    let Some(part) = operation.part.as_deref() else { return };
    let Some(known) = board.parts.iter().find(|it| it.name == part) else {
        return remarks.push(Kind::Count, place, format!("{what} is work on a part that does not lie on this board"));
    };
    let up = known.lies.get(setup).map(|lie| lie.up);
    if operation.face.is_some() && operation.face != up {
        let told = operation.face.map_or("", super::list::Face::name);
        let up = up.map_or("nothing", super::list::Face::name);
        remarks.push(Kind::Face, place, format!("{what} is told to be on the {told}, while the {up} looks up"));
    }
}

/// What is done to a part once it is free, and what is engraved or sunk after cuts have begun on it.
fn order(operations: &[Operation], place: &str, remarks: &mut Remarks) {
    let is_outline = |it: &Operation| matches!(it.work, Work::Cut { edge: Edge::Outline, .. });
    for (at, outline) in operations.iter().enumerate().filter(|(_, it)| is_outline(it)) {
        let late = operations.iter().skip(at + 1).find(|it| it.part.is_some() && it.part == outline.part);
        if let Some(late) = late.filter(|it| !matches!(it.work, Work::Cut { edge: Edge::Holder, .. })) {
            remarks.push(Kind::Order, place, format!("{} is done after the part was cut free", called(late)));
        }
    }
}

/// Work that is done before work of the same part that it waits for.
fn waits(board: &Board, part: &Part, remarks: &mut Remarks) {
    let all: Vec<&Operation> = operations_of(board, part).map(|(_, operation)| operation).collect();
    for (at, waiting) in all.iter().enumerate() {
        let later = || all.iter().skip(at + 1);
        for after in waiting.after.iter().filter(|after| later().any(|it| it.name.as_ref() == Some(after))) {
            let says = format!("{} is done before `{after}`, which it waits for", called(waiting));
            remarks.push(Kind::Order, &part.name, says);
        }
    }
}

/// Whether every part lies after a setup's turning as that turning leaves it.
fn turned(board: &Board, setup: usize, place: &str, remarks: &mut Remarks) {
    let how = board.setups.get(setup).map(|it| &it.turned);
    let before = |part: &Part| setup.checked_sub(1).and_then(|before| part.lies.get(before)).copied();
    if setup == 0 {
        if !matches!(how, Some(Turned::AsLaid)) {
            remarks.push(Kind::TurnedOver, place, "the first setup begins with something turned over");
        }
        return;
    }
    for part in &board.parts {
        let (Some(was), Some(is)) = (before(part), part.lies.get(setup).copied()) else {
            remarks.push(Kind::TurnedOver, place, format!("how `{}` lies is not told", part.name));
            continue;
        };
        let wanted = match how {
            Some(Turned::BoardOver) => Affine::new([-1.0, 0.0, 0.0, 1.0, board.width, 0.0]) * was.at(),
            Some(Turned::PartsOver { parts }) => match parts.iter().find(|it| it.part == part.name) {
                Some(over) => {
                    part_over(board, (part, setup), over, (was, is), place, remarks);
                    continue;
                }
                None => was.at(),
            },
            _ => was.at(),
        };
        if !same(wanted, is.at()) {
            remarks.push(
                Kind::TurnedOver,
                place,
                format!("`{}` does not lie where the turning before this setup leaves it", part.name),
            );
        }
    }
    if let Some(Turned::PartsOver { parts }) = how {
        for over in parts.iter().filter(|it| !board.parts.iter().any(|part| part.name == it.part)) {
            remarks.push(Kind::Count, place, format!("`{}` is turned over, but does not lie on this board", over.part));
        }
    }
}

/// A part that was lifted out, turned about a line and laid back: it must come to lie in what is open for it.
fn part_over(
    board: &Board,
    (part, setup): (&Part, usize),
    over: &TurnedPart,
    (was, is): (Lie, Lie),
    place: &str,
    remarks: &mut Remarks,
) {
    if was.up == is.up {
        return remarks.push(
            Kind::TurnedOver,
            place,
            format!("`{}` is turned over and shows the same face", part.name),
        );
    }
    // A reflection about a line at this bearing: twice the bearing, whatever line of that bearing it is.
    let moved = (is.at() * was.at().inverse()).as_coeffs();
    let twice = (2.0 * over.about).to_radians();
    let wanted = [-twice.cos(), twice.sin(), twice.sin(), twice.cos()];
    if moved.iter().zip(wanted).any(|(is, wanted)| (is - wanted).abs() > SAME_DEGREES.to_radians() * 2.0) {
        let says = format!("`{}` does not lie as it would once turned about the line at {}deg", part.name, over.about);
        return remarks.push(Kind::TurnedOver, place, says);
    }
    let cut = |wanted: Edge| {
        let is_wanted = |work: &Work| matches!(work, Work::Cut { edge, .. } if *edge == wanted);
        operations_of(board, part).find(|(at, it)| *at < setup && is_wanted(&it.work))
    };
    let open = match over.into {
        Into::OwnOpening => cut(Edge::Outline),
        Into::Holder => cut(Edge::Holder),
    };
    let (Some((_, outline)), Some((_, open))) = (cut(Edge::Outline), open) else {
        return remarks.push(
            Kind::TurnedOver,
            place,
            format!("there is no opening for `{}` to be laid into", part.name),
        );
    };
    let size = outline.path.bounds().unwrap_or_default().size().max_side();
    let scale = scale_for(size);
    let own = filled(&outline.path.path, was.at().inverse(), scale);
    let into = filled(&open.path.path, is.at().inverse(), scale);
    let (Some(own), Some(into)) = (own, into) else { return };
    #[allow(clippy::cast_possible_truncation, reason = "a few pixels")]
    let slack = ((board.kerf * scale).ceil() as i32).clamp(1, 8);
    if own.differs(&into, slack, scale).is_some() {
        let says = format!("`{}` does not lie in the opening that it is laid into", part.name);
        remarks.push(Kind::TurnedOver, place, says);
    }
}

fn same(a: Affine, b: Affine) -> bool {
    let (a, b) = (a.as_coeffs(), b.as_coeffs());
    let near =
        |at: usize, within: f64| a.get(at).zip(b.get(at)).is_some_and(|(a, b): (&f64, &f64)| (a - b).abs() <= within);
    (0..4).all(|at| near(at, SAME_DEGREES.to_radians())) && (4..6).all(|at| near(at, SAME_MM))
}

/// Whether a part is cut free, once.
fn freed(board: &Board, part: &Part, remarks: &mut Remarks) {
    let outlines =
        operations_of(board, part).filter(|(_, it)| matches!(it.work, Work::Cut { edge: Edge::Outline, .. }));
    match outlines.count() {
        1 => {}
        0 => remarks.push(Kind::NotFreed, &part.name, "its outline is never cut"),
        count => remarks.push(Kind::NotFreed, &part.name, format!("its outline is cut {count} times")),
    }
}

/// The layer that a part is: its board is as thick as was meant, and work that was to wait for other work comes after it.
fn meant(board: &Board, part: &Part, design: &Design, remarks: &mut Remarks) {
    let Some(layer) = design.layers.iter().find(|it| it.layer == part.layer) else {
        return remarks.push(Kind::Count, &part.name, format!("the stack has no layer `{}`", part.layer));
    };
    if (layer.thickness - board.thickness).abs() > SAME_MM {
        let says = format!("it is cut from a board of {}, and {} was meant", mm(board.thickness), mm(layer.thickness));
        remarks.push(Kind::Floor, &part.name, says);
    }
    let waits =
        |wait: &Wait| operations_of(board, part).any(|(_, it)| it.name == wait.work && it.after.contains(&wait.after));
    for wait in layer.waits.iter().filter(|wait| !waits(wait)) {
        let work = wait.work.as_deref().map_or_else(|| "work without a name".to_owned(), |name| format!("`{name}`"));
        let says = format!("{work} was to wait for `{}`, and no work is told to", wait.after);
        remarks.push(Kind::Order, &part.name, says);
    }
}
