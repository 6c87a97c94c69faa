//! The finest strokes and gaps.
//!
//! From points along the boundary a ray is cast square to it. Where it meets a part of the boundary that faces
//! back and is not the other flank of the same corner, its length is the width there.

use kurbo::{Line, Point, Rect, Vec2};

use super::findings as say;
use super::{Burn, Parts, is_less, raised};
use crate::design::RingWork;
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Gap, Region, TOUCH_MM};
use crate::memory::{MANY, recalled};
use crate::source::Span;
use crate::units::Length;

/// Cosine of the largest angle off square at which an edge still faces back.
const FACING: f64 = 0.8;
/// Flanks nearer along the boundary than this many widths belong to one corner, if they are not the sides of a stroke.
/// A corner of 8 degrees, the sharpest that [`PARALLEL`] does not take for a stroke, has flanks 14 widths apart at any
/// distance from its tip: all blunter ones burn as corners do, however thin they are at the tip. So only flanks that meet at
/// less than 8 degrees are measured as a stroke or a gap.
const CORNER: f64 = 14.3;
/// Cosine of the largest angle at which edges count as the two sides of a stroke.
const PARALLEL: f64 = 0.99;
/// The same for the sides of a stroke, which meet only round its end.
const CORNER_OF_A_STROKE: f64 = 2.0;
/// Most rays cast from one segment.
const RAYS: usize = 16;

/// Which side of the boundary is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// The shape: strokes.
    Within,
    /// What lies between its edges: gaps.
    Between,
}

/// Reports the finest stroke and gap of each mark and ring where they are finer than the stock burns.
pub(super) fn check(parts: &Parts, problems: &mut Problems) {
    let least = parts.layer.stock.least_feature.as_mm();
    // What is left standing is no burn, and is looked at by itself.
    let is_area = |burn: &&Burn| burn.region.is_some() && burn.work.is_none_or(RingWork::is_burnt);
    let areas: Vec<&Burn> = parts.burns.iter().filter(is_area).collect();
    for (side, stroke) in [(Side::Within, true), (Side::Between, false)] {
        let found = areas.iter().filter_map(|burn| finest(parts, burn, side, least).map(|found| (*burn, found)));
        report(parts, found.collect(), stroke, problems);
    }
    let (mut close, mut overlaps) = (Vec::new(), Vec::new());
    for (at, burn) in areas.iter().enumerate() {
        for other in areas.iter().skip(at + 1).filter(|other| other.face == burn.face) {
            if burn.flat.closer_than(&other.flat, least) {
                let gap = burn.flat.gap(&other.flat);
                if gap.mm > 0.0 {
                    close.push((*burn, (gap.mm, gap.at)));
                } else if gap.overlaps() && (burn.ring.is_some() || other.ring.is_some()) {
                    overlaps.push(((*burn, *other), gap));
                }
            }
        }
    }
    report(parts, close, false, problems);
    report_overlaps(parts, overlaps, problems);
    pockets(parts, problems);
}

/// Pockets are burnt line by line too, and come no finer than anything else.
fn pockets(parts: &Parts, problems: &mut Problems) {
    let least = parts.layer.stock.least_feature;
    let mut told: Vec<Span> = Vec::new();
    for pocket in &parts.pockets {
        let origin = pocket.mark.origin;
        if told.contains(&origin) || is_wider(pocket.region, Side::Within, least.as_mm()) {
            continue;
        }
        let thin = thinnest(&pocket.flat, Side::Within, least.as_mm());
        if let Some((mm, at)) = thin.filter(|(mm, _)| is_less(Length::mm(*mm), least)) {
            told.push(origin);
            problems.push(say::pocket_too_fine(parts.layer, pocket, Length::mm(mm), least, at.0));
        }
    }
}

type Overlap<'b, 'a> = ((&'b Burn<'a>, &'b Burn<'a>), Gap);

/// One finding for each two rings, or ring and mark, at the deepest overlap.
fn report_overlaps(parts: &Parts, overlaps: Vec<Overlap>, problems: &mut Problems) {
    let mut rest = overlaps;
    while let Some((first, _)) = rest.first() {
        let origins = (first.0.origin, first.1.origin);
        let (group, others): (Vec<Overlap>, Vec<Overlap>) =
            rest.into_iter().partition(|((one, other), _)| (one.origin, other.origin) == origins);
        rest = others;
        if let Some((pair, gap)) = group.iter().min_by(|a, b| a.1.mm.total_cmp(&b.1.mm)) {
            problems.push(say::labels_overlap(parts.layer, *pair, Length::mm(-gap.mm), gap.at.0, group.len()));
        }
    }
}

