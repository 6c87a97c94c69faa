//! A dial put together from its parts and turned: what shows at every stop.

use std::collections::BTreeMap;

use kurbo::{Affine, Point, Vec2};

use super::list::{
    Design, Due, Face, HeldBy, How, Joint, Label, Layer, Lines, Magnet, MarkWork, Reading, Ring, RingWork,
};
use super::part::{Made, drawn, index};
use super::raster::{HALF, Patch, filled, middle};
use super::remark::{Kind, Remarks, mm};

/// Pixels of a label that may be covered, or of another that may show, before it counts: the raster's own error.
const SPECK_PIXELS: usize = 3;

/// How a stop reads by its pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reads {
    /// The label due shows whole and alone, with a pixel to spare.
    Right,
    /// It does not, by more than a pixel.
    Wrong,
    /// It is too near to tell from pixels.
    Close,
}

/// One stop of one reading, looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// The ring.
    pub ring: String,
    /// The stop of each turn that the reading depends on, from 0.
    pub at: Vec<usize>,
    /// What is due.
    pub due: String,
    /// How it reads by its pixels.
    pub reads: Reads,
    /// What the list says of it.
    pub said: bool,
    /// Share of the label due that is covered, 0 to 1.
    pub covered: f64,
    /// Other labels of the ring that show in the opening.
    pub others: Vec<String>,
}

/// A dial that is put together.
pub(super) struct Stack<'a> {
    pub(super) design: &'a Design,
    /// Its parts, bottom first.
    pub(super) parts: Vec<&'a Made>,
    /// What hides what lies beneath, layer by layer.
    pub(super) opaque: Vec<Patch>,
}

impl<'a> Stack<'a> {
    /// Puts a dial together; none where a part is missing.
    pub(super) fn of(design: &'a Design, parts: Vec<&'a Made>) -> Option<Self> {
        let sorted: Option<Vec<&Made>> =
            (0..design.layers.len()).map(|layer| parts.iter().find(|it| it.layer == layer).copied()).collect();
        let parts = sorted?;
        let opaque = parts.iter().zip(&design.layers).map(|(made, layer)| opaque(made, layer)).collect();
        Some(Self { design, parts, opaque })
    }

    /// How far each layer is turned from the lowest, in degrees clockwise, with some turns at a stop and all others at their first.
    pub(super) fn turned(&self, turns: &[usize], at: &[usize]) -> Vec<f64> {
        let stop = |turn: usize| turns.iter().zip(at).find(|(it, _)| **it == turn).map_or(0, |(_, stop)| *stop);
        let (mut by, mut turn, mut all) = (0.0, 0, vec![0.0]);
        for (below, joint) in self.design.joints.iter().enumerate() {
            let mut own = None;
            if let Joint::Turn { stops, .. } = joint {
                let bearing = stops.get(stop(turn)).copied().unwrap_or(0.0);
                turn += 1;
                // A wheel turns by itself, backwards under what it is read by; a hand forwards.
                match self.design.wheel(below + 1) {
                    Some(_) => own = Some(if self.design.is_hand(below + 1) { bearing } else { -bearing }),
                    None => by += bearing,
                }
            }
            all.push(own.unwrap_or(by));
        }
        all
    }

    /// Takes a layer to where it lies in the dial, turned so far from the lowest.
    pub(super) fn placed(&self, layer: usize, turned: &[f64]) -> Affine {
        Affine::translate(self.design.axis(layer))
            * Affine::rotate(-turned.get(layer).copied().unwrap_or(0.0).to_radians())
    }

    /// Whether every wheel goes into its frame: none of the frame's material stands where the wheel sweeps.
    pub(super) fn wheels(&self, place: &str, remarks: &mut Remarks) {
        for (at, wheel) in self.parts.iter().enumerate() {
            let Some((frame, axis)) = self.design.wheel(at).filter(|_| !self.design.is_hand(at)) else { continue };
            let (Some(frame), Some(swept)) = (self.parts.get(frame), wheel.reach()) else { continue };
            // A pixel less all round, so that the raster's own error refuses no wheel.
            let swept = swept - 1.0 / wheel.scale;
            let mut wall = frame.material.covered(frame.scale);
            if wall.any(|at| (at.to_vec2() - axis).hypot() < swept) {
                let says = format!("`{}` does not go into its opening of `{}`", wheel.name, frame.name);
                remarks.push(Kind::Overlap, place, says);
            }
        }
    }

