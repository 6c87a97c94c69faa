//! Lettering that was drawn as outlines: each area is compared with the glyphs of the typefaces that we ship, whatever its size and however
//! it is turned, and what hangs together on one line is read as a text. A drawn area is read whole or not at all.

use std::f64::consts::PI;

use kurbo::{Affine, BezPath, ParamCurve as _, PathEl, Point, Rect, Shape as _, Vec2};

use super::contour::pieces;
use super::parts::Part;
use crate::artwork::{DrawnLine, DrawnPath};
use crate::lettering::Typeface;
use crate::work::spend_on;

/// What is looked for.
const LETTERS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789&+-?!%";

/// An edge lies this near to that of its glyph, as a share of the height of capitals, or in mm where that is more.
const NEAR: f64 = 0.015;
const NEAR_MM: f64 = 0.02;

/// Glyphs that are nearly one once they are turned, as 6 and 9, b and q or n and u, differ by less than this share of the height of
/// capitals: in DejaVu Sans those pairs do by 0.1 to 0.6 %, and others by 1 % and more.
const LIKE_TURNED: f64 = 0.007;

/// Moments that differ by no more are looked at more closely.
const ALIKE: f64 = 0.03;

/// Letters of one text differ by no more than this in their turn (radians) and in their size (as a share).
const SAME_TURN: f64 = 0.02;
const SAME_SIZE: f64 = 0.02;

/// And lie off their line and off their place on it by no more than this, in em.
const OFF: f64 = 0.05;

/// A gap of at least this is a space, and none is wider than that, in em.
const SPACE: (f64, f64) = (0.2, 0.8);

/// Most areas on one part that are compared.
const AREAS: usize = 2000;

/// An area with its holes, as points along its edges, and its moments about its middle.
#[derive(Clone, Debug)]
struct Area {
    edges: Vec<Vec<Point>>,
    size: f64,
    middle: Point,
    /// The moments of z*conj(z), z², z²*conj(z) and z³, each for an area of 1.
    round: f64,
    twofold: Vec2,
    onefold: Vec2,
    threefold: Vec2,
}

/// A glyph: its areas, the largest first, in em.
struct Letter {
    sign: char,
    areas: Vec<Area>,
    advance: f64,
}

/// Where a glyph lies: in em to mm.
#[derive(Clone, Copy)]
struct Found<'l> {
    letter: &'l Letter,
    map: Affine,
    em: f64,
    turn: f64,
}

/// One that was chosen, with what it was drawn as.
struct Set<'l> {
    found: Found<'l>,
    ink: Rect,
    area: usize,
}

/// Reads the areas of a part that are letters; what is none stays as it is. How many could stand on their heads as well, with nothing
/// beside them that tells.
pub(super) fn read(part: &mut Part) -> usize {
    let drawn: Vec<Vec<Area>> = part.art.iter().map(|path| areas(&path.path, path.even_odd, 0.02)).collect();
    if part.art.is_empty() || drawn.iter().map(Vec::len).sum::<usize>() > AREAS {
        return 0;
    }
    let mut left: Vec<(DrawnPath, Vec<Area>)> = part.art.drain(..).zip(drawn).collect();
    let mut unsure = 0;
    for mirrored in [false, true] {
        for name in Typeface::built_in_names() {
            if left.is_empty() {
                break;
            }
            let Some((letters, cap)) = letters(name, mirrored) else { continue };
            let mut kept = Vec::new();
            // Which way up others stand tells it of those that look alike either way: those of the same path first.
            let all = facing(left.iter().flat_map(|(_, areas)| areas), &letters, cap, part.axis.at);
            for (path, areas) in left {
                let facing = facing(areas.iter(), &letters, cap, part.axis.at).or(all);
                match lines(&areas, &letters, (cap, part.axis.at), facing) {
                    Some(texts) => {
                        unsure += texts.iter().filter(|text| text.is_unsure).count();
                        part.lines.extend(texts.into_iter().map(|text| text.line(name, mirrored, cap, &path)));
                    }
                    None => kept.push((path, areas)),
                }
            }
            left = kept;
        }
    }
    part.art = left.into_iter().map(|(path, _)| path).collect();
    unsure
}

