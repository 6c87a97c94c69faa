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
mod tests {
    use std::f64::consts::TAU;

    use super::*;
    use proptest::prelude::*;

    /// The plain way: what is left of a large square, cut limit by limit, corner by corner.
    fn clipped(limits: &[Limit]) -> Option<f64> {
        let mut left: Vec<Vec2> = [(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)].map(Vec2::from).to_vec();
        for limit in limits {
            let mut cut = Vec::new();
            for (a, b) in left.iter().zip(left.iter().cycle().skip(1)) {
                let (over_a, over_b) = (a.dot(limit.way) - limit.room, b.dot(limit.way) - limit.room);
                if over_a <= 0.0 {
                    cut.push(*a);
                }
                if (over_a < 0.0) != (over_b < 0.0) && over_a != over_b {
                    cut.push(*a + (*b - *a) * (over_a / (over_a - over_b)));
                }
            }
            left = cut;
        }
        left.iter().map(|corner| corner.hypot()).reduce(f64::max)
    }

    proptest! {
        #![proptest_config(crate::drawn(3_000))]

        #[test]
        fn limits_in_order_leave_what_cutting_leaves(
            limits in prop::collection::vec((0u32..720, -0.4..3.0f64), 0..30),
            shift in (-1.0..1.0f64, -1.0..1.0f64),
        ) {
            let limit = |(way, room): (u32, f64)| {
                let way = Vec2::from_angle(f64::from(way).to_radians() / 2.0);
                Limit { way, room: room + way.dot(Vec2::from(shift)) }
            };
            let limits: Vec<Limit> = limits.into_iter().map(limit).collect();
            let walls = limits.iter().map(|limit| Wall::new(Vec2::ZERO, limit.way, limit.room)).collect();
            let (quick, plain) = (farthest(&all_round(walls, 50.0), 0.0, 0.0), clipped(&limits));
            match (quick, plain) {
                (Some(quick), Some(plain)) => prop_assert!((quick - plain).abs() < 1e-6, "{quick} {plain}"),
                (None, None) => {}
                // Nothing but a point or a hair is left.
                (quick, plain) => {
                    let wider: Vec<Limit> = limits.iter().map(|it| Limit { room: it.room + 1e-7, ..*it }).collect();
                    let narrower: Vec<Limit> = limits.iter().map(|it| Limit { room: it.room - 1e-7, ..*it }).collect();
                    prop_assert!(clipped(&wider).is_some() && clipped(&narrower).is_none(), "{quick:?} {plain:?}");
                }
            }
        }
    }
    fn nearest(edge: &Line, at: Point) -> f64 {
        let along = edge.p1 - edge.p0;
        let t = ((at - edge.p0).dot(along) / along.hypot2()).clamp(0.0, 1.0);
        (edge.p0 + along * t).distance(at)
    }

    fn deg(radians: f64) -> f64 {
        radians.to_degrees()
    }

    /// A square of side 2 h turns in its opening until a corner meets a side: h (sin t + cos t - 1) = k, so that
    /// sin(t + 45deg) = (1 + k/h)/sqrt 2. Its axis goes off its place by the kerf, any way: the beam went round the corners, so
    /// that the opening is round there. The bounds lie above what is reckoned by what flattening and steps leave open.
    #[test]
    fn a_square_has_the_play_of_its_corners() {
        for (half, kerf) in [(20.0, 0.16), (20.0, 0.4), (35.0, 0.2), (10.0, 0.1)] {
            let square = crate::geometry::shapes::rectangle(2.0 * half, 2.0 * half, 0.0).unwrap();
            let found = play(&square, Length::mm(kerf));
            let turn = found.turn.unwrap().as_degrees();
            let wanted = deg(((1.0 + kerf / half) / 2.0_f64.sqrt()).asin()) - 45.0;
            let open = deg((2.0 * FLAT_MM + STEP * kerf) * 2.0 / half);
            assert!(turn >= wanted && turn <= wanted + open, "{half} {kerf}: {turn} {wanted}");
            let shift = found.shift.as_mm();
            assert!(shift >= kerf && shift <= 1.06 * (kerf + 2.0 * FLAT_MM), "{half} {kerf}: {shift}");
        }
    }

