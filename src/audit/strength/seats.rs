//! What breaks into the seats of magnets and rivets: the wall that centres them and that glue holds them by.

use kurbo::{Point, Vec2};

use super::findings as say;
use super::magnets::seat_mark;
use super::{Cutout, Parts, web};
use crate::design::{Depth, Design, Ends, Mark, Pivot, Work};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, TOUCH_MM};
use crate::source::Span;
use crate::units::{Angle, Length};

/// How far apart the points are that are asked of a wall, in mm.
const STEP_MM: f64 = 0.02;
/// How far outside the wall they lie, in mm: a cut along the very same line leaves the wall as it is.
const BESIDE_MM: f64 = 1e-4;

/// A pocket or hole that holds a magnet or a rivet.
pub(crate) struct Seat<'a> {
    pub(crate) mark: &'a Mark,
    region: &'a Region,
    flat: FlattenedShape,
    /// What sits in it, in words.
    pub(crate) holds: String,
    pub(super) held: Held,
}

/// What keeps a thing in its seat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Held {
    /// Glue: the magnet on the axis of the turn above this layer.
    OnAxis(usize),
    /// Glue: a click magnet.
    Glued,
    /// Nothing of the seat's: a rivet.
    Loose,
    /// Nothing: a pin that slides in its slot.
    Sliding,
}

/// What is gone of a seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Broken {
    /// How far round the wall it is gone.
    pub(crate) wall: Angle,
    /// The middle of what is gone.
    pub(crate) at: Point,
    /// How far the cut would have to move to clear the seat.
    pub(crate) deep: Length,
}

/// The seats in one layer of the stack, each once however many turns it serves.
pub(super) fn of(design: &Design, at: usize) -> Vec<Seat<'_>> {
    let Some(layer) = design.layers.get(at) else { return Vec::new() };
    let mut seats: Vec<Seat> = Vec::new();
    for (below, turn) in design.turns() {
        let mut found: Vec<(&Mark, &Region, String, Held)> = Vec::new();
        match &turn.pivot {
            Pivot::Magnets { .. } => {
                for (magnet, seat) in turn.pivot.seats().into_iter().flatten().filter(|(_, seat)| seat.layer == at) {
                    let drawn = seat_mark(layer, (seat, design.axis_on(turn, at)), magnet);
                    let holds = || format!("the {} `{}`", magnet.word(), magnet.name);
                    found.extend(drawn.map(|(mark, region)| (mark, region, holds(), Held::OnAxis(below))));
                }
            }
            Pivot::Rivet(rivet) if design.joined(below).contains(&at) => {
                let axis = design.axis_on(turn, at);
                // The narrowest hole about the axis is the one that holds it.
                let about = layer.openings().filter(|(_, region)| region.contains(axis));
                let hole = about.min_by(|a, b| a.1.area().total_cmp(&b.1.area()));
                found.extend(hole.map(|(mark, region)| {
                    (mark, region, format!("the {} `{}`", rivet.kind.word(), rivet.name), Held::Loose)
                }));
            }
            Pivot::Rivet(_) | Pivot::Wall => {}
        }
        let (lower, upper) = design.across(below);
        if let Some(clicks) = turn.clicks.as_ref().filter(|_| at == lower || at == upper) {
            let theirs = layer.pockets().filter(|(mark, _, _)| mark.origin == clicks.origin);
            let holds = || format!("a click magnet `{}`", clicks.magnet.name);
            found.extend(theirs.map(|(mark, region, _)| (mark, region, holds(), Held::Glued)));
        }
        if let Some(ends) = &turn.ends {
            let (stays, turns) = Ends::layers((lower, upper), turn.turning);
            let held = if at == stays { Held::Glued } else { Held::Sliding };
            let theirs =
                layer.openings().filter(|(mark, _)| (at == stays || at == turns) && mark.origin == ends.origin);
            found.extend(theirs.map(|(mark, region)| (mark, region, format!("the pin `{}`", ends.pin.name), held)));
        }
        for (mark, region, holds, held) in found {
            if !seats.iter().any(|seat| std::ptr::eq(seat.mark, mark)) {
                seats.push(Seat { mark, region, flat: FlattenedShape::of(region), holds, held });
            }
        }
    }
    seats
}

