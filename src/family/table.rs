//! Variants beside each other: `family.md` for people, `family.csv` for spreadsheets, `family.json` for programs, `family.html` with their pictures. Pure.

use serde_json::{Map, Value, json};

use super::{Figure, Record};
use crate::analysis::Share;
use crate::diagnostics::Severity;
use crate::output::OutputFile;
use crate::output::quote::in_words;
use crate::units::{Dimension, Time, fixed, plain};
use crate::vocabulary::figures::{FigureName, FigureSpec};
use crate::vocabulary::types::Type;

/// Version of the form of `family.json` and `family.csv`. Raised when a reader of the former one could misread it.
pub const VERSION: u32 = 1;

/// What a family is compared by: its dial's title and what is known of each variant, in the order of the file.
#[derive(Clone, Copy, Debug)]
pub struct Comparison<'a> {
    /// What the dial is called.
    pub title: &'a str,
    /// Its variants.
    pub records: &'a [Record],
}

/// The tables, and the page that shows all variants.
pub fn files(comparison: &Comparison<'_>) -> Vec<OutputFile> {
    let json = format!("{:#}\n", as_json(comparison));
    let all = [
        ("family.csv", as_csv(comparison)),
        ("family.html", super::page::page(comparison)),
        ("family.json", json),
        ("family.md", as_markdown(comparison)),
    ];
    all.map(|(name, text)| OutputFile { name: name.to_owned(), bytes: text.into_bytes() }).into()
}

/// Everything, for programs.
pub fn as_json(comparison: &Comparison<'_>) -> Value {
    json!({
        "format": "dialwright family",
        "version": VERSION,
        "title": comparison.title,
        "variants": comparison.records.iter().map(variant).collect::<Vec<_>>(),
    })
}

fn variant(record: &Record) -> Value {
    let params: Map<String, Value> = record.params.iter().map(|(name, value)| (name.clone(), json!(value))).collect();
    let figures = FigureName::ROWS
        .iter()
        .copied()
        .map(|column| (heading(column), number(record.figures.get(column.word), column)));
    let findings = record.findings.iter().map(|finding| {
        json!({
            "finding": finding.finding.name(),
            "severity": finding.severity.word(),
            "message": finding.message,
            "accepted": finding.accepted,
        })
    });
    json!({
        "variant": record.variant,
        "params": params,
        "figures": figures.collect::<Map<String, Value>>(),
        "findings": findings.collect::<Vec<_>>(),
        "verdict": record.verdict.as_json(),
        "files": record.files.iter().map(|made| json!({ "name": made.name, "sha256": made.digest })).collect::<Vec<_>>(),
    })
}

fn number(figure: Option<&Figure>, column: &FigureSpec) -> Value {
    match figure {
        Some(Figure::Truth(truth)) => json!(truth),
        Some(Figure::Number(value)) => exact(super::rounded(value / unit(column).1)),
        Some(Figure::Labels(labels)) => json!(labels),
        None => Value::Null,
    }
}

/// A whole number without a decimal point.
fn exact(value: f64) -> Value {
    #[allow(clippy::cast_possible_truncation, reason = "bounded by the test before")]
    // `3` and not `3.0`, which some readers take for another type from row to row.
    if value.fract() == 0.0 && value.abs() < 1e15 { json!(value as i64) } else { json!(value) }
}

/// The unit of a column, as the end of its heading, and its size in base units.
fn unit(column: &FigureSpec) -> (&'static str, f64) {
    match column.holds {
        Type::Quantity(Dimension::LENGTH) => ("_mm", 1.0),
        Type::Quantity(Dimension::FORCE) => ("_N", 1e3),
        Type::Quantity(Dimension::TIME) => ("_s", 1.0),
        _ => ("", 1.0),
    }
}

/// "width_mm"
fn heading(column: &FigureSpec) -> String {
    format!("{}{}", column.word, unit(column).0)
}

/// One row a variant: its name, its params, its figures with their units in the heading, and why it could not be made.
fn as_csv(comparison: &Comparison<'_>) -> String {
    let params = param_names(comparison.records);
    let mut csv = csv::Writer::from_writer(Vec::new());
    let own = |name: &String| {
        // A param may be called as a column is; two columns of one heading would be mixed up by whoever reads them.
        let taken = name == "variant"
            || name == "why_not"
            || FigureName::ROWS.iter().copied().any(|column| heading(column) == *name);
        if taken { format!("{name} (param)") } else { name.clone() }
    };
    let head = ["variant".to_owned()]
        .into_iter()
        .chain(params.iter().map(own))
        .chain(FigureName::ROWS.iter().copied().map(heading));
    // Writing into memory cannot fail, and all rows are of one length.
    let _ = csv.write_record(head.chain(["why_not".to_owned()]));
    for record in comparison.records {
        let of = |name: &String| record.params.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone());
        let figures = FigureName::ROWS.iter().copied().map(|column| cell(record.figures.get(column.word), column, 3));
        let row = [record.variant.clone()].into_iter().chain(params.iter().map(|name| of(name).unwrap_or_default()));
        let row = row.chain(figures).chain([why_not(record).unwrap_or_default()]);
        let _ = csv.write_record(row.map(no_formula));
    }
    csv.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// A cell that a spreadsheet would take for a formula, behind an apostrophe (OWASP, "CSV Injection"). Numbers, with a unit or
/// without, stay as they are.
fn no_formula(cell: String) -> String {
    let tail = cell.trim_start_matches(['+', '-']);
    // `-3.5mm` begins like a formula too, and is a number that a spreadsheet should see as one.
    let is_number = tail.starts_with(|first: char| first.is_ascii_digit())
        && tail.chars().all(|sign| sign.is_alphanumeric() || sign == '.' || sign == '%');
    let begins_one = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if begins_one && !is_number { format!("'{cell}") } else { cell }
}

