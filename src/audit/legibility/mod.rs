//! Whether labels can be read: how large they are from where one looks, how they stand out from their ground, and
//! whether the ground stays even where it is engraved.

mod findings;
mod ground;
mod lettering;
mod scored;

use self::findings as say;
use self::ground::{Form, Seen};
use super::strength::NOMINAL_ENGRAVING;
use crate::design::{Design, Label, Layer, Mark, Reading, Ring, RingWork, Shape, Tone, Work};
use crate::diagnostics::Problems;
use crate::physics::contrast::{self, Contrast};
use crate::physics::legibility::{self as sight, ArcMinutes};
use crate::units::Length;

/// How well a ring reads.
#[derive(Clone, Debug, PartialEq)]
pub struct RingLegibility {
    /// The ring's name.
    pub ring: String,
    /// Height of its smallest label.
    pub height: Length,
    /// From how far it is read, where that is stated: the farthest.
    pub distance: Option<Length>,
    /// The angle that the smallest label fills from there.
    pub angle: Option<ArcMinutes>,
    /// From how far it still fills the least angle for a label.
    pub farthest: Option<Length>,
    /// Least contrast of a label with its ground; none on clear stock, where the ground is not the layer's own.
    pub contrast: Option<Contrast>,
}

/// The deepest engraving of a layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Engraved {
    /// The layer's name.
    pub layer: String,
    /// How deep; nominal where no depth is stated.
    pub depth: Length,
}

/// What was found about reading the dial.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Legibility {
    /// One for each ring, bottom layer first.
    pub rings: Vec<RingLegibility>,
    /// One for each layer with an engraving.
    pub engraved: Vec<Engraved>,
}

/// Looks at every ring and every engraving.
pub fn legibility(design: &Design) -> (Legibility, Problems) {
    let (mut found, mut problems, mut twice) = (Legibility::default(), Problems::default(), Problems::default());
    for (at, layer) in design.layers.iter().enumerate() {
        // What is wrong with one wheel is told once, however many like it there are.
        let problems = if design.alike(at).is_some() { &mut twice } else { &mut problems };
        let mut faint: Option<Tone> = None;
        for ring in &layer.rings {
            let reads = reading(design, ring);
            let through = ground::through(design, at, by(design, ring));
            let against = against(layer, ring, through);
            let seen = ring_legibility(ring, reads, against.map(|(against, _)| against));
            if let (Some(reads), Some(distance), Some(angle)) = (reads, seen.distance, seen.angle)
                && angle < sight::PREFERRED
            {
                problems.push(say::label_too_small(ring, reads, seen.height, distance, angle));
            }
            let wanted = least_contrast(ring);
            if let Some((against, label)) = against.filter(|(against, _)| !against.contrast.reaches(wanted)) {
                faint = Some(against.ground);
                problems.push(say::ring_too_faint(layer, (ring, label), &against, wanted, through != [255; 3]));
            }
            found.rings.push(seen);
        }
        marks_too_faint(layer, faint, problems);
        scored::check(layer, problems);
        found.engraved.extend(engraved(layer, problems));
    }
    lettering::check(design, &mut problems);
    (found, problems)
}

/// The reading of a ring from farthest away.
fn reading<'d>(design: &'d Design, ring: &Ring) -> Option<&'d Reading> {
    let of_ring = design.readings.iter().filter(|reading| reading.ring == ring.name && reading.distance.is_some());
    of_ring.reduce(|far, other| if other.distance > far.distance { other } else { far })
}

/// A reading of a ring, from however far.
fn by<'d>(design: &'d Design, ring: &Ring) -> Option<&'d Reading> {
    design.readings.iter().find(|reading| reading.ring == ring.name)
}

/// How the label of a ring is seen that stands out least.
fn against<'d>(layer: &Layer, ring: &'d Ring, through: Tone) -> Option<(Seen, &'d Label)> {
    let around = ground::around(layer, ring);
    let each = ring.labels.iter().filter_map(|label| {
        if ring.work == RingWork::Raised {
            return Some((ground::standing(layer, ring, (label, &around), through)?, label));
        }
        let mark = layer.inked(ring.tone, label.filled.as_ref());
        Some((ground::seen(layer, ring.face, (Form::Filled(&label.ink), mark), through)?, label))
    });
    each.reduce(|one, other| if other.0.contrast < one.0.contrast { other } else { one })
}

