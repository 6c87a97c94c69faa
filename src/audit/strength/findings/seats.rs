//! What is said of magnets and rivets in their seats, and of what breaks into those or lies under heads.

use kurbo::Point;

use super::super::seats::{Broken, Seat};
use super::super::{Burn, Cutout};
use super::{like_it, point};
use crate::audit::of_a_hundred;
use crate::design::standing::Seated;
use crate::design::{Layer, Magnet, Rivet, Turn};
use crate::diagnostics::{Diagnostic, Finding};
use crate::geometry::Gap;
use crate::source::Span;
use crate::statistics::normal;
use crate::units::{Length, percent, plain};

/// A head that lies over an opening.
pub(crate) fn head_over_opening(layer: &Layer, head: &Seated, opening: &Cutout, gap: Gap) -> Diagnostic {
    let over = Length::mm(-gap.mm);
    let message = format!(
        "{} reaches {over} over {} of `{}`: it hides what shows there, and nothing holds it there",
        a_head(head),
        opening.called(),
        layer.name
    );
    beneath_head(layer, head, opening.mark.origin, message, gap)
}

/// A head that lies over a mark, and what part of the mark that is; none of a line.
pub(crate) fn head_over_mark(layer: &Layer, head: &Seated, burn: &Burn, part: Option<f64>, gap: Gap) -> Diagnostic {
    let (head_is, called, name) = (a_head(head), &burn.called, &layer.name);
    let message = match part {
        Some(part) => format!("{head_is} hides {} of {called} of `{name}`", percent(part, 1)),
        None => format!("{head_is} lies {} over {called} of `{name}` and hides it there", Length::mm(-gap.mm)),
    };
    beneath_head(layer, head, burn.origin, message, gap)
}

fn a_head(head: &Seated) -> String {
    let (word, kind) = (head.word(), head.rivet.kind.word());
    format!("the {word} of the {kind} `{}`, {} across,", head.rivet.name, head.head.diameter)
}

fn beneath_head(layer: &Layer, head: &Seated, origin: Span, message: String, gap: Gap) -> Diagnostic {
    let (word, kind) = (head.word(), head.rivet.kind.word());
    let found = Diagnostic::warning(Finding::BeneathHead, message).label(origin, format!("lies under the {word}"));
    let found = match head.rivet.origin {
        Some(rivet) => found.label(rivet, format!("the {kind}")),
        None => found,
    };
    found
        .about(&layer.name)
        .spot(gap.at.0)
        .help(format!("move it {} away from the {word}, or take a {kind} with a smaller {word}", Length::mm(-gap.mm)))
}

/// A seat whose wall is cut into: by what, what is gone, in how many seats of one line, and the least to be left.
pub(crate) fn pocket_broken(
    layer: &Layer,
    seat: &Seat,
    (cut, origin): (String, Span),
    broken: Broken,
    seats: usize,
    least: Length,
) -> Diagnostic {
    let wall = plain(broken.wall.as_degrees(), 1);
    let more = like_it(seats);
    let message = format!(
        "{cut} of `{}` breaks into {} at {}: {wall}deg of its wall is gone{more}",
        layer.name,
        seat.called(),
        point(broken.at)
    );
    let found = Diagnostic::error(Finding::PocketBroken, message);
    let found = if origin == seat.mark.origin {
        found.label(origin, "both are made here")
    } else {
        found.label(seat.mark.origin, format!("holds {}", seat.holds)).label(origin, "takes its wall away")
    };
    let by = broken.deep + least;
    found.about(&layer.name).spot(broken.at).help(format!("move them {by} apart, so that {least} is left between them"))
}

/// A seat without a pocket.
pub fn magnet_without_pocket(turn: &Turn, magnet: &Magnet, layer: &Layer) -> Diagnostic {
    Diagnostic::error(
        Finding::MagnetWithoutPocket,
        format!("the magnet `{}` has no pocket on the axis of `{}`", magnet.name, layer.name),
    )
    .label(turn.origin, "needs one on either side")
    .label(layer.origin, "none here")
    .about(&layer.name)
    .help(format!("add a pocket about (0, 0), {} across", magnet.diameter + magnet.clearance))
}

