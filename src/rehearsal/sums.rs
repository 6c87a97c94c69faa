//! What the list says that the work comes to over all boards, added up anew from the paths that it tells.

use std::f64::consts::PI;

use kurbo::{BezPath, ParamCurveArclen as _, PathEl, Point, Shape as _};
use serde::Deserialize;

use super::list::{Board, Edge, Lines, List, Operation, Work};
use super::remark::{Kind, Remarks};
use crate::units::plain;

/// Paths are written to three decimals, which is off either way: sums of them differ by hardly more than this, in mm or mm².
const ROUNDED: f64 = 0.02;
/// And by this share, since lengths of curves are told to within some.
const SHARE: f64 = 1e-3;
/// A share of a board is written to three decimals.
const SHARE_TOLD: f64 = 0.001;

/// What the work comes to, as it is told.
#[derive(Debug, Deserialize)]
pub(super) struct Summary {
    boards: usize,
    parts: usize,
    cut_length: f64,
    score_length: f64,
    engraved_area: f64,
    pocket_area: f64,
    travel: f64,
    stocks: Vec<StockUse>,
}

/// How well a stock is used.
#[derive(Debug, Deserialize)]
struct StockUse {
    stock: String,
    #[serde(default)]
    figures: Option<String>,
    boards: usize,
    least_boards: usize,
    share: f64,
}

/// Holds every sum against the work.
pub(super) fn look_over(list: &List, remarks: &mut Remarks) {
    let Some(told) = &list.summary else { return };
    let mut compare = |what: &str, told: f64, found: f64, within: f64, unit: &str| {
        // What is counted is told as it is.
        let share = if within > 0.0 { SHARE * found } else { 0.0 };
        if (told - found).abs() > within + share {
            let says = format!("{what} comes to {}{unit}, and {}{unit} is told", plain(found, 2), plain(told, 2));
            remarks.push(Kind::Sums, "the run", says);
        }
    };
    let all: Vec<&Operation> = list.boards.iter().flat_map(operations).collect();
    let sum = |of: fn(&Operation) -> f64| all.iter().map(|it| of(it)).sum::<f64>();
    #[allow(clippy::cast_precision_loss, reason = "parts of a run")]
    let count = |count: usize| count as f64;
    let parts: usize = list.boards.iter().map(|board| board.parts.len()).sum();
    compare("the number of boards", count(told.boards), count(list.boards.len()), 0.0, "");
    compare("the number of parts", count(told.parts), count(parts), 0.0, "");
    compare("what is cut", told.cut_length, sum(cut_length), ROUNDED, "mm");
    compare("what is scored", told.score_length, sum(score_length), ROUNDED, "mm");
    compare("what is engraved", told.engraved_area, sum(engraved_area), ROUNDED, "mm²");
    compare("what is sunk", told.pocket_area, sum(pocket_area), ROUNDED, "mm²");
    let travel: f64 = list.boards.iter().map(travel).sum();
    compare("what is moved without work", told.travel, travel, ROUNDED, "mm");
    stocks(list, told, remarks);
}

fn operations(board: &Board) -> impl Iterator<Item = &Operation> {
    board.setups.iter().flat_map(|setup| &setup.operations)
}

fn length(lines: &Lines) -> f64 {
    lines.path.segments().map(|segment| segment.arclen(1e-3)).sum()
}

fn cut_length(it: &Operation) -> f64 {
    if matches!(it.work, Work::Cut { .. }) { length(&it.path) } else { 0.0 }
}

fn score_length(it: &Operation) -> f64 {
    if matches!(it.work, Work::Score { .. }) { length(&it.path) } else { 0.0 }
}

/// Holes run the other way round, so they count against what surrounds them.
fn engraved_area(it: &Operation) -> f64 {
    if matches!(it.work, Work::Engrave { .. }) { it.path.path.area().abs() } else { 0.0 }
}

fn pocket_area(it: &Operation) -> f64 {
    if matches!(it.work, Work::Pocket { .. }) { it.path.path.area().abs() } else { 0.0 }
}

/// From the machine's zero to each line of each operation; what is filled is taken at the middle of its box.
fn travel(board: &Board) -> f64 {
    let of_setup = |operations: &[Operation]| {
        let (mut at, mut far) = (Point::ZERO, 0.0);
        for operation in operations {
            for (from, to) in lines(operation) {
                far += at.distance(from);
                at = to;
            }
        }
        far
    };
    board.setups.iter().map(|setup| of_setup(&setup.operations)).sum()
}

/// Where each line of an operation begins and ends.
fn lines(operation: &Operation) -> Vec<(Point, Point)> {
    if matches!(operation.work, Work::Engrave { .. } | Work::Pocket { .. }) {
        return operation.path.bounds().map(|bounds| (bounds.center(), bounds.center())).into_iter().collect();
    }
    let contour = |elements: &[PathEl]| {
        let first = elements.first().and_then(PathEl::end_point)?;
        let closed = matches!(elements.last(), Some(PathEl::ClosePath));
        let last = elements.iter().rev().find_map(PathEl::end_point).filter(|_| !closed);
        Some((first, last.unwrap_or(first)))
    };
    let elements = operation.path.path.elements();
    elements.chunk_by(|_, next| !matches!(next, PathEl::MoveTo(_))).filter_map(contour).collect()
}

/// Boards of each stock, and what part of them becomes parts: all within their finished outer edges.
fn stocks(list: &List, told: &Summary, remarks: &mut Remarks) {
    for stock in &told.stocks {
        let of = || list.boards.iter().filter(|board| board.stock == stock.stock);
        // Another stock of the same name is told apart by its figures alone.
        if told.stocks.iter().filter(|it| it.stock == stock.stock).count() > 1 && stock.figures.is_some() {
            continue;
        }
        if of().count() != stock.boards || stock.least_boards > stock.boards {
            let (count, most, least) = (of().count(), stock.boards, stock.least_boards);
            let says =
                format!("there are {count} boards of `{}`, and {most} are told, {least} at the least", stock.stock);
            remarks.push(Kind::Sums, "the run", says);
        }
        let used: f64 = of().flat_map(|board| operations(board).map(move |it| finished(it, board.kerf))).sum();
        let area: f64 = of().map(|board| board.width * board.height).sum();
        if area > 0.0 && (used / area - stock.share).abs() > SHARE_TOLD + SHARE * stock.share {
            let [is, told] = [used / area, stock.share].map(|share| plain(100.0 * share, 1));
            let says = format!("{is} % of the boards of `{}` become parts, and {told} % is told", stock.stock);
            remarks.push(Kind::Sums, "the run", says);
        }
    }
}

/// The area within a part's finished outer edge, by the path that half a kerf outside of it is cut along: Steiner's formula.
fn finished(operation: &Operation, kerf: f64) -> f64 {
    if !matches!(operation.work, Work::Cut { edge: Edge::Outline, .. }) {
        return 0.0;
    }
    let half = kerf / 2.0;
    let path: &BezPath = &operation.path.path;
    path.area().abs() - half * length(&operation.path) + PI * half * half
}
