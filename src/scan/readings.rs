//! How the run's own dials read: every part with a ring put together with every part with its opening, by what was measured of both.
//!
//! Halves are centred on what holds them together: the pockets of magnets, or the holes of a rivet, round the axis. Each stop is set just
//! so: how far a hand strays cannot come from loose parts.

use kurbo::{Affine, BezPath, Point, Shape as _, Vec2};

use super::sum::to;
use super::told::{Away, PartTold, ReadingTold, WorkTold};
use crate::rehearsal::{Meant, MeantKind, MeantLayer, MeantReading};
use crate::units::plain;

/// Edges farther than this from that of the opening decide nothing, mm.
const NEAR: f64 = 2.0;
/// What lies this near the axis centres its layer, mm.
const ON_AXIS: f64 = 0.05;
/// Pairs that are put together.
const PAIRS: usize = 2500;

/// What is told of every reading.
pub(super) fn told(meant: &Meant, parts: &[PartTold]) -> Vec<ReadingTold> {
    if parts.is_empty() {
        return Vec::new();
    }
    let read = meant.readings.iter().map(|reading| of_reading(meant, reading, parts));
    let unread = meant.unread.iter().map(|(ring, why)| untold(ring, "", why));
    read.chain(unread).collect()
}

fn untold(ring: &str, through: &str, why: &str) -> ReadingTold {
    let (ring, through, untold) = (ring.to_owned(), through.to_owned(), Some(why.to_owned()));
    ReadingTold { ring, through, pairs: 0, right: 0, wrong: 0, close: 0, least_room_mm: None, at: None, untold }
}

/// A half as it was made.
struct Half {
    /// How its work lies from what centres it, mm in the layer's front frame, and how far it is turned there, rad counter-clockwise.
    off: Vec2,
    turn: f64,
    /// How far its edge stands beyond what was meant, mm.
    growth: f64,
    /// The variance of where its edge is, mm².
    variance: f64,
}

fn of_reading(meant: &Meant, reading: &MeantReading, parts: &[PartTold]) -> ReadingTold {
    let untold = |why: &str| untold(&reading.ring, &reading.through, why);
    let halves = |layer: usize, name: &str| -> (usize, Vec<Half>) {
        let Some(layer) = meant.layers.get(layer) else { return (0, Vec::new()) };
        let own: Vec<&PartTold> = parts.iter().filter(|part| part.layer == layer.name).collect();
        (own.len(), own.iter().filter_map(|part| half(layer, part, name)).collect())
    };
    let (lower, rings) = halves(reading.ring_layer, &reading.ring);
    let (upper, openings) = halves(reading.opening_layer, &reading.through);
    if lower == 0 || upper == 0 {
        return untold("parts of both its layers are needed");
    }
    if rings.is_empty() || openings.is_empty() {
        return untold(
            "ring, opening and what centres them must show: lay the parts with their inner faces down on the glass",
        );
    }
    if rings.len() * openings.len() > PAIRS {
        return untold("too many parts: measure fewer scans at a time");
    }
    let stops: Vec<Stop> = reading.stops.iter().map(|stop| Stop::of(reading, stop)).collect();
    let (mut right, mut wrong, mut close) = (0, 0, 0);
    let mut least: Option<(f64, f64, &str)> = None;
    for (ring, opening) in rings.iter().flat_map(|ring| openings.iter().map(move |opening| (ring, opening))) {
        let rooms = stops.iter().map(|stop| (stop.room(ring, opening), stop.says.as_str()));
        let Some((room, says)) = rooms.min_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        let unsure = 2.0 * (ring.variance + opening.variance).sqrt();
        match () {
            () if room > unsure => right += 1,
            () if room < -unsure => wrong += 1,
            () => close += 1,
        }
        if least.is_none_or(|(known, ..)| room < known) {
            least = Some((room, unsure, says));
        }
    }
    ReadingTold {
        ring: reading.ring.clone(),
        through: reading.through.clone(),
        pairs: rings.len() * openings.len(),
        right,
        wrong,
        close,
        least_room_mm: least.map(|(room, unsure, _)| Away { is: to(room, 3), plus_minus: to(unsure, 3) }),
        at: least.map(|(.., says)| says.to_owned()),
        untold: None,
    }
}

/// How far along its axes a work is off, as one shift in the front frame, and the variance along either.
fn shift(layer: &MeantLayer, told: &WorkTold) -> Option<(Vec2, f64)> {
    let work = layer.works.iter().find(|it| it.name == told.name && it.kind.name() == told.kind)?;
    let [Some(first), Some(second)] = told.off else { return None };
    let middle = work.path.bounding_box().center().to_vec2();
    let one = if told.axes == "right-up" { Vec2::new(1.0, 0.0) } else { middle / middle.hypot() };
    let other = if told.axes == "right-up" { Vec2::new(0.0, 1.0) } else { Vec2::new(one.y, -one.x) };
    let variance = (first.plus_minus / 2.0).powi(2).max((second.plus_minus / 2.0).powi(2));
    Some((one * first.is + other * second.is, variance))
}

