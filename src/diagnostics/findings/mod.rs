//! What each finding says. All prose of the messages is here, by kind; none is in the checkers.
//!
//! How we write: one sentence with the figures in it, no full stop; backticks round the user's text; the
//! language's words and never Rust's; advice goes into the help, as what to write instead.

pub mod artwork;
pub mod coupon;
pub mod dial;
pub mod fit;
pub mod holding;
pub mod legibility;
pub mod lettering;
pub mod names;
pub mod order;
pub mod plan;
pub mod rings;
pub mod signs;
pub mod strength;
pub mod syntax;
pub mod turning;
pub mod types;
pub mod units;
pub mod values;

/// `a`, `b` or `c`, in backticks.
pub(crate) fn listed<'a>(words: impl IntoIterator<Item = &'a str>, last: &str) -> String {
    let quoted: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    match quoted.as_slice() {
        [] => "none".to_owned(),
        [one] => one.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

/// "1 label", "3 labels".
pub(crate) fn counted(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}
