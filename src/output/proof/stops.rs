//! Every stop, small, with what is due there.

use svg::node::element::Group;

use super::super::drawing::{GREY, INK, WRONG, moved, titled};
use super::super::look::Look;
use super::super::page::Flow;
use super::super::page::text::{SMALL, Style, TextRun, line};
use super::super::stops::{MOST, StopPicture, Theme, cross, describe_stop, themes};
use crate::audit::ReadingCheck;
use crate::design::{Design, Face};
use crate::units::plain;

/// From one line of a caption to the next, in mm.
const LINE: f64 = 3.1;
/// Between two pictures, in mm.
const GAP: f64 = 2.5;

pub(super) fn stops(flow: &mut Flow, design: &Design, check: &ReadingCheck) {
    for (at, theme) in themes(design, check).iter().enumerate() {
        theme_of(flow, theme, at);
    }
}

fn theme_of(flow: &mut Flow, theme: &Theme, number: usize) {
    let views = theme.views();
    let columns = if views.len() <= 8 { 8 } else { 10 };
    #[allow(clippy::cast_precision_loss, reason = "eight or ten")]
    let cell = (flow.width() + GAP) / columns as f64;
    let across = cell - GAP;
    #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
    let high = across + (1.0 + theme.readings.len() as f64) * LINE + 1.5;
    flow.heading(&heading(theme), high);
    // Every page has the layers of its own.
    let mut drawn_on: Option<(usize, Look)> = None;
    for row in views.chunks(columns) {
        flow.need(high);
        let page = flow.page();
        let mut group = Group::new();
        if drawn_on.as_ref().is_none_or(|(known, _)| *known != page) {
            let look = Look::new(theme.design, theme.face, format!("stops-{}-{page}", number + 1));
            group = group.add(look.definitions());
            drawn_on = Some((page, look));
        }
        let Some((_, look)) = &drawn_on else { continue };
        let mut right = 0.0;
        for view in row {
            group = group.add(moved(picture(look, view, across), right, 0.0));
            right += cell;
        }
        flow.put(group, high);
    }
    if theme.all() > views.len() {
        let words = format!("{MOST} of {} combinations of stops are drawn; `dialwright turn` lists all.", theme.all());
        flow.small(&[TextRun::plain(words)], GREY);
    }
}

fn heading(theme: &Theme) -> String {
    let back = if theme.face == Face::Back { ", seen from the back" } else { "" };
    let rings: Vec<&str> = theme.readings.iter().map(|reading| theme.called(reading)).collect();
    format!("Every stop of {}{back}", rings.join(" and "))
}

fn picture(look: &Look, view: &StopPicture, across: f64) -> Group {
    let middle = across / 2.0;
    let scale = plain(middle / look.reach(), 5);
    let dial = look.at(&view.pose).set("transform", format!("translate({middle:.3} {middle:.3}) scale({scale})"));
    let mut cell = Group::new().add(titled(&describe_stop(view))).add(dial);
    let mut down = across + LINE * 0.85;
    for (ring, stop) in &view.reads {
        let due = if view.reads.len() > 1 { format!("{ring} {}", stop.due_says) } else { stop.due_says.clone() };
        let (text, ink) = if stop.reads { (due, INK) } else { (format!("{due}: misreads {}", stop.shows()), WRONG) };
        cell = cell.add(line(&text, Style::of(SMALL).strong().middle().ink(ink), (middle, down), across));
        down += LINE;
    }
    cell = cell.add(line(&bearings(view), Style::of(SMALL).middle().ink(GREY), (middle, down), across));
    if view.reads.iter().all(|(_, stop)| stop.reads) { cell } else { cell.add(cross(2.0, 2.0, 2.0)) }
}

/// "72deg", "72deg, 120deg".
fn bearings(view: &StopPicture) -> String {
    let Some((_, stop)) = view.reads.first() else { return "rest".to_owned() };
    let each: Vec<String> = stop.bearings.iter().map(|by| by.to_decimals(1)).collect();
    each.join(", ")
}