/// The areas of a path, each with its holes: the edges of finely flattened contours.
fn areas(path: &BezPath, even_odd: bool, tolerance: f64) -> Vec<Area> {
    let contours: Vec<BezPath> = pieces(path);
    let areas: Vec<f64> = contours.iter().map(BezPath::area).collect();
    spend_on(contours.len() * contours.len(), 4);
    // The contour that a contour lies in next, and how many it lies in.
    let within = |at: usize| {
        let start = contours.get(at).and_then(|one| one.elements().first()).and_then(PathEl::end_point);
        let area = areas.get(at).copied().unwrap_or(0.0).abs();
        let mut round: Vec<usize> = (0..contours.len())
            .filter(|other| *other != at && areas.get(*other).is_some_and(|own| own.abs() > area))
            .filter(|other| contours.get(*other).zip(start).is_some_and(|(own, start)| own.winding(start) != 0))
            .collect();
        round.sort_by(|a, b| {
            let of = |at: &usize| areas.get(*at).copied().unwrap_or(0.0).abs();
            of(a).total_cmp(&of(b))
        });
        round
    };
    let all: Vec<Vec<usize>> = (0..contours.len()).map(within).collect();
    let is_hole = |at: usize| {
        let round = all.get(at).map(Vec::as_slice).unwrap_or_default();
        let turns: f64 = round.iter().chain([&at]).filter_map(|one| areas.get(*one)).map(|area| area.signum()).sum();
        if even_odd { round.len() % 2 == 1 } else { turns == 0.0 }
    };
    let outer = (0..contours.len()).filter(|at| !is_hole(*at));
    let made = outer.filter_map(|at| {
        let holes = (0..contours.len())
            .filter(|hole| is_hole(*hole) && all.get(*hole).and_then(|round| round.first()) == Some(&at));
        let edges = std::iter::once(at).chain(holes).filter_map(|one| contours.get(one));
        Area::of(edges.map(|edge| flat(edge, tolerance)).collect())
    });
    let mut made: Vec<Area> = made.collect();
    made.sort_by(|a, b| b.size.total_cmp(&a.size));
    made
}

/// Points along a closed contour, no further apart than a few tolerances where it bends.
fn flat(contour: &BezPath, tolerance: f64) -> Vec<Point> {
    let mut points = Vec::new();
    spend_on(contour.elements().len(), 40);
    for segment in contour.segments() {
        let steps = match segment {
            kurbo::PathSeg::Line(_) => 1,
            // The middle of a chord lies an eighth of its second difference off.
            _ => ((segment.bounding_box().width().hypot(segment.bounding_box().height()) / tolerance).sqrt().ceil()
                as usize)
                .clamp(2, 16),
        };
        points.extend((0..steps).map(|step| segment.eval(step as f64 / steps as f64)));
    }
    points
}

fn around(edge: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    edge.iter().copied().zip(edge.iter().skip(1).chain(edge.first()).copied())
}

impl Area {
    fn of(edges: Vec<Vec<Point>>) -> Option<Self> {
        let signed = |edge: &[Point]| around(edge).map(|(a, b)| a.to_vec2().cross(b.to_vec2()) / 2.0).sum::<f64>();
        // The outer edge counts, its holes count against it.
        let ways: Vec<f64> = edges
            .iter()
            .enumerate()
            .map(|(at, edge)| signed(edge).signum() * if at == 0 { 1.0 } else { -1.0 })
            .collect();
        let triangles = || {
            edges
                .iter()
                .zip(&ways)
                .flat_map(|(edge, way)| around(edge).map(move |(a, b)| (a.to_vec2(), b.to_vec2(), *way)))
        };
        let size: f64 = triangles().map(|(a, b, way)| way * a.cross(b) / 2.0).sum();
        if size <= 1e-9 {
            return None;
        }
        let middle = triangles().fold(Vec2::ZERO, |sum, (a, b, way)| sum + (a + b) * (way * a.cross(b) / 6.0)) / size;
        let (mut round, mut twofold, mut onefold, mut threefold) = (0.0, Vec2::ZERO, Vec2::ZERO, Vec2::ZERO);
        for (a, b, way) in triangles() {
            let (a, b) = (a - middle, b - middle);
            let share = way * a.cross(b) / 2.0;
            // By the four points of a triangle that are exact for third powers; the third corner is the middle itself.
            let inner = [(0.6, 0.2), (0.2, 0.6), (0.2, 0.2)].map(|(at_a, at_b)| (a * at_a + b * at_b, 25.0 / 48.0));
            for (z, weight) in inner.into_iter().chain([((a + b) / 3.0, -27.0 / 48.0)]) {
                let weight = weight * share;
                let square = times(z, z);
                round += weight * z.hypot2();
                twofold += square * weight;
                onefold += z * (z.hypot2() * weight);
                threefold += times(square, z) * weight;
            }
        }
        let (second, third) = (size.powi(2), size.powf(2.5));
        Some(Self {
            edges,
            size,
            middle: middle.to_point(),
            round: round / second,
            twofold: twofold / second,
            onefold: onefold / third,
            threefold: threefold / third,
        })
    }

