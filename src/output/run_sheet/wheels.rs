//! What is laid in before a frame is closed, and what is put on once it is.

use crate::design::{Design, Pivot};
use crate::diagnostics::listed;
use crate::plan::place_words;

/// Wheels that the layer `lid` shuts in, to be laid in before it is glued on.
pub(super) fn laid_in(design: &Design, lid: usize) -> Option<String> {
    let shut: Vec<(usize, String)> = design
        .wheels()
        .filter(|(.., axle)| axle.lid == Some(lid))
        .filter_map(|(at, layer, _, axle)| {
            Some((at, format!("`{}` into `{}`", layer.name, axle.wall.as_ref()?.opening)))
        })
        .collect();
    let (first, _) = shut.first()?;
    let alike = shut.len() > 1 && shut.iter().skip(1).all(|(at, _)| design.alike(*at) == Some(*first));
    let each = if shut.len() > 1 { "each must turn freely" } else { "it must turn freely" };
    let any = if alike { "; they are alike, so any of them may go into any" } else { "" };
    let names = listed(shut.iter().map(|(_, says)| says.as_str()), "and");
    Some(format!("Once the glue below has cured, lay {names}, front up{any}; {each} before the next layer comes on."))
}

/// How often glue must have cured before a dial is done: once, and once more before each layer that shuts wheels in.
pub(super) fn goes(design: &Design) -> u32 {
    let bonds = design.bonds().skip(1);
    let shut = bonds.filter(|(_, upper, _)| design.wheels().any(|(.., axle)| axle.lid == Some(*upper)));
    u32::try_from(shut.count()).unwrap_or(0) + 1
}

/// That no glue may come near wheels, where two layers are glued around some.
pub(super) fn glue_kept_off(design: &Design, (lower, upper): (usize, usize)) -> Option<&'static str> {
    let mut in_walls = design.wheels().map(|(.., axle)| axle).filter(|axle| axle.wall.is_some());
    let round =
        in_walls.any(|axle| axle.floor.is_none_or(|floor| floor <= lower) && axle.lid.is_none_or(|lid| upper <= lid));
    round.then_some(", none of it within 2 mm of an opening that a wheel turns in")
}

/// Where every hand is put on, and by what.
pub(super) fn put_on(design: &Design) -> Vec<String> {
    let hands = design.wheels().filter(|(at, ..)| design.is_hand(*at));
    let put = hands.filter_map(|(_, layer, turn, axle)| {
        let carrier = &design.layers.get(axle.carrier)?.name;
        let held = match &turn.pivot {
            Pivot::Magnets { magnet, .. } => format!("onto its {} `{}`", magnet.word(), magnet.name),
            Pivot::Rivet(rivet) => format!("with the {} `{}` through both", rivet.kind.word(), rivet.name),
            Pivot::Wall => return None,
        };
        let at = place_words(axle.centre);
        Some(format!("Put `{}`, front up, on `{carrier}` {at}, {held}; it must turn freely.", layer.name))
    });
    put.collect()
}
