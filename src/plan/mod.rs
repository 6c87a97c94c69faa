//! From a design to boards, setups and ordered operations. Pure.
//!
//! Coordinates are millimetres on the board, origin at its lower left corner, x right, y up, as it lies on
//! the machine in that setup.
//!
//! The files, in an order in which each needs only those before it:
//!
//! - `rings`, `play`, `axis`, `outline_cache`: an outline as it is cut, how far a part lies off in the opening it left, the
//!   line it is turned about, and all of these kept for a whole look at a design;
//! - `nest`: items on as few boards as possible, whatever they are;
//! - `operation`, `model`: what a plan is made of;
//! - `findings`: what is said where something cannot be laid, cut or turned over as asked;
//! - `face_sequence`, `kerf`, `flip`: in which order the faces of a layer come up, what is cut for it, how it is turned over;
//! - `layer_plan`: all of this for one layer;
//! - `stock_group`: the layers of one stock, and whether their boards are turned whole;
//! - `describe`, `order`, `setups`: what a person is told, the order of the work, and both of them setup by setup;
//! - `prints`: what is printed on a board before it is cut;
//! - `boards`: the boards of a stock;
//! - `magnets`, `pins`, `cautions`: the glue bench, what is done with pins, and what every output warns of.

mod axis;
mod boards;
mod cautions;
mod describe;
mod face_sequence;
mod findings;
mod flip;
mod kerf;
mod layer_plan;
mod magnets;
mod model;
mod nest;
mod operation;
mod order;
mod outline_cache;
mod pins;
mod play;
mod prints;
mod rings;
mod setups;
mod stock_group;

pub use cautions::{CAUTIONS, Caution, MAGNETS, cautions};
pub use describe::face_name;
pub(crate) use describe::part_names;
pub(crate) use magnets::seen_on;
pub use magnets::{Bench, BenchWork, has_magnets, magnet_bench, magnet_steps, place_words};
pub use model::{
    Board, LaidInto, Lie, PlacedPart, Plan, Print, Printed, PrintedArea, Setup, StockUse, Turned, TurnedFor, TurnedPart,
};
pub use nest::{Effort, Item, Layout, Placement, Sheet, Turns, nest};
pub use operation::{CutEdge, Operation, OperationKind};
pub use outline_cache::OutlineCache;
pub use pins::pin_steps;
pub use play::Play;
pub(crate) use prints::ARM_MM;

use crate::design::{Centred, Design, Layer};
use crate::diagnostics::Problems;

/// Plans the run of a design with the usual effort; no plan where a finding is an error.
///
/// On a board where any part asks for `flip board` and has work on both faces, every two-faced part is turned
/// with the board: the parts come out the same whichever way they are turned.
pub fn plan(design: &Design) -> (Option<Plan>, Problems) {
    plan_with(design.into(), Effort::default(), &OutlineCache::default())
}

/// The same with what is known of its centring, so much effort to save boards, and the outer edges that are known already.
pub fn plan_with(design: Centred<'_>, effort: Effort, cache: &OutlineCache) -> (Option<Plan>, Problems) {
    plan_together(&[design], effort, cache)
}

/// One run of several designs on shared boards: layers of stocks that are alike in every figure lie together, with the
/// widest margin and gap that any of them asks for. Where there are several, a part's name begins with its design's.
pub fn plan_together(designs: &[Centred<'_>], effort: Effort, cache: &OutlineCache) -> (Option<Plan>, Problems) {
    let mut problems = Problems::default();
    let mut plan = Plan { boards: Vec::new(), stocks: Vec::new() };
    for stock in stock_group::stocks(designs) {
        let group = stock_group::group(designs, stock, cache, &mut problems);
        let (boards, used) = boards::boards(designs, &group, effort, &mut problems);
        plan.boards.extend(boards);
        plan.stocks.push(used);
    }
    let names: Vec<String> = plan.stocks.iter().map(|used| used.stock.clone()).collect();
    let is_alone = |stock: &String| names.iter().filter(|name| *name == stock).count() < 2;
    plan.stocks.iter_mut().filter(|used| is_alone(&used.stock)).for_each(|used| used.figures = None);
    ((!problems.has_errors()).then_some(plan), problems)
}

/// The layer whose pockets may come to lie farthest off its axis for being turned over, and by how much; none where
/// no part is lifted out and turned. What becomes of layers that are symmetric about no line is known only from the plan.
pub fn least_centred<'a>(design: Centred<'a>, plan: Option<&Plan>, cache: &OutlineCache) -> Option<(&'a Layer, Play)> {
    let is_lifted = |layer: &Layer| match plan.filter(|plan| plan.part_count() > 0) {
        Some(plan) => plan.lifts(&layer.name),
        None => layer.is_two_faced() && !stock_group::is_turned(&[design], &layer.stock),
    };
    let turned = design.design.layers.iter().filter(|layer| is_lifted(layer));
    let plays = turned.map(|layer| (layer, cache.of(layer.outline.outer(), layer.stock.kerf).play()));
    plays.reduce(|a, b| if b.1.shift.as_mm() > a.1.shift.as_mm() { b } else { a })
}
