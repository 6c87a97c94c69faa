//! Families as people and schedulers build them: real processes, their folders compared byte for byte.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use crate::command_line::{reviewed, run, said};

const FAMILY: &str = r#"dial "Buoys"
with "shop.dial"
param across: length = 50mm from 40mm to 70mm
param most: count = 4
param mark: text = "ring"
outline circle(diameter: across)
let sign = if mark is "star" then art("star.svg", height: 6mm) else circle(diameter: 5mm)
layer base of birch { engrave ring points { labels 0 to most; height 5mm } }
layer cover of birch {
  window peep = circle(diameter: 10mm) at polar(across / 3, 0deg)
  engrave sign at (0mm, -10mm)
}
stack { base; turn on magnets(disc); cover }
reads points through peep
family {
  each across in [46mm, 50mm, 54mm]
  each most in [4, 6]
  leave out across is 54mm and most is 4
  variant starred { mark = "star" }
  variant too_small { across = 30mm }
}
"#;
const SHOP: &str = include_str!("../../examples/saltmarsh/shop.dial");
const STAR: &str =
    r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20"><path d="M2 18 L10 2 L18 18 Z"/></svg>"#;
/// The variants in the order of the file.
const NAMES: [&str; 7] = [
    "across_46mm-most_4",
    "across_46mm-most_6",
    "across_50mm-most_4",
    "across_50mm-most_6",
    "across_54mm-most_6",
    "starred",
    "too_small",
];

/// A folder with the family, its shop and its artwork.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        for (name, text) in [("buoys.dial", FAMILY), ("shop.dial", SHOP), ("star.svg", STAR)] {
            fs::write(bench.path(name), text).unwrap();
        }
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(arguments).current_dir(self.folder.path()).env("NO_COLOR", "1");
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    fn started(&self, arguments: &[&str]) -> Child {
        self.command(arguments).spawn().unwrap()
    }

    /// Builds the family with some more flags, and gives what it says to programs under `built`.
    fn built(&self, more: &[&str]) -> Value {
        let flags = ["build", "buoys.dial", "--no-print", "--message-format", "json"];
        let output = self.run(&[&flags, more].concat());
        let said: Value = serde_json::from_slice(&output.stdout).unwrap();
        said["built"].clone()
    }

    fn tree(&self, name: &str) -> BTreeMap<String, Vec<u8>> {
        tree(&self.path(name))
    }
}

/// Every file below a folder, with what is in it.
fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
                all.insert(name, fs::read(path).unwrap());
            }
        }
    }
    all
}

fn counts(built: &Value) -> [u64; 3] {
    ["anew", "from_cache", "as_before"].map(|how| built[how].as_u64().unwrap())
}

#[test]
fn variants_are_listed_with_their_params() {
    let bench = Bench::new();
    let output = bench.run(&["family", "buoys.dial"]);
    assert_eq!(output.status.code(), Some(0));
    reviewed("family", &said(&output, bench.folder.path()));
    let only = bench.run(&[
        "family",
        "buoys.dial",
        "--only",
        "across is 46mm or mark is \"star\"",
        "--message-format",
        "json",
    ]);
    let listed: Value = serde_json::from_slice(&only.stdout).unwrap();
    let names: Vec<&str> =
        listed["variants"].as_array().unwrap().iter().map(|it| it["variant"].as_str().unwrap()).collect();
    assert_eq!(names, [NAMES[0], NAMES[1], "starred"]);
    let plain = run(&["family", "examples/first.dial"]);
    assert_eq!(plain.status.code(), Some(2));
    assert_eq!(String::from_utf8_lossy(&plain.stderr), "dialwright: `examples/first.dial` has no family\n");
}

#[test]
fn a_variant_that_fails_stops_no_other_and_the_summary_says_why() {
    let bench = Bench::new();
    let output = bench.run(&["build", "buoys.dial", "--no-print", "--out", "all"]);
    assert_eq!(output.status.code(), Some(1));
    reviewed("family-build", &said(&output, bench.folder.path()));
    let tree = bench.tree("all");
    for name in &NAMES[..6] {
        assert!(tree.contains_key(&format!("{name}/operations.json")), "{name}");
    }
    assert!(!tree.keys().any(|name| name.starts_with("too_small/")));
    let table = String::from_utf8_lossy(&tree["family.md"]).into_owned();
    assert!(table.contains("- too\\_small: param-out-of-range: "), "{table}");
    reviewed("family-table", &table);
}

