//! `adopt`: drawings of dials of known parameters, in many manners, are read back as what they were drawn from.

use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use dialwright::adopt::{Adopted, Refused, Wanted, Work, adopt};
use dialwright::analysis::{Request, analyse};
use dialwright::project::MemoryProject;

/// An edge as points that lie on it, from a closed form of its own: nothing here is drawn by the compiler.
type Edge = Vec<(f64, f64)>;

/// What is drawn, and the call that it must be read as.
struct Drawn {
    edge: Edge,
    call: &'static str,
    colour: &'static str,
}

/// A dial: its outline, and what is on base and cover, each edge about its own middle and then moved.
struct Dial {
    name: &'static str,
    outline: Drawn,
    cover: Vec<Drawn>,
}

const POINTS: usize = 360;
const CUT: &str = "#d02020";
const POCKET: &str = "#20a040";

fn about(turns: f64) -> (f64, f64) {
    ((TAU * turns).sin(), (TAU * turns).cos())
}

fn circle(radius: f64, count: usize) -> Edge {
    (0..count).map(|at| about(at as f64 / count as f64)).map(|(x, y)| (radius * x, radius * y)).collect()
}

fn ellipse(width: f64, height: f64) -> Edge {
    circle(1.0, POINTS).into_iter().map(|(x, y)| (x * width / 2.0, y * height / 2.0)).collect()
}

/// Corners with arcs of radius `corner` in them, by points along the arcs; the lines between are drawn by their ends alone.
fn rounded(corners: &[(f64, f64)], corner: f64) -> Edge {
    let count = corners.len();
    let mut edge = Edge::new();
    for at in 0..count {
        let (before, here, after) = (corners[(at + count - 1) % count], corners[at], corners[(at + 1) % count]);
        if corner == 0.0 {
            edge.push(here);
            continue;
        }
        let unit = |to: (f64, f64)| {
            let (x, y) = (to.0 - here.0, to.1 - here.1);
            let long = x.hypot(y);
            (x / long, y / long)
        };
        let (u, v) = (unit(before), unit(after));
        let half = ((u.0 * v.0 + u.1 * v.1).clamp(-1.0, 1.0)).acos() / 2.0;
        let bisector = ((u.0 + v.0), (u.1 + v.1));
        let long = bisector.0.hypot(bisector.1);
        let out = corner / half.sin();
        let middle = (here.0 + bisector.0 / long * out, here.1 + bisector.1 / long * out);
        let reach = corner / half.tan();
        let from = (here.0 + u.0 * reach - middle.0, here.1 + u.1 * reach - middle.1);
        let to = (here.0 + v.0 * reach - middle.0, here.1 + v.1 * reach - middle.1);
        let start = from.1.atan2(from.0);
        let sweep = (to.1.atan2(to.0) - start + PI).rem_euclid(TAU) - PI;
        let steps = 24;
        edge.extend((0..=steps).map(|step| {
            let angle = start + sweep * f64::from(step) / f64::from(steps);
            (middle.0 + corner * angle.cos(), middle.1 + corner * angle.sin())
        }));
    }
    edge
}

fn polygon(sides: usize, circumradius: f64, corner: f64) -> Edge {
    rounded(&circle(circumradius, sides), corner)
}

fn star(points: usize, outer: f64, inner: f64, corner: f64) -> Edge {
    let corners: Edge = (0..2 * points)
        .map(|at| {
            let (x, y) = about(at as f64 / (2 * points) as f64);
            let out = if at % 2 == 0 { outer } else { inner };
            (out * x, out * y)
        })
        .collect();
    rounded(&corners, corner)
}

fn rectangle(width: f64, height: f64, corner: f64) -> Edge {
    let (x, y) = (width / 2.0, height / 2.0);
    rounded(&[(x, y), (x, -y), (-x, -y), (-x, y)], corner)
}

