//! Lines with their notes and comments in columns.

use super::WIDTH;

/// Between the text of a line and its note or comment, at least.
const APART: usize = 2;
/// No note or comment is pushed farther to the right than this, in columns.
const FARTHEST: usize = WIDTH - 25;

/// One line of the text.
#[derive(Clone, Debug, Default)]
pub(super) struct CodeLine {
    /// Blanks before it.
    pub indent: usize,
    /// What it says.
    pub code: String,
    /// A note at its end.
    pub note: Option<String>,
    /// A comment at its end, or alone.
    pub comment: Option<String>,
    /// Whether an empty line goes before it.
    pub blank_before: bool,
}

impl CodeLine {
    pub(super) fn is_empty(&self) -> bool {
        self.code.is_empty() && self.note.is_none() && self.comment.is_none()
    }
}

/// The text of these lines. Notes on lines that follow one another stand under each other, and so do comments.
pub(super) fn text(mut lines: Vec<CodeLine>) -> String {
    // Notes first: they become part of the code that comments stand behind.
    column(&mut lines, |line| line.note.take());
    column(&mut lines, |line| if line.code.is_empty() { None } else { line.comment.take() });
    let mut text = String::new();
    for (at, line) in lines.iter().enumerate() {
        if line.blank_before && at > 0 {
            text.push('\n');
        }
        text.extend(std::iter::repeat_n(' ', line.indent));
        text.push_str(&line.code);
        text.push_str(line.comment.as_deref().unwrap_or(""));
        text.push('\n');
    }
    text
}

/// Moves what `take` finds on each line behind its code; on lines that follow one another, into one column.
fn column(lines: &mut [CodeLine], take: impl Fn(&mut CodeLine) -> Option<String>) {
    let mut run: Vec<(usize, String)> = Vec::new();
    for at in 0..lines.len() {
        let Some(line) = lines.get_mut(at) else { return };
        if line.blank_before {
            settle(lines, &mut run);
        }
        match lines.get_mut(at).and_then(&take) {
            Some(words) => run.push((at, words)),
            None => settle(lines, &mut run),
        }
    }
    settle(lines, &mut run);
}

fn settle(lines: &mut [CodeLine], run: &mut Vec<(usize, String)>) {
    let ends = |line: &CodeLine| line.indent + line.code.chars().count();
    let widest = run.iter().filter_map(|(at, _)| lines.get(*at)).map(ends).max().unwrap_or_default();
    for (at, words) in run.drain(..) {
        let Some(line) = lines.get_mut(at) else { continue };
        // One long line among short ones would push all notes off the page, so then each stands right behind its
        // code.
        let room = if widest + APART > FARTHEST { APART } else { widest + APART - ends(line) };
        line.code.extend(std::iter::repeat_n(' ', room));
        line.code.push_str(&words);
    }
}
