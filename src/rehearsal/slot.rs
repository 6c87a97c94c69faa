//! Whether a dial goes into its slot: the edges of its parts, held at every stop against the slot's pixels, whatever form both have.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use kurbo::{Affine, Point, Rect, Vec2};

use super::dial::Stack;
use super::list::{Joint, Slot};
use super::part::{Made, SAME_DEPTH_MM};
use super::raster::{HALF, Patch, TWO_EDGES, filled, middle};
use super::remark::{Kind, Remarks, mm};
use super::webs::Nearest;

/// Bearings are told apart to this many parts of a degree.
const PARTS: f64 = 100.0;

/// So many bearings of a wheel are looked at.
const SWEPT: u32 = 120;

/// The room of a dial in its slot.
#[derive(Clone, Debug, PartialEq)]
pub struct InSlot {
    /// Least room all round at any stop, in mm; below zero, how far the dial stands over the slot's edge.
    pub room: f64,
    /// What that may be off, in mm.
    pub within: f64,
    /// What the list says of it.
    pub said: f64,
}

/// Lays a dial into its slot as the list says, at every stop.
pub(super) fn fit(stack: &Stack, place: &str, remarks: &mut Remarks) -> Option<InSlot> {
    let slot = stack.design.slot.as_ref()?;
    let thick = thickness(stack);
    if thick > stack.design.thickness + SAME_DEPTH_MM {
        let told = mm(stack.design.thickness);
        remarks.push(
            Kind::Slot,
            place,
            format!("its boards and glue are {} thick, and it is told to be {told}", mm(thick)),
        );
    }
    let thick = thick.max(stack.design.thickness);
    let deep = slot.depth.is_none_or(|depth| thick <= depth);
    if let Some(depth) = slot.depth.filter(|_| !deep) {
        remarks.push(Kind::Slot, place, format!("it is {} thick, and its slot {} deep", mm(thick), mm(depth)));
    }
    let room = room(stack, slot)?;
    let within = TWO_EDGES / stack.parts.first()?.scale;
    if room < -within {
        let says = format!("at some stop it stands {} over the edge of its slot", mm(-room));
        remarks.push(Kind::Slot, place, says);
    }
    // How far a dial stands over an edge is told otherwise by everyone: to the nearest place, or along a side.
    let differs = (room - slot.room).abs() > within && (room > -within || slot.room > -within);
    let told_to_fit = slot.fits != (slot.room > -0.002 && deep);
    if differs || told_to_fit {
        let fits = if slot.fits { "go into" } else { "not go into" };
        let says =
            format!("it is told to {fits} its slot with {} of room, and has {} by its pixels", mm(slot.room), mm(room));
        remarks.push(Kind::Slot, place, says);
    }
    Some(InSlot { room, within, said: slot.room })
}

fn thickness(stack: &Stack) -> f64 {
    let films = stack.design.joints.iter().map(|joint| if let Joint::Glue { film } = joint { *film } else { 0.0 });
    // A wheel lies at the level of its frame.
    let stacked = stack.design.layers.iter().enumerate().filter(|(at, _)| stack.design.wheel(*at).is_none());
    let board = stacked.map(|(_, layer)| layer.thickness).chain(films).sum();
    hands(stack).fold(board, f64::max)
}

/// How high each hand stands above the bottom: by its carrier, and all that this lies on.
fn hands<'s>(stack: &'s Stack) -> impl Iterator<Item = f64> + 's {
    let design = stack.design;
    let hands = (0..design.layers.len()).filter(|at| design.is_hand(*at));
    hands.filter_map(|at| {
        let (carrier, _) = design.wheel(at)?;
        let still = (0..=carrier).filter(|below| design.wheel(*below).is_none()).chain([at]);
        let boards = still.filter_map(|at| design.layers.get(at)).map(|layer| layer.thickness);
        let films = design.joints.iter().take(carrier);
        let films = films.map(|joint| if let Joint::Glue { film } = joint { *film } else { 0.0 });
        Some(boards.chain(films).sum())
    })
}

