//! Rings and text round the axis against closed forms, through the language.

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::design::{Design, Shape};
use dialwright::diagnostics::{Finding, Style, as_text};
use dialwright::lettering::Typeface;
use dialwright::project::{MemoryProject, Project, ReadProblem};
use kurbo::{BezPath, ParamCurve, Point};

/// What is promised of every point of a label, in mm.
const WITHIN: f64 = 2e-3;

fn analysed(base: &str) -> Analysis {
    let text = format!(
        "dial \"Rings\"\noutline circle(diameter: 120mm)\nlayer base of birch {{\n{base}\n}}\nlayer cover of birch {{ }}\n\
         stack {{ base; turn on magnets(disc) {{ stops 6 }}; cover }}\n"
    );
    let project = MemoryProject::default().with("rings.dial", text);
    analyse(&project, "rings.dial", "", &Request::default()).unwrap()
}

fn design(base: &str) -> Design {
    let analysis = analysed(base);
    let said = as_text(&analysis.findings, &analysis.sources, Style::Plain);
    assert!(!analysis.has_errors(), "{said}");
    analysis.dials.into_iter().next().unwrap().design
}

/// The points of a path at the ends and in the middle of every curve.
fn points(path: &BezPath) -> Vec<Point> {
    path.segments().flat_map(|segment| [segment.start(), segment.eval(0.5)]).collect()
}

/// A point of a label about its own centre, where it comes to stand: turned clockwise by `turned`, then moved out to
/// `radius` at `bearing`, both in degrees. By hand: x' = x cos a + y sin a + r sin b, y' = y cos a - x sin a + r cos b.
fn placed(point: Point, radius: f64, bearing: f64, turned: f64) -> Point {
    let ((sin, cos), (out, up)) = (turned.to_radians().sin_cos(), bearing.to_radians().sin_cos());
    Point::new(point.x * cos + point.y * sin + radius * out, point.y * cos - point.x * sin + radius * up)
}

/// A text about its own centre, as the font draws it: capitals `height` mm high, the ink centred sideways.
fn straight(text: &str, height: f64) -> Vec<Point> {
    let face = Typeface::embedded();
    let scale = height / 1493.0;
    let (mut pen, mut all) = (0.0, Vec::new());
    for glyph in face.shape(text, true).unwrap() {
        all.extend(
            points(&face.outline(glyph.id).unwrap()).into_iter().map(|p| Point::new((p.x + pen) * scale, p.y * scale)),
        );
        pen += glyph.advance;
    }
    let left = all.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    let right = all.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
    all.iter().map(|p| Point::new(p.x - (left + right) / 2.0, p.y - height / 2.0)).collect()
}

/// Every point of `wanted` lies on a point of `found`.
fn assert_same(found: &BezPath, wanted: &[Point], what: &str) {
    let found = points(found);
    for point in wanted {
        let nearest = found.iter().map(|other| other.distance(*point)).fold(f64::INFINITY, f64::min);
        assert!(nearest < WITHIN, "{what}: {point:?} is {nearest} mm off");
    }
}

#[test]
fn labels_stand_where_the_closed_form_puts_them() {
    for (facing, turned) in
        [("outward", 0.0), ("inward", 180.0), ("clockwise", 90.0), ("anticlockwise", -90.0), ("upright", f64::NAN)]
    {
        let design = design(&format!(
            "engrave ring r {{ labels [\"H\", \"E\", \"HT\", \"4\"]; radius 37mm; height 7mm; facing {facing}; first 25deg }}"
        ));
        let ring = &design.ring("r").unwrap().1;
        for (at, (label, text)) in ring.labels.iter().zip(["H", "E", "HT", "4"]).enumerate() {
            let bearing = 25.0 + 90.0 * at as f64;
            let turned = if turned.is_nan() { 0.0 } else { bearing + turned };
            let wanted: Vec<Point> =
                straight(text, 7.0).into_iter().map(|p| placed(p, 37.0, bearing, turned)).collect();
            assert_same(label.ink.path(), &wanted, facing);
        }
    }
}

