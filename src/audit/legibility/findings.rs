//! What is said of labels that are hard to read.

use kurbo::Point;

use super::ground::Seen;
use super::lettering::Words;
use crate::design::{Label, Layer, Mark, Reading, Ring, RingWork, Tone, Work, hex};
use crate::diagnostics::{Diagnostic, Finding};
use crate::physics::contrast::Contrast;
use crate::physics::legibility::{self, ArcMinutes, LEAST, PREFERRED};
use crate::source::Span;
use crate::units::{Length, percent, plain};

/// Labels too small for the distance they are read from.
pub(crate) fn label_too_small(
    ring: &Ring,
    reading: &Reading,
    height: Length,
    distance: Length,
    angle: ArcMinutes,
) -> Diagnostic {
    let (least, easy) = (legibility::height(LEAST, distance), legibility::height(PREFERRED, distance));
    let seen = format!(
        "labels of ring `{}` that are {height} high fill {} minutes of arc from {distance}",
        ring.name,
        plain((angle.0 * 10.0).floor() / 10.0, 1)
    );
    let (found, wanted) = if angle < LEAST {
        let message = format!("{seen}, and {} are the least that reads", plain(LEAST.0, 0));
        (
            Diagnostic::warning(Finding::LabelTooSmall, message),
            format!("{} at least, {} to read with ease", up(least), up(easy)),
        )
    } else {
        let message = format!("{seen}; they read, and with ease from {} on", plain(PREFERRED.0, 0));
        (Diagnostic::advice(Finding::LabelTooSmall, message), up(easy))
    };
    let nearer = legibility::farthest(height, if angle < LEAST { LEAST } else { PREFERRED });
    let nearer = nearer.map_or_else(String::new, |nearer| {
        format!(", or have it read from {}mm or nearer", plain(nearer.as_mm().floor(), 0))
    });
    found
        .label(ring.origin, format!("{height} high"))
        .label(reading.origin, format!("read from {distance}"))
        .about(&ring.name)
        .help(format!("make them {wanted}{nearer}"))
}

/// A height, rounded up to the hundredth so that it suffices.
fn up(height: Length) -> String {
    Length::mm((height.as_mm() * 100.0).ceil() / 100.0).to_decimals(2)
}

/// Scored lines that run too near to each other.
pub(crate) fn lines_burn_into_one(layer: &Layer, origin: Span, apart: Length) -> Diagnostic {
    let (kerf, name, stock) = (layer.stock.kerf, &layer.name, &layer.stock.name);
    let message = format!(
        "scored lines of `{name}` run {} apart, and each is as wide as a cut through `{stock}`, {kerf}: they burn into one",
        apart.to_decimals(3)
    );
    let larger = (10.0 * kerf.as_mm() / apart.as_mm().max(1e-6)).ceil() / 10.0;
    Diagnostic::warning(Finding::FeatureTooSmall, message)
        .label(origin, "filled in")
        .about(name)
        .help(format!("make it {} times as large, or `engrave` it", plain(larger, 1)))
}

/// Two scored lines that run too near to each other, or one that comes back beside itself.
pub(crate) fn lines_too_near(layer: &Layer, (one, other): (Span, Span), apart: Length, at: Point) -> Diagnostic {
    let (kerf, name, stock) = (layer.stock.kerf, &layer.name, &layer.stock.name);
    let message = format!(
        "scored lines of `{name}` run along each other {} apart at ({}mm, {}mm), and each is as wide as a cut through `{stock}`, {kerf}: they burn into one",
        apart.to_decimals(3),
        plain(at.x, 2),
        plain(at.y, 2)
    );
    let found = Diagnostic::warning(Finding::FeatureTooSmall, message).label(one, "runs along the other");
    let found = if one == other { found } else { found.label(other, "the other") };
    found
        .about(name)
        .spot(at)
        .help(format!("move them {} farther apart, or `engrave` what lies between them", up(kerf - apart)))
}

