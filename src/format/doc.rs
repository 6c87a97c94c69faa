//! A text that can be laid out in several ways, and the choice of one.
//!
//! After Wadler, "A prettier printer" (2003): a group is written on one line where it fits, else every break that is
//! its own becomes a new line.

use super::WIDTH;
use super::lines::CodeLine;

/// One level of indentation, in columns.
const STEP: usize = 2;

/// A piece of text with its possible breaks.
#[derive(Clone, Debug)]
pub(super) enum Doc {
    /// Text without a line end.
    Text(String),
    /// A note at the end of an item; it gets a column of its own.
    Note(String),
    /// Where a line may end.
    Gap(Gap),
    /// Written only where the group goes over several lines.
    IfBroken(&'static str),
    /// Written only where the group stays on one line.
    IfFlat(&'static str),
    /// One level further in.
    Indent(Vec<Doc>),
    /// On one line where it fits, unless it is `forced` over several.
    Group {
        /// Whether it must go over several lines.
        forced: bool,
        /// What is in it.
        parts: Vec<Doc>,
    },
    /// Alternately values and gaps: as many values on each line as fit.
    Fill(Vec<Doc>),
}

/// A place where a line may end.
#[derive(Clone, Debug, Default)]
pub(super) struct Gap {
    /// What stands there where the line goes on.
    pub flat: &'static str,
    /// Whether the line ends here when the group goes over several; else only comments end it.
    pub breaks: bool,
    /// Whether an empty line follows.
    pub blank: bool,
    /// The comments that stand here.
    pub comments: Vec<Remark>,
}

/// A comment at a gap.
#[derive(Clone, Debug)]
pub(super) struct Remark {
    /// From its `//` on.
    pub text: String,
    /// Whether it has its line to itself.
    pub own_line: bool,
    /// Whether an empty line goes before it.
    pub blank: bool,
}

impl Doc {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A group that is broken where something in it must be.
    pub(super) fn group(parts: Vec<Doc>) -> Self {
        Self::group_forced(false, parts)
    }

    /// A group that is broken in any case where `forced`.
    pub(super) fn group_forced(forced: bool, parts: Vec<Doc>) -> Self {
        Self::Group { forced: forced || parts.iter().any(Doc::must_break), parts }
    }

    fn must_break(&self) -> bool {
        match self {
            // A comment runs to the end of its line, so nothing round it can stay on one line.
            Doc::Gap(gap) => !gap.comments.is_empty(),
            Doc::Indent(parts) | Doc::Fill(parts) => parts.iter().any(Doc::must_break),
            Doc::Group { forced, .. } => *forced,
            _ => false,
        }
    }
}

/// Whether breaks are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mode {
    Flat,
    Broken,
}

/// Lays a document out.
pub(super) fn lines(doc: &[Doc]) -> Vec<CodeLine> {
    let mut printer = Printer { done: Vec::new(), line: CodeLine::default(), column: 0 };
    let mut rest: Vec<Piece<'_>> = doc.iter().rev().map(|doc| (0, Mode::Broken, doc)).collect();
    while let Some((indent, mode, doc)) = rest.pop() {
        printer.piece(indent, mode, doc, &mut rest);
    }
    printer.end_line(0);
    printer.done
}

/// How far in, how, and what.
type Piece<'a> = (usize, Mode, &'a Doc);

struct Printer {
    done: Vec<CodeLine>,
    line: CodeLine,
    column: usize,
}

