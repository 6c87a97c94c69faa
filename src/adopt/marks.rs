//! What is on a part as items of the language: equal shapes on a ring as one that is repeated, texts on a ring as its labels.

use kurbo::{Affine, BezPath, Point};

use super::Work;
use super::contour::STEPS;
use super::figures::{bearing, call, deg, place, room, round, round_deg};
use super::parts::{Item, Part};
use super::runs::runs;
use super::shape::Kind;
use crate::artwork::DrawnLine;
use crate::geometry::contours;
use crate::units::{mm, plain};
use crate::work::spend_on;

/// Radii of what stands on one ring differ by no more, in mm.
const SAME_RADIUS: f64 = 0.15;

/// And sizes that were fitted, in mm.
const SAME_SIZE: f64 = 0.06;

/// And bearings by no more than this from even steps, in degrees.
const SAME_STEP: f64 = 0.6;

/// Directions of letters that count as one, in degrees.
const SAME_WAY: f64 = 3.0;

/// A shape as the language writes it.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    pub(super) work: Work,
    /// The region, with its place.
    pub(super) text: String,
    /// Where its middle stands from the axis: how far out in mm, and at which bearing in degrees.
    pub(super) out: f64,
    pub(super) bearing: f64,
    pub(super) repeated: usize,
    /// What there is to say of it.
    pub(super) remark: String,
}

/// Texts on a ring.
#[derive(Clone, Debug)]
pub(super) struct Ring {
    pub(super) labels: Vec<String>,
    /// As drawn, clockwise from the first.
    pub(super) bearings: Vec<f64>,
    pub(super) is_even: bool,
    pub(super) radius: f64,
    pub(super) height: f64,
    pub(super) facing: &'static str,
    pub(super) typeface: String,
    /// How far a label stands off where it was drawn, at the most, in mm.
    pub(super) off: f64,
}

/// The outline as the language writes it, with what there is to say of it.
pub(super) fn outline(part: &Part) -> (String, String) {
    written(&part.outline, part.axis.at, part.noise)
}

/// Everything on a part but its texts and its art, what is equal on a ring once.
pub(super) fn marks(part: &Part) -> Vec<Mark> {
    let axis = part.axis.at;
    let mut left: Vec<&Item> = part.items.iter().collect();
    let mut marks = Vec::new();
    while let Some(first) = left.first().copied() {
        spend_on(left.len(), STEPS);
        let ring: Vec<&Item> = left.iter().copied().filter(|other| is_equal(first, other, axis)).collect();
        let steps = even(&ring.iter().map(|item| bearing(middle(item) - axis)).collect::<Vec<_>>());
        let is_ring = ring.len() > 1 && steps.is_some() && (middle(first) - axis).hypot() > 1.0;
        let mut taken = if is_ring { ring } else { vec![first] };
        // What stands at the top, or first after it, stands for all.
        let from_top = |item: &Item| (bearing(middle(item) - axis) + SAME_STEP).rem_euclid(360.0);
        taken.sort_by(|a, b| from_top(a).total_cmp(&from_top(b)));
        let first = taken.first().copied().unwrap_or(first);
        let (mut text, remark) = match taken.as_slice() {
            [only] => written(only, axis, part.noise),
            several => written(&averaged(first, several, axis), axis, part.noise),
        };
        if taken.len() > 1 {
            text += &format!(" repeated {}", taken.len());
        }
        let moved = middle(first) - axis;
        marks.push(Mark {
            work: first.work,
            text,
            out: moved.hypot(),
            bearing: bearing(moved),
            repeated: taken.len(),
            remark,
        });
        spend_on(left.len() * taken.len(), 2);
        left.retain(|item| !taken.iter().any(|one| std::ptr::eq(*one, *item)));
    }
    marks
}

fn middle(item: &Item) -> Point {
    match &item.found {
        Some(found) if found.fit.shape.kind != Kind::Sector => found.fit.shape.at,
        _ => item.contour.middle(),
    }
}

