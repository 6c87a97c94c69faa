//! One drawing for each board and setup: SVG 1.1 in true millimetres, y down.
//!
//! One group for each kind of operation, with id, title and colour; inside, one named group for each part.
//! Colours are never the only sign. The board's edge stands in a group of its own and is not to be cut.

use std::collections::BTreeSet;

use ::svg::Document;
use ::svg::node::element::{Description, Group, Path};
use kurbo::{Affine, BezPath, Shape as _};

use super::drawing::titled;
use crate::design::{Palette, Tone, hex};
use crate::diagnostics::printable;
use crate::geometry::contours;
use crate::plan::{Board, CAUTIONS, CutEdge, Operation, OperationKind, PlacedPart, Plan, Printed, Turned, face_name};
use crate::units::{Length, plain};
use crate::vocabulary::choices::FilesWord;

/// Width of a stroke in pictures for paper, in mm of the paper.
const ON_PAPER: f64 = 0.15;

/// Kinds of group, in the order of the work.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Engrave,
    Score,
    Pocket,
    CutOpening,
    CutOutline,
}

const KINDS: [Kind; 5] = [Kind::Engrave, Kind::Score, Kind::Pocket, Kind::CutOpening, Kind::CutOutline];

impl Kind {
    /// The kind of an operation; none for a pause.
    fn of(operation: &Operation) -> Option<Kind> {
        match &operation.kind {
            OperationKind::Engrave { .. } => Some(Kind::Engrave),
            OperationKind::Score { .. } => Some(Kind::Score),
            OperationKind::Pocket { .. } => Some(Kind::Pocket),
            OperationKind::Cut { edge: CutEdge::Opening, .. } => Some(Kind::CutOpening),
            OperationKind::Cut { edge: CutEdge::Outline | CutEdge::Holder, .. } => Some(Kind::CutOutline),
            OperationKind::Pause { .. } => None,
        }
    }

    fn id(self) -> &'static str {
        match self {
            Kind::Engrave => "engrave",
            Kind::Score => "score",
            Kind::Pocket => "pocket",
            Kind::CutOpening => "cut-opening",
            Kind::CutOutline => "cut-outline",
        }
    }

    fn title(self) -> &'static str {
        match self {
            Kind::Engrave => "Engrave: burn the filled areas",
            Kind::Score => "Score: trace the lines, not through",
            Kind::Pocket => "Pocket: sink the filled areas",
            Kind::CutOpening => "Cut openings: through, before the outlines",
            Kind::CutOutline => "Cut outlines: through, last",
        }
    }

    fn colour(self, palette: &Palette) -> Tone {
        match self {
            Kind::Engrave => palette.engrave,
            Kind::Score => palette.score,
            Kind::Pocket => palette.pocket,
            Kind::CutOpening => palette.cut_opening,
            Kind::CutOutline => palette.cut_outline,
        }
    }

    fn is_filled(self) -> bool {
        matches!(self, Kind::Engrave | Kind::Pocket)
    }
}

/// The drawing of one setup; `board` and `setup` count from 0. Empty text where the plan has no such setup.
pub fn drawing(title: &str, plan: &Plan, board: usize, setup: usize, palette: &Palette) -> String {
    drawing_of(title, plan, (board, setup), palette, &KINDS)
}

/// The drawings of one setup, each with the end of its name: the whole, and where the shop wants that one for each kind of work.
pub fn drawings(title: &str, plan: &Plan, board: usize, setup: usize, palette: &Palette) -> Vec<(String, String)> {
    let whole = (String::new(), drawing(title, plan, board, setup, palette));
    let own = kinds_apart(plan, (board, setup), palette).into_iter();
    let own = own.map(|kind| (ending(kind), drawing_of(title, plan, (board, setup), palette, &[kind])));
    std::iter::once(whole).chain(own).collect()
}