type Found<'b, 'a> = (&'b Burn<'a>, (f64, (Point, Point)));

/// One finding for each ring and each mark, at its finest place.
fn report(parts: &Parts, found: Vec<Found>, stroke: bool, problems: &mut Problems) {
    let least = parts.layer.stock.least_feature;
    let mut rest = found;
    rest.retain(|(_, (mm, _))| *mm < least.as_mm() - TOUCH_MM);
    while let Some(first) = rest.first().map(|(burn, _)| *burn) {
        let same = |burn: &Burn| burn.ring.is_some() && burn.ring == first.ring || burn.origin == first.origin;
        let (group, others): (Vec<Found>, Vec<Found>) = rest.into_iter().partition(|(burn, _)| same(burn));
        rest = others;
        if let Some((burn, (mm, at))) = group.iter().min_by(|a, b| a.1.0.total_cmp(&b.1.0)) {
            problems.push(say::feature_too_small(parts.layer, burn, stroke, Length::mm(*mm), least, at.0));
        }
    }
}

/// How closely the first look follows curves, in mm.
const ROUGH_MM: f64 = 5e-3;

/// As [`thinnest`], of a burn's area.
fn finest(parts: &Parts, burn: &Burn, side: Side, within: f64) -> Option<(f64, (Point, Point))> {
    // What a beam burns along a line is as wide as it is.
    if burn.work == Some(RingWork::Scored) {
        return None;
    }
    if is_wider(burn.region?, side, within) {
        return None;
    }
    // Labels that are left standing are no gaps. What has no fine ones with them has none without them.
    let filled = if side == Side::Between { raised::filled(parts, burn) } else { None };
    match filled {
        Some(filled) if is_wider(&filled, side, within) => None,
        Some(filled) => thinnest(&FlattenedShape::of(&filled), side, within),
        None => thinnest(&burn.flat, side, within),
    }
}

/// Whether a region is wider everywhere than `within` mm, as most are: a rougher copy with fewer edges shows it sooner.
pub(super) fn is_wider(region: &Region, side: Side, within: f64) -> bool {
    let rough = || FlattenedShape::to_within(region, ROUGH_MM);
    recalled(
        MANY,
        || Wider(region.clone(), side, within),
        || thinnest(&rough(), side, within + 2.0 * ROUGH_MM).is_none(),
    )
}

/// A region that may be wider than so many mm.
#[derive(PartialEq)]
struct Wider(Region, Side, f64);

/// How narrow a place is, and its two points.
pub type Narrow = (Length, (Point, Point));

/// The thinnest stroke and the narrowest gap of a region, each where it is below `within`.
pub fn finest_of(region: &Region, within: Length) -> (Option<Length>, Option<Length>) {
    let (stroke, gap) = finest_places(region, within);
    (stroke.map(|(wide, _)| wide), gap.map(|(wide, _)| wide))
}

/// The same, each with the two points between which it is so narrow.
pub fn finest_places(region: &Region, within: Length) -> (Option<Narrow>, Option<Narrow>) {
    let flat = FlattenedShape::to_within(region, ROUGH_MM);
    let finest = |side| thinnest(&flat, side, within.as_mm()).map(|(mm, ends)| (Length::mm(mm), ends));
    (finest(Side::Within), finest(Side::Between))
}

