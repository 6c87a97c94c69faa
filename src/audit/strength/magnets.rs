//! Magnets and rivets in their seats.

use kurbo::Point;

use super::findings as say;
use crate::design::axis::{Contradiction, Odds, magnets};
use crate::design::{Depth, Design, Face, Layer, Magnet, Mark, Pivot, Seat, Shape, Turn, Work};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, TOUCH_MM};
use crate::statistics::normal;
use crate::units::Length;

/// How far off the axis a magnet's pocket may stand, in mm (common practice, no source).
const OFF_CENTRE_MM: f64 = 0.05;
/// How much wider than asked for by its clearance a drawn seat may be, in mm, so that its wall still centres the magnet (common
/// practice, no source).
const LOOSE_MM: f64 = 0.5;

/// Checks the pivot of every turn.
pub(super) fn check(design: &Design, problems: &mut Problems) {
    let (_, at_odds) = magnets(design);
    // A hole that two turns want for different magnets fits at most one of them, which is said once.
    let wanted_twice = |seat: &Seat| {
        let here = |odds: &Contradiction| odds.layer == seat.layer && matches!(odds.odds, Odds::Magnets(..));
        seat.depth == Depth::Through && at_odds.iter().any(here)
    };
    for (below, turn) in design.turns() {
        match &turn.pivot {
            Pivot::Magnets { .. } => {
                let seats = turn.pivot.seats().into_iter().flatten();
                for seat in seats.filter(|(_, seat)| !wanted_twice(seat)) {
                    check_seat(design, turn, seat, problems);
                }
            }
            Pivot::Rivet(rivet) => {
                let (stack, strays) = gripped(design, below);
                let (least, most) = rivet.grips;
                let rooms = [stack - least, most - stack].map(Length::as_mm);
                if rooms.iter().any(|room| *room < 0.0) {
                    problems.push(say::rivet_grip(turn, rivet, stack));
                } else if rooms.iter().any(|room| *room < normal::FREE * strays.as_mm() - TOUCH_MM) {
                    let lacking = rooms.iter().map(|room| normal::lacking(*room, strays.as_mm())).sum();
                    problems.push(say::rivet_grips_some(turn, rivet, (stack, strays), lacking));
                }
            }
            Pivot::Wall => {}
        }
    }
}

/// Thickness of all that a rivet joins, boards and glue, and its standard deviation.
fn gripped(design: &Design, below: usize) -> (Length, Length) {
    let joined = design.joined(below);
    let layers = || joined.iter().filter_map(|at| design.layers.get(*at));
    let films = design.bonds().filter(|(below, above, _)| joined.contains(below) && joined.contains(above));
    let films: Vec<Length> = films.map(|(.., glue)| glue.adhesive.film).collect();
    let strays = design.height_strays(layers(), films.len());
    let boards = layers().map(|layer| layer.stock.thickness.mean);
    (boards.chain(films).fold(Length::ZERO, |all, part| all + part), strays)
}

/// Standard deviation of the room that a magnet has in its seat, in mm: that of the beam and of the magnet.
fn seat_strays(design: &Design, magnet: &Magnet) -> f64 {
    design.spreads.kerf.as_mm().hypot(magnet.diameter_strays.as_mm())
}

fn check_seat(design: &Design, turn: &Turn, (magnet, seat): (&Magnet, &Seat), problems: &mut Problems) {
    let Some(layer) = design.layers.get(seat.layer) else { return };
    let about = design.axis_on(turn, seat.layer);
    let Some((mark, region)) = seat_mark(layer, (seat, about), magnet) else {
        problems.push(say::magnet_without_pocket(turn, magnet, layer));
        return;
    };
    let flat = FlattenedShape::of(region);
    let centre = region.centroid().unwrap_or_default();
    let off_centre = centre.distance(about) > OFF_CENTRE_MM;
    if off_centre {
        problems.push(say::pocket_off_centre(layer, mark.origin, (centre - about).to_point()));
    }
    let radius = flat.distance_to(centre).map_or(0.0, |(mm, _)| mm);
    if radius < magnet.diameter.as_mm() / 2.0 - TOUCH_MM {
        problems.push(say::magnet_too_wide(layer, mark.origin, magnet, Length::mm((200.0 * radius).round() / 100.0)));
    }
    let (room, strays) = (2.0 * radius - magnet.diameter.as_mm(), seat_strays(design, magnet));
    let first = |mark: &Mark| mark.origin != turn.origin || seat.face == Face::Front;
    if room >= -2.0 * TOUCH_MM && room < normal::FREE * strays - TOUCH_MM && first(mark) {
        let made = (room - magnet.clearance.as_mm()).abs() < OFF_CENTRE_MM / 10.0;
        problems.push(say::magnets_tight(layer, (mark.origin, made), magnet, (room.max(0.0), strays)));
    }
    // Of a seat beside the axis, and of a layer that is wholly cut away, that is said.
    let sound = !off_centre && !layer.material().is_empty();
    if sound && 2.0 * radius > (magnet.diameter + magnet.clearance).as_mm() + LOOSE_MM {
        problems.push(say::magnet_too_loose(layer, mark.origin, magnet, Length::mm((200.0 * radius).round() / 100.0)));
    }
}

/// The pocket nearest to the axis, which stands at a point of the layer, on the seat's face that the magnet could lie in.
pub(crate) fn seat_mark<'a>(
    layer: &'a Layer,
    (seat, about): (&Seat, Point),
    magnet: &Magnet,
) -> Option<(&'a Mark, &'a Region)> {
    let through = |mark: &Mark| matches!(mark.work, Work::Hole | Work::Window | Work::Pocket { depth: Depth::Through });
    let fits = |mark: &Mark| match seat.depth {
        Depth::Through => through(mark),
        Depth::Down(_) => mark.face == seat.face && matches!(mark.work, Work::Pocket { depth: Depth::Down(_) }),
    };
    let regions = layer.marks.iter().filter(|mark| fits(mark)).filter_map(|mark| match &mark.shape {
        Shape::Region(region) => Some((mark, region)),
        Shape::Trace(_) => None,
    });
    let off = |region: &Region| region.bounds().map_or(f64::INFINITY, |bounds| bounds.center().distance(about));
    let near = regions.filter(|(_, region)| region.contains(about) || off(region) < magnet.diameter.as_mm() / 2.0);
    // Of a recess and the seat sunk into it both are centred alike: the narrower one holds the magnet.
    let place = |region: &Region| ((off(region) / TOUCH_MM).round(), region.area());
    near.min_by(|a, b| {
        let (one, other) = (place(a.1), place(b.1));
        one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1))
    })
}
