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
use serde_json::Value;
use usvg::roxmltree::Document;

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
    clicks: bool,
    diameter: f64,
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
            dot: (it["north"] == "up") == (seen == "front"),
            up: !pressed_down,
            named,
            seen,
            clicks: it["clicks"].as_bool().unwrap(),
            diameter: number("diameter"),
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
        let glued = if it.clicks { "` into the ring of pockets" } else { "Glue one `" };
        let mut found = steps.iter().filter(|step| step.starts_with(&begins) && step.contains(glued));
        let (Some(step), None) = (found.next(), found.next()) else { panic!("{name}: {begins}: {steps:#?}") };
        assert!(step.contains(&format!("`{}`", it.magnet)), "{name}: {step}");
        if !it.clicks {
            assert_eq!(step.contains("its dot in sight"), it.dot, "{name}: {step}");
            assert_eq!(step.contains("its dot out of sight"), !it.dot, "{name}: {step}");
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

/// A circle of a picture: its middle, its radius, and whether it is filled with ink.
struct Circle {
    at: (f64, f64),
    radius: f64,
    inked: bool,
}

/// The faces that are drawn on the sheet, each with its circles.
fn pictures(html: &str) -> Vec<(String, Vec<Circle>)> {
    let figures = html.split("<figure>").skip(1).filter(|rest| rest.starts_with("<svg class=\"face\""));
    let of = |figure: &str| {
        let (svg, rest) = figure.split_once("</svg>").unwrap();
        let caption = rest.split("</figcaption>").next().unwrap();
        let caption = caption.split('<').filter_map(|it| it.split_once('>')).map(|it| it.1).collect::<String>();
        let svg = format!("{svg}</svg>");
        let document = Document::parse(&svg).unwrap();
        let circles = document.descendants().filter(|node| node.has_tag_name("circle"));
        let number = |text: Option<&str>| text.unwrap().parse::<f64>().unwrap();
        let circles = circles.map(|node| Circle {
            at: (number(node.attribute("cx")), number(node.attribute("cy"))),
            radius: number(node.attribute("r")),
            inked: node.attribute("fill") != Some("#ffffff"),
        });
        (caption, circles.collect())
    };
    figures.map(of).collect()
}

/// Each face is drawn once, and every magnet of it where it lies, with a dot where that is seen.
fn pictures_are_right(all: &[Told], html: &str, name: &str) {
    let drawn = pictures(html);
    let faces: BTreeSet<String> = all.iter().map(|it| format!("{}, {} up", it.layer, it.seen)).collect();
    assert_eq!(drawn.len(), faces.len(), "{name}");
    assert_eq!(drawn.iter().map(|(says, _)| says.clone()).collect::<BTreeSet<String>>(), faces, "{name}");
    for (says, circles) in &drawn {
        let here: Vec<&Told> = all.iter().filter(|it| *says == format!("{}, {} up", it.layer, it.seen)).collect();
        let rings: Vec<&Circle> = circles.iter().filter(|it| !it.inked).collect();
        assert_eq!(rings.len(), here.len(), "{name}: {says}");
        let widest = |sizes: &mut dyn Iterator<Item = f64>| sizes.fold(0.0, f64::max);
        let scale =
            2.0 * widest(&mut rings.iter().map(|it| it.radius)) / widest(&mut here.iter().map(|it| it.diameter));
        for it in here {
            let (sine, cosine) = it.bearing.to_radians().sin_cos();
            let side = if it.seen == "front" { 1.0 } else { -1.0 };
            let at = (17.0 + side * scale * it.radius * sine, 17.0 - scale * it.radius * cosine);
            let is_here = |circle: &&Circle| (circle.at.0 - at.0).hypot(circle.at.1 - at.1) < 0.02;
            let ring = rings.iter().copied().find(is_here).unwrap_or_else(|| panic!("{name}: {says}: none at {at:?}"));
            assert!((ring.radius - scale * it.diameter / 2.0).abs() < 0.01, "{name}: {says}");
            let dots: Vec<&Circle> = circles.iter().filter(|circle| circle.inked).filter(is_here).collect();
            assert_eq!(dots.len(), usize::from(it.dot), "{name}: {says}: at {at:?}");
            assert!(dots.iter().all(|dot| dot.radius > 0.0 && dot.radius < 0.9 * ring.radius), "{name}: {says}");
        }
    }
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
