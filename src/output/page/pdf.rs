//! A page, as it has been read from its SVG, drawn once more into a PDF: paths stay paths, text stays text.
//!
//! Pages are ours, so what they never hold (gradients, masks, filters, pictures but JPEG) is refused and not imitated.

use std::collections::{BTreeMap, HashMap};

use krilla::Data;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use usvg::tiny_skia_path::PathSegment;

use super::tags::{Tag, tag_of};

/// How far two glyphs of one run may lie off its line, in parts of an em.
const LEVEL: f32 = 1e-3;

/// What draws pages. A typeface is read once for all of them.
#[derive(Default)]
pub(super) struct Printer {
    fonts: HashMap<usvg::fontdb::ID, Font>,
    /// What was drawn of each tag, by its number.
    pub(super) drawn: BTreeMap<usize, Vec<Identifier>>,
    /// The tag that is being drawn.
    now: Option<usize>,
    /// Whether it is one picture, which is marked as a whole.
    whole: bool,
}

/// The typefaces of a page, and what its tags are.
type All<'a> = (&'a usvg::fontdb::Database, &'a [Tag]);

/// Glyphs on one line in one typeface.
struct GlyphRun {
    font: Font,
    /// From ems, y downwards, to the page.
    place: usvg::Transform,
    glyphs: Vec<KrillaGlyph>,
    text: String,
    /// How far the last glyph begins from the first, in ems.
    along: f32,
}

impl Printer {
    /// Draws a page, each of its units `scale` points long.
    ///
    /// # Errors
    /// What the page holds that cannot be printed.
    pub(super) fn draw(
        &mut self,
        tree: &usvg::Tree,
        tags: &[Tag],
        scale: f32,
        surface: &mut Surface<'_>,
    ) -> Result<(), String> {
        surface.push_transform(&Transform::from_scale(scale, scale));
        let drawn = self.group(tree.root(), (tree.fontdb(), tags), surface);
        surface.pop();
        drawn
    }

    /// A group; where it is the piece of a tag, what is in it is marked as that.
    fn group(&mut self, group: &usvg::Group, all: All<'_>, surface: &mut Surface<'_>) -> Result<(), String> {
        let Some(tag) = tag_of(group.id()).filter(|_| self.now.is_none()) else {
            return self.within(group, all, surface);
        };
        self.now = Some(tag);
        let is_figure = matches!(all.1.get(tag), Some(Tag::Figure(_)));
        let drawn = if is_figure {
            let picture = surface.start_tagged(ContentTag::Other);
            self.drawn.entry(tag).or_default().push(picture);
            self.whole = true;
            let drawn = self.within(group, all, surface);
            self.whole = false;
            surface.end_tagged();
            drawn
        } else {
            self.within(group, all, surface)
        };
        self.now = None;
        drawn
    }

