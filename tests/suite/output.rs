//! The outputs, read back by general-purpose libraries: usvg 0.49, jsonschema 0.61, svg 0.18's own reader.

use dialwright::design::{Design, Face, FlipChoice, Ink, Palette, Shape, Work};
use dialwright::geometry::{Region, Trace};
use dialwright::output::{OutputFile, files, svg::drawing};
use dialwright::plan::{Effort, OutlineCache, plan, plan_with};
use dialwright::quote::quote;
use kurbo::{Affine, BezPath, ParamCurve as _, Shape as _};
use serde_json::Value;

use super::designs::boards::*;
use super::overlap::{Chords, shared_area};

fn built(design: &Design) -> Vec<OutputFile> {
    let (plan, problems) = plan(design);
    let plan = plan.unwrap_or_else(|| panic!("{problems:?}"));
    files(design, &dialwright::audit::audit(design), (&plan, &quote(design, &plan)), &sources())
}

fn text(files: &[OutputFile], name: &str) -> String {
    let file = files.iter().find(|it| it.name == name).unwrap_or_else(|| panic!("no {name}"));
    String::from_utf8(file.bytes.clone()).unwrap()
}

fn operations(design: &Design) -> Value {
    serde_json::from_str(&text(&built(design), "operations.json")).unwrap()
}

/// A design with every kind of operation, on a board small enough for usvg's 32-bit numbers: 2 µm is then
/// some thirty of their steps.
fn everything() -> Design {
    let mut design = two_layers(1);
    for layer in &mut design.layers {
        layer.stock.board = (mm(140.0), mm(72.0));
    }
    let cover = &mut design.layers[1];
    let pale =
        Work::Engrave { tone: 0.6, depth: Some(mm(0.2)), ink: Some(Ink { name: "white".to_owned(), colour: None }) };
    cover.marks.push(named("moon", mark(Face::Back, pale, disc_at(6.0, -12.0, 5.0), 10)));
    let line = Trace::from_path(BezPath::from_svg("M-10,-12 L10,-12").unwrap());
    let mut score = mark(Face::Back, Work::Score, disc(1.0), 11);
    score.shape = Shape::Trace(line);
    cover.marks.push(score);
    design
}

/// Every path below the group of this id, in mm with y down, by usvg.
fn read_back(svg: &str, id: &str) -> Vec<BezPath> {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).unwrap();
    let mut found = Vec::new();
    collect(tree.root(), id, false, &mut found);
    found
}

fn collect(group: &usvg::Group, id: &str, inside: bool, found: &mut Vec<BezPath>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(below) => collect(below, id, inside || below.id() == id, found),
            usvg::Node::Path(path) if inside => found.push(in_mm(path)),
            _ => {}
        }
    }
}

/// CSS: a pixel is 1/96 in, and 1 in = 25.4 mm.
fn in_mm(path: &usvg::Path) -> BezPath {
    use usvg::tiny_skia_path::PathSegment;
    let t = path.abs_transform();
    let of = |v: f32| f64::from(v);
    let map = Affine::scale(25.4 / 96.0) * Affine::new([of(t.sx), of(t.ky), of(t.kx), of(t.sy), of(t.tx), of(t.ty)]);
    let point = |p: usvg::tiny_skia_path::Point| kurbo::Point::new(of(p.x), of(p.y));
    let mut out = BezPath::new();
    for segment in path.data().segments() {
        match segment {
            PathSegment::MoveTo(to) => out.move_to(point(to)),
            PathSegment::LineTo(to) => out.line_to(point(to)),
            PathSegment::QuadTo(by, to) => out.quad_to(point(by), point(to)),
            PathSegment::CubicTo(a, b, to) => out.curve_to(point(a), point(b), point(to)),
            PathSegment::Close => out.close_path(),
        }
    }
    map * out
}

fn area(paths: &[BezPath]) -> f64 {
    paths.iter().map(|path| path.area().abs()).sum()
}

fn assert_near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} is not {wanted} within {within}");
}

