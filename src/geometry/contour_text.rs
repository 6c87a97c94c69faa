//! Paths as text: absolute commands, three decimals at most.

use kurbo::{Affine, BezPath, PathEl, Point};

use crate::units::push_plain;

/// Bytes of a contour of some length.
const USUAL: usize = 256;

/// SVG path data of each contour, mapped by `map`.
pub(crate) fn contours(path: &BezPath, map: Affine) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for element in path.elements() {
        match (element, all.last_mut()) {
            (PathEl::MoveTo(_), _) | (_, None) => {
                let mut contour = String::with_capacity(USUAL);
                push_command(&mut contour, *element, map);
                all.push(contour);
            }
            (_, Some(contour)) => {
                contour.push(' ');
                push_command(contour, *element, map);
            }
        }
    }
    all
}

fn push_command(text: &mut String, element: PathEl, map: Affine) {
    let (letter, points) = match element {
        PathEl::MoveTo(to) => ('M', [Some(to), None, None]),
        PathEl::LineTo(to) => ('L', [Some(to), None, None]),
        PathEl::QuadTo(by, to) => ('Q', [Some(by), Some(to), None]),
        PathEl::CurveTo(first, second, to) => ('C', [Some(first), Some(second), Some(to)]),
        PathEl::ClosePath => ('Z', [None; 3]),
    };
    text.push(letter);
    for (at, point) in points.into_iter().flatten().enumerate() {
        if at > 0 {
            text.push(' ');
        }
        push_point(text, map * point);
    }
}

fn push_point(text: &mut String, point: Point) {
    push_plain(text, point.x, 3);
    text.push(',');
    push_plain(text, point.y, 3);
}
