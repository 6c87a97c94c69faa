//! Fitted sizes as figures that somebody would write: the roundest that is within what the drawing can tell.

use std::cmp::Ordering;
use std::f64::consts::PI;

use kurbo::Point;

use super::shape::{Kind, Shape};
use crate::units::{mm, plain};

/// A figure is never moved by more than this to be round, in mm.
const MOST: f64 = 0.06;

/// And may always be moved by this much.
const LEAST: f64 = 0.01;

/// How far a length may be moved whose standard error is this.
pub(super) fn room(error: f64) -> f64 {
    (2.0 * error).clamp(LEAST, MOST)
}

/// How far an angle may be moved that is seen at this radius, in degrees.
fn room_deg(error: f64, radius: f64) -> f64 {
    (room(error).max(2.0 * LEAST) / radius).to_degrees()
}

/// The roundest length within so much of a value, in mm.
pub(super) fn round(value: f64, within: f64) -> f64 {
    rounded(value, within, &[5.0, 1.0, 0.5, 0.1, 0.05, 0.01])
}

/// The roundest angle within so much of a value, in degrees.
pub(super) fn round_deg(value: f64, within: f64) -> f64 {
    rounded(value, within, &[45.0, 30.0, 15.0, 5.0, 1.0, 0.5, 0.1, 0.05, 0.01])
}

fn rounded(value: f64, within: f64, steps: &[f64]) -> f64 {
    let at = |step: &f64| (value / step).round() * step;
    steps.iter().map(at).find(|round| (round - value).abs() <= within).unwrap_or((value * 1000.0).round() / 1000.0)
}

/// How many signs a figure takes: of two that say the same the shorter is meant.
fn signs(value: f64) -> usize {
    plain(value.abs(), 3).len()
}

pub(super) fn deg(value: f64) -> String {
    format!("{}deg", plain(value, 3))
}

/// A bearing from 0 to below 360 degrees.
pub(super) fn bearing(moved: kurbo::Vec2) -> f64 {
    moved.x.atan2(moved.y).to_degrees().rem_euclid(360.0)
}

/// Where a point stands from the axis, as the language writes it; none on the axis itself.
pub(super) fn place(at: Point, axis: Point, error: f64) -> Option<(String, Point)> {
    let moved = at - axis;
    let within = room(error);
    let out = moved.hypot();
    if out <= (3.0 * within).min(MOST) {
        return None;
    }
    let (radius, angle) = (round(out, within), round_deg(bearing(moved), room_deg(error, out)).rem_euclid(360.0));
    let (x, y) = (round(moved.x, within), round(moved.y, within));
    if signs(x) + signs(y) < signs(radius) + signs(angle) && angle % 15.0 != 0.0 {
        return Some((format!("({}, {})", mm(x), mm(y)), Point::new(x, y)));
    }
    let (sin, cos) = angle.to_radians().sin_cos();
    Some((format!("polar({}, {})", mm(radius), deg(angle)), Point::new(radius * sin, radius * cos)))
}

/// Curves that stand in for circles lie this share of the radius outside of them, at the most.
const AS_CURVES: f64 = 1.6e-4;

