//! What a reading looks at: the ring, whatever lies over it, and the ink that might intrude.

use std::collections::BTreeMap;
use std::sync::Arc;

use kurbo::Point;

use super::ink::Ink;
use super::remembered::{Remembered, turned_by};
use crate::design::pose::{Pose, wrapped};
use crate::design::standing::{Seated, heads};
use crate::design::{Design, Face, Layer, Reading, ReadsHow, Ring, Shape, Work};
use crate::geometry::{Angles, FlattenedShape, Gap, Region};
use crate::memory::{FEW, recalled};

/// Something that hides what lies under it.
#[derive(PartialEq)]
pub(super) struct Cover {
    pub layer: usize,
    pub region: Region,
    pub flat: FlattenedShape,
}

impl Cover {
    pub(super) fn new(layer: usize, region: Region) -> Self {
        Self { layer, flat: FlattenedShape::of(&region), region }
    }
}

/// A cover that no turning can bring over a label.
#[derive(PartialEq)]
struct Aside {
    cover: Cover,
    /// Its least distance from the labels' band, in mm.
    apart: f64,
    /// Whether it stands still with the turns that the reading depends on, so that each stop has a distance of its own.
    steady: bool,
}

/// An opening that the reading names.
#[derive(PartialEq)]
pub(super) struct Opening {
    pub layer: usize,
    pub name: String,
    pub region: Region,
    pub flat: FlattenedShape,
}

/// The pointer of a `beside` reading.
#[derive(PartialEq)]
pub(super) struct Pointer {
    pub layer: usize,
    pub bearing: f64,
    pub flat: FlattenedShape,
}

/// All that one reading depends on. Frames: each shape in its own layer's.
#[derive(PartialEq)]
pub(super) struct Scene {
    pub ring: Ring,
    pub ring_at: usize,
    pub labels: Vec<FlattenedShape>,
    pub covers: Vec<Cover>,
    pub openings: Vec<Opening>,
    pub pointer: Option<Pointer>,
    /// What may cover the pointer.
    pub pointer_covers: Vec<Cover>,
    pub inks: Vec<Ink>,
    /// The turns that the reading depends on, by order in the stack, each with the layer below it.
    pub turns: Vec<(usize, usize)>,
    /// Distance of the farthest point of all openings from the turning axis, in mm.
    pub view_reach: f64,
    /// Bearing of the first opening's middle, in degrees; none where there is none.
    middle: Option<f64>,
    asides: Vec<Aside>,
    /// The ring's layer and what lies beneath it, as far down as ink is seen past them.
    pub beneath: Vec<Cover>,
    /// How far a label may be turned before it meets a cover: by label, layer of the cover, whether the label turns, and how far
    /// they stand turned.
    pub contacts: Remembered<(usize, usize, bool, i64), Angles>,
    /// Gaps from a label to a cover, in the cover's frame: by label, layer of the cover, and how far they stand turned.
    gaps: Remembered<(usize, usize, i64), Gap>,
    /// What is seen of a layer: by layer, and how far the openings and covers over it stand turned.
    views: Remembered<(usize, Vec<i64>), Arc<FlattenedShape>>,
}

/// Why a reading cannot be looked at.
pub(super) enum Unseen {
    /// A name that stands for nothing usable; the checker has said so already.
    Unknown,
    /// The opening of this name lies on the wrong side of the ring.
    WrongSide(String),
}

