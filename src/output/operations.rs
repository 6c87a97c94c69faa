//! The machine-neutral operation list: what must happen to the material, never with what power or speed.
//!
//! Its form is published as a JSON Schema in `grammar/operations.schema.json`. Fields keep one order, paths
//! take one line a contour, and nothing is numbered that a change elsewhere would renumber, so that a line
//! diff of two revisions is short.

use kurbo::{Affine, Point};
use serde::Serialize;

use super::path::contours;
use crate::design::Design;
use crate::plan::{
    Board, Caution, CutEdge, LaidInto, Lie, Operation, OperationKind, PlacedPart, Plan, Setup, StockUse, Turned,
    TurnedPart, cautions, face_name,
};
use crate::source::{Sources, Span};
use crate::units::{Angle, Length};

/// Version of the list's form. Raised when a reader of the former one could misread it.
pub const VERSION: u32 = 1;

/// The operation list of one run as JSON text: of one design, or of several planned together.
pub fn list(designs: &[(&Design, &Sources)], plan: &Plan) -> String {
    let several = designs.len() > 1;
    let first = designs.first().map(|(design, _)| *design);
    let titles: Vec<&str> = designs.iter().map(|(design, _)| design.title.as_str()).collect();
    // Several designs state variant, shop and run each for itself, under `together`.
    let alone = first.filter(|_| !several);
    let list = List {
        format: "dialwright operations",
        version: VERSION,
        units: Units { length: "mm", angle: "deg", frame: FRAME },
        dial: titles.join(" + "),
        variant: alone.and_then(|design| design.variant.as_deref()),
        shop: alone.and_then(|design| design.shop.as_deref()),
        dials: designs.iter().map(|(design, _)| design.run.dials).sum(),
        spares: designs.iter().map(|(design, _)| design.run.spares).sum(),
        together: designs.iter().filter(|_| several).map(|(design, _)| design_text(design)).collect(),
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
    #[serde(skip_serializing_if = "Vec::is_empty")]
    together: Vec<DesignText<'a>>,
    summary: Summary,
    cautions: Vec<CautionText>,
    boards: Vec<BoardText<'a>>,
}

/// The cautions of every design, each once.
fn all_cautions(designs: &[(&Design, &Sources)]) -> Vec<CautionText> {
    let mut all: Vec<CautionText> = Vec::new();
    for Caution { text, source } in designs.iter().flat_map(|(design, _)| cautions(design)) {
        if !all.iter().any(|known| known.text == text) {
            all.push(CautionText { text, source });
        }
    }
    all
}

/// One of several designs that share the boards.
#[derive(Serialize)]
struct DesignText<'a> {
    dial: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    variant: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shop: Option<&'a str>,
    dials: u32,
    spares: u32,
}

fn design_text(design: &Design) -> DesignText<'_> {
    DesignText {
        dial: &design.title,
        variant: design.variant.as_deref(),
        shop: design.shop.as_deref(),
        dials: design.run.dials,
        spares: design.run.spares,
    }
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
    parts: Vec<PartText<'a>>,
    setups: Vec<SetupText<'a>>,
}

#[derive(Serialize)]
struct PartText<'a> {
    name: &'a str,
    layer: &'a str,
    dial: u32,
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
    Score,
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

fn board_text<'a>(board: &'a Board, designs: &[(&'a Design, &'a Sources)]) -> BoardText<'a> {
    let of = |part: Option<&str>| {
        let placed = board.parts.iter().find(|it| Some(it.name.as_str()) == part);
        // What belongs to no part has no place in a text either, so the first design does for it.
        designs.get(placed.map_or(0, |it| it.design)).map(|it| it.1)
    };
    BoardText {
        stock: &board.stock,
        width: mm(board.size.0),
        height: mm(board.size.1),
        thickness: mm(board.thickness),
        kerf: mm(board.kerf),
        parts: board.parts.iter().map(part_text).collect(),
        setups: board.setups.iter().map(|setup| setup_text(setup, &of)).collect(),
    }
}

fn part_text(part: &PlacedPart) -> PartText<'_> {
    let lies = part.lies.iter().map(lie_text).collect();
    PartText { name: &part.name, layer: &part.layer, dial: part.dial, lies }
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

/// `of` gives the sources of the design that a part belongs to.
fn setup_text<'a>(setup: &'a Setup, of: &dyn Fn(Option<&str>) -> Option<&'a Sources>) -> SetupText<'a> {
    let turned = match &setup.turned {
        Turned::AsLaid => TurnedText::AsLaid,
        Turned::PartsOver(parts) => TurnedText::PartsOver { parts: parts.iter().map(turned_text).collect() },
        Turned::BoardOver => TurnedText::BoardOver,
    };
    let operations =
        setup.operations.iter().map(|operation| operation_text(operation, of(operation.part.as_deref()))).collect();
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

fn operation_text<'a>(operation: &'a Operation, sources: Option<&Sources>) -> OperationText<'a> {
    OperationText {
        work: work(&operation.kind),
        part: operation.part.as_deref(),
        face: operation.face.map(face_name),
        name: operation.name.as_deref(),
        source: operation.origin.zip(sources).map(|(span, sources)| source(span, sources)),
        path: operation.path().map(|path| contours(path, Affine::IDENTITY)).unwrap_or_default(),
    }
}

fn work(kind: &OperationKind) -> OperationWork<'_> {
    match kind {
        OperationKind::Engrave { tone, depth, .. } => {
            OperationWork::Engrave { tone: rounded(*tone), depth: depth.map(mm) }
        }
        OperationKind::Score { .. } => OperationWork::Score,
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
