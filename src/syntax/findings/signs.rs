//! Signs, blanks and remarks that are not the language's.

use crate::diagnostics::{Diagnostic, Edit, Finding};
use crate::source::Span;

/// A finding with one place for each of some characters, and their mend.
fn odd(message: String, spans: &[Span], label: &str, edits: Vec<Edit>) -> Diagnostic {
    const SHOWN: usize = 4;
    let found = Diagnostic::error(Finding::UnknownCharacter, message);
    let found = spans.iter().take(SHOWN).fold(found, |found, span| found.label(*span, label));
    edits.into_iter().fold(found, |found, edit| found.mend(edit.span, edit.text))
}

/// Blanks of another kind than the plain one, as web pages and word processors write them.
pub fn special_blank(spans: &[Span], edits: Vec<Edit>) -> Diagnostic {
    let message = match spans.len() {
        1 => "a blank of a special kind stands here, as web pages and word processors write them".to_owned(),
        count => format!("{count} blanks of a special kind stand here, as web pages and word processors write them"),
    };
    odd(message, spans, "not a plain blank", edits).help("write plain blanks, with the space bar")
}

/// Characters that cannot be seen.
pub fn unseen(spans: &[Span], written: &str, edits: Vec<Edit>) -> Diagnostic {
    let code = written.chars().next().map_or(0, u32::from);
    let message = match spans.len() {
        1 => format!("an unseen character stands here (U+{code:04X})"),
        count => format!("{count} unseen characters stand here (the first is U+{code:04X})"),
    };
    odd(message, spans, "here", edits).help("delete it, or type the line anew; such characters come with copied text")
}

/// Signs as wide as the letters of East Asian scripts.
pub fn full_width(spans: &[Span], written: &str, ours: &str, edits: Vec<Edit>) -> Diagnostic {
    let message = match spans.len() {
        1 => format!("`{written}` is the full-width form of `{ours}`"),
        _ => format!("`{written}` is the full-width form of `{ours}`; {} like it", others(spans.len())),
    };
    odd(message, spans, "full-width", edits).help(format!("write the plain sign, `{ours}`"))
}

fn others(count: usize) -> String {
    match count - 1 {
        1 => "one more sign here is".to_owned(),
        more => format!("{more} more signs here are"),
    }
}

/// A sign of another language, of mathematics or of typography.
pub fn foreign_sign(spans: &[Span], sign: &str, ours: Option<&str>, about: &str, edits: Vec<Edit>) -> Diagnostic {
    let message = match sign {
        "−" | "–" | "—" => format!("`{sign}` is no minus sign"),
        "`" => "'`' is no sign of the language".to_owned(),
        _ => format!("`{sign}` is no sign of the language"),
    };
    let help = match (ours, about) {
        (Some(ours), "") => format!("write `{ours}`"),
        (None, "") => "take it away: the signs of the language are `+ - * / < > = , : ; #` and brackets".to_owned(),
        (_, about) => about.to_owned(),
    };
    odd(message, spans, "this one", edits).help(help)
}

/// A remark as another language writes it. The mend is certain where nothing follows it on its line, and, where it has
/// several lines, nothing stands before it (`alone`).
pub fn foreign_remark(span: Span, written: &str, ends_line: bool, alone: bool) -> Diagnostic {
    let (open, close) = match written {
        _ if written.starts_with("/*") => ("/*", "*/"),
        _ if written.starts_with('#') => ("#", ""),
        _ => ("<!--", "-->"),
    };
    let found = Diagnostic::error(Finding::UnknownCharacter, format!("a remark begins with `//`, not with `{open}`"))
        .label(span, "a remark?");
    let lines = written.lines().count();
    let found = found.help(match lines {
        0 | 1 => "write `//` in front of it; a remark ends with its line".to_owned(),
        _ => format!("a remark ends with its line: write `//` in front of each of these {lines} lines"),
    });
    if !ends_line || (lines > 1 && !alone) {
        return found;
    }
    let text = if open == "#" { written.trim_start_matches('#') } else { written.get(open.len()..).unwrap_or("") };
    let text = text.strip_suffix(close).unwrap_or(text);
    let lines = text.lines().map(|line| format!("// {}", line.trim()).trim_end().to_owned());
    found.mend(span, lines.collect::<Vec<String>>().join("\n"))
}

/// A comma between two items, or after the last one of a block.
pub fn comma_between_items(comma: Span, second: Option<Span>) -> Diagnostic {
    let found = Diagnostic::error(Finding::TwoItemsOnALine, "items are parted by `;` or a new line, not by a comma")
        .label(comma, "this comma");
    match second {
        Some(second) => found
            .label(second, "the next item begins here")
            .help("put `;` between them, or begin a new line")
            .mend(comma, ";"),
        None => found.help("take the comma away").mend(comma, ""),
    }
}

/// `;` inside brackets, where `,` parts values.
pub fn semicolon_in_brackets(signs: &[Span], open: Span, sign: &str) -> Diagnostic {
    let found =
        Diagnostic::error(Finding::BracketMismatch, format!("inside `{sign}` values are parted by `,`, not by `;`"));
    let found = signs.iter().take(1).fold(found, |found, span| found.label(*span, "an item ends with `;`"));
    let found = found.label(open, "opened here").help("write `,`");
    signs.iter().fold(found, |found, span| found.mend(*span, ","))
}

/// `:` after a word of ours, as style sheets write it.
pub fn field_with_colon(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EqualsSign, "`:` stands after a word of the language")
        .label(span, "no `:` here")
        .help("a field is its word and its value, as in `height 8mm`; `:` is for the words inside a call")
        .mend(span, "")
}

/// A list without its brackets.
pub fn bare_list(comma: Span, written: &str, open: Span, close: Span) -> Diagnostic {
    let help = if written.chars().count() > 40 || written.contains('`') {
        "put `[` before its first value and `]` behind its last".to_owned()
    } else {
        format!("write `[{written}]`")
    };
    Diagnostic::error(Finding::MissingPiece, "a list of several values stands in square brackets")
        .label(comma, "a second value follows")
        .help(help)
        .mend(open, "[")
        .mend(close, "]")
}
