//! Every stop, small, with what is due there.

use std::num::NonZeroUsize;

use svg::node::element::{Group, Rectangle};

use super::super::drawing::{GREY, INK, WRONG, moved};
use super::super::page::text::{SMALL, Style, line, marked};
use super::super::page::{Flow, THICK, THIN, rule};
use super::super::stops::{MOST, StopPicture, Theme, cross, describe_stop, themes};
use super::photo::{photo, pixels};
use crate::audit::ReadingCheck;
use crate::design::pose::Pose;
use crate::design::{Design, Face, hex};
use crate::portrait::{Pixels, stills, stills_size};
use crate::units::{Length, fixed, plain};

/// From one line of a caption to the next, in mm.
const LINE: f64 = 3.1;
/// Between two pictures, in mm.
const GAP: f64 = 2.5;
/// So many pictures are all drawn.
const FEW: usize = 24;
/// Height of a cell of margins, the room before its rows, and how narrow and wide it may be, in mm.
const CELL: f64 = 4.6;
const HEADS: f64 = 9.0;
const LEAST_CELL: f64 = 8.0;
const MOST_CELL: f64 = 17.0;

/// What is drawn of one theme.
pub(super) struct Seen<'a> {
    theme: Theme<'a>,
    all: Vec<StopPicture<'a>>,
    /// Of what is drawn: its place among all, and how it looks.
    drawn: Vec<(usize, Pixels)>,
    /// How wide a cell is, and how large the picture in it.
    across: f64,
    size: (f64, f64),
}

/// Everything that is drawn of the stops, for pages so wide.
pub(super) fn seen<'a>(design: &'a Design, check: &'a ReadingCheck, wide: f64) -> Vec<Seen<'a>> {
    themes(design, check).into_iter().map(|theme| seen_of(theme, wide)).collect()
}

