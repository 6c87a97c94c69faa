//! Which parts a run needs, and on which boards they lie.

use kurbo::{Affine, Vec2};

use super::flip::{self, Way};
use super::kerf::{self, Cuts};
use super::nest::{Effort, Laid, Piece, Placement, Sheet, Turns, lay};
use super::play::Play;
use super::rim::Rims;
use super::visits::{Visits, other};
use super::{Board, Lie, PlacedPart, StockUse, TurnedFor, setups};
use crate::design::{Centred, Centring, Design, Face, FlipChoice, Layer, Ring, Stock};
use crate::diagnostics::Problems;
use crate::diagnostics::findings::plan as findings;
use crate::geometry::{Region, mirror, turn};
use crate::units::{Angle, Length};

/// Everything that the parts of one layer share.
pub(super) struct LayerPlan<'a> {
    /// Which of the designs it belongs to.
    pub(super) design: usize,
    pub(super) layer: &'a Layer,
    pub(super) cuts: Cuts,
    pub(super) way: Way,
    /// When each face comes up.
    pub(super) visits: Visits,
    /// How far a part may lie off its place once it was turned over.
    pub(super) play: Play,
    /// Each ring with all its labels as one region.
    pub(super) rings: Vec<(&'a Ring, Region)>,
    /// From the front frame to the piece as it lies unturned while it is cut.
    base: Affine,
}

/// The layers of one stock.
pub(super) struct Group<'a> {
    stock: &'a Stock,
    /// Whether boards with two-faced parts are turned over whole.
    board_over: bool,
    layers: Vec<LayerPlan<'a>>,
    /// The designs that they belong to.
    sharing: Vec<&'a Design>,
}

impl<'a> Group<'a> {
    /// The layers of all designs that are cut from a stock like this one, each planned by itself.
    fn of(designs: &[Centred<'a>], stock: &'a Stock, board_over: bool, rims: &Rims, problems: &mut Problems) -> Self {
        let of_stock = || layers(designs).filter(|(_, layer)| are_alike(stock, &layer.stock));
        let shares = |at: &usize| of_stock().any(|(of, _)| of == *at);
        let sharing: Vec<&Design> =
            (0..designs.len()).filter(shares).filter_map(|at| designs.get(at).map(|it| it.design)).collect();
        let gap = sheet(&sharing, stock, board_over).gap;
        // On a turned board the last face up decides how the parts lie, so the boards of a stock are turned alike.
        let turns = of_stock().map(|(_, layer)| Visits::of(layer).faces.len()).max().unwrap_or(1);
        let mirrored = board_over && turns.is_multiple_of(2);
        let plans = of_stock().map(|(at, layer)| layer_plan(at, layer, (board_over, mirrored), gap, rims, problems));
        Self { stock, board_over, layers: plans.collect(), sharing }
    }

    /// Whether the grain runs askew, so that the turned board shows it mirrored.
    fn is_askew(&self) -> bool {
        self.stock.grain.is_some_and(|grain| grain.as_degrees().rem_euclid(90.0) > 1e-9)
    }

    /// Setups of a turned board with these layers on it: as many as the most of them need. Where the grain runs askew, how
    /// often the board is turned must not differ from one to another.
    fn turns<'b>(&self, layers: impl Iterator<Item = &'b LayerPlan<'a>>) -> usize
    where
        'a: 'b,
    {
        let most = |layers: &mut dyn Iterator<Item = &LayerPlan<'a>>| {
            layers.map(|it| if it.way == Way::BoardOver { it.visits.faces.len() } else { 1 }).max().unwrap_or(1)
        };
        if self.is_askew() { most(&mut self.layers.iter()) } else { most(&mut layers.into_iter()) }
    }

