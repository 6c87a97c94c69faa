//! The answer in lines, for people.

use crate::analysis::CheckedSession;
use crate::cli::family::rows;
use crate::diagnostics::counted;
use crate::family::question::End;
use crate::format;
use crate::seek::{Answer, Best, Conflict, Free, Outcome, Place, Price, Question, Reach, Stretch};
use crate::units::{Dimension, Quantity};

/// Limits that hold, and stretches, that are shown; programs are told all.
const SHOWN: usize = 8;

pub(super) fn answer(answer: &Answer, question: &Question<'_>, session: &CheckedSession<'_>) {
    let asked = question
        .best
        .map(|(end, asked)| (end, format::one_line(asked, &session.sources().file(asked.span.source).text)));
    let (end, asked) = asked.unwrap_or((End::Least, String::new()));
    match &answer.outcome {
        Outcome::Best(best) => found(answer, best, &asked),
        Outcome::Reaches(reaches) => reaches.iter().for_each(|reach| reached(answer, reach)),
        Outcome::Impossible(conflict) => impossible(answer, conflict),
    }
    traded(answer, question, session, &asked);
    let more = match (&answer.outcome, end) {
        _ if answer.is_full => "no more are looked at for one question, so that there may be better ones",
        (Outcome::Best(_), End::Least) => "none less was found, which is no proof",
        (Outcome::Best(_), End::Most) => "none more was found, which is no proof",
        (Outcome::Reaches(_), _) => "what is narrower than a sixteenth of a range may be missed",
        (Outcome::Impossible(_), _) => "none that keeps all of it was found, which is no proof",
    };
    line("looked at", &format!("{}; {more}", counted(answer.looked_at, "design")));
}

fn line(what: &str, words: &str) {
    println!("{what:<10} {words}");
}

/// The values at a place.
fn values(answer: &Answer, place: &Place) -> String {
    let texts = answer.texts(place);
    texts.iter().map(|(name, text)| format!("{name} {text}")).collect::<Vec<_>>().join(", ")
}

fn found(answer: &Answer, best: &Best, asked: &str) {
    line("best", &values(answer, &best.place));
    let unrounded = best.unrounded.map(|it| format!("; {it} before it was rounded"));
    let built = answer.as_built.filter(|built| built.to_string() != best.measured.to_string());
    let built = built.map(|it| format!("; {it} with its boards laid out as `build` does it"));
    let before = match best.before {
        Some(before) => format!("; {before} as the file stands"),
        None => format!("; as the file stands it breaks {}", some(answer.broken_now.iter().map(|it| &**it))),
    };
    let told = [unrounded, built, Some(before)].into_iter().flatten().collect::<String>();
    line("measured", &format!("{asked} is {}{told}", best.measured));
    let proven = match (best.is_rounded, answer.standing.is_empty()) {
        (false, _) => "not rounded: no values of that step near it keep all of it".to_owned(),
        (true, true) => "anew as it stands here: nothing is wrong with it".to_owned(),
        (true, false) => format!("not: {} of it", counted(answer.standing.len(), "finding")),
    };
    line("proven", &proven);
    for (at, price) in best.held_by.iter().take(SHOWN).enumerate() {
        line(if at == 0 { "held by" } else { "" }, &held(price, best.measured.dimension, asked));
    }
    if best.held_by.is_empty() && answer.free.iter().any(Free::is_smooth) {
        line("held by", "nothing that was found: it gets worse on every side");
    }
    for (at, stretch) in answer.stretches.iter().take(SHOWN).enumerate() {
        line(if at == 0 { "works" } else { "" }, &stretched(answer, stretch));
    }
}

/// Limits by name, of many the first.
fn some<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.collect();
    let shown = names.get(..3).unwrap_or(&names).join(", ");
    if names.len() > 3 { format!("{shown} and {} more", names.len() - 3) } else { shown }
}

/// A limit, and what a little more of it costs.
fn held(price: &Price, dimension: Dimension, asked: &str) -> String {
    let Some((cost, own)) = price.price else { return format!("{}, for which no price can be told", price.limit) };
    let little = Quantity { value: little(own), dimension: own };
    let cost = Quantity { value: cost * little.value, dimension };
    format!("{}: {little} more of it costs {cost} of {asked}", price.limit)
}

