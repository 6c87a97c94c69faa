//! Wheels and hands: where their axes are, the walls that wheels turn in, and what is read on or by them.

use std::ops::Range;

use kurbo::{Affine, Point, Vec2};

use super::Assembler;
use super::pivots::Across;
use super::rings::{Written as WrittenRing, turns_in};
use super::stack::{Order, Written};
use crate::check::evaluate::Fields;
use crate::check::findings::frames as say;
use crate::check::value::Value;
use crate::design::{Axle, Face, Half, Joint, Layer, Pivot, Turn, Wall};
use crate::geometry::{Bay, FlattenedShape, Region, TOUCH_MM, evenly, shapes};
use crate::source::Span;
use crate::syntax::tree::{Expr, Field, Name, StackLayer, Wheel, WheelPlace};
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
    /// Where its axis stands on the board.
    pub(super) centre: Point,
    /// The circle that the wall round it follows; none round a hand.
    bay: Option<Bay>,
    /// Place in the stack of the layer that it lies in or on.
    pub(super) carrier: usize,
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

    /// Whether the layer at this place turns about an axis of its own.
    pub(super) fn is_wheel(&self, at: usize) -> bool {
        let joint = at.checked_sub(1).and_then(|joint| self.joints.get(joint));
        matches!(joint, Some(Written::Wheel { .. }))
    }
}

