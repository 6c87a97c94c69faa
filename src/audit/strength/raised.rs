//! Labels that are left standing: whether all around them is burnt and nothing of them, and whether their strokes hold.

use super::feature::{Side, is_wider, thinnest};
use super::findings as say;
use super::{NOMINAL_ENGRAVING, Parts, is_less};
use crate::design::{Depth, Label, Layer, Mark, Ring, RingWork, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, TOUCH_MM};
use crate::units::Length;

/// How far around a label its ground counts, in mm: about a stroke (common practice, no source).
const AROUND_MM: f64 = 0.3;
/// What comes nearer to a label than this in mm is meant to go round it.
const BESIDE_MM: f64 = 0.05;
/// A share of a label, or of what is around it, that may be so by the rounding of its edges.
const ROUNDING: f64 = 2e-3;
/// From this share of a label on it cannot be read (common practice, no source).
const LOST: f64 = 0.1;
/// The same for what stands around it.
const CLOSED: f64 = 0.4;

/// Where the labels of a ring and their ground are at odds.
pub(crate) struct Odd<'a> {
    pub(crate) ring: &'a Ring,
    /// The worst of them, and which share of it or of what is around it is at fault.
    pub(crate) label: &'a Label,
    pub(crate) share: f64,
    /// Whether it can be read nevertheless.
    pub(crate) reads: bool,
    /// How many labels are so.
    pub(crate) count: usize,
}

/// Looks at every ring that is left standing.
pub(super) fn check(parts: &Parts, problems: &mut Problems) {
    for ring in parts.layer.rings.iter().filter(|ring| ring.work == RingWork::Raised) {
        let off = taken_off(parts.layer, ring);
        let burnt = Region::union_of(off.iter().copied().filter(|region| reaches(ring, region)));
        let is_nothing = off.iter().all(|region| region.is_empty());
        if at_odds(parts.layer, ring, (&burnt, is_nothing), problems) {
            too_thin(parts.layer, ring, problems);
        }
    }
}

/// Reports labels of which something is burnt away, and labels that are not freed; gives whether they stand at least.
fn at_odds(layer: &Layer, ring: &Ring, (burnt, is_nothing): (&Region, bool), problems: &mut Problems) -> bool {
    let labels = Region::union_of(ring.labels.iter().map(|label| &label.ink));
    let free = burnt.union(&labels);
    // No label has lost more than all of them together.
    let all_lost = burnt.area() + labels.area() - free.area();
    let least = ring.labels.iter().map(|label| label.ink.area()).fold(f64::INFINITY, f64::min);
    let lost = |label: &Label| label.ink.intersection(burnt).area() / label.ink.area().max(f64::MIN_POSITIVE);
    let burnt_away = if all_lost < ROUNDING / 2.0 * least { None } else { worst(ring, LOST, lost) };
    if let Some(odd) = burnt_away {
        let by = around(layer, ring).into_iter().find(|mark| overlaps(mark, odd.label));
        problems.push(say::raised_burnt_away(layer, &odd, by));
        return false;
    }
    let flat = FlattenedShape::of(&free);
    let closed = |label: &Label| {
        if FlattenedShape::of(&label.ink).lies_clear_in(&flat, AROUND_MM + TOUCH_MM) {
            return 0.0;
        }
        let about = label.ink.offset(AROUND_MM).difference(&labels);
        about.difference(&free).area() / about.area().max(f64::MIN_POSITIVE)
    };
    if let Some(odd) = worst(ring, CLOSED, closed) {
        problems.push(say::raised_not_freed(layer, &odd, is_nothing));
    }
    true
}

fn worst(ring: &Ring, limit: f64, share: impl Fn(&Label) -> f64) -> Option<Odd<'_>> {
    // To a millionth, so that labels of which all is lost are alike.
    let odd: Vec<(&Label, f64)> = ring.labels.iter().map(|label| (label, (share(label) * 1e6).round() / 1e6)).collect();
    let odd: Vec<_> = odd.into_iter().filter(|(_, share)| *share > ROUNDING).collect();
    let (label, share) = odd.iter().copied().reduce(|one, other| if other.1 > one.1 { other } else { one })?;
    Some(Odd { ring, label, share, reads: share < limit, count: odd.len() })
}

