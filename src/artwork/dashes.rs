//! Dashes that are told in shares of a line's stated length.

use kurbo::{BezPath, Point, Shape};
use svgtypes::{NumberListParser, PointsParser};

use super::plain::Attributes;

/// The dashes of the strokes round an element, as written.
#[derive(Clone, Default)]
pub(super) struct DashState {
    array: Option<String>,
    offset: Option<String>,
}

impl DashState {
    /// Takes over what an element says of its own.
    pub(super) fn take(&mut self, attributes: &Attributes) {
        let own = |name: &str, known: &Option<String>| {
            attributes.get(name).filter(|value| *value != "inherit").cloned().or_else(|| known.clone())
        };
        self.array = own("stroke-dasharray", &self.array);
        self.offset = own("stroke-dashoffset", &self.offset);
    }

    /// Writes the dashes of a line of this stated length in its own units (SVG 2, "the pathLength attribute"); whether
    /// that could be done. Where lines are used elsewhere, their dashes may come from there.
    pub(super) fn scale(&self, element: &str, stated: &str, is_reused: bool, attributes: &mut Attributes) -> bool {
        let Some(stated) = stated.trim().parse::<f64>().ok().filter(|stated| stated.is_finite() && *stated >= 0.0)
        else {
            // Not a length: as if it were not there.
            return true;
        };
        let Some(array) = self.array.as_deref().filter(|array| *array != "none") else {
            return !is_reused;
        };
        if stated == 0.0 {
            attributes.insert("stroke-dasharray".to_owned(), "none".to_owned());
            return true;
        }
        let scaled = length(element, attributes).and_then(|length| {
            let numbers = |text: &str| -> Option<Vec<String>> {
                NumberListParser::from(text).map(|number| Some((number.ok()? * length / stated).to_string())).collect()
            };
            Some((numbers(array)?.join(" "), numbers(self.offset.as_deref().unwrap_or("0"))?.join(" ")))
        });
        let Some((array, offset)) = scaled else { return false };
        attributes.insert("stroke-dasharray".to_owned(), array);
        attributes.insert("stroke-dashoffset".to_owned(), offset);
        true
    }
}

/// How long the outline of an element is, in its own units; none where that is not plain.
fn length(element: &str, attributes: &Attributes) -> Option<f64> {
    let number = |name: &str| attributes.get(name).map_or(Some(0.0), |value| value.trim().parse::<f64>().ok());
    match element {
        "path" => BezPath::from_svg(attributes.get("d")?).ok().map(|path| path.perimeter(1e-6)),
        "line" => {
            let point = |x, y| Some(Point::new(number(x)?, number(y)?));
            Some(point("x1", "y1")?.distance(point("x2", "y2")?))
        }
        "circle" => Some(number("r")? * std::f64::consts::TAU),
        "rect" if !attributes.contains_key("rx") && !attributes.contains_key("ry") => {
            Some(2.0 * (number("width")? + number("height")?))
        }
        "polyline" | "polygon" => {
            let points: Vec<Point> =
                PointsParser::from(attributes.get("points")?.as_str()).map(|(x, y)| Point::new(x, y)).collect();
            let sides: f64 =
                points.windows(2).map(|pair| pair.first().zip(pair.last()).map_or(0.0, |(a, b)| a.distance(*b))).sum();
            let closing = points.first().zip(points.last()).filter(|_| element == "polygon");
            Some(sides + closing.map_or(0.0, |(first, last)| first.distance(*last)))
        }
        _ => None,
    }
}
