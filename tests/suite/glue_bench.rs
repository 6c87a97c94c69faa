//! What the person at the glue bench is told of every magnet, in words and in pictures, held against where the operation list says
//! that it lies and where its north looks: a dot marks the north, so it is in sight where the north looks out of the face that is
//! seen. Pockets are seen from the face they open to; what is pressed down to a plate is seen from the other one.

use std::collections::BTreeSet;

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::audit::Audit;
use dialwright::output;
use dialwright::physics::Polarity;
use dialwright::plan::magnet_steps;
use dialwright::project::MemoryProject;
use kurbo::{BezPath, Shape as _};
use serde_json::Value;
use usvg::roxmltree::{Document, Node};

use super::dials::{analysed, designs};

const SHOP: &str = r#"shop "Bench"
stock birch { thickness 3mm; board 305mm by 305mm; kerf 0.16mm }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.32T }
magnet tiny { diameter 4mm; height 1.5mm; remanence 1.32T }
adhesive pva { cure 24h; gap 0.05mm }
"#;

/// Two layers whose turn clicks at these stops.
fn clicking(stops: &str, more: &str) -> Analysis {
    let labels: Vec<String> = (1..=stops.split(',').count()).map(|at| at.to_string()).collect();
    let text = format!(
        "dial \"Clicks\"\nwith \"shop.dial\"\noutline polygon(sides: 6, across_flats: 56mm)\nlayer base of birch {{ engrave ring \
         lock {{ labels [{}]; radius 22mm; height 3mm; bearings [{stops}] }} }}\nlayer cover of birch {{ window peep = \
         circle(diameter: 8mm) at polar(22mm, 0deg) }}\nstack {{ base; turn on magnets(disc) {{ stops [{stops}]; clicks magnets(tiny, \
         radius: 13mm); pocket 1.6mm{more} }}; cover }}\nreads lock through peep\nrun 1\n",
        labels.iter().map(|it| format!("\"{it}\"")).collect::<Vec<String>>().join(", ")
    );
    let project = MemoryProject::default().with("clicks.dial", text.as_bytes()).with("shop.dial", SHOP.as_bytes());
    analyse(&project, "clicks.dial", "", &Request::default()).expect("the text is there")
}

/// The same dial with some click magnets on their heads, which no search for a pattern has chosen yet.
fn mixed(audit: &Audit) -> Audit {
    let mut audit = audit.clone();
    for rings in audit.holding.turns.iter_mut().filter_map(|turn| turn.magnets.as_mut()?.clicks.as_mut()) {
        for pole in rings.pattern.lower.iter_mut().step_by(3).chain(rings.pattern.upper.iter_mut().skip(1).step_by(2)) {
            *pole = if *pole == Polarity::Up { Polarity::Down } else { Polarity::Up };
        }
    }
    audit
}

/// A magnet as the list tells it.
struct Told {
    magnet: String,
    layer: String,
    /// The face that is named in words, and whether it looks up.
    named: String,
    up: bool,
    /// The face that is seen.
    seen: String,
    dot: bool,
    /// Not of steel, nor of what meets nothing else.
    poled: bool,
    clicks: bool,
    radius: f64,
    bearing: f64,
}

fn told(list: &Value) -> Vec<Told> {
    let of = |it: &Value| {
        let text = |key: &str| it[key].as_str().unwrap().to_owned();
        let number = |key: &str| it[key].as_f64().unwrap();
        let named = text("face");
        let pressed_down = it["depth"].is_null() && it["turns"].as_array().unwrap().len() == 1;
        let other = if named == "front" { "back" } else { "front" };
        let seen = if pressed_down { other.to_owned() } else { named.clone() };
        Told {
            magnet: text("magnet"),
            layer: text("layer"),
            dot: !it["north"].is_null() && (it["north"] == "up") == (seen == "front"),
            poled: !it["north"].is_null(),
            up: !pressed_down,
            named,
            seen,
            clicks: it["clicks"].as_bool().unwrap(),
            radius: number("radius"),
            bearing: number("bearing"),
        }
    };
    list["designs"][0]["magnets"].as_array().unwrap().iter().map(of).collect()
}

/// All bearings in a text.
fn bearings(text: &str) -> BTreeSet<i64> {
    let numbers = text.split("deg").filter_map(|before| before.split([' ', ',']).next_back()?.parse::<f64>().ok());
    #[allow(clippy::cast_possible_truncation, reason = "tenths of a degree")]
    numbers.map(|degrees| (degrees * 10.0).round() as i64).collect()
}