    /// Whether another may be the same, turned, moved and of another size.
    fn is_alike(&self, other: &Self) -> bool {
        let pairs = [
            (self.round, other.round),
            (self.twofold.hypot(), other.twofold.hypot()),
            (self.onefold.hypot(), other.onefold.hypot()),
            (self.threefold.hypot(), other.threefold.hypot()),
        ];
        self.edges.len() == other.edges.len() && pairs.iter().all(|(a, b)| (a - b).abs() <= ALIKE * self.round)
    }

    /// By how much another may be turned to become this one, in radians: by each moment that says it.
    fn turns(&self, other: &Self) -> Vec<f64> {
        let least = 0.02 * self.round;
        let mut turns = Vec::new();
        for (own, its, fold) in
            [(self.onefold, other.onefold, 1), (self.twofold, other.twofold, 2), (self.threefold, other.threefold, 3)]
        {
            if own.hypot() > least && its.hypot() > least {
                let apart = own.atan2() - its.atan2();
                turns.extend((0..fold).map(|time| (apart + 2.0 * PI * f64::from(time)) / f64::from(fold)));
            }
        }
        turns
    }

    /// How far the edges of another lie from these at the most, once mapped; none where that is more than `near`.
    fn off(&self, other: &Self, map: Affine, near: f64) -> Option<f64> {
        let mapped: Vec<Vec<Point>> =
            other.edges.iter().map(|edge| edge.iter().map(|point| map * *point).collect()).collect();
        let mut worst = 0.0_f64;
        for (from, to) in [(&self.edges, &mapped), (&mapped, &self.edges)] {
            for point in from.iter().flatten() {
                let lines = to.iter().flat_map(|edge| around(edge));
                let away = lines.map(|(a, b)| from_line(*point, a, b)).fold(f64::MAX, f64::min);
                spend_on(to.iter().map(Vec::len).sum(), 2);
                worst = worst.max(away);
                if worst > near {
                    return None;
                }
            }
        }
        Some(worst)
    }
}

fn times(a: Vec2, b: Vec2) -> Vec2 {
    Vec2::new(a.x * b.x - a.y * b.y, a.x * b.y + a.y * b.x)
}

fn from_line(point: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let share = ((point - a).dot(along) / along.hypot2().max(1e-18)).clamp(0.0, 1.0);
    point.distance(a + along * share)
}

/// The glyphs of a typeface in em, and the height of its capitals; mirrored they are seen from behind.
fn letters(name: &str, mirrored: bool) -> Option<(Vec<Letter>, f64)> {
    let typeface = Typeface::built_in(name)?;
    let em = typeface.units_per_em();
    let side = if mirrored { -1.0 } else { 1.0 };
    let letters = LETTERS.chars().filter_map(|sign| {
        let glyphs = typeface.shape(&sign.to_string(), false).ok()?;
        let glyph = glyphs.first()?;
        let outline = Affine::scale_non_uniform(side / em, 1.0 / em) * typeface.drawn(glyph).ok()?;
        Some(Letter { sign, areas: areas(&outline, false, 0.001), advance: side * glyph.advance / em })
    });
    Some((letters.collect(), typeface.cap_height() / em))
}

