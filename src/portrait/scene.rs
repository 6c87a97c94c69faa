//! From a design to the parts that one sees, and where they stand at a pose.

use std::borrow::Cow;

use super::slab::{Drawn, Kind, Mark, Part};
use super::stuff::Stuff;
use crate::design::heights::floors;
use crate::design::pose::{Pose, upright};
use crate::design::standing::recess;
use crate::design::{
    self, Depth, Design, Ends, Face, Fastener, Half, Head, Layer, Magnet, Pivot, Rivet, Seat, Shape, Stock, Tone, Turn,
    Work,
};
use crate::geometry::Region;
use crate::geometry::shapes::{circle, polygon};
use crate::vocabulary::blocks::FieldName as _;
use crate::vocabulary::blocks::fields::Stock as Field;

/// Plated steel and brass, with what is darker in them.
const METAL: (Tone, Tone) = ([0xb9, 0xb8, 0xb2], [0x66, 0x64, 0x5f]);
/// Width of a scored line, in mm.
const SCORED: f32 = 0.25;

/// Everything of a finished dial that can be seen from somewhere.
pub(super) fn parts(design: &Design) -> Vec<Part> {
    let floors: Vec<f64> = floors(design).iter().map(|floor| floor.as_mm()).collect();
    let floor = |at: usize| floors.get(at).copied().unwrap_or_default();
    let layers = design.layers.iter().enumerate().map(|(at, layer)| part(at, &tinted(layer), floor(at)));
    let mut parts: Vec<Part> = layers.collect();
    for (below, turn) in design.turns() {
        match &turn.pivot {
            Pivot::Rivet(rivet) => parts.extend(heads(design, (below, turn), rivet, &floors)),
            Pivot::Magnets { .. } => {
                for ((disc, seat), upper) in turn.pivot.seats().into_iter().flatten().zip([false, true]) {
                    parts.extend(through(design, (turn, disc), (seat, upper), &floors));
                    lay_in(design, &mut parts, (turn, disc), seat);
                }
            }
            Pivot::Wall => {}
        }
        clicks(design, &mut parts, below, turn);
        parts.extend(turn.ends.as_ref().and_then(|ends| end_pin(design, (below, turn), ends, &floors)));
    }
    parts
}

/// A number from the name of a layer, so that no two boards have the same figure.
pub(super) fn seed(at: usize, name: &str) -> u32 {
    let named = name.bytes().fold(17_u32, |sum, byte| sum.wrapping_mul(31).wrapping_add(u32::from(byte)));
    named.wrapping_add(977_u32.wrapping_mul(at as u32 + 1))
}

/// The colours of clear stock that states none: what the fields have for that is wood, which nobody looks through.
const TINT: Tone = [0xee, 0xf4, 0xf6];
const FROST: Tone = [0xff, 0xff, 0xff];

fn tinted(layer: &Layer) -> Cow<'_, Layer> {
    let usual = |field: Field| field.row().default.colour();
    let Stock { clear, colour, engraved, .. } = &layer.stock;
    let unsaid = [usual(Field::Colour) == Some(*colour), usual(Field::Engraved) == Some(*engraved)];
    if !clear || unsaid == [false, false] {
        return Cow::Borrowed(layer);
    }
    let mut layer = layer.clone();
    if unsaid[0] {
        layer.stock.colour = TINT;
    }
    if unsaid[1] {
        layer.stock.engraved = FROST;
    }
    Cow::Owned(layer)
}

fn part(at: usize, layer: &Layer, low: f64) -> Part {
    let grain = layer.grain.or(layer.stock.grain).map_or(0.0, |bearing| bearing.as_degrees());
    Part {
        stuff: Stuff::of(&layer.stock),
        colour: layer.surface(),
        engraved: layer.stock.engraved,
        stained: layer.finish.as_ref().is_some_and(|finish| finish.stain.is_some()),
        grain,
        seed: seed(at, &layer.name),
        material: layer.material().clone(),
        layer: at,
        low,
        high: low + layer.stock.thickness.mean.as_mm(),
        faces: [Face::Front, Face::Back].map(|face| marks(layer, face)),
    }
}

fn marks(layer: &Layer, face: Face) -> Vec<Mark> {
    // What is kept bare is kept bare of every paint, wherever it stands in the text.
    let bare = layer.marks.iter().filter(|mark| mark.work == Work::Bare).filter_map(|mark| match &mark.shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    });
    let bare = bare.fold(Region::empty(), |all, one| all.union(one));
    let marks = layer.marks.iter().filter(|mark| mark.face == face).filter_map(|it| mark(layer, it, &bare));
    let rings = layer.rings.iter().filter(|ring| ring.face == face);
    let labels = rings.flat_map(|ring| ring.labels.iter().map(move |label| (ring, label)));
    let labels = labels.map(|(ring, label)| Mark {
        kind: if ring.is_printed() { Kind::Paint } else { burnt(layer, ring.tone, label.filled.as_ref()) },
        colour: layer.inked(ring.tone, label.filled.as_ref()),
        shape: Drawn::Region(label.ink.clone()),
    });
    marks.chain(labels).collect()
}

