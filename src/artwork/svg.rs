//! Vector files.

use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

use kurbo::{Affine, Rect, Shape};
use usvg::roxmltree::{Document, ParsingOptions};
use usvg::{Group, ImageHrefResolver, Node, Options, PaintOrder, Tree};

use super::expansion::expanded;
use super::outline::{self, affine};
use super::paint::Canvas;
use super::plain::{Plain, line_of, plain};
use super::{Art, ArtError, Untaken, survey};
use crate::geometry::path_data::arcs;
use crate::geometry::{GeometryError, Region, Rule, TOLERANCE_MM};
use crate::lettering::Typeface;
use crate::limits::{ART_BYTES, DRAWING_NODES, DRAWING_SIZE, SEGMENTS};

/// Millimetres in a pixel of a vector file: 96 to the inch (W3C CSS Values and Units, "absolute lengths").
pub(super) const MM_PER_PX: f64 = 25.4 / 96.0;

/// An SVG file as a region, at the size that the file states: the lower left corner of its page is the origin.
///
/// All fills and strokes are taken, as their transforms, clip paths and uses make them. `part` takes one
/// element by its id, with everything inside it, where it stands on the page.
///
/// # Errors
/// All of [`ArtError`].
pub fn art_from_svg(bytes: &[u8], part: Option<&str>) -> Result<Art, ArtError> {
    let (mut canvas, page) = painted(bytes, part, Canvas::default())?;
    let ink = canvas.ink()?;
    let (ink, off_page_mm2) = on_page(ink, page);
    if ink.is_empty() && off_page_mm2 > 0.0 {
        canvas.drop(Untaken::OffPage, "");
    }
    let dropped: Vec<_> = canvas.dropped.into_iter().collect();
    if ink.is_empty() {
        return Err(ArtError::Nothing { dropped });
    }
    let colours = canvas.colours.into_iter().collect();
    Ok(Art { ink, frame: None, colours, dropped, off_page_mm2, middle: page.center(), scan: None })
}

/// The same in its colours: see [`super::coloured`].
///
/// # Errors
/// All of [`ArtError`].
pub fn coloured_from_svg(bytes: &[u8], part: Option<&str>) -> Result<Vec<([u8; 3], Art)>, ArtError> {
    let (mut canvas, page) = painted(bytes, part, Canvas::in_colours())?;
    let mut areas = Vec::new();
    let mut off_page_mm2 = 0.0;
    for (colour, area) in canvas.areas()? {
        let (area, off) = on_page(area, page);
        off_page_mm2 += off;
        if !area.is_empty() {
            areas.push((colour, area));
        }
    }
    let dropped: Vec<_> = canvas.dropped.into_iter().collect();
    let bounds = areas.iter().filter_map(|(_, area)| area.bounds()).reduce(|all, one| all.union(one));
    let Some(frame) = bounds else { return Err(ArtError::Nothing { dropped }) };
    let colours: Vec<[u8; 3]> = canvas.colours.into_iter().collect();
    let art = |ink| {
        let (colours, dropped) = (colours.clone(), dropped.clone());
        Art { ink, frame: Some(frame), colours, dropped, off_page_mm2, middle: page.center(), scan: None }
    };
    Ok(areas.into_iter().map(|(colour, area)| (colour, art(area))).collect())
}

/// A drawing painted on a canvas, and its page in mm.
fn painted(bytes: &[u8], part: Option<&str>, canvas: Canvas) -> Result<(Canvas, Rect), ArtError> {
    let Read { document, plain, tree } = read(bytes)?;
    let height = f64::from(tree.size().height());
    let page = Affine::new([MM_PER_PX, 0.0, 0.0, -MM_PER_PX, 0.0, height * MM_PER_PX]);
    let mut drawing = Drawing { page, part, found: part.is_none(), canvas };
    let whole = GroupState { clip: None, opacity: 1.0, is_taken: part.is_none() };
    drawing.group(tree.root(), &whole)?;
    if let (false, Some(part)) = (drawing.found, part) {
        return Err(ArtError::NoSuchPart { part: part.to_owned(), parts: ids(tree.root()) });
    }
    let mut canvas = drawing.canvas;
    canvas.dropped.extend(survey::passed_over(&document, &plain, part));
    Ok((canvas, Rect::new(0.0, 0.0, f64::from(tree.size().width()), height).scale_from_origin(MM_PER_PX)))
}

