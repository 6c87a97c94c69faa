//! Values that are found: against closed forms, against SciPy's COBYLA and grids (`tests/data/seek.json`), whatever the threads and the
//! order of lines; what is wrong with a question; what is written.

use std::fs;

use serde_json::Value;

use crate::command_line::{reviewed, run, said, written};
use crate::dials::root;
use dialwright::limits;

const SPOTS: &str = "tests/data/seek/spots.dial";
const PLATE: &str = "tests/data/seek/plate.dial";

fn sought(arguments: &[&str]) -> Value {
    let output = run(&[&["seek", "--message-format", "json"], arguments].concat());
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", said(&output, root())))
}

fn measured(answer: &Value) -> f64 {
    answer["best"]["measured"]["value"].as_f64().unwrap_or_else(|| panic!("{answer:#}"))
}

/// out = (D/2 + d/2 + g) / (2 sin 18deg), across = 2 (out + D/2 + r) with D = d + 2m, of d 5 mm, m 1 mm, g 0.9 mm and r 2 mm.
#[test]
fn a_dial_of_spots_comes_to_the_closed_form() {
    let wishes =
        ["--where", "margin(spots) >= 1mm and centring_slack(spots) >= 0.9mm and across / 2 - out - hole / 2 >= 2mm"];
    let answer = sought(&[&[SPOTS, "--free", "across,hole,out", "--least", "across"], &wishes[..]].concat());
    let out = (3.5 + 2.5 + 0.9) / (2.0 * 18.0_f64.to_radians().sin());
    let wanted = 2.0 * (out + 3.5 + 2.0);
    assert!((measured(&answer) - wanted).abs() < 0.01, "{} {wanted}", measured(&answer));
    assert_eq!((&answer["best"]["proven"], &answer["outcome"]), (&true.into(), &"best".into()));
    let golden = (1.0 + 5.0_f64.sqrt()) / 2.0;
    let prices = answer["best"]["held_by"].as_array().unwrap();
    let wanted = [
        ("margin(spots) >= 1mm", 2.0 + 2.0 * golden),
        ("centring_slack(spots) >= 0.9mm", 2.0 * golden),
        ("across / 2 - out - hole / 2 >= 2mm", 2.0),
    ];
    for (limit, wanted) in wanted {
        let price = prices
            .iter()
            .find(|price| price["limit"] == format!("`{limit}`"))
            .unwrap_or_else(|| panic!("{limit}: {answer:#}"));
        let costs = price["price"]["costs"].as_f64().unwrap();
        assert!((costs - wanted).abs() < 0.03, "{limit} costs {costs}, not {wanted}");
    }
    assert!(answer["looked_at"].as_u64().unwrap() < 120, "{}", answer["looked_at"]);
}

/// The rounded design is the best of the lattice: both the numbers that the closed form rounds to and the proof.
#[test]
fn what_is_rounded_is_proven_and_written_and_nothing_else_changes() {
    let text = fs::read_to_string(root().join(PLATE)).unwrap();
    let (folder, path) = written(&text);
    let path = path.to_str().unwrap();
    let arguments = ["seek", path, "--free", "across", "--least", "across", "--where", "web(base) >= 5.03mm"];
    let output = run(&[&arguments[..], &["--by", "0.1mm", "--write"]].concat());
    reviewed("seek-write", &said(&output, folder.path()));
    assert_eq!(output.status.code(), Some(0));
    // 2 x (4 + 6 + 5.03) is 30.06.
    assert_eq!(fs::read_to_string(path).unwrap(), text.replace("across: length = 60mm", "across: length = 30.1mm"));
    let inches = run(&[&arguments[..], &["--by", "1/16in"]].concat());
    assert!(String::from_utf8_lossy(&inches.stdout).contains("across 30.1625mm"), "{}", said(&inches, folder.path()));
}

#[test]
fn how_far_params_may_go_is_told() {
    let output = run(&["seek", PLATE, "--free", "across,holes", "--where", "web(base) >= 5mm"]);
    reviewed("seek-reaches", &said(&output, root()));
}

