//! What must not change any measure: other units, other names, another order of statements, a dial turned as a whole,
//! a dial mirrored.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use dialwright::analyse::{Analysis, Request, analyse};
use dialwright::audit::MeasureValue;
use dialwright::audit::measures::{MEASURES, Subject};
use dialwright::cli::disk::DiskProject;
use dialwright::project::{Project, ReadProblem};

/// A folder of the disc, of which some files have other texts.
struct Changed<'a> {
    disc: DiskProject,
    texts: BTreeMap<&'a str, String>,
}

impl Project for Changed<'_> {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        self.texts.get(name).map_or_else(|| self.disc.read(name, limit), |text| Ok(text.clone().into_bytes()))
    }
}

/// The measures of every variant, by variant, measure and subject; the subject's name mapped.
type Measures = BTreeMap<(usize, &'static str, String), Vec<f64>>;

fn measures(analysis: &Analysis, renamed: &impl Fn(&str) -> String) -> Measures {
    let mut found = Measures::new();
    for (at, dial) in analysis.dials.iter().enumerate() {
        for measure in MEASURES {
            let layers = || dial.design.layers.iter();
            let names: BTreeSet<String> = match measure.subject {
                Subject::Dial => [String::new()].into(),
                Subject::Layer => layers().map(|layer| layer.name.clone()).collect(),
                Subject::Ring => layers().flat_map(|layer| &layer.rings).map(|ring| ring.name.clone()).collect(),
                Subject::Opening => {
                    layers().flat_map(|layer| &layer.marks).filter_map(|mark| mark.name.clone()).collect()
                }
            };
            for name in names {
                let figures = match dial.audit.measure(&dial.design, measure.name, &name) {
                    Some(MeasureValue::Quantity(quantity)) => vec![quantity.value],
                    Some(MeasureValue::Labels(labels)) => vec![labels.len() as f64],
                    None => continue,
                };
                found.insert((at, measure.name, renamed(&name)), figures);
            }
        }
    }
    found
}

fn as_it_is(name: &str) -> String {
    name.to_owned()
}

/// Within a millionth, or within `within` base units.
fn assert_same(what: &str, one: &Measures, other: &Measures, within: f64) {
    let keys = |measures: &Measures| measures.keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(one), keys(other), "{what}");
    for (key, figures) in one {
        for (a, b) in figures.iter().zip(&other[key]) {
            let same = a == b || (a - b).abs() <= within.max(1e-6 * a.abs().max(b.abs()));
            assert!(same, "{what}, {key:?}: {a} and {b}");
        }
    }
}

/// Designs that show every way of holding a dial, of reading it and of writing it down.
fn designs() -> impl Iterator<Item = PathBuf> {
    let names =
        ["examples/saltmarsh/crew", "tests/dials/06-riveted-card", "tests/dials/08-uneven", "tests/dials/10-pointer"];
    let more = ["examples/saltmarsh/weather", "tests/dials/12-two-stocks"];
    names.into_iter().chain(more).map(|name| crate::dials::root().join(name).with_extension("dial"))
}

fn analysed(path: &Path, change: &impl Fn(&str) -> String) -> Analysis {
    let (disc, name, _) = DiskProject::of(path);
    let text = |file: &str| std::fs::read_to_string(path.with_file_name(file)).ok();
    let mut texts = BTreeMap::new();
    texts.extend(text(&name).map(|text| (name.as_str(), change(&text))));
    texts.extend(text("shop.dial").map(|text| ("shop.dial", change(&text))));
    analyse(&Changed { disc, texts }, &name, "", &Request::default()).unwrap()
}

/// The text in runs: words of letters, digits and `_`; and what stands between. Texts in quotes and comments whole.
fn runs(text: &str) -> Vec<String> {
    let mut runs: Vec<String> = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let word = |letter: char| letter.is_alphanumeric() || letter == '_' || letter == '.';
        let end = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if first == '"' {
            1 + rest[1..].find('"').unwrap_or(rest.len() - 2) + 1
        } else if word(first) {
            rest.find(|letter| !word(letter)).unwrap_or(rest.len())
        } else {
            first.len_utf8()
        };
        runs.push(rest[..end].to_owned());
        rest = &rest[end..];
    }
    runs
}

/// Lengths in centimetres and inches by turns, angles in turns.
fn in_other_units(text: &str) -> String {
    let mut inch = false;
    let changed = runs(text).into_iter().map(|run| {
        let split = run.find(char::is_alphabetic).unwrap_or(run.len());
        let Ok(value) = run[..split].parse::<f64>() else { return run };
        match &run[split..] {
            "mm" => {
                inch = !inch;
                if inch { format!("{:.12}in", value / 25.4) } else { format!("{:.12}cm", value / 10.0) }
            }
            "deg" => format!("{:.14}turn", value / 360.0),
            "min" => format!("{:.9}s", value * 60.0),
            "g" => format!("{:.12}kg", value / 1000.0),
            "T" => format!("{:.9}mT", value * 1000.0),
            _ => run,
        }
    });
    changed.collect()
}

