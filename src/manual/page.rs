//! The page.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::markdown::{blocks, code_block, inline};
use super::picture;
use crate::diagnostics::Finding;
use crate::output::markup::hash;
use crate::reference::{ENTRIES, Entry, Example, Frame, Role, Row, Topic, unit_worth};
use crate::vocabulary::functions::Group;

const STYLE: &str = include_str!("manual.css");

/// A part of the page: its heading, and which entries stand in it.
struct Part {
    id: &'static str,
    heading: &'static str,
    says: &'static str,
    holds: fn(&Role) -> bool,
}

const fn part(id: &'static str, heading: &'static str, says: &'static str, holds: fn(&Role) -> bool) -> Part {
    Part { id, heading, says, holds }
}

/// Which group a function is of.
fn of_group(role: &Role, groups: &[Group]) -> bool {
    matches!(role, Role::Function(function) if groups.contains(&function.group))
}

/// All parts with entries, in order. Fields and arguments stand in the tables of what has them.
const PARTS: [Part; 15] = [
    part("items", "Items of a file", "What a file is made of, one item on a line.", |role| matches!(role, Role::Item)),
    part("layers", "Items of a layer", "What stands inside a layer, beside works.", |role| matches!(role, Role::Layer)),
    part("works", "Works", "What is done to a face of a layer.", |role| matches!(role, Role::Work)),
    part("tails", "After a work", "What may follow the shape that is worked on.", |role| matches!(role, Role::Tail)),
    part("shapes", "Shapes", "Functions that make filled areas.", |role| of_group(role, &[Group::Shape])),
    part("lines", "Lines and points", "Functions that make open lines, and points.", |role| {
        of_group(role, &[Group::Line, Group::Point])
    }),
    part(
        "placing",
        "Placing",
        "Placement follows the shape and applies from left to right, about the axis. Dashed: before.",
        |role| matches!(role, Role::Placing),
    ),
    part("combining", "Combining", "Two regions become one, after placing. Dashed: before.", |role| {
        matches!(role, Role::Combining)
    }),
    part("stack", "The stack and families", "Lines of a `stack` and of a `family`.", |role| {
        matches!(role, Role::Stack | Role::Family)
    }),
    part("blocks", "Blocks", "A word, mostly a name, and fields between braces.", |role| {
        matches!(role, Role::Block(_))
    }),
    part("reckoning", "Reckoning and pivots", "Functions of numbers, and what a turn turns on.", |role| {
        of_group(role, &[Group::Arithmetic, Group::Pivot])
    }),
    part("words", "Texts and tables", "Functions that make texts and lists.", |role| of_group(role, &[Group::Words])),
    part("values", "Words of values and items", "Words between values, before them, and inside items.", |role| {
        matches!(role, Role::Between | Role::Leading | Role::Inside)
    }),
    part("measures", "Measures", "What `expect` can ask of the finished dial.", |role| {
        matches!(role, Role::Measure(_))
    }),
    part("figures", "Figures", "What `family` compares variants by.", |role| matches!(role, Role::Figure)),
];

/// The page: HTML without a script, its style allowed by its hash alone (W3C Content Security Policy 3).
pub fn page() -> String {
    let policy = format!("default-src 'none'; style-src '{}'; base-uri 'none'; form-action 'none'", hash(STYLE));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { "The language of dialwright" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                a.skip href="#main" { "Skip the contents" }
                header {
                    h1 { "The language of dialwright" }
                    p { "Every word of version " (env!("CARGO_PKG_VERSION")) ": what it is, how it is written, what goes wrong. "
                        "Search it with the find of your browser; " code { "dialwright explain WORD" } " tells the same." }
                }
                (contents())
                main id="main" {
                    (topic(Topic::Language))
                    (frames())
                    @for part in &PARTS { (entries(part)) }
                    (types())
                    @for topic_of in Topic::ALL.iter().filter(|it| **it != Topic::Language) { (topic(*topic_of)) }
                    (findings())
                }
                footer { p { "Made by dialwright " (env!("CARGO_PKG_VERSION")) ". Every example on this page compiles." } }
            }
        }
    };
    format!("{}\n", page.into_string())
}