#[test]
fn variants_are_the_same_by_themselves_and_in_the_family_however_many_are_built_at_once() {
    let bench = Bench::new();
    bench.built(&["--out", "one", "--jobs", "1"]);
    bench.built(&["--out", "four", "--jobs", "4"]);
    let (one, four) = (bench.tree("one"), bench.tree("four"));
    assert_eq!(one, four);
    // With what is for printing, too.
    bench.run(&["build", "buoys.dial", "--only", "mark is \"star\"", "--out", "family"]);
    bench.run(&["build", "buoys.dial", "--variant", "starred", "--out", "alone"]);
    let (family, alone) = (bench.tree("family"), bench.tree("alone"));
    let mut compared = 0;
    for (name, bytes) in alone.iter().filter(|(name, _)| !name.starts_with('.')) {
        assert_eq!(family.get(&format!("starred/{name}")), Some(bytes), "{name}");
        compared += 1;
    }
    assert!(compared >= 6 && alone.contains_key("proof.pdf"), "{compared} files");
}

/// The figures of the tables are those of the quotes and operation lists beside them, read by other libraries.
#[test]
fn tables_say_what_the_files_of_each_variant_say() {
    let bench = Bench::new();
    bench.built(&["--out", "all"]);
    let tree = bench.tree("all");
    let family: Value = serde_json::from_slice(&tree["family.json"]).unwrap();
    let mut csv = csv::Reader::from_reader(tree["family.csv"].as_slice());
    let headings: Vec<String> = csv.headers().unwrap().iter().map(str::to_owned).collect();
    let rows: Vec<BTreeMap<String, String>> = csv
        .records()
        .map(|row| headings.iter().cloned().zip(row.unwrap().iter().map(str::to_owned)).collect())
        .collect();
    let variants = family["variants"].as_array().unwrap();
    assert_eq!(variants.len(), NAMES.len());
    for ((variant, row), name) in variants.iter().zip(&rows).zip(NAMES) {
        assert_eq!((variant["variant"].as_str(), row["variant"].as_str()), (Some(name), name));
        if name == "too_small" {
            assert_eq!((row["made"].as_str(), row["boards"].as_str()), ("no", ""));
            continue;
        }
        let quote: Value = serde_json::from_slice(&tree[&format!("{name}/quote.json")]).unwrap();
        let cost: f64 = row["cost"].parse().unwrap();
        assert_eq!(Some(cost), quote["price"].as_f64(), "{name}");
        assert!(
            (variant["figures"]["machine_time_s"].as_f64().unwrap() - quote["machine_s"].as_f64().unwrap()).abs()
                <= 0.05
        );
        let drawings: Vec<&String> = tree.keys().filter(|file| file.starts_with(&format!("{name}/board-"))).collect();
        let boards: std::collections::BTreeSet<&str> =
            drawings.iter().map(|file| file.split('-').rev().nth(2).unwrap()).collect();
        assert_eq!(row["boards"].parse(), Ok(boards.len()));
        let across: f64 = variant["params"]["across"].as_str().unwrap().trim_end_matches("mm").parse().unwrap();
        assert_eq!(row["width_mm"].parse(), Ok(across), "a circle is as wide as its diameter");
        for made in variant["files"].as_array().unwrap() {
            let bytes = &tree[&format!("{name}/{}", made["name"].as_str().unwrap())];
            assert_eq!(made["sha256"].as_str().unwrap(), dialwright::revision::Digest::of(bytes).to_string());
        }
    }
}

#[test]
fn only_what_has_changed_is_made_anew() {
    let bench = Bench::new();
    assert_eq!(counts(&bench.built(&["--out", "all"])), [7, 0, 0]);
    let manifest = || fs::metadata(bench.path("all/.dialwright")).unwrap().modified().unwrap();
    let before = manifest();
    assert_eq!(counts(&bench.built(&["--out", "all"])), [0, 0, 7]);
    assert_eq!(manifest(), before, "a folder in which nothing changed is left alone");
    let output = bench.run(&["build", "buoys.dial", "--no-print", "--out", "all"]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(text.contains("7 as before") && text.contains("unchanged  all"), "{text}");

    fs::write(bench.path("star.svg"), STAR.replace("L10 2", "L10 4")).unwrap();
    assert_eq!(counts(&bench.built(&["--out", "all"])), [1, 0, 6], "one variant alone shows the star");
    fs::write(bench.path("all/starred/quote.json"), "{}").unwrap();
    let again = ["--out", "all", "--replace-edited"];
    assert_eq!(counts(&bench.built(&again)), [1, 0, 6], "a file that was changed by hand is made anew");
    fs::remove_file(bench.path("all/starred/operations.json")).unwrap();
    assert_eq!(counts(&bench.built(&["--out", "all"])), [1, 0, 6]);
    assert_eq!(counts(&bench.built(&["--out", "all", "--effort", "9"])), [7, 0, 0]);
    fs::write(bench.path("shop.dial"), SHOP.replace("kerf [0.15mm, 0.17mm, 0.16mm]", "kerf 0.2mm")).unwrap();
    assert_eq!(counts(&bench.built(&["--out", "all"])), [7, 0, 0]);

    bench.built(&["--out", "fresh"]);
    assert_eq!(bench.tree("all"), bench.tree("fresh"), "what was taken over is what would be made");
    let other = bench.built(&["--out", "all", "--only", "across is 46mm"]);
    assert_eq!(counts(&other), [0, 0, 2]);
    assert!(!bench.path("all/starred").exists());
}

#[test]
fn a_family_of_which_nothing_can_be_made_leaves_the_former_build() {
    let bench = Bench::new();
    bench.built(&["--out", "all"]);
    let before = bench.tree("all");
    let output = bench.run(&["build", "buoys.dial", "--no-print", "--out", "all", "--only", "across < 40mm"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).ends_with("nothing was built: mend the errors first\n"));
    let output = bench.run(&["build", "buoys.dial", "--no-print", "--out", "all", "--only", "across > 1m"]);
    assert_eq!(
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned()),
        (Some(1), "nothing was built: no variant is as asked\n".to_owned())
    );
    assert_eq!(bench.tree("all"), before);
}

