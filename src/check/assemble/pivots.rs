//! What holds a turn on its axis, makes it click and ends it: the pockets and holes that they need, in both layers whose faces meet.

use kurbo::{Affine, Point, Vec2};

use super::Assembler;
use super::layers::{depth_shown, thickness};
use super::stack::{Order, Written, face_word};
use crate::check::evaluate::Fields;
use crate::check::findings::{dial as say, magnets, pins};
use crate::check::value::{PivotValue, Value};
use crate::design::stops::{click_bearings, closest_stops};
use crate::design::{
    Axle, Clicks, Depth, Face, Half, Joint, Layer, Magnet, Mark, Pin, Pivot, PocketDepth, Pole, Rivet, Seat, Shape,
    Turn, Work,
};
use crate::geometry::{Region, polar, shapes};
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind};
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::choices::{PoleWord, ThroughWord};

/// Where a turn lies in the stack.
pub(super) struct Across {
    /// The layers whose faces meet at it, by place in the stack.
    pub(super) lower: usize,
    pub(super) upper: usize,
    /// The axis of its own that the upper layer turns about; none for a turn of the whole stack.
    pub(super) axle: Option<Axle>,
}

impl Across {
    /// Where its axis stands in the frame of the lower layer.
    pub(super) fn centre(&self) -> Vec2 {
        self.axle.as_ref().map_or(Vec2::ZERO, |axle| axle.centre.to_vec2())
    }

    /// All that is glued to either side of it.
    fn joined(&self, order: &Order<'_>) -> Vec<usize> {
        if self.axle.is_some() {
            return (0..=self.lower).filter(|at| !order.is_wheel(*at)).chain([self.upper]).collect();
        }
        let is_glue = |joint: &usize| matches!(order.joints.get(*joint), Some(Written::Glue { .. }));
        let first = self.lower - (0..self.lower).rev().take_while(is_glue).count();
        let last = self.upper + (self.upper..order.joints.len()).take_while(is_glue).count();
        (first..=last).collect()
    }
}