    /// A bar l long and b wide, turned about its middle: a corner meets a long side where l sin t + b cos t = b + 2 k; nothing
    /// lies farther off its place than the two bounds together say.
    #[test]
    fn a_long_part_turns_less() {
        let kerf = 0.2;
        for (long, wide) in [(80.0, 20.0), (60.0, 30.0), (50.0, 12.0)] {
            let bar = crate::geometry::shapes::rectangle(long, wide, 0.0).unwrap();
            let found = play(&bar, Length::mm(kerf));
            let turn = found.turn.unwrap().as_degrees();
            let across = f64::hypot(long, wide);
            let wanted = deg(((wide + 2.0 * kerf) / across).asin() - (wide / across).asin());
            let open = deg((2.0 * FLAT_MM + STEP * kerf) * 4.0 / long);
            assert!(turn >= wanted && turn <= wanted + open, "{long} {wide}: {turn} {wanted}");
            assert!(found.shift.as_mm() < 1.15 * (kerf + 2.0 * FLAT_MM), "{found:?}");
        }
    }

    /// Saw teeth hold on one side and let go on the other; a saw that is mirrored turns the other way as far.
    #[test]
    fn a_mirrored_part_has_the_same_play() {
        let corner = |turned: f64, far: f64| Vec2::from_angle(TAU * turned / 16.0) * far;
        let teeth = (0..16).flat_map(|tooth| [corner(f64::from(tooth), 20.0), corner(f64::from(tooth) + 0.1, 18.0)]);
        let path: String = teeth.map(|at| format!("L{},{} ", at.x, at.y)).collect();
        let saw = crate::geometry::shapes::path(&format!("M{}Z", path.trim_start_matches('L'))).unwrap();
        let kerf = Length::mm(0.2);
        let (one, other) = (play(&saw, kerf), play(&saw.transformed(kurbo::Affine::FLIP_X), kerf));
        let (turn, mirrored) = (one.turn.unwrap().as_radians(), other.turn.unwrap().as_radians());
        assert!((turn - mirrored).abs() < 1e-9, "{turn} {mirrored}");
        assert!((one.shift.as_mm() - other.shift.as_mm()).abs() < 1e-6);
        // The steep flanks, hardly off the radius, hold it after about a kerf, 18 mm from the axis and farther.
        assert!(turn > 0.2 / 20.0 && turn < 3.0 * 0.2 / 18.0, "{turn}");
    }

    #[test]
    fn what_is_round_turns_freely() {
        let kerf = 0.2;
        let disc = crate::geometry::shapes::circle(30.0).unwrap();
        let found = play(&disc, Length::mm(kerf));
        assert!(found.turn.is_none() && (found.shift.as_mm() - kerf).abs() < 2e-3, "{found:?}");
        // A disc off its axis goes round its own middle: the axis goes with it.
        let moved = disc.transformed(kurbo::Affine::translate((3.0, 0.0)));
        let found = play(&moved, Length::mm(kerf));
        assert!(found.turn.is_none() && found.shift.as_mm() > 6.0 && found.shift.as_mm() < 6.3, "{found:?}");
        // Flat sides 0.05 mm deep do not hold what has 0.2 mm round it; deep ones do.
        let flatted = |deep: f64| {
            let bar = crate::geometry::shapes::rectangle(2.0 * (30.0 - deep), 80.0, 0.0).unwrap();
            play(&disc.intersection(&bar), Length::mm(kerf))
        };
        assert!(flatted(0.015).turn.is_none() && flatted(3.0).turn.is_some());
        assert!(play(&Region::empty(), Length::mm(kerf)).turn.is_none());
    }

    /// Of a slot no wider than two kerfs the cut leaves nothing that could hold the part, and its flats, less deep than
    /// the kerf, hold nothing either. In a wide slot a bar stays: the slot's mouth, 29.9 mm from the axis, may go a
    /// kerf to reach it, and one more as the whole part slides.
    #[test]
    fn a_slot_that_the_cut_takes_whole_does_not_hold() {
        use crate::geometry::shapes::{circle, rectangle};
        let slotted = |wide: f64| {
            let flatted = circle(30.0).unwrap().intersection(&rectangle(80.0, 59.8, 0.0).unwrap());
            let slot = rectangle(wide, 16.0, 0.0).unwrap().transformed(kurbo::Affine::translate((0.0, 30.0)));
            play(&flatted.difference(&slot), Length::mm(0.2)).turn.map(|turn| turn.as_radians())
        };
        assert_eq!((slotted(0.3), slotted(0.39)), (None, None));
        let turn = slotted(2.0).unwrap();
        assert!((0.4 / 30.0..=0.42 / 29.9).contains(&turn), "{turn}");
    }

