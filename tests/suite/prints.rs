//! Print-and-cut: what is printed on a sheet before it is cut stands where the cuts come, at its true size.

use std::num::NonZeroUsize;

use dialwright::analysis::Analysis;
use dialwright::design::Work;
use dialwright::output;
use dialwright::plan::{Board, Printed};
use dialwright::rehearsal::{Folder, Kind, Rehearsal, rehearse};
use kurbo::{Rect, Shape as _};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg;

use crate::dials::{analysed, root};

fn dial(name: &str) -> Analysis {
    analysed(&root().join(name))
}

const DIALS: [&str; 3] =
    ["examples/saltmarsh/moths.dial", "tests/dials/35-printed-card.dial", "tests/dials/36-printed-back.dial"];

fn boards(analysis: &Analysis) -> &[Board] {
    &analysis.dials[0].made().unwrap().0.boards
}

fn folder(analysis: &Analysis) -> Folder {
    let dial = &analysis.dials[0];
    let mut folder = Folder::default();
    for file in output::files(&dial.design, &dial.audit, dial.made().unwrap(), &analysis.sources) {
        match file.name.as_str() {
            "operations.json" => folder.list = String::from_utf8(file.bytes).unwrap(),
            _ => drop(folder.drawings.insert(file.name, file.bytes)),
        }
    }
    folder
}

fn read(folder: &Folder) -> Rehearsal {
    rehearse(folder, NonZeroUsize::MIN, false).unwrap()
}

/// Dots to a millimetre of what resvg 0.49 draws.
const DOTS: f64 = 10.0;

/// A drawing as resvg draws it, dark where it is dark.
fn pixels(svg: &[u8]) -> (Pixmap, f64, f64) {
    let tree = usvg::Tree::from_data(svg, &usvg::Options::default()).unwrap();
    let mm = |pixels: f32| f64::from(pixels) * 25.4 / 96.0;
    let (wide, high) = (mm(tree.size().width()), mm(tree.size().height()));
    let dots = |mm: f64| (mm * DOTS).round() as u32;
    let mut map = Pixmap::new(dots(wide), dots(high)).unwrap();
    map.fill(resvg::tiny_skia::Color::WHITE);
    let scale = (DOTS * 25.4 / 96.0) as f32;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut map.as_mut());
    (map, wide, high)
}

/// The middle of the dark run along a short level or upright line of pixels, in mm along it.
fn dark_middle(map: &Pixmap, from: (f64, f64), (dx, dy): (f64, f64), length: f64) -> f64 {
    let count = (length * DOTS) as u32;
    let dark = (0..count).filter_map(|step| {
        let along = f64::from(step) / DOTS;
        let pixel = map.pixel(((from.0 + dx * along) * DOTS) as u32, ((from.1 + dy * along) * DOTS) as u32)?;
        (pixel.red() < 128).then_some(along + 0.5 / DOTS)
    });
    let dark: Vec<f64> = dark.collect();
    assert!(!dark.is_empty(), "nothing dark from {from:?}");
    dark.iter().sum::<f64>() / dark.len() as f64
}

#[test]
fn a_sheet_is_as_large_as_its_board_with_crosses_where_they_are_told() {
    for name in DIALS {
        let analysis = dial(name);
        let files = folder(&analysis).drawings;
        for (at, board) in boards(&analysis).iter().enumerate().take(1) {
            let Some(print) = &board.print else { continue };
            for (face, _) in print.faces() {
                let svg = &files[&format!("board-{}-{}.svg", at + 1, face.suffix())];
                let (map, wide, high) = pixels(svg);
                assert!(
                    (wide - board.size.0.as_mm()).abs() < 0.01 && (high - board.size.1.as_mm()).abs() < 0.01,
                    "{name}"
                );
                for cross in print.crosses {
                    let x = if face == Printed::Up { cross.x } else { wide - cross.x };
                    let y = high - cross.y;
                    // Beyond the ring of the one that is ringed, across each arm.
                    let level = dark_middle(&map, (x + 3.0, y - 0.8), (0.0, 1.0), 1.6);
                    let upright = dark_middle(&map, (x - 0.8, y + 3.0), (1.0, 0.0), 1.6);
                    assert!(
                        (level - 0.8).abs() < 0.15 && (upright - 0.8).abs() < 0.15,
                        "{name}: {cross:?} {level} {upright}"
                    );
                }
            }
        }
    }
}

