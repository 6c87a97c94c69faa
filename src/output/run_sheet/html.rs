//! The run sheet as one HTML page without scripts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::super::page::Mark;
use super::super::page::text::{TextRun, Voice, marked};
use super::bench::{ACROSS, Bench, KEY};
use super::content::{Item, Part};
use crate::output::markup::head;

const STYLE: &str = include_str!("style.css");

pub(super) fn page(title: &str, parts: &[Part]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("Run sheet: {title}"), STYLE))
            body {
                header { h1 { (title) } }
                main { @for part in parts { (part_of(part)) } }
            }
        }
    };
    format!("{}\n", page.into_string())
}

fn part_of(part: &Part) -> Markup {
    match part {
        Part::Heading(text) => html! { h2 { (text) } },
        Part::Words(says) => html! { p { (words(says)) } },
        Part::Lines { items, steps: true } => html! { ol { (lines(items)) } },
        Part::Lines { items, steps: false } => html! { ul { (lines(items)) } },
        Part::Cautions { heading, items } => html! { section.cautions { h2 { (heading) } ul { (lines(items)) } } },
        Part::Setup { board, setup, registers, items } => {
            // The drawing lies in the same folder, so the page shows the very file that the machine gets.
            let picture = format!("board-{}-setup-{}.svg", board + 1, setup + 1);
            let alt = format!("Board {} as it lies in setup {}", board + 1, setup + 1);
            html! {
                div.setup {
                    h3 { "Setup " (setup + 1) }
                    img src=(picture) alt=(alt);
                    p { (words(registers)) }
                    ol { (lines(items)) }
                }
            }
        }
        Part::Bench(faces) => html! {
            div.bench {
                @for face in faces {
                    figure {
                        (PreEscaped(drawing(face)))
                        figcaption { (words(&marked(&face.says))) }
                    }
                }
                p { (KEY) }
            }
        },
        Part::Table { head, rows, .. } => html! {
            table {
                thead { tr { @for text in head { th { (text) } } } }
                tbody { @for row in rows { tr { @for cell in row { td { (words(cell)) } } } } }
            }
        },
    }
}

/// A face as SVG within the page; it holds no text.
fn drawing(face: &Bench) -> String {
    format!("<svg class=\"face\" viewBox=\"0 0 {ACROSS} {ACROSS}\" aria-hidden=\"true\">{}</svg>", face.drawn)
}

fn lines(items: &[Item]) -> Markup {
    html! {
        @for item in items {
            @match item.mark {
                Mark::Bar => li.pause { (words(&item.says)) },
                Mark::Tick => li { span.box { } (words(&item.says)) },
                Mark::Dot => li { (words(&item.says)) },
            }
        }
    }
}

fn words(runs: &[TextRun]) -> Markup {
    html! {
        @for run in runs {
            @match run.voice {
                Voice::Plain => (run.text),
                Voice::Strong => strong { (run.text) },
                Voice::Code => code { (run.text) },
            }
        }
    }
}
