//! What was measured, as a picture: every edge beyond where it was meant, drawn large.

use kurbo::{Affine, Shape as _, Vec2};
use svg::Document;
use svg::node::element::{Circle, Group, Line as Stroke, Path, Rectangle};

use super::diary::Diary;
use super::{EdgeFound, PartTold, Run};
use crate::design::{Tone, hex};
use crate::output::drawing::{GREY, INK, Lettering, titled};
use crate::rehearsal::{Meant, MeantLayer};
use crate::units::plain;

/// How many times larger deviations are drawn than parts.
const LARGER: f64 = 50.0;
/// Farther off than this a bar would cross its neighbours, mm.
const MOST: f64 = 0.12;
/// Parts that are drawn.
const DRAWN: usize = 60;
/// Room round each part, and cap height of letters, mm.
const ROOM: f64 = 8.0;
const LETTERS: f64 = 2.4;
/// Vermilion and blue of the set of Okabe and Ito (2008): beyond, and short of, what was meant.
const BEYOND: Tone = [0xd5, 0x5e, 0x00];
const SHORT: Tone = [0x00, 0x72, 0xb2];

/// Every part with its edges, as SVG 1.1 in millimetres.
pub fn sheet(run: &Run, meant: &Meant) -> String {
    let lettering = Lettering::embedded();
    let layers = run.edges.iter().filter_map(|(layer, _)| meant.layers.get(*layer));
    let cell = layers.map(|layer| reach(layer) * 2.0).fold(30.0, f64::max) + ROOM;
    let count = run.edges.len().min(DRAWN);
    let columns = (count as f64).sqrt().ceil().max(1.0);
    let rows = (count as f64 / columns).ceil().max(1.0);
    let high = cell + 3.0 * LETTERS;
    let (wide, tall) = (columns * cell + ROOM, rows * high + ROOM + 8.0 * LETTERS);
    let mut drawn = Group::new();
    for (at, (part, (layer, edges))) in run.measured.parts.iter().zip(&run.edges).take(DRAWN).enumerate() {
        let Some(layer) = meant.layers.get(*layer) else { continue };
        let (column, row) = ((at % columns as usize) as f64, (at / columns as usize) as f64);
        let middle = Vec2::new(ROOM / 2.0 + (column + 0.5) * cell, ROOM / 2.0 + row * high + cell / 2.0);
        drawn = drawn.add(tile(part, layer, edges, (middle, cell), &lettering));
    }
    let left = run.edges.len().saturating_sub(DRAWN);
    let more = if left > 0 { format!("; {left} parts more are in measured.json") } else { String::new() };
    let lines = [
        format!(
            "Bars are {LARGER} times as long as what they show: 1 mm is 0.02 mm. Outwards and vermilion is more material or more burnt"
        ),
        format!("than meant, inwards and blue is less. Backs are drawn as seen from the front{more}."),
    ];
    for (at, line) in lines.iter().enumerate() {
        let place = (ROOM, tall - ROOM - (1.0 - at as f64) * 1.9 * LETTERS, wide - 2.0 * ROOM);
        drawn = lettering.line(line, LETTERS, INK, place).into_iter().fold(drawn, Group::add);
    }
    document(&format!("Made against meant: {}", run.measured.dial), (wide, tall), drawn)
}

