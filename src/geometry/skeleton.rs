//! The skeleton of a region, also called its medial axis: the centres of all the largest discs in it.
//!
//! It is looked at from the walls. At places all along them, and all round the tips of notches, the largest disc is
//! found that touches the wall there and holds no other wall (the shrinking ball of Ma, Bae and Choi, 2012, "3D medial axis
//! point approximation using nearest neighbors and the normal field"). Whoever walks once round a contour so walks along
//! all of the skeleton beside it and back again, so that what is asked of the skeleton is asked of a list of discs.
//!
//! Places lie no farther apart than half the radius of their discs. A disc is right to 1 µm, a width that is told to
//! 0.1 µm: it is measured anew between the walls themselves.

use kurbo::{Line, Point, Vec2};

use super::Region;
use super::distance::Nearest;
use super::flattened::{FlattenedShape, TOUCH_MM};
use super::segment::{cut, nearest_on};
use crate::memory::{MANY, recalled};

/// Pieces of a wall are halved down to this length where they are long for their discs, in mm, and down to this part of
/// all walls.
const SHORT_MM: f64 = 0.02;
const SHORT: f64 = 5e-5;
/// Angle between the discs that are looked at round the tip of a notch, at the most, in radians.
const FAN: f64 = 0.18;
/// On either side of a neck the material must hold a disc wider than it by this factor: else what is beyond it is no more
/// than the roughness of a wall.
pub(crate) const SUBSTANCE: f64 = 1.05;
/// A disc may be wider than the neck that it lies in by this factor.
const NEAR: f64 = 1.15;
/// What flattening may make of walls that run beside each other, in mm: so much wider that disc must be at the least.
const NOISE_MM: f64 = 4e-3;
/// Walls whose discs differ by no more than this run beside each other, in mm: what flattening leaves.
const LEVEL_MM: f64 = 1.5e-3;
/// Cosine of the least angle between the two places where a disc touches opposite walls.
const OPPOSITE: f64 = -0.98;
/// How finely walls are flattened where a width is measured, in mm.
const FINE_MM: f64 = 2e-5;
/// How finely where it is only asked whether all is wider than so much, in mm.
const ROUGH_MM: f64 = 5e-3;
/// Two places of a wall with no more than this much wall between them, as a multiple of how far they are apart, are the
/// flanks of a corner: one of 60 degrees or blunter, where it is sharp.
const CORNER: f64 = 2.0;

/// The largest disc that touches a wall at a place.
#[derive(Clone, Copy, Debug)]
struct Disc {
    at: Point,
    /// Square to the wall, into the material.
    normal: Vec2,
    radius: f64,
    /// Where else it touches.
    other: Point,
    contour: usize,
}

impl Disc {
    fn centre(&self) -> Point {
        self.at + self.normal * self.radius
    }

    /// Whether it lies between two walls that face each other.
    fn is_across(&self) -> bool {
        let centre = self.centre();
        (self.at - centre).dot(self.other - centre) <= OPPOSITE * self.radius * self.radius
    }

    /// Whether it lies between two such walls as another does, as far apart.
    fn runs_on(&self, from: &Self) -> bool {
        self.is_across() && (self.radius - from.radius).abs() <= LEVEL_MM
    }
}

/// A part of the material that ends in nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tip {
    /// Its end.
    pub at: Point,
    /// How far it lies from where the material is as wide as was asked, to within half that width, in mm.
    pub length: f64,
}

/// The discs along all walls of a region, contour by contour.
pub(crate) struct Skeleton<'r> {
    region: &'r Region,
    discs: Vec<Disc>,
}

impl<'r> Skeleton<'r> {
    pub(crate) fn of(region: &'r Region) -> Self {
        let shape = FlattenedShape::of(region);
        let Some(bounds) = shape.bounds() else { return Self { region, discs: Vec::new() } };
        let around: f64 = shape.segments().iter().map(|line| line.p0.distance(line.p1)).sum();
        let (largest, short) = (bounds.width().min(bounds.height()), SHORT_MM.max(SHORT * around));
        let mut walk = Walk { shape: &shape, largest, short, contour: 0, discs: Vec::new() };
        for (contour, lines) in shape.contours().enumerate() {
            walk.contour = contour;
            for_each_wall(lines, FAN, |place| match place {
                Place::Tip(at, normal) => walk.touch(at, normal),
                Place::Wall(line, normal) => walk.along(line.p0, line.p1, normal),
            });
        }
        Self { region, discs: walk.discs }
    }

