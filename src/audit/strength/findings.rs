//! What is said of thin places, of marks that do not burn well, and of magnets that do not sit.

use kurbo::Point;

use super::raised::Odd;
use super::seats::{Broken, Seat};
use super::{Burn, Cutout, Web};
use crate::design::{Label, Layer, Magnet, Mark, Passes, Ring, Rivet, Turn};
use crate::diagnostics::{Diagnostic, Finding, Severity};
use crate::geometry::{FlattenedShape, Tip};
use crate::source::Span;
use crate::units::{Length, percent, plain};

fn point(at: Point) -> String {
    format!("({}mm, {}mm)", plain(at.x, 2), plain(at.y, 2))
}

/// Of several, the others than the one that is told.
fn like_it(count: usize) -> String {
    match count {
        1 => String::new(),
        2 => "; one more is like it".to_owned(),
        count => format!("; {} more are like it", count - 1),
    }
}

/// Too little is left between two edges; how wide the same place is drawn and cut, where the two differ.
pub(crate) fn web_too_thin(layer: &Layer, web: &Web, least: Length, differs: Option<(Length, Length)>) -> Diagnostic {
    let (one, other) = &web.between;
    let as_cut = differs.map_or_else(String::new, |(drawn, cut)| {
        let kerf = layer.stock.kerf;
        format!(
            "; it is {drawn} as drawn and {cut} as cut, since the kerf of {kerf} does not reach into the tip of a notch"
        )
    });
    let (from, to) = (point(web.at.0), point(web.at.1));
    let (name, is) = (&layer.name, web.width);
    let message = format!("in `{name}` only {is} is left between {one} and {other}, from {from} to {to}{as_cut}");
    let found = Diagnostic::warning(Finding::WebTooThin, message).label(web.origins.0, one.as_str());
    let found = if web.origins.0 == web.origins.1 { found } else { found.label(web.origins.1, other.as_str()) };
    found
        .about(&layer.name)
        .spot(web.at.0.midpoint(web.at.1))
        .help(format!("leave {least} at least: move or shrink one of them by {}", least - web.width))
}

/// A web that is too thin as drawn alone.
pub(crate) fn web_thin_as_drawn(layer: &Layer, web: &Web, cut: Length, least: Length) -> Diagnostic {
    let drawn = web_too_thin(layer, web, least, Some((web.width, cut)));
    Diagnostic { severity: Severity::Advice, ..drawn }
        .help(format!("as cut it suffices, so nothing need be done; leave {least} as drawn to be free of the kerf"))
}

/// Tips that are thin for long: the longest of so many, and what cuts it, where that is not the outline.
pub(crate) fn thin_tip(layer: &Layer, opening: Option<Span>, tip: &Tip, count: usize, least: Length) -> Diagnostic {
    let more = like_it(count);
    let message = format!(
        "the tip of `{}` at {} is less than {least} wide for its last {}{more}",
        layer.name,
        point(tip.at),
        Length::mm(tip.length)
    );
    Diagnostic::advice(Finding::ThinTip, message)
        .label(opening.unwrap_or(layer.outline_origin), "tapers off here")
        .about(&layer.name)
        .spot(tip.at)
        .help(format!("it chars and breaks easily: blunt it with `rounded` by {}, or widen it", least / 2.0))
}

/// A piece that would fall out, and the least web, which a bridge is too.
pub(crate) fn loose_piece(
    layer: &Layer,
    cut: Option<(String, Span)>,
    (area, at): (f64, Point),
    least_web: Length,
) -> Diagnostic {
    let area = plain(area, 2);
    match cut {
        Some((called, origin)) => Diagnostic::warning(
            Finding::LoosePiece,
            format!("{called} of `{}` frees a piece of {area}mm² at {}, which falls out", layer.name, point(at)),
        )
        .label(origin, "this cuts it off")
        .help(format!(
            "leave a bridge: `stencil(…, bridge: {})` puts one across every hole, or take a thin rectangle away with `less`",
            least_web
        )),
        None => Diagnostic::warning(
            Finding::LoosePiece,
            format!("the outline of `{}` has a second piece of {area}mm² at {}", layer.name, point(at)),
        )
        .label(layer.outline_origin, "this is cut in pieces")
        .help("join the pieces with `plus`, or draw one of them alone"),
    }
    .about(&layer.name)
    .spot(at)
}

