//! The stack: which layers lie on which, what joins them, and the pockets and holes that the joints need.

use super::Assembler;
use super::layers::{depth_shown, thickness};
use super::wheels::lying;
use crate::check::evaluate::Fields;
use crate::check::findings::values::negative;
use crate::check::findings::{dial as say, pins};
use crate::check::value::{PivotValue, Value};
use crate::design::stops::{click_bearings, closest_stops};
use crate::design::{
    Clicks, Depth, Face, Glue, Half, Joint, Layer, Magnet, Mark, Pin, Pivot, PocketDepth, Pole, Rivet, Seat, Shape,
    Turn, Work,
};
use crate::geometry::{Region, polar, shapes};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{self, Expr, ExprKind, StackItem, StackLayer};
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::choices::{PoleWord, ThroughWord};

/// A joint as written: glue, or a turn with its pivot and fields.
pub(super) enum Written<'t> {
    Glue {
        adhesive: Option<&'t tree::Name>,
        span: Span,
    },
    Turn {
        pivot: &'t Expr,
        fields: Fields<'t, fields::Turn>,
        span: Span,
    },
    /// The layer above is a wheel in an opening of the layer at this place.
    Wheel {
        wheel: &'t tree::Wheel,
        frame: usize,
    },
}

impl Written<'_> {
    fn span(&self) -> Span {
        match self {
            Written::Glue { span, .. } | Written::Turn { span, .. } => *span,
            Written::Wheel { wheel, .. } => wheel.span,
        }
    }
}

/// The stack as written: layer names, and the joint above each but the last; wheels right above their frame.
pub(super) struct Order<'t> {
    pub(super) layers: Vec<StackLayer>,
    pub(super) joints: Vec<Written<'t>>,
}

