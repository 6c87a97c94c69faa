//! The answer for programs: see `grammar/seek.schema.json`.

use std::sync::Arc;

use serde_json::{Value, json};

use crate::cli::report::rounded;
use crate::diagnostics::{self, Diagnostic};
use crate::family::question::End;
use crate::seek::{Answer, Best, Conflict, Outcome, Place, Price, Reach, Stretch, Traded};
use crate::source::Sources;
use crate::syntax::tree::Expr;
use crate::units::Quantity;

/// Raised when a reader of the former form could misread it.
const VERSION: u32 = 1;

pub(super) fn refused(found: &[Diagnostic], sources: &Sources) -> Value {
    json!({ "version": VERSION, "outcome": "refused", "findings": diagnostics::as_json(found, sources) })
}

/// The answers to what the file itself seeks, each with its name.
pub(super) fn stated(seeks: Vec<Value>) -> Value {
    json!({ "version": VERSION, "seeks": seeks })
}

pub(super) fn answer(answer: &Answer, asked: Option<(End, &Expr)>, sources: &Sources, written: Option<&str>) -> Value {
    let asked = asked.map(|(end, asked)| {
        let end = if end == End::Least { "least" } else { "most" };
        json!({ "end": end, "of": sources.text(asked.span) })
    });
    let mut said = json!({
        "version": VERSION,
        "asked": asked,
        "outcome": "",
        "looked_at": answer.looked_at,
        "looked_at_all": !answer.is_full,
        "broken_now": names(&answer.broken_now),
        "trade": answer.trade.iter().map(|line| traded(answer, line)).collect::<Vec<_>>(),
        "findings": diagnostics::as_json(&answer.standing, sources),
        "written": written.is_some(),
    });
    let (word, held) = match &answer.outcome {
        Outcome::Best(best) => ("best", best_json(answer, best)),
        Outcome::Reaches(reaches) => {
            ("reaches", reaches.iter().map(|reach| reach_json(answer, reach)).collect::<Vec<_>>().into())
        }
        Outcome::Impossible(conflict) => ("impossible", conflict_json(answer, conflict)),
    };
    if let Some(fields) = said.as_object_mut() {
        fields.insert("outcome".to_owned(), word.into());
        fields.insert(word.to_owned(), held);
    }
    said
}

fn quantity(quantity: Quantity) -> Value {
    let (value, unit) = quantity.in_unit();
    json!({ "value": value, "unit": unit })
}

fn names(names: &[Arc<str>]) -> Vec<&str> {
    names.iter().map(|name| &**name).collect()
}

fn values(answer: &Answer, place: &Place) -> Value {
    answer.texts(place).into_iter().map(|(name, text)| (name.to_owned(), Value::from(text))).collect()
}

fn best_json(answer: &Answer, best: &Best) -> Value {
    json!({
        "values": values(answer, &best.place),
        "measured": quantity(best.measured),
        "as_built": answer.as_built.map(quantity),
        "unrounded": best.unrounded.map(quantity),
        "before": best.before.map(quantity),
        "rounded": best.is_rounded,
        "proven": answer.standing.is_empty(),
        "held_by": best.held_by.iter().map(|price| price_json(price, best.measured)).collect::<Vec<_>>(),
        "stretches": answer.stretches.iter().map(|it| stretch_json(answer, it)).collect::<Vec<_>>(),
    })
}

/// What one unit more of the limit costs, both in the units that people use.
fn price_json(price: &Price, measured: Quantity) -> Value {
    let cost = price.price.map(|(cost, dimension)| {
        let (own, own_unit) = Quantity { value: 1.0, dimension }.in_unit();
        let (cost, unit) = Quantity { value: cost, ..measured }.in_unit();
        json!({ "costs": rounded(cost / own), "unit": unit, "for_each": own_unit })
    });
    json!({ "limit": &*price.limit, "price": cost })
}

fn stretch_json(answer: &Answer, stretch: &Stretch) -> Value {
    json!({
        "from": values(answer, &stretch.ends.0),
        "to": values(answer, &stretch.ends.1),
        "less_breaks": names(&stretch.beyond.0),
        "more_breaks": names(&stretch.beyond.1),
    })
}

fn reach_json(answer: &Answer, reach: &Reach) -> Value {
    let name = answer.free.get(reach.of).map(|free| free.param.name.as_str());
    let stretches = reach.stretches.iter().map(|it| stretch_json(answer, it));
    json!({ "param": name, "stretches": stretches.collect::<Vec<_>>() })
}

fn conflict_json(answer: &Answer, conflict: &Conflict) -> Value {
    let nearest = conflict.nearest.iter().map(
        |near| json!({ "breaks": &*near.limit, "by": near.by.map(quantity), "values": values(answer, &near.place) }),
    );
    json!({ "together": names(&conflict.together), "nearest": nearest.collect::<Vec<_>>() })
}

fn traded(answer: &Answer, line: &Traded) -> Value {
    let best = line
        .best
        .as_ref()
        .map(|(place, measured)| json!({ "values": values(answer, place), "measured": quantity(*measured) }));
    json!({ "asked": quantity(line.asked), "best": best })
}