/// Lobes and hollows of one radius, found by bisection: their centres lie two radii apart.
fn scallop(crest: f64, lobes: usize, depth: f64) -> Edge {
    let half = PI / lobes as f64;
    let apart = |radius: f64| {
        let (out, hollow) = (crest - radius, crest - depth + radius);
        (out * out + hollow * hollow - 2.0 * out * hollow * half.cos()).sqrt() - 2.0 * radius
    };
    let (mut low, mut high) = (1e-9, crest);
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if apart(middle) > 0.0 { low = middle } else { high = middle }
    }
    let (radius, steps) = (low, 16);
    let mut edge = Edge::new();
    for lobe in 0..lobes {
        let top = TAU * lobe as f64 / lobes as f64;
        let at = |out: f64, angle: f64| (out * angle.sin(), out * angle.cos());
        let before = at(crest - depth + radius, top - half);
        let (centre, after) = (at(crest - radius, top), at(crest - depth + radius, top + half));
        let meet = |a: (f64, f64), b: (f64, f64)| ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
        let next = at(crest - radius, top + 2.0 * half);
        for (middle, from, to) in
            [(centre, meet(before, centre), meet(centre, after)), (after, meet(centre, after), meet(after, next))]
        {
            let start = (from.1 - middle.1).atan2(from.0 - middle.0);
            let sweep = ((to.1 - middle.1).atan2(to.0 - middle.0) - start + PI).rem_euclid(TAU) - PI;
            edge.extend((0..steps).map(|step| {
                let angle = start + sweep * f64::from(step) / f64::from(steps);
                (middle.0 + radius * angle.cos(), middle.1 + radius * angle.sin())
            }));
        }
    }
    edge
}

fn sector(outer: f64, inner: f64, half_deg: f64) -> Edge {
    let arc = |radius: f64, from: f64, to: f64| {
        (0..=60).map(move |step| {
            let (x, y) = about((from + (to - from) * f64::from(step) / 60.0) / 360.0);
            (radius * x, radius * y)
        })
    };
    arc(outer, -half_deg, half_deg).chain(arc(inner, half_deg, -half_deg)).collect()
}

fn moved(edge: Edge, radius: f64, bearing: f64) -> Edge {
    let (x, y) = about(bearing / 360.0);
    edge.into_iter().map(|(a, b)| (a + radius * x, b + radius * y)).collect()
}

fn turned(edge: Edge, bearing: f64) -> Edge {
    let (sin, cos) = bearing.to_radians().sin_cos();
    edge.into_iter().map(|(x, y)| (x * cos + y * sin, y * cos - x * sin)).collect()
}

fn drawn(edge: Edge, call: &'static str, colour: &'static str) -> Drawn {
    Drawn { edge, call, colour }
}

