//! Every dial of `examples` and `tests/dials` is analysed and planned; what is found and what would be cut is
//! compared with a reviewed answer.

use std::fmt::Write as _;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use dialwright::analysis::{Analysis, Dial, Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::diagnostics::{Style, as_text};
use dialwright::output;
use dialwright::plan::{Operation, OperationKind};
use dialwright::portrait::{Portrait, View, portrait};

/// The folder of the crate.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every design below a folder of the crate, shop files left out, in order of name.
pub(crate) fn designs(folder: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "dial") && !path.ends_with("shop.dial") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// What is known of a design on disk, its folder left out of all messages.
pub(crate) fn analysed(path: &Path) -> Analysis {
    let (project, name, _) = DiskProject::of(path);
    analyse(&project, &name, "", &Request::default()).expect("a design that can be read")
}

fn digest(analysis: &Analysis) -> String {
    let mut text = as_text(&analysis.findings, &analysis.sources, Style::Plain);
    for dial in &analysis.dials {
        let variant = dial.design.variant.as_deref().unwrap_or("the dial");
        let _ = writeln!(text, "== {variant}");
        for default in dial.assumptions() {
            let _ = writeln!(text, "{} taken as {}: {}", default.what, default.taken, default.why);
        }
        text.push_str(&planned(dial));
    }
    text
}

fn planned(dial: &Dial) -> String {
    let Some(plan) = &dial.plan else { return "no plan\n".to_owned() };
    let mut text = String::new();
    for (number, board) in (1..).zip(&plan.boards) {
        let _ = writeln!(text, "board {number} of {}, {} parts", board.stock, board.parts.len());
        for (number, setup) in (1..).zip(&board.setups) {
            let words: Vec<String> = kinds(&setup.operations);
            let _ = writeln!(text, "  setup {number}: {}", words.join(", "));
        }
    }
    let _ = writeln!(text, "cut {:.1}mm", plan.cut_length().as_mm());
    text
}

/// "4 engrave, 1 pocket, 2 cut", in the order in which they are done.
fn kinds(operations: &[Operation]) -> Vec<String> {
    let mut runs: Vec<(&str, usize)> = Vec::new();
    for operation in operations {
        let word = match operation.kind {
            OperationKind::Engrave { .. } => "engrave",
            OperationKind::Score { .. } => "score",
            OperationKind::Pocket { .. } => "pocket",
            OperationKind::Cut { .. } => "cut",
            OperationKind::Pause { .. } => "pause",
        };
        match runs.last_mut() {
            Some((last, count)) if *last == word => *count += 1,
            _ => runs.push((word, 1)),
        }
    }
    runs.iter().map(|(word, count)| format!("{count} {word}")).collect()
}

fn snapshot_all(folder: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(root().join("tests/answers").join(folder.replace('/', "-")));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    for path in designs(folder) {
        let name =
            path.strip_prefix(root().join(folder)).unwrap().with_extension("").to_string_lossy().replace('/', "-");
        let analysis = analysed(&path);
        assert!(!analysis.has_errors(), "{name}: {}", as_text(&analysis.findings, &analysis.sources, Style::Plain));
        settings.bind(|| insta::assert_snapshot!(name, digest(&analysis)));
    }
}

#[test]
fn every_example_builds_as_reviewed() {
    snapshot_all("examples");
}

#[test]
fn the_language_is_built_as_reviewed() {
    snapshot_all("tests/dials");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for path in designs("examples") {
        let build = || {
            let analysis = analysed(&path);
            let files = analysis
                .dials
                .iter()
                .flat_map(|dial| output::files(&dial.design, &dial.audit, dial.made().unwrap(), &analysis.sources));
            files.map(|file| (file.name, file.bytes)).collect::<Vec<_>>()
        };
        assert!(build() == build(), "{}", path.display());
    }
}

/// The pictures in README are what the tool makes today. `DIALWRIGHT_PICTURES=write cargo test pictures` makes them.
#[test]
fn the_pictures_in_the_readme_are_current() {
    let analysis = analysed(&root().join("examples/first.dial"));
    let dial = analysis.dials.first().unwrap();
    let files = output::files(&dial.design, &dial.audit, dial.made().unwrap(), &analysis.sources);
    let board = files.into_iter().find(|file| file.name == "board-1-setup-1.svg").unwrap().bytes;
    let stops = output::stops::sheet(&[(&dial.design, &dial.audit.reading_check)]).into_bytes();
    let job = super::proof::printing(&analysis, dial, output::page::Paper::A4);
    let proof = output::proof::proof(&job).sheet().into_bytes();
    let wanted = Portrait { view: View::Quarter, stops: vec![3], size: 720, clear_ground: false };
    let portrait = portrait(&dial.design, &wanted, NonZeroUsize::MIN).jpeg().unwrap();
    for (name, made) in
        [("first.svg", board), ("first-stops.svg", stops), ("first-proof.svg", proof), ("first-portrait.jpg", portrait)]
    {
        let path = root().join("examples/pictures").join(name);
        if std::env::var_os("DIALWRIGHT_PICTURES").is_some() {
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(&path, &made).unwrap();
        }
        assert!(std::fs::read(&path).unwrap() == made, "{} is out of date", path.display());
    }
}
