//! What is said of pockets, and of engravings that go deep.

use kurbo::Point;

use super::super::{Burn, Cutout};
use crate::audit::of_a_hundred;
use crate::design::{Layer, Passes};
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::statistics::normal;
use crate::units::Length;

/// An engraving that goes through its board, or leaves too little of it.
pub(crate) fn engraved_through(layer: &Layer, burn: &Burn, left: Length) -> Diagnostic {
    let (stock, least) = (&layer.stock, layer.stock.least_floor);
    let found = if left.as_mm() > 0.0 {
        let message = format!(
            "{} of `{}` leaves {left} of {}, and {least} is wanted",
            burn.called, layer.name, stock.thickness.mean
        );
        Diagnostic::warning(Finding::EngravedThrough, message)
    } else {
        let message = format!(
            "{} of `{}` goes through the board, which is {} thick",
            burn.called, layer.name, stock.thickness.mean
        );
        Diagnostic::error(Finding::EngravedThrough, message)
    };
    found
        .label(burn.origin, "this deep")
        .about(&layer.name)
        .help(format!("make it {} shallower, or cut it through on purpose with `hole`", least - left))
}

/// A pocket as deep as the board.
pub(crate) fn pocket_too_deep(layer: &Layer, pocket: &Cutout, instead: Option<String>, at: Point) -> Diagnostic {
    let (depth, thickness) = (pocket.depth, layer.stock.thickness.mean);
    Diagnostic::error(
        Finding::PocketTooDeep,
        format!("{} of `{}` is {depth} deep in a board of {thickness}", pocket.called(), layer.name),
    )
    .label(pocket.mark.origin, "goes right through")
    .about(&layer.name)
    .spot(at)
    .help(match instead {
        Some(instead) => format!("{instead}, or cut it through on purpose"),
        None => "take thicker stock, or cut it through on purpose".to_owned(),
    })
}

/// A pocket deeper than any pass was measured to go.
pub(crate) fn deeper_than_measured(
    layer: &Layer,
    pocket: &Cutout,
    deepest: &Passes,
    instead: Option<String>,
) -> Diagnostic {
    let stock = &layer.stock;
    let message = format!(
        "{} of `{}` is {} deep, but the passes measured on `{}` go no deeper than {}",
        pocket.called(),
        layer.name,
        pocket.depth,
        stock.name,
        deepest.reach
    );
    let found = Diagnostic::warning(Finding::DeeperThanMeasured, message)
        .label(pocket.mark.origin, "how many passes it takes is not known")
        .about(&layer.name);
    let found = match stock.origin {
        Some(origin) => found.label(origin, format!("measured to {deepest}")),
        None => found,
    };
    found.help(match instead {
        Some(instead) => format!("measure more passes with `dialwright coupon`, or {instead}"),
        None => "measure more passes with `dialwright coupon`".to_owned(),
    })
}

/// A pocket that its passes make deeper than was asked, and how deep one pass fewer would go.
pub(crate) fn deeper_than_asked(layer: &Layer, pocket: &Cutout, by: Length, fewer: Option<Passes>) -> Diagnostic {
    let passes = pocket.depth.passes().map_or_else(String::new, |passes| passes.to_string());
    let message = format!(
        "{} of `{}` gets {} deeper than the {} asked for: {passes}",
        pocket.called(),
        layer.name,
        by.to_decimals(2),
        pocket.depth.asked()
    );
    let found = Diagnostic::advice(Finding::DeeperThanAsked, message)
        .label(pocket.mark.origin, "made by whole passes")
        .about(&layer.name);
    let made = pocket.depth.made().to_decimals(2);
    found.help(match fewer {
        Some(fewer) => format!(
            "ask for {made}, or for {} where less will do, which {}",
            fewer.reach.to_decimals(2),
            if fewer.count == 1 { "one pass makes".to_owned() } else { format!("{} passes make", fewer.count) }
        ),
        None => format!("ask for {made}: one pass goes no less deep"),
    })
}

