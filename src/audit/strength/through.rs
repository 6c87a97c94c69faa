//! Engravings deep enough to go through their board, or nearly so. What pockets leave is told by their floors.

use super::findings as say;
use super::{Burn, Parts, is_less};
use crate::design::{Mark, Work};
use crate::diagnostics::Problems;
use crate::units::Length;

/// Looks at every engraving that says its depth, with what is engraved over it on the other face.
pub(super) fn check(parts: &Parts, problems: &mut Problems) {
    let stock = &parts.layer.stock;
    for (mark, depth) in parts.layer.marks.iter().filter_map(deep) {
        let Some(burn) = parts.burns.iter().find(|burn| burn.origin == mark.origin && burn.face == mark.face) else {
            continue;
        };
        let opposite = opposite(parts, burn);
        let left = stock.thickness.mean - depth - opposite.unwrap_or(Length::ZERO);
        // Of two that meet the front one is told of.
        let told = opposite.is_some() && mark.face == crate::design::Face::Back;
        if is_less(left, stock.least_floor) && !told {
            problems.push(say::engraved_through(parts.layer, burn, left));
        }
    }
}

fn deep(mark: &Mark) -> Option<(&Mark, Length)> {
    match mark.work {
        Work::Engrave { depth: Some(depth), .. } => Some((mark, depth)),
        _ => None,
    }
}

/// The deepest engraving over this one on the other face.
fn opposite(parts: &Parts, burn: &Burn) -> Option<Length> {
    let others = parts.burns.iter().filter(|other| other.face != burn.face && other.region.is_some());
    let over = others.filter(|other| burn.flat.gap(&other.flat).overlaps()).map(|other| other.depth);
    over.reduce(|a, b| if a > b { a } else { b })
}