/// A piece that would fall out, and with it what turns or holds the layer.
pub(crate) fn loose_seat(layer: &Layer, seat: &Seat, cut: Option<(String, Span)>, area: f64, at: Point) -> Diagnostic {
    let (called, origin) = cut.unwrap_or_else(|| ("the outline".to_owned(), layer.outline_origin));
    let message = format!(
        "{called} of `{}` cuts the piece of {}mm² at {} that holds {} free of the rest, which falls off",
        layer.name,
        plain(area, 2),
        point(at),
        seat.holds
    );
    Diagnostic::error(Finding::LoosePiece, message)
        .label(origin, "this cuts it off")
        .label(seat.mark.origin, format!("holds {}", seat.holds))
        .about(&layer.name)
        .spot(at)
        .help("leave bridges across the opening: take a thin rectangle away from it with `less`")
}

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

/// A layer of which the openings leave nothing.
pub(crate) fn nothing_left(layer: &Layer, widest: &Cutout) -> Diagnostic {
    Diagnostic::error(
        Finding::NothingLeft,
        format!("nothing is left of `{}`: {} covers its whole outline", layer.name, widest.called()),
    )
    .label(widest.mark.origin, "takes all of it away")
    .label(layer.outline_origin, "the outline")
    .about(&layer.name)
    .help("make the opening smaller, or leave the layer out of the stack")
}

/// An opening that misses the part.
pub(crate) fn opening_outside(layer: &Layer, called: &str, origin: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::OpeningOutsideOutline,
        format!("{called} lies wholly outside the outline of `{}`", layer.name),
    )
    .label(origin, "cuts nothing")
    .label(layer.outline_origin, "the outline")
    .about(&layer.name)
    .help("move it in, towards the turning axis at (0, 0)")
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
    let message = format!("{} of `{}` leaves a floor of {left}, and {least} is wanted", pocket.called(), layer.name);
    let found = Diagnostic::warning(Finding::FloorTooThin, message)
        .label(pocket.mark.origin, format!("{} deep in {}", pocket.depth, layer.stock.thickness.mean));
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
    let message = format!("two pockets of `{}` overlap, which leaves a floor of {left} where both are cut", layer.name);
    let made = if left.as_mm() > 0.0 { Diagnostic::warning } else { Diagnostic::error };
    made(Finding::PocketsOverlap, message)
        .label(pocket.mark.origin, format!("{} deep", pocket.depth))
        .label(other.mark.origin, format!("{} deep", other.depth))
        .about(&layer.name)
        .spot(at)
        .help("join them into one pocket with `plus`, or move one aside")
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

/// A mark beyond the outline.
pub(crate) fn mark_outside(layer: &Layer, called: &str, origin: Span, by: Length, at: Point) -> Diagnostic {
    Diagnostic::warning(
        Finding::MarkOutsideOutline,
        format!("{called} reaches {by} beyond the outline of `{}` at {}", layer.name, point(at)),
    )
    .label(origin, "is cut off")
    .label(layer.outline_origin, "the outline")
    .about(&layer.name)
    .spot(at)
    .help(format!("make it smaller, or move it {} towards the axis", by + layer.stock.clear_edge))
}

/// A mark too near to a cut edge.
pub(crate) fn mark_near_edge(
    layer: &Layer,
    called: &str,
    origin: Span,
    room: Length,
    least: Length,
    at: Point,
) -> Diagnostic {
    Diagnostic::warning(
        Finding::MarkNearEdge,
        format!("{called} comes within {room} of an edge of `{}` at {}, and {least} is wanted", layer.name, point(at)),
    )
    .label(origin, "too near to the edge")
    .about(&layer.name)
    .spot(at)
    .help(format!("move it {} away, or accept it with a reason", least - room))
}

