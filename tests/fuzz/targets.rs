//! What is done with whatever a fuzzer makes up. Shared by the fuzz targets and by the test that replays the corpus.

use std::borrow::Cow;

use dialwright::analysis::{Analysis, Dial, Request, analyse};
use dialwright::artwork::{Wanted, art};
use dialwright::diagnostics::{Style, as_json, as_sarif, as_text};
use dialwright::format::tidied;
use dialwright::output::{self, OutputFile, Printing};
use dialwright::plan::Plan;
use dialwright::project::MemoryProject;
use dialwright::quote::Quote;
use dialwright::source::{Sources, Span};

const SHOP: &str = include_str!("../dials/shop.dial");
/// Larger inputs only repeat what smaller ones show, and take long.
const BYTES: usize = 4096;

/// One build in so many is printed as well, which takes many times as long as all the rest.
const PRINTED: usize = 16;

/// The fuzzer ends at the first panic. Those of the boolean engine are caught by `geometry`, which then asks its second
/// engine, so they are none that a user meets.
#[allow(dead_code, reason = "called by the targets, not by the test that shares this file")]
pub fn leave_caught_panics() {
    let ends = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if !panic.location().is_some_and(|place| place.file().contains("linesweeper")) {
            ends(panic);
        }
    }));
}

fn text(bytes: &[u8]) -> Cow<'_, str> {
    String::from_utf8_lossy(&bytes[..bytes.len().min(BYTES)])
}

fn analysed(bytes: &[u8]) -> Option<Analysis> {
    // Lists of lists and long runs are bounded, but not by what a fuzzer has time for.
    let text = text(bytes);
    let figures = text.split(|letter: char| !letter.is_ascii_digit());
    if text.matches("for ").count() > 1 || figures.into_iter().any(|figure| figure.len() > 3) {
        return None;
    }
    let project = MemoryProject::default().with("fuzz.dial", text.as_bytes()).with("shop.dial", SHOP);
    analyse(&project, "fuzz.dial", "", &Request::default()).ok()
}

/// The parser gives a tree and problems, whatever it reads.
pub fn parse(bytes: &[u8]) {
    let mut sources = Sources::default();
    let id = sources.add("fuzz.dial", text(bytes).into_owned());
    let parsed = dialwright::syntax::parse(&sources, id);
    let problems = parsed.problems.into_sorted();
    assert!(problems.is_empty() || !as_text(&problems, &sources, Style::Plain).is_empty());
    assert_eq!(as_json(&problems, &sources).as_array().map(Vec::len), Some(problems.len()));
}

/// What is tidied once is tidy, and means the same.
pub fn tidy(bytes: &[u8]) {
    if let Ok(once) = tidied("fuzz.dial", &text(bytes)) {
        let again = tidied("fuzz.dial", &once).unwrap_or_else(|_| panic!("what was tidied cannot be read:\n{once}"));
        assert_eq!(again, once);
    }
}

/// Every stage up to the plan, and what is told of it.
pub fn check(bytes: &[u8]) {
    let Some(analysis) = analysed(bytes) else { return };
    let told = as_text(&analysis.findings, &analysis.sources, Style::Plain);
    assert!(told.chars().all(|letter| letter == '\n' || !letter.is_control()), "{told:?}");
    as_sarif(&[(&analysis.findings, &analysis.sources)]);
}

/// The first dials of a design that can be made, with their plans.
fn made(analysis: &Analysis) -> impl Iterator<Item = (&Dial, (&Plan, &Quote))> {
    analysis.dials.iter().take(2).filter_map(|dial| Some((dial, dial.made()?)))
}

fn files(analysis: &Analysis, (dial, made): (&Dial, (&Plan, &Quote))) -> Vec<OutputFile> {
    output::files(&dial.design, &dial.audit, made, &analysis.sources)
}

/// A whole build: drawings, lists, run sheet, viewer, stops, and now and then what is printed.
pub fn whole(bytes: &[u8]) {
    let Some(analysis) = analysed(bytes) else { return };
    for (dial, (plan, quote)) in made(&analysis) {
        let mut files = files(&analysis, (dial, (plan, quote)));
        files.push(output::viewer::file(&output::viewer::Shown::of(&analysis, dial)));
        assert!(files.iter().all(|file| std::str::from_utf8(&file.bytes).is_ok()));
        assert!(output::stops::sheet(&[(&dial.design, &dial.audit.reading_check)]).contains("<svg"));
        if bytes.iter().map(|byte| usize::from(*byte)).sum::<usize>() % PRINTED == 0 {
            let printed = output::prints(&Printing {
                design: &dial.design,
                audit: &dial.audit,
                plan,
                quote,
                expectations: &dial.expectations,
                findings: analysis.of_dial(dial).collect(),
                sources: &analysis.sources,
                revision: &dial.revision,
                paper: output::page::Paper::A4,
                price: false,
            });
            assert!(printed.is_ok(), "{printed:?}");
        }
    }
}

/// Every operation list keeps its schema.
pub fn operations(bytes: &[u8]) {
    let Some(analysis) = analysed(bytes) else { return };
    let schema = serde_json::from_str(include_str!("../../grammar/operations.schema.json")).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    for made in made(&analysis) {
        for file in files(&analysis, made).iter().filter(|file| file.name == "operations.json") {
            let list = serde_json::from_slice(&file.bytes).unwrap();
            let faults: Vec<String> = validator.iter_errors(&list).map(|fault| fault.to_string()).collect();
            assert!(faults.is_empty(), "{faults:?}");
        }
    }
}

/// Vector artwork.
pub fn drawing(bytes: &[u8]) {
    if bytes.len() <= 4 * BYTES {
        let _ = dialwright::artwork::art_from_svg(bytes, None);
        let _ = dialwright::artwork::preview(bytes, 24);
    }
}

/// Bitmap artwork. The size that a file claims is bounded lower than in the program, since a fuzzer is impatient.
pub fn picture(bytes: &[u8]) {
    if bytes.len() <= 16 * BYTES {
        let _ = art(bytes, &Wanted::default());
        let _ = art(bytes, &Wanted { threshold: Some(0.4), ..Wanted::default() });
    }
}

/// A table of readings, and the block of a shop file that is made of it, which the language can read.
pub fn readings(bytes: &[u8]) {
    let mut sources = Sources::default();
    let id = sources.add("readings.csv", text(bytes).into_owned());
    let (readings, problems) = dialwright::coupon::readings(&sources, id);
    let (measured, more) = dialwright::coupon::measure(&readings, Span::new(id, 0..0));
    let told = as_text(&[problems.into_sorted(), more.into_sorted()].concat(), &sources, Style::Plain);
    if let Some(measured) = measured.filter(|_| !told.contains("error:")) {
        let block = dialwright::coupon::block(&measured, None);
        let shop = format!("shop \"fuzz\"\n{block}");
        let id = sources.add("shop.dial", shop.clone());
        let parsed = dialwright::syntax::parse(&sources, id);
        assert!(!parsed.problems.has_errors(), "the block cannot be read:\n{shop}");
    }
}
