//! The reference of the language: an entry for every word, examples that compile, and a page that leads nowhere but to
//! itself.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use dialwright::analysis::{Request, analyse};
use dialwright::diagnostics::{Finding, Severity};
use dialwright::manual;
use dialwright::reference::{ENTRIES, Entry, Example, Role, Topic, explained};

use crate::command_line::run;
use crate::dials::root;

/// What is said of an entry in a fault: `margin, a field of stock`.
fn named(entry: &Entry) -> String {
    format!("{}, {}", entry.word, entry.role.described())
}

/// The words that stand in quotes in the grammar, with letters alone; the units among them.
fn words_of_the_grammar() -> BTreeSet<String> {
    let grammar = fs::read_to_string(root().join("grammar/dial.pest")).unwrap();
    // Slips are no part of the language; the language's own words stand at the end.
    let (language, rest) = grammar.split_once("- slips that are understood").unwrap();
    let (_, own) = rest.split_once("- the language's own words").unwrap();
    let lines = language.lines().chain(own.lines()).filter(|line| !line.trim_start().starts_with("//"));
    let quoted = lines.flat_map(|line| line.split('"').skip(1).step_by(2).map(str::to_owned).collect::<Vec<_>>());
    quoted.filter(|word| word.len() > 1 && word.bytes().all(|byte| byte.is_ascii_alphabetic())).collect()
}

#[test]
fn every_word_of_the_grammar_has_an_entry() {
    let words = words_of_the_grammar();
    assert!(words.len() > 80 && words.contains("engrave") && words.contains("mNm"), "{words:?}");
    let unknown: Vec<&String> =
        words.iter().filter(|word| !ENTRIES.iter().any(|entry| entry.word == word.as_str())).collect();
    assert!(unknown.is_empty(), "words without an entry: {unknown:?}");
}

