//! Scored outlines whose lines run so near to each other that they burn into one.

use super::findings as say;
use crate::audit::strength::finest_of;
use crate::design::{Layer, RingWork, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::{Region, Rule, TOUCH_MM};
use crate::lettering::single_stroke;
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
        if let Some(apart) = too_near(layer, region) {
            told.push(mark.origin);
            problems.push(say::lines_burn_into_one(layer, mark.origin, apart));
        }
    }
    for ring in layer.rings.iter().filter(|ring| ring.work == RingWork::Scored) {
        // Single lines go round nothing: what they close is a letter's own.
        if ring.typeface == single_stroke::NAME {
            continue;
        }
        let lines = ring.labels.iter().filter_map(|label| label.lines.as_ref());
        let areas = lines.filter_map(|lines| Region::from_path(lines.path(), Rule::EvenOdd).ok());
        let near = areas.filter_map(|area| too_near(layer, &area));
        if let Some(apart) = near.reduce(|one, other| if other < one { other } else { one }) {
            problems.push(say::lines_burn_into_one(layer, ring.origin, apart));
        }
    }
}

fn too_near(layer: &Layer, region: &Region) -> Option<Length> {
    let (stroke, gap) = finest_of(region, layer.stock.kerf);
    let nearest = stroke.into_iter().chain(gap).reduce(|one, other| if other < one { other } else { one });
    nearest.filter(|apart| *apart < layer.stock.kerf - Length::mm(TOUCH_MM))
}
