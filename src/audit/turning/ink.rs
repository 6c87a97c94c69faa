//! The ink that a reading may see beside the label that is due.

use kurbo::{Affine, Point, Rect};

use super::scene::{Cover, Scene, band_of, cover_of};
use super::seen_alike::same;
use crate::audit::strength::around_raised;
use crate::design::{Design, Layer, Mark, Shape, Work};
use crate::geometry::{FlattenedShape, Region};
use crate::source::Span;

/// Ink that is not due.
#[derive(PartialEq)]
pub(super) struct Ink {
    pub layer: usize,
    /// Which label of the ring it is; none for anything else.
    pub label: Option<usize>,
    /// What to call it, and whether it is a label (of any ring).
    pub name: String,
    pub is_label: bool,
    pub origin: Span,
    /// Its filled area; none for a scored line.
    pub region: Option<Region>,
    pub flat: FlattenedShape,
    centre: Point,
    reach: f64,
}

impl Ink {
    fn new(layer: usize, name: String, origin: Span, region: Option<Region>, flat: FlattenedShape) -> Self {
        let centre = flat.bounds().map_or(Point::ZERO, |bounds| bounds.center());
        let reach = flat.reach(centre);
        Self { layer, label: None, name, is_label: false, origin, region, flat, centre, reach }
    }

    /// What of it there is material for: ink over the rim or over an opening is nowhere. `rim` is the least distance of the
    /// layer's outline from the axis, in mm.
    fn burnt_on(self, layer: &Layer, rim: f64) -> Self {
        let Some((region, bounds)) = self.region.as_ref().zip(self.flat.bounds()) else { return self };
        let meets = |opening: &Region| opening.bounds().is_some_and(|opening| opening.overlaps(bounds));
        if self.flat.reach(Point::ZERO) <= rim && !layer.openings().any(|(_, opening)| meets(opening))
            || self.flat.lies_well_in(&FlattenedShape::of(layer.material()))
        {
            return self;
        }
        let region = region.intersection(layer.material());
        let flat = FlattenedShape::of(&region);
        Self {
            label: self.label,
            is_label: self.is_label,
            ..Self::new(self.layer, self.name, self.origin, Some(region), flat)
        }
    }

    /// Whether other ink looks the same and stands where this does.
    pub(super) fn looks_like(&self, other: &Self) -> bool {
        (self.layer, self.label, &self.name, self.is_label) == (other.layer, other.label, &other.name, other.is_label)
            && same(&self.flat, &other.flat)
    }

    pub(super) fn is_other_label(&self, due: usize) -> bool {
        self.is_label && self.label != Some(due)
    }

    /// Least distance from the circle round it, moved by `map`, to the box round a view, in mm.
    pub(super) fn away(&self, map: Affine, view: &FlattenedShape) -> f64 {
        let centre = map * self.centre;
        view.bounds().map_or(f64::INFINITY, |bounds| centre.distance(nearest_in_box(bounds, centre))) - self.reach
    }
}

impl Scene {
    /// Finds the ink on the ring's layer and on those up to below the last opening; on layers beneath the ring's too where that
    /// layer leaves something of them open to the eye. What stands farther from the openings' band than half its width is
    /// always farther from an opening than the label in it is from its edge, and is left out.
    pub(super) fn find_inks(&mut self, design: &Design) {
        let Some(band) = band_of(self.openings.iter().map(|opening| &opening.flat)) else { return };
        let mut inks = Vec::new();
        let mut beneath = Vec::new();
        for (at, layer) in design.layers.iter().enumerate() {
            let under = self.over(self.ring_at, at);
            if under && !self.is_looked_past(design, at, band) {
                continue;
            }
            if self.openings.iter().any(|opening| self.over(opening.layer, at)) {
                let before = inks.len();
                self.ink_of(at, layer, &mut inks);
                if under && inks.len() > before {
                    beneath.push(at);
                }
            }
        }
        let near = (band.1 - band.0) / 2.0;
        inks.retain(|ink| {
            let own = ink.label.is_some();
            own || ink.flat.annulus().is_some_and(|(inner, outer)| inner <= band.1 + near && outer >= band.0 - near)
        });
        let lowest = beneath.into_iter().filter(|at| inks.iter().any(|ink| ink.layer == *at));
        let hides = |at: &usize| self.over(*at, self.ring_at);
        let lowest = lowest.reduce(|one, other| if self.over(one, other) { other } else { one });
        if let Some(lowest) = lowest {
            let between = (0..design.layers.len()).filter(|at| self.over(*at, lowest) && !hides(at));
            self.beneath = between.map(|at| Cover::new(at, cover_of(design, at))).collect();
        }
        self.inks = inks;
    }

