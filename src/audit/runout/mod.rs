//! Whether outlines turn true: their own centres on the axis, and like outlines flush at every stop.

mod findings;

use kurbo::{Affine, CubicBez, Point};

use self::findings as say;
use super::fit::in_words;
use crate::design::Design;
use crate::design::pose::{Pose, combinations};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, turn};
use crate::units::{Angle, Length};

/// Outlines that differ by less than this are the same, in mm (common practice, no source).
const SAME_MM: f64 = 0.05;
/// Curves that lie this near after a turn are where they are to be, in mm: far less than [`SAME_MM`], however often they turn.
const EXACT_MM: f64 = 1e-5;
/// Of places and stops whose distances differ by less, the first is told, in mm.
const HAIR_MM: f64 = 1e-7;
/// Highest order of symmetry looked for; anything that repeats oftener counts as round.
const HIGHEST_ORDER: u32 = 60;

/// How true a design turns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Runout {
    /// One for each layer, bottom first.
    pub layers: Vec<Centring>,
    /// Every pair of layers with outlines of the same shape, at its worst stop.
    pub overhangs: Vec<Overhang>,
}

impl Runout {
    /// The largest overhang; zero where no two outlines claim the same shape.
    pub fn overhang(&self) -> Length {
        Length::mm(self.overhangs.iter().map(|pair| pair.overhang.as_mm()).fold(0.0, f64::max))
    }
}

/// Where a layer's outline has its middle.
#[derive(Clone, Debug, PartialEq)]
pub struct Centring {
    /// The layer's name.
    pub layer: String,
    /// Middle of the outline's area; the centre of symmetry too, where there is one.
    pub centroid: Point,
    /// How the outline repeats about its middle.
    pub symmetry: Symmetry,
}

/// How an outline repeats about its own middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symmetry {
    /// It does not.
    None,
    /// This many times in a full turn.
    Times(u32),
    /// At any angle.
    Round,
}

/// Two layers of one shape, at the stop where they stand farthest beyond each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Overhang {
    /// The lower layer's place in the stack.
    pub lower: usize,
    /// The upper layer's.
    pub upper: usize,
    /// Which stop of each turn, counted from 0.
    pub stops: Vec<usize>,
    /// How far one stands beyond the other.
    pub overhang: Length,
    /// Where, on the lower layer.
    pub at: Point,
}

/// Looks at every outline and every pair of like ones.
pub fn runout(design: &Design) -> (Runout, Problems) {
    let mut problems = Problems::default();
    let outlines: Vec<FlattenedShape> = design.layers.iter().map(|layer| FlattenedShape::of(&layer.outline)).collect();
    let mut layers: Vec<Centring> = Vec::new();
    for (layer, outline) in design.layers.iter().zip(&outlines) {
        let mut before = design.layers.iter().zip(&layers);
        let same = before.find(|(other, _)| other.outline == layer.outline).map(|(_, it)| (it.centroid, it.symmetry));
        let (centroid, symmetry) = same.unwrap_or_else(|| {
            let centroid = layer.outline.centroid().unwrap_or_default();
            (centroid, symmetry(&layer.outline, outline, centroid))
        });
        layers.push(Centring { layer: layer.name.clone(), centroid, symmetry });
    }
    // In a stack with wheels nothing else turns.
    let turns = |at: usize| !design.has_wheels() || design.is_wheel(at);
    for (_, (layer, centring)) in design.layers.iter().zip(&layers).enumerate().filter(|(at, _)| turns(*at)) {
        let order = match centring.symmetry {
            Symmetry::None => continue,
            Symmetry::Times(order) => Some(order),
            Symmetry::Round => None,
        };
        if centring.centroid.to_vec2().hypot() > SAME_MM {
            problems.push(say::off_axis(layer, order, centring.centroid));
        }
    }
    let overhangs: Vec<Overhang> =
        flat_turns(design).flat_map(|below| pairs(design, &outlines, &layers, below)).collect();
    for pair in overhangs.iter().filter(|pair| pair.overhang.as_mm() > 2.0 * SAME_MM) {
        report(design, &layers, pair, &mut problems);
    }
    (Runout { layers, overhangs }, problems)
}

