//! What the help of a finding says with a value, done in the text of a file of `tests/ui`: the finding is gone or lessened.

use dialwright::cli::disk::DiskProject;
use dialwright::diagnostics::Severity;

use super::{Mended, Seen};
use crate::dials::root;

/// A finding's help with the value in it left out (`{}`), and how a text is changed that does as it says: what stands in it,
/// and what with the value (`{}`) takes its place.
struct Stated {
    file: &'static str,
    finding: &'static str,
    says: &'static str,
    from: &'static str,
    to: To,
}

/// What takes the place.
enum To {
    /// A text, with the value itself.
    Value(&'static str),
    /// A text, with what comes of the value.
    Of(&'static str, fn(f64) -> f64),
}

use To::{Of, Value};

const fn row(file: &'static str, finding: &'static str, says: &'static str, from: &'static str, to: To) -> Stated {
    Stated { file, finding, says, from, to }
}

const STATED: &[Stated] = &[
    row("corner-too-large", "corner-too-large", "`corner: {}mm`", "corner: 27mm", Value("corner: {}mm")),
    row("corner-too-large-2", "corner-too-large", "`corner: {}mm`", "corner: 3mm", Value("corner: {}mm")),
    row("corner-too-large-3", "corner-too-large", "`corner: {}mm`", "corner: 2mm", Value("corner: {}mm")),
    row(
        "engraving-past-veneer",
        "engraving-past-veneer",
        "less than {}mm",
        "depth 0.6mm",
        Of("depth {}mm", |at| at - 0.01),
    ),
    row("feature-too-small", "feature-too-small", "make it {} times", "width: 0.1mm", Of("width: {}mm", |by| 0.1 * by)),
    row(
        "flip-axis-not-symmetric",
        "flip-axis-not-symmetric",
        "`flip about {}deg`",
        "about 90deg",
        Value("about {}deg"),
    ),
    row("knock-parts-it", "knock-parts-it", "`knock {}`", "knock 60", Value("knock {}")),
    row("knock-turns-it", "knock-turns-it", "`knock {}`", "magnets(tiny)", Value("magnets(tiny) { knock {} }")),
    row("label-too-small", "label-too-small", "make them {}mm", "height 2.4mm", Value("height {}mm")),
    row("label-too-small", "label-too-small", "read from {}mm", "from 90cm", Value("from {}mm")),
    row("label-too-small-2", "label-too-small", "make them {}mm", "height 2.6mm", Value("height {}mm")),
    row("label-too-small-2", "label-too-small", "read from {}mm", "from 50cm", Value("from {}mm")),
    row("mark-near-edge", "mark-near-edge", "move it {}mm away", "-27.8mm", Of("{}mm", |by| by - 27.8)),
    row("mark-outside-outline", "mark-outside-outline", "move it {}mm towards", "-30mm", Of("{}mm", |by| by - 30.0)),
    row(
        "not-flush",
        "not-flush",
        "whole steps of {}deg",
        "magnets(disc)",
        Of("magnets(disc) { stops {} }", |by| 360.0 / by),
    ),
    row("off-axis", "off-axis", "move the outline by ({}mm,", "(0.5mm, 0mm)", Of("({}mm, 0mm)", |by| 0.5 + by)),
    row(
        "opening-narrower-than-kerf",
        "opening-narrower-than-kerf",
        "wider than {}mm",
        "width: 0.1mm",
        Of("width: {}mm", |at| at + 0.01),
    ),
    row(
        "pocket-broken",
        "pocket-broken",
        "move them {}mm apart",
        "polar(9mm, 0deg)",
        Of("polar({}mm, 0deg)", |by| 9.0 + by),
    ),
    row("reading-hidden-2", "reading-hidden", "`radius {}mm`", "radius 24mm", Value("radius {}mm")),
    row("reading-wrong", "reading-wrong", "by {}deg anticlockwise", "first 36deg", Of("first {}deg", |by| 36.0 - by)),
    row("rivet-binds", "rivet-binds", "`clearance {}mm`", "clearance 0.02mm", Value("clearance {}mm")),
    row(
        "too-big-for-slot",
        "too-big-for-slot",
        "outlines {} times",
        "outline circle(diameter: 60mm)",
        Of("outline circle(diameter: {}mm)", |by| 60.0 * by),
    ),
    row("too-large", "too-large", "below {}mm", "inner: 12mm", Of("inner: {}mm", |at| at - 0.1)),
    row("too-large-2", "too-large", "diameter, {}mm", "inner: 8mm", Of("inner: {}mm", |at| at - 0.1)),
    row("too-large-3", "too-large", "below {}mm", "depth: 9mm", Of("depth: {}mm", |at| at - 0.001)),
    row("too-large-4", "too-large", "below {}deg", "to: 400deg", Of("to: {}deg", |at| at - 1.0)),
    row("too-thick-for-slot", "too-thick-for-slot", "depth of {}mm", "by 5mm", Value("by {}mm")),
    row(
        "turns-outside-slot",
        "turns-outside-slot",
        "widen the slot by {}mm",
        "56mm by 56mm",
        Of("{0}mm by {0}mm", |by| 56.0 + by),
    ),
    row("web-too-thin", "web-too-thin", "by {}mm", "polar(23.2mm, 0deg)", Of("polar({}mm, 0deg)", |by| 23.2 - by)),
];

/// The value in a help that says this.
fn value<'a>(help: &'a str, says: &str) -> Option<&'a str> {
    let (before, after) = says.split_once("{}")?;
    let rest = &help[help.find(before)? + before.len()..];
    let end = rest.find(|letter: char| !(letter.is_ascii_digit() || "-.".contains(letter)))?;
    rest[end..].starts_with(after).then(|| &rest[..end])
}

