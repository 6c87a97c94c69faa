//! What the parts must come to, apart from how they are made: the stack as it was designed, for a reader who compares.
//!
//! Shapes are in the front frame of their layer, each told once and not once a part, and no kerf is in them. So whoever reads the
//! operations can tell whether they make what was meant, without the language and without our geometry.

use kurbo::{Affine, BezPath, Point};
use serde::Serialize;

use super::{degrees, mm, rounded};
use crate::audit::Audit;
use crate::audit::fit::Fit;
use crate::audit::holding::Rings;
use crate::audit::strength::least_web;
use crate::design::axis::{AxisMagnet, magnets};
use crate::design::{
    Depth, Design, Face, Fastener, Half, Ink, Joint, Label, Layer, Mark, Pivot, PocketDepth, Pole, Ring, RingWork,
    Rivet, Shape, Slot, Turn, Work, hex,
};
use crate::geometry::{Region, Trace, contours, polar};
use crate::physics::Polarity;
use crate::plan::face_name;
use crate::units::{Angle, Length};

/// One of the designs that the boards are for.
#[derive(Serialize)]
pub(super) struct DesignText<'a> {
    dial: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    variant: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shop: Option<&'a str>,
    dials: u32,
    spares: u32,
    /// Bottom first.
    layers: Vec<LayerText<'a>>,
    /// What joins each layer to the one above it.
    joints: Vec<JointText<'a>>,
    magnets: Vec<MagnetText<'a>>,
    readings: Vec<ReadingText<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    slot: Option<SlotText>,
    thickness: f64,
}

impl<'a> DesignText<'a> {
    pub(super) fn of(design: &'a Design, audit: &'a Audit) -> Self {
        Self {
            dial: &design.title,
            variant: design.variant.as_deref(),
            shop: design.shop.as_deref(),
            dials: design.run.dials,
            spares: design.run.spares,
            layers: design.layers.iter().enumerate().map(|(at, layer)| LayerText::of(layer, audit, at)).collect(),
            joints: design.joints.iter().map(joint_text).collect(),
            magnets: all_magnets(design, audit),
            readings: readings(design, audit),
            slot: design.slot.as_ref().and_then(|slot| slot_text(slot, audit.fit.as_ref()?)),
            thickness: mm(design.thickness()),
        }
    }
}

#[derive(Serialize)]
struct LayerText<'a> {
    layer: &'a str,
    stock: &'a str,
    thickness: f64,
    /// Whether one looks through it where it is not painted.
    clear: bool,
    colour: String,
    /// The least web and floor that are asked for, and what the compiler found.
    least_web: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    web: Option<f64>,
    least_floor: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    floor: Option<f64>,
    outline: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    marks: Vec<MarkText<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rings: Vec<RingText<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    waits: Vec<WaitText<'a>>,
}

impl<'a> LayerText<'a> {
    fn of(layer: &'a Layer, audit: &Audit, at: usize) -> Self {
        let outer = layer.outline.outer();
        let found = audit.strength.layers.get(at);
        Self {
            layer: &layer.name,
            stock: &layer.stock.name,
            thickness: mm(layer.stock.thickness.mean),
            clear: layer.stock.clear,
            colour: hex(layer.surface()),
            least_web: mm(least_web(layer)),
            web: found.and_then(|it| Some(mm(it.web.as_ref()?.width))),
            least_floor: mm(layer.stock.least_floor),
            floor: found.and_then(|it| Some(mm(it.floor.as_ref()?.left))),
            outline: path(layer.outline.path()),
            marks: layer.marks.iter().map(|mark| mark_text(mark, layer, &outer)).collect(),
            rings: layer.rings.iter().map(|ring| RingText::of(ring, layer)).collect(),
            waits: layer.waits.iter().map(|it| WaitText { work: it.name.as_deref(), after: &it.after }).collect(),
        }
    }
}

/// One piece of work as it was meant.
#[derive(Serialize)]
struct MarkText<'a> {
    #[serde(flatten)]
    work: WorkText<'a>,
    face: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    path: Vec<String>,
}