fn of_part(part: &Part) -> impl Iterator<Item = &'static Entry> {
    let holds = part.holds;
    ENTRIES.iter().filter(move |entry| holds(&entry.role))
}

/// Where an entry stands on the page.
fn address(entry: &Entry) -> String {
    format!("{}-{}", entry.role.key(), entry.word)
}

/// Where code in a text leads: to a finding, or to a word that has a place of its own here.
fn place(code: &str) -> Option<String> {
    if let Some(finding) = Finding::named(code) {
        return Some(format!("#finding-{}", finding.name()));
    }
    // Words of figures are mostly meant as arguments.
    let has_place = |entry: &&Entry| {
        let is_told = PARTS.iter().any(|part| (part.holds)(&entry.role));
        entry.word == code && is_told && !matches!(entry.role, Role::Figure)
    };
    ENTRIES.iter().find(has_place).map(|entry| format!("#{}", address(entry)))
}

/// The same, but a word does not lead to where it is told, nor to another's page from its own field or argument.
fn elsewhere(entry: &Entry) -> impl Fn(&str) -> Option<String> {
    move |code| place(code).filter(|_| code != entry.word && !entry.rows.iter().any(|row| row.word == code))
}

fn contents() -> Markup {
    html! {
        nav aria-label="Contents" {
            h2 { "Contents" }
            p { a href="#topic-language" { "How a file is written" } " · " a href="#frames" { "What completes the examples" } }
            @for part in &PARTS {
                p.part { a href={ "#" (part.id) } { (part.heading) } }
                ul { @for entry in of_part(part) { li { a href={ "#" (address(entry)) } { (entry.word) } } } }
            }
            p.part { a href="#types" { "Types and units" } }
            p.part { "Topics" }
            ul { @for topic in Topic::ALL { li { a href={ "#topic-" (topic.name()) } { (topic.name()) } } } }
            p.part { a href="#findings" { "Findings" } }
        }
    }
}

fn entries(part: &Part) -> Markup {
    html! {
        section aria-labelledby=(part.id) {
            h2 id=(part.id) { (part.heading) }
            p { (inline(part.says, &place)) }
            @for entry in of_part(part) { (article(entry)) }
        }
    }
}

fn article(entry: &Entry) -> Markup {
    let place = elsewhere(entry);
    let example = entry.example();
    let id = address(entry);
    html! {
        article id=(id) aria-labelledby={ (id) "-title" } {
            h3 id={ (id) "-title" } { (entry.word) " " small { (inline(&entry.role.described(), &|_| None)) } }
            p.usage { code { (entry.usage) } }
            div.told {
                div {
                    (blocks(entry.prose(), &place))
                    @if let Some(example) = &example { p.where { "An example, " (example.frame.place()) ":" } (code_block(&example.text)) }
                    @else { (blocks(entry.body().strip_prefix(entry.prose()).unwrap_or_default(), &place)) }
                }
                @if let Some(picture) = pictured(entry, example.as_ref(), &id) { figure { (picture) } }
            }
            @if let Role::Block(_) | Role::Function(_) = entry.role { (table(entry)) }
            (raises(entry))
        }
    }
}

/// The picture of an entry, where its example shows something.
fn pictured(entry: &Entry, example: Option<&Example>, id: &str) -> Option<Markup> {
    let example = example?;
    let is_whole = example.frame == Frame::Whole;
    if !is_whole && example.frame != Frame::Layer {
        return None;
    }
    match entry.role {
        Role::Function(_) | Role::Placing | Role::Combining if !is_whole => picture::shape(example),
        Role::Block(block) if block.word == "ring" => Some(facings(block.word, id)),
        _ => picture::dial(example, id),
    }
}

/// A ring once for each way its labels may face.
fn facings(block: &'static str, id: &str) -> Markup {
    let is_facing =
        |role: &Role| matches!(role, Role::FieldChoice(of, field, _) if of.word == block && field.word == "facing");
    let choices = ENTRIES.iter().filter(|entry| is_facing(&entry.role));
    html! {
        @for choice in choices {
            @if let Some(picture) = choice.example().and_then(|it| picture::dial(&it, &format!("{id}-{}", choice.word))) {
                div.one { (picture) p { code { "facing " (choice.word) } ": " (choice.doc) } }
            }
        }
    }
}

