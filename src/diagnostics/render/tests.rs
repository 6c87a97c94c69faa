//! Rendering at the edges of texts, in several files, and in bulk.

use super::super::{Diagnostic, Finding};
use super::{Style, as_json, as_text};
use crate::source::{Sources, Span};
use std::time::{Duration, Instant};

fn at(sources: &mut Sources, text: &str, range: std::ops::Range<usize>) -> Diagnostic {
    let id = sources.add("here.dial", text);
    Diagnostic::error(Finding::UnknownName, "nothing is called `brich`").label(Span::new(id, range), "this name")
}

#[test]
fn every_place_of_odd_texts_can_be_drawn() {
    for text in ["", "\n", "a", "a\n", "a\r\n", "žluť\n✦ ⚓\n", "\u{feff}dial\t\"x\"", "\n\n\n", "a\rb"] {
        for start in 0..=text.len() + 2 {
            for end in start..=text.len() + 2 {
                let mut sources = Sources::default();
                let found = [at(&mut sources, text, start..end)];
                let drawn = as_text(&found, &sources, Style::Plain);
                assert!(drawn.contains("nothing is called `brich`"), "{text:?} {start}..{end}");
                assert!(!drawn.contains("Failed to read"), "{text:?} {start}..{end}: {drawn}");
                assert!(as_json(&found, &sources)[0]["labels"][0]["line"].as_u64().unwrap() >= 1);
            }
        }
    }
}

#[test]
fn places_in_another_file_are_shown_under_its_name() {
    let mut sources = Sources::default();
    let shop = sources.add("shop.dial", "stock birch { }\n");
    let found =
        at(&mut sources, "layer base of brich { }\n", 14..19).label(Span::new(shop, 6..11), "the stock is here");
    let drawn = as_text(&[found.help("write `birch`")], &sources, Style::Plain);
    let (main, other) = (drawn.find("here.dial:1:15").unwrap(), drawn.find("shop.dial:1:7").unwrap());
    assert!(main < other && drawn.contains("the stock is here"), "{drawn}");
    assert!(drawn.contains("help: write `birch`") && drawn.ends_with("more: dialwright explain unknown-name\n"));
    assert!(!drawn.contains("Error") && drawn.contains("error: unknown-name"), "our own words only: {drawn}");
}

/// Of a line that is too long to be drawn, what lies round its labels is; the place is named as it is, and every letter is
/// marked that was.
#[test]
fn places_far_along_a_line_are_drawn() {
    for (before, after) in [(66_000, 0), (66_000, 70_000), (200_000, 3), (3, 200_000), (3_000_000, 10)] {
        let text = format!("dial \"x\"\n{}brich{}\nlast\n", "ž".repeat(before), "é ".repeat(after));
        let start = 9 + 2 * before;
        let mut sources = Sources::default();
        let found = at(&mut sources, &text, start..start + 5);
        let (id, far) = (found.span().unwrap().source, text.len() - 6);
        for found in [found.clone(), found.label(Span::new(id, far..far), "and here")] {
            let drawn = as_text(std::slice::from_ref(&found), &sources, Style::Plain);
            assert!(drawn.contains(&format!("here.dial:2:{}]", before + 1)), "{before} {after}: {drawn}");
            assert!(drawn.contains("brich") && drawn.contains("this name") && drawn.len() < 12_000, "{before} {after}");
            assert_eq!(as_json(&[found], &sources)[0]["labels"][0]["column"], before + 1);
        }
    }
}

#[test]
fn an_accepted_finding_shows_its_reason() {
    let mut sources = Sources::default();
    let mut found = at(&mut sources, "layer base of brich { }\n", 14..19);
    found.accepted = Some("the client wants it so".to_owned());
    assert!(as_text(&[found.clone()], &sources, Style::Plain).contains("accepted: the client wants it so"));
    assert_eq!(as_json(&[found], &sources)[0]["accepted"], "the client wants it so");
}

#[test]
fn json_counts_columns_in_characters_and_offsets_in_bytes() {
    let mut sources = Sources::default();
    let found = at(&mut sources, "dial \"x\"\nlet Sůl = sůl\n", 20..24);
    let label = &as_json(&[found], &sources)[0]["labels"][0];
    let expected = serde_json::json!({
        "file": "here.dial", "line": 2, "column": 11, "end_line": 2, "end_column": 14, "start": 20, "end": 24, "text": "this name",
    });
    assert_eq!(*label, expected);
}

/// A common time for a person to notice a wait is a tenth of a second (common practice, no source); ten times that
/// leaves room for a slow machine and an unoptimised build.
#[test]
fn a_hundred_findings_in_ten_thousand_lines_are_drawn_at_once() {
    let text = "layer base of brich { grain 90deg }\n".repeat(10_000);
    let mut sources = Sources::default();
    let found = at(&mut sources, &text, 0..5);
    let source = found.span().unwrap().source;
    let many: Vec<Diagnostic> = (0..100)
        .map(|line| {
            Diagnostic { labels: Vec::new(), ..found.clone() }
                .label(Span::new(source, line * 3600..line * 3600 + 5), "here")
        })
        .collect();
    let start = Instant::now();
    let drawn = as_text(&many, &sources, Style::Plain);
    assert!(start.elapsed() < Duration::from_secs(1), "{:?}", start.elapsed());
    assert_eq!(drawn.matches("brich`").count(), 100);
}

#[test]
fn colours_are_only_in_the_coloured_style() {
    let mut sources = Sources::default();
    let found = [at(&mut sources, "layer base of brich { }\n", 14..19)];
    assert!(as_text(&found, &sources, Style::Coloured).contains('\u{1b}'));
    assert!(!as_text(&found, &sources, Style::Plain).contains('\u{1b}'));
}
