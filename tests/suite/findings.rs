//! No finding without a page that explains it, a file that shows it, and a reviewed snapshot.

use crate::{files, stem};
use dialwright::diagnostics::Finding;
use std::fs;

/// Findings that no file alone can show: what is set from outside, a file of many megabytes, a table of readings. The tests
/// of the command line show them.
const FROM_OUTSIDE: [&str; 13] = [
    "bad-step",
    "bad-trade",
    "file-too-large",
    "ladder-bends",
    "not-kept",
    "not-the-best",
    "reading-stands-out",
    "readings-cell",
    "readings-row",
    "readings-table",
    "too-much-free",
    "unknown-setting",
    "unknown-variant",
];

/// Findings that no text alone can provoke: the front end makes every turn's pockets itself where none are drawn, and
/// these tests see no typefaces of the machine. Tests of their own show them.
const FROM_DESIGNS_ALONE: [&str; 2] = ["magnet-without-pocket", "system-typeface"];

/// A title, then at least one sentence, then an example in a fence.
fn page_is_whole(finding: Finding) -> bool {
    let page = finding.page();
    let title = page.lines().next() == Some(format!("# {}", finding.name()).as_str());
    let mut fences = page.split("```");
    let sentence = fences.next().is_some_and(|before| before.lines().skip(1).any(|line| !line.trim().is_empty()));
    let example = fences.next().is_some_and(|example| example.trim_start_matches("dial").trim().len() > 5);
    title && sentence && example
}

#[test]
fn every_finding_is_explained_shown_and_reviewed() {
    let shown: Vec<String> = files("ui", "dial").iter().map(|path| stem(path)).collect();
    let answers = files("ui", "snap").into_iter().chain(files("answers/command_line", "snap"));
    let answers: Vec<String> = answers.map(|path| fs::read_to_string(path).unwrap()).collect();
    let mut faults = Vec::new();
    for finding in Finding::ALL {
        let name = finding.name();
        let mut fault = |holds: bool, text: &str| {
            if !holds {
                faults.push(format!("{name}: {text}"));
            }
        };
        fault(page_is_whole(*finding), "its page lacks a title, a sentence or an example");
        let by_design = FROM_DESIGNS_ALONE.contains(&name);
        let outside = by_design || FROM_OUTSIDE.contains(&name);
        let own = shown.iter().any(|stem| stem == name || stem.starts_with(&format!("{name}-")));
        fault(own != outside, "no file tests/ui/NAME[-more].dial shows it");
        // A finding that is told in one line has its words right behind its name.
        let told = [format!(": {name}\n"), format!(": {name}: ")];
        let appears = answers.iter().any(|answer| told.iter().any(|told| answer.contains(told)));
        fault(appears || by_design, "no snapshot shows it");
    }
    assert!(faults.is_empty(), "findings that are not whole:\n{}", faults.join("\n"));
}

#[test]
fn names_are_in_order_and_each_is_found_by_its_name() {
    let names: Vec<&str> = Finding::ALL.iter().map(|finding| finding.name()).collect();
    assert!(names.is_sorted(), "keep the names in alphabetical order");
    assert!(Finding::ALL.iter().all(|finding| Finding::named(finding.name()) == Some(*finding)));
    assert_eq!(Finding::named("no-such-finding"), None);
}
