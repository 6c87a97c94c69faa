//! Which parts a run needs, and on which boards they lie.

use kurbo::{Affine, Vec2};

use super::flip::{self, Way};
use super::kerf::{self, Cuts};
use super::nest::{Effort, Piece, Placement, Sheet, Turns, lay};
use super::play::{Play, play};
use super::{Board, Lie, PlacedPart, StockUse, setups};
use crate::design::{Design, Face, Layer, Ring, Stock};
use crate::diagnostics::Problems;
use crate::diagnostics::findings::plan as findings;
use crate::geometry::{Region, mirror, turn};
use crate::units::{Angle, Length};

/// Everything that the parts of one layer share.
pub(super) struct LayerPlan<'a> {
    /// Which of the designs it belongs to.
    pub(super) design: usize,
    pub(super) layer: &'a Layer,
    pub(super) cuts: Cuts,
    pub(super) way: Way,
    /// How far a part may lie off its place once it was turned over.
    pub(super) play: Play,
    /// Each ring with all its labels as one region.
    pub(super) rings: Vec<(&'a Ring, Region)>,
    /// From the front frame to the piece as it lies unturned while it is cut.
    base: Affine,
}

/// The layers of one stock.
pub(super) struct Group<'a> {
    stock: &'a Stock,
    /// Whether boards with two-faced parts are turned over whole.
    board_over: bool,
    layers: Vec<LayerPlan<'a>>,
}

impl Group<'_> {
    /// Whether the grain runs askew, so that the turned board shows it mirrored.
    fn is_askew(&self) -> bool {
        self.stock.grain.is_some_and(|grain| grain.as_degrees().rem_euclid(90.0) > 1e-9)
    }
}

/// The layers of all designs by stock, in order of the stocks' first use, each planned by itself.
pub(super) fn by_stock<'a>(designs: &[&'a Design], problems: &mut Problems) -> Vec<Group<'a>> {
    let layers = || designs.iter().enumerate().flat_map(|(at, design)| design.layers.iter().map(move |it| (at, it)));
    let mut groups: Vec<Group> = Vec::new();
    for (_, layer) in layers() {
        if !groups.iter().any(|group| are_alike(group.stock, &layer.stock)) {
            groups.push(Group { stock: &layer.stock, board_over: false, layers: Vec::new() });
        }
    }
    for group in &mut groups {
        let of_stock = || layers().filter(|(_, layer)| are_alike(group.stock, &layer.stock));
        group.board_over = of_stock().any(|(_, layer)| flip::turns_board(layer));
        let sharing: Vec<&Design> = of_stock().filter_map(|(at, _)| designs.get(at).copied()).collect();
        let gap = sheet(&sharing, group.stock, group.board_over).gap;
        let plans = of_stock().map(|(at, layer)| layer_plan(at, layer, group.board_over, gap, problems));
        group.layers = plans.collect();
    }
    groups
}

/// Whether two stocks agree in name and every figure.
fn are_alike(a: &Stock, b: &Stock) -> bool {
    a.name == b.name && Stock { origin: None, ..a.clone() } == Stock { origin: None, ..b.clone() }
}

fn layer_plan<'a>(
    design: usize,
    layer: &'a Layer,
    board_over: bool,
    gap: f64,
    problems: &mut Problems,
) -> LayerPlan<'a> {
    let cuts = kerf::cuts(layer, problems);
    let way = flip::way(layer, &cuts, board_over, gap, problems);
    let faced = match way.up_when_cut() {
        Face::Front => Affine::IDENTITY,
        Face::Back => mirror(Angle::ZERO),
    };
    let grain = layer.stock.grain.map(|grain| if board_over { -grain } else { grain });
    let along = grain.zip(layer.grain).map_or(Affine::IDENTITY, |(board, part)| {
        let part = if way.up_when_cut() == Face::Back { -part } else { part };
        turn(board - part)
    });
    let rings =
        layer.rings.iter().map(|ring| (ring, Region::union_of(ring.labels.iter().map(|label| &label.ink)))).collect();
    let lifted = matches!(way, Way::OwnOpening(_) | Way::Holder(_));
    let still = Play { shift: Length::ZERO, turn: Some(Angle::ZERO) };
    let play = if lifted { play(&cuts.outline, layer.stock.kerf) } else { still };
    LayerPlan { design, layer, cuts, way, play, rings, base: along * faced }
}

