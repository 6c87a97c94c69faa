//! The layers of one stock, planned together: whether their boards are turned over whole, and what is kept free on them.

use kurbo::Affine;

use super::face_sequence::FaceSequence;
use super::findings;
use super::flip::{self, FlipMethod};
use super::layer_plan::{LayerPlan, item, layer_plan};
use super::model::TurnedFor;
use super::nest::{Effort, Item, Layout, Sheet, nest};
use super::outline_cache::OutlineCache;
use super::prints;
use crate::design::{Centred, Centring, Design, FlipChoice, Layer, Printer, Stock};
use crate::diagnostics::Problems;
use crate::units::Length;

/// The layers of one stock.
pub(super) struct StockGroup<'a> {
    pub(super) stock: &'a Stock,
    /// Whether boards with two-faced parts are turned over whole.
    pub(super) board_over: bool,
    pub(super) layers: Vec<LayerPlan<'a>>,
    /// The designs that they belong to.
    pub(super) sharing: Vec<&'a Design>,
}

impl<'a> StockGroup<'a> {
    /// The layers of all designs that are cut from a stock like this one, each planned by itself.
    fn of(
        designs: &[Centred<'a>],
        stock: &'a Stock,
        board_over: bool,
        cache: &OutlineCache,
        problems: &mut Problems,
    ) -> Self {
        let of_stock = || layers(designs).filter(|(_, layer)| are_alike(stock, &layer.stock));
        let shares = |at: &usize| of_stock().any(|(of, _)| of == *at);
        let sharing: Vec<&Design> =
            (0..designs.len()).filter(shares).filter_map(|at| designs.get(at).map(|it| it.design)).collect();
        let gap = sheet(&sharing, stock, board_over).gap;
        // On a turned board the last face up decides how the parts lie, so the boards of a stock are turned alike.
        let turns = of_stock().map(|(_, layer)| FaceSequence::of(layer).faces.len()).max().unwrap_or(1);
        let mirrored = board_over && turns.is_multiple_of(2);
        let boards = (board_over, mirrored, is_printed(&sharing, stock));
        let plans = of_stock().map(|(at, layer)| layer_plan(at, layer, boards, gap, cache, problems));
        Self { stock, board_over, layers: plans.collect(), sharing }
    }

    /// Whether the grain runs askew, so that the turned board shows it mirrored.
    fn is_askew(&self) -> bool {
        self.stock.grain.is_some_and(|grain| grain.as_degrees().rem_euclid(90.0) > 1e-9)
    }

    /// Setups of a turned board with these layers on it: as many as the most of them need. Where the grain runs askew, how
    /// often the board is turned must not differ from one to another.
    pub(super) fn turns<'b>(&self, layers: impl Iterator<Item = &'b LayerPlan<'a>>) -> usize
    where
        'a: 'b,
    {
        let most = |layers: &mut dyn Iterator<Item = &LayerPlan<'a>>| {
            layers
                .map(|it| if it.method == FlipMethod::BoardOver { it.sequence.faces.len() } else { 1 })
                .max()
                .unwrap_or(1)
        };
        if self.is_askew() { most(&mut self.layers.iter()) } else { most(&mut layers.into_iter()) }
    }

    /// The parts of the run, dial by dial, each with the number of its dial.
    pub(super) fn parts(&self, designs: &[Centred<'_>]) -> Vec<(u32, &LayerPlan<'a>)> {
        let of_design = |(at, it): (usize, &Centred<'_>)| {
            let dials = 1..=it.design.run.dials.saturating_add(it.design.run.spares);
            let own: Vec<&LayerPlan> = self.layers.iter().filter(|layer| layer.design == at).collect();
            dials.flat_map(move |dial| own.clone().into_iter().map(move |it| (dial, it)))
        };
        designs.iter().enumerate().flat_map(of_design).collect()
    }

    /// What its shop prints with: designs that are planned together are of one shop.
    pub(super) fn printer(&self) -> Option<&Printer> {
        self.sharing.first().map(|design| &design.printer)
    }

    pub(super) fn sheet(&self) -> Sheet {
        sheet(&self.sharing, self.stock, self.board_over)
    }

    pub(super) fn nest(&self, parts: &[(u32, &LayerPlan<'_>)], effort: Effort) -> Layout {
        let items: Vec<Item> = parts.iter().map(|(_, it)| item(it)).collect();
        nest(&items, &self.sheet(), effort)
    }

    /// Parts that fit no board, and boards, laid in rows.
    fn cost(&self, designs: &[Centred<'_>]) -> (usize, usize) {
        let laid = self.nest(&self.parts(designs), Effort(0));
        (laid.too_large.len(), laid.boards.len())
    }

    /// Layers that the plan gives a holder of its own accord.
    fn held<'b>(&'b self) -> impl Iterator<Item = &'b LayerPlan<'a>> {
        self.layers
            .iter()
            .filter(|it| matches!(it.method, FlipMethod::Holder(_)) && it.layer.flip == FlipChoice::Chosen)
    }
}

fn layers<'a>(designs: &[Centred<'a>]) -> impl Iterator<Item = (usize, &'a Layer)> {
    designs.iter().enumerate().flat_map(|(at, it)| it.design.layers.iter().map(move |layer| (at, layer)))
}

/// The stocks of all designs, in order of their first use; those that are alike in every figure count as one.
pub(super) fn stocks<'a>(designs: &[Centred<'a>]) -> Vec<&'a Stock> {
    let mut stocks: Vec<&Stock> = Vec::new();
    for (_, layer) in layers(designs) {
        if !stocks.iter().any(|stock| are_alike(stock, &layer.stock)) {
            stocks.push(&layer.stock);
        }
    }
    stocks
}

