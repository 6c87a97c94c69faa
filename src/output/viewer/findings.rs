//! The findings, each with its lines of source, and its place on the picture.

use maud::{Markup, html};

use crate::design::Design;
use crate::diagnostics::{Diagnostic, SourceLines, source_lines};
use crate::geometry::Region;
use crate::output::markup::marked;
use crate::source::Sources;
use crate::units::plain;

/// All findings, to be chosen one by one. Without a design they have no place on a picture.
pub fn list(findings: &[&Diagnostic], sources: &Sources, design: Option<&Design>) -> Markup {
    // Both kinds of list may stand on one page.
    let kind = if design.is_some() { "finding" } else { "fault" };
    html! {
        @if findings.is_empty() { p { "None: all is well." } }
        @else {
            ol.found { @for (at, found) in findings.iter().enumerate() {
                (one(&format!("{kind}-{}", at + 1), found, design.and_then(|design| spot(design, found)), sources))
            } }
        }
    }
}

fn one(id: &str, found: &Diagnostic, spot: Option<String>, sources: &Sources) -> Markup {
    let weight = if found.accepted.is_some() { "accepted" } else { found.severity.word() };
    html! {
        li.(weight) {
            button type="button" aria-expanded="false" aria-controls=(id) data-finding="" data-spot=[spot.as_ref()] {
                span.weight { (weight) } " " span.message { (marked(&found.message)) }
                @if spot.is_some() { span.placed { " on the picture" } }
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