    fn contours(&self) -> impl Iterator<Item = &[Disc]> {
        self.discs.chunk_by(|disc, next| disc.contour == next.contour)
    }

    /// The narrowest place between two parts of one contour that is narrower than `limit` mm: a neck, where the discs grow on
    /// both sides until they are wider by the factor [`SUBSTANCE`], or a strip, whose walls run beside each other for as far
    /// as they are apart. Where the material only tapers to a tip, however long, there is neither.
    pub(crate) fn narrowest_neck(&self, limit: f64) -> Option<Nearest> {
        let fine = FlattenedShape::to_within(self.region, FINE_MM);
        let mut best: Option<Nearest> = None;
        for discs in self.contours() {
            for at in candidates(discs) {
                let least = best.map_or(limit, |best| best.distance);
                let Some(disc) = discs.get(at).filter(|disc| 2.0 * disc.radius < NEAR * least) else { break };
                // Which sides it has matters only for a neck.
                let strip = strip(discs, at);
                let sides = if strip.is_some() { f64::INFINITY } else { self.sides(discs, at).unwrap_or(0.0) };
                if sides > disc.radius {
                    let disc = strip.unwrap_or(disc);
                    let across = Nearest { distance: disc.at.distance(disc.other), from: disc.at, to: disc.other };
                    let web = settled(&fine, across);
                    // Between the flanks of a corner it slides away to the tip.
                    if NEAR * web.distance < 2.0 * disc.radius {
                        continue;
                    }
                    let wider = (SUBSTANCE * web.distance).max(web.distance + NOISE_MM);
                    if web.distance < least && 2.0 * sides >= wider {
                        best = Some(web);
                    }
                }
            }
        }
        best
    }

    /// The radius of the widest disc on one side of a disc, that side on which it is less; none where the disc touches
    /// another contour.
    fn sides(&self, discs: &[Disc], at: usize) -> Option<f64> {
        let disc = discs.get(at)?;
        // Of all places on the far side that from which the same disc is seen, from the same way.
        let beyond = |other: &&Disc| other.at.distance_squared(disc.other) < other.at.distance_squared(disc.at);
        let away = |other: &Disc| (other.at + other.normal * disc.radius).distance_squared(disc.centre());
        let across = self.discs.iter().filter(beyond).min_by(|a, b| away(a).total_cmp(&away(b)))?;
        if across.contour != disc.contour {
            return None;
        }
        let across = discs.iter().position(|other| std::ptr::eq(other, across))?;
        let (first, last) = (at.min(across), at.max(across));
        let (mut between, mut rest) = (0.0_f64, 0.0_f64);
        for (place, other) in discs.iter().enumerate() {
            let side = if first < place && place < last { &mut between } else { &mut rest };
            if place == first || place == last {
                continue;
            }
            *side = side.max(other.radius);
        }
        Some(between.min(rest))
    }

    /// Where the material tapers off: stretches of a contour along which all discs are less than `width` mm wide, and which
    /// end where they begin. Every corner is one, if a short one.
    pub(crate) fn tips(&self, width: f64) -> Vec<Tip> {
        let mut tips = Vec::new();
        for discs in self.contours() {
            let is_thin = |disc: &Disc| 2.0 * disc.radius < width;
            let Some(widest) = discs.iter().enumerate().max_by(|a, b| a.1.radius.total_cmp(&b.1.radius)) else {
                continue;
            };
            // Once round from the widest, which comes last as well as first.
            let round: Vec<&Disc> = discs.iter().cycle().skip(widest.0).take(discs.len() + 1).collect();
            for run in round.chunk_by(|disc, next| is_thin(disc) == is_thin(next)) {
                let (Some(first), Some(last)) = (run.first().filter(|disc| is_thin(disc)), run.last()) else {
                    continue;
                };
                let (one, other) = (first.centre(), last.centre());
                if one.distance(other) > width {
                    continue;
                }
                let from = one.midpoint(other);
                let along = run.iter().map(|disc| disc.at);
                let tip = along.max_by(|a, b| a.distance_squared(from).total_cmp(&b.distance_squared(from)));
                tips.extend(tip.map(|tip| Tip { at: tip, length: tip.distance(from) }));
            }
        }
        tips
    }
}

