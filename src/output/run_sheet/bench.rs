//! The glue bench in pictures: each face that magnets are glued into, as it lies before the person, and of every magnet
//! whether its dot is in sight.

use kurbo::{Affine, Point};
use svg::node::element::{Circle, Group, Path};

use super::super::drawing::INK;
use super::super::page::THIN;
use crate::audit::holding::Holding;
use crate::design::axis::magnets;
use crate::design::{Depth, Design, Face, Pole, hex};
use crate::geometry::contours;
use crate::geometry::polar;
use crate::physics::Polarity;
use crate::plan::face_name;
use crate::units::plain;

/// Across one picture, in mm.
pub(super) const ACROSS: f64 = 34.0;

/// What the pictures mean.
pub(super) const KEY: &str = "Each circle is a magnet: with a dot where its dot is in sight, empty where it is not. Backs are drawn as they are seen.";

/// One face on the bench.
#[derive(Clone, Debug)]
pub(super) struct Bench {
    /// Which layer, which face up.
    pub(super) says: String,
    /// What is seen, [`ACROSS`] wide and high.
    pub(super) drawn: Group,
}

/// A magnet on a face: where, how wide, and whether its dot is seen.
struct Seen {
    layer: usize,
    face: Face,
    at: Point,
    radius: f64,
    dot: bool,
}

/// One picture for each face that magnets are glued into, bottom first.
pub(super) fn bench(design: &Design, holding: &Holding) -> Vec<Bench> {
    let all = seen(design, holding);
    let mut faces: Vec<(usize, Face)> = Vec::new();
    for it in &all {
        if !faces.contains(&(it.layer, it.face)) {
            faces.push((it.layer, it.face));
        }
    }
    faces.sort_by_key(|(layer, face)| (*layer, *face == Face::Back));
    faces.iter().filter_map(|(layer, face)| picture(design, (*layer, *face), &all)).collect()
}

fn seen(design: &Design, holding: &Holding) -> Vec<Seen> {
    // A dot marks the north pole of every magnet before it is glued in, so it is seen where that pole looks out of
    // the face.
    let dot = |north: Pole, face: Face| (north == Pole::Up) == (face == Face::Front);
    let on_axis = magnets(design).0.into_iter().map(|it| {
        // In a hole right through a magnet is pressed down to the plate, so that its other face is seen.
        let face = match (it.depth, it.shared, it.face) {
            (Depth::Down(_), ..) | (Depth::Through, true, _) => it.face,
            (Depth::Through, false, Face::Front) => Face::Back,
            (Depth::Through, false, Face::Back) => Face::Front,
        };
        let radius = it.magnet.diameter.as_mm() / 2.0;
        Seen { layer: it.layer, face, at: it.at(design), radius, dot: dot(it.north, face) }
    });
    let mut all: Vec<Seen> = on_axis.collect();
    for found in &holding.turns {
        let Some(rings) = found.magnets.as_ref().and_then(|held| held.clicks.as_ref()) else { continue };
        let turn = design.turns().find(|(below, _)| *below == found.below);
        let Some((turn, clicks)) = turn.and_then(|(_, turn)| Some((turn, turn.clicks.as_ref()?))) else { continue };
        let (low, high) = design.across(found.below);
        let both = [
            (low, Face::Front, &rings.bearings.0, &rings.pattern.lower),
            (high, Face::Back, &rings.bearings.1, &rings.pattern.upper),
        ];
        for (layer, face, bearings, poles) in both {
            all.extend(bearings.iter().zip(poles).map(|(bearing, pole)| Seen {
                layer,
                face,
                at: polar(clicks.radius.as_mm(), *bearing) + design.axis_on(turn, layer).to_vec2(),
                radius: clicks.magnet.diameter.as_mm() / 2.0,
                dot: dot(if *pole == Polarity::Up { Pole::Up } else { Pole::Down }, face),
            }));
        }
    }
    all
}

fn picture(design: &Design, (at, face): (usize, Face), all: &[Seen]) -> Option<Bench> {
    let layer = design.layers.get(at)?;
    let reach = crate::audit::fit::swept(&layer.outline).as_mm() / 2.0;
    let scale = (ACROSS - 1.0) / (2.0 * reach).max(1.0);
    // A back is seen mirrored.
    let side = if face == Face::Front { scale } else { -scale };
    let map = Affine::translate((ACROSS / 2.0, ACROSS / 2.0)) * Affine::scale_non_uniform(side, -scale);
    let edge = Path::new().set("d", contours(layer.material().path(), map).join(" ")).set("fill", "#f2f2f2");
    let mut drawn = Group::new().add(inked(edge.set("fill-rule", "evenodd")));
    for it in all.iter().filter(|it| (it.layer, it.face) == (at, face)) {
        let place = map * it.at;
        drawn = drawn.add(inked(circle(place, it.radius * scale).set("fill", "#ffffff")));
        if it.dot {
            drawn = drawn.add(circle(place, (it.radius * scale * 0.4).max(0.4)).set("fill", hex(INK)));
        }
    }
    Some(Bench { says: format!("`{}`, {} up", layer.name, face_name(face)), drawn })
}

fn circle(at: Point, radius: f64) -> Circle {
    Circle::new().set("cx", plain(at.x, 3)).set("cy", plain(at.y, 3)).set("r", plain(radius, 3))
}

/// With an edge.
fn inked<N: svg::Node>(mut node: N) -> N {
    node.assign("stroke", hex(INK));
    node.assign("stroke-width", plain(THIN, 3));
    node
}