fn burnt(layer: &Layer, tone: f64, ink: Option<&design::Ink>) -> Kind {
    let by_finish = layer.finish.as_ref().is_some_and(|finish| finish.fill.is_some());
    Kind::Burnt { deep: tone as f32, filled: by_finish || ink.is_some_and(|ink| ink.colour.is_some()) }
}

fn mark(layer: &Layer, mark: &design::Mark, bare: &Region) -> Option<Mark> {
    let made = |kind, colour, shape| Some(Mark { kind, colour, shape });
    let drawn = |shape: &Shape| match shape {
        Shape::Region(region) => Drawn::Region(region.clone()),
        Shape::Trace(trace) => Drawn::Line(trace.path().clone(), SCORED),
    };
    match (&mark.work, &mark.shape) {
        (Work::Paint { colour } | Work::Print { colour }, Shape::Region(region)) => {
            made(Kind::Paint, *colour, Drawn::Region(region.difference(bare)))
        }
        (Work::Engrave { tone, ink, .. }, shape) => {
            made(burnt(layer, *tone, ink.as_ref()), layer.inked(*tone, ink.as_ref()), drawn(shape))
        }
        (Work::Score, Shape::Region(region)) => {
            let line = Drawn::Line(region.path().clone(), SCORED);
            made(Kind::Burnt { deep: 0.6, filled: false }, layer.inked(1.0, None), line)
        }
        (Work::Score, shape) => made(Kind::Burnt { deep: 0.6, filled: false }, layer.inked(1.0, None), drawn(shape)),
        (Work::Pocket { depth: Depth::Down(depth) }, Shape::Region(region)) => {
            let kind = Kind::Pocket(depth.made().as_mm() as f32);
            made(kind, layer.stock.engraved, Drawn::Region(region.clone()))
        }
        // Windows, holes and pockets right through are missing from the material already.
        _ => None,
    }
}

fn metal(material: Region, (low, high): (f64, f64), layer: usize) -> Part {
    let (colour, engraved) = METAL;
    Part {
        stuff: Stuff::Metal,
        colour,
        engraved,
        stained: false,
        grain: 0.0,
        seed: 0,
        material,
        layer,
        low,
        high,
        faces: [Vec::new(), Vec::new()],
    }
}

/// What is drawn about an axis that stands at this point of its layer.
fn moved(region: &Region, axis: kurbo::Point) -> Region {
    region.transformed(kurbo::Affine::translate(axis.to_vec2()))
}

/// The two heads of what clamps a turn, or its nut and its head.
fn heads(design: &Design, (below, turn): (usize, &Turn), rivet: &Rivet, floors: &[f64]) -> Vec<Part> {
    let joined = design.joined(below);
    let ends = [(joined.first(), Face::Back), (joined.last(), Face::Front)];
    let one = |((at, face), head): ((Option<&usize>, Face), Head)| {
        let at = *at?;
        let axis = design.axis_on(turn, at);
        let (layer, floor) = (design.layers.get(at)?, *floors.get(at)?);
        let sunk = recess(layer, face, head.diameter, axis).as_mm();
        // A head that has no height would not be seen.
        let high = head.height.as_mm().max(0.4);
        let from = match face {
            Face::Front => floor + layer.stock.thickness.mean.as_mm() - sunk,
            Face::Back => floor + sunk - high,
        };
        Some(metal(moved(&head_shape(rivet, face, head)?, axis), (from, from + high), at))
    };
    ends.into_iter().zip(rivet.heads).filter_map(one).collect()
}

/// A nut has six sides, an eyelet is open, and all else is round.
fn head_shape(rivet: &Rivet, face: Face, head: Head) -> Option<Region> {
    let radius = head.diameter.as_mm() / 2.0;
    let round = circle(radius).ok()?;
    match (rivet.kind, face) {
        (Fastener::Pin, Face::Back) => polygon(6, radius, 0.0).ok(),
        (Fastener::Rivet, _) if rivet.name.to_lowercase().contains("eyelet") => {
            Some(round.difference(&circle(0.4 * rivet.shank.as_mm()).ok()?))
        }
        _ => Some(round),
    }
}

/// A magnet in a hole through a layer, flush with the face that looks at its partner.
fn through(
    design: &Design,
    (turn, magnet): (&Turn, &Magnet),
    (seat, is_upper): (&Seat, bool),
    floors: &[f64],
) -> Option<Part> {
    let (layer, floor) = (design.layers.get(seat.layer)?, *floors.get(seat.layer)?);
    let high = magnet.height.as_mm();
    let low = if is_upper { floor } else { floor + layer.stock.thickness.mean.as_mm() - high };
    let disc = moved(&disc(magnet)?, design.axis_on(turn, seat.layer));
    (seat.depth == Depth::Through).then(|| metal(disc, (low, low + high), seat.layer))
}