    /// Marks what is drawn: text as what it is a piece of, all else as there for the eye alone.
    fn marked(
        &mut self,
        is_text: bool,
        surface: &mut Surface<'_>,
        draw: impl FnOnce(&mut Self, &mut Surface<'_>) -> Result<(), String>,
    ) -> Result<(), String> {
        if self.whole {
            return draw(self, surface);
        }
        match self.now.filter(|_| is_text) {
            Some(tag) => {
                let text = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
                self.drawn.entry(tag).or_default().push(text);
            }
            None => {
                surface.start_tagged(ContentTag::Artifact(Artifact::new(ArtifactType::Other, None)));
            }
        }
        let drawn = draw(self, surface);
        surface.end_tagged();
        drawn
    }

    fn within(&mut self, group: &usvg::Group, all: All<'_>, surface: &mut Surface<'_>) -> Result<(), String> {
        if group.mask().is_some() || !group.filters().is_empty() || group.blend_mode() != usvg::BlendMode::Normal {
            return Err("a page holds a mask, a filter or a mix of layers".to_owned());
        }
        let clip = group.clip_path().map(clip_path).transpose()?;
        surface.push_transform(&transform(group.transform()));
        surface.push_opacity(part(group.opacity().get()));
        if let Some((path, rule)) = &clip {
            surface.push_clip_path(path, rule);
        }
        // A surface left with anything pushed panics when it is dropped, hence the late question mark.
        let drawn = group.children().iter().try_for_each(|node| match node {
            usvg::Node::Group(inner) => self.group(inner, all, surface),
            usvg::Node::Path(drawn) => self.marked(false, surface, |_, surface| draw_path(drawn, surface)),
            usvg::Node::Text(text) => self.marked(true, surface, |this, surface| this.text(text, all.0, surface)),
            usvg::Node::Image(image) => self.marked(false, surface, |_, surface| draw_image(image, surface)),
        });
        // As many as were pushed: the transform, the opacity, and the clip where there is one.
        (0..2 + usize::from(clip.is_some())).for_each(|_| surface.pop());
        drawn
    }

    fn text(
        &mut self,
        text: &usvg::Text,
        fonts: &usvg::fontdb::Database,
        surface: &mut Surface<'_>,
    ) -> Result<(), String> {
        for span in text.layouted().iter().filter(|span| span.visible) {
            surface.set_fill(span.fill.as_ref().map(fill).transpose()?);
            surface.set_stroke(span.stroke.as_ref().map(stroke).transpose()?);
            for run in self.runs(span, fonts)? {
                let place = run.place;
                surface.push_transform(&transform(place));
                surface.draw_glyphs(Point::from_xy(0.0, 0.0), &run.glyphs, run.font, &run.text, 1.0, false);
                surface.pop();
            }
        }
        Ok(())
    }

    /// The glyphs of a span in as few runs as their places allow, so that words are found and copied whole.
    fn runs(&mut self, span: &usvg::layout::Span, fonts: &usvg::fontdb::Database) -> Result<Vec<GlyphRun>, String> {
        let mut runs: Vec<GlyphRun> = Vec::new();
        for glyph in &span.positioned_glyphs {
            let font = self.font(glyph.font, fonts)?;
            let place = glyph.transform().pre_scale(font.units_per_em(), font.units_per_em());
            let start = match runs.last_mut().and_then(|run| Some((run.reaches(&font, place)?, run))) {
                Some((along, run)) => {
                    if let Some(before) = run.glyphs.last_mut() {
                        // How far a glyph advances is known once the next one's place is; the last one needs no
                        // advance.
                        before.x_advance = along - run.along;
                    }
                    run.along = along;
                    run.text.len()
                }
                None => {
                    runs.push(GlyphRun { font, place, glyphs: Vec::new(), text: String::new(), along: 0.0 });
                    0
                }
            };
            if let Some(run) = runs.last_mut() {
                run.text.push_str(&glyph.text);
                let id = GlyphId::new(glyph.id.0);
                run.glyphs.push(KrillaGlyph::new(id, 0.0, 0.0, 0.0, 0.0, start..run.text.len(), None));
            }
        }
        Ok(runs)
    }

    fn font(&mut self, id: usvg::fontdb::ID, fonts: &usvg::fontdb::Database) -> Result<Font, String> {
        if let Some(font) = self.fonts.get(&id) {
            return Ok(font.clone());
        }
        let font = fonts.with_face_data(id, |data, index| Font::new(data.to_vec().into(), index)).flatten();
        let font = font.ok_or("a typeface cannot be read")?;
        self.fonts.insert(id, font.clone());
        Ok(font)
    }
}

impl GlyphRun {
    /// How far from the start of the run a glyph stands, in ems; nothing where it does not go on with the run.
    fn reaches(&self, font: &Font, place: usvg::Transform) -> Option<f32> {
        let here = self.place;
        // Equal to the bit, and not nearly: glyphs of one run got these figures from one attribute of one element.
        let level = [(here.sx, place.sx), (here.ky, place.ky), (here.kx, place.kx), (here.sy, place.sy)];
        let inverse = here.invert().filter(|_| *font == self.font && level.iter().all(|(a, b)| a == b))?;
        let mut at = usvg::tiny_skia_path::Point::from_xy(place.tx, place.ty);
        inverse.map_point(&mut at);
        (at.y.abs() < LEVEL).then_some(at.x)
    }
}

fn draw_path(drawn: &usvg::Path, surface: &mut Surface<'_>) -> Result<(), String> {
    let path = drawn.is_visible().then(|| path(drawn.data(), usvg::Transform::identity())).flatten();
    let Some(path) = path else { return Ok(()) };
    let fill = drawn.fill().map(fill).transpose()?;
    let stroke = drawn.stroke().map(stroke).transpose()?;
    if fill.is_none() && stroke.is_none() {
        return Ok(());
    }
    surface.set_fill(fill);
    surface.set_stroke(stroke);
    surface.draw_path(&path);
    Ok(())
}

/// The one path that a clipping path consists of.
fn clip_path(clip: &usvg::ClipPath) -> Result<(Path, FillRule), String> {
    let mut map = clip.transform();
    let mut group = clip.root();
    loop {
        map = map.pre_concat(group.transform());
        match (group.children(), clip.clip_path()) {
            // usvg wraps the path in groups that carry nothing but a transform.
            ([usvg::Node::Group(inner)], None) => group = inner,
            ([usvg::Node::Path(edge)], None) => {
                let rule = edge.fill().map_or(FillRule::NonZero, |fill| fill_rule(fill.rule()));
                return path(edge.data(), map).map(|path| (path, rule)).ok_or_else(|| "nothing is left".to_owned());
            }
            _ => return Err("a page is clipped by more than one path".to_owned()),
        }
    }
}

/// A picture of pixels, as large as the page has it. It stays the JPEG that it is.
fn draw_image(image: &usvg::Image, surface: &mut Surface<'_>) -> Result<(), String> {
    let usvg::ImageKind::JPEG(bytes) = image.kind() else {
        return Err("a page holds a picture that is no JPEG".to_owned());
    };
    let size = Size::from_wh(image.size().width(), image.size().height()).ok_or("a picture has no size")?;
    surface.draw_image(Image::from_jpeg(Data::from(bytes.as_ref().clone()), true)?, size);
    Ok(())
}

fn path(data: &usvg::tiny_skia_path::Path, map: usvg::Transform) -> Option<Path> {
    let mut path = PathBuilder::new();
    for segment in data.clone().transform(map)?.segments() {
        match segment {
            PathSegment::MoveTo(to) => path.move_to(to.x, to.y),
            PathSegment::LineTo(to) => path.line_to(to.x, to.y),
            PathSegment::QuadTo(by, to) => path.quad_to(by.x, by.y, to.x, to.y),
            PathSegment::CubicTo(out, back, to) => path.cubic_to(out.x, out.y, back.x, back.y, to.x, to.y),
            PathSegment::Close => path.close(),
        }
    }
    path.finish()
}

fn transform(map: usvg::Transform) -> Transform {
    Transform::from_row(map.sx, map.ky, map.kx, map.sy, map.tx, map.ty)
}

fn part(opacity: f32) -> NormalizedF32 {
    NormalizedF32::new(opacity).unwrap_or(NormalizedF32::ONE)
}

fn colour(paint: &usvg::Paint) -> Result<rgb::Color, String> {
    match paint {
        usvg::Paint::Color(colour) => Ok(rgb::Color::new(colour.red, colour.green, colour.blue)),
        _ => Err("a page holds a gradient or a pattern".to_owned()),
    }
}

fn fill(fill: &usvg::Fill) -> Result<Fill, String> {
    let paint = colour(fill.paint())?.into();
    Ok(Fill { paint, opacity: part(fill.opacity().get()), rule: fill_rule(fill.rule()) })
}

fn fill_rule(rule: usvg::FillRule) -> FillRule {
    match rule {
        usvg::FillRule::NonZero => FillRule::NonZero,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

fn stroke(stroke: &usvg::Stroke) -> Result<Stroke, String> {
    let dash = stroke.dasharray().map(|array| StrokeDash { array: array.to_vec(), offset: stroke.dashoffset() });
    Ok(Stroke {
        paint: colour(stroke.paint())?.into(),
        width: stroke.width().get(),
        miter_limit: stroke.miterlimit().get(),
        line_cap: match stroke.linecap() {
            usvg::LineCap::Butt => LineCap::Butt,
            usvg::LineCap::Round => LineCap::Round,
            usvg::LineCap::Square => LineCap::Square,
        },
        line_join: match stroke.linejoin() {
            usvg::LineJoin::Miter | usvg::LineJoin::MiterClip => LineJoin::Miter,
            usvg::LineJoin::Round => LineJoin::Round,
            usvg::LineJoin::Bevel => LineJoin::Bevel,
        },
        opacity: part(stroke.opacity().get()),
        dash,
    })
}