/// A shape as a call of the language, about the axis and not turned yet, and how it is turned, in degrees clockwise.
pub(super) fn call(shape: &Shape, errors: &[f64; 6]) -> (String, f64) {
    let [a, b, c] = shape.size;
    let [_, _, _, ea, eb, ec] = *errors;
    // Twice a size, which is what is written of it, is known half as well.
    let twice = |size: f64, error: f64| round(2.0 * size, room(2.0 * error).max(2.0 * AS_CURVES * size));
    let (mut width, mut height) = (twice(a, ea), twice(b, eb));
    let mut turned = -shape.turn.to_degrees();
    let within = room_deg(errors[2] * a.max(b), a.max(b).max(1.0));
    if matches!(shape.kind, Kind::Ellipse | Kind::Rectangle | Kind::Obround) {
        // Of the two ways to say it, that which is turned less.
        turned = (turned + 45.0 - within).rem_euclid(180.0) - 45.0 + within;
        if turned > 45.0 + within {
            (width, height, turned) = (height, width, turned - 90.0);
        }
    } else {
        let wedge = 360.0 / f64::from(shape.kind.fold().unwrap_or(1));
        turned = (turned + wedge / 2.0 - within).rem_euclid(wedge) - wedge / 2.0 + within;
    }
    let turned = round_deg(turned, within);
    let corner = |size: f64, error: f64, half_angle: f64| corner(size, error, 1.0 / half_angle.sin() - 1.0);
    let call = match shape.kind {
        Kind::Circle => return (format!("circle(diameter: {})", mm(width)), 0.0),
        Kind::Sector => return (sector(shape, errors), 0.0),
        Kind::Ellipse => format!("ellipse(width: {}, height: {})", mm(width), mm(height)),
        Kind::Obround => format!("obround(width: {}, height: {})", mm(width), mm(height)),
        Kind::Rectangle => {
            format!("rectangle(width: {}, height: {}{})", mm(width), mm(height), corner(c, ec, PI / 4.0))
        }
        Kind::Polygon(sides) => polygon(sides, shape, errors),
        Kind::Star(points) => {
            let half = PI / f64::from(points);
            let tip = (b * half.sin()).atan2(a - b * half.cos());
            format!("star(points: {points}, diameter: {}, inner: {}{})", mm(width), mm(height), corner(c, ec, tip))
        }
        Kind::Scallop(lobes) => {
            format!("scallop(diameter: {}, lobes: {lobes}, depth: {})", mm(width), mm(round(b, room(eb))))
        }
        Kind::Notched(count) => {
            let (disc, notch, out) = (mm(width), mm(height), mm(width / 2.0));
            format!("circle(diameter: {disc}) less (circle(diameter: {notch}) at (0mm, {out}) repeated {count})")
        }
    };
    (call, turned)
}

/// The radius of corners, of which a mm moves the edge by so many mm at the most: a round figure may lie as far off as that lets it.
fn corner(size: f64, error: f64, moves: f64) -> String {
    if size * moves < LEAST {
        return String::new();
    }
    let most = (MOST / moves).min(0.2 * size).max(LEAST);
    match round(size, (2.0 * error).clamp(LEAST, most)) {
        none if none < 0.02 => String::new(),
        radius => format!(", corner: {}", mm(radius)),
    }
}

/// Across its corners or across its flats, whichever is the rounder figure.
fn polygon(sides: u32, shape: &Shape, errors: &[f64; 6]) -> String {
    let [out, radius, _] = shape.size;
    let half = PI / f64::from(sides);
    let is_odd = sides % 2 == 1;
    let corners = if is_odd { 2.0 * (half / 2.0).cos() } else { 2.0 };
    let flats = if is_odd { 1.0 + half.cos() } else { 2.0 * half.cos() };
    let within = room(2.0 * errors[3]);
    let (over_corners, over_flats) = (round(out * corners, within), round(out * flats, within));
    // Of two that are as short, the nearer.
    let is_flats = match signs(over_flats).cmp(&signs(over_corners)) {
        Ordering::Equal => (over_flats - out * flats).abs() < (over_corners - out * corners).abs() - 1e-3,
        order => order == Ordering::Less,
    };
    let across = if is_flats {
        format!("across_flats: {}", mm(over_flats))
    } else {
        format!("across_corners: {}", mm(over_corners))
    };
    format!("polygon(sides: {sides}, {across}{})", corner(radius, errors[4], PI / 2.0 - half))
}

fn sector(shape: &Shape, errors: &[f64; 6]) -> String {
    let [outer, inner, half] = shape.size;
    let middle = -shape.turn.to_degrees();
    let within = room_deg(errors[5] * outer, outer);
    let edge = |angle: f64| round_deg((angle + 180.0).rem_euclid(360.0) - 180.0, within);
    let (from, to) = (edge(middle - half.to_degrees()), edge(middle + half.to_degrees()));
    let (from, to) = (deg(from), deg(if to < from { to + 360.0 } else { to }));
    let radius = mm(round(outer, room(errors[3])));
    let inner = match round(inner, room(errors[4])) {
        none if none < 0.02 => String::new(),
        inner => format!(", inner: {}", mm(inner)),
    };
    format!("sector(radius: {radius}{inner}, from: {from}, to: {to})")
}
