//! What a mark is seen against: paint, stain or bare stock, under it and right around it, through the clear layers over it.

use crate::audit::strength::around_raised;
use crate::design::pose::Pose;
use crate::design::{Design, Face, Label, Layer, Mark, Reading, Ring, Shape, Tone, Work};
use crate::geometry::{FlattenedShape, Region, TOUCH_MM, Trace, shapes};
use crate::physics::contrast::Contrast;

/// How far around a mark its ground counts, in mm: about a stroke (common practice, no source).
const AROUND_MM: f64 = 0.3;
/// From how far off a paint is not looked at, in mm: the same, and what two flattened copies may be off by.
const CLEAR_MM: f64 = AROUND_MM + TOUCH_MM;
/// A ground counts where it is at least this share of what lies under and around a mark (common practice, no source).
const SHARE: f64 = 0.05;

/// What a mark covers.
#[derive(Clone, Copy)]
pub(super) enum Form<'a> {
    Filled(&'a Region),
    Line(&'a Trace),
}

impl Form<'_> {
    fn flattened(self) -> FlattenedShape {
        match self {
            Self::Filled(region) => FlattenedShape::of(region),
            Self::Line(trace) => FlattenedShape::of_trace(trace),
        }
    }
}

impl<'a> From<&'a Shape> for Form<'a> {
    fn from(shape: &'a Shape) -> Self {
        match shape {
            Shape::Region(region) => Self::Filled(region),
            Shape::Trace(trace) => Self::Line(trace),
        }
    }
}

/// A mark's colour, the ground that it stands out from least, and by how much.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Seen {
    pub(super) mark: Tone,
    pub(super) ground: Tone,
    pub(super) contrast: Contrast,
}

/// How a mark of this colour is seen on a face; none on clear stock without paint, where the ground is not the layer's own.
pub(super) fn seen(layer: &Layer, face: Face, form: (Form, Tone), through: Tone) -> Option<Seen> {
    seen_over(layer, (face, &layer.marks), form, through)
}

/// The same of what lies over these marks of its layer alone.
pub(super) fn seen_over(
    layer: &Layer,
    (face, marks): (Face, &[Mark]),
    (shape, mark): (Form, Tone),
    through: Tone,
) -> Option<Seen> {
    let mark = tinted(mark, through);
    let grounds = grounds(layer, (face, marks), shape).into_iter().map(|ground| tinted(ground, through));
    let all = grounds.map(|ground| Seen { mark, ground, contrast: Contrast::between(mark, ground) });
    all.reduce(|one, other| if other.contrast < one.contrast { other } else { one })
}

/// The tones of what is burnt around labels that are left standing.
pub(super) fn around(layer: &Layer, ring: &Ring) -> Vec<Tone> {
    let tone = |mark: &Mark| match &mark.work {
        Work::Engrave { tone, ink, .. } => layer.inked(*tone, ink.as_ref()),
        _ => layer.marked(1.0),
    };
    around_raised(layer, ring).into_iter().map(tone).collect()
}

/// How a label that is left standing is seen on what is burnt around it, which has these tones; none on clear stock, or where nothing is.
pub(super) fn standing(layer: &Layer, ring: &Ring, (label, around): (&Label, &[Tone]), through: Tone) -> Option<Seen> {
    let faces = grounds(layer, (ring.face, &layer.marks), Form::Filled(&label.ink));
    let pairs = faces.into_iter().flat_map(|face| around.iter().map(move |ground| (face, *ground)));
    let all = pairs.map(|(mark, ground)| {
        let (mark, ground) = (tinted(mark, through), tinted(ground, through));
        Seen { mark, ground, contrast: Contrast::between(mark, ground) }
    });
    all.reduce(|one, other| if other.contrast < one.contrast { other } else { one })
}