#[test]
fn shards_built_at_once_over_one_cache_join_to_the_whole() {
    let bench = Bench::new();
    bench.built(&["--out", "whole"]);
    let shards: Vec<Child> = ["1/3", "2/3", "3/3"]
        .iter()
        .map(|shard| bench.started(&["build", "buoys.dial", "--no-print", "--shard", shard, "--cache", "cache"]))
        .collect();
    for shard in shards {
        let output = shard.wait_with_output().unwrap();
        assert!(output.stdout.len() > 100, "{}", String::from_utf8_lossy(&output.stderr));
    }
    let folders = ["buoys-2-of-3", "buoys-1-of-3", "buoys-3-of-3"];
    let output = bench.run(&[&["gather"], &folders[..], &["--out", "joined"]].concat());
    assert_eq!(output.status.code(), Some(1), "a variant could not be made");
    reviewed("gather", &said(&output, bench.folder.path()));
    assert_eq!(bench.tree("joined"), bench.tree("whole"));
    assert_eq!(counts(&bench.built(&["--out", "joined"])), [0, 0, 7], "and serves as a whole build does");
    assert_eq!(counts(&bench.built(&["--out", "other", "--cache", "cache"])), [0, 7, 0]);
    assert_eq!(bench.tree("other"), bench.tree("whole"));
    let new: Vec<_> = fs::read_dir(bench.path("cache/new")).unwrap().collect();
    assert!(new.is_empty(), "nothing is left half written");
}

#[test]
fn two_builds_at_once_share_a_cache_that_survives_damage() {
    let bench = Bench::new();
    bench.built(&["--out", "whole"]);
    for _ in 0..2 {
        let both: Vec<Child> = ["a", "b"]
            .iter()
            .map(|out| bench.started(&["build", "buoys.dial", "--no-print", "--cache", "cache", "--out", out]))
            .collect();
        both.into_iter().for_each(|one| drop(one.wait_with_output().unwrap()));
        assert_eq!(bench.tree("a"), bench.tree("whole"));
        assert_eq!(bench.tree("b"), bench.tree("whole"));
        for out in ["a", "b"] {
            fs::remove_dir_all(bench.path(out)).unwrap();
        }
    }
    // One file cut short, one of the right size with other bytes, one record that is no record.
    let kept: Vec<PathBuf> =
        tree(&bench.path("cache/files")).keys().map(|name| bench.path("cache/files").join(name)).collect();
    fs::write(&kept[0], "").unwrap();
    let size = fs::metadata(&kept[1]).unwrap().len();
    fs::write(&kept[1], vec![b'x'; usize::try_from(size).unwrap()]).unwrap();
    let records = tree(&bench.path("cache/records"));
    fs::write(bench.path("cache/records").join(records.keys().next().unwrap()), "{").unwrap();
    let [anew, from_cache, _] = counts(&bench.built(&["--out", "c", "--cache", "cache"]));
    assert!((1..=3).contains(&anew) && anew + from_cache == 7, "{anew} anew");
    assert_eq!(bench.tree("c"), bench.tree("whole"));
    fs::remove_dir_all(bench.path("cache")).unwrap();
    assert_eq!(counts(&bench.built(&["--out", "d", "--cache", "cache"])), [7, 0, 0]);
}

