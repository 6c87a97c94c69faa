//! Rings of labels, and what is taken for them where the maker leaves it to us.

use kurbo::{Affine, Line, Point, Vec2};

use super::Assembler;
use super::stack::as_angle;
use crate::check::blocks::FACINGS;
use crate::check::evaluate::{field, label_text, word};
use crate::check::value::Value;
use crate::design::{Face, Joint, Label, Layer, Ring, Turn};
use crate::diagnostics::findings::dial as say;
use crate::geometry::{Region, turn};
use crate::lettering::{Facing, place_label};
use crate::syntax::tree::{self, Field, LayerItem, Marked, Name, Reads, ReadsHow};
use crate::units::{Angle, Length};

/// Height of labels that no opening limits. Common practice, no source.
const USUAL_HEIGHT_MM: f64 = 5.0;
/// How closely an opening's edge is followed when labels are fitted into it, in mm.
const WALL_MM: f64 = 1e-3;
/// The same for a label 1 mm tall; it grows with the label, and stays below the hundredth that heights are given to.
const POINT_MM: f64 = 5e-4;
/// No default height is larger than this.
const TALLEST_MM: f64 = 200.0;

/// A ring as written.
pub(super) struct Written<'t> {
    pub(super) layer: usize,
    pub(super) name: &'t Name,
    pub(super) fields: &'t [Field],
    pub(super) face: Face,
    pub(super) labels: Vec<(Value, String)>,
}

/// Where a ring is read: the hole one looks through (or the pointer), in the front frame of its layer, and
/// the joints between.
pub(super) struct ReadAt {
    how: ReadsHow,
    /// What all the openings leave in sight, or the pointer.
    region: Region,
    /// Its middle.
    centre: Point,
    /// Joints crossed, as places in the stack.
    joints: std::ops::Range<usize>,
    /// Whether the ring lies above it.
    ring_above: bool,
    clear_opening: Length,
}

impl ReadAt {
    /// How far round the ring a stop of the turn between carries it: backwards where it is the ring that turns on.
    fn carried(&self, stop: Angle) -> Angle {
        if self.ring_above { -stop } else { stop }
    }
}

