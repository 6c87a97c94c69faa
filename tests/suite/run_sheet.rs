//! The run sheet holds what the plan and the proof hold, and shows every text as text.

use super::designs::*;
use super::dials::root;
use super::proof::{analysed, media_boxes, printing, stays, texts};
use dialwright::audit::audit;
use dialwright::design::{Design, Face, Finish, LocalDateTime, Mark, Work};
use dialwright::output::page::{Paper, pdf};
use dialwright::output::{OutputFile, files, run_sheet_pages};
use dialwright::plan::{Plan, plan};
use dialwright::quote::quote;
use dialwright::source::Sources;

fn built(design: &Design) -> Vec<OutputFile> {
    let (plan, problems) = plan(design);
    let plan = plan.unwrap_or_else(|| panic!("{problems:?}"));
    files(design, &audit(design), (&plan, &quote(design, &plan)), &Sources::default())
}

fn sheet(files: &[OutputFile]) -> String {
    let sheet = files.iter().find(|file| file.name == "run-sheet.html").expect("a run sheet");
    String::from_utf8(sheet.bytes.clone()).expect("UTF-8")
}

/// Two layers; the base carries work on both faces, so that a person turns it over.
fn dial() -> Design {
    let mut design = two_layers(5, |_| circle(2.0), circle(4.0).at(14.0, 0.0));
    let engraving = Work::Engrave { tone: 1.0, depth: None, ink: None };
    design.layers[0].marks.push(Mark { face: Face::Back, ..mark("crest", engraving, circle(3.0)) });
    design
}

#[test]
fn every_setup_has_its_file_its_picture_and_every_pause_its_line() {
    let design = dial();
    let files = built(&design);
    let sheet = sheet(&files);
    let drawings: Vec<&str> =
        files.iter().map(|file| file.name.as_str()).filter(|name| name.ends_with(".svg")).collect();
    assert!(!drawings.is_empty());
    assert!(drawings.iter().all(|name| sheet.contains(&format!("<code>{name}</code>"))), "{drawings:?}");
    let (plan, _) = plan(&design);
    let plan = plan.unwrap();
    let setups: usize = plan.boards.iter().map(|board| board.setups.len()).sum();
    assert_eq!(sheet.matches("as it lies in setup").count(), setups);
    let said = words(&sheet).join(" ");
    let pauses: Vec<&str> = plan.operations().filter_map(|(_, _, operation)| operation.instruction()).collect();
    assert!(!pauses.is_empty() && pauses.iter().all(|pause| said.contains(&pause.replace('`', ""))), "{pauses:?}");
    assert!(plan.boards.iter().flat_map(|board| &board.parts).all(|part| sheet.contains(&part.name)));
}

/// Boards of one stock whose parts lie alike are told once, with all their files.
#[test]
fn boards_that_are_alike_are_told_once() {
    let analysis = analysed(&root().join("examples/saltmarsh/weather.dial"));
    let (plan, quote) = analysis.dials[0].made().unwrap();
    let files = files(&analysis.dials[0].design, &analysis.dials[0].audit, (plan, quote), &analysis.sources);
    let sheet = sheet(&files);
    let drawings: Vec<&str> =
        files.iter().map(|file| file.name.as_str()).filter(|name| name.ends_with(".svg")).collect();
    assert!(drawings.iter().all(|name| sheet.contains(name)));
    let told = sheet.matches("as it lies in setup").count();
    assert!(told < drawings.len() && sheet.contains("Boards 1–3 of 4, alike"), "{told} of {}", drawings.len());
}

/// What sets magnets is neither bought by the piece nor reckoned, and must lie ready all the same.
#[test]
fn glue_and_pen_for_magnets_lie_ready() {
    let analysis = analysed(&root().join("examples/saltmarsh/crew.dial"));
    let (plan, quote) = analysis.dials[0].made().unwrap();
    let dial = &analysis.dials[0];
    let said = words(&sheet(&files(&dial.design, &dial.audit, (plan, quote), &analysis.sources))).join(" ");
    for needed in ["board birch", "magnet disc", "glue epoxy", "sets 16 magnets", "marker pen", "stop"] {
        assert!(said.contains(needed), "{needed}");
    }
    assert!(!said.contains("clamps"), "nothing of it is glued together");
}

/// Cautions stand before anything that a hand does.
#[test]
fn cautions_come_first() {
    let sheet = sheet(&built(&dial()));
    let caution = sheet.find("Never leave a running laser").expect("cautions");
    assert!(caution < sheet.find("Setup 1").expect("a setup"));
}

