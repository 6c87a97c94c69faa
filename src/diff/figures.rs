//! The figures of what the shop has, as they are shown.

use super::pairs::{Pair, paired};
use super::shapes::different;
use super::{Changes, Detail, How, Topic};
use crate::design::{
    Adhesive, Design, Dowel, Fastener, Joint, Magnet, Measured, Palette, Pivot, Printer, Rivet, Spreads, Stock, hex,
};
use crate::units::{Angle, Length, plain};

/// A thing with its figures; two of one kind with the same figures are one thing.
#[derive(PartialEq)]
pub(super) struct Thing {
    kind: &'static str,
    name: String,
    figures: Vec<(&'static str, String)>,
}

/// The stocks of both designs.
pub(super) fn stocks(all: &mut Changes, old: &Design, new: &Design) {
    things(all, Topic::Stock, &stocks_of(old), &stocks_of(new));
}

/// Magnets, rivets and adhesives of both designs.
pub(super) fn fittings(all: &mut Changes, old: &Design, new: &Design) {
    things(all, Topic::Fitting, &fittings_of(old), &fittings_of(new));
}

/// Whether a stock is used in a design tells the layer that is cut from it; only what both use is compared.
fn things(all: &mut Changes, topic: Topic, old: &[Thing], new: &[Thing]) {
    let same = |old: &Thing, new: &Thing| old.kind == new.kind && old.figures == new.figures;
    for pair in paired(old, new, |thing| format!("{} {}", thing.kind, thing.name), same) {
        match pair {
            Pair::Both(old, new) => all.changed(topic, subject(new), details(&old.figures, &new.figures)),
            Pair::Renamed(old, new) => {
                all.renamed.insert(old.name.clone(), new.name.clone());
                let detail = Detail::new("name", old.name.as_str(), new.name.as_str())
                    .described_as(format!("now called `{}`", new.name));
                all.push(topic, How::Renamed, subject(old), vec![detail]);
            }
            // Told with the layer or the turn that takes to it, or leaves it.
            Pair::Gone(_) | Pair::Come(_) => {}
        }
    }
}

fn subject(thing: &Thing) -> String {
    match thing.kind {
        "stock" => format!("`{}`", thing.name),
        kind => format!("{kind} `{}`", thing.name),
    }
}

/// What differs between two lists of figures in the same order.
pub(super) fn details(old: &[(&'static str, String)], new: &[(&'static str, String)]) -> Vec<Detail> {
    let pairs = old.iter().zip(new);
    pairs.filter_map(|((what, old), (_, new))| different(what, old.as_str(), new.as_str())).collect()
}

fn stocks_of(design: &Design) -> Vec<Thing> {
    let mut things: Vec<Thing> = Vec::new();
    for layer in &design.layers {
        if !things.iter().any(|thing| thing.name == layer.stock.name) {
            things.push(stock(&layer.stock));
        }
    }
    things
}

fn stock(stock: &Stock) -> Thing {
    let figures = vec![
        ("material", stock.material.clone().unwrap_or_else(|| "not said".to_owned())),
        ("thickness", measured(&stock.thickness)),
        ("board", format!("{} by {}", stock.board.0, stock.board.1)),
        ("kerf", stock.kerf.to_string()),
        ("passes", stock.passes.to_string()),
        ("margin", stock.margin.to_string()),
        ("gap", stock.gap.to_string()),
        ("clear edge", stock.clear_edge.to_string()),
        ("clear opening", stock.clear_opening.to_string()),
        ("least feature", stock.least_feature.to_string()),
        ("least floor", stock.least_floor.to_string()),
        ("clear", if stock.clear { "yes" } else { "no" }.to_owned()),
        ("colour", hex(stock.colour)),
        ("engraved", hex(stock.engraved)),
        ("grain", optional(stock.grain)),
        ("cost", optional(stock.cost.map(|cost| plain(cost, 4)))),
        ("face veneer", optional(stock.face_veneer)),
        ("figures", if stock.nominal { "nominal" } else { "measured" }.to_owned()),
    ];
    Thing { kind: "stock", name: stock.name.clone(), figures }
}

fn fittings_of(design: &Design) -> Vec<Thing> {
    let mut things: Vec<Thing> = Vec::new();
    let mut add = |thing: Thing| {
        if !things.contains(&thing) {
            things.push(thing);
        }
    };
    for joint in &design.joints {
        match joint {
            Joint::Glue(glue) => add(adhesive(&glue.adhesive)),
            Joint::Turn(turn) => {
                match &turn.pivot {
                    Pivot::Magnets { .. } => turn.pivot.discs().for_each(|disc| add(magnet(disc))),
                    Pivot::Rivet(one) => add(rivet(one)),
                    Pivot::Wall => {}
                }
                turn.ends.iter().for_each(|ends| add(dowel(&ends.pin)));
                turn.clicks.iter().for_each(|clicks| add(magnet(&clicks.magnet)));
            }
        }
    }
    things
}

fn magnet(magnet: &Magnet) -> Thing {
    let of_kind = match magnet.steel {
        None => vec![("remanence", magnet.remanence.to_string())],
        Some(steel) => vec![("hole", steel.hole.to_string()), ("saturation", steel.saturation.to_string())],
    };
    let figures = vec![
        ("diameter", magnet.diameter.to_string()),
        ("height", magnet.height.to_string()),
        ("clearance", magnet.clearance.to_string()),
        ("sink", magnet.sink.to_string()),
        ("figures", if magnet.nominal { "nominal" } else { "measured" }.to_owned()),
    ];
    Thing { kind: magnet.word(), name: magnet.name.clone(), figures: figures.into_iter().chain(of_kind).collect() }
}

fn rivet(rivet: &Rivet) -> Thing {
    let [nut, head] = rivet.heads;
    let mut figures = vec![
        ("shank", rivet.shank.to_string()),
        ("head", head.diameter.to_string()),
        ("head height", head.height.to_string()),
        ("grips", format!("{} to {}", rivet.grips.0, rivet.grips.1)),
        ("clearance", rivet.clearance.to_string()),
    ];
    if rivet.kind == Fastener::Pin {
        figures.push(("nut", nut.diameter.to_string()));
        figures.push(("nut height", nut.height.to_string()));
    }
    Thing { kind: rivet.kind.word(), name: rivet.name.clone(), figures }
}

fn dowel(pin: &Dowel) -> Thing {
    let figures = vec![
        ("shank", pin.shank.to_string()),
        ("length", pin.length.to_string()),
        ("clearance", pin.clearance.to_string()),
        ("adhesive", pin.adhesive.as_ref().map_or_else(String::new, |glue| glue.name.clone())),
    ];
    Thing { kind: "pin", name: pin.name.clone(), figures }
}

fn adhesive(adhesive: &Adhesive) -> Thing {
    let figures = vec![("cure", adhesive.cure.quantity().to_string()), ("film", adhesive.film.to_string())];
    Thing { kind: "adhesive", name: adhesive.name.clone(), figures }
}

/// The shop's spreads.
pub(super) fn spreads(spreads: &Spreads) -> Vec<(&'static str, String)> {
    vec![
        ("kerf", spreads.kerf.to_string()),
        // As the shop states it: what turning parts over adds follows from other figures.
        ("concentricity", spreads.centring().to_string()),
        ("placing", spreads.placing.to_string()),
        ("clicked", spreads.clicked.to_string()),
        ("glued", spreads.glued.to_string()),
        ("printing", spreads.printing.to_string()),
    ]
}

/// What the shop prints on sheets with.
pub(super) fn printer(printer: &Printer) -> Vec<(&'static str, String)> {
    let sheet = printer.sheet.map_or_else(|| "any".to_owned(), |(width, height)| format!("{width} by {height}"));
    vec![("sheet", sheet), ("border", printer.border.to_string()), ("cost", optional(printer.cost))]
}

/// How the shop wants its drawings.
pub(super) fn drawing(palette: &Palette) -> Vec<(&'static str, String)> {
    vec![
        ("cut", hex(palette.cut_outline)),
        ("openings", hex(palette.cut_opening)),
        ("score", hex(palette.score)),
        ("engrave", hex(palette.engrave)),
        ("pocket", hex(palette.pocket)),
        ("construction", palette.construction.map_or_else(|| "hidden".to_owned(), hex)),
        ("line", palette.line.to_string()),
        ("files", palette.files.word().to_owned()),
    ]
}

fn measured(length: &Measured) -> String {
    let spread = length.spread.map(|spread| format!(" +-{spread}")).unwrap_or_default();
    format!("{}{spread}", length.mean)
}

/// A figure that may be missing; empty then.
pub(super) fn optional<T: ToString>(figure: Option<T>) -> String {
    figure.map(|figure| figure.to_string()).unwrap_or_default()
}

/// Bearings in a row.
pub(super) fn bearings(bearings: &[Angle]) -> String {
    let shown: Vec<String> = bearings.iter().map(ToString::to_string).collect();
    shown.join(", ")
}

/// A length that may be missing.
pub(super) fn length(length: Option<Length>) -> String {
    optional(length)
}