#[test]
fn units_change_no_measure() {
    for path in designs() {
        let (before, after) = (analysed(&path, &as_it_is), analysed(&path, &in_other_units));
        assert!(!before.dials.is_empty(), "{}", path.display());
        assert_same(&crate::stem(&path), &measures(&before, &as_it_is), &measures(&after, &as_it_is), 1e-6);
    }
}

#[test]
fn names_change_no_measure() {
    for path in designs() {
        let before = analysed(&path, &as_it_is);
        let layers = || before.dials.iter().flat_map(|dial| &dial.design.layers);
        let mut names: BTreeSet<String> = layers().map(|layer| layer.name.clone()).collect();
        names.extend(layers().flat_map(|layer| &layer.rings).map(|ring| ring.name.clone()));
        names.extend(layers().flat_map(|layer| &layer.marks).filter_map(|mark| mark.name.clone()));
        let renamed = |name: &str| if names.contains(name) { format!("renamed_{name}") } else { name.to_owned() };
        let change = |text: &str| runs(text).iter().map(|run| renamed(run)).collect::<String>();
        let after = analysed(&path, &change);
        assert_same(&crate::stem(&path), &measures(&before, &renamed), &measures(&after, &as_it_is), 0.0);
    }
}

/// The items of a file in which each begins at the left edge, last first.
fn backwards(text: &str) -> String {
    let mut items: Vec<String> = Vec::new();
    for line in text.lines() {
        let begins = line.starts_with(|first: char| first.is_alphabetic());
        match items.last_mut() {
            Some(item) if !begins => *item += &format!("{line}\n"),
            _ => items.push(format!("{line}\n")),
        }
    }
    items.reverse();
    items.concat()
}

#[test]
fn the_order_of_statements_changes_no_measure() {
    for path in designs() {
        let (before, after) = (analysed(&path, &as_it_is), analysed(&path, &backwards));
        assert_ne!(backwards(&std::fs::read_to_string(&path).unwrap()), std::fs::read_to_string(&path).unwrap());
        assert_same(&crate::stem(&path), &measures(&before, &as_it_is), &measures(&after, &as_it_is), 0.0);
    }
}

/// A dial whose every place is swung round the axis by an angle, or mirrored; its labels are shapes, which have no
/// reading direction.
fn placed(swing: f64, mirrored: bool) -> Analysis {
    let placed = if mirrored { format!("mirrored about 0deg turned {swing}deg") } else { format!("turned {swing}deg") };
    let sign = if mirrored { -1.0 } else { 1.0 };
    // Labels run clockwise: in the mirror the first stays where it is, and the others change places.
    let order: Vec<usize> = if mirrored { vec![0, 5, 4, 3, 2, 1] } else { (0..6).collect() };
    let label = |at: usize| format!("star(points: {}, diameter: 6mm, inner: 3mm)", 4 + at);
    let labels: Vec<String> = order.into_iter().map(label).collect();
    let text = format!(
        "dial \"Swung\"\noutline (rectangle(width: 62mm, height: 54mm, corner: 8mm) plus (circle(radius: 6mm) at (26mm, 20mm))) {placed}\n\
         layer base of birch {{\n  engrave ring r {{ labels [{}]; radius 15mm; first {}deg }}\n  pocket circle(diameter: 6mm) at (-18mm, 17mm) {placed} depth 1mm\n}}\n\
         layer cover of birch {{\n  window peep = ellipse(width: 11mm, height: 9mm) at polar(15mm, 30deg) {placed}\n\
           hole circle(diameter: 5mm) at (20mm, -14mm) {placed}\n}}\n\
         stack {{ base; turn on magnets(disc); cover }}\nreads r through peep\n",
        labels.join(", "),
        swing + sign * 30.0,
    );
    let project = dialwright::project::MemoryProject::default().with("swung.dial", text);
    analyse(&project, "swung.dial", "", &Request::default()).unwrap()
}

#[test]
fn a_dial_turned_or_mirrored_as_a_whole_keeps_its_measures() {
    let still = placed(0.0, false);
    let findings: Vec<&str> = still.findings.iter().map(|found| found.finding.name()).collect();
    let wanted = measures(&still, &as_it_is);
    assert!(wanted.len() > 20, "{findings:?}");
    // Distances are taken on copies of straight lines, each within a fraction of a micrometre.
    for (swing, mirrored) in [(90.0, false), (37.0, false), (-123.456, false), (0.0, true), (71.5, true)] {
        let found = measures(&placed(swing, mirrored), &as_it_is);
        assert_same(&format!("{swing}deg, mirrored {mirrored}"), &wanted, &found, 1e-3);
    }
}
