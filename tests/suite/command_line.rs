//! The command as people run it: exit codes, what is printed, what is written.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::dials::root;
use tempfile::TempDir;

/// Runs the command in the folder of the crate, without colours.
pub(crate) fn run(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(arguments).current_dir(root()).env("NO_COLOR", "1").output().unwrap()
}

/// What a run says: exit code, standard output, standard error; the folder of the test left out.
pub(crate) fn said(output: &Output, folder: &Path) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).replace(&*folder.to_string_lossy(), "DIR");
    format!("exit {:?}\n--- out\n{}--- err\n{}", output.status.code(), text(&output.stdout), text(&output.stderr))
}

pub(crate) fn reviewed(name: &str, text: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(root().join("tests/answers/command_line"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, text));
}

/// A folder with a design in it, and the design's path.
pub(crate) fn written(text: &str) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.dial");
    fs::write(&path, text).unwrap();
    (folder, path)
}

const SOUND: &str = include_str!("../../examples/first.dial");

#[test]
fn help_of_every_verb_is_as_reviewed() {
    for verb in [
        "",
        "check",
        "build",
        "audit-art",
        "rehearse",
        "measure",
        "diary",
        "seek",
        "hold",
        "portrait",
        "explain",
        "tidy",
        "diff",
        "begin",
        "adopt",
        "family",
        "gather",
        "completions",
        "manual",
        "serve-editor",
        "coupon",
        "view",
    ] {
        let output = run(&[verb, "--help"].iter().copied().filter(|word| !word.is_empty()).collect::<Vec<_>>());
        assert_eq!(output.status.code(), Some(0));
        reviewed(&format!("help-{}", if verb.is_empty() { "all" } else { verb }), &said(&output, root()));
    }
}

