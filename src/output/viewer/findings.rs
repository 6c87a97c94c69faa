//! The findings, each with its lines of source, and its place on the picture.

use maud::{Markup, html};

use crate::audit::{CheckedReading, ReadingCheck};
use crate::design::Design;
use crate::diagnostics::{Diagnostic, SourceLines, source_lines};
use crate::geometry::Region;
use crate::output::markup::marked;
use crate::source::Sources;
use crate::units::plain;

/// All findings, to be chosen one by one. Without a design they have no place on a picture.
pub fn list(findings: &[&Diagnostic], sources: &Sources, dial: Option<(&Design, &ReadingCheck)>) -> Markup {
    // Both kinds of list may stand on one page.
    let kind = if dial.is_some() { "finding" } else { "fault" };
    html! {
        @if findings.is_empty() { p { "None: all is well." } }
        @else {
            ol.found { @for (at, found) in findings.iter().enumerate() {
                @let place = dial.map(|(design, check)| Place { spot: spot(design, found), stops: stops(check, found) });
                (one(&format!("{kind}-{}", at + 1), found, &place.unwrap_or_default(), sources))
            } }
        }
    }
}

/// Where a finding is seen.
#[derive(Default)]
struct Place {
    /// Layer and place in mm, as `layer x y`.
    spot: Option<String>,
    /// The stops of the turns, as `turn:stop`, both counted from 0.
    stops: Option<String>,
}

fn one(id: &str, found: &Diagnostic, place: &Place, sources: &Sources) -> Markup {
    let weight = if found.accepted.is_some() { "accepted" } else { found.severity.word() };
    html! {
        li.(weight) {
            button type="button" aria-expanded="false" aria-controls=(id) data-finding="" data-spot=[place.spot.as_ref()]
                data-at=[place.stops.as_ref()] {
                span.weight { (weight) } " " span.message { (marked(&found.message)) }
                @if place.spot.is_some() || place.stops.is_some() { span.placed { " on the picture" } }
            }
            div.source id=(id) hidden {
                @for label in &found.labels { (excerpt(&source_lines(label.span, sources), &label.text)) }
                @if let Some(reason) = &found.accepted { p { "Accepted: " bdi { (reason) } } }
                @else if let Some(help) = &found.help { p { (marked(help)) } }
                p.name { (found.finding.name()) }
            }
        }
    }
}

fn excerpt(place: &SourceLines, says: &str) -> Markup {
    html! {
        figure {
            figcaption { (place.place) @if !says.is_empty() { ": " (marked(says)) } }
            pre { @for line in &place.lines {
                span.line { span.number { (line.number) } " " (line.before) mark { (line.marked) } (line.after) "\n" }
            } }
        }
    }
}

/// The stops that a finding is about: those that it names, or else the first at which the reading misreads that it is about.
fn stops(check: &ReadingCheck, found: &Diagnostic) -> Option<String> {
    let subject = found.subject.as_deref()?;
    let about = |reading: &&CheckedReading| reading.ring == subject || reading.by.iter().any(|by| by == subject);
    let reading = check.readings.iter().find(about)?;
    // What stands between backticks is somebody else's text.
    let words: String = found.message.split('`').step_by(2).collect();
    let named = words.split_once("stop ").or_else(|| words.split_once("stops ")).map_or("", |(_, rest)| rest);
    let words = named.split([' ', ',']).filter(|word| *word != "and" && !word.starts_with('('));
    let named: Vec<usize> = words.map_while(|word| word.parse::<usize>().ok()?.checked_sub(1)).collect();
    let stop = reading
        .stops
        .iter()
        .find(|stop| stop.stops == named)
        .or_else(|| reading.stops.iter().find(|stop| !stop.reads))?;
    let pairs = reading.turns.iter().zip(&stop.stops).map(|(turn, stop)| format!("{turn}:{stop}"));
    Some(pairs.collect::<Vec<_>>().join(" "))
}

/// Layer and place in mm, as `layer x y`; none where the finding has no place on the picture.
fn spot(design: &Design, found: &Diagnostic) -> Option<String> {
    let subject = found.subject.as_deref()?;
    let layer = design.layer(subject).map(|(at, _)| at);
    let ring = || design.ring(subject).map(|(at, _)| at);
    let mark = design.mark(subject);
    let layer = layer.or_else(ring).or(mark.map(|(at, _)| at)).or((subject == "slot").then_some(0))?;
    let middle = || match &mark?.1.shape {
        crate::design::Shape::Region(region) => Region::bounds(region).map(|bounds| bounds.center()),
        crate::design::Shape::Trace(_) => None,
    };
    let at = found.spot.or_else(middle)?;
    Some(format!("{layer} {} {}", plain(at.x, 3), plain(at.y, 3)))
}
