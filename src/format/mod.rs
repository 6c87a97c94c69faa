//! One layout for every file. Pure: takes what the parser gives and nothing else.
//!
//! The tree is turned into a document of texts and gaps (`items`, `exprs`), with the comments at the gaps where they
//! stand; `doc` chooses which gaps end a line, and `lines` puts notes and comments in columns. What comes out is
//! parsed again: unless tree and comments are the same as before, it is refused.

mod doc;
mod exprs;
mod items;
mod lines;

pub(crate) use exprs::sign;

use crate::diagnostics::Problems;
use crate::source::Sources;
use crate::syntax::tree::{Expr, ExprKind, Field, Item, TextPiece};
use crate::syntax::{Comment, Parsed, parse};

/// Lines are kept within this many columns where they can be.
const WIDTH: usize = 100;

/// Why a text is left as it is.
#[derive(Clone, Debug)]
pub enum Untidied {
    /// It has faults of syntax; the text they refer to is beside them.
    Faulty(Problems, Sources),
    /// Its new layout would not mean the same: a fault of this program, found before anything is lost.
    Altered {
        /// The first line, from 1, that differs in meaning or in its comments.
        line: usize,
    },
}

/// The text in its one layout; `name` is the file as messages show it. Line ends stay as the first one is.
///
/// ```
/// let text = "dial   \"Crew\"\nlayer base of birch{hole circle(diameter:4mm)at(0mm,9mm)} // pinned\n";
/// let tidy = dialwright::format::tidied("crew.dial", text).expect("it has no faults");
/// assert_eq!(tidy.lines().nth(1), Some("layer base of birch { hole circle(diameter: 4mm) at (0mm, 9mm) }  // pinned"));
/// assert_eq!(dialwright::format::tidied("crew.dial", &tidy).ok(), Some(tidy), "what is tidy stays");
/// ```
///
/// # Errors
/// Where the text has faults of syntax, or where tree or comments of the new text are not those of the old one.
pub fn tidied(name: &str, text: &str) -> Result<String, Untidied> {
    let (sources, parsed) = read(name, text);
    // Even one fault, for what the parser could not read is not in the tree and would be lost.
    if parsed.problems.iter().next().is_some() {
        return Err(Untidied::Faulty(parsed.problems, sources));
    }
    let new = layout(&parsed, text);
    let new = if first_line_end(text) == "\r\n" { new.replace('\n', "\r\n") } else { new };
    // No finding but a refusal: no text can make this happen short of a fault of ours, so there is no example that a
    // page could show.
    verified((&parsed, text), &new)?;
    Ok(new)
}

/// The file of a tree that has no faults, laid out. `text` is what it was parsed from; lines end on `\n`.
pub fn layout(parsed: &Parsed, text: &str) -> String {
    let document = items::Builder::new(text, &parsed.comments).file(&parsed.file);
    lines::text(doc::lines(&document))
}

/// An expression on one line, as [`layout`] would write it were there room. `text` is the text of its file.
pub fn one_line(value: &Expr, text: &str) -> String {
    doc::flat(&items::Builder::new(text, &[]).expr(value))
}

/// What a text says, with the values in it as they are written. `text` is the text of its file.
pub fn written(value: &Expr, text: &str) -> String {
    match &value.kind {
        ExprKind::Text(words) => words.clone(),
        ExprKind::Filled(pieces) => {
            let piece = |piece: &TextPiece| match piece {
                TextPiece::Letters(letters) => letters.clone(),
                TextPiece::Value(value) => format!("{{{}}}", one_line(value, text)),
            };
            pieces.iter().map(piece).collect()
        }
        _ => String::new(),
    }
}

/// An item on one line, however long, its comments left out. `text` is the text of its file.
pub fn item_on_one_line(item: &Item, text: &str) -> String {
    doc::flat(&items::Builder::new(text, &[]).item(item))
}

/// A field on one line, in the same way.
pub fn field_on_one_line(field: &Field, text: &str) -> String {
    doc::flat(&items::Builder::new(text, &[]).field(field))
}

fn read(name: &str, text: &str) -> (Sources, Parsed) {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    let parsed = parse(&sources, id);
    (sources, parsed)
}

/// How the first line ends; `\n` where there is but one.
fn first_line_end(text: &str) -> &'static str {
    match text.find('\n') {
        Some(at) if text.get(..at).is_some_and(|line| line.ends_with('\r')) => "\r\n",
        _ => "\n",
    }
}

/// Whether a new text has the tree and the comments of the old one, places aside.
fn verified((old, old_text): (&Parsed, &str), new_text: &str) -> Result<(), Untidied> {
    let (_, new) = read("", new_text);
    let line_of = |start: u32| {
        let before = old_text.get(..start as usize).unwrap_or(old_text);
        Untidied::Altered { line: before.matches('\n').count() + 1 }
    };
    let mut pairs = old.file.items.iter().zip(&new.file.items);
    let altered = pairs.find(|(one, other)| one.without_places() != other.without_places());
    if let Some((item, _)) = altered {
        return Err(line_of(item.start()));
    }
    if old.file.items.len() != new.file.items.len() || new.problems.iter().next().is_some() {
        return Err(line_of(0));
    }
    let (before, after) = (remarks(old, old_text), remarks(&new, new_text));
    let moved = before.iter().zip(&after).position(|(one, other)| one != other);
    match moved.or_else(|| (before.len() != after.len()).then_some(before.len().min(after.len()))) {
        Some(at) => Err(line_of(old.comments.get(at).map_or(0, |comment| comment.span.start))),
        None => Ok(()),
    }
}

/// Each comment: what it says, whether it has its line to itself, and how many items of the file begin before it.
fn remarks<'a>(parsed: &Parsed, text: &'a str) -> Vec<(&'a str, bool, usize)> {
    let mut items = parsed.file.items.iter().map(Item::start).peekable();
    let mut before = 0;
    let remark = |comment: &Comment| {
        while items.next_if(|start| *start < comment.span.start).is_some() {
            before += 1;
        }
        (text.get(comment.span.range()).unwrap_or("").trim_end(), comment.own_line, before)
    };
    parsed.comments.iter().map(remark).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The line that is named where a text is put in another's place; none where it means the same.
    fn refused(old: &str, new: &str) -> Option<usize> {
        let (_, parsed) = read("old.dial", old);
        match verified((&parsed, old), new) {
            Err(Untidied::Altered { line }) => Some(line),
            _ => None,
        }
    }

    #[test]
    fn a_text_that_means_something_else_is_refused() {
        let old = "dial \"A\"\nlet a = 3mm // three\nlet b = (a)\n";
        assert_eq!(refused(old, "dial \"A\"\n\nlet a=3 mm // three\nlet b = (a)\n"), None);
        for (new, line) in [
            ("dial \"A\"\nlet a = 4mm // three\nlet b = (a)\n", 2),
            ("dial \"A\"\nlet a = 3mm // three\nlet b = a\n", 3),
            ("dial \"A\"\nlet a = 3mm\nlet b = (a)\n", 2),
            ("dial \"A\"\nlet a = 3mm // four\nlet b = (a)\n", 2),
            ("dial \"A\"\nlet a = 3mm\n// three\nlet b = (a)\n", 2),
            ("dial \"A\"\nlet a = 3mm\nlet b = (a) // three\n", 2),
            ("dial \"A\"\nlet a = 3mm // three\n", 1),
            ("dial \"A\"\nlet a = 3mm // three\nlet b = (a\n", 3),
        ] {
            assert_eq!(refused(old, new), Some(line), "{new}");
        }
    }
}