fn drawing_of(title: &str, plan: &Plan, (board, setup): (usize, usize), palette: &Palette, kinds: &[Kind]) -> String {
    let Some((on, work)) = plan.boards.get(board).and_then(|it| it.setups.get(setup).map(|work| (it, work))) else {
        return String::new();
    };
    let (width, height) = (mm(on.size.0), mm(on.size.1));
    let place = format!("board {} of {}, setup {} of {}", board + 1, plan.boards.len(), setup + 1, on.setups.len());
    let mut ids = Ids::default();
    let mut document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .add(titled(&format!("{title}: {place}")))
        .add(described(on, &work.registers, &work.operations));
    if let Some(construction) = construction(on, setup, palette) {
        document = document.add(construction);
    }
    for kind in kinds.iter().copied() {
        let operations: Vec<&Operation> = work.operations.iter().filter(|it| Kind::of(it) == Some(kind)).collect();
        if !operations.is_empty() {
            document = document.add(kind_group(kind, &operations, on, palette, &mut ids));
        }
    }
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// The ends of the names of a setup's drawings: nothing for the whole, and where the shop wants that one for each kind of work.
pub(super) fn endings(plan: &Plan, (board, setup): (usize, usize), palette: &Palette) -> Vec<String> {
    let own = kinds_apart(plan, (board, setup), palette).into_iter().map(ending);
    std::iter::once(String::new()).chain(own).collect()
}

/// The kinds of work that have a drawing of their own.
fn kinds_apart(plan: &Plan, (board, setup): (usize, usize), palette: &Palette) -> Vec<Kind> {
    let operations = plan.boards.get(board).and_then(|it| it.setups.get(setup)).map(|it| &it.operations);
    let there = |kind: &Kind| operations.into_iter().flatten().any(|it| Kind::of(it) == Some(*kind));
    KINDS.into_iter().filter(|kind| palette.files == FilesWord::Work && there(kind)).collect()
}

fn ending(kind: Kind) -> String {
    format!("-{}", kind.id())
}

/// The same as a picture for a page, made smaller by `scale`, every part shaded; strokes are as wide on paper as any.
pub(super) fn picture(
    plan: &Plan,
    (board, setup): (usize, usize),
    palette: &Palette,
    scale: f64,
    shade: &dyn Fn(&PlacedPart) -> Tone,
) -> Group {
    let group = Group::new().set("transform", format!("scale({})", plain(scale, 5)));
    let Some((on, work)) = plan.boards.get(board).and_then(|it| it.setups.get(setup).map(|work| (it, work))) else {
        return group;
    };
    let wide = plain(ON_PAPER / scale, 3);
    let down = downward(on);
    let shaded = on.parts.iter().filter_map(|part| {
        let (outline, to_board) = outline_of(on, part, setup)?;
        let edge = Path::new().set("d", contours(outline, down * to_board).join(" ")).set("fill", hex(shade(part)));
        let line = palette.construction.map_or_else(|| "none".to_owned(), hex);
        Some(edge.set("stroke", line).set("stroke-width", wide.as_str()))
    });
    let mut group = shaded.fold(group, Group::add);
    // Unlike the order of the work: areas come before lines and the palest first, so that nothing is painted over.
    for kind in [Kind::Pocket, Kind::Engrave, Kind::Score, Kind::CutOpening, Kind::CutOutline] {
        let operations = work.operations.iter().filter(|it| Kind::of(it) == Some(kind));
        let colour = kind.colour(palette);
        let all = styled(Group::new(), kind, colour);
        let all = if kind.is_filled() { all } else { all.set("stroke-width", wide.as_str()) };
        let drawn = operations.map(|it| path_of(it, down, colour)).fold(all, Group::add);
        group = group.add(drawn);
    }
    group
}

/// The outline of a part in a setup, and what takes it to the board as it lies there: that which is cut there, else that of the
/// setup which cuts it.
pub(super) fn outline_of<'a>(board: &'a Board, part: &'a PlacedPart, setup: usize) -> Option<(&'a BezPath, Affine)> {
    let cut = part.lies.iter().position(|lie| lie.cut)?;
    let moved = part.lies.get(setup)?.at * part.lies.get(cut)?.at.inverse();
    let is_outline = |it: &&Operation| {
        let outline = matches!(it.kind, OperationKind::Cut { edge: CutEdge::Outline, .. });
        outline && it.part.as_ref() == Some(&part.name)
    };
    Some((board.setups.get(cut)?.operations.iter().find(is_outline)?.path()?, moved))
}