#[test]
fn every_entry_says_what_it_is_how_it_is_written_and_how_it_is_used() {
    let mut faults = Vec::new();
    for entry in ENTRIES.iter() {
        let text = explained(entry.word).unwrap();
        let mut fault = |holds: bool, words: &str| {
            if !holds {
                faults.push(format!("{}: {words}", named(entry)));
            }
        };
        fault(!entry.doc.is_empty() && !entry.doc.ends_with('.'), "its sentence is empty or ends in a full stop");
        // What several functions take under one word is told as one list.
        let is_told = text.contains(&entry.usage) || matches!(entry.role, Role::Argument(..));
        fault(!entry.usage.is_empty() && is_told, "its text does not say how it is written");
        let is_figure = matches!(entry.role, Role::Figure);
        fault(is_figure != entry.example().is_some(), "it has no example");
        if let Some(page) = entry.page {
            let title = page.lines().next() == Some(format!("# {}", entry.word).as_str());
            fault(title && entry.prose().len() > 20, "its page lacks its title or a sentence");
            fault(page.lines().all(|line| line.chars().count() <= 120), "its page has a line of more than 120 letters");
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_example_compiles() {
    let mut seen: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for entry in ENTRIES.iter() {
        let Some(example) = entry.example() else { continue };
        if seen.contains_key(&example.text) {
            continue;
        }
        let analysis = analyse(&example.project(), Example::FILE, "", &Request::default()).unwrap();
        let errors = analysis.findings.iter().filter(|found| found.severity == Severity::Error);
        let errors: Vec<String> = errors.map(|found| format!("{}: {}", named(entry), found.message)).collect();
        seen.insert(example.text, errors);
    }
    assert!(seen.len() > 250, "{} examples", seen.len());
    let faults: Vec<String> = seen
        .into_iter()
        .filter(|(_, it)| !it.is_empty())
        .map(|(text, it)| format!("{}\n{text}", it.join("\n")))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n\n"));
}

/// Code with a hyphen in it that is no name of a finding: what people write on command lines.
const NO_FINDINGS: [&str; 5] = ["audit-art", "pre-commit", "serve-editor", "dialwright-check", "dialwright-tidy"];

#[test]
fn pages_name_findings_that_there_are_and_state_no_default_of_their_own() {
    let mut faults = Vec::new();
    let pages =
        ENTRIES.iter().filter_map(|entry| Some((named(entry), entry.page?, entry.prose(), entry.rows.as_slice())));
    let topics = Topic::ALL.iter().map(|topic| (topic.name().to_owned(), topic.page(), topic.page(), [].as_slice()));
    for (name, page, prose, rows) in pages.chain(topics) {
        for code in page.split("```").step_by(2).flat_map(|text| text.split('`').skip(1).step_by(2)) {
            let is_name = code.contains('-') && code.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-');
            if is_name && !code.starts_with('-') && Finding::named(code).is_none() && !NO_FINDINGS.contains(&code) {
                faults.push(format!("{name}: there is no finding `{code}`"));
            }
        }
        for row in rows {
            let figure = row.default.trim_matches('`');
            let is_figure = row.default.starts_with('`') && figure.bytes().any(|byte| byte.is_ascii_digit());
            let mut words = prose.split(|sign: char| !sign.is_alphanumeric() && !"#.%".contains(sign));
            if is_figure && figure.len() > 1 && words.any(|word| word.trim_end_matches('.') == figure) {
                faults.push(format!("{name}: its page states the default {figure} of `{}`", row.word));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_word_that_is_several_things_shows_all_of_them() {
    let text = explained("margin").unwrap();
    for heading in ["# margin, a field of `stock`", "# margin, a field of `run`", "# margin, a measure, for `expect`"] {
        assert!(text.contains(heading), "{heading} is not in\n{text}");
    }
    assert!(text.contains("`5mm`") && text.contains("expect margin(crew)"), "{text}");
    assert!(explained("limits").unwrap().contains("4 MiB"));
    assert_eq!(explained("unit-mismatch").unwrap(), Finding::UnitMismatch.page());
}

#[test]
fn a_name_that_is_near_is_suggested_from_all_of_them() {
    for (written, meant) in
        [("setcor", "sector"), ("kerv", "kerf"), ("unit-mismach", "unit-mismatch"), ("famillies", "families")]
    {
        assert_eq!(explained(written), Err(Some(meant)));
    }
    assert_eq!(explained("xyzzyxyzzy"), Err(None));
}

#[test]
fn explain_prints_words_and_lists_them_after_the_findings() {
    let told = run(&["explain", "sector"]);
    assert_eq!(told.status.code(), Some(0));
    assert_eq!(String::from_utf8(told.stdout).unwrap(), explained("sector").unwrap());
    let listed = String::from_utf8(run(&["explain"]).stdout).unwrap();
    let findings: Vec<&str> = listed.lines().take_while(|line| !line.is_empty()).collect();
    assert_eq!(findings, Finding::ALL.iter().map(|finding| finding.name()).collect::<Vec<_>>());
    assert!(listed.contains("\n# Words of the language\n") && listed.contains("\nsector "), "{listed}");
}

/// Everything between these two on a page.
fn between<'p>(page: &'p str, before: &'p str, after: char) -> impl Iterator<Item = &'p str> {
    page.split(before).skip(1).filter_map(move |rest| rest.split(after).next())
}

/// The page stands alone: every address on it is a place of its own, ids are its own, and nothing else is named that a
/// browser would fetch.
#[test]
fn the_page_leads_nowhere_but_to_itself() {
    let page = manual::page();
    let ids: Vec<&str> = between(&page, " id=\"", '"').collect();
    let distinct: BTreeSet<&str> = ids.iter().copied().collect();
    let twice: BTreeSet<&&str> = ids.iter().filter(|id| ids.iter().filter(|other| other == id).count() > 1).collect();
    assert_eq!(ids.len(), distinct.len(), "ids that stand twice: {twice:?}");
    let leads = between(&page, "href=\"", '"').chain(between(&page, "url(", ')'));
    let lost: Vec<&str> = leads.filter(|to| !to.strip_prefix('#').is_some_and(|id| distinct.contains(id))).collect();
    assert!(lost.is_empty(), "these lead nowhere: {lost:?}");
    for foreign in [" src=", "@import", "<script", "<link", " style="] {
        assert!(!page.contains(foreign), "{foreign} is on the page");
    }
    assert!(page.contains("default-src 'none'; style-src 'sha256-"));
}

/// Every function and every placing or combining word has a picture, and a ring one for each way to face.
#[test]
fn shapes_and_placings_have_pictures() {
    let page = manual::page();
    let article = |id: String| {
        between(&page, &format!("<article id=\"{id}\""), '\u{0}')
            .next()
            .unwrap_or_default()
            .split("</article>")
            .next()
            .unwrap()
            .to_owned()
    };
    let without: Vec<String> = ENTRIES
        .iter()
        .filter(|entry| matches!(entry.role, Role::Function(_) | Role::Placing | Role::Combining))
        .filter(|entry| !article(format!("{}-{}", entry.role.key(), entry.word)).contains("<svg"))
        .map(named)
        .collect();
    assert!(without.is_empty(), "without a picture: {without:?}");
    let placed = article("placing-turned".to_owned());
    assert!(
        placed.contains("class=\"before\"") && placed.contains("class=\"filled\"") && placed.contains(" mm</text>")
    );
    assert_eq!(article("block-ring".to_owned()).matches("<svg").count(), 5);
}