/// The turns of halves that lie on each other, each by the layer below it.
fn flat_turns(design: &Design) -> impl Iterator<Item = usize> {
    design.turns().map(|(below, _)| below).filter(|below| !design.is_wheel(below + 1))
}

fn report(design: &Design, layers: &[Centring], pair: &Overhang, problems: &mut Problems) {
    let bearings = design.turns().zip(&pair.stops).filter_map(|((_, turn), stop)| turn.stops.get(*stop).copied());
    let stop = in_words(&pair.stops, &bearings.collect::<Vec<_>>());
    let order = match layers.get(pair.upper).map(|layer| layer.symmetry) {
        Some(Symmetry::Times(order)) => order,
        _ => return,
    };
    if let (Some(lower), Some(upper)) = (design.layers.get(pair.lower), design.layers.get(pair.upper)) {
        problems.push(say::not_flush(lower, upper, &stop, pair.overhang, pair.at, order));
    }
}

/// The layers right below and right above a turn, where their outlines claim the same shape.
fn pairs(design: &Design, outlines: &[FlattenedShape], layers: &[Centring], below: usize) -> Option<Overhang> {
    let (lower, upper) = (outlines.get(below)?, outlines.get(below + 1)?);
    let (one, other) = (layers.get(below)?, layers.get(below + 1)?);
    let repeats = matches!(one.symmetry, Symmetry::Times(_)) && one.symmetry == other.symmetry;
    let centred = Affine::translate(one.centroid - other.centroid);
    let alike = repeats && beyond(lower, upper, centred).is_none_or(|(mm, _)| mm < SAME_MM);
    if !alike {
        return None;
    }
    let turns: Vec<usize> = (0..design.turns().count()).collect();
    let this: Vec<usize> =
        turns.iter().copied().filter(|at| design.turns().nth(*at).is_some_and(|(b, _)| b == below)).collect();
    let stops = combinations(design, &this).into_iter().map(|stop| {
        let all: Vec<usize> =
            turns.iter().map(|at| if this.contains(at) { stop.first().copied().unwrap_or(0) } else { 0 }).collect();
        let pose = Pose::at(design, &all);
        let (mm, at) = beyond(lower, upper, pose.map(below + 1, below)).unwrap_or((0.0, Point::ZERO));
        Overhang { lower: below, upper: below + 1, stops: all, overhang: Length::mm(mm), at }
    });
    stops.reduce(|worst, next| if next.overhang.as_mm() > worst.overhang.as_mm() + HAIR_MM { next } else { worst })
}

/// How far either outline stands beyond the other, laid over it by a rigid map, and where on the first; none where neither
/// does.
fn beyond(one: &FlattenedShape, other: &FlattenedShape, laid: Affine) -> Option<(f64, Point)> {
    let mut farthest: Option<(f64, Point)> = None;
    for (inner, outer, into, back) in [(one, other, laid.inverse(), Affine::IDENTITY), (other, one, laid, laid)] {
        for corner in inner.vertices() {
            let place = into * corner;
            // Most places lie no farther than the farthest yet, and that is told sooner than how far.
            let is_no_farther = farthest.is_some_and(|(mm, _)| outer.within(mm + HAIR_MM, place));
            if !is_no_farther && !outer.contains(place) {
                farthest = outer.distance_to(place).map(|(mm, _)| (mm, back * corner)).or(farthest);
            }
        }
    }
    farthest
}

