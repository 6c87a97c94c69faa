//! Whether labels can be read: how large they are from where one looks, how they stand out from their ground, and
//! whether the ground stays even where it is engraved.

mod findings;

use kurbo::Point;

use self::findings as say;
use super::strength::NOMINAL_ENGRAVING;
use crate::design::{Design, Face, Layer, Mark, Reading, Ring, Shape, Tone, Work};
use crate::diagnostics::Problems;
use crate::geometry::polar;
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
    let (mut found, mut problems) = (Legibility::default(), Problems::default());
    for layer in &design.layers {
        let mut faint = false;
        for ring in &layer.rings {
            let reads = reading(design, ring);
            let seen = ring_legibility(layer, ring, reads);
            if let (Some(reads), Some(distance), Some(angle)) = (reads, seen.distance, seen.angle)
                && angle < sight::PREFERRED
            {
                problems.push(say::label_too_small(ring, reads, seen.height, distance, angle));
            }
            let wanted = least_contrast(ring);
            if let Some(contrast) = seen.contrast.filter(|contrast| !contrast.reaches(wanted)) {
                faint = true;
                let ground =
                    ring.labels.first().map_or(layer.surface(), |label| ground(layer, ring.face, centre(ring, label)));
                problems.push(say::ring_too_faint(
                    layer,
                    ring,
                    contrast,
                    wanted,
                    layer.inked(ring.tone, ring.ink.as_ref()),
                    ground,
                ));
            }
            found.rings.push(seen);
        }
        // A stock on which the labels hardly show has been spoken of; its marks would say the same.
        if !faint {
            marks_too_faint(layer, &mut problems);
        }
        found.engraved.extend(engraved(layer, &mut problems));
    }
    (found, problems)
}

/// The reading of a ring from farthest away.
fn reading<'d>(design: &'d Design, ring: &Ring) -> Option<&'d Reading> {
    let of_ring = design.readings.iter().filter(|reading| reading.ring == ring.name && reading.distance.is_some());
    of_ring.reduce(|far, other| if other.distance > far.distance { other } else { far })
}

fn ring_legibility(layer: &Layer, ring: &Ring, reads: Option<&Reading>) -> RingLegibility {
    let height = ring.labels.iter().map(|label| label.height).reduce(|a, b| if a < b { a } else { b });
    let height = height.unwrap_or(ring.height);
    let distance = reads.and_then(|reading| reading.distance);
    let mark = layer.inked(ring.tone, ring.ink.as_ref());
    let contrasts =
        ring.labels.iter().map(|label| Contrast::between(mark, ground(layer, ring.face, centre(ring, label))));
    let contrast = contrasts.reduce(|a, b| if a < b { a } else { b }).filter(|_| !layer.stock.clear);
    RingLegibility {
        ring: ring.name.clone(),
        height,
        distance,
        angle: distance.and_then(|distance| sight::angle(height, distance)),
        farthest: sight::farthest(height, sight::LEAST),
        contrast,
    }
}

fn centre(ring: &Ring, label: &crate::design::Label) -> Point {
    polar(ring.radius.as_mm(), label.bearing)
}

/// What a label at this point stands on: the paint over it, else the finished face.
fn ground(layer: &Layer, face: Face, at: Point) -> Tone {
    let on = |mark: &&Mark| mark.face == face && matches!(&mark.shape, Shape::Region(region) if region.contains(at));
    let over: Vec<&Work> = layer.marks.iter().filter(on).map(|mark| &mark.work).collect();
    // The last paint in the text lies on top.
    let paint = over.iter().rev().find_map(|work| match work {
        Work::Paint { colour } => Some(*colour),
        _ => None,
    });
    paint.filter(|_| !over.contains(&&Work::Bare)).unwrap_or_else(|| layer.surface())
}

/// What labels as high as these want.
fn least_contrast(ring: &Ring) -> f64 {
    let is_large = ring.height >= contrast::large(ring.capitals);
    if is_large { contrast::LEAST_FOR_LARGE } else { contrast::LEAST_FOR_TEXT }
}

/// Engravings of full tone that hardly show; fainter ones are meant to be faint.
fn marks_too_faint(layer: &Layer, problems: &mut Problems) {
    if layer.stock.clear {
        return;
    }
    let seen = layer.marks.iter().filter_map(|mark| Some((mark, colour_in_full(layer, mark)?)));
    let seen = seen.map(|(mark, colour)| (mark, colour, Contrast::between(colour, layer.surface())));
    if let Some((mark, colour, contrast)) =
        seen.into_iter().find(|(.., contrast)| !contrast.reaches(contrast::LEAST_FOR_LARGE))
    {
        problems.push(say::marks_too_faint(layer, (mark, colour), contrast, contrast::LEAST_FOR_LARGE));
    }
}

/// The colour of an engraving of full tone; none for any other, or where the ink that fills it has no stated colour.
fn colour_in_full(layer: &Layer, mark: &Mark) -> Option<Tone> {
    match &mark.work {
        Work::Engrave { ink: Some(ink), .. } => ink.colour,
        Work::Engrave { tone, .. } if *tone >= 1.0 => Some(layer.marked(1.0)),
        _ => None,
    }
}

/// The deepest engraving of a layer; reports it where it goes through the face veneer.
fn engraved(layer: &Layer, problems: &mut Problems) -> Option<Engraved> {
    let marks = layer.marks.iter().filter_map(|mark| match mark.work {
        Work::Engrave { depth, .. } => Some((depth, mark.origin)),
        _ => None,
    });
    let rings = layer.rings.iter().map(|ring| (None, ring.origin));
    let depths =
        marks.chain(rings).map(|(depth, origin)| (depth.unwrap_or(NOMINAL_ENGRAVING), depth.is_some(), origin));
    let (depth, stated, origin) = depths.reduce(|deep, other| if other.0 > deep.0 { other } else { deep })?;
    if let Some(veneer) = layer.stock.face_veneer.filter(|veneer| depth > *veneer) {
        problems.push(say::engraving_past_veneer(layer, depth, stated, veneer, origin));
    }
    Some(Engraved { layer: layer.name.clone(), depth })
}
