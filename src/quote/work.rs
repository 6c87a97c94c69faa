//! Machine time.

use crate::design::{Design, Stock};
use crate::plan::{Operation, OperationKind, Plan};
use crate::units::{Time, plain};

// Moves between shapes and the head's turns at the ends of lines are not counted: a speed that was timed over a whole
// job holds them already, and whatever else is not stated is not guessed.
/// Machine time of one kind of operation on one stock.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkTime {
    /// Name of the stock.
    pub stock: String,
    /// `engrave`, `score`, `pocket` or `cut`.
    pub kind: &'static str,
    /// What there is to do: mm of line, or mm² of area with every pass of a pocket counted.
    pub amount: f64,
    /// How long it takes; none where a speed or the passes are not known.
    pub time: Option<Time>,
    /// What it is computed from.
    pub basis: String,
}

/// Kinds of operation, in the order they are done, each with whether it fills an area.
const KINDS: [(&str, bool); 4] = [("engrave", true), ("score", false), ("pocket", true), ("cut", false)];

pub(super) fn work(design: &Design, plan: &Plan, missing: &mut Vec<String>) -> Vec<WorkTime> {
    let mut stocks: Vec<&Stock> = Vec::new();
    for layer in &design.layers {
        if !stocks.iter().any(|stock| stock.name == layer.stock.name) {
            stocks.push(&layer.stock);
        }
    }
    let rows = stocks.iter().flat_map(|stock| KINDS.iter().map(move |(kind, fills)| (*stock, *kind, *fills)));
    rows.filter_map(|(stock, kind, fills)| row(stock, kind, fills, plan, missing)).collect()
}

fn row(stock: &Stock, kind: &'static str, fills: bool, plan: &Plan, missing: &mut Vec<String>) -> Option<WorkTime> {
    let boards = plan.boards.iter().filter(|board| board.stock == stock.name);
    let operations = boards.flat_map(|board| &board.setups).flat_map(|setup| &setup.operations);
    let amounts: Vec<Option<f64>> = operations.filter_map(|operation| amount(operation, kind)).collect();
    let known: Option<f64> = amounts.iter().copied().sum();
    let amount: f64 = amounts.iter().flatten().sum();
    if amounts.is_empty() {
        return None;
    }
    if known.is_none() {
        missing.push(format!("the `passes` of stock `{}` are not measured as deep as its pockets", stock.name));
    }
    let speed = match kind {
        "cut" => stock.speeds.cut,
        "score" => stock.speeds.score,
        _ => stock.speeds.engrave,
    };
    let unstated = |field: &str| format!("stock `{}` states no `{field}`", stock.name);
    let field = if fills { "engrave_speed".to_owned() } else { format!("{kind}_speed") };
    if speed.is_none() && !missing.contains(&unstated(&field)) {
        missing.push(unstated(&field));
    }
    if fills && stock.speeds.line_spacing.is_none() && !missing.contains(&unstated("line_spacing")) {
        missing.push(unstated("line_spacing"));
    }
    let spacing = if fills { stock.speeds.line_spacing.map(|spacing| spacing.as_mm()) } else { Some(1.0) };
    let rate = speed.zip(spacing).map(|(speed, spacing)| speed.as_mm_per_second() * spacing);
    let time = known.zip(rate).map(|(amount, rate)| Time::seconds(amount / rate));
    let basis = match (speed, stock.speeds.line_spacing) {
        (None, _) => "no speed measured".to_owned(),
        (Some(speed), _) if !fills => format!("{} mm at {speed}", plain(amount, 0)),
        (Some(_), None) => "no line spacing stated".to_owned(),
        (Some(speed), Some(spacing)) => format!("{}mm² at {speed}, lines {spacing} apart", plain(amount, 0)),
    };
    Some(WorkTime { stock: stock.name.clone(), kind, amount, time, basis })
}

/// What one operation of this kind adds: nothing where it is of another, an unknown amount where passes are.
fn amount(operation: &Operation, kind: &str) -> Option<Option<f64>> {
    #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
    match (&operation.kind, kind) {
        (OperationKind::Engrave { .. }, "engrave") => Some(Some(operation.engraved_area())),
        (OperationKind::Score { .. }, "score") => Some(Some(operation.score_length().as_mm())),
        (OperationKind::Pocket { depth, .. }, "pocket") => {
            Some(depth.passes().map(|passes| operation.pocket_area() * passes.count as f64))
        }
        (OperationKind::Cut { .. }, "cut") => Some(Some(operation.cut_length().as_mm())),
        _ => None,
    }
}
