//! What the live page shows.

use maud::{DOCTYPE, Markup, html};
use serde::Serialize;

use super::params::{Knob, Set};
use crate::analysis::Analysis;
use crate::diagnostics::{Diagnostic, harmless};
use crate::output::markup::marked;
use crate::output::viewer::{self, Boards, Shown};
use crate::plan::Plan;

/// The page without anything in it yet. `file` is the design as it was named, `token` that of the session.
pub fn shell(file: &str, token: &str) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="token" content=(token);
                title { (file) }
                link rel="icon" type="image/svg+xml" href="/icon.svg";
                link rel="stylesheet" href="/viewer.css";
                link rel="stylesheet" href="/live.css";
            }
            body {
                header.live {
                    p.file { bdi { (file) } }
                    label id="variants" hidden { "Variant " select { } }
                    p id="state" role="status" { "being read" }
                    p id="tried" hidden { span { } " " button type="button" data-resets="" { "Reset all" } }
                }
                section.live id="errors" aria-labelledby="errors-title" hidden {
                    h2 id="errors-title" { "To be mended" }
                    p { "The picture is from before." }
                    div { }
                }
                section.live id="params" aria-labelledby="params-title" hidden {
                    h2 id="params-title" { "Params" }
                    div { }
                    p role="status" { }
                }
                div id="picture" { }
                section.live id="boards" aria-label="Boards" {
                    details { summary { "Boards and setups" } div { } }
                }
                noscript { p { "The live page needs its script." } }
                script src="/viewer.js" { }
                script src="/live.js" { }
            }
        }
    };
    harmless(&page.into_string()).into_owned()
}

/// What is shown of one variant; the script of the page takes it as JSON.
#[derive(Clone, Debug, Default, Serialize)]
pub struct State {
    /// The number of the state; the newest is the highest.
    pub revision: u64,
    /// The viewer's markup; none while there are errors.
    pub picture: Option<String>,
    /// The last good picture, for a page that has none yet; only while there are errors.
    pub before: Option<String>,
    /// What is wrong; none where nothing is.
    pub errors: Option<Errors>,
    /// What the dial comes to; none while there are errors.
    pub verdict: Option<String>,
    /// The sliders' markup, empty without params; none where the file cannot be read.
    pub params: Option<String>,
    /// The names of all variants.
    pub variants: Vec<String>,
    /// The one that is shown.
    pub variant: Option<String>,
    /// What the dial is called; none while there are errors.
    pub title: Option<String>,
}

/// What is wrong.
#[derive(Clone, Debug, Serialize)]
pub struct Errors {
    /// In a few words.
    pub count: String,
    /// The findings' markup.
    pub list: String,
}

/// The state of one variant. The pictures of stocks are taken from `boards` where it has them, and left there.
pub fn state(
    analysis: &Analysis,
    variant: Option<&str>,
    variants: &[String],
    knobs: &[Knob],
    boards: &mut Boards,
) -> State {
    let dial = analysis.dials.iter().find(|dial| variant.is_none() || dial.design.variant.as_deref() == variant);
    // Better the last good picture under a line that says so than one of a dial that cannot be made.
    let dial = dial.filter(|_| !analysis.has_errors());
    let found: Vec<&Diagnostic> = analysis.findings.iter().collect();
    let list = || text(viewer::findings_list(&found, &analysis.sources, None));
    State {
        picture: dial.map(|dial| text(viewer::body(&Shown::of(analysis, dial), boards))),
        errors: dial.is_none().then(|| Errors { count: analysis.verdict.to_string(), list: list() }),
        verdict: dial.map(|_| analysis.verdict.to_string()),
        params: Some(knobs.iter().map(|knob| text(self::knob(knob))).collect()),
        variants: variants.to_vec(),
        variant: dial.and_then(|dial| dial.design.variant.clone()).or_else(|| variant.map(str::to_owned)),
        title: dial.map(|dial| harmless(&dial.design.full_title()).into_owned()),
        ..State::default()
    }
}

/// The state while the file cannot be read at all, and why.
pub fn unreadable(why: &str) -> State {
    let list = text(html! { p { (marked(why)) } });
    State { errors: Some(Errors { count: why.replace('`', ""), list }), ..State::default() }
}

/// As it stands in a page: with signs for what would turn the words of others round.
fn text(markup: Markup) -> String {
    harmless(&markup.into_string()).into_owned()
}

fn knob(knob: &Knob) -> Markup {
    let id = format!("param-{}", knob.name);
    html! {
        div.knob data-knob=(knob.name) data-value=(knob.value) data-digest=(knob.digest) {
            label for=(id) { code { (knob.name) } @if let Some(note) = &knob.note { " " span dir="auto" { (note) } } }
            @match &knob.set {
                Set::Slide { ends, step, at, unit } => {
                    input id=(id) type="range" min=(ends.0) max=(ends.1) step=(step) value=(at) data-unit=(unit);
                    output for=(id) { (knob.value) }
                }
                Set::Choose(choices) => {
                    select id=(id) {
                        @for choice in choices { option value=(choice) selected[*choice == knob.value] { (choice) } }
                    }
                }
            }
            @if knob.by_variant { small { "set by the variant" } }
            @else {
                p.acts {
                    button type="button" data-writes="" disabled { "Write into " bdi { (knob.file) } }
                    button type="button" data-reset="" hidden { "Reset" }
                }
            }
        }
    }
}

/// The boards of the run, setup by setup; the script shows one at a time. `query` is what the drawings are asked with.
pub fn boards(plan: &Plan, query: &str) -> String {
    let all: usize = plan.boards.iter().map(|board| board.setups.len()).sum();
    let page = html! {
        p.leaf {
            button type="button" data-leaf="-1" aria-label="Setup before" { "‹" }
            span data-leaves=(all) role="status" { "1 of " (all) }
            button type="button" data-leaf="1" aria-label="Next setup" { "›" }
        }
        @for (at, board) in plan.boards.iter().enumerate() {
            @for (turn, setup) in board.setups.iter().enumerate() {
                figure.setup hidden[at + turn > 0] {
                    figcaption { strong { "Board " (at + 1) " of " (plan.boards.len()) ", " bdi { (board.stock) }
                        ", setup " (turn + 1) " of " (board.setups.len()) } ": " (marked(&setup.registers)) }
                    img loading="lazy" src={ "/setup.svg?board=" (at + 1) "&setup=" (turn + 1) "&" (query) }
                        alt={ "Drawing of board " (at + 1) " in setup " (turn + 1) };
                }
            }
        }
    };
    text(page)
}

/// What is shown where no boards can be laid out.
pub fn no_boards() -> String {
    html! { p { "The boards are laid out once the errors are mended." } }.into_string()
}
