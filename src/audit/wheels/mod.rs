//! Whether wheels in a frame turn freely and stay in: their play in the wall and between floor and lid, what holds them, where a
//! thumb finds their rim, and whether they keep clear of each other.

mod findings;
mod sweeps;

use std::f64::consts::TAU;

use findings as say;
use kurbo::Point;

use crate::design::{Axle, Design, Layer, Turn, Wall};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, TOUCH_MM, evenly, hull, polar, shapes};
use crate::statistics::normal;
use crate::units::{Angle, Length};

/// What a thumb wants of a rim (nominal: about its breadth, from memory).
pub const THUMB: Length = Length::mm(20.0);
/// A thumb lies on so much of the rim at least, in mm (common practice, no source).
const RIM_MM: f64 = 1.0;
/// So many places round the rim are asked whether they are free; each is half a degree.
const PLACES: u32 = 720;

/// So many ways from a wheel's middle are asked for what holds it, at these parts of its radius.
const SIDES: u32 = 16;
const OUT: [f64; 3] = [0.3, 0.6, 0.9];

/// What was found of the wheels of a dial.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wheels {
    /// One for each, in the order of the stack.
    pub wheels: Vec<WheelPlay>,
}

/// How one wheel lies.
#[derive(Clone, Debug, PartialEq)]
pub struct WheelPlay {
    /// The wheel's name.
    pub wheel: String,
    /// Place of its layer in the stack.
    pub layer: usize,
    /// How much wider its opening is.
    pub clearance: Length,
    /// Standard deviation of that: one beam cuts the wheel smaller and its opening wider.
    pub strays: Length,
    /// How much higher its room is than the wheel, and the standard deviation of that; none where it has no floor or no lid.
    pub room: Option<(Length, Length)>,
    /// The widest free piece of its rim, straight across.
    pub thumb_room: Length,
}

impl WheelPlay {
    /// Whether another wheel has the same play and the same free rim.
    fn lies_like(&self, other: &Self) -> bool {
        let near = |one: Length, other: Length| (one.as_mm() - other.as_mm()).abs() < TOUCH_MM;
        near(self.clearance, other.clearance) && near(self.thumb_room, other.thumb_room) && self.room == other.room
    }
}

impl Wheels {
    /// The wheel of this name.
    pub fn of(&self, name: &str) -> Option<&WheelPlay> {
        self.wheels.iter().find(|wheel| wheel.wheel == name)
    }
}

/// One wheel and where it lies.
#[derive(Clone, Copy)]
struct Lying<'d> {
    at: usize,
    layer: &'d Layer,
    turn: &'d Turn,
    axle: &'d Axle,
    wall: &'d Wall,
}

impl Lying<'_> {
    fn swept(&self) -> f64 {
        self.layer.outline.swept_radius(Point::ORIGIN)
    }

    /// What it sweeps, on the board.
    fn disc(&self) -> Region {
        shapes::circle(self.swept()).map(|disc| disc.transformed(self.axle.place())).unwrap_or_default()
    }
}

/// Looks at every wheel.
pub fn wheels(design: &Design) -> (Wheels, Problems) {
    let (mut found, mut problems) = (Wheels::default(), Problems::default());
    let all: Vec<Lying> = design
        .wheels()
        .filter_map(|(at, layer, turn, axle)| Some(Lying { at, layer, turn, axle, wall: axle.wall.as_ref()? }))
        .collect();
    let covers =
        all.iter().map(|wheel| wheel.axle.carrier).min().map_or_else(Vec::new, |lowest| covers(design, lowest));
    for wheel in &all {
        let play = play(design, wheel, &covers);
        // Of several wheels that are alike and lie alike, it is told once.
        let first = design.alike(wheel.at).and_then(|first| found.wheels.iter().find(|known| known.layer == first));
        if !first.is_some_and(|first| first.lies_like(&play)) {
            binds(wheel, &play, &mut problems);
            // To the tenth that is told: how wide a thumb is, is not known closer.
            if play.thumb_room + Length::mm(0.05) <= THUMB {
                problems.push(say::thumb_does_not_reach(wheel, play.thumb_room));
            }
        }
        problems.extend(falls_out(design, wheel));
        found.wheels.push(play);
    }
    problems.extend(sweeps::problems(design));
    (found, problems)
}

fn play(design: &Design, wheel: &Lying, covers: &[(usize, FlattenedShape)]) -> WheelPlay {
    let strays = design.clearance_strays();
    let room = design.axial_room(wheel.at).map(|room| (room, axial_spread(design, wheel)));
    let clearance = wheel.wall.clearance(wheel.swept());
    let thumb_room = thumb_room(wheel, covers);
    WheelPlay { wheel: wheel.layer.name.clone(), layer: wheel.at, clearance, strays, room, thumb_room }
}