/// Whether two items are one, turned about the axis.
fn is_equal(one: &Item, other: &Item, axis: Point) -> bool {
    let kind = |item: &Item| item.found.as_ref().map(|found| found.fit.shape.kind);
    let (a, b) = (one.contour.area, other.contour.area);
    let out = |item: &Item| (middle(item) - axis).hypot();
    let alike = one.work == other.work && kind(one).is_some() && kind(one) == kind(other);
    // Turned with its bearing: what is left of its turn is that of a whole wedge.
    let turn = |item: &Item| match &item.found {
        Some(found) if found.fit.shape.kind != Kind::Circle => {
            let wedge = 360.0 / f64::from(found.fit.shape.kind.fold().unwrap_or(1));
            Some(((found.fit.shape.turn.to_degrees() + bearing(middle(item) - axis)).rem_euclid(wedge), wedge))
        }
        _ => None,
    };
    let is_turned = match (turn(one), turn(other)) {
        (Some((this, wedge)), Some((that, _))) => {
            let apart = (this - that).abs();
            apart.min(wedge - apart) <= SAME_WAY
        }
        _ => true,
    };
    // Of what is small, the noise of the edge is a large share of the area, and a small one of what is fitted.
    let sizes = |item: &Item| item.found.as_ref().map(|found| found.fit.shape.size).unwrap_or_default();
    let is_as_large = (a - b).abs() <= 0.03 * a.max(b)
        || sizes(one).iter().zip(sizes(other)).all(|(a, b)| (a - b).abs() <= SAME_SIZE.max(0.015 * a.max(b)));
    alike && is_turned && is_as_large && (out(one) - out(other)).abs() <= SAME_RADIUS
}

/// The first of evenly spaced bearings, from their mean: none where they are not.
fn even(bearings: &[f64]) -> Option<f64> {
    even_within(bearings, SAME_STEP)
}

fn even_within(bearings: &[f64], within: f64) -> Option<f64> {
    let step = 360.0 / bearings.len() as f64;
    let first = *bearings.first()?;
    let off = |bearing: f64| (bearing - first + step / 2.0).rem_euclid(step) - step / 2.0;
    let mean = bearings.iter().map(|bearing| off(*bearing)).sum::<f64>() / bearings.len() as f64;
    let mut places: Vec<i64> = bearings.iter().map(|one| ((one - first - off(*one)) / step).round() as i64).collect();
    places.iter_mut().for_each(|place| *place = place.rem_euclid(bearings.len() as i64));
    places.sort_unstable();
    places.dedup();
    let is_even =
        places.len() == bearings.len() && bearings.iter().all(|bearing| (off(*bearing) - mean).abs() <= within);
    is_even.then_some((first + mean).rem_euclid(360.0))
}

/// What stands evenly on a ring, as its first would be by the mean of all.
fn averaged(first: &Item, items: &[&Item], axis: Point) -> Item {
    let mut item = first.clone();
    let count = items.len() as f64;
    let out = items.iter().map(|item| (middle(item) - axis).hypot()).sum::<f64>() / count;
    let bearings: Vec<f64> = items.iter().map(|item| bearing(middle(item) - axis)).collect();
    let own = bearing(middle(first) - axis);
    let start = even(&bearings).unwrap_or(own).to_radians();
    let at = axis + (out * start.sin(), out * start.cos());
    if let Some(found) = &mut item.found {
        let sizes = items.iter().filter_map(|item| item.found.as_ref()).map(|found| found.fit.shape.size);
        let sum = sizes.fold([0.0; 3], |[a, b, c], [d, e, f]| [a + d, b + e, c + f]);
        found.fit.shape.size = sum.map(|size| size / count);
        found.fit.errors = found.fit.errors.map(|error| error / count.sqrt());
        found.fit.shape.turn -= start - own.to_radians();
        if found.fit.shape.kind != Kind::Sector {
            found.fit.shape.at = at;
        }
    }
    item
}

