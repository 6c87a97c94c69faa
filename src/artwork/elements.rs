//! A drawing as what it consists of: paths, each with its colour and its groups, and lines of live text, none of them laid over
//! another yet.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use usvg::{Group, Node, Paint, roxmltree};

use super::outline::{affine, drawn};
use super::plain::line_of;
use super::svg::{MM_PER_PX, Read, built_in_fonts, read};
use super::{ArtError, Dropped, survey};
use crate::lettering::Typeface;

/// Paths and texts of a drawing, in mm from the lower left corner of its page, y up.
#[derive(Clone, Debug)]
pub struct Elements {
    /// Its paths, in the order drawn.
    pub paths: Vec<DrawnPath>,
    /// Its lines of text.
    pub lines: Vec<DrawnLine>,
    /// What each of its groups is called; empty where it has no name.
    pub groups: Vec<String>,
    /// What it is called.
    pub title: String,
    /// What it says of itself.
    pub about: String,
    /// How wide its page is, and how high.
    pub page: Rect,
    /// Whether the file says how large its page is: in a unit of length, in pixels, or not at all.
    pub size: StatedSize,
    /// How many mm one of its own units is.
    pub unit_mm: f64,
    /// How many groups are clipped or masked: all of them is here, what is cut off as well.
    pub clipped: usize,
    /// What cannot be taken from it.
    pub dropped: Vec<Dropped>,
}

/// How a drawing says how large it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StatedSize {
    /// In a unit of length.
    Length,
    /// In pixels, of which 96 make an inch.
    Pixels,
    /// Not at all, or as a share of the screen.
    Not,
}

/// One path with one paint.
#[derive(Clone, Debug)]
pub struct DrawnPath {
    /// Where it runs.
    pub path: BezPath,
    /// Its paint.
    pub colour: [u8; 3],
    /// Whether its inside is painted; else a line along it.
    pub is_filled: bool,
    /// Whether what it goes round twice is a hole.
    pub even_odd: bool,
    /// The groups that it is in, the outermost first.
    pub within: Vec<usize>,
}

/// One line of text.
#[derive(Clone, Debug)]
pub struct DrawnLine {
    /// What it says.
    pub says: String,
    /// Across, the middle of its ink; up, half the height of capitals.
    pub at: Point,
    /// Where the tops of its letters point, in degrees clockwise from the top of the page.
    pub up_deg: f64,
    /// The height of its capitals, in mm.
    pub height_mm: f64,
    /// The built-in typeface that it is set in.
    pub typeface: String,
    /// Whether it is the one that the drawing asks for.
    pub is_asked: bool,
    /// Whether its letters are mirrored.
    pub is_mirrored: bool,
    /// Its paint.
    pub colour: [u8; 3],
    /// The groups that it is in, the outermost first.
    pub within: Vec<usize>,
}

/// What a drawing consists of.
///
/// # Errors
/// All of [`ArtError`] that say that it cannot be read.
pub fn elements(bytes: &[u8]) -> Result<Elements, ArtError> {
    let Read { document, plain, tree } = read(bytes)?;
    let (width, height) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    let page = Affine::new([MM_PER_PX, 0.0, 0.0, -MM_PER_PX, 0.0, height * MM_PER_PX]);
    let (size, units) = stated(&document);
    let mut walk = Walk { page, paths: Vec::new(), lines: Vec::new(), groups: Vec::new(), clipped: 0 };
    walk.group(tree.root(), &[]);
    Ok(Elements {
        paths: walk.paths,
        lines: walk.lines,
        groups: walk.groups,
        clipped: walk.clipped,
        title: said(&document, "title"),
        about: said(&document, "desc"),
        page: Rect::new(0.0, 0.0, width, height).scale_from_origin(MM_PER_PX),
        size,
        unit_mm: units.map_or(MM_PER_PX, |units| MM_PER_PX * width / units),
        dropped: survey::passed_over(&document, &plain, None).into_iter().collect(),
    })
}

/// What the root's title or description says.
fn said(document: &roxmltree::Document, name: &str) -> String {
    let root = document.root_element();
    let own = root.children().find(|child| child.has_tag_name(("http://www.w3.org/2000/svg", name)));
    own.and_then(|own| own.text()).unwrap_or_default().to_owned()
}

/// How the root says how large it is, and how many of its own units that is across.
fn stated(document: &roxmltree::Document) -> (StatedSize, Option<f64>) {
    let root = document.root_element();
    let view: Option<svgtypes::ViewBox> = root.attribute("viewBox").and_then(|text| text.parse().ok());
    let width = root.attribute("width").and_then(|text| text.trim().parse::<svgtypes::Length>().ok());
    let size = match width.map(|width| width.unit) {
        None | Some(svgtypes::LengthUnit::Percent) => StatedSize::Not,
        Some(svgtypes::LengthUnit::None | svgtypes::LengthUnit::Px) => StatedSize::Pixels,
        Some(_) => StatedSize::Length,
    };
    (size, view.map(|view| view.w).filter(|width| *width > 0.0))
}

struct Walk {
    page: Affine,
    paths: Vec<DrawnPath>,
    lines: Vec<DrawnLine>,
    groups: Vec<String>,
    clipped: usize,
}