impl Seat<'_> {
    pub(crate) fn called(&self) -> String {
        let kind = match (self.held, &self.mark.work) {
            (Held::Sliding, _) => "slot",
            (_, Work::Pocket { .. }) => "pocket",
            _ => "hole",
        };
        format!("the {kind} of {}", self.holds)
    }

    /// Whether it is in this piece of the layer: sunk into it, or with its wall for an edge.
    pub(super) fn lies_in(&self, piece: &Region, edges: &FlattenedShape) -> bool {
        match self.region.centroid().filter(|_| self.has_floor()) {
            Some(middle) => piece.contains(middle),
            None => self.flat.edge_gap(edges, f64::INFINITY).mm < TOUCH_MM,
        }
    }

    /// Whether it stops short of the other face.
    fn has_floor(&self) -> bool {
        matches!(self.mark.work, Work::Pocket { depth: Depth::Down(_) })
    }

    /// What an opening or pocket takes of its wall, where that is anything.
    fn broken_by(&self, cut: &Cutout) -> Option<Broken> {
        if std::ptr::eq(self.mark, cut.mark) || !self.is_reached_by(cut) {
            return None;
        }
        let gap = self.flat.gap(&cut.flat);
        if gap.mm > TOUCH_MM {
            return None;
        }
        let deep = Length::mm((-gap.mm).max(0.0));
        let (share, at) = self.lost(|point| cut.flat.contains(point));
        // A wider pocket all round is a recess that the seat is sunk into: below it the wall stands.
        let recess = cut.depth.made() > Length::ZERO && share >= 1.0;
        let touched = !gap.overlaps() && share == 0.0 && !self.flat.contains(gap.at.1) && !cut.flat.contains(gap.at.0);
        match at {
            Some(at) if !recess => Some(Broken { wall: Angle::degrees(360.0 * share), at, deep }),
            _ if touched => Some(Broken { wall: Angle::ZERO, at: gap.at.0, deep }),
            _ => None,
        }
    }

    /// Whether what is cut there takes away wall: all that goes through does, and pockets of the same face. Those of the other face
    /// meet it only where they go through its floor, which is said of floors.
    fn is_reached_by(&self, cut: &Cutout) -> bool {
        let is_pocket = matches!(cut.mark.work, Work::Pocket { depth: Depth::Down(_) });
        !is_pocket
            || !matches!(self.held, Held::Loose | Held::Sliding)
                && (!self.has_floor() || cut.mark.face == self.mark.face)
    }

    /// What the layer's edge takes of its wall.
    fn broken_by_edge(&self, outline: &FlattenedShape) -> Option<Broken> {
        if self.flat.lies_clear_in(outline, TOUCH_MM) {
            return None;
        }
        let room = self.flat.room_in(outline);
        let (share, at) = self.lost(|point| !outline.contains(point));
        let deep = Length::mm((-room.mm).max(0.0));
        Some(Broken { wall: Angle::degrees(360.0 * share), at: at.unwrap_or(room.at.0), deep })
    }

    /// The share of the wall beside which `gone` holds, and the middle of it.
    fn lost(&self, gone: impl Fn(Point) -> bool) -> (f64, Option<Point>) {
        let (mut all, mut lost) = (0.0, 0.0);
        let mut places: Vec<Point> = Vec::new();
        for line in self.flat.segments() {
            let way = line.p1 - line.p0;
            let length = way.hypot();
            // The seat lies to the left of its boundary.
            let outward = Vec2::new(way.y, -way.x) * (BESIDE_MM / length.max(f64::MIN_POSITIVE));
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a few thousand")]
            let steps = (length / STEP_MM).ceil().clamp(1.0, 4096.0) as u32;
            for step in 0..steps {
                let point = line.p0 + way * ((f64::from(step) + 0.5) / f64::from(steps));
                all += length / f64::from(steps);
                if gone(point + outward) {
                    lost += length / f64::from(steps);
                    places.push(point);
                }
            }
        }
        let share = if all > 0.0 { lost / all } else { 0.0 };
        // All round it there is no middle but the seat's own.
        if share >= 1.0 - 1e-9 {
            return (1.0, self.region.centroid());
        }
        #[allow(clippy::cast_precision_loss, reason = "a few thousand")]
        let mean = places.iter().fold(Vec2::ZERO, |sum, point| sum + point.to_vec2()) / places.len().max(1) as f64;
        let middle = if places.is_empty() { None } else { self.flat.distance_to(mean.to_point()) };
        (share, middle.map(|(_, at)| at))
    }
}

