//! Scored outlines whose lines run so near to each other that they burn into one.

use super::findings as say;
use crate::audit::strength::finest_of;
use crate::design::{Layer, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::TOUCH_MM;
use crate::source::Span;
use crate::units::Length;

/// Looks at the strokes and gaps of all that is scored along its edge. A scored line is taken to be as wide as a cut.
pub(super) fn check(layer: &Layer, problems: &mut Problems) {
    let mut told: Vec<Span> = Vec::new();
    for mark in layer.marks.iter().filter(|mark| mark.work == Work::Score) {
        let Shape::Region(region) = &mark.shape else { continue };
        if told.contains(&mark.origin) {
            continue;
        }
        let (stroke, gap) = finest_of(region, layer.stock.kerf);
        let nearest = stroke.into_iter().chain(gap).reduce(|one, other| if other < one { other } else { one });
        if let Some(apart) = nearest.filter(|apart| *apart < layer.stock.kerf - Length::mm(TOUCH_MM)) {
            told.push(mark.origin);
            problems.push(say::lines_burn_into_one(layer, mark, apart));
        }
    }
}
