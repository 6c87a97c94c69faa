//! Words in another order than ours, and values without their brackets or quotes.

use super::syntax::begun;
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;

/// A title without its quotes.
pub fn without_quotes(span: Span, word: &str, quoted: &str) -> Diagnostic {
    Diagnostic::error(Finding::MissingPiece, format!("what follows `{word}` is a text and stands in quotes"))
        .label(span, "without quotes")
        .help(format!("write `{word} {quoted}`"))
        .mend(span, quoted)
}

/// A quote inside a text, which ends the text.
pub fn quote_within(quote: Span, mend: Option<(Span, String)>) -> Diagnostic {
    let found = Diagnostic::error(Finding::UnclosedText, "a quote inside a text ends it")
        .label(quote, "the text ends here")
        .help("write `\\\"` for a quote that belongs to the text");
    match mend {
        Some((whole, text)) => found.mend(whole, text),
        None => found,
    }
}

/// A call with brackets of another kind.
pub fn other_brackets(function: &str, open: &str, (at, end): (Span, Span), certain: bool) -> Diagnostic {
    let found = Diagnostic::error(
        Finding::BracketMismatch,
        format!("`{function}` takes its values in round brackets, not in `{open}`"),
    )
    .label(at, "`(` is expected here")
    .label(end, "`)` is expected here")
    .help(format!("write `{function}(…)`"));
    if certain { found.mend(at, "(").mend(end, ")") } else { found }
}

/// A call without brackets.
pub fn without_brackets(function: &str, first: Span, mend: Option<(Span, Span)>) -> Diagnostic {
    let found = Diagnostic::error(Finding::BracketMismatch, format!("`{function}` takes its values in round brackets"))
        .label(first, "no `(` before this")
        .help(format!("write `{function}(…)`"));
    match mend {
        Some((open, close)) => found.mend(open, "(").mend(close, ")"),
        None => found,
    }
}

/// How deep, dark or coloured, before what.
pub fn tail_first(span: Span, work: &str, tail: &str) -> Diagnostic {
    Diagnostic::error(Finding::UnexpectedText, format!("`{tail}` stands before the shape that it is about"))
        .label(span, "too early")
        .help(format!("write it behind the shape, as in `{work} circle(diameter: 9mm) {tail} …`"))
}

/// Words that change places.
pub fn swapped(span: Span, ours: &str, certain: bool) -> Diagnostic {
    let found = Diagnostic::error(Finding::UnexpectedText, "these words stand in another order")
        .label(span, "the other way round")
        .help(format!("write `{ours}`"));
    if certain { found.mend(span, ours) } else { found }
}

/// A block that begins with a colon.
pub fn colon_for_brace(colon: Span, head: &str) -> Diagnostic {
    Diagnostic::error(Finding::MissingBrace, "a block begins with `{`, not with `:`")
        .label(colon, "`{` is expected here")
        .help(format!("write `{head} {{`, and `}}` where the block ends; how far lines stand in means nothing"))
}

/// The word that begins an item stands within it.
pub fn word_later(span: Span, word: &str) -> Diagnostic {
    let example = begun(word).map(|example| format!(", as in `{example}`")).unwrap_or_default();
    Diagnostic::error(Finding::UnexpectedText, format!("an item with `{word}` begins with that word"))
        .label(span, "stands too late")
        .help(format!("write `{word}` first{example}"))
}

/// A tag, as pages and drawings have them.
pub fn tag(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::UnexpectedText, "an item begins with a word, not with `<`")
        .label(span, "a tag?")
        .help("a shape is written `circle(diameter: 9mm)`; a drawing stays in its own file, as in `art(\"goods.svg\")`")
}

/// Words of a call without their colons.
pub fn without_colons(gaps: &[Span], first: &str) -> Diagnostic {
    let message =
        format!("`:` is missing after `{first}`{}", if gaps.len() > 1 { " and after the words like it" } else { "" });
    let found = Diagnostic::error(Finding::MissingPiece, message);
    let found = gaps.iter().fold(found, |found, gap| found.label(*gap, "`:` is expected here"));
    gaps.iter().fold(found, |found, gap| found.mend(*gap, ":")).help(format!("write `{first}:`"))
}
