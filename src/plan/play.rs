//! How far a part may come to lie off its place when it is turned over and laid back into the opening it left.
//!
//! The cut is one kerf wide, so the opening stands one kerf off the part's finished edge all round. A part that slides
//! to the wall lies a kerf off; one that turns a little as well may lie a little farther. What is given here is an upper
//! bound over every way in which the part lies in the opening, reckoned from as many places of its edge as it takes: a
//! place may not pass the wall near it, so each bounds the shift along its normal, and a corner along ways between those of its edges;
//! what all of them leave is a polygon.

use std::collections::VecDeque;
use std::f64::consts::PI;

use kurbo::{Line, Point, Vec2};

use super::rings::hull;
use crate::geometry::{FlattenedShape, Region, evenly};
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

/// How closely the outline is flattened for its reach and for its walls, in mm.
const FINE_MM: f64 = 2e-4;
const FLAT_MM: f64 = 1e-3;
/// Edges shorter than this stand for one place, longer ones for both their ends, in mm.
const SHORT_MM: f64 = 0.5;
/// Ways that differ by no more than so many radians, 15 degrees, make a round corner to within a hundredth.
const ROUND_CORNER: f64 = PI / 12.0;
/// A step of the turn moves no point by more than this part of the kerf.
const STEP: f64 = 0.03;
/// So many steps are passed over at once where, taken for one, they let the part go no farther than it is known to go.
const STRIDE: u32 = 8;
/// Turns looked at, in kerfs that the farthest place moves; a part that goes through all of them is free to turn.
const TURNS: [f64; 3] = [2.0, 6.0, 60.0];
/// How often the bound is drawn closer by what is known of it.
const ROUNDS: usize = 3;

/// The play of an outline in the opening that it left, which stands `kerf` off it.
pub(super) fn play(outline: &Region, kerf: Length) -> Play {
    let kerf = kerf.as_mm();
    let corners = outline.flattened(FINE_MM).into_iter().flatten().map(|[x, y]| Point::new(x, y));
    let (near, far) = reach(&corners.collect::<Vec<_>>());
    // Whatever it does, the part holds its least disc, and the opening lies within its largest.
    let loose = Play { shift: Length::mm(far - near + kerf + 2.0 * FINE_MM), turn: None };
    // Too round for anything to hold it.
    if far - near < kerf / 10.0 || far <= 0.0 {
        return loose;
    }
    let opening = Opening { outline: FlattenedShape::to_within(outline, FLAT_MM), kerf: kerf.max(1e-3), far };
    // The bound starts loose and is drawn closer: what a place may meet depends on how far the part may go, which is
    // what is asked. It comes within 5 % of the farthest that 10,000 random ways of lying find.
    TURNS.into_iter().find_map(|kerfs| opening.closer(loose, kerfs * opening.kerf / far)).unwrap_or(loose)
}

/// The least and the largest reach of the hull in any of many directions.
fn reach(corners: &[Point]) -> (f64, f64) {
    const WAYS: u32 = 720;
    let hull = hull(corners);
    let far = hull.iter().map(|at| at.to_vec2().hypot()).fold(0.0, f64::max);
    // The corner that reaches farthest goes round the hull as the way goes round.
    let first = hull.iter().enumerate().max_by(|a, b| a.1.x.total_cmp(&b.1.x)).map_or(0, |(at, _)| at);
    let mut corners = hull.iter().cycle().skip(first).peekable();
    let support = |way: Vec2| {
        let reaches = |at: &&Point| at.to_vec2().dot(way);
        let mut farthest = corners.peek().map_or(0.0, reaches);
        for _ in 0..hull.len() {
            let mut next = corners.clone();
            next.next();
            let there = next.peek().map_or(0.0, reaches);
            if there < farthest {
                break;
            }
            (corners, farthest) = (next, there);
        }
        farthest
    };
    // Between two of the directions the hull reaches no less than this part of what it does along the nearer one.
    let near = evenly(WAYS).map(support).fold(f64::INFINITY, f64::min) * (PI / f64::from(WAYS)).cos();
    (near.max(0.0), far)
}

/// A place on the part's edge that may not go farther than `room` mm along `way` from where it lies.
struct Wall {
    way: Vec2,
    room: f64,
    /// How far the place lies from the axis along `way`, and along what `way` becomes by a quarter turn clockwise, in mm.
    out: f64,
    aside: f64,
    /// How far it lies from the axis, in mm.
    from_axis: f64,
}

impl Wall {
    fn new(at: Vec2, way: Vec2, room: f64) -> Self {
        Self { way, room, out: at.dot(way), aside: at.cross(way), from_axis: at.hypot() }
    }

    /// The most room that any of these turns leaves to a shift, in mm, or a little more. Per radian a turn t takes or gives
    /// aside cos t - out sin t.
    fn left(&self, turns: &Swing) -> f64 {
        let per_radian = self.from_axis.min(self.aside.abs() + turns.most * self.out.abs());
        self.room + (1.0 - turns.cos) * self.out - turns.sin * self.aside + per_radian * turns.about
    }
}