/// The names of all params, in the order declared.
fn param_names(records: &[Record]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (name, _) in records.iter().flat_map(|record| &record.params) {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

fn cell(figure: Option<&Figure>, column: &FigureSpec, decimals: usize) -> String {
    match figure {
        Some(Figure::Truth(true)) => "yes".to_owned(),
        Some(Figure::Truth(false)) => "no".to_owned(),
        Some(Figure::Number(value)) => plain(value / unit(column).1, decimals),
        Some(Figure::Labels(labels)) => labels.join(" "),
        None => String::new(),
    }
}

/// Why a variant could not be made: its first error, and how many more there are.
pub fn why_not(record: &Record) -> Option<String> {
    let first = record.why_not()?;
    let errors = record.findings.iter().filter(|finding| finding.severity == Severity::Error).count();
    let more = if errors > 1 { format!(", and {} more", errors - 1) } else { String::new() };
    Some(format!("{}: {}{more}", first.finding.name(), first.message))
}

/// The columns that people compare by, each with its cells; those that no variant has a figure for are left out.
pub fn columns_for_people(records: &[Record]) -> Vec<(String, Vec<String>)> {
    let said = |record: &Record, word: &str, decimals: usize| {
        FigureName::ROWS
            .iter()
            .find(|it| it.word == word)
            .map_or_else(String::new, |it| cell(record.figures.get(word), it, decimals))
    };
    let plain_column = |heading: &str, word: &str, decimals: usize| {
        (heading.to_owned(), records.iter().map(|record| said(record, word, decimals)).collect::<Vec<_>>())
    };
    let size = |record: &Record| {
        let sides = [said(record, "width", 1), said(record, "height", 1), said(record, "thickness", 2)];
        if sides.iter().any(String::is_empty) { String::new() } else { sides.join(" x ") }
    };
    let time = |record: &Record| match record.figures.get("machine_time") {
        Some(Figure::Number(seconds)) => in_words(Time::seconds(*seconds)),
        _ => String::new(),
    };
    let right = |record: &Record| match (record.figures.get("yield"), record.figures.get("yield_plus_minus")) {
        (Some(Figure::Number(share)), Some(Figure::Number(plus_minus))) => {
            Share { share: *share, plus_minus: *plus_minus }.in_percent()
        }
        _ => String::new(),
    };
    let mut all = vec![("variant".to_owned(), records.iter().map(|record| record.variant.clone()).collect())];
    for name in param_names(records) {
        let of =
            |record: &Record| record.params.iter().find(|(known, _)| *known == name).map(|(_, value)| value.clone());
        all.push((name.clone(), records.iter().map(|record| of(record).unwrap_or_default()).collect()));
    }
    all.extend([
        plain_column("made", "made", 0),
        ("size, mm".to_owned(), records.iter().map(size).collect()),
        plain_column("fits", "fits", 0),
        plain_column("reads", "reads", 0),
        ("read right, %".to_owned(), records.iter().map(right).collect()),
        plain_column("holds", "holds", 0),
        plain_column("least margin, mm", "least_margin", 2),
        plain_column("lift-off, N", "least_lift_off", 2),
        plain_column("boards", "boards", 0),
        ("machine".to_owned(), records.iter().map(time).collect()),
        ("cost".to_owned(), records.iter().map(|record| money(record, "cost")).collect()),
        ("one dial".to_owned(), records.iter().map(|record| money(record, "cost_of_one")).collect()),
        plain_column("warnings", "warnings", 0),
    ]);
    // A column that nobody has a value in only takes room.
    all.retain(|(_, cells): &(String, Vec<String>)| cells.iter().any(|cell| !cell.is_empty()));
    all
}

fn money(record: &Record, word: &str) -> String {
    match record.figures.get(word) {
        Some(Figure::Number(price)) => fixed(*price, 2),
        _ => String::new(),
    }
}

fn as_markdown(comparison: &Comparison<'_>) -> String {
    let columns = columns_for_people(comparison.records);
    let row = |cells: Vec<&str>| format!("| {} |\n", cells.into_iter().map(escaped).collect::<Vec<_>>().join(" | "));
    let mut text = format!("# {}\n\n", escaped(comparison.title));
    text += &row(columns.iter().map(|(heading, _)| heading.as_str()).collect());
    text += &row(columns.iter().map(|_| "---").collect());
    for at in 0..comparison.records.len() {
        text += &row(columns.iter().map(|(_, cells)| cells.get(at).map_or("", String::as_str)).collect());
    }
    let failed = comparison.records.iter().filter_map(|record| Some((record, why_not(record)?)));
    let failed: Vec<String> =
        failed.map(|(record, why)| format!("- {}: {}\n", escaped(&record.variant), escaped(&why))).collect();
    if !failed.is_empty() {
        text += &format!("\nNot made:\n\n{}", failed.concat());
    }
    text
}

/// Text that Markdown shows as it is (CommonMark 2.4: a backslash before punctuation), in one line.
fn escaped(text: &str) -> String {
    let mut shown = String::new();
    for letter in text.split_whitespace().collect::<Vec<_>>().join(" ").chars() {
        if "|*_<>[]\\#".contains(letter) {
            shown.push('\\');
        }
        shown.push(letter);
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_texts_and_numbers_stay_numbers() {
        let shown = |cell: &str| no_formula(cell.to_owned());
        for formula in ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "-", "-(1)"] {
            assert_eq!(shown(formula), format!("'{formula}"));
        }
        for plain in ["-1.492", "-3mm", "+5%", "46mm", "yes", "", "a=1", "\"=1\""] {
            assert_eq!(shown(plain), plain);
        }
    }
}