/// Paint that is seen under and around a shape, the uppermost first, and the finished face where that is left bare. Through clear
/// stock the paint on its other face is seen as well.
fn grounds(layer: &Layer, (face, marks): (Face, &[Mark]), shape: Form) -> Vec<Tone> {
    let clear = layer.stock.clear;
    let own = |mark: &&Mark| mark.face == face || clear;
    let paints: Vec<(&Region, Face, Tone)> = marks.iter().filter(own).filter_map(painted).collect();
    let surface = (!clear).then(|| layer.surface());
    if paints.is_empty() {
        return surface.into_iter().collect();
    }
    // The last paint in the text lies on top, and what is painted on the face that is looked at over all behind it.
    let (near, far): (Vec<_>, Vec<_>) = paints.into_iter().rev().partition(|(_, on, _)| *on == face);
    let bare = |on: Face| {
        let bare = layer.marks.iter().filter(move |mark| mark.face == on && mark.work == Work::Bare);
        bare.filter_map(|mark| region_of(&mark.shape))
    };
    // Mostly a mark lies well clear of all paints but one, and well within that: no shape has to be cut up to see it.
    let flat = shape.flattened();
    let is_clear_of = |region: &Region| !FlattenedShape::of(region).closer_than(&flat, CLEAR_MM);
    let paints: Vec<_> = near.into_iter().chain(far).filter(|(region, ..)| !is_clear_of(region)).collect();
    match paints.first() {
        None => return surface.into_iter().collect(),
        Some((region, on, colour)) => {
            if flat.lies_clear_within(&FlattenedShape::of(region), CLEAR_MM) && bare(*on).all(is_clear_of) {
                return vec![*colour];
            }
        }
    }
    let Some(about) = about(shape) else { return surface.into_iter().collect() };
    let (all, mut left, mut found) = (about.area(), about, Vec::new());
    for (region, on, colour) in paints {
        let open = bare(on).fold(region.clone(), |all, one| all.difference(one));
        let here = left.intersection(&open);
        if here.area() >= SHARE * all {
            found.push(colour);
            left = left.difference(&here);
        }
    }
    if left.area() >= SHARE * all {
        found.extend(surface);
    }
    found
}

fn painted(mark: &Mark) -> Option<(&Region, Face, Tone)> {
    Some((region_of(&mark.shape)?, mark.face, mark.work.coat()?))
}

fn region_of(shape: &Shape) -> Option<&Region> {
    match shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    }
}

/// A shape and what lies right around it; of a line, a few places along it.
fn about(shape: Form) -> Option<Region> {
    match shape {
        Form::Filled(region) => Some(region.offset(AROUND_MM)),
        Form::Line(trace) => {
            let dot = shapes::circle(AROUND_MM).ok()?;
            let ends = trace.path().elements().iter().filter_map(kurbo::PathEl::end_point);
            let dots: Vec<Region> =
                ends.map(|at| dot.transformed(kurbo::Affine::translate(at.to_vec2()))).take(64).collect();
            Some(Region::union_of(dots.iter()))
        }
    }
}

/// The colour that clear layers over a ring give to all that is seen through them: what they let through together, channel by
/// channel (nominal; common practice, no source).
pub(super) fn through(design: &Design, ring_layer: usize, reading: Option<&Reading>) -> Tone {
    const ALL: Tone = [255; 3];
    let Some(by) = reading.and_then(|reading| reading.by.first()) else { return ALL };
    let Some((by_layer, by_mark)) = design.mark(by) else { return ALL };
    let Some(at) = region_of(&by_mark.shape).and_then(Region::centroid) else { return ALL };
    let pose = Pose::at(design, &[]);
    let above = design.layers.iter().enumerate().skip(ring_layer + 1).filter(|(_, layer)| layer.stock.clear);
    let over = above.filter(|(place, layer)| layer.material().contains(pose.map(by_layer, *place) * at));
    over.fold(ALL, |all, (_, layer)| tinted(all, layer.stock.colour))
}

fn tinted(colour: Tone, by: Tone) -> Tone {
    let mut seen = colour;
    for (channel, through) in seen.iter_mut().zip(by) {
        *channel = u8::try_from((u16::from(*channel) * u16::from(through) + 127) / 255).unwrap_or(u8::MAX);
    }
    seen
}
