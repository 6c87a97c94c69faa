//! Fills, strokes and clips of a parsed picture as regions.

use kurbo::{Affine, BezPath, Cap, Join, PathEl, Shape, Stroke};
use usvg::tiny_skia_path::PathSegment;

use super::ArtError;
use crate::geometry::{Region, Rule, TOLERANCE_MM};
use crate::lettering::filled;
use crate::limits::SEGMENTS;

/// The inside of a path.
pub(super) fn fill(path: &usvg::Path, rule: usvg::FillRule, map: Affine) -> Result<Region, ArtError> {
    let rule = match rule {
        usvg::FillRule::NonZero => Rule::NonZero,
        usvg::FillRule::EvenOdd => Rule::EvenOdd,
    };
    region(&(map * drawn(path)), rule)
}

/// What a path's stroke covers, joins, caps and dashes included.
pub(super) fn stroke(path: &usvg::Path, stroke: &usvg::Stroke, map: Affine) -> Result<Region, ArtError> {
    let drawn = dotted(drawn(path), stroke);
    // To follow what is larger than any dial by its tolerance would take all memory.
    Region::in_range(&(map * &drawn))?;
    let width = f64::from(stroke.width().get());
    let style = style(stroke);
    // Marked so where the drawing was written anew: such a stroke is laid on the page's own pixels.
    let is_fixed = path.rendering_mode() == usvg::ShapeRendering::CrispEdges;
    let (drawn, map) = if is_fixed {
        let own = affine(path.abs_transform());
        (own * drawn, map * own.inverse())
    } else {
        (drawn, map)
    };
    let round = style.dash_pattern.iter().sum::<f64>();
    // Counted before any is drawn: dashes of a micrometre on a long line would take all memory.
    let dashes = drawn.perimeter(width.max(1e-6)) / round * style.dash_pattern.len() as f64;
    if round > 0.0 && dashes > SEGMENTS as f64 / 8.0 {
        return Err(ArtError::TooMuch);
    }
    // Stroked before it is mapped: a map that squeezes must squeeze the stroke too.
    let close = (TOLERANCE_MM / map.determinant().abs().sqrt().max(1e-9)).max(width * 1e-5);
    region(&(map * kurbo::stroke(drawn, &style, &Default::default(), close)), Rule::NonZero)
}

fn style(stroke: &usvg::Stroke) -> Stroke {
    let cap = match stroke.linecap() {
        usvg::LineCap::Butt => Cap::Butt,
        usvg::LineCap::Round => Cap::Round,
        usvg::LineCap::Square => Cap::Square,
    };
    let join = match stroke.linejoin() {
        usvg::LineJoin::Miter | usvg::LineJoin::MiterClip => Join::Miter,
        usvg::LineJoin::Round => Join::Round,
        usvg::LineJoin::Bevel => Join::Bevel,
    };
    let style = Stroke::new(f64::from(stroke.width().get()))
        .with_caps(cap)
        .with_join(join)
        .with_miter_limit(f64::from(stroke.miterlimit().get()));
    match stroke.dasharray() {
        Some(dashes) => {
            // A dash of no length is a dot where lines have round or square ends; as the shortest of lines, taken out of the
            // gap after it, it keeps them.
            let dot = if cap == Cap::Butt { 0.0 } else { style.width * DOT };
            let mut dashes: Vec<f64> = dashes.iter().map(|dash| f64::from(*dash)).collect();
            for pair in dashes.chunks_exact_mut(2) {
                if let [dash, gap] = pair
                    && *dash < dot
                    && *gap > dot
                {
                    (*dash, *gap) = (dot, *gap - (dot - *dash));
                }
            }
            style.with_dashes(f64::from(stroke.dashoffset()), dashes)
        }
        None => style,
    }
}

/// Whether a stroke has dashes of no length and square ends, on lines that are neither level nor upright.
pub(super) fn has_square_dots(path: &usvg::Path, stroke: &usvg::Stroke) -> bool {
    let has_dots = stroke.dasharray().is_some_and(|dashes| dashes.contains(&0.0));
    let is_level = |(from, to): (kurbo::Point, kurbo::Point)| from.x == to.x || from.y == to.y;
    let lines = || drawn(path).segments().collect::<Vec<_>>();
    has_dots
        && stroke.linecap() == usvg::LineCap::Square
        && !lines().iter().all(|one| matches!(one, kurbo::PathSeg::Line(line) if is_level((line.p0, line.p1))))
}

