//! What stands in the files of a small dial, piece by piece, against a reviewed answer: on pages and in pictures every text with its
//! place and size, every line and shape with its box, its length and its colours; in lists every figure and word. So a change shows
//! what moved, and not only that something did.

use std::fmt::Write as _;

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::output::page::Paper;
use dialwright::output::proof::proof;
use dialwright::output::{all_files, run_sheet_pages};
use dialwright::project::MemoryProject;
use dialwright::units::plain;
use kurbo::{Affine, BezPath, Circle, Ellipse, Line, ParamCurveArclen as _, Point, Rect, Shape as _};
use serde_json::Value;
use usvg::roxmltree::{Document, Node};

use super::proof::printing;

const SHOP: &str = r#"shop "Bench"
stock birch {
  thickness [2.94mm, 2.97mm, 2.95mm]; board 305mm by 305mm; kerf 0.16mm; passes [0.42mm, 0.83mm, 1.21mm, 1.62mm]
  colour #d9b98a; engraved #5b3a1e; cost 3.50
}
stock pane { thickness 2mm; board 300mm by 200mm; kerf 0.2mm; clear true; cost 4.20 }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.32T }
magnet tiny { diameter 4mm; height 1.5mm; remanence 1.32T }
rivet eyelet { shank 4mm; head 7mm; grips 3mm to 6mm }
adhesive pva { cure 24h; gap 0.05mm }
"#;

/// Three layers: two that are glued, and a cover that clicks over them.
const CLICKS: &str = r#"dial "Tide table"
with "shop.dial"
outline polygon(sides: 6, across_flats: 56mm, corner: 2mm)
layer plate of birch { grain 90deg; back engrave text("NO. 7", height: 5mm) }
layer base of birch { engrave ring tide { labels ["I", "L", "T"]; radius 20mm; height 5mm } }
layer cover of birch {
  window peep = circle(diameter: 9mm) at polar(20mm, 0deg)
  score line((0, 0), polar(10mm, 90deg))
}
stack {
  plate
  glue pva
  base
  turn on magnets(disc) { stops 3; clicks magnets(tiny, radius: 11mm); pocket 1.6mm }
  cover
}
reads tide through peep
slot circle(diameter: 68mm) depth 12mm
run 2
"#;

/// A card on a rivet, under a painted pane with a window.
const RIVET: &str = r#"dial "Watch"
with "shop.dial"
layer card of birch {
  outline circle(diameter: 50mm)
  engrave ring hours { labels ["I", "V"]; radius 17mm; height 5mm }
}
layer lid of pane {
  outline circle(diameter: 50mm)
  back paint circle(diameter: 50mm) colour #303060
  window peep = circle(diameter: 9mm) at polar(17mm, 0deg)
}
stack { card; turn on rivet(eyelet) { stops 2 }; lid }
reads hours through peep
run 1
"#;

fn known(text: &str) -> Analysis {
    let project = MemoryProject::default().with("a.dial", text.as_bytes()).with("shop.dial", SHOP.as_bytes());
    analyse(&project, "a.dial", "", &Request::default()).expect("the text is there")
}

/// The map of a `transform` attribute.
fn map(text: &str) -> Affine {
    let one = |all: Affine, part: &str| {
        let Some((name, numbers)) = part.split_once('(') else { return all };
        let numbers: Vec<f64> =
            numbers.split([' ', ',']).filter(|it| !it.is_empty()).map(|it| it.parse().unwrap()).collect();
        let at = |place: usize| numbers.get(place).copied().unwrap_or(0.0);
        all * match name.trim() {
            "translate" => Affine::translate((at(0), at(1))),
            "rotate" => Affine::rotate_about(at(0).to_radians(), Point::new(at(1), at(2))),
            "scale" => Affine::scale_non_uniform(at(0), numbers.get(1).copied().unwrap_or(at(0))),
            "matrix" => Affine::new(numbers.as_slice().try_into().unwrap()),
            other => panic!("{other}"),
        }
    };
    text.split(')').fold(Affine::IDENTITY, one)
}

