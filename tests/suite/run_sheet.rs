//! The run sheet holds what the plan and the proof hold, and shows every text as text.

use super::by_hand::*;
use dialwright::audit::audit;
use dialwright::design::{Design, Face, Mark, Work};
use dialwright::output::{OutputFile, files};
use dialwright::plan::plan;
use dialwright::source::Sources;

fn built(design: &Design) -> Vec<OutputFile> {
    let (plan, problems) = plan(design);
    files(design, &audit(design), &plan.unwrap_or_else(|| panic!("{problems:?}")), &Sources::default())
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
fn every_setup_has_its_picture_and_every_pause_its_line() {
    let design = dial();
    let files = built(&design);
    let sheet = sheet(&files);
    let pictures: Vec<&str> =
        files.iter().map(|file| file.name.as_str()).filter(|name| name.ends_with(".svg")).collect();
    assert!(!pictures.is_empty());
    assert!(pictures.iter().all(|name| sheet.contains(&format!("src=\"{name}\""))), "{pictures:?}");
    let (plan, _) = plan(&design);
    let plan = plan.unwrap();
    let pauses = plan.operations().filter_map(|(_, _, operation)| operation.instruction()).count();
    assert!(pauses > 0);
    assert_eq!(sheet.matches("<strong>Pause. </strong>").count(), pauses);
    assert!(plan.boards.iter().flat_map(|board| &board.parts).all(|part| sheet.contains(&part.name)));
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

/// Nothing is fetched from anywhere: the only sources are the drawings beside the sheet.
#[test]
fn the_sheet_asks_for_nothing_but_its_drawings() {
    let sheet = sheet(&built(&dial()));
    assert!(!sheet.contains("http") && !sheet.contains("url("));
    assert!(sheet.split("src=\"").skip(1).all(|rest| rest.starts_with("board-")));
}
