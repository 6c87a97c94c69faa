//! How far a part may come to lie off its place when it is turned over and laid back into the opening it left.
//!
//! The cut is one kerf wide, so the opening stands one kerf off the part's finished edge all round. A part that slides
//! to the wall lies a kerf off; one that turns a little as well may lie a little farther. What is given here is an upper
//! bound over every way in which the part's convex hull fits the hull of the opening.

use std::f64::consts::{PI, TAU};

use kurbo::Point;

use crate::geometry::Region;
use crate::units::{Angle, Length};

/// How far a turned part may lie off its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Play {
    /// Of its turning axis, any way.
    pub shift: Length,
    /// About its turning axis, either way; none where nothing keeps it from turning, as nothing does a disc.
    pub turn: Option<Angle>,
}

impl Play {
    /// How far a place so far from the turning axis may come to lie off.
    pub fn off(&self, from_axis: Length) -> Length {
        let half = self.turn.map_or(PI / 2.0, |turn| turn.as_radians() / 2.0).min(PI / 2.0);
        Length::mm(self.shift.as_mm() + 2.0 * from_axis.as_mm() * half.sin())
    }
}

/// Directions in which the part's reach is compared with the opening's; an even number.
const WAYS: usize = 36;
/// How closely the outline is flattened, in mm.
const FLAT_MM: f64 = 5e-4;
/// A step of the turn moves no point by more than this part of the kerf.
const STEP: f64 = 0.03;
/// Steps after which the part counts as free to turn.
const STEPS: u32 = 2_000;

/// The play of an outline in the opening that it left, which stands `kerf` off it.
pub(super) fn play(outline: &Region, kerf: Length) -> Play {
    let corners: Vec<Point> = outline.flattened(FLAT_MM).into_iter().flatten().map(|[x, y]| Point::new(x, y)).collect();
    let hull = super::nest::hull(&corners);
    let kerf = kerf.as_mm();
    let far = hull.iter().map(|at| at.to_vec2().hypot()).fold(0.0, f64::max);
    let reach = |from: f64| -> Vec<f64> { (0..WAYS).map(|way| support(&hull, bearing(way) - from)).collect() };
    let still = reach(0.0);
    let near = still.iter().copied().fold(f64::INFINITY, f64::min);
    // Whatever it does, the part holds its least disc, and the opening lies within its largest.
    let loose = Play { shift: Length::mm((far - near + kerf) / (PI / WAYS as f64).cos()), turn: None };
    if far - near < kerf / 10.0 || far <= 0.0 {
        return loose;
    }
    let step = STEP * kerf.max(1e-3) / far;
    let slack = far * step / 2.0 + 2.0 * FLAT_MM;
    let sines: Vec<f64> = (0..WAYS).map(|way| bearing(way).sin()).collect();
    let mut play = Play { shift: Length::mm(kerf), turn: None };
    for sign in [1.0, -1.0] {
        for count in 0..=STEPS {
            if count == STEPS {
                return loose;
            }
            let turned = sign * step * f64::from(count);
            let room: Vec<f64> =
                still.iter().zip(reach(turned)).map(|(still, turned)| still + kerf + slack - turned).collect();
            let Some(shift) = farthest(&room, &sines) else {
                let turn = turned.abs().max(play.turn.map_or(0.0, Angle::as_radians));
                play.turn = Some(Angle::degrees(turn.to_degrees()));
                break;
            };
            play.shift = Length::mm(shift.max(play.shift.as_mm()));
        }
    }
    play
}

fn bearing(way: usize) -> f64 {
    TAU * way as f64 / WAYS as f64
}

/// How far a hull reaches in a direction.
fn support(hull: &[Point], angle: f64) -> f64 {
    let (sin, cos) = angle.sin_cos();
    hull.iter().map(|at| at.x * cos + at.y * sin).fold(f64::NEG_INFINITY, f64::max)
}

/// How far a shift may go that goes no farther in each direction than its room; none where there is no such shift.
/// Two directions on either side of a third bound the shift along it: `sin(a + b) u = sin(b) v + sin(a) w`, where `u`
/// stands `a` off `v` and `b` off `w`.
fn farthest(room: &[f64], sines: &[f64]) -> Option<f64> {
    let at = |way: usize| room.get(way % WAYS).copied().unwrap_or(0.0);
    let sine = |way: usize| sines.get(way).copied().unwrap_or(1.0);
    let bound = |way: usize| {
        let mut least = at(way);
        for left in 1..WAYS / 2 {
            for right in 1..WAYS / 2 - left {
                let both = sine(right) * at(way + WAYS - left) + sine(left) * at(way + right);
                let both = both / sine(left + right);
                least = least.min(both);
            }
        }
        least
    };
    let bounds: Vec<f64> = (0..WAYS).map(bound).collect();
    let opposite = bounds.iter().cycle().skip(WAYS / 2);
    if bounds.iter().zip(opposite).any(|(one, other)| one + other < 0.0) {
        return None;
    }
    Some(bounds.iter().copied().fold(0.0, f64::max) / (PI / WAYS as f64).cos())
}
