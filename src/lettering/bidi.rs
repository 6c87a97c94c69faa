//! The order in which a line is read, where parts of it run from right to left: the Unicode Bidirectional Algorithm (UAX #9).
//!
//! Single-stroke letters are all of scripts that run from left to right, so they need none of it.

use std::ops::Range;

use harfrust::{Direction, Script, UnicodeBuffer, script};
use unicode_bidi::ParagraphBidiInfo;

/// A part of a line that is shaped by itself.
pub(super) struct Run {
    /// Where it stands in the line, in bytes.
    pub(super) range: Range<usize>,
    /// Which way it runs; where nothing in the line runs from right to left, its script decides.
    pub(super) direction: Option<Direction>,
}

/// The runs of a line from left to right as one sees them. Each is of one direction and one script.
pub(super) fn runs(line: &str) -> Vec<Run> {
    let whole = 0..line.len();
    let order = ParagraphBidiInfo::new(line, None);
    if !order.has_rtl() {
        return vec![Run { range: whole, direction: None }];
    }
    let (levels, in_order) = order.visual_runs(whole);
    let mut runs = Vec::new();
    for level_run in in_order {
        let backwards = levels.get(level_run.start).is_some_and(|level| level.is_rtl());
        let direction = Some(if backwards { Direction::RightToLeft } else { Direction::LeftToRight });
        let mut parts = by_script(line, level_run);
        if backwards {
            parts.reverse();
        }
        runs.extend(parts.into_iter().map(|range| Run { range, direction }));
    }
    runs
}

/// Whether a line as a whole runs from right to left, by its first strong letter (rules P2 and P3).
pub(super) fn begins_right(line: &str) -> bool {
    unicode_bidi::get_base_direction(line) == unicode_bidi::Direction::Rtl
}

/// A range in parts of one script each: Hebrew beside Arabic runs the same way, but is shaped by rules of its own. What is
/// of no script goes with what stands before it.
fn by_script(line: &str, range: Range<usize>) -> Vec<Range<usize>> {
    let mut starts = vec![range.start];
    let mut current = None;
    for (at, character) in line.get(range.clone()).unwrap_or_default().char_indices() {
        let Some(own) = script_of(character) else { continue };
        if current.is_some_and(|current| current != own) {
            starts.push(range.start + at);
        }
        current = Some(own);
    }
    let ends = starts.iter().skip(1).copied().chain([range.end]);
    starts.iter().zip(ends).map(|(start, end)| *start..end).collect()
}

/// The script of a character; none for what all scripts share.
fn script_of(character: char) -> Option<Script> {
    let mut buffer = UnicodeBuffer::new();
    buffer.add(character, 0);
    buffer.guess_segment_properties();
    Some(buffer.script()).filter(|found| *found != script::UNKNOWN)
}