impl Scene {
    /// Gathers it.
    pub(super) fn of(design: &Design, reading: &Reading) -> Result<Self, Unseen> {
        let (ring_at, ring) = design.ring(&reading.ring).ok_or(Unseen::Unknown)?;
        let labels: Vec<FlattenedShape> = ring.labels.iter().map(|label| FlattenedShape::of(&label.ink)).collect();
        let mut scene = Self {
            ring: ring.clone(),
            ring_at,
            view_reach: 0.0,
            middle: None,
            labels,
            covers: Vec::new(),
            openings: Vec::new(),
            pointer: None,
            pointer_covers: Vec::new(),
            inks: Vec::new(),
            turns: Vec::new(),
            asides: Vec::new(),
            beneath: Vec::new(),
            contacts: Remembered::default(),
            gaps: Remembered::default(),
            views: Remembered::default(),
        };
        match reading.how {
            ReadsHow::Through => scene.find_openings(design, reading)?,
            ReadsHow::Beside => scene.find_pointer(design, reading)?,
        }
        scene.middle = scene.openings.first().and_then(|opening| opening.region.centroid()).map(bearing);
        scene.view_reach = scene.openings.iter().map(|opening| opening.flat.reach(Point::ZERO)).fold(0.0, f64::max);
        scene.find_covers(design);
        scene.find_pointer_covers(design);
        scene.find_inks(design);
        scene.find_turns(design);
        Ok(scene)
    }

    /// The same one for all variants that show the same.
    pub(super) fn shared(self) -> Arc<Self> {
        #[derive(PartialEq)]
        struct Shown(Arc<Scene>);
        let scene = Arc::new(self);
        recalled(FEW, || Shown(Arc::clone(&scene)), || Arc::clone(&scene))
    }

    /// Whether `layer` lies between the eye and `other`.
    pub(super) fn over(&self, layer: usize, other: usize) -> bool {
        match self.ring.face {
            Face::Front => layer > other,
            Face::Back => layer < other,
        }
    }

    fn find_openings(&mut self, design: &Design, reading: &Reading) -> Result<(), Unseen> {
        for name in &reading.by {
            let (layer, mark) = design.mark(name).ok_or(Unseen::Unknown)?;
            let Shape::Region(region) = &mark.shape else { return Err(Unseen::Unknown) };
            if !self.over(layer, self.ring_at) {
                return Err(Unseen::WrongSide(name.clone()));
            }
            self.openings.push(Opening {
                layer,
                name: name.clone(),
                region: region.clone(),
                flat: FlattenedShape::of(region),
            });
        }
        if self.openings.is_empty() { Err(Unseen::Unknown) } else { Ok(()) }
    }

    fn find_pointer(&mut self, design: &Design, reading: &Reading) -> Result<(), Unseen> {
        let name = reading.by.first().ok_or(Unseen::Unknown)?;
        let (layer, mark) = design.mark(name).ok_or(Unseen::Unknown)?;
        let flat = match &mark.shape {
            Shape::Region(region) => FlattenedShape::of(region),
            Shape::Trace(trace) => FlattenedShape::of_trace(trace),
        };
        let bearing = tip_bearing(&flat).ok_or(Unseen::Unknown)?;
        self.pointer = Some(Pointer { layer, bearing, flat });
        Ok(())
    }

    fn find_covers(&mut self, design: &Design) {
        let band = band_of(self.labels.iter());
        for layer in 0..design.layers.len() {
            if !self.over(layer, self.ring_at) {
                continue;
            }
            let cover = Cover::new(layer, cover_of(design, layer));
            let Some((inner, outer)) = cover.flat.annulus() else { continue };
            let apart = band.map_or(0.0, |(from, to)| (inner - to).max(from - outer));
            let named = self.openings.iter().any(|opening| opening.layer == layer);
            if apart > 0.0 && !named {
                self.asides.push(Aside { cover, apart, steady: false });
            } else {
                self.covers.push(cover);
            }
        }
    }

    fn find_pointer_covers(&mut self, design: &Design) {
        let Some(pointer) = &self.pointer else { return };
        let over = (0..design.layers.len()).filter(|layer| self.over(*layer, pointer.layer));
        let covers = over.map(|layer| Cover::new(layer, cover_of(design, layer)));
        let band = pointer.flat.annulus();
        let meets = |cover: &Cover| {
            let bands = band.zip(cover.flat.annulus());
            bands.is_some_and(|((from, to), (inner, outer))| inner <= to && from <= outer)
        };
        self.pointer_covers = covers.filter(meets).collect();
    }