/// What of the ink lies on the page, which is all that anybody is shown of it, and how much does not, in mm².
fn on_page(ink: Region, page: Rect) -> (Region, f64) {
    let is_inside = |bounds: Rect| page.inflate(TOLERANCE_MM, TOLERANCE_MM).contains_rect(bounds);
    let is_whole = ink.bounds().is_none_or(is_inside);
    let Some(sheet) = (!is_whole).then(|| Region::from_path(&page.to_path(TOLERANCE_MM), Rule::NonZero).ok()).flatten()
    else {
        return (ink, 0.0);
    };
    let kept = ink.intersection(&sheet);
    let lost = ink.area() - kept.area();
    (kept, lost)
}

/// A drawing as it was read.
pub(super) struct Read<'b> {
    /// The file's elements.
    pub(super) document: Document<'b>,
    /// The same in plain attributes.
    pub(super) plain: Plain,
    /// The picture that it makes.
    pub(super) tree: Tree,
}

/// The file's elements, and the picture that they make.
pub(super) fn read(bytes: &[u8]) -> Result<Read<'_>, ArtError> {
    if bytes.len() > ART_BYTES {
        return Err(ArtError::TooLarge { bytes: bytes.len() });
    }
    let unreadable = |why: String| ArtError::Unreadable { why };
    let text = std::str::from_utf8(bytes).map_err(|_| unreadable("it is not UTF-8 text".to_owned()))?;
    // Entities name other files, or grow without end when they are expanded; a drawing needs none.
    if text.contains("<!ENTITY") {
        return Err(unreadable("it declares entities, which are never expanded".to_owned()));
    }
    let document = parsed(text)?;
    let plain = plain(&document)?;
    let tree = {
        let document = parsed(&plain.text)?;
        // Before the tree is made, since making it bends all arcs into curves.
        bounded(&document)?;
        Tree::from_xmltree(&document, &closed_options()).map_err(|error| unreadable(no_drawing(&error).to_owned()))?
    };
    Ok(Read { document, plain, tree })
}

/// The same picture with everything as it stands before any filter: of those nobody can tell what they take.
pub(super) fn without_filters(read: Read<'_>) -> Result<Tree, ArtError> {
    if read.tree.filters().is_empty() {
        return Ok(read.tree);
    }
    let text = read.plain.text.replace(" filter=\"", " data-filter=\"");
    let unreadable = |error| ArtError::Unreadable { why: no_drawing(&error).to_owned() };
    Tree::from_xmltree(&parsed(&text)?, &closed_options()).map_err(unreadable)
}

fn parsed(text: &str) -> Result<Document<'_>, ArtError> {
    // Many programs write a document type without any entities, which is harmless.
    let options = ParsingOptions { allow_dtd: true, nodes_limit: DRAWING_NODES, ..ParsingOptions::default() };
    Document::parse_with_options(text, options).map_err(|error| ArtError::Unreadable { why: malformed(&error) })
}

/// That nothing in a drawing is so large, and so often bent, that it could not be held.
fn bounded(document: &Document) -> Result<(), ArtError> {
    let (mut bent, mut largest) = (0, 0.0_f64);
    for attribute in document.descendants().flat_map(|node| node.attributes()) {
        match attribute.name() {
            "d" if attribute.value().contains(['a', 'A']) => {
                let (arcs, longest) = arcs(attribute.value());
                bent += arcs;
                largest = largest.max(longest);
            }
            "r" | "rx" | "ry" | "width" | "height" | "viewBox" => {
                let numbers = svgtypes::NumberListParser::from(attribute.value()).map_while(Result::ok);
                largest = numbers.map(f64::abs).fold(largest, f64::max);
            }
            _ => {}
        }
    }
    if expanded(document) > u64::from(DRAWING_NODES) {
        return Err(ArtError::TooMuch);
    }
    match (largest <= DRAWING_SIZE, bent <= SEGMENTS) {
        (false, _) => Err(GeometryError::OutOfRange.into()),
        (true, false) => Err(ArtError::TooMuch),
        (true, true) => Ok(()),
    }
}

/// Why a text is no XML, in the words of whoever saved it.
fn malformed(error: &usvg::roxmltree::Error) -> String {
    use usvg::roxmltree::Error;
    match error {
        Error::UnexpectedEndOfStream | Error::UnclosedRootNode => {
            "it ends before its drawing does, as a file does that was cut short".to_owned()
        }
        Error::NoRootNode => "there is no drawing in it".to_owned(),
        Error::NodesLimitReached => format!("it has more than {DRAWING_NODES} elements"),
        Error::UnknownToken(at) if at.row == 1 && at.col == 1 => "it is no SVG file".to_owned(),
        other => format!("line {}, column {} of it is no SVG", other.pos().row, other.pos().col),
    }
}

