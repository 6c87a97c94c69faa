//! The run sheet as pages of paper, for a bench: one setup a page, and large enough to be read from a step away.

use svg::node::element::{Circle, Group, Rectangle};

use super::super::drawing::{GREY, INK, moved};
use super::super::page::text::{
    BODY, SMALL, SetText, Style, TITLE, TextRun, Voice, baseline, line, line_height, marked, placed, width, wrapped,
};
use super::super::page::{About, Flow, Pages, THICK, THIN, rule};
use super::content::{BenchStep, Item, Part};
use super::setup::SetupSheet;
use super::steps::{Step, colour_name};
use crate::design::{Tone, hex};
use crate::units::plain;

/// The number of a setup, 30 points; the name of the file to open, 18; what is done, 12 (1/72 in each), in mm.
const NUMBER: f64 = 10.58;
const FILE: f64 = 6.35;
const DONE: f64 = 4.23;
/// What is said of it, 10 points.
const SAID: f64 = 3.53;
/// What stands in tables, and cautions: 9 points.
const TABLE: f64 = 3.18;
/// A box to be ticked.
const BOX: f64 = 5.0;
/// Where the words of a step begin: what is done, to which parts, what of them; and the room of its colour, in mm.
const VERB: f64 = 8.5;
const PARTS: f64 = 43.0;
const WHAT: f64 = 69.0;
const COLOUR: f64 = 34.0;
/// How small the picture of a board may become, as a share.
const LEAST_BOARD: f64 = 0.6;
/// From the picture of a board to what stands beside it.
const GUTTER: f64 = 6.0;
/// Lines that only part things.
const HAIR: Tone = [0xaa; 3];

pub(super) fn pages(about: About, parts: &[Part]) -> Pages {
    let title = about.title.clone();
    let mut flow = Flow::new(about).with_tables_of(TABLE);
    let wide = flow.width();
    let head = line(&title, Style::of(TITLE).strong(), (0.0, baseline(TITLE)), wide);
    flow.put_heading(Group::new().add(head), line_height(TITLE), (1, &title));
    let next = parts.iter().skip(1).map(Some).chain([None]);
    for (part, next) in parts.iter().zip(next) {
        set(&mut flow, (part, next));
    }
    flow.below();
    flow.finished()
}

/// Sets a part; a heading stays on one page with the beginning of what comes next.
fn set(flow: &mut Flow, (part, next): (&Part, Option<&Part>)) {
    let follows = |flow: &Flow| match next {
        Some(Part::Bench(steps)) => steps.first().map_or(0.0, |step| bench_height(flow, step)),
        _ => 3.0 * line_height(BODY),
    };
    match part {
        Part::Heading(text) | Part::Minor(text) => {
            let follows = follows(flow);
            flow.heading(text, follows);
        }
        Part::Chapter(text) => {
            // A page of its own, unless what went before leaves most of one.
            if flow.left() < 120.0 {
                flow.turn_over();
            }
            let follows = follows(flow);
            flow.heading(text, follows);
        }
        Part::Words(says) => flow.paragraph(says),
        Part::Lines { items, .. } => lines(flow, items),
        Part::Cautions { heading, items } => {
            flow.gap(1.0);
            let high = items.iter().map(|item| height(flow, item)).sum::<f64>() + 14.0;
            flow.framed(high, |flow| {
                flow.minor_heading(heading, line_height(BODY));
                items.iter().for_each(|item| flow.item(item.mark, &item.says, TABLE));
            });
        }
        Part::Setup(sheet) => {
            flow.turn_over();
            setup(flow, sheet);
            if !matches!(next, Some(Part::Setup(_)) | None) {
                flow.turn_over();
            }
        }
        Part::Bench(steps) => steps.iter().for_each(|step| bench_step(flow, step)),
        Part::Table { shares, head, rows } => flow.table(shares, head, rows),
    }
}

fn lines(flow: &mut Flow, items: &[Item]) {
    items.iter().for_each(|item| flow.item(item.mark, &item.says, SAID));
}

/// How high a caution is, about: for a frame, which must be asked for whole.
fn height(flow: &Flow, item: &Item) -> f64 {
    count(wrapped(&item.says, TABLE, flow.width() - 12.0).len()) * line_height(TABLE) + 1.0
}

#[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
fn count(things: usize) -> f64 {
    things as f64
}

