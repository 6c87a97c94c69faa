//! Wheels in a frame: the walls that they turn in, and what is read on them.

use std::ops::Range;

use kurbo::{Affine, Point, Vec2};

use super::Assembler;
use super::rings::turns_in;
use super::stack::{Order, Written};
use crate::check::evaluate::Fields;
use crate::check::findings::frames as say;
use crate::design::{Face, Half, Joint, Layer, Pivot, Turn, Wall};
use crate::geometry::{Bay, FlattenedShape, Region, evenly, shapes};
use crate::syntax::tree::{Field, Name, StackLayer, Wheel};
use crate::vocabulary::blocks::fields;

/// An axis, and the middle of what is read about it, stand where they are drawn to a millionth of a millimetre: sums of decimal
/// fractions are off by less, and like wheels must come out alike.
const ROUNDED: f64 = 1e6;
/// What is left of a wheel's circle by less than this lets it pass, in mm²: nothing so small is cut.
const LEFT_MM2: f64 = 1e-3;
/// So many places of it are asked first, beside its middle, each for so much room about it, in mm: more than that area.
const PLACES: u32 = 8;
const PLACE_MM: f64 = 0.1;

/// Where a wheel lies.
#[derive(Clone, Copy)]
pub(super) struct Lies {
    pub(super) bay: Bay,
    /// Place of its frame in the stack.
    pub(super) frame: usize,
}

/// Where one looks at a ring.
#[derive(Clone, Copy)]
pub(super) struct Seen<'n> {
    pub(super) ring: &'n Name,
    pub(super) face: Face,
    /// Place of the ring's layer in the stack.
    pub(super) on: usize,
    /// What it is read by, and the place of the layer that this is on.
    pub(super) by: &'n Name,
    pub(super) at: usize,
}

/// A wheel as a layer of the stack.
pub(super) fn lying(wheel: &Wheel) -> StackLayer {
    StackLayer { own: wheel.own.clone(), layer: wheel.layer.clone(), wheels: Vec::new(), span: wheel.span }
}

impl Order<'_> {
    /// The uppermost layer of the stack itself.
    pub(super) fn upmost(&self) -> Option<&StackLayer> {
        let wheels = self.joints.iter().rev().take_while(|joint| matches!(joint, Written::Wheel { .. })).count();
        self.layers.iter().rev().nth(wheels)
    }
}

