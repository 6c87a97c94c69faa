//! From the SVG of pages to PDF and PNG. Text is set in the built-in typefaces alone, so that nothing depends on the machine.

use std::collections::BTreeMap;
use std::num::NonZeroU16;
use std::sync::Arc;

use krilla::configure::{Accessibility, Configuration, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::tagging::{Identifier, Node, Tag as PdfTag, TagGroup, TagKind, TagTree};
use krilla::{Document, SerializeSettings};
use resvg::{tiny_skia, usvg};

use super::pdf::Printer;
use super::text::shown;
use super::{MARGIN, Pages, Tag};
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

/// The pages as PDF, each exactly as large as its paper, its text as text. It can be read aloud in order, its pictures are told in
/// words, its headings are bookmarks, and it says that it keeps to PDF/UA-1 (ISO 14289-1) where it does: not where a text holds a
/// letter that no built-in typeface has. No date is in it: the same pages give the same bytes.
///
/// # Errors
/// Why it cannot be written, in words.
pub fn pdf(pages: &Pages) -> Result<Vec<u8>, String> {
    let about = &pages.about;
    let title = format!("{}: {}", about.kind, shown(&about.title));
    let metadata = Metadata::new().title(title).description(format!("revision {}", about.revision));
    let accessible = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1).finish();
    let (trees, size) = (trees(&pages.each())?, about.paper.size());
    match accessible.map(|configuration| written((&trees, &pages.tags), size, metadata.clone(), configuration)) {
        Ok(Ok(bytes)) => Ok(bytes),
        _ => written((&trees, &pages.tags), size, metadata, Configuration::default()),
    }
}

/// A drawing that fills a sheet of this size in mm as PDF, exactly as large.
///
/// # Errors
/// Why it cannot be written, in words.
pub fn sheet_pdf(drawing: &str, size: (f64, f64), title: &str) -> Result<Vec<u8>, String> {
    let metadata = Metadata::new().title(format!("Print: {}", shown(title)));
    written((&trees(&[drawing.to_owned()])?, &[]), size, metadata, Configuration::default())
}

fn trees(each: &[String]) -> Result<Vec<usvg::Tree>, String> {
    let options = options();
    each.iter().map(|page| usvg::Tree::from_str(page, &options).map_err(|error| error.to_string())).collect()
}

/// Pages of one size in mm, one after another, with what stands on them.
fn written(
    (trees, tags): (&[usvg::Tree], &[Tag]),
    (wide, high): (f64, f64),
    metadata: Metadata,
    configuration: Configuration,
) -> Result<Vec<u8>, String> {
    let mut document = Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
    let creator = format!("dialwright {}", env!("CARGO_PKG_VERSION"));
    document.set_metadata(metadata.creator(creator).language("en".to_owned()));
    let size = Size::from_wh(points(wide), points(high)).ok_or("the paper has no size")?;
    // Pages go from our usvg to the printing library by our own code: its reader of SVG is an older usvg, which would
    // come along with a second copy of everything that draws.
    let mut printer = Printer::default();
    for tree in trees {
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        printer.draw(tree, tags, size.width() / tree.size().width(), &mut surface)?;
        surface.finish();
        page.finish();
    }
    if !tags.is_empty() {
        document.set_outline(bookmarks(tags));
        document.set_tag_tree(reading_order(tags, printer.drawn));
    }
    document.finish().map_err(|error| format!("{error:?}"))
}

#[allow(clippy::cast_possible_truncation, reason = "a page of some hundred points")]
fn points(mm: f64) -> f32 {
    (mm / POINT_MM) as f32
}

/// A bookmark for each heading, the lower levels within the first.
fn bookmarks(tags: &[Tag]) -> Outline {
    let mut outline = Outline::new();
    let mut open: Option<OutlineNode> = None;
    for tag in tags {
        let Tag::Heading { level, says, page, down } = tag else { continue };
        let place = krilla::geom::Point::from_xy(points(MARGIN), points(MARGIN + down));
        let node = OutlineNode::new(shown(says), XyzDestination::new(*page, place));
        match &mut open {
            Some(first) if *level > 1 => first.push_child(node),
            _ => open.replace(node).into_iter().for_each(|done| outline.push_child(done)),
        }
    }
    open.into_iter().for_each(|done| outline.push_child(done));
    outline
}

/// What was drawn, in the order in which it is read.
fn reading_order(tags: &[Tag], mut drawn: BTreeMap<usize, Vec<Identifier>>) -> TagTree {
    let mut tree = TagTree::new();
    for (at, tag) in tags.iter().enumerate() {
        let Some(pieces) = drawn.remove(&at) else { continue };
        let kind: TagKind = match tag {
            Tag::Heading { level, says, .. } => {
                PdfTag::Hn(NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN), Some(shown(says))).into()
            }
            Tag::Words => PdfTag::P.into(),
            Tag::Figure(says) => PdfTag::Figure(Some(shown(says))).into(),
        };
        tree.push(TagGroup::with_children(kind, pieces.into_iter().map(Node::Leaf).collect()));
    }
    tree
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