/// How long a dot is drawn, as a share of its width: lines that short keep their round or square ends.
const DOT: f64 = 1e-3;

/// A path whose lines of no length are dots, where the ends of its lines show.
fn dotted(path: BezPath, stroke: &usvg::Stroke) -> BezPath {
    if stroke.linecap() == usvg::LineCap::Butt {
        return path;
    }
    let half = kurbo::Vec2::new(f64::from(stroke.width().get()) * DOT / 2.0, 0.0);
    let mut whole = BezPath::new();
    for line in path.elements().chunk_by(|_, next| !matches!(next, PathEl::MoveTo(_))) {
        let start = line.first().and_then(PathEl::end_point).unwrap_or_default();
        let is_dot = line.len() > 1 && line.iter().filter_map(PathEl::end_point).all(|point| point == start);
        if is_dot {
            whole.move_to(start - half);
            whole.line_to(start + half);
        } else {
            whole.extend(line.iter().copied());
        }
    }
    whole
}

/// What a clip path lets through; `map` is that of the group it clips.
pub(super) fn clip(clip: &usvg::ClipPath, map: Affine) -> Result<Region, ArtError> {
    let map = map * affine(clip.transform());
    let own = clip_group(clip.root(), map)?;
    match clip.clip_path() {
        Some(outer) => Ok(own.intersection(&self::clip(outer, map)?)),
        None => Ok(own),
    }
}

fn clip_group(group: &usvg::Group, map: Affine) -> Result<Region, ArtError> {
    let mut all = BezPath::new();
    for node in group.children() {
        let region = match node {
            // What is hidden lets nothing through.
            usvg::Node::Path(path) if !path.is_visible() => Region::empty(),
            usvg::Node::Path(path) => {
                let rule = path.fill().map_or(usvg::FillRule::NonZero, usvg::Fill::rule);
                fill(path, rule, map * affine(path.abs_transform()))?
            }
            usvg::Node::Group(inner) => {
                let region = clip_group(inner, map)?;
                let limit = inner.clip_path().map(|outer| clip(outer, map * affine(inner.abs_transform())));
                limit.transpose()?.map_or_else(|| region.clone(), |limit| region.intersection(&limit))
            }
            usvg::Node::Text(text) => clip_group(text.flattened(), map)?,
            usvg::Node::Image(_) => Region::empty(),
        };
        // All children together and united once at the end; a union for each would cost the square of their number.
        all.extend(region.path());
    }
    region(&all, Rule::NonZero)
}

/// The inside of a path that may cross itself, within the limit on its length.
pub(super) fn region(path: &BezPath, rule: Rule) -> Result<Region, ArtError> {
    if path.elements().len() > SEGMENTS {
        return Err(ArtError::TooMuch);
    }
    Ok(filled(path, rule)?)
}

/// A parsed path as drawn, before any map.
pub(super) fn drawn(path: &usvg::Path) -> BezPath {
    let point = |p: usvg::tiny_skia_path::Point| kurbo::Point::new(f64::from(p.x), f64::from(p.y));
    let elements = path.data().segments().map(|segment| match segment {
        PathSegment::MoveTo(p) => PathEl::MoveTo(point(p)),
        PathSegment::LineTo(p) => PathEl::LineTo(point(p)),
        PathSegment::QuadTo(a, p) => PathEl::QuadTo(point(a), point(p)),
        PathSegment::CubicTo(a, b, p) => PathEl::CurveTo(point(a), point(b), point(p)),
        PathSegment::Close => PathEl::ClosePath,
    });
    elements.collect()
}

/// A parsed map as ours.
pub(super) fn affine(map: usvg::Transform) -> Affine {
    Affine::new([map.sx, map.ky, map.kx, map.sy, map.tx, map.ty].map(f64::from))
}