/// A stroke that is thinner than it stands high snaps off, and none is finer than the stock burns (common practice, no source).
fn too_thin(layer: &Layer, ring: &Ring, problems: &mut Problems) {
    let depths = around(layer, ring).into_iter().map(|mark| match &mark.work {
        Work::Engrave { depth, .. } => depth.unwrap_or(NOMINAL_ENGRAVING),
        Work::Pocket { depth: Depth::Down(depth) } => depth.made(),
        _ => Length::ZERO,
    });
    let high = depths.fold(Length::ZERO, |a, b| if b > a { b } else { a });
    let least = if high > layer.stock.least_feature { high } else { layer.stock.least_feature };
    let fine = ring.labels.iter().filter(|label| !is_wider(&label.ink, Side::Within, least.as_mm()));
    let thin = fine.filter_map(|label| {
        let (mm, at) = thinnest(&FlattenedShape::of(&label.ink), Side::Within, least.as_mm())?;
        is_less(Length::mm(mm), least).then_some((label, mm, at.0))
    });
    if let Some((label, mm, at)) = thin.reduce(|one, other| if other.1 < one.1 { other } else { one }) {
        problems.push(say::raised_too_thin(layer, (ring, label), (Length::mm(mm), at), (least, high)));
    }
}

/// All that is taken off a ring's face: what is burnt, sunk and cut.
fn taken_off<'l>(layer: &'l Layer, ring: &Ring) -> Vec<&'l Region> {
    let marks = layer.marks.iter().filter(|mark| mark.face == ring.face && takes_off(&mark.work)).filter_map(region_of);
    let openings = layer.openings().map(|(_, region)| region);
    let others = layer.rings.iter().filter(|other| other.face == ring.face && other.work.is_burnt());
    let labels = others.flat_map(|other| &other.labels).map(|label| &label.ink);
    marks.chain(openings).chain(labels).collect()
}

/// Whether a region may come under or right around a label of a ring.
fn reaches(ring: &Ring, region: &Region) -> bool {
    let around = |label: &Label| Some(label.ink.bounds()?.inflate(2.0 * AROUND_MM, 2.0 * AROUND_MM));
    region.bounds().is_some_and(|bounds| ring.labels.iter().filter_map(around).any(|around| around.overlaps(bounds)))
}

/// The marks that go round the labels of a ring which is left standing: its ground.
pub(crate) fn around<'l>(layer: &'l Layer, ring: &Ring) -> Vec<&'l Mark> {
    if ring.work != RingWork::Raised {
        return Vec::new();
    }
    let labels: Vec<FlattenedShape> = ring.labels.iter().map(|label| FlattenedShape::of(&label.ink)).collect();
    let marks = layer.marks.iter().filter(|mark| mark.face == ring.face && takes_off(&mark.work));
    let beside = |mark: &&Mark| {
        let Some(region) = region_of(mark) else { return false };
        let flat = FlattenedShape::of(region);
        labels.iter().any(|label| label.closer_than(&flat, BESIDE_MM))
    };
    marks.filter(beside).collect()
}

/// What goes round labels of the face of a burn, with these labels filled in: their strokes are no gaps of it.
pub(super) fn filled(parts: &Parts, burn: &super::Burn) -> Option<Region> {
    let rings = parts.layer.rings.iter().filter(|ring| ring.work == RingWork::Raised && ring.face == burn.face);
    let labels: Vec<&Region> = rings.flat_map(|ring| &ring.labels).map(|label| &label.ink).collect();
    let region = burn.region.filter(|_| burn.ring.is_none() && !labels.is_empty())?;
    Some(Region::union_of(labels.into_iter().chain([region])))
}

fn overlaps(mark: &Mark, label: &Label) -> bool {
    region_of(mark).is_some_and(|region| region.intersection(&label.ink).area() > ROUNDING * label.ink.area())
}

fn takes_off(work: &Work) -> bool {
    matches!(work, Work::Engrave { .. } | Work::Pocket { depth: Depth::Down(_) })
}

fn region_of(mark: &Mark) -> Option<&Region> {
    match &mark.shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    }
}