impl<'t> Assembler<'_, 't> {
    /// Where wheels and hands lie, layer by layer; none where one has no axis, or where something stands beside them that cannot be
    /// worked out there.
    pub(super) fn lying(&mut self, order: &Order<'t>, layers: &[Layer]) -> Option<Vec<Option<Lies>>> {
        let mut all = vec![None; layers.len()];
        let mut whole = self.nothing_else_turns(order);
        for (below, joint) in order.joints.iter().enumerate() {
            let Written::Wheel { wheel, frame } = joint else { continue };
            let found = match &wheel.place {
                WheelPlace::In(opening) => {
                    let bay = layers.get(*frame).and_then(|layer| self.bay(order, (wheel, opening, *frame), layer));
                    bay.map(|bay| Lies { centre: bay.centre, bay: Some(bay), carrier: *frame })
                }
                WheelPlace::At(point) => {
                    let point = self.point(point);
                    point.map(|centre| Lies { centre: rounded(centre), bay: None, carrier: *frame })
                }
            };
            whole &= found.is_some();
            if let Some(place) = all.get_mut(below + 1) {
                *place = found;
            }
        }
        whole.then_some(all)
    }

    /// A point within the bounds of what can be made.
    pub(super) fn point(&mut self, expr: &'t Expr) -> Option<Point> {
        match self.eval.value(expr)? {
            Value::Point(point) => Some(point),
            _ => None,
        }
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
    fn bay(
        &mut self,
        order: &Order<'t>,
        (wheel, opening, frame): (&'t Wheel, &'t Name, usize),
        layer: &Layer,
    ) -> Option<Bay> {
        let name = order.layers.get(frame).map(|copy| order.key(copy, &opening.text))?;
        let cut = layer.openings().filter(|(mark, _)| mark.name.as_deref() == Some(name.as_str()));
        let regions: Vec<&Region> = cut.map(|(_, region)| region).collect();
        if regions.is_empty() {
            // A name that stands for nothing was reported.
            self.eval.names().get(&opening.text, None)?;
            let others = layer.openings().filter_map(|(mark, _)| mark.name.as_deref()).collect::<Vec<_>>();
            return self.eval.report(say::no_such_bay((wheel, opening), &layer.name, &others));
        }
        let cut = regions.into_iter().fold(Region::empty(), |all, one| all.union(one));
        // What is open elsewhere takes nothing of its wall.
        let near = |other: &Region| other.bounds().zip(cut.bounds()).is_some_and(|(a, b)| a.overlaps(b));
        let others = layer.openings().filter(|(mark, _)| mark.name.as_deref() != Some(name.as_str()));
        let others = others.map(|(_, other)| other).filter(|other| near(other));
        let bay = cut.bay(&others.fold(layer.outline.clone(), |body, other| body.difference(other)));
        let Some(bay) = bay.filter(|bay| bay.wall > 0.0) else {
            return self.eval.report(say::bay_not_round(wheel, opening));
        };
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
        if let Some(pivot) = &wheel.pivot {
            self.eval.problems.push(say::pivot_of_wheel(wheel, pivot));
        }
        let WheelPlace::In(opening) = &wheel.place else { return None };
        let written = format!("{} in {}", wheel.layer.text, opening.text);
        let stops = self.stops(given, suggested, (wheel.span, &written));
        let Lies { centre, bay, .. } = self.lies_at(at)?;
        let disc = self.sweep((wheel, at), layers)?;
        let holds = |other: &usize| self.stands_in(*other, layers, &disc);
        let floor = (0..frame).rev().find(holds);
        let lid = (frame + 1..layers.len()).find(holds);
        if !refused.is_empty() || wheel.pivot.is_some() {
            return None;
        }
        let wall = Some(Wall { opening: opening.text.clone(), bay: bay? });
        let shock = self.shock(given)?;
        let origin = wheel.span;
        Some(Joint::Turn(Turn {
            pivot: Pivot::Wall,
            axle: Some(Axle { carrier: frame, centre, wall, floor, lid }),
            stops: stops?,
            turning: Half::Upper,
            clicks: None,
            ends: None,
            shock,
            north: None,
            origin,
        }))
    }

    /// The turn of a hand, whose layer is at this place.
    pub(super) fn hand(
        &mut self,
        order: &Order<'t>,
        (wheel, at): (&'t Wheel, usize),
        layers: &mut [Layer],
        suggested: Option<(usize, String)>,
    ) -> Option<Joint> {
        let given = Fields::<fields::Turn>::of(&wheel.fields);
        let turning = given.get(fields::Turn::Turning).map(|field| say::turning_of_hand(wheel, &field.name));
        let refused = turning.is_some();
        self.eval.problems.extend(turning);
        let written = format!("{} at {}", wheel.layer.text, self.eval.text(self.point_span(wheel)));
        let stops = self.stops(given, suggested, (wheel.span, &written));
        let Lies { centre, carrier, .. } = self.lies_at(at)?;
        let disc = self.sweep((wheel, at), layers)?;
        let over = (carrier + 1..layers.len()).find(|other| self.stands_in(*other, layers, &disc));
        if let Some(over) = over.and_then(|over| layers.get(over)) {
            self.eval.problems.push(say::no_room_to_turn(wheel, over, disc.bounds()));
        }
        let Some(pivot) = &wheel.pivot else {
            let (rivets, magnets) = (self.shop.rivets.keys().next(), self.shop.magnets.keys().next());
            let known = rivets.map(|name| format!("rivet({name})"));
            let known = known.or_else(|| magnets.map(|name| format!("magnets({name})")));
            return self.eval.report(say::hand_without_pivot(wheel, self.point_span(wheel), known.as_deref()));
        };
        if refused || over.is_some() {
            return None;
        }
        let axle = Axle { carrier, centre, wall: None, floor: Some(carrier), lid: None };
        let across = Across { lower: carrier, upper: at, axle: Some(axle) };
        self.held(order, &across, (pivot, given, wheel.span), (stops, Some(Half::Upper)), layers)
    }

    fn point_span(&self, wheel: &Wheel) -> Span {
        if let WheelPlace::At(point) = &wheel.place { point.span } else { wheel.span }
    }

    fn lies_at(&self, layer: usize) -> Option<Lies> {
        self.lies.get(layer).copied().flatten()
    }

    /// Whether the layer at this place lies at a point of another.
    pub(super) fn is_hand(&self, layer: usize) -> bool {
        self.lies_at(layer).is_some_and(|lies| lies.bay.is_none())
    }

    /// Whether something stands still there that does not leave this region free.
    fn stands_in(&self, layer: usize, layers: &[Layer], region: &Region) -> bool {
        self.lies_at(layer).is_none() && layers.get(layer).is_some_and(|layer| !leaves_free(layer, region))
    }

    /// The circle that a wheel sweeps, on the board.
    fn sweep(&mut self, (wheel, at): (&Wheel, usize), layers: &[Layer]) -> Option<Region> {
        let swept = layers.get(at)?.outline.swept_radius(Point::ORIGIN);
        let disc = self.eval.shaped(shapes::circle(swept), wheel.layer.span)?;
        Some(disc.transformed(Affine::translate(self.lies_at(at)?.centre.to_vec2())))
    }

    /// The joints between a ring and what it is read by, all of which lies in this range: a wheel has one of its own, whatever stands
    /// between in the list.
    pub(super) fn between(&self, ring: usize, at: Range<usize>) -> Range<usize> {
        let wheel = [ring, at.start, at.end].into_iter().find(|layer| self.lies_at(*layer).is_some());
        match wheel {
            Some(wheel) => wheel.saturating_sub(1)..wheel,
            _ => ring.min(at.end)..at.start.max(ring),
        }
    }

    /// The turns between a ring and what it is read by.
    pub(super) fn crossed<'j>(&self, joints: &'j [Joint], ring: usize, at: usize) -> Vec<&'j Turn> {
        let own = [ring, at].into_iter().any(|layer| self.lies_at(layer).is_some());
        let turns = turns_in(joints, self.between(ring, at..at));
        turns.into_iter().filter(|turn| own || turn.axle.is_none()).collect()
    }

    /// Where a layer's own axis stands on the board.
    fn axis(&self, layer: usize) -> Vec2 {
        self.lies_at(layer).map_or(Vec2::ZERO, |lies| lies.centre.to_vec2())
    }

    /// Takes what is drawn on layer `at` to what is read about a point of layer `ring`; none where that changes nothing.
    pub(super) fn to_ring(&self, at: usize, ring: usize, centre: Point) -> Option<Affine> {
        let by = self.axis(at) - self.axis(ring) - centre.to_vec2();
        (by != Vec2::ZERO).then(|| Affine::translate(by))
    }

    /// Whether a ring stands round the axis of the turn that it is read across; one that does not is reported.
    pub(super) fn stands_round(&mut self, ring: &WrittenRing<'t>, turns: &[&Turn]) -> bool {
        let [turn] = turns else { return true };
        let axis = turn.axle.as_ref().map_or(Vec2::ZERO, |axle| axle.centre.to_vec2()) - self.axis(ring.layer);
        let stands = (ring.centre.to_vec2() - axis).hypot() < TOUCH_MM;
        if !stands {
            let stated = ring.fields.expr(fields::Ring::Centre).map(|expr| expr.span);
            let turn = (turn.axle.is_some(), turn.origin);
            self.eval.problems.push(say::ring_off_axis((ring.name, ring.centre, stated), axis.to_point(), turn));
        }
        stands
    }

    /// Whether a reading is one of those that are worked out with wheels: from the front, of a ring on a wheel, by what stands still.
    pub(super) fn readable(&mut self, seen: Seen<'_>) -> bool {
        let on_wheel = |layer: usize| self.lies_at(layer).is_some();
        let in_wall = |layer: usize| self.lies_at(layer).filter(|lies| lies.bay.is_some());
        let found = if on_wheel(seen.on) && on_wheel(seen.at) && seen.on != seen.at {
            Some(say::both_turn(seen.ring, seen.by))
        } else if in_wall(seen.at).is_some() {
            Some(say::read_by_wheel(seen.ring, seen.by))
        } else if in_wall(seen.on).is_some_and(|lies| seen.at < lies.carrier) {
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
