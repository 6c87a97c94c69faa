//! Findings of the planner: what cannot be laid, cut or turned over as asked.

use kurbo::{Point, Size};

use crate::design::Layer;
use crate::diagnostics::{Diagnostic, Finding};
use crate::plan::Sheet;
use crate::source::Span;
use crate::units::{Angle, Length, plain};

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

/// No axis of symmetry: the part does not drop back into its own opening.
pub fn no_flip_axis(layer: &Layer) -> Diagnostic {
    let message = format!(
        "layer `{}` has work on both faces, but its outline is symmetric about no line through the turning axis, so \
         each part is turned into a mirrored holder cut beside it",
        layer.name
    );
    Diagnostic::warning(Finding::NoFlipAxis, message)
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

fn mm(length: f64) -> Length {
    Length::mm(length)
}
