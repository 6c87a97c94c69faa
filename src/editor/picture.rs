//! A small picture of a region, for where Markdown is shown with pictures.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use kurbo::{Affine, BezPath, Rect, Shape as _};

use crate::geometry::contours;
use crate::units::plain;

/// Longer side of the picture, in pixels.
const PIXELS: f64 = 180.0;
/// Most letters of path data: a picture with more would slow the editor down and show nothing at this size.
const MOST_LETTERS: usize = 60_000;

/// The region as an SVG 1.1 drawing, y up, with a cross at the turning axis where that is near. Nothing for an empty
/// region, or one too detailed to be shown small. `filled` is false for open lines.
fn drawing(path: &BezPath, filled: bool) -> Option<String> {
    if path.elements().is_empty() {
        return None;
    }
    let data = contours(path, Affine::FLIP_Y).join(" ");
    let inked = path.bounding_box();
    let reach = inked.width().max(inked.height()).max(1e-3);
    // Far from the axis a shape would be a speck.
    let axis_near = inked.inflate(3.0 * reach, 3.0 * reach).contains(kurbo::Point::ZERO);
    let seen = if axis_near { inked.union(Rect::ZERO) } else { inked };
    let margin = 0.06 * seen.width().max(seen.height()).max(1e-3);
    let seen = seen.inflate(margin, margin);
    let scale = PIXELS / seen.width().max(seen.height());
    let number = |value: f64| plain(value, 3);
    let line = number(1.5 / scale);
    let fill = if filled { "#8a6a45" } else { "none" };
    let cross = number(5.0 / scale);
    (data.len() <= MOST_LETTERS).then(|| {
        let (x, y, width, height) = (number(seen.x0), number(-seen.y1), number(seen.width()), number(seen.height()));
        let (wide, high) = (number((seen.width() * scale).ceil()), number((seen.height() * scale).ceil()));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}\" height=\"{high}\" viewBox=\"{x} {y} {width} \
             {height}\"><rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/><path \
             d=\"M-{cross},0H{cross}M0,-{cross}V{cross}\" stroke=\"#0072b2\" stroke-width=\"{line}\" fill=\"none\"/><path \
             d=\"{data}\" fill=\"{fill}\" fill-rule=\"evenodd\" stroke=\"#3c2a14\" stroke-width=\"{line}\"/></svg>"
        )
    })
}

/// The drawing as Markdown: an image whose address holds it whole (RFC 2397).
pub(super) fn markdown(path: &BezPath, filled: bool) -> Option<String> {
    drawing(path, filled).map(|svg| format!("![its shape](data:image/svg+xml;base64,{})", STANDARD.encode(svg)))
}
