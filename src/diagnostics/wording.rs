//! How findings are worded, whichever stage raises them.
//!
//! How we write: one sentence with the figures in it, no full stop; backticks round the user's text; the
//! language's words and never Rust's; advice goes into the help, as what to write instead.

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