#[test]
fn each_label_has_its_own_height_and_tilt() {
    let design = design(
        "engrave ring r { labels [\"H\", 4, text(\"E\", height: 9mm)]; radius 30mm; height [8mm, 5mm, 3mm]; tilt [0deg, 90deg, -30deg] }",
    );
    let ring = &design.ring("r").unwrap().1;
    let heights: Vec<f64> = ring.labels.iter().map(|label| label.height.as_mm()).collect();
    assert!((heights[0] - 8.0).abs() < 1e-9 && (heights[1] - 5.0).abs() < 1e-9, "{heights:?}");
    for (at, (text, height, tilt)) in [("H", 8.0, 0.0), ("4", 5.0, 90.0), ("E", 9.0, -30.0)].into_iter().enumerate() {
        let bearing = 120.0 * at as f64;
        let wanted: Vec<Point> =
            straight(text, height).into_iter().map(|p| placed(p, 30.0, bearing, bearing + tilt)).collect();
        assert_same(ring.labels[at].ink.path(), &wanted, text);
    }
}

#[test]
fn letters_of_a_curved_label_stand_square_to_their_radii() {
    let design = design("engrave ring r { labels [\"HEH\", \"H\"]; radius 40mm; height 6mm; curved }");
    let ring = &design.ring("r").unwrap().1;
    let face = Typeface::embedded();
    let scale = 6.0 / 1493.0;
    let glyphs = face.shape("HEH", false).unwrap();
    let outlines: Vec<Vec<Point>> = glyphs.iter().map(|glyph| points(&face.outline(glyph.id).unwrap())).collect();
    let mut pens = vec![0.0];
    glyphs.iter().for_each(|glyph| pens.push(pens[pens.len() - 1] + glyph.advance));
    let left = outlines[0].iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    let right = outlines[2].iter().map(|p| p.x).fold(0.0, f64::max) + pens[2];
    for (at, outline) in outlines.iter().enumerate() {
        let middle = (pens[at] + pens[at + 1]) / 2.0;
        let bearing = ((middle - (left + right) / 2.0) * scale / 40.0).to_degrees();
        let about = outline.iter().map(|p| Point::new((p.x + pens[at] - middle) * scale, p.y * scale - 3.0));
        let wanted: Vec<Point> = about.map(|p| placed(p, 40.0, bearing, bearing)).collect();
        assert_same(ring.labels[0].ink.path(), &wanted, "curved");
    }
}

#[test]
fn ticks_divide_the_gaps_evenly() {
    let design =
        design("engrave ring r { labels 1 to 5; radius 30mm; height 6mm; ticks 3; tick 2mm by 0.5mm; ticks_at 34mm }");
    let base = design.layer("base").unwrap().1;
    let Shape::Region(ticks) = &base.marks.iter().find(|mark| mark.origin == base.rings[0].origin).unwrap().shape
    else {
        panic!("ticks are regions")
    };
    assert_eq!(ticks.contours().len(), 15);
    assert!((ticks.area() - 15.0 * 2.0 * 0.5).abs() < 1e-6);
    for at in 0..15 {
        let bearing = 72.0 * f64::from(at / 3) + 18.0 * f64::from(at % 3 + 1);
        let corners = [(-0.25, -1.0), (0.25, -1.0), (0.25, 1.0), (-0.25, 1.0)];
        let wanted: Vec<Point> = corners.map(|corner| placed(corner.into(), 34.0, bearing, bearing)).to_vec();
        assert_same(ticks.path(), &wanted, "tick");
    }
}

