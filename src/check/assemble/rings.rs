//! Rings of labels, and what is taken for them where the maker leaves it to us.

use kurbo::{Affine, Point};

use super::Assembler;
use super::labels::Placed;
use super::stack::{Order, as_angle};
use super::wheels::rounded;
use crate::check::evaluate::Fields;
use crate::check::findings::rings as say;
use crate::check::value::Value;
use crate::design::{Face, Joint, Laid, Layer, Mark, Ring, RingWork, Shape, Turn};
use crate::geometry::{FlattenedShape, Region, Trace};
use crate::lettering::{Arc, Facing, LetteringError, Setting, Typeface, single_stroke};
use crate::syntax::tree::{self, FieldValue, LayerItem, Marked, Name, ReadsHow};
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::choices::RunsWord;

/// A ring as written.
pub(super) struct Written<'t> {
    pub(super) layer: usize,
    pub(super) name: &'t Name,
    /// What it is called in the design.
    pub(super) key: String,
    /// What its labels stand round.
    pub(super) centre: Point,
    pub(super) fields: Fields<'t, fields::Ring>,
    pub(super) face: Face,
    pub(super) work: RingWork,
    /// How wide a line is burnt on its layer.
    pub(super) line: Length,
    /// Whether its letters are single lines.
    pub(super) single_stroke: bool,
    /// Whether the letters of each label run along the ring.
    pub(super) curved: bool,
    pub(super) labels: Vec<(Value, String)>,
    /// Which of them have a line under them.
    pub(super) underlined: Vec<bool>,
}

impl Written<'_> {
    /// Who says how its labels follow each other.
    pub(super) fn laid(&self) -> Laid {
        match (self.fields.expr(fields::Ring::Bearings), self.runs()) {
            (Some(_), _) => Laid::AtBearings,
            (None, Some(_)) => Laid::Round,
            (None, None) => Laid::ByStops,
        }
    }

    /// A label's area as it is worked: of one that is scored, its edge.
    pub(super) fn drawn(&self, area: Region) -> Shape {
        match self.work {
            RingWork::Scored => Shape::Trace(Trace::from_path(area.path().clone())),
            RingWork::Engraved | RingWork::Raised | RingWork::Printed => Shape::Region(area),
        }
    }

    /// Whether a label's letters run along the ring.
    pub(super) fn bends(&self, value: &Value, facing: Facing) -> bool {
        self.curved && facing.bends() && matches!(value, Value::Quantity(_) | Value::Text(_))
    }

    /// A label whose letters run along the ring, at 0deg.
    pub(super) fn bent(
        &self,
        says: &str,
        typeface: &Typeface,
        setting: &Setting,
        arc: &Arc,
    ) -> Result<Shape, LetteringError> {
        if self.single_stroke {
            single_stroke::along_arc(says, setting, arc).map(|path| Shape::Trace(Trace::from_path(path)))
        } else {
            typeface.along_arc(says, setting, arc).map(|ink| self.drawn(ink))
        }
    }

    /// Letters as they are seen on its face: drawn in the front frame, they are mirrored on a back, so that they read once the layer
    /// is turned over.
    pub(super) fn seen(&self, letters: Shape) -> Shape {
        if self.face == Face::Back { letters.transformed(Affine::FLIP_X) } else { letters }
    }

    fn runs(&self) -> Option<RunsWord> {
        self.fields.word(fields::Ring::Runs).and_then(RunsWord::of_word)
    }
}

/// Where a ring is read: the hole one looks through (or the pointer), in the front frame of its layer, and
/// the joints between.
pub(super) struct ReadAt {
    pub(super) how: ReadsHow,
    /// What all the openings leave in sight, or the pointer.
    pub(super) region: Region,
    /// Its middle.
    pub(super) centre: Point,
    /// Joints crossed, as places in the stack.
    pub(super) joints: std::ops::Range<usize>,
    /// Whether the ring lies above it.
    ring_above: bool,
    pub(super) clear_opening: Length,
}

impl ReadAt {
    /// How far round the ring a stop of the turn between carries it: backwards where it is the ring that turns on.
    pub(super) fn carried(&self, stop: Angle) -> Angle {
        if self.ring_above { -stop } else { stop }
    }
}