/// The outline of a shape.
fn outline(node: &Node) -> Option<BezPath> {
    let number = |name: &str| node.attribute(name).map_or(0.0, |it| it.trim_end_matches("mm").parse().unwrap());
    let places = |text: &str| -> Vec<f64> { text.split([' ', ',']).filter_map(|it| it.parse().ok()).collect() };
    let at = Point::new(number("cx"), number("cy"));
    Some(match node.tag_name().name() {
        "path" => BezPath::from_svg(node.attribute("d").unwrap_or("")).unwrap(),
        "rect" => {
            let (x, y) = (number("x"), number("y"));
            Rect::new(x, y, x + number("width"), y + number("height")).to_path(1e-3)
        }
        "circle" => Circle::new(at, number("r")).to_path(1e-3),
        "ellipse" => Ellipse::new(at, (number("rx"), number("ry")), 0.0).to_path(1e-3),
        "line" => Line::new((number("x1"), number("y1")), (number("x2"), number("y2"))).to_path(1e-3),
        "polyline" | "polygon" => {
            let places = places(node.attribute("points").unwrap_or(""));
            let mut path = BezPath::new();
            for (at, place) in places.chunks_exact(2).enumerate() {
                let place = (place[0], place[1]);
                if at == 0 { path.move_to(place) } else { path.line_to(place) }
            }
            path
        }
        _ => return None,
    })
}

const COLOURS: [&str; 12] = [
    "id",
    "href",
    "class",
    "fill",
    "fill-opacity",
    "fill-rule",
    "stroke",
    "stroke-width",
    "stroke-dasharray",
    "clip-path",
    "opacity",
    "font-weight",
];

/// One line for every piece of a drawing, in the drawing's own order; lengths to the tenth.
fn pieces(node: Node, onto: Affine, told: &mut String) {
    let onto = onto * map(node.attribute("transform").unwrap_or(""));
    let name = node.tag_name().name();
    let attributes = COLOURS.iter().filter_map(|key| {
        let value = node.attributes().find(|it| it.name() == *key)?.value();
        // Of a picture that is written into the page, what it is: its pixels are held by tests of their own.
        let value = if value.starts_with("data:") { value.split(';').next()? } else { value };
        Some(format!(" {key}={value}"))
    });
    let attributes: String = attributes.collect();
    let place = |at: Point| format!("{} {}", plain(at.x, 1), plain(at.y, 1));
    let words = node.text().unwrap_or_default().split_whitespace().collect::<Vec<&str>>().join(" ");
    if name == "text" {
        let number = |key: &str| node.attribute(key).map_or(0.0, |it| it.parse().unwrap());
        let more = ["text-anchor", "textLength", "font-family"]
            .iter()
            .filter_map(|key| Some(format!(" {}", node.attribute(*key)?)));
        let size = plain(onto.determinant().abs().sqrt() * number("font-size"), 1);
        let way = onto * Point::new(1.0, 0.0) - onto * Point::ORIGIN;
        let turned = plain(way.atan2().to_degrees(), 0);
        let at = place(onto * Point::new(number("x"), number("y")));
        let _ = writeln!(told, "`{words}` at {at} turned {turned} size {size}{}{attributes}", more.collect::<String>());
    } else if let Some(path) = outline(&node) {
        let path = onto * path;
        let reach = path.bounding_box();
        let long: f64 = path.segments().map(|segment| segment.arclen(1e-3)).sum();
        let (from, to) = (place(reach.origin()), place(Point::new(reach.x1, reach.y1)));
        let _ = writeln!(told, "{name} {from} to {to} long {}{attributes}", plain(long, 1));
    } else if name == "use" {
        let _ = writeln!(told, "use at {}{attributes}", place(onto * Point::ORIGIN));
    } else if !attributes.is_empty() || name == "svg" {
        let size = node.attribute("viewBox").map(|it| format!(" {it}")).unwrap_or_default();
        let _ = writeln!(told, "{name}{size}{attributes}");
    }
    node.children().filter(Node::is_element).for_each(|child| pieces(child, onto, told));
}

fn drawing(text: &str) -> String {
    // Within HTML the name space goes without saying.
    let text = &if text.contains("xmlns:xlink") { text.to_owned() } else { text.replace("xlink:href", "href") };
    let document = Document::parse(text).unwrap_or_else(|why| panic!("{why}: {text}"));
    let mut told = String::new();
    pieces(document.root_element(), Affine::IDENTITY, &mut told);
    told
}