#[test]
fn a_drawing_reads_back_at_its_true_size() {
    let files = built(&everything());
    let front = text(&files, "board-1-setup-1.svg");
    let tree = usvg::Tree::from_str(&front, &usvg::Options::default()).unwrap();
    assert_near(f64::from(tree.size().width()), 140.0 / 25.4 * 96.0, 1e-3);
    let pi = std::f64::consts::PI;
    // Discs by closed form, kerf taken off (Steiner: A - P d + pi d²): two outlines of 60, an opening of 12 mm.
    let outlines = read_back(&front, "cut-outline");
    let perimeter: f64 = outlines.iter().map(|path| path.perimeter(1e-5)).sum();
    let finished = area(&outlines) - perimeter * 0.08 + 2.0 * pi * 0.08 * 0.08;
    assert_near(finished / (2.0 * pi * 900.0), 1.0, 1e-3);
    let opening = read_back(&front, "cut-opening").remove(0);
    let finished = opening.area().abs() + opening.perimeter(1e-5) * 0.08 + pi * 0.08 * 0.08;
    assert_near(finished / (pi * 36.0), 1.0, 1e-3);
    // Eight labels of 4 mm and an L of 8 by 12 mm, 3 mm thick.
    assert_near(area(&read_back(&front, "engrave")) / (8.0 * pi * 4.0 + 51.0), 1.0, 1e-3);
    assert_near(area(&read_back(&front, "pocket")) / (pi * 4.1 * 4.1), 1.0, 1e-3);
    assert_near(area(&read_back(&front, "construction")), 140.0 * 72.0, 0.05);
}

#[test]
fn boxes_read_back_within_two_micrometres() {
    let design = everything();
    let (plan, _) = plan(&design);
    let plan = plan.unwrap();
    let svg = drawing("any", &plan, 0, 0, &Palette::default());
    for (id, edge) in [("cut-outline", "outline"), ("cut-opening", "opening")] {
        let wanted: Vec<kurbo::Rect> = plan.boards[0].setups[0]
            .operations
            .iter()
            .filter(|it| format!("{:?}", it.kind).to_lowercase().contains(&format!("edge: {edge}")))
            .filter_map(|it| it.path().map(|path| path.bounding_box()))
            .collect();
        let got = read_back(&svg, id);
        assert_eq!(got.len(), wanted.len());
        for (got, wanted) in got.iter().zip(wanted) {
            let got = got.bounding_box();
            assert_near(got.x0, wanted.x0, 0.002);
            assert_near(got.x1, wanted.x1, 0.002);
            assert_near(got.y0, 72.0 - wanted.y1, 0.002);
            assert_near(got.y1, 72.0 - wanted.y0, 0.002);
        }
    }
}

#[test]
fn after_the_flip_the_pocket_stands_on_the_axis() {
    let files = built(&everything());
    let (front, back) = (text(&files, "board-1-setup-1.svg"), text(&files, "board-1-setup-2.svg"));
    // The cover's score of 8 mm stands on its axis, and so must the pocket on its back.
    let axis = read_back(&front, "score").remove(0).bounding_box().center();
    let pocket = read_back(&back, "pocket").remove(0).bounding_box().center();
    assert!(axis.distance(pocket) < 0.002, "{} mm off the axis", axis.distance(pocket));
    // The moon at (-12, 5) in the front frame stands right of the axis once turned about the upright line.
    let moon = read_back(&back, "engrave").remove(0).bounding_box().center() - axis;
    assert!((moon - kurbo::Vec2::new(12.0, -5.0)).hypot() < 0.002, "{moon:?}");
}

#[test]
fn an_l_on_the_back_lands_mirrored_in_the_drawing() {
    let mut body = layer("body", disc(60.0));
    body.stock.board = (mm(72.0), mm(72.0));
    body.marks.push(mark(Face::Front, engrave(), disc(4.0), 5));
    body.marks.push(mark(Face::Back, engrave(), letter_l().transformed(Affine::translate((5.0, 3.0))), 6));
    let files = built(&design(vec![body]));
    let axis = read_back(&text(&files, "board-1-setup-1.svg"), "engrave").remove(0).bounding_box().center();
    let letter = read_back(&text(&files, "board-1-setup-2.svg"), "engrave").remove(0);
    // Hand-reckoned, y down: its corner goes from (5, 3) to (-5, -3), its foot points left, its stem up.
    let bounds = letter.bounding_box() - axis.to_vec2();
    for (got, wanted) in [(bounds.x0, -13.0), (bounds.x1, -5.0), (bounds.y0, -15.0), (bounds.y1, -3.0)] {
        assert_near(got, wanted, 0.002);
    }
    assert!(letter.contains(axis + kurbo::Vec2::new(-6.5, -13.0)), "the stem stands right");
    assert!(!letter.contains(axis + kurbo::Vec2::new(-11.5, -13.0)));
}