impl<'t> Assembler<'_, 't> {
    /// Reads the stack's lines into layers with joints between them; none where they do not alternate.
    pub(super) fn order(&mut self) -> Option<Order<'t>> {
        let Some(stack) = self.program.stack else {
            return self.lone_layer();
        };
        let mut order = Order { layers: Vec::new(), joints: Vec::new() };
        let mut whole = true;
        for item in &stack.items {
            let pending = order.joints.len() == order.layers.len() && !order.layers.is_empty();
            match item {
                StackItem::Layer(copy) => {
                    if let (false, Some(below)) = (pending, order.upmost()) {
                        self.eval.problems.push(say::layers_not_joined(below.name(), copy.name()));
                        whole = false;
                    }
                    let frame = order.layers.len();
                    whole &= self.lies(&mut order, copy.clone());
                    for wheel in &copy.wheels {
                        order.joints.push(Written::Wheel { wheel, frame });
                        whole &= self.lies(&mut order, lying(wheel));
                    }
                }
                StackItem::Glue { adhesive, span } => {
                    whole &=
                        self.joint(&mut order, Written::Glue { adhesive: adhesive.as_ref(), span: *span }, pending);
                }
                StackItem::Turn { pivot, fields, span } => {
                    whole &= self.joint(
                        &mut order,
                        Written::Turn { pivot, fields: Fields::of(fields), span: *span },
                        pending,
                    );
                }
            }
        }
        if order.layers.is_empty() {
            return self.eval.report(say::empty_stack(stack.span));
        }
        if let Some(last) = order.joints.get(order.layers.len() - 1) {
            return self.eval.report(say::joint_without_layer("above", last.span()));
        }
        // A misspelt layer was reported; the one that was meant is not left out on purpose.
        let all_known = order.layers.iter().all(|copy| self.eval.names().get(&copy.layer.text, None).is_some());
        for layer in self.program.layers.iter().filter(|_| all_known) {
            let left_out = !order.layers.iter().any(|copy| copy.layer.text == layer.name.text);
            if left_out && !self.program.asks_for(layer) {
                self.eval.problems.push(say::layer_not_in_stack(&layer.name, stack.span));
            }
        }
        whole.then_some(order)
    }

    /// Adds a layer, which lies in the stack once or has a name of its own each time.
    fn lies(&mut self, order: &mut Order<'t>, copy: StackLayer) -> bool {
        let alike =
            |other: &&StackLayer| other.layer.text == copy.layer.text && (other.own.is_none() || copy.own.is_none());
        let twice = order.layers.iter().find(alike).map(|first| say::layer_twice(&copy.layer, first.layer.span));
        order.layers.push(copy);
        let once = twice.is_none();
        self.eval.problems.extend(twice);
        once
    }

    fn joint(&mut self, order: &mut Order<'t>, joint: Written<'t>, pending: bool) -> bool {
        if order.layers.is_empty() {
            self.eval.problems.push(say::joint_without_layer("below", joint.span()));
            return false;
        }
        if pending {
            let before = order.joints.last().map_or(joint.span(), Written::span);
            self.eval.problems.push(say::two_joints(joint.span(), before));
            return false;
        }
        order.joints.push(joint);
        true
    }

    /// A dial of one layer needs no stack.
    fn lone_layer(&mut self) -> Option<Order<'t>> {
        match self.program.layers.as_slice() {
            // A file that is no dial has no layers either, and was told so.
            [] if self.program.title.is_none() => None,
            [] => self.eval.report(say::no_layers(self.program.title.map(|title| title.span))),
            [only] => Some(Order {
                layers: vec![StackLayer {
                    own: None,
                    layer: only.name.clone(),
                    wheels: Vec::new(),
                    span: only.name.span,
                }],
                joints: Vec::new(),
            }),
            [.., last] => self.eval.report(say::no_stack(&last.name)),
        }
    }

    /// The joints, with the pockets and holes that they need added to the layers. `labels[i]` is how many
    /// stops the readings across joint `i` suggest, and which ring suggests it.
    pub(super) fn joints(
        &mut self,
        order: &Order<'t>,
        layers: &mut [Layer],
        labels: &[Option<(usize, String)>],
    ) -> Option<Vec<Joint>> {
        let mut joints = Vec::new();
        let mut whole = true;
        for (below, written) in order.joints.iter().enumerate() {
            let joint = match written {
                Written::Glue { adhesive, span } => self.glue(*adhesive, *span),
                Written::Turn { pivot, fields, span } => {
                    let suggested = labels.get(below).cloned().flatten();
                    self.turn(order, below, (pivot, *fields, *span), layers, suggested)
                }
                Written::Wheel { wheel, frame } => {
                    let suggested = labels.get(below).cloned().flatten();
                    self.wheel((wheel, *frame, below + 1), layers, suggested)
                }
            };
            whole &= joint.is_some();
            joints.extend(joint);
        }
        // A hole that a later turn made serves an earlier one of the same layer too.
        for joint in &mut joints {
            if let Joint::Turn(Turn { pivot: Pivot::Magnets { lower, upper, .. }, .. }) = joint {
                for seat in [lower, upper] {
                    if self.holed.contains(&seat.layer) {
                        seat.depth = Depth::Through;
                    }
                }
            }
        }
        whole.then_some(joints)
    }

    fn glue(&mut self, adhesive: Option<&'t tree::Name>, span: Span) -> Option<Joint> {
        let chosen = match adhesive {
            Some(name) => self.shop.adhesives.get(&name.text).cloned()?,
            None => match self.shop.adhesives.values().next().cloned() {
                Some(first) => {
                    self.assume("adhesive", first.name.clone(), "the first in the shop, by name", span);
                    first
                }
                None => return self.eval.report(say::no_adhesive(span)),
            },
        };
        Some(Joint::Glue(Glue { adhesive: chosen, origin: span }))
    }

    fn turn(
        &mut self,
        order: &Order<'t>,
        below: usize,
        (pivot, fields, span): (&'t Expr, Fields<'t, fields::Turn>, Span),
        layers: &mut [Layer],
        suggested: Option<(usize, String)>,
    ) -> Option<Joint> {
        let stops = self.stops(fields, suggested, (span, "turn on magnets(disc)"));
        let turning = self.turning(order, below, fields);
        let pivot = match self.eval.value(pivot)? {
            Value::Pivot(PivotValue::Magnets { magnet, radius }) => {
                if radius.is_some() {
                    self.eval.problems.push(say::magnets_off_axis(pivot.span));
                }
                let magnet = self.shop.magnets.get(&*magnet).cloned()?;
                self.magnets(order, below, (fields, span), layers, magnet)?
            }
            Value::Pivot(PivotValue::Rivet(rivet)) => {
                let rivet = self.shop.rivets.get(&*rivet).cloned()?;
                self.rivet(order, below, span, layers, rivet)?
            }
            Value::Pivot(PivotValue::Pin { radius: Some(_), .. }) => {
                return self.eval.report(pins::pin_off_axis(pivot.span));
            }
            Value::Pivot(PivotValue::Pin { pin, .. }) => match self.shop.pins.get(&*pin).cloned()? {
                Pin::Clamps(screw) => self.rivet(order, below, span, layers, screw)?,
                Pin::Glued(dowel) => return self.eval.report(pins::pin_clamps_nothing(&dowel.name, pivot.span)),
            },
            _ => return None,
        };
        let (shock, north) = (self.shock(fields), fields.word(fields::Turn::North));
        let north = north.and_then(PoleWord::of_word).map(|word| match word {
            PoleWord::Up => Pole::Up,
            PoleWord::Down => Pole::Down,
        });
        let stops = stops?;
        let clicks = match fields.expr(fields::Turn::Clicks) {
            Some(clicks) => Some(self.clicks(below, clicks, &stops, layers)?),
            None => None,
        };
        let turning = turning?;
        let ends = match fields.expr(fields::Turn::Ends) {
            Some(ends) => Some(self.ends((below, turning), ends, &stops, layers)?),
            None => None,
        };
        Some(Joint::Turn(Turn { pivot, stops, turning, clicks, ends, shock: shock?, north, origin: span }))
    }

    /// The shock that a turn must bear, in multiples of standard gravity.
    pub(super) fn shock(&mut self, fields: Fields<'t, fields::Turn>) -> Option<f64> {
        let Some(expr) = fields.expr(fields::Turn::Knock) else { return fields::Turn::Knock.spec().default.number() };
        let quantity = self.eval.quantity(expr)?;
        if quantity.value < 0.0 {
            return self.eval.report(negative("`knock`", quantity, expr.span));
        }
        Some(quantity.value)
    }

    pub(super) fn stops(
        &mut self,
        fields: Fields<'t, fields::Turn>,
        suggested: Option<(usize, String)>,
        (span, written): (Span, &str),
    ) -> Option<Vec<Angle>> {
        let most = u32::try_from(limits::LIST_LENGTH).unwrap_or(u32::MAX);
        let count = match (fields.expr(fields::Turn::Stops), suggested) {
            (Some(expr), _) => match self.eval.value(expr)? {
                Value::List(items) => {
                    let bearings: Option<Vec<Angle>> = items.iter().map(as_angle).collect();
                    let bearings = bearings?;
                    if bearings.is_empty() {
                        return self.eval.report(say::no_stops(expr.span));
                    }
                    if let Some((one, other)) = stops_twice(&bearings) {
                        self.eval.problems.push(say::stop_twice(one, other, expr.span));
                    }
                    return Some(bearings);
                }
                _ => self.eval.count(expr, "the number of stops", 1, most)?,
            },
            (None, Some((labels, ring))) => {
                self.assume("stops", labels.to_string(), &format!("one for each label of ring `{ring}`"), span);
                u32::try_from(labels).ok()?
            }
            // A reading whose names stand for nothing, or for several things, was reported, and its labels are not known.
            (None, None) if self.asked.iter().any(Option::is_none) => return None,
            (None, None) if self.program.reads.iter().any(|reads| !self.names_known(reads)) => return None,
            (None, None) => return self.eval.report(say::stops_unknown(span, written)),
        };
        Some((0..count).map(|at| Angle::degrees(360.0 * f64::from(at) / f64::from(count))).collect())
    }

    fn turning(&mut self, order: &Order<'t>, below: usize, fields: Fields<'t, fields::Turn>) -> Option<Half> {
        let Some(name) = fields.word(fields::Turn::Turning) else { return Some(Half::Upper) };
        let at = self.place_named(order, name, fields.expr(fields::Turn::Turning).map(|expr| expr.span))?;
        Some(if at <= below { Half::Lower } else { Half::Upper })
    }

    /// The place in the stack of the layer that a field names; it must be glued to the half it stands for.
    fn seat_layer(
        &mut self,
        order: &Order<'t>,
        fields: Fields<'t, fields::Turn>,
        name: fields::Turn,
        near: usize,
        upper: bool,
    ) -> Option<usize> {
        let Some(chosen) = fields.word(name) else { return Some(near) };
        let span = fields.expr(name).map(|expr| expr.span);
        let at = self.place_named(order, chosen, span)?;
        // The layer must be glued to the half it stands for, all the way.
        let (from, to) = if upper { (near, at) } else { (at, near) };
        let glued = from <= to
            && order
                .joints
                .get(from..to)
                .is_some_and(|between| between.iter().all(|joint| matches!(joint, Written::Glue { .. })));
        if glued { Some(at) } else { self.eval.report(say::seat_on_other_half(chosen, upper, span)) }
    }

    fn magnets(
        &mut self,
        order: &Order<'t>,
        below: usize,
        (fields, span): (Fields<'t, fields::Turn>, Span),
        layers: &mut [Layer],
        magnet: Magnet,
    ) -> Option<Pivot> {
        let lower = self.seat_layer(order, fields, fields::Turn::Lower, below, false);
        let upper = self.seat_layer(order, fields, fields::Turn::Upper, below + 1, true);
        let asked = match fields.expr(fields::Turn::Pocket) {
            Some(Expr { kind: ExprKind::Name(word), .. }) if ThroughWord::of_word(word).is_some() => {
                Some(Depth::Through)
            }
            Some(expr) => Some(Depth::Down(self.eval.size(expr, "the pocket's depth")?.into())),
            None => None,
        };
        let (lower, upper) = (lower?, upper?);
        let lower = self.seat(layers, (lower, Face::Front), asked, &magnet, span)?;
        let upper = self.seat(layers, (upper, Face::Back), asked, &magnet, span)?;
        Some(Pivot::Magnets { magnet, lower, upper })
    }

    /// A magnet's seat in one layer: as asked, else one that the maker drew, else deep enough for the magnet,
    /// else (in a thin layer that carries two) right through.
    fn seat(
        &mut self,
        layers: &mut [Layer],
        (at, face): (usize, Face),
        asked: Option<Depth>,
        magnet: &Magnet,
        span: Span,
    ) -> Option<Seat> {
        let layer = layers.get_mut(at)?;
        let made = |deep| Depth::Down(PocketDepth::by(&layer.stock.passes, deep));
        let asked = asked.map(|depth| if let Depth::Down(deep) = depth { made(deep.asked()) } else { depth });
        let radius = (magnet.diameter + magnet.clearance).as_mm() / 2.0;
        let what = seat_called(face, &layer.name);
        if let (None, Some((depth, name))) = (asked, Self::drawn_seat(layer, face, magnet.diameter.as_mm() / 2.0)) {
            self.assume(&what, depth_shown(depth), &format!("`{name}` is drawn there already"), span);
            return Some(Seat { layer: at, face, depth });
        }
        let depth = asked.unwrap_or_else(|| {
            let deep = magnet.height + magnet.sink;
            let other: f64 = layer
                .pockets()
                .filter(|(mark, _, _)| mark.face != face && mark.origin != span)
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
        if depth == Depth::Through {
            self.holed.insert(at);
            // Of the pocket that this hole takes the place of, nothing was taken after all.
            let gone = [Face::Front, Face::Back].map(|other| seat_called(other, &layer.name));
            self.assumptions.retain(|taken| taken.what == what || !gone.contains(&taken.what));
            // What another turn sank here from the other face is now part of the hole.
            layer.marks.retain(|mark| {
                !matches!(mark.work, Work::Pocket { depth: Depth::Down(_) })
                    || !self.magnet_pockets.contains(&(at, mark.origin))
            });
        }
        self.magnet_pockets.insert((at, span));
        let pocket = self.eval.shaped(shapes::circle(radius), span)?;
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
        below: usize,
        span: Span,
        layers: &mut [Layer],
        rivet: Rivet,
    ) -> Option<Pivot> {
        let radius = (rivet.shank + rivet.clearance).as_mm() / 2.0;
        let hole = self.eval.shaped(shapes::circle(radius), span)?;
        let is_glue = |joint: &usize| matches!(order.joints.get(*joint), Some(Written::Glue { .. }));
        // A rivet goes through everything that is glued to either half of its turn.
        let first = below - (0..below).rev().take_while(is_glue).count();
        let last = below + 1 + (below + 1..order.joints.len()).take_while(is_glue).count();
        for layer in layers.get_mut(first..=last)? {
            add_once(
                layer,
                Mark {
                    name: None,
                    face: Face::Front,
                    work: Work::Hole,
                    shape: Shape::Region(hole.clone()),
                    lettering: None,
                    origin: span,
                },
            );
        }
        Some(Pivot::Rivet(rivet))
    }

    fn clicks(&mut self, below: usize, expr: &'t Expr, stops: &[Angle], layers: &mut [Layer]) -> Option<Clicks> {
        let Value::Pivot(PivotValue::Magnets { magnet, radius }) = self.eval.value(expr)? else {
            return self.eval.report(say::clicks_want_magnets(expr.span));
        };
        let Some(radius) = radius else { return self.eval.report(say::clicks_without_radius(expr.span)) };
        let magnet = self.shop.magnets.get(&*magnet).cloned()?;
        let deep = magnet.height + magnet.sink;
        let depth_in = |layer: &Layer| PocketDepth::by(&layer.stock.passes, deep);
        let depths = [depth_in(layers.get(below)?), depth_in(layers.get(below + 1)?)];
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
        let ring = |bearings: &[Angle], face, depth| -> Vec<Mark> {
            bearings
                .iter()
                .map(|bearing| Mark {
                    name: None,
                    face,
                    work: Work::Pocket { depth: Depth::Down(depth) },
                    shape: Shape::Region(placed(&pocket, radius, *bearing)),
                    lettering: None,
                    origin: expr.span,
                })
                .collect()
        };
        layers.get_mut(below)?.marks.extend(ring(&lower, Face::Front, depths[0]));
        layers.get_mut(below + 1)?.marks.extend(ring(&upper, Face::Back, depths[1]));
        Some(Clicks { magnet, radius: Length::mm(radius), depths, origin: expr.span })
    }
}

fn seat_called(face: Face, layer: &str) -> String {
    format!("magnet pocket in the {} of {layer}", face_word(face))
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

/// The angle that a value is.
pub(super) fn as_angle(value: &Value) -> Option<Angle> {
    let quantity = value.quantity()?;
    // A bare 0 needs no unit.
    if quantity.value == 0.0 { Some(Angle::ZERO) } else { Angle::from_quantity(quantity) }
}

/// The word of a face.
pub(super) fn face_word(face: Face) -> &'static str {
    match face {
        Face::Front => "front",
        Face::Back => "back",
    }
}

/// The first two stops, by their place in the list, at which a turn stands alike.
fn stops_twice(bearings: &[Angle]) -> Option<(usize, usize)> {
    let alike = |one: Angle, other: Angle| {
        let apart = (one - other).as_degrees().rem_euclid(360.0);
        apart.min(360.0 - apart) < 1e-6
    };
    bearings.iter().enumerate().find_map(|(at, bearing)| {
        let before = bearings.iter().take(at).position(|other| alike(*bearing, *other))?;
        Some((before, at))
    })
}
