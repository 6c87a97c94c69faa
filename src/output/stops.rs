//! A sheet of all stops: how the dial looks at each, and what is due there.
//!
//! Lettering is drawn as outlines, so that the sheet needs no fonts. A stop that misreads is marked by a cross and
//! words, never by colour alone.

use resvg::{tiny_skia, usvg};
use svg::Document;
use svg::node::element::{Description, Group, Path, Rectangle};

use super::curves::caution;
use super::drawing::{GREY, INK, Lettering, WRONG, moved, titled};
use super::look::Look;
use crate::audit::fit::in_words;
use crate::audit::{CheckedReading, CheckedStop, ReadingCheck};
use crate::density::with_density;
use crate::design::pose::Pose;
use crate::design::{Design, Face, hex};
use crate::plan::has_magnets;
use crate::units::{Length, fixed, plain};

/// Across one picture of the dial, in mm of the sheet.
const ACROSS: f64 = 40.0;
/// Room round everything, in mm.
pub(super) const GAP: f64 = 5.0;
/// Cap height of headings, in mm.
const HEADING: f64 = 4.0;
/// Cap height of due labels, in mm.
const DUE: f64 = 2.9;
/// Cap height of small print, in mm.
pub(super) const SMALL: f64 = 1.9;
/// From one line of a caption to the next, in mm.
pub(super) const LINE: f64 = 5.2;
/// From one line of a caution to the next, in mm.
const CAUTION: f64 = 3.4;
/// Room for a due label beside its margin, in mm.
const DUE_ROOM: f64 = 20.0;
/// Most pictures for one reading.
pub(super) const MOST: usize = 400;
/// Dots to a millimetre of a PNG.
const DOTS: f64 = 8.0;
/// Longest side of a PNG, in dots.
const LONGEST: f64 = 8_000.0;

/// The sheet as SVG 1.1, in millimetres: every dial at all its stops.
pub fn sheet(dials: &[(&Design, &ReadingCheck)]) -> String {
    let lettering = Lettering::embedded();
    let themes = dials.iter().flat_map(|(design, check)| themes(design, check));
    let blocks: Vec<Block> = themes.enumerate().map(|(at, theme)| theme.drawn(at, &lettering)).collect();
    let width = 2.0 * GAP + blocks.iter().map(|block| block.width).fold(ACROSS, f64::max);
    let magnets = dials.iter().any(|(design, _)| has_magnets(design));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred letters")]
    let cautions = if magnets { caution((width / SMALL) as usize) } else { Vec::new() };
    #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
    let height = GAP + blocks.iter().map(|block| block.height + GAP).sum::<f64>() + cautions.len() as f64 * CAUTION;
    let (wide, high) = (plain(width, 3), plain(height, 3));
    let titles: Vec<&str> = dials.iter().map(|(design, _)| design.title.as_str()).collect();
    let mut document = Document::new()
        .set("version", "1.1")
        .set("xmlns:xlink", "http://www.w3.org/1999/xlink")
        .set("width", format!("{wide}mm"))
        .set("height", format!("{high}mm"))
        .set("viewBox", format!("0 0 {wide} {high}"))
        .add(titled(&format!("All stops: {}", titles.join(", "))))
        .add(Description::new().add(svg::node::Text::new("A cross and words mark a stop that misreads.")))
        .add(Rectangle::new().set("width", wide).set("height", high).set("fill", "#ffffff"));
    let mut down = GAP;
    for block in blocks {
        document = document.add(moved(block.drawn, GAP, down));
        down += block.height + GAP;
    }
    for line in cautions {
        document = lettering
            .line(&line, SMALL, GREY, (GAP, down, width - 2.0 * GAP))
            .into_iter()
            .fold(document, Document::add);
        down += CAUTION;
    }
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// A sheet as PNG, 8 dots to a millimetre, fewer where it would be larger than 8000 dots.
///
/// # Errors
/// Why it cannot be drawn, in words.
pub fn png(sheet: &str) -> Result<Vec<u8>, String> {
    let tree = usvg::Tree::from_str(sheet, &usvg::Options::default()).map_err(|error| error.to_string())?;
    let (wide, high) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    // The tree counts 96 dots to an inch.
    let scale = (DOTS * 25.4 / 96.0).min(LONGEST / wide.max(high));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to 8000")]
    let dots = |length: f64| (length * scale).ceil().clamp(1.0, LONGEST) as u32;
    let mut pixels = tiny_skia::Pixmap::new(dots(wide), dots(high)).ok_or("it is too large")?;
    #[allow(clippy::cast_possible_truncation, reason = "a scale of a few units")]
    let factor = scale as f32;
    resvg::render(&tree, tiny_skia::Transform::from_scale(factor, factor), &mut pixels.as_mut());
    Ok(with_density(pixels.encode_png().map_err(|error| error.to_string())?, scale * 96.0 / 25.4))
}

/// Something drawn, its upper left corner at the origin; sizes in mm.
struct Block {
    drawn: Group,
    width: f64,
    height: f64,
}

/// Readings that share their pictures: the first has most stops, and the others depend on no turn besides its own.
pub(super) struct Theme<'a> {
    pub(super) design: &'a Design,
    /// The readings, that of most stops first.
    pub(super) readings: Vec<&'a CheckedReading>,
    /// The side that they are seen from.
    pub(super) face: Face,
}