/// Stock, registration, what the person does afterwards, cautions: for whoever opens the file without the list.
fn described(board: &Board, registers: &str, operations: &[Operation]) -> Description {
    let stock = format!("Stock {}, {} thick, kerf {}.", board.stock, board.thickness, board.kerf);
    let pauses = operations.iter().filter_map(Operation::instruction).map(|told| format!("Afterwards: {told}"));
    let cautions = CAUTIONS.iter().map(|caution| format!("Caution: {} ({})", caution.text, caution.source));
    let lines: Vec<String> = [stock, registers.to_owned()].into_iter().chain(pauses).chain(cautions).collect();
    Description::new().add(::svg::node::Text::new(printable(&lines.join("\n"))))
}

/// The board's edge, and the outlines of parts that were cut in an earlier setup, where they lie now; none where the shop wants
/// none.
fn construction(board: &Board, setup: usize, palette: &Palette) -> Option<Group> {
    let colour = palette.construction?;
    let down = downward(board);
    let edge = kurbo::Rect::new(0.0, 0.0, board.size.0.as_mm(), board.size.1.as_mm());
    let line = |path: &BezPath, map: Affine, title: &str| {
        Path::new().set("d", contours(path, map).join(" ")).add(titled(title))
    };
    let group = Group::new()
        .set("id", "construction")
        .set("fill", "none")
        .set("stroke", hex(colour))
        .set("stroke-width", mm(palette.line))
        .add(titled("Construction: nothing is done here"))
        .add(line(&edge.to_path(0.1), down, "edge of the board"));
    let crosses = board.print.as_ref().and_then(|print| Some((print, print_up(board, setup)?)));
    let crosses = crosses.map(|(print, face)| print.lines(face, board.size.0.as_mm()));
    let group = crosses.into_iter().fold(group, |group, path| group.add(line(&path, down, "crosses of the print")));
    let elsewhere = board.parts.iter().filter_map(|part| cut_elsewhere(board, part, setup));
    Some(elsewhere.fold(group, |group, (words, path, moved)| group.add(line(path, down * moved, &words))))
}

/// The printed face of the sheet that lies up in a setup, by whose crosses it is lined up; none where it lies as before.
fn print_up(board: &Board, setup: usize) -> Option<Printed> {
    match board.setups.get(setup)?.turned {
        Turned::BoardOver => Some(if setup.is_multiple_of(2) { Printed::Up } else { Printed::Under }),
        Turned::AsLaid | Turned::PartsOver(_) => Some(Printed::Up),
    }
}

/// What a part that is not cut in this setup is called, its tool path in the one that cuts it, and how it is moved between the
/// two; none where it is cut now.
fn cut_elsewhere<'a>(board: &'a Board, part: &'a PlacedPart, setup: usize) -> Option<(String, &'a BezPath, Affine)> {
    let cut = part.lies.iter().position(|lie| lie.cut).filter(|cut| *cut != setup)?;
    let (path, moved) = outline_of(board, part, setup)?;
    let when = if cut < setup { "before" } else { "later" };
    Some((format!("{}, cut {when}", part.name), path, moved))
}

/// From the board, y up, to the drawing, y down.
pub(super) fn downward(board: &Board) -> Affine {
    Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, board.size.1.as_mm()])
}

fn kind_group(kind: Kind, operations: &[&Operation], board: &Board, palette: &Palette, ids: &mut Ids) -> Group {
    let colour = kind.colour(palette);
    let group = styled(Group::new().set("id", kind.id()), kind, colour);
    let group = if kind.is_filled() { group } else { group.set("stroke-width", mm(palette.line)) };
    let mut group = group.add(titled(kind.title()));
    let down = downward(board);
    let mut rest = operations;
    while let Some(first) = rest.first() {
        let name = part_name(first);
        // Neighbours only: a part whose work is interrupted gets a second group, so that the order of the work stays
        // that of the file.
        let of_part = rest.iter().take_while(|it| part_name(it) == name).count();
        let (these, others) = rest.split_at(of_part);
        let id = ids.take(&format!("{}.{name}", kind.id()));
        let mut part = Group::new().set("id", id).add(titled(&name));
        for operation in these {
            part = part.add(drawn(operation, down, colour));
        }
        group = group.add(part);
        rest = others;
    }
    group
}