/// The discs from which the material widens along its contour either way and those that begin a strip, the smallest first.
fn candidates(discs: &[Disc]) -> Vec<usize> {
    let before = discs.iter().cycle().skip(discs.len().saturating_sub(1));
    let after = discs.iter().cycle().skip(1);
    let with_neighbours = discs.iter().zip(before.zip(after)).enumerate();
    let found = with_neighbours.filter(|(_, (disc, (before, after)))| {
        let is_least = disc.radius < before.radius && disc.radius <= after.radius;
        is_least || disc.is_across() && !before.runs_on(disc)
    });
    let mut found: Vec<(usize, f64)> = found.map(|(at, (disc, _))| (at, disc.radius)).collect();
    found.sort_by(|a, b| a.1.total_cmp(&b.1));
    found.into_iter().map(|(at, _)| at).collect()
}

/// The disc in the middle of the strip that begins at one, if it is one: as long as it is wide, and as wide throughout.
fn strip(discs: &[Disc], first: usize) -> Option<&Disc> {
    let from = discs.get(first)?;
    let run = discs.iter().cycle().skip(first).take(discs.len()).take_while(|disc| disc.runs_on(from));
    let gone = |disc: &&Disc| disc.centre().distance(from.centre());
    let long = run.clone().last().map(|last| gone(&last)).filter(|long| *long >= 2.0 * from.radius)?;
    run.clone().find(|disc| gone(disc) >= long / 2.0)
}

/// What a web of one region is in another that is the same but for notches that are filled: the walls behind either end of it,
/// and their least distance.
pub(crate) fn web_in(region: &Region, drawn: (Point, Point)) -> Option<Nearest> {
    let fine = FlattenedShape::to_within(region, FINE_MM);
    let behind = |end: Point, from: Point| {
        let way = (end - from).normalize();
        let places = fine.segments().iter().map(|line| nearest_on(line, end));
        let places = places.filter(|place| (*place - end).dot(way) > -TOUCH_MM);
        places.min_by(|a, b| a.distance_squared(end).total_cmp(&b.distance_squared(end)))
    };
    let (from, to) = (behind(drawn.0, drawn.1)?, behind(drawn.1, drawn.0)?);
    Some(settled(&fine, Nearest { distance: from.distance(to), from, to }))
}

/// The least distance of two walls near a place on either, and where it is.
fn settled(fine: &FlattenedShape, mut found: Nearest) -> Nearest {
    const ROUNDS: usize = 8;
    for _ in 0..ROUNDS {
        let reach = found.distance / 4.0;
        let about = |place: Point| {
            let near = fine.near(place, reach).filter(|edge| nearest_on(edge, place).distance(place) < reach);
            FlattenedShape::of_segments(near.map(|edge| cut(edge, place, reach)).collect())
        };
        let (here, there) = (about(found.from), about(found.to));
        if here.is_empty() || there.is_empty() {
            break;
        }
        let nearer: Nearest = here.edge_gap(&there, f64::INFINITY).into();
        let is_settled = nearer.distance >= found.distance - 1e-9;
        found = nearer;
        if is_settled {
            break;
        }
    }
    found
}

/// A place to look from, square to the wall.
enum Place<'l> {
    /// The tip of a notch or the edge of a hole, and one of the ways that are square to it.
    Tip(Point, Vec2),
    Wall(&'l Line, Vec2),
}

/// Goes along the walls of one contour. Round the tip of a notch ways are no more than `fan` radians apart.
fn for_each_wall<'l>(lines: &'l [Line], fan: f64, mut visit: impl FnMut(Place<'l>)) {
    // The shape lies to the left of its boundary.
    let normal = |line: &Line| Vec2::new(line.p0.y - line.p1.y, line.p1.x - line.p0.x).normalize();
    let before = lines.iter().cycle().skip(lines.len().saturating_sub(1));
    for (last, line) in before.zip(lines) {
        let (from, to) = (normal(last), normal(line));
        let turn = from.cross(to).atan2(from.dot(to));
        if turn < 0.0 {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "no more than half a turn by steps"
            )]
            let steps = (-turn / fan).ceil() as u32;
            for step in 1..steps {
                let way = Vec2::from_angle(from.atan2() + turn * f64::from(step) / f64::from(steps));
                visit(Place::Tip(line.p0, way));
            }
        }
        visit(Place::Wall(line, to));
    }
}

/// Finds the discs along a contour.
struct Walk<'s> {
    shape: &'s FlattenedShape,
    /// No disc has a larger radius, and no piece of a wall shorter than this is halved, in mm.
    largest: f64,
    short: f64,
    contour: usize,
    discs: Vec<Disc>,
}

