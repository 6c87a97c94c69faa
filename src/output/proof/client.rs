//! The first page, for the client: how the dial looks, what it is in plain words, and where it is approved. No codes, no line
//! numbers, and a price only where it is asked for.

use std::num::NonZeroUsize;

use svg::node::element::{Group, Rectangle};

use super::super::Printing;
use super::super::drawing::{GREY, INK, moved};
use super::super::page::text::{BODY, HEAD, SMALL, Style, TextRun, Voice, baseline, line, line_height, width};
use super::super::page::{Flow, THIN, rule};
use super::draw::{Scale, figure};
use super::front::{bounds, is_round};
use super::photo::{DOTS, photo, pixels};
use crate::audit::turning::CheckedReading;
use crate::design::pose::Pose;
use crate::design::{Design, Face, Layer, Tone, hex};
use crate::diagnostics::counted;
use crate::portrait::{Portrait, View, portrait, stills, stills_size};
use crate::units::{Length, plain};

/// Room for the views of the front and the back, in mm.
const VIEW: f64 = 84.0;
/// Between the two views, in mm.
const GUTTER: f64 = 8.0;
/// From one row of the facts to the next, in mm.
const ROW: f64 = 6.2;
/// Where what a fact says begins, in mm.
const FACTS: f64 = 34.0;
/// How long the picture from aside is, in mm.
const ASIDE: f64 = 62.0;
/// How high the front may be where it has a row of its own, in mm.
const ALONE: f64 = 70.0;
const ASIDE_SAYS: &str = "The dial from aside";
/// A name below a view has at least this room, in mm.
const NAME: f64 = 40.0;
/// Labels are listed up to this many letters.
const LISTED: usize = 60;
/// Height of the approval panel, and what it keeps free within its edge, in mm.
const PANEL: (f64, f64) = (62.0, 6.0);
/// Its ground, and the lines that only part things.
const WASH: Tone = [0xf6, 0xf1, 0xe8];
const HAIR: Tone = [0xc9, 0xbd, 0xa9];

/// The whole page; what follows begins on the next one.
pub(super) fn page(flow: &mut Flow, job: &Printing) {
    let aside = views(flow, job.design);
    flow.heading("What you get", 3.0 * ROW);
    if let Some((drawn, size)) = aside {
        flow.put_beside(drawn, size, ASIDE_SAYS);
    }
    for (what, how) in facts(job) {
        fact(flow, &what, &how);
    }
    flow.below();
    if crate::plan::has_magnets(job.design) {
        flow.gap(2.0);
        flow.paragraph(&[
            TextRun::strong("It holds small strong magnets, which are dangerous when swallowed. "),
            TextRun::plain("Keep it away from small children; the run sheet names the rules that apply."),
        ]);
    }
    flow.need(PANEL.0 + 4.0);
    flow.gap((flow.left() - PANEL.0).max(0.0));
    approval(flow, job);
    flow.turn_over();
}

/// Front and back as they are held. Side by side at one scale; where only a row of its own lets the front be larger, the back stands
/// below it with the picture from aside, and what is still to be put beside the facts is none.
fn views(flow: &mut Flow, design: &Design) -> Option<(Group, (f64, f64))> {
    flow.gap(1.5);
    let wide = flow.width();
    let half = ((wide - GUTTER) / 2.0, VIEW);
    let [front, back] = [Face::Front, Face::Back].map(|face| Held::of(design, face));
    let beside = Scale::fitting((front.size.0.max(back.size.0), front.size.1.max(back.size.1)), half, 1.0);
    let alone = Scale::fitting(front.size, (wide, ALONE), 1.0);
    let aside = aside(design);
    if beside.factor() >= alone.factor() {
        let row = [front.drawn(design, beside), back.drawn(design, beside)];
        put_row(flow, row, "client-views", "The front and the back of the dial");
        return aside;
    }
    let (drawn, (across, high)) = front.drawn(design, alone);
    flow.put_figure(moved(drawn, (wide - across) / 2.0, 0.0).set("id", "client-views"), high, "The front of the dial");
    let back = back.drawn(design, Scale::fitting(back.size, half, 1.0));
    match aside {
        Some(aside) => put_row(flow, [back, aside], "client-back", "The back of the dial, and the dial from aside"),
        None => flow.put_figure(back.0, back.1.1, "The back of the dial"),
    }
    None
}

