//! Two designs over each other: what is new, what is gone, what stayed, layer by layer and face by face.
//!
//! None of the three is told by colour alone: what stayed is plain, what is gone is hatched one way within a dashed
//! edge, what is new is hatched the other way within a heavy one.

use std::collections::BTreeMap;

use kurbo::{Affine, BezPath};
use svg::Document;
use svg::node::element::{Definitions, Description, Group, Path, Pattern, Rectangle};

use super::drawing::{Lettering, moved, titled};
use crate::analysis::{Analysis, Dial};
use crate::design::{Depth, Face, Layer, Mark, Shape, Tone, Work, hex};
use crate::geometry::contours;
use crate::geometry::{Region, Trace};
use crate::lettering::Typeface;
use crate::plan::face_name;
use crate::units::plain;

/// Room round everything, in mm.
const GAP: f64 = 6.0;
/// Cap height of headings and of the legend, in mm.
const LETTERS: f64 = 3.0;
/// Most pictures on a sheet; a large family shows its first ones.
const MOST: usize = 60;
/// Pictures in a row.
const COLUMNS: usize = 3;
/// Ink of words.
const INK: Tone = [0x22, 0x22, 0x22];
/// What stayed: material, and marks on it.
const STAYED: (Tone, Tone) = ([0xec, 0xec, 0xec], [0xb4, 0xb4, 0xb4]);
/// What is new: blue of the set of Okabe and Ito.
const NEW: Tone = [0x00, 0x72, 0xb2];
/// What is gone: vermilion of the set of Okabe and Ito.
const GONE: Tone = [0xd5, 0x5e, 0x00];

/// What two designs have on one face of one layer.
#[derive(Default)]
struct FaceOverlay {
    heading: String,
    /// Backs are shown as they are seen.
    face: Option<Face>,
    material: [Region; 2],
    marks: [Region; 2],
    lines: [Vec<Trace>; 2],
}

/// The overlay as SVG 1.1, in millimetres: every face of every layer on which anything is drawn, as it is seen. `renamed` tells the new names of layers and variants that have another one.
pub fn sheet(old: &Analysis, new: &Analysis, renamed: &BTreeMap<String, String>) -> String {
    let now = |name: &str| renamed.get(name).map_or_else(|| name.to_owned(), Clone::clone);
    let variant = |dial: &Dial| dial.design.variant.as_deref().map(now);
    let mut views: Vec<FaceOverlay> = Vec::new();
    for dial in &new.dials {
        let before = old.dials.iter().find(|one| variant(one) == dial.design.variant);
        views.extend(views_of(before, Some(dial), &now));
    }
    let gone = |dial: &&Dial| !new.dials.iter().any(|one| one.design.variant == variant(dial));
    old.dials.iter().filter(gone).for_each(|dial| views.extend(views_of(Some(dial), None, &now)));
    views.truncate(MOST);
    document(&views, &heading(old, new))
}

/// What the sheet is of: the title, and both revisions.
fn heading(old: &Analysis, new: &Analysis) -> [String; 2] {
    let title = |analysis: &Analysis| analysis.dials.first().map(|dial| dial.design.title.clone());
    let of =
        |analysis: &Analysis| analysis.dials.first().map_or_else(|| "nothing".to_owned(), |dial| dial.revision.short());
    let title = title(new).or_else(|| title(old)).unwrap_or_default();
    let scale = "in true size: 1 mm of the sheet is 1 mm of the dial";
    [format!("What changed in {title}"), format!("from revision {} to revision {}; {scale}", of(old), of(new))]
}

