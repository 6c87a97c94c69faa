//! How far a part that was lifted out and turned over may lie off its place in the opening that it is laid into, held against what
//! the list tells.
//!
//! The part is laid into a picture of its opening in every way. At each turn the shifts that leave all of it inside are that picture
//! eroded by the part's edge (Serra, Image Analysis and Mathematical Morphology, 1982): one copy of the picture for each place of
//! the edge, moved by it, and of all these copies what is open in every one. 64 shifts in a row are the bits of one word.

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::num::NonZeroUsize;

use kurbo::{Affine, BezPath, Line, ParamCurve as _, PathEl, Point, Shape as _, Vec2};

use super::board::operations_of;
use super::in_order;
use super::list::{Board, Edge, Into, List, Part, Turned, TurnedPart, Work};
use super::raster::{HALF, filled, traced};
use super::remark::{Kind, Remarks, mm};

/// No picture of an opening is wider, in pixels.
const WIDEST: f64 = 3000.0;
/// Shifts that are looked at either way, in pixels.
const REACH: i32 = 32;
/// Kerfs that these are at first, and how often twice as many are tried.
const KERFS: f64 = 2.5;
const COARSER: u32 = 10;
/// A part that may turn until its farthest place has gone so many kerfs is free to turn.
const FREE_KERFS: f64 = 60.0;
/// What turns farther than this, in radians, or has hollows, may be told to be free to turn.
const FREELY: f64 = 0.07;
/// From one turn to the next a part turns by a pixel at its farthest place, or by this share of what it is turned.
const FARTHER: f64 = 1.0 / 16.0;
/// Turns looked at all round, where nothing holds a part.
const ALL_ROUND: u32 = 72;
/// Places of an edge stand no farther apart, in mm, nor off it by more than this part of a kerf.
const APART_MM: f64 = 0.5;
const OFF: f64 = 0.01;
/// A place in a pixel that counts as open is off what is open by this much at the most, in pixels; and off the nearest shift that is
/// looked at by as much, which hardly ever adds to it.
const NARROWER: f64 = std::f64::consts::FRAC_1_SQRT_2;
const WIDER: f64 = 1.0;
/// What is told is an upper bound, and may be larger than what is found by so much; by more where an edge has hollows, in which one
/// place may lie while another is held.
const LOOSE: f64 = 0.12;
const LOOSE_IN_HOLLOWS: f64 = 0.35;
/// How far it may turn is bounded by places of its edge one by one, which is farther yet from what all of them together leave.
const LOOSE_TURN: f64 = 0.6;
/// An edge that bends inwards by no more than this sine is flattened, and not hollow.
const HOLLOW: f64 = 0.01;
/// The list is written to three decimals.
const ROUNDED: f64 = 0.001;

/// How far a part may lie off.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Play {
    /// Of its axis, in mm.
    shift: f64,
    /// Either way, in radians; none where it is free to turn.
    turn: Option<f64>,
}

/// A part's play by pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Between {
    /// In an opening that is narrower all round by what a pixel may be off.
    least: Play,
    /// In one that is wider.
    most: Play,
    /// By what part more may be told.
    loose: f64,
}

/// A part that is turned over before a setup.
type Over<'l> = (&'l Board, usize, &'l Part, &'l TurnedPart);

/// Measures the play of every layer that is turned over, by the first of its parts, and holds what is told of all of them against it.
pub(super) fn look_over(list: &List, threads: NonZeroUsize, remarks: &mut Remarks) {
    let mut layers: BTreeMap<(usize, &str, bool), Vec<Over>> = BTreeMap::new();
    for over in list.boards.iter().flat_map(turned) {
        let key = (over.2.design, over.2.layer.as_str(), over.3.into == Into::Holder);
        layers.entry(key).or_default().push(over);
    }
    let layers: Vec<Vec<Over>> = layers.into_values().collect();
    let found = in_order(&layers, threads, |parts| parts.first().and_then(measured));
    for (parts, found) in layers.iter().zip(found) {
        let Some(found) = found else { continue };
        for (_, _, part, over) in parts {
            // Lists of version 1 do not tell how far a part may turn.
            compare(&part.name, over, &found, !list.designs.is_empty(), remarks);
        }
    }
}

