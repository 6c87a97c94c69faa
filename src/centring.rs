//! How far the pockets of parts that are turned over stray, and what is done about it where readings have no room for it.

use crate::audit::tolerance::overrun;
use crate::audit::{Audit, audit};
use crate::design::{self, Design, FlipChoice, Layer};
use crate::diagnostics::Problems;
use crate::parallel::side_by_side;
use crate::plan::{Effort, OutlineCache, Plan, is_two_faced, least_centred, plan_with};
use crate::units::{Length, plain};

/// What is said of the centring that follows from how parts are turned over.
const CENTRING: &str = "concentricity of the pockets";

/// The audit and the plan, side by side: each rests on what the other makes of parts that are turned over, so what was
/// taken beforehand is looked at again where it turns out otherwise.
pub(crate) fn examined(design: &mut Design, effort: Effort) -> (Audit, (Option<Plan>, Problems)) {
    let cache = OutlineCache::default();
    centring(design, None, &cache);
    let (mut audited, mut planned) = side_by_side(|| audit(design), || plan_with(design, effort, &cache));
    if turn_boards(design, &audited) {
        planned = plan_with(design, effort, &cache);
    }
    let strays = design.spreads.from_turning;
    centring(design, planned.0.as_ref(), &cache);
    if strays != design.spreads.from_turning {
        audited = audit(design);
    }
    (audited, planned)
}

/// Has boards turned over whole for layers that the maker leaves to the plan, where readings leave less room than their
/// pockets take in the openings, and a turned board takes less; tells whether there are any.
fn turn_boards(design: &mut Design, audited: &Audit) -> bool {
    let board = design::Spreads { from_turning: None, ..design.spreads }.centring();
    let strays = design.spreads.from_turning.filter(|strays| strays.as_mm() > board.as_mm());
    let Some(room) = strays.and_then(|strays| overrun(&audited.reading_check, strays)) else { return false };
    let lifted = |layer: &&mut Layer| layer.flip == FlipChoice::Chosen && is_two_faced(layer);
    let turned = design.layers.iter_mut().filter(lifted).map(|layer| layer.flip = FlipChoice::Centred(room));
    turned.count() > 0
}

/// Where the shop states no centring of the pockets, the play of a part that is turned over gives it: a place drawn evenly
/// from a disc strays by half its radius along each axis, as its standard deviation.
fn centring(design: &mut Design, plan: Option<&Plan>, cache: &OutlineCache) {
    if design.spreads.concentricity.is_some() {
        return;
    }
    design.spreads.from_turning = None;
    design.defaults.retain(|default| default.what != CENTRING);
    let found = least_centred(design, plan, cache).map(|(layer, play)| (layer.name.clone(), layer.origin, play.shift));
    if let Some((name, origin, shift)) = found {
        let strays = Length::mm(shift.as_mm() / 2.0);
        design.spreads.from_turning = Some(strays);
        let why = format!("`{name}` may lie up to {}mm off its place once it is turned over", plain(shift.as_mm(), 3));
        let taken = format!("{}mm", plain(strays.as_mm(), 3));
        design.defaults.push(design::Default { what: CENTRING.to_owned(), taken, why, origin });
    }
}