/// The PDF has the page of the sheet: read as a stream of objects, whose page box ISO 32000-2, 7.7.3.3, counts in points.
/// `tests/measure-pages.py` looks at it with poppler.
#[test]
fn there_is_a_pdf_beside_each_drawing() {
    let analysis = dial(DIALS[0]);
    let dial = &analysis.dials[0];
    let plan = dial.made().unwrap().0;
    let sheets = output::sheets_together(&dial.design.full_title(), plan).unwrap();
    let drawn = folder(&analysis).drawings;
    let names: Vec<String> =
        drawn.keys().filter(|name| name.contains("-print")).map(|it| it.replace(".svg", ".pdf")).collect();
    assert_eq!(sheets.iter().map(|it| it.name.clone()).collect::<Vec<_>>(), names);
    assert!(!names.is_empty() && sheets.iter().all(|it| it.bytes.starts_with(b"%PDF-")));
}

/// The box of all that a part takes of its board.
fn taken(board: &Board) -> Vec<(String, Rect)> {
    let cuts = board.setups.iter().flat_map(|setup| &setup.operations);
    let cuts = cuts.filter(|it| matches!(it.kind, dialwright::plan::OperationKind::Cut { .. }));
    cuts.filter_map(|it| Some((it.part.clone()?, it.path()?.bounding_box()))).collect()
}

#[test]
fn crosses_stand_clear_of_parts_and_within_the_border() {
    let mut looked = 0;
    for name in DIALS {
        let analysis = dial(name);
        let border = analysis.dials[0].design.printer.border.as_mm();
        for board in boards(&analysis) {
            let Some(print) = &board.print else { continue };
            let sheet = Rect::new(0.0, 0.0, board.size.0.as_mm(), board.size.1.as_mm()).inset(-border);
            for cross in print.crosses {
                let square = Rect::from_center_size(cross, (7.99, 7.99));
                assert!(sheet.inflate(1e-9, 1e-9).contains_rect(square), "{name}: {cross:?}");
                for area in &print.up {
                    assert!(
                        !area.region.path().bounding_box().overlaps(square),
                        "{name}: {} under {cross:?}",
                        area.part
                    );
                }
                let under = taken(board).into_iter().find(|(_, part)| part.overlaps(square));
                assert_eq!(under, None, "{name}");
                looked += 1;
            }
        }
    }
    assert!(looked >= 12, "{looked}");
}

#[test]
fn what_runs_over_an_edge_lies_on_no_other_part() {
    let mut over = 0;
    for name in DIALS {
        let analysis = dial(name);
        for board in boards(&analysis) {
            let Some(print) = &board.print else { continue };
            let outlines = board.setups.iter().flat_map(|setup| &setup.operations).filter(|it| {
                let kind = &it.kind;
                matches!(kind, dialwright::plan::OperationKind::Cut { edge: dialwright::plan::CutEdge::Outline, .. })
            });
            for outline in outlines {
                let path = outline.path().unwrap();
                for area in print.up.iter().filter(|it| Some(&it.part) != outline.part.as_ref()) {
                    let (one, other) = (path.bounding_box(), area.region.path().bounding_box());
                    // Discs: what lies between their middles tells.
                    let apart = one.center().distance(other.center()) - (one.width() + other.width()) / 2.0;
                    let is_disc = (other.width() - other.height()).abs() < 0.01 && other.width() > 60.0;
                    assert!(!is_disc || apart > -0.02, "{name}: {} over {:?} by {apart}", area.part, outline.part);
                    over += usize::from(is_disc);
                }
            }
        }
    }
    assert!(over > 10, "{over}");
}

fn printed_remarks(found: &Rehearsal) -> Vec<Kind> {
    found.remarks.iter().map(|remark| remark.kind).collect()
}

/// A reader that shares nothing with the plan finds the print as it was meant; mirrored, moved, in another colour or without an
/// area it does not.
#[test]
fn a_print_that_was_mirrored_or_changed_is_found() {
    // The sound ones are read by `rehearsal`.
    let whole = folder(&dial(DIALS[2]));
    let changed = |file: &str, change: &dyn Fn(&str) -> String| {
        let mut folder = whole.clone();
        let text = String::from_utf8(folder.drawings[file].clone()).unwrap();
        let after = change(&text);
        assert!(text != after, "nothing was changed in {file}");
        folder.drawings.insert(file.to_owned(), after.into_bytes());
        printed_remarks(&read(&folder))
    };
    let under = "board-1-print-under.svg";
    let mirrored = |text: &str| text.replace("id=\"print\"", "id=\"print\" transform=\"translate(210 0) scale(-1 1)\"");
    assert!(changed(under, &mirrored).contains(&Kind::Print));
    let paler = |text: &str| text.replace("#8a1010", "#8a1011");
    assert!(changed(under, &paler).contains(&Kind::Print));
    let moved = |text: &str| text.replace("id=\"crosses\"", "id=\"crosses\" transform=\"translate(1 0)\"");
    assert!(changed("board-1-print.svg", &moved).contains(&Kind::Disagree));
    let smaller = |text: &str| text.replace("width=\"210mm\"", "width=\"205mm\"");
    assert!(changed("board-1-print.svg", &smaller).contains(&Kind::Drawing));
    let mut lost = whole.clone();
    lost.drawings.remove(under);
    let found = printed_remarks(&read(&lost));
    assert!(found.contains(&Kind::Drawing) && found.contains(&Kind::Print), "{found:?}");
}