/// A magnet as it is seen from above, or a washer with its hole.
fn disc(magnet: &Magnet) -> Option<Region> {
    let round = circle(magnet.diameter.as_mm() / 2.0).ok()?;
    match magnet.steel {
        Some(steel) => Some(round.difference(&circle(steel.hole.as_mm() / 2.0).ok()?)),
        None => Some(round),
    }
}

/// A magnet in a pocket on the axis.
fn lay_in(design: &Design, parts: &mut [Part], (turn, magnet): (&Turn, &Magnet), seat: &Seat) {
    if let (Depth::Down(_), Some(disc), true) = (seat.depth, disc(magnet), seat.layer < design.layers.len()) {
        lie(parts, (seat.layer, seat.face), moved(&disc, design.axis_on(turn, seat.layer)));
    }
}

/// Metal in a pocket of a face of a layer.
fn lie(parts: &mut [Part], (layer, face): (usize, Face), disc: Region) {
    let Some(part) = parts.get_mut(layer) else { return };
    let [front, back] = &mut part.faces;
    let marks = if face == Face::Front { front } else { back };
    marks.push(Mark { kind: Kind::Metal, colour: METAL.0, shape: Drawn::Region(disc) });
}

/// The magnets of the clicks, each in a pocket of its own.
fn clicks(design: &Design, parts: &mut [Part], below: usize, turn: &Turn) {
    let Some(clicks) = &turn.clicks else { return };
    let (low, high) = design.across(below);
    for (at, face) in [(low, Face::Front), (high, Face::Back)] {
        let Some(layer) = design.layers.get(at) else { continue };
        for (mark, region, _) in layer.pockets().filter(|(mark, ..)| mark.origin == clicks.origin) {
            if let (Some(middle), Ok(disc)) = (region.centroid(), circle(clicks.magnet.diameter.as_mm() / 2.0))
                && mark.face == face
            {
                lie(parts, (at, face), moved(&disc, middle));
            }
        }
    }
}

/// The pin that ends a turn, flush with the far face of the layer that it stands in.
fn end_pin(design: &Design, (below, turn): (usize, &Turn), ends: &Ends, floors: &[f64]) -> Option<Part> {
    let (at, _) = Ends::layers(design.across(below), turn.turning);
    let (layer, floor) = (design.layers.get(at)?, *floors.get(at)?);
    let top = floor + layer.stock.thickness.mean.as_mm();
    let long = ends.pin.length.as_mm();
    let span = if turn.turning == Half::Upper { (floor, floor + long) } else { (top - long, top) };
    Some(metal(moved(&ends.hole().ok()?, design.axis_on(turn, at)), span, at))
}

/// Where a layer stands in the picture: its axis in mm, y downwards, and cosine and sine of how far it is turned clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    pub(super) x: f32,
    pub(super) y: f32,
    pub(super) cos: f32,
    pub(super) sin: f32,
}

/// From where a dial is held: the layer that stands upright, and the side that is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Held {
    pub(super) upright: usize,
    pub(super) face: Face,
    /// How far all of it is turned clockwise, in degrees.
    pub(super) yaw: f64,
}

impl Held {
    /// As a person holds it.
    pub(super) fn of(design: &Design, face: Face, yaw: f64) -> Self {
        Self { upright: upright(design, face), face, yaw }
    }

    /// How far a layer is turned clockwise as it is seen, in degrees.
    pub(super) fn turned(&self, pose: &Pose, layer: usize) -> f64 {
        let turned = pose.between(self.upright, layer);
        if self.face == Face::Front { turned + self.yaw } else { self.yaw - turned }
    }

    /// Where every layer stands at a pose, by place in the stack.
    pub(super) fn places(&self, design: &Design, pose: &Pose) -> Vec<Place> {
        (0..design.layers.len()).map(|at| self.place(design, self.turned(pose, at), at)).collect()
    }

    /// Where a layer stands that is turned so many degrees.
    pub(super) fn place(&self, design: &Design, turned: f64, layer: usize) -> Place {
        let axis = design.axis(layer);
        let mirrored = if self.face == Face::Front { axis.x } else { -axis.x };
        let (yaw, own) = (self.yaw.to_radians(), turned.to_radians());
        let (cos, sin) = (libm::cos(yaw), libm::sin(yaw));
        let (x, y) = (mirrored * cos + axis.y * sin, mirrored * sin - axis.y * cos);
        Place { x: x as f32, y: y as f32, cos: libm::cos(own) as f32, sin: libm::sin(own) as f32 }
    }
}

/// How high a dial is, in mm, with all that stands out of it.
pub(super) fn height(parts: &[Part]) -> (f64, f64) {
    let low = parts.iter().map(|part| part.low).fold(0.0, f64::min);
    (low, parts.iter().map(|part| part.high).fold(0.0, f64::max))
}
