//! The run sheet as one HTML page without scripts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::super::page::Mark;
use super::super::page::text::{TextRun, Voice, marked};
use super::content::{BenchStep, Item, Part, Picture};
use super::setup::SetupSheet;
use super::steps::{Step, colour_name};
use crate::design::{Tone, hex};
use crate::output::markup::{Pictures, head};
use crate::units::plain;

const STYLE: &str = include_str!("style.css");

pub(super) fn page(title: &str, parts: &[Part]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("Run sheet: {title}"), STYLE, Pictures::Within))
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
        Part::Heading(text) | Part::Chapter(text) => html! { h2 { (text) } },
        Part::Minor(text) => html! { h3 { (text) } },
        Part::Words(says) => html! { p { (words(says)) } },
        Part::Lines { items, steps: true } => html! { ol { (lines(items)) } },
        Part::Lines { items, steps: false } => html! { ul { (lines(items)) } },
        Part::Cautions { heading, items } => html! { section.cautions { h2 { (heading) } ul { (lines(items)) } } },
        Part::Setup(sheet) => setup(sheet),
        Part::Bench(steps) => html! { ol.bench { @for step in steps { (bench_step(step)) } } },
        Part::Table { head, rows, .. } => html! {
            div.wide tabindex="0" role="region" aria-label=(head.first().copied().unwrap_or_default()) {
                table {
                    thead { tr { @for text in head { th scope="col" { (text) } } } }
                    tbody { @for row in rows { tr { @for cell in row { td { (words(cell)) } } } } }
                }
            }
        },
    }
}

fn setup(sheet: &SetupSheet) -> Markup {
    let (at, of) = sheet.setup;
    html! {
        section.setup {
            h2 { "Setup " (at) " " span.of { "of " (of) } }
            p.board { strong { (sheet.board) } " " (sheet.stock) }
            p.open { "Open " @for file in &sheet.files { span.box { } code { (file) } " " } }
            div.lies {
                figure.map { (picture(&sheet.picture)) }
                div.side {
                    ul.legend {
                        @for shade in &sheet.legend {
                            li { (swatch(shade.tone, true)) strong { (shade.numbers) } " " span.names { (shade.names) } }
                        }
                    }
                    p.up { (sheet.up) }
                    p { (words(&sheet.registers)) }
                    @if let Some(over) = &sheet.over {
                        figure.over { figcaption { (over.says) } (picture(over)) }
                    }
                }
            }
            ol.steps { @for step in &sheet.steps { (step_line(step)) } }
        }
    }
}

fn step_line(step: &Step) -> Markup {
    html! {
        li.pause[step.colour.is_none()] {
            span.box { }
            strong.verb { (step.verb) }
            strong.parts { (step.parts) }
            span.what { (words(&marked(&step.what))) }
            @if let Some((tone, filled)) = step.colour {
                span.colour { (colour_name(tone)) " " (swatch(tone, filled)) }
            }
        }
    }
}

/// A colour as it is in the file: a filled area, or a line.
fn swatch(tone: Tone, filled: bool) -> Markup {
    let (y, high) = if filled { (0.3, 4.4) } else { (2.0, 1.0) };
    html! {
        svg.swatch viewBox="0 0 8 5" aria-hidden="true" {
            rect x="0.3" y=(y) width="7.4" height=(high) fill=(hex(tone)) stroke=[filled.then_some("#222222")] stroke-width="0.3" {}
        }
    }
}

fn bench_step(step: &BenchStep) -> Markup {
    html! {
        li {
            figure { (picture(&step.picture)) }
            div { span.box { } span.number { (step.number) } " " (words(&step.says)) }
        }
    }
}

/// A picture as SVG within the page.
fn picture(picture: &Picture) -> Markup {
    let (wide, high) = picture.size;
    let [wide, high] = [wide, high].map(|mm| plain(mm, 3));
    html! {
        svg viewBox={ "0 0 " (wide) " " (high) } role="img" aria-label=(picture.says) {
            (PreEscaped(picture.drawn.to_string()))
        }
    }
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
