//! A shop that is measured: what readings tell, the sheets that are cut to take them, and the way back into a shop file.

use std::collections::BTreeSet;
use std::fs;

use dialwright::coupon::{Job, Measurement, Row, Thing, block, cards, files, measure, readings, rows, workshop};
use dialwright::design::PassDepths;
use dialwright::diagnostics::{Problems, Style, as_text};
use dialwright::project::MemoryProject;
use dialwright::source::{Sources, Span};
use dialwright::statistics::{FittedLine, Mean};
use dialwright::units::Length;
use kurbo::Shape as _;

use crate::command_line::{reviewed, run, said};

/// Passes and depths of a worked example: two pockets after each of 1, 2, 3 and 4 passes.
const WORKED: [[f64; 2]; 4] = [[0.42, 0.45], [0.83, 0.88], [1.27, 1.22], [1.71, 1.66]];

fn close(found: f64, wanted: f64, decimals: i32) {
    assert!((found - wanted).abs() <= 0.5 * 10_f64.powi(-decimals), "{found}, not {wanted}");
}

/// By the sums of least squares and Student's t, and by scipy 1.17.1's `linregress`: both in `tests/data/worked.py`.
#[test]
fn the_line_through_a_ladder_is_that_of_the_worked_example() {
    let depths = PassDepths::new(WORKED.map(|depths| depths.map(Length::mm).to_vec()).to_vec());
    let line = depths.line().unwrap();
    close(line.slope, 0.4140, 4);
    close(line.slope_half_width(), 0.0224, 4);
    close(line.intercept, 0.0200, 4);
    close(line.intercept_half_width(), 0.0614, 4);
    close(line.deviation, 0.02898, 5);
    let third = depths.after(3).unwrap();
    close(third.reach.as_mm(), 1.262, 3);
    close(third.within.unwrap().as_mm(), 0.0761, 4);
    assert_eq!(third.to_string(), "3 passes, 1.262mm ± 0.076mm");
}

/// NIST/SEMATECH e-Handbook 1.3.5.2, confidence limits of the mean: 195 readings of heat flow, mean 9.26146, deviation
/// 0.02279, 95 % interval 9.25824 to 9.26468.
#[test]
fn the_interval_of_a_mean_is_that_of_the_handbook() {
    let (mean, deviation) = (9.261_460, 0.022_789);
    let known = Mean { mean, deviation: Some(deviation), count: 195 };
    close(known.mean - known.half_width().unwrap(), 9.258_242, 5);
    close(known.mean + known.half_width().unwrap(), 9.264_679, 5);
    assert_eq!(Mean::of(&[2.95]).unwrap().half_width(), None);
}

/// NIST/SEMATECH e-Handbook, "Norris" reference line (Statistical Reference Datasets, linear regression, lower difficulty):
/// certified slope 1.00211681802045, intercept -0.262323073774029, residual deviation 0.884796396144373.
#[test]
fn a_certified_line_is_met() {
    let norris = [
        (0.2, 0.1),
        (337.4, 338.8),
        (118.2, 118.1),
        (884.6, 888.0),
        (10.1, 9.2),
        (226.5, 228.1),
        (666.3, 668.5),
        (996.3, 998.5),
        (448.6, 449.1),
        (777.0, 778.9),
        (558.2, 559.2),
        (0.4, 0.3),
        (0.6, 0.1),
        (775.5, 778.1),
        (666.9, 668.8),
        (338.0, 339.3),
        (447.5, 448.9),
        (11.6, 10.8),
        (556.0, 557.7),
        (228.1, 228.3),
        (995.8, 998.0),
        (887.6, 888.8),
        (120.2, 119.6),
        (0.3, 0.3),
        (0.3, 0.6),
        (556.8, 557.6),
        (339.1, 339.3),
        (887.2, 888.0),
        (999.0, 998.5),
        (779.0, 778.9),
        (11.1, 10.2),
        (118.3, 117.6),
        (229.2, 228.9),
        (669.1, 668.4),
        (448.9, 449.2),
        (0.5, 0.2),
    ];
    let line = FittedLine::through(&norris).unwrap();
    close(line.slope, 1.002_116_818_020_45, 12);
    close(line.intercept, -0.262_323_073_774_029, 10);
    close(line.deviation, 0.884_796_396_144_373, 10);
}