/// A little of something, in base units.
fn little(dimension: Dimension) -> f64 {
    match dimension {
        Dimension::LENGTH => 0.1,
        Dimension::FORCE => 100.0,
        Dimension::TORQUE => 1000.0,
        Dimension::NUMBER => 0.01,
        Dimension::MASS => 0.001,
        _ => 1.0,
    }
}

/// From where to where a param may go, and what ends it.
fn stretched(answer: &Answer, stretch: &Stretch) -> String {
    let (from, to) = (answer.texts(&stretch.ends.0), answer.texts(&stretch.ends.1));
    let parts =
        from.iter().zip(&to).map(
            |((name, from), (_, to))| {
                if from == to { format!("{name} {from}") } else { format!("{name} {from} to {to}") }
            },
        );
    let parts: Vec<String> = parts.collect();
    let beyond = |names: &[std::sync::Arc<str>], word: &str| {
        let told = || format!("{word} breaks {}", some(names.iter().map(|it| &**it)));
        (!names.is_empty()).then(told)
    };
    let beyond: Vec<String> =
        [beyond(&stretch.beyond.0, "less"), beyond(&stretch.beyond.1, "more")].into_iter().flatten().collect();
    let beyond = if beyond.is_empty() { String::new() } else { format!(": {}", beyond.join("; ")) };
    format!("{}{beyond}", parts.join(", "))
}

fn reached(answer: &Answer, reach: &Reach) {
    let Some(free) = answer.free.get(reach.of) else { return };
    let name = &free.param.name;
    let now = free.text(free.start);
    if reach.stretches.is_empty() {
        line(name, &format!("{now} as it stands; nothing between its bounds keeps all of it, all else as it stands"));
    }
    for (at, stretch) in reach.stretches.iter().enumerate() {
        let place = |place: &Place| place.get(reach.of).copied().unwrap_or_default();
        let (from, to) = (place(&stretch.ends.0), place(&stretch.ends.1));
        let range = if from == to { free.text(from) } else { format!("{} to {}", free.text(from), free.text(to)) };
        let ends = |names: &[std::sync::Arc<str>], word: &str| match names {
            [] => None,
            names => Some(format!("{word} breaks {}", some(names.iter().map(|it| &**it)))),
        };
        let told: Vec<String> =
            [ends(&stretch.beyond.0, "less"), ends(&stretch.beyond.1, "more")].into_iter().flatten().collect();
        let told = if told.is_empty() { "all that its bounds allow".to_owned() } else { told.join("; ") };
        let here = if (from..=to).contains(&free.start) { format!(", now {now}") } else { String::new() };
        line(if at == 0 { name } else { "" }, &format!("{range}{here}: {told}"));
    }
}

fn impossible(answer: &Answer, conflict: &Conflict) {
    for (at, limit) in conflict.together.iter().enumerate() {
        line(
            if at == 0 { "impossible" } else { "" },
            &format!("{}{limit}", if at == 0 { "together: " } else { "and " }),
        );
    }
    for (at, near) in conflict.nearest.iter().enumerate() {
        let by = near.by.map_or_else(|| "broken".to_owned(), |by| format!("missed by {by}"));
        let words = format!("{} {by}, all else kept, at {}", near.limit, values(answer, &near.place));
        line(if at == 0 { "nearest" } else { "" }, &words);
    }
    if conflict.nearest.is_empty() {
        line("nearest", "none that breaks one of them alone");
    }
}

fn traded(answer: &Answer, question: &Question<'_>, session: &CheckedSession<'_>, asked: &str) {
    let Some(trade) = question.trade.filter(|_| !answer.trade.is_empty()) else { return };
    let words = format::one_line(trade.measured, &session.sources().file(trade.measured.span.source).text);
    let sign = if trade.at_least { ">=" } else { "<=" };
    let mut columns: Vec<(String, Vec<String>)> =
        vec![(format!("{words} {sign}"), Vec::new()), (asked.to_owned(), Vec::new())];
    columns.extend(answer.free.iter().map(|free| (free.param.name.clone(), Vec::new())));
    for line in &answer.trade {
        let mut cells = vec![line.asked.to_string()];
        match &line.best {
            Some((place, measured)) => {
                cells.push(measured.to_string());
                cells.extend(answer.texts(place).into_iter().map(|(_, text)| text));
            }
            None => cells.push("nothing found".to_owned()),
        }
        cells.resize(columns.len(), String::new());
        columns.iter_mut().zip(cells).for_each(|((_, own), cell)| own.push(cell));
    }
    println!("\n{}\n", rows(&columns));
}
