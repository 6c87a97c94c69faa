//! Union, difference and intersection on curves. The only user of the boolean engine.

use i_overlay::core::fill_rule::FillRule as FlatRule;
use i_overlay::core::overlay_rule::OverlayRule;
use kurbo::{BezPath, PathEl, Point, Shape};
use linesweeper::topology::{Contours, Topology};
use linesweeper::{BinaryOp, FillRule};

use super::region::{Region, Rule};
use super::{SLIVER_MM2, TOLERANCE_MM, flat};

/// The engine's own accuracy, in mm. Where curves run along one another its answers stray by some thirty times that.
const ENGINE_MM: f64 = 1e-6;
/// Steps to the millimetre of the grid that points are put on: 2^24.
const GRID: f64 = 16_777_216.0;
/// Strips thinner than this are slivers, in mm.
const SLIVER_MM: f64 = 2.0 * TOLERANCE_MM;

/// The inside of a closed path under a rule.
pub(super) fn resolve(path: &BezPath, rule: Rule) -> Region {
    let (rule, flat_rule) = match rule {
        Rule::EvenOdd => (FillRule::EvenOdd, FlatRule::EvenOdd),
        Rule::NonZero => (FillRule::NonZero, FlatRule::NonZero),
    };
    let most = if path.is_empty() { 0.0 } else { path.bounding_box().area() };
    combine(path, &BezPath::new(), rule, BinaryOp::Union, 0.0..=most)
        .unwrap_or_else(|| flat::overlay(path, &BezPath::new(), OverlayRule::Subject, flat_rule))
}

pub(super) fn union(a: &Region, b: &Region) -> Region {
    let (p, q) = (a.area(), b.area());
    operation(a, b, BinaryOp::Union, p.max(q)..=p + q)
}

pub(super) fn difference(a: &Region, b: &Region) -> Region {
    let (p, q) = (a.area(), b.area());
    operation(a, b, BinaryOp::Difference, (p - q).max(0.0)..=p)
}

pub(super) fn intersection(a: &Region, b: &Region) -> Region {
    operation(a, b, BinaryOp::Intersection, 0.0..=a.area().min(b.area()))
}

/// One operation; by the second engine where the first errs or leaves the bounds that any answer must keep.
fn operation(a: &Region, b: &Region, operation: BinaryOp, bounds: std::ops::RangeInclusive<f64>) -> Region {
    if let Some(region) = apart(a, b, operation) {
        return region;
    }
    let rule = match operation {
        BinaryOp::Union => OverlayRule::Union,
        BinaryOp::Intersection => OverlayRule::Intersect,
        BinaryOp::Difference => OverlayRule::Difference,
        BinaryOp::Xor => OverlayRule::Xor,
    };
    combine(a.path(), b.path(), FillRule::NonZero, operation, bounds)
        .unwrap_or_else(|| flat::overlay(a.path(), b.path(), rule, FlatRule::NonZero))
}

/// The answer where the boxes of the two do not meet: nothing is touched, so that curves stay as they were.
fn apart(a: &Region, b: &Region, operation: BinaryOp) -> Option<Region> {
    let meet = match (a.bounds(), b.bounds()) {
        (Some(p), Some(q)) => p.inflate(TOLERANCE_MM, TOLERANCE_MM).overlaps(q),
        _ => false,
    };
    (!meet).then(|| match operation {
        BinaryOp::Intersection => Region::empty(),
        BinaryOp::Difference => a.clone(),
        BinaryOp::Union | BinaryOp::Xor => Region::trusted(a.path().iter().chain(b.path().iter()).collect()),
    })
}

fn combine(
    a: &BezPath,
    b: &BezPath,
    rule: FillRule,
    operation: BinaryOp,
    bounds: std::ops::RangeInclusive<f64>,
) -> Option<Region> {
    let (p, q) = (on_grid(a), on_grid(b));
    let region = guarded(|| {
        let contours = linesweeper::binary_op_with_eps(&p, &q, rule, operation, ENGINE_MM).ok()?;
        Some(gathered(&contours))
    })?;
    let slack = SLIVER_MM2 + TOLERANCE_MM * (a.perimeter(1e-2) + b.perimeter(1e-2));
    let area = region.area();
    (area >= bounds.start() - slack && area <= bounds.end() + slack).then_some(region)
}

/// Where a closed path winds round more often counter-clockwise than clockwise; none where the engine errs.
pub(super) fn wound(path: &BezPath) -> Option<Region> {
    let path = on_grid(path);
    guarded(|| {
        let topology = Topology::<i32>::from_path(&path, ENGINE_MM).ok()?;
        Some(gathered(&topology.contours(|winding| *winding > 0)))
    })
}

/// Runs the engine, which is known to panic where many edges run along one another: then there is no answer.
fn guarded(run: impl FnOnce() -> Option<Region>) -> Option<Region> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(run)).ok().flatten()
}

/// The path with its points on a grid far finer than the engine's accuracy. The engine finds where edges cross by
/// their height, so an edge that should be level but differs at its ends by the last digit would be cut anywhere.
fn on_grid(path: &BezPath) -> BezPath {
    let put = |point: Point| Point::new((point.x * GRID).round() / GRID, (point.y * GRID).round() / GRID);
    let mut at = Point::ORIGIN;
    let moves = |element: &PathEl| {
        let from = at;
        at = element.end_point().unwrap_or(at);
        match *element {
            PathEl::LineTo(to) => to != from,
            PathEl::QuadTo(handle, to) => to != from || handle != from,
            PathEl::CurveTo(first, second, to) => to != from || first != from || second != from,
            PathEl::MoveTo(_) | PathEl::ClosePath => true,
        }
    };
    let placed = path.elements().iter().map(|element| match *element {
        PathEl::MoveTo(to) => PathEl::MoveTo(put(to)),
        PathEl::LineTo(to) => PathEl::LineTo(put(to)),
        PathEl::QuadTo(handle, to) => PathEl::QuadTo(put(handle), put(to)),
        PathEl::CurveTo(first, second, to) => PathEl::CurveTo(put(first), put(second), put(to)),
        PathEl::ClosePath => PathEl::ClosePath,
    });
    placed.filter(moves).collect()
}

/// The contours as a region, slivers left out.
fn gathered(contours: &Contours) -> Region {
    let kept = contours.contours().filter(|contour| !is_sliver(&contour.path, SLIVER_MM));
    Region::trusted(kept.flat_map(|contour| contour.path.iter()).collect())
}

/// Whether a contour is what coincident edges leave behind: tiny, or a strip thinner than `width` mm.
pub(super) fn is_sliver(contour: &BezPath, width: f64) -> bool {
    let area = contour.area().abs();
    area < SLIVER_MM2 || 2.0 * area < width * contour.perimeter(1e-2)
}
