//! Shapes as text: outlines, openings, what adorns a layer.

use super::dice::{Dice, degrees, mm, plain};

/// A shape, and the largest disc about the axis that lies in it.
pub(super) struct Outline {
    pub(super) text: String,
    /// The farthest place from the axis, in mm.
    pub(super) reach: f64,
    /// The nearest place of the edge, in mm.
    pub(super) within: f64,
}

/// An outline that reaches so far from the axis.
pub(super) fn outline(dice: &mut Dice, reach: f64) -> Outline {
    let (across, half_turn) = (2.0 * reach, std::f64::consts::PI);
    let mut within = reach;
    let text = match dice.count(0, 13) {
        0..=4 => format!("circle(diameter: {})", mm(across)),
        5..=6 => {
            let sides = dice.count(5, 12);
            let corner = dice.figure(0.0, 4.0);
            within = reach * (half_turn / f64::from(sides)).cos();
            format!("polygon(sides: {sides}, across_corners: {}, corner: {})", mm(across), mm(corner))
        }
        7..=8 => {
            let depth = dice.figure(0.8, 3.0);
            within = reach - depth;
            format!("scallop(diameter: {}, lobes: {}, depth: {})", mm(across), dice.count(5, 16), mm(depth))
        }
        9 => {
            let inner = across * 0.8;
            within = inner / 2.0;
            let points = dice.count(8, 14);
            format!("star(points: {points}, diameter: {}, inner: {}, corner: 1mm)", mm(across), mm(inner))
        }
        10 => {
            let (width, height) = (across * 0.75, across * 0.66);
            within = height / 2.0;
            format!("rectangle(width: {}, height: {}, corner: {})", mm(width), mm(height), mm(dice.figure(0.0, 6.0)))
        }
        11 => {
            let height = across * 0.84;
            within = height / 2.0;
            format!("obround(width: {}, height: {})", mm(across), mm(height))
        }
        12 => {
            let height = across * 0.86;
            within = height / 2.0;
            format!("ellipse(width: {}, height: {})", mm(across), mm(height))
        }
        _ => {
            let bite = dice.figure(1.5, 4.0);
            within = reach - bite;
            let disc = format!("circle(diameter: {})", mm(across));
            let (from, times) = (degrees(f64::from(dice.count(0, 11)) * 15.0), dice.count(1, 9));
            format!("{disc} less circle(radius: {}) at polar({}, {from}) repeated {times}", mm(bite), mm(reach))
        }
    };
    Outline { text, reach, within }
}

/// What a label takes up, and where: sizes along the rim and out from the axis, in mm.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub(super) radius: f64,
    pub(super) along: f64,
    pub(super) out: f64,
    /// From the middle of one label to the next, in mm.
    pub(super) apart: f64,
}

/// An opening above the axis that leaves `clear` round a label.
pub(super) fn opening(dice: &mut Dice, place: Place, clear: f64, rim: f64) -> String {
    let (along, out) = (place.along + 2.0 * clear, place.out + 2.0 * clear);
    let round = place.along.hypot(place.out) + 2.0 * clear;
    // A wide opening shows the neighbours.
    let has_room = |wide: f64| wide / 2.0 + place.along / 2.0 < 0.97 * place.apart;
    let at = format!("at polar({}, 0deg)", mm(place.radius));
    let bend = |wide: f64| (wide / 2.0 / (place.radius - out / 2.0).max(4.0)).to_degrees();
    let rectangle =
        |corner: f64| format!("rectangle(width: {}, height: {}, corner: {}) {at}", mm(along), mm(out), mm(corner));
    let corner = |dice: &mut Dice| dice.figure(0.0, 0.3 * clear);
    match dice.count(0, 13) {
        0..=2 if has_room(round) => format!("circle(diameter: {}) {at}", mm(round)),
        3 if has_room(1.42 * place.along + 2.0 * clear) => {
            let side = |length: f64| mm(1.42 * length + 2.0 * clear);
            format!("ellipse(width: {}, height: {}) {at}", side(place.along), side(place.out))
        }
        4 if has_room(along + out) => format!("obround(width: {}, height: {}) {at}", mm(along + out * 0.7), mm(out)),
        5..=6 => {
            let to = bend(along);
            let (outer, inner) = (place.radius + out / 2.0, (place.radius - out / 2.0).max(0.5));
            let outer = if dice.chance(30) && outer < rim { rim + 3.0 } else { outer };
            let (from, to) = (degrees(-to), degrees(to));
            let sector = format!("sector(radius: {}, inner: {}, from: {from}, to: {to})", mm(outer), mm(inner));
            if dice.chance(30) { format!("{sector} rounded 0.4mm") } else { sector }
        }
        7 if has_room(1.15 * round) => {
            format!("polygon(sides: {}, across_flats: {}, corner: 0.5mm) {at}", dice.count(6, 9), mm(round))
        }
        8 => format!("rectangle(width: {}, height: {}) outset {} {at}", mm(place.along), mm(place.out), mm(clear)),
        9 => {
            let (x, y) = (plain(along / 2.0), plain(out / 2.0));
            format!("path(\"M -{x} -{y} L {x} -{y} L {x} {y} L -{x} {y} Z\") {at}")
        }
        10 => {
            let corner = corner(dice);
            format!("{} plus circle(diameter: 3mm) at polar({}, 0deg)", rectangle(corner), mm(place.radius + out / 2.0))
        }
        11 if has_room(1.3 * round) => {
            format!("star(points: 9, diameter: {}, inner: {}) {at}", mm(1.25 * round), mm(round))
        }
        _ => {
            let corner = corner(dice);
            rectangle(corner)
        }
    }
}

/// A region no wider than so much, about the axis.
pub(super) fn ornament(dice: &mut Dice, across: f64) -> String {
    let height = |of: f64| mm((across * of).max(1.0));
    match dice.count(0, 7) {
        0 => format!("circle(diameter: {})", mm(across)),
        1 => format!("star(points: {}, diameter: {}, inner: {})", dice.count(5, 9), mm(across), height(0.6)),
        2 => format!("text(\"{}\", height: {})", dice.pick(&["AB", "7", "ok", "№ 3", "Ř"]), height(0.35)),
        3 => format!("polygon(sides: {}, across_corners: {})", dice.count(3, 8), mm(across)),
        4 => {
            format!("art(\"goods.svg\", part: \"{}\", height: {})", dice.pick(&["wheat", "fish", "clay"]), height(0.7))
        }
        5 => format!("circle(diameter: {}) less circle(diameter: {})", mm(across), height(0.5)),
        6 => format!("obround(width: {}, height: {})", mm(across), height(0.4)),
        _ => format!("rectangle(width: {}, height: {}, corner: 0.5mm)", height(0.9), height(0.4)),
    }
}
