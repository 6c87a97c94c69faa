//! What is said of magnets and heads that stand proud.

use super::Unsure;
use crate::design::{Depth, Layer, Magnet, Rivet, Seat, Turn};
use crate::diagnostics::{Diagnostic, Finding};
use crate::units::{Length, percent};

/// What is told of all that keeps halves apart: where they touch, and what is seen between.
fn apart(by: Length, upper: &Layer, turns: bool) -> String {
    if turns {
        format!("`{}` turns {} above the layer below it, on what stands out alone", upper.name, by.to_decimals(2))
    } else {
        format!("`{}` does not lie on the layer that it is glued to, but {} above it", upper.name, by.to_decimals(2))
    }
}

/// Magnets of a turn that stand out of their pockets.
pub fn magnets_proud(turn: &Turn, by: Length, upper: &Layer, instead: Option<String>) -> Diagnostic {
    let Some([(magnet, lower), (other, above)]) = turn.pivot.seats() else {
        return Diagnostic::warning(Finding::MagnetProud, apart(by, upper, true));
    };
    let seat = |seat: &Seat| match seat.depth {
        Depth::Down(depth) => format!("a pocket of {depth}"),
        Depth::Through => "a hole".to_owned(),
    };
    let seats = [seat(lower), seat(above)];
    if magnet != other {
        let one = |disc: &Magnet, seat: &str| format!("`{}` of {} in {seat}", disc.name, disc.height);
        let both = format!("{} and {}", one(magnet, &seats[0]), one(other, &seats[1]));
        let message = format!("{both} stand {} out: {}", by.to_decimals(2), apart(by, upper, true));
        return Diagnostic::warning(Finding::MagnetProud, message)
            .label(turn.origin, "the halves cannot meet here")
            .about(&magnet.name)
            .help("make `pocket_lower` or `pocket_upper` deeper; what stands out of one half must go into the pocket of the other");
    }
    let seats = if seats[0] == seats[1] { format!("each in {}", seats[0]) } else { seats.join(" and ") };
    let glue = magnet.film();
    let glue = if glue > Length::ZERO { format!(" on {} of glue", glue.to_decimals(2)) } else { String::new() };
    Diagnostic::warning(
        Finding::MagnetProud,
        format!(
            "the magnets `{}` of {}{glue}, {seats}, stand {} out: {}",
            magnet.name,
            magnet.height,
            by.to_decimals(2),
            apart(by, upper, true)
        ),
    )
    .label(turn.origin, "the halves cannot meet here")
    .about(&magnet.name)
    .help(instead.unwrap_or_else(|| "take a lower magnet, or thicker stock with deeper pockets".to_owned()))
}

/// Click magnets that stand out of their pockets.
pub fn clicks_proud(turn: &Turn, by: Length, upper: &Layer) -> Diagnostic {
    let clicks = turn.clicks.as_ref();
    let name = clicks.map_or("", |clicks| clicks.magnet.name.as_str());
    let origin = clicks.map_or(turn.origin, |clicks| clicks.origin);
    let message = format!(
        "the click magnets `{name}` stand {} out of their pockets: {}",
        by.to_decimals(2),
        apart(by, upper, true)
    );
    let found = Diagnostic::warning(Finding::MagnetProud, message).label(origin, "the halves cannot meet here");
    let sink = clicks.map_or(by, |clicks| clicks.magnet.sink + by / 2.0);
    found.about(name).help(format!("write `sink {}` or more in the block of `{name}`", up(sink)))
}

/// In hundredths, rounded up so that it suffices.
fn up(length: Length) -> String {
    Length::mm((length.as_mm() * 100.0 - 1e-6).ceil() / 100.0).to_decimals(2)
}

/// A magnet higher than the layer that its hole goes through, with a layer on that side of it.
pub fn magnet_between(magnet: &Magnet, layer: &Layer, by: Length, upper: &Layer, turns: bool) -> Diagnostic {
    let made = if turns { Diagnostic::warning } else { Diagnostic::error };
    made(
        Finding::MagnetProud,
        format!(
            "the magnet `{}` of {} in the hole through `{}`, {} thick, stands {} out of it: {}",
            magnet.name,
            magnet.height,
            layer.name,
            layer.stock.thickness.mean,
            by.to_decimals(2),
            apart(by, upper, turns)
        ),
    )
    .label(layer.origin, "its board is lower than the magnet")
    .about(&magnet.name)
    .help("take a lower magnet or a thicker board, or open the layer that lies on it there")
}

/// A magnet that stands out of the finished dial.
pub fn magnet_sticks_out(magnet: &Magnet, layer: &Layer, by: Length, side: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::MagnetProud,
        format!(
            "the magnet `{}` of {} in the hole through `{}`, {} thick, stands {} out of the {side} of the dial",
            magnet.name,
            magnet.height,
            layer.name,
            layer.stock.thickness.mean,
            by.to_decimals(2)
        ),
    )
    .label(layer.origin, "its board is lower than the magnet")
    .about(&magnet.name)
    .help("take a lower magnet or a thicker board, or glue a layer over it that is open there")
}

/// The head of a rivet between two layers: a second rivet would go through the same hole.
pub fn head_between(turn: &Turn, rivet: &Rivet, by: Length, upper: &Layer) -> Diagnostic {
    let kind = rivet.kind.word();
    let message = format!("the head of `{}` lies between two layers: {}", rivet.name, apart(by, upper, true));
    Diagnostic::error(Finding::HeadBetween, message)
        .label(turn.origin, format!("another {kind} about the same axis"))
        .about(&upper.name)
        .help(format!("glue two of these layers together, so that one {kind} joins them all"))
}

/// Magnets that some pockets leave standing out, since depths stray.
pub fn magnets_may_be_proud(turn: &Turn, found: &Unsure, upper: &Layer, instead: Option<String>) -> Diagnostic {
    let names: Vec<String> = turn.pivot.discs().map(|disc| format!("`{}`", disc.name)).collect();
    let (names, about) = (names.join(" and "), turn.pivot.discs().next().map_or("", |disc| disc.name.as_str()));
    let what = if turn.pivot.is_on_steel() { "the two discs" } else { "the magnets" };
    let message = format!(
        "pockets of {} leave {what} {names} {} of room in all: in some {} of dials they stand out, and `{}` turns \
        on them alone",
        found.depths.join(", and of "),
        found.room.to_decimals(2),
        percent(found.share, 0),
        upper.name
    );
    Diagnostic::warning(Finding::MagnetProud, message).label(turn.origin, "hardly any room").about(about).help(
        instead.unwrap_or_else(|| {
            "take a lower magnet, or measure `passes` more often, so that less is left open".to_owned()
        }),
    )
}
