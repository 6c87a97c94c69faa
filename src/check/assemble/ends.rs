//! The ends of a turn: its pin and slot from the field, and the hole and slot that they need added to the layers.

use super::Assembler;
use crate::check::findings::pins as say;
use crate::check::value::{PivotValue, Value};
use crate::design::{Ends, Face, Half, Layer, Mark, Pin, Shape, Work};
use crate::geometry::Region;
use crate::syntax::tree::Expr;
use crate::units::{Angle, Length};

impl<'t> Assembler<'_, 't> {
    /// The ends of the turn above layer `below`; at fault where they are no dowel beside the axis, or leave no web.
    pub(super) fn ends(
        &mut self,
        (below, turning): (usize, Half),
        expr: &'t Expr,
        stops: &[Angle],
        layers: &mut [Layer],
    ) -> Option<Ends> {
        let Value::Pivot(PivotValue::Pin { pin, radius, bearing, play }) = self.eval.value(expr)? else {
            return self.eval.report(say::ends_want_a_pin(expr.span));
        };
        let pin = match self.shop.pins.get(&*pin).cloned()? {
            Pin::Glued(dowel) => dowel,
            Pin::Clamps(screw) => return self.eval.report(say::ends_on_a_screw(&screw.name, expr.span)),
        };
        let Some(radius) = radius else { return self.eval.report(say::ends_without_radius(&pin.name, expr.span)) };
        let ends = Ends { pin, radius: Length::mm(radius), bearing, play, origin: expr.span };
        if ends.radius <= (ends.pin.shank + ends.pin.clearance) / 2.0 {
            return self.eval.report(say::ends_on_the_axis(&ends, expr.span));
        }
        let (from, to) = ends.way(stops, turning);
        if (to - from).as_degrees() < 1e-6 {
            return self.eval.report(say::ends_of_one_stop(expr.span));
        }
        let web = ends.web(stops, turning);
        if web <= Length::ZERO {
            return self.eval.report(say::end_slot_goes_round(&ends, to - from, expr.span));
        }
        let (hole, slot) = (ends.hole(), ends.slot(stops, turning));
        let (hole, slot) = (self.eval.shaped(hole, expr.span)?, self.eval.shaped(slot, expr.span)?);
        let (stays, turns) = Ends::layers(below, turning);
        let mark = |shape: Region| Mark {
            name: None,
            face: Face::Front,
            work: Work::Hole,
            shape: Shape::Region(shape),
            lettering: None,
            origin: expr.span,
        };
        layers.get_mut(stays)?.marks.push(mark(hole));
        layers.get_mut(turns)?.marks.push(mark(slot));
        Some(ends)
    }
}