#[test]
fn groups_are_named_and_coloured_and_ids_are_unique() {
    use svg::parser::Event;
    let svg = text(&built(&everything()), "board-1-setup-1.svg");
    let mut ids = Vec::new();
    let mut colours = Vec::new();
    for event in svg::read(&svg).unwrap() {
        if let Event::Tag("g", _, attributes) = event
            && let Some(id) = attributes.get("id")
        {
            ids.push(id.to_string());
            let colour = attributes.get("stroke").filter(|it| &***it != "none").or(attributes.get("fill"));
            colours.extend(colour.map(|colour| (id.to_string(), colour.to_string())));
        }
    }
    let mut apart = ids.clone();
    apart.sort();
    apart.dedup();
    assert_eq!(apart.len(), ids.len());
    assert!(ids.contains(&"cut-outline.cover-1".to_owned()), "{ids:?}");
    // Okabe and Ito, "Color universal design" (2008).
    let wanted = [
        ("construction", "#999999"),
        ("engrave", "#56b4e9"),
        ("score", "#009e73"),
        ("pocket", "#0072b2"),
        ("cut-opening", "#e69f00"),
        ("cut-outline", "#cc79a7"),
    ];
    assert_eq!(colours, wanted.map(|(id, colour)| (id.to_owned(), colour.to_owned())));
    assert!(!svg.contains("data-"), "no attribute that SVG 1.1 does not know");
}

/// What usvg sees of a drawing: each group's colours, and how wide its strokes are.
#[test]
fn drawings_are_as_the_shop_wants_them() {
    let project =
        dialwright::project::MemoryProject::default().with("it.dial", include_str!("../dials/29-drawing-habits.dial"));
    let request = dialwright::analysis::Request::default();
    let analysis = dialwright::analysis::analyse(&project, "it.dial", "", &request).unwrap();
    let dial = &analysis.dials[0];
    let files = files(&dial.design, &dial.audit, dial.made().unwrap(), &analysis.sources);
    let drawings: Vec<String> =
        files.iter().filter(|file| file.name.ends_with(".svg")).map(|file| text(&files, &file.name)).collect();
    let mut seen = std::collections::BTreeMap::new();
    for drawing in &drawings {
        let tree = usvg::Tree::from_str(drawing, &usvg::Options::default()).unwrap();
        assert!(tree.node_by_id("construction").is_none(), "what is not burnt is hidden");
        for kind in ["cut-outline", "cut-opening", "score", "engrave", "pocket"] {
            let Some(usvg::Node::Group(group)) = tree.node_by_id(kind) else { continue };
            colours(group, &mut |colour, width| {
                assert!(width.is_none_or(|width| (f64::from(width) * 25.4 / 96.0 - 0.01).abs() < 1e-6), "{width:?}");
                seen.entry(kind).or_insert_with(std::collections::BTreeSet::new).insert(colour);
            });
        }
    }
    let wanted = [
        ("cut-opening", (0xd0, 0, 0)),
        ("cut-outline", (0xd0, 0, 0)),
        ("engrave", (0, 0, 0)),
        ("pocket", (0, 0x80, 0)),
        ("score", (0, 0, 0xd0)),
    ];
    let seen: Vec<_> =
        seen.into_iter().map(|(kind, colours)| (kind, colours.into_iter().collect::<Vec<_>>())).collect();
    assert_eq!(seen, wanted.map(|(kind, colour)| (kind, vec![colour])));
    // What the drawings make is what it was: they are read back as any are.
    assert!(drawings.len() >= 2);
}

