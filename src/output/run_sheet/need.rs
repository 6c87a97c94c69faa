//! What must lie ready before the first cut: what the run uses up, and what the hands need for it.

use super::super::page::text::TextRun;
use super::content::cell;
use crate::design::axis::magnets;
use crate::design::{Depth, Design, Ends, Ink, Magnet, Pivot, Work, hex};
use crate::diagnostics::counted;
use crate::plan::has_magnets;
use crate::quote::Quote;
use crate::units::plain;

/// Rows of what, how much, and for what: bought goods first, then what sets magnets and pins, colours, and tools.
pub(super) fn needed(design: &Design, quote: &Quote) -> Vec<Vec<Vec<TextRun>>> {
    let goods = quote.goods.iter().map(|goods| {
        let unit = if goods.kind == "glue" { " ml" } else { "" };
        [format!("{} {}", goods.kind, goods.name), format!("{}{unit}", plain(goods.amount, 1)), goods.basis.clone()]
    });
    let rest = setting(design).into_iter().chain(colours(design)).chain(tools(design));
    goods.chain(rest).map(|row| row.map(cell).into()).collect()
}

/// The adhesives that hold magnets and pins: how much of them depends on the hand, so it is not reckoned.
fn setting(design: &Design) -> Vec<[String; 3]> {
    let made = f64::from(design.run.made());
    let mut all: Vec<(String, &'static str, f64)> = Vec::new();
    let mut add = |name: &str, what: &'static str, pieces: f64| match all
        .iter_mut()
        .find(|(known, of, _)| known == name && *of == what)
    {
        Some((.., count)) => *count += pieces,
        None => all.push((name.to_owned(), what, pieces)),
    };
    let of = |magnet: &Magnet| magnet.adhesive.as_ref().map(|glue| glue.name.clone());
    for magnet in magnets(design).0 {
        of(magnet.magnet).iter().for_each(|name| add(name, magnet.magnet.word(), made));
    }
    for (_, turn) in design.turns() {
        if let Some(clicks) = &turn.clicks {
            let pieces = 2 * turn.stops.len();
            #[allow(clippy::cast_precision_loss, reason = "some dozen magnets")]
            of(&clicks.magnet).iter().for_each(|name| add(name, "magnet", made * pieces as f64));
        }
        if let Some(Ends { pin, .. }) = &turn.ends {
            pin.adhesive.iter().for_each(|glue| add(&glue.name, "pin", made));
        }
    }
    let row = |(name, what, pieces): (String, &str, f64)| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some hundred pieces")]
        let pieces = counted(pieces.round() as usize, what);
        [format!("glue {name}"), "a drop each".to_owned(), format!("sets {pieces}")]
    };
    all.into_iter().map(row).collect()
}

/// Paints, and inks that marks and rings ask for by themselves.
fn colours(design: &Design) -> Vec<[String; 3]> {
    let mut all: Vec<[String; 3]> = Vec::new();
    let mut add = |what: String, layer: &str| match all.iter_mut().find(|[known, ..]| *known == what) {
        Some([.., of]) if !of.contains(layer) => *of = format!("{of}, {layer}"),
        Some(_) => {}
        None => all.push([what, "as needed".to_owned(), format!("for {layer}")]),
    };
    let named = |ink: &Ink| {
        let colour = ink.colour.map(|colour| format!(" ({})", hex(colour))).unwrap_or_default();
        format!("ink {}{colour}", ink.name)
    };
    for layer in &design.layers {
        for mark in &layer.marks {
            match &mark.work {
                Work::Paint { colour } => add(format!("paint {}", hex(*colour)), &layer.name),
                Work::Engrave { ink: Some(ink), .. } => add(named(ink), &layer.name),
                _ => {}
            }
        }
        for ring in &layer.rings {
            ring.inks().into_iter().for_each(|(ink, _)| add(named(ink), &layer.name));
        }
    }
    all
}

fn tools(design: &Design) -> Vec<[String; 3]> {
    let mut all: Vec<[&str; 3]> = vec![
        ["stop", "2", "along the left and the lower edge of the board"],
        ["calliper", "1", "measures boards and finished dials"],
    ];
    if has_magnets(design) {
        let clicks = design.turns().any(|(_, turn)| turn.clicks.is_some());
        if clicks || magnets(design).0.iter().any(|it| it.poled) {
            all.push(["marker pen", "1", "dots on the magnets"]);
        }
        if magnets(design).0.iter().any(|it| it.depth == Depth::Through && !it.shared) {
            all.push(["flat plate, baking paper", "1", "magnets are pressed down to it"]);
        }
        if design.turns().any(|(_, turn)| turn.north.is_some()) {
            all.push(["compass", "1", "tells the north poles"]);
        }
    }
    if design.bonds().next().is_some() {
        all.push(["flat boards, clamps or weights", "a set", "press layers together while their glue cures"]);
    }
    if design.turns().any(|(_, turn)| matches!(turn.pivot, Pivot::Rivet(_))) {
        all.push(["tool to close it", "1", "sets what clamps the turn"]);
    }
    all.into_iter().map(|row| row.map(str::to_owned)).collect()
}