    /// Looks at every stop of every reading.
    pub(super) fn read(&self) -> Vec<Stop> {
        let mut stops = Vec::new();
        for reading in &self.design.readings {
            let Some(scene) = Scene::of(self, reading) else { continue };
            stops.extend(reading.stops.iter().map(|due| scene.look(due, reading)));
        }
        stops
    }

    /// Poles that meet and push each other off, and magnets that a turn lacks.
    pub(super) fn poles(&self, place: &str, remarks: &mut Remarks) {
        let mut turns: BTreeMap<usize, Vec<&Magnet>> = BTreeMap::new();
        for magnet in self.design.magnets.iter().filter(|it| !it.clicks) {
            for turn in &magnet.turns {
                turns.entry(*turn).or_default().push(magnet);
            }
        }
        for (below, held) in turns {
            let [one, other] = held.as_slice() else {
                remarks.push(Kind::Magnet, place, format!("a turn is held by {} magnets, not by two", held.len()));
                continue;
            };
            let layer = self.design.layers.get(below).map_or("", |layer| layer.layer.as_str());
            let says = match (one.hole, other.hole) {
                (Some(_), Some(_)) => {
                    format!("`{}` above `{layer}` holds nothing: both halves have steel alone", one.magnet)
                }
                // Steel is drawn by either pole.
                (Some(_), None) | (None, Some(_)) => continue,
                (None, None) if one.north.is_none() || other.north.is_none() => {
                    format!("it is not said where the norths of `{}` above `{layer}` look", one.magnet)
                }
                (None, None) if one.north != other.north => format!(
                    "the magnets `{}` above `{layer}` push each other off: their norths look opposite ways",
                    one.magnet
                ),
                (None, None) => continue,
            };
            remarks.push(Kind::Magnet, place, says);
        }
    }

    /// Whether every rivet and pin goes through both layers that turn on it.
    pub(super) fn rivets(&self, place: &str, remarks: &mut Remarks) {
        for (below, joint) in self.design.joints.iter().enumerate() {
            let (shank, kind) = match joint {
                Joint::Turn { held_by: HeldBy::Rivet { shank }, .. } => (shank, "rivet"),
                Joint::Turn { held_by: HeldBy::Pin { shank }, .. } => (shank, "pin"),
                _ => continue,
            };
            let lower = self.design.wheel(below + 1).map_or(below, |(carrier, _)| carrier);
            for (at, made) in [lower, below + 1].iter().filter_map(|at| Some((*at, self.parts.get(*at)?))) {
                // A pixel less all round, so that the raster's own error refuses no hole.
                let axis = (self.design.axis(below + 1) - self.design.axis(at)).to_point();
                let disc = kurbo::Circle::new(axis, shank / 2.0 - 1.0 / made.scale);
                let disc = filled(&kurbo::Shape::to_path(&disc, 1e-3), Affine::IDENTITY, made.scale);
                let stuck = disc.iter().flat_map(Patch::pixels);
                if stuck.into_iter().any(|(x, y, value)| value >= 250 && made.material.get(x, y) >= HALF) {
                    let says = format!("the {kind}, {} thick, does not go through `{}`", mm(*shank), made.name);
                    remarks.push(Kind::Magnet, place, says);
                }
            }
        }
    }
}