    fn find_turns(&mut self, design: &Design) {
        let ring_at = self.ring_at;
        let crosses = |layer: usize, below: usize| (layer.min(ring_at)..layer.max(ring_at)).contains(&below);
        let looked_at = self.layers_looked_at();
        let turns = design.turns().enumerate().map(|(at, (below, _))| (at, below));
        let (on, off): (Vec<_>, Vec<_>) =
            turns.partition(|(_, below)| looked_at.iter().any(|layer| crosses(*layer, *below)));
        for aside in &mut self.asides {
            aside.steady = !off.iter().any(|(_, below)| crosses(aside.cover.layer, *below));
        }
        self.turns = on;
    }

    /// The layers that the reading hangs on beside the ring's own; some of them several times.
    fn layers_looked_at(&self) -> Vec<usize> {
        let covers = self.covers.iter().chain(&self.pointer_covers).chain(&self.beneath).map(|cover| cover.layer);
        let openings = self.openings.iter().map(|opening| opening.layer);
        let inks = self.inks.iter().map(|ink| ink.layer);
        covers.chain(openings).chain(self.pointer.iter().map(|pointer| pointer.layer)).chain(inks).collect()
    }

    /// Every layer whose place tells one combination of stops from another.
    pub(super) fn layers_in_play(&self) -> Vec<usize> {
        let asides = self.asides.iter().filter(|aside| aside.steady).map(|aside| aside.cover.layer);
        self.layers_looked_at().into_iter().chain(asides).collect()
    }

    /// Covers on layers that no opening is named of.
    pub(super) fn unnamed_covers(&self) -> impl Iterator<Item = &Cover> {
        let unnamed = |cover: &&Cover| !self.openings.iter().any(|opening| opening.layer == cover.layer);
        self.covers.iter().filter(unnamed).chain(&self.beneath)
    }

    /// The frame that views are given in: that of the first opening's layer.
    pub(super) fn view_frame(&self) -> usize {
        self.openings.first().map_or(self.ring_at, |opening| opening.layer)
    }

    /// What is seen of `layer` through all openings over it, in the frame of [`Scene::view_frame`].
    pub(super) fn made_view(&self, layer: usize, pose: &Pose) -> Region {
        let frame = self.view_frame();
        let openings = self.openings.iter().filter(|opening| self.over(opening.layer, layer));
        let placed = openings.map(|opening| opening.region.transformed(pose.map(opening.layer, frame)));
        let open = placed.reduce(|all, one| all.intersection(&one)).unwrap_or_default();
        let covers = self.unnamed_covers().filter(|cover| self.over(cover.layer, layer));
        covers.fold(open, |open, cover| open.difference(&cover.region.transformed(pose.map(cover.layer, frame))))
    }

    /// The same, flattened.
    pub(super) fn flat_view(&self, layer: usize, pose: &Pose) -> Arc<FlattenedShape> {
        let openings = self.openings.iter().map(|opening| opening.layer);
        let over =
            openings.chain(self.unnamed_covers().map(|cover| cover.layer)).filter(|over| self.over(*over, layer));
        let turned = over.map(|over| turned_by(pose, self.view_frame(), over)).collect();
        self.views.or_found((layer, turned), || Arc::new(FlattenedShape::of(&self.made_view(layer, pose))))
    }

    /// Gap from a label to whatever covers it, at points of the ring's frame.
    pub(super) fn edge(&self, label: usize, pose: &Pose) -> Gap {
        self.gaps(label, pose).into_iter().map(|(_, gap)| gap).reduce(Gap::least).unwrap_or(Gap::NONE)
    }