/// What is kept free on this stock. The gap and the margin are never less than the kerf, or neighbouring cuts
/// would meet.
fn sheet(designs: &[&Design], stock: &Stock, board_over: bool) -> Sheet {
    let widest = |of: &dyn Fn(&Design) -> Option<Length>, usual: Length| {
        designs.iter().map(|design| of(design).unwrap_or(usual).as_mm()).fold(0.0, f64::max)
    };
    let kerf = stock.kerf.as_mm();
    // A clamp stays where it is when the board is turned: seen from the board, it then stands on the other side.
    let over = Affine::translate((stock.board.0.as_mm(), 0.0)) * Affine::FLIP_X;
    let keep_out = &stock.keep_out;
    let keep_out = if board_over { keep_out.union(&keep_out.transformed(over)) } else { keep_out.clone() };
    Sheet {
        width: stock.board.0.as_mm(),
        height: stock.board.1.as_mm(),
        margin: widest(&|design| design.run.margin, stock.margin).max(kerf),
        gap: widest(&|design| design.run.gap, stock.gap).max(kerf),
        keep_out,
    }
}

/// The boards of one stock, their setups in order.
pub(super) fn boards(
    designs: &[&Design],
    group: &Group<'_>,
    effort: Effort,
    problems: &mut Problems,
) -> (Vec<Board>, StockUse) {
    let shares = |at: &usize| group.layers.iter().any(|layer| layer.design == *at);
    let sharing: Vec<&Design> = (0..designs.len()).filter(shares).filter_map(|at| designs.get(at).copied()).collect();
    let sheet = sheet(&sharing, group.stock, group.board_over);
    let parts: Vec<(u32, &LayerPlan)> = designs
        .iter()
        .enumerate()
        .flat_map(|(at, design)| {
            let dials = 1..=design.run.dials.saturating_add(design.run.spares);
            let own: Vec<&LayerPlan> = group.layers.iter().filter(|layer| layer.design == at).collect();
            dials.flat_map(move |dial| own.clone().into_iter().map(move |it| (dial, it)))
        })
        .collect();
    let names = names(designs);
    let pieces: Vec<Piece> = parts.iter().map(|(_, it)| piece(it)).collect();
    let laid = lay(&pieces, &sheet, effort);
    let too_large = |it: &&LayerPlan| {
        laid.too_large.iter().any(|&index| parts.get(index).is_some_and(|(_, part)| std::ptr::eq(*part, *it)))
    };
    for it in group.layers.iter().filter(too_large) {
        let size = piece(it).outline.bounds().unwrap_or_default().size();
        problems.push(findings::part_larger_than_board(it.layer, size, &sheet, matches!(it.way, Way::Holder(_))));
    }
    let boards: Vec<Board> = laid.boards.iter().map(|placements| board(group, &names, &parts, placements)).collect();
    let laid_parts = laid.boards.iter().flatten().filter_map(|it| parts.get(it.piece));
    let used: f64 = laid_parts.map(|(_, it)| it.cuts.outline.area()).sum();
    #[allow(clippy::cast_precision_loss, reason = "far fewer boards than that")]
    let area = sheet.width * sheet.height * boards.len().max(1) as f64;
    let stock = group.stock.name.clone();
    let stock_use = StockUse { stock, boards: boards.len(), least_boards: laid.least_boards, share: used / area };
    (boards, stock_use)
}

