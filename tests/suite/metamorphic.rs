//! What must not change any measure: other units, other names, another order of statements, a dial turned as a whole,
//! a dial mirrored.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{LazyLock, OnceLock};

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::audit::{Audit, MeasureValue, audit};
use dialwright::cli::disk::DiskProject;
use dialwright::design::{Design, FlipChoice, Joint, Shape};
use dialwright::project::Overlaid;
use dialwright::source::Sources;
use dialwright::syntax::tree::{Expr, Item, LayerItem, Mark, Marked};
use dialwright::units::Angle;
use dialwright::vocabulary::measures::{MeasureName, Subject};
use kurbo::Affine;
use proptest::prelude::*;

/// The measures of every variant, by variant, measure and subject; the subject's name mapped.
type Measures = BTreeMap<(usize, &'static str, String), Vec<f64>>;

fn measures(analysis: &Analysis, renamed: &impl Fn(&str) -> String) -> Measures {
    let mut found = Measures::new();
    for (at, dial) in analysis.dials.iter().enumerate() {
        found.extend(measured(at, &dial.design, &dial.audit, renamed));
    }
    found
}

/// What is worked out from drawn dials is measured where a test asks for it alone.
const DRAWN: MeasureName = MeasureName::Sure;

fn measured(at: usize, design: &Design, audit: &Audit, renamed: &impl Fn(&str) -> String) -> Measures {
    let mut found = Measures::new();
    for measure in MeasureName::ALL.iter().copied().filter(|measure| *measure != DRAWN) {
        let layers = || design.layers.iter();
        let names: BTreeSet<String> = match measure.spec().subject {
            Subject::Dial => [String::new()].into(),
            Subject::Layer => layers().map(|layer| layer.name.clone()).collect(),
            Subject::Ring => layers().flat_map(|layer| &layer.rings).map(|ring| ring.name.clone()).collect(),
            Subject::Opening => layers().flat_map(|layer| &layer.marks).filter_map(|mark| mark.name.clone()).collect(),
        };
        for name in names {
            let figures = match audit.measure(design, measure, &name) {
                Some(MeasureValue::Quantity(quantity)) => vec![quantity.value],
                Some(MeasureValue::Labels(labels)) => vec![labels.len() as f64],
                None => continue,
            };
            found.insert((at, measure.word(), renamed(&name)), figures);
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

/// Every example and every dial of the tests.
fn designs() -> Vec<PathBuf> {
    let all: Vec<PathBuf> = ["examples", "tests/dials"].into_iter().flat_map(crate::dials::designs).collect();
    assert!(all.len() >= 20, "{all:?}");
    all
}

/// The measures of a design as it stands, worked out once for all tests.
fn plain(path: &Path) -> &'static Measures {
    static KNOWN: LazyLock<BTreeMap<PathBuf, OnceLock<Measures>>> =
        LazyLock::new(|| designs().into_iter().map(|path| (path, OnceLock::new())).collect());
    KNOWN[path].get_or_init(|| {
        let found = measures(&analysed(path, &as_it_is), &as_it_is);
        assert!(found.len() > 2, "{}", path.display());
        found
    })
}

fn analysed(path: &Path, change: &impl Fn(&str) -> String) -> Analysis {
    let (disc, name, _) = DiskProject::of(path);
    let text = |file: &str| std::fs::read_to_string(path.with_file_name(file)).ok();
    let names = [name.as_str(), "shop.dial"].into_iter();
    let texts = names.filter_map(|name| Some((name.to_owned(), change(&text(name)?))));
    analyse(&Overlaid::new(&disc, texts), &name, "", &Request::default()).unwrap()
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
            "deg" if inch => format!("{:.14}rad", value.to_radians()),
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
        let after = analysed(&path, &in_other_units);
        assert_same(&crate::stem(&path), plain(&path), &measures(&after, &as_it_is), 1e-6);
    }
}

/// The words after which a name of the maker's is declared.
const DECLARES: [&str; 15] = [
    "let", "param", "layer", "ring", "stock", "magnet", "rivet", "adhesive", "finish", "window", "spreads", "rates",
    "drawing", "client", "maker",
];

/// The names that a text declares, those apart that the language uses itself somewhere.
fn declared(text: &str) -> BTreeSet<String> {
    let runs = runs(text);
    let words: Vec<&String> = runs.iter().filter(|run| !run.trim().is_empty()).collect();
    let own: BTreeSet<String> = crate::fuzz::words();
    let named = words.windows(2).filter(|pair| DECLARES.contains(&pair[0].as_str()));
    named.map(|pair| pair[1].clone()).filter(|name| is_word(name) && !own.contains(name)).collect()
}

fn is_word(text: &str) -> bool {
    dialwright::syntax::word(text) == dialwright::syntax::Word::Name
}

/// A run with its names changed, in a text those of its values: `"No. {number}"`.
fn with_values(run: &str, renamed: &impl Fn(&str) -> String) -> String {
    if !run.starts_with('"') {
        return renamed(run);
    }
    let changed = run.split_inclusive(['{', '}']).map(|part| match part.strip_suffix('}') {
        Some(value) => runs(value).iter().map(|run| renamed(run)).collect::<String>() + "}",
        None => part.to_owned(),
    });
    changed.collect()
}

#[test]
fn names_change_no_measure() {
    let mut renamed_in_all = 0;
    for path in designs() {
        let text = std::fs::read_to_string(&path).unwrap();
        let shop = std::fs::read_to_string(path.with_file_name("shop.dial")).unwrap_or_default();
        let mut names = declared(&text);
        names.extend(declared(&shop).into_iter().filter(|_| text.contains("\"shop.dial\"")));
        renamed_in_all += names.len();
        let renamed = |name: &str| if names.contains(name) { format!("renamed_{name}") } else { name.to_owned() };
        let change = |text: &str| runs(text).iter().map(|run| with_values(run, &renamed)).collect::<String>();
        let after = measures(&analysed(&path, &change), &as_it_is);
        // Of a copy, its opening is called "eye of low".
        let whole = |name: &str| name.split(' ').map(&renamed).collect::<Vec<_>>().join(" ");
        let before: Measures = plain(&path)
            .iter()
            .map(|((at, what, name), figures)| ((*at, *what, whole(name)), figures.clone()))
            .collect();
        assert_same(&crate::stem(&path), &before, &after, 0.0);
    }
    assert!(renamed_in_all > 120, "{renamed_in_all}");
}

/// The items of a file in which each begins at the left edge.
fn items(text: &str) -> Vec<String> {
    let mut items: Vec<String> = Vec::new();
    for line in text.lines() {
        let begins = line.starts_with(|first: char| first.is_alphabetic());
        match items.last_mut() {
            Some(item) if !begins => *item += &format!("{line}\n"),
            _ => items.push(format!("{line}\n")),
        }
    }
    items
}

#[test]
fn the_order_of_statements_changes_no_measure() {
    for path in designs() {
        let backwards = |text: &str| items(text).into_iter().rev().collect::<String>();
        let text = std::fs::read_to_string(&path).unwrap();
        assert_ne!(backwards(&text), text);
        let after = measures(&analysed(&path, &backwards), &as_it_is);
        assert_same(&crate::stem(&path), plain(&path), &after, 0.0);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Any order of the items of any design.
    #[test]
    fn any_order_of_statements_changes_no_measure(at in 0..20usize, seed: u64) {
        let path = &designs()[at];
        let shuffled = |text: &str| {
            let mut items = items(text);
            fastrand::Rng::with_seed(seed).shuffle(&mut items);
            items.concat()
        };
        let after = measures(&analysed(path, &shuffled), &as_it_is);
        assert_same(&crate::stem(path), plain(path), &after, 0.0);
    }

    /// What is moved, turned and mirrored, and then back again, is where it was: every shape of any design.
    #[test]
    fn there_and_back_again_changes_no_measure(
        at in 0..20usize, x in -40.0..40.0f64, y in -40.0..40.0f64, swing in -360.0..360.0f64, axis in 0.0..180.0f64,
    ) {
        let path = &designs()[at];
        let by = format!(
            "turned {swing:.4}deg at ({x:.4}mm, {y:.4}mm) mirrored about {axis:.4}deg mirrored about {axis:.4}deg \
             at ({:.4}mm, {:.4}mm) turned {:.4}deg", -x, -y, -swing
        );
        let text = std::fs::read_to_string(path).unwrap();
        prop_assert!(placed_by(&text, &by).matches(&by).count() >= 2, "little is placed");
        let after = measures(&analysed(path, &|text| placed_by(text, &by)), &as_it_is);
        assert_same(&crate::stem(path), plain(path), &after, 2e-3);
    }
}

/// The text with this behind every shape that is an outline or a mark.
fn placed_by(text: &str, by: &str) -> String {
    let mut sources = Sources::default();
    let id = sources.add("placed.dial", text);
    let file = dialwright::syntax::parse(&sources, id).file;
    let mut shapes: Vec<&Expr> = Vec::new();
    for item in &file.items {
        match item {
            Item::Outline(outline) => shapes.push(&outline.value),
            Item::Layer(layer) => shapes.extend(layer.items.iter().filter_map(|item| match item {
                LayerItem::Outline(outline) => Some(&outline.value),
                LayerItem::Mark(Mark { what: Marked::Shape { value, .. }, .. }) => Some(value),
                _ => None,
            })),
            _ => {}
        }
    }
    let mut spans: Vec<_> = shapes.iter().map(|shape| shape.span.range()).collect();
    spans.sort_by_key(|span| std::cmp::Reverse(span.start));
    let mut text = text.to_owned();
    for span in spans {
        let shape = text[span.clone()].to_owned();
        text.replace_range(span, &format!("({shape}) {by}"));
    }
    text
}

/// A whole design turned clockwise about its axis, or mirrored about 0deg and then turned: what is drawn, what stands at a
/// bearing, and the slot with it.
fn whole(design: &Design, swing: f64, mirrored: bool) -> Design {
    let sign = if mirrored { -1.0 } else { 1.0 };
    let map = Affine::rotate(-swing.to_radians()) * Affine::scale_non_uniform(sign, 1.0);
    let bearing = |angle: Angle| Angle::degrees(angle.as_degrees() * sign + swing);
    let mut design = design.clone();
    for layer in &mut design.layers {
        layer.outline = layer.outline.transformed(map);
        for mark in &mut layer.marks {
            mark.shape = match &mark.shape {
                Shape::Region(region) => Shape::Region(region.transformed(map)),
                Shape::Trace(trace) => Shape::Trace(trace.transformed(map)),
            };
        }
        layer.rings.iter_mut().for_each(|ring| ring.centre = map * ring.centre);
        for label in layer.rings.iter_mut().flat_map(|ring| &mut ring.labels) {
            (label.ink, label.bearing) = (label.ink.transformed(map), bearing(label.bearing));
        }
        layer.grain = layer.grain.map(bearing);
        if let FlipChoice::About(axis, span) = layer.flip {
            layer.flip = FlipChoice::About(bearing(axis), span);
        }
    }
    for joint in &mut design.joints {
        if let Joint::Turn(turn) = joint {
            // A stop is the bearing between two halves that turn alike.
            turn.stops.iter_mut().for_each(|stop| *stop = Angle::degrees(stop.as_degrees() * sign));
            if let Some(axle) = &mut turn.axle {
                axle.centre = map * axle.centre;
            }
        }
    }
    if let Some(slot) = &mut design.slot {
        slot.outline = slot.outline.transformed(map);
    }
    design
}

#[test]
fn a_whole_design_turned_or_mirrored_keeps_its_measures() {
    for path in designs() {
        let before = analysed(&path, &as_it_is);
        for (at, dial) in before.dials.iter().enumerate().take(2) {
            // Click magnets stand at bearings from 0deg, which no design can say otherwise.
            if dial.design.turns().any(|(_, turn)| turn.clicks.is_some()) {
                continue;
            }
            let wanted = measured(at, &dial.design, &dial.audit, &as_it_is);
            for (swing, mirrored) in [(90.0, false), (-123.456, false), (71.5, true)] {
                // What stands out to one side of its axis is laid into its slot by boxes, which quarter turns alone keep.
                let boxed = dial.design.slot.is_some() && dial.design.has_wheels();
                if boxed && swing % 90.0 != 0.0 {
                    continue;
                }
                let design = whole(&dial.design, swing, mirrored);
                let found = measured(at, &design, &audit(&design), &as_it_is);
                let what = format!("{}, {swing}deg, mirrored {mirrored}", crate::stem(&path));
                // Distances are taken on copies of straight lines, each within a fraction of a micrometre.
                assert_same(&what, &wanted, &found, 2e-3);
            }
        }
    }
}

/// How sure the stops are is the same by other words for the same thing.
#[test]
fn surety_does_not_hang_on_how_a_dial_is_written() {
    for name in ["examples/first.dial", "tests/dials/08-uneven.dial"] {
        let path = crate::dials::root().join(name);
        let sure = |change: &dyn Fn(&str) -> String| -> Vec<f64> {
            let analysis = analysed(&path, &|text: &str| change(text));
            let dial = &analysis.dials[0];
            let rings = dial.design.layers.iter().flat_map(|layer| &layer.rings);
            let figures = rings.filter_map(|ring| match dial.audit.measure(&dial.design, DRAWN, &ring.name) {
                Some(MeasureValue::Quantity(quantity)) => Some(quantity.value),
                _ => None,
            });
            figures.collect()
        };
        let wanted = sure(&as_it_is);
        assert!(!wanted.is_empty(), "{name}");
        assert_eq!(sure(&|text| items(text).into_iter().rev().collect()), wanted, "{name}");
        let others = sure(&in_other_units);
        assert!(wanted.iter().zip(&others).all(|(one, other)| (one - other).abs() < 2e-3), "{wanted:?} {others:?}");
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
