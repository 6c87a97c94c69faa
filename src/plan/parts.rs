//! Which parts a run needs, and on which boards they lie.

use kurbo::{Affine, Vec2};

use super::flip::{self, Way};
use super::kerf::{self, Cuts};
use super::nest::{Effort, Piece, Placement, Sheet, Turns, lay};
use super::{Board, Lie, PlacedPart, setups};
use crate::design::{Design, Face, Layer, Ring, Stock};
use crate::diagnostics::Problems;
use crate::diagnostics::findings::plan as findings;
use crate::geometry::{Region, mirror, turn};
use crate::units::{Angle, Length};

/// Everything that the parts of one layer share.
pub(super) struct LayerPlan<'a> {
    pub(super) layer: &'a Layer,
    pub(super) cuts: Cuts,
    pub(super) way: Way,
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

/// The layers by stock, in order of the stocks' first use, each planned by itself.
pub(super) fn by_stock<'a>(design: &'a Design, problems: &mut Problems) -> Vec<Group<'a>> {
    let mut groups: Vec<Group> = Vec::new();
    for layer in &design.layers {
        if !groups.iter().any(|group| group.stock.name == layer.stock.name) {
            groups.push(Group { stock: &layer.stock, board_over: false, layers: Vec::new() });
        }
    }
    for group in &mut groups {
        let of_stock = || design.layers.iter().filter(|layer| layer.stock.name == group.stock.name);
        group.board_over = of_stock().any(flip::turns_board);
        let gap = sheet(design, group.stock).gap;
        group.layers = of_stock().map(|layer| layer_plan(layer, group.board_over, gap, problems)).collect();
    }
    groups
}

fn layer_plan<'a>(layer: &'a Layer, board_over: bool, gap: f64, problems: &mut Problems) -> LayerPlan<'a> {
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
    LayerPlan { layer, cuts, way, rings, base: along * faced }
}

/// What is kept free on this stock. The gap and the margin are never less than the kerf, or neighbouring cuts
/// would meet.
fn sheet(design: &Design, stock: &Stock) -> Sheet {
    let kerf = stock.kerf.as_mm();
    Sheet {
        width: stock.board.0.as_mm(),
        height: stock.board.1.as_mm(),
        margin: design.run.margin.unwrap_or(stock.margin).as_mm().max(kerf),
        gap: design.run.gap.unwrap_or(stock.gap).as_mm().max(kerf),
        keep_out: Region::empty(),
    }
}

/// The boards of one stock, their setups in order.
pub(super) fn boards(design: &Design, group: &Group<'_>, problems: &mut Problems) -> Vec<Board> {
    let sheet = sheet(design, group.stock);
    let dials = 1..=design.run.dials.saturating_add(design.run.spares);
    let parts: Vec<(u32, &LayerPlan)> = dials.flat_map(|dial| group.layers.iter().map(move |it| (dial, it))).collect();
    let pieces: Vec<Piece> = parts.iter().map(|(_, it)| piece(it)).collect();
    let laid = lay(&pieces, &sheet, Effort::default());
    let too_large = |it: &&LayerPlan| {
        laid.too_large.iter().any(|&index| parts.get(index).is_some_and(|(_, part)| std::ptr::eq(*part, *it)))
    };
    for it in group.layers.iter().filter(too_large) {
        let size = piece(it).outline.bounds().unwrap_or_default().size();
        problems.push(findings::part_larger_than_board(it.layer, size, &sheet, matches!(it.way, Way::Holder(_))));
    }
    laid.boards.iter().map(|placements| board(group, &parts, placements)).collect()
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

fn board(group: &Group<'_>, parts: &[(u32, &LayerPlan<'_>)], placements: &[Placement]) -> Board {
    let stock = group.stock;
    let on_board = || placements.iter().filter_map(|it| parts.get(it.piece).map(|(dial, plan)| (it, *dial, *plan)));
    let any_two_faced = on_board().any(|(_, _, plan)| plan.way == Way::BoardOver);
    let turned = group.board_over && (any_two_faced || group.is_askew());
    let count = if turned || on_board().any(|(_, _, plan)| !matches!(plan.way, Way::OneFace(_))) { 2 } else { 1 };
    let placed: Vec<(PlacedPart, &LayerPlan)> = on_board()
        .map(|(placement, dial, plan)| {
            let at = placement.at * plan.base;
            let lies = if turned { turned_lies(plan.way, at, stock.board.0) } else { lies(plan.way, at, count) };
            let name = format!("{}-{dial}", plan.layer.name);
            (PlacedPart { name, layer: plan.layer.name.clone(), dial, lies }, plan)
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
