//! The same input gives the same bytes, whatever the number of threads, the folder, the locale, the time zone or the time:
//! every file that any verb writes, and every word that it prints.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::dials::root;

/// Each verb that prints or writes, called in a folder that holds the examples.
const VERBS: [&[&str]; 30] = [
    &["build", "weather.dial", "--out", "weather"],
    &["build", "lantern.dial", "--no-print", "--jobs", "1", "--out", "lantern"],
    &["build", "lantern.dial", "--no-print", "--shard", "1/2", "--cache", "cache", "--out", "one"],
    &["build", "lantern.dial", "--no-print", "--shard", "2/2", "--jobs", "2", "--out", "two"],
    &["gather", "one", "two", "--out", "whole"],
    &["build", "crew.dial", "weather.dial", "--together", "--no-print", "--out", "together"],
    &["rehearse", "together", "--picture", "made.png"],
    &["check", "crew.dial", "lantern.dial", "--sarif", "log.sarif"],
    &["check", "toll.dial", "--message-format", "json"],
    &["turn", "crew.dial", "--picture", "stops.svg"],
    &["turn", "crew.dial", "--picture", "stops.png"],
    &["portrait", "sluice.dial", "--stop", "3", "--size", "120", "--out", "sluice.png"],
    &["portrait", "crew.dial", "--size", "80", "--out", "crew.gif"],
    &["portrait", "crew.dial", "--size", "80", "--out", "crew.svg"],
    &["hold", "crew.dial", "--plot", "pull.svg"],
    &["hold", "crew.dial", "--plot", "pull.png"],
    &["diff", "crew.dial", "weather.dial", "--picture", "changes.svg"],
    &["family", "lantern.dial", "--figures"],
    &["seek", "crew.dial", "--free", "across", "--least", "across", "--by", "0.1mm"],
    &["coupon", "shop.dial", "--stock", "birch", "--out", "cards"],
    &["audit-art", "goods.svg", "--picture", "audit.png"],
    &["tidy", "untidy.dial"],
    &["begin", "new.dial", "--readings", "Fair, Rain, Snow", "--shop", "shop.dial"],
    &["adopt", "weather/board-1-setup-1.svg", "adopted.dial", "--laid-over", "over.png"],
    &["build", "scans.dial", "--no-print", "--effort", "0", "--out", "scanned"],
    &["measure", "scanned", "scans-small.png", "--shop", "shop.dial", "--picture", "edges.png"],
    &["diary", "measured.json", "measured.json", "--picture", "kerf.svg"],
    &["explain", "unit-mismatch"],
    &["completions", "bash"],
    &["manual", "--out", "manual"],
];

type Files = BTreeMap<String, Vec<u8>>;

fn below(folder: &Path) -> Files {
    let mut files = Files::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap().map(Result::unwrap) {
            let path: PathBuf = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
                files.insert(name, fs::read(path).unwrap());
            }
        }
    }
    files
}

/// What all verbs leave in a folder of this name and print, in these surroundings.
fn everything(name: &str, surroundings: &[(&str, &str)], one_processor: bool) -> Files {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join(name);
    fs::create_dir_all(&folder).unwrap();
    for from in ["examples/saltmarsh", "tests/dials"] {
        for entry in fs::read_dir(root().join(from)).unwrap().map(|entry| entry.unwrap().path()) {
            if entry.is_file() && !folder.join(entry.file_name().unwrap()).exists() {
                fs::copy(&entry, folder.join(entry.file_name().unwrap())).unwrap();
            }
        }
    }
    for name in ["scans.dial", "scans-small.png"] {
        fs::copy(root().join("tests/data").join(name), folder.join(name)).unwrap();
    }
    let untidy = fs::read_to_string(folder.join("crew.dial")).unwrap().replace(" of ", "   of   ");
    fs::write(folder.join("untidy.dial"), untidy).unwrap();
    let mut said = Files::new();
    for arguments in VERBS {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        if one_processor {
            command = Command::new("taskset");
            command.args(["-c", "0", env!("CARGO_BIN_EXE_dialwright")]);
        }
        command.args(arguments).current_dir(&folder).stdin(Stdio::null()).env_remove("RUST_BACKTRACE");
        let output = command.env("NO_COLOR", "1").envs(surroundings.iter().copied()).output().unwrap();
        assert!(output.status.code() < Some(2), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        said.insert(format!("{arguments:?}"), [output.stdout, output.stderr].concat());
    }
    let mut files = below(&folder);
    assert!(files.len() > 60, "{:?}", files.keys());
    files.append(&mut said);
    files
}

#[test]
fn every_output_is_the_same_everywhere() {
    let plain = everything("a", &[], false);
    for ending in [".svg", ".png", ".pdf", ".html", ".json", ".csv", ".md", ".sarif", ".1"] {
        assert!(plain.keys().any(|name| name.ends_with(ending)), "nothing ends in {ending}");
    }
    let surroundings: [&[(&str, &str)]; 2] = [
        &[
            ("LC_ALL", "de_DE.UTF-8"),
            ("LANG", "de_DE.UTF-8"),
            ("TZ", "Pacific/Auckland"),
            ("SOURCE_DATE_EPOCH", "1"),
            ("COLUMNS", "20"),
            ("HOME", "/nonexistent"),
        ],
        &[("LC_ALL", "C"), ("TZ", "America/St_Johns"), ("SOURCE_DATE_EPOCH", "4102444800"), ("TERM", "dumb")],
    ];
    for (at, surroundings) in surroundings.into_iter().enumerate() {
        let there = everything(&format!("deeper {at}/ü"), surroundings, at == 1 && cfg!(target_os = "linux"));
        assert_eq!(plain.keys().collect::<Vec<_>>(), there.keys().collect::<Vec<_>>());
        for (name, bytes) in &plain {
            assert!(*bytes == there[name], "{name} differs in {surroundings:?}");
        }
    }
}

/// Whatever the number of threads, or where a build was interrupted and taken up again.
#[test]
fn threads_do_not_show() {
    let of = |jobs: &str| {
        let folder = tempfile::tempdir().unwrap();
        for name in ["lantern.dial", "shop.dial"] {
            fs::copy(root().join("examples/saltmarsh").join(name), folder.path().join(name)).unwrap();
        }
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(["build", "lantern.dial", "--jobs", jobs]).current_dir(folder.path()).stdout(Stdio::null());
        assert!(command.stderr(Stdio::null()).status().unwrap().code() < Some(2));
        below(&folder.path().join("lantern"))
    };
    let one = of("1");
    assert!(one.keys().filter(|name| name.ends_with(".pdf")).count() >= 4);
    for jobs in ["2", "7"] {
        assert!(of(jobs) == one, "with {jobs} threads");
    }
}