/// A mark that is cut away.
pub(crate) fn mark_cut_away(
    layer: &Layer,
    burn: &Burn,
    cut: &str,
    cut_origin: Span,
    lost: Option<f64>,
    at: Point,
) -> Diagnostic {
    let called = &burn.called;
    let message = match lost {
        Some(share) => format!("{cut} of `{}` takes away {} of {called}", layer.name, percent(share, 1)),
        None => format!("{cut} of `{}` cuts through {called}", layer.name),
    };
    Diagnostic::warning(Finding::MarkCutAway, message)
        .label(burn.origin, "stands where the surface is taken away")
        .label(cut_origin, "takes it away")
        .about(&layer.name)
        .spot(at)
        .help("move one of them aside, or put the mark on the other face")
}

/// A stroke or gap finer than the stock burns.
pub(crate) fn feature_too_small(
    layer: &Layer,
    burn: &Burn,
    stroke: bool,
    is: Length,
    least: Length,
    at: Point,
) -> Diagnostic {
    let what = if stroke { "a stroke" } else { "a gap" };
    let times = least.as_mm() / is.as_mm().max(1e-6);
    let larger = format!("make it {} times as large", plain(times, 2));
    Diagnostic::warning(
        Finding::FeatureTooSmall,
        format!(
            "{} of `{}` has {what} of {is}, and `{}` burns no finer than {least}",
            burn.called, layer.name, layer.stock.name
        ),
    )
    .label(burn.origin, format!("{what} of {is} at {}", point(at)))
    .about(&layer.name)
    .spot(at)
    .help(match (times <= LARGER, stroke) {
        (true, true) => format!("{larger}, or bolder"),
        (true, false) => format!("{larger}, or move what is too close apart (`tracking` in a text)"),
        (false, true) => "make it bolder there, or leave that stroke out".to_owned(),
        (false, false) => "widen that gap, or close it".to_owned(),
    })
}

/// Labels that are left standing, of which something is burnt all the same.
pub(crate) fn raised_burnt_away(layer: &Layer, odd: &Odd, by: Option<&Mark>) -> Diagnostic {
    let (ring, says) = (&odd.ring.name, &odd.label.says);
    let message = format!(
        "{} of the label `{says}` of ring `{ring}` is burnt away on `{}`, where it is to be left standing{}",
        percent(odd.share, 1),
        layer.name,
        like_it(odd.count)
    );
    let found = raised(Finding::RaisedBurntAway, message, odd).label(odd.ring.origin, "to be left standing");
    let found = match by {
        Some(mark) => found.label(mark.origin, "burns over it"),
        None => found,
    };
    found.help(format!("take the labels out of what is burnt over them: `less {ring}` at its end"))
}

/// Labels that are left standing together with what is around them.
pub(crate) fn raised_not_freed(layer: &Layer, odd: &Odd, nothing: bool) -> Diagnostic {
    let (ring, says) = (&odd.ring.name, &odd.label.says);
    let message = if nothing {
        format!("nothing is burnt around the labels of ring `{ring}` on `{}`, so they do not show", layer.name)
    } else {
        format!(
            "{} of what lies right around the label `{says}` of ring `{ring}` stands as high as it does on `{}`{}",
            percent(odd.share, 1),
            layer.name,
            like_it(odd.count)
        )
    };
    let found = raised(Finding::RaisedNotFreed, message, odd).label(odd.ring.origin, "is left standing");
    let labels = || odd.ring.labels.iter().map(|label| FlattenedShape::of(&label.ink));
    let band = labels().filter_map(|flat| flat.annulus()).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let rim = layer.outline.least_radius(Point::ZERO).unwrap_or(0.0) - layer.stock.clear_edge.as_mm();
    let room = band.map(|(inner, outer)| ((inner - 1.0).max(0.0).floor(), (outer + 1.0).ceil()));
    found.help(match room.filter(|(_, outer)| *outer <= rim) {
        Some((inner, outer)) => format!(
            "burn the ground around them: `engrave circle(diameter: {}mm) less circle(diameter: {}mm) less {ring} depth 0.5mm`",
            2.0 * outer,
            2.0 * inner
        ),
        None => format!("burn the ground around them, `engrave … less {ring}`, 1mm wider all round than they are, and make them smaller where the rim leaves no room for it"),
    })
}