const SHOP: &str = include_str!("../../examples/saltmarsh/shop.dial");

fn shop(text: &str) -> dialwright::coupon::Workshop {
    workshop(&MemoryProject::default().with("shop.dial", text), "shop.dial", "").unwrap()
}

/// The table for birch and its magnet, filled in as someone at the bench would.
fn filled() -> String {
    let shop = shop(SHOP);
    let subject = shop.subject(Some("birch")).unwrap();
    let mut taken: Vec<(Thing, usize)> = Vec::new();
    let lines = rows(&subject, &cards(&subject)).into_iter().filter_map(|row| {
        let nth = taken.iter().filter(|(thing, at)| (*thing, *at) == (row.thing, row.at.unwrap_or(0))).count();
        taken.push((row.thing, row.at.unwrap_or(0)));
        let reading = if row.reading.is_empty() { read(&row, nth)? } else { row.reading.clone() };
        let at = row.at.map(|at| at.to_string()).unwrap_or_default();
        Some(format!("{},{},{at},{reading},{},\"{}\"", row.thing.word(), row.which, row.unit, row.how))
    });
    let lines: Vec<String> = std::iter::once("thing,which,at,reading,unit,how".to_owned()).chain(lines).collect();
    lines.join("\n") + "\n"
}

/// What is read for a row, `nth` of its kind; none for pockets that burnt through.
fn read(row: &Row, nth: usize) -> Option<String> {
    let value = match row.thing {
        Thing::Thickness => [2.94, 2.97, 2.95, 2.96, 2.95][nth],
        Thing::Opening => {
            [100.16, 100.18, 100.15, 100.17][["A", "B", "C", "D"].iter().position(|it| *it == row.which)?]
        }
        Thing::Strips => [98.40, 98.38, 98.42, 98.41][nth],
        Thing::Depth => *WORKED.get(row.at? - 1)?.get(nth)?,
        Thing::Stroke => [0.20, 0.25][nth],
        Thing::Gap => [0.30, 0.35][nth],
        Thing::Diameter => [7.95, 7.96, 7.94][nth],
        Thing::Height => [1.48, 1.50, 1.49][nth],
        Thing::Fit => 8.05,
        _ => return None,
    };
    Some(format!("{value:.2}"))
}

fn measured(table: &str) -> (Option<Measurement>, Problems) {
    let mut sources = Sources::default();
    let id = sources.add("readings.csv", table);
    let (readings, mut problems) = readings(&sources, id);
    let (found, more) = measure(&readings, Span::new(id, 0..0));
    problems.extend(more);
    (found, problems)
}

fn sound(table: &str) -> Measurement {
    let (found, problems) = measured(table);
    assert!(problems.iter().next().is_none(), "{problems:?}");
    found.unwrap()
}

/// Kerf by hand: (100.16 - 98.40) / 11 = 0.16 mm and so on, common practice, no source; the interval of the mean of the four by
/// t = 3.1824 (NIST/SEMATECH e-Handbook 1.3.6.7.2).
#[test]
fn readings_give_the_figures_of_the_worked_examples() {
    let found = sound(&filled());
    let kerf = found.kerf.as_ref().unwrap();
    let each = [(100.16_f64, 98.40), (100.18, 98.38), (100.15, 98.42), (100.17, 98.41)]
        .map(|(all, strips)| (all - strips) / 11.0);
    close(each[0], 0.16, 12);
    let mean = each.iter().sum::<f64>() / 4.0;
    let deviation = (each.iter().map(|kerf| (kerf - mean).powi(2)).sum::<f64>() / 3.0).sqrt();
    close(kerf.mean.mean, mean, 12);
    close(kerf.mean.half_width().unwrap(), 3.1824 * deviation / 2.0, 5);
    let line = found.passes.0.line().unwrap();
    close(line.slope, 0.4140, 4);
    close(line.slope_half_width(), 0.0224, 4);
    close(line.intercept, 0.0200, 4);
    close(line.intercept_half_width(), 0.0614, 4);
    close(found.passes.0.after(3).unwrap().within.unwrap().as_mm(), 0.0761, 4);
    let fine = found.least_feature.as_ref().unwrap();
    assert_eq!((fine.above, fine.most), (Length::mm(0.3), Length::mm(0.35)));
    let fit = found.magnets["disc"].clearance.as_ref().unwrap();
    assert_eq!((fit.above, fit.most), (Length::mm(0.05), Length::mm(0.1)));
}