/// All glyphs that an area may be the largest piece of.
fn hypotheses<'l>(area: &Area, letters: &'l [Letter], cap: f64) -> Vec<Found<'l>> {
    let mut all: Vec<(f64, Found)> = Vec::new();
    for letter in letters {
        let Some(own) = letter.areas.first().filter(|own| area.is_alike(own)) else { continue };
        let em = (area.size / own.size).sqrt();
        let near = (NEAR * cap * em).max(NEAR_MM);
        for turn in area.turns(own) {
            let map = Affine::translate(area.middle.to_vec2())
                * Affine::rotate(turn)
                * Affine::scale(em)
                * Affine::translate(-own.middle.to_vec2());
            if let Some(off) = area.off(own, map, near) {
                all.push((off, Found { letter, map, em, turn }));
            }
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let room = all.first().map_or(0.0, |(off, one)| off + LIKE_TURNED * cap * one.em);
    let mut kept: Vec<Found> = Vec::new();
    for (_, found) in all.into_iter().filter(|(off, _)| *off <= room) {
        let is_known = |known: &Found| known.letter.sign == found.letter.sign && is_same_turn(known.turn, found.turn);
        if !kept.iter().any(is_known) {
            kept.push(found);
        }
    }
    kept
}

fn is_same_turn(one: f64, other: f64) -> bool {
    ((one - other + PI).rem_euclid(2.0 * PI) - PI).abs() <= SAME_TURN
}

/// Where the tops of letters point, in radians counter-clockwise from the right, beyond their own bearing or on the page.
#[derive(Clone, Copy)]
struct Facing {
    up: f64,
    is_about_axis: bool,
}

impl Facing {
    /// How far a glyph at this bearing stands off it, in radians.
    fn off(self, found: &Found, out: f64) -> f64 {
        let up = found.turn + PI / 2.0 - self.up - if self.is_about_axis { out } else { 0.0 };
        ((up + PI).rem_euclid(2.0 * PI) - PI).abs()
    }
}

/// Where letters that stand one way only look, by what they agree on best; none where there is none.
fn facing<'a>(areas: impl Iterator<Item = &'a Area>, letters: &[Letter], cap: f64, axis: Point) -> Option<Facing> {
    let mut sure: Vec<(Found, f64)> = Vec::new();
    for area in areas {
        if let [only] = hypotheses(area, letters, cap).as_slice() {
            sure.push((*only, (area.middle - axis).atan2()));
        }
    }
    let first = sure.first().copied()?;
    let ways = [true, false].map(|is_about_axis| {
        let out = if is_about_axis { first.1 } else { 0.0 };
        Facing { up: first.0.turn + PI / 2.0 - out, is_about_axis }
    });
    let spread = |way: &Facing| sure.iter().map(|(found, out)| way.off(found, *out)).sum::<f64>();
    ways.into_iter().min_by(|a, b| spread(a).total_cmp(&spread(b)))
}

/// A text that was read.
struct Text {
    says: String,
    first: Affine,
    em: f64,
    turn: f64,
    /// Its ink along its line, from where its first letter begins, in em.
    from: f64,
    to: f64,
    is_unsure: bool,
}

impl Text {
    fn line(self, typeface: &str, is_mirrored: bool, cap: f64, path: &DrawnPath) -> DrawnLine {
        DrawnLine {
            at: self.first * Point::new((self.from + self.to) / 2.0, cap / 2.0),
            says: self.says,
            up_deg: (-self.turn.to_degrees()).rem_euclid(360.0),
            height_mm: cap * self.em,
            typeface: typeface.to_owned(),
            is_asked: true,
            is_mirrored,
            colour: path.colour,
            within: path.within.clone(),
        }
    }
}

