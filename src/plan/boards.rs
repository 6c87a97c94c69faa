//! The boards of one stock: its parts laid, named and turned, setup by setup.

use kurbo::{Affine, Vec2};

use super::face_sequence::other;
use super::findings;
use super::flip::FlipMethod;
use super::layer_plan::{LayerPlan, item};
use super::model::{Board, Lie, PlacedPart, StockUse};
use super::nest::{Effort, Placement};
use super::prints;
use super::setups;
use super::stock_group::StockGroup;
use crate::design::Centred;
use crate::diagnostics::Problems;
use crate::geometry::mirror;
use crate::units::Length;

/// The boards of one stock, their setups in order.
pub(super) fn boards(
    designs: &[Centred<'_>],
    group: &StockGroup<'_>,
    effort: Effort,
    problems: &mut Problems,
) -> (Vec<Board>, StockUse) {
    let sheet = group.sheet();
    let parts = group.parts(designs);
    let names = names(designs);
    let laid = group.nest(&parts, effort);
    let too_large = |it: &&LayerPlan| {
        laid.too_large.iter().any(|&index| parts.get(index).is_some_and(|(_, part)| std::ptr::eq(*part, *it)))
    };
    for it in group.layers.iter().filter(too_large) {
        let size = item(it).outline.bounds().unwrap_or_default().size();
        problems.push(findings::part_larger_than_board(
            it.layer,
            size,
            &sheet,
            matches!(it.method, FlipMethod::Holder(_)),
        ));
    }
    for it in group.layers.iter().filter(|it| widest(it) < SMALL_MM) {
        problems.push(findings::part_very_small(it.layer, Length::mm(widest(it)), Length::mm(SMALL_MM)));
    }
    if let Some(it) = group.layers.iter().find(|it| it.layer.is_printed())
        && let Some(printer) = group.printer().filter(|printer| !printer.takes(group.stock.board))
    {
        problems.push(findings::sheet_too_large(it.layer, printer));
    }
    let kept = (Length::mm(sheet.margin), Length::mm(sheet.gap));
    let boards: Vec<Board> =
        laid.boards.iter().map(|placements| board(group, &names, &parts, placements, kept)).collect();
    let hidden = boards.iter().find_map(|board| board.print.as_ref()?.hidden_cross(&sheet.keep_out));
    problems.extend(hidden.and_then(|at| {
        let it = group.layers.iter().find(|it| it.layer.is_printed())?;
        Some(findings::cross_under_clamp(it.layer, at))
    }));
    let laid_parts = laid.boards.iter().flatten().filter_map(|it| parts.get(it.item));
    let used: f64 = laid_parts.map(|(_, it)| it.cuts.outline.finished.area()).sum();
    #[allow(clippy::cast_precision_loss, reason = "far fewer boards than that")]
    let area = sheet.width * sheet.height * boards.len().max(1) as f64;
    let stock = group.stock.name.clone();
    let shop = group.sharing.first().and_then(|design| design.shop.clone());
    let shop = shop.map_or_else(|| "nominal".to_owned(), |shop| format!("`{shop}`"));
    let figures = Some(format!("{} thick, kerf {}, {shop}", group.stock.thickness.mean, group.stock.kerf));
    let stock_use =
        StockUse { stock, figures, boards: boards.len(), least_boards: laid.least_boards, share: used / area };
    (boards, stock_use)
}

/// A part that is smaller every way may fall between the slats or through the comb that boards lie on, in mm (common practice,
/// no source: combs are 6 to 13 wide, slats 15 and more apart).
const SMALL_MM: f64 = 15.0;

/// How wide a part is where it is widest along or across its board, in mm.
fn widest(part: &LayerPlan) -> f64 {
    part.layer.outline.bounds().map_or(f64::INFINITY, |bounds| bounds.width().max(bounds.height()))
}

/// What the names of each design's parts begin with: nothing where there is one design, else its title or variant in
/// small letters, numbered where two are alike.
fn names(designs: &[Centred<'_>]) -> Vec<String> {
    if designs.len() < 2 {
        return vec![String::new()];
    }
    let mut names: Vec<String> = Vec::new();
    for Centred { design, .. } in designs {
        let title = format!("{} {}", design.title, design.variant.as_deref().unwrap_or_default()).to_lowercase();
        let words: Vec<&str> = title.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let name = words.join("-");
        let numbered = (2..).map(|number| format!("{name}-{number}."));
        let free = std::iter::once(format!("{name}.")).chain(numbered).find(|name| !names.contains(name));
        names.extend(free);
    }
    names
}

fn board(
    group: &StockGroup<'_>,
    names: &[String],
    parts: &[(u32, &LayerPlan<'_>)],
    placements: &[Placement],
    (margin, gap): (Length, Length),
) -> Board {
    let stock = group.stock;
    let on_board = || placements.iter().filter_map(|it| parts.get(it.item).map(|(dial, plan)| (it, *dial, *plan)));
    let turns = group.turns(on_board().map(|(_, _, plan)| plan));
    // A board whose parts all have one face is not turned, whatever others of its stock need.
    let turned = group.board_over && turns > 1;
    let any_lifted = on_board().any(|(_, _, plan)| !matches!(plan.method, FlipMethod::OneFace(_)));
    let count = if turned { turns } else { 1 + usize::from(any_lifted) };
    let mut placed: Vec<(PlacedPart, &LayerPlan)> = on_board()
        .map(|(placement, dial, plan)| {
            let at = placement.at * plan.base;
            let lies = if turned { turned_lies(plan, at, stock.board.0, count) } else { lies(plan, at, count) };
            let design = names.get(plan.design).map_or("", String::as_str);
            let name = format!("{design}{}-{dial}", plan.layer.name);
            (PlacedPart { name, design: plan.design, layer: plan.layer.name.clone(), dial, inside: None, lies }, plan)
        })
        .collect();
    for guest in setups::guests(&placed) {
        if let Some((part, _)) = placed.get_mut(guest.part) {
            part.inside = Some(guest.host);
        }
    }
    let print = prints::print(&placed, stock.board, turned, &group.printer().cloned().unwrap_or_default());
    Board {
        stock: stock.name.clone(),
        colour: stock.colour,
        size: stock.board,
        thickness: stock.thickness.mean,
        kerf: stock.kerf,
        margin,
        gap,
        setups: setups::setups(&placed, (stock, print.as_ref()), turned, count),
        print,
        parts: placed.into_iter().map(|(part, _)| part).collect(),
    }
}

/// How a part lies on a board that stays as it is: worked and cut first, then turned over where it has another face.
fn lies(plan: &LayerPlan<'_>, at: Affine, setups: usize) -> Vec<Lie> {
    let first = Lie { up: plan.method.up_when_cut(&plan.sequence), at, worked: true, cut: true };
    let over = Lie { up: other(first.up), worked: true, cut: false, ..first };
    let second = match plan.method {
        FlipMethod::OwnOpening(axis) => Lie { at: at * mirror(axis), ..over },
        FlipMethod::Holder(turned) => Lie { at: at * turned, ..over },
        FlipMethod::OneFace(_) | FlipMethod::BoardOver => Lie { worked: false, cut: false, ..first },
    };
    [first, second].into_iter().take(setups).collect()
}

/// How a part lies on a board that is turned over time and again: everything is cut in the last setup, `at` being its
/// place there, and nothing lies loose when the board is turned. A part with fewer faces to show comes in later.
fn turned_lies(plan: &LayerPlan<'_>, at: Affine, width: Length, setups: usize) -> Vec<Lie> {
    let over = Affine::translate(Vec2::new(width.as_mm(), 0.0)) * Affine::FLIP_X;
    let last = Lie { up: plan.method.up_when_cut(&plan.sequence), at, worked: true, cut: true };
    let lie = |left: usize| {
        let lie = if left.is_multiple_of(2) { last } else { Lie { up: other(last.up), at: over * at, ..last } };
        Lie { worked: left < plan.sequence.faces.len(), cut: left == 0, ..lie }
    };
    (0..setups).rev().map(lie).collect()
}