/// An item as a region of the language, and how far it lies from what was drawn.
fn written(item: &Item, axis: Point, noise: f64) -> (String, String) {
    let Some(found) = &item.found else {
        if let Some(data) = runs(&item.contour, noise, axis) {
            return (format!("path(\"{data}\")"), "no shape of the language: its lines and arcs".to_owned());
        }
        let data = data(&item.contour.path, axis);
        return (format!("path(\"{data}\")"), "no shape of the language: as it was drawn".to_owned());
    };
    let shape = &found.fit.shape;
    let (mut text, turned) = call(shape, &found.fit.errors);
    let error = found.fit.errors[0].max(found.fit.errors[1]);
    let placed = (shape.kind != Kind::Sector).then(|| place(shape.at, axis, error)).flatten();
    let is_turned = turned != 0.0;
    if is_turned && shape.kind.fold().is_some() {
        text += &format!(" turned {}", deg(turned));
    }
    if let Some((at, _)) = placed {
        text += &format!(" at {at}");
    }
    let mut remark = format!("drawn within {}", mm((found.fit.worst * 100.0).ceil() / 100.0));
    if let Some(or) = found.or {
        remark += &format!("; it may be meant as a {}", or.noun());
    }
    (text, remark)
}

/// Path data about the axis.
pub(super) fn data(path: &BezPath, axis: Point) -> String {
    contours(path, Affine::translate(-axis.to_vec2())).join(" ")
}

/// Texts that stand on rings, and those that stand alone.
pub(super) fn rings(part: &Part) -> (Vec<Ring>, Vec<&DrawnLine>) {
    let axis = part.axis.at;
    let mut left: Vec<&DrawnLine> = part.lines.iter().collect();
    let (mut rings, mut alone) = (Vec::new(), Vec::new());
    while let Some(first) = left.first().copied() {
        spend_on(left.len(), STEPS);
        let out = |line: &DrawnLine| (line.at - axis).hypot();
        let group: Vec<&DrawnLine> = left
            .iter()
            .copied()
            .filter(|other| {
                (out(first) - out(other)).abs() <= 2.0 * SAME_RADIUS
                    && (first.height_mm - other.height_mm).abs() <= 0.03 * first.height_mm
                    && first.typeface == other.typeface
                    && !other.is_mirrored
            })
            .collect();
        let ring = (group.len() > 1 && out(first) > first.height_mm).then(|| ring(&group, axis)).flatten();
        match ring {
            Some(ring) => {
                rings.push(ring);
                left.retain(|line| !group.iter().any(|one| std::ptr::eq(*one, *line)));
            }
            None => {
                alone.push(first);
                left.remove(0);
            }
        }
    }
    (rings, alone)
}

/// Ways that labels face, and how far beyond its own bearing the top of each then points.
const FACINGS: [(&str, f64); 4] = [("outward", 0.0), ("inward", 180.0), ("clockwise", 90.0), ("anticlockwise", 270.0)];