/// The least room at any stop.
fn room(stack: &Stack, slot: &Slot) -> Option<f64> {
    let scale = stack.parts.first()?.scale;
    let [across, along] = slot.moved;
    let moved = Vec2::new(across, along);
    let hole = filled(&slot.path.path, Affine::translate(-moved), scale)?;
    let reach = stack.parts.iter().filter_map(|made| made.reach()).reduce(f64::max)?;
    let hole = Hole { within: Nearest::of(&hole, true), over: OnceCell::new(), hole, reach, scale };
    let bearings = bearings(stack);
    let layers = stack.parts.iter().zip(&bearings).enumerate();
    let of_layer = layers.map(|(at, (made, bearings))| {
        let edge = edge(made);
        let axis = stack.design.axis(at);
        let turned = bearings.iter().map(|by| Affine::translate(axis) * Affine::rotate(-by.to_radians()));
        turned.map(|turn| hole.room(&edge, turn)).fold(f64::INFINITY, f64::min)
    });
    of_layer.reduce(f64::min).filter(|room| room.is_finite())
}

/// How far each layer may be turned from the lowest, in degrees: every sum of stops of the turns below it.
fn bearings(stack: &Stack) -> Vec<Vec<f64>> {
    let mut now: BTreeSet<i64> = BTreeSet::from([0]);
    let degrees = |known: &BTreeSet<i64>| {
        #[allow(clippy::cast_precision_loss, reason = "hundredths of a turn")]
        let all = known.iter().map(|at| *at as f64 / PARTS).collect();
        all
    };
    let mut all = vec![degrees(&now)];
    for (below, joint) in stack.design.joints.iter().enumerate() {
        if stack.design.wheel(below + 1).is_some() {
            // Nobody says that a thumb leaves a wheel at its stops.
            all.push((0..SWEPT).map(|at| 360.0 * f64::from(at) / f64::from(SWEPT)).collect());
            continue;
        }
        if let Joint::Turn { stops, .. } = joint {
            #[allow(clippy::cast_possible_truncation, reason = "hundredths of a turn")]
            let stops: Vec<i64> = stops.iter().map(|stop| (stop * PARTS).round() as i64).collect();
            let whole = 36_000;
            now = now.iter().flat_map(|at| stops.iter().map(move |stop| (at + stop).rem_euclid(whole))).collect();
        }
        all.push(degrees(&now));
    }
    all
}

/// The middles of the pixels along a part's edges, in mm.
fn edge(made: &Made) -> Vec<Point> {
    let solid = |x: i32, y: i32| made.material.get(x, y) >= HALF;
    let on_edge = |x: i32, y: i32| [(1, 0), (-1, 0), (0, 1), (0, -1)].iter().any(|(dx, dy)| !solid(x + dx, y + dy));
    let all = made.material.pixels().filter(|(x, y, value)| *value >= HALF && on_edge(*x, *y));
    all.map(|(x, y, _)| middle(x, y, made.scale)).collect()
}

/// A slot with how far it is from every place in it to its edge.
struct Hole {
    hole: Patch,
    within: Nearest,
    /// What is not the slot, with how far it is to the slot: worked out where a dial stands over its edge.
    over: OnceCell<(Patch, Nearest)>,
    /// How far a dial reaches from the axis, in mm.
    reach: f64,
    scale: f64,
}

impl Hole {
    fn room(&self, edge: &[Point], turn: Affine) -> f64 {
        edge.iter().map(|at| self.at(turn * *at)).fold(f64::INFINITY, f64::min)
    }

    /// How far a place lies inside the slot's edge, in mm; below zero outside.
    #[allow(clippy::cast_possible_truncation, reason = "floor of a coordinate in pixels")]
    fn at(&self, place: Point) -> f64 {
        let (x, y) = ((place.x * self.scale).floor() as i32, (place.y * self.scale).floor() as i32);
        let inside = self.within.pixels(self.hole.place(x, y));
        if inside > 0.0 {
            // From the middle of a pixel at the part's edge to the middle of one outside: an edge each between.
            return (inside - 1.0) / self.scale;
        }
        let (around, over) = self.over.get_or_init(|| {
            let mut around = self
                .hole
                .clone_within(Rect::from_center_size(Point::ZERO, (2.0 * self.reach, 2.0 * self.reach)), self.scale);
            around.data.iter_mut().for_each(|value| *value = 255 - *value);
            let over = Nearest::of(&around, false);
            (around, over)
        });
        -over.pixels(around.place(x, y)) / self.scale
    }
}