/// All parts that are turned over, each with the setup before which that is done.
fn turned(board: &Board) -> impl Iterator<Item = Over<'_>> {
    board.setups.iter().enumerate().flat_map(move |(setup, it)| {
        let parts = if let Turned::PartsOver { parts } = &it.turned { parts.as_slice() } else { &[] };
        parts
            .iter()
            .filter_map(move |over| Some((board, setup, board.parts.iter().find(|part| part.name == over.part)?, over)))
    })
}

fn compare(part: &str, over: &TurnedPart, found: &Between, tells_turns: bool, remarks: &mut Remarks) {
    let Between { least, most, loose } = found;
    // What is taken to be free to turn may lie as far off as it does at any angle: only too little would be wrong.
    let free = over.askew.is_none() && tells_turns && most.turn.is_some();
    let too_much = !free && over.play > most.shift * (1.0 + loose) + ROUNDED;
    if over.play < least.shift - ROUNDED || too_much {
        let says = format!(
            "turned over it may lie {} to {} off its place by its pixels, and {} is told",
            mm(least.shift),
            mm(most.shift),
            mm(over.play)
        );
        remarks.push(Kind::Play, part, says);
    }
    let told = over.askew.map_or(f64::INFINITY, |turn| turn + ROUNDED);
    let degrees = |turn: Option<f64>| turn.map_or(f64::INFINITY, f64::to_degrees);
    let loosest = degrees(most.turn) * (1.0 + LOOSE_TURN) + 2.0 * ROUNDED;
    let may_be_free = free && most.turn.is_some_and(|turn| turn > FREELY || *loose > LOOSE);
    let fits = may_be_free || (degrees(least.turn)..=loosest).contains(&told);
    if (tells_turns || over.askew.is_some()) && !fits {
        let turn = |degrees: f64| match degrees.is_finite() {
            true => format!("{}deg", crate::units::plain(degrees, 2)),
            false => "any angle".to_owned(),
        };
        let says = format!(
            "turned over it may lie askew by {} to {} by its pixels, and {} is told",
            turn(degrees(least.turn)),
            turn(degrees(most.turn)),
            turn(over.askew.unwrap_or(f64::INFINITY))
        );
        remarks.push(Kind::Play, part, says);
    }
}

/// The play of one part; none where no opening is cut for it.
fn measured(&(board, setup, part, over): &Over) -> Option<Between> {
    let cut = |wanted: Edge| {
        let is_wanted = |work: &Work| matches!(work, Work::Cut { edge, .. } if *edge == wanted);
        operations_of(board, part).find(|(at, it)| *at < setup && is_wanted(&it.work))
    };
    let (cut_in, outline) = cut(Edge::Outline)?;
    let (_, open) = if over.into == Into::Holder { cut(Edge::Holder)? } else { (cut_in, outline) };
    let frame = |setup: usize| part.lies.get(setup).map(|lie| lie.at().inverse());
    between(&(frame(cut_in)? * outline.path.path.clone()), &(frame(setup)? * open.path.path.clone()), board.kerf)
}