fn table(entry: &Entry) -> Markup {
    let first = if matches!(entry.role, Role::Block(_)) { "field" } else { "argument" };
    let id = address(entry);
    html! {
        @if !entry.rows.is_empty() {
            div.wide tabindex="0" role="group" aria-label={ "The " (first) "s of " (entry.word) } {
                table.fields {
                    thead { tr { @for head in [first, "holds", "unit", "default", "what it is"] { th scope="col" { (head) } } } }
                    tbody { @for row in &entry.rows { (line(&id, row)) } }
                }
            }
        }
    }
}

fn line(id: &str, row: &Row) -> Markup {
    let nowhere = |_: &str| None;
    html! {
        tr id={ (id) "." (row.word) } {
            th scope="row" { code { (row.word) } }
            td { (inline(&row.holds, &nowhere)) }
            td { (row.unit) }
            td { (inline(&row.default, &nowhere)) }
            td { (inline(row.doc, &nowhere)) }
        }
    }
}

fn raises(entry: &Entry) -> Markup {
    let all = entry.findings();
    html! {
        @if !all.is_empty() {
            p.raises { "Findings: "
                @for (at, finding) in all.iter().enumerate() {
                    @if at > 0 { ", " }
                    a href={ "#finding-" (finding.name()) } { code { (finding.name()) } }
                }
            }
        }
    }
}

fn frames() -> Markup {
    html! {
        section aria-labelledby="frames" {
            h2 id="frames" { "What completes the examples" }
            p { "An example is a whole design, or a part of one. A part stands where " code { "…" } " is in the frame that it names." }
            @for frame in [Frame::Layer, Frame::Beside, Frame::Shop] {
                p.where { "An example " (frame.place()) ":" }
                (code_block(frame.text().trim_end()))
            }
        }
    }
}

fn types() -> Markup {
    let units = ENTRIES.iter().filter(|entry| matches!(entry.role, Role::Unit(_)));
    let types = ENTRIES.iter().filter(|entry| matches!(entry.role, Role::Type));
    html! {
        section aria-labelledby="types" {
            h2 id="types" { "Types and units" }
            p { "The words for types stand after the name of a " code { "param" } ", and in the head of a function of your own." }
            @for entry in types {
                article id=(address(entry)) {
                    h3 { (entry.word) " " small { (inline(&entry.role.described(), &|_| None)) } }
                    p.usage { code { (entry.usage) } }
                    // Units look like other words of the language.
                    (blocks(entry.prose(), &|code| place(code).filter(|_| Finding::named(code).is_some())))
                }
            }
            h3 id="units" { "Units" }
            dl.units { @for entry in units { div { dt { code { (entry.word) } } dd { (inline(entry.doc, &|_| None)) (worth(entry)) } } } }
        }
    }
}

/// What one of a unit is, where it is not what values are shown in.
fn worth(entry: &Entry) -> String {
    let Role::Unit(unit) = entry.role else { return String::new() };
    unit_worth(unit).map_or_else(String::new, |worth| format!(", {worth}"))
}

fn topic(topic: Topic) -> Markup {
    let id = format!("topic-{}", topic.name());
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (crate::reference::capital(topic.name())) " " small { (topic.says()) } }
            (blocks(topic.page(), &place))
        }
    }
}

fn findings() -> Markup {
    html! {
        section aria-labelledby="findings" {
            h2 id="findings" { "Findings" }
            p { "All that the compiler may say, by its name. What was seen and is wanted so is accepted: see "
                a href="#item-accept" { code { "accept" } } "." }
            @for finding in Finding::ALL {
                article id={ "finding-" (finding.name()) } {
                    h3 { (finding.name()) }
                    (blocks(finding.page(), &|code| place(code).filter(|_| code != finding.name())))
                }
            }
        }
    }
}