#[test]
fn what_cannot_be_had_together_is_told() {
    let arguments = ["seek", PLATE, "--free", "across,eye", "--least", "across"];
    let output = run(&[&arguments[..], &["--where", "web(base) >= 8mm and across < 40mm and eye > 20mm"]].concat());
    reviewed("seek-impossible", &said(&output, root()));
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn a_trade_is_a_table() {
    let arguments = ["seek", PLATE, "--free", "across", "--least", "across", "--by", "0.1mm"];
    let output = run(&[&arguments[..], &["--trade", "web(base) >= 2mm to 8mm by 2mm"]].concat());
    reviewed("seek-trade", &said(&output, root()));
}

/// A count, each of its values.
#[test]
fn counts_are_sought_as_well() {
    let output = run(&["seek", PLATE, "--free", "holes", "--most", "holes", "--where", "web(base) >= 5mm"]);
    reviewed("seek-counts", &said(&output, root()));
}

#[test]
fn what_is_wrong_with_a_question_is_told() {
    let (folder, path) =
        written(&format!("{}param loose: length = 3mm\n", fs::read_to_string(root().join(PLATE)).unwrap()));
    let path = path.to_str().unwrap();
    let asked: [(&str, &[&str]); 10] = [
        ("seek-nothing-free", &["--least", "across"]),
        ("seek-unknown-param", &["--free", "acros", "--least", "across"]),
        ("seek-without-bounds", &["--free", "loose", "--least", "across"]),
        ("seek-unknown-measure", &["--free", "across", "--least", "webb(base)"]),
        ("seek-unfinished", &["--free", "across", "--least", "across +"]),
        ("seek-no-step", &["--free", "across", "--least", "across", "--by", "0mm"]),
        ("seek-step-of-nothing", &["--free", "across", "--least", "across", "--by", "1deg"]),
        ("seek-step-too-coarse", &["--free", "across", "--least", "across", "--by", "100mm"]),
        ("seek-no-trade", &["--free", "across", "--least", "across", "--trade", "web(base) >= 2mm"]),
        ("seek-trade-of-nothing", &["--free", "across", "--trade", "web(base) >= 2mm to 3mm by 1mm"]),
    ];
    for (name, arguments) in asked {
        let output = run(&[&["seek", path], arguments].concat());
        assert_ne!(output.status.code(), Some(0), "{name}");
        reviewed(name, &said(&output, folder.path()));
    }
}

/// [`limits::FREE_PARAMS`], [`limits::COMBINATIONS_SOUGHT`] and [`limits::TRADED`].
#[test]
fn more_than_is_looked_through_is_refused() {
    let names: Vec<String> = (0..=limits::FREE_PARAMS).map(|at| format!("p{at}")).collect();
    let params: String = names.iter().map(|name| format!("param {name}: length = 1mm from 1mm to 2mm\n")).collect();
    let counts = format!("param n: count = 1 from 1 to {}\n", limits::COMBINATIONS_SOUGHT + 1);
    let (folder, path) = written(&format!("{}{params}{counts}", fs::read_to_string(root().join(PLATE)).unwrap()));
    let path = path.to_str().unwrap();
    let free = names.join(",");
    reviewed("seek-too-wide", &said(&run(&["seek", path, "--free", &free, "--least", "across"]), folder.path()));
    reviewed("seek-too-many", &said(&run(&["seek", path, "--free", "n,across", "--least", "across"]), folder.path()));
    let most = format!("across >= 60mm to 61mm by 1mm / {}", 2 * limits::TRADED);
    let answer = sought(&[path, "--free", "across", "--least", "across", "--trade", &most]);
    assert_eq!(answer["trade"].as_array().unwrap().len(), limits::TRADED);
}

/// The same bytes on one thread and on three, with the params named the other way round, and with the lines of the file turned about.
#[test]
fn the_answer_does_not_depend_on_threads_or_order() {
    let wishes = ["--least", "across", "--where", "web(base) >= 5mm and eye >= 10mm and off > 3mm"];
    let ask = |path: &str, free: &str, jobs: &str| {
        let output = run(&[&["seek", path, "--free", free, "--jobs", jobs, "--by", "0.1mm"], &wishes[..]].concat());
        assert_eq!(output.status.code(), Some(0), "{}", said(&output, root()));
        String::from_utf8(output.stdout).unwrap()
    };
    let one = ask(PLATE, "across,eye,off", "1");
    assert_eq!(one, ask(PLATE, "off,across,eye", "3"));
    let text = fs::read_to_string(root().join(PLATE)).unwrap();
    let (params, rest): (Vec<&str>, Vec<&str>) = text.lines().partition(|line| line.starts_with("param"));
    let turned = rest.into_iter().chain(params.into_iter().rev()).collect::<Vec<_>>().join("\n");
    let (_folder, path) = written(&turned);
    assert_eq!(one, ask(path.to_str().unwrap(), "eye,off,across", "2"));
}

#[test]
fn answers_keep_their_schema() {
    let schema: Value = serde_json::from_str(include_str!("../../grammar/seek.schema.json")).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let (_folder, stated) = written(STATED);
    let asked: [&[&str]; 5] = [
        &[
            "--free",
            "across",
            "--least",
            "across",
            "--where",
            "web(base) >= 5mm",
            "--trade",
            "web(base) >= 6mm to 7mm by 1mm",
        ],
        &["--free", "across"],
        &["--free", "across", "--least", "across", "--where", "web(base) >= 50mm"],
        &["--free", "acros"],
        &["--trade", "across"],
    ];
    let asked = asked.into_iter().map(|arguments| [&[PLATE], arguments].concat());
    for arguments in asked.chain([vec![stated.to_str().unwrap(), "smallest"]]) {
        let said = sought(&arguments);
        let faults: Vec<String> = validator.iter_errors(&said).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{arguments:?}: {faults:?}\n{said:#}");
    }
    assert!(!validator.is_valid(&serde_json::json!({ "version": 1, "outcome": "best" })));
}

/// A room of the script, `web(base) - 5` or `40 - across` in mm, as a condition.
fn condition(room: &str) -> String {
    let (left, right) = room.split_once(" - ").unwrap();
    if left.parse::<f64>().is_ok() { format!("{right} <= {left}mm") } else { format!("{left} >= {right}mm") }
}

/// SciPy's COBYLA and grids see what `check` tells, and neither finds anything better by more than 0.1 mm.
#[test]
fn no_other_tool_finds_anything_better() {
    let answers: Value =
        serde_json::from_str(&fs::read_to_string(root().join("tests/data/seek.json")).unwrap()).unwrap();
    let answers = answers["answers"].as_array().unwrap();
    assert!(answers.len() >= 9);
    for other in answers {
        let texts = |word: &str| other[word].as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned());
        let wishes: Vec<String> = texts("rooms").map(|room| condition(&room)).collect();
        let (file, free) =
            (format!("tests/data/seek/{}.dial", other["file"].as_str().unwrap()), texts("free").collect::<Vec<_>>());
        let least = format!("--least={}", other["least"].as_str().unwrap());
        let answer = sought(&[&file, "--free", &free.join(","), &least, "--where", &wishes.join(" and ")]);
        let best = ["cobyla", "grid"].map(|by| other[by].as_f64().unwrap()).into_iter().fold(f64::INFINITY, f64::min);
        assert!(measured(&answer) <= best + 0.1, "{other}: {}", measured(&answer));
        assert_eq!(answer["best"]["proven"], true, "{other}");
    }
}

/// Magnets, stocks and finishes are chosen by name: the wider magnet pulls harder, and the thinner stack is of the thinner stock.
#[test]
fn things_of_the_shop_are_chosen() {
    const THINGS: &str = "tests/data/seek/things.dial";
    let strongest = sought(&[THINGS, "--free", "held,look", "--most", "lift_off(cover)"]);
    assert_eq!(strongest["best"]["values"]["held"], "wide", "{strongest:#}");
    let thickest = sought(&[THINGS, "--free", "wood", "--most", "thickness()"]);
    assert_eq!(thickest["best"]["values"]["wood"], "thick_ply", "{thickest:#}");
    assert_eq!(thickest["looked_at"], 2);
    let set = run(&["check", THINGS, "--set", "held=wide", "--set", "wood=thick_ply", "--set", "look=noon"]);
    assert_eq!(set.status.code(), Some(0), "{}", said(&set, root()));
    // A stock is no magnet.
    assert_eq!(run(&["check", THINGS, "--set", "held=ply"]).status.code(), Some(1));
}

/// What the file itself seeks: a dial whose values are not those.
const STATED: &str = r#"dial "Plate"
param across: length = 36mm from 20mm to 90mm   // how wide
param eye: length = 12mm from 4mm to 30mm
outline circle(diameter: across)
layer base of birch { hole peep = circle(diameter: eye) }


seek smallest {
  free [across, eye]
  least across
  keep [web(base) >= 4.98mm, eye >= 10.03mm]
  step 0.1mm
}
seek widest { free eye; most eye; keep web(base) >= 4.98mm }
"#;

fn checked(path: &str) -> (Option<i32>, String) {
    let output = run(&["check", path]);
    (
        output.status.code(),
        String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout),
    )
}