fn half(layer: &MeantLayer, part: &PartTold, name: &str) -> Option<Half> {
    let told = |name: &str| part.works.iter().find(|it| it.name == name);
    let own = told(name)?;
    let (off, variance) = shift(layer, own)?;
    // Magnets before holes: a hole round a magnet's axis lets a wire through.
    let centres = |kind: MeantKind| {
        let works = layer.works.iter().filter(move |work| work.kind == kind && work.name != name);
        let mut works = works.filter(|work| work.path.bounding_box().center().to_vec2().hypot() < ON_AXIS);
        works.find_map(|work| shift(layer, told(&work.name)?))
    };
    let (centre, unsure) = centres(MeantKind::Pocket).or_else(|| centres(MeantKind::Opening))?;
    let (growth, edge) = match own.growth_mm {
        Some(growth) => (growth.is, growth.plus_minus),
        // An opening grows as the kerf does, which was meant to be that of its stock.
        None => ((part.kerf_mm - layer.kerf) / 2.0, part.kerf_plus_minus_mm / 2.0),
    };
    let turn = own.turned_deg.map_or(0.0, |turned| -turned.is.to_radians());
    Some(Half { off: off - centre, turn, growth, variance: variance + unsure + (edge / 2.0).powi(2) })
}

/// One stop: what lies near the edge of the opening.
struct Stop {
    says: String,
    /// How far the ring is turned under the opening.
    turned: Affine,
    /// Places of the edges of labels, in the ring's frame, and whether they are of the one that is due.
    edges: Vec<(Point, bool)>,
    /// The opening's edge as lines, in its own frame.
    opening: Vec<(Point, Point)>,
}

impl Stop {
    fn of(reading: &MeantReading, (bearing, due, says): &(f64, usize, String)) -> Self {
        let turned = Affine::rotate(bearing.to_radians());
        let mut stop = Self { says: says.clone(), turned, edges: Vec::new(), opening: lines(&reading.opening) };
        for (at, label) in reading.labels.iter().enumerate() {
            let points = lines(label).into_iter().map(|(p, _)| p);
            let near = |p: &Point| stop.inside(turned * *p).abs() < NEAR;
            let near: Vec<(Point, bool)> = points.filter(near).map(|p| (p, at == *due)).collect();
            stop.edges.extend(near);
        }
        stop
    }

    /// How far within the opening a place is, mm; below zero beyond it.
    fn inside(&self, p: Point) -> f64 {
        let mut within = false;
        let mut away = f64::MAX;
        for (a, b) in &self.opening {
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                within = !within;
            }
            let along = *b - *a;
            let share = ((p - *a).dot(along) / along.hypot2().max(1e-18)).clamp(0.0, 1.0);
            away = away.min((p - a.lerp(*b, share)).hypot2());
        }
        if within { away.sqrt() } else { -away.sqrt() }
    }

    /// How much room the label that is due has within the opening and all others beyond it, mm.
    fn room(&self, ring: &Half, opening: &Half) -> f64 {
        let to_opening =
            Affine::translate(-opening.off) * self.turned * Affine::translate(ring.off) * Affine::rotate(ring.turn);
        let rooms = self.edges.iter().map(|(p, is_due)| {
            let inside = self.inside(to_opening * *p) + opening.growth;
            (if *is_due { inside } else { -inside }) - ring.growth
        });
        rooms.fold(NEAR, f64::min)
    }
}

fn lines(path: &BezPath) -> Vec<(Point, Point)> {
    let mut all = Vec::new();
    let (mut first, mut last) = (Point::ORIGIN, Point::ORIGIN);
    kurbo::flatten(path, 0.005, |element| match element {
        kurbo::PathEl::MoveTo(p) => (first, last) = (p, p),
        kurbo::PathEl::LineTo(p) => {
            all.push((last, p));
            last = p;
        }
        _ => {
            all.push((last, first));
            last = first;
        }
    });
    all
}

impl ReadingTold {
    /// "6 of 6 pairings read right; least room 0.412 mm ± 0.021, at `4`".
    pub fn in_words(&self) -> String {
        if let Some(why) = &self.untold {
            return format!("`{}`: not told, {why}", self.ring);
        }
        let other = |count: usize, what: &str| if count > 0 { format!(", {count} {what}") } else { String::new() };
        let least = self.least_room_mm.map_or_else(String::new, |room| {
            let at = self.at.as_deref().unwrap_or_default();
            format!("; least room {} mm ± {}, at `{at}`", plain(room.is, 3), plain(room.plus_minus, 3))
        });
        format!(
            "`{}` through `{}`: {} of {} pairings read right{}{}{least}",
            self.ring,
            self.through,
            self.right,
            self.pairs,
            other(self.wrong, "misread"),
            other(self.close, "too close to tell")
        )
    }
}