/// The texts that areas make, where every one of them is a letter or a piece of one.
fn lines(areas: &[Area], letters: &[Letter], (cap, axis): (f64, Point), facing: Option<Facing>) -> Option<Vec<Text>> {
    let mut free: Vec<usize> = (0..areas.len()).collect();
    let mut sets: Vec<Set> = Vec::new();
    let mut unsure: Vec<usize> = Vec::new();
    // The largest first: a dot belongs to the stem that it stands over.
    while let Some(at) = free.first().copied() {
        let area = areas.get(at)?;
        let mut all = hypotheses(area, letters, cap);
        all.retain(|found| rest(found, areas, &free, cap).is_some());
        let signs: Vec<char> = all.iter().map(|found| found.letter.sign).collect();
        if facing.is_none() && signs.iter().any(|sign| Some(sign) != signs.first()) {
            unsure.push(at);
        }
        let out = (area.middle - axis).atan2();
        // What nothing tells faces outward.
        let facing = facing.unwrap_or(Facing { up: 0.0, is_about_axis: true });
        let found = all.into_iter().min_by(|a, b| facing.off(a, out).total_cmp(&facing.off(b, out)))?;
        let taken = rest(&found, areas, &free, cap)?;
        free.retain(|other| *other != at && !taken.contains(other));
        let own = taken.iter().chain([&at]).filter_map(|at| areas.get(*at));
        let ink = own.map(|area| area.mapped_bounds(found.map.inverse())).reduce(|a, b| a.union(b))?;
        sets.push(Set { found, ink, area: at });
    }
    Some(texts(sets, &unsure))
}

impl Area {
    fn mapped_bounds(&self, map: Affine) -> Rect {
        let points = self.edges.iter().flatten().map(|point| map * *point).map(|point| Rect::from_points(point, point));
        points.reduce(|a, b| a.union(b)).unwrap_or_default()
    }
}

/// The areas that are the other pieces of a glyph; none where one is missing.
fn rest(found: &Found, areas: &[Area], free: &[usize], cap: f64) -> Option<Vec<usize>> {
    let near = (NEAR * cap * found.em).max(NEAR_MM);
    let pieces = found.letter.areas.iter().skip(1);
    let others = pieces.map(|piece| {
        let at = found.map * piece.middle;
        free.iter().copied().find(|other| {
            areas
                .get(*other)
                .is_some_and(|area| area.middle.distance(at) <= near && area.off(piece, found.map, near).is_some())
        })
    });
    others.collect()
}

/// Letters joined along their lines.
fn texts(mut sets: Vec<Set>, unsure: &[usize]) -> Vec<Text> {
    let mut texts = Vec::new();
    while !sets.is_empty() {
        spend_on(sets.len() * sets.len(), 4);
        // A letter that follows no other begins a text.
        let first = (0..sets.len()).find(|at| {
            let own = sets.get(*at);
            !sets
                .iter()
                .enumerate()
                .any(|(other, before)| other != *at && own.is_some_and(|own| gap(before, own).is_some()))
        });
        let mut run = vec![sets.remove(first.unwrap_or(0))];
        let mut says = run.first().map(|set| set.found.letter.sign.to_string()).unwrap_or_default();
        while let Some(last) = run.last() {
            let next = sets.iter().enumerate().filter_map(|(at, set)| Some((at, gap(last, set)?)));
            let Some((at, wide)) = next.min_by(|a, b| a.1.total_cmp(&b.1)) else { break };
            if wide > SPACE.0 {
                says.push(' ');
            }
            says.push(sets.get(at).map_or(' ', |set| set.found.letter.sign));
            run.push(sets.remove(at));
        }
        let Some(begin) = run.first().map(|set| set.found) else { continue };
        let back = begin.map.inverse();
        let inks = run.iter().map(|set| (back * set.found.map).transform_rect_bbox(set.ink));
        let ink = inks.reduce(|a, b| a.union(b)).unwrap_or_default();
        let is_unsure = run.iter().all(|set| unsure.contains(&set.area));
        texts.push(Text {
            says,
            first: begin.map,
            em: begin.em,
            turn: begin.turn,
            from: ink.x0,
            to: ink.x1,
            is_unsure,
        });
    }
    texts
}

/// How far one letter stands behind where another ends, in em, where it may follow it on its line.
fn gap(one: &Set, next: &Set) -> Option<f64> {
    let (a, b) = (&one.found, &next.found);
    let is_alike = is_same_turn(a.turn, b.turn) && (a.em / b.em - 1.0).abs() <= SAME_SIZE;
    let origin = a.map.inverse() * (b.map * Point::ORIGIN);
    let side = a.letter.advance.signum();
    let gap = side * (origin.x - a.letter.advance);
    (is_alike && origin.y.abs() <= OFF && side * origin.x > 0.0 && (-2.0 * OFF..=SPACE.1).contains(&gap)).then_some(gap)
}
