//! What is done with whatever a fuzzer makes up. Shared by the fuzz targets and by the test that replays the corpus.

use std::borrow::Cow;

use dialwright::analyse::{Analysis, Request, analyse};
use dialwright::artwork::{Wanted, art};
use dialwright::format::tidied;
use dialwright::project::MemoryProject;
use dialwright::source::{Sources, Span};

const SHOP: &str = include_str!("../dials/shop.dial");
/// Larger inputs only repeat what smaller ones show, and take long.
const BYTES: usize = 4096;

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
    for problem in parsed.problems.iter() {
        let told = dialwright::diagnostics::as_text(
            std::slice::from_ref(problem),
            &sources,
            dialwright::diagnostics::Style::Plain,
        );
        assert!(!told.is_empty());
    }
}

/// What is tidied once is tidy, and means the same.
pub fn tidy(bytes: &[u8]) {
    if let Ok(once) = tidied("fuzz.dial", &text(bytes)) {
        let again = tidied("fuzz.dial", &once).unwrap_or_else(|_| panic!("what was tidied cannot be read:\n{once}"));
        assert_eq!(again, once);
    }
}

/// Every stage up to the plan.
pub fn check(bytes: &[u8]) {
    analysed(bytes);
}

/// A whole build, drawings and all.
pub fn build(bytes: &[u8]) {
    let Some(analysis) = analysed(bytes) else { return };
    for dial in analysis.dials.iter().take(2) {
        let Some(plan) = &dial.plan else { continue };
        let files = dialwright::output::files(&dial.design, &dial.audit, plan, &analysis.sources);
        assert!(files.iter().all(|file| std::str::from_utf8(&file.bytes).is_ok()));
    }
}

/// Every operation list keeps its schema.
pub fn operations(bytes: &[u8]) {
    let Some(analysis) = analysed(bytes) else { return };
    let schema = serde_json::from_str(include_str!("../../grammar/operations.schema.json")).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    for dial in analysis.dials.iter().take(2) {
        let Some(plan) = &dial.plan else { continue };
        let files = dialwright::output::files(&dial.design, &dial.audit, plan, &analysis.sources);
        for file in files.iter().filter(|file| file.name == "operations.json") {
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
    let (readings, _) = dialwright::coupon::readings(&sources, id);
    let (measured, _) = dialwright::coupon::measure(&readings, Span::new(id, 0..0));
    if let Some(measured) = measured {
        let block = dialwright::coupon::block(&measured, None);
        let shop = format!("shop \"fuzz\"\n{block}");
        let id = sources.add("shop.dial", shop.clone());
        let parsed = dialwright::syntax::parse(&sources, id);
        assert!(!parsed.problems.has_errors(), "the block cannot be read:\n{shop}");
    }
}
