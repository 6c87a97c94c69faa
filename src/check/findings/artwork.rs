//! Findings about pictures of pixels.

use crate::artwork::{Art, SPECK_PX2, STRAYS_TOLD, Scan, ToneShare, Wanted};
use crate::design::hex;
use crate::diagnostics::{Diagnostic, Finding, counted, listed};
use crate::limits;
use crate::source::Span;
use crate::units::{percent, plain, typed_percent};

/// Small shares to a hundredth of a percent, others to a tenth.
fn share(share: f64) -> String {
    percent(share, if share < 0.0995 { 2 } else { 1 })
}

/// A picture whose header declares more than may be decoded.
pub fn too_many_pixels(name: &str, width: u32, height: u32, span: Span) -> Diagnostic {
    let most = limits::PICTURE_PIXELS / 1_000_000;
    let declared = f64::from(width) * f64::from(height) / 1e6;
    Diagnostic::error(
        Finding::BadArtwork,
        format!(
            "`{name}` cannot be used as artwork: it declares {width} by {height} pixels, which is {} million, and {most} million are allowed",
            plain(declared, 1)
        ),
    )
    .label(span, "this file")
    .help("save it smaller; 1000 pixels across are plenty for a mark of 30mm")
}

/// A picture with nothing in it.
pub fn one_tone(name: &str, tone: [u8; 3], span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::EmptyRegion,
        format!("`{name}` is `{}` all over, so there is nothing in it to burn", hex(tone)),
    )
    .label(span, "one tone")
    .help("look whether the right picture was saved; what is to be burnt must be darker than the rest")
}

/// A tone that the picture does not have.
pub fn no_such_tone(name: &str, tone: [u8; 3], tones: &[[u8; 3]], span: Span) -> Diagnostic {
    let known: Vec<String> = tones.iter().take(12).map(|tone| hex(*tone)).collect();
    let diagnostic = Diagnostic::error(Finding::UnknownTone, format!("`{name}` has no tone `{}`", hex(tone)))
        .label(span, "no tone of this picture is near it");
    match known.as_slice() {
        [] => diagnostic.help("no patch of it has an even tone; take it whole, without `tone`"),
        some => diagnostic.help(format!("its tones are {}", listed(some.iter().map(String::as_str), "and"))),
    }
}

/// A drawing asked for what only pixels have, or the other way round.
pub fn other_kind(name: &str, what: &str, span: Span) -> Diagnostic {
    let (message, help) = if what == "print" {
        let message = format!(
            "`print` without a `colour` is for drawings, and `{name}` is a picture made of pixels, which has no areas"
        );
        (message, "say which colour it is printed in, as in `colour #1d3b5a`: then its outlines are traced".to_owned())
    } else if what == "part" {
        let message = format!("`part` is for drawings, and `{name}` is a picture made of pixels");
        (message, "take `part` out; `tone: #rrggbb` takes what has one colour".to_owned())
    } else {
        let message = format!("`{what}` is for pictures made of pixels, and `{name}` is a drawing");
        (message, format!("take `{what}` out; `part: \"…\"` takes one element"))
    };
    Diagnostic::error(Finding::WrongArguments, message).label(span, "this file").help(help)
}

/// Height and width of artwork at once.
pub fn sized_twice(height: Span, width: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::ChooseOne,
        "`art` takes one of `height` and `width`, not both: artwork keeps its proportions",
    )
    .label(width, "`width` is given here")
    .label(height, "`height` is given here")
    .help("keep one, as in `art(\"goods.png\", height: 9mm)`")
}

/// A tone and a threshold at once.
pub fn tone_and_threshold(tone: Span, threshold: Span) -> Diagnostic {
    Diagnostic::error(Finding::ChooseOne, "`art` takes one of `tone` and `threshold`, not both")
        .label(threshold, "`threshold` is given here")
        .label(tone, "`tone` is given here")
        .help("`tone` takes what has one colour; `threshold` takes what is dark enough")
}

/// A threshold that parts nothing.
pub fn threshold_out_of_bounds(share: f64, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::OutOfBounds,
        format!("`threshold` must lie between `0%` (white) and `100%` (black), and this is {}", percent(share, 3)),
    )
    .label(span, "parts nothing from nothing")
    .help(super::dial::percent_meant(
        share,
        "`50%` burns what is darker than middle grey; without `threshold` it is found from the picture",
    ))
}