/// All turns from `about` radians before one to as many after it.
struct Swing {
    about: f64,
    /// Of the one in the middle.
    sin: f64,
    cos: f64,
    /// The largest of them either way, in radians.
    most: f64,
}

impl Swing {
    fn new(middle: f64, about: f64) -> Self {
        let (sin, cos) = middle.sin_cos();
        Self { about, sin, cos, most: middle.abs() + about }
    }
}

/// The walls by direction, with those of a square `most` mm either way, so that what they leave always has an end. None of
/// them turns with the part.
fn all_round(mut walls: Vec<Wall>, most: f64) -> Vec<Wall> {
    let square = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
    walls.extend(square.map(|way| Wall::new(Vec2::ZERO, Vec2::from(way), most)));
    let mut by_direction: Vec<(f64, Wall)> = walls.into_iter().map(|wall| (wall.way.atan2(), wall)).collect();
    by_direction.sort_by(|a, b| a.0.total_cmp(&b.0));
    by_direction.into_iter().map(|(_, wall)| wall).collect()
}

/// The ways between those of the edges that meet at a corner which stands out: the beam goes round it, so that the opening is round
/// there and ends a kerf off the corner whichever way that goes.
fn round_corner(from: Vec2, to: Vec2) -> impl Iterator<Item = Vec2> {
    let angle = from.cross(to).atan2(from.dot(to)).max(0.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some dozen")]
    let count = (angle / ROUND_CORNER).ceil() as u32;
    (1..count).map(move |at| Vec2::from_angle(from.atan2() + angle * f64::from(at) / f64::from(count)))
}

struct Opening {
    outline: FlattenedShape,
    /// In mm.
    kerf: f64,
    /// How far the part reaches from its axis, in mm.
    far: f64,
}

impl Opening {
    /// The play where the part turns by no more than `most` radians either way; none where it may turn farther.
    fn closer(&self, loose: Play, most: f64) -> Option<Play> {
        let mut play = Play { turn: Some(Angle::degrees(most.to_degrees())), ..loose };
        for _ in 0..ROUNDS {
            let walls = self.walls(play.off(Length::mm(self.far)).as_mm());
            let limit = play.turn.map_or(PI, Angle::as_radians);
            let found = self.swung(&walls, limit)?;
            let is_closer = found.shift.as_mm() < play.shift.as_mm();
            let shift = if is_closer { found.shift } else { play.shift };
            play = Play { shift, turn: found.turn };
        }
        Some(play)
    }

    /// The walls, where no place of the part lies farther than `off` mm off its own: only what is within reach of a
    /// place can hold it, and beyond the highest of that along the normal there is nothing but the kerf.
    fn walls(&self, off: f64) -> Vec<Wall> {
        let within = self.kerf + 2.0 * FLAT_MM + off;
        let mut walls = Vec::new();
        let mut wall = |at: Point, way: Vec2| {
            // Where the part goes on as far off as the place may come to lie, as it does beyond a narrow slot, the
            // opening goes on with it: no wall ends it within reach.
            if self.outline.contains(at + way * off) {
                return;
            }
            let mut reached = 0.0;
            for edge in self.outline.near(at, within) {
                reached = highest(edge, at, within, way).map_or(reached, |reaches| reaches.max(reached));
            }
            walls.push(Wall::new(at.to_vec2(), way, self.kerf + 2.0 * FLAT_MM + reached));
        };
        let outward = |edge: &Line| {
            let along = (edge.p1 - edge.p0).normalize();
            Vec2::new(along.y, -along.x)
        };
        for contour in self.outline.contours() {
            let mut before = contour.last().map(outward);
            for edge in contour {
                let way = outward(edge);
                let corner = before.into_iter().flat_map(|before| round_corner(before, way));
                corner.for_each(|way| wall(edge.p0, way));
                before = Some(way);
                // A place that is left out only makes the bound looser, never wrong, so a short edge may stand for one.
                let ends = if edge.p0.distance(edge.p1) < SHORT_MM { 1 } else { 2 };
                [edge.p0, edge.p1].into_iter().take(ends).for_each(|at| wall(at, way));
            }
        }
        all_round(walls, 4.0 * self.kerf + self.far)
    }

    /// The farthest shift and turn that the walls leave; none where the part turns by more than `most` radians.
    fn swung(&self, walls: &[Wall], most: f64) -> Option<Play> {
        let step = STEP * self.kerf / self.far;
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few thousand, never less than none"
        )]
        let most = (most / step + 1.0) as u32;
        let (left, right) = (stopped(walls, step, most)?, stopped(walls, -step, most)?);
        // Up to half a step before the first turn that left no room at all.
        let turn = step * (f64::from(left.0.max(right.0)) - 0.5).max(0.0);
        Some(Play { shift: Length::mm(left.1.max(right.1)), turn: Some(Angle::degrees(turn.to_degrees())) })
    }
}