fn styled(group: Group, kind: Kind, colour: Tone) -> Group {
    if kind.is_filled() {
        group.set("fill", hex(colour)).set("fill-rule", "nonzero").set("stroke", "none")
    } else {
        group.set("fill", "none").set("stroke", hex(colour))
    }
}

/// The name of the part's group; a holder has one of its own.
fn part_name(operation: &Operation) -> String {
    let part = operation.part.as_deref().unwrap_or("board");
    match operation.kind {
        OperationKind::Cut { edge: CutEdge::Holder, .. } => format!("{part}-holder"),
        _ => part.to_owned(),
    }
}

fn drawn(operation: &Operation, down: Affine, colour: Tone) -> Path {
    path_of(operation, down, colour).add(titled(&caption(operation)))
}

fn path_of(operation: &Operation, down: Affine, colour: Tone) -> Path {
    let data = operation.path().map(|path| contours(path, down).join(" ")).unwrap_or_default();
    let path = Path::new().set("d", data);
    match operation.kind {
        OperationKind::Engrave { tone, .. } if tone < 1.0 => path.set("fill", hex(lighter(colour, tone))),
        _ => path,
    }
}

/// What one path is, in words: `peep, front, tone 60 %`.
fn caption(operation: &Operation) -> String {
    let mut words: Vec<String> = operation.name.iter().cloned().collect();
    words.extend(operation.face.map(|face| face_name(face).to_owned()));
    match &operation.kind {
        OperationKind::Engrave { tone, depth, .. } => {
            words.push(format!("tone {} %", plain(tone * 100.0, 1)));
            words.extend(depth.map(|depth| format!("depth {depth}")));
        }
        OperationKind::Pocket { depth, floor, .. } => {
            words.push(format!("depth {}", depth.made()));
            words.push(format!("floor {floor}"));
            words.extend(depth.passes().map(|passes| passes.to_string()));
        }
        OperationKind::Cut { kerf_offset, .. } => words.push(format!("{kerf_offset} off the finished edge")),
        OperationKind::Score { .. } | OperationKind::Pause { .. } => {}
    }
    words.join(", ")
}

/// A colour mixed with white: a solid one, since programs differ over what transparent fills mean.
pub(crate) fn lighter(colour: Tone, tone: f64) -> Tone {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
    colour.map(|part| (255.0 - (255.0 - f64::from(part)) * tone.clamp(0.0, 1.0)).round() as u8)
}

fn mm(length: Length) -> String {
    plain(length.as_mm(), 3)
}

/// Ids given so far: each is an XML name, and no two are alike.
#[derive(Default)]
struct Ids(BTreeSet<String>);

impl Ids {
    fn take(&mut self, wanted: &str) -> String {
        let base: String = wanted.chars().map(|c| if is_name_char(c) { c } else { '_' }).collect();
        let numbered = (2..).map(|number| format!("{base}_{number}"));
        let id = std::iter::once(base.clone()).chain(numbered).find(|id| !self.0.contains(id)).unwrap_or(base);
        self.0.insert(id.clone());
        id
    }
}

/// `NameChar` of XML 1.0, fifth edition, less the colon, which namespaces keep for themselves.
fn is_name_char(c: char) -> bool {
    matches!(c, '-' | '.' | '_' | '0'..='9' | 'A'..='Z' | 'a'..='z' | '\u{b7}'
        | '\u{c0}'..='\u{d6}' | '\u{d8}'..='\u{f6}' | '\u{f8}'..='\u{37d}' | '\u{37f}'..='\u{1fff}'
        | '\u{200c}'..='\u{200d}' | '\u{203f}'..='\u{2040}' | '\u{2070}'..='\u{218f}' | '\u{2c00}'..='\u{2fef}'
        | '\u{3001}'..='\u{d7ff}' | '\u{f900}'..='\u{fdcf}' | '\u{fdf0}'..='\u{fffd}' | '\u{10000}'..='\u{effff}')
}