    /// Whether many shifts of each place that has a wall, those that leave it in the opening, stop short of the wall.
    /// The opening is all that lies in the part or no farther off it than the kerf.
    fn no_wall_stands_in_the_opening(outline: &Region, kerf: f64, off: f64) -> Result<Vec<Wall>, String> {
        let flattened = FlattenedShape::to_within(outline, FLAT_MM);
        let (all, far) = (flattened.segments().to_vec(), flattened.reach(Point::ORIGIN));
        let walls = Opening { outline: flattened, kerf, far }.walls(off);
        let open = |place: Point| outline.contains(place) || all.iter().any(|edge| nearest(edge, place) <= kerf);
        for wall in &walls {
            let at = wall.way * wall.out - wall.way.turn_90() * wall.aside;
            for (turned, part) in (0..72).flat_map(|turned| (1..=8).map(move |part| (turned, part))) {
                let shift = Vec2::from_angle(f64::from(turned * 5).to_radians()) * (off * f64::from(part) / 8.0);
                if shift.dot(wall.way) > wall.room && open((at + shift).to_point()) {
                    return Err(format!("{at} goes {shift}, not only {} along {}", wall.room, wall.way));
                }
            }
        }
        Ok(walls)
    }

    /// The tip of a spike stands off a corner, up and aside, by a hair less than the corner's reach and a kerf. So the
    /// corner may go towards it all the way, into what was cut for the tip; no other edge is near.
    #[test]
    fn a_place_goes_where_the_farthest_edge_opens_for_it() {
        for (kerf, off) in [(0.2, 0.5), (0.1, 0.9), (0.4, 1.5)] {
            let tip = (kerf + off - 1e-4) / 2.0_f64.sqrt();
            let spiked = format!("M-10,-10 L9,-10 L9,5 L{tip},{tip} L8,3 L8,0 L0,0 L-3,-4 Z");
            let outline = crate::geometry::shapes::path(&spiked).unwrap();
            let walls = no_wall_stands_in_the_opening(&outline, kerf, off).unwrap();
            let up = walls.iter().find(|wall| wall.from_axis < 1e-9 && (wall.way - Vec2::new(0.0, 1.0)).hypot() < 1e-9);
            // A kerf above the tip the opening ends; hardly more of the spike is within reach.
            let room = up.unwrap().room;
            assert!(room >= kerf + tip && room <= kerf + tip + 5e-3, "{room} {kerf} {tip}");
        }
    }

    /// Two tines, and a slot between them that the cut takes whole: either goes on into the other.
    #[test]
    fn a_place_goes_across_a_slot_that_the_cut_takes() {
        let fork = crate::geometry::shapes::path("M-5,-1.5 L8,-1.5 L8,0 L0,0 L0,0.3 L8,0.3 L8,1.5 L-5,1.5 Z").unwrap();
        for off in [0.4, 0.6, 1.4] {
            assert!(no_wall_stands_in_the_opening(&fork, 0.2, off).is_ok(), "{off}");
        }
    }

    #[test]
    fn a_place_lies_off_by_shift_and_chord() {
        let play = |turn: Option<f64>| Play { shift: Length::mm(0.3), turn: turn.map(Angle::degrees) };
        let off = |turn: Option<f64>| play(turn).off(Length::mm(10.0)).as_mm();
        assert!((off(Some(0.0)) - 0.3).abs() < 1e-12);
        // The chord of 60 degrees is the radius, of half a turn twice that, and of more no more.
        assert!((off(Some(60.0)) - 10.3).abs() < 1e-9 && (off(Some(180.0)) - 20.3).abs() < 1e-9);
        assert!((off(Some(270.0)) - 20.3).abs() < 1e-9 && (off(None) - 20.3).abs() < 1e-9);
    }

    /// Reaches of a hull by hand: a square of 10 mm reaches 5 at the least and 5 sqrt 2 at the most, and moved off by 2 it
    /// reaches 3 on the near side; an outline beside the axis does not reach round it.
    #[test]
    fn a_hull_reaches_as_by_hand() {
        let square = |x: f64, y: f64| {
            [(5.0, -5.0), (5.0, 5.0), (-5.0, 5.0), (-5.0, -5.0)].map(|(u, v)| Point::new(u + x, v + y))
        };
        let near = |found: (f64, f64), wanted: (f64, f64)| {
            assert!(
                (found.0 - wanted.0).abs() < 1e-3 && found.0 <= wanted.0 && (found.1 - wanted.1).abs() < 1e-9,
                "{found:?}"
            );
        };
        near(reach(&square(0.0, 0.0)), (5.0, 50.0_f64.sqrt()));
        near(reach(&square(2.0, 0.0)), (3.0, 74.0_f64.sqrt()));
        near(reach(&square(0.0, -4.0)), (1.0, 106.0_f64.sqrt()));
        near(reach(&square(9.0, 0.0)), (0.0, 221.0_f64.sqrt()));
        let two = [square(-6.0, 0.0), square(6.0, 0.0)].concat();
        near(reach(&two), (5.0, 146.0_f64.sqrt()));
    }