fn setup(flow: &mut Flow, sheet: &SetupSheet) {
    let wide = flow.width();
    let (at, of) = sheet.setup;
    let number = format!("Setup {at}");
    let taken = width(&number, NUMBER, Voice::Strong);
    let head = Group::new()
        .add(line(&number, Style::of(NUMBER).strong(), (0.0, NUMBER), wide))
        .add(line(&format!("of {of}"), Style::of(DONE).ink(GREY), (taken + 3.0, NUMBER), 30.0))
        .add(line(&sheet.board, Style::of(DONE).strong().end(), (wide, NUMBER - 5.4), wide - taken - 25.0))
        .add(line(&sheet.stock, Style::of(SAID).end(), (wide, NUMBER), wide - taken - 25.0))
        .add(rule((0.0, NUMBER + 2.5), (wide, NUMBER + 2.5), THICK, INK));
    flow.put_heading(head, NUMBER + 5.0, (2, &format!("{number} of {of}, {}", sheet.board)));
    files(flow, &sheet.files);
    // Smaller where else a step or two would stand on a page by themselves.
    let steps: f64 = sheet.steps.iter().map(|step| step_height(step, wide)).sum();
    let (across, high) = sheet.picture.size;
    let fits = ((flow.left() - steps - 3.0) / high).clamp(LEAST_BOARD, 1.0);
    let (right, high) = (across * fits + GUTTER, high * fits);
    let (beside, down) = side(sheet, wide - right);
    let high = high.max(down) + 1.0;
    flow.need(high);
    let picture = Group::new().set("transform", format!("scale({})", plain(fits, 4))).add(sheet.picture.drawn.clone());
    flow.put_figure(picture, 0.0, &sheet.picture.says);
    flow.put(moved(beside, right, 0.0), high);
    flow.put(Group::new().add(rule((0.0, 0.0), (wide, 0.0), THICK, INK)), 0.5);
    sheet.steps.iter().for_each(|step| step_line(flow, step));
}

/// What is opened: one file in the largest letters that there is room for, several one after the other, each to be ticked.
fn files(flow: &mut Flow, files: &[String]) {
    let wide = flow.width();
    let size = if files.len() > 1 { DONE } else { FILE };
    let (open, pad) = (15.0, 3.0);
    let (mut left, mut drawn) = (open, Group::new().add(line("Open", Style::of(DONE), (0.0, size * 1.25), open)));
    let high = size * 1.75;
    for file in files {
        let across = (width(file, size, Voice::Code) + 2.0 * pad + BOX).min(wide - open);
        if left > open && left + across > wide {
            flow.put(std::mem::take(&mut drawn), high + 1.5);
            left = open;
        }
        let frame = framed((left, 0.0), (across, high)).set("rx", 1.0);
        let tick = framed((left + 1.5, (high - BOX * 0.8) / 2.0), (BOX * 0.8, BOX * 0.8));
        let name = Style { voice: Voice::Code, ..Style::of(size) };
        let words = line(file, name, (left + BOX + pad - 0.5, size * 1.25), across - BOX - pad);
        drawn = drawn.add(frame).add(tick).add(words);
        left += across + 3.0;
    }
    flow.put(drawn, high + 3.0);
}

fn framed((x, y): (f64, f64), (wide, high): (f64, f64)) -> Rectangle {
    Rectangle::new()
        .set("x", plain(x, 3))
        .set("y", plain(y, 3))
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("fill", "none")
        .set("stroke", hex(INK))
        .set("stroke-width", THICK)
}

/// What stands beside the board: which parts, which face up, how it is laid, how parts are turned over; and how far down it reaches.
fn side(sheet: &SetupSheet, room: f64) -> (Group, f64) {
    let (mut drawn, mut down) = (Group::new(), 0.0);
    for shade in &sheet.legend {
        drawn = drawn.add(framed((0.2, down + 0.4), (6.0, 5.0)).set("fill", hex(shade.tone))).add(line(
            &shade.numbers,
            Style::of(DONE).strong(),
            (9.0, down + 4.4),
            room - 9.0,
        ));
        down += 6.6;
        (drawn, down) = text(drawn, &[TextRun::plain(&shade.names)], (SMALL, 9.0), room, down);
        down += 1.6;
    }
    down += 1.0;
    (drawn, down) = text(drawn, &[TextRun::strong(&sheet.up)], (DONE, 0.0), room, down);
    down += 1.5;
    (drawn, down) = text(drawn, &sheet.registers, (BODY, 0.0), room, down);
    if let Some(over) = &sheet.over {
        down += 4.0;
        (drawn, down) = text(drawn, &[TextRun::strong(&over.says)], (SAID, 0.0), room, down);
        drawn = drawn.add(moved(over.drawn.clone(), 0.0, down));
        down += over.size.1;
    }
    (drawn, down)
}

