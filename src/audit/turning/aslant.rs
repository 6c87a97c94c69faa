//! How a reading looks from aside.
//!
//! What one looks past stands over the label, so its edges shift against it: by the depth between times the tangent of how far off
//! straight on one looks (parallax). Through clear stock the sight line runs steeper (Snell's law), and the shift is less. Edges
//! are taken for sharp, and how deep a label is burnt is left out.

use kurbo::{Affine, Point, Vec2};

use super::CheckedStop;
use super::ink::Ink;
use super::remembered::Remembered;
use super::scene::{Cover, Scene};
use super::slack::half_ways;
use crate::design::heights::floors;
use crate::design::pose::Pose;
use crate::design::{Design, Face, Reading};
use crate::geometry::{FlattenedShape, Gap, evenly};
use crate::units::{Angle, Length};

/// How far off straight on a dial is looked at that lies between players, or in another's hand (common practice, no source).
pub const ASIDE: Angle = Angle::degrees(30.0);
/// The share of a label's ink from which on it can be read: half of a numeral or letter is mostly enough to tell it by (common
/// practice, no source).
pub(super) const READABLE: f64 = 0.5;
/// Refractive index of acrylic: 1.4914 at 588 nm (Kasarova and others, Optical Materials 29, 2007). Other clear sheets bend more.
const INDEX: f64 = 1.4914;
/// Sides that a dial is looked at from, evenly round it.
const SIDES: u32 = 16;
/// Places that a label's box is told by.
const PLACES: f64 = 200.0;

/// What a sight line runs through, straight on, in mm: in air and in clear stock.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Depth {
    air: f64,
    clear: f64,
}

impl Depth {
    /// How far it shifts what is at its end where it leans in the air by this tangent, in mm.
    fn shift(self, lean: f64) -> f64 {
        let sine = lean / lean.hypot(1.0) / INDEX;
        self.air * lean + self.clear * sine / (1.0 - sine * sine).sqrt()
    }

    /// How far off straight on one looks where it shifts by `mm`: at most along the face.
    fn until(self, mm: f64) -> Angle {
        if mm <= 0.0 {
            return Angle::ZERO;
        }
        if self.clear <= 0.0 {
            return Angle::degrees(mm.atan2(self.air).to_degrees());
        }
        let (mut from, mut to) = (0.0, 90.0);
        for _ in 0..40 {
            let middle: f64 = f64::midpoint(from, to);
            if self.shift(middle.to_radians().tan()) < mm { from = middle } else { to = middle }
        }
        Angle::degrees(to)
    }
}

/// How high what one looks past stands over the labels of a ring.
#[derive(PartialEq)]
pub(super) struct Depths {
    /// By layer: down to the labels from its face that is nearer to them, and from the farther one.
    faces: Vec<(Depth, Depth)>,
    /// How a sight line leans that comes from [`ASIDE`], as a tangent.
    lean: f64,
    /// Whether too little shows, as it was found, by the look of a stop.
    hidden: Remembered<(usize, [u64; 3]), bool>,
}

/// What is amiss from aside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amiss {
    /// The pointer stands nearer to another label.
    Points,
    /// Enough of another label shows to read it: by its place in the scene's ink.
    Shows(usize),
    /// Too little of the label shows to read it.
    Hidden,
}

