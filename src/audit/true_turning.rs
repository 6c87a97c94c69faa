//! Whether outlines turn true: their own centres on the axis, and like outlines flush at every stop.

use kurbo::{Affine, Point};

use super::fit::in_words;
use super::flat::Flat;
use super::pose::{Pose, combinations};
use crate::design::Design;
use crate::diagnostics::Problems;
use crate::diagnostics::findings::turning as say;
use crate::geometry::turn;
use crate::units::{Angle, Length};

/// Outlines that differ by less than this are the same, in mm (common practice, no source).
const SAME_MM: f64 = 0.05;
/// Highest order of symmetry looked for; anything that repeats oftener counts as round.
const HIGHEST_ORDER: u32 = 60;

/// How true a design turns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TrueTurning {
    /// One for each layer, bottom first.
    pub layers: Vec<Centring>,
    /// Every pair of layers with outlines of the same shape, at its worst stop.
    pub overhangs: Vec<Overhang>,
}

impl TrueTurning {
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
pub fn true_turning(design: &Design) -> (TrueTurning, Problems) {
    let mut problems = Problems::default();
    let flats: Vec<Flat> = design.layers.iter().map(|layer| Flat::of(&layer.outline)).collect();
    let mut layers: Vec<Centring> = Vec::new();
    for (layer, flat) in design.layers.iter().zip(&flats) {
        let mut before = design.layers.iter().zip(&layers);
        let same = before.find(|(other, _)| other.outline == layer.outline).map(|(_, it)| (it.centroid, it.symmetry));
        let (centroid, symmetry) = same.unwrap_or_else(|| {
            let centroid = layer.outline.centroid().unwrap_or_default();
            (centroid, symmetry(flat, centroid))
        });
        layers.push(Centring { layer: layer.name.clone(), centroid, symmetry });
    }
    for (layer, centring) in design.layers.iter().zip(&layers) {
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
        design.turns().flat_map(|(below, _)| pairs(design, &flats, &layers, below)).collect();
    for pair in overhangs.iter().filter(|pair| pair.overhang.as_mm() > 2.0 * SAME_MM) {
        report(design, &layers, pair, &mut problems);
    }
    (TrueTurning { layers, overhangs }, problems)
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
fn pairs(design: &Design, flats: &[Flat], layers: &[Centring], below: usize) -> Option<Overhang> {
    let (lower, upper) = (flats.get(below)?, flats.get(below + 1)?);
    let (one, other) = (layers.get(below)?, layers.get(below + 1)?);
    let repeats = matches!(one.symmetry, Symmetry::Times(_)) && one.symmetry == other.symmetry;
    let centred = |flat: &Flat, centre: Point| flat.moved(Affine::translate(-centre.to_vec2()));
    let alike = repeats
        && beyond(&centred(lower, one.centroid), &centred(upper, other.centroid)).is_none_or(|(mm, _)| mm < SAME_MM);
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
        let (mm, at) = beyond(lower, &upper.moved(pose.map(below + 1, below))).unwrap_or((0.0, Point::ZERO));
        Overhang { lower: below, upper: below + 1, stops: all, overhang: Length::mm(mm), at }
    });
    stops.max_by(|a, b| a.overhang.as_mm().total_cmp(&b.overhang.as_mm()))
}

/// How far either shape stands beyond the other, and where; none where neither does.
fn beyond(a: &Flat, b: &Flat) -> Option<(f64, Point)> {
    let out = |inner: &Flat, outer: &Flat| {
        let outside = inner.vertices().filter(|point| !outer.contains(*point));
        outside
            .filter_map(|point| outer.distance_to(point).map(|(mm, _)| (mm, point)))
            .max_by(|a, b| a.0.total_cmp(&b.0))
    };
    [out(a, b), out(b, a)].into_iter().flatten().max_by(|a, b| a.0.total_cmp(&b.0))
}

/// How a shape repeats about a point.
fn symmetry(flat: &Flat, centre: Point) -> Symmetry {
    let about = flat.moved(Affine::translate(-centre.to_vec2()));
    let (nearest, farthest) = about.annulus().map_or((0.0, 0.0), |_| {
        let nearest = about.distance_to(Point::ZERO).map_or(0.0, |(mm, _)| mm);
        (nearest, about.reach(Point::ZERO))
    });
    if farthest - nearest < SAME_MM {
        return Symmetry::Round;
    }
    // Turned either way, for a shape may stand beyond its image where the image does not stand beyond the shape.
    let strays = |point: Point| !about.comes_within(point, SAME_MM) && !about.contains(point);
    // By every part of a full turn: one step of a false order may be so near to one of the true order that it does not stray.
    let repeats = |order: u32| {
        let turns = (1..=order / 2).map(|step| Angle::degrees(360.0 * f64::from(step) / f64::from(order)));
        let mut both = turns.flat_map(|by| [turn(by), turn(-by)]);
        both.all(|turned| !about.vertices().any(|point| strays(turned * point)))
    };
    (2..=HIGHEST_ORDER).rev().find(|order| repeats(*order)).map_or(Symmetry::None, Symmetry::Times)
}
