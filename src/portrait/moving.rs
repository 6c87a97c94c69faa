//! The turning picture as SVG: the faces as pictures, cut out along their outlines and turned by CSS.

use std::fmt::Write as _;
use std::num::NonZeroUsize;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use kurbo::Affine;
use svg::node::element::Title;

use super::camera::{Camera, ROOM};
use super::film::{Turning, Way};
use super::gif::MOST_BYTES;
use super::light::{Sight, UPPER_LEFT};
use super::render::Asked;
use super::scene::Place;
use super::slab::Slab;
use super::{GROUND, Stage, View, colour};
use crate::design::{Design, Face, hex};
use crate::diagnostics::printable;
use crate::geometry::Region;
use crate::geometry::contours;
use crate::units::plain;

/// Seconds from one stop to the next, and what share of them it stands still.
const STEP: f64 = 1.2;
const STILL: f64 = 0.75;
/// How a layer goes from stop to stop: as the pictures of a film do.
const EASE: &str = "animation-timing-function:cubic-bezier(.6,0,.3,1)";
/// The shadow of what lies higher: two blurred copies, one of them moved away from the light.
const SHADOW: &str = "<filter id=\"shadow\" x=\"-20%\" y=\"-20%\" width=\"140%\" height=\"140%\">\
    <feGaussianBlur in=\"SourceAlpha\" stdDeviation=\".55\" result=\"near\"/><feOffset in=\"near\" dx=\"1.3\" dy=\"1.4\" result=\"moved\"/>\
    <feGaussianBlur in=\"SourceAlpha\" stdDeviation=\"1.3\" result=\"wide\"/>\
    <feMerge result=\"both\"><feMergeNode in=\"moved\"/><feMergeNode in=\"wide\"/></feMerge>\
    <feColorMatrix in=\"both\" values=\"0 0 0 0 .16 0 0 0 0 .11 0 0 0 0 .06 0 0 0 .46 0\" result=\"dark\"/>\
    <feMerge><feMergeNode in=\"dark\"/><feMergeNode in=\"SourceGraphic\"/></feMerge></filter>";

/// Layers that turn together, the lower ones first.
struct Group {
    layers: Vec<usize>,
}

/// A dial turning through all its stops, as SVG of at most [`MOST_BYTES`]. It stands at its first stop where less motion is wished
/// for, and where no styles are known.
///
/// # Errors
/// Why it cannot be made, in words.
pub fn moving(design: &Design, wanted: &Turning, threads: NonZeroUsize) -> Result<String, String> {
    let way = Way::of(design, wanted.face);
    if !way.moves().contains(&true) {
        return Err("nothing of it turns".to_owned());
    }
    let view = if wanted.face == Face::Back { View::Back } else { View::Front };
    let stage = Stage::of(design, view, wanted.size, threads);
    let first = way.moments(design, 0).into_iter().next().map(|(places, _)| places).unwrap_or_default();
    let (left, top, wide, high) = stage.camera(&first, &way.moves(), (wanted.size, ROOM)).frame();
    let [x, y, w, h] = [left, top, wide, high].map(|length| plain(f64::from(length), 3));
    let (mut style, mut clips, mut body) = (String::new(), String::new(), String::new());
    for (at, group) in groups(design, &way).iter().enumerate() {
        let picture = baked(design, &stage, group, (wanted, wide.max(high)), threads)?;
        let _ =
            write!(clips, "<clipPath id=\"edge-{at}\"><path d=\"{}\" clip-rule=\"evenodd\"/></clipPath>", picture.edge);
        let place = group.layers.first().and_then(|layer| first.get(*layer));
        let (px, py) = place.map_or((0.0, 0.0), |place| (f64::from(place.x), f64::from(place.y)));
        let turned = angles(&way, group);
        let start = turned.first().copied().unwrap_or(0.0);
        let moves = turned.iter().any(|angle| (angle - start).abs() > 1e-9);
        if moves {
            style.push_str(&keyframes(at, &turned));
        }
        let class = if moves { format!(" class=\"turn turn-{at}\"") } else { String::new() };
        let _ = writeln!(
            body,
            "<g filter=\"url(#shadow)\"><g transform=\"translate({} {}) rotate({})\"><g{class}><g clip-path=\"url(#edge-{at})\">{}</g>\
             <path d=\"{}\" fill=\"none\" stroke=\"#2d1c0e\" stroke-opacity=\".4\" stroke-width=\".18\"/></g></g></g>",
            plain(px, 3),
            plain(py, 3),
            plain(start, 3),
            picture.image,
            picture.edge,
        );
    }
    let title = Title::new(printable(&format!("{}, turning", design.full_title())));
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{x} {y} {w} {h}\" width=\"{w}mm\" height=\"{h}mm\" role=\"img\">\
         {title}\n<style>{style}@media (prefers-reduced-motion:reduce){{.turn{{animation:none}}}}</style>\n\
         <defs>{SHADOW}{clips}</defs>\n<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n{body}</svg>\n",
        hex(GROUND)
    );
    if svg.len() > MOST_BYTES {
        return Err(format!("it would take more than {MOST_BYTES} bytes; ask for a smaller size"));
    }
    Ok(svg)
}