    /// Whether the ring's layer and all others above `at` leave something in the openings' band open.
    fn is_looked_past(&self, design: &Design, at: usize, band: (f64, f64)) -> bool {
        let mut over =
            (0..design.layers.len()).filter(|layer| self.over(*layer, at) && !self.over(*layer, self.ring_at));
        over.all(|layer| design.layers.get(layer).is_some_and(|layer| leaves_open(layer, band)))
    }

    fn ink_of(&self, at: usize, layer: &Layer, inks: &mut Vec<Ink>) {
        let before = inks.len();
        self.drawn_ink_of(at, layer, inks);
        let drawn = inks.split_off(before);
        let rim = layer.outline.least_radius(Point::ZERO).unwrap_or(0.0);
        inks.extend(drawn.into_iter().map(|ink| ink.burnt_on(layer, rim)).filter(|ink| !ink.flat.is_empty()));
    }

    /// The same as it is drawn, be there material beneath it or not.
    fn drawn_ink_of(&self, at: usize, layer: &Layer, inks: &mut Vec<Ink>) {
        for ring in layer.rings.iter().filter(|ring| ring.face == self.ring.face) {
            for (index, label) in ring.labels.iter().enumerate() {
                let own = at == self.ring_at && ring.name == self.ring.name;
                let flat = own.then(|| self.labels.get(index).cloned()).flatten();
                let flat = flat.unwrap_or_else(|| FlattenedShape::of(&label.ink));
                inks.push(Ink {
                    label: own.then_some(index),
                    is_label: true,
                    ..Ink::new(at, label.says.clone(), label.origin, Some(label.ink.clone()), flat)
                });
            }
        }
        // What goes round labels that are left standing is their ground.
        let ground: Vec<&Mark> = layer.rings.iter().flat_map(|ring| around_raised(layer, ring)).collect();
        let is_ground = |mark: &Mark| ground.iter().any(|known| std::ptr::eq(*known, mark));
        for mark in layer.marks.iter().filter(|mark| mark.face == self.ring.face && !is_ground(mark)) {
            inks.extend(ink_of_mark(at, mark));
        }
    }
}

/// Whether one may look past a layer somewhere in a band round the axis.
pub(in crate::audit) fn leaves_open(layer: &Layer, (inner, outer): (f64, f64)) -> bool {
    let meets = |flat: FlattenedShape| flat.annulus().is_some_and(|(from, to)| from <= outer && to >= inner);
    let rim = FlattenedShape::boundary_of(&layer.outline).annulus();
    layer.stock.clear
        || rim.is_none_or(|(least, _)| least < outer)
        || layer.openings().any(|(_, region)| meets(FlattenedShape::of(region)))
}

fn ink_of_mark(layer: usize, mark: &Mark) -> Option<Ink> {
    let name = mark.name.clone().unwrap_or_default();
    let (region, flat) = match (&mark.work, &mark.shape) {
        (Work::Engrave { .. }, Shape::Region(region)) => (Some(region.clone()), FlattenedShape::of(region)),
        (Work::Score, Shape::Region(region)) => (None, FlattenedShape::boundary_of(region)),
        (Work::Engrave { .. } | Work::Score, Shape::Trace(trace)) => (None, FlattenedShape::of_trace(trace)),
        _ => return None,
    };
    Some(Ink::new(layer, name, mark.origin, region, flat))
}

fn nearest_in_box(bounds: Rect, point: Point) -> Point {
    Point::new(point.x.clamp(bounds.x0, bounds.x1), point.y.clamp(bounds.y0, bounds.y1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_point_of_a_box_is_found() {
        let bounds = Rect::new(1.0, 2.0, 5.0, 4.0);
        for (at, wanted) in
            [((0.0, 3.0), (1.0, 3.0)), ((9.0, 9.0), (5.0, 4.0)), ((2.0, 0.0), (2.0, 2.0)), ((2.0, 3.0), (2.0, 3.0))]
        {
            assert_eq!(nearest_in_box(bounds, Point::from(at)), Point::from(wanted));
        }
    }
}
