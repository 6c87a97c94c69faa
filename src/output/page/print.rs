//! From the SVG of pages to PDF and PNG. Text is set in the built-in typefaces alone, so that nothing depends on the machine.

use std::sync::Arc;

use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use resvg::{tiny_skia, usvg};

use super::Pages;
use super::pdf::Printer;
use crate::artwork::closed_options;
use crate::density::with_density;

/// Millimetres of a point of PDF (ISO 32000-2, 8.3.2.3: 72 to an inch).
const POINT_MM: f64 = 25.4 / 72.0;
/// Dots to a millimetre of a PNG: 200 to an inch.
const DOTS: f64 = 200.0 / 25.4;
/// Longest side of a PNG, in dots.
const LONGEST: f64 = 8_000.0;

/// What reads our pages: as for drawings of others, but that the pictures which are written into a page are taken.
fn options() -> usvg::Options<'static> {
    let held = |mime: &str, bytes: Arc<Vec<u8>>, _: &usvg::Options<'_>| {
        (mime == "image/jpeg").then(|| usvg::ImageKind::JPEG(bytes))
    };
    let resolver = usvg::ImageHrefResolver { resolve_data: Box::new(held), resolve_string: Box::new(|_, _| None) };
    usvg::Options { image_href_resolver: resolver, ..closed_options() }
}

/// The pages as PDF, each exactly as large as its paper, its text as text. No date is in it: the same pages give the same
/// bytes.
///
/// # Errors
/// Why it cannot be written, in words.
pub fn pdf(pages: &Pages) -> Result<Vec<u8>, String> {
    let about = &pages.about;
    let mut document = krilla::Document::new();
    let title = format!("{}: {}", about.kind, super::text::shown(&about.title));
    let metadata = Metadata::new()
        .title(title)
        .description(format!("revision {}", about.revision))
        .creator(format!("dialwright {}", env!("CARGO_PKG_VERSION")))
        .language("en".to_owned());
    document.set_metadata(metadata);
    let (wide, high) = about.paper.size();
    #[allow(clippy::cast_possible_truncation, reason = "a page of some hundred points")]
    let points = |mm: f64| (mm / POINT_MM) as f32;
    let size = Size::from_wh(points(wide), points(high)).ok_or("the paper has no size")?;
    // Pages go from our usvg to the printing library by our own code: its reader of SVG is an older usvg, which would
    // come along with a second copy of everything that draws.
    let (options, mut printer) = (options(), Printer::default());
    for page in pages.each() {
        let tree = usvg::Tree::from_str(&page, &options).map_err(|error| error.to_string())?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        printer.draw(&tree, size.width() / tree.size().width(), &mut surface)?;
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|error| format!("{error:?}"))
}

/// The sheet of all pages as PNG, 200 dots to an inch, fewer where it would be larger than 8000 dots.
///
/// # Errors
/// Why it cannot be drawn, in words.
pub fn png(sheet: &str) -> Result<Vec<u8>, String> {
    let tree = usvg::Tree::from_str(sheet, &options()).map_err(|error| error.to_string())?;
    let (wide, high) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    // The tree counts 96 dots to an inch.
    // A proof of many pages is one tall picture, which would else take gigabytes.
    let scale = (DOTS * 25.4 / 96.0).min(LONGEST / wide.max(high));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to 8000")]
    let dots = |length: f64| (length * scale).round().clamp(1.0, LONGEST) as u32;
    let mut pixels = tiny_skia::Pixmap::new(dots(wide), dots(high)).ok_or("it is too large")?;
    #[allow(clippy::cast_possible_truncation, reason = "a scale of a few units")]
    let factor = scale as f32;
    resvg::render(&tree, tiny_skia::Transform::from_scale(factor, factor), &mut pixels.as_mut());
    Ok(with_density(pixels.encode_png().map_err(|error| error.to_string())?, scale * 96.0 / 25.4))
}
