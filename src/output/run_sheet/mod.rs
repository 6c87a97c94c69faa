//! What the person at the machine and at the bench needs, on paper: one HTML page without scripts, which prints on A4
//! and on Letter, in black and white.

mod steps;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::markup::marked;
use super::quote::in_words;
use crate::audit::Audit;
use crate::design::{Design, Joint};
use crate::diagnostics::Diagnostic;
use crate::plan::{Board, Plan, Setup, cautions, magnet_steps};
use crate::quote::Quote;
use crate::units::{Time, plain};
use steps::{Step, steps};

const STYLE: &str = include_str!("style.css");

/// The run sheet.
pub fn page(design: &Design, audit: &Audit, plan: &Plan, quote: &Quote) -> String {
    let title = design.full_title();
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Run sheet: " (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    p { (design.run.dials) " dials" @if design.run.spares > 0 { ", " (design.run.spares) " spare" }
                        ", " (design.layers.len()) " layers each"
                        @match &design.shop { Some(shop) => { ", made in " (shop) }, None => { ", nominal shop, not measured" } } "." }
                }
                (first(design))
                (needed(quote))
                @for (at, board) in plan.boards.iter().enumerate() { (board_section(at, board)) }
                (magnets(design, audit))
                (assembly(design))
                (checks(design, audit))
                (standing(&audit.problems.iter().collect::<Vec<_>>()))
                (reckoned(quote))
            }
        }
    };
    format!("{}\n", page.into_string())
}

fn first(design: &Design) -> Markup {
    html! {
        section.cautions {
            h2 { "Before anything else" }
            ul { @for caution in cautions(design) { li { (caution.text) " " small { "(" (caution.source) ")" } } } }
        }
    }
}

fn needed(quote: &Quote) -> Markup {
    html! {
        section {
            h2 { "Have ready" }
            table {
                thead { tr { th { "What" } th { "How much" } th { "Reckoned from" } } }
                tbody {
                    @for goods in &quote.goods {
                        tr {
                            td { (goods.kind) " " (goods.name) }
                            td.figure { (plain(goods.amount, 1)) @if goods.kind == "glue" { " ml" } }
                            td { (goods.basis) }
                        }
                    }
                }
            }
        }
    }
}

fn board_section(at: usize, board: &Board) -> Markup {
    let (width, height) = board.size;
    html! {
        section.board {
            h2 { "Board " (at + 1) ": " (board.stock) ", " (width) " by " (height) ", " (board.thickness) " thick" }
            @for (setup_at, setup) in board.setups.iter().enumerate() { (setup_section(at, setup_at, board, setup)) }
        }
    }
}

fn setup_section(at: usize, setup_at: usize, board: &Board, setup: &Setup) -> Markup {
    let picture = format!("board-{}-setup-{}.svg", at + 1, setup_at + 1);
    let alt = format!("Board {} as it lies in setup {}", at + 1, setup_at + 1);
    html! {
        div.setup {
            h3 { "Setup " (setup_at + 1) }
            img src=(picture) alt=(alt);
            p { (marked(&setup.registers)) }
            ol { @for step in steps(board, setup) { (step_line(&step)) } }
        }
    }
}

fn step_line(step: &Step) -> Markup {
    html! {
        @if step.by_hand {
            li.pause { strong { "Pause. " } (marked(&step.what)) }
        } @else {
            li { span.box { } (marked(&step.what)) ": " (step.parts) ". " span.figure { (step.figures) } }
        }
    }
}

/// Which way each magnet goes in, and how to tell.
fn magnets(design: &Design, audit: &Audit) -> Markup {
    let steps = magnet_steps(design, &audit.holding);
    html! {
        @if !steps.is_empty() {
            section {
                h2 { "Magnets, dial by dial" }
                ol { @for step in &steps { li { span.box { } (marked(step)) } } }
            }
        }
    }
}

/// What is glued, with its time to cure, as a timeline from the first joint.
fn assembly(design: &Design) -> Markup {
    let mut glues: Vec<(String, Time)> = Vec::new();
    for (joint, pair) in design.joints.iter().zip(design.layers.windows(2)) {
        if let (Joint::Glue(glue), [below, above]) = (joint, pair) {
            let said = format!("Glue {} onto {} with {}", above.name, below.name, glue.adhesive.name);
            glues.push((said, glue.adhesive.cure));
        }
    }
    let longest = glues.iter().map(|(_, cure)| *cure).fold(Time::ZERO, |a, b| if b > a { b } else { a });
    html! {
        @if !glues.is_empty() {
            section {
                h2 { "Glue" }
                ol { @for (said, cure) in &glues { li { span.box { } (said) ", then leave it " (in_words(*cure)) " to cure." } } }
                p { "Glued in one go, the dials are ready " strong { (in_words(longest)) } " after the last joint is closed. "
                    "Follow the adhesive's own sheet for clamping, air and gloves; it comes before these times." }
            }
        }
    }
}

/// What to look at on a finished dial, with its limits.
fn checks(design: &Design, audit: &Audit) -> Markup {
    html! {
        section {
            h2 { "Check every finished dial" }
            ul {
                @for reading in &audit.proof.readings {
                    li { span.box { } "Turn it through every stop. Ring " (reading.ring) " shows, in this order: "
                        (reading.stops.iter().map(|stop| stop.due_says.as_str()).collect::<Vec<_>>().join(", ")) ". "
                        @if let Some(margin) = least(reading.stops.iter().map(|stop| stop.margin.as_mm())) {
                            "At least " (plain(margin, 2)) " mm of clear edge all round each."
                        }
                    }
                }
                @if let (Some(_), Some(fit)) = (&design.slot, &audit.fit) {
                    li { span.box { } "Lay it into its slot and turn it: it clears the sides by "
                        (plain(fit.turning.as_mm(), 2)) " mm at the narrowest." }
                }
            }
        }
    }
}

fn least(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.reduce(f64::min).filter(|least| least.is_finite())
}

fn standing(findings: &[&Diagnostic]) -> Markup {
    html! {
        @if !findings.is_empty() {
            section {
                h2 { "Known before cutting" }
                ul { @for finding in findings { li { (marked(&finding.message))
                    @if let Some(reason) = &finding.accepted { " (accepted: " (reason) ")" } } } }
            }
        }
    }
}

fn reckoned(quote: &Quote) -> Markup {
    html! {
        section {
            h2 { "Time and price" }
            table {
                thead { tr { th { "Work" } th { "Time" } th { "Reckoned from" } } }
                tbody {
                    @for work in &quote.work {
                        tr { td { (work.kind) " " (work.stock) } td.figure { (time(work.time)) } td { (work.basis) } }
                    }
                    @for hands in quote.hands.iter().filter(|hands| hands.times > 0) {
                        tr { td { (hands.what) } td.figure { (time(hands.time())) }
                             td { (hands.times) " times" @if let Some(each) = hands.each { ", " (in_words(each)) " each" } } }
                    }
                }
            }
            p { strong { (super::quote::line(quote)) } }
        }
    }
}

fn time(time: Option<Time>) -> String {
    time.map_or_else(|| "not known".to_owned(), in_words)
}