impl<'t> Assembler<'_, 't> {
    /// The openings that wheels turn in, layer by layer; none where one is no bay, or where something stands beside wheels that
    /// cannot be worked out there.
    pub(super) fn bays(&mut self, order: &Order<'t>, layers: &[Layer]) -> Option<Vec<Option<Lies>>> {
        let mut bays = vec![None; layers.len()];
        let mut whole = self.nothing_else_turns(order);
        for (below, joint) in order.joints.iter().enumerate() {
            let Written::Wheel { wheel, frame } = joint else { continue };
            let found = layers.get(*frame).and_then(|layer| self.bay(order, (wheel, *frame), layer));
            whole &= found.is_some();
            if let Some(place) = bays.get_mut(below + 1) {
                *place = found.map(|bay| Lies { bay, frame: *frame });
            }
        }
        whole.then_some(bays)
    }

    fn nothing_else_turns(&mut self, order: &Order<'t>) -> bool {
        let wheel = order.joints.iter().find_map(|joint| match joint {
            Written::Wheel { wheel, .. } => Some(*wheel),
            _ => None,
        });
        let Some(wheel) = wheel else { return true };
        let turn = order.joints.iter().find_map(|joint| match joint {
            Written::Turn { span, .. } => Some(*span),
            _ => None,
        });
        if let Some(turn) = turn {
            self.eval.problems.push(say::turn_beside_wheels(wheel, turn));
        }
        turn.is_none()
    }

    /// The opening of a frame that a wheel turns in, with its middle where it is drawn.
    fn bay(&mut self, order: &Order<'t>, (wheel, frame): (&'t Wheel, usize), layer: &Layer) -> Option<Bay> {
        let name = order.layers.get(frame).map(|copy| order.key(copy, &wheel.opening.text))?;
        let cut = layer.openings().filter(|(mark, _)| mark.name.as_deref() == Some(name.as_str()));
        let regions: Vec<&Region> = cut.map(|(_, region)| region).collect();
        if regions.is_empty() {
            // A name that stands for nothing was reported.
            self.eval.names().get(&wheel.opening.text, None)?;
            let others = layer.openings().filter_map(|(mark, _)| mark.name.as_deref()).collect::<Vec<_>>();
            return self.eval.report(say::no_such_bay(wheel, &layer.name, &others));
        }
        let opening = regions.into_iter().fold(Region::empty(), |all, one| all.union(one));
        // What is open elsewhere takes nothing of its wall.
        let near = |other: &Region| other.bounds().zip(opening.bounds()).is_some_and(|(a, b)| a.overlaps(b));
        let others = layer.openings().filter(|(mark, _)| mark.name.as_deref() != Some(name.as_str()));
        let others = others.map(|(_, other)| other).filter(|other| near(other));
        let bay = opening.bay(&others.fold(layer.outline.clone(), |body, other| body.difference(other)));
        let Some(bay) = bay.filter(|bay| bay.wall > 0.0) else { return self.eval.report(say::bay_not_round(wheel)) };
        Some(Bay { centre: rounded(bay.centre), ..bay })
    }

    /// The turn of a wheel, whose layer is at this place.
    pub(super) fn wheel(
        &mut self,
        (wheel, frame, at): (&'t Wheel, usize, usize),
        layers: &[Layer],
        suggested: Option<(usize, String)>,
    ) -> Option<Joint> {
        let given = Fields::<fields::Turn>::of(&wheel.fields);
        let other = |field: &&Field| field.name.text != fields::Turn::Stops.word();
        let refused: Vec<&Field> = wheel.fields.iter().filter(other).collect();
        self.eval.problems.extend(refused.iter().map(|field| say::field_of_wheel(wheel, &field.name)));
        let written = format!("{} in {}", wheel.layer.text, wheel.opening.text);
        let stops = self.stops(given, suggested, (wheel.span, &written));
        let Lies { bay, .. } = self.bays.get(at).copied().flatten()?;
        let swept = layers.get(at)?.outline.swept_radius(Point::ORIGIN);
        let disc = self.eval.shaped(shapes::circle(swept), wheel.layer.span)?;
        let disc = disc.transformed(Affine::translate(bay.centre.to_vec2()));
        let is_wheel = |other: &usize| self.bays.get(*other).is_some_and(Option::is_some);
        let holds =
            |other: &usize| !is_wheel(other) && layers.get(*other).is_some_and(|layer| !leaves_free(layer, &disc));
        let floor = (0..frame).rev().find(holds);
        let lid = (frame + 1..layers.len()).find(holds);
        if !refused.is_empty() {
            return None;
        }
        let wall = Wall { frame, opening: wheel.opening.text.clone(), bay, floor, lid };
        let shock = self.shock(given)?;
        let pivot = Pivot::Wall(wall);
        let origin = wheel.span;
        Some(Joint::Turn(Turn {
            pivot,
            stops: stops?,
            turning: Half::Upper,
            clicks: None,
            ends: None,
            shock,
            north: None,
            origin,
        }))
    }

    /// The joints between a ring and what it is read by: a wheel has one of its own, whatever stands between in the list.
    pub(super) fn between(&self, ring: usize, at: Range<usize>) -> Range<usize> {
        match self.bays.get(ring) {
            Some(Some(_)) => ring.saturating_sub(1)..ring,
            _ => ring.min(at.end)..at.start.max(ring),
        }
    }

    /// The turns between a ring and what it is read by.
    pub(super) fn crossed<'j>(&self, joints: &'j [Joint], ring: usize, at: usize) -> Vec<&'j Turn> {
        let own = matches!(self.bays.get(ring), Some(Some(_)));
        let turns = turns_in(joints, self.between(ring, at..at));
        turns.into_iter().filter(|turn| own || !matches!(turn.pivot, Pivot::Wall(_))).collect()
    }

    /// Takes what is drawn on the board to the frame of a layer.
    pub(super) fn to_frame_of(&self, layer: usize) -> Option<Affine> {
        let Lies { bay, .. } = self.bays.get(layer).copied().flatten()?;
        Some(Affine::translate(-bay.centre.to_vec2()))
    }

    /// Whether a reading is one of those that are worked out with wheels: from the front, of a ring on a wheel, by what stands still.
    pub(super) fn readable(&mut self, seen: Seen<'_>) -> bool {
        let on_wheel = |layer: usize| matches!(self.bays.get(layer), Some(Some(_)));
        let lower = |lies: &Lies| seen.at < lies.frame;
        let found = if on_wheel(seen.at) {
            Some(say::read_by_wheel(seen.ring, seen.by))
        } else if self.bays.get(seen.on).and_then(Option::as_ref).is_some_and(lower) {
            Some(say::read_from_below(seen.ring, seen.by))
        } else if on_wheel(seen.on) && seen.face == Face::Back {
            Some(say::read_from_behind(seen.ring, seen.by))
        } else {
            None
        };
        let fine = found.is_none();
        self.eval.problems.extend(found);
        fine
    }
}

/// A point to a millionth of a millimetre.
pub(super) fn rounded(point: Point) -> Point {
    Point::new((point.x * ROUNDED).round() / ROUNDED, (point.y * ROUNDED).round() / ROUNDED)
}

/// Whether a disc stands in a layer, as a few places of it tell. The usual case, told without a boolean.
fn surely_meets(layer: &Layer, disc: &Region) -> bool {
    let Some(bounds) = disc.bounds() else { return false };
    let outline = FlattenedShape::of(&layer.outline);
    let openings: Vec<FlattenedShape> = layer.openings().map(|(_, opening)| FlattenedShape::of(opening)).collect();
    let ways = std::iter::once(Vec2::ZERO).chain(evenly(PLACES));
    let mut places = ways.map(|way| bounds.center() + way * (bounds.width() / 4.0));
    places.any(|place| {
        let away = |flat: &FlattenedShape| flat.distance_to(place).map_or(f64::INFINITY, |(mm, _)| mm);
        outline.contains(place)
            && away(&outline) > PLACE_MM
            && openings.iter().all(|opening| !opening.contains(place) && away(opening) > PLACE_MM)
    })
}

/// Whether what fills this region passes through a layer.
fn leaves_free(layer: &Layer, filled: &Region) -> bool {
    if surely_meets(layer, filled) {
        return false;
    }
    let covered = filled.intersection(&layer.outline);
    layer.openings().fold(covered, |left, (_, opening)| left.difference(opening)).area() < LEFT_MM2
}
