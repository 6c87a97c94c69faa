//! The shapes of the language, each about the origin. Sizes are in mm. Any of them is [`GeometryError::Empty`] where
//! its area would be that of a sliver.

use std::f64::consts::{PI, TAU};

use kurbo::{Affine, BezPath, Point, Rect, Shape};

use super::corners::rounded_polygon;
use super::pen::Pen;
use super::{GeometryError, Region, SLIVER_MM2, polar};
use crate::limits::{LIST_LENGTH, SIZE_MM};
use crate::units::Angle;

/// How the size of a regular polygon is given. All are those of the sharp polygon, before its corners are rounded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PolygonSize {
    /// The largest distance between two corners. With an even number of sides it runs through the middle; with
    /// an odd number it is the longest diagonal, `2 R cos(90deg / sides)`.
    AcrossCorners(f64),
    /// From a side straight across: to the opposite side where the number of sides is even, to the opposite
    /// corner where it is odd, `R (1 + cos(180deg / sides))`.
    AcrossFlats(f64),
    /// The length of one side.
    Side(f64),
    /// From the middle to a corner.
    Circumradius(f64),
}

/// The distance in mm from the middle of a regular polygon to its sharp corners.
///
/// # Errors
/// [`GeometryError::TooFew`] under three sides, [`GeometryError::NotPositive`] for a size of zero or less,
/// [`GeometryError::OutOfRange`] for one that is not finite or beyond the limit.
pub fn circumradius(sides: u32, size: PolygonSize) -> Result<f64, GeometryError> {
    let sides = f64::from(count("sides", sides, 3)?);
    let odd = sides % 2.0 == 1.0;
    Ok(match size {
        PolygonSize::AcrossCorners(across) => {
            let across = positive("across_corners", across)?;
            if odd { across / (2.0 * (PI / (2.0 * sides)).cos()) } else { across / 2.0 }
        }
        PolygonSize::AcrossFlats(across) => {
            let (across, cos) = (positive("across_flats", across)?, (PI / sides).cos());
            if odd { across / (1.0 + cos) } else { across / (2.0 * cos) }
        }
        PolygonSize::Side(side) => positive("side", side)? / (2.0 * (PI / sides).sin()),
        PolygonSize::Circumradius(radius) => positive("circumradius", radius)?,
    })
}

/// A disc.
///
/// # Errors
/// [`GeometryError::NotPositive`], [`GeometryError::OutOfRange`].
pub fn circle(radius: f64) -> Result<Region, GeometryError> {
    made(round(positive("radius", radius)?))
}

/// An ellipse of this width (along x) and height (along y).
///
/// # Errors
/// [`GeometryError::NotPositive`], [`GeometryError::OutOfRange`].
pub fn ellipse(width: f64, height: f64) -> Result<Region, GeometryError> {
    let (width, height) = (positive("width", width)?, positive("height", height)?);
    let longer = width.max(height);
    // Made smaller from a circle and never larger, so that the circle's error shrinks with it.
    made(Affine::scale_non_uniform(width / longer, height / longer) * round(longer / 2.0))
}

/// A regular polygon, one corner at the top, its corners rounded to radius `corner`.
///
/// # Errors
/// [`GeometryError::TooFew`] under three sides; [`GeometryError::CornerTooLarge`] where `corner` passes the
/// radius of the inscribed circle; sizes as for [`circle`].
pub fn polygon(sides: u32, circumradius: f64, corner: f64) -> Result<Region, GeometryError> {
    let sides = count("sides", sides, 3)?;
    let (radius, corner) = (positive("circumradius", circumradius)?, not_negative("corner", corner)?);
    let corners: Vec<Point> = (0..sides).map(|i| on_circle(radius, f64::from(i) / f64::from(sides))).collect();
    made(rounded_polygon(&corners, corner)?)
}