impl<'t> Assembler<'_, 't> {
    /// Every ring of the stack with its labels evaluated; none where one of them is at fault.
    pub(super) fn written_rings(&mut self, layers: &[(usize, &'t tree::Layer)]) -> Option<Vec<Written<'t>>> {
        let mut rings = Vec::new();
        let mut whole = true;
        for (at, layer) in layers {
            for item in &layer.items {
                let LayerItem::Mark(mark) = item else { continue };
                let Marked::Ring { name, fields } = &mark.what else { continue };
                if mark.work != tree::Work::Engrave {
                    self.eval.problems.push(say::ring_not_engraved(mark.work_span));
                    whole = false;
                    continue;
                }
                let face = mark.face.map_or(Face::Front, |(face, _)| face);
                self.eval.enter(Some(&layer.name.text));
                self.eval.face(face);
                let labels = self.labels(fields, name);
                self.eval.face(Face::Front);
                self.eval.enter(None);
                match labels {
                    Some(labels) => rings.push(Written { layer: *at, name, fields, face, labels }),
                    None => whole = false,
                }
            }
        }
        whole.then_some(rings)
    }

    fn labels(&mut self, fields: &'t [Field], name: &Name) -> Option<Vec<(Value, String)>> {
        let expr = field(fields, "labels")?;
        let value = self.eval.value(expr)?;
        let items = value.items()?;
        if items.is_empty() {
            return self.eval.report(say::ring_without_labels(&name.text, expr.span));
        }
        let unnamed = "a shape".to_owned();
        Some(items.iter().map(|item| (item.clone(), label_text(item).unwrap_or_else(|| unnamed.clone()))).collect())
    }

    /// Where a ring is read, from the first reading of it.
    pub(super) fn read_at(&mut self, ring: &Written<'t>, layers: &[Layer]) -> Option<ReadAt> {
        let reads = self.program.reads.iter().find(|reads| reads.ring.text == ring.name.text)?;
        self.openings(reads, ring.layer, layers)
    }

    fn openings(&mut self, reads: &'t Reads, ring_layer: usize, layers: &[Layer]) -> Option<ReadAt> {
        let mut found: Vec<(usize, Region, Length)> = Vec::new();
        for name in &reads.by {
            let on = layers.iter().enumerate().find_map(|(at, layer)| {
                let regions: Vec<&Region> = layer
                    .marks
                    .iter()
                    .filter(|mark| mark.name.as_deref() == Some(&name.text))
                    .filter_map(|mark| match &mark.shape {
                        crate::design::Shape::Region(region) => Some(region),
                        crate::design::Shape::Trace(_) => None,
                    })
                    .collect();
                let joined = regions.into_iter().cloned().reduce(|all, one| all.union(&one))?;
                Some((at, joined, layer.stock.clear_opening))
            });
            found.push(on?);
        }
        let highest = found.iter().map(|(at, ..)| *at).max()?;
        let lowest = found.iter().map(|(at, ..)| *at).min()?;
        let clear_opening = found.iter().map(|(_, _, clear)| *clear).reduce(|a, b| if a > b { a } else { b })?;
        let region = found.into_iter().map(|(_, region, _)| region).reduce(|all, one| all.intersection(&one))?;
        let bounds = region.bounds()?;
        let joints = ring_layer.min(highest)..lowest.max(ring_layer);
        let centre = match reads.how {
            ReadsHow::Through => bounds.center(),
            ReadsHow::Beside => region.centroid()?,
        };
        Some(ReadAt { how: reads.how, region, centre, joints, ring_above: ring_layer > highest, clear_opening })
    }

    /// How many stops the readings suggest for each joint, and which ring does: first those that cross it alone.
    pub(super) fn suggested_stops(
        &mut self,
        rings: &[Written<'t>],
        places: &[Option<ReadAt>],
        joints: usize,
    ) -> Vec<Option<(usize, String)>> {
        let crossing = |joint: usize, alone: bool| {
            rings.iter().zip(places).find_map(|(ring, place)| {
                let place = place.as_ref()?;
                let turns = place.joints.clone().filter(|at| self.is_turn.get(*at).copied().unwrap_or(false)).count();
                (place.joints.contains(&joint) && (!alone || turns == 1))
                    .then(|| (ring.labels.len(), ring.name.text.clone()))
            })
        };
        (0..joints).map(|joint| crossing(joint, true).or_else(|| crossing(joint, false))).collect()
    }

    /// A ring with every label placed.
    pub(super) fn ring(&mut self, written: &Written<'t>, place: Option<&ReadAt>, joints: &[Joint]) -> Option<Ring> {
        let span = written.name.span;
        let radius = self.radius(written, place)?;
        let bearings = self.bearings(written, place, joints)?;
        let facing = match word(written.fields, "facing") {
            Some(word) if Some(&word) == FACINGS.get(1) => Facing::Inward,
            Some(word) if Some(&word) == FACINGS.get(2) => Facing::Upright,
            _ => Facing::Outward,
        };
        let tone = match field(written.fields, "tone") {
            Some(tone) => self.tone(tone)?,
            None => 1.0,
        };
        let stroke = match field(written.fields, "stroke") {
            Some(stroke) => Some(self.eval.size(stroke, "`stroke`")?),
            None => None,
        };
        let unit: Vec<Region> = self.unit_labels(written)?;
        let height = match field(written.fields, "height") {
            Some(height) => self.eval.size(height, "`height`")?,
            None => self.height(written, place, &unit, (radius, &bearings, facing), joints)?,
        };
        let mut labels = Vec::new();
        for ((region, bearing), (value, says)) in unit.iter().zip(&bearings).zip(&written.labels) {
            let scale = label_scale(value, height.as_mm());
            let mut ink = region.transformed(Affine::scale(scale));
            if let Some(stroke) = stroke {
                ink = ink.difference(&ink.offset(-stroke.as_mm()));
            }
            let ink = place_label(&ink, radius.as_mm(), *bearing, facing);
            labels.push(Label { says: says.clone(), bearing: *bearing, ink, origin: span });
        }
        Some(Ring { name: written.name.text.clone(), face: written.face, radius, height, labels, tone, origin: span })
    }

    fn radius(&mut self, written: &Written<'t>, place: Option<&ReadAt>) -> Option<Length> {
        if let Some(radius) = field(written.fields, "radius") {
            return self.eval.size(radius, "`radius`");
        }
        let name = &written.name.text;
        let Some(place) = place else { return self.eval.report(say::ring_without_radius(name, written.name.span)) };
        let radius = Length::mm(place.centre.to_vec2().hypot());
        if radius.as_mm() < 1e-6 {
            return self.eval.report(say::ring_without_radius(name, written.name.span));
        }
        self.default(
            &format!("radius of ring `{name}`"),
            radius.to_string(),
            "as far out as what it is read by",
            written.name.span,
        );
        Some(radius)
    }

    fn bearings(&mut self, written: &Written<'t>, place: Option<&ReadAt>, joints: &[Joint]) -> Option<Vec<Angle>> {
        let count = written.labels.len();
        if let Some(expr) = field(written.fields, "bearings") {
            let value = self.eval.value(expr)?;
            let bearings: Option<Vec<Angle>> = value.items()?.iter().map(as_angle).collect();
            let bearings = bearings?;
            if bearings.len() != count {
                return self.eval.report(say::bearings_and_labels(
                    &written.name.text,
                    bearings.len(),
                    count,
                    expr.span,
                ));
            }
            return Some(bearings);
        }
        let first = match (field(written.fields, "first"), place) {
            (Some(first), _) => self.eval.angle(first)?,
            (None, Some(place)) => {
                let bearing = bearing_of(place.centre);
                if bearing.as_degrees() != 0.0 {
                    let what = format!("first bearing of ring `{}`", written.name.text);
                    self.default(&what, bearing.to_string(), "where what it is read by stands", written.name.span);
                }
                bearing
            }
            (None, None) => Angle::ZERO,
        };
        let crossed: Vec<&Turn> = place.map(|place| turns_in(joints, place.joints.clone())).unwrap_or_default();
        Some(match crossed.as_slice() {
            [only] if only.stops.len() == count => {
                only.stops.iter().map(|stop| first + place.map_or(*stop, |place| place.carried(*stop))).collect()
            }
            _ => {
                #[allow(clippy::cast_precision_loss, reason = "the limit on lists is small")]
                let step = 360.0 / count as f64;
                #[allow(clippy::cast_precision_loss, reason = "the limit on lists is small")]
                let bearings = (0..count).map(|at| first + Angle::degrees(step * at as f64)).collect();
                bearings
            }
        })
    }

    /// Each label about its own centre: lettering 1 mm tall, artwork without a height scaled to 1 mm, other
    /// regions as they are.
    fn unit_labels(&mut self, written: &Written<'t>) -> Option<Vec<Region>> {
        let mut regions = Vec::new();
        for (value, says) in &written.labels {
            regions.push(match value {
                Value::Region(figure) => {
                    let bounds = figure.region.bounds()?;
                    let centred = Affine::translate(-bounds.center().to_vec2());
                    let scale = if figure.unsized_art { 1.0 / bounds.height().max(1e-9) } else { 1.0 };
                    figure.region.transformed(Affine::scale(scale) * centred)
                }
                _ => {
                    let word = match self.eval.typeface().word(says, 1.0) {
                        Ok(word) => word.ink,
                        Err(error) => {
                            return self.eval.bad_lettering(error, says, field(written.fields, "labels")?.span);
                        }
                    };
                    if word.is_empty() {
                        return self
                            .eval
                            .report(say::blank_label(&written.name.text, field(written.fields, "labels")?.span));
                    }
                    if written.face == Face::Back { word.transformed(Affine::FLIP_X) } else { word }
                }
            });
        }
        Some(regions)
    }

    /// The largest height at which every label clears the opening, to 0.01 mm.
    fn height(
        &mut self,
        written: &Written<'t>,
        place: Option<&ReadAt>,
        unit: &[Region],
        (radius, bearings, facing): (Length, &[Angle], Facing),
        joints: &[Joint],
    ) -> Option<Length> {
        let what = format!("height of ring `{}`", written.name.text);
        let opening = place.filter(|place| place.how == ReadsHow::Through);
        let Some(place) = opening else {
            let height = Length::mm(USUAL_HEIGHT_MM);
            self.default(&what, height.to_string(), "usual where no opening limits it", written.name.span);
            return Some(height);
        };
        let room = place.region.offset(-place.clear_opening.as_mm());
        let stops: Vec<Angle> = match turns_in(joints, place.joints.clone()).as_slice() {
            [only] if only.stops.len() == bearings.len() => {
                only.stops.iter().map(|stop| place.carried(*stop)).collect()
            }
            _ => bearings.iter().map(|bearing| *bearing - bearing_of(place.centre)).collect(),
        };
        let walls = lines(room.path(), WALL_MM);
        let mut tallest = TALLEST_MM;
        for (((region, bearing), stop), (value, _)) in unit.iter().zip(bearings).zip(stops).zip(&written.labels) {
            let placed = turn(-stop) * crate::lettering::placing(radius.as_mm(), *bearing, facing);
            let centre = placed * Point::ORIGIN;
            let inside = room.contains(centre);
            let reach = if inside { reach(&walls, centre, placed * region.path()) } else { 0.0 };
            // A label with a size of its own either fits or leaves no height at all.
            let grows = label_scale(value, TALLEST_MM) > 1.0;
            tallest = tallest.min(if grows || reach < 1.0 { reach } else { TALLEST_MM });
        }
        let height = Length::mm((tallest * 100.0).floor() / 100.0);
        if height.as_mm() <= 0.0 {
            return self.eval.report(say::no_room_for_labels(
                &written.name.text,
                place.clear_opening,
                written.name.span,
            ));
        }
        let why = format!("the largest at which every label clears the opening by {}", place.clear_opening);
        self.default(&what, height.to_string(), &why, written.name.span);
        Some(height)
    }
}

/// The factor that makes a label `height` mm tall; regions with a size of their own keep it.
fn label_scale(value: &Value, height: f64) -> f64 {
    match value {
        Value::Region(figure) if !figure.unsized_art => 1.0,
        _ => height,
    }
}

/// A path as straight pieces, to within `tolerance` mm.
fn lines(path: &kurbo::BezPath, tolerance: f64) -> Vec<Line> {
    let mut flat = kurbo::BezPath::new();
    kurbo::flatten(path, tolerance, |element| flat.push(element));
    flat.segments()
        .filter_map(|segment| match segment {
            kurbo::PathSeg::Line(line) => Some(line),
            _ => None,
        })
        .collect()
}

/// How many times over a shape may grow about `centre` before it touches a wall.
fn reach(walls: &[Line], centre: Point, shape: kurbo::BezPath) -> f64 {
    let points: Vec<Vec2> = lines(&shape, POINT_MM).iter().map(|line| line.p0 - centre).collect();
    let first_wall = |way: &Vec2| {
        let crossings = walls.iter().filter_map(|wall| {
            let along = wall.p1 - wall.p0;
            let across = way.cross(along);
            let (times, at) = ((wall.p0 - centre).cross(along) / across, (wall.p0 - centre).cross(*way) / across);
            (times > 0.0 && (0.0..=1.0).contains(&at)).then_some(times)
        });
        crossings.fold(f64::INFINITY, f64::min)
    };
    points.iter().map(first_wall).fold(f64::INFINITY, f64::min)
}

/// The bearing of a point, from 0 up to 360 degrees, to a billionth of a degree.
fn bearing_of(point: Point) -> Angle {
    let degrees = point.x.atan2(point.y).to_degrees();
    let rounded = (degrees * 1e9).round() / 1e9;
    Angle::degrees(rounded.rem_euclid(360.0))
}

/// The turns among these joints.
pub(super) fn turns_in(joints: &[Joint], places: std::ops::Range<usize>) -> Vec<&Turn> {
    joints
        .get(places)
        .unwrap_or_default()
        .iter()
        .filter_map(|joint| match joint {
            Joint::Turn(turn) => Some(turn),
            Joint::Glue(_) => None,
        })
        .collect()
}