#[test]
fn names_that_hold_markup_are_shown_as_text() {
    let mut design = dial();
    design.title = "<script>alert(1)</script> & \"quotes\"".to_owned();
    design.shop = Some("<img src=x onerror=y>".to_owned());
    let sheet = sheet(&built(&design));
    assert!(!sheet.contains("<script") && !sheet.contains("<img src=x"), "{sheet}");
    assert!(sheet.contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp;"));
}

/// Nothing is fetched from anywhere, so that the sheet can be mailed by itself: all it refers to stands in it.
#[test]
fn the_sheet_asks_for_nothing() {
    let sheet = sheet(&built(&dial()));
    assert!(
        !sheet.contains("http:") && !sheet.contains("https:") && !sheet.contains("src=") && !sheet.contains("img-src")
    );
    assert!(sheet.split("url(").skip(1).all(|rest| rest.starts_with('#')));
}

/// What stands between the tags, word by word.
fn words(marked_up: &str) -> Vec<String> {
    let text: String =
        marked_up.split('<').filter_map(|rest| rest.split_once('>')).map(|(_, text)| format!("{text} ")).collect();
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    text.split_whitespace().map(str::to_owned).collect()
}

/// The page and the paper say the same: every word of either stands in the other, but for the foot of the pages.
#[test]
fn paper_and_page_say_the_same() {
    for name in ["examples/first.dial", "examples/saltmarsh/lantern.dial", "examples/saltmarsh/weather.dial"] {
        let analysis = analysed(&root().join(name));
        let dial = &analysis.dials[0];
        let (plan, quote) = dial.made().unwrap();
        let html = sheet(&files(&dial.design, &dial.audit, (plan, quote), &analysis.sources));
        let body = html.split("<body>").nth(1).expect("a body");
        let job = printing(&analysis, dial, Paper::A4);
        let pages = run_sheet_pages(&job);
        let lines = pages.each().iter().flat_map(|page| texts(page)).collect::<Vec<String>>().join(" ");
        let paper: Vec<String> = lines.split_whitespace().map(str::to_owned).collect();
        for word in words(body) {
            // A mark set off from its word by tags of its own stands with the word on paper.
            assert!(paper.iter().any(|other| other.contains(&word)), "{name}: {word}");
        }
        let all = words(&html).concat();
        let foot = ["revision", "page", "A4", "·", "of", "Run", "sheet:"];
        for word in paper.iter().filter(|word| word.len() > 2 && !foot.contains(&word.as_str())) {
            let known = all.contains(word.as_str()) || *word == job.revision.short() || is_part(plan, word);
            assert!(known, "{name}: {word}");
        }
    }
}

fn is_part(plan: &Plan, word: &str) -> bool {
    plan.boards.iter().flat_map(|board| &board.parts).any(|part| part.name == word)
}

#[test]
fn pages_are_true_and_nothing_leaves_them() {
    for name in ["examples/saltmarsh/crew.dial", "examples/saltmarsh/toll.dial", "examples/saltmarsh/lantern.dial"] {
        let analysis = analysed(&root().join(name));
        for paper in [Paper::A4, Paper::Letter] {
            let pages = run_sheet_pages(&printing(&analysis, &analysis.dials[0], paper));
            pages.each().iter().for_each(|page| stays(page, paper, name));
            let boxes = media_boxes(&pdf(&pages).unwrap());
            assert_eq!(boxes.len(), pages.count());
            let (wide, high) = paper.size();
            let points = |mm: f64| mm / 25.4 * 72.0;
            assert!(boxes.iter().all(|it| (it.0 - points(wide)).abs() < 0.01 && (it.1 - points(high)).abs() < 0.01));
        }
    }
}

/// Black and white: every colour on the pages is a grey, but for those that tell how the files are coloured.
#[test]
fn the_paper_is_grey_throughout() {
    let analysis = analysed(&root().join("examples/saltmarsh/crew.dial"));
    let mut swatches = 0;
    for page in run_sheet_pages(&printing(&analysis, &analysis.dials[0], Paper::A4)).each() {
        let document = usvg::roxmltree::Document::parse(&page).unwrap();
        for node in document.descendants() {
            if node.attribute("class") == Some("swatch") {
                swatches += 1;
                continue;
            }
            for colour in node.attributes().filter_map(|it| it.value().strip_prefix('#')).filter(|it| it.len() == 6) {
                assert!(colour[0..2] == colour[2..4] && colour[2..4] == colour[4..6], "#{colour}");
            }
        }
    }
    assert!(swatches > 0);
}

#[test]
fn a_run_that_is_wanted_says_when_each_step_must_begin() {
    let mut design = dial();
    design.run.wanted = LocalDateTime::parse("2026-12-04 18:00");
    let sheet = sheet(&built(&design));
    assert!(sheet.contains("Begin at the latest") && sheet.contains("Fri 2026-12-04 18:00"), "{sheet}");
}

#[test]
fn a_finish_says_what_goes_on_before_the_machine_and_why() {
    let before = Finish {
        name: "dusk".to_owned(),
        stain: Some([1, 2, 3]),
        after: false,
        fill: Some([9; 3]),
        cost: None,
        origin: span(0),
    };
    let mut design = dial();
    design.layers[1].finish = Some(before.clone());
    let text = sheet(&built(&design));
    assert!(text.contains("Before cutting: stain the boards") && text.contains("After cutting, before gluing: fill"));
    design.layers[1].finish = Some(Finish { after: true, fill: None, ..before });
    let text = sheet(&built(&design));
    assert!(text.contains("After cutting, before gluing: stain") && !text.contains("Before cutting"));
}