/// The play of what was cut along one path in what was cut along another, both in the part's frame, by a beam as wide as `kerf`.
fn between(own: &BezPath, open: &BezPath, kerf: f64) -> Option<Between> {
    let edge = edge(own, kerf / 2.0);
    let far = edge.iter().map(|at| at.to_vec2().hypot()).reduce(f64::max)?;
    if kerf <= 0.0 || far <= kerf {
        return None;
    }
    let loose = if is_hollow(&edge) { LOOSE_IN_HOLLOWS } else { LOOSE };
    let first = (f64::from(REACH) / (KERFS * kerf)).min(WIDEST / (2.0 * far));
    (0..COARSER).map(|times| first / f64::from(1 << times)).find_map(|scale| {
        let opening = |width: f64| Opening::cut(open, width.max(0.0), scale)?.swung(&edge, far, kerf);
        let most = opening(kerf + 2.0 * WIDER / scale)?;
        let least = opening(kerf - 2.0 * NARROWER / scale)?;
        // The farthest shift lies between two pixels.
        let most = Play { shift: most.held.shift + NARROWER / scale, turn: most.stopped };
        Some(Between { least: least.held, most, loose })
    })
}

/// Places of a finished edge, which stands `inside` mm within the path that it was cut along.
fn edge(path: &BezPath, inside: f64) -> Vec<Point> {
    let mut flat = BezPath::new();
    kurbo::flatten(path, 2.0 * inside * OFF, |element| flat.push(element));
    let mut places = Vec::new();
    for contour in flat.elements().split_inclusive(|element| matches!(element, PathEl::ClosePath)) {
        let contour = BezPath::from_vec(contour.to_vec());
        let side = inside.copysign(contour.area());
        for line in contour.segments().map(|it| Line::new(it.start(), it.end())).filter(|it| it.p0 != it.p1) {
            let along = line.p1 - line.p0;
            let off = along.normalize().turn_90() * side;
            let count = (along.hypot() / APART_MM).ceil();
            let mut at = 0.0;
            while at <= count {
                places.push(line.p0.lerp(line.p1, at / count) + off);
                at += 1.0;
            }
        }
    }
    places
}

/// Whether a finished edge, its places counter-clockwise or clockwise, bends both ways.
fn is_hollow(edge: &[Point]) -> bool {
    let mut ways: Vec<Vec2> = Vec::with_capacity(edge.len());
    let next = edge.iter().cycle().skip(1);
    ways.extend(edge.iter().zip(next).map(|(at, next)| *next - *at).filter(|way| way.hypot() > ROUNDED));
    let next = ways.iter().cycle().skip(1);
    let bends = ways.iter().zip(next).map(|(way, next)| way.normalize().cross(next.normalize()));
    let (least, most) = bends.fold((0.0_f64, 0.0_f64), |(least, most), bend| (least.min(bend), most.max(bend)));
    least < -HOLLOW && most > HOLLOW
}

/// A picture of an opening, each row of it words of 64 pixels.
struct Opening {
    x: i32,
    y: i32,
    words: usize,
    rows: Vec<u64>,
    scale: f64,
}

/// What a part may do in an opening.
struct Swung {
    /// All that it was seen to do.
    held: Play,
    /// The least turn at which it was seen to be stopped, in radians.
    stopped: Option<f64>,
}

impl Opening {
    /// What a beam of some width leaves open along a path, and all within it.
    fn cut(path: &BezPath, width: f64, scale: f64) -> Option<Self> {
        let mut open = traced(path, width, Affine::IDENTITY, scale)?;
        open.add(&filled(path, Affine::IDENTITY, scale)?);
        let columns = usize::try_from(open.width).ok()?.max(1);
        let word =
            |pixels: &[u8]| pixels.iter().rev().fold(0, |word: u64, value| (word << 1) | u64::from(*value >= HALF));
        let rows = open.data.chunks_exact(columns).flat_map(|row| row.chunks(64).map(word)).collect();
        Some(Self { x: open.x, y: open.y, words: columns.div_ceil(64), rows, scale })
    }