/// The drawings within a page of HTML.
fn drawings(html: &str) -> Vec<&str> {
    let begins = html.match_indices("<svg").map(|(at, _)| &html[at..]);
    begins.map(|rest| &rest[..rest.find("</svg>").unwrap() + "</svg>".len()]).collect()
}

/// What contours come to, by their number and length.
fn contours(paths: &[Value]) -> String {
    let paths = paths.iter().map(|it| BezPath::from_svg(it.as_str().unwrap()).unwrap());
    let long: f64 = paths.flat_map(|path| path.segments().map(|it| it.arclen(1e-3)).collect::<Vec<f64>>()).sum();
    plain(long, 1)
}

/// Every object of a file as a line: its place, its figures and words, then all that it holds. Figures to three decimals.
fn figures(value: &Value, place: &str, told: &mut String) {
    let word = |value: &Value| match value {
        Value::Number(number) => Some(plain(number.as_f64().unwrap(), 3)),
        Value::String(text) => Some(format!("`{text}`")),
        Value::Bool(_) | Value::Null => Some(value.to_string()),
        Value::Array(all) if all.iter().all(Value::is_number) => Some(format!(
            "[{}]",
            all.iter().map(|it| plain(it.as_f64().unwrap(), 3)).collect::<Vec<String>>().join(" ")
        )),
        _ => None,
    };
    let Some(object) = value.as_object() else {
        let held = value.as_array().into_iter().flatten().enumerate();
        return held.for_each(|(at, it)| match word(it) {
            Some(word) => writeln!(told, "{place}{at}: {word}").unwrap(),
            None => figures(it, &format!("{place}{at}."), told),
        });
    };
    let is_path = |key: &str, it: &Value| matches!(key, "path" | "outline") && it.is_array();
    let words = object.iter().filter_map(|(key, it)| match it {
        Value::Array(paths) if is_path(key, it) => Some(format!("{key} of {}, {} long", paths.len(), contours(paths))),
        _ => Some(format!("{key} {}", word(it)?)),
    });
    let words: Vec<String> = words.collect();
    if !words.is_empty() {
        let _ = writeln!(told, "{} {}", place.trim_end_matches('.'), words.join(", "));
    }
    let held = object.iter().filter(|(key, it)| word(it).is_none() && !is_path(key, it));
    held.for_each(|(key, it)| figures(it, &format!("{place}{key}."), told));
}

fn compare(name: &str, text: &str) {
    let analysis = known(text);
    let dial = &analysis.dials[0];
    assert!(dial.made().is_some(), "{:?}", analysis.findings);
    let job = printing(&analysis, dial, Paper::A4);
    let mut told = String::new();
    for (what, pages) in [("proof", proof(&job)), ("run sheet", run_sheet_pages(&job))] {
        for (number, page) in (1..).zip(pages.each()) {
            let _ = write!(told, "== {what}, page {number}\n{}", drawing(&page));
        }
    }
    for file in all_files(dial, &analysis.findings, &analysis.sources, None).unwrap() {
        if file.name.ends_with(".html") {
            let html = String::from_utf8(file.bytes).unwrap();
            for (number, svg) in (1..).zip(drawings(&html)) {
                let _ = write!(told, "== {}, picture {number}\n{}", file.name, drawing(svg));
            }
        } else if file.name.ends_with(".json") {
            let _ = writeln!(told, "== {}", file.name);
            figures(&serde_json::from_slice(&file.bytes).unwrap(), "", &mut told);
        }
    }
    // What changes with every version and every text.
    let told = told.replace(&job.revision.short(), "REVISION");
    insta::with_settings!({ prepend_module_to_snapshot => false, snapshot_path => "../answers/sheets", omit_expression => true }, {
        insta::assert_snapshot!(name, told);
    });
}

#[test]
fn a_dial_that_clicks_is_drawn_as_reviewed() {
    compare("clicks", CLICKS);
}

#[test]
fn a_dial_on_a_rivet_is_drawn_as_reviewed() {
    compare("rivet", RIVET);
}