fn dials() -> Vec<Dial> {
    let opening = |edge: Edge, call| drawn(edge, call, CUT);
    let at = |edge, radius, bearing| moved(edge, radius, bearing);
    let dial = |name, edge, call, cover| Dial { name, outline: drawn(edge, call, CUT), cover };
    let round = |radius| circle(radius, POINTS);
    let holes = |radius: f64, out: f64, first: f64, count: usize, call| {
        let mut all: Vec<Drawn> = (0..count)
            .map(|hole| drawn(at(circle(radius, 120), out, first + 360.0 * hole as f64 / count as f64), "", CUT))
            .collect();
        all[0].call = call;
        all
    };
    let mut starry = holes(1.0, 27.0, 0.0, 8, "circle(diameter: 2mm) at polar(27mm, 0deg) repeated 8");
    starry.push(opening(at(round(6.0), 19.0, 90.0), "circle(diameter: 12mm) at polar(19mm, 90deg)"));
    vec![
        dial(
            "round",
            round(31.0),
            "circle(diameter: 62mm)",
            vec![opening(at(round(6.5), 20.0, 0.0), "circle(diameter: 13mm) at polar(20mm, 0deg)")],
        ),
        dial(
            "hexagon",
            polygon(6, 30.0, 4.0),
            "polygon(sides: 6, across_corners: 60mm, corner: 4mm)",
            vec![opening(
                at(rectangle(14.0, 11.0, 5.5), 18.0, 0.0),
                "obround(width: 14mm, height: 11mm) at polar(18mm, 0deg)",
            )],
        ),
        dial(
            "octagon",
            turned(polygon(8, 28.0 / (PI / 8.0).cos(), 2.5), 22.5),
            "polygon(sides: 8, across_flats: 56mm, corner: 2.5mm) turned 22.5deg",
            vec![opening(
                at(ellipse(15.0, 11.0), 18.5, 0.0),
                "ellipse(width: 15mm, height: 11mm) at polar(18.5mm, 0deg)",
            )],
        ),
        dial(
            "triangle",
            polygon(3, 44.0, 6.0),
            "polygon(sides: 3, across_flats: 66mm, corner: 6mm)",
            vec![opening(at(polygon(5, 5.0, 0.5), 14.0, 60.0), "polygon(sides: 5")],
        ),
        dial(
            "scallop",
            scallop(34.0, 10, 3.0),
            "scallop(diameter: 68mm, lobes: 10, depth: 3mm)",
            vec![opening(at(round(5.5), 22.0, 30.0), "circle(diameter: 11mm) at polar(22mm, 30deg)")],
        ),
        dial("star", star(8, 34.0, 29.0, 2.0), "star(points: 8, diameter: 68mm, inner: 58mm, corner: 2mm)", starry),
        dial(
            "square",
            rectangle(58.0, 58.0, 6.0),
            "rectangle(width: 58mm, height: 58mm, corner: 6mm)",
            vec![opening(
                at(turned(rectangle(11.0, 8.0, 1.0), 45.0), 21.0, 45.0),
                "rectangle(width: 11mm, height: 8mm, corner: 1mm) turned 45deg at polar(21mm, 45deg)",
            )],
        ),
        dial(
            "oval",
            ellipse(72.0, 58.0),
            "ellipse(width: 72mm, height: 58mm)",
            vec![opening(sector(25.0, 15.0, 18.0), "sector(radius: 25mm, inner: 15mm, from: -18deg, to: 18deg)")],
        ),
        dial(
            "many",
            turned(polygon(16, 30.0, 0.0), 11.25),
            "polygon(sides: 16",
            holes(1.5, 18.0, 15.0, 6, "circle(diameter: 3mm) at polar(18mm, 15deg) repeated 6"),
        ),
        dial(
            "card",
            rectangle(85.6, 54.0, 3.2),
            "rectangle(width: 85.6mm, height: 54mm, corner: 3.2mm)",
            vec![opening(
                at(rectangle(9.0, 9.0, 0.0), 15.0, 0.0),
                "rectangle(width: 9mm, height: 9mm) at polar(15mm, 0deg)",
            )],
        ),
    ]
}

/// A way to draw.
#[derive(Clone, Copy, Debug)]
enum Manner {
    /// Curves through the points, in mm, a group for each layer.
    Curves,
    /// Polylines in pixels, within three groups of transforms.
    Nested,
    /// Polylines in tenths of a millimetre, the layers side by side, drawn backwards from another start.
    Beside,
    /// Polylines with noise of this many mm.
    Noisy(f64),
    /// Every edge in pieces of its own, some backwards, with small gaps, and each of them twice.
    Pieces,
}

const MANNERS: [Manner; 5] = [Manner::Curves, Manner::Nested, Manner::Beside, Manner::Noisy(0.05), Manner::Pieces];

/// Numbers that look drawn by chance: a fixed sequence (Park and Miller 1988, from memory), and normal ones by the sum of twelve.
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    pub(crate) fn next(&mut self) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }

    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

