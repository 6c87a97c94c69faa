//! The ends of a turn: its pin and slot from the field, and the hole and slot that they need added to the layers.

use kurbo::{Affine, Vec2};

use super::Assembler;
use super::pivots::{Across, bored};
use crate::check::findings::pins as say;
use crate::check::value::{PivotValue, Value};
use crate::design::{Ends, Half, Layer, Pin, Shape};
use crate::syntax::tree::Expr;
use crate::units::{Angle, Length};

impl<'t> Assembler<'_, 't> {
    /// The ends of a turn; at fault where they are no dowel beside the axis, or leave no web.
    pub(super) fn ends(
        &mut self,
        (across, turning): (&Across, Half),
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
        let (stays, turns) = Ends::layers((across.lower, across.upper), turning);
        for (at, shape) in [(stays, hole), (turns, slot)] {
            let centre = if at == across.lower { across.centre() } else { Vec2::ZERO };
            let shape = Shape::Region(shape.transformed(Affine::translate(centre)));
            layers.get_mut(at)?.marks.push(bored(shape, expr.span));
        }
        Some(ends)
    }
}