/// Text wrapped into what is left of the room from an indent on.
fn text(drawn: Group, runs: &[TextRun], (size, indent): (f64, f64), room: f64, down: f64) -> (Group, f64) {
    let lines = wrapped(runs, size, room - indent);
    lines.iter().fold((drawn, down), |(drawn, down), piece| {
        (drawn.add(placed(piece, size, INK, (indent, down + baseline(size)))), down + line_height(size))
    })
}

/// The parts of a step and what is said of it, as lines of their room.
fn wrapped_step(step: &Step, wide: f64) -> (Vec<Vec<SetText>>, Vec<Vec<SetText>>) {
    let room = wide - WHAT - if step.colour.is_some() { COLOUR } else { 0.0 };
    let parts = wrapped(&[TextRun::strong(&step.parts)], DONE, WHAT - PARTS - 2.0);
    (parts, wrapped(&marked(&step.what), SAID, room))
}

fn step_height(step: &Step, wide: f64) -> f64 {
    let (parts, says) = wrapped_step(step, wide);
    (count(parts.len()) * line_height(DONE)).max(count(says.len()) * line_height(SAID)).max(BOX) + 3.4
}

fn step_line(flow: &mut Flow, step: &Step) {
    let wide = flow.width();
    let mut drawn = Group::new().add(framed((0.2, 1.6), (BOX, BOX))).add(line(
        step.verb,
        Style::of(DONE).strong(),
        (VERB, 5.6),
        PARTS - VERB - 1.0,
    ));
    let (parts, says) = wrapped_step(step, wide);
    for (at, piece) in parts.iter().enumerate() {
        drawn = drawn.add(placed(piece, DONE, INK, (PARTS, 5.6 + count(at) * line_height(DONE))));
    }
    for (at, piece) in says.iter().enumerate() {
        drawn = drawn.add(placed(piece, SAID, INK, (WHAT, 5.6 + count(at) * line_height(SAID))));
    }
    if let Some((tone, filled)) = step.colour {
        let (y, high) = if filled { (2.2, 4.0) } else { (3.7, 1.0) };
        let swatch = framed((wide - 10.2, y), (10.0, high)).set("fill", hex(tone)).set("class", "swatch");
        let swatch = if filled { swatch.set("stroke-width", THIN) } else { swatch.set("stroke", "none") };
        let name = line(colour_name(tone), Style::of(SAID).ink(GREY).end(), (wide - 12.0, 5.6), COLOUR - 13.0);
        drawn = drawn.add(swatch).add(name);
    }
    let high = step_height(step, wide);
    flow.put(drawn.add(rule((0.0, high), (wide, high), THIN, HAIR)), high);
}

/// Where the words of a step at the bench begin.
fn bench_left(step: &BenchStep) -> f64 {
    VERB + step.picture.size.0 + GUTTER
}

fn bench_height(flow: &Flow, step: &BenchStep) -> f64 {
    let says = wrapped(&step.says, SAID, flow.width() - bench_left(step));
    (count(says.len()) * line_height(SAID) + 9.5).max(step.picture.size.1) + 4.0
}

/// The picture of a step, its number, and what is done.
fn bench_step(flow: &mut Flow, step: &BenchStep) {
    let (wide, left, high) = (flow.width(), bench_left(step), bench_height(flow, step));
    let edge = framed((0.0, 0.0), step.picture.size).set("stroke", hex(HAIR)).set("rx", 1.0);
    let disc = Circle::new().set("cx", plain(left + 3.4, 3)).set("cy", 4.2).set("r", 3.4).set("fill", hex(INK));
    let number = Style::of(DONE).strong().middle().ink([0xff; 3]);
    let picture = Group::new().add(edge).add(step.picture.drawn.clone());
    flow.need(high);
    flow.put_figure(moved(picture, VERB, 0.5), 0.0, &step.picture.says);
    let drawn = Group::new().add(framed((0.2, 1.6), (BOX, BOX))).add(disc).add(line(
        &step.number.to_string(),
        number,
        (left + 3.4, 4.2 + 0.36 * DONE),
        6.0,
    ));
    let (drawn, _) = text(drawn, &step.says, (SAID, left), wide, 9.0);
    flow.put(drawn.add(rule((0.0, high - 1.5), (wide, high - 1.5), THIN, HAIR)), high);
}
