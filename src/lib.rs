//! dialwright: a small language and compiler for laser-cut rotating game dials.
//!
//! A `.dial` file describes a stack of thin engraved layers that turn on one another. The crate reads it, proves it and
//! prepares it for the shop:
//!
//! ```text
//! files ─load─▶ trees ─check─▶ Design ─audit─▶ findings, measures
//!                                 └────plan──▶ boards, setups, operations ─output─▶ SVG, JSON
//! ```
//!
//! Each stage is a pure function that gives its value and all its problems. A program needs five calls: a project to read from,
//! [`analysis::analyse`] for all stages at once, its findings as text, the files for the shop, and what changed since last time.
//!
//! ```
//! use dialwright::analysis::{Request, analyse};
//! use dialwright::diagnostics::{Style, as_text};
//! use dialwright::diff::diff;
//! use dialwright::output::all_files;
//! use dialwright::project::MemoryProject;
//!
//! let text = r#"
//!     dial "Points, 0 to 9"
//!     outline circle(diameter: 60mm)
//!     layer base of birch  { engrave ring points { labels 0 to 9 } }
//!     layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }
//!     stack { base; turn on magnets(disc); cover }
//!     reads points through peep
//! "#;
//! // 1. Where files come from: here from memory; `Project` can be implemented for anything that holds texts.
//! let project = MemoryProject::default().with("points.dial", text);
//! // 2. All that is known of the design: its dials, with their measures and plans.
//! let analysis = analyse(&project, "points.dial", "", &Request::default()).expect("the file is there");
//! let dial = &analysis.dials[0];
//! assert_eq!(dial.audit.reading_check.shows("peep").map(|labels| labels.len()), Some(10));
//! // 3. What is wrong or worth knowing, as people read it.
//! let said = as_text(&analysis.findings, &analysis.sources, Style::Plain);
//! assert!(said.contains("nominal-figures") && analysis.standing() == 0);
//! // 4. What the shop needs; `None` leaves out the pages for printing.
//! let files = all_files(dial, &analysis.findings, &analysis.sources, None).expect("all forms can be written");
//! assert!(files.iter().any(|file| file.name == "board-1-setup-1.svg"));
//! // 5. What changed between two designs, by meaning.
//! let wider = MemoryProject::default().with("points.dial", text.replace("60mm", "62mm"));
//! let changed = analyse(&wider, "points.dial", "", &Request::default()).expect("the file is there");
//! assert!(!diff(&analysis, &changed).changes.is_empty());
//! ```
//!
//! Where to go on, each with an example that runs:
//!
//! | what for | where |
//! | --- | --- |
//! | reading files, from a disk of your own kind if need be | [`project::Project`], [`check::load()`] |
//! | all that is known of a design | [`analysis::analyse`] |
//! | a family, one variant after the other, several at once | [`analysis::Session`], [`family`] |
//! | values found instead of tried | [`seek::seek`] |
//! | what is wrong, for people and for programs | [`diagnostics::as_text`], [`diagnostics::as_sarif`] |
//! | what is written for the shop | [`output::all_files`], [`mod@quote`] |
//! | a dial read from a drawing | [`adopt::adopt`] |
//! | what changed between two designs | [`diff::diff`] |
//! | the one layout of texts | [`format::tidied`] |
//! | every finding and its page | [`diagnostics::Finding`] |
//!
//! With `default-features = false` a program compiles none of the command line (feature `cli`), what editors ask (`editor`) and
//! the live page's server (`view`).
//!
//! What is stable and what a version number promises stands in the file DEVELOPERS.md of the repository.

pub mod adopt;
pub mod analysis;
pub mod artwork;
pub mod audit;
pub mod begin;
pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod coupon;
mod density;
pub mod design;
pub mod diagnostics;
pub mod diff;
#[cfg(feature = "editor")]
pub mod editor;
pub mod family;
pub mod format;
pub mod geometry;
pub mod lettering;
pub mod limits;
pub mod manual;
mod memory;
pub mod output;
mod parallel;
pub mod physics;
pub mod plan;
pub mod portrait;
pub mod project;
pub mod quote;
pub mod reference;
pub mod rehearsal;
pub mod revision;
pub mod scan;
pub mod seek;
pub mod source;
pub mod statistics;
pub mod syntax;
pub mod units;
#[cfg(feature = "view")]
pub mod view;
pub mod vocabulary;
pub mod work;

/// How tests draw: a fixed sequence of so many cases, none of which is written down.
#[cfg(test)]
pub(crate) fn drawn(cases: u32) -> proptest::test_runner::Config {
    use proptest::test_runner::{Config, RngSeed};
    Config { cases, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..Config::default() }
}