/// Too little left under a pocket.
pub(crate) fn floor_too_thin(
    layer: &Layer,
    pocket: &Cutout,
    (left, instead): (Length, Option<String>),
    over: Option<(Length, Span)>,
    at: Point,
) -> Diagnostic {
    let least = layer.stock.least_floor;
    let (called, name) = (pocket.called(), &layer.name);
    let found = if left.as_mm() > 0.0 {
        let message = format!("{called} of `{name}` leaves a floor of {left}, and {least} is wanted");
        Diagnostic::warning(Finding::FloorTooThin, message)
    } else {
        let message = format!(
            "{called} of `{name}` and what is burnt behind it go through the board: together they are {} deeper than it",
            -left
        );
        Diagnostic::error(Finding::FloorTooThin, message)
    };
    let found = found.label(pocket.mark.origin, format!("{} deep in {}", pocket.depth, layer.stock.thickness.mean));
    let found = match over {
        Some((depth, origin)) => found.label(origin, format!("takes {depth} off from the other face")),
        None => found,
    };
    let thicker = format!("stock of {} or more", (layer.stock.thickness.mean + (least - left)).to_decimals(2));
    found.about(&layer.name).spot(at).help(match instead {
        Some(instead) => format!("{instead}, or use {thicker}"),
        None => format!("use {thicker}"),
    })
}

/// A floor that is thick enough on the average, and gives way in some dials.
pub(crate) fn floor_thin_in_some(
    layer: &Layer,
    pocket: &Cutout,
    (left, strays): (Length, Length),
    (gives, lacking): (f64, f64),
    at: Point,
) -> Diagnostic {
    let least = layer.stock.least_floor;
    let some = of_a_hundred(lacking).unwrap_or_default();
    let message = format!(
        "{} of `{}` leaves a floor of {left} on the average, and it strays by {}: {some} keep less than {}, which gives way",
        pocket.called(),
        layer.name,
        strays.to_decimals(2),
        least * gives
    );
    let wanted = least * gives + strays * normal::FREE;
    Diagnostic::warning(Finding::FloorTooThin, message)
        .label(pocket.mark.origin, format!("{} deep in {}", pocket.depth, layer.stock.thickness.mean))
        .about(&layer.name)
        .spot(at)
        .help(format!(
            "pick the thick boards of the stock for it, or use stock of {} or more",
            (layer.stock.thickness.mean + wanted - left).to_decimals(2)
        ))
}

/// Pockets from both faces that meet.
pub(crate) fn pockets_meet(layer: &Layer, pocket: &Cutout, other: Span, by: Length, at: Point) -> Diagnostic {
    let board = layer.stock.thickness.mean;
    Diagnostic::error(
        Finding::PocketsMeet,
        format!("two pockets of `{}` meet: together they are {by} deeper than the board of {board}", layer.name),
    )
    .label(pocket.mark.origin, format!("{} deep", pocket.depth))
    .label(other, "from the other face")
    .about(&layer.name)
    .spot(at)
    .help("make them shallower, move one aside, or let one magnet serve both turns with `pocket through`")
}

/// Pockets of one face that overlap.
pub(crate) fn pockets_overlap(layer: &Layer, pocket: &Cutout, other: &Cutout, left: Length, at: Point) -> Diagnostic {
    let (made, comes_to): (fn(_, _) -> _, _) = if left.as_mm() > 0.0 {
        (Diagnostic::warning, format!("which leaves a floor of {left} where both are cut"))
    } else {
        (
            Diagnostic::error,
            format!("and go through the board where both are cut: together they are {} deeper than it", -left),
        )
    };
    let message = format!("two pockets of `{}` overlap, {comes_to}", layer.name);
    made(Finding::PocketsOverlap, message)
        .label(pocket.mark.origin, format!("{} deep", pocket.depth))
        .label(other.mark.origin, format!("{} deep", other.depth))
        .about(&layer.name)
        .spot(at)
        .help("join them into one pocket with `plus`, or move one aside")
}