/// Tells of every path of a group its colour, and how wide it is stroked, in pixels of CSS.
fn colours(group: &usvg::Group, told: &mut impl FnMut((u8, u8, u8), Option<f32>)) {
    for node in group.children() {
        match node {
            usvg::Node::Group(below) => colours(below, told),
            usvg::Node::Path(path) => {
                let stroke = path.stroke();
                let paint = stroke.map(usvg::Stroke::paint).or(path.fill().map(usvg::Fill::paint));
                let Some(usvg::Paint::Color(colour)) = paint else { panic!("a path without a colour") };
                let scale = path.abs_transform().sx;
                told((colour.red, colour.green, colour.blue), stroke.map(|stroke| stroke.width().get() * scale));
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn a_pale_tone_is_a_lighter_solid_colour() {
    let back = text(&built(&everything()), "board-1-setup-2.svg");
    // 60 % of #56b4e9 on white: 255 - 0.6 (255 - part), by hand 9a d2 f2.
    assert!(back.contains("fill=\"#9ad2f2\""), "{back}");
    assert!(back.contains("moon, back, tone 60 %, depth 0.2mm"));
}

#[test]
fn odd_titles_are_escaped() {
    let mut design = two_layers(1);
    design.title = "Salt & <Fish> \"\u{1}\u{263a}\" ]]>".to_owned();
    design.layers[1].name = "víčko".to_owned();
    let svg = text(&built(&design), "board-1-setup-1.svg");
    let tree = usvg::Tree::from_str(&svg, &usvg::Options::default());
    assert!(tree.is_ok(), "{tree:?}");
    assert!(svg.contains("Salt &amp; &lt;Fish&gt;") && !svg.contains('\u{1}'));
    assert!(svg.contains("id=\"cut-outline.víčko-1\""));
}

fn schema() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/operations.schema.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn faults(list: &Value) -> Vec<String> {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    validator.iter_errors(list).map(|fault| format!("{}: {fault}", fault.instance_path())).collect()
}

/// Designs that between them take every way through the plan.
fn many() -> Vec<Design> {
    let crooked = || disc(50.0).union(&disc_at(14.0, 26.0, 6.0)).union(&disc_at(8.0, -4.0, -26.0));
    let two_faced = |outline: Region, flip: FlipChoice| {
        let mut body = layer("body", outline);
        body.marks.push(mark(Face::Front, engrave(), disc(4.0), 5));
        body.marks.push(mark(Face::Back, engrave(), letter_l(), 6));
        body.marks.push(mark(Face::Back, Work::Paint { colour: [1, 2, 3] }, disc(50.0), 7));
        body.flip = flip;
        design(vec![body])
    };
    let mut family = two_layers(8);
    family.variant = Some("pocket_size".to_owned());
    family.shop = Some("Bench by the window".to_owned());
    vec![
        everything(),
        family,
        two_faced(crooked(), FlipChoice::Chosen),
        two_faced(crooked(), FlipChoice::Board(at(8))),
        two_faced(disc(50.0), FlipChoice::About(dialwright::units::Angle::degrees(31.0), at(8))),
    ]
}

#[test]
fn the_operation_list_keeps_its_schema() {
    // JSON Schema draft 2020-12; the schema itself is checked against its meta-schema.
    assert!(jsonschema::meta::is_valid(&schema()));
    for design in many() {
        assert_eq!(faults(&operations(&design)), Vec::<String>::new());
    }
}

/// Every number is rounded to three decimals, as the schema says of lengths. It asks for no multiple of a thousandth: in binary
/// fractions 0.29 is none, so that validators that divide refuse it.
#[test]
fn numbers_have_three_decimals_at_most() {
    fn numbers(value: &Value, all: &mut Vec<String>) {
        match value {
            Value::Number(number) => all.push(number.to_string()),
            Value::Array(items) => items.iter().for_each(|item| numbers(item, all)),
            Value::Object(fields) => fields.values().for_each(|field| numbers(field, all)),
            _ => {}
        }
    }
    let mut all = Vec::new();
    many().iter().for_each(|design| numbers(&operations(design), &mut all));
    assert!(all.iter().any(|number| number.contains('.')));
    for number in all {
        assert!(
            number.split_once('.').is_none_or(|(_, decimals)| decimals.len() <= 3 && !decimals.contains('e')),
            "{number}"
        );
    }
    assert!(!schema().to_string().contains("\"multipleOf\":"));
}

#[test]
fn the_schema_refuses_what_it_must() {
    let good = operations(&everything());
    let first = "/boards/0/setups/0/operations/0";
    for (at, key, value) in [
        (first, "power", Value::from(40)),
        (first, "do", Value::from("burn")),
        (first, "path", Value::from(vec!["M0,0 L1,1"])),
        (first, "path", Value::from(vec!["M0.0001,0 L1,1 Z"])),
        ("/boards/0/parts/0", "dial", Value::from(0)),
        ("", "version", Value::from(0)),
        ("/designs/0", "power", Value::from(40)),
        ("/designs/0/layers/0", "thickness", Value::from(-1)),
    ] {
        let mut bad = good.clone();
        bad.pointer_mut(at).unwrap().as_object_mut().unwrap().insert(key.to_owned(), value);
        assert!(!faults(&bad).is_empty(), "{key} at {at}");
    }
}

#[test]
fn each_operation_leads_back_to_its_line() {
    let list = operations(&super::designs::made_by_passes(everything()));
    let all = list["boards"][0]["setups"][0]["operations"].as_array().unwrap();
    let opening = all.iter().find(|it| it["edge"] == "opening").unwrap();
    assert_eq!(opening["source"], serde_json::json!({ "file": "made-up.dial", "line": 6, "column": 1 }));
    assert_eq!(
        (&opening["name"], &opening["part"], &opening["face"]),
        (&"peep".into(), &"cover-1".into(), &"front".into())
    );
    assert_eq!((&opening["waste"], &opening["kerf_offset"]), (&"inside".into(), &0.08.into()));
    let pocket = all.iter().find(|it| it["do"] == "pocket").unwrap();
    assert_eq!(pocket["passes"], serde_json::json!({ "count": 4, "reach": 1.617, "within": 0.053 }));
    assert_eq!(list["summary"]["parts"], 2);
    let cautions = list["cautions"].to_string();
    assert!(cautions.contains("PVC") && cautions.contains("running laser"));
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for design in many() {
        assert_eq!(built(&design), built(&design));
    }
}

#[test]
fn a_moved_window_changes_few_lines() {
    let before = text(&built(&everything()), "operations.json");
    let mut moved = everything();
    moved.layers[1].marks[0].shape = Shape::Region(disc_at(12.0, 0.5, 20.0));
    let after = text(&built(&moved), "operations.json");
    let changed = before.lines().zip(after.lines()).filter(|(a, b)| a != b).count();
    assert_eq!(before.lines().count(), after.lines().count());
    assert_eq!(
        changed, 5,
        "its path as cut and as meant, the thinnest wall beside it, and in the summary how far the machine moves and what that saves"
    );
}

/// What the DTD of SVG 1.1 allows of what drawings may use: each element with its own attributes and what may stand in it. Written
/// down from the DTD (REC-SVG11-20110816); `id` and presentation attributes may stand on all.
const ALLOWED: [(&str, &[&str], &[&str]); 5] = [
    ("svg", &["version", "width", "height", "viewBox"], &["title", "desc", "g", "path", "text"]),
    ("g", &["transform"], &["title", "desc", "g", "path", "text"]),
    ("title", &[], &[]),
    ("desc", &[], &[]),
    ("path", &["d", "transform"], &["title", "desc"]),
];

/// Presentation attributes (SVG 1.1, appendix N.2) that drawings may use.
const PRESENTATION: [&str; 4] = ["fill", "fill-rule", "stroke", "stroke-width"];

/// Kept in the folder of cargo's temporary files, where `.ci/run` has them validated against the DTD itself.
#[test]
fn drawings_hold_what_the_dtd_of_svg_1_1_allows() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("drawings");
    std::fs::create_dir_all(&folder).unwrap();
    let mut looked_at = 0;
    for (number, design) in many().into_iter().enumerate() {
        for drawing in built(&design).into_iter().filter(|it| it.name.ends_with(".svg")) {
            std::fs::write(folder.join(format!("{number}-{}", drawing.name)), &drawing.bytes).unwrap();
            let text = String::from_utf8(drawing.bytes).unwrap();
            let document = usvg::roxmltree::Document::parse(&text).unwrap();
            for element in document.descendants().filter(usvg::roxmltree::Node::is_element) {
                let name = element.tag_name().name();
                assert_eq!(element.tag_name().namespace(), Some("http://www.w3.org/2000/svg"), "{name}");
                let (_, own, inner) = ALLOWED.iter().find(|(known, ..)| *known == name).expect(name);
                for attribute in element.attributes().map(|attribute| attribute.name()) {
                    let known = attribute == "id" || own.contains(&attribute) || PRESENTATION.contains(&attribute);
                    assert!(known, "{name} has {attribute}");
                }
                let inside =
                    |child: usvg::roxmltree::Node| !child.is_element() || inner.contains(&child.tag_name().name());
                assert!(element.children().all(inside), "what stands in {name}");
                // Titles and descriptions come first, as the content models have it.
                let told = |child: &usvg::roxmltree::Node| ["title", "desc"].contains(&child.tag_name().name());
                let elements: Vec<_> = element.children().filter(usvg::roxmltree::Node::is_element).collect();
                assert!(elements.is_sorted_by_key(|child| !told(child)), "the order in {name}");
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 100, "{looked_at}");
}

/// A plain sum over what is written, from the machine's zero on: to where each line begins from where the one before it ended,
/// which for a closed one is where it began. What is filled is taken at the middle of its box.
#[test]
fn the_travel_told_is_that_of_the_list() {
    let mut hops = 0;
    for design in many() {
        let list = operations(&design);
        let mut travel = 0.0;
        for setup in list["boards"].as_array().unwrap().iter().flat_map(|board| board["setups"].as_array().unwrap()) {
            let mut at = kurbo::Point::ORIGIN;
            for operation in setup["operations"].as_array().unwrap() {
                let lines = operation["path"].as_array().map(Vec::as_slice).unwrap_or_default();
                let lines: Vec<BezPath> =
                    lines.iter().map(|line| BezPath::from_svg(line.as_str().unwrap()).unwrap()).collect();
                let fills = operation["do"] == "engrave" || operation["do"] == "pocket";
                let boxes = lines.iter().map(BezPath::bounding_box).reduce(|all, one| all.union(one));
                let middle = boxes.filter(|_| fills).map(|all| (all.center(), all.center()));
                let each = lines.iter().filter(|_| !fills).map(|line| {
                    let drawn: Vec<_> = line.segments().collect();
                    (drawn[0].start(), drawn[drawn.len() - 1].end())
                });
                for (first, last) in middle.into_iter().chain(each) {
                    travel += at.distance(first);
                    at = last;
                    hops += 1;
                }
            }
        }
        let told = list["summary"]["travel"].as_f64().unwrap();
        // Each place is written to a micrometre.
        assert!((told - travel).abs() < 0.1, "{told} told, {travel} by the sum");
    }
    assert!(hops > 60, "{hops}");
}

/// As written, in rows and as searched for: no two parts share board, with what is added up apart from the planner.
#[test]
fn parts_that_are_written_share_no_board() {
    let mut designs = many();
    let mut pentagons = two_layers(9);
    for layer in &mut pentagons.layers {
        layer.outline = dialwright::geometry::shapes::polygon(5, 33.0, 5.0).unwrap();
    }
    designs.push(pentagons);
    let mut pairs = 0;
    for (design, effort) in designs.iter().flat_map(|design| [0, 1].map(|effort| (design, Effort(effort)))) {
        let plan = plan_with(design.into(), effort, &OutlineCache::default()).0.unwrap();
        let files = files(design, &dialwright::audit::audit(design), (&plan, &quote(design, &plan)), &sources());
        let list: Value = serde_json::from_str(&text(&files, "operations.json")).unwrap();
        for board in list["boards"].as_array().unwrap() {
            let operations =
                board["setups"].as_array().unwrap().iter().flat_map(|it| it["operations"].as_array().unwrap());
            let free = operations.filter(|it| it["edge"] == "outline" || it["edge"] == "holder");
            let drawn = |it: &Value| -> String {
                it["path"].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect::<Vec<_>>().join(" ")
            };
            let cuts: Vec<Chords> = free.map(|it| Chords::of(&BezPath::from_svg(&drawn(it)).unwrap())).collect();
            for (at, one) in cuts.iter().enumerate() {
                for other in &cuts[at + 1..] {
                    assert_eq!(shared_area(one, other), 0.0, "{effort:?}");
                    pairs += 1;
                }
            }
        }
    }
    assert!(pairs > 200, "{pairs}");
}