/// The steps say of every magnet what is seen of it.
fn words_are_right(all: &[Told], steps: &[String], name: &str) -> usize {
    let mut partly = 0;
    for it in all {
        let lies = if it.up { "up" } else { "down" };
        let begins = format!("Lay `{}` with its {} {lies}", it.layer, it.named);
        let one = format!("Glue one `{}`", it.magnet);
        let glued = if it.clicks { "` into the ring of pockets" } else { one.as_str() };
        let mut found = steps.iter().filter(|step| step.starts_with(&begins) && step.contains(glued));
        let (Some(step), None) = (found.next(), found.next()) else { panic!("{name}: {begins}: {steps:#?}") };
        assert!(step.contains(&format!("`{}`", it.magnet)), "{name}: {step}");
        if !it.clicks {
            assert_eq!(step.contains("its dot in sight"), it.dot, "{name}: {step}");
            assert_eq!(step.contains("its dot out of sight"), it.poled && !it.dot, "{name}: {step}");
            assert_eq!(step.contains("either way up"), !it.poled, "{name}: {step}");
            continue;
        }
        let ring: Vec<&Told> =
            all.iter().filter(|other| other.clicks && other.layer == it.layer && other.seen == it.seen).collect();
        assert!(step.contains(&format!("Glue {} `", ring.len())), "{name}: {step}");
        let (_, says) = step.split_once(" pockets: ").unwrap();
        let dots = || ring.iter().filter(|other| other.dot);
        if dots().count() == ring.len() {
            assert_eq!(says, "every dot in sight.", "{name}");
        } else if dots().count() == 0 {
            assert_eq!(says, "every dot out of sight.", "{name}");
        } else {
            partly += 1;
            #[allow(clippy::cast_possible_truncation, reason = "tenths of a degree")]
            let wanted: BTreeSet<i64> = dots().map(|other| (other.bearing * 10.0).round() as i64).collect();
            assert_eq!(bearings(says), wanted, "{name}: {says}");
            // Bearings run clockwise, and what is seen of a back is its mirror image.
            assert_eq!(says.contains("anticlockwise"), it.seen == "back", "{name}: {says}");
        }
    }
    partly
}

/// A step's picture: what it shows, where the upper faces of hanging magnets have their middles, and whether each has a dot.
struct Drawn {
    says: String,
    magnets: Vec<((f64, f64), bool)>,
}

fn pictures(html: &str) -> Vec<Drawn> {
    let figures = html.split("<figure>").skip(1).filter_map(|rest| Some(rest.split_once("</figure>")?.0));
    let of = |svg: &str| {
        let document = Document::parse(svg).unwrap();
        let paths = || document.descendants().filter(|node| node.has_tag_name("path"));
        let middle = |node: &Node| {
            let path = BezPath::from_svg(node.attribute("d").unwrap()).unwrap();
            let centre = path.bounding_box().center();
            (centre.x, centre.y)
        };
        let dots: Vec<(f64, f64)> = paths()
            .filter(|node| node.attribute("fill") == Some("#ffffff") && node.attribute("stroke").is_none())
            .map(|node| middle(&node))
            .collect();
        let tops = paths().filter(|node| node.attribute("fill") == Some("#666666")).map(|node| middle(&node));
        let near = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) < 0.01;
        Drawn {
            says: document.root_element().attribute("aria-label").unwrap().to_owned(),
            magnets: tops.map(|top| (top, dots.iter().any(|dot| near(*dot, top)))).collect(),
        }
    };
    figures.map(of).filter(|drawn| drawn.says.ends_with("above their places")).collect()
}