fn views_of(old: Option<&Dial>, new: Option<&Dial>, now: &dyn Fn(&str) -> String) -> Vec<FaceOverlay> {
    let layers =
        |dial: Option<&Dial>| -> Vec<Layer> { dial.map(|dial| dial.design.layers.clone()).unwrap_or_default() };
    let (before, after) = (layers(old), layers(new));
    let several = new.or(old).and_then(|dial| dial.design.variant.clone());
    let mut pairs: Vec<(Option<&Layer>, Option<&Layer>)> =
        after.iter().map(|layer| (before.iter().find(|one| now(&one.name) == layer.name), Some(layer))).collect();
    let gone = before.iter().filter(|layer| !after.iter().any(|one| one.name == now(&layer.name)));
    pairs.extend(gone.map(|layer| (Some(layer), None)));
    let mut views = Vec::new();
    for (old, new) in pairs {
        for face in [Face::Front, Face::Back] {
            let Some(layer) = new.or(old) else { continue };
            let side = |layer: Option<&Layer>| layer.map(|layer| face_of(layer, face)).unwrap_or_default();
            let ((material, marks, lines), (new_material, new_marks, new_lines)) = (side(old), side(new));
            let bare = marks.is_empty() && new_marks.is_empty() && lines.is_empty() && new_lines.is_empty();
            // A back without work would only show the outline of its front once more.
            if face == Face::Back && bare {
                continue;
            }
            let variant = several.as_ref().map(|variant| format!("{variant}: ")).unwrap_or_default();
            views.push(FaceOverlay {
                heading: format!("{variant}{}, {} as it is seen", layer.name, face_name(face)),
                face: Some(face),
                material: [material, new_material],
                marks: [marks, new_marks],
                lines: [lines, new_lines],
            });
        }
    }
    views
}

/// Material, areas and lines of one face.
fn face_of(layer: &Layer, face: Face) -> (Region, Region, Vec<Trace>) {
    let is_surface = |mark: &&Mark| {
        mark.face == face && !matches!(mark.work, Work::Window | Work::Hole | Work::Pocket { depth: Depth::Through })
    };
    let (mut marks, mut lines) = (Region::empty(), Vec::new());
    for mark in layer.marks.iter().filter(is_surface) {
        match (&mark.work, &mark.shape) {
            // A score follows the edge of a region and leaves its inside as it is.
            (Work::Score, Shape::Region(region)) => lines.push(Trace::from_path(region.path().clone())),
            (_, Shape::Region(region)) => marks = marks.union(region),
            (_, Shape::Trace(trace)) => lines.push(trace.clone()),
        }
    }
    for label in layer.rings.iter().filter(|ring| ring.face == face).flat_map(|ring| &ring.labels) {
        marks = marks.union(&label.ink);
    }
    (layer.material().clone(), marks, lines)
}

fn document(views: &[FaceOverlay], heading: &[String; 2]) -> String {
    let boxes = views.iter().flat_map(|view| view.material.iter().filter_map(Region::bounds));
    // One scale for all pictures, so that they can be compared.
    let reach = boxes.fold(10.0, |most: f64, found| {
        [found.x0, found.y0, found.x1, found.y1].iter().fold(most, |most, side| most.max(side.abs()))
    });
    let cell = (2.0 * reach + GAP, 2.0 * reach + GAP + 2.0 * LETTERS);
    let columns = views.len().clamp(1, COLUMNS);
    #[allow(clippy::cast_precision_loss, reason = "at most 60 pictures")]
    let (wide, rows) = (columns as f64 * cell.0 + GAP, views.len().div_ceil(columns) as f64);
    // The legend needs as much, however small the dial.
    let wide = wide.max(110.0);
    let top = GAP + 6.0 * LETTERS;
    let high = top + rows * cell.1 + 3.0 * LETTERS * 2.0;
    let lettering = Lettering(Typeface::embedded());
    let (width, height) = (plain(wide, 3), plain(high, 3));
    let mut document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .add(titled("What changed"))
        .add(Description::new().add(svg::node::Text::new(
            "Grey stayed; hatched to the right in a dashed edge is gone; hatched to the left in a heavy edge is new.",
        )))
        .add(Definitions::new().add(hatch("gone", GONE, 45)).add(hatch("new", NEW, -45)))
        .add(Rectangle::new().set("width", width).set("height", height).set("fill", "#ffffff"));
    let [title, revisions] = heading;
    for (text, height, down) in [(title, 1.3 * LETTERS, 0.0), (revisions, 0.75 * LETTERS, 2.2 * LETTERS)] {
        let words = lettering.line(text, height, INK, (GAP, GAP + down + LETTERS / 2.0, wide - 2.0 * GAP));
        document = words.into_iter().fold(document, Document::add);
    }
    for (at, view) in views.iter().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "at most 60 pictures")]
        let (column, row) = ((at % columns) as f64, (at / columns) as f64);
        let place = (GAP + column * cell.0, top + row * cell.1);
        document = document.add(moved(drawn(view, reach, &lettering), place.0, place.1));
    }
    document = document.add(moved(legend(&lettering), GAP, top + rows * cell.1));
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