/// Whether these two pockets are a seat and what breaks into it, so that no more is to be said of their overlap.
pub(super) fn breaks(parts: &Parts, one: &Cutout, other: &Cutout) -> bool {
    let by = |seat: &Cutout, cut: &Cutout| {
        let seat = parts.seats.iter().find(|known| std::ptr::eq(known.mark, seat.mark));
        seat.is_some_and(|seat| seat.broken_by(cut).is_some())
    };
    by(one, other) || by(other, one)
}

/// What was found of one pair of lines in the file, at the seat that it takes most of.
struct Found<'p, 'a> {
    seat: &'p Seat<'a>,
    cut: (String, Span),
    broken: Broken,
    /// How many seats of the same line it breaks into.
    seats: usize,
}

/// Reports every seat that is broken into, once for each two lines of the file.
pub(super) fn check(parts: &Parts, design: &Design, problems: &mut Problems) {
    let mut found: Vec<Found> = Vec::new();
    for seat in &parts.seats {
        let cuts = parts.openings.iter().chain(&parts.pockets);
        // Click magnets whose pockets meet are too close, which is said of them.
        let cuts = cuts.filter(|cut| cut.mark.origin != seat.mark.origin || !parts.is_seat(cut.mark));
        let by = cuts.filter_map(|cut| Some(((cut.called(), cut.mark.origin), seat.broken_by(cut)?, cut)));
        // Where a hole that another turn makes takes all of it, the turns want two magnets in one place, and that is said.
        let of_turn = |mark: &Mark| design.turns().any(|(_, turn)| turn.origin == mark.origin);
        let by = by.filter(|(_, broken, cut)| broken.wall.as_degrees() < 360.0 - 1e-6 || !of_turn(cut.mark));
        let by = by.map(|(called, broken, _)| (called, broken));
        let edge = seat.broken_by_edge(&parts.outline);
        let edge = edge.map(|broken| (("the edge".to_owned(), parts.layer.outline_origin), broken));
        for (cut, broken) in by.chain(edge) {
            gather(&mut found, Found { seat, cut, broken, seats: 1 });
        }
    }
    let least = web::least(parts);
    for Found { seat, cut, broken, seats } in found {
        problems.push(say::pocket_broken(parts.layer, seat, cut, broken, seats, least));
    }
}

/// Keeps the worst of what the same two lines do, either way round.
fn gather<'p, 'a>(found: &mut Vec<Found<'p, 'a>>, new: Found<'p, 'a>) {
    let lines = |one: &Found| (one.seat.mark.origin, one.cut.1);
    let (seat, cut) = lines(&new);
    if found.iter().any(|known| lines(known) == (cut, seat)) {
        return;
    }
    match found.iter_mut().find(|known| lines(known) == (seat, cut)) {
        Some(known) => {
            let seats = known.seats + usize::from(!std::ptr::eq(known.seat.mark, new.seat.mark));
            if new.broken.wall.as_degrees() > known.broken.wall.as_degrees() {
                *known = new;
            }
            known.seats = seats;
        }
        None => found.push(new),
    }
}