/// `check` tells of values that are not the best; a name chooses one search; what is written by all of them is what `check` asks
/// for, and nothing else of the file changes.
#[test]
fn what_the_file_seeks_is_found_written_and_checked() {
    let (folder, path) = written(STATED);
    let path = path.to_str().unwrap();
    reviewed("seek-not-the-best", &said(&run(&["check", path]), folder.path()));
    reviewed("seek-stated", &said(&run(&["seek", path, "smallest", "--write"]), folder.path()));
    // 10.1 is the first tenth from 10.03, and 10.1 + 2 x 4.98 is 20.06.
    let smallest =
        STATED.replace("length = 36mm", "length = 20.1mm").replace("eye: length = 12mm", "eye: length = 10.1mm");
    assert_eq!(fs::read_to_string(path).unwrap(), smallest);
    let all = sought(&[path, "--write"]);
    let names: Vec<&str> = all["seeks"].as_array().unwrap().iter().filter_map(|seek| seek["name"].as_str()).collect();
    assert_eq!(names, ["smallest", "widest"]);
    let (code, told) = checked(path);
    assert!(code == Some(0) && !told.contains("not-the-best") && !told.contains("not-kept"), "{told}");
}

/// Two whole steps too narrow.
#[test]
fn what_is_no_longer_kept_is_told_unless_it_is_accepted() {
    let (folder, path) = written(&STATED.replace("length = 36mm", "length = 20mm"));
    let output = run(&["check", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    reviewed("seek-not-kept", &said(&output, folder.path()));
    let accept = |on: &str, found: &str| format!("accept {found} on {on} \"as the client wants it\"\n");
    let accepted = format!(
        "{}{}",
        STATED.replace("seek widest { free eye; most eye; keep web(base) >= 4.98mm }", ""),
        accept("smallest", "not-the-best")
    );
    let (_folder, path) = written(&accepted);
    let (code, told) = checked(path.to_str().unwrap());
    assert!(code == Some(0) && told.contains("as the client wants it") && !told.contains("accepts-nothing"), "{told}");
    let (_folder, path) = written(&(accepted + &accept("smallest", "not-kept")));
    assert!(checked(path.to_str().unwrap()).1.contains("accepts-nothing"));
}

#[test]
fn a_name_that_the_file_does_not_seek_is_told() {
    let (folder, path) = written(STATED);
    let output = run(&["seek", path.to_str().unwrap(), "largest"]);
    assert_eq!(output.status.code(), Some(2));
    reviewed("seek-unknown-name", &said(&output, folder.path()));
}
