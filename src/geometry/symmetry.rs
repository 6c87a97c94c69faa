//! About which lines an outline mirrors onto itself, and by which turns it comes to lie on itself.

use std::f64::consts::{PI, TAU};

use kurbo::{Affine, Point, Vec2};

use super::distance::along;
use super::flattened::FlattenedShape;
use super::{Region, mirror};
use crate::units::Angle;

/// Outlines that lie this near are the same, in mm.
const SAME_MM: f64 = 2e-3;
/// How finely outlines are flattened to compare them, in mm.
const FLAT_MM: f64 = 1e-4;
/// Highest order of symmetry looked for.
const ORDERS: u32 = 360;
/// A harmonic weaker than this part of the whole is rounding.
const FAINT: f64 = 1e-7;

/// The lines through the origin about which an outline mirrors onto itself, to within 2 µm.
#[derive(Clone, Debug, PartialEq)]
pub enum Symmetry {
    /// All of them: circles about the origin, or nothing.
    Every,
    /// These bearings, from 0deg up to but not 180deg, in order; perhaps none.
    Axes(Vec<Angle>),
}

impl Region {
    /// Whether the outline mirrors onto itself about the line through the origin at a bearing, to within
    /// `tolerance` mm.
    pub fn is_symmetric_about(&self, bearing: Angle, tolerance: f64) -> bool {
        let outline = FlattenedShape::to_within(self, FLAT_MM);
        lies_on(&along(self), mirror(bearing), &outline, tolerance)
    }

    /// All lines through the origin about which the outline mirrors onto itself, to within 2 µm.
    pub fn symmetry_axes(&self) -> Symmetry {
        let outline = FlattenedShape::to_within(self, FLAT_MM);
        if outline.is_empty() || self.is_round() {
            return Symmetry::Every;
        }
        let points = along(self);
        let Some((order, phase)) = lowest(&harmonics(&points)) else { return Symmetry::Axes(Vec::new()) };
        // Mirroring about an axis leaves a harmonic as it is only where the axis lies along one of its lobes.
        let candidates = (0..order).map(|m| (phase + PI * f64::from(m)) / f64::from(order));
        let bearings = candidates.map(|standard| (90.0 - standard.to_degrees()).rem_euclid(180.0));
        let mut axes: Vec<f64> = bearings
            .map(|bearing| if bearing > 180.0 - 1e-6 { 0.0 } else { bearing })
            .filter(|bearing| lies_on(&points, mirror(Angle::degrees(*bearing)), &outline, SAME_MM))
            .collect();
        axes.sort_by(f64::total_cmp);
        Symmetry::Axes(axes.into_iter().map(Angle::degrees).collect())
    }

    /// Into how many equal parts a full turn falls by which the outline comes to lie on itself, to within 2 µm: 1
    /// where only the full turn does. None where every turn does. Looks no further than 360.
    pub fn rotational_order(&self) -> Option<u32> {
        let outline = FlattenedShape::to_within(self, FLAT_MM);
        if outline.is_empty() || self.is_round() {
            return None;
        }
        let points = along(self);
        let harmonics = harmonics(&points);
        // A turn by an order that does not divide a harmonic's moves its lobes.
        let possible = |order: u32| lowest(&harmonics).is_none_or(|(lowest, _)| lowest % order == 0);
        let turned = |order: u32| lies_on(&points, Affine::rotate(TAU / f64::from(order)), &outline, SAME_MM);
        (2..=ORDERS).rev().find(|order| possible(*order) && turned(*order)).or(Some(1))
    }

    /// Whether every contour is a circle about the origin.
    fn is_round(&self) -> bool {
        self.contours().into_iter().map(Self::trusted).all(|contour| {
            let least = contour.least_radius(Point::ORIGIN).unwrap_or(0.0);
            contour.swept_radius(Point::ORIGIN) - least <= SAME_MM
        })
    }
}

/// Whether all points, moved by `map`, lie on the outline.
fn lies_on(points: &[Point], map: Affine, outline: &FlattenedShape, tolerance: f64) -> bool {
    points.iter().all(|point| outline.within(tolerance, map * *point))
}

/// How strongly the outline repeats 1, 2, 3 … times a turn, and which way: `sum of r e^(ik angle)` over points that
/// lie evenly along it, as a part of `sum of r`.
fn harmonics(points: &[Point]) -> Vec<Vec2> {
    let whole: f64 = points.iter().map(|point| point.to_vec2().hypot()).sum();
    let polar: Vec<(f64, f64)> = points.iter().map(|point| (point.to_vec2().hypot(), point.y.atan2(point.x))).collect();
    let harmonic = |k: u32| -> Vec2 {
        let each = polar.iter().map(|(radius, angle)| Vec2::from_angle(angle * f64::from(k)) * *radius);
        each.fold(Vec2::ZERO, |a, b| a + b) / whole.max(f64::MIN_POSITIVE)
    };
    (1..=ORDERS).map(harmonic).collect()
}

/// The lowest harmonic not far weaker than the strongest, with its phase; none where all are faint.
fn lowest(harmonics: &[Vec2]) -> Option<(u32, f64)> {
    let most = harmonics.iter().map(|harmonic| harmonic.hypot()).fold(0.0, f64::max);
    let strong = |(_, harmonic): &(u32, &Vec2)| harmonic.hypot() > (0.1 * most).max(FAINT);
    (1..).zip(harmonics).find(strong).map(|(order, harmonic)| (order, harmonic.atan2()))
}