#[test]
fn a_build_says_in_a_few_lines_what_was_made() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("crew");
    let output = run(&["build", "examples/saltmarsh/crew.dial", "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
    let lines = String::from_utf8_lossy(&output.stdout).lines().count();
    assert!((3..=8).contains(&lines), "{lines} lines");
    reviewed("build", &said(&output, folder.path()));
    let mut names: Vec<String> =
        fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    let made = ["board-1-setup-1.svg", "board-1-setup-2.svg", "operations.json"];
    let printed = ["proof.pdf", "proof.png", "proof.svg"];
    assert_eq!(
        names,
        [&[".dialwright"], &made[..], &printed[..], &["quote.json", "run-sheet.html", "run-sheet.pdf", "viewer.html"]]
            .concat()
    );
}

#[test]
fn without_out_a_build_goes_beside_the_file() {
    let (folder, path) = written(SOUND);
    let output = run(&["build", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output, folder.path()));
    assert!(folder.path().join("own/operations.json").exists());
}

#[test]
fn a_refused_build_leaves_the_former_one_whole() {
    let (folder, path) = written(SOUND);
    run(&["build", path.to_str().unwrap()]);
    let list = folder.path().join("own/operations.json");
    let former = fs::read(&list).unwrap();
    fs::write(&path, SOUND.replace("60mm", "60")).unwrap();
    let output = run(&["build", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    reviewed("refused", &said(&output, folder.path()));
    assert_eq!(fs::read(&list).unwrap(), former);
}

#[test]
fn a_folder_with_other_things_in_it_is_not_replaced() {
    let (folder, path) = written(SOUND);
    fs::create_dir(folder.path().join("own")).unwrap();
    fs::write(folder.path().join("own/letter.txt"), "keep me").unwrap();
    let output = run(&["build", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output, folder.path()));
    assert_eq!(fs::read_to_string(folder.path().join("own/letter.txt")).unwrap(), "keep me");
}

#[test]
fn mends_that_are_certain_are_applied() {
    let (folder, path) = written(&SOUND.replace("labels", "labells"));
    let output = run(&["check", "--mend", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output, folder.path()));
    assert_eq!(fs::read_to_string(&path).unwrap(), SOUND);
}

#[test]
fn params_are_set_from_outside() {
    let folder = root();
    let crew = "examples/saltmarsh/crew.dial";
    let code = |set: &str| run(&["check", crew, "--set", set]);
    assert_eq!(code("most=7").status.code(), Some(0));
    reviewed("set-out-of-range", &said(&code("most=40"), folder));
    reviewed("set-unknown", &said(&code("acros=46mm"), folder));
    reviewed("set-without-unit", &said(&code("across=46"), folder));
    reviewed("set-unfinished", &said(&code("across=46mm +"), folder));
}

#[test]
fn one_variant_is_built_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("one");
    let lantern = "examples/saltmarsh/lantern.dial";
    let output = run(&["build", lantern, "--variant", "hand_lantern", "--out", out.to_str().unwrap()]);
    reviewed("variant", &said(&output, folder.path()));
    assert!(out.join("operations.json").exists());
    reviewed("variant-unknown", &said(&run(&["check", lantern, "--variant", "hand_lamp"]), folder.path()));
}

#[test]
fn findings_are_printed_for_programs() {
    let (_folder, path) = written(&SOUND.replace("60mm", "60"));
    let output = run(&["check", "--message-format", "json", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(report["findings"][0]["finding"], "missing-unit");
    assert_eq!(report["findings"][0]["labels"][0]["line"], 2);
    assert_eq!(report["standing"], 1);
}

#[test]
fn what_cannot_be_read_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.dial");
    let check = || said(&run(&["check", path.to_str().unwrap()]), folder.path());
    reviewed("no-file", &check());
    fs::write(&path, b"dial \"A\"\noutline \xff\xfe").unwrap();
    reviewed("no-text", &check());
    fs::File::create(&path).unwrap().set_len(50 * 1024 * 1024).unwrap();
    reviewed("fifty-megabytes", &check());
    fs::write(&path, "dial \"A\"\nwith \"shop.dial\"\n").unwrap();
    fs::File::create(folder.path().join("shop.dial")).unwrap().set_len(50 * 1024 * 1024).unwrap();
    reviewed("shared-fifty-megabytes", &check());
}

#[test]
fn findings_are_explained_by_name() {
    assert_eq!(run(&["explain", "unit-mismatch"]).status.code(), Some(0));
    assert_eq!(run(&["explain"]).status.code(), Some(0));
    let unknown = run(&["explain", "unit-mismach"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("did you mean `unit-mismatch`?"));
}

#[test]
fn ten_thousand_brackets_are_refused_in_peace() {
    let (folder, path) = written(&format!("dial \"A\"\nlet a = {}1mm{}\n", "(".repeat(10_000), ")".repeat(10_000)));
    let output = run(&["check", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1), "{}", said(&output, folder.path()));
    assert!(String::from_utf8_lossy(&output.stderr).contains("too-deep"));
}

const CREW: &str = "examples/saltmarsh/crew.dial";

/// The crew's dial with two labels off their places and two exchanged, the lower half turning.
fn misreading() -> (TempDir, PathBuf) {
    let bearings = "bearings [0deg, 36deg, 79deg, 108deg, 144deg, 160deg, 216deg, 252deg, 324deg, 288deg]";
    let crew = include_str!("../../examples/saltmarsh/crew.dial");
    let crew = crew.replace("radius out }", &format!("radius out; height 8mm; {bearings} }}"));
    let (folder, path) = written(&crew.replace("magnets(disc)", "magnets(disc) { stops 10; turning base }"));
    fs::copy(root().join("examples/saltmarsh/shop.dial"), folder.path().join("shop.dial")).unwrap();
    (folder, path)
}

#[test]
fn a_turn_shows_every_stop() {
    let output = run(&["turn", CREW]);
    assert_eq!(output.status.code(), Some(0));
    reviewed("turn", &said(&output, root()));
}

#[test]
fn a_turn_tells_programs_the_same() {
    let output = run(&["turn", CREW, "--message-format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let reading = &report["dials"][0]["readings"][0];
    assert_eq!(reading["ring"], "crew");
    assert_eq!(reading["stops"].as_array().unwrap().len(), 10);
    let fourth = &reading["stops"][3];
    assert_eq!(fourth["stops"][0], 4);
    assert_eq!(fourth["bearings_deg"][0], 108.0);
    assert_eq!((&fourth["due"], &fourth["shows"]), (&"3".into(), &"3".into()));
    let number = |name: &str| fourth[name].as_f64().unwrap();
    assert!(number("margin_mm") > 1.0 && number("slack_clockwise_deg") > 3.0 && number("yield_percent") > 99.0);
    let worst = reading["stops"].as_array().unwrap().iter().map(|stop| stop["worst_margin_mm"].as_f64().unwrap());
    assert_eq!(reading["worst_case"]["margin_mm"].as_f64(), worst.reduce(f64::min));
}

#[test]
fn a_turn_that_misreads_says_so() {
    let (folder, path) = misreading();
    let output = run(&["turn", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    reviewed("turn-misreads", &said(&output, folder.path()));
}

/// Beside `reads` nothing can be taken for a verdict: a stop that misreads has no room to read in.
#[test]
fn a_turn_that_misreads_tells_programs_one_verdict() {
    let (_folder, path) = misreading();
    let output = run(&["turn", path.to_str().unwrap(), "--message-format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let reading = &report["dials"][0]["readings"][0];
    let stops = reading["stops"].as_array().unwrap();
    let wrong: Vec<&serde_json::Value> = stops.iter().filter(|stop| stop["reads"] == false).collect();
    assert!(!wrong.is_empty() && wrong.len() < stops.len());
    for stop in &wrong {
        for name in ["slack_anticlockwise_deg", "slack_clockwise_deg", "centring_slack_mm"] {
            assert!(stop[name].is_null(), "{name} of {stop}");
        }
        for name in ["margin_mm", "worst_margin_mm"] {
            assert!(stop[name].as_f64().is_none_or(|margin| margin < 0.0), "{name} of {stop}");
        }
    }
    assert_eq!((&reading["reads"], &report["verdict"]["reads"]), (&false.into(), &false.into()));
    assert_eq!(reading["stops_misread"], wrong.len());
    assert_eq!(report["verdict"]["stops_misread"], wrong.len());
    assert!(reading["worst_case"]["margin_mm"].as_f64().is_none_or(|margin| margin < 0.0));
}

/// How many dials read right is told by every verb alike, and that it is too few may be accepted.
#[test]
fn too_few_dials_that_read_right_are_told_by_every_verb() {
    let text = fs::read_to_string(root().join("tests/ui/reading-unsure.dial")).unwrap();
    let says = |arguments: &[&str]| {
        let output = run(arguments);
        let code = output.status.code();
        (code, String::from_utf8_lossy(&output.stderr).contains("reading-unsure"))
    };
    let (folder, path) = written(&text);
    let out = folder.path().join("out");
    let build = ["build", path.to_str().unwrap(), "--out", out.to_str().unwrap()];
    for verb in [&["check", path.to_str().unwrap()][..], &["turn", path.to_str().unwrap()], &build] {
        assert_eq!(says(verb), (Some(1), true), "{verb:?}");
    }
    let (_folder, path) = written(&(text + "\naccept reading-unsure \"a game for steady hands\"\n"));
    for verb in ["turn", "check"] {
        assert_eq!(says(&[verb, path.to_str().unwrap()]), (Some(0), true), "{verb}");
    }
}

#[test]
fn pictures_of_all_stops_are_drawn() {
    let (folder, path) = misreading();
    let draw = |dial: &str, name: &str| {
        let picture = folder.path().join(name);
        let output = run(&["turn", dial, "--picture", picture.to_str().unwrap()]);
        (output.status.code(), fs::read(picture).unwrap_or_default())
    };
    let (code, sound) = draw(CREW, "crew.svg");
    assert_eq!(code, Some(0));
    assert_eq!(sound, draw(CREW, "again.svg").1);
    let (code, bad) = draw(path.to_str().unwrap(), "bad.svg");
    assert_eq!(code, Some(1));
    let texts = [sound, bad].map(|bytes| String::from_utf8(bytes).unwrap());
    for text in &texts {
        // An independent reader of SVG finds something drawn, and no text that would need a font.
        let tree = usvg::Tree::from_str(text, &usvg::Options::default()).unwrap();
        assert!(tree.root().abs_bounding_box().width() > 100.0 && !text.contains("<text"));
    }
    assert_eq!(texts[0].matches("misreads:").count(), 0);
    assert_eq!(texts[1].matches("misreads:").count(), MISREAD);
    let (_, png) = draw(CREW, "crew.png");
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n") && png.len() > 10_000);
    assert_eq!(draw(CREW, "crew.bmp"), (Some(2), Vec::new()));
}

const CLICKS: &str = "tests/dials/07-clicks.dial";

#[test]
fn holding_is_told_in_plain_words() {
    for (name, dial) in [("hold", CREW), ("hold-toll", "examples/saltmarsh/toll.dial"), ("hold-clicks", CLICKS)] {
        let output = run(&["hold", dial]);
        assert!(output.status.code() < Some(2));
        reviewed(name, &said(&output, root()));
    }
    let riveted = run(&["hold", "examples/saltmarsh/weather.dial"]);
    assert_eq!(riveted.status.code(), Some(0));
    reviewed("hold-rivet", &said(&riveted, root()));
}

#[test]
fn holding_tells_programs_the_same() {
    let output = run(&["hold", CLICKS, "--message-format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let holding = &report["dials"][0]["holding"];
    let turn = &holding["turns"][0];
    let held = &turn["magnets"];
    // 2 (1.617 - 1.5 - 0.05) + 2 x 0.015 mm, by hand: four passes go 1.617 mm deep.
    assert_eq!(held["gap_mm"], 0.164);
    let shares: f64 = held["causes"].as_array().unwrap().iter().map(|cause| cause["share"].as_f64().unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-4);
    assert_eq!(held["clicks"]["stops"].as_array().unwrap().len(), 8);
    assert_eq!(held["clicks"]["upper"]["magnets"].as_array().unwrap().len(), 8);
    assert_eq!(holding["magnets_on_axis"].as_array().unwrap().len(), 2);
    assert!(holding["cautions"].as_array().unwrap().iter().any(|text| text.as_str().unwrap().contains("swallowed")));
}

#[test]
fn curves_of_holding_are_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let draw = |dial: &str, name: &str| {
        let plot = folder.path().join(name);
        let output = run(&["hold", dial, "--plot", plot.to_str().unwrap()]);
        (output.status.code(), fs::read(plot).unwrap_or_default())
    };
    let (_, clicks) = draw(CLICKS, "clicks.svg");
    assert_eq!(clicks, draw(CLICKS, "again.svg").1);
    let text = String::from_utf8(clicks).unwrap();
    let tree = usvg::Tree::from_str(&text, &usvg::Options::default()).unwrap();
    assert!(tree.root().abs_bounding_box().width() > 100.0 && !text.contains("<text"));
    assert!(text.contains("8 stops, 8 rests."));
    let (_, png) = draw(CREW, "crew.png");
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n") && png.len() > 10_000);
    // Nothing to draw, and no picture that can be drawn.
    assert_eq!(draw("examples/saltmarsh/weather.dial", "weather.svg"), (Some(2), Vec::new()));
    assert_eq!(draw(CREW, "crew.bmp"), (Some(2), Vec::new()));
}

/// How many stops of [`misreading`] misread.
const MISREAD: usize = 5;

#[test]
fn artwork_is_audited_by_itself() {
    let (shared, folder) = ("tests/ui/shared", tempfile::tempdir().unwrap());
    let audit = |arguments: &[&str]| run(&[&["audit-art"], arguments].concat());
    let harbour = format!("{shared}/harbour.png");
    reviewed("audit-art", &said(&audit(&[&harbour]), folder.path()));
    let smeared = format!("{shared}/smeared.png");
    reviewed("audit-art-json", &said(&audit(&[&smeared, "--message-format", "json"]), folder.path()));
    reviewed("audit-art-drawing", &said(&audit(&["tests/dials/goods.svg", "--part", "wheat"]), folder.path()));
    let high = ["tests/dials/goods.svg", "--part", "wheat", "--height", "9mm"];
    reviewed("audit-art-height", &said(&audit(&high), folder.path()));
    reviewed("audit-art-height-refused", &said(&audit(&["tests/dials/goods.svg", "--height", "9"]), folder.path()));
    reviewed("audit-art-refused", &said(&audit(&[&format!("{shared}/bomb.png")]), folder.path()));
    let codes = |arguments: &[&str]| audit(arguments).status.code();
    assert_eq!(codes(&["tests/dials/goods.svg"]), Some(0));
    assert_eq!(codes(&[&harbour, "--tone", "#204080"]), Some(0));
    assert_eq!(codes(&[&harbour, "--tone", "blue"]), Some(2));
    assert_eq!(codes(&[&harbour, "--threshold", "0%"]), Some(2));
    assert_eq!(codes(&["tests/dials/no-such.png"]), Some(2));
    for name in ["sheet.svg", "sheet.png", "sheet.bmp"] {
        let path = folder.path().join(name);
        let code = codes(&[&smeared, "--picture", path.to_str().unwrap()]);
        let written = fs::read(&path).unwrap_or_default();
        match name {
            "sheet.svg" => assert!(code == Some(1) && written.starts_with(b"<?xml")),
            "sheet.png" => assert!(code == Some(1) && written.starts_with(b"\x89PNG")),
            _ => assert!(code == Some(2) && written.is_empty()),
        }
    }
}
