//! What a boolean costs before it is begun: the engine cannot be stopped on its way.

use kurbo::{BezPath, Rect, Shape};

use super::boxes;
use crate::work::{spend, spend_on};

/// What the engine takes for a piece of outline, and for two that may cross, in steps.
const PIECE: u64 = 4_000;
const PAIR: u64 = 4_000;
/// What it takes to hold two boxes against each other.
const LOOK: u64 = 3;
/// Boxes that are looked at before it is told how many.
const SPELL: usize = 4_096;

/// Spends what it takes to combine these paths: for each piece, and for each two whose boxes meet. Never more boxes are looked at
/// than there is work left for.
pub(super) fn spend_on_crossings(paths: [&BezPath; 2]) {
    let mut boxes: Vec<Rect> = paths.iter().flat_map(|path| path.segments().map(|it| it.bounding_box())).collect();
    spend_on(boxes.len(), PIECE);
    // Swept along the side on which fewer overlap, which is mostly the longer one.
    let all = boxes.iter().copied().reduce(boxes::united).unwrap_or_default();
    let lies: f64 =
        boxes.iter().map(|it| it.width() / all.width().max(1e-9) - it.height() / all.height().max(1e-9)).sum();
    if lies > 0.0 {
        boxes.iter_mut().for_each(|it| *it = Rect::new(it.y0, it.x0, it.y1, it.x1));
    }
    boxes.sort_by(|a, b| a.x0.total_cmp(&b.x0));
    let (mut looked, mut pairs) = (0, 0);
    for (at, one) in boxes.iter().enumerate() {
        let beside = boxes.get(at + 1..).unwrap_or_default().iter().take_while(|other| other.x0 <= one.x1);
        for other in beside {
            looked += 1;
            pairs += u64::from(other.y0 <= one.y1 && one.y0 <= other.y1);
            if looked == SPELL {
                spend(LOOK * looked as u64 + PAIR * pairs);
                (looked, pairs) = (0, 0);
            }
        }
    }
    spend(LOOK * looked as u64 + PAIR * pairs);
}
