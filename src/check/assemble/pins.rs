//! Pins from their blocks: one with a head, a nut and a grip clamps, one with a length is glued in.

use std::collections::BTreeMap;

use super::reader::Reader;
use super::shop::Shop;
use crate::check::evaluate::Evaluator;
use crate::check::findings::pins as say;
use crate::design::{Adhesive, Dowel, Fastener, Head, Pin, Rivet};
use crate::syntax::tree::{ExprKind, Thing};
use crate::units::Length;
use crate::vocabulary::blocks::fields::Pin as Of;

/// A pin, and the adhesive that it names.
pub(super) fn pin<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<(Pin, Option<String>)> {
    let fields = &mut Reader::of(eval, thing);
    let has = |name: Of| fields.fields.get(name).map(|field| field.span);
    let clamps = [Of::Head, Of::Nut, Of::Grips];
    let (there, lacking): (Vec<Of>, Vec<Of>) = clamps.into_iter().partition(|name| has(*name).is_some());
    let glued = [Of::Length, Of::Adhesive].into_iter().find_map(|name| Some((name, has(name)?)));
    match (there.first(), lacking.first(), glued) {
        (None, _, _) if has(Of::Length).is_none() => {
            return fields.eval.report(say::pin_says_neither(&thing.name));
        }
        (Some(one), Some(_), None) => {
            let lacks: Vec<&str> = lacking.iter().map(|name| name.word()).collect();
            return fields.eval.report(say::pin_half_said(&thing.name, one.word(), &lacks));
        }
        (Some(one), _, Some((other, span))) => {
            return fields.eval.report(say::pin_says_both(&thing.name, one.word(), other.word(), span));
        }
        _ => {}
    }
    let shank = fields.measured(Of::Shank);
    let (clearance, cost) = (fields.distance(Of::Clearance), fields.number(Of::Cost));
    let (name, origin) = (thing.name.text.clone(), Some(thing.name.span));
    if there.is_empty() {
        let length = fields.eval.size(fields.fields.expr(Of::Length)?, "`length`");
        let named = fields.fields.word(Of::Adhesive).map(str::to_owned);
        let (shank, clearance) = (shank?.mean, clearance?);
        return Some((
            Pin::Glued(Dowel { name, shank, length: length?, adhesive: None, clearance, cost, origin }),
            named,
        ));
    }
    let (head, nut) = (head(fields, Of::Head), head(fields, Of::Nut));
    let ExprKind::Range { from, to, .. } = &fields.fields.expr(Of::Grips)?.kind else { return None };
    let (least, most) = (fields.eval.size(from, "`grips`"), fields.eval.size(to, "`grips`"));
    let clamping = Rivet {
        name,
        kind: Fastener::Pin,
        shank: shank?.mean,
        heads: [nut?, head?],
        grips: (least?, most?),
        clearance: clearance?,
        cost,
        origin,
    };
    Some((Pin::Clamps(clamping), None))
}

/// How wide and how high a head or nut is.
fn head(fields: &mut Reader<'_, '_, Of>, name: Of) -> Option<Head> {
    let [wide, high] = fields.fields.sides(name)? else { return None };
    let called = format!("`{}`", name.word());
    let sizes = (fields.eval.size(wide, &called), fields.eval.size(high, &called));
    let (diameter, height): (Length, Length) = (sizes.0?, sizes.1?);
    Some(Head { diameter, height })
}

impl Shop {
    /// Gives every dowel the adhesive that it names, else the first by name.
    pub(super) fn glue_dowels(&mut self, named: &BTreeMap<String, String>) {
        for (name, pin) in &mut self.pins {
            let Pin::Glued(dowel) = pin else { continue };
            let chosen: Option<&Adhesive> =
                named.get(name).map_or_else(|| self.adhesives.values().next(), |glue| self.adhesives.get(glue));
            dowel.adhesive = chosen.cloned();
        }
    }
}
