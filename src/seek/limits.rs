//! The limits of findings that can be measured: how far the dial is from each, also where it is kept.

use std::sync::Arc;

use super::looks::Slack;
use crate::analysis::Dial;
use crate::audit::strength::least_web;
use crate::audit::tolerance::SURE;
use crate::design::ReadsHow;
use crate::diagnostics::Finding;
use crate::physics::legibility::LEAST;
use crate::syntax::tree::{Argument, Expr, ExprKind};
use crate::units::{Dimension, Length};
use crate::vocabulary::measures::MeasureName;

/// A slack, and the findings that tell of it once it is below zero.
pub(super) struct Limit {
    pub(super) name: String,
    pub(super) findings: &'static [Finding],
    pub(super) slack: Slack,
}

/// What a measure of readings is the least of: one number for each stop and side of it, without end where nothing bounds that side.
pub(super) fn parts_of(dial: &Dial, asked: &Expr) -> Option<Vec<f64>> {
    let ExprKind::Call { function, arguments } = &asked.kind else { return None };
    let [Argument { value: Expr { kind: ExprKind::Name(ring), .. }, .. }] = arguments.as_slice() else { return None };
    let stops = dial.audit.reading_check.of_ring(ring);
    let mm = |length: Option<Length>| length.map_or(f64::INFINITY, Length::as_mm);
    match MeasureName::of_word(&function.text)? {
        MeasureName::Margin => Some(stops.map(|stop| mm(stop.near_margin())).collect()),
        MeasureName::AngularSlack => {
            Some(stops.flat_map(|stop| [stop.slack.0.as_degrees(), stop.slack.1.as_degrees()]).collect())
        }
        MeasureName::CentringSlack => {
            Some(stops.flat_map(|stop| [mm(stop.near_margin()), mm(stop.foreign_gap)]).collect())
        }
        _ => None,
    }
}

/// All of them, those of accepted findings left out.
pub(super) fn limits(dial: &Dial) -> Vec<Limit> {
    let accepted = &dial.design.accepted;
    let mut all: Vec<Limit> = readings(dial).chain(slot(dial)).chain(parts(dial)).chain(turns(dial)).collect();
    all.retain(|limit| limit.findings.iter().all(|it| accepted.iter().all(|accepted| accepted.finding != it.name())));
    all
}

fn limit(name: String, limit: &str, findings: &'static [Finding], value: f64, dimension: Dimension) -> Limit {
    Limit { name, findings, slack: Slack { value, dimension, limit: Arc::from(limit) } }
}

fn length(name: String, told: &str, findings: &'static [Finding], value: Length) -> Limit {
    limit(name, told, findings, value.as_mm(), Dimension::LENGTH)
}

/// Every stop by itself: the least of them would hide which of them is in the way.
fn readings(dial: &Dial) -> impl Iterator<Item = Limit> {
    let check = &dial.audit.reading_check;
    let of_stops = check.readings.iter().flat_map(|reading| {
        let (ring, by) = (&reading.ring, reading.by.join(", "));
        let beside = reading.how != ReadsHow::Through;
        let whole = if beside { format!("`{ring}` read beside `{by}`") } else { format!("`{ring}` whole in `{by}`") };
        let alone = format!("nothing else in `{by}`");
        reading.stops.iter().flat_map(move |stop| {
            let at = |what: &str| format!("{what} {ring} {by} {:?}", stop.stops);
            let telling = &[Finding::ReadingHidden, Finding::ReadingWrong];
            let whole = stop.near_margin().map(|margin| length(at("whole"), &whole, telling, margin));
            let gap = stop.foreign_gap.filter(|_| !beside);
            whole.into_iter().chain(gap.map(|gap| length(at("alone"), &alone, &[Finding::ReadingShared], gap)))
        })
    });
    let whole = dial.audit.dial_yield(&dial.design).filter(|_| check.reads());
    let sure = whole.map(|whole| {
        let told = format!("{} of 100 dials read right", 100.0 * SURE);
        limit("sure".to_owned(), &told, &[Finding::ReadingUnsure], whole.share.share - SURE, Dimension::NUMBER)
    });
    let small = dial.audit.legibility.rings.iter().filter_map(|ring| {
        let told = format!("`{}` large enough to read", ring.ring);
        let room = ring.angle?.0 - LEAST.0;
        Some(limit(format!("small {}", ring.ring), &told, &[Finding::LabelTooSmall], room / 60.0, Dimension::ANGLE))
    });
    of_stops.chain(sure).chain(small)
}

fn slot(dial: &Dial) -> impl Iterator<Item = Limit> {
    let fit = dial.audit.fit.iter();
    fit.flat_map(|fit| {
        let goes_in = fit
            .worst()
            .map(|worst| length("slot".to_owned(), "goes into its slot", &[Finding::TooBigForSlot], worst.clearance));
        let deep = fit
            .above
            .map(|above| length("slot depth".to_owned(), "slot deep enough", &[Finding::TooThickForSlot], above));
        goes_in.into_iter().chain(deep)
    })
}

fn parts(dial: &Dial) -> impl Iterator<Item = Limit> {
    dial.audit.strength.layers.iter().flat_map(|found| {
        let layer = dial.design.layer(&found.layer).map(|(_, layer)| layer);
        let web = layer.zip(found.web.as_ref()).map(|(layer, web)| {
            let told = format!("webs of `{}` wide enough", found.layer);
            length(format!("web {}", found.layer), &told, &[Finding::WebTooThin], web.width - least_web(layer))
        });
        let floor = layer.zip(found.floor.as_ref()).map(|(layer, floor)| {
            let told = format!("floors of `{}` thick enough", found.layer);
            let room = floor.left - layer.stock.least_floor;
            length(format!("floor {}", found.layer), &told, &[Finding::FloorTooThin], room)
        });
        web.into_iter().chain(floor)
    })
}

fn turns(dial: &Dial) -> impl Iterator<Item = Limit> {
    dial.audit.holding.turns.iter().filter_map(|turn| {
        let upper = dial.design.layers.get(turn.below + 1)?;
        let told = format!("`{}` stays where it is put", upper.name);
        let room = turn.stays()? - 1.0;
        Some(limit(format!("stays {}", upper.name), &told, &[Finding::SlipsByItself], room, Dimension::NUMBER))
    })
}