/// Readings to block to shop file: the same figures to the last bit, and sheets of that shop can be cut again.
#[test]
fn a_block_brings_back_the_same_figures() {
    let found = sound(&filled());
    let former = shop(SHOP);
    for shared in [None, Some(&former)] {
        let text = format!("shop \"Measured\"\n{}\nadhesive epoxy {{ cure 24h }}\n", block(&found, shared));
        let again = shop(&text);
        assert!(again.findings.is_empty(), "{text}\n{:?}", again.findings);
        let stock = &again.shop.stocks["birch"];
        assert_eq!(stock.thickness.mean.as_mm(), found.thickness.mean.mean);
        assert_eq!(stock.kerf.as_mm(), found.kerf.as_ref().unwrap().mean.mean);
        assert_eq!(stock.passes, found.passes.0);
        assert_eq!(stock.least_feature, Length::mm(0.35));
        let magnet = &again.shop.magnets["disc"];
        assert_eq!(magnet.clearance, Length::mm(0.1));
        close(magnet.diameter.as_mm(), 7.95, 12);
        // What is not measured is carried over where there is a shop file, and only there.
        assert_eq!(stock.cost, shared.map(|_| 3.5));
        let subject = again.subject(Some("birch")).unwrap();
        assert!(files(&subject).unwrap().iter().any(|file| file.name == "readings.csv"));
    }
}

#[test]
fn a_block_is_laid_out_in_the_one_way() {
    let text = block(&sound(&filled()), Some(&shop(SHOP)));
    assert_eq!(dialwright::format::tidied("block.dial", &text).unwrap(), text);
}

/// Every card's cuts and numbers, against the arithmetic of the card.
#[test]
fn cards_hold_what_their_rows_ask_for() {
    let shop = shop(SHOP);
    let subject = shop.subject(Some("birch")).unwrap();
    let cards = cards(&subject);
    let card = |name: &str| cards.iter().find(|card| card.name == name).unwrap();
    let lines = |name: &str| card(name).drawn.iter().filter(|drawn| drawn.job == Job::CutInside).count();
    // Ten strips: nine lines between them and the opening's edge, whose ends are the other two cuts.
    assert!(["kerf A", "kerf B", "kerf C", "kerf D"].iter().all(|name| lines(name) == 10));
    let opening = card("kerf A").drawn.iter().rfind(|drawn| drawn.job == Job::CutInside).unwrap().path.bounding_box();
    close(opening.width(), 100.0, 9);
    let steps: BTreeSet<usize> = card("depth").drawn.iter().filter_map(|drawn| passes(drawn.job)).collect();
    assert_eq!(steps.into_iter().collect::<Vec<_>>(), (1..=6).collect::<Vec<_>>());
    let pockets = card("magnet disc").drawn.iter().filter(|drawn| passes(drawn.job).is_some());
    let across: Vec<f64> = pockets.map(|drawn| drawn.path.bounding_box().width()).collect();
    for (at, width) in across.iter().enumerate() {
        close(*width, 7.9 + 0.05 * at as f64, 3);
    }
    assert_eq!(across.len(), 11);
    let asked = rows(&subject, &cards);
    assert_eq!(asked.iter().filter(|row| row.thing == Thing::Depth).count(), 12);
    assert!(asked.iter().filter(|row| row.thing == Thing::Opening).all(|row| row.at == Some(11)));
}

fn passes(job: Job) -> Option<usize> {
    if let Job::Pocket { passes } = job { Some(passes) } else { None }
}

