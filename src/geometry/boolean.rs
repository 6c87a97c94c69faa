//! Union, difference and intersection on curves. The only user of the boolean engine. Its answers are looked at, for it is known
//! to err where many curves run along one another; the second engine then answers on flattened copies, which never fails.

use i_overlay::core::fill_rule::FillRule as FlatRule;
use i_overlay::core::overlay_rule::OverlayRule;
use kurbo::{Affine, BezPath, PathEl, Point, Shape};
use linesweeper::topology::{Contours, Topology};
use linesweeper::{BinaryOp, FillRule};

use super::crossings::spend_on_crossings;
use super::flattened::{FlattenedShape, TOUCH_MM};
use super::region::{Region, Rule};
use super::{GeometryError, SLIVER_MM2, TOLERANCE_MM, second_engine};
use crate::limits::SIZE_MM;
use crate::memory::{MANY, recalled};

/// The engine's own accuracy, in mm. Where curves run along one another its answers stray by some thirty times that.
const ENGINE_MM: f64 = 1e-6;
/// Steps to the millimetre of the grid that points are put on: 2^24.
const GRID: f64 = 16_777_216.0;
/// How far from the origin the engine is asked, in mm. Numbers lie 1e-10 mm apart there.
const REACH_MM: f64 = 100.0 * SIZE_MM;
/// Strips thinner than this are slivers, in mm.
const SLIVER_MM: f64 = 2.0 * TOLERANCE_MM;

impl Region {
    /// The inside of a path under `rule`, crossings resolved.
    ///
    /// # Errors
    /// [`GeometryError::OutOfRange`] for a coordinate that is not finite or larger than the limit.
    pub fn from_path(path: &BezPath, rule: Rule) -> Result<Self, GeometryError> {
        Self::in_range(path)?;
        Ok(resolve(&closed(path), rule))
    }

    /// In either.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        let (p, q) = (self.area(), other.area());
        operation(self, other, BinaryOp::Union, p.max(q)..=p + q)
    }

    /// In the first, not in the second.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        let (p, q) = (self.area(), other.area());
        operation(self, other, BinaryOp::Difference, (p - q).max(0.0)..=p)
    }

    /// In both.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        operation(self, other, BinaryOp::Intersection, 0.0..=self.area().min(other.area()))
    }
}

/// The same path with every contour ending on a `ClosePath`, exactly at its start.
fn closed(path: &BezPath) -> BezPath {
    let mut out = BezPath::new();
    let mut open = false;
    for element in path.elements() {
        if matches!(element, PathEl::MoveTo(_)) && open {
            out.close_path();
        }
        open = !matches!(element, PathEl::ClosePath);
        out.push(*element);
    }
    if open && !out.is_empty() {
        out.close_path();
    }
    out
}

/// The inside of a closed path under a rule.
pub(super) fn resolve(path: &BezPath, rule: Rule) -> Region {
    if let Some(found) = from_afar(&[path], |smaller| resolve(&(smaller * path), rule)) {
        return found;
    }
    let (rule, flat_rule) = match rule {
        Rule::EvenOdd => (FillRule::EvenOdd, FlatRule::EvenOdd),
        Rule::NonZero => (FillRule::NonZero, FlatRule::NonZero),
    };
    let most = if path.is_empty() { 0.0 } else { path.bounding_box().area() };
    combine(path, &BezPath::new(), rule, BinaryOp::Union, 0.0..=most)
        .unwrap_or_else(|| second_engine::overlay(path, &BezPath::new(), OverlayRule::Subject, flat_rule))
}