fn svg(dial: &Dial, manner: Manner, chance: &mut Chance) -> String {
    let (unit, head) = match manner {
        Manner::Nested => {
            (96.0 / 25.4, format!("width=\"{}\" height=\"{}\"", 240.0 * 96.0 / 25.4, 120.0 * 96.0 / 25.4))
        }
        Manner::Beside => (10.0, "width=\"240mm\" height=\"120mm\" viewBox=\"0 0 2400 1200\"".to_owned()),
        _ => (1.0, "width=\"240mm\" height=\"120mm\" viewBox=\"0 0 240 120\"".to_owned()),
    };
    let mut text = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {head}>\n");
    for (layer, name) in ["base", "cover"].into_iter().enumerate() {
        let across = if matches!(manner, Manner::Beside) && layer == 1 { 180.0 } else { 60.0 };
        let (open, close, inner) = match manner {
            Manner::Nested => (
                format!(
                    "<g id=\"{name}\"><g transform=\"translate({} {})\"><g transform=\"rotate(90) scale(2.5)\"><g transform=\"rotate(-90)\">",
                    across * unit,
                    60.0 * unit
                ),
                "</g></g></g></g>",
                unit / 2.5,
            ),
            _ => {
                (format!("<g id=\"{name}\" transform=\"translate({} {})\">", across * unit, 60.0 * unit), "</g>", unit)
            }
        };
        let (open, close) = if matches!(manner, Manner::Beside) {
            (format!("<g transform=\"translate({} {})\">", across * unit, 60.0 * unit), "</g>")
        } else {
            (open, close)
        };
        let _ = writeln!(text, "{open}");
        let pocket = drawn(circle(4.05, 160), "", POCKET);
        let all = [&dial.outline, &pocket].into_iter().chain(if layer == 1 { dial.cover.iter() } else { [].iter() });
        for one in all {
            for data in paths(&one.edge, manner, inner, chance) {
                let width = 0.1 * inner;
                let _ = writeln!(
                    text,
                    "<path d=\"{data}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"/>",
                    one.colour
                );
            }
        }
        let _ = writeln!(text, "{close}");
    }
    text + "</svg>\n"
}

/// An edge as path data, in the units of its place, y down.
fn paths(edge: &Edge, manner: Manner, unit: f64, chance: &mut Chance) -> Vec<String> {
    let at = |(x, y): (f64, f64)| format!("{:.5},{:.5}", x * unit, -y * unit);
    let closed = |edge: &Edge| {
        let points: Vec<String> = edge.iter().map(|point| at(*point)).collect();
        format!("M{} Z", points.join(" L"))
    };
    match manner {
        Manner::Curves => vec![curves(edge, &at)],
        Manner::Nested => vec![closed(edge)],
        Manner::Beside => {
            let mut other: Edge = edge.iter().rev().copied().collect();
            let start = other.len() / 3;
            other.rotate_left(start);
            vec![closed(&other)]
        }
        Manner::Noisy(noise) => {
            let noisy = edge.iter().map(|(x, y)| (x + noise * chance.normal(), y + noise * chance.normal()));
            vec![closed(&noisy.collect())]
        }
        Manner::Pieces => {
            let mut all = Vec::new();
            let count = 3.min(edge.len() / 2).max(1);
            for piece in 0..count {
                let (from, to) = (piece * edge.len() / count, (piece + 1) * edge.len() / count);
                let mut run: Edge = (from..=to).map(|at| edge[at % edge.len()]).collect();
                // A hair short at its end.
                let last = run.len() - 1;
                let (before, end) = (run[last - 1], run[last]);
                let share = 0.02 / (end.0 - before.0).hypot(end.1 - before.1);
                run[last] = (end.0 + (before.0 - end.0) * share, end.1 + (before.1 - end.1) * share);
                if chance.next() < 0.5 {
                    run.reverse();
                }
                let points: Vec<String> = run.iter().map(|point| at(*point)).collect();
                all.extend([format!("M{}", points.join(" L")), format!("M{}", points.join(" L"))]);
            }
            all
        }
    }
}