/// A pocket beside the axis.
pub(crate) fn pocket_off_centre(layer: &Layer, origin: Span, centre: Point) -> Diagnostic {
    let off = Length::mm(centre.to_vec2().hypot());
    Diagnostic::warning(
        Finding::PocketOffCentre,
        format!("the magnet's pocket in `{}` stands {off} off the axis, at {}", layer.name, point(centre)),
    )
    .label(origin, "the halves would turn about this")
    .about(&layer.name)
    .spot(centre)
    .help("centre it on (0, 0)")
}

/// A magnet that does not go into its pocket.
pub fn magnet_too_wide(layer: &Layer, origin: Span, magnet: &Magnet, across: Length) -> Diagnostic {
    let (name, diameter) = (&magnet.name, magnet.diameter);
    Diagnostic::error(
        Finding::MagnetTooWide,
        format!("the magnet `{name}` of {diameter} does not go into the pocket of {across} in `{}`", layer.name),
    )
    .label(origin, "too narrow")
    .about(&layer.name)
    .help(format!("make it {} across", diameter + magnet.clearance))
}

/// A seat into which not all magnets go: whether it was made by the magnet's clearance, the room in it and by how much that strays, in
/// mm.
pub(crate) fn magnets_tight(
    layer: &Layer,
    (origin, made): (Span, bool),
    magnet: &Magnet,
    (room, strays): (f64, f64),
) -> Diagnostic {
    let name = &magnet.name;
    let some =
        of_a_hundred(normal::lacking(room, strays)).map_or_else(|| "all".to_owned(), |some| format!("{some} of them"));
    let wanted = Length::mm((normal::FREE * strays * 100.0).ceil() / 100.0);
    let message = format!(
        "the magnet `{name}` has {} of room in its pocket in `{}`, which strays by {}: {some} do not go in",
        Length::mm(room).to_decimals(2),
        layer.name,
        Length::mm(strays).to_decimals(2)
    );
    Diagnostic::warning(Finding::MagnetTooWide, message).label(origin, "tight").about(&layer.name).help(if made {
        format!("write `clearance {}` or more in the block of `{name}`", wanted.to_decimals(2))
    } else {
        format!("make it {} across", magnet.diameter + wanted)
    })
}

/// A seat so wide that its wall does not centre the magnet.
pub fn magnet_too_loose(layer: &Layer, origin: Span, magnet: &Magnet, across: Length) -> Diagnostic {
    let (name, diameter) = (&magnet.name, magnet.diameter);
    Diagnostic::warning(
        Finding::MagnetTooLoose,
        format!(
            "the magnet `{name}` of {diameter} lies loose in its seat of {across} in `{}`: nothing keeps it nearer to the axis than {}",
            layer.name,
            ((across - diameter) / 2.0).to_decimals(2)
        ),
    )
    .label(origin, "too wide")
    .about(&layer.name)
    .help(format!("make it {} across", diameter + magnet.clearance))
}

/// A rivet that grips the stack on the average, and not in every dial.
pub(crate) fn rivet_grips_some(
    turn: &Turn,
    rivet: &Rivet,
    (stack, strays): (Length, Length),
    lacking: f64,
) -> Diagnostic {
    let ((least, most), kind) = (rivet.grips, rivet.kind.word());
    let some = of_a_hundred(lacking).map_or_else(|| "all".to_owned(), |some| format!("{some} stacks"));
    let wide = strays * normal::FREE;
    let message = format!(
        "the {kind} `{}` grips {least} to {most}, and the layers that it joins are {stack} thick together and stray by {}: {some} lie outside",
        rivet.name,
        strays.to_decimals(2)
    );
    Diagnostic::warning(Finding::RivetDoesNotGrip, message).label(turn.origin, "joined here").about(&rivet.name).help(
        format!(
            "use a {kind} that grips {} to {}, or sort the boards",
            (stack - wide).to_decimals(2),
            (stack + wide).to_decimals(2)
        ),
    )
}

/// A rivet of the wrong length.
pub fn rivet_grip(turn: &Turn, rivet: &Rivet, stack: Length) -> Diagnostic {
    let ((least, most), kind) = (rivet.grips, rivet.kind.word());
    // What is too thin for it rattles; what is too thick cannot be riveted at all.
    let made = if stack > most { Diagnostic::error } else { Diagnostic::warning };
    made(
        Finding::RivetDoesNotGrip,
        format!(
            "the {kind} `{}` grips {least} to {most}, and the layers that it joins are {stack} thick together",
            rivet.name
        ),
    )
    .label(turn.origin, "joined here")
    .about(&rivet.name)
    .help(format!("use a {kind} that grips {stack}, or other stock"))
}