/// One operation; by the second engine where the first errs or leaves the bounds that any answer must keep.
fn operation(a: &Region, b: &Region, operation: BinaryOp, bounds: std::ops::RangeInclusive<f64>) -> Region {
    if let Some(region) = apart(a, b, operation) {
        return region;
    }
    let afar = from_afar(&[a.path(), b.path()], |smaller| {
        let (a, b) = (a.transformed(smaller), b.transformed(smaller));
        match operation {
            BinaryOp::Union | BinaryOp::Xor => a.union(&b),
            BinaryOp::Intersection => a.intersection(&b),
            BinaryOp::Difference => a.difference(&b),
        }
    });
    let known = || match operation {
        BinaryOp::Union => filled(a, b).or_else(|| filled(b, a)),
        _ => None,
    };
    if let Some(region) = afar.or_else(|| nested(a, b, operation)).or_else(known) {
        return region;
    }
    let rule = match operation {
        BinaryOp::Union => OverlayRule::Union,
        BinaryOp::Intersection => OverlayRule::Intersect,
        BinaryOp::Difference => OverlayRule::Difference,
        BinaryOp::Xor => OverlayRule::Xor,
    };
    combine(a.path(), b.path(), FillRule::NonZero, operation, bounds)
        .unwrap_or_else(|| second_engine::overlay(a.path(), b.path(), rule, FlatRule::NonZero))
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

/// The answer where no edge comes near one of the other's: each contour lies inside or outside as a whole, and is left as it is.
fn nested(a: &Region, b: &Region, operation: BinaryOp) -> Option<Region> {
    let [p, q] = [a, b].map(FlattenedShape::of);
    if p.edge_gap(&q, TOUCH_MM).mm < TOUCH_MM {
        return None;
    }
    let of = |region: &Region, body: &FlattenedShape, wanted: bool| -> Vec<BezPath> {
        let is_wanted = |contour: &BezPath| start_of(contour).is_some_and(|start| body.contains(start) == wanted);
        region.contours().into_iter().filter(is_wanted).collect()
    };
    let (ours, theirs) = match operation {
        BinaryOp::Union => (of(a, &q, false), of(b, &p, false)),
        BinaryOp::Intersection => (of(a, &q, true), of(b, &p, true)),
        BinaryOp::Difference => {
            let holes = of(b, &p, true).iter().map(BezPath::reverse_subpaths).collect();
            (of(a, &q, false), holes)
        }
        BinaryOp::Xor => return None,
    };
    Some(Region::trusted(ours.iter().chain(&theirs).flatten().collect()))
}

/// The union where one of the two fills holes of the other to the last bit, as what was left standing does.
fn filled(a: &Region, b: &Region) -> Option<Region> {
    let mut left = a.contours();
    for contour in b.contours() {
        let edge = contour.reverse_subpaths();
        let at = left.iter().position(|own| *own == edge)?;
        left.remove(at);
    }
    // What stands in such a hole by itself is covered.
    let filling = FlattenedShape::of(b);
    let is_covered = |contour: &BezPath| start_of(contour).is_none_or(|start| filling.contains(start));
    (!left.iter().any(is_covered)).then(|| Region::trusted(left.iter().flatten().collect()))
}

fn start_of(contour: &BezPath) -> Option<Point> {
    contour.elements().first().and_then(PathEl::end_point)
}

/// Two outlines that are combined by a rule and an operation.
#[derive(PartialEq)]
struct Combined(BezPath, BezPath, FillRule, BinaryOp);

fn combine(
    a: &BezPath,
    b: &BezPath,
    rule: FillRule,
    operation: BinaryOp,
    bounds: std::ops::RangeInclusive<f64>,
) -> Option<Region> {
    let asked = || Combined(a.clone(), b.clone(), rule, operation);
    let region = recalled(MANY, asked, || {
        spend_on_crossings([a, b]);
        let (p, q) = (on_grid(a), on_grid(b));
        guarded(|| {
            let contours = linesweeper::binary_op_with_eps(&p, &q, rule, operation, ENGINE_MM).ok()?;
            Some(gathered(&contours))
        })
    })?;
    let slack = SLIVER_MM2 + TOLERANCE_MM * (a.perimeter(1e-2) + b.perimeter(1e-2));
    let area = region.area();
    (area >= bounds.start() - slack && area <= bounds.end() + slack).then_some(region)
}

/// Where a closed path winds round more often counter-clockwise than clockwise; none where the engine errs.
pub(super) fn wound(path: &BezPath) -> Option<Region> {
    spend_on_crossings([path, &BezPath::new()]);
    let path = on_grid(path);
    guarded(|| {
        let topology = Topology::<i32>::from_path(&path, ENGINE_MM).ok()?;
        Some(gathered(&topology.contours(|winding| *winding > 0)))
    })
}

/// What `work` gives of shapes that lie farther out than the engine can be relied upon, worked out on smaller ones; none where
/// all lie within reach. Where numbers lie as far apart as its accuracy, the engine cuts curves without end until the stack is used up.
/// Nothing where a coordinate is not a number.
pub(super) fn from_afar(paths: &[&BezPath], work: impl FnOnce(Affine) -> Region) -> Option<Region> {
    let farthest = paths.iter().map(|path| farthest(path)).fold(0.0, f64::max);
    (farthest > REACH_MM).then(|| match farthest / SIZE_MM {
        times if times.is_finite() => work(Affine::scale(1.0 / times)).transformed(Affine::scale(times)),
        _ => Region::empty(),
    })
}

/// Whether a path lies no farther out than the engine, and flattened copies, can be relied upon.
pub(super) fn is_within_reach(path: &BezPath) -> bool {
    farthest(path) <= REACH_MM
}

/// The largest coordinate of a path, in mm; infinite where one is not a number.
fn farthest(path: &BezPath) -> f64 {
    let bounds = if path.is_empty() { kurbo::Rect::ZERO } else { path.control_box() };
    let sides = [bounds.x0, bounds.y0, bounds.x1, bounds.y1];
    sides.map(|side| if side.is_nan() { f64::INFINITY } else { side.abs() }).into_iter().fold(0.0, f64::max)
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

#[cfg(test)]
mod tests {
    use super::super::shapes;
    use super::*;
    use kurbo::Rect;

    fn square(side: f64, x: f64, y: f64) -> Region {
        shapes::rectangle(side, side, 0.0).unwrap().transformed(Affine::translate((x, y)))
    }

    /// Boxes that do not meet leave curves to the last bit as they were; a tenth of a micrometre apart they meet.
    #[test]
    fn what_lies_apart_is_left_as_it_is() {
        let disc = shapes::circle(3.0).unwrap();
        for by in [(7.0, 0.0), (-7.0, 0.0), (0.0, 7.0), (0.0, -7.0)] {
            let far = disc.transformed(Affine::translate(by));
            assert_eq!(disc.difference(&far), disc);
            assert!(disc.intersection(&far).is_empty());
            let both: Vec<PathEl> = disc.path().iter().chain(far.path().iter()).collect();
            assert_eq!(disc.union(&far).path().elements(), both);
        }
        let empty = Region::empty();
        assert_eq!(
            (disc.union(&empty), empty.union(&disc), disc.difference(&empty)),
            (disc.clone(), disc.clone(), disc.clone())
        );
        assert!(empty.difference(&disc).is_empty() && disc.intersection(&empty).is_empty());
        let meets = |gap: f64| apart(&square(2.0, 0.0, 0.0), &square(2.0, 2.0 + gap, 0.0), BinaryOp::Union).is_none();
        assert!(meets(0.0) && meets(0.9e-4) && !meets(1.1e-4));
    }

    #[test]
    fn points_come_onto_the_grid_and_lines_to_nowhere_go() {
        let mut path = BezPath::new();
        path.move_to((0.1, 0.2));
        path.line_to((0.1 + 1e-9, 0.2));
        path.line_to((3.0, 0.2));
        path.quad_to((3.0, 0.2), (3.0, 0.2));
        path.quad_to((4.0, 1.0), (3.0, 0.2));
        path.curve_to((3.0, 0.2), (3.0, 0.2), (3.0, 0.2));
        path.curve_to((5.0, 0.2), (3.0, 0.2), (3.0, 0.2));
        path.curve_to((3.0, 0.2), (5.0, 0.2), (3.0, 0.2));
        path.curve_to((3.0, 0.2), (3.0, 0.2), (3.0, 0.7));
        path.quad_to((3.0, 0.7), (3.3, 0.7));
        path.close_path();
        let placed = on_grid(&path);
        let kinds: Vec<char> = placed
            .iter()
            .map(|element| match element {
                PathEl::MoveTo(_) => 'M',
                PathEl::LineTo(_) => 'L',
                PathEl::QuadTo(..) => 'Q',
                PathEl::CurveTo(..) => 'C',
                PathEl::ClosePath => 'Z',
            })
            .collect();
        assert_eq!(kinds.iter().collect::<String>(), "MLQCCCQZ", "{placed:?}");
        let points = placed.iter().flat_map(|element| match element {
            PathEl::MoveTo(a) | PathEl::LineTo(a) => vec![a],
            PathEl::QuadTo(a, b) => vec![a, b],
            PathEl::CurveTo(a, b, c) => vec![a, b, c],
            PathEl::ClosePath => Vec::new(),
        });
        for value in points.flat_map(|at| [at.x, at.y]) {
            let steps = value * 2.0_f64.powi(24);
            assert_eq!(steps, steps.round(), "{value}");
        }
        let near = |a: Option<Point>, b: (f64, f64)| a.unwrap().distance(Point::from(b)) < 1e-7;
        let ends: Vec<Option<Point>> = placed.iter().map(|element| element.end_point()).collect();
        assert!(
            near(ends[0], (0.1, 0.2))
                && near(ends[1], (3.0, 0.2))
                && near(ends[5], (3.0, 0.7))
                && near(ends[6], (3.3, 0.7))
        );
    }

    /// A strip w wide and 10 long is thinner than t where 2 w 10 < t (20 + 2 w).
    #[test]
    fn slivers_are_tiny_or_thin() {
        let strip = |wide: f64| shapes::rectangle(10.0, wide, 0.0).unwrap().path().clone();
        assert!(is_sliver(&strip(0.00999), 0.01) && !is_sliver(&strip(0.01002), 0.01));
        assert!(!is_sliver(&strip(0.00999), 0.009) && is_sliver(&strip(0.00999).reverse_subpaths(), 0.01));
        let dot = |side: f64| square(side, 0.0, 0.0).path().clone();
        assert!(!is_sliver(&dot(0.032), 1e-4) && is_sliver(&(Affine::scale(0.031 / 0.032) * dot(0.032)), 1e-4));
    }

    /// What lies in one another keeps its curves to the last bit: a disc in a washer's hole, in its body, or round all of it.
    #[test]
    fn what_lies_in_one_another_is_left_as_it_is() {
        let disc = |radius: f64| shapes::circle(radius).unwrap();
        let washer = disc(20.0).difference(&disc(10.0));
        assert_eq!(washer.segment_count(), disc(20.0).segment_count() + disc(10.0).segment_count());
        let area = |region: Region| (region.area() / std::f64::consts::PI * 1e3).round() / 1e3;
        let spot = disc(3.0).transformed(Affine::translate((15.0, 0.0)));
        let parts = |other: &Region| {
            [washer.union(other), washer.intersection(other), washer.difference(other), other.difference(&washer)]
                .map(area)
        };
        assert_eq!(parts(&disc(5.0)), [325.0, 0.0, 300.0, 25.0]);
        assert_eq!(parts(&spot), [300.0, 9.0, 291.0, 0.0]);
        assert_eq!(parts(&disc(30.0)), [900.0, 300.0, 0.0, 600.0]);
        assert_eq!(washer.difference(&spot).union(&spot), washer, "a hole that is filled is gone to the last bit");
        // An island in the hole lies in the disc that fills it.
        let target = washer.union(&disc(5.0));
        assert_eq!(area(target.union(&disc(10.0))), 400.0);
        // A micrometre apart they are asked in earnest.
        assert!(nested(&disc(10.0), &disc(9.999), BinaryOp::Difference).is_none());
        assert!(nested(&disc(10.0), &disc(9.99), BinaryOp::Difference).is_some());
    }

    /// Areas of two squares that share a corner, by hand; curves only where there were curves.
    #[test]
    fn squares_are_joined_and_parted() {
        let (one, other) = (square(4.0, 0.0, 0.0), square(4.0, 3.0, 2.0));
        let near = |region: Region, area: f64, segments: usize| {
            assert!((region.area() - area).abs() < 1e-6, "{} {area}", region.area());
            assert_eq!(region.segment_count(), segments, "{region:?}");
        };
        near(one.union(&other), 30.0, 8);
        near(one.intersection(&other), 2.0, 4);
        near(one.difference(&other), 14.0, 6);
        near(other.difference(&one), 14.0, 6);
        near(one.difference(&square(2.0, 0.0, 0.0)), 12.0, 8);
        assert!(square(2.0, 0.0, 0.0).difference(&one).is_empty());
        near(one.union(&square(2.0, 0.0, 0.0)), 16.0, 4);
    }

    /// Two squares, the inner one the same way round or the other: the rules tell them apart.
    #[test]
    fn windings_count_as_the_rule_says() {
        let mut like = square(6.0, 0.0, 0.0).path().clone();
        like.extend(square(2.0, 0.0, 0.0).path().iter());
        let mut unlike = square(6.0, 0.0, 0.0).path().clone();
        unlike.extend(square(2.0, 0.0, 0.0).path().reverse_subpaths());
        let area = |path: &BezPath, rule: Rule| resolve(path, rule).area().round();
        assert_eq!((area(&like, Rule::EvenOdd), area(&like, Rule::NonZero)), (32.0, 36.0));
        assert_eq!((area(&unlike, Rule::EvenOdd), area(&unlike, Rule::NonZero)), (32.0, 32.0));
        assert!(resolve(&BezPath::new(), Rule::NonZero).is_empty());
        // Clockwise is inside by either rule, but not wound counter-clockwise.
        let reversed = square(6.0, 0.0, 0.0).path().reverse_subpaths();
        assert_eq!((area(&reversed, Rule::NonZero), wound(&reversed).unwrap().area()), (36.0, 0.0));
        assert!((wound(&like).unwrap().area() - 36.0).abs() < 1e-6);
        assert!((wound(&unlike).unwrap().area() - 32.0).abs() < 1e-6);
    }

    /// The first engine's answers are believed within what areas allow: the sum of both at most, the larger at least.
    #[test]
    fn answers_out_of_bounds_are_not_believed() {
        let (one, other) = (square(4.0, 0.0, 0.0), square(4.0, 3.0, 2.0));
        let joined = |bounds| combine(one.path(), other.path(), FillRule::NonZero, BinaryOp::Union, bounds).is_some();
        assert!(joined(29.9..=30.1) && joined(0.0..=30.0) && joined(30.0..=99.0));
        assert!(!joined(0.0..=29.9) && !joined(30.1..=99.0));
        assert!(joined(0.0..=29.999) && joined(30.001..=99.0), "within the slivers that engines leave");
        assert_eq!(guarded(|| None), None);
        assert_eq!(guarded(|| Some(one.clone())), Some(one));
    }

    /// Curves a million kilometres long once took the engine down with the stack.
    #[test]
    fn curves_beyond_all_bounds_come_to_an_end() {
        for scale in [1e9, 1e12, 1e15, 1e30, 1e300] {
            let disc =
                |x: f64| shapes::circle(3.0).unwrap().transformed(Affine::scale(scale) * Affine::translate((x, 0.0)));
            let all = [disc(0.0), disc(2.0)];
            // By hand: two discs of radius 3 whose middles are 2 apart share 2 r² acos(d / 2r) - d / 2 √(4 r² - d²).
            let shared = 18.0 * (1.0_f64 / 3.0).acos() - 32.0_f64.sqrt();
            let area = |region: Region| region.transformed(Affine::scale(1.0 / scale)).area();
            let whole = std::f64::consts::PI * 9.0;
            assert!((area(all[0].intersection(&all[1])) - shared).abs() < 1e-3);
            assert!((area(all[0].difference(&all[1])) - (whole - shared)).abs() < 1e-3);
            assert!((area(Region::union_of(&all)) - (2.0 * whole - shared)).abs() < 1e-3);
            assert!((area(all[0].offset(1.0)) - whole).abs() < 1e-3);
        }
    }

    #[test]
    fn paths_beyond_the_limit_are_refused() {
        let square = |side: f64| Region::from_path(&Rect::new(0.0, 0.0, side, side).to_path(1e-3), Rule::NonZero);
        assert!(square(SIZE_MM).is_ok());
        for side in [SIZE_MM * 1.001, -SIZE_MM * 1.001, f64::INFINITY, f64::NAN] {
            assert_eq!(square(side), Err(GeometryError::OutOfRange), "{side}");
        }
        assert_eq!(Region::from_path(&BezPath::new(), Rule::NonZero), Ok(Region::empty()));
    }
}