/// Two drawings in one row, each in the middle of its half.
fn put_row(flow: &mut Flow, row: [(Group, (f64, f64)); 2], id: &str, says: &str) {
    let half = (flow.width() - GUTTER) / 2.0;
    let high = row.iter().map(|(_, size)| size.1).fold(0.0, f64::max);
    let lefts = [0.0, half + GUTTER];
    let drawn = row.into_iter().zip(lefts).fold(Group::new().set("id", id), |all, ((drawn, size), left)| {
        all.add(moved(drawn, left + (half - size.0) / 2.0, (high - size.1) / 2.0))
    });
    flow.put_figure(drawn, high, says);
}

/// A side of the dial before its scale is chosen.
struct Held {
    face: Face,
    pose: Pose,
    /// With a little room and its shadow, in mm of the dial.
    size: (f64, f64),
}

impl Held {
    fn of(design: &Design, face: Face) -> Self {
        let pose = Pose::at(design, &[]);
        let size = stills_size(design, face, &[&pose]);
        Self { face, pose, size }
    }

    /// The side in its material with its name below, and how large that is.
    fn drawn(&self, design: &Design, scale: Scale) -> (Group, (f64, f64)) {
        let [wide, high] = [self.size.0, self.size.1].map(|mm| mm * scale.factor());
        let word = if self.face == Face::Front { "Front" } else { "Back" };
        // One thread: variants of a family are printed side by side.
        let seen = stills(design, self.face, &[&self.pose], pixels(wide.max(high)), NonZeroUsize::MIN);
        let seen = seen.first().and_then(|seen| photo(seen, (wide, high), &format!("The dial, its {word}")));
        let name = line(
            &format!("{word} ({})", scale.words()),
            Style::of(SMALL).ink(GREY).middle(),
            (wide / 2.0, high + baseline(SMALL)),
            wide.max(NAME),
        );
        let drawn = seen.into_iter().fold(Group::new(), Group::add).add(name);
        (drawn, (wide, high + line_height(SMALL) + 1.0))
    }
}

/// The finished dial from aside, in its material, on the white of the paper, and how large it is.
fn aside(design: &Design) -> Option<(Group, (f64, f64))> {
    let wanted = Portrait { view: View::Quarter, stops: Vec::new(), size: pixels(ASIDE), clear_ground: true };
    let drawn = portrait(design, &wanted, NonZeroUsize::MIN);
    #[allow(clippy::cast_precision_loss, reason = "some hundred pixels")]
    let size = ((drawn.wide as f64) / DOTS, (drawn.high as f64) / DOTS);
    Some((photo(&drawn, size, ASIDE_SAYS)?, size))
}

/// A fact: what it is of, and what it is.
fn fact(flow: &mut Flow, what: &str, how: &str) {
    let wide = flow.width();
    let down = ROW - 2.0;
    let drawn = Group::new()
        .add(line(what, Style::of(BODY).ink(GREY), (0.0, down), FACTS - 2.0))
        .add(line(how, Style::of(BODY), (FACTS, down), wide - FACTS))
        .add(rule((0.0, ROW), (wide, ROW), THIN, HAIR));
    flow.put(drawn, ROW);
}

