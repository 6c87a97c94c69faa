//! The work on one board in the trade's order: engrave, score, pockets, openings, outlines, then the person.

use super::flip::FlipMethod;
use super::layer_plan::LayerPlan;
use super::model::{LaidInto, Lie, PlacedPart, Print, Setup, Turned, TurnedPart};
use super::operation::{CutEdge, Operation, OperationKind};
use super::{describe, kerf, order};
use crate::design::{Depth, Face, Layer, Ring, RingWork, Shape, Stock, Work};
use crate::geometry::{Region, polar};
use crate::source::Span;
use crate::units::{Angle, Length};
use crate::work::spend_on;
use kurbo::{Affine, Point, Rect};

/// Steps for a piece of outline that is kept for a part: with them all that is kept stays well below the memory that a dial may
/// take.
const PIECE: u64 = 450;

/// The stages of one setup, in order.
const STAGES: [Stage; 7] = [
    Stage::Engrave,
    Stage::Score,
    Stage::Pocket,
    Stage::Openings,
    Stage::GuestOutlines,
    Stage::HostOpenings,
    Stage::Outlines,
];

/// What a tick in the waste is called.
const WITNESS: &str = "witness";

#[derive(Clone, Copy, PartialEq)]
enum Stage {
    Engrave,
    Score,
    Pocket,
    Openings,
    /// Parts that lie in an opening of another one, before that opening's waste falls out with what is left of it.
    GuestOutlines,
    HostOpenings,
    Outlines,
}