#[test]
fn uneven_labels_have_no_ticks_from_the_last_to_the_first() {
    let design =
        design("engrave ring r { labels [1, 2, 5]; bearings [0deg, 40deg, 130deg]; radius 30mm; height 6mm; ticks 2 }");
    let base = design.layer("base").unwrap().1;
    let Some(Shape::Region(ticks)) = base
        .marks
        .iter()
        .map(|mark| &mark.shape)
        .find(|shape| matches!(shape, Shape::Region(region) if region.contours().len() == 4))
    else {
        panic!("four ticks")
    };
    for bearing in [40.0 / 3.0, 80.0 / 3.0, 70.0, 100.0] {
        assert!(ticks.contains(placed(Point::ZERO, 30.0, bearing, 0.0)), "{bearing}");
    }
}

#[test]
fn text_round_the_axis_stands_at_the_top_and_is_turned_from_there() {
    let design = design(
        "engrave a = text(\"HEH\", height: 6mm, around: 40mm)\nengrave b = text(\"HEH\", height: 6mm, around: 40mm) turned 90deg\n\
         engrave c = text(\"HEH\\nHEH\", height: 4mm, around: 40mm, spacing: 2, facing: \"inward\") turned 180deg",
    );
    let region = |name: &str| match &design.mark(name).unwrap().1.shape {
        Shape::Region(region) => region.clone(),
        Shape::Trace(_) => panic!("a region"),
    };
    let (a, b, c) = (region("a").bounds().unwrap(), region("b").bounds().unwrap(), region("c").bounds().unwrap());
    assert!(a.center().x.abs() < 1e-9 && (b.center().x - a.center().y).abs() < 1e-9 && b.center().y.abs() < 1e-9);
    // Two lines 8 mm apart about 40 mm: capitals from 34 to 38 mm and from 42 to 46 mm out, the lower line farther out.
    assert!((c.y0 + 46.0).abs() < 0.2 && c.y1 < -33.0, "{c:?}");
}

/// A machine with one typeface.
struct Machine(MemoryProject);

impl Project for Machine {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        self.0.read(name, limit)
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        (family == "Harbour Sans").then(|| (dejavu::serif::bold().to_vec(), 0))
    }

    fn installed_typeface_with(&self, characters: &[char]) -> Option<String> {
        (characters == ['水']).then(|| "Harbour Han".to_owned())
    }
}

#[test]
fn what_rests_on_the_machine_says_so() {
    let file = |line: &str| {
        let text = format!(
            "dial \"Machine\"\noutline circle(diameter: 60mm)\nlayer base of birch {{ {line} }}\nlayer cover of birch {{ }}\n\
             stack {{ base; turn on magnets(disc) {{ stops 6 }}; cover }}\n"
        );
        let project = Machine(MemoryProject::default().with("machine.dial", text));
        let analysis = analyse(&project, "machine.dial", "", &Request::default()).unwrap();
        as_text(&analysis.findings, &analysis.sources, Style::Plain)
    };
    let installed = file("engrave text(\"OAK\", height: 5mm, typeface: \"Harbour Sans\") at (0mm, 20mm)");
    assert!(installed.contains("advice: system-typeface"), "{installed}");
    assert!(
        installed.contains("all lettering in `Harbour Sans` rests on the font that is installed here"),
        "{installed}"
    );
    let built_in = file("engrave text(\"OAK\", height: 5mm, typeface: \"DejaVu Serif Bold\") at (0mm, 20mm)");
    assert!(!built_in.contains("system-typeface"), "{built_in}");
    let missing = file("engrave text(\"水\", height: 5mm) at (0mm, 20mm)");
    assert!(missing.contains("Harbour Han"), "{missing}");
}

#[test]
fn a_stencil_leaves_no_island_of_material() {
    let design = design(
        "let all = text(\"ABDOPQR\\n4689 &@%\\nabdegopq\", height: 8mm) at (0mm, 28mm)\nhole s = stencil(all, bridge: 0.6mm)\nengrave t = all",
    );
    let regions: Vec<_> = ["s", "t"]
        .map(|name| match &design.mark(name).unwrap().1.shape {
            Shape::Region(region) => region.clone(),
            Shape::Trace(_) => panic!("a region"),
        })
        .to_vec();
    assert!(regions[1].holes().len() > 20);
    assert_eq!(regions[0].holes().len(), 0);
    // What is left of the letters is the letters, less bars: nothing is added, and little is lost.
    assert!(regions[0].difference(&regions[1]).area() < 1e-2);
    assert!(regions[0].area() > 0.75 * regions[1].area());
}