/// Standard deviation of the room between a wheel's floor and its lid: that of each board's thickness and of each film of glue.
fn axial_spread(design: &Design, wheel: &Lying) -> Length {
    let (floor, lid) = (wheel.axle.floor.unwrap_or(0), wheel.axle.lid.unwrap_or(0));
    let between = (floor + 1..lid).filter(|at| !design.is_wheel(*at)).filter_map(|at| design.layers.get(at));
    design.height_strays(between.chain([wheel.layer]), design.films_round(wheel.axle).count())
}

fn binds(wheel: &Lying, play: &WheelPlay, problems: &mut Problems) {
    let wanted = |strays: Length| strays * normal::FREE;
    let share = |room: Length, strays: Length| normal::lacking(room.as_mm(), strays.as_mm());
    if play.clearance <= Length::ZERO || play.clearance < wanted(play.strays) {
        let share = share(play.clearance, play.strays);
        problems.push(say::binds_in_wall(wheel, play, wanted(play.strays), share));
    }
    if let Some((room, strays)) = play.room.filter(|(room, strays)| *room <= Length::ZERO || *room < wanted(*strays)) {
        problems.push(say::binds_under_lid(wheel, room, wanted(strays), share(room, strays)));
    }
}

/// What lets a wheel out: a gap in the wall, no floor, no lid, or one of them only on one side.
fn falls_out(design: &Design, wheel: &Lying) -> Option<crate::diagnostics::Diagnostic> {
    let least = wheel.layer.outline.least_radius(Point::ORIGIN).unwrap_or_default();
    if !wheel.wall.bay.keeps(least) {
        return Some(say::out_of_the_wall(wheel, Length::mm(2.0 * least)));
    }
    let disc = wheel.disc();
    let holds = |at: usize| {
        let layer = design.layers.get(at)?;
        if surely_holds(wheel, layer) {
            return Some(true);
        }
        let on_it = layer.material().intersection(&disc);
        Some(hull(&on_it, &on_it).contains(wheel.axle.centre))
    };
    let side = |at: Option<usize>| at.and_then(|at| Some((at, holds(at)?)));
    for (side, held, way) in [("below", side(wheel.axle.floor), "floor"), ("above", side(wheel.axle.lid), "lid")] {
        match held {
            None => return Some(say::nothing_holds(wheel, side, way)),
            Some((at, false)) => return Some(say::tips_out(wheel, design.layers.get(at)?)),
            Some((_, true)) => {}
        }
    }
    None
}

/// Whether a layer has material on all sides of a wheel's middle, as a few places tell. The usual case, told without a boolean.
fn surely_holds(wheel: &Lying, layer: &Layer) -> bool {
    let material = FlattenedShape::of(layer.material());
    let (centre, swept) = (wheel.wall.bay.centre, wheel.swept());
    let lacks = |way| !OUT.iter().any(|out| material.contains(centre + way * (swept * out)));
    let lacking: Vec<bool> = evenly(SIDES).map(lacks).collect();
    // No half of the circle is without.
    longest_run(&lacking) < lacking.len() / 2 - 1
}

/// What may cover a rim: all that stands still above the lowest frame, by place in the stack.
fn covers(design: &Design, lowest: usize) -> Vec<(usize, FlattenedShape)> {
    let above = design.layers.iter().enumerate().skip(lowest + 1).filter(|(at, _)| !design.is_wheel(*at));
    above.map(|(at, layer)| (at, FlattenedShape::of(layer.material()))).collect()
}

/// The widest piece of a wheel's rim that nothing above it covers, straight across.
fn thumb_room(wheel: &Lying, covers: &[(usize, FlattenedShape)]) -> Length {
    let radius = (wheel.swept() - RIM_MM).max(0.0);
    let free = |place: u32| {
        let at = wheel.axle.place() * polar(radius, Angle::degrees(360.0 * f64::from(place) / f64::from(PLACES)));
        !covers.iter().any(|(above, cover)| *above > wheel.axle.carrier && cover.contains(at))
    };
    let places: Vec<bool> = (0..PLACES).map(free).collect();
    let longest = longest_run(&places);
    if longest == places.len() {
        return Length::mm(2.0 * radius);
    }
    #[allow(clippy::cast_precision_loss, reason = "at most 720")]
    let round = longest.saturating_sub(1) as f64 * TAU / f64::from(PLACES);
    Length::mm(2.0 * radius * (round.min(std::f64::consts::PI) / 2.0).sin())
}

/// The longest run of places that are free, round and round.
fn longest_run(places: &[bool]) -> usize {
    let mut longest = 0;
    let mut run = 0;
    for free in places.iter().chain(places) {
        run = if *free { run + 1 } else { 0 };
        longest = longest.max(run.min(places.len()));
    }
    longest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_go_on_past_the_end() {
        assert_eq!(longest_run(&[true, false, false, true, true]), 3);
        assert_eq!(longest_run(&[true; 4]), 4);
        assert_eq!(longest_run(&[false; 4]), 0);
    }
}