impl Walk<'_> {
    /// Looks along a wall at places no farther apart than half the radius of their discs.
    fn along(&mut self, from: Point, to: Point, normal: Vec2) {
        let (middle, length) = (from.midpoint(to), from.distance(to));
        let reach = 2.0 * length;
        if length > self.short && self.shape.within(reach * (1.0 - 1e-6), middle + normal * reach) {
            self.along(from, middle, normal);
            self.along(middle, to, normal);
        } else {
            self.touch(middle, normal);
        }
    }

    fn touch(&mut self, at: Point, normal: Vec2) {
        // The disc through the place that the one before touches is no smaller than that which is looked for, and mostly near it.
        let last = self.discs.last().filter(|disc| disc.contour == self.contour).map(|disc| disc.other);
        let guess = last.and_then(|other| Some((through(at, normal, other)?, other)));
        let guess = guess.filter(|guess| guess.0 < self.largest).unwrap_or((self.largest, at));
        let (radius, other) = largest_disc(self.shape, at, normal, guess);
        self.discs.push(Disc { at, normal, radius, other, contour: self.contour });
    }
}

/// The radius of the disc that touches a wall at one place and passes through another; none where the other is not before it.
fn through(at: Point, normal: Vec2, other: Point) -> Option<f64> {
    let way = other - at;
    let (ahead, apart) = (way.dot(normal), way.hypot2());
    (apart > 1e-18 && ahead > 1e-6 * apart.sqrt()).then(|| apart / (2.0 * ahead))
}

/// The largest disc that touches a wall at a place and holds no wall, and where else it touches one, no larger than a first one
/// and where that does.
fn largest_disc(shape: &FlattenedShape, at: Point, normal: Vec2, first: (f64, Point)) -> (f64, Point) {
    const ROUNDS: usize = 64;
    let (mut radius, mut other) = first;
    for _ in 0..ROUNDS {
        let Some((near, there)) = shape.distance_to(at + normal * radius) else { break };
        if near >= radius * (1.0 - 1e-7) {
            break;
        }
        let Some(smaller) = through(at, normal, there).filter(|smaller| *smaller < radius) else { break };
        (radius, other) = (smaller, there);
    }
    (radius, other)
}

/// Whether a region is at least so many mm wide between any two parts of one contour, corners aside. Far sooner told than its
/// skeleton. A region that only just is, or that has a corner sharper than 60 degrees, may be told not to be.
pub(crate) fn is_wide(region: &Region, width: f64) -> bool {
    recalled(MANY, || Wide(region.clone(), width), || is_wide_throughout(region, width))
}

/// A region that may be so many mm wide.
#[derive(PartialEq)]
struct Wide(Region, f64);

fn is_wide_throughout(region: &Region, width: f64) -> bool {
    let shape = FlattenedShape::to_within(region, ROUGH_MM);
    // Places lie no farther apart than half the width, so that a wall between two of them stands in the disc of one.
    let radius = 1.07 * width / 2.0 + 2.0 * ROUGH_MM;
    let is_free = |lines: &[Line], line: usize, at: Point, normal: Vec2| {
        let centre = at + normal * radius;
        if !shape.within(radius * (1.0 - 1e-6), centre) {
            return true;
        }
        let (_, other) = largest_disc(&shape, at, normal, (radius, at));
        is_corner(lines, line, at, other)
    };
    shape.contours().all(|lines| {
        let (mut all, mut at) = (true, 0);
        for_each_wall(lines, 2.0 * FAN, |place| {
            all = all
                && match place {
                    Place::Tip(tip, normal) => is_free(lines, at, tip, normal),
                    Place::Wall(line, normal) => {
                        let steps = (2.0 * line.p0.distance(line.p1) / width.max(ROUGH_MM)).ceil().max(1.0);
                        #[allow(
                            clippy::cast_possible_truncation,
                            clippy::cast_sign_loss,
                            reason = "a count, at least one"
                        )]
                        let mut steps = (0..steps as u64).map(|step| (step as f64 + 0.5) / steps);
                        steps.all(|along| is_free(lines, at, line.p0.lerp(line.p1, along), normal))
                    }
                };
            if matches!(place, Place::Wall(..)) {
                at += 1;
            }
        });
        all
    })
}