#[derive(Serialize)]
#[serde(tag = "work", rename_all = "kebab-case")]
enum WorkText<'a> {
    /// A window, a hole, a pocket right through: cut, and looked through.
    Opening {
        /// Whether it runs over the outline and so is cut with it.
        over_the_rim: bool,
    },
    Engrave {
        tone: f64,
        colour: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        depth: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        ink: Option<&'a str>,
    },
    /// A line as wide as the beam burns it: a cut's width, for want of a measured one.
    Score {
        width: f64,
    },
    Pocket {
        depth: f64,
    },
    Paint {
        colour: String,
    },
    /// Printed before anything is cut.
    Print {
        colour: String,
    },
    /// Left open in paint and print.
    Bare,
}

fn mark_text<'a>(mark: &'a Mark, layer: &Layer, outer: &Region) -> MarkText<'a> {
    let work = match &mark.work {
        Work::Engrave { tone, depth, ink } => WorkText::Engrave {
            tone: rounded(*tone),
            colour: marked(layer, *tone, ink.as_ref()),
            depth: depth.map(mm),
            ink: ink.as_ref().map(|ink| ink.name.as_str()),
        },
        Work::Score => WorkText::Score { width: mm(layer.stock.kerf) },
        Work::Pocket { depth: Depth::Down(depth) } => WorkText::Pocket { depth: mm(depth.made()) },
        Work::Window | Work::Hole | Work::Pocket { depth: Depth::Through } => {
            WorkText::Opening { over_the_rim: matches!(&mark.shape, Shape::Region(region) if !outer.covers(region)) }
        }
        Work::Paint { colour } => WorkText::Paint { colour: hex(*colour) },
        Work::Print { colour } => WorkText::Print { colour: hex(*colour) },
        Work::Bare => WorkText::Bare,
    };
    let lines = match &mark.shape {
        Shape::Region(region) => region.path(),
        Shape::Trace(trace) => trace.path(),
    };
    MarkText { work, face: face_name(mark.face), name: mark.name.as_deref(), path: path(lines) }
}

/// The colour of a finished mark: that of its ink where it is told.
fn marked(layer: &Layer, tone: f64, ink: Option<&Ink>) -> String {
    hex(ink.and_then(|ink| ink.colour).unwrap_or_else(|| layer.marked(tone)))
}

#[derive(Serialize)]
struct RingText<'a> {
    ring: &'a str,
    /// Whether its labels are scored along their lines, left standing or printed; left out where they are engraved.
    #[serde(skip_serializing_if = "Option::is_none")]
    work: Option<&'static str>,
    /// How wide a beam burns the lines of one that is scored: a cut's width, for want of a measured one.
    #[serde(skip_serializing_if = "Option::is_none")]
    width: Option<f64>,
    face: &'static str,
    tone: f64,
    colour: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    ink: Option<&'a str>,
    labels: Vec<LabelText<'a>>,
}

impl<'a> RingText<'a> {
    fn of(ring: &'a Ring, layer: &Layer) -> Self {
        let tone = if ring.work == RingWork::Raised { 0.0 } else { ring.tone };
        Self {
            ring: &ring.name,
            work: (ring.work != RingWork::Engraved).then(|| ring.work.word()),
            width: (ring.work == RingWork::Scored).then(|| mm(layer.stock.kerf)),
            face: face_name(ring.face),
            tone: rounded(tone),
            colour: if tone > 0.0 { marked(layer, tone, ring.ink()) } else { hex(layer.surface()) },
            ink: ring.ink().filter(|_| !ring.is_printed()).map(|ink| ink.name.as_str()),
            labels: ring.labels.iter().map(|label| label_text(label, ring, layer)).collect(),
        }
    }
}

#[derive(Serialize)]
struct LabelText<'a> {
    says: &'a str,
    bearing: f64,
    height: f64,
    /// Where the tops of its letters point; left out for what is no lettering.
    #[serde(skip_serializing_if = "Option::is_none")]
    up: Option<f64>,
    /// What it is set in; left out likewise.
    #[serde(skip_serializing_if = "Option::is_none")]
    typeface: Option<&'a str>,
    /// What it alone is filled with; left out where all labels are filled alike.
    #[serde(skip_serializing_if = "Option::is_none")]
    ink: Option<&'a str>,
    /// Its own colour, likewise.
    #[serde(skip_serializing_if = "Option::is_none")]
    colour: Option<String>,
    path: Vec<String>,
}