/// What the names of each design's parts begin with: nothing where there is one design, else its title or variant in
/// small letters, numbered where two are alike.
pub(super) fn names(designs: &[&Design]) -> Vec<String> {
    if designs.len() < 2 {
        return vec![String::new()];
    }
    let mut names: Vec<String> = Vec::new();
    for design in designs {
        let title = format!("{} {}", design.title, design.variant.as_deref().unwrap_or_default()).to_lowercase();
        let words: Vec<&str> = title.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let name = words.join("-");
        let numbered = (2..).map(|number| format!("{name}-{number}."));
        let free = std::iter::once(format!("{name}.")).chain(numbered).find(|name| !names.contains(name));
        names.extend(free);
    }
    names
}

/// What is laid for one part: its outline, with the holder's beside it where it needs one.
fn piece(it: &LayerPlan<'_>) -> Piece {
    let outline = match it.way {
        Way::Holder(over) => it.cuts.outline.union(&it.cuts.outline.transformed(over)),
        _ => it.cuts.outline.clone(),
    };
    let turns = if it.layer.grain.is_some() { Turns::Half } else { Turns::Free };
    Piece { outline: outline.transformed(it.base), turns }
}

fn board(group: &Group<'_>, names: &[String], parts: &[(u32, &LayerPlan<'_>)], placements: &[Placement]) -> Board {
    let stock = group.stock;
    let on_board = || placements.iter().filter_map(|it| parts.get(it.piece).map(|(dial, plan)| (it, *dial, *plan)));
    let any_two_faced = on_board().any(|(_, _, plan)| plan.way == Way::BoardOver);
    let turned = group.board_over && (any_two_faced || group.is_askew());
    let count = if turned || on_board().any(|(_, _, plan)| !matches!(plan.way, Way::OneFace(_))) { 2 } else { 1 };
    let placed: Vec<(PlacedPart, &LayerPlan)> = on_board()
        .map(|(placement, dial, plan)| {
            let at = placement.at * plan.base;
            let lies = if turned { turned_lies(plan.way, at, stock.board.0) } else { lies(plan.way, at, count) };
            let design = names.get(plan.design).map_or("", String::as_str);
            let name = format!("{design}{}-{dial}", plan.layer.name);
            (PlacedPart { name, design: plan.design, layer: plan.layer.name.clone(), dial, lies }, plan)
        })
        .collect();
    Board {
        stock: stock.name.clone(),
        colour: stock.colour,
        size: stock.board,
        thickness: stock.thickness.mean,
        kerf: stock.kerf,
        setups: setups::setups(&placed, stock, turned, count),
        parts: placed.into_iter().map(|(part, _)| part).collect(),
    }
}

/// How a part lies on a board that stays as it is: worked and cut first, then turned over where it has a back.
fn lies(way: Way, at: Affine, setups: usize) -> Vec<Lie> {
    let first = Lie { up: way.up_when_cut(), at, worked: true, cut: true };
    let second = match way {
        Way::OwnOpening(axis) => Lie { up: Face::Back, at: at * mirror(axis), worked: true, cut: false },
        Way::Holder(over) => Lie { up: Face::Back, at: at * over, worked: true, cut: false },
        Way::OneFace(_) | Way::BoardOver => Lie { worked: false, cut: false, ..first },
    };
    [first, second].into_iter().take(setups).collect()
}

/// How a part lies on a board that is turned over: everything is cut in the second setup, `at` being its
/// place there, and nothing lies loose when the board is turned.
fn turned_lies(way: Way, at: Affine, width: Length) -> Vec<Lie> {
    let over = Affine::translate(Vec2::new(width.as_mm(), 0.0)) * Affine::FLIP_X;
    let second = Lie { up: way.up_when_cut(), at, worked: true, cut: true };
    let up = match second.up {
        Face::Front => Face::Back,
        Face::Back => Face::Front,
    };
    vec![Lie { up, at: over * at, worked: way == Way::BoardOver, cut: false }, second]
}