impl<'t> Assembler<'_, 't> {
    /// Every ring of the stack with its labels evaluated; none where one of them is at fault.
    pub(super) fn written_rings(
        &mut self,
        layers: &[(usize, &'t tree::Layer)],
        order: &Order<'t>,
    ) -> Option<Vec<Written<'t>>> {
        let mut rings = Vec::new();
        let mut whole = true;
        for (at, layer) in layers {
            for item in &layer.items {
                let LayerItem::Mark(mark) = item else { continue };
                let Marked::Ring { name, fields } = &mark.what else { continue };
                let Some(work) = RingWork::of(mark.work) else {
                    self.eval.problems.push(say::ring_not_engraved(&name.text, mark.work.word(), mark.work_span));
                    whole = false;
                    continue;
                };
                let face = mark.face.map_or(Face::Front, |(face, _)| face);
                self.eval.enter(Some(&layer.name.text));
                self.eval.face(face);
                let fields = Fields::of(fields);
                let labels = self.labels(fields, name).and_then(|labels| {
                    let underlined = self.underlined(fields, name, &labels)?;
                    Some((labels, underlined))
                });
                let centre = match fields.expr(fields::Ring::Centre) {
                    Some(centre) => self.point(centre).map(rounded),
                    None => Some(Point::ORIGIN),
                };
                self.eval.face(Face::Front);
                self.eval.enter(None);
                let labels = labels.and_then(|(labels, underlined)| Some((labels, underlined, centre?)));
                match (labels, order.layers.get(*at)) {
                    (Some((labels, underlined, centre)), Some(copy)) => {
                        let key = order.key(copy, &name.text);
                        let line = self.shop.stocks.get(&layer.stock.text).map_or(Length::ZERO, |stock| stock.kerf);
                        let layer = *at;
                        let mut flag = |name| self.flag(fields, name);
                        rings.push(Written {
                            layer,
                            name,
                            key,
                            centre,
                            fields,
                            face,
                            work,
                            line,
                            single_stroke: flag(fields::Ring::SingleStroke),
                            curved: flag(fields::Ring::Curved),
                            labels,
                            underlined,
                        });
                    }
                    _ => whole = false,
                }
            }
        }
        whole.then_some(rings)
    }

    /// Whether something is said of a ring that is true or false; a bare word means that it is.
    fn flag(&mut self, fields: Fields<'t, fields::Ring>, name: fields::Ring) -> bool {
        match fields.get(name).map(|field| &field.value) {
            Some(FieldValue::Expr(expr)) => self.eval.truth(expr).unwrap_or(false),
            given => given.is_some(),
        }
    }

    /// Where a ring is read, from the first reading of it.
    pub(super) fn read_at(&mut self, ring: &Written<'t>, layers: &[Layer]) -> Option<ReadAt> {
        let asked = self.program.reads.iter().zip(&self.asked);
        let asked = asked.filter_map(|(reads, asked)| Some((reads.how, asked.as_ref()?)));
        let (how, asked) = asked.into_iter().find(|(_, asked)| asked.ring == ring.key)?;
        self.openings(how, &asked.by, (ring.layer, ring.centre), layers)
    }

    /// In the frame of what the ring stands round.
    fn openings(
        &self,
        how: ReadsHow,
        by: &[String],
        (ring_layer, about): (usize, Point),
        layers: &[Layer],
    ) -> Option<ReadAt> {
        let moved = |at: usize, region: &Region| {
            let map = self.to_ring(at, ring_layer, about);
            map.map_or_else(|| region.clone(), |map| region.transformed(map))
        };
        let is_moved = |at: usize| self.to_ring(at, ring_layer, about).is_some();
        let cut = how == ReadsHow::Through;
        let mut found: Vec<(usize, Region, Length)> = Vec::new();
        for name in by {
            let on = layers.iter().enumerate().find_map(|(at, layer)| {
                let regions: Vec<&Region> = layer
                    .marks
                    .iter()
                    .filter(|mark| mark.name.as_ref() == Some(name))
                    .filter_map(|mark| match &mark.shape {
                        crate::design::Shape::Region(region) => Some(region),
                        crate::design::Shape::Trace(_) => None,
                    })
                    .collect();
                let joined = regions.into_iter().cloned().reduce(|all, one| all.union(&one))?;
                // What runs off the rim, of its own layer or of the ring's, shows no label.
                let own = layers.get(ring_layer).map(|layer| moved(ring_layer, &layer.outline));
                let rims = [Some(moved(at, &layer.outline)), own];
                let within = |region: Region, rim: Region| if cut { clipped(region, &rim) } else { region };
                Some((at, rims.into_iter().flatten().fold(moved(at, &joined), within), layer.stock.clear_opening))
            });
            found.push(on?);
        }
        let highest = found.iter().map(|(at, ..)| *at).max()?;
        let lowest = found.iter().map(|(at, ..)| *at).min()?;
        let clear_opening = found.iter().map(|(_, _, clear)| *clear).reduce(|a, b| if a > b { a } else { b })?;
        // One looks through all of them at once, so what counts is what they leave in sight together.
        let region = found.into_iter().map(|(_, region, _)| region).reduce(|all, one| all.intersection(&one))?;
        let bounds = region.bounds()?;
        let joints = self.between(ring_layer, lowest..highest);
        let centre = match how {
            ReadsHow::Through => bounds.center(),
            ReadsHow::Beside => region.centroid()?,
        };
        let centre = if is_moved(highest) || is_moved(ring_layer) { rounded(centre) } else { centre };
        // A hand lies on what it is read with, whatever is listed after it.
        let ring_above = match [ring_layer, lowest, highest].map(|layer| self.is_hand(layer)) {
            [true, ..] => true,
            [_, false, false] => ring_layer > highest,
            _ => false,
        };
        Some(ReadAt { how, region, centre, joints, ring_above, clear_opening })
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
                (place.joints.contains(&joint) && (!alone || turns == 1)).then(|| (ring.labels.len(), ring.key.clone()))
            })
        };
        // A ring that only this turn moves has one label for each of its stops. One behind several turns has one for
        // each combination, which says less.
        (0..joints).map(|joint| crossing(joint, true).or_else(|| crossing(joint, false))).collect()
    }

    /// How dark its labels are, from 0 to 1.
    fn ring_tone(&mut self, written: &Written<'t>) -> Option<f64> {
        match written.fields.expr(fields::Ring::Tone) {
            Some(tone) if written.work == RingWork::Engraved => self.tone(tone),
            _ => fields::Ring::Tone.spec().default.number(),
        }
    }

    /// A ring with every label placed, and the tick marks between them.
    pub(super) fn ring(
        &mut self,
        written: &Written<'t>,
        place: Option<&ReadAt>,
        joints: &[Joint],
    ) -> Option<(Ring, Option<Mark>)> {
        let origin = written.name.span;
        let crossed = place.map(|place| turns_in(joints, place.joints.clone())).unwrap_or_default();
        if !self.stands_round(written, &crossed) {
            return None;
        }
        let radius = self.radius(written, place)?;
        let bearings = self.bearings(written, place, joints)?;
        let facings = self.facings(written)?;
        let tone = self.ring_tone(written)?;
        let stroke = match written.fields.expr(fields::Ring::Stroke) {
            Some(stroke) => Some(self.eval.size(stroke, "`stroke`")?),
            None => None,
        };
        let typeface = self.typeface(written)?;
        let tilts = match written.fields.expr(fields::Ring::Tilt) {
            Some(expr) => self.for_each(expr, written, |_, value, _| as_angle(value))?,
            None => vec![fields::Ring::Tilt.spec().default.angle()?; written.labels.len()],
        };
        let unit: Vec<Shape> = self.unit_labels(written, &typeface, &tilts)?;
        let heights = match written.fields.expr(fields::Ring::Height) {
            Some(expr) => self.for_each(expr, written, |eval, value, span| eval.size_of(value, "`height`", span))?,
            None => {
                let height = self.height(written, place, &unit, (radius, &bearings, &facings), (&typeface, joints))?;
                vec![height; written.labels.len()]
            }
        };
        let inks = self.inks(written)?;
        let mut labels = Vec::new();
        for (at, ((((shape, bearing), height), (tilt, facing)), filled)) in
            unit.iter().zip(&bearings).zip(heights).zip(tilts.iter().zip(&facings)).zip(&inks).enumerate()
        {
            let place = Placed { radius, bearing: *bearing, tilt: *tilt, facing: *facing, height };
            labels.push(self.label(written, at, shape, (place, &typeface, stroke), filled.clone())?);
        }
        // Ticks belong to no label, so they are filled only where all labels are filled alike.
        // What is printed needs a colour: that of the first.
        let is_printed = written.work == RingWork::Printed;
        let alike = inks.first().filter(|first| is_printed || inks.iter().all(|ink| ink == *first));
        let alike = alike.and_then(Option::as_ref);
        let ticks = self.ticks(written, &bearings, radius, (tone, alike))?;
        let height = labels.iter().map(|label| label.height).reduce(|a, b| if a > b { a } else { b })?;
        let (name, capitals) = (written.key.clone(), typeface.cap_height() / typeface.units_per_em());
        let set_in = if written.single_stroke { single_stroke::NAME } else { typeface.name() };
        let (typeface, face, work, laid) = (set_in.to_owned(), written.face, written.work, written.laid());
        let centre = written.centre;
        Some((Ring { name, face, work, centre, radius, height, typeface, capitals, labels, laid, tone, origin }, ticks))
    }

    /// The typeface of a ring's labels.
    fn typeface(&mut self, written: &Written<'t>) -> Option<Typeface> {
        match written.fields.expr(fields::Ring::Typeface) {
            Some(name) => self.eval.typeface_named(name),
            None => Some(self.eval.typeface().clone()),
        }
    }

    fn radius(&mut self, written: &Written<'t>, place: Option<&ReadAt>) -> Option<Length> {
        if let Some(radius) = written.fields.expr(fields::Ring::Radius) {
            return self.eval.size(radius, "`radius`");
        }
        let name = &written.key;
        let Some(place) = place else { return self.eval.report(say::ring_without_radius(name, written.name.span)) };
        let radius = Length::mm(place.centre.to_vec2().hypot());
        if radius.as_mm() < 1e-6 {
            return self.eval.report(say::ring_without_radius(name, written.name.span));
        }
        self.assume(
            &format!("radius of ring `{name}`"),
            radius.to_string(),
            "as far out as what it is read by",
            written.name.span,
        );
        Some(radius)
    }

    fn bearings(&mut self, written: &Written<'t>, place: Option<&ReadAt>, joints: &[Joint]) -> Option<Vec<Angle>> {
        let count = written.labels.len();
        if let Some(expr) = written.fields.expr(fields::Ring::Bearings) {
            if let Some(runs) = written.fields.expr(fields::Ring::Runs) {
                return self.eval.report(say::runs_and_bearings(runs.span, expr.span));
            }
            let value = self.eval.value(expr)?;
            let bearings: Option<Vec<Angle>> = value.items()?.iter().map(as_angle).collect();
            let bearings = bearings?;
            if bearings.len() != count {
                return self.eval.report(say::bearings_and_labels(&written.key, bearings.len(), count, expr.span));
            }
            return Some(bearings);
        }
        let first = match (written.fields.expr(fields::Ring::First), place) {
            (Some(first), _) => self.eval.angle(first)?,
            (None, Some(place)) => {
                let bearing = bearing_of(place.centre);
                // At the top nobody would expect anything else, so it is not worth stating.
                if bearing.as_degrees() != 0.0 {
                    let what = format!("first bearing of ring `{}`", written.key);
                    self.assume(&what, bearing.to_string(), "where what it is read by stands", written.name.span);
                }
                bearing
            }
            (None, None) => Angle::ZERO,
        };
        let crossed: Vec<&Turn> = place.map(|place| turns_in(joints, place.joints.clone())).unwrap_or_default();
        let (from_first, backwards) = match crossed.as_slice() {
            [only] if only.stops.len() == count => (only.stops.clone(), place.is_some_and(|place| place.ring_above)),
            _ => {
                #[allow(clippy::cast_precision_loss, reason = "the limit on lists is small")]
                let step = 360.0 / count as f64;
                #[allow(clippy::cast_precision_loss, reason = "the limit on lists is small")]
                let evenly = (0..count).map(|at| Angle::degrees(step * at as f64)).collect();
                (evenly, false)
            }
        };
        let backwards = written.runs().map_or(backwards, |runs| runs == RunsWord::Anticlockwise);
        Some(from_first.into_iter().map(|by| if backwards { first - by } else { first + by }).collect())
    }
}

/// What of an opening lies within an outline; all of it where its middle does not, which is a fault that is told elsewhere.
fn clipped(region: Region, outline: &Region) -> Region {
    // The usual case, told without a boolean.
    if FlattenedShape::of(&region).lies_well_in(&FlattenedShape::of(outline)) {
        return region;
    }
    let middle = region.bounds().map(|bounds| bounds.center());
    if middle.is_some_and(|middle| outline.contains(middle)) { region.intersection(outline) } else { region }
}

/// The bearing of a point, from 0 up to 360 degrees, to a billionth of a degree.
pub(super) fn bearing_of(point: Point) -> Angle {
    let degrees = point.x.atan2(point.y).to_degrees();
    // An arc tangent of a point that was turned gives 359.9999999999 where 0 is meant, and that would be shown.
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
