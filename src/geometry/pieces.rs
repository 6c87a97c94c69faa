//! Taking a region apart into pieces and holes, and putting copies together.

use std::collections::BTreeSet;
use std::f64::consts::TAU;

use kurbo::{Affine, BezPath, ParamCurve, Rect, Shape};

use super::flattened::{FlattenedShape, TOUCH_MM};
use super::region::{Region, Rule};
use super::{GeometryError, TOLERANCE_MM, boolean, boxes};
use crate::limits::LIST_LENGTH;
use crate::work::spend_on;

impl Region {
    /// Each connected piece with its own holes; the largest first, equals from the bottom up, then from the left.
    /// Pieces that meet in a point are apart.
    pub fn pieces(&self) -> Vec<Self> {
        let (outers, holes): (Vec<BezPath>, Vec<BezPath>) =
            self.contours().into_iter().partition(|contour| contour.area() > 0.0);
        let mut pieces: Vec<(BezPath, BezPath)> = outers.into_iter().map(|outer| (outer, BezPath::new())).collect();
        let one = pieces.len() == 1;
        for hole in holes {
            spend_on(pieces.len(), 300);
            let around = pieces.iter_mut().filter(|(outer, _)| one || surrounds(outer, &hole));
            if let Some((_, taken)) = around.min_by(|a, b| a.0.area().total_cmp(&b.0.area())) {
                taken.extend(hole);
            }
        }
        let whole = pieces.into_iter().map(|(outer, holes)| Self::trusted(outer.iter().chain(holes.iter()).collect()));
        sorted(whole.collect())
    }

    /// Each hole as a filled region, in the same order as pieces.
    pub fn holes(&self) -> Vec<Self> {
        let holes = self.contours().into_iter().filter(|contour| contour.area() < 0.0);
        sorted(holes.map(|hole| Self::trusted(hole.reverse_subpaths())).collect())
    }

    /// The region with its holes filled.
    #[must_use]
    pub fn outer(&self) -> Self {
        let outers: Vec<BezPath> = self.contours().into_iter().filter(|contour| contour.area() > 0.0).collect();
        spend_on(outers.len() * outers.len(), 300);
        let islands = |contour: &BezPath| outers.iter().any(|outer| outer != contour && surrounds(outer, contour));
        Self::trusted(outers.iter().filter(|contour| !islands(contour)).flatten().collect())
    }

    /// In any of them. Quicker than one union after another; what no other comes near stays as it is.
    #[must_use]
    pub fn union_of<'a>(regions: impl IntoIterator<Item = &'a Self>) -> Self {
        let regions = regions.into_iter().filter_map(|region| region.bounds().map(|bounds| (region, bounds)));
        let regions: Vec<(&Self, Rect)> = regions.collect();
        spend_on(regions.len() * regions.len(), 2);
        // Boxes tell most; of those that meet the outlines are asked.
        let meets = |(one, bounds): &(&Self, Rect), (other, its): &(&Self, Rect)| {
            boxes::gap_squared(*bounds, *its) <= TOLERANCE_MM * TOLERANCE_MM
                && (![one, other].iter().all(|region| boolean::is_within_reach(region.path()))
                    || FlattenedShape::of(one).closer_than(&FlattenedShape::of(other), TOUCH_MM))
        };
        let mut joined = BTreeSet::new();
        for (at, one) in regions.iter().enumerate() {
            for (other, its) in regions.iter().enumerate().skip(at + 1) {
                // Of two that are joined with others already it makes no difference.
                let is_known = joined.contains(&at) && joined.contains(&other);
                if !is_known && meets(one, its) {
                    joined.extend([at, other]);
                }
            }
        }
        let (near, alone): (Vec<_>, Vec<_>) = regions.iter().enumerate().partition(|(at, _)| joined.contains(at));
        let path = |some: &[(usize, &(&Self, Rect))]| -> BezPath {
            some.iter().flat_map(|(_, (region, _))| region.path().iter()).collect()
        };
        let merged = if near.is_empty() { Self::empty() } else { boolean::resolve(&path(&near), Rule::NonZero) };
        Self::trusted(merged.path().iter().chain(path(&alone)).collect())
    }

    /// `count` copies, each turned on by the same part of a full turn about the origin, clockwise, together.
    ///
    /// # Errors
    /// [`GeometryError::TooFew`] for none, [`GeometryError::TooLarge`] for more than the limit on lists.
    pub fn repeated(&self, count: u32) -> Result<Self, GeometryError> {
        let most = u32::try_from(LIST_LENGTH).unwrap_or(u32::MAX);
        match count {
            0 => return Err(GeometryError::TooFew { what: "copies", value: 0.0, least: 1.0 }),
            _ if count > most => {
                let (value, below) = (f64::from(count), f64::from(most) + 1.0);
                return Err(GeometryError::TooLarge { what: "copies", value, below });
            }
            _ => {}
        }
        let turn = |i| Affine::rotate(-TAU * f64::from(i) / f64::from(count));
        let copies: Vec<Self> = (0..count).map(|i| self.transformed(turn(i))).collect();
        Ok(Self::union_of(&copies))
    }
}

/// Whether most of a contour lies inside another; two of one region do not cross, but may touch.
fn surrounds(outer: &BezPath, inner: &BezPath) -> bool {
    if !outer.bounding_box().inflate(1e-3, 1e-3).contains_rect(inner.bounding_box()) {
        return false;
    }
    spend_on(inner.elements().len() * outer.elements().len(), 50);
    let inside = inner.segments().map(|segment| outer.winding(segment.eval(0.5)) != 0);
    let (inside, outside): (Vec<bool>, Vec<bool>) = inside.partition(|inside| *inside);
    inside.len() > outside.len() && outer.area().abs() > inner.area().abs()
}

/// Largest first; sizes and places that agree to a hundredth count as equal, so that rounding decides nothing.
fn sorted(regions: Vec<Region>) -> Vec<Region> {
    let key = |region: &Region| {
        let corner = region.bounds().unwrap_or_default();
        [-region.area(), corner.y0, corner.x0].map(|value| (value * 100.0).round())
    };
    let mut keyed: Vec<([f64; 3], Region)> = regions.into_iter().map(|region| (key(&region), region)).collect();
    keyed.sort_by(|(a, _), (b, _)| {
        a.iter().zip(b).map(|(a, b)| a.total_cmp(b)).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
    });
    keyed.into_iter().map(|(_, region)| region).collect()
}