fn ring_legibility(ring: &Ring, reads: Option<&Reading>, against: Option<Seen>) -> RingLegibility {
    let height = ring.labels.iter().map(|label| label.height).reduce(|a, b| if a < b { a } else { b });
    let height = height.unwrap_or(ring.height);
    let distance = reads.and_then(|reading| reading.distance);
    RingLegibility {
        ring: ring.name.clone(),
        height,
        distance,
        angle: distance.and_then(|distance| sight::angle(height, distance)),
        farthest: sight::farthest(height, sight::LEAST),
        contrast: against.map(|against| against.contrast),
    }
}

/// What labels as high as these want.
fn least_contrast(ring: &Ring) -> f64 {
    let is_large = ring.height >= contrast::large(ring.capitals);
    if is_large { contrast::LEAST_FOR_LARGE } else { contrast::LEAST_FOR_TEXT }
}

/// Engravings of full tone that hardly show; fainter ones are meant to be faint. A ground on which the labels hardly show has been
/// spoken of, so marks on it would say the same.
fn marks_too_faint(layer: &Layer, told: Option<Tone>, problems: &mut Problems) {
    let full = layer.marks.iter().enumerate();
    let full = full.filter_map(|(at, mark)| Some((at, mark, colour_in_full(layer, mark)?)));
    let mut seen = full
        .filter_map(|(at, mark, colour)| {
            // A print lies on what is printed before it.
            let is_printed = matches!(mark.work, Work::Print { .. });
            let marks = if is_printed { layer.marks.get(..at).unwrap_or_default() } else { &layer.marks };
            if is_printed && is_covered(mark, layer.marks.get(at + 1..).unwrap_or_default()) {
                return None;
            }
            let form = ((&mark.shape).into(), colour);
            Some((mark, ground::seen_over(layer, (mark.face, marks), form, [255; 3])?))
        })
        .filter(|(_, seen)| !seen.contrast.reaches(contrast::LEAST_FOR_LARGE) && Some(seen.ground) != told);
    problems
        .extend(seen.next().map(|(mark, seen)| say::marks_too_faint(layer, mark, &seen, contrast::LEAST_FOR_LARGE)));
}

/// Whether a later coat begins to cover words, which is told of elsewhere.
fn is_covered(mark: &Mark, later: &[Mark]) -> bool {
    let first = mark.shape.path().elements().first().and_then(kurbo::PathEl::end_point);
    let over = later.iter().filter(|it| it.face == mark.face && it.origin != mark.origin && it.work.coat().is_some());
    let holds = |it: &Mark, at: kurbo::Point| matches!(&it.shape, Shape::Region(region) if region.contains(at));
    first.is_some_and(|at| over.into_iter().any(|it| holds(it, at)))
}

/// The colour of an engraving of full tone; none for any other, or where the ink that fills it has no stated colour.
fn colour_in_full(layer: &Layer, mark: &Mark) -> Option<Tone> {
    match &mark.work {
        Work::Engrave { ink: Some(ink), .. } => ink.colour,
        Work::Engrave { tone, .. } if *tone >= 1.0 => Some(layer.marked(1.0)),
        // Printed areas may be as faint as they like; words are there to be read.
        Work::Print { colour } if mark.lettering.is_some() => Some(*colour),
        _ => None,
    }
}

/// The deepest engraving of a layer; reports it where it goes through the face veneer.
fn engraved(layer: &Layer, problems: &mut Problems) -> Option<Engraved> {
    let marks = layer.marks.iter().filter_map(|mark| match mark.work {
        Work::Engrave { depth, .. } => Some((depth, mark.origin)),
        _ => None,
    });
    let rings = layer.rings.iter().filter(|ring| ring.work == RingWork::Engraved).map(|ring| (None, ring.origin));
    let depths =
        marks.chain(rings).map(|(depth, origin)| (depth.unwrap_or(NOMINAL_ENGRAVING), depth.is_some(), origin));
    let (depth, stated, origin) = depths.reduce(|deep, other| if other.0 > deep.0 { other } else { deep })?;
    if let Some(veneer) = layer.stock.face_veneer.filter(|veneer| depth > *veneer) {
        problems.push(say::engraving_past_veneer(layer, depth, stated, veneer, origin));
    }
    Some(Engraved { layer: layer.name.clone(), depth })
}