/// The narrowest place below `within` mm, and its two points; none where all are wider.
pub(super) fn thinnest(flat: &FlattenedShape, side: Side, within: f64) -> Option<(f64, (Point, Point))> {
    let flanks = flanks(flat);
    let mut best: Option<(f64, (Point, Point))> = None;
    let mut near: Vec<&Flank> = Vec::new();
    for (at, own) in flanks.iter().enumerate() {
        let direction = own.line.p1 - own.line.p0;
        let length = direction.hypot();
        // The shape lies to the left of its boundary.
        let left = Vec2::new(-direction.y, direction.x) / length.max(f64::MIN_POSITIVE);
        let normal = if side == Side::Within { left } else { -left };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a handful")]
        let rays = (4.0 * length / within.max(1e-3)).ceil().clamp(1.0, RAYS as f64) as usize;
        // Rays that stand close together look at the same few segments.
        let together = if rays < RAYS { rays } else { 1 };
        #[allow(clippy::cast_precision_loss, reason = "a handful")]
        let along = |ray: usize| (ray as f64 + 0.5) / rays as f64;
        let from = |ray: usize| own.line.p0 + direction * along(ray);
        let swept = |first: usize, last: usize, reach: Vec2| {
            let [a, b] = [from(first), from(last)].map(|end| Rect::from_points(end, end + reach));
            a.union(b)
        };
        let all = swept(0, rays - 1, normal * best.map_or(within, |(mm, _)| mm));
        // Most have nothing across that faces back, along all of their length.
        let mut across = flat.segments_in(all).filter_map(|other| flanks.get(other));
        if !across.any(|other| own.may_face(other)) {
            continue;
        }
        for first in (0..rays).step_by(together) {
            let reach = normal * best.map_or(within, |(mm, _)| mm);
            near.clear();
            let others = flat.segments_in(swept(first, first + together - 1, reach)).filter(|other| *other != at);
            near.extend(others.filter_map(|other| flanks.get(other)));
            for ray in first..first + together {
                let ray = Ray { own, along: along(ray) * length, from: from(ray), normal };
                let hit = ray.hit(&near, best.map_or(within, |(mm, _)| mm));
                best = hit.map(|(mm, at)| (mm, (ray.from, at))).or(best);
            }
        }
    }
    best
}

/// A segment and where it lies along its contour.
struct Flank {
    line: Line,
    contour: usize,
    /// Distance along the contour at which it starts, and the contour's whole length, in mm.
    start: f64,
    around: f64,
}

impl Flank {
    /// Whether another may be one that a ray from this one is stopped by: a little more often than it is.
    fn may_face(&self, other: &Self) -> bool {
        let (own, across) = (self.line.p1 - self.line.p0, other.line.p1 - other.line.p0);
        let back = -across.dot(own);
        back > 0.0 && back * back > 0.999 * (FACING * FACING) * across.hypot2() * own.hypot2()
    }
}

/// The segments of a shape, in order.
fn flanks(flat: &FlattenedShape) -> Vec<Flank> {
    let length = |line: &Line| (line.p1 - line.p0).hypot();
    let mut flanks = Vec::with_capacity(flat.segments().len());
    for (contour, lines) in flat.contours().enumerate() {
        let around = lines.iter().map(length).sum();
        let mut start = 0.0;
        for line in lines {
            flanks.push(Flank { line: *line, contour, start, around });
            start += length(line);
        }
    }
    flanks
}

/// A ray square to a flank.
struct Ray<'f> {
    own: &'f Flank,
    /// Where it starts, along the flank and in the plane.
    along: f64,
    from: Point,
    normal: Vec2,
}