/// A rectangle, its corners rounded to radius `corner`.
///
/// # Errors
/// [`GeometryError::CornerTooLarge`] where `corner` passes half the shorter side; sizes as for [`circle`].
pub fn rectangle(width: f64, height: f64, corner: f64) -> Result<Region, GeometryError> {
    let (x, y) = (positive("width", width)? / 2.0, positive("height", height)? / 2.0);
    let corner = not_negative("corner", corner)?;
    let corners = [(x, y), (-x, y), (-x, -y), (x, -y)].map(Point::from);
    made(rounded_polygon(&corners, corner)?)
}

/// A rectangle whose two shorter sides are half circles: a stadium along its longer side, a disc where both are equal.
///
/// # Errors
/// Sizes as for [`circle`].
pub fn obround(width: f64, height: f64) -> Result<Region, GeometryError> {
    rectangle(width, height, positive("width", width)?.min(positive("height", height)?) / 2.0)
}

/// The part of a ring between two bearings, clockwise from `from` to `to`; with `inner` 0 a slice of a disc.
/// A full turn gives the whole ring.
///
/// # Errors
/// [`GeometryError::TooLarge`] where `inner` is not below `outer` or the sweep passes a full turn;
/// [`GeometryError::NotPositive`] for a sweep of nothing; sizes as for [`circle`].
pub fn sector(outer: f64, inner: f64, from: Angle, to: Angle) -> Result<Region, GeometryError> {
    let (outer, inner) = (positive("radius", outer)?, not_negative("inner", inner)?);
    if inner >= outer {
        return Err(GeometryError::TooLarge { what: "inner", value: inner, below: outer });
    }
    let between = (to - from).as_degrees();
    // From 300deg to 60deg goes on past the top; a full turn must not become nothing, so only what is below zero is
    // turned.
    let sweep = if between < 0.0 { between.rem_euclid(360.0) } else { between };
    if !sweep.is_finite() || sweep > 360.0 {
        return Err(GeometryError::TooLarge { what: "sweep", value: sweep, below: 360.0 });
    }
    if sweep <= 0.0 {
        return Err(GeometryError::NotPositive { what: "sweep", value: sweep });
    }
    if sweep == 360.0 {
        let mut path = round(outer);
        if inner > 0.0 {
            path.extend(round(inner).reverse_subpaths());
        }
        return made(path);
    }
    let (start, end, turn) = (polar(outer, to), polar(inner, from), sweep.to_radians());
    let mut pen = Pen::at(start);
    pen.arc(Point::ORIGIN, turn);
    pen.line_to(end);
    if inner > 0.0 {
        pen.arc(Point::ORIGIN, -turn);
    }
    made(pen.close())
}

/// A star with one point at the top. `corner` rounds its points and the notches between them alike.
///
/// # Errors
/// [`GeometryError::TooFew`] under three points; [`GeometryError::TooLarge`] where `inner` is not below `outer`;
/// [`GeometryError::CornerTooLarge`]; sizes as for [`circle`].
pub fn star(points: u32, outer: f64, inner: f64, corner: f64) -> Result<Region, GeometryError> {
    let points = count("points", points, 3)?;
    let (outer, inner) = (positive("outer", outer)?, positive("inner", inner)?);
    let corner = not_negative("corner", corner)?;
    if inner >= outer {
        return Err(GeometryError::TooLarge { what: "inner", value: inner, below: outer });
    }
    let corners: Vec<Point> = (0..2 * points)
        .map(|i| on_circle(if i % 2 == 0 { outer } else { inner }, f64::from(i) / f64::from(2 * points)))
        .collect();
    made(rounded_polygon(&corners, corner)?)
}