fn raised(finding: Finding, message: String, odd: &Odd) -> Diagnostic {
    let found = if odd.reads { Diagnostic::warning(finding, message) } else { Diagnostic::error(finding, message) };
    let found = found.about(&odd.ring.name);
    match odd.label.ink.bounds() {
        Some(bounds) => found.spot(bounds.center()),
        None => found,
    }
}

/// A stroke that is left standing and thinner than it is high, or than anything that the stock burns.
pub(crate) fn raised_too_thin(
    layer: &Layer,
    (ring, label): (&Ring, &Label),
    (is, at): (Length, Point),
    (least, high): (Length, Length),
) -> Diagnostic {
    let (name, says) = (&ring.name, &label.says);
    let why = if high >= least {
        format!("and it stands {high} high")
    } else {
        format!("and `{}` burns no finer than {least}", layer.stock.name)
    };
    let message = format!("a stroke of the label `{says}` of ring `{name}` is {is} thick at {}, {why}", point(at));
    // A twentieth more than in proportion: where a letter is thinnest moves a little with its size.
    let times = plain((10.5 * least.as_mm() / is.as_mm().max(1e-6)).ceil() / 10.0, 1);
    let burn = if high >= least && is > layer.stock.least_feature {
        format!(", or burn no deeper than {is} around them")
    } else {
        String::new()
    };
    Diagnostic::warning(Finding::RaisedTooThin, message)
        .label(ring.origin, "breaks off or chars away")
        .about(name)
        .spot(at)
        .help(format!("make the labels {times} times as high, or bolder (`typeface \"DejaVu Sans Bold\"`){burn}"))
}

/// A pocket finer than the stock burns.
pub(crate) fn pocket_too_fine(layer: &Layer, pocket: &Cutout, is: Length, least: Length, at: Point) -> Diagnostic {
    let (called, name, stock) = (pocket.called(), &layer.name, &layer.stock.name);
    let message =
        format!("{called} of `{name}` is {is} wide at {}, and `{stock}` burns no finer than {least}", point(at));
    Diagnostic::warning(Finding::FeatureTooSmall, message)
        .label(pocket.mark.origin, "comes out wider, or not at all")
        .about(&layer.name)
        .spot(at)
        .help(format!("make it {least} wide or more, or `score` it as a line"))
}

/// Art that would have to grow by more than this is better mended where it is too fine.
const LARGER: f64 = 3.0;

/// Labels that overlap: the deepest pair of two rings, or of a ring and a mark, and how many pairs there are.
pub(crate) fn labels_overlap(
    layer: &Layer,
    (burn, other): (&Burn, &Burn),
    by: Length,
    at: Point,
    pairs: usize,
) -> Diagnostic {
    let more = match pairs {
        1 => String::new(),
        2 => "; one more pair does".to_owned(),
        pairs => format!("; {} more pairs do", pairs - 1),
    };
    let message = format!("{} and {} overlap by {by} on `{}`{more}", burn.called, other.called, layer.name);
    let found = Diagnostic::warning(Finding::LabelsOverlap, message);
    let found = if burn.origin == other.origin {
        found.label(burn.origin, "overlap each other")
    } else {
        found.label(burn.origin, "overlaps the other").label(other.origin, "the other")
    };
    found.about(&layer.name).spot(at).help("lower the labels, enlarge the ring's `radius`, or use fewer of them")
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