/// What hides what lies beneath a layer: its material; of a clear one only what is painted and not left bare.
fn opaque(made: &Made, layer: &Layer) -> Patch {
    if !layer.clear {
        return made.material.clone();
    }
    let mut paint = Patch { data: vec![0; made.material.data.len()], ..made.material.clone() };
    let fill = |path: &Lines| filled(&path.path, Affine::IDENTITY, made.scale);
    let marks = |wanted: fn(&MarkWork) -> bool| layer.marks.iter().filter(move |mark| wanted(&mark.work));
    marks(|work| matches!(work, MarkWork::Paint { .. } | MarkWork::Print { .. }))
        .filter_map(|mark| fill(&mark.path))
        .for_each(|it| paint.add(&it));
    marks(|work| matches!(work, MarkWork::Bare)).filter_map(|mark| fill(&mark.path)).for_each(|it| paint.take(&it));
    paint.keep(&made.material);
    paint
}

/// What one reading looks at.
struct Scene<'s> {
    stack: &'s Stack<'s>,
    ring: &'s Ring,
    ring_at: usize,
    /// The side that one looks from.
    side: Face,
    /// Each label's pixels in the frame of the ring's layer.
    labels: Vec<Patch>,
    /// Labels of other rings that look the same way, each with its layer and what it says.
    strangers: Vec<(usize, Patch, &'s str)>,
    /// The openings that are named, each with its layer; empty beside a pointer.
    openings: Vec<(usize, Patch, f64)>,
    /// The pointer's layer and bearing.
    pointer: Option<(usize, f64)>,
}

impl<'s> Scene<'s> {
    fn of(stack: &'s Stack<'s>, reading: &Reading) -> Option<Self> {
        let layers = stack.design.layers.iter().enumerate();
        let (ring_at, ring) = layers
            .clone()
            .find_map(|(at, layer)| Some((at, layer.rings.iter().find(|ring| ring.ring == reading.ring)?)))?;
        let side = reading.side.unwrap_or(ring.face);
        let rings = layers.clone().flat_map(|(at, layer)| layer.rings.iter().map(move |ring| (at, ring)));
        let others = rings.filter(|(_, other)| other.face == side && !std::ptr::eq(*other, ring));
        let strangers = others.flat_map(|(at, other)| {
            let burnt = burnt(stack, at, other).into_iter().flatten();
            burnt.zip(&other.labels).map(move |(patch, label)| (at, patch, label.says.as_str()))
        });
        let named = layers.flat_map(|(at, layer)| layer.marks.iter().map(move |mark| (at, mark)));
        let named = named.filter(|(_, mark)| mark.name.as_ref().is_some_and(|name| reading.by.contains(name)));
        let labels = burnt(stack, ring_at, ring)?;
        let strangers = strangers.collect();
        let mut scene = Self { stack, ring, ring_at, side, labels, strangers, openings: Vec::new(), pointer: None };
        for (at, mark) in named {
            let scale = stack.parts.get(at)?.scale;
            match reading.how {
                How::Through => {
                    scene.openings.extend(filled(&mark.path.path, Affine::IDENTITY, scale).map(|it| (at, it, scale)))
                }
                How::Beside => {
                    // About the axis of the one that turns.
                    let axis = |layer: usize| stack.design.axis(layer);
                    let about = if stack.design.is_hand(at) { at } else { ring_at };
                    scene.pointer = Some((at, tip(&mark.path, axis(at) - axis(about))?));
                }
            }
        }
        Some(scene)
    }

    /// Whether a layer lies between the eye and another one.
    fn over(&self, layer: usize, other: usize) -> bool {
        match self.side {
            Face::Front => layer > other,
            Face::Back => layer < other,
        }
    }

    /// What hides a layer, and what it is looked at through, each with the way from that layer's frame to its own.
    fn before(&self, at: usize, turned: &[f64]) -> (Vec<Placed<'_>>, Vec<Placed<'_>>) {
        let from = self.stack.placed(at, turned);
        let onto = |layer: usize| self.stack.placed(layer, turned).inverse() * from;
        let covers = (0..self.stack.parts.len())
            .filter(|layer| self.over(*layer, at))
            .filter_map(|layer| Some((onto(layer), self.stack.opaque.get(layer)?, self.stack.parts.get(layer)?.scale)));
        let openings = self.openings.iter().filter(|(layer, ..)| self.over(*layer, at));
        let openings = openings.map(|(layer, patch, scale)| (onto(*layer), patch, *scale));
        (covers.collect(), openings.collect())
    }