/// What is known of the dial, as one would say it.
fn facts(job: &Printing) -> Vec<(String, String)> {
    let design = job.design;
    let mut facts = vec![("What".to_owned(), made_of(design))];
    let mut say = |what: &str, how: String| facts.push((what.to_owned(), how));
    let shows = job.audit.reading_check.readings.iter().map(|reading| {
        // Of several turns every combination is a stop, and none of them one that a thumb feels.
        let stops = match reading.turns.len() {
            1 => format!(", {}", counted(reading.stops.len(), "stop")),
            _ => String::new(),
        };
        (reading.ring.as_str(), format!("{}, one at a time{stops}", labels(reading)))
    });
    each(&mut say, "Shows", shows.collect());
    say("Size", size(job));
    let high = design.readings.iter().filter_map(|reading| {
        let (_, ring) = design.ring(&reading.ring)?;
        let cm = |distance: Length| format!(", to be read from {} cm", plain(distance.as_mm() / 10.0, 0));
        let from = reading.distance.map_or_else(String::new, cm);
        Some((ring.name.as_str(), format!("{} mm high{from}", plain(ring.height.as_mm(), 1))))
    });
    each(&mut say, "Labels", high.collect());
    if let Some((slot, fit)) = design.slot.as_ref().zip(job.audit.fit.as_ref()) {
        let deep = slot.depth.map_or_else(String::new, |depth| format!(" × {}", plain(depth.as_mm(), 1)));
        let size = slot
            .outline
            .bounds()
            .map_or_else(String::new, |it| format!("{} × {}{deep} mm: ", plain(it.width(), 1), plain(it.height(), 1)));
        say("In its slot", format!("{size}turns with {} mm to spare", figure(fit.turning)));
    }
    // Halves that come apart alike are told once.
    let mut apart: Vec<String> = Vec::new();
    for held in job.audit.holding.turns.iter().filter_map(|turn| turn.magnets.as_ref()) {
        let (least, most) = held.lift_off.range();
        let [least, most] = [least, most].map(|force| plain(force.as_newtons(), 1));
        let how = format!("at a straight pull of {least} N to {most} N");
        if !apart.contains(&how) {
            apart.push(how);
        }
    }
    apart.into_iter().for_each(|how| say("Comes apart", how));
    let printed = design.layers.iter().any(Layer::is_printed).then_some("printed");
    let finishes: Vec<&str> = printed.into_iter().chain(finishes(design)).collect();
    say("Surface", if finishes.is_empty() { "as the stock is, unfinished".to_owned() } else { finishes.join(", ") });
    if job.price
        && let Some(price) = super::super::quote::price_line(job.quote)
    {
        say("Price", price);
    }
    if let Some(sure) = job.audit.dial_yield(design) {
        say("Reads right", format!("{} of the dials, at every stop", sure.share));
    }
    facts
}

/// What is said of each ring; once where the same is said of all.
fn each(say: &mut impl FnMut(&str, String), what: &str, of: Vec<(&str, String)>) {
    match of.as_slice() {
        [(_, first), ..] if of.iter().all(|(_, how)| how == first) => say(what, first.clone()),
        _ => of.into_iter().for_each(|(ring, how)| say(&format!("{what}, {ring}"), how)),
    }
}

/// "8 dials, each of two layers: birch, grey card".
fn made_of(design: &Design) -> String {
    let mut stocks: Vec<String> = Vec::new();
    for layer in &design.layers {
        let words = layer.stock.name.replace('_', " ");
        if !stocks.contains(&words) {
            stocks.push(words);
        }
    }
    let dials = counted(design.run.dials as usize, "dial");
    format!("{dials}, each of {} of {}", counted(design.layers.len(), "layer"), stocks.join(", "))
}

