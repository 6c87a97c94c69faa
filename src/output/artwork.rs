//! A sheet of artwork before and after: as it came, what is stray in it, and what would be burnt.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder as _};
use kurbo::{Affine, Point};
use svg::Document;
use svg::node::element::{Circle, Description, Group, Image, Path, Rectangle};

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
/// Radius of the ring round a finest place, and width of its line, in mm of the sheet.
const RING: (f64, f64) = (2.2, 0.35);
const LETTERS: [&str; 2] = ["A", "B"];

/// What is told of what is burnt.
#[derive(Clone, Debug, PartialEq)]
pub struct Marked {
    /// How wide and high it is, in words.
    pub size: String,
    /// Its finest stroke and gap: in words, and between which points of the artwork.
    pub finest: Vec<(String, (Point, Point))>,
}

/// The sheet as SVG 1.1, in millimetres. Before and after are the same size; strays are vermilion, and the finest stroke and
/// gap of what is burnt are marked.
pub fn sheet(name: &str, preview: &Preview, art: &Art, marked: &Marked) -> String {
    let lettering = Lettering::embedded();
    let scale = ACROSS / preview.page.width().max(preview.page.height());
    let (wide, high) = (preview.page.width() * scale, preview.page.height() * scale);
    let size = |wide: f64, high: f64| format!("{}mm by {}mm", plain(wide, 2), plain(high, 2));
    let came = format!("as it came, {}", size(preview.page.width(), preview.page.height()));
    let mut panels = vec![(vec![came], picture(preview, (wide, high), |colour, _| colour))];
    if preview.stray.contains(&true) {
        let strays = picture(preview, (wide, high), |colour, stray| if stray { WRONG } else { lighter(colour) });
        panels.push((vec!["stray grey".to_owned()], strays));
    }
    let told = marked.finest.iter().zip(LETTERS).map(|((words, _), letter)| format!("{letter}: finest {words}"));
    let told = std::iter::once(format!("what is burnt, {}", marked.size)).chain(told).collect::<Vec<_>>();
    let lines = told.len();
    panels.push((
        told,
        finest(&lettering, marked, scale, high).fold(Group::new().add(burnt(art, scale, high)), Group::add),
    ));
    #[allow(clippy::cast_precision_loss, reason = "two or three panels")]
    let (width, height) = (GAP + panels.len() as f64 * (wide + GAP), 2.0 * GAP + high + LINE * lines as f64);
    let (across, down) = (plain(width, 3), plain(height, 3));
    let document = Document::new()
        .set("version", "1.1")
        .set("xmlns:xlink", "http://www.w3.org/1999/xlink")
        .set("width", format!("{across}mm"))
        .set("height", format!("{down}mm"))
        .set("viewBox", format!("0 0 {across} {down}"))
        .add(titled(&format!("Artwork before and after: {name}")))
        .add(Description::new().add(svg::node::Text::new("Words under each picture say what it shows.")))
        .add(Rectangle::new().set("width", across).set("height", down).set("fill", "#ffffff"));
    let mut right = GAP;
    let drawn = panels.into_iter().fold(document, |document, (words, picture)| {
        #[allow(clippy::cast_precision_loss, reason = "a few lines")]
        let down = |at: usize| high + LINE * (at as f64 + 0.5);
        let caption =
            words.iter().enumerate().filter_map(|(at, words)| lettering.line(words, SMALL, INK, (0.0, down(at), wide)));
        let drawn = Group::new().add(titled(&words.join("; "))).add(picture).add(edge(wide, high));
        let panel = caption.fold(drawn, Group::add);
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

/// The cells of a preview as a picture of this size.
fn picture(preview: &Preview, (wide, high): (f64, f64), colour: impl Fn(Tone, bool) -> Tone) -> Group {
    let cells = preview.cells.iter().zip(&preview.stray);
    let rgb: Vec<u8> = cells.flat_map(|(cell, stray)| colour(*cell, *stray)).collect();
    let [across, down] = [preview.width, preview.height].map(|cells| u32::try_from(cells).unwrap_or(0));
    let mut png = Vec::new();
    // It fails only where there is nothing to see.
    if PngEncoder::new(&mut png).write_image(&rgb, across, down, ExtendedColorType::Rgb8).is_err() {
        return Group::new();
    }
    let drawn = Image::new()
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("preserveAspectRatio", "none")
        .set("xlink:href", format!("data:image/png;base64,{}", STANDARD.encode(png)));
    Group::new().add(drawn)
}

/// A ring with a letter round each finest place.
fn finest<'a>(lettering: &'a Lettering, marked: &'a Marked, scale: f64, high: f64) -> impl Iterator<Item = Group> + 'a {
    marked.finest.iter().zip(LETTERS).map(move |((_, (one, other)), letter)| {
        let middle = one.midpoint(*other);
        let (x, y) = (middle.x * scale, high - middle.y * scale);
        let ring = Circle::new()
            .set("cx", plain(x, 3))
            .set("cy", plain(y, 3))
            .set("r", RING.0)
            .set("fill", "none")
            .set("stroke", hex(WRONG))
            .set("stroke-width", RING.1);
        // On the side where there is room.
        let left = if x < ACROSS / 2.0 { x + RING.0 + 0.6 } else { x - RING.0 - 2.6 };
        let named = lettering.line(letter, SMALL * 1.4, WRONG, (left, y, 4.0));
        named.into_iter().fold(Group::new().add(ring), Group::add)
    })
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