/// Whether two places of a contour, the first on this line of it, have so little wall between them that it is a corner.
fn is_corner(lines: &[Line], line: usize, at: Point, other: Point) -> bool {
    let most = CORNER * at.distance(other) * (1.0 + 1e-6);
    let lies_on = |line: &&Line| nearest_on(line, other).distance_squared(other) < 1e-12;
    let onward = lines.iter().cycle().skip(line).take(lines.len());
    let back = lines.iter().rev().cycle().skip(lines.len().saturating_sub(line + 1)).take(lines.len());
    let ends = |line: &Line, onward: bool| if onward { (line.p0, line.p1) } else { (line.p1, line.p0) };
    let meets = |walk: &mut dyn Iterator<Item = &Line>, forth: bool| {
        let mut gone = 0.0;
        let mut from = at;
        for line in walk {
            if lies_on(&line) {
                return gone + from.distance(other) <= most;
            }
            let (_, end) = ends(line, forth);
            gone += from.distance(end);
            from = end;
            if gone > most {
                return false;
            }
        }
        false
    };
    meets(&mut onward.into_iter(), true) || meets(&mut back.into_iter(), false)
}

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;
    use kurbo::Affine;

    fn disc(radius: f64, x: f64) -> Region {
        shapes::circle(radius).unwrap().transformed(Affine::translate((x, 0.0)))
    }

    /// By hand: two discs of 10 mm joined by 2 sqrt(100 - 81) = 8.72 mm; a disc; a square, whose corners are blunt enough; a
    /// triangle of 60 degrees, and one of 40.
    #[test]
    fn what_is_wide_is_told_without_a_skeleton() {
        let joined = disc(10.0, 0.0).union(&disc(10.0, 18.0));
        assert!(is_wide(&joined, 7.5) && !is_wide(&joined, 8.72));
        assert!(is_wide(&disc(10.0, 0.0), 18.0));
        let square = shapes::rectangle(20.0, 20.0, 0.0).unwrap();
        assert!(is_wide(&square, 5.0) && is_wide(&shapes::polygon(3, 20.0, 0.0).unwrap(), 5.0));
        assert!(!is_wide(&shapes::path("M0,0 L20,-7.28 L20,7.28 Z").unwrap(), 5.0));
        assert!(is_wide(&Region::empty(), 5.0));
    }

    /// The discs in a square stand along its diagonals: each is as far from the middle of its side as the side is from its
    /// centre, and none is larger than the largest.
    #[test]
    fn discs_touch_two_walls_at_least() {
        let square = shapes::rectangle(20.0, 20.0, 0.0).unwrap();
        let skeleton = Skeleton::of(&square);
        assert!(skeleton.discs.len() > 40);
        for found in &skeleton.discs {
            let centre = found.centre();
            assert!((centre.x.abs() - centre.y.abs()).abs() < 1e-6, "{found:?}");
            assert!((10.0 - centre.x.abs() - found.radius).abs() < 1e-6, "{found:?}");
            assert!((found.other.distance(centre) - found.radius).abs() < 1e-5, "{found:?}");
        }
    }

    /// A wedge of 10 degrees is 1 mm wide, as its discs are, 0.5 / sin(5 degrees) from its tip to their centre.
    #[test]
    fn a_wedge_is_a_tip() {
        let half = 30.0 * f64::to_radians(5.0).tan();
        let wedge = shapes::path(&format!("M0,0 L30,{} L30,{half} Z", -half)).unwrap();
        let tips = Skeleton::of(&wedge).tips(1.0);
        let long: Vec<&Tip> = tips.iter().filter(|tip| tip.length > 2.0).collect();
        let length = 0.5 / f64::to_radians(5.0).sin();
        assert!(long.len() == 1 && long[0].at.to_vec2().hypot() < 0.05, "{tips:?}");
        assert!(long[0].length < length + 0.01 && long[0].length > length - 0.5, "{tips:?} {length}");
        assert_eq!(Skeleton::of(&wedge).narrowest_neck(f64::INFINITY), None);
    }

    /// A web of 2 mm between two slots whose floors move 0.5 mm back on either side is one of 3 mm.
    #[test]
    fn a_web_is_found_again_where_its_walls_went() {
        let plate = |floor: f64| {
            let slot = shapes::rectangle(4.0, 20.0, 0.0).unwrap();
            let away = |y: f64| slot.transformed(Affine::translate((0.0, y)));
            let plate = shapes::rectangle(40.0, 20.0, 0.0).unwrap();
            plate.difference(&away(10.0 + floor)).difference(&away(-10.0 - floor))
        };
        let drawn = plate(1.0).narrowest_web().unwrap();
        assert!((drawn.distance - 2.0).abs() < 1e-6);
        let found = web_in(&plate(1.5), (drawn.from, drawn.to)).unwrap();
        assert!((found.distance - 3.0).abs() < 1e-6, "{found:?}");
    }
}