    /// Looks at one stop.
    fn look(&self, due: &Due, reading: &Reading) -> Stop {
        let turned = self.stack.turned(&reading.turns, &due.at);
        let (covers, openings) = self.before(self.ring_at, &turned);
        let scale = self.scale_of(self.ring_at);
        let seen = self.labels.iter().map(|label| Seen::of(label, scale, &covers, &openings)).collect::<Vec<Seen>>();
        let strangers: Vec<(Seen, &str)> = self
            .strangers
            .iter()
            .filter_map(|(at, label, says)| {
                let (covers, openings) = self.before(*at, &turned);
                (!openings.is_empty()).then(|| (Seen::of(label, self.scale_of(*at), &covers, &openings), *says))
            })
            .collect();
        let own = seen.get(due.due).copied().unwrap_or_default();
        let says = |at: usize| self.ring.labels.get(at).map(|label| label.says.as_str());
        let others: Vec<(Seen, &str)> = seen
            .iter()
            .enumerate()
            .filter(|(at, _)| *at != due.due)
            .filter_map(|(at, it)| Some((*it, says(at)?)))
            .chain(strangers)
            .collect();
        let foreign = |shows: &dyn Fn(&Seen) -> usize| others.iter().any(|(it, _)| shows(it) > SPECK_PIXELS);
        let points = self.pointer.map(|(layer, bearing)| self.points_at(&turned, layer, bearing));
        let (sure, maybe) = match points {
            Some((at, clear)) => (at == due.due && clear, at != due.due && clear),
            None => (true, false),
        };
        let beside = self.pointer.is_some();
        let wrong = self.side != self.ring.face
            || maybe
            || own.whole == 0
            || own.surely_covered > SPECK_PIXELS
            || (!beside && foreign(&|it| it.surely_shows));
        let right = sure && own.maybe_covered == 0 && own.whole > 0 && (beside || !foreign(&|it| it.maybe_shows));
        #[allow(clippy::cast_precision_loss, reason = "pixels of a label")]
        let covered = own.surely_covered as f64 / (own.whole.max(1)) as f64;
        Stop {
            ring: reading.ring.clone(),
            at: due.at.clone(),
            due: due.says.clone(),
            reads: if wrong {
                Reads::Wrong
            } else if right {
                Reads::Right
            } else {
                Reads::Close
            },
            said: due.reads,
            covered,
            others: if beside {
                points
                    .filter(|(at, _)| *at != due.due)
                    .and_then(|(at, _)| says(at))
                    .map(str::to_owned)
                    .into_iter()
                    .collect()
            } else {
                others
                    .iter()
                    .filter(|(it, _)| it.surely_shows > SPECK_PIXELS)
                    .map(|(_, says)| (*says).to_owned())
                    .collect()
            },
        }
    }

    fn scale_of(&self, layer: usize) -> f64 {
        self.stack.parts.get(layer).map_or(1.0, |made| made.scale)
    }

    /// The label whose bearing is nearest to the pointer's, and whether it clearly is.
    fn points_at(&self, turned: &[f64], layer: usize, bearing: f64) -> (usize, bool) {
        let of = |at: usize| turned.get(at).copied().unwrap_or(0.0);
        // A bearing on the pointer's layer, on the ring's layer.
        let looks = bearing + of(layer) - of(self.ring_at);
        let away = |at: f64| {
            let off = (at - looks).rem_euclid(360.0);
            off.min(360.0 - off)
        };
        let mut all: Vec<(usize, f64)> = self.ring.labels.iter().map(|label| away(label.bearing)).enumerate().collect();
        all.sort_by(|a, b| a.1.total_cmp(&b.1));
        let clear = all.get(1).zip(all.first()).is_none_or(|(second, first)| second.1 - first.1 > 0.5);
        (all.first().map_or(0, |it| it.0), clear)
    }
}