    /// The same for each layer that covers it. What is farther than the nearest may be farther still.
    pub(super) fn gaps(&self, label: usize, pose: &Pose) -> Vec<(usize, Gap)> {
        let Some(ink) = self.labels.get(label).filter(|ink| !ink.is_empty()) else { return Vec::new() };
        let to = |cover: &Cover| {
            let question = (label, cover.layer, turned_by(pose, self.ring_at, cover.layer));
            let gap = self.gaps.or_found(question, || ink.moved(pose.map(self.ring_at, cover.layer)).gap(&cover.flat));
            let back = pose.map(cover.layer, self.ring_at);
            Gap { mm: gap.mm, at: (back * gap.at.0, back * gap.at.1) }
        };
        let mut gaps: Vec<(usize, Gap)> = self.covers.iter().map(|cover| (cover.layer, to(cover))).collect();
        let mut nearest = gaps.iter().map(|(_, gap)| *gap).reduce(Gap::least).unwrap_or(Gap::NONE);
        for aside in &self.asides {
            let gap = match aside.steady && aside.apart < nearest.mm {
                true => to(&aside.cover),
                false => Gap { mm: aside.apart, ..nearest },
            };
            nearest = nearest.least(gap);
            gaps.push((aside.cover.layer, gap));
        }
        gaps
    }

    /// Gap from the view to the nearest ink that is not due, `but` left out, and which ink that is. Frame of
    /// [`Scene::view_frame`].
    pub(super) fn foreign(&self, due: usize, pose: &Pose, but: &[usize]) -> (Gap, Option<usize>) {
        let wanted = |at: usize, ink: &Ink| ink.label != Some(due) && !but.contains(&at);
        self.nearest_ink(pose, wanted, FlattenedShape::gap, f64::INFINITY)
    }

    /// Gap from the view to the nearest label that is not due, and which ink that is.
    pub(super) fn nearest_label(&self, due: usize, pose: &Pose) -> (Gap, Option<usize>) {
        self.nearest_ink(pose, |_, ink| ink.is_other_label(due), FlattenedShape::gap, f64::INFINITY)
    }

    /// Gap from the view to the nearest label that is not due.
    pub(super) fn foreign_label(&self, due: usize, pose: &Pose) -> Gap {
        self.nearest_label(due, pose).0
    }

    /// Gap from a label to one of the covers.
    pub(super) fn gap_to(&self, label: usize, cover: &Cover, pose: &Pose) -> Gap {
        let to = |ink: &FlattenedShape| ink.moved(pose.map(self.ring_at, cover.layer)).gap(&cover.flat);
        self.labels.get(label).map_or(Gap::NONE, to)
    }

    /// The ink in view that is no label, each with how deep it stands in the view.
    pub(super) fn marks_in_view(&self, pose: &Pose) -> Vec<(usize, Gap)> {
        let marks = self.inks.iter().enumerate().filter(|(_, ink)| !ink.is_label);
        let gaps = marks.filter_map(|(at, ink)| {
            let view = self.flat_view(ink.layer, pose);
            let map = pose.map(ink.layer, self.view_frame());
            (ink.away(map, &view) <= 0.0).then(|| (at, ink.flat.moved(map).gap(&view)))
        });
        gaps.filter(|(_, gap)| gap.mm <= 0.0).collect()
    }

    /// The least gap from the view to ink that is wanted, `within` at most, and which ink that is.
    pub(super) fn nearest_ink(
        &self,
        pose: &Pose,
        wanted: impl Fn(usize, &Ink) -> bool,
        gap_of: impl Fn(&FlattenedShape, &FlattenedShape) -> Gap,
        within: f64,
    ) -> (Gap, Option<usize>) {
        let mut views: BTreeMap<usize, Arc<FlattenedShape>> = BTreeMap::new();
        let mut inks: Vec<(f64, usize, &Ink)> = Vec::new();
        for (at, ink) in self.inks.iter().enumerate().filter(|(at, ink)| wanted(*at, ink)) {
            let view = views.entry(ink.layer).or_insert_with(|| self.flat_view(ink.layer, pose));
            inks.push((ink.away(pose.map(ink.layer, self.view_frame()), view), at, ink));
        }
        // The likeliest first: all that is farther by the circle round it than the best found need not be looked at.
        inks.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut best = (Gap { mm: within, ..Gap::NONE }, None);
        for (far, at, ink) in inks {
            if far >= best.0.mm {
                break;
            }
            let Some(view) = views.get(&ink.layer) else { continue };
            let gap = gap_of(&ink.flat.moved(pose.map(ink.layer, self.view_frame())), view);
            if gap.mm < best.0.mm {
                best = (gap, Some(at));
            }
        }
        best
    }

