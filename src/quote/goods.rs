//! Boards, magnets, rivets, glue and finishes.

use super::count;
use crate::design::{Design, Ends, Layer, Pivot};
use crate::diagnostics::counted;
use crate::geometry::{FlattenedShape, Region};
use crate::plan::Plan;
use crate::units::plain;

/// Something to be bought for the run.
#[derive(Clone, Debug, PartialEq)]
pub struct Goods {
    /// `board`, `magnet`, `rivet`, `pin`, `glue`, `finish` or `print`.
    pub kind: &'static str,
    /// The shop's name for it.
    pub name: String,
    /// How much: pieces, of glue millilitres, of a finish layers, of a print faces of sheets.
    pub amount: f64,
    /// Price of one, in the shop's currency; none where not stated.
    pub each: Option<f64>,
    /// What the amount is computed from.
    pub basis: String,
}

impl Goods {
    /// Price of all; none where not stated.
    pub fn price(&self) -> Option<f64> {
        self.each.map(|each| each * self.amount)
    }
}

pub(super) fn goods(design: &Design, plan: &Plan, missing: &mut Vec<String>) -> Vec<Goods> {
    let mut all = boards(design, plan);
    let made = counted(design.run.made() as usize, "dial");
    let dials = f64::from(design.run.made());
    for (_, turn) in design.turns() {
        match &turn.pivot {
            Pivot::Magnets { .. } => {
                for (disc, _) in turn.pivot.seats().into_iter().flatten() {
                    add_pieces(&mut all, disc.word(), &disc.name, disc.cost, dials);
                }
            }
            Pivot::Rivet(rivet) => add_pieces(&mut all, rivet.kind.word(), &rivet.name, rivet.cost, dials),
            Pivot::Wall => {}
        }
        if let Some(Ends { pin, .. }) = &turn.ends {
            add_pieces(&mut all, "pin", &pin.name, pin.cost, dials);
        }
        if let Some(clicks) = &turn.clicks {
            let pieces = 2.0 * count(turn.stops.len()) * dials;
            add_pieces(&mut all, "magnet", &clicks.magnet.name, clicks.magnet.cost, pieces);
        }
    }
    for goods in all.iter_mut().filter(|goods| goods.kind != "board") {
        // A share that comes out whole must not be rounded up by the last bit of a product.
        let bought = (goods.amount * (1.0 + design.rates.extra) - 1e-9).ceil();
        goods.basis =
            format!("{} needed for {made}, and {} beyond", plain(goods.amount, 0), plain(bought - goods.amount, 0));
        goods.amount = bought;
    }
    all.extend(glue(design, dials));
    all.extend(finishes(design));
    all.extend(prints(design, plan));
    let unpriced = all.iter().filter(|goods| goods.each.is_none());
    missing.extend(unpriced.map(|goods| format!("{} `{}` states no `cost`", of_block(goods.kind), goods.name)));
    all
}

/// The block of the shop file that would state the price.
fn of_block(kind: &str) -> &str {
    match kind {
        "board" => "stock",
        "glue" => "adhesive",
        "print" => "printer",
        other => other,
    }
}

fn boards(design: &Design, plan: &Plan) -> Vec<Goods> {
    let mut all: Vec<Goods> = Vec::new();
    for layer in &design.layers {
        let stock = &layer.stock;
        if all.iter().any(|goods| goods.name == stock.name) {
            continue;
        }
        let boards = plan.boards_of(&stock.name);
        let (width, height) = stock.board;
        all.push(Goods {
            kind: "board",
            name: stock.name.clone(),
            amount: count(boards),
            each: stock.cost,
            basis: format!("boards of {width} by {height} as laid out"),
        });
    }
    all
}

fn add_pieces(all: &mut Vec<Goods>, kind: &'static str, name: &str, each: Option<f64>, pieces: f64) {
    match all.iter_mut().find(|goods| goods.kind == kind && goods.name == name) {
        Some(goods) => goods.amount += pieces,
        None => all.push(Goods { kind, name: name.to_owned(), amount: pieces, each, basis: String::new() }),
    }
}

/// Glue between layers, as the film on the material that meets there; what holds the magnets is not counted.
fn glue(design: &Design, dials: f64) -> Vec<Goods> {
    let mut all: Vec<Goods> = Vec::new();
    for (below, above, glue) in design.bonds() {
        let (Some(below), Some(above)) = (design.layers.get(below), design.layers.get(above)) else { continue };
        let millilitres = film_mm2(below, above) * glue.adhesive.film.as_mm() * dials / 1000.0;
        let film = glue.adhesive.film;
        add_pieces(&mut all, "glue", &glue.adhesive.name, glue.adhesive.cost, millilitres);
        if let Some(goods) = all.iter_mut().find(|goods| goods.name == glue.adhesive.name) {
            goods.basis = format!(
                "a film of {film} between the layers of {}, in ml",
                counted(design.run.made() as usize, "dial")
            );
        }
    }
    all
}

/// The area on which the materials of two layers meet, in mm².
fn film_mm2(below: &Layer, above: &Layer) -> f64 {
    let same_rim = (below.outline == above.outline).then(|| open_mm2(below, above)).flatten();
    same_rim.map_or_else(|| below.material().intersection(above.material()).area(), |open| below.outline.area() - open)
}

/// The area in which either of two layers of one outline is open; none where an opening comes near the rim.
fn open_mm2(below: &Layer, above: &Layer) -> Option<f64> {
    let rim = FlattenedShape::of(&below.outline);
    let mut all: Vec<(&Region, FlattenedShape)> = Vec::new();
    for (_, region) in below.openings().chain(above.openings()) {
        let flat = FlattenedShape::of(region);
        if !flat.lies_well_in(&rim) {
            return None;
        }
        if all.iter().any(|(other, body)| *other == region || flat.lies_well_in(body)) {
            continue;
        }
        all.retain(|(_, other)| !other.lies_well_in(&flat));
        all.push((region, flat));
    }
    Some(all.into_iter().fold(Region::empty(), |open, (region, _)| open.union(region)).area())
}

/// The faces of sheets that are printed before they are cut.
fn prints(design: &Design, plan: &Plan) -> Option<Goods> {
    let faces: usize = plan.boards.iter().filter_map(|board| board.print.as_ref()).map(|it| it.faces().len()).sum();
    let printer = &design.printer;
    let name = printer.name.clone().unwrap_or_else(|| "any".to_owned());
    let basis = "printed faces of boards as laid out".to_owned();
    (faces > 0).then(|| Goods { kind: "print", name, amount: count(faces), each: printer.cost, basis })
}

/// Finishes by the layers that have them; what falls off a brush is not counted.
fn finishes(design: &Design) -> Vec<Goods> {
    let mut all: Vec<Goods> = Vec::new();
    for finish in design.layers.iter().filter_map(|layer| layer.finish.as_ref()) {
        add_pieces(&mut all, "finish", &finish.name, finish.cost, f64::from(design.run.made()));
    }
    for goods in &mut all {
        goods.basis = format!("layers finished with it, in {}", counted(design.run.made() as usize, "dial"));
    }
    all
}
