//! What `measure` writes: into a shop what was measured and nothing else, which `check` and `turn` then go by.

use std::fs;
use std::path::PathBuf;
use std::process::Output;
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

use crate::command_line::run;
use crate::dials::root;

/// A dial, its shop, and a scan of three of its parts that was measured.
pub(crate) struct Bench {
    folder: TempDir,
    /// What `measure` printed for programs.
    pub(crate) answer: Value,
    shop_before: String,
    turned_before: Value,
}

impl Bench {
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Output {
        let here = |it: &&str| if it.contains('.') && !it.contains('=') { self.shown(it) } else { (*it).to_owned() };
        let arguments: Vec<String> = arguments.iter().map(here).collect();
        run(&arguments.iter().map(String::as_str).collect::<Vec<_>>())
    }

    fn shown(&self, name: &str) -> String {
        self.path(name).to_string_lossy().into_owned()
    }

    fn turned(&self) -> Value {
        let output = self.run(&["turn", "tokens.dial", "--message-format", "json"]);
        serde_json::from_slice(&output.stdout).unwrap()
    }
}

pub(crate) fn bench() -> &'static Bench {
    static BENCH: OnceLock<Bench> = OnceLock::new();
    BENCH.get_or_init(|| {
        let shop = fs::read_to_string(root().join("examples/saltmarsh/shop.dial")).unwrap();
        let mut bench = Bench {
            folder: tempfile::tempdir().unwrap(),
            answer: Value::Null,
            shop_before: shop.clone(),
            turned_before: Value::Null,
        };
        let dial = super::TOKENS.replace("\noutline", "\nwith \"shop.dial\"\noutline");
        fs::write(bench.path("tokens.dial"), dial).unwrap();
        fs::write(bench.path("shop.dial"), shop).unwrap();
        fs::copy(root().join("tests/data/scans.png"), bench.path("scans.png")).unwrap();
        bench.turned_before = bench.turned();
        let made = bench.shown("made");
        let built = bench.run(&["build", "tokens.dial", "--no-print", "--effort", "0", "--out", &made]);
        assert!(built.status.code() < Some(2), "{}", String::from_utf8_lossy(&built.stderr));
        let measured =
            ["measure", &made, "scans.png", "--known", KNOWN, "--write", "shop.dial", "--picture", "edges.svg"];
        let output = bench.run(&[&measured[..], &["--message-format", "json"]].concat());
        bench.answer = serde_json::from_slice(&output.stdout)
            .unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)));
        bench
    })
}

/// The disc, 30 mm across as drawn, less what its cut is wider than meant.
const KNOWN: &str = "1=29.98mm";

#[test]
fn only_what_was_measured_is_written_into_a_shop() {
    let bench = bench();
    let after = fs::read_to_string(bench.path("shop.dial")).unwrap();
    let (old, new): (Vec<&str>, Vec<&str>) = (bench.shop_before.lines().collect(), after.lines().collect());
    assert_eq!(old.len(), new.len());
    let changed: Vec<(&str, &str)> = old.into_iter().zip(new).filter(|(old, new)| old != new).collect();
    let word = |line: &str| line.split_whitespace().next().unwrap_or_default().to_owned();
    let words: Vec<String> = changed.iter().map(|(old, _)| word(old)).collect();
    assert_eq!(words, ["kerf", "kerf", "concentricity"], "{changed:?}");
    // Three parts were read, and birch is the first stock of the shop.
    assert!(changed[0].1.trim().starts_with("kerf [") && changed[0].1.matches("mm").count() == 3, "{changed:?}");
    for (old, new) in &changed {
        assert_eq!(word(old), word(new));
        assert_eq!(old.split_once("//").map(|it| it.1), new.split_once("//").map(|it| it.1));
    }
    let written: Vec<&str> =
        bench.answer["written"].as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect();
    assert!(written.len() == 3 && written.iter().any(|it| it.ends_with("shop.dial")), "{written:?}");
    assert_eq!(bench.run(&["tidy", "shop.dial", "--check"]).status.code(), Some(0));
}

/// `check` reads the shop back, and the share of dials that read right is another one.
#[test]
fn what_was_written_is_what_dials_are_judged_by() {
    let bench = bench();
    // Its thin web is told before and after.
    let checked = bench.run(&["check", "tokens.dial"]);
    assert_eq!(checked.status.code(), Some(1), "{}", String::from_utf8_lossy(&checked.stderr));
    let after = bench.turned();
    assert_eq!((&after["verdict"]["errors"], &after["findings"]), (&0.into(), &bench.turned_before["findings"]));
    let share = |of: &Value| of["verdict"]["yield_percent"].clone();
    assert!(share(&after).is_number(), "{after}");
    assert_ne!(share(&bench.turned_before), share(&after));
    let kerf = &bench.answer["measured"]["stocks"][0]["kerf"];
    let mean = kerf["mean_mm"].as_f64().unwrap();
    let list = || {
        let out = bench.shown("again");
        assert!(
            bench.run(&["build", "tokens.dial", "--no-print", "--effort", "0", "--out", &out]).status.code() < Some(2)
        );
        serde_json::from_slice::<Value>(&fs::read(bench.path("again").join("operations.json")).unwrap()).unwrap()
    };
    assert!((list()["boards"][0]["kerf"].as_f64().unwrap() - mean).abs() < 1e-3, "{mean}");
}
