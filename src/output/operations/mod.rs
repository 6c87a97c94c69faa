//! The machine-neutral operation list: what must happen to the material, never with what power or speed.
//!
//! Its form is published as a JSON Schema in `grammar/operations.schema.json`. Fields keep one order, paths
//! take one line a contour, and nothing is numbered that a change elsewhere would renumber, so that a line
//! diff of two revisions is short.

mod as_designed;

use kurbo::{Affine, Point};
use serde::Serialize;

use crate::audit::Audit;
use crate::design::{Design, Layer, hex};
use crate::geometry::contours;
use crate::plan::{
    Board, Caution, CutEdge, LaidInto, Lie, Operation, OperationKind, PlacedPart, Plan, Print, PrintedArea, Setup,
    StockUse, Turned, TurnedPart, cautions, face_name,
};
use crate::source::{Sources, Span};
use crate::units::{Angle, Length};
use as_designed::DesignText;

/// Version of the list's form. Raised when a reader of the former one could misread it.
pub const VERSION: u32 = 4;

/// A design that is made on the boards of a plan, with what was found of it and what it was read from.
pub type Made<'a> = (&'a Design, &'a Audit, &'a Sources);

/// The operation list of one run as JSON text: of one design, or of several planned together.
pub fn list(designs: &[Made], plan: &Plan) -> String {
    let several = designs.len() > 1;
    let first = designs.first().map(|(design, ..)| *design);
    let titles: Vec<&str> = designs.iter().map(|(design, ..)| design.title.as_str()).collect();
    // Several designs state variant, shop and run each for itself.
    let alone = first.filter(|_| !several);
    let list = List {
        format: "dialwright operations",
        version: VERSION,
        units: Units { length: "mm", angle: "deg", frame: FRAME },
        dial: titles.join(" + "),
        variant: alone.and_then(|design| design.variant.as_deref()),
        shop: alone.and_then(|design| design.shop.as_deref()),
        dials: designs.iter().map(|(design, ..)| design.run.dials).sum(),
        spares: designs.iter().map(|(design, ..)| design.run.spares).sum(),
        designs: designs.iter().map(|(design, audit, _)| DesignText::of(design, audit)).collect(),
        summary: Summary::of(plan),
        cautions: all_cautions(designs),
        boards: plan.boards.iter().map(|board| board_text(board, designs)).collect(),
    };
    // Only a map with keys other than strings can fail here, and the list has no map.
    let mut text = serde_json::to_string_pretty(&list).unwrap_or_default();
    text.push('\n');
    text
}

const FRAME: &str = "origin at the board's lower left corner as it lies in the setup, x right, y up; bearings clockwise \
                     from the top";

#[derive(Serialize)]
struct List<'a> {
    format: &'static str,
    version: u32,
    units: Units,
    dial: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    variant: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shop: Option<&'a str>,
    dials: u32,
    spares: u32,
    designs: Vec<DesignText<'a>>,
    summary: Summary,
    cautions: Vec<CautionText>,
    boards: Vec<BoardText<'a>>,
}

/// The cautions of every design, each once.
fn all_cautions(designs: &[Made]) -> Vec<CautionText> {
    let mut all: Vec<CautionText> = Vec::new();
    for Caution { text, source } in designs.iter().flat_map(|(design, ..)| cautions(design)) {
        if !all.iter().any(|known| known.text == text) {
            all.push(CautionText { text, source });
        }
    }
    all
}

#[derive(Serialize)]
struct Units {
    length: &'static str,
    angle: &'static str,
    frame: &'static str,
}

#[derive(Serialize)]
struct Summary {
    boards: usize,
    parts: usize,
    cut_length: f64,
    score_length: f64,
    engraved_area: f64,
    pocket_area: f64,
    travel: f64,
    travel_saved: f64,
    stocks: Vec<StockText>,
}

#[derive(Serialize)]
struct StockText {
    stock: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    figures: Option<String>,
    boards: usize,
    least_boards: usize,
    share: f64,
}

impl Summary {
    fn of(plan: &Plan) -> Self {
        Self {
            boards: plan.boards.len(),
            parts: plan.part_count(),
            cut_length: mm(plan.cut_length()),
            score_length: mm(plan.score_length()),
            engraved_area: rounded(plan.engraved_area()),
            pocket_area: rounded(plan.pocket_area()),
            travel: mm(plan.travel()),
            travel_saved: mm(plan.travel_saved()),
            stocks: plan.stocks.iter().map(stock_text).collect(),
        }
    }
}

fn stock_text(it: &StockUse) -> StockText {
    let StockUse { stock, figures, boards, least_boards, share } = it.clone();
    StockText { stock, figures, boards, least_boards, share: rounded(share) }
}