/// What is seen of one label, in pixels.
#[derive(Clone, Copy, Debug, Default)]
struct Seen {
    whole: usize,
    surely_covered: usize,
    maybe_covered: usize,
    surely_shows: usize,
    maybe_shows: usize,
}

impl Seen {
    /// How much of a label is seen past what hides it, and through what it is looked at.
    fn of(label: &Patch, scale: f64, covers: &[Placed], openings: &[Placed]) -> Self {
        let mut seen = Self::default();
        for (x, y, value) in label.pixels().filter(|(_, _, value)| *value > 0) {
            let at = middle(x, y, scale);
            // Deep inside the label, or only near its edge.
            let core = value >= HALF
                && [(1, 0), (-1, 0), (0, 1), (0, -1)].iter().all(|(dx, dy)| label.get(x + dx, y + dy) >= HALF);
            let over = around(at, covers);
            let inside = openings
                .iter()
                .map(|one| around(at, &[*one]))
                .fold((true, true), |all, one| (all.0 && one.0, all.1 && one.1));
            seen.whole += usize::from(value >= HALF);
            seen.surely_covered += usize::from(core && over.0);
            seen.maybe_covered += usize::from(over.1);
            seen.surely_shows += usize::from(core && inside.0 && !over.1);
            seen.maybe_shows += usize::from(inside.1 && !over.0);
        }
        seen
    }
}

/// A picture with its pixels a millimetre, and the way to its frame.
type Placed<'p> = (Affine, &'p Patch, f64);

/// The pixels of a ring's labels, as far as they were burnt.
fn burnt(stack: &Stack, at: usize, ring: &Ring) -> Option<Vec<Patch>> {
    let made = *stack.parts.get(at)?;
    let ink = made.ink.get(index(ring.face))?;
    let label = |label: &Label| {
        let mut patch = drawn(ring, label, made.scale).unwrap_or_else(|| Patch::of(kurbo::Rect::ZERO, made.scale));
        match ring.work {
            // What stands is seen where nothing was burnt off it.
            RingWork::Bare => {
                patch.keep(&made.material);
                patch.take(ink);
            }
            RingWork::Engrave | RingWork::Score => patch.keep(ink),
            RingWork::Print => patch.keep(&made.material),
        }
        patch
    };
    Some(ring.labels.iter().map(label).collect())
}

/// Whether a place lies surely, and whether it may lie, under any of some pictures: all of the pixel and its neighbours, or one.
fn around(at: Point, pictures: &[Placed]) -> (bool, bool) {
    pictures.iter().fold((false, false), |known, (map, patch, scale)| {
        if known.0 {
            return known;
        }
        let at = *map * at;
        let step = 1.0 / scale;
        let near = [(0.0, 0.0), (step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)];
        let solid = near.iter().filter(|(dx, dy)| patch.at(Point::new(at.x + dx, at.y + dy), *scale) >= HALF).count();
        (known.0 || solid == near.len(), known.1 || solid > 0)
    })
}

/// The bearing of a pointer's tip: of its place farthest from the axis that it is read about, in degrees clockwise from the top.
/// `off` takes it to the frame of that axis.
fn tip(lines: &Lines, off: Vec2) -> Option<f64> {
    let path = Affine::translate(off) * &lines.path;
    let places = path
        .segments()
        .flat_map(|segment| (0..=16u32).map(move |step| kurbo::ParamCurve::eval(&segment, f64::from(step) / 16.0)));
    let places: Vec<Point> = places.collect();
    let far = places.iter().map(|at| at.to_vec2().hypot()).reduce(f64::max)?;
    // Of a blunt tip the middle counts.
    let tip: Vec<&Point> = places.iter().filter(|at| at.to_vec2().hypot() > far - 1e-3).collect();
    #[allow(clippy::cast_precision_loss, reason = "a few places")]
    let middle = tip.iter().fold(kurbo::Vec2::ZERO, |sum, at| sum + at.to_vec2()) / tip.len() as f64;
    Some(middle.x.atan2(middle.y).to_degrees())
}
