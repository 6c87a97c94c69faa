//! Paths as text: absolute commands, three decimals at most.

use kurbo::{Affine, BezPath, PathEl, Point};

use crate::units::plain;

/// SVG path data of each contour, mapped by `map`.
pub(crate) fn contours(path: &BezPath, map: Affine) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for element in path.elements() {
        let text = command(*element, map);
        match (element, all.last_mut()) {
            (PathEl::MoveTo(_), _) | (_, None) => all.push(text),
            (_, Some(contour)) => {
                contour.push(' ');
                contour.push_str(&text);
            }
        }
    }
    all
}

fn command(element: PathEl, map: Affine) -> String {
    let at = |point: Point| {
        let point = map * point;
        format!("{},{}", plain(point.x, 3), plain(point.y, 3))
    };
    match element {
        PathEl::MoveTo(to) => format!("M{}", at(to)),
        PathEl::LineTo(to) => format!("L{}", at(to)),
        PathEl::QuadTo(by, to) => format!("Q{} {}", at(by), at(to)),
        PathEl::CurveTo(first, second, to) => format!("C{} {} {}", at(first), at(second), at(to)),
        PathEl::ClosePath => "Z".to_owned(),
    }
}
