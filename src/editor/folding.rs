//! What can be folded away: everything in brackets, and comments of several lines.

use lsp_types::{FoldingRange, FoldingRangeKind};

use super::text::{Lines, count};
use crate::syntax::{Lexeme, LexemeKind, lexemes};

/// The folds of a text, in order of their first lines.
pub fn folding(lines: &Lines) -> Vec<FoldingRange> {
    let text = lines.text();
    let pieces = lexemes(text);
    let mut folds = brackets(&pieces, lines);
    folds.extend(remarks(&pieces, lines));
    folds.sort_by_key(|fold| (fold.start_line, fold.end_line));
    // Several brackets that open on one line fold as one.
    folds.dedup_by_key(|fold| fold.start_line);
    folds
}

fn fold(first: usize, last: usize, kind: FoldingRangeKind) -> Option<FoldingRange> {
    let (start_line, end_line) = (count(first), count(last));
    (last > first).then(|| FoldingRange { start_line, end_line, kind: Some(kind), ..FoldingRange::default() })
}

/// From the line of each opening bracket to the one before its closing bracket, which stays in sight.
fn brackets(pieces: &[Lexeme], lines: &Lines) -> Vec<FoldingRange> {
    let mut open: Vec<(&str, usize)> = Vec::new();
    let mut folds = Vec::new();
    for piece in pieces.iter().filter(|piece| piece.kind == LexemeKind::Sign) {
        let opening = match piece.of(lines.text()) {
            sign @ ("{" | "(" | "[") => {
                open.push((sign, piece.start));
                continue;
            }
            "}" => "{",
            ")" => "(",
            "]" => "[",
            _ => continue,
        };
        // The nearest that fits: a bracket left open inside ends with the one round it, while it is typed.
        let Some(at) = open.iter().rposition(|(sign, _)| *sign == opening) else { continue };
        if let Some((_, start)) = open.get(at).copied() {
            let last = lines.line_of(piece.start).saturating_sub(1);
            folds.extend(fold(lines.line_of(start), last, FoldingRangeKind::Region));
        }
        open.truncate(at);
    }
    folds
}

/// Comments on lines of their own that follow one another.
fn remarks(pieces: &[Lexeme], lines: &Lines) -> Vec<FoldingRange> {
    let own_line = |piece: &&Lexeme| {
        let line = lines.line(lines.line_of(piece.start));
        piece.kind == LexemeKind::Comment
            && lines.text().get(line.start..piece.start).is_some_and(|before| before.trim().is_empty())
    };
    let mut folds = Vec::new();
    let mut run: Option<(usize, usize)> = None;
    for line in pieces.iter().filter(own_line).map(|piece| lines.line_of(piece.start)) {
        run = match run {
            Some((first, last)) if line == last + 1 => Some((first, line)),
            Some((first, last)) => {
                folds.extend(fold(first, last, FoldingRangeKind::Comment));
                Some((line, line))
            }
            None => Some((line, line)),
        };
    }
    folds.extend(run.and_then(|(first, last)| fold(first, last, FoldingRangeKind::Comment)));
    folds
}