/// Whether the boards of this stock are turned over whole, for the sake of some layer on them.
pub(super) fn is_turned(designs: &[Centred<'_>], stock: &Stock) -> bool {
    let turns = |it: &Centred<'_>, layer: &Layer| flip::turns_board(layer, it.centring);
    designs.iter().any(|it| it.design.layers.iter().any(|layer| are_alike(stock, &layer.stock) && turns(it, layer)))
}

/// The layers of a stock, and how their parts are turned: the whole board where some layer asks for it or where that
/// saves boards over mirrored holders, the parts one by one elsewhere.
pub(super) fn group<'a>(
    designs: &[Centred<'a>],
    stock: &'a Stock,
    cache: &OutlineCache,
    problems: &mut Problems,
) -> StockGroup<'a> {
    // A board is turned whole where the maker says so; where a face is needed again, since a part that is lifted out
    // has been cut free; where a reading leaves less room than its opening's play takes; and where holders would take
    // more boards. The last three are told as advice, for the maker chose none of them.
    let turned = is_turned(designs, stock);
    let mut found = Problems::default();
    let one_by_one = StockGroup::of(designs, stock, turned, cache, &mut found);
    if turned {
        let why = |it: &LayerPlan| turned_for(it, designs.get(it.design)?.centring);
        let turned = one_by_one.layers.iter().filter_map(|it| Some(findings::board_turned(it.layer, &why(it)?)));
        found.extend(turned);
    } else if one_by_one.held().next().is_some() {
        let mut others = Problems::default();
        // Both ways are planned and laid in rows; what the other way has to say is heard only where it is taken.
        let over = StockGroup::of(designs, stock, true, cache, &mut others);
        let ((too_large, holders), (too_large_over, turned)) = (one_by_one.cost(designs), over.cost(designs));
        if (too_large_over, turned) < (too_large, holders) {
            let why = TurnedFor::Boards { holders: (too_large == 0).then_some(holders), turned };
            others.extend(one_by_one.held().map(|it| findings::board_turned(it.layer, &why)));
            problems.extend(others);
            return over;
        }
    }
    problems.extend(found);
    one_by_one
}

/// Why a layer has its board turned over, where the maker does not say so.
fn turned_for(it: &LayerPlan<'_>, centring: &Centring) -> Option<TurnedFor> {
    let setups = it.sequence.faces.len();
    let again = || (it.layer.flip == FlipChoice::Chosen && setups > 2).then_some(TurnedFor::Setups(setups));
    centring.turns_board_of(it.layer).map(TurnedFor::Centring).or_else(again)
}

/// Whether two stocks agree in name and every figure.
fn are_alike(a: &Stock, b: &Stock) -> bool {
    a.name == b.name && Stock { origin: None, ..a.clone() } == Stock { origin: None, ..b.clone() }
}

/// Whether something is printed on boards of this stock.
fn is_printed(designs: &[&Design], stock: &Stock) -> bool {
    designs.iter().any(|it| it.layers.iter().any(|layer| are_alike(stock, &layer.stock) && layer.is_printed()))
}

/// What is kept free on this stock. The gap and the margin are never less than the kerf, or neighbouring cuts
/// would meet.
fn sheet(designs: &[&Design], stock: &Stock, board_over: bool) -> Sheet {
    let widest = |of: &dyn Fn(&Design) -> Option<Length>, usual: Length| {
        designs.iter().map(|design| of(design).unwrap_or(usual).as_mm()).fold(0.0, f64::max)
    };
    let kerf = stock.kerf.as_mm();
    // A clamp stays where it is when the board is turned: seen from the board, it then stands on the other side.
    let over = Affine::translate((stock.board.0.as_mm(), 0.0)) * Affine::FLIP_X;
    let keep_out = &stock.keep_out;
    let keep_out = if board_over { keep_out.union(&keep_out.transformed(over)) } else { keep_out.clone() };
    let (mut margin, mut gap) = (
        widest(&|design| design.run.margin, stock.margin).max(kerf),
        widest(&|design| design.run.gap, stock.gap).max(kerf),
    );
    if is_printed(designs, stock) {
        gap = gap.max(prints::gap(designs));
        margin = margin.max(prints::margin(designs, gap));
    }
    Sheet { width: stock.board.0.as_mm(), height: stock.board.1.as_mm(), margin, gap, keep_out }
}