/// Only bare numbers among labels lose zeros that anyone could have wanted to see.
#[test]
fn zeros_that_nobody_misses_are_not_spoken_of() {
    for ring in [
        "labels 0 to 50 by 5",
        "labels 0 to 50 by 05",
        "labels [\"00\", \"05\"]",
        "labels [0.5, 10, 100]",
        "labels 1 to 6; height 03mm; first 010deg",
    ] {
        let found = analysed(&format!("engrave ring r {{ {ring}; radius 40mm }}")).findings;
        assert!(found.iter().all(|found| found.finding != Finding::LeadingZero), "{ring}");
    }
    let found = analysed("engrave ring r { labels [0, 05]; radius 40mm }").findings;
    assert!(found.iter().any(|found| found.finding == Finding::LeadingZero));
}

/// 6 and 9 change places only where one of them can be met upside down, by the bearings of the closed form.
#[test]
fn labels_that_change_places_are_told_of_only_where_they_stand_upside_down() {
    let hand = "outline circle(diameter: 50mm) engrave arrow = polygon(sides: 3, side: 6mm) at polar(18mm, 0deg)";
    let peep = "window peep = circle(diameter: 18mm) at polar(40mm, 0deg)";
    let below = "window peep = circle(diameter: 18mm) at polar(40mm, 180deg)";
    let cases = [
        (true, "labels [3, 6, 9, 12, 15, 18]; facing outward", hand, "beside arrow"),
        (true, "labels [3, 6, 9, 12, 15, 18]; facing inward", hand, "beside arrow"),
        (false, "labels [3, 6, 9, 12, 15, 18]; facing upright", hand, "beside arrow"),
        (false, "labels [3, \"6.\", \"9.\", 12, 15, 18]; facing outward", hand, "beside arrow"),
        (
            false,
            "labels [9, 6, 3, 12, 15, 18]; bearings [0deg, 20deg, 80deg, 140deg, 200deg, 260deg]; facing outward",
            hand,
            "beside arrow",
        ),
        (false, "labels [6, 6, 3, 12, 15, 18]; facing outward", hand, "beside arrow"),
        (false, "labels [3, 6, 9, 12, 15, 18]; facing outward", peep, "through peep"),
        (true, "labels [3, 6, 9, 12, 15, 18]; facing outward", below, "through peep"),
        (false, "labels [3, 6, 9, 12, 15, 18]; facing inward", below, "through peep"),
    ];
    for (told, ring, over, read) in cases {
        let text = format!(
            "dial \"Rings\"\noutline circle(diameter: 120mm)\nlayer base of birch {{\n\
             engrave ring r {{ {ring}; radius 40mm; height 6mm }}\n}}\nlayer cover of birch {{ {over} }}\n\
             stack {{ base; turn on magnets(disc) {{ stops 6 }}; cover }}\nreads r {read}\n",
            over = over.replacen(" engrave", "\nengrave", 1)
        );
        let project = MemoryProject::default().with("rings.dial", text);
        let analysis = analyse(&project, "rings.dial", "", &Request::default()).unwrap();
        let said = as_text(&analysis.findings, &analysis.sources, Style::Plain);
        assert!(!analysis.has_errors() || ring.contains("bearings"), "{said}");
        let found = analysis.findings.iter().any(|found| found.finding == Finding::UpsideDownTwin);
        assert_eq!(found, told, "{ring} {read}: {said}");
    }
}