/// The setups of a board; `count` of them, the board itself turned between them where `turned` says so.
pub(super) fn setups(
    parts: &[(PlacedPart, &LayerPlan<'_>)],
    (stock, print): (&Stock, Option<&Print>),
    turned: bool,
    count: usize,
) -> Vec<Setup> {
    (0..count)
        .map(|setup| {
            let turned = match (setup, turned) {
                (0, _) => Turned::AsLaid,
                (_, true) => Turned::BoardOver,
                (_, false) => Turned::PartsOver(turned_parts(parts)),
            };
            let registers = describe::registers((&turned, setup), stock, print);
            let before = if setup == 0 { describe::stained_before(parts) } else { Vec::new() };
            let mut operations: Vec<Operation> = before.into_iter().map(pause).collect();
            let (done, travel, saved) = work(parts, setup, count);
            operations.extend(done);
            operations.extend(pauses(parts, stock, setup, count, &turned));
            let (travel, travel_saved) = (Length::mm(travel), Length::mm(saved));
            Setup { turned, registers, operations, travel, travel_saved }
        })
        .collect()
}

/// The operations of one setup, how far the machine moves between them, and how much less that is than as laid.
fn work(parts: &[(PlacedPart, &LayerPlan<'_>)], setup: usize, count: usize) -> (Vec<Operation>, f64, f64) {
    let lying = || parts.iter().filter_map(|(part, plan)| part.lies.get(setup).map(|lie| (part, *plan, *lie)));
    let staged = STAGES.into_iter().map(|stage| {
        let each = lying().flat_map(move |(part, plan, lie)| match stage {
            Stage::Openings | Stage::GuestOutlines | Stage::HostOpenings | Stage::Outlines if lie.cut => {
                cut((part, plan, lie), stage, parts)
            }
            Stage::Engrave | Stage::Score | Stage::Pocket if lie.worked => {
                worked(part, plan, lie, stage, visit(plan, setup, count))
            }
            _ => Vec::new(),
        });
        each.collect::<Vec<Operation>>()
    });
    let (mut operations, mut travel, mut saved) = (Vec::new(), 0.0, 0.0);
    let mut at = Point::ORIGIN;
    for stage in staged {
        let ordered = order::ordered(stage, &mut at);
        travel += ordered.travel;
        saved += ordered.given - ordered.travel;
        operations.extend(ordered.operations);
    }
    (operations, travel, saved)
}

/// Which of the part's visits a setup is: the first one of a part that is lifted out is the first setup, the last one on a
/// board that is turned over is the last.
fn visit(plan: &LayerPlan<'_>, setup: usize, count: usize) -> usize {
    if plan.method == FlipMethod::BoardOver { (setup + plan.sequence.faces.len()).saturating_sub(count) } else { setup }
}

/// What is done to the upper face in one stage of one visit, in the order of the source.
fn worked(part: &PlacedPart, plan: &LayerPlan<'_>, lie: Lie, stage: Stage, visit: usize) -> Vec<Operation> {
    let is_now = |face: Face, origin: Span| {
        face == lie.up
            && (matches!(plan.method, FlipMethod::OneFace(_)) || plan.sequence.when(face, origin) == Some(visit))
    };
    let rings = plan.rings.iter().filter(|(ring, _)| is_now(ring.face, ring.origin)).filter_map(|(ring, shape)| {
        let kind = ring_work(ring, stage, || shape.transformed(lie.at))?;
        Some(operation(part, kind, lie.up, Some(&ring.name), ring.origin))
    });
    let marks = plan.marks.iter().filter(|(mark, _)| is_now(mark.face, mark.origin)).filter_map(|(mark, shape)| {
        let kind = mark_work(&mark.work, shape, plan.layer, lie.at, stage)?;
        Some(operation(part, kind, lie.up, mark.name.as_ref(), mark.origin))
    });
    let ticks = plan.witness.iter().filter(|_| stage == Stage::Score && lie.cut).map(|line| {
        let kind = OperationKind::Score { shape: Shape::Trace(line.transformed(lie.at)) };
        operation(part, kind, lie.up, Some(&WITNESS.to_owned()), plan.layer.outline_origin)
    });
    let is_something = |operation: &Operation| operation.path().is_some_and(|path| !path.elements().is_empty());
    let mut all: Vec<Operation> = rings.chain(marks).chain(ticks).filter(is_something).collect();
    all.sort_by_key(|operation| operation.origin);
    spend_on(all.iter().filter_map(Operation::path).map(|path| path.elements().len()).sum(), PIECE);
    all
}

fn operation(part: &PlacedPart, kind: OperationKind, face: Face, name: Option<&String>, origin: Span) -> Operation {
    Operation { kind, part: Some(part.name.clone()), face: Some(face), name: name.cloned(), origin: Some(origin) }
}

fn ring_work(ring: &Ring, stage: Stage, shape: impl FnOnce() -> Shape) -> Option<OperationKind> {
    match (ring.work, stage) {
        (RingWork::Engraved, Stage::Engrave) => {
            Some(OperationKind::Engrave { shape: shape(), tone: ring.tone, depth: None })
        }
        (RingWork::Scored, Stage::Score) => Some(OperationKind::Score { shape: shape() }),
        _ => None,
    }
}

fn mark_work(work: &Work, shape: &Shape, layer: &Layer, at: Affine, stage: Stage) -> Option<OperationKind> {
    let shape = || shape.transformed(at);
    match (work, stage) {
        (Work::Engrave { tone, depth, .. }, Stage::Engrave) => {
            Some(OperationKind::Engrave { shape: shape(), tone: *tone, depth: *depth })
        }
        (Work::Score, Stage::Score) => Some(OperationKind::Score { shape: shape() }),
        (Work::Pocket { depth: Depth::Down(depth) }, Stage::Pocket) => Some(OperationKind::Pocket {
            shape: shape(),
            depth: *depth,
            floor: layer.stock.thickness.mean - depth.made(),
        }),
        _ => None,
    }
}

/// A part that lies in an opening of another one.
pub(super) struct Guest {
    /// Its place among the parts.
    pub(super) part: usize,
    /// The other one's name.
    pub(super) host: String,
}

/// Which parts of a board lie in an opening of another one.
pub(super) fn guests(parts: &[(PlacedPart, &LayerPlan<'_>)]) -> Vec<Guest> {
    // Every part is cut once, and all of a board in the same setup.
    let cut = || parts.iter().filter_map(|(part, plan)| Some((part, *plan, part.lies.iter().find(|lie| lie.cut)?)));
    let boxes = |region: &Region, at: Affine| region.transformed(at).bounds().unwrap_or_default();
    let size = |plan: &LayerPlan<'_>| plan.cuts.outline.tool_path().bounds().unwrap_or_default().size().min_side();
    // Only openings wide enough for the narrowest part can hold one, and most are windows and seats of magnets: they
    // are left out before any region is moved.
    let least = cut().map(|(_, plan, _)| size(plan)).fold(f64::INFINITY, f64::min);
    let is_wide = |region: &&Region| region.bounds().unwrap_or_default().size().max_side() > least;
    let openings = cut().flat_map(|(part, plan, lie)| {
        let wide = plan.cuts.openings.iter().map(|opening| &opening.region).filter(is_wide);
        wide.map(|region| (part, region.transformed(lie.at), boxes(region, lie.at))).collect::<Vec<_>>()
    });
    let openings: Vec<(&PlacedPart, Region, Rect)> = openings.collect();
    if openings.is_empty() {
        return Vec::new();
    }
    let lies_in = |(part, (own, plan)): (usize, &(PlacedPart, &LayerPlan<'_>))| {
        let lie = own.lies.iter().find(|lie| lie.cut)?;
        let own = boxes(plan.cuts.outline.tool_path(), lie.at);
        let inside = |(_, region, box_): &&(&PlacedPart, Region, Rect)| {
            box_.contains_rect(own) && region.covers(&plan.cuts.outline.tool_path().transformed(lie.at))
        };
        openings.iter().find(inside).map(|(host, ..)| Guest { part, host: host.name.clone() })
    };
    parts.iter().enumerate().filter_map(lies_in).collect()
}

/// What is cut for a part in one stage: its openings, or its outline with the holder that it needs later.
fn cut(
    (part, plan, lie): (&PlacedPart, &LayerPlan<'_>, Lie),
    stage: Stage,
    parts: &[(PlacedPart, &LayerPlan<'_>)],
) -> Vec<Operation> {
    let kind = |region: &Region, at: Affine, edge: CutEdge| OperationKind::Cut {
        shape: Shape::Region(region.transformed(at)),
        edge,
        kerf_offset: kerf::offset(plan.layer),
    };
    let cuts = &plan.cuts;
    if matches!(stage, Stage::Openings | Stage::HostOpenings) {
        let own = || parts.iter().filter(|(it, _)| it.inside.as_ref() == Some(&part.name));
        let holds = |region: &Region| {
            let mut middles = own().filter_map(|(guest, plan)| middle(guest, plan)).peekable();
            middles.peek().is_some() && {
                let there = region.transformed(lie.at);
                middles.any(|at| there.contains(at))
            }
        };
        let is_now = |region: &Region| !region.is_empty() && holds(region) == (stage == Stage::HostOpenings);
        let openings = cuts.openings.iter().filter(|opening| is_now(&opening.region)).map(|opening| {
            operation(
                part,
                kind(&opening.region, lie.at, CutEdge::Opening),
                lie.up,
                opening.name.as_ref(),
                opening.origin,
            )
        });
        return openings.collect();
    }
    if part.inside.is_some() != (stage == Stage::GuestOutlines) {
        return Vec::new();
    }
    let holder = match plan.method {
        FlipMethod::Holder(over) => Some(Operation {
            kind: kind(cuts.outline.tool_path(), lie.at * over, CutEdge::Holder),
            part: Some(part.name.clone()),
            face: None,
            name: None,
            origin: None,
        }),
        _ => None,
    };
    let outline = kind(cuts.outline.tool_path(), lie.at, CutEdge::Outline);
    holder.into_iter().chain([operation(part, outline, lie.up, None, plan.layer.outline_origin)]).collect()
}

/// The middle of a part's outline on its board.
fn middle(part: &PlacedPart, plan: &LayerPlan<'_>) -> Option<Point> {
    let lie = part.lies.iter().find(|lie| lie.cut)?;
    Some(plan.cuts.outline.tool_path().transformed(lie.at).bounds()?.center())
}

fn turned_parts(parts: &[(PlacedPart, &LayerPlan<'_>)]) -> Vec<TurnedPart> {
    let over = parts.iter().filter_map(|(part, plan)| {
        let first = part.lies.first()?;
        let (about, into) = match plan.method {
            FlipMethod::OwnOpening(axis) => (bearing(first.at, polar(1.0, axis)), LaidInto::OwnOpening),
            FlipMethod::Holder(over) => (bearing(first.at, fold(over)), LaidInto::Holder),
            FlipMethod::OneFace(_) | FlipMethod::BoardOver => return None,
        };
        Some(TurnedPart { part: part.name.clone(), about, into, play: plan.play })
    });
    over.collect()
}

/// A direction along the fold of a holder: upright where the mirror swaps left and right, else level.
fn fold(over: Affine) -> Point {
    let [x_to_x, ..] = over.as_coeffs();
    polar(1.0, if x_to_x < 0.0 { Angle::ZERO } else { Angle::degrees(90.0) })
}

/// The bearing on the board, from 0 to below 180 degrees, of a line along `direction` on the part.
fn bearing(at: Affine, direction: Point) -> Angle {
    let along = at * direction - at * Point::ORIGIN;
    let degrees = along.x.atan2(along.y).to_degrees().rem_euclid(180.0);
    Angle::degrees(if 180.0 - degrees < 1e-6 { 0.0 } else { degrees })
}

fn pauses(
    parts: &[(PlacedPart, &LayerPlan<'_>)],
    stock: &Stock,
    setup: usize,
    count: usize,
    now: &Turned,
) -> Vec<Operation> {
    let instructions = match (setup + 1 < count, now) {
        (false, _) => describe::by_hand(parts),
        (true, _) => {
            let over = turned_parts(parts);
            vec![if over.is_empty() { describe::turn_board(stock) } else { describe::turn_parts(parts, &over) }]
        }
    };
    instructions.into_iter().map(pause).collect()
}

fn pause(instruction: String) -> Operation {
    Operation { kind: OperationKind::Pause { instruction }, part: None, face: None, name: None, origin: None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{mirror, turn};

    #[test]
    fn a_bearing_on_the_board_follows_the_part() {
        let at = Affine::translate((30.0, 40.0)) * turn(Angle::degrees(90.0));
        let about = bearing(at, polar(1.0, Angle::degrees(20.0)));
        assert!((about.as_degrees() - 110.0).abs() < 1e-9);
        let mirrored = bearing(at * mirror(Angle::ZERO), polar(1.0, Angle::degrees(20.0)));
        assert!((mirrored.as_degrees() - 70.0).abs() < 1e-9);
    }
}
