//! The proof: true to size, true to the design, whole on its pages, and every text a text.

use std::collections::BTreeSet;
use std::path::Path;

use dialwright::analysis::{Analysis, Dial, Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::design::heights::depth_below;
use dialwright::design::{Design, Face};
use dialwright::output::page::{Paper, pdf, png};
use dialwright::output::proof::proof;
use dialwright::output::{OutputFile, Printing, page, prints};
use dialwright::project::MemoryProject;
use dialwright::units::plain;
use usvg::roxmltree::{Document, Node};

use super::dials::{designs, root};

/// What the proof of a dial is printed from.
pub(crate) fn printing<'a>(analysis: &'a Analysis, dial: &'a Dial, paper: Paper) -> Printing<'a> {
    let (plan, quote) = dial.made().expect("a plan");
    Printing {
        design: &dial.design,
        audit: &dial.audit,
        plan,
        quote,
        expectations: &dial.expectations,
        findings: analysis.of_dial(dial).collect(),
        sources: &analysis.sources,
        revision: &dial.revision,
        paper,
        price: false,
    }
}

/// What is known of a design on disk, without the draws of `turn`, which a proof has no use for.
pub(crate) fn analysed(path: &Path) -> Analysis {
    let (project, name, _) = DiskProject::of(path);
    analyse(&project, &name, "", &Request::default()).expect("a design that can be read")
}

fn example(name: &str) -> Analysis {
    analysed(&root().join("examples").join(name))
}

fn pages_of(analysis: &Analysis, paper: Paper) -> page::Pages {
    proof(&printing(analysis, &analysis.dials[0], paper))
}

/// Every text of a drawing, each once for each time it stands there.
pub(crate) fn texts(drawing: &str) -> Vec<String> {
    let document = Document::parse(drawing).expect("well formed");
    let texts = document.descendants().filter(|node| node.has_tag_name("text"));
    texts.map(|node| node.text().unwrap_or_default().trim().to_owned()).collect()
}

fn group<'a, 'd>(document: &'a Document<'d>, id: &str) -> Node<'a, 'd> {
    document.descendants().find(|node| node.attribute("id") == Some(id)).unwrap_or_else(|| panic!("no group {id}"))
}

/// Every text of a page, those of several voices joined.
fn words_of(document: &Document) -> BTreeSet<String> {
    let texts = document.descendants().filter(|node| node.has_tag_name("text"));
    let whole = |text: Node| {
        text.descendants().filter_map(|node| node.text().filter(|_| node.is_text()).map(str::to_owned)).collect()
    };
    texts
        .map(|text| {
            let words: String = whole(text);
            words.trim().to_owned()
        })
        .collect()
}

fn words_in(document: &Document, id: &str) -> BTreeSet<String> {
    let texts = group(document, id).descendants().filter(|node| node.has_tag_name("text"));
    texts.map(|node| node.text().unwrap_or_default().trim().to_owned()).collect()
}

/// ISO 216: A4 is 210 mm by 297 mm; ANSI/ASME Y14.1: size A is 8.5 in by 11 in. ISO 32000-2, 7.7.3.3: `MediaBox` in units
/// of 1/72 in.
#[test]
fn pages_of_a_pdf_are_as_large_as_their_paper() {
    let analysis = example("first.dial");
    for (paper, size) in [(Paper::A4, (210.0 / 25.4, 297.0 / 25.4)), (Paper::Letter, (8.5, 11.0))] {
        let pages = pages_of(&analysis, paper);
        let bytes = pdf(&pages).unwrap();
        let boxes = media_boxes(&bytes);
        assert_eq!(boxes.len(), pages.count());
        for (wide, high) in boxes {
            assert!((wide - size.0 * 72.0).abs() < 0.01 && (high - size.1 * 72.0).abs() < 0.01, "{wide} by {high}");
        }
    }
}

pub(crate) fn media_boxes(pdf: &[u8]) -> Vec<(f64, f64)> {
    let text = String::from_utf8_lossy(pdf);
    let boxes = text.split("/MediaBox").skip(1).map(|rest| {
        let inside = rest.trim_start().trim_start_matches('[').split(']').next().unwrap_or_default();
        let figures: Vec<f64> = inside.split_whitespace().map(|figure| figure.parse().expect("a figure")).collect();
        (figures[2] - figures[0], figures[3] - figures[1])
    });
    boxes.collect()
}

/// The bar of 100 mm, measured in dots of a rendered page, comes out within 0.1 mm.
#[test]
fn a_hundred_millimetres_are_a_hundred_millimetres() {
    for paper in [Paper::A4, Paper::Letter] {
        let pages = pages_of(&example("first.dial"), paper);
        let picture = image::load_from_memory(&png(&pages.sheet()).unwrap()).unwrap().to_luma8();
        assert_eq!(pages.count(), 2, "the client's and the shop's");
        let dots = f64::from(picture.width()) / paper.size().0;
        let mut found = Vec::new();
        // On the shop's page, the last.
        for row in picture.rows().skip(picture.height() as usize / 2) {
            let dark: Vec<f64> = row.map(|dot| f64::from(255 - dot.0[0]) / 255.0).collect();
            found.extend(runs(&dark).into_iter().map(|run| run / dots).filter(|run| (90.0..110.0).contains(run)));
        }
        let longest = found.iter().copied().fold(0.0, f64::max);
        assert!((longest - 100.0).abs() < 0.1 + 2.0 * 0.09, "ends of the line's strokes included: {longest}");
    }
}

/// Lengths of unbroken dark runs, those dots that are dark in part counted in part.
fn runs(dark: &[f64]) -> Vec<f64> {
    dark.split(|dot| *dot < 0.1).map(|run| run.iter().map(|dot| dot.min(0.7) / 0.7).sum()).collect()
}

/// The dimensions of the views against the design's own outlines, their extent found from flattened points.
#[test]
fn dimensions_are_the_sizes_of_the_design() {
    for name in ["first.dial", "saltmarsh/crew.dial", "saltmarsh/lantern.dial"] {
        let analysis = example(name);
        let design = &analysis.dials[0].design;
        let page = pages_of(&analysis, Paper::A4).each().remove(1);
        let document = Document::parse(&page).unwrap();
        let front = words_in(&document, "front-view");
        let (wide, high) = extent(design);
        let said = |mm: f64| front.contains(&plain(mm, 2)) || front.contains(&format!("Ø{}", plain(mm, 2)));
        assert!(said(wide) && said(high), "{name}: {wide} by {high}, {front:?}");
        let reading = &design.readings[0];
        let (_, opening) = design.mark(&reading.by[0]).unwrap();
        let dialwright::design::Shape::Region(opening) = &opening.shape else { panic!("an opening") };
        let bounds = opening.bounds().unwrap();
        assert!(said(bounds.width()), "{name}: the opening's width {}", bounds.width());
        assert!(said(opening.centroid().unwrap().y.abs()), "{name}: the opening's place");
        let boards: f64 = design.layers.iter().map(|layer| layer.stock.thickness.mean.as_mm()).sum();
        let section = words_in(&document, "section");
        let films = design.thickness().as_mm() - boards;
        assert!(section.contains(&plain(boards + films, 2)), "{name}: {section:?}");
        for layer in &design.layers {
            let said = format!("{} {}", layer.name, plain(layer.stock.thickness.mean.as_mm(), 2));
            assert!(section.contains(&said), "{name}: {said}");
        }
    }
}

/// The first page is the client's: both faces, what is got, where it is approved, and none of the shop's words.
#[test]
fn the_first_page_is_for_the_client_to_approve() {
    for paper in [Paper::A4, Paper::Letter] {
        let analysis = example("saltmarsh/crew.dial");
        let pages = pages_of(&analysis, paper).each();
        let document = Document::parse(&pages[0]).unwrap();
        let views = words_in(&document, "client-views");
        assert!(views.contains("Front (1:1, true size)") && views.contains("Back (1:1, true size)"), "{views:?}");
        let approval = words_in(&document, "approval");
        for words in ["Approved as shown", "Name", "Signature", "Date"] {
            assert!(approval.contains(words), "{words}: {approval:?}");
        }
        let all = words_of(&document);
        assert!(all.contains("0 to 9, one at a time, 10 stops") && all.contains("8 dials, each of 2 layers of birch"));
        assert!(all.contains("62 × 62 × 8 mm: turns with 1 mm to spare"), "{all:?}");
        let for_the_shop = |words: &&String| words.contains("crew.dial") || words.contains("magnet-hazard");
        assert_eq!(all.iter().find(for_the_shop), None);
    }
}

/// Of two turns each is drawn by itself, and a table has the least margin of every combination.
#[test]
fn two_turns_are_drawn_as_strips_and_told_as_a_table() {
    let analysis = example("saltmarsh/toll.dial");
    let pages = pages_of(&analysis, Paper::A4).each();
    let documents: Vec<Document> = pages.iter().map(|page| Document::parse(page).unwrap()).collect();
    let said: Vec<String> = documents.iter().flat_map(words_of).collect();
    assert!(said.iter().any(|words| words.starts_with("19 of 100 combinations of stops are drawn")), "{said:?}");
    let margins = |ring: &str, digits: usize| {
        let checked = analysis.dials[0].audit.reading_check.readings.iter().find(|it| it.ring == ring).unwrap();
        let least =
            checked.stops.iter().filter_map(|stop| stop.near_margin()).map(|it| it.as_mm()).fold(f64::MAX, f64::min);
        dialwright::units::fixed(least, digits)
    };
    let least = [margins("tens", 2), margins("units", 2)].into_iter().min().unwrap();
    assert!(documents.iter().any(|page| words_of(page).contains(&least)), "{least}");
}

fn extent(design: &Design) -> (f64, f64) {
    let points = design.layers.iter().flat_map(|layer| layer.outline.flattened(1e-6)).flatten();
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for point in points {
        for axis in [0, 1] {
            low[axis] = low[axis].min(point[axis]);
            high[axis] = high[axis].max(point[axis]);
        }
    }
    (high[0] - low[0], high[1] - low[1])
}

/// The pockets of the section are as deep and as wide as those of the design, and their magnets lie in them.
#[test]
fn the_section_cuts_pockets_where_they_are() {
    let analysis = example("saltmarsh/crew.dial");
    let design = &analysis.dials[0].design;
    let section = dialwright::output::proof::section::section(design, dialwright::units::Angle::ZERO);
    for (slice, layer) in section.slices.iter().zip(&design.layers) {
        let (mark, region, depth) = layer.pockets().next().expect("a pocket");
        let bounds = region.bounds().unwrap();
        let radius = bounds.width() / 2.0;
        let beneath = slice.stretches.iter().find(|it| it.from <= 0.0 && 0.0 <= it.to).expect("a floor");
        assert!((beneath.from + radius).abs() < 1e-3 && (beneath.to - radius).abs() < 1e-3, "{mark:?}: {beneath:?}");
        let floor = beneath.top - beneath.bottom;
        let thick = layer.stock.thickness.mean.as_mm();
        assert!((floor + depth.made().as_mm() - thick).abs() < 1e-9, "{floor} left");
    }
    for magnet in &section.magnets {
        let inside = |slice: &dialwright::output::proof::section::Slice| {
            slice.faces.0 <= magnet.heights.0 + 1e-9 && magnet.heights.1 <= slice.faces.1 + 1e-9
        };
        assert_eq!(section.slices.iter().filter(|slice| inside(slice)).count(), 1, "{magnet:?}");
    }
}

/// By hand: two magnets of 1.5 mm on 0.05 mm of glue in pockets of 1.2 mm keep boards of 3 mm 0.7 mm apart, and what stands on the
/// lower one's front lies a board and that gap below the upper one's; in the lantern two boards and a film of glue.
#[test]
fn what_stands_proud_keeps_layers_apart_in_the_section_and_in_every_depth() {
    let analysis = analysed(&root().join("tests/ui/magnet-proud.dial"));
    let design = &analysis.dials[0].design;
    let section = dialwright::output::proof::section::section(design, dialwright::units::Angle::ZERO);
    let faces: Vec<f64> = section.slices.iter().flat_map(|slice| [slice.faces.0, slice.faces.1]).collect();
    for (found, wanted) in faces.iter().zip([0.0, 3.0, 3.7, 6.7]) {
        assert!((found - wanted).abs() < 1e-9, "{faces:?}");
    }
    assert!((design.thickness().as_mm() - 6.7).abs() < 1e-9);
    assert!((depth_below(design, (0, Face::Front), 1).as_mm() - 3.7).abs() < 1e-9);
    assert!((depth_below(design, (1, Face::Back), 0).as_mm() - 3.7).abs() < 1e-9);
    assert!(depth_below(design, (0, Face::Front), 0).as_mm().abs() < 1e-9);

    let lantern = example("saltmarsh/lantern.dial");
    let design = &lantern.dials[0].design;
    let [numbers, front_plate] = ["numbers", "front_plate"].map(|name| design.layer(name).unwrap().0);
    let by_hand =
        design.layers[numbers + 1..].iter().map(|layer| layer.stock.thickness.mean.as_mm()).sum::<f64>() + 0.05;
    assert!((depth_below(design, (numbers, Face::Front), front_plate).as_mm() - by_hand).abs() < 1e-9);
}

const HOSTILE: &str = "</text><script>alert(1)</script> & \\\"quotes\\\" 'single' ]]> שלום \u{202e}drow\u{202c} &amp;";

fn hostile() -> Analysis {
    let long = "m".repeat(500);
    let text = format!(
        r#"dial "{HOSTILE} {long}"
param note: text = "{HOSTILE}"
outline circle(diameter: 60mm)
layer base of birch {{ engrave ring points {{ labels ["<b>1</b>", "{long}", "שלום", "&lt;", "漢字"] }} }}
layer cover of birch {{ window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }}
stack {{ base; turn on magnets(disc); cover }}
reads points through peep
accept mark-near-edge "{HOSTILE}"
expect swept(cover) < 61mm "{HOSTILE}"
"#
    )
    .replace(", \"漢字\"", "");
    let project = MemoryProject::default().with("hostile.dial", text);
    analyse(&project, "hostile.dial", "", &Request::default()).expect("it can be read")
}

#[test]
fn whatever_stands_in_a_name_is_shown_as_text() {
    let analysis = hostile();
    assert!(!analysis.dials.is_empty(), "{:?}", analysis.findings);
    let pages = pages_of(&analysis, Paper::A4);
    for page in pages.each() {
        let document = Document::parse(&page).expect("well formed");
        let known =
            ["svg", "title", "g", "rect", "line", "circle", "ellipse", "path", "text", "defs", "clipPath", "use"];
        for node in document.descendants().filter(Node::is_element) {
            if node.has_tag_name("image") {
                // Only what was drawn for the page, never something to be fetched.
                let from =
                    node.attributes().find(|attribute| attribute.name() == "href").map(|attribute| attribute.value());
                assert!(from.is_some_and(|from| from.starts_with("data:image/jpeg;base64,")), "{node:?}");
                continue;
            }
            assert!(known.contains(&node.tag_name().name()), "{:?}", node.tag_name());
        }
    }
    let all: Vec<String> = pages.each().iter().flat_map(|page| texts(page)).collect();
    assert!(all.iter().any(|text| text.contains("<script>alert(1)</script> & \"quotes\"")), "{all:?}");
    assert!(all.iter().any(|text| text.contains("<b>1</b>")), "{all:?}");
    assert!(all.iter().any(|text| text.contains("שלום")), "{all:?}");
    assert!(!all.iter().any(|text| text.contains('\u{202e}')), "nothing turns the words after it round");
}

#[test]
fn the_same_design_gives_the_same_bytes() {
    let made = || -> Vec<OutputFile> {
        let analysis = example("first.dial");
        prints(&printing(&analysis, &analysis.dials[0], Paper::A4)).unwrap()
    };
    let (first, second) = (made(), made());
    assert_eq!(
        first.iter().map(|file| file.name.as_str()).collect::<Vec<_>>(),
        ["proof.pdf", "proof.png", "proof.svg", "run-sheet.pdf"]
    );
    assert!(first == second);
}

/// Nothing leaves its page or its margin, on either paper, of any example, and of a design that tries to.
#[test]
fn everything_stays_on_its_page() {
    let mut all: Vec<(String, Analysis)> = vec![("hostile".to_owned(), hostile())];
    all.extend(designs("examples").iter().map(|path| (shown(path), analysed(path))));
    for (name, analysis) in &all {
        // Of forty dials with forty names the first, the last and one between.
        let count = analysis.dials.len();
        let some = BTreeSet::from([0, count / 2, count.saturating_sub(1)]);
        for dial in some.into_iter().filter_map(|at| analysis.dials.get(at)) {
            for paper in [Paper::A4, Paper::Letter] {
                let pages = proof(&printing(analysis, dial, paper)).each();
                for (at, page) in pages.iter().enumerate() {
                    stays(page, paper, &format!("{name}, page {}", at + 1));
                }
                // The bar of 100 mm and what stands below it, with the foot, are six texts.
                let ends_short = pages.len() > 2 && pages.last().is_some_and(|page| texts(page).len() < 9);
                assert!(!ends_short || name == "hostile", "{name}: the last page holds a few lines alone");
            }
        }
    }
}

fn shown(path: &Path) -> String {
    path.file_name().unwrap().to_string_lossy().into_owned()
}

/// Every drawn thing, as the library of resvg measures it, stands at least 10 mm from the edges of the paper.
pub(crate) fn stays(page: &str, paper: Paper, name: &str) {
    let tree = usvg::Tree::from_str(page, &dialwright::artwork::closed_options()).unwrap();
    let dots = 96.0 / 25.4;
    let (wide, high) = paper.size();
    let mut groups = vec![tree.root()];
    while let Some(group) = groups.pop() {
        for node in group.children() {
            if let usvg::Node::Group(inner) = node {
                groups.push(inner);
                continue;
            }
            let it = node.abs_bounding_box();
            let [left, top, right, bottom] =
                [it.left(), it.top(), it.right(), it.bottom()].map(|at| f64::from(at) / dots);
            if (right - left - wide).abs() < 0.01 && (bottom - top - high).abs() < 0.01 {
                continue; // the paper itself
            }
            let inside = left > 10.0 && top > 10.0 && right < wide - 10.0 && bottom < high - 10.0;
            assert!(inside, "{name}: {left:.1} to {right:.1}, {top:.1} to {bottom:.1}: {node:?}");
        }
    }
}