#[test]
fn nothing_on_a_card_leaves_it_or_covers_its_number() {
    let shop = shop(SHOP);
    for stock in ["birch", "grey_card"] {
        let subject = shop.subject(Some(stock)).unwrap();
        for card in cards(&subject) {
            let (width, height) = card.size;
            let boxes: Vec<_> =
                card.drawn.iter().map(|drawn| (drawn.job, drawn.path.bounding_box(), &drawn.caption)).collect();
            for (at, (job, room, caption)) in boxes.iter().enumerate() {
                let inside =
                    room.x0 >= -1e-6 && room.y0 >= -1e-6 && room.x1 <= width + 1e-6 && room.y1 <= height + 1e-6;
                assert!(inside, "{caption} leaves card {}", card.name);
                let filled = |job: &Job| matches!(job, Job::Engrave { .. } | Job::Pocket { .. });
                for (other, there, beside) in
                    boxes.iter().skip(at + 1).filter(|(other, ..)| filled(job) && filled(other))
                {
                    let meet = room.intersect(*there);
                    assert!(meet.is_zero_area(), "{caption} and {beside} meet on card {} ({other:?})", card.name);
                }
            }
        }
    }
}

/// An independent reader of SVG finds the board in true millimetres, and every id once.
#[test]
fn sheets_are_in_true_millimetres() {
    let shop = shop(SHOP);
    let subject = shop.subject(Some("birch")).unwrap();
    let files = files(&subject).unwrap();
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["coupon-1.svg", "readings.csv", "coupon.html"]);
    let text = std::str::from_utf8(&files[0].bytes).unwrap();
    let tree = usvg::Tree::from_str(text, &usvg::Options::default()).unwrap();
    close(f64::from(tree.size().width()) * 25.4 / 96.0, 305.0, 2);
    let room = tree.root().abs_bounding_box();
    assert!(room.x() >= 0.0 && room.right() <= tree.size().width() + 1e-3);
    let ids: Vec<&str> = text.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len());
    assert!(ids.contains(&"pocket-3") && ids.contains(&"cut-opening.kerf-A"));
    let page = std::str::from_utf8(&files[2].bytes).unwrap();
    assert!(page.contains("hydrogen") && page.contains("swallowed") && page.contains("coupon-1.svg"));
}

#[test]
fn cards_keep_clear_of_clamps_and_fit_small_boards() {
    let small =
        SHOP.replace("board 305mm by 305mm", "board 150mm by 120mm\n  keep_out circle(diameter: 30mm) at (0mm, 0mm)");
    let shop = shop(&small);
    let subject = shop.subject(Some("birch")).unwrap();
    let files = files(&subject).unwrap();
    assert!(files.iter().filter(|file| file.name.ends_with(".svg")).count() > 1);
    let strips = cards(&subject)[0].drawn.iter().filter(|drawn| drawn.job == Job::CutInside).count();
    assert!((4..10).contains(&strips), "{strips}");
    let first = std::str::from_utf8(&files[0].bytes).unwrap();
    assert!(first.contains("cut-outline"));
    let tiny = SHOP.replace("board 305mm by 305mm", "board 40mm by 40mm");
    let tiny = self::shop(&tiny);
    let refused = dialwright::coupon::files(&tiny.subject(Some("birch")).unwrap()).unwrap_err();
    assert!(refused.iter().any(|card| card.name == "kerf A"));
}

/// The command's answer to a table, in a folder of its own.
fn answered(table: &str, more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("readings.csv");
    fs::write(&path, table).unwrap();
    let output = run(&[&["coupon", "--read", path.to_str().unwrap()], more].concat());
    said(&output, folder.path())
}

#[test]
fn a_table_is_answered_with_a_block() {
    reviewed("coupon-read", &answered(&filled(), &[]));
    reviewed("coupon-read-shop", &answered(&filled(), &["examples/saltmarsh/shop.dial"]));
    reviewed("coupon-depth", &answered(&filled(), &["--depth", "1.2mm"]));
    reviewed("coupon-depth-without-unit", &answered(&filled(), &["--depth", "1.2"]));
    reviewed("coupon-depth-refused", &answered(&filled(), &["--depth", "2mm"]));
    let json = answered(&filled(), &["--message-format", "json"]);
    let json: serde_json::Value =
        serde_json::from_str(json.split("--- out\n").nth(1).unwrap().split("--- err").next().unwrap()).unwrap();
    assert_eq!(json["measured"]["depth"]["line"]["slope_mm"], 0.414);
    assert_eq!(json["measured"]["depth"]["after"][2]["within_mm"], 0.076_051);
    assert!(json["block"].as_str().unwrap().contains("kerf ["));
}