impl Depths {
    /// With a stated distance, the eye stands so far from the middle of the dial, and looks at the farther rim of the ring at more
    /// of a slant.
    pub(super) fn of(design: &Design, reading: &Reading, scene: &Scene) -> Self {
        let reach = scene.labels.iter().map(|label| label.reach(Point::ZERO)).fold(0.0, f64::max);
        let beyond = reading.distance.map_or(0.0, |distance| reach / distance.as_mm());
        let (sine, cosine) = ASIDE.as_radians().sin_cos();
        let floors = floors(design);
        // Counted towards the eye.
        let span = |at: usize| {
            let floor = floors.get(at).copied().unwrap_or_default().as_mm();
            let thick = design.layers.get(at).map_or(0.0, |layer| layer.stock.thickness.mean.as_mm());
            if scene.ring.face == Face::Front { (floor, floor + thick) } else { (-floor - thick, -floor) }
        };
        let labels = span(scene.ring_at).1;
        let is_clear = |at: usize| design.layers.get(at).is_some_and(|layer| layer.stock.clear);
        let thick = |at: usize| span(at).1 - span(at).0;
        let faces = |at: usize| {
            if !scene.over(at, scene.ring_at) {
                let depth = Depth { air: (labels - span(at).1).abs(), clear: 0.0 };
                return (depth, depth);
            }
            let between = at.min(scene.ring_at) + 1..at.max(scene.ring_at);
            let clear: f64 = between.filter(|layer| is_clear(*layer)).map(thick).sum();
            let near = Depth { air: span(at).0 - labels - clear, clear };
            let far = if is_clear(at) {
                Depth { clear: clear + thick(at), ..near }
            } else {
                Depth { air: near.air + thick(at), ..near }
            };
            (near, far)
        };
        Self {
            faces: (0..design.layers.len()).map(faces).collect(),
            lean: (sine + beyond) / cosine,
            hidden: Remembered::default(),
        }
    }

    /// Whether one looks past as much from as far aside.
    pub(super) fn are_like(&self, other: &Self) -> bool {
        let near = |one: f64, other: f64| (one - other).abs() < 1e-9;
        let depth = |one: Depth, other: Depth| near(one.air, other.air) && near(one.clear, other.clear);
        near(self.lean, other.lean)
            && self.faces.len() == other.faces.len()
            && self.faces.iter().zip(&other.faces).all(|(one, other)| depth(one.0, other.0) && depth(one.1, other.1))
    }

    fn near(&self, layer: usize) -> Depth {
        self.faces.get(layer).map_or(Depth::default(), |faces| faces.0)
    }

    fn far(&self, layer: usize) -> Depth {
        self.faces.get(layer).map_or(Depth::default(), |faces| faces.1)
    }

    /// How far off straight on one may look, from whichever side, before something covers the label, other ink shows, or the
    /// pointer stands nearer to another label; `gaps` to what may cover it, by layer, and from the view to the other ink.
    pub(super) fn until(
        &self,
        scene: &Scene,
        (due, pose): (usize, &Pose),
        gaps: &[(usize, Gap)],
        (foreign, ink): (Gap, Option<usize>),
    ) -> Angle {
        let covered = gaps.iter().map(|(layer, gap)| self.far(*layer).until(gap.mm));
        let others = ink.and_then(|at| scene.inks.get(at)).map(|ink| self.past(scene, ink.layer).until(foreign.mm));
        let pointed = half_way(scene, due, pose).map(|(layer, room)| self.far(layer).until(room));
        let least = |one: Angle, other: Angle| if other < one { other } else { one };
        covered.chain(others).chain(pointed).fold(Angle::degrees(90.0), least)
    }

    /// What other ink is seen past: the nearer face of the uppermost opening. It is not seen through that of any other where those
    /// are as wide; where some are not, this is not too little.
    fn past(&self, scene: &Scene, layer: usize) -> Depth {
        let openings = scene.openings.iter().map(|opening| self.near(opening.layer));
        let highest = openings
            .fold(Depth::default(), |high, one| if one.air + one.clear > high.air + high.clear { one } else { high });
        Depth { air: highest.air + self.below(scene, layer), ..highest }
    }

    /// How far a layer's ink lies below the labels.
    fn below(&self, scene: &Scene, layer: usize) -> f64 {
        if scene.over(scene.ring_at, layer) { self.far(layer).air } else { 0.0 }
    }

    /// What is amiss with a stop that reads right straight on; `gaps` to what may cover its label, by layer.
    pub(super) fn amiss(&self, scene: &Scene, stop: &CheckedStop, pose: &Pose, gaps: &[(usize, Gap)]) -> Option<Amiss> {
        if !stop.reads || stop.aside.as_radians().tan() >= self.lean {
            return None;
        }
        let pointed = half_way(scene, stop.due, pose).filter(|(layer, room)| self.far(*layer).shift(self.lean) > *room);
        pointed.map(|_| Amiss::Points).or_else(|| self.shown(scene, stop, pose).map(Amiss::Shows)).or_else(|| {
            let hidden = self.hidden.or_found(stop.look(), || self.is_hidden(scene, stop, pose, gaps));
            hidden.then_some(Amiss::Hidden)
        })
    }