    /// Least distance from the labels' band to a cover that no turning can bring over them and that has no distance of its own at
    /// each stop, in mm; none without one.
    pub(super) fn aside(&self) -> Option<f64> {
        self.asides.iter().filter(|aside| !aside.steady).map(|aside| aside.apart).reduce(f64::min)
    }

    /// Everything that a shift or a turn may bring over a label, each with a distance of its own.
    pub(super) fn all_covers(&self) -> impl Iterator<Item = &Cover> {
        let asides = self.asides.iter().filter(|aside| aside.steady).map(|aside| &aside.cover);
        self.covers.iter().chain(asides)
    }

    /// The gap that a reading has left at a pose, in mm; below zero by how deep it fails.
    pub(super) fn room(&self, due: usize, pose: &Pose) -> f64 {
        self.edge(due, pose).mm.min(self.foreign_label(due, pose).mm)
    }

    /// Whether any of the label's ink stands in every opening.
    pub(super) fn is_in_view(&self, label: usize, pose: &Pose) -> bool {
        let Some(ink) = self.labels.get(label) else { return false };
        self.openings.iter().all(|opening| {
            let to_opening = pose.map(self.ring_at, opening.layer);
            ink.vertices().any(|point| opening.flat.contains(to_opening * point))
        })
    }

    /// Bearing on the ring's layer that the first opening's middle or the pointer's tip stands at, in degrees.
    pub(super) fn looks_at(&self, pose: &Pose) -> Option<f64> {
        match &self.pointer {
            Some(pointer) => Some(pointer.bearing + pose.between(self.ring_at, pointer.layer)),
            None => Some(self.middle? + pose.between(self.ring_at, self.openings.first()?.layer)),
        }
    }

    /// Gap from the pointer to whatever covers it.
    pub(super) fn pointer_gap(&self, pose: &Pose) -> Gap {
        let Some(pointer) = &self.pointer else { return Gap::NONE };
        let gaps = self
            .pointer_covers
            .iter()
            .map(|cover| pointer.flat.moved(pose.map(pointer.layer, cover.layer)).gap(&cover.flat));
        gaps.reduce(Gap::least).unwrap_or(Gap::NONE)
    }
}

/// What hides whatever lies under the layer at this place: what of it is not looked through, and heads that lie over its openings.
pub(super) fn cover_of(design: &Design, at: usize) -> Region {
    let Some(layer) = design.layers.get(at) else { return Region::empty() };
    let over_opening = |head: &Seated| {
        let reach = head.head.diameter.as_mm() / 2.0;
        let mut others = layer.openings().filter(|(_, opening)| !opening.contains(head.about));
        others.any(|(_, opening)| FlattenedShape::of(opening).within(reach, head.about))
    };
    let heads = heads(design).filter(|head| head.layer == at && (layer.stock.clear || over_opening(head)));
    heads.filter_map(|head| head.disc()).fold(opaque(layer), |all, disc| all.union(&disc))
}

/// The material of a layer; of clear stock only what is painted or engraved.
fn opaque(layer: &Layer) -> Region {
    let material = layer.material();
    if !layer.stock.clear {
        return material.clone();
    }
    let gathered = |wanted: fn(&Work) -> bool| {
        let marks = layer.marks.iter().filter(|mark| wanted(&mark.work));
        marks.fold(Region::empty(), |all, mark| match &mark.shape {
            Shape::Region(region) => all.union(region),
            Shape::Trace(_) => all,
        })
    };
    let painted = gathered(|work| work.coat().is_some()).difference(&gathered(|work| *work == Work::Bare));
    painted.union(&gathered(|work| matches!(work, Work::Engrave { .. }))).intersection(material)
}

/// Bearing of a point, in degrees clockwise from the top.
fn bearing(at: Point) -> f64 {
    at.x.atan2(at.y).to_degrees()
}

