//! Findings of the planner: what cannot be laid, cut or turned over as asked.

use kurbo::{Point, Size};

use super::model::TurnedFor;
use super::nest::Sheet;
use crate::design::{Layer, Printer, Work};
use crate::diagnostics::{Diagnostic, Finding, counted};
use crate::source::Span;
use crate::units::{Angle, Length, mm, plain};

/// A part does not fit its board, its holder with it where it needs one.
pub fn part_larger_than_board(layer: &Layer, size: Size, sheet: &Sheet, with_holder: bool) -> Diagnostic {
    let what = if with_holder { "with the mirrored holder that it is turned into, takes" } else { "takes" };
    let message = format!(
        "layer `{}` {what} {} by {}, but the board of `{}` has {} by {} inside its margin",
        layer.name,
        mm(size.width),
        mm(size.height),
        layer.stock.name,
        mm(sheet.width - 2.0 * sheet.margin),
        mm(sheet.height - 2.0 * sheet.margin),
    );
    let found = Diagnostic::error(Finding::PartLargerThanBoard, message)
        .about(&layer.name)
        .label(layer.outline_origin, format!("{} by {}", mm(size.width), mm(size.height)));
    let found = match layer.stock.origin {
        Some(stock) => found.label(stock, "its stock"),
        None => found,
    };
    found.help("make the outline smaller, give the stock a larger `board`, or lessen the `margin`")
}

/// A board with a print on it that the printer does not take.
pub fn sheet_too_large(layer: &Layer, printer: &Printer) -> Diagnostic {
    let (width, height) = layer.stock.board;
    let (wide, high) = printer.sheet.unwrap_or(layer.stock.board);
    let message = format!(
        "layer `{}` is printed on its board of `{}`, {width} by {height}, and the printer takes sheets of {wide} by {high} at the most",
        layer.name, layer.stock.name
    );
    let origin = printed_at(layer);
    let found = Diagnostic::error(Finding::SheetTooLarge, message).label(origin, "printed");
    let found = match layer.stock.origin {
        Some(stock) => found.label(stock, "its stock"),
        None => found,
    };
    let found = match printer.origin {
        Some(printer) => found.label(printer, "the printer"),
        None => found,
    };
    found.about(&layer.name).help(format!(
        "cut the stock to sheets that the printer takes (`board {wide} by {high}`), or print on a thin layer of its own and glue it on"
    ))
}

/// A cross by which cuts are lined up with a print lies where the stock is kept clear.
pub fn cross_under_clamp(layer: &Layer, at: Point) -> Diagnostic {
    let place = format!("({}, {})", mm(at.x), mm(at.y));
    let message = format!(
        "a cross by which the cuts are lined up with the print on `{}` stands at {place} on its board, where `{}` is to be kept clear",
        layer.name, layer.stock.name
    );
    let found = Diagnostic::error(Finding::CrossUnderClamp, message).label(printed_at(layer), "printed");
    let found = match layer.stock.origin {
        Some(stock) => found.label(stock, "its stock"),
        None => found,
    };
    found.about(&layer.name).help("hold the sheet away from its corners, so that each cross is seen")
}

/// What asked for the first print on a layer.
fn printed_at(layer: &Layer) -> Span {
    let marks = layer.marks.iter().filter(|mark| matches!(mark.work, Work::Print { .. })).map(|mark| mark.origin);
    let rings = layer.rings.iter().filter(|ring| ring.is_printed()).map(|ring| ring.origin);
    marks.chain(rings).min().unwrap_or(layer.origin)
}

/// A part that the bed of a machine may lose.
pub fn part_very_small(layer: &Layer, widest: Length, least: Length) -> Diagnostic {
    let message =
        format!("layer `{}` is {widest} across, and parts below {least} may fall through the bed", layer.name);
    Diagnostic::advice(Finding::PartVerySmall, message)
        .about(&layer.name)
        .label(layer.outline_origin, "so small a part")
        .help("cut it on a sacrificial sheet or under tape, or make it larger")
}

/// No axis of symmetry: the part does not drop back into its own opening.
pub fn no_flip_axis(layer: &Layer) -> Diagnostic {
    let message = format!(
        "layer `{}` has work on both faces, but its outline is symmetric about no line through the turning axis, so \
         each part is turned into a mirrored holder cut beside it",
        layer.name
    );
    Diagnostic::advice(Finding::NoFlipAxis, message)
        .about(&layer.name)
        .label(layer.outline_origin, "symmetric about no line through the turning axis")
        .help("write `flip board` to turn the whole board instead, or make the outline symmetric")
}

