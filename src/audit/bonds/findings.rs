//! What is said of the joints that are glued.

use crate::design::{Glue, Layer, Mark, Work};
use crate::diagnostics::{Diagnostic, Finding};
use crate::units::percent;

/// A glue that dries into pores, on a stock that has none.
pub fn glue_does_not_take(glue: &Glue, layer: &Layer) -> Diagnostic {
    let (adhesive, stock) = (&glue.adhesive.name, &layer.stock.name);
    Diagnostic::warning(
        Finding::GlueDoesNotTake,
        format!("`{adhesive}` sets by drying into pores, and `{stock}`, of which `{}` is made, has none", layer.name),
    )
    .label(glue.origin, "glued with it")
    .about(&layer.name)
    .help("take a glue that sets by itself, such as an epoxy, and roughen both faces; try it on scraps first")
}

/// Glue that holds the paint and not the wood.
pub fn glued_on_paint(glue: &Glue, layer: &Layer, mark: &Mark, share: f64) -> Diagnostic {
    Diagnostic::warning(
        Finding::GluedOnPaint,
        format!(
            "paint lies in {} of the joint on `{}`, and glue holds no better than the paint does",
            percent(share, 0),
            layer.name
        ),
    )
    .label(glue.origin, "glued here")
    .label(mark.origin, "painted")
    .about(&layer.name)
    .help("keep the paint out of the joint: paint only what an opening shows, or leave the rest `bare`")
}

/// How a layer hides what lies beneath it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Hides {
    /// It is glued there.
    Glued,
    /// It turns, and no stop bares it.
    AtEveryStop,
}

/// Work that another layer lies over.
pub fn never_seen(layer: &Layer, mark: &Mark, other: &Layer, how: Hides) -> Diagnostic {
    let kind = if mark.work == Work::Score { "scored line" } else { "engraving" };
    let called = mark.name.as_ref().map_or_else(|| format!("the {kind}"), |name| format!("the {kind} `{name}`"));
    let lies = match how {
        Hides::Glued => format!("`{}` is glued over all of it", other.name),
        Hides::AtEveryStop => format!("at every stop `{}` lies over all of it", other.name),
    };
    Diagnostic::advice(Finding::NeverSeen, format!("{called} of `{}` is never seen: {lies}", layer.name))
    .label(mark.origin, "under the other layer")
    .about(&layer.name)
    .help(match how {
        Hides::Glued => {
            "put it on the layer or the face that is seen, or cut an opening over it; accept it where it is meant for the bench"
        }
        Hides::AtEveryStop => {
            "put it on the layer or the face that is seen, or cut an opening that comes over it; accept it where it is meant to \
             stay inside, as a maker's mark is"
        }
    })
}