/// "0 to 9", or the labels one by one as far as there is room.
fn labels(reading: &CheckedReading) -> String {
    let mut labels: Vec<&str> = Vec::new();
    for stop in &reading.stops {
        if !labels.contains(&stop.due_says.as_str()) {
            labels.push(&stop.due_says);
        }
    }
    let numbers: Vec<i64> = labels.iter().map_while(|label| label.parse().ok()).collect();
    let runs = numbers.len() == labels.len()
        && numbers.windows(2).all(|two| two.first().map(|n| n + 1) == two.last().copied());
    if let (true, [first, .., last]) = (runs, numbers.as_slice()) {
        return format!("{first} to {last}");
    }
    let mut said = String::new();
    for (at, label) in labels.iter().enumerate() {
        if said.chars().count() + label.chars().count() > LISTED {
            return format!("{said} and {} more", labels.len() - at);
        }
        said.push_str(if at == 0 { "" } else { ", " });
        said.push_str(label);
    }
    said
}

/// "60 mm across, 5.9 mm thick, 12 g".
fn size(job: &Printing) -> String {
    let design = job.design;
    let whole = bounds(design, Face::Front, &Pose::at(design, &[]));
    let wide = Length::mm(whole.width());
    let across = match design.layers.iter().any(|layer| is_round(&layer.outline, wide)) {
        true => format!("{} mm across", plain(wide.as_mm(), 1)),
        false => format!("{} × {} mm", plain(wide.as_mm(), 1), plain(whole.height(), 1)),
    };
    let heavy = job.audit.holding.turns.first().map_or_else(String::new, |turn| {
        let grams: f64 = turn.halves.iter().map(|half| half.mass.as_kilograms() * 1000.0).sum();
        format!(", {} g", plain(grams, 0))
    });
    format!("{across}, {} mm thick{heavy}", plain(design.thickness().as_mm(), 1))
}

fn finishes(design: &Design) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for finish in design.layers.iter().filter_map(|layer| layer.finish.as_ref()) {
        if !names.contains(&finish.name.as_str()) {
            names.push(&finish.name);
        }
    }
    names
}

/// Three boxes, three lines for changes, and who says so when.
fn approval(flow: &mut Flow, job: &Printing) {
    let wide = flow.width();
    let (high, edge) = PANEL;
    let inner = wide - 2.0 * edge;
    let ground = Rectangle::new()
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("rx", 1.5)
        .set("fill", hex(WASH));
    let of = format!("of revision {}, all pages", job.revision.short());
    let mut panel = Group::new()
        .add(ground)
        .add(line("Your approval", Style::of(HEAD).strong(), (edge, edge + 3.5), inner / 2.0))
        .add(line(&of, Style::of(SMALL).ink(GREY).end(), (wide - edge, edge + 3.5), inner / 2.0));
    let boxes = ["Approved as shown", "Approved with the changes below", "Not yet: show me again"];
    let mut left = edge;
    for words in boxes {
        let tick = Rectangle::new()
            .set("x", plain(left, 3))
            .set("y", plain(edge + 8.2, 3))
            .set("width", 3.6)
            .set("height", 3.6)
            .set("fill", "#ffffff")
            .set("stroke", hex(INK))
            .set("stroke-width", THIN * 1.5);
        panel = panel.add(tick).add(line(words, Style::of(BODY).strong(), (left + 5.2, edge + 11.2), inner / 2.0));
        left += 5.2 + width(words, BODY, Voice::Strong) + 7.0;
    }
    panel = panel.add(line("Changes", Style::of(SMALL).ink(GREY), (edge, edge + 19.0), 20.0));
    for row in 0..3 {
        let down = edge + 19.5 + 7.0 * f64::from(row);
        panel = panel.add(rule((edge + 20.0, down), (wide - edge, down), THIN, INK));
    }
    let third = inner / 3.0;
    for (words, left) in ["Name", "Signature", "Date"].into_iter().zip([0.0, third, 2.0 * third]) {
        let (x, y) = (edge + left, high - edge - 3.0);
        panel = panel.add(rule((x, y), (x + third - 6.0, y), THIN * 1.5, INK)).add(line(
            words,
            Style::of(SMALL).ink(GREY),
            (x, y + 3.6),
            third,
        ));
    }
    flow.put(panel.set("id", "approval"), high);
}