/// What is found in a dial of a ring on the base under a cover, by name, each with its message.
fn found_under(ring: &str, cover: &str, reads: &str) -> (Analysis, Vec<(Finding, String)>) {
    let text = format!(
        "dial \"Rings\"\noutline circle(diameter: 120mm)\nlayer base of birch {{\n{ring}\n}}\n\
         layer cover of birch {{\n{cover}\n}}\nstack {{ base; turn on magnets(disc); cover }}\n{reads}\n"
    );
    let analysis = analyse(&MemoryProject::default().with("rings.dial", text), "rings.dial", "", &Request::default());
    let analysis = analysis.unwrap();
    let found = analysis.findings.iter().map(|one| (one.finding, one.message.clone())).collect();
    (analysis, found)
}

/// A label that faces outward is turned by its opening's bearing, wherever its ring is turned; the other facings add theirs.
#[test]
fn readings_stand_as_the_closed_form_says() {
    for bearing in [0.0, 40.0, 90.0, 180.0, 250.0] {
        for (facing, more) in [("outward", 0.0), ("inward", 180.0), ("clockwise", 90.0), ("anticlockwise", -90.0)] {
            let ring = format!("engrave ring r {{ labels 1 to 8; radius 40mm; height 5mm; facing {facing} }}");
            let cover = format!("window peep = circle(diameter: 18mm) at polar(40mm, {bearing}deg)");
            let (analysis, found) = found_under(&ring, &cover, "reads r through peep");
            let wanted = (bearing + more + 180.0_f64).rem_euclid(360.0) - 180.0;
            for stop in &analysis.dials[0].audit.reading_check.readings[0].stops {
                let off = (stop.stands.unwrap().as_degrees() - wanted).rem_euclid(360.0);
                // An automatic bearing is that of the middle of the box round the opening's curves.
                assert!(!(1e-4..=360.0 - 1e-4).contains(&off), "{bearing} {facing}: {:?}", stop.stands);
            }
            let told = found.iter().any(|(name, _)| *name == Finding::NotUpright);
            assert_eq!(told, wanted.abs() > 60.0, "{bearing} {facing}: {found:?}");
        }
    }
}

/// What shows how a dial is held makes a warning of what is advice alone; lettering that leans with the labels takes it away.
#[test]
fn lettering_and_other_rings_tell_which_way_up_a_dial_is_held() {
    use dialwright::diagnostics::Severity::{Advice, Warning};
    let outer = "engrave ring r { labels 1 to 8; radius 40mm; height 5mm }";
    let two = "engrave ring r { labels 1 to 8; radius 40mm; height 5mm }\n\
               engrave ring s { labels 1 to 8; radius 22mm; height 5mm; first 180deg }";
    let peep = "window peep = circle(diameter: 18mm) at polar(40mm, 180deg)";
    let word = |turned: &str| format!("{peep}\nengrave text(\"CREW\", height: 5mm){turned}");
    let both = "window peep = circle(diameter: 18mm) at polar(40mm, 0deg)\n\
                window hole = circle(diameter: 12mm) at polar(22mm, 180deg)";
    let one = "reads r through peep";
    for (ring, cover, reads, wanted) in [
        (outer, peep.to_owned(), one, Some(Advice)),
        (outer, word(""), one, Some(Warning)),
        (outer, word(" turned 20deg"), one, Some(Warning)),
        (outer, word(" turned 180deg"), one, None),
        (outer, word(" turned 160deg"), one, None),
        (two, both.to_owned(), "reads r through peep\nreads s through hole", Some(Warning)),
    ] {
        let (analysis, found) = found_under(ring, &cover, reads);
        let told = analysis.findings.iter().find(|found| found.finding == Finding::NotUpright);
        assert_eq!(told.map(|found| found.severity), wanted, "{cover}: {found:?}");
    }
}