fn seen_of(theme: Theme<'_>, wide: f64) -> Seen<'_> {
    let all = theme.views();
    let which = drawn_of(&all);
    let poses: Vec<&Pose> = which.iter().filter_map(|at| Some(&all.get(*at)?.pose)).collect();
    let (across, size) = cell(wide, stills_size(theme.design, theme.face, &poses), poses.len());
    // One thread: variants of a family are printed side by side.
    let seen = stills(theme.design, theme.face, &poses, pixels(size.0.max(size.1)), NonZeroUsize::MIN);
    let drawn = which.into_iter().zip(seen).collect();
    Seen { theme, all, drawn, across, size }
}

/// Sets them, the pictures smaller by a share.
pub(super) fn stops(flow: &mut Flow, seen: &[Seen], share: f64) {
    seen.iter().for_each(|seen| theme_of(flow, seen, share));
}

fn theme_of(flow: &mut Flow, seen: &Seen, share: f64) {
    let Seen { theme, all, drawn, across, size } = seen;
    let views: Vec<(&StopPicture, &Pixels)> =
        drawn.iter().filter_map(|(at, pixels)| Some((all.get(*at)?, pixels))).collect();
    let size = (size.0 * share, size.1 * share);
    let high = size.1 + (1.0 + count(theme.readings.len())) * LINE + 1.5;
    flow.heading(&heading(theme), high);
    for row in views.chunks(columns(flow.width(), *across)) {
        let (mut group, mut right) = (Group::new(), 0.0);
        for (view, seen) in row {
            group = group.add(moved(picture(view, seen, *across, size), right, 0.0));
            right += across + GAP;
        }
        let says: Vec<String> = row.iter().map(|(view, _)| describe_stop(view)).collect();
        flow.put_figure(group, high, &says.join(". "));
    }
    if theme.all() > views.len() {
        let which = if all.len() < theme.all() { format!(" among the first {MOST}") } else { String::new() };
        let words = format!(
            "{} of {} combinations of stops are drawn: those of each turn with all others at their first stop, and whatever \
             misreads{which}. `dialwright turn` lists all.",
            views.len(),
            theme.all()
        );
        flow.small(&marked(&words), GREY);
        margins(flow, all);
    }
}

/// What is drawn, by its place: everything where that is little; else what each turn does by itself, and every failure.
fn drawn_of(all: &[StopPicture]) -> Vec<usize> {
    let alone = |view: &StopPicture| view.goes.iter().filter(|(_, stop)| *stop > 0).count() <= 1;
    let misreads = |view: &StopPicture| view.reads.iter().any(|(_, stop)| !stop.reads);
    let drawn = |view: &StopPicture| all.len() <= FEW || alone(view) || misreads(view);
    all.iter().enumerate().filter(|(_, view)| drawn(view)).map(|(at, _)| at).collect()
}

/// The least margin of every combination of two turns: one a row, the other a column. The least of all is framed, a misread is
/// a cross.
fn margins(flow: &mut Flow, all: &[StopPicture]) {
    let places = |view: &StopPicture| match view.goes.as_slice() {
        [(_, row), (_, column)] => Some((*row, *column)),
        _ => None,
    };
    let cells: Vec<((usize, usize), &StopPicture)> =
        all.iter().filter_map(|view| Some((places(view)?, view))).collect();
    let Some(columns) = cells.iter().map(|((_, column), _)| column + 1).max() else { return };
    let rows = cells.iter().map(|((row, _), _)| row + 1).max().unwrap_or(0);
    let wide = (flow.width() - HEADS) / count(columns);
    if wide < LEAST_CELL {
        return;
    }
    let wide = wide.min(MOST_CELL);
    let least = |view: &StopPicture| {
        view.reads.iter().filter_map(|(_, stop)| stop.near_margin()).map(Length::as_mm).reduce(f64::min)
    };
    let smallest = cells.iter().filter_map(|(_, view)| least(view)).reduce(f64::min);
    flow.minor_heading(
        "Least margin at every combination, in mm: the lower turn goes down the rows, the upper along them",
        3.0 * CELL,
    );
    let head = |at: usize| (at + 1).to_string();
    let style = Style::of(SMALL).middle();
    let place = |column: usize| HEADS + (count(column) + 0.5) * wide;
    let words = |text: &str, style: Style, x: f64| line(text, style, (x, CELL - 1.3), wide);
    let heads = (0..columns)
        .fold(Group::new(), |drawn, column| drawn.add(words(&head(column), style.ink(GREY), place(column))));
    flow.put(heads.add(rule((0.0, CELL), (HEADS + count(columns) * wide, CELL), THIN, GREY)), CELL);
    for row in 0..rows {
        let mut drawn = Group::new().add(words(&head(row), style.ink(GREY), HEADS / 2.0));
        for ((_, column), view) in cells.iter().filter(|((at, _), _)| *at == row) {
            let reads = view.reads.iter().all(|(_, stop)| stop.reads);
            let x = place(*column);
            drawn = match least(view) {
                _ if !reads => drawn.add(cross(x, CELL / 2.0, 1.3)),
                Some(margin) => drawn.add(words(&fixed(margin, 2), style, x)),
                None => drawn.add(words("free", style.ink(GREY), x)),
            };
            if reads && least(view) == smallest {
                let frame = Rectangle::new()
                    .set("x", plain(x - wide / 2.0 + 0.4, 3))
                    .set("y", 0.3)
                    .set("width", plain(wide - 0.8, 3))
                    .set("height", plain(CELL - 0.6, 3));
                drawn = drawn.add(frame.set("fill", "none").set("stroke", hex(INK)).set("stroke-width", THICK));
            }
        }
        flow.put(drawn, CELL);
    }
}

#[allow(clippy::cast_precision_loss, reason = "a few hundred stops")]
fn count(things: usize) -> f64 {
    things as f64
}

fn heading(theme: &Theme) -> String {
    let back = if theme.face == Face::Back { ", seen from the back" } else { "" };
    let rings: Vec<&str> = theme.readings.iter().map(|reading| theme.called(reading)).collect();
    format!("Every stop of {}{back}", rings.join(" and "))
}

/// How wide a cell is, and how large the picture in it, for a dial of this size: wide ones are drawn larger.
fn cell(room: f64, (wide, high): (f64, f64), views: usize) -> (f64, (f64, f64)) {
    let columns = match views {
        _ if wide > 1.6 * high => 5.0,
        0..=8 => 8.0,
        _ => 10.0,
    };
    let across = (room + GAP) / columns - GAP;
    let scale = across / wide.max(high);
    (across, (wide * scale, high * scale))
}

/// How many cells of this width stand in a row.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "five to ten")]
fn columns(room: f64, across: f64) -> usize {
    ((room + GAP) / (across + GAP)).round().max(1.0) as usize
}

fn picture(view: &StopPicture, seen: &Pixels, across: f64, size: (f64, f64)) -> Group {
    let middle = across / 2.0;
    let dial = photo(seen, size, &describe_stop(view)).map(|drawn| moved(drawn, (across - size.0) / 2.0, 0.0));
    let mut cell = dial.into_iter().fold(Group::new(), Group::add);
    let mut down = size.1 + LINE * 0.85;
    for (ring, stop) in &view.reads {
        let due = if view.reads.len() > 1 { format!("{ring} {}", stop.due_says) } else { stop.due_says.clone() };
        let (text, ink) = if stop.reads { (due, INK) } else { (format!("{due}: misreads {}", stop.shows()), WRONG) };
        cell = cell.add(line(&text, Style::of(SMALL).strong().middle().ink(ink), (middle, down), across));
        down += LINE;
    }
    cell = cell.add(line(&bearings(view), Style::of(SMALL).middle().ink(GREY), (middle, down), across));
    if view.reads.iter().all(|(_, stop)| stop.reads) { cell } else { cell.add(cross(2.0, 2.0, 2.0)) }
}

/// "72°", "72°, 120°".
fn bearings(view: &StopPicture) -> String {
    let Some((_, stop)) = view.reads.first() else { return "rest".to_owned() };
    let each: Vec<String> = stop.bearings.iter().map(|by| format!("{}°", plain(by.as_degrees(), 1))).collect();
    each.join(", ")
}
