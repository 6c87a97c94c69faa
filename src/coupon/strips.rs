//! Kerf strips: N strips side by side in a frame, so that N + 1 cuts part them from it and from each other.
//!
//! The lines are cut where they are drawn. The opening then is wider than drawn by one kerf, each strip narrower by one, so
//! that `kerf = (opening - all strips laid together) / (N + 1)` (common practice, no source). Two frames lie along the
//! board and two across it, since a beam that is not round cuts one way wider than the other.

use kurbo::BezPath;

use super::pen::{HEAD, Pen, RIM};
use super::{Card, Job};
use crate::design::Stock;

/// Width of a strip, in mm.
const STRIP: f64 = 10.0;
/// Length of a strip, in mm: enough for a calliper's jaws.
const LONG: f64 = 22.0;
/// Width of the frame round the opening, in mm: it must not bend between a calliper's jaws.
const FRAME: f64 = 9.0;
/// Most strips in a frame, and fewest.
const STRIPS: (f64, f64) = (10.0, 4.0);

/// The frames: the letter of each, and whether its strips lie side by side along the board's width.
pub(super) const FRAMES: [(&str, bool); 4] = [("A", true), ("B", true), ("C", false), ("D", false)];

/// How many strips a frame holds: ten, or as many as the shorter side of the board takes, four at least.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from four to ten")]
pub(super) fn count(stock: &Stock) -> usize {
    // The more strips, the more cuts share the calliper's error.
    let shorter = stock.board.0.as_mm().min(stock.board.1.as_mm()) - 2.0 * stock.margin.as_mm();
    let room = (shorter - 2.0 * FRAME - HEAD) / STRIP;
    room.floor().clamp(STRIPS.1, STRIPS.0) as usize
}

pub(super) fn cards(stock: &Stock) -> Vec<Card> {
    FRAMES.iter().map(|(letter, along)| frame(stock, letter, *along)).collect()
}

fn frame(stock: &Stock, letter: &str, along: bool) -> Card {
    let count = count(stock);
    #[allow(clippy::cast_precision_loss, reason = "from four to ten")]
    let across = count as f64 * STRIP;
    let opening = if along { (across, LONG) } else { (LONG, across) };
    let corner = (FRAME, FRAME);
    let mut pen = Pen::new();
    for strip in 0..count {
        #[allow(clippy::cast_precision_loss, reason = "from four to ten")]
        let middle = (strip as f64 + 0.5) * STRIP;
        let (x, y) = if along { (middle, LONG / 2.0) } else { (LONG / 2.0, across - middle) };
        pen.number(&format!("{letter}{}", strip + 1), (corner.0 + x, corner.1 + y), STRIP - 2.0);
    }
    for cut in 1..count {
        #[allow(clippy::cast_precision_loss, reason = "from four to ten")]
        let at = cut as f64 * STRIP;
        let (from, to) = if along { ((at, 0.0), (at, LONG)) } else { ((0.0, at), (LONG, at)) };
        let mut line = BezPath::new();
        line.move_to((corner.0 + from.0, corner.1 + from.1));
        line.line_to((corner.0 + to.0, corner.1 + to.1));
        pen.path(Job::CutInside, &format!("between strips of {letter}"), line);
    }
    let caption = format!("opening {letter}: {count} strips, {} cuts", count + 1);
    pen.rectangle(Job::CutInside, &caption, corner, opening);
    let size = (opening.0 + 2.0 * FRAME, opening.1 + FRAME + HEAD.max(FRAME) + RIM);
    pen.card(&format!("kerf {letter}"), stock, size)
}
