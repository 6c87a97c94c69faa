//! Labels that show outside what their ring is read through: in other openings, beyond a rim, under clear stock.

use std::collections::BTreeSet;

use kurbo::Point;

use super::scene::{Cover, Opening, Scene, band_of};
use crate::design::pose::Pose;
use crate::design::{Design, Layer, Reading, ReadsHow, Shape};
use crate::geometry::{FlattenedShape, Region, shapes};
use crate::source::Span;

/// Less of a label than this is no sight worth a word, in mm²: a dot of a fifth of a millimetre.
const LEAST_AREA: f64 = 0.03;
/// How far beyond the labels' band is looked, in mm, so that edges of ink and band never lie on each other.
const BEYOND: f64 = 0.05;

/// A label that is not due and shows elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenElsewhere {
    /// Its place in the ring, counted from 0.
    pub label: usize,
    /// What it says.
    pub says: String,
    /// How much of its ink is seen there, in mm².
    pub area: f64,
    /// Which part of its ink that is, 0 to 1.
    pub part: f64,
    /// A place of what is seen, on the ring's layer.
    pub at: Point,
}

/// What lays a label bare where nobody reads it.
pub(super) enum Cause<'a> {
    /// An opening of this name; none where it has none.
    Opening(Option<&'a str>, Span),
    /// The layer reaches no farther.
    Rim(&'a Layer),
    /// One looks through the layer itself.
    Clear(&'a Layer),
}

/// What one sees of a ring's band beside what the ring is read through.
pub(super) struct Elsewhere {
    /// Shapes that one looks through, each in the frame of a layer. A label that meets none of them shows nowhere else.
    open: Vec<(usize, FlattenedShape)>,
    /// What the readings of the ring look through, each with its layer.
    views: Vec<Vec<(usize, Region)>>,
    /// What there is of the ring's layer.
    material: Region,
}

impl Elsewhere {
    /// None where nothing of the ring can be seen elsewhere, where the ring lies open by design (a pointer reads it as well),
    /// and for all but the first reading of a ring.
    pub(super) fn of(design: &Design, reading: &Reading, scene: &Scene) -> Option<Self> {
        let of_ring: Vec<&Reading> = design.readings.iter().filter(|other| other.ring == reading.ring).collect();
        let is_first = of_ring.first().is_some_and(|first| first.origin == reading.origin && first.by == reading.by);
        if !is_first || of_ring.iter().any(|other| other.how == ReadsHow::Beside) {
            return None;
        }
        let band = band_of(scene.labels.iter()).map(|(inner, outer)| ((inner - BEYOND).max(0.0), outer + BEYOND))?;
        if scene.openings.iter().all(|opening| is_closed_beside(design, opening, band)) {
            return None;
        }
        let views: Vec<Vec<(usize, Region)>> = of_ring.iter().map(|reading| looks_through(design, reading)).collect();
        let whole = shapes::circle(band.1).ok()?;
        let band = shapes::circle(band.0).map_or(whole.clone(), |middle| whole.difference(&middle));
        // Layers with the same number of turns beneath them stand still against each other.
        let half = |layer: usize| design.turns().filter(|(below, _)| *below < layer).count();
        let halves: BTreeSet<usize> = scene.openings.iter().map(|opening| half(opening.layer)).collect();
        let open = halves.into_iter().filter_map(|of| {
            let frame = scene.openings.iter().find(|opening| half(opening.layer) == of)?.layer;
            let covers = scene.covers.iter().filter(|cover| half(cover.layer) == of);
            let open = covers.fold(band.clone(), |open, cover| open.difference(&cover.region));
            let own = scene.openings.iter().filter(|opening| half(opening.layer) == of);
            let own = own.map(|opening| opening.region.clone()).reduce(|one, other| one.intersection(&other))?;
            let others = views.iter().skip(1).filter(|view| view.iter().all(|(layer, _)| half(*layer) == of));
            let others = others.filter_map(|view| together(view.iter().map(|(_, region)| region.clone())));
            let open = others.fold(open.difference(&own), |open, other| open.difference(&other));
            (open.area() > LEAST_AREA).then(|| (frame, FlattenedShape::of(&open)))
        });
        let open: Vec<_> = open.collect();
        let material = design.layers.get(scene.ring_at)?.material().clone();
        (!open.is_empty()).then_some(Self { open, views, material })
    }

    /// The label, not due, of which the greatest part shows elsewhere.
    pub(super) fn seen(&self, scene: &Scene, due: usize, pose: &Pose) -> Option<SeenElsewhere> {
        let mut worst: Option<SeenElsewhere> = None;
        let others = scene.inks.iter().filter_map(|ink| Some((ink, ink.label.filter(|label| *label != due)?)));
        for (ink, label) in others {
            let may_show = self.open.iter().any(|(frame, open)| {
                let map = pose.map(scene.ring_at, *frame);
                ink.away(map, open) <= 0.0 && ink.flat.moved(map).closer_than(open, 0.0)
            });
            let region = ink.region.as_ref().filter(|_| may_show);
            let Some((region, bare)) = region.map(|region| (region, self.bare(scene, region, pose))) else { continue };
            let (area, whole) = (bare.area(), region.area());
            let part = (area / whole.max(f64::MIN_POSITIVE)).min(1.0);
            if area > LEAST_AREA && worst.as_ref().is_none_or(|worst| part > worst.part + 1e-6) {
                let at = bare.centroid().filter(|at| bare.contains(*at));
                let at = at.or_else(|| FlattenedShape::of(&bare).vertices().next()).unwrap_or_default();
                worst = Some(SeenElsewhere { label, says: ink.name.clone(), area, part, at });
            }
            // There is no seeing more than all of it.
            if worst.as_ref().is_some_and(|worst| worst.part > 0.999) {
                break;
            }
        }
        worst
    }

    /// What nothing covers of a label, beside what the ring is read through.
    fn bare(&self, scene: &Scene, ink: &Region, pose: &Pose) -> Region {
        let burnt = ink.intersection(&self.material);
        let seen = scene.covers.iter().fold(burnt, |seen, Cover { layer, region, .. }| {
            seen.difference(&region.transformed(pose.map(*layer, scene.ring_at)))
        });
        self.views.iter().fold(seen, |seen, view| {
            let placed = view.iter().map(|(layer, region)| region.transformed(pose.map(*layer, scene.ring_at)));
            together(placed).map_or(seen.clone(), |view| seen.difference(&view))
        })
    }
}

/// Whether the layer of an opening surely leaves nothing else of a band open. The usual case, told without a boolean.
fn is_closed_beside(design: &Design, opening: &Opening, (inner, outer): (f64, f64)) -> bool {
    let Some(layer) = design.layers.get(opening.layer).filter(|layer| !layer.stock.clear) else { return false };
    let reaches = layer.outline.least_radius(Point::ZERO).is_some_and(|least| least >= outer);
    let misses = |region: &Region| {
        region.bounds().is_none_or(|it| {
            let (x, y) = (it.x0.max(-it.x1).max(0.0), it.y0.max(-it.y1).max(0.0));
            let (far_x, far_y) = (it.x0.abs().max(it.x1.abs()), it.y0.abs().max(it.y1.abs()));
            x.hypot(y) > outer || far_x.hypot(far_y) < inner
        })
    };
    reaches
        && layer.outline.contours().len() == 1
        && layer.openings().all(|(_, it)| *it == opening.region || misses(it))
}

/// What lays a label bare at a place of the ring's layer.
pub(super) fn cause<'a>(design: &'a Design, scene: &Scene, at: Point, pose: &Pose) -> Option<Cause<'a>> {
    let layers = scene.openings.iter().filter_map(|opening| Some((opening.layer, design.layers.get(opening.layer)?)));
    let mut causes = layers.filter_map(|(place, layer)| {
        let at = pose.map(scene.ring_at, place) * at;
        let named = |mark: &crate::design::Mark| scene.openings.iter().any(|one| Some(&one.name) == mark.name.as_ref());
        let opening = layer.openings().find(|(mark, region)| region.contains(at) && !named(mark));
        match opening {
            Some((mark, _)) => Some(Cause::Opening(mark.name.as_deref(), mark.origin)),
            None if !layer.outline.contains(at) => Some(Cause::Rim(layer)),
            None => layer.stock.clear.then_some(Cause::Clear(layer)),
        }
    });
    causes.next()
}

fn together(regions: impl Iterator<Item = Region>) -> Option<Region> {
    regions.reduce(|one, other| one.intersection(&other))
}

fn looks_through(design: &Design, reading: &Reading) -> Vec<(usize, Region)> {
    let openings = reading.by.iter().filter_map(|name| design.mark(name));
    let regions = openings.filter_map(|(layer, mark)| match &mark.shape {
        Shape::Region(region) => Some((layer, region.clone())),
        Shape::Trace(_) => None,
    });
    regions.collect()
}
