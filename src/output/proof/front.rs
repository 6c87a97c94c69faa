//! The finished dial from the front, and from behind where it is read there, with the sizes that can be measured on it.

use kurbo::{Affine, Point, Rect, Vec2};
use svg::node::element::Group;

use super::super::look::{Look, placed};
use super::super::page::text::{SMALL, Style, line};
use super::DrawnView;
use super::draw::{Scale, centre_line, dimension, figure, stroke};
use crate::design::pose::Pose;
use crate::design::{Design, Face, Mark, Reading, ReadsHow, Shape};
use crate::geometry::{Region, turn};
use crate::units::{Angle, Length};

/// Room for dimensions at the left and right, and at the top and bottom, in mm.
const SIDES: (f64, f64) = (13.5, 13.5);
/// From the dial to the first dimension line.
const FIRST: f64 = 5.0;
/// From the dial to the dimensions of all of it, whose figures stand before the middle: beyond the ends of the cutting plane and
/// their letters.
const OVERALL: f64 = 9.5;
/// Below this nothing is measured, in mm.
const LEAST: f64 = 0.3;

/// The dial at its first stops, drawn at the largest scale up to true size that fits into the room.
pub(super) fn front(design: &Design, room: (f64, f64)) -> DrawnView {
    view(design, Face::Front, room)
}

/// The same from behind; none where nothing is read there.
pub(super) fn back(design: &Design, room: (f64, f64)) -> Option<DrawnView> {
    first_reader(design, Face::Back, &Pose::at(design, &[])).map(|_| view(design, Face::Back, room))
}

fn view(design: &Design, face: Face, room: (f64, f64)) -> DrawnView {
    let pose = Pose::at(design, &[]);
    let (name, word) = if face == Face::Front { ("Front", "front") } else { ("Back", "back") };
    let look = Look::new(design, face, word.to_owned());
    let whole = bounds(design, face, &pose);
    let free = (room.0 - 2.0 * SIDES.0, room.1 - 2.0 * SIDES.1);
    let scale = Scale::fitting((whole.width(), whole.height()), free, 1.0);
    let axis = Point::new(SIDES.0, SIDES.1) + Vec2::new(-whole.x0, whole.y1) * scale.factor();
    let place = Frame { axis, scale: scale.factor(), whole };
    let dial = look.at(&pose).set("transform", super::transform(axis, scale.factor()));
    let drawn = Group::new()
        .set("id", format!("{word}-view"))
        .add(look.definitions())
        // Below the dial, so that they strike through no lettering: their ends are seen all round it.
        .add(place.centre_lines())
        .add(dial)
        .add(place.overall(design))
        .add(place.opening(first_reader(design, face, &pose)));
    let drawn = if face == Face::Front { drawn.add(place.plane(cutting(design, &pose))) } else { drawn };
    let size = (whole.width() * scale.factor() + 2.0 * SIDES.0, whole.height() * scale.factor() + 2.0 * SIDES.1);
    DrawnView { drawn, size, scale, name }
}

/// From the front frame to what is seen from a side.
pub(super) fn seen_from(face: Face) -> Affine {
    if face == Face::Front { Affine::IDENTITY } else { Affine::FLIP_X }
}

/// The box round all layers as they lie at this pose, as they are seen from a side.
pub(super) fn bounds(design: &Design, face: Face, pose: &Pose) -> Rect {
    let boxes =
        design.layers.iter().enumerate().filter_map(|(at, layer)| {
            layer.outline.transformed(seen_from(face) * placed(design, face, pose, at)).bounds()
        });
    boxes.reduce(|all, one| all.union(one)).unwrap_or(Rect::new(-1.0, -1.0, 1.0, 1.0))
}

/// The first opening or pointer that something is read by from a side, as it is seen there at this pose.
fn first_reader(design: &Design, face: Face, pose: &Pose) -> Option<(Region, ReadsHow)> {
    let from_here = |reading: &&Reading| design.ring(&reading.ring).is_some_and(|(_, ring)| ring.face == face);
    let reading = design.readings.iter().find(from_here)?;
    let (at, Mark { shape, .. }) = design.mark(reading.by.first()?)?;
    let Shape::Region(region) = shape else { return None };
    let map = seen_from(face) * placed(design, face, pose, at);
    Some((region.transformed(map), reading.how))
}

/// The bearing of the plane that the section is cut along: through the first opening, so that it is seen in it.
pub(super) fn cutting(design: &Design, pose: &Pose) -> Angle {
    // Through the axes of wheels: that of the first which stands off the middle of the board, else across it.
    if design.has_wheels() {
        let off = design.wheels().map(|(.., axle)| axle.centre).find(|axis| axis.to_vec2().hypot() > LEAST);
        return off.map_or(Angle::degrees(90.0), |axis| Angle::radians(axis.x.atan2(axis.y)));
    }
    let reader = first_reader(design, Face::Front, pose);
    let behind = || {
        let (seen, _) = first_reader(design, Face::Back, pose)?;
        Some(seen.transformed(seen_from(Face::Back)))
    };
    let centre = reader.map(|(placed, _)| placed).or_else(behind).and_then(|placed| placed.centroid());
    let off = centre.filter(|centre| centre.to_vec2().hypot() > LEAST);
    off.map_or(Angle::ZERO, |centre| Angle::radians(centre.x.atan2(centre.y)))
}