impl<'t> Assembler<'_, 't> {
    /// A turn on its pivot, with its clicks and ends.
    pub(super) fn held(
        &mut self,
        order: &Order<'t>,
        across: &Across,
        (pivot, fields, span): (&'t Expr, Fields<'t, fields::Turn>, Span),
        (stops, turning): (Option<Vec<Angle>>, Option<Half>),
        layers: &mut [Layer],
    ) -> Option<Joint> {
        let pivot = self.pivot(order, across, (pivot, fields, span), layers)?;
        for own in
            [fields::Turn::PocketLower, fields::Turn::PocketUpper].into_iter().filter(|_| pivot.seats().is_none())
        {
            if let Some(expr) = fields.expr(own) {
                self.eval.problems.push(magnets::pocket_of_none(own.word(), expr.span));
            }
        }
        let (shock, north) = (self.shock(fields), fields.word(fields::Turn::North));
        let north = north.and_then(PoleWord::of_word).map(|word| match word {
            PoleWord::Up => Pole::Up,
            PoleWord::Down => Pole::Down,
        });
        let stops = stops?;
        let clicks = match fields.expr(fields::Turn::Clicks) {
            Some(clicks) => Some(self.clicks(across, clicks, &stops, layers)?),
            None => None,
        };
        let turning = turning?;
        let ends = match fields.expr(fields::Turn::Ends) {
            Some(ends) => Some(self.ends((across, turning), ends, &stops, layers)?),
            None => None,
        };
        let (shock, axle) = (shock?, across.axle.clone());
        Some(Joint::Turn(Turn { pivot, axle, stops, turning, clicks, ends, shock, north, origin: span }))
    }

    fn pivot(
        &mut self,
        order: &Order<'t>,
        across: &Across,
        (pivot, fields, span): (&'t Expr, Fields<'t, fields::Turn>, Span),
        layers: &mut [Layer],
    ) -> Option<Pivot> {
        match self.eval.value(pivot)? {
            Value::Pivot(PivotValue::Magnets { magnet, above, radius }) => {
                if radius.is_some() {
                    self.eval.problems.push(say::magnets_off_axis(pivot.span));
                }
                let lower = self.shop.magnets.get(&*magnet).cloned()?;
                let upper = match above {
                    Some(above) => self.shop.magnets.get(&*above).cloned()?,
                    None => lower.clone(),
                };
                self.polar((&lower, &upper), fields, pivot.span)?;
                self.magnets(order, across, (fields, span), layers, [lower, upper])
            }
            Value::Pivot(PivotValue::Rivet(rivet)) => {
                let rivet = self.shop.rivets.get(&*rivet).cloned()?;
                self.rivet(order, across, span, layers, rivet)
            }
            Value::Pivot(PivotValue::Pin { radius: Some(_), .. }) => self.eval.report(pins::pin_off_axis(pivot.span)),
            Value::Pivot(PivotValue::Pin { pin, .. }) => match self.shop.pins.get(&*pin).cloned()? {
                Pin::Clamps(screw) => self.rivet(order, across, span, layers, screw),
                Pin::Glued(dowel) => self.eval.report(pins::pin_clamps_nothing(&dowel.name, pivot.span)),
            },
            _ => None,
        }
    }

    /// The place in the stack of the layer that a field names; it must be glued to the half it stands for.
    fn seat_layer(
        &mut self,
        order: &Order<'t>,
        fields: Fields<'t, fields::Turn>,
        name: fields::Turn,
        (near, upper): (usize, bool),
    ) -> Option<usize> {
        let Some(chosen) = fields.word(name) else { return Some(near) };
        let span = fields.expr(name).map(|expr| expr.span);
        let at = self.place_named(order, chosen, span)?;
        // The layer must be glued to the half it stands for, all the way.
        let (from, to) = if upper { (near, at) } else { (at, near) };
        let of_it = |joint: &Written| matches!(joint, Written::Glue { .. } | Written::Wheel { .. });
        let glued = from <= to
            && (at == near || !order.is_wheel(at) && !order.is_wheel(near))
            && order.joints.get(from..to).is_some_and(|between| between.iter().all(of_it));
        if glued { Some(at) } else { self.eval.report(say::seat_on_other_half(chosen, upper, span)) }
    }

    fn magnets(
        &mut self,
        order: &Order<'t>,
        across: &Across,
        (fields, span): (Fields<'t, fields::Turn>, Span),
        layers: &mut [Layer],
        [magnet, above]: [Magnet; 2],
    ) -> Option<Pivot> {
        let lower = self.seat_layer(order, fields, fields::Turn::Lower, (across.lower, false));
        let upper = self.seat_layer(order, fields, fields::Turn::Upper, (across.upper, true));
        let asked_lower = self.asked_depth(fields, fields::Turn::PocketLower);
        let asked_upper = self.asked_depth(fields, fields::Turn::PocketUpper);
        let (lower, upper, asked_lower, asked_upper) = (lower?, upper?, asked_lower?, asked_upper?);
        let lower = self.seat(layers, (lower, Face::Front, across.centre()), asked_lower, &magnet, span)?;
        let upper = self.seat(layers, (upper, Face::Back, Vec2::ZERO), asked_upper, &above, span)?;
        let above = (above != magnet).then(|| Box::new(above));
        Some(Pivot::Magnets { magnet, above, lower, upper })
    }

    /// How deep the pocket of one half is asked for, by its own field or by that of both; none where neither is written, and at fault
    /// where both are.
    fn asked_depth(&mut self, fields: Fields<'t, fields::Turn>, own: fields::Turn) -> Option<Option<Depth>> {
        let both = fields.expr(fields::Turn::Pocket);
        if let (Some(both), Some(expr)) = (both, fields.expr(own)) {
            return self.eval.report(magnets::pocket_twice(own.word(), expr.span, both.span));
        }
        match fields.expr(own).or(both) {
            Some(Expr { kind: ExprKind::Name(word), .. }) if ThroughWord::of_word(word).is_some() => {
                Some(Some(Depth::Through))
            }
            Some(expr) => Some(Some(Depth::Down(self.eval.size(expr, "the pocket's depth")?.into()))),
            None => Some(None),
        }
    }

    /// Steel holds by a magnet alone, and has no pole.
    fn polar(
        &mut self,
        (lower, upper): (&Magnet, &Magnet),
        fields: Fields<'t, fields::Turn>,
        span: Span,
    ) -> Option<()> {
        let washer = match (lower.steel, upper.steel) {
            (None, None) => return Some(()),
            (Some(_), Some(_)) => return self.eval.report(magnets::steel_on_steel(lower, upper, span)),
            (Some(_), None) => lower,
            (None, Some(_)) => upper,
        };
        match fields.expr(fields::Turn::North) {
            Some(north) => self.eval.report(magnets::north_on_steel(&washer.name, north.span)),
            None => Some(()),
        }
    }

    /// A magnet's seat in one layer: as asked, else one that the maker drew, else deep enough for the magnet,
    /// else (in a thin layer that carries two) right through.
    fn seat(
        &mut self,
        layers: &mut [Layer],
        (at, face, centre): (usize, Face, Vec2),
        asked: Option<Depth>,
        magnet: &Magnet,
        span: Span,
    ) -> Option<Seat> {
        let layer = layers.get_mut(at)?;
        let made = |deep| Depth::Down(PocketDepth::by(&layer.stock.passes, deep));
        let asked = asked.map(|depth| if let Depth::Down(deep) = depth { made(deep.asked()) } else { depth });
        let radius = (magnet.diameter + magnet.clearance).as_mm() / 2.0;
        let about = centre.to_point();
        let what = seat_called(face, &layer.name, about);
        let drawn = Self::drawn_seat(layer, (face, about), magnet.diameter.as_mm() / 2.0);
        if let (None, Some((depth, name))) = (asked, drawn) {
            self.assume(&what, depth_shown(depth), &format!("`{name}` is drawn there already"), span);
            return Some(Seat { layer: at, face, depth });
        }
        let depth = asked.unwrap_or_else(|| {
            let deep = magnet.height + magnet.sink;
            let other: f64 = layer
                .pockets()
                .filter(|(mark, _, _)| mark.face != face && mark.origin != span)
                // Beside the pivot of a hand, whatever lies elsewhere leaves the floor as it is.
                .filter(|(_, region, _)| centre == Vec2::ZERO || region.contains(about))
                .map(|(_, _, depth)| depth.made().as_mm())
                .fold(0.0, f64::max);
            let sunk = PocketDepth::by(&layer.stock.passes, deep);
            let floor = thickness(layer).as_mm() - sunk.made().as_mm() - other;
            // Two pockets in a thin middle layer would leave too little floor between them: one hole through it with
            // one magnet serves both turns instead.
            let thin = other > 0.0 && floor < layer.stock.least_floor.as_mm();
            let (taken, why) = if thin {
                (Depth::Through, "one magnet serves both turns of this thin layer".to_owned())
            } else {
                (Depth::Down(sunk), format!("the height of `{}` plus its sink of {}", magnet.name, magnet.sink))
            };
            let what = what.clone();
            self.assumptions.push(crate::design::Assumption { what, taken: depth_shown(taken), why, origin: span });
            taken
        });
        if depth == Depth::Through && centre == Vec2::ZERO {
            self.holed.insert(at);
            // Of the pocket that this hole takes the place of, nothing was taken after all.
            let gone = [Face::Front, Face::Back].map(|other| seat_called(other, &layer.name, about));
            self.assumptions.retain(|taken| taken.what == what || !gone.contains(&taken.what));
            // What another turn sank here from the other face is now part of the hole.
            layer.marks.retain(|mark| {
                !matches!(mark.work, Work::Pocket { depth: Depth::Down(_) })
                    || !self.magnet_pockets.contains(&(at, mark.origin))
            });
        }
        if centre == Vec2::ZERO {
            self.magnet_pockets.insert((at, span));
        }
        let pocket = self.eval.shaped(shapes::circle(radius), span)?.transformed(Affine::translate(centre));
        add_once(
            layer,
            Mark {
                name: None,
                face,
                work: Work::Pocket { depth },
                shape: Shape::Region(pocket),
                lettering: None,
                origin: span,
            },
        );
        Some(Seat { layer: at, face, depth })
    }

    fn rivet(
        &mut self,
        order: &Order<'t>,
        across: &Across,
        span: Span,
        layers: &mut [Layer],
        rivet: Rivet,
    ) -> Option<Pivot> {
        let radius = (rivet.shank + rivet.clearance).as_mm() / 2.0;
        let hole = self.eval.shaped(shapes::circle(radius), span)?;
        for at in across.joined(order) {
            let to_layer = if at == across.upper { Vec2::ZERO } else { across.centre() };
            let hole = hole.transformed(Affine::translate(to_layer));
            add_once(layers.get_mut(at)?, bored(Shape::Region(hole), span));
        }
        Some(Pivot::Rivet(rivet))
    }

    fn is_steel(&self, name: &str) -> bool {
        self.shop.magnets.get(name).is_some_and(|disc| disc.steel.is_some())
    }

    fn clicks(&mut self, across: &Across, expr: &'t Expr, stops: &[Angle], layers: &mut [Layer]) -> Option<Clicks> {
        let Value::Pivot(PivotValue::Magnets { magnet, above, radius }) = self.eval.value(expr)? else {
            return self.eval.report(say::clicks_want_magnets(expr.span));
        };
        if let Some(washer) = [Some(&magnet), above.as_ref()].into_iter().flatten().find(|name| self.is_steel(name)) {
            return self.eval.report(magnets::clicks_of_steel(washer, expr.span));
        }
        if above.is_some() {
            return self.eval.report(say::clicks_of_two_kinds(expr.span));
        }
        let Some(radius) = radius else { return self.eval.report(say::clicks_without_radius(expr.span)) };
        let magnet = self.shop.magnets.get(&*magnet).cloned()?;
        let deep = magnet.height + magnet.sink;
        let depth_in = |layer: &Layer| PocketDepth::by(&layer.stock.passes, deep);
        let depths = [depth_in(layers.get(across.lower)?), depth_in(layers.get(across.upper)?)];
        let pocket_radius = (magnet.diameter + magnet.clearance).as_mm() / 2.0;
        let pocket = self.eval.shaped(shapes::circle(pocket_radius), expr.span)?;
        let apart = closest_stops(stops).map(|angle| 2.0 * radius * (angle.as_radians() / 2.0).sin());
        if apart.is_some_and(|apart| apart < 2.0 * pocket_radius) {
            self.eval.problems.push(say::clicks_overlap(
                &magnet,
                Length::mm(apart.unwrap_or_default()),
                stops.len(),
                expr.span,
            ));
        }
        let (lower, upper) = click_bearings(stops);
        let ring = |bearings: &[Angle], centre: Vec2, (face, depth)| -> Vec<Mark> {
            bearings
                .iter()
                .map(|bearing| Mark {
                    name: None,
                    face,
                    work: Work::Pocket { depth: Depth::Down(depth) },
                    shape: Shape::Region(placed(&pocket, radius, *bearing).transformed(Affine::translate(centre))),
                    lettering: None,
                    origin: expr.span,
                })
                .collect()
        };
        let lower = ring(&lower, across.centre(), (Face::Front, depths[0]));
        layers.get_mut(across.lower)?.marks.extend(lower);
        layers.get_mut(across.upper)?.marks.extend(ring(&upper, Vec2::ZERO, (Face::Back, depths[1])));
        Some(Clicks { magnet, radius: Length::mm(radius), depths, origin: expr.span })
    }
}

fn seat_called(face: Face, layer: &str, about: Point) -> String {
    let at = if about == Point::ORIGIN { String::new() } else { format!(" at {}", Value::Point(about)) };
    format!("magnet pocket in the {} of {layer}{at}", face_word(face))
}

/// A hole that a joint needs.
pub(super) fn bored(shape: Shape, origin: Span) -> Mark {
    Mark { name: None, face: Face::Front, work: Work::Hole, shape, lettering: None, origin }
}

fn placed(region: &Region, radius: f64, bearing: Angle) -> Region {
    region.transformed(kurbo::Affine::translate(polar(radius, bearing).to_vec2()))
}

/// Adds a mark unless the same hole is there already, as where two turns share one.
fn add_once(layer: &mut Layer, mark: Mark) {
    let same = |other: &Mark| {
        let through = |work: &Work| matches!(work, Work::Hole | Work::Pocket { depth: Depth::Through });
        let (Shape::Region(one), Shape::Region(two)) = (&other.shape, &mark.shape) else { return false };
        through(&other.work) && through(&mark.work) && one == two
    };
    if !layer.marks.iter().any(same) {
        layer.marks.push(mark);
    }
}