    /// 64 pixels in a row, the first as the lowest bit; closed outside of the picture.
    fn pixels(&self, x: i32, y: i32) -> u64 {
        let (x, y) = (x - self.x, y - self.y);
        let word = |at: i32| {
            let at = usize::try_from(at).ok().filter(|at| *at < self.words);
            let place = usize::try_from(y).ok().zip(at).map(|(row, at)| row * self.words + at);
            place.and_then(|place| self.rows.get(place)).copied().unwrap_or(0)
        };
        let (first, by) = (x.div_euclid(64), x.rem_euclid(64));
        if by == 0 { word(first) } else { (word(first) >> by) | (word(first + 1) << (64 - by)) }
    }

    /// The shifts that leave a part inside, turned counter-clockwise by so many radians.
    fn shifts(&self, edge: &[Point], turn: f64) -> Shifts {
        let turn = Affine::scale(self.scale) * Affine::rotate(turn);
        let mut left = Shifts([u64::MAX; 64]);
        for place in edge {
            let at = turn * *place;
            #[allow(clippy::cast_possible_truncation, reason = "pixels of a picture")]
            let (x, y) = (at.x.floor() as i32 - REACH, at.y.floor() as i32 - REACH);
            let mut any = 0;
            for (row, y) in left.0.iter_mut().zip(y..) {
                *row &= self.pixels(x, y);
                any |= *row;
            }
            if any == 0 {
                break;
            }
        }
        left
    }

    /// How far a part may lie off, which reaches `far` mm from its axis; none where it may go farther than is looked at.
    fn swung(&self, edge: &[Point], far: f64, kerf: f64) -> Option<Swung> {
        let (step, most) = (1.0 / (self.scale * far), FREE_KERFS * kerf / far);
        let mut reach = self.shifts(edge, 0.0).reach()?.unwrap_or(0.0);
        let mut ways = [(0.0, None), (0.0, None)];
        for (way, (held, stopped)) in [1.0, -1.0].iter().zip(&mut ways) {
            while *held < most {
                let farther = (*held * FARTHER).max(step);
                // Once it was stopped, half as far as there.
                let next = stopped.map_or(*held + farther, |stopped| f64::midpoint(*held, stopped));
                match self.shifts(edge, next * way).reach()? {
                    Some(there) => (*held, reach) = (next, reach.max(there)),
                    None => *stopped = Some(next),
                }
                if stopped.is_some_and(|stopped| stopped - *held <= step) {
                    break;
                }
            }
        }
        let [(left, stopped_left), (right, stopped_right)] = ways;
        let stopped = stopped_left.zip(stopped_right).map(|(left, right): (f64, f64)| left.max(right));
        if stopped.is_none() {
            for turn in (0..ALL_ROUND).map(|at| TAU * f64::from(at) / f64::from(ALL_ROUND)) {
                reach = self.shifts(edge, turn).reach()?.map_or(reach, |there| there.max(reach));
            }
        }
        let held = Play { shift: reach / self.scale, turn: stopped.map(|_| left.max(right)) };
        Some(Swung { held, stopped })
    }
}

/// Which of all shifts up to [`REACH`] pixels either way leave a part inside: rows upwards, each a bit a pixel.
struct Shifts([u64; 64]);

