//! The dial on screen: one page by itself, without a network, that turns it by hand or stop by stop.
//!
//! [`page`] is the file; [`body`] is what stands in it, which the live page shows as well. The page takes everything
//! that it says from the proof; its script only turns what is drawn and chooses what is said.

mod boards;
mod facts;
mod findings;
mod picture;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::OutputFile;
use super::look::Look;
use super::markup::{degrees, hash, marked};
use crate::analysis::{Analysis, Dial};
use crate::audit::{Audit, DialYield};
use crate::design::{Design, Face};
use crate::diagnostics::{Diagnostic, harmless};
use crate::revision::Revision;
use crate::source::Sources;
pub use boards::Boards;
pub use findings::list as findings_list;

/// How the page looks.
pub const STYLE: &str = include_str!("viewer.css");
/// What the page does.
pub const SCRIPT: &str = concat!(include_str!("save.js"), include_str!("viewer.js"));

/// A dial to be shown, with what is known of it.
#[derive(Clone, Debug)]
pub struct Shown<'a> {
    /// The dial.
    pub design: &'a Design,
    /// What was measured on it.
    pub audit: &'a Audit,
    /// How many of these dials read right at every stop; none where nothing is read.
    pub dial_yield: Option<&'a DialYield>,
    /// What was found, in order of place.
    pub findings: Vec<&'a Diagnostic>,
    /// The state that it was made from.
    pub revision: Revision,
    /// The texts that the findings point into.
    pub sources: &'a Sources,
}

impl<'a> Shown<'a> {
    /// One dial of an analysis, with those findings that concern it.
    pub fn of(analysis: &'a Analysis, dial: &'a Dial) -> Self {
        Self {
            design: &dial.design,
            audit: &dial.audit,
            dial_yield: dial.audit.dial_yield(&dial.design),
            findings: analysis.of_dial(dial).collect(),
            revision: dial.revision,
            sources: &analysis.sources,
        }
    }
}

/// `viewer.html`.
pub fn file(shown: &Shown<'_>) -> OutputFile {
    OutputFile { name: "viewer.html".to_owned(), bytes: page(shown).into_bytes() }
}

/// The page: HTML with style and script in it, allowed by their hashes alone (W3C Content Security Policy 3).
pub fn page(shown: &Shown<'_>) -> String {
    // Allowed by their hashes, style and script need no server to vouch for them, and nothing that a design smuggles
    // into the page can run. The policy refuses style attributes, hence `data-` attributes and classes throughout.
    let policy = format!(
        "default-src 'none'; img-src data:; style-src '{}'; script-src '{}'; base-uri 'none'; form-action 'none'",
        hash(STYLE),
        hash(SCRIPT)
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (shown.design.full_title()) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (body(shown, &mut Boards::default()))
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    // What steers the direction of text would turn ours round as well.
    format!("{}\n", harmless(&page.into_string()))
}

/// Everything that is shown of the dial: picture, controls, stops, findings, layers. The pictures of its stocks are taken from
/// `boards` where it has them, and left there.
pub fn body(shown: &Shown<'_>, boards: &mut Boards) -> Markup {
    let design = shown.design;
    *boards = Boards::of(design, Look::new(design, Face::Front, String::new()).reach(), boards);
    let looks = [Face::Front, Face::Back].map(|face| {
        let prefix = if face == Face::Front { "front" } else { "back" };
        Look::new(design, face, prefix.to_owned()).switchable().on_boards(boards.beneath(design, face))
    });
    let [front, back] = &looks;
    html! {
        main data-viewer="" {
            header {
                h1 dir="auto" { (design.full_title()) }
                p.brief { (brief(design)) ", revision " (shown.revision.short()) }
            }
            (picture::store(boards, front, back))
            div.bench {
                (picture::stage(shown, front, back))
                div.controls {
                    (picture::turns(design))
                    (reads(shown))
                    (picture::views(design, front))
                }
            }
            section.findings aria-labelledby="findings-title" {
                h2 id="findings-title" { "Findings" }
                (findings::list(&shown.findings, shown.sources, Some((design, &shown.audit.reading_check))))
            }
            (picture::stops(design, &shown.audit.reading_check, front, back))
            script type="application/json" data-facts="" { (PreEscaped(facts::facts(shown, front))) }
        }
    }
}

/// "2 layers, 1 turn, 10 stops".
fn brief(design: &Design) -> String {
    use crate::diagnostics::counted;
    let stops: Vec<usize> = design.turns().map(|(_, turn)| turn.stops.len()).collect();
    let of = |count: &usize| counted(*count, "stop");
    let turns = match stops.as_slice() {
        [] => "nothing turns".to_owned(),
        [one] => format!("one turn of {}", of(one)),
        several => {
            format!("{} turns of {}", several.len(), several.iter().map(of).collect::<Vec<_>>().join(" and "))
        }
    };
    format!("{}, {turns}", counted(design.layers.len(), "layer"))
}

/// What reads where the dial stands; the script fills it in.
fn reads(shown: &Shown<'_>) -> Markup {
    html! {
        div.reads {
            @if shown.audit.reading_check.readings.is_empty() { p { "Nothing on this dial is to be read." } }
            p.stands data-stands="" { }
            ul data-reads="" { }
            @if let Some(sure) = shown.dial_yield {
                p.sure { "Read right at every stop: " (marked(&degrees(&sure.in_words(&shown.audit.reading_check)))) "." }
            }
            noscript { p { "Without scripts the dial does not turn; every stop is drawn below." } }
        }
        p.unseen data-told="" role="status" aria-live="polite" { }
    }
}