fn document(title: &str, (wide, high): (f64, f64), drawn: Group) -> String {
    let (wide, high) = (plain(wide, 2), plain(high, 2));
    let document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{wide}mm"))
        .set("height", format!("{high}mm"))
        .set("viewBox", format!("0 0 {wide} {high}"))
        .add(titled(title))
        .add(Rectangle::new().set("width", wide).set("height", high).set("fill", "#ffffff"))
        .add(drawn);
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// How far a layer reaches from the middle of its box, mm.
fn reach(layer: &MeantLayer) -> f64 {
    let bounds = layer.outline.bounding_box();
    bounds.width().max(bounds.height()) / 2.0 + LARGER * MOST / 2.0
}

fn tile(
    part: &PartTold,
    layer: &MeantLayer,
    edges: &[EdgeFound],
    (middle, cell): (Vec2, f64),
    lettering: &Lettering,
) -> Group {
    let centre = layer.outline.bounding_box().center().to_vec2();
    let place = Affine::translate(middle) * Affine::FLIP_Y * Affine::translate(-centre);
    let line = |path: &kurbo::BezPath| {
        let path = Path::new().set("d", (place * path.clone()).to_svg()).set("fill", "none");
        path.set("stroke", hex([0xaa; 3])).set("stroke-width", 0.12)
    };
    let mut group = Group::new().add(line(&layer.outline));
    for work in layer.works.iter().filter(|work| work.shows(part.face == "back")) {
        group = group.add(line(&work.path));
    }
    // Bars of a colour are one path.
    for (beyond, colour) in [(true, BEYOND), (false, SHORT)] {
        let mut bars = kurbo::BezPath::new();
        for edge in edges.iter().filter(|edge| (edge.beyond > 0.0) == beyond) {
            bars.move_to(place * edge.at);
            bars.line_to(place * (edge.at + edge.normal * edge.beyond.clamp(-MOST, MOST) * LARGER));
        }
        let path = Path::new().set("d", rounded(&bars)).set("stroke", hex(colour)).set("stroke-width", 0.25);
        group = group.add(path.set("fill", "none"));
    }
    let caption = format!(
        "{}: {}, {}; kerf {} mm ± {}",
        part.number,
        part.layer,
        part.face,
        plain(part.kerf_mm, 3),
        plain(part.kerf_plus_minus_mm, 3)
    );
    let at = (middle.x - cell / 2.0 + 1.0, middle.y + cell / 2.0 + 1.5 * LETTERS, cell - 2.0);
    lettering.line(&caption, LETTERS, INK, at).into_iter().fold(group, Group::add)
}

fn rounded(path: &kurbo::BezPath) -> String {
    let mut text = String::new();
    for element in path {
        let (sign, p) = match element {
            kurbo::PathEl::MoveTo(p) => ('M', p),
            kurbo::PathEl::LineTo(p) => ('L', p),
            _ => continue,
        };
        text.push_str(&format!("{sign}{},{}", plain(p.x, 3), plain(p.y, 3)));
    }
    text
}

/// Width and height of one chart, mm.
const CHART: (f64, f64) = (160.0, 60.0);

/// The runs of a diary as charts, one for each stock: means with their intervals, limits by parts and by runs.
pub fn diary_sheet(diary: &Diary) -> String {
    let lettering = Lettering::embedded();
    let margin = 18.0;
    let mut drawn = Group::new();
    let mut down = ROOM;
    for chart in &diary.charts {
        let own: Vec<&super::Line> = diary.lines.iter().filter(|line| line.stock == chart.stock).collect();
        let reach = |line: &&super::Line| {
            let half = line.plus_minus_mm.unwrap_or(0.0);
            let limits = line.by_parts_mm.unwrap_or([line.mean_mm; 2]);
            [line.mean_mm - half, line.mean_mm + half, line.used_mm, limits[0], limits[1]]
        };
        let all = own.iter().flat_map(reach).chain(chart.by_runs_mm.into_iter().flatten());
        let (low, high) = all.fold((f64::MAX, f64::MIN), |(low, high), it| (low.min(it), high.max(it)));
        let span = (high - low).max(0.01) * 1.15;
        let up = |value: f64| down + 3.0 * LETTERS + CHART.1 * (1.0 - (value - (low + high) / 2.0) / span - 0.5);
        let right = |at: usize| margin + CHART.0 * (at as f64 + 0.5) / own.len().max(1) as f64;
        let level = |value: f64, colour: Tone, dashes: &str| {
            let line =
                Stroke::new().set("x1", margin).set("x2", margin + CHART.0).set("y1", up(value)).set("y2", up(value));
            line.set("stroke", hex(colour)).set("stroke-width", 0.3).set("stroke-dasharray", dashes)
        };
        let heading = format!(
            "Kerf in {}, mm; dashed: limits by runs (individuals); grey bars: limits by parts (x-bar)",
            chart.stock
        );
        drawn = lettering
            .line(&heading, LETTERS, INK, (margin, down + LETTERS, CHART.0))
            .into_iter()
            .fold(drawn, Group::add);
        drawn = drawn.add(level(chart.middle_mm, INK, "none"));
        for limit in chart.by_runs_mm.into_iter().flatten() {
            drawn = drawn.add(level(limit, INK, "2,1.5"));
        }
        for value in [low, chart.middle_mm, high] {
            let place = (1.0, up(value) + LETTERS / 2.0, margin - 2.0);
            drawn = lettering.line(&plain(value, 3), LETTERS, INK, place).into_iter().fold(drawn, Group::add);
        }
        for (at, line) in own.iter().enumerate() {
            let bar = |x: f64, from: f64, to: f64, width: f64, colour: Tone| {
                let line = Stroke::new().set("x1", x).set("x2", x).set("y1", up(from)).set("y2", up(to));
                line.set("stroke", hex(colour)).set("stroke-width", width)
            };
            if let Some([low, high]) = line.by_parts_mm {
                drawn = drawn.add(bar(right(at), low, high, 3.0, [0xdd; 3]));
            }
            let half = line.plus_minus_mm.unwrap_or(0.0);
            let colour = if line.differs { BEYOND } else { SHORT };
            drawn = drawn.add(bar(right(at), line.mean_mm - half, line.mean_mm + half, 0.4, colour));
            let dot =
                Circle::new().set("cx", right(at)).set("cy", up(line.mean_mm)).set("r", 1.1).set("fill", hex(colour));
            let name = if line.differs { format!("{} differs", line.run) } else { line.run.clone() };
            let place = (right(at) - 8.0, down + CHART.1 + 6.0 * LETTERS, CHART.0 / own.len().max(1) as f64 + 4.0);
            drawn = lettering.line(&name, LETTERS * 0.8, GREY, place).into_iter().fold(drawn.add(dot), Group::add);
        }
        down += CHART.1 + 9.0 * LETTERS;
    }
    document("Kerf from run to run", (CHART.0 + margin + ROOM, down + ROOM), drawn)
}