#[derive(Serialize)]
struct CautionText {
    text: &'static str,
    source: &'static str,
}

#[derive(Serialize)]
struct BoardText<'a> {
    stock: &'a str,
    width: f64,
    height: f64,
    thickness: f64,
    kerf: f64,
    margin: f64,
    gap: f64,
    /// What is printed on it before anything is cut; left out where nothing is.
    #[serde(skip_serializing_if = "Option::is_none")]
    print: Option<PrintText<'a>>,
    parts: Vec<PartText<'a>>,
    setups: Vec<SetupText<'a>>,
}

/// What is printed, and the middles of the crosses that the cuts are lined up with.
#[derive(Serialize)]
struct PrintText<'a> {
    crosses: [[f64; 2]; 4],
    faces: Vec<PrintedFaceText<'a>>,
}

#[derive(Serialize)]
struct PrintedFaceText<'a> {
    /// Whether it lies up in the first setup or under.
    lies: &'static str,
    areas: Vec<PrintedAreaText<'a>>,
}

#[derive(Serialize)]
struct PrintedAreaText<'a> {
    part: &'a str,
    face: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    colour: String,
    path: Vec<String>,
}

fn print_text(print: &Print) -> PrintText<'_> {
    let faces = print.faces().into_iter().map(|(lies, areas)| PrintedFaceText {
        lies: lies.word(),
        areas: areas.iter().map(printed_area_text).collect(),
    });
    PrintText { crosses: print.crosses.map(|at| [rounded(at.x), rounded(at.y)]), faces: faces.collect() }
}

fn printed_area_text(it: &PrintedArea) -> PrintedAreaText<'_> {
    PrintedAreaText {
        part: &it.part,
        face: face_name(it.face),
        name: it.name.as_deref(),
        colour: hex(it.colour),
        path: contours(it.region.path(), Affine::IDENTITY),
    }
}

#[derive(Serialize)]
struct PartText<'a> {
    name: &'a str,
    layer: &'a str,
    dial: u32,
    /// Which of `designs` it is a part of, from 0.
    design: usize,
    /// The part in whose opening it lies.
    #[serde(skip_serializing_if = "Option::is_none")]
    inside: Option<&'a str>,
    lies: Vec<LieText>,
}

/// Where the turning axis stands on the board, and which way the part's 0deg points.
#[derive(Serialize)]
struct LieText {
    up: &'static str,
    x: f64,
    y: f64,
    top: f64,
}

#[derive(Serialize)]
struct SetupText<'a> {
    turned: TurnedText<'a>,
    registers: &'a str,
    operations: Vec<OperationText<'a>>,
}

#[derive(Serialize)]
#[serde(tag = "how", rename_all = "kebab-case")]
enum TurnedText<'a> {
    AsLaid,
    PartsOver { parts: Vec<TurnedPartText<'a>> },
    BoardOver,
}

#[derive(Serialize)]
struct TurnedPartText<'a> {
    part: &'a str,
    about: f64,
    into: &'static str,
    play: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    askew: Option<f64>,
}

#[derive(Serialize)]
struct OperationText<'a> {
    #[serde(flatten)]
    work: OperationWork<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    part: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    face: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<SourceText>,
    /// What it waits for, by name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    after: Vec<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    path: Vec<String>,
}

#[derive(Serialize)]
struct SourceText {
    file: String,
    line: usize,
    column: usize,
}

#[derive(Serialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
enum OperationWork<'a> {
    Engrave {
        tone: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        depth: Option<f64>,
    },
    Score {
        width: f64,
    },
    Pocket {
        depth: f64,
        asked: f64,
        floor: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        passes: Option<PassesText>,
    },
    Cut {
        edge: &'static str,
        waste: &'static str,
        kerf_offset: f64,
    },
    Pause {
        instruction: &'a str,
    },
}

#[derive(Serialize)]
struct PassesText {
    count: usize,
    reach: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    within: Option<f64>,
}

fn board_text<'a>(board: &'a Board, designs: &[Made<'a>]) -> BoardText<'a> {
    let of = |part: Option<&str>| {
        let placed = board.parts.iter().find(|it| Some(it.name.as_str()) == part)?;
        let (design, _, sources) = designs.get(placed.design)?;
        Some((design.layer(&placed.layer)?.1, *sources))
    };
    BoardText {
        stock: &board.stock,
        width: mm(board.size.0),
        height: mm(board.size.1),
        thickness: mm(board.thickness),
        kerf: mm(board.kerf),
        margin: mm(board.margin),
        gap: mm(board.gap),
        print: board.print.as_ref().map(print_text),
        parts: board.parts.iter().map(part_text).collect(),
        setups: board.setups.iter().map(|setup| setup_text(setup, board, &of)).collect(),
    }
}

fn part_text(part: &PlacedPart) -> PartText<'_> {
    let lies = part.lies.iter().map(lie_text).collect();
    PartText {
        name: &part.name,
        layer: &part.layer,
        dial: part.dial,
        design: part.design,
        inside: part.inside.as_deref(),
        lies,
    }
}