    /// The parts of the run, dial by dial, each with the number of its dial.
    fn parts(&self, designs: &[Centred<'_>]) -> Vec<(u32, &LayerPlan<'a>)> {
        let of_design = |(at, it): (usize, &Centred<'_>)| {
            let dials = 1..=it.design.run.dials.saturating_add(it.design.run.spares);
            let own: Vec<&LayerPlan> = self.layers.iter().filter(|layer| layer.design == at).collect();
            dials.flat_map(move |dial| own.clone().into_iter().map(move |it| (dial, it)))
        };
        designs.iter().enumerate().flat_map(of_design).collect()
    }

    fn sheet(&self) -> Sheet {
        sheet(&self.sharing, self.stock, self.board_over)
    }

    fn lay(&self, parts: &[(u32, &LayerPlan<'_>)], effort: Effort) -> Laid {
        let pieces: Vec<Piece> = parts.iter().map(|(_, it)| piece(it)).collect();
        lay(&pieces, &self.sheet(), effort)
    }

    /// Parts that fit no board, and boards, laid in rows.
    fn cost(&self, designs: &[Centred<'_>]) -> (usize, usize) {
        let laid = self.lay(&self.parts(designs), Effort(0));
        (laid.too_large.len(), laid.boards.len())
    }

    /// Layers that the plan gives a holder of its own accord.
    fn held<'b>(&'b self) -> impl Iterator<Item = &'b LayerPlan<'a>> {
        self.layers.iter().filter(|it| matches!(it.way, Way::Holder(_)) && it.layer.flip == FlipChoice::Chosen)
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
pub(super) fn group<'a>(designs: &[Centred<'a>], stock: &'a Stock, rims: &Rims, problems: &mut Problems) -> Group<'a> {
    let turned = is_turned(designs, stock);
    let mut found = Problems::default();
    let one_by_one = Group::of(designs, stock, turned, rims, &mut found);
    if turned {
        let why = |it: &LayerPlan| turned_for(it, designs.get(it.design)?.centring);
        let told = one_by_one.layers.iter().filter_map(|it| Some(findings::board_turned(it.layer, &why(it)?)));
        found.extend(told);
    } else if one_by_one.held().next().is_some() {
        let mut others = Problems::default();
        let over = Group::of(designs, stock, true, rims, &mut others);
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
    let setups = it.visits.faces.len();
    let again = || (it.layer.flip == FlipChoice::Chosen && setups > 2).then_some(TurnedFor::Setups(setups));
    centring.turns_board_of(it.layer).map(TurnedFor::Centring).or_else(again)
}

/// Whether two stocks agree in name and every figure.
fn are_alike(a: &Stock, b: &Stock) -> bool {
    a.name == b.name && Stock { origin: None, ..a.clone() } == Stock { origin: None, ..b.clone() }
}

fn layer_plan<'a>(
    design: usize,
    layer: &'a Layer,
    (board_over, mirrored): (bool, bool),
    gap: f64,
    rims: &Rims,
    problems: &mut Problems,
) -> LayerPlan<'a> {
    let cuts = kerf::cuts(layer, rims, problems);
    let way = flip::way(layer, &cuts, board_over, gap, problems);
    let visits = Visits::of(layer);
    let up = way.up_when_cut(&visits);
    let faced = match up {
        Face::Front => Affine::IDENTITY,
        Face::Back => mirror(Angle::ZERO),
    };
    let grain = layer.stock.grain.map(|grain| if mirrored { -grain } else { grain });
    let along = grain.zip(layer.grain).map_or(Affine::IDENTITY, |(board, part)| {
        let part = if up == Face::Back { -part } else { part };
        turn(board - part)
    });
    let rings =
        layer.rings.iter().map(|ring| (ring, Region::union_of(ring.labels.iter().map(|label| &label.ink)))).collect();
    let lifted = matches!(way, Way::OwnOpening(_) | Way::Holder(_));
    let still = Play { shift: Length::ZERO, turn: Some(Angle::ZERO) };
    let play = if lifted { cuts.rim.play() } else { still };
    LayerPlan { design, layer, cuts, way, visits, play, rings, base: along * faced }
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
    Sheet {
        width: stock.board.0.as_mm(),
        height: stock.board.1.as_mm(),
        margin: widest(&|design| design.run.margin, stock.margin).max(kerf),
        gap: widest(&|design| design.run.gap, stock.gap).max(kerf),
        keep_out,
    }
}

/// The boards of one stock, their setups in order.
pub(super) fn boards(
    designs: &[Centred<'_>],
    group: &Group<'_>,
    effort: Effort,
    problems: &mut Problems,
) -> (Vec<Board>, StockUse) {
    let sheet = group.sheet();
    let parts = group.parts(designs);
    let names = names(designs);
    let laid = group.lay(&parts, effort);
    let too_large = |it: &&LayerPlan| {
        laid.too_large.iter().any(|&index| parts.get(index).is_some_and(|(_, part)| std::ptr::eq(*part, *it)))
    };
    for it in group.layers.iter().filter(too_large) {
        let size = piece(it).outline.bounds().unwrap_or_default().size();
        problems.push(findings::part_larger_than_board(it.layer, size, &sheet, matches!(it.way, Way::Holder(_))));
    }
    let boards: Vec<Board> = laid.boards.iter().map(|placements| board(group, &names, &parts, placements)).collect();
    let laid_parts = laid.boards.iter().flatten().filter_map(|it| parts.get(it.piece));
    let used: f64 = laid_parts.map(|(_, it)| it.cuts.rim.outline.area()).sum();
    #[allow(clippy::cast_precision_loss, reason = "far fewer boards than that")]
    let area = sheet.width * sheet.height * boards.len().max(1) as f64;
    let stock = group.stock.name.clone();
    let shop = group.sharing.first().and_then(|design| design.shop.clone());
    let shop = shop.map_or_else(|| "nominal".to_owned(), |shop| format!("`{shop}`"));
    let figures = Some(format!("{} thick, kerf {}, {shop}", group.stock.thickness.mean, group.stock.kerf));
    let stock_use =
        StockUse { stock, figures, boards: boards.len(), least_boards: laid.least_boards, share: used / area };
    (boards, stock_use)
}

/// What the names of each design's parts begin with: nothing where there is one design, else its title or variant in
/// small letters, numbered where two are alike.
pub(super) fn names(designs: &[Centred<'_>]) -> Vec<String> {
    if designs.len() < 2 {
        return vec![String::new()];
    }
    let mut names: Vec<String> = Vec::new();
    for Centred { design, .. } in designs {
        let title = format!("{} {}", design.title, design.variant.as_deref().unwrap_or_default()).to_lowercase();
        let words: Vec<&str> = title.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let name = words.join("-");
        let numbered = (2..).map(|number| format!("{name}-{number}."));
        let free = std::iter::once(format!("{name}.")).chain(numbered).find(|name| !names.contains(name));
        names.extend(free);
    }
    names
}

/// What is laid for one part: its outline, with the holder's beside it where it needs one.
fn piece(it: &LayerPlan<'_>) -> Piece {
    let outline = match it.way {
        Way::Holder(over) => it.cuts.rim.outline.union(&it.cuts.rim.outline.transformed(over)),
        _ => it.cuts.rim.outline.clone(),
    };
    let turns = if it.layer.grain.is_some() { Turns::Half } else { Turns::Free };
    // What is cut out of a hole falls out with the hole's waste, so it must have no place to come back to.
    let may_be_guest = matches!(it.way, Way::OneFace(_) | Way::BoardOver);
    let holes = Region::union_of(it.cuts.openings.iter().map(|opening| &opening.region)).transformed(it.base);
    Piece { outline: outline.transformed(it.base), turns, holes, may_be_guest }
}

fn board(group: &Group<'_>, names: &[String], parts: &[(u32, &LayerPlan<'_>)], placements: &[Placement]) -> Board {
    let stock = group.stock;
    let on_board = || placements.iter().filter_map(|it| parts.get(it.piece).map(|(dial, plan)| (it, *dial, *plan)));
    let turns = group.turns(on_board().map(|(_, _, plan)| plan));
    let turned = group.board_over && turns > 1;
    let any_lifted = on_board().any(|(_, _, plan)| !matches!(plan.way, Way::OneFace(_)));
    let count = if turned { turns } else { 1 + usize::from(any_lifted) };
    let placed: Vec<(PlacedPart, &LayerPlan)> = on_board()
        .map(|(placement, dial, plan)| {
            let at = placement.at * plan.base;
            let lies = if turned { turned_lies(plan, at, stock.board.0, count) } else { lies(plan, at, count) };
            let design = names.get(plan.design).map_or("", String::as_str);
            let name = format!("{design}{}-{dial}", plan.layer.name);
            (PlacedPart { name, design: plan.design, layer: plan.layer.name.clone(), dial, lies }, plan)
        })
        .collect();
    Board {
        stock: stock.name.clone(),
        colour: stock.colour,
        size: stock.board,
        thickness: stock.thickness.mean,
        kerf: stock.kerf,
        setups: setups::setups(&placed, stock, turned, count),
        parts: placed.into_iter().map(|(part, _)| part).collect(),
    }
}

/// How a part lies on a board that stays as it is: worked and cut first, then turned over where it has another face.
fn lies(plan: &LayerPlan<'_>, at: Affine, setups: usize) -> Vec<Lie> {
    let first = Lie { up: plan.way.up_when_cut(&plan.visits), at, worked: true, cut: true };
    let over = Lie { up: other(first.up), worked: true, cut: false, ..first };
    let second = match plan.way {
        Way::OwnOpening(axis) => Lie { at: at * mirror(axis), ..over },
        Way::Holder(turned) => Lie { at: at * turned, ..over },
        Way::OneFace(_) | Way::BoardOver => Lie { worked: false, cut: false, ..first },
    };
    [first, second].into_iter().take(setups).collect()
}

/// How a part lies on a board that is turned over time and again: everything is cut in the last setup, `at` being its
/// place there, and nothing lies loose when the board is turned. A part with fewer faces to show comes in later.
fn turned_lies(plan: &LayerPlan<'_>, at: Affine, width: Length, setups: usize) -> Vec<Lie> {
    let over = Affine::translate(Vec2::new(width.as_mm(), 0.0)) * Affine::FLIP_X;
    let last = Lie { up: plan.way.up_when_cut(&plan.visits), at, worked: true, cut: true };
    let lie = |left: usize| {
        let lie = if left.is_multiple_of(2) { last } else { Lie { up: other(last.up), at: over * at, ..last } };
        Lie { worked: left < plan.visits.faces.len(), cut: left == 0, ..lie }
    };
    (0..setups).rev().map(lie).collect()
}