/// A drawing of which something lies beyond the edge of its page.
pub fn off_page(name: &str, art: &Art, span: Span) -> Option<Diagnostic> {
    let area = art.off_page_mm2;
    // What a stroke along the edge loses is as it was meant.
    let share_off = area / (area + art.ink.area()).max(f64::MIN_POSITIVE);
    (share_off >= OFF_PAGE_TOLD).then(|| {
        Diagnostic::advice(
            Finding::ArtOffPage,
            format!(
                "{} of what is drawn in `{name}`, {}mm², lies off its page and is cut off there, as a browser does",
                share(share_off),
                plain(area, 1)
            ),
        )
        .label(span, "this drawing")
        .help("if it is meant to be burnt, fit the page to the drawing in your drawing program")
    })
}

/// What lies off the page is worth a word from this share of all that is drawn on.
const OFF_PAGE_TOLD: f64 = 0.01;

/// What a picture's audit has to say where it is used.
pub fn of_scan(name: &str, scan: &Scan, wanted: &Wanted, span: Span) -> Vec<Diagnostic> {
    let is_whole = wanted.tone.is_none() && wanted.threshold.is_none();
    let midtones: Vec<&ToneShare> = scan.midtones().collect();
    let tones = (is_whole && !midtones.is_empty()).then(|| tones(name, scan, &midtones, span));
    let strays = (scan.doubtful >= STRAYS_TOLD).then(|| strays(name, scan, span));
    let specks = (scan.specks + scan.pinholes > 0).then(|| specks(name, scan, span));
    tones.into_iter().chain(strays).chain(specks).collect()
}

fn tones(name: &str, scan: &Scan, midtones: &[&ToneShare], span: Span) -> Diagnostic {
    let told = midtones.iter().take(3).map(|tone| {
        let fate = if scan.is_mark(tone.colour) { "is burnt" } else { "is left bare" };
        format!("`{}` ({} of it) {fate}", hex(tone.colour), share(tone.share))
    });
    let told: Vec<String> = told.collect();
    let more = match midtones.len().saturating_sub(told.len()) {
        0 => String::new(),
        more => format!(", and so on for {more} more"),
    };
    let first = midtones.first().map_or([0x80; 3], |tone| tone.colour);
    Diagnostic::warning(
        Finding::ArtTones,
        format!("`{name}` has {} and engraving has two: {}{more}", counted(scan.tones.len(), "tone"), told.join(", ")),
    )
    .label(span, "this picture")
    .help(format!(
        "take one tone by itself with `tone: {}`, say from which darkness on it burns with `threshold: 50%`, or save the picture in black and white",
        hex(first)
    ))
}

fn strays(name: &str, scan: &Scan, span: Span) -> Diagnostic {
    let place = scan.places.first().map_or_else(String::new, |place| {
        format!(
            ", most of it {} to {} px from the left and {} to {} px from the top",
            place.left, place.right, place.top, place.bottom
        )
    });
    let instead = scan.calm.map_or_else(String::new, |calm| {
        format!(", or write `threshold: {}`, which has hardly any of it near by", typed_percent(calm, 2))
    });
    Diagnostic::warning(
        Finding::ArtStrays,
        format!("{} of `{name}` is stray grey that belongs to none of its tones{place}", share(scan.doubtful)),
    )
    .label(span, "this picture")
    .help(format!("see it with `dialwright audit-art {name} --picture audit.svg`, then paint it over{instead}"))
}

fn specks(name: &str, scan: &Scan, span: Span) -> Diagnostic {
    let told = [(scan.specks, "speck"), (scan.pinholes, "pinhole")];
    let told: Vec<String> =
        told.iter().filter(|(count, _)| *count > 0).map(|(count, word)| counted(*count, word)).collect();
    let are = if scan.specks + scan.pinholes == 1 { "is" } else { "are" };
    Diagnostic::advice(
        Finding::ArtSpecks,
        format!("{} of `{name}` {are} smaller than {SPECK_PX2} pixels and left out", told.join(" and ")),
    )
    .label(span, "this picture")
    .help("if they are meant, save the picture with more pixels")
}