fn lie_text(lie: &Lie) -> LieText {
    let axis = lie.at * Point::ORIGIN;
    LieText { up: face_name(lie.up), x: rounded(axis.x), y: rounded(axis.y), top: top(lie.at) }
}

/// The bearing on the board that the part's 0deg points to, from 0 to below 360.
fn top(at: Affine) -> f64 {
    let up = at * Point::new(0.0, 1.0) - at * Point::ORIGIN;
    // Rounding may bring 359.9996 up to 360, which is 0.
    rounded(up.x.atan2(up.y).to_degrees().rem_euclid(360.0)) % 360.0
}

/// What a part is of: its layer, and what its design was read from.
type Whose<'a> = (&'a Layer, &'a Sources);

fn setup_text<'a>(setup: &'a Setup, board: &Board, of: &dyn Fn(Option<&str>) -> Option<Whose<'a>>) -> SetupText<'a> {
    let turned = match &setup.turned {
        Turned::AsLaid => TurnedText::AsLaid,
        Turned::PartsOver(parts) => TurnedText::PartsOver { parts: parts.iter().map(turned_text).collect() },
        Turned::BoardOver => TurnedText::BoardOver,
    };
    let text = |operation: &'a Operation| operation_text(operation, board, of(operation.part.as_deref()));
    let operations = setup.operations.iter().map(text).collect();
    SetupText { turned, registers: &setup.registers, operations }
}

fn turned_text(it: &TurnedPart) -> TurnedPartText<'_> {
    let into = match it.into {
        LaidInto::OwnOpening => "own-opening",
        LaidInto::Holder => "holder",
    };
    TurnedPartText {
        part: &it.part,
        about: degrees(it.about),
        into,
        play: mm(it.play.shift),
        askew: it.play.turn.map(degrees),
    }
}

fn operation_text<'a>(operation: &'a Operation, board: &Board, whose: Option<Whose<'a>>) -> OperationText<'a> {
    let waits = whose.iter().flat_map(|(layer, _)| &layer.waits).filter(|wait| Some(wait.mark) == operation.origin);
    OperationText {
        work: work(&operation.kind, board),
        part: operation.part.as_deref(),
        face: operation.face.map(face_name),
        name: operation.name.as_deref(),
        source: operation.origin.zip(whose).map(|(span, (_, sources))| source(span, sources)),
        after: waits.map(|wait| wait.after.as_str()).collect(),
        path: operation.path().map(|path| contours(path, Affine::IDENTITY)).unwrap_or_default(),
    }
}

fn work<'a>(kind: &'a OperationKind, board: &Board) -> OperationWork<'a> {
    match kind {
        OperationKind::Engrave { tone, depth, .. } => {
            OperationWork::Engrave { tone: rounded(*tone), depth: depth.map(mm) }
        }
        OperationKind::Score { .. } => OperationWork::Score { width: mm(board.kerf) },
        OperationKind::Pocket { depth, floor, .. } => OperationWork::Pocket {
            depth: mm(depth.made()),
            asked: mm(depth.asked()),
            floor: mm(*floor),
            passes: depth.passes().map(|it| PassesText {
                count: it.count,
                reach: mm(it.reach),
                within: it.within.map(mm),
            }),
        },
        OperationKind::Cut { edge, kerf_offset, .. } => {
            let (edge, waste) = match edge {
                CutEdge::Outline => ("outline", "outside"),
                CutEdge::Opening => ("opening", "inside"),
                CutEdge::Holder => ("holder", "inside"),
            };
            OperationWork::Cut { edge, waste, kerf_offset: mm(*kerf_offset) }
        }
        OperationKind::Pause { instruction } => OperationWork::Pause { instruction },
    }
}

fn source(span: Span, sources: &Sources) -> SourceText {
    let at = sources.line_column(span);
    SourceText { file: sources.file(span.source).name, line: at.line, column: at.column }
}

fn mm(length: Length) -> f64 {
    rounded(length.as_mm())
}

fn degrees(angle: Angle) -> f64 {
    rounded(angle.as_degrees())
}

/// To three decimals.
fn rounded(value: f64) -> f64 {
    crate::units::rounded(value, 3)
}