/// A disc with a smooth wavy edge: circular lobes and hollows of one radius, each running into the next. It is
/// `diameter` across at the crests and its hollows are `depth` deep; one crest stands at the top.
///
/// The common radius `a` follows from the centres of a lobe (at `R - a`) and of the hollow beside it (at
/// `R - depth + a`) lying `2 a` apart.
///
/// # Errors
/// [`GeometryError::TooFew`] under three lobes; [`GeometryError::TooLarge`] where the lobes would have to be
/// more than half circles; sizes as for [`circle`].
pub fn scallop(diameter: f64, lobes: u32, depth: f64) -> Result<Region, GeometryError> {
    let lobes = count("lobes", lobes, 3)?;
    let (crest, depth) = (positive("diameter", diameter)? / 2.0, positive("depth", depth)?);
    let half = PI / f64::from(lobes);
    let deepest = deepest_scallop(crest, half);
    if depth > deepest {
        return Err(GeometryError::TooLarge { what: "depth", value: depth, below: deepest });
    }
    let (cos, floor) = (half.cos(), crest - depth);
    let apart = crest * crest + floor * floor - 2.0 * cos * crest * floor;
    let slope = depth * (1.0 + cos);
    let radius = (2.0 * (1.0 - cos)).mul_add(apart, slope * slope).sqrt() - slope;
    let radius = radius / (2.0 * (1.0 - cos));
    let (lobe, hollow) = (crest - radius, floor + radius);
    // Seen from a lobe's centre, the hollow beside it stands this far round from the crest.
    let reach = (hollow * half.sin()).atan2(hollow * cos - lobe);
    let meeting = |turns: f64| on_circle(lobe, turns).midpoint(on_circle(hollow, turns + half / TAU));
    let mut pen = Pen::at(meeting(-1.0 / f64::from(lobes)));
    for i in 0..lobes {
        let turns = f64::from(i) / f64::from(lobes);
        pen.arc(on_circle(hollow, turns - half / TAU), 2.0 * (half - reach));
        pen.arc(on_circle(lobe, turns), 2.0 * reach);
    }
    made(pen.close())
}

/// The depth at which the lobes of a scallop are exactly half circles.
fn deepest_scallop(crest: f64, half: f64) -> f64 {
    let tan = half.tan();
    let radius = crest * tan / (2.0 + tan);
    crest - ((crest - radius) / half.cos() - radius)
}

/// A shape from SVG path data, its numbers read as mm with y up. Closed contours inside one another are holes.
///
/// # Errors
/// [`GeometryError::BadPathData`], [`GeometryError::NotClosed`], [`GeometryError::CrossesItself`],
/// [`GeometryError::Empty`], [`GeometryError::OutOfRange`].
pub fn path(data: &str) -> Result<Region, GeometryError> {
    super::path_data::closed_region(data)
}

/// A circle about the origin, beginning at the top.
fn round(radius: f64) -> BezPath {
    let mut pen = Pen::at(Point::new(0.0, radius));
    pen.arc(Point::ORIGIN, TAU);
    pen.close()
}

/// The point on a circle this many turns counter-clockwise from the top.
fn on_circle(radius: f64, turns: f64) -> Point {
    polar(radius, Angle::degrees(-360.0 * turns))
}

/// Refuses what leaves the limits on the way, or is too small to be anything.
fn made(path: BezPath) -> Result<Region, GeometryError> {
    let limit = Rect::new(-SIZE_MM, -SIZE_MM, SIZE_MM, SIZE_MM);
    if !path.is_finite() || !limit.contains_rect(path.bounding_box()) {
        return Err(GeometryError::OutOfRange);
    }
    // Trusted without a boolean: every shape here is drawn so that it cannot cross itself.
    if path.area() < SLIVER_MM2 { Err(GeometryError::Empty) } else { Ok(Region::trusted(path)) }
}

fn positive(what: &'static str, value: f64) -> Result<f64, GeometryError> {
    if value <= 0.0 {
        return Err(GeometryError::NotPositive { what, value });
    }
    not_negative(what, value)
}

fn not_negative(what: &'static str, value: f64) -> Result<f64, GeometryError> {
    if !value.is_finite() || value > SIZE_MM {
        return Err(GeometryError::OutOfRange);
    }
    if value < 0.0 {
        return Err(GeometryError::NotPositive { what, value });
    }
    Ok(value)
}

fn count(what: &'static str, given: u32, least: u32) -> Result<u32, GeometryError> {
    let most = u32::try_from(LIST_LENGTH).unwrap_or(u32::MAX);
    if given < least {
        return Err(GeometryError::TooFew { what, value: given.into(), least: least.into() });
    }
    if given > most {
        return Err(GeometryError::TooLarge { what, value: given.into(), below: f64::from(most) + 1.0 });
    }
    Ok(given)
}