/// A drawing is printed in the colours in which resvg 0.49 draws it: what lies on the sheet against the file itself.
#[test]
fn a_drawing_keeps_its_own_colours() {
    let analysis = dial(DIALS[0]);
    let (sheet, _, high) = pixels(&folder(&analysis).drawings["board-1-print.svg"]);
    let mask = boards(&analysis)[0].parts.iter().find(|part| part.layer == "mask").unwrap();
    let svg = std::fs::read(root().join("examples/saltmarsh/moth.svg")).unwrap();
    let tree = usvg::Tree::from_data(&svg, &usvg::Options::default()).unwrap();
    let scale = 20.0_f32;
    let size = tree.size().to_int_size();
    let mut drawn = Pixmap::new(size.width() * 20, size.height() * 20).unwrap();
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut drawn.as_mut());
    let full = |x: u32, y: u32| drawn.pixel(x, y).filter(|pixel| pixel.alpha() == 255);
    let there: Vec<(u32, u32)> = (0..drawn.height())
        .flat_map(|y| (0..drawn.width()).map(move |x| (x, y)))
        .filter(|(x, y)| full(*x, *y).is_some())
        .collect();
    let (left, right) = (there.iter().map(|it| it.0).min().unwrap(), there.iter().map(|it| it.0).max().unwrap());
    let (top, bottom) = (there.iter().map(|it| it.1).min().unwrap(), there.iter().map(|it| it.1).max().unwrap());
    let middle = (f64::from(left + right + 1) / 2.0, f64::from(top + bottom + 1) / 2.0);
    let mm = 15.0 / f64::from(bottom + 1 - top);
    let mut colours = std::collections::BTreeMap::new();
    for (x, y) in there.into_iter().step_by(37) {
        let pixel = full(x, y).unwrap();
        // Well within an area, so that no edge is looked at.
        let reach = (0.15 / mm) as u32;
        let near = [(x + reach, y), (x.saturating_sub(reach), y), (x, y + reach), (x, y.saturating_sub(reach))];
        if near.iter().any(|(x, y)| full(*x, *y) != Some(pixel)) {
            continue;
        }
        let on_part = kurbo::Point::new((f64::from(x) - middle.0) * mm, -14.0 - (f64::from(y) - middle.1) * mm);
        let at = mask.lies[0].at * on_part;
        let printed = sheet.pixel((at.x * DOTS) as u32, ((high - at.y) * DOTS) as u32).unwrap();
        let tone = |it: resvg::tiny_skia::PremultipliedColorU8| [it.red(), it.green(), it.blue()];
        assert_eq!(tone(printed), tone(pixel), "{on_part:?}");
        *colours.entry(tone(pixel)).or_insert(0) += 1;
    }
    assert!(colours.len() == 5 && colours.values().all(|count| *count > 2), "{colours:?}");
}

/// Each printed face of a sheet is paid for once.
#[test]
fn printed_faces_are_quoted() {
    for (name, faces) in [(DIALS[0], boards(&dial(DIALS[0])).len()), (DIALS[2], 2)] {
        let analysis = dial(name);
        let quote = analysis.dials[0].made().unwrap().1;
        let print: Vec<_> = quote.goods.iter().filter(|goods| goods.kind == "print").collect();
        assert_eq!(print.len(), 1, "{name}");
        assert!((print[0].amount - faces as f64).abs() < 1e-9, "{name}: {}", print[0].amount);
        let price = (name == DIALS[0]).then_some(0.12 * faces as f64);
        assert_eq!(print[0].price().map(|it| it.to_bits()), price.map(|it: f64| it.to_bits()), "{name}");
    }
}

/// What is printed needs no setup of its own face, and is told before anything is cut.
#[test]
fn a_print_comes_first_and_turns_nothing_over() {
    let analysis = dial(DIALS[2]);
    let design = &analysis.dials[0].design;
    let wheel = design.layers.iter().find(|it| it.name == "wheel").unwrap();
    assert!(
        wheel.marks.iter().any(|it| matches!(it.work, Work::Print { .. }) && it.face == dialwright::design::Face::Back)
    );
    let board = &boards(&analysis)[0];
    assert_eq!(board.setups.len(), 1, "printing both faces turns no part over");
    let told = &board.setups[0].registers;
    assert!(
        told.starts_with("First print the sheet") && told.contains("Turn it over") && told.contains("crosses"),
        "{told}"
    );
}