fn ring(lines: &[&DrawnLine], axis: Point) -> Option<Ring> {
    let own = |line: &DrawnLine| bearing(line.at - axis);
    let near = |a: f64, b: f64| ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs() <= SAME_WAY;
    let beyond = |by: f64| lines.iter().all(|line| near(line.up_deg, own(line) + by));
    let facing = match FACINGS.iter().find(|(_, by)| beyond(*by)) {
        Some((facing, _)) => *facing,
        None if lines.iter().all(|line| near(line.up_deg, 0.0)) => "upright",
        None => return None,
    };
    let mut sorted: Vec<&DrawnLine> = lines.to_vec();
    // What stands a hair before the top stands at the top.
    let from_top = |line: &DrawnLine| (own(line) + SAME_STEP).rem_euclid(360.0);
    sorted.sort_by(|a, b| from_top(a).total_cmp(&from_top(b)));
    let count = sorted.len() as f64;
    let mean = |value: &dyn Fn(&DrawnLine) -> f64| sorted.iter().map(|line| value(line)).sum::<f64>() / count;
    let radius = round(mean(&|line| (line.at - axis).hypot()), 0.05);
    let height = round(mean(&|line| line.height_mm), 0.02);
    let drawn: Vec<f64> = sorted.iter().map(|line| own(line)).collect();
    let within = (room(0.02) / radius.max(1.0)).to_degrees();
    let start = even(&drawn);
    let bearings: Vec<f64> = match start {
        Some(start) => {
            let start = round_deg(start, within.max(SAME_STEP / 3.0));
            (0..sorted.len()).map(|at| (start + 360.0 * at as f64 / count).rem_euclid(360.0)).collect()
        }
        None => drawn.iter().map(|bearing| round_deg(*bearing, within).rem_euclid(360.0)).collect(),
    };
    let off = sorted.iter().zip(&bearings).map(|(line, bearing)| {
        let (sin, cos) = bearing.to_radians().sin_cos();
        line.at.distance(axis + (radius * sin, radius * cos))
    });
    Some(Ring {
        off: off.fold(0.0, f64::max),
        labels: sorted.iter().map(|line| line.says.clone()).collect(),
        bearings,
        is_even: start.is_some(),
        radius,
        height,
        facing,
        typeface: sorted.first().map(|line| line.typeface.clone()).unwrap_or_default(),
    })
}

/// How many filled areas stand evenly on one ring, as letters do that were drawn as outlines.
pub(super) fn areas_on_a_ring(part: &Part) -> Option<usize> {
    // Letters differ in width, and so do their middles.
    const ABOUT: (f64, f64) = (2.0, 6.0);
    let axis = part.axis.at;
    let moved = part.art.iter().map(|art| kurbo::Shape::bounding_box(&art.path).center() - axis);
    let moved: Vec<kurbo::Vec2> = moved.collect();
    let mut out: Vec<f64> = moved.iter().map(|moved| moved.hypot()).collect();
    out.sort_by(f64::total_cmp);
    let usual = out.get(out.len() / 2).copied().filter(|usual| *usual > 2.0 * ABOUT.0)?;
    let on_it = moved.iter().filter(|moved| (moved.hypot() - usual).abs() <= ABOUT.0);
    let bearings: Vec<f64> = on_it.map(|moved| bearing(*moved)).collect();
    (bearings.len() > 1 && even_within(&bearings, ABOUT.1).is_some()).then_some(bearings.len())
}

/// A ring whose list begins with the label at this bearing, where one stands there.
pub(super) fn from_bearing(mut ring: Ring, at: f64) -> (Ring, bool) {
    let near = |bearing: &f64| ((bearing - at + 180.0).rem_euclid(360.0) - 180.0).abs() <= SAME_STEP;
    let first = ring.bearings.iter().position(near);
    if let Some(first) = first {
        ring.labels.rotate_left(first);
        ring.bearings.rotate_left(first);
    }
    (ring, first.is_some())
}

/// The labels as the language lists them: a range where they are one.
pub(super) fn listed(labels: &[String], quoted: impl Fn(&str) -> String) -> String {
    let number = |label: &String| label.parse::<i64>().ok().filter(|number| number.to_string() == *label);
    let numbers: Option<Vec<i64>> = labels.iter().map(number).collect();
    if let Some([first, .., last]) = numbers.as_deref()
        && numbers.iter().flatten().zip(*first..).all(|(number, due)| *number == due)
    {
        return format!("{first} to {last}");
    }
    let one = |label: &String| number(label).map_or_else(|| quoted(label), |number| number.to_string());
    format!("[{}]", labels.iter().map(one).collect::<Vec<_>>().join(", "))
}

/// Bearings as a list of the language.
pub(super) fn bearings(all: &[f64]) -> String {
    format!("[{}]", all.iter().map(|one| format!("{}deg", plain(*one, 3))).collect::<Vec<_>>().join(", "))
}