/// Through the points, straight where they lie far apart, else by cubics whose handles follow their neighbours.
fn curves(edge: &Edge, at: &dyn Fn((f64, f64)) -> String) -> String {
    let count = edge.len();
    let long = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
    let mut lengths: Vec<f64> = (0..count).map(|i| long(edge[i], edge[(i + 1) % count])).collect();
    lengths.sort_by(f64::total_cmp);
    let usual = lengths[count / 2];
    let is_bend = |i: usize| {
        let (before, here, after) = (edge[(i + count - 1) % count], edge[i % count], edge[(i + 1) % count]);
        long(before, here) < 2.0 * usual && long(here, after) < 2.0 * usual && count > 60
    };
    let mut data = format!("M{}", at(edge[0]));
    for i in 0..count {
        let (a, b) = (edge[i], edge[(i + 1) % count]);
        if is_bend(i) && is_bend(i + 1) {
            let (before, after) = (edge[(i + count - 1) % count], edge[(i + 2) % count]);
            let handle = |from: (f64, f64), a: (f64, f64), b: (f64, f64), by: f64| {
                (from.0 + (b.0 - a.0) * by / 6.0, from.1 + (b.1 - a.1) * by / 6.0)
            };
            let (first, second) = (handle(a, before, b, 1.0), handle(b, a, after, -1.0));
            let _ = write!(data, " C{} {} {}", at(first), at(second), at(b));
        } else {
            let _ = write!(data, " L{}", at(b));
        }
    }
    data + " Z"
}

fn wanted() -> Wanted {
    Wanted {
        title: "Tried".to_owned(),
        source: "tried.svg".to_owned(),
        stock: "birch".to_owned(),
        pivot: "magnets(disc)".to_owned(),
        art: "tried-art.svg".to_owned(),
        ..Wanted::default()
    }
}

fn read(svg: &str) -> Adopted {
    adopt(svg.as_bytes(), &wanted(), &MemoryProject::default(), "tried.dial")
        .unwrap_or_else(|error| panic!("{error:?}"))
}

/// The numbers of a call, and what is left of it without them.
fn numbers(call: &str) -> (String, Vec<f64>) {
    let (mut rest, mut found, mut number) = (String::new(), Vec::new(), String::new());
    for letter in call.chars().chain([' ']) {
        if letter.is_ascii_digit() || letter == '.' || (letter == '-' && number.is_empty()) {
            number.push(letter);
        } else {
            if let Ok(value) = number.parse() {
                found.push(value);
                rest.push('#');
            }
            number.clear();
            rest.push(letter);
        }
    }
    (rest.trim().to_owned(), found)
}

/// Whether a line of the file is this call, with figures that differ by no more.
fn says(text: &str, call: &str, within: f64, noise: f64) -> bool {
    let (form, figures) = numbers(call);
    text.lines().any(|line| {
        let line = line.split("  //").next().unwrap_or_default();
        let Some(from) = line.find(call.split('(').next().unwrap_or_default()) else { return false };
        let (mut found, mut values) = numbers(&line[from..]);
        let is_whole = call.ends_with(')') || call.contains(" repeated") || call.ends_with("deg");
        // Noise turns what is small by a hair.
        if noise > 0.0 && is_whole && found.contains(" turned #deg") && !form.contains(" turned") {
            let at = found.split(" turned").next().unwrap_or_default().matches('#').count();
            if values.remove(at).abs() > 2.0 {
                return false;
            }
            found = found.replace(" turned #deg", "");
        }
        // A call that is only begun says all that is exact.
        let is_form = if is_whole { found == form } else { found.starts_with(&form) };
        // What is small is turned by more degrees than it is moved by millimetres.
        let bounds =
            form.split('#').skip(1).map(|unit| if unit.starts_with("deg") { within + 6.0 * noise } else { within });
        is_form && figures.iter().zip(&values).zip(bounds).all(|((due, is), bound)| (due - is).abs() <= bound)
    })
}