/// Why an XML text makes no picture.
fn no_drawing(error: &usvg::Error) -> &'static str {
    match error {
        usvg::Error::InvalidSize => "its page has no size",
        usvg::Error::ElementsLimitReached => "it has too many elements",
        _ => "it is no SVG file",
    }
}

/// What reads drawings and pages: nothing outside the bytes given is reached, and text is set in the built-in typefaces.
pub fn closed_options() -> Options<'static> {
    let image_href_resolver =
        ImageHrefResolver { resolve_data: Box::new(|_, _, _| None), resolve_string: Box::new(|_, _| None) };
    // The name of no typeface, so that text which names none is told from text which does.
    let font_family = "unstated".to_owned();
    // What `medium` is in all browsers (CSS Fonts Level 4, section 2.5).
    let font_size = 16.0;
    let fontdb = built_in_fonts();
    Options { resources_dir: None, image_href_resolver, font_family, font_size, fontdb, ..Options::default() }
}

/// The typefaces that come with the program: no other is ever looked for, so that a drawing looks the same everywhere.
pub(super) fn built_in_fonts() -> Arc<usvg::fontdb::Database> {
    static FONTS: LazyLock<Arc<usvg::fontdb::Database>> = LazyLock::new(|| {
        let mut fonts = usvg::fontdb::Database::new();
        for bytes in Typeface::built_in_files() {
            fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(bytes)));
        }
        fonts.set_sans_serif_family("DejaVu Sans");
        fonts.set_cursive_family("DejaVu Sans");
        fonts.set_fantasy_family("DejaVu Sans");
        fonts.set_serif_family("DejaVu Serif");
        fonts.set_monospace_family("DejaVu Sans Mono");
        Arc::new(fonts)
    });
    FONTS.clone()
}

/// How what stands below a group is seen.
#[derive(Clone)]
struct GroupState {
    /// Nothing outside this shows.
    clip: Option<Region>,
    /// Of the groups round it, together.
    opacity: f64,
    /// Whether it belongs to the part wanted.
    is_taken: bool,
}

/// A walk over the parsed picture.
struct Drawing<'a> {
    page: Affine,
    part: Option<&'a str>,
    found: bool,
    canvas: Canvas,
}

impl Drawing<'_> {
    fn group(&mut self, group: &Group, view: &GroupState) -> Result<(), ArtError> {
        let mut view = view.clone();
        self.enter(group.id(), &mut view);
        view.opacity *= f64::from(group.opacity().get());
        if view.is_taken {
            // What a mask lets through cannot be told in two tones, so what it masks is left out and named. A filter
            // mostly changes little, and its shapes are worth having.
            if group.mask().is_some() {
                self.canvas.drop(Untaken::Mask, group.id());
                return Ok(());
            }
            if !group.filters().is_empty() {
                self.canvas.drop(Untaken::Filter, group.id());
            }
        }
        if let Some(clip) = group.clip_path() {
            let clip = outline::clip(clip, self.page * affine(group.abs_transform()))?;
            view.clip = Some(view.clip.map_or_else(|| clip.clone(), |outer| outer.intersection(&clip)));
        }
        for node in group.children() {
            match node {
                Node::Group(inner) => self.group(inner, &view)?,
                Node::Path(path) => self.path(path, &view)?,
                Node::Text(text) => self.text(text, &view)?,
                // Named by the survey of the file, which also sees those that the parser drops.
                Node::Image(_) => {}
            }
        }
        Ok(())
    }

    /// Text as outlines of the typefaces that come with the program; one that stands in for another is named.
    fn text(&mut self, text: &usvg::Text, view: &GroupState) -> Result<(), ArtError> {
        let mut view = view.clone();
        self.enter(text.id(), &mut view);
        if view.is_taken && !is_known(text) {
            self.canvas.drop(Untaken::Text, text.id());
        }
        if view.is_taken && has_spaced_ligatures(text) {
            self.canvas.drop(Untaken::SpacedLigature, text.id());
        }
        if view.is_taken {
            for missing in missing(text) {
                self.canvas.drop(Untaken::Character(missing), text.id());
            }
        }
        self.group(text.flattened(), &view)
    }

    /// Looks whether an element is the part wanted.
    fn enter(&mut self, id: &str, view: &mut GroupState) {
        if self.part.is_some_and(|part| part == id) {
            self.found = true;
            view.is_taken = true;
        }
    }

    fn path(&mut self, path: &usvg::Path, view: &GroupState) -> Result<(), ArtError> {
        let mut view = view.clone();
        self.enter(path.id(), &mut view);
        if !view.is_taken || !path.is_visible() {
            return Ok(());
        }
        match path.paint_order() {
            // The order counts: light paint cuts out of what lies below it.
            PaintOrder::FillAndStroke => {
                self.fill(path, &view)?;
                self.stroke(path, &view)
            }
            PaintOrder::StrokeAndFill => {
                self.stroke(path, &view)?;
                self.fill(path, &view)
            }
        }
    }

    fn fill(&mut self, path: &usvg::Path, view: &GroupState) -> Result<(), ArtError> {
        let Some(fill) = path.fill() else { return Ok(()) };
        let opacity = view.opacity * f64::from(fill.opacity().get());
        let Some(tone) = self.canvas.tone(fill.paint(), opacity, path.id()) else { return Ok(()) };
        let shape = outline::fill(path, fill.rule(), self.page * affine(path.abs_transform()))?;
        self.add(shape, tone, view)
    }

    fn stroke(&mut self, path: &usvg::Path, view: &GroupState) -> Result<(), ArtError> {
        let Some(stroke) = path.stroke() else { return Ok(()) };
        let opacity = view.opacity * f64::from(stroke.opacity().get());
        let Some(tone) = self.canvas.tone(stroke.paint(), opacity, path.id()) else { return Ok(()) };
        if outline::has_square_dots(path, stroke) {
            self.canvas.drop(Untaken::SquareDots, path.id());
        }
        let shape = outline::stroke(path, stroke, self.page * affine(path.abs_transform()))?;
        self.add(shape, tone, view)
    }

    fn add(&mut self, shape: Region, tone: [u8; 3], view: &GroupState) -> Result<(), ArtError> {
        let seen = view.clip.as_ref().map_or_else(|| shape.clone(), |clip| shape.intersection(clip));
        self.canvas.add(&seen, tone)
    }
}