    /// Another label that shows far enough to be read from some side.
    fn shown(&self, scene: &Scene, stop: &CheckedStop, pose: &Pose) -> Option<usize> {
        let gap = stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm);
        let others = scene.inks.iter().enumerate().filter(|(_, ink)| ink.is_other_label(stop.due));
        let mut near = others.filter(|(_, ink)| {
            let shift = self.past(scene, ink.layer).shift(self.lean);
            gap < shift && ink.away(pose.map(ink.layer, scene.view_frame()), &scene.flat_view(ink.layer, pose)) < shift
        });
        let reads = |ink: &Ink| {
            let (points, below) = (points_of(&ink.flat), self.below(scene, ink.layer));
            let openings = scene.openings.iter().filter(|opening| scene.over(opening.layer, ink.layer));
            let open: Vec<(usize, &FlattenedShape)> = openings.map(|opening| (opening.layer, &opening.flat)).collect();
            let covers = scene.unnamed_covers().filter(|cover| scene.over(cover.layer, ink.layer));
            let covers: Vec<&Cover> = covers.collect();
            evenly(SIDES).any(|way| {
                let through = |layer: usize, flat: &FlattenedShape, point: Point| {
                    self.meets(layer, below, way)
                        .map(|shift| flat.contains(pose.map(ink.layer, layer) * (point + shift)))
                };
                let seen = |point: &&Point| {
                    open.iter().all(|(layer, flat)| through(*layer, flat, **point) == [true; 2])
                        && covers.iter().all(|cover| through(cover.layer, &cover.flat, **point) == [false; 2])
                };
                is_readable(points.iter().filter(seen).count(), points.len())
            })
        };
        near.find(|(_, ink)| reads(ink)).map(|(at, _)| at)
    }

    /// Whether too little of the label shows from some side. Along each line of sight no more of it is hidden than an edge shifts
    /// by, less the gap to it, so most labels need no closer look.
    fn is_hidden(&self, scene: &Scene, stop: &CheckedStop, pose: &Pose, gaps: &[(usize, Gap)]) -> bool {
        let Some((label, bounds)) = scene.labels.get(stop.due).and_then(|label| Some((label, label.bounds()?))) else {
            return false;
        };
        let shift = |layer: usize| self.far(layer).shift(self.lean);
        let hides: f64 = gaps.iter().map(|(layer, gap)| (shift(*layer) - gap.mm).max(0.0)).sum();
        if hides * bounds.width().hypot(bounds.height()) < READABLE * stop.due_area {
            return false;
        }
        let points = points_of(label);
        let covers: Vec<(&Cover, Affine, f64)> =
            scene.all_covers().map(|cover| (cover, pose.map(scene.ring_at, cover.layer), shift(cover.layer))).collect();
        if self.surely_shows(&points, bounds.center(), &covers) {
            return false;
        }
        let clear =
            |point: &&Point| covers.iter().all(|(cover, map, shift)| !cover.flat.within(*shift, *map * **point));
        if is_readable(points.iter().filter(clear).count(), points.len()) {
            return false;
        }
        !points.is_empty()
            && evenly(SIDES).any(|way| {
                let hidden = |cover: &Cover, map: &Affine, point: Point| {
                    self.meets(cover.layer, 0.0, way).iter().any(|shift| cover.flat.contains(*map * (point + *shift)))
                };
                let seen = |point: &&Point| !covers.iter().any(|(cover, map, _)| hidden(cover, map, **point));
                !is_readable(points.iter().filter(seen).count(), points.len())
            })
    }

    /// Whether from every side enough of a label stays within a disc about its middle that no edge of a cover reaches into.
    fn surely_shows(&self, points: &[Point], middle: Point, covers: &[(&Cover, Affine, f64)]) -> bool {
        let room = |(cover, map, _): &(&Cover, Affine, f64)| {
            let at = *map * middle;
            let free = cover.flat.distance_to(at).filter(|_| !cover.flat.contains(at));
            free.map_or(0.0, |(mm, _)| mm * mm)
        };
        let rooms: Vec<(usize, f64)> = covers.iter().map(|cover| (cover.0.layer, room(cover))).collect();
        evenly(SIDES).all(|way| {
            let meets =
                |(layer, room): &(usize, f64)| self.meets(*layer, 0.0, way).map(|shift| (middle - shift, *room));
            let discs: Vec<(Point, f64)> = rooms.iter().flat_map(meets).collect();
            let seen = |point: &&Point| discs.iter().all(|(from, room)| point.distance_squared(*from) < *room);
            is_readable(points.iter().filter(seen).count(), points.len())
        })
    }

    /// Where sight lines from one side meet the nearer and the farther face of a layer, from where they end so far below the labels.
    fn meets(&self, layer: usize, below: f64, way: Vec2) -> [Vec2; 2] {
        [self.near(layer), self.far(layer)].map(|face| way * (face.shift(self.lean) + below * self.lean))
    }
}

