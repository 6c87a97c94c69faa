//! A sheet of artwork before and after: as it came, what is stray in it, and what would be burnt.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use kurbo::Affine;
use svg::Document;
use svg::node::element::{Description, Group, Path, Rectangle};

use super::drawing::{GREY, INK, Lettering, WRONG, moved, titled};
use super::stops::{GAP, LINE, SMALL};
use crate::artwork::{Art, Preview};
use crate::design::{Tone, hex};
use crate::geometry::contours;
use crate::units::plain;

/// Longest side of each picture, in mm of the sheet.
const ACROSS: f64 = 70.0;
/// How much lighter the picture is drawn under its strays.
const FAINT: f64 = 0.75;

/// The sheet as SVG 1.1, in millimetres. Before and after are the same size; strays are vermilion, and each cell that
/// holds one is drawn.
pub fn sheet(name: &str, preview: &Preview, art: &Art) -> String {
    let lettering = Lettering::embedded();
    let scale = ACROSS / preview.page.width().max(preview.page.height());
    let (wide, high) = (preview.page.width() * scale, preview.page.height() * scale);
    let mut panels = vec![("as it came".to_owned(), cells(preview, wide, |colour, _| Some(colour)))];
    if preview.stray.contains(&true) {
        let faint = cells(preview, wide, |colour, stray| (!stray).then(|| lighter(colour)));
        let strays = cells(preview, wide, |_, stray| stray.then_some(WRONG));
        panels.push(("stray grey".to_owned(), Group::new().add(faint).add(strays)));
    }
    panels.push(("what is burnt".to_owned(), Group::new().add(burnt(art, scale, high))));
    #[allow(clippy::cast_precision_loss, reason = "two or three panels")]
    let (width, height) = (GAP + panels.len() as f64 * (wide + GAP), 2.0 * GAP + high + LINE);
    let (across, down) = (plain(width, 3), plain(height, 3));
    let document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{across}mm"))
        .set("height", format!("{down}mm"))
        .set("viewBox", format!("0 0 {across} {down}"))
        .add(titled(&format!("Artwork before and after: {name}")))
        .add(Description::new().add(svg::node::Text::new("Words under each picture say what it shows.")))
        .add(Rectangle::new().set("width", across).set("height", down).set("fill", "#ffffff"));
    let mut right = GAP;
    let drawn = panels.into_iter().fold(document, |document, (words, picture)| {
        let caption = lettering.line(&words, SMALL, INK, (0.0, high + LINE / 2.0, wide));
        let panel =
            caption.into_iter().fold(Group::new().add(titled(&words)).add(picture).add(edge(wide, high)), Group::add);
        let placed = moved(panel, right, GAP);
        right += wide + GAP;
        document.add(placed)
    });
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{drawn}\n")
}

fn lighter(colour: Tone) -> Tone {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 255")]
    colour.map(|value| (f64::from(value) * (1.0 - FAINT) + 255.0 * FAINT).round() as u8)
}

/// Runs of cells of one colour, one path a colour.
fn cells(preview: &Preview, wide: f64, colour: impl Fn(Tone, bool) -> Option<Tone>) -> Group {
    let mut paths: BTreeMap<Tone, String> = BTreeMap::new();
    let rows = preview.cells.chunks(preview.width).zip(preview.stray.chunks(preview.width));
    for (y, (row, stray)) in rows.enumerate() {
        let colours: Vec<Option<Tone>> = row.iter().zip(stray).map(|(cell, stray)| colour(*cell, *stray)).collect();
        let mut x = 0;
        for run in colours.chunk_by(|a, b| a == b) {
            // White is the colour of the sheet: what is left out of a drawing makes the file a fraction as long.
            if let Some(Some(colour)) = run.first().filter(|colour| **colour != Some([255; 3])) {
                let path = paths.entry(*colour).or_default();
                let _ = write!(path, "M{x},{y}h{0}v1h-{0}z", run.len());
            }
            x += run.len();
        }
    }
    #[allow(clippy::cast_precision_loss, reason = "a few hundred cells")]
    let scale = wide / preview.width as f64;
    let group =
        // Smoothed edges would show a hairline between cells that touch.
        Group::new().set("transform", format!("scale({})", plain(scale, 6))).set("shape-rendering", "crispEdges");
    paths
        .into_iter()
        .fold(group, |group, (colour, data)| group.add(Path::new().set("d", data).set("fill", hex(colour))))
}

fn burnt(art: &Art, scale: f64, high: f64) -> Path {
    // Artwork has its origin at the lower left and y up, a sheet at the upper left and y down.
    let map = Affine::new([scale, 0.0, 0.0, -scale, 0.0, high]);
    Path::new().set("d", contours(art.ink.path(), map).join(" ")).set("fill", "#000000").set("fill-rule", "evenodd")
}

fn edge(wide: f64, high: f64) -> Rectangle {
    Rectangle::new()
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("fill", "none")
        .set("stroke", hex(GREY))
        .set("stroke-width", "0.1")
}