#[test]
fn fifty_drawings_are_read_as_what_they_were_drawn_from() {
    let mut chance = Chance(20_261);
    let (mut read_back, mut noisy, mut wrong) = (0, 0, Vec::new());
    for dial in dials() {
        for manner in MANNERS {
            let drawing = svg(&dial, manner, &mut chance);
            let adopted = read(&drawing);
            let told = || format!("{} {manner:?}\n{}", dial.name, adopted.text);
            let noise = if let Manner::Noisy(noise) = manner { noise } else { 0.0 };
            let within = 0.03 + 2.5 * noise;
            for one in [&dial.outline].into_iter().chain(&dial.cover).filter(|one| !one.call.is_empty()) {
                if !says(&adopted.text, one.call, within, noise) {
                    wrong.push(format!("`{}` is not in {}", one.call, told()));
                }
            }
            let is_near = adopted.laid.greatest_mm <= 0.05 + 4.0 * noise && adopted.noise_mm <= 1.3 * noise + 0.01;
            if !is_near || adopted.layers != 2 || adopted.laid.missing > 0 || adopted.art.is_some() {
                wrong.push(format!("{} mm off: {}", adopted.laid.greatest_mm, told()));
            }
            read_back += 1;
            noisy += usize::from(noise > 0.0);
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n\n"));
    assert_eq!((read_back, noisy), (50, 10));
}

#[test]
fn drawings_of_other_libraries_are_read() {
    let folder = crate::dials::root().join("tests/data/adopted");
    let of = |name: &str| read(&fs::read_to_string(folder.join(name)).unwrap());
    let hexagon = of("hexagon.svg");
    for call in [
        "outline polygon(sides: 6, across_corners: 58mm)",
        "obround(width: 14mm, height: 12mm) at polar(19mm, 0deg)",
        "labels 1 to 6; radius 19mm; height 6mm",
        "reads readings through peep",
    ] {
        assert!(hexagon.text.contains(call), "{call}: {}", hexagon.text);
    }
    let round = of("round.svg");
    for call in [
        "outline circle(diameter: 66mm)",
        "sector(radius: 29mm, inner: 17mm, from: -20deg, to: 20deg)",
        "circle(diameter: 3mm) at polar(12mm, 30deg) repeated 6",
    ] {
        assert!(round.text.contains(call), "{call}: {}", round.text);
    }
    let octagon = of("octagon.svg");
    for call in [
        "outline polygon(sides: 8, across_corners: 60mm) turned 22.5deg",
        "ellipse(width: 15mm, height: 12mm) at polar(19mm, 0deg)",
    ] {
        assert!(octagon.text.contains(call), "{call}: {}", octagon.text);
    }
    assert_eq!((hexagon.layers, round.layers, octagon.layers), (2, 2, 1));
    for one in [hexagon, round, octagon] {
        assert!(one.laid.greatest_mm <= 0.05 && one.laid.missing == 0, "{:?}: {}", one.laid, one.text);
    }
}

#[test]
fn what_is_no_shape_becomes_its_lines_and_arcs() {
    // A disc with a tab: an arc of 300 points, two lines, and an arc of 40 round the tab.
    let (radius, half) = (28.0_f64, 7.0_f64);
    let from = (half / radius).asin().to_degrees();
    let mut edge: Edge = (0..=300)
        .map(|step| about((from + (360.0 - 2.0 * from) * f64::from(step) / 300.0) / 360.0))
        .map(|(x, y)| (radius * x, radius * y))
        .collect();
    edge.extend(
        (0..=40)
            .map(|step| about((270.0 + 180.0 * f64::from(step) / 40.0) / 360.0))
            .map(|(x, y)| (half * x, 31.0 + half * y)),
    );
    for noise in [0.0, 0.01, 0.05] {
        let dial = Dial { name: "tab", outline: drawn(edge.clone(), "", CUT), cover: Vec::new() };
        let adopted = read(&svg(&dial, Manner::Noisy(noise), &mut Chance(7)));
        let outline = adopted.text.split("path(").nth(1).and_then(|rest| rest.split(')').next()).expect("it is a path");
        let (arcs, lines) = (outline.matches('A').count(), outline.matches('L').count());
        assert!((2..=8).contains(&arcs) && lines <= 6, "{noise}: {}", adopted.text);
        assert!(
            adopted.laid.greatest_mm <= 0.05 + 4.0 * noise,
            "{noise}: {} {}",
            adopted.laid.greatest_mm,
            adopted.text
        );
    }
}

/// A dial whose labels are live text.
fn lettered(head: &str, labels: &[&str], turn: f64) -> String {
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" {head}>\n<g id=\"lower\"><circle cx=\"60\" cy=\"60\" r=\"30\" fill=\"none\" stroke=\"{CUT}\"/>\n"
    );
    for (at, label) in labels.iter().enumerate() {
        let bearing = 360.0 * at as f64 / labels.len() as f64;
        let (x, y) = about(bearing / 360.0);
        let (x, y) = (60.0 + 20.0 * x, 60.0 - 20.0 * y);
        let _ = writeln!(
            text,
            "<text transform=\"translate({x} {y}) rotate({})\" y=\"2.5\" font-family=\"DejaVu Sans\" font-size=\"{}\" text-anchor=\"middle\">{label}</text>",
            bearing + turn,
            5.0 / 0.729
        );
    }
    text + &format!(
        "</g><g id=\"upper\"><circle cx=\"60\" cy=\"60\" r=\"30\" fill=\"none\" stroke=\"{CUT}\"/>\n<circle cx=\"60\" cy=\"40\" r=\"6\" fill=\"none\" stroke=\"{CUT}\"/></g></svg>"
    )
}

const HEAD: &str = "width=\"120mm\" height=\"120mm\" viewBox=\"0 0 120 120\"";

#[test]
fn live_text_on_a_ring_becomes_its_labels() {
    for (turn, facing) in
        [(0.0, ""), (180.0, "; facing inward"), (90.0, "; facing clockwise"), (-90.0, "; facing anticlockwise")]
    {
        let adopted = read(&lettered(HEAD, &["Fog", "Calm", "3", "Gale", "Snow"], turn));
        let ring = format!("labels [\"Fog\", \"Calm\", 3, \"Gale\", \"Snow\"]; radius 20mm; height 5mm{facing}");
        let lines: Vec<&str> = adopted.text.lines().map(str::trim).collect();
        assert!(lines.join("; ").contains(&ring), "{ring}: {}", adopted.text);
        assert!(adopted.text.contains("layer lower of birch") && adopted.text.contains("layer upper of birch"));
        assert!(adopted.text.contains("reads readings through peep"), "{}", adopted.text);
    }
    // What it reads at its stops is what was drawn.
    let adopted = read(&lettered(HEAD, &["0", "1", "2", "3", "4", "5"], 0.0));
    let project = MemoryProject::default().with("tried.dial", adopted.text.as_str());
    let analysis = analyse(&project, "tried.dial", "", &Request::default()).unwrap();
    let shown = analysis.dials[0].audit.reading_check.shows("peep").unwrap();
    let shown: Vec<String> = shown.into_iter().map(|label| label.to_string()).collect();
    assert_eq!(shown, ["0", "1", "2", "3", "4", "5"], "{}", adopted.text);
    assert!(!analysis.has_errors(), "{:?}", analysis.findings);
}

#[test]
fn what_is_not_understood_stays_as_artwork() {
    let blob = "<path d=\"M60 50 C70 50 66 58 72 61 C64 63 66 70 60 72 C54 66 50 64 52 58 Z M58 58 L62 58 L60 62 Z\"/>";
    let drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" {HEAD}><circle cx=\"60\" cy=\"60\" r=\"30\" fill=\"none\" stroke=\"{CUT}\"/>{blob}</svg>"
    );
    let adopted = read(&drawing);
    assert!(adopted.text.contains("// Not understood, and kept as it was drawn: 1 filled area."), "{}", adopted.text);
    assert!(
        adopted.text.contains("engrave art(\"tried-art.svg\", part: \"layer_1\", in_place: true)"),
        "{}",
        adopted.text
    );
    let art = adopted.art.expect("it is kept");
    // Where it was drawn: 10 mm above the axis to 12 mm below it, by the second reader of drawings.
    let ink = dialwright::artwork::art_from_svg(art.as_bytes(), Some("layer_1")).unwrap().in_place(None).unwrap();
    let bounds = ink.ink.bounds().unwrap();
    assert!((bounds.y1 - 10.0).abs() < 0.01 && (bounds.y0 + 12.0).abs() < 0.01, "{bounds:?}");
}