/// The stated axis is none of the outline's axes of symmetry.
pub fn flip_axis_not_symmetric(layer: &Layer, axis: Angle, at: Span, spot: Point, better: Option<Angle>) -> Diagnostic {
    let axis = plain(axis.as_degrees(), 3);
    let message = format!(
        "turned over about bearing {axis}deg, layer `{}` does not drop back into its own opening: its outline is not \
         symmetric about that line",
        layer.name
    );
    let help = match better {
        Some(better) => format!(
            "write `flip about {}deg`, about which the outline is symmetric, or leave the line out",
            plain(better.as_degrees(), 3)
        ),
        None => "write `flip board`, or leave the line out: a mirrored holder is then cut for each part".to_owned(),
    };
    Diagnostic::error(Finding::FlipAxisNotSymmetric, message)
        .about(&layer.name)
        .spot(spot)
        .label(at, "turned about this line")
        .label(layer.outline_origin, "not symmetric about it")
        .help(help)
}

/// Parts are turned one by one, but work that comes after turning them back would find them cut free.
pub fn freed_too_early(layer: &Layer, flip: Span) -> Diagnostic {
    let wait = layer.waits.last();
    let after = wait.map_or_else(String::new, |wait| format!(" that comes after `{}`", wait.after));
    let message = format!(
        "parts of layer `{}` that are turned over one by one are cut free before the work{after}, and nothing is to be \
         cut free before all work on its face is done",
        layer.name
    );
    let found =
        Diagnostic::error(Finding::WorkOutOfOrder, message).about(&layer.name).label(flip, "turns part by part");
    let found = match wait {
        Some(wait) => found.label(wait.origin, "needs the face a second time"),
        None => found,
    };
    found.help("write `flip board`, or leave the line out: the whole board is then turned as often as it takes")
}

/// A tick across the rim by which nothing is laid back.
pub fn witness_of_no_use(layer: &Layer, why: &str, origin: Span) -> Diagnostic {
    let message = format!("the parts of layer `{}` {why}, so no tick is needed to lay them back by", layer.name);
    Diagnostic::advice(Finding::WitnessOfNoUse, message)
        .about(&layer.name)
        .label(origin, "is scored on the part alone")
        .help("leave `witness` out")
}

/// The plan turns the whole board over of its own accord, and why.
pub fn board_turned(layer: &Layer, why: &TurnedFor) -> Diagnostic {
    let name = &layer.name;
    let (message, help) = match why {
        TurnedFor::Setups(count) => (
            format!(
                "layer `{name}` needs {count} setups in turn on its two faces, so the whole board is turned over each \
                 time and the parts are cut free in the last"
            ),
            "take an `after` out to do with fewer",
        ),
        TurnedFor::Centring(room) => (
            format!(
                "turned over in its own opening, layer `{name}` could bring its pockets {} off centre, and readings leave {}, \
                 so the whole board is turned over against two stops instead",
                room.taken, room.left
            ),
            "write `flip about 0deg` with an axis of the outline, or `flip holder`, to turn the parts one by one all the same",
        ),
        TurnedFor::Boards { holders, turned } => (
            format!(
                "the outline of layer `{name}` is symmetric about no line through the turning axis; {} where turning the \
                 whole board over takes {turned}, so the board is turned",
                match holders {
                    Some(holders) => format!("mirrored holders would take {}", counted(*holders, "board")),
                    None => "no board has room for a part with its mirrored holder,".to_owned(),
                }
            ),
            "write `flip holder` to have holders cut all the same",
        ),
    };
    Diagnostic::advice(Finding::BoardTurned, message)
        .about(name)
        .label(layer.origin, "turned over with its board")
        .help(help)
}

/// The kerf swallows an opening, or a neck of it.
pub fn opening_narrower_than_kerf(layer: &Layer, name: &Option<String>, at: Span, whole: bool) -> Diagnostic {
    let kerf = layer.stock.kerf;
    let opening = name.as_ref().map_or_else(|| "an opening".to_owned(), |name| format!("opening `{name}`"));
    let about = name.as_ref().unwrap_or(&layer.name);
    let help = format!("make it wider than {kerf}, or write `score` for a line that need not go through");
    if whole {
        let message = format!("{opening} of layer `{}` is narrower than the kerf of {kerf}", layer.name);
        let found = Diagnostic::error(Finding::OpeningNarrowerThanKerf, message);
        return found.about(about).label(at, "nothing is left to cut").help(help);
    }
    let message = format!(
        "part of {opening} of layer `{}` is narrower than the kerf of {kerf}, and is cut wider or not at all",
        layer.name
    );
    let found = Diagnostic::warning(Finding::OpeningNarrowerThanKerf, message);
    found.about(about).label(at, "narrower than the kerf in places").help(help)
}

/// The tool's path round an outline closes over a notch of it.
pub fn outline_gap_closes(layer: &Layer) -> Diagnostic {
    let kerf: Length = layer.stock.kerf;
    let message = format!(
        "a gap in the outline of layer `{}` is narrower than the kerf of {kerf}, and is cut wider or not at all",
        layer.name
    );
    Diagnostic::warning(Finding::OpeningNarrowerThanKerf, message)
        .about(&layer.name)
        .label(layer.outline_origin, "narrower than the kerf in places")
        .help(format!("make it wider than {kerf}, or write `score` for a line that need not go through"))
}
