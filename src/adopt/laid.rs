//! What the file builds, laid over the drawing that it was read from.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use svg::node::element::{Circle, Group, Path, Rectangle};

use super::Work;
use super::contour::STEPS;
use super::parts::Item;
use super::text::Sheet;
use crate::design::{self, Design};
use crate::geometry::{Region, contours};
use crate::output::drawing::{INK, Lettering};
use crate::units::{mm, plain};
use crate::work::spend_on;

/// Boxes of what is one differ by no more than this, in mm.
const ONE: f64 = 2.0;

/// Where the drawing and what is built lie farthest apart.
#[derive(Clone, Debug, Default)]
pub struct Laid {
    /// How far, in mm.
    pub greatest_mm: f64,
    /// On which layer; empty where nothing was compared.
    pub layer: String,
    /// Contours that were compared.
    pub compared: usize,
    /// Contours of the drawing that are not in what is built.
    pub missing: usize,
    /// Both, over each other, as SVG.
    pub picture: String,
}

/// One layer of the picture.
struct Shown {
    name: String,
    drawn: Vec<BezPath>,
    built: Vec<BezPath>,
    farthest: Option<(Point, f64)>,
}

/// Lays what is built over what was drawn.
pub(super) fn laid(design: &Design, sheet: &Sheet) -> Laid {
    let mut all = Laid::default();
    let mut shown = Vec::new();
    for layer in &sheet.layers {
        let Some((_, made)) = design.layer(&layer.name) else { continue };
        let back = Affine::translate(-layer.part.axis.at.to_vec2());
        let built = edges(made);
        let mut one = Shown { name: layer.name.clone(), drawn: Vec::new(), built: Vec::new(), farthest: None };
        for item in layer.part.items.iter().chain([&layer.part.outline]) {
            let drawn = back * &item.contour.path;
            match nearest(item, &drawn, &built) {
                Some((away, at)) => {
                    all.compared += 1;
                    if one.farthest.is_none_or(|(_, farthest)| away > farthest) {
                        one.farthest = Some((at, away));
                    }
                    if away >= all.greatest_mm {
                        (all.greatest_mm, all.layer) = (away, layer.name.clone());
                    }
                }
                None => all.missing += 1,
            }
            one.drawn.push(drawn);
        }
        one.built = built.into_iter().map(|(_, path)| path).collect();
        shown.push(one);
    }
    all.picture = picture(&shown);
    all
}

/// The edges of a layer, each with what is done along it.
fn edges(layer: &design::Layer) -> Vec<(Work, BezPath)> {
    let outline = layer.outline.contours().into_iter().map(|path| (Work::Cut, path));
    let marks = layer.marks.iter().flat_map(|mark| {
        let work = match mark.work {
            design::Work::Window | design::Work::Hole => Work::Opening,
            design::Work::Pocket { .. } => Work::Pocket,
            design::Work::Score => Work::Score,
            _ => Work::Engrave,
        };
        let paths = match &mark.shape {
            design::Shape::Region(region) => region.contours(),
            design::Shape::Trace(trace) => vec![trace.path().clone()],
        };
        paths.into_iter().map(move |path| (work, path))
    });
    outline.chain(marks).collect()
}

/// How far a drawn edge lies from that which is built for it, at the most, and where.
fn nearest(item: &Item, drawn: &BezPath, built: &[(Work, BezPath)]) -> Option<(f64, Point)> {
    spend_on(built.len() + drawn.elements().len(), STEPS);
    let bounds = drawn.bounding_box();
    let apart = |other: Rect| {
        let sides = [bounds.x0 - other.x0, bounds.y0 - other.y0, bounds.x1 - other.x1, bounds.y1 - other.y1];
        sides.into_iter().map(f64::abs).fold(0.0, f64::max)
    };
    let same = built.iter().filter(|(work, _)| *work == item.work).map(|(_, path)| (apart(path.bounding_box()), path));
    let (_, path) = same.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(apart, _)| *apart <= ONE)?;
    let found = Region::trusted(drawn.clone()).farthest_apart(&Region::trusted(path.clone()))?;
    Some((found.distance, found.from))
}

/// All layers side by side: the drawing broad and grey, what is built thin and black over it, the farthest place circled.
fn picture(shown: &[Shown]) -> String {
    const MARGIN: f64 = 6.0;
    let lettering = Lettering::embedded();
    let mut groups: Vec<Group> = Vec::new();
    let (mut right, mut high) = (MARGIN, 0.0_f64);
    for one in shown {
        let bounds = one.drawn.iter().map(BezPath::bounding_box).reduce(|a, b| a.union(b)).unwrap_or_default();
        let map = Affine::new([1.0, 0.0, 0.0, -1.0, right - bounds.x0, bounds.y1 + 2.0 * MARGIN]);
        let line = |paths: &[BezPath], colour: &str, width: f64| {
            let data: Vec<String> = paths.iter().flat_map(|path| contours(path, map)).collect();
            Path::new().set("d", data.join(" ")).set("fill", "none").set("stroke", colour).set("stroke-width", width)
        };
        let mut group = Group::new().add(line(&one.drawn, "#b8c4d0", 0.6)).add(line(&one.built, "#111111", 0.12));
        let mut words = one.name.clone();
        if let Some((at, away)) = one.farthest {
            let at = map * at;
            let ring = Circle::new().set("cx", plain(at.x, 3)).set("cy", plain(at.y, 3)).set("r", 2);
            group = group.add(ring.set("fill", "none").set("stroke", "#b34000").set("stroke-width", 0.3));
            words += &format!(": {} at the most", mm((away * 1000.0).ceil() / 1000.0));
        }
        let room = bounds.width().max(60.0);
        if let Some(words) = lettering.line(&words, 2.8, INK, (right, MARGIN, room)) {
            group = group.add(words);
        }
        groups.push(group);
        right += bounds.width().max(60.0) + MARGIN;
        high = high.max(bounds.height() + 3.0 * MARGIN);
    }
    // On paper, whatever it is shown on.
    let (wide, deep) = (plain(right, 3), plain(high, 3));
    let paper = Rectangle::new().set("width", wide).set("height", deep).set("fill", "#ffffff");
    let document = groups
        .into_iter()
        .fold(svg::Document::new().add(paper), svg::Document::add)
        .set("width", format!("{}mm", plain(right, 3)))
        .set("height", format!("{}mm", plain(high, 3)))
        .set("viewBox", (0, 0, plain(right, 3), plain(high, 3)));
    format!("{document}\n")
}