/// The readings of a dial, gathered so that as few pictures as can be show them all.
pub(super) fn themes<'a>(design: &'a Design, check: &'a ReadingCheck) -> Vec<Theme<'a>> {
    let mut readings: Vec<&CheckedReading> = check.readings.iter().collect();
    // Readings of most turns first: one of fewer turns is read in pictures that are drawn already.
    readings.sort_by_key(|reading| std::cmp::Reverse(reading.turns.len()));
    if design.has_wheels() {
        // No wheel moves what is read on another, so one picture shows a stop of each.
        readings.sort_by_key(|reading| std::cmp::Reverse(reading.stops.len()));
        let theme = Theme { design, readings, face: Face::Front };
        return if theme.readings.is_empty() { Vec::new() } else { vec![theme] };
    }
    let mut themes: Vec<Theme> = Vec::new();
    for reading in readings {
        let face = design.ring(&reading.ring).map_or(Face::Front, |(_, ring)| ring.face);
        let shares = |theme: &&mut Theme| {
            let turns = theme.readings.first().map_or([].as_slice(), |first| &first.turns);
            theme.face == face && reading.turns.iter().all(|turn| turns.contains(turn))
        };
        match themes.iter_mut().find(shares) {
            Some(theme) => theme.readings.push(reading),
            None => themes.push(Theme { design, readings: vec![reading], face }),
        }
    }
    themes
}

/// One picture with what is read at it, ring by ring.
pub(super) struct StopPicture<'a> {
    /// Where the layers stand.
    pub(super) pose: Pose,
    /// Which stop of each turn that is set, both counted from 0.
    pub(super) goes: Vec<(usize, usize)>,
    /// The stop in words.
    pub(super) stop: String,
    /// What is read: the ring, and the reading at this stop.
    pub(super) reads: Vec<(&'a str, &'a CheckedStop)>,
}