/// The design with its shop in one text, so that a figure of either can be changed.
fn text_of(name: &str) -> String {
    let text = std::fs::read_to_string(root().join("tests/ui").join(name)).unwrap();
    let shop = "with \"shared/feeble.dial\"\n";
    if !text.contains(shop) {
        return text;
    }
    let shared = std::fs::read_to_string(root().join("tests/ui/shared/feeble.dial")).unwrap();
    text.replace(shop, "") + &shared
}

/// What is wrong with a mend that is stated; nothing where it does as it says.
fn fault(row: &Stated) -> Option<String> {
    let name = format!("{}.dial", row.file);
    let (disk, ..) = DiskProject::of(&root().join("tests/ui").join(&name));
    let text = text_of(&name);
    let seen = |text: String| Seen::whole(&Mended { disk: disk.clone(), name: &name, text }, &name);
    let before = seen(text.clone());
    // Gone, or lessened from a warning to advice.
    let of = |seen: &Seen| {
        let of = seen.findings.iter().filter(|found| found.finding.name() == row.finding);
        of.map(|found| if found.severity == Severity::Advice { 1 } else { 2 }).sum::<u32>()
    };
    let helps = before.findings.iter().filter(|found| found.finding.name() == row.finding);
    let helps: Vec<&str> = helps.filter_map(|found| found.help.as_deref()).collect();
    let Some(stated) = helps.iter().find_map(|help| value(help, row.says)) else {
        return Some(format!("does not say `{}`, but {helps:?}", row.says));
    };
    let to = match row.to {
        Value(to) => to.replace("{}", stated),
        Of(to, of) => {
            let value = of(stated.parse().unwrap()).to_string();
            to.replace("{}", &value).replace("{0}", &value)
        }
    };
    if !text.contains(row.from) {
        return Some(format!("has no `{}`", row.from));
    }
    let after = seen(text.replacen(row.from, &to, 1));
    (of(&after) >= of(&before)).then(|| {
        let left = after.findings.iter().filter(|found| found.finding.name() == row.finding);
        format!("is still found with `{to}`: {:?}", left.map(|found| &found.message).collect::<Vec<_>>())
    })
}

#[test]
fn what_is_said_with_a_value_mends() {
    let wrong: Vec<String> =
        STATED.iter().filter_map(|row| Some(format!("{}: {}: {}", row.file, row.finding, fault(row)?))).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
