//! How figures are written in what people read, whatever says it: as the language takes them, `0.8mm` and `4.2mm²`, but for a
//! share, which prose tells as `58.6 %` (a space before the sign: SI Brochure, 9th edition, 5.4.7) and text of the language,
//! in backticks or blocks, as `58.6%`.

use crate::dials::root;
use crate::mends::SEEN;
use crate::{files, stem};

/// A text without what stands in backticks.
fn prose(text: &str) -> String {
    text.split('`').step_by(2).collect()
}

/// What of a text is written otherwise.
fn odd(text: &str) -> Option<String> {
    let text = prose(text);
    let after_digit = |sign: &str| {
        text.match_indices(sign).any(|(at, _)| text[..at].ends_with(|letter: char| letter.is_ascii_digit()))
    };
    let odd = after_digit("%") || text.contains("mm2") || text.contains("mm^2") || after_digit(" mm²");
    (odd && !text.contains("kG² mm²")).then_some(text)
}

#[test]
fn findings_write_figures_in_one_form() {
    let mut wrong = Vec::new();
    for (path, seen) in &*SEEN {
        for found in &seen.findings {
            let labels = found.labels.iter().map(|label| label.text.as_str());
            let said = [Some(found.message.as_str()), found.help.as_deref()].into_iter().flatten().chain(labels);
            wrong.extend(said.filter_map(odd).map(|text| format!("{}: {text}", stem(path))));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What the command line prints in the reviewed answers, help texts left out, which show what is typed.
#[test]
fn what_is_printed_writes_figures_in_one_form() {
    let answers = files("answers/command_line", "snap");
    let answers = answers.iter().filter(|path| !stem(path).starts_with("help"));
    // A line that quotes a file has its number before it, and JSON has names of its own.
    let quotes = |line: &&str| line.contains(" │ ") || line.contains("\": ");
    let wrong: Vec<String> = answers
        .flat_map(|path| {
            let text = std::fs::read_to_string(path).unwrap();
            let odd = text.lines().filter(|line| !quotes(line)).filter_map(odd).collect::<Vec<_>>();
            odd.into_iter().map(|line| format!("{}: {line}", stem(path))).collect::<Vec<_>>()
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn pages_write_figures_in_one_form() {
    let folders = ["src/diagnostics/explain", "src/reference/topics"];
    let pages = folders.iter().flat_map(|folder| std::fs::read_dir(root().join(folder)).unwrap());
    let wrong: Vec<String> = pages
        .filter_map(|page| {
            let path = page.unwrap().path();
            let text = std::fs::read_to_string(&path).unwrap();
            // Every other part stands in a block.
            let text: String = text.split("```").step_by(2).collect();
            Some(format!("{}: {}", stem(&path), text.lines().find_map(odd)?))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