impl Ray<'_> {
    /// Its length to the first of these flanks that it meets, where that one faces back from across.
    fn hit(&self, near: &[&Flank], reach: f64) -> Option<(f64, Point)> {
        let Self { own, along, from, normal } = *self;
        let mut first: Option<(f64, &Flank, f64)> = None;
        for flank in near {
            let across = flank.line.p1 - flank.line.p0;
            let scale = normal.cross(across);
            if scale == 0.0 {
                continue;
            }
            let t = (flank.line.p0 - from).cross(across) / scale;
            let u = (flank.line.p0 - from).cross(normal) / scale;
            // Nearer than this the two touch: nothing is between them that could be too fine.
            let meets = t > TOUCH_MM && t < reach && (0.0..=1.0).contains(&u);
            if meets && first.is_none_or(|(nearest, ..)| t < nearest) {
                first = Some((t, flank, u));
            }
        }
        let (t, flank, u) = first?;
        let across = flank.line.p1 - flank.line.p0;
        let own_direction = own.line.p1 - own.line.p0;
        let facing = -across.dot(own_direction) / (across.hypot() * own_direction.hypot()).max(f64::MIN_POSITIVE);
        let apart = if flank.contour == own.contour {
            let straight = (flank.start + u * across.hypot() - own.start - along).abs();
            straight.min(own.around - straight)
        } else {
            f64::INFINITY
        };
        let widths = if facing > PARALLEL { CORNER_OF_A_STROKE } else { CORNER };
        let corner = apart < (widths * t).min(0.45 * own.around);
        (facing > FACING && !corner).then(|| (t, from + normal * t))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Rule, shapes::circle};
    use kurbo::{Affine, Shape as _};

    fn bar(width: f64, height: f64) -> Region {
        let rect = Rect::from_center_size((0.0, 0.0), (width, height));
        Region::from_path(&rect.to_path(1e-4), Rule::NonZero).unwrap()
    }

    #[test]
    fn strokes_and_gaps_are_as_wide_as_drawn() {
        let bar_mm = thinnest(&FlattenedShape::of(&bar(0.25, 5.0)), Side::Within, 1.0).unwrap().0;
        assert!((bar_mm - 0.25).abs() < 1e-9);
        let two = bar(1.0, 5.0).union(&bar(1.0, 5.0).transformed(Affine::translate((1.2, 0.0))));
        assert!((thinnest(&FlattenedShape::of(&two), Side::Between, 1.0).unwrap().0 - 0.2).abs() < 1e-6);
        let ring = circle(3.0).unwrap().difference(&circle(2.8).unwrap());
        assert!((thinnest(&FlattenedShape::of(&ring), Side::Within, 1.0).unwrap().0 - 0.2).abs() < 2e-3);
    }

    #[test]
    fn small_dots_and_counters_are_seen_and_corners_are_not() {
        assert!(thinnest(&FlattenedShape::of(&circle(0.1).unwrap()), Side::Within, 1.0).is_some());
        let pierced = circle(2.0).unwrap().difference(&circle(0.1).unwrap());
        assert!(thinnest(&FlattenedShape::of(&pierced), Side::Between, 0.3).is_some());
        assert!(thinnest(&FlattenedShape::of(&bar(3.0, 3.0)), Side::Within, 1.0).is_none());
        let wedge = Region::from_path(&kurbo::BezPath::from_svg("M0 0 L5 -1 L5 1 Z").unwrap(), Rule::NonZero);
        assert!(thinnest(&FlattenedShape::of(&wedge.unwrap()), Side::Within, 1.0).is_none());
    }
    /// Strokes and gaps turned and moved anyhow are as wide as they were drawn, and are found where they are.
    #[test]
    fn widths_hang_on_no_direction() {
        let disc = |radius: f64| circle(radius).unwrap();
        for degrees in [0.0, 17.0, 45.0, 90.0, 133.0, 271.5] {
            let placed = Affine::translate((3.0, -7.0)) * Affine::rotate(f64::to_radians(degrees));
            let width = |region: &Region, side: Side| {
                let flat = FlattenedShape::of(&region.transformed(placed));
                let (mm, (p, q)) = thinnest(&flat, side, 1.0).unwrap();
                assert!((p.distance(q) - mm).abs() < 1e-9);
                let middle = placed.inverse() * p.midpoint(q);
                assert_eq!(region.contains(middle), side == Side::Within, "{degrees}: {middle:?}");
                mm
            };
            let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 2e-3, "{degrees}: {found} {wanted}");
            near(width(&bar(0.25, 5.0), Side::Within), 0.25);
            near(width(&crate::geometry::shapes::obround(6.0, 0.4).unwrap(), Side::Within), 0.4);
            // A comb of two teeth: a gap with both its sides on one contour.
            let comb = bar(5.0, 6.0).difference(&bar(0.3, 4.0).transformed(Affine::translate((0.7, 2.0))));
            near(width(&comb, Side::Between), 0.3);
            // A ring whose hole is off its middle is thinnest on that side: 3 - 2 - 0.6.
            let eccentric = disc(3.0).difference(&disc(2.0).transformed(Affine::translate((0.6, 0.0))));
            near(width(&eccentric, Side::Within), 0.4);
            let apart = disc(1.0).union(&disc(2.0).transformed(Affine::translate((3.0, 0.5))));
            near(width(&apart, Side::Between), f64::hypot(3.0, 0.5) - 3.0);
            // The tip of a notch over the far side, and a dot: both its diameters are strokes.
            let waist = bar(8.0, 2.0).difference(&disc(1.0).transformed(Affine::translate((0.0, 0.7))));
            near(width(&waist, Side::Within), 0.7);
            near(width(&disc(0.15), Side::Within), 0.3);
        }
    }

    #[test]
    fn only_what_is_finer_than_asked_is_found() {
        let at = |within: f64| thinnest(&FlattenedShape::of(&bar(0.25, 5.0)), Side::Within, within).map(|it| it.0);
        assert_eq!((at(0.24), at(0.25)), (None, None));
        assert!((at(0.26).unwrap() - 0.25).abs() < 1e-9);
        // Edges within a micrometre or two touch.
        let touching = bar(1.0, 5.0).union(&bar(1.0, 5.0).transformed(Affine::translate((1.0015, 0.0))));
        assert_eq!(thinnest(&FlattenedShape::of(&touching), Side::Between, 1.0), None);
        let apart = bar(1.0, 5.0).union(&bar(1.0, 5.0).transformed(Affine::translate((1.003, 0.0))));
        assert!(thinnest(&FlattenedShape::of(&apart), Side::Between, 1.0).is_some());
        let (stroke, gap) = finest_of(&bar(0.25, 5.0), Length::mm(1.0));
        assert!((stroke.unwrap().as_mm() - 0.25).abs() < 1e-9 && gap.is_none());
        assert_eq!(thinnest(&FlattenedShape::default(), Side::Within, 1.0), None);
    }

    /// A wedge of 6 degrees is taken for a stroke that tapers, one of 10 for a corner; sides that lean towards one another by
    /// less than the angle whose cosine is [`FACING`] face each other.
    #[test]
    fn flanks_of_one_corner_are_no_stroke() {
        let wedge = |degrees: f64, from: f64| {
            let (near, far) = (from * f64::to_radians(degrees / 2.0).tan(), 9.0 * f64::to_radians(degrees / 2.0).tan());
            let data = format!("M{from} {} L9 {} L9 {far} L{from} {near} Z", -near, -far);
            Region::from_path(&kurbo::BezPath::from_svg(&data).unwrap(), Rule::NonZero).unwrap()
        };
        let found = |region: &Region| thinnest(&FlattenedShape::of(region), Side::Within, 0.5).map(|it| it.0);
        assert!(
            found(&wedge(6.0, 0.0)).is_some()
                && found(&wedge(10.0, 0.0)).is_none()
                && found(&wedge(25.0, 0.0)).is_none()
        );
        // Cut off where it is 0.2 mm wide, and 30 degrees: only the cut itself is that narrow, and it is no stroke.
        assert!(found(&wedge(30.0, 0.4)).is_none());
        // Two plates whose edges lean by 30 and by 45 degrees, 0.3 mm apart at the nearest.
        let leaning = |degrees: f64| {
            let rise = 4.0 * f64::to_radians(degrees).tan();
            let data = format!("M-4 0 L0 0 L0 -4 L-4 -4 Z M-4 {} L0 0.3 L0 9 L-4 9 Z", 0.3 + rise);
            let both = Region::from_path(&kurbo::BezPath::from_svg(&data).unwrap(), Rule::NonZero).unwrap();
            thinnest(&FlattenedShape::of(&both), Side::Between, 0.6).map(|it| it.0)
        };
        assert!(leaning(30.0).unwrap() < 0.45 && leaning(45.0).is_none());
    }

    #[test]
    fn contours_are_measured_one_by_one() {
        let frame = bar(8.0, 6.0).difference(&bar(2.0, 1.0));
        let flanks = flanks(&FlattenedShape::of(&frame));
        assert_eq!(flanks.iter().map(|flank| flank.contour).collect::<Vec<_>>(), [0, 0, 0, 0, 1, 1, 1, 1]);
        let around: Vec<f64> = flanks.iter().map(|flank| flank.around.round()).collect();
        assert!(
            around == [28.0, 28.0, 28.0, 28.0, 6.0, 6.0, 6.0, 6.0]
                || around == [6.0, 6.0, 6.0, 6.0, 28.0, 28.0, 28.0, 28.0]
        );
        for contour in [&flanks[..4], &flanks[4..]] {
            let mut start = 0.0;
            for flank in contour {
                assert!((flank.start - start).abs() < 1e-9);
                start += (flank.line.p1 - flank.line.p0).hypot();
            }
            assert!((contour[0].around - start).abs() < 1e-9);
        }
    }
}