    proptest! {
        #![proptest_config(crate::drawn(300))]

        /// The plain way: many places of the edge, those near enough.
        #[test]
        fn an_edge_reaches_as_far_as_its_places(
            (x, y, u, v) in (-3.0..3.0f64, -3.0..3.0f64, -4.0..4.0f64, -4.0..4.0f64),
            at in (-1.0..1.0f64, -1.0..1.0f64), within in 0.3..3.0f64, way in 0.0..TAU,
        ) {
            let edge = Line::new((x, y), (x + u, y + v));
            let (at, way) = (Point::from(at), Vec2::from_angle(way));
            let places = (0..=4_000).map(|step| edge.p0.lerp(edge.p1, f64::from(step) / 4_000.0) - at);
            let most = places.filter(|place| place.hypot() <= within).map(|place| place.dot(way)).reduce(f64::max);
            let found = highest(&edge, at, within, way);
            match (found, most) {
                (Some(found), Some(most)) => {
                    // By the square root where the edge hardly comes within reach.
                    let open = 2e-3 * edge.p0.distance(edge.p1) + 1e-9;
                    prop_assert!(found >= most - 1e-9 && found <= most + open, "{found} {most}");
                }
                (None, Some(_)) => prop_assert!(false, "{most:?}"),
                // What comes within reach between two of the places looked at.
                (Some(_), None) => {
                    let nearest = nearest(&edge, at);
                    prop_assert!(nearest <= within, "{nearest} {within}");
                }
                (None, None) => {}
            }
        }

        /// Stars of all sorts, their notches as narrow as they come.
        #[test]
        fn walls_stand_outside_of_the_opening(
            corners in prop::collection::vec((0.1..1.0f64, 1.0..8.0f64), 4..14),
            kerf in 0.05..0.6f64, off in 0.1..4.0f64,
        ) {
            let all: f64 = corners.iter().map(|(angle, _)| angle).sum();
            let mut turned = 0.0;
            let ring = corners.iter().map(|(angle, far)| {
                turned += TAU * angle / all;
                Point::ORIGIN + Vec2::from_angle(turned) * *far
            });
            let path: String = ring.map(|at| format!("L{},{} ", at.x, at.y)).collect();
            let outline = crate::geometry::shapes::path(&format!("M{}Z", path.trim_start_matches('L')));
            // A star round less than half of its middle may cross itself.
            prop_assume!(outline.is_ok());
            let kept = no_wall_stands_in_the_opening(&outline.unwrap(), kerf, off);
            prop_assert!(kept.is_ok(), "{:?}", kept.err());
        }

        /// Strides over many steps give what looking at every step gives: the same end, and the same shift.
        #[test]
        fn strides_stop_where_steps_do(
            places in prop::collection::vec((0.0..TAU, 2.0..30.0f64, -1.2..1.2f64, 0.1..0.6f64), 3..40),
            step in 1e-4..2e-3f64, most in 5u32..300,
        ) {
            let wall = |(bearing, far, aslant, room): &(f64, f64, f64, f64)| {
                Wall::new(Vec2::from_angle(*bearing) * *far, Vec2::from_angle(bearing + aslant), *room)
            };
            let walls = all_round(places.iter().map(wall).collect(), 40.0);
            let shifts: Vec<f64> =
                (0..=most).map_while(|turned| farthest(&walls, step * f64::from(turned), step / 2.0)).collect();
            let reach = shifts.iter().copied().fold(0.0, f64::max);
            let end = u32::try_from(shifts.len()).unwrap();
            prop_assert_eq!(stopped(&walls, step, most), (end <= most).then_some((end, reach)));
        }

        /// A turned place has gone as far along its way as `room` less what is left.
        #[test]
        fn a_turn_takes_of_the_room_what_the_place_moves(
            (x, y) in (-30.0..30.0f64, -30.0..30.0f64), way in 0.0..TAU, turned in -0.5..0.5f64, room in 0.0..1.0f64,
            about in 0.0..0.02f64, besides in -1.0..1.0f64,
        ) {
            let (at, way) = (Vec2::new(x, y), Vec2::from_angle(way));
            let wall = Wall::new(at, way, room);
            let moved = Vec2::from_angle(at.atan2() + turned) * at.hypot() - at;
            let left = room - moved.dot(way);
            prop_assert!((wall.left(&Swing::new(turned, 0.0)) - left).abs() < 1e-9);
            // Of many turns no less than any of them leaves, and no more than the place could go besides.
            let middle = turned + about * besides;
            let most = wall.left(&Swing::new(middle, about));
            prop_assert!(most >= left - 1e-9 && most <= left + 2.0 * about * at.hypot() + 1e-9, "{most} {left}");
        }
    }
}