/// One label at two stops is told of where no other ring tells the stops apart.
#[test]
fn stops_that_read_alike_are_told_of() {
    let peep = "window peep = circle(diameter: 24mm) at polar(40mm, 0deg)";
    let both = "window peep = circle(diameter: 18mm) at polar(40mm, 0deg)\n\
                window hole = circle(diameter: 12mm) at polar(20mm, 0deg)";
    let tide = "engrave ring r { labels [\"Ebb\", \"Slack\", \"Flood\", \"Slack\"]; radius 40mm; height 5mm }";
    let hour = "engrave ring s { labels [3, 6, 8, 12]; radius 20mm; height 5mm }";
    let one = "reads r through peep";
    for (ring, cover, reads, wanted) in [
        (tide.to_owned(), peep, one, true),
        (tide.replacen("Slack", "Calm", 1), peep, one, false),
        (format!("{tide}\n{hour}"), both, "reads r through peep\nreads s through hole", false),
        (
            format!("{tide}\n{}", hour.replace('8', "6").replace("12", "6")),
            both,
            "reads r through peep\nreads s through hole",
            true,
        ),
    ] {
        let (_, found) = found_under(&ring, cover, reads);
        let told = found.iter().any(|(name, _)| *name == Finding::StopsAlike);
        assert_eq!(told, wanted, "{ring}: {found:?}");
    }
}

/// An opening that runs off the rim shows labels no farther out than the rim: the ring stands in the middle of what is left.
#[test]
fn a_ring_stands_within_the_rim() {
    // From 45 to 65 mm out, on a disc of 60: the middle is 52.5 mm out.
    let cover = "window peep = rectangle(width: 16mm, height: 20mm) at polar(55mm, 0deg)";
    let (analysis, _) = found_under("engrave ring r { labels 1 to 8 }", cover, "reads r through peep");
    let ring = &analysis.dials[0].design.layers[0].rings[0];
    assert!((ring.radius.as_mm() - 52.5).abs() < 1e-3, "{}", ring.radius);
    for label in &ring.labels {
        let reach = points(label.ink.path()).into_iter().map(|point| point.to_vec2().hypot()).fold(0.0, f64::max);
        assert!(reach < 60.0 - 1.2 + 0.01, "{reach}");
    }
}

