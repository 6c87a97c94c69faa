//! What every kind of `build` makes of a plan: its files, and the lines that tell of its boards.

use serde_json::{Value, json};

use crate::analysis::Dial;
use crate::diagnostics::Diagnostic;
use crate::diagnostics::findings::counted;
use crate::output::page::Paper;
use crate::output::{self, OutputFile, Printing, viewer};
use crate::parallel::side_by_side;
use crate::plan::{Plan, StockUse};
use crate::quote::Quote;
use crate::source::Sources;
use crate::units::plain;

/// Everything that is written of a dial, with what was found of it; what is for printing where a paper is given.
pub(super) fn all_files(
    dial: &Dial,
    (plan, quote): (&Plan, &Quote),
    findings: &[Diagnostic],
    sources: &Sources,
    paper: Option<Paper>,
) -> Result<Vec<OutputFile>, String> {
    let shown = viewer::Shown {
        design: &dial.design,
        proof: &dial.audit.proof,
        findings: findings.iter().collect(),
        revision: dial.revision,
        sources,
    };
    let (mut files, page) =
        side_by_side(|| output::files(&dial.design, &dial.audit, (plan, quote), sources), || viewer::file(&shown));
    files.push(page);
    if let Some(paper) = paper {
        files.extend(output::prints(&Printing {
            design: &dial.design,
            audit: &dial.audit,
            plan,
            quote,
            expectations: &dial.expectations,
            findings: findings.iter().collect(),
            sources,
            revision: &dial.revision,
            paper,
        })?);
    }
    Ok(files)
}

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