/// The first step of the turn at which the walls leave no room at all, and how far they let a shift go before it; none
/// where that step is more than the `most`th. Steps are in radians counter-clockwise.
fn stopped(walls: &[Wall], step: f64, most: u32) -> Option<(u32, f64)> {
    let at = |middle: f64, steps: u32| farthest(walls, step * middle, step.abs() * f64::from(steps) / 2.0);
    let mut farthest = 0.0_f64;
    for first in (0..=most).step_by(STRIDE as usize) {
        let next = first + STRIDE;
        let whole = at(f64::from(first + next - 1) / 2.0, STRIDE);
        // Eight steps taken as one, with a turn uncertain by all of them, leave more room than any single one: where
        // even that goes no farther than what is known, none of them is looked at by itself.
        if whole.is_some_and(|shift| shift <= farthest) && at(f64::from(next - 1), 1).is_some() {
            continue;
        }
        for turned in first..next.min(most + 1) {
            match at(f64::from(turned), 1) {
                Some(shift) => farthest = farthest.max(shift),
                None => return Some((turned, farthest)),
            }
        }
    }
    None
}

/// How far an edge reaches along `way` from a place, of it what lies within so many mm of the place; none where nothing
/// does.
fn highest(edge: &Line, at: Point, within: f64, way: Vec2) -> Option<f64> {
    let (from, along) = (edge.p0 - at, edge.p1 - edge.p0);
    // |from + t along| = within, solved for t.
    let (a, b, c) = (along.hypot2(), from.dot(along), from.hypot2() - within * within);
    let root = b * b - a * c;
    if root < 0.0 || a <= 0.0 {
        return None;
    }
    let (first, last) = ((-b - root.sqrt()) / a, (-b + root.sqrt()) / a);
    let (first, last) = (first.max(0.0), last.min(1.0));
    let reaches = |t: f64| (from + along * t).dot(way);
    (first <= last).then(|| reaches(first).max(reaches(last)))
}

/// How far a shift may go where the part is turned by `turned` radians counter-clockwise, give or take `about`; none where
/// the walls, in order of direction, leave no shift at all.
fn farthest(walls: &[Wall], turned: f64, about: f64) -> Option<f64> {
    let turns = Swing::new(turned, about);
    let mut left = Left::default();
    for wall in walls {
        left.cut(Limit { way: wall.way, room: wall.left(&turns) })?;
    }
    left.reach()
}

/// Walls whose directions differ by no more than this many radians are taken for parallel.
const PARALLEL: f64 = 1e-9;

/// All shifts that go no farther than `room` mm along `way`.
#[derive(Clone, Copy, Debug)]
struct Limit {
    way: Vec2,
    room: f64,
}

impl Limit {
    /// Where the edges of two meet.
    fn meets(self, other: Self) -> Vec2 {
        let scale = self.way.cross(other.way);
        Vec2::new(
            (self.room * other.way.y - other.room * self.way.y) / scale,
            (other.room * self.way.x - self.room * other.way.x) / scale,
        )
    }

    fn holds(self, shift: Vec2) -> bool {
        shift.dot(self.way) <= self.room
    }
}

/// What is left of all shifts by limits that come in order of direction: those of them that bound it, by which each new one
/// only ever takes off the newest or the oldest.
#[derive(Default)]
struct Left {
    limits: VecDeque<Limit>,
}

impl Left {
    /// Takes off what is beyond a limit; none where nothing is left.
    fn cut(&mut self, limit: Limit) -> Option<()> {
        if let Some(last) = self.limits.back().copied()
            && last.way.cross(limit.way).abs() <= PARALLEL
            && last.way.dot(limit.way) > 0.0
        {
            if last.room <= limit.room {
                return Some(());
            }
            self.limits.pop_back();
        }
        while self.newest().is_some_and(|corner| !limit.holds(corner)) {
            self.limits.pop_back();
        }
        while self.oldest().is_some_and(|corner| !limit.holds(corner)) {
            self.limits.pop_front();
        }
        // Half a turn or more from the one before: they look away from each other.
        let apart = self.limits.back().is_some_and(|last| last.way.cross(limit.way) <= 0.0);
        self.limits.push_back(limit);
        (!apart).then_some(())
    }

    /// The corner between the two newest limits.
    fn newest(&self) -> Option<Vec2> {
        let mut back = self.limits.iter().rev();
        let (last, before) = (back.next()?, back.next()?);
        Some(before.meets(*last))
    }

    /// The corner between the two oldest limits.
    fn oldest(&self) -> Option<Vec2> {
        let mut front = self.limits.iter();
        let (first, second) = (front.next()?, front.next()?);
        Some(first.meets(*second))
    }

    /// The distance of the farthest corner, in mm; none where nothing is left.
    fn reach(mut self) -> Option<f64> {
        while self.limits.len() > 2 && !self.limits.front()?.holds(self.newest()?) {
            self.limits.pop_back();
        }
        while self.limits.len() > 2 && !self.limits.back()?.holds(self.oldest()?) {
            self.limits.pop_front();
        }
        let next = self.limits.iter().cycle().skip(1);
        let corners = self.limits.iter().zip(next).map(|(limit, next)| limit.meets(*next).hypot());
        (self.limits.len() > 2).then(|| corners.fold(0.0, f64::max))
    }
}

#[cfg(test)]
mod tests;