fn label_text<'a>(label: &'a Label, ring: &'a Ring, layer: &Layer) -> LabelText<'a> {
    let own = label.filled.as_ref().filter(|_| ring.ink().is_none());
    LabelText {
        says: &label.says,
        bearing: bearing(label.bearing),
        height: mm(label.height),
        up: label.up.map(bearing),
        typeface: label.up.map(|_| ring.typeface.as_str()),
        ink: own.filter(|_| !ring.is_printed()).map(|ink| ink.name.as_str()),
        colour: own.map(|ink| marked(layer, ring.tone, Some(ink))),
        path: path(label.lines.as_ref().map_or(label.ink.path(), Trace::path)),
    }
}

#[derive(Serialize)]
struct WaitText<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    work: Option<&'a str>,
    after: &'a str,
}

#[derive(Serialize)]
#[serde(tag = "joint", rename_all = "kebab-case")]
#[allow(clippy::large_enum_variant, reason = "each is made once, and written at once")]
enum JointText<'a> {
    Glue {
        adhesive: &'a str,
        film: f64,
    },
    Turn {
        /// Bearing on the lower layer that lies under the upper layer's 0deg, stop by stop.
        stops: Vec<f64>,
        /// Which half the player turns.
        turning: &'static str,
        held_by: HeldByText<'a>,
        /// The axis of its own that the layer above the joint turns about; left out where all above it turns about the board's.
        #[serde(skip_serializing_if = "Option::is_none")]
        own_axis: Option<AxisText<'a>>,
        /// What keeps it from turning past its first and last stop; left out where nothing does.
        #[serde(skip_serializing_if = "Option::is_none")]
        ends: Option<EndsText<'a>>,
    },
}

#[derive(Serialize)]
#[serde(tag = "by", rename_all = "kebab-case")]
enum HeldByText<'a> {
    Magnets {
        /// In the lower half, and in the upper one too where nothing else is said.
        magnet: &'a str,
        /// What lies in the upper half; left out where both are alike.
        #[serde(skip_serializing_if = "Option::is_none")]
        above: Option<&'a str>,
    },
    Rivet {
        rivet: &'a str,
        shank: f64,
        clearance: f64,
        head: f64,
        head_height: f64,
        grips: [f64; 2],
    },
    /// The wall of the opening that it lies in.
    Wall,
    Pin {
        pin: &'a str,
        shank: f64,
        clearance: f64,
        head: f64,
        head_height: f64,
        nut: f64,
        nut_height: f64,
        grips: [f64; 2],
    },
}

/// Where a wheel or a hand lies: in an opening of another layer, or on it. What comes above it is joined to the nearest layer below
/// that has no such axis.
#[derive(Serialize)]
struct AxisText<'a> {
    /// Place of that layer, from 0.
    carrier: usize,
    /// On that layer, in mm from its own axis: to the right, and up.
    at: [f64; 2],
    /// The opening, and the diameter of its wall; left out of what lies on the layer.
    #[serde(skip_serializing_if = "Option::is_none")]
    opening: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    diameter: Option<f64>,
}

/// The pin that ends a turn, in the half that stays.
#[derive(Serialize)]
struct EndsText<'a> {
    pin: &'a str,
    shank: f64,
    length: f64,
    /// The half that it stands in.
    stands: &'static str,
    radius: f64,
    /// Where it stands on the layer of that half next to the turn.
    bearing: f64,
}

fn joint_text(joint: &Joint) -> JointText<'_> {
    match joint {
        Joint::Glue(glue) => JointText::Glue { adhesive: &glue.adhesive.name, film: mm(glue.adhesive.film) },
        Joint::Turn(turn) => JointText::Turn {
            stops: turn.stops.iter().map(|stop| bearing(*stop)).collect(),
            turning: if turn.turning == Half::Upper { "upper" } else { "lower" },
            held_by: match &turn.pivot {
                Pivot::Magnets { magnet, above, .. } => {
                    HeldByText::Magnets { magnet: &magnet.name, above: above.as_ref().map(|disc| disc.name.as_str()) }
                }
                Pivot::Rivet(rivet) => clamped(rivet),
                Pivot::Wall => HeldByText::Wall,
            },
            own_axis: turn.axle.as_ref().map(|axle| AxisText {
                carrier: axle.carrier,
                at: [axle.centre.x, axle.centre.y].map(|at| mm(Length::mm(at))),
                opening: axle.wall.as_ref().map(|wall| wall.opening.as_str()),
                diameter: axle.wall.as_ref().map(|wall| mm(Length::mm(2.0 * wall.bay.radius))),
            }),
            ends: turn.ends.as_ref().map(|ends| EndsText {
                pin: &ends.pin.name,
                shank: mm(ends.pin.shank),
                length: mm(ends.pin.length),
                stands: if turn.turning == Half::Upper { "lower" } else { "upper" },
                radius: mm(ends.radius),
                bearing: bearing(ends.bearing),
            }),
        },
    }
}