/// Scored lines that lie on each other.
pub(crate) fn scored_twice(layer: &Layer, (one, other): (Span, Span), long: Length) -> Diagnostic {
    let (name, long) = (&layer.name, long.to_decimals(1));
    let message = format!(
        "{long} of the scored lines of `{name}` lie on each other: they are burnt twice, and come out deeper and darker"
    );
    let found = Diagnostic::advice(Finding::ScoredTwice, message).label(one, "lies on the other");
    let found = if one == other { found } else { found.label(other, "the other") };
    found
        .about(name)
        .help("leave one of the two out; edges that areas share are scored once where the areas are joined with `plus`")
}

/// Words that are seen only from where they are mirrored.
pub(crate) fn reads_mirrored(words: &Words) -> Diagnostic {
    let (says, layer) = (shown(words), &words.layer.name);
    let face = words.mark.face.word();
    let (how, help) = if words.lettering.mirrored {
        (
            "is mirrored by hand",
            "leave `mirrored` out: what is written for a face reads right on it, on a back as well".to_owned(),
        )
    } else {
        (
            "is seen through the clear stock alone, from the other side",
            "mirror it on purpose: write `mirrored about 0deg` right behind its words, or put it on the other face"
                .to_owned(),
        )
    };
    let message = format!("`{says}` on the {face} of `{layer}` {how}, so it reads mirrored");
    Diagnostic::warning(Finding::ReadsMirrored, message).label(words.mark.origin, "mirrored").about(layer).help(help)
}

/// Words that lie over each other where both are seen.
pub(crate) fn letters_overlap(one: &Words, two: &Words, by: Length) -> Diagnostic {
    let place = |words: &Words| format!("the {} of `{}`", words.mark.face.word(), words.layer.name);
    let (says, other) = (shown(one), shown(two));
    let message = if place(one) == place(two) {
        format!("`{says}` and `{other}` lie over each other by {by} on {}", place(one))
    } else {
        format!(
            "`{says}` on {} and `{other}` on {} lie over each other by {by}, and one is seen through the other",
            place(one),
            place(two)
        )
    };
    let found = Diagnostic::warning(Finding::LettersOverlap, message).label(one.mark.origin, "lies over the other");
    let found = if one.mark.origin == two.mark.origin { found } else { found.label(two.mark.origin, "the other") };
    found.about(&one.layer.name).help("move one of them away with `at`, or make it smaller")
}

/// Words that are burnt into what is burnt as dark.
pub(crate) fn letters_lost(words: &Words, around: &Mark, share: f64) -> Diagnostic {
    let (says, layer, share) = (shown(words), &words.layer.name, percent(share, 1));
    let message = format!(
        "{share} of `{says}` on `{layer}` lies in an area that is engraved as dark, so nothing shows of it there"
    );
    Diagnostic::warning(Finding::LettersOverlap, message)
        .label(words.mark.origin, "not seen")
        .label(around.origin, "engraved all over")
        .about(layer)
        .help("move the words away, or cut them out of the area with `less`")
}

fn shown(words: &Words) -> String {
    words.lettering.says.replace('\n', " ")
}

/// A ring that hardly stands out from its ground, and whether it is seen through a clear layer.
pub(crate) fn ring_too_faint(
    layer: &Layer,
    (ring, label): (&Ring, &Label),
    seen: &Seen,
    wanted: f64,
    through: bool,
) -> Diagnostic {
    let which = if ring.inks().len() > 1 { format!("label `{}`", label.says) } else { "the labels".to_owned() };
    let are = if ring.inks().len() > 1 { "is" } else { "are" };
    let message = format!(
        "{which} of ring `{}` {are} {} on {}{}, a contrast of {} to 1, and {} is wanted",
        ring.name,
        hex(seen.mark),
        hex(seen.ground),
        if through { ", as seen through what is clear over them" } else { "" },
        seen.contrast,
        plain(wanted, 1)
    );
    if ring.work == RingWork::Raised {
        let (name, fill) = filling(seen.mark);
        return Diagnostic::warning(Finding::ContrastTooLow, message)
            .label(ring.origin, "hard to tell from its ground")
            .about(&ring.name)
            .help(format!("fill what is burnt around them with an ink that shows beside them (`ink \"{name}\" colour {fill}` behind `engrave … less {}`), or paint the face before it is burnt", ring.name));
    }
    if ring.is_printed() {
        return printed_too_faint(layer, seen, message, ring.origin).about(&ring.name);
    }
    let full = || Contrast::between(layer.inked(1.0, label.filled.as_ref()), seen.ground).reaches(wanted);
    let full_does = (ring.tone < 1.0).then(full);
    faint(layer, seen, message, ring.origin, full_does).about(&ring.name)
}

