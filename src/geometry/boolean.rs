//! Union, difference and intersection on curves. The only user of the boolean engine.

use kurbo::{BezPath, Shape};
use linesweeper::{BinaryOp, FillRule};

use super::region::{Region, Rule};
use super::{SLIVER_MM2, TOLERANCE_MM};

/// The inside of a closed path under a rule.
pub(super) fn resolve(path: &BezPath, rule: Rule) -> Region {
    let rule = match rule {
        Rule::EvenOdd => FillRule::EvenOdd,
        Rule::NonZero => FillRule::NonZero,
    };
    combine(path, &BezPath::new(), rule, BinaryOp::Union)
}

pub(super) fn union(a: &Region, b: &Region) -> Region {
    combine(a.path(), b.path(), FillRule::NonZero, BinaryOp::Union)
}

pub(super) fn difference(a: &Region, b: &Region) -> Region {
    combine(a.path(), b.path(), FillRule::NonZero, BinaryOp::Difference)
}

pub(super) fn intersection(a: &Region, b: &Region) -> Region {
    combine(a.path(), b.path(), FillRule::NonZero, BinaryOp::Intersection)
}

fn combine(a: &BezPath, b: &BezPath, rule: FillRule, operation: BinaryOp) -> Region {
    let Ok(contours) = linesweeper::binary_op_with_eps(a, b, rule, operation, TOLERANCE_MM) else {
        return Region::empty();
    };
    let mut path = BezPath::new();
    for contour in contours.contours() {
        if contour.path.area().abs() >= SLIVER_MM2 {
            path.extend(contour.path.iter());
        }
    }
    Region::trusted(path)
}