#[test]
fn shards_that_do_not_belong_together_are_not_joined() {
    let bench = Bench::new();
    for shard in ["1/3", "2/3"] {
        bench.built(&["--shard", shard]);
    }
    bench.built(&["--shard", "3/3", "--set", "most=5", "--out", "set"]);
    bench.built(&["--shard", "1/2", "--out", "half"]);
    bench.built(&["--shard", "1/3", "--out", "twin"]);
    bench.built(&["--out", "whole"]);
    let (one, two) = ("buoys-1-of-3", "buoys-2-of-3");
    let mut answers = String::new();
    for shards in [
        vec![one, two],
        vec![one],
        vec![one, two, one],
        vec![one, two, "twin"],
        vec![one, two, "set"],
        vec![one, "half"],
        vec!["whole"],
        vec![one, "whole"],
        vec!["nowhere"],
    ] {
        let output = bench.run(&[&["gather"], &shards[..], &["--out", "joined"]].concat());
        assert_eq!(output.status.code(), Some(2));
        answers += &format!("{}\n  {}", shards.join(" "), String::from_utf8_lossy(&output.stderr));
    }
    bench.built(&["--shard", "3/3"]);
    fs::write(bench.path(one).join(NAMES[0]).join("quote.json"), "{}").unwrap();
    let output = bench.run(&["gather", one, two, "buoys-3-of-3", "--out", "joined"]);
    answers += &format!("damaged\n  {}", String::from_utf8_lossy(&output.stderr));
    for shard in ["0/3", "4/3", "3", "1/0"] {
        let output = bench.run(&["build", "buoys.dial", "--no-print", "--shard", shard]);
        assert_eq!(output.status.code(), Some(2));
        answers += &format!("--shard {shard}\n  {}", String::from_utf8_lossy(&output.stderr).lines().next().unwrap());
        answers.push('\n');
    }
    assert!(!bench.path("joined").exists());
    reviewed("gather-refused", &answers);
}

#[test]
fn the_best_variant_is_found_by_what_its_files_say() {
    let bench = Bench::new();
    bench.built(&["--out", "all"]);
    let tree = bench.tree("all");
    let price = |name: &str| {
        let quote: Value = serde_json::from_slice(&tree[&format!("{name}/quote.json")]).unwrap();
        quote["price"].as_f64().unwrap()
    };
    let mut by_price: Vec<&str> = NAMES[..6].to_vec();
    by_price.sort_by(|a, b| price(a).total_cmp(&price(b)));
    let ask = |flags: &[&str]| -> Vec<String> {
        let output = bench.run(&[&["family", "buoys.dial", "--message-format", "json"], flags].concat());
        let said: Value = serde_json::from_slice(&output.stdout).unwrap();
        said["order"].as_array().unwrap().iter().map(|it| it["variant"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(ask(&["--least", "cost"]), by_price);
    by_price.reverse();
    let most = ask(&["--most", "cost"]);
    assert_eq!(price(&most[0]), price(by_price[0]));
    assert_eq!(ask(&["--where", "width > 53mm"]), [NAMES[4]]);
    assert_eq!(
        ask(&["--where", "reads and across is 46mm and swept(cover) < 47mm", "--most", "most"]),
        [NAMES[1], NAMES[0]]
    );
    let output = bench.run(&["family", "buoys.dial", "--where", "reads and across is 46mm", "--least", "cost"]);
    assert_eq!(output.status.code(), Some(0));
    reviewed("family-best", &said(&output, bench.folder.path()));
    let none = bench.run(&["family", "buoys.dial", "--where", "width > 1m"]);
    assert_eq!(none.status.code(), Some(1));
    let lacking = bench.run(&["family", "buoys.dial", "--only", "most is 6", "--where", "fits and clearance() > 0mm"]);
    reviewed("family-lacking", &said(&lacking, bench.folder.path()));
}

#[test]
fn faults_of_a_question_are_answered_as_those_of_a_file() {
    let bench = Bench::new();
    let mut answers = String::new();
    for flags in [
        ["--where", "fitts"],
        ["--where", "least_margin > 1"],
        ["--where", "cost"],
        ["--least", "reads"],
        ["--least", "cost +"],
        ["--most", "lift_off(covr)"],
        ["--only", "fits"],
        ["--only", "acros < 50mm"],
    ] {
        let output = bench.run(&[&["family", "buoys.dial"], &flags[..]].concat());
        assert_eq!(output.status.code(), Some(1), "{flags:?}");
        assert!(output.stdout.is_empty());
        answers += &format!("{}\n{}\n", flags.join(" "), String::from_utf8_lossy(&output.stderr));
    }
    reviewed("family-questions", &answers);
}

#[test]
fn flags_of_families_are_refused_where_there_is_none() {
    let output = run(&["build", "examples/first.dial", "--shard", "1/2"]);
    assert_eq!(output.status.code(), Some(2));
    let refused = "dialwright: `--shard` is for families, and `examples/first.dial` has none\n";
    assert_eq!(String::from_utf8_lossy(&output.stderr), refused);
}