/// Layers that stand alike at every still and turn about one axis.
fn groups(design: &Design, way: &Way) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for layer in 0..design.layers.len() {
        let alike = |other: usize| {
            let same = way.stills.iter().all(|still| match (still.get(layer), still.get(other)) {
                (Some(one), Some(other)) => (one - other).abs() < 1e-9,
                _ => false,
            });
            same && design.is_wheel(layer) == design.is_wheel(other) && design.axis(layer) == design.axis(other)
        };
        match groups.last_mut() {
            Some(group) if group.layers.first().is_some_and(|first| alike(*first)) => group.layers.push(layer),
            _ => groups.push(Group { layers: vec![layer] }),
        }
    }
    if way.held.face == Face::Back {
        groups.reverse();
    }
    groups
}

/// How far a group is turned at each still, in degrees.
fn angles(way: &Way, group: &Group) -> Vec<f64> {
    let first = group.layers.first().copied().unwrap_or(0);
    way.stills.iter().filter_map(|still| still.get(first).copied()).collect()
}

/// The rule and the key frames of a group, from where it stands at first.
fn keyframes(at: usize, turned: &[f64]) -> String {
    let steps = turned.len().saturating_sub(1).max(1) as f64;
    let start = turned.first().copied().unwrap_or(0.0);
    let mut rules = String::new();
    for (step, angle) in turned.iter().enumerate() {
        let by = plain(angle - start, 3);
        let share = |step: f64| plain(100.0 * step / steps, 3);
        let from = step as f64;
        let _ = match step + 1 < turned.len() {
            true => write!(rules, "{}%,{}%{{transform:rotate({by}deg);{EASE}}}", share(from), share(from + STILL)),
            false => write!(rules, "100%{{transform:rotate({by}deg)}}"),
        };
    }
    let lasts = plain(STEP * steps, 2);
    format!(".turn-{at}{{animation:turn-{at} {lasts}s infinite}}@keyframes turn-{at}{{{rules}}}")
}

/// A group by itself: its picture, and the outline that it is cut out along.
struct Baked {
    image: String,
    edge: String,
}

fn baked(
    design: &Design,
    stage: &Stage,
    group: &Group,
    (wanted, whole): (&Turning, f32),
    threads: NonZeroUsize,
) -> Result<Baked, String> {
    let still = Place { x: 0.0, y: 0.0, cos: 1.0, sin: 0.0 };
    let places = vec![still; design.layers.len()];
    let slabs: Vec<&Slab> = stage.slabs.iter().filter(|slab| group.layers.contains(&slab.layer)).collect();
    let layers = group.layers.iter().filter_map(|layer| design.layers.get(*layer));
    let material = layers.fold(Region::empty(), |all, layer| all.union(layer.material()));
    // As fine as the whole picture, so that a small wheel takes few bytes.
    let across = material.bounds().map_or(0.0, |bounds| bounds.width().max(bounds.height())) as f32;
    let size = wanted.size.min((wanted.size as f32 * 1.2 * across / whole) as u32).max(16);
    let camera = Camera::on(&slabs, &places, &[], 0.0, (size, ROOM), (0.0, 0.0));
    let sight =
        Sight { slabs, places: &places, camera, away: UPPER_LEFT, ground: colour::linear(GROUND), reach: stage.reach };
    let (pixels, _) = sight.drawn(&Asked { threads, clear_ground: false, only: None });
    let (left, top, wide, high) = camera.frame();
    let [x, y, w, h] = [left, top, wide, high].map(|length| plain(f64::from(length), 3));
    let image = format!(
        "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" href=\"data:image/jpeg;base64,{}\"/>",
        STANDARD.encode(pixels.jpeg()?)
    );
    let map = if wanted.face == Face::Back { Affine::FLIP_X * Affine::FLIP_Y } else { Affine::FLIP_Y };
    Ok(Baked { image, edge: contours(material.path(), map).join(" ") })
}