/// Where the dial lies on the paper.
struct Frame {
    axis: Point,
    scale: f64,
    whole: Rect,
}

impl Frame {
    fn paper(&self, point: Point) -> Point {
        Affine::translate(self.axis.to_vec2()) * Affine::scale_non_uniform(self.scale, -self.scale) * point
    }

    fn centre_lines(&self) -> Group {
        let over = 2.5 / self.scale;
        let Rect { x0, y0, x1, y1 } = self.whole;
        let line = |a: Point, b: Point| centre_line(self.paper(a), self.paper(b));
        Group::new()
            .add(line(Point::new(x0 - over, 0.0), Point::new(x1 + over, 0.0)))
            .add(line(Point::new(0.0, y1 + over), Point::new(0.0, y0 - over)))
    }

    /// Width below, and height at the right where it is another.
    fn overall(&self, design: &Design) -> Group {
        let Rect { x0, y0, x1, y1 } = self.whole;
        let (wide, high) = (Length::mm(x1 - x0), Length::mm(y1 - y0));
        let round = design.layers.iter().any(|layer| is_round(&layer.outline, wide));
        let sign = if round { "Ø" } else { "" };
        let below = self.paper(Point::new(0.0, y0)).y;
        let [left, right] = [x0, x1].map(|x| Point::new(self.paper(Point::new(x, 0.0)).x, below));
        let drawn = Group::new().add(dimension(left, right, -OVERALL, &format!("{sign}{}", figure(wide))));
        if round {
            return drawn;
        }
        let beside = self.paper(Point::new(x1, 0.0)).x;
        let [bottom, top] = [y0, y1].map(|y| Point::new(beside, self.paper(Point::new(0.0, y)).y));
        drawn.add(dimension(bottom, top, -OVERALL, &figure(high)))
    }

    /// Width and place of what is read through or by.
    fn opening(&self, reader: Option<(Region, ReadsHow)>) -> Group {
        let drawn = Group::new();
        let Some((placed, how)) = reader else { return drawn };
        let (Some(size), Some(centre)) = (placed.bounds(), placed.centroid()) else { return drawn };
        let mut drawn = drawn;
        if how == ReadsHow::Through && size.width() > LEAST {
            let round = is_round(&placed.transformed(Affine::translate(-centre.to_vec2())), Length::mm(size.width()));
            let text = format!("{}{}", if round { "Ø" } else { "" }, figure(Length::mm(size.width())));
            let above = self.paper(Point::new(0.0, self.whole.y1)).y - FIRST - 1.0;
            let [left, right] = [size.x0, size.x1].map(|x| self.paper(Point::new(x, centre.y)));
            let off = left.y - above;
            drawn = drawn.add(dimension(left, right, off, &text));
        }
        if centre.y.abs() > LEAST {
            let beside = self.paper(Point::new(self.whole.x0, 0.0)).x - FIRST;
            let [from, to] = [0.0, centre.y].map(|y| self.paper(Point::new(centre.x, y)));
            let (from, to) = if centre.y > 0.0 { (from, to) } else { (to, from) };
            drawn = drawn.add(dimension(from, to, from.x - beside, &figure(Length::mm(centre.y.abs()))));
        }
        drawn
    }

    /// The ends of the cutting plane, each with its letter.
    fn plane(&self, bearing: Angle) -> Group {
        let along = turn(bearing) * Point::new(0.0, 1.0);
        let along = Vec2::new(along.x, -along.y);
        let reach = self.reach(along);
        let mut drawn = Group::new();
        for side in [1.0, -1.0] {
            let near = self.axis + along * side * (reach + 0.8);
            let far = near + along * side * 3.0;
            let beside = far + Vec2::new(-along.y, along.x) * 2.0 - along * side * 1.5;
            drawn = drawn.add(stroke(near, far, 0.6)).add(line(
                "A",
                Style::of(SMALL).strong().middle(),
                (beside.x, beside.y + 0.36 * SMALL),
                9.0,
            ));
        }
        drawn
    }

    /// How far the box of the dial reaches from the axis along a direction of the paper, in mm of paper.
    fn reach(&self, along: Vec2) -> f64 {
        let Rect { x0, y0, x1, y1 } = self.whole;
        let across = if along.x.abs() > 1e-9 { x0.abs().max(x1) / along.x.abs() } else { f64::INFINITY };
        let up = if along.y.abs() > 1e-9 { y0.abs().max(y1) / along.y.abs() } else { f64::INFINITY };
        // No farther than the longest side: a round dial does not reach into the corners of its box.
        across.min(up).min(x1.max(y1).max(-x0).max(-y0)) * self.scale
    }
}

/// Whether an outline is a circle of this diameter about the origin.
pub(super) fn is_round(outline: &Region, diameter: Length) -> bool {
    let radius = diameter.as_mm() / 2.0;
    // Half of the last figure that a dimension states.
    let near = |other: f64| (other - radius).abs() < 5e-3;
    near(outline.swept_radius(Point::ZERO)) && outline.outer().least_radius(Point::ZERO).is_some_and(near)
}
