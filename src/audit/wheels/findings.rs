//! What is said of wheels that bind, fall out, meet, or that no thumb reaches.

use super::sweeps::Sweep;
use super::{Lying, THUMB, WheelPlay};
use crate::audit::of_a_hundred;
use crate::design::{Layer, Reading};
use crate::diagnostics::{Diagnostic, Finding};
use crate::units::{Length, plain};

/// How many of a hundred wheels bind.
fn bind(share: f64) -> String {
    of_a_hundred(share).map_or_else(|| "it binds".to_owned(), |some| format!("{some} bind"))
}

/// What binds as it is drawn cannot be made; with less play than it wants, some of the run bind.
fn binding(play: Length, message: String) -> Diagnostic {
    let made = if play <= Length::ZERO { Diagnostic::error } else { Diagnostic::warning };
    made(Finding::WheelBinds, message)
}

/// A wheel that is too wide for its opening.
pub(super) fn binds_in_wall(wheel: &Lying, play: &WheelPlay, wanted: Length, share: f64) -> Diagnostic {
    let (name, opening) = (&wheel.layer.name, &wheel.wall.opening);
    let wide = Length::mm(2.0 * wheel.swept());
    let bay = Length::mm(2.0 * wheel.wall.bay.radius);
    let most = ((2.0 * wheel.wall.bay.radius - wanted.as_mm()) * 100.0).floor() / 100.0;
    let message = format!(
        "`{name}` sweeps {} and `{opening}` is {} wide, so that {}",
        wide.to_decimals(2),
        bay.to_decimals(2),
        bind(share)
    );
    binding(play.clearance, message)
        .label(wheel.turn.origin, "turns in this")
        .label(wheel.layer.outline_origin, format!("outline of `{name}`"))
        .help(format!(
            "leave it a play of {} at least, twice what the kerf of both strays by: make it no wider than {}mm, or the opening wider",
            wanted.to_decimals(2),
            plain(most, 2)
        ))
        .about(name)
}

/// A wheel that its floor and lid clamp.
pub(super) fn binds_under_lid(wheel: &Lying, room: Length, wanted: Length, share: f64) -> Diagnostic {
    let name = &wheel.layer.name;
    let thin = (wheel.layer.stock.thickness.mean + room - wanted).as_mm();
    // Down, so that what is stated turns.
    let thin = (thin * 100.0).floor() / 100.0;
    let high = if room <= Length::ZERO {
        format!("`{name}` is as high as its room or higher ({} of play)", room.to_decimals(2))
    } else {
        format!("`{name}` has {} of play between its floor and its lid", room.to_decimals(2))
    };
    let help = format!(
        "leave it {} at least: lay a thin layer with the same opening on the frame, or cut the wheel from a stock no thicker than {}mm",
        wanted.to_decimals(2),
        plain(thin, 2)
    );
    binding(room, format!("{high}, so that {}", bind(share)))
        .label(wheel.turn.origin, "this wheel")
        .help(help)
        .about(name)
}

/// A wheel that its wall does not keep.
pub(super) fn out_of_the_wall(wheel: &Lying, wide: Length) -> Diagnostic {
    let (name, bay) = (&wheel.layer.name, &wheel.wall.bay);
    let round = plain(bay.wall.to_degrees(), 0);
    Diagnostic::error(
        Finding::WheelFallsOut,
        format!(
            "the wall of `{}` goes round {round}deg and leaves a gap of {}, through which `{name}` of {} falls out",
            wheel.wall.opening,
            Length::mm(bay.gap).to_decimals(2),
            wide.to_decimals(2)
        ),
    )
    .label(wheel.turn.origin, "this wheel")
    .help("move the opening farther in, so that its wall goes round more than half a turn and the gap is narrower than the wheel")
    .about(name)
}

/// A wheel with nothing below it, or nothing above.
pub(super) fn nothing_holds(wheel: &Lying, side: &str, way: &str) -> Diagnostic {
    let name = &wheel.layer.name;
    Diagnostic::error(
        Finding::WheelFallsOut,
        format!("nothing lies {side} `{name}`, so it falls out of `{}`", wheel.wall.opening),
    )
    .label(wheel.turn.origin, "this wheel")
    .help(format!("glue a layer {side} the frame that covers the wheel: its {way}"))
    .about(name)
}

/// A wheel that is held on one side alone.
pub(super) fn tips_out(wheel: &Lying, held_by: &Layer) -> Diagnostic {
    let name = &wheel.layer.name;
    Diagnostic::error(
        Finding::WheelFallsOut,
        format!("`{}` holds `{name}` on one side alone, so that it tips out", held_by.name),
    )
    .label(held_by.origin, "covers less than half of the wheel")
    .label(wheel.turn.origin, "this wheel")
    .help("let it cover the wheel on either side of its middle")
    .about(name)
}

/// Two wheels that rub on each other.
pub(super) fn meet(one: &Sweep, other: &Sweep, apart: Length, wanted: Length) -> Diagnostic {
    let (first, second) = (&one.layer.name, &other.layer.name);
    Diagnostic::error(
        Finding::WheelsMeet,
        format!(
            "`{first}` and `{second}` turn {} apart at one level, and with their play they need {}",
            apart.to_decimals(2),
            wanted.to_decimals(2)
        ),
    )
    .label(one.turn.origin, format!("`{first}`"))
    .label(other.turn.origin, format!("`{second}`"))
    .help(format!("lay their axes farther than {} apart, or make them smaller", wanted.to_decimals(2)))
    .about(second)
}

/// A hand that hides what is read without it.
pub(super) fn over_reading(hand: &Sweep, reading: &Reading, what: &str, wide: Length) -> Diagnostic {
    let name = &hand.layer.name;
    Diagnostic::error(
        Finding::HandOverReading,
        format!("`{name}` sweeps over {what} of ring `{}`, which is read without it", reading.ring),
    )
    .label(hand.turn.origin, format!("sweeps a circle {} wide", wide.to_decimals(2)))
    .label(reading.origin, "hidden at some of its stops")
    .help(format!("lay `{name}` farther off, or make it smaller"))
    .about(name)
}

/// A wheel whose rim a thumb does not find.
pub(super) fn thumb_does_not_reach(wheel: &Lying, room: Length) -> Diagnostic {
    let name = &wheel.layer.name;
    let found = if room <= Length::ZERO {
        let says = format!("no piece of the rim of `{name}` is free, so nobody can turn it");
        Diagnostic::error(Finding::ThumbDoesNotReach, says)
    } else {
        let (room, thumb) = (room.to_decimals(1), THUMB.to_decimals(0));
        let says = format!("of the rim of `{name}` {room} is free at the widest, and a thumb is about {thumb} wide");
        Diagnostic::advice(Finding::ThumbDoesNotReach, says)
    };
    found
        .label(wheel.turn.origin, "this wheel")
        .help("bite a hole for the thumb out of the layers above it, or let the opening run out over the edge")
        .about(name)
}