/// Engravings that hardly stand out from their ground.
pub(crate) fn marks_too_faint(layer: &Layer, mark: &Mark, seen: &Seen, wanted: f64) -> Diagnostic {
    let is_printed = matches!(mark.work, Work::Print { .. });
    let what = if is_printed { "printed words" } else { "engravings" };
    let message = format!(
        "{what} of `{}` are {} on {}, a contrast of {} to 1, and {} is wanted",
        layer.name,
        hex(seen.mark),
        hex(seen.ground),
        seen.contrast,
        plain(wanted, 1)
    );
    if is_printed {
        return printed_too_faint(layer, seen, message, mark.origin).about(&layer.name);
    }
    // Marks of less than full tone are meant to be faint, and are not told of.
    faint(layer, seen, message, mark.origin, None).about(&layer.name)
}

/// A colour to fill engravings with that shows on this ground: a light one or a dark one.
fn filling(ground: Tone) -> (&'static str, String) {
    let [light, dark] = [[0xf5, 0xf0, 0xe6], [0x1a, 0x18, 0x16]];
    let is_light = Contrast::between(light, ground) >= Contrast::between(dark, ground);
    if is_light { ("white", hex(light)) } else { ("black", hex(dark)) }
}

/// What is said of what is printed.
fn printed_too_faint(layer: &Layer, seen: &Seen, message: String, origin: Span) -> Diagnostic {
    let found = Diagnostic::warning(Finding::ContrastTooLow, message).label(origin, "hard to tell from its ground");
    let under = layer.marks.iter().find(|mark| mark.work.coat() == Some(seen.ground) && mark.origin != origin);
    let found = under.into_iter().fold(found, |found, mark| found.label(mark.origin, "what it stands on"));
    found.help(format!("print it in a colour that shows there, such as `colour {}`", filling(seen.ground).1))
}

/// What is said of either: of what is engraved fainter than it could be, whether full tone would do by itself.
fn faint(layer: &Layer, seen: &Seen, message: String, origin: Span, full_does: Option<bool>) -> Diagnostic {
    let found = Diagnostic::warning(Finding::ContrastTooLow, message).label(origin, "hard to tell from its ground");
    let (name, fill) = filling(seen.ground);
    let paint = layer.marks.iter().find(|mark| mark.work.coat() == Some(seen.ground));
    if let Some(paint) = paint {
        return found.label(paint.origin, "the paint that it stands on").help(format!(
            "take paint of another tone, leave the mark out of it (`bare`), or fill the engraving with an ink that shows on it (`ink \"{name}\" colour {fill}`)"
        ));
    }
    let place = if layer.finish.is_some() { "" } else { " in a `finish`" };
    let engraved = match full_does {
        Some(true) => "engrave in full tone".to_owned(),
        Some(false) => format!("engrave in full tone and fill the engravings (`fill {fill}`{place})"),
        None => format!("fill the engravings (`fill {fill}`{place})"),
    };
    match &layer.finish {
        Some(finish) => found
            .label(finish.origin, "the finish")
            .help(format!("{engraved}, or choose a lighter stain or stain before cutting")),
        None => found.help(format!("{engraved}, or use a stock of other colours")),
    }
}

/// An engraving that goes through the face veneer.
pub(crate) fn engraving_past_veneer(
    layer: &Layer,
    depth: Length,
    stated: bool,
    veneer: Length,
    origin: Span,
) -> Diagnostic {
    let taken = if stated { "" } else { " (nominal, none is stated)" };
    let message = format!(
        "the engraving of `{}` goes {depth} deep{taken}, through the face veneer of `{}`, {veneer} thick, so that its core shows unevenly",
        layer.name, layer.stock.name
    );
    let found = Diagnostic::warning(Finding::EngravingPastVeneer, message).label(origin, "goes through the veneer");
    let found = match layer.stock.origin {
        Some(stock) => found.label(stock, format!("has a face veneer of {veneer}")),
        None => found,
    };
    found.about(&layer.name).help(format!("engrave less than {veneer} deep, or use a stock with a thicker face veneer"))
}