impl<'a> Theme<'a> {
    /// One view for each stop, [`MOST`] at most.
    pub(super) fn views(&self) -> Vec<StopPicture<'a>> {
        if self.design.has_wheels() {
            return (0..self.all().min(MOST)).map(|stop| self.wheels_at(stop)).collect();
        }
        let Some(first) = self.readings.first() else { return Vec::new() };
        let view = |stop: &'a CheckedStop| {
            // From the stops of the first reading to those of another one, which depends on some of the same turns.
            let at = |turn: &usize| first.turns.iter().position(|own| own == turn).and_then(|at| stop.stops.get(at));
            let reads = self.readings.iter().filter_map(|reading| {
                let stops: Vec<usize> = reading.turns.iter().filter_map(at).copied().collect();
                Some((reading.ring.as_str(), reading.stops.iter().find(|one| one.stops == stops)?))
            });
            StopPicture {
                pose: Pose::of_turns(self.design, &first.turns, &stop.stops),
                goes: first.turns.iter().copied().zip(stop.stops.iter().copied()).collect(),
                stop: in_words(&stop.stops, &stop.bearings),
                reads: reads.collect(),
            }
        };
        first.stops.iter().take(MOST).map(view).collect()
    }

    /// Every wheel at this stop; one with fewer stops at its first.
    fn wheels_at(&self, stop: usize) -> StopPicture<'a> {
        let turns = self.design.turns().enumerate();
        let goes: Vec<(usize, usize)> =
            turns.map(|(at, (_, turn))| (at, if stop < turn.stops.len() { stop } else { 0 })).collect();
        let reads = self.readings.iter().filter_map(|reading| Some((self.called(reading), reading.stops.get(stop)?)));
        StopPicture {
            pose: Pose::at(self.design, &goes.iter().map(|(_, stop)| *stop).collect::<Vec<_>>()),
            goes,
            stop: format!("stop {}", stop + 1),
            reads: reads.collect(),
        }
    }

    /// What a reading is called beside others: its wheel where that has no other ring, else its ring.
    pub(super) fn called(&self, reading: &'a CheckedReading) -> &'a str {
        let wheel = self.design.ring(&reading.ring).filter(|(at, _)| self.design.is_wheel(*at));
        let layer = wheel.and_then(|(at, _)| self.design.layers.get(at)).filter(|layer| layer.rings.len() == 1);
        layer.map_or(reading.ring.as_str(), |layer| layer.name.as_str())
    }

    /// How many stops there are.
    pub(super) fn all(&self) -> usize {
        self.readings.first().map_or(0, |first| first.stops.len())
    }

    fn heading(&self) -> String {
        let variant = self.design.variant.iter().map(|variant| format!(" · {variant}"));
        let back = (self.face == Face::Back).then(|| ", seen from the back".to_owned());
        let all = self.all();
        let cut = (all > MOST).then(|| format!(", the first {MOST} of {all} stops"));
        std::iter::once(self.design.title.clone()).chain(variant).chain(back).chain(cut).collect()
    }

    fn drawn(&self, at: usize, lettering: &Lettering) -> Block {
        let look = Look::new(self.design, self.face, format!("dial-{}", at + 1));
        let views = self.views();
        let columns = columns(views.len());
        #[allow(clippy::cast_precision_loss, reason = "a handful of columns and lines")]
        let [across, readings] = [columns, self.readings.len()].map(|count| count as f64);
        let width = across * (ACROSS + GAP) - GAP;
        let (mut drawn, mut down) = (Group::new().add(look.definitions()), 2.0 * HEADING);
        drawn = lettering
            .line(&self.heading(), HEADING, INK, (0.0, HEADING / 2.0, width))
            .into_iter()
            .fold(drawn, Group::add);
        for row in views.chunks(columns.max(1)) {
            // A row is as high as its longest caption.
            let faults = row.iter().any(|view| view.reads.iter().any(|(_, stop)| !stop.reads));
            let lines = 1.0 + readings * if faults { 2.0 } else { 1.0 };
            let mut right = 0.0;
            for view in row {
                drawn = drawn.add(moved(self.cell(&look, view, lettering), right, down));
                right += ACROSS + GAP;
            }
            down += ACROSS + lines * LINE + GAP;
        }
        Block { drawn, width, height: down - GAP }
    }

    /// The picture of one stop with its caption.
    fn cell(&self, look: &Look, view: &StopPicture, lettering: &Lettering) -> Group {
        let middle = ACROSS / 2.0;
        let scale = plain(middle / look.reach(), 5);
        let dial = look.at(&view.pose).set("transform", format!("translate({middle} {middle}) scale({scale})"));
        let mut cell = Group::new().add(titled(&describe_stop(view))).add(dial);
        let mut down = ACROSS + LINE / 2.0;
        cell = lettering.line(&view.stop, SMALL, GREY, (0.0, down, ACROSS)).into_iter().fold(cell, Group::add);
        for (ring, stop) in &view.reads {
            down += LINE;
            let due = if view.reads.len() > 1 { format!("{ring} {}", stop.due_says) } else { stop.due_says.clone() };
            let margin = stop.near_margin().map_or("free".to_owned(), |margin| format!("margin {}", short(margin)));
            let ink = if stop.reads { INK } else { WRONG };
            let due = lettering.line(&due, DUE, ink, (0.0, down, DUE_ROOM - 2.0));
            let margin = lettering.line(&margin, SMALL, ink, (DUE_ROOM, down, ACROSS - DUE_ROOM));
            cell = due.into_iter().chain(margin).fold(cell, Group::add);
            if !stop.reads {
                down += LINE;
                let words =
                    lettering.line(&format!("misreads: {}", stop.shows()), SMALL, WRONG, (LINE, down, ACROSS - LINE));
                cell = words.into_iter().fold(cell.add(cross(LINE / 2.0 - 0.6, down, 1.4)), Group::add);
            }
        }
        if view.reads.iter().all(|(_, stop)| stop.reads) { cell } else { cell.add(cross(3.0, 3.0, 3.0)) }
    }
}

/// A cell in words, for those who cannot see it.
pub(super) fn describe_stop(view: &StopPicture) -> String {
    let reads = view.reads.iter().map(|(ring, stop)| {
        let shows = if stop.reads { "shows".to_owned() } else { format!("misreads: {}, not", stop.shows()) };
        format!("{ring} {shows} {}", stop.due_says)
    });
    format!("{}: {}", view.stop, reads.collect::<Vec<_>>().join("; "))
}

/// How many pictures stand in a row: as few places as can be stay empty.
fn columns(count: usize) -> usize {
    match count {
        0..=5 => count.max(1),
        // The first of them where several leave equally few places empty, so the widest.
        6..=40 => [6, 5, 4].into_iter().min_by_key(|columns| count.next_multiple_of(*columns)).unwrap_or(6),
        _ => 10,
    }
}

fn short(length: Length) -> String {
    format!("{}mm", fixed(length.as_mm(), 2))
}

pub(super) fn cross(x: f64, y: f64, reach: f64) -> Path {
    let [left, right, top, bottom] = [x - reach, x + reach, y - reach, y + reach].map(|at| plain(at, 3));
    Path::new()
        .set("d", format!("M{left},{top} L{right},{bottom} M{left},{bottom} L{right},{top}"))
        .set("fill", "none")
        .set("stroke", hex(WRONG))
        .set("stroke-width", plain(reach / 3.0, 3))
}