#[test]
fn a_table_with_faults_is_refused_with_reasons() {
    let table = filled();
    let head = "thing,which,at,reading,unit,how\n";
    reviewed("coupon-semicolons", &answered(&table.replace(',', ";"), &[]));
    reviewed(
        "coupon-columns",
        &answered(&table.replacen("thing,which,at,reading,unit", "thing,wich,at,reading,reading", 1), &[]),
    );
    let cells = [
        "thickness,left front,,\"2,95\",mm,",
        "thickness,right front,,2.95,,",
        "thickness,right back,,,mm,",
        "thickness,left back,,2.95,kg,",
        "thickness,middle edge,,about 3,mm,",
        "thickness,here,,-2.95,mm,",
        "colour,,,brown,,",
        "stock,,,my ply,,",
        "board,width,,305,mm,",
        "board,height,,305,mm,",
        "diameter,disc,,7.95,A,",
    ];
    reviewed("coupon-cells", &answered(&format!("{head}{}\n", cells.join("\n")), &[]));
    let incomplete = [
        "stock,,,birch,,",
        "thicknes,left front,,2.95,mm,",
        "thickness,left front,,2,95,mm,",
        "board,,,305,mm,",
        "opening,A,,100.16,mm,",
        "depth,a,0,0.42,mm,",
    ];
    reviewed("coupon-rows", &answered(&format!("{head}{}\n", incomplete.join("\n")), &[]));
    let missing = [
        "stock,,,2mm ply,,",
        "stock,,,my ply,,",
        "material,,,white vinyl,,",
        "board,height,,305,mm,",
        "opening,A,11,100.16,mm,",
        "opening,B,11,98.40,mm,",
        "strips,B,,100.16,mm,",
        "depth,a,1,0.42,mm,",
        "depth,a,3,1.27,mm,",
        "fit,disc,,8.05,mm,",
    ];
    reviewed("coupon-missing", &answered(&format!("{head}{}\n", missing.join("\n")), &[]));
    reviewed("coupon-empty", &answered("", &[]));
}

#[test]
fn readings_that_stand_out_are_refused() {
    let outlying = filled().replace("2.97,mm", "3.97,mm").replace("1.22,mm", "1.62,mm");
    reviewed("coupon-stands-out", &answered(&outlying, &[]));
    let bent = filled()
        .replace(",1.71,", ",1.30,")
        .replace(",1.66,", ",1.31,")
        .replace(",1.27,", ",1.28,")
        .replace(",1.22,", ",1.27,");
    reviewed("coupon-bends", &answered(&bent, &[]));
}

/// A spreadsheet's mark of encoding, line ends of another system, units of inches, notes and blank lines.
#[test]
fn tables_come_as_spreadsheets_save_them() {
    let table = filled();
    let saved = format!("\u{feff}{}", table.replace('\n', "\r\n"));
    assert_eq!(sound(&saved), sound(&table));
    let noted = table.replacen("thickness", "# the board is warped\n\nthickness", 1);
    assert_eq!(sound(&noted), sound(&table));
    let inches = table.replacen("305,mm", "12 1/8,in", 1).replacen("2.94,mm", "2.94 mm,", 1);
    let found = sound(&inches);
    assert_eq!(found.board.0, "12 1/8in");
    assert_eq!(found.thickness.written[0], "2.94mm");
}