impl Printer {
    fn piece<'a>(&mut self, indent: usize, mode: Mode, doc: &'a Doc, rest: &mut Vec<Piece<'a>>) {
        match doc {
            Doc::Text(text) => self.write(text),
            Doc::Note(text) => {
                self.column += 2 + text.chars().count();
                self.line.note = Some(text.clone());
            }
            Doc::IfBroken(text) if mode == Mode::Broken => self.write(text),
            Doc::IfFlat(text) if mode == Mode::Flat => self.write(text),
            Doc::IfBroken(_) | Doc::IfFlat(_) => {}
            Doc::Gap(gap) => self.gap(indent, mode, gap),
            Doc::Indent(parts) => rest.extend(parts.iter().rev().map(|part| (indent + STEP, mode, part))),
            Doc::Group { forced, parts } => {
                // What is inside a flat group is flat: it was measured so.
                let flat = !forced && (mode == Mode::Flat || self.fits(parts, rest));
                let mode = if flat { Mode::Flat } else { Mode::Broken };
                rest.extend(parts.iter().rev().map(|part| (indent, mode, part)));
            }
            Doc::Fill(parts) => self.fill(indent, mode, parts, rest),
        }
    }

    fn write(&mut self, text: &str) {
        self.line.code.push_str(text);
        self.column += text.chars().count();
    }

    fn gap(&mut self, indent: usize, mode: Mode, gap: &Gap) {
        if gap.comments.is_empty() && (mode == Mode::Flat || !gap.breaks) {
            self.write(gap.flat);
            return;
        }
        for comment in &gap.comments {
            if comment.own_line {
                self.end_line(indent);
                self.line.blank_before = comment.blank;
            }
            // A line holds one comment; of two, which only a rewritten text could bring here, each gets its own.
            if self.line.comment.is_some() {
                self.end_line(indent);
            }
            self.line.comment = Some(comment.text.clone());
        }
        self.end_line(indent);
        self.line.blank_before = gap.blank;
    }

    /// Ends the line, and begins the next one so far in. At the start of the file there is no line to end.
    fn end_line(&mut self, indent: usize) {
        let fresh = CodeLine { indent, ..CodeLine::default() };
        let line = std::mem::replace(&mut self.line, fresh);
        self.column = indent;
        if !line.is_empty() {
            self.done.push(CodeLine { code: line.code.trim_end().to_owned(), ..line });
        }
    }

    /// Puts the values of a fill one by one: the next on this line where it fits.
    fn fill<'a>(&mut self, indent: usize, mode: Mode, parts: &'a [Doc], rest: &mut Vec<Piece<'a>>) {
        if mode == Mode::Flat {
            rest.extend(parts.iter().rev().map(|part| (indent, mode, part)));
            return;
        }
        let mut column = self.column;
        let mut pieces: Vec<Piece<'a>> = Vec::new();
        for (at, part) in parts.iter().enumerate() {
            match part {
                Doc::Gap(gap) => {
                    let next = parts.get(at + 1).map_or(0, width);
                    let fits = column + gap.flat.len() + next < WIDTH && gap.comments.is_empty();
                    pieces.push((indent, if fits { Mode::Flat } else { Mode::Broken }, part));
                    column = if fits { column + gap.flat.len() } else { indent };
                }
                value => {
                    column += width(value);
                    pieces.push((indent, Mode::Flat, value));
                }
            }
        }
        rest.extend(pieces.into_iter().rev());
    }

    /// Whether these parts, and what follows them up to the next line end, fit the rest of the line.
    fn fits(&self, parts: &[Doc], rest: &[Piece<'_>]) -> bool {
        let mut room = WIDTH.saturating_sub(self.column);
        let mut todo: Vec<(Mode, &Doc)> = parts.iter().rev().map(|part| (Mode::Flat, part)).collect();
        // What follows counts up to the next line end: a bracket that closes, a comma or a note must not stick out.
        let mut after = rest.iter().rev();
        loop {
            let Some((mode, doc)) = todo.pop().or_else(|| after.next().map(|(_, mode, doc)| (*mode, *doc))) else {
                return true;
            };
            let wide = match doc {
                Doc::Text(text) => text.chars().count(),
                Doc::Note(text) => 2 + text.chars().count(),
                Doc::IfBroken(text) if mode == Mode::Broken => text.len(),
                Doc::IfFlat(text) if mode == Mode::Flat => text.len(),
                Doc::IfBroken(_) | Doc::IfFlat(_) => 0,
                Doc::Gap(gap) if !gap.comments.is_empty() || (mode == Mode::Broken && gap.breaks) => return true,
                Doc::Gap(gap) => gap.flat.len(),
                Doc::Indent(parts) | Doc::Fill(parts) => {
                    todo.extend(parts.iter().rev().map(|part| (mode, part)));
                    0
                }
                Doc::Group { forced, parts } => {
                    let mode = if *forced { Mode::Broken } else { mode };
                    todo.extend(parts.iter().rev().map(|part| (mode, part)));
                    0
                }
            };
            let Some(left) = room.checked_sub(wide) else { return false };
            room = left;
        }
    }
}

/// How wide a piece is on one line.
fn width(doc: &Doc) -> usize {
    match doc {
        Doc::Text(text) | Doc::Note(text) => text.chars().count(),
        Doc::IfFlat(text) => text.len(),
        Doc::IfBroken(_) => 0,
        Doc::Gap(gap) => gap.flat.len(),
        Doc::Indent(parts) | Doc::Fill(parts) | Doc::Group { parts, .. } => parts.iter().map(width).sum(),
    }
}

/// A piece on one line, however long.
pub(super) fn flat(doc: &Doc) -> String {
    match doc {
        Doc::Text(text) | Doc::Note(text) => text.clone(),
        Doc::IfFlat(text) => (*text).to_owned(),
        Doc::IfBroken(_) => String::new(),
        Doc::Gap(gap) => gap.flat.to_owned(),
        Doc::Indent(parts) | Doc::Fill(parts) | Doc::Group { parts, .. } => parts.iter().map(flat).collect(),
    }
}
