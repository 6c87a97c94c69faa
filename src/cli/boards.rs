//! The lines that every kind of `build` tells of its boards.

use serde_json::{Value, json};

use crate::diagnostics::counted;
use crate::plan::{Plan, StockUse};
use crate::units::plain;

pub(super) fn stock(used: &StockUse) -> Value {
    json!({
        "stock": used.stock,
        "figures": used.figures,
        "boards": used.boards,
        "least_boards": used.least_boards,
        "share_percent": plain(used.share * 100.0, 1),
    })
}

/// "54 % of birch becomes parts; by area alone no fewer boards than 1".
pub(super) fn yields(plan: &Plan) -> String {
    let words = plan.stocks.iter().map(|used| {
        let share = plain(used.share * 100.0, 0);
        format!(
            "{share} % of the {} becomes parts; by area alone {} would be the least",
            used.called(),
            used.least_boards
        )
    });
    words.collect::<Vec<String>>().join("; ")
}

/// "2 of birch, 1 of card, in 5 setups".
pub(super) fn boards(plan: &Plan) -> String {
    let used = plan.stocks.iter().filter(|used| used.boards > 0);
    let words: Vec<String> = used.map(|used| format!("{} of {}", used.boards, used.called())).collect();
    let setups: usize = plan.boards.iter().map(|board| board.setups.len()).sum();
    format!("{}, {} in all", words.join(", "), counted(setups, "setup"))
}