#[test]
fn sheets_are_written_and_readings_never_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("cards");
    let arguments = ["coupon", "examples/saltmarsh/shop.dial", "--stock", "birch", "--out", out.to_str().unwrap()];
    let first = run(&arguments);
    reviewed("coupon", &said(&first, folder.path()));
    assert_eq!(run(&arguments).status.code(), Some(0), "an empty table may be written anew");
    fs::write(out.join("readings.csv"), filled()).unwrap();
    reviewed("coupon-again", &said(&run(&arguments), folder.path()));
    assert_eq!(fs::read_to_string(out.join("readings.csv")).unwrap(), filled());
    reviewed("coupon-which-stock", &said(&run(&["coupon", "examples/saltmarsh/shop.dial"]), folder.path()));
    let built_in = folder.path().join("nominal");
    let nominal = run(&["coupon", "--stock", "card", "--out", built_in.to_str().unwrap(), "--message-format", "json"]);
    let told: serde_json::Value = serde_json::from_slice(&nominal.stdout).unwrap();
    assert_eq!((&told["stock"], told["files"].as_array().unwrap().len()), (&"card".into(), 4));
}

#[test]
fn cards_of_a_material_that_is_not_known_come_with_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.dial");
    let text = "shop \"Ours\"\nstock sheet { material \"moon board\"; thickness 2mm; board 300mm by 200mm }\n";
    fs::write(&path, text).unwrap();
    reviewed("coupon-unknown-material", &said(&run(&["coupon", path.to_str().unwrap()]), folder.path()));
    assert!(folder.path().join("shop-sheet-coupon/coupon.html").exists());
}

/// What `passes` in a shop file may be, and what is said of others.
#[test]
fn a_ladder_is_a_list_of_depths_or_of_lists_of_readings() {
    let found = |passes: &str| {
        let text = format!("shop \"Ours\"\nstock ply {{ thickness 3mm; board 300mm by 200mm; passes {passes} }}\n");
        shop(&text).findings.iter().map(|finding| finding.finding.name()).collect::<Vec<_>>()
    };
    assert!(found("[0.42mm, 0.83mm]").is_empty());
    assert!(found("[[0.42mm, 0.45mm], [0.83mm]]").is_empty());
    assert_eq!(found("[[0.42, 0.45], [0.83mm]]"), ["wrong-kind"]);
    assert_eq!(found("[[0.42mm], []]"), ["bad-reading"]);
    assert_eq!(found("[[0.42mm], [0mm]]"), ["bad-reading"]);
    assert_eq!(found("[[0.42mm, 0.45mm], [0.41mm, 0.44mm]]"), ["bad-reading"]);
    assert_eq!(found("0.42mm"), ["wrong-kind"]);
    assert_eq!(found("[0.42mm, [0.83mm]]").len(), 1);
}

proptest::proptest! {
    /// Whatever stands in a table, there is an answer, and it can be shown.
    #[test]
    fn no_table_is_too_odd_for_an_answer(
        cells in proptest::collection::vec("(thickness|depth|opening|strips|fit|stock|board|[#\"é,0-9a-z ]{0,6})", 0..40),
        loose in "\\PC{0,40}",
    ) {
        let lines: Vec<String> = cells.chunks(6).map(|line| line.join(",")).collect();
        for table in [format!("thing,which,at,reading,unit,how\n{}\n", lines.join("\n")), loose] {
            let mut sources = Sources::default();
            let id = sources.add("readings.csv", table.as_str());
            let (readings, mut problems) = readings(&sources, id);
            problems.extend(measure(&readings, Span::new(id, 0..0)).1);
            let findings = problems.into_sorted();
            proptest::prop_assert!(!findings.is_empty());
            let said = as_text(&findings, &sources, Style::Plain);
            proptest::prop_assert!(said.contains("error"));
        }
    }
}

#[test]
fn a_table_without_end_is_refused() {
    let rows = "thickness,here,,2.95,mm,\n".repeat(2_000);
    let (found, problems) = measured(&format!("thing,which,at,reading,unit,how\n{rows}"));
    assert!(found.is_none() && problems.iter().next().unwrap().message.contains("2001 rows"));
}

#[test]
fn no_cards_are_made_of_a_plastic_with_chlorine() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.dial");
    fs::write(&path, "shop \"Ours\"\nstock sheet { material \"white PVC\"; thickness 1mm; board 300mm by 200mm }\n")
        .unwrap();
    let output = run(&["coupon", path.to_str().unwrap()]);
    reviewed("coupon-chlorine", &said(&output, folder.path()));
    let written: Vec<_> = fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(written.len(), 1);
}