impl Walk {
    fn group(&mut self, group: &Group, within: &[usize]) {
        for node in group.children() {
            match node {
                Node::Group(inner) => {
                    self.clipped += usize::from(inner.clip_path().is_some() || inner.mask().is_some());
                    let mut inside = within.to_vec();
                    // A group without an id was made by the parser.
                    if !inner.id().is_empty() {
                        inside.push(self.groups.len());
                        self.groups.push(if line_of(inner.id()).is_some() {
                            String::new()
                        } else {
                            inner.id().to_owned()
                        });
                    }
                    self.group(inner, &inside);
                }
                Node::Path(path) if path.is_visible() => self.path(path, within),
                Node::Text(text) => self.text(text, within),
                Node::Path(_) | Node::Image(_) => {}
            }
        }
    }

    fn path(&mut self, path: &usvg::Path, within: &[usize]) {
        let run = self.page * affine(path.abs_transform()) * drawn(path);
        let fill = path.fill().and_then(|fill| Some((colour(fill.paint())?, fill.rule() == usvg::FillRule::EvenOdd)));
        let line = path.stroke().and_then(|stroke| colour(stroke.paint()));
        let within = within.to_vec();
        match (fill, line) {
            // A light fill within a line is the ground that it is drawn on.
            (Some((fill, even_odd)), line) if (!is_light(fill) || line.is_none()) && !is_white(fill) => {
                self.paths.push(DrawnPath { path: run, colour: fill, is_filled: true, even_odd, within });
            }
            (_, Some(colour)) => {
                self.paths.push(DrawnPath { path: run, colour, is_filled: false, even_odd: false, within });
            }
            _ => {}
        }
    }

    /// The lines of a text that stand straight.
    fn text(&mut self, text: &usvg::Text, within: &[usize]) {
        let map = self.page * affine(text.abs_transform());
        let fonts = built_in_fonts();
        let glyphs: Vec<_> = text.layouted().iter().flat_map(|span| &span.positioned_glyphs).collect();
        let ink = ink(text.flattened(), text.abs_transform());
        // One line of it: what stands on several baselines, or bent, is told as drawn.
        let Some(first) = glyphs.first() else { return };
        let base = affine(first.outline_transform());
        let level = |glyph: &&usvg::layout::PositionedGlyph| {
            let [a, b, _, _, _, y] = affine(glyph.outline_transform()).as_coeffs();
            (b / a.abs().max(1e-12)).abs() < 1e-3
                && (y - base.as_coeffs()[5]).abs() < 0.2 * f64::from(glyph.font_size())
        };
        let fill = text.chunks().iter().flat_map(usvg::TextChunk::spans).find_map(|span| colour(span.fill()?.paint()));
        let (Some(ink), true, Some(colour)) = (ink, glyphs.iter().all(level), fill) else {
            return self.group(text.flattened(), within);
        };
        let asked = text.chunks().iter().flat_map(usvg::TextChunk::spans).find_map(|span| {
            span.font().families().first().map(|family| family.to_string().trim_matches('"').to_owned())
        });
        let family = fonts.face(first.font).and_then(|face| face.families.first()).map(|(family, _)| family.clone());
        let bold = fonts.face(first.font).is_some_and(|face| face.weight.0 >= 600);
        let typeface = family.clone().unwrap_or_default() + if bold { " Bold" } else { "" };
        let capitals = Typeface::built_in(&typeface).map_or(0.729, |face| face.cap_height() / face.units_per_em());
        let height = f64::from(first.font_size()) * capitals;
        let [a, b, c, d, _, _] = map.as_coeffs();
        let scale = (a * d - b * c).abs().sqrt();
        let at = map * Point::new(ink.center().x, base.as_coeffs()[5] - height / 2.0);
        // Up is against y in the text's own frame.
        let up_deg = (-c).atan2(-d).to_degrees().rem_euclid(360.0);
        let says = text.chunks().iter().map(usvg::TextChunk::text).collect::<String>().trim().to_owned();
        self.lines.push(DrawnLine {
            says,
            at,
            up_deg,
            height_mm: height * scale,
            is_asked: asked == family,
            typeface,
            is_mirrored: a * d - b * c > 0.0,
            colour,
            within: within.to_vec(),
        });
    }
}

/// The box of what a text draws, in its own frame.
fn ink(group: &Group, own: usvg::Transform) -> Option<Rect> {
    let back = affine(own).inverse();
    let mut all: Option<Rect> = None;
    for node in group.children() {
        let bounds = match node {
            Node::Path(path) => Some((back * affine(path.abs_transform()) * drawn(path)).bounding_box()),
            Node::Group(inner) => ink(inner, own),
            _ => None,
        };
        all = all.into_iter().chain(bounds).reduce(|a, b| a.union(b));
    }
    all
}

fn colour(paint: &Paint) -> Option<[u8; 3]> {
    match paint {
        Paint::Color(colour) => Some([colour.red, colour.green, colour.blue]),
        _ => None,
    }
}

fn is_white(colour: [u8; 3]) -> bool {
    colour.iter().all(|channel| *channel >= 0xfa)
}

fn is_light(colour: [u8; 3]) -> bool {
    colour.iter().map(|channel| u32::from(*channel)).sum::<u32>() >= 3 * 0xd0
}