/// Whether a text asks for typefaces that come with the program, as light or bold and as wide as they come.
fn is_known(text: &usvg::Text) -> bool {
    let fonts = built_in_fonts();
    let known = |font: &usvg::Font| {
        let Some(usvg::FontFamily::Named(name)) = font.families().first() else { return false };
        fonts.faces().any(|face| {
            face.families.iter().any(|(family, _)| family == name)
                && (face.weight.0 >= BOLD_FROM) == (font.weight() >= BOLD_FROM)
                && (face.stretch.to_number() < 5) == is_narrow(font.stretch())
        })
    };
    text.chunks().iter().flat_map(usvg::TextChunk::spans).all(|span| known(span.font()))
}

/// Whether letters are set apart that the typefaces here join, as browsers then do not.
fn has_spaced_ligatures(text: &usvg::Text) -> bool {
    text.chunks().iter().any(|chunk| {
        let is_spaced = chunk.spans().iter().any(|span| span.letter_spacing() != 0.0);
        is_spaced && ["ff", "fi", "fl"].iter().any(|pair| chunk.text().contains(pair))
    })
}

/// Weights from here on are served by a bold face (CSS Fonts Level 4, section 5.2).
const BOLD_FROM: u16 = 600;

/// Whether letters are narrower than usual.
fn is_narrow(stretch: usvg::FontStretch) -> bool {
    use usvg::FontStretch::{Condensed, ExtraCondensed, SemiCondensed, UltraCondensed};
    matches!(stretch, UltraCondensed | ExtraCondensed | Condensed | SemiCondensed)
}

/// The characters of a text that no typeface that comes with the program has, once each: the parser leaves them out
/// without a word.
fn missing(text: &usvg::Text) -> BTreeSet<char> {
    static FACES: LazyLock<Vec<Typeface>> =
        LazyLock::new(|| Typeface::built_in_names().filter_map(Typeface::built_in).collect());
    let written: BTreeSet<char> = text.chunks().iter().flat_map(|chunk| chunk.text().chars()).collect();
    let shown = written.into_iter().filter(|letter| !letter.is_whitespace() && !letter.is_control());
    shown.filter(|letter| !FACES.iter().any(|face| face.has(&[*letter]))).collect()
}

/// The ids of everything drawn, in order, once each.
fn ids(group: &Group) -> Vec<String> {
    fn gather(group: &Group, seen: &mut BTreeSet<String>, ids: &mut Vec<String>) {
        for node in group.children() {
            if !node.id().is_empty() && line_of(node.id()).is_none() && seen.insert(node.id().to_owned()) {
                ids.push(node.id().to_owned());
            }
            if let Node::Group(inner) = node {
                gather(inner, seen, ids);
            }
        }
    }
    let mut ids = Vec::new();
    gather(group, &mut BTreeSet::new(), &mut ids);
    ids
}