#[test]
fn colours_mean_what_the_maker_says() {
    let drawing = lettered(HEAD, &["1", "2", "3"], 0.0).replace(CUT, "#0000ff");
    let refused = adopt(drawing.as_bytes(), &wanted(), &MemoryProject::default(), "tried.dial").unwrap_err();
    assert!(matches!(&refused, Refused::NoOutline { works, .. } if works[0].work == Work::Score), "{refused:?}");
    let wanted = Wanted { works: vec![([0, 0, 0xff], Work::Cut)], ..wanted() };
    let adopted = adopt(drawing.as_bytes(), &wanted, &MemoryProject::default(), "tried.dial").unwrap();
    assert_eq!((adopted.layers, adopted.works[0].is_given), (2, true));
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_dialwright")).current_dir(folder).arg("adopt").args(arguments).output().unwrap()
}

#[test]
fn each_mistake_is_answered_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    let sound = lettered(HEAD, &["1", "2", "3"], 0.0);
    put("sound.svg", &sound);
    put("unsized.svg", &sound.replace(HEAD, "viewBox=\"0 0 120 120\""));
    put("empty.svg", &format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {HEAD}/>"));
    put("not.svg", "dial \"Not a drawing\"\n");
    put(
        "open.svg",
        &format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" {HEAD}><path d=\"M9 9 H90 V90 H9 V12\" fill=\"none\" stroke=\"{CUT}\"/></svg>"
        ),
    );
    put("mine.dial", "mine");
    put("art-art.svg", "mine");
    for (arguments, says) in [
        (
            &["unsized.svg", "new.dial"][..],
            "does not say how large it is: write how long one of its units is, for instance `--unit 1mm`",
        ),
        (&["empty.svg", "new.dial"], "nothing is drawn in `empty.svg`"),
        (&["not.svg", "new.dial"], "it is no SVG file"),
        (&["open.svg", "new.dial"], "the ends of a line that is cut are 3mm apart: close it"),
        (&["missing.svg", "new.dial"], "there is no file `missing.svg`"),
        (&["sound.svg", "mine.dial"], "is there already and stays as it is"),
        (&["sound.svg", "art.dial"], "`art-art.svg` is there already and stays as it is"),
        (&["sound.svg", "new.svg"], "a dial is a file that ends in `.dial`: write `new.dial`"),
        (&["sound.svg", "new.dial", "--work", "red cut"], "write a colour and what it is burnt as"),
        (&["sound.svg", "new.dial", "--stock", "oak"], "there is no stock `oak`: the shop has"),
        (&["sound.svg", "new.dial", "--laid-over", "over.txt"], "end its name in .svg or .png"),
    ] {
        let output = run(folder.path(), arguments);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(says), "{arguments:?}: {said}");
        assert!(!folder.path().join("new.dial").exists(), "{arguments:?}");
    }
    assert_eq!(fs::read_to_string(folder.path().join("mine.dial")).unwrap(), "mine");
    let output = run(folder.path(), &["unsized.svg", "new.dial", "--unit", "1mm", "--laid-over", "over.png"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(folder.path().join("new.dial").exists() && folder.path().join("over.png").exists(), "{said}");
    assert!(said.contains("written    new.dial") && said.contains("laid over  within "), "{said}");
}