/// Bearing of the points farthest from the axis, in degrees; of their middle where there are several.
fn tip_bearing(flat: &FlattenedShape) -> Option<f64> {
    let reach = flat.reach(Point::ZERO);
    let tips: Vec<f64> = flat.vertices().filter(|point| point.to_vec2().hypot() > reach - 1e-3).map(bearing).collect();
    let first = *tips.first()?;
    let offsets = tips.iter().map(|tip| wrapped(tip - first));
    let (low, high) = offsets.fold((0.0_f64, 0.0_f64), |(low, high), by| (low.min(by), high.max(by)));
    Some(first + (low + high) / 2.0)
}

/// The band round the axis that all the shapes lie in, in mm; none where all are empty.
pub(super) fn band_of<'f>(flats: impl Iterator<Item = &'f FlattenedShape>) -> Option<(f64, f64)> {
    flats.filter_map(FlattenedShape::annulus).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{polar, shapes};
    use crate::units::Angle;
    use kurbo::Affine;

    #[test]
    fn bearings_run_clockwise_from_the_top() {
        for (at, wanted) in
            [((0.0, 3.0), 0.0), ((3.0, 0.0), 90.0), ((-3.0, 0.0), -90.0), ((2.0, 2.0), 45.0), ((0.0, -1.0), 180.0)]
        {
            assert!((bearing(Point::from(at)) - wanted).abs() < 1e-12);
        }
    }

    /// A hand points where its tip is; one with a blunt end of two corners to the middle of them, behind the axis too.
    #[test]
    fn a_pointer_points_where_it_reaches_farthest() {
        let turned = |region: &Region, degrees: f64| {
            FlattenedShape::of(&region.transformed(crate::geometry::turn(Angle::degrees(degrees))))
        };
        let sharp = shapes::path("M-2,0 L2,0 L0,20 Z").unwrap();
        let blunt = shapes::path("M-2,0 L2,0 L1,20 L-1,20 Z").unwrap();
        for degrees in [0.0, 37.0, 90.0, 176.0, 180.0, 183.0, 270.0, 359.0] {
            for hand in [&sharp, &blunt] {
                let found = tip_bearing(&turned(hand, degrees)).unwrap();
                assert!(wrapped(found - degrees).abs() < 1e-6, "{found} {degrees}");
            }
        }
        // A quarter of a ring points to the middle of its arc.
        let arc = shapes::sector(20.0, 5.0, Angle::degrees(-20.0), Angle::degrees(70.0)).unwrap();
        assert!((tip_bearing(&FlattenedShape::of(&arc)).unwrap() - 25.0).abs() < 0.5);
        assert_eq!(tip_bearing(&FlattenedShape::default()), None);
        // A scored line ends where it ends, whichever way it is drawn: atan(3 / 20).
        for (from, to) in [((3.0, 0.0), (3.0, 20.0)), ((3.0, 20.0), (3.0, 0.0))] {
            let mut line = kurbo::BezPath::new();
            line.move_to(from);
            line.line_to(to);
            let found = tip_bearing(&FlattenedShape::of_trace(&crate::geometry::Trace::from_path(line))).unwrap();
            assert!((found - 3.0_f64.atan2(20.0).to_degrees()).abs() < 1e-9, "{found}");
        }
    }

    #[test]
    fn bands_hold_what_they_should() {
        let disc = |radius: f64, away: f64| {
            let by = polar(away, Angle::degrees(30.0)).to_vec2();
            FlattenedShape::of(&shapes::circle(radius).unwrap().transformed(Affine::translate(by)))
        };
        let flats = [disc(2.0, 10.0), FlattenedShape::default(), disc(1.0, 13.0)];
        let (inner, outer) = band_of(flats.iter()).unwrap();
        assert!((inner - 8.0).abs() < 1e-3 && (outer - 14.0).abs() < 1e-3);
        assert_eq!(band_of([FlattenedShape::default()].iter()), None);
    }
}
