//! The stack: which layers lie on which, and what joins them.

use super::Assembler;
use super::pivots::Across;
use super::wheels::lying;
use crate::check::evaluate::Fields;
use crate::check::findings::dial as say;
use crate::check::findings::magnets;
use crate::check::findings::values::negative;
use crate::check::value::Value;
use crate::design::{Depth, Face, Glue, Half, Joint, Layer, Magnet, Pivot, Turn};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{self, Expr, StackItem, StackLayer, WheelPlace};
use crate::units::Angle;
use crate::vocabulary::blocks::fields;

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
    /// The layer above is a wheel in an opening of the layer at this place, or a hand on it.
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
                    match wheel.place {
                        WheelPlace::In(_) => self.wheel((wheel, *frame, below + 1), layers, suggested),
                        WheelPlace::At(_) => self.hand(order, (wheel, below + 1), layers, suggested),
                    }
                }
            };
            whole &= joint.is_some();
            joints.extend(joint);
        }
        // A hole that a later turn made serves an earlier one of the same layer too. Nobody shares the seats of a hand.
        for joint in &mut joints {
            if let Joint::Turn(Turn { pivot: Pivot::Magnets { lower, upper, .. }, axle: None, .. }) = joint {
                for seat in [lower, upper] {
                    if self.holed.contains(&seat.layer) {
                        seat.depth = Depth::Through;
                    }
                }
            }
        }
        whole &= self.steel_between(&joints, layers);
        whole.then_some(joints)
    }

    /// Whether no washer in a hole right through serves two turns.
    fn steel_between(&mut self, joints: &[Joint], layers: &[Layer]) -> bool {
        let turns = joints.iter().filter_map(|joint| if let Joint::Turn(turn) = joint { Some(turn) } else { None });
        let through: Vec<(&Magnet, usize, Span)> = turns
            .filter(|turn| turn.axle.is_none())
            .flat_map(|turn| turn.pivot.seats().into_iter().flatten().map(|(disc, seat)| (disc, seat, turn.origin)))
            .filter(|(_, seat, _)| seat.depth == Depth::Through)
            .map(|(disc, seat, origin)| (disc, seat.layer, origin))
            .collect();
        let steel = through.iter().filter(|(disc, ..)| disc.steel.is_some());
        let mut twice = steel.filter(|(_, layer, _)| through.iter().filter(|(_, other, _)| other == layer).count() > 1);
        let Some((disc, layer, origin)) = twice.next_back() else { return true };
        let layer = layers.get(*layer).map_or("", |layer| layer.name.as_str());
        self.eval.problems.push(magnets::steel_between(&disc.name, layer, *origin));
        false
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
        let across = Across { lower: below, upper: below + 1, axle: None };
        self.held(order, &across, (pivot, fields, span), (stops, turning), layers)
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