fn clamped(rivet: &Rivet) -> HeldByText<'_> {
    let [nut, head] = rivet.heads;
    let (shank, clearance) = (mm(rivet.shank), mm(rivet.clearance));
    let (head, head_height) = (mm(head.diameter), mm(head.height));
    let grips = [mm(rivet.grips.0), mm(rivet.grips.1)];
    match rivet.kind {
        Fastener::Rivet => HeldByText::Rivet { rivet: &rivet.name, shank, clearance, head, head_height, grips },
        Fastener::Pin => {
            let (nut, nut_height) = (mm(nut.diameter), mm(nut.height));
            HeldByText::Pin { pin: &rivet.name, shank, clearance, head, head_height, nut, nut_height, grips }
        }
    }
}

/// One magnet or washer of a dial, and where it is glued in.
#[derive(Serialize)]
struct MagnetText<'a> {
    magnet: &'a str,
    diameter: f64,
    height: f64,
    /// Diameter of the hole through a steel washer; left out of a magnet.
    #[serde(skip_serializing_if = "Option::is_none")]
    hole: Option<f64>,
    layer: &'a str,
    /// The face that its pocket opens to; of a hole right through, the one that it is pressed down to.
    face: &'static str,
    /// Where its middle stands: how far from the axis, and at which bearing.
    radius: f64,
    bearing: f64,
    /// Left out of a hole right through.
    #[serde(skip_serializing_if = "Option::is_none")]
    depth: Option<f64>,
    /// How far below that face it lies; left out of a hole right through.
    #[serde(skip_serializing_if = "Option::is_none")]
    sink: Option<f64>,
    /// Where its north pole looks in the dial; left out of steel, and of a magnet that meets nothing else.
    #[serde(skip_serializing_if = "Option::is_none")]
    north: Option<&'static str>,
    /// The turns that it serves, each by the place of the layer below it, from 0.
    turns: Vec<usize>,
    /// Whether it makes the turn click, and does not hold it on its axis.
    clicks: bool,
}

fn all_magnets<'a>(design: &'a Design, audit: &'a Audit) -> Vec<MagnetText<'a>> {
    let (axis, _) = magnets(design);
    let on_axis = axis.iter().filter_map(|it| on_axis(design, it));
    let turned = audit.holding.turns.iter().filter_map(|found| {
        let rings = found.magnets.as_ref()?.clicks.as_ref()?;
        let (_, turn) = design.turns().find(|(below, _)| *below == found.below)?;
        Some(of_clicks(design, turn, found.below, rings))
    });
    on_axis.collect::<Vec<_>>().into_iter().chain(turned.flatten()).collect()
}

fn on_axis<'a>(design: &'a Design, it: &AxisMagnet<'a>) -> Option<MagnetText<'a>> {
    let depth = match it.depth {
        Depth::Down(depth) => Some(depth.made()),
        Depth::Through => None,
    };
    let at = it.at(design);
    Some(MagnetText {
        magnet: &it.magnet.name,
        diameter: mm(it.magnet.diameter),
        height: mm(it.magnet.height),
        hole: it.magnet.steel.map(|steel| mm(steel.hole)),
        layer: &design.layers.get(it.layer)?.name,
        face: face_name(it.face),
        radius: mm(Length::mm(at.to_vec2().hypot())),
        bearing: bearing(bearing_of(at)),
        depth: depth.map(mm),
        sink: depth.map(|depth| mm(depth - it.magnet.height - it.magnet.film())),
        north: it.poled.then_some(if it.north == Pole::Up { "up" } else { "down" }),
        turns: it.turns.clone(),
        clicks: false,
    })
}