/// Every magnet hangs above its place in one picture, with a dot where that is seen; rings hang as they lie, seen from 63° off the axis
/// and turned by 32°.
fn pictures_are_right(all: &[Told], html: &str, name: &str) {
    let drawn = pictures(html);
    let mut left: Vec<&Drawn> = drawn.iter().collect();
    let mut rings: Vec<(String, Vec<&Told>)> = Vec::new();
    for it in all {
        let says = format!("{}, {} up, and its magnets above their places", it.layer, it.seen);
        if it.clicks {
            match rings.iter_mut().find(|(known, _)| *known == says) {
                Some((_, ring)) => ring.push(it),
                None => rings.push((says, vec![it])),
            }
            continue;
        }
        let fits =
            |drawn: &&Drawn| drawn.says == says && matches!(drawn.magnets.as_slice(), [(_, dot)] if *dot == it.dot);
        let at = left.iter().position(fits).unwrap_or_else(|| panic!("{name}: {says}: no picture"));
        left.remove(at);
    }
    for (says, ring) in rings {
        let fits = |drawn: &&Drawn| drawn.says == says && drawn.magnets.len() == ring.len();
        let at = left.iter().position(fits).unwrap_or_else(|| panic!("{name}: {says}: no picture of its ring"));
        let drawn = left.remove(at);
        assert_eq!(drawn.magnets.iter().filter(|(_, dot)| *dot).count(), ring.iter().filter(|it| it.dot).count());
        let place = |it: &Told| {
            let (sine, cosine) = it.bearing.to_radians().sin_cos();
            let side = if it.seen == "front" { 1.0 } else { -1.0 };
            let (x, y) = (side * it.radius * sine, it.radius * cosine);
            let (turn, tilt) = (32f64.to_radians().sin_cos(), 63f64.to_radians().cos());
            (x * turn.1 - y * turn.0, -tilt * (x * turn.0 + y * turn.1))
        };
        // Scale and place of the picture are those that fit best.
        #[allow(clippy::cast_precision_loss, reason = "a dozen magnets")]
        let mean = |points: &[(f64, f64)]| {
            let sum = points.iter().fold((0.0, 0.0), |sum, point| (sum.0 + point.0, sum.1 + point.1));
            (sum.0 / points.len() as f64, sum.1 / points.len() as f64)
        };
        let wanted: Vec<(f64, f64)> = ring.iter().map(|it| place(it)).collect();
        let found: Vec<(f64, f64)> = drawn.magnets.iter().map(|(at, _)| *at).collect();
        let (from, to) = (mean(&wanted), mean(&found));
        let spread = |points: &[(f64, f64)], about: (f64, f64)| {
            points.iter().map(|it| (it.0 - about.0).powi(2) + (it.1 - about.1).powi(2)).sum::<f64>().sqrt()
        };
        // One alone has no scale.
        let scale = if ring.len() > 1 { spread(&found, to) / spread(&wanted, from) } else { 1.0 };
        for (it, at) in ring.iter().zip(&wanted) {
            let here = (to.0 + scale * (at.0 - from.0), to.1 + scale * (at.1 - from.1));
            let is_here = |(at, _): &&((f64, f64), bool)| (at.0 - here.0).hypot(at.1 - here.1) < 0.05;
            let (_, dot) =
                drawn.magnets.iter().find(is_here).unwrap_or_else(|| panic!("{name}: {says}: none at {here:?}"));
            assert_eq!(*dot, it.dot, "{name}: {says}: at {here:?}");
        }
    }
    assert!(left.is_empty(), "{name}: {:?}", left.iter().map(|it| &it.says).collect::<Vec<_>>());
}

#[test]
fn every_magnet_lies_as_the_bench_is_told() {
    let files = designs("examples").into_iter().chain(designs("tests/dials"));
    let mut all: Vec<(String, Analysis)> = files.map(|path| (path.display().to_string(), analysed(&path))).collect();
    for (stops, more) in
        [("0deg, 60deg, 120deg, 180deg, 240deg, 300deg", ""), ("0deg, 50deg, 120deg, 215deg", "; north down")]
    {
        all.push((format!("stops {stops}{more}"), clicking(stops, more)));
    }
    let (mut partly, mut kinds) = (0, BTreeSet::new());
    for (name, analysis) in &all {
        let dial = &analysis.dials[0];
        let Some(made) = dial.made() else { panic!("{name} is not made: {:?}", analysis.findings) };
        // Bearings in words are about the turn's own axis, those of the list about the layer's.
        let clicks = dial.design.turns().any(|(_, turn)| turn.clicks.is_some() && turn.axle.is_none());
        for audit in std::iter::once(dial.audit.clone()).chain(clicks.then(|| mixed(&dial.audit))) {
            let files = output::files(&dial.design, &audit, made, &analysis.sources);
            let text = |name: &str| {
                String::from_utf8(files.iter().find(|file| file.name == name).unwrap().bytes.clone()).unwrap()
            };
            let told = told(&serde_json::from_str(&text("operations.json")).unwrap());
            let steps = magnet_steps(&dial.design, &audit.holding);
            assert_eq!(steps.is_empty(), told.is_empty(), "{name}");
            partly += words_are_right(&told, &steps, name);
            pictures_are_right(&told, &text("run-sheet.html"), name);
            kinds.extend(told.iter().map(|it| (it.seen.clone(), it.up, it.dot, it.clicks)));
        }
    }
    // Fronts and backs with and without the dot in sight, on the axis and in rings, and pressed down from both sides.
    assert!(partly > 0 && kinds.len() >= 10, "{partly} {kinds:?}");
}
