//! What the script needs to know, as JSON.

use serde_json::{Value, json};

use super::Shown;
use super::picture::ROOM;
use crate::audit::{CheckedReading, CheckedStop};
use crate::design::pose::upright;
use crate::design::{Design, Face, Half, Pole, ReadsHow, hex};
use crate::output::discs::{Disc, discs};
use crate::output::look::Look;
use crate::portrait::falls;

/// The facts, safe to stand in a `script` element: no `<` is left in them.
///
/// | key | value |
/// | --- | --- |
/// | `reach` | half the side of every picture, in mm |
/// | `layers` | bottom first: how many turns lie below each |
/// | `wheels` | for each layer `null`, or of a wheel its `turn`, the `sign` of the way that it turns as stops go up, and where its axis is, in mm: `x` to the right, `y` up |
/// | `upright` | the layer that stands upright, seen from the front and from the back |
/// | `thick` | for each layer its thickness, in mm |
/// | `falls` | for each layer how far its shadow falls, in mm to the right and down |
/// | `magnets` | of each its `layer` and whether it lies on its `front`, where its axis is, its `radius` in mm, and whether its north pole looks `up` |
/// | `levels` | for each layer at which level it is laid apart: wheels of one frame lie side by side |
/// | `turns` | bottom first: `stops`, in degrees clockwise, whether the `lower` half is turned, and whether a pin `ends` it at its first and last stop |
/// | `readings` | `ring`, `how`, the `turns` it depends on, and of each combination of their stops, the last running fastest: what is due, what shows instead (or `null`), the margin in mm (or `null` where nothing is near) |
/// | `tones` | each colour bare, stained and filled |
pub(super) fn facts(shown: &Shown<'_>, look: &Look<'_>) -> String {
    let design = shown.design;
    let held = [Face::Front, Face::Back].map(|face| upright(design, face));
    let thick = || design.layers.iter().map(|layer| layer.stock.thickness.mean.as_mm());
    let tones = look.tones().iter().map(|tones| tones.map(hex).to_vec());
    let facts = json!({
        "reach": rounded(look.reach() * ROOM),
        "layers": (0..design.layers.len()).map(|at| turns_below(design, at)).collect::<Vec<_>>(),
        "wheels": (0..design.layers.len()).map(|at| wheel(design, at)).collect::<Vec<_>>(),
        "upright": held,
        "thick": thick().map(rounded).collect::<Vec<_>>(),
        "falls": thick().map(falls).map(|(right, down)| [rounded(right), rounded(down)]).collect::<Vec<_>>(),
        "magnets": discs(design, shown.audit).iter().map(magnet).collect::<Vec<_>>(),
        "levels": levels(design),
        "turns": design.turns().map(|(_, turn)| json!({
            "stops": turn.stops.iter().map(|stop| rounded(stop.as_degrees())).collect::<Vec<_>>(),
            "lower": turn.turning == Half::Lower,
            "ends": turn.ends.is_some(),
        })).collect::<Vec<_>>(),
        "readings": shown.audit.reading_check.readings.iter().map(reading).collect::<Vec<_>>(),
        "tones": tones.collect::<Vec<_>>(),
    });
    // A label may hold `</script>`, which would end the element there.
    facts.to_string().replace('<', "\\u003c")
}

fn magnet(disc: &Disc) -> Value {
    let (layer, face) = disc.seat;
    let radius = rounded(disc.magnet.diameter.as_mm() / 2.0);
    json!({
        "layer": layer, "front": face == Face::Front, "x": rounded(disc.place.x), "y": rounded(disc.place.y), "radius": radius,
        // Null of what shows no pole that matters.
        "up": disc.north.map(|north| north == Pole::Up),
    })
}

fn turns_below(design: &Design, layer: usize) -> usize {
    design.turns().filter(|(below, _)| *below < layer && !design.is_wheel(below + 1)).count()
}

fn wheel(design: &Design, layer: usize) -> Value {
    let turn = design.turns().position(|(below, _)| below + 1 == layer && design.is_wheel(layer));
    let axis = design.axis(layer);
    turn.map_or(Value::Null, |turn| json!({ "turn": turn, "sign": if design.is_hand(layer) { 1 } else { -1 }, "x": rounded(axis.x), "y": rounded(axis.y) }))
}

fn levels(design: &Design) -> Vec<usize> {
    let mut level = 0;
    let each = (0..design.layers.len()).map(|at| {
        let beside = at > 0 && design.is_wheel(at) && design.is_wheel(at - 1);
        level += usize::from(at > 0 && !beside);
        level
    });
    each.collect()
}

fn reading(checked: &CheckedReading) -> Value {
    let how = if checked.how == ReadsHow::Through { "through" } else { "beside" };
    json!({
        "ring": checked.ring,
        "how": format!("{how} {}", checked.by.join(", ")),
        "turns": checked.turns,
        "stops": checked.stops.iter().map(stop).collect::<Vec<_>>(),
    })
}

fn stop(stop: &CheckedStop) -> Value {
    let shows = (!stop.reads).then(|| stop.shows());
    json!([stop.due_says, shows, stop.near_margin().map(|margin| rounded(margin.as_mm()))])
}

/// To a ten-thousandth, which is finer than anyone sees.
fn rounded(value: f64) -> f64 {
    crate::units::rounded(value, 4)
}
