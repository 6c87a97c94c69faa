//! The line that sums up what a design comes to, in each of its forms, and that no form for programs says otherwise.

use dialwright::analysis::{Analysis, Reading, Request, Verdict, analyse};
use dialwright::project::MemoryProject;
use serde_json::Value;

use crate::command_line::{run, written};

const SOUND: &str = include_str!("../../examples/first.dial");

fn analysed(text: &str) -> Analysis {
    analyse(&MemoryProject::default().with("own.dial", text), "own.dial", "", &Request::default()).unwrap()
}

/// The verdict without its last part, what was found, and as if it were not known how sure the readings are.
fn said(text: &str) -> String {
    as_drawn(&analysed(text))
}

fn as_drawn(analysis: &Analysis) -> String {
    let reading = analysis.verdict.reading.map(|reading| Reading { share: None, ..reading });
    let said = Verdict { reading, ..analysis.verdict.clone() }.to_string();
    said.rsplit_once("; ").map_or(said.clone(), |(proven, _)| proven.to_owned())
}

fn with(more: &str) -> String {
    format!("{SOUND}{more}\n")
}

#[test]
fn a_sound_dial_reads_and_holds_and_nothing_is_claimed_of_a_slot_that_is_not_stated() {
    assert_eq!(said(SOUND), "1 dial: reads right at all 10 stops, as drawn; holds");
    assert_eq!(said(&with("run 8")), "8 dials: read right at all 10 stops, as drawn; hold");
}

#[test]
fn a_plate_that_asks_for_nothing_is_told_of_as_such() {
    let plate = "dial \"Plate\"\noutline circle(diameter: 50mm)\nlayer base of birch { }\n";
    assert!(said(plate).starts_with("1 dial: "), "{}", said(plate));
    assert!(!said(plate).contains("read") && !said(plate).contains("hold") && !said(plate).contains("fit"));
}

#[test]
fn a_slot_is_told_of_by_how_the_dial_lies_in_it() {
    let slot = |across: &str| with(&format!("slot {across} by {across}"));
    assert!(said(&slot("62mm")).ends_with("; holds; fits"), "{}", said(&slot("62mm")));
    assert!(said(&slot("50mm")).ends_with("; does not fit the slot"), "{}", said(&slot("50mm")));
    // A square fits a square slot at each of four stops, and turns in it only where its corners have room: up to 84.85mm.
    let square = |across: &str| {
        let square =
            SOUND.replace("circle(diameter: 60mm)", "rectangle(width: 60mm, height: 60mm)").replace("0 to 9", "0 to 3");
        format!("{square}slot {across} by {across}\n")
    };
    assert!(
        said(&square("84mm")).ends_with("; fits at every stop but does not turn in the slot"),
        "{}",
        said(&square("84mm"))
    );
    assert!(said(&square("85mm")).ends_with("; holds; fits"), "{}", said(&square("85mm")));
}

#[test]
fn stops_that_misread_are_counted_once_however_many_rings_are_read_there() {
    let wide = SOUND.replace("labels 0 to 9", "labels 0 to 9; height 12mm");
    assert_eq!(said(&wide), "1 dial: 10 of 10 stops misread; holds");
}

#[test]
fn a_rivet_is_not_said_to_hold() {
    let riveted = include_str!("../dials/06-riveted-card.dial");
    let shop = include_str!("../dials/shop.dial");
    let project = MemoryProject::default().with("own.dial", riveted).with("shop.dial", shop);
    let analysis = analyse(&project, "own.dial", "", &Request::default()).unwrap();
    assert_eq!(as_drawn(&analysis), "24 dials: read right at all 5 stops, as drawn");
}

#[test]
fn what_cannot_be_built_claims_nothing() {
    let unread = analysed(&SOUND.replace("60mm", "60")).verdict;
    assert_eq!(unread.to_string(), "cannot be built: 1 error");
    assert_eq!((unread.is_ready(), unread.reads(), unread.holds(), unread.fits()), (false, None, None, None));
    let hidden =
        analysed(&SOUND.replace("labels 0 to 9", "labels 0 to 9; first 36deg; radius 20mm; height 5mm")).verdict;
    assert_eq!(
        hidden.to_string(),
        "1 dial cannot be built: 10 of 10 stops misread; holds; 1 error, 2 pieces of advice"
    );
}

#[test]
fn a_variant_that_cannot_be_built_is_counted() {
    let text = "dial \"Plates\"\nparam across: length = 50mm\noutline circle(diameter: across)\nlayer base of birch { }\n\
                family { each across in [40mm, 50mm, 900mm] }\n";
    let analysis = analysed(text);
    assert!(
        analysis.verdict.to_string().starts_with("3 variants, 1 of which cannot be built: "),
        "{}",
        analysis.verdict
    );
    assert_eq!(analysis.failed.len(), 1);
}

/// Each verb that looks at a whole dial says the same, as text and for programs, and its exit code agrees.
#[test]
fn every_verb_gives_one_verdict() {
    let misread = SOUND.replace("labels 0 to 9", "labels 0 to 9; height 12mm");
    for (text, code) in [(SOUND, 0), (misread.as_str(), 1)] {
        let (folder, path) = written(text);
        let (file, out) = (path.to_str().unwrap(), folder.path().join("out").display().to_string());
        let mut all = Vec::new();
        for verb in ["check", "turn", "hold", "build"] {
            let words: &[&str] =
                if verb == "build" { &["build", file, "--no-print", "--out", &out] } else { &[verb, file] };
            let output = run(words);
            assert_eq!(output.status.code(), Some(code), "{verb}");
            let printed = String::from_utf8(output.stdout).unwrap();
            let line = printed.lines().find_map(|line| line.strip_prefix("verdict    ")).map(str::to_owned);
            let json = run(&[words, &["--message-format", "json"]].concat());
            let json: Value = serde_json::from_slice(&json.stdout).unwrap();
            let verdict = json["verdict"].clone();
            assert_eq!(verdict["says"].as_str().map(str::to_owned), line, "{verb}");
            assert_eq!(verdict["ready"], code == 0, "{verb}");
            assert_eq!(verdict["reads"], code == 0, "{verb}");
            all.push((line, verdict));
        }
        // `turn` draws dials and may find more; what was proven of the dial is the same.
        let proven = |verdict: &Value| {
            ["reads", "stops", "stops_misread", "holds", "fits", "errors"].map(|part| verdict[part].clone())
        };
        assert!(all.iter().all(|(_, verdict)| proven(verdict) == proven(&all[0].1)), "{all:?}");
        assert!(all[0].0.is_some());
    }
}

/// Room round a label is no margin where something else is read in its place.
#[test]
fn no_margin_is_told_of_a_stop_that_reads_wrong() {
    let swapped = SOUND.replace("labels 0 to 9", "labels 0 to 9; first 36deg; radius 20mm; height 5mm");
    let (_folder, path) = written(&swapped);
    let output = run(&["turn", path.to_str().unwrap(), "--message-format", "json"]);
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((json["verdict"]["reads"].as_bool(), json["verdict"]["ready"].as_bool()), (Some(false), Some(false)));
    for stop in json["dials"][0]["readings"][0]["stops"].as_array().unwrap() {
        assert_eq!(stop["reads"], false);
        for margin in ["margin_mm", "worst_margin_mm"] {
            assert!(stop[margin].as_f64().is_none_or(|margin| margin < 0.0), "{stop}");
        }
    }
}