fn hatch(id: &str, colour: Tone, turned: i32) -> Pattern {
    Pattern::new()
        .set("id", id)
        .set("width", 1.2)
        .set("height", 1.2)
        .set("patternUnits", "userSpaceOnUse")
        .set("patternTransform", format!("rotate({turned})"))
        .add(Rectangle::new().set("width", 0.35).set("height", 1.2).set("fill", hex(colour)))
}

fn drawn(view: &FaceOverlay, reach: f64, lettering: &Lettering) -> Group {
    let mut group = Group::new().add(titled(&view.heading));
    group = lettering
        .line(&view.heading, LETTERS, INK, (0.0, LETTERS / 2.0, 2.0 * reach))
        .into_iter()
        .fold(group, Group::add);
    let map = if view.face == Some(Face::Back) { Affine::FLIP_X * Affine::FLIP_Y } else { Affine::FLIP_Y };
    let picture = areas(&view.material, STAYED.0, map, Group::new());
    let picture = lines(&view.lines, map, areas(&view.marks, STAYED.1, map, picture));
    group.add(moved(picture, reach, reach + 2.0 * LETTERS))
}

/// What stayed, what is gone and what is new of two regions.
fn areas([old, new]: &[Region; 2], stayed: Tone, map: Affine, group: Group) -> Group {
    // Asked before any boolean: of two shapes that are alike one would leave slivers all along their edges.
    let (kept, gone, come) = if old.is_as(new) {
        (new.clone(), Region::empty(), Region::empty())
    } else {
        let less = |one: &Region, other: &Region| one.difference(other).without_slivers();
        (old.intersection(new), less(old, new), less(new, old))
    };
    let parts = [
        (&kept, filled(&kept, map).set("fill", hex(stayed))),
        (&gone, as_gone(filled(&gone, map).set("fill", "url(#gone)"))),
        (&come, as_new(filled(&come, map).set("fill", "url(#new)"))),
    ];
    parts.into_iter().filter(|(region, _)| !region.is_empty()).fold(group, |group, (_, path)| group.add(path))
}

fn as_gone(path: Path) -> Path {
    path.set("stroke", hex(GONE)).set("stroke-width", 0.15).set("stroke-dasharray", "0.8 0.5")
}

fn as_new(path: Path) -> Path {
    path.set("stroke", hex(NEW)).set("stroke-width", 0.35)
}

fn lines([old, new]: &[Vec<Trace>; 2], map: Affine, mut group: Group) -> Group {
    let stroke = |trace: &Trace, colour: Tone, width: f64| {
        let data = contours(trace.path(), map).join(" ");
        Path::new().set("d", data).set("fill", "none").set("stroke", hex(colour)).set("stroke-width", width)
    };
    for trace in old {
        let stays = new.contains(trace);
        let (colour, width) = if stays { (STAYED.1, 0.3) } else { (GONE, 0.3) };
        let path = stroke(trace, colour, width);
        group = group.add(if stays { path } else { path.set("stroke-dasharray", "0.8 0.5") });
    }
    new.iter().filter(|trace| !old.contains(trace)).fold(group, |group, trace| group.add(stroke(trace, NEW, 0.5)))
}

fn filled(region: &Region, map: Affine) -> Path {
    let path: &BezPath = region.path();
    Path::new().set("d", contours(path, map).join(" ")).set("fill-rule", "evenodd")
}

fn legend(lettering: &Lettering) -> Group {
    let swatch = |at: f64| {
        let (top, bottom) = (plain(at, 3), plain(at + LETTERS * 1.4, 3));
        Path::new().set("d", format!("M0,{top} L8,{top} L8,{bottom} L0,{bottom} Z"))
    };
    let word = |text: &str, at: f64| lettering.line(text, LETTERS, INK, (11.0, at + LETTERS * 0.7, 60.0));
    let [stayed, gone, new] = [0.0, 2.0 * LETTERS, 4.0 * LETTERS];
    let group = Group::new()
        .add(swatch(stayed).set("fill", hex(STAYED.1)))
        .add(as_gone(swatch(gone).set("fill", "url(#gone)")))
        .add(as_new(swatch(new).set("fill", "url(#new)")));
    let words = [word("stayed", stayed), word("gone", gone), word("new", new)];
    words.into_iter().flatten().fold(group, Group::add)
}