/// How an outline repeats about a point.
fn symmetry(region: &Region, outline: &FlattenedShape, centre: Point) -> Symmetry {
    let corners = || outline.vertices().map(|corner| corner - centre);
    let Some((nearest, _)) = outline.distance_to(centre) else { return Symmetry::None };
    if outline.reach(centre) - nearest < SAME_MM {
        return Symmetry::Round;
    }
    // Turned either way, for a shape may stand beyond its image where the image does not stand beyond the shape.
    let strays = |place: Point| !outline.within(SAME_MM, place) && !outline.contains(place);
    // By every part of a full turn: one step of a false order may be so near to one of the true order that it does not stray.
    let repeats = |order: u32| {
        let turns = (1..=order / 2).map(|step| Angle::degrees(360.0 * f64::from(step) / f64::from(order)));
        let mut both = turns.flat_map(|by| [turn(by), turn(-by)]);
        both.all(|turned| !corners().any(|corner| strays(centre + (turned * corner.to_point()).to_vec2())))
    };
    let curves: Vec<CubicBez> = region.path().segments().map(|curve| curve.to_cubic()).collect();
    let holds = |order: &u32| turns_onto_itself(&curves, centre, *order) || repeats(*order);
    (2..=HIGHEST_ORDER).rev().find(holds).map_or(Symmetry::None, Symmetry::Times)
}

/// Whether a part of a full turn takes each curve of an outline to another one, as many on each: then so does every other part.
fn turns_onto_itself(curves: &[CubicBez], centre: Point, order: u32) -> bool {
    let order = order as usize;
    if curves.is_empty() || !curves.len().is_multiple_of(order) {
        return false;
    }
    #[allow(clippy::cast_precision_loss, reason = "at most 60")]
    let turned = Affine::rotate_about(std::f64::consts::TAU / order as f64, centre);
    let next = curves.iter().cycle().skip(curves.len() / order);
    let near = |one: Point, other: Point| (turned * one).distance_squared(other) < EXACT_MM * EXACT_MM;
    let same = |(one, other): (&CubicBez, &CubicBez)| {
        near(one.p0, other.p0) && near(one.p1, other.p1) && near(one.p2, other.p2) && near(one.p3, other.p3)
    };
    curves.iter().zip(next).all(same)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn outline(path: &str) -> FlattenedShape {
        FlattenedShape::of(&shapes::path(path).unwrap())
    }

    /// Of a square of 10 and a plate beside it the corner at (9, 6) stands farthest out, (4, 1) from the square's; the plate's
    /// notch, 5 mm inside the square, does not stand out at all. Laid a millimetre to the left it is (3, 1), where the plate's
    /// own frame has the square a millimetre to the right.
    #[test]
    fn the_corner_that_stands_farthest_out_is_told() {
        let square = outline("M-5,-5 L5,-5 L5,5 L-5,5 Z");
        let plate = outline("M-3,-6 L9,-6 L9,6 L-3,6 L0,0 Z");
        let near = |found: Option<(f64, Point)>, mm: f64, at: [(f64, f64); 2]| {
            let (far, place) = found.unwrap();
            assert!(
                (far - mm).abs() < 1e-9 && at.iter().any(|at| place.distance(Point::from(*at)) < 1e-9),
                "{far} {place}"
            );
        };
        near(beyond(&square, &plate, Affine::IDENTITY), 17.0_f64.sqrt(), [(9.0, -6.0), (9.0, 6.0)]);
        near(beyond(&plate, &square, Affine::IDENTITY), 17.0_f64.sqrt(), [(9.0, -6.0), (9.0, 6.0)]);
        let left = Affine::translate((-1.0, 0.0));
        near(beyond(&square, &plate, left), 10.0_f64.sqrt(), [(8.0, -6.0), (8.0, 6.0)]);
        near(beyond(&plate, &square, left.inverse()), 10.0_f64.sqrt(), [(9.0, -6.0), (9.0, 6.0)]);
        assert!(beyond(&square, &square, Affine::IDENTITY).is_none_or(|(mm, _)| mm == 0.0));
        let small = outline("M-1,-1 L1,-1 L1,1 L-1,1 Z");
        near(beyond(&small, &square, Affine::IDENTITY), 32.0_f64.sqrt(), [(-5.0, -5.0), (-5.0, 5.0)]);
    }
}