/// The bearing of a point, which is 0 at the axis itself.
fn bearing_of(at: Point) -> Angle {
    Angle::radians(at.x.atan2(at.y))
}

fn of_clicks<'a>(design: &'a Design, turn: &'a Turn, below: usize, rings: &'a Rings) -> Vec<MagnetText<'a>> {
    let Some(clicks) = &turn.clicks else { return Vec::new() };
    let ring = |at: usize, face: Face, depth: PocketDepth, bearings: &'a [Angle], poles: &'a [Polarity]| {
        let layer = design.layers.get(at);
        let depth = depth.made();
        let axis = design.axis_on(turn, at).to_vec2();
        bearings.iter().zip(poles).filter_map(move |(at, pole)| {
            let at = polar(clicks.radius.as_mm(), *at) + axis;
            Some(MagnetText {
                magnet: &clicks.magnet.name,
                diameter: mm(clicks.magnet.diameter),
                height: mm(clicks.magnet.height),
                hole: None,
                layer: &layer?.name,
                face: face_name(face),
                radius: mm(Length::mm(at.to_vec2().hypot())),
                bearing: bearing(bearing_of(at)),
                depth: Some(mm(depth)),
                sink: Some(mm(depth - clicks.magnet.height - clicks.magnet.film())),
                north: Some(if *pole == Polarity::Up { "up" } else { "down" }),
                turns: vec![below],
                clicks: true,
            })
        })
    };
    let [depth_below, depth_above] = clicks.depths;
    let (low, high) = design.across(below);
    let lower = ring(low, Face::Front, depth_below, &rings.bearings.0, &rings.pattern.lower);
    lower.chain(ring(high, Face::Back, depth_above, &rings.bearings.1, &rings.pattern.upper)).collect()
}

/// What must be read, and what is due at every stop.
#[derive(Serialize)]
struct ReadingText<'a> {
    ring: &'a str,
    how: &'static str,
    /// The side that one looks from.
    side: &'static str,
    by: &'a [String],
    /// The turns that it depends on, by order in the stack, from 0.
    turns: &'a [usize],
    stops: Vec<DueText<'a>>,
}

#[derive(Serialize)]
struct DueText<'a> {
    /// The stop of each of those turns, from 0.
    at: &'a [usize],
    /// The label's place in the ring, from 0.
    due: usize,
    says: &'a str,
    /// Whether it reads right, as the compiler found.
    reads: bool,
}

fn readings<'a>(design: &Design, audit: &'a Audit) -> Vec<ReadingText<'a>> {
    let each = audit.reading_check.readings.iter().map(|reading| ReadingText {
        ring: &reading.ring,
        how: match reading.how {
            crate::design::ReadsHow::Through => "through",
            crate::design::ReadsHow::Beside => "beside",
        },
        side: face_name(design.ring(&reading.ring).map_or(Face::Front, |(_, ring)| ring.face)),
        by: &reading.by,
        turns: &reading.turns,
        stops: reading
            .stops
            .iter()
            .map(|stop| DueText { at: &stop.stops, due: stop.due, says: &stop.due_says, reads: stop.reads })
            .collect(),
    });
    each.collect()
}

#[derive(Serialize)]
struct SlotText {
    path: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    depth: Option<f64>,
    /// How the axis is moved from the slot's origin, and the least room all round at any stop, as the compiler found.
    moved: [f64; 2],
    room: f64,
    fits: bool,
}

fn slot_text(slot: &Slot, fit: &Fit) -> Option<SlotText> {
    let room = fit.worst()?.clearance;
    Some(SlotText {
        path: path(slot.outline.path()),
        depth: slot.depth.map(mm),
        moved: [rounded(fit.moved.x), rounded(fit.moved.y)],
        room: mm(room),
        fits: fit.goes_in(),
    })
}

fn path(lines: &BezPath) -> Vec<String> {
    contours(lines, Affine::IDENTITY)
}

/// From 0 to below 360.
fn bearing(angle: Angle) -> f64 {
    degrees(Angle::degrees(angle.as_degrees().rem_euclid(360.0))) % 360.0
}