impl Shifts {
    /// The farthest of them, in pixels; none where there is none, and none at all where some may go beyond what is looked at.
    fn reach(&self) -> Option<Option<f64>> {
        let ends = 1 | 1 << 63;
        let (first, last) = (self.0.first()?, self.0.last()?);
        if first | last != 0 || self.0.iter().any(|row| row & ends != 0) {
            return None;
        }
        let far = |bit: u32| f64::from(bit) - f64::from(REACH);
        let rows = self.0.iter().zip(0..).filter(|(row, _)| **row != 0);
        let reaches =
            rows.flat_map(|(row, y)| [row.trailing_zeros(), 63 - row.leading_zeros()].map(|x| far(x).hypot(far(y))));
        Some(reaches.reduce(f64::max))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The path that a beam goes along round a shape whose corners are these, in order counter-clockwise.
    fn round(corners: &[(f64, f64)], kerf: f64) -> BezPath {
        let mut path = BezPath::new();
        for (at, corner) in corners.iter().enumerate() {
            let corner = Point::from(*corner);
            let [before, after] = [corners.len() - 1, 1].map(|by| Point::from(corners[(at + by) % corners.len()]));
            // Outwards from both edges.
            let ways = [corner - before, after - corner].map(|along| -along.normalize().turn_90());
            let [from, to] = ways.map(|way| (way * (kerf / 2.0)).atan2());
            let arc = kurbo::Arc::new(corner, (kerf / 2.0, kerf / 2.0), from, (to - from).rem_euclid(TAU), 0.0);
            let begins = corner + ways[0] * (kerf / 2.0);
            if at == 0 {
                path.move_to(begins)
            } else {
                path.line_to(begins)
            }
            arc.to_cubic_beziers(1e-4, |a, b, to| path.curve_to(a, b, to));
        }
        path.close_path();
        path
    }

    fn measured(path: &BezPath, kerf: f64) -> Between {
        between(path, path, kerf).unwrap()
    }

    fn holds(found: &Between, shift: f64, turn: Option<f64>) {
        let Between { least, most, .. } = found;
        assert!(least.shift <= shift + 1e-9 && shift <= most.shift, "{shift}: {found:?}");
        match turn {
            Some(turn) => {
                assert!(least.turn.unwrap() <= turn && turn <= 1.02 * most.turn.unwrap(), "{turn}: {found:?}")
            }
            None => assert!(least.turn.is_none() && most.turn.is_none(), "{found:?}"),
        }
        let wide = (most.shift - least.shift) / shift;
        assert!(wide < 0.35, "{found:?}");
    }

    /// A bar of half sides a and b in its opening, a kerf k off it all round, and round about the corners: it goes k any way, and turns
    /// until a corner meets a long side, where a sin t + b cos t = b + k.
    #[test]
    fn a_bar_has_the_play_of_its_corners() {
        for (a, b, kerf) in [(20.0, 20.0, 0.16), (20.0, 20.0, 0.4), (40.0, 10.0, 0.2), (25.0, 6.0, 0.2)] {
            let path = round(&[(-a, -b), (a, -b), (a, b), (-a, b)], kerf);
            let across = f64::hypot(a, b);
            let turn = ((b + kerf) / across).asin() - (b / across).asin();
            holds(&measured(&path, kerf), kerf, Some(turn));
        }
    }

    /// A disc goes a kerf any way and turns freely; about an axis that is off its middle that goes round with it, and too far for
    /// pixels to say more than that it may.
    #[test]
    fn a_disc_turns_freely() {
        let kerf = 0.2;
        let disc = |off: f64| kurbo::Circle::new((off, 0.0), 30.0 + kerf / 2.0).to_path(1e-4);
        holds(&measured(&disc(0.0), kerf), kerf, None);
        let off = measured(&disc(3.0), kerf);
        assert!(off.most.turn.is_none() && off.most.shift >= 6.0 + kerf && off.least.shift <= 6.0 + kerf, "{off:?}");
    }

    /// What is laid into an opening that was cut wider than it goes as much farther; one that it does not go into leaves nothing.
    #[test]
    fn another_opening_leaves_another_play() {
        let square = |half: f64| round(&[(-half, -half), (half, -half), (half, half), (-half, half)], 0.2);
        let wider = between(&square(20.0), &square(20.1), 0.2).unwrap();
        // Straight on by 0.3 mm, and into the corner, which lies 0.1 mm farther out either way and is round by 0.2 mm.
        let far = 0.1 * 2.0_f64.sqrt() + 0.2;
        assert!(wider.least.shift <= far && far <= wider.most.shift && wider.least.shift > 0.3, "{wider:?}");
        let narrower = between(&square(20.0), &square(19.7), 0.2).unwrap();
        assert!(narrower.least.shift < 1e-9 && narrower.most.shift < 0.03, "{narrower:?}");
    }
}