/// A ring on a back is read from behind, through what lies beneath it.
#[test]
fn a_back_is_read_through_the_layer_beneath() {
    let text = "dial \"Back\"\noutline circle(diameter: 60mm)\n\
        layer plate of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }\n\
        layer disc of birch { back engrave ring points { labels 0 to 9 } }\n\
        stack { plate; turn on magnets(disc); disc }\nreads points through peep\n"
        .replace("layer disc", "layer upper")
        .replace("; disc }", "; upper }");
    let analysis = analyse(&MemoryProject::default().with("b.dial", text), "b.dial", "", &Request::default()).unwrap();
    assert!(!analysis.has_errors(), "{:?}", analysis.findings);
    let check = &analysis.dials[0].audit.reading_check;
    assert!(check.reads() && check.shows("peep").unwrap() == ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"]);
    assert!(check.readings[0].stops.iter().all(|stop| stop.stands.unwrap().as_degrees() == 0.0));
}

/// A dial that is read on both sides, with `runs` in the ring behind and more at the end of the file.
fn both_sides(runs: &str, more: &str) -> dialwright::analysis::Analysis {
    let text = format!(
        "dial \"Both\"\noutline circle(diameter: 66mm)\nlayer base of birch {{\n  \
        engrave ring tide {{ labels 1 to 8; radius 24mm; height 5mm }}\n  \
        window hatch = circle(diameter: 11mm) at polar(14mm, 0deg)\n}}\nlayer cover of birch {{\n  \
        window eye = circle(diameter: 12mm) at polar(24mm, 0deg)\n  \
        back engrave ring toll {{ labels [0, 1, 1, 2, 3, 5, 8, 13]; height 4mm{runs} }}\n}}\n\
        stack {{ base; turn on magnets(disc); cover }}\nreads tide through eye\nreads toll through hatch\n{more}"
    );
    analyse(&MemoryProject::default().with("b.dial", text), "b.dial", "", &Request::default()).unwrap()
}

/// By hand: the hatch is cut below the turn, so at stop k it looks at the bearing -45k of the ring above.
#[test]
fn a_ring_behind_stands_in_the_order_of_the_stops_unless_it_is_laid_the_other_way() {
    let tolls = ["0", "1", "1", "2", "3", "5", "8", "13"];
    let mut back = tolls;
    back[1..].reverse();
    for (runs, wanted) in [("", tolls), ("; runs anticlockwise", tolls), ("; runs clockwise", back)] {
        let analysis = both_sides(runs, "");
        assert!(!analysis.has_errors(), "{:?}", analysis.findings);
        let check = &analysis.dials[0].audit.reading_check;
        assert!(check.reads(), "{runs}");
        assert_eq!(check.shows("hatch").unwrap(), wanted, "{runs}");
        assert_eq!(check.shows("eye").unwrap(), ["1", "2", "3", "4", "5", "6", "7", "8"]);
    }
}

/// The advice is given where rings count against each other, its mend silences it, and so does an expectation that states it.
#[test]
fn rings_that_count_against_each_other_are_told_of() {
    let told = |runs: &str, more: &str| {
        let found = both_sides(runs, more).findings;
        found.iter().find(|one| one.finding.name() == "rings-run-apart").map(|one| one.help.clone().unwrap_or_default())
    };
    let help = told("; runs clockwise", "").unwrap();
    assert!(help.starts_with("write `runs anticlockwise` in the ring `toll`"), "{help}");
    let stated = "expect shows(hatch) is [0, 13, 8, 5, 3, 2, 1, 1]\n";
    for (runs, more) in [("", ""), ("; runs anticlockwise", ""), ("; runs clockwise", stated)] {
        assert_eq!(told(runs, more), None, "{runs} {more}");
    }
}

/// Words along the ring, in an opening between 18 and 26 mm out and 16 or 30 degrees to either side: how far a point is from its four
/// edges, by hand. The nearest of all is as near as `clear_opening` allows, and none is nearer.
#[test]
fn bent_labels_are_as_tall_as_their_opening_allows() {
    for (sweep, words) in
        [(16.0, r#""North", "South", "East", "West""#), (30.0, r#""Northwards", "Southbound", "Westering""#)]
    {
        let text = format!(
            "dial \"Rings\"\noutline circle(diameter: 60mm)\nlayer base of birch {{ engrave ring wind {{ labels [{words}]; curved }} }}\n\
             layer cover of birch {{ window eye = sector(radius: 26mm, inner: 18mm, from: -{sweep}deg, to: {sweep}deg) }}\n\
             stack {{ base; turn on magnets(disc); cover }}\nreads wind through eye\n"
        );
        let project = MemoryProject::default().with("rings.dial", text);
        let analysis = analyse(&project, "rings.dial", "", &Request::default()).unwrap();
        let design = &analysis.dials[0].design;
        let clear = |point: Point, bearing: f64| {
            let (out, round) = (point.to_vec2().hypot(), point.x.atan2(point.y) - bearing.to_radians());
            let round = (round + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
            (out - 18.0).min(26.0 - out).min(out * (f64::to_radians(sweep) - round.abs()).sin())
        };
        let labels = &design.ring("wind").unwrap().1.labels;
        let each = labels.iter().map(|label| {
            let room = points(label.ink.path()).into_iter().map(|point| clear(point, label.bearing.as_degrees()));
            room.fold(f64::INFINITY, f64::min)
        });
        let least = each.fold(f64::INFINITY, f64::min);
        // Heights go by the hundredth, and a word four times as long as it is high grows sideways by twice that.
        assert!((1.2 - WITHIN..1.2 + 0.04).contains(&least), "{sweep}: {least}");
        assert!(!analysis.findings.iter().any(|found| found.finding == Finding::LabelNearOpening));
    }
}
