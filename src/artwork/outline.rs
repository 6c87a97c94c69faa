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
    let drawn = drawn(path);
    // To follow what is larger than any dial by its tolerance would take all memory.
    Region::in_range(&(map * &drawn))?;
    let width = f64::from(stroke.width().get());
    let style = style(stroke);
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
        Some(dashes) => style.with_dashes(f64::from(stroke.dashoffset()), dashes.iter().map(|dash| f64::from(*dash))),
        None => style,
    }
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
            usvg::Node::Path(path) => {
                let rule = path.fill().map_or(usvg::FillRule::NonZero, usvg::Fill::rule);
                fill(path, rule, map * affine(path.abs_transform()))?
            }
            usvg::Node::Group(inner) => {
                let region = clip_group(inner, map)?;
                let limit = inner.clip_path().map(|outer| clip(outer, map * affine(inner.abs_transform())));
                limit.transpose()?.map_or_else(|| region.clone(), |limit| region.intersection(&limit))
            }
            usvg::Node::Image(_) | usvg::Node::Text(_) => Region::empty(),
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
fn drawn(path: &usvg::Path) -> BezPath {
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