fn is_readable(seen: usize, of: usize) -> bool {
    #[allow(clippy::cast_precision_loss, reason = "a few hundred")]
    let (seen, of) = (seen as f64, of as f64);
    of > 0.0 && seen >= READABLE * of
}

/// The pointer's layer, and how far its tip may shift sideways before it stands nearer to another label, in mm.
fn half_way(scene: &Scene, due: usize, pose: &Pose) -> Option<(usize, f64)> {
    let pointer = scene.pointer.as_ref()?;
    let (back, on) = half_ways(scene, due, pose);
    Some((pointer.layer, pointer.flat.reach(Point::ZERO) * back.min(on).to_radians()))
}

/// Places evenly over a shape's box that lie in it.
fn points_of(flat: &FlattenedShape) -> Vec<Point> {
    let Some(bounds) = flat.bounds().filter(|bounds| bounds.area() > 0.0) else { return Vec::new() };
    let step = (bounds.area() / PLACES).sqrt();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred places")]
    let count = |length: f64| (length / step).ceil().min(PLACES) as u32;
    let (across, up) = (count(bounds.width()), count(bounds.height()));
    let place = |from: f64, length: f64, at: u32, of: u32| from + length * (f64::from(at) + 0.5) / f64::from(of);
    let rows = (0..up).map(|row| place(bounds.y0, bounds.height(), row, up));
    let points = rows
        .flat_map(|y| (0..across).map(move |column| Point::new(place(bounds.x0, bounds.width(), column, across), y)));
    points.filter(|point| flat.contains(*point)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 mm of air at 30 degrees: 3 tan 30 = 1.732 mm. Through acrylic the line runs at asin(0.5 / 1.4914) = 19.588 degrees (a slide
    /// rule's worth: 3 tan 19.588 = 1.0675 mm), and the shift leads back to the 30 degrees.
    #[test]
    fn edges_shift_by_the_depth_and_the_slant() {
        let lean = 30.0_f64.to_radians().tan();
        for (depth, wanted) in [
            (Depth { air: 3.0, clear: 0.0 }, 1.732_051),
            (Depth { air: 0.0, clear: 3.0 }, 1.067_5),
            (Depth { air: 2.0, clear: 3.0 }, 1.154_701 + 1.067_5),
        ] {
            assert!((depth.shift(lean) - wanted).abs() < 2e-4, "{depth:?}: {}", depth.shift(lean));
            assert!((depth.until(depth.shift(lean)).as_degrees() - 30.0).abs() < 1e-6, "{depth:?}");
        }
        // Nothing between is looked past at any slant; what overlaps at none. Within acrylic no line lies flatter than asin(1 / n).
        assert_eq!(Depth::default().until(0.1).as_degrees(), 90.0);
        assert_eq!(Depth { air: 3.0, clear: 0.0 }.until(-0.1), Angle::ZERO);
        let flattest = Depth { air: 0.0, clear: 3.0 }.shift(1e9);
        assert!((flattest - 3.0 * (1.0 / INDEX).asin().tan()).abs() < 1e-6);
    }

    #[test]
    fn places_cover_a_shape() {
        let disc = FlattenedShape::of(&crate::geometry::shapes::circle(4.0).unwrap());
        // 15 by 15 places of its box, of which a disc fills a quarter of pi.
        let count = points_of(&disc).len() as f64;
        assert!((count / 225.0 - std::f64::consts::FRAC_PI_4).abs() < 0.02, "{count}");
        assert!(points_of(&FlattenedShape::default()).is_empty());
    }
}
